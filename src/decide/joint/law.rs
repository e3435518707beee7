//! One unknown: its density in a coordinate in which it is smooth, and its probabilities.
//!
//! A [`Law`] is cut into [`Chart`]s. On a chart the unknown is `z(x)` and its probability element
//! `weight(x)·dx`, both analytic up to the ends, so that a Gauss rule converges fast: t in
//! `z = √ν·s·sinh x` has the element `∝ cosh^−ν x`, arcsine in `z = a·sin x` is uniform, the flank of the
//! curvilinear trapezoid in `z = H·eˣ` is `∝ |x|·eˣ`. Unbounded laws end where less than 1e-17 is left.
//!
//! Pure numbers. Densities: JCGM 101:2008, 6.4 (rectangular to arcsine, t), closed forms.

use crate::evidence::distribution::student;
use crate::evidence::{Distribution, Piece};

/// Beyond this many standard deviations a normal leaves 4e-18 on either side.
pub const NORMAL_END: f64 = 8.6;

/// ln(1e-18), turned round: where a density has fallen to 1e-18 of its peak.
const FALL: f64 = 41.446_531_673_892_82;

/// The law of one unknown about zero.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Law {
    /// Normal with this standard deviation.
    Normal(f64),
    /// t, scaled.
    T {
        /// Its scale.
        scale: f64,
        /// Its degrees of freedom.
        dof: f64,
    },
    /// Trapezoid of this half-width and share of the top; a triangle has 0, a rectangle 1.
    Trapezoid(f64, f64),
    /// Curvilinear trapezoid: its half-width's value and that value's half-width.
    Doubtful(f64, f64),
    /// Arcsine of this half-width.
    Arcsine(f64),
    /// √(ν/χ²), what a normal is multiplied by to become t with ν degrees of freedom.
    Divisor(f64),
}

/// A stretch of a law.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Chart {
    form: Form,
    /// Where it begins, in its coordinate.
    pub from: f64,
    /// Where it ends.
    pub to: f64,
}

#[derive(Debug, Clone, Copy, PartialEq)]
enum Form {
    Normal {
        sigma: f64,
    },
    T {
        width: f64,
        dof: f64,
        peak: f64,
    },
    /// Density `start + slope·z`.
    Straight {
        start: f64,
        slope: f64,
    },
    Arcsine {
        half: f64,
    },
    /// z = ±outer·e^(∓x), density ln(outer/|z|)·factor.
    Log {
        outer: f64,
        factor: f64,
        upper: bool,
    },
    Divisor {
        dof: f64,
        factor: f64,
    },
}

impl Law {
    /// Returns the law of one piece; `None` where it has none (exact, sum) or its numbers are out of range.
    pub fn of(piece: &Piece) -> Option<Law> {
        let u = piece.standard_uncertainty;
        if !(u.is_finite() && u > 0.0) {
            return None;
        }
        let half = piece.half_width().unwrap_or(f64::NAN);
        let law = match piece.shape {
            Distribution::Normal => Law::Normal(u),
            Distribution::T if piece.dof == f64::INFINITY => Law::Normal(u),
            Distribution::T if piece.dof >= 1.0 => Law::T { scale: u, dof: piece.dof },
            Distribution::Rectangular => Law::Trapezoid(half, 1.0),
            Distribution::Triangular => Law::Trapezoid(half, 0.0),
            Distribution::Trapezoidal(top) if (0.0..=1.0).contains(&top) => {
                Law::Trapezoid(half, top)
            }
            Distribution::CurvilinearTrapezoidal(ratio) if ratio > 0.0 && ratio <= 1.0 => {
                let value = half / (1.0 + ratio);
                Law::Doubtful(value, ratio * value)
            }
            Distribution::Arcsine => Law::Arcsine(half),
            _ => return None,
        };
        Some(law)
    }

    /// Returns the law with every value multiplied by `factor > 0`.
    pub fn scaled(self, factor: f64) -> Law {
        match self {
            Law::Normal(sigma) => Law::Normal(sigma * factor),
            Law::T { scale, dof } => Law::T { scale: scale * factor, dof },
            Law::Trapezoid(half, top) => Law::Trapezoid(half * factor, top),
            Law::Doubtful(value, doubt) => Law::Doubtful(value * factor, doubt * factor),
            Law::Arcsine(half) => Law::Arcsine(half * factor),
            Law::Divisor(dof) => Law::Divisor(dof),
        }
    }

    /// Returns a measure of its width: the standard deviation, of t the scale.
    pub fn width(self) -> f64 {
        match self {
            Law::Normal(scale) | Law::T { scale, .. } => scale,
            Law::Trapezoid(half, top) => half * ((1.0 + top * top) / 6.0).sqrt(),
            Law::Doubtful(value, doubt) => (value * value / 3.0 + doubt * doubt / 9.0).sqrt(),
            Law::Arcsine(half) => half / 2f64.sqrt(),
            Law::Divisor(dof) => (2.0 / dof).sqrt(),
        }
    }

    /// Returns the largest size that the law can take, cut where 1e-17 is left of it.
    pub fn reach(self) -> f64 {
        let ends = self.charts();
        ends.iter().flat_map(|it| [it.z(it.from).abs(), it.z(it.to).abs()]).fold(0.0, f64::max)
    }

    /// Returns the half-widths at which the density of a bounded law is not smooth.
    pub fn kinks(self) -> Vec<f64> {
        match self {
            Law::Trapezoid(half, top) => vec![half, half * top],
            Law::Doubtful(value, doubt) => vec![value + doubt, value - doubt],
            Law::Arcsine(half) => vec![half],
            Law::Normal(_) | Law::T { .. } | Law::Divisor(_) => Vec::new(),
        }
    }

    /// Returns its charts, in ascending order of the unknown (the divisor's in descending order).
    pub fn charts(self) -> Vec<Chart> {
        let chart = |form, from, to| Chart { form, from, to };
        match self {
            Law::Normal(sigma) => vec![chart(Form::Normal { sigma }, -NORMAL_END, NORMAL_END)],
            Law::T { scale, dof } => {
                let width = scale * dof.sqrt();
                let peak = student::density(0.0, dof).unwrap_or(f64::NAN) * dof.sqrt();
                let end = 2.0 * libm::asinh((0.5 * libm::expm1(FALL / dof)).sqrt());
                vec![chart(Form::T { width, dof, peak }, -end, end)]
            }
            Law::Arcsine(half) => {
                let quarter = std::f64::consts::FRAC_PI_2;
                vec![chart(Form::Arcsine { half }, -quarter, quarter)]
            }
            Law::Trapezoid(half, top) => trapezoid(half, top),
            Law::Doubtful(value, doubt) => doubtful(value, doubt),
            Law::Divisor(dof) => {
                let peak = |y: f64| 0.5 * dof * (y - libm::expm1(y));
                let low = end_of(|y| peak(-y));
                let high = end_of(peak);
                let form = |factor| Form::Divisor { dof, factor };
                let total = total(chart(form(1.0), -low, high));
                vec![chart(form(1.0 / total), -low, high)]
            }
        }
    }

    /// Returns the probability of `lo < z < hi`; absolute error about 1e-15. NaN for a divisor, which
    /// nobody asks.
    pub fn between(self, lo: f64, hi: f64) -> f64 {
        if hi <= lo {
            return 0.0;
        }
        match self {
            Law::Normal(sigma) => normal_between(lo / sigma, hi / sigma),
            Law::T { scale, dof } => {
                student::between(lo / scale, hi / scale, dof).unwrap_or(f64::NAN)
            }
            _ if lo <= 0.0 && hi >= 0.0 => 1.0 - self.above(-lo) - self.above(hi),
            _ if hi < 0.0 => self.above(-hi) - self.above(-lo),
            _ => self.above(lo) - self.above(hi),
        }
    }

    /// Returns the probability above `x ≥ 0` of a bounded law.
    fn above(self, x: f64) -> f64 {
        match self {
            Law::Trapezoid(half, top) => {
                let height = 1.0 / (half * (1.0 + top));
                if x >= half {
                    0.0
                } else if x > half * top {
                    0.5 * height * (half - x) * (half - x) / (half * (1.0 - top))
                } else {
                    0.5 - height * x
                }
            }
            Law::Doubtful(value, doubt) => {
                let (inner, outer) = (value - doubt, value + doubt);
                if x >= outer {
                    0.0
                } else if x > inner {
                    x * excess((outer - x) / x) / (4.0 * doubt)
                } else if x > 0.0 {
                    0.5 - x * (libm::log1p(2.0 * doubt / inner) / (4.0 * doubt))
                } else {
                    0.5
                }
            }
            Law::Arcsine(half) if x < half => libm::acos(x / half) / std::f64::consts::PI,
            Law::Arcsine(_) => 0.0,
            Law::Normal(_) | Law::T { .. } | Law::Divisor(_) => f64::NAN,
        }
    }
}

impl Chart {
    /// Returns the unknown at `x`.
    pub fn z(&self, x: f64) -> f64 {
        match self.form {
            Form::Normal { sigma } => sigma * x,
            Form::T { width, .. } => width * libm::sinh(x),
            Form::Straight { .. } => x,
            Form::Arcsine { half } => half * libm::sin(x),
            Form::Log { outer, upper: true, .. } => outer * libm::exp(x),
            Form::Log { outer, upper: false, .. } => -outer * libm::exp(-x),
            Form::Divisor { .. } => libm::exp(-0.5 * x),
        }
    }

    /// Returns the probability element at `x`, per unit of `x`.
    pub fn weight(&self, x: f64) -> f64 {
        match self.form {
            Form::Normal { .. } => PEAK * libm::exp(-0.5 * x * x),
            Form::T { dof, peak, .. } => {
                let half = libm::sinh(0.5 * x);
                peak * libm::exp(-dof * libm::log1p(2.0 * half * half))
            }
            Form::Straight { start, slope } => start + slope * x,
            Form::Arcsine { .. } => std::f64::consts::FRAC_1_PI,
            Form::Log { outer, factor, .. } => factor * x.abs() * outer * libm::exp(-x.abs()),
            Form::Divisor { dof, factor } => factor * libm::exp(0.5 * dof * (x - libm::expm1(x))),
        }
    }

    /// Returns the coordinate at which the unknown is `z`, kept within the chart.
    pub fn x(&self, z: f64) -> f64 {
        let x = match self.form {
            Form::Normal { sigma } => z / sigma,
            Form::T { width, .. } => libm::asinh(z / width),
            Form::Straight { .. } => z,
            Form::Arcsine { half } => libm::asin((z / half).clamp(-1.0, 1.0)),
            Form::Log { outer, upper: true, .. } if z > 0.0 => libm::log(z / outer),
            Form::Log { upper: true, .. } => self.from,
            Form::Log { outer, .. } if z < 0.0 => -libm::log(-z / outer),
            Form::Log { .. } => self.to,
            Form::Divisor { .. } if z > 0.0 => -2.0 * libm::log(z),
            Form::Divisor { .. } => self.to,
        };
        x.clamp(self.from, self.to)
    }
}

/// 1/√(2π).
const PEAK: f64 = 0.398_942_280_401_432_7;

/// Returns the probability between two points of the standard normal; absolute error about 1e-16.
/// Faster than `evidence::distribution::normal::between`, whose relative accuracy a product of probabilities does not need.
pub fn normal_between(lo: f64, hi: f64) -> f64 {
    if hi <= lo {
        return 0.0;
    }
    if lo > 0.0 {
        return normal_above(lo) - normal_above(hi);
    }
    if hi < 0.0 {
        return normal_above(-hi) - normal_above(-lo);
    }
    1.0 - normal_above(-lo) - normal_above(hi)
}

fn normal_above(x: f64) -> f64 {
    if x > 9.0 { 0.0 } else { 0.5 * libm::erfc(x * std::f64::consts::FRAC_1_SQRT_2) }
}

/// Returns `e − ln(1 + e)` for `e ≥ 0`, by its series where the two would cancel.
fn excess(e: f64) -> f64 {
    if e > 0.01 {
        return e - libm::log1p(e);
    }
    let term = |n: f64| if n % 2.0 == 0.0 { 1.0 / n } else { -1.0 / n };
    e * e * (2..10).rev().fold(0.0, |sum, n| sum * e + term(f64::from(n)))
}

fn trapezoid(half: f64, top: f64) -> Vec<Chart> {
    let height = 1.0 / (half * (1.0 + top));
    let flat = half * top;
    let mut charts = Vec::new();
    let flank = |sign: f64| {
        let slope = -sign * height / (half - flat);
        Form::Straight { start: -sign * slope * half, slope }
    };
    if top < 1.0 {
        charts.push(Chart { form: flank(-1.0), from: -half, to: -flat });
    }
    if top > 0.0 {
        let form = Form::Straight { start: height, slope: 0.0 };
        charts.push(Chart { form, from: -flat, to: flat });
    }
    if top < 1.0 {
        charts.push(Chart { form: flank(1.0), from: flat, to: half });
    }
    charts
}

fn doubtful(value: f64, doubt: f64) -> Vec<Chart> {
    let (inner, outer) = (value - doubt, value + doubt);
    let factor = 0.25 / doubt;
    let depth = if inner > 0.0 { libm::log1p(2.0 * doubt / inner).min(45.0) } else { 45.0 };
    let log = |upper| Form::Log { outer, factor, upper };
    let mut charts = vec![Chart { form: log(false), from: 0.0, to: depth }];
    if inner > 0.0 && depth < 45.0 {
        let form = Form::Straight { start: factor * depth, slope: 0.0 };
        charts.push(Chart { form, from: -inner, to: inner });
    }
    charts.push(Chart { form: log(true), from: -depth, to: 0.0 });
    charts
}

/// Returns the `y > 0` at which `exponent` has fallen from about 0 to −[`FALL`].
fn end_of(exponent: impl Fn(f64) -> f64) -> f64 {
    let mut high = 1.0;
    while exponent(high) > exponent(0.0) - FALL {
        high *= 2.0;
    }
    let mut low = 0.0;
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if exponent(middle) > exponent(0.0) - FALL { low = middle } else { high = middle }
    }
    high
}

/// Returns the integral of the weight, by 4096 trapezoids: the weight and its derivatives vanish at both
/// ends, so the rule is exact to rounding.
fn total(chart: Chart) -> f64 {
    let step = (chart.to - chart.from) / 4096.0;
    (0..=4096).map(|k| chart.weight(chart.from + step * f64::from(k))).sum::<f64>() * step
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::decide::joint::quadrature::{Estimate, adaptive};

    pub fn all() -> Vec<Law> {
        vec![
            Law::Normal(0.7),
            Law::T { scale: 0.4, dof: 1.0 },
            Law::T { scale: 0.4, dof: 4.5 },
            Law::T { scale: 0.4, dof: 3e5 },
            Law::Trapezoid(1.3, 0.0),
            Law::Trapezoid(1.3, 0.4),
            Law::Trapezoid(1.3, 1.0),
            Law::Doubtful(1.0, 0.3),
            Law::Doubtful(1.0, 1e-5),
            Law::Doubtful(1.0, 1.0),
            Law::Arcsine(0.8),
        ]
    }

    /// The closed forms of the probabilities against the integral of the charts' weights, which share
    /// nothing but the shape: any error in either would show.
    #[test]
    fn charts_integrate_to_the_closed_probabilities() {
        for law in all() {
            for (lo, hi) in [(-1e30, 1e30), (-0.3, 0.9), (0.1, 0.2), (-1.2, -0.75), (0.0, 1.0)] {
                let mut sum = 0.0;
                for chart in law.charts() {
                    let (from, to) = (chart.x(lo), chart.x(hi));
                    let parts: Vec<f64> =
                        (0..=8).map(|k| from + (to - from) * f64::from(k) / 8.0).collect();
                    sum += adaptive(&parts, 1e-14, 200, &mut |x| Estimate::exact(chart.weight(x)))
                        .value;
                }
                let closed = law.between(lo, hi);
                assert!((sum - closed).abs() < 2e-13, "{law:?}, {lo}…{hi}: {sum}, {closed}");
            }
        }
    }

    /// The mean of 1/z² = χ²/ν is 1 and of its square 1 + 2/ν: moments of χ², by hand.
    #[test]
    fn the_divisor_has_the_moments_of_chi_squared() {
        for dof in [1.0, 2.5, 9.0, 400.0] {
            let chart = Law::Divisor(dof).charts()[0];
            let moment = |power: i32| {
                let parts: Vec<f64> = (0..=16)
                    .map(|k| chart.from + (chart.to - chart.from) * f64::from(k) / 16.0)
                    .collect();
                let term = |x: f64| {
                    let z = chart.z(x);
                    chart.weight(x) * (0..power).fold(1.0, |it, _| it / (z * z))
                };
                adaptive(&parts, 1e-13, 400, &mut |x| Estimate::exact(term(x))).value
            };
            assert!((moment(0) - 1.0).abs() < 1e-12, "{dof}");
            assert!((moment(1) - 1.0).abs() < 1e-11, "{dof}: {}", moment(1));
            assert!((moment(2) - 1.0 - 2.0 / dof).abs() < 1e-10, "{dof}: {}", moment(2));
        }
    }

    #[test]
    fn a_piece_gives_a_law_of_its_standard_uncertainty() {
        let shapes = [
            Distribution::Normal,
            Distribution::T,
            Distribution::Rectangular,
            Distribution::Triangular,
            Distribution::Trapezoidal(0.3),
            Distribution::CurvilinearTrapezoidal(0.2),
            Distribution::Arcsine,
        ];
        for shape in shapes {
            let law = Law::of(&Piece::one(shape, 0.37, 5.0)).expect("a law");
            assert!((law.width() / 0.37 - 1.0).abs() < 1e-14, "{shape:?}");
        }
        for shape in [Distribution::Exact, Distribution::Sum { kurtosis: 2.0 }] {
            assert_eq!(Law::of(&Piece::one(shape, 0.37, 5.0)), None);
        }
        assert_eq!(Law::of(&Piece::one(Distribution::T, 0.37, 0.5)), None);
    }
}
