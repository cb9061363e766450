//! Reading a journal without touching it: replay, reports, checks.

use std::fs::File;
use std::io::BufReader;
use std::path::{Path, PathBuf};

use super::chain::{self, Mark, Next, Torn};
use super::error::Error;
use super::record::{Header, Record};
use super::wire::Adopted;
use crate::line::{Line, OrderBook};

/// A journal being read line by line.
#[derive(Debug)]
pub struct Reader {
    source: BufReader<File>,
    path: PathBuf,
    header: Header,
    mark: Mark,
    book: OrderBook,
    plan: Option<Adopted>,
    torn: Option<Torn>,
}

impl Reader {
    /// Opens a journal and reads its header.
    pub fn open(path: &Path) -> Result<Self, Error> {
        let file = File::open(path).map_err(Error::io("open the journal", path))?;
        let mut source = BufReader::new(file);
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

    /// The torn last record, once the reader has met one.
    pub fn torn(&self) -> Option<&Torn> {
        self.torn.as_ref()
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
