//! The shares of a simulation's trials below and above any value: its distribution, small enough to be
//! kept for every point.

use super::histogram::Histogram;

/// Cells that the histogram is put together into; a cell is 16u/2¹⁵ = 5e-4 u wide.
const CELLS: usize = 1 << 15;

/// Shares of the trials by value, relative to an origin.
#[derive(Debug, Clone, PartialEq)]
pub struct Shares {
    /// The lower edge of the first cell, less the origin.
    low: f64,
    /// The width of a cell.
    width: f64,
    /// Trials inside the grid below the lower edge of each cell, and below the last one's upper edge.
    below: Vec<u64>,
    /// Values outside the grid, less the origin, ascending.
    outliers: Vec<f64>,
    total: u64,
}

impl Shares {
    /// Returns the shares of a histogram, values counted from `origin`.
    pub fn new(histogram: &Histogram, origin: f64) -> Shares {
        let (low, width, counts, outliers) = histogram.parts();
        let each = counts.len().div_ceil(CELLS).max(1);
        let mut below = vec![0];
        let mut sum = 0;
        for cell in counts.chunks(each) {
            sum += cell.iter().map(|it| u64::from(*it)).sum::<u64>();
            below.push(sum);
        }
        let outliers = outliers.iter().map(|it| it - origin).collect();
        let (low, width) = (low - origin, width * each as f64);
        Shares { low, width, below, outliers, total: histogram.trials() }
    }

    /// Returns the share of the trials below `x`, linear within a cell.
    pub fn below(&self, x: f64) -> f64 {
        let outliers = self.outliers.partition_point(|it| *it < x) as f64;
        (self.inside(x) + outliers) / self.total as f64
    }

    /// Returns the share of the trials above `x`.
    pub fn above(&self, x: f64) -> f64 {
        let outliers = self.outliers.len() - self.outliers.partition_point(|it| *it <= x);
        let all = self.below.last().copied().unwrap_or(0) as f64;
        (all - self.inside(x) + outliers as f64) / self.total as f64
    }

    /// Returns the mean density in each of `cells` equal cells from `low` to `high`, relative to the
    /// origin.
    pub fn density(&self, low: f64, high: f64, cells: usize) -> Vec<f64> {
        let width = (high - low) / cells as f64;
        let edge = |at: usize| self.below(low + width * at as f64);
        (0..cells).map(|at| (edge(at + 1) - edge(at)) / width).collect()
    }

    fn inside(&self, x: f64) -> f64 {
        let place = (x - self.low) / self.width;
        let cells = self.below.len() - 1;
        if place <= 0.0 {
            return 0.0;
        }
        if place >= cells as f64 {
            return self.below[cells] as f64;
        }
        let cell = place as usize;
        let (low, high) = (self.below[cell] as f64, self.below[cell + 1] as f64);
        low + (high - low) * (place - cell as f64)
    }
}
