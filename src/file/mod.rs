//! What stands in a file: text in, values with their places out, and every fault shown at its place.
//!
//! The first pass ([`yaml`]) turns the bytes of one YAML file into a tree of texts with places and
//! refuses what the format does not use; [`source`] keeps the text and shows faults in it. The second
//! ([`read`]) holds the tree against the table of keys ([`keys`]) and fills the parts of a budget or a
//! worksheet; the same table writes the JSON Schema ([`mod@schema`]) and the page of the format
//! ([`mod@format_page`]). Only this folder knows files, lines and columns: the other stages carry an
//! opaque [`Origin`](crate::fault::Origin). Nothing here may compute anything.
//!
//! # Examples
//!
//! All faults of a file at once, each at its place and with what to type:
//!
//! ```
//! use surebound::file::load_budget;
//!
//! let text = "surebound: 1
//! title: A length by one certificate
//! measurand: {symbol: L, name: Length, units: mm}
//! contributors:
//!   - {name: Certificate, certifcate: 0.4 µm, k: 2}
//! ";
//! let loaded = load_budget("length.yaml", text.as_bytes());
//! let faults = loaded.value.unwrap_err();
//! assert_eq!(loaded.source.place(faults[0].origin), (3, 38)); // line and column
//! assert_eq!(loaded.source.place(faults[1].origin), (5, 25));
//! assert_eq!(
//!     loaded.source.render(&faults[1]),
//!     "length.yaml:5:25: unknown key `certifcate` in an entry of `contributors`
//!     - {name: Certificate, certifcate: 0.4 µm, k: 2}
//! help: write `certificate`"
//! );
//! ```

mod check;
mod comma;
mod encoding;
pub mod extent;
mod fields;
pub mod format_page;
pub mod history;
pub mod keys;
mod keys_budget;
mod keys_contributor;
mod keys_data;
mod keys_decision;
mod keys_population;
mod keys_results;
mod keys_worksheet;
pub mod load;
mod plain;
mod raw;
pub mod read;
mod read_contributor;
mod read_data;
mod read_decision;
mod read_population;
mod read_readings;
mod read_results;
mod read_worksheet;
mod scalar;
pub mod schema;
pub mod source;
pub mod table;
pub mod yaml;
#[cfg(test)]
mod yaml_cases;
mod yaml_help;
mod yaml_tree;

pub use format_page::format_page;
pub use load::{Loaded, load_budget, load_budget_with, load_worksheet};
pub use read::{AnyReading, Kind, Reading, VERSION, any, budget, kind, worksheet};
pub use schema::schema;

#[cfg(test)]
mod tests;
