//! A small spreadsheet: reads a file with `calamine` and works out the formulas that are used in it.

use calamine::{Data, Reader, Xlsx, open_workbook_from_rs};
use std::cell::RefCell;
use std::collections::BTreeMap;
use std::io::Cursor;

/// What a cell comes to.
#[derive(Debug, Clone, PartialEq)]
pub enum Value {
    Number(f64),
    Text(String),
    Truth(bool),
    Empty,
}

/// A workbook that was read: cells with their values, formulas by place.
pub struct Book {
    values: BTreeMap<(String, String), Value>,
    formulas: BTreeMap<(String, String), String>,
    /// What was worked out already.
    known: RefCell<BTreeMap<(String, String), Found<Value>>>,
}

impl Book {
    pub fn read(bytes: &[u8]) -> Book {
        let mut file: Xlsx<_> = open_workbook_from_rs(Cursor::new(bytes)).unwrap();
        let (mut values, mut formulas) = (BTreeMap::new(), BTreeMap::new());
        for sheet in file.sheet_names() {
            let range = file.worksheet_range(&sheet).unwrap();
            let (top, left) = range.start().unwrap();
            for (row, column, data) in range.used_cells() {
                let value = match data {
                    Data::Float(number) => Value::Number(*number),
                    Data::Int(number) => Value::Number(*number as f64),
                    Data::String(text) => Value::Text(text.clone()),
                    Data::DateTime(date) => Value::Number(date.as_f64()),
                    other => panic!("{sheet} {row} {column}: {other:?}"),
                };
                let name = super::cell_name(row + top as usize, column + left as usize);
                values.insert((sheet.clone(), name), value);
            }
            let range = file.worksheet_formula(&sheet).unwrap();
            let Some((top, left)) = range.start() else { continue };
            for (row, column, formula) in range.used_cells().filter(|it| !it.2.is_empty()) {
                let name = super::cell_name(row + top as usize, column + left as usize);
                formulas.insert((sheet.clone(), name), formula.clone());
            }
        }
        Book { values, formulas, known: RefCell::default() }
    }

    pub fn cached(&self, sheet: &str, cell: &str) -> Value {
        let key = (sheet.to_owned(), cell.to_owned());
        self.values.get(&key).cloned().unwrap_or(Value::Empty)
    }

    /// All texts of the file.
    pub fn texts(&self) -> Vec<&str> {
        let texts = self.values.values().filter_map(|it| match it {
            Value::Text(text) => Some(text.as_str()),
            _ => None,
        });
        texts.collect()
    }

    pub fn is_formula(&self, sheet: &str, cell: &str) -> bool {
        self.formulas.contains_key(&(sheet.to_owned(), cell.to_owned()))
    }

    pub fn set(&mut self, sheet: &str, cell: &str, value: Value) {
        let key = (sheet.to_owned(), cell.to_owned());
        self.formulas.remove(&key);
        self.known.borrow_mut().clear();
        self.values.insert(key, value);
    }

    /// Works a cell out, whatever result is stored beside its formula.
    pub fn evaluate(&self, sheet: &str, cell: &str) -> Found<Value> {
        let key = (sheet.to_owned(), cell.to_owned());
        let Some(text) = self.formulas.get(&key) else { return Ok(self.cached(sheet, cell)) };
        if let Some(known) = self.known.borrow().get(&key) {
            return known.clone();
        }
        let chars: Vec<char> = text.trim_start_matches('=').chars().collect();
        let mut reader = Reading { book: self, sheet, chars, at: 0 };
        let value = reader.comparison().and_then(|value| match reader.at == reader.chars.len() {
            true => Ok(value),
            false => Err(format!("`{text}` at {}", reader.at)),
        });
        self.known.borrow_mut().insert(key, value.clone());
        value
    }
}

/// A formula that is read and worked out on the way.
struct Reading<'a> {
    book: &'a Book,
    sheet: &'a str,
    chars: Vec<char>,
    at: usize,
}

type Found<T> = Result<T, String>;

fn number(value: &Value) -> Found<f64> {
    match value {
        Value::Number(number) => Ok(*number),
        Value::Empty => Ok(0.0),
        other => Err(format!("{other:?} is no number")),
    }
}

impl Reading<'_> {
    fn next_is(&mut self, text: &str) -> bool {
        let found =
            self.chars[self.at..].iter().copied().take(text.chars().count()).eq(text.chars());
        self.at += if found { text.chars().count() } else { 0 };
        found
    }

    fn comparison(&mut self) -> Found<Value> {
        let left = self.sum()?;
        for sign in ["<=", ">=", "<>", "=", "<", ">"] {
            if self.next_is(sign) {
                let right = self.sum()?;
                if let (Value::Text(a), Value::Text(b), "=") = (&left, &right, sign) {
                    return Ok(Value::Truth(a == b));
                }
                let (a, b) = (number(&left)?, number(&right)?);
                return Ok(Value::Truth(match sign {
                    "<=" => a <= b,
                    ">=" => a >= b,
                    "<>" => a != b,
                    "=" => a == b,
                    "<" => a < b,
                    _ => a > b,
                }));
            }
        }
        Ok(left)
    }

    fn sum(&mut self) -> Found<Value> {
        let mut left = self.product()?;
        loop {
            let sign = if self.next_is("+") {
                1.0
            } else if self.next_is("-") {
                -1.0
            } else {
                break;
            };
            left = Value::Number(number(&left)? + sign * number(&self.product()?)?);
        }
        Ok(left)
    }

    fn product(&mut self) -> Found<Value> {
        let mut left = self.power()?;
        loop {
            if self.next_is("*") {
                left = Value::Number(number(&left)? * number(&self.power()?)?);
            } else if self.next_is("/") {
                let below = number(&self.power()?)?;
                if below == 0.0 {
                    return Err("division by zero".into());
                }
                left = Value::Number(number(&left)? / below);
            } else {
                return Ok(left);
            }
        }
    }

    fn power(&mut self) -> Found<Value> {
        let mut left = self.primary()?;
        while self.next_is("^") {
            left = Value::Number(libm::pow(number(&left)?, number(&self.primary()?)?));
        }
        Ok(left)
    }

    fn primary(&mut self) -> Found<Value> {
        if self.next_is("(") {
            let value = self.comparison()?;
            return if self.next_is(")") { Ok(value) } else { Err("no `)`".into()) };
        }
        if self.next_is("\"") {
            return Ok(Value::Text(self.until('"')));
        }
        if self.next_is("'") {
            let sheet = self.until('\'');
            assert!(self.next_is("!"));
            let cell = self.word();
            return self.book.evaluate(&sheet, &cell);
        }
        let word = self.word();
        if self.next_is("(") {
            return self.function(word.trim_start_matches("_xlfn."));
        }
        match word.parse::<f64>() {
            Ok(number) => Ok(Value::Number(number)),
            Err(_) if word.is_empty() => Err(format!("nothing at {}", self.at)),
            Err(_) => self.book.evaluate(self.sheet, &word.replace('$', "")),
        }
    }

    fn until(&mut self, end: char) -> String {
        let text: String = self.chars[self.at..].iter().take_while(|it| **it != end).collect();
        self.at += text.chars().count() + 1;
        text
    }

    fn word(&mut self) -> String {
        let part = |it: &&char| it.is_ascii_alphanumeric() || matches!(**it, '.' | '_' | '$');
        let word: String = self.chars[self.at..].iter().take_while(part).collect();
        self.at += word.len();
        word
    }

    /// The cells of a range such as `A3:A7`, where one begins here.
    fn range(&mut self) -> Option<Vec<Value>> {
        let start = self.at;
        let first = self.word();
        if !self.next_is(":") {
            self.at = start;
            return None;
        }
        let last = self.word();
        let split = |it: &str| {
            let letters = it.chars().take_while(char::is_ascii_alphabetic).count();
            (it[..letters].to_owned(), it[letters..].parse::<usize>().unwrap())
        };
        let ((column, from), (_, to)) = (split(&first), split(&last));
        let cells =
            (from..=to).map(|row| self.book.evaluate(self.sheet, &format!("{column}{row}")));
        Some(cells.map(Result::unwrap).collect())
    }

    /// Arguments: a range is a list, anything else a list of one. `IF` works out only what it takes.
    fn function(&mut self, name: &str) -> Found<Value> {
        if name == "IF" {
            return self.choice();
        }
        let mut arguments: Vec<Vec<Value>> = Vec::new();
        loop {
            let argument = match self.range() {
                Some(range) => range,
                None => vec![self.comparison()?],
            };
            arguments.push(argument);
            if self.next_is(")") {
                break;
            }
            assert!(self.next_is(","), "{name} at {}", self.at);
        }
        call(name, &arguments)
    }

    fn choice(&mut self) -> Found<Value> {
        let Value::Truth(yes) = self.comparison()? else { return Err("no condition".into()) };
        assert!(self.next_is(","));
        // What is not taken may divide by zero; it is read all the same.
        let first = self.argument();
        assert!(self.next_is(","));
        let second = self.argument();
        assert!(self.next_is(")"));
        if yes { first } else { second }
    }

    /// Reads to the end of an argument, also where it has no value.
    fn argument(&mut self) -> Found<Value> {
        let start = self.at;
        let mut depth = 0;
        let mut quoted = false;
        while let Some(c) = self.chars.get(self.at) {
            match c {
                '"' => quoted = !quoted,
                _ if quoted => {}
                '(' => depth += 1,
                ')' | ',' if depth == 0 => break,
                ')' => depth -= 1,
                _ => {}
            }
            self.at += 1;
        }
        let chars = self.chars[start..self.at].to_vec();
        let mut inner = Reading { book: self.book, sheet: self.sheet, chars, at: 0 };
        let value = inner.comparison()?;
        assert_eq!(inner.at, inner.chars.len());
        Ok(value)
    }
}

fn call(name: &str, arguments: &[Vec<Value>]) -> Found<Value> {
    if name == "ISNUMBER" {
        return Ok(Value::Truth(matches!(arguments[0][0], Value::Number(_))));
    }
    if name == "SUMIF" {
        let pairs = arguments[0].iter().zip(&arguments[2]).filter(|it| *it.0 == arguments[1][0]);
        let numbers: Found<Vec<f64>> = pairs.map(|it| number(it.1)).collect();
        return Ok(Value::Number(numbers?.iter().sum()));
    }
    let numbers: Found<Vec<f64>> = arguments.iter().flatten().map(number).collect();
    let it = numbers?;
    let tens = |places: f64| libm::pow(10.0, places);
    let rounded = |up: f64| {
        // As a spreadsheet: decimal, from fifteen digits.
        let scaled = (it[0].abs() * tens(it[1]) * (1.0 + 1e-15) + up).floor() / tens(it[1]);
        scaled.copysign(it[0])
    };
    Ok(Value::Number(match name {
        "ABS" => it[0].abs(),
        "SQRT" if it[0] < 0.0 => return Err("root of a number below zero".into()),
        "SQRT" => it[0].sqrt(),
        "INT" => it[0].floor(),
        "LOG10" => libm::log10(it[0]),
        "MAX" => it.iter().copied().fold(f64::NEG_INFINITY, f64::max),
        "SUM" => it.iter().sum(),
        "ROUND" => rounded(0.5),
        "ROUNDUP" => rounded(1.0 - 1e-9),
        "NORM.S.INV" => normal(it[0]),
        "BETA.INV" => beta(it[0], it[1], it[2]),
        // Whole degrees of freedom only, as spreadsheets do.
        "T.INV.2T" => {
            let dof = it[1].floor();
            let y = beta(1.0 - it[0], 0.5, dof / 2.0);
            (dof * y / (1.0 - y)).sqrt()
        }
        other => return Err(format!("no function {other}")),
    }))
}

fn normal(p: f64) -> f64 {
    use statrs::distribution::{ContinuousCDF, Normal};
    Normal::standard().inverse_cdf(p)
}

/// The quantile of a beta distribution, by halving.
fn beta(p: f64, a: f64, b: f64) -> f64 {
    let (mut low, mut high) = (0.0, 1.0);
    for _ in 0..200 {
        let middle = 0.5 * (low + high);
        if statrs::function::beta::beta_reg(a, b, middle) < p {
            low = middle
        } else {
            high = middle
        }
    }
    0.5 * (low + high)
}
