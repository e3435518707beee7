//! A sequence of trials and what it comes down to: the unit of work, and of the adaptive procedure.
//!
//! JCGM 101:2008, 7.9.4: sequences of M = max(J, 10⁴) trials, J the smallest integer not below
//! 100/(1 − p), each with its own mean, standard deviation and interval ends, by sorting.

use super::histogram::{Grid, Histogram, Sort, symmetric_rank};
use super::trials::{BLOCK, Desk, Trials};
use crate::model::block::WIDTH;

/// Returns M for a coverage probability between 0 and 1.
pub(super) fn length(probability: f64) -> u64 {
    let least = 100.0 / (1.0 - probability);
    // 100/(1 - 0.99) is 9999.999999999991: within rounding of an integer it is that integer.
    let near = least.round();
    let whole = if (least - near).abs() <= 1e-9 * near { near } else { least.ceil() };
    (whole as u64).max(BLOCK)
}

/// Returns q, the number of trials that an interval of `total` trials holds (JCGM 101:2008, 7.7.2).
pub(super) fn inside(total: u64, probability: f64) -> u64 {
    let inside = (probability * total as f64 + 0.5).floor() as u64;
    inside.min(total.saturating_sub(1))
}

/// What is kept of a sequence.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Summary {
    pub(super) number: u64,
    pub(super) trials: u64,
    /// Sums of the deviations from the grid's centre and of their squares.
    pub(super) sums: [f64; 2],
    /// Ends of the symmetric and the shortest interval; `None` where they were not asked for.
    pub(super) ends: Option<[[f64; 2]; 2]>,
    /// Trials without a value, and the block and trial of the first.
    pub(super) undefined: u64,
    pub(super) first_undefined: Option<(u64, u64)>,
}

/// How sequences are run.
pub(super) struct Plan {
    pub(super) grid: Grid,
    /// Trials of a sequence.
    pub(super) length: u64,
    pub(super) probability: f64,
}

impl Plan {
    /// Runs `trials` trials of sequence `number`; sorts them where `ends` are asked for.
    pub(super) fn run(
        &self,
        experiment: &Trials,
        desk: &mut Desk,
        histogram: &mut Histogram,
        (number, trials): (u64, u64),
        ends: Option<&mut Vec<f64>>,
    ) -> Summary {
        let mut sums = [[0.0; 8]; 2];
        let mut bins = [0; WIDTH];
        let (mut undefined, mut first_undefined) = (0, None);
        let mut values = ends;
        if let Some(values) = values.as_deref_mut() {
            values.clear();
        }
        let first = number * self.length.div_ceil(BLOCK);
        for (block, count) in (first..).zip(counts(trials)) {
            let mut done = 0;
            experiment.block(desk, block, count, |results, here| {
                results[here..].fill(self.grid.centre);
                let grid = self.grid;
                let sums = &mut sums;
                experiment.arch.dispatch(Sort { grid, values: results, bins: &mut bins, sums });
                let finite = sums[1].iter().all(|it| it.is_finite());
                if !finite && let Some(at) = results.iter().position(|it| !it.is_finite()) {
                    undefined += results.iter().filter(|it| !it.is_finite()).count() as u64;
                    first_undefined = first_undefined.or(Some((block, done + at as u64)));
                } else {
                    histogram.count(&results[..here], &bins);
                }
                if let Some(values) = values.as_deref_mut() {
                    values.extend_from_slice(&results[..here]);
                }
                done += here as u64;
            });
        }
        let sums = sums.map(|it| it.iter().sum());
        let values = values.filter(|_| undefined == 0);
        let ends = values.map(|it| interval_ends(it, self.probability));
        Summary { number, trials, sums, ends, undefined, first_undefined }
    }
}

/// Returns the trials of each block of a sequence.
fn counts(trials: u64) -> impl Iterator<Item = u64> {
    (0..trials.div_ceil(BLOCK)).map(move |block| BLOCK.min(trials - block * BLOCK))
}

/// Returns the ends of the symmetric and of the shortest interval of some values. Only the tails are
/// sorted.
///
/// Method: M43.
fn interval_ends(values: &mut [f64], probability: f64) -> [[f64; 2]; 2] {
    let total = values.len();
    let inside = inside(total as u64, probability) as usize;
    let tail = total - inside;
    if tail >= inside {
        values.sort_unstable_by(f64::total_cmp);
    } else {
        values.select_nth_unstable_by(tail, f64::total_cmp);
        values[tail..].select_nth_unstable_by(inside - tail, f64::total_cmp);
        values[..tail].sort_unstable_by(f64::total_cmp);
        values[inside..].sort_unstable_by(f64::total_cmp);
    }
    let interval = |rank: usize| [values[rank], values[rank + inside]];
    let symmetric = symmetric_rank(total as u64, inside as u64) as usize - 1;
    let mut shortest = interval(0);
    for rank in 1..tail {
        let next = interval(rank);
        if next[1] - next[0] < shortest[1] - shortest[0] {
            shortest = next;
        }
    }
    [interval(symmetric.min(tail - 1)), shortest]
}

#[cfg(test)]
mod tests {
    use super::*;

    /// JCGM 101:2008, 7.9.4 a): 100/(1 - p) rounded up, at least 10⁴.
    #[test]
    fn sequences_have_the_length_of_the_standard() {
        for (probability, expected) in
            [(0.5, 10_000), (0.95, 10_000), (0.99, 10_000), (0.9973, 37_038), (0.999, 100_000)]
        {
            assert_eq!(length(probability), expected, "{probability}");
        }
    }

    /// JCGM 101:2008, 7.7.2 and 7.7.3, over all values sorted.
    ///
    /// Method: M43.
    #[test]
    fn sorting_the_tails_gives_the_ends_of_sorting_all() {
        let value = |i: usize| libm::pow(((i * 7919 % 10_007) as f64 + 0.5) / 10_007.0, 3.0);
        for (total, probability) in [(10_007, 0.95), (10_007, 0.3), (20, 0.95), (2, 0.95), (1, 0.9)]
        {
            let mut values: Vec<f64> = (0..total).map(value).collect();
            let mut sorted = values.clone();
            sorted.sort_unstable_by(f64::total_cmp);
            let [symmetric, shortest] = interval_ends(&mut values, probability);
            let q = inside(total as u64, probability) as usize;
            let r = ((total - q).div_ceil(2)).max(1) - 1;
            assert_eq!(symmetric, [sorted[r], sorted[r + q]]);
            let lengths = (0..total - q).map(|r| sorted[r + q] - sorted[r]);
            assert_eq!(shortest[1] - shortest[0], lengths.fold(f64::INFINITY, f64::min));
        }
    }
}
