//! Given correlations: whether a set of them is possible, and the factor of a correlation matrix.
//!
//! Over contributors × points the correlation of linked contributors is R ⊗ S, where S, the
//! correlation between points, is the same for all partners of a link and has 1 on its diagonal and
//! `shared`, 0 to 1, elsewhere: S is positive semidefinite, so R ⊗ S is exactly when R is. Links
//! connect contributors to groups; each group is tested by itself. The columns of common data are
//! shared by all points, and a line's later observation by none: where columns differ in `shared`,
//! R is zero between them, so they are blocks apart. No link reaches a column, a thermal part or a
//! member of `largest_of`, so no contributor is in two groups. `nalgebra` finds eigenvalues.

use crate::budget::{Budget, Evidence, Link};
use crate::evidence::Measured;
use crate::fault::{Fault, Origin};
use nalgebra::{DMatrix, SymmetricEigen};
use std::collections::BTreeMap;

/// Eigenvalues down to this, relative to the size of the matrix, are rounding of a zero.
const ROUNDING: f64 = 1e-12;

/// Sets of more contributors than this are not searched for the smallest impossible one.
const SEARCHED: usize = 12;

/// Contributors that links connect, and their correlation matrix.
#[derive(Debug, Clone)]
pub(crate) struct Group {
    /// Indices of contributors, ascending.
    pub(crate) members: Vec<usize>,
    /// Correlation matrix, row by row.
    pub(crate) r: Vec<Vec<f64>>,
    /// Degrees of freedom of all members together, where they are one component of variance.
    pub(crate) dof: Option<f64>,
}

impl Group {
    /// Returns the group of some of its members.
    pub(crate) fn restricted(&self, keep: impl Fn(usize) -> bool) -> Group {
        let kept: Vec<usize> =
            (0..self.members.len()).filter(|&row| keep(self.members[row])).collect();
        let r = kept.iter().map(|&a| kept.iter().map(|&b| self.r[a][b]).collect()).collect();
        let members = kept.iter().map(|&row| self.members[row]).collect();
        Group { members, r, dof: self.dof }
    }

    /// Returns F with R = F·Fᵀ, column by column; columns of vanishing eigenvalues are left out.
    pub(crate) fn factor(&self) -> Vec<Vec<f64>> {
        if self.members.is_empty() {
            return Vec::new();
        }
        let eigen = SymmetricEigen::new(matrix(&self.r));
        let n = self.members.len();
        let columns = (0..n).filter(|&k| eigen.eigenvalues[k] > ROUNDING * n as f64);
        columns
            .map(|k| {
                let root = eigen.eigenvalues[k].sqrt();
                (0..n).map(|row| eigen.eigenvectors[(row, k)] * root).collect()
            })
            .collect()
    }
}

fn matrix(r: &[Vec<f64>]) -> DMatrix<f64> {
    DMatrix::from_fn(r.len(), r.len(), |row, column| r[row][column])
}

/// Whether a correlation matrix is positive semidefinite, but for rounding.
///
/// Method: M19.
fn is_possible(r: &[Vec<f64>]) -> bool {
    let eigen = SymmetricEigen::new(matrix(r));
    eigen.eigenvalues.iter().all(|it| *it >= -ROUNDING * r.len() as f64)
}

/// Returns the groups of linked contributors.
///
/// # Errors
///
/// Per impossible group a fault that names the smallest set that cannot be.
pub(super) fn groups(budget: &Budget) -> Result<Vec<Group>, Vec<Fault>> {
    let groups = connected(budget.links());
    let faults: Vec<Fault> =
        groups.iter().filter(|it| !is_possible(&it.r)).map(|it| impossible(budget, it)).collect();
    if faults.is_empty() { Ok(groups) } else { Err(faults) }
}

/// Returns the columns of a dataset as a group: one component of variance.
///
/// Method: M57.
pub(super) fn of_dataset(budget: &Budget, index: usize, measured: &Measured) -> Group {
    let (mut members, mut columns) = (Vec::new(), Vec::new());
    for (at, it) in budget.contributors().iter().enumerate() {
        match it.evidence {
            Evidence::Column { dataset, column, .. } if dataset == index => {
                members.push(at);
                columns.push(column);
            }
            _ => {}
        }
    }
    let row = |a: &usize| columns.iter().map(|b| measured.correlation[*a][*b]).collect();
    Group { members, r: columns.iter().map(row).collect(), dof: Some(measured.dof) }
}

/// Returns the connected sets of contributors with their correlation matrices.
fn connected(links: &[Link]) -> Vec<Group> {
    let mut leader: BTreeMap<usize, usize> = BTreeMap::new();
    for link in links {
        let (a, b) = link.between;
        let (a, b) = (*leader.entry(a).or_insert(a), *leader.entry(b).or_insert(b));
        let (keep, drop) = (a.min(b), a.max(b));
        leader.values_mut().filter(|it| **it == drop).for_each(|it| *it = keep);
    }
    let mut sets: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
    for (member, leader) in leader {
        sets.entry(leader).or_default().push(member);
    }
    sets.into_values().map(|members| group(members, links)).collect()
}

fn group(members: Vec<usize>, links: &[Link]) -> Group {
    let n = members.len();
    let mut r = vec![vec![0.0; n]; n];
    for (row, line) in r.iter_mut().enumerate() {
        line[row] = 1.0;
    }
    let place = |member: usize| members.iter().position(|it| *it == member);
    for link in links {
        if let (Some(a), Some(b)) = (place(link.between.0), place(link.between.1)) {
            r[a][b] = link.r;
            r[b][a] = link.r;
        }
    }
    Group { members, r, dof: None }
}

fn impossible(budget: &Budget, group: &Group) -> Fault {
    let set = smallest_impossible(group);
    let names: Vec<String> =
        set.members.iter().map(|&it| format!("`{}`", budget.contributors()[it].name)).collect();
    let inside =
        |it: &&Link| set.members.contains(&it.between.0) && set.members.contains(&it.between.1);
    let origin = budget.links().iter().rfind(inside).map_or(Origin::NONE, |it| it.origin);
    Fault::new(origin, format!("the correlations of {} cannot all hold", names.join(", ")))
        .rule(
            "a correlation matrix has no negative eigenvalue; pairs that are not linked have r = 0",
        )
        .help("link the remaining pairs too, or bring the coefficients nearer to 0")
}

/// Returns the smallest subset that cannot be: by search in small groups, by elimination in large ones.
fn smallest_impossible(group: &Group) -> Group {
    let n = group.members.len();
    if n <= SEARCHED {
        for size in 3..=n {
            for mask in 0u32..1 << n {
                if mask.count_ones() as usize != size {
                    continue;
                }
                let members = &group.members;
                let subset = group.restricted(|it| {
                    members
                        .iter()
                        .position(|other| *other == it)
                        .is_some_and(|row| mask >> row & 1 == 1)
                });
                if !is_possible(&subset.r) {
                    return subset;
                }
            }
        }
    }
    let mut set = group.clone();
    for &candidate in &group.members {
        let smaller = set.restricted(|it| it != candidate);
        if !is_possible(&smaller.r) {
            set = smaller;
        }
    }
    set
}

#[cfg(test)]
mod tests {
    use super::*;

    fn links(list: &[(usize, usize, f64)]) -> Vec<Link> {
        list.iter().map(|&(a, b, r)| Link { origin: Origin::NONE, between: (a, b), r }).collect()
    }

    /// By hand: three pairs with r = −0.9 have the eigenvalue 1 − 1.8 < 0; r = −0.5 gives exactly 0.
    /// Method: M19.
    #[test]
    fn tells_possible_from_impossible_sets() {
        let possible =
            |r: f64| is_possible(&connected(&links(&[(0, 1, r), (1, 2, r), (0, 2, r)]))[0].r);
        assert!(!possible(-0.9));
        assert!(possible(-0.5) && possible(1.0) && possible(0.0));
        assert!(!possible(-0.5 - 1e-9));
    }

    #[test]
    fn finds_the_smallest_impossible_set_among_more() {
        let list = links(&[(0, 1, 0.1), (1, 2, 0.9), (2, 3, 0.9), (1, 3, -0.9), (3, 4, 0.1)]);
        let group = &connected(&list)[0];
        assert_eq!(group.members, [0, 1, 2, 3, 4]);
        assert_eq!(smallest_impossible(group).members, [1, 2, 3]);
        let apart = links(&[(0, 1, 0.1), (0, 2, 0.9), (2, 4, 0.9), (0, 4, -0.9), (2, 3, 0.1)]);
        assert_eq!(smallest_impossible(&connected(&apart)[0]).members, [0, 2, 4]);
    }

    /// Three with r = −0.9 and four with r = −0.4 (eigenvalue 1 − 3·0.4): leaving out one after the
    /// other would end at the four.
    #[test]
    fn finds_three_where_four_would_do_too() {
        let mut list = vec![(0, 1, -0.9), (1, 2, -0.9), (0, 2, -0.9), (2, 3, 0.01)];
        list.extend((3..7).flat_map(|a| (a + 1..7).map(move |b| (a, b, -0.4))));
        assert_eq!(smallest_impossible(&connected(&links(&list))[0]).members, [0, 1, 2]);
    }

    #[test]
    fn separates_groups_that_no_link_connects() {
        let groups = connected(&links(&[(4, 5, 0.5), (0, 2, 0.5), (2, 3, 0.1)]));
        let members: Vec<_> = groups.iter().map(|it| it.members.clone()).collect();
        assert_eq!(members, [vec![0, 2, 3], vec![4, 5]]);
    }

    /// R = F·Fᵀ within rounding, also for a singular R.
    #[test]
    fn factor_gives_the_matrix_back() {
        for r in [0.8, 1.0, -0.5] {
            let group = &connected(&links(&[(0, 1, r), (1, 2, r), (0, 2, r)]));
            if !is_possible(&group[0].r) {
                continue;
            }
            let factor = group[0].factor();
            for a in 0..3 {
                for b in 0..3 {
                    let back: f64 = factor.iter().map(|column| column[a] * column[b]).sum();
                    assert!((back - group[0].r[a][b]).abs() < 1e-12, "{r} {a} {b}: {back}");
                }
            }
        }
    }
}
