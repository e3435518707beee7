//! The values of all trials: an integer histogram, and outliers one by one.
//!
//! A pilot fixes 2²⁰ bins over ±8 of its spread about its median. Counts are integers, so it does not
//! matter in which order, or by which thread, trials were counted; outliers are sorted. A quantile is
//! found by counting and is within a bin's width of the order statistic (exact among outliers).

use crate::model::block::{Column, WIDTH};
use pulp::{Simd, WithSimd};

/// Number of bins.
const BINS: usize = 1 << 20;
/// Outliers up to which a run goes on, checked after each wave of sequences: 32 MB.
pub(super) const OUTLIERS: usize = 4_000_000;

/// Where the bins are.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Grid {
    pub(super) centre: f64,
    low: f64,
    width: f64,
    inverse: f64,
}

impl Grid {
    /// Returns the grid for a pilot's values, or `None` where its spread is not finite.
    pub(super) fn new(pilot: &mut [f64]) -> Option<Grid> {
        pilot.sort_unstable_by(f64::total_cmp);
        let at =
            |share: f64| pilot.get((share * pilot.len() as f64) as usize).or(pilot.last()).copied();
        let (below, centre, above) = (at(0.02275)?, at(0.5)?, at(0.97725)?);
        // Two normal standard deviations on both sides.
        let spread = (above - below) / 4.0;
        // Nearly all values alike: bins as narrow as numbers are, what is elsewhere is an outlier.
        let least = (centre.abs() * 1e-12).max(f64::MIN_POSITIVE * 1e30);
        let width = 16.0 * spread.max(least) / BINS as f64;
        let grid =
            Grid { centre, low: centre - 0.5 * BINS as f64 * width, width, inverse: 1.0 / width };
        (grid.low.is_finite() && grid.inverse.is_finite()).then_some(grid)
    }

    fn edge(&self, bin: usize) -> f64 {
        self.low + bin as f64 * self.width
    }
}

/// Finds the bin of each value and the sums of deviations from the grid's centre.
pub(super) struct Sort<'a> {
    pub(super) grid: Grid,
    pub(super) values: &'a Column,
    pub(super) bins: &'a mut [u32; WIDTH],
    /// Eight partial sums of the deviations and eight of their squares.
    pub(super) sums: &'a mut [[f64; 8]; 2],
}

impl WithSimd for Sort<'_> {
    type Output = ();

    #[inline(always)]
    fn with_simd<S: Simd>(self, _: S) {
        let Sort { grid, values, bins, sums } = self;
        const END: f64 = BINS as f64;
        for i in 0..WIDTH {
            let place = (values[i] - grid.low) * grid.inverse;
            let inside = (0.0..END).contains(&place);
            // Adding 2⁵² leaves the integer in the lowest bits; minus a half, it is the one below.
            let whole = ((place - 0.5) + 4_503_599_627_370_496.0).to_bits() as u32;
            bins[i] = if inside { whole & (2 * BINS as u32 - 1) } else { BINS as u32 };
        }
        let [mut first, mut second] = *sums;
        for row in values.chunks_exact(8) {
            for i in 0..8 {
                let deviation = row[i] - grid.centre;
                first[i] += deviation;
                second[i] += deviation * deviation;
            }
        }
        *sums = [first, second];
    }
}

/// Counts of a run, or of one thread's share of it.
#[derive(Debug, Clone)]
pub struct Histogram {
    grid: Grid,
    counts: Vec<u32>,
    outliers: Vec<f64>,
    total: u64,
}

impl Histogram {
    pub(super) fn new(grid: Grid) -> Histogram {
        // One more for a value that rounding puts on the upper edge.
        Histogram { grid, counts: vec![0; BINS + 1], outliers: Vec::new(), total: 0 }
    }

    /// Counts values whose bins [`Sort`] found.
    pub(super) fn count(&mut self, values: &[f64], bins: &[u32]) {
        let mut outside = false;
        for bin in bins.iter().take(values.len()) {
            if let Some(count) = self.counts.get_mut(*bin as usize) {
                *count += 1;
            }
            outside |= *bin as usize == BINS;
        }
        if outside {
            let beyond = values.iter().zip(bins).filter(|it| *it.1 as usize == BINS);
            self.outliers.extend(beyond.map(|it| *it.0));
        }
        self.total += values.len() as u64;
    }

    /// Adds the counts of another histogram on the same grid and empties it.
    pub(super) fn absorb(&mut self, other: &mut Histogram) {
        self.counts.iter_mut().zip(&mut other.counts).for_each(|(sum, count)| {
            *sum += std::mem::take(count);
        });
        self.outliers.append(&mut other.outliers);
        self.total += std::mem::take(&mut other.total);
    }

    /// Sorts the outliers: what was counted in whatever order becomes the same histogram.
    pub(super) fn close(&mut self) {
        self.outliers.sort_unstable_by(f64::total_cmp);
    }

    pub(super) fn outliers(&self) -> usize {
        self.outliers.len()
    }

    /// Returns lower edge, width of a bin, counts inside the grid and the sorted values outside it.
    pub(super) fn parts(&self) -> (f64, f64, &[u32], &[f64]) {
        (self.grid.low, self.grid.width, &self.counts, &self.outliers)
    }

    /// Returns the number of trials.
    pub fn trials(&self) -> u64 {
        self.total
    }

    /// Returns the width of a bin, in the unit of the values: no quantile is further off.
    pub fn bin_width(&self) -> f64 {
        self.grid.width
    }

    /// Returns the order statistic of rank `rank`, from 1, to a bin's width.
    pub fn ranked(&self, rank: u64) -> f64 {
        self.walk().at(rank)
    }

    /// Returns the share of the trials at or below `value`, to the trials of one bin.
    pub fn share_below(&self, value: f64) -> f64 {
        let outliers = self.outliers.partition_point(|it| *it <= value) as f64;
        let place = (value - self.grid.low) / self.grid.width;
        let inside = if place <= 0.0 {
            0.0
        } else if place >= BINS as f64 {
            self.counts[..BINS].iter().map(|it| u64::from(*it)).sum::<u64>() as f64
        } else {
            let bin = place as usize;
            let whole = self.counts[..bin].iter().map(|it| u64::from(*it)).sum::<u64>() as f64;
            whole + f64::from(self.counts[bin]) * (place - bin as f64)
        };
        (outliers + inside) / self.total as f64
    }

    /// Returns the mean density in each of `cells` equal cells from `low` to `high`.
    pub fn density(&self, low: f64, high: f64, cells: usize) -> Vec<f64> {
        let step = (high - low) / cells as f64;
        let shares = (0..=cells).map(|cell| self.share_below(low + cell as f64 * step));
        let shares: Vec<f64> = shares.collect();
        shares.windows(2).map(|pair| (pair[1] - pair[0]) / step).collect()
    }

    /// Returns the ends of the interval of `inside` trials that leaves as many below as above
    /// (JCGM 101:2008, 7.7.2).
    pub(super) fn symmetric(&self, inside: u64) -> [f64; 2] {
        let low = symmetric_rank(self.total, inside);
        [self.ranked(low), self.ranked(low + inside)]
    }

    /// Returns the ends of the shortest interval of `inside` trials (JCGM 101:2008, 7.7.3). A lower
    /// end is looked for at the edge of every bin and at every outlier; of equal lengths the lowest.
    pub(super) fn shortest(&self, inside: u64) -> [f64; 2] {
        let mut upper = self.walk();
        let mut best = [self.ranked(1), self.ranked(1 + inside)];
        let mut try_one = |low: f64, rank: u64| {
            if rank + inside <= self.total {
                let high = upper.at(rank + inside);
                if high - low < best[1] - best[0] {
                    best = [low, high];
                }
            }
        };
        let below = self.below();
        let mut rank = 1;
        for value in &self.outliers[..below] {
            try_one(*value, rank);
            rank += 1;
        }
        for (bin, count) in self.counts[..BINS].iter().enumerate().filter(|it| *it.1 > 0) {
            try_one(self.grid.edge(bin), rank);
            rank += u64::from(*count);
        }
        for value in &self.outliers[below..] {
            try_one(*value, rank);
            rank += 1;
        }
        best
    }

    /// The number of outliers below the bins.
    fn below(&self) -> usize {
        self.outliers.partition_point(|it| *it < self.grid.centre)
    }

    fn walk(&self) -> Walk<'_> {
        Walk { histogram: self, below: self.below(), bin: 0, before: self.below() as u64 }
    }
}

/// Returns the rank of the lower end of the symmetric interval of `inside` of `total` trials.
pub(super) fn symmetric_rank(total: u64, inside: u64) -> u64 {
    // (M - q)/2, or its integer part after adding a half (JCGM 101:2008, 7.7.2).
    (total - inside).div_ceil(2).max(1)
}

/// Order statistics of ranks that do not fall.
struct Walk<'a> {
    histogram: &'a Histogram,
    below: usize,
    /// The current bin, and the trials before it.
    bin: usize,
    before: u64,
}

impl Walk<'_> {
    fn at(&mut self, rank: u64) -> f64 {
        let Histogram { grid, counts, outliers, .. } = self.histogram;
        if rank <= self.below as u64 {
            return outliers[(rank.max(1) - 1) as usize];
        }
        while self.bin < BINS {
            let count = u64::from(counts[self.bin]);
            if rank <= self.before + count {
                let share = ((rank - self.before) as f64 - 0.5) / count as f64;
                return grid.edge(self.bin) + share * grid.width;
            }
            self.before += count;
            self.bin += 1;
        }
        let above = self.below as u64 + (rank - self.before) - 1;
        outliers.get(above as usize).or(outliers.last()).copied().unwrap_or(grid.centre)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use pulp::Arch;

    fn filled(values: &[f64]) -> Histogram {
        let grid = Grid::new(&mut values.to_vec()).unwrap();
        let mut histogram = Histogram::new(grid);
        for chunk in values.chunks(WIDTH) {
            let mut column = [grid.centre; WIDTH];
            column[..chunk.len()].copy_from_slice(chunk);
            let (mut bins, mut sums) = ([0; WIDTH], [[0.0; 8]; 2]);
            Arch::new().dispatch(Sort { grid, values: &column, bins: &mut bins, sums: &mut sums });
            histogram.count(chunk, &bins);
        }
        histogram.close();
        histogram
    }

    /// A heavy tail: many outliers, on both sides.
    fn heavy() -> Vec<f64> {
        let angle = |i: usize| core::f64::consts::PI * ((i as f64 + 0.5) / 20_000.0 - 0.5);
        (0..20_000).map(|i| libm::tan(angle(i * 7 % 20_000)) + 3.0).collect()
    }

    #[test]
    fn order_statistics_are_within_a_bin() {
        let values = heavy();
        let histogram = filled(&values);
        let mut sorted = values.clone();
        sorted.sort_unstable_by(f64::total_cmp);
        assert!(histogram.outliers() > 100, "{}", histogram.outliers());
        assert_eq!(histogram.trials(), 20_000);
        for rank in (1..=20_000).step_by(37).chain([2, 3, 19_999, 20_000]) {
            let off = histogram.ranked(rank as u64) - sorted[rank - 1];
            assert!(off.abs() <= histogram.bin_width(), "{rank}: {off}");
        }
    }

    /// By hand: the shortest of all intervals of 95 % over the sorted values.
    #[test]
    fn shortest_interval_is_that_of_the_sorted_values() {
        let values: Vec<f64> =
            heavy().iter().map(|x| if *x > 3.0 { 3.0 * x - 6.0 } else { *x }).collect();
        let histogram = filled(&values);
        let mut sorted = values;
        sorted.sort_unstable_by(f64::total_cmp);
        let inside = 19_000;
        let length = |low: usize| sorted[low + inside] - sorted[low];
        let best = (0..1_000).map(length).fold(f64::INFINITY, f64::min);
        let [low, high] = histogram.shortest(inside as u64);
        assert!((high - low - best).abs() <= 2.0 * histogram.bin_width(), "{low} {high} {best}");
        let [low, high] = histogram.symmetric(inside as u64);
        assert!((low - sorted[499]).abs() <= histogram.bin_width());
        assert!((high - sorted[19_499]).abs() <= histogram.bin_width());
    }

    #[test]
    fn shares_and_densities_are_those_of_the_values() {
        let histogram = filled(&(0..100_000).map(|i| f64::from(i) / 1e5).collect::<Vec<_>>());
        assert!((histogram.share_below(0.3) - 0.3).abs() < 2e-5);
        assert_eq!(histogram.share_below(-1.0), 0.0);
        assert_eq!(histogram.share_below(9.0), 1.0);
        let density = histogram.density(-0.5, 1.5, 4);
        for (got, expected) in density.iter().zip([0.0, 1.0, 1.0, 0.0]) {
            assert!((got - expected).abs() < 1e-4, "{density:?}");
        }
    }

    #[test]
    fn equal_values_have_an_interval_of_no_width() {
        let histogram = filled(&[2.5; 1000]);
        let [low, high] = histogram.shortest(950);
        assert!((low - 2.5).abs() < 1e-10 && (high - 2.5).abs() < 1e-10, "{low} {high}");
        let mut values = vec![2.5; 1000];
        values[3] = 7.0;
        assert_eq!(filled(&values).ranked(1000), 7.0);
    }
}
