//! Quantity literals: a number, then nothing, one space or a no-break space, then a unit.
use super::{Decimal, Dimension, Exact, Scale, TextFault, Unit, Units};

/// A number with its unit (spelled `1` where there is none).
#[derive(Debug, Clone, PartialEq)]
pub struct Quantity {
    number: Decimal,
    unit: Unit,
}

/// A literal found at the start of a text by [`scan`].
#[derive(Debug, Clone, PartialEq)]
pub struct Scanned {
    /// The literal.
    pub quantity: Quantity,
    /// Whether a unit was written.
    pub has_unit: bool,
    /// How many characters it takes.
    pub length: usize,
}

impl Quantity {
    /// Joins a number and a unit.
    pub fn new(number: Decimal, unit: Unit) -> Quantity {
        Quantity { number, unit }
    }
    /// Reads a whole text such as `10.301 mm`, `-3 µin` or `0.25` (sign allowed).
    ///
    /// # Errors
    ///
    /// What is wrong in it and what to type.
    pub fn parse(text: &str, units: &Units) -> Result<Quantity, TextFault> {
        let _ = (text, units);
        todo!()
    }
    /// The number.
    pub fn number(&self) -> &Decimal {
        &self.number
    }
    /// The unit.
    pub fn unit(&self) -> &Unit {
        &self.unit
    }
    /// Exact value in SI.
    pub fn exact(&self) -> Exact {
        todo!()
    }
    /// The nearest `f64` to the value in SI.
    pub fn si(&self) -> f64 {
        self.exact().to_f64()
    }
    /// The dimension.
    pub fn dimension(&self) -> &Dimension {
        self.unit.dimension()
    }
    /// The temperature scale.
    pub fn scale(&self) -> Scale {
        self.unit.scale()
    }
    /// The text: number and unit with one space, the number as written.
    pub fn text(&self) -> String {
        todo!()
    }
}

/// Reads an unsigned literal from the start of `chars` (which begins with a digit or a point), as far as it goes.
/// `is_name` says which words are names of the budget: a unit term after `/` or `·` that is also a name is a fault.
///
/// # Errors
///
/// What is wrong, with the offset of the place.
pub fn scan(
    chars: &[char],
    units: &Units,
    is_name: &dyn Fn(&str) -> bool,
) -> Result<Scanned, TextFault> {
    let _ = (chars, units, is_name);
    todo!()
}
