//! What a sum is made of, and what is refused: from [`Term`]s to the inner [`Body`].

use super::body::Body;
use super::shape::Part;
use super::star::{Ray, Star};
use crate::evidence::{Distribution, Piece};

/// One independent term of the sum.
#[derive(Debug, Clone, PartialEq)]
pub enum Term {
    /// A piece, in the unit of the sum.
    Piece(Piece),
    /// slope·Y + Σ (a_k + c_k·Y)·X_k with the same Y: thermal expansion, and products. The product of two
    /// contributors is one arm with slopes 0.
    Star {
        /// Y, of count 1.
        centre: Piece,
        /// Slope of Y.
        slope: f64,
        /// The rest.
        arms: Vec<Arm>,
    },
}

/// (slope + product·Y)·X.
#[derive(Debug, Clone, PartialEq)]
pub struct Arm {
    /// Slope of X.
    pub slope: f64,
    /// Slope of X·Y.
    pub product: f64,
    /// X, a sum of pieces.
    pub pieces: Vec<Piece>,
}

/// Why there is no distribution or no interval.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum Refusal {
    /// No term varies.
    #[error("nothing varies: there is no term with an uncertainty above zero")]
    Empty,
    /// A piece is out of its range.
    #[error(
        "term {index} is out of range: standard uncertainty and slopes are finite numbers, the first above zero; degrees of freedom of t are at least 1; a shape has a top from 0 to 1"
    )]
    Piece {
        /// Which term, from 0.
        index: usize,
    },
    /// The centre of a star is a sum.
    #[error(
        "term {index} multiplies by a sum of several pieces: only a single piece may be the common factor"
    )]
    Centre {
        /// Which term, from 0.
        index: usize,
    },
    /// Not a probability.
    #[error("`{0}` is not a probability between 0 and 1")]
    Probability(f64),
    /// Neither way leads to a result in reasonable time.
    #[error(
        "the parts are too rough, with too little beside them that is smooth, to be summed in reasonable time"
    )]
    Rough,
    /// The bound on the error is too large.
    #[error("the half-width is uncertain by {relative_error:.1e} of itself, more than 1e-9")]
    Imprecise {
        /// Bound on the relative error.
        relative_error: f64,
    },
}

/// Returns the unit, a power of two, and the sum in it.
pub fn body(terms: &[Term]) -> Result<(f64, Body), Refusal> {
    for (index, term) in terms.iter().enumerate() {
        check(index, term)?;
    }
    let size = terms.iter().map(size).fold(0.0, f64::max);
    if size == 0.0 || !size.is_finite() {
        return Err(Refusal::Empty);
    }
    let unit = power_of_two(size);
    let (mut parts, mut stars) = (Vec::new(), Vec::new());
    for term in terms {
        match term {
            Term::Piece(piece) => parts.extend(Part::of(piece, unit, false)),
            Term::Star { centre, slope, arms } => {
                let (centre, slope, arms) = turned(centre, *slope, arms);
                parts.extend(plain(&centre, slope, &arms, unit));
                stars.extend(star(&centre, slope, &arms, unit));
            }
        }
    }
    parts.retain(|it| it.scale > 0.0);
    stars.sort_by(|a, b| a.spread().total_cmp(&b.spread()));
    Ok((unit, Body::new(parts, stars)))
}

fn check(index: usize, term: &Term) -> Result<(), Refusal> {
    let fits = |it: &Piece| {
        let shape = match it.shape {
            Distribution::Trapezoidal(top) => (0.0..=1.0).contains(&top),
            Distribution::CurvilinearTrapezoidal(ratio) => ratio > 0.0 && ratio <= 1.0,
            Distribution::T => it.dof >= 1.0,
            Distribution::Sum { .. } | Distribution::Exact => false,
            _ => true,
        };
        shape
            && it.standard_uncertainty > 0.0
            && it.standard_uncertainty.is_finite()
            && it.count > 0
    };
    let good = match term {
        Term::Piece(piece) => fits(piece),
        Term::Star { centre, slope, arms } => {
            if centre.count > 1 {
                return Err(Refusal::Centre { index });
            }
            let arm = |it: &Arm| {
                it.slope.is_finite() && it.product.is_finite() && it.pieces.iter().all(fits)
            };
            fits(centre) && slope.is_finite() && arms.iter().all(arm)
        }
    };
    if good { Ok(()) } else { Err(Refusal::Piece { index }) }
}

fn size(term: &Term) -> f64 {
    match term {
        Term::Piece(piece) => piece.standard_uncertainty,
        Term::Star { centre, slope, arms } => {
            let y = centre.standard_uncertainty;
            let arm = |it: &Arm| it.slope.abs().max(it.product.abs() * y) * largest(&it.pieces);
            arms.iter().map(arm).fold(slope.abs() * y, f64::max)
        }
    }
}

fn largest(pieces: &[Piece]) -> f64 {
    pieces.iter().map(|it| it.standard_uncertainty).fold(0.0, f64::max)
}

/// Puts the bounded one of two factors in the centre: over t's tails a mean is dear.
fn turned(centre: &Piece, slope: f64, arms: &[Arm]) -> (Piece, f64, Vec<Arm>) {
    if let [Arm { slope: other, product, pieces }] = arms
        && let [piece] = &pieces[..]
        && piece.count == 1
        && centre.shape == Distribution::T
        && piece.shape != Distribution::T
    {
        let arm = Arm { slope, product: *product, pieces: vec![*centre] };
        return (*piece, *other, vec![arm]);
    }
    (*centre, slope, arms.to_vec())
}

/// Returns the parts of a star that no product ties to others.
fn plain(centre: &Piece, slope: f64, arms: &[Arm], unit: f64) -> Vec<Part> {
    let mut parts = Vec::new();
    let tied = arms.iter().any(|it| it.product != 0.0 && !it.pieces.is_empty());
    if !tied {
        parts.extend(scaled(centre, slope, unit));
    }
    for arm in arms.iter().filter(|it| it.product == 0.0) {
        parts.extend(arm.pieces.iter().flat_map(|it| scaled(it, arm.slope, unit)));
    }
    parts
}

fn scaled(piece: &Piece, slope: f64, unit: f64) -> Vec<Part> {
    let own = power_of_two(piece.standard_uncertainty);
    let parts = Part::of(piece, own, false).into_iter();
    parts.map(|it| it.times(slope * own / unit)).collect()
}

fn star(centre: &Piece, slope: f64, arms: &[Arm], unit: f64) -> Option<Star> {
    let own = power_of_two(centre.standard_uncertainty);
    let mut rays = Vec::new();
    for arm in arms.iter().filter(|it| it.product != 0.0 && !it.pieces.is_empty()) {
        let arm_unit = power_of_two(largest(&arm.pieces));
        rays.push(Ray {
            slope: arm.slope * arm_unit / unit,
            product: arm.product * own * arm_unit / unit,
            parts: super::shape::canonical(
                arm.pieces.iter().flat_map(|it| Part::of(it, arm_unit, false)).collect(),
            ),
        });
    }
    let centre = Part::of(centre, own, true).into_iter().next()?;
    (!rays.is_empty()).then_some(Star { centre, slope: slope * own / unit, rays })
}

/// Returns the power of two at or below `x` > 0.
fn power_of_two(x: f64) -> f64 {
    let (_, exponent) = libm::frexp(x);
    libm::ldexp(1.0, exponent - 1)
}
