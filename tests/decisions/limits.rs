//! Readings exactly on a limit: decimals are compared as decimals, whatever the unit.

use super::fixed::{fixed, written};
use super::judge::judged;
use super::{replaced, shipped};
use surebound::record::{Cause, Verdict};

const POINTS: [&str; 10] =
    ["2.5", "5.1", "7.7", "10.3", "12.9", "15", "17.6", "20.2", "22.8", "25"];

/// The shipped micrometer budget with `tolerance: ±2 µm` and the rule `simple`: the twenty readings
/// that lie exactly on a limit all pass, and the twenty that the display shows next to them fail. In
/// f64 some of them come out beyond: 5.102 − 5.1 is 2.0000000000042206e-3.
#[test]
fn twenty_readings_on_a_limit_pass() {
    let text = shipped("outside-micrometer-0-25");
    let text = replaced(&text, "tolerance: ±4 µm", "tolerance: ±2 µm");
    let text = replaced(&text, "rule: guarded", "rule: simple");
    let text = replaced(&text, "  guard_band: {times_U: 1}\n", "");
    let mut passed = 0;
    for at in POINTS {
        for side in [1, -1] {
            let reading =
                |micrometres: i128| written(fixed(at) + side * micrometres * fixed("0.001"));
            let on = judged(&text, at, &reading(2));
            assert_eq!((on.verdict, on.cause), (Some(Verdict::Pass), None), "{at} {}", reading(2));
            passed += 1;
            let beyond = judged(&text, at, &reading(3));
            let expected = (Some(Verdict::Fail), Some(Cause::Tolerance));
            assert_eq!((beyond.verdict, beyond.cause), expected, "{at} {}", reading(3));
        }
    }
    assert_eq!(passed, 20);
}

/// One unit of the points and of the measurand, and how many of the second one of the first makes.
struct Units {
    point: &'static str,
    measurand: &'static str,
    per_point: i128,
}

const UNITS: [Units; 13] = [
    Units { point: "mm", measurand: "µm", per_point: 1000 },
    Units { point: "mm", measurand: "mm", per_point: 1 },
    Units { point: "m", measurand: "mm", per_point: 1000 },
    Units { point: "in", measurand: "µin", per_point: 1_000_000 },
    Units { point: "in", measurand: "mil", per_point: 1000 },
    Units { point: "in", measurand: "in", per_point: 1 },
    Units { point: "°", measurand: "°", per_point: 1 },
    Units { point: "°", measurand: "′", per_point: 60 },
    Units { point: "°", measurand: "″", per_point: 3600 },
    Units { point: "kPa", measurand: "Pa", per_point: 1000 },
    Units { point: "°C", measurand: "K", per_point: 1 },
    Units { point: "\"%\"", measurand: "ppm", per_point: 10_000 },
    Units { point: "kN", measurand: "N", per_point: 1000 },
];

fn budget(units: &Units, at: &str, tolerance: &str) -> String {
    format!(
        "surebound: 1\ntitle: On the limit\nmeasurand: {{symbol: E, name: Error, unit: {m}}}\n\
         points: {{symbol: P, unit: {p}, at: [{at}]}}\n\
         contributors: [{{name: All, limits: ±1 {m}}}]\n\
         tolerance: {tolerance}\ndecision: {{rule: simple}}\n",
        p = units.point,
        m = units.measurand
    )
}

/// Thousandths and less, in inches, degrees, pascals and parts: on the limit passes, 1e-9 of the
/// points' unit beyond it fails, and as far inside passes.
#[test]
fn on_the_limit_is_inside_in_every_unit() {
    let mut passed = 0;
    for units in &UNITS {
        for at in ["0.1", "0.3", "0.7", "1.1", "2.3", "5.1", "17.6", "1000.003"] {
            for limit in ["0.001", "0.002", "0.0007", "0.1", "0.3"] {
                // The limit in the points' unit, written in the measurand's.
                let limit = fixed(limit);
                let tolerance =
                    format!("±{} {}", written(limit * units.per_point), units.measurand);
                let text = budget(units, at, &tolerance);
                for side in [1, -1] {
                    let verdict = |more: i128| {
                        let reading = written(fixed(at) + side * (limit + more));
                        judged(&text, at, &reading).verdict
                    };
                    let told = format!("{at} {} {tolerance} {side}", units.point);
                    assert_eq!(verdict(0), Some(Verdict::Pass), "{told}");
                    assert_eq!(verdict(1000), Some(Verdict::Fail), "{told}, beyond");
                    assert_eq!(verdict(-1000), Some(Verdict::Pass), "{told}, inside");
                    passed += 1;
                }
            }
        }
    }
    assert_eq!(passed, 13 * 8 * 5 * 2);
}

/// A guard band given as a width is as exact as a tolerance.
#[test]
fn on_an_exact_acceptance_limit_is_inside() {
    for at in ["0.1", "0.7", "5.1", "17.6"] {
        let units = Units { point: "mm", measurand: "µm", per_point: 1000 };
        let text = budget(&units, at, "±2.3 µm");
        let decision = "decision: {rule: guarded, guard_band: {width: 0.2 µm}}";
        let text = replaced(&text, "decision: {rule: simple}", decision);
        for side in [1, -1] {
            let verdict = |micrometres: &str| {
                let reading = fixed(at) + side * fixed(micrometres) / 1000;
                judged(&text, at, &written(reading)).verdict
            };
            assert_eq!(verdict("2.1"), Some(Verdict::Pass), "{at} {side}");
            assert_eq!(verdict("2.1001"), Some(Verdict::Fail), "{at} {side}");
        }
    }
}

/// A budget without `reading` in its model is judged by its estimate, exactly on the limit as well.
#[test]
fn a_model_of_literals_is_compared_exactly() {
    let text = "surebound: 1\ntitle: By difference\nmeasurand: {symbol: E, name: Error, unit: mm}\n\
         model: reading + a - b\nestimates: {a: 0.1 mm, b: 0.3 mm}\n\
         contributors: [{name: All, adds_to: a, limits: ±1 µm}]\n\
         tolerance: [-1 mm, 0.1 mm]\ndecision: {rule: simple}\n";
    assert_eq!(judged(text, "", "0.3 mm").verdict, Some(Verdict::Pass));
    assert_eq!(judged(text, "", "0.300001 mm").verdict, Some(Verdict::Fail));
    assert_eq!(judged(text, "", "-0.8 mm").verdict, Some(Verdict::Pass));
    assert_eq!(judged(text, "", "-0.800001 mm").verdict, Some(Verdict::Fail));
}
