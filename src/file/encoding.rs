//! Bytes to text: size, encoding and characters that no budget needs.
//!
//! A byte-order mark of UTF-8 is dropped. Whatever is refused here is not looked at any further,
//! as each later fault could be a consequence.

use super::source::Source;
use crate::fault::{Fault, Origin};

/// The largest file that is read, in bytes: 1 MiB.
pub(super) const LARGEST: usize = 1 << 20;
/// At most so many single characters are listed.
const LISTED: usize = 20;

/// Returns the text of `bytes` as a source, and what is wrong with it.
pub(super) fn decode(name: &str, bytes: &[u8]) -> (Source, Vec<Fault>) {
    if bytes.len() > LARGEST {
        let text = String::from_utf8_lossy(&bytes[..1000]).into_owned();
        let what = format!("the file has {} bytes", bytes.len());
        let fault = Fault::new(Origin::NONE, what).rule("at most 1 MiB (1048576 bytes) is read");
        return (Source::new(name, text), vec![fault]);
    }
    if is_utf16(bytes) {
        let fault = Fault::new(Origin::NONE, "the file is UTF-16").rule("only UTF-8 is read");
        let fault = fault.help("save the file as UTF-8");
        return (Source::new(name, String::new()), vec![fault]);
    }
    let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
    match std::str::from_utf8(bytes) {
        Ok(text) => {
            let mut source = Source::new(name, text.to_string());
            let faults = characters(&mut source);
            (source, faults)
        }
        Err(error) => not_utf8(name, bytes, error.valid_up_to()),
    }
}

/// A byte-order mark of UTF-16, or an ASCII character and a zero in turn.
fn is_utf16(bytes: &[u8]) -> bool {
    let zeros =
        |first: usize| bytes.len() >= 4 && [first, first + 2].iter().all(|i| bytes[*i] == 0);
    bytes.starts_with(&[0xff, 0xfe]) || bytes.starts_with(&[0xfe, 0xff]) || zeros(0) || zeros(1)
}

fn not_utf8(name: &str, bytes: &[u8], valid: usize) -> (Source, Vec<Fault>) {
    let index = String::from_utf8_lossy(&bytes[..valid]).chars().count();
    let mut source = Source::new(name, String::from_utf8_lossy(bytes).into_owned());
    let (line, _) = source.line_column(index);
    let byte = bytes[valid];
    let help = match byte {
        0xa1..=0xff => {
            format!("save the file as UTF-8; in Latin-1 this byte is `{}`", byte as char)
        }
        _ => "save the file as UTF-8".to_string(),
    };
    let what = format!("line {line} holds the byte 0x{byte:02x}, which is not UTF-8");
    let fault = Fault::new(source.mark(index), what).rule("only UTF-8 is read").help(help);
    (source, vec![fault])
}

/// Control characters other than tab and line break, and byte-order marks within the text.
fn characters(source: &mut Source) -> Vec<Fault> {
    let text = source.text();
    let next = text.chars().skip(1).chain(['\n']);
    let bad = |(_, (c, next)): &(usize, (char, char))| match c {
        '\t' | '\n' => false,
        '\r' => *next != '\n',
        _ => c.is_control() || *c == '\u{feff}',
    };
    let found = text.chars().zip(next).enumerate().filter(bad);
    let found: Vec<(usize, char)> = found.map(|(at, (c, _))| (at, c)).take(LISTED).collect();
    let fault = |(at, character): (usize, char)| {
        let origin = source.mark(at);
        match character {
            '\r' => Fault::new(origin, "a carriage return without a line feed")
                .help("save the file with line breaks LF or CRLF"),
            _ => Fault::new(origin, format!("the control character U+{:04X}", character as u32))
                .rule("only printable characters, tab and line breaks are read")
                .help("delete it"),
        }
    };
    found.into_iter().map(fault).collect()
}
