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
        let end = recording.end().at;
        let now = at.map_or(Ok(end), |t| of_day(&opening, end, t))?;
        let moment = recording.moment(recording.at(now));
        if let Some(why) = unsound(&line, moment.history.state()) {
            return Err(journal::Error::Impossible { path: path.to_owned(), why }.into());
        }
        let board = moment.board(&recording, now);
        let brief = drill::brief(&header)?;
        Ok(Self { line, opening, history: moment.history, now, board, brief, entries, hash })
    }
}

/// So long before the opening a time of day is taken for one of the same morning.
const SAME_MORNING: Dur = Dur::from_mins(6 * 60);

/// The instant of a time of day in a shift whose last entry is at `end`. Shortly before the opening is refused: the next
/// morning was hardly meant.
pub fn of_day(opening: &Opening, end: Time, since_midnight: Dur) -> Result<Time, Bad> {
    let minutes = since_midnight.whole_secs() / 60;
    let seconds = since_midnight.whole_secs() % 60;
    let at = opening.next_time_of_day((minutes / 60) as u32, (minutes % 60) as u32) + Dur::from_secs(seconds);
    let before_opening = Time::ZERO + Dur::from_mins(24 * 60) - at;
    if at > end && before_opening <= SAME_MORNING {
        let (said, began, last) = (opening.clock(at), opening.clock(Time::ZERO), opening.clock(end));
        return Err(Bad(format!(
            "{said} is before the shift was opened, at {began}; its last entry is of {last}"
        )));
    }
    Ok(at)
}
