//! What a practice is: said before it begins, in the head of every screen, and over its debrief.

use crate::ids::Seq;
use crate::units::{Dur, Time};

/// What a practice is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Brief {
    /// Short name.
    pub name: String,
    /// What it is called.
    pub title: String,
    /// What there is to learn; empty if nobody has said.
    pub about: String,
    /// How long it lasts, if it ends by itself.
    pub lasting: Option<Dur>,
    /// It goes on from another shift.
    pub taken_over: Option<TakenOver>,
}

/// From where on a shift is somebody's own.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct TakenOver {
    /// The last event that is not.
    pub after: Seq,
    /// When.
    pub at: Time,
}

impl Brief {
    /// A practice that goes on from another shift.
    pub fn of_take_over(journal: &str, taken_over: TakenOver) -> Self {
        Self {
            name: "take-over".to_owned(),
            title: format!("taken over from {journal}"),
            about: String::new(),
            lasting: None,
            taken_over: Some(taken_over),
        }
    }
}
