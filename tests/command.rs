//! The command as a person meets it: exit codes, and what reaches which stream.
#![allow(clippy::unwrap_used, clippy::panic)]

use std::path::Path;
use std::process::{Command, Output, Stdio};

fn run(arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_surebound"))
        .args(arguments)
        .output()
        .expect("the command is built with the tests")
}

fn code(output: &Output) -> i32 {
    output.status.code().expect("no signal ends the command")
}

/// Input that is wrong: exit code 2, nothing on standard output, something on standard error.
fn refused(arguments: &[&str]) -> String {
    let output = run(arguments);
    assert_eq!(code(&output), 2, "{arguments:?}");
    assert!(output.stdout.is_empty(), "{arguments:?}");
    let message = String::from_utf8(output.stderr).expect("messages are UTF-8");
    assert!(!message.trim().is_empty(), "{arguments:?}");
    message
}

#[test]
fn refuses_arguments_that_make_no_sense() {
    for arguments in [&[][..], &["shew"], &["show"], &["start", "spanner"], &["schema", "x"]] {
        refused(arguments);
    }
    refused(&["judge", "b.yaml", "--at", "10.3 mm"]);
    refused(&["show", "budgets/torque-wrench.yaml", "--format", "pdf"]);
}

#[test]
fn refuses_a_path_that_is_missing_empty_or_a_directory() {
    let folder = tempfile::tempdir().unwrap();
    let empty = folder.path().join("empty.yaml");
    std::fs::write(&empty, "").unwrap();
    let text = |path: &Path| path.to_str().unwrap().to_owned();
    let missing = text(&folder.path().join("missing.yaml"));
    let (empty, folder) = (text(&empty), text(folder.path()));
    for verb in ["show", "card", "judge"] {
        assert!(refused(&[verb, &missing]).contains("there is no such file"));
        assert!(refused(&[verb, &empty]).contains("the file is empty"));
        assert!(refused(&[verb, &folder]).contains("this is a directory"));
    }
}

#[test]
fn prints_help_and_version_to_standard_output() {
    for arguments in [&["--help"][..], &["--version"], &["judge", "--help"]] {
        let output = run(arguments);
        assert_eq!(code(&output), 0, "{arguments:?}");
        assert!(!output.stdout.is_empty() && output.stderr.is_empty(), "{arguments:?}");
    }
    let help = String::from_utf8(run(&["--help"]).stdout).unwrap();
    assert!(help.contains("Exit codes:"), "{help}");
}

#[test]
fn prints_the_committed_schema_of_the_record() {
    let output = run(&["schema", "record"]);
    assert_eq!(code(&output), 0);
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/docs/record.schema.json");
    assert_eq!(String::from_utf8(output.stdout).unwrap(), std::fs::read_to_string(path).unwrap());
}

#[test]
fn starts_a_budget_once_and_overwrites_nothing() {
    let printed = run(&["start", "micrometer"]);
    assert_eq!(code(&printed), 0);
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("mine.yaml");
    let path_text = path.to_str().unwrap();
    let written = run(&["start", "micrometer", "-o", path_text]);
    assert_eq!((code(&written), written.stdout.len()), (0, 0));
    assert_eq!(std::fs::read(&path).unwrap(), printed.stdout);
    std::fs::write(&path, "mine").unwrap();
    assert!(refused(&["start", "micrometer", "-o", path_text]).contains("not overwritten"));
    assert_eq!(std::fs::read(&path).unwrap(), b"mine");
    let nowhere = folder.path().join("none/mine.yaml");
    assert!(refused(&["start", "micrometer", "-o", nowhere.to_str().unwrap()]).contains("folder"));
}

#[test]
fn starter_is_plain_yaml_without_tabs_and_within_100_columns() {
    let text = String::from_utf8(run(&["start", "micrometer"]).stdout).unwrap();
    let value: serde_yaml::Value = serde_yaml::from_str(&text).unwrap();
    assert_eq!(value["surebound"], 1);
    assert!(!text.contains('\t') && text.lines().all(|line| line.chars().count() <= 100));
}

/// A reader that has gone away (`surebound … | head -1`) is no failure and no panic.
#[test]
fn ends_quietly_where_nobody_reads_on() {
    let mut child = Command::new(env!("CARGO_BIN_EXE_surebound"))
        .args(["schema", "record"])
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    drop(child.stdout.take());
    let output = child.wait_with_output().unwrap();
    assert_eq!(code(&output), 0);
    assert_eq!(String::from_utf8(output.stderr).unwrap(), "");
}

/// A full disk is the machine's failure: exit code 3. `/dev/full` refuses each write.
#[cfg(target_os = "linux")]
#[test]
fn says_that_the_machine_failed_where_the_disk_is_full() {
    let full = std::fs::OpenOptions::new().write(true).open("/dev/full").unwrap();
    let output = Command::new(env!("CARGO_BIN_EXE_surebound"))
        .args(["schema", "record"])
        .stdout(full)
        .output()
        .unwrap();
    assert_eq!(code(&output), 3);
    assert!(String::from_utf8(output.stderr).unwrap().contains("cannot be written"));
}

/// One worksheet with the shipped micrometer budget in two sections.
fn two_sections(folder: &Path) -> String {
    let budget = concat!(env!("CARGO_MANIFEST_DIR"), "/budgets/outside-micrometer-0-25.yaml");
    let section = format!("  - budget: {budget}\n    readings: {{2.5: 2.500}}\n");
    let head = "surebound_worksheet: 1\ninstrument: {id: M-1}\nzero: [0.000, 0.002]\nsections:\n";
    let path = folder.join("worksheet.yaml");
    std::fs::write(&path, format!("{head}{section}{section}")).unwrap();
    path.to_str().unwrap().to_owned()
}

/// A point that is asked for is not passed over in silence.
#[test]
fn refuses_a_single_point_of_a_worksheet() {
    let folder = tempfile::tempdir().unwrap();
    let message = refused(&["judge", &two_sections(folder.path()), "--at", "2.5"]);
    assert!(message.contains("a worksheet is judged at all its points"), "{message}");
}

#[test]
fn says_once_what_holds_for_all_sections() {
    let folder = tempfile::tempdir().unwrap();
    let output = run(&["judge", &two_sections(folder.path())]);
    let text = String::from_utf8(output.stdout).unwrap();
    assert_eq!(text.matches("the zero setting does not repeat").count(), 1, "{text}");
}

/// Lengths in a message are as short as they are exact: `2000 mm`, not `2000.00 mm`.
#[test]
fn names_the_lengths_of_a_table_of_grades_as_a_person_would() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("long.yaml");
    let grade = "{name: Block, block_grade: 0, table: ISO 3650, length: 2000 mm}";
    let measurand = "{symbol: E, name: Error, unit: µm}";
    let head = format!("surebound: 1\ntitle: Long block\nmeasurand: {measurand}\n");
    std::fs::write(&path, format!("{head}contributors:\n  - {grade}\n")).unwrap();
    let message = refused(&["show", path.to_str().unwrap()]);
    let expected = "a block of 2000 mm is outside ISO 3650: its lengths are 0.5 mm to 1000 mm";
    assert!(message.contains(expected), "{message}");
}
