//! A figure as an SVG picture that stands on any page: lines and text take the colour of the page, and a
//! reader that cannot see it is told what it shows.
//!
//! Only this of SVG is used, so that other forms can be made from it: `svg` with a view box, `title`, `desc`,
//! `g`, `path` with the steps M, L and Z, `circle`, `text`; of attributes `id`, `role`, `aria-labelledby`,
//! `fill` and `stroke` (`none` or `currentColor`), `stroke-width`, `stroke-dasharray`, `stroke-linecap`,
//! `font-family`, `font-size`, `font-weight`, `text-anchor`. No styles, patterns, masks, turns, opacity,
//! addresses. Hatching is lines.

use super::scene::{Anchor, Item, Scene, WIDE, scene};
use crate::page::Figure;
use std::fmt::Write;

/// Width that is shown, in pixels; the height follows.
const SHOWN: f64 = 800.0;

/// The picture could not be drawn.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("the picture cannot be drawn: {0}")]
pub struct NotDrawn(pub(super) String);

/// Returns a figure as an SVG document of its own.
///
/// # Errors
///
/// [`NotDrawn`], where a number of it is not finite or an axis has no length.
pub fn svg(figure: &Figure) -> Result<String, NotDrawn> {
    named(figure, "")
}

/// Returns a figure as SVG with `prefix` before its ids, so that several stand on one page.
///
/// # Errors
///
/// As [`svg`].
pub fn named(figure: &Figure, prefix: &str) -> Result<String, NotDrawn> {
    let scene = checked(figure)?;
    let mut text = String::new();
    let written = write(&mut text, figure, &scene, &escaped(prefix));
    written.map_err(|it| NotDrawn(it.to_string()))?;
    Ok(text)
}

/// Returns a figure on its sheet.
pub(super) fn checked(figure: &Figure) -> Result<Scene, NotDrawn> {
    if !figure.is_sound() {
        return Err(NotDrawn("a number of it is not finite, or an axis has no length".to_owned()));
    }
    Ok(scene(figure))
}

fn write(out: &mut String, figure: &Figure, scene: &Scene, prefix: &str) -> std::fmt::Result {
    let high = short(scene.high);
    let shown = short(SHOWN * scene.high / WIDE);
    writeln!(
        out,
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{SHOWN}\" height=\"{shown}\" \
         viewBox=\"0 0 {WIDE} {high}\" role=\"img\" aria-labelledby=\"{prefix}title {prefix}description\">",
    )?;
    writeln!(out, "<title id=\"{prefix}title\">{}</title>", escaped(figure.title.as_str()))?;
    let description = escaped(figure.description.as_str());
    writeln!(out, "<desc id=\"{prefix}description\">{description}</desc>")?;
    writeln!(out, "<g fill=\"none\" stroke=\"currentColor\">")?;
    scene.items.iter().try_for_each(|it| shape(out, it))?;
    writeln!(out, "</g>")?;
    writeln!(out, "<g fill=\"currentColor\" stroke=\"none\" font-family=\"sans-serif\">")?;
    scene.items.iter().try_for_each(|it| letters(out, it))?;
    writeln!(out, "</g>\n</svg>")
}

fn shape(out: &mut String, item: &Item) -> std::fmt::Result {
    match item {
        Item::Text { .. } => Ok(()),
        Item::Area(outline) => {
            let steps = steps(std::slice::from_ref(outline), true);
            writeln!(out, "<path d=\"{steps}\" fill=\"currentColor\" stroke=\"none\"/>")
        }
        Item::Circle { at, radius, filled } => {
            let (x, y, r) = (short(at[0]), short(at[1]), short(*radius));
            let fill = if *filled {
                " fill=\"currentColor\" stroke=\"none\""
            } else {
                " stroke-width=\"3\""
            };
            writeln!(out, "<circle cx=\"{x}\" cy=\"{y}\" r=\"{r}\"{fill}/>")
        }
        Item::Lines { lines, width, dashes, closed } => {
            let broken = match dashes {
                [] => String::new(),
                all => {
                    let all: Vec<String> = all.iter().map(|it| short(*it)).collect();
                    format!(" stroke-dasharray=\"{}\"", all.join(" "))
                }
            };
            let steps = steps(lines, *closed);
            writeln!(out, "<path d=\"{steps}\" stroke-width=\"{}\"{broken}/>", short(*width))
        }
    }
}

fn letters(out: &mut String, item: &Item) -> std::fmt::Result {
    let Item::Text { at, anchor, size, bold, text } = item else { return Ok(()) };
    let anchor = match anchor {
        Anchor::Start => "",
        Anchor::Middle => " text-anchor=\"middle\"",
        Anchor::End => " text-anchor=\"end\"",
    };
    let bold = if *bold { " font-weight=\"bold\"" } else { "" };
    let (x, y) = (short(at[0]), short(at[1]));
    let text = escaped(text);
    writeln!(out, "<text x=\"{x}\" y=\"{y}\" font-size=\"{size}\"{bold}{anchor}>{text}</text>")
}

/// The steps of a path.
fn steps(lines: &[Vec<[f64; 2]>], closed: bool) -> String {
    let mut out = String::new();
    for line in lines {
        for (index, [x, y]) in line.iter().enumerate() {
            out.push_str(if index == 0 { "M" } else { "L" });
            out += &format!("{} {}", short(*x), short(*y));
        }
        if closed {
            out.push('Z');
        }
    }
    out
}

/// A number to a tenth, without a closing zero.
fn short(number: f64) -> String {
    let text = format!("{number:.1}");
    let text = text.strip_suffix(".0").unwrap_or(&text);
    if text == "-0" { "0".to_owned() } else { text.to_owned() }
}

fn escaped(text: &str) -> String {
    let text = text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;");
    text.replace('"', "&quot;")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::page::figure::{Curve, Hills, samples};

    fn hills() -> Hills {
        let curve = |name: &str, heights: &[f64]| Curve {
            name: name.into(),
            heights: heights.to_vec(),
            interval: [-2.0, 2.0],
            interval_name: "95 %".into(),
        };
        Hills {
            title: "Where E may lie".into(),
            description: "Two densities".into(),
            axis: "E in µm".into(),
            height: "density in 1/µm".into(),
            range: [-3.0, 3.0],
            curves: vec![
                curve("Monte Carlo", &[0.0, 0.1, 0.4, 0.4, 0.1, 0.0]),
                curve("law, normal", &[0.0, 0.2, 0.3, 0.3, 0.2, 0.0]),
            ],
        }
    }

    /// All pictures of the samples, and a crosscheck's.
    fn all() -> Vec<Figure> {
        samples(None).into_iter().chain([hills().into()]).collect()
    }

    #[test]
    fn is_well_formed_has_one_colour_and_says_what_it_shows() {
        for figure in all() {
            let text = svg(&figure).unwrap();
            let tree = roxmltree::Document::parse(&text).unwrap();
            let root = tree.root_element();
            assert_eq!(root.attribute("role"), Some("img"));
            for node in root.descendants().filter(|it| it.is_element()) {
                let known = ["svg", "title", "desc", "g", "path", "circle", "text"];
                assert!(known.contains(&node.tag_name().name()), "{node:?}");
                for name in ["fill", "stroke"] {
                    let paint = node.attribute(name);
                    assert!(matches!(paint, None | Some("none" | "currentColor")), "{node:?}");
                }
                assert_eq!(node.attribute("style"), None);
            }
            let space = "http://www.w3.org/2000/svg";
            let said =
                |name| root.children().find(|it| it.has_tag_name((space, name))).unwrap().text();
            assert_eq!(said("title"), Some(figure.title.as_str()));
            assert_eq!(said("desc"), Some(figure.description.as_str()));
            assert_eq!(svg(&figure).unwrap(), text, "the same bytes each time");
        }
    }

    #[test]
    fn the_densities_of_a_crosscheck_are_named() {
        let picture = svg(&hills().into()).unwrap();
        for text in ["E in µm", "density in 1/µm", "Monte Carlo", "law, normal (95 %)"] {
            assert!(picture.contains(text), "{text}");
        }
        let mut one = hills();
        one.curves[1].heights.clear();
        assert!(svg(&one.into()).is_ok());
    }

    #[test]
    fn keeps_markup_in_names_as_text() {
        let hostile = "<script>a('&\")</script>".to_owned() + &"x".repeat(5000);
        for figure in samples(Some(&hostile)) {
            let text = svg(&figure).unwrap();
            assert!(!text.contains("<script>"), "{}", figure.name);
            assert!(roxmltree::Document::parse(&text).is_ok(), "{}", figure.name);
        }
    }

    #[test]
    fn several_on_one_page_have_ids_of_their_own() {
        let figure = Figure::from(hills());
        let [one, two] = ["one-", "two-"].map(|it| named(&figure, it).unwrap());
        assert!(one.contains("id=\"one-title\"") && two.contains("id=\"two-title\""));
        assert_eq!(one.replace("one-", "two-"), two);
    }

    #[test]
    fn refuses_a_number_that_is_none() {
        let mut figure = Figure::from(hills());
        figure.across.range[1] = f64::NAN;
        assert!(svg(&figure).is_err());
    }
}
