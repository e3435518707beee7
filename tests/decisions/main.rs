//! Decisions as a reader meets them: verdicts, printed limits and cards, through YAML → record.

#[path = "../common/judge.rs"]
mod judge;
#[path = "../common/show.rs"]
mod show;

mod card;
mod density;
mod fixed;
mod instrument;
mod limits;
mod paper;
mod rules;

/// The text of a shipped budget.
fn shipped(name: &str) -> String {
    let path = format!("{}/budgets/{name}.yaml", env!("CARGO_MANIFEST_DIR"));
    std::fs::read_to_string(path).expect("a committed file")
}

/// Replaces the one place where `from` stands.
#[track_caller]
fn replaced(text: &str, from: &str, to: &str) -> String {
    assert_eq!(text.matches(from).count(), 1, "`{from}` stands once");
    text.replace(from, to)
}
