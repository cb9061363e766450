//! A plan as a history keeps it. A long shift has had a thousand plans of a thousand moves each.

use std::sync::Arc;

use super::{Move, Part, Schedule, told_by};
use crate::units::Time;

/// A plan that is told by another takes at most this share of the room it would take by itself.
const SHARE: usize = 16;

/// How far from its place a move is looked for. Few move further, and looking everywhere takes the square of the moves.
const REACH: usize = 64;

/// A plan in little room: whole, or told by one that is. Two are equal if they are the same plan.
#[derive(Debug, Clone)]
pub struct Kept {
    /// The plan it is told by; the plan itself if there are no parts.
    whole: Arc<Schedule>,
    parts: Option<Box<[Part]>>,
    made_at: Time,
}

impl Kept {
    /// The plan.
    pub fn schedule(&self) -> Schedule {
        let Some(parts) = &self.parts else { return Schedule::clone(&self.whole) };
        let mut moves = Vec::with_capacity(self.len());
        for part in parts {
            match *part {
                Part::Own(m) => moves.push(m),
                Part::Run { first, count, shift } => {
                    let run = &self.whole.moves[first as usize..(first + count) as usize];
                    moves.extend(run.iter().map(|m| Move { start: m.start + shift, ..*m }));
                }
            }
        }
        Schedule { moves, made_at: self.made_at }
    }

    /// How many moves it has.
    pub fn len(&self) -> usize {
        let of = |part: &Part| match *part {
            Part::Own(_) => 1,
            Part::Run { count, .. } => count as usize,
        };
        self.parts.as_ref().map_or(self.whole.moves.len(), |parts| parts.iter().map(of).sum())
    }

    /// True if nothing is left to do.
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// True if it is told by no other plan.
    pub fn is_whole(&self) -> bool {
        self.parts.is_none()
    }

    /// The instant it was made for.
    pub fn made_at(&self) -> Time {
        self.made_at
    }

    /// A later plan, told by the same one as this if that saves enough. Never by this one: however many there are, each is
    /// one step from a whole one.
    #[must_use]
    pub fn then(&self, later: Self) -> Self {
        if later.parts.is_some() {
            return later;
        }
        let (whole, most) = (&self.whole, later.whole.moves.len() / SHARE);
        let parts: Vec<Part> = told_by(&whole.moves, &later.whole.moves, REACH).take(most + 1).collect();
        if parts.len() > most {
            return later;
        }
        Self { whole: Arc::clone(whole), parts: Some(parts.into()), made_at: later.made_at }
    }
}

impl From<Schedule> for Kept {
    fn from(schedule: Schedule) -> Self {
        let made_at = schedule.made_at;
        Self { whole: Arc::new(schedule), parts: None, made_at }
    }
}

impl PartialEq for Kept {
    fn eq(&self, other: &Self) -> bool {
        self.made_at == other.made_at && self.len() == other.len() && self.schedule() == other.schedule()
    }
}
