//! `docs/show.svg`, the picture in the README: real output of the command as an SVG.
//!
//! The picture is text in a fixed-pitch font, so it stays light and can be searched. It is made here
//! from what `show` and `judge` print, and the committed file must be just that; where it is not, the
//! new picture is written beside the build, and the message says from where to copy it.

#![allow(clippy::unwrap_used, clippy::panic)]

use std::fmt::Write;
use std::path::Path;
use std::process::Command;

/// Width of a character and height of a line, in pixels.
const CHARACTER: f64 = 7.8;
const LINE: usize = 18;
const MARGIN: usize = 16;

/// The commands whose output is shown, without the name of the program.
const COMMANDS: [&[&str]; 2] = [
    &["judge", "budgets/outside-micrometer-0-25.yaml", "--at", "20.2 mm", "--reading", "20.203 mm"],
    &["show", "budgets/outside-micrometer-0-25.yaml"],
];

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// Returns the line that is typed, and what comes out.
fn session(arguments: &[&str]) -> (String, String) {
    let output = Command::new(env!("CARGO_BIN_EXE_surebound"))
        .args(arguments)
        .current_dir(root())
        .output()
        .expect("the command is built with the tests");
    let quoted = arguments.iter().map(|it| match it.contains(' ') {
        true => format!("\"{it}\""),
        false => (*it).to_owned(),
    });
    let typed = format!("$ surebound {}", quoted.collect::<Vec<String>>().join(" "));
    (typed, String::from_utf8(output.stdout).expect("output is UTF-8"))
}

/// Returns the picture: typed lines bold, the rest plain, in colours that follow the reader's scheme.
fn picture(sessions: &[(String, String)]) -> String {
    let mut lines: Vec<(&str, bool)> = Vec::new();
    for (typed, text) in sessions {
        if !lines.is_empty() {
            lines.push(("", false));
        }
        lines.push((typed, true));
        lines.extend(text.lines().map(|it| (it, false)));
    }
    let widest = lines.iter().map(|it| it.0.chars().count()).max().unwrap_or(0);
    let width = (widest as f64 * CHARACTER).ceil() as usize + 2 * MARGIN;
    let height = lines.len() * LINE + 2 * MARGIN;
    let mut svg = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {width} {height}\" width=\"{width}\" \
         height=\"{height}\" role=\"img\" aria-label=\"Output of surebound judge and surebound show\">\n\
         <style>\n\
         rect {{ fill: #fbfbfa; stroke: #c8c8c4 }} text {{ fill: #1d1d1b; white-space: pre; \
         font: 13px ui-monospace, Menlo, Consolas, 'DejaVu Sans Mono', monospace }} \
         .typed {{ font-weight: bold }}\n\
         @media (prefers-color-scheme: dark) {{ rect {{ fill: #1b1c1e; stroke: #46474a }} \
         text {{ fill: #e6e6e3 }} }}\n\
         </style>\n\
         <rect x=\"0.5\" y=\"0.5\" width=\"{}\" height=\"{}\" rx=\"6\"/>\n",
        width - 1,
        height - 1,
    );
    for (at, (line, typed)) in lines.iter().enumerate().filter(|it| !it.1.0.is_empty()) {
        let y = MARGIN + at * LINE + 13;
        let class = if *typed { " class=\"typed\"" } else { "" };
        let length = line.chars().count() as f64 * CHARACTER;
        writeln!(
            svg,
            "<text x=\"{MARGIN}\" y=\"{y}\"{class} xml:space=\"preserve\" textLength=\"{length:.1}\" \
             lengthAdjust=\"spacing\">{}</text>",
            escaped(line)
        )
        .expect("a text takes what is written");
    }
    svg.push_str("</svg>\n");
    svg
}

fn escaped(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;")
}

#[test]
fn the_picture_shows_what_the_command_prints() {
    let sessions: Vec<(String, String)> = COMMANDS.iter().map(|it| session(it)).collect();
    assert!(sessions.iter().all(|it| it.1.lines().count() > 10), "{sessions:?}");
    let svg = picture(&sessions);
    let committed = std::fs::read_to_string(root().join("docs/show.svg")).unwrap_or_default();
    if committed.replace("\r\n", "\n") != svg {
        let fresh = Path::new(env!("CARGO_TARGET_TMPDIR")).join("show.svg");
        std::fs::write(&fresh, &svg).unwrap();
        panic!("docs/show.svg is not current: copy {} there", fresh.display());
    }
}

#[test]
fn the_picture_is_light_and_needs_nothing_else() {
    let svg = std::fs::read_to_string(root().join("docs/show.svg")).unwrap();
    assert!(svg.len() < 30_000, "{} bytes", svg.len());
    for outside in ["href", "url(", "<script", "<image", "@import"] {
        assert!(!svg.contains(outside), "{outside}");
    }
}
