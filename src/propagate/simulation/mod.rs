//! Propagation of distributions by a Monte Carlo method (JCGM 101:2008, clause 7).
//!
//! An [`Experiment`] is a tape, the values of its leaves and what is drawn on top of them; [`run`] gives
//! mean, standard uncertainty and coverage intervals. Pure: no budgets, no clock, no terminal; a caller
//! watches and stops through a function. The same seed gives the same bits on every platform, with any
//! number of threads and any vector instructions, whatever the order of the sources: streams are keyed
//! (`lanes`), shapes drawn by plain IEEE operations (`elementary`, `shape`, `linked`), counts are
//! integers (`histogram`), sums go in the order of names and of sequences (`trials`, `crew`).
//!
//! Notation: p is the coverage probability, M the trials of a sequence, h their number, δ the numerical
//! tolerance, ν degrees of freedom.

mod crew;
mod elementary;
mod histogram;
mod lanes;
mod linked;
mod outcome;
mod sequence;
mod shape;
mod shares;
mod trials;

use crate::evidence::{Distribution, Piece};
use crate::fault::Fault;
use crate::model::Tape;
use crew::{Crew, Wave};
use histogram::{Grid, OUTLIERS};
use outcome::{Moments, NO_VARIANCE, errors, scatter};
use sequence::{Plan, Summary};
use trials::{BLOCK, Trials};

pub use histogram::Histogram;
pub use outcome::{Errors, Outcome};
pub use shares::Shares;

/// One thing that is drawn in each trial. Its stream is keyed by seed, name and place, so neither
/// threads nor the order of the file changes a bit; no two sources share name and place.
#[derive(Debug, Clone, PartialEq)]
pub struct Source {
    /// The contributor's name, or that of a linked set.
    pub name: String,
    /// The point's text; `None` for what all points share.
    pub place: Option<String>,
    /// What is drawn.
    pub law: Law,
    /// The leaves that it moves.
    pub targets: Vec<Target>,
}

/// A leaf that a draw moves: leaf += factor · draw.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Target {
    /// Number of the leaf.
    pub leaf: usize,
    /// Factor.
    pub factor: f64,
}

/// What a source draws.
#[derive(Debug, Clone, PartialEq)]
pub enum Law {
    /// The sum of independent pieces; every target gets the same draw.
    Pieces(Vec<Piece>),
    /// One linked draw for each target, in the same order.
    Linked {
        /// The factor F of the correlation matrix, R = F·Fᵀ, by column: `factor[column][target]`.
        factor: Vec<Vec<f64>>,
        /// One piece for each target. All normal: exact; other shapes: a Gaussian copula.
        margins: Vec<Piece>,
        /// ν of a multivariate t, whose margins are all t with this ν.
        joint_t: Option<f64>,
    },
}

/// What is to be run.
#[derive(Debug, Clone, Copy)]
pub struct Experiment<'a> {
    /// The model.
    pub tape: &'a Tape,
    /// The estimates of its leaves, in SI.
    pub leaves: &'a [f64],
    /// What is drawn about them.
    pub sources: &'a [Source],
}

/// Which interval the adaptive procedure waits for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Interval {
    /// The probabilistically symmetric one.
    Symmetric,
    /// The shortest one.
    Shortest,
}

/// How it is to be run.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Settings {
    /// Coverage probability p, between 0 and 1.
    pub probability: f64,
    /// The interval that the adaptive procedure waits for; both are reported.
    pub interval: Interval,
    /// Significant digits of u that the adaptive procedure is to make stable: 1 or 2.
    pub digits: u32,
    /// The part of the tolerance of these digits that is to be reached, above 0 and up to 1: 1/5 for a run
    /// that another result is validated by (JCGM 101:2008, 8.2).
    pub part: f64,
    /// A fixed number of trials; `None` for the adaptive procedure.
    pub trials: Option<u64>,
    /// Trials after which the adaptive procedure gives up, up to 4·10⁹.
    pub trials_max: u64,
    /// Seed of all streams.
    pub seed: u64,
    /// Number of threads; 0 counts as 1.
    pub threads: usize,
}

/// Why there is no result.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum Broken {
    /// A setting is out of its range.
    #[error("{0}")]
    Settings(&'static str),
    /// A source cannot be drawn.
    #[error("`{name}` cannot be drawn: {reason}")]
    Source {
        /// Name of the source.
        name: String,
        /// Why not.
        reason: &'static str,
    },
    /// The model has no finite value in some of the trials.
    #[error("the model has no value in {undefined} of {trials} trials: {}", fault.message())]
    Undefined {
        /// Trials that were run.
        trials: u64,
        /// Those without a value.
        undefined: u64,
        /// What happened in the first of them, at the operator.
        fault: Box<Fault>,
    },
    /// The values spread too far for binary64.
    #[error("the values spread too far to be computed")]
    Spread,
    /// The watch stopped the run before anything was done.
    #[error("stopped before the first sequence of trials was done")]
    Stopped,
}

/// Sequences between two looks at the tolerance, at first: fewer can agree by luck.
const FIRST_WAVE: u64 = 16;
/// Sequences of a fixed number of trials whose scatter gives the standard errors.
const SAMPLE: u64 = 100;
/// The longest sequence that is sorted: 8 MB.
const LONGEST: u64 = 1_000_000;
/// Most trials: counts have 32 bits.
const MOST: u64 = 4_000_000_000;

/// Runs an experiment. `watch` is called after each sequence, from any thread, with the number of trials
/// done; `false` stops the run.
///
/// # Errors
///
/// [`Broken`]: settings out of range, a source that cannot be drawn, a trial in which the model has no
/// finite value, or a stop before anything was done.
///
/// Method: M45.
pub fn run(
    experiment: &Experiment,
    settings: &Settings,
    watch: &(dyn Fn(u64) -> bool + Sync),
) -> Result<Outcome, Broken> {
    let length = checked(settings)?;
    let trials = Trials::new(experiment, settings.seed)?;
    let grid = pilot(&trials)?;
    let plan = Plan { grid, length, probability: settings.probability };
    let threads = settings.threads.clamp(1, (4 * LONGEST / length.min(LONGEST)) as usize);
    let mut crew = Crew::new(&trials, &plan, watch, threads);
    let least_dof = least_dof(experiment.sources);
    let (summaries, progress) = match settings.trials {
        Some(count) => (fixed(&mut crew, length, count), Progress::default()),
        None => adaptive(&mut crew, length, settings, least_dof, grid.centre),
    };
    refuse_undefined(&trials, &summaries)?;
    let stopped = crew.stopped();
    if summaries.is_empty() {
        return Err(Broken::Stopped);
    }
    let histogram = crew.histogram().ok_or(Broken::Stopped)?;
    let moments = Moments::of(&summaries, grid.centre);
    if moments.is_none() && least_dof > 2.0 {
        return Err(Broken::Spread);
    }
    let all = histogram.trials();
    let scatter = scatter(&summaries, grid.centre).filter(|it| it.1 >= 10.0);
    let inside = sequence::inside(all, settings.probability);
    Ok(Outcome {
        trials: all,
        stabilised: progress.stabilised && !stopped,
        stopped,
        crowded: progress.crowded,
        mean: moments.map(|it| it.mean).filter(|_| least_dof > 1.0),
        standard_uncertainty: moments.map(|it| it.variance.sqrt()).filter(|_| least_dof > 2.0),
        undetermined: (least_dof <= 2.0).then_some(NO_VARIANCE),
        median: histogram.ranked(all.div_ceil(2)),
        symmetric: histogram.symmetric(inside),
        shortest: histogram.shortest(inside),
        errors: scatter.map(|it| errors(it.0, all as f64 / length as f64, least_dof)),
        tolerance: progress.tolerance,
        bin_error: histogram.bin_width(),
        least_dof,
        histogram,
    })
}

/// Returns the numerical tolerance δ = ½·10^l of u = c·10^l, c an integer of `digits` digits; `None`
/// unless u is a finite number above 0 and there is a digit.
///
/// Source: JCGM 101:2008, 7.9.2.
///
/// Method: M46.
pub fn tolerance(u: f64, digits: u32) -> Option<f64> {
    if !(u.is_finite() && u > 0.0 && digits > 0) {
        return None;
    }
    // Decimal rounding may carry: 0.0999 of two digits is 0.10.
    let text = format!("{u:.*e}", digits as usize - 1);
    let exponent: i64 = text.split_once('e')?.1.parse().ok()?;
    format!("5e{}", exponent - i64::from(digits)).parse().ok()
}

/// Returns the vector instructions that the kernels use here.
pub fn instructions() -> &'static str {
    match format!("{:?}", pulp::Arch::new()) {
        text if text.starts_with("V4") => "AVX-512",
        text if text.starts_with("V3") => "AVX2",
        _ => "those of the target",
    }
}

/// Draws and evaluates `count` trials and forgets them: for measuring.
///
/// # Errors
///
/// As [`run`].
pub fn draw_only(experiment: &Experiment, count: u64) -> Result<f64, Broken> {
    let trials = Trials::new(experiment, 1)?;
    let mut desk = trials.desk();
    let mut last = 0.0;
    for block in 0..count / BLOCK {
        trials.block(&mut desk, block, BLOCK, |results, here| last = results[here - 1]);
    }
    Ok(last)
}

/// Makes `count` random words and forgets them: the floor of all drawing, for measuring.
pub fn words_only(count: u64) -> u64 {
    lanes::words_only(pulp::Arch::new(), count)
}

/// Returns the length of a sequence.
fn checked(settings: &Settings) -> Result<u64, Broken> {
    let refuse = |reason| Err(Broken::Settings(reason));
    let p = settings.probability;
    if !(p > 0.0 && p < 1.0) {
        return refuse("the coverage probability must lie between 0 and 1");
    }
    let length = sequence::length(p);
    match settings.trials {
        Some(count) if !(2..=MOST).contains(&count) => {
            refuse("the number of trials must lie between 2 and 4e9")
        }
        Some(_) => Ok(length),
        None if !(1..=2).contains(&settings.digits) => refuse("the digits must be 1 or 2"),
        None if !(2..=MOST).contains(&settings.trials_max) => {
            refuse("the largest number of trials must lie between 2 and 4e9")
        }
        None if length > LONGEST => {
            refuse("above 99.99 % the number of trials must be given: a sequence would not fit")
        }
        None => Ok(length),
    }
}

/// Returns the smallest ν of all draws of t that move anything.
fn least_dof(sources: &[Source]) -> f64 {
    let moves = |it: &&Source| it.targets.iter().any(|target| target.factor != 0.0);
    let pieces = sources.iter().filter(moves).flat_map(|it| match &it.law {
        Law::Pieces(pieces) => pieces,
        Law::Linked { margins, .. } => margins,
    });
    let heavy = pieces.filter(|it| it.shape == Distribution::T).map(|it: &Piece| it.dof);
    heavy.fold(f64::INFINITY, f64::min)
}

/// Runs the first block and lays the bins out by it.
fn pilot(trials: &Trials) -> Result<Grid, Broken> {
    let mut values = Vec::with_capacity(BLOCK as usize);
    trials.block(&mut trials.desk(), 0, BLOCK, |results, here| {
        values.extend_from_slice(&results[..here]);
    });
    let undefined = values.iter().filter(|it| !it.is_finite()).count() as u64;
    if let Some(at) = values.iter().position(|it| !it.is_finite()) {
        let fault = Box::new(trials.why(0, at as u64));
        return Err(Broken::Undefined { trials: BLOCK, undefined, fault });
    }
    Grid::new(&mut values).ok_or(Broken::Spread)
}

/// Where the adaptive procedure ended.
#[derive(Default)]
struct Progress {
    stabilised: bool,
    crowded: bool,
    tolerance: Option<f64>,
}

/// Runs a given number of trials.
fn fixed(crew: &mut Crew, length: u64, count: u64) -> Vec<Summary> {
    let mut trials = vec![length; (count / length) as usize];
    let ends_until = if length > LONGEST { 0 } else { SAMPLE.min(trials.len() as u64) };
    trials.extend(Some(count % length).filter(|it| *it > 0));
    crew.run(&Wave { first: 0, trials: &trials, ends_until })
}

/// Runs sequences until the figures are stable, or there are too many of them.
fn adaptive(
    crew: &mut Crew,
    length: u64,
    settings: &Settings,
    least_dof: f64,
    centre: f64,
) -> (Vec<Summary>, Progress) {
    let most = settings.trials_max / length;
    let mut progress = Progress::default();
    if most == 0 {
        return (fixed(crew, length, settings.trials_max), progress);
    }
    let mut summaries: Vec<Summary> = Vec::new();
    loop {
        let done = summaries.len() as u64;
        // Longer and longer waves, at most an eighth more than needed.
        let count = FIRST_WAVE.max(done / 8).min(most - done);
        let trials = vec![length; count as usize];
        summaries.extend(crew.run(&Wave { first: done, trials: &trials, ends_until: u64::MAX }));
        let (stable, tolerance) = stable(&summaries, settings, least_dof, centre);
        progress.tolerance = tolerance;
        progress.stabilised = stable;
        progress.crowded = crew.outliers() > OUTLIERS;
        let undefined = summaries.iter().any(|it| it.undefined > 0);
        let full = summaries.len() as u64 >= most;
        if stable || full || progress.crowded || undefined || crew.stopped() {
            return (summaries, progress);
        }
    }
}

/// Whether twice the standard deviation of the averages of the mean, u and both ends is within δ
/// (JCGM 101:2008, 7.9.4 i), and δ. With any ν ≤ 4 the scatter of u has no bound: then the ends alone
/// count, and δ is that of the normal u with the same interval.
fn stable(
    summaries: &[Summary],
    settings: &Settings,
    least_dof: f64,
    centre: f64,
) -> (bool, Option<f64>) {
    let Some((figures, h)) = scatter(summaries, centre) else { return (false, None) };
    let [mean, u, low, high, short_low, short_high] = figures.map(|it| 2.0 * it / h.sqrt());
    let which = usize::from(settings.interval == Interval::Shortest);
    let ends = if which == 0 { [low, high] } else { [short_low, short_high] };
    let spread = if least_dof > 4.0 {
        Moments::of(summaries, centre).map(|it| it.variance.sqrt())
    } else {
        let widths = summaries.iter().filter_map(|it| it.ends).map(|it| it[0][1] - it[0][0]);
        let mean_width = widths.sum::<f64>() / h;
        crate::evidence::distribution::normal::two_sided_factor(settings.probability)
            .map(|factor| 0.5 * mean_width / factor)
    };
    let delta = spread.and_then(|it| tolerance(it, settings.digits)).map(|it| it * settings.part);
    // A constant has no δ and is stable.
    let within = |twice: f64| twice <= delta.unwrap_or(0.0);
    let moments = least_dof <= 4.0 || (within(mean) && within(u));
    (moments && ends.into_iter().all(within), delta)
}

/// Refuses a run with trials without a value.
fn refuse_undefined(trials: &Trials, summaries: &[Summary]) -> Result<(), Broken> {
    let first = summaries.iter().find_map(|it| it.first_undefined);
    let Some((block, trial)) = first else { return Ok(()) };
    let fault = Box::new(trials.why(block, trial));
    let sum = |of: fn(&Summary) -> u64| summaries.iter().map(of).sum();
    Err(Broken::Undefined { trials: sum(|it| it.trials), undefined: sum(|it| it.undefined), fault })
}
