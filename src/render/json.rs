//! Record → JSON.

use crate::record::{NotFinite, Record};

/// Returns a record as JSON, with a closing newline.
///
/// # Errors
///
/// [`NotFinite`], where a number of the record is NaN or infinite.
pub fn render(record: &Record) -> Result<String, NotFinite> {
    record.to_json()
}
