//! Probabilities of a point's rest from tables: [`Own`] in, the same to about 1e-9, cheaper, out.
//!
//! The lattice and the integrals over three unknowns ask for millions of them and need five to six digits. A
//! normal is a cubic per cell of 1/64 standard deviation; t and sums are cubics in `s = x/(w + x)`, which
//! meets the tails of t with few cells. The error of a table is measured at the middles of its cells.
//! Rests whose closed form is cheap, and a caller's, are asked as they are.

use std::rc::Rc;
use std::sync::LazyLock;

use super::law::{Law, normal_between};
use super::own::Own;
use super::problem::Problem;

/// Where the normal table ends, on both sides.
const END: f64 = 9.0;
/// Cells per standard deviation of it.
const FINE: f64 = 64.0;
/// Error of a probability from it: h⁴/384 times the largest third derivative of the density, twice.
pub const NORMAL_ERROR: f64 = 2e-10;
/// Cells of any other table.
const CELLS: usize = 2048;

/// Powers 0 to 3 of the place in a cell, of the distribution function of the standard normal.
static NORMAL: LazyLock<Vec<[f64; 4]>> = LazyLock::new(|| {
    let step = 1.0 / FINE;
    let value = |x: f64| normal_between(f64::NEG_INFINITY, x);
    let slope = |x: f64| step * 0.398_942_280_401_432_7 * libm::exp(-0.5 * x * x);
    let knot = |k: u32| f64::from(k) * step - END;
    let cell = |k: u32| {
        let (from, to) = (knot(k), knot(k + 1));
        cubic(value(from), value(to), slope(from), slope(to))
    };
    (0..(2.0 * END * FINE) as u32).map(cell).collect()
});

/// Returns the distribution function of the standard normal; absolute error below 1e-10.
pub fn normal_below(x: f64) -> f64 {
    let place = (x + END) * FINE;
    if place <= 0.0 {
        return 0.0;
    }
    NORMAL.get(place as usize).map_or(1.0, |cell| at(cell, place - f64::from(place as u32)))
}

/// The rest of one point.
#[derive(Clone)]
pub enum Swift {
    /// One over the standard deviation.
    Normal(f64),
    /// Tabulated.
    Table(Rc<Cubics>),
    /// As it is.
    Plain(Own),
}

/// The probability above `w·s/(1 − s)`, symmetric about zero.
pub struct Cubics {
    width: f64,
    cells: Vec<[f64; 4]>,
    error: f64,
}

impl Swift {
    /// Returns the rests of all points, those that are equal as one table.
    pub fn of(problem: &Problem) -> Vec<Swift> {
        let mut all: Vec<Swift> = Vec::with_capacity(problem.rows.len());
        for (index, row) in problem.rows.iter().enumerate() {
            let known = problem.rows[..index].iter().position(|it| it.own.same(&row.own));
            all.push(known.map_or_else(|| Swift::new(&row.own), |at| all[at].clone()));
        }
        all
    }

    fn new(own: &Own) -> Swift {
        match own {
            Own::Law(Law::Normal(sigma)) => Swift::Normal(1.0 / sigma),
            Own::Law(Law::T { .. }) | Own::Sum(_) => Swift::Table(Rc::new(Cubics::new(own))),
            Own::None | Own::Law(_) | Own::Other(_) => Swift::Plain(own.clone()),
        }
    }

    /// Returns the probability between two limits.
    pub fn between(&self, low: f64, high: f64) -> f64 {
        match self {
            Swift::Normal(by) => normal_below(high * by) - normal_below(low * by),
            Swift::Table(table) => table.below(high) - table.below(low),
            Swift::Plain(own) => own.between(low, high),
        }
    }

    /// Returns a bound on what the table adds to the error of a probability.
    pub fn error(&self) -> f64 {
        match self {
            Swift::Normal(_) => NORMAL_ERROR,
            Swift::Table(table) => 2.0 * table.error,
            Swift::Plain(_) => 0.0,
        }
    }
}

impl Cubics {
    fn new(own: &Own) -> Cubics {
        let width = own.width();
        let step = 1.0 / CELLS as f64;
        let exact =
            |s: f64| if s < 1.0 { own.between(width * s / (1.0 - s), f64::INFINITY) } else { 0.0 };
        let values: Vec<f64> = (0..=CELLS).map(|k| exact(k as f64 * step)).collect();
        // Odd about (0, ½).
        let value = |k: isize| match usize::try_from(k) {
            Ok(k) => values[k],
            Err(_) => 1.0 - values[k.unsigned_abs()],
        };
        let end = CELLS as isize;
        let slope = |k: isize| match end - k {
            0 => 0.5 * (3.0 * value(k) - 4.0 * value(k - 1) + value(k - 2)),
            1 => 0.5 * (value(k + 1) - value(k - 1)),
            _ => (8.0 * (value(k + 1) - value(k - 1)) - value(k + 2) + value(k - 2)) / 12.0,
        };
        let cell = |k: isize| cubic(value(k), value(k + 1), slope(k), slope(k + 1));
        let cells: Vec<[f64; 4]> = (0..CELLS as isize).map(cell).collect();
        let off = |k: usize| (at(&cells[k], 0.5) - exact((k as f64 + 0.5) * step)).abs();
        let error = (0..CELLS).step_by(3).map(off).fold(0.0, f64::max);
        Cubics { width, cells, error: 2.0 * error }
    }

    fn below(&self, x: f64) -> f64 {
        let size = x.abs();
        let place = CELLS as f64 * (size / (self.width + size));
        let cell = self.cells.get(place as usize).filter(|_| size < f64::INFINITY);
        let above = cell.map_or(0.0, |cell| at(cell, place - f64::from(place as u32)));
        if x > 0.0 { 1.0 - above } else { above }
    }
}

/// Returns the powers of the cubic through two values with two slopes per cell.
fn cubic(from: f64, to: f64, start: f64, end: f64) -> [f64; 4] {
    let rise = to - from;
    [from, start, 3.0 * rise - 2.0 * start - end, start + end - 2.0 * rise]
}

fn at(cell: &[f64; 4], t: f64) -> f64 {
    cell[0] + t * (cell[1] + t * (cell[2] + t * cell[3]))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::decide::joint::sum::Table;

    /// Against the closed forms and the table of a sum that they stand for, within the stated error.
    #[test]
    fn tables_agree_with_what_they_stand_for() {
        let sum = |a, b| Own::Sum(Table::new(vec![a, b]));
        let owns = [
            Own::Law(Law::Normal(0.3)),
            Own::Law(Law::T { scale: 0.3, dof: 1.0 }),
            Own::Law(Law::T { scale: 0.3, dof: 1.5 }),
            Own::Law(Law::T { scale: 0.3, dof: 50.0 }),
            sum(Law::Trapezoid(1.0, 1.0), Law::Normal(0.1)),
            sum(Law::Trapezoid(1.0, 1.0), Law::Trapezoid(0.5, 1.0)),
            sum(Law::Trapezoid(1.0, 1.0), Law::T { scale: 0.1, dof: 2.0 }),
        ];
        for (index, own) in owns.iter().enumerate() {
            let swift = Swift::new(own);
            assert!(swift.error() < 1e-6, "{index}: {:e}", swift.error());
            for k in -700..700 {
                let (low, high) = (f64::from(k) * 0.003_7, f64::from(k) * 0.003_7 + 0.41);
                let off = (swift.between(low, high) - own.between(low, high)).abs();
                assert!(off <= swift.error(), "{index} {low}: {off:e}, {:e}", swift.error());
            }
            let whole = swift.between(f64::NEG_INFINITY, f64::INFINITY);
            assert!((whole - 1.0).abs() < 1e-15, "{index}: {whole}");
        }
    }
}
