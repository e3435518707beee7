//! One block of rows: judged, instrument by instrument, and written with what was added.

use super::cut::Block;
use super::form::Form;
use crate::decide::Verdict;
use crate::decide::table::{Desk, Reported, Table};
use crate::fault::Fault;
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

/// What a block came to.
#[derive(Default)]
pub(super) struct Batch {
    pub(super) block: Block,
    pub(super) out: Vec<u8>,
    pub(super) rows: u64,
    pub(super) within: u64,
    pub(super) bad: Vec<Said>,
    pub(super) off_grid: (u64, Vec<Said>),
    pub(super) far_off: (u64, Vec<Said>),
    pub(super) instruments: Vec<Instrument>,
    /// By point: instruments with a reading, and those not passed at it.
    pub(super) points: Vec<(u64, u64)>,
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
}

impl<'t> Bench<'t> {
    pub(super) fn new(
        table: &'t Table<'t>,
        columns: &'t Columns,
        form: &'t Form,
        any_order: bool,
    ) -> Bench<'t> {
        let desk = Desk::new(table);
        let (added, cells, rows) = (Vec::new(), Vec::new(), Vec::new());
        Bench { table, columns, form, any_order, desk, added, cells, rows }
    }

    /// Judges the rows of a block.
    pub(super) fn judge(&mut self, block: Block, out: Vec<u8>) -> Batch {
        let mut batch =
            Batch { out, points: vec![(0, 0); self.table.points().count()], ..Batch::default() };
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
            let (end, next) =
                table::end_of_row(bytes, from).unwrap_or_else(|| last_row(bytes, from));
            let row = &bytes[from..end];
            if !row.trim_ascii().is_empty() {
                let place = (from, end, line);
                if let Err(wrong) = self.row(row, place, all_text, &mut batch, &mut known) {
                    batch.bad.push(said(line, row, wrong));
                }
            }
            let quoted = memchr::memchr(b'\n', &bytes[from..end]).is_some();
            line += if quoted { super::cut::count(&bytes[from..next]) } else { 1 };
            from = next;
        }
        self.finish(&mut batch);
        self.write(bytes, &mut batch);
        if let Some((line, wrong)) = &block.beyond {
            batch.bad.push(said(*line, b"", wrong.clone()));
        }
        batch.block = block;
        batch
    }

    fn row(
        &mut self,
        row: &[u8],
        (start, end, line): (usize, usize, u64),
        all_text: bool,
        batch: &mut Batch,
        known: &mut BTreeMap<Vec<u8>, u32>,
    ) -> Result<(), Wrong> {
        table::split(row, &mut self.cells)?;
        let cells = &self.cells;
        let wanted = self.columns.names.len();
        let named = cells.get(self.columns.instrument).copied();
        let name = named.map(|it| table::content(row, it)).filter(|it| !it.is_empty());
        let instrument = name.map(|it| self.instrument(&it, line, batch, known));
        let found = self.outcome(row, wanted, all_text, instrument.is_some());
        let (Ok((at, outcome)), Some(instrument)) = (&found, instrument) else {
            if let Some(it) = instrument {
                batch.instruments[it as usize].has_bad_rows = true;
            }
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
        let harmful = self.cells.iter().any(|cell| {
            let first = row.get(cell.start).copied().unwrap_or(b'a');
            matches!(first, b'=' | b'+' | b'-' | b'@' | b'\t' | b'\r')
                && table::is_formula(&row[cell.start..cell.end])
        });
        self.rows.push(Row { start, end, instrument, outcome: *outcome, harmful });
        Ok(())
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
    fn outcome(
        &mut self,
        row: &[u8],
        wanted: usize,
        all_text: bool,
        named: bool,
    ) -> Result<(usize, u32), Wrong> {
        let cells = &self.cells;
        if cells.len() != wanted {
            return Err(count(cells.len(), wanted, row));
        }
        if !all_text && let Err(bad) = std::str::from_utf8(row) {
            return Err(Wrong::new(
                bad.valid_up_to(),
                "the row is not UTF-8",
                "save the file as UTF-8",
            ));
        }
        if !named {
            let at = cells[self.columns.instrument].start;
            return Err(Wrong::new(at, "the instrument is missing", "write its number or name"));
        }
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
                    batch.points[index].0 += 1;
                    batch.points[index].1 += u64::from(reported.verdict().0 != Verdict::Pass);
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

/// The last row may lack its line end; a quote that is never closed ends with its line.
fn last_row(bytes: &[u8], from: usize) -> (usize, usize) {
    match table::split(&bytes[from..], &mut Vec::new()) {
        Ok(()) => (bytes.len(), bytes.len()),
        Err(_) => table::end_of_line(bytes, from),
    }
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
    let line = line + super::cut::count(before);
    Said { line, column, what: wrong.what, help: wrong.help, row: row.to_vec() }
}
