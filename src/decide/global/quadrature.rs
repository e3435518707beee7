//! Adaptive quadrature over panels: Gauss–Kronrod with 7 and 15 nodes, the panel with the largest error
//! halved until the whole is good enough.
//!
//! Source: nodes and weights as in R. Piessens et al., QUADPACK (Springer 1983), rule of 15 points; they are
//! checked in the tests by the polynomials that the rule integrates exactly.

/// Nodes of the 15-point rule from the end to the middle.
const NODES: [f64; 8] = [
    0.991_455_371_120_812_6,
    0.949_107_912_342_758_5,
    0.864_864_423_359_769_1,
    0.741_531_185_599_394_4,
    0.586_087_235_467_691_1,
    0.405_845_151_377_397_2,
    0.207_784_955_007_898_47,
    0.0,
];

/// Their weights.
const FIFTEEN: [f64; 8] = [
    0.022_935_322_010_529_224,
    0.063_092_092_629_978_55,
    0.104_790_010_322_250_19,
    0.140_653_259_715_525_92,
    0.169_004_726_639_267_9,
    0.190_350_578_064_785_42,
    0.204_432_940_075_298_9,
    0.209_482_141_084_727_82,
];

/// Weights of the 7-point rule on every second node.
const SEVEN: [f64; 4] = [
    0.129_484_966_168_869_7,
    0.279_705_391_489_276_64,
    0.381_830_050_505_118_9,
    0.417_959_183_673_469_4,
];

/// Panels at most.
const PANELS: usize = 3000;

/// One panel: its ends, its integral and the error of it.
struct Panel {
    from: f64,
    to: f64,
    value: f64,
    error: f64,
}

/// Returns the integral of `f` over panels between ascending marks, to `relative` of itself; `None` where
/// `f` has no value or the work is too much.
pub(super) fn integral(
    marks: &[f64],
    relative: f64,
    f: &dyn Fn(f64) -> Option<f64>,
) -> Option<f64> {
    let mut panels = Vec::with_capacity(marks.len());
    for pair in marks.windows(2) {
        if pair[1] > pair[0] {
            panels.push(panel(pair[0], pair[1], f)?);
        }
    }
    loop {
        let value: f64 = panels.iter().map(|it| it.value).sum();
        let error: f64 = panels.iter().map(|it| it.error).sum();
        if !value.is_finite() {
            return None;
        }
        if error <= relative * value.abs() || error < f64::MIN_POSITIVE {
            return Some(value);
        }
        if panels.len() >= PANELS {
            return None;
        }
        let worst = |a: usize, b: usize| if panels[b].error > panels[a].error { b } else { a };
        let index = (0..panels.len()).reduce(worst)?;
        let Panel { from, to, .. } = panels.swap_remove(index);
        let middle = 0.5 * (from + to);
        if middle <= from || middle >= to {
            return None;
        }
        panels.push(panel(from, middle, f)?);
        panels.push(panel(middle, to, f)?);
    }
}

fn panel(from: f64, to: f64, f: &dyn Fn(f64) -> Option<f64>) -> Option<Panel> {
    let (centre, half) = (0.5 * (from + to), 0.5 * (to - from));
    let (mut fifteen, mut seven, mut size) = (0.0, 0.0, 0.0);
    for (index, node) in NODES.iter().enumerate() {
        let sum = match *node == 0.0 {
            true => f(centre)?,
            false => f(centre - half * node)? + f(centre + half * node)?,
        };
        fifteen += FIFTEEN[index] * sum;
        size += FIFTEEN[index] * sum.abs();
        if index % 2 == 1 {
            seven += SEVEN[index / 2] * sum;
        }
    }
    // The difference of both rules is far above the error of the better one: its power 1.5, scaled.
    let apart = (fifteen - seven).abs();
    let error = if size > 0.0 {
        size * libm::pow((200.0 * apart / size).min(1.0), 1.5).min(1.0)
    } else {
        apart
    };
    let error = error.min(apart.max(f64::EPSILON * size));
    Some(Panel { from, to, value: half * fifteen, error: half * error })
}

/// Returns marks within a range, ascending and distinct, both ends included.
pub(super) fn marks(range: (f64, f64), inner: impl IntoIterator<Item = f64>) -> Vec<f64> {
    let (from, to) = range;
    let mut marks: Vec<f64> = inner.into_iter().filter(|it| *it > from && *it < to).collect();
    marks.extend([from, to]);
    marks.sort_by(f64::total_cmp);
    marks.dedup();
    marks
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The 15-point rule is exact for polynomials up to degree 22; by hand: ∫₋₁¹ xⁿ = 2/(n+1) for even n.
    #[test]
    fn the_rule_is_exact_for_polynomials() {
        for degree in [0, 2, 8, 14, 22] {
            let power = |x: f64| Some((0..degree).fold(1.0, |it, _| it * x));
            let got = panel(-1.0, 1.0, &power).unwrap().value;
            let expected = 2.0 / (f64::from(degree) + 1.0);
            assert!((got / expected - 1.0).abs() < 1e-14, "{degree}: {got}");
        }
    }

    /// By hand: ∫₀¹ √x = 2/3, its slope infinite at 0.
    #[test]
    fn corners_are_found() {
        let got = integral(&[0.0, 1.0], 1e-11, &|x| Some(libm::sqrt(x))).unwrap();
        assert!((got * 1.5 - 1.0).abs() < 1e-11, "{got}");
        assert_eq!(integral(&[0.0, 1.0], 1e-11, &|_| None), None);
        assert_eq!(integral(&[0.0, 1.0], 1e-11, &|x| Some(1.0 / x)), None, "it has no value");
    }
}
