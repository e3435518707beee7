//! How U was made, in words that follow the record.

use crate::page::{Block, coverage, numbers};
use crate::record::{CoverageMethod, Section};

/// Returns the paragraph about u, k and U.
pub(super) fn blocks(section: &Section) -> Vec<Block> {
    let Some(point) = section.points.first() else { return Vec::new() };
    let mut text = String::from(
        "The standard uncertainty u combines all contributors that count by the law of propagation of \
         uncertainty with exact sensitivity coefficients (JCGM 100, clause 5)",
    );
    if section.points.iter().any(|it| it.second_order_share != 0.0) {
        text += ", with second-order terms where they are in use (5.1.2, note)";
    }
    if section.points.iter().any(|it| it.correlation_share != 0.0) {
        text += ", and with the correlations that are given (5.2.2)";
    }
    text += match point.coverage.method {
        CoverageMethod::T => {
            "; k comes from Student's t with the effective degrees of freedom (Welch–Satterthwaite, G.4)"
        }
        CoverageMethod::Fixed => "; k is fixed by the budget",
        CoverageMethod::Exact => "; U comes from the computed distribution of the measurand",
        CoverageMethod::MonteCarlo => {
            "; U comes from the simulated distribution of the measurand (JCGM 101, clause 7)"
        }
    };
    text += &format!(". {} is reported.", coverage::reported(section));
    let digits = "U is rounded to its last digits and never down by more than 5 %, the estimate to the same place.";
    let shared: Vec<&str> =
        point.contributors.iter().filter(|it| it.shared > 0.0).map(|it| it.name.as_str()).collect();
    let mut blocks =
        vec![Block::Heading("How U was made".into()), Block::plain(format!("{text} {digits}"))];
    if !shared.is_empty() && section.points.len() > 1 {
        let list = shared.join(", ");
        blocks.push(Block::plain(format!("Of one unknown value at all points: {list}.")));
    }
    let two = section.points.iter().filter_map(|it| it.simulation.as_ref());
    let trials = two.map(|it| it.trials).max();
    blocks.extend(trials.map(|it| {
        Block::plain(format!(
            "Up to {} trials at a point were simulated.",
            numbers::short(it as f64)
        ))
    }));
    blocks
}
