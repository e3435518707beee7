//! What evidence comes down to: estimate, standard uncertainty, distribution, degrees of freedom.

use crate::quantity::Exact;

/// The shape of a state of knowledge.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Distribution {
    /// Exactly known: u = 0.
    Exact,
    /// Normal.
    Normal,
    /// Student's t with the spread's degrees of freedom.
    T,
    /// Rectangular.
    Rectangular,
    /// Triangular.
    Triangular,
    /// Trapezoidal; the top's share of the base.
    Trapezoidal(f64),
    /// Curvilinear trapezoidal: a rectangle whose half-width is itself rectangular about its value; the
    /// half-width's deviation as a ratio to the value, above 0 and up to 1 (JCGM 101:2008, 6.4.3).
    CurvilinearTrapezoidal(f64),
    /// Arcsine.
    Arcsine,
    /// A sum of independent parts with this kurtosis.
    Sum {
        /// Fourth central moment over u⁴.
        kurtosis: f64,
    },
}

impl Distribution {
    /// Returns the word of the record.
    pub fn word(self) -> &'static str {
        match self {
            Distribution::Exact => "exact",
            Distribution::Normal => "normal",
            Distribution::T => "t",
            Distribution::Rectangular => "rectangular",
            Distribution::Triangular => "triangular",
            Distribution::Trapezoidal(_) => "trapezoidal",
            Distribution::CurvilinearTrapezoidal(_) => "curvilinear trapezoidal",
            Distribution::Arcsine => "arcsine",
            Distribution::Sum { .. } => "sum",
        }
    }

    /// Returns the kurtosis κ (fourth central moment over u⁴); t counts as normal, as in the second
    /// order of JCGM 100:2008, 5.1.2. Closed forms: rectangle 9/5, triangle 12/5, arcsine 3/2; a
    /// trapezoid is the sum of two rectangles of half-widths a(1±β)/2, a curvilinear trapezoid the
    /// product of a unit rectangle with one about a.
    pub fn kurtosis(self) -> f64 {
        match self {
            Distribution::Exact | Distribution::Normal | Distribution::T => 3.0,
            Distribution::Rectangular => 1.8,
            Distribution::Triangular => 2.4,
            Distribution::Arcsine => 1.5,
            Distribution::Sum { kurtosis } => kurtosis,
            Distribution::Trapezoidal(top) => {
                let (wide, narrow) = (square(0.5 * (1.0 + top)), square(0.5 * (1.0 - top)));
                let variance = (wide + narrow) / 3.0;
                3.0 - 2.0 / 15.0 * (wide * wide + narrow * narrow) / (variance * variance)
            }
            Distribution::CurvilinearTrapezoidal(ratio) => {
                let square = ratio * ratio;
                let second = 1.0 + square / 3.0;
                1.8 * (1.0 + 2.0 * square + square * square / 5.0) / (second * second)
            }
        }
    }
}

fn square(x: f64) -> f64 {
    x * x
}

/// Independent parts of a state of knowledge, all alike: each about zero, none of them a sum.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Piece {
    /// Its shape; neither [`Distribution::Sum`] nor [`Distribution::Exact`].
    pub shape: Distribution,
    /// Standard uncertainty of one of them, above 0; for t its scale s (s/√n of a mean), whatever ν is.
    pub standard_uncertainty: f64,
    /// Degrees of freedom of t, at least 1; of no meaning for other shapes.
    pub dof: f64,
    /// How many of them there are, at least 1.
    pub count: usize,
}

impl Piece {
    /// Returns one piece.
    pub fn one(shape: Distribution, standard_uncertainty: f64, dof: f64) -> Piece {
        Piece { shape, standard_uncertainty, dof, count: 1 }
    }

    /// Returns a of ±a, outside which the density is zero; `None` for unbounded shapes.
    pub fn half_width(&self) -> Option<f64> {
        let ratio = match self.shape {
            Distribution::Rectangular => 3f64.sqrt(),
            Distribution::Triangular => 6f64.sqrt(),
            Distribution::Trapezoidal(top) => (6.0 / (1.0 + top * top)).sqrt(),
            Distribution::Arcsine => 2f64.sqrt(),
            Distribution::CurvilinearTrapezoidal(ratio) => {
                (1.0 + ratio) * (3.0 / (1.0 + ratio * ratio / 3.0)).sqrt()
            }
            Distribution::Normal
            | Distribution::T
            | Distribution::Exact
            | Distribution::Sum { .. } => return None,
        };
        Some(ratio * self.standard_uncertainty)
    }
}

/// What one contributor's evidence says at one point, in SI.
#[derive(Debug, Clone, PartialEq)]
pub struct Spread {
    /// What it adds to the estimate: a mean, a midpoint, a correction; else 0.
    pub estimate: f64,
    /// The same, exact, where it is.
    pub exact: Option<Exact>,
    /// Standard uncertainty.
    pub standard_uncertainty: f64,
    /// Distribution.
    pub distribution: Distribution,
    /// Degrees of freedom, at least 1, possibly infinite.
    pub dof: f64,
    /// What a [`Distribution::Sum`] is made of; empty for other shapes.
    pub parts: Vec<Piece>,
}

impl Spread {
    /// Returns the independent pieces that it is made of; none where u = 0.
    pub fn pieces(&self) -> Vec<Piece> {
        match self.distribution {
            _ if self.standard_uncertainty == 0.0 => Vec::new(),
            Distribution::Exact => Vec::new(),
            Distribution::Sum { .. } => self.parts.clone(),
            shape => vec![Piece::one(shape, self.standard_uncertainty, self.dof)],
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    /// Fourth over squared second moment by numerical integration of the densities with mpmath 1.4
    /// (30 digits); rectangle, triangle and arcsine are the closed forms 9/5, 12/5, 3/2.
    #[test]
    fn kurtosis_is_that_of_the_density() {
        let trapezoids = [
            (0.0, 2.4),
            (0.2, 2.311_242_603_550_296),
            (0.5, 2.016),
            (0.8, 1.828_911_362_284_354_6),
            (1.0, 1.8),
        ];
        for (top, expected) in trapezoids {
            assert_relative_eq!(
                Distribution::Trapezoidal(top).kurtosis(),
                expected,
                max_relative = 1e-14
            );
        }
        let doubtful = Distribution::CurvilinearTrapezoidal;
        assert_relative_eq!(
            doubtful(0.5).kurtosis(),
            2.319_763_313_609_467_5,
            max_relative = 1e-14
        );
        assert_relative_eq!(doubtful(1.0).kurtosis(), 3.24, max_relative = 1e-14);
        for (shape, expected) in [
            (Distribution::Rectangular, 1.8),
            (Distribution::Triangular, 2.4),
            (Distribution::Arcsine, 1.5),
        ] {
            assert_relative_eq!(shape.kurtosis(), expected);
        }
    }

    /// JCGM 100:2008, 5.1.2 note: the second-order terms are those of a normal distribution; t counts
    /// as one.
    #[test]
    fn normal_t_and_exact_values_count_as_normal() {
        for shape in [Distribution::Normal, Distribution::T, Distribution::Exact] {
            assert_eq!(shape.kurtosis(), 3.0);
        }
        assert_eq!(Distribution::Sum { kurtosis: 2.5 }.kurtosis(), 2.5);
    }
}
