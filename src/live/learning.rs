//! Pace that is learned while the shift runs: looked at after every few moves, put in force if plans would differ.

use super::{LiveShift, Problem};
use crate::plan::Settings;
use crate::shift::{Command, Event, Who};
use crate::train::{ENOUGH, Learned, differs};

/// Which confirmed moves were looked at already.
#[derive(Debug, Default)]
pub(super) struct Learning {
    on: bool,
    /// Events looked through, and moves since the last look at pace.
    events: usize,
    moves: usize,
}

impl LiveShift {
    /// Learns people's pace from here on, once there are enough moves. What the journal has learned holds until there are
    /// more: to look through a long shift takes longer than to open it.
    pub fn set_learning(&mut self) {
        let known = if self.state().pace.is_some() { self.history.events().len() } else { 0 };
        self.learning = Learning { on: true, events: known, moves: 0 };
    }

    /// How plans are made now: what was asked for, and what was learned in its place.
    pub(super) fn reckons_with(&self) -> Settings {
        let reserve = self.settings.reserve.learned(self.state().pace.as_ref());
        Settings { reserve, ..self.settings }
    }

    pub(super) fn learn(&mut self) -> Result<(), Problem> {
        if !self.learning.on {
            return Ok(());
        }
        let events = self.history.events();
        let newer = events.get(self.learning.events..).unwrap_or_default();
        self.learning.moves += newer.iter().filter(|s| matches!(s.event, Event::Lowered { .. })).count();
        self.learning.events = events.len();
        // Half as many more may change a median; fewer would only make noise.
        if self.learning.moves < ENOUGH / 2 {
            return Ok(());
        }
        self.learning.moves = 0;
        let pace = Learned::of(&self.line, &self.history).pace;
        let before = self.state().pace.clone().unwrap_or_default();
        if !differs(&before, &pace) {
            return Ok(());
        }
        match self.submit(&Command::LearnPace { pace }, Who::Program) {
            Err(Problem::Refused(_)) | Ok(()) => Ok(()),
            Err(fault) => Err(fault),
        }
    }
}
