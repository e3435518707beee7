//! Characteristic functions that have no elementary closed form: Student's t, and the sine integral.

use std::f64::consts::{FRAC_PI_2, PI};

/// Odd degrees of freedom up to here use the closed form.
const CLOSED: f64 = 31.0;

/// The characteristic function of Student's t of scale 1.
#[derive(Debug)]
pub struct StudentCf {
    dof: f64,
    /// exp(−z)·Σ c_j·z^j, z = √ν·t: odd ν.
    closed: Vec<f64>,
    /// Σ weight·exp(−rate·t²), rates falling: any ν.
    mixture: Vec<(f64, f64)>,
}

impl StudentCf {
    /// Prepares ν = `dof` ≥ 1.
    ///
    /// t is a normal of variance 1/W, νW being χ² with ν degrees of freedom: the mixture is the
    /// trapezoidal rule for v = ln W with density ∝ exp(ν/2·(v − eᵛ)), analytic in |Im v| < π/2. For odd ν
    /// K_{ν/2} is elementary: reverse Bessel polynomials.
    ///
    /// Method: M37.
    pub fn new(dof: f64) -> StudentCf {
        let mut made = StudentCf { dof, closed: Vec::new(), mixture: Vec::new() };
        if dof <= CLOSED && dof % 2.0 == 1.0 {
            let n = 0.5 * (dof - 1.0);
            let (mut c, mut j) = (1.0, 0.0);
            while j <= n {
                made.closed.push(c);
                c *= 2.0 * (n - j) / ((2.0 * n - j) * (j + 1.0)).max(1.0);
                j += 1.0;
            }
        } else {
            made.mixture = mixture(0.5 * dof);
        }
        made
    }

    /// Returns ν.
    pub fn dof(&self) -> f64 {
        self.dof
    }

    /// Returns the characteristic function at `t` ≥ 0.
    pub fn at(&self, t: f64) -> f64 {
        if !self.closed.is_empty() {
            let z = self.dof.sqrt() * t;
            let polynomial = self.closed.iter().rev().fold(0.0, |sum, c| sum * z + c);
            return polynomial * libm::exp(-z);
        }
        let square = t * t;
        let first = self.mixture.partition_point(|it| it.1 * square > 45.0);
        self.mixture[first..].iter().map(|&(w, rate)| w * libm::exp(-rate * square)).sum()
    }
}

/// Returns weights and rates ½·e^(−v), v rising, for μ = ν/2.
fn mixture(mu: f64) -> Vec<(f64, f64)> {
    let mut step = 1.0;
    while gain(mu, step) < 39.0 {
        step *= 0.9;
    }
    let log_weight = |v: f64| mu * (v - libm::expm1(v));
    let log_weight = |v: f64| if v.abs() < 0.05 { mu * curve(v) } else { log_weight(v) };
    let mut nodes = Vec::new();
    for sign in [-1.0, 1.0] {
        let mut k = if sign < 0.0 { 1.0 } else { 0.0 };
        while log_weight(sign * k * step) > -44.0 {
            let v: f64 = sign * k * step;
            nodes.push((libm::exp(log_weight(v)), 0.5 * libm::exp(-v)));
            k += 1.0;
        }
    }
    nodes.sort_by(|a, b| b.1.total_cmp(&a.1));
    let sum: f64 = nodes.iter().map(|it| it.0).sum();
    nodes.iter().map(|it| (it.0 / sum, it.1)).collect()
}

/// Returns v − (eᵛ − 1) for small v.
fn curve(v: f64) -> f64 {
    let (mut sum, mut term) = (0.0, v);
    for k in 2..14 {
        term *= v / f64::from(k);
        sum -= term;
    }
    sum
}

/// Returns the logarithm by which the trapezoidal rule's error is below the integral.
fn gain(mu: f64, step: f64) -> f64 {
    let y = libm::atan2(2.0 * PI, step * mu).min(FRAC_PI_2 - 0.05);
    2.0 * PI * y / step + mu * libm::log(libm::cos(y))
}

/// Returns Si(x), x ≥ 0: power series to 4, beyond it the continued fraction of E₁(ix).
pub fn sine_integral(x: f64) -> f64 {
    if x <= 4.0 {
        let (mut sum, mut term, mut k) = (x, x, 1.0);
        while term.abs() > 1e-18 * x {
            term *= -x * x / ((k + 1.0) * (k + 2.0));
            k += 2.0;
            sum += term / k;
        }
        return sum;
    }
    // E₁(ix) = e^(−ix)·1/(1 + ix − 1²/(3 + ix − 2²/(5 + ix − …))), from the far end; Si = π/2 + Im E₁.
    let depth = 20 + (400.0 / x) as usize;
    let (mut re, mut im) = (2.0 * depth as f64 + 1.0, x);
    for n in (1..=depth).rev() {
        let square = (n * n) as f64;
        let norm = re * re + im * im;
        (re, im) = (2.0 * n as f64 - 1.0 - square * re / norm, x + square * im / norm);
    }
    let norm = re * re + im * im;
    let (sin, cos) = libm::sincos(x);
    // e^(−ix)·(re − i·im)/norm
    FRAC_PI_2 + (-cos * im - sin * re) / norm
}

#[cfg(test)]
mod tests {
    use super::*;

    /// mpmath 1.3, 30 digits: si(x).
    #[test]
    fn sine_integral_agrees_with_reference() {
        for (x, expected) in SI {
            let got = sine_integral(x);
            assert!((got - expected).abs() < 1e-15, "Si({x}): {got} {expected}");
        }
    }

    /// mpmath 1.3, 30 digits: K_{ν/2}(√ν·t)·(√ν·t)^(ν/2)/(Γ(ν/2)·2^(ν/2 − 1)). Method: M37.
    #[test]
    fn student_characteristic_function_agrees_with_reference() {
        let mut worst: f64 = 0.0;
        for (dof, t, expected) in STUDENT {
            let got = StudentCf::new(dof).at(t);
            worst = worst.max((got - expected).abs());
            assert!((got - expected).abs() < 1e-15, "dof {dof}, t {t}: {got} {expected}");
        }
        assert!(worst > 0.0);
    }

    const SI: [(f64, f64); 9] = [
        (0.001, 0.0009999999444444462),
        (0.5, 0.4931074180430667),
        (3.9, 1.7765013604478055),
        (4.0, 1.7582031389490531),
        (4.1, 1.738743626491769),
        (6.0, 1.4246875512805066),
        (12.5, 1.4923370522865),
        (100.0, 1.5622254668890563),
        (12345.5, 1.5707498185706201),
    ];

    const STUDENT: [(f64, f64, f64); 65] = [
        (1.0, 1e-06, 0.9999990000005),
        (1.0, 0.01, 0.9900498337491681),
        (1.0, 0.7, 0.4965853037914095),
        (1.0, 2.5, 0.0820849986238988),
        (1.0, 6.0, 0.0024787521766663585),
        (1.5, 1e-06, 0.999999998111075),
        (1.5, 0.01, 0.9982595366755171),
        (1.5, 0.7, 0.5631652676889459),
        (1.5, 2.5, 0.07872508900121139),
        (1.5, 6.0, 0.001314794235153697),
        (2.0, 1e-06, 0.9999999999859152),
        (2.0, 0.01, 0.9995125331274172),
        (2.0, 0.7, 0.6061478437438632),
        (2.0, 2.5, 0.07543680990891212),
        (2.0, 6.0, 0.0007860431103404216),
        (3.0, 1e-06, 0.9999999999985),
        (3.0, 0.01, 0.9998517208525821),
        (3.0, 0.7, 0.658137376316584),
        (3.0, 2.5, 0.07017578643093343),
        (3.0, 6.0, 0.0003493742951567828),
        (4.0, 1e-06, 0.999999999999),
        (4.0, 0.01, 0.9999000477813601),
        (4.0, 0.7, 0.6879522230797371),
        (4.0, 2.5, 0.06636179640279324),
        (4.0, 6.0, 0.00018594851818363363),
        (7.0, 1e-06, 0.9999999999993),
        (7.0, 0.01, 0.9999300040828627),
        (7.0, 0.7, 0.7292843023614164),
        (7.0, 2.5, 0.059546569589510774),
        (7.0, 6.0, 4.9038148679926024e-05),
        (9.3, 1e-06, 0.9999999999993631),
        (9.3, 0.01, 0.9999363041640584),
        (9.3, 0.7, 0.7431446168968517),
        (9.3, 2.5, 0.05660424567005039),
        (9.3, 6.0, 2.4005341446842773e-05),
        (12.0, 1e-06, 0.9999999999994),
        (12.0, 0.01, 0.999940002249925),
        (12.0, 0.7, 0.7525065968221458),
        (12.0, 2.5, 0.054312298522357555),
        (12.0, 6.0, 1.251362361367673e-05),
        (31.0, 1e-06, 0.9999999999994655),
        (31.0, 0.01, 0.9999465532582698),
        (31.0, 0.7, 0.77149559209738),
        (31.0, 2.5, 0.04850237651702033),
        (31.0, 6.0, 1.1764237714236503e-06),
        (33.0, 1e-06, 0.9999999999994678),
        (33.0, 0.01, 0.9999467757077),
        (33.0, 0.7, 0.7721942599666766),
        (33.0, 2.5, 0.04824806939780693),
        (33.0, 6.0, 1.0175968338691893e-06),
        (50.0, 1e-06, 0.9999999999994792),
        (50.0, 0.01, 0.9999479180819478),
        (50.0, 0.7, 0.775836207186528),
        (50.0, 2.5, 0.04686225879769599),
        (50.0, 6.0, 4.1103489283782327e-07),
        (1000.0, 1e-06, 0.999999999999499),
        (1000.0, 0.01, 0.9999499010571132),
        (1000.0, 0.7, 0.7823676455638798),
        (1000.0, 2.5, 0.04409097906031585),
        (1000.0, 6.0, 2.0065324953775734e-08),
        (100000.0, 1e-06, 0.9999999999995),
        (100000.0, 0.01, 0.9999500002500342),
        (100000.0, 0.7, 0.7827011727730764),
        (100000.0, 2.5, 0.043938478239159105),
        (100000.0, 6.0, 1.5273885416327594e-08),
    ];
}
