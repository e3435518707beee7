//! Sheets → the bytes of a PDF 1.7 file.
//!
//! Each face is embedded once. A character gets a number of its own when it is first used, so that text comes
//! back character by character, those that the face lacks included: their glyph is the box. Source: ISO
//! 32000-1:2008, 9.7 (composite fonts), 9.10 (extraction of text), 14.7 and 14.8 (structure).

use super::face::{Face, Faces};
use super::flow::{Draw, Element, Kind, LEVEL, Pen, Step};
use super::layout::{Style, text_at};
use super::sheets::Placed;
use super::subset;
use super::{LEFT, NotDrawn, RIGHT, TOP};
use crate::page::{Block, Page};
use pdf_writer::types::{
    CidFontType, FontFlags, StructRole, SystemInfo, TableHeaderScope, UnicodeCmap,
};
use pdf_writer::{Content, Filter, Finish, Name, Pdf, Rect, Ref, Settings, Str, TextStr};
use std::collections::{BTreeMap, BTreeSet};

/// Letters of running head and foot.
const RUNNING: Style = Style { size: 7.5, leading: 10.0, bold: false };
/// Between title and document in the running head, at least.
const APART: f32 = 16.0;
/// How hard streams are packed, 0 to 10.
const PACKED: u8 = 6;
/// Nobody reads the file with an editor.
const COMPACT: Settings = Settings { pretty: false };
const SYSTEM: SystemInfo =
    SystemInfo { registry: Str(b"Adobe"), ordering: Str(b"Identity"), supplement: 0 };

/// The numbers of the characters that one face is used for; 0 is none.
#[derive(Default)]
struct Numbers(BTreeMap<char, u16>);

impl Numbers {
    fn of(&mut self, c: char) -> u16 {
        let next = u16::try_from(self.0.len() + 1).unwrap_or(0);
        *self.0.entry(c).or_insert(next)
    }
}

/// Marked pieces of a sheet: the element of each.
type Marked = Vec<usize>;

/// The document while it is written.
struct Writer<'a> {
    pdf: Pdf,
    next: i32,
    faces: &'a Faces,
    numbers: [Numbers; 2],
    size: [f32; 2],
    scale: f32,
}

/// The size of the sheets.
pub(super) struct Size {
    /// Width and height, in points of what stands on them.
    pub size: [f32; 2],
    /// How large such a point is on paper.
    pub scale: f32,
}

/// Writes sheets of a page as a file.
///
/// # Errors
///
/// [`NotDrawn`], where the typeface cannot be embedded; a test embeds it.
pub(super) fn write(
    page: &Page,
    elements: &[Element],
    sheets: Vec<Vec<Placed>>,
    faces: &Faces,
    paper: &Size,
) -> Result<Vec<u8>, NotDrawn> {
    let numbers = [Numbers::default(), Numbers::default()];
    let mut writer = Writer {
        pdf: Pdf::with_settings(COMPACT),
        next: 1,
        faces,
        numbers,
        size: paper.size,
        scale: paper.scale,
    };
    let [catalog, pages, information, root] = [(); 4].map(|()| writer.fresh());
    let fonts = [writer.fresh(), writer.fresh()];
    let count = sheets.len();
    let title = page.title.as_str();
    let mut kids = Vec::new();
    let mut marked: Vec<(Ref, Marked)> = Vec::new();
    let filed = page.blocks.iter().find_map(|it| match it {
        Block::Filed(text) => Some(text.as_str()),
        _ => None,
    });
    let filed = filed.unwrap_or_default();
    let titled = page.blocks.iter().any(|it| matches!(it, Block::Title(_)));
    for (index, sheet) in sheets.into_iter().enumerate() {
        let head = if index == 0 && titled { ["", ""] } else { [title, filed] };
        let running = writer.running(head, index, count);
        let (content, marks) = writer.content(sheet, running);
        let id = writer.sheet(index, &content, pages, fonts);
        kids.push(id);
        marked.push((id, marks));
    }
    writer.pdf.pages(pages).count(kids.len() as i32).kids(kids);
    for (font, bold) in fonts.into_iter().zip([false, true]) {
        writer.font(font, bold)?;
    }
    writer.structure(root, elements, &marked);
    writer.pdf.document_info(information).title(TextStr(title)).producer(TextStr("Surebound"));
    let mut catalog = writer.pdf.catalog(catalog);
    catalog.pages(pages).lang(TextStr("en"));
    catalog.mark_info().marked(true);
    catalog.viewer_preferences().display_doc_title(true);
    catalog.pair(Name(b"StructTreeRoot"), root);
    catalog.finish();
    Ok(writer.pdf.finish())
}

impl Writer<'_> {
    fn fresh(&mut self) -> Ref {
        let id = Ref::new(self.next);
        self.next += 1;
        id
    }

    /// The running head, where there is one (title, and the document unless the title says it), and the number
    /// of the sheet.
    fn running(&self, [title, document]: [&str; 2], index: usize, count: usize) -> Vec<Draw> {
        let face = self.faces.of(false);
        let right = self.size[0] - LEFT - RIGHT;
        let foot = self.size[1] - TOP - 24.0;
        let text = format!("page {} of {count}", index + 1);
        let start = right - face.width(&text, RUNNING.size);
        let mut draws = vec![text_at([start, foot], RUNNING, text)];
        if title.is_empty() && document.is_empty() {
            return draws;
        }
        let whole = fitting(title, face, right);
        if document.is_empty() || whole.contains(&plain(document)) {
            draws.push(text_at([0.0, -18.0], RUNNING, whole));
        } else {
            let document = fitting(document, face, 0.5 * right);
            let start = right - face.width(&document, RUNNING.size);
            draws.push(text_at([0.0, -18.0], RUNNING, fitting(title, face, start - APART)));
            draws.push(text_at([start, -18.0], RUNNING, document));
        }
        draws.push(Draw::line([0.0, -12.0], [right, -12.0], 0.5, 0.5));
        draws
    }

    /// The marks of a sheet, and the elements of its marked pieces.
    fn content(&mut self, sheet: Vec<Placed>, running: Vec<Draw>) -> (Vec<u8>, Marked) {
        let mut content = Content::with_settings(COMPACT);
        if self.scale != 1.0 {
            content.transform([self.scale, 0.0, 0.0, self.scale, 0.0, 0.0]);
        }
        let mut marked = Marked::new();
        for (at, item) in sheet {
            for part in item.moved(0.0, at).parts.into_iter().filter(|it| !it.draws.is_empty()) {
                match part.element {
                    None => {
                        content.begin_marked_content(Name(b"Artifact"));
                    }
                    Some(element) => {
                        let number = marked.len() as i32;
                        let mut piece = content.begin_marked_content_with_properties(Name(b"Span"));
                        piece.properties().identify(number);
                        piece.finish();
                        marked.push(element);
                    }
                }
                part.draws.iter().for_each(|it| self.draw(&mut content, it));
                content.end_marked_content();
            }
        }
        content.begin_marked_content(Name(b"Artifact"));
        running.iter().for_each(|it| self.draw(&mut content, it));
        content.end_marked_content();
        (content.finish().to_vec(), marked)
    }

    /// A place of the body on the sheet, from its lower left corner.
    fn place(&self, at: [f32; 2]) -> [f32; 2] {
        let round = |it: f32| (it * 100.0).round() / 100.0;
        [round(LEFT + at[0]), round(self.size[1] - TOP - at[1])]
    }

    fn draw(&mut self, content: &mut Content, draw: &Draw) {
        match draw {
            Draw::Text { at, size, bold, turn, text } => {
                let [x, y] = self.place(*at);
                let numbers = &mut self.numbers[usize::from(*bold)];
                let bytes: Vec<u8> =
                    text.chars().flat_map(|it| numbers.of(it).to_be_bytes()).collect();
                content.begin_text();
                content.set_font(Name(if *bold { b"B" } else { b"R" }), *size);
                if *turn == LEVEL {
                    content.next_line(x, y);
                } else {
                    content.set_text_matrix([turn[0], -turn[1], turn[1], turn[0], x, y]);
                }
                content.show(Str(&bytes));
                content.end_text();
            }
            Draw::Shape { steps, pen, fill } => self.shape(content, steps, pen.as_ref(), *fill),
        }
    }

    fn shape(&self, content: &mut Content, steps: &[Step], pen: Option<&Pen>, fill: Option<f32>) {
        content.save_state();
        if let Some(pen) = pen {
            content.set_line_width(pen.width).set_stroke_gray(pen.gray);
            if !pen.dashes.is_empty() {
                content.set_dash_pattern(pen.dashes.iter().copied(), 0.0);
            }
        }
        if let Some(gray) = fill {
            content.set_fill_gray(gray);
        }
        for step in steps {
            match step {
                Step::Move(at) => {
                    let [x, y] = self.place(*at);
                    content.move_to(x, y);
                }
                Step::Line(at) => {
                    let [x, y] = self.place(*at);
                    content.line_to(x, y);
                }
                Step::Curve(all) => {
                    let [[a, b], [c, d], [e, f]] = all.map(|it| self.place(it));
                    content.cubic_to(a, b, c, d, e, f);
                }
                Step::Close => {
                    content.close_path();
                }
            }
        }
        match (pen.is_some(), fill.is_some()) {
            (true, true) => content.fill_nonzero_and_stroke(),
            (true, false) => content.stroke(),
            (false, true) => content.fill_nonzero(),
            (false, false) => content.end_path(),
        };
        content.restore_state();
    }

    fn sheet(&mut self, index: usize, content: &[u8], pages: Ref, fonts: [Ref; 2]) -> Ref {
        let [id, stream] = [self.fresh(), self.fresh()];
        let mut page = self.pdf.page(id);
        let [width, height] = self.size.map(|it| it * self.scale);
        page.media_box(Rect::new(0.0, 0.0, width, height));
        page.parent(pages).contents(stream).struct_parents(index as i32);
        page.pair(Name(b"Tabs"), Name(b"S"));
        page.resources().fonts().pair(Name(b"R"), fonts[0]).pair(Name(b"B"), fonts[1]);
        page.finish();
        self.packed(stream, content);
        id
    }

    fn packed(&mut self, id: Ref, data: &[u8]) {
        let packed = miniz_oxide::deflate::compress_to_vec_zlib(data, PACKED);
        self.pdf.stream(id, &packed).filter(Filter::FlateDecode);
    }

    /// A face with the characters that were used.
    fn font(&mut self, id: Ref, bold: bool) -> Result<(), NotDrawn> {
        let [descendant, descriptor, data, glyphs, unicode] = [(); 5].map(|()| self.fresh());
        let face = self.faces.of(bold);
        let numbers = std::mem::take(&mut self.numbers[usize::from(bold)]).0;
        let mut by_number: Vec<(u16, char)> = numbers.into_iter().map(|it| (it.1, it.0)).collect();
        by_number.sort_unstable();
        let used: BTreeSet<u16> = by_number.iter().filter_map(|it| face.glyph(it.1)).collect();
        let file = subset::cut(face.data(), &used);
        let file = file.ok_or_else(|| NotDrawn("the typeface cannot be cut".to_owned()))?;
        let name = format!(
            "{}+{}",
            mark(&used),
            if bold { "DejaVuSansCondensed-Bold" } else { "DejaVuSansCondensed" }
        );
        let name = Name(name.as_bytes());
        let mut font = self.pdf.type0_font(id);
        font.base_font(name).encoding_predefined(Name(b"Identity-H"));
        font.descendant_font(descendant).to_unicode(unicode);
        font.finish();
        let mut font = self.pdf.cid_font(descendant);
        font.subtype(CidFontType::Type2).base_font(name).system_info(SYSTEM);
        font.font_descriptor(descriptor).default_width(0.0).cid_to_gid_map_stream(glyphs);
        font.widths().consecutive(1, by_number.iter().map(|it| face.advance(it.1)));
        font.finish();
        self.descriptor(descriptor, name, bold, data);
        let packed = miniz_oxide::deflate::compress_to_vec_zlib(&file, PACKED);
        let mut stream = self.pdf.stream(data, &packed);
        stream.filter(Filter::FlateDecode).pair(Name(b"Length1"), file.len() as i32);
        stream.finish();
        let glyph = |it: &(u16, char)| face.glyph(it.1).unwrap_or(0).to_be_bytes();
        let map: Vec<u8> = [0, 0].into_iter().chain(by_number.iter().flat_map(glyph)).collect();
        self.packed(glyphs, &map);
        let mut cmap = UnicodeCmap::<u16>::new(Name(b"Surebound"), SYSTEM);
        by_number.iter().for_each(|it| cmap.pair(it.0, it.1));
        let cmap = cmap.finish();
        let packed = miniz_oxide::deflate::compress_to_vec_zlib(&cmap, PACKED);
        self.pdf.cmap(unicode, &packed).filter(Filter::FlateDecode);
        Ok(())
    }

    fn descriptor(&mut self, id: Ref, name: Name, bold: bool, data: Ref) {
        let (ascent, descent, capitals, [left, bottom, right, top]) =
            self.faces.of(bold).measures();
        let mut descriptor = self.pdf.font_descriptor(id);
        descriptor.name(name).flags(FontFlags::NON_SYMBOLIC).italic_angle(0.0);
        descriptor.bbox(Rect::new(left, bottom, right, top)).ascent(ascent).descent(descent);
        descriptor.cap_height(capitals).stem_v(if bold { 140.0 } else { 80.0 }).font_file2(data);
    }

    /// The tree of elements, and for each sheet the element of each marked piece.
    fn structure(&mut self, root: Ref, elements: &[Element], marked: &[(Ref, Marked)]) {
        let ids: Vec<Ref> = elements.iter().map(|_| self.fresh()).collect();
        let mut children: Vec<Vec<usize>> = vec![Vec::new(); elements.len()];
        for (index, element) in elements.iter().enumerate() {
            let of = element.parent.and_then(|it| children.get_mut(it));
            of.into_iter().for_each(|it| it.push(index));
        }
        let mut pieces: Vec<Vec<(Ref, i32)>> = vec![Vec::new(); elements.len()];
        let parents: Vec<Ref> = marked.iter().map(|_| self.fresh()).collect();
        for ((page, marks), id) in marked.iter().zip(&parents) {
            for (number, element) in marks.iter().enumerate() {
                pieces[*element].push((*page, number as i32));
            }
            self.pdf.indirect(*id).array().items(marks.iter().map(|it| ids[*it]));
        }
        let mut tree = self.pdf.indirect(root).start::<pdf_writer::writers::StructTreeRoot>();
        tree.children().items(ids.first().copied());
        let mut numbers = tree.parent_tree();
        let mut list = numbers.nums();
        parents.iter().enumerate().for_each(|(index, it)| {
            list.insert(index as i32, *it);
        });
        list.finish();
        numbers.finish();
        tree.parent_tree_next_key(parents.len() as i32);
        tree.finish();
        for (index, element) in elements.iter().enumerate() {
            let parent = element.parent.and_then(|it| ids.get(it)).copied().unwrap_or(root);
            let inner: Vec<Ref> = children[index].iter().map(|it| ids[*it]).collect();
            self.element(ids[index], element, parent, &inner, &pieces[index]);
        }
    }

    fn element(
        &mut self,
        id: Ref,
        element: &Element,
        parent: Ref,
        inner: &[Ref],
        pieces: &[(Ref, i32)],
    ) {
        let mut writer = self.pdf.struct_element(id);
        writer.kind(role(element.kind)).parent(parent);
        if let Some(said) = &element.instead {
            writer.alt(TextStr(said));
        }
        let scope = match element.kind {
            Kind::ColumnHead => Some(TableHeaderScope::Column),
            Kind::RowHead => Some(TableHeaderScope::Row),
            _ => None,
        };
        if let Some(scope) = scope {
            writer.attributes().push().table().scope(scope);
        }
        let mut list = writer.children();
        inner.iter().for_each(|it| {
            list.struct_element(*it);
        });
        for (page, number) in pieces {
            list.marked_content_ref().page(*page).marked_content_id(*number);
        }
    }
}

fn role(kind: Kind) -> StructRole {
    match kind {
        Kind::Document => StructRole::Document,
        Kind::Title => StructRole::H1,
        Kind::Heading => StructRole::H2,
        Kind::Subheading => StructRole::H3,
        Kind::Paragraph => StructRole::P,
        Kind::Table => StructRole::Table,
        Kind::Row => StructRole::TR,
        Kind::ColumnHead | Kind::RowHead => StructRole::TH,
        Kind::Cell => StructRole::TD,
        Kind::Figure => StructRole::Figure,
    }
}

/// Six capitals that depend on the glyphs of a subset.
fn mark(used: &BTreeSet<u16>) -> String {
    let step = |sum: u64, it: &u16| (sum * 31 + u64::from(*it) + 1) % 308_915_776;
    let mut sum = used.iter().fold(7, step);
    let letter = |_| {
        let letter = b'A' + (sum % 26) as u8;
        sum /= 26;
        char::from(letter)
    };
    (0..6).map(letter).collect()
}

/// A text with plain spaces.
fn plain(text: &str) -> String {
    text.replace('\u{a0}', " ")
}

/// The beginning of a text that fits into the running head; the whole of it stands on the page.
fn fitting(title: &str, face: &Face, room: f32) -> String {
    let title = plain(title);
    if face.width(&title, RUNNING.size) <= room {
        return title;
    }
    let mut used = face.width("…", RUNNING.size);
    let fits = |c: &char| {
        used += face.width(c.encode_utf8(&mut [0; 4]), RUNNING.size);
        used <= room
    };
    title.chars().take_while(fits).chain(['…']).collect()
}
