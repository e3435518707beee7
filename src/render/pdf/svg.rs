//! The words of an SVG: tags, attributes, numbers, moves and paths, as far as pictures of this program use them.

use super::flow::Step;
use std::collections::BTreeMap;

/// A piece of the document.
pub(super) enum Tag<'a> {
    Open { name: &'a str, attributes: BTreeMap<String, String>, closed: bool },
    Close(&'a str),
    Text(String),
}

/// Returns the tags and texts of a document, without comments and declarations.
pub(super) fn tags(text: &str) -> Vec<Tag<'_>> {
    let mut found = Vec::new();
    let mut rest = text;
    while let Some((before, tail)) = rest.split_once('<') {
        if !before.trim().is_empty() {
            found.push(Tag::Text(plain(before)));
        }
        let end = end_of_tag(tail);
        let (tag, after) = tail.split_at(end);
        rest = after.strip_prefix('>').unwrap_or(after);
        match tag.strip_prefix('/') {
            Some(name) => found.push(Tag::Close(name.trim())),
            None if tag.starts_with(['!', '?']) => {}
            None => found.push(opened(tag)),
        }
    }
    found
}

/// The place of the `>` that ends a tag: not inside quotes.
fn end_of_tag(text: &str) -> usize {
    let mut quote = None;
    for (at, c) in text.char_indices() {
        match (quote, c) {
            (None, '>') => return at,
            (None, '"' | '\'') => quote = Some(c),
            (Some(open), c) if open == c => quote = None,
            _ => {}
        }
    }
    text.len()
}

fn opened(tag: &str) -> Tag<'_> {
    let closed = tag.ends_with('/');
    let tag = tag.trim_end_matches('/');
    let (name, mut rest) = tag.split_once(char::is_whitespace).unwrap_or((tag, ""));
    let mut attributes = BTreeMap::new();
    while let Some((key, tail)) = rest.split_once('=') {
        let tail = tail.trim_start();
        let Some(quote) = tail.chars().next().filter(|it| matches!(it, '"' | '\'')) else { break };
        let Some((value, after)) = tail[1..].split_once(quote) else { break };
        attributes.insert(key.trim().to_owned(), plain(value));
        rest = after;
    }
    Tag::Open { name, attributes, closed }
}

/// Text without escapes.
fn plain(text: &str) -> String {
    let named = [
        ("&lt;", "<"),
        ("&gt;", ">"),
        ("&quot;", "\""),
        ("&apos;", "'"),
        ("&#39;", "'"),
        ("&#34;", "\""),
    ];
    let text = named.iter().fold(text.to_owned(), |text, (from, to)| text.replace(from, to));
    text.replace("&amp;", "&")
}

/// Returns a number, in pixels where it has a unit.
pub(super) fn number(text: &str) -> Option<f32> {
    let number = text.trim().trim_end_matches("px").parse::<f32>().ok()?;
    number.is_finite().then_some(number)
}

/// Returns the numbers of a list with commas or spaces.
pub(super) fn numbers(text: &str) -> Vec<f32> {
    text.split([',', ' ', '\n', '\t']).filter_map(number).collect()
}

/// Returns the gray of a colour, from 0 (black) to 1 (white); `None` where nothing is painted.
pub(super) fn gray(colour: &str) -> Option<f32> {
    let part = |range| u8::from_str_radix(colour.get(range)?, 16).ok().map(f32::from);
    match colour.trim() {
        "none" | "transparent" => None,
        "white" => Some(1.0),
        it if it.starts_with("url(") => Some(0.85),
        it if it.starts_with('#') && it.len() == 7 => {
            let (red, green, blue) = (part(1..3)?, part(3..5)?, part(5..7)?);
            Some((0.299 * red + 0.587 * green + 0.114 * blue) / 255.0)
        }
        // `currentColor` and black.
        _ => Some(0.0),
    }
}

/// Returns a list of moves and turns as a matrix.
pub(super) fn transform(text: &str) -> [f32; 6] {
    let mut matrix = [1.0, 0.0, 0.0, 1.0, 0.0, 0.0];
    for one in text.split(')') {
        let Some((name, values)) = one.split_once('(') else { continue };
        let values = numbers(values);
        let next = match (name.trim_matches([' ', ',', '\n']), values.as_slice()) {
            ("translate", [x]) => [1.0, 0.0, 0.0, 1.0, *x, 0.0],
            ("translate", [x, y]) => [1.0, 0.0, 0.0, 1.0, *x, *y],
            ("scale", [both]) => [*both, 0.0, 0.0, *both, 0.0, 0.0],
            ("scale", [x, y]) => [*x, 0.0, 0.0, *y, 0.0, 0.0],
            ("rotate", [angle]) => turned(*angle, 0.0, 0.0),
            ("rotate", [angle, x, y]) => turned(*angle, *x, *y),
            ("matrix", [a, b, c, d, e, f]) => [*a, *b, *c, *d, *e, *f],
            _ => continue,
        };
        matrix = product(matrix, next);
    }
    matrix
}

/// A turn by degrees, clockwise on paper, about a point.
fn turned(angle: f32, x: f32, y: f32) -> [f32; 6] {
    let radians = f64::from(angle).to_radians();
    let (sine, cosine) = (libm::sin(radians) as f32, libm::cos(radians) as f32);
    let about = [cosine, sine, -sine, cosine, x, y];
    product(about, [1.0, 0.0, 0.0, 1.0, -x, -y])
}

/// Returns the matrix of `second`, then `first`.
pub(super) fn product(first: [f32; 6], second: [f32; 6]) -> [f32; 6] {
    let [a, b, c, d, e, f] = first;
    let [g, h, i, j, k, l] = second;
    [
        a * g + c * h,
        b * g + d * h,
        a * i + c * j,
        b * i + d * j,
        a * k + c * l + e,
        b * k + d * l + f,
    ]
}

/// Returns the steps of a path; what stands after a letter that is not known is left out.
pub(super) fn path(text: &str) -> Vec<Step> {
    let mut steps = Vec::new();
    let mut at = [0.0, 0.0];
    let starts = text.char_indices().filter(|it| it.1.is_ascii_alphabetic() && it.1 != 'e');
    let starts: Vec<usize> = starts.map(|it| it.0).collect();
    for (index, start) in starts.iter().enumerate() {
        let end = starts.get(index + 1).copied().unwrap_or(text.len());
        let (letter, values) = text[*start..end].split_at(1);
        let values = numbers(&values.replace('-', " -").replace("e -", "e-"));
        let relative = letter.chars().all(|it| it.is_ascii_lowercase());
        let base = |at: [f32; 2]| if relative { at } else { [0.0, 0.0] };
        match letter.to_ascii_uppercase().as_str() {
            "M" | "L" => values.chunks_exact(2).enumerate().for_each(|(index, it)| {
                let from = base(at);
                at = [from[0] + it[0], from[1] + it[1]];
                let first = index == 0 && letter.eq_ignore_ascii_case("m");
                steps.push(if first { Step::Move(at) } else { Step::Line(at) });
            }),
            "H" | "V" => values.iter().for_each(|it| {
                let axis = usize::from(letter.eq_ignore_ascii_case("v"));
                at[axis] = base(at)[axis] + it;
                steps.push(Step::Line(at));
            }),
            "C" => values.chunks_exact(6).for_each(|it| {
                let from = base(at);
                let point = |index: usize| [from[0] + it[index], from[1] + it[index + 1]];
                steps.push(Step::Curve([point(0), point(2), point(4)]));
                at = point(4);
            }),
            "Z" => {
                let start = steps.iter().rev().find_map(|it| match it {
                    Step::Move(at) => Some(*at),
                    _ => None,
                });
                at = start.unwrap_or(at);
                steps.push(Step::Close);
            }
            _ => return steps,
        }
    }
    steps
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn reads_paths_in_both_ways_of_writing() {
        let expected = [
            Step::Move([1.0, 2.0]),
            Step::Line([4.0, 2.0]),
            Step::Line([4.0, -2.0]),
            Step::Curve([[4.0, 0.0], [5.0, 1.0], [6.0, 1.0]]),
            Step::Close,
        ];
        assert_eq!(path("M1,2 L 4 2 V-2 C4,0 5,1 6,1 Z"), expected);
        assert_eq!(path("m1 2l3 0v-4c0 2 1 3 2 3z"), expected);
    }

    /// By hand: (x, y) = (2, 0) is doubled to (4, 0), turned by 90° to (0, 4), moved to (10, 4).
    #[test]
    fn puts_moves_and_turns_together() {
        let [a, b, _, _, e, f] = transform("translate(10) rotate(90) scale(2)");
        assert!((a * 2.0 + e - 10.0).abs() < 1e-5 && (b * 2.0 + f - 4.0).abs() < 1e-5);
    }

    #[test]
    fn does_not_end_a_tag_inside_quotes() {
        let all = tags("<?xml?><a b=\"x > y\" c='&lt;'/>t &amp;amp; u<!-- n --></a>");
        let [Tag::Open { name: "a", attributes, closed: true }, Tag::Text(text), Tag::Close("a")] =
            all.as_slice()
        else {
            panic!("{} tags", all.len());
        };
        assert_eq!((attributes["b"].as_str(), attributes["c"].as_str()), ("x > y", "<"));
        assert_eq!(text, "t &amp; u");
    }
}
