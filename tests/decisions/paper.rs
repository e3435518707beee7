//! What is printed reproduces every verdict: acceptance limits rounded inwards, and the card's runs.
//!
//! A reader at the bench has the printed limits, the printed tolerance and the card. Here that reader
//! walks over each reading that the display shows within three tolerances, at each point of each
//! shipped budget and under each rule, and has to come to the engine's verdict each time.

use super::fixed::{Fixed, ONE, fixed, written};
use super::show::{budget, evaluated};
use super::{replaced, shipped};
use surebound::budget::parts::Text;
use surebound::decide::Readings;
use surebound::decide::readings::Row;
use surebound::propagate::Evaluation;
use surebound::record::{Decision, Point, Record, Rule, Verdict, Zone, from};

/// A shipped budget: the rule as it stands in the file, the points' unit as a multiple of the
/// measurand's, and the display step in the points' unit.
struct Shipped {
    name: &'static str,
    rule: &'static str,
    per_unit: Fixed,
    step: &'static str,
    display: &'static str,
}

const SHIPPED: [Shipped; 4] = [
    Shipped {
        name: "outside-micrometer-0-25",
        rule: "rule: guarded",
        per_unit: 1000,
        step: "0.001",
        display: "display: {step: 1 µm}",
    },
    Shipped {
        name: "outside-micrometer-25-50",
        rule: "rule: guarded",
        per_unit: 1000,
        step: "0.001",
        display: "display: {step: 1 µm}",
    },
    Shipped {
        name: "inch-micrometer-0-1",
        rule: "rule: four-way",
        per_unit: 1_000_000,
        step: "0.0001",
        display: "display: {step: 0.0001 in}",
    },
    Shipped {
        name: "torque-wrench",
        rule: "rule: three-way",
        per_unit: 1,
        step: "0.1",
        display: "display: {step: 0.1 N·m}",
    },
];

const RULES: [&str; 5] = ["simple", "guarded", "relaxed", "three-way", "four-way"];

/// The budget under another rule; `simple` has no guard band.
fn under(file: &Shipped, rule: &str) -> String {
    let text = replaced(&shipped(file.name), file.rule, &format!("rule: {rule}"));
    match rule {
        "simple" if file.name != "torque-wrench" => {
            replaced(&text, "  guard_band: {times_U: 1}\n", "")
        }
        _ => text,
    }
}

/// What the printed outer limits of one point are: those beyond which a reading fails.
type Outer = [Option<Fixed>; 2];

fn outer_limits(evaluation: &Evaluation) -> Vec<Outer> {
    let zones = evaluation.zones().expect("limits at every point");
    let of = |side: &Option<surebound::decide::printed::PrintedSide>| {
        side.as_ref().and_then(|it| it.outermost.as_ref()).map(|it| fixed(&it.text))
    };
    let points = zones.iter().map(|it| {
        let decision = it.as_ref().and_then(|it| it.decision.as_ref()).expect("a decision");
        [of(&decision.printed.lower), of(&decision.printed.upper)]
    });
    points.collect()
}

/// The verdict that a reader of the printed limits comes to, for an error in the measurand's unit.
fn on_paper(decision: &Decision, tolerance: [Fixed; 2], outer: Outer, error: Fixed) -> Verdict {
    let printed = decision.printed.as_ref();
    let limits = printed.map(|it| [&it.lower, &it.upper].map(|it| it.as_deref().map(fixed)));
    let within = |limits: [Option<Fixed>; 2]| {
        limits[0].is_none_or(|it| it <= error) && limits[1].is_none_or(|it| error <= it)
    };
    let accepted = limits.filter(|it| it.iter().any(Option::is_some)).is_some_and(within);
    let tolerated = within(tolerance.map(Some));
    match decision.rule.expect("a rule at every point") {
        _ if accepted => Verdict::Pass,
        Rule::Simple | Rule::Guarded | Rule::Relaxed => Verdict::Fail,
        Rule::ThreeWay if within(outer) => Verdict::Undecided,
        Rule::FourWay if tolerated => Verdict::ConditionalPass,
        Rule::FourWay if within(outer) => Verdict::ConditionalFail,
        Rule::ThreeWay | Rule::FourWay => Verdict::Fail,
    }
}

/// The verdict of the card's run that holds a reading.
fn on_card(card: &[Zone], reading: Fixed) -> Verdict {
    let holds = |it: &&Zone| {
        it.from.as_deref().is_none_or(|it| fixed(it) <= reading)
            && it.to.as_deref().is_none_or(|it| reading <= fixed(it))
    };
    let held: Vec<&Zone> = card.iter().filter(holds).collect();
    assert_eq!(held.len(), 1, "one run holds {}: {card:?}", written(reading));
    held[0].verdict
}

/// The tolerance as printed, `±4 µm`, or for one that depends on the point, as the record has it.
fn tolerance_of(point: &Point) -> [Fixed; 2] {
    let tolerance = point.tolerance.as_ref().expect("a tolerance");
    let side = |it: Option<f64>| fixed(&format!("{:.6}", it.expect("two-sided")));
    [side(tolerance.lower), side(tolerance.upper)]
}

/// The engine's verdicts on readings at one point, each as written.
fn engine(evaluation: &Evaluation, point: &Point, readings: &[Fixed]) -> Vec<Verdict> {
    let values: Vec<Text> = readings.iter().map(|it| Text::from(written(*it).as_str())).collect();
    let at = &point.at.as_ref().expect("a point").text;
    let row = Row { point: Text::from(at.as_str()), values, is_error: false };
    let readings = Readings::from_rows(evaluation.budget(), &[row]).expect("readings");
    let judgement = evaluation.judge(&readings).expect("a judgement");
    let mut record = Record::from(&judgement);
    let points = record.sections.remove(0).points;
    let point = points.into_iter().find(|it| it.readings.is_some()).expect("the judged one");
    let verdicts = point.decision.expect("a decision").readings.expect("readings");
    verdicts.iter().map(|it| it.verdict).collect()
}

#[test]
fn paper_and_card_say_what_the_engine_says_over_the_display() {
    let mut seen = 0;
    for file in &SHIPPED {
        for rule in RULES {
            let budget = budget(&under(file, rule));
            let evaluation = evaluated(&budget);
            let outer = outer_limits(&evaluation);
            let section = from::card(&evaluation).unwrap();
            for (point, outer) in section.points.iter().zip(outer) {
                let tolerance = tolerance_of(point);
                let at = fixed(&point.at.as_ref().unwrap().text);
                let step = fixed(file.step);
                let most = 3 * tolerance[1] / file.per_unit / step + 1;
                let readings: Vec<Fixed> = (-most..=most).map(|it| at + it * step).collect();
                let verdicts = engine(&evaluation, point, &readings);
                assert_eq!(verdicts.len(), readings.len());
                let decision = point.decision.as_ref().unwrap();
                for (reading, verdict) in readings.iter().zip(verdicts) {
                    let error = (reading - at) * file.per_unit;
                    let told = format!("{} {rule} {}", file.name, written(*reading));
                    assert_eq!(on_paper(decision, tolerance, outer, error), verdict, "{told}");
                    assert_eq!(on_card(point.card.as_ref().unwrap(), *reading), verdict, "{told}");
                    seen += 1;
                }
            }
        }
    }
    assert!(seen > 5000, "{seen}");
}

/// No display step: the digital steps are written as what they are worth, a full range. Limits are
/// then printed two digits finer than U; the reader walks over readings of that resolution, around
/// each limit in turn and coarsely over the rest.
#[test]
fn paper_says_what_the_engine_says_without_a_display_step() {
    let mut seen = 0;
    for file in &SHIPPED {
        for rule in RULES {
            let text = replaced(&under(file, rule), &format!("{}\n", file.display), "");
            let text = text.replace("    step: ", "    full_range: ");
            let budget = budget(&text);
            assert!(budget.display().is_none());
            let evaluation = evaluated(&budget);
            let outer = outer_limits(&evaluation);
            let record = Record::try_from(&evaluation).unwrap();
            for (point, outer) in record.sections[0].points.iter().zip(outer) {
                let decision = point.decision.as_ref().unwrap();
                let tolerance = tolerance_of(point);
                let at = fixed(&point.at.as_ref().unwrap().text);
                let errors = around_limits(decision, tolerance, outer, file.per_unit);
                let readings: Vec<Fixed> =
                    errors.iter().map(|it| at + it / file.per_unit).collect();
                let verdicts = engine(&evaluation, point, &readings);
                for (error, verdict) in errors.iter().zip(verdicts) {
                    let told =
                        format!("{} {rule} {} at {}", file.name, written(*error), written(at));
                    assert_eq!(on_paper(decision, tolerance, outer, *error), verdict, "{told}");
                    seen += 1;
                }
            }
        }
    }
    assert!(seen > 20_000, "{seen}");
}

/// Errors in units of the last printed place: 40 either side of each limit, and 121 over three
/// tolerances.
fn around_limits(
    decision: &Decision,
    tolerance: [Fixed; 2],
    outer: Outer,
    per_unit: Fixed,
) -> Vec<Fixed> {
    let printed = decision.printed.as_ref();
    let texts: Vec<&String> =
        printed.into_iter().flat_map(|it| [&it.lower, &it.upper]).flatten().collect();
    let places = texts.iter().map(|it| it.split_once('.').map_or(0, |it| it.1.len())).max();
    let mut place = ONE;
    // Readings are written in the points' unit, to twelve places at most.
    for _ in 0..places.unwrap_or(2) {
        place /= 10;
    }
    assert!(place % per_unit == 0);
    let mut limits: Vec<Fixed> = texts.iter().map(|it| fixed(it)).collect();
    limits.extend(tolerance);
    limits.extend(outer.into_iter().flatten());
    let near = limits.iter().flat_map(|it| (-40..=40).map(move |n| it / place * place + n * place));
    let coarse = (-60..=60).map(|n| tolerance[1] * 3 * n / 60 / place * place);
    near.chain(coarse).collect()
}
