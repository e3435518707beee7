//! Commas in `[…]` and `{…}` that cut a value into pieces.
//!
//! To YAML each comma there ends an entry: `{limits: ±max(0.1 µm, 0.2 µm)}` is a key `limits` and a
//! key `0.2 µm)` without value. Found by parentheses that do not match within an entry, and by keys
//! of a map without `:`. A decimal comma in a list (`[0,1]`) cannot be told from two entries.

use super::raw::{Raw, quoted, ticked};
use super::yaml_tree::{At, MOST};
use crate::fault::{Fault, Origin};

/// At most so many items of a list are taken for one expression.
const LONGEST: usize = 16;

/// What stands between two commas: the value of a key, a key alone, or an item of a list.
#[derive(Debug, Clone, Copy)]
pub(super) struct Cell {
    /// Where it begins.
    pub start: At,
    /// One after its end.
    pub end: At,
    /// Whether it is a text without quotes.
    pub plain: bool,
    /// Whether it stands in a map.
    pub key: bool,
    /// Whether it stands alone: a key without `:`, an item of a list.
    pub bare: bool,
}

/// Adds the faults of the entries between one pair of brackets.
pub(super) fn check(raw: Raw<'_>, cells: &[Cell], faults: &mut Vec<(At, Fault)>) {
    let mut next = 0;
    while let Some(cell) = cells.get(next).filter(|_| faults.len() <= MOST) {
        let pieces = pieces(raw, &cells[next..]);
        let whole = raw.text(cell.start, cells[next + pieces - 1].end);
        if pieces > 1 {
            faults.push((cell.start, cut(raw, &whole, cell)));
        } else if cell.key && cell.bare {
            faults.push((cell.start, without_value(&whole)));
        }
        next += pieces;
    }
}

/// How many cells belong together, at least 1.
fn pieces(raw: Raw<'_>, cells: &[Cell]) -> usize {
    // Parentheses that are never closed say nothing about the commas of a list.
    let is_list = cells.first().is_some_and(|cell| !cell.key);
    let cells = if is_list { &cells[..cells.len().min(LONGEST)] } else { cells };
    let mut open = 0;
    for (index, cell) in cells.iter().enumerate() {
        let joins = cell.plain && (index == 0 || cell.bare);
        // After the parentheses are closed, a key without `:` still belongs to the value before.
        let trails = cell.key && !has_colon(raw, cell);
        let ends = index > 0 && open <= 0 && !trails;
        if !joins || ends {
            return index.max(1);
        }
        if index == 0 && cell.key && cell.bare {
            return 1;
        }
        open += raw.parentheses(cell.start, cell.end);
    }
    if open > 0 && is_list { 1 } else { cells.len().max(1) }
}

fn has_colon(raw: Raw<'_>, cell: &Cell) -> bool {
    raw.text(cell.start, cell.end).contains(':')
}

fn cut(raw: Raw<'_>, whole: &str, first: &Cell) -> Fault {
    let brackets = if first.key {
        "a comma inside `{…}` ends the value"
    } else {
        "a comma inside `[…]` ends the entry"
    };
    let piece = ticked(&raw.text(first.start, first.end));
    let fault = Fault::new(Origin::NONE, format!("{} is cut after {piece}", ticked(whole)));
    let fault = fault.rule(brackets);
    match decimal_comma(whole) {
        Some(point) => {
            fault.help(format!("write `{point}`, or, where it is a text: `{}`", quoted(whole)))
        }
        None => fault.help(quoted(whole)),
    }
}

/// `±0,5 µm` as `±0.5 µm`: a single comma between two digits.
fn decimal_comma(whole: &str) -> Option<String> {
    let (before, after) = whole.split_once(',')?;
    let digits = before.ends_with(|c: char| c.is_ascii_digit())
        && after.starts_with(|c: char| c.is_ascii_digit());
    (digits && !after.contains(',')).then(|| format!("{before}.{after}"))
}

fn without_value(key: &str) -> Fault {
    let fault = Fault::new(Origin::NONE, format!("the key {} has no value", ticked(key)));
    match key.split_once(':') {
        Some((key, value)) => {
            fault.rule("the colon after a key needs a space").help(format!("{key}: {value}"))
        }
        None => fault.rule("entries inside `{…}` are `key: value`").help(format!("{key}: …")),
    }
}
