//! The two faces of the typeface: widths of text, and the glyph of a character.
//!
//! Sizes and widths are in points. Text is set without kerning, so that columns of digits line up.

use crate::render::fonts;
use crate::render::plot::NotDrawn;

/// A face of the typeface.
pub(super) struct Face {
    face: ttf_parser::Face<'static>,
    data: &'static [u8],
    units: f32,
    /// The widths of the first characters, which are asked for most.
    first: Vec<f32>,
}

/// How many widths are kept: Latin, Greek and Cyrillic.
const FIRST: u32 = 0x460;

/// Both faces.
pub(super) struct Faces {
    regular: Face,
    bold: Face,
}

impl Faces {
    /// Reads the faces that the program carries.
    ///
    /// # Errors
    ///
    /// [`NotDrawn`], where they cannot be read; a test reads them.
    pub(super) fn new() -> Result<Faces, NotDrawn> {
        Ok(Faces { regular: Face::new(fonts::REGULAR)?, bold: Face::new(fonts::BOLD)? })
    }

    /// Returns one of the faces.
    pub(super) fn of(&self, bold: bool) -> &Face {
        if bold { &self.bold } else { &self.regular }
    }
}

impl Face {
    fn new(data: &'static [u8]) -> Result<Face, NotDrawn> {
        let face = ttf_parser::Face::parse(data, 0).map_err(|it| NotDrawn(it.to_string()))?;
        let units = f32::from(face.units_per_em());
        let mut face = Face { face, data, units, first: Vec::new() };
        face.first = (0..FIRST).filter_map(char::from_u32).map(|it| face.advance(it)).collect();
        Ok(face)
    }

    /// Returns the file.
    pub(super) fn data(&self) -> &'static [u8] {
        self.data
    }

    /// Returns the number of the glyph of a character; `None` where the face has none.
    pub(super) fn glyph(&self, c: char) -> Option<u16> {
        self.face.glyph_index(c).map(|it| it.0).filter(|it| *it > 0)
    }

    /// Returns the width of a character of size 1000; a box stands for what the face lacks.
    pub(super) fn advance(&self, c: char) -> f32 {
        if let Some(known) = self.first.get(c as usize) {
            return *known;
        }
        let glyph = ttf_parser::GlyphId(self.glyph(c).unwrap_or(0));
        f32::from(self.face.glyph_hor_advance(glyph).unwrap_or(0)) * 1000.0 / self.units
    }

    /// Returns the width of a text at a size.
    pub(super) fn width(&self, text: &str, size: f32) -> f32 {
        text.chars().map(|it| self.advance(it)).sum::<f32>() * size / 1000.0
    }

    /// Returns ascender, descender (below zero), height of capitals, and the box of all glyphs, at size 1000.
    pub(super) fn measures(&self) -> (f32, f32, f32, [f32; 4]) {
        let scaled = |it: i16| f32::from(it) * 1000.0 / self.units;
        let bounds = self.face.global_bounding_box();
        let bounds = [bounds.x_min, bounds.y_min, bounds.x_max, bounds.y_max].map(scaled);
        let capitals = self.face.capital_height().unwrap_or(0);
        (scaled(self.face.ascender()), scaled(self.face.descender()), scaled(capitals), bounds)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// What budgets and certificates are written with.
    #[test]
    fn has_the_letters_and_signs_of_the_trade() {
        let faces = Faces::new().unwrap();
        let greek = "ΑΒΓΔΕΖΗΘΙΚΛΜΝΞΟΠΡΣΤΥΦΧΨΩαβγδεζηθικλμνξοπρσςτυφχψω";
        let signs = "µ−±≤≥√·∞→×÷≈≠°′″%‰⌀∂∑∫½¼¾…–—„“”‚‘’«»§€";
        let raised = "⁰¹²³⁴⁵⁶⁷⁸⁹⁺⁻ⁿ₀₁₂₃₄₅₆₇₈₉₊₋ₐₑₒₓₙ";
        let latin: String = (' '..='~').chain('\u{a0}'..='ÿ').collect();
        for text in [greek, signs, raised, &latin, "ĄąČčĘęŁłŐőŘřŠšŽž", "Жизнь", "\u{fffd}\u{304}"]
        {
            for c in text.chars() {
                for bold in [false, true] {
                    assert!(faces.of(bold).glyph(c).is_some(), "{c:?}, bold: {bold}");
                }
            }
        }
    }

    #[test]
    fn digits_and_signs_of_numbers_are_of_one_width() {
        let faces = Faces::new().unwrap();
        for bold in [false, true] {
            let of = |c: char| faces.of(bold).advance(c);
            assert!(('0'..='9').all(|c| of(c) == of('0')));
            assert!(of('0') > 0.0 && of('標') > 0.0);
            assert_eq!(of('\u{304}'), 0.0);
            assert_eq!(of('+'), of('−'));
        }
    }
}
