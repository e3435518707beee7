//! The verb `card` as it is typed: its forms, its choice of readings or errors, its page in the docs.

use std::process::{Command, Output};

const PAGE: &str = include_str!("../docs/card.md");

fn card(arguments: &[&str]) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_surebound"));
    command.current_dir(env!("CARGO_MANIFEST_DIR")).arg("card").args(arguments);
    command.output().expect("the command runs")
}

fn said(arguments: &[&str]) -> String {
    let output = card(arguments);
    assert_eq!(output.status.code(), Some(0), "{arguments:?}");
    assert!(output.stderr.is_empty(), "{arguments:?}");
    String::from_utf8(output.stdout).expect("a text")
}

#[test]
fn the_example_in_the_docs_is_what_the_command_says() {
    let shown = PAGE.split("```text\n").nth(1).expect("an example").split("```").next();
    let got = said(&["budgets/torque-wrench.yaml"]);
    assert_eq!(shown, Some(got.as_str()), "put this into docs/card.md:\n{got}");
}

#[test]
fn every_command_in_the_docs_runs() {
    let shell =
        PAGE.split("```sh\n").nth(1).expect("commands").split("```").next().expect("an end");
    let commands: Vec<&str> = shell.lines().collect();
    assert_eq!(commands.len(), 5);
    for command in commands {
        let typed = command.split(['#', '>']).next().expect("a start");
        let words: Vec<&str> = typed.split_whitespace().collect();
        assert_eq!(words[..2], ["surebound", "card"]);
        assert!(!said(&words[2..]).is_empty(), "{command}");
    }
}

/// 10.302 mm passes with a risk of 0.55 %, and 10.303 mm fails with 8.3 %: in each form.
#[test]
fn all_forms_say_the_same() {
    let budget = "budgets/outside-micrometer-0-25.yaml";
    let text = said(&[budget]);
    assert!(
        text.contains("10.302  pass       0.55") && text.contains("10.303  fail        8.3"),
        "{text}"
    );
    let markdown = said(&[budget, "--format", "markdown"]);
    assert!(markdown.contains("| 10.302 | pass | 0.55 |"), "{markdown}");
    assert!(markdown.contains("| 10.303 | fail | 8.3 |"), "{markdown}");
    let html = said(&[budget, "--format", "html"]);
    let row = |reading: &str, verdict: &str, risk: &str| {
        format!(
            "<th scope=\"row\" class=\"number\">{reading}</th><td class=\"word\">{verdict}</td>\
             <td class=\"number\">{risk}</td>"
        )
    };
    assert!(html.contains(&row("10.302", "pass", "0.55")), "{html}");
    assert!(html.contains(&row("10.303", "fail", "8.3")), "{html}");
    for part in
        ["CP-031", "revision B", "tolerance ±4 µm", "guard band 1·U", "local codes come first"]
    {
        for form in [&text, &markdown, &html] {
            assert!(form.replace('\n', " ").contains(part), "{part}");
        }
    }
    // Small enough for a phone without a network.
    assert!(html.len() < 100_000, "{}", html.len());
}

#[test]
fn errors_are_listed_where_they_are_asked_for() {
    let budget = "budgets/outside-micrometer-0-25.yaml";
    let text = said(&[budget, "--as", "errors"]);
    assert!(
        text.contains("errors E in µm") && text.contains("up to −3  −2 to +2  from +3"),
        "{text}"
    );
    assert!(!text.contains("10.302"), "{text}");
    assert_eq!(said(&[budget, "--as", "readings"]), said(&[budget]));
    let json = said(&[budget, "--as", "errors", "--format", "json"]);
    assert!(json.contains("\"card_as\": \"errors\"") && json.contains("\"error_text\": \"+2\""));
}

#[test]
fn other_verbs_have_the_same_forms() {
    for (verb, path) in [("show", "budgets/torque-wrench.yaml"), ("judge", "budgets/M-118.yaml")] {
        for (format, start) in [("markdown", "# "), ("html", "<!DOCTYPE html>")] {
            let mut command = Command::new(env!("CARGO_BIN_EXE_surebound"));
            command.current_dir(env!("CARGO_MANIFEST_DIR"));
            let output = command.args([verb, path, "--format", format]).output().expect("it runs");
            let text = String::from_utf8(output.stdout).expect("a text");
            assert!(text.starts_with(start) && text.ends_with('\n'), "{verb} {format}: {text}");
        }
    }
}
