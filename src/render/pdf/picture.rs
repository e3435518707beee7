//! The pictures of this program, from SVG to marks on the paper: lines, shapes and text, nothing else of SVG.
//!
//! What is read: `svg` with a view box, `g`, `line`, `polyline`, `polygon`, `rect`, `circle`, `path` (M L H V C
//! Z), `text`; attributes, inherited, for fill, stroke, dashes, opacity, letters, anchors, moves and turns. Colours become
//! gray on white paper. What a `defs`, `title`, `desc` or `style` holds is not drawn.

use super::face::Faces;
use super::flow::{Draw, Pen, Step};
use super::svg::{self, Tag};
use crate::render::plot::NotDrawn;
use std::collections::BTreeMap;

/// How far a curve's handles lie from its ends, for a quarter of a circle: 4/3·(√2 − 1).
const HANDLE: f32 = 0.552_284_8;
/// Elements whose content is not drawn.
const SILENT: [&str; 6] = ["defs", "title", "desc", "style", "metadata", "clipPath"];
/// Attributes that an element hands on to those inside it.
const HANDED_ON: [&str; 11] = [
    "fill",
    "stroke",
    "stroke-width",
    "stroke-dasharray",
    "opacity",
    "font-size",
    "font-weight",
    "text-anchor",
    "fill-opacity",
    "stroke-opacity",
    "dominant-baseline",
];

/// The attributes that hold inside an element, and its place: x' = ax + cy + e, y' = bx + dy + f.
#[derive(Clone)]
struct State {
    attributes: BTreeMap<String, String>,
    matrix: [f32; 6],
    silent: bool,
}

/// Returns the height and the marks of a picture that is drawn as large as fits into `room` (width, height),
/// in the middle of the width.
///
/// # Errors
///
/// [`NotDrawn`], where the text is no SVG of this program.
pub(super) fn draws(
    text: &str,
    faces: &Faces,
    room: [f32; 2],
) -> Result<(f32, Vec<Draw>), NotDrawn> {
    let refused = || NotDrawn("a picture without a view box".to_owned());
    let mut stack: Vec<State> = Vec::new();
    let mut marks = Vec::new();
    let mut height = None;
    let mut open: Option<(State, String)> = None;
    for tag in svg::tags(text) {
        match tag {
            Tag::Open { name: "svg", attributes, .. } if stack.is_empty() => {
                let view = attributes.get("viewBox").map(|it| svg::numbers(it));
                let Some([left, top, wide, high]) = view.as_deref() else { return Err(refused()) };
                let scale = (room[0] / wide).min(room[1] / high);
                if !(scale.is_finite() && scale > 0.0) {
                    return Err(refused());
                }
                let shift = (room[0] - scale * wide) / 2.0;
                let matrix = [scale, 0.0, 0.0, scale, shift - scale * left, -scale * top];
                height = Some(scale * high);
                stack.push(State { attributes: BTreeMap::new(), matrix, silent: false });
            }
            Tag::Open { name, attributes, closed } => {
                let state = stack.last().ok_or_else(refused)?.inner(name, &attributes);
                if !state.silent {
                    marks.extend(state.shape(name, &attributes));
                    if matches!(name, "text" | "tspan") {
                        finish(&mut open, faces, &mut marks);
                        open = Some((state.clone(), String::new()));
                    }
                }
                if !closed {
                    stack.push(state);
                }
            }
            Tag::Text(text) => {
                if let Some((_, all)) = &mut open {
                    all.push_str(&text);
                }
            }
            Tag::Close(name) => {
                stack.pop();
                if name == "text" {
                    finish(&mut open, faces, &mut marks);
                }
            }
        }
    }
    Ok((height.ok_or_else(refused)?, marks))
}

/// Draws the text that has been read.
fn finish(open: &mut Option<(State, String)>, faces: &Faces, marks: &mut Vec<Draw>) {
    if let Some((state, text)) = open.take() {
        let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
        if !text.is_empty() {
            marks.push(state.text(text, faces));
        }
    }
}

impl State {
    /// Returns the state inside an element.
    fn inner(&self, name: &str, attributes: &BTreeMap<String, String>) -> State {
        let mut state = self.clone();
        state.silent |= SILENT.contains(&name);
        for place in ["x", "y", "dx", "dy"] {
            if name != "tspan" || attributes.contains_key(place) {
                state.attributes.remove(place);
            }
        }
        for (key, value) in attributes {
            let place = matches!(key.as_str(), "x" | "y" | "dx" | "dy");
            if HANDED_ON.contains(&key.as_str()) || place {
                state.attributes.insert(key.clone(), value.clone());
            }
        }
        let moves = attributes.get("transform").map(|it| svg::transform(it));
        state.matrix = moves.map_or(state.matrix, |it| svg::product(state.matrix, it));
        state
    }

    fn get(&self, key: &str) -> Option<&str> {
        self.attributes.get(key).map(String::as_str)
    }

    fn number(&self, key: &str) -> Option<f32> {
        self.get(key).and_then(svg::number)
    }

    /// How much larger things are on paper.
    fn scale(&self) -> f32 {
        let [a, b, c, d, ..] = self.matrix;
        (a * d - b * c).abs().sqrt()
    }

    fn at(&self, x: f32, y: f32) -> [f32; 2] {
        let [a, b, c, d, e, f] = self.matrix;
        [a * x + c * y + e, b * x + d * y + f]
    }

    /// The gray of a paint on white paper; `None` where there is none. A pattern is taken as a light gray.
    fn gray(&self, key: &str, default: Option<&str>) -> Option<f32> {
        let gray = svg::gray(self.get(key).or(default)?)?;
        let own = self.number(&format!("{key}-opacity")).unwrap_or(1.0);
        let opacity = (own * self.number("opacity").unwrap_or(1.0)).clamp(0.0, 1.0);
        (opacity > 0.0).then_some(1.0 - (1.0 - gray) * opacity)
    }

    /// The marks of an element; none for one that is not drawn.
    fn shape(&self, name: &str, attributes: &BTreeMap<String, String>) -> Option<Draw> {
        let number = |key: &str| attributes.get(key).and_then(|it| svg::number(it)).unwrap_or(0.0);
        let all = |key: &str| attributes.get(key).map(|it| svg::numbers(it)).unwrap_or_default();
        let mut fill = self.gray("fill", Some("black"));
        let steps = match name {
            "line" => {
                fill = None;
                let ends = [[number("x1"), number("y1")], [number("x2"), number("y2")]];
                chain(&ends, false)
            }
            "polyline" | "polygon" => {
                let points = all("points");
                let points: Vec<[f32; 2]> =
                    points.chunks_exact(2).map(|it| [it[0], it[1]]).collect();
                chain(&points, name == "polygon")
            }
            "rect" => {
                let [x, y] = [number("x"), number("y")];
                let [right, bottom] = [x + number("width"), y + number("height")];
                chain(&[[x, y], [right, y], [right, bottom], [x, bottom]], true)
            }
            "circle" => circle([number("cx"), number("cy")], number("r")),
            "path" => svg::path(attributes.get("d").map_or("", String::as_str)),
            _ => return None,
        };
        let place = |at: [f32; 2]| self.at(at[0], at[1]);
        let placed = |step: Step| match step {
            Step::Move(at) => Step::Move(place(at)),
            Step::Line(at) => Step::Line(place(at)),
            Step::Curve(all) => Step::Curve(all.map(place)),
            Step::Close => Step::Close,
        };
        let steps: Vec<Step> = steps.into_iter().map(placed).collect();
        let pen = self.gray("stroke", None).map(|gray| Pen {
            width: (self.number("stroke-width").unwrap_or(1.0) * self.scale()).max(0.25),
            gray,
            dashes: self.dashes(),
        });
        let drawn = pen.is_some() || fill.is_some();
        (drawn && steps.len() > 1).then_some(Draw::Shape { steps, pen, fill })
    }

    fn dashes(&self) -> Vec<f32> {
        let dashes = svg::numbers(self.get("stroke-dasharray").unwrap_or_default());
        let dashes: Vec<f32> = dashes.iter().map(|it| it * self.scale()).collect();
        let sound = dashes.iter().all(|it| *it >= 0.0) && dashes.iter().any(|it| *it > 0.0);
        if sound { dashes } else { Vec::new() }
    }

    fn text(&self, text: String, faces: &Faces) -> Draw {
        let scale = self.scale();
        let letters = self.number("font-size").unwrap_or(16.0);
        let bold = self
            .get("font-weight")
            .is_some_and(|it| it == "bold" || it.starts_with('6') || it.starts_with('7'));
        let width = faces.of(bold).width(&text, letters);
        let start = match self.get("text-anchor") {
            Some("middle") => -width / 2.0,
            Some("end") => -width,
            _ => 0.0,
        };
        let length = |key: &str| match self.get(key) {
            Some(it) if it.ends_with("em") => {
                svg::number(it.trim_end_matches("em")).unwrap_or(0.0) * letters
            }
            Some(it) => svg::number(it).unwrap_or(0.0),
            None => 0.0,
        };
        let raised = match self.get("dominant-baseline") {
            Some("middle" | "central") => 0.36 * letters,
            Some("hanging" | "text-before-edge") => 0.76 * letters,
            _ => 0.0,
        };
        let at = self.at(length("x") + length("dx") + start, length("y") + length("dy") + raised);
        let [a, b, ..] = self.matrix;
        Draw::Text { at, size: letters * scale, bold, turn: [a / scale, b / scale], text }
    }
}

fn chain(points: &[[f32; 2]], closed: bool) -> Vec<Step> {
    let mut steps: Vec<Step> = points.iter().copied().map(Step::Line).collect();
    if let Some(first) = points.first() {
        steps[0] = Step::Move(*first);
    }
    steps.extend(closed.then_some(Step::Close));
    steps
}

fn circle([x, y]: [f32; 2], radius: f32) -> Vec<Step> {
    let handle = HANDLE * radius;
    let quarter = |[from_x, from_y]: [f32; 2], [to_x, to_y]: [f32; 2]| {
        let end =
            |at: [f32; 2], along: [f32; 2]| [at[0] + handle * along[0], at[1] + handle * along[1]];
        let place = |along: [f32; 2]| [x + radius * along[0], y + radius * along[1]];
        let from = end(place([from_x, from_y]), [to_x, to_y]);
        let to = end(place([to_x, to_y]), [from_x, from_y]);
        Step::Curve([from, to, place([to_x, to_y])])
    };
    let corners = [[1.0, 0.0], [0.0, 1.0], [-1.0, 0.0], [0.0, -1.0], [1.0, 0.0]];
    let mut steps = vec![Step::Move([x + radius, y])];
    steps.extend(corners.windows(2).map(|it| quarter(it[0], it[1])));
    steps.push(Step::Close);
    steps
}

#[cfg(test)]
mod tests {
    use super::*;

    fn drawn(inner: &str) -> Vec<Draw> {
        let text = format!("<svg viewBox=\"0 0 200 100\"><title>t</title>{inner}</svg>");
        let faces = Faces::new().unwrap();
        let (height, draws) = draws(&text, &faces, [100.0, 100.0]).unwrap();
        assert_eq!(height, 50.0);
        draws
    }

    #[test]
    fn draws_lines_half_as_large_where_there_is_half_the_room() {
        let got = drawn(
            "<line x1=\"10\" y1=\"20\" x2=\"30\" y2=\"40\" stroke=\"#808080\" stroke-width=\"4\"/>",
        );
        let [Draw::Shape { steps, pen: Some(pen), fill: None }] = got.as_slice() else {
            panic!("{got:?}");
        };
        assert_eq!(*steps, [Step::Move([5.0, 10.0]), Step::Line([15.0, 20.0])]);
        assert_eq!(pen.width, 2.0);
        assert!((pen.gray - 128.0 / 255.0).abs() < 1e-6);
    }

    #[test]
    fn keeps_text_as_text_at_its_anchor_and_turn() {
        let text = "<g font-size=\"20\"><text x=\"100\" y=\"50\" text-anchor=\"end\" \
            transform=\"rotate(270, 100, 50)\">\n&lt;µ&gt; &amp; \n</text></g>";
        let got = drawn(text);
        let [Draw::Text { at, size, turn, text, .. }] = got.as_slice() else { panic!("{got:?}") };
        assert_eq!((text.as_str(), *size), ("<µ> &", 10.0));
        let width = Faces::new().unwrap().of(false).width("<µ> &", 10.0);
        let near = |a: f32, b: f32| (a - b).abs() < 1e-3;
        // Turned to the left, a text that ends at a point begins below it.
        assert!(near(at[0], 50.0) && near(at[1], 25.0 + width), "{at:?}");
        assert!(near(turn[0], 0.0) && near(turn[1], -1.0), "{turn:?}");
    }

    #[test]
    fn mixes_what_lets_light_through_with_the_paper() {
        let got = drawn("<rect width=\"9\" height=\"9\" opacity=\"0.25\" fill=\"currentColor\"/>");
        assert!(matches!(got[..], [Draw::Shape { fill: Some(0.75), .. }]), "{got:?}");
        let none =
            drawn("<rect width=\"9\" height=\"9\" fill=\"none\"/><defs><circle r=\"4\"/></defs>");
        assert!(none.is_empty(), "{none:?}");
    }

    #[test]
    fn refuses_what_is_no_picture() {
        let faces = Faces::new().unwrap();
        for text in ["", "no", "<svg>", "<line/>", "<svg viewBox=\"0 0 0 0\"/>"] {
            assert!(draws(text, &faces, [10.0, 10.0]).is_err(), "{text}");
        }
    }
}
