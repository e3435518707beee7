//! What is written is read back by a parser of CommonMark with tables: the same texts, and nothing
//! but the markup that was meant.

use super::*;
use crate::page::{Column, Folded, Tile};
use proptest::prelude::*;
use pulldown_cmark::{Event, Options, Parser, Tag, TagEnd};

fn page(blocks: Vec<Block>) -> Page {
    Page { title: Text::default(), blocks }
}

fn parser(text: &str) -> Parser<'_> {
    Parser::new_ext(
        text,
        Options::ENABLE_TABLES | Options::ENABLE_STRIKETHROUGH | Options::ENABLE_MATH,
    )
}

/// The texts of all cells, headings first; any other markup inside a cell ends the test.
fn cells(text: &str) -> Vec<String> {
    let mut cells: Vec<String> = Vec::new();
    for event in parser(text) {
        match event {
            Event::Start(Tag::TableCell) => cells.push(String::new()),
            Event::Text(text) => {
                if let Some(last) = cells.last_mut() {
                    last.push_str(&text);
                }
            }
            Event::Start(Tag::Table(_) | Tag::TableHead | Tag::TableRow) => {}
            Event::End(
                TagEnd::Table | TagEnd::TableHead | TagEnd::TableRow | TagEnd::TableCell,
            ) => {}
            other => panic!("{other:?} in\n{text}"),
        }
    }
    cells
}

fn one_row(texts: &[&str]) -> Table {
    let columns = texts.iter().map(|_| Column::names("h")).collect();
    let rows = vec![texts.iter().map(|it| Cell::text(*it)).collect()];
    Table { columns, rows, caption: Text::default() }
}

/// The text of a page of one paragraph; any markup but the paragraph ends the test.
fn only_text(text: &str) -> String {
    let mut found = String::new();
    for event in parser(text) {
        match event {
            Event::Text(text) => found.push_str(&text),
            Event::Start(Tag::Paragraph) | Event::End(TagEnd::Paragraph) => {}
            other => panic!("{other:?} in\n{text}"),
        }
    }
    found
}

const HOSTILE: [&str; 16] = [
    "<script>alert(1)</script>",
    "a | b \\| c \\\\| d\\",
    "`code` ``more` ~~~ ```",
    "**bold** _under_ *x* __y__",
    "[link](http://x.invalid) ![image](y) [z]: http://q",
    "&amp; &lt; &#124; &nope;",
    "1. one",
    "12) twelve",
    "# heading",
    "- list",
    "+ list",
    "> quote",
    "=====",
    "---",
    "$x^2$ ~~gone~~",
    "mail@example.invalid www.example.invalid https://example.invalid <http://x>",
];

#[test]
fn hostile_texts_stay_text_in_cells_and_paragraphs() {
    let rows = render(&page(vec![Block::Table(one_row(&HOSTILE))]));
    let found = cells(&rows);
    assert_eq!(found[HOSTILE.len()..], HOSTILE.map(String::from));
    for text in HOSTILE {
        assert_eq!(only_text(&render(&page(vec![Block::plain(text)]))), text);
    }
}

/// What begins a block by itself, with line feeds and spaces around it, which fold to spaces: a list was once
/// made of a line feed and `0.`.
#[test]
fn what_begins_a_block_stays_text_after_spaces_and_line_feeds() {
    for mark in ["0.", "7)", "-", "+", "#", "=", ">", "*", "- a", "1. a", "# a", "a #", "##"] {
        for around in ["", "\n", " ", "    ", "\n\n"] {
            let text = format!("{around}{mark}{around}");
            let paragraph =
                |spans: Vec<Span>| only_text(&render(&page(vec![Block::Paragraph(spans)])));
            let plain = || Span::plain(text.as_str());
            assert_eq!(paragraph(vec![plain()]), mark, "{text:?}");
            // A piece of nothing in front of it changes nothing.
            assert_eq!(paragraph(vec![Span::strong(""), plain()]), mark, "{text:?}");
            assert_eq!(
                only_text(&render(&page(vec![Block::Cautions(vec![text.as_str().into()])]))),
                mark
            );
            let found = render(&page(vec![Block::Heading(text.as_str().into())]));
            assert_eq!(heading_text(&found), mark, "{found}");
        }
    }
}

/// The text of a page of one heading; any other markup ends the test.
fn heading_text(text: &str) -> String {
    let mut found = String::new();
    for event in parser(text) {
        match event {
            Event::Text(text) => found.push_str(&text),
            Event::Start(Tag::Heading { .. }) | Event::End(TagEnd::Heading(_)) => {}
            other => panic!("{other:?} in\n{text}"),
        }
    }
    found
}

proptest! {
    /// Any text comes back from a cell, and from a paragraph, as it was but for spaces at its ends.
    #[test]
    fn any_text_comes_back(text in "[ -~µ\u{2212}é\n]{0,40}") {
        let shown = Text::from(text.as_str());
        let expected = shown.as_str().trim();
        let table = render(&page(vec![Block::Table(one_row(&[text.as_str(), "next"]))]));
        prop_assert_eq!(&cells(&table)[2..], [expected, "next"]);
        let paragraph = render(&page(vec![Block::plain(text.as_str())]));
        prop_assert_eq!(only_text(&paragraph), expected);
    }
}

/// By hand.
#[test]
fn each_block_has_its_form() {
    let columns = vec![Column::names("point"), Column::number("u")];
    let share = Cell::Share { text: "59 %".into(), length: 0.59 };
    let table =
        Table { columns, rows: vec![vec![share, Cell::text("0.7")]], caption: "end".into() };
    let tile = |heading: &str| Tile {
        heading: heading.into(),
        columns: vec![Column::number("mm")],
        groups: vec![vec![vec![Cell::text("1")]], vec![vec![Cell::text("2")]]],
    };
    let tiles = Tiles { tiles: vec![tile("a"), tile("b")], caption: "risk".into() };
    let note = Note {
        severity: "note".into(),
        message: "said".into(),
        help: "do".into(),
        place: "b.yaml:1:2".into(),
    };
    let blocks = vec![
        Block::Verdict("pass".into()),
        Block::Title("T".into()),
        Block::Heading("H".into()),
        Block::Paragraph(vec![Span::strong("so"), Span::plain("it is")]),
        Block::Pairs(vec![("k".into(), "v".into()), ("l".into(), "w".into())]),
        Block::Table(table),
        Block::Tiles(tiles),
        Block::Folded(Folded { title: "more".into(), blocks: vec![Block::plain("1. inside")] }),
        Block::Findings(vec![note]),
        Block::Cautions(vec!["care".into()]),
    ];
    let expected = "**PASS**\n\n## T\n\n## H\n\n**so** it is\n\n- **k**: v\n- **l**: w\n\n\
                    | point | u |\n| --- | ---: |\n| 59 % | 0.7 |\n\nend\n\n\
                    ### a\n\n| mm |\n| ---: |\n| 1 |\n| 2 |\n\n### b\n\n| mm |\n| ---: |\n| 1 |\n| 2 |\n\nrisk\n\n\
                    ### more\n\n1\\. inside\n\n\
                    - **note**: said (b.yaml:1:2)\\\n  help: do\n\ncare\n";
    assert_eq!(render(&page(blocks)), expected);
}

#[test]
fn a_page_begins_with_its_title_and_says_it_once() {
    let title = || Text::from("M-118 *");
    let blocks = vec![Block::Verdict("pass".into()), Block::Title(title()), Block::plain("x")];
    let page = Page { title: title(), blocks };
    assert_eq!(render(&page), "# M-118 \\*\n\n**PASS**\n\nx\n");
}
