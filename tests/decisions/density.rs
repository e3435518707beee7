//! A digital step dominates: risk and guard band are those of the exact distribution.
//!
//! Reference: `tests/scripts/step_decision.py`, direct integration with mpmath at 30 digits, printed to 17 and kept as the nearest double.

use super::judge::judged;
use super::show::{budget, evaluated, shown};
use surebound::record::Density;

const BUDGET: &str = "surebound: 1\ntitle: T\nmeasurand: {symbol: E, name: Error, unit: µm}\npoints: {symbol: L, unit: mm, at: [25]}\ncontributors:\n  - {name: Step, owner: instrument, step: 1 µm}\n  - {name: Block, standard_uncertainty: 0.1 µm}\n  - {name: Scatter, standard_uncertainty: 0.05 µm, dof: 6}\ntolerance: ±4 µm\n";

fn with(guard_band: &str) -> String {
    format!("{BUDGET}decision: {{rule: guarded, guard_band: {{{guard_band}}}, uncertainty: all}}\n")
}

/// Risks near both limits, inside and outside. A risk has an error below 1e-9 of itself here.
#[test]
fn the_risk_near_a_limit_is_that_of_direct_integration() {
    let references = [
        ("25.0032 mm", 0.000_269_935_410_757_506_5),
        ("25.0035 mm", 0.046_509_713_325_030_74),
        ("25.0039 mm", 0.400_030_945_418_506_1),
        ("25.0040 mm", 0.500_000_000_002_073_1),
        ("25.0043 mm", 0.797_779_615_835_005_3),
        ("25.0047 mm", 0.997_779_265_653_669_3),
        ("24.9964 mm", 0.112_752_515_185_930_35),
    ];
    for (reading, expected) in references {
        let decision = judged(&with("times_U: 1"), "25 mm", reading);
        assert_eq!(decision.density, Density::Exact);
        let got = decision.specific_risk.unwrap();
        assert!((got / expected - 1.0).abs() < 1e-9, "{reading}: {got:e}");
    }
}

/// w for a risk of 5 % at the limit, by root finding on the same integral; and the promise is kept.
#[test]
fn a_guard_band_for_a_risk_keeps_its_promise_where_a_step_dominates() {
    let text = with("specific_risk: 5 %");
    let section = shown(&text);
    let band = section.points[0].decision.as_ref().unwrap().guard_band;
    assert!((band / 0.493_179_953_289_563_5 - 1.0).abs() < 1e-9, "{band}");
    let budget = budget(&text);
    let density = evaluated(&budget).points()[0].all.density.clone();
    let risk = density.above(band * 1e-6).unwrap() + density.below((8.0 - band) * 1e-6).unwrap();
    assert!((risk / 0.05 - 1.0).abs() < 1e-9, "{risk}");
}
