//! A TrueType file cut down to the glyphs that a document uses.
//!
//! Glyphs keep their numbers; those that are not used become empty, and with them go the tables that a
//! PDF does not read. Composite glyphs keep their parts. Source: OpenType 1.9, `glyf`, `loca`, `head`.

use std::collections::BTreeSet;

/// Tables that an embedded face keeps as they are.
const KEPT: [&[u8; 4]; 3] = [b"hhea", b"hmtx", b"maxp"];

/// Returns the file with the glyphs `used` (and the box for what is missing) only; `None` where the file is not
/// laid out as expected.
pub(super) fn cut(file: &[u8], used: &BTreeSet<u16>) -> Option<Vec<u8>> {
    let mut head = table(file, b"head")?.to_vec();
    let (glyf, loca) = (table(file, b"glyf")?, table(file, b"loca")?);
    let long = u16_at(&head, 50)? == 1;
    let count = usize::from(u16_at(table(file, b"maxp")?, 4)?);
    let start = |glyph: usize| match long {
        true => u32_at(loca, 4 * glyph).map(|it| it as usize),
        false => u16_at(loca, 2 * glyph).map(|it| 2 * usize::from(it)),
    };
    let of = |glyph: u16| {
        let glyph = usize::from(glyph);
        glyf.get(start(glyph)?..start(glyph + 1)?)
    };
    let mut kept = BTreeSet::from([0]);
    let mut open: Vec<u16> = used.iter().copied().collect();
    while let Some(glyph) = open.pop() {
        if kept.insert(glyph) {
            open.extend(parts(of(glyph)?));
        }
    }
    let mut outlines = Vec::new();
    let mut places = Vec::with_capacity(4 * count + 4);
    for glyph in 0..count {
        places.extend((outlines.len() as u32).to_be_bytes());
        let glyph = u16::try_from(glyph).ok()?;
        if kept.contains(&glyph) {
            outlines.extend_from_slice(of(glyph)?);
            outlines.resize(outlines.len().next_multiple_of(4), 0);
        }
    }
    places.extend((outlines.len() as u32).to_be_bytes());
    head.get_mut(50..52)?.copy_from_slice(&1u16.to_be_bytes());
    let mut tables = vec![(*b"glyf", outlines), (*b"head", head)];
    for name in KEPT {
        tables.push((*name, table(file, name)?.to_vec()));
    }
    tables.push((*b"loca", places));
    tables.sort();
    Some(assembled(&tables))
}

/// The glyphs that a composite glyph is made of; none for a plain one.
fn parts(glyph: &[u8]) -> Vec<u16> {
    let mut found = Vec::new();
    if u16_at(glyph, 0).is_none_or(|it| it < 0x8000) {
        return found;
    }
    let mut at = 10;
    while let (Some(flags), Some(part)) = (u16_at(glyph, at), u16_at(glyph, at + 2)) {
        found.push(part);
        at += 4 + if flags & 1 != 0 { 4 } else { 2 };
        at += match flags {
            it if it & 0x8 != 0 => 2,
            it if it & 0x40 != 0 => 4,
            it if it & 0x80 != 0 => 8,
            _ => 0,
        };
        if flags & 0x20 == 0 {
            break;
        }
    }
    found
}

/// A file of tables, each at a multiple of four bytes.
fn assembled(tables: &[([u8; 4], Vec<u8>)]) -> Vec<u8> {
    let count = tables.len() as u16;
    let power = count.ilog2() as u16;
    let range = 16 << power;
    let mut file = 0x0001_0000u32.to_be_bytes().to_vec();
    for field in [count, range, power, 16 * count - range] {
        file.extend(field.to_be_bytes());
    }
    let mut place = 12 + 16 * tables.len();
    for (name, data) in tables {
        file.extend_from_slice(name);
        for field in [checksum(data), place as u32, data.len() as u32] {
            file.extend(field.to_be_bytes());
        }
        place += data.len().next_multiple_of(4);
    }
    for (_, data) in tables {
        file.extend_from_slice(data);
        file.resize(file.len().next_multiple_of(4), 0);
    }
    file
}

fn checksum(data: &[u8]) -> u32 {
    let word = |it: &[u8]| {
        let byte = |at: usize| it.get(at).copied().unwrap_or(0);
        u32::from_be_bytes([byte(0), byte(1), byte(2), byte(3)])
    };
    data.chunks(4).map(word).fold(0, u32::wrapping_add)
}

fn table<'a>(file: &'a [u8], name: &[u8; 4]) -> Option<&'a [u8]> {
    let count = usize::from(u16_at(file, 4)?);
    let row = (0..count).map(|it| 12 + 16 * it).find(|it| file.get(*it..it + 4) == Some(name))?;
    let start = u32_at(file, row + 8)? as usize;
    file.get(start..start + u32_at(file, row + 12)? as usize)
}

fn u16_at(data: &[u8], at: usize) -> Option<u16> {
    Some(u16::from_be_bytes(data.get(at..at + 2)?.try_into().ok()?))
}

fn u32_at(data: &[u8], at: usize) -> Option<u32> {
    Some(u32::from_be_bytes(data.get(at..at + 4)?.try_into().ok()?))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::render::fonts;

    struct Outline(String);

    impl ttf_parser::OutlineBuilder for Outline {
        fn move_to(&mut self, x: f32, y: f32) {
            self.0 += &format!("M{x} {y}");
        }
        fn line_to(&mut self, x: f32, y: f32) {
            self.0 += &format!("L{x} {y}");
        }
        fn quad_to(&mut self, x1: f32, y1: f32, x: f32, y: f32) {
            self.0 += &format!("Q{x1} {y1} {x} {y}");
        }
        fn curve_to(&mut self, _: f32, _: f32, _: f32, _: f32, x: f32, y: f32) {
            self.0 += &format!("C{x} {y}");
        }
        fn close(&mut self) {
            self.0.push('Z');
        }
    }

    fn outline(face: &ttf_parser::RawFace, glyph: u16) -> String {
        let table = |name: &[u8; 4]| face.table(ttf_parser::Tag::from_bytes(name)).unwrap();
        let head = ttf_parser::head::Table::parse(table(b"head")).unwrap();
        let maxp = ttf_parser::maxp::Table::parse(table(b"maxp")).unwrap();
        let glyphs = maxp.number_of_glyphs;
        let loca =
            ttf_parser::loca::Table::parse(glyphs, head.index_to_location_format, table(b"loca"));
        let glyf = ttf_parser::glyf::Table::parse(loca.unwrap(), table(b"glyf")).unwrap();
        let mut drawn = Outline(String::new());
        let _bounds = glyf.outline(ttf_parser::GlyphId(glyph), &mut drawn);
        drawn.0
    }

    /// Reference: ttf-parser draws the outlines of the whole file and of the one that was cut.
    #[test]
    fn draws_the_glyphs_that_are_used_as_before_and_no_others() {
        let whole = ttf_parser::Face::parse(fonts::REGULAR, 0).unwrap();
        let number = |c: char| whole.glyph_index(c).unwrap().0;
        // Letters with marks are composite.
        let used: BTreeSet<u16> = "aÅŐµ½".chars().map(number).collect();
        let file = cut(fonts::REGULAR, &used).unwrap();
        assert!(file.len() < fonts::REGULAR.len() / 4, "{}", file.len());
        let short = ttf_parser::RawFace::parse(&file, 0).unwrap();
        for glyph in used.iter().chain([&0]) {
            let before = outline(whole.raw_face(), *glyph);
            assert!(before.len() > 10);
            assert_eq!(outline(&short, *glyph), before);
        }
        assert_eq!(outline(&short, number('b')), "");
        assert_eq!(cut(b"no font", &used), None);
    }
}
