//! A shift as its journal keeps it, for commands that only read.

use std::path::Path;
use std::sync::Arc;

use super::plan::warn;
use super::run::rebuild;
use super::{Bad, drill};
use crate::civil::Opening;
use crate::journal::{self, Reader};
use crate::line::Line;
use crate::replay::Recording;
use crate::shift::{History, unsound};
use crate::train::Brief;
use crate::units::{Dur, Time};
use crate::view::Board;

/// What a journal says up to an instant.
pub struct Kept {
    pub line: Arc<Line>,
    pub opening: Opening,
    pub history: History,
    pub now: Time,
    pub board: Board,
    /// What practice it is of, if it is of one.
    pub brief: Option<Brief>,
    /// Nothing real was moved.
    pub practice: bool,
    /// How many entries the whole journal has.
    pub entries: usize,
    /// The hash of its last line.
    pub hash: String,
}

impl Kept {
    /// Reads a journal up to a time of day, or up to its last entry.
    pub fn read(path: &Path, at: Option<Dur>) -> Result<Self, Bad> {
        let mut reader = Reader::open(path)?;
        let header = reader.header().clone();
        let (line, _) = rebuild(&header).map_err(Bad)?;
        let (records, torn) = journal::read(&mut reader, &line)?;
        if torn.is_some() {
            warn("the last record of the journal is torn and was left out");
        }
        let opening = header.opening;
        let (entries, hash) = (records.len(), reader.hash().to_string());
        let line = Arc::new(line);
        let events = records.into_iter().map(|r| r.stamped).collect();
        let recording = Recording::new(Arc::clone(&line), opening, events);
        let now = at.map_or(Ok(recording.end().at), |t| kept(&recording, of_day(&opening, t)))?;
        let moment = recording.moment(recording.at(now));
        if let Some(why) = unsound(&line, moment.history.state()) {
            return Err(journal::Error::Impossible { path: path.to_owned(), why }.into());
        }
        let board = moment.board(&recording, now);
        let brief = drill::brief(&header)?;
        Ok(Self {
            line,
            opening,
            history: moment.history,
            now,
            board,
            brief,
            practice: header.practice,
            entries,
            hash,
        })
    }
}

/// The instant of a time of day in a shift.
pub fn of_day(opening: &Opening, since_midnight: Dur) -> Time {
    let minutes = since_midnight.whole_secs() / 60;
    let seconds = since_midnight.whole_secs() % 60;
    opening.next_time_of_day((minutes / 60) as u32, (minutes % 60) as u32) + Dur::from_secs(seconds)
}

/// Refuses an instant after the last entry: nothing is known of it.
fn kept(recording: &Recording, at: Time) -> Result<Time, Bad> {
    if at <= recording.end().at { Ok(at) } else { Err(Bad(recording.outside(at))) }
}
