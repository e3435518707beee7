//! A figure on a sheet: lines, areas, circles and texts at their places, before it is known what they are
//! written as.
//!
//! The sheet is 1200 units wide and as high as it must be. Nothing on it needs a pattern, a mask or a font
//! metric: hatching is lines that end at the edge, and the width of a text is an estimate that a common sans
//! serif face does not exceed.

mod hatch;
mod labels;
mod texts;

use crate::page::Figure;
use crate::page::figure::{Axis, Hatch, Key, Mark, Sample, Shape, Side, Stroke};
use labels::Labels;

/// Width of the sheet.
pub(super) const WIDE: f64 = 1200.0;
/// Size of letters.
const LETTERS: f64 = 26.0;
/// Size of the title's letters.
const TITLE: f64 = 32.0;
/// From one line of text to the next, in sizes of letters.
const LINE: f64 = 1.3;
/// The margin around all.
const MARGIN: f64 = 16.0;
/// The widest column of names.
const NAMES: f64 = 420.0;
/// The most lines of a name below the horizontal axis.
const ACROSS_LINES: usize = 4;
/// The length of a line in the key.
const SAMPLE: f64 = 76.0;
/// Half the size of a sign.
const SIGN: f64 = 9.0;
/// Dashes and gaps of the ways to break a line.
const BROKEN: [&[f64]; Stroke::STYLES] = [
    &[18.0, 10.0],
    &[4.0, 8.0],
    &[26.0, 8.0, 4.0, 8.0],
    &[10.0, 6.0],
    &[30.0, 14.0],
    &[18.0, 7.0, 4.0, 7.0, 4.0, 7.0],
    &[2.0, 14.0],
    &[8.0, 18.0],
];

/// A figure on a sheet of [`WIDE`] by `high`.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Scene {
    /// Its height.
    pub high: f64,
    /// What is on it, from back to front.
    pub items: Vec<Item>,
}

/// A thing on the sheet; y runs down.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Item {
    /// Lines of the same look.
    Lines { lines: Vec<Vec<[f64; 2]>>, width: f64, dashes: &'static [f64], closed: bool },
    /// A filled area.
    Area(Vec<[f64; 2]>),
    /// A circle, filled or not.
    Circle { at: [f64; 2], radius: f64, filled: bool },
    /// A text: its base line, and which part of it stands there.
    Text { at: [f64; 2], anchor: Anchor, size: f64, bold: bool, text: String },
}

/// Which part of a text stands at its place.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Anchor {
    Start,
    Middle,
    End,
}

/// The sheet while things are put on it.
struct Sheet<'a> {
    figure: &'a Figure,
    left: f64,
    right: f64,
    top: f64,
    bottom: f64,
    /// Where labels stand: hatching leaves them free.
    clear: Vec<[f64; 4]>,
    items: Vec<Item>,
}

/// Returns a figure on its sheet.
pub(super) fn scene(figure: &Figure) -> Scene {
    let names: Vec<Vec<String>> =
        figure.up.ticks.iter().map(|it| tick_lines(&figure.up, it)).collect();
    let widest = names.iter().flatten().map(|it| texts::width(it, LETTERS)).fold(0.0, f64::max);
    let left = MARGIN + widest + if widest > 0.0 { 20.0 } else { 4.0 };
    let [left, right] = sides(&figure.across, left, WIDE - 36.0);
    let (clear, items) = (Vec::new(), Vec::new());
    let mut sheet = Sheet { figure, left, right, top: MARGIN, bottom: 0.0, clear, items };
    sheet.heading();
    sheet.bottom = sheet.top + figure.height;
    sheet.marks();
    sheet.axis_up(&names);
    let below = sheet.axis_across();
    let high = sheet.key(below) + MARGIN;
    Scene { high, items: sheet.items }
}

/// The lines of a text on the vertical axis.
fn tick_lines(axis: &Axis, tick: &crate::page::figure::Tick) -> Vec<String> {
    match axis.names {
        true => texts::folded(tick.text.as_str(), LETTERS, NAMES, 2),
        false => vec![tick.text.as_str().to_owned()],
    }
}

/// The ends of the horizontal axis, moved inwards until the numbers near them stand on the sheet whole.
fn sides(axis: &Axis, mut left: f64, mut right: f64) -> [f64; 2] {
    let [low, high] = axis.range;
    let numbers = axis.ticks.iter().filter(|it| !axis.names && (low..=high).contains(&it.at));
    // Moving one end moves all numbers: the second time hardly anything is left to move.
    for tick in numbers.clone().chain(numbers) {
        let part = (tick.at - low) / (high - low);
        let half = 0.5 * texts::width(tick.text.as_str(), LETTERS);
        if part > 0.5 {
            right = right.min(left + (WIDE - MARGIN - half - left) / part);
        } else {
            left = left.max(right - (right - MARGIN - half) / (1.0 - part));
        }
    }
    [left, right]
}

impl Sheet<'_> {
    fn x(&self, value: f64) -> f64 {
        let [low, high] = self.figure.across.range;
        self.left + (value - low) / (high - low) * (self.right - self.left)
    }

    fn y(&self, value: f64) -> f64 {
        let [low, high] = self.figure.up.range;
        self.bottom - (value - low) / (high - low) * (self.bottom - self.top)
    }

    fn place(&self, at: [f64; 2]) -> [f64; 2] {
        [self.x(at[0]), self.y(at[1])]
    }

    fn text(&mut self, at: [f64; 2], anchor: Anchor, text: &str) {
        self.items.push(Item::Text {
            at,
            anchor,
            size: LETTERS,
            bold: false,
            text: text.to_owned(),
        });
    }

    fn line(&mut self, line: Vec<[f64; 2]>, stroke: Stroke) {
        if line.len() > 1 {
            let (width, dashes) = look(stroke);
            self.items.push(Item::Lines { lines: vec![line], width, dashes, closed: false });
        }
    }

    /// The title, what the vertical axis is, and room for what stands above the marks.
    fn heading(&mut self) {
        for text in texts::folded(self.figure.title.as_str(), TITLE, WIDE - 2.0 * MARGIN, 2) {
            self.top += TITLE * LINE;
            let at = [MARGIN, self.top - 0.3 * TITLE];
            self.items.push(Item::Text {
                at,
                anchor: Anchor::Start,
                size: TITLE,
                bold: true,
                text,
            });
        }
        let title = self.figure.up.title.as_str();
        for text in texts::folded(title, LETTERS, WIDE - 2.0 * MARGIN, 1) {
            if !text.is_empty() {
                self.top += LETTERS * LINE;
                self.text([MARGIN, self.top - 0.25 * LETTERS], Anchor::Start, &text);
            }
        }
        let top = self.figure.up.range[1];
        let above =
            |it: &&Mark| matches!(it, Mark::Label { at, side: Side::Above, .. } if at[1] >= top);
        let most = if self.figure.name == "density" { 3 } else { 1 };
        let rows = self.figure.marks.iter().filter(above).count().min(most);
        self.top += 12.0 + LETTERS * LINE * rows as f64;
    }

    fn marks(&mut self) {
        let mut labels = Labels::new([MARGIN, WIDE - MARGIN]);
        for mark in &self.figure.marks {
            if let Mark::Label { at, text, side } = mark {
                labels.push(self.place(*at), text.as_str(), *side);
            }
        }
        self.clear = labels.rooms().to_vec();
        for mark in &self.figure.marks {
            match mark {
                Mark::Label { .. } => {}
                Mark::Line { points, stroke } => {
                    self.line(points.iter().map(|it| self.place(*it)).collect(), *stroke);
                }
                Mark::Area { outline, hatch, edge } => {
                    let outline: Vec<_> = outline.iter().map(|it| self.place(*it)).collect();
                    self.area(outline, *hatch, *edge);
                }
                Mark::Interval { x, ends, goes_on } => {
                    let (x, ends) = (self.x(*x), ends.map(|it| self.y(it)));
                    self.interval(x, ends, *goes_on);
                }
                Mark::Sign { at, shape, aside } => {
                    let [x, y] = self.place(*at);
                    self.sign([x + aside * 2.6 * SIGN, y], *shape);
                }
            }
        }
        self.items.extend(labels.placed());
    }

    fn area(&mut self, outline: Vec<[f64; 2]>, hatch: Hatch, edge: bool) {
        let (rising, falling) = (hatch::Slope::Rising, hatch::Slope::Falling);
        let mut lines = |slope, apart: f64, width: f64| {
            let lines = hatch::without(hatch::lines(&outline, slope, apart), &self.clear);
            if !lines.is_empty() {
                self.items.push(Item::Lines { lines, width, dashes: &[], closed: false });
            }
        };
        match hatch {
            Hatch::Open => {}
            Hatch::Rising => lines(rising, 22.0, 1.2),
            Hatch::Falling => lines(falling, 10.0, 1.6),
            Hatch::FallingWide => lines(falling, 22.0, 1.2),
            Hatch::Crossed => {
                lines(rising, 14.0, 1.4);
                lines(falling, 14.0, 1.4);
            }
            Hatch::Full => self.items.push(Item::Area(outline.clone())),
        }
        if edge {
            self.items.push(Item::Lines {
                lines: vec![outline],
                width: 2.0,
                dashes: &[],
                closed: true,
            });
        }
    }

    fn interval(&mut self, x: f64, [low, high]: [f64; 2], goes_on: [bool; 2]) {
        let mut lines = vec![vec![[x, low], [x, high]]];
        for ((y, on), shape) in
            [low, high].into_iter().zip(goes_on).zip([Shape::Below, Shape::Above])
        {
            if on {
                self.sign([x, y], shape);
            } else {
                lines.push(vec![[x - 11.0, y], [x + 11.0, y]]);
            }
        }
        self.items.push(Item::Lines { lines, width: 3.0, dashes: &[], closed: false });
    }

    fn sign(&mut self, at: [f64; 2], shape: Shape) {
        let [x, y] = at;
        let triangle = |up: f64| {
            let foot = y + 2.0 * up * SIGN;
            vec![[x - SIGN, foot], [x + SIGN, foot], [x, y]]
        };
        self.items.push(match shape {
            Shape::Dot => Item::Circle { at, radius: SIGN, filled: true },
            Shape::Ring => Item::Circle { at, radius: SIGN - 1.5, filled: false },
            Shape::Spot => Item::Circle { at, radius: 5.5, filled: true },
            Shape::Above => Item::Area(triangle(1.0)),
            Shape::Below => Item::Area(triangle(-1.0)),
            Shape::Bar => {
                let lines = vec![vec![[x - 11.0, y], [x + 11.0, y]]];
                Item::Lines { lines, width: 3.0, dashes: &[], closed: false }
            }
        });
    }

    fn axis_up(&mut self, names: &[Vec<String>]) {
        self.line(vec![[self.left, self.top], [self.left, self.bottom]], Stroke::Thin);
        for (tick, lines) in self.figure.up.ticks.iter().zip(names) {
            let y = self.y(tick.at);
            if !self.figure.up.names {
                self.line(vec![[self.left - 8.0, y], [self.left, y]], Stroke::Thin);
            }
            let first =
                y + 0.35 * LETTERS - 0.5 * LETTERS * LINE * 0.85 * (lines.len() as f64 - 1.0);
            for (index, line) in lines.iter().enumerate() {
                let at = [self.left - 14.0, first + index as f64 * LETTERS * LINE * 0.85];
                self.text(at, Anchor::End, line);
            }
        }
    }

    /// Draws the horizontal axis and returns where it ends.
    fn axis_across(&mut self) -> f64 {
        let axis = &self.figure.across;
        self.line(vec![[self.left, self.bottom], [self.right, self.bottom]], Stroke::Thin);
        let slot = (self.right - self.left) / (axis.range[1] - axis.range[0]);
        let every = if axis.names { (58.0 / slot).ceil().max(1.0) as usize } else { 1 };
        let mut rows = 1;
        for tick in axis.ticks.iter().step_by(every) {
            let x = self.x(tick.at);
            self.line(vec![[x, self.bottom], [x, self.bottom + 8.0]], Stroke::Thin);
            let lines = match axis.names {
                true => {
                    let room = slot * every as f64 - 6.0;
                    texts::folded(tick.text.as_str(), LETTERS, room, ACROSS_LINES)
                }
                false => vec![tick.text.as_str().to_owned()],
            };
            rows = rows.max(lines.len());
            for (index, line) in lines.iter().enumerate() {
                let y = self.bottom + 12.0 + LETTERS * (1.0 + index as f64 * LINE);
                let half = 0.5 * texts::width(line, LETTERS);
                let x = x.min(WIDE - MARGIN - half).max(MARGIN + half);
                self.text([x, y], Anchor::Middle, line);
            }
        }
        let mut below = self.bottom + 16.0 + rows as f64 * LETTERS * LINE;
        for text in texts::folded(axis.title.as_str(), LETTERS, WIDE - 2.0 * MARGIN, 1) {
            if !text.is_empty() {
                below += LETTERS * LINE;
                self.text([self.right, below - 0.35 * LETTERS], Anchor::End, &text);
            }
        }
        below
    }

    /// Draws the key in as many rows as it takes and returns where it ends.
    fn key(&mut self, below: f64) -> f64 {
        let mut row = below + 8.0;
        let mut x = MARGIN;
        let figure = self.figure;
        for Key { sample, text } in &figure.key {
            let indent = if *sample == Sample::Nothing { 0.0 } else { SAMPLE + 12.0 };
            let room = WIDE - 2.0 * MARGIN - indent;
            let lines = texts::folded(text.as_str(), LETTERS, room, usize::MAX);
            let widest = lines.iter().map(|it| texts::width(it, LETTERS)).fold(0.0, f64::max);
            let width = indent + widest;
            if x > MARGIN && x + width > WIDE - MARGIN {
                x = MARGIN;
                row += 1.5 * LETTERS;
            }
            self.sample(*sample, [x, row + 0.75 * LETTERS]);
            for (index, line) in lines.iter().enumerate() {
                row += if index > 0 { LETTERS * LINE } else { 0.0 };
                self.text([x + indent, row + 1.1 * LETTERS], Anchor::Start, line);
            }
            // What follows a text of several lines begins below it.
            x += if lines.len() > 1 { WIDE } else { width + 40.0 };
        }
        if figure.key.is_empty() { below } else { row + 1.5 * LETTERS }
    }

    fn sample(&mut self, sample: Sample, [x, y]: [f64; 2]) {
        let middle = x + 0.5 * SAMPLE;
        match sample {
            Sample::Nothing => {}
            Sample::Line(stroke) => self.line(vec![[x, y], [x + SAMPLE, y]], stroke),
            Sample::Sign(Shape::Above) => self.sign([middle, y - SIGN], Shape::Above),
            Sample::Sign(Shape::Below) => self.sign([middle, y + SIGN], Shape::Below),
            Sample::Sign(shape) => self.sign([middle, y], shape),
            Sample::Interval => self.interval(middle, [y + 13.0, y - 13.0], [false; 2]),
            Sample::Area(hatch) => {
                let (right, half) = (x + SAMPLE, 12.0);
                let outline =
                    vec![[x, y - half], [right, y - half], [right, y + half], [x, y + half]];
                self.area(outline, hatch, true);
            }
        }
    }
}

/// The width and the dashes of a line.
fn look(stroke: Stroke) -> (f64, &'static [f64]) {
    match stroke {
        Stroke::Thin => (1.5, &[]),
        Stroke::Solid => (3.0, &[]),
        Stroke::Thick => (5.0, &[]),
        Stroke::Broken(way) => (3.0, BROKEN[way % BROKEN.len()]),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::page::figure::samples;

    /// The texts of a scene with their left and right ends.
    fn ends(scene: &Scene) -> Vec<(String, [f64; 2])> {
        let of = |it: &Item| {
            let Item::Text { at, anchor, size, text, .. } = it else { return None };
            let width = texts::width(text, *size);
            let left = match anchor {
                Anchor::Start => at[0],
                Anchor::Middle => at[0] - 0.5 * width,
                Anchor::End => at[0] - width,
            };
            Some((text.clone(), [left, left + width]))
        };
        scene.items.iter().filter_map(of).collect()
    }

    /// It had hung over the right edge: `−0.02` and half a `7`.
    #[test]
    fn a_number_at_the_very_end_of_an_axis_is_whole() {
        let number = |at: f64| crate::page::figure::Tick { at, text: "−0.000270".into() };
        for ticks in [vec![0.0, 0.5, 1.0], vec![0.97], vec![0.02], vec![0.01, 0.99]] {
            let mut figure = samples(None).remove(0);
            figure.up.ticks.clear();
            figure.across = Axis {
                title: "".into(),
                range: [0.0, 1.0],
                ticks: ticks.iter().copied().map(number).collect(),
                names: false,
            };
            let all = ends(&scene(&figure));
            let numbers = all.iter().filter(|it| it.0 == "−0.000270");
            assert_eq!(numbers.clone().count(), ticks.len());
            for (_, [left, right]) in numbers {
                assert!(MARGIN - 0.1 <= *left && *right <= WIDE - MARGIN + 0.1, "{left} {right}");
            }
        }
    }

    #[test]
    fn no_text_of_the_key_is_cut() {
        let mut figure = samples(None).remove(0);
        let words = |many: usize| "four-way, for a risk of 5 %; ".repeat(many).trim().to_owned();
        let key = |text: String| Key { sample: Sample::Line(Stroke::Solid), text: text.into() };
        figure.key = vec![key(words(9)), key("short".into()), key(words(3))];
        let scene = scene(&figure);
        let texts: Vec<_> = ends(&scene);
        let all = texts.iter().map(|it| it.0.as_str()).collect::<Vec<_>>().join(" ");
        for it in &figure.key {
            assert!(all.contains(it.text.as_str()), "{} in {all}", it.text);
        }
        assert!(texts.iter().all(|it| it.1[1] <= WIDE - MARGIN + 0.1), "{texts:?}");
    }

    #[test]
    fn nothing_stands_outside_the_sheet() {
        for figure in samples(None) {
            let name = figure.name;
            let scene = scene(&figure);
            let within = |at: &[f64; 2]| {
                (0.0..=WIDE).contains(&at[0]) && (0.0..=scene.high).contains(&at[1])
            };
            for item in &scene.items {
                let places = match item {
                    Item::Lines { lines, .. } => lines.concat(),
                    Item::Area(outline) => outline.clone(),
                    Item::Circle { at, .. } | Item::Text { at, .. } => vec![*at],
                };
                assert!(places.iter().all(within), "{name}: {item:?} on {}", scene.high);
            }
        }
    }
}
