//! Distributions as plain `f64` functions: probabilities, densities and quantiles.
//!
//! Pure: nothing else of the crate is used, no state, no I/O. All transcendentals come from `libm`
//! and all sums have a fixed order, so the same arguments give the same bits on every machine.
//!
//! Notation: `p` is a probability below a point, `q` one above it (the *survival*), `d = |p − ½|`
//! the one between the median and the point, `ν` (`dof`) the degrees of freedom. Normal and
//! Student's t are symmetric about zero, so their routines work on `x ≥ 0` and on the smaller of `d` and `q`:
//! nothing is ever got by subtracting two probabilities that are nearly equal.

pub mod beta;
pub mod chi_squared;
pub mod gamma;
pub mod normal;
pub mod student;

/// Widest interval handed to [`narrow`]: at this width ten nodes leave less than 1e-16 (relative) for
/// the heaviest tail in use, ν = 1, whose density has its poles one unit away from the real line.
const NARROW: f64 = 0.5;

/// Abscissae above zero and weights of the Gauss-Legendre rule with ten nodes.
/// Origin: computed with mpmath, 30 digits, as roots of the Legendre polynomial.
const NODES: [(f64, f64); 5] = [
    (0.148_874_338_981_631_21, 0.295_524_224_714_752_87),
    (0.433_395_394_129_247_2, 0.269_266_719_309_996_36),
    (0.679_409_568_299_024_4, 0.219_086_362_515_982_04),
    (0.865_063_366_688_984_5, 0.149_451_349_150_580_6),
    (0.973_906_528_517_171_7, 0.066_671_344_308_688_14),
];

/// Returns the integral of `density` from `lo` to `hi`, an interval so narrow that the density is a
/// polynomial there to rounding: differences of probabilities would cancel.
fn narrow(density: impl Fn(f64) -> f64, lo: f64, hi: f64) -> f64 {
    let half = 0.5 * (hi - lo);
    let middle = lo + half;
    let pair = |node: f64| density(middle - half * node) + density(middle + half * node);
    half * NODES.iter().map(|&(node, weight)| weight * pair(node)).sum::<f64>()
}

/// Returns the point with probability `q` above it, or `None` unless `0 < q < 1`. `magnitude` gives
/// the point on the upper side from the pair `(d, q)`; each of the two is exact where it is used:
/// `|q − ½|` for q near ½, the smaller of `q` and `1 − q` elsewhere.
fn signed(q: f64, magnitude: impl Fn(f64, f64) -> Option<f64>) -> Option<f64> {
    if !(0.0 < q && q < 1.0) {
        return None;
    }
    if q <= 0.5 { magnitude(0.5 - q, q) } else { magnitude(q - 0.5, 1.0 - q).map(|x| -x) }
}

/// Returns the half-width of the interval about zero that holds `probability`, or `None` unless
/// `0 < probability < 1`.
fn two_sided(probability: f64, magnitude: impl Fn(f64, f64) -> Option<f64>) -> Option<f64> {
    if !(0.0 < probability && probability < 1.0) {
        return None;
    }
    magnitude(0.5 * probability, 0.5 * (1.0 - probability))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The rule is exact for polynomials of degree 19: ∫₀¹ (1 + 20 x¹⁹) dx = 2, by hand.
    #[test]
    fn rule_is_exact_for_degree_nineteen() {
        let got = narrow(|x| 1.0 + 20.0 * libm::pow(x, 19.0), 0.0, 1.0);
        assert!((got - 2.0).abs() < 2e-15, "got {got:e}");
    }
}
