//! A change of unit changes numbers and nothing else: mm, µm, in, µin, K and °F, verdicts included.
//!
//! 1 in = 25.4 mm and 1 K = 1.8 °F exactly, so all values are drawn in inch units and kelvins and
//! written in each system as exact decimals.

use super::judge::judged;
use super::show::shown;
use super::{decimal, fixed, near};
use proptest::prelude::*;
use surebound::record::Point;

/// Drawn numbers: microinches, tenths of kelvins, tenths of 1e-6/K.
#[derive(Debug, Clone)]
struct Numbers {
    at: i64,
    grade: i64,
    step: i64,
    scatter: i64,
    tolerance: i64,
    difference: i64,
    alpha: i64,
}

/// How a system of units writes them: each function returns number and unit.
struct System {
    /// A small length, from microinches.
    small: fn(i64) -> String,
    /// A point or reading, from microinches: number, and the points' unit.
    large: fn(i64) -> String,
    large_unit: &'static str,
    measurand: &'static str,
    /// A temperature difference, from tenths of kelvins.
    temperature: fn(i64) -> String,
    /// An expansion coefficient, from tenths of 1e-6/K.
    expansion: fn(i64) -> String,
}

const INCH: System = System {
    small: |n| format!("{n} µin"),
    large: |n| decimal(n, 6),
    large_unit: "in",
    measurand: "µin",
    temperature: |n| format!("{} °F", decimal(n * 18, 2)),
    // 1e-6/K is 1e-6/1.8 per °F, whose decimals do not end: the unit of the file need not be one.
    expansion: |n| format!("{}e-6 K^-1", decimal(n, 1)),
};

const MICROMETRE: System = System {
    small: |n| format!("{} µm", decimal(n * 254, 4)),
    large: |n| decimal(n * 254, 7),
    large_unit: "mm",
    measurand: "µm",
    temperature: |n| format!("{} K", decimal(n, 1)),
    expansion: |n| format!("{} µm/m/K", decimal(n, 1)),
};

const MIXED: System = System {
    small: |n| format!("{} mil", decimal(n, 3)),
    large: |n| decimal(n * 254, 4),
    large_unit: "µm",
    measurand: "nm",
    temperature: |n| format!("{} mK", n * 100),
    expansion: |n| format!("{} nm/mm/K", decimal(n, 1)),
};

fn budget(n: &Numbers, system: &System, rule: &str) -> String {
    let (small, temperature) = (system.small, system.temperature);
    format!(
        "surebound: 1\ntitle: A length\nmeasurand: {{symbol: E, name: Error, unit: {measurand}}}\n\
         points: {{symbol: L, unit: {large_unit}, at: [{at}]}}\nmodel: reading - block\nestimates: {{block: L}}\n\
         contributors:\n\
         \x20 - {{name: Block, adds_to: block, limits: ±{grade}, u_known_within: 20 %}}\n\
         \x20 - {{name: Heat, thermal: {{length: L, alpha: {alpha}, alpha_difference: ±0.5e-6 K^-1, difference: ±{d}, from_20: ±{d}}}}}\n\
         \x20 - {{name: Step, owner: instrument, step: {step}}}\n\
         \x20 - {{name: Scatter, owner: instrument, scatter: {scatter}, dof: 8}}\n\
         tolerance: ±{tolerance}\ndecision: {{rule: {rule}, uncertainty: all}}\n",
        measurand = system.measurand,
        large_unit = system.large_unit,
        at = (system.large)(n.at),
        grade = small(n.grade),
        alpha = (system.expansion)(n.alpha),
        d = temperature(n.difference),
        step = small(n.step),
        scatter = small(n.scatter),
        tolerance = small(n.tolerance),
    )
}

/// One of the measurand's unit in microinches.
fn factor(system: &System) -> f64 {
    match system.measurand {
        "µin" => 1.0,
        "µm" => 0.0254,
        _ => 25.4,
    }
}

fn figures(point: &Point, factor: f64) -> Vec<f64> {
    let decision = point.decision.as_ref().expect("asked for");
    let lengths = [
        point.standard_uncertainty,
        point.first_order_standard_uncertainty,
        point.second_order_standard_uncertainty.expect("computed"),
        point.expanded_uncertainty,
        point.test.laboratory.expanded_uncertainty,
        decision.guard_band,
    ];
    let mut figures: Vec<f64> = lengths.iter().map(|it| it / factor).collect();
    figures.extend([point.effective_dof.get(), point.coverage_factor]);
    figures
        .extend([point.test.all.tur, point.test.laboratory.tur].map(|it| it.expect("two-sided")));
    figures.extend(point.contributors.iter().map(|it| it.share));
    figures
}

fn numbers() -> impl Strategy<Value = Numbers> {
    (1..2_000_000i64, 1..40i64, 1..100i64, 1..100i64, 100..600i64, 1..20i64, 50..250i64).prop_map(
        |(at, grade, step, scatter, tolerance, difference, alpha)| Numbers {
            at,
            grade,
            step,
            scatter,
            tolerance,
            difference,
            alpha,
        },
    )
}

proptest! {
    #![proptest_config(fixed(5))]

    #[test]
    fn figures_do_not_depend_on_the_unit(n in numbers()) {
        let of = |system: &System| figures(&shown(&budget(&n, system, "guarded")).points[0], factor(system));
        let inch = of(&INCH);
        for system in [MICROMETRE, MIXED] {
            let other = of(&system);
            prop_assert_eq!(inch.len(), other.len());
            for (a, b) in inch.iter().zip(&other) {
                prop_assert!(near(*a, *b), "{} {inch:?} {other:?}", system.measurand);
            }
        }
    }

    /// Readings on a tolerance limit, a microinch either side, and anywhere: the same verdict.
    #[test]
    fn verdicts_do_not_depend_on_the_unit(
        n in numbers(), further in -900..900i64,
        rule in prop::sample::select(vec!["simple", "guarded", "relaxed", "three-way", "four-way"]),
    ) {
        for error in [n.tolerance, -n.tolerance, n.tolerance + 1, 1 - n.tolerance, further] {
            let judge = |system: &System| {
                let text = budget(&n, system, rule);
                let decision = judged(&text, &(system.large)(n.at), &(system.large)(n.at + error));
                (decision.verdict, decision.cause, decision.specific_risk.expect("determined"))
            };
            let inch = judge(&INCH);
            for system in [MICROMETRE, MIXED] {
                let other = judge(&system);
                prop_assert_eq!((inch.0, inch.1), (other.0, other.1), "{}", error);
                // A risk is a tail: its relative error is that of u times the square of the distance.
                prop_assert!((inch.2 - other.2).abs() <= 1e-10 * inch.2, "{} {}", inch.2, other.2);
            }
        }
    }
}
