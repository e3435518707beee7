//! The simulation of one scope at one point (JCGM 101:2008, clause 7): its figures in SI, and its
//! distribution about the estimate.

use super::coverage::{Chosen, Coverage, Interval};
use super::density::Density;
use super::options::{Options, Progress};
use super::simulation::{self, Broken, Errors, Experiment, Law, Outcome, Settings, Shares};
use super::sources::{Sources, sources};
use super::terms::Ground;
use crate::evidence::distribution::normal;
use crate::fault::{Fault, Origin};
use std::sync::Arc;

/// What a simulation found at a point, in SI of the measurand.
#[derive(Debug, Clone)]
pub struct Simulated {
    /// Number of trials.
    pub trials: u64,
    /// Seed of all streams.
    pub seed: u64,
    /// Significant digits of u that the adaptive procedure was to make stable; `None` for a fixed number
    /// of trials.
    pub digits: Option<u32>,
    /// Whether the adaptive procedure reached its tolerance; `false` for a fixed number of trials.
    pub stabilised: bool,
    /// Whether values far from the others were too many to be kept, which ended the run early.
    pub crowded: bool,
    /// Mean; `None` where it does not exist.
    pub mean: Option<f64>,
    /// Standard uncertainty; `None` where it is not determined.
    pub standard_uncertainty: Option<f64>,
    /// Why not.
    pub undetermined: Option<&'static str>,
    /// Ends of the probabilistically symmetric interval.
    pub symmetric: [f64; 2],
    /// Ends of the shortest interval.
    pub shortest: [f64; 2],
    /// Standard errors; `None` where the trials are too few to tell.
    pub errors: Option<Errors>,
    /// The numerical tolerance of the adaptive procedure: δ, or the part of it that was to be reached.
    pub tolerance: Option<f64>,
    /// How far the interval ends can be from the order statistics.
    pub bin_error: f64,
    /// The distribution of the true value about the estimate.
    pub shares: Arc<Shares>,
    /// Linked contributors that were drawn by a Gaussian copula, by index.
    pub copula: Vec<usize>,
    /// Linked contributors that are sums of several pieces, not all normal, and were drawn as normals.
    pub as_normal: Vec<usize>,
    /// The smallest degrees of freedom of all draws of t; infinite where there are none.
    pub least_dof: f64,
    /// The estimate that the distribution is about.
    pub estimate: f64,
}

impl Simulated {
    /// Returns k, U and the symmetric interval; `u` is that of the law of propagation.
    pub(super) fn coverage(&self, u: f64) -> Coverage {
        let [low, high] = self.symmetric.map(|it| it - self.estimate);
        Coverage::of(Interval { low, high, exact: None }, u)
    }

    /// Returns the u that a numerical tolerance is taken of: the simulated one; with any ν ≤ 4, where its
    /// scatter has no bound, that of the normal distribution with an interval of the same width.
    ///
    /// Method: M82.
    pub fn spread(&self, probability: f64) -> Option<f64> {
        if self.least_dof > 4.0 {
            return self.standard_uncertainty;
        }
        let factor = normal::two_sided_factor(probability)?;
        Some(0.5 * (self.symmetric[1] - self.symmetric[0]) / factor)
    }
}

/// How a point is simulated.
pub(super) struct Asked<'a> {
    pub(super) options: &'a Options<'a>,
    /// Index of the point.
    pub(super) point: usize,
    /// Coverage probability.
    pub(super) probability: f64,
    /// The interval that the adaptive procedure waits for.
    pub(super) interval: simulation::Interval,
    /// The part of δ that is to be reached: 1, or 1/5 to validate by (JCGM 101:2008, 8.2).
    pub(super) part: f64,
    /// The place that faults of the method belong to.
    pub(super) origin: Origin,
    /// The estimate of the measurand, in SI.
    pub(super) estimate: f64,
}

/// Returns what a simulation finds; `None` where there is nothing to draw.
///
/// # Errors
///
/// A model without value in a trial, settings out of range, a stop before anything was done.
pub(super) fn simulate(ground: &Ground, asked: &Asked) -> Result<Option<Simulated>, Fault> {
    let drawn = sources(ground);
    if drawn.list.is_empty() {
        return Ok(None);
    }
    if let Some(it) = drawn.list.iter().find(|it| draws(&it.law) > MOST_DRAWS) {
        let what = format!("`{}` stands for {} draws", it.name, draws(&it.law));
        let rule = format!("up to {MOST_DRAWS} are simulated");
        return Err(Fault::new(asked.origin, what).rule(rule).help("method: t"));
    }
    let options = asked.options;
    let settings = Settings {
        probability: asked.probability,
        interval: asked.interval,
        digits: options.digits,
        part: asked.part,
        trials: options.trials,
        trials_max: options.trials_max,
        seed: options.seed,
        threads: options.threads,
    };
    let model = ground.model;
    let experiment = Experiment { tape: &model.tape, leaves: &model.leaves, sources: &drawn.list };
    let watch = |trials: u64| (options.watch)(Progress { point: asked.point, trials });
    let outcome =
        simulation::run(&experiment, &settings, &watch).map_err(|it| broken(it, asked.origin))?;
    if outcome.stopped {
        let what = format!("stopped after {} trials", outcome.trials);
        return Err(Fault::new(asked.origin, what));
    }
    Ok(Some(simulated(outcome, &drawn, asked)))
}

/// Most draws of one contributor in a trial.
const MOST_DRAWS: usize = 10_000;

fn draws(law: &Law) -> usize {
    match law {
        Law::Pieces(pieces) => pieces.iter().fold(0, |sum, it| it.count.saturating_add(sum)),
        Law::Linked { margins, .. } => margins.len(),
    }
}

fn simulated(outcome: Outcome, drawn: &Sources, asked: &Asked) -> Simulated {
    let (options, estimate) = (asked.options, asked.estimate);
    Simulated {
        shares: Arc::new(Shares::new(&outcome.histogram, estimate)),
        trials: outcome.trials,
        seed: options.seed,
        digits: options.trials.is_none().then_some(options.digits),
        stabilised: outcome.stabilised,
        crowded: outcome.crowded,
        mean: outcome.mean,
        standard_uncertainty: outcome.standard_uncertainty,
        undetermined: outcome.undetermined,
        symmetric: outcome.symmetric,
        shortest: outcome.shortest,
        errors: outcome.errors,
        tolerance: outcome.tolerance,
        bin_error: outcome.bin_error,
        copula: drawn.copula.clone(),
        as_normal: drawn.as_normal.clone(),
        least_dof: outcome.least_dof,
        estimate,
    }
}

/// Returns what a budget's decision and coverage take from a simulation.
pub(super) fn chosen(simulated: Simulated) -> Chosen {
    let density = Density::Simulated(simulated.shares.clone());
    Chosen { density, left_out: 0.0, refused: None, simulated: Some(simulated) }
}

fn broken(broken: Broken, origin: Origin) -> Fault {
    let what = broken.to_string();
    match broken {
        Broken::Undefined { fault, .. } => Fault { what, rule: String::new(), ..*fault },
        _ => Fault::new(origin, what),
    }
}
