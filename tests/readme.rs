//! The commands that `README.md` shows: each is one of the command line's, and ends as it says.

// The whole file is a test; a helper may end it as a test may.
#![allow(clippy::unwrap_used, clippy::panic)]

#[path = "common/command.rs"]
mod command;

use command::words;
use std::process::Command;

const README: &str = include_str!("../README.md");

/// Returns the lines of the blocks of shell commands: the command, and the exit code beside it.
fn commands() -> Vec<(String, i32)> {
    let blocks = README.split("```sh\n").skip(1).filter_map(|it| it.split_once("\n```"));
    let lines = blocks.flat_map(|(block, _)| block.lines().map(str::to_owned));
    let commands = lines.map(|line| {
        let (command, remark) = line.split_once(" #").unwrap_or((&line, ""));
        let code = remark
            .trim()
            .strip_prefix("exits ")
            .map_or(0, |it| it.split(':').next().unwrap().parse().expect("an exit code and why"));
        (command.trim().to_owned(), code)
    });
    commands.collect()
}

#[test]
fn every_command_of_the_readme_ends_as_it_says() {
    let mut verbs = std::collections::BTreeSet::new();
    for (command, code) in commands() {
        let words = words(&command);
        let arguments = match words[0].as_str() {
            "surebound" => &words[1..],
            "cargo" if words.contains(&"--".to_owned()) => {
                &words[words.iter().position(|it| it == "--").unwrap() + 1..]
            }
            _ => {
                assert!(["cargo test", "cargo install --path . --locked"].contains(&&*command));
                continue;
            }
        };
        verbs.insert(arguments[0].clone());
        let output = Command::new(env!("CARGO_BIN_EXE_surebound"))
            .args(arguments)
            .current_dir(env!("CARGO_MANIFEST_DIR"))
            .output()
            .expect("the command is built with the tests");
        let error = String::from_utf8_lossy(&output.stderr);
        assert_eq!(output.status.code(), Some(code), "{command}: {error}");
        assert!(!output.stdout.is_empty(), "{command}");
    }
    // The README shows each verb that there is.
    let help = Command::new(env!("CARGO_BIN_EXE_surebound")).arg("--help").output().unwrap();
    let help = String::from_utf8(help.stdout).unwrap();
    let listed = help.split("Commands:\n").nth(1).unwrap().split("\n\n").next().unwrap();
    let listed = listed.lines().filter(|it| !it.starts_with("   "));
    let listed: Vec<&str> = listed.filter_map(|it| it.split_whitespace().next()).collect();
    let known: Vec<&str> = listed.into_iter().filter(|it| *it != "help").collect();
    assert!(known.len() >= 5 && known.iter().all(|it| verbs.contains(*it)), "{known:?}, {verbs:?}");
}
