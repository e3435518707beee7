//! The validated domain: budget and worksheet. No YAML, no I/O.
//!
//! [`parts`] holds what was written; the constructors here are the only validation.
//!
//! # Examples
//!
//! A program may fill the parts itself; it gets the same checks as a file does, faults without places.
//!
//! ```
//! use surebound::budget::Budget;
//! use surebound::budget::parts::{BudgetParts, ContributorParts, EvidenceParts, MeasurandParts};
//!
//! let parts = |u: &str| BudgetParts {
//!     title: "A length".into(),
//!     measurand: MeasurandParts {
//!         symbol: "L".into(),
//!         name: "Length".into(),
//!         unit: "mm".into(),
//!         ..MeasurandParts::default()
//!     },
//!     contributors: vec![ContributorParts::new("All", EvidenceParts::StandardUncertainty(u.into()))],
//!     ..BudgetParts::default()
//! };
//! let budget = Budget::new(parts("0.2 µm"))?;
//! assert_eq!(budget.evaluate()?.points()[0].all.standard_uncertainty, 0.2e-6); // in SI
//!
//! let faults = Budget::new(parts("0.2 K")).unwrap_err();
//! assert!(faults.0[0].what.contains("0.2 K"), "{faults}");
//! # Ok::<(), surebound::fault::Faults>(())
//! ```

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
