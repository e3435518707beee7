//! The page of `crosscheck`: is the law of propagation good enough here? The answer first, in words; then
//! what it rests on, point by point; then a picture of the point where the two differ most.

use super::figure::{Curve, Figure, Hills};
use super::{Block, Cell, Column, Page, Table, Text, numbers, words};
use crate::record::{CoverageMethod, Crosscheck, DigitCheck, Point, Record, Section, Simulation};

/// Returns the page of a `crosscheck` record.
pub fn page(record: &Record) -> Page {
    let title = record.sections.first().map(words::budget_title).unwrap_or_default();
    let digits = record.options.digits.unwrap_or(2);
    let mut blocks = Vec::new();
    for section in &record.sections {
        let (verdict, sentence) = verdict(section, digits);
        blocks.push(Block::Verdict(verdict.into()));
        blocks.push(Block::plain(sentence));
        blocks.push(Block::Title(Text::from(&title)));
        blocks.push(Block::plain(words::measurand(section)));
        blocks.push(Block::Table(agreement(section)));
        blocks.push(Block::Heading("Both results".into()));
        blocks.push(Block::Table(results(section)));
        blocks.extend(figure(section).map(|it| Block::Figure(Box::new(it))));
    }
    blocks.extend(words::findings(record));
    blocks.push(words::cautions());
    Page { title: title.into(), blocks }
}

/// Returns the picture of the point at which the two results differ most, in units of δ.
pub fn figure(section: &Section) -> Option<Figure> {
    let apart = |it: &Crosscheck| {
        let delta = it.checks[1].tolerance.unwrap_or(f64::INFINITY);
        it.d_low.max(it.d_high) / delta
    };
    let all = section.points.iter().filter_map(|it| Some((it, it.crosscheck.as_ref()?)));
    let shown = all.filter(|it| it.1.densities.is_some());
    let (point, it) = shown.reduce(|a, b| if apart(b.1) > apart(a.1) { b } else { a })?;
    let densities = it.densities.as_ref()?;
    let measurand = &section.budget.measurand;
    let place = match (&point.at, &point.label) {
        (None, None) => String::new(),
        _ => format!(" at {}", words::point_name(point)),
    };
    let interval = point.coverage.probability.map_or("k·u".to_owned(), numbers::probability);
    let law = Curve {
        name: law(point).into(),
        heights: densities.law.clone().unwrap_or_default(),
        interval: it.law,
        interval_name: interval.clone().into(),
    };
    let simulated = Curve {
        name: "Monte Carlo".into(),
        heights: densities.monte_carlo.clone(),
        interval: it.monte_carlo,
        interval_name: numbers_of(point, it, &interval).into(),
    };
    let u = scale(point);
    let ends = |it: [f64; 2]| format!("{} to {}", level(it[0], u), level(it[1], u));
    let description = format!(
        "Two densities over one axis. {interval} interval: by the law of propagation {}, by Monte Carlo {}, in {}",
        ends(it.law),
        ends(it.monte_carlo),
        measurand.unit,
    );
    let unit =
        if measurand.unit == "1" { String::new() } else { format!(" in {}", measurand.unit) };
    let hills = Hills {
        title: format!("Where {} may lie{place}", measurand.symbol).into(),
        description: description.into(),
        axis: format!("{}{unit}", measurand.symbol).into(),
        height: super::figure::density_in(&measurand.unit).into(),
        range: [densities.low, densities.high],
        curves: vec![simulated, law],
    };
    Some(hills.into())
}

/// The simulated interval in words: which one it is, where it is not the usual one.
fn numbers_of(point: &Point, it: &Crosscheck, interval: &str) -> String {
    match point.coverage.probability {
        Some(_) => format!("{interval}, {}", it.compared.word()),
        None => it.compared.word().to_owned(),
    }
}

/// The answer in a word, and in a sentence that says what to do.
fn verdict(section: &Section, digits: u32) -> (&'static str, String) {
    let all: Vec<(&Point, &Crosscheck)> =
        section.points.iter().filter_map(|it| Some((it, it.crosscheck.as_ref()?))).collect();
    let of = |wanted: Option<bool>| -> Vec<String> {
        let some = all.iter().filter(|it| it.1.validated == wanted);
        some.map(|it| words::point_name(it.0)).collect()
    };
    let (apart, untold) = (of(Some(false)), of(None));
    let to = if digits == 1 { "one digit of u" } else { "two digits of u" };
    let at = |names: &[String]| match (names.len(), all.len()) {
        (_, 1) => String::new(),
        (n, m) if n == m => format!(" at all {m} points"),
        (n, m) if n > 4 => format!(" at {n} of {m} points"),
        _ => format!(" at {}", names.join(", ")),
    };
    if !apart.is_empty() {
        let tail = "there, take the simulated interval: `coverage: {method: monte_carlo}`";
        let place = at(&apart);
        return (
            "not validated",
            format!(
                "the law of propagation does not give the simulated interval to {to}{place}; {tail}"
            ),
        );
    }
    if !untold.is_empty() {
        let tail = "give it more trials, with `--trials-max`";
        let place = at(&untold);
        return ("not settled", format!("the simulation is not sure to {to}{place}; {tail}"));
    }
    let names: Vec<String> = all.iter().map(|it| words::point_name(it.0)).collect();
    let place = at(&names);
    ("validated", format!("the law of propagation gives the simulated interval to {to}{place}"))
}

/// The table of agreement.
fn agreement(section: &Section) -> Table {
    let unit = &section.budget.measurand.unit;
    let in_unit = |word: &str| Text::from(numbers::with_unit(word, unit));
    let columns = vec![
        Column::names("point"),
        Column::number(in_unit("d low")),
        Column::number(in_unit("d high")),
        Column::number(in_unit("δ, one digit")),
        Column::number(in_unit("δ, two digits")),
        Column::words("validated to"),
        Column::number("trials"),
    ];
    let row = |(point, it): (&Point, &Crosscheck)| {
        let difference = |it: f64| Cell::text(numbers::uncertainty(it));
        let delta = |check: &DigitCheck| {
            Cell::text(check.tolerance.map_or("–".to_owned(), |it| numbers::significant(it, 1)))
        };
        let trials = point.simulation.as_ref().map_or("–".to_owned(), trials);
        vec![
            Cell::text(words::point_name(point)),
            difference(it.d_low),
            difference(it.d_high),
            delta(&it.checks[0]),
            delta(&it.checks[1]),
            Cell::text(validated_to(it)),
            Cell::text(trials),
        ]
    };
    let all = section.points.iter().filter_map(|it| Some((it, it.crosscheck.as_ref()?)));
    let rows = all.map(row).collect();
    let caption = "d: how far the interval ends are apart; validated where both are within δ, half a unit of \
                   the last digit of u (JCGM 101, clause 8)";
    Table { columns, rows, caption: caption.into() }
}

/// The number of trials, short.
fn trials(it: &Simulation) -> String {
    numbers::significant(it.trials as f64, 3).trim_end_matches(".0").to_owned()
}

/// The finest digit at which the law is validated.
fn validated_to(it: &Crosscheck) -> &'static str {
    match [it.checks[0].validated, it.checks[1].validated] {
        [_, Some(true)] => "two digits",
        [Some(true), Some(false)] => "one digit only",
        [Some(true), None] => "one digit",
        [Some(false), _] => "no digit",
        [None, _] => "cannot be told",
    }
}

/// The table of both results.
fn results(section: &Section) -> Table {
    let unit = &section.budget.measurand.unit;
    let in_unit = |word: &str| Text::from(numbers::with_unit(word, unit));
    let columns = vec![
        Column::names("point"),
        Column::words("by"),
        Column::number(in_unit("estimate")),
        Column::number(in_unit("u")),
        Column::number(in_unit("low end")),
        Column::number(in_unit("high end")),
    ];
    let mut rows = Vec::new();
    for point in &section.points {
        let Some(it) = &point.crosscheck else { continue };
        let u = scale(point);
        let line = |name: String, by: String, y: Option<f64>, own: Option<f64>, ends: [f64; 2]| {
            let some = |it: Option<f64>, text: &dyn Fn(f64) -> String| it.map_or("–".into(), text);
            vec![
                Cell::text(name),
                Cell::text(by),
                Cell::text(some(y, &|it| level(it, u))),
                Cell::text(some(own, &|it| numbers::significant(it, 3))),
                Cell::text(level(ends[0], u)),
                Cell::text(level(ends[1], u)),
            ]
        };
        let (y, own) = (point.estimate, point.standard_uncertainty);
        rows.push(line(words::point_name(point), law(point), Some(y), Some(own), it.law));
        if let Some(simulated) = &point.simulation {
            let by = format!("Monte Carlo, {}", it.compared.word());
            let (y, own) = (simulated.mean, simulated.standard_uncertainty);
            rows.push(line(String::new(), by, y, own, it.monte_carlo));
        }
    }
    Table { columns, rows, caption: caption(section).into() }
}

/// Says what the intervals are of, and why a figure is missing.
fn caption(section: &Section) -> String {
    let probability = section.points.first().and_then(|it| it.coverage.probability);
    let reported = match probability {
        Some(it) => format!("intervals at {}", numbers::probability(it)),
        None => "a fixed k against the interval at 95.45 %".to_owned(),
    };
    let reasons = section.points.iter().flat_map(|it| &it.reasons);
    let simulated = reasons.filter(|it| it.field.starts_with("simulation."));
    let mut said: Vec<String> = simulated.map(|it| format!("; –: {}", it.reason)).collect();
    said.sort_unstable();
    said.dedup();
    format!("{reported}{}", said.concat())
}

/// The law of propagation with the method of its interval.
fn law(point: &Point) -> String {
    match point.coverage.method {
        CoverageMethod::Fixed => format!("law, k = {}", point.reported.coverage_factor_text()),
        CoverageMethod::Exact => "law, exact".into(),
        CoverageMethod::T | CoverageMethod::MonteCarlo if point.effective_dof.is_infinite() => {
            "law, normal".into()
        }
        CoverageMethod::T | CoverageMethod::MonteCarlo => {
            format!("law, t with ν = {}", numbers::dof(point.effective_dof))
        }
    }
}

/// The u that says how many decimals are worth showing.
fn scale(point: &Point) -> f64 {
    let simulated = point.simulation.as_ref();
    let width = simulated.map_or(0.0, |it| 0.25 * (it.symmetric[1] - it.symmetric[0]));
    let u = simulated.and_then(|it| it.standard_uncertainty).unwrap_or(width);
    if u > 0.0 { u } else { point.standard_uncertainty }
}

/// Returns a value to the third significant digit of `u`.
fn level(value: f64, u: f64) -> String {
    let text = format!("{u:.2e}");
    let exponent = text.split_once('e').and_then(|it| it.1.parse::<i32>().ok()).unwrap_or(0);
    match usize::try_from(2 - exponent) {
        _ if u == 0.0 => numbers::value(value, 0),
        Ok(decimals @ 0..=9) if value.abs() < 1e9 => {
            let text = format!("{value:.decimals$}");
            let zero = text.trim_start_matches('-').chars().all(|it| it == '0' || it == '.');
            numbers::minus(if zero { text.trim_start_matches('-') } else { &text })
        }
        Err(_) if value.abs() < 1e9 => numbers::minus(&format!("{value:.0}")),
        _ => numbers::significant(value, 9),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::record::sample;

    #[test]
    fn says_in_words_whether_the_law_is_validated_and_where_not() {
        let mut record = sample::crosscheck();
        let (word, sentence) = verdict(&record.sections[0], 2);
        assert_eq!(word, "not validated");
        assert!(sentence.contains("to two digits of u at 5.1\u{a0}mm;"), "{sentence}");
        record.sections[0].points.remove(1);
        assert_eq!(verdict(&record.sections[0], 1).0, "validated");
        record.sections[0].points[0].crosscheck.as_mut().unwrap().validated = None;
        assert_eq!(verdict(&record.sections[0], 2).0, "not settled");
    }

    #[test]
    fn pictures_the_point_where_the_results_differ_most() {
        let record = sample::crosscheck();
        let figure = figure(&record.sections[0]).unwrap();
        assert_eq!(figure.title.as_str(), "Where E may lie at 5.1\u{a0}mm");
        assert!(figure.description.as_str().contains("by Monte Carlo"));
    }

    #[test]
    fn shows_values_to_the_third_digit_of_u() {
        let cases = [
            (838.0416, 35.8, "838.0"),
            (-0.00004, 2.0, "0.00"),
            (-1234.5, 250.0, "−1234"),
            (1e-12, 2e-12, "1.00000000e-12"),
        ];
        for (value, u, expected) in cases {
            assert_eq!(level(value, u), expected);
        }
    }
}
