//! The pages of all shipped budgets as PDF: written to `target/tmp/pdf` to be looked at, and read back with
//! pdftotext (poppler-utils), another reader than the one that wrote them.

use super::super::card::What;
use super::super::{engine, simulation::Simulation, worksheet};
use crate::page::{self, Block, Folded, Page, report};
use crate::record::sample;
use crate::render::pdf::{Paper, render};
use crate::render::terminal;
use std::path::{Path, PathBuf};
use std::process::Command;

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// Writes a file and returns its text.
fn written(name: &str, page: &Page, paper: Paper) -> String {
    let folder = root().join("target/tmp/pdf");
    std::fs::create_dir_all(&folder).unwrap();
    let path: PathBuf = folder.join(format!("{name}-{paper:?}.pdf"));
    let bytes = render(page, paper).unwrap();
    assert_eq!(render(page, paper).unwrap(), bytes, "{name}: the same page gives the same bytes");
    std::fs::write(&path, bytes).unwrap();
    let output =
        Command::new("pdftotext").args(["-raw", "-enc", "UTF-8"]).arg(&path).arg("-").output();
    let output = output.expect("pdftotext is there: install poppler-utils");
    let told = String::from_utf8_lossy(&output.stderr).into_owned();
    assert!(output.status.success() && told.is_empty(), "{name}: {told}");
    String::from_utf8(output.stdout).unwrap()
}

/// The words of a text, each as often as it occurs, in order of the alphabet; bars and rules are no words.
fn words(text: &str) -> Vec<String> {
    let is_word = |it: &&str| it.chars().any(|it| !"█▏▎▍▌▋▊▉─├┤┴▁▂▃▄▅▆▇=-".contains(it));
    let mut words: Vec<String> =
        text.split_whitespace().filter(is_word).map(str::to_uppercase).collect();
    words.sort_unstable();
    words
}

/// The blocks without pictures, and the titles of these.
fn apart(blocks: &[Block], titles: &mut String) -> Vec<Block> {
    let mut rest = Vec::new();
    for block in blocks {
        match block {
            Block::Figure(figure) => *titles += &format!("{} ", figure.title),
            Block::Folded(folded) => {
                let blocks = apart(&folded.blocks, titles);
                rest.push(Block::Folded(Folded { title: folded.title.clone(), blocks }));
            }
            block => rest.push(block.clone()),
        }
    }
    rest
}

/// Everything that the terminal shows stands in the file too, of pictures their titles: a terminal draws them
/// with characters.
fn check(name: &str, page: &Page) {
    let mut titles = String::new();
    let plain = Page { blocks: apart(&page.blocks, &mut titles), ..page.clone() };
    let shown = terminal::render(&plain, 300, terminal::Style::Plain) + &titles;
    for paper in [Paper::A4, Paper::Letter] {
        let text = written(name, page, paper);
        let got = words(&text);
        let lost: Vec<String> = words(&shown).into_iter().filter(|it| !got.contains(it)).collect();
        assert!(lost.is_empty(), "{name}: {lost:?} of\n{shown}\nnot in\n{text}");
    }
}

#[test]
fn every_shipped_page_comes_back_as_text() {
    let simulation = Simulation::default();
    let (at, regrade) = (None, None);
    let asked = engine::Asked {
        at,
        simulation: &simulation,
        compare: false,
        pictures: engine::Pictures::None,
        regrade,
    };
    let mut count = 0;
    for entry in std::fs::read_dir(root().join("budgets")).unwrap() {
        let path = entry.unwrap().path();
        if path.extension().is_none_or(|it| it != "yaml") {
            continue;
        }
        let name = path.file_stem().unwrap().to_str().unwrap().to_owned();
        if name.starts_with("M-") {
            let record = worksheet::judge_file(&path, &asked).unwrap();
            check(&format!("{name}-judge"), &page::of(&record));
            check(&format!("{name}-report"), &report::page(&record));
            count += 1;
            continue;
        }
        let record = engine::show(&path, None, true, &simulation).unwrap();
        check(&format!("{name}-show"), &page::of(&record));
        check(&format!("{name}-report"), &report::page(&record));
        for what in [What::Readings, What::Errors] {
            if let Ok(record) = engine::card(&path, what, &simulation) {
                check(&format!("{name}-card-{what:?}"), &page::of(&record));
            }
        }
        count += 1;
    }
    assert!(count >= 7, "{count} budgets");
}

#[test]
fn every_kind_of_page_comes_back_as_text() {
    let all = [
        ("shown", sample::shown()),
        ("judged", sample::judged()),
        ("worksheet", sample::worksheet()),
        ("card", sample::card()),
        ("crosscheck", sample::crosscheck()),
    ];
    for (name, record) in all {
        check(&format!("sample-{name}"), &page::of(&record));
    }
}

#[test]
fn greek_and_signs_come_back_as_they_are() {
    let mut record = sample::shown();
    let name = "µ Ω αβγδεζθλνπρστφχψω ΔΣΦΨ 10⁻³ x₁ −1 ±2 ≤3 ≥4 √5 · ∞ → ÄÖÜßéñ x\u{304}";
    record.sections[0].points[9].contributors[0].name = name.into();
    let text = written("sample-signs", &page::of(&record), Paper::A4);
    let text = words(&text);
    for word in name.split(' ') {
        assert!(text.contains(&word.to_uppercase()), "{word} in {text:?}");
    }
}
