//! The table of units, and the reading of compound units.
use super::{Dimension, Exact, Scale, TextFault};

/// A unit, possibly compound: spelling, exact factor to SI, dimension, temperature scale.
#[derive(Debug, Clone, PartialEq)]
pub struct Unit {
    text: String,
    factor: Exact,
    dimension: Dimension,
    scale: Scale,
}

impl Unit {
    /// The unit of a plain number, spelled `1`.
    pub fn one() -> Unit {
        todo!()
    }
    /// The spelling as written, with µ, Ω and · folded to one form; what reports print.
    pub fn text(&self) -> &str {
        &self.text
    }
    /// Exact factor to the coherent SI unit (rad = 1, own units = 1).
    pub fn factor(&self) -> &Exact {
        &self.factor
    }
    /// The same as the nearest `f64`.
    pub fn si(&self) -> f64 {
        self.factor.to_f64()
    }
    /// The dimension.
    pub fn dimension(&self) -> &Dimension {
        &self.dimension
    }
    /// The scale: set only for a lone `°C`, `°F` or `K` to the power one.
    pub fn scale(&self) -> Scale {
        self.scale
    }
}

/// The units that a budget knows: the table and its own.
#[derive(Debug, Clone, Default)]
pub struct Units {
    own: Vec<String>,
}

impl Units {
    /// Returns the table with a budget's own units added, each its own dimension.
    ///
    /// # Errors
    ///
    /// The index of the symbol and what is wrong: already a unit (or reads as a prefixed one), twice, or not a word.
    pub fn with_own(own: &[String]) -> Result<Units, (usize, TextFault)> {
        let _ = own;
        todo!()
    }
    /// Reads a whole text as a unit (`µm/m/K`, `N·m`, `1`).
    ///
    /// # Errors
    ///
    /// Unknown unit with the nearest known one (`m2` → `m^2`, `Nm` → `N·m`, wrong case, …), a space inside, …
    pub fn parse(&self, text: &str) -> Result<Unit, TextFault> {
        let _ = text;
        todo!()
    }
    /// Whether `term` alone (no power, no product) is a unit of the table, prefixed, or an own unit.
    pub fn is_unit(&self, term: &str) -> bool {
        let _ = term;
        todo!()
    }
}
