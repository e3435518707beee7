//! Commands as the pages show them.

/// Returns the words of a command, quoted ones as one.
pub fn words(command: &str) -> Vec<String> {
    let pieces = command.split('"').enumerate();
    let words = pieces.flat_map(|(at, piece)| match at % 2 {
        0 => piece.split_whitespace().map(str::to_owned).collect(),
        _ => vec![piece.to_owned()],
    });
    words.collect()
}
