//! Contributors: split, reordered, repeated, linked, grouped, and by whom they are owned.

use super::show::shown;
use super::{fixed, near, plain, same_uncertainty};
use proptest::prelude::*;

/// A curved model of two inputs, so that first and second order both have something to say.
const CURVED: &str = "x^2 * y + exp(0.3 * x)";

fn at(x: f64, y: f64) -> Vec<String> {
    vec![format!("x: {x:.3}"), format!("y: {y:.3}")]
}

fn on(name: &str, input: &str, evidence: &str) -> String {
    format!("name: {name}, adds_to: {input}, {evidence}")
}

/// The shares of one point by the contributors' names, in their order.
fn shares(text: &str) -> Vec<(String, f64)> {
    let mut shares: Vec<(String, f64)> =
        shown(text).points[0].contributors.iter().map(|it| (it.name.clone(), it.share)).collect();
    shares.sort_by(|a, b| a.0.cmp(&b.0));
    shares
}

proptest! {
    #![proptest_config(fixed(31))]

    /// A normal contributor is two independent ones of u/√2 (the normal law is stable).
    #[test]
    fn a_contributor_may_be_split_in_two(x in 0.5..2.0, y in 0.5..2.0, u in 0.01..0.2, v in 0.01..0.2) {
        let whole = [
            on("A", "x", &format!("standard_uncertainty: {u:.4}")),
            on("B", "y", &format!("limits: ±{v:.4}")),
        ];
        let half = format!("standard_uncertainty: {u:.4} / sqrt(2)");
        let split = [on("A", "x", &half), whole[1].clone(), on("C", "x", &half)];
        for order in ["order: second", "order: first", "order: auto"] {
            let one = shown(&plain(CURVED, &at(x, y), &whole, order));
            let two = shown(&plain(CURVED, &at(x, y), &split, order));
            same_uncertainty(&one.points[0], &two.points[0]);
        }
    }

    /// The law of propagation is a sum: the order of its terms does not matter.
    #[test]
    fn contributors_may_be_reordered(
        x in 0.5..2.0, y in 0.5..2.0, u in prop::collection::vec(0.01..0.2, 5), r in -0.9..0.9,
        order in Just([0, 1, 2, 3, 4]).prop_shuffle(),
    ) {
        let list = [
            on("A", "x", &format!("standard_uncertainty: {:.4}, dof: 7", u[0])),
            on("B", "y", &format!("limits: ±{:.4}", u[1])),
            on("C", "x", &format!("scatter: {:.4}, dof: 4, largest_of: g", u[2])),
            on("D", "x", &format!("step: {:.4}, largest_of: g", u[3])),
            on("E", "y", &format!("certificate: {:.4}, k: 2", u[4])),
        ];
        let linked = format!("linked: [{{between: [A, E], r: {r:.3}}}]\norder: second");
        let shuffled = order.map(|it| list[it].clone());
        let (one, two) = (plain(CURVED, &at(x, y), &list, &linked), plain(CURVED, &at(x, y), &shuffled, &linked));
        same_uncertainty(&shown(&one).points[0], &shown(&two).points[0]);
        for (a, b) in shares(&one).iter().zip(&shares(&two)) {
            prop_assert!(a.0 == b.0 && near(a.1, b.1), "{a:?} {b:?}");
        }
    }

    /// u² is made of the contributors, of what correlations add and of the second order: nothing else.
    #[test]
    fn shares_add_up_to_one(
        x in 0.5..2.0, y in 0.5..2.0, u in prop::collection::vec(0.01..0.3, 4), r in -0.95..0.95,
        order in prop::sample::select(vec!["first", "second", "auto"]),
    ) {
        let list = [
            on("A", "x", &format!("standard_uncertainty: {:.4}, dof: 7", u[0])),
            on("B", "y", &format!("limits: ±{:.4}, shape: arcsine", u[1])),
            on("C", "x", &format!("limits: ±{:.4}, shape: triangular", u[2])),
            on("D", "y", &format!("certificate: {:.4}, k: 2", u[3])),
        ];
        let more = format!("linked: [{{between: [A, D], r: {r:.3}}}]\norder: {order}");
        let point = &shown(&plain(CURVED, &at(x, y), &list, &more)).points[0];
        let sum: f64 = point.contributors.iter().map(|it| it.share).sum();
        let total = sum + point.correlation_share + point.second_order_share;
        prop_assert!((total - 1.0).abs() < 1e-12, "{total}");
        let u = point.standard_uncertainty;
        for it in &point.contributors {
            let share = it.contribution / u * (it.contribution / u);
            prop_assert!(near(it.share, share), "{} {share}", it.share);
        }
    }

    /// r(A, B) = r(B, A).
    #[test]
    fn links_have_no_direction(x in 0.5..2.0, u in 0.01..0.2, v in 0.01..0.2, r in -1.0..1.0) {
        let list = [
            on("A", "x", &format!("standard_uncertainty: {u:.4}, dof: 9")),
            on("B", "y", &format!("standard_uncertainty: {v:.4}")),
        ];
        let text = |a: &str, b: &str| {
            plain(CURVED, &at(x, 1.0), &list, &format!("linked: [{{between: [{a}, {b}], r: {r:.3}}}]\norder: second"))
        };
        let (one, two) = (shown(&text("A", "B")), shown(&text("B", "A")));
        prop_assert_eq!(&one.points, &two.points);
    }

    /// With r = 1 two contributors move as one: their contributions add before they are squared.
    #[test]
    fn fully_linked_contributors_are_one(x in 0.5..2.0, u in 1..2000i64, v in 1..2000i64) {
        let normal = |name: &str, u: i64| {
            on(name, "x", &format!("standard_uncertainty: {}", super::decimal(u, 4)))
        };
        let linked = "linked: [{between: [A, B], r: 1}]\norder: second";
        let two = plain(CURVED, &at(x, 1.0), &[normal("A", u), normal("B", v)], linked);
        let one = plain(CURVED, &at(x, 1.0), &[normal("A", u + v)], "order: second");
        same_uncertainty(&shown(&two).points[0], &shown(&one).points[0]);
    }

    /// Independent contributors only add: the laboratory's part is no more than all.
    #[test]
    fn the_laboratory_has_no_more_than_all(
        x in 0.5..2.0, u in prop::collection::vec(0.01..0.3, 4), owned in prop::collection::vec(any::<bool>(), 4),
    ) {
        let line = |index: usize| {
            let owner = if owned[index] { "instrument" } else { "laboratory" };
            let input = if index.is_multiple_of(2) { "x" } else { "y" };
            on(&format!("C{index}"), input, &format!("standard_uncertainty: {:.4}, owner: {owner}", u[index]))
        };
        let list: Vec<String> = (0..4).map(line).collect();
        let test = shown(&plain(CURVED, &at(x, 1.0), &list, "order: first")).points.remove(0).test;
        let (all, laboratory) = (test.all.standard_uncertainty, test.laboratory.standard_uncertainty);
        prop_assert!(laboratory <= all * (1.0 + 1e-15), "{laboratory} {all}");
        prop_assert_eq!(owned.iter().any(|it| *it), laboratory < all);
        prop_assert_eq!(owned.iter().all(|it| *it), laboratory == 0.0);
    }

    /// A group of one is no group.
    #[test]
    fn the_largest_of_one_is_that_one(x in 0.5..2.0, u in 0.01..0.2, v in 0.01..0.2) {
        let list = |more: &str| {
            let first = on("A", "x", &format!("standard_uncertainty: {u:.4}, dof: 5{more}"));
            plain(CURVED, &at(x, 1.0), &[first, on("B", "y", &format!("step: {v:.4}"))], "")
        };
        let (with, without) = (shown(&list(", largest_of: g")), shown(&list("")));
        same_uncertainty(&with.points[0], &without.points[0]);
    }

    /// Of a group only the largest |c·u| counts, as if the others were not there.
    #[test]
    fn of_a_group_the_largest_counts_alone(x in 0.5..2.0, u in 0.01..0.2, v in 0.01..0.2) {
        prop_assume!(libm::fabs(u - v) > 1e-3);
        let line = |name: &str, u: f64, more: &str| on(name, "x", &format!("standard_uncertainty: {u:.4}{more}"));
        let group = [line("A", u, ", largest_of: g"), line("B", v, ", largest_of: g")];
        let both = shown(&plain(CURVED, &at(x, 1.0), &group, ""));
        let one = shown(&plain(CURVED, &at(x, 1.0), &[line("A", u.max(v), "")], ""));
        same_uncertainty(&both.points[0], &one.points[0]);
        let kept: Vec<bool> = both.points[0].contributors.iter().map(|it| it.kept).collect();
        prop_assert_eq!(kept, vec![u > v, v > u]);
    }

    /// `times: n` is n independent copies, in the fourth moment too (cumulants add).
    #[test]
    fn times_n_is_n_copies(
        x in 0.5..2.0, a in 0.01..0.2, n in 1usize..6,
        shape in prop::sample::select(vec!["rectangular", "triangular", "arcsine"]),
    ) {
        let evidence = format!("limits: ±{a:.4}, shape: {shape}");
        let copies: Vec<String> = (0..n).map(|it| on(&format!("C{it}"), "x", &evidence)).collect();
        let times = [on("C", "x", &format!("{evidence}, times: {n}"))];
        let copies = shown(&plain(CURVED, &at(x, 1.0), &copies, "order: second"));
        let times = shown(&plain(CURVED, &at(x, 1.0), &times, "order: second"));
        same_uncertainty(&copies.points[0], &times.points[0]);
        let word = &times.points[0].contributors[0].distribution;
        prop_assert_eq!(word == "triangular", (shape == "rectangular" && n == 2) || (shape == "triangular" && n == 1));
    }
}
