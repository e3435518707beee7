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
//! | `page` | record | headings, tables and notes without a format | never |
//! | `render` | page | terminal text | never |
//! | `cli` | arguments | text and exit code | faults on standard error |
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
