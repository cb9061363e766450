//! Time kept free for human pace, by kind of move.

use crate::ids::RecipeId;
use crate::line::{Line, Visit};
use crate::shift::Pace;
use crate::units::Dur;

/// A window between shortest and longest dwell that is no longer than this is short: a rinse, a dip.
const SHORT: Dur = Dur::from_secs(60);

/// A kind of move.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum MoveKind {
    /// With an air limit.
    Critical,
    /// Into a step whose window is short.
    Short,
    /// Any other.
    Other,
}

impl MoveKind {
    /// All of them.
    pub const ALL: [Self; 3] = [Self::Critical, Self::Short, Self::Other];
}

/// Whether a move out of a visit is critical, and whether it is short; it may be both.
pub fn kinds(line: &Line, recipe: RecipeId, leaves: Visit) -> (bool, bool) {
    let critical = !line.air_max(recipe, leaves).is_unlimited();
    let short = line.next_visit(recipe, leaves).is_some_and(|next| {
        let (min, max) = line.window(recipe, next);
        max - min <= SHORT
    });
    (critical, short)
}

/// Kept free before each loaded move, and before the end of the window the move ends. Where a move is of two kinds the
/// longer one counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Reserve {
    /// Moves with an air limit.
    pub critical: Dur,
    /// Moves into a step whose window is short.
    pub short: Dur,
    /// All others.
    pub other: Dur,
}

impl Reserve {
    /// None at all.
    pub const NONE: Self = Self::all(Dur::ZERO);

    /// The same for every move.
    pub const fn all(by: Dur) -> Self {
        Self { critical: by, short: by, other: by }
    }

    /// The reserve of a move out of a visit.
    pub(super) fn of(&self, line: &Line, recipe: RecipeId, leaves: Visit) -> Dur {
        match kinds(line, recipe, leaves) {
            (true, true) => self.critical.max(self.short),
            (true, false) => self.critical,
            (false, true) => self.short,
            (false, false) => self.other,
        }
    }

    /// The same with what was learned where that is longer: what was asked for is the least. A shorter one was tried: bars
    /// come out sooner and a window breaks now and then by seconds.
    #[must_use]
    pub fn learned(self, pace: Option<&Pace>) -> Self {
        pace.map_or(self, |p| Self {
            critical: p.critical.unwrap_or_default().max(self.critical),
            short: p.short.unwrap_or_default().max(self.short),
            other: p.other.unwrap_or_default().max(self.other),
        })
    }

    /// No more than so much for any move.
    pub(super) fn at_most(&self, by: Dur) -> Self {
        Self { critical: self.critical.min(by), short: self.short.min(by), other: self.other.min(by) }
    }

    /// The longest of all: enough between any two moves.
    pub(super) fn longest(&self) -> Dur {
        self.critical.max(self.short).max(self.other)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ids::{Id as _, StepNo};

    /// The demo's clear sheet: all steps but the last two have an air limit, and only the etch after step 2 has a short
    /// window.
    #[test]
    fn a_move_keeps_the_reserve_of_its_kind() {
        let (line, recipes, _) = crate::files::demo();
        let line = crate::files::read_line(line, recipes).unwrap().value;
        let secs = Dur::from_secs;
        let of = |critical, short, visit| {
            let reserve = Reserve { critical: secs(critical), short: secs(short), other: secs(5) };
            reserve.of(&line, RecipeId::at(0), visit)
        };
        assert_eq!(of(15, 20, Visit::Load), secs(5));
        assert_eq!(of(15, 20, Visit::Step(StepNo::at(0))), secs(15));
        assert_eq!(of(15, 20, Visit::Step(StepNo::at(1))), secs(20));
        assert_eq!(of(15, 2, Visit::Step(StepNo::at(1))), secs(15), "of two kinds the longer");
        assert_eq!(of(15, 20, Visit::Step(StepNo::at(13))), secs(5));
    }
}
