//! What stands below the contributors of a point: u, ν, k, U, the interval, what is reported.

use super::budget::{CONTRIBUTION, Figures, Rows, SQUARE, TERM, term};
use super::formula::{self, INFINITE, dof, dof_formula, places, rounded_uncertainty, taken_dof};
use super::{Cell, Look, Role, Sheet};
use crate::record::{CoverageMethod, Dof, DofRule, Point, Section};

/// The plain formula of ν holds where it comes this near to ν.
const SAME: f64 = 1e-9;

/// How many cells there are to the left of the figures.
const BEFORE: usize = 13;

/// Returns how many rows there are between the contributors and u.
pub(super) fn rows_above_u(point: &Point) -> usize {
    1 + usize::from(correlation(point).is_some()) + usize::from(second_order(point).is_some())
}

fn squares(point: &Point) -> f64 {
    let kept = point.contributors.iter().filter(|it| it.kept);
    kept.map(|it| it.contribution * it.contribution).sum()
}

/// What correlations add to u²; `None` where they add nothing.
fn correlation(point: &Point) -> Option<f64> {
    let u = point.standard_uncertainty;
    match point.correlation_share {
        // All of it cancels: there is no u² to have a share of.
        0.0 if u == 0.0 && squares(point) > 0.0 => Some(0.0 - squares(point)),
        0.0 => None,
        share => Some(share * u * u),
    }
}

/// What the second order adds to u²; `None` where it is not in use.
fn second_order(point: &Point) -> Option<f64> {
    let u = point.standard_uncertainty;
    (point.second_order_share != 0.0).then_some(point.second_order_share * u * u)
}

/// A sheet with a block under way.
struct Block<'a> {
    sheet: &'a mut Sheet,
    unit: String,
}

impl Block<'_> {
    /// Pushes a figure with its unit and a remark, and returns its row.
    fn figure(&mut self, role: Role, name: &str, value: Cell, unit: &str, remark: &str) -> usize {
        let row = self.sheet.next();
        let mut cells = vec![Cell::text(name)];
        cells.extend(vec![Cell::Empty; BEFORE - 1]);
        cells.extend([value, Cell::text(unit), Cell::text(remark)]);
        self.sheet.push(role, cells);
        row
    }

    /// A figure in the measurand's unit.
    fn quantity(&mut self, name: &str, value: Cell, remark: &str) -> usize {
        let unit = self.unit.clone();
        self.figure(Role::Plain, name, value, &unit, remark)
    }

    fn plain(&mut self, name: &str, value: Cell, remark: &str) -> usize {
        self.figure(Role::Plain, name, value, "", remark)
    }
}

fn at(row: usize) -> String {
    format!("{CONTRIBUTION}{row}")
}

/// Pushes the figures of a point and returns their rows.
pub(super) fn push(
    sheet: &mut Sheet,
    section: &Section,
    point: &Point,
    rows: Rows,
    heading: usize,
) -> Figures {
    let unit = match section.budget.measurand.unit.as_str() {
        "1" => String::new(),
        unit => unit.to_owned(),
    };
    let mut block = Block { sheet, unit };
    let u = push_u(&mut block, point, rows);
    let dof = push_dof(&mut block, point, rows);
    let factor = push_factor(&mut block, point, dof);
    let unit = block.unit.clone();
    let product = Cell::formula(format!("{}*{}", at(factor), at(u)), point.expanded_uncertainty);
    let expanded = block.figure(Role::Result, "expanded uncertainty U = k·u", product, &unit, "");
    let remark = "constant: the model's value, which no formula here works out";
    let estimate = block.quantity("estimate", Cell::number(point.estimate), remark);
    push_interval(&mut block, point, estimate, expanded);
    let (reported, reported_estimate) =
        push_reported(&mut block, point, estimate, expanded, factor);
    for input in &point.inputs {
        let unit = if input.unit == "1" { "" } else { input.unit.as_str() };
        let name = format!("input {}", input.name);
        block.figure(Role::Plain, &name, Cell::number(input.estimate), unit, "constant");
    }
    Figures { heading, estimate, u, dof, factor, expanded, reported, reported_estimate }
}

/// The sum of squares, what correlations and the second order add, and u.
fn push_u(block: &mut Block, point: &Point, rows: Rows) -> usize {
    let square = if block.unit.is_empty() { String::new() } else { format!("({})²", block.unit) };
    let sum = match rows.counted(SQUARE) {
        Some(sum) => Cell::formula(sum, squares(point)),
        None => Cell::number(0.0),
    };
    let first = block.figure(Role::Plain, "sum of (c·u)² of what counts", sum, &square, "");
    let mut last = first;
    if let Some(part) = correlation(point) {
        let remark =
            "constant: what linked contributors and common data add; it does not follow changes";
        let part = Cell::number(part);
        last = block.figure(Role::Plain, "correlation part of u²", part, &square, remark);
    }
    if let Some(part) = second_order(point) {
        let remark = "constant: what the model's curvature adds; it does not follow changes";
        let part = Cell::number(part);
        last = block.figure(Role::Plain, "second-order part of u²", part, &square, remark);
    }
    let root = match last == first {
        true => format!("SQRT({})", at(first)),
        false => format!("SQRT(MAX(0,SUM({}:{})))", at(first), at(last)),
    };
    let u = Cell::formula(root, point.standard_uncertainty);
    let unit = block.unit.clone();
    block.figure(Role::Result, "standard uncertainty u", u, &unit, "")
}

/// ν: a formula where the plain one holds, else a constant with the reason.
fn push_dof(block: &mut Block, point: &Point, rows: Rows) -> usize {
    let kept = point.contributors.iter().filter(|it| it.kept);
    let sum: f64 = kept.map(|it| term(point, it.contribution, it.dof)).sum();
    let name = "effective degrees of freedom ν";
    match rows.counted(TERM).filter(|_| same(sum, point.effective_dof)) {
        Some(terms) => {
            let row = block.plain("sum of share²/ν of what counts", Cell::formula(terms, sum), "");
            let (dof, terms) = (point.effective_dof, at(row));
            let formula = format!("IF({terms}=0,\"{INFINITE}\",1/{terms})");
            let remark = "Welch–Satterthwaite: 1 over the sum of share²/ν";
            block.figure(Role::Result, name, dof_formula(formula, dof), "", remark)
        }
        None => {
            let remark = match point.contributors.is_empty() {
                true => "constant: nothing contributes",
                false => {
                    "constant: contributors are linked or come from common data, for which the plain \
                     formula over the rows does not hold; it does not follow changes"
                }
            };
            block.figure(Role::Result, name, dof(point.effective_dof), "", remark)
        }
    }
}

/// Whether the sum of share²/ν gives these degrees of freedom.
fn same(sum: f64, dof: Dof) -> bool {
    match dof.is_infinite() {
        true => sum == 0.0,
        false => (sum * dof.get() - 1.0).abs() <= SAME,
    }
}

/// k by the method of the budget.
fn push_factor(block: &mut Block, point: &Point, dof: usize) -> usize {
    let name = "coverage factor k";
    let factor = Cell::number(point.coverage_factor);
    let probability = point.coverage.probability;
    if let Some(probability) = probability {
        let cell = Cell::number(probability);
        block.plain("coverage probability p", cell, "constant: of the budget");
    }
    let p = at(block.sheet.next() - 1);
    let remark = match (point.coverage.method, probability) {
        (CoverageMethod::Fixed, _) | (_, None) => "constant: fixed by the budget",
        (CoverageMethod::Exact, _) => {
            "constant: U/u, U half the interval of the computed distribution; it does not follow changes"
        }
        (CoverageMethod::MonteCarlo, _) if point.simulation.is_some() => {
            "constant: U/u, U half the simulated interval; it does not follow changes"
        }
        (CoverageMethod::MonteCarlo | CoverageMethod::T, Some(_)) => {
            let rule = point.coverage.dof;
            let taken = taken_dof(point.effective_dof, rule);
            let cell = dof_formula(formula::taken(&at(dof), rule), taken);
            let row = block.plain("ν as the quantile takes it", cell, taken_remark(point));
            let k = Cell::formula(formula::factor(&p, &at(row), rule), point.coverage_factor);
            return block.figure(Role::Result, name, k, "", "Student's t, two-sided");
        }
    };
    block.figure(Role::Result, name, factor, "", remark)
}

fn taken_remark(point: &Point) -> &'static str {
    match point.coverage.dof {
        DofRule::Truncate => {
            "rounded down (what is within 1e-9 of an integer is that integer), never below 1"
        }
        DofRule::Interpolate => "not rounded, never below 1",
    }
}

/// The coverage interval: formulas where it is U on both sides of the estimate.
fn push_interval(block: &mut Block, point: &Point, estimate: usize, expanded: usize) {
    let own = match point.coverage.method {
        CoverageMethod::Exact => true,
        // Where there is nothing to draw, the interval is that of t.
        CoverageMethod::MonteCarlo => point.simulation.is_some(),
        CoverageMethod::T | CoverageMethod::Fixed => false,
    };
    let names = ["interval from", "interval to"];
    for ((name, end), sign) in names.iter().zip(point.interval).zip(["-", "+"]) {
        match own {
            true => block.quantity(name, Cell::number(end), "constant: of the distribution"),
            false => {
                let sum = format!("{}{sign}{}", at(estimate), at(expanded));
                block.quantity(name, Cell::formula(sum, end), "")
            }
        };
    }
}

/// U and estimate as they are reported; k too.
fn push_reported(
    block: &mut Block,
    point: &Point,
    estimate: usize,
    expanded: usize,
    factor: usize,
) -> (usize, usize) {
    let it = &point.reported;
    let look = Look::Fixed(it.decimals);
    let constant = |number: f64| Cell::Number(number + 0.0, look);
    let rows = if point.expanded_uncertainty > 0.0 {
        let digits = Cell::number(f64::from(it.digits));
        let digits = at(block.plain("significant digits of U", digits, "constant: of the budget"));
        let rounded = rounded_uncertainty(&at(expanded), &digits);
        let rounded = Cell::formula_as(rounded, it.expanded_uncertainty, look);
        let remark = "half up; up where rounding down would take over 5 % off";
        let reported = block.quantity("U as reported", rounded, remark);
        let to = format!("ROUND({},{})", at(estimate), places(&at(reported), &digits));
        let rounded = Cell::formula_as(to, it.estimate, look);
        (reported, block.quantity("estimate as reported", rounded, "to the last place of U"))
    } else {
        let reported =
            block.quantity("U as reported", constant(it.expanded_uncertainty), "constant");
        (reported, block.quantity("estimate as reported", constant(it.estimate), "constant"))
    };
    let k = format!("ROUND({},2)", at(factor));
    block.plain("k as reported", Cell::formula_as(k, it.coverage_factor, Look::Fixed(2)), "");
    rows
}
