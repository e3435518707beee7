//! Items → sheets: what has to stay together stays together, and a table that goes on repeats its head.

use super::flow::{Flow, Item};

/// An item at its place: its upper edge, from the top of the body.
pub(super) type Placed = (f32, Item);

/// Returns the sheets, each `height` points high, with the items at their places; at least one.
pub(super) fn cut(flow: &Flow, height: f32) -> Vec<Vec<Placed>> {
    let mut stack = Stack { sheets: vec![Vec::new()], used: 0.0, height, heads: &flow.heads };
    let mut rest = flow.items.as_slice();
    while !rest.is_empty() {
        let last = rest.iter().position(|it| !it.keep).unwrap_or(rest.len() - 1);
        let (group, after) = rest.split_at(last + 1);
        stack.group(group);
        rest = after;
    }
    stack.sheets
}

struct Stack<'a> {
    sheets: Vec<Vec<Placed>>,
    used: f32,
    height: f32,
    heads: &'a [Item],
}

impl Stack<'_> {
    /// Puts items on one sheet; a group that is higher than a sheet is cut where it has to be.
    fn group(&mut self, items: &[Item]) {
        let whole: f32 = items.iter().map(|it| it.before + it.height).sum();
        let head = self.head(items).map_or(0.0, |it| it.height);
        let fits = self.used + whole <= self.height;
        if items.first().is_some_and(|it| it.new_sheet) || (!fits && whole + head <= self.height) {
            self.turn();
        }
        for item in items {
            if self.used > 0.0 && self.used + item.before + item.height > self.height {
                self.turn();
            }
            self.put(item);
        }
    }

    fn put(&mut self, item: &Item) {
        let head = self.head(std::slice::from_ref(item)).filter(|_| self.used == 0.0);
        if let Some(head) = head {
            self.place(head, 0.0);
        }
        let before = if self.used == 0.0 { 0.0 } else { item.before };
        self.place(item.clone(), before);
    }

    fn place(&mut self, item: Item, before: f32) {
        let at = self.used + before;
        self.used = at + item.height;
        if let Some(sheet) = self.sheets.last_mut() {
            sheet.push((at, item));
        }
    }

    /// The head that has to be repeated above the first of the items.
    fn head(&self, items: &[Item]) -> Option<Item> {
        self.heads.get(items.first()?.head?).cloned()
    }

    fn turn(&mut self) {
        if self.used > 0.0 {
            self.sheets.push(Vec::new());
            self.used = 0.0;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn item(height: f32, keep: bool, head: Option<usize>) -> Item {
        Item { height, keep, head, before: 5.0, ..Item::default() }
    }

    fn places(items: Vec<Item>) -> Vec<Vec<(f32, f32)>> {
        let flow = Flow { items, heads: vec![item(10.0, true, None)], ..Flow::default() };
        let sheets = cut(&flow, 100.0);
        sheets.iter().map(|it| it.iter().map(|it| (it.0, it.1.height)).collect()).collect()
    }

    /// By hand: space is left out at the top; 0 + 60, then 65 + 30; 5 + 20 more do not fit.
    #[test]
    fn goes_on_where_the_sheet_is_full() {
        let items = vec![item(60.0, false, None), item(30.0, false, None), item(20.0, false, None)];
        assert_eq!(places(items), [vec![(0.0, 60.0), (65.0, 30.0)], vec![(0.0, 20.0)]]);
    }

    #[test]
    fn keeps_a_heading_with_what_follows() {
        let items = vec![item(60.0, false, None), item(20.0, true, None), item(30.0, false, None)];
        assert_eq!(places(items), [vec![(0.0, 60.0)], vec![(0.0, 20.0), (25.0, 30.0)]]);
    }

    #[test]
    fn repeats_the_head_of_a_table_that_goes_on() {
        let items =
            vec![item(75.0, false, None), item(10.0, true, None), item(10.0, false, Some(0))];
        let more = vec![item(70.0, false, Some(0)), item(30.0, false, Some(0))];
        let got = places(items.into_iter().chain(more).collect());
        let expected = [
            vec![(0.0, 75.0)],
            vec![(0.0, 10.0), (15.0, 10.0), (30.0, 70.0)],
            vec![(0.0, 10.0), (15.0, 30.0)],
        ];
        assert_eq!(got, expected);
    }

    #[test]
    fn cuts_a_group_that_is_higher_than_a_sheet() {
        let items: Vec<Item> = (0..30).map(|it| item(20.0, it < 29, None)).collect();
        let got = places(items);
        assert_eq!(got.iter().map(Vec::len).sum::<usize>(), 30);
        assert!(got.iter().all(|it| it.iter().all(|(at, height)| at + height <= 100.0)));
    }
}
