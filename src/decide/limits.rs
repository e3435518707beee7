//! The tolerance at one point: its limits, exact where they can be, and the ratio TUR.
//!
//! All values are in SI of the measurand. A comparison is exact where limit and value are exact;
//! otherwise a value within the tie tolerance of a limit counts as on it.

use crate::budget::formula::{Base, Formula};
use crate::budget::{Budget, Point, Scope, Tolerance, ToleranceLimits};
use crate::decide::figures;
use crate::fault::Fault;
use crate::propagate::{PointEvaluation, Value};
use crate::quantity::{Exact, Unit};
use std::cmp::Ordering;

/// A limit, and the same exactly where it is made of exact values.
#[derive(Debug, Clone, PartialEq)]
pub struct Limit {
    /// In SI.
    pub si: f64,
    /// Exact, in SI.
    pub exact: Option<Exact>,
}

/// The limits of a zone; a side without limit is open.
#[derive(Debug, Clone, PartialEq)]
pub struct Limits {
    /// Lower limit.
    pub lower: Option<Limit>,
    /// Upper limit.
    pub upper: Option<Limit>,
}

/// One side of a zone.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Side {
    /// That of the lower limit.
    Lower,
    /// That of the upper limit.
    Upper,
}

/// The ratio of the tolerance span to 2·U (U at 95.45 %) for both scopes.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Tur {
    /// For scope `all`; `None`: not stated.
    pub all: Option<f64>,
    /// For scope `laboratory`; `None`: not stated.
    pub laboratory: Option<f64>,
    /// Why it is not stated, for each scope where it is not.
    pub reasons: Vec<(Scope, String)>,
}

impl Limit {
    /// Returns an exact limit.
    pub fn from_exact(exact: Exact) -> Limit {
        Limit { si: exact.to_f64(), exact: Some(exact) }
    }

    /// Returns a computed limit, in SI.
    pub fn computed(si: f64) -> Limit {
        Limit { si, exact: None }
    }

    /// Returns the sum.
    pub fn plus(&self, other: &Limit) -> Limit {
        self.combine(other, Exact::add, |a, b| a + b)
    }

    /// Returns the difference.
    pub fn minus(&self, other: &Limit) -> Limit {
        self.combine(other, Exact::sub, |a, b| a - b)
    }

    /// Compares `value` with the limit: exactly where both are exact, else within `tie` is equal.
    ///
    /// Method: M22.
    pub fn compare(&self, value: &Value, tie: f64) -> Ordering {
        let exact = self.exact.as_ref().zip(value.exact.as_ref());
        if let Some(order) = exact.and_then(|(limit, value)| value.compare(limit)) {
            return order;
        }
        let apart = value.si - self.si;
        if apart.abs() <= tie {
            Ordering::Equal
        } else if apart < 0.0 {
            Ordering::Less
        } else {
            Ordering::Greater
        }
    }

    /// Returns the limit as a value.
    pub fn value(&self) -> Value {
        Value { si: self.si, exact: self.exact.clone() }
    }

    fn combine(
        &self,
        other: &Limit,
        exactly: fn(&Exact, &Exact) -> Option<Exact>,
        nearly: fn(f64, f64) -> f64,
    ) -> Limit {
        let both = self.exact.as_ref().zip(other.exact.as_ref());
        match both.and_then(|(a, b)| exactly(a, b)) {
            Some(exact) => Limit::from_exact(exact),
            None => Limit::computed(nearly(self.si, other.si)),
        }
    }
}

impl From<&Value> for Limit {
    fn from(value: &Value) -> Limit {
        Limit { si: value.si, exact: value.exact.clone() }
    }
}

impl Limits {
    /// Returns the limits moved inwards by `width`.
    pub fn shrunk(&self, width: &Limit) -> Limits {
        Limits {
            lower: self.lower.as_ref().map(|it| it.plus(width)),
            upper: self.upper.as_ref().map(|it| it.minus(width)),
        }
    }

    /// Returns the limits moved outwards by `width`.
    pub fn grown(&self, width: &Limit) -> Limits {
        Limits {
            lower: self.lower.as_ref().map(|it| it.minus(width)),
            upper: self.upper.as_ref().map(|it| it.plus(width)),
        }
    }

    /// Returns the limit of a side.
    pub fn side(&self, side: Side) -> Option<&Limit> {
        match side {
            Side::Lower => self.lower.as_ref(),
            Side::Upper => self.upper.as_ref(),
        }
    }

    /// Returns upper less lower limit; `None` for a one-sided tolerance.
    pub fn span(&self) -> Option<Limit> {
        Some(self.upper.as_ref()?.minus(self.lower.as_ref()?))
    }

    /// Whether no value lies within: the lower limit is above the upper one.
    pub fn is_empty(&self, tie: f64) -> bool {
        let both = self.lower.as_ref().zip(self.upper.as_ref());
        both.is_some_and(|(lower, upper)| upper.compare(&lower.value(), tie) == Ordering::Greater)
    }

    /// Whether `value` lies within the limits or on one.
    pub fn contains(&self, value: &Value, tie: f64) -> bool {
        let above = |it: &Limit| it.compare(value, tie) != Ordering::Less;
        let below = |it: &Limit| it.compare(value, tie) != Ordering::Greater;
        !self.is_empty(tie)
            && self.lower.as_ref().is_none_or(above)
            && self.upper.as_ref().is_none_or(below)
    }

    /// Returns how far inside the limit of `side` a value lies, in SI; negative beyond it, infinite
    /// on an open side.
    pub fn margin(&self, side: Side, value: &Value) -> f64 {
        let value = Limit::from(value);
        let inside = match side {
            Side::Lower => self.lower.as_ref().map(|it| value.minus(it)),
            Side::Upper => self.upper.as_ref().map(|it| it.minus(&value)),
        };
        inside.map_or(f64::INFINITY, |it| it.si)
    }

    /// Returns the side whose limit is nearest to `value`, or furthest passed; upper where both are.
    pub fn nearest(&self, value: &Value) -> Side {
        if self.margin(Side::Lower, value) < self.margin(Side::Upper, value) {
            Side::Lower
        } else {
            Side::Upper
        }
    }

    /// Whether the limits lie symmetrically about zero.
    pub fn is_symmetric(&self) -> bool {
        match (&self.lower, &self.upper) {
            (Some(lower), Some(upper)) => match (&lower.exact, &upper.exact) {
                (Some(low), Some(high)) => low.neg() == *high,
                _ => lower.si == -upper.si,
            },
            _ => false,
        }
    }
}

impl Tur {
    /// Returns that of a scope.
    pub fn of(&self, scope: Scope) -> Option<f64> {
        match scope {
            Scope::All => self.all,
            Scope::Laboratory => self.laboratory,
        }
    }

    /// Returns why that of a scope is not stated; empty where it is.
    pub fn reason(&self, scope: Scope) -> &str {
        self.reasons.iter().find(|it| it.0 == scope).map_or("", |it| it.1.as_str())
    }

    /// Returns the ratios of a tolerance at one point. `lower_bound` and `upper_bound`: natural
    /// bounds of the measurand; `expanded`: U at 95.45 % of a scope; all in SI.
    ///
    /// Source: the idea of ANSI/NCSL Z540.3; one-sided only where the measurand is bounded.
    pub fn new(
        limits: &Limits,
        lower_bound: Option<f64>,
        upper_bound: Option<f64>,
        expanded: impl Fn(Scope) -> f64,
    ) -> Tur {
        let lower = limits.lower.as_ref().map(|it| it.si).or(lower_bound);
        let upper = limits.upper.as_ref().map(|it| it.si).or(upper_bound);
        let span = match (limits.span(), lower, upper) {
            (Some(span), ..) => Ok(span.si),
            (None, Some(lower), Some(upper)) if upper > lower => Ok(upper - lower),
            (None, Some(_), Some(_)) => {
                Err("the tolerance does not lie within the measurand's bounds")
            }
            (None, ..) => Err("the tolerance is one-sided and the measurand has no bound opposite"),
        };
        let mut tur = Tur::default();
        for scope in Scope::BOTH {
            let ratio = ratio(span, expanded(scope));
            if let Err(reason) = ratio {
                tur.reasons.push((scope, reason.to_owned()));
            }
            match scope {
                Scope::All => tur.all = ratio.ok(),
                Scope::Laboratory => tur.laboratory = ratio.ok(),
            }
        }
        tur
    }

    /// Returns the ratios at an evaluated point of a budget.
    pub fn at(budget: &Budget, limits: &Limits, point: &PointEvaluation) -> Tur {
        let bound = |it: &Option<crate::quantity::Quantity>| it.as_ref().map(|it| it.si());
        let measurand = budget.measurand();
        let (lower, upper) = (bound(&measurand.lower_bound), bound(&measurand.upper_bound));
        Tur::new(limits, lower, upper, |scope| point.scope(scope).test_expanded)
    }
}

/// Returns the limits of the tolerance at `point`, its own before the budget's; `None` without one.
///
/// # Errors
///
/// A limit that has no value here; a point above the last step of `by_point`; a lower limit that
/// does not lie below the upper one.
pub fn tolerance_at(budget: &Budget, point: &Point, base: &Base) -> Result<Option<Limits>, Fault> {
    let limits = match point.tolerance.as_ref().or(budget.tolerance()) {
        None => return Ok(None),
        Some(Tolerance::Limits(limits)) => limits,
        Some(Tolerance::ByPoint(steps)) => step_of(steps, point, budget)?,
    };
    let side =
        |formula: &Option<Formula>| formula.as_ref().map(|it| limit_of(it, base)).transpose();
    let found = Limits { lower: side(&limits.lower)?, upper: side(&limits.upper)? };
    check_order(&found, limits, point, &budget.measurand().unit)?;
    Ok(Some(found))
}

/// Returns the value of a formula as a limit.
///
/// # Errors
///
/// A formula that has no value at the point.
pub(crate) fn limit_of(formula: &Formula, base: &Base) -> Result<Limit, Fault> {
    let si = formula.value(base)?;
    Ok(match formula.exact(base) {
        Some(exact) => Limit::from_exact(exact),
        None => Limit::computed(si),
    })
}

/// Returns the tolerance span over 2·U, or why there is none.
///
/// Method: M23.
fn ratio(span: Result<f64, &'static str>, expanded: f64) -> Result<f64, &'static str> {
    if expanded > 0.0 {
        span.map(|span| span / (2.0 * expanded))
    } else {
        Err("the uncertainty of this scope is zero")
    }
}

fn step_of<'a>(
    steps: &'a [(crate::quantity::Quantity, ToleranceLimits)],
    point: &Point,
    budget: &Budget,
) -> Result<&'a ToleranceLimits, Fault> {
    let Some(at) = &point.at else {
        let fault = Fault::new(budget.origin(), "`by_point` needs points");
        return Err(fault.rule("a budget with a single result has one tolerance"));
    };
    let value = Limit::from_exact(at.exact());
    let within = |up_to: &crate::quantity::Quantity| {
        Limit::from_exact(up_to.exact()).compare(&value.value(), 0.0) != Ordering::Greater
    };
    if let Some(step) = steps.iter().find(|it| within(&it.0)) {
        return Ok(&step.1);
    }
    let last = steps.last();
    let origin = last.map_or(budget.origin(), |it| it.1.origin);
    let end = last.map_or(String::new(), |it| it.0.text());
    Err(Fault::new(origin, format!("the point `{}` lies above the last step `{end}`", at.text()))
        .rule("the steps of `by_point` cover every point")
        .help(format!("up_to: {}", at.text())))
}

fn check_order(
    found: &Limits,
    limits: &ToleranceLimits,
    point: &Point,
    unit: &Unit,
) -> Result<(), Fault> {
    let (Some(lower), Some(upper)) = (&found.lower, &found.upper) else { return Ok(()) };
    if upper.compare(&lower.value(), 0.0) == Ordering::Less {
        return Ok(());
    }
    let title = point.title();
    let at = if title.is_empty() { title } else { format!(" at {title}") };
    let (low, high) = (figures::plain(lower, unit), figures::plain(upper, unit));
    let what = format!("the tolerance{at} runs from `{low}` to `{high}`");
    let fault = Fault::new(limits.origin, what).rule("the lower limit lies below the upper one");
    Err(if low == high { fault } else { fault.help(format!("[{high}, {low}]")) })
}

#[cfg(test)]
mod tests {
    use super::super::testing::{micrometer, steps, value};
    use super::*;
    use crate::quantity::{Quantity, Units};

    fn limit(text: &str) -> Limit {
        Limit::from_exact(Quantity::parse(text, &Units::default()).unwrap().exact())
    }

    fn limits(lower: Option<&str>, upper: Option<&str>) -> Limits {
        Limits { lower: lower.map(limit), upper: upper.map(limit) }
    }

    /// Method: M23.
    #[test]
    fn tur_is_the_span_over_twice_u() {
        let tur = Tur::new(&limits(Some("-4"), Some("4")), None, None, |scope| match scope {
            Scope::All => 2.0,
            Scope::Laboratory => 0.0,
        });
        assert_eq!((tur.all, tur.laboratory), (Some(2.0), None));
        assert_eq!(tur.reason(Scope::Laboratory), "the uncertainty of this scope is zero");
        assert_eq!(tur.reason(Scope::All), "");
    }

    #[test]
    fn a_one_sided_tolerance_needs_a_bound_for_its_tur() {
        let at_most = limits(None, Some("4"));
        assert_eq!(Tur::new(&at_most, Some(0.0), None, |_| 1.0).all, Some(2.0));
        assert_eq!(Tur::new(&at_most, None, Some(9.0), |_| 1.0).all, None);
        assert_eq!(Tur::new(&limits(Some("4"), None), None, Some(10.0), |_| 1.0).all, Some(3.0));
        let beyond = Tur::new(&at_most, Some(5.0), None, |_| 1.0);
        assert_eq!(beyond.all, None);
        assert_eq!(beyond.reasons.len(), 2);
    }

    /// Method: M22.
    #[test]
    fn exact_values_are_compared_exactly() {
        let limit = limit("0.3");
        let sum = 0.1 + 0.2;
        let tie = 1e-20;
        assert_eq!(limit.compare(&Value { si: sum, exact: None }, tie), Ordering::Greater);
        let exact = Exact::from_integer(3).div(&Exact::from_integer(10));
        assert_eq!(limit.compare(&Value { si: sum, exact }, tie), Ordering::Equal);
        assert_eq!(limit.compare(&Value { si: sum, exact: None }, 1e-9), Ordering::Equal);
    }

    #[test]
    fn the_nearest_side_is_that_of_the_smaller_margin() {
        let zone = limits(Some("-1 µm"), Some("3 µm"));
        assert_eq!(zone.nearest(&value("0 µm")), Side::Lower);
        assert_eq!(zone.nearest(&value("1 µm")), Side::Upper);
        assert_eq!(limits(Some("-1 µm"), None).nearest(&value("9 µm")), Side::Lower);
    }

    #[test]
    fn steps_hold_up_to_and_including_their_end() {
        let case = micrometer("", "simple", 1.0)
            .tolerance(steps(&[("2.5 mm", "±2 µm"), ("10.3 mm", "±3 µm")]));
        let budget = case.budget();
        let zones = case.evaluate(&budget).zones().unwrap();
        let upper = |index: usize| zones[index].as_ref().unwrap().limits.upper.clone().unwrap();
        assert_eq!((upper(0), upper(1)), (limit("2 µm"), limit("3 µm")));
    }

    #[test]
    fn refuses_a_point_above_the_last_step() {
        let case = micrometer("", "simple", 1.0).tolerance(steps(&[("10 mm", "±2 µm")]));
        assert_eq!(
            case.fault().message(),
            "the point `10.3 mm` lies above the last step `10 mm`: the steps of `by_point` cover \
             every point"
        );
    }

    #[test]
    fn refuses_limits_that_are_reversed_at_a_point() {
        let case = micrometer("[2 µm, 400 µm/m * L]", "simple", 1.0);
        let fault = case.fault();
        assert_eq!(
            fault.message(),
            "the tolerance at 2.5 mm runs from `2 µm` to `1 µm`: the lower limit lies below the \
             upper one"
        );
    }

    #[test]
    fn a_point_has_its_own_tolerance_before_that_of_the_budget() {
        let mut case = micrometer("±4 µm", "simple", 1.0);
        if let Some(points) = &mut case.parts.points {
            points.at[0].tolerance = super::super::testing::tolerance_of("±1 µm");
        }
        assert_eq!(case.zones().limits.upper, Some(limit("1 µm")));
    }
}
