//! What happens by itself on a drill.

use super::{LiveShift, Notice, Problem};
use crate::shift::Who;
use crate::train::Director;
use crate::units::Time;

impl LiveShift {
    /// Lets things happen by themselves: said by the supervisor, as they would be on a real shift.
    pub fn set_director(&mut self, director: Director) {
        self.director = Some(director);
    }

    /// True if nothing more is to happen, everybody is finished or off the line, and no part is missing.
    pub fn is_played_out(&self) -> bool {
        use crate::shift::Place;
        let over = |place: Place| matches!(place, Place::Finished { .. } | Place::OffLine);
        let state = self.state();
        self.director.as_ref().is_none_or(Director::is_done)
            && self.to_come.is_empty()
            && state.carriers.iter().all(|(_, c)| over(c.place))
            && state.book.orders.ids().all(|o| state.ledger.counts(state, o).missing <= 0)
    }

    pub(super) fn let_happen(&mut self) -> Result<(), Problem> {
        loop {
            let now = self.now();
            let state = self.history.state();
            let Some(director) = &mut self.director else { return Ok(()) };
            let Some((command, words)) = director.next(state.line(&self.line), state, now) else {
                return Ok(());
            };
            match self.submit(&command, Who::Supervisor) {
                Ok(()) => self.notice(Notice::Happened(words)),
                // What is no longer possible does not happen.
                Err(Problem::Refused(_)) => {}
                Err(fault) => return Err(fault),
            }
        }
    }

    pub(super) fn happens_at(&self, now: Time) -> Option<Time> {
        self.director.as_ref().and_then(|d| d.wakes(now))
    }
}
