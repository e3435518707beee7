//! Faults of syntax in plain words: what the parser stopped at, and what to type instead.
//!
//! The parser's own words only choose the case; what is said comes from the text at the place.

use super::raw::{Raw, quoted, ticked};
use super::yaml_tree::{self, At, Tree};
use crate::fault::{Fault, Origin};

/// Replaces a character that stops the parser.
const STAND_IN: char = '\u{fffd}';

/// A fault of syntax.
#[derive(Debug)]
pub(super) struct Explained {
    /// The place.
    pub at: At,
    /// What is wrong; without a place.
    pub fault: Fault,
    /// The character that can be replaced to read on, and by what.
    pub mend: Option<(At, char)>,
}

/// Returns what the parser's words `info` at `at` mean in this text, the tree being as far as it was read.
pub(super) fn explain(raw: Raw<'_>, (at, info): (At, String), tree: &Tree<'_>) -> Explained {
    let says = |words: &str| info.contains(words);
    let case = Case { raw, at, tree };
    if says("recursion limit") {
        return stop(case.too_deep(), yaml_tree::too_deep());
    }
    let tab = ["tab", "':' must be followed", "valid YAML whitespace"];
    if let Some(found) = tab.iter().find(|words| says(words)).and_then(|_| case.tab()) {
        return found;
    }
    let quote = ["indentation in quoted", "quoted scalar, found unexpected", "document indicator"];
    if quote.iter().any(|words| says(words)) {
        return case.open_quote();
    }
    if says("block scalar, did not find") && matches!(raw.at(at), '>' | '|') {
        return case.block_sign();
    }
    let found = match () {
        () if raw.at(at) == '%' => Some(case.reserved()),
        () if says("unexpected character") || says("unknown anchor") => Some(case.reserved()),
        () if says("anchor or alias") || says("cannot start with '-'") => Some(case.reserved()),
        () if says("comment intercepting") => Some(case.comment_inside()),
        () if says("escape") || says("hexadecimal") => Some(case.escape()),
        () if says("trailing content after") => Some(case.after_quote()),
        () if says("simple key expect") => case.no_colon(),
        () if says("mapping values are not allowed") => Some(case.second_colon()),
        () if says("misplaced bracket") => Some(case.stray_bracket()),
        () if says("did not find expected node content") => case.empty_entry(),
        () if says("not allowed in this context") || says("only valid inside a block") => {
            case.list_in_line()
        }
        () => None,
    };
    found.or_else(|| case.in_brackets()).or_else(|| case.in_block()).unwrap_or_else(|| {
        let fault = fault("the text cannot be read as YAML from here", &info);
        stop(at, fault.help("quote the value, or check the lines before"))
    })
}

fn fault(what: impl Into<String>, rule: &str) -> Fault {
    Fault::new(Origin::NONE, what).rule(rule)
}

fn stop(at: At, fault: Fault) -> Explained {
    Explained { at, fault, mend: None }
}

fn go_on(at: At, fault: Fault, mend: (At, char)) -> Explained {
    Explained { at, fault, mend: Some(mend) }
}

/// The text and the place where the parser stopped.
struct Case<'a> {
    raw: Raw<'a>,
    at: At,
    tree: &'a Tree<'a>,
}

impl Case<'_> {
    /// Where the innermost open bracket stands.
    fn open_bracket(&self) -> Option<At> {
        self.tree.open().rfind(|(_, flow)| *flow).map(|(at, _)| at)
    }

    fn in_flow(&self) -> bool {
        self.open_bracket().is_some()
    }

    /// Where brackets read ahead of the tree are one too deep.
    fn too_deep(&self) -> At {
        let left = yaml_tree::DEEPEST.saturating_sub(self.tree.open().count());
        let from = self.tree.last.1.min(self.at);
        let bracket = |at: &At| matches!(self.raw.at(*at), '[' | '{');
        (from..self.at).filter(bracket).nth(left).unwrap_or(self.at)
    }

    /// A comment between the lines of a text.
    fn comment_inside(&self) -> Explained {
        let said = fault("a comment stands between two lines of a text", "` #` begins a comment");
        stop(self.at, said.help("quote all of the text, or move the comment above it"))
    }

    /// A tab in the indentation at or after the place, or in the line itself.
    fn tab(&self) -> Option<Explained> {
        let (raw, mut line) = (self.raw, self.raw.line_start(self.at));
        let first = line;
        while line < raw.0.len() {
            let indent = line..raw.skip_blanks(line);
            if let Some(tab) = indent.clone().find(|at| raw.at(*at) == '\t') {
                let fault = fault("a tab stands in the indentation", "YAML indents with spaces");
                return Some(stop(tab, fault.help("replace each tab by two spaces")));
            }
            let end = raw.line_end(line);
            if line > first && indent.end < end && end > self.at {
                break;
            }
            line =
                raw.0[end..].iter().position(|c| *c == '\n').map_or(raw.0.len(), |n| end + n + 1);
        }
        let tab = (first..self.at + 1).rev().find(|at| raw.at(*at) == '\t')?;
        let fault = fault("a tab stands before the value", "YAML separates with spaces");
        Some(go_on(tab, fault.help("replace it by a space"), (tab, ' ')))
    }

    /// A quote that is never closed, or runs into the next key.
    fn open_quote(&self) -> Explained {
        let is_quote = |at: &At| matches!(self.raw.at(*at), '"' | '\'');
        let from = self.tree.last.1.min(self.at);
        let at = if is_quote(&self.at) { Some(self.at) } else { (from..self.at).find(is_quote) };
        let at = at.unwrap_or(self.at);
        let quote = self.raw.at(at);
        let text = self.raw.value(at);
        let fault = Fault::new(Origin::NONE, format!("the quote {} is not closed", ticked(&text)));
        stop(at, fault.help(format!("{text}{quote}")))
    }

    /// `> 5 N`, `| x`.
    fn block_sign(&self) -> Explained {
        let value = self.raw.value(self.at);
        let said = match self.raw.at(self.at) {
            '>' => yaml_tree::comparison(&value),
            _ => {
                let what = format!("{} begins with `|`", ticked(&value));
                fault(what, "to YAML that is a text over several lines").help(quoted(&value))
            }
        };
        go_on(self.at, said, (self.at, STAND_IN))
    }

    /// A plain text that begins with a character that YAML keeps for itself.
    fn reserved(&self) -> Explained {
        let mend = (self.at, STAND_IN);
        let first = self.raw.at(self.at);
        if first == '*' && !self.raw.at(self.at + 1).is_whitespace() {
            return go_on(
                self.at,
                yaml_tree::alias(&self.raw.token(self.at, self.in_flow())),
                mend,
            );
        }
        let value = self.raw.token(self.at, self.in_flow());
        let shown = if first == '`' { value.replace('`', "'") } else { value.clone() };
        let what = match first {
            '`' => "a text begins with a backquote".to_string(),
            _ => format!("{} begins with `{first}`", ticked(&shown)),
        };
        let said = fault(what, "YAML keeps this character for itself; the text needs quotes");
        go_on(self.at, said.help(quoted(&value)), mend)
    }

    /// A backslash in double quotes.
    fn escape(&self) -> Explained {
        let end = self.raw.quote_end(self.at);
        let known = |c: char| "0abtnvfre \"/\\N_LPxuU\t\n".contains(c);
        let mut at = self.at;
        let fits = |at: At| self.raw.at(at) != '\\' || known(self.raw.at(at + 1));
        while at + 1 < end && fits(at) {
            at += if self.raw.at(at) == '\\' { 2 } else { 1 };
        }
        let at = if at + 1 < end { at } else { self.at };
        let text = self.raw.text(self.at + 1, end.saturating_sub(1));
        let said = fault(
            format!("{} holds a backslash that is no escape", ticked(&self.raw.text(self.at, end))),
            "in double quotes a backslash is written twice",
        );
        stop(at, said.help(format!("write `'{}'`, in single quotes", text.replace('\'', "''"))))
    }

    /// `"±1" mm`.
    fn after_quote(&self) -> Explained {
        let start = (self.raw.line_start(self.at)..self.at)
            .filter(|at| matches!(self.raw.at(*at), '"' | '\''))
            .find(|at| {
                matches!(self.raw.at(at.saturating_sub(1)), ' ' | '[' | '{' | ',') || *at == 0
            })
            .unwrap_or(self.tree.last.1);
        let whole = self.raw.piece(self.raw.skip_blanks(start), self.in_flow());
        let quote = self.raw.at(self.raw.skip_blanks(start));
        let inner = match whole.strip_prefix(quote).and_then(|text| text.strip_suffix(quote)) {
            Some(inner) => inner.to_string(),
            None => whole.replace(quote, ""),
        };
        let after = self.raw.piece(self.raw.skip_blanks(self.at), self.in_flow());
        let what = format!("{} stands after the closing quote", ticked(&after));
        let said = fault(what, "the quotes must hold all of the text");
        stop(self.at, said.help(quoted(&inner)))
    }

    /// A line between keys or entries without `: ` or `- `.
    fn no_colon(&self) -> Option<Explained> {
        let raw = self.raw;
        let mut at = raw.content(self.tree.last.1);
        while matches!(raw.at(at), '-' | '?' | ':') && raw.at(at + 1).is_whitespace() {
            at = raw.content(at + 1);
        }
        if at >= self.at || !raw.begins_item(at) {
            return None;
        }
        let value = raw.value(at);
        if raw.at(at) == '-' {
            // A space in the place of the next character would make another key of it.
            return Some(stop(at, yaml_tree::missing_space_after_dash(&value)));
        }
        if let Some(said) = yaml_tree::missing_space(&value) {
            let colon = (at..self.at).find(|at| raw.at(*at) == ':')?;
            return Some(go_on(at, said, (colon + 1, ' ')));
        }
        let said =
            fault(format!("{} is no entry", ticked(&value)), "each key needs a colon and a space");
        let key = value.split([':', ' ']).next().unwrap_or(&value);
        Some(stop(
            at,
            said.help(format!("{key}: …, or indent the line if it continues the one above")),
        ))
    }

    /// `title: Micrometer: digital`, or a key under a value.
    fn second_colon(&self) -> Explained {
        let (start, end) = self.tree.last;
        let mend = (self.at, STAND_IN);
        let item = self.raw.skip_blanks(self.raw.line_start(self.at));
        if self.raw.at(item) == '-' && matches!(self.raw.at(item + 1), '{' | '[' | '"' | '\'') {
            return stop(item, yaml_tree::missing_space_after_dash(&self.raw.value(item)));
        }
        if (start..self.at).any(|at| self.raw.at(at) == '\n') && end == self.at {
            let key = self.raw.skip_blanks(self.raw.line_start(self.at));
            let what = format!("{} is indented below a value", ticked(&self.raw.value(key)));
            let said = fault(what, "a key has either a value in its line or keys below it");
            return go_on(key, said.help("begin it in the column of the key above"), mend);
        }
        let value = self.raw.piece(start, self.in_flow());
        let rule = "a colon with a space makes a key";
        let said = fault(format!("{} holds a second colon", ticked(&value)), rule);
        go_on(self.at, said.help(quoted(&value)), mend)
    }

    fn stray_bracket(&self) -> Explained {
        let bracket = self.raw.at(self.at);
        if let Some(open) = self.open_bracket() {
            return self.wrong_bracket(open);
        }
        let value = self.raw.value(self.at);
        let what = format!("`{bracket}` closes nothing");
        stop(self.at, fault(what, "a text with brackets needs quotes").help(quoted(&value)))
    }

    fn wrong_bracket(&self, open: At) -> Explained {
        let (found, open) = (self.raw.at(self.at), self.raw.at(open));
        let close = if open == '[' { ']' } else { '}' };
        let what = format!("`{found}` does not close `{open}`");
        stop(self.at, Fault::new(Origin::NONE, what).help(format!("{close}")))
    }

    /// `[a, , b]`, and a text that begins with a comma.
    fn empty_entry(&self) -> Option<Explained> {
        let value = self.raw.value(self.at);
        if self.raw.at(self.at) != ',' {
            return None;
        }
        if self.in_flow() {
            let said = fault("nothing stands before this comma", "an entry cannot be empty");
            return Some(stop(self.at, said.help("delete one comma")));
        }
        let said =
            fault(format!("{} begins with a comma", ticked(&value)), "such a text needs quotes");
        Some(go_on(self.at, said.help(quoted(&value)), (self.at, STAND_IN)))
    }

    /// `key: - x`, `key: ? x`.
    fn list_in_line(&self) -> Option<Explained> {
        let value = self.raw.value(self.at);
        let said = match self.raw.at(self.at) {
            '-' => {
                let item = value.trim_start_matches(['-', ' ']);
                let what = format!("{} stands in the line of its key", ticked(&value));
                let help =
                    format!("write `[{item}]`, or, where it is a text: `{}`", quoted(&value));
                fault(what, "a list with `- ` begins in a line of its own").help(help)
            }
            '?' => {
                let what = format!("{} begins with `? `", ticked(&value));
                fault(what, "to YAML that begins a key; a text needs quotes").help(quoted(&value))
            }
            _ => return None,
        };
        Some(go_on(self.at, said, (self.at, STAND_IN)))
    }

    /// Within `[…]` or `{…}`: not closed, closed by the other one, or something between two entries.
    fn in_brackets(&self) -> Option<Explained> {
        let open = self.open_bracket().or_else(|| self.unread_bracket())?;
        let (start, end) = self.tree.last;
        let breaks = |from: At, to: At| (from..to).any(|at| self.raw.at(at) == '\n');
        let found = self.raw.at(self.at);
        if self.at < self.raw.0.len() && matches!(found, ']' | '}') {
            return Some(self.wrong_bracket(open));
        }
        if found == ':' && !breaks(start, self.at) {
            return Some(self.second_colon());
        }
        if breaks(end.min(self.at), self.at + 1) || breaks(start, self.at) {
            let bracket = self.raw.at(open);
            let close = if bracket == '[' { ']' } else { '}' };
            let fault = Fault::new(Origin::NONE, format!("`{bracket}` is not closed"));
            return Some(stop(open, fault.help(format!("{}{close}", self.raw.value(open)))));
        }
        let value = self.raw.value(self.at);
        let what = format!("{} stands between two entries", ticked(&value));
        Some(stop(self.at, fault(what, "entries are separated by `, `")))
    }

    /// A bracket opened after the last thing that was read.
    fn unread_bracket(&self) -> Option<At> {
        let from = self.tree.last.1.min(self.at);
        let next = self.raw.content(from);
        let next = if self.raw.at(next) == ':' { self.raw.content(next + 1) } else { next };
        (next < self.at && matches!(self.raw.at(next), '[' | '{')).then_some(next)
    }

    /// In a block: an indentation that fits nothing, or text behind a finished value.
    fn in_block(&self) -> Option<Explained> {
        let at = self.raw.skip_blanks(self.at);
        if at >= self.raw.0.len() || self.raw.at(at) == '\n' {
            return None;
        }
        let value = ticked(&self.raw.value(at));
        if !self.raw.begins_line(at) {
            let said = fault(format!("{value} stands after a value"), "a value ends with its line");
            return Some(stop(
                at,
                said.help("put it in a line of its own, or quote all of the value"),
            ));
        }
        let mut columns: Vec<At> = self.tree.closed.iter().map(|at| self.raw.column(*at)).collect();
        let open = self.tree.open().filter(|(_, flow)| !flow);
        columns.extend(open.map(|(at, _)| self.raw.column(at)));
        columns.sort_unstable();
        columns.dedup();
        let here = self.raw.column(at);
        if columns.contains(&here) {
            let said = fault(
                format!("{value} does not belong to the list or keys above"),
                "entries `- ` and keys cannot be mixed at one level",
            );
            return Some(stop(at, said.help("begin all lines of a list with `- `, or none")));
        }
        let columns: Vec<String> = columns.iter().map(|column| column.to_string()).collect();
        let said = fault(
            format!("{value} is indented to column {here}"),
            "keys of one map and entries of one list begin in the same column",
        );
        Some(stop(at, said.help(format!("begin it in column {}", columns.join(" or ")))))
    }
}
