//! Pages as HTML: what people wrote stays text, the markup is whole, nothing comes from elsewhere.

use super::*;
use crate::page::figure::{Curve, Hills};
use crate::page::{Span, Tile};
use proptest::prelude::*;
use std::collections::BTreeSet;

fn page(blocks: Vec<Block>) -> Page {
    Page { title: "A page".into(), blocks }
}

/// What a browser would have after reading: tags with their attributes as written, and texts.
#[derive(Debug, PartialEq)]
enum Piece {
    Open(String, String),
    Close(String),
    Text(String),
}

/// Reads markup in which `<` and `>` stand for tags only; a style is one text.
fn pieces(html: &str) -> Vec<Piece> {
    let mut pieces = Vec::new();
    let mut rest = html;
    while let Some(start) = rest.find('<') {
        if start > 0 {
            pieces.push(Piece::Text(rest[..start].to_owned()));
        }
        let end = start + rest[start..].find('>').expect("a tag that ends");
        let tag = &rest[start + 1..end];
        rest = &rest[end + 1..];
        if let Some(name) = tag.strip_prefix('/') {
            pieces.push(Piece::Close(name.to_owned()));
        } else if !tag.starts_with('!') {
            let (name, attributes) = tag.split_once([' ', '\n']).unwrap_or((tag, ""));
            pieces.push(Piece::Open(name.to_owned(), attributes.to_owned()));
        }
    }
    pieces
}

fn unescaped(text: &str) -> String {
    let text = text.replace("&lt;", "<").replace("&gt;", ">").replace("&quot;", "\"");
    text.replace("&amp;", "&")
}

/// Every tag is closed in order; elements without content excepted.
fn is_whole(html: &str) {
    let mut open: Vec<String> = Vec::new();
    for piece in pieces(html) {
        match piece {
            Piece::Open(name, attributes) => {
                let empty = name == "meta" || attributes.ends_with('/');
                if !empty {
                    open.push(name);
                }
            }
            Piece::Close(name) => assert_eq!(open.pop().as_deref(), Some(name.as_str()), "{html}"),
            Piece::Text(_) => {}
        }
    }
    assert!(open.is_empty(), "{open:?}");
}

fn figure() -> Figure {
    let curve = Curve {
        name: "law".into(),
        heights: vec![0.1, 0.4, 0.1],
        interval: [-1.0, 1.0],
        interval_name: "95 %".into(),
    };
    let hills = Hills {
        title: "Where <E> lies".into(),
        description: "a curve & its ends".into(),
        axis: "E in µm".into(),
        height: "density".into(),
        range: [-2.0, 2.0],
        curves: vec![curve],
    };
    hills.into()
}

fn everything() -> Page {
    let text = || Cell::text("x");
    let share = Cell::Share { text: "59 %".into(), length: 0.59 };
    let columns = || vec![Column::names("name"), Column::number("u"), Column::words("")];
    let rows = vec![vec![text(), text(), share], vec![Cell::text(""), text(), text()]];
    let table = Table { columns: columns(), rows, caption: "said".into() };
    let groups = vec![vec![vec![text(), text(), text()]]; 2];
    let tile = Tile { heading: "10.3 mm".into(), columns: columns(), groups };
    let note = |help: &str| Note {
        severity: "note".into(),
        message: "m".into(),
        help: help.into(),
        place: help.into(),
    };
    page(vec![
        Block::Title("A page".into()),
        Block::Verdict("pass".into()),
        Block::Heading("H".into()),
        Block::Paragraph(vec![Span::strong("so"), Span::plain("it is")]),
        Block::Pairs(vec![("k".into(), "v".into())]),
        Block::Table(table.clone()),
        Block::Table(table),
        Block::Tiles(Tiles { tiles: vec![tile], caption: "risk".into() }),
        Block::Figure(Box::new(figure())),
        Block::Figure(Box::new(figure())),
        Block::Folded(Folded { title: "more".into(), blocks: vec![Block::plain("inside")] }),
        Block::Findings(vec![note("do"), note("")]),
        Block::Cautions(vec!["care".into()]),
    ])
}

#[test]
fn markup_is_whole_and_stands_on_its_own() {
    let html = render(&everything());
    is_whole(&html);
    assert!(html.contains("<details><summary>more</summary><p>inside</p></details>"), "{html}");
    assert!(html.starts_with("<!DOCTYPE html><html lang=\"en\">"));
    // The name of SVG is no address that anything asks.
    let rest = html.replace("http://www.w3.org/2000/svg", "");
    for sign in ["http:", "https:", "//", "src=", "href=", "url(", "@import", "<script", " onload"]
    {
        assert!(!rest.contains(sign), "{sign}");
    }
}

/// A narrow screen shows each row as a block: its cells have to say what their column is.
#[test]
fn cells_of_a_table_of_many_columns_name_their_column() {
    let columns = ["point", "reading", "U", "verdict"].map(Column::words).to_vec();
    let row = ["10 mm", "10.001 mm", "2027-01-15", ""].map(Cell::text).to_vec();
    let mut table = Table { columns, rows: vec![row], caption: Text::default() };
    let html = render(&page(vec![Block::Table(table.clone())]));
    assert!(html.contains("<table class=\"many whole\">"), "{html}");
    assert!(html.contains("data-label=\"verdict\"></td>"), "{html}");
    assert!(html.contains("<span class=\"one\">2027-01-15</span>"), "dates stay whole: {html}");
    table.columns.truncate(3);
    assert!(!render(&page(vec![Block::Table(table)])).contains("data-label=\""));
}

#[test]
fn headings_nest_and_cautions_stand_in_their_place() {
    let inside = vec![Block::Heading("In".into()), Block::Subheading("Deep".into())];
    let html = render(&page(vec![
        Block::Heading("Findings".into()),
        Block::Findings(Vec::new()),
        Block::Subheading("Part".into()),
        Block::Folded(Folded { title: "more".into(), blocks: inside }),
        Block::Cautions(vec!["care".into()]),
        Block::Heading("Record".into()),
    ]));
    assert_eq!(html.matches(">Findings</h2>").count(), 1, "{html}");
    for part in ["<h3>Part</h3>", "<h3>In</h3>", "<h4>Deep</h4>", "care</p></div><h2>Record</h2>"] {
        assert!(html.contains(part), "{part} in {html}");
    }
    assert!(!html.contains("<footer"), "nothing is at the foot");
}

#[test]
fn a_reader_without_eyes_finds_landmarks_headers_and_names() {
    let html = render(&everything());
    for landmark in ["<header>", "<main>", "<footer>", "<h1>A page</h1>"] {
        assert_eq!(html.matches(landmark).count(), 1, "{landmark}");
    }
    let (mut ids, mut names, mut figures) = (BTreeSet::new(), BTreeSet::new(), 0);
    for piece in pieces(&html) {
        let Piece::Open(name, attributes) = piece else { continue };
        let of = |key: &str| {
            let from = attributes.split(&format!("{key}=\"")).nth(1)?;
            Some(from.split('"').next().unwrap_or("").to_owned())
        };
        if name == "th" {
            assert!(of("scope").is_some(), "{attributes}");
        }
        if let Some(id) = of("id") {
            assert!(ids.insert(id.clone()), "{id} twice");
        }
        if of("role").as_deref() == Some("region") {
            assert_eq!(of("tabindex").as_deref(), Some("0"));
            let label = of("aria-label").expect("a name");
            assert!(names.insert(label.clone()), "{label} twice");
        }
        if name == "svg" {
            assert_eq!(of("role").as_deref(), Some("img"));
            let by = of("aria-labelledby").expect("a name");
            assert!(by.split(' ').all(|it| html.contains(&format!("id=\"{it}\""))), "{by}");
            figures += 1;
        }
    }
    // Two tables and two pictures: what may be wider than a screen scrolls.
    assert_eq!((names.len(), figures), (4, 2));
    assert!(names.contains("Table 1: H"), "{names:?}");
}

#[test]
fn markup_in_names_stays_text() {
    let name = "<script>alert('1')</script> \"q\" & <b>";
    let table = Table {
        columns: vec![Column::names(name)],
        rows: vec![vec![Cell::text(name)]],
        caption: name.into(),
    };
    let blocks =
        vec![Block::Heading(name.into()), Block::Table(table), Block::Verdict(name.into())];
    let html = render(&Page { title: name.into(), blocks });
    is_whole(&html);
    assert!(!html.contains("<script") && !html.contains("<b>"), "{html}");
    let texts = pieces(&html).into_iter().filter(|it| match it {
        Piece::Text(text) => unescaped(text) == name,
        _ => false,
    });
    // title, h1, h2, heading of the column, cell, caption, verdict
    assert_eq!(texts.count(), 7);
}

#[test]
fn stretches_from_right_to_left_are_set_apart_and_turn_nothing_around_them() {
    let cases = [
        ("plain 7", "plain 7"),
        ("שלום", "<bdi>שלום</bdi>"),
        ("a שלום עולם 7 b", "a <bdi>שלום עולם</bdi> 7 b"),
        ("مرحبا, x: שלום!", "<bdi>مرحبا</bdi>, x: <bdi>שלום</bdi>!"),
    ];
    for (text, expected) in cases {
        assert_eq!(words(text).into_string(), expected);
    }
}

proptest! {
    /// Whatever was written is read again, whole and in one cell.
    #[test]
    fn any_text_comes_back(text in "[ -~µאبé\n\u{0}-\u{1f}]{1,40}") {
        let shown = Text::from(text.as_str());
        let columns = vec![Column::names("h"), Column::names("i")];
        let rows = vec![vec![Cell::text("first"), Cell::text(text.as_str())]];
        let html = render(&page(vec![Block::Table(Table { columns, rows, caption: Text::default() })]));
        is_whole(&html);
        let from = html.split("<td class=\"name\">").nth(1).unwrap_or("");
        let cell = from.split("</td>").next().unwrap_or("");
        let cell = cell.replace("<bdi>", "").replace("</bdi>", "");
        let long = cell.strip_prefix("<span class=\"long\">").or(cell.strip_prefix("<span class=\"one\">"));
        let cell = long.map_or(cell.as_str(), |it| it.strip_suffix("</span>").unwrap_or(it)).to_owned();
        prop_assert_eq!(unescaped(&cell), shown.as_str());
    }
}
