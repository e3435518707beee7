//! Tests of dimensions and temperature scales.

use super::super::sample::{read, shown};
use super::*;

/// `x`, `y` plain; `L`, `block` lengths; `dT` a plain temperature interval; `t` in °C, `tF` in °F.
fn known(name: &str) -> Option<Kind> {
    let temperature = |scale| Some(Kind { dimension: Dimension::temperature(), scale });
    match name {
        "x" | "y" => Some(Kind::number()),
        "L" | "block" => Some(Kind::of(Dimension::length())),
        "dT" => temperature(Scale::None),
        "t" => temperature(Scale::Celsius),
        "tF" => temperature(Scale::Fahrenheit),
        _ => None,
    }
}

fn found(text: &str) -> Result<Option<Kind>, Fault> {
    kind(&read(text).unwrap(), &known)
}

fn words(text: &str) -> String {
    let kind = found(text).unwrap().unwrap();
    format!("{} {}", kind.dimension.words(), kind.scale.symbol()).trim().to_string()
}

#[test]
fn finds_dimensions() {
    let length = Dimension::length();
    let cases = [
        ("L + 2 mm", length.clone()),
        ("-L", length.clone()),
        ("L * x", length.clone()),
        ("L * L / block", length.clone()),
        ("L / block", Dimension::none()),
        ("L^2", length.times(&length)),
        ("L^-1", Dimension::none().over(&length)),
        ("L^(1/2)", length.power(1, 2).unwrap()),
        ("L^-(3/2)", length.power(-3, 2).unwrap()),
        ("L^0.5", length.power(1, 2).unwrap()),
        ("sqrt(L * L)", length.clone()),
        ("abs(L)", length.clone()),
        ("min(L, 2 mm, block)", length.clone()),
        ("atan2(L, block)", Dimension::none()),
        ("sin(30 °)", Dimension::none()),
        ("ln(L / (1 mm)) + pi", Dimension::none()),
        ("x^y", Dimension::none()),
        ("L * 11.5 µm/m/K * dT", length.clone()),
        ("5 % * L", length),
    ];
    for (text, expected) in cases {
        assert_eq!(found(text).unwrap().unwrap().dimension, expected, "{text}");
    }
}

/// The rules of the scales: sums keep them, differences of equal ones drop them, products with a
/// plain number keep them.
#[test]
fn follows_temperature_scales() {
    let cases = [
        ("t", "°C"),
        ("-t", "°C"),
        ("t + 0.2 °C", "°C"),
        ("t - 20 °C", ""),
        ("t + dT", "°C"),
        ("dT + t", "°C"),
        ("t - dT", "°C"),
        ("dT - dT", ""),
        ("2 * t", "°C"),
        ("t / 2", "°C"),
        ("t * L / L", ""),
        ("t * t / t", ""),
        ("abs(t)", "°C"),
        ("max(t, 20 °C)", "°C"),
        ("max(dT, 20 °C)", "°C"),
        ("(t - 20 °C) + tF", "°F"),
        ("0.2 K", "K"),
        ("t^1", ""),
        ("sqrt(t * t)", ""),
    ];
    for (text, scale) in cases {
        assert_eq!(found(text).unwrap().unwrap().scale.symbol(), scale, "{text}");
    }
}

#[test]
fn gives_nothing_for_an_unknown_name_but_still_finds_faults() {
    assert_eq!(found("unknown + L"), Ok(None));
    assert_eq!(found("sin(unknown)"), Ok(None));
    assert!(found("unknown * (L + dT)").is_err());
}

#[test]
fn refuses_two_scales_and_says_what_to_type() {
    let rule = "values of two scales cannot be";
    let cases = [
        (
            "t + 0.2 K",
            2,
            format!(
                "a value in `K` is added to one in `°C`: `t` is in `°C`, `0.2 K` is in `K`, and {rule} added"
            ),
            "write `0.2 °C`",
        ),
        (
            "0.2 K + t",
            6,
            format!(
                "a value in `°C` is added to one in `K`: `0.2 K` is in `K`, `t` is in `°C`, and {rule} added"
            ),
            "write `0.2 °C`",
        ),
        (
            "t + 9 °F",
            2,
            format!(
                "a value in `°F` is added to one in `°C`: `t` is in `°C`, `9 °F` is in `°F`, and {rule} added"
            ),
            "write `5 °C`",
        ),
        (
            "tF + 0.5 K",
            3,
            format!(
                "a value in `K` is added to one in `°F`: `tF` is in `°F`, `0.5 K` is in `K`, and {rule} added"
            ),
            "write `0.9 °F`",
        ),
        (
            "t - 293 K",
            2,
            format!(
                "a value in `K` is subtracted from one in `°C`: `t` is in `°C`, `293 K` is in `K`, and {rule} subtracted"
            ),
            "write `293 °C` if it is a difference; a temperature has to be converted first",
        ),
        (
            "min(t, tF)",
            0,
            format!(
                "a value in `°F` is compared with one in `°C`: `t` is in `°C`, `tF` is in `°F`, and {rule} compared"
            ),
            "give both in one unit",
        ),
    ];
    for (text, at, message, help) in cases {
        assert_eq!(shown(&found(text).unwrap_err()), (at, message, help.to_string()), "{text}");
    }
}

#[test]
fn refuses_dimensions_that_do_not_fit() {
    let cases = [
        (
            "block + dT",
            6,
            "cannot add a length and a temperature: `block` is a length, `dT` is a temperature",
            "",
        ),
        (
            "block - 3",
            6,
            "cannot subtract a plain number from a length: `block` is a length, `3` is a plain number",
            "give the number 3 its unit",
        ),
        (
            "L + 0",
            2,
            "cannot add a length and a plain number: `L` is a length, `0` is a plain number",
            "give the number 0 its unit",
        ),
        (
            "max(L, x)",
            0,
            "cannot compare a length and a plain number: `L` is a length, `x` is a plain number",
            "",
        ),
        (
            "atan2(L, dT)",
            0,
            "cannot compare a length and a temperature: `L` is a length, `dT` is a temperature",
            "",
        ),
        (
            "ln(L)",
            0,
            "`L` is a length: `ln` takes a plain number",
            "divide by a reference: `ln(L / (1 mm))`",
        ),
        (
            "1 + exp(L - block)",
            4,
            "`L - block` is a length: `exp` takes a plain number",
            "divide by a reference: `exp((L - block) / (1 mm))`",
        ),
        (
            "sin(dT)",
            0,
            "`dT` is a temperature: `sin` takes a plain number",
            "divide by a reference: `sin(dT / (1 K))`",
        ),
        ("x^L", 1, "`L` is a length: an exponent is a plain number", ""),
        (
            "L^x",
            1,
            "`L` is a length: a value with a unit is raised to a written number only",
            "write the exponent as a number, such as `2`, `-1` or `(1/2)`",
        ),
        (
            "L^(1+1)",
            1,
            "`L` is a length: a value with a unit is raised to a written number only",
            "write the exponent as a number, such as `2`, `-1` or `(1/2)`",
        ),
    ];
    for (text, at, message, help) in cases {
        assert_eq!(shown(&found(text).unwrap_err()), (at, message.into(), help.into()), "{text}");
    }
    let long = "L + L + L + L + L + L + L + L + L + L + L + L * x + dT";
    assert_eq!(
        found(long).unwrap_err().message(),
        "cannot add a length and a temperature: the left side is a length, `dT` is a temperature"
    );
    assert!(found("L^1000000000000").unwrap_err().message().contains("is out of range"));
}

#[test]
fn says_kinds_in_words() {
    assert_eq!(words("L"), "length");
    assert_eq!(words("t"), "temperature °C");
}
