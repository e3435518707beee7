//! Text to tokens, each with its place in characters.
//!
//! Literals are read by `quantity::literal::scan`, which takes their units along; so a `·` or `/`
//! that is still there stands between operands. Whatever cannot be read ends the list as a fault,
//! and the parser decides whether it gets that far.

use super::expr::Function;
use super::name::{continues_word, fold, starts_word};
use super::parse::Scope;
use crate::fault::{Fault, Origin};
use crate::quantity::Quantity;
use crate::quantity::literal::scan;

/// A token: what it is and which characters it takes.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Token {
    pub(super) kind: Kind,
    pub(super) at: usize,
    pub(super) length: usize,
}

/// The kinds of tokens.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Kind {
    Literal(Quantity),
    Word(String),
    Plus,
    Minus,
    Star,
    Slash,
    Caret,
    Open,
    Close,
    Comma,
    PlusMinus,
    /// What cannot be read; always the last token.
    Broken(Fault),
    /// The end of the text; always the last token.
    End,
}

/// Returns the tokens of `chars`; the last is `End` or `Broken`.
pub(super) fn tokens(chars: &[char], origin: Origin, scope: &Scope) -> Vec<Token> {
    let mut found = Vec::new();
    let mut at = 0;
    loop {
        while chars.get(at).is_some_and(|space| space.is_whitespace()) {
            at += 1;
        }
        let Some(first) = chars.get(at) else {
            found.push(Token { kind: Kind::End, at: chars.len(), length: 0 });
            return found;
        };
        let token = if first.is_ascii_digit() || *first == '.' {
            literal(chars, at, origin, scope)
        } else if starts_word(*first) {
            Ok(word(chars, at))
        } else {
            symbol(chars, at, origin)
        };
        match token {
            Ok(token) => {
                at = token.at + token.length;
                found.push(token);
            }
            Err(fault) => {
                found.push(Token { kind: Kind::Broken(fault), at, length: 1 });
                return found;
            }
        }
    }
}

fn literal(chars: &[char], at: usize, origin: Origin, scope: &Scope) -> Result<Token, Fault> {
    let rest = &chars[at..];
    // A comma never belongs to a literal; the words that follow a number are told from units.
    let end = rest.iter().position(|letter| *letter == ',').unwrap_or(rest.len());
    let is_name = |word: &str| {
        let word = fold(word);
        let reserved =
            matches!(word.as_str(), "pi" | "reading") || Function::named(&word).is_some();
        reserved || (scope.is_name)(&word)
    };
    let found = scan(&rest[..end], scope.units, &is_name)
        .map_err(|it| Fault::new(origin.further(at + it.at), it.what).help(it.help))?;
    let digit_follows = rest.get(end + 1).is_some_and(char::is_ascii_digit);
    if found.length == end && !found.has_unit && digit_follows {
        let fraction = rest[end + 1..].iter().take_while(|letter| letter.is_ascii_digit());
        let fraction: String = fraction.collect();
        let whole: String = rest[..end].iter().collect();
        return Err(Fault::new(
            origin.further(at + end),
            format!("`{whole},{fraction}` has a comma"),
        )
        .rule("numbers have a decimal point, and a space follows a comma between arguments")
        .help(format!("write `{whole}.{fraction}`")));
    }
    // A scan that takes nothing would never end.
    let length = found.length.max(1);
    Ok(Token { kind: Kind::Literal(found.quantity), at, length })
}

fn word(chars: &[char], at: usize) -> Token {
    let letters: String =
        chars[at..].iter().take_while(|letter| continues_word(**letter)).collect();
    let length = letters.chars().count();
    Token { kind: Kind::Word(fold(&letters)), at, length }
}

fn symbol(chars: &[char], at: usize, origin: Origin) -> Result<Token, Fault> {
    let next = |step: usize| chars.get(at + step).copied().unwrap_or(' ');
    let one = |kind| Ok(Token { kind, at, length: 1 });
    match chars[at] {
        '±' => one(Kind::PlusMinus),
        '+' if is_minus(next(1)) => Ok(Token { kind: Kind::PlusMinus, at, length: 2 }),
        '+' if next(1) == '/' && is_minus(next(2)) => {
            Ok(Token { kind: Kind::PlusMinus, at, length: 3 })
        }
        '+' => one(Kind::Plus),
        letter if is_minus(letter) => one(Kind::Minus),
        '*' if next(1) == '*' => {
            let fault = Fault::new(origin.further(at), "`**` is no operator");
            Err(fault.help("write `^` for a power"))
        }
        '*' | '×' | '·' | '⋅' => one(Kind::Star),
        '/' => one(Kind::Slash),
        '^' => one(Kind::Caret),
        '(' => one(Kind::Open),
        ')' => one(Kind::Close),
        ',' => one(Kind::Comma),
        other => Err(refused(other, next(1)).at(origin.further(at))),
    }
}

fn is_minus(letter: char) -> bool {
    matches!(letter, '-' | '\u{2212}')
}

/// What is wrong with a character, and what to type instead.
struct Refusal(String, &'static str);

impl Refusal {
    fn at(self, origin: Origin) -> Fault {
        Fault::new(origin, self.0).help(self.1)
    }
}

fn refused(letter: char, next: char) -> Refusal {
    let shown = |rest: &str| format!("`{letter}` {rest}");
    match letter {
        '=' if next == '=' => {
            Refusal("`==` is no operator".into(), "leave it out: an expression gives one value")
        }
        '=' => Refusal(shown("is no operator"), "leave it out: an expression gives one value"),
        '<' | '>' | '≤' | '≥' => {
            Refusal(shown("is no operator"), "use `min(…)` or `max(…)` to choose between values")
        }
        '%' => Refusal(shown("is a unit and stands after a number"), "write `5 %`"),
        '°' | '′' | '″' | '\'' | '"' => Refusal(
            shown("stands only in a unit after a number"),
            "write `5 °`, `5 arcmin` or `5 arcsec`",
        ),
        '[' | ']' | '{' | '}' => {
            Refusal(shown("has no meaning here"), "use round parentheses: `( )`")
        }
        ';' => Refusal(shown("has no meaning here"), "separate arguments with `,`"),
        '²' => Refusal(shown("stands only in a unit"), "write `^2`"),
        '³' => Refusal(shown("stands only in a unit"), "write `^3`"),
        '√' => Refusal(shown("is no operator"), "write `sqrt(x)`"),
        '÷' | ':' => Refusal(shown("is no operator"), "write `/`"),
        '–' | '—' | '‐' | '‑' => Refusal(shown("is a dash"), "write `-`"),
        '_' => Refusal(shown("cannot start a name"), "start a name with a letter"),
        _ => Refusal(shown("has no meaning in an expression"), ""),
    }
}
