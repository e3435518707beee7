//! Whether a single value may stand where it stands: words of a set, and plain texts that YAML
//! readers take for something else (`no`, `~`, `012`, `1:30`, `0x1f`, `.inf`, `1_000`).
//!
//! Values are read as their text; what these texts mean is not looked at. Sources for what readers
//! make of them: YAML 1.1 type repository (bool, int, float, null) and YAML 1.2.2, 10.3.

use super::check::{Named, listed};
use super::keys::{Form, Key, nearest};
use super::yaml::Scalar;
use crate::fault::{Fault, Origin};

/// What is said where a comment may have eaten a value.
const COMMENT: &str = "` #` starts a comment: quote the value if the `#` belongs to it";

/// Checks `scalar` against the single forms among `forms`.
pub(super) fn check(
    scalar: &Scalar,
    origin: Origin,
    named: Named,
    forms: &[Form],
) -> Result<(), Fault> {
    if is_nothing(scalar) {
        return Err(nothing(scalar, origin, named));
    }
    let text = scalar.text.as_str();
    let numeric = forms.iter().any(Form::is_numeric);
    let words = words(forms);
    if words.contains(&text) {
        return Ok(());
    }
    let is_word = !words.is_empty();
    let expression = forms.iter().any(|form| matches!(form, Form::Expression));
    if is_word && !expression && !(numeric && begins_as_number(text)) {
        return Err(unknown_word(text, origin, named.key));
    }
    if !scalar.plain || forms.iter().any(|form| matches!(form, Form::Text)) {
        return Ok(());
    }
    if is_truth(text) {
        return Err(truth(text, origin, named, numeric));
    }
    if numeric { number(text, origin, named) } else { Ok(()) }
}

/// Whether nothing is written: an empty value, or a plain `~` or `null`.
pub(super) fn is_nothing(scalar: &Scalar) -> bool {
    let null = matches!(scalar.text.as_str(), "~" | "null" | "Null" | "NULL");
    scalar.text.trim().is_empty() || (scalar.plain && null)
}

/// Whether a text begins as a number does: a digit, a point or a sign.
pub(super) fn begins_as_number(text: &str) -> bool {
    let signs = ['+', '-', '\u{2212}'];
    text.trim_start_matches(signs).starts_with(|first: char| first.is_ascii_digit() || first == '.')
}

/// Adds the help about ` #` to a fault in a value that a comment follows.
pub(super) fn add_comment_help(fault: &mut Fault) {
    if fault.help.contains(COMMENT) {
        return;
    }
    if !fault.help.is_empty() {
        fault.help.push_str("; ");
    }
    fault.help.push_str(COMMENT);
}

fn words(forms: &[Form]) -> Vec<&'static str> {
    let words = forms.iter().filter_map(|form| match form {
        Form::Word(words) => Some(words.iter().copied()),
        _ => None,
    });
    words.flatten().collect()
}

fn nothing(scalar: &Scalar, origin: Origin, named: Named) -> Fault {
    let text = scalar.text.trim();
    let what = match text {
        "" => format!("{} is empty", named.name),
        _ => format!("{} is `{text}`, which is nothing", named.name),
    };
    let help = match (text, scalar.comment_follows) {
        ("", true) => COMMENT.to_string(),
        _ => example(named),
    };
    Fault::new(origin, what).rule("a value is expected").help(help)
}

/// Returns what to write instead of a wrong value: the key's example, unless the key may have any
/// name, where the example is about another one.
pub(super) fn example(named: Named) -> String {
    let own = named.name == format!("`{}`", named.key.name);
    match own || named.name.starts_with("an entry of ") {
        true => format!("write `{}`", named.key.example),
        false => "write a value, or leave the key out".to_string(),
    }
}

fn unknown_word(text: &str, origin: Origin, key: &Key) -> Fault {
    let words = key.words();
    let known = || words.iter().copied();
    let numbers = if key.forms.iter().any(Form::is_numeric) { ", or a number" } else { "" };
    let help = match (truth_of(text, known()), nearest(text, known())) {
        (Some(word), _) | (None, Some(word)) => format!("write `{word}`"),
        // What a check has shown is not for a program to guess.
        (None, None) if key.name == "ok" => "write what the check has shown".to_string(),
        (None, None) => format!("write `{}`", key.example),
    };
    Fault::new(origin, format!("`{text}` is no word for `{}`", key.name))
        .rule(format!("it is {}{numbers}", listed(known(), "or")))
        .help(help)
}

/// Whether other YAML readers take the plain text for true or false.
fn is_truth(text: &str) -> bool {
    let words = ["yes", "no", "true", "false", "on", "off"];
    words.iter().any(|word| text.eq_ignore_ascii_case(word))
}

/// Returns `true` or `false` where they are known words and `text` is another way to say them.
fn truth_of<'a>(text: &str, mut known: impl Iterator<Item = &'a str>) -> Option<&'a str> {
    let lower = text.to_ascii_lowercase();
    let meant = match lower.as_str() {
        "yes" | "on" | "y" | "true" => "true",
        "no" | "off" | "n" | "false" => "false",
        _ => return None,
    };
    known.find(|word| *word == meant)
}

fn truth(text: &str, origin: Origin, named: Named, numeric: bool) -> Fault {
    let fault = Fault::new(origin, format!("{} is a plain `{text}`", named.name));
    if numeric {
        let fault = fault.rule("a number or an expression is expected");
        fault.help(format!("write the number, as in `{}`", named.key.example))
    } else {
        let fault = fault.rule("YAML readers differ on whether this is a text");
        fault.help(format!("write `\"{text}\"`"))
    }
}

/// Refuses what is no number here, or another number to other readers.
fn number(text: &str, origin: Origin, named: Named) -> Result<(), Fault> {
    let digits = text.trim_start_matches(['+', '-']);
    let sign = if text.starts_with('-') { "-" } else { "" };
    let fault = |rule: &str| Fault::new(origin, format!("{} is `{text}`", named.name)).rule(rule);
    let right = |number: String| format!("write `{sign}{number}`");
    if matches!(digits.to_ascii_lowercase().as_str(), ".inf" | ".nan") {
        let help = format!("write the number, as in `{}`", named.key.example);
        return Err(fault("a finite number is expected").help(help));
    }
    if let Some(value) = in_another_base(digits) {
        return Err(fault("numbers are written in decimal").help(right(value.to_string())));
    }
    if let Some(plain) = without_leading_zeros(digits) {
        let rule = "a number with leading zeros is octal to some YAML readers";
        return Err(fault(rule).help(right(plain)));
    }
    if let Some(value) = in_base_60(digits) {
        return Err(fault("colons make it a number to base 60").help(right(value)));
    }
    if digits.contains('_') && is_number(&digits.replace('_', "")) {
        let joined = digits.replace('_', "");
        let joined = without_leading_zeros(&joined).unwrap_or(joined);
        return Err(fault("a number has no `_` in it").help(right(joined)));
    }
    Ok(())
}

fn is_number(text: &str) -> bool {
    text.starts_with(|c: char| c.is_ascii_digit())
        && text.chars().all(|c| c.is_ascii_digit() || matches!(c, '.' | 'e' | 'E' | '+' | '-'))
}

/// Returns the value of `0x1f`, `0o17`, `0b11`.
fn in_another_base(digits: &str) -> Option<u64> {
    let bases = [("0x", 16), ("0X", 16), ("0o", 8), ("0b", 2)];
    let (rest, base) =
        bases.iter().find_map(|(prefix, base)| Some((digits.strip_prefix(prefix)?, *base)))?;
    u64::from_str_radix(&rest.replace('_', ""), base).ok()
}

/// Returns `012` as `12` and `00` as `0`.
fn without_leading_zeros(digits: &str) -> Option<String> {
    let whole = digits.split('.').next().unwrap_or("");
    let zeros = whole.len() > 1 && whole.starts_with('0');
    if !zeros || !digits.chars().all(|c| c.is_ascii_digit() || c == '.') {
        return None;
    }
    let kept = digits.trim_start_matches('0');
    let zero = if kept.is_empty() || kept.starts_with('.') { "0" } else { "" };
    Some(format!("{zero}{kept}"))
}

/// Returns `1:30` as `90`: what readers of YAML 1.1 take it for.
fn in_base_60(digits: &str) -> Option<String> {
    let (whole, fraction) = digits.split_once('.').map_or((digits, ""), |(w, f)| (w, f));
    if !whole.contains(':') || !fraction.chars().all(|c| c.is_ascii_digit()) {
        return None;
    }
    let mut value = 0_u64;
    for part in whole.split(':') {
        let part: u64 = part.parse().ok()?;
        value = value.checked_mul(60)?.checked_add(part)?;
    }
    let point = if fraction.is_empty() { "" } else { "." };
    Some(format!("{value}{point}{fraction}"))
}
