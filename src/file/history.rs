//! A file of past errors: CSV with a column `error` and, where errors belong to points, `at`.

use crate::budget::parts::HistoryRow;

/// Returns the rows of a history.
///
/// # Errors
///
/// What is wrong, with the line.
pub fn history(bytes: &[u8], name: &str) -> Result<Vec<HistoryRow>, String> {
    let text = std::str::from_utf8(bytes).map_err(|it| format!("{name}: {it}"))?;
    let text = text.trim_start_matches('\u{feff}');
    let mut reader = csv::ReaderBuilder::new().trim(csv::Trim::All).from_reader(text.as_bytes());
    let header = reader.headers().map_err(|it| format!("{name}: {it}"))?.clone();
    let find = |wanted: &str| header.iter().position(|it| it == wanted);
    let error = find("error").ok_or_else(|| format!("{name}: no column `error`"))?;
    let at = find("at");
    let mut rows = Vec::new();
    for row in reader.records() {
        let row = row.map_err(|it| format!("{name}: {it}"))?;
        rows.push(HistoryRow {
            line: row.position().map_or(0, csv::Position::line),
            at: at.and_then(|it| row.get(it)).map(str::to_owned),
            error: row.get(error).unwrap_or_default().to_owned(),
        });
    }
    Ok(rows)
}
