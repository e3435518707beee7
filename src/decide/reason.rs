//! The reason of a verdict as one plain sentence, in what the display can show.
//!
//! Every figure is a printed one ([`Printed`]), so that its sums close; nothing is decided here.

use super::figures::{Figures, Relation, ratio_down};
use super::grid::Grid;
use super::limits::{Limit, Side};
use super::printed::{Printed, PrintedNumber, PrintedSide};
use super::verdict::{Cause, Verdict};
use super::zones::{Unmet, Zones};
use crate::budget::domain::Rule;
use crate::propagate::Value;

/// A judged value and all that its sentence speaks of.
#[derive(Clone, Copy)]
pub struct Account<'a> {
    /// The zones.
    pub zones: &'a Zones,
    /// Their printed limits.
    pub printed: &'a Printed,
    /// How values are written.
    pub figures: &'a Figures,
    /// The display grid, where the value lies on it.
    pub grid: Option<&'a Grid>,
    /// The measurand at reading n of the grid.
    pub shown: &'a dyn Fn(i64) -> Option<Value>,
    /// The measurand.
    pub error: &'a Value,
    /// The verdict.
    pub verdict: Verdict,
    /// What it is due to.
    pub cause: Option<Cause>,
}

/// Returns the sentence.
pub fn reason(account: &Account) -> String {
    let subject = match account.figures.relation() {
        Relation::Difference => "reads",
        Relation::Function => "gives",
        Relation::Apart => "the result is",
    };
    let side = account.zones.tolerance.nearest(account.error);
    let value = account.figures.error(account.error);
    let (Some(limit), Some(printed)) =
        (account.zones.tolerance.side(side), account.printed.side(side))
    else {
        return format!("{subject} {value}; {}", account.verdict.word());
    };
    let teller = Teller { account, side, limit, printed };
    let body = match account.verdict {
        Verdict::Pass => teller.pass(),
        Verdict::ConditionalPass => teller.conditional_pass(),
        Verdict::Undecided => teller.undecided(),
        Verdict::ConditionalFail => teller.conditional_fail(),
        Verdict::Fail => teller.fail(),
    };
    format!("{subject} {value}; {body}{}", teller.instead())
}

/// Tells of one side of the tolerance.
struct Teller<'a> {
    account: &'a Account<'a>,
    side: Side,
    limit: &'a Limit,
    printed: &'a PrintedSide,
}

impl Teller<'_> {
    fn pass(&self) -> String {
        let though = match self.account.cause {
            Some(Cause::GuardBand) => format!(", though beyond {}", self.tolerance()),
            _ => String::new(),
        };
        let acceptance = self.acceptance();
        if let Some((last, next)) = self.edge() {
            let towards = match self.side {
                Side::Lower => "down to",
                Side::Upper => "up to",
            };
            return format!(
                "may be passed {towards} {last}{though}: the next reading, {next}, lies beyond \
                 {acceptance}"
            );
        }
        let limits = self.account.zones.acceptance();
        let limit = limits.and_then(|it| it.side(self.side)).unwrap_or(self.limit);
        format!("may be passed{though}: it lies {} {acceptance}", self.apart(limit, "inside"))
    }

    fn conditional_pass(&self) -> String {
        let tolerance = self.tolerance();
        match &self.printed.acceptance {
            Some(_) => format!(
                "conditional pass: it lies within {tolerance} but beyond {}{}",
                self.acceptance(),
                self.last_pass()
            ),
            None => format!("conditional pass: it lies within {tolerance}, but {}", self.nothing()),
        }
    }

    fn undecided(&self) -> String {
        if self.account.cause == Some(Cause::Requirement) || self.account.zones.rule.is_none() {
            let unmet = self.account.zones.unmet.as_ref();
            return format!("undecided: {}", unmet.map_or(String::new(), falls_short));
        }
        let rejection = self.named("rejection limit", self.printed.outermost.as_ref());
        match &self.printed.acceptance {
            Some(acceptance) => format!(
                "undecided: it lies between {} and {rejection}, too near {} to tell{}",
                self.named("acceptance limit", Some(acceptance)),
                self.tolerance(),
                self.last_pass()
            ),
            None => format!("undecided: it lies within {rejection}, but {}", self.nothing()),
        }
    }

    fn conditional_fail(&self) -> String {
        format!(
            "conditional fail: it lies beyond {} but within {}{}",
            self.tolerance(),
            self.rejection(),
            self.last_pass()
        )
    }

    fn fail(&self) -> String {
        let within = self.account.cause == Some(Cause::GuardBand);
        let zones = self.account.zones;
        let guarded = zones.rule == Some(Rule::Guarded);
        if within && zones.is_acceptance_empty() {
            return format!("may not be passed, though within the tolerance: {}", self.nothing());
        }
        let though = if within { ", though within the tolerance" } else { "" };
        let plain = guarded && !within || matches!(zones.rule, None | Some(Rule::Simple));
        let (named, limits) = if plain {
            (self.tolerance(), Some(&zones.tolerance))
        } else if matches!(zones.rule, Some(Rule::ThreeWay | Rule::FourWay)) {
            (self.rejection(), zones.outermost())
        } else {
            (self.acceptance(), zones.acceptance())
        };
        let limit = limits.and_then(|it| it.side(self.side)).unwrap_or(self.limit);
        let how = if self.account.grid.is_some() {
            "beyond".to_owned()
        } else {
            self.apart(limit, "beyond")
        };
        format!("may not be passed{though}: it lies {how} {named}{}", self.last_pass())
    }

    /// Says which rule applies instead of the one that was asked for, and why.
    fn instead(&self) -> String {
        match (&self.account.zones.unmet, self.account.zones.rule) {
            (Some(unmet), Some(rule)) => format!(
                "; the rule is {} instead of {}, as {}",
                rule.word(),
                unmet.asked.word(),
                falls_short(unmet)
            ),
            _ => String::new(),
        }
    }

    /// Says that nothing passes, and why.
    fn nothing(&self) -> String {
        let width = self.account.figures.width(&self.account.zones.guard_band);
        format!("the guard band, {width}, leaves no acceptance zone in the tolerance")
    }

    /// Says which reading is the last to pass, where the display has one.
    fn last_pass(&self) -> String {
        if self.account.grid.is_none() || self.account.zones.rule.is_none() {
            return String::new();
        }
        if self.account.zones.acceptance().is_none() {
            return String::new();
        }
        match self.edge() {
            Some((last, _)) => format!("; the last reading that passes is {last}"),
            None => "; no reading that the display can show passes".to_owned(),
        }
    }

    /// Returns the last reading that passes on this side, and the next one.
    fn edge(&self) -> Option<(String, String)> {
        let (last, next) = self.account.grid?.edge(Verdict::Pass, self.side)?;
        let text = |n: i64| (self.account.shown)(n).map(|it| self.account.figures.error(&it));
        text(last).zip(text(next))
    }

    fn tolerance(&self) -> String {
        self.named("tolerance limit", Some(&self.printed.tolerance))
    }

    /// Names the acceptance limit with its sum; the tolerance limit where they are the same.
    fn acceptance(&self) -> String {
        let band = self.printed.guard_band.as_ref();
        if self.account.zones.guard_band.si == 0.0 {
            return self.tolerance();
        }
        let named = self.named("acceptance limit", self.printed.acceptance.as_ref());
        let outwards = self.account.zones.rule == Some(Rule::Relaxed);
        format!("{named}{}", self.sum(band, outwards))
    }

    fn rejection(&self) -> String {
        let band = self.printed.outer_guard_band.as_ref();
        let named = self.named("rejection limit", self.printed.outermost.as_ref());
        format!("{named}{}", self.sum(band, true))
    }

    fn named(&self, what: &str, number: Option<&PrintedNumber>) -> String {
        match number {
            Some(number) => {
                format!("the {what} {}", self.account.figures.with_unit(&number.text))
            }
            None => format!("the {what}"),
        }
    }

    /// Returns ` (tolerance 4 µm less guard band 1.46 µm)`.
    fn sum(&self, band: Option<&PrintedNumber>, outwards: bool) -> String {
        let Some(band) = band else { return String::new() };
        let figures = self.account.figures;
        let mirrored = self.side == Side::Lower && self.account.zones.tolerance.is_symmetric();
        let text = self.printed.tolerance.text.trim_start_matches('+');
        let text = if mirrored { text.trim_start_matches('−') } else { text };
        let upwards = (self.side == Side::Upper || mirrored) == outwards;
        let word = if upwards { "plus" } else { "less" };
        let (tolerance, band) = (figures.with_unit(text), figures.with_unit(&band.text));
        format!(" (tolerance {tolerance} {word} guard band {band})")
    }

    /// Returns `0.44 µm inside`, `just inside` or `on`.
    fn apart(&self, limit: &Limit, word: &str) -> String {
        let error = Limit::from(self.account.error);
        let tie = self.account.zones.tie;
        if limit.compare(self.account.error, tie) == std::cmp::Ordering::Equal {
            return "on".to_owned();
        }
        let text = self.account.figures.distance(&error.minus(limit));
        let zero = !text.split(' ').next().is_some_and(|it| it.contains(|c| ('1'..='9').contains(&c)));
        if zero { format!("just {word}") } else { format!("{text} {word}") }
    }
}

/// Says which TUR there is and which is required.
fn falls_short(unmet: &Unmet) -> String {
    let scope = unmet.scope.word();
    match unmet.tur {
        Some(tur) => format!(
            "the TUR (scope {scope}) is {} and {} is required",
            ratio_down(tur),
            unmet.required
        ),
        None => format!(
            "the TUR (scope {scope}) is not stated ({}) and {} is required",
            unmet.reason, unmet.required
        ),
    }
}
