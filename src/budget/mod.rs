//! The validated domain: budget and worksheet. No YAML, no I/O.
//!
//! [`parts`] holds what was written; the constructors here are the only validation.

mod build;
pub mod dataset;
pub mod derived;
pub mod domain;
pub mod formula;
pub mod knowledge;
pub mod names;
pub mod number;
pub mod parts;
pub mod population;
pub mod rule;
pub mod worksheet;

pub use dataset::{Data, DataKind, Dataset};
pub use derived::DerivedResult;
pub use domain::*;
pub use formula::{Base, Formula};
pub use knowledge::*;
pub use names::{Name, Names, Role};
pub use number::{Date, Dof, Probability};
pub use population::{History, Known, PastError, Population, ShareOf};
pub use rule::*;
pub use worksheet::{Take, Worksheet};
