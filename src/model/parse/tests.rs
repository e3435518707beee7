//! Tests of the grammar: trees, faults with their places, values with `±`.

use super::super::sample::{NAMES, read, shown, tree};
use super::*;
use proptest::prelude::*;

fn split(text: &str) -> Result<(String, String), Fault> {
    let scope = Scope { units: &Units::default(), is_name: &|word| NAMES.contains(&word) };
    let found = plus_minus(text, Origin::node(1), &scope)?;
    let part = |expr: Option<Expr>| expr.map_or("none".into(), |expr| tree(&expr));
    Ok((part(found.centre), part(found.half)))
}

/// Precedence as the grammar states it.
#[test]
fn reads_trees_by_precedence() {
    let cases = [
        ("x", "x"),
        ("reading - block", "(reading-block)"),
        ("x - y - z", "((x-y)-z)"),
        ("x / y / z", "((x/y)/z)"),
        ("x + y * z", "(x+(y*z))"),
        ("(x + y) * z", "((x+y)*z)"),
        ("-2^2", "(-(2^2))"),
        ("2^-1", "(2^(-1))"),
        ("2^-1 * x", "((2^(-1))*x)"),
        ("2^-x^2", "(2^(-(x^2)))"),
        ("x^y^z", "(x^(y^z))"),
        ("-x * y", "((-x)*y)"),
        ("x * -y", "(x*(-y))"),
        ("x - -y", "(x-(-y))"),
        ("--x", "(-(-x))"),
        ("x^(1/2)", "(x^(1/2))"),
        ("2 mm^2", "2[mm^2]"),
        ("(2 mm)^2", "(2[mm]^2)"),
        ("2*x", "(2*x)"),
        ("1/x", "(1/x)"),
        ("5 mm / x", "(5[mm]/x)"),
        ("0.05 µm + 0.8 µm/m * L", "(0.05[µm]+(0.8[µm/m]*L))"),
        ("sqrt(x^2 + y^2)", "sqrt(((x^2)+(y^2)))"),
        ("atan2(y, x)", "atan2(y,x)"),
        ("max(x, y, z)", "max(x,y,z)"),
        ("min(1, 2)", "min(1,2)"),
        ("2 * pi * x", "((2*π)*x)"),
        ("α₁ * L", "(α₁*L)"),
        ("unknown + 1", "(unknown+1)"),
        (" x\u{a0}+\ty\n", "(x+y)"),
    ];
    for (text, expected) in cases {
        assert_eq!(tree(&read(text).unwrap()), expected, "{text}");
    }
}

#[test]
fn makes_signs_that_look_alike_one() {
    for (text, plain) in
        [("x − y", "x - y"), ("x × y", "x * y"), ("x · y", "x * y"), ("x ⋅ y", "x * y")]
    {
        assert_eq!(tree(&read(text).unwrap()), tree(&read(plain).unwrap()), "{text}");
    }
    assert_eq!(tree(&read("\u{b5}r + 1").unwrap()), "(\u{3bc}r+1)");
    assert_eq!(tree(&read("e\u{301} + 1").unwrap()), "(é+1)");
}

#[test]
fn places_each_node_at_its_own_token() {
    let expr = read("x + sqrt(y)").unwrap();
    assert_eq!(expr.origin, Origin::node(1).further(2));
    let Node::Binary(_, left, right) = &expr.node else { panic!("no sum") };
    assert_eq!((left.origin.offset(), right.origin.offset()), (0, 4));
    let mut names = Vec::new();
    expr.for_each_name(&mut |name, origin| names.push((name.to_string(), origin.offset())));
    assert_eq!(names, [("x".to_string(), 0), ("y".to_string(), 9)]);
}

#[test]
fn writes_an_expression_back_with_few_parentheses() {
    for text in [
        "x - (y - z)",
        "x - y - z",
        "x / (y * z)",
        "-x^2",
        "(-x)^2",
        "x^-1",
        "(x^y)^z",
        "x * -y",
        "-(x + y)",
        "2 mm * pi",
        "atan2(y, x + 1)",
    ] {
        let expr = read(text).unwrap();
        assert_eq!(tree(&read(&expr.to_string()).unwrap()), tree(&expr), "{text}");
        assert_eq!(expr.to_string(), if text == "(x^y)^z" { "(x^y)^z" } else { text });
    }
}

/// Offset of the offending token in characters, message, help.
#[test]
fn faults_point_at_their_token_and_say_what_to_type() {
    let cases: [(&str, u32, &str, &str); 36] = [
        ("", 0, "the expression is empty", "write a number, a name or a formula"),
        ("  ", 0, "the expression is empty", "write a number, a name or a formula"),
        (
            "reading - * 2",
            10,
            "a value is missing between `-` and `*`",
            "write a number, a name or a parenthesis between `-` and `*`",
        ),
        (
            "* 2",
            0,
            "a value is missing before `*`",
            "write a number, a name or a parenthesis before `*`",
        ),
        (
            "reading -",
            9,
            "the expression ends after `-`",
            "write a value after `-`, or leave it out",
        ),
        (
            "x + ()",
            5,
            "there is nothing in these parentheses",
            "write a value in them, or leave them out",
        ),
        (
            "α₁ α₁",
            3,
            "an operator is missing between `α₁` and `α₁`",
            "for a product, write `α₁ * α₁`",
        ),
        ("2 x", 2, "`2 x` has no operator between number and name", "2 * x"),
        ("a b", 2, "an operator is missing between `a` and `b`", "for a product, write `a * b`"),
        ("2 pi", 2, "`2 pi` has no operator between number and name", "2 * pi"),
        (
            "x (y)",
            2,
            "an operator is missing between `x` and `(`",
            "for a product, write `x * (…)`",
        ),
        (
            "(x)(y)",
            3,
            "an operator is missing between `)` and `(`",
            "for a product, write `(…) * (…)`",
        ),
        (
            "(x) y",
            4,
            "an operator is missing between `)` and `y`",
            "for a product, write `(…) * y`",
        ),
        ("(x + y", 0, "this `(` is not closed", "put the `)` that closes it"),
        ("1 + sqrt(x", 8, "this `(` is not closed", "put the `)` that closes it"),
        ("x + y)", 5, "this `)` closes nothing", "leave it out, or put the `(` that it closes"),
        ("+x", 0, "`+` stands before a value: only `-` may stand there", "leave the `+` out"),
        ("x * +y", 4, "`+` stands before a value: only `-` may stand there", "leave the `+` out"),
        (
            "log(x)",
            0,
            "`log` is not clear: its base depends on who reads it",
            "write `ln` or `log10`",
        ),
        ("x ** 2", 2, "`**` is no operator", "write `^` for a power"),
        ("x = 2", 2, "`=` is no operator", "leave it out: an expression gives one value"),
        ("x == 2", 2, "`==` is no operator", "leave it out: an expression gives one value"),
        ("x % y", 2, "`%` is a unit and stands after a number", "write `5 %`"),
        ("[x]", 0, "`[` has no meaning here", "use round parentheses: `( )`"),
        ("max(x; y)", 5, "`;` has no meaning here", "separate arguments with `,`"),
        (
            "x, y",
            1,
            "`,` stands outside the arguments of a function",
            "numbers have a decimal point: write `0.5`",
        ),
        (
            "(x, y)",
            2,
            "`,` stands outside the arguments of a function",
            "numbers have a decimal point: write `0.5`",
        ),
        (
            "max(0,5, x)",
            5,
            "`0,5` has a comma: numbers have a decimal point, and a space follows a comma between arguments",
            "write `0.5`",
        ),
        ("sqrt(x, y)", 0, "`sqrt` is given 2: it takes one argument", "write `sqrt(x)`"),
        ("1 + sin()", 4, "`sin` is given none: it takes one argument", "write `sin(x)`"),
        ("atan2(x)", 0, "`atan2` is given one: it takes two arguments", "write `atan2(y, x)`"),
        ("squrt(x)", 0, "there is no function `squrt`", "did you mean `sqrt`?"),
        ("arctan(x)", 0, "there is no function `arctan`", "did you mean `atan`?"),
        ("ln x", 0, "`ln` is a function: its argument stands in parentheses", "write `ln(x)`"),
        (
            "2 * ±x",
            4,
            "`±` cannot stand here",
            "`±` stands first and covers the rest; use `+` or `-` for a sum",
        ),
        (
            "x+-y",
            1,
            "`+-` cannot stand here: `+-` is read as `±`",
            "`±` stands first and covers the rest; use `+` or `-` for a sum",
        ),
    ];
    for (text, at, message, help) in cases {
        let fault = read(text).unwrap_err();
        assert_eq!(shown(&fault), (at, message.into(), help.into()), "{text}");
        assert_eq!(fault.origin.id(), 1);
    }
}

#[test]
fn faults_of_literals_point_into_the_literal() {
    for (text, at) in [("x + 1_000", 5), ("x * 0,5", 5), ("x + 5 %%", 7)] {
        assert_eq!(read(text).unwrap_err().origin.offset(), at, "{text}");
    }
    // A place further into a node stays relative to it.
    let scope = Scope { units: &Units::default(), is_name: &|_| false };
    let fault = expression("x + ]", Origin::node(7).further(3), &scope).unwrap_err();
    assert_eq!((fault.origin.id(), fault.origin.offset()), (7, 7));
}

#[test]
fn refuses_what_is_too_long_or_nested_too_deep() {
    let deep = |levels: usize| format!("{}x{}", "(".repeat(levels), ")".repeat(levels));
    assert!(read(&deep(DEPTH_LIMIT)).is_ok());
    let fault = read(&deep(DEPTH_LIMIT + 1)).unwrap_err();
    assert_eq!(fault.message(), "the expression is nested too deep: at most 64 deep");
    assert_eq!(fault.origin.offset(), 65);
    for deep in ["-".repeat(66) + "x", "x^".repeat(66) + "x", "sin(".repeat(66) + "x"] {
        assert_eq!(read(&deep).unwrap_err().what, "the expression is nested too deep");
    }
    let many = "x+".repeat(OPERATOR_LIMIT);
    assert!(read(&format!("{many}x")).is_ok());
    let fault = read(&format!("({many}x)*x")).unwrap_err();
    assert_eq!(fault.message(), "the expression has too many operators: at most 250");
    assert_eq!(fault.origin.offset(), 503);
    let long = "x".repeat(TEXT_LIMIT);
    assert!(read(&long).is_ok());
    let fault = read(&format!("{long}x")).unwrap_err();
    assert_eq!(fault.message(), "the expression is too long: at most 4096 characters");
}

#[test]
fn reads_values_with_plus_minus() {
    let cases = [
        ("±0.5 µm", "none", "0.5[µm]"),
        ("+-0.5 µm", "none", "0.5[µm]"),
        ("+/- 0.5 µm", "none", "0.5[µm]"),
        ("x ± 0.2 K", "x", "0.2[K]"),
        ("x + y ± 2 * z", "(x+y)", "(2*z)"),
        ("20 mm+-1 µm", "20[mm]", "1[µm]"),
        ("±(0.05 µm + 0.8 µm/m * L)", "none", "(0.05[µm]+(0.8[µm/m]*L))"),
        ("±(x + y) * 2", "none", "((x+y)*2)"),
        ("± -x", "none", "(-x)"),
        ("11.5 µm/m/K", "11.5[µm/m/K]", "none"),
        ("x - y", "(x-y)", "none"),
    ];
    for (text, centre, half) in cases {
        assert_eq!(split(text).unwrap(), (centre.into(), half.into()), "{text}");
    }
}

#[test]
fn refuses_plus_minus_out_of_place() {
    let rule = "covers the rest, so a sum after it needs them";
    let cases = [
        (
            "±0.05 µm + 0.8 µm/m * L",
            9,
            format!("`+` follows `±` without parentheses: `±` {rule}"),
            "write `±(0.05 µm + 0.8 µm/m * L)`",
        ),
        (
            "x +/- a - b",
            8,
            format!("`-` follows `+/-` without parentheses: `+/-` {rule}"),
            "write `x +/- (a - b)`",
        ),
        (
            "±",
            1,
            "the expression ends after `±`".into(),
            "write a value after `±`, or leave it out",
        ),
        (
            "x ± y ± z",
            6,
            "`±` cannot stand here".into(),
            "`±` stands first and covers the rest; use `+` or `-` for a sum",
        ),
        (
            "(±x)",
            1,
            "`±` cannot stand here".into(),
            "`±` stands first and covers the rest; use `+` or `-` for a sum",
        ),
        (
            "sqrt(x ± y)",
            7,
            "`±` cannot stand here".into(),
            "`±` stands first and covers the rest; use `+` or `-` for a sum",
        ),
    ];
    for (text, at, message, help) in cases {
        assert_eq!(shown(&split(text).unwrap_err()), (at, message, help.to_string()), "{text}");
    }
}

#[test]
fn tells_plain_numbers_from_other_expressions() {
    let text = |text: &str| read(text).unwrap().as_decimal().map(|it| it.text().to_string());
    assert_eq!(text("2.500"), Some("2.500".into()));
    assert_eq!(text("-2.50"), Some("-2.50".into()));
    assert_eq!(text("(3)"), Some("3".into()));
    for other in ["2 mm", "5 %", "x", "1 + 1", "--2", "pi"] {
        assert_eq!(text(other), None, "{other}");
    }
}

proptest! {
    /// Whatever is typed, there is an answer and its place lies in the text (or at its end).
    #[test]
    fn never_fails_without_a_place(text in "[-+*/^(),.0-9a-z ±µ°²%=\\[\\]]{0,40}") {
        let length = text.chars().count() as u32;
        if let Err(fault) = read(&text) {
            prop_assert!(fault.origin.offset() <= length, "{text}: {fault:?}");
            prop_assert!(!fault.what.is_empty());
        }
        if let Err(fault) = split(&text) {
            prop_assert!(fault.origin.offset() <= length, "{text}: {fault:?}");
        }
    }
}
