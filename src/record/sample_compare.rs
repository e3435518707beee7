//! A made-up population, comparison and operating curve for the tests of records and pages.

use super::{
    Acceptance, Acceptances, Alternative, GuardBand, GuardBandKind, History, OperatingCurve,
    Population, PopulationSource, PrintedLimits, Rule, Verdict,
};
use super::{SheetLimit, SheetLine, SheetList, SheetRun};

fn limits() -> Acceptance {
    Acceptance { lower: Some(-2.5), upper: Some(2.5) }
}

fn asked() -> GuardBand {
    GuardBand { kind: GuardBandKind::ConsumerRisk, value: 0.02 }
}

pub(super) fn population() -> Population {
    Population {
        from: PopulationSource::History,
        mean: Some(0.2),
        sd: Some(1.3),
        distribution: Some("normal".into()),
        limits: Some([-5.0, 5.0]),
        in_tolerance: Some(0.96),
        prior: true,
        history: Some(History {
            file: "as-found.csv".into(),
            count: 31,
            observed_sd: Some(1.4),
            measurement_sd: 0.5,
            sd_uncertainty: Some(0.2),
            mean_uncertainty: Some(0.25),
            in_tolerance: 30,
            in_tolerance_interval: Some([0.83, 0.999]),
            same_in_all: vec!["Gauge block".into()],
        }),
    }
}

pub(super) fn comparison() -> Vec<Alternative> {
    let row = |rule, reason: Option<&str>| Alternative {
        rule,
        asked: Some(asked()),
        own: rule == Rule::Guarded,
        guard_band: Some(1.5),
        acceptance: Some(limits()),
        printed: Some(PrintedLimits {
            lower: Some("-2.50".into()),
            upper: Some("2.50".into()),
            guard_band: "1.50".into(),
            unit: "µm".into(),
        }),
        verdict: Some(Verdict::Pass),
        limit_risk: Some(0.03),
        consumer_risk: Some(0.02),
        producer_risk: Some(0.08),
        reason: reason.map(Into::into),
    };
    vec![
        row(Rule::Guarded, None),
        row(Rule::Relaxed, Some("made up, so that each field is filled")),
    ]
}

pub(super) fn sheet() -> super::Sheet {
    let limit = SheetLimit { name: "acceptance".into(), is_upper: true, text: "2.5".into() };
    let run = SheetRun {
        from: Some(-3),
        to: Some(3),
        verdict: Verdict::Pass,
        before: "reads ".into(),
        after: "; may be passed".into(),
        limit: Some(limit),
        last_pass: Some(3),
    };
    let (base, per_step) = ("-2500".into(), "1".into());
    super::Sheet {
        step: "0.001".into(),
        start: 2500,
        runs: vec![run],
        line: Some(SheetLine { base, per_step, scale: 0, least: 0, signed: true }),
        list: Some(SheetList { first: 2497, texts: vec!["-3".into(), "-2".into()] }),
        spread: Some(super::SheetSpread {
            limit: "2 µm".into(),
            steps: Some(2),
            each: Some(vec![2, 2]),
        }),
    }
}

pub(super) fn operating_curve() -> OperatingCurve {
    let curve = |own| Acceptances {
        rule: Rule::Guarded,
        asked: Some(asked()),
        own,
        acceptance: Some(limits()),
        probabilities: vec![0.0, 0.5, 1.0, 0.5, 0.0],
    };
    OperatingCurve {
        true_errors: vec![-4.0, -2.0, 0.0, 2.0, 4.0],
        curves: vec![curve(true), curve(false)],
    }
}
