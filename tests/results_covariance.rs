//! Covariances between the results of invented budgets against numpy.
//!
//! `tests/data/results_covariance.json` is written by `tests/scripts/results_covariance.py`: linear models
//! by C·V·Cᵀ, nonlinear ones with numerical derivatives at 40 digits. Numpy sums up to 36 products of
//! doubles that may cancel, so a covariance is compared with 1e-13 of u·u, about 500 roundings.

#[path = "common/show.rs"]
mod show;

use serde::Deserialize;

#[derive(Deserialize)]
struct Case {
    name: String,
    budget: String,
    estimates: Vec<f64>,
    covariance: Vec<Vec<f64>>,
}

#[test]
fn covariances_of_linear_and_nonlinear_models_agree_with_numpy() {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/data/results_covariance.json");
    let text = std::fs::read_to_string(path).expect("a committed file");
    let cases: Vec<Case> = serde_json::from_str(&text).expect("written by the script");
    assert_eq!(cases.len(), 20);
    let mut worst = 0.0f64;
    for case in &cases {
        let point = show::shown(&case.budget).points.remove(0);
        let results = point.results.expect("the budget has results");
        let mut estimates = vec![point.estimate];
        let mut us = vec![point.standard_uncertainty];
        estimates.extend(results.figures.iter().map(|it| it.estimate));
        us.extend(results.figures.iter().map(|it| it.standard_uncertainty));
        for (got, expected) in estimates.iter().zip(&case.estimates) {
            assert!((got - expected).abs() <= 1e-13 * expected.abs().max(1.0), "{}", case.name);
        }
        assert_eq!(case.covariance.len(), us.len());
        for (a, row) in case.covariance.iter().enumerate() {
            for (b, expected) in row.iter().enumerate() {
                let scale = (case.covariance[a][a] * case.covariance[b][b]).sqrt();
                let off = (results.covariance[a][b] - expected).abs() / scale;
                worst = worst.max(off);
                assert!(off <= 1e-13, "{}: {a} {b}: off by {off:e}", case.name);
                let r = results.correlation[a][b].expect("all have an uncertainty");
                assert!((r - expected / scale).abs() <= 2e-13, "{}: {a} {b}: {r}", case.name);
            }
            assert!((us[a] / row[a].sqrt() - 1.0).abs() <= 1e-13, "{}: u {a}", case.name);
        }
    }
    assert!(worst > 0.0, "two ways of computing never agree to the last bit of all entries");
}
