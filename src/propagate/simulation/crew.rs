//! Threads that run sequences: which thread runs which does not change a bit.
//!
//! Each worker counts into a histogram of its own and keeps the summaries of its sequences; counts are
//! integers and summaries are put in the order of their numbers, so the threads leave no trace.

use super::histogram::Histogram;
use super::sequence::{Plan, Summary};
use super::trials::{Desk, Trials};
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};

/// Workers and what all of them share.
pub(super) struct Crew<'a> {
    trials: &'a Trials<'a>,
    plan: &'a Plan,
    watch: &'a (dyn Fn(u64) -> bool + Sync),
    done: AtomicU64,
    stopped: AtomicBool,
    workers: Vec<Worker>,
}

struct Worker {
    desk: Desk,
    histogram: Histogram,
    values: Vec<f64>,
    summaries: Vec<Summary>,
}

/// Sequences to be run: numbers from `first`, the trials of each, and up to which number their ends are
/// wanted.
pub(super) struct Wave<'a> {
    pub(super) first: u64,
    pub(super) trials: &'a [u64],
    pub(super) ends_until: u64,
}

impl<'a> Crew<'a> {
    pub(super) fn new(
        trials: &'a Trials<'a>,
        plan: &'a Plan,
        watch: &'a (dyn Fn(u64) -> bool + Sync),
        threads: usize,
    ) -> Crew<'a> {
        let worker = || Worker {
            desk: trials.desk(),
            histogram: Histogram::new(plan.grid),
            values: Vec::new(),
            summaries: Vec::new(),
        };
        let workers = (0..threads.max(1)).map(|_| worker()).collect();
        let (done, stopped) = (AtomicU64::new(0), AtomicBool::new(false));
        Crew { trials, plan, watch, done, stopped, workers }
    }

    /// Runs a wave; returns the summaries in the order of their numbers. Some are missing where the
    /// watch stopped it.
    pub(super) fn run(&mut self, wave: &Wave) -> Vec<Summary> {
        let Crew { trials, plan, watch, done, stopped, workers } = self;
        let next = AtomicU64::new(0);
        let work = |worker: &mut Worker| {
            while !stopped.load(Ordering::Relaxed) {
                let at = next.fetch_add(1, Ordering::Relaxed);
                let Some(count) = wave.trials.get(at as usize) else { break };
                worker.sequence(trials, plan, (wave.first + at, *count), wave.ends_until);
                if !watch(done.fetch_add(*count, Ordering::Relaxed) + count) {
                    stopped.store(true, Ordering::Relaxed);
                }
            }
        };
        match &mut workers[..] {
            [only] => work(only),
            all => std::thread::scope(|scope| {
                for worker in all {
                    scope.spawn(|| work(worker));
                }
            }),
        }
        let mut summaries: Vec<Summary> =
            workers.iter_mut().flat_map(|it| it.summaries.drain(..)).collect();
        summaries.sort_by_key(|it| it.number);
        summaries
    }

    pub(super) fn stopped(&self) -> bool {
        self.stopped.load(Ordering::Relaxed)
    }

    /// Returns how many values have been kept one by one.
    pub(super) fn outliers(&self) -> usize {
        self.workers.iter().map(|it| it.histogram.outliers()).sum()
    }

    /// Returns the counts of all workers.
    pub(super) fn histogram(self) -> Option<Histogram> {
        let all = self.workers.into_iter().map(|it| it.histogram);
        let mut sum = all.reduce(|mut sum, mut next| {
            sum.absorb(&mut next);
            sum
        })?;
        sum.close();
        Some(sum)
    }
}

impl Worker {
    fn sequence(&mut self, trials: &Trials, plan: &Plan, sequence: (u64, u64), ends_until: u64) {
        let ends = (sequence.0 < ends_until).then_some(&mut self.values);
        let summary = plan.run(trials, &mut self.desk, &mut self.histogram, sequence, ends);
        self.summaries.push(summary);
    }
}
