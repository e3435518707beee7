//! The card reading by reading: the same verdict and the same risk as `judge` on every step of the
//! display, and numbers worked out elsewhere.

use super::show::{budget, evaluated};
use surebound::budget::Budget;
use surebound::budget::parts::Text;
use surebound::decide::readings::Row;
use surebound::decide::{Grid, Readings};
use surebound::propagate::Evaluation;
use surebound::record::{CardReading, Point, ReadingVerdict, Record, Section, Verdict, Zone, from};

/// The texts of all shipped budgets that know their display.
fn shipped() -> Vec<(String, String)> {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/budgets");
    let mut found = Vec::new();
    for entry in std::fs::read_dir(folder).expect("a folder") {
        let path = entry.expect("an entry").path();
        let text = std::fs::read_to_string(&path).expect("a text");
        if text.contains("\nsurebound: 1") && text.contains("\ndisplay:") {
            found.push((path.display().to_string(), text));
        }
    }
    found.sort();
    found
}

/// The reading n as the display shows it, by whole numbers alone.
fn text_of(section: &Section, n: i64) -> String {
    let display = section.display.as_ref().expect("a display");
    let decimals = display.decimals as usize;
    let scale = 10_i64.pow(display.decimals);
    let per_step = (display.step * scale as f64).round() as i64;
    let whole = n * per_step;
    let sign = if whole < 0 { "-" } else { "" };
    let (above, below) = (whole.abs() / scale, whole.abs() % scale);
    if decimals == 0 {
        format!("{sign}{above}")
    } else {
        format!("{sign}{above}.{below:0decimals$}")
    }
}

/// What `judge` says to readings at one point.
fn judged(evaluation: &Evaluation, index: usize, texts: &[String]) -> Vec<ReadingVerdict> {
    let point = &evaluation.budget().points().list[index];
    let at = point.at.as_ref().expect("a value").number().text().to_owned();
    let name = point.label.clone().unwrap_or(at);
    let values = texts.iter().map(|it| Text::from(it.as_str())).collect();
    let row = Row { point: Text::from(name.as_str()), values, is_error: false };
    let readings = Readings::from_rows(evaluation.budget(), &[row]).expect("readings");
    let record = Record::from(&evaluation.judge(&readings).expect("a judgement"));
    let points = record.sections.into_iter().flat_map(|it| it.points);
    let point = points.into_iter().find(|it| it.readings.is_some()).expect("the judged one");
    point.decision.expect("a decision").readings.expect("readings")
}

fn grid(evaluation: &Evaluation, index: usize) -> Grid {
    let zones = evaluation.zones().expect("zones")[index].clone().expect("a tolerance");
    let point = &evaluation.points()[index];
    zones.decision.expect("a decision").grid(evaluation.budget(), point).expect("a grid")
}

/// The steps within three tolerances of the point, three tolerances being counted from the errors that
/// two neighbouring readings show.
fn walk(evaluation: &Evaluation, section: &Section, index: usize) -> std::ops::RangeInclusive<i64> {
    let point = &section.points[index];
    let display = section.display.as_ref().expect("a display");
    let middle = (point.at.as_ref().expect("a value").value / display.step).round() as i64;
    let pair = [text_of(section, middle), text_of(section, middle + 1)];
    let judged = judged(evaluation, index, &pair);
    let tolerance = point.tolerance.as_ref().expect("a tolerance");
    let widest = [tolerance.lower, tolerance.upper].into_iter().flatten().map(f64::abs);
    let widest = widest.fold(0.0, f64::max);
    let steps = (3.0 * widest / (judged[1].error - judged[0].error).abs()).ceil() as i64 + 1;
    middle - steps..=middle + steps
}

/// The verdict of the listed readings beside one that is left out.
fn beside(listed: &[CardReading], n: i64) -> [Verdict; 2] {
    let below = listed.iter().rev().find(|it| it.steps < n).unwrap_or(&listed[0]);
    let above = listed.iter().find(|it| it.steps > n).unwrap_or(&listed[listed.len() - 1]);
    [below.verdict, above.verdict]
}

/// The verdict of the run that holds a reading; the ends are texts with the same decimals.
fn on_run(card: &[Zone], n: i64, step_of: &dyn Fn(&str) -> i64) -> Verdict {
    let holds = |it: &&Zone| {
        it.from.as_deref().is_none_or(|it| step_of(it) <= n)
            && it.to.as_deref().is_none_or(|it| n <= step_of(it))
    };
    let held: Vec<&Zone> = card.iter().filter(holds).collect();
    assert_eq!(held.len(), 1, "one run holds {n}");
    held[0].verdict
}

fn card_of(budget: &Budget) -> (Evaluation<'_>, Section) {
    let evaluation = evaluated(budget);
    let section = from::card(&evaluation).expect("a card");
    (evaluation, section)
}

/// Method: M98.
#[test]
fn card_grid_and_judge_agree_on_every_step_within_three_tolerances_of_all_shipped_budgets() {
    let budgets = shipped();
    assert!(budgets.len() >= 5, "{}", budgets.len());
    let (mut seen, mut listed_seen) = (0, 0);
    for (name, text) in budgets {
        let budget = budget(&text);
        let (evaluation, section) = card_of(&budget);
        for (index, point) in section.points.iter().enumerate() {
            let grid = grid(&evaluation, index);
            let steps: Vec<i64> = walk(&evaluation, &section, index).collect();
            let texts: Vec<String> = steps.iter().map(|n| text_of(&section, *n)).collect();
            let judged = judged(&evaluation, index, &texts);
            let listed = point.card_readings.as_ref().expect("readings");
            let card = point.card.as_ref().expect("runs");
            let unit = |text: &str| -> i64 {
                steps[texts.iter().position(|it| it == text).expect("within the walk")]
            };
            for ((n, text), judged) in steps.iter().zip(&texts).zip(&judged) {
                let told = format!("{name} {text}");
                let (verdict, _) = grid.verdict(*n);
                assert_eq!(from::verdict(verdict), judged.verdict, "{told}");
                assert_eq!(on_run(card, *n, &unit), judged.verdict, "{told}");
                match listed.iter().find(|it| it.steps == *n) {
                    Some(it) => {
                        let found = (&it.reading, it.error, it.verdict, it.specific_risk);
                        let risk = judged.specific_risk;
                        assert_eq!(found, (text, judged.error, judged.verdict, risk), "{told}");
                        listed_seen += 1;
                    }
                    None => assert_eq!(beside(listed, *n), [judged.verdict; 2], "{told}"),
                }
                seen += 1;
            }
            assert!(listed.iter().all(|it| steps.contains(&it.steps)), "{name}: within the walk");
        }
    }
    assert!(seen > 1000 && listed_seen > 300, "{seen}, {listed_seen}");
}

fn with(contributor: &str, decision: &str) -> String {
    format!(
        "surebound: 1\ntitle: T\nmeasurand: {{symbol: E, name: Error, unit: µm}}\n\
         points: {{symbol: L, unit: mm, at: [2.5]}}\n\
         contributors:\n  - {{name: All of it, standard_uncertainty: 0.6 µm{contributor}}}\n\
         display: {{step: 1 µm}}\ntolerance: ±4 µm\ndecision: {{{decision}, uncertainty: all}}\n"
    )
}

fn point(text: &str) -> Point {
    let budget = budget(text);
    card_of(&budget).1.points.remove(0)
}

/// `tests/scripts/card_risks.py`: mpmath, 30 digits, both tails of a normal and of t with ν = 8 at
/// ±4 µm, u 0.6 µm. The distributions are good to 1e-13 of themselves; 1e-11 leaves room for u in SI.
#[test]
fn risks_on_the_card_are_those_of_normal_and_t() {
    let normal = [
        ("2.500", 2.616_784_937_210_605e-11),
        ("2.502", 0.000_429_060_333_196_837_5),
        ("2.497", 0.047_790_352_272_814_71),
        ("2.504", 0.5),
        ("2.505", 0.952_209_647_727_185_3),
        ("2.494", 0.999_570_939_666_803_2),
    ];
    let t = [
        ("2.500", 0.000_158_055_382_249_228_97),
        ("2.502", 0.005_170_771_394_235_881),
        ("2.497", 0.067_071_648_778_267_46),
        ("2.504", 0.500_000_478_447_311_8),
        ("2.505", 0.932_929_872_134_526_6),
        ("2.494", 0.994_833_557_613_803_6),
    ];
    for (contributor, expected) in [("", normal), (", dof: 8", t)] {
        let point = point(&with(contributor, "rule: guarded, guard_band: {width: 1.5 µm}"));
        let listed = point.card_readings.expect("readings");
        for (reading, risk) in expected {
            let found = listed.iter().find(|it| it.reading == reading).expect("listed");
            let got = found.specific_risk.expect("a risk");
            assert!((got / risk - 1.0).abs() < 1e-11, "{contributor} {reading}: {got:e}");
        }
    }
}

/// By hand: ±4 µm and a guard band of 1.5 µm give 2.5 and 5.5 µm, between the steps.
#[test]
fn the_card_of_a_four_way_rule_shows_all_its_verdicts() {
    let point = point(&with("", "rule: four-way, guard_band: {width: 1.5 µm}"));
    let listed = point.card_readings.expect("readings");
    let found: Vec<(&str, Verdict)> =
        listed.iter().map(|it| (it.error_text.as_str(), it.verdict)).collect();
    let expected = |error: i32| match error.abs() {
        0..=2 => Verdict::Pass,
        3..=4 => Verdict::ConditionalPass,
        5 => Verdict::ConditionalFail,
        _ => Verdict::Fail,
    };
    assert_eq!(found.len(), 17);
    for ((text, verdict), error) in found.into_iter().zip(-8..=8) {
        let sign = if error < 0 { "−" } else { "+" };
        let shown = if error == 0 { "0".into() } else { format!("{sign}{}", i32::abs(error)) };
        assert_eq!((text, verdict), (shown.as_str(), expected(error)));
    }
    let zones = point.card.expect("runs");
    let errors: Vec<_> = zones.iter().map(|it| it.to_error.as_deref()).collect();
    let ends = [Some("−6"), Some("−5"), Some("−3"), Some("+2"), Some("+4"), Some("+5"), None];
    assert_eq!(errors, ends);
}

/// A requirement that is not met leaves nothing to pass; a tolerance of 100 000 steps still lists few.
#[test]
fn nothing_that_passes_and_a_wide_tolerance_have_a_card_too() {
    let unmet = with("", "rule: simple, requires: {tur: 10}");
    let listed = point(&unmet).card_readings.expect("readings");
    assert!(listed.iter().all(|it| it.verdict != Verdict::Pass));
    assert!(listed.iter().any(|it| it.verdict == Verdict::Undecided));
    let wide = with("", "rule: simple").replace("±4 µm", "±100 mm");
    let listed = point(&wide).card_readings.expect("readings");
    assert_eq!(listed.len(), 12);
    assert_eq!((listed[0].reading.as_str(), listed[11].reading.as_str()), ("-97.503", "102.503"));
}
