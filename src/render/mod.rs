//! Output forms: each turns a page (rows, a workbook) into text or bytes, the JSON form a record. All are pure: they know
//! neither files nor terminals, and the caller says how wide the page is and whether type may be
//! used.

mod columns;
pub mod csv;
mod fold;
pub mod html;
pub mod json;
pub mod markdown;
mod picture;
pub mod plot;
pub mod sheet;
pub mod terminal;
pub mod xlsx;
