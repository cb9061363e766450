//! Where moves come from when no person confirms them.

use crate::line::Line;
use crate::plan::Call;
use crate::shift::{Command, State};
use crate::units::Time;

/// Hands that do what the calls say, in their own time: a simulated crew.
pub trait Hands {
    /// What these hands do next and when, if nothing else happens before. The instant may have passed: then it is done at
    /// once, at the time the command itself names, which must not be later than the instant.
    ///
    /// Asked again whenever anything has changed, and what was answered before no longer counts then. So draw random
    /// numbers per move, not per question.
    fn next(&mut self, line: &Line, state: &State, calls: &[Call], now: Time) -> Option<(Time, Command)>;

    /// In a word, how they work: `simulated`, as people do, or `punctual`.
    fn kind(&self) -> &'static str {
        "simulated"
    }
}

impl Hands for crate::sim::Crew {
    fn next(&mut self, line: &Line, state: &State, calls: &[Call], now: Time) -> Option<(Time, Command)> {
        Self::next(self, line, state, calls, now)
    }

    fn kind(&self) -> &'static str {
        if self.is_punctual() { "punctual" } else { "simulated" }
    }
}

/// Hands that do nothing with a crane that is said to be stopped, as people would.
pub struct Halted<H>(pub H);

impl<H: Hands> Hands for Halted<H> {
    fn next(&mut self, line: &Line, state: &State, calls: &[Call], now: Time) -> Option<(Time, Command)> {
        let stopped = calls.first().is_some_and(|c| state.standing.stop(c.mv.hoist, now).is_some());
        if stopped { None } else { self.0.next(line, state, calls, now) }
    }

    fn kind(&self) -> &'static str {
        self.0.kind()
    }
}
