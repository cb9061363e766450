//! What the screens know of a practice.

use std::sync::Arc;

use crate::train::Brief;

/// A practice, as far as the screens have to tell it from a real shift.
#[derive(Debug, Clone, PartialEq)]
pub struct Practising {
    /// A simulated crew may be asked for at the start.
    pub may_watch: bool,
    /// A simulated crew confirms the moves.
    pub crewed: bool,
    /// How that crew works: `simulated`, as people do, or `punctual`.
    pub crew: &'static str,
    /// It is over: nothing is said any more.
    pub over: bool,
    /// How many times faster than the wall it will run.
    pub speed: f64,
    /// What practice it is.
    pub brief: Option<Arc<Brief>>,
}

impl Practising {
    /// Before anything is known of it.
    pub fn new(may_watch: bool) -> Self {
        Self { may_watch, crewed: false, crew: "simulated", over: false, speed: 1.0, brief: None }
    }

    /// A word for it.
    pub fn kind(&self) -> &'static str {
        match &self.brief {
            Some(brief) if brief.taken_over.is_none() => "drill",
            _ => "practice",
        }
    }

    /// Which crew works, as it stands in the head of a screen; empty if none does.
    pub fn crew_words(&self) -> String {
        if self.crewed { format!("  crew {}", self.crew) } else { String::new() }
    }

    /// True if a simulated crew may be chosen at the start.
    pub fn offers_crew(&self) -> bool {
        self.may_watch && !self.crewed && self.brief.is_none()
    }
}
