//! Taking over: a practice that goes on from some event of another shift, in a journal of its own. The other is not touched.

use std::path::Path;

use super::{LiveShift, Problem};
use crate::clock;
use crate::journal::{Header, Journal, Origin, Record, unquote};
use crate::line::Line;
use crate::replay::fate;

/// The shift that is taken over, up to where.
#[derive(Debug, Clone, Copy)]
pub struct Fork<'a> {
    /// What its journal says about it.
    pub header: &'a Header,
    /// The line its texts describe.
    pub line: &'a Line,
    /// Its events up to there.
    pub records: &'a [Record],
    /// Which event that is, and when the practice goes on.
    pub origin: &'a Origin,
    /// How many times faster than the wall the practice runs.
    pub speed: f64,
}

impl Fork<'_> {
    /// Makes the journal of the practice: what the other shift runs on, where it came from, and its events so far, each as it
    /// was stamped. [`super::LiveShift::reopen`] goes on with it. Refuses to touch a file that exists.
    pub fn create(&self, path: &Path) -> Result<(), Problem> {
        let header = Header {
            program: super::PROGRAM.to_owned(),
            practice: true,
            speed: self.speed,
            created: clock::wall_now(),
            forked_from: Some(self.origin.clone()),
            ..self.header.clone()
        };
        let mut journal = Journal::create(path, &header)?;
        if let Err(error) = journal.copy(self.line, self.records) {
            // Half of a shift is of no use to anybody, and would stand in the way of the next try.
            let _ = std::fs::remove_file(path);
            return Err(error.into());
        }
        Ok(())
    }
}

impl LiveShift {
    /// Lets what came to the other shift come to this practice too: cranes that stop, tanks that fail, orders that come in, as
    /// far as nobody met it yet. What people decided there is free here. Nothing comes to a shift of its own.
    pub fn meet_the_same(&mut self) {
        let Some(origin) = self.header.as_ref().and_then(|h| h.forked_from.as_ref()) else { return };
        let last = self.history.events().last().map_or(origin.at, |s| s.entered.max(origin.at));
        let quoted = unquote(&origin.to_come, &self.line, &self.history.state().book);
        let later = quoted.into_iter().map(|r| r.stamped).filter(|s| s.entered > last);
        self.to_come = later.filter_map(|s| Some((s.entered, fate(&s)?))).collect();
    }
}
