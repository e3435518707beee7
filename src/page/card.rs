//! The page of `card`: for each point the readings that pass, fail or lie between, and each reading
//! near the limits with its risk, to pin up at the bench.
//!
//! Consecutive points whose verdicts follow one another in the same order share a table, so that a
//! column is one verdict from top to bottom. Below it each point has a tile, in which a line parts
//! the verdicts; readings that are left out share the verdict above and below them.

use super::{Block, Cell, Column, Page, Table, Text, Tile, Tiles, coverage, numbers, words};
use crate::record::{CardAs, CardReading, Point, Record, Rule, Section, Verdict, Zone};

/// What is listed: the words of the page hang on it.
#[derive(Clone, Copy, PartialEq, Eq)]
enum What {
    Readings,
    Errors,
}

/// Returns the page of a `card` record.
pub fn page(record: &Record) -> Page {
    let title = record.sections.first().map(words::budget_title).unwrap_or_default();
    let what = match record.options.card_as {
        Some(CardAs::Errors) => What::Errors,
        _ => What::Readings,
    };
    let mut blocks = vec![Block::Title(Text::from(&title))];
    blocks.extend(words::filed(record));
    for section in &record.sections {
        blocks.push(Block::plain(head(section, what)));
        blocks.extend(in_words(section).map(Block::plain));
        let tables = groups(&section.points);
        blocks.extend(tables.map(|points| Block::Table(table(section, points, what))));
        blocks.extend(tiles(section, what));
    }
    blocks.extend(words::findings(record));
    blocks.push(words::cautions());
    Page { title: title.into(), blocks }
}

fn head(section: &Section, what: What) -> String {
    let mut parts = Vec::new();
    if let Some(display) = &section.display {
        let listed = match what {
            What::Readings if display.unit == "1" => "readings".into(),
            What::Readings => format!("readings in {}", display.unit),
            What::Errors => format!("errors {}", words::measurand_short(section)),
        };
        parts.push(format!("{listed}, display step {}", display.text));
    }
    parts.extend(words::common_tolerance(section).map(|it| format!("tolerance {it}")));
    parts.extend(words::decision_asked(section));
    parts.extend(words::repeatability(section));
    parts.join("; ")
}

/// The rules that apply in words, each once, in the order of the points.
fn in_words(section: &Section) -> Option<String> {
    let mut sentences: Vec<&'static str> = Vec::new();
    for decision in section.points.iter().filter_map(|it| it.decision.as_ref()) {
        let sentence = match decision.rule {
            Some(Rule::Simple) => "simple: pass within the tolerance, fail beyond it",
            Some(Rule::Guarded) => {
                "guarded: pass within the tolerance less the guard band, else fail"
            }
            Some(Rule::Relaxed) => {
                "relaxed: pass within the tolerance and the guard band, else fail"
            }
            Some(Rule::ThreeWay) => {
                "three-way: pass within the tolerance less the guard band, fail beyond the tolerance and \
                 the guard band, undecided between"
            }
            Some(Rule::FourWay) => {
                "four-way: pass within the tolerance less the guard band, conditional pass up to the \
                 tolerance, conditional fail up to the guard band beyond it, else fail"
            }
            None => "requirement not met: undecided within the tolerance, fail beyond it",
        };
        if !sentences.contains(&sentence) {
            sentences.push(sentence);
        }
    }
    (!sentences.is_empty()).then(|| sentences.join("; "))
}

/// Runs of points with the same order of verdicts.
fn groups(points: &[Point]) -> impl Iterator<Item = &[Point]> {
    points.chunk_by(|a, b| verdicts(a).eq(verdicts(b))).filter(|points| points[0].card.is_some())
}

fn verdicts(point: &Point) -> impl Iterator<Item = Verdict> {
    zones(point).iter().map(|zone| zone.verdict)
}

fn zones(point: &Point) -> &[Zone] {
    point.card.as_deref().unwrap_or_default()
}

fn table(section: &Section, points: &[Point], what: What) -> Table {
    let mut columns = vec![Column::names("point")];
    let differs = words::tolerance_differs(section);
    columns.extend(differs.then(|| Column::quantity("tolerance")));
    columns.extend(verdicts(&points[0]).map(|verdict| Column::quantity(verdict.word())));
    columns.push(Column::quantity("guard band"));
    let row = |point: &Point| {
        let mut row = vec![Cell::text(words::point_name(point))];
        let tolerance = point.tolerance.as_ref().map_or("", |it| it.text.as_str());
        row.extend(differs.then(|| Cell::text(numbers::minus(tolerance))));
        row.extend(zones(point).iter().map(|zone| Cell::text(run(zone, what))));
        row.push(Cell::text(point.decision.as_ref().map(words::guard_band).unwrap_or_default()));
        row
    };
    let rows = points.iter().map(row).collect();
    let none = !points.iter().flat_map(verdicts).any(|verdict| verdict == Verdict::Pass);
    let unmet = points.iter().all(|it| it.decision.as_ref().is_some_and(|it| it.rule.is_none()));
    let filled =
        points.iter().any(|it| it.decision.as_ref().is_some_and(|it| it.printed.is_none()));
    let caption = match none {
        true if unmet => "no reading passes here: the requirement is not met",
        true if filled => "no reading passes here: the guard band fills the tolerance",
        true => "no reading passes here: the display can show none that does",
        false if section.display.is_none() => "the display step is not known",
        false => "",
    };
    Table { columns, rows, caption: caption.into() }
}

/// The readings of a zone: `up to 10.296`, `10.297 to 10.303`, `10.304`, `from 10.305`.
fn run(zone: &Zone, what: What) -> String {
    let (from, to) = match what {
        What::Readings => (&zone.from, &zone.to),
        What::Errors => (&zone.from_error, &zone.to_error),
    };
    let text = match (from, to) {
        (None, None) => "all".into(),
        (None, Some(to)) => format!("up to {to}"),
        (Some(from), None) => format!("from {from}"),
        (Some(from), Some(to)) if from == to => from.clone(),
        (Some(from), Some(to)) => format!("{from} to {to}"),
    };
    numbers::minus(&text)
}

/// A tile for each point; nothing where no readings are listed.
fn tiles(section: &Section, what: What) -> Option<Block> {
    let listed = |point: &Point| Some(tile(section, point, point.card_readings.as_deref()?, what));
    let tiles: Vec<Tile> = section.points.iter().filter_map(listed).collect();
    let behind = coverage::behind_all(section).map_or(String::new(), |it| format!(", {it}"));
    let mut caption =
        format!("risk: the probability that the true value lies outside the tolerance{behind}");
    let readings = || section.points.iter().filter_map(|it| it.card_readings.as_ref()).flatten();
    for verdict in [Verdict::ConditionalPass, Verdict::ConditionalFail] {
        if readings().any(|it| it.verdict == verdict) {
            caption += &format!("; {}: {}", in_short(verdict), verdict.word());
        }
    }
    (!tiles.is_empty()).then(|| Block::Tiles(Tiles { tiles, caption: caption.into() }))
}

fn tile(section: &Section, point: &Point, readings: &[CardReading], what: What) -> Tile {
    let unit = match what {
        What::Readings => match section.display.as_ref().map(|it| it.unit.as_str()) {
            None | Some("1") => "reading".to_owned(),
            Some(unit) => unit.to_owned(),
        },
        What::Errors => words::measurand_short(section),
    };
    let columns = vec![Column::number(unit), Column::words("verdict"), Column::number("risk %")];
    let mut groups: Vec<(Verdict, Vec<Vec<Cell>>)> = Vec::new();
    let mut add = |text: String, verdict: Verdict, risk: String| {
        let row = vec![Cell::text(text), Cell::text(in_short(verdict)), Cell::text(risk)];
        match groups.last_mut() {
            Some((last, rows)) if *last == verdict => rows.push(row),
            _ => groups.push((verdict, vec![row])),
        }
    };
    let mut before: Option<&CardReading> = None;
    for reading in readings {
        match before {
            None => add("lower".into(), reading.verdict, String::new()),
            Some(it) if reading.steps - it.steps > 1 => {
                let left_out = reading.steps - it.steps - 1;
                add(format!("… {left_out} more"), reading.verdict, String::new());
            }
            Some(_) => {}
        }
        let text = match what {
            What::Readings => numbers::minus(&reading.reading),
            What::Errors => numbers::minus(&reading.error_text),
        };
        let risk = reading.specific_risk.map_or("–".into(), numbers::risk_percent);
        add(text, reading.verdict, risk);
        before = Some(reading);
    }
    if let Some(last) = before {
        add("higher".into(), last.verdict, String::new());
    }
    let groups = groups.into_iter().map(|it| it.1).collect();
    Tile { heading: words::point_name(point).into(), columns, groups }
}

/// A verdict where there is little room; the legend says what is short.
fn in_short(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::ConditionalPass => "cond. pass",
        Verdict::ConditionalFail => "cond. fail",
        other => other.word(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::record::sample;

    fn zone(from: Option<&str>, to: Option<&str>) -> Zone {
        let text = |it: Option<&str>| it.map(String::from);
        let (from_error, to_error) = (text(from), text(to));
        Zone { from: text(from), to: text(to), from_error, to_error, verdict: Verdict::Undecided }
    }

    fn rows(tile: &Tile) -> Vec<Vec<String>> {
        let text = |cell: &Cell| match cell {
            Cell::Text(text) => text.as_str().to_owned(),
            Cell::Share { .. } => panic!("no share"),
        };
        tile.table().rows.iter().map(|row| row.iter().map(text).collect()).collect()
    }

    /// The sample lists −6 µm to 7 µm but not 0; pass from −2 to 2, undecided at 3.
    #[test]
    fn each_point_has_a_tile_with_every_listed_reading_and_what_is_left_out() {
        let record = sample::card();
        let found = page(&record).blocks.into_iter().find_map(|it| match it {
            Block::Tiles(tiles) => Some(tiles),
            _ => None,
        });
        let tiles = found.unwrap();
        assert_eq!(tiles.tiles.len(), 10);
        let tile = &tiles.tiles[3];
        assert_eq!(tile.heading.as_str(), "10.3\u{a0}mm");
        assert_eq!(tile.groups.iter().map(Vec::len).collect::<Vec<_>>(), [5, 5, 1, 5]);
        let rows = rows(tile);
        assert_eq!(rows[0], ["lower", "fail", ""]);
        assert_eq!(rows[1], ["10.294", "fail", "75"]);
        assert_eq!(rows[6], ["10.299", "pass", "13"]);
        assert_eq!(rows[7], ["… 1 more", "pass", ""]);
        assert_eq!(rows[10], ["10.303", "undecided", "38"]);
        assert_eq!(rows[15], ["higher", "fail", ""]);
        assert!(!tiles.caption.as_str().contains("cond."));
    }

    #[test]
    fn errors_stand_in_place_of_readings_and_short_words_in_the_legend() {
        let mut record = sample::card();
        record.options.card_as = Some(CardAs::Errors);
        let readings = record.sections[0].points[0].card_readings.as_mut().unwrap();
        readings[0].verdict = Verdict::ConditionalFail;
        let section = &record.sections[0];
        let Some(Block::Tiles(tiles)) = tiles(section, What::Errors) else { panic!("no tiles") };
        assert_eq!(rows(&tiles.tiles[0])[1], ["−6", "cond. fail", "75"]);
        assert_eq!(tiles.tiles[0].columns[0].heading.as_str(), "E in µm");
        assert!(tiles.caption.as_str().ends_with("; cond. fail: conditional fail"));
        assert!(head(section, What::Errors).starts_with("errors E in µm, display step"));
        assert_eq!(run(&zone(Some("-3"), Some("+3")), What::Errors), "−3 to +3");
    }

    #[test]
    fn keeps_points_with_the_same_order_of_verdicts_in_one_table() {
        let mut record = sample::card();
        let tables = |page: Page| {
            let tables = page.blocks.into_iter().filter(|it| matches!(it, Block::Table(_)));
            tables.count()
        };
        assert_eq!(tables(page(&record)), 1);
        record.sections[0].points[4].card.as_mut().unwrap().remove(1);
        assert_eq!(tables(page(&record)), 3);
    }

    #[test]
    fn says_why_nothing_passes() {
        let mut record = sample::card();
        record.sections[0].points.truncate(1);
        let point = &mut record.sections[0].points[0];
        point.card = Some(vec![zone(None, None)]);
        point.decision.as_mut().unwrap().printed = None;
        let caption = |record: &Record| {
            let section = &record.sections[0];
            table(section, &section.points, What::Readings).caption.as_str().to_owned()
        };
        assert!(caption(&record).ends_with("the guard band fills the tolerance"));
        let point = &mut record.sections[0].points[0];
        let judged = sample::judged().sections[0].points[0].decision.clone();
        point.decision = judged.map(|it| crate::record::Decision { rule: None, ..it });
        assert!(caption(&record).ends_with("the requirement is not met"));
    }

    #[test]
    fn names_each_zone_by_its_ends() {
        let readings = |zone: &Zone| run(zone, What::Readings);
        assert_eq!(readings(&zone(None, Some("10.296"))), "up to 10.296");
        assert_eq!(readings(&zone(Some("10.297"), Some("10.303"))), "10.297 to 10.303");
        assert_eq!(readings(&zone(Some("10.304"), Some("10.304"))), "10.304");
        assert_eq!(readings(&zone(Some("10.305"), None)), "from 10.305");
    }
}
