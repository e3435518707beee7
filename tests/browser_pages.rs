//! Reports and cards in a real browser: nothing asked for, no complaint, readable at all sizes by everybody;
//! and what hostile names do to them: nothing.

#![allow(clippy::unwrap_used, clippy::panic)]

#[path = "common/browser.rs"]
mod browser;

use serde_json::{Value, json};
use std::fmt::Write;
use std::path::{Path, PathBuf};
use std::process::Command;

const ROOT: &str = env!("CARGO_MANIFEST_DIR");

/// Writes a page by a command line that ends in the path of the page.
fn page(arguments: &[&str], target: &Path) -> Value {
    let mut command = Command::new(env!("CARGO_BIN_EXE_surebound"));
    let output = command.args(arguments).current_dir(ROOT).output().unwrap();
    let told = String::from_utf8_lossy(&output.stderr);
    assert!(matches!(output.status.code(), Some(0 | 1)), "{arguments:?}: {told}");
    if !output.stdout.is_empty() {
        std::fs::write(target, &output.stdout).unwrap();
    }
    let name = target.file_stem().unwrap().to_string_lossy().into_owned();
    json!([name, target])
}

fn shipped() -> Vec<PathBuf> {
    let entries = std::fs::read_dir(Path::new(ROOT).join("budgets")).unwrap();
    let paths = entries.map(|it| it.unwrap().path());
    let mut paths: Vec<PathBuf> =
        paths.filter(|it| it.extension().is_some_and(|it| it == "yaml")).collect();
    paths.sort();
    paths
}

#[test]
fn reports_and_cards_of_all_shipped_files_can_be_read_by_everybody() {
    let folder = tempfile::tempdir().unwrap();
    let mut files = Vec::new();
    for path in shipped() {
        let name = path.file_stem().unwrap().to_string_lossy().into_owned();
        let target = folder.path().join(format!("{name}.html"));
        let (from, to) = (path.to_str().unwrap(), target.to_str().unwrap());
        files.push(page(&["report", from, "-o", to], &target));
        let size = std::fs::metadata(&target).unwrap().len();
        assert!(size < 300_000, "{name}: {size} bytes");
        let text = std::fs::read_to_string(&path).unwrap();
        if !text.contains("surebound_worksheet") {
            let target = folder.path().join(format!("{name}-show.html"));
            files.push(page(&["show", from, "--format", "html"], &target));
        }
    }
    let judge = ["judge", "budgets/outside-micrometer-0-25.yaml", "--at", "10.3 mm"];
    let all = ["--reading", "10.303 mm", "--compare", "--format", "html"];
    let target = folder.path().join("judge.html");
    files.push(page(&[&judge[..], &all[..]].concat(), &target));
    let count = files.len();
    // Ten points and six contributors.
    let sheets = json!([["M-118", 2]]);
    let job = json!({"files": files, "sheets": sheets});
    let Some(result) = browser::run("page.mjs", &job) else { return };
    assert_eq!(result["pages"].as_u64(), Some(count as u64 + 5), "the first at three sizes, twice");
}

/// Names that would act in a page, or break it, are text in it.
#[test]
fn hostile_names_stay_text() {
    let folder = tempfile::tempdir().unwrap();
    let mut text = String::from(
        "surebound: 1\ntitle: \"<script>document.title='gone'</script> & \\\"quotes\\\" \u{202e}turned\"\n\
         measurand: {symbol: E, name: \"<b>Error</b>\", unit: µm}\ndisplay: {step: 1 µm}\n\
         points: {symbol: L, unit: mm, at: [{at: 10, label: \"<img src=x onerror=alert(1)>\"}]}\n\
         tolerance: ±400 µm\ndecision: {rule: guarded, agreed: \"</style><script>1</script>\"}\ncontributors:\n",
    );
    let long = "µ".repeat(5000);
    writeln!(text, "  - {{name: \"{long}\", standard_uncertainty: 1 µm}}").unwrap();
    for index in 0..400 {
        let name = format!("<i>{index}</i> ' & |pipe|");
        writeln!(text, "  - {{name: \"{name}\", standard_uncertainty: 0.5 µm}}").unwrap();
    }
    let budget = folder.path().join("hostile.yaml");
    std::fs::write(&budget, text).unwrap();
    let from = budget.to_str().unwrap();
    let mut files = Vec::new();
    for (name, arguments) in [
        ("report", vec!["report", from, "-o", "-", "--form", "html"]),
        ("show", vec!["show", from, "--format", "html"]),
        ("card", vec!["card", from, "--format", "html"]),
    ] {
        let target = folder.path().join(format!("{name}.html"));
        files.push(page(&arguments, &target));
        let written = std::fs::read_to_string(&target).unwrap();
        assert!(!written.contains("<script") && !written.contains("<img"), "{name}");
        assert!(written.contains("&lt;script&gt;document.title"), "{name}: it is still there");
        assert!(written.matches('µ').count() >= 5000 || name == "card", "{name}");
    }
    let Some(result) = browser::run("page.mjs", &json!({"files": files})) else { return };
    assert_eq!(result["pages"].as_u64(), Some(3 + 5));
}
