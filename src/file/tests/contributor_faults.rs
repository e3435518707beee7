//! Faults of structure of a contributor and its evidence.

use super::{assert_faults, shown};
use crate::file::budget;

const HEAD: &str =
    "surebound: 1\ntitle: T\nmeasurand: {symbol: E, name: N, unit: µm}\ncontributors:\n";
const NINE: &str = "`readings`, `scatter`, `limits`, `full_range`, `certificate`, \
                    `standard_uncertainty`, `step`, `block_grade` and `thermal`";

/// The faults of a budget with one contributor in line 5, whose keys begin in column 15.
#[track_caller]
fn assert_contributor(keys: &str, expected: &[&str]) {
    assert_faults(&format!("{HEAD}  - {{name: A, {keys}}}\n"), expected);
}

#[test]
fn wants_exactly_one_kind_of_evidence() {
    assert_contributor(
        "owner: laboratory",
        &[&format!(
            "5:6: an entry of `contributors` has no evidence: exactly one of {NINE} is \
                    expected | write one of them, such as `limits: ±0.5 µm`"
        )],
    );
    assert_contributor(
        "step: 1 µm, limits: ±1 µm",
        &[
            "5:27: `limits` beside `step`: there is exactly one kind of evidence | leave one out, or \
           write two contributors",
        ],
    );
}

#[test]
fn says_where_a_key_belongs() {
    let cases = [
        (
            "certificate: 1 µm, k: 2, shape: normal",
            "5:40: `shape` does not go with `certificate`: it belongs to `limits` and `full_range` | leave `shape` out",
        ),
        (
            "step: 1 µm, k: 2",
            "5:27: `k` does not go with `step`: it belongs to `certificate` | leave `k` out",
        ),
        (
            "readings: [1], unit: µm, use: single, dof: 3",
            "5:53: `dof` does not go with `readings`: it goes with any evidence but `readings` and `thermal` | leave `dof` out",
        ),
    ];
    for (keys, expected) in cases {
        assert_contributor(keys, &[expected]);
    }
}

#[test]
fn asks_for_what_the_evidence_needs() {
    let cases = [
        (
            "readings: [1], unit: µm",
            "5:6: `use` is missing beside `readings` | write `use: single`",
        ),
        ("scatter: 1 µm", "5:6: `dof` is missing beside `scatter` | write `dof: 18`"),
        (
            "block_grade: 0",
            "5:6: `table` is missing beside `block_grade` | write `table: ISO 3650`",
        ),
        (
            "certificate: 1 µm",
            "5:6: `k` or `coverage` is missing beside `certificate`: an expanded uncertainty means nothing without its coverage factor | write `k: 2` or `coverage: 95 %`, as the certificate says",
        ),
    ];
    for (keys, expected) in cases {
        assert_contributor(keys, &[expected]);
    }
}

#[test]
fn refuses_two_keys_that_say_the_same() {
    let cases = [
        (
            "step: 1 µm, sensitivity: 2, adds_to: b",
            "5:43: `adds_to` beside `sensitivity`: with `adds_to` the model gives the sensitivity | leave one out",
        ),
        (
            "scatter: 1 µm, dof: 3, u_known_within: 9 %",
            "5:38: `u_known_within` beside `dof`: each gives the degrees of freedom | leave one out",
        ),
        (
            "certificate: 1 µm, k: 2, coverage: 95 %",
            "5:40: `coverage` beside `k`: each gives the coverage factor | leave one out",
        ),
    ];
    for (keys, expected) in cases {
        assert_contributor(keys, &[expected]);
    }
}

#[test]
fn gives_top_and_coverage_to_their_shapes_only() {
    let cases = [
        (
            "limits: ±1 µm, top: 0.5",
            "5:30: `top` does not go with `shape: rectangular`: it belongs to `shape: trapezoidal` | write `shape: trapezoidal`, or leave `top` out",
        ),
        (
            "full_range: 1 µm, shape: arcsine, coverage: 95 %",
            "5:49: `coverage` does not go with `shape: arcsine`: it belongs to `shape: normal` | write `shape: normal`, or leave `coverage` out",
        ),
    ];
    for (keys, expected) in cases {
        assert_contributor(keys, &[expected]);
    }
}

#[test]
fn names_the_words_of_a_contributor() {
    let cases = [
        (
            "limits: ±1 µm, shape: rectangle",
            "5:37: `rectangle` is no word for `shape`: it is `rectangular`, `triangular`, `trapezoidal`, `arcsine` or `normal` | write `rectangular`",
        ),
        (
            "step: 1 µm, owner: lab",
            "5:34: `lab` is no word for `owner`: it is `laboratory` or `instrument` | write `owner: instrument`",
        ),
        (
            "block_grade: 0, table: ISO3650",
            "5:38: `ISO3650` is no word for `table`: it is `ISO 3650` or `ASME B89.1.9` | write `ISO 3650`",
        ),
        (
            "readings: [1], use: simple",
            "5:35: `simple` is no word for `use`: it is `single` or `result` | write `single`",
        ),
        (
            "step: 1 µm, shared: yes",
            "5:35: `yes` is no word for `shared`: it is `true` or `false`, or a number | write `true`",
        ),
    ];
    for (keys, expected) in cases {
        assert_contributor(keys, &[expected]);
    }
}

#[test]
fn leaves_thermal_alone() {
    let thermal =
        "thermal: {alpha: 1 K^-1, alpha_difference: ±1 K^-1, difference: ±1 K, from_20: ±1 K}";
    let head = format!("{HEAD}  - name: A\n    {thermal}\n");
    assert_faults(&format!("{head}    owner: instrument\n    due: 2027-01-01\n"), &[]);
    let rule = "beside `thermal` stand only `name`, `owner`, `shared`, `basis`, `due` and `note`";
    for line in ["times: 2", "adds_to: b", "dof: 3", "shape: normal", "largest_of: g"] {
        let key = line.split(':').next().unwrap();
        let expected =
            format!("7:5: `{key}` does not go with `thermal`: {rule} | leave `{key}` out");
        assert_faults(&format!("{head}    {line}\n"), &[&expected]);
    }
    assert_faults(
        &head.replace("±1 K, from_20: ±1 K", "{step: 1 K, k: 2}"),
        &[
            "6:15: `from_20` is missing in `thermal` | write `from_20: ±1 K`",
            "6:81: `k` does not go with `step`: it belongs to `certificate` | leave `k` out",
        ],
    );
    assert_faults(
        &head.replace("difference: ±1 K,", "difference: {note: x},"),
        &[
            "6:70: unknown key `note` in `difference` | the keys here are `readings`, `scatter`, \
           `limits`, `full_range`, `certificate`, `standard_uncertainty`, `step`, `unit`, `use`, \
           `groups`, `mean_of`, `shape`, `top`, `limits_known_within`, `coverage`, `k`, `estimate`, `dof` and \
           `u_known_within`",
            "6:70: `difference` has no evidence: exactly one of `readings`, `scatter`, `limits`, \
           `full_range`, `certificate`, `standard_uncertainty` and `step` is expected | write one of \
           them, such as `limits: ±0.5 µm`",
        ],
    );
}

#[test]
fn shows_all_faults_at_once_and_keeps_the_rest() {
    let text = format!(
        "{HEAD}  - {{name: A, owner: me, readings: [1], unit: µm}}\n  - {{nam: B}}\n  - {{name: C, step: 1 µm}}\n"
    );
    assert_eq!(shown(&text).len(), 4);
    let parts = budget("a.yaml", text.as_bytes()).parts.unwrap();
    assert!(parts.incomplete);
    let names: Vec<&str> = parts.contributors.iter().map(|one| one.name.text.as_str()).collect();
    assert_eq!(names, ["A", "C"]);
}
