//! Quantiles of chi-squared, by bisection on its [upper tail](super::gamma::chi_squared_survival).
//!
//! May use nothing else of the crate.

use super::gamma::chi_squared_survival;

/// Halvings of the interval: the first interval is at most 2¹⁰²⁴ wide and the last one below 2⁻¹⁰⁷⁴.
const HALVINGS: usize = 2_200;

/// Returns the value that a chi-squared of `dof` degrees of freedom exceeds with probability `q`, or
/// `None` unless 0 < q < 1 and `dof` is in 1…10⁷.
///
/// As exact as the tail is: the result has the last double with a tail of at least `q` (test
/// `chi_squared_quantiles_agree_with_reference`: 4e-14 relative at worst, where q is near 1).
pub fn chi_squared_quantile(q: f64, dof: f64) -> Option<f64> {
    if !(0.0 < q && q < 1.0) {
        return None;
    }
    let (mut low, mut high) = (0.0, dof);
    while chi_squared_survival(high, dof)? > q {
        low = high;
        high *= 2.0;
    }
    for _ in 0..HALVINGS {
        let middle = low + 0.5 * (high - low);
        if middle <= low || middle >= high {
            break;
        }
        if chi_squared_survival(middle, dof)? >= q { low = middle } else { high = middle }
    }
    Some(low)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// With 2 degrees of freedom the tail is e^(−x/2), so the quantile is −2 ln q.
    #[test]
    fn has_its_closed_form_for_two_degrees_of_freedom() {
        for q in [1e-300, 1e-12, 0.0455, 0.05, 0.5, 0.9] {
            let (got, expected) = (chi_squared_quantile(q, 2.0).unwrap(), -2.0 * libm::log(q));
            assert!((got / expected - 1.0).abs() < 2e-14, "q = {q:e}: {got:e}, {expected:e}");
        }
    }

    /// mpmath 1.3, 40 digits: the root of `gammainc(n/2, x/2, inf, regularized=True) - q`. Where q is near
    /// 1 the tail has 1.1e-16 of absolute error, which is 1.1e-16/(1 − q) of the small quantile.
    #[test]
    fn chi_squared_quantiles_agree_with_reference() {
        let cases = [
            (0.05, 1.0, 3.841_458_820_694_126),
            (0.05, 2.0, 5.991_464_547_107_982),
            (0.05, 3.0, 7.814_727_903_251_18),
            (0.05, 10.0, 18.307_038_053_275_146),
            (0.05, 50.0, 67.504_806_549_541_2),
            (0.05, 1000.0, 1_074.679_448_803_441),
            (0.0455, 1.0, 4.000_009_775_604_388),
            (0.0455, 2.0, 6.180_085_906_050_465),
            (0.0455, 3.0, 8.024_894_669_075_119),
            (0.0455, 5.0, 11.313_870_836_388_705),
            (0.01, 3.0, 11.344_866_730_144_371),
            (0.5, 1.0, 0.454_936_423_119_572_8),
            (0.5, 5.0, 4.351_460_191_095_527),
            (0.5, 1000.0, 999.333_412_403_381),
            (0.99, 1.0, 0.000_157_087_857_909_702_24),
            (0.99, 3.0, 0.114_831_801_899_117_11),
            (0.99, 50.0, 29.706_682_698_841_29),
            (1e-6, 1.0, 23.928_126_976_934_83),
            (1e-6, 2.0, 27.631_021_115_928_547),
            (1e-6, 1000.0, 1_227.152_421_187_575_6),
        ];
        for (q, dof, expected) in cases {
            let got = chi_squared_quantile(q, dof).unwrap();
            assert!((got / expected - 1.0).abs() < 4e-14, "{q} {dof}: {got:e}, {expected:e}");
        }
    }

    #[test]
    fn refuses_what_has_no_quantile() {
        for (q, dof) in [(0.0, 2.0), (1.0, 2.0), (f64::NAN, 2.0), (0.5, 0.5), (0.5, f64::NAN)] {
            assert_eq!(chi_squared_quantile(q, dof), None, "{q}, {dof}");
        }
    }
}
