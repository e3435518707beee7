//! Direct integration over one variable of the sum, for rough shapes over a rest that is narrow beside
//! them: there the characteristic function falls too slowly.
//!
//! P(S > x) = E P(rest > x − Y), by bisection of panels; the rest has a closed form, a table, or, under a
//! star, is a sum of its own for every y.

use super::Refusal;
use super::body::Body;
use super::engine::{Engine, ROUNDING, plan};
use super::far::Far;
use super::gauss::{Integral, integrate};
use super::shape::{Part, Shape};
use super::star::Star;
use super::table::Table;
use std::f64::consts::FRAC_PI_2;

/// Largest change by the last bisection of a panel.
const TOLERANCE: f64 = 4e-16;
/// Most evaluations for one value.
const EVALUATIONS: usize = 400_000;
/// Tables of heavy tails end at this many spreads.
const TABLED: f64 = 256.0;

/// A part of count 1 over a rest.
#[derive(Debug, Clone)]
pub struct Average {
    outer: Part,
    rest: Box<Engine>,
    /// Of the rest, unless that has a closed form.
    table: Option<Table>,
    /// The tail of the rest beyond its table.
    far: Option<Far>,
    /// Distances from zero at which the rest changes its nature.
    marks: Vec<f64>,
}

/// A star over a rest.
#[derive(Debug, Clone)]
pub struct Condition {
    star: Star,
    rest: Body,
    marks: Vec<f64>,
}

impl Average {
    /// Prepares `outer` over `rest`.
    ///
    /// # Errors
    ///
    /// Why the rest cannot be had.
    ///
    /// Method: M36.
    pub fn new(outer: Part, rest: &Body) -> Result<Average, Refusal> {
        let engine = plan(rest)?;
        let marks = marks(rest);
        let closed = matches!(engine, Engine::Closed(_));
        let table = (!closed).then(|| {
            let end = rest.reach().min(TABLED * rest.spread());
            let mut breaks = vec![-end, 0.0, end];
            breaks.extend(marks.iter().flat_map(|it| [*it, -it]).filter(|it| it.abs() < end));
            breaks.sort_by(f64::total_cmp);
            breaks.dedup();
            Table::new(&|x| engine.survival(x), &breaks)
        });
        let far = table.as_ref().and_then(|_| Far::of(rest));
        Ok(Average { outer, rest: Box::new(engine), table, far, marks })
    }

    /// Returns P(S > x) and a bound on its error.
    pub fn survival(&self, x: f64) -> (f64, f64) {
        let closed = matches!(*self.rest, Engine::Closed(_));
        let mut worst: f64 = 0.0;
        let mut rest = |y: f64| match &self.table {
            Some(table) if table.holds(x - y) => table.survival(x - y),
            _ => {
                let beyond = self.far.as_ref().map(|far| far.survival(x - y));
                let (value, error) = beyond.unwrap_or_else(|| match closed {
                    true => self.rest.rounded(x - y),
                    false => self.rest.survival(x - y),
                });
                worst = worst.max(error);
                value
            }
        };
        let found = mean(&self.outer, &mut rest, &self.breaks(x), TOLERANCE);
        worst = worst.max(self.table.as_ref().map_or(0.0, Table::error));
        let shifted = if closed { self.shifted(x) } else { 0.0 };
        (found.value, found.error + worst + shifted)
    }

    /// Returns what the rounding of x − y does to P(S > x) over a closed form: the rest may rise steeply
    /// there, but S does not, whose density is what counts.
    fn shifted(&self, x: f64) -> f64 {
        let density = match self.outer.shape {
            Shape::Rectangle => 0.5 / self.outer.scale,
            _ => self.density(x).min(1e6),
        };
        ROUNDING * (x.abs() + self.outer.reach()) * density
    }

    /// Returns the density at `x`.
    pub fn density(&self, x: f64) -> f64 {
        let mut rest = |y: f64| match &self.table {
            Some(table) if table.holds(x - y) => table.density(x - y),
            _ => match &self.far {
                Some(far) => far.density(x - y),
                None => self.rest.density(x - y),
            },
        };
        mean(&self.outer, &mut rest, &self.breaks(x), 1e-12 / self.outer.scale).value
    }

    fn breaks(&self, x: f64) -> Vec<f64> {
        let mut all: Vec<f64> = self.marks.iter().flat_map(|it| [x - it, x + it]).collect();
        all.push(x);
        all
    }
}

impl Condition {
    /// Prepares `star` over `rest`.
    pub fn under(star: Star, rest: Body) -> Condition {
        let marks = marks(&rest);
        Condition { star, rest, marks }
    }

    /// Returns P(S > x) and a bound on its error.
    pub fn survival(&self, x: f64) -> (f64, f64) {
        let mut worst: f64 = 0.0;
        let mut given = |y: f64| {
            let (value, error) =
                self.given(y).map_or((0.5, 1.0), |it| it.survival(x - self.star.slope * y));
            worst = worst.max(error);
            value
        };
        let found = mean(&self.star.centre, &mut given, &self.breaks(x), TOLERANCE);
        (found.value, found.error + worst)
    }

    /// Returns the density at `x`.
    pub fn density(&self, x: f64) -> f64 {
        let mut given =
            |y: f64| self.given(y).map_or(0.0, |it| it.density(x - self.star.slope * y));
        mean(&self.star.centre, &mut given, &self.breaks(x), 1e-9 / self.star.spread()).value
    }

    fn given(&self, y: f64) -> Result<Engine, Refusal> {
        plan(&self.rest.with(self.star.given(y)))
    }

    fn breaks(&self, x: f64) -> Vec<f64> {
        let mut all = vec![0.0];
        let rays = self.star.rays.iter().filter(|it| it.product != 0.0);
        all.extend(rays.map(|it| -it.slope / it.product));
        if self.star.slope != 0.0 {
            let at = |distance: f64| (x + distance) / self.star.slope;
            all.push(at(0.0));
            all.extend(self.marks.iter().flat_map(|it| [at(*it), at(-it)]));
        }
        all
    }
}

/// Returns the distances from zero at which a sum changes its nature.
fn marks(body: &Body) -> Vec<f64> {
    let mut all = vec![body.reach()];
    for it in &body.parts {
        all.extend([it.scale, 6.0 * it.scale, 40.0 * it.scale]);
        all.extend(it.kinks());
    }
    all.extend(body.stars.iter().flat_map(|it| [it.spread(), 6.0 * it.spread()]));
    all.retain(|it| *it > 0.0);
    all.sort_by(f64::total_cmp);
    all.dedup();
    all
}

/// Returns the mean of `f` over one variable of `part`; `breaks` are where f is rough.
fn mean(part: &Part, f: &mut dyn FnMut(f64) -> f64, breaks: &[f64], tolerance: f64) -> Integral {
    let end = part.reach();
    let mut all = vec![-end, 0.0, end];
    all.extend(part.kinks().into_iter().flat_map(|it| [it, -it]));
    if part.half_width().is_none() {
        let mut at = part.scale;
        while at < end {
            all.extend([at, -at]);
            at *= 3.0;
        }
    }
    all.extend(breaks);
    all.retain(|it| it.abs() <= end);
    let mut left = EVALUATIONS;
    if let Shape::Arcsine = part.shape {
        let scale = part.scale;
        let mut angles: Vec<f64> =
            all.iter().map(|it| libm::asin((it / scale).clamp(-1.0, 1.0))).collect();
        angles.sort_by(f64::total_cmp);
        let mut turned = |angle: f64| f(scale * libm::sin(angle)) / (2.0 * FRAC_PI_2);
        return integrate(&mut turned, &angles, tolerance, &mut left);
    }
    all.sort_by(f64::total_cmp);
    integrate(&mut |y| part.density(y) * f(y), &all, tolerance, &mut left)
}
