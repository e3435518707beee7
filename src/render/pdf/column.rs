//! Widths of a table's columns, in points: what the cells need, and where the sheet is too narrow, folded
//! where that costs the fewest lines.

use super::wrap::Words;
use crate::page::Fold;

/// Below this a name is broken inside words only if nothing else helps.
const NAME: f32 = 70.0;
/// The smallest step by which a column is made narrower.
const STEP: f32 = 3.0;

/// A column as the layout sees it.
pub(super) struct Column {
    /// The heading and the cells, from top to bottom; the heading's words are kept whole.
    pub texts: Vec<Words>,
    /// How many of the texts are headings: none or one.
    pub headings: usize,
    /// What may be done to the cells.
    pub fold: Fold,
    /// Room that each cell needs beside its text.
    pub beside: f32,
}

impl Column {
    fn fold_of(&self, row: usize) -> Fold {
        if row < self.headings && self.fold != Fold::Anywhere { Fold::Words } else { self.fold }
    }

    fn heights(&self, width: f32) -> Vec<usize> {
        let of = |(row, it): (usize, &Words)| {
            let beside = if row < self.headings { 0.0 } else { self.beside };
            it.count(width - beside, self.fold_of(row))
        };
        self.texts.iter().enumerate().map(of).collect()
    }

    /// Returns the width that folds nothing.
    pub(super) fn natural(&self) -> f32 {
        self.widest(Words::width)
    }

    /// Returns the width below which a word or number would not fit.
    pub(super) fn least(&self) -> f32 {
        let (headings, cells) = self.texts.split_at(self.headings.min(self.texts.len()));
        let widest = |all: &[Words], of: fn(&Words) -> f32| all.iter().map(of).fold(0.0, f32::max);
        let cells = match self.fold {
            Fold::Never => widest(cells, Words::width),
            Fold::Words => widest(cells, Words::widest),
            Fold::Anywhere => widest(cells, Words::widest).min(NAME),
        };
        let heading = widest(headings, Words::widest);
        let heading = if self.fold == Fold::Anywhere { heading.min(NAME) } else { heading };
        (cells + self.beside).max(heading)
    }

    fn widest(&self, of: fn(&Words) -> f32) -> f32 {
        let (headings, cells) = self.texts.split_at(self.headings.min(self.texts.len()));
        let widest = |all: &[Words]| all.iter().map(of).fold(0.0, f32::max);
        widest(headings).max(widest(cells) + self.beside)
    }
}

/// Returns the columns' widths so that they fit into `room` points; `None` where they cannot without cutting a
/// number.
pub(super) fn widths(columns: &[Column], room: f32) -> Option<Vec<f32>> {
    let least: Vec<f32> = columns.iter().map(Column::least).collect();
    if least.iter().sum::<f32>() > room {
        return None;
    }
    let start = |(column, least): (&Column, &f32)| column.natural().min(room).max(*least);
    let mut widths: Vec<f32> = columns.iter().zip(&least).map(start).collect();
    let mut heights: Vec<Vec<usize>> =
        columns.iter().zip(&widths).map(|it| it.0.heights(*it.1)).collect();
    loop {
        let over = widths.iter().sum::<f32>() - room;
        if over <= 0.0 {
            return Some(widths);
        }
        let step = (over / 16.0).max(STEP).min(over);
        let can = (0..columns.len()).filter(|&it| widths[it] > least[it]);
        let tried = can.map(|index| {
            let width = (widths[index] - step).max(least[index]);
            let narrower = columns[index].heights(width);
            (total(&heights, index, &narrower), index, width, narrower)
        });
        // The fewest lines; among equals the widest column.
        let best = tried.min_by(|a, b| a.0.cmp(&b.0).then(widths[b.1].total_cmp(&widths[a.1])));
        let (_, index, width, narrower) = best?;
        widths[index] = width;
        heights[index] = narrower;
    }
}

/// The table's height in lines, with the column `index` replaced.
fn total(heights: &[Vec<usize>], index: usize, narrower: &[usize]) -> usize {
    let row = |row: usize| {
        let of = |(column, heights): (usize, &Vec<usize>)| match column == index {
            true => narrower[row],
            false => heights.get(row).copied().unwrap_or(0),
        };
        heights.iter().enumerate().map(of).max().unwrap_or(0)
    };
    (0..narrower.len()).map(row).sum()
}

#[cfg(test)]
mod tests {
    use super::super::face::Faces;
    use super::*;

    fn column(texts: &[&str], fold: Fold) -> Column {
        let faces = Faces::new().unwrap();
        let texts = texts.iter().map(|it| Words::new(it, faces.of(false), 10.0)).collect();
        Column { texts, headings: 1, fold, beside: 0.0 }
    }

    #[test]
    fn takes_what_is_needed_where_there_is_room() {
        let all = [column(&["a", "four"], Fold::Words), column(&["long", "b"], Fold::Never)];
        let expected: Vec<f32> = all.iter().map(Column::natural).collect();
        assert_eq!(widths(&all, 400.0), Some(expected));
    }

    #[test]
    fn folds_names_and_never_a_number() {
        let all = [
            column(&["u", "0.123456789"], Fold::Never),
            column(&["name", "a name with many words in it"], Fold::Anywhere),
        ];
        let got = widths(&all, 140.0).unwrap();
        assert_eq!(got[0], all[0].natural());
        assert!(got.iter().sum::<f32>() <= 140.0 && got[1] < all[1].natural());
        assert_eq!(widths(&all, 60.0), None);
    }
}
