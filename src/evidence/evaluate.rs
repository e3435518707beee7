//! Evidence to [`Spread`], at one point. Sources: JCGM 100:2008, 4.2 (readings), 4.3 (limits,
//! certificates), F.2.2.1 (steps), JCGM 101:2008, 6.4 (shapes); ISO 3650 and ASME B89.1.9 (blocks).

use super::dataset::Measured;
use super::distribution::{normal, student};
use super::grade::{self, Lookup};
use super::grouped;
use super::spread::{Distribution, Piece, Spread};
use super::statistics;
use crate::budget::{
    Base, BlockLength, Contributor, Dof, Evidence, Factor, Formula, Grade, Shape, ThermalPart, Use,
};
use crate::fault::{Fault, Origin};
use crate::quantity::{Exact, Quantity};

/// What evidence may know of its point.
#[derive(Debug, Clone, Copy)]
pub struct Place<'a> {
    /// The base values of all names.
    pub base: &'a Base,
    /// The index of the points' symbol.
    pub symbol: Option<usize>,
    /// The blocks of the point's stack.
    pub stack: Option<&'a [Quantity]>,
    /// Whether lengths are in inches, for tables that differ.
    pub inch: bool,
    /// What the budget's common data say.
    pub datasets: &'a [Measured],
}

/// Returns what a contributor's evidence says at a point, `times` and `estimate` included.
///
/// # Errors
///
/// A negative spread, a length outside its table, a `times` that is no number of draws; what an
/// expression cannot compute.
pub fn spread(contributor: &Contributor, place: &Place) -> Result<Spread, Fault> {
    let one =
        of_evidence(&contributor.evidence, contributor.dof, contributor.evidence_origin, place)?;
    with_extras(one, contributor, place)
}

/// Applies `estimate` and `times`.
fn with_extras(one: Spread, contributor: &Contributor, place: &Place) -> Result<Spread, Fault> {
    let one = match &contributor.estimate {
        None => one,
        Some(formula) => corrected(one, formula, place)?,
    };
    match &contributor.times {
        None => Ok(one),
        Some(formula) => repeated(one, formula, place),
    }
}

/// Returns what a contributor adds to the estimate of its target: means, midpoints, corrections.
/// Sees less than [`spread`]: nothing but what the value is made of.
///
/// # Errors
///
/// As [`spread`].
pub fn mean(contributor: &Contributor, place: &Place) -> Result<Spread, Fault> {
    let one = match &contributor.evidence {
        evidence @ (Evidence::Readings { .. }
        | Evidence::Groups { .. }
        | Evidence::Between { .. }
        | Evidence::Column { .. }) => {
            of_evidence(evidence, contributor.dof, contributor.evidence_origin, place)?
        }
        _ => known(Distribution::Exact, 0.0, f64::INFINITY),
    };
    with_extras(one, contributor, place)
}

/// Returns the formulas that [`mean`] evaluates.
pub fn mean_formulas(contributor: &Contributor) -> Vec<&Formula> {
    let mut formulas: Vec<&Formula> =
        contributor.estimate.iter().chain(&contributor.times).collect();
    if let Evidence::Between { low, high, .. } = &contributor.evidence {
        formulas.extend([low, high]);
    }
    formulas
}

/// Returns what is known of one part of a thermal contributor; its estimate is the part's value.
///
/// # Errors
///
/// As [`spread`].
pub fn thermal_part(part: &ThermalPart, place: &Place) -> Result<Spread, Fault> {
    let one = match &part.evidence {
        Some(evidence) => of_evidence(evidence, part.dof, part.origin, place)?,
        None => known(Distribution::Exact, 0.0, f64::INFINITY),
    };
    match &part.estimate {
        None => Ok(one),
        Some(formula) => corrected(one, formula, place),
    }
}

/// Adds a given estimate to what the evidence gives.
fn corrected(one: Spread, formula: &Formula, place: &Place) -> Result<Spread, Fault> {
    let value = formula.value(place.base)?;
    let exact = formula.exact(place.base);
    let exact = one.exact.as_ref().zip(exact.as_ref()).and_then(|(a, b)| a.add(b));
    Ok(Spread { estimate: one.estimate + value, exact, ..one })
}

/// Returns the sum of n independent draws: u√n; two equal rectangles make a triangle.
///
/// Method: M9.
fn repeated(one: Spread, formula: &Formula, place: &Place) -> Result<Spread, Fault> {
    let times = formula.value(place.base)?;
    let whole = times.round();
    if whole < 0.0 || (times - whole).abs() > 1e-9 {
        let what = format!("`times` is {times} at {}", place.base.title);
        return Err(Fault::new(formula.origin(), what).rule("`times` is a whole number, 0 or more"));
    }
    let mut parts = Vec::new();
    let distribution = match (one.distribution, whole) {
        (_, 0.0) => Distribution::Exact,
        (same, 1.0) => {
            parts.clone_from(&one.parts);
            same
        }
        (Distribution::Rectangular, 2.0) => Distribution::Triangular,
        (same @ (Distribution::Normal | Distribution::T | Distribution::Exact), _) => same,
        (other, n) => {
            let times = n as usize;
            let often = |it: Piece| Piece { count: it.count.saturating_mul(times), ..it };
            parts = one.pieces().into_iter().map(often).collect();
            Distribution::Sum { kurtosis: 3.0 + (other.kurtosis() - 3.0) / n }
        }
    };
    let exact = one.exact.map(|it| it.mul(&Exact::from_integer(whole as i64)));
    let standard_uncertainty = one.standard_uncertainty * whole.sqrt();
    Ok(Spread {
        estimate: one.estimate * whole,
        exact,
        standard_uncertainty,
        distribution,
        dof: one.dof,
        parts,
    })
}

/// Returns a spread about zero.
fn known(distribution: Distribution, standard_uncertainty: f64, dof: f64) -> Spread {
    let exact = Some(Exact::zero());
    Spread { estimate: 0.0, exact, standard_uncertainty, distribution, dof, parts: Vec::new() }
}

/// Returns a normal spread, t where degrees of freedom are given.
fn normal_or_t(standard_uncertainty: f64, dof: Option<Dof>) -> Spread {
    let dof = dof.map_or(f64::INFINITY, Dof::get);
    let distribution = if dof.is_finite() { Distribution::T } else { Distribution::Normal };
    known(distribution, standard_uncertainty, dof)
}

/// Returns what one kind of evidence says: an earlier scatter s/√n, a step d/√12; others by their own
/// functions.
///
/// Method: M2, M6.
fn of_evidence(
    evidence: &Evidence,
    dof: Option<Dof>,
    origin: Origin,
    place: &Place,
) -> Result<Spread, Fault> {
    match evidence {
        Evidence::Readings { values, usage } => readings(values, *usage, origin),
        Evidence::Groups { .. } => grouped::spread(evidence, origin),
        Evidence::Scatter { s, mean_of } => {
            let s = not_negative(s, place.base)?;
            Ok(normal_or_t(s / f64::from(*mean_of).sqrt(), dof))
        }
        Evidence::Limits { half_width, shape } => {
            limits(not_negative(half_width, place.base)?, *shape, dof, origin)
        }
        Evidence::FullRange { range, shape } => {
            limits(0.5 * not_negative(range, place.base)?, *shape, dof, origin)
        }
        Evidence::Between { low, high, shape } => between(low, high, *shape, dof, place),
        Evidence::Certificate { uncertainty, factor, per_block } => {
            let expanded = if *per_block {
                per_block_sum(uncertainty, place)?
            } else {
                not_negative(uncertainty, place.base)?
            };
            let k = factor_of(*factor, dof, origin)?;
            Ok(normal_or_t(expanded / k, dof))
        }
        Evidence::StandardUncertainty(formula) => {
            Ok(normal_or_t(not_negative(formula, place.base)?, dof))
        }
        Evidence::Step(formula) => {
            limits(0.5 * not_negative(formula, place.base)?, Shape::Rectangular, dof, origin)
        }
        Evidence::BlockGrade { grade, length, calibrated_with } => {
            blocks(grade, length, calibrated_with.as_ref(), dof, place, origin)
        }
        Evidence::Thermal(_) => Err(Fault::new(origin, "`thermal` has parts of its own")),
        Evidence::Column { dataset, column, .. } => {
            let found = place.datasets.get(*dataset).and_then(|it| it.columns.get(*column));
            found.cloned().ok_or_else(|| Fault::new(origin, "these data have no such column"))
        }
    }
}

fn not_negative(formula: &Formula, base: &Base) -> Result<f64, Fault> {
    let value = formula.value(base)?;
    if value >= 0.0 {
        return Ok(value);
    }
    let what = format!("the evidence is negative at {}", base.title);
    Err(Fault::new(formula.origin(), what)
        .rule("half-widths, steps and uncertainties are 0 or more"))
}

/// Mean and standard deviation of readings (JCGM 100:2008, 4.2.1, 4.2.2), exact up to one rounding.
///
/// Method: M1.
fn readings(values: &[Quantity], usage: Use, origin: Origin) -> Result<Spread, Fault> {
    let exact: Vec<Exact> = values.iter().map(Quantity::exact).collect();
    let moments = statistics::moments(&exact)
        .map_err(|it| Fault::new(origin, format!("these readings have no scatter: {it}")))?;
    let (estimate, u) = match usage {
        Use::Single => (Exact::zero(), moments.s()),
        Use::MeanOf(m) => (Exact::zero(), moments.s_of_mean(m as usize)),
        Use::Result => (moments.mean.clone(), moments.s_of_mean(moments.n)),
    };
    Ok(Spread {
        estimate: estimate.to_f64(),
        exact: Some(estimate),
        standard_uncertainty: u,
        distribution: Distribution::T,
        dof: moments.dof(),
        parts: Vec::new(),
    })
}

/// Spread of ±a in a shape (JCGM 100:2008, 4.3.5 to 4.3.9; JCGM 101:2008, 6.4).
///
/// Method: M3.
fn limits(a: f64, shape: Shape, dof: Option<Dof>, origin: Origin) -> Result<Spread, Fault> {
    let dof_value = dof.map_or(f64::INFINITY, Dof::get);
    let bounded = |distribution, u| Ok(known(distribution, u, dof_value));
    match shape {
        Shape::Rectangular => bounded(Distribution::Rectangular, a / 3f64.sqrt()),
        Shape::Curvilinear(ratio) => {
            let u = a * ((1.0 + ratio * ratio / 3.0) / 3.0).sqrt();
            bounded(Distribution::CurvilinearTrapezoidal(ratio), u)
        }
        Shape::Triangular => bounded(Distribution::Triangular, a / 6f64.sqrt()),
        Shape::Arcsine => bounded(Distribution::Arcsine, a / 2f64.sqrt()),
        Shape::Trapezoidal(top) => {
            bounded(Distribution::Trapezoidal(top), a * ((1.0 + top * top) / 6.0).sqrt())
        }
        Shape::Normal(probability) => {
            // The shape is normal whatever is known of u: degrees of freedom do not widen it.
            let k = factor_of(Factor::Coverage(probability), None, origin)?;
            Ok(normal_or_t(a / k, dof))
        }
    }
}

/// Returns the spread of limits that are not symmetric: the midpoint is its estimate.
///
/// Method: M4.
fn between(
    low: &Formula,
    high: &Formula,
    shape: Shape,
    dof: Option<Dof>,
    place: &Place,
) -> Result<Spread, Fault> {
    let (a, b) = (low.value(place.base)?, high.value(place.base)?);
    if a > b {
        let what = format!("the lower limit is above the upper limit at {}", place.base.title);
        return Err(Fault::new(low.origin(), what));
    }
    let two = Exact::from_integer(2);
    let sides = low.exact(place.base).zip(high.exact(place.base));
    let middle = sides.as_ref().and_then(|(a, b)| a.add(b)?.div(&two));
    let width = sides.as_ref().and_then(|(a, b)| b.sub(a)).map_or(b - a, |it| it.to_f64());
    let one = limits(0.5 * width, shape, dof, low.origin())?;
    let estimate = middle.as_ref().map_or(a + 0.5 * (b - a), Exact::to_f64);
    Ok(Spread { estimate, exact: middle, ..one })
}

/// Returns k of a certificate or of normal limits.
///
/// Method: M5.
fn factor_of(factor: Factor, dof: Option<Dof>, origin: Origin) -> Result<f64, Fault> {
    let found = match (factor, dof) {
        (Factor::K(k), _) => Some(k),
        (Factor::Coverage(p), None) => normal::two_sided_factor(p.get()),
        (Factor::Coverage(p), Some(dof)) => student::two_sided_factor(p.get(), dof.get()),
    };
    found
        .filter(|it| *it > 0.0 && it.is_finite())
        .ok_or_else(|| Fault::new(origin, "this coverage has no factor"))
}

/// Returns the values of `formula` with the points' symbol at each block, added linearly.
fn per_block_sum(formula: &Formula, place: &Place) -> Result<f64, Fault> {
    let mut sum = 0.0;
    for block in block_list(place) {
        sum += not_negative(formula, &with_symbol(place, &block))?;
    }
    Ok(sum)
}

/// Returns the blocks of the stack, or the point's value as the one block.
fn block_list(place: &Place) -> Vec<Exact> {
    match (place.stack, place.symbol) {
        (Some(stack), _) => stack.iter().map(Quantity::exact).collect(),
        (None, Some(symbol)) => place.base.exact[symbol].iter().cloned().collect(),
        (None, None) => Vec::new(),
    }
}

fn with_symbol(place: &Place, block: &Exact) -> Base {
    let mut base = place.base.clone();
    if let Some(symbol) = place.symbol {
        base.values[symbol] = Some(block.to_f64());
        base.exact[symbol] = Some(block.clone());
    }
    base
}

/// Spread of blocks by grade: limit deviations as rectangles, calibration (k = 2) beside them.
///
/// Method: M7.
fn blocks(
    grade: &Grade,
    length: &BlockLength,
    calibrated_with: Option<&Formula>,
    dof: Option<Dof>,
    place: &Place,
    origin: Origin,
) -> Result<Spread, Fault> {
    let mut parts: Vec<Piece> = Vec::new();
    let mut add = |length: f64, base: &Base, origin: Origin| -> Result<(), Fault> {
        let limit = limit_of(grade, length, place, origin)?;
        if limit > 0.0 {
            let infinite = f64::INFINITY;
            parts.push(Piece::one(Distribution::Rectangular, limit / 3f64.sqrt(), infinite));
            let calibration = calibrated_with.map(|it| not_negative(it, base)).transpose()?;
            if let Some(expanded) = calibration.filter(|it| *it > 0.0) {
                parts.push(Piece::one(Distribution::Normal, 0.5 * expanded, infinite));
            }
        }
        Ok(())
    };
    match length {
        BlockLength::Length(formula) => {
            add(formula.value(place.base)?, place.base, formula.origin())?
        }
        BlockLength::Stack => {
            for block in block_list(place) {
                add(block.to_f64(), &with_symbol(place, &block), origin)?;
            }
        }
    }
    let of = |it: &Piece| (it.standard_uncertainty, it.shape.kurtosis());
    let moments: Vec<(f64, f64)> = parts.iter().map(of).collect();
    let variance: f64 = moments.iter().map(|it| it.0 * it.0).sum();
    let distribution = match parts.as_slice() {
        [] => Distribution::Exact,
        [one] => one.shape,
        _ => Distribution::Sum { kurtosis: sum_kurtosis(&moments) },
    };
    let parts = if parts.len() > 1 { parts } else { Vec::new() };
    let dof = dof.map_or(f64::INFINITY, Dof::get);
    Ok(Spread { parts, ..known(distribution, variance.sqrt(), dof) })
}

/// Returns the limit deviation at a nominal length; exactly 0 is no block.
fn limit_of(grade: &Grade, length: f64, place: &Place, origin: Origin) -> Result<f64, Fault> {
    if length == 0.0 {
        return Ok(0.0);
    }
    let index = grade.table.grades().iter().position(|it| *it == grade.grade).unwrap_or(usize::MAX);
    match grade::limit_deviation(grade.table, index, length, place.inch) {
        Lookup::Limit(limit) => Ok(limit),
        Lookup::Outside(from, to) => {
            let (unit, scale) = if place.inch { ("in", 0.0254) } else { ("mm", 1e-3) };
            let shown = |metres: f64| {
                let text = crate::quantity::decimal::significant(metres / scale, 6);
                match text.contains('.') && !text.contains('e') {
                    true => text.trim_end_matches('0').trim_end_matches('.').to_owned(),
                    false => text,
                }
            };
            let what =
                format!("a block of {} {unit} is outside {}", shown(length), grade.table.word());
            let rule = format!(
                "its lengths are {} {unit} to {} {unit}; exactly 0 is no block",
                shown(from),
                shown(to)
            );
            Err(Fault::new(origin, what).rule(rule))
        }
    }
}

/// Returns the kurtosis of a sum of independent parts, given as (u, κ): fourth cumulants add.
///
/// Method: M9.
pub fn sum_kurtosis(parts: &[(f64, f64)]) -> f64 {
    let variance: f64 = parts.iter().map(|it| it.0 * it.0).sum();
    if variance == 0.0 {
        return 3.0;
    }
    let excess: f64 = parts
        .iter()
        .map(|(u, kurtosis)| {
            let share = u * u / variance;
            (kurtosis - 3.0) * share * share
        })
        .sum();
    3.0 + excess
}
