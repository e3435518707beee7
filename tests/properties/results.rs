//! Several results of one budget: what theory demands of their matrices.
//!
//! Source: a covariance matrix is J·V·Jᵀ with a correlation matrix in V, so it is symmetric and positive
//! semidefinite, whatever the models; and it belongs to the quantities, not to the order or the units in
//! which they are written.

use super::show::shown;
use super::{fixed, near};
use nalgebra::{DMatrix, SymmetricEigen};
use proptest::prelude::*;
use surebound::record::{Point, Results};

/// Models that do not refer to each other, over `x`, `y` and `z`; all but the first are results.
const MODELS: [&str; 4] = ["x * y / z", "x - 2 * y", "sqrt(x^2 + z^2)", "exp(y / 4) * z"];

/// What a budget is drawn from.
#[derive(Debug, Clone)]
struct Drawn {
    at: [f64; 3],
    u: [f64; 5],
    r: f64,
}

fn drawn() -> impl Strategy<Value = Drawn> {
    let numbers = (prop::array::uniform3(0.5..3.0), prop::array::uniform5(0.001..0.1), -0.9..0.9);
    numbers.prop_map(|(at, u, r)| Drawn { at, u, r })
}

/// A budget with the models of `results` beside the first one; contributors in the order of `order`.
fn budget(drawn: &Drawn, results: &[usize], order: [usize; 5]) -> String {
    let line = |index: &usize| {
        let model = MODELS[*index];
        format!("  - {{symbol: q{index}, name: Result {index}, unit: 1, model: {model}}}\n")
    };
    let results: String = results.iter().map(line).collect();
    let inputs = ["x", "y", "z", "x", "z"];
    let contributor = |it: usize| {
        let (input, u) = (inputs[it], drawn.u[it]);
        format!("  - {{name: c{it}, adds_to: {input}, standard_uncertainty: {u:.5}}}\n")
    };
    let contributors: String = order.into_iter().map(contributor).collect();
    let [x, y, z] = drawn.at;
    format!(
        "surebound: 1\ntitle: T\nmeasurand: {{symbol: q0, name: First, unit: 1}}\nmodel: {}\nresults:\n{results}\
         estimates: {{x: {x:.3}, y: {y:.3}, z: {z:.3}}}\ncontributors:\n{contributors}\
         linked: [{{between: [c0, c1], r: {:.3}}}, {{between: [c1, c4], r: {:.3}}}]\norder: first\n",
        MODELS[0],
        drawn.r,
        0.4 * drawn.r
    )
}

fn point(text: &str) -> (Point, Results) {
    let point = shown(text).points.remove(0);
    let results = point.results.clone().expect("the budget has results");
    (point, results)
}

const PLAIN: [usize; 5] = [0, 1, 2, 3, 4];

proptest! {
    #![proptest_config(fixed(62))]

    /// Symmetric to the bit, 1 on the diagonal, |r| ≤ 1, no eigenvalue below rounding, and u² on the diagonal.
    #[test]
    fn matrices_are_those_of_a_covariance(drawn in drawn()) {
        let (point, results) = point(&budget(&drawn, &[1, 2, 3], PLAIN));
        let r = |a: usize, b: usize| results.correlation[a][b].unwrap();
        for a in 0..4 {
            prop_assert_eq!(r(a, a), 1.0);
            for b in 0..4 {
                prop_assert_eq!(r(a, b).to_bits(), r(b, a).to_bits());
                let (one, two) = (results.covariance[a][b], results.covariance[b][a]);
                prop_assert_eq!(one.to_bits(), two.to_bits());
                prop_assert!(r(a, b).abs() <= 1.0);
            }
        }
        let eigen = SymmetricEigen::new(DMatrix::from_fn(4, 4, r));
        prop_assert!(eigen.eigenvalues.iter().all(|it| *it >= -1e-14), "{}", eigen.eigenvalues);
        let u = results.figures.iter().map(|it| it.standard_uncertainty);
        for (index, u) in std::iter::once(point.standard_uncertainty).chain(u).enumerate() {
            prop_assert!(near(u * u, results.covariance[index][index]));
        }
    }

    /// Neither the order of contributors nor that of results changes a figure.
    #[test]
    fn the_order_of_the_file_does_not_matter(
        drawn in drawn(), order in Just(PLAIN).prop_shuffle(), further in Just([1usize, 2, 3]).prop_shuffle(),
    ) {
        let (_, one) = point(&budget(&drawn, &[1, 2, 3], PLAIN));
        let (_, two) = point(&budget(&drawn, &further, order));
        let place = |index: usize| if index == 0 { 0 } else { 1 + further.iter().position(|it| *it == index).unwrap() };
        for a in 0..4 {
            if a > 0 {
                let (one, two) = (&one.figures[a - 1], &two.figures[place(a) - 1]);
                prop_assert!(near(one.standard_uncertainty, two.standard_uncertainty));
                prop_assert_eq!(one.estimate.to_bits(), two.estimate.to_bits());
            }
            for b in 0..4 {
                // A coefficient is a sum that may cancel: 1e-13 of 1.
                let (one, two) = (one.correlation[a][b].unwrap(), two.correlation[place(a)][place(b)].unwrap());
                prop_assert!((one - two).abs() < 1e-13, "{one} {two}");
            }
        }
    }

    /// The measurand once more has r = 1, its opposite r = −1, both exactly, and covariances to match.
    #[test]
    fn a_quantity_is_perfectly_correlated_with_itself_and_its_opposite(drawn in drawn()) {
        let text = budget(&drawn, &[], PLAIN).replace(
            "results:\n",
            "results:\n  - {symbol: same, name: S, unit: 1, model: q0}\n  - {symbol: opposite, name: O, unit: 1, model: -q0}\n",
        );
        let (point, results) = point(&text);
        let expected = [[1.0, 1.0, -1.0], [1.0, 1.0, -1.0], [-1.0, -1.0, 1.0]];
        let square = results.covariance[0][0];
        for (a, row) in expected.iter().enumerate() {
            for (b, r) in row.iter().enumerate() {
                prop_assert_eq!(results.correlation[a][b], Some(*r));
                prop_assert_eq!(results.covariance[a][b], r * square);
            }
        }
        prop_assert_eq!(results.figures[1].estimate, -point.estimate);
        prop_assert_eq!(results.figures[0].standard_uncertainty, point.standard_uncertainty);
        prop_assert_eq!(results.independent, 1);
    }

    /// Units of results and inputs change numbers by their ratio, coefficients and factors not at all.
    #[test]
    fn units_change_nothing_but_numbers(a in 1..4000i64, b in 1..4000i64, u in 1..90i64, v in 1..90i64) {
        let text = |area: &str, length: &str, a: String, b: String, u: String, v: String| format!(
            "surebound: 1\ntitle: Plate\nmeasurand: {{symbol: A, name: Area, unit: {area}}}\nmodel: a * b\n\
             results: [{{symbol: P, name: Perimeter, unit: {length}, model: 2 * (a + b)}}, {{symbol: s, name: Shape, unit: 1, model: P^2 / A}}]\n\
             estimates: {{a: {a}, b: {b}}}\ncontributors:\n  - {{name: a, adds_to: a, limits: ±{u}}}\n  - {{name: b, adds_to: b, limits: ±{v}}}\n"
        );
        let mm = |n: i64| format!("{n} mm");
        let um = |n: i64| format!("{n}000 µm");
        let (one, first) = point(&text("mm^2", "mm", mm(a), mm(b), mm(u), mm(v)));
        let (two, second) = point(&text("m^2", "µm", um(a), um(b), um(u), um(v)));
        let scale = [1e-6, 1e3, 1.0];
        prop_assert!(near(one.standard_uncertainty * scale[0], two.standard_uncertainty));
        for (a, from) in scale.iter().enumerate() {
            for (b, to) in scale.iter().enumerate() {
                let expected = first.covariance[a][b] * from * to;
                let size = (first.covariance[a][a] * first.covariance[b][b]).sqrt() * from * to;
                prop_assert!((expected - second.covariance[a][b]).abs() <= 1e-12 * size);
                let (one, two) = (first.correlation[a][b].unwrap(), second.correlation[a][b].unwrap());
                prop_assert!((one - two).abs() < 1e-13, "{one} {two}");
            }
        }
        prop_assert_eq!(first.region, second.region);
    }
}
