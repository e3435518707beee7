//! What is known of the measurand at one point beside its estimate: a distribution of the deviation
//! of the true value from the estimate, for risks and guard bands.
//!
//! Student's t with the effective degrees of freedom unless one contributor that is not normal has
//! more than 30 % of the variance (a rule of this project), or the budget asks for another method:
//! then the exact distribution, or a simulated one.

use super::exact::{Probability, Sum};
use super::simulation::Shares;
use crate::evidence::distribution::student;
use std::sync::Arc;

/// The largest error of a probability that is given out.
const CERTAIN: f64 = 1e-9;
/// Or this share of it: three digits are shown.
const RELATIVE: f64 = 1e-4;

/// The distribution of the true value about the estimate, in SI of the measurand.
#[derive(Debug, Clone)]
pub enum Density {
    /// Student's t with scale u; normal where ν is infinite.
    T {
        /// Standard uncertainty, above 0.
        u: f64,
        /// Degrees of freedom, at least 1, possibly infinite.
        dof: f64,
    },
    /// The exact distribution.
    Exact(Arc<Sum>),
    /// A simulated one.
    Simulated(Arc<Shares>),
}

impl Density {
    /// Returns the word of the record.
    pub fn word(&self) -> &'static str {
        match self {
            Density::T { dof, .. } if dof.is_infinite() => "normal",
            Density::T { .. } => "t",
            Density::Exact(_) => "exact",
            Density::Simulated(_) => "monte_carlo",
        }
    }

    /// Returns the probability that the true value lies more than `x` above the estimate; `None`
    /// where u or ν is out of range, or an exact probability is not certain to 1e-9.
    pub fn above(&self, x: f64) -> Option<f64> {
        match self {
            Density::T { u, dof } => student_above(x, *u, *dof),
            Density::Exact(sum) => certain(sum.survival(x)),
            Density::Simulated(shares) => Some(shares.above(x)),
        }
    }

    /// Returns the probability that the true value lies more than `x` below the estimate.
    pub fn below(&self, x: f64) -> Option<f64> {
        match self {
            Density::T { u, dof } => student_above(x, *u, *dof),
            Density::Exact(sum) => certain(sum.cdf(-x)),
            Density::Simulated(shares) => Some(shares.below(-x)),
        }
    }

    /// Returns a width that tells the scale: u, or about where a tenth lies beyond; `None` where u is out of
    /// range or a probability is not certain.
    pub fn scale(&self) -> Option<f64> {
        if let Density::T { u, .. } = self {
            return (*u > 0.0 && u.is_finite()).then_some(*u);
        }
        // Nothing is known of the width: in strides of a factor 4 to where a tenth lies beyond.
        let tail = |x: f64| Some(self.above(x)?.max(self.below(x)?));
        let mut x = 1e-12;
        while tail(x)? > 0.1 {
            x *= 4.0;
            if !x.is_finite() {
                return None;
            }
        }
        while tail(0.25 * x)? < 0.1 {
            x *= 0.25;
            if x < 1e-290 {
                return None;
            }
        }
        Some(0.5 * x)
    }

    /// Whether it is symmetric about the estimate.
    pub fn is_symmetric(&self) -> bool {
        match self {
            Density::T { .. } => true,
            Density::Exact(sum) => sum.is_symmetric(),
            Density::Simulated(_) => false,
        }
    }
}

/// The same distribution: of the same figures, or the very same object.
impl PartialEq for Density {
    fn eq(&self, other: &Density) -> bool {
        match (self, other) {
            (Density::T { u, dof }, Density::T { u: v, dof: other }) => u == v && dof == other,
            (Density::Exact(a), Density::Exact(b)) => Arc::ptr_eq(a, b),
            (Density::Simulated(a), Density::Simulated(b)) => Arc::ptr_eq(a, b),
            _ => false,
        }
    }
}

/// Returns a probability whose error bound is small; one that is not certain is not known.
fn certain(found: Probability) -> Option<f64> {
    let certain = found.error <= CERTAIN.max(RELATIVE * found.value);
    certain.then(|| found.value.clamp(0.0, 1.0))
}

fn student_above(x: f64, u: f64, dof: f64) -> Option<f64> {
    if u > 0.0 && u.is_finite() { student::survival(x / u, dof) } else { None }
}
