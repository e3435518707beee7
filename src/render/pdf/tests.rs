//! Pages as PDF: what is written comes back, nothing is cut off, nothing overlaps, whatever is in the texts.

use super::face::Faces;
use super::flow::{Draw, LEVEL};
use super::*;
use crate::page::{Block, Cell, Column, Note, Span, Table, Text, Tile, Tiles};
use std::collections::BTreeSet;
use unicode_normalization::UnicodeNormalization;

fn page(blocks: Vec<Block>) -> Page {
    Page { title: "a title".into(), blocks }
}

fn table(columns: Vec<Column>, rows: usize, cell: impl Fn(usize, usize) -> String) -> Block {
    let width = columns.len();
    let row = |row| (0..width).map(|it| Cell::text(cell(row, it))).collect();
    let rows = (0..rows).map(row).collect();
    Block::Table(Table { columns, rows, caption: "as said".into() })
}

/// Texts that a file may hold.
fn hostile() -> Vec<String> {
    vec![
        "x".repeat(5000),
        "µ ".repeat(2500),
        "標準".repeat(2500),
        "<script>alert('1')</script> & \"quotes\" \\ ( ) %".into(),
        "a\u{202e}b\u{2066}c\u{200f}d".into(),
        "a\u{1b}[2Jb\nc\0d\u{7f}".into(),
        "e\u{301}x\u{304}\u{304}\u{304}".into(),
        "שלום עולם العربية".into(),
        "𝑢\u{10ffff}".into(),
        String::new(),
        " ".repeat(300),
        "\u{a0}".repeat(300),
    ]
}

fn tiles(text: &str) -> Tiles {
    let row = || vec![Cell::text(text), Cell::text("0.25")];
    let tile = |rows: usize| Tile {
        heading: text.into(),
        columns: vec![Column::names("n"), Column::number("u")],
        groups: vec![vec![row(); rows], vec![row()]],
    };
    Tiles { tiles: (1..6).map(tile).collect(), caption: text.into() }
}

fn pages() -> Vec<Page> {
    let texts = hostile();
    let mut pages = Vec::new();
    for text in &texts {
        let it = || Text::from(text);
        let note = Note { severity: it(), message: it(), help: it(), place: it() };
        let span = Span { text: it(), role: crate::page::Role::Strong };
        let columns = || {
            vec![
                Column::names(it()),
                Column::number(it()),
                Column::quantity(it()),
                Column::words(it()),
            ]
        };
        let share = Cell::Share { text: it(), length: 2.0 };
        let row = vec![Cell::Text(it()), Cell::Text(it()), Cell::text("1"), share];
        pages.push(Page {
            title: it(),
            blocks: vec![
                Block::Verdict(it()),
                Block::Title(it()),
                Block::Filed(it()),
                Block::Heading(it()),
                Block::Paragraph(vec![span, Span::plain(it())]),
                Block::Pairs(vec![(it(), it()), ("name".into(), "value".into())]),
                table(vec![Column::names("name"), Column::number("u")], 3, |_, _| text.clone()),
                Block::Table(Table { columns: columns(), rows: vec![row; 2], caption: it() }),
                Block::Tiles(tiles(text)),
                Block::Findings(vec![note]),
                Block::Cautions(vec![it()]),
            ],
        });
    }
    let numbers = |count| (0..count).map(|it| Column::number(format!("n{it}"))).collect();
    pages.push(page(vec![table(numbers(60), 3, |_, _| "0.123456789".into())]));
    pages.push(page(vec![table(numbers(7), 400, |row, it| format!("{row}.{it}"))]));
    pages.push(page(vec![table(Vec::new(), 2, |_, _| String::new())]));
    pages.push(page(Vec::new()));
    pages
}

/// Every text stands inside the body, and no two of a line lie over each other.
#[test]
fn cuts_nothing_off_and_lays_nothing_over_anything() {
    let faces = Faces::new().unwrap();
    for (number, page) in pages().iter().enumerate() {
        for paper in [Paper::A4, Paper::Letter] {
            let [width, height] = [paper.size()[0] - LEFT - RIGHT, paper.size()[1] - TOP - BOTTOM];
            let flow = layout::lay(page, &faces, width, height).unwrap();
            for sheet in sheets::cut(&flow, height) {
                let mut below = 0.0;
                for (at, item) in sheet {
                    assert!(at >= below - 0.01, "page {number}: {at} over {below}");
                    below = at + item.height;
                    assert!(below <= height + 0.01, "page {number}: {below} of {height}");
                    in_bounds(number, &faces, &item, width);
                }
            }
        }
    }
}

fn in_bounds(number: usize, faces: &Faces, item: &flow::Item, width: f32) {
    let mut lines: Vec<(f32, f32, f32)> = Vec::new();
    for draw in item.parts.iter().flat_map(|it| &it.draws) {
        let Draw::Text { at, size, bold, turn, text } = draw else { continue };
        assert_eq!(*turn, LEVEL);
        let right = at[0] + faces.of(*bold).width(text, *size);
        assert!(
            at[0] >= -0.1 && right <= width + 0.1,
            "page {number}: {} to {right}: {text}",
            at[0]
        );
        assert!(at[1] > 0.0 && at[1] <= item.height, "page {number}: {} in {}", at[1], item.height);
        lines.push((at[1], at[0], right));
    }
    lines.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1)));
    for pair in lines.windows(2) {
        let same = (pair[0].0 - pair[1].0).abs() < 0.01;
        assert!(!same || pair[1].1 >= pair[0].2 - 0.1, "page {number}: {pair:?}");
    }
}

#[test]
fn writes_hostile_pages_and_gives_each_character_back() {
    for (number, page) in pages().iter().enumerate() {
        let bytes = render(page, Paper::A4).unwrap();
        assert!(bytes.starts_with(b"%PDF-") && bytes.ends_with(b"%%EOF"), "page {number}");
        let text = read_back(&bytes);
        let Some(Block::Heading(heading)) = page.blocks.get(3) else { continue };
        let count = |text: &str, c: char| text.chars().filter(|it| *it == c).count();
        let heading: String = heading.as_str().nfc().collect();
        let seen: BTreeSet<char> = heading.chars().filter(|it| !it.is_whitespace()).collect();
        for c in seen {
            let one = count(&heading, c);
            assert!(count(&text, c) >= 6 * one, "page {number}: {c:?}: {one}");
        }
    }
    let text = read_back(&render(&pages()[2], Paper::A4).unwrap());
    assert!(text.contains('標') && text.contains("U+6A19"), "a box, and its character named");
}

#[test]
fn lays_small_tables_side_by_side() {
    let faces = Faces::new().unwrap();
    let page = page(vec![Block::Tiles(tiles("5.1 mm"))]);
    let flow = layout::lay(&page, &faces, 480.0, 700.0).unwrap();
    // By hand: five tiles of about 60 points and gaps of 22 fit into 480; the longest has six rows, a heading
    // and a head; the caption is the last item.
    assert_eq!(flow.items.len(), 6 + 2 + 1);
    let texts = read_back(&render(&page, Paper::A4).unwrap());
    assert_eq!(texts.matches("5.1 mm\n").count(), 5 + (2 + 3 + 4 + 5 + 6) + 1);
}

#[test]
fn repeats_the_head_of_a_long_table_on_each_sheet() {
    let columns = vec![Column::names("first head"), Column::number("second head")];
    let page = page(vec![table(columns, 400, |row, it| format!("c{row}-{it}"))]);
    let text = read_back(&render(&page, Paper::Letter).unwrap());
    let sheets = text.matches("page ").count();
    assert!(sheets > 5, "{sheets} sheets");
    assert_eq!(text.matches("second head").count(), sheets);
    for row in 0..400 {
        assert_eq!(text.matches(&format!("c{row}-1\n")).count(), 1, "{row}");
    }
}

/// On each sheet but the first, which begins with the title; not where the title says it already.
#[test]
fn the_running_head_has_the_number_of_the_document() {
    let rows = || table(vec![Column::names("head")], 200, |row, _| format!("c{row}"));
    let written = |title: &str, document: &str| {
        let blocks = vec![Block::Title(title.into()), Block::Filed(document.into()), rows()];
        let page = Page { title: title.into(), blocks };
        let text = read_back(&render(&page, Paper::A4).unwrap());
        let sheets = text.matches("page ").count();
        assert!(sheets > 3, "{sheets} sheets");
        (text.matches(document).count(), text.matches(title).count(), sheets)
    };
    let (documents, titles, sheets) = written("Calibration of M-118", "CP-031, revision B");
    assert_eq!((documents, titles), (sheets - 1, sheets));
    let (documents, _, sheets) = written("Micrometer (CP-031)", "CP-031");
    assert_eq!(documents, sheets, "in the title only");
    // A title that does not fit gives way to the document.
    let long = "Micrometer ".repeat(30) + "(CP-031)";
    let (documents, titles, sheets) = written(&long, "CP-031");
    assert_eq!((documents, titles), (sheets, 0), "the title is folded on the first sheet");
}

/// Reads the text of a file as its own maps give it back: a line for each piece that is shown.
fn read_back(bytes: &[u8]) -> String {
    let streams = streams(bytes);
    assert!(streams.len() > 2, "{} streams", streams.len());
    let maps = streams.iter().filter(|it| it.windows(11).any(|it| it == b"beginbfchar"));
    let maps: Vec<Vec<(u16, String)>> = maps.map(|it| map(&String::from_utf8_lossy(it))).collect();
    let mut text = String::new();
    for content in
        streams.iter().filter(|it| it.starts_with(b"/Artifact") || it.starts_with(b"/Span"))
    {
        let mut face = 0;
        let mut at = 0;
        while at < content.len() {
            if content[at..].starts_with(b"/B ") || content[at..].starts_with(b"/R ") {
                face = usize::from(content[at + 1] == b'B');
            }
            if content[at] != b'(' && content[at] != b'<' || content[at..].starts_with(b"<<") {
                at += if content[at..].starts_with(b"<<") { 2 } else { 1 };
                continue;
            }
            let (string, end) = string(content, at);
            at = end;
            for code in string.chunks_exact(2) {
                let code = u16::from_be_bytes([code[0], code[1]]);
                let found = maps.get(face).and_then(|it| it.iter().find(|it| it.0 == code));
                text.push_str(found.map_or("?", |it| &it.1));
            }
            text.push('\n');
        }
    }
    text
}

/// The streams of a file, unpacked; those that are not packed are left out.
fn streams(bytes: &[u8]) -> Vec<Vec<u8>> {
    let find = |from: usize, what: &[u8]| {
        bytes[from..].windows(what.len()).position(|it| it == what).map(|it| from + it)
    };
    let mut found = Vec::new();
    let mut at = 0;
    while let Some(start) = find(at, b"stream\n") {
        let end = find(start, b"endstream").unwrap();
        let data = &bytes[start + 7..end];
        let data = data.strip_suffix(b"\n").unwrap_or(data);
        found.extend(miniz_oxide::inflate::decompress_to_vec_zlib(data).ok());
        at = end + 9;
    }
    found
}

/// The pairs of a map from numbers to characters.
fn map(text: &str) -> Vec<(u16, String)> {
    let mut pairs = Vec::new();
    for line in text.lines().filter(|it| it.starts_with('<')) {
        let parts: Vec<&str> = line.split(['<', '>', ' ']).filter(|it| !it.is_empty()).collect();
        let [code, units] = parts[..] else { continue };
        let of = |it: &str| u16::from_str_radix(it, 16).unwrap();
        let units: Vec<u16> =
            (0..units.len() / 4).map(|it| of(&units[4 * it..4 * it + 4])).collect();
        if code.len() == 4 {
            pairs.push((of(code), String::from_utf16(&units).unwrap()));
        }
    }
    pairs
}

/// A string of a content stream, and where it ends.
fn string(content: &[u8], start: usize) -> (Vec<u8>, usize) {
    if content[start] == b'<' {
        let end = start + content[start..].iter().position(|it| *it == b'>').unwrap();
        let digits = std::str::from_utf8(&content[start + 1..end]).unwrap();
        let byte = |it: usize| u8::from_str_radix(&digits[2 * it..2 * it + 2], 16).unwrap();
        return ((0..digits.len() / 2).map(byte).collect(), end + 1);
    }
    let mut found = Vec::new();
    let mut at = start + 1;
    let mut depth = 0;
    while content[at] != b')' || depth > 0 {
        match content[at] {
            b'\\' => {
                at += 1;
                found.push(match content[at] {
                    b'0'..=b'7' => {
                        let digits = std::str::from_utf8(&content[at..at + 3]).unwrap();
                        at += 2;
                        u8::from_str_radix(digits, 8).unwrap()
                    }
                    b'n' => b'\n',
                    b'r' => b'\r',
                    b't' => b'\t',
                    b'b' => 8,
                    b'f' => 12,
                    it => it,
                });
            }
            it => {
                depth += i32::from(it == b'(') - i32::from(it == b')');
                found.push(it);
            }
        }
        at += 1;
    }
    (found, at + 1)
}
