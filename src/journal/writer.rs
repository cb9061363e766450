//! Keeping a journal: one lock an append, one write a record, synced before anybody is told.

use std::fs::{File, OpenOptions, TryLockError};
use std::io::{BufReader, ErrorKind, Read as _, Seek as _, SeekFrom, Write as _};
use std::path::{Path, PathBuf};
use std::time::Duration;

use chrono::{DateTime, FixedOffset};

use super::chain::{self, Digest, Mark, Next, Torn};
use super::error::Error;
use super::record::{Header, Record};
use super::recover::{cut, owner_only, sync_folder};
use super::wire::Adopted;
use super::{LONGEST_LINE, wire};
use crate::clock;
use crate::ids::Seq;
use crate::line::{Line, OrderBook};
use crate::shift::{Event, Stamped};

/// An append takes the lock for a few milliseconds; a disk that sleeps may need a second or two.
const LOCK_TRIES: u32 = 300;
const LOCK_PAUSE: Duration = Duration::from_millis(10);

/// Whether an append must be on the disk before it is answered.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Synced {
    /// Before the append returns.
    Now,
    /// With the next append that is. For plans and alarms, which can be worked out again.
    Later,
}

/// What became of an append.
#[derive(Debug, Clone, PartialEq)]
pub enum Appended {
    /// It is stored.
    Stored,
    /// Nothing was stored, because others had stored these first.
    Behind(Vec<Record>),
}

/// A journal open for appending, or only for following what others append. Others may have it open too.
#[derive(Debug)]
pub struct Journal {
    file: File,
    path: PathBuf,
    mark: Mark,
    /// The last plan read or written.
    plan: Option<Adopted>,
    torn: Vec<Torn>,
    follows: bool,
}

impl Journal {
    /// Makes a new journal with its opening. Refuses to touch a file that exists.
    pub fn create(path: &Path, header: &Header) -> Result<Self, Error> {
        let mut line = wire::write_header(header);
        if line.len() > LONGEST_LINE {
            return Err(Error::TooLong { path: path.to_owned(), bytes: line.len() });
        }
        let hash = Digest::of(line.as_bytes());
        line.push('\n');
        let mut options = OpenOptions::new();
        options.read(true).append(true).create_new(true);
        let mut file = owner_only(&mut options).open(path).map_err(|e| match e.kind() {
            ErrorKind::AlreadyExists => Error::Exists { path: path.to_owned() },
            _ => Error::io("create the journal", path)(e),
        })?;
        let stored = file.write_all(line.as_bytes()).and_then(|()| file.sync_all());
        let stored = stored.map_err(Error::io("write the opening of the journal", path));
        if let Err(e) = stored.and_then(|()| sync_folder(path)) {
            // Half an opening is of no use to anybody, and would stand in the way of the next try.
            let _ = std::fs::remove_file(path);
            return Err(e);
        }
        let mark = Mark { line: 1, offset: line.len() as u64, seq: Seq(0), hash };
        Ok(Self { file, path: path.to_owned(), mark, plan: None, torn: Vec::new(), follows: false })
    }

    /// Opens a journal and reads its header. Its events come with the first [`Journal::catch_up`], once the line they
    /// speak of is known.
    pub fn open(path: &Path) -> Result<(Self, Header), Error> {
        Self::opened(path, false)
    }

    /// Opens a journal that another program keeps, to follow it: nothing is ever written to the file, nor cut off it.
    pub fn follow(path: &Path) -> Result<(Self, Header), Error> {
        Self::opened(path, true)
    }

    fn opened(path: &Path, follows: bool) -> Result<(Self, Header), Error> {
        let opened = OpenOptions::new().read(true).append(!follows).open(path);
        let mut file = opened.map_err(Error::io("open the journal", path))?;
        let (header, mark) = chain::opening(&mut BufReader::new(&mut file), path)?;
        Ok((Self { file, path: path.to_owned(), mark, plan: None, torn: Vec::new(), follows }, header))
    }

    /// True if this object only follows what others append.
    pub fn follows(&self) -> bool {
        self.follows
    }

    /// Where it lies.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// The last event read or written through this object.
    pub fn seen(&self) -> Seq {
        self.mark.seq
    }

    /// Torn records cut off since this was last asked.
    pub fn take_torn(&mut self) -> Vec<Torn> {
        std::mem::take(&mut self.torn)
    }

    /// Reads what others have appended, and cuts off a torn last record. Waits while another program appends. A follower
    /// cuts nothing: that is up to whoever appends next.
    pub fn catch_up(&mut self, line: &Line, book: &OrderBook) -> Result<Vec<Record>, Error> {
        self.lock()?;
        let read = if self.follows {
            self.read_whole(line, book).map(|(records, _)| records)
        } else {
            self.read_on(line, book)
        };
        self.unlock();
        read
    }

    /// Reads what others have appended, but does not wait and cuts nothing: for a look once a second. Finds nothing while
    /// another program appends, so that nothing is believed before it is synced.
    pub fn tail(&mut self, line: &Line, book: &OrderBook) -> Result<Vec<Record>, Error> {
        if self.length()? == self.mark.offset {
            return Ok(Vec::new());
        }
        match self.file.try_lock_shared() {
            Ok(()) => {}
            Err(TryLockError::WouldBlock) => return Ok(Vec::new()),
            Err(TryLockError::Error(e)) => return Err(Error::io("lock the journal", &self.path)(e)),
        }
        let read = self.read_whole(line, book).map(|(records, _)| records);
        self.unlock();
        read
    }

    /// Appends events, if nobody was faster: the first must follow the newest event in the file. All are stored or none.
    pub fn append(
        &mut self,
        line: &Line,
        book: &OrderBook,
        events: &[Stamped],
        synced: Synced,
    ) -> Result<Appended, Error> {
        if self.follows {
            return Err(Error::OnlyFollowed { path: self.path.clone() });
        }
        self.lock()?;
        let done = self.append_locked(line, book, events, synced);
        self.unlock();
        done
    }

    fn append_locked(
        &mut self,
        line: &Line,
        book: &OrderBook,
        events: &[Stamped],
        synced: Synced,
    ) -> Result<Appended, Error> {
        let newer = self.read_on(line, book)?;
        if !newer.is_empty() {
            return Ok(Appended::Behind(newer));
        }
        let now = |s| (s, clock::wall_now());
        self.write_events(line, book, events.iter().map(now), synced)?;
        Ok(Appended::Stored)
    }

    /// Stores events of another journal here, as they were stamped there: the beginning of a practice that goes on from it.
    /// Nobody else knows this journal yet.
    pub fn copy(&mut self, line: &Line, records: &[Record]) -> Result<(), Error> {
        self.lock()?;
        let stamped = records.iter().map(|r| (&r.stamped, r.wall));
        let done = self.write_events(line, &OrderBook::default(), stamped, Synced::Now);
        self.unlock();
        done
    }

    /// Appends events with the moment each was written by the wall; all of them or none.
    fn write_events<'e>(
        &mut self,
        line: &Line,
        book: &OrderBook,
        events: impl Iterator<Item = (&'e Stamped, DateTime<FixedOffset>)>,
        synced: Synced,
    ) -> Result<(), Error> {
        let mut mark = self.mark;
        let mut lines = Vec::new();
        let mut book = book.clone();
        let mut plan = None;
        for (stamped, wall) in events {
            assert_eq!(
                stamped.seq,
                Seq(mark.seq.0 + 1),
                "events are numbered by whoever has read all others"
            );
            wire::learn(&mut book, line, &stamped.event);
            let before = plan.as_ref().or(self.plan.as_ref());
            let mut text = wire::write_event(stamped, &wall, &mark.hash, line, &book, before);
            if let Event::PlanAdopted { schedule } = &stamped.event {
                plan = Some((stamped.seq, schedule.clone()));
            }
            if text.len() > LONGEST_LINE {
                return Err(Error::TooLong { path: self.path.clone(), bytes: text.len() });
            }
            mark.hash = Digest::of(text.as_bytes());
            text.push('\n');
            mark.line += 1;
            mark.seq = stamped.seq;
            mark.offset += text.len() as u64;
            lines.push(text);
        }
        if let Err(e) = self.write(&lines, synced) {
            // Others must not meet an event whose author was told that it failed. If even this fails, the next
            // append reads what is there like anybody else's.
            let _ = self.file.set_len(self.mark.offset).and_then(|()| self.file.sync_data());
            return Err(e);
        }
        self.mark = mark;
        self.plan = plan.or(self.plan.take());
        Ok(())
    }

    fn write(&mut self, lines: &[String], synced: Synced) -> Result<(), Error> {
        for text in lines {
            self.file.write_all(text.as_bytes()).map_err(Error::io("append to the journal", &self.path))?;
        }
        if synced == Synced::Now {
            self.file.sync_data().map_err(Error::io("sync the journal", &self.path))?;
        }
        Ok(())
    }

    fn read_on(&mut self, line: &Line, book: &OrderBook) -> Result<Vec<Record>, Error> {
        let before = (self.mark, self.plan.clone());
        let (records, torn) = self.read_whole(line, book)?;
        if let Some(torn) = torn {
            match cut(&self.file, &self.path, torn) {
                Ok(torn) => self.torn.push(torn),
                Err(e) => {
                    // The caller does not get the records, so they are still to be read.
                    (self.mark, self.plan) = before;
                    return Err(e);
                }
            }
        }
        Ok(records)
    }

    /// Reads from the mark to the end. The mark moves only if all of it is sound.
    fn read_whole(&mut self, line: &Line, book: &OrderBook) -> Result<(Vec<Record>, Option<Torn>), Error> {
        let has = self.length()?;
        let had = self.mark.offset;
        if has < had {
            return Err(Error::Shrunk { path: self.path.clone(), had, has });
        }
        if has == had {
            return Ok((Vec::new(), None));
        }
        self.file.seek(SeekFrom::Start(had)).map_err(Error::io("read the journal", &self.path))?;
        let mut source = BufReader::new((&self.file).take(has - had));
        let mut mark = self.mark;
        let mut book = book.clone();
        let mut plan = self.plan.clone();
        let mut records = Vec::new();
        let torn = loop {
            match chain::event(&mut source, &mut mark, line, &mut book, &mut plan, &self.path)? {
                Next::Got(record) => records.push(record),
                Next::Torn(torn) => break Some(torn),
                Next::End => break None,
            }
        };
        self.mark = mark;
        self.plan = plan;
        Ok((records, torn))
    }

    fn length(&self) -> Result<u64, Error> {
        Ok(self.file.metadata().map_err(Error::io("look at the journal", &self.path))?.len())
    }

    fn lock(&self) -> Result<(), Error> {
        for _ in 0..LOCK_TRIES {
            let tried = if self.follows { self.file.try_lock_shared() } else { self.file.try_lock() };
            match tried {
                Ok(()) => return Ok(()),
                Err(TryLockError::WouldBlock) => std::thread::sleep(LOCK_PAUSE),
                Err(TryLockError::Error(e)) => return Err(Error::io("lock the journal", &self.path)(e)),
            }
        }
        Err(Error::Locked { path: self.path.clone() })
    }

    fn unlock(&self) {
        // Letting go cannot fail in a way that matters: the lock ends with the file at the latest.
        let _ = self.file.unlock();
    }
}
