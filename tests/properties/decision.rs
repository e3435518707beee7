//! Tolerance, ratio, guard band and printed limits.

use super::judge::judged;
use super::show::shown;
use super::{decimal, fixed, near};
use proptest::prelude::*;
use surebound::record::{Decision, Point, Verdict};

fn budget(u: i64, own: i64, tolerance: &str, decision: &str, more: &str) -> String {
    format!(
        "surebound: 1\ntitle: A length\nmeasurand: {{symbol: E, name: Error, unit: µm{more}}}\n\
         contributors:\n  - {{name: A, standard_uncertainty: {} µm, dof: 12}}\n  \
         - {{name: B, owner: instrument, standard_uncertainty: {} µm}}\n\
         coverage: {{probability: 99 %, method: t}}\ntolerance: {tolerance}\n{decision}\n",
        decimal(u, 4),
        decimal(own, 4)
    )
}

fn point(text: &str) -> Point {
    shown(text).points.remove(0)
}

fn decision(text: &str) -> Decision {
    point(text).decision.expect("asked for")
}

fn number(text: &str) -> f64 {
    text.replace('−', "-").parse().expect("a printed number")
}

proptest! {
    #![proptest_config(fixed(71))]

    /// TUR: tolerance span over 2·U at 95.45 %, whatever the budget reports, for both scopes.
    #[test]
    fn the_ratio_is_span_over_twice_u(u in 1..9000i64, own in 1..9000i64, low in 1..9000i64, high in 1..9000i64) {
        let text = budget(u, own, &format!("[-{} µm, {} µm]", decimal(low, 3), decimal(high, 3)), "", "");
        let test = point(&text).test;
        let span = (low + high) as f64 / 1000.0;
        for scope in [&test.all, &test.laboratory] {
            prop_assert!(near(scope.tur.unwrap(), span / (2.0 * scope.expanded_uncertainty)));
            let expanded = scope.coverage_factor * scope.standard_uncertainty;
            prop_assert!(near(scope.expanded_uncertainty, expanded));
        }
        prop_assert!(test.all.tur.unwrap() < test.laboratory.tur.unwrap() || test.all.effective_dof > test.laboratory.effective_dof);
    }

    /// A one-sided tolerance has a ratio only where the measurand is bounded on the other side.
    #[test]
    fn a_one_sided_ratio_needs_a_bound(u in 1..9000i64, limit in 1..9000i64) {
        let tolerance = format!("at most {} µm", decimal(limit, 3));
        let open = point(&budget(u, 1, &tolerance, "", "")).test.all;
        prop_assert_eq!(open.tur, None);
        let closed = point(&budget(u, 1, &tolerance, "", ", bounds: {lower: 0 µm}")).test.all;
        let span = limit as f64 / 1000.0;
        prop_assert!(near(closed.tur.unwrap(), span / (2.0 * closed.expanded_uncertainty)));
    }

    /// w = n·U at 95.45 % of the decision's scope; T − w and T + w by the rules' table.
    #[test]
    fn guard_bands_are_times_u_of_the_scope(
        u in 1..400i64, own in 1..400i64, times in 0..30i64,
        scope in prop::sample::select(vec!["all", "laboratory"]),
        rule in prop::sample::select(vec!["guarded", "relaxed", "three-way", "four-way"]),
    ) {
        let asked = format!("decision: {{rule: {rule}, guard_band: {{times_U: {}}}, uncertainty: {scope}}}", decimal(times, 1));
        let text = budget(u, own, "±2 µm", &asked, "");
        let (point, decision) = (point(&text), decision(&text));
        let test = if scope == "all" { point.test.all } else { point.test.laboratory };
        let w = times as f64 / 10.0 * test.expanded_uncertainty;
        prop_assert!(near(decision.guard_band, w), "{} {w}", decision.guard_band);
        let limit = if rule == "relaxed" { 2.0 + w } else { 2.0 - w };
        match decision.acceptance {
            Some(it) => {
                prop_assert!((it.upper.unwrap() - limit).abs() < 1e-12 && limit > -1e-9);
                prop_assert_eq!(it.lower.unwrap(), -it.upper.unwrap());
            }
            None => prop_assert!(limit < 1e-9, "{}", limit),
        }
    }

    /// Printed limits lie on the better side of the true ones, less than one unit of their last place
    /// away, and printed tolerance, limit and guard band close as a sum.
    #[test]
    fn printed_limits_are_rounded_inwards(
        u in 1..3000i64, low in -4000..4000i64, width in 1..8000i64, times in 1..20i64,
        rule in prop::sample::select(vec!["guarded", "relaxed", "three-way", "four-way"]),
    ) {
        let (low, high) = (decimal(low, 3), decimal(low + width, 3));
        let asked = format!("decision: {{rule: {rule}, guard_band: {{times_U: {}}}, uncertainty: all}}", decimal(times, 1));
        let decision = decision(&budget(u, 7, &format!("[{low} µm, {high} µm]"), &asked, ""));
        prop_assert_eq!(decision.acceptance.is_some(), decision.printed.as_ref().is_some_and(|it| it.upper.is_some()));
        if let (Some(exact), Some(printed)) = (&decision.acceptance, &decision.printed) {
            let (lower, upper) = (printed.lower.as_ref().unwrap(), printed.upper.as_ref().unwrap());
            let place = |text: &str| libm::pow(10.0, -(text.split_once('.').map_or(0, |it| it.1.len()) as f64));
            let tie = 1e-9 * width as f64 / 1000.0 + 1e-12;
            let inside = exact.upper.unwrap() - number(upper);
            // Whole numbers are written without decimals: then the place is not seen.
            let bound = if upper.contains('.') { place(upper) } else { 1.0 };
            prop_assert!(-tie <= inside && inside < bound + tie, "{upper} {exact:?}");
            let inside = number(lower) - exact.lower.unwrap();
            let bound = if lower.contains('.') { place(lower) } else { 1.0 };
            prop_assert!(-tie <= inside && inside < bound + tie, "{lower} {exact:?}");
            prop_assert!(number(lower) <= number(upper), "{lower} {upper}");
            let band = number(&printed.guard_band);
            let gaps = [(number(&high) - number(upper)).abs(), (number(lower) - number(&low)).abs()];
            prop_assert!(gaps.iter().any(|it| (it - band).abs() < 1e-9), "{gaps:?} {band}");
        }
    }

    /// A reading moves the estimate and the risk, and nothing else; the further out, the worse.
    #[test]
    fn a_worse_reading_has_no_better_verdict(
        u in 1..900i64, first in 0..4000i64, more in 0..2000i64,
        rule in prop::sample::select(vec!["simple", "guarded", "relaxed", "three-way", "four-way"]),
    ) {
        let text = budget(u, 50, "±2 µm", &format!("decision: {{rule: {rule}, uncertainty: all}}"), "");
        let judge = |it: i64| judged(&text, "", &format!("{} µm", decimal(it, 3)));
        let (better, worse) = (judge(first), judge(first + more));
        prop_assert!(better.verdict <= worse.verdict);
        // A probability beyond all bounds is 0 to the rounding of the exact distribution.
        let (less, more) = (better.specific_risk.unwrap(), worse.specific_risk.unwrap());
        prop_assert!(less <= more * (1.0 + 1e-12) + 1e-14, "{less} {more}");
        prop_assert_eq!(&better.acceptance, &worse.acceptance);
        let mirrored = judge(-first);
        prop_assert_eq!(mirrored.verdict, better.verdict);
        let apart = (mirrored.specific_risk.unwrap() - less).abs();
        prop_assert!(apart <= 1e-12 * less + 1e-14, "{apart}");
        prop_assert_eq!(better.verdict == Some(Verdict::Pass), better.cause.is_none());
    }
}
