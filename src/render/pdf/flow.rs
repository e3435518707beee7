//! What the layout makes of a page: a tree of elements for readers of the file, and items that are put on
//! sheets one below the other.
//!
//! Places are in points from the upper left corner of an item, downwards.

/// What an element is to a program that reads the file aloud.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Kind {
    Document,
    Title,
    Heading,
    /// A heading below a heading.
    Subheading,
    Paragraph,
    Table,
    Row,
    /// Heads the column below it.
    ColumnHead,
    /// Heads the row beside it.
    RowHead,
    Cell,
    Figure,
}

/// An element of the tree; its parent comes before it.
#[derive(Debug, Clone)]
pub(super) struct Element {
    pub kind: Kind,
    /// The index of its parent; the document has none.
    pub parent: Option<usize>,
    /// What to say in place of a picture.
    pub instead: Option<String>,
}

/// A mark on the paper.
#[derive(Debug, Clone)]
pub(super) enum Draw {
    /// A line of text from `at`, on its base line.
    Text { at: [f32; 2], size: f32, bold: bool, turn: Turn, text: String },
    /// A shape.
    Shape { steps: Vec<Step>, pen: Option<Pen>, fill: Option<f32> },
}

/// In which direction text runs: its unit vector, downwards.
pub(super) type Turn = [f32; 2];

/// Text from left to right.
pub(super) const LEVEL: Turn = [1.0, 0.0];

/// A step of a path.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Step {
    Move([f32; 2]),
    Line([f32; 2]),
    Curve([[f32; 2]; 3]),
    Close,
}

/// How a line is drawn: from 0 (black) to 1 (white).
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Pen {
    pub width: f32,
    pub gray: f32,
    pub dashes: Vec<f32>,
}

/// Marks that belong to one element; to none where they only decorate.
#[derive(Debug, Clone)]
pub(super) struct Part {
    pub element: Option<usize>,
    pub draws: Vec<Draw>,
}

/// What is put on a sheet as a whole.
#[derive(Debug, Clone, Default)]
pub(super) struct Item {
    /// Space above it, left out at the top of a sheet.
    pub before: f32,
    pub height: f32,
    pub parts: Vec<Part>,
    /// Whether the next item has to stand on the same sheet.
    pub keep: bool,
    /// The head of its table, which is repeated above it on a new sheet: an index of [`Flow::heads`].
    pub head: Option<usize>,
    /// Whether it begins a new sheet.
    pub new_sheet: bool,
}

/// The whole page, not yet cut into sheets.
#[derive(Debug, Clone, Default)]
pub(super) struct Flow {
    pub elements: Vec<Element>,
    pub items: Vec<Item>,
    /// Heads of tables for the sheets on which they go on.
    pub heads: Vec<Item>,
}

impl Flow {
    /// Adds an element and returns its index.
    pub(super) fn element(&mut self, kind: Kind, parent: Option<usize>) -> usize {
        self.elements.push(Element { kind, parent, instead: None });
        self.elements.len() - 1
    }

    /// Adds space above the next item: sets it on the item at `index`, where that is there.
    pub(super) fn space(&mut self, index: usize, before: f32) {
        if let Some(item) = self.items.get_mut(index) {
            item.before = item.before.max(before);
        }
    }
}

impl Item {
    /// Returns the item moved by a distance.
    pub(super) fn moved(mut self, x: f32, y: f32) -> Item {
        self.parts.iter_mut().flat_map(|it| &mut it.draws).for_each(|it| it.shift(x, y));
        self
    }

    /// Returns its marks as decoration: a table's head said once is not said again.
    pub(super) fn decoration(mut self) -> Item {
        self.parts.iter_mut().for_each(|it| it.element = None);
        self
    }
}

impl Draw {
    /// Moves it by a distance.
    pub(super) fn shift(&mut self, x: f32, y: f32) {
        let add = |at: &mut [f32; 2]| *at = [at[0] + x, at[1] + y];
        match self {
            Draw::Text { at, .. } => add(at),
            Draw::Shape { steps, .. } => steps.iter_mut().for_each(|step| match step {
                Step::Move(at) | Step::Line(at) => add(at),
                Step::Curve(all) => all.iter_mut().for_each(add),
                Step::Close => {}
            }),
        }
    }

    /// Returns a straight line.
    pub(super) fn line(from: [f32; 2], to: [f32; 2], width: f32, gray: f32) -> Draw {
        let pen = Pen { width, gray, dashes: Vec::new() };
        Draw::Shape { steps: vec![Step::Move(from), Step::Line(to)], pen: Some(pen), fill: None }
    }

    /// Returns a rectangle from its upper left corner.
    pub(super) fn rectangle(
        at: [f32; 2],
        size: [f32; 2],
        pen: Option<Pen>,
        fill: Option<f32>,
    ) -> Draw {
        let [left, top] = at;
        let [right, bottom] = [left + size[0], top + size[1]];
        let corners = [[right, top], [right, bottom], [left, bottom]];
        let mut steps = vec![Step::Move(at)];
        steps.extend(corners.map(Step::Line));
        steps.push(Step::Close);
        Draw::Shape { steps, pen, fill }
    }
}
