//! Loaded moves over time: made ones from the journal, planned ones with what limits them.

use super::At;
use super::call::reason;
use super::past::Leg;
use crate::ids::{Arena, CarrierId, HoistId, TankId};
use crate::line::{Line, Phases, Visit};
use crate::plan::Call;
use crate::shift::Place;
use crate::units::{Dur, Time};

/// Whether a move has been made.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum When {
    /// It is over.
    Past,
    /// The load hangs.
    UnderWay,
    /// The plan makes it.
    Planned,
}

/// One loaded move.
#[derive(Debug, Clone, PartialEq)]
pub struct Run {
    /// The carrier.
    pub carrier: CarrierId,
    /// Which of the carrier's moves it is, counted from 0.
    pub nth: usize,
    /// The hoist.
    pub hoist: HoistId,
    /// Where it is picked up.
    pub from: TankId,
    /// Where it is put down.
    pub to: TankId,
    /// Why it is put down there.
    pub visit: Visit,
    /// Whether it has been made.
    pub when: When,
    /// The hoist takes hold.
    pub start: Time,
    /// The immersion ends.
    pub lift: Time,
    /// The travel begins.
    pub leave: Time,
    /// The travel ends.
    pub arrive: Time,
    /// The next immersion begins.
    pub down: Time,
    /// The hoist has let go.
    pub end: Time,
    /// The last lift with which the plan keeps every window; `None` for what is over and where nothing limits it.
    pub lift_by: Option<Time>,
    /// How long it may still wait; `None` as above.
    pub slack: Option<Dur>,
    /// It must not stop on the way.
    pub critical: bool,
    /// Its times rest on the return of a tank that nobody knows.
    pub guess: bool,
    /// Why it is planned as it is; empty for what is over.
    pub reason: String,
}

impl Run {
    /// The move's name, which stays when the plan is made anew.
    pub fn key(&self) -> (CarrierId, usize) {
        (self.carrier, self.nth)
    }
}

/// All moves, in order of their start.
pub(super) fn runs(at: At<'_>, legs: &[Leg], calls: &[Call]) -> Vec<Run> {
    let mut count: Arena<CarrierId, usize> = at.state.carriers.iter().map(|_| 0).collect();
    let mut nth = |carrier: CarrierId| {
        count[carrier] += 1;
        count[carrier] - 1
    };
    let mut runs: Vec<Run> = legs.iter().map(|leg| made(at, leg, nth(leg.carrier))).collect();
    for call in calls {
        runs.extend(planned(at, call).map(|run| Run { nth: nth(run.carrier), ..run }));
    }
    runs.sort_by_key(|r| r.start);
    runs
}

fn made(at: At<'_>, leg: &Leg, nth: usize) -> Run {
    let phases = model(at.line, leg, at.state.book.carriers[leg.carrier].recipe);
    // People are faster and slower than the model: its parts are stretched to what it took.
    let (takes, took) = ((phases.to_down() - phases.hook).0.max(1), (leg.down - leg.lifted).0);
    let after = |part: Dur| leg.lifted + Dur(part.0 * took / takes);
    let leave = after(phases.raise + phases.drip);
    Run {
        carrier: leg.carrier,
        nth,
        hoist: leg.hoist,
        from: leg.from,
        to: leg.to,
        visit: leg.visit,
        when: When::Past,
        start: leg.lifted - phases.hook,
        lift: leg.lifted,
        leave,
        arrive: after(phases.raise + phases.drip + phases.travel).max(leave),
        down: leg.down,
        end: (leg.down + phases.unhook).min(at.now.max(leg.down)),
        lift_by: None,
        slack: None,
        critical: false,
        guess: false,
        reason: String::new(),
    }
}

fn model(line: &Line, leg: &Leg, recipe: crate::ids::RecipeId) -> Phases {
    let drip = line.drip(recipe, leg.leaves);
    line.phases(leg.hoist, leg.from, leg.to, drip, true, true).unwrap_or_default()
}

fn planned(at: At<'_>, call: &Call) -> Option<Run> {
    let mv = &call.mv;
    let phases = mv.phases(at.line, &at.state.book)?;
    let hangs = match at.state.carriers[mv.carrier].place {
        Place::OnHook { from, leaves, lifted, .. } if (from, leaves) == (mv.from, mv.leaves) => Some(lifted),
        _ => None,
    };
    let lift = hangs.unwrap_or(mv.start + phases.to_lift());
    let down = (mv.start + phases.to_down()).max(hangs.map_or(Time::PAST, |_| at.now));
    let leave = lift + phases.raise + phases.drip;
    let lift_by = call.latest_start.filter(|_| hangs.is_none()).map(|t| t + phases.to_lift());
    Some(Run {
        carrier: mv.carrier,
        nth: 0,
        hoist: mv.hoist,
        from: mv.from,
        to: mv.to,
        visit: mv.visit,
        when: if hangs.is_some() { When::UnderWay } else { When::Planned },
        start: lift - phases.hook,
        lift,
        leave,
        arrive: (down - phases.lower - phases.settle).max(leave),
        down,
        end: down + phases.unhook,
        lift_by,
        slack: lift_by.map(|t| t - lift.max(at.now)),
        critical: call.critical,
        guess: call.guess,
        reason: reason(at, call),
    })
}

/// True if what the plan has a carrier do until then rests on the return of a tank that nobody knows.
pub(super) fn rests_on_a_guess(at: At<'_>, carrier: CarrierId, until: Time) -> bool {
    let ahead = at.state.plan.iter().flat_map(|plan| plan.of(carrier));
    let mut ahead = ahead.filter(|m| (at.now..=until).contains(&m.start));
    ahead.any(|m| at.state.tanks[m.to].lost.is_some())
}

/// When the plan has put a carrier down at the end of its way; `None` if it does not.
pub(super) fn finish(at: At<'_>, carrier: CarrierId) -> Option<Time> {
    if let Place::Finished { at, .. } = at.state.carriers[carrier].place {
        return Some(at);
    }
    let last = at.state.plan.as_ref()?.of(carrier).last()?;
    let down = last.start + last.phases(at.line, &at.state.book)?.to_down();
    (last.visit == Visit::Unload).then_some(down)
}
