//! All points together: covariances through what points share, and the probability that all true errors
//! lie within tolerance, against references that share no code (`tests/scripts/covariance.py`,
//! `tests/scripts/together.py`), against theory and by hand.

#[path = "common/show.rs"]
mod show;

use nalgebra::{DMatrix, SymmetricEigen};
use show::{budget, evaluated, shown};
use surebound::budget::parts::Text;
use surebound::budget::{Budget, Scope};
use surebound::decide::AllPoints;
use surebound::decide::readings::{Readings, Row};
use surebound::record::{Record, Section, from};

const LINEAR: &str = include_str!("together/linear.yaml");
const THERMAL: &str = include_str!("together/thermal.yaml");
const SQUARE: &str = include_str!("together/square.yaml");
const ZERO: &str = include_str!("together/zero.yaml");
const NORMAL: &str = include_str!("together/normal.yaml");
const BENCH: &str = include_str!("together/bench.yaml");

/// Returns the lines of a table, without its head, as cells.
fn cells(table: &'static str) -> impl Iterator<Item = Vec<&'static str>> {
    table.lines().skip(1).map(|line| line.split(',').collect())
}

fn number(text: &str) -> f64 {
    text.parse().expect("a number")
}

/// Returns the section of `show --together`.
fn section(text: &str) -> Section {
    let budget = budget(text);
    let evaluation = evaluated(&budget);
    let record = Record::try_from(&evaluation);
    let mut section = record.expect("a record").sections.remove(0);
    from::add_correlations(&mut section, &evaluation).expect("all derivatives exist");
    section
}

fn matrix(section: &Section, scope: Scope) -> &Vec<Vec<f64>> {
    let found = match scope {
        Scope::All => &section.covariance,
        Scope::Laboratory => &section.laboratory_covariance,
    };
    found.as_ref().expect("a covariance")
}

fn correlation(section: &Section, scope: Scope) -> &Vec<Vec<Option<f64>>> {
    let found = match scope {
        Scope::All => &section.correlation,
        Scope::Laboratory => &section.laboratory_correlation,
    };
    found.as_ref().expect("a correlation")
}

/// Judges errors in the measurand's unit, one per point, or none where the text is empty.
fn judged(budget: &Budget, errors: &[&str]) -> AllPoints {
    let evaluation = evaluated(budget);
    let at = budget.points().list.iter().map(|it| it.at.as_ref().expect("a value").text());
    let rows: Vec<Row> = at
        .zip(errors)
        .filter(|it| !it.1.is_empty())
        .map(|(at, error)| Row {
            point: Text::from(at.as_str()),
            values: vec![Text::from(*error)],
            is_error: true,
        })
        .collect();
    let readings = Readings::from_rows(budget, &rows).expect("readings");
    evaluation.judge(&readings).expect("a judgement").together()
}

/// numpy: J·Σ·Jᵀ over contributors × points, and exact covariances of products and squares. Sums of a
/// dozen products of doubles: 1e-14 of both u is ten times what rounding can do.
/// Method: M63.
/// Method: M64.
#[test]
fn covariances_agree_with_numpy() {
    let sections = [("linear", LINEAR), ("thermal", THERMAL), ("square", SQUARE)];
    let sections = sections.map(|(name, text)| (name, section(text)));
    let mut seen = 0;
    for row in cells(include_str!("data/covariance.csv")) {
        let section = &sections.iter().find(|it| it.0 == row[0]).expect("a budget").1;
        let scope = if row[1] == "all" { Scope::All } else { Scope::Laboratory };
        let (p, q) = (number(row[2]) as usize, number(row[3]) as usize);
        let (found, expected) = (matrix(section, scope), number(row[4]));
        let size = (found[p][p] * found[q][q]).sqrt();
        let off = (found[p][q] - expected).abs();
        assert!(off <= 1e-14 * size, "{row:?}: {} instead of {expected}", found[p][q]);
        seen += 1;
    }
    assert_eq!(seen, 54);
}

/// What the test before rests on: both orders of terms are at work.
#[test]
fn the_second_order_is_in_use_where_products_are_compared() {
    for (text, used) in [(LINEAR, false), (THERMAL, true), (SQUARE, true)] {
        let budget = budget(text);
        let evaluation = evaluated(&budget);
        assert!(evaluation.points().iter().all(|it| it.all.second_order_used == used));
    }
}

/// By hand: a setting standard that is n times in a point's stack counts 1 − n times, as it was used
/// once at zero. It cancels where n = 1, turns round where n = 2, and two points have (1−n)(1−m)·u² in
/// common; a block of another name at each point has nothing in common.
#[test]
fn a_standard_used_twice_cancels_or_adds_by_the_model_alone() {
    let text = "surebound: 1\ntitle: t\nmeasurand: {symbol: E, name: E, unit: µm}\n\
        points: {symbol: L, unit: mm, at: [{at: 25, n: 0}, {at: 50, n: 1}, {at: 75, n: 2}, {at: 100, n: 3}]}\n\
        model: reading - (n * standard + wrung) + standard\n\
        estimates: {standard: 25 mm, wrung: L}\ncontributors:\n\
        - {name: S, adds_to: standard, standard_uncertainty: 0.2 µm, shared: true}\n\
        - {name: W, adds_to: wrung, standard_uncertainty: 0.1 µm}\n";
    let section = section(text);
    let found = matrix(&section, Scope::All);
    assert_eq!(found.len(), 4);
    for (n, row) in found.iter().enumerate() {
        for (m, entry) in row.iter().enumerate() {
            let factor = (1.0 - n as f64) * (1.0 - m as f64);
            let own = if n == m { 0.01 } else { 0.0 };
            let expected = factor * 0.04 + own;
            assert!((entry - expected).abs() < 1e-15, "{n} {m}: {entry}");
        }
    }
}

/// Symmetric to the bit, u² on the diagonal, within ±1, and no eigenvalue below what rounding of a
/// matrix of this size can bring.
#[test]
fn matrices_are_symmetric_and_positive_semidefinite() {
    for text in [LINEAR, THERMAL, SQUARE, ZERO, NORMAL, BENCH] {
        let section = section(text);
        for scope in Scope::BOTH {
            let (covariance, correlation) = (matrix(&section, scope), correlation(&section, scope));
            let n = covariance.len();
            for p in 0..n {
                let u = match scope {
                    Scope::All => section.points[p].test.all.standard_uncertainty,
                    Scope::Laboratory => section.points[p].test.laboratory.standard_uncertainty,
                };
                assert!((covariance[p][p] / (u * u) - 1.0).abs() < 1e-14);
                assert_eq!(correlation[p][p], Some(1.0));
                for q in 0..n {
                    assert_eq!(covariance[p][q].to_bits(), covariance[q][p].to_bits());
                    assert_eq!(correlation[p][q], correlation[q][p]);
                    assert!(correlation[p][q].is_some_and(|it| it.abs() <= 1.0));
                }
            }
            let r = DMatrix::from_fn(n, n, |p, q| correlation[p][q].expect("u is above 0"));
            let least = SymmetricEigen::new(r).eigenvalues.min();
            assert!(least > -1e-14 * n as f64, "{least} in {}", section.budget.title);
        }
    }
}

/// The order of contributors and the unit of the measurand change nothing but rounding.
#[test]
fn correlations_do_not_depend_on_order_or_unit() {
    let reordered = |text: &str| {
        let (head, tail) = text.split_once("contributors:\n").expect("contributors");
        let end = tail
            .find("\nlinked")
            .or_else(|| tail.find("\ntolerance"))
            .map_or(tail.len(), |it| it + 1);
        let mut lines: Vec<&str> = tail[..end].lines().collect();
        lines.reverse();
        format!("{head}contributors:\n{}\n{}", lines.join("\n"), &tail[end..])
    };
    for text in [LINEAR, THERMAL, SQUARE, ZERO, NORMAL, BENCH] {
        let one = section(text);
        let others = [
            (section(&reordered(text)), 1.0),
            (section(&text.replace("name: Error, unit: µm", "name: Error, unit: nm")), 1e6),
        ];
        for (other, factor) in others {
            for scope in Scope::BOTH {
                let (a, b) = (matrix(&one, scope), matrix(&other, scope));
                for (p, q) in (0..a.len()).flat_map(|p| (0..a.len()).map(move |q| (p, q))) {
                    let size = (a[p][p] * a[q][q]).sqrt();
                    assert!((b[p][q] / factor - a[p][q]).abs() < 1e-13 * size, "{p} {q}");
                }
            }
        }
    }
}

/// A point whose contributors all vanish has no correlation with any other; unknown is not zero.
#[test]
fn where_u_is_zero_there_is_no_correlation() {
    let text = "surebound: 1\ntitle: t\nmeasurand: {symbol: E, name: E, unit: µm}\n\
        points: {symbol: L, unit: mm, at: [0, 10]}\ncontributors:\n\
        - {name: S, standard_uncertainty: \"0.1 µm/mm * L\", shared: true}\n";
    let section = section(text);
    let nothing = vec![vec![None, None], vec![None, Some(1.0)]];
    assert_eq!(correlation(&section, Scope::All), &nothing);
    assert_eq!(matrix(&section, Scope::All)[0], [0.0, 0.0]);
}

/// scipy by direct quadrature and `multivariate_normal` (errors as the script states them), numpy by a
/// simulation of 40 million instruments. Allowed: the reference's bound, or four of its standard errors
/// (a false alarm in 4 comparisons below 3e-4), and the error that the program states.
/// Method: M65.
/// Method: M66.
#[test]
fn probabilities_agree_with_quadrature_and_simulation() {
    let mut seen = 0;
    for row in cells(include_str!("data/together.csv")) {
        let text = match row[0] {
            "zero" => ZERO,
            "normal" => NORMAL,
            _ => BENCH,
        };
        let budget = budget(text);
        let errors: Vec<&str> = row[2].split(' ').collect();
        let found = judged(&budget, &errors);
        let scope = if row[1] == "all" { Scope::All } else { Scope::Laboratory };
        let joint = found.scope(scope).expect("a probability");
        let times = if row[0] == "bench" { 4.0 } else { 1.0 };
        let off = (joint.probability - number(row[3])).abs();
        assert!(off <= times * number(row[5]) + joint.error, "{row:?}: {joint:?}");
        let off = (joint.independent_product - number(row[4])).abs();
        assert!(off <= number(row[6]) + joint.independent_error, "{row:?}: {joint:?}");
        // What the lattice is asked for; three digits are read, and the simulation is no better.
        assert!(joint.error <= 3e-5, "{row:?}: {joint:?}");
        assert!(joint.independent_error <= 5e-5, "{row:?}: {joint:?}");
        // What the reference itself is there for: shared contributors matter.
        assert!(joint.probability > joint.independent_product + 1e-3);
        seen += 1;
    }
    assert_eq!(seen, 6);
}

/// Theory: with nothing shared the probability is the product; with all shared, alike at all points, it
/// is that of the worst points on either side; the laboratory's part has nothing of the instrument's.
#[test]
fn nothing_shared_is_a_product_and_all_shared_is_the_worst_of_either_side() {
    let text = |shared: &str| {
        format!(
            "surebound: 1\ntitle: t\nmeasurand: {{symbol: E, name: E, unit: µm}}\n\
             points: {{symbol: L, unit: mm, at: [1, 2, 3]}}\ncontributors:\n\
             - {{name: S, owner: instrument, standard_uncertainty: 1 µm{shared}}}\n\
             tolerance: ±2 µm\ndecision: {{rule: simple, uncertainty: all}}\n"
        )
    };
    let errors = ["0", "1", "1.5"];
    let apart = judged(&budget(&text("")), &errors);
    let joint = apart.all.expect("a probability");
    assert!((joint.probability - joint.independent_product).abs() < 1e-14);
    // scipy.stats.norm: cdf(0.5) − cdf(−2), as the points with errors of 1.5 µm and 0 µm leave.
    let worst = 0.668_712_329_325_833_7;
    let together = judged(&budget(&text(", shared: true")), &errors);
    let joint = together.all.expect("a probability");
    assert!((joint.probability - worst).abs() < 1e-12, "{joint:?}");
    let laboratory = together.laboratory.expect("a probability");
    assert_eq!((laboratory.probability, laboratory.independent_product), (1.0, 1.0));
}

#[test]
fn a_point_without_a_reading_leaves_the_whole_undetermined() {
    let found = judged(&budget(ZERO), &["0", "0", "", "0", "0"]);
    assert_eq!((found.points, found.all, found.laboratory), (5, None, None));
    assert_eq!(found.reason, "there is no reading at 15 mm");
}

/// They are quadratic in points: nobody gets them unasked.
#[test]
fn covariances_are_made_only_when_asked_for() {
    let section = shown(LINEAR);
    assert_eq!((section.covariance, section.correlation), (None, None));
    assert_eq!((section.laboratory_covariance, section.together), (None, None));
}

/// What each point has for itself is dear: beyond 200 points nothing is stated, with the reason.
#[test]
fn says_that_too_many_points_are_not_looked_at_together() {
    let at: Vec<String> = (1..=201).map(|it| it.to_string()).collect();
    let text = ZERO.replace("[5, 10, 15, 20, 25]", &format!("[{}]", at.join(", ")));
    let found = judged(&budget(&text), &["0"; 201]);
    assert_eq!((found.points, found.all), (201, None));
    assert_eq!(found.reason, "it is worked out for up to 200 points");
}

/// A shape that is followed is no finding; a partly shared rectangle is.
#[test]
fn says_what_counts_as_normal_although_it_is_not() {
    assert!(judged(&budget(ZERO), &["0"; 5]).findings.is_empty());
    assert!(judged(&budget(NORMAL), &["0"; 4]).findings.is_empty());
    let found = judged(
        &budget(&ZERO.replace("step: 1 µm, shared: true", "step: 1 µm, shared: 0.5")),
        &["0"; 5],
    );
    let about: Vec<(&str, &str)> =
        found.findings.iter().map(|it| (it.code, it.about.as_str())).collect();
    assert_eq!(about, [("together-as-normal", "Zero")]);
}
