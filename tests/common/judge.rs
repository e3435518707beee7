//! The public path from YAML text and one reading to the decision in the record.

use super::show::{budget, evaluated};
use surebound::budget::parts::Text;
use surebound::decide::readings::read_value;
use surebound::decide::{Readings, find_point};
use surebound::fault::Origin;
use surebound::record::{Decision, Record};

/// Returns the decision on one reading; `at` is empty in a budget with a single result.
#[track_caller]
pub fn judged(text: &str, at: &str, reading: &str) -> Decision {
    let budget = budget(text);
    let evaluation = evaluated(&budget);
    let index = if at.is_empty() {
        0
    } else {
        find_point(&budget, at, Origin::NONE).expect("a point of the budget")
    };
    let quantity = read_value(&budget, &Text::from(reading), false).expect("a reading");
    let judgement = evaluation.judge(&Readings::one(index, quantity, Origin::NONE));
    assert!(judgement.is_ok(), "{:?}\n{text}", judgement.err());
    let mut record = Record::from(&judgement.expect("no fault was told"));
    record.sections.remove(0).points.remove(0).decision.expect("a decision")
}
