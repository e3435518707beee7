//! Risks over a population: how often a bad instrument is accepted and a good one turned away, and what
//! follows from promising a risk.
//!
//! Pure numbers in SI. A population is a [`Prior`]: the distribution of true errors before the reading. The
//! measurement is a [`Density`](crate::propagate::density::Density): the distribution of the true value less the estimate. A side without a
//! limit is `None`. Terms of one sign are added, never differences across the middle, so that a risk of
//! 1e-12 keeps its digits.
//!
//! | file | holds |
//! | --- | --- |
//! | [`mod@prior`] | the distribution of true errors |
//! | `error` | the distribution of the measurement's error, in one form for all densities |
//! | `quadrature` | adaptive quadrature |
//! | [`mod@risks`] | consumer's and producer's risk, probability of acceptance |
//! | [`posterior`] | specific risk with the population as prior |
//! | [`band`] | guard bands that keep a promise, and those of published formulas |
//! | [`share`] | populations from a share, from a history; intervals of a share |
//!
//! Source: JCGM 106:2012, 7.2, clause 9 and annex A.

pub mod band;
mod error;
pub mod posterior;
pub mod prior;
mod quadrature;
pub mod risks;
pub mod share;

pub use band::{
    NoBand, from_tur_quadrature, from_tur_two_percent, guard_band_for_consumer,
    guard_band_for_posterior,
};
pub use posterior::posterior_risk;
pub use prior::Prior;
pub use risks::{Risks, acceptance_probability, risks};
pub use share::{
    NoPopulation, NoSpread, OfHistory, Share, clopper_pearson, population_from_history,
    spread_for_share,
};

/// Lower and upper limit, in SI; a side without a limit is open.
pub type Sides = (Option<f64>, Option<f64>);

/// Returns the limits as numbers, open sides infinite.
pub(super) fn ends(sides: Sides) -> (f64, f64) {
    (sides.0.unwrap_or(f64::NEG_INFINITY), sides.1.unwrap_or(f64::INFINITY))
}
