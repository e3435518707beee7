//! The grammar: text to syntax tree.
//!
//! ```text
//! plus-minus = [ expression ] ( "±" | "+-" | "+/-" ) product | expression ;
//! expression = sum ;
//! sum        = product { ( "+" | "-" ) product } ;
//! product    = unary { ( "*" | "/" ) unary } ;
//! unary      = "-" unary | power ;
//! power      = primary [ "^" ( "-" unary | power ) ] ;               right-associative
//! primary    = literal | "pi" | name | function "(" expression { "," expression } ")"
//!            | "(" expression ")" ;
//! literal    = number [ [ " " ] unit ] ;                              no space inside a unit
//! number     = digits [ "." digits ] [ ( "e" | "E" ) [ "+" | "-" ] digits ] ;
//! unit       = term { ( "/" | "·" | "." ) term } ;                    "/" inverts the next term only
//! term       = symbol [ "^" [ "-" ] digits | superscripts ] ;
//! name       = letter { letter | digit | "_" | subscript } ;
//! function   = "sqrt" | "exp" | "ln" | "log10" | "sin" | "cos" | "tan" | "asin" | "acos" | "atan"
//!            | "atan2" | "sinh" | "cosh" | "tanh" | "abs" | "min" | "max" ;
//! ```
//!
//! So a literal holds together strongest (`2 mm^2` is an area, `1/2 mm` is one over two millimetres),
//! then `^`, unary minus (`-2^2` is −4), `* /`, `+ -`. Made one before: `−` (U+2212) and `-`; `×`,
//! `·`, `⋅` and `*`; µ and μ. A text has at most [`TEXT_LIMIT`] characters and
//! [`OPERATOR_LIMIT`] operators, and is nested at most [`DEPTH_LIMIT`] deep. The place of a fault is
//! the first character of the offending token.

use super::expr::{Expr, Function, Node, Operator};
use super::lex::{Kind, Token, tokens};
use crate::fault::{Fault, Origin};
use crate::quantity::Units;

pub use super::name::{fold, name_problem};

/// The largest number of characters of an expression.
pub const TEXT_LIMIT: usize = 4096;
/// The largest depth of parentheses, calls, signs and powers inside each other.
pub const DEPTH_LIMIT: usize = 64;
/// The largest number of binary operators: trees are walked by recursion, one level for each.
pub const OPERATOR_LIMIT: usize = 250;

/// How strongly operators bind, loosest first.
const LOOSEST: u8 = 0;
const SUM: u8 = 1;
const PRODUCT: u8 = 2;
const MINUS: u8 = 3;
const POWER: u8 = 4;

/// What an expression may refer to.
pub struct Scope<'a> {
    /// The units.
    pub units: &'a Units,
    /// Whether a (folded) word is a name of the budget.
    pub is_name: &'a dyn Fn(&str) -> bool,
}

/// A value with an uncertainty as it is written: `±a`, `x ± a`, or `x` alone.
#[derive(Debug, Clone, PartialEq)]
pub struct PlusMinus {
    /// What stands before `±`.
    pub centre: Option<Expr>,
    /// What stands after `±`.
    pub half: Option<Expr>,
}

/// Reads an expression. Names need not exist: that is for the caller to check.
///
/// # Errors
///
/// A fault that points into the text.
pub fn expression(text: &str, origin: Origin, scope: &Scope) -> Result<Expr, Fault> {
    let mut parser = Parser::new(text, origin, scope)?;
    let expr = parser.expr(LOOSEST, 0)?;
    parser.finish()?;
    Ok(expr)
}

/// Reads `±a`, `x ± a` or `x` (`+-` and `+/-` for `±`).
///
/// # Errors
///
/// As [`expression`]; also a sum after `±` without parentheses.
pub fn plus_minus(text: &str, origin: Origin, scope: &Scope) -> Result<PlusMinus, Fault> {
    let mut parser = Parser::new(text, origin, scope)?;
    let centre = match parser.peek().kind {
        Kind::PlusMinus => None,
        _ => Some(parser.expr(LOOSEST, 0)?),
    };
    if parser.peek().kind != Kind::PlusMinus {
        parser.finish()?;
        return Ok(PlusMinus { centre, half: None });
    }
    let sign = parser.take();
    let half = parser.expr(PRODUCT, 0)?;
    if matches!(parser.peek().kind, Kind::Plus | Kind::Minus) {
        return Err(parser.bare_sum(&sign));
    }
    parser.finish()?;
    Ok(PlusMinus { centre, half: Some(half) })
}

struct Parser<'a> {
    chars: Vec<char>,
    origin: Origin,
    tokens: Vec<Token>,
    next: usize,
    operators: usize,
    scope: &'a Scope<'a>,
}

impl<'a> Parser<'a> {
    fn new(text: &str, origin: Origin, scope: &'a Scope<'a>) -> Result<Parser<'a>, Fault> {
        let chars: Vec<char> = text.chars().take(TEXT_LIMIT + 1).collect();
        if chars.len() > TEXT_LIMIT {
            return Err(Fault::new(origin, "the expression is too long")
                .rule(format!("at most {TEXT_LIMIT} characters")));
        }
        let tokens = tokens(&chars, origin, scope);
        if tokens[0].kind == Kind::End {
            return Err(Fault::new(origin, "the expression is empty")
                .help("write a number, a name or a formula"));
        }
        Ok(Parser { chars, origin, tokens, next: 0, operators: 0, scope })
    }

    /// Reads operands and operators that bind at least as strongly as `least`.
    fn expr(&mut self, least: u8, depth: usize) -> Result<Expr, Fault> {
        let mut left = self.operand(depth)?;
        loop {
            let (operator, strength) = match &self.peek().kind {
                Kind::Plus => (Operator::Add, SUM),
                Kind::Minus => (Operator::Subtract, SUM),
                Kind::Star => (Operator::Multiply, PRODUCT),
                Kind::Slash => (Operator::Divide, PRODUCT),
                Kind::Caret => (Operator::Power, POWER),
                Kind::Broken(fault) => return Err(fault.clone()),
                Kind::Literal(_) | Kind::Word(_) | Kind::Open => {
                    return Err(self.missing_operator());
                }
                Kind::Close | Kind::Comma | Kind::PlusMinus | Kind::End => return Ok(left),
            };
            if strength < least {
                return Ok(left);
            }
            let token = self.take();
            self.operators += 1;
            if self.operators > OPERATOR_LIMIT {
                return Err(Fault::new(
                    self.place(&token),
                    "the expression has too many operators",
                )
                .rule(format!("at most {OPERATOR_LIMIT}")));
            }
            let right = match operator {
                Operator::Power => self.expr(POWER, depth + 1)?,
                _ => self.expr(strength + 1, depth)?,
            };
            let node = Node::Binary(operator, Box::new(left), Box::new(right));
            left = Expr { origin: self.place(&token), node };
        }
    }

    fn operand(&mut self, depth: usize) -> Result<Expr, Fault> {
        let token = self.take();
        let origin = self.place(&token);
        if depth > DEPTH_LIMIT {
            return Err(Fault::new(origin, "the expression is nested too deep")
                .rule(format!("at most {DEPTH_LIMIT} deep")));
        }
        match token.kind {
            Kind::Literal(quantity) => Ok(Expr::literal(quantity, origin)),
            Kind::Word(ref word) => self.word(word, &token, depth),
            Kind::Open => {
                let inner = self.expr(LOOSEST, depth + 1)?;
                match self.peek().kind {
                    Kind::Close => self.skip(),
                    Kind::End => return Err(unclosed(origin)),
                    _ => return Err(self.unexpected()),
                }
                Ok(inner)
            }
            Kind::Minus => {
                let inner = self.expr(MINUS, depth + 1)?;
                Ok(Expr { origin, node: Node::Negate(Box::new(inner)) })
            }
            Kind::Plus => Err(Fault::new(origin, "`+` stands before a value")
                .rule("only `-` may stand there")
                .help("leave the `+` out")),
            Kind::Broken(fault) => Err(fault),
            _ => Err(self.missing_operand(&token)),
        }
    }

    fn word(&mut self, word: &str, token: &Token, depth: usize) -> Result<Expr, Fault> {
        let origin = self.place(token);
        let called = self.peek().kind == Kind::Open;
        let is_name = word == "reading" || (self.scope.is_name)(word);
        match Function::named(word) {
            Some(function) if called => self.call(function, origin, depth),
            Some(_) => Err(self.bare_function(token)),
            None if word == "pi" => Ok(Expr { origin, node: Node::Pi }),
            None if word == "log" && !is_name => Err(Fault::new(origin, "`log` is not clear")
                .rule("its base depends on who reads it")
                .help("write `ln` or `log10`")),
            None if called && !is_name => Err(unknown_function(word, origin)),
            None => Ok(Expr::name(word, origin)),
        }
    }

    fn call(&mut self, function: Function, origin: Origin, depth: usize) -> Result<Expr, Fault> {
        let open = self.take();
        let mut arguments = Vec::new();
        if self.peek().kind != Kind::Close {
            arguments.push(self.expr(LOOSEST, depth + 1)?);
            while self.peek().kind == Kind::Comma {
                self.skip();
                arguments.push(self.expr(LOOSEST, depth + 1)?);
            }
        }
        match self.peek().kind {
            Kind::Close => self.skip(),
            Kind::End => return Err(unclosed(self.place(&open))),
            _ => return Err(self.unexpected()),
        }
        let (least, most) = function.arguments();
        if arguments.len() < least || arguments.len() > most {
            return Err(wrong_count(function, arguments.len(), origin));
        }
        Ok(Expr { origin, node: Node::Call(function, arguments) })
    }

    fn finish(&self) -> Result<(), Fault> {
        if self.peek().kind == Kind::End { Ok(()) } else { Err(self.unexpected()) }
    }

    fn peek(&self) -> &Token {
        // The last token is never passed by `skip`.
        &self.tokens[self.next]
    }

    fn take(&mut self) -> Token {
        let token = self.peek().clone();
        self.skip();
        token
    }

    fn skip(&mut self) {
        self.next = (self.next + 1).min(self.tokens.len() - 1);
    }

    fn place(&self, token: &Token) -> Origin {
        self.origin.further(token.at)
    }

    fn typed(&self, token: &Token) -> String {
        self.chars[token.at..token.at + token.length].iter().collect()
    }
}

/// The faults.
impl Parser<'_> {
    /// What is wrong where an operand has ended and neither an operator nor the end follows.
    fn unexpected(&self) -> Fault {
        let token = self.peek();
        let origin = self.place(token);
        match &token.kind {
            Kind::Close => Fault::new(origin, "this `)` closes nothing")
                .help("leave it out, or put the `(` that it closes"),
            Kind::Comma => Fault::new(origin, "`,` stands outside the arguments of a function")
                .help("numbers have a decimal point: write `0.5`"),
            Kind::PlusMinus => self.misplaced_plus_minus(token),
            Kind::Broken(fault) => fault.clone(),
            _ => self.missing_operator(),
        }
    }

    fn misplaced_plus_minus(&self, token: &Token) -> Fault {
        let typed = self.typed(token);
        let fault = Fault::new(self.place(token), format!("`{typed}` cannot stand here"));
        let fault = match typed.as_str() {
            "±" => fault,
            _ => fault.rule(format!("`{typed}` is read as `±`")),
        };
        fault.help("`±` stands first and covers the rest; use `+` or `-` for a sum")
    }

    fn missing_operand(&self, token: &Token) -> Fault {
        let origin = self.place(token);
        let before = self.next.checked_sub(2).filter(|_| token.kind != Kind::End);
        let before = match token.kind {
            Kind::End => self.tokens.len().checked_sub(2),
            _ => before,
        };
        let before = before.map(|index| self.typed(&self.tokens[index]));
        match (&token.kind, before) {
            (Kind::PlusMinus, _) => self.misplaced_plus_minus(token),
            (Kind::End, Some(before)) => {
                Fault::new(origin, format!("the expression ends after `{before}`"))
                    .help(format!("write a value after `{before}`, or leave it out"))
            }
            (Kind::Close, Some(before)) if before == "(" => {
                Fault::new(origin, "there is nothing in these parentheses")
                    .help("write a value in them, or leave them out")
            }
            (_, before) => {
                let typed = self.typed(token);
                let between = match before {
                    Some(before) => format!("between `{before}` and `{typed}`"),
                    None => format!("before `{typed}`"),
                };
                Fault::new(origin, format!("a value is missing {between}"))
                    .help(format!("write a number, a name or a parenthesis {between}"))
            }
        }
    }

    fn missing_operator(&self) -> Fault {
        let token = self.peek();
        let before = &self.tokens[self.next.saturating_sub(1)];
        let (left, right) = (self.typed(before), self.typed(token));
        let typed = match (&before.kind, &token.kind) {
            (Kind::Close, Kind::Open) => "(…) * (…)".into(),
            (Kind::Close, _) => format!("(…) * {right}"),
            (_, Kind::Open) => format!("{left} * (…)"),
            _ => format!("{left} * {right}"),
        };
        Fault::new(
            self.place(token),
            format!("an operator is missing between `{left}` and `{right}`"),
        )
        .help(format!("for a product, write `{typed}`"))
    }

    fn bare_function(&self, token: &Token) -> Fault {
        let name = self.typed(token);
        let argument = match self.peek().kind {
            Kind::Literal(_) | Kind::Word(_) => self.typed(self.peek()),
            _ => "x".into(),
        };
        Fault::new(self.place(token), format!("`{name}` is a function"))
            .rule("its argument stands in parentheses")
            .help(format!("write `{name}({argument})`"))
    }

    /// The fault of a sum that follows `±`, at its first `+` or `-`.
    fn bare_sum(&self, sign: &Token) -> Fault {
        let token = self.peek();
        let after = sign.at + sign.length;
        let head: String = self.chars[..after].iter().collect();
        let tail: String = self.chars[after..].iter().collect();
        let space = if tail.starts_with(' ') { " " } else { "" };
        let (typed, sign) = (self.typed(token), self.typed(sign));
        Fault::new(self.place(token), format!("`{typed}` follows `{sign}` without parentheses"))
            .rule(format!("`{sign}` covers the rest, so a sum after it needs them"))
            .help(format!("write `{}{space}({})`", head.trim_start(), tail.trim()))
    }
}

fn unclosed(origin: Origin) -> Fault {
    Fault::new(origin, "this `(` is not closed").help("put the `)` that closes it")
}

fn wrong_count(function: Function, found: usize, origin: Origin) -> Fault {
    let name = function.name();
    let (rule, form) = match function.arguments() {
        (1, _) => ("one argument", format!("{name}(x)")),
        (_, 2) => ("two arguments", format!("{name}(y, x)")),
        _ => ("two arguments or more", format!("{name}(a, b)")),
    };
    let found = match found {
        0 => "none".to_string(),
        1 => "one".to_string(),
        more => more.to_string(),
    };
    Fault::new(origin, format!("`{name}` is given {found}"))
        .rule(format!("it takes {rule}"))
        .help(format!("write `{form}`"))
}

fn unknown_function(word: &str, origin: Origin) -> Fault {
    let fault = Fault::new(origin, format!("there is no function `{word}`"));
    if matches!(word, "pow" | "power" | "sqr" | "square") {
        return fault.help("write a power as `x^2`");
    }
    let lower = word.to_lowercase();
    let plain = lower.strip_prefix("arc").map_or(lower.clone(), |rest| format!("a{rest}"));
    let near = Function::ALL.iter().map(|(name, _)| (strsim::osa_distance(name, &plain), *name));
    match near.min_by_key(|(distance, _)| *distance) {
        Some((distance, name)) if distance <= 2 && distance < name.len() => {
            fault.help(format!("did you mean `{name}`?"))
        }
        _ => {
            let names: Vec<&str> = Function::ALL.iter().map(|(name, _)| *name).collect();
            fault.help(format!("functions are {}", names.join(", ")))
        }
    }
}

#[cfg(test)]
mod tests;
