//! Tests of values, exact values, faults and structure of tapes.

use super::super::sample::{read, shown, tape, tree};
use super::*;
use proptest::prelude::*;

fn decimal(text: &str) -> Exact {
    crate::quantity::Decimal::parse(text).unwrap().exact().clone()
}

#[test]
fn computes_values() {
    let (x, y) = (1.5, -0.25);
    let cases = [
        ("x + y", 1.25),
        ("x - y", 1.75),
        ("x * y", -0.375),
        ("x / y", -6.0),
        ("-x^2", -2.25),
        ("x^3", 3.375),
        ("x^-2", 1.0 / 2.25),
        ("y^0", 1.0),
        ("y^(3 - 1)", 0.0625),
        ("x^0.5", libm::pow(1.5, 0.5)),
        ("sqrt(4)", 2.0),
        ("2 mm + 0.5 µm", 0.0020005),
        ("pi", std::f64::consts::PI),
        ("abs(y)", 0.25),
        ("min(x, y, 0)", -0.25),
        ("max(x, y, 2)", 2.0),
        ("atan2(x, y)", libm::atan2(1.5, -0.25)),
        ("atan2(0, 0)", 0.0),
        ("asin(1)", std::f64::consts::FRAC_PI_2),
        ("abs(x - 1.5)", 0.0),
    ];
    for (text, expected) in cases {
        assert_eq!(tape(text).value(&[x, y, 0.0, 0.0]).unwrap(), expected, "{text}");
    }
}

/// x² is the product x·x to the bit, and higher powers are products in a fixed order.
#[test]
fn takes_whole_powers_by_products() {
    let x = 1.1;
    let power = |text: &str| tape(text).value(&[x]).unwrap();
    assert_eq!(power("x^2").to_bits(), (x * x).to_bits());
    assert_eq!(power("x^3").to_bits(), (x * (x * x)).to_bits());
    assert_eq!(power("x^5").to_bits(), (x * ((x * x) * (x * x))).to_bits());
    assert_eq!(power("x^-1").to_bits(), (1.0 / x).to_bits());
}

#[test]
fn faults_stand_at_the_operator() {
    let large = "the result is too large to be computed";
    let cases = [
        ("1 + x / 0", 6, "`/` has no value here: division by zero".to_string()),
        ("1 + (x - x)^-1", 11, "`^` has no value here: 0 has no negative power".into()),
        ("1 - ln(-x)", 4, "`ln` of -2: only a number above 0 has a logarithm".into()),
        ("log10(0)", 0, "`log10` of 0: only a number above 0 has a logarithm".into()),
        ("sqrt(-x)", 0, "`sqrt` of -2: there is no root of a negative number".into()),
        ("asin(x)", 0, "`asin` of 2: the number must lie between -1 and 1".into()),
        ("acos(-x)", 0, "`acos` of -2: the number must lie between -1 and 1".into()),
        ("(-x)^0.5", 4, "`^` has no value here: a negative number has only whole powers".into()),
        ("0^-0.5", 1, "`^` has no value here: 0 has no negative power".into()),
        ("exp(1000 * x)", 0, format!("`exp` has no value here: {large}")),
        ("x * 1e308", 2, format!("`*` has no value here: {large}")),
        ("(1e300)^2", 7, format!("`^` has no value here: {large}")),
    ];
    for (text, at, message) in cases {
        let fault = tape(text).value(&[2.0]).unwrap_err();
        assert_eq!(shown(&fault), (at, message, String::new()), "{text}");
    }
}

#[test]
fn refuses_leaves_that_are_no_numbers() {
    for leaves in [&[f64::NAN][..], &[f64::INFINITY], &[]] {
        let fault = tape("x + 1").value(leaves).unwrap_err();
        assert_eq!(fault.message(), "a value of the model: it is missing or not a finite number");
    }
}

#[test]
fn ignores_what_the_result_does_not_use() {
    let mut builder = TapeBuilder::new();
    let x = builder.leaf(0, Origin::NONE);
    builder.expr(&read("1 / 0").unwrap(), &|_| None).unwrap();
    let again = builder.leaf(0, Origin::node(9));
    assert_eq!(x, again);
    builder.leaf(5, Origin::NONE);
    let sum = builder.add(x, x, Origin::NONE);
    let product = builder.multiply(sum, x, Origin::NONE);
    let tape = builder.finish(product);
    assert_eq!((tape.len(), tape.used()), (3, vec![0]));
    assert_eq!(tape.value(&[3.0]).unwrap(), 18.0);
}

#[test]
fn refuses_names_that_do_not_resolve() {
    let fault = TapeBuilder::new().expr(&read("1 + q").unwrap(), &|_| None).unwrap_err();
    assert_eq!(shown(&fault), (4, "`q` is not known here".into(), String::new()));
}

/// 0.1 + 0.2 is 0.3, which it is not in binary; 10.301 mm lies exactly 1 µm over 10.3 mm.
#[test]
fn computes_exactly_what_is_exact() {
    let exact = |text: &str, leaves: &[Option<Exact>]| tape(text).exact(leaves);
    assert_eq!(exact("0.1 + 0.2", &[]), Some(decimal("0.3")));
    assert_ne!(tape("0.1 + 0.2").value(&[]).unwrap(), 0.3);
    assert_eq!(exact("10.301 mm - 10.3 mm", &[]), Some(decimal("0.000001")));
    let x = Some(decimal("0.7"));
    assert_eq!(exact("-x^2 / 7 + x", std::slice::from_ref(&x)), Some(decimal("0.63")));
    assert_eq!(exact("x^-2 * x^2", std::slice::from_ref(&x)), Some(Exact::from_integer(1)));
    assert_eq!(exact("2 * pi / pi", &[]), Some(Exact::from_integer(2)));
    assert_eq!(exact("pi + 1", &[]), None);
    assert_eq!(exact("x + y", &[x.clone(), None]), None);
    assert_eq!(exact("x + y", std::slice::from_ref(&x)), None);
    for text in ["sqrt(x)", "abs(x)", "x^0.5", "x / 0", "max(x, 1)", "((x^64)^64)^64"] {
        assert_eq!(exact(text, std::slice::from_ref(&x)), None, "{text}");
    }
}

#[test]
fn finds_pairs_that_interact() {
    let cases: [(&str, &[(usize, usize)]); 16] = [
        ("x + y - z", &[]),
        ("2 * x + y / 3", &[]),
        ("x * y", &[(0, 1)]),
        ("y * x + z", &[(0, 1)]),
        ("(x + y) * (z - 1)", &[(0, 2), (1, 2)]),
        ("x * x", &[(0, 0)]),
        ("x^2 + y^1 + z^0", &[(0, 0)]),
        ("x / y", &[(0, 1), (1, 1)]),
        ("1 / (x + y)", &[(0, 0), (0, 1), (1, 1)]),
        ("sin(x) + y", &[(0, 0)]),
        ("sin(2) * y", &[]),
        ("x^y", &[(0, 0), (0, 1), (1, 1)]),
        ("x^0.5 + 2^3", &[(0, 0)]),
        ("max(x, 3)", &[(0, 0)]),
        ("atan2(x, y)", &[(0, 0), (0, 1), (1, 1)]),
        ("x * (y + sqrt(z))", &[(0, 1), (0, 2), (2, 2)]),
    ];
    for (text, pairs) in cases {
        assert_eq!(tape(text).interactions(), pairs, "{text}");
        for leaf in 0..4 {
            let linear = !pairs.contains(&(leaf, leaf));
            assert_eq!(tape(text).is_linear_in(leaf), linear, "{text}, leaf {leaf}");
        }
    }
    assert_eq!(tape("z * x + z").used(), [0, 2]);
}

/// The deepest left-deep tree is walked by recursion.
#[test]
fn takes_the_longest_sum() {
    let text = format!("x{}", "+x".repeat(super::super::parse::OPERATOR_LIMIT));
    let expr = read(&text).unwrap();
    assert_eq!(tree(&expr).matches('x').count(), 251);
    let kind = super::super::check::Kind::number();
    let found = super::super::check::kind(&expr, &|_| Some(kind.clone())).unwrap();
    assert_eq!(found, Some(kind));
    let tape = tape(&text);
    assert_eq!(tape.len(), 251);
    assert_eq!(tape.value(&[0.5]).unwrap(), 125.5);
    assert_eq!(tape.gradient(&[0.5], &[0]).unwrap(), [251.0]);
    assert_eq!(expr.to_string().matches('x').count(), 251);
}

proptest! {
    /// A change of the unit by a power of two changes no bit but the exponent.
    #[test]
    fn scaling_by_a_power_of_two_changes_no_bit(
        x in -9.0..9.0_f64, y in -9.0..9.0_f64, power in -40..40_i32,
    ) {
        let cubic = tape("x^3 - 3.7 * x^2 * y + x * y * (x - y) / 7 + y^3");
        let scale = function::integer_power(2.0, power);
        let cube = scale * scale * scale;
        let plain = cubic.value(&[x, y]).unwrap();
        let scaled = cubic.value(&[x * scale, y * scale]).unwrap();
        prop_assert_eq!(scaled.to_bits(), (plain * cube).to_bits());
        let plain = cubic.gradient(&[x, y], &[0, 1]).unwrap();
        let scaled = cubic.gradient(&[x * scale, y * scale], &[0, 1]).unwrap();
        for leaf in 0..2 {
            prop_assert_eq!(scaled[leaf].to_bits(), (plain[leaf] * scale * scale).to_bits());
        }
    }
}
