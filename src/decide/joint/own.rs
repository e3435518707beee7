//! What a point has for itself: [`Rest`] in; its probability between two limits, how far it reaches and
//! where it is not smooth out.

use super::law::{Law, NORMAL_END};
use super::sum::Table;
use super::{Between, Rest};
use crate::evidence::Piece;

/// The rest of one point, ready for use.
#[derive(Clone)]
pub enum Own {
    /// Nothing.
    None,
    /// One law.
    Law(Law),
    /// Several, tabulated.
    Sum(Table),
    /// A caller's.
    Other(Between),
}

impl Own {
    /// Returns the rest ready for use; `None` where a number is out of range.
    pub fn new(rest: &Rest) -> Option<Own> {
        match rest {
            Rest::None => Some(Own::None),
            Rest::Normal(sigma) => scale(*sigma, Law::Normal(*sigma)),
            Rest::T { scale: s, dof } if *dof == f64::INFINITY => scale(*s, Law::Normal(*s)),
            Rest::T { scale: s, dof } if *dof >= 1.0 => scale(*s, Law::T { scale: *s, dof: *dof }),
            Rest::T { .. } => None,
            Rest::Pieces(pieces) => of_pieces(pieces),
            Rest::Other(between) => Some(Own::Other(between.clone())),
        }
    }

    /// Returns the probability between two limits; where there is no rest, whether zero lies between.
    pub fn between(&self, low: f64, high: f64) -> f64 {
        match self {
            Own::None => f64::from(u8::from(low <= 0.0 && 0.0 <= high)),
            Own::Law(law) => law.between(low, high),
            Own::Sum(table) => table.between(low, high),
            Own::Other(between) => {
                let p = between(low, high);
                if (-1e-9..=1.0 + 1e-9).contains(&p) { p } else { f64::NAN }
            }
        }
    }

    /// Returns how far it reaches from zero; infinite where it has no end.
    pub fn reach(&self) -> f64 {
        match self {
            Own::None => 0.0,
            Own::Law(Law::Normal(sigma)) => NORMAL_END * sigma,
            Own::Law(law) => law.kinks().into_iter().fold(None, larger).unwrap_or(f64::INFINITY),
            Own::Sum(table) => table.reach(),
            Own::Other(_) => f64::INFINITY,
        }
    }

    /// Returns the half-widths at which its density is not smooth.
    pub fn kinks(&self) -> Vec<f64> {
        match self {
            Own::Law(law) => law.kinks(),
            Own::None | Own::Sum(_) | Own::Other(_) => Vec::new(),
        }
    }

    /// Returns a measure of its width; of a caller's law 0, as nothing is known of it.
    pub fn width(&self) -> f64 {
        match self {
            Own::None | Own::Other(_) => 0.0,
            Own::Law(law) => law.width(),
            Own::Sum(table) => table.width(),
        }
    }

    /// Whether two are the same for certain; a caller's never are.
    pub fn same(&self, other: &Own) -> bool {
        match (self, other) {
            (Own::None, Own::None) => true,
            (Own::Law(a), Own::Law(b)) => a == b,
            (Own::Sum(a), Own::Sum(b)) => a.laws() == b.laws(),
            _ => false,
        }
    }

    /// Whether there is nothing.
    pub fn is_none(&self) -> bool {
        matches!(self, Own::None)
    }
}

fn larger(so_far: Option<f64>, next: f64) -> Option<f64> {
    Some(so_far.map_or(next, |it| it.max(next)))
}

fn scale(width: f64, law: Law) -> Option<Own> {
    if !(width.is_finite() && width >= 0.0) {
        return None;
    }
    Some(if width == 0.0 { Own::None } else { Own::Law(law) })
}

/// Returns the sum of independent laws, the normal ones merged.
pub fn sum_of(laws: Vec<Law>) -> Own {
    let normal = |it: &Law| if let Law::Normal(sigma) = it { Some(*sigma) } else { None };
    let variance: f64 = laws.iter().filter_map(normal).map(|it| it * it).sum();
    let mut rest: Vec<Law> = laws.into_iter().filter(|it| normal(it).is_none()).collect();
    rest.extend((variance > 0.0).then(|| Law::Normal(variance.sqrt())));
    match rest[..] {
        [] => Own::None,
        [law] => Own::Law(law),
        _ => Own::Sum(Table::new(rest)),
    }
}

/// Merges the normal pieces, splits the others into single ones, and tabulates where several are left.
fn of_pieces(pieces: &[Piece]) -> Option<Own> {
    let mut variance = 0.0;
    let mut laws = Vec::new();
    for piece in pieces {
        match Law::of(piece)? {
            Law::Normal(sigma) => variance += sigma * sigma * count(piece)?,
            law => {
                count(piece)?;
                laws.extend(std::iter::repeat_n(law, piece.count));
            }
        }
    }
    if variance > 0.0 {
        laws.push(Law::Normal(variance.sqrt()));
    }
    Some(sum_of(laws))
}

fn count(piece: &Piece) -> Option<f64> {
    (piece.count > 0).then_some(piece.count as f64)
}
