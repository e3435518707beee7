//! Small tables side by side, as many as fit; bands of them are put on sheets as a whole where they can be.

use super::flow::{Item, Kind};
use super::layout::{Layout, Style};
use super::table::Grid;
use crate::page::{Tile, Tiles};

/// The gap between two tiles, and between two bands of them.
const GAP: f32 = 22.0;
const APART: f32 = 9.0;
/// Type of a tile's heading.
const HEADING: Style = Style { size: 9.0, leading: 12.0, bold: true };

impl Layout<'_> {
    /// Adds small tables of one width.
    pub(super) fn tiles(&mut self, tiles: &Tiles) {
        let grid = |tile| Grid::of_tile(tile);
        let widest = tiles.tiles.iter().map(|it| self.natural(&grid(it))).fold(0.0, f32::max);
        let widest = widest.clamp(1.0, self.width);
        let fit = (((self.width + GAP) / (widest + GAP)) as usize).max(1);
        for band in tiles.tiles.chunks(fit) {
            let mut whole: Vec<Item> = Vec::new();
            for (index, tile) in band.iter().enumerate() {
                let left = index as f32 * (widest + GAP);
                let items = self.tile(tile, widest);
                for (row, item) in items.into_iter().enumerate() {
                    beside(&mut whole, row, item.moved(left, 0.0));
                }
            }
            if let Some(last) = whole.last_mut() {
                last.keep = false;
            }
            let start = self.flow.items.len();
            self.flow.items.extend(whole);
            self.flow.space(start, APART);
        }
        self.caption(&tiles.caption);
    }

    /// The items of a tile: its heading, then its table.
    fn tile(&mut self, tile: &Tile, width: f32) -> Vec<Item> {
        let mut items = Vec::new();
        if !tile.heading.is_empty() {
            items = self.narrow(Kind::Heading, tile.heading.as_str(), HEADING, width);
        }
        items.extend(self.rows(&Grid::of_tile(tile), width));
        items
    }
}

/// Puts an item beside those that are in a row already.
pub(super) fn beside(whole: &mut Vec<Item>, row: usize, mut item: Item) {
    item.keep = true;
    // Heads are not repeated: the next tile may have another one.
    item.head = None;
    match whole.get_mut(row) {
        None => whole.push(item),
        Some(there) => {
            there.height = there.height.max(item.height);
            there.parts.extend(item.parts);
        }
    }
}
