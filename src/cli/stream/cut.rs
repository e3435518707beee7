//! Cutting a file of readings: blocks of whole instruments, read ahead of the work.

use crate::file::table::{self, Columns, Wrong};
use std::io::Read;

/// Bytes that are read before a block is cut.
const BLOCK: usize = 256 * 1024;

/// No row is longer, in bytes.
pub(super) const LONGEST: usize = 1024 * 1024;

/// Rows that are judged together: all of each of their instruments.
#[derive(Debug, Default)]
pub(super) struct Block {
    /// Its place among the blocks.
    pub(super) number: u64,
    pub(super) bytes: Vec<u8>,
    /// The line of its first row.
    pub(super) line: u64,
    /// A row that could not be read stands behind it, at its line.
    pub(super) beyond: Option<(u64, Wrong)>,
}

/// Where blocks come from.
pub(super) struct Cutter {
    input: Box<dyn Read + Send>,
    instrument: usize,
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

/// Returns how many lines end in some bytes.
pub(super) fn count(bytes: &[u8]) -> u64 {
    memchr::memchr_iter(b'\n', bytes).count() as u64
}

impl Cutter {
    pub(super) fn new(
        input: Box<dyn Read + Send>,
        head: Head,
        columns: &Columns,
        whole: bool,
    ) -> Cutter {
        let (carry, line) = (head.rest, head.lines + 1);
        Cutter {
            input,
            instrument: columns.instrument,
            whole,
            carry,
            line,
            number: 0,
            ended: false,
        }
    }

    /// Fills a block; `false` where nothing is left.
    pub(super) fn fill(&mut self, block: &mut Block) -> std::io::Result<bool> {
        block.beyond = None;
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
            if let Some(end) = self.long_row(block)? {
                self.carry.extend_from_slice(&block.bytes[end..]);
                block.bytes.truncate(end);
                break;
            }
            if let Some(end) = last_change(&block.bytes, self.instrument) {
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
        if let Some((line, _)) = &mut block.beyond {
            *line = self.line;
            self.line += 1;
        }
        Ok(!block.bytes.is_empty() || block.beyond.is_some())
    }

    /// Where the bytes end in a row that is too long, passes over the rest of it and returns where it begins.
    fn long_row(&mut self, block: &mut Block) -> std::io::Result<Option<usize>> {
        let start = memchr::memrchr(b'\n', &block.bytes).map_or(0, |it| it + 1);
        if block.bytes.len() - start <= LONGEST {
            return Ok(None);
        }
        let what = format!("the line is longer than {} MiB", LONGEST / (1024 * 1024));
        block.beyond = Some((0, Wrong::new(0, what, "end each row with a line end")));
        block.bytes.truncate(start);
        let mut rest = Vec::new();
        while self.input.by_ref().take(BLOCK as u64).read_to_end(&mut rest)? > 0 {
            if let Some(end) = memchr::memchr(b'\n', &rest) {
                self.carry.extend_from_slice(&rest[end + 1..]);
                return Ok(Some(start));
            }
            rest.clear();
        }
        self.ended = true;
        Ok(Some(start))
    }
}

/// Returns where the last instrument begins of which perhaps not all rows are there; `None` where all rows
/// are of one.
fn last_change(bytes: &[u8], column: usize) -> Option<usize> {
    if memchr::memchr(b'"', bytes).is_some() {
        return last_change_quoted(bytes, column);
    }
    let mut end = memchr::memrchr(b'\n', bytes)?;
    let (mut later, mut begins): (Option<&[u8]>, usize) = (None, end + 1);
    loop {
        let start = memchr::memrchr(b'\n', &bytes[..end]).map_or(0, |it| it + 1);
        let row = &bytes[start..end];
        let name = row.split(|it| *it == b',').nth(column).map(<[u8]>::trim_ascii);
        match (name.filter(|it| !it.is_empty()), later) {
            (Some(name), Some(later)) if name != later => return Some(begins),
            (Some(name), _) => (later, begins) = (Some(name), start),
            (None, _) => {}
        }
        if start == 0 {
            return None;
        }
        end = start - 1;
    }
}

fn last_change_quoted(bytes: &[u8], column: usize) -> Option<usize> {
    let (mut from, mut found) = (0, None);
    let mut before = None;
    while from < bytes.len() {
        let row = match table::end_of_row(bytes, from) {
            Some(row) => row,
            None if bytes.len() - from > LONGEST => table::end_of_line(bytes, from),
            None => break,
        };
        if let Some(name) = table::key(&bytes[from..row.0], column) {
            if before.as_ref().is_some_and(|it| *it != name) {
                found = Some(from);
            }
            before = Some(name);
        }
        from = row.1;
    }
    found
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
