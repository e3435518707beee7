//! Options and tables that do not fit: each is refused, naming what to type, and nothing is written.

use super::said::SINGLE;
use super::*;

fn command(arguments: &[&str]) -> (i32, String) {
    let output = Command::new(env!("CARGO_BIN_EXE_surebound")).args(arguments).output().unwrap();
    (output.status.code().unwrap(), String::from_utf8(output.stderr).unwrap())
}

/// These were passed over beside a reading.
#[test]
fn what_is_for_files_of_readings_is_refused_beside_a_reading() {
    let budget = micrometer();
    let one = ["judge", budget.to_str().unwrap(), "--at", "2.5 mm", "--reading", "2.500 mm"];
    for (more, expected) in [
        (&["-o", "rows.csv"][..], "-o: it is for a file of readings"),
        (&["--rows", "jsonl"], "--rows: it is for a file of readings"),
        (&["--take", "mean"], "--take: it is for a file of readings"),
        (&["--any-order"], "--any-order: it is for a file of readings"),
        (&["--strict"], "--strict: it is for a file of readings"),
        (&["--bad-rows", "bad.csv"], "--bad-rows: it is for a file of readings"),
    ] {
        let (code, said) = command(&[&one[..], more].concat());
        assert_eq!(code, 2, "{more:?}");
        assert!(said.starts_with(expected) && said.contains("\nhelp: "), "{said}");
    }
    assert_eq!(command(&one).0, 0);
    for format in ["html", "markdown", "csv"] {
        let (code, out, said) = micrometer_run("instrument,at,reading\n", &["--format", format]);
        assert_eq!((code, out.as_str()), (2, ""));
        assert!(said.starts_with("--format: ") && said.contains("--format json"), "{said}");
    }
}

/// Spelt in two ways, both were taken, and the second failed after the first was written.
#[test]
fn one_file_for_good_and_bad_rows_is_refused_however_it_is_spelt() {
    let folder = tempfile::tempdir().unwrap();
    let one = folder.path().join("b.csv");
    let other = folder.path().join(".").join("b.csv");
    let text = format!("instrument,at,reading\n{}", instrument("M-1", &[]));
    let more = ["-o", one.to_str().unwrap(), "--bad-rows", other.to_str().unwrap()];
    let (code, _, said) = micrometer_run(&text, &more);
    assert_eq!(code, 2, "{said}");
    assert!(said.contains("give another name than that of `-o`"), "{said}");
    assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 0);
}

/// `reading` alone is no error: 1 kPa was taken for the pressure.
#[test]
fn an_error_of_what_is_no_error_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("single.yaml");
    std::fs::write(&path, SINGLE).unwrap();
    let (code, out, said) = run(&path, b"instrument,error\nX,1\n", &[]);
    assert_eq!((code, out.as_str()), (2, ""));
    assert!(said.contains("`error` cannot be judged by this budget"), "{said}");
    let (code, said) = command(&["card", path.to_str().unwrap(), "--as", "errors"]);
    assert_eq!(code, 2);
    assert!(said.contains("cannot be written as errors"), "{said}");
}

/// Each cell that cannot be read has something to type.
#[test]
fn every_bad_cell_has_its_help() {
    let text = "instrument,at,reading\nA,5.1,x\nA,5.1,5.1\0\nA,y,5.1\nA,5.1,5.1003q\n";
    let (_, _, said) = micrometer_run(text, &[]);
    for expected in [
        ":2:7: `x` is not a number\nhelp: write what was read, such as `2.5 mm`",
        "\nhelp: write `5.1 mm`",
        ":4:3: `y` is not a number\nhelp: write a point of the budget, such as `2.5 mm`",
        ":5:7: `q` is not a known unit\nhelp: write `5.1003 mm`",
    ] {
        assert!(said.contains(expected), "{expected}\n{said}");
    }
}

/// A request to end is heard as Ctrl-C is: no half file stays.
#[cfg(unix)]
#[test]
fn what_is_asked_to_end_leaves_no_half_file() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("out.csv");
    let mut child = Command::new(env!("CARGO_BIN_EXE_surebound"))
        .args(["judge", micrometer().to_str().unwrap(), "--readings", "-", "-o"])
        .arg(&out)
        .stdin(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    let mut stdin = child.stdin.take().unwrap();
    let rows = "M-1,2.5,2.500\n".repeat(100_000);
    stdin.write_all(b"instrument,at,reading\n").unwrap();
    stdin.write_all(rows.as_bytes()).unwrap();
    // The file beside is there once the work is under way.
    while std::fs::read_dir(folder.path()).unwrap().count() == 0 {
        std::thread::yield_now();
    }
    let id = child.id().to_string();
    assert!(Command::new("kill").args(["-TERM", &id]).status().unwrap().success());
    let output = child.wait_with_output().unwrap();
    drop(stdin);
    let said = String::from_utf8(output.stderr).unwrap();
    assert_eq!(output.status.code(), Some(3), "{said}");
    assert!(said.contains("no file was written"), "{said}");
    assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 0);
}
