//! The first pass over a YAML file: bytes in, a tree of texts with places out, or all faults of the text.
//!
//! Nothing is interpreted: `2.500`, `no` and `~` stay the texts that they are. What YAML has beyond
//! scalars, lists and maps (anchors, aliases, tags, merge keys, several documents, maps or lists as
//! keys) is refused, as are repeated keys. The parser stops at the first fault of syntax; where such a
//! fault is small, the character is replaced and the text is read again, to find the faults behind it.
//! Grammar: YAML 1.2.2; the events come from `saphyr-parser`.

use super::encoding;
use super::raw::Raw;
use super::source::{Source, Span};
use super::yaml_help::{self, Explained};
use super::yaml_tree::{At, MOST, Tree};
use crate::fault::{Fault, Origin};

/// How often a text with faults of syntax is read again.
const AGAIN: usize = 20;

/// A value with its place.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Node {
    /// Where the value begins.
    pub origin: Origin,
    /// The value.
    pub content: Content,
}

/// What a value is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Content {
    /// A text.
    Scalar(Scalar),
    /// A list.
    Sequence(Vec<Node>),
    /// A map, in the order of the file; no key occurs twice.
    Mapping(Vec<Entry>),
}

/// A text as it stands in the file, without quotes, escapes and comments.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Scalar {
    /// The text; empty where nothing is written.
    pub text: String,
    /// Whether it is written without quotes and not as a block.
    pub plain: bool,
    /// Whether a comment (` #…`) follows in the same line: the text may be meant to go on.
    pub comment_follows: bool,
}

/// A key with its value.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Entry {
    /// The key.
    pub key: String,
    /// Where the key begins.
    pub key_origin: Origin,
    /// The value; an empty plain scalar where none is written.
    pub value: Node,
}

impl Node {
    /// Returns the scalar, if it is one.
    pub fn as_scalar(&self) -> Option<&Scalar> {
        match &self.content {
            Content::Scalar(scalar) => Some(scalar),
            _ => None,
        }
    }

    /// Returns the items, if it is a list.
    pub fn items(&self) -> Option<&[Node]> {
        match &self.content {
            Content::Sequence(items) => Some(items),
            _ => None,
        }
    }

    /// Returns the entries, if it is a map.
    pub fn entries(&self) -> Option<&[Entry]> {
        match &self.content {
            Content::Mapping(entries) => Some(entries),
            _ => None,
        }
    }

    /// Returns the entry with `key`, if it is a map that has one.
    pub fn get(&self, key: &str) -> Option<&Entry> {
        self.entries()?.iter().find(|entry| entry.key == key)
    }
}

/// Reads the bytes of the file `name`. The source is there in either case, to show faults in it.
///
/// # Errors
///
/// All faults of the text that were found, in the order of their places; at least one, and at most
/// 200 with a last one that says so.
pub fn read(name: &str, bytes: &[u8]) -> (Source, Result<Node, Vec<Fault>>) {
    let (mut source, faults) = encoding::decode(name, bytes);
    if !faults.is_empty() {
        return (source, Err(faults));
    }
    let chars: Vec<char> = source.text().chars().collect();
    let (spans, root, mut faults) = parse(&source, Raw(&chars));
    source.keep(spans);
    if faults.is_empty() {
        if let Some(root) = root {
            return (source, Ok(root));
        }
        faults.push(nothing(&chars));
    }
    faults.sort_by_key(|(at, _)| *at);
    faults.dedup();
    if faults.len() > MOST {
        faults.truncate(MOST);
        let at = faults[MOST - 1].0;
        let fault = Fault::new(Origin::NONE, "more faults follow after this one");
        faults.push((at, fault.rule(format!("at most {MOST} are listed"))));
    }
    let placed = |(at, fault): (usize, Fault)| Fault { origin: source.mark(at), ..fault };
    let faults = faults.into_iter().map(placed).collect();
    (source, Err(faults))
}

/// Reads the text, again and again with the small faults of syntax out of the way.
fn parse(source: &Source, raw: Raw<'_>) -> (Vec<Span>, Option<Node>, Vec<(At, Fault)>) {
    let mut mended: Vec<char> = raw.0.to_vec();
    let mut text = source.text().to_string();
    let mut syntax: Vec<(At, Fault)> = Vec::new();
    let mut rounds = 0;
    loop {
        rounds += 1;
        let mut tree = Tree::new(raw, source);
        let explained = tree.run(&text).map(|error| yaml_help::explain(raw, error, &tree));
        let (spans, root, mut faults) = tree.done();
        let Some(Explained { at, fault, mend }) = explained else {
            faults.extend(syntax);
            return (spans, root, faults);
        };
        let known = syntax.iter().any(|(earlier, _)| *earlier == at);
        let line = source.line_column(at).0;
        let same = |it: &(At, Fault)| it.1 == fault && source.line_column(it.0).0 == line;
        if !known && !syntax.iter().any(same) {
            syntax.push((at, fault));
        }
        let mend = mend.filter(|(at, with)| mended.get(*at).is_some_and(|old| old != with));
        let (Some((at, with)), false) = (mend, known || rounds >= AGAIN) else {
            faults.extend(syntax);
            return (spans, None, faults);
        };
        mended[at] = with;
        text = mended.iter().collect();
    }
}

fn nothing(chars: &[char]) -> (At, Fault) {
    let empty = chars.iter().all(|c| c.is_whitespace());
    let what = if empty { "the file is empty" } else { "the file holds no keys, only comments" };
    let fault = Fault::new(Origin::NONE, what).help("begin with `surebound: 1`");
    (0, fault)
}
