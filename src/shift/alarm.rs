//! Which alarm conditions are true at an instant, and what has changed against the alarms that stand.
//!
//! One alarm per carrier and visit, escalating in place. It is raised from the latest safe start of the move that
//! answers it, not from the clock alone, and only if no planned move covers it; that a load was lifted too soon, at once. Allowances and the grace before
//! "reached" are common practice, no source.

use super::event::Event;
use super::state::{AlarmKey, AlarmKind, AlarmLevel, Place, State};
use super::stop_alarm;
use crate::ids::{CarrierId, HoistId, TankId};
use crate::line::{Harm, Line, Step, Visit};
use crate::units::{Dur, Time};

/// How long before the latest safe start a person is told. Common practice: 10 to 20 s.
pub const REACTION: Dur = Dur::from_secs(15);

/// How long before the end of its time at a bench somebody is told: it is done by hand, and people have to walk there.
/// Common practice, no source.
pub const BENCH_NOTICE: Dur = Dur::from_mins(1);

/// How much an uncovered move must gain before a "due" alarm clears, so that it does not chatter. Common practice.
pub const CLEAR_MARGIN: Dur = Dur::from_secs(15);

/// One alarm condition that is true now.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Condition {
    /// Which alarm it is.
    pub key: AlarmKey,
    /// How far it has gone.
    pub level: AlarmLevel,
    /// When the window ends or ended.
    pub deadline: Time,
}

/// Alarm priorities, highest first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Priority {
    /// Sound allowed.
    High,
    /// Must be answered soon.
    Medium,
    /// Must be answered.
    Low,
}

/// Priority from harm and the time left until the window ends; `None` means status only, not an alarm.
/// The grid is common practice after ISA-18.2 rationalisation, from memory.
pub fn priority(harm: Harm, left: Dur) -> Option<Priority> {
    let urgent = left < Dur::from_secs(30);
    let soon = left <= Dur::from_mins(3);
    match harm {
        Harm::Scrap if soon => Some(Priority::High),
        Harm::Scrap => Some(Priority::Medium),
        Harm::Rework if urgent => Some(Priority::High),
        Harm::Rework if soon => Some(Priority::Medium),
        Harm::Shade if urgent => Some(Priority::Medium),
        Harm::Rework | Harm::Shade => Some(Priority::Low),
        Harm::Nuisance if urgent => Some(Priority::Low),
        Harm::Nuisance => None,
    }
}

/// What an alarm threatens.
pub fn harm(line: &Line, state: &State, key: AlarmKey) -> Harm {
    let line = state.line(line);
    let recipe = state.book.carriers[key.carrier].recipe;
    match key.kind {
        AlarmKind::Dwell => line.harm_over(recipe, key.visit),
        AlarmKind::Air => line.wet_step(recipe, key.visit).map_or(Harm::Nuisance, |s| s.air),
        // No sheet says it. Colour is what benches are mostly for.
        AlarmKind::Bench => Harm::Shade,
        AlarmKind::Short => line.wet_step(recipe, key.visit).map_or(Harm::Nuisance, |s| s.under),
    }
}

/// When the window of an alarm's subject ends, if the carrier is still where the alarm arose.
pub fn deadline(line: &Line, state: &State, key: AlarmKey) -> Option<Time> {
    let line = state.line(line);
    let recipe = state.book.carriers[key.carrier].recipe;
    match (key.kind, state.carriers[key.carrier].place) {
        (AlarmKind::Dwell, Place::InTank { visit, since, .. }) if visit == key.visit => {
            let (_, max) = line.window(recipe, visit);
            (!max.is_unlimited()).then_some(since + max)
        }
        (AlarmKind::Air, Place::OnHook { hoist, leaves, lifted, .. }) if leaves == key.visit => {
            air_deadline(line, state, key.carrier, hoist, leaves, lifted)
        }
        (AlarmKind::Bench, Place::OffLine) => {
            let lent = state.standing.lent.get(&key.carrier)?;
            let here = Visit::Step(lent.bench.resume) == key.visit;
            (here && !lent.bench.max.is_unlimited()).then_some(lent.since + lent.bench.max)
        }
        // It was broken when the load was lifted.
        (AlarmKind::Short, _) => {
            left_too_soon(line, state, key.carrier).filter(|short| short.visit == key.visit).map(|s| s.left)
        }
        _ => None,
    }
}

/// A dwell that was ended before its shortest.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Short {
    /// What for.
    pub visit: Visit,
    /// Where.
    pub tank: TankId,
    /// How long it was, with what it had before it was put back.
    pub dwell: Dur,
    /// How long it has to be.
    pub min: Dur,
    /// When the load was lifted.
    pub left: Time,
    /// It hangs still: what is put back goes on with its dwell.
    pub hangs: bool,
}

/// The dwell that a carrier has just left, if it was too short: from the lift until the tank after it is left.
pub fn left_too_soon(line: &Line, state: &State, carrier: CarrierId) -> Option<Short> {
    let line = state.line(line);
    let c = &state.carriers[carrier];
    let last = c.stays.last()?;
    let hangs = match c.place {
        // A claim that it hangs says nothing about the dwell before.
        Place::OnHook { leaves, lifted, .. } if (leaves, lifted) == (last.visit, last.to) => true,
        Place::InTank { visit, .. } if visit != last.visit => false,
        _ => return None,
    };
    let Step { min, .. } = *step_of(line, state, carrier, last.visit)?;
    let (visit, tank, left) = (last.visit, last.tank, last.to);
    let dwell = c.dwelled(visit);
    (dwell < min).then_some(Short { visit, tank, dwell, min, left, hangs })
}

/// The step a visit is for, if its recipe has it.
fn step_of<'a>(line: &'a Line, state: &State, carrier: CarrierId, visit: Visit) -> Option<&'a Step> {
    match visit {
        Visit::Step(_) => line.wet_step(state.book.carriers[carrier].recipe, visit),
        _ => None,
    }
}

/// When a load that hangs must begin to go down to keep its air limit.
pub fn lower_by(line: &Line, state: &State, carrier: CarrierId) -> Option<Time> {
    let Place::OnHook { hoist, leaves, .. } = state.carriers[carrier].place else { return None };
    let down = deadline(line, state, AlarmKey { carrier, visit: leaves, kind: AlarmKind::Air })?;
    Some(down - line.hoists[hoist].raise_lower().1)
}

fn air_deadline(
    line: &Line,
    state: &State,
    carrier: CarrierId,
    hoist: HoistId,
    leaves: Visit,
    lifted: Time,
) -> Option<Time> {
    let air_max = line.air_max(state.book.carriers[carrier].recipe, leaves);
    let (raise, lower) = line.hoists[hoist].raise_lower();
    // The confirmation comes when the load is down, so the lower counts as allowed time here.
    (!air_max.is_unlimited()).then(|| lifted + raise + air_max + lower)
}

/// All conditions true at `now`, by carrier.
pub fn conditions(line: &Line, state: &State, now: Time) -> Vec<Condition> {
    let line = state.line(line);
    let of = |carrier| {
        let short = too_short(line, state, carrier);
        short.into_iter().chain(condition(line, state, carrier, now))
    };
    state.carriers.ids().flat_map(of).collect()
}

/// A load that was lifted too soon. It may be put back while it hangs; after that its harm must be assumed.
fn too_short(line: &Line, state: &State, carrier: CarrierId) -> Option<Condition> {
    let short = left_too_soon(line, state, carrier)?;
    let key = AlarmKey { carrier, visit: short.visit, kind: AlarmKind::Short };
    let level = if short.hangs { AlarmLevel::Over } else { AlarmLevel::Reached };
    Some(Condition { key, level, deadline: short.left })
}

fn condition(line: &Line, state: &State, carrier: CarrierId, now: Time) -> Option<Condition> {
    match state.carriers[carrier].place {
        Place::InTank { tank, visit, .. } => {
            let key = AlarmKey { carrier, visit, kind: AlarmKind::Dwell };
            let deadline = deadline(line, state, key)?;
            let level = dwell_level(line, state, carrier, tank, visit, deadline, now)?;
            let known = harm(line, state, key) != Harm::Nuisance || level > AlarmLevel::Due;
            known.then_some(Condition { key, level, deadline })
        }
        Place::OnHook { leaves, .. } => {
            let key = AlarmKey { carrier, visit: leaves, kind: AlarmKind::Air };
            let deadline = deadline(line, state, key)?;
            let over = now - deadline;
            let level = match over {
                o if o <= Dur::ZERO => return None,
                o if o < Dur::from_secs(30) => AlarmLevel::Over,
                _ => AlarmLevel::Reached,
            };
            Some(Condition { key, level, deadline })
        }
        Place::OffLine => at_bench(line, state, carrier, now),
        _ => None,
    }
}

/// A carrier at a bench whose time there is nearly or quite over. No crane has to come, and no plan covers it.
fn at_bench(line: &Line, state: &State, carrier: CarrierId, now: Time) -> Option<Condition> {
    let lent = state.standing.lent.get(&carrier)?;
    let key = AlarmKey { carrier, visit: Visit::Step(lent.bench.resume), kind: AlarmKind::Bench };
    let deadline = deadline(line, state, key)?;
    let level = match now - deadline {
        over if over > grace(lent.bench.max) => AlarmLevel::Reached,
        over if over > Dur::ZERO => AlarmLevel::Over,
        // A short time is told when half of it is left.
        over if -over <= BENCH_NOTICE.min(Dur(lent.bench.max.0 / 2)) => AlarmLevel::Due,
        _ => return None,
    };
    Some(Condition { key, level, deadline })
}

fn dwell_level(
    line: &Line,
    state: &State,
    carrier: CarrierId,
    tank: TankId,
    visit: Visit,
    deadline: Time,
    now: Time,
) -> Option<AlarmLevel> {
    if now > deadline {
        let lost = is_lost(line, state, carrier, now);
        return Some(if lost { AlarmLevel::Reached } else { AlarmLevel::Over });
    }
    let planned = planned_lift(line, state, carrier, visit);
    let answered = planned.is_none_or(|(hoist, _)| !is_unanswered(state, hoist, now));
    let margin = if state.alarms.contains_key(&AlarmKey { carrier, visit, kind: AlarmKind::Dwell }) {
        CLEAR_MARGIN
    } else {
        Dur::ZERO
    };
    // Covered: a planned move that is not itself late lifts the carrier inside its window, and people do what is called.
    let covered = answered && planned.is_some_and(|(_, lift)| lift >= now && lift + margin <= deadline);
    let due = now + REACTION >= latest_safe_start(line, state, tank, deadline)?;
    (due && !covered).then_some(AlarmLevel::Due)
}

/// The longest [`grace`] there is.
pub(crate) const LONGEST_GRACE: Dur = Dur::from_mins(5);

/// How long after the end of a window its consequence must be assumed: a quarter of the longest dwell, between half a
/// minute and five. Common practice, no source.
pub(crate) fn grace(max: Dur) -> Dur {
    Dur(max.0 / 4).clamp(Dur::from_secs(30), LONGEST_GRACE)
}

/// True if the consequence of an overrun must be assumed, so that more seconds make it no worse.
pub(crate) fn is_lost(line: &Line, state: &State, carrier: CarrierId, now: Time) -> bool {
    let Place::InTank { visit, since, .. } = state.carriers[carrier].place else { return false };
    let (_, max) = line.window(state.book.carriers[carrier].recipe, visit);
    is_past_grace(max, now - since)
}

/// The same for a longest dwell and the dwell there was.
pub(crate) fn is_past_grace(max: Dur, dwelled: Dur) -> bool {
    !max.is_unlimited() && dwelled > max + grace(max)
}

/// The start of the raise in the plan, if the plan takes the carrier out of this visit. Moves made already may still be
/// in it.
fn planned_lift(line: &Line, state: &State, carrier: CarrierId, visit: Visit) -> Option<(HoistId, Time)> {
    let mv = state.plan.as_ref()?.of(carrier).find(|m| m.leaves == visit)?;
    Some((mv.hoist, mv.start + mv.phases(line, &state.book)?.to_lift()))
}

/// True if a hoist hangs free though its next pick has been due for longer than it takes to answer: plans go on as if it
/// were made at once, however often that has not come true.
fn is_unanswered(state: &State, hoist: HoistId, now: Time) -> bool {
    let Some(due) = state.due.get(&hoist).filter(|_| state.hoists[hoist].carrier.is_none()) else {
        return false;
    };
    let waits = match state.carriers[due.pick.carrier].place {
        Place::Queued => due.pick.leaves == Visit::Load,
        Place::InTank { tank, visit, .. } => (tank, visit) == (due.pick.from, due.pick.leaves),
        _ => false,
    };
    waits && now - due.at > REACTION
}

/// The last instant at which a hoist that is free now can set out and still lift by the deadline: the deadline less
/// empty travel and hook, for the best hoist. `None` if no hoist reaches the tank.
pub fn latest_safe_start(line: &Line, state: &State, tank: TankId, deadline: Time) -> Option<Time> {
    let line = state.line(line);
    line.hoists
        .iter()
        .filter_map(|(id, hoist)| {
            let travel = line.empty_travel(id, state.hoists[id].at, tank)?;
            Some(deadline - travel - hoist.hook)
        })
        .max()
}

/// The alarm events that bring the standing alarms in line with the conditions at `now`.
pub fn changes(line: &Line, state: &State, now: Time) -> Vec<Event> {
    let conditions = conditions(line, state, now);
    let (mut events, mut raised) = (Vec::new(), Vec::new());
    for c in &conditions {
        match state.alarms.get(&c.key) {
            Some(alarm) if alarm.active && c.level > alarm.level => {
                events.push(Event::AlarmEscalated { key: c.key, level: c.level });
            }
            Some(alarm) if alarm.active => {}
            _ => {
                events.push(Event::AlarmRaised { key: c.key, level: c.level });
                raised.push(c.key);
            }
        }
    }
    for (key, alarm) in &state.alarms {
        // Once a window is broken the alarm stands until the carrier has left.
        let stands = conditions.iter().any(|c| c.key == *key);
        if alarm.active && !stands {
            events.push(Event::AlarmCleared { key: *key });
        }
        // The shelf ends with its time, and with the step it was granted for.
        if let Some((until, _)) = &alarm.shelved
            && (*until <= now || deadline(line, state, *key).is_none())
        {
            events.push(Event::AlarmUnshelved { key: *key });
        }
    }
    events.extend(stop_alarm::changes(line, state, &conditions, &raised, now));
    events
}
