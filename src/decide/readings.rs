//! Readings per point: what was entered, with its place, and how texts find their point.
//!
//! A key matches a point by label or as an exact decimal (`2.5` is `2.50`), in the points' unit or in
//! any unit of that kind. Nothing is judged here.

use crate::budget::parts::Text;
use crate::budget::worksheet::{Section, Zero};
use crate::budget::{Budget, Point, Take, Worksheet};
use crate::fault::{Fault, Faults, Origin};
use crate::quantity::{Decimal, Quantity, TextFault, Unit};
use std::cmp::Ordering;
use std::collections::BTreeMap;

/// One value that was entered at a point.
#[derive(Debug, Clone, PartialEq)]
pub struct Entry {
    /// The place.
    pub origin: Origin,
    /// The value, as written.
    pub quantity: Quantity,
    /// Whether it is an error of the instrument, in the measurand's unit, and not a reading.
    pub is_error: bool,
}

/// The entries of one instrument, by index of the point.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Readings {
    entries: BTreeMap<usize, Vec<Entry>>,
    only: Option<usize>,
    take: Take,
}

/// What a text names: a point, or a value between them or outside.
#[derive(Debug, Clone, PartialEq)]
pub enum Place {
    /// A point of the budget, by index.
    Point(usize),
    /// A value of the points' kind that no point has.
    Apart(Box<Quantity>),
}

/// The entries of one point as written in a worksheet.
#[derive(Debug, Clone, Default)]
pub struct Row {
    /// The point: value or label.
    pub point: Text,
    /// The values, in order.
    pub values: Vec<Text>,
    /// Whether they are errors in the measurand's unit.
    pub is_error: bool,
}

impl Readings {
    /// Returns no entries: the points that need one are missing it.
    pub fn none() -> Readings {
        Readings::default()
    }

    /// Returns one reading at one point; the other points are not asked for.
    pub fn one(index: usize, quantity: Quantity, origin: Origin) -> Readings {
        let mut readings = Readings::only(index);
        readings.add(index, Entry { origin, quantity, is_error: false });
        readings
    }

    /// Returns no entries at one point, where an estimate is judged; the others are not asked for.
    pub fn only(index: usize) -> Readings {
        Readings { only: Some(index), ..Readings::default() }
    }

    /// Returns the same entries, of which another one is reported where a point has several.
    pub fn taking(self, take: Take) -> Readings {
        Readings { take, ..self }
    }

    /// Which of several readings at a point is reported.
    pub fn take(&self) -> Take {
        self.take
    }

    /// Returns the readings of a worksheet's rows.
    ///
    /// # Errors
    ///
    /// All faults: an unknown point, one given twice, a value that is no number, a unit that does
    /// not fit.
    pub fn from_rows(budget: &Budget, rows: &[Row]) -> Result<Readings, Faults> {
        let (mut readings, mut faults) = (Readings::default(), Vec::new());
        let mut seen: BTreeMap<usize, &Row> = BTreeMap::new();
        for row in rows {
            match point_of_row(budget, &row.point) {
                Err(fault) => faults.push(fault),
                Ok(index) => match seen.insert(index, row) {
                    Some(first) => faults.push(twice(first, row)),
                    None => readings.add_row(budget, index, row, &mut faults),
                },
            }
        }
        if faults.is_empty() { Ok(readings) } else { Err(Faults(faults)) }
    }

    /// Returns the readings of one section of a worksheet, `budget` being that of the section.
    ///
    /// # Errors
    ///
    /// As [`Readings::from_rows`].
    pub fn from_section(budget: &Budget, section: &Section) -> Result<Readings, Faults> {
        let row = |(point, values): &(Text, Vec<Text>)| Row {
            point: point.clone(),
            values: values.clone(),
            is_error: section.are_errors,
        };
        let rows: Vec<Row> = section.values.iter().map(row).collect();
        Ok(Readings::from_rows(budget, &rows)?.taking(section.take))
    }

    /// Adds an entry at a point.
    pub fn add(&mut self, index: usize, entry: Entry) {
        self.entries.entry(index).or_default().push(entry);
    }

    /// The entries of a point, in order.
    pub fn at(&self, index: usize) -> &[Entry] {
        self.entries.get(&index).map_or(&[], Vec::as_slice)
    }

    /// Whether a point is asked for: all are, or the only one.
    pub fn asks_for(&self, index: usize) -> bool {
        self.only.is_none_or(|only| only == index)
    }

    fn add_row(&mut self, budget: &Budget, index: usize, row: &Row, faults: &mut Vec<Fault>) {
        if row.values.is_empty() {
            let what = format!("no reading is given at `{}`", row.point.text);
            let fault = Fault::new(row.point.origin, what);
            faults.push(fault.rule("a point is left out, or has one reading or more"));
        }
        for text in &row.values {
            match read_value(budget, text, row.is_error) {
                Ok(quantity) => {
                    let (origin, is_error) = (text.origin, row.is_error);
                    self.add(index, Entry { origin, quantity, is_error });
                }
                Err(fault) => faults.push(fault),
            }
        }
    }
}

/// Reads one entered value: a plain number in the unit of readings (of errors: the measurand's), or a
/// quantity of that kind.
///
/// # Errors
///
/// A text that is neither; a unit of another kind.
pub fn read_value(budget: &Budget, text: &Text, is_error: bool) -> Result<Quantity, Fault> {
    let unit = unit_of_entries(budget, is_error);
    let quantity = quantity_in(budget, &text.text, unit).map_err(|it| {
        let fault = placed(it, text.origin);
        if fault.help.is_empty() { fault.help(value_help(budget, &text.text, unit)) } else { fault }
    })?;
    check_kind(&quantity, unit, text.origin)?;
    Ok(quantity)
}

/// Checks that the zero settings of a worksheet are of the kind of readings; of several budgets, each takes those
/// of its kind.
///
/// # Errors
///
/// Those that are not.
pub fn check_zero(budget: &Budget, worksheet: &Worksheet) -> Result<(), Faults> {
    let unit = budget.reading_unit();
    if worksheet.sections.len() > 1 {
        return Ok(());
    }
    let check = |it: &Zero| check_kind(&it.in_readings(unit), unit, it.origin).err();
    let faults: Vec<Fault> = worksheet.zero.iter().filter_map(check).collect();
    if faults.is_empty() { Ok(()) } else { Err(Faults(faults)) }
}

/// Returns the unit that plain numbers have: that of readings, or of errors.
pub fn unit_of_entries(budget: &Budget, is_error: bool) -> &Unit {
    if is_error { &budget.measurand().unit } else { budget.reading_unit() }
}

/// Checks that a quantity is of the same kind as `unit`.
///
/// # Errors
///
/// Another dimension or temperature scale, both sides shown.
pub(crate) fn check_kind(quantity: &Quantity, unit: &Unit, origin: Origin) -> Result<(), Fault> {
    let fault = || Fault::new(origin, format!("`{}` does not fit", quantity.text()));
    let number = quantity.number().text();
    let help = super::figures::join(number, unit);
    if quantity.dimension() != unit.dimension() {
        let (given, wanted) = (quantity.dimension().phrase(), unit.dimension().phrase());
        let rule = format!("it is {given}, and {wanted} in `{}` is expected", unit.text());
        return Err(fault().rule(rule).help(help));
    }
    if quantity.scale() != unit.scale() {
        let rule = format!("another temperature scale than `{}`", unit.text());
        return Err(fault().rule(rule).help(help));
    }
    Ok(())
}

/// Returns the index of the point that a row of a worksheet names; the only result of a budget without points
/// has the name of the measurand.
fn point_of_row(budget: &Budget, name: &Text) -> Result<usize, Fault> {
    let symbol = &budget.measurand().symbol;
    let single = budget.points().unit.is_none();
    match find_point(budget, &name.text, name.origin) {
        Err(_) if single && name.text.trim() == symbol => Ok(0),
        Err(fault) if single => Err(fault.help(symbol)),
        found => found,
    }
}

/// Returns the index of the point that `text` names: a label, or a value in the points' unit or any
/// unit of that kind.
///
/// # Errors
///
/// A text that is no value; a value that is no point, with its neighbours; a value that several
/// points have, with their labels.
pub fn find_point(budget: &Budget, text: &str, origin: Origin) -> Result<usize, Fault> {
    match locate(budget, text, origin)? {
        Place::Point(index) => Ok(index),
        Place::Apart(value) => Err(no_point(&budget.points().list, &value, text.trim(), origin)),
    }
}

/// Returns what `text` names: a label, or a value in the points' unit or any unit of that kind.
///
/// # Errors
///
/// A text that is no value; a value that several points have, with their labels.
pub fn locate(budget: &Budget, text: &str, origin: Origin) -> Result<Place, Fault> {
    let points = &budget.points().list;
    let text = text.trim();
    if let Some(index) =
        points.iter().position(|it| it.label.as_deref().map(str::trim) == Some(text))
    {
        return Ok(Place::Point(index));
    }
    let Some(unit) = &budget.points().unit else {
        let fault = Fault::new(origin, format!("`{text}` names no point"));
        return Err(fault.rule("this budget has a single result and no points"));
    };
    let value = quantity_in(budget, text, unit)
        .map_err(|it| no_label(points, text, origin).unwrap_or_else(|| placed(it, origin)))
        .map_err(|it| if it.help.is_empty() { it.help(point_help(points)) } else { it })?;
    check_kind(&value, unit, origin)?;
    // The points ascend, so that a worksheet of thousands of rows needs no walk per row.
    let from = points.partition_point(|it| compare(it, &value) == Some(Ordering::Less));
    let same = |index: &usize| compare(&points[*index], &value) == Some(Ordering::Equal);
    let found: Vec<usize> = (from..points.len()).take_while(same).collect();
    match found.as_slice() {
        [index] => Ok(Place::Point(*index)),
        [] => Ok(Place::Apart(Box::new(value))),
        several => Err(ambiguous(points, several, text, origin)),
    }
}

fn compare(point: &Point, value: &Quantity) -> Option<Ordering> {
    let (at, value) = (point.at.as_ref()?.exact(), value.exact());
    at.compare(&value).or_else(|| at.to_f64().partial_cmp(&value.to_f64()))
}

/// Reads a plain number in `unit`, or a quantity.
fn quantity_in(budget: &Budget, text: &str, unit: &Unit) -> Result<Quantity, TextFault> {
    match Decimal::parse(text) {
        Ok(number) => Ok(Quantity::new(number, unit.clone())),
        Err(_) => Quantity::parse(text, budget.units()),
    }
}

/// Returns what to type for a value that cannot be read: the number that it begins with, else one like the
/// budget's points.
fn value_help(budget: &Budget, text: &str, unit: &Unit) -> String {
    let start: String = text.trim().chars().take(LONGEST_NUMBER).collect();
    let mut ends =
        start.char_indices().map(|it| it.0).skip(1).chain([start.len()]).collect::<Vec<_>>();
    ends.reverse();
    let found = ends.into_iter().find_map(|end| Decimal::parse(start.get(..end)?.trim_end()).ok());
    if let Some(number) = found {
        return format!("write `{}`", super::figures::join(number.text(), unit));
    }
    let first = budget.points().list.first().and_then(|it| it.at.as_ref());
    let like = first.filter(|it| it.unit().dimension() == unit.dimension());
    let like = like.map_or_else(|| super::figures::join("1", unit), Quantity::text);
    format!("write what was read, such as `{like}`")
}

/// Characters of a text in which a number is looked for.
const LONGEST_NUMBER: usize = 30;

/// Returns what a point is called, to be typed.
fn point_help(points: &[Point]) -> String {
    let Some(first) = points.first() else { return String::new() };
    let text = first.label.clone().or_else(|| first.at.as_ref().map(Quantity::text));
    format!("write a point of the budget, such as `{}`", text.unwrap_or_default())
}

fn placed(fault: TextFault, origin: Origin) -> Fault {
    Fault::new(origin.further(fault.at), fault.what).help(fault.help)
}

fn twice(first: &Row, second: &Row) -> Fault {
    let (one, two) = (&first.point.text, &second.point.text);
    let what = if one == two {
        format!("`{one}` is given twice")
    } else {
        format!("`{one}` and `{two}` are the same point")
    };
    let values = first.values.iter().chain(&second.values).map(|it| it.text.trim());
    let values = values.collect::<Vec<_>>().join(", ");
    Fault::new(second.point.origin, what)
        .rule("a point is given once, with all its readings")
        .help(format!("write `{one}: [{values}]` once"))
}

/// Returns the fault of a word where points have labels; none where it begins as a value does.
fn no_label(points: &[Point], text: &str, origin: Origin) -> Option<Fault> {
    let labels: Vec<&str> = points.iter().filter_map(|it| it.label.as_deref()).collect();
    if labels.is_empty() || !text.starts_with(char::is_alphabetic) {
        return None;
    }
    let list = labels.iter().map(|it| format!("`{it}`")).collect::<Vec<_>>().join(", ");
    let near = labels.iter().find(|it| strsim::damerau_levenshtein(it, text) <= 2);
    let fault = Fault::new(origin, format!("no point is called `{text}`"));
    Some(fault.rule(format!("the labels are {list}")).help(near.copied().unwrap_or("")))
}

fn no_point(points: &[Point], value: &Quantity, text: &str, origin: Origin) -> Fault {
    let last = |wanted: Ordering| move |it: &&Point| compare(it, value) == Some(wanted);
    let below = points.iter().rfind(last(Ordering::Less));
    let above = points.iter().find(last(Ordering::Greater));
    let rule = match (below, above) {
        (Some(below), Some(above)) => {
            format!("the points next to it are {} and {}", below.title(), above.title())
        }
        (Some(only), None) => format!("the last point is {}", only.title()),
        (None, Some(only)) => format!("the first point is {}", only.title()),
        (None, None) => "this budget has no points with a value".to_owned(),
    };
    let nearest = below.or(above).and_then(|it| it.at.as_ref());
    Fault::new(origin, format!("`{text}` is no point of this budget"))
        .rule(rule)
        .help(nearest.map_or(String::new(), Quantity::text))
}

fn ambiguous(points: &[Point], several: &[usize], text: &str, origin: Origin) -> Fault {
    let labels: Vec<&str> =
        several.iter().filter_map(|index| points[*index].label.as_deref()).collect();
    let list = labels.iter().map(|it| format!("`{it}`")).collect::<Vec<_>>().join(", ");
    Fault::new(origin, format!("`{text}` occurs {} times", several.len()))
        .rule(format!("a point whose value occurs twice is named by its label: {list}"))
        .help(labels.first().copied().unwrap_or(""))
}

#[cfg(test)]
mod tests {
    use super::super::testing::{force, micrometer};
    use super::*;

    fn row(point: &str, values: &[&str]) -> Row {
        let values = values.iter().map(|it| Text::from(*it)).collect();
        Row { point: point.into(), values, is_error: false }
    }

    fn found(text: &str) -> Result<usize, String> {
        let budget = micrometer("±4 µm", "simple", 1.0).budget();
        find_point(&budget, text, Origin::NONE).map_err(|it| it.message())
    }

    #[test]
    fn a_point_is_found_by_its_value_however_it_is_written() {
        for text in ["10.3", "10.30", "10.3 mm", "10300 µm", "1.03 cm", " 10.3 "] {
            assert_eq!(found(text), Ok(1), "{text}");
        }
    }

    #[test]
    fn every_point_of_a_long_list_is_found_and_no_other_value() {
        let values: Vec<String> = (0..500).map(|it| format!("{it}.5")).collect();
        let texts: Vec<&str> = values.iter().map(String::as_str).collect();
        let budget = micrometer("±4 µm", "simple", 1.0).points(&texts).budget();
        for (index, text) in texts.iter().enumerate() {
            assert_eq!(find_point(&budget, text, Origin::NONE), Ok(index));
        }
        for text in ["0", "250", "500"] {
            assert!(find_point(&budget, text, Origin::NONE).is_err());
        }
    }

    #[test]
    fn a_value_that_is_no_point_is_refused_with_its_neighbours() {
        let next = "the points next to it are 2.5 mm and 10.3 mm";
        assert_eq!(found("3 mm"), Err(format!("`3 mm` is no point of this budget: {next}")));
        let last = "`11` is no point of this budget: the last point is 10.3 mm";
        assert_eq!(found("11"), Err(last.to_owned()));
        assert!(found("10.3 N").is_err_and(|it| it.contains("force") && it.contains("length")));
        assert!(found("ten").is_err() && found("").is_err() && found("1e999").is_err());
    }

    #[test]
    fn a_value_that_occurs_twice_needs_its_label() {
        let mut case = micrometer("±4 µm", "simple", 1.0).points(&["5", "5"]);
        if let Some(points) = &mut case.parts.points {
            points.at[0].label = Some("left".into());
            points.at[1].label = Some("right".into());
        }
        let budget = case.budget();
        assert_eq!(find_point(&budget, "right", Origin::NONE), Ok(1));
        let fault = find_point(&budget, "5 mm", Origin::NONE).unwrap_err();
        assert_eq!(
            fault.message(),
            "`5 mm` occurs 2 times: a point whose value occurs twice is named by its label: `left`, \
             `right`"
        );
        assert_eq!(find_point(&budget, &fault.help, Origin::NONE), Ok(0));
    }

    #[test]
    fn a_single_result_has_no_points_to_find() {
        let budget = force("reading", "at least 5 N", "simple", 1.0).budget();
        assert!(find_point(&budget, "5 N", Origin::NONE).is_err());
        // In a worksheet it has the measurand's name, and no other.
        let symbol = budget.measurand().symbol.clone();
        let readings = Readings::from_rows(&budget, &[row(&symbol, &["5.01"])]).unwrap();
        assert_eq!(readings.at(0)[0].quantity.text(), "5.01 N");
        let Faults(faults) = Readings::from_rows(&budget, &[row("5 N", &["5.01"])]).unwrap_err();
        assert_eq!(faults[0].help, symbol);
        let twice = [row(&symbol, &["5.01"]), row(&format!(" {symbol}"), &["5.02"])];
        assert!(Readings::from_rows(&budget, &twice).is_err());
    }

    #[test]
    fn all_faults_of_a_worksheet_are_told() {
        let budget = micrometer("±4 µm", "simple", 1.0).budget();
        let rows = [
            row("2.5", &["2.500", "two", "2,5", "2.501 N"]),
            row("2.50", &["2.501"]),
            row("3", &["3.000"]),
            row("10.3", &[]),
        ];
        let Faults(faults) = Readings::from_rows(&budget, &rows).unwrap_err();
        assert_eq!(faults.len(), 6, "{faults:?}");
        let text = faults.iter().map(Fault::message).collect::<Vec<_>>().join("\n");
        assert!(text.contains("`2.5` and `2.50` are the same point"), "{text}");
        let rows = [row("2.5", &["2.500", "2501 µm"]), row("10.3 mm", &["10.301 mm"])];
        let readings = Readings::from_rows(&budget, &rows).unwrap();
        assert_eq!((readings.at(0).len(), readings.at(1).len()), (2, 1));
        assert_eq!(readings.at(0)[1].quantity.text(), "2501 µm");
    }

    #[test]
    fn a_section_gives_readings_or_errors() {
        let budget = micrometer("±4 µm", "simple", 1.0).budget();
        let section = |are_errors: bool| Section {
            origin: Origin::NONE,
            budget: "micrometer.yaml".into(),
            are_errors,
            values_origin: Origin::NONE,
            values: vec![("2.50".into(), vec!["3".into()])],
            take: crate::budget::Take::Worst,
        };
        for (are_errors, text) in [(true, "3 µm"), (false, "3 mm")] {
            let readings = Readings::from_section(&budget, &section(are_errors)).unwrap();
            let entry = &readings.at(0)[0];
            assert_eq!((entry.is_error, entry.quantity.text().as_str()), (are_errors, text));
        }
    }
}
