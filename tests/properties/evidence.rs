//! Evidence and where it goes: two ways to write the same knowledge give the same figures.

use super::show::shown;
use super::{decimal, fixed, near, plain, same_uncertainty};
use proptest::prelude::*;
use statrs::distribution::{ContinuousCDF, Normal, StudentsT};

fn one(evidence: &str) -> String {
    let list = [format!("name: A, adds_to: x, {evidence}")];
    plain("x^2 + x", &["x: 2".to_owned()], &list, "order: second")
}

proptest! {
    #![proptest_config(fixed(53))]

    /// r = greatest less smallest value is limits of ±r/2, shape by shape, to the last bit.
    #[test]
    fn full_range_is_twice_the_limits(
        half in 1..5000i64,
        shape in prop::sample::select(vec!["rectangular", "triangular", "arcsine", "trapezoidal, top: 0.3", "normal, coverage: 95 %"]),
    ) {
        let range = shown(&one(&format!("full_range: {}, shape: {shape}", decimal(2 * half, 3))));
        let limits = shown(&one(&format!("limits: ±{}, shape: {shape}", decimal(half, 3))));
        prop_assert_eq!(range.points[0].standard_uncertainty, limits.points[0].standard_uncertainty);
        same_uncertainty(&range.points[0], &limits.points[0]);
    }

    /// A step d is the rectangle of ±d/2 (JCGM 100, F.2.2.1).
    #[test]
    fn a_step_is_a_rectangle_of_its_width(half in 1..5000i64) {
        let step = shown(&one(&format!("step: {}", decimal(2 * half, 3))));
        let limits = shown(&one(&format!("limits: ±{}", decimal(half, 3))));
        same_uncertainty(&step.points[0], &limits.points[0]);
    }

    /// `coverage` is the k of its quantile: normal, or t with `dof`. statrs stands behind; its own
    /// error reaches 2e-12 (tests/student.rs), so 1e-11.
    #[test]
    fn the_coverage_of_a_certificate_is_a_k(u in 1..5000i64, percent in 500..995i64, dof in 2..60u32) {
        let p = percent as f64 / 1000.0;
        let upper = (1.0 + p) / 2.0;
        let text = |more: &str| one(&format!("certificate: {}, {more}", decimal(u, 3)));
        let u = |text: &str| shown(text).points[0].contributors[0].standard_uncertainty;
        let percent = decimal(percent, 1);
        let normal = Normal::new(0.0, 1.0).unwrap().inverse_cdf(upper);
        let student = StudentsT::new(0.0, 1.0, f64::from(dof)).unwrap().inverse_cdf(upper);
        let ratio = u(&text(&format!("coverage: {percent} %"))) / u(&text(&format!("k: {normal:.15}")));
        prop_assert!((ratio - 1.0).abs() < 1e-11, "{ratio}");
        let by_coverage = u(&text(&format!("coverage: {percent} %, dof: {dof}")));
        let ratio = by_coverage / u(&text(&format!("k: {student:.15}, dof: {dof}")));
        prop_assert!((ratio - 1.0).abs() < 1e-11, "{ratio}");
    }

    /// [lo, hi] is ±(hi − lo)/2 with the middle as a correction.
    #[test]
    fn uneven_limits_are_even_ones_about_their_middle(middle in -500..500i64, half in 1..500i64) {
        let (low, high) = (decimal(middle - half, 3), decimal(middle + half, 3));
        let uneven = shown(&one(&format!("limits: [{low}, {high}]")));
        let even = shown(&one(&format!("limits: ±{}, estimate: {}", decimal(half, 3), decimal(middle, 3))));
        let (uneven, even) = (&uneven.points[0], &even.points[0]);
        same_uncertainty(uneven, even);
        prop_assert_eq!(uneven.estimate, even.estimate);
        let x = 2.0 + middle as f64 / 1000.0;
        prop_assert!(near(uneven.estimate, x * x + x), "{} {x}", uneven.estimate);
    }

    /// Corrections add to their input and to one another; u does not see those of a linear model.
    #[test]
    fn corrections_add_up(a in -500..500i64, b in -500..500i64) {
        let list = |a: i64, b: i64| {
            let line = |name: &str, it: i64| {
                format!("name: {name}, adds_to: x, step: 0.01, estimate: {}", decimal(it, 3))
            };
            shown(&plain("3 * x", &["x: 2".to_owned()], &[line("A", a), line("B", b)], "")).points.remove(0)
        };
        let (with, without) = (list(a, b), list(0, 0));
        let expected = 6.0 + 3.0 * (a + b) as f64 / 1000.0;
        prop_assert!((with.estimate - expected).abs() < 1e-14, "{} {expected}", with.estimate);
        prop_assert_eq!(with.standard_uncertainty, without.standard_uncertainty);
    }

    /// Readings that are the measurement: mean and s/√n from the definitions (JCGM 100, 4.2), in f64.
    #[test]
    fn readings_give_mean_and_spread(readings in prop::collection::vec(-999..999i64, 2..12)) {
        prop_assume!(readings.iter().any(|it| *it != readings[0]));
        let n = readings.len() as f64;
        let mean = readings.iter().sum::<i64>() as f64 / n;
        let squares: f64 = readings.iter().map(|it| (*it as f64 - mean) * (*it as f64 - mean)).sum();
        let s = libm::sqrt(squares / (n - 1.0)) / 1000.0;
        let texts: Vec<String> = readings.iter().map(|it| decimal(*it, 3)).collect();
        let read = |how: &str| {
            let line = format!("name: A, adds_to: x, readings: [{}], unit: 1, use: {how}", texts.join(", "));
            let estimates = if how == "result" { vec![] } else { vec!["x: 5".to_owned()] };
            shown(&plain("x", &estimates, &[line], "")).points.remove(0)
        };
        let (result, single, of_4) = (read("result"), read("single"), read("{mean_of: 4}"));
        prop_assert!((result.estimate - mean / 1000.0).abs() < 1e-15, "{} {mean}", result.estimate);
        prop_assert_eq!(single.estimate, 5.0);
        for (point, u) in [(&result, s / libm::sqrt(n)), (&single, s), (&of_4, s / 2.0)] {
            prop_assert!(near(point.standard_uncertainty, u), "{} {u}", point.standard_uncertainty);
            prop_assert_eq!(point.effective_dof.get(), n - 1.0);
        }
    }

    /// A given sensitivity is the coefficient of an input that the model multiplies by it.
    #[test]
    fn a_sensitivity_is_a_coefficient_of_the_model(c in -5000..5000i64, u in 1..500i64, e in -99..99i64) {
        let (c, u, e) = (decimal(c, 3), decimal(u, 3), decimal(e, 3));
        let rest = "name: B, adds_to: y, step: 0.1".to_owned();
        let given = [format!("name: A, sensitivity: {c}, standard_uncertainty: {u}, estimate: {e}"), rest.clone()];
        let input = [format!("name: A, adds_to: x, standard_uncertainty: {u}, estimate: {e}"), rest];
        let given = shown(&plain("y", &["y: 1".to_owned()], &given, ""));
        let input = shown(&plain(&format!("y + {c} * x"), &["x: 0".to_owned(), "y: 1".to_owned()], &input, ""));
        let (given, input) = (&given.points[0], &input.points[0]);
        same_uncertainty(given, input);
        prop_assert!((given.estimate - input.estimate).abs() < 1e-14);
        prop_assert!(near(given.contributors[0].contribution, input.contributors[0].contribution));
        prop_assert_eq!(given.contributors[0].sensitivity, input.contributors[0].sensitivity);
    }

    /// `thermal` is nothing but L·(α·δθ + δα·θ) (JCGM 100, H.1.2) written into the model.
    #[test]
    fn thermal_is_the_same_as_inputs_of_the_model(
        length in 1..500i64, alpha in 1..30i64, spread in 0..30i64, d in 1..50i64, t in -30..30i64, dt in 1..50i64,
    ) {
        let (alpha, spread) = (format!("{alpha} µm/m/K"), format!("{} µm/m/K", decimal(spread, 1)));
        let (d, dt) = (format!("{} K", decimal(d, 1)), format!("{} K", decimal(dt, 1)));
        let t = format!("{} K", decimal(t, 1));
        let head = format!(
            "surebound: 1\ntitle: A length\nmeasurand: {{symbol: E, name: Error, unit: µm}}\n\
             points: {{symbol: L, unit: mm, at: [{length}]}}\norder: second\n"
        );
        let rest = "  - {name: Rest, limits: ±0.3 µm}\n";
        let thermal = format!(
            "{head}contributors:\n  - {{name: T, thermal: {{length: L, alpha: {alpha}, \
             alpha_difference: ±{spread}, difference: {t} ± {d}, from_20: ±{dt}}}}}\n{rest}"
        );
        let model = format!(
            "{head}model: reading - L + L * (alpha * dd + da * f20)\nestimates:\n  alpha: {alpha}\n  dd: {t}\n  \
             da: 0 K^-1\n  f20: 0 K\ncontributors:\n  - {{name: A, adds_to: da, limits: ±{spread}}}\n  \
             - {{name: B, adds_to: dd, limits: ±{d}}}\n  - {{name: C, adds_to: f20, limits: ±{dt}}}\n{rest}"
        );
        let (thermal, model) = (&shown(&thermal).points[0], &shown(&model).points[0]);
        same_uncertainty(thermal, model);
        prop_assert!((thermal.estimate - model.estimate).abs() <= 1e-12 * thermal.estimate.abs(), "{} {}", thermal.estimate, model.estimate);
        prop_assert_eq!(thermal.contributors[0].parts.as_ref().map(Vec::len), Some(4));
    }
}
