//! The zones of the five rules by YAML: two limits, one limit, none left; and `requires`.
//!
//! Expected verdicts are read off the table of rules in `docs/decision-rules.md` by hand. The guard
//! band is given as a width, so that every limit is a decimal and "exactly on it" means just that.

use super::judge::judged;
use super::show::{budget, evaluated, shown};
use surebound::decide::findings::{ACCEPTANCE_ZONE_EMPTY, of_zones};
use surebound::record::{Cause, Rule, Verdict};

use Verdict::{ConditionalFail as Cf, ConditionalPass as Cp, Fail as F, Pass as P, Undecided as U};

const RULES: [&str; 5] = ["simple", "guarded", "relaxed", "three-way", "four-way"];

fn text(tolerance: &str, rule: &str, width: &str) -> String {
    format!(
        "surebound: 1\ntitle: Zones\nmeasurand: {{symbol: E, name: Error, unit: µm}}\n\
         contributors: [{{name: All, standard_uncertainty: 0.3 µm}}]\n\
         tolerance: {tolerance}\ndecision: {{rule: {rule}{width}}}\n"
    )
}

/// Compares readings with verdicts, a column per rule in the order of [`RULES`].
#[track_caller]
fn check(tolerance: &str, width: &str, table: &[(&str, [Verdict; 5])]) {
    for (reading, verdicts) in table {
        for (rule, expected) in RULES.iter().zip(verdicts) {
            let band = if *rule == "simple" {
                String::new()
            } else {
                format!(", guard_band: {{width: {width}}}")
            };
            let decision = judged(&text(tolerance, rule, &band), "", &format!("{reading} µm"));
            let told = format!("{rule}, {tolerance}, {reading} µm");
            assert_eq!(decision.verdict, Some(*expected), "{told}");
            // A pass that the guard band alone makes (beyond T, under `relaxed`) says so.
            let beyond = *expected == P && verdicts[0] == F;
            let cause = if beyond { Some(Cause::GuardBand) } else { None };
            if *expected == P {
                assert_eq!(decision.cause, cause, "{told}");
            } else {
                assert!(decision.cause.is_some(), "{told}: what is no pass has a cause");
            }
        }
    }
}

#[test]
fn zones_with_two_limits() {
    let table = [
        ("0", [P, P, P, P, P]),
        ("3", [P, P, P, P, P]),
        ("3.0001", [P, F, P, U, Cp]),
        ("4", [P, F, P, U, Cp]),
        ("4.0001", [F, F, P, U, Cf]),
        ("5", [F, F, P, U, Cf]),
        ("5.0001", [F, F, F, F, F]),
        ("-3", [P, P, P, P, P]),
        ("-3.0001", [P, F, P, U, Cp]),
        ("-4", [P, F, P, U, Cp]),
        ("-4.0001", [F, F, P, U, Cf]),
        ("-5", [F, F, P, U, Cf]),
        ("-5.0001", [F, F, F, F, F]),
    ];
    check("±4 µm", "1 µm", &table);
}

#[test]
fn zones_with_uneven_limits() {
    let table = [
        ("-0.5", [P, P, P, P, P]),
        ("-0.5001", [P, F, P, U, Cp]),
        ("-1", [P, F, P, U, Cp]),
        ("-1.5", [F, F, P, U, Cf]),
        ("-1.5001", [F, F, F, F, F]),
        ("2.5", [P, P, P, P, P]),
        ("3", [P, F, P, U, Cp]),
        ("3.5", [F, F, P, U, Cf]),
        ("3.5001", [F, F, F, F, F]),
    ];
    check("[-1 µm, 3 µm]", "0.5 µm", &table);
}

#[test]
fn zones_with_an_upper_limit_alone() {
    let table = [
        ("-1000", [P, P, P, P, P]),
        ("3", [P, P, P, P, P]),
        ("3.0001", [P, F, P, U, Cp]),
        ("4", [P, F, P, U, Cp]),
        ("4.0001", [F, F, P, U, Cf]),
        ("5", [F, F, P, U, Cf]),
        ("5.0001", [F, F, F, F, F]),
    ];
    check("at most 4 µm", "1 µm", &table);
    check("{upper: 4 µm}", "1 µm", &table);
}

#[test]
fn zones_with_a_lower_limit_alone() {
    let table = [
        ("1000", [P, P, P, P, P]),
        ("5", [P, P, P, P, P]),
        ("4.9999", [P, F, P, U, Cp]),
        ("4", [P, F, P, U, Cp]),
        ("3.9999", [F, F, P, U, Cf]),
        ("3", [F, F, P, U, Cf]),
        ("2.9999", [F, F, F, F, F]),
    ];
    check("at least 4 µm", "1 µm", &table);
    check("{lower: 4 µm}", "1 µm", &table);
}

/// T − w is empty: under the rules that need it nothing passes, the middle of the tolerance neither.
#[test]
fn zones_where_no_acceptance_is_left() {
    let table = [
        ("0", [P, F, P, U, Cp]),
        ("0.5", [P, F, P, U, Cp]),
        ("0.5001", [F, F, P, U, Cf]),
        ("1.5", [F, F, P, U, Cf]),
        ("1.5001", [F, F, F, F, F]),
        ("-0.5", [P, F, P, U, Cp]),
        ("-1.5001", [F, F, F, F, F]),
    ];
    check("±0.5 µm", "1 µm", &table);
    for (rule, empty) in RULES.iter().zip([false, true, false, true, true]) {
        let band = if *rule == "simple" { "" } else { ", guard_band: {width: 1 µm}" };
        let text = text("±0.5 µm", rule, band);
        let decision = shown(&text).points.remove(0).decision.unwrap();
        assert_eq!(decision.acceptance.is_none(), empty, "{rule}");
        let no_limit = decision.printed.is_none_or(|it| it.lower.is_none() && it.upper.is_none());
        assert_eq!(no_limit, empty, "{rule}");
        let budget = budget(&text);
        let zones = evaluated(&budget).zones().unwrap();
        let found = of_zones(&budget, &zones);
        assert_eq!(found.iter().any(|it| it.code == ACCEPTANCE_ZONE_EMPTY), empty, "{rule}");
    }
}

/// A guard band just as wide as the tolerance leaves one value, and it passes.
#[test]
fn one_value_left_to_accept_is_not_none() {
    for rule in ["guarded", "three-way", "four-way"] {
        let text = text("±1 µm", rule, ", guard_band: {width: 1 µm}");
        assert_eq!(judged(&text, "", "0 µm").verdict, Some(P), "{rule}");
        assert_ne!(judged(&text, "", "0.0001 µm").verdict, Some(P), "{rule}");
        assert_ne!(judged(&text, "", "-0.0001 µm").verdict, Some(P), "{rule}");
    }
}

/// TUR = 4 µm/(0.3 µm·2.0000024) = 6.67 with ±4 µm, 3.33 with ±2 µm.
fn requiring(tolerance: &str, rule: &str, requires: &str) -> String {
    text(tolerance, rule, &format!(", requires: {{{requires}}}"))
}

#[test]
fn a_requirement_that_is_met_changes_nothing() {
    for rule in RULES {
        let with = requiring("±4 µm", rule, "tur: 4, otherwise: guarded");
        for reading in ["0 µm", "3.9 µm", "4.1 µm", "9 µm"] {
            let (a, b) =
                (judged(&with, "", reading), judged(&text("±4 µm", rule, ""), "", reading));
            assert_eq!((a.verdict, a.cause, a.acceptance), (b.verdict, b.cause, b.acceptance));
            assert_eq!((a.requirement_met, b.requirement_met), (Some(true), None));
        }
    }
}

#[test]
fn a_requirement_that_is_not_met_brings_the_other_rule() {
    for other in RULES {
        let with = requiring("±2 µm", "simple", &format!("tur: 4, otherwise: {other}"));
        for reading in ["0 µm", "1.5 µm", "1.9 µm", "2 µm", "2.1 µm", "9 µm"] {
            let (a, b) =
                (judged(&with, "", reading), judged(&text("±2 µm", other, ""), "", reading));
            assert_eq!(a.verdict, b.verdict, "{other} {reading}");
            assert_eq!(a.acceptance, b.acceptance, "{other} {reading}");
            assert_eq!((a.requirement_met, a.rule.map(Rule::word)), (Some(false), Some(other)));
        }
    }
}

/// Without `otherwise` what is inside the tolerance is undecided and what is outside fails.
#[test]
fn a_requirement_that_is_not_met_leaves_readings_undecided() {
    for rule in RULES {
        let text = requiring("±2 µm", rule, "tur: 4");
        for (reading, expected) in
            [("0 µm", U), ("2 µm", U), ("-2 µm", U), ("2.0001 µm", F), ("-2.0001 µm", F)]
        {
            let decision = judged(&text, "", reading);
            assert_eq!(decision.verdict, Some(expected), "{rule} {reading}");
            assert_eq!((decision.rule, decision.requirement_met), (None, Some(false)));
            let cause = if expected == U { Cause::Requirement } else { Cause::Tolerance };
            assert_eq!(decision.cause, Some(cause), "{rule} {reading}");
        }
    }
}

/// A ratio that cannot be stated meets no requirement: one limit and no bound on the other side.
#[test]
fn a_ratio_that_is_not_stated_is_not_met() {
    let open = requiring("at most 100 µm", "simple", "tur: 4");
    assert_eq!(judged(&open, "", "1 µm").verdict, Some(U));
    assert_eq!(judged(&open, "", "101 µm").verdict, Some(F));
    let bounded = open.replace("unit: µm}", "unit: µm, bounds: {lower: 0 µm}}");
    assert_eq!(judged(&bounded, "", "1 µm").verdict, Some(P));
}

/// The ratio is that of the decision's scope, or of the one that `requires` names.
#[test]
fn a_requirement_looks_at_its_scope() {
    let text = |requires: &str| {
        format!(
            "surebound: 1\ntitle: Scopes\nmeasurand: {{symbol: E, name: Error, unit: µm}}\n\
             contributors:\n  - {{name: A, standard_uncertainty: 0.1 µm}}\n  \
             - {{name: B, owner: instrument, standard_uncertainty: 0.9 µm}}\n\
             tolerance: ±2 µm\ndecision: {{rule: simple, uncertainty: all, requires: {{{requires}}}}}\n"
        )
    };
    let met = |requires: &str| judged(&text(requires), "", "0 µm").requirement_met;
    assert_eq!(met("tur: 4"), Some(false));
    assert_eq!(met("tur: 4, scope: all"), Some(false));
    assert_eq!(met("tur: 4, scope: laboratory"), Some(true));
}
