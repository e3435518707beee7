//! Words of formulas: places of cells, and the formulas that are longer than a line.

use super::{Cell, Look, Outcome};
use crate::record::{Dof, DofRule};

/// The word for infinite degrees of freedom.
pub(super) const INFINITE: &str = "infinite";

/// Degrees of freedom from which the first terms of the expansion in 1/ν stand for t: its quantiles
/// lose digits in spreadsheets from there on.
const MANY: &str = "1000000";

/// Returns degrees of freedom: a number or the word.
pub(super) fn dof(dof: Dof) -> Cell {
    if dof.is_infinite() { Cell::text(INFINITE) } else { Cell::number(dof.get()) }
}

/// Returns a formula that comes to degrees of freedom.
pub(super) fn dof_formula(formula: String, dof: Dof) -> Cell {
    let result = match dof.is_infinite() {
        true => Outcome::Word(INFINITE),
        false => Outcome::Number(dof.get()),
    };
    Cell::Formula { formula, result, look: Look::General }
}

/// Returns the degrees of freedom that a quantile takes of those in `cell`.
///
/// Method: M107.
pub(super) fn taken(cell: &str, rule: DofRule) -> String {
    let number = match rule {
        DofRule::Interpolate => format!("MAX(1,{cell})"),
        DofRule::Truncate => format!(
            "MAX(1,IF(ABS({cell}-ROUND({cell},0))<=0.000000001*{cell},ROUND({cell},0),INT({cell})))"
        ),
    };
    format!("IF(ISNUMBER({cell}),{number},\"{INFINITE}\")")
}

/// Returns the degrees of freedom that [`taken`] comes to.
pub(super) fn taken_dof(dof: Dof, rule: DofRule) -> Dof {
    let number = dof.get();
    let nearest = number.round();
    let taken = match rule {
        DofRule::Interpolate => number,
        DofRule::Truncate if (number - nearest).abs() <= 1e-9 * number => nearest,
        DofRule::Truncate => number.floor(),
    };
    if dof.is_infinite() { dof } else { Dof::new(taken.max(1.0)).unwrap_or(dof) }
}

/// Returns the two-sided factor of t from cells with the probability p and degrees of freedom ν as
/// they are taken: `T.INV.2T` for whole ν; for interpolated ones, which `T.INV.2T` would round down,
/// √(ν·y/(1 − y)), y the quantile of beta(½, ν/2) at p; z, that of the normal distribution, for
/// infinite ν, and z + (z³ + z)/(4ν) beyond ν = 10⁶.
///
/// Method: M107.
pub(super) fn factor(p: &str, dof: &str, rule: DofRule) -> String {
    let quantile = match rule {
        DofRule::Truncate => format!("T.INV.2T(1-{p},{dof})"),
        DofRule::Interpolate => {
            let beta = format!("BETA.INV({p},0.5,{dof}/2)");
            format!("SQRT({dof}*{beta}/(1-{beta}))")
        }
    };
    let z = format!("NORM.S.INV((1+{p})/2)");
    format!("IF(ISNUMBER({dof}),IF({dof}>{MANY},{z}+({z}^3+{z})/(4*{dof}),{quantile}),{z})")
}

/// Returns U in `expanded` rounded to the number of significant digits in `digits`: half up, and up
/// where rounding down would take over 5 % off.
pub(super) fn rounded_uncertainty(expanded: &str, digits: &str) -> String {
    let place = places(expanded, digits);
    let rounded = format!("ROUND({expanded},{place})");
    format!("IF({rounded}<0.95*{expanded},ROUNDUP({expanded},{place}),{rounded})")
}

/// Returns how many decimals a number above zero has with that many significant digits; below zero
/// where it is rounded to tens. A number that lies below a power of ten by less than 1e-12 counts as it.
pub(super) fn places(number: &str, digits: &str) -> String {
    format!("{digits}-1-INT(LOG10({number})+0.000000000001)")
}
