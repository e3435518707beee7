//! What a run comes down to: estimate, standard uncertainty, intervals, and how far they can be trusted.

use super::histogram::Histogram;
use super::sequence::Summary;

/// Result of a run, in the unit of the model's output.
#[derive(Debug, Clone)]
pub struct Outcome {
    /// Number of trials.
    pub trials: u64,
    /// Whether the adaptive procedure reached its tolerance; `false` for a fixed number of trials.
    pub stabilised: bool,
    /// Whether the watch stopped the run early: the trials are then those of the sequences done, and
    /// their choice is not repeatable.
    pub stopped: bool,
    /// Whether values far from the others were too many to be kept, which ended the run early.
    pub crowded: bool,
    /// Mean; `None` where a contribution has ν ≤ 1, whose mean does not exist.
    pub mean: Option<f64>,
    /// Standard uncertainty; `None` where it is not determined.
    pub standard_uncertainty: Option<f64>,
    /// Why not.
    pub undetermined: Option<&'static str>,
    /// Median.
    pub median: f64,
    /// Ends of the probabilistically symmetric interval.
    pub symmetric: [f64; 2],
    /// Ends of the shortest interval.
    pub shortest: [f64; 2],
    /// Standard errors, from the scatter of the sequences; `None` with fewer than ten of them.
    pub errors: Option<Errors>,
    /// The numerical tolerance δ of the adaptive procedure, for `digits` significant digits.
    pub tolerance: Option<f64>,
    /// How far the interval ends can be from the order statistics: the width of a bin.
    pub bin_error: f64,
    /// The smallest degrees of freedom of all draws of t.
    pub least_dof: f64,
    /// All trials, counted.
    pub histogram: Histogram,
}

/// Standard errors of a run's results; `None` where the distribution has none.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Errors {
    /// Of the mean: needs ν > 2.
    pub mean: Option<f64>,
    /// Of the standard uncertainty: needs ν > 4.
    pub standard_uncertainty: Option<f64>,
    /// Of the ends of the symmetric interval: that of one sequence divided by √h.
    pub symmetric: [f64; 2],
    /// Of the ends of the shortest interval: that of one sequence divided by ∛h, as its ends settle
    /// with the cube root of the number of trials only.
    pub shortest: [f64; 2],
}

/// Why u is not reported where ν ≤ 2.
pub(super) const NO_VARIANCE: &str =
    "a contribution with 2 degrees of freedom or fewer has no finite standard deviation";

/// Moments of sequences put together in their order.
#[derive(Debug, Clone, Copy)]
pub(super) struct Moments {
    pub(super) mean: f64,
    pub(super) variance: f64,
}

impl Moments {
    /// Returns mean and variance over all trials; `None` where a sum is not finite.
    pub(super) fn of(summaries: &[Summary], centre: f64) -> Option<Moments> {
        let count: u64 = summaries.iter().map(|it| it.trials).sum();
        let sum = |which: usize| summaries.iter().map(|it| it.sums[which]).sum::<f64>();
        let (n, first, second) = (count as f64, sum(0), sum(1));
        let shift = first / n;
        // At least zero but for rounding.
        let squares = (second - first * shift).max(0.0);
        let variance = if count > 1 { squares / (n - 1.0) } else { 0.0 };
        let mean = centre + shift;
        (mean.is_finite() && variance.is_finite()).then_some(Moments { mean, variance })
    }
}

/// Mean, u and the ends of both intervals of one sequence.
pub(super) type Figures = [f64; 6];

/// Returns the standard deviation of one sequence's figures over all sequences that have them, and
/// their number: h of JCGM 101:2008, 7.9.4 g).
///
/// Method: M44.
pub(super) fn scatter(summaries: &[Summary], centre: f64) -> Option<(Figures, f64)> {
    let figures: Vec<Figures> = summaries.iter().filter_map(|it| figures(it, centre)).collect();
    let h = figures.len() as f64;
    if figures.len() < 2 {
        return None;
    }
    let deviation = |which: usize| {
        let mean = figures.iter().map(|it| it[which]).sum::<f64>() / h;
        let square = |it: &Figures| (it[which] - mean) * (it[which] - mean);
        (figures.iter().map(square).sum::<f64>() / (h - 1.0)).sqrt()
    };
    Some((std::array::from_fn(deviation), h))
}

/// Returns mean and ends as deviations from the grid's centre, so that small scatters keep their digits.
fn figures(summary: &Summary, centre: f64) -> Option<Figures> {
    let [[low, high], [short_low, short_high]] = summary.ends?;
    let moments = Moments::of(std::slice::from_ref(summary), centre)?;
    let u = moments.variance.sqrt();
    let off = |place: f64| place - centre;
    Some([off(moments.mean), u, off(low), off(high), off(short_low), off(short_high)])
}

/// Returns the standard errors of a run whose sequences scatter by `figures`, h of them; `all` is the
/// number of trials in sequences of this length.
pub(super) fn errors(figures: Figures, all: f64, least_dof: f64) -> Errors {
    let root = |which: usize| figures[which] / all.sqrt();
    let cube = |which: usize| figures[which] / libm::cbrt(all);
    Errors {
        mean: (least_dof > 2.0).then(|| root(0)),
        standard_uncertainty: (least_dof > 4.0).then(|| root(1)),
        symmetric: [root(2), root(3)],
        shortest: [cube(4), cube(5)],
    }
}
