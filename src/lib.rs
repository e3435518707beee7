//! Surebound evaluates measurement-uncertainty budgets and says whether a reading may be passed.
//!
//! The folders of `src/` are the stages of one pipeline, in reading order:
//!
//! | stage | in | out | fails with |
//! | --- | --- | --- | --- |
//! | [`fault`] | | places, faults and findings that all stages speak in | |
//! | [`quantity`] | text | exact decimals, units, dimensions | what is wrong and what to type |
//! | [`model`] | text, units | expression, tape, values and derivatives | a fault inside the expression |
//! | [`budget`] | parts | the validated [`budget::Budget`] and worksheet | all faults at once |
//! | [`file`](mod@file) | YAML text | parts with places | all faults of the file, rendered at their place |
//! | [`evidence`] | budget, point | estimate, standard uncertainty, distribution, degrees of freedom | a fault |
//! | [`propagate`] | budget, evidence | one evaluation per point | a fault |
//! | [`decide`] | evaluation, readings | zones, verdict, risk, reason | a fault |
//! | [`advise`] | all of these | findings | never |
//! | [`record`] | all of these | plain data, JSON | never |
//! | `page` | record | headings, tables, pictures, sheets and rows without a format | never |
//! | `render` | page (JSON: record) | text, Markdown, HTML, PDF, SVG, PNG, CSV, xlsx | where a number is not finite, or a file would be too large |
//! | `cli` | arguments | text and exit code | faults on standard error |
//!
//! The last three are there with the feature `cli`, PDF and PNG with `pdf` and `png`; all three are on by
//! default. Without them the package is the engine.
//!
//! # From a budget to a verdict
//!
//! Four calls: [`Budget::parse`](budget::Budget::parse), [`Budget::evaluate`](budget::Budget::evaluate),
//! [`Evaluation::judge`](propagate::Evaluation::judge) and [`Record::from`](record::Record). Expected
//! numbers by hand: u = √(0.3² + 0.4²) µm = 0.5 µm, so that U = 1 µm and the ratio of ±4 µm to ±U is 4; the
//! reading 10.302 mm is an error of 2 µm, and up to 4 µm less the guard band of 1 µm may be passed.
//!
//! ```
//! use surebound::budget::Budget;
//! use surebound::decide::readings::{Readings, Row};
//! use surebound::decide::Verdict;
//! use surebound::record::{self, Record};
//!
//! let budget = Budget::parse(
//!     "surebound: 1
//! title: Outside micrometer, two points
//! measurand: {symbol: E, name: Error of indication, unit: µm}
//! points: {symbol: L, unit: mm, at: [5.1, 10.3]}
//! model: reading - L
//! contributors:
//!   - {name: Gauge block, standard_uncertainty: 0.3 µm}
//!   - {name: Repeatability, standard_uncertainty: 0.4 µm, owner: instrument}
//! display: {step: 1 µm}
//! tolerance: ±4 µm
//! decision: {rule: guarded, uncertainty: all}
//! ",
//! )?;
//!
//! // Evaluations are in SI, here metres.
//! let evaluation = budget.evaluate()?;
//! let point = &evaluation.points()[1];
//! assert!((point.all.standard_uncertainty - 0.5e-6).abs() < 1e-18);
//! assert!((point.expanded_uncertainty - 1e-6).abs() < 1e-11); // 95.45 %: k = 2.000002
//!
//! // Readings as they were typed; the points without one remain undecided.
//! let read = Row { point: "10.3 mm".into(), values: vec!["10.302 mm".into()], is_error: false };
//! let readings = Readings::from_rows(&budget, &[read])?;
//! let judgement = evaluation.judge(&readings)?;
//! assert_eq!(judgement.points[1].verdict().0, Verdict::Pass);
//! assert_eq!(judgement.points[0].verdict().0, Verdict::Undecided);
//!
//! // A record is in the measurand's unit, µm, and goes to JSON and back.
//! let mut record = Record::from(&judgement);
//! let findings = judgement.findings.iter().map(|it| record::from::finding(it, None));
//! record.findings.extend(findings);
//! let json: serde_json::Value = serde_json::from_str(&record.to_json()?)?;
//! let point = &json["sections"][0]["points"][1];
//! assert_eq!(point["reported"]["expanded_uncertainty"], 1.0);
//! assert_eq!(point["decision"]["verdict"], "pass");
//! assert_eq!(point["decision"]["readings"][0]["error"], 2.0);
//! assert_eq!(json["findings"][0]["code"], "missing-reading");
//! assert_eq!(Record::from_json(&record.to_json()?)?, record);
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```
//!
//! The stages from `quantity` to `decide`, `record` and `page` open with examples of their own.
#![forbid(unsafe_code)]
#![deny(missing_docs)]

pub mod advise;
pub mod budget;
#[cfg(feature = "cli")]
pub mod cli;
pub mod decide;
pub mod evidence;
pub mod fault;
pub mod file;
pub mod model;
#[cfg(feature = "cli")]
pub mod page;
pub mod propagate;
pub mod quantity;
pub mod record;
#[cfg(feature = "cli")]
pub mod render;
