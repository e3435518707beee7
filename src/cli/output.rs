//! Results out: a record in the form that was asked for, on standard output.

use super::{DONE, Failure, Format, NOT_PASSED};
use crate::page;
use crate::record::{Kind, Record};
use crate::render::{csv, html, json, markdown, terminal};
use std::io::{ErrorKind, Write};

/// The width of text pages, in cells.
const WIDTH: usize = 100;

/// Writes a record to standard output and returns the exit code that its verdicts ask for.
///
/// # Errors
///
/// [`Failure::Machine`] where standard output cannot be written, or the record holds a number that
/// is not finite. A reader that has gone away is no failure.
pub(super) fn record(record: &Record, format: Format) -> Result<u8, Failure> {
    let text = match format {
        Format::Text => text(record, style()),
        Format::Markdown => markdown::render(&page::of(record)),
        Format::Html => html::render(&page::of(record)),
        Format::Json => {
            json::render(record).map_err(|fault| Failure::Machine(fault.to_string()))?
        }
        Format::Csv => csv(record)?,
    };
    write(&text)?;
    Ok(if record.all_pass() { DONE } else { NOT_PASSED })
}

/// Returns the record's rows as CSV.
fn csv(record: &Record) -> Result<String, Failure> {
    if !matches!(record.kind, Kind::Show | Kind::Judge) {
        let told = "`--format csv` has a row per contributor: only `show` and `judge` have that form\nhelp: --format json";
        return Err(Failure::Input(told.into()));
    }
    csv::render(&page::rows::of(record)).map_err(|fault| Failure::Machine(fault.to_string()))
}

/// Returns the record's page as text.
fn text(record: &Record, style: terminal::Style) -> String {
    terminal::render(&page::of(record), WIDTH, style)
}

/// Writes a text to standard output.
///
/// # Errors
///
/// [`Failure::Machine`] where it cannot be written. A reader that has gone away is no failure.
pub(super) fn write(text: &str) -> Result<(), Failure> {
    write_bytes(text.as_bytes())
}

/// Writes bytes to standard output.
///
/// # Errors
///
/// As [`write`].
pub(super) fn write_bytes(bytes: &[u8]) -> Result<(), Failure> {
    let mut out = std::io::stdout().lock();
    match out.write_all(bytes).and_then(|()| out.flush()) {
        Err(reason) if reason.kind() != ErrorKind::BrokenPipe => {
            Err(Failure::Machine(format!("standard output cannot be written: {reason}")))
        }
        _ => Ok(()),
    }
}

/// Bold type on a terminal, unless `NO_COLOR` or the terminal's kind speaks against it.
fn style() -> terminal::Style {
    match anstream::AutoStream::choice(&std::io::stdout()) {
        anstream::ColorChoice::Never => terminal::Style::Plain,
        _ => terminal::Style::Bold,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::page::numbers;
    use crate::record::sample;
    use crate::render::terminal::Style;
    use unicode_width::UnicodeWidthStr;

    fn text(record: &Record) -> String {
        super::text(record, Style::Plain)
    }

    fn widest(text: &str) -> usize {
        text.lines().map(UnicodeWidthStr::width).max().unwrap()
    }

    fn all() -> [Record; 5] {
        let crosscheck = sample::crosscheck();
        [sample::shown(), sample::judged(), sample::worksheet(), sample::card(), crosscheck]
    }

    #[test]
    fn fits_one_hundred_columns() {
        for record in all() {
            let text = text(&record);
            assert!(widest(&text) <= 100, "{text}");
            assert!(text.lines().all(|line| line == line.trim_end()), "{text}");
        }
    }

    #[test]
    fn shows_ten_points_and_twelve_long_contributors_in_45_lines() {
        let record = sample::shown();
        let section = &record.sections[0];
        assert_eq!((section.points.len(), section.points[0].contributors.len()), (10, 12));
        assert!(section.points[0].contributors.iter().all(|it| it.name.chars().count() == 40));
        let text = text(&record);
        assert!(text.lines().count() <= 45, "{} lines:\n{text}", text.lines().count());
        assert!(section.points[0].contributors.iter().all(|it| text.contains(&it.name)), "{text}");
    }

    /// Units that differ cost lines only where they stand, not one per contributor.
    #[test]
    fn shows_them_in_45_lines_where_units_differ_too() {
        let mut record = sample::shown();
        for point in &mut record.sections[0].points {
            point.contributors[7].unit = "µm/m/K".into();
            point.contributors[7].sensitivity = -0.2503;
            point.contributors[7].sensitivity_unit = "m·K".into();
        }
        let text = text(&record);
        assert!(widest(&text) <= 100);
        assert!(text.lines().count() <= 45, "{} lines:\n{text}", text.lines().count());
    }

    #[test]
    fn shows_each_figure_of_points_and_contributors() {
        let record = sample::shown();
        let text = text(&record);
        let line = |start: &str| text.lines().find(|line| line.starts_with(start)).unwrap();
        for point in &record.sections[0].points {
            let line = line(&format!("{} mm", point.at.as_ref().unwrap().text));
            let printed = point.decision.as_ref().unwrap().printed.as_ref().unwrap();
            let reported = &point.reported;
            for figure in [&reported.expanded_uncertainty_text(), printed.lower.as_ref().unwrap()] {
                assert!(line.contains(figure.as_str()), "{figure}: {line}");
            }
            assert!(line.contains(&numbers::uncertainty(point.standard_uncertainty)), "{line}");
            assert!(line.contains(&numbers::tur(point.test.laboratory.tur)), "{line}");
        }
        for contributor in &record.sections[0].points[9].contributors {
            let line = line(&contributor.name);
            let share = match contributor.kept {
                true => numbers::share(contributor.share),
                false => "not counted".into(),
            };
            let u = numbers::uncertainty(contributor.standard_uncertainty);
            let all = [share, u, numbers::uncertainty(contributor.contribution)];
            assert!(all.iter().all(|figure| line.contains(figure.as_str())), "{all:?}: {line}");
        }
    }

    #[test]
    fn uses_bold_type_only_where_it_is_allowed() {
        for record in all() {
            let (bold, plain) = (super::text(&record, Style::Bold), text(&record));
            assert!(!plain.contains('\u{1b}') && bold.contains('\u{1b}'));
            assert_eq!(bold.replace("\u{1b}[1m", "").replace("\u{1b}[0m", ""), plain);
        }
    }

    #[test]
    fn folds_a_name_of_five_thousand_characters_and_loses_none() {
        let mut record = sample::shown();
        let name = "µ".repeat(5000);
        record.sections[0].points[9].contributors[0].name = name.clone();
        let text = text(&record);
        assert!(widest(&text) <= 100);
        let before = self::text(&sample::shown()).matches('µ').count();
        assert_eq!(text.matches('µ').count(), before + 5000);
    }

    #[test]
    fn keeps_markup_as_text_and_control_characters_harmless() {
        let mut record = sample::shown();
        record.sections[0].points[9].contributors[0].name = "<script>a()</script>".into();
        record.sections[0].points[9].contributors[1].name = "a\u{1b}[2Jb\nc".into();
        let text = text(&record);
        assert!(text.contains("<script>a()</script>"));
        assert!(text.contains("a\u{241b}[2Jb c") && !text.contains('\u{1b}'));
    }

    /// Every page in every form for people; names that mean something there stay text.
    #[test]
    fn keeps_markup_as_text_in_all_forms_and_says_the_same_in_each() {
        for mut record in all() {
            let names = ["<script>a()</script>", "a | `b` **c**", "one\ntwo"];
            for point in record.sections.iter_mut().flat_map(|it| &mut it.points) {
                for (contributor, name) in point.contributors.iter_mut().zip(names) {
                    contributor.name = name.into();
                }
            }
            record.sections[0].budget.title = "T <b>|</b>".into();
            let page = page::of(&record);
            let html = html::render(&page);
            assert!(!html.contains("<script") && !html.contains("<b>"), "{html}");
            assert!(html.contains("T &lt;b&gt;|&lt;/b&gt;"), "{html}");
            let markdown = markdown::render(&page);
            assert!(!markdown.contains('<'), "{markdown}");
            assert!(markdown.contains("T &lt;b&gt;\\|&lt;/b&gt;"), "{markdown}");
            let caution = "competent review and local codes come first";
            assert!(html.contains(caution) && markdown.contains(caution));
        }
    }

    #[test]
    fn shows_the_verdict_first_and_in_words() {
        let judged = text(&sample::judged());
        assert!(judged.starts_with("=====  PASS  =====\nreads +2 µm; may be passed up to +2 µm"));
        let worksheet = text(&sample::worksheet());
        assert!(worksheet.starts_with("=====  UNDECIDED  =====\n"), "{worksheet}");
        assert!(worksheet.contains("M-118") && worksheet.contains("conditional pass"));
    }
}
