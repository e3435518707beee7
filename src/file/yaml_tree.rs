//! The parser's events to the tree of nodes; refuses what is YAML and not used here.
//!
//! Without recursion: open lists and maps stand on a stack of at most [`DEEPEST`] frames.

use super::comma::{self, Cell};
use super::raw::{Raw, quoted, ticked};
use super::scalar::Style;
use super::source::{Source, Span};
use super::yaml::{Content, Entry, Node, Scalar};
use crate::fault::{Fault, Origin};
use saphyr_parser::{Event, Marker, Parser, ScalarStyle, Span as Range};
use std::collections::BTreeMap;

/// The deepest nesting of lists and maps that is read.
pub(super) const DEEPEST: usize = 32;

/// At most so many faults of one file are listed.
pub(super) const MOST: usize = 200;

/// A place in the text: characters from 0.
pub(super) type At = usize;

/// The tree as far as it is built.
pub(super) struct Tree<'a> {
    raw: Raw<'a>,
    source: &'a Source,
    spans: Vec<Span>,
    faults: Vec<(At, Fault)>,
    frames: Vec<Frame>,
    root: Option<Node>,
    /// Where the last scalar, or the last list or map in brackets, begins and ends.
    pub last: (At, At),
    /// Blocks closed since the last scalar: where they began.
    pub closed: Vec<At>,
}

/// A list or map that is still open.
struct Frame {
    origin: Origin,
    start: At,
    flow: bool,
    body: Body,
    cells: Vec<Cell>,
}

enum Body {
    Items(Vec<Node>),
    Entries { entries: Vec<Entry>, seen: BTreeMap<String, At>, key: Option<Key> },
}

struct Key {
    text: String,
    origin: Origin,
    span: (At, At),
}

impl<'a> Tree<'a> {
    /// Returns an empty tree over the text.
    pub fn new(raw: Raw<'a>, source: &'a Source) -> Tree<'a> {
        let (spans, faults, frames, closed) = (Vec::new(), Vec::new(), Vec::new(), Vec::new());
        Tree { raw, source, spans, faults, frames, root: None, last: (0, 0), closed }
    }

    /// Reads `text`, as long as the original, up to the first fault of syntax:
    /// returns its place and the parser's words.
    pub fn run(&mut self, text: &str) -> Option<(At, String)> {
        for event in Parser::new_from_str(text) {
            match event {
                Err(error) => return Some((self.index(error.marker()), error.info().to_string())),
                Ok((event, range)) => {
                    if !self.event(event, range) || self.faults.len() > MOST {
                        return None;
                    }
                }
            }
        }
        None
    }

    /// Returns the places, the tree and the faults.
    pub fn done(self) -> (Vec<Span>, Option<Node>, Vec<(At, Fault)>) {
        (self.spans, self.root, self.faults)
    }

    /// Returns where the open lists and maps begin, and whether they are written in brackets.
    pub fn open(&self) -> impl DoubleEndedIterator<Item = (At, bool)> {
        self.frames.iter().map(|frame| (frame.start, frame.flow))
    }

    /// The parser's own index goes astray after a directive with other than ASCII characters.
    fn index(&self, marker: &Marker) -> At {
        self.source.index(marker.line(), marker.col())
    }

    /// Takes one event; false ends the reading.
    fn event(&mut self, event: Event<'_>, range: Range) -> bool {
        let (start, end) = (self.index(&range.start), self.index(&range.end));
        match event {
            Event::DocumentStart(_) if self.root.is_some() => {
                let fault = Fault::new(Origin::NONE, "a second document begins here");
                let help = match self.raw.at(start) {
                    '-' => "delete `---`, or make it two files",
                    _ => "delete `...` and what follows, or make it two files",
                };
                self.fault(start, fault.rule("a file holds one document").help(help));
                return false;
            }
            Event::Alias(_) => {
                self.fault(start, alias(&self.raw.token(start, self.is_flow())));
                let node = self.node(start, end, Style::Plain, empty());
                self.put(node, start, end);
            }
            Event::Scalar(text, style, anchor, tag) => {
                self.properties(start, anchor, tag.is_some());
                self.scalar(&text, style, (start, end));
            }
            Event::SequenceStart(anchor, tag) => {
                self.properties(start, anchor, tag.is_some());
                return self.begin(start, Body::Items(Vec::new()));
            }
            Event::MappingStart(anchor, tag) => {
                self.properties(start, anchor, tag.is_some());
                let (entries, seen) = (Vec::new(), BTreeMap::new());
                return self.begin(start, Body::Entries { entries, seen, key: None });
            }
            Event::SequenceEnd | Event::MappingEnd => self.end(end),
            _ => {}
        }
        true
    }

    fn fault(&mut self, at: At, fault: Fault) {
        self.faults.push((at, fault));
    }

    /// Anchors and tags before a node.
    fn properties(&mut self, start: At, anchor: usize, tag: bool) {
        if anchor > 0 || tag {
            self.fault(start, property(&self.raw.token(start, self.is_flow())));
        }
    }

    fn node(&mut self, start: At, end: At, style: Style, content: Content) -> Node {
        self.spans.push(Span { start, end, style });
        Node { origin: Origin::node(self.spans.len() as u32), content }
    }

    fn scalar(&mut self, text: &str, style: ScalarStyle, range: (At, At)) {
        let (start, end, style) = self.extent(text, style, range);
        self.closed.clear();
        let plain = style == Style::Plain;
        if plain && text.starts_with('>') || style == Style::Folded && self.is_comparison(start) {
            self.fault(start, comparison(&self.raw.piece(start, self.is_flow())));
        }
        let comment_follows = match style {
            Style::Literal | Style::Folded => false,
            _ => self.raw.comment_follows(end),
        };
        let scalar = Scalar { text: text.to_string(), plain, comment_follows };
        let node = self.node(start, end, style, Content::Scalar(scalar));
        self.last = (start, end);
        self.put(node, start, end);
    }

    /// Where a scalar begins and ends in the text, with its quotes or the sign before its block.
    fn extent(&self, text: &str, style: ScalarStyle, range: (At, At)) -> (At, At, Style) {
        let (start, end) = range;
        match style {
            ScalarStyle::Plain if text.is_empty() => {
                let next = self.raw.content(self.last.1);
                let sign = next < end + 1 && matches!(self.raw.at(next), ':' | '-' | '?');
                let at = if sign && !self.expects_key() { next + 1 } else { start };
                (at, at, Style::Plain)
            }
            ScalarStyle::Plain => (start, end, Style::Plain),
            ScalarStyle::SingleQuoted => (start, self.raw.quote_end(start), Style::Single),
            ScalarStyle::DoubleQuoted => (start, self.raw.quote_end(start), Style::Double),
            ScalarStyle::Literal => (self.header(start, '|'), end, Style::Literal),
            ScalarStyle::Folded => (self.header(start, '>'), end, Style::Folded),
        }
    }

    /// Where the sign before a block text stands.
    fn header(&self, start: At, sign: char) -> At {
        let from = self.last.1.min(start);
        (from..start).find(|at| self.raw.at(*at) == sign).unwrap_or(start)
    }

    /// `>5`: to YAML a folded text with an indentation of 5.
    fn is_comparison(&self, header: At) -> bool {
        self.raw.at(header + 1).is_ascii_digit()
    }

    /// Opens a list or map; false where it is too deep.
    fn begin(&mut self, start: At, body: Body) -> bool {
        if self.frames.len() >= DEEPEST {
            self.fault(start, too_deep());
            return false;
        }
        if self.expects_key() {
            let what = "a list or map stands as a key";
            self.fault(start, Fault::new(Origin::NONE, what).rule("a key is a single text"));
        }
        self.closed.clear();
        let start = self.dash(start, &body);
        let origin = self.node(start, start, Style::Other, empty()).origin;
        let flow = matches!(self.raw.at(start), '[' | '{');
        self.last = (start, start + usize::from(flow));
        self.frames.push(Frame { origin, start, flow, body, cells: Vec::new() });
        true
    }

    /// Where the first `-` of a list stands; the parser may say the place behind it.
    fn dash(&self, start: At, body: &Body) -> At {
        let is_list = matches!(body, Body::Items(_));
        if !is_list || matches!(self.raw.at(start), '[' | '-') {
            return start;
        }
        let dash = (self.last.1.min(start)..start).rev().find(|at| self.raw.at(*at) == '-');
        dash.unwrap_or(start)
    }

    fn expects_key(&self) -> bool {
        let body = self.frames.last().map(|frame| &frame.body);
        matches!(body, Some(Body::Entries { key: None, .. }))
    }

    fn end(&mut self, end: At) {
        let Some(frame) = self.frames.pop() else { return };
        let mut end_of_node = self.last.1;
        if frame.flow {
            comma::check(self.raw, &frame.cells, &mut self.faults);
            self.last = (frame.start, end);
            end_of_node = end;
        } else {
            self.closed.push(frame.start);
        }
        let content = match frame.body {
            Body::Items(items) => Content::Sequence(items),
            Body::Entries { entries, .. } => Content::Mapping(entries),
        };
        self.put(Node { origin: frame.origin, content }, frame.start, end_of_node);
    }

    /// Puts a finished node where it belongs.
    fn put(&mut self, node: Node, start: At, end: At) {
        let plain = node.as_scalar().is_some_and(|scalar| scalar.plain);
        let Some(frame) = self.frames.last_mut() else {
            let blank = node.as_scalar().is_some_and(|it| it.plain && it.text.is_empty());
            self.root = (!blank).then_some(node);
            if self.raw.at(start) == '-' && plain && self.root.is_some() {
                self.fault(start, missing_space_after_dash(&self.raw.value(start)));
            }
            return self.misread(start);
        };
        match &mut frame.body {
            Body::Items(items) => {
                items.push(node);
                if frame.flow {
                    frame.cells.push(Cell { start, end, plain, key: false, bare: true });
                }
            }
            Body::Entries { entries, key, .. } => match key.take() {
                None => return self.key(node, start, end),
                Some(Key { text, origin, span }) => {
                    let bare = self.raw.at(self.raw.content(span.1)) != ':';
                    let (start, end) = if bare { span } else { (start, end) };
                    if frame.flow {
                        frame.cells.push(Cell { start, end, plain, key: true, bare });
                    }
                    entries.push(Entry { key: text, key_origin: origin, value: node });
                }
            },
        }
        self.misread(start);
    }

    /// Takes a node as the key of the innermost map.
    fn key(&mut self, node: Node, start: At, end: At) {
        let (text, plain) = match node.content {
            Content::Scalar(scalar) => (scalar.text, scalar.plain),
            _ => return self.set_key(String::new(), node.origin, (start, end)),
        };
        if text.is_empty() {
            self.fault(start, Fault::new(Origin::NONE, "a key is empty").help("write a name"));
        } else if plain && text == "<<" {
            let fault = Fault::new(Origin::NONE, "`<<` merges maps in YAML");
            let fault = fault.rule("merge keys are not read");
            self.fault(start, fault.help("write the keys that are merged themselves"));
        } else if plain && self.raw.at(start) == '-' && !self.is_flow() {
            self.fault(start, missing_space_after_dash(&self.raw.value(start)));
        } else if let Some(first) = self.first_of(&text, start, end) {
            let line = self.source.line_column(first).0;
            let fault = Fault::new(Origin::NONE, format!("the key {} is repeated", ticked(&text)));
            let fault = fault.rule(format!("its first place is line {line}"));
            self.fault(start, fault.help("delete one of the two"));
        }
        self.set_key(text, node.origin, (start, end));
    }

    /// Whether the innermost list or map is in brackets.
    fn is_flow(&self) -> bool {
        self.frames.last().is_some_and(|frame| frame.flow)
    }

    /// Where the key was before; notes it where it was not.
    fn first_of(&mut self, text: &str, start: At, end: At) -> Option<At> {
        let Some(Frame { body: Body::Entries { seen, .. }, flow, .. }) = self.frames.last_mut()
        else {
            return None;
        };
        if let Some(first) = seen.get(text) {
            let bare = *flow && self.raw.at(self.raw.content(end)) != ':';
            return (!bare).then_some(*first);
        }
        seen.insert(text.to_string(), start);
        None
    }

    fn set_key(&mut self, text: String, origin: Origin, span: (At, At)) {
        if let Some(Frame { body: Body::Entries { key, .. }, .. }) = self.frames.last_mut() {
            *key = Some(Key { text, origin, span });
        }
    }

    /// A plain text in a line of its own that is a key without the space after its colon.
    fn misread(&mut self, start: At) {
        let own_line = self.raw.begins_item(start);
        if !own_line || self.is_flow() || self.last.0 != start {
            return;
        }
        let value = self.raw.value(start);
        if let Some(fault) = missing_space(&value) {
            self.fault(start, fault);
        }
    }
}

fn empty() -> Content {
    Content::Scalar(Scalar { text: String::new(), plain: true, comment_follows: false })
}

/// The fault of a nesting that is too deep.
pub(super) fn too_deep() -> Fault {
    let what = "lists and maps are nested too deeply";
    Fault::new(Origin::NONE, what).rule(format!("at most {DEEPEST} levels are read"))
}

/// The fault of `*name`.
pub(super) fn alias(value: &str) -> Fault {
    let fault = Fault::new(Origin::NONE, format!("{} is an alias in YAML", ticked(value)));
    fault.rule("aliases are not read").help(format!(
        "write the value itself in its place, or, where it is a text: `{}`",
        quoted(value)
    ))
}

/// The fault of `&name` and `!tag`.
fn property(value: &str) -> Fault {
    let (begins, rule) = match value.starts_with('&') {
        true => ("begins with an anchor", "anchors are not read"),
        false => ("begins with a tag", "tags are not read"),
    };
    let fault = Fault::new(Origin::NONE, format!("{} {begins} of YAML", ticked(value)));
    let rest = value.split_once(' ').map_or("", |it| it.1.trim());
    let text = format!("`{}`", quoted(value));
    fault.rule(rule).help(match rest {
        "" => format!("leave it out, or, where it is a text: {text}"),
        rest => format!("write {}, or, where it is a text: {text}", ticked(rest)),
    })
}

/// The fault of `> 5 N` and `>= 5 N`.
pub(super) fn comparison(value: &str) -> Fault {
    let limit = value.trim_start_matches(['>', '=', ' ']);
    let limit = if limit.is_empty() { "5 N" } else { limit };
    let fault = Fault::new(Origin::NONE, format!("{} begins with `>`", ticked(value)));
    let fault = fault.rule("to YAML that is a text over several lines");
    fault.help(format!(
        "write `at least {limit}` or `{{lower: {limit}}}`; a text needs quotes: `{}`",
        quoted(value)
    ))
}

/// The fault of `-x`.
pub(super) fn missing_space_after_dash(value: &str) -> Fault {
    let rest = value.trim_start_matches('-');
    let fault = Fault::new(Origin::NONE, format!("{} has no space after `-`", ticked(value)));
    fault.rule("an entry of a list begins with `- `").help(format!("- {rest}"))
}

/// The fault of `key:value`, where `value` looks like that.
pub(super) fn missing_space(value: &str) -> Option<Fault> {
    let (key, rest) = value.split_once(':')?;
    let is_key = |c: char| c.is_lowercase() || c == '_' || c.is_ascii_digit();
    let starts = key.starts_with(|c: char| c.is_lowercase());
    if !starts || !key.chars().all(is_key) || rest.starts_with([' ', '/', '\t']) || rest.is_empty()
    {
        return None;
    }
    let fault = Fault::new(Origin::NONE, format!("{} has no space after `:`", ticked(value)));
    Some(fault.rule("a key ends with `: `").help(format!("{key}: {rest}")))
}
