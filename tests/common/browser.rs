//! A script of `tests/browser` with a job, run by Node against Chromium.
//!
//! What it needs: `chromium`, `node`, and once `npm ci` in `tests/browser`. Where one is missing the test says
//! so on standard error and ends; with `SUREBOUND_BROWSER=required` it fails. `SUREBOUND_PICTURES=FOLDER` makes
//! the scripts leave pictures.

use std::io::Write;
use std::path::Path;
use std::process::Command;

const FOLDER: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/browser");

/// Returns what is missing to drive a browser.
fn missing() -> Option<&'static str> {
    let runs = |name: &str| {
        Command::new(name).arg("--version").output().is_ok_and(|it| it.status.success())
    };
    let chromium = std::env::var("CHROMIUM").unwrap_or_default();
    let found = [chromium.as_str(), "/usr/bin/chromium", "/usr/bin/chromium-browser"];
    if !found.iter().any(|it| !it.is_empty() && Path::new(it).exists()) {
        return Some("chromium (or CHROMIUM=PATH)");
    }
    if !runs("node") {
        return Some("node");
    }
    let modules = Path::new(FOLDER).join("node_modules/playwright-core");
    (!modules.exists()).then_some("`npm ci` in tests/browser")
}

/// Runs a script of `tests/browser`; `None` where the test is skipped for want of a browser.
///
/// Every fault that the script found fails the test.
#[track_caller]
pub fn run(script: &str, job: &serde_json::Value) -> Option<serde_json::Value> {
    if let Some(what) = missing() {
        let required = std::env::var("SUREBOUND_BROWSER").is_ok_and(|it| it == "required");
        assert!(!required, "no browser test without {what}");
        // Not `eprintln!`: the harness would keep that to itself.
        let said = writeln!(
            std::io::stderr(),
            "\nSKIPPED, NOT TESTED: {script} in a browser: {what} is missing"
        );
        said.expect("standard error is there");
        return None;
    }
    let folder = tempfile::tempdir().expect("a folder for the job");
    let path = folder.path().join("job.json");
    let mut job = job.clone();
    job["pictures"] = std::env::var("SUREBOUND_PICTURES").ok().into();
    std::fs::write(&path, job.to_string()).expect("written");
    let output = Command::new("node")
        .args([Path::new(FOLDER).join(script).as_os_str(), path.as_os_str()])
        .output()
        .expect("node was there a moment ago");
    let (out, err) =
        (String::from_utf8_lossy(&output.stdout), String::from_utf8_lossy(&output.stderr));
    let result: serde_json::Value =
        serde_json::from_str(&out).unwrap_or_else(|_| panic!("{script}: {out}{err}"));
    let faults: Vec<&str> =
        result["faults"].as_array().expect("a list").iter().filter_map(|it| it.as_str()).collect();
    assert!(
        faults.is_empty() && output.status.success(),
        "{script}:\n{}\n{err}",
        faults.join("\n")
    );
    Some(result)
}
