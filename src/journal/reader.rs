//! Reading a journal without touching it: replay, reports, checks.

use std::fmt;
use std::fs::File;
use std::io::{BufRead, BufReader};
use std::path::{Path, PathBuf};

use super::chain::{self, Digest, Mark, Next, Torn};
use super::error::Error;
use super::record::{Header, Record};
use super::wire::Adopted;
use crate::line::{Line, OrderBook};

/// A journal being read line by line.
pub struct Reader {
    source: Box<dyn BufRead + Send>,
    path: PathBuf,
    header: Header,
    mark: Mark,
    book: OrderBook,
    plan: Option<Adopted>,
    torn: Option<Torn>,
}

impl fmt::Debug for Reader {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Reader").field("path", &self.path).field("mark", &self.mark).finish_non_exhaustive()
    }
}

impl Reader {
    /// Opens a journal and reads its header.
    pub fn open(path: &Path) -> Result<Self, Error> {
        let file = File::open(path).map_err(Error::io("open the journal", path))?;
        Self::over(Box::new(BufReader::new(file)), path)
    }

    /// The same for text that is at hand; `path` is its name for people.
    pub fn over(mut source: Box<dyn BufRead + Send>, path: &Path) -> Result<Self, Error> {
        let (header, mark) = chain::opening(&mut source, path)?;
        Ok(Self {
            source,
            path: path.to_owned(),
            header,
            mark,
            book: OrderBook::default(),
            plan: None,
            torn: None,
        })
    }

    /// What the journal says about its shift.
    pub fn header(&self) -> &Header {
        &self.header
    }

    /// The next event; `None` at the end. A torn last record ends the journal too, see [`Reader::torn`].
    /// `line` is the line the header's texts describe.
    pub fn next(&mut self, line: &Line) -> Result<Option<Record>, Error> {
        if self.torn.is_some() {
            return Ok(None);
        }
        let (book, plan) = (&mut self.book, &mut self.plan);
        match chain::event(&mut self.source, &mut self.mark, line, book, plan, &self.path)? {
            Next::Got(record) => Ok(Some(record)),
            Next::Torn(torn) => {
                self.torn = Some(torn);
                Ok(None)
            }
            Next::End => Ok(None),
        }
    }

    /// The hash of the last line read: that of the whole chain so far.
    pub fn hash(&self) -> Digest {
        self.mark.hash
    }

    /// The torn last record, once the reader has met one.
    pub fn torn(&self) -> Option<&Torn> {
        self.torn.as_ref()
    }
}

/// As much of a journal as is sound.
#[derive(Debug, Clone, PartialEq)]
pub struct Good {
    /// Its events, in order.
    pub records: Vec<Record>,
    /// The hash of each of their lines.
    pub hashes: Vec<Digest>,
    /// What is wrong with the rest; `None` if there is none.
    pub rest: Option<String>,
}

/// Reads a journal as far as it is sound: to look at, not to go on with.
pub fn read_good(reader: &mut Reader, line: &Line) -> Good {
    let mut good = Good { records: Vec::new(), hashes: Vec::new(), rest: None };
    loop {
        match reader.next(line) {
            Ok(Some(record)) => {
                good.records.push(record);
                good.hashes.push(reader.hash());
            }
            Ok(None) => {
                good.rest = reader.torn().map(ToString::to_string);
                return good;
            }
            Err(error) => {
                good.rest = Some(error.to_string());
                return good;
            }
        }
    }
}

/// Reads all events of a journal, and the torn last record if there is one.
pub fn read(reader: &mut Reader, line: &Line) -> Result<(Vec<Record>, Option<Torn>), Error> {
    let mut records = Vec::new();
    while let Some(record) = reader.next(line)? {
        records.push(record);
    }
    Ok((records, reader.torn.clone()))
}

/// True if a file begins as a journal does, whatever comes then.
pub fn is_journal(path: &Path) -> bool {
    let mut first = Vec::new();
    let read = File::open(path).and_then(|f| {
        std::io::Read::take(BufReader::new(f), super::LONGEST_LINE as u64).read_until(b'\n', &mut first)
    });
    read.is_ok() && super::wire::format_of(&first).is_some()
}
