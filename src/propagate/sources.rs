//! The contributors of one scope at one point as what a simulation draws.
//!
//! Independent contributors are drawn piece by piece. Linked ones together: normals exactly, t with
//! equal ν (and the columns of a dataset) as a multivariate t, other shapes by a Gaussian copula, whose
//! correlation is that of the normals behind it. A linked contributor that is a sum of pieces is drawn
//! as a normal. Members of a set are put in the order of their names, so that the order of the file
//! changes nothing.

use super::combine::Component;
use super::correlation::Group;
use super::simulation::{Law, Source, Target};
use super::terms::Ground;
use crate::budget::Evidence;
use crate::budget::parts::THERMAL_KEYS;
use crate::evidence::{Distribution, Piece, Spread};

/// What is drawn, and what was put for the true joint distribution.
pub(super) struct Sources {
    pub(super) list: Vec<Source>,
    /// Linked contributors that are drawn by a Gaussian copula.
    pub(super) copula: Vec<usize>,
    /// Linked contributors that are sums of several pieces, not all normal, and are drawn as normals.
    pub(super) as_normal: Vec<usize>,
}

/// Returns what is drawn for the components that count.
///
/// Method: M72.
pub(super) fn sources(ground: &Ground) -> Sources {
    let mut found = Sources { list: Vec::new(), copula: Vec::new(), as_normal: Vec::new() };
    for it in ground.components.iter().filter(|it| !ground.is_grouped(it)) {
        let spread = ground.spread(it);
        found.list.push(Source {
            name: ground.stream(it),
            place: ground.place(it),
            law: Law::Pieces(spread.pieces()),
            targets: vec![target(it, spread)],
        });
    }
    for group in ground.groups {
        linked(ground, group, &mut found);
    }
    found
}

fn target(it: &Component, spread: &Spread) -> Target {
    Target { leaf: it.leaf, factor: it.u / spread.standard_uncertainty }
}

impl Ground<'_> {
    /// Returns the name of a component's stream.
    fn stream(&self, it: &Component) -> String {
        let contributor = &self.site.plan.budget.contributors()[it.contributor];
        match contributor.evidence {
            Evidence::Thermal(_) => {
                let part = it.leaf - self.site.plan.layout.thermal(it.contributor) - 1;
                format!("{} / {}", contributor.name, THERMAL_KEYS[part])
            }
            _ => contributor.name.clone(),
        }
    }

    /// Returns the point that a component's draws belong to; `None` for what all points share.
    fn place(&self, it: &Component) -> Option<String> {
        let shared = self.site.plan.budget.contributors()[it.contributor].shared;
        (shared != 1.0).then(|| self.site.point.title())
    }
}

/// Adds the source of one set of linked components.
fn linked(ground: &Ground, group: &Group, found: &mut Sources) {
    let mut members: Vec<(usize, &Component)> = Vec::new();
    for it in ground.components {
        if let Ok(row) = group.members.binary_search(&it.contributor) {
            members.push((row, it));
        }
    }
    members.sort_by_key(|it| ground.stream(it.1));
    let Some(first) = members.first() else { return };
    let r: Vec<Vec<f64>> =
        members.iter().map(|a| members.iter().map(|b| group.r[a.0][b.0]).collect()).collect();
    let margins: Vec<Piece> = members.iter().map(|it| margin(ground.spread(it.1))).collect();
    let joint_t = joint_t(group, &margins);
    let plain = |it: &Piece| it.shape == Distribution::Normal;
    if joint_t.is_none() && !margins.iter().all(plain) {
        let rough = members.iter().zip(&margins).filter(|it| !plain(it.1));
        found.copula.extend(rough.map(|it| it.0.1.contributor));
    }
    let sums = members.iter().filter(|it| is_rough_sum(ground.spread(it.1)));
    found.as_normal.extend(sums.map(|it| it.1.contributor));
    let names: Vec<String> = members.iter().map(|it| ground.stream(it.1)).collect();
    found.list.push(Source {
        name: names.join(" & "),
        place: ground.place(first.1),
        law: Law::Linked { factor: factor(&r), margins, joint_t },
        targets: members.iter().map(|it| target(it.1, ground.spread(it.1))).collect(),
    });
}

/// Whether a spread is a sum of pieces that are not all normal.
fn is_rough_sum(spread: &Spread) -> bool {
    matches!(spread.distribution, Distribution::Sum { .. })
        && spread.pieces().iter().any(|it| it.shape != Distribution::Normal)
}

/// Returns the one piece that a linked spread is drawn as.
fn margin(spread: &Spread) -> Piece {
    let (u, dof) = (spread.standard_uncertainty, spread.dof);
    match spread.distribution {
        Distribution::Sum { .. } | Distribution::Exact => {
            Piece::one(Distribution::Normal, u, f64::INFINITY)
        }
        Distribution::T if dof.is_infinite() => Piece::one(Distribution::Normal, u, dof),
        shape => Piece::one(shape, u, dof),
    }
}

/// Returns ν of a multivariate t: of a dataset, or where all are t with the same ν.
fn joint_t(group: &Group, margins: &[Piece]) -> Option<f64> {
    match group.dof {
        Some(dof) => dof.is_finite().then_some(dof),
        None => {
            let first = margins.first().filter(|it| it.shape == Distribution::T)?;
            let alike = |it: &Piece| it.shape == Distribution::T && it.dof == first.dof;
            margins.iter().all(alike).then_some(first.dof)
        }
    }
}

/// Returns F with R = F·Fᵀ, by column, for a positive semidefinite R: by Cholesky, in the order given.
pub(super) fn factor(r: &[Vec<f64>]) -> Vec<Vec<f64>> {
    let n = r.len();
    let mut columns: Vec<Vec<f64>> = Vec::new();
    let mut rest: Vec<Vec<f64>> = r.to_vec();
    for pivot in 0..n {
        let left = rest[pivot][pivot];
        if left <= 1e-14 {
            continue;
        }
        let root = left.sqrt();
        let column: Vec<f64> =
            (0..n).map(|row| if row < pivot { 0.0 } else { rest[row][pivot] / root }).collect();
        for row in pivot..n {
            for other in pivot..n {
                rest[row][other] -= column[row] * column[other];
            }
        }
        columns.push(column);
    }
    columns
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand: F·Fᵀ gives R back, also where R is singular (r = 1 and r = −1).
    /// Method: M72.
    #[test]
    fn the_factor_gives_the_correlation_matrix_back() {
        let cases = [
            vec![vec![1.0, 0.8], vec![0.8, 1.0]],
            vec![vec![1.0, -1.0], vec![-1.0, 1.0]],
            vec![vec![1.0, 1.0, 0.3], vec![1.0, 1.0, 0.3], vec![0.3, 0.3, 1.0]],
        ];
        for r in cases {
            let columns = factor(&r);
            for (a, row) in r.iter().enumerate() {
                for (b, expected) in row.iter().enumerate() {
                    let got: f64 = columns.iter().map(|it| it[a] * it[b]).sum();
                    assert!((got - expected).abs() < 1e-15, "{r:?} {a} {b}: {got}");
                }
            }
        }
    }
}
