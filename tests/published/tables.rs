//! JCGM 100:2008, tables E.1, G.1 and G.2, through `u_known_within` and `coverage`.

use super::expected::rounds_to;
use super::show::shown;
use statrs::function::gamma::ln_gamma;
use surebound::file::load_budget;

/// The rows of one table: row, column, printed digits.
fn rows(table: &str) -> Vec<[&'static str; 3]> {
    let lines = include_str!("../data/jcgm100_tables.csv").lines();
    let rows = lines.filter_map(|it| it.strip_prefix(table)?.strip_prefix(','));
    let cells = |it: &'static str| {
        let cells: Vec<&str> = it.split(',').collect();
        [cells[0], cells[1], cells[2]]
    };
    rows.map(cells).collect()
}

fn certificate(more: &str, coverage: &str) -> String {
    format!(
        "surebound: 1\ntitle: One contributor\nmeasurand: {{symbol: X, name: Length, unit: mm}}\n\
         contributors: [{{name: All, standard_uncertainty: 1 mm{more}}}]\n{coverage}\n"
    )
}

/// Table E.1 prints how uncertain a standard deviation of n readings is, in whole per cent of it. The
/// exact figure for normal readings is √(1 − c²)/c with c = √(2/(n−1))·Γ(n/2)/Γ((n−1)/2) (E.4.3):
/// computed here with statrs, and rounded to the printed digits. This holds the table, not yet the
/// program.
#[test]
fn table_e1_is_the_spread_of_a_standard_deviation() {
    assert_eq!(rows("E.1").len(), 8);
    for [n, _, printed] in rows("E.1") {
        let n: f64 = n.parse().unwrap();
        let ratio = libm::exp(ln_gamma(n / 2.0) - ln_gamma((n - 1.0) / 2.0));
        let c = libm::sqrt(2.0 / (n - 1.0)) * ratio;
        let percent = libm::sqrt(1.0 - c * c) / c * 100.0;
        assert!(rounds_to(percent, printed), "n = {n}: {percent}, printed {printed}");
    }
}

/// G.4.2 turns the relative uncertainty r of u into ν = 1/(2r²). That is an approximation, and table
/// E.1 shows how far it goes: from ten readings on, the n − 1 degrees of freedom lie between what the
/// program makes of the printed per cent plus and minus half a unit of their last digit. Below ten
/// it stays under n − 1, on the safe side; at two readings ν would be under 1 and is refused.
#[test]
fn degrees_of_freedom_from_table_e1() {
    for [n, _, printed] in rows("E.1") {
        let (readings, percent): (f64, f64) = (n.parse().unwrap(), printed.parse().unwrap());
        let text = |percent: f64| certificate(&format!(", u_known_within: {percent:.1} %"), "");
        if readings == 2.0 {
            assert!(load_budget("a.yaml", text(percent).as_bytes()).value.is_err());
            continue;
        }
        let dof = |percent: f64| shown(&text(percent)).points[0].effective_dof.get();
        let (least, most) = (dof(percent + 0.5), dof(percent - 0.5));
        if readings >= 10.0 {
            assert!(
                least <= readings - 1.0 && readings - 1.0 <= most,
                "n = {n}: {least} to {most}"
            );
        } else {
            assert!(most < readings - 1.0, "n = {n}: {most}");
        }
    }
}

/// G.4.2, example, printed: 25 per cent gives 8 degrees of freedom.
#[test]
fn degrees_of_freedom_of_25_percent() {
    let point = &shown(&certificate(", u_known_within: 25 %", "")).points[0];
    assert_eq!(point.effective_dof.get(), 8.0);
}

/// Per cent as the tables print them; 68.27, 95.45 and 99.73 stand for one, two and three standard
/// deviations of the normal distribution (G.2: "erf").
fn coverage(percent: &str) -> String {
    let sigma = |k: f64| format!("{:.14}", 100.0 * libm::erf(k / std::f64::consts::SQRT_2));
    let exact = match percent {
        "68.27" => sigma(1.0),
        "95.45" => sigma(2.0),
        "99.73" => sigma(3.0),
        other => other.to_owned(),
    };
    format!("coverage: {{probability: {exact} %, method: t}}")
}

#[test]
fn coverage_factors_of_table_g1() {
    assert_eq!(rows("G.1").len(), 6);
    for [percent, _, printed] in rows("G.1") {
        let k = shown(&certificate("", &coverage(percent))).points[0].coverage_factor;
        assert!(rounds_to(k, printed), "{percent} %: {k}, printed {printed}");
    }
}

/// All 168 cells. One is a misprint: ν = 35, 90 % is printed 1,70, and the quantile is 1.6896 (mpmath).
#[test]
fn coverage_factors_of_table_g2() {
    assert_eq!(rows("G.2").len(), 168);
    for [dof, percent, printed] in rows("G.2") {
        let more = if dof == "inf" { String::new() } else { format!(", dof: {dof}") };
        let k = shown(&certificate(&more, &coverage(percent))).points[0].coverage_factor;
        let misprint = (dof, percent) == ("35", "90");
        assert_eq!(rounds_to(k, printed), !misprint, "ν = {dof}, {percent} %: {k}, {printed}");
    }
}
