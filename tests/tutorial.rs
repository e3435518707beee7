//! The commands of `docs/tutorial.md`, in their order, in an empty folder; and the completions and the
//! manual page, which are made of the same definition as the help.

#![allow(clippy::unwrap_used, clippy::panic)]

#[path = "common/command.rs"]
mod command;

use command::words;
use std::path::Path;
use std::process::{Command, Output};

const TUTORIAL: &str = include_str!("../docs/tutorial.md");

fn surebound(arguments: &[String], folder: &Path) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_surebound"));
    command.args(arguments).current_dir(folder).output().unwrap()
}

#[test]
fn every_command_of_the_tutorial_ends_as_it_says() {
    let folder = tempfile::tempdir().unwrap();
    let (_, worksheet) = TUTORIAL.split_once("```yaml\n").unwrap();
    let (worksheet, _) = worksheet.split_once("```").unwrap();
    std::fs::write(folder.path().join("M-118.yaml"), worksheet).unwrap();
    let blocks = TUTORIAL.split("```sh\n").skip(1).filter_map(|it| it.split_once("\n```"));
    let lines: Vec<&str> = blocks.flat_map(|(block, _)| block.lines()).collect();
    assert!(lines.len() >= 12, "{lines:?}");
    for line in lines {
        let (command, remark) = line.split_once(" #").unwrap_or((line, ""));
        let code = remark
            .trim()
            .strip_prefix("exits ")
            .map_or(0, |it| it.split(':').next().unwrap().parse().unwrap());
        let (command, target) = command.split_once('>').unwrap_or((command, ""));
        let all = words(command);
        assert_eq!(all[0], "surebound", "{line}");
        let output = surebound(&all[1..], folder.path());
        let told = String::from_utf8_lossy(&output.stderr);
        assert_eq!(output.status.code(), Some(code), "{line}\n{told}");
        if !target.is_empty() {
            std::fs::write(folder.path().join(target.trim()), &output.stdout).unwrap();
        }
    }
    let size = |name: &str| std::fs::metadata(folder.path().join(name)).map_or(0, |it| it.len());
    for name in
        ["acceptance.svg", "card.html", "sheet.html", "M-118.html", "M-118.pdf", "M-118.xlsx"]
    {
        assert!(size(name) > 1000, "{name}");
    }
}

/// Each verb that the help names stands in the manual page and in the completions of each shell.
#[test]
fn completions_and_manual_name_every_verb() {
    let folder = tempfile::tempdir().unwrap();
    let run = |line: &str| {
        let output = surebound(&words(line), folder.path());
        assert_eq!(output.status.code(), Some(0), "{line}");
        String::from_utf8(output.stdout).unwrap()
    };
    let help = run("--help");
    let (_, verbs) = help.split_once("Commands:\n").unwrap();
    // Long descriptions go on in lines that are indented further.
    let verbs = verbs.lines().take_while(|it| !it.is_empty()).filter(|it| !it.starts_with("   "));
    let verbs: Vec<&str> = verbs.filter_map(|it| it.split_whitespace().next()).collect();
    let manual = run("manual");
    for verb in verbs.iter().filter(|it| **it != "help" && it.chars().all(char::is_alphabetic)) {
        assert!(manual.contains(&format!("surebound\\-{verb}")), "{verb}");
        for shell in ["bash", "zsh", "fish"] {
            assert!(run(&format!("completions {shell}")).contains(verb), "{verb} in {shell}");
        }
    }
    assert!(verbs.contains(&"report") && verbs.len() > 8, "{verbs:?}");
}
