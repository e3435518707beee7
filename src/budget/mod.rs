//! The validated domain: budget and worksheet. No YAML, no I/O.
//!
//! [`parts`] holds what was written; the constructors here are the only validation.

pub mod parts;
