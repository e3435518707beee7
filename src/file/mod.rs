//! What stands in a file: text in, values with their places out, and every fault shown at its place.
//!
//! The first pass ([`yaml`]) turns the bytes of one YAML file into a tree of texts with places and
//! refuses what the format does not use; [`source`] keeps the text and shows faults in it. Only this
//! folder knows files, lines and columns: the other stages carry an opaque
//! [`Origin`](crate::fault::Origin). Neither may compute anything.

mod comma;
mod encoding;
mod raw;
mod scalar;
pub mod source;
pub mod yaml;
#[cfg(test)]
mod yaml_cases;
mod yaml_help;
mod yaml_tree;
