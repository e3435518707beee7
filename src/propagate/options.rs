//! What an evaluation may be told beside the budget: how to simulate, and who watches.

/// How a simulation is run, and who watches it.
#[derive(Clone, Copy)]
pub struct Options<'a> {
    /// A fixed number of trials; `None` for the adaptive procedure of JCGM 101:2008, 7.9.
    pub trials: Option<u64>,
    /// Trials at a point after which the adaptive procedure gives up.
    pub trials_max: u64,
    /// Seed of all streams.
    pub seed: u64,
    /// Significant digits of u that the adaptive procedure is to make stable, 1 or 2.
    pub digits: u32,
    /// Number of threads.
    pub threads: usize,
    /// The only point that is simulated; elsewhere the figures are those of Student's t. `None`: all.
    pub only: Option<usize>,
    /// Told how far the work is; `false` stops it.
    pub watch: &'a (dyn Fn(Progress) -> bool + Sync),
}

/// How far an evaluation is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Progress {
    /// Index of the point.
    pub point: usize,
    /// Trials done at this point.
    pub trials: u64,
}

/// Trials at a point after which the adaptive procedure gives up, where nothing else is said.
pub const TRIALS_MAX: u64 = 20_000_000;

/// The seed, where nothing else is said.
pub const SEED: u64 = 1;

impl Default for Options<'_> {
    fn default() -> Self {
        let (trials_max, seed) = (TRIALS_MAX, SEED);
        Options {
            trials: None,
            trials_max,
            seed,
            digits: 2,
            threads: 1,
            only: None,
            watch: &|_| true,
        }
    }
}

impl std::fmt::Debug for Options<'_> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Options")
            .field("trials", &self.trials)
            .field("trials_max", &self.trials_max)
            .field("seed", &self.seed)
            .field("digits", &self.digits)
            .field("threads", &self.threads)
            .finish_non_exhaustive()
    }
}
