//! What the next calls are, how long each may wait, and why.

use crate::line::Line;
use crate::schedule::{Move, Schedule};
use crate::shift::State;
use crate::units::{Dur, Time};

/// One call: a loaded move as the operator is told of it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Call {
    /// The move.
    pub mv: Move,
    /// When the hoist should set out for it (empty travel included).
    pub set_out: Time,
    /// The last start of the move with which the rest of the plan still keeps every window; `None` if nothing limits it.
    pub latest_start: Option<Time>,
    /// `latest_start` less the planned start: how long the move may still wait.
    pub slack: Option<Dur>,
    /// The move has an air limit: it must not stop on the way.
    pub critical: bool,
    /// The longest air time allowed, if the move is critical.
    pub air_max: Option<Dur>,
    /// The air time the model expects.
    pub air: Dur,
    /// One line: what limits the move, computed from the plan's own timing.
    pub reason: String,
}

/// The next `count` calls of a schedule. For a carrier that hangs on a hook already the first call is its place.
pub fn calls(_line: &Line, _state: &State, _schedule: &Schedule, _now: Time, _count: usize) -> Vec<Call> {
    Vec::new()
}
