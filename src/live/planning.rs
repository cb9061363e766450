//! The plan in force: made anew after each event that moves anything, and when it has fallen behind.
//!
//! 1. A new plan is verified. One that is not possible is never shown: the last good one stays and a note says why.
//! 2. After an event the new plan is put in force. A plan made only because time went by is put in force if it differs
//!    materially; else just the calls are brought up to date, so that the journal does not fill with the same plan.
//! 3. If two programs share the journal, the one that said something plans; the other waits a moment for that plan.

use super::{LiveShift, Notice, Problem, wake};
use crate::ids::{Arena, CarrierId};
use crate::line::{Line, Visit};
use crate::plan::{self, Settings};
use crate::schedule::{Move, Schedule};
use crate::shift::{Command, Event, Place, Refusal, State, Who};
use crate::units::{Dur, Time};
use crate::verify::verify;

/// Makes a plan of what is so: see [`plan::plan`].
pub type Planner = Box<dyn Fn(&Line, &State, Time, &Settings) -> Schedule + Send>;

/// How many calls are worked out ahead for the screens.
const CALLS_SHOWN: usize = 8;

/// A plan has fallen behind once its first move is late by this.
const BEHIND: Dur = Dur::from_secs(2);

/// Plans made because time went by are at least this far apart.
pub(super) const PAUSE: Dur = Dur::from_secs(5);

/// A start that moves by more than this makes a plan another plan.
const SHIFTED: Dur = Dur::from_secs(20);

/// How long the program that stored an event may take to store its plan.
const PATIENCE: Dur = Dur::from_secs(2);

/// When a new plan is put in force.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Adopt {
    /// If it is possible.
    Always,
    /// If it is possible and differs materially from the one in force.
    IfDifferent,
}

/// What is known about the plan besides the plan itself.
#[derive(Debug, Default)]
pub(super) struct InForce {
    shown: Schedule,
    made_at: Option<Time>,
    /// Since when an event has no plan that knows it.
    missing: Option<Time>,
    /// When a plan was last tried.
    tried: Option<Time>,
    /// A rejection has been noted and no plan has been accepted since.
    rejected: bool,
}

impl InForce {
    pub(super) fn shown(&self) -> &Schedule {
        &self.shown
    }
    pub(super) fn made_at(&self) -> Option<Time> {
        self.made_at
    }
    pub(super) fn miss(&mut self, now: Time) {
        self.missing.get_or_insert(now);
    }
    pub(super) fn found(&mut self) {
        self.missing = None;
    }
}

/// True for events after which the old plan no longer starts from what is so.
pub(super) fn calls_for_plan(event: &Event) -> bool {
    event.is_physical()
        || matches!(
            event,
            Event::Opened { .. }
                | Event::Undone { .. }
                | Event::Retimed { .. }
                | Event::TankOut { .. }
                | Event::TankBack { .. }
        )
}

/// True for events after which a plan made before them must not be adopted.
pub(super) fn bears_on_plan(event: &Event) -> bool {
    calls_for_plan(event) || matches!(event, Event::PlanAdopted { .. })
}

/// What is left of a plan: for each carrier the moves from where it is. Nothing for a carrier the plan does not know
/// there.
pub fn remaining(state: &State, plan: &Schedule) -> Schedule {
    let mut ahead: Arena<CarrierId, bool> = state.carriers.iter().map(|_| false).collect();
    let moves = plan.moves.iter().filter(|m| {
        let ahead = &mut ahead[m.carrier];
        *ahead = *ahead || starts_at(m, state.carriers[m.carrier].place);
        *ahead
    });
    Schedule { moves: moves.copied().collect(), made_at: plan.made_at }
}

fn starts_at(m: &Move, place: Place) -> bool {
    match place {
        Place::Queued => m.leaves == Visit::Load,
        Place::InTank { tank, visit, .. } => m.from == tank && m.leaves == visit,
        Place::OnHook { from, leaves, .. } => m.from == from && m.leaves == leaves,
        Place::Finished { .. } | Place::OffLine => false,
    }
}

/// True if people would notice: another order or assignment of moves, or a start shifted by more than [`SHIFTED`].
fn differs(old: &Schedule, new: &Schedule) -> bool {
    let same = |a: &Move, b: &Move| Move { start: b.start, ..*a } == *b;
    old.moves.len() != new.moves.len()
        || old
            .moves
            .iter()
            .zip(&new.moves)
            .any(|(a, b)| !same(a, b) || (b.start - a.start).0.abs() > SHIFTED.0)
}

impl LiveShift {
    /// Calls and breaches from the plan in force in the journal.
    pub(super) fn take_up_plan(&mut self) {
        if let Some(plan) = &self.state().plan {
            let left = remaining(self.state(), plan);
            let now = self.clock.now();
            self.show(left, now);
        }
    }

    fn show(&mut self, schedule: Schedule, now: Time) {
        self.breaches = verify(&self.line, self.history.state(), &schedule);
        self.plan.made_at = Some(schedule.made_at);
        self.plan.shown = schedule;
        self.refresh_calls(now);
    }

    /// Works the calls out again from the plan that is shown.
    pub(super) fn refresh_calls(&mut self, now: Time) {
        self.calls = plan::calls(&self.line, self.history.state(), &self.plan.shown, now, CALLS_SHOWN);
    }

    /// Refuses a plan the verifier calls impossible.
    pub(super) fn not_impossible(&self, schedule: &Schedule) -> Result<(), Problem> {
        let breaches = verify(&self.line, self.history.state(), schedule);
        match breaches.into_iter().find(|b| b.harm.is_none()) {
            Some(breach) => Err(Refusal::StalePlan { why: breach.text }.into()),
            None => Ok(()),
        }
    }

    /// Plans; what goes wrong is kept for the next tick and told as a notice, because what called for the plan is stored.
    pub(super) fn plan_or_notice(&mut self, now: Time, adopt: Adopt) {
        if let Err(problem) = self.plan_anew(now, adopt) {
            self.take_up_plan();
            self.notice(Notice::PlanNotStored(problem.to_string()));
        }
    }

    /// Makes, verifies and puts in force a plan of what is so now.
    pub(super) fn plan_anew(&mut self, now: Time, adopt: Adopt) -> Result<(), Problem> {
        self.plan.tried = Some(now);
        self.plan.miss(now);
        let schedule = (self.planner)(&self.line, self.history.state(), now, &self.settings);
        match self.not_impossible(&schedule) {
            Err(Problem::Refused(refusal)) => return self.reject(&refusal),
            other => other?,
        }
        let in_force = self.state().plan.as_ref().map(|p| remaining(self.state(), p));
        let material = in_force.is_none_or(|old| differs(&old, &schedule));
        if adopt == Adopt::Always || material {
            let seen = self.state().seq;
            match self.commit(&Command::AdoptPlan { schedule: schedule.clone() }, Who::Program) {
                Ok(_) => {}
                // Somebody was faster; their events have been folded and their plan will come or ours is made again.
                Err(Problem::Refused(_)) if self.state().seq != seen => return Ok(()),
                Err(Problem::Refused(refusal)) => return self.reject(&refusal),
                Err(fault) => return Err(fault),
            }
        }
        self.plan.found();
        self.plan.rejected = false;
        self.show(schedule, now);
        Ok(())
    }

    /// The last good plan stays; one note for a row of rejections.
    fn reject(&mut self, refusal: &Refusal) -> Result<(), Problem> {
        self.take_up_plan();
        if !self.plan.rejected {
            self.plan.rejected = true;
            self.notice(Notice::PlanRejected(refusal.to_string()));
            let text = format!("fault: a new plan was not taken: {refusal}");
            self.commit(&Command::Note { text }, Who::Program)?;
        }
        Ok(())
    }

    /// When time alone calls for a plan; it may have passed. `None` if nothing does.
    pub(super) fn plan_due(&self) -> Option<Time> {
        let after_pause = |t: Time| self.plan.tried.map_or(t, |tried| t.max(tried + PAUSE));
        let missing = self.plan.missing.map(|since| after_pause(since + PATIENCE));
        let behind = self.first_on_no_hook().map(|m| after_pause(m.start + BEHIND + wake::TICK));
        match (missing, behind) {
            (Some(a), Some(b)) => Some(a.min(b)),
            (a, b) => a.or(b),
        }
    }

    /// The first move of the plan, unless its carrier hangs on a hook: then the move is under way.
    fn first_on_no_hook(&self) -> Option<&Move> {
        let first = self.plan.shown.moves.first()?;
        let on_hook = matches!(self.state().carriers[first.carrier].place, Place::OnHook { .. });
        (!on_hook).then_some(first)
    }
}
