//! One block of rows: judged, instrument by instrument, and written with what was added.

use super::cut::Block;
use super::form::Form;
use crate::decide::Verdict;
use crate::decide::table::{Desk, Reported, Table};
use crate::fault::Fault;
use crate::file::extent::{LONGEST, count as lines_in, extent};
use crate::file::history::{count, decimal_comma};
use crate::file::table::{self, Cell, Columns, Wrong};
use std::collections::BTreeMap;

/// Rows off the grid, or far off, that are named.
const NAMED: usize = 3;

/// A row that was judged.
struct Row {
    start: usize,
    end: usize,
    instrument: u32,
    outcome: u32,
    /// Whether it has to be written anew.
    harmful: bool,
}

/// An instrument of a block.
pub(super) struct Instrument {
    /// The line of its first row.
    pub(super) line: u64,
    /// That of its last.
    pub(super) last: u64,
    pub(super) name: Vec<u8>,
    has_bad_rows: bool,
    reported: Vec<Reported>,
    pub(super) verdict: Verdict,
    /// Whether all reported values lie within tolerance; `None` where some point has none.
    pub(super) within: Option<bool>,
}

/// Something to say of a row.
pub(super) struct Said {
    pub(super) line: u64,
    pub(super) column: usize,
    pub(super) what: String,
    pub(super) help: String,
    /// The row as it stands.
    pub(super) row: Vec<u8>,
}

/// The instruments at one point.
#[derive(Clone, Default)]
pub(super) struct AtPoint {
    /// How many have a reading.
    pub(super) count: u64,
    /// How many of these are not passed.
    pub(super) not_passed: u64,
    /// How many readings that with the fewest and that with the most have; none without readings.
    pub(super) readings: Option<[usize; 2]>,
}

impl AtPoint {
    fn add(&mut self, reported: &Reported) {
        let readings = reported.count as usize;
        let passed = reported.verdict().0 == Verdict::Pass;
        self.join(&AtPoint {
            count: 1,
            not_passed: u64::from(!passed),
            readings: Some([readings; 2]),
        });
    }

    /// Takes in the same of other instruments.
    pub(super) fn join(&mut self, other: &AtPoint) {
        self.count += other.count;
        self.not_passed += other.not_passed;
        self.readings = match (self.readings, other.readings) {
            (Some(one), Some(two)) => Some([one[0].min(two[0]), one[1].max(two[1])]),
            (one, two) => one.or(two),
        };
    }
}

/// What a block came to.
#[derive(Default)]
pub(super) struct Batch {
    pub(super) block: Block,
    pub(super) out: Vec<u8>,
    pub(super) rows: u64,
    pub(super) within: u64,
    pub(super) bad: Vec<Said>,
    /// How many of these name no instrument of the block.
    pub(super) nameless: u64,
    pub(super) off_grid: (u64, Vec<Said>),
    pub(super) far_off: (u64, Vec<Said>),
    pub(super) instruments: Vec<Instrument>,
    pub(super) points: Vec<AtPoint>,
}

/// A row that could not be read and does not name its instrument for certain.
struct Loose {
    /// What stands where the instrument belongs.
    name: Option<Vec<u8>>,
    /// The instrument before it.
    before: Option<u32>,
}

/// A worker's place.
pub(super) struct Bench<'t> {
    table: &'t Table<'t>,
    columns: &'t Columns,
    form: &'t Form,
    any_order: bool,
    desk: Desk<'t>,
    added: Vec<Vec<u8>>,
    cells: Vec<Cell>,
    rows: Vec<Row>,
    loose: Vec<Loose>,
}

impl<'t> Bench<'t> {
    pub(super) fn new(
        table: &'t Table<'t>,
        columns: &'t Columns,
        form: &'t Form,
        any_order: bool,
    ) -> Bench<'t> {
        let desk = Desk::new(table);
        let (added, cells, rows, loose) = (Vec::new(), Vec::new(), Vec::new(), Vec::new());
        Bench { table, columns, form, any_order, desk, added, cells, rows, loose }
    }

    /// Judges the rows of a block.
    pub(super) fn judge(&mut self, block: Block, out: Vec<u8>) -> Batch {
        let mut batch = Batch {
            out,
            points: vec![AtPoint::default(); self.table.points().count()],
            ..Batch::default()
        };
        batch.out.clear();
        if self.desk.forget() {
            self.added.clear();
        }
        self.rows.clear();
        let mut known: BTreeMap<Vec<u8>, u32> = BTreeMap::new();
        let bytes = &block.bytes;
        let all_text = std::str::from_utf8(bytes).is_ok();
        let (mut from, mut line) = (0, block.line);
        while from < bytes.len() {
            let Some(found) = extent(bytes, from, true, self.columns, &mut self.cells) else {
                break;
            };
            let row = &bytes[from..found.end];
            if !row.trim_ascii().is_empty() {
                let place = (from, found.end, line);
                let astray = found.astray.map(|it| it.wrong(line));
                if let Err(wrong) = self.row(row, place, (all_text, astray), &mut batch, &mut known)
                {
                    batch.bad.push(said(line, row, wrong));
                }
            }
            line += 1 + found.breaks;
            from = found.next;
        }
        self.settle_all(&mut batch, &known);
        self.finish(&mut batch);
        self.write(bytes, &mut batch);
        batch.block = block;
        batch
    }

    fn row(
        &mut self,
        row: &[u8],
        (start, end, line): (usize, usize, u64),
        (all_text, astray): (bool, Option<Wrong>),
        batch: &mut Batch,
        known: &mut BTreeMap<Vec<u8>, u32>,
    ) -> Result<(), Wrong> {
        let split = table::split(row, &mut self.cells);
        let fits = match astray {
            Some(wrong) => Err(wrong),
            None if row.len() > LONGEST => {
                let what = format!("the line is longer than {} MiB", LONGEST / (1024 * 1024));
                Err(Wrong::new(0, what, "end each row with a line end"))
            }
            None => split,
        };
        let name = match fits {
            Ok(()) => self.columns.instrument_of(row, &self.cells),
            Err(_) => None,
        };
        let Some(name) = name else {
            let cell = self.cells.get(self.columns.instrument);
            let name = cell.map(|it| table::content(row, *it).into_owned());
            let before = batch.instruments.len().checked_sub(1).map(|it| it as u32);
            self.loose.push(Loose { name: name.filter(|it| !it.is_empty()), before });
            return Err(fits.err().unwrap_or_else(|| self.unnamed(row)));
        };
        let instrument = self.instrument(&name, line, batch, known);
        if !self.loose.is_empty() && !self.any_order {
            self.settle(Some(instrument), batch);
        }
        let found = match all_text {
            true => self.outcome(row),
            false => is_text(row).and_then(|()| self.outcome(row)),
        };
        let Ok((at, outcome)) = &found else {
            batch.instruments[instrument as usize].has_bad_rows = true;
            return found.map(|_| ());
        };
        let it = &self.desk.outcomes()[*outcome as usize];
        batch.rows += 1;
        batch.within += u64::from(it.within);
        let entry = &mut batch.instruments[instrument as usize];
        let outcomes = self.desk.outcomes();
        self.table.report(*at, &mut entry.reported[*at], *outcome, outcomes);
        for (is, list) in [(it.off_grid, &mut batch.off_grid), (it.far_off, &mut batch.far_off)] {
            list.0 += u64::from(is);
            if is && list.1.len() < NAMED {
                let cell = self.cells[self.columns.value];
                let text = String::from_utf8_lossy(&table::content(row, cell)).into_owned();
                list.1.push(said(line, row, Wrong::new(cell.start, text, "")));
            }
        }
        let harmful = self.has_formula(row);
        self.rows.push(Row { start, end, instrument, outcome: *outcome, harmful });
        Ok(())
    }

    /// Whether a spreadsheet would run a cell of the row.
    fn has_formula(&self, row: &[u8]) -> bool {
        self.cells.iter().any(|cell| {
            let first = row.get(cell.start).copied().unwrap_or(b'a');
            matches!(first, b'=' | b'+' | b'-' | b'@' | b'\t' | b'\r')
                && table::is_formula(&row[cell.start..cell.end])
        })
    }

    /// Returns why a row that could be split names no instrument.
    fn unnamed(&self, row: &[u8]) -> Wrong {
        let wanted = self.columns.names.len();
        if self.cells.len() != wanted {
            return count(self.cells.len(), wanted, row);
        }
        let at = self.cells.get(self.columns.instrument).map_or(0, |it| it.start);
        let missing = Wrong::new(at, "the instrument is missing", "write its number or name");
        is_text(row).err().unwrap_or(missing)
    }

    /// Holds back the instruments that rows without a certain name may belong to, those before and after
    /// them; that which is named alone, where it is one of these.
    fn settle(&mut self, after: Option<u32>, batch: &mut Batch) {
        for it in self.loose.drain(..) {
            let is_named = |index: &u32| {
                it.name
                    .as_ref()
                    .is_some_and(|name| batch.instruments[*index as usize].name == *name)
            };
            let named = it.before.filter(is_named).or(after.filter(is_named));
            batch.nameless += u64::from(named.is_none());
            let held = named.map_or([it.before, after], |index| [Some(index), None]);
            for index in held.into_iter().flatten() {
                batch.instruments[index as usize].has_bad_rows = true;
            }
        }
    }

    /// Holds back what is left at the end of a block; where the rows stand in any order, a row without a name
    /// may belong to every instrument.
    fn settle_all(&mut self, batch: &mut Batch, known: &BTreeMap<Vec<u8>, u32>) {
        if !self.any_order {
            return self.settle(None, batch);
        }
        for it in self.loose.drain(..) {
            let named = it.name.and_then(|name| known.get(&name));
            batch.nameless += u64::from(named.is_none());
            match named {
                Some(index) => batch.instruments[*index as usize].has_bad_rows = true,
                None => batch.instruments.iter_mut().for_each(|it| it.has_bad_rows = true),
            }
        }
    }

    /// Returns the number of an instrument in the batch.
    fn instrument(
        &self,
        name: &[u8],
        line: u64,
        batch: &mut Batch,
        known: &mut BTreeMap<Vec<u8>, u32>,
    ) -> u32 {
        let count = batch.instruments.len() as u32;
        let found = match batch.instruments.last() {
            Some(last) if last.name == name => Some(count - 1),
            _ if self.any_order => known.get(name).copied(),
            _ => None,
        };
        if let Some(found) = found {
            batch.instruments[found as usize].last = line;
            return found;
        }
        if self.any_order {
            known.insert(name.to_vec(), count);
        }
        batch.instruments.push(Instrument {
            line,
            last: line,
            name: name.to_vec(),
            has_bad_rows: false,
            reported: vec![Reported::default(); batch.points.len()],
            verdict: Verdict::Undecided,
            within: None,
        });
        count
    }

    /// Returns point and outcome of a row that was split.
    fn outcome(&mut self, row: &[u8]) -> Result<(usize, u32), Wrong> {
        let cells = &self.cells;
        let at = match self.columns.at.map(|it| cells[it]) {
            None => 0,
            Some(cell) => {
                let text = table::content(row, cell);
                check(&text, cell, "the point is missing", self.table.needs_point())?;
                self.desk.point(&text).map_err(|it| wrong(cell, it))?
            }
        };
        let cell = cells[self.columns.value];
        let text = table::content(row, cell);
        check(&text, cell, "the value is missing", true)?;
        let outcome = self.desk.judge(at, &text).map_err(|it| wrong(cell, it))?;
        Ok((at, outcome))
    }

    /// Gives each instrument its verdict.
    fn finish(&self, batch: &mut Batch) {
        let points: Vec<bool> = self.table.points().map(|it| it.1).collect();
        for it in &mut batch.instruments {
            it.verdict = self.table.instrument(&it.reported, it.has_bad_rows);
            let mut complete = !it.has_bad_rows;
            let mut within = true;
            for (index, reported) in it.reported.iter().enumerate().filter(|it| points[it.0]) {
                complete &= reported.count > 0;
                if reported.count > 0 {
                    within &= reported.within;
                    batch.points[index].add(reported);
                }
            }
            it.within = complete.then_some(within);
            it.reported = Vec::new();
        }
    }

    fn write(&mut self, bytes: &[u8], batch: &mut Batch) {
        let unit = self.table.unit();
        for outcome in &self.desk.outcomes()[self.added.len()..] {
            self.added.push(self.form.added(outcome, unit));
        }
        for it in &self.rows {
            let row = &bytes[it.start..it.end];
            let (added, verdict) = (
                &self.added[it.outcome as usize],
                batch.instruments[it.instrument as usize].verdict,
            );
            let anew = it.harmful.then_some(&mut self.cells);
            self.form.row(row, anew, (added, verdict), &self.columns.names, &mut batch.out);
        }
    }
}

fn is_text(row: &[u8]) -> Result<(), Wrong> {
    let bad = std::str::from_utf8(row).err();
    bad.map_or(Ok(()), |it| {
        Err(Wrong::new(it.valid_up_to(), "the row is not UTF-8", "save the file as UTF-8"))
    })
}

fn check(text: &[u8], cell: Cell, missing: &str, needed: bool) -> Result<(), Wrong> {
    if text.is_empty() && needed {
        return Err(Wrong::new(cell.start, missing, "fill the cell in, or leave the row out"));
    }
    if memchr::memchr(b',', text).is_some() {
        let text = String::from_utf8_lossy(text);
        if let Some(point) = decimal_comma(&text) {
            let what = format!("`{text}` has a decimal comma");
            return Err(Wrong::new(cell.start, what, format!("write `{point}`")));
        }
    }
    Ok(())
}

fn wrong(cell: Cell, fault: Fault) -> Wrong {
    Wrong::new(cell.start, fault.message(), fault.help)
}

fn said(line: u64, row: &[u8], wrong: Wrong) -> Said {
    let before = &row[..wrong.at.min(row.len())];
    let start = memchr::memrchr(b'\n', before).map_or(0, |it| it + 1);
    let column = String::from_utf8_lossy(&before[start..]).chars().count() + 1;
    let line = line + lines_in(before);
    let row = if row.len() > LONGEST { Vec::new() } else { row.to_vec() };
    Said { line, column, what: wrong.what, help: wrong.help, row }
}
