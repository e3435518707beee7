//! Joint conformity: shared and own errors of all points in; the probability that the true errors lie
//! within tolerance *at all tested points* out.
//!
//! The points share few unknowns (a zero setting, a temperature); given those, they are independent:
//! `P = E_z Π_i P(low_i < e_i + b_i·z + products + own_i < high_i)`. The expectation is taken over the
//! shared unknowns alone, whatever their shape, so its cost grows with their number and not with that of
//! the points. Only a dense matrix of correlations needs a dimension per point ([`dense()`]).
//!
//! | file | does |
//! | --- | --- |
//! | [`law`] | one unknown: density, probability |
//! | [`quadrature`] | adaptive integration in one dimension |
//! | `ranges` | where a quadratic lies between two limits |
//! | `own`, `sum` | what a point has for itself |
//! | `problem` | merges what can be merged, puts the unknowns in order |
//! | `nested` | up to three unknowns: integrals within integrals |
//! | `marginal` | one point alone: the exact distribution of a sum |
//! | `swift` | tabulated rests for the two below and three unknowns |
//! | [`lattice`], `sampler` | more: randomised lattice |
//! | [`dense`](mod@dense) | a covariance matrix: separation of variables |
//!
//! Pure: numbers only, no budget, no I/O, no clock; the shifts of the lattices have a fixed seed, so the
//! same arguments give the same bits.

pub mod dense;
pub mod lattice;
pub mod law;
mod marginal;
mod nested;
mod own;
mod problem;
pub mod quadrature;
mod ranges;
mod sampler;
mod sum;
mod swift;

use std::sync::Arc;

pub use dense::dense;

use crate::evidence::Piece;
use problem::Problem;
use quadrature::Estimate;

/// Most unknowns that are integrated one within the other.
const NESTED: usize = 3;
/// What the lattice is asked for, as three standard errors.
const LATTICE_TOLERANCE: f64 = 3e-5;

/// One shared unknown: it has the same value at all points.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Shared {
    /// One dimension; with a count above 1 it is the sum of that many.
    Piece(Piece),
    /// As many dimensions as columns: independent standard normals, all divided by the same √(χ²/ν).
    Joint {
        /// How many.
        columns: usize,
        /// ν, at least 1; infinite: plain normals.
        dof: f64,
    },
}

impl Shared {
    /// Returns how many dimensions it has.
    pub fn dimensions(&self) -> usize {
        match self {
            Shared::Piece(_) => 1,
            Shared::Joint { columns, .. } => *columns,
        }
    }
}

/// P(low < own part < high) of a caller's law; both may be infinite.
pub type Between = Arc<dyn Fn(f64, f64) -> f64 + Send + Sync>;

/// What a point's error has beside the shared unknowns: independent of them and of all other points.
#[derive(Clone)]
pub enum Rest {
    /// Nothing.
    None,
    /// Normal with this standard deviation, at least 0.
    Normal(f64),
    /// t, scaled.
    T {
        /// Its scale, at least 0.
        scale: f64,
        /// Its degrees of freedom, at least 1.
        dof: f64,
    },
    /// The sum of pieces. One piece (or any number of normal ones) is exact; several are tabulated to
    /// about 1e-8 (module `sum`).
    Pieces(Vec<Piece>),
    /// Any other; a probability that is not between 0 and 1 is an error.
    Other(Between),
}

impl std::fmt::Debug for Rest {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Rest::None => f.write_str("None"),
            Rest::Normal(sigma) => write!(f, "Normal({sigma:?})"),
            Rest::T { scale, dof } => write!(f, "T({scale:?}, {dof:?})"),
            Rest::Pieces(pieces) => write!(f, "Pieces({pieces:?})"),
            Rest::Other(_) => f.write_str("Other"),
        }
    }
}

/// One point: its true error is `estimate + Σ loadings·z + Σ products·z_i·z_j + rest`.
#[derive(Debug, Clone)]
pub struct Point {
    /// Lower limit, in the unit of the estimate; `None` where there is none.
    pub low: Option<f64>,
    /// Upper limit.
    pub high: Option<f64>,
    /// Estimate.
    pub estimate: f64,
    /// One per dimension of the shared unknowns.
    pub loadings: Vec<f64>,
    /// Two dimensions, from 0, possibly the same one, and the coefficient of their product.
    pub products: Vec<(usize, usize, f64)>,
    /// The rest.
    pub rest: Rest,
}

/// How a probability was got.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Method {
    /// Nothing is shared: a product of probabilities.
    Product,
    /// Adaptive Gauss-Kronrod quadrature, so many unknowns one within the other; the error is estimated
    /// from the difference of two rules.
    Quadrature(usize),
    /// Randomised lattice in so many dimensions; the error is three standard errors over 12 shifts.
    Lattice(usize),
    /// Separation of variables of a covariance matrix, by a randomised lattice; error as there.
    Separation(usize),
}

impl Method {
    /// Returns the word for records.
    pub fn word(self) -> &'static str {
        match self {
            Method::Product => "product",
            Method::Quadrature(_) => "quadrature",
            Method::Lattice(_) => "lattice",
            Method::Separation(_) => "separation of variables",
        }
    }
}

/// The probability that all points lie within their limits.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Joint {
    /// The probability.
    pub probability: f64,
    /// Its absolute error: an estimate, or three standard errors; see `method`.
    pub error: f64,
    /// How it was got.
    pub method: Method,
    /// The product of the points' own probabilities: what it would be were they independent.
    pub independent_product: f64,
    /// Absolute error of the product.
    pub independent_error: f64,
}

/// Why there is no probability.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum Refused {
    /// A shared unknown has no width or no law of its own.
    #[error(
        "shared unknown {index} has no law: its width, shape or degrees of freedom are out of range"
    )]
    Shared {
        /// Which, from 0.
        index: usize,
    },
    /// As many loadings as dimensions are needed.
    #[error("point {point} has {found} loadings for {expected} shared dimensions")]
    Loadings {
        /// Which, from 0.
        point: usize,
        /// How many it has.
        found: usize,
        /// How many there have to be.
        expected: usize,
    },
    /// A product names a dimension that is not there.
    #[error("point {point} has a product of a dimension that is not there")]
    Product {
        /// Which, from 0.
        point: usize,
    },
    /// Something is NaN or infinite, or a width is below zero.
    #[error("point {point} has a number that is not finite, or a rest without a law")]
    Number {
        /// Which, from 0.
        point: usize,
    },
    /// Limits in the wrong order.
    #[error("point {point} has a lower limit above its upper limit")]
    Limits {
        /// Which, from 0.
        point: usize,
    },
    /// The matrix is not square, or not as long as the limits.
    #[error("row {row} of the covariance does not have as many numbers as there are limits")]
    Size {
        /// Which, from 0.
        row: usize,
    },
    /// The matrix is not symmetric or not positive semidefinite.
    #[error(
        "the covariance of row {row} is impossible: not symmetric or not positive semidefinite"
    )]
    Covariance {
        /// Which, from 0.
        row: usize,
    },
    /// A rest returned something that is no probability.
    #[error("the probability is not a number: a rest gives something that is no probability")]
    NoProbability,
}

/// Returns the probability that every point's error lies within its limits (on a limit is within), beside
/// the product of the points' own probabilities.
///
/// First what can be merged is: normals into as few as the loadings have independent directions, an
/// unknown that acts at one point only into that point's rest. Then by the number of unknowns left: none:
/// a product; up to three: nested quadrature (one: error below 1e-11; two: below 1e-9; three: below 1e-6, where
/// all 60 points have tabulated rests 3e-6; `tests/joint.rs` measures them); more: a randomised lattice, to 3e-5
/// where its cap allows. People read three digits.
/// The error is absolute, also for a small probability and for one near 1.
///
/// # Errors
///
/// [`Refused`], with the index of the first shared unknown or point that is out of range.
///
/// Method: M47.
pub fn probability(shared: &[Shared], points: &[Point]) -> Result<Joint, Refused> {
    let problem = Problem::new(shared, points)?;
    let mut product = Estimate::exact(1.0);
    for index in 0..points.len() {
        let alone = problem.alone(index).merged();
        let own = marginal::alone(&alone).unwrap_or_else(|| solve(&marginal::folded(alone)).0);
        product.error = product.error * own.value + product.value * own.error;
        product.value *= own.value;
    }
    let (value, method) = solve(&problem.merged());
    finish(value, method, product)
}

/// Checks that the figures are numbers and keeps them within 0…1, which rounding may leave by 1e-15.
fn finish(value: Estimate, method: Method, product: Estimate) -> Result<Joint, Refused> {
    let all = [value.value, value.error, product.value, product.error];
    if !all.iter().all(|it| it.is_finite()) {
        return Err(Refused::NoProbability);
    }
    Ok(Joint {
        probability: value.value.clamp(0.0, 1.0),
        error: value.error,
        method,
        independent_product: product.value.clamp(0.0, 1.0),
        independent_error: product.error,
    })
}

/// Chooses the way by the number of unknowns, and the lattice where the quadrature does not converge.
fn solve(problem: &Problem) -> (Estimate, Method) {
    let count = problem.dims.len();
    if count == 0 {
        return (problem.product(), Method::Product);
    }
    let lattice = || (problem.by_lattice(LATTICE_TOLERANCE), Method::Lattice(count));
    if count > NESTED {
        return lattice();
    }
    let nested = (nested::integrate(problem), Method::Quadrature(count));
    if nested.0.error <= LATTICE_TOLERANCE {
        return nested;
    }
    let other = lattice();
    if other.0.error < nested.0.error { other } else { nested }
}
