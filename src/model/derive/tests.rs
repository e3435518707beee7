//! Tests of derivatives: closed forms derived by hand, difference quotients, kinks.

use super::super::sample::{shown, tape};
use super::*;
use proptest::prelude::*;

/// Twelve digits; the closed forms are rounded too.
fn close(found: f64, expected: f64) -> bool {
    (found - expected).abs() <= 1e-12 * expected.abs().max(1.0)
}

/// Powers for the closed forms, free of the rules under test.
fn power(x: f64, exponent: f64) -> f64 {
    libm::exp(exponent * libm::log(x))
}

/// f, f′, f″, f‴ of functions of one number, each derived by hand.
/// Method: M12.
#[test]
fn agrees_with_closed_forms_in_one_variable() {
    let x: f64 = 0.7;
    let (s, c) = (libm::sin(x), libm::cos(x));
    let (sh, ch) = (libm::sinh(x), libm::cosh(x));
    let e = libm::exp(2.0 * x);
    let (ln2, ln10) = (libm::log(2.0), libm::log(10.0));
    let (below, above) = (1.0 - x * x, 1.0 + x * x);
    let l = libm::log(x) + 1.0;
    let xx = power(x, x);
    let arc =
        [power(below, -0.5), x * power(below, -1.5), (1.0 + 2.0 * x * x) * power(below, -2.5)];
    let cases: [(&str, [f64; 4]); 21] = [
        (
            "sqrt(x)",
            [power(x, 0.5), 0.5 * power(x, -0.5), -0.25 * power(x, -1.5), 0.375 * power(x, -2.5)],
        ),
        ("exp(2 * x)", [e, 2.0 * e, 4.0 * e, 8.0 * e]),
        ("ln(x)", [libm::log(x), 1.0 / x, -1.0 / (x * x), 2.0 / (x * x * x)]),
        (
            "log10(x)",
            [libm::log(x) / ln10, 1.0 / x / ln10, -1.0 / (x * x) / ln10, 2.0 / (x * x * x) / ln10],
        ),
        ("sin(x)", [s, c, -s, -c]),
        ("cos(x)", [c, -s, -c, s]),
        (
            "tan(x)",
            [s / c, 1.0 / (c * c), 2.0 * s / (c * c * c), (2.0 + 4.0 * s * s) / (c * c * c * c)],
        ),
        ("asin(x)", [libm::asin(x), arc[0], arc[1], arc[2]]),
        ("acos(x)", [libm::acos(x), -arc[0], -arc[1], -arc[2]]),
        (
            "atan(x)",
            [
                libm::atan(x),
                1.0 / above,
                -2.0 * x / (above * above),
                (6.0 * x * x - 2.0) / (above * above * above),
            ],
        ),
        ("sinh(x)", [sh, ch, sh, ch]),
        ("cosh(x)", [ch, sh, ch, sh]),
        (
            "tanh(x)",
            [
                sh / ch,
                1.0 / (ch * ch),
                -2.0 * sh / (ch * ch * ch),
                (4.0 * sh * sh - 2.0) / (ch * ch * ch * ch),
            ],
        ),
        ("abs(-x)", [x, 1.0, 0.0, 0.0]),
        ("abs(x)^2", [x * x, 2.0 * x, 2.0, 0.0]),
        ("x^5", [power(x, 5.0), 5.0 * power(x, 4.0), 20.0 * power(x, 3.0), 60.0 * x * x]),
        (
            "x^-3",
            [power(x, -3.0), -3.0 * power(x, -4.0), 12.0 * power(x, -5.0), -60.0 * power(x, -6.0)],
        ),
        (
            "x^2.5",
            [power(x, 2.5), 2.5 * power(x, 1.5), 3.75 * power(x, 0.5), 1.875 * power(x, -0.5)],
        ),
        (
            "x^x",
            [xx, xx * l, xx * (l * l + 1.0 / x), xx * (l * l * l + 3.0 * l / x - 1.0 / (x * x))],
        ),
        (
            "x / (1 + x)",
            [x / 1.7, 1.0 / (1.7 * 1.7), -2.0 / (1.7 * 1.7 * 1.7), 6.0 / (1.7 * 1.7 * 1.7 * 1.7)],
        ),
        (
            "2^x",
            [
                power(2.0, x),
                power(2.0, x) * ln2,
                power(2.0, x) * ln2 * ln2,
                power(2.0, x) * ln2 * ln2 * ln2,
            ],
        ),
    ];
    for (text, expected) in cases {
        let jet = tape(text).jet(&[x], &[(0, 1.0)], &[(0, 1.0)]).unwrap();
        let found = [jet.value, jet.a, jet.ab, 2.0 * jet.ab2];
        for order in 0..4 {
            assert!(close(found[order], expected[order]), "{text}: {found:?}, not {expected:?}");
        }
        assert!(jet.b == jet.a && close(2.0 * jet.b2, expected[2]), "{text}");
        let gradient = tape(text).gradient(&[x], &[0]).unwrap();
        assert!(close(gradient[0], expected[1]), "{text}: {gradient:?}");
    }
}

/// f, f_x, f_y, f_xy, f_yy, f_xyy of functions of two numbers, each derived by hand.
/// Method: M12.
#[test]
fn agrees_with_closed_forms_in_two_variables() {
    for (x, y) in [(1.3, 0.6), (0.4, 2.1)] {
        let (s, c) = (libm::sin(x * y), libm::cos(x * y));
        let (l, p) = (libm::log(x), power(x, y));
        let square = x * x + y * y;
        let r = square.sqrt();
        let (r3, r5) = (r * square, r * square * square);
        let (q2, q3) = (square * square, square * square * square);
        let cases: [(&str, [f64; 6]); 8] = [
            ("x * y^2", [x * y * y, y * y, 2.0 * x * y, 2.0 * y, 2.0 * x, 2.0]),
            (
                "x / y",
                [
                    x / y,
                    1.0 / y,
                    -x / (y * y),
                    -1.0 / (y * y),
                    2.0 * x / (y * y * y),
                    2.0 / (y * y * y),
                ],
            ),
            (
                "x^y",
                [
                    p,
                    y * p / x,
                    p * l,
                    p / x * (1.0 + y * l),
                    p * l * l,
                    p / x * (y * l * l + 2.0 * l),
                ],
            ),
            (
                "sin(x * y)",
                [s, y * c, x * c, c - x * y * s, -x * x * s, -2.0 * x * s - x * x * y * c],
            ),
            (
                "atan2(x, y)",
                [
                    libm::atan2(x, y),
                    y / square,
                    -x / square,
                    (x * x - y * y) / q2,
                    2.0 * x * y / q2,
                    2.0 * y / q2 - 8.0 * x * x * y / q3,
                ],
            ),
            (
                "atan2(y, x)",
                [
                    libm::atan2(y, x),
                    -y / square,
                    x / square,
                    (y * y - x * x) / q2,
                    -2.0 * x * y / q2,
                    -2.0 * y / q2 + 8.0 * x * x * y / q3,
                ],
            ),
            (
                "sqrt(x^2 + y^2)",
                [r, x / r, y / r, -x * y / r3, x * x / r3, 2.0 * x / r3 - 3.0 * x * x * x / r5],
            ),
            (
                "min(x * y^2, 100) + max(x, x - 1)",
                [x * y * y + x, y * y + 1.0, 2.0 * x * y, 2.0 * y, 2.0 * x, 2.0],
            ),
        ];
        for (text, expected) in cases {
            let jet = tape(text).jet(&[x, y], &[(0, 1.0)], &[(1, 1.0)]).unwrap();
            let found = [jet.value, jet.a, jet.b, jet.ab, 2.0 * jet.b2, 2.0 * jet.ab2];
            for part in 0..6 {
                assert!(close(found[part], expected[part]), "{text}: {found:?}, not {expected:?}");
            }
            let gradient = tape(text).gradient(&[x, y], &[1, 0, 3]).unwrap();
            assert!(close(gradient[0], expected[2]) && close(gradient[1], expected[1]), "{text}");
            assert_eq!(gradient[2], 0.0);
        }
    }
}

/// Along (1, 2) and (3, -1): f_ij etc. of x²y are the directional derivatives, by hand:
/// with g(s, t) = (x + s + 3t)²(y + 2s − t).
#[test]
fn seeds_along_directions() {
    let (x, y) = (2.0, 5.0);
    let jet = tape("x^2 * y").jet(&[x, y], &[(0, 1.0), (1, 2.0)], &[(0, 3.0), (1, -1.0)]).unwrap();
    // g_s = 2xy + 2x², g_t = 6xy − x², g_st = 6y − 2x + 12x, g_tt = 18y − 12x, g_stt = 36 − 12 (s-derivative of 18(y+2s) − 12(x+s)).
    let expected = Jet { value: 20.0, a: 28.0, b: 56.0, ab: 50.0, b2: 33.0, ab2: 12.0 };
    assert_eq!(jet, expected);
}

#[test]
fn names_the_operator_whose_derivative_does_not_exist() {
    let cases = [
        ("1 + abs(x)", 4, "`abs` does not exist at 0"),
        ("max(x, y)", 0, "`max` does not exist where both are equal"),
        ("1 - min(x, 0)", 4, "`min` does not exist where both are equal"),
        ("sqrt(x)", 0, "`sqrt` does not exist at 0"),
        ("sqrt(x^2 + y^4)", 0, "`sqrt` does not exist at 0"),
        ("sqrt(x^4)", 0, "`sqrt` does not exist at 0"),
        ("x^1.5", 1, "`^` does not exist at 0"),
        ("x^(1 + y^2)", 1, "`^` does not exist for a base that is not above 0"),
        ("asin(1 - x)", 0, "`asin` does not exist at -1 and 1"),
        ("acos(x - 1)", 0, "`acos` does not exist at -1 and 1"),
        ("atan2(x, y)", 0, "`atan2` does not exist at (0, 0)"),
    ];
    let help = "rewrite the model so that it is smooth at this point";
    for (text, at, what) in cases {
        let tape = tape(text);
        let leaves = [0.0, 0.0];
        assert!(tape.value(&leaves).is_ok(), "{text}");
        let expected = (at, format!("the derivative of {what}"), help.to_string());
        let all = [(0, 1.0), (1, 1.0)];
        assert_eq!(shown(&tape.jet(&leaves, &all, &[]).unwrap_err()), expected, "{text}");
        assert_eq!(shown(&tape.jet(&leaves, &[], &all).unwrap_err()), expected, "{text}");
        assert_eq!(shown(&tape.gradient(&leaves, &[0, 1]).unwrap_err()), expected, "{text}");
        // Nothing that moves is at the kink.
        let still = tape.jet(&leaves, &[(2, 1.0)], &[(0, 0.0)]).unwrap();
        assert_eq!(still, Jet::constant(tape.value(&leaves).unwrap()), "{text}");
        assert_eq!(tape.gradient(&leaves, &[2]).unwrap(), [0.0], "{text}");
    }
}

/// A kink counts only where its argument moves and the result depends on it.
#[test]
fn passes_kinks_that_do_not_matter() {
    // `x`, `y` are 0 and held; `z` is 0 and moves.
    let leaves = [0.0, 0.0, 0.0];
    let cases = [
        ("z + abs(x)", 1.0),
        ("z + sqrt(x * z)", 1.0),
        ("z + abs(x / (z + 1))", 1.0),
        ("z + x * abs(z)", 1.0),
        ("z + x / (1 + sqrt(z))", 1.0),
        ("z + max(1, abs(z))", 1.0),
        ("z + max(x, y)", 1.0),
        ("z + min(z, z)", 2.0),
        ("z + asin(1 + x)", 1.0),
        ("z + abs(z)^0", 1.0),
    ];
    for (text, slope) in cases {
        let tape = tape(text);
        assert_eq!(tape.gradient(&leaves, &[2]).unwrap(), [slope], "{text}");
        let jet = tape.jet(&leaves, &[(2, 1.0)], &[(2, 1.0)]).unwrap();
        assert_eq!((jet.a, jet.ab, jet.ab2), (slope, 0.0, 0.0), "{text}");
    }
    let both = tape("z + x * abs(z)").gradient(&leaves, &[0, 2]).unwrap_err();
    assert_eq!(both.origin.offset(), 8);
}

#[test]
fn never_passes_on_what_is_not_finite() {
    let fault = tape("1 + sqrt(x)").jet(&[1e-300], &[(0, 1.0)], &[(0, 1.0)]).unwrap_err();
    assert_eq!(shown(&fault).1, "the derivative of `sqrt` is too large to be computed");
    assert_eq!(fault.origin.offset(), 4);
    assert!(tape("1 + sqrt(x)").gradient(&[1e-300], &[0]).unwrap()[0].is_finite());
    assert!(tape("1e300 * x * 1e200").gradient(&[1e-300], &[0]).is_err());
    for jet in [tape("1 / 0").jet(&[], &[], &[]), tape("x").jet(&[f64::NAN], &[], &[])] {
        assert!(jet.is_err());
    }
}

/// Texts of smooth expressions of x, y, z whose derivatives stay of order one.
fn smooth() -> impl Strategy<Value = String> {
    let leaf = prop_oneof![
        Just("x".to_string()),
        Just("y".to_string()),
        Just("z".to_string()),
        (1..9_u32).prop_map(|digit| format!("0.{digit}")),
    ];
    leaf.prop_recursive(4, 24, 2, |inner| {
        let single = prop_oneof![
            Just("sin(@)"),
            Just("cos(@)"),
            Just("atan(@)"),
            Just("tanh(@)"),
            Just("exp(sin(@))"),
            Just("sqrt(2 + cos(@))"),
            Just("ln(2 + sin(@))"),
            Just("asin(0.5 * sin(@))"),
            Just("sinh(sin(@)) + cosh(cos(@))"),
            Just("tan(sin(@))"),
            Just("acos(0.5 * sin(@))"),
            Just("log10(3 + cos(@))"),
            Just("abs(3 + cos(@))"),
            Just("(2 + sin(@))^2.5"),
            Just("sin(@)^3"),
            Just("(2 + cos(@))^-2"),
            Just("-(@)"),
            Just("0 * (@)"),
        ];
        let pair = prop_oneof![
            Just("(@ + #)"),
            Just("(@ - #)"),
            Just("(@ * #)"),
            Just("(@) / (2 + sin(#))"),
            Just("(2 + sin(@))^sin(#)"),
            Just("atan2(@, 2 + sin(#))"),
            Just("max(sin(@), 50 + sin(#))"),
        ];
        prop_oneof![
            (single, inner.clone()).prop_map(|(form, a)| form.replace('@', &a)),
            (pair, inner.clone(), inner).prop_map(|(form, a, b)| form
                .replace('@', "\u{1}")
                .replace('#', &b)
                .replace('\u{1}', &a)),
        ]
    })
}

/// Returns the derivative of `of` along leaf `index` by Richardson's rule on central differences.
fn quotient(at: [f64; 3], index: usize, of: &dyn Fn(&[f64; 3]) -> f64) -> (f64, f64) {
    let central = |step: f64| {
        let (mut low, mut high) = (at, at);
        low[index] -= step;
        high[index] += step;
        (of(&high) - of(&low)) / (high[index] - low[index])
    };
    let [wide, middle, close] = [8e-4, 4e-4, 2e-4].map(central);
    let (coarse, fine) = (middle + (middle - wide) / 3.0, close + (close - middle) / 3.0);
    // What is left of the finer one is about 1/15 of the change from the coarser.
    (fine, 1e-7 + (fine - coarse).abs())
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    /// Each order is the difference quotient of the order below.
    #[test]
    fn agrees_with_difference_quotients(
        text in smooth(), x in -2.0..2.0_f64, y in -2.0..2.0_f64, z in -2.0..2.0_f64,
    ) {
        let tape = tape(&text);
        let at = [x, y, z];
        let scale = 1.0 + tape.value(&at).unwrap().abs();
        let gradient = tape.gradient(&at, &[0, 1, 2]).unwrap();
        for i in 0..3 {
            let (slope, error) = quotient(at, i, &|at| tape.value(at).unwrap());
            prop_assert!((gradient[i] - slope).abs() <= error * scale, "{text}: f_{i}");
            for j in 0..3 {
                let jet = |at: &[f64; 3]| tape.jet(at, &[(i, 1.0)], &[(j, 1.0)]).unwrap();
                let found = jet(&at);
                let near = |a: f64, b: f64| (a - b).abs() <= 1e-11 * (scale + a.abs() + gradient[i].abs());
                prop_assert!(near(found.a, gradient[i]), "{text}: {} {}", found.a, gradient[i]);
                prop_assert!(near(found.b, gradient[j]), "{text}: {} {}", found.b, gradient[j]);
                let (mixed, error) = quotient(at, j, &|at| tape.gradient(at, &[i]).unwrap()[0]);
                let scale = scale + found.ab.abs();
                prop_assert!((found.ab - mixed).abs() <= error * scale, "{text}: f_{i}{j}");
                let (third, error) = quotient(at, i, &|at| 2.0 * jet(at).b2);
                let scale = scale + found.ab2.abs();
                prop_assert!((2.0 * found.ab2 - third).abs() <= error * scale, "{text}: f_{i}{j}{j}");
            }
        }
    }

    /// Wherever a second or third derivative differs from 0 the pair is listed, and the jet's
    /// value is that of the tape to the bit.
    #[test]
    fn lists_every_pair_that_interacts(
        text in smooth(), x in -2.0..2.0_f64, y in -2.0..2.0_f64, z in -2.0..2.0_f64,
    ) {
        let tape = tape(&text);
        let (at, pairs) = ([x, y, z], tape.interactions());
        prop_assert!(pairs.is_sorted() && pairs.iter().all(|(i, j)| i <= j));
        for i in 0..3 {
            prop_assert!(!tape.is_linear_in(i) || !pairs.contains(&(i, i)) , "{text}");
            for j in 0..3 {
                let jet = tape.jet(&at, &[(i, 1.0)], &[(j, 1.0)]).unwrap();
                let interacts = jet.ab != 0.0 || jet.ab2 != 0.0;
                let listed = pairs.contains(&(i.min(j), i.max(j)));
                prop_assert!(listed || !interacts, "{text}: {i}{j} {jet:?}");
                prop_assert_eq!(jet.value.to_bits(), tape.value(&at).unwrap().to_bits());
            }
        }
    }
}
