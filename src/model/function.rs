//! Values and derivatives of the functions of one number, and of powers.
//!
//! Transcendental functions come from `libm`; integer powers are repeated products in a fixed
//! order (`x^2` is exactly `x*x`). Outside its domain a function says why; at a kink or a pole of
//! the derivative [`slopes`] says where.

use super::expr::Function;

/// The first three derivatives at a place.
pub(super) type Slopes = [f64; 3];

/// Returns the value of a function of one number, or the rule that `x` breaks.
/// The result can be infinite.
pub(super) fn value(function: Function, x: f64) -> Result<f64, &'static str> {
    let outside = |allowed: bool, rule| if allowed { Ok(()) } else { Err(rule) };
    match function {
        Function::Sqrt => {
            outside(x >= 0.0, "there is no root of a negative number").map(|()| x.sqrt())
        }
        Function::Ln => outside(x > 0.0, LOGARITHM).map(|()| libm::log(x)),
        Function::Log10 => outside(x > 0.0, LOGARITHM).map(|()| libm::log10(x)),
        Function::Asin => outside(x.abs() <= 1.0, ARC).map(|()| libm::asin(x)),
        Function::Acos => outside(x.abs() <= 1.0, ARC).map(|()| libm::acos(x)),
        Function::Exp => Ok(libm::exp(x)),
        Function::Sin => Ok(libm::sin(x)),
        Function::Cos => Ok(libm::cos(x)),
        Function::Tan => Ok(libm::tan(x)),
        Function::Atan => Ok(libm::atan(x)),
        Function::Sinh => Ok(libm::sinh(x)),
        Function::Cosh => Ok(libm::cosh(x)),
        Function::Tanh => Ok(libm::tanh(x)),
        Function::Abs | Function::Min | Function::Max | Function::Atan2 => Ok(x.abs()),
    }
}

const LOGARITHM: &str = "only a number above 0 has a logarithm";
const ARC: &str = "the number must lie between -1 and 1";

/// Returns the first three derivatives at `x`, where the function has the value `value`; or where
/// the derivative does not exist.
pub(super) fn slopes(function: Function, x: f64, value: f64) -> Result<Slopes, &'static str> {
    match function {
        Function::Sqrt if x == 0.0 => Err("at 0"),
        Function::Sqrt => {
            let first = 0.5 / value;
            let second = -0.5 * first / x;
            Ok([first, second, -1.5 * second / x])
        }
        Function::Abs if x == 0.0 => Err("at 0"),
        Function::Asin | Function::Acos if x.abs() == 1.0 => Err("at -1 and 1"),
        Function::Asin => Ok(arcsine_slopes(x)),
        Function::Acos => Ok(arcsine_slopes(x).map(|slope| -slope)),
        Function::Exp => Ok([value; 3]),
        Function::Ln => Ok(logarithm_slopes(x)),
        Function::Log10 => Ok(logarithm_slopes(x).map(|slope| slope / std::f64::consts::LN_10)),
        Function::Sin | Function::Cos | Function::Tan => Ok(circle_slopes(function, x, value)),
        Function::Sinh | Function::Cosh | Function::Tanh => {
            Ok(hyperbola_slopes(function, x, value))
        }
        Function::Atan => Ok(arctangent_slopes(x)),
        Function::Abs | Function::Min | Function::Max | Function::Atan2 => {
            Ok([if x < 0.0 { -1.0 } else { 1.0 }, 0.0, 0.0])
        }
    }
}

/// The first three derivatives of the arc tangent.
pub(super) fn arctangent_slopes(x: f64) -> Slopes {
    let first = 1.0 / (1.0 + x * x);
    let second = -2.0 * x * first * first;
    [first, second, (6.0 * x * x - 2.0) * first * first * first]
}

fn arcsine_slopes(x: f64) -> Slopes {
    let rest = (1.0 - x) * (1.0 + x);
    let first = 1.0 / rest.sqrt();
    [first, x * first / rest, (1.0 + 2.0 * x * x) * first / (rest * rest)]
}

/// The first three derivatives of the natural logarithm.
pub(super) fn logarithm_slopes(x: f64) -> Slopes {
    let first = 1.0 / x;
    [first, -first * first, 2.0 * first * first * first]
}

fn circle_slopes(function: Function, x: f64, value: f64) -> Slopes {
    let (sine, cosine) = (libm::sin(x), libm::cos(x));
    match function {
        Function::Sin => [cosine, -sine, -cosine],
        Function::Cos => [-sine, -cosine, sine],
        _ => {
            let first = 1.0 + value * value;
            [first, 2.0 * value * first, (2.0 + 6.0 * value * value) * first]
        }
    }
}

fn hyperbola_slopes(function: Function, x: f64, value: f64) -> Slopes {
    let (sine, cosine) = (libm::sinh(x), libm::cosh(x));
    match function {
        Function::Sinh => [cosine, sine, cosine],
        Function::Cosh => [sine, cosine, sine],
        _ => {
            let first = 1.0 / (cosine * cosine);
            [first, -2.0 * value * first, (6.0 * value * value - 2.0) * first]
        }
    }
}

/// Returns `x` to an integer power by repeated products, infinite for 0 to a negative one.
pub(super) fn integer_power(x: f64, exponent: i32) -> f64 {
    let mut left = exponent.unsigned_abs();
    let (mut result, mut base) = (1.0, x);
    while left > 0 {
        if left & 1 == 1 {
            result *= base;
        }
        left >>= 1;
        if left > 0 {
            base *= base;
        }
    }
    if exponent < 0 { 1.0 / result } else { result }
}

/// Returns the first three derivatives of an integer power at `x`.
pub(super) fn integer_power_slopes(x: f64, exponent: i32) -> Slopes {
    let mut factor = 1.0;
    [1, 2, 3].map(|order: i32| {
        factor *= f64::from(exponent) - f64::from(order - 1);
        if factor == 0.0 { 0.0 } else { factor * integer_power(x, exponent - order) }
    })
}

/// Returns `x` to any power, or the rule that the two break. The result can be infinite.
pub(super) fn power(x: f64, exponent: f64) -> Result<f64, &'static str> {
    if x == 0.0 && exponent < 0.0 {
        return Err("0 has no negative power");
    }
    if x < 0.0 && exponent != exponent.trunc() {
        return Err("a negative number has only whole powers");
    }
    Ok(libm::pow(x, exponent))
}

/// Returns the first three derivatives of a power at `x` for a constant exponent.
pub(super) fn power_slopes(x: f64, exponent: f64) -> Result<Slopes, &'static str> {
    if x == 0.0 && exponent != exponent.trunc() {
        return Err("at 0");
    }
    let mut factor = 1.0;
    Ok([1.0, 2.0, 3.0].map(|order: f64| {
        factor *= exponent - (order - 1.0);
        if factor == 0.0 { 0.0 } else { factor * libm::pow(x, exponent - order) }
    }))
}
