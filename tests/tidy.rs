//! The yard: what holds for the text of the project rather than for its numbers.
//!
//! Reads `src/`, `tests/` and `docs/` as text. Comments and strings are blanked first where code is
//! looked for, so that neither can hide nor feign it.

// The whole file is a test; a helper may end it as a test may.
#![allow(clippy::unwrap_used, clippy::panic)]

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};
use surebound::file::keys::{BUDGET, WORKSHEET, all_maps};

/// Longest file, in lines.
const FILE: usize = 600;
/// Longest function outside tests, in lines.
const FUNCTION: usize = 60;
/// Longest function of a test, in lines: tables of cases stay tables.
const TEST_FUNCTION: usize = 120;

/// Which folders of `src/` a folder may use besides itself; each may also use what these may.
const MAY_USE: [(&str, &[&str]); 13] = [
    ("fault", &[]),
    ("quantity", &["fault"]),
    ("model", &["quantity"]),
    ("budget", &["model"]),
    ("file", &["budget"]),
    ("evidence", &["budget"]),
    ("propagate", &["evidence"]),
    ("decide", &["propagate"]),
    ("advise", &["decide"]),
    ("record", &["advise", "file"]),
    ("page", &["record"]),
    ("render", &["page"]),
    ("cli", &["render", "advise", "file"]),
];

/// A file of the project.
struct File {
    /// Its path from the top of the project, with `/`.
    path: String,
    text: String,
}

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// Returns the files below a folder whose names end in `ending`, in order.
fn files(folder: &str, ending: &str) -> Vec<File> {
    let mut open = vec![root().join(folder)];
    let mut found: Vec<PathBuf> = Vec::new();
    while let Some(folder) = open.pop() {
        for entry in std::fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                open.push(path);
            } else if path.to_str().unwrap().ends_with(ending) {
                found.push(path);
            }
        }
    }
    found.sort();
    let read = |path: PathBuf| {
        let short = path.strip_prefix(root()).unwrap().to_str().unwrap().replace('\\', "/");
        File { path: short, text: std::fs::read_to_string(path).unwrap() }
    };
    let files: Vec<File> = found.into_iter().map(read).collect();
    assert!(!files.is_empty(), "nothing ends in {ending} below {folder}");
    files
}

fn sources() -> Vec<File> {
    files("src", ".rs")
}

/// Returns Rust code with comments, strings and character literals blanked; line breaks stay.
fn code(text: &str) -> String {
    let chars: Vec<char> = text.chars().collect();
    let mut out = String::new();
    let mut at = 0;
    while at < chars.len() {
        let end = skipped(&chars, at);
        if end == at {
            out.push(chars[at]);
            at += 1;
        } else {
            out.extend(chars[at..end].iter().map(|it| if *it == '\n' { '\n' } else { ' ' }));
            at = end;
        }
    }
    out
}

/// Returns the end of the comment or literal that begins at `at`, or `at` where none does.
fn skipped(chars: &[char], at: usize) -> usize {
    let is = |offset: usize, c: char| chars.get(at + offset) == Some(&c);
    let find = |from: usize, end: &[char]| {
        let rest = chars.get(from..).unwrap_or(&[]);
        let found = rest.windows(end.len()).position(|it| it == end);
        found.map_or(chars.len(), |it| from + it + end.len())
    };
    let after_word = at > 0 && (chars[at - 1].is_alphanumeric() || chars[at - 1] == '_');
    if is(0, '/') && is(1, '/') {
        return find(at, &['\n']) - 1;
    }
    if is(0, '/') && is(1, '*') {
        return find(at + 2, &['*', '/']);
    }
    if is(0, 'r') && !after_word {
        let hashes = chars[at + 1..].iter().take_while(|it| **it == '#').count();
        if is(1 + hashes, '"') {
            let end: Vec<char> = std::iter::once('"').chain(vec!['#'; hashes]).collect();
            return find(at + 2 + hashes, &end);
        }
    }
    if is(0, '"') {
        return quoted(chars, at, '"');
    }
    // 'x' and '\…' are literals, 'a without a closing mark is a lifetime.
    if is(0, '\'') && (is(2, '\'') || is(1, '\\')) {
        return quoted(chars, at, '\'');
    }
    at
}

/// Returns the end of a literal with escapes that begins at `at`.
fn quoted(chars: &[char], at: usize, mark: char) -> usize {
    let mut end = at + 1;
    while end < chars.len() && chars[end] != mark {
        end += if chars[end] == '\\' { 2 } else { 1 };
    }
    (end + 1).min(chars.len())
}

/// Returns the first words of all paths that start at the crate's root: `crate::a::b` and
/// `crate::{a, b::c}` over any number of lines.
fn roots(code: &str) -> BTreeSet<String> {
    let mut found = BTreeSet::new();
    for (at, _) in code.match_indices("crate::") {
        let rest = code[at + "crate::".len()..].trim_start();
        match rest.strip_prefix('{') {
            None => found.extend(word(rest)),
            Some(group) => {
                let mut depth = 0;
                let mut starts = true;
                for (at, c) in group.char_indices() {
                    match c {
                        '{' => depth += 1,
                        '}' if depth == 0 => break,
                        '}' => depth -= 1,
                        ',' if depth == 0 => starts = true,
                        c if c.is_whitespace() => {}
                        _ if starts => {
                            found.extend(word(&group[at..]));
                            starts = false;
                        }
                        _ => {}
                    }
                }
            }
        }
    }
    found
}

/// Returns the folders that `super::…::` chains of a file lead to: those that climb past its folder.
fn climbed(code: &str, own: &BTreeSet<String>) -> BTreeSet<String> {
    let mut found = BTreeSet::new();
    for (at, _) in code.match_indices("super::super::") {
        let end = code[at..].trim_start_matches("super::");
        let name = word(end).filter(|it| !own.contains(it));
        found.extend(name.filter(|it| MAY_USE.iter().any(|row| row.0 == it)));
    }
    found
}

fn word(text: &str) -> Option<String> {
    let word: String = text.chars().take_while(|it| it.is_alphanumeric() || *it == '_').collect();
    (!word.is_empty()).then_some(word)
}

fn allowed(folder: &str) -> BTreeSet<String> {
    let row = MAY_USE.iter().find(|it| it.0 == folder).unwrap_or_else(|| panic!("{folder}"));
    let mut all: BTreeSet<String> = row.1.iter().flat_map(|it| allowed(it)).collect();
    all.insert(folder.to_owned());
    all
}

/// What a file may use, by the table and its two narrower lines.
fn allowed_in(path: &str, folder: &str) -> BTreeSet<String> {
    let only = |names: &[&str]| names.iter().map(|it| (*it).to_owned()).collect();
    match folder {
        "render" if path == "src/render/json.rs" => only(&["record"]),
        "render" => only(&["render", "page"]),
        _ if path.starts_with("src/evidence/distribution/") => only(&[]),
        _ => allowed(folder),
    }
}

#[test]
fn every_folder_uses_only_what_the_table_allows() {
    let mut wrong = Vec::new();
    let mut seen = BTreeSet::new();
    let sources = sources();
    for file in &sources {
        let Some((folder, _)) = file.path["src/".len()..].split_once('/') else { continue };
        seen.insert(folder.to_owned());
        let own = sources.iter().filter_map(|it| {
            let inner = it.path.strip_prefix(&format!("src/{folder}/"))?;
            Some(inner.split(['/', '.']).next()?.to_owned())
        });
        let code = code(&file.text);
        let used: BTreeSet<String> =
            roots(&code).union(&climbed(&code, &own.collect())).cloned().collect();
        for name in used.difference(&allowed_in(&file.path, folder)) {
            wrong.push(format!("{} uses {name}", file.path));
        }
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
    let table: BTreeSet<String> = MAY_USE.iter().map(|it| it.0.to_owned()).collect();
    assert_eq!(seen, table, "folders of src/ and lines of the table");
}

#[test]
fn the_reader_of_imports_sees_what_is_there_and_only_that() {
    let text = "use crate::{\n    budget::{Base, file},\n    fault,\n    record::X,\n};\n\
        // use crate::page\nlet s = \"crate::render\"; let c = 'c'; fn f<'a>() { crate::cli::x() }\n\
        let r = r#\"crate::\"model\"#; use super::super::decide::Y; use super::super::card::Z;\n";
    let code = code(text);
    let names = |list: &[&str]| list.iter().map(|it| (*it).to_owned()).collect::<BTreeSet<_>>();
    assert_eq!(roots(&code), names(&["budget", "fault", "record", "cli"]));
    assert_eq!(climbed(&code, &names(&["card"])), names(&["decide"]));
    assert_eq!(code.lines().count(), text.lines().count());
}

#[test]
fn every_file_opens_with_its_module_doc() {
    let all = sources().into_iter().chain(files("tests", ".rs"));
    let bare: Vec<String> =
        all.filter(|it| !it.text.starts_with("//! ")).map(|it| it.path).collect();
    assert!(bare.is_empty(), "{bare:#?}");
}

/// A function: its line, its name, its length in lines, and whether it is part of tests.
struct Function {
    name: String,
    line: usize,
    length: usize,
    in_tests: bool,
}

/// Returns the functions of a file as rustfmt lays them out: the end has the indent of the start.
fn functions(file: &File) -> Vec<Function> {
    let code = code(&file.text);
    let lines: Vec<&str> = code.lines().collect();
    let tests = if is_for_tests(&file.path) {
        0
    } else {
        file.text.lines().position(|it| it.starts_with("#[cfg(test)]")).unwrap_or(usize::MAX)
    };
    let mut found = Vec::new();
    for (at, line) in lines.iter().enumerate() {
        let bare = line.trim_start();
        let Some(name) = name_of_function(bare) else { continue };
        let indent = line.len() - bare.len();
        let ends = |it: &&str| {
            let inner = it.trim_start();
            it.len() - inner.len() == indent && (inner.starts_with('}') || inner.ends_with(';'))
        };
        let one_line = bare.ends_with('}') || bare.ends_with(';');
        let rest = lines[at + 1..].iter().position(ends).expect("a function ends");
        let length = if one_line { 1 } else { rest + 2 };
        found.push(Function { name, line: at, length, in_tests: at >= tests });
    }
    found
}

fn is_for_tests(path: &str) -> bool {
    let name = path.rsplit('/').next().unwrap_or(path);
    let alone = ["tests.rs", "testing.rs", "sample.rs", "yaml_cases.rs"];
    path.starts_with("tests/") || path.contains("/tests/") || alone.contains(&name)
}

fn name_of_function(line: &str) -> Option<String> {
    let mut rest = line;
    for before in ["pub(super) ", "pub(crate) ", "pub ", "const "] {
        rest = rest.strip_prefix(before).unwrap_or(rest);
    }
    word(rest.strip_prefix("fn ")?)
}

#[test]
fn no_file_and_no_function_is_too_long() {
    let mut long = Vec::new();
    let mut count = 0;
    for file in sources().into_iter().chain(files("tests", ".rs")) {
        let lines = file.text.lines().count();
        if lines > FILE {
            long.push(format!("{}: {lines} lines", file.path));
        }
        for function in functions(&file) {
            count += 1;
            let limit = if function.in_tests { TEST_FUNCTION } else { FUNCTION };
            if function.length > limit {
                long.push(format!("{}: {}: {} lines", file.path, function.name, function.length));
            }
        }
    }
    assert!(count > 500, "the reader of functions found only {count}");
    assert!(long.is_empty(), "{long:#?}");
}

#[test]
fn every_key_has_a_doc_and_an_example() {
    let mut poor = Vec::new();
    for keys in [&BUDGET, &WORKSHEET].into_iter().flat_map(all_maps) {
        if keys.doc.trim().is_empty() {
            poor.push(keys.name.to_owned());
        }
        for key in keys.keys.iter().chain(keys.rest.iter()) {
            if key.doc.trim().is_empty() || key.example.trim().is_empty() {
                poor.push(format!("{}: {}", keys.name, key.name));
            }
        }
    }
    assert!(poor.is_empty(), "{poor:#?}");
}

/// One row of `docs/method.md`: id, places of the code and places of the tests (`path` `function`).
struct Method {
    id: String,
    code: Vec<(String, String)>,
    tests: Vec<(String, String)>,
}

/// Returns the rows of the tables of `docs/method.md` whose first cell is an id.
fn methods() -> Vec<Method> {
    let page = std::fs::read_to_string(root().join("docs/method.md")).unwrap();
    let mut found = Vec::new();
    for line in page.lines().filter(|it| it.starts_with("| M")) {
        let cells: Vec<&str> = line.trim_matches('|').split(" | ").map(str::trim).collect();
        let [id, _formula, _source, code, tests] = cells[..] else {
            panic!("five cells: {line}");
        };
        found.push(Method { id: id.to_owned(), code: places(code), tests: places(tests) });
    }
    assert!(found.len() > 20, "{} methods", found.len());
    found
}

/// Reads "`path` `function`, `path` `function`".
fn places(cell: &str) -> Vec<(String, String)> {
    let place = |it: &str| {
        let parts: Vec<&str> = it.split('`').collect();
        assert_eq!(parts.len(), 5, "two words in backquotes: {it}");
        (parts[1].to_owned(), parts[3].to_owned())
    };
    cell.split(", ").map(place).collect()
}

/// Returns the doc comment above a function of a file, or `None` where there is no such function.
fn doc_of(
    files: &BTreeMap<String, File>,
    path: &str,
    name: &str,
    in_tests: bool,
) -> Option<String> {
    let file = files.get(path)?;
    let function = functions(file).into_iter().find(|it| it.name == name)?;
    assert_eq!(function.in_tests, in_tests, "{path}: {name}");
    let lines: Vec<&str> = file.text.lines().collect();
    let above = lines[..function.line].iter().rev().map(|it| it.trim_start());
    let doc = above.take_while(|it| it.starts_with("///") || it.starts_with("#["));
    Some(doc.collect::<Vec<&str>>().join("\n"))
}

/// Whether a doc comment names a method: `Method: M1` or `Method: M1, M2`.
fn names_method(doc: &str, id: &str) -> bool {
    doc.lines().filter_map(|it| it.split_once("Method: ")).any(|(_, ids)| {
        ids.trim_end_matches('.').split(", ").any(|it| it.trim_end_matches('.') == id)
    })
}

#[test]
fn every_method_has_its_place_in_the_code_and_a_test() {
    let all = sources().into_iter().chain(files("tests", ".rs"));
    let all: BTreeMap<String, File> = all.map(|it| (it.path.clone(), it)).collect();
    let mut wrong = Vec::new();
    for method in methods() {
        for (places, in_tests) in [(&method.code, false), (&method.tests, true)] {
            for (path, name) in places {
                match doc_of(&all, path, name, in_tests) {
                    None => wrong.push(format!("{}: no `{name}` in {path}", method.id)),
                    Some(doc) if !names_method(&doc, &method.id) => {
                        wrong
                            .push(format!("{path}: `{name}` does not say `Method: {}`", method.id));
                    }
                    Some(_) => {}
                }
            }
        }
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
}

#[test]
fn every_method_that_the_code_names_is_on_the_page() {
    let known: BTreeSet<String> = methods().into_iter().map(|it| it.id).collect();
    for file in sources().into_iter().chain(files("tests", ".rs")) {
        let docs = file.text.lines().filter(|it| it.trim_start().starts_with("///"));
        for (_, ids) in docs.filter_map(|it| it.split_once(" Method: ")) {
            for id in ids.split(", ").map(|it| it.trim_end_matches('.')) {
                let named = id.starts_with('M') && id[1..].chars().all(|it| it.is_ascii_digit());
                assert!(!named || known.contains(id), "{}: {id}", file.path);
            }
        }
    }
}

/// Every `path` in backquotes that looks like a file of the project is one.
#[test]
fn every_file_that_a_page_names_is_there() {
    let mut missing = Vec::new();
    let mut pages = files("docs", ".md");
    for name in ["README.md", "DEVELOPERS.md"] {
        let text = std::fs::read_to_string(root().join(name)).unwrap();
        pages.push(File { path: name.to_owned(), text });
    }
    for page in &pages {
        for named in page.text.split('`').skip(1).step_by(2) {
            let tops = ["src/", "tests/", "docs/", "budgets/", ".ci/"];
            let plain = |c: char| c.is_ascii_alphanumeric() || "/._-".contains(c);
            let is_path = tops.iter().any(|it| named.starts_with(it)) && named.chars().all(plain);
            if is_path && !root().join(named).exists() {
                missing.push(format!("{}: {named}", page.path));
            }
        }
    }
    assert!(missing.is_empty(), "{missing:#?}");
}
