//! A journal that is damaged in the middle: what can be vouched for goes on, all of it is kept aside first.

use std::io::{BufRead as _, BufReader};
use std::path::{Path, PathBuf};

use super::chain::{self, Mark, Next};
use super::error::Error;
use super::record::{Header, Written};
use super::wire;
use super::writer::Journal;
use crate::ids::Seq;
use crate::line::{Line, OrderBook};
use crate::shift::{Event, Stamped, Who};
use crate::units::Time;

/// What mending came to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Mended {
    /// What was wrong, with path and line.
    pub fault: String,
    /// The last line that was kept.
    pub good: u64,
    /// How many lines stood after it.
    pub gone: u64,
    /// The whole journal as it was.
    pub kept: PathBuf,
}

/// How far a journal can be vouched for.
struct Sound {
    mark: Mark,
    /// Where the line before that ends: a hash that does not fit says nothing about which of two lines was changed.
    before: Option<Mark>,
    last: Time,
    fault: Option<Error>,
}

impl Journal {
    /// Cuts a journal that is damaged in the middle after the last line that can be vouched for, and notes that as an
    /// event of its own. All of it is copied to `NAME.damaged-N` first. `None` if nothing is damaged but, at most, the last
    /// record, which the next append sees to.
    ///
    /// Errors: the opening itself is damaged, or the disk refuses; nothing is changed then.
    pub fn mend(
        path: &Path,
        line: impl FnOnce(&Header) -> Result<Line, String>,
    ) -> Result<Option<Mended>, Error> {
        let (mut journal, header) = Self::open(path)?;
        let line = line(&header).map_err(|why| Error::Texts { path: path.to_owned(), why })?;
        journal.lock()?;
        let done = journal.mend_locked(&line);
        journal.unlock();
        done
    }

    fn mend_locked(&mut self, line: &Line) -> Result<Option<Mended>, Error> {
        let sound = self.sound(line)?;
        let Some(fault) = sound.fault else { return Ok(None) };
        let mark = match (&fault, sound.before) {
            (Error::Unchained { .. }, Some(before)) => before,
            // The line after the opening does not fit it: either was changed.
            (Error::Unchained { .. }, None) => return Err(fault),
            _ => sound.mark,
        };
        let path = self.path().to_owned();
        let gone = self.lines_from(mark.offset)?;
        let kept =
            self.disk.keep_aside("damaged", 0).map_err(Error::io("keep the journal aside beside", &path))?;
        self.disk.cut(mark.offset).map_err(Error::io("cut the damaged part off", &path))?;
        let mended = Mended { fault: fault.to_string(), good: mark.line, gone, kept };
        self.note(line, mark, sound.last, &mended)?;
        Ok(Some(mended))
    }

    fn note(&mut self, line: &Line, mark: Mark, at: Time, mended: &Mended) -> Result<(), Error> {
        if mark.seq == Seq(0) {
            // What comes first opens the shift; who reopens it does that.
            return Ok(());
        }
        let kept = mended.kept.file_name().unwrap_or_default().to_string_lossy().into_owned();
        let text = format!(
            "mended: {} line{} after line {} could not be vouched for; all of it is in {kept}",
            mended.gone,
            if mended.gone == 1 { "" } else { "s" },
            mended.good
        );
        let event = Event::Noted { text };
        let stamped = Stamped { seq: Seq(mark.seq.0 + 1), at, entered: at, by: Who::Program, event };
        let mut text =
            wire::write_event(&stamped, &Written::now(), &mark.hash, line, &OrderBook::default(), None);
        text.push('\n');
        let done = self.disk.append(text.as_bytes()).and_then(|()| self.disk.sync());
        done.map_err(Error::io("append to the journal", self.path()))
    }

    fn sound(&mut self, line: &Line) -> Result<Sound, Error> {
        let path = self.path().to_owned();
        let mut mark = self.mark;
        let whole = self.disk.read_from(mark.offset).map_err(Error::io("read the journal", &path))?;
        let mut source = BufReader::new(whole);
        let (mut book, mut plan) = (OrderBook::default(), None);
        let (mut before, mut last) = (None, Time::ZERO);
        loop {
            let was = mark;
            match chain::event(&mut source, &mut mark, line, &mut book, &mut plan, &path) {
                Ok(Next::Got(record)) => {
                    before = Some(was);
                    last = last.max(record.stamped.entered);
                }
                Ok(Next::Torn(_) | Next::End) => return Ok(Sound { mark, before, last, fault: None }),
                Err(fault @ Error::Io { .. }) => return Err(fault),
                Err(fault) => return Ok(Sound { mark, before, last, fault: Some(fault) }),
            }
        }
    }

    fn lines_from(&mut self, offset: u64) -> Result<u64, Error> {
        let path = self.path().to_owned();
        let failed = || Error::io("read the journal", &path);
        let mut source = BufReader::new(self.disk.read_from(offset).map_err(failed())?);
        let mut lines = 0;
        while source.skip_until(b'\n').map_err(failed())? > 0 {
            lines += 1;
        }
        Ok(lines)
    }
}
