//! A shift as its journal keeps it, for commands that only read.

use std::path::Path;

use super::Bad;
use super::plan::warn;
use super::run::rebuild;
use crate::civil::Opening;
use crate::journal::{self, Reader};
use crate::line::Line;
use crate::plan::{calls, remaining};
use crate::shift::{History, unsound};
use crate::units::{Dur, Time};
use crate::verify::verify;
use crate::view::Board;

/// What a journal says up to an instant.
pub struct Kept {
    pub line: Line,
    pub opening: Opening,
    pub history: History,
    pub now: Time,
    pub board: Board,
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
        let mut events: Vec<_> = records.into_iter().map(|r| r.stamped).collect();
        let last = events.iter().map(|e| e.entered.max(e.at)).max().unwrap_or(Time::ZERO);
        let now = at.map_or(last, |t| of_day(&opening, t));
        events.retain(|e| e.entered <= now);
        let history = History::of(&line, events);
        let state = history.state();
        if let Some(why) = unsound(&line, state) {
            return Err(journal::Error::Impossible { path: path.to_owned(), why }.into());
        }
        let plan = state.plan.as_ref().map(|p| remaining(state, p)).unwrap_or_default();
        let calls = calls(&line, state, &plan, now, usize::MAX);
        let breaches = verify(&line, state, &plan);
        let board = Board::build(&line, state, &history, &calls, &breaches, &opening, now);
        Ok(Self { line, opening, history, now, board, entries, hash })
    }
}

fn of_day(opening: &Opening, since_midnight: Dur) -> Time {
    let minutes = since_midnight.whole_secs() / 60;
    let seconds = since_midnight.whole_secs() % 60;
    opening.next_time_of_day((minutes / 60) as u32, (minutes % 60) as u32) + Dur::from_secs(seconds)
}
