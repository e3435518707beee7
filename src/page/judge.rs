//! The page of `judge`: the verdict, why, how sure, and the figures behind it.
//!
//! With a worksheet the instrument's verdict stands first and the points follow as a table.

use super::{
    Block, Cell, Column, Page, Span, Table, Text, compare, coverage, numbers, regrade, together,
    words,
};
use crate::record::{
    CheckResult, CoverageMethod, Decision, Instrument, Point, Record, Scope, Section, Spread, Take,
    Verdict, Worksheet,
};

/// Returns the page of a `judge` record.
pub fn page(record: &Record) -> Page {
    match &record.instrument {
        Some(instrument) => worksheet_page(record, instrument),
        None => reading_page(record),
    }
}

/// Returns the picture of the operating curves at a section's first point; `None` where there are none.
pub fn figure(section: &Section) -> Option<super::Figure> {
    let first = section.points.first()?;
    super::figure::operating_curve(section, first)
}

/// One reading: verdict, reason, figures.
fn reading_page(record: &Record) -> Page {
    let mut blocks = Vec::new();
    let mut title = String::from("verdict");
    for section in &record.sections {
        title = words::budget_title(section);
        for point in &section.points {
            blocks.extend(reading_blocks(section, point));
        }
    }
    blocks.extend(regrade::blocks(record));
    blocks.extend(words::findings(record));
    blocks.push(words::cautions());
    Page { title: title.into(), blocks }
}

fn reading_blocks(section: &Section, point: &Point) -> Vec<Block> {
    let mut blocks = Vec::new();
    if let Some(decision) = &point.decision {
        let verdict = decision.verdict.map_or("no verdict", Verdict::word);
        blocks.push(Block::Verdict(verdict.into()));
        blocks.extend(
            decision
                .reason
                .as_ref()
                .map(|reason| Block::Paragraph(vec![Span::strong(words::reason(section, reason))])),
        );
    }
    let mut pairs = vec![pair("budget", words::budget_title(section))];
    pairs.push(pair("point", words::point_name(point)));
    pairs.extend(point.readings.as_ref().map(|it| pair("reading", numbers::minus(&it.join(", ")))));
    let decision = point.decision.as_ref();
    pairs.extend(decision.and_then(|it| it.take).map(|it| pair("reported", reported(it))));
    pairs.extend(
        decision.and_then(|it| it.spread.as_ref()).map(|it| pair("spread", spread(section, it))),
    );
    pairs.extend(figures(section, point));
    if let Some(decision) = &point.decision {
        pairs.extend(decided(section, decision));
    }
    let agreed = section.budget.decision.as_ref().map(|it| it.agreed.as_deref());
    pairs.extend(agreed.map(|agreed| pair("agreed", agreed.unwrap_or("not stated"))));
    let unstated = words::not_stated(point).into_iter();
    pairs.extend(unstated.map(|(what, why)| pair("not stated", format!("{what}: {why}"))));
    blocks.push(Block::Pairs(pairs));
    blocks.extend(point.decision.iter().flat_map(|it| compare::at_point(section, it)));
    blocks
}

/// Which of several readings is reported.
fn reported(take: Take) -> &'static str {
    match take {
        Take::Worst => "the worst reading",
        Take::Mean => "the mean of the readings",
        Take::Last => "the last reading",
    }
}

/// How far the readings lie apart, and how far they may.
fn spread(section: &Section, spread: &Spread) -> String {
    let unit = &section.budget.measurand.unit;
    let value = |number: f64| numbers::joined(&numbers::value(number, 0), unit);
    format!("{} of {} at most", value(spread.value), value(spread.limit))
}

/// A name and a value of the list of figures.
type Pair = (Text, Text);

fn pair(name: impl Into<Text>, value: impl Into<Text>) -> Pair {
    (name.into(), value.into())
}

/// What was measured and how sure it is.
fn figures(section: &Section, point: &Point) -> Vec<Pair> {
    let measurand = &section.budget.measurand;
    let unit = |number: &str| numbers::joined(number, &measurand.unit);
    let reported = &point.reported;
    let coverage = match point.coverage.probability {
        Some(probability) => format!(" at {}", numbers::probability(probability)),
        None => String::new(),
    };
    let exact = match point.coverage.method {
        CoverageMethod::Exact => ", from the exact distribution",
        _ => "",
    };
    let k = reported.coverage_factor_text();
    let expanded = unit(&reported.expanded_uncertainty_text());
    let result =
        format!("{} = {}", measurand.symbol, unit(&numbers::minus(&reported.estimate_text())));
    let mut pairs = vec![pair("result", result)];
    pairs.push(pair("uncertainty", format!("U = {expanded} (k = {k}{coverage}{exact})")));
    pairs.extend(point.tolerance.as_ref().map(|it| pair("tolerance", numbers::minus(&it.text))));
    let tests = &point.test;
    let (all, laboratory) = (numbers::tur(tests.all.tur), numbers::tur(tests.laboratory.tur));
    let tur = format!("{all} with all contributors, {laboratory} with the laboratory's only");
    // Where neither is stated, the reason at the end says so.
    let stated = tests.all.tur.is_some() || tests.laboratory.tur.is_some();
    pairs.extend(stated.then(|| pair("TUR", tur)));
    pairs
}

/// How it was decided.
fn decided(section: &Section, decision: &Decision) -> Vec<Pair> {
    let rule = format!("{}, {}", words::rule(decision), words::scope(decision.scope));
    let mut pairs = Vec::new();
    pairs.extend(decision.specific_risk.map(|risk| pair("risk", specific_risk(decision, risk))));
    pairs.extend([
        pair(words::passes_if(section), words::acceptance(decision)),
        pair("guard band", words::guard_band(decision) + coverage::of_guard_band(section)),
        pair("rule", rule),
    ]);
    if let (Some(consumer), Some(producer)) = (decision.consumer_risk, decision.producer_risk) {
        let (consumer, producer) = (numbers::risk(consumer), numbers::risk(producer));
        let risks = format!("{consumer} outside and passed, {producer} inside and not passed");
        pairs.push(pair("before any reading", risks));
    }
    let known = decision.population.as_ref();
    pairs.extend(known.map(|it| pair("such instruments", compare::population(section, it))));
    pairs
}

fn specific_risk(decision: &Decision, risk: f64) -> String {
    let part = match decision.scope {
        Scope::All => "",
        Scope::Laboratory => ", the laboratory's part",
    };
    let behind = coverage::behind(decision).map_or(String::new(), |it| format!(", {it}"));
    let risk = numbers::risk(risk);
    format!("{risk} that the true value lies outside the tolerance{part}{behind}")
}

/// A worksheet: the instrument, its points, its checks.
fn worksheet_page(record: &Record, instrument: &Instrument) -> Page {
    let title = instrument_name(instrument, record.worksheet.as_ref());
    let mut blocks = vec![
        Block::Verdict(instrument.verdict.word().into()),
        Block::Paragraph(vec![Span::strong(because(instrument))]),
        Block::Title(Text::from(&title)),
    ];
    for section in &record.sections {
        blocks.push(Block::Heading(words::budget_title(section).into()));
        blocks.extend(words::decision_asked(section).map(Block::plain));
        blocks.push(Block::Table(points(section)));
        blocks.extend(not_passed(record, section));
        blocks.extend(together::within_tolerance(section));
        blocks.extend(compare::over_points(section));
    }
    blocks.extend(regrade::blocks(record));
    blocks.extend(record.worksheet.iter().flat_map(noted));
    blocks.extend(words::findings(record));
    blocks.push(words::cautions());
    Page { title: title.into(), blocks }
}

fn instrument_name(instrument: &Instrument, worksheet: Option<&Worksheet>) -> String {
    let id = instrument.id.as_deref().unwrap_or("instrument without identification");
    let date = worksheet.and_then(|worksheet| worksheet.date.as_deref());
    let parts = [Some(id), instrument.description.as_deref(), date];
    parts.into_iter().flatten().collect::<Vec<_>>().join(", ")
}

/// Why the instrument has its verdict, in one sentence: checks first, then points by verdict.
pub(super) fn because(instrument: &Instrument) -> String {
    let mut parts = Vec::new();
    if instrument.checks_not_ok > 0 {
        parts.push(format!("{} not in order", count(instrument.checks_not_ok, "check")));
    }
    let points = &instrument.points;
    parts.push(format!("{}: {}", count(points.total(), "point"), regrade::tally(points)));
    if let Some(probability) = instrument.conformance_probability {
        let probability = numbers::conformance(probability);
        parts.push(format!("within tolerance at all points with a probability of {probability}"));
    }
    parts.join("; ")
}

fn count(number: u64, thing: &str) -> String {
    if number == 1 { format!("1 {thing}") } else { format!("{number} {thing}s") }
}

/// Returns the table of points: reading, result, verdict, risk; the tolerance where it is not the same at all.
pub(super) fn points(section: &Section) -> Table {
    points_with(section, false)
}

/// Returns the table of points with the coverage factor of each U, and under it how U was found.
pub(super) fn points_in_full(section: &Section) -> Table {
    points_with(section, true)
}

/// The cells of a row with all columns that there can be.
type Row = [String; 10];

/// Which of them there are.
type With = [bool; 10];

fn points_with(section: &Section, in_full: bool) -> Table {
    let measurand = &section.budget.measurand;
    let in_unit = |word: &str| numbers::with_unit(word, &measurand.unit);
    let mut with: With = [true; 10];
    with[3] = section.points.iter().any(|it| spread_of(it).is_some());
    with[5] = in_full;
    with[6] = words::tolerance_differs(section);
    let columns = [
        Column::names("point"),
        Column::number("reading"),
        Column::number(in_unit(&measurand.symbol)),
        Column::quantity(in_unit("spread")),
        Column::number(in_unit("U")),
        Column::number("k"),
        Column::quantity("tolerance"),
        Column::quantity(words::passes_if(section)),
        Column::words("verdict"),
        Column::quantity("risk"),
    ];
    let columns = columns.into_iter().zip(with).filter(|it| it.1).map(|it| it.0).collect();
    let cells = |row: Row| {
        let kept = row.into_iter().zip(with).filter(|it| it.1);
        kept.map(|it| Cell::text(it.0)).collect()
    };
    let rows = section.points.iter().flat_map(point_rows).map(cells).collect();
    let behind = coverage::behind_all(section).map_or(String::new(), |it| format!(", {it}"));
    let risk =
        format!("risk: the probability that the true value lies outside the tolerance{behind}");
    let caption = match in_full {
        true => format!("{}; {risk}", coverage::reported(section)),
        false => risk,
    };
    Table { columns, rows, caption: caption.into() }
}

/// One row per point; where it was read several times, one more per reading.
fn point_rows(point: &Point) -> Vec<Row> {
    let readings =
        point.decision.as_ref().and_then(|it| it.readings.as_deref()).unwrap_or_default();
    let mut rows = vec![point_row(point)];
    if readings.len() > 1 {
        for reading in readings {
            let mut row = Row::default();
            row[1] = numbers::minus(&reading.text);
            row[2] = numbers::value(reading.error, point.reported.decimals as usize);
            row[8] = reading.verdict.word().into();
            row[9] = reading.specific_risk.map(numbers::risk).unwrap_or_default();
            rows.push(row);
        }
    }
    rows
}

fn spread_of(point: &Point) -> Option<&Spread> {
    point.decision.as_ref()?.spread.as_ref()
}

/// How far readings lie apart, and how far they may, without unit.
fn apart(spread: &Spread) -> String {
    let [value, limit] = [spread.value, spread.limit].map(|it| numbers::value(it, 0));
    let sign = if spread.ok { "≤" } else { ">" };
    format!("{value} {sign} {limit}")
}

fn point_row(point: &Point) -> Row {
    let decision = point.decision.as_ref();
    let verdict = decision.and_then(|decision| decision.verdict);
    let read = point.readings.as_ref().filter(|readings| !readings.is_empty());
    let take = decision.and_then(|it| it.take);
    let reading = match read.map(Vec::as_slice) {
        None => "none".to_owned(),
        Some([one]) => numbers::minus(one),
        Some(several) => match take {
            Some(take) => format!("{} of {}", take.word(), several.len()),
            None => format!("{} readings", several.len()),
        },
    };
    let estimate = read.map_or(String::new(), |_| numbers::minus(&point.reported.estimate_text()));
    let risk = decision.and_then(|decision| decision.specific_risk).map(numbers::risk);
    [
        words::point_name(point),
        reading,
        estimate,
        spread_of(point).map(apart).unwrap_or_default(),
        point.reported.expanded_uncertainty_text(),
        point.reported.coverage_factor_text(),
        point.tolerance.as_ref().map(|it| numbers::minus(&it.text)).unwrap_or_default(),
        decision.map(words::acceptance).unwrap_or_default(),
        verdict.map_or("no reading", Verdict::word).into(),
        risk.unwrap_or_default(),
    ]
}

/// Why a point is not passed; nothing for one that is.
fn why(decision: &Decision) -> Option<String> {
    if decision.verdict == Some(Verdict::Pass) {
        return None;
    }
    decision.reason.clone().or(decision.cause.map(|it| it.word().to_owned()))
}

/// The reasons of what is not passed, with a heading, before the first section also the checks that are not in
/// order; nothing where all passes.
pub(super) fn not_passed(record: &Record, section: &Section) -> Vec<Block> {
    let reason = |point: &Point| {
        let reason = point.decision.as_ref().and_then(why)?;
        Some(pair(words::point_name(point), words::reason(section, &reason)))
    };
    let is_first = record.sections.first().is_some_and(|it| std::ptr::eq(it, section));
    let checks = record.worksheet.iter().filter(|_| is_first).flat_map(|it| &it.checks);
    let failed = checks.filter(|it| it.result == CheckResult::NotOk);
    let mut pairs: Vec<Pair> =
        failed.map(|it| pair("check", format!("{}: not in order", it.what))).collect();
    pairs.extend(section.points.iter().filter_map(reason));
    match pairs.is_empty() {
        true => Vec::new(),
        false => vec![Block::Heading("Why not passed".into()), Block::Pairs(pairs)],
    }
}

/// Checks and zero settings, with a heading; nothing where none were noted.
pub(super) fn noted(worksheet: &Worksheet) -> Vec<Block> {
    let mut pairs = Vec::new();
    for check in &worksheet.checks {
        let word = match check.result {
            CheckResult::NotOk => "NOT OK",
            result => result.word(),
        };
        pairs.push(pair(&check.what, word));
    }
    if !worksheet.zero.is_empty() {
        pairs.push(pair("zero settings", numbers::minus(&worksheet.zero.join(", "))));
    }
    match pairs.is_empty() {
        true => Vec::new(),
        false => vec![Block::Heading("Checks and zero setting".into()), Block::Pairs(pairs)],
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::record::sample;

    #[test]
    fn says_what_keeps_an_instrument_from_passing_first() {
        let mut instrument = sample::worksheet().instrument.unwrap();
        instrument.conformance_probability = None;
        let points = "10 points: 1 conditional pass, 1 without a reading, 8 pass";
        assert_eq!(because(&instrument), points);
        instrument.checks_not_ok = 1;
        assert_eq!(because(&instrument), format!("1 check not in order; {points}"));
    }

    #[test]
    fn a_check_that_is_not_in_order_is_among_the_reasons() {
        let mut record = sample::worksheet();
        let said = |record: &Record| format!("{:?}", not_passed(record, &record.sections[0]));
        assert!(!said(&record).contains("not in order"));
        let check = &mut record.worksheet.as_mut().unwrap().checks[0];
        check.result = CheckResult::NotOk;
        let expected = format!("{}: not in order", check.what);
        assert!(said(&record).contains(&expected), "{}", said(&record));
        let second = record.sections[0].clone();
        record.sections.push(second);
        let second = format!("{:?}", not_passed(&record, &record.sections[1]));
        assert!(!second.contains("not in order"), "said once: {second}");
    }

    fn headings(table: &Table) -> Vec<&str> {
        table.columns.iter().map(|it| it.heading.as_str()).collect()
    }

    /// ISO/IEC 17025, 7.8.4.1 a, from memory: a reported U stands with its k and its probability.
    #[test]
    fn a_report_gives_the_coverage_factor_beside_each_uncertainty() {
        let section = sample::worksheet().sections.remove(0);
        let table = points_in_full(&section);
        let at = headings(&table).iter().position(|it| *it == "k").unwrap();
        for (row, point) in
            table.rows.iter().filter(|it| it[0] != Cell::text("")).zip(&section.points)
        {
            assert_eq!(row[at], Cell::text(format!("{:.2}", point.reported.coverage_factor)));
        }
        assert!(table.caption.as_str().starts_with("U at 95.45"), "{}", table.caption);
        assert!(!headings(&points(&section)).contains(&"k"));
    }

    /// ISO/IEC 17025, 7.8.6.2 b, from memory: against which specification a point is judged.
    #[test]
    fn each_point_has_its_tolerance_where_they_differ() {
        let mut section = sample::worksheet().sections.remove(0);
        assert!(!headings(&points(&section)).contains(&"tolerance"));
        section.points[1].tolerance.as_mut().unwrap().text = "-1 µm to 3 µm".into();
        let table = points(&section);
        let at = headings(&table).iter().position(|it| *it == "tolerance").unwrap();
        let own: Vec<&Cell> = table.rows.iter().map(|it| &it[at]).collect();
        assert!(own.contains(&&Cell::text("−1 µm to 3 µm")) && own.contains(&&Cell::text("±4 µm")));
        assert!(table.rows.iter().all(|it| it.len() == table.columns.len()));
    }

    #[test]
    fn gives_a_reason_only_where_a_point_is_not_passed() {
        let record = sample::worksheet();
        let reason =
            |index: usize| why(record.sections[0].points[index].decision.as_ref().unwrap());
        assert_eq!(reason(0), None);
        assert!(reason(1).unwrap().contains("guard band"));
    }

    #[test]
    fn words_the_risk_of_the_laboratory_as_its_part() {
        let mut decision = sample::judged().sections[0].points[0].decision.clone().unwrap();
        assert!(!specific_risk(&decision, 0.1).contains("laboratory"));
        decision.scope = Scope::Laboratory;
        assert!(specific_risk(&decision, 0.1).ends_with("the laboratory's part"));
        decision.density = crate::record::Density::Exact;
        assert!(specific_risk(&decision, 0.1).ends_with("part, from the exact distribution"));
    }
}
