//! Adaptive integration on an interval by the Gauss-Kronrod pair of 7 and 15 nodes.
//!
//! Turns a function with an error of its own into an integral with an error. The panel with the largest
//! error is halved until the sum is within the tolerance or the panels are used up; the sums have a
//! fixed order. Nodes and weights: QUADPACK (Piessens et al. 1983), as printed in scipy 1.17.

/// A figure and its estimated absolute error.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Estimate {
    /// The figure.
    pub value: f64,
    /// Its error.
    pub error: f64,
}

impl Estimate {
    /// Returns a figure without error.
    pub fn exact(value: f64) -> Estimate {
        Estimate { value, error: 0.0 }
    }

    /// Returns both, multiplied.
    pub fn times(self, factor: f64) -> Estimate {
        Estimate { value: self.value * factor, error: self.error * factor.abs() }
    }
}

const NODES: [f64; 7] = [
    0.991_455_371_120_812_6,
    0.949_107_912_342_758_5,
    0.864_864_423_359_769_1,
    0.741_531_185_599_394_4,
    0.586_087_235_467_691_1,
    0.405_845_151_377_397_2,
    0.207_784_955_007_898_47,
];
const KRONROD: [f64; 7] = [
    0.022_935_322_010_529_224,
    0.063_092_092_629_978_55,
    0.104_790_010_322_250_18,
    0.140_653_259_715_525_92,
    0.169_004_726_639_267_9,
    0.190_350_578_064_785_4,
    0.204_432_940_075_298_9,
];
const KRONROD_CENTRE: f64 = 0.209_482_141_084_727_83;
const GAUSS: [f64; 3] =
    [0.129_484_966_168_869_7, 0.279_705_391_489_276_64, 0.381_830_050_505_118_9];
const GAUSS_CENTRE: f64 = 0.417_959_183_673_469_4;

struct Panel {
    from: f64,
    to: f64,
    value: f64,
    /// Error of the rule.
    error: f64,
    /// Error of the integrand.
    inner: f64,
}

/// Returns the integral over the panels between the ascending `ends`, halved until the error is within
/// `tolerance` or there are `most` panels more.
pub fn adaptive(
    ends: &[f64],
    tolerance: f64,
    most: usize,
    f: &mut dyn FnMut(f64) -> Estimate,
) -> Estimate {
    let pairs = ends.windows(2).filter(|it| it[1] > it[0]);
    let mut panels: Vec<Panel> = pairs.map(|it| panel(it[0], it[1], f)).collect();
    for _ in 0..most {
        let error: f64 = panels.iter().map(|it| it.error).sum();
        if error <= tolerance {
            break;
        }
        let Some(worst) =
            (0..panels.len()).max_by(|a, b| panels[*a].error.total_cmp(&panels[*b].error))
        else {
            break;
        };
        let (from, to) = (panels[worst].from, panels[worst].to);
        let middle = 0.5 * (from + to);
        if !(from < middle && middle < to) {
            break;
        }
        panels[worst] = panel(from, middle, f);
        panels.push(panel(middle, to, f));
    }
    let value = panels.iter().map(|it| it.value).sum();
    Estimate { value, error: panels.iter().map(|it| it.error + it.inner).sum() }
}

/// Applies the pair of rules; the error is the difference of the two, or QUADPACK's where that is larger.
/// QUADPACK's alone takes a small difference for a smooth integrand, which a kink between nodes belies.
fn panel(from: f64, to: f64, f: &mut dyn FnMut(f64) -> Estimate) -> Panel {
    let (half, middle) = (0.5 * (to - from), 0.5 * (from + to));
    let centre = f(middle);
    let mut values = [(0.0, 0.0); 7];
    let mut inner = KRONROD_CENTRE * centre.error;
    let mut wide = KRONROD_CENTRE * centre.value;
    let mut narrow = GAUSS_CENTRE * centre.value;
    for k in 0..7 {
        let (low, high) = (f(middle - half * NODES[k]), f(middle + half * NODES[k]));
        values[k] = (low.value, high.value);
        wide += KRONROD[k] * (low.value + high.value);
        inner += KRONROD[k] * (low.error + high.error);
        if k % 2 == 1 {
            narrow += GAUSS[k / 2] * (low.value + high.value);
        }
    }
    let mean = 0.5 * wide;
    let spread = |k: usize| (values[k].0 - mean).abs() + (values[k].1 - mean).abs();
    let variation = KRONROD_CENTRE * (centre.value - mean).abs()
        + (0..7).map(|k| KRONROD[k] * spread(k)).sum::<f64>();
    let difference = (wide - narrow).abs();
    let error = if variation > 0.0 && difference > 0.0 {
        let ratio = 200.0 * difference / variation;
        difference.max(variation * (ratio * ratio.sqrt()).min(1.0))
    } else {
        difference
    };
    Panel { from, to, value: half * wide, error: half * error, inner: half * inner }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// ∫₀¹ √x dx = 2/3, ∫₀¹ |x − 1/3| dx = 5/18, ∫₀¹ [x > 1/3] dx = 2/3: by hand; a root, a kink, a step.
    #[test]
    fn reaches_its_tolerance_over_a_root_a_kink_and_a_step() {
        let third = 1.0 / 3.0;
        type Case = (fn(f64) -> f64, f64);
        let cases: [Case; 3] = [
            (|x| x.sqrt(), 2.0 / 3.0),
            (|x| (x - 1.0 / 3.0).abs(), 5.0 / 18.0),
            (|x| if x > 1.0 / 3.0 { 1.0 } else { 0.0 }, 1.0 - third),
        ];
        for (f, expected) in cases {
            let got = adaptive(&[0.0, 1.0], 1e-12, 200, &mut |x| Estimate::exact(f(x)));
            assert!((got.value - expected).abs() <= got.error.max(1e-15), "{got:?}, {expected}");
            assert!(got.error <= 1e-12, "{got:?}");
        }
    }

    /// The wider rule is exact for degree 22: ∫₋₁¹ x²² dx = 2/23.
    #[test]
    fn the_rule_is_exact_for_degree_twenty_two() {
        let got = adaptive(&[-1.0, 1.0], 1e30, 0, &mut |x| Estimate::exact(libm::pow(x, 22.0)));
        assert!((got.value - 2.0 / 23.0).abs() < 1e-16, "{got:?}");
    }

    #[test]
    fn adds_the_error_of_the_integrand() {
        let got = adaptive(&[0.0, 2.0], 1e-9, 9, &mut |_| Estimate { value: 1.0, error: 1e-3 });
        assert!((got.value - 2.0).abs() < 1e-15 && (got.error - 2e-3).abs() < 1e-17, "{got:?}");
    }
}
