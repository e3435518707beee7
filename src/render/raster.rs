//! A figure as a PNG: black on white, drawn from the same sheet as the SVG, with letters from the typeface
//! that the program brings along. No font of the machine is asked for.

use super::fonts;
use super::plot::{NotDrawn, checked};
use super::scene::{Anchor, Item, WIDE};
use crate::page::Figure;
use tiny_skia::{Color, FillRule, Paint, Path, PathBuilder, Pixmap, Stroke, StrokeDash, Transform};
use ttf_parser::{Face, GlyphId, OutlineBuilder};

/// The widest picture, in pixels.
const WIDEST: u32 = 8000;

/// Returns a figure as a PNG, `width` pixels wide (100 to 8000).
///
/// # Errors
///
/// [`NotDrawn`], where a number of the figure is not finite, an axis has no length, or the width is out of
/// range.
pub fn png(figure: &Figure, width: u32) -> Result<Vec<u8>, NotDrawn> {
    let refused = |why: &str| NotDrawn(why.to_owned());
    if !(100..=WIDEST).contains(&width) {
        return Err(refused("a width from 100 to 8000 pixels is wanted"));
    }
    let scene = checked(figure)?;
    let scale = f64::from(width) / WIDE;
    let height = (scene.high * scale).ceil() as u32;
    let mut sheet = Pixmap::new(width, height).ok_or_else(|| refused("it is too large"))?;
    sheet.fill(Color::WHITE);
    let face = |bytes| Face::parse(bytes, 0).map_err(|it| NotDrawn(it.to_string()));
    let faces = [face(fonts::REGULAR)?, face(fonts::BOLD)?];
    let scale = Transform::from_scale(scale as f32, scale as f32);
    for item in &scene.items {
        draw(&mut sheet, item, &faces, scale);
    }
    sheet.encode_png().map_err(|it| NotDrawn(it.to_string()))
}

fn ink() -> Paint<'static> {
    let mut ink = Paint::default();
    ink.set_color(Color::BLACK);
    ink.anti_alias = true;
    ink
}

fn draw(sheet: &mut Pixmap, item: &Item, faces: &[Face; 2], scale: Transform) {
    let fill = |sheet: &mut Pixmap, path: Option<Path>| {
        if let Some(path) = path {
            sheet.fill_path(&path, &ink(), FillRule::Winding, scale, None);
        }
    };
    let stroke = |sheet: &mut Pixmap, path: Option<Path>, width: f64, dashes: &[f64]| {
        let dashes = dashes.iter().map(|it| *it as f32).collect();
        let dash = StrokeDash::new(dashes, 0.0);
        let pen = Stroke { width: width as f32, dash, ..Stroke::default() };
        if let Some(path) = path {
            sheet.stroke_path(&path, &ink(), &pen, scale, None);
        }
    };
    match item {
        Item::Lines { lines, width, dashes, closed } => {
            stroke(sheet, outline(lines, *closed), *width, dashes);
        }
        Item::Area(area) => fill(sheet, outline(std::slice::from_ref(area), true)),
        Item::Circle { at, radius, filled } => {
            let path = PathBuilder::from_circle(at[0] as f32, at[1] as f32, *radius as f32);
            match filled {
                true => fill(sheet, path),
                false => stroke(sheet, path, 3.0, &[]),
            }
        }
        Item::Text { at, anchor, size, bold, text } => {
            let face = &faces[usize::from(*bold)];
            fill(sheet, letters(face, text, *at, *anchor, *size));
        }
    }
}

fn outline(lines: &[Vec<[f64; 2]>], closed: bool) -> Option<Path> {
    let mut path = PathBuilder::new();
    for line in lines {
        for (index, [x, y]) in line.iter().enumerate() {
            match index {
                0 => path.move_to(*x as f32, *y as f32),
                _ => path.line_to(*x as f32, *y as f32),
            }
        }
        if closed {
            path.close();
        }
    }
    path.finish()
}

/// The outlines of a text; a character that the typeface does not have is its empty box.
fn letters(face: &Face, text: &str, at: [f64; 2], anchor: Anchor, size: f64) -> Option<Path> {
    let scale = size / f64::from(face.units_per_em());
    let glyph =
        |c: char| face.glyph_index(if c == '\u{a0}' { ' ' } else { c }).unwrap_or(GlyphId(0));
    let glyphs: Vec<GlyphId> = text.chars().map(glyph).collect();
    let advance = |it: &GlyphId| scale * f64::from(face.glyph_hor_advance(*it).unwrap_or(0));
    let width: f64 = glyphs.iter().map(advance).sum();
    let mut x = at[0]
        - match anchor {
            Anchor::Start => 0.0,
            Anchor::Middle => 0.5 * width,
            Anchor::End => width,
        };
    let mut path = PathBuilder::new();
    for glyph in &glyphs {
        let place = [x as f32, at[1] as f32];
        face.outline_glyph(*glyph, &mut Pen { path: &mut path, place, scale: scale as f32 });
        x += advance(glyph);
    }
    path.finish()
}

/// Puts the outline of a letter at its place.
struct Pen<'a> {
    path: &'a mut PathBuilder,
    place: [f32; 2],
    scale: f32,
}

impl Pen<'_> {
    fn x(&self, x: f32) -> f32 {
        self.place[0] + self.scale * x
    }

    fn y(&self, y: f32) -> f32 {
        self.place[1] - self.scale * y
    }
}

impl OutlineBuilder for Pen<'_> {
    fn move_to(&mut self, x: f32, y: f32) {
        self.path.move_to(self.x(x), self.y(y));
    }

    fn line_to(&mut self, x: f32, y: f32) {
        self.path.line_to(self.x(x), self.y(y));
    }

    fn quad_to(&mut self, a: f32, b: f32, x: f32, y: f32) {
        self.path.quad_to(self.x(a), self.y(b), self.x(x), self.y(y));
    }

    fn curve_to(&mut self, a: f32, b: f32, c: f32, d: f32, x: f32, y: f32) {
        self.path.cubic_to(self.x(a), self.y(b), self.x(c), self.y(d), self.x(x), self.y(y));
    }

    fn close(&mut self) {
        self.path.close();
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::page::figure::samples;

    #[test]
    fn is_as_wide_as_asked_for_in_black_white_and_grays() {
        let figure = samples(None).remove(0);
        let bytes = png(&figure, 1200).unwrap();
        let sheet = Pixmap::decode_png(&bytes).unwrap();
        assert_eq!(sheet.width(), 1200);
        let gray = |it: &tiny_skia::PremultipliedColorU8| {
            it.alpha() == 255 && it.red() == it.green() && it.green() == it.blue()
        };
        assert!(sheet.pixels().iter().all(gray));
        let dark = sheet.pixels().iter().filter(|it| it.red() < 128).count();
        let share = dark as f64 / sheet.pixels().len() as f64;
        assert!(0.01 < share && share < 0.5, "{share}");
        assert_eq!(png(&figure, 1200).unwrap(), bytes, "the same bytes each time");
    }

    #[test]
    fn letters_of_the_trade_are_in_the_typeface() {
        for bytes in [fonts::REGULAR, fonts::BOLD] {
            let face = Face::parse(bytes, 0).unwrap();
            for c in "aZ09µΩΔδσν²³₁₂±−·×≤≥°…–½%∞√".chars() {
                assert!(face.glyph_index(c).is_some(), "{c}");
            }
        }
    }

    #[test]
    fn refuses_a_width_that_makes_no_picture() {
        let figure = samples(None).remove(0);
        assert!(png(&figure, 0).is_err() && png(&figure, 100_000).is_err());
    }
}
