//! Dimensions with rational exponents, and temperature scales.

/// A product of base dimensions (SI bases and a budget's own units) with rational exponents.
/// Angles are dimensionless (rad = 1).
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Default)]
pub struct Dimension {
    _todo: (),
}

/// The scale that a temperature value carries; no scale: a plain interval, or not a lone temperature.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Scale {
    /// A plain value or interval.
    #[default]
    None,
    /// Degrees Celsius.
    Celsius,
    /// Degrees Fahrenheit.
    Fahrenheit,
    /// Kelvin.
    Kelvin,
}

impl Dimension {
    /// The dimension of a plain number.
    pub fn none() -> Dimension {
        todo!()
    }
    /// Whether it is that of a plain number.
    pub fn is_none(&self) -> bool {
        todo!()
    }
    /// The dimension of temperature.
    pub fn temperature() -> Dimension {
        todo!()
    }
    /// The dimension of length.
    pub fn length() -> Dimension {
        todo!()
    }
    /// Returns that of a product.
    pub fn times(&self, other: &Dimension) -> Dimension {
        let _ = other;
        todo!()
    }
    /// Returns that of a quotient.
    pub fn over(&self, other: &Dimension) -> Dimension {
        let _ = other;
        todo!()
    }
    /// Returns that of a power numerator/denominator; `None` if an exponent leaves the range.
    pub fn power(&self, numerator: i32, denominator: i32) -> Option<Dimension> {
        let _ = (numerator, denominator);
        todo!()
    }
    /// Returns words: `length`, `temperature`, `force`, `a plain number`, `length per temperature`,
    /// else base symbols such as `m^2·kg·s^-1`; own units by their symbol.
    pub fn words(&self) -> String {
        todo!()
    }
}

impl Scale {
    /// The unit's spelling: `°C`, `°F`, `K`, or empty.
    pub fn symbol(self) -> &'static str {
        todo!()
    }
}
