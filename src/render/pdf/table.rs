//! Tables: measured, folded, one item per row, with the head repeated on each sheet.
//!
//! A row is never split, unless it alone is higher than a sheet. Where even folded cells are too wide, letters
//! become smaller; where that does not help either, cells are broken anywhere. Nothing is cut off.

use super::column::{Column, widths};
use super::flow::{Draw, Item, Kind, Part};
use super::layout::{Layout, Style, text_at};
use super::wrap::Words;
use crate::page::{Align, Cell, Fold, Table, Text, Tile};

/// Sizes of letters that are tried, in points, the best first; a line is 1.28 times as high.
const SIZES: [f32; 5] = [8.5, 8.0, 7.5, 7.0, 6.5];
/// The gap between two columns.
const GAP: f32 = 9.0;
/// Space above and below the text of a row, and of a row that no line ends.
const PAD: f32 = 1.4;
const TIGHT: f32 = 0.5;
/// Length of a full bar and its distance from the text.
const BAR: f32 = 40.0;
const BESIDE: f32 = 4.0;
/// A table of so many rows at most is kept on one sheet where it can be.
const SHORT: usize = 14;

/// Below which rows a line stands; the head has one always.
pub(super) enum Ruled {
    All,
    None,
    /// Below each of so many rows in all.
    After(Vec<usize>),
}

/// A table as the layout sees it.
pub(super) struct Grid<'a> {
    pub head: Option<Vec<&'a Text>>,
    pub rows: Vec<Vec<(&'a Text, Option<f64>)>>,
    pub columns: Vec<(Align, Fold)>,
    /// Below which rows a line stands.
    pub ruled: Ruled,
}

impl<'a> Grid<'a> {
    /// Returns the grid of a table.
    pub(super) fn of_table(table: &'a Table) -> Grid<'a> {
        Grid::new(&table.columns, table.rows.iter())
    }

    /// Returns the grid of columns and rows.
    pub(super) fn new(
        columns: &'a [crate::page::Column],
        rows: impl Iterator<Item = &'a Vec<Cell>>,
    ) -> Grid<'a> {
        let cell = |cell: &'a Cell| match cell {
            Cell::Text(text) => (text, None),
            Cell::Share { text, length } => (text, Some(length.clamp(0.0, 1.0))),
        };
        Grid {
            head: Some(columns.iter().map(|it| &it.heading).collect()),
            rows: rows.map(|row| row.iter().map(cell).collect()).collect(),
            columns: columns.iter().map(|it| (it.align, it.fold)).collect(),
            ruled: Ruled::All,
        }
    }

    /// Returns the grid of a small table, with a line below each group of rows.
    pub(super) fn of_tile(tile: &'a Tile) -> Grid<'a> {
        let ends = tile.groups.iter().scan(0, |rows, group| {
            *rows += group.len();
            Some(*rows)
        });
        let ruled = Ruled::After(ends.collect());
        Grid { ruled, ..Grid::new(&tile.columns, tile.groups.iter().flatten()) }
    }

    /// Returns the grid of names and values.
    pub(super) fn of_pairs(pairs: &'a [(Text, Text)]) -> Grid<'a> {
        Grid {
            head: None,
            rows: pairs.iter().map(|(name, value)| vec![(name, None), (value, None)]).collect(),
            columns: vec![(Align::Left, Fold::Anywhere); 2],
            ruled: Ruled::None,
        }
    }
}

impl Grid<'_> {
    /// Space above and below the text of a row.
    fn pad(&self) -> f32 {
        if matches!(self.ruled, Ruled::All) { PAD } else { TIGHT }
    }

    /// Whether a line stands below a row, counted from 1; 0 is the head.
    fn is_ruled(&self, row: usize) -> bool {
        match &self.ruled {
            Ruled::All => true,
            Ruled::None => false,
            Ruled::After(rows) => row == 0 || rows.contains(&row),
        }
    }
}

/// A grid with its widths chosen.
struct Measured {
    columns: Vec<Column>,
    widths: Vec<f32>,
    folds: Vec<Fold>,
    /// The width of the widest share of each column, as far as there is room for it; 0 where it has none.
    shares: Vec<f32>,
    gap: f32,
    size: f32,
}

impl Measured {
    fn new(
        grid: &Grid,
        columns: Vec<Column>,
        widths: Vec<f32>,
        folds: Vec<Fold>,
        gap: f32,
        size: f32,
    ) -> Measured {
        let share = |(index, column): (usize, &Column)| {
            let cells = column.texts.iter().skip(column.headings).zip(&grid.rows);
            let shares = cells.filter(|(_, row)| row.get(index).is_some_and(|it| it.1.is_some()));
            let room = widths.get(index).copied().unwrap_or(0.0) - column.beside;
            shares.map(|(words, _)| words.width()).fold(0.0, f32::max).min(room.max(0.0))
        };
        let shares = columns.iter().enumerate().map(share).collect();
        Measured { columns, widths, folds, shares, gap, size }
    }

    fn share(&self, index: usize) -> f32 {
        self.shares.get(index).copied().unwrap_or(0.0)
    }

    fn leading(&self) -> f32 {
        self.size * 1.28
    }
}

impl Layout<'_> {
    /// Adds a table over the whole width.
    pub(super) fn table(&mut self, grid: &Grid) {
        let items = self.rows(grid, self.width);
        self.flow.items.extend(items);
    }

    /// Returns the items of a table in `room` points; its head, where it has one, is the first of them.
    pub(super) fn rows(&mut self, grid: &Grid, room: f32) -> Vec<Item> {
        let measured = self.measured(grid, room);
        let table = self.flow.element(Kind::Table, Some(self.document));
        let mut items = Vec::new();
        let mut head = None;
        if grid.head.is_some() {
            let mut all = self.row(grid, &measured, 0, table);
            all.iter_mut().for_each(|it| it.keep = true);
            if let [only] = all.as_slice() {
                self.flow.heads.push(only.clone().decoration());
                head = Some(self.flow.heads.len() - 1);
            }
            items.extend(all);
        }
        let first = usize::from(grid.head.is_some());
        let count = grid.rows.len();
        for index in 0..count {
            let mut row = self.row(grid, &measured, first + index, table);
            let together = count <= SHORT || index == 0 || index + 2 == count;
            if let Some(last) = row.last_mut() {
                last.keep = together && index + 1 < count;
            }
            row.iter_mut().for_each(|it| it.head = head);
            items.extend(row);
        }
        items
    }

    /// Returns the width that a table takes where nothing is folded.
    pub(super) fn natural(&self, grid: &Grid) -> f32 {
        let folds: Vec<Fold> = grid.columns.iter().map(|it| it.1).collect();
        let columns = self.columns(grid, &folds, SIZES[0]);
        let gaps = GAP * folds.len().saturating_sub(1) as f32;
        // What rounding takes is given back, so that just this width folds nothing.
        columns.iter().map(Column::natural).sum::<f32>() + gaps + 0.1
    }

    /// Chooses size and widths.
    fn measured(&self, grid: &Grid, room: f32) -> Measured {
        let folds: Vec<Fold> = grid.columns.iter().map(|it| it.1).collect();
        let count = folds.len().max(1) as f32;
        let inner = room - GAP * (count - 1.0);
        for size in SIZES {
            let columns = self.columns(grid, &folds, size);
            if let Some(widths) = widths(&columns, inner) {
                return Measured::new(grid, columns, widths, folds, GAP, size);
            }
        }
        let size = SIZES[SIZES.len() - 1];
        let folds = vec![Fold::Anywhere; folds.len()];
        let columns = self.columns(grid, &folds, size);
        if let Some(widths) = widths(&columns, inner) {
            return Measured::new(grid, columns, widths, folds, GAP, size);
        }
        // So many columns that each has its part of the sheet and no more.
        let equal = 0.85 * room / count;
        let widths = vec![equal; folds.len()];
        Measured::new(grid, columns, widths, folds, (0.15 * room / count).min(GAP), size)
    }

    fn columns(&self, grid: &Grid, folds: &[Fold], size: f32) -> Vec<Column> {
        let column = |(index, fold): (usize, &Fold)| {
            let head = grid.head.iter().filter_map(|it| it.get(index));
            let mut texts: Vec<Words> =
                head.map(|it| Words::new(it.as_str(), self.faces.of(true), size)).collect();
            let cells = grid.rows.iter().filter_map(|row| row.get(index));
            let shares = cells.clone().any(|it| it.1.is_some());
            let face = self.faces.of(false);
            texts.extend(cells.map(|it| Words::new(it.0.as_str(), face, size)));
            let headings = usize::from(grid.head.is_some());
            let beside = if shares { BAR + BESIDE } else { 0.0 };
            Column { texts, headings, fold: *fold, beside }
        };
        folds.iter().enumerate().map(column).collect()
    }

    /// One row, the head's where there is one and `row` is 0: one item, several where it is higher than a sheet.
    fn row(&mut self, grid: &Grid, measured: &Measured, row: usize, table: usize) -> Vec<Item> {
        let is_head = grid.head.is_some() && row == 0;
        let leading = measured.leading();
        let style = Style { size: measured.size, leading, bold: is_head };
        let face = self.faces.of(is_head);
        let lines = |(index, column): (usize, &Column)| {
            let Some(words) = column.texts.get(row) else { return Vec::new() };
            let beside = if is_head { 0.0 } else { column.beside };
            let fold = measured.folds.get(index).copied().unwrap_or(Fold::Anywhere);
            let fold = if is_head && fold != Fold::Anywhere { Fold::Words } else { fold };
            let width = measured.widths.get(index).copied().unwrap_or(0.0) - beside;
            words.lines(width, fold, face, style.size)
        };
        let cells: Vec<Vec<(String, f32)>> =
            measured.columns.iter().enumerate().map(lines).collect();
        let height = cells.iter().map(Vec::len).max().unwrap_or(1).max(1);
        let at_once = (((self.sheet * 0.9) / leading) as usize).max(1);
        let parent = self.flow.element(Kind::Row, Some(table));
        let kind = |index: usize| match (is_head, index) {
            (true, _) => Kind::ColumnHead,
            (false, 0) => Kind::RowHead,
            _ => Kind::Cell,
        };
        let elements: Vec<usize> =
            (0..cells.len()).map(|it| self.flow.element(kind(it), Some(parent))).collect();
        let mut items = Vec::new();
        for start in (0..height).step_by(at_once) {
            let count = at_once.min(height - start);
            let mut parts = Vec::new();
            for (index, lines) in cells.iter().enumerate() {
                let some = lines.iter().skip(start).take(count);
                let mut draws = texts(grid, measured, index, some, style, is_head);
                let share = grid.rows.get(row.wrapping_sub(usize::from(grid.head.is_some())));
                let share = share.and_then(|it| it.get(index)).and_then(|it| it.1);
                draws.extend(
                    share
                        .filter(|_| start == 0 && !is_head)
                        .and_then(|it| bar(grid, measured, index, it)),
                );
                parts.push(Part { element: elements.get(index).copied(), draws });
            }
            let height = count as f32 * leading + 2.0 * grid.pad();
            let number = if grid.head.is_some() { row } else { row + 1 };
            if grid.is_ruled(number) {
                parts.push(Part { element: None, draws: vec![rule(measured, height, is_head)] });
            }
            items.push(Item { height, parts, ..Item::default() });
        }
        items
    }
}

/// The left end of a column.
fn left(measured: &Measured, index: usize) -> f32 {
    measured.widths.iter().take(index).sum::<f32>() + measured.gap * index as f32
}

/// The lines of a cell: numbers at the right, shares under each other.
fn texts<'b>(
    grid: &Grid,
    measured: &Measured,
    index: usize,
    lines: impl Iterator<Item = &'b (String, f32)>,
    style: Style,
    is_head: bool,
) -> Vec<Draw> {
    let left = left(measured, index);
    let width = measured.widths.get(index).copied().unwrap_or(0.0);
    let right = grid.columns.get(index).is_some_and(|it| it.0 == Align::Right);
    let shares = if is_head { 0.0 } else { measured.share(index) };
    let place = |own: f32| match right {
        true => left + width - own,
        false => left + (shares - own).max(0.0),
    };
    let draw = |(row, (text, own)): (usize, &(String, f32))| {
        let base = grid.pad() + row as f32 * style.leading + style.base();
        text_at([place(*own), base], style, text.clone())
    };
    lines.enumerate().filter(|it| !it.1.0.is_empty()).map(draw).collect()
}

/// The bar of a share, right of the widest of its column; one over zero shows at least a hair.
fn bar(grid: &Grid, measured: &Measured, index: usize, length: f64) -> Option<Draw> {
    let room = measured.widths.get(index).copied().unwrap_or(0.0) - BAR;
    let start = (measured.share(index) + BESIDE).min(room);
    let at = [left(measured, index) + start, grid.pad() + 0.2 * measured.leading()];
    let size = [(length as f32 * BAR).max(0.4), 0.6 * measured.leading()];
    (length > 0.0).then(|| Draw::rectangle(at, size, None, Some(0.35)))
}

/// The line below a row: black below the head.
fn rule(measured: &Measured, height: f32, is_head: bool) -> Draw {
    let count = measured.widths.len();
    let right = left(measured, count) - measured.gap;
    let (width, gray) = if is_head { (0.7, 0.0) } else { (0.3, 0.7) };
    Draw::line([0.0, height], [right.max(0.0), height], width, gray)
}
