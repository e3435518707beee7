//! Whole files: nothing in them is lost or silently ignored, and a second reader sees the same.

use std::collections::BTreeSet;

use super::shown;
use crate::budget::parts::{EvidenceParts, GuardBandParts, ThermalPart, ToleranceParts, UseParts};
use crate::file::check::{Checker, Named};
use crate::file::keys::{BUDGET, Keys, WORKSHEET, all_maps};
use crate::file::yaml::{self, Content, Node};
use crate::file::{budget, worksheet};

/// A budget with every key of the table.
pub(in crate::file) const BUDGET_TEXT: &str = "\
surebound: 1
title: Outside micrometer 0 mm to 25 mm
document: {number: CP-031, revision: 2, approved: yes}
measurand:
  symbol: E
  name: Error of indication
  definition: Indicated length minus length of the gauge block
  unit: µm
  bounds: {lower: -1 mm, upper: 1 mm}
points:
  symbol: L
  unit: mm
  at:
    - 2.50
    - {at: 9.005, stack: [1.005 mm, 8 mm], tolerance: {upper: 3 µm}}
    - {at: 25, label: upper end, joints: 1, wear: 0.2 µm}
model: reading - block
results:
  - {symbol: E_rel, name: Relative error, definition: Error per length, unit: µm/m, model: E / L}
estimates: {block: L + joints * wear, joints: 0, wear: 0 µm}
contributors:
  - name: Gauge block
    adds_to: block
    block_grade: 00
    table: ISO 3650
    length: L
    calibrated_with: 0.05 µm
    basis: Block set GB-07
    due: 2027-03-01
    note: yes
  - name: Digital step
    owner: instrument
    step: 1 µm
    shared: true
  - name: Repeatability
    owner: instrument
    readings: [0, 1, -1.0]
    unit: µm
    use: single
    largest_of: reading scatter
  - {name: Mean, readings: [1 µm, 2 µm], use: {mean_of: 3}, shared: 0.5}
  - {name: Pooled, scatter: 0.7 µm, mean_of: 3, dof: 18, times: 2}
  - {name: Faces, limits: ±0.5 µm, shape: triangular, sensitivity: 2, u_known_within: 25 %}
  - {name: Force, limits: [-1 µm, 2 µm], shape: trapezoidal, top: 0.5}
  - {name: Range, full_range: 1 µm, shape: normal, coverage: 95 %}
  - {name: Scale, certificate: 0.06 µm, k: 2, estimate: 0.1 µm, length: stack}
  - {name: Plate, certificate: 0.06 µm, coverage: 95 %}
  - {name: Other, standard_uncertainty: 0.1 µm}
  - name: Thermal expansion
    thermal:
      length: L
      alpha: 11.5 µm/m/K
      alpha_difference: ±1 µm/m/K
      difference: {standard_uncertainty: 0.1 K, estimate: 0.2 K, dof: 9}
      from_20: {readings: [0.1, 0.2], unit: K, use: result}
  - {name: Band, limits: ±1 µm, limits_known_within: 10 %}
  - {name: Operators, readings: [[0, 1], [1, 2]], unit: µm, use: single, groups: components}
linked:
  - {between: [Scale, Plate], r: 0.8}
observations:
  - name: Air
    inputs: [t, p]
    units: [K, Pa]
    rows: [[0.10, 5], [0.20, 7]]
    owner: laboratory
    basis: Record 17
    due: 2027-03-01
    note: read together
lines:
  - name: Scale factor
    intercept: b0
    slope: b1
    residual: e
    x_values: [10, 20, 30]
    x_unit: mm
    x_from: 20
    y_values: [0.1, 0.2, 0.2]
    y_unit: µm
    y_uncertainty: [0.1, 0.1, 0.1]
  - {name: Drift, intercept: d0, slope: d1, x_values: [1, 2, 3], x_unit: h, y_values: [1, 2, 2], y_unit: µm, y_weights: [1, 4, 1]}
units: [HRC]
order: auto
coverage: {probability: 95.45 %, method: t, k: 2, dof: truncate}
rounding: {digits: 2}
display: {step: 1 µm}
tolerance:
  by_point:
    - {up_to: 10 mm, limits: ±4 µm}
    - {up_to: 25 mm, limits: {lower: -5 µm, upper: 5 µm}}
decision:
  rule: guarded
  guard_band: {times_U: 1}
  uncertainty: all
  requires: {tur: 4, scope: all, otherwise: simple}
  agreed: Order 5518, clause 4
repeatability: 1 µm
population: {limits: ±6 µm, shape: trapezoidal, top: 0.5, prior: false}
";

/// A worksheet with every key of the table.
pub(in crate::file) const WORKSHEET_TEXT: &str = "\
surebound_worksheet: 1
instrument: {id: M-118, description: Outside micrometer}
date: 2026-11-20
checks:
  - {what: Measuring faces clean, ok: true}
  - {what: Lock, ok: not applicable}
zero: [0.000, 0.001]
sections:
  - budget: outside-micrometer.yaml
    readings: {2.5: 2.500, 5.1: [5.101, 5.100], upper end: 25.000}
    take: worst
  - budget: depth.yaml
    errors: {10: 1}
";

#[test]
fn reads_a_whole_budget_without_fault() {
    let reading = budget("a.yaml", BUDGET_TEXT.as_bytes());
    assert_eq!(reading.source.render_all(&reading.faults), "");
    let parts = reading.parts.unwrap();
    assert!(!parts.incomplete);
    assert_eq!(parts.document[2].1.text, "yes");
    assert_eq!(parts.estimates[0].1.text, "L + joints * wear");
    let points = parts.points.unwrap().at;
    assert_eq!(points[0].at.text, "2.50");
    assert_eq!(points[1].stack.as_ref().unwrap().1[1].text, "8 mm");
    assert!(matches!(&points[1].tolerance, Some(ToleranceParts::Sides { lower: None, .. })));
    assert_eq!(points[2].keys[1].1.text, "0.2 µm");
    let Some(ToleranceParts::ByPoint(_, steps)) = parts.tolerance else { panic!("no steps") };
    assert!(matches!(&steps[1].limits, ToleranceParts::Sides { lower: Some(_), .. }));
    let band = parts.decision.unwrap().guard_band;
    assert!(matches!(band, Some(GuardBandParts::TimesU(text)) if text.text == "1"));
}

#[test]
fn reads_every_kind_of_evidence() {
    let contributors = budget("a.yaml", BUDGET_TEXT.as_bytes()).parts.unwrap().contributors;
    let evidence = |index: usize| &contributors[index].evidence.1;
    assert!(matches!(evidence(0), EvidenceParts::BlockGrade { grade, .. } if grade.text == "00"));
    assert!(matches!(evidence(1), EvidenceParts::Step(step) if step.text == "1 µm"));
    let EvidenceParts::Readings { values, usage, .. } = evidence(2) else { panic!("readings") };
    assert_eq!(values[2].text, "-1.0");
    assert!(matches!(usage, Some(UseParts::Word(word)) if word.text == "single"));
    let EvidenceParts::Readings { usage, .. } = evidence(3) else { panic!("readings") };
    assert!(matches!(usage, Some(UseParts::MeanOf(n)) if n.text == "3"));
    assert_eq!(contributors[4].dof.as_ref().unwrap().text, "18");
    assert_eq!(contributors[5].sensitivity.as_ref().unwrap().text, "2");
    let EvidenceParts::Limits { shape, .. } = evidence(6) else { panic!("limits") };
    assert_eq!(shape.top.as_ref().unwrap().text, "0.5");
    let EvidenceParts::FullRange { shape, .. } = evidence(7) else { panic!("full_range") };
    assert_eq!(shape.coverage.as_ref().unwrap().text, "95 %");
    let EvidenceParts::Certificate { k, coverage, .. } = evidence(9) else { panic!("U") };
    assert!(k.is_none() && coverage.is_some());
    let EvidenceParts::Thermal(thermal) = evidence(11) else { panic!("thermal") };
    let Some(ThermalPart::Evidence(part)) = &thermal.parts[2] else { panic!("difference") };
    assert_eq!(part.dof.as_ref().unwrap().text, "9");
}

#[test]
fn reads_a_whole_worksheet_without_fault() {
    let reading = worksheet("a.yaml", WORKSHEET_TEXT.as_bytes());
    assert_eq!(reading.source.render_all(&reading.faults), "");
    let parts = reading.parts.unwrap();
    assert_eq!(parts.instrument[1].1.text, "Outside micrometer");
    assert_eq!((parts.zero.len(), parts.checks[1].ok.text.as_str()), (2, "not applicable"));
    let values = &parts.sections[0].values;
    assert_eq!((values[1].1[0].text.as_str(), values[2].0.text.as_str()), ("5.101", "upper end"));
    assert!(parts.sections[1].are_errors && !parts.sections[0].are_errors);
}

/// The keys of the maps that have a fixed set, with the places of their first letters as
/// (line, column), and whether the map takes other keys too.
fn keys_of(node: &Node, at: &Keys, found: &mut Vec<(String, yaml::Entry, bool)>) {
    let Content::Mapping(entries) = &node.content else { return };
    for entry in entries {
        let key = at.get(&entry.key).or(at.rest.as_ref()).unwrap();
        if at.get(&entry.key).is_some() {
            found.push((entry.key.clone(), entry.clone(), at.rest.is_some()));
        }
        for keys in all_maps_of(key.forms) {
            let items: Vec<&Node> = match &entry.value.content {
                Content::Sequence(items) => items.iter().collect(),
                _ => vec![&entry.value],
            };
            items.into_iter().for_each(|item| keys_of(item, keys, found));
        }
    }
}

fn all_maps_of(forms: &'static [crate::file::keys::Form]) -> Vec<&'static Keys> {
    use crate::file::keys::Form;
    let maps = forms.iter().flat_map(|form| match form {
        Form::Map(keys) => vec![*keys],
        Form::List(items) => all_maps_of(items),
        _ => Vec::new(),
    });
    maps.collect()
}

#[test]
fn the_whole_files_hold_every_key() {
    for (text, root) in [(BUDGET_TEXT, &BUDGET), (WORKSHEET_TEXT, &WORKSHEET)] {
        let node = yaml::read("a.yaml", text.as_bytes()).1.unwrap();
        let mut found = Vec::new();
        keys_of(&node, root, &mut found);
        let found: BTreeSet<String> = found.into_iter().map(|(key, ..)| key).collect();
        // One of a choice shuts out the others.
        let outside = [
            "width",
            "specific_risk",
            "consumer_risk",
            "from_tur",
            "in_tolerance",
            "as",
            "sd",
            "mean",
            "history",
            "same_in_all",
        ];
        for keys in all_maps(root) {
            for key in keys.keys {
                let expected = !outside.contains(&key.name);
                assert_eq!(found.contains(key.name), expected, "{}.{}", keys.name, key.name);
            }
        }
    }
}

/// Renames each key in turn by a letter: an unknown key at its place, with the right one as help.
#[test]
fn ignores_no_key_silently() {
    for (text, root) in [(BUDGET_TEXT, &BUDGET), (WORKSHEET_TEXT, &WORKSHEET)] {
        let (source, node) = yaml::read("a.yaml", text.as_bytes());
        let mut found = Vec::new();
        keys_of(&node.unwrap(), root, &mut found);
        assert!(found.len() > 15);
        for (key, entry, other_keys) in found {
            let (line, column) = source.place(entry.key_origin);
            let mut lines: Vec<String> = text.lines().map(str::to_string).collect();
            let chars: Vec<char> = lines[line - 1].chars().collect();
            let end = column - 1 + key.chars().count();
            let rest: String = chars[end..].iter().collect();
            lines[line - 1] = format!("{}x{rest}", chars[..end].iter().collect::<String>());
            let shown = shown(&lines.join("\n"));
            let told = shown.iter().any(|fault| {
                fault.starts_with(&format!("{line}:{column}: unknown key `{key}x` in "))
                    && fault.ends_with(&format!(" | write `{key}`"))
            });
            // A map that takes other keys may take this one; then the missing key tells.
            let missing = format!("`{key}` is missing in ");
            let told = told || other_keys && shown.iter().any(|fault| fault.contains(&missing));
            assert!(told, "{key}: {shown:#?}");
            assert_eq!(shown.len(), 1, "{key}: {shown:#?}");
        }
    }
}

/// The same keys, order and texts as `serde_yaml` reads; what it takes for a number or a truth value
/// is compared as that.
#[test]
fn a_second_reader_sees_the_same() {
    let mut files = vec![BUDGET_TEXT.to_string(), WORKSHEET_TEXT.to_string()];
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("budgets");
    let shipped = std::fs::read_dir(folder).into_iter().flatten().flatten();
    let shipped = shipped.filter(|it| it.path().extension().is_some_and(|ending| ending == "yaml"));
    files.extend(shipped.map(|it| std::fs::read_to_string(it.path()).unwrap()));
    for text in files {
        let ours = yaml::read("a.yaml", text.as_bytes()).1.unwrap();
        compare(&ours, &serde_yaml::from_str(&text).unwrap());
    }
}

fn compare(ours: &Node, theirs: &serde_yaml::Value) {
    match (&ours.content, theirs) {
        (Content::Mapping(entries), serde_yaml::Value::Mapping(map)) => {
            assert_eq!(entries.len(), map.len());
            for (entry, (key, value)) in entries.iter().zip(map) {
                same_text(&entry.key, key);
                compare(&entry.value, value);
            }
        }
        (Content::Sequence(items), serde_yaml::Value::Sequence(list)) => {
            assert_eq!(items.len(), list.len());
            items.iter().zip(list).for_each(|(item, value)| compare(item, value));
        }
        (Content::Scalar(scalar), value) => same_text(&scalar.text, value),
        (ours, theirs) => panic!("{ours:?} is not {theirs:?}"),
    }
}

fn same_text(ours: &str, theirs: &serde_yaml::Value) {
    match theirs {
        serde_yaml::Value::String(text) => assert_eq!(ours, text),
        serde_yaml::Value::Number(number) => {
            assert_eq!(ours.parse::<f64>().ok(), number.as_f64(), "{ours}");
        }
        serde_yaml::Value::Bool(truth) => assert_eq!(ours, truth.to_string()),
        other => panic!("{ours} is not {other:?}"),
    }
}

/// Each example fits its own row of the table.
#[test]
fn every_example_can_be_read() {
    for root in [&BUDGET, &WORKSHEET] {
        for keys in all_maps(root) {
            for key in keys.keys.iter().chain(keys.rest.iter()) {
                let (source, node) = yaml::read("a.yaml", key.example.as_bytes());
                let node = node.unwrap();
                let entry = &node.entries().unwrap()[0];
                let mut checker = Checker::default();
                let named = Named { name: "the example", key };
                let value = checker.value(&entry.value, entry.key_origin, named, key.forms);
                assert!(value.is_some(), "{}", key.example);
                assert_eq!(source.render_all(&checker.faults), "", "{}", key.example);
            }
        }
    }
}

proptest::proptest! {
    /// Whatever is cut out of a file or put into it: no panic; parts without a fault are complete,
    /// and where there are no parts a fault says why.
    #[test]
    fn gives_parts_or_faults_for_any_damage(
        (worksheet, at, cut, put) in (proptest::bool::ANY, 0_usize..2600, 0_usize..40, "[-a-z:{}, 0#~\n\\[\\]]{0,6}")
    ) {
        let text = if worksheet { WORKSHEET_TEXT } else { BUDGET_TEXT };
        let kept: String = text.chars().take(at).chain(put.chars()).chain(text.chars().skip(at + cut)).collect();
        let reading = budget("a.yaml", kept.as_bytes());
        let whole = reading.parts.as_ref().is_some_and(|parts| !parts.incomplete);
        proptest::prop_assert_eq!(whole, reading.faults.is_empty());
        let reading = crate::file::worksheet("a.yaml", kept.as_bytes());
        proptest::prop_assert!(reading.parts.is_some() || !reading.faults.is_empty());
    }
}
