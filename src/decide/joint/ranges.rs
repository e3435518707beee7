//! Where a linear or quadratic function of one unknown lies between two limits.
//!
//! A set is a list of closed intervals, ascending and disjoint; whole line: one, from −∞ to ∞.

/// Closed intervals, ascending.
pub type Ranges = Vec<(f64, f64)>;

/// The whole line.
pub fn all() -> Ranges {
    vec![(f64::NEG_INFINITY, f64::INFINITY)]
}

/// Returns where `low ≤ base + slope·z + square·z² ≤ high`.
pub fn within(base: f64, slope: f64, square: f64, low: f64, high: f64) -> Ranges {
    if square == 0.0 {
        if slope == 0.0 {
            return if low <= base && base <= high { all() } else { Vec::new() };
        }
        let (one, two) = ((low - base) / slope, (high - base) / slope);
        return if low <= high { vec![(one.min(two), one.max(two))] } else { Vec::new() };
    }
    let under = below(square, slope, base - high);
    if low == f64::NEG_INFINITY {
        under
    } else {
        intersect(&under, &below(-square, -slope, low - base))
    }
}

/// Returns where `square·z² + slope·z + constant ≤ 0`, `square` not 0.
fn below(square: f64, slope: f64, constant: f64) -> Ranges {
    if constant == f64::NEG_INFINITY {
        return all();
    }
    let discriminant = slope * slope - 4.0 * square * constant;
    if discriminant < 0.0 {
        return if square > 0.0 { Vec::new() } else { all() };
    }
    // The root of larger size first, the other by the product of both: nothing cancels.
    let sum = -0.5 * (slope + discriminant.sqrt().copysign(slope));
    let far = sum / square;
    let near = if sum == 0.0 { 0.0 } else { constant / sum };
    let (one, two) = (far.min(near), far.max(near));
    if square > 0.0 {
        vec![(one, two)]
    } else {
        vec![(f64::NEG_INFINITY, one), (two, f64::INFINITY)]
    }
}

/// Returns the common part of two sets.
pub fn intersect(a: &[(f64, f64)], b: &[(f64, f64)]) -> Ranges {
    let mut common = Vec::new();
    for first in a {
        for second in b {
            let (from, to) = (first.0.max(second.0), first.1.min(second.1));
            if from <= to {
                common.push((from, to));
            }
        }
    }
    common
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        /// A point is in the set exactly where the function is within: by evaluation, off the edges.
        #[test]
        fn holds_the_points_where_the_function_is_within(
            base in -2.0..2.0_f64, slope in -2.0..2.0_f64,
            square in prop_oneof![Just(0.0), Just(1e-9), -2.0..2.0_f64],
            low in prop_oneof![Just(f64::NEG_INFINITY), -2.0..0.5_f64], width in 0.0..3.0_f64,
            z in -5.0..5.0_f64,
        ) {
            let high = if low.is_finite() { low + width } else { width };
            let value = base + slope * z + square * z * z;
            prop_assume!((value - low).abs() > 1e-9 && (value - high).abs() > 1e-9);
            let inside = within(base, slope, square, low, high).iter().any(|it| it.0 <= z && z <= it.1);
            prop_assert_eq!(inside, low < value && value < high);
        }
    }

    #[test]
    fn a_constant_is_within_everywhere_or_nowhere() {
        assert_eq!(within(1.0, 0.0, 0.0, 0.0, 1.0), all());
        assert!(within(1.1, 0.0, 0.0, 0.0, 1.0).is_empty());
        assert!(within(0.0, 1.0, 0.0, 1.0, 0.5).is_empty());
    }
}
