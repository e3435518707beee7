//! Times of pages: milliseconds per call for a page of ten points with twelve contributors, as text and as PDF.
//!
//! `cargo bench --bench pages`; a plain loop, the best of twenty. The reference of the same run is what the
//! program does before there is a page: reading the budget of ten points and evaluating it. Processor time of
//! the thread from /proc, as a shared machine's clock says little; wall time where there is none. Printed, not judged.

use std::time::Instant;

use surebound::budget::Budget;
use surebound::page::{self, Block, Cell, Column, Page, Table};
use surebound::record::Record;
use surebound::render::pdf::{Paper, render};
use surebound::render::terminal;

fn main() {
    let text = include_str!("../../budgets/outside-micrometer-0-25.yaml");
    let record = || {
        let budget = Budget::parse(text).expect("a shipped budget has no fault");
        let evaluation = budget.evaluate().expect("a shipped budget has values");
        Record::try_from(&evaluation).expect("its figures are finite")
    };
    let reference = time("reference: budget of ten points to record", record);
    let shown = page::of(&record());
    let report = page::report::page(&record());
    let long = rows(400);
    for (label, page) in [("show", &shown), ("report", &report), ("400 rows", &long)] {
        let text = time(&format!("{label} as text"), || {
            terminal::render(page, 100, terminal::Style::Plain)
        });
        let pdf =
            time(&format!("{label} as PDF"), || render(page, Paper::A4).expect("it is drawn"));
        println!(
            "{label}: text {:.2}, PDF {:.2} of the reference",
            text / reference,
            pdf / reference
        );
    }
}

fn rows(count: usize) -> Page {
    let columns = vec![Column::names("name"), Column::number("u"), Column::words("evidence")];
    let row = |it: usize| {
        let name = format!("a contributor with a name of many words, number {it}");
        vec![Cell::text(name), Cell::text(format!("0.{it}")), Cell::text("stated normal")]
    };
    let table = Table { columns, rows: (0..count).map(row).collect(), caption: "as said".into() };
    Page { title: "rows".into(), blocks: vec![Block::Table(table)] }
}

/// Prints and returns the best time, in milliseconds.
fn time<T>(label: &str, call: impl Fn() -> T) -> f64 {
    let mut best = f64::INFINITY;
    for _ in 0..20 {
        let (start, before) = (Instant::now(), processor());
        std::hint::black_box(call());
        let spent = before.zip(processor()).map(|it| it.1 - it.0);
        best = best.min(spent.unwrap_or_else(|| start.elapsed().as_secs_f64() * 1e3));
    }
    println!("{label}: {best:.2} ms");
    best
}

/// Milliseconds that this thread has run.
fn processor() -> Option<f64> {
    let text = std::fs::read_to_string("/proc/thread-self/schedstat").ok()?;
    text.split(' ').next()?.parse::<f64>().ok().map(|it| it / 1e6)
}
