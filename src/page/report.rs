//! The page of `report`: everything about one budget or one worksheet, for a customer, an assessor or a
//! technician, in the order in which they ask.
//!
//! What was measured; the verdict; the points; the decisive point's budget, the others folded away;
//! evidence; how U was made; the decision rule in words; findings; cautions; the record block. What a
//! certificate has to say beside that is left blank to be filled in (`docs/certificate.md`).

mod budget;
mod method;
mod particulars;
mod rule;

use super::{
    Block, Figure, Folded, Page, Span, Text, compare, figure, judge, regrade, results, show,
    together, words,
};
use crate::record::{Point, Record, Section, Verdict};

/// Returns the report of a `show` or `judge` record.
pub fn page(record: &Record) -> Page {
    made(record, Media::Screen)
}

/// Returns the report for paper, where nothing folds: without the budgets of the other points.
pub fn paper(record: &Record) -> Page {
    made(record, Media::Paper)
}

/// What a report is read on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Media {
    Screen,
    Paper,
}

fn made(record: &Record, media: Media) -> Page {
    let title = particulars::title(record);
    let mut blocks = vec![Block::Title(Text::from(&title))];
    blocks.extend(words::filed(record));
    blocks.push(particulars::measured(record));
    blocks.extend(verdict(record));
    for section in &record.sections {
        let parts = of_section(record, section, media);
        match record.sections.as_slice() {
            [_] => blocks.extend(parts),
            _ => {
                blocks.push(Block::Heading(words::budget_title(section).into()));
                blocks.extend(parts.into_iter().map(below));
            }
        }
    }
    blocks.extend(regrade::blocks(record));
    blocks.extend(record.worksheet.iter().flat_map(judge::noted));
    if let Some(findings) = words::findings(record) {
        blocks.extend([Block::Heading("Findings".into()), findings]);
    }
    blocks.push(words::cautions());
    blocks.extend(particulars::to_fill_in(record));
    blocks.extend(particulars::record_block(record));
    Page { title: title.into(), blocks }
}

/// The verdict and why, in one sentence; nothing where nothing was read.
fn verdict(record: &Record) -> Vec<Block> {
    if let Some(instrument) = &record.instrument {
        return vec![
            Block::Verdict(instrument.verdict.word().into()),
            Block::Paragraph(vec![Span::strong(judge::because(instrument))]),
        ];
    }
    let mut blocks = Vec::new();
    for section in &record.sections {
        for point in &section.points {
            let Some(decision) = point.decision.as_ref().filter(|it| it.verdict.is_some()) else {
                continue;
            };
            blocks.push(Block::Verdict(decision.verdict.map_or("", Verdict::word).into()));
            blocks.extend(decision.reason.as_ref().map(|reason| {
                Block::Paragraph(vec![Span::strong(words::reason(section, reason))])
            }));
        }
    }
    blocks
}

/// Returns a block as a part of what stands below a heading.
fn below(block: Block) -> Block {
    match block {
        Block::Heading(text) => Block::Subheading(text),
        Block::Folded(Folded { title, blocks }) => {
            Block::Folded(Folded { title, blocks: blocks.into_iter().map(below).collect() })
        }
        other => other,
    }
}

fn of_section(record: &Record, section: &Section, media: Media) -> Vec<Block> {
    let mut blocks = Vec::new();
    let read = section.points.iter().any(|it| it.readings.is_some());
    blocks.push(Block::Heading(if read { "Points" } else { "What the budget is good for" }.into()));
    let table = if read { judge::points_in_full(section) } else { show::summary(section) };
    blocks.push(Block::Table(table));
    blocks.extend(figure::points(section).map(drawn));
    if read || record.worksheet.is_some() {
        blocks.extend(judge::not_passed(record, section));
    }
    blocks.extend(together::within_tolerance(section));
    if let Some(point) = decisive(section) {
        blocks.extend(budget::of_decisive(section, point));
        blocks.extend(figure::shares(section, point).map(drawn));
        blocks.extend(results::blocks(section, point));
        match media {
            Media::Screen => {
                blocks.extend(budget::of_others(section, point));
                blocks.extend(pictures(section, point));
            }
            Media::Paper => {
                let more = pictures(section, point).is_some();
                blocks.extend(budget::left_out(section, more));
            }
        }
    }
    blocks.extend(together::correlations(section));
    blocks.extend(budget::evidence(section));
    blocks.extend(method::blocks(section));
    blocks.extend(rule::blocks(section));
    blocks.extend(compare::over_points(section));
    blocks
}

fn drawn(figure: Figure) -> Block {
    Block::Figure(Box::new(figure))
}

/// The pictures that not every reader asks for, folded away; nothing where there are none.
fn pictures(section: &Section, point: &Point) -> Option<Block> {
    let all = [
        figure::density(section, point),
        figure::operating_curve(section, point),
        figure::uncertainties(section),
        figure::correlations(section),
    ];
    let blocks: Vec<Block> = all.into_iter().flatten().map(drawn).collect();
    let title = "More pictures".into();
    (!blocks.is_empty()).then_some(Block::Folded(Folded { title, blocks }))
}

/// Returns the point that decides: the worst verdict, then the highest risk; where nothing was read, the
/// one that was asked for, else the lowest TUR, else the largest U.
pub fn decisive(section: &Section) -> Option<&Point> {
    if let Some(asked) = section.focus.and_then(|it| section.points.get(usize::try_from(it).ok()?))
    {
        return Some(asked);
    }
    section.points.iter().reduce(|worst, it| if is_worse(it, worst) { it } else { worst })
}

/// Returns the place of the point that decides among those of the section; 0 where there is none.
pub fn decisive_place(section: &Section) -> usize {
    let found = decisive(section);
    let same = |it: &Point| found.is_some_and(|found| std::ptr::eq(it, found));
    section.points.iter().position(same).unwrap_or(0)
}

fn is_worse(point: &Point, than: &Point) -> bool {
    let verdict = |it: &Point| it.decision.as_ref().and_then(|it| it.verdict);
    let risk = |it: &Point| it.decision.as_ref().and_then(|it| it.specific_risk).unwrap_or(-1.0);
    let tur = |it: &Point| it.test.all.tur.unwrap_or(f64::INFINITY);
    let size = |it: &Point| it.expanded_uncertainty;
    verdict(point)
        .cmp(&verdict(than))
        .then(risk(point).total_cmp(&risk(than)))
        .then(tur(than).total_cmp(&tur(point)))
        .then(size(point).total_cmp(&size(than)))
        .is_gt()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::record::sample;

    fn headings(page: &Page) -> Vec<&str> {
        page.blocks
            .iter()
            .filter_map(|it| match it {
                Block::Heading(text) => Some(text.as_str()),
                Block::Folded(folded) => Some(folded.title.as_str()),
                _ => None,
            })
            .collect()
    }

    #[test]
    fn the_worst_point_decides_and_its_budget_stands_first() {
        let record = sample::worksheet();
        let section = &record.sections[0];
        let point = decisive(section).unwrap();
        let verdicts = section.points.iter().filter_map(|it| it.decision.as_ref()?.verdict);
        assert_eq!(point.decision.as_ref().unwrap().verdict, verdicts.max());
    }

    #[test]
    fn without_readings_the_lowest_ratio_decides() {
        let record = sample::shown();
        assert_eq!(words::point_name(decisive(&record.sections[0]).unwrap()), "25\u{a0}mm");
    }

    #[test]
    fn the_parts_of_several_sections_stand_below_their_titles() {
        let mut record = sample::worksheet();
        assert!(!page(&record).blocks.iter().any(|it| matches!(it, Block::Subheading(_))));
        let mut second = record.sections[0].clone();
        second.budget.title = "Another budget".into();
        record.sections.push(second);
        let page = page(&record);
        let found = headings(&page);
        let alone: Vec<&&str> = found.iter().filter(|it| it.starts_with("Points")).collect();
        assert!(alone.is_empty(), "{alone:?}");
        let parts = page
            .blocks
            .iter()
            .filter(|it| matches!(it, Block::Subheading(text) if text.as_str() == "Points"));
        assert_eq!(parts.count(), 2);
        assert!(found.iter().any(|it| it.starts_with("Another budget")));
    }

    #[test]
    fn paper_says_where_what_it_leaves_out_is() {
        let record = sample::worksheet();
        let found = format!("{:?}", paper(&record).blocks);
        assert!(found.contains(
            "The budgets of the other points (9) are in the same report as .html or .xlsx."
        ));
        assert!(found.contains("More pictures are in the same report as .html"), "{found}");
    }

    #[test]
    fn findings_have_a_heading_and_stand_before_cautions_and_record() {
        let mut record = sample::worksheet();
        record.findings.push(crate::record::Finding {
            severity: crate::record::Severity::Warning,
            code: "sample".into(),
            message: "a sample".into(),
            help: None,
            place: None,
            about: None,
        });
        let page = page(&record);
        let at = |wanted: fn(&Block) -> bool| page.blocks.iter().position(wanted).unwrap();
        let heading = at(|it| *it == Block::Heading("Findings".into()));
        assert!(matches!(page.blocks[heading + 1], Block::Findings(_)));
        let cautions = at(|it| matches!(it, Block::Cautions(_)));
        assert!(heading < cautions && cautions < at(|it| *it == Block::Heading("Record".into())));
    }

    #[test]
    fn stands_in_the_order_of_the_questions() {
        let page = page(&sample::worksheet());
        let found = headings(&page);
        let order = [
            "Points",
            "What u is made of",
            "The budgets of the other points",
            "Evidence",
            "How U was made",
            "Decision rule",
            "Record",
        ];
        let mut from = 0;
        for wanted in order {
            let at = found[from..].iter().position(|it| it.starts_with(wanted));
            from += at.unwrap_or_else(|| panic!("{wanted} in {found:?}")) + 1;
        }
        let verdict = page.blocks.iter().position(|it| matches!(it, Block::Verdict(_)));
        assert!(verdict.is_some_and(|it| it < 4), "the verdict is near the top");
    }
}
