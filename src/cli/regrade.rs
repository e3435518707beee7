//! `--regrade`: several limits in one argument; what the readings come to under each.

use super::Failure;
use crate::budget::parts::{Text, ToleranceParts};
use crate::decide::regrade::Outcome;
use crate::decide::{Cause, Judgement, Readings, Verdict};
use crate::fault::{Fault, Origin};
use crate::record::{Record, Regrade, from};

/// The limits that were typed, and what the budgets so far have brought under each.
pub(super) struct Asked {
    text: String,
    rows: Vec<Row>,
}

/// One of the limits.
struct Row {
    text: String,
    parts: ToleranceParts,
    outcome: Outcome,
    /// The sections that it was applied to.
    sections: Vec<usize>,
    /// Why no verdict can be given.
    refused: Option<String>,
    /// What is wrong with it where no budget is of its kind.
    unfit: Vec<Fault>,
}

impl Asked {
    /// Reads limits that stand apart by commas outside of brackets: `±a`, `[lo, hi]`, `at most x`,
    /// `at least x`.
    ///
    /// # Errors
    ///
    /// [`Failure::Input`] for an empty place, a bracket without its partner, a decimal comma.
    pub(super) fn read(text: &str) -> Result<Asked, Failure> {
        let rows = pieces(text).and_then(|list| list.into_iter().map(row).collect());
        match rows {
            Ok(rows) => Ok(Asked { text: text.to_owned(), rows }),
            Err(fault) => Err(failure(text, &[fault])),
        }
    }

    /// Adds what one budget's readings come to under each of the limits, `section` being its number. A
    /// budget of another kind of measurand keeps its own tolerance.
    ///
    /// # Errors
    ///
    /// [`Failure::Input`] for limits that are faulty, each at its place in the argument.
    pub(super) fn add(
        &mut self,
        judgement: &Judgement,
        readings: &Readings,
        section: usize,
    ) -> Result<(), Failure> {
        let budget = judgement.evaluation.budget();
        let mut faults = Vec::new();
        for row in &mut self.rows {
            match budget.with_tolerance(&row.parts) {
                Err(found) if budget.could_have_tolerance(&row.parts) => faults.extend(found.0),
                Err(found) => {
                    row.unfit.extend(found.0);
                    row.outcome.join(judgement.outcome(section));
                }
                Ok(other) => {
                    row.sections.push(section);
                    match judgement.under(&other, readings, section) {
                        Ok(outcome) => row.outcome.join(outcome),
                        Err(found) => {
                            let first = found.0.first().map(Fault::message);
                            row.refused = row.refused.take().or(first);
                        }
                    }
                }
            }
        }
        if faults.is_empty() { Ok(()) } else { Err(failure(&self.text, &faults)) }
    }

    /// Returns the rows of the record; a failed check fails the instrument under any limit.
    ///
    /// # Errors
    ///
    /// [`Failure::Input`] for limits that are of no budget's kind.
    fn finish(self, a_check_failed: bool) -> Result<Vec<Regrade>, Failure> {
        let unfit: Vec<Fault> = self
            .rows
            .iter()
            .filter(|it| it.sections.is_empty())
            .filter_map(|it| it.unfit.first().cloned())
            .collect();
        if !unfit.is_empty() {
            return Err(failure(&self.text, &unfit));
        }
        let record = |mut row: Row| {
            if a_check_failed {
                row.outcome.verdict = (Verdict::Fail, Some(Cause::Check));
            }
            let outcome = row.refused.map_or(Ok(&row.outcome), Err);
            from::regraded(&row.text, &row.sections, outcome)
        };
        Ok(self.rows.into_iter().map(record).collect())
    }
}

/// Writes into a record what the readings come to under other limits, where they were asked for.
///
/// # Errors
///
/// As [`Asked::finish`].
pub(super) fn note(
    record: &mut Record,
    limits: Option<Asked>,
    a_check_failed: bool,
) -> Result<(), Failure> {
    if let Some(limits) = limits {
        record.options.regrade = Some(limits.text.clone());
        record.regrade = Some(limits.finish(a_check_failed)?);
    }
    Ok(())
}

/// Returns the failure of an argument: each fault with its line of the argument and a mark.
fn failure(text: &str, faults: &[Fault]) -> Failure {
    let one = |fault: &Fault| {
        let at = (fault.origin.offset() as usize).min(text.chars().count());
        let help = match fault.help.as_str() {
            "" => String::new(),
            help => format!("\nhelp: {help}"),
        };
        let mark = format!("{}^", " ".repeat(at));
        format!("--regrade: {}\n  {text}\n  {mark}{help}", fault.message())
    };
    Failure::Input(faults.iter().map(one).collect::<Vec<_>>().join("\n\n"))
}

/// Splits at commas outside of brackets; returns each piece with its place.
fn pieces(text: &str) -> Result<Vec<Text>, Fault> {
    let chars: Vec<char> = text.chars().collect();
    let (mut open, mut start, mut found) = (Vec::new(), 0, Vec::new());
    let at = |index: usize| Origin::NONE.further(index);
    for (index, it) in chars.iter().enumerate() {
        match it {
            '[' | '(' => open.push((*it, index)),
            ']' | ')' => {
                let opening = if *it == ']' { '[' } else { '(' };
                if open.pop().is_none_or(|it: (char, usize)| it.0 != opening) {
                    let what = format!("`{it}` closes nothing");
                    return Err(Fault::new(at(index), what).rule(FORMS));
                }
            }
            ';' => {
                let fault = Fault::new(at(index), "a semicolon between limits");
                return Err(fault.rule(FORMS).help(text.replace(';', ",")));
            }
            ',' if open.is_empty() => {
                let digit = |it: Option<usize>| {
                    it.and_then(|it| chars.get(it)).is_some_and(char::is_ascii_digit)
                };
                if digit(index.checked_sub(1)) && digit(Some(index + 1)) {
                    let fault = Fault::new(at(index), "a comma between two digits");
                    let rule =
                        "decimals stand after a point, and limits apart by a comma and a space";
                    let mut point = chars.clone();
                    point[index] = '.';
                    return Err(fault.rule(rule).help(point.into_iter().collect::<String>()));
                }
                found.push(piece(&chars, start, index)?);
                start = index + 1;
            }
            _ => {}
        }
    }
    if let Some((it, index)) = open.pop() {
        return Err(Fault::new(at(index), format!("`{it}` is not closed")).rule(FORMS));
    }
    found.push(piece(&chars, start, chars.len())?);
    Ok(found)
}

/// What a limit may look like.
const FORMS: &str = "limits are `±a`, `[lo, hi]`, `at most x` or `at least x`, apart by commas";

/// Returns what stands between two places, without blanks about it.
fn piece(chars: &[char], start: usize, end: usize) -> Result<Text, Fault> {
    let blanks = chars[start..end].iter().take_while(|it| it.is_whitespace()).count();
    let text: String = chars[start + blanks..end].iter().collect();
    let origin = Origin::NONE.further(start + blanks);
    if text.trim().is_empty() {
        return Err(Fault::new(origin, "a limit is missing here").rule(FORMS));
    }
    Ok(Text::new(text.trim_end(), origin))
}

/// Refuses what looks like a limit and is none, with what to type.
fn refuse(text: &Text) -> Result<(), Fault> {
    let written = text.text.as_str();
    if let Some((inside, tail)) = written.strip_prefix('[').and_then(|it| it.rsplit_once(']'))
        && !tail.trim().is_empty()
    {
        let sides: Vec<String> =
            inside.split(',').map(|it| format!("{} {}", it.trim(), tail.trim())).collect();
        let at = written.chars().count() - tail.chars().count();
        let fault = Fault::new(text.origin.further(at), "a unit stands behind the bracket");
        let help = format!("[{}]", sides.join(", "));
        return Err(fault.rule("each of the two limits has its unit").help(help));
    }
    let word = written.split_whitespace().next().unwrap_or_default();
    let is_word = word.chars().all(char::is_alphabetic) && word != "at";
    let next = written[word.len()..].trim_start();
    if is_word && next.starts_with(|it: char| it.is_ascii_digit()) {
        let what = format!("`{written}` is no limit");
        return Err(Fault::new(text.origin, what).rule(FORMS).help("±2 µm, at most 5 N"));
    }
    Ok(())
}

fn row(text: Text) -> Result<Row, Fault> {
    refuse(&text)?;
    let inside = text.text.strip_prefix('[').and_then(|it| it.strip_suffix(']'));
    let parts = match inside {
        None => ToleranceParts::Text(text.clone()),
        Some(inside) => {
            let shifted = |mut it: Text| {
                it.origin = text.origin.further(it.origin.offset() as usize + 1);
                it
            };
            let place = |fault: Fault| {
                let origin = text.origin.further(fault.origin.offset() as usize + 1);
                Fault { origin, ..fault }
            };
            let sides = pieces(inside).map_err(place)?;
            ToleranceParts::Between(text.origin, sides.into_iter().map(shifted).collect())
        }
    };
    let (sections, unfit, refused) = (Vec::new(), Vec::new(), None);
    let text = text.text;
    Ok(Row { text, parts, outcome: Outcome::none(), sections, refused, unfit })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn split(text: &str) -> Result<Vec<(String, u32)>, String> {
        let list = pieces(text).map_err(|it| format!("{}: {}", it.origin.offset(), it.what))?;
        Ok(list.into_iter().map(|it| (it.text, it.origin.offset())).collect())
    }

    #[test]
    fn limits_stand_apart_by_commas_outside_of_brackets() {
        let texts = split("±2 µm, [-1 µm, 3 µm],at most max(1 µm, L/1000)").unwrap();
        let expected = [("±2 µm", 0), ("[-1 µm, 3 µm]", 7), ("at most max(1 µm, L/1000)", 21)];
        assert_eq!(texts, expected.map(|it| (it.0.to_owned(), it.1)));
    }

    #[test]
    fn what_is_no_list_of_limits_is_refused_at_its_place() {
        for (text, expected) in [
            ("", "0: a limit is missing here"),
            ("±2 µm, ", "7: a limit is missing here"),
            ("±2 µm,, ±4 µm", "6: a limit is missing here"),
            ("±2,5 µm", "2: a comma between two digits"),
            ("[-1 µm, 3 µm", "0: `[` is not closed"),
            ("±2 µm], ±4 µm", "5: `]` closes nothing"),
            ("[(1 µm], 2 µm", "6: `]` closes nothing"),
        ] {
            assert_eq!(split(text), Err(expected.to_owned()), "{text}");
        }
    }
}
