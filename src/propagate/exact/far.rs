//! The far tail of a sum with t in it: beyond many spreads one t alone is large, and the rest moves it a
//! little.
//!
//! P(S > z) = Σ_i [P(T_i > z) + ½·V_i·P″(T_i > z)] + …, V_i the variance of all but T_i; the stated error is
//! the size of the next term of the expansion in moments of the rest. Source: Taylor's formula under the
//! mean over the rest; that one of several heavy tails is large at a time.

use super::body::Body;
use super::shape::{Part, Shape};

/// The t's of a sum, each with the variance of everything else.
#[derive(Debug, Clone)]
pub struct Far {
    heavy: Vec<(Part, f64, f64)>,
}

impl Far {
    /// Returns the far tail of a sum without stars; `None` where it has no t, or several of which one has
    /// no variance.
    pub fn of(body: &Body) -> Option<Far> {
        let dof = |it: &Part| if let Shape::T(cf) = &it.shape { Some(cf.dof()) } else { None };
        let variance = |it: &Part| match dof(it) {
            Some(dof) if dof <= 2.0 => f64::INFINITY,
            Some(dof) => it.scale * it.scale * dof / (dof - 2.0),
            None => it.variance_proxy(),
        };
        let mut heavy = Vec::new();
        for (index, it) in body.parts.iter().enumerate() {
            let Some(dof) = dof(it) else { continue };
            let others = body.parts.iter().enumerate().map(|(at, other)| {
                let count = if at == index { other.count - 1 } else { other.count };
                if count == 0 { 0.0 } else { variance(other) * count as f64 }
            });
            let others: f64 = others.sum();
            if !others.is_finite() {
                return None;
            }
            heavy.push((it.clone(), dof, others));
        }
        (body.stars.is_empty() && !heavy.is_empty()).then_some(Far { heavy })
    }

    /// Returns P(S > z) and a bound on its error, |z| many spreads.
    pub fn survival(&self, z: f64) -> (f64, f64) {
        let (mut value, mut error) = (0.0, 0.0);
        for (part, dof, others) in &self.heavy {
            let one = Part { count: 1, ..part.clone() };
            let (count, at) = (part.count as f64, z.abs());
            let (tail, density) = (one.survival(at), one.density(at));
            let curvature = density * (dof + 1.0) * at / (dof * part.scale * part.scale + at * at);
            let small = others / (at * at) * (dof + 3.0) * (dof + 3.0);
            value += count * (tail + 0.5 * others * curvature);
            error += count * tail * small * small;
        }
        if z < 0.0 { (1.0 - value, error) } else { (value, error) }
    }

    /// Returns the density at z, to first order.
    pub fn density(&self, z: f64) -> f64 {
        let one = |it: &Part| Part { count: 1, ..it.clone() }.density(z) * it.count as f64;
        self.heavy.iter().map(|it| one(&it.0)).sum()
    }
}

#[cfg(test)]
mod tests {
    use super::super::{Sum, Term};
    use super::*;
    use crate::evidence::{Distribution, Piece};

    /// Against graded inversion of the same sums, just where tables end: t and a normal, two t's, t and a
    /// rectangle; the two ways share nothing but the density of t.
    #[test]
    fn far_tails_agree_with_inversion() {
        let t = |u: f64, dof: f64| Piece::one(Distribution::T, u, dof);
        let normal = |u: f64| Piece::one(Distribution::Normal, u, f64::INFINITY);
        let rectangle = Piece::one(Distribution::Rectangular, 0.4, f64::INFINITY);
        for pieces in [
            vec![t(1.0, 2.0), normal(0.5)],
            vec![t(1.0, 3.0), t(0.7, 4.0)],
            vec![t(1.0, 1.0), rectangle],
            vec![t(1.0, 2.5), normal(0.1), rectangle],
        ] {
            let terms: Vec<Term> = pieces.iter().map(|it| Term::Piece(*it)).collect();
            let sum = Sum::new(terms.clone()).unwrap();
            let (unit, body) = super::super::term::body(&terms).unwrap();
            let far = Far::of(&body).unwrap();
            for z in [260.0, 400.0] {
                let exact = sum.survival(z * unit);
                let (value, error) = far.survival(z);
                assert!(
                    (value - exact.value).abs() <= error + exact.error,
                    "{pieces:?} {z}: {value:e} ± {error:e}, {exact:?}"
                );
                assert!(error < 1e-10, "{error:e}");
            }
        }
    }
}
