//! Small questions about the characters of a text: lines, blanks, quotes, brackets.
//!
//! Indices are characters from 0; none of these fails or panics for an index behind the end.

/// At most so many characters of a value are shown or quoted.
const LONGEST: usize = 1000;

/// The characters of a text.
#[derive(Debug, Clone, Copy)]
pub(super) struct Raw<'a>(pub &'a [char]);

impl Raw<'_> {
    /// Returns the character at `at`, a line break behind the end.
    pub fn at(self, at: usize) -> char {
        self.0.get(at).copied().unwrap_or('\n')
    }

    /// Returns the text of a range.
    pub fn text(self, start: usize, end: usize) -> String {
        let end = end.min(self.0.len());
        self.0[start.min(end)..end].iter().collect()
    }

    /// Returns where the line that holds `at` begins.
    pub fn line_start(self, at: usize) -> usize {
        let at = at.min(self.0.len());
        self.0[..at].iter().rposition(|c| *c == '\n').map_or(0, |index| index + 1)
    }

    /// Returns the column from 1.
    pub fn column(self, at: usize) -> usize {
        at.min(self.0.len()) - self.line_start(at) + 1
    }

    /// Returns the first character from `at` on that is neither space nor tab.
    pub fn skip_blanks(self, at: usize) -> usize {
        let at = at.min(self.0.len());
        at + self.0[at..].iter().take_while(|c| matches!(c, ' ' | '\t')).count()
    }

    /// Returns the first character from `at` on that is neither white space nor in a comment.
    pub fn content(self, mut at: usize) -> usize {
        while at < self.0.len() {
            match self.at(at) {
                ' ' | '\t' | '\r' | '\n' => at += 1,
                '#' if at == 0 || self.at(at - 1).is_whitespace() => at = self.line_end(at),
                _ => break,
            }
        }
        at
    }

    /// Returns where the line that holds `at` ends: at its line break.
    pub fn line_end(self, at: usize) -> usize {
        let at = at.min(self.0.len());
        let end = at + self.0[at..].iter().take_while(|c| **c != '\n').count();
        if end > at && self.at(end - 1) == '\r' { end - 1 } else { end }
    }

    /// Returns where the text from `at` ends in its line, without a comment and blanks at the end;
    /// at most `LONGEST` characters further.
    pub fn value_end(self, at: usize) -> usize {
        let at = at.min(self.0.len());
        let near = Raw(&self.0[..self.0.len().min(at + LONGEST)]);
        let line_end = near.line_end(at);
        let comment = |i: &usize| self.at(*i) == '#' && matches!(self.at(i - 1), ' ' | '\t');
        let mut end = (at + 1..line_end).find(comment).unwrap_or(line_end);
        while end > at && matches!(self.at(end - 1), ' ' | '\t' | '\r') {
            end -= 1;
        }
        end
    }

    /// Returns the text from `at` to the end of the value in this line.
    pub fn value(self, at: usize) -> String {
        self.text(at, self.value_end(at))
    }

    /// Returns the text from `at` to the end of the value in this line; within brackets (`flow`)
    /// to the next comma or closing bracket at most.
    pub fn piece(self, at: usize, flow: bool) -> String {
        let end = self.value_end(at);
        let stop = (at..end).find(|at| flow && matches!(self.at(*at), ',' | ']' | '}'));
        self.text(at, stop.unwrap_or(end)).trim_end().to_string()
    }

    /// Returns the same as [`Raw::piece`], or only the key where `: ` follows.
    pub fn token(self, at: usize, flow: bool) -> String {
        let value = self.piece(at, flow);
        let key = value.find(": ").or_else(|| value.ends_with(':').then(|| value.len() - 1));
        key.map_or(value.clone(), |end| value[..end].trim_end().to_string())
    }

    /// Whether only blanks stand before `at` in its line.
    pub fn begins_line(self, at: usize) -> bool {
        self.skip_blanks(self.line_start(at)) >= at
    }

    /// Whether only blanks and the `- ` of lists stand before `at` in its line.
    pub fn begins_item(self, at: usize) -> bool {
        let at = at.min(self.0.len());
        let before = self.0[..at].iter().rev().take_while(|c| **c != '\n');
        before.into_iter().all(|c| matches!(c, ' ' | '-'))
    }

    /// Whether ` #` or an end of line with a comment follows directly after `at`.
    pub fn comment_follows(self, at: usize) -> bool {
        let next = self.skip_blanks(at);
        next > at && self.at(next) == '#'
    }

    /// Returns one after the closing quote of the quoted text that begins at `at`.
    pub fn quote_end(self, at: usize) -> usize {
        let quote = self.at(at);
        let mut i = at + 1;
        while i < self.0.len() {
            match self.at(i) {
                '\\' if quote == '"' => i += 1,
                c if c == quote && quote == '\'' && self.at(i + 1) == '\'' => i += 1,
                c if c == quote => return i + 1,
                _ => {}
            }
            i += 1;
        }
        self.0.len()
    }

    /// Returns how many more `(` than `)` stand in a range.
    pub fn parentheses(self, start: usize, end: usize) -> i64 {
        let end = end.min(self.0.len());
        let weigh = |c: &char| i64::from(*c == '(') - i64::from(*c == ')');
        self.0[start.min(end)..end].iter().map(weigh).sum()
    }
}

/// Returns `text` in quotes, as it can be typed.
pub(super) fn quoted(text: &str) -> String {
    if text.contains(['"', '\\']) {
        format!("'{}'", text.replace('\'', "''"))
    } else {
        format!("\"{text}\"")
    }
}

/// Returns `text` in backquotes for a message, the first line of it, at most 60 characters.
pub(super) fn ticked(text: &str) -> String {
    let line = text.lines().next().unwrap_or("");
    let cut = line.chars().count() > 60 || line.len() < text.trim_end().len();
    let short: String = line.chars().take(60).collect();
    format!("`{}{}`", short.trim_end(), if cut { " …" } else { "" })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn answers_at_and_behind_the_end() {
        let chars: Vec<char> = "ab: c # d\r\n  'x''y' z".chars().collect();
        let raw = Raw(&chars);
        assert_eq!(raw.value(4), "c");
        assert_eq!((raw.line_end(0), raw.line_start(13), raw.column(13)), (9, 11, 3));
        assert_eq!((raw.content(5), raw.quote_end(13)), (13, 19));
        assert!(raw.comment_follows(5) && raw.begins_line(13) && !raw.begins_line(20));
        for at in [21, 22, 99] {
            assert_eq!((raw.at(at), raw.line_end(at), raw.content(at).max(99)), ('\n', 21, 99));
            assert_eq!((raw.value(at).as_str(), raw.quote_end(at)), ("", 21));
        }
    }

    #[test]
    fn quotes_so_that_it_can_be_typed() {
        assert_eq!(quoted("a, b"), "\"a, b\"");
        assert_eq!(quoted("it's 3\""), "'it''s 3\"'");
        assert_eq!(ticked("a\nb"), "`a …`");
    }
}
