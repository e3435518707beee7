//! The pictures of the shipped budgets: drawn, well formed, in step with the record, and those of `docs/` current.
//!
//! Figures are compared with the record that they are made from; no outside figures are needed. Each picture
//! is also left in the folder for temporary files of the build, to be looked at.

#![allow(clippy::unwrap_used, clippy::panic)]

use std::path::{Path, PathBuf};
use std::process::Command;
use surebound::budget::Budget;
use surebound::budget::parts::Text;
use surebound::decide::readings::read_value;
use surebound::decide::{Readings, find_point};
use surebound::fault::Origin;
use surebound::page::Figure;
use surebound::page::figure::{self, Hatch, Mark};
use surebound::record::{Record, Section, from};
use surebound::render::plot;

const BUDGETS: [&str; 5] = [
    "dial-indicator-0-10",
    "inch-micrometer-0-1",
    "outside-micrometer-0-25",
    "outside-micrometer-25-50",
    "torque-wrench",
];
const WORKSHEETS: [&str; 2] = ["M-118", "M-204-inch"];

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

fn record(arguments: &[&str]) -> Record {
    let output = Command::new(env!("CARGO_BIN_EXE_surebound"))
        .args(arguments)
        .args(["--format", "json"])
        .current_dir(root())
        .output()
        .unwrap();
    Record::from_json(&String::from_utf8(output.stdout).unwrap()).unwrap()
}

/// The sections of all shipped files, with a name for their pictures.
fn sections() -> Vec<(String, Section)> {
    let shown = BUDGETS.iter().map(|it| {
        let path = format!("budgets/{it}.yaml");
        ((*it).to_owned(), record(&["show", &path, "--together"]).sections.remove(0))
    });
    let judged = WORKSHEETS.iter().map(|it| {
        let path = format!("budgets/{it}.yaml");
        ((*it).to_owned(), record(&["judge", &path]).sections.remove(0))
    });
    shown
        .chain(judged)
        .chain(std::iter::once(("one".to_owned(), judged_reading("10.303 mm"))))
        .collect()
}

/// One reading at 10.3 mm with everything that a picture can be made from.
fn judged_reading(reading: &str) -> Section {
    let text = include_str!("../budgets/outside-micrometer-0-25.yaml");
    let budget = Budget::parse(text).unwrap();
    let evaluation = budget.evaluate().unwrap();
    let index = find_point(&budget, "10.3 mm", Origin::NONE).unwrap();
    let quantity = read_value(&budget, &Text::from(reading), false).unwrap();
    let judgement = evaluation.judge(&Readings::one(index, quantity, Origin::NONE)).unwrap();
    let mut section = from::judged(&judgement);
    from::add_operating_curve(&mut section, &judgement, 0, true);
    from::add_density_curve(&mut section, &judgement, 0);
    section
}

/// Leaves a picture where it can be looked at.
fn leave(name: &str, figure: &Figure, text: &str) -> PathBuf {
    let path = Path::new(env!("CARGO_TARGET_TMPDIR")).join(format!("{name}-{}.svg", figure.name));
    std::fs::write(&path, text).unwrap();
    #[cfg(feature = "png")]
    std::fs::write(path.with_extension("png"), surebound::render::png(figure, 1200).unwrap())
        .unwrap();
    path
}

#[test]
fn every_picture_of_the_shipped_budgets_is_drawn() {
    let mut drawn = 0;
    for (file, section) in sections() {
        let middle = &section.points[section.points.len() / 2];
        for name in figure::NAMES {
            let Some(figure) = figure::by_name(name, &section, middle) else { continue };
            let text = plot::svg(&figure).unwrap();
            roxmltree::Document::parse(&text).unwrap();
            assert!(text.len() < 60_000, "{file}, {name}: {} bytes", text.len());
            leave(&file, &figure, &text);
            drawn += 1;
        }
    }
    // Points, shares, U for each of seven; correlation for five; points, shares, density, curve for one.
    assert!(drawn >= 7 * 3 + 5 + 4, "{drawn}");
}

/// The density is the one that the risk is taken from: what is hatched has the risk for its area, but for
/// what lies more than 4.5 u away (normal: 7e-6) and for the cells that the limits cut, each a 200th of 9 u
/// wide and no higher than 0.4/u: 200th · 9 · 0.4 = 0.018, of which a straight line misses far less.
#[test]
fn what_is_hatched_is_the_risk() {
    for reading in ["10.303 mm", "10.304 mm", "10.306 mm", "10.295 mm"] {
        let section = judged_reading(reading);
        let point = &section.points[0];
        let picture = figure::density(&section, point).unwrap();
        let area = |outline: &Vec<[f64; 2]>| {
            let pairs = outline.iter().zip(outline.iter().cycle().skip(1));
            0.5 * pairs.map(|(p, q)| p[0] * q[1] - q[0] * p[1]).sum::<f64>().abs()
        };
        let hatched = picture.marks.iter().filter_map(|it| match it {
            Mark::Area { outline, hatch: Hatch::Falling, .. } => Some(area(outline)),
            _ => None,
        });
        let hatched: f64 = hatched.sum();
        let risk = point.decision.as_ref().unwrap().specific_risk.unwrap();
        assert!((hatched - risk).abs() < 1e-3, "{reading}: {hatched}, risk {risk}");
    }
}

/// The whole density has the area 1, but for its tails beyond 4.5 u (below 1e-4 from ν = 20 on).
#[test]
fn the_density_of_the_record_adds_up_to_one() {
    let section = judged_reading("10.301 mm");
    let curve = section.points[0].decision.as_ref().unwrap().density_curve.clone().unwrap();
    let width = (curve.high - curve.low) / curve.heights.len() as f64;
    let sum: f64 = curve.heights.iter().sum::<f64>() * width;
    assert!((sum - 1.0).abs() < 1e-3, "{sum}");
    let mean = 0.5 * (curve.high + curve.low);
    assert!((mean - section.points[0].estimate).abs() < 1e-9);
}

#[test]
fn the_pictures_of_the_docs_are_current() {
    let worksheet = record(&["judge", "budgets/M-118.yaml"]).sections.remove(0);
    let one = judged_reading("10.303 mm");
    let pictures = [
        ("points", figure::points(&worksheet)),
        ("shares", figure::shares(&worksheet, &worksheet.points[3])),
        ("density", figure::density(&one, &one.points[0])),
    ];
    let mut stale = Vec::new();
    for (name, picture) in pictures {
        let text = plot::svg(&picture.unwrap()).unwrap();
        let path = format!("docs/{name}.svg");
        let committed = std::fs::read_to_string(root().join(&path)).unwrap_or_default();
        if committed.replace("\r\n", "\n") != text {
            let fresh = Path::new(env!("CARGO_TARGET_TMPDIR")).join(format!("{name}.svg"));
            std::fs::write(&fresh, text).unwrap();
            stale.push(format!("{path} is not current: copy {} there", fresh.display()));
        }
    }
    assert!(stale.is_empty(), "{}", stale.join("\n"));
}
