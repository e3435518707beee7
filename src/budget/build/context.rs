//! Reading of single texts: expressions, quantities, numbers and words, with faults at their place.

use crate::budget::names::{Name, Names};
use crate::budget::number::{Date, Probability};
use crate::budget::parts::Text;
use crate::budget::{Formula, Role};
use crate::fault::{Fault, Origin};
use crate::model::expr::Node;
use crate::model::parse::{PlusMinus, Scope, expression, fold, plus_minus};
use crate::model::{Expr, Kind, check};
use crate::quantity::{
    Decimal, Dimension, Quantity, Scale as TemperatureScale, TextFault, Unit, Units,
};
use std::collections::BTreeSet;

/// What all parts of the construction share.
#[derive(Debug)]
pub(super) struct Context {
    pub(super) units: Units,
    /// All words that are names, folded; known before any expression is read.
    pub(super) words: BTreeSet<String>,
    /// The symbols of the measurand and of results, folded, where there are results.
    pub(super) symbols: BTreeSet<String>,
    pub(super) names: Names,
    pub(super) measurand_unit: Option<Unit>,
    pub(super) points_unit: Option<Unit>,
    /// The units that expressions were written in, for help.
    pub(super) seen_units: Vec<Unit>,
    /// Names that are there but could not be added, with faults of their own.
    pub(super) unresolved: BTreeSet<String>,
    /// The temperature scale of the model's result.
    pub(super) result_scale: TemperatureScale,
    /// Whether the budget has `estimates`.
    pub(super) has_estimates: bool,
    /// Whether faults of absence would only echo others.
    pub(super) incomplete: bool,
    pub(super) faults: Vec<Fault>,
}

impl Context {
    pub(super) fn fault(&mut self, fault: Fault) {
        self.faults.push(fault);
    }

    fn text_fault(&mut self, origin: Origin, fault: TextFault) {
        self.fault(Fault::new(origin.further(fault.at), fault.what).help(fault.help));
    }

    /// Reads an expression; its names need not exist.
    pub(super) fn expr(&mut self, text: &Text) -> Option<Expr> {
        let scope = Scope { units: &self.units, is_name: &|word| self.words.contains(word) };
        match expression(&text.text, text.origin, &scope) {
            Ok(expr) => {
                note_units(&expr, &mut self.seen_units);
                Some(expr)
            }
            Err(fault) => {
                self.fault(fault);
                None
            }
        }
    }

    /// Reads `±a`, `x ± a` or `x`.
    pub(super) fn plus_minus(&mut self, text: &Text) -> Option<PlusMinus> {
        let scope = Scope { units: &self.units, is_name: &|word| self.words.contains(word) };
        match plus_minus(&text.text, text.origin, &scope) {
            Ok(found) => {
                let parts = found.centre.iter().chain(&found.half);
                parts.for_each(|it| note_units(it, &mut self.seen_units));
                Some(found)
            }
            Err(fault) => {
                self.fault(fault);
                None
            }
        }
    }

    /// Compiles an expression of any dimension.
    pub(super) fn compile(&mut self, expr: Expr) -> Option<Formula> {
        if !self.all_names_known(&expr) {
            return None;
        }
        let made = check::kind(&expr, &|word| self.names.kind_of(word))
            .and_then(|kind| kind.map(|kind| Formula::new(expr, kind, &self.names)).transpose());
        match made {
            Ok(formula) => formula,
            Err(fault) => {
                self.fault(fault);
                None
            }
        }
    }

    /// Says which names of an expression do not exist; whether all do.
    pub(super) fn all_names_known(&mut self, expr: &Expr) -> bool {
        let mut unknown = Vec::new();
        expr.for_each_name(&mut |word, origin| {
            if self.names.find(word).is_none() {
                unknown.push((word.to_string(), origin));
            }
        });
        let known = unknown.is_empty();
        for (word, origin) in unknown {
            // A word of the budget without a kind has a fault of its own.
            if !self.words.contains(&word) {
                self.unknown_name(&word, origin);
            }
        }
        known
    }

    /// Says that nothing defines a name.
    pub(super) fn unknown_name(&mut self, word: &str, origin: Origin) {
        if self.units.is_unit(word) {
            let fault = Fault::new(origin, format!("nothing defines `{word}`"));
            let rule = "as a unit it stands directly after a number";
            self.fault(fault.rule(rule).help(format!("1 {word}")));
            return;
        }
        if self.symbols.contains(word) {
            let fault = Fault::new(origin, format!("`{word}` is a result of this budget"));
            self.fault(fault.rule("only the models of the results below it may use it"));
            return;
        }
        let words = self.names.words();
        let nearest = nearest(word, words.iter().map(String::as_str));
        let help = match nearest {
            Some(near) => format!("did you mean `{near}`?"),
            None => {
                format!(
                    "give its value in `estimates: {{{word}: …}}`, or add a contributor with `adds_to: {word}`"
                )
            }
        };
        if self.incomplete && nearest.is_none() {
            return;
        }
        self.fault(Fault::new(origin, format!("nothing defines `{word}`")).help(help));
    }

    /// Reads and compiles an expression that must have the dimension of `whose`.
    pub(super) fn formula(
        &mut self,
        text: &Text,
        dimension: &Dimension,
        whose: &str,
    ) -> Option<Formula> {
        let expr = self.expr(text)?;
        self.checked(expr, text, dimension, whose, "")
    }

    /// Compiles an expression that must have the dimension of `whose`; `sign` stands before it in help.
    pub(super) fn checked(
        &mut self,
        expr: Expr,
        text: &Text,
        dimension: &Dimension,
        whose: &str,
        sign: &str,
    ) -> Option<Formula> {
        let number = expr.as_decimal();
        let product = self.product_with_name(&expr);
        let formula = self.compile(expr)?;
        if formula.kind().dimension == *dimension {
            return Some(formula);
        }
        let fault = match number {
            Some(number) if formula.kind().dimension.is_none() => {
                let unit = self.usual_unit(dimension);
                Fault::new(text.origin, format!("`{}` has no unit", text.text.trim()))
                    .rule(format!("{whose} is {}", dimension.phrase()))
                    .help(format!("{sign}{} {unit}", number.text()))
            }
            _ => {
                let (here, there) = (formula.kind().dimension.phrase(), dimension.phrase());
                let what = format!("`{}` is {here}, {whose} is {there}", text.text.trim());
                let unit = || format!("give it in a unit such as `{}`", self.usual_unit(dimension));
                let plain = || match formula.literal() {
                    Some(literal) => literal.number().text().to_string(),
                    None => "divide it by a value of its own kind".to_string(),
                };
                let help = match product {
                    Some(product) => format!("write `{product}`, or {}", unit()),
                    None if dimension.is_none() => plain(),
                    None => unit(),
                };
                Fault::new(text.origin, what).help(help)
            }
        };
        self.fault(fault);
        None
    }

    /// Returns `2 * L` for the literal `2 L` where `L` is a name of the budget too.
    fn product_with_name(&self, expr: &Expr) -> Option<String> {
        let Node::Literal(quantity) = &expr.node else { return None };
        let word = fold(quantity.unit().text());
        self.words.contains(&word).then(|| format!("{} * {word}", quantity.number().text()))
    }

    /// Returns a unit of a dimension that this budget uses, else the SI one, as text.
    pub(super) fn usual_unit(&self, dimension: &Dimension) -> String {
        self.unit_for(dimension).map_or_else(|| dimension.symbols(), |unit| unit.text().to_string())
    }

    /// Returns a unit of a dimension that this budget uses, else the SI one.
    pub(super) fn unit_for(&self, dimension: &Dimension) -> Option<Unit> {
        let own = [&self.measurand_unit, &self.points_unit];
        let own = own.into_iter().flatten().chain(&self.seen_units);
        let own = own.into_iter().find(|it| it.dimension() == dimension);
        own.cloned().or_else(|| self.units.parse(&dimension.symbols()).ok())
    }

    /// Checks a constant formula for a value below 0 (or, with `zero` false, at 0).
    pub(super) fn not_negative(
        &mut self,
        formula: &Formula,
        text: &Text,
        what: &str,
        zero: bool,
    ) -> bool {
        let Some(value) = formula.constant() else { return true };
        if value > 0.0 || (zero && value == 0.0) {
            return true;
        }
        let rule = if zero { format!("{what} is 0 or more") } else { format!("{what} is above 0") };
        let shown = text.text.trim();
        let positive = shown.replacen(['-', '−'], "", 1);
        let fault =
            Fault::new(text.origin, format!("`{shown}` is {}", sign_word(value))).rule(rule);
        self.fault(if value < 0.0 { fault.help(positive) } else { fault });
        false
    }

    /// Reads a quantity without expression.
    pub(super) fn quantity(&mut self, text: &Text) -> Option<Quantity> {
        match Quantity::parse(&text.text, &self.units) {
            Ok(quantity) => Some(quantity),
            Err(fault) => {
                self.text_fault(text.origin, fault);
                None
            }
        }
    }

    /// Reads a plain decimal number.
    pub(super) fn decimal(&mut self, text: &Text) -> Option<Decimal> {
        match Decimal::parse(&text.text) {
            Ok(decimal) => Some(decimal),
            Err(fault) => {
                self.text_fault(text.origin, fault);
                None
            }
        }
    }

    /// Reads a plain number.
    pub(super) fn number(&mut self, text: &Text) -> Option<f64> {
        self.decimal(text).map(|it| it.exact().to_f64())
    }

    /// Reads a whole number of at least `least`.
    pub(super) fn whole(&mut self, text: &Text, least: i64) -> Option<u32> {
        let value = self.decimal(text)?.exact().to_integer().filter(|it| *it >= least);
        let whole = value.and_then(|it| u32::try_from(it).ok());
        if whole.is_none() {
            let what = format!("`{}` is not a whole number of at least {least}", text.text.trim());
            self.fault(Fault::new(text.origin, what));
        }
        whole
    }

    /// Reads a plain number or a percentage.
    pub(super) fn ratio(&mut self, text: &Text) -> Option<f64> {
        let quantity = self.quantity(text)?;
        if quantity.dimension().is_none() {
            return Some(quantity.si());
        }
        let what = format!("`{}` is {}", text.text.trim(), quantity.dimension().phrase());
        self.fault(Fault::new(text.origin, what).rule("a ratio is a plain number or a percentage"));
        None
    }

    /// Reads a probability strictly between 0 and 100 %.
    pub(super) fn probability(&mut self, text: &Text) -> Option<Probability> {
        let value = self.ratio(text)?;
        let found = Probability::new(value);
        if found.is_none() {
            let what = format!("`{}` is not a probability", text.text.trim());
            let fault =
                Fault::new(text.origin, what).rule("a probability lies above 0 % and below 100 %");
            let percent = text.text.trim().trim_end_matches('%').trim();
            let plausible = percent == text.text.trim() && value > 1.0 && value < 100.0;
            self.fault(if plausible { fault.help(format!("{percent} %")) } else { fault });
        }
        found
    }

    /// Reads a unit.
    pub(super) fn unit(&mut self, text: &Text) -> Option<Unit> {
        match self.units.parse(text.text.trim()) {
            Ok(unit) => Some(unit),
            Err(fault) => {
                self.text_fault(text.origin, fault);
                None
            }
        }
    }

    /// Reads one of a list of words.
    pub(super) fn word<T: Copy>(
        &mut self,
        text: &Text,
        what: &str,
        known: &[(T, &'static str)],
    ) -> Option<T> {
        let word = text.text.trim();
        if let Some(found) = known.iter().find(|it| it.1 == word) {
            return Some(found.0);
        }
        let list: Vec<String> = known.iter().map(|it| format!("`{}`", it.1)).collect();
        let lower = word.to_lowercase();
        let near = nearest(&lower, known.iter().map(|it| it.1));
        let fault = Fault::new(text.origin, format!("unknown {what} `{word}`"));
        let help = near.map_or_else(|| format!("one of {}", list.join(", ")), str::to_string);
        self.fault(fault.rule(format!("known are {}", list.join(", "))).help(help));
        None
    }

    /// Reads a date.
    pub(super) fn date(&mut self, text: &Text) -> Option<Date> {
        let date = Date::parse(text.text.trim());
        if date.is_none() {
            let what = format!("`{}` is not a date", text.text.trim());
            let fault = Fault::new(text.origin, what).rule("a date is written YYYY-MM-DD");
            self.fault(fault.help(Date::meant(&text.text).unwrap_or_default()));
        }
        date
    }

    /// Reads a word that becomes a name of expressions and checks that it can be one.
    pub(super) fn new_name(&mut self, text: &Text) -> Option<String> {
        let word = fold(text.text.trim());
        match crate::model::parse::name_problem(&word) {
            None => Some(word),
            Some(problem) => {
                self.fault(Fault::new(text.origin, problem));
                None
            }
        }
    }

    /// Adds a name; a name that is there already is a fault.
    pub(super) fn add_name(
        &mut self,
        word: String,
        origin: Origin,
        role: Role,
        kind: Kind,
    ) -> Option<usize> {
        if self.names.find(&word).is_some() {
            self.fault(Fault::new(origin, format!("the name `{word}` is used twice")));
            return None;
        }
        Some(self.names.add(Name { word, origin, role, kind }))
    }
}

/// Adds the units of an expression's literals, each once.
fn note_units(expr: &Expr, seen: &mut Vec<Unit>) {
    match &expr.node {
        Node::Literal(quantity) if !seen.contains(quantity.unit()) => {
            seen.push(quantity.unit().clone());
        }
        Node::Literal(_) | Node::Pi | Node::Name(_) => {}
        Node::Negate(inner) => note_units(inner, seen),
        Node::Binary(_, left, right) => [left, right].iter().for_each(|it| note_units(it, seen)),
        Node::Call(_, arguments) => arguments.iter().for_each(|it| note_units(it, seen)),
    }
}

fn sign_word(value: f64) -> &'static str {
    if value < 0.0 { "negative" } else { "zero" }
}

/// Returns the candidate nearest to `word`, where one is near enough to be meant.
pub(super) fn nearest<'a>(
    word: &str,
    candidates: impl Iterator<Item = &'a str>,
) -> Option<&'a str> {
    let limit = (word.chars().count() / 3).max(1);
    candidates
        .map(|it| (strsim::damerau_levenshtein(word, it), it))
        .filter(|it| it.0 <= limit && it.0 < it.1.chars().count())
        .min()
        .map(|it| it.1)
}
