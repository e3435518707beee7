//! The distribution of a sum of independent terms, without random numbers: probabilities beyond a point
//! and coverage intervals, each with a bound on its error.
//!
//! Pure numbers: [`Piece`](crate::evidence::Piece)s in, probabilities out. Nothing of budgets, points or units.
//!
//! | file | holds |
//! | --- | --- |
//! | `term` | what a sum is made of, what is refused |
//! | `shape`, `characteristic` | one part in closed form |
//! | `star`, `tabulated` | slope·Y + Σ (a_k + c_k·Y)·X_k |
//! | `body` | a sum, its characteristic function and its reach |
//! | `peel`, `series` | light tails: rectangles peeled off a Fourier series |
//! | `graded` | heavy tails: inversion on panels that shrink towards zero |
//! | `layer`, `table` | rough shapes over a narrow rest: direct integration |
//! | `gauss`, `chebyshev` | rules and polynomials |
//! | `engine` | which of them, by predicted cost |
//! | `interval` | from probabilities to intervals |
//!
//! Everything is computed in a unit that is a power of two near the largest term, so that a change of
//! unit by one changes no bit, and terms are sorted first, so that neither does their order.

mod body;
mod characteristic;
mod chebyshev;
mod engine;
mod far;
mod gauss;
mod graded;
mod interval;
mod layer;
mod meter;
mod peel;
mod series;
mod shape;
mod star;
mod table;
mod tabulated;
mod term;

use body::Body;
use engine::{Engine, direct, plan};
use meter::{apart, limited};
use std::sync::{Arc, OnceLock};

pub use interval::Interval;
pub use term::{Arm, Refusal, Term};

/// A probability and a bound on its error.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Probability {
    /// The probability.
    pub value: f64,
    /// Bound on |value − true value|.
    pub error: f64,
}

/// The sum of independent terms.
#[derive(Debug, Clone)]
pub struct Sum {
    /// The body's unit in that of the terms.
    unit: f64,
    body: Body,
    made: Arc<Made>,
}

/// What is prepared when it is asked for.
#[derive(Debug, Default)]
struct Made {
    upper: OnceLock<Result<Engine, Refusal>>,
    lower: OnceLock<Result<Engine, Refusal>>,
    humps: OnceLock<usize>,
}

impl Sum {
    /// Returns the sum of `terms`; what is costly waits until it is needed.
    ///
    /// # Errors
    ///
    /// [`Refusal::Empty`] without terms, [`Refusal::Piece`] and [`Refusal::Centre`] for a term that is none.
    pub fn new(terms: Vec<Term>) -> Result<Sum, Refusal> {
        let (unit, body) = term::body(&terms)?;
        Ok(Sum { unit, body, made: Arc::default() })
    }

    /// Makes sure that the sum can be computed in reasonable time. Only with several stars that takes more
    /// than a glance.
    ///
    /// # Errors
    ///
    /// [`Refusal::Rough`].
    pub fn check(&self) -> Result<(), Refusal> {
        if self.body.stars.len() < 2 {
            return Ok(());
        }
        match self.made.upper.get_or_init(|| apart(|| plan(&self.body))) {
            Ok(_) => Ok(()),
            Err(refusal) => Err(refusal.clone()),
        }
    }

    /// Whether −S is distributed like S. It always is without [`Term::Star`].
    pub fn is_symmetric(&self) -> bool {
        self.body.is_symmetric()
    }

    /// Whether a probability takes microseconds: a closed form, one series or one inversion, and no integral
    /// over any of these.
    pub fn is_quick(&self) -> bool {
        let found = apart(|| direct(&self.body));
        let quick = found.is_some();
        if let Some(engine) = found {
            // What is there already is the same.
            let _ = self.made.upper.set(Ok(engine));
        }
        quick
    }

    /// Returns P(S > x); with error 1 where it cannot be had.
    pub fn survival(&self, x: f64) -> Probability {
        limited(|| {
            let engine = self.made.upper.get_or_init(|| apart(|| plan(&self.body)));
            probability(engine, x / self.unit)
        })
    }

    /// Returns P(S < x), as exact in its own tail as [`Sum::survival`] is in the other.
    pub fn cdf(&self, x: f64) -> Probability {
        if self.is_symmetric() {
            return self.survival(-x);
        }
        limited(|| {
            let engine = self.made.lower.get_or_init(|| apart(|| plan(&self.body.mirrored())));
            probability(engine, -x / self.unit)
        })
    }

    /// Returns the density at `x`, about 1e-9 of its maximum exact: for pictures.
    pub fn density(&self, x: f64) -> f64 {
        limited(|| {
            let engine = self.made.upper.get_or_init(|| apart(|| plan(&self.body)));
            engine.as_ref().map_or(0.0, |it| it.density(x / self.unit).max(0.0) / self.unit)
        })
    }

    /// Returns how many humps the density has, as far as 400 points between ±4 spreads show them.
    ///
    /// Without arcsine and without a star's own slope there is one: sums of symmetric unimodal variables are
    /// unimodal (Wintner), and so are their mixtures about one centre.
    pub fn humps(&self) -> usize {
        *self.made.humps.get_or_init(|| apart(|| interval::humps(self)))
    }

    /// Whether the density has one hump, so that a shortest interval means something.
    pub fn is_unimodal(&self) -> bool {
        self.humps() == 1
    }

    /// Returns the interval that holds `probability`: symmetric about zero where S is, else with equal
    /// probabilities on both sides.
    ///
    /// # Errors
    ///
    /// [`Refusal::Probability`] unless 0 < probability < 1; [`Refusal::Imprecise`] where the relative error of
    /// the half-width cannot be kept below 1e-9; [`Refusal::Rough`].
    pub fn interval(&self, probability: f64) -> Result<Interval, Refusal> {
        limited(|| interval::interval(self, probability))
    }
}

fn probability(engine: &Result<Engine, Refusal>, x: f64) -> Probability {
    let Ok(engine) = engine else { return Probability { value: 0.5, error: 1.0 } };
    let (value, error) = engine.survival(x);
    if !value.is_finite() || !error.is_finite() {
        return Probability { value: 0.5, error: 1.0 };
    }
    Probability { value: value.clamp(0.0, 1.0), error }
}
