//! A plan as a history keeps it. A long shift has had a thousand plans of a thousand moves each.

use std::sync::Arc;

use super::packed::{packed, unpacked};
use super::{Move, Part, Schedule, told_by};
use crate::units::Time;

/// A plan that is told by another has at most this share of parts to its moves.
const SHARE: usize = 16;

/// How far from its place a move is looked for. Few move further, and looking everywhere takes the square of the moves.
const REACH: usize = 64;

/// A plan in little room: whole, or told by one that is; packed in either case. Two are equal if they are the same plan.
#[derive(Debug, Clone)]
pub struct Kept {
    parts: Arc<[u8]>,
    /// How many moves they come to.
    count: usize,
    /// The plan it is told by, which has only moves of its own.
    by: Option<(Arc<[u8]>, usize)>,
    made_at: Time,
}

impl Kept {
    /// The plan.
    pub fn schedule(&self) -> Schedule {
        let whole = self.by.as_ref().map(|(parts, count)| unpacked(parts, &[], *count));
        let moves = unpacked(&self.parts, whole.as_deref().unwrap_or_default(), self.count);
        Schedule { moves, made_at: self.made_at }
    }

    /// How many moves it has.
    pub fn len(&self) -> usize {
        self.count
    }

    /// True if nothing is left to do.
    pub fn is_empty(&self) -> bool {
        self.count == 0
    }

    /// True if it is told by no other plan.
    pub fn is_whole(&self) -> bool {
        self.by.is_none()
    }

    /// How many bytes its parts take, beside those of the plan it is told by.
    pub fn bytes(&self) -> usize {
        self.parts.len()
    }

    /// The instant it was made for.
    pub fn made_at(&self) -> Time {
        self.made_at
    }

    /// A later plan, told by the same one as this if that saves enough. Never by this one: however many there are, each is
    /// one step from a whole one.
    #[must_use]
    pub fn then(&self, later: &Schedule) -> Self {
        let (whole, count) = self.by.clone().unwrap_or_else(|| (Arc::clone(&self.parts), self.count));
        let most = later.moves.len() / SHARE;
        let before = unpacked(&whole, &[], count);
        let parts: Vec<Part> = told_by(&before, &later.moves, REACH).take(most + 1).collect();
        if parts.len() > most {
            return later.into();
        }
        Self {
            parts: packed(parts.into_iter()),
            count: later.moves.len(),
            by: Some((whole, count)),
            made_at: later.made_at,
        }
    }
}

impl From<&Schedule> for Kept {
    fn from(schedule: &Schedule) -> Self {
        let own = |m: &Move| Part::Own(*m);
        Self {
            parts: packed(schedule.moves.iter().map(own)),
            count: schedule.moves.len(),
            by: None,
            made_at: schedule.made_at,
        }
    }
}

impl From<Schedule> for Kept {
    fn from(schedule: Schedule) -> Self {
        Self::from(&schedule)
    }
}

impl PartialEq for Kept {
    fn eq(&self, other: &Self) -> bool {
        self.made_at == other.made_at && self.count == other.count && self.schedule() == other.schedule()
    }
}
