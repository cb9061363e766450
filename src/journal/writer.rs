//! Keeping a journal: one lock an append, one write a record, synced before anybody is told.

use std::fs::TryLockError;
use std::io::{BufReader, ErrorKind, Read as _};
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use super::chain::{self, Digest, Mark, Next, Torn};
use super::disk::{Disk, Found, OnDisk, sync_folder};
use super::error::Error;
use super::record::{Header, Record, Written};
use super::wire::Adopted;
use super::{LONGEST_LINE, wire};
use crate::clock::steady_now;
use crate::ids::Seq;
use crate::line::{Line, OrderBook};
use crate::shift::{Event, Stamped};

/// An append takes the lock for a few milliseconds; a disk that sleeps may need a second or two.
const LOCK_TRIES: u32 = 3000;
const LOCK_PAUSE: Duration = Duration::from_millis(1);

/// Who has just let go, and has met others lately, lets them go first: they look for a gap no shorter than their pause.
const LATELY: Duration = Duration::from_secs(1);
const AFTER_YOU: Duration = Duration::from_millis(3);

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
    pub(super) disk: Box<dyn Disk>,
    path: PathBuf,
    pub(super) mark: Mark,
    /// The last plan read or written.
    plan: Option<Adopted>,
    torn: Vec<Torn>,
    put_back: bool,
    follows: bool,
    /// When others were met, and when the lock was let go of.
    met: Option<Instant>,
    let_go: Option<Instant>,
}

impl Journal {
    /// Makes a new journal with its opening. Refuses to touch a file that exists.
    pub fn create(path: &Path, header: &Header) -> Result<Self, Error> {
        let line = opening(path, header)?;
        let mut disk = OnDisk::create(path).map_err(|e| match e.kind() {
            ErrorKind::AlreadyExists => Error::Exists { path: path.to_owned() },
            _ => Error::io("create the journal", path)(e),
        })?;
        let stored = disk.append(line.as_bytes()).and_then(|()| disk.sync()).and_then(|()| sync_folder(path));
        if let Err(e) = stored {
            // Half an opening is of no use to anybody, and would stand in the way of the next try.
            let _ = std::fs::remove_file(path);
            return Err(Error::io("write the opening of the journal", path)(e));
        }
        Self::on(Box::new(disk), path, false).map(|(journal, _)| journal)
    }

    /// Opens a journal and reads its header. Its events come with the first [`Journal::catch_up`], once the line they
    /// speak of is known.
    pub fn open(path: &Path) -> Result<(Self, Header), Error> {
        let disk = OnDisk::open(path, false).map_err(Error::io("open the journal", path))?;
        Self::on(Box::new(disk), path, false)
    }

    /// Opens a journal that another program keeps, to follow it: nothing is ever written to the file, nor cut off it.
    pub fn follow(path: &Path) -> Result<(Self, Header), Error> {
        let disk = OnDisk::open(path, true).map_err(Error::io("open the journal", path))?;
        Self::on(Box::new(disk), path, true)
    }

    /// Opens a journal on some disk, only to follow it if `follows`; `path` is its name for people. See [`opening`] for what
    /// a new one begins with.
    pub fn on(mut disk: Box<dyn Disk>, path: &Path, follows: bool) -> Result<(Self, Header), Error> {
        let (header, mark) = {
            let source = disk.read_from(0).map_err(Error::io("read the journal", path))?;
            chain::opening(&mut BufReader::new(source), path)?
        };
        let (plan, torn) = (None, Vec::new());
        let (path, met, let_go) = (path.to_owned(), None, None);
        Ok((Self { disk, path, mark, plan, torn, put_back: false, follows, met, let_go }, header))
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

    /// True if the file was removed while it was open, and put back, since this was last asked.
    pub fn take_put_back(&mut self) -> bool {
        std::mem::take(&mut self.put_back)
    }

    /// Reads what others have appended, and cuts off a torn last record. Waits while another program appends. A follower
    /// cuts nothing: that is up to whoever appends next.
    pub fn catch_up(&mut self, line: &Line, book: &OrderBook) -> Result<Vec<Record>, Error> {
        self.lock()?;
        let read = if self.follows {
            self.read_whole(line, book).map(|(records, _)| records)
        } else {
            // What somebody wrote who was killed before it was sure is not believed before it is.
            let sure = self.disk.sync().map_err(Error::io("sync the journal", &self.path));
            sure.and_then(|()| self.read_on(line, book))
        };
        self.unlock();
        read
    }

    /// Reads what others have appended, but does not wait and cuts nothing: for a look once a second. Finds nothing while
    /// another program appends, so that nothing is believed before it is synced.
    pub fn tail(&mut self, line: &Line, book: &OrderBook) -> Result<Vec<Record>, Error> {
        match self.disk.try_lock(true) {
            Ok(()) => {}
            Err(TryLockError::WouldBlock) => return Ok(Vec::new()),
            Err(TryLockError::Error(e)) => return Err(Error::io("lock the journal", &self.path)(e)),
        }
        if let Err(e) = self.is_here() {
            self.unlock();
            return Err(e);
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
        let now = |s| (s, Written::now());
        self.write_events(line, book, events.iter().map(now), synced)?;
        Ok(Appended::Stored)
    }

    /// Stores events of another journal here, as they were stamped there: the beginning of a practice that goes on from it.
    /// Nobody else knows this journal yet.
    pub fn copy(&mut self, line: &Line, records: &[Record]) -> Result<(), Error> {
        self.lock()?;
        let stamped = records.iter().map(|r| (&r.stamped, r.written));
        let done = self.write_events(line, &OrderBook::default(), stamped, Synced::Now);
        self.unlock();
        done
    }

    /// Appends events with the moment each was written; all of them or none.
    fn write_events<'e>(
        &mut self,
        line: &Line,
        book: &OrderBook,
        events: impl Iterator<Item = (&'e Stamped, Written)>,
        synced: Synced,
    ) -> Result<(), Error> {
        let mut mark = self.mark;
        let mut lines = String::new();
        let mut book = book.clone();
        let mut plan = None;
        for (stamped, written) in events {
            assert_eq!(
                stamped.seq,
                Seq(mark.seq.0 + 1),
                "events are numbered by whoever has read all others"
            );
            wire::learn(&mut book, line, &stamped.event);
            let before = plan.as_ref().or(self.plan.as_ref());
            let mut text = wire::write_event(stamped, &written, &mark.hash, line, &book, before);
            if let Event::PlanAdopted { plan: adopted } = &stamped.event {
                plan = Some((stamped.seq, adopted.clone()));
            }
            if text.len() > LONGEST_LINE {
                return Err(Error::TooLong { path: self.path.clone(), bytes: text.len() });
            }
            mark.hash = Digest::of(text.as_bytes());
            text.push('\n');
            mark.line += 1;
            mark.seq = stamped.seq;
            mark.offset += text.len() as u64;
            lines.push_str(&text);
        }
        if let Err(e) = self.write(&lines, synced) {
            // Others must not meet an event whose author was told that it failed. If even this fails, the next
            // append reads what is there like anybody else's.
            let _ = self.disk.cut(self.mark.offset);
            return Err(e);
        }
        self.mark = mark;
        self.plan = plan.or(self.plan.take());
        Ok(())
    }

    /// In one piece: what belongs together should not be torn apart.
    fn write(&mut self, lines: &str, synced: Synced) -> Result<(), Error> {
        self.disk.append(lines.as_bytes()).map_err(Error::io("append to the journal", &self.path))?;
        if synced == Synced::Now {
            self.disk.sync().map_err(Error::io("sync the journal", &self.path))?;
        }
        Ok(())
    }

    fn read_on(&mut self, line: &Line, book: &OrderBook) -> Result<Vec<Record>, Error> {
        let before = (self.mark, self.plan.clone());
        let (records, torn) = self.read_whole(line, book)?;
        if let Some(torn) = torn {
            match self.cut_off(torn) {
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

    /// Sets a torn last record aside, whole, then cuts it off. The caller holds the lock, so nobody is still writing it.
    fn cut_off(&mut self, mut torn: Torn) -> Result<Torn, Error> {
        let kept = self.disk.keep_aside("torn", torn.offset);
        torn.kept = Some(kept.map_err(Error::io("keep the torn record beside", &self.path))?);
        self.disk.cut(torn.offset).map_err(Error::io("cut the torn record off", &self.path))?;
        Ok(torn)
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
        let source = self.disk.read_from(had).map_err(Error::io("read the journal", &self.path))?;
        let mut source = BufReader::new(source.take(has - had));
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
        drop(source);
        self.mark = mark;
        self.plan = plan;
        Ok((records, torn))
    }

    fn length(&self) -> Result<u64, Error> {
        self.disk.length().map_err(Error::io("look at the journal", &self.path))
    }

    /// Takes the lock on the file that the journal's name leads to.
    pub(super) fn lock(&mut self) -> Result<(), Error> {
        self.after_you();
        for _ in 0..LOCK_TRIES {
            match self.disk.try_lock(self.follows) {
                Ok(()) if self.is_here()? => return Ok(()),
                Ok(()) => {}
                Err(TryLockError::WouldBlock) => {
                    self.met = Some(steady_now());
                    std::thread::sleep(LOCK_PAUSE);
                }
                Err(TryLockError::Error(e)) => return Err(Error::io("lock the journal", &self.path)(e)),
            }
        }
        Err(Error::Locked { path: self.path.clone() })
    }

    /// Looks after the journal's name, with the lock held. False if another file is open now, whose lock is still to be
    /// taken. On an error the lock is let go of.
    fn is_here(&mut self) -> Result<bool, Error> {
        let found = self.disk.find(self.mark.offset).map_err(Error::io("look after the journal", &self.path));
        let error = match found {
            Ok(Found::Here) => return Ok(true),
            Ok(Found::PutBack) => {
                self.put_back = true;
                return Ok(true);
            }
            Ok(Found::Other) => return Ok(false),
            Ok(Found::Strange) => Error::Replaced { path: self.path.clone() },
            Ok(Found::Gone) => Error::Gone { path: self.path.clone() },
            Err(e) => e,
        };
        self.unlock();
        Err(error)
    }

    fn after_you(&self) {
        let (Some(met), Some(let_go)) = (self.met, self.let_go) else { return };
        let now = steady_now();
        if now.duration_since(met) < LATELY && now.duration_since(let_go) < AFTER_YOU {
            std::thread::sleep(AFTER_YOU);
        }
    }

    pub(super) fn unlock(&mut self) {
        self.let_go = Some(steady_now());
        self.disk.unlock();
    }
}

/// What a journal begins with, newline included.
pub fn opening(path: &Path, header: &Header) -> Result<String, Error> {
    let mut line = wire::write_header(header);
    if line.len() > LONGEST_LINE {
        return Err(Error::TooLong { path: path.to_owned(), bytes: line.len() });
    }
    line.push('\n');
    Ok(line)
}
