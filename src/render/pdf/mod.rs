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

/// Sizes of everything that are tried to get a page onto fewer sheets.
const SCALES: [f32; 4] = [1.0, 0.92, 0.86, 0.8];

/// Returns a page as a PDF file.
///
/// # Errors
///
/// [`NotDrawn`], where a picture of the page cannot be drawn.
pub fn render(page: &Page, paper: Paper) -> Result<Vec<u8>, NotDrawn> {
    render_within(page, paper, usize::MAX)
}

/// Returns a page as a PDF file on at most `most` sheets, where a type of four fifths of the usual size makes
/// that possible; on as many as it takes at that size where not.
///
/// # Errors
///
/// As [`render`].
pub fn render_within(page: &Page, paper: Paper, most: usize) -> Result<Vec<u8>, NotDrawn> {
    let faces = Faces::new()?;
    let mut scales = SCALES.iter().copied().peekable();
    loop {
        let scale = scales.next().unwrap_or(1.0);
        let size = paper.size().map(|it| it / scale);
        let body = [size[0] - LEFT - RIGHT, size[1] - TOP - BOTTOM];
        let flow = layout::lay(page, &faces, body[0], body[1])?;
        let sheets = sheets::cut(&flow, body[1]);
        if sheets.len() <= most || scales.peek().is_none() {
            return file::write(page, &flow.elements, sheets, &faces, &file::Size { size, scale });
        }
    }
}
