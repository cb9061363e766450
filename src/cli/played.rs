//! A journal that is looked at again, as far as it is sound.

use std::path::Path;
use std::sync::Arc;

use super::Bad;
use super::kept::of_day;
use super::replay_args::Place;
use super::run::rebuild;
use crate::files;
use crate::ids::Seq;
use crate::journal::{self, Good, Header, Origin, Reader, Record, read_good};
use crate::replay::{Point, Recording, came};
use crate::units::{Dur, Time};

/// A journal with what it holds.
pub struct Played {
    /// Its name.
    pub name: String,
    pub header: Header,
    pub good: Good,
    pub recording: Arc<Recording>,
}

impl Played {
    /// Reads a journal, or the shipped one. A damaged one is read up to the damage.
    pub fn read(path: Option<&Path>) -> Result<Self, Bad> {
        let (mut reader, name) = if let Some(path) = path {
            (Reader::open(path)?, path.display().to_string())
        } else {
            let source = files::demo_shift();
            (Reader::over(Box::new(source.text.as_bytes()), Path::new(source.name))?, source.name.to_owned())
        };
        let header = reader.header().clone();
        let (line, _) = rebuild(&header).map_err(Bad)?;
        let good = read_good(&mut reader, &line);
        let events = good.records.iter().map(|r| r.stamped.clone()).collect();
        let recording = Arc::new(Recording::new(Arc::new(line), header.opening, events));
        Ok(Self { name, header, good, recording })
    }

    /// What is wrong with the rest of the journal, as a sentence.
    pub fn damage(&self) -> Option<String> {
        let rest = self.good.rest.as_ref()?;
        Some(format!("{} is shown up to event {}: {rest}", self.name, self.good.records.len()))
    }

    /// The instant of a time of day to go on to, which may be after the last entry.
    pub fn instant(&self, of: Dur) -> Result<Time, Bad> {
        let at = of_day(&self.header.opening, of);
        if self.recording.is_before(at) { Err(Bad(self.recording.outside(at))) } else { Ok(at) }
    }

    /// The same; an error if it is not on this shift.
    pub fn within(&self, of: Dur) -> Result<Time, Bad> {
        let (at, (first, last)) = (self.instant(of)?, self.recording.span());
        if (first..=last).contains(&at) { Ok(at) } else { Err(Bad(self.recording.outside(at))) }
    }

    /// A place that was typed. An event is looked at right before it.
    pub fn point(&self, place: Place) -> Result<Point, Bad> {
        match place {
            Place::Time(of) => Ok(self.recording.at(self.within(of)?)),
            Place::Event(seq) => self.recording.before(seq).ok_or_else(|| {
                Bad(format!("{} has no event {}; it has {}", self.name, seq.0, self.good.records.len()))
            }),
        }
    }

    /// The events up to a point, for a practice that goes on from there, and where that is.
    pub fn up_to(&self, point: Point) -> (&[Record], Origin) {
        let records = &self.good.records[..point.ix];
        let hash = match point.ix.checked_sub(1) {
            Some(last) => self.good.hashes[last].to_string(),
            None => String::new(),
        };
        let event = records.last().map_or(Seq(0), |r| r.stamped.seq);
        let name =
            Path::new(&self.name).file_name().map_or(self.name.clone(), |n| n.to_string_lossy().into_owned());
        (records, Origin { journal: name, event, at: point.at, hash, to_come: self.to_come(point.ix) })
    }

    /// What came after the first `ix` events whatever was done, as the journal has it.
    fn to_come(&self, ix: usize) -> Vec<String> {
        let (recording, good) = (&self.recording, &self.good);
        let quoted = |n: usize| {
            let prev = n.checked_sub(1).map(|last| good.hashes[last])?;
            let book = &recording.history(n).state().book.clone();
            Some(journal::quote(&good.records[n], &prev, recording.line(), book))
        };
        came(recording, ix).into_iter().filter_map(quoted).collect()
    }
}
