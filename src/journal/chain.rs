//! Lines in their order: lengths, numbers and hashes. Used by whoever reads, whether to replay or before an append.

use std::fmt;
use std::io::{BufRead, Read as _};
use std::path::{Path, PathBuf};

use sha2::{Digest as _, Sha256};

use super::error::Error;
use super::record::{Header, Record};
use super::wire::Adopted;
use super::{FORMAT, LONGEST_LINE, wire};
use crate::ids::Seq;
use crate::line::{Line, OrderBook};
use crate::shift::Event;

/// A SHA-256.
#[derive(Clone, Copy, PartialEq, Eq)]
pub struct Digest([u8; 32]);

impl Digest {
    /// The hash of some bytes.
    pub fn of(bytes: &[u8]) -> Self {
        Self(Sha256::digest(bytes).into())
    }
}

/// 64 hexadecimal digits, as `sha256sum` prints them.
impl fmt::Display for Digest {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.iter().try_for_each(|byte| write!(f, "{byte:02x}"))
    }
}

impl fmt::Debug for Digest {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Display::fmt(self, f)
    }
}

/// A last record that was not written to its end: what a power cut leaves.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Torn {
    /// Its line, counted from 1.
    pub line: u64,
    /// Where it begins in the file.
    pub offset: u64,
    /// What is there of it.
    pub bytes: Vec<u8>,
    /// Where it was set aside; `None` if the journal was only read.
    pub kept: Option<PathBuf>,
}

impl fmt::Display for Torn {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "the last record (line {}, {} bytes) was not written to its end; ",
            self.line,
            self.bytes.len()
        )?;
        match &self.kept {
            Some(path) => write!(f, "it was cut off and is kept in {}", path.display()),
            None => write!(f, "it is left out"),
        }
    }
}

/// How far a journal was read: enough to judge the next line.
#[derive(Debug, Clone, Copy)]
pub(super) struct Mark {
    /// Lines so far.
    pub line: u64,
    /// Bytes so far.
    pub offset: u64,
    /// Number of the last event.
    pub seq: Seq,
    /// Hash of the last line.
    pub hash: Digest,
}

/// What comes next in a file.
pub(super) enum Next<T> {
    /// A whole line, understood.
    Got(T),
    /// A line that ends early, and nothing after it.
    Torn(Torn),
    /// Nothing.
    End,
}

enum Raw {
    Whole,
    Cut,
    End,
}

/// Reads one line into `buf`, without its newline.
fn raw_line(source: &mut impl BufRead, buf: &mut Vec<u8>, line: u64, path: &Path) -> Result<Raw, Error> {
    buf.clear();
    let limit = LONGEST_LINE as u64 + 1;
    source.take(limit).read_until(b'\n', buf).map_err(Error::io("read the journal", path))?;
    if buf.last() == Some(&b'\n') {
        buf.pop();
        return Ok(Raw::Whole);
    }
    if buf.len() > LONGEST_LINE {
        return Err(Error::Damaged {
            path: path.to_owned(),
            line,
            found: "a line that does not end".to_owned(),
            expected: format!("at most {LONGEST_LINE} bytes"),
        });
    }
    Ok(if buf.is_empty() { Raw::End } else { Raw::Cut })
}

/// Why these bytes are not one JSON value, if they are not.
fn broken_json(bytes: &[u8]) -> Option<String> {
    match std::str::from_utf8(bytes) {
        Err(e) => Some(format!("not UTF-8 after byte {}", e.valid_up_to())),
        Ok(text) => serde_json::from_str::<serde::de::IgnoredAny>(text).err().map(|e| e.to_string()),
    }
}

/// Reads the first line.
pub(super) fn opening(source: &mut impl BufRead, path: &Path) -> Result<(Header, Mark), Error> {
    let not_a_journal = |why: String| Error::NotAJournal { path: path.to_owned(), why };
    let mut buf = Vec::new();
    match raw_line(source, &mut buf, 1, path)? {
        Raw::Whole => {}
        Raw::Cut => {
            return Err(not_a_journal("its first record does not end; nothing was stored".to_owned()));
        }
        Raw::End => return Err(not_a_journal("it is empty".to_owned())),
    }
    if let Some(why) = broken_json(&buf) {
        return Err(not_a_journal(format!("its first line is not JSON: {why}")));
    }
    let format =
        wire::format_of(&buf).ok_or_else(|| not_a_journal("its first line is no opening".to_owned()))?;
    if format != FORMAT {
        return Err(Error::Format { path: path.to_owned(), found: format });
    }
    let header = wire::read_header(&buf).map_err(|bad| bad.at(path, 1))?;
    let mark = Mark { line: 1, offset: buf.len() as u64 + 1, seq: Seq(0), hash: Digest::of(&buf) };
    Ok((header, mark))
}

/// Reads one event after `mark` and moves `mark` past it. `book` is what names of carriers mean; an event that brings a
/// new book puts it there. `plan` is the last plan so far, and likewise.
pub(super) fn event(
    source: &mut impl BufRead,
    mark: &mut Mark,
    line: &Line,
    book: &mut OrderBook,
    plan: &mut Option<Adopted>,
    path: &Path,
) -> Result<Next<Record>, Error> {
    let number = mark.line + 1;
    let damaged = |found: String, expected: String| Error::Damaged {
        path: path.to_owned(),
        line: number,
        found,
        expected,
    };
    let mut buf = Vec::new();
    let torn = |bytes: Vec<u8>| Next::Torn(Torn { line: number, offset: mark.offset, bytes, kept: None });
    match raw_line(source, &mut buf, number, path)? {
        Raw::End => return Ok(Next::End),
        Raw::Cut => return Ok(torn(buf)),
        Raw::Whole => {}
    }
    if let Some(why) = broken_json(&buf) {
        let last = source.fill_buf().map_err(Error::io("read the journal", path))?.is_empty();
        if last {
            buf.push(b'\n');
            return Ok(torn(buf));
        }
        return Err(damaged(why, "one event as JSON".to_owned()));
    }
    let (record, prev) =
        wire::read_event(&buf, line, book, plan.as_ref()).map_err(|bad| bad.at(path, number))?;
    let wanted = Seq(mark.seq.0 + 1);
    if record.stamped.seq != wanted {
        return Err(damaged(format!("event {}", record.stamped.seq.0), format!("event {}", wanted.0)));
    }
    let hash = mark.hash.to_string();
    if prev != hash {
        let path = path.to_owned();
        return Err(Error::Unchained { path, line: number, found: prev, expected: hash });
    }
    match &record.stamped.event {
        Event::Opened { .. } if wanted == Seq(1) => {}
        // Whatever speaks of carriers needs the book, so it comes first, once, and stays.
        Event::Opened { .. } => {
            return Err(damaged("a second opened event".to_owned(), "one at the beginning".to_owned()));
        }
        _ if wanted == Seq(1) => {
            return Err(damaged("a first event that opens nothing".to_owned(), "an opened event".to_owned()));
        }
        Event::Undone { seq: Seq(0..=1) } => {
            return Err(damaged("an undone opening".to_owned(), "an event of the shift".to_owned()));
        }
        _ => {}
    }
    wire::learn(book, line, &record.stamped.event);
    if let Event::PlanAdopted { plan: adopted } = &record.stamped.event {
        *plan = Some((wanted, adopted.clone()));
    }
    *mark = Mark {
        line: number,
        offset: mark.offset + buf.len() as u64 + 1,
        seq: wanted,
        hash: Digest::of(&buf),
    };
    Ok(Next::Got(record))
}
