//! Records for tests: an invented micrometer budget, with numbers that were made up by hand (none
//! is an expected value of a computation), rich enough that each field is filled in one of them.

use super::*;

/// A `show` record of ten points with twelve contributors, their names 40 characters long.
pub(crate) fn shown() -> Record {
    let mut record = Record::new(Kind::Show);
    record.files = vec![file("budgets/outside-micrometer.yaml", Role::Budget)];
    record.sections = vec![section(Kind::Show)];
    record.findings = findings();
    record
}

/// A `judge` record of one reading that is a pass.
pub(crate) fn judged() -> Record {
    let mut record = shown();
    record.kind = Kind::Judge;
    record.options = Options {
        at: Some("10.3 mm".into()),
        reading: Some("10.302 mm".into()),
        regrade: Some("±1 µm".into()),
        ..Options::default()
    };
    let mut point = point(3);
    point.coverage.method = CoverageMethod::Exact;
    point.coverage.relative_error = Some(2e-11);
    point.coverage.left_out = Some(1e-5);
    read(&mut point, &["10.302"], 2.0, Verdict::Pass);
    point.decision.as_mut().unwrap().reason = Some(
        "reads +2 µm; may be passed up to +2 µm: the next reading, +3 µm, lies beyond the \
         acceptance limit +2.54 µm (tolerance 4 µm less guard band 1.46 µm)"
            .into(),
    );
    point.contributors[0].analysis = Some(analysis());
    record.sections[0].points = vec![point];
    record.sections[0].data = Some(data());
    record.sections[0].focus = Some(0);
    record
}

/// A `judge` record of a worksheet: one point a conditional pass, one without a reading.
pub(crate) fn worksheet() -> Record {
    let mut record = shown();
    record.kind = Kind::Judge;
    record.files.insert(0, file("budgets/m-118.yaml", Role::Worksheet));
    connect(&mut record.sections[0]);
    let mut tally = Tally::default();
    for (index, point) in record.sections[0].points.iter_mut().enumerate() {
        let text = format!("{:.3}", point.at.as_ref().unwrap().value + (index % 3) as f64 / 1000.0);
        let verdict = if index == 1 { Verdict::ConditionalPass } else { Verdict::Pass };
        if index != 9 {
            let texts = [text.as_str(), "5.101"];
            let texts = if index == 1 { &texts[..] } else { &texts[..1] };
            read(point, texts, f64::from(index as u32 % 3), verdict);
        }
        tally.count(point.decision.as_ref().unwrap().verdict);
    }
    record.worksheet = Some(Worksheet {
        instrument: Texts(vec![
            ("id".into(), "M-118".into()),
            ("description".into(), "Outside micrometer 0 mm to 25 mm".into()),
        ]),
        date: Some("2026-11-20".into()),
        checks: vec![
            check("Measuring faces clean and undamaged", CheckResult::Ok),
            check("Ratchet", CheckResult::NotApplicable),
        ],
        zero: vec!["0.000".into(), "0.000".into(), "0.000".into()],
    });
    record.regrade = Some(vec![regrade()]);
    record.instrument = Some(Instrument {
        id: Some("M-118".into()),
        description: Some("Outside micrometer 0 mm to 25 mm".into()),
        verdict: Verdict::Undecided,
        conformance_probability: Some(0.987),
        checks_ok: 1,
        checks_not_ok: 0,
        points: tally,
    });
    record
}

/// A `card` record.
pub(crate) fn card() -> Record {
    let mut record = shown();
    record.kind = Kind::Card;
    record.options.card_as = Some(CardAs::Readings);
    record.sections = vec![section(Kind::Card)];
    record
}

/// A `crosscheck` record of two points: one that is validated, one that is not.
pub(crate) fn crosscheck() -> Record {
    let mut record = shown();
    record.kind = Kind::Crosscheck;
    record.options.trials_max = Some(100_000_000);
    record.options.seed = Some(7);
    record.options.digits = Some(2);
    record.options.interval = Some(IntervalKind::Shortest);
    record.options.trials = Some(1_000_000);
    let points = &mut record.sections[0].points;
    points.truncate(2);
    for (index, point) in points.iter_mut().enumerate() {
        let [low, high] = point.interval;
        let apart = if index == 0 { 0.001 } else { 0.1 };
        point.simulation = Some(simulation([low + apart, high - apart]));
        let check = |digits, tolerance: f64| DigitCheck {
            digits,
            tolerance: Some(tolerance),
            validated: Some(apart <= tolerance),
        };
        let hump = |width: f64| {
            let at = |cell: i32| {
                let x = f64::from(cell - 48) / width;
                0.56 / (1.0 + x * x)
            };
            (0..96).map(at).collect::<Vec<f64>>()
        };
        point.crosscheck = Some(Crosscheck {
            compared: IntervalKind::Shortest,
            law: [low, high],
            monte_carlo: [low + apart, high - apart],
            d_low: apart,
            d_high: apart,
            checks: [check(1, 0.05), check(2, 0.005)],
            validated: Some(index == 0),
            densities: Some(Densities {
                low: 1.6 * low,
                high: 1.6 * high,
                law: Some(hump(14.0)),
                monte_carlo: hump(12.0),
            }),
        });
    }
    record
}

fn simulation(ends: [f64; 2]) -> Simulation {
    Simulation {
        trials: 1_230_000,
        seed: 7,
        digits: Some(2),
        stabilised: Some(true),
        mean: Some(0.0001),
        standard_uncertainty: Some(0.7301),
        symmetric: ends,
        shortest: ends,
        standard_errors: Some(StandardErrors {
            mean: Some(0.0002),
            standard_uncertainty: Some(0.0003),
            symmetric: [0.0004, 0.0005],
            shortest: [0.0006, 0.0007],
        }),
        tolerance: Some(0.001),
        bin_error: 1.5e-5,
    }
}

fn file(path: &str, role: Role) -> File {
    File { path: path.into(), sha256: "0123456789abcdef".repeat(4), role }
}

fn check(what: &str, result: CheckResult) -> Check {
    Check { what: what.into(), result }
}

fn findings() -> Vec<Finding> {
    vec![
        Finding {
            code: "recalled-table".into(),
            severity: Severity::Caution,
            message: "the limits of block grade 0 were entered from memory, not from the standard"
                .into(),
            help: Some(
                "compare them with your copy of ISO 3650, table 5, before you rely on them".into(),
            ),
            about: Some("Gauge block".into()),
            place: Some("budgets/outside-micrometer.yaml:21:5".into()),
        },
        Finding {
            code: "second-order".into(),
            severity: Severity::Note,
            message: "second-order terms are in use at 2 of 10 points".into(),
            help: None,
            about: None,
            place: None,
        },
    ]
}

fn section(kind: Kind) -> Section {
    let mut points: Vec<Point> = (0..10).map(point).collect();
    if kind == Kind::Card {
        points.iter_mut().for_each(|point| {
            let at = point.at.as_ref().unwrap().value;
            point.card = Some(zones(at));
            point.card_readings =
                Some((-6..=7).filter(|it| *it != 0).map(|it| listed(at, it)).collect());
        });
    }
    let measurand = Measurand {
        symbol: "E".into(),
        name: "Error of indication".into(),
        definition: Some("Indicated length minus length of the gauge block, both at 20 °C".into()),
        unit: "µm".into(),
    };
    let decision = DecisionHead {
        rule: Rule::Guarded,
        guard_band: Some(GuardBand { kind: GuardBandKind::TimesU, value: 1.0 }),
        uncertainty: Scope::All,
        requires: Some(Requires { tur: 2.0, scope: Scope::All, otherwise: Some(Rule::ThreeWay) }),
        agreed: Some("Order 5518, clause 4".into()),
    };
    let document = Texts(vec![("number".into(), "CP-031".into()), ("revision".into(), "B".into())]);
    Section {
        budget: BudgetHead {
            title: "Outside micrometer 0 mm to 25 mm, digital step 1 µm".into(),
            document,
            measurand,
            decision: Some(decision),
        },
        display: Some(Display {
            step: 0.001, text: "1 µm".into(), unit: "mm".into(), decimals: 3
        }),
        covariance: None,
        data: None,
        correlation: None,
        laboratory_covariance: None,
        laboratory_correlation: None,
        together: None,
        focus: None,
        points,
    }
}

/// Fills what points have in common.
pub(crate) fn connect(section: &mut Section) {
    section.covariance = Some(vec![vec![0.5, 0.25], vec![0.25, 0.5]]);
    section.correlation = Some(matrix(10, 0.5));
    section.laboratory_covariance = Some(vec![vec![0.25, 0.0], vec![0.0, 0.0]]);
    section.laboratory_correlation = Some(matrix(10, -0.25));
    section.together = Some(together());
}

fn matrix(size: usize, r: f64) -> Vec<Vec<Option<f64>>> {
    (0..size).map(|p| (0..size).map(|q| Some(if p == q { 1.0 } else { r })).collect()).collect()
}

fn together() -> Together {
    let figures = |probability: f64, independent_product: f64| WithinTolerance {
        probability,
        error: 1e-12,
        independent_product,
        method: "quadrature".into(),
        dimensions: 1,
    };
    Together {
        points: 10,
        all: Some(figures(0.987, 0.961)),
        laboratory: Some(figures(0.999, 0.998)),
        reason: Some("made up, so that each field is filled".into()),
    }
}

fn zones(at: f64) -> Vec<Zone> {
    let text =
        |microns: Option<i32>| microns.map(|it| format!("{:.3}", at + f64::from(it) / 1000.0));
    let error = |microns: Option<i32>| microns.map(|it| it.to_string());
    let zone = |from, to, verdict| {
        let (from_error, to_error) = (error(from), error(to));
        Zone { from: text(from), to: text(to), from_error, to_error, verdict }
    };
    vec![
        zone(None, Some(-3), Verdict::Fail),
        zone(Some(-2), Some(2), Verdict::Pass),
        zone(Some(3), Some(3), Verdict::Undecided),
        zone(Some(4), None, Verdict::Fail),
    ]
}

/// A reading so many micrometres off the point.
fn listed(at: f64, microns: i32) -> CardReading {
    let (verdict, cause) = match microns {
        -2..=2 => (Verdict::Pass, None),
        3 => (Verdict::Undecided, Some(Cause::GuardBand)),
        -4 | 4 => (Verdict::Fail, Some(Cause::GuardBand)),
        _ => (Verdict::Fail, Some(Cause::Tolerance)),
    };
    CardReading {
        steps: i64::from(microns) + libm::round(at * 1000.0) as i64,
        reading: format!("{:.3}", at + f64::from(microns) / 1000.0),
        error: f64::from(microns),
        error_text: microns.to_string(),
        verdict,
        cause,
        specific_risk: Some((f64::from(microns.abs()) / 8.0).min(1.0)),
    }
}

/// The points' values, all with their own expanded uncertainty; the last has the largest.
const AT: [&str; 10] = ["2.5", "5.1", "7.7", "10.3", "12.9", "15", "17.6", "20.2", "22.8", "25"];

fn point(index: usize) -> Point {
    let value = AT[index].parse::<f64>().unwrap();
    let grow = 1.0 + value / 100.0;
    let (u, dof) = (0.7123 * grow, Dof::new(23.9 - index as f64).unwrap());
    let figures = |u: f64, dof| ScopeFigures {
        standard_uncertainty: u,
        effective_dof: dof,
        coverage_factor: 2.05,
        expanded_uncertainty: 2.05 * u,
        tur: Some(8.0 / (4.1 * u)),
    };
    let mut laboratory = figures(0.2 * grow, Dof::INFINITE);
    let mut reasons = Vec::new();
    if index == 0 {
        laboratory.tur = None;
        let reason = "the laboratory's part is zero here".into();
        reasons.push(Reason { field: "test.laboratory.tur".into(), reason });
    }
    Point {
        label: (index == 0).then(|| "lower end".into()),
        at: Some(At { value, text: AT[index].into(), unit: "mm".into() }),
        readings: None,
        estimate: 0.0,
        inputs: vec![Input { name: "block".into(), estimate: value, unit: "mm".into() }],
        contributors: contributors(grow),
        correlation_share: -0.013,
        second_order_share: if index > 7 { 0.0217 } else { 0.0 },
        first_order_standard_uncertainty: u * 0.99,
        second_order_standard_uncertainty: Some(u),
        second_order_shift: Some(0.001),
        standard_uncertainty: u,
        effective_dof: dof,
        coverage: Coverage {
            probability: Some(0.9545),
            method: CoverageMethod::T,
            relative_error: None,
            left_out: None,
            dof: DofRule::Truncate,
        },
        coverage_factor: 2.05,
        expanded_uncertainty: 2.05 * u,
        interval: [-2.05 * u, 2.05 * u],
        simulation: None,
        crosscheck: None,
        reported: Reported {
            estimate: 0.0,
            expanded_uncertainty: crate::quantity::decimal::round_to(2.05 * u, -1),
            coverage_factor: 2.05,
            decimals: 1,
            digits: 2,
        },
        tolerance: Some(Tolerance { lower: Some(-4.0), upper: Some(4.0), text: "±4 µm".into() }),
        test: Tests { all: figures(u, dof), laboratory },
        decision: Some(decision(2.05 * u)),
        card: None,
        card_readings: None,
        repeatability: Some(2.0),
        sheet: None,
        results: (index == 0).then(|| results(u)),
        reasons,
    }
}

/// A relative error beside the error of indication.
fn results(u: f64) -> Results {
    let figures = ResultFigures {
        symbol: "E_rel".into(),
        name: "Relative error".into(),
        definition: Some("Error of indication per length".into()),
        unit: "µm/m".into(),
        estimate: 0.0,
        first_order_standard_uncertainty: 400.0 * u,
        second_order_standard_uncertainty: Some(400.0 * u),
        second_order_shift: Some(0.1),
        standard_uncertainty: 400.0 * u,
        effective_dof: Dof::INFINITE,
        coverage_factor: 2.0,
        expanded_uncertainty: 800.0 * u,
        interval: [-800.0 * u, 800.0 * u],
        reported: Reported {
            estimate: 0.0,
            expanded_uncertainty: 580.0,
            coverage_factor: 2.0,
            decimals: 0,
            digits: 2,
        },
    };
    Results {
        figures: vec![figures],
        symbols: vec!["E".into(), "E_rel".into()],
        units: vec!["µm".into(), "µm/m".into()],
        covariance: vec![vec![0.5, 200.0], vec![200.0, 80_000.0]],
        correlation: vec![vec![Some(1.0), Some(0.9)], vec![Some(0.9), Some(1.0)]],
        independent: 2,
        region: Some(Region {
            probability: 0.9545,
            quantities: 2,
            ellipsoid_factor: 2.486,
            rectangle_factor: 2.277,
        }),
    }
}

fn decision(guard_band: f64) -> Decision {
    let limit = 4.0 - guard_band;
    let printed = (limit * 100.0).floor() / 100.0;
    Decision {
        rule: Some(Rule::Guarded),
        scope: Scope::All,
        requirement_met: Some(true),
        guard_band,
        density: Density::Normal,
        acceptance: Some(Acceptance { lower: Some(-limit), upper: Some(limit) }),
        printed: Some(PrintedLimits {
            lower: Some(format!("{:.2}", -printed)),
            upper: Some(format!("{printed:.2}")),
            guard_band: format!("{:.2}", 4.0 - printed),
            unit: "µm".into(),
        }),
        verdict: None,
        cause: None,
        specific_risk: None,
        consumer_risk: None,
        producer_risk: None,
        acceptance_probability: Some(0.87),
        limit_risk: Some(0.0228),
        population: Some(super::sample_compare::population()),
        comparison: Some(super::sample_compare::comparison()),
        operating_curve: Some(super::sample_compare::operating_curve()),
        density_curve: None,
        reason: None,
        readings: None,
        take: None,
        spread: None,
    }
}

fn regrade() -> Regrade {
    Regrade {
        tolerance: "±1 µm".into(),
        sections: vec![0],
        verdict: Some(Verdict::Fail),
        cause: Some(Cause::GuardBand),
        points: Some(Tally { pass: 4, fail: 5, missing: 1, ..Tally::default() }),
        decisive: Some(Decisive {
            section: 0,
            point: "10.3 mm".into(),
            verdict: Verdict::Fail,
            reason: Some("reads +1 µm; may not be passed".into()),
        }),
        note: Some("the guard band leaves no acceptance zone in the tolerance".into()),
    }
}

fn read(point: &mut Point, texts: &[&str], error: f64, verdict: Verdict) {
    point.readings = Some(texts.iter().map(|&text| text.into()).collect());
    point.estimate = error;
    point.reported.estimate = error;
    let decision = point.decision.as_mut().unwrap();
    decision.verdict = Some(verdict);
    decision.cause = (verdict != Verdict::Pass).then_some(Cause::GuardBand);
    decision.specific_risk = Some(0.0123);
    decision.consumer_risk = Some(0.004);
    decision.producer_risk = Some(0.031);
    let heights = vec![0.1, 0.4, 0.4, 0.1];
    decision.density_curve = Some(DensityCurve { low: error - 2.0, high: error + 2.0, heights });
    decision.reason =
        Some("reads +1 µm, inside the tolerance but within the guard band of 1.54 µm".into());
    let verdicts = texts.iter().map(|&text| ReadingVerdict {
        text: text.into(),
        error,
        verdict,
        specific_risk: Some(0.0123),
    });
    decision.readings = Some(verdicts.collect());
    let several = texts.len() > 1;
    decision.take = several.then_some(Take::Worst);
    decision.spread = several.then_some(Spread { value: 1.0, limit: 2.0, ok: true });
}

/// Kind, distribution, owner, u, unit, c, unit of c, contribution, share in percent.
type Row = (&'static str, &'static str, Owner, f64, &'static str, f64, &'static str, f64, f64);

const ROWS: [Row; 12] = {
    use Owner::{Instrument, Laboratory};
    [
        ("block_grade", "rectangular", Laboratory, 0.0811, "µm", -1.0, "1", 0.0811, 1.3),
        ("thermal", "normal", Laboratory, 0.1342, "µm", 1.0, "1", 0.1342, 3.6),
        ("step", "rectangular", Instrument, 0.2887, "µm", 1.0, "1", 0.2887, 16.4),
        ("step", "rectangular", Instrument, 0.2887, "µm", 1.0, "1", 0.2887, 0.0),
        ("readings", "t", Instrument, 0.5477, "µm", 1.0, "1", 0.5477, 59.1),
        ("limits", "triangular", Instrument, 0.2041, "µm", 1.0, "1", 0.2041, 8.2),
        ("limits", "trapezoidal", Laboratory, 0.0713, "µm", 1.0, "1", 0.0713, 1.0),
        ("certificate", "normal", Laboratory, 0.0501, "µm", -1.0, "1", 0.0501, 0.5),
        ("scatter", "t", Instrument, 0.1500, "µm", 1.0, "1", 0.1500, 4.4),
        ("full_range", "arcsine", Laboratory, 0.0354, "µm", 1.0, "1", 0.0354, 0.2),
        ("standard_uncertainty", "normal", Laboratory, 0.1021, "µm", 1.0, "1", 0.1021, 2.1),
        ("limits", "rectangular", Instrument, 0.1270, "µm", 1.0, "1", 0.1270, 3.1),
    ]
};

fn contributors(grow: f64) -> Vec<Contributor> {
    let number = |(index, row)| contributor(index, row, grow);
    ROWS.iter().enumerate().map(number).collect()
}

fn contributor(index: usize, row: &Row, grow: f64) -> Contributor {
    let &(kind, distribution, owner, u, unit, c, c_unit, contribution, percent) = row;
    let part = Part {
        name: "alpha".into(),
        estimate: 11.5,
        unit: "µm/m/K".into(),
        standard_uncertainty: 0.577,
        distribution: "rectangular".into(),
        dof: Dof::INFINITE,
        sensitivity: 0.0025,
        sensitivity_unit: "m·K".into(),
        contribution: 0.0014,
    };
    Contributor {
        // 40 characters.
        name: format!("Contributor {:02} with a name of 40 letters", index + 1),
        adds_to: (index == 0).then(|| "block".into()),
        kind: kind.into(),
        distribution: distribution.into(),
        owner,
        shared: if index == 2 { 1.0 } else { 0.0 },
        largest_of: (index == 3 || index == 4).then(|| "reading scatter".into()),
        kept: index != 3,
        estimate: 0.0,
        standard_uncertainty: u * grow,
        unit: unit.into(),
        dof: if distribution == "t" { Dof::new(9.0).unwrap() } else { Dof::INFINITE },
        sensitivity: c,
        sensitivity_unit: c_unit.into(),
        contribution: contribution * grow,
        share: percent / 100.0,
        basis: (index == 0).then(|| "Block set GB-07, certificate 2291".into()),
        due: (index == 0).then(|| "2027-03-01".into()),
        note: (index == 0).then(|| "wrung".into()),
        parts: (kind == "thermal").then(|| vec![part]),
        analysis: None,
    }
}

fn analysis() -> Analysis {
    Analysis {
        grouping: Grouping::Components,
        groups: 3,
        readings: 15,
        within_s: 0.4,
        within_dof: Dof::new(12.0).unwrap(),
        between_variance: 0.09,
        between_s: Some(0.3),
        between_dof: Dof::new(2.0).unwrap(),
        f: Some(3.8),
        f_probability: Some(0.052),
    }
}

fn data() -> Vec<CommonData> {
    let column = |input: &str, estimate, unit: &str| DataColumn {
        input: input.into(),
        estimate,
        standard_uncertainty: 0.01,
        unit: unit.into(),
    };
    let line = Fit {
        x_from: 20.0,
        x_unit: "°C".into(),
        y_unit: "°C".into(),
        residual_s: Some(0.02),
        residuals: vec![0.01, -0.02, 0.01],
        chi_squared: Some(3.5),
        chi_squared_dof: Some(1.0),
        chi_squared_probability: Some(0.06),
    };
    vec![CommonData {
        name: "Correction of the thermometer".into(),
        kind: DataKind::Line,
        owner: Owner::Laboratory,
        n: 3,
        dof: Dof::new(1.0).unwrap(),
        columns: vec![column("b0", -0.17, "°C"), column("b1", 0.002, "1")],
        correlation: vec![vec![1.0, -0.9], vec![-0.9, 1.0]],
        line: Some(line),
    }]
}
