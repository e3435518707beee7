//! Page → a PDF file: A4 or Letter, black on white, text that can be searched, tagged for screen readers.
//!
//! `layout` and `table` make items, `sheets` puts them on sheets, `file` writes the bytes. The same page gives
//! the same bytes: there is no clock in it. The typeface is embedded, cut down to the glyphs that are used.
//! What stands where in the file, and its limits: `docs/pdf.md`.

mod column;
mod face;
mod file;
mod flow;
mod layout;
mod picture;
mod sheets;
mod subset;
mod svg;
mod table;
#[cfg(test)]
mod tests;
mod tiles;
mod wrap;

use crate::page::Page;
use face::Faces;

pub use super::plot::NotDrawn;

/// The paper.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Paper {
    /// 210 mm × 297 mm (ISO 216).
    A4,
    /// 8.5 in × 11 in.
    Letter,
}

impl Paper {
    /// Width and height in points: 1/72 in.
    fn size(self) -> [f32; 2] {
        match self {
            Paper::A4 => [595.276, 841.89],
            Paper::Letter => [612.0, 792.0],
        }
    }
}

/// Left margin in points, 22 mm: room for holes.
const LEFT: f32 = 62.4;
/// Right margin.
const RIGHT: f32 = 40.0;
/// From the upper edge to the body; the running head stands in it.
const TOP: f32 = 50.0;
/// From the body to the lower edge; the number of the sheet stands in it.
const BOTTOM: f32 = 44.0;

/// Returns a page as a PDF file.
///
/// # Errors
///
/// [`NotDrawn`], where a picture of the page cannot be drawn.
pub fn render(page: &Page, paper: Paper) -> Result<Vec<u8>, NotDrawn> {
    let faces = Faces::new()?;
    let [width, height] = paper.size();
    let body = [width - LEFT - RIGHT, height - TOP - BOTTOM];
    let flow = layout::lay(page, &faces, body[0], body[1])?;
    let sheets = sheets::cut(&flow, body[1]);
    file::write(page, &flow.elements, sheets, &faces, paper)
}
