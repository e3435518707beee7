//! Output forms: each turns a page (rows, a workbook) into text or bytes, the JSON form a record. All are pure: they know
//! neither files nor terminals, and the caller says how wide the page is and whether type may be
//! used.

mod columns;
pub mod csv;
mod fold;
#[cfg(any(feature = "pdf", feature = "png"))]
pub mod fonts;
pub mod html;
pub mod json;
pub mod markdown;
#[cfg(feature = "pdf")]
pub mod pdf;
mod picture;
pub mod plot;
#[cfg(feature = "png")]
mod raster;
mod scene;
pub mod sheet;
pub mod terminal;
pub mod xlsx;

#[cfg(feature = "png")]
pub use raster::png;
