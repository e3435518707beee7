//! The options of simulations, which several verbs share: read, kept within their ranges, and handed on.

use super::Failure;
use crate::propagate::{Options, crosscheck, options};
use crate::record;

/// Fewest trials: those of the shortest sequence of JCGM 101:2008, 7.9.4.
const FEWEST: u64 = 10_000;
/// Most trials: counts have 32 bits.
const MOST: u64 = 4_000_000_000;
/// Largest seed: a whole number that any program reads from JSON unchanged.
const LARGEST_SEED: u64 = 1 << 53;
/// Most threads: each has a histogram of its own.
const MOST_THREADS: u64 = 64;

/// How a simulation is run
#[derive(Debug, Clone, Copy, Default, clap::Args)]
#[command(next_help_heading = "Simulation (coverage method monte_carlo)")]
pub(super) struct Simulation {
    /// Run this number of trials at each point, instead of as many as the digits take; `1e7` is 10000000
    #[arg(long, value_name = "N", value_parser = trials, conflicts_with_all = ["trials_max", "digits"])]
    trials: Option<u64>,
    /// Give up at a point after this number of trials
    #[arg(long, value_name = "N", value_parser = trials)]
    trials_max: Option<u64>,
    /// Draw other random numbers: the same seed gives the same result
    #[arg(long, value_name = "N", value_parser = seed)]
    seed: Option<u64>,
    /// Run until this many significant digits of u are stable, 1 or 2
    #[arg(long, value_name = "N", value_parser = digits)]
    digits: Option<u32>,
    /// Work with this number of threads, which alters no digit; without it, with all there are
    #[arg(long, value_name = "N", value_parser = threads)]
    threads: Option<u64>,
}

impl Simulation {
    /// Notes in a record what was given.
    pub(super) fn note(&self, options: &mut record::Options) {
        options.trials = self.trials;
        options.trials_max = self.trials_max;
        options.seed = self.seed;
        options.digits = self.digits;
    }

    /// Returns the options of an evaluation; the caller adds who watches it.
    pub(super) fn options(&self) -> Options<'static> {
        Options {
            trials: self.trials,
            trials_max: self.trials_max.unwrap_or(options::TRIALS_MAX),
            seed: self.seed.unwrap_or(options::SEED),
            digits: self.digits.unwrap_or(2),
            threads: self.threads(),
            only: None,
            watch: &|_| true,
        }
    }

    /// Returns the options of a crosscheck.
    pub(super) fn of_crosscheck(&self) -> Options<'static> {
        let trials_max = self.trials_max.unwrap_or(crosscheck::TRIALS_MAX);
        Options { trials_max, ..self.options() }
    }

    /// Refuses options that nothing would be done with. The number of threads alters no result and is
    /// always welcome.
    ///
    /// # Errors
    ///
    /// [`Failure::Input`], where one was given.
    pub(super) fn refuse(&self, path: &std::path::Path) -> Result<(), Failure> {
        let given = [
            ("--trials", self.trials.is_some()),
            ("--trials-max", self.trials_max.is_some()),
            ("--seed", self.seed.is_some()),
            ("--digits", self.digits.is_some()),
        ];
        match given.iter().find(|it| it.1) {
            None => Ok(()),
            Some((name, _)) => Err(Failure::Input(format!(
                "{name}: nothing is simulated: the budget's coverage is not `monte_carlo`\n\
                 help: leave it out, or compare both methods with `surebound crosscheck {}`",
                path.display()
            ))),
        }
    }

    pub(super) fn threads(&self) -> usize {
        let all = || std::thread::available_parallelism().map_or(1, usize::from);
        self.threads.map_or_else(all, |it| it as usize).min(MOST_THREADS as usize)
    }
}

fn trials(text: &str) -> Result<u64, String> {
    within(text, FEWEST..=MOST, "a number of trials is a whole number from 1e4 to 4e9")
}

fn seed(text: &str) -> Result<u64, String> {
    within(text, 0..=LARGEST_SEED, "a seed is a whole number from 0 to 9007199254740992")
}

fn digits(text: &str) -> Result<u32, String> {
    within(text, 1..=2, "u has 1 or 2 significant digits here").map(|it| it as u32)
}

fn threads(text: &str) -> Result<u64, String> {
    within(text, 1..=MOST_THREADS, "a number of threads is a whole number from 1 to 64")
}

fn within(text: &str, range: std::ops::RangeInclusive<u64>, rule: &str) -> Result<u64, String> {
    whole(text).filter(|it| range.contains(it)).ok_or_else(|| rule.to_owned())
}

/// Reads a whole number, written out or with an exponent: `10000000`, `1e7`, `2.5e6`.
fn whole(text: &str) -> Option<u64> {
    let digits = |text: &str| text.bytes().all(|it| it.is_ascii_digit());
    let (mantissa, exponent) = match text.split_once(['e', 'E']) {
        Some((mantissa, exponent)) => {
            let exponent = exponent.strip_prefix('+').unwrap_or(exponent);
            if exponent.is_empty() || !digits(exponent) {
                return None;
            }
            (mantissa, exponent.parse::<usize>().ok().filter(|it| *it <= 20)?)
        }
        None => (text, 0),
    };
    let (front, back) = mantissa.split_once('.').unwrap_or((mantissa, ""));
    let back = back.trim_end_matches('0');
    if front.is_empty() || !digits(front) || !digits(back) || back.len() > exponent {
        return None;
    }
    format!("{front}{back}{}", "0".repeat(exponent - back.len())).parse().ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn reads_whole_numbers_as_people_write_them() {
        let cases = [
            ("10000000", Some(10_000_000)),
            ("1e7", Some(10_000_000)),
            ("2.5E+6", Some(2_500_000)),
            ("1.0", Some(1)),
            ("12.50e1", Some(125)),
            ("0", Some(0)),
        ];
        for (text, expected) in cases {
            assert_eq!(whole(text), expected, "{text}");
        }
        for text in ["", "e7", "1e", "1e-3", "-1", "+1", "1.5", "1.25e1", "1e99", "1_000", "ten"] {
            assert_eq!(whole(text), None, "{text}");
        }
    }

    #[test]
    fn keeps_numbers_within_their_ranges() {
        assert!(trials("1e4").is_ok() && trials("4e9").is_ok());
        assert!(trials("9999").is_err() && trials("4.1e9").is_err());
        assert!(seed("9007199254740992").is_ok() && seed("9007199254740993").is_err());
        assert!(digits("1").is_ok() && digits("0").is_err() && digits("3").is_err());
        assert!(threads("64").is_ok() && threads("0").is_err() && threads("65").is_err());
    }
}
