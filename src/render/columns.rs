//! Column widths: as wide as the cells need, and where the page is too narrow, folded where that
//! costs the fewest lines.

use super::fold;
use crate::page::Fold;

/// Below this a name is broken inside words only if nothing else helps.
const NAME: usize = 14;

/// A column as the layout sees it.
pub(super) struct Cells {
    /// The heading.
    pub heading: String,
    /// The cells, from top to bottom.
    pub cells: Vec<String>,
    /// What may be done to the cells.
    pub fold: Fold,
}

impl Cells {
    /// The lines of heading and cells at a width.
    pub(super) fn lines(&self, width: usize) -> Vec<Vec<String>> {
        let heading = fold::lines(&self.heading, width, Fold::Words);
        let cells = self.cells.iter().map(|cell| fold::lines(cell, width, self.fold));
        std::iter::once(heading).chain(cells).collect()
    }

    fn heights(&self, width: usize) -> Vec<usize> {
        self.lines(width).iter().map(Vec::len).collect()
    }

    fn natural(&self) -> usize {
        self.widest(fold::width).max(fold::width(&self.heading))
    }

    fn least(&self) -> usize {
        let cells = match self.fold {
            Fold::Never => self.widest(fold::width),
            Fold::Words => self.widest(fold::widest_word),
            Fold::Anywhere => self.widest(fold::widest_word).min(NAME),
        };
        cells.max(fold::widest_word(&self.heading))
    }

    fn widest(&self, measure: fn(&str) -> usize) -> usize {
        self.cells.iter().map(|cell| measure(cell)).max().unwrap_or(0)
    }
}

/// Returns the columns' widths so that they fit into `room` cells (gaps not counted). Where they
/// cannot without cutting a number, they are wider.
pub(super) fn widths(columns: &[Cells], room: usize) -> Vec<usize> {
    let least: Vec<usize> = columns.iter().map(Cells::least).collect();
    let start = |(column, least): (&Cells, &usize)| column.natural().min(room).max(*least);
    let mut widths: Vec<usize> = columns.iter().zip(&least).map(start).collect();
    let heights = |(column, width): (&Cells, &usize)| column.heights(*width);
    let mut heights: Vec<Vec<usize>> = columns.iter().zip(&widths).map(heights).collect();
    while widths.iter().sum::<usize>() > room {
        let can = (0..columns.len()).filter(|&index| widths[index] > least[index]);
        let tried = can.map(|index| {
            let narrower = columns[index].heights(widths[index] - 1);
            (total(&heights, index, &narrower), usize::MAX - widths[index], index, narrower)
        });
        let Some((_, _, index, narrower)) = tried.min() else { break };
        widths[index] -= 1;
        heights[index] = narrower;
    }
    widths
}

/// The table's height with the column `index` replaced.
fn total(heights: &[Vec<usize>], index: usize, narrower: &[usize]) -> usize {
    let row = |row: usize| {
        let of = |(column, heights): (usize, &Vec<usize>)| match column == index {
            true => narrower[row],
            false => heights[row],
        };
        heights.iter().enumerate().map(of).max().unwrap_or(0)
    };
    (0..narrower.len()).map(row).sum()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn column(heading: &str, cells: &[&str], fold: Fold) -> Cells {
        let cells = cells.iter().map(|&cell| cell.to_owned()).collect();
        Cells { heading: heading.into(), cells, fold }
    }

    #[test]
    fn takes_what_is_needed_where_there_is_room() {
        let columns = [column("a", &["four"], Fold::Words), column("long", &["b"], Fold::Never)];
        assert_eq!(widths(&columns, 100), [4, 4]);
    }

    #[test]
    fn folds_where_it_costs_the_fewest_lines() {
        let names =
            column("name", &["fourteen signs", "fourteen signs", "fourteen signs"], Fold::Anywhere);
        let words = column("kind", &["two words", "one", "one"], Fold::Words);
        assert_eq!(widths(&[names, words], 19), [14, 5]);
    }

    #[test]
    fn never_makes_a_number_narrower() {
        let numbers = column("u", &["0.123456789"], Fold::Never);
        let names = column("name", &["a name with many words in it"], Fold::Anywhere);
        assert_eq!(widths(&[numbers, names], 5)[0], 11);
    }
}
