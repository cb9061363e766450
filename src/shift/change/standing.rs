//! Changes that stand: what the state keeps of them.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use super::StopCause;
use crate::ids::{CarrierId, HoistId, RecipeId, Seq, StepNo, TankId};
use crate::line::{Hoist, Line, Role, StageKind, Visit};
use crate::shift::guess::Guess;
use crate::shift::state::{Place, State, Stay};
use crate::units::{Dur, Time};

/// The event that made a change.
pub type Said = Seq;

/// Changes that stand.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Standing {
    /// Carriers that stay where they are.
    pub held: BTreeMap<CarrierId, Said>,
    /// Carriers that are to be put in standby water, or are there and stay.
    pub parked: BTreeMap<CarrierId, Park>,
    /// Tanks that are not entered.
    pub quarantined: BTreeMap<TankId, Said>,
    /// Hoists that do nothing.
    pub stopped: BTreeMap<HoistId, Stop>,
    /// Hoists that are slower than their file says: per cent of their speed, and what their file says.
    pub slow: BTreeMap<HoistId, (u8, Hoist)>,
    /// Carriers whose order in the queue a person has said.
    pub first: Vec<CarrierId>,
    /// Carriers that were cancelled before they started.
    pub cancelled: BTreeSet<CarrierId>,
    /// What carriers did under recipes they no longer run, oldest first.
    pub runs: BTreeMap<CarrierId, Vec<Run>>,
    /// Carriers that are at a bench beside the line.
    pub lent: BTreeMap<CarrierId, Lent>,
    /// Recipes with changed windows, and the ones whose limits hold for them.
    pub(super) limits: BTreeMap<RecipeId, RecipeId>,
    /// The queue is another one than the plan in force was made for.
    pub queue_changed: bool,
    /// The line with all that, where it differs from its file.
    pub(super) line: Option<Arc<Line>>,
}

/// Where a carrier is to wait.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Park {
    /// The standby tank; any that its sheet allows if `None`.
    pub tank: Option<TankId>,
    /// The event that said so.
    pub said: Said,
}

/// A hoist that does nothing.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Stop {
    /// Why.
    pub cause: StopCause,
    /// Since when.
    pub since: Time,
    /// When it runs again, if anybody knows.
    pub until: Option<Time>,
    /// The event that said so.
    pub said: Said,
}

/// What is done to a carrier at a bench beside the line.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Bench {
    /// The bench, as people call it.
    pub name: String,
    /// Shortest time there.
    pub min: Dur,
    /// Longest time there.
    pub max: Dur,
    /// The step of its recipe that it goes on with afterwards.
    pub resume: StepNo,
}

/// A carrier that is at a bench.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Lent {
    /// Where, for how long, and what comes after.
    pub bench: Bench,
    /// Since when.
    pub since: Time,
    /// The event that said so.
    pub said: Said,
}

/// What ended a run of a carrier that goes on.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Ended {
    /// It was sent to rework.
    Rework,
    /// It was at a bench from then until then.
    Bench(Bench, Time, Time),
}

/// What a carrier did under one recipe before it was sent to rework, or before it was at a bench.
#[derive(Debug, Clone, PartialEq)]
pub struct Run {
    /// The recipe.
    pub recipe: RecipeId,
    /// Immersions for its steps.
    pub stays: Vec<Stay>,
    /// What ended it.
    pub ended: Ended,
}

impl Standing {
    /// The stop of a hoist that stands still at `now`: one whose end has passed only waits for the hoist's next lift.
    pub fn stop(&self, hoist: HoistId, now: Time) -> Option<&Stop> {
        self.stopped.get(&hoist).filter(|stop| stop.until.is_none_or(|t| t > now))
    }

    /// How often a carrier was sent to rework.
    pub fn reworks(&self, carrier: CarrierId) -> usize {
        let runs = self.runs.get(&carrier).map_or(&[][..], Vec::as_slice);
        runs.iter().filter(|r| r.ended == Ended::Rework).count()
    }
}

/// So long before the assumed end of a stop another one is assumed: nobody is called to a hoist that may not run.
const LEAD: Dur = Dur::from_secs(30);

impl Stop {
    /// When the hoist runs again as far as can be said at `now`. Where nobody knows, it is taken to need `assumed` from the
    /// stop on, and the same once more whenever that has all but passed.
    pub fn back(&self, now: Time, assumed: Dur) -> Time {
        self.until.unwrap_or_else(|| Guess::of(assumed, LEAD).end(self.since, now))
    }

    /// When what was assumed at `now` has all but passed; `None` if the end is known.
    pub fn assumed_until(&self, now: Time, assumed: Dur) -> Option<Time> {
        self.until.is_none().then(|| Guess::of(assumed, LEAD).holds_until(self.since, now))
    }
}

impl Standing {
    /// Takes a line in place of the one that changes have made.
    pub(in crate::shift) fn set_line(&mut self, line: Arc<Line>) {
        self.line = Some(line);
    }

    /// Whoever asks for the line of this state is answered with the one it brings along.
    pub(crate) fn forget_line(&mut self) {
        self.line = None;
    }
}

impl State {
    /// The line as it is now: `filed`, or what changes have made of it.
    pub fn line<'a>(&'a self, filed: &'a Line) -> &'a Line {
        self.standing.line.as_deref().unwrap_or(filed)
    }

    /// The recipe as filed whose windows limit what those of `recipe` may be changed to.
    pub fn sheet(&self, recipe: RecipeId) -> RecipeId {
        self.standing.limits.get(&recipe).copied().unwrap_or(recipe)
    }

    /// True if a carrier stands in standby water and is to stay there.
    pub fn is_parked(&self, line: &Line, carrier: CarrierId) -> bool {
        self.standing.parked.contains_key(&carrier)
            && matches!(self.carriers[carrier].place, Place::InTank { tank, visit: Visit::Hold(_) | Visit::Stray { .. }, .. }
                if is_standby(line, tank))
    }

    /// True if nobody is to move a carrier: it is held, or parked where it is.
    pub fn stays_put(&self, line: &Line, carrier: CarrierId) -> bool {
        self.standing.held.contains_key(&carrier) || self.is_parked(line, carrier)
    }
}

pub(super) fn is_standby(line: &Line, tank: TankId) -> bool {
    matches!(line.tanks[tank].role, Role::Bath(stage) if line.stages[stage].kind == StageKind::Standby)
}
