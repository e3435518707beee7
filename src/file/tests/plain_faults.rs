//! Faults of single values: nothing, truth values, numbers that are others to other readers, comments.

use super::{assert_faults, shown};
use crate::fault::{Fault, Origin};
use crate::file::budget;

/// The faults of a budget whose line 2 is `line`.
#[track_caller]
fn assert_line(line: &str, expected: &[&str]) {
    assert_faults(&with(line), expected);
}

fn with(line: &str) -> String {
    let title = if line.starts_with("title") { "" } else { "title: T\n" };
    let rest = "measurand: {symbol: E, name: N, unit: µm}\ncontributors: [{name: A, step: 1 µm}]\n";
    format!("surebound: 1\n{line}\n{title}{rest}")
}

#[test]
fn refuses_nothing_where_a_value_is_expected() {
    let cases = [
        (
            "title:",
            "2:7: `title` is empty: a value is expected | write `title: Outside micrometer 0 mm to 25 mm`",
        ),
        (
            "title: \"\"",
            "2:9: `title` is empty: a value is expected | write `title: Outside micrometer 0 mm to 25 mm`",
        ),
        (
            "title: ~",
            "2:8: `title` is `~`, which is nothing: a value is expected | write `title: Outside micrometer 0 mm to 25 mm`",
        ),
        (
            "model: null",
            "2:8: `model` is `null`, which is nothing: a value is expected | write `model: reading - block`",
        ),
        (
            "units: [~]",
            "2:9: an entry of `units` is `~`, which is nothing: a value is expected | write `units: [HRC]`",
        ),
        (
            "document: {number: }",
            "2:19: `number` is empty: a value is expected | write a value, or leave the key out",
        ),
    ];
    for (line, expected) in cases {
        assert_line(line, &[expected]);
    }
    assert_line("title: \"~\"", &[]);
}

#[test]
fn says_that_a_comment_begins() {
    let help = "` #` starts a comment: quote the value if the `#` belongs to it";
    assert_line("title: #5", &[&format!("2:7: `title` is empty: a value is expected | {help}")]);
    let expected = format!(
        "2:8: `secnd` is no word for `order`: it is `first`, `second` or `auto` | write `second`; {help}"
    );
    assert_line("order: secnd # 2", &[&expected]);
}

#[test]
fn adds_the_comment_to_faults_of_later_stages() {
    let reading = budget("a.yaml", with("model: a # b").as_bytes());
    let model = reading.parts.as_ref().unwrap().model.clone().unwrap();
    let unit = reading.parts.as_ref().unwrap().measurand.unit.origin;
    let mut faults = [model.origin.further(1), unit, Origin::NONE].map(|at| Fault::new(at, "x"));
    reading.with_comment_help(&mut faults);
    reading.with_comment_help(&mut faults);
    let help = "` #` starts a comment: quote the value if the `#` belongs to it";
    assert_eq!(faults.map(|fault| fault.help), [help, "", ""]);
}

#[test]
fn refuses_plain_truth_values_as_names_and_numbers() {
    for word in ["no", "yes", "true", "Off", "ON", "False"] {
        let expected = format!(
            "2:9: an entry of `units` is a plain `{word}`: YAML readers differ on whether this is a \
             text | write `\"{word}\"`"
        );
        assert_line(&format!("units: [{word}]"), &[&expected]);
        assert_line(&format!("units: [\"{word}\"]"), &[]);
        assert_line(&format!("title: {word}"), &[]);
        let expected = format!(
            "2:20: `digits` is a plain `{word}`: a number or an expression is expected | write the \
             number, as in `digits: 2`"
        );
        assert_line(&format!("rounding: {{digits: {word}}}"), &[&expected]);
    }
}

/// What YAML 1.1 readers make of these: YAML 1.1 type repository, int and float (1:30 is 90,
/// 190:20:30 is 685230, both given there or by the rule of base 60; 0x1f is 31, 0o17 is 15).
#[test]
fn refuses_numbers_that_are_others_to_other_readers() {
    let zeros = "a number with leading zeros is octal to some YAML readers";
    let colons = "colons make it a number to base 60";
    let base = "numbers are written in decimal";
    let finite = "a finite number is expected";
    let cases = [
        ("012", zeros, "write `12`"),
        ("-007.50", zeros, "write `-7.50`"),
        ("00", zeros, "write `0`"),
        ("1:30", colons, "write `90`"),
        ("-190:20:30.15", colons, "write `-685230.15`"),
        ("0x1f", base, "write `31`"),
        ("0o17", base, "write `15`"),
        ("1_000", "a number has no `_` in it", "write `1000`"),
        (".inf", finite, "write the number, as in `r: 0.8`"),
        ("-.INF", finite, "write the number, as in `r: 0.8`"),
        (".nan", finite, "write the number, as in `r: 0.8`"),
    ];
    for (number, rule, help) in cases {
        let expected = format!("2:34: `r` is `{number}`: {rule} | {help}");
        assert_line(&format!("linked: [{{between: [A, B],    r: {number}}}]"), &[&expected]);
    }
}

#[test]
fn takes_numbers_and_texts_as_they_are() {
    for number in ["0", "0.5", "-1e-3", "2.500", "1:x", "5 mm", "0 µm", "x_1"] {
        assert!(shown(&with(&format!("model: {number}"))).is_empty(), "{number}");
    }
    assert_line("document: {a: 012, b: 1:30, c: 0x1f, d: .inf, e: 1_000, f: no}", &[]);
}
