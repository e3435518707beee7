//! Scaling by a power of two changes exponents and no bit of a fraction.

use super::fixed;
use super::show::shown;
use proptest::prelude::*;
use surebound::record::Point;

/// n·2^k, exactly as a decimal: a multiple of 2⁻¹² has twelve places.
fn power(n: i64, k: i32) -> String {
    format!("{:.12}", libm::ldexp(n as f64, k))
}

fn budget(numbers: &[i64; 6], k: i32, order: &str) -> String {
    let n = |index: usize| power(numbers[index], k);
    format!(
        "surebound: 1\ntitle: A length\nmeasurand: {{symbol: Y, name: Result, unit: mm}}\n\
         model: sqrt(x * x + y * y) - z\nestimates: {{x: {x} mm, y: {y} mm, z: {x} mm}}\n\
         contributors:\n\
         \x20 - {{name: A, adds_to: x, standard_uncertainty: {a} mm, dof: 9}}\n\
         \x20 - {{name: B, adds_to: y, limits: ±{b} mm}}\n\
         \x20 - {{name: C, adds_to: z, step: {c} mm, owner: instrument}}\n\
         \x20 - {{name: D, adds_to: z, readings: [{x}, {y}, {d}], unit: mm, use: single}}\n\
         linked: [{{between: [A, B], r: 0.6}}]\norder: {order}\n\
         tolerance: ±{t} mm\ndecision: {{rule: guarded, uncertainty: all}}\n",
        x = n(0),
        y = n(1),
        a = n(2),
        b = n(3),
        c = n(4),
        d = n(5),
        t = n(0),
    )
}

/// The figures that scale with the unit.
fn scaling(point: &Point) -> Vec<f64> {
    let decision = point.decision.as_ref().expect("asked for");
    let mut figures = vec![
        point.estimate,
        point.standard_uncertainty,
        point.first_order_standard_uncertainty,
        point.second_order_standard_uncertainty.expect("computed"),
        point.second_order_shift.expect("computed"),
        point.expanded_uncertainty,
        point.test.all.expanded_uncertainty,
        point.test.laboratory.expanded_uncertainty,
        decision.guard_band,
    ];
    figures.extend(point.interval);
    figures.extend(
        point.contributors.iter().flat_map(|it| [it.standard_uncertainty, it.contribution]),
    );
    figures.extend(decision.acceptance.iter().filter_map(|it| it.upper));
    figures
}

/// The figures that do not.
fn fixed_figures(point: &Point) -> Vec<f64> {
    let mut figures = vec![
        point.effective_dof.get(),
        point.coverage_factor,
        point.correlation_share,
        point.second_order_share,
        point.test.all.tur.expect("a tolerance on both sides"),
        point.test.laboratory.tur.expect("a tolerance on both sides"),
    ];
    figures.extend(point.contributors.iter().flat_map(|it| [it.share, it.sensitivity]));
    figures
}

proptest! {
    #![proptest_config(fixed(17))]

    #[test]
    fn a_power_of_two_changes_no_bit(
        x in 1000..5000i64, y in 1000..5000i64, u in prop::array::uniform4(1..400i64), k in -12..12i32,
        order in prop::sample::select(vec!["first", "second", "auto"]),
    ) {
        let numbers = [x, y, u[0], u[1], u[2], u[3] + 5000];
        let (one, scaled) = (shown(&budget(&numbers, 0, order)), shown(&budget(&numbers, k, order)));
        let expected: Vec<f64> = scaling(&one.points[0]).iter().map(|it| libm::ldexp(*it, k)).collect();
        prop_assert_eq!(expected, scaling(&scaled.points[0]));
        prop_assert_eq!(fixed_figures(&one.points[0]), fixed_figures(&scaled.points[0]));
    }
}
