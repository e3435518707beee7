//! Every refusal, with its whole message, and what becomes of a file once the help has been typed.
//!
//! `tests/faults/<stage>/<name>.yaml` holds one fault (or says in its name that there are several),
//! `<name>.txt` all that the command says to it, `<name>.fix` how the help is typed, a line per fault
//! in the order of the messages. Where arguments are at fault, `<name>.args` holds them, one a line,
//! instead of the YAML. The lines of a `.fix` file:
//!
//! | line | what is done |
//! | --- | --- |
//! | `over TEXT` | the help is typed over TEXT, the first from the fault on, else in its line, else anywhere |
//! | `second over TEXT` | the same with the second text in backquotes of the help |
//! | `line above TEXT` | the help is typed in a line of its own above TEXT |
//! | `words` | the help is typed as further arguments |
//! | `command` | the help is a command line, typed instead |
//! | `before` | the help and a comma are typed at the place of the fault |
//! | `above` | the help is typed at the place of the fault and makes lines of its own |
//! | `end` | the help is typed at the end of the file |
//! | `within {}` | the help is typed between these braces |
//! | `without TEXT` | nothing is typed: the help says to leave TEXT out |
//! | `- REASON` | the help is nothing to type, and why |
//!
//! What is typed is the first text in backquotes of the help, or all of it where it has none; it is
//! taken from the message of this run. After that the file has to evaluate, with zones.
//!
//! To write references anew while working on messages: `SUREBOUND_FAULTS=write`, and read the
//! difference. The test fails in such a run, so that nothing is ever accepted unread.

#![allow(clippy::unwrap_used, clippy::panic)]

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};
use surebound::file::{load_budget, load_worksheet};

const ROOT: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/faults");
/// The folder with what worksheets and arguments refer to.
const SOUND: &str = "sound";
/// The line of a recipe for a message without help.
const NO_HELP: &str = "- the message says all that can be said";
/// Why nothing is expected to fail here.
const READABLE: &str = "the folder of the tests is readable, and its names and texts are UTF-8";

/// One fault: its files without ending.
struct Case {
    stage: String,
    name: String,
}

/// One message of the command.
#[derive(Debug)]
struct Message {
    /// Line and column from 1, where there are some.
    place: Option<(usize, usize)>,
    help: String,
}

#[test]
fn every_refusal_has_its_reference_and_every_help_can_be_typed() {
    let mut problems = Vec::new();
    let cases = cases(&mut problems);
    assert!(cases.len() > 400, "{} refusals", cases.len());
    for case in &cases {
        if let Err(problem) = case.check() {
            problems.push(format!("{}/{}: {problem}", case.stage, case.name));
        }
    }
    assert!(problems.is_empty(), "{} problems\n\n{}", problems.len(), problems.join("\n\n"));
}

/// What worksheets refer to is itself without fault; otherwise their messages would be about it.
#[test]
fn budgets_beside_the_faults_are_sound() {
    let mut seen = 0;
    for path in entries(&Path::new(ROOT).join(SOUND)) {
        let bytes = std::fs::read(&path).unwrap();
        // Tables that budgets name.
        if path.extension().is_some_and(|it| it == "csv") {
            continue;
        }
        if path.ends_with("worksheet.yaml") {
            load_worksheet("sound", &bytes).value.unwrap();
            continue;
        }
        let loaded = load_budget("sound", &bytes).value;
        let budget = loaded.unwrap_or_else(|faults| panic!("{}: {faults:?}", path.display()));
        budget.evaluate().unwrap().zones().unwrap();
        seen += 1;
    }
    assert!(seen > 0);
}

fn entries(folder: &Path) -> Vec<PathBuf> {
    let entries = std::fs::read_dir(folder).expect(READABLE);
    let mut paths: Vec<PathBuf> = entries.map(|it| it.expect(READABLE).path()).collect();
    paths.sort();
    paths
}

/// Returns all cases; a file without its partners is a problem.
fn cases(problems: &mut Vec<String>) -> Vec<Case> {
    let mut cases = Vec::new();
    for folder in entries(Path::new(ROOT)).into_iter().filter(|it| !it.ends_with(SOUND)) {
        let stage = folder.file_name().expect(READABLE).to_str().expect(READABLE).to_owned();
        let names: BTreeSet<String> = entries(&folder)
            .iter()
            .map(|it| it.file_stem().expect(READABLE).to_str().expect(READABLE).to_owned())
            .collect();
        for name in names {
            let there = |ending: &str| folder.join(format!("{name}.{ending}")).exists();
            let subjects = [there("yaml"), there("args")];
            if subjects[0] == subjects[1] || !there("fix") || (!there("txt") && !rewriting()) {
                problems.push(format!("{stage}/{name}: one of its files is missing"));
                continue;
            }
            cases.push(Case { stage: stage.clone(), name });
        }
    }
    cases
}

fn rewriting() -> bool {
    std::env::var("SUREBOUND_FAULTS").is_ok_and(|it| it == "write")
}

impl Case {
    fn folder(&self) -> PathBuf {
        Path::new(ROOT).join(&self.stage)
    }

    fn read(&self, ending: &str) -> String {
        let path = self.folder().join(format!("{}.{ending}", self.name));
        std::fs::read_to_string(&path).unwrap_or_default()
    }

    fn has_arguments(&self) -> bool {
        self.folder().join(format!("{}.args", self.name)).exists()
    }

    fn subject(&self) -> String {
        self.read(if self.has_arguments() { "args" } else { "yaml" })
    }

    fn check(&self) -> Result<(), String> {
        let arguments = if self.has_arguments() { self.subject() } else { self.arguments() };
        let output = run(&self.folder(), &arguments);
        let said = String::from_utf8(output.stderr.clone()).expect(READABLE);
        if rewriting() {
            let path = self.folder().join(format!("{}.txt", self.name));
            std::fs::write(path, &said).expect(READABLE);
        }
        if output.status.code() != Some(2) || !output.stdout.is_empty() {
            return Err(format!("ends with {:?} and says\n{said}", output.status.code()));
        }
        let expected = self.read("txt");
        if said != expected || rewriting() {
            return Err(format!("says\n{said}\ninstead of\n{expected}"));
        }
        let here = format!("{}.yaml", self.name);
        if !self.has_arguments()
            && ["judge", "worksheet", "card", "sheet"].iter().all(|it| self.stage != *it)
        {
            same_in_the_library(&here, self.subject().as_bytes(), &said)?;
        }
        self.fix(&messages(&said))
    }

    /// The arguments of the command for a YAML file.
    fn arguments(&self) -> String {
        let verb = match self.stage.as_str() {
            "judge" | "worksheet" => "judge",
            "card" => "card",
            "sheet" => "sheet\n-o\n-",
            _ => "show",
        };
        format!("{verb}\n{}.yaml\n", self.name)
    }

    /// Types the help of all messages and evaluates what comes out.
    fn fix(&self, messages: &[Message]) -> Result<(), String> {
        let recipe = self.read("fix");
        let steps: Vec<&str> = recipe.lines().collect();
        if steps.len() != messages.len() {
            return Err(format!("{} lines of recipe for {messages:?}", steps.len()));
        }
        for (step, message) in steps.iter().zip(messages) {
            if message.help.is_empty() != (*step == NO_HELP) {
                return Err(format!("`{step}` for the help `{}`", message.help));
            }
        }
        if steps.iter().any(|it| it.starts_with("- ")) {
            return Ok(());
        }
        let mut text = self.subject();
        // From the last to the first, so that the places in front stay where they are.
        for (step, message) in steps.iter().zip(messages).rev() {
            text = apply(&text, step, message)?;
        }
        self.evaluates(&text)
    }

    fn evaluates(&self, text: &str) -> Result<(), String> {
        let folder = tempfile::tempdir().expect(READABLE);
        let (stage, sound) = (folder.path().join(&self.stage), folder.path().join(SOUND));
        std::fs::create_dir(&stage).expect(READABLE);
        std::fs::create_dir(&sound).expect(READABLE);
        for path in entries(&Path::new(ROOT).join(SOUND)) {
            std::fs::copy(&path, sound.join(path.file_name().expect(READABLE))).expect(READABLE);
        }
        let here = stage.join(format!("{}.yaml", self.name));
        let arguments = if self.has_arguments() {
            text.to_owned()
        } else {
            std::fs::write(&here, text).expect(READABLE);
            self.arguments()
        };
        let output = run(&stage, &arguments);
        match output.status.code() {
            Some(0 | 1) => Ok(()),
            _ => {
                let said = String::from_utf8(output.stderr).expect(READABLE);
                Err(format!("once the help is typed:\n{text}\nthe command says\n{said}"))
            }
        }
    }
}

fn run(folder: &Path, arguments: &str) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_surebound"));
    command.current_dir(folder).args(arguments.lines()).output().expect(READABLE)
}

/// The library refuses the same text with the same words.
fn same_in_the_library(name: &str, bytes: &[u8], said: &str) -> Result<(), String> {
    let loaded = load_budget(name, bytes);
    let faults = match loaded.value {
        Err(faults) => faults,
        Ok(budget) => match budget.evaluate() {
            Err(faults) => faults.0,
            Ok(evaluation) => evaluation.zones().err().map(|it| it.0).unwrap_or_default(),
        },
    };
    let shown = loaded.source.render_all(&faults);
    // An empty file is refused by the command before it is read.
    if shown.trim_end() == said.trim_end() || bytes.is_empty() {
        return Ok(());
    }
    Err(format!("the library says\n{shown}"))
}

/// Takes the messages of the command apart.
fn messages(said: &str) -> Vec<Message> {
    said.trim_end().split("\n\n").map(message).collect()
}

fn message(said: &str) -> Message {
    let mut parts = said.splitn(4, ':').skip(1);
    let mut number = || parts.next().and_then(|it| it.parse().ok());
    let place = number().zip(number());
    let help = said.split_once("\nhelp: ").map_or("", |it| it.1);
    Message { place, help: help.replace("\n  ", "\n") }
}

/// Returns what the help gives to type; `which` counts the texts in backquotes from 0.
fn typed(help: &str, which: usize) -> Result<&str, String> {
    let quoted = help.split('`').skip(1).step_by(2).nth(which);
    match quoted {
        Some(text) => Ok(text),
        None if which == 0 && !help.is_empty() && !help.contains('`') => Ok(help),
        None => Err(format!("the help `{help}` gives nothing to type")),
    }
}

fn apply(text: &str, step: &str, message: &Message) -> Result<String, String> {
    let over = |part: &str, new: &str| -> Result<String, String> {
        let place = message.place.map_or(0, |it| byte_of(text, it));
        let line = message.place.map_or(0, |it| byte_of(text, (it.0, 1)));
        let from = |start: usize| text[start..].find(part).map(|it| it + start);
        let found = [place, line, 0].into_iter().find_map(from);
        let at = found.ok_or(format!("`{part}` is not there to be typed over"))?;
        Ok(format!("{}{new}{}", &text[..at], &text[at + part.len()..]))
    };
    let insert = |new: &str| -> Result<String, String> {
        let at = byte_of(text, message.place.ok_or("there is no place to type at")?);
        Ok(format!("{}{new}{}", &text[..at], &text[at..]))
    };
    let first = || typed(&message.help, 0);
    match step.split_once(' ') {
        Some(("over", part)) => over(part, first()?),
        Some(("second", part)) => {
            let part = part.strip_prefix("over ").ok_or("`second over TEXT` is meant")?;
            over(part, typed(&message.help, 1)?)
        }
        Some(("within", part)) => over(part, &format!("{{{}}}", first()?)),
        Some(("without", part)) => over(part, ""),
        Some(("line", part)) => {
            let part = part.strip_prefix("above ").ok_or("`line above TEXT` is meant")?;
            let at = text.find(part).ok_or(format!("`{part}` is not there"))?;
            let start = text[..at].rfind('\n').map_or(0, |it| it + 1);
            let indent = &text[start..at];
            Ok(format!("{}{}\n{indent}{}", &text[..at], first()?, &text[at..]))
        }
        None if step == "words" => Ok(format!("{text}{}\n", words(first()?).join("\n"))),
        None if step == "command" => Ok(format!("{}\n", words(first()?)[1..].join("\n"))),
        None if step == "before" => insert(&format!("{}, ", first()?)),
        None if step == "above" => {
            let indent = " ".repeat(message.place.map_or(0, |it| it.1 - 1));
            let lines: Vec<&str> = first()?.lines().collect();
            insert(&format!("{}\n{indent}", lines.join(&format!("\n{indent}"))))
        }
        None if step == "end" => Ok(format!("{text}{}\n", first()?)),
        _ => Err(format!("`{step}` is no line of a recipe")),
    }
}

/// Takes a command line apart, as a shell does with plain double quotes.
fn words(line: &str) -> Vec<&str> {
    let pieces = line.split('"').enumerate();
    let words = pieces.map(|(index, piece)| match index % 2 {
        0 => piece.split(' ').filter(|it| !it.is_empty()).collect(),
        _ => vec![piece],
    });
    words.flat_map(|it: Vec<&str>| it).collect()
}

/// Returns the byte at a place, line and column from 1, in characters.
fn byte_of(text: &str, (line, column): (usize, usize)) -> usize {
    let start: usize = text.split_inclusive('\n').take(line - 1).map(str::len).sum();
    let rest = &text[start..];
    start + rest.char_indices().nth(column - 1).map_or(rest.len(), |it| it.0)
}
