//! Linked draws: correlated normals, a multivariate t, and a Gaussian copula for other shapes.
//!
//! All begin with independent columns on which the correlation matrix's factor F works, R = F·Fᵀ.
//! Normal margins are then exact. A multivariate t begins with a *spherical* t instead, which is drawn
//! without rejection in pairs: the first pair is Bailey's, R₀² = ν·expm1(−2 ln U/ν) at a random angle,
//! and given the squares so far, q of j pairs, the next is a pair with ν + 2j degrees of freedom times
//! √((ν + q)/(ν + 2j)) (conditional distribution of a multivariate t). Other shapes are the margins'
//! quantiles at Φ of the correlated normals; the correlation of the result is then not exactly R.

use super::elementary::{expm1, ln};
use super::lanes::{Lanes, Words, open_unit};
use super::shape::{Accumulate, Shape, fill, on_circle};
use crate::evidence::distribution::{normal, student};
use crate::evidence::{Distribution, Piece};
use crate::model::block::{Column, WIDTH};
use pulp::{Arch, Simd, WithSimd};

/// How far a row of F may be from unit length: correlations are given to a few digits, but their
/// factor is computed.
const UNIT: f64 = 1e-9;

/// Linked margins ready to be drawn.
#[derive(Debug, Clone)]
pub(super) struct Linked {
    /// F by column.
    factor: Vec<Vec<f64>>,
    /// The shape of each margin; what is drawn has scale 1.
    margins: Vec<Margin>,
    /// Degrees of freedom of a multivariate t.
    joint: Option<f64>,
}

#[derive(Debug, Clone, Copy)]
enum Margin {
    /// The correlated column as it is.
    Same,
    /// Its quantile at Φ of the correlated normal.
    Quantile(Distribution, f64),
}

impl Linked {
    /// Returns linked margins, or why they cannot be drawn.
    pub(super) fn new(
        factor: &[Vec<f64>],
        margins: &[Piece],
        joint: Option<f64>,
    ) -> Result<Linked, &'static str> {
        if factor.is_empty() || factor.iter().any(|column| column.len() != margins.len()) {
            return Err("the factor of its correlations does not have a row for each margin");
        }
        let length =
            |row: usize| factor.iter().map(|column| column[row] * column[row]).sum::<f64>();
        if !(0..margins.len()).all(|row| (length(row) - 1.0).abs() <= UNIT) {
            return Err("the factor of its correlations does not give ones on the diagonal");
        }
        if joint.is_some_and(|dof| !(dof >= 1.0 && dof.is_finite())) {
            return Err("its degrees of freedom are below 1, infinite or missing");
        }
        let margins: Result<Vec<Margin>, _> =
            margins.iter().map(|piece| Linked::margin(piece, joint)).collect();
        Ok(Linked { factor: factor.to_vec(), margins: margins?, joint })
    }

    fn margin(piece: &Piece, joint: Option<f64>) -> Result<Margin, &'static str> {
        let shape = Shape::of(piece)?;
        match (joint, shape) {
            _ if piece.count != 1 => Err("a linked margin stands for one draw"),
            (Some(dof), Shape::T(own)) if own == dof => Ok(Margin::Same),
            (Some(_), _) => Err("a margin of a multivariate t is not a t of the same dof"),
            (None, Shape::Normal) => Ok(Margin::Same),
            (None, _) => Ok(Margin::Quantile(piece.shape, piece.dof)),
        }
    }

    /// Returns how many columns [`Linked::fill`] needs: independent ones, and one for each margin.
    pub(super) fn columns(&self) -> usize {
        self.independent() + self.margins.len()
    }

    fn independent(&self) -> usize {
        match self.joint {
            None => self.factor.len(),
            Some(_) => self.factor.len().next_multiple_of(2) + 1,
        }
    }

    /// Draws all margins, to the last columns of `columns`.
    ///
    /// Method: M42.
    pub(super) fn fill(
        &self,
        arch: Arch,
        lanes: &mut Lanes,
        words: &mut [Words; 2],
        columns: &mut [Column],
    ) {
        let (independent, margins) = columns.split_at_mut(self.independent());
        match self.joint {
            None => independent
                .iter_mut()
                .for_each(|column| fill(arch, Shape::Normal, lanes, words, column)),
            Some(dof) => spherical(arch, dof, lanes, words, independent),
        }
        for (row, (sum, margin)) in margins.iter_mut().zip(&self.margins).enumerate() {
            sum.fill(0.0);
            for (factor, draw) in self.factor.iter().zip(independent.iter()) {
                arch.dispatch(Accumulate { factor: factor[row], draw, sum });
            }
            if let Margin::Quantile(shape, dof) = margin {
                sum.iter_mut().for_each(|z| *z = quantile(*shape, *dof, *z));
            }
        }
    }
}

/// Fills pairs of columns with a spherical t; the last column holds the squares so far.
fn spherical(
    arch: Arch,
    dof: f64,
    lanes: &mut Lanes,
    words: &mut [Words; 2],
    columns: &mut [Column],
) {
    let Some((squares, pairs)) = columns.split_last_mut() else { return };
    squares.fill(0.0);
    let mut seen = 0.0;
    for pair in pairs.chunks_exact_mut(2) {
        let [left, right] = pair else { continue };
        lanes_fill(arch, lanes, words);
        arch.dispatch(Pair { dof, seen, words, squares, left, right });
        seen += 2.0;
    }
}

fn lanes_fill(arch: Arch, lanes: &mut Lanes, words: &mut [Words; 2]) {
    struct Both<'a>(&'a mut Lanes, &'a mut [Words; 2]);
    impl WithSimd for Both<'_> {
        type Output = ();

        #[inline(always)]
        fn with_simd<S: Simd>(self, _: S) {
            let Both(lanes, words) = self;
            lanes.fill(words.as_flattened_mut());
        }
    }
    arch.dispatch(Both(lanes, words));
}

/// Two columns of a spherical t.
struct Pair<'a> {
    dof: f64,
    /// Columns before these.
    seen: f64,
    words: &'a [Words; 2],
    squares: &'a mut Column,
    left: &'a mut Column,
    right: &'a mut Column,
}

impl WithSimd for Pair<'_> {
    type Output = ();

    #[inline(always)]
    fn with_simd<S: Simd>(self, _: S) {
        let Pair { dof, seen, words: [radii, angles], squares, left, right } = self;
        let own = dof + seen;
        for i in 0..WIDTH {
            let square = own * expm1(-2.0 / own * ln(open_unit(radii[i])));
            let square = square * ((dof + squares[i]) / own);
            let radius = square.sqrt();
            let (one, two) = on_circle(angles[i]);
            left[i] = radius * one;
            right[i] = radius * two;
            squares[i] += square;
        }
    }
}

/// Returns the quantile of a shape of standard uncertainty 1 (t: scale 1) at Φ(z).
fn quantile(shape: Distribution, dof: f64, z: f64) -> f64 {
    // The shapes are symmetric, and the smaller of Φ and 1 - Φ has all its digits.
    let beyond = normal::survival(z.abs());
    let size = match shape {
        Distribution::Rectangular => 3f64.sqrt() * (1.0 - 2.0 * beyond),
        Distribution::Triangular => 6f64.sqrt() * (1.0 - (2.0 * beyond).sqrt()),
        Distribution::Arcsine => {
            core::f64::consts::SQRT_2 * libm::cos(core::f64::consts::PI * beyond)
        }
        Distribution::Trapezoidal(top) => (6.0 / (1.0 + top * top)).sqrt() * trapezoid(top, beyond),
        Distribution::CurvilinearTrapezoidal(ratio) => {
            (3.0 / (1.0 + ratio * ratio / 3.0)).sqrt() * curvilinear(ratio, beyond)
        }
        Distribution::T if dof.is_finite() => {
            student::upper_quantile(beyond, dof).unwrap_or(f64::NAN)
        }
        _ => z.abs(),
    };
    if z < 0.0 { -size } else { size }
}

/// Returns the point of a trapezoid on ±1 with probability `beyond` (up to ½) above it.
fn trapezoid(top: f64, beyond: f64) -> f64 {
    let slope = (1.0 - top) / (2.0 * (1.0 + top));
    if beyond <= slope {
        1.0 - (2.0 * beyond * (1.0 - top) * (1.0 + top)).sqrt()
    } else {
        top - (beyond - slope) * (1.0 + top)
    }
}

/// Returns the point of a curvilinear trapezoid with half-width 1 ± `ratio` with probability `beyond`
/// (up to ½) above it: on the slope the probability is [b - x - x·ln(b/x)]/(4·ratio), b = 1 + ratio.
fn curvilinear(ratio: f64, beyond: f64) -> f64 {
    let (top, base) = (1.0 - ratio, 1.0 + ratio);
    // By x = b·(1 - s): s + (1 - s)·ln(1 - s), which is s²/2 and more for small s.
    let above = |s: f64| base * (s + (1.0 - s) * libm::log1p(-s)) / (4.0 * ratio);
    let slope = if ratio > 0.0 { above(1.0 - top / base) } else { 0.0 };
    if ratio == 0.0 || beyond > slope {
        // The density at the top.
        let density = if ratio > 0.0 { libm::log(base / top) / (4.0 * ratio) } else { 0.5 };
        return top - (beyond - slope) / density;
    }
    let (mut low, mut high) = (0.0, 1.0 - top / base);
    // 60 halvings of an interval within [0, 1] reach the last place of x.
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if above(middle) < beyond { low = middle } else { high = middle }
    }
    base * (1.0 - 0.5 * (low + high))
}
