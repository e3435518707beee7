//! Cutting a file of readings: blocks of whole instruments, read ahead of the work.

use crate::file::extent::{LONGEST, count, extent};
use crate::file::table::{self, Cell, Columns};
use std::borrow::Cow;
use std::io::Read;

/// Bytes that are read before a block is cut.
const BLOCK: usize = 256 * 1024;

/// Rows that are judged together: all of each of their instruments.
#[derive(Debug, Default)]
pub(super) struct Block {
    /// Its place among the blocks.
    pub(super) number: u64,
    pub(super) bytes: Vec<u8>,
    /// The line of its first row.
    pub(super) line: u64,
}

/// Where blocks come from.
pub(super) struct Cutter {
    input: Box<dyn Read + Send>,
    columns: Columns,
    /// Whether all is one block.
    whole: bool,
    carry: Vec<u8>,
    line: u64,
    number: u64,
    ended: bool,
}

/// The head of a file: its first row, and the rest.
pub(super) struct Head {
    pub(super) header: Vec<u8>,
    pub(super) rest: Vec<u8>,
    pub(super) lines: u64,
}

/// Reads up to the end of the header; nothing where the file is empty.
pub(super) fn head(input: &mut dyn Read) -> std::io::Result<Option<Head>> {
    let mut bytes = Vec::new();
    let mut more = true;
    loop {
        let from = if bytes.starts_with(b"\xef\xbb\xbf") { 3 } else { 0 };
        let found = match table::end_of_row(&bytes, from) {
            None if !more || bytes.len() > LONGEST => Some(table::end_of_line(&bytes, from)),
            found => found,
        };
        if let Some((end, next)) = found.filter(|_| bytes.len() >= 3 || !more) {
            if bytes.trim_ascii().is_empty() || bytes[from..].trim_ascii().is_empty() {
                return Ok(None);
            }
            let lines = count(&bytes[..next]);
            return Ok(Some(Head {
                header: bytes[from..end].to_vec(),
                rest: bytes[next..].to_vec(),
                lines,
            }));
        }
        more = input.take(BLOCK as u64).read_to_end(&mut bytes)? > 0;
    }
}

impl Cutter {
    pub(super) fn new(
        input: Box<dyn Read + Send>,
        head: Head,
        columns: &Columns,
        whole: bool,
    ) -> Cutter {
        let (carry, line, columns) = (head.rest, head.lines + 1, columns.clone());
        Cutter { input, columns, whole, carry, line, number: 0, ended: false }
    }

    /// Fills a block; `false` where nothing is left.
    pub(super) fn fill(&mut self, block: &mut Block) -> std::io::Result<bool> {
        block.bytes.clear();
        std::mem::swap(&mut block.bytes, &mut self.carry);
        let mut wanted = BLOCK;
        loop {
            while !self.ended && (self.whole || block.bytes.len() < wanted) {
                let read = self.input.by_ref().take(BLOCK as u64).read_to_end(&mut block.bytes)?;
                self.ended = read == 0;
            }
            if self.ended {
                break;
            }
            self.shorten(&mut block.bytes)?;
            if let Some(end) = last_change(&block.bytes, &self.columns) {
                self.carry.extend_from_slice(&block.bytes[end..]);
                block.bytes.truncate(end);
                break;
            }
            wanted = block.bytes.len() * 2;
        }
        block.line = self.line;
        block.number = self.number;
        self.number += 1;
        self.line += count(&block.bytes);
        Ok(!block.bytes.is_empty())
    }

    /// Where the bytes end in a line that is too long, passes over the rest of it: one byte more than a line
    /// may have stays, so that it is seen to be too long.
    fn shorten(&mut self, bytes: &mut Vec<u8>) -> std::io::Result<()> {
        let start = memchr::memrchr(b'\n', bytes).map_or(0, |it| it + 1);
        if bytes.len() - start <= LONGEST {
            return Ok(());
        }
        bytes.truncate(start + LONGEST + 1);
        bytes.push(b'\n');
        let mut rest = Vec::new();
        while self.input.by_ref().take(BLOCK as u64).read_to_end(&mut rest)? > 0 {
            if let Some(end) = memchr::memchr(b'\n', &rest) {
                bytes.extend_from_slice(&rest[end + 1..]);
                return Ok(());
            }
            rest.clear();
        }
        self.ended = true;
        Ok(())
    }
}

/// Returns where the last instrument begins of which perhaps not all rows are there; `None` where all rows
/// are of one. That is between two rows which name their instruments: what cannot be read stands in one block
/// with the rows on either side.
fn last_change(bytes: &[u8], columns: &Columns) -> Option<usize> {
    if memchr::memchr(b'"', bytes).is_some() {
        return last_change_quoted(bytes, columns);
    }
    let mut end = memchr::memrchr(b'\n', bytes)?;
    let (mut later, mut begins) = (None, end + 1);
    let mut cells = Vec::new();
    loop {
        let start = memchr::memrchr(b'\n', &bytes[..end]).map_or(0, |it| it + 1);
        let row = &bytes[start..end];
        if !row.trim_ascii().is_empty() {
            let name = named(row, columns, &mut cells);
            match (&name, &later) {
                (Some(name), Some(later)) if name != later => return Some(begins),
                _ => (later, begins) = (name, start),
            }
        }
        if start == 0 {
            return None;
        }
        end = start - 1;
    }
}

fn last_change_quoted(bytes: &[u8], columns: &Columns) -> Option<usize> {
    let (mut from, mut found, mut held) = (0, None, 0);
    let mut before = None;
    let (mut cells, mut other) = (Vec::new(), Vec::new());
    while let Some(row) = extent(bytes, from, false, columns, &mut other) {
        let text = &bytes[from..row.end];
        if let Some(astray) = &row.astray {
            held = astray.until.max(held);
            before = None;
        } else if !text.trim_ascii().is_empty() {
            let name = named(text, columns, &mut cells);
            let changes = before.is_some() && name.is_some() && before != name;
            if changes && from >= held {
                found = Some(from);
            }
            before = name;
        }
        from = row.next;
    }
    found
}

fn named<'r>(row: &'r [u8], columns: &Columns, cells: &mut Vec<Cell>) -> Option<Cow<'r, [u8]>> {
    let fits = row.len() <= LONGEST && table::split(row, cells).is_ok();
    if fits { columns.instrument_of(row, cells) } else { None }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Whatever the sizes, blocks put together are the file, and no instrument stands in two.
    #[test]
    fn blocks_hold_whole_instruments() {
        for quoted in [false, true] {
            let mut text = String::from("instrument,at,reading\n");
            // Whole instruments only: 8571 of seven rows.
            for row in 0..59_997 {
                let name =
                    if quoted { format!("\"M\n{}\"", row / 7) } else { format!("M-{}", row / 7) };
                text += &format!("{name},{},1.000\n", row % 7);
            }
            let mut input: Box<dyn Read + Send> =
                Box::new(std::io::Cursor::new(text.clone().into_bytes()));
            let head = head(&mut *input).unwrap().unwrap();
            assert_eq!(head.header, b"instrument,at,reading");
            let columns = Columns::new(&head.header, true, &[]).unwrap();
            let mut cutter = Cutter::new(input, head, &columns, false);
            let (mut all, mut block, mut blocks) = (Vec::new(), Block::default(), 0);
            while cutter.fill(&mut block).unwrap() {
                let rows = memchr::memmem::find_iter(&block.bytes, ",1.000\n").count();
                assert_eq!(rows % 7, 0, "{rows}");
                assert_eq!(block.line, 2 + count(&all));
                all.extend_from_slice(&block.bytes);
                blocks += 1;
            }
            assert!(blocks > 2);
            assert_eq!(all, text.as_bytes()["instrument,at,reading\n".len()..]);
        }
    }
}
