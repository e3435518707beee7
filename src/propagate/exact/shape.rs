//! One independent part of a sum in closed form: survival, density, characteristic function, envelope.
//!
//! Triangles and trapezoids are taken apart into rectangles before; as the centre of a product they
//! stay whole. Notation: `scale` is σ of a normal, s of t, the half-width a of rectangle, trapezoid and
//! arcsine, and the half-width about which that of a curvilinear trapezoid is spread. Every part is
//! symmetric about zero. Source: JCGM 101:2008, 6.4; closed forms by hand.

use super::characteristic::{StudentCf, sine_integral};
use crate::evidence::distribution::{normal, student};
use crate::evidence::{Distribution, Piece};
use std::f64::consts::{FRAC_2_PI, PI};
use std::sync::Arc;

/// Beyond this many standard deviations the normal has less than 1e-18 on both sides.
pub const NORMAL_REACH: f64 = 9.1;
/// Above these degrees of freedom t is the normal: its coverage factor differs by less than 1e-12.
const NORMAL_DOF: f64 = 1e13;

/// A shape of scale 1.
#[derive(Debug, Clone)]
pub enum Shape {
    /// Normal.
    Normal,
    /// Student's t.
    T(Arc<StudentCf>),
    /// Rectangle of half-width 1.
    Rectangle,
    /// Trapezoid of half-width 1; the top's share of the base (0 is a triangle).
    Trapezoid(f64),
    /// Arcsine on (−1, 1).
    Arcsine,
    /// Curvilinear trapezoid about half-width 1; half-width of the half-width.
    Curvilinear(f64),
}

/// Some independent variables of one shape and scale.
#[derive(Debug, Clone)]
pub struct Part {
    /// Shape.
    pub shape: Shape,
    /// Scale, above 0.
    pub scale: f64,
    /// How many.
    pub count: usize,
}

impl Shape {
    /// Returns a word that sorts parts the same way whatever order they are given in.
    fn rank(&self) -> (u8, f64) {
        match self {
            Shape::Normal => (0, 0.0),
            Shape::T(it) => (1, it.dof()),
            Shape::Rectangle => (2, 0.0),
            Shape::Trapezoid(top) => (3, *top),
            Shape::Arcsine => (4, 0.0),
            Shape::Curvilinear(ratio) => (5, *ratio),
        }
    }
}

/// Returns parts in an order of their own, equal ones counted together, normals joined to one.
pub fn canonical(mut parts: Vec<Part>) -> Vec<Part> {
    parts.sort_by(|a, b| {
        let rank = |it: &Part| it.shape.rank();
        let shapes = rank(a).0.cmp(&rank(b).0).then(rank(a).1.total_cmp(&rank(b).1));
        shapes.then(b.scale.total_cmp(&a.scale))
    });
    let mut joined: Vec<Part> = Vec::new();
    let mut variance = 0.0;
    for it in parts {
        if let Shape::Normal = it.shape {
            variance += it.count as f64 * it.scale * it.scale;
            continue;
        }
        match joined.last_mut() {
            Some(last) if last.scale == it.scale && last.shape.rank() == it.shape.rank() => {
                last.count += it.count;
            }
            _ => joined.push(it),
        }
    }
    if variance > 0.0 {
        joined.push(Part { shape: Shape::Normal, scale: variance.sqrt(), count: 1 });
    }
    joined
}

impl Part {
    /// Returns the parts of a piece whose unit is `unit`; rectangles of a trapezoid apart unless `whole`.
    pub fn of(piece: &Piece, unit: f64, whole: bool) -> Vec<Part> {
        let scale = piece.standard_uncertainty / unit;
        let half_width = piece.half_width().unwrap_or(0.0) / unit;
        let one = |shape, scale| vec![Part { shape, scale, count: piece.count }];
        match piece.shape {
            Distribution::T if piece.dof < NORMAL_DOF => {
                one(Shape::T(Arc::new(StudentCf::new(piece.dof))), scale)
            }
            Distribution::Normal | Distribution::T => one(Shape::Normal, scale),
            Distribution::Rectangular => one(Shape::Rectangle, half_width),
            Distribution::Triangular if whole => one(Shape::Trapezoid(0.0), half_width),
            Distribution::Trapezoidal(top) if whole && top < 1.0 => {
                one(Shape::Trapezoid(top), half_width)
            }
            Distribution::Triangular => {
                let mut halves = one(Shape::Rectangle, 0.5 * half_width);
                halves[0].count *= 2;
                halves
            }
            Distribution::Trapezoidal(top) => {
                let mut both = one(Shape::Rectangle, 0.5 * half_width * (1.0 + top));
                if top < 1.0 {
                    both.extend(one(Shape::Rectangle, 0.5 * half_width * (1.0 - top)));
                }
                both
            }
            Distribution::Arcsine => one(Shape::Arcsine, half_width),
            Distribution::CurvilinearTrapezoidal(ratio) => {
                one(Shape::Curvilinear(ratio), half_width / (1.0 + ratio))
            }
            Distribution::Exact | Distribution::Sum { .. } => Vec::new(),
        }
    }

    /// Returns the part with its scale times `|factor|`.
    pub fn times(&self, factor: f64) -> Part {
        Part { scale: self.scale * factor.abs(), ..self.clone() }
    }

    /// Whether the tails are those of t.
    pub fn is_heavy(&self) -> bool {
        matches!(self.shape, Shape::T(_))
    }

    /// Returns the half-width outside which the density of one is zero.
    pub fn half_width(&self) -> Option<f64> {
        match self.shape {
            Shape::Normal | Shape::T(_) => None,
            Shape::Curvilinear(ratio) => Some(self.scale * (1.0 + ratio)),
            Shape::Rectangle | Shape::Trapezoid(_) | Shape::Arcsine => Some(self.scale),
        }
    }

    /// Returns v with E exp(λX) ≤ exp(λ²v/2) for one (Hoeffding); infinite for t.
    pub fn variance_proxy(&self) -> f64 {
        let square = self.scale * self.scale;
        match self.shape {
            Shape::Normal => square,
            Shape::T(_) => f64::INFINITY,
            Shape::Rectangle => square / 3.0,
            Shape::Trapezoid(top) => square * (1.0 + top * top) / 6.0,
            Shape::Arcsine => square / 2.0,
            Shape::Curvilinear(ratio) => square * (1.0 + ratio) * (1.0 + ratio) / 3.0,
        }
    }

    /// Returns where one of them is beyond with probability at most 1e-18, on both sides together.
    pub fn reach(&self) -> f64 {
        match &self.shape {
            Shape::T(it) => {
                self.scale * student::upper_quantile(5e-19, it.dof()).unwrap_or(f64::MAX)
            }
            _ => self.half_width().unwrap_or(NORMAL_REACH * self.scale),
        }
    }

    /// Returns the points above zero where the density of one has a kink, a jump or a pole.
    pub fn kinks(&self) -> Vec<f64> {
        match self.shape {
            Shape::Normal | Shape::T(_) => Vec::new(),
            Shape::Rectangle | Shape::Arcsine => vec![self.scale],
            Shape::Trapezoid(top) => vec![self.scale * top, self.scale],
            Shape::Curvilinear(ratio) => {
                vec![self.scale * (1.0 - ratio), self.scale * (1.0 + ratio)]
            }
        }
    }

    /// Returns the density of one at `x`.
    pub fn density(&self, x: f64) -> f64 {
        let z = (x / self.scale).abs();
        let unit = match &self.shape {
            Shape::Normal => normal::density(z),
            Shape::T(it) => student::density(z, it.dof()).unwrap_or(0.0),
            Shape::Rectangle if z < 1.0 => 0.5,
            Shape::Trapezoid(top) if z < 1.0 => {
                if z < *top {
                    1.0 / (1.0 + top)
                } else {
                    (1.0 - z) / (1.0 - top * top)
                }
            }
            Shape::Arcsine if z < 1.0 => 1.0 / (PI * ((1.0 - z) * (1.0 + z)).sqrt()),
            Shape::Curvilinear(ratio) if z < 1.0 + ratio => {
                let narrow = (1.0 - ratio).max(z);
                libm::log1p((1.0 + ratio - narrow) / narrow) / (4.0 * ratio)
            }
            _ => 0.0,
        };
        unit / self.scale
    }

    /// Returns the probability of one above `x`, without cancellation on either side.
    pub fn survival(&self, x: f64) -> f64 {
        if x < 0.0 {
            return 1.0 - self.survival(-x);
        }
        let z = x / self.scale;
        match &self.shape {
            Shape::Normal => normal::survival(z),
            Shape::T(it) => student::survival(z, it.dof()).unwrap_or(0.0),
            _ if z >= self.half_width().unwrap_or(0.0) / self.scale => 0.0,
            Shape::Rectangle => 0.5 * (1.0 - z),
            Shape::Trapezoid(top) if z < *top => 0.5 - z / (1.0 + top),
            Shape::Trapezoid(top) => (1.0 - z) * (1.0 - z) / (2.0 * (1.0 - top * top)),
            Shape::Arcsine => libm::acos(z) / PI,
            Shape::Curvilinear(ratio) if z < 1.0 - ratio => {
                0.5 - z * libm::atanh(*ratio) / (2.0 * ratio)
            }
            Shape::Curvilinear(_) if z == 0.0 => 0.5,
            Shape::Curvilinear(ratio) => z * excess((1.0 + ratio - z) / z) / (4.0 * ratio),
        }
    }

    /// Returns the characteristic function of all of them at `t`.
    pub fn characteristic(&self, t: f64) -> f64 {
        let z = (self.scale * t).abs();
        let one = match &self.shape {
            Shape::Normal => libm::exp(-0.5 * z * z),
            Shape::T(it) => it.at(z),
            Shape::Rectangle => sinc(z),
            Shape::Trapezoid(top) => sinc(0.5 * z * (1.0 + top)) * sinc(0.5 * z * (1.0 - top)),
            Shape::Arcsine => libm::j0(z),
            Shape::Curvilinear(ratio) => curvilinear(z, *ratio),
        };
        power(one, self.count)
    }

    /// Returns a bound on |characteristic function| that falls with `t`, of all of them.
    pub fn envelope(&self, t: f64) -> f64 {
        let z = (self.scale * t).abs();
        let one = match &self.shape {
            Shape::Normal | Shape::T(_) => return self.characteristic(t),
            Shape::Rectangle => 1.0 / z,
            Shape::Trapezoid(top) => {
                let half = 0.5 * z;
                (1.0 / (half * (1.0 + top))).min(1.0) * (1.0 / (half * (1.0 - top))).min(1.0)
            }
            Shape::Arcsine => (FRAC_2_PI / z).sqrt(),
            Shape::Curvilinear(ratio) => {
                let first = libm::atanh(ratio.min(1.0 - 1e-12)) / (ratio * z);
                first.min(0.93 / (ratio * z))
            }
        };
        power(one.min(1.0), self.count)
    }
}

/// Returns δ − ln(1 + δ), δ ≥ 0.
fn excess(delta: f64) -> f64 {
    if delta > 0.1 {
        return delta - libm::log1p(delta);
    }
    let (mut sum, mut term) = (0.0, delta);
    for k in 2..22 {
        term *= -delta;
        sum -= term / f64::from(k);
    }
    sum
}

/// Returns sin z / z.
fn sinc(z: f64) -> f64 {
    if z < 1e-4 { 1.0 - z * z / 6.0 } else { libm::sin(z) / z }
}

/// Returns the mean of sinc(wz) over w from 1 − r to 1 + r.
fn curvilinear(z: f64, ratio: f64) -> f64 {
    let width = ratio * z;
    if width < 4.0 {
        let rule = super::gauss::sixteen();
        let mean: f64 = rule.iter().map(|&(x, w)| w * sinc(z * (1.0 + ratio * x))).sum();
        return 0.5 * mean;
    }
    (sine_integral(z + width) - sine_integral((z - width).max(0.0))) / (2.0 * width)
}

/// Returns x to the power `count` by repeated multiplication.
pub fn power(x: f64, count: usize) -> f64 {
    let (mut result, mut square, mut left) = (1.0, x, count);
    while left > 0 {
        if left % 2 == 1 {
            result *= square;
        }
        square *= square;
        left /= 2;
    }
    result
}
