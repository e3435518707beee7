//! Base values of all names at a point: estimates in the order of their dependence.
//!
//! Evidence, sensitivities and tolerances see these values. A name that only contributors define
//! takes the sum of their means; any other name keeps its own estimate here.

use super::evaluate::Plan;
use crate::budget::{Base, Budget, Contributor, Evidence, Point, Role, Target};
use crate::evidence::{Place, mean, mean_formulas};
use crate::fault::{Fault, Origin};
use crate::quantity::{Exact, Unit};

/// Returns the names in an order in which each comes after those that it is made of.
///
/// # Errors
///
/// Names that are made of themselves.
pub(super) fn order(budget: &Budget) -> Result<Vec<usize>, Fault> {
    let names = budget.names();
    let mut adding: Vec<Vec<&Contributor>> = vec![Vec::new(); names.len()];
    for it in budget.contributors() {
        if let Target::Input(name) = it.target {
            adding[name].push(it);
        }
    }
    let needs: Vec<Vec<usize>> =
        (0..names.len()).map(|index| needs(budget, index, &adding[index])).collect();
    let mut state = vec![0u8; names.len()];
    let mut order = Vec::with_capacity(names.len());
    for start in 0..names.len() {
        let mut stack = vec![(start, 0)];
        while let Some((index, next)) = stack.pop() {
            if state[index] == 2 {
                continue;
            }
            state[index] = 1;
            match needs[index].get(next) {
                None => {
                    state[index] = 2;
                    order.push(index);
                }
                Some(&other) => {
                    stack.push((index, next + 1));
                    if state[other] == 1 {
                        return Err(circular(budget, index));
                    }
                    stack.push((other, 0));
                }
            }
        }
    }
    Ok(order)
}

fn circular(budget: &Budget, index: usize) -> Fault {
    let name = budget.names().get(index);
    let what = format!("the value of `{}` is made of itself", name.word);
    Fault::new(name.origin, what).rule("inputs are not circular")
}

/// Returns the names that the value of a name is made of; `adding` are the contributors to it.
fn needs(budget: &Budget, index: usize, adding: &[&Contributor]) -> Vec<usize> {
    match &budget.names().get(index).role {
        Role::Estimate { formula } => formula.mentions().iter().map(|it| it.0).collect(),
        Role::Bare => adding
            .iter()
            .flat_map(|it| mean_formulas(it))
            .flat_map(|it| it.mentions().iter().map(|it| it.0))
            .collect(),
        _ => Vec::new(),
    }
}

/// Returns the base values at a point, the reading being the point's value.
///
/// # Errors
///
/// What an estimate or a mean cannot compute.
pub(super) fn base(plan: &Plan, point: &Point) -> Result<Base, Fault> {
    let budget = plan.budget;
    let mut base = Base::empty(budget.names(), point.title());
    for &index in &plan.order {
        let given = point.keys.iter().find(|it| it.0 == index).map(|it| it.1.exact());
        let (value, exact) = match (&budget.names().get(index).role, given) {
            (_, Some(given)) => (Some(given.to_f64()), Some(given)),
            (Role::Reading | Role::Symbol, None) => {
                let at = point.at.as_ref().map_or_else(Exact::zero, |it| it.exact());
                (Some(at.to_f64()), Some(at))
            }
            (Role::Key, None) => (None, None),
            (Role::Estimate { formula }, None) => {
                (Some(formula.value(&base)?), formula.exact(&base))
            }
            (Role::Bare, None) => {
                let (value, exact) = sum_of_means(plan, point, index, &base)?;
                (Some(value), exact)
            }
        };
        let value = exact.as_ref().map_or(value, |it| Some(it.to_f64()));
        base.values[index] = value;
        base.exact[index] = exact;
    }
    Ok(base)
}

/// Returns the sum of what contributors add to a name.
///
/// Method: M11.
pub(super) fn sum_of_means(
    plan: &Plan,
    point: &Point,
    name: usize,
    base: &Base,
) -> Result<(f64, Option<Exact>), Fault> {
    let (mut sum, mut exact) = (0.0, Some(Exact::zero()));
    for index in &plan.fixed.adding[name] {
        let it = &plan.budget.contributors()[*index];
        let one = mean(it, &place(plan, point, base))?;
        sum += one.estimate;
        exact = exact.zip(one.exact).and_then(|(a, b)| a.add(&b));
    }
    let sum = exact.as_ref().map_or(sum, Exact::to_f64);
    Ok((sum, exact))
}

/// Returns what evidence may know of its point.
pub(super) fn place<'a>(plan: &'a Plan, point: &'a Point, base: &'a Base) -> Place<'a> {
    let (symbol, inch, stack) = (plan.symbol, plan.inch, point.stack.as_deref());
    Place { base, symbol, stack, inch, datasets: &plan.datasets }
}

/// Whether a unit is the inch or a decimal part of it.
pub fn in_inches(unit: &Unit) -> bool {
    let steps = [1, 1_000, 1_000_000];
    let inch = |per: i64| Exact::from_integer(254).div(&Exact::from_integer(10_000 * per));
    steps.into_iter().any(|per| inch(per).as_ref() == Some(unit.factor()))
}

/// A mean that lies nearer to the input's own estimate than to zero is the same value once more.
///
/// # Errors
///
/// The contributor whose mean counts the value twice.
pub(super) fn check_counted_once(plan: &Plan, point: &Point, base: &Base) -> Result<(), Fault> {
    let budget = plan.budget;
    for (it, nothing) in budget.contributors().iter().zip(&plan.fixed.adds_nothing) {
        let Target::Input(index) = it.target else { continue };
        if *nothing
            || matches!(budget.names().get(index).role, Role::Bare)
            || matches!(it.evidence, Evidence::Thermal(_))
        {
            continue;
        }
        let added = mean(it, &place(plan, point, base))?.estimate;
        let own = base.values[index].unwrap_or(0.0);
        if added != 0.0 && (added - own).abs() < added.abs() {
            return Err(counted_twice(budget, it, index));
        }
    }
    Ok(())
}

fn counted_twice(budget: &Budget, contributor: &Contributor, index: usize) -> Fault {
    let word = &budget.names().get(index).word;
    let origin: Origin = contributor.evidence_origin;
    let what = format!(
        "the value of `{word}` is counted twice: its own estimate, and the mean of `{}`",
        contributor.name
    );
    let rule = "means, midpoints and `estimate` are added to the input";
    Fault::new(origin, what).rule(rule).help(format!("leave `{word}` out of `estimates`"))
}
