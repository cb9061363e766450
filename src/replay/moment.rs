//! What was to be seen at one point of a recording.

use super::recording::{Point, Recording};
use crate::plan::{Call, calls};
use crate::shift::{History, State};
use crate::units::Time;
use crate::verify::Breach;
use crate::view::Board;
use crate::whatif::in_force;

/// A recording at one point. The same until the next event, whatever the time: only boards differ.
#[derive(Debug, Clone)]
pub struct Moment {
    /// Where it is.
    pub point: Point,
    /// The events up to it, and what they come to.
    pub history: History,
    /// All calls of the plan that was in force.
    pub calls: Vec<Call>,
    /// What that plan could not keep, by the verifier's word.
    pub breaches: Vec<Breach>,
}

impl Moment {
    /// `since` is when the calls came on the screens.
    pub(super) fn new(recording: &Recording, point: Point, since: Time) -> Self {
        let (line, history) = (recording.line(), recording.history(point.ix));
        let state = history.state();
        let (plan, breaches) = in_force(line, state).unwrap_or_default();
        let calls = calls(line, state, &plan, since, usize::MAX);
        Self { point, history, calls, breaches }
    }

    /// What was so.
    pub fn state(&self) -> &State {
        self.history.state()
    }

    /// What was on the screens at an instant of it.
    pub fn board(&self, recording: &Recording, now: Time) -> Board {
        let (line, opening) = (recording.line(), recording.opening());
        Board::build(line, self.state(), &self.history, &self.calls, &self.breaches, opening, now)
    }
}
