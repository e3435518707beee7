//! Output forms: each turns a page into text, the JSON form a record. All are pure: they know
//! neither files nor terminals, and the caller says how wide the page is and whether type may be
//! used.

mod columns;
mod fold;
pub mod html;
pub mod json;
pub mod markdown;
mod picture;
pub mod plot;
pub mod terminal;
