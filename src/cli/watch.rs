//! Who watches a long evaluation: a line of progress on a terminal, and Ctrl-C.
//!
//! The line is on standard error, only where that is a terminal, and erased at the end. Ctrl-C stops the
//! evaluation after the sequences that are being run; a second one ends the command at once.

use super::{Failure, MACHINE};
use crate::budget::Budget;
use crate::fault::Faults;
use crate::propagate::{Evaluation, Options, Progress, crosscheck};
use std::io::{IsTerminal, Write};
use std::sync::Mutex;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

/// Whether Ctrl-C was pressed.
static STOP: AtomicBool = AtomicBool::new(false);

/// Time between two looks of the line.
const PAUSE: Duration = Duration::from_millis(100);

/// What an evaluation came to, or that it was stopped.
pub(super) enum Ended {
    /// The faults of the budget.
    Faults(Faults),
    /// It was stopped, and how far it came.
    Stopped(Failure),
}

/// Evaluates a budget under watch.
///
/// # Errors
///
/// [`Ended`].
pub(super) fn evaluate<'a>(budget: &'a Budget, options: &Options) -> Result<Evaluation<'a>, Ended> {
    watched(budget, options, |options| budget.evaluate_with(options))
}

/// Crosschecks a budget under watch.
///
/// # Errors
///
/// [`Ended`].
pub(super) fn crosscheck<'a>(
    budget: &'a Budget,
    options: &Options,
    question: &crosscheck::Question,
) -> Result<crosscheck::Crosscheck<'a>, Ended> {
    watched(budget, options, |options| budget.crosscheck(options, question))
}

fn watched<T>(
    budget: &Budget,
    options: &Options,
    work: impl FnOnce(&Options) -> Result<T, Faults>,
) -> Result<T, Ended> {
    listen();
    let line = Line::new(budget);
    let watch = |progress: Progress| {
        line.show(progress);
        !STOP.load(Ordering::Relaxed)
    };
    let done = work(&Options { watch: &watch, ..*options });
    line.erase();
    if STOP.load(Ordering::Relaxed) {
        return Err(Ended::Stopped(Failure::Stopped(line.far())));
    }
    done.map_err(Ended::Faults)
}

/// Takes Ctrl-C from here on.
pub(super) fn listen() {
    let heard = || {
        if STOP.swap(true, Ordering::Relaxed) {
            std::process::exit(i32::from(MACHINE));
        }
    };
    // Where it cannot be taken, or is taken already, Ctrl-C ends the process as it always did.
    let _taken = ctrlc::set_handler(heard);
}

/// Whether Ctrl-C was pressed.
pub(super) fn is_stopped() -> bool {
    STOP.load(Ordering::Relaxed)
}

/// The line of progress.
struct Line<'a> {
    budget: &'a Budget,
    is_seen: bool,
    state: Mutex<State>,
}

struct State {
    far: Option<Progress>,
    /// When the line was last written, and whether there is one.
    at: Instant,
    is_there: bool,
}

impl Line<'_> {
    fn new(budget: &Budget) -> Line<'_> {
        let dumb = std::env::var_os("TERM").is_some_and(|it| it == "dumb");
        let is_seen = std::io::stderr().is_terminal() && !dumb;
        let state = State { far: None, at: Instant::now(), is_there: false };
        Line { budget, is_seen, state: Mutex::new(state) }
    }

    /// Notes how far the work is; writes the line where it is time.
    fn show(&self, progress: Progress) {
        let Ok(mut state) = self.state.lock() else { return };
        let later =
            state.far.is_none_or(|it| (it.point, it.trials) < (progress.point, progress.trials));
        if later {
            state.far = Some(progress);
        }
        if !self.is_seen || state.at.elapsed() < PAUSE {
            return;
        }
        state.at = Instant::now();
        state.is_there = true;
        let text = self.text(state.far.unwrap_or(progress));
        // A terminal that has gone away shows nothing.
        let _gone = write!(std::io::stderr(), "\r\u{1b}[2K{text}\u{1b}[K");
    }

    fn erase(&self) {
        let Ok(mut state) = self.state.lock() else { return };
        if state.is_there {
            state.is_there = false;
            let _gone = write!(std::io::stderr(), "\r\u{1b}[2K");
        }
    }

    fn text(&self, progress: Progress) -> String {
        let list = &self.budget.points().list;
        let point = match list.len() {
            0 | 1 => String::new(),
            all => format!("point {} of {all}: ", progress.point + 1),
        };
        format!("{point}{} trials", spaced(progress.trials))
    }

    /// Says how far the work came.
    fn far(&self) -> String {
        let far = self.state.lock().ok().and_then(|it| it.far);
        let how = far.map_or("before the first trials were done".to_owned(), |it| {
            let list = &self.budget.points().list;
            let title = list.get(it.point).map_or(String::new(), |it| it.title());
            let place = match list.len() {
                0 | 1 => String::new(),
                all => format!("at point {} of {all} ({title}), ", it.point + 1),
            };
            format!("{place}after {} trials", spaced(it.trials))
        });
        format!("stopped {how}; nothing was written")
    }
}

/// Returns a number with its digits in groups of three.
pub(super) fn spaced(number: u64) -> String {
    let digits = number.to_string();
    let first = digits.len() % 3;
    let mut text = digits[..first].to_owned();
    for group in digits.as_bytes()[first..].chunks(3) {
        if !text.is_empty() {
            text.push(' ');
        }
        text.extend(group.iter().map(|it| char::from(*it)));
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn groups_the_digits_of_a_number() {
        let cases = [(7, "7"), (120, "120"), (1_000, "1 000"), (12_345_678, "12 345 678")];
        for (number, expected) in cases {
            assert_eq!(spaced(number), expected);
        }
    }
}
