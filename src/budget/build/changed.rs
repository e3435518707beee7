//! Copies of a budget with one thing changed: a point between its points, another tolerance.
//!
//! What is changed is checked as when the budget was made; nothing else can become faulty by it.

use super::context::Context;
use super::tolerance;
use crate::budget::parts::{Text, ToleranceParts};
use crate::budget::{
    BlockLength, Budget, Evidence, Formula, GuardBand, Known, Point, Role, Target, Tolerance,
    ToleranceLimits,
};
use crate::fault::{Fault, Faults, Origin};
use crate::model::check;
use crate::model::parse::fold;
use crate::quantity::{Quantity, Scale};
use std::cmp::Ordering;
use std::collections::BTreeSet;

impl Budget {
    /// Returns the budget with a further point at `at`, between two of its points, and the index of the
    /// new point; that of the first such point where there is one already.
    ///
    /// # Errors
    ///
    /// A budget without points, another kind of quantity, a value outside the points, a key that
    /// expressions use and that only points give, blocks of a stack, a tolerance of the points' own. All
    /// without a place, as no text of the budget is wrong.
    pub fn with_point(&self, at: Quantity) -> Result<(Budget, usize), Fault> {
        let shown = at.text();
        let fault = |what: String| Fault::new(Origin::NONE, what);
        let Some(unit) = &self.points.unit else {
            let rule = "this budget has a single result and no points";
            return Err(fault(format!("`{shown}` names no point")).rule(rule));
        };
        if at.dimension() != unit.dimension() || at.scale() != unit.scale() {
            let rule = format!("points are given in `{}`", unit.text());
            return Err(fault(format!("`{shown}` does not fit")).rule(rule));
        }
        let list = &self.points.list;
        let order = |it: &Point| compare(it.at.as_ref(), &at);
        let index = list.partition_point(|it| order(it) == Ordering::Less);
        if list.get(index).is_some_and(|it| order(it) == Ordering::Equal) {
            return Ok((self.clone(), index));
        }
        let title = |it: Option<&Point>| it.map_or(String::new(), Point::title);
        let (Some(below), Some(above)) =
            (index.checked_sub(1).and_then(|it| list.get(it)), list.get(index))
        else {
            let nearest = if index == 0 { list.first() } else { list.last() };
            let (first, last) = (title(list.first()), title(list.last()));
            let nearest = nearest.and_then(|it| it.at.as_ref()).map(Quantity::text);
            return Err(fault(format!("`{shown}` lies outside the points of this budget"))
                .rule(format!("they run from {first} to {last}"))
                .help(nearest.unwrap_or_default()));
        };
        self.not_by_point(&shown, [below, above])?;
        let (label, keys, stack, tolerance) = (None, Vec::new(), None, None);
        let point = Point { origin: Origin::NONE, at: Some(at), label, keys, stack, tolerance };
        let mut budget = self.clone();
        budget.points.list.insert(index, point);
        Ok((budget, index))
    }

    /// Returns the budget with another tolerance at all points, whose own tolerances go. What is known
    /// of the population as a share within the tolerance goes too: it is said of the old one.
    ///
    /// # Errors
    ///
    /// All faults of the tolerance, as [`Budget::new`] has them.
    pub fn with_tolerance(&self, parts: &ToleranceParts) -> Result<Budget, Faults> {
        let mut context = self.context();
        let found = tolerance::tolerance(&mut context, parts);
        let Some(found) = found.filter(|_| context.faults.is_empty()) else {
            return Err(Faults(context.faults));
        };
        let mut budget = self.clone();
        budget.tolerance = Some(found);
        budget.points.list.iter_mut().for_each(|it| it.tolerance = None);
        let of_the_old =
            |it: &crate::budget::Population| matches!(it.known, Known::InTolerance { .. });
        budget.population = budget.population.filter(|it| !of_the_old(it));
        Ok(budget)
    }

    /// Whether a tolerance can be one of the measurand: no limit is of another dimension, as far as it
    /// can be read.
    pub fn could_have_tolerance(&self, parts: &ToleranceParts) -> bool {
        let mut context = self.context();
        let wanted = self.measurand.unit.dimension();
        texts(parts).iter().all(|text| {
            let read = context.plus_minus(text);
            let exprs = read.into_iter().flat_map(|it| it.centre.into_iter().chain(it.half));
            exprs.into_iter().all(|it| {
                let kind = check::kind(&it, &|word| self.names.kind_of(word)).ok().flatten();
                kind.is_none_or(|it| it.dimension == *wanted)
            })
        })
    }

    /// Returns a context in which further texts of this budget can be read.
    fn context(&self) -> Context {
        let kind = check::kind(&self.model, &|word| self.names.kind_of(word)).ok().flatten();
        let own = std::iter::once(fold(&self.measurand.symbol));
        let symbols = own.chain(self.results.iter().map(|it| it.symbol.clone()));
        Context {
            units: self.units.clone(),
            words: self.names.iter().map(|it| it.word.clone()).collect(),
            symbols: if self.results.is_empty() { BTreeSet::new() } else { symbols.collect() },
            names: self.names.clone(),
            measurand_unit: Some(self.measurand.unit.clone()),
            points_unit: self.points.unit.clone(),
            seen_units: Vec::new(),
            unresolved: BTreeSet::new(),
            result_scale: kind.map_or(Scale::None, |it| it.scale),
            has_estimates: self.names.iter().any(|it| matches!(it.role, Role::Estimate { .. })),
            incomplete: false,
            faults: Vec::new(),
        }
    }

    /// Says what has no value between two points, being given point by point.
    fn not_by_point(&self, at: &str, neighbours: [&Point; 2]) -> Result<(), Fault> {
        let list = &self.points.list;
        let fault = |what: String, rule: &str, help: String| {
            Err(Fault::new(Origin::NONE, what).rule(rule).help(help))
        };
        if list.iter().any(|it| it.stack.is_some()) && self.uses_stacks() {
            let what = format!("`{at}` is no point of this budget, and its blocks are not known");
            let rule = "the evidence is that of the blocks that a point is built of";
            return fault(what, rule, "add the point with its `stack` to `points: at`".to_owned());
        }
        let key = self.used_names().into_iter().find(|it| matches!(self.role(*it), Role::Key));
        if let Some(key) = key {
            let word = &self.names.get(key).word;
            let what =
                format!("`{at}` is no point of this budget, and `{word}` has no value there");
            let rule = "expressions use it, and points alone give it";
            let help = format!(
                "give `{word}` a default in `estimates`, or add the point with its `{word}` to \
                 `points: at`"
            );
            return fault(what, rule, help);
        }
        let own = |it: &&Point| it.tolerance.is_some();
        let alone = self.tolerance.is_none() && list.iter().any(|it| it.tolerance.is_some());
        if alone || neighbours.iter().any(own) {
            let what =
                format!("`{at}` is no point of this budget, and `tolerance` is not given there");
            let rule = "points have a tolerance of their own here";
            let help = "give the tolerance as `by_point`, or add the point with its `tolerance` to \
                        `points: at`";
            return fault(what, rule, help.to_owned());
        }
        Ok(())
    }

    fn role(&self, name: usize) -> &Role {
        &self.names.get(name).role
    }

    /// Whether some evidence is that of the blocks of a stack.
    fn uses_stacks(&self) -> bool {
        self.contributors.iter().any(|it| match &it.evidence {
            Evidence::Certificate { per_block, .. } => *per_block,
            Evidence::BlockGrade { length, .. } => matches!(length, BlockLength::Stack),
            _ => false,
        })
    }

    /// Returns the names that any expression uses.
    fn used_names(&self) -> BTreeSet<usize> {
        let mut names = BTreeSet::new();
        for model in self.results.iter().map(|it| &it.model).chain([&self.model]) {
            model.for_each_name(&mut |word, _| names.extend(self.names.find(word)));
        }
        let formulas = self.formulas();
        names.extend(formulas.iter().flat_map(|it| it.mentions()).map(|it| it.0));
        names
    }

    /// Returns all formulas but those of the points' own tolerances.
    fn formulas(&self) -> Vec<&Formula> {
        let mut all: Vec<&Formula> = Vec::new();
        for it in self.names.iter() {
            if let Role::Estimate { formula } = &it.role {
                all.push(formula);
            }
        }
        for it in &self.contributors {
            all.extend(it.estimate.iter().chain(&it.times));
            all.extend(it.evidence.formulas());
            if let Target::Sensitivity(formula) = &it.target {
                all.push(formula);
            }
        }
        let limits: Vec<&ToleranceLimits> = match &self.tolerance {
            Some(Tolerance::Limits(limits)) => vec![limits],
            Some(Tolerance::ByPoint(steps)) => steps.iter().map(|it| &it.1).collect(),
            None => Vec::new(),
        };
        all.extend(limits.iter().flat_map(|it| it.lower.iter().chain(&it.upper)));
        all.extend(&self.repeatability);
        if let Some(GuardBand::Width(formula)) = self.decision.as_ref().map(|it| &it.guard_band) {
            all.push(formula);
        }
        match self.population.as_ref().map(|it| &it.known) {
            Some(Known::InTolerance { mean, .. }) => all.extend(mean),
            Some(Known::Normal { mean, sd }) => all.extend([mean, sd]),
            Some(Known::Bounded { low, high, .. }) => all.extend([low, high]),
            Some(Known::History(_)) | None => {}
        }
        all
    }
}

fn compare(point: Option<&Quantity>, at: &Quantity) -> Ordering {
    let Some(point) = point else { return Ordering::Equal };
    let (point, at) = (point.exact(), at.exact());
    point.compare(&at).unwrap_or_else(|| point.to_f64().total_cmp(&at.to_f64()))
}

/// Returns the texts of all limits, without their words.
fn texts(parts: &ToleranceParts) -> Vec<Text> {
    let without_words = |text: &Text| {
        let trimmed = text.text.trim();
        let rest = trimmed.strip_prefix("at most").or_else(|| trimmed.strip_prefix("at least"));
        Text::new(rest.unwrap_or(trimmed).trim(), text.origin)
    };
    match parts {
        ToleranceParts::Text(text) => vec![without_words(text)],
        ToleranceParts::Between(_, items) => items.clone(),
        ToleranceParts::Sides { lower, upper, .. } => lower.iter().chain(upper).cloned().collect(),
        ToleranceParts::ByPoint(_, steps) => {
            steps.iter().flat_map(|it| texts(&it.limits)).collect()
        }
    }
}
