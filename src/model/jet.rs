//! Jets: values with exact first, second and the needed third derivatives.
//!
//! Arithmetic of truncated polynomials in ε₁ and ε₂ with ε₁² = 0, ε₂³ = 0. Every coefficient comes
//! from a closed rule in a fixed order, so that the bits are the same everywhere; no rule here can
//! fail, whether the numbers are finite is for the caller to test.
//! Source of the terms that need them: JCGM 100:2008, note to 5.1.2.

/// f + a·ε₁ + b·ε₂ + ab·ε₁ε₂ + b2·ε₂² + ab2·ε₁ε₂² with ε₁² = 0, ε₂³ = 0.
/// Seeded along directions i (ε₁) and j (ε₂): a = f_i, b = f_j, ab = f_ij, b2 = f_jj/2, ab2 = f_ijj/2.
#[derive(Debug, Clone, Copy, PartialEq)]
#[allow(missing_docs)]
pub struct Jet {
    pub value: f64,
    pub a: f64,
    pub b: f64,
    pub ab: f64,
    pub b2: f64,
    pub ab2: f64,
}

impl Jet {
    /// Returns the jet of a constant.
    pub fn constant(value: f64) -> Jet {
        Jet { value, a: 0.0, b: 0.0, ab: 0.0, b2: 0.0, ab2: 0.0 }
    }

    /// Returns the jet of an input that moves by `a` along ε₁ and by `b` along ε₂.
    pub fn seeded(value: f64, a: f64, b: f64) -> Jet {
        Jet { a, b, ..Jet::constant(value) }
    }

    /// Returns whether every coefficient is a finite number.
    pub fn is_finite(&self) -> bool {
        self.coefficients().iter().all(|coefficient| coefficient.is_finite())
    }

    /// Returns whether it moves along neither direction.
    pub fn is_constant(&self) -> bool {
        self.coefficients()[1..].iter().all(|coefficient| *coefficient == 0.0)
    }

    /// Returns the sum.
    pub fn plus(&self, other: &Jet) -> Jet {
        self.zip(other, |left, right| left + right)
    }

    /// Returns the difference.
    pub fn minus(&self, other: &Jet) -> Jet {
        self.zip(other, |left, right| left - right)
    }

    /// Returns the opposite.
    pub fn negated(&self) -> Jet {
        self.zip(self, |own, _| -own)
    }

    /// Returns the product.
    pub fn times(&self, other: &Jet) -> Jet {
        let (x, y) = (self, other);
        Jet {
            value: x.value * y.value,
            a: x.value * y.a + x.a * y.value,
            b: x.value * y.b + x.b * y.value,
            ab: x.value * y.ab + x.a * y.b + x.b * y.a + x.ab * y.value,
            b2: x.value * y.b2 + x.b * y.b + x.b2 * y.value,
            ab2: x.value * y.ab2
                + x.a * y.b2
                + x.b * y.ab
                + x.ab * y.b
                + x.b2 * y.a
                + x.ab2 * y.value,
        }
    }

    /// Returns the quotient; not finite where the value of `other` is 0.
    pub fn over(&self, other: &Jet) -> Jet {
        let (x, y) = (self, other);
        // From x = q·y, one coefficient after the other: no power of y that could overflow.
        let value = x.value / y.value;
        let a = (x.a - value * y.a) / y.value;
        let b = (x.b - value * y.b) / y.value;
        let ab = (x.ab - value * y.ab - a * y.b - b * y.a) / y.value;
        let b2 = (x.b2 - value * y.b2 - b * y.b) / y.value;
        let ab2 = (x.ab2 - value * y.ab2 - a * y.b2 - b * y.ab - ab * y.b - b2 * y.a) / y.value;
        Jet { value, a, b, ab, b2, ab2 }
    }

    /// Returns g(self) from g and its first three derivatives at the value of `self`.
    /// A derivative counts only where something is there to multiply it.
    pub fn compose(&self, g0: f64, g1: f64, g2: f64, g3: f64) -> Jet {
        let &Jet { a, b, ab, b2, ab2, .. } = self;
        Jet {
            value: g0,
            a: share(g1, a),
            b: share(g1, b),
            ab: share(g1, ab) + share(g2, a * b),
            b2: share(g1, b2) + share(0.5 * g2, b * b),
            ab2: share(g1, ab2) + share(g2, a * b2 + b * ab) + share(0.5 * g3, a * b * b),
        }
    }

    fn coefficients(&self) -> [f64; 6] {
        [self.value, self.a, self.b, self.ab, self.b2, self.ab2]
    }

    fn zip(&self, other: &Jet, join: impl Fn(f64, f64) -> f64) -> Jet {
        Jet {
            value: join(self.value, other.value),
            a: join(self.a, other.a),
            b: join(self.b, other.b),
            ab: join(self.ab, other.ab),
            b2: join(self.b2, other.b2),
            ab2: join(self.ab2, other.ab2),
        }
    }
}

/// Returns `derivative·moved`, and 0 for what does not move, however steep the function is.
fn share(derivative: f64, moved: f64) -> f64 {
    if moved == 0.0 { 0.0 } else { derivative * moved }
}

#[cfg(test)]
mod tests {
    use super::*;

    const X: Jet = Jet { value: 3.0, a: 2.0, b: 5.0, ab: 7.0, b2: 11.0, ab2: 13.0 };
    const Y: Jet = Jet { value: 2.0, a: 1.0, b: 4.0, ab: 6.0, b2: 8.0, ab2: 9.0 };

    /// The coefficients of (3 + 2ε₁ + 5ε₂ + 7ε₁ε₂ + 11ε₂² + 13ε₁ε₂²)(2 + ε₁ + 4ε₂ + 6ε₁ε₂ + 8ε₂² + 9ε₁ε₂²),
    /// multiplied out by hand.
    #[test]
    fn multiplies_like_polynomials() {
        let product = Jet { value: 6.0, a: 7.0, b: 22.0, ab: 45.0, b2: 66.0, ab2: 138.0 };
        assert_eq!(X.times(&Y), product);
    }

    #[test]
    fn divides_back_what_it_multiplied() {
        assert_eq!(X.times(&Y).over(&Y), X);
    }

    /// (x)³ by its derivatives x³, 3x², 6x, 6 equals x·x·x.
    #[test]
    fn composes_like_repeated_products() {
        assert_eq!(X.compose(27.0, 27.0, 18.0, 6.0), X.times(&X).times(&X));
    }

    #[test]
    fn ignores_an_infinite_derivative_of_what_does_not_move() {
        let infinite = f64::INFINITY;
        assert_eq!(
            Jet::constant(0.0).compose(0.0, infinite, infinite, infinite),
            Jet::constant(0.0)
        );
    }
}
