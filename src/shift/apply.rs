//! The reducer: folds one event into the state. It cannot refuse, holds no rule and looks at no clock.

use std::collections::{BTreeMap, BTreeSet};

use super::change;
use super::command::Claim;
use super::event::{Event, Stamped, StopStep, Who};
use super::isa::{AlarmState, Transition};
use super::ledger::Entered;
use super::pace;
use super::state::{Alarm, AlarmKey, AlarmLevel, Carrier, Due, Place, State, Stay, TankState};
use crate::ids::{CarrierId, HoistId, Id as _, Seq, TankId};
use crate::line::{Line, OrderBook, Visit};
use crate::schedule::{Move, Schedule};
use crate::units::Time;

/// Folds `stamped` into `state`.
///
/// [`Event::Undone`] and [`Event::Retimed`] only count themselves here; what they mean for earlier events is
/// [`super::effective`]'s business, which [`super::History`] folds again.
pub fn apply(state: &mut State, line: &Line, stamped: &Stamped) {
    let at = stamped.at;
    match &stamped.event {
        Event::Opened { book } => {
            state.carriers =
                book.carriers.iter().map(|_| Carrier { place: Place::Queued, stays: Vec::new() }).collect();
            state.book = book.clone();
        }
        Event::Lifted { carrier, hoist, from } => lifted(state, line, *carrier, *hoist, *from, at),
        Event::Lowered { carrier, hoist, to, visit, release } => {
            let place = if matches!(visit, Visit::Unload) {
                Place::Finished { tank: *to, at }
            } else if matches!(visit, Visit::Load) {
                Place::Queued
            } else {
                let since = at - state.carriers[*carrier].dwelled(*visit);
                Place::InTank { tank: *to, visit: *visit, since, hooked: (!release).then_some(*hoist) }
            };
            state.carriers[*carrier].place = place;
            let h = &mut state.hoists[*hoist];
            h.at = *to;
            h.carrier = (!release).then_some(*carrier);
            h.free_from = if *release { at + line.hoists[*hoist].unhook } else { at };
            if *release {
                h.put_down = Some((*to, at));
            }
        }
        Event::CarrierCorrected { carrier, claim } => corrected(state, line, *carrier, *claim, at),
        Event::HoistCorrected { hoist, at: tank } => {
            state.hoists[*hoist].at = *tank;
            state.hoists[*hoist].free_from = at;
        }
        Event::TankOut { tank, until, .. } => {
            let t = &mut state.tanks[*tank];
            t.from = *until;
            t.lost = (*until >= Time::FAR).then_some(at);
        }
        Event::TankBack { tank } => {
            state.tanks[*tank] = TankState { from: at, until: Time::FAR, lost: None };
        }
        Event::PlanAdopted { plan } => {
            state.plan = Some(fitting(state, line, plan.schedule()));
            state.due = due(state, line, at);
            state.standing.queue_changed = false;
        }
        Event::Changed { change, .. } => change::apply(state, line, change, stamped.seq, at),
        Event::AlarmRaised { key, level } => raise(state, *key, *level, at),
        Event::AlarmEscalated { key, level } => {
            if let Some(alarm) = state.alarms.get_mut(key) {
                alarm.level = *level;
                alarm.state = alarm.state.after(Transition::Realarm);
            }
        }
        Event::AlarmCleared { key } => change(state, *key, |a| {
            a.active = false;
            a.cleared = Some(at);
            Transition::Clear
        }),
        Event::AlarmAcknowledged { key } => change(state, *key, |a| {
            a.acknowledged = Some(at);
            Transition::Acknowledge
        }),
        Event::AlarmShelved { key, until, reason } => change(state, *key, |a| {
            a.shelved = Some((*until, reason.clone()));
            Transition::Shelve
        }),
        Event::AlarmUnshelved { key } => change(state, *key, |a| {
            a.shelved = None;
            Transition::Unshelve(a.active)
        }),
        Event::AlarmSuppressed { key, hoist } => change(state, *key, |a| {
            a.under = Some(*hoist);
            Transition::Suppress
        }),
        Event::AlarmUnsuppressed { key } => change(state, *key, |a| {
            a.under = None;
            Transition::Unsuppress(a.active)
        }),
        Event::StopAlarm { hoist, step } => stop_alarm(state, *hoist, *step, at),
        Event::PaceLearned { pace } => pace::apply(state, line, pace),
        Event::Entered { entry } => state.ledger.entries.push(Entered { at, entry: entry.clone() }),
        Event::Undone { .. } | Event::Retimed { .. } | Event::Noted { .. } => {}
    }
    if stamped.event.is_physical() {
        state.last_physical = Some(stamped.seq);
    }
    state.seq = stamped.seq;
}

impl State {
    /// The state of a shift that has been opened with these orders and nothing else.
    pub fn opened(line: &Line, book: OrderBook) -> Self {
        let mut state = Self::before(line);
        let event = Event::Opened { book };
        let (seq, at, by) = (Seq(1), Time::ZERO, Who::Program);
        apply(&mut state, line, &Stamped { seq, at, entered: at, by, event });
        state
    }
}

/// The schedule without carriers that have other recipes now: the change it was made with was taken back since.
fn fitting(state: &State, line: &Line, mut schedule: Schedule) -> Schedule {
    let line = state.line(line);
    let steps = |carrier: CarrierId| {
        state.book.carriers.get(carrier).map_or(0, |spec| line.recipes[spec.recipe].steps.len())
    };
    let has = |m: &Move, visit: Visit| match visit {
        Visit::Step(n) | Visit::Hold(n) => n.ix() < steps(m.carrier),
        Visit::Stray { resume } => resume.ix() <= steps(m.carrier),
        Visit::Load | Visit::Unload => steps(m.carrier) > 0,
    };
    let strange: BTreeSet<CarrierId> =
        schedule.moves.iter().filter(|m| !has(m, m.leaves) || !has(m, m.visit)).map(|m| m.carrier).collect();
    schedule.moves.retain(|m| !strange.contains(&m.carrier));
    schedule
}

/// The next pick of each hoist by the plan that was put in force at `now`.
fn due(state: &State, line: &Line, now: Time) -> BTreeMap<HoistId, Due> {
    let line = state.line(line);
    let mut due = BTreeMap::new();
    for mv in state.plan.iter().flat_map(|plan| &plan.moves) {
        let hangs = state.hoists[mv.hoist].carrier == Some(mv.carrier) && mv.attach;
        if hangs || due.contains_key(&mv.hoist) {
            continue;
        }
        let Some(phases) = mv.phases(line, &state.book) else { continue };
        let before = state.due.get(&mv.hoist).filter(|due| due.is_of(mv) && due.at <= now);
        let new = Due { pick: *mv, at: mv.start + phases.to_lift() };
        due.insert(mv.hoist, before.copied().unwrap_or(new));
    }
    due
}

fn lifted(state: &mut State, line: &Line, carrier: CarrierId, hoist: HoistId, from: TankId, at: Time) {
    if state.is_parked(line, carrier) {
        state.standing.parked.remove(&carrier);
    }
    let c = &mut state.carriers[carrier];
    let leaves = match c.place {
        Place::InTank { tank, visit, since, .. } => {
            c.stays.push(Stay { tank, visit, from: since + c.dwelled(visit), to: at });
            visit
        }
        _ => Visit::Load,
    };
    c.place = Place::OnHook { hoist, from, leaves, lifted: at };
    let h = &mut state.hoists[hoist];
    h.at = from;
    h.carrier = Some(carrier);
    h.free_from = at;
    // What happened outweighs what was said before.
    state.standing.held.remove(&carrier);
    state.standing.stopped.remove(&hoist);
}

fn corrected(state: &mut State, line: &Line, carrier: CarrierId, claim: Claim, at: Time) {
    if let Some(stay) = ended_by(state, line, carrier, claim, at) {
        state.carriers[carrier].stays.push(stay);
    }
    for id in state.hoists.ids() {
        if state.hoists[id].carrier == Some(carrier) {
            state.hoists[id].carrier = None;
            state.hoists[id].free_from = at;
        }
    }
    // Wherever it is, it is at a bench no longer; and what is not off the line was not cancelled after all.
    let until = match claim {
        Claim::InTank { since, .. } => since,
        Claim::OnHook { lifted, .. } => lifted,
        Claim::Queued | Claim::OffLine | Claim::Finished { .. } => at,
    };
    change::leaves_bench(state, carrier, until);
    if claim != Claim::OffLine {
        state.standing.cancelled.remove(&carrier);
    }
    if !matches!(claim, Claim::Queued | Claim::InTank { .. }) {
        state.standing.held.remove(&carrier);
    }
    if !matches!(claim, Claim::OnHook { .. } | Claim::InTank { .. }) {
        state.standing.parked.remove(&carrier);
    }
    state.carriers[carrier].place = match claim {
        Claim::Queued => Place::Queued,
        Claim::InTank { tank, since, visit } => {
            let c = &mut state.carriers[carrier];
            // What is claimed takes the place of what was believed of the same time.
            while c.stays.last().is_some_and(|s| s.visit == visit && s.to > since) {
                c.stays.pop();
            }
            Place::InTank { tank, visit, since: since - c.dwelled(visit), hooked: None }
        }
        Claim::OnHook { hoist, from, leaves, lifted } => {
            let h = &mut state.hoists[hoist];
            h.at = from;
            h.carrier = Some(carrier);
            h.free_from = lifted;
            Place::OnHook { hoist, from, leaves, lifted }
        }
        Claim::OffLine => Place::OffLine,
        Claim::Finished { tank } => Place::Finished { tank, at },
    };
}

/// The stay a claim ends: the load has gone on from where it was believed to be, and left no later than the quickest way
/// there allows. `None` if it was not there, or what came between is not known.
fn ended_by(state: &State, line: &Line, carrier: CarrierId, claim: Claim, now: Time) -> Option<Stay> {
    let Place::InTank { tank, visit, since, .. } = state.carriers[carrier].place else { return None };
    let line = state.line(line);
    let recipe = state.book.carriers[carrier].recipe;
    let next = line.next_visit(recipe, visit);
    let quickest = |to: TankId| {
        let drip = line.drip(recipe, visit);
        let phases = line.hoists.ids().filter_map(|h| line.phases(h, tank, to, drip, true, true));
        phases.map(|p| p.to_down() - p.to_lift()).min()
    };
    let left = match claim {
        Claim::OnHook { from, leaves, lifted, .. } => ((from, leaves) == (tank, visit)).then_some(lifted)?,
        Claim::InTank { tank: to, visit: now, since: down } => {
            let goes_on =
                Some(now) == next || matches!((visit, now), (Visit::Step(a), Visit::Hold(b)) if a == b);
            goes_on.then(|| quickest(to))?.map(|way| down - way)?
        }
        Claim::Finished { tank: to } => {
            (next == Some(Visit::Unload)).then(|| quickest(to))?.map(|way| now - way)?
        }
        Claim::Queued | Claim::OffLine => return None,
    };
    let from = since + state.carriers[carrier].dwelled(visit);
    (left > from).then_some(Stay { tank, visit, from, to: left })
}

fn stop_alarm(state: &mut State, hoist: HoistId, step: StopStep, at: Time) {
    let alarm = state.stop_alarms.entry(hoist).or_insert_with(|| new_alarm(AlarmLevel::Due, at));
    let transition = match step {
        StopStep::Raised(level) => {
            (alarm.active, alarm.cleared, alarm.level) = (true, None, level);
            Transition::Raise
        }
        StopStep::Escalated(level) => {
            alarm.level = level;
            Transition::Realarm
        }
        StopStep::Cleared => {
            (alarm.active, alarm.cleared) = (false, Some(at));
            Transition::Clear
        }
        StopStep::Acknowledged => {
            alarm.acknowledged = Some(at);
            Transition::Acknowledge
        }
    };
    alarm.state = alarm.state.after(transition);
    if alarm.state == AlarmState::Normal {
        state.stop_alarms.remove(&hoist);
    }
}

fn raise(state: &mut State, key: AlarmKey, level: AlarmLevel, at: Time) {
    let alarm = state.alarms.entry(key).or_insert_with(|| new_alarm(level, at));
    alarm.active = true;
    alarm.level = alarm.level.max(level);
    alarm.cleared = None;
    alarm.state = alarm.state.after(Transition::Raise);
}

fn new_alarm(level: AlarmLevel, at: Time) -> Alarm {
    Alarm {
        state: AlarmState::Normal,
        level,
        raised: at,
        cleared: None,
        acknowledged: None,
        shelved: None,
        under: None,
        active: true,
    }
}

/// Changes a standing alarm and drops it once it is normal again.
fn change(state: &mut State, key: AlarmKey, edit: impl FnOnce(&mut Alarm) -> Transition) {
    if let Some(alarm) = state.alarms.get_mut(&key) {
        let transition = edit(alarm);
        alarm.state = alarm.state.after(transition);
        if alarm.state == AlarmState::Normal {
            state.alarms.remove(&key);
        }
    }
}
