//! The validated worksheet: one instrument's readings. Budgets are found by whoever reads files.

use super::number::Date;
use super::parts::{CheckParts, SectionParts, Text, WorksheetParts};
use crate::fault::{Fault, Faults, Origin};
use crate::quantity::{Decimal, Quantity, Unit, Units};

/// One instrument's readings, to be judged against one or more budgets.
#[derive(Debug, Clone)]
pub struct Worksheet {
    /// The place: its first key.
    pub origin: Origin,
    /// The instrument: keys and texts as written.
    pub instrument: Vec<(String, String)>,
    /// The date of the readings.
    pub date: Option<Date>,
    /// Looks and function.
    pub checks: Vec<Check>,
    /// Repeated zero settings.
    pub zero: Vec<Zero>,
    /// The sections; never empty.
    pub sections: Vec<Section>,
}

/// A zero setting.
#[derive(Debug, Clone, PartialEq)]
pub struct Zero {
    /// As written.
    pub text: String,
    /// The place.
    pub origin: Origin,
    value: Value,
}

#[derive(Debug, Clone, PartialEq)]
enum Value {
    /// In the unit of readings.
    Plain(Decimal),
    WithUnit(Quantity),
}

impl Zero {
    /// Returns the value; a plain number is one in `unit`, that of readings.
    pub fn in_readings(&self, unit: &Unit) -> Quantity {
        match &self.value {
            Value::Plain(number) => Quantity::new(number.clone(), unit.clone()),
            Value::WithUnit(quantity) => quantity.clone(),
        }
    }
}

/// One check of looks or function.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Check {
    /// What was looked at.
    pub what: String,
    /// How it came out.
    pub outcome: Outcome,
    /// The place.
    pub origin: Origin,
}

/// How a check came out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Outcome {
    /// `true`.
    Ok,
    /// `false`: fails the instrument.
    NotOk,
    /// `not applicable`.
    NotApplicable,
}

/// The readings under one budget.
#[derive(Debug, Clone)]
pub struct Section {
    /// The place.
    pub origin: Origin,
    /// The budget's path, relative to the worksheet.
    pub budget: Text,
    /// Whether the values are errors in the measurand's unit.
    pub are_errors: bool,
    /// The place of `readings` or `errors`.
    pub values_origin: Origin,
    /// Point (value or label) and its values.
    pub values: Vec<(Text, Vec<Text>)>,
    /// Which of several readings at a point is reported.
    pub take: Take,
}

/// Which of several readings at a point is reported; all are judged.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Take {
    /// The nearest to a tolerance limit, or furthest beyond it (default).
    #[default]
    Worst,
    /// Their mean.
    Mean,
    /// The last one.
    Last,
}

impl Take {
    /// All with their words.
    pub const ALL: [(Take, &'static str); 3] =
        [(Take::Worst, "worst"), (Take::Mean, "mean"), (Take::Last, "last")];

    /// Returns the word of file and record.
    pub fn word(self) -> &'static str {
        Take::ALL.iter().find(|it| it.0 == self).map_or("", |it| it.1)
    }
}

impl Worksheet {
    /// Checks the parts of a worksheet and puts them together. Values are read when their budget
    /// is known.
    ///
    /// # Errors
    ///
    /// All faults: a check that is neither true nor false, a zero setting that is no number, a date
    /// that is none.
    pub fn new(parts: WorksheetParts) -> Result<Worksheet, Faults> {
        let mut faults = Vec::new();
        let date = parts.date.as_ref().and_then(|it| date(it, &mut faults));
        let checks = parts.checks.iter().filter_map(|it| check(it, &mut faults)).collect();
        let zero = parts.zero.iter().filter_map(|it| zero(it, &mut faults)).collect();
        let sections = parts.sections.into_iter().map(|it| section(it, &mut faults)).collect();
        let text = |it: &(Text, Text)| (it.0.text.clone(), it.1.text.trim().to_string());
        let instrument = parts.instrument.iter().map(text).collect();
        if faults.is_empty() {
            Ok(Worksheet { origin: parts.origin, instrument, date, checks, zero, sections })
        } else {
            Err(Faults(faults))
        }
    }

    /// Whether a check has failed.
    pub fn a_check_failed(&self) -> bool {
        self.checks.iter().any(|it| it.outcome == Outcome::NotOk)
    }

    /// Returns the text of one of the instrument's keys.
    pub fn instrument_text(&self, key: &str) -> Option<&str> {
        self.instrument.iter().find(|it| it.0 == key).map(|it| it.1.as_str())
    }
}

fn date(text: &Text, faults: &mut Vec<Fault>) -> Option<Date> {
    let date = Date::parse(text.text.trim());
    if date.is_none() {
        let what = format!("`{}` is not a date", text.text.trim());
        let fault = Fault::new(text.origin, what).rule("a date is written YYYY-MM-DD");
        faults.push(fault.help(Date::meant(&text.text).unwrap_or_default()));
    }
    date
}

fn check(parts: &CheckParts, faults: &mut Vec<Fault>) -> Option<Check> {
    let outcome = match parts.ok.text.trim() {
        "true" => Outcome::Ok,
        "false" => Outcome::NotOk,
        "not applicable" => Outcome::NotApplicable,
        other => {
            let fault = Fault::new(
                parts.ok.origin,
                format!("`{other}` does not say how the check came out"),
            );
            let rule = "`ok` is `true`, `false` or `not applicable`";
            let help = match other.to_lowercase().as_str() {
                "no" | "bad" | "fail" | "failed" | "false" => "write `false`",
                "yes" | "good" | "ok" | "true" => "write `true`",
                "n/a" | "na" | "none" => "write `not applicable`",
                _ => "write `ok: ` and what the look has shown: true, false or not applicable",
            };
            faults.push(fault.rule(rule).help(help));
            return None;
        }
    };
    Some(Check { what: parts.what.text.trim().to_string(), outcome, origin: parts.what.origin })
}

fn zero(text: &Text, faults: &mut Vec<Fault>) -> Option<Zero> {
    let written = text.text.trim();
    let number = Decimal::parse(written).map(Value::Plain);
    let begins = |it: char| it.is_ascii_digit() || matches!(it, '-' | '+' | '\u{2212}');
    let value = match number {
        Err(_) if written.starts_with(begins) && written.contains(char::is_alphabetic) => {
            Quantity::parse(written, &Units::default()).map(Value::WithUnit)
        }
        other => other,
    };
    match value {
        Ok(value) => Some(Zero { text: written.to_owned(), origin: text.origin, value }),
        Err(fault) => {
            let help = match fault.help.as_str() {
                "" => "write a number in the unit of readings, such as `0.000`",
                help => help,
            };
            faults.push(Fault::new(text.origin.further(fault.at), fault.what).help(help));
            None
        }
    }
}

fn section(parts: SectionParts, faults: &mut Vec<Fault>) -> Section {
    Section {
        take: parts.take.as_ref().and_then(|it| take(it, faults)).unwrap_or_default(),
        origin: parts.origin,
        budget: parts.budget,
        are_errors: parts.are_errors,
        values_origin: parts.values_origin,
        values: parts.values,
    }
}

fn take(text: &Text, faults: &mut Vec<Fault>) -> Option<Take> {
    let word = text.text.trim();
    let found = Take::ALL.iter().find(|it| it.1 == word).map(|it| it.0);
    if found.is_none() {
        let fault = Fault::new(text.origin, format!("`{word}` does not say which reading counts"));
        faults.push(fault.rule("`take` is `worst`, `mean` or `last`").help("take: worst"));
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    fn parts(ok: &str) -> WorksheetParts {
        let check = CheckParts { what: "faces clean".into(), ok: ok.into() };
        WorksheetParts { checks: vec![check], ..WorksheetParts::default() }
    }

    #[test]
    fn a_check_is_true_false_or_not_applicable() {
        for (text, failed) in [("true", false), ("false", true), ("not applicable", false)] {
            assert_eq!(Worksheet::new(parts(text)).unwrap().a_check_failed(), failed, "{text}");
        }
        for text in ["yes", "", "TRUE", "ok"] {
            assert!(Worksheet::new(parts(text)).is_err(), "{text}");
        }
    }

    #[test]
    fn all_faults_of_a_worksheet_are_found() {
        let mut parts = parts("maybe");
        parts.date = Some("20.11.2026".into());
        parts.zero = vec!["0,000".into(), "0.000".into()];
        assert_eq!(Worksheet::new(parts).unwrap_err().0.len(), 3);
    }
}
