//! The plan in force: made anew after each event that moves anything, and when it has fallen behind.
//!
//! 1. A new plan is verified. One that is not possible is never shown: the last good one stays and a note says why.
//! 2. After an event the new plan is put in force. A plan made only because time went by is put in force if it differs
//!    materially; else just the calls are brought up to date, so that the journal does not fill with the same plan.
//! 3. Whoever only watches shows the plan in force and makes none.
//! 4. If two programs share the journal, the one that said something plans; the other waits a moment for that plan.

use super::{LiveShift, Notice, Problem, wake};
use crate::line::Line;
use crate::plan::{self, Settings, remaining};
use crate::schedule::{Move, Schedule};
use crate::shift::{Command, Event, Place, Refusal, State, Who};
use crate::units::{Dur, Time};
use crate::verify::{Breach, verify};

/// Makes a plan of what is so: see [`plan::plan`].
pub type Planner = Box<dyn Fn(&Line, &State, Time, &Settings) -> Schedule + Send>;

/// How many calls are worked out ahead for the screens.
const CALLS_SHOWN: usize = 8;

/// A plan has fallen behind once the first load should have been off the tank's floor for this long. Nobody presses the
/// key on the second.
const BEHIND: Dur = Dur::from_secs(5);

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
            let now = self.now();
            let breaches = verify(&self.line, self.history.state(), &left);
            self.show(left, breaches, now);
        }
    }

    fn show(&mut self, schedule: Schedule, breaches: Vec<Breach>, now: Time) {
        self.breaches = breaches;
        self.plan.made_at = Some(schedule.made_at);
        self.plan.shown = schedule;
        self.calls = plan::calls(&self.line, self.history.state(), &self.plan.shown, now, CALLS_SHOWN);
    }

    /// Brings the calls of a watched shift up to date, as often as the others plan because time went by.
    pub(super) fn look_again(&mut self, now: Time) {
        if self.plan.tried.is_none_or(|tried| tried + PAUSE <= now || now < tried) {
            self.plan.tried = Some(now);
            self.take_up_plan();
        }
    }

    /// What a plan breaks; refuses one the verifier calls impossible.
    pub(super) fn judged(&self, schedule: &Schedule) -> Result<Vec<Breach>, Refusal> {
        let breaches = verify(&self.line, self.history.state(), schedule);
        match breaches.iter().find(|b| b.harm.is_none()) {
            Some(breach) => Err(Refusal::StalePlan { why: breach.text.clone() }),
            None => Ok(breaches),
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
        let breaches = match self.judged(&schedule) {
            Ok(breaches) => breaches,
            Err(refusal) => return self.reject(&refusal),
        };
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
        self.show(schedule, breaches, now);
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
        let behind = self.first_on_no_hook().map(|m| after_pause(self.lift(m) + BEHIND + wake::TICK));
        match (missing, behind) {
            (Some(a), Some(b)) => Some(a.min(b)),
            (a, b) => a.or(b),
        }
    }

    /// When the raise of a move begins.
    fn lift(&self, m: &Move) -> Time {
        m.start + m.phases(&self.line, &self.state().book).map_or(Dur::ZERO, |p| p.to_lift())
    }

    /// The first move of the plan, unless its carrier hangs on a hook: then the move is under way.
    fn first_on_no_hook(&self) -> Option<&Move> {
        let first = self.plan.shown.moves.first()?;
        let on_hook = matches!(self.state().carriers[first.carrier].place, Place::OnHook { .. });
        (!on_hook).then_some(first)
    }
}
