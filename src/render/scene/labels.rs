//! Labels that do not stand on each other: each takes the first free place, tried from its own outwards.

use super::{Anchor, Item, LETTERS, LINE, texts};
use crate::page::figure::Side;

/// How far a label stands from its place.
const GAP: f64 = 12.0;
/// How many rows away a place is looked for.
const ROWS: i32 = 8;

/// A rectangle: left, top, right, bottom.
type Room = [f64; 4];

/// Labels with the room that they take.
pub(super) struct Labels {
    ends: [f64; 2],
    taken: Vec<Room>,
    items: Vec<Item>,
}

impl Labels {
    /// Returns no labels yet; `ends` are the sheet's left and right end.
    pub fn new(ends: [f64; 2]) -> Labels {
        Labels { ends, taken: Vec::new(), items: Vec::new() }
    }

    /// Puts a label beside its place, or as near to it as there is room.
    pub fn push(&mut self, at: [f64; 2], text: &str, side: Side) {
        let most = self.ends[1] - self.ends[0];
        let text = texts::folded(text, LETTERS, most, 1).concat();
        let width = texts::width(&text, LETTERS);
        let own = room(at, width, side);
        let free = |room: &Room| !self.taken.iter().any(|it| overlap(it, room));
        let up = if side == Side::Below { 1 } else { -1 };
        let rows = (0..ROWS).map(|it| up * it).chain((1..ROWS).map(|it| -up * it));
        let rows = if side == Side::On { Vec::new() } else { rows.collect() };
        let moved = rows.into_iter().map(|it| self.inside(shifted(own, it)));
        let place = moved.into_iter().find(free).unwrap_or_else(|| self.inside(own));
        self.taken.push(place);
        let [left, top, right, _] = place;
        let at = [0.5 * (left + right), top + 0.95 * LETTERS];
        let (size, bold, anchor) = (LETTERS, false, Anchor::Middle);
        self.items.push(Item::Text { at, anchor, size, bold, text });
    }

    /// Returns the room that each label takes: left, top, right, bottom.
    pub fn rooms(&self) -> &[[f64; 4]] {
        &self.taken
    }

    /// Returns the labels.
    pub fn placed(self) -> Vec<Item> {
        self.items
    }

    /// The same room, moved to where the sheet has it.
    fn inside(&self, [left, top, right, bottom]: Room) -> Room {
        let shift = (self.ends[0] - left).max(0.0) - (right - self.ends[1]).max(0.0);
        [left + shift, top, right + shift, bottom]
    }
}

fn room([x, y]: [f64; 2], width: f64, side: Side) -> Room {
    let high = LETTERS * 1.2;
    let [left, top] = match side {
        Side::Above => [x - 0.5 * width, y - 0.4 * GAP - high],
        Side::Below => [x - 0.5 * width, y + GAP],
        Side::Left => [x - GAP - width, y - 0.5 * high],
        Side::Right => [x + GAP, y - 0.5 * high],
        Side::On => [x - 0.5 * width, y - 0.5 * high],
    };
    [left, top, left + width, top + high]
}

fn shifted([left, top, right, bottom]: Room, rows: i32) -> Room {
    let by = f64::from(rows) * LETTERS * LINE;
    [left, top + by, right, bottom + by]
}

/// Whether two rooms overlap, with a little air to the sides.
fn overlap(a: &Room, b: &Room) -> bool {
    let air = 8.0;
    a[0] < b[2] + air && b[0] < a[2] + air && a[1] < b[3] - 0.5 && b[1] < a[3] - 0.5
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn labels_at_one_place_stand_above_each_other() {
        let mut labels = Labels::new([0.0, 1200.0]);
        for index in 0..5 {
            labels.push([600.0 + f64::from(index), 300.0], "reading 10.302 mm", Side::Above);
        }
        for (index, a) in labels.taken.iter().enumerate() {
            for b in &labels.taken[index + 1..] {
                assert!(!overlap(a, b), "{a:?} {b:?}");
            }
        }
    }

    #[test]
    fn a_label_at_the_end_is_moved_onto_the_sheet() {
        let mut labels = Labels::new([0.0, 1200.0]);
        labels.push([1190.0, 50.0], "limit 4 µm", Side::Right);
        assert!(labels.taken[0][2] <= 1200.0);
    }
}
