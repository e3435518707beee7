//! The reason of a verdict as one plain sentence, in what the display can show.
//!
//! Every figure is a printed one ([`Printed`]), so that its sums close; nothing is decided here.

use super::figures::{Figures, Relation, ratio_down};
use super::grid::Grid;
use super::limits::{Limit, Side};
use super::printed::{Printed, PrintedNumber, PrintedSide};
use super::verdict::{Cause, Verdict};
use super::zones::{Unmet, Zones};
use crate::budget::Rule;
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
    /// The number of readings where it is that of their mean.
    pub mean_of: Option<usize>,
    /// The verdict.
    pub verdict: Verdict,
    /// What it is due to.
    pub cause: Option<Cause>,
}

/// A sentence in its pieces: only `value` differs between readings of one verdict, cause and side.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Sentence {
    /// `reads`, `gives`, `the result is` or what stands for a mean.
    pub subject: String,
    /// The value of the measurand with its unit.
    pub value: String,
    /// What follows from it.
    pub rest: String,
}

/// Returns the sentence.
pub fn reason(account: &Account) -> String {
    let Sentence { subject, value, rest } = sentence(account);
    format!("{subject} {value}; {rest}")
}

/// Returns the sentence in its pieces.
pub fn sentence(account: &Account) -> Sentence {
    let subject = match (account.mean_of, account.figures.relation()) {
        (Some(number), _) => format!("the mean of {number} readings gives"),
        (None, Relation::Difference) => "reads".to_owned(),
        (None, Relation::Shifted | Relation::Function) => "gives".to_owned(),
        (None, Relation::Apart) => "the result is".to_owned(),
    };
    let side = account.zones.tolerance.nearest(account.error);
    let value = account.figures.error(account.error);
    let (Some(limit), Some(printed)) =
        (account.zones.tolerance.side(side), account.printed.side(side))
    else {
        return Sentence { subject, value, rest: account.verdict.word().to_owned() };
    };
    let teller = Teller { account, side, limit, printed };
    let body = match account.verdict {
        Verdict::Pass => teller.pass(),
        Verdict::ConditionalPass => teller.conditional_pass(),
        Verdict::Undecided => teller.undecided(),
        Verdict::ConditionalFail => teller.conditional_fail(),
        Verdict::Fail => teller.fail(),
    };
    Sentence { subject, value, rest: format!("{body}{}", teller.instead()) }
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

    /// Returns the last reading that passes on this side, and the next one: as what they say of the measurand,
    /// and where the display does not say just that, as what it shows, with the measurand behind.
    fn edge(&self) -> Option<(String, String)> {
        let grid = self.account.grid?;
        let (last, next) = grid.edge(Verdict::Pass, self.side)?;
        let figures = self.account.figures;
        let text = |n: i64| {
            let value = figures.error(&(self.account.shown)(n)?);
            match figures.relation() {
                Relation::Difference => Some(value),
                _ => Some(format!("{} ({value})", figures.reading(&grid.reading(n)))),
            }
        };
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
        let zero =
            !text.split(' ').next().is_some_and(|it| it.contains(|c| ('1'..='9').contains(&c)));
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

#[cfg(test)]
mod tests {
    use super::super::testing::{Case, force, micrometer};

    /// Sentences of this project; U = 1.457 µm makes the acceptance limit 2.543 µm.
    fn guarded() -> Case {
        micrometer("±4 µm", "guarded", 1.457)
    }

    #[test]
    fn a_pass_names_the_next_reading_that_does_not() {
        assert_eq!(
            guarded().reason("2.502"),
            "reads +2 µm; may be passed up to +2 µm: the next reading, +3 µm, lies beyond the \
             acceptance limit +2.54 µm (tolerance 4 µm less guard band 1.46 µm)"
        );
        assert_eq!(
            guarded().reason("2.499"),
            "reads −1 µm; may be passed down to −2 µm: the next reading, −3 µm, lies beyond the \
             acceptance limit −2.54 µm (tolerance 4 µm less guard band 1.46 µm)"
        );
        assert_eq!(
            micrometer("±2 µm", "simple", 1.0).reason("2.500"),
            "reads 0 µm; may be passed up to +2 µm: the next reading, +3 µm, lies beyond the \
             tolerance limit +2 µm"
        );
    }

    #[test]
    fn a_fail_says_what_it_lies_beyond() {
        assert_eq!(
            guarded().reason("2.503"),
            "reads +3 µm; may not be passed, though within the tolerance: it lies beyond the \
             acceptance limit +2.54 µm (tolerance 4 µm less guard band 1.46 µm); the last reading \
             that passes is +2 µm"
        );
        assert_eq!(
            guarded().reason("2.493"),
            "reads −7 µm; may not be passed: it lies beyond the tolerance limit −4 µm; the last \
             reading that passes is −2 µm"
        );
        assert_eq!(
            micrometer("±4 µm", "simple", 1.0).reason("2.505"),
            "reads +5 µm; may not be passed: it lies beyond the tolerance limit +4 µm; the last \
             reading that passes is +4 µm"
        );
    }

    #[test]
    fn asymmetric_limits_have_sums_that_close() {
        let case = micrometer("[-1 µm, 3 µm]", "guarded", 0.457);
        assert_eq!(
            case.reason("2.499"),
            "reads −1 µm; may not be passed, though within the tolerance: it lies beyond the \
             acceptance limit −0.54 µm (tolerance −1 µm plus guard band 0.46 µm); the last reading \
             that passes is 0 µm"
        );
        assert_eq!(
            case.reason("2.502"),
            "reads +2 µm; may be passed up to +2 µm: the next reading, +3 µm, lies beyond the \
             acceptance limit +2.54 µm (tolerance 3 µm less guard band 0.46 µm)"
        );
    }

    #[test]
    fn the_relaxed_rule_says_when_it_passes_beyond_the_tolerance() {
        let case = micrometer("±4 µm", "relaxed", 1.457);
        assert_eq!(
            case.reason("2.505"),
            "reads +5 µm; may be passed up to +5 µm, though beyond the tolerance limit +4 µm: the \
             next reading, +6 µm, lies beyond the acceptance limit +5.45 µm (tolerance 4 µm plus \
             guard band 1.45 µm)"
        );
        assert_eq!(
            case.reason("2.494"),
            "reads −6 µm; may not be passed: it lies beyond the acceptance limit −5.45 µm \
             (tolerance 4 µm plus guard band 1.45 µm); the last reading that passes is −5 µm"
        );
    }

    #[test]
    fn three_way_tells_between_what_it_cannot_decide() {
        let case = micrometer("±4 µm", "three-way", 1.457);
        let undecided = "undecided: it lies between the acceptance limit +2.54 µm and the rejection \
                         limit +5.45 µm, too near the tolerance limit +4 µm to tell; the last reading \
                         that passes is +2 µm";
        assert_eq!(case.reason("2.503"), format!("reads +3 µm; {undecided}"));
        assert_eq!(case.reason("2.505"), format!("reads +5 µm; {undecided}"));
        assert_eq!(
            case.reason("2.506"),
            "reads +6 µm; may not be passed: it lies beyond the rejection limit +5.45 µm (tolerance \
             4 µm plus guard band 1.45 µm); the last reading that passes is +2 µm"
        );
    }

    #[test]
    fn four_way_has_two_conditional_zones() {
        let case = micrometer("±4 µm", "four-way", 1.457);
        assert_eq!(
            case.reason("2.503"),
            "reads +3 µm; conditional pass: it lies within the tolerance limit +4 µm but beyond the \
             acceptance limit +2.54 µm (tolerance 4 µm less guard band 1.46 µm); the last reading \
             that passes is +2 µm"
        );
        assert_eq!(
            case.reason("2.505"),
            "reads +5 µm; conditional fail: it lies beyond the tolerance limit +4 µm but within the \
             rejection limit +5.45 µm (tolerance 4 µm plus guard band 1.45 µm); the last reading \
             that passes is +2 µm"
        );
    }

    #[test]
    fn an_empty_acceptance_zone_is_named_with_its_guard_band() {
        let nothing = "the guard band, 4.61 µm, leaves no acceptance zone in the tolerance";
        for (rule, verdict) in [
            ("guarded", "may not be passed, though within the tolerance: "),
            ("three-way", "undecided: it lies within the rejection limit +8.60 µm, but "),
            ("four-way", "conditional pass: it lies within the tolerance limit +4 µm, but "),
        ] {
            let case = micrometer("±4 µm", rule, 4.603);
            assert_eq!(case.reason("2.501"), format!("reads +1 µm; {verdict}{nothing}"));
        }
        assert_eq!(
            micrometer("±4 µm", "guarded", 4.603).reason("2.505"),
            "reads +5 µm; may not be passed: it lies beyond the tolerance limit +4 µm"
        );
    }

    #[test]
    fn a_requirement_that_is_not_met_is_told_with_its_figures() {
        let case = guarded().requires("4", None);
        assert_eq!(
            case.reason("2.502"),
            "reads +2 µm; undecided: the TUR (scope all) is 2.74 and 4 is required"
        );
        assert_eq!(
            case.reason("2.505"),
            "reads +5 µm; may not be passed: it lies beyond the tolerance limit +4 µm"
        );
        assert_eq!(
            micrometer("±4 µm", "simple", 1.457).requires("4", Some("guarded")).reason("2.502"),
            "reads +2 µm; may be passed up to +2 µm: the next reading, +3 µm, lies beyond the \
             acceptance limit +2.54 µm (tolerance 4 µm less guard band 1.46 µm); the rule is guarded \
             instead of simple, as the TUR (scope all) is 2.74 and 4 is required"
        );
        assert_eq!(
            micrometer("at most 4 µm", "simple", 1.457).requires("4", None).reason("2.502"),
            "reads 2 µm; undecided: the TUR (scope all) is not stated (the tolerance is one-sided \
             and the measurand has no bound opposite) and 4 is required"
        );
    }

    #[test]
    fn without_a_display_step_the_distance_to_the_limit_is_told() {
        let case = guarded().without_display();
        assert_eq!(
            case.reason("2.5021"),
            "reads +2.100 µm; may be passed: it lies 0.443 µm inside the acceptance limit +2.543 µm \
             (tolerance 4 µm less guard band 1.457 µm)"
        );
        assert_eq!(
            case.reason("2.5031"),
            "reads +3.100 µm; may not be passed, though within the tolerance: it lies 0.557 µm \
             beyond the acceptance limit +2.543 µm (tolerance 4 µm less guard band 1.457 µm)"
        );
        let simple = micrometer("±4 µm", "simple", 1.457).without_display();
        assert_eq!(
            simple.reason("2.504"),
            "reads +4.000 µm; may be passed: it lies on the tolerance limit +4 µm"
        );
    }

    #[test]
    fn one_sided_limits_carry_no_signs_where_nothing_is_below_zero() {
        let case = force("reading", "at least 5 N", "guarded", 0.314);
        assert_eq!(
            case.reason("5.4"),
            "reads 5.4000 N; may be passed: it lies 0.0860 N inside the acceptance limit 5.3140 N \
             (tolerance 5 N plus guard band 0.3140 N)"
        );
        assert_eq!(
            case.reason("5.2"),
            "reads 5.2000 N; may not be passed, though within the tolerance: it lies 0.1140 N beyond \
             the acceptance limit 5.3140 N (tolerance 5 N plus guard band 0.3140 N)"
        );
    }

    #[test]
    fn a_result_without_reading_is_a_result() {
        let case = force("5.5 N", "at least 5 N", "simple", 0.3);
        let judged = case.judge(&[], false).unwrap();
        assert_eq!(
            judged[0].reason,
            "the result is 5.5000 N; may be passed: it lies 0.5000 N inside the tolerance limit 5 N"
        );
    }
}
