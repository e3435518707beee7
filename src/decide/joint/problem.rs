//! From the caller's unknowns to as few as there need be, in the order in which they are integrated.
//!
//! Merged, without any change of the joint distribution:
//! - normal unknowns that enter only linearly: their loadings B (points × unknowns) are rotated,
//!   `B → B·Q`, until only as many columns are left as B has independent directions;
//! - the columns of a multivariate t, in the same way; one column left over its χ² is a plain t;
//! - two equal rectangles of one count: a triangle;
//! - an unknown that acts at one point only: part of that point's rest.

use super::law::Law;
use super::own::Own;
use super::sampler::Sampler;
use super::{Point, Refused, Rest, Shared};
use super::{lattice, quadrature::Estimate};

/// A direction that changes no row by more than this, relative to the row, is none.
const DIRECTION: f64 = 1e-13;

/// One unknown.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Dim {
    /// Its law.
    pub law: Law,
    /// The divisor that multiplies it, if any.
    pub under: Option<usize>,
}

/// One point over the unknowns.
#[derive(Clone)]
pub struct Row {
    /// Lower limit less the estimate, −∞ where there is none.
    pub low: f64,
    /// Upper limit less the estimate.
    pub high: f64,
    /// One coefficient per unknown.
    pub linear: Vec<f64>,
    /// Products of two unknowns.
    pub products: Vec<(usize, usize, f64)>,
    /// The rest.
    pub own: Own,
}

/// Unknowns in the order of integration, the innermost last, and the points.
#[derive(Clone)]
pub struct Problem {
    /// The unknowns; a divisor comes before what it divides.
    pub dims: Vec<Dim>,
    /// The points.
    pub rows: Vec<Row>,
}

impl Problem {
    /// Checks the arguments; what points have for themselves is made ready once.
    ///
    /// # Errors
    ///
    /// [`Refused`], for the first that is out of range.
    pub fn new(shared: &[Shared], points: &[Point]) -> Result<Problem, Refused> {
        let (dims, places) = expand(shared)?;
        let mut rows: Vec<Row> = Vec::with_capacity(points.len());
        for (index, point) in points.iter().enumerate() {
            // Tables of sums are dear, and points often have the same.
            let same = |other: &Point| matches!((&other.rest, &point.rest), (Rest::Pieces(a), Rest::Pieces(b)) if a == b);
            let known = points[..index].iter().position(same).map(|at| rows[at].own.clone());
            let own = known.or_else(|| Own::new(&point.rest));
            rows.push(row(index, point, &places, dims.len(), own)?);
        }
        Ok(Problem { dims, rows })
    }

    /// Returns the problem of one of its points.
    pub fn alone(&self, index: usize) -> Problem {
        let rows = self.rows.get(index).cloned().into_iter().collect();
        Problem { dims: self.dims.clone(), rows }
    }

    /// Merges what can be merged and puts the unknowns in order.
    pub fn merged(mut self) -> Problem {
        self.rows.retain(|it| it.low > f64::NEG_INFINITY || it.high < f64::INFINITY);
        self.merge_normals();
        self.plain_t();
        self.private();
        self.order();
        self
    }

    /// Returns the product of the probabilities where no unknown is left.
    ///
    /// Method: M47.
    pub fn product(&self) -> Estimate {
        let value = self.rows.iter().map(|it| it.own.between(it.low, it.high)).product();
        Estimate { value, error: self.rounding() }
    }

    /// Returns what rounding may do to a product of all points.
    pub fn rounding(&self) -> f64 {
        // A table of a sum is good to 1e-8 (module `sum`).
        let tables = self.rows.iter().filter(|it| matches!(it.own, Own::Sum(_))).count();
        2e-15 * (1 + self.rows.len()) as f64 + 1e-8 * tables as f64
    }

    /// Returns whether the unknown is part of a product anywhere.
    pub fn multiplied(&self, dim: usize) -> bool {
        self.rows.iter().any(|row| row.products.iter().any(|it| it.0 == dim || it.1 == dim))
    }

    /// Rotates normals onto as few columns as their loadings have directions, group by group.
    fn merge_normals(&mut self) {
        let mut groups: Vec<Option<usize>> = self.dims.iter().map(|it| it.under).collect();
        groups.sort_unstable();
        groups.dedup();
        for group in groups {
            let fits = |d: &usize| {
                let dim = self.dims[*d];
                matches!(dim.law, Law::Normal(_)) && dim.under == group && !self.multiplied(*d)
            };
            let members: Vec<usize> = (0..self.dims.len()).filter(fits).collect();
            let matrix: Vec<Vec<f64>> = self
                .rows
                .iter()
                .map(|row| {
                    members.iter().map(|d| row.linear[*d] * self.dims[*d].law.width()).collect()
                })
                .collect();
            let columns = directions(matrix);
            for (at, d) in members.iter().enumerate() {
                self.dims[*d].law = Law::Normal(1.0);
                for (r, row) in self.rows.iter_mut().enumerate() {
                    row.linear[*d] = columns.get(at).map_or(0.0, |column| column[r]);
                }
            }
        }
    }

    /// Turns a divisor that divides one normal only into a t.
    fn plain_t(&mut self) {
        for chi in 0..self.dims.len() {
            let Law::Divisor(dof) = self.dims[chi].law else { continue };
            let under = |d: &usize| self.dims[*d].under == Some(chi) && self.acts(*d);
            let columns: Vec<usize> = (0..self.dims.len()).filter(under).collect();
            if let [column] = columns[..] {
                let law = Law::T { scale: self.dims[column].law.width(), dof };
                self.dims[column] = Dim { law, under: None };
            }
        }
    }

    fn acts(&self, dim: usize) -> bool {
        self.rows.iter().any(|it| it.linear[dim] != 0.0) || self.multiplied(dim)
    }

    /// Makes an unknown that acts at one point only a part of its rest where the two have a closed form.
    fn private(&mut self) {
        let mut order: Vec<usize> = (0..self.dims.len()).collect();
        order.sort_by(|a, b| self.widest(*b).total_cmp(&self.widest(*a)));
        for d in order {
            let Dim { law, under: None } = self.dims[d] else { continue };
            let acts: Vec<usize> =
                (0..self.rows.len()).filter(|r| self.rows[*r].linear[d] != 0.0).collect();
            let &[r] = &acts[..] else { continue };
            if self.multiplied(d) {
                continue;
            }
            let row = &mut self.rows[r];
            let law = law.scaled(row.linear[d].abs());
            let own = match (&row.own, law) {
                (Own::None, law) => Own::Law(law),
                (Own::Law(Law::Normal(a)), Law::Normal(b)) => {
                    Own::Law(Law::Normal(libm::hypot(*a, b)))
                }
                _ => continue,
            };
            row.own = own;
            row.linear[d] = 0.0;
        }
    }

    fn widest(&self, dim: usize) -> f64 {
        let width = self.dims[dim].law.width();
        self.rows.iter().map(|it| it.linear[dim].abs() * width).fold(0.0, f64::max)
    }

    /// Drops unknowns that act nowhere and sorts the others: the most important first, a divisor before
    /// its columns, and last the one that is integrated in closed form where points have no rest.
    fn order(&mut self) {
        let shares: Vec<Vec<f64>> = self.rows.iter().map(|row| self.shares(row)).collect();
        let total = |d: usize| shares.iter().map(|it| it[d]).sum::<f64>();
        let least = |d: usize| {
            let bare = self.rows.iter().zip(&shares).filter(|it| it.0.own.is_none());
            bare.map(|it| it.1[d]).fold(1.0, f64::min)
        };
        let mut alive: Vec<usize> = (0..self.dims.len()).filter(|d| self.acts(*d)).collect();
        let key = |d: &usize| (least(*d), total(*d));
        let Some(inner) = alive.iter().copied().max_by(|a, b| {
            let (a, b) = (key(a), key(b));
            a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1))
        }) else {
            self.keep(&[]);
            return;
        };
        alive.retain(|d| *d != inner);
        alive.sort_by(|a, b| total(*b).total_cmp(&total(*a)));
        alive.push(inner);
        let mut order = Vec::new();
        for d in alive {
            if let Some(chi) = self.dims[d].under.filter(|chi| !order.contains(chi)) {
                order.push(chi);
            }
            order.push(d);
        }
        self.keep(&order);
    }

    /// Returns the share of each unknown in the squared width of a point.
    fn shares(&self, row: &Row) -> Vec<f64> {
        let width = |d: usize| self.dims[d].law.width();
        let mut sizes: Vec<f64> =
            row.linear.iter().enumerate().map(|(d, it)| it * width(d) * it * width(d)).collect();
        for &(a, b, c) in &row.products {
            let size = c * width(a) * width(b);
            sizes[a] += size * size;
            sizes[b] += size * size;
        }
        let total = sizes.iter().sum::<f64>() + row.own.width() * row.own.width();
        sizes.iter().map(|it| if total > 0.0 { it / total } else { 0.0 }).collect()
    }

    /// Drops all unknowns but these, in this order.
    pub fn keep(&mut self, order: &[usize]) {
        let place = |d: usize| order.iter().position(|it| *it == d).unwrap_or(usize::MAX);
        for row in &mut self.rows {
            row.linear = order.iter().map(|d| row.linear[*d]).collect();
            for it in &mut row.products {
                *it = (place(it.0), place(it.1), it.2);
            }
        }
        let old = std::mem::take(&mut self.dims);
        let moved = |d: &usize| Dim { law: old[*d].law, under: old[*d].under.map(place) };
        self.dims = order.iter().map(moved).collect();
    }

    /// Returns the probability by a randomised lattice over all unknowns. Where points have no rest, the
    /// last unknown is drawn within the limits that they leave, and its probability taken as a factor, so
    /// that nothing jumps.
    ///
    /// Method: M49.
    pub fn by_lattice(&self, tolerance: f64) -> Estimate {
        let mut sampler = Sampler::new(self);
        let tables = sampler.error();
        let work = self.rows.len() + 2 * self.dims.len();
        let got = lattice::mean(self.dims.len(), work, tolerance, &mut |u| sampler.at(u));
        Estimate { value: got.value, error: got.error + self.rounding() + tables }
    }
}

/// Returns all unknowns, and which of them each of the caller's dimensions is the sum of.
fn expand(shared: &[Shared]) -> Result<(Vec<Dim>, Vec<Vec<usize>>), Refused> {
    let mut dims: Vec<Dim> = Vec::new();
    let mut places = Vec::new();
    for (index, it) in shared.iter().enumerate() {
        let refused = Refused::Shared { index };
        match *it {
            Shared::Piece(piece) => {
                let law = Law::of(&piece).filter(|_| piece.count > 0).ok_or(refused)?;
                let from = dims.len();
                dims.extend(parts(law, piece.count).map(|law| Dim { law, under: None }));
                places.push((from..dims.len()).collect());
            }
            Shared::Joint { columns, dof } => {
                if dof.is_nan() || dof < 1.0 {
                    return Err(refused);
                }
                let under = (dof < f64::INFINITY).then_some(dims.len());
                if under.is_some() {
                    dims.push(Dim { law: Law::Divisor(dof), under: None });
                }
                for _ in 0..columns {
                    places.push(vec![dims.len()]);
                    dims.push(Dim { law: Law::Normal(1.0), under });
                }
            }
        }
    }
    Ok((dims, places))
}

/// Returns the laws whose sum is that of `count` equal ones.
fn parts(law: Law, count: usize) -> impl Iterator<Item = Law> {
    let (pair, pairs, singles) = match law {
        Law::Normal(sigma) => (Law::Normal(sigma * (count as f64).sqrt()), 1, 0),
        Law::Trapezoid(half, 1.0) => (Law::Trapezoid(2.0 * half, 0.0), count / 2, count % 2),
        _ => (law, 0, count),
    };
    std::iter::repeat_n(pair, pairs).chain(std::iter::repeat_n(law, singles))
}

fn row(
    index: usize,
    point: &Point,
    places: &[Vec<usize>],
    count: usize,
    own: Option<Own>,
) -> Result<Row, Refused> {
    let refused = Refused::Number { point: index };
    let limits = [point.low, point.high].into_iter().flatten();
    let products = point.products.iter().map(|it| it.2);
    let mut all = limits.chain(products).chain(point.loadings.iter().copied());
    if !point.estimate.is_finite() || !all.all(f64::is_finite) {
        return Err(refused);
    }
    if point.loadings.len() != places.len() {
        let (found, expected) = (point.loadings.len(), places.len());
        return Err(Refused::Loadings { point: index, found, expected });
    }
    let low = point.low.map_or(f64::NEG_INFINITY, |it| it - point.estimate);
    let high = point.high.map_or(f64::INFINITY, |it| it - point.estimate);
    if low > high {
        return Err(Refused::Limits { point: index });
    }
    let mut linear = vec![0.0; count];
    for (loading, dims) in point.loadings.iter().zip(places) {
        dims.iter().for_each(|d| linear[*d] = *loading);
    }
    let mut products = Vec::new();
    for &(a, b, c) in &point.products {
        let (Some(left), Some(right)) = (places.get(a), places.get(b)) else {
            return Err(Refused::Product { point: index });
        };
        let pairs = left.iter().flat_map(|x| right.iter().map(move |y| (*x, *y, c)));
        products.extend(pairs.filter(|it| it.2 != 0.0));
    }
    let own = own.ok_or(refused)?;
    Ok(Row { low, high, linear, products, own })
}

/// Returns the columns of B·Q for the fewest columns: Gram-Schmidt over the rows of B, that with the most
/// left of itself first.
fn directions(mut rows: Vec<Vec<f64>>) -> Vec<Vec<f64>> {
    let norm = |row: &[f64]| row.iter().map(|it| it * it).sum::<f64>().sqrt();
    let full: Vec<f64> = rows.iter().map(|it| norm(it)).collect();
    let most = rows.first().map_or(0, Vec::len);
    let mut columns = Vec::new();
    while columns.len() < most {
        let left = |r: usize| if full[r] > 0.0 { norm(&rows[r]) / full[r] } else { 0.0 };
        let Some(pivot) = (0..rows.len()).max_by(|a, b| left(*a).total_cmp(&left(*b))) else {
            break;
        };
        if left(pivot) <= DIRECTION {
            break;
        }
        let length = norm(&rows[pivot]);
        let unit: Vec<f64> = rows[pivot].iter().map(|it| it / length).collect();
        let mut column = Vec::new();
        for row in &mut rows {
            let along: f64 = row.iter().zip(&unit).map(|it| it.0 * it.1).sum();
            row.iter_mut().zip(&unit).for_each(|(it, q)| *it -= along * q);
            column.push(along);
        }
        columns.push(column);
    }
    columns
}
