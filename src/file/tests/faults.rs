//! Faults of structure outside of the evidence: keys, forms, versions, choices.

use super::assert_faults;

/// A budget that is right, before and after a contributor and further keys.
const HEAD: &str = "surebound: 1\ntitle: T\nmeasurand: {symbol: E, name: N, unit: µm}\n";
const TAIL: &str = "contributors: [{name: A, step: 1 µm}]\n";

/// The faults of a budget that has `lines` from line 4 on.
#[track_caller]
fn assert_budget(lines: &str, expected: &[&str]) {
    assert_faults(&format!("{HEAD}{lines}\n{TAIL}"), expected);
}

#[track_caller]
fn assert_section(lines: &str, expected: &[&str]) {
    let head = "surebound_worksheet: 1\ninstrument: {id: M-1}\n";
    assert_faults(&format!("{head}{lines}\n"), expected);
}

#[test]
fn asks_for_the_version() {
    let rest = &HEAD[13..];
    let expected = ["1:1: `surebound` is missing in the budget | write `surebound: 1`"];
    assert_faults(&format!("{rest}{TAIL}"), &expected);
    let later = "1:12: `surebound: 2` is a later version of the format: this program reads version 1 | \
                 use a later version of the program";
    assert_faults(&format!("surebound: 2\nnew: key\n{TAIL}"), &[later]);
    for wrong in ["1.0", "v1", "01", "\"-2\""] {
        let text = wrong.trim_matches('"');
        let column = if text == wrong { 12 } else { 13 };
        let what = match wrong {
            "01" => "1:12: `surebound` is `01`: a number with leading zeros is octal to some YAML \
                     readers | write `1`"
                .to_string(),
            _ => format!(
                "1:{column}: `{text}` is no version of the format: this program reads version 1 | write \
                 `surebound: 1`"
            ),
        };
        assert_faults(&format!("surebound: {wrong}\n{rest}{TAIL}"), &[&what]);
    }
    let worksheet = ["1:1: `surebound_worksheet` is missing in the worksheet | write \
                      `surebound_worksheet: 1`"];
    let text = "instrument: {id: M-1}\nsections: [{budget: a.yaml, readings: {1: 1}}]\n";
    assert_faults(text, &worksheet);
}

#[test]
fn tells_a_worksheet_from_a_budget() {
    let reading = crate::file::budget("a.yaml", b"# x\nsurebound_worksheet: 1\n");
    let shown = "a.yaml:2:1: the file holds a worksheet: a budget is expected\n  surebound_worksheet: 1\nhelp: surebound judge a.yaml";
    assert_eq!(reading.source.render_all(&reading.faults), shown);
    let list = "1:1: the file holds no budget: a map is expected | begin with `surebound: 1`";
    assert_faults("- 1\n", &[list]);
}

#[test]
fn names_the_nearest_key_or_those_that_are_known() {
    assert_budget(
        "tolerence: ±1 µm",
        &["4:1: unknown key `tolerence` in the budget | write `tolerance`"],
    );
    assert_budget(
        "display: {resolution: 1 µm}",
        &[
            "4:11: unknown key `resolution` in `display` | the only key here is `step`",
            "4:11: `step` is missing in `display` | write `step: 1 µm`",
        ],
    );
    assert_budget(
        "points: {symbol: L, unit: mm, at: [{at: 1, lable: x}, {at: 2, stacks: [1 mm]}]}",
        &[
            "4:44: unknown key `lable` in an entry of `at` | write `label`",
            "4:63: unknown key `stacks` in an entry of `at` | write `stack`",
        ],
    );
}

#[test]
fn asks_for_missing_keys_at_the_first_key_of_their_map() {
    assert_faults(
        "title: T\nsurebound: 1\nmeasurand:\n  unit: µm\n",
        &[
            "1:1: `contributors` is missing in the budget: at least one of `contributors`, \
             `observations` and `lines` is expected | write one of them, such as `contributors: \
             [{name: Digital step, owner: instrument, step: 1 µm}]`",
            "4:3: `symbol` is missing in `measurand` | write `symbol: E`",
            "4:3: `name` is missing in `measurand` | write `name: Error of indication`",
        ],
    );
    assert_budget(
        "decision: {}",
        &["4:1: `rule` is missing in `decision` | write `rule: guarded`"],
    );
}

#[test]
fn refuses_the_wrong_form() {
    let cases = [
        ("units: HRC", "4:8: `units` is a single value: a list is expected | write `units: [HRC]`"),
        ("units:", "4:7: `units` is empty: a list is expected | write `units: [HRC]`"),
        (
            "model: [a]",
            "4:8: `model` is a list: a single value is expected | write `model: reading - block`",
        ),
        (
            "coverage: 95 %",
            "4:11: `coverage` is a single value: a map is expected | write `coverage: {probability: 95.45 %, method: t}`",
        ),
        (
            "units: [[HRC]]",
            "4:9: an entry of `units` is a list: a single value is expected | write `units: [HRC]`",
        ),
        ("units: {a: b}", "4:8: `units` is a map: a list is expected | write `units: [HRC]`"),
        (
            "linked: [A]",
            "4:10: an entry of `linked` is a single value: a map is expected | write `linked: [{between: [Reference A, Reference B], r: 0.8}]`",
        ),
    ];
    for (line, expected) in cases {
        assert_budget(line, &[expected]);
    }
}

#[test]
fn refuses_empty_lists() {
    let rule = "at least one entry is expected";
    assert_budget(
        "units: []",
        &[&format!("4:8: `units` is an empty list: {rule} | write `units: [HRC]`")],
    );
    assert_budget(
        "points: {symbol: L, unit: mm, at: []}",
        &[&format!(
            "4:35: `at` is an empty list: {rule} | write `at: [2.5, 5.1, {{at: 25, label: upper end}}]`"
        )],
    );
    assert_faults(
        &format!("{HEAD}contributors: []\n"),
        &[&format!(
            "4:15: `contributors` is an empty list: {rule} | write `contributors: [{{name: Digital step, owner: instrument, step: 1 µm}}]`"
        )],
    );
    assert_section(
        "sections: []",
        &[&format!(
            "3:11: `sections` is an empty list: {rule} | write `sections: [{{budget: outside-micrometer.yaml, readings: {{2.5: 2.500, 5.1: [5.101, 5.100]}}}}]`"
        )],
    );
}

#[test]
fn says_what_does_not_go_together_in_a_population() {
    let cases = [
        (
            "population: {prior: true}",
            "4:14: `population` has none of its keys: exactly one of `in_tolerance`, `sd`, `limits` and `history` is expected | write one of them, such as `in_tolerance: 95 %`",
        ),
        (
            "population: {sd: 1 µm, mean: 0 µm, as: actual}",
            "4:36: `as` has no use here: `as` goes with `in_tolerance` | leave `as` out",
        ),
        (
            "population: {sd: 1 µm, limits: ±2 µm}",
            "4:24: `limits` beside `sd`: exactly one of the two is expected | leave one out",
        ),
    ];
    for (line, expected) in cases {
        assert_budget(line, &[expected]);
    }
}

#[test]
fn names_the_known_words() {
    let rules = "it is `simple`, `guarded`, `relaxed`, `three-way` or `four-way`";
    let cases = [
        ("decision: {rule: gaurded}", format!("4:18: `gaurded` is no word for `rule`: {rules} | write `guarded`")),
        ("decision: {rule: strict}", format!("4:18: `strict` is no word for `rule`: {rules} | write `rule: guarded`")),
        ("decision: {rule: simple, uncertainty: al}", "4:39: `al` is no word for `uncertainty`: it is `all` or `laboratory` | write `all`".into()),
        ("order: 2", "4:8: `2` is no word for `order`: it is `first`, `second` or `auto` | write `order: auto`".into()),
        ("coverage: {method: T}", "4:20: `T` is no word for `method`: it is `t`, `fixed`, `exact` or `monte_carlo` | write `t`".into()),
        ("coverage: {dof: interpolated}", "4:17: `interpolated` is no word for `dof`: it is `truncate` or `interpolate` | write `interpolate`".into()),
    ];
    for (line, expected) in cases {
        assert_budget(line, &[&expected]);
    }
    assert_section(
        "checks: [{what: Lock, ok: yes}]\nsections: [{budget: a.yaml, readings: {1: 1}}]",
        &[
            "3:27: `yes` is no word for `ok`: it is `true`, `false` or `not applicable` | write `true`",
        ],
    );
}

#[test]
fn wants_exactly_one_guard_band() {
    let list = "exactly one of `times_U`, `width`, `specific_risk`, `consumer_risk` and `from_tur` is expected";
    assert_budget(
        "decision: {rule: simple, guard_band: {}}",
        &[&format!(
            "4:26: `guard_band` has none of its keys: {list} | write one of them, such as `times_U: 1`"
        )],
    );
    assert_budget(
        "decision: {rule: simple, guard_band: {width: 1 µm, times_U: 1}}",
        &["4:52: `times_U` beside `width`: exactly one of the two is expected | leave one out"],
    );
}

#[test]
fn wants_a_side_of_a_tolerance_and_steps_alone() {
    assert_budget(
        "tolerance: {}",
        &[
            "4:1: `tolerance` has none of its keys: at least one of `lower`, `upper` and `by_point` \
           is expected | write one of them, such as `lower: 5 N`",
        ],
    );
    assert_budget(
        "tolerance: {upper: 1 µm, by_point: [{up_to: 1 mm, limits: ±1 µm}]}",
        &[
            "4:13: `upper` beside `by_point`: `by_point` stands alone | leave `upper` out, or put it \
           into the steps' `limits`",
        ],
    );
    assert_budget(
        "tolerance: {by_point: [{up_to: 1 mm, limits: {by_point: []}}]}",
        &[
            "4:47: unknown key `by_point` in `limits` | the keys here are `lower` and `upper`",
            "4:47: `limits` has none of its keys: at least one of `lower` and `upper` is expected | \
           write one of them, such as `lower: 5 N`",
        ],
    );
}

#[test]
fn gives_a_stack_its_joints() {
    assert_budget(
        "points: {symbol: L, unit: mm, at: [{at: 9, joints: 1, stack: [1 mm, 8 mm]}]}",
        &[
            "4:44: `joints` beside `stack`: a stack has one joint less than blocks | leave `joints` out",
        ],
    );
}

#[test]
fn wants_readings_or_errors_in_a_section() {
    assert_section(
        "sections: [{budget: a.yaml, readings: {1: 1}, errors: {1: 0}}]",
        &["3:47: `errors` beside `readings`: exactly one of the two is expected | leave one out"],
    );
    assert_section(
        "sections: [{budget: a.yaml}]",
        &[
            "3:13: an entry of `sections` has none of its keys: exactly one of `readings` and `errors` \
           is expected | write one of them, such as `readings: {2.5: 2.500, 5.1: [5.101, 5.100]}`",
        ],
    );
    assert_section(
        "sections: [{budget: a.yaml, readings: {1: [], 2: ~}}]",
        &[
            "3:43: `1` is an empty list: at least one entry is expected | write a value, or leave the key out",
            "3:50: `2` is `~`, which is nothing: a value is expected | write a value, or leave the key out",
        ],
    );
}
