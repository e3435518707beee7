//! JCGM 100:2008, annex H.1: end gauge of 50 mm by comparison, table H.1 and H.1.7.

use super::expected::{check, example};
use super::show::shown;
use surebound::record::Point;

/// The record is in mm; the table in nm.
const NM: f64 = 1e6;

fn u(point: &Point, name: &str) -> f64 {
    let found = point.contributors.iter().find(|it| it.name == name);
    found.expect("a contributor of the file").standard_uncertainty
}

fn contribution(point: &Point, name: &str) -> f64 {
    let found = point.contributors.iter().find(|it| it.name == name);
    found.expect("a contributor of the file").contribution
}

/// Keeps the contributors of the file that are named.
fn only(text: &str, names: &[&str]) -> String {
    let (head, rest) = text.split_once("contributors:\n").expect("a list of contributors");
    let (list, tail) = rest.split_once("\n\norder").expect("the order stands after it");
    let mut kept = String::new();
    for entry in list.split("  - name: ").skip(1) {
        if names.contains(&entry.lines().next().expect("a name")) {
            kept.push_str(&format!("  - name: {}\n", entry.trim_end()));
        }
    }
    assert_eq!(kept.matches("- name").count(), names.len());
    format!("{head}contributors:\n{kept}\norder{tail}")
}

/// Printed: l = 50,000 838 mm; u of the three parts of d 5,8, 3,9 and 6,7 nm, u(d) = 9,7 nm with 25,6
/// degrees of freedom; u(α_S) = 1,2e-6, u(Δ) = 0,35 °C, u(θ) = 0,41 °C, u(δα) = 0,58e-6, u(δθ) =
/// 0,029 °C; contributions 2,9 and 16,6 nm; u_c² = 1002 nm², u_c = 32 nm, ν_eff = 16,7, k = 2,92.
/// The printed U = 93 nm is 2,92 times the rounded 32 nm and does not come out: 92.5 nm.
#[test]
fn end_gauge_at_first_order_is_table_h1() {
    let text = example("jcgm100-h1-first-order");
    let point = &shown(&text).points[0];
    let of_d = ["Repeated observations", "Comparator, random", "Comparator, systematic"];
    let d = &shown(&only(&text, &of_d)).points[0];
    let theta = &shown(&theta_alone(&text)).points[0];
    check(
        "jcgm100-h1-first-order",
        &[
            ("estimate l", "50.000838", point.estimate),
            ("u of the mean of d", "5.8", u(point, of_d[0]) * NM),
            ("u of d_1", "3.9", u(point, of_d[1]) * NM),
            ("u of d_2", "6.7", u(point, of_d[2]) * NM),
            ("u(d)", "9.7", d.standard_uncertainty * NM),
            ("ν_eff(d)", "25.6", d.effective_dof.get()),
            ("u(α_S)", "1.2", u(point, "Expansion coefficient of the standard") * 1e6),
            ("u(Δ)", "0.35", u(point, "Cyclic variation of the temperature")),
            ("u(θ)", "0.41", theta.standard_uncertainty),
            ("u(δα)", "0.58", u(point, "Difference of the expansion coefficients") * 1e6),
            ("u(δθ)", "0.029", u(point, "Difference of the temperatures")),
            (
                "contribution of δα",
                "2.9",
                contribution(point, "Difference of the expansion coefficients") * NM,
            ),
            (
                "contribution of δθ",
                "16.6",
                contribution(point, "Difference of the temperatures") * NM,
            ),
            ("u_c²", "1002", point.standard_uncertainty * point.standard_uncertainty * NM * NM),
            ("u_c", "32", point.standard_uncertainty * NM),
            ("ν_eff", "16.7", point.effective_dof.get()),
            ("k", "2.92", point.coverage_factor),
            ("U", "93", point.expanded_uncertainty * NM),
        ],
    );
}

/// The bench's temperature as a measurand of its own: its two contributors added together.
fn theta_alone(text: &str) -> String {
    let names = ["Mean temperature of the bench", "Cyclic variation of the temperature"];
    let list = only(text, &names);
    let contributors = list.split_once("contributors:").expect("kept").1;
    format!(
        "surebound: 1\ntitle: Temperature of the bench\n\
         measurand: {{symbol: t, name: Deviation from 20 °C, unit: °C}}\n\
         model: theta\nestimates: {{theta: -0.1 °C}}\ncontributors:{contributors}"
    )
}

/// H.1.3.3: α_S and θ have no sensitivity, as δθ and δα are estimated 0. H.1.3.1 to H.1.3.6: 18, 24,
/// 5 degrees of freedom; 8, 50 and 2 from "reliable to" 25, 10 and 50 per cent (G.4.2). From 1/(2r²)
/// they are exact but for rounding in the last bits.
#[test]
fn end_gauge_has_the_degrees_of_freedom_and_zero_sensitivities_of_table_h1() {
    let point = &shown(&example("jcgm100-h1-first-order")).points[0];
    let dof: Vec<f64> = point.contributors.iter().map(|it| it.dof.get()).collect();
    let inf = f64::INFINITY;
    for (got, printed) in dof.iter().zip([18.0, 24.0, 5.0, 8.0, inf, inf, inf, 50.0, 2.0]) {
        assert!(*got == printed || (got / printed - 1.0).abs() < 1e-15, "{got}, printed {printed}");
    }
    assert_eq!(dof.len(), 9);
    for index in [4, 5, 6] {
        assert_eq!(point.contributors[index].sensitivity, 0.0);
        assert_eq!(point.contributors[index].contribution, 0.0);
    }
}

/// H.1.7, printed: the terms 11,7 nm and 1,7 nm, and u_c = 34 nm. The Guide prints no U for it. Each
/// term is read from a budget in which it is the only one of second order.
#[test]
fn end_gauge_at_second_order_is_34_nm() {
    let text = example("jcgm100-h1-second-order");
    let point = &shown(&text).points[0];
    let temperature = ["Mean temperature of the bench", "Cyclic variation of the temperature"];
    let dalpha = "Difference of the expansion coefficients";
    let term = |names: &[&str]| {
        let point = &shown(&only(&text, names)).points[0];
        let (first, second) = (point.first_order_standard_uncertainty, point.standard_uncertainty);
        libm::sqrt(second * second - first * first) * NM
    };
    check(
        "jcgm100-h1-second-order",
        &[
            ("term l_S·u(δα)·u(θ)", "11.7", term(&[dalpha, temperature[0], temperature[1]])),
            (
                "term l_S·u(α_S)·u(δθ)",
                "1.7",
                term(&["Expansion coefficient of the standard", "Difference of the temperatures"]),
            ),
            ("u_c", "34", point.standard_uncertainty * NM),
            ("ν_eff, second-order terms known exactly", "–", point.effective_dof.get()),
            ("U at 99 %", "–", point.expanded_uncertainty * NM),
        ],
    );
    assert_eq!(point.second_order_shift, Some(0.0), "no f_ii is other than 0");
    let share = 1.0 - 1002.239106402 / (33.80118903122 * 33.80118903122);
    assert!((point.second_order_share - share).abs() < 1e-11, "{}", point.second_order_share);
}
