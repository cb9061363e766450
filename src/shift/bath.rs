//! Baths against their limits: which one is not fit for a load now, since when, and what is due to be measured.
//!
//! 1. The last reading of a quantity outside its limits shuts the bath; the next one inside opens it.
//! 2. A bath made up anew is shut until each quantity with limits was measured since: nobody knows the new one yet.
//! 3. A reading that is overdue shuts it too, if the line file says so.

use super::state::State;
use crate::ids::TankId;
use crate::line::{Limit, Line, Quantity};
use crate::units::Time;

/// Why a bath is not fit for a load.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Unfit {
    /// What was or was not measured.
    pub quantity: Quantity,
    /// What is wrong.
    pub fault: Fault,
    /// Since when: the first reading outside, when the bath was made up anew, or when the reading was due.
    pub since: Time,
}

/// What is wrong with a bath.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Fault {
    /// It was below its limit.
    Low(f64),
    /// It was above its limit.
    High(f64),
    /// Nobody has measured it since it was made up anew.
    New,
    /// Nobody has measured it in time.
    Overdue,
}

/// One limit of a bath with what is known about it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Check {
    /// The limit.
    pub limit: Limit,
    /// The last reading and when it was taken.
    pub last: Option<(Time, f64)>,
    /// When the next one is due.
    pub due: Option<Time>,
    /// What is wrong now, whether or not it keeps loads out.
    pub unfit: Option<Unfit>,
}

impl Check {
    /// True if no load is to go in because of it.
    pub fn stops(&self) -> bool {
        match self.unfit.map(|u| u.fault) {
            None => false,
            Some(Fault::Overdue) => self.limit.overdue_stops,
            Some(Fault::Low(_) | Fault::High(_) | Fault::New) => true,
        }
    }
}

/// Every limit of a bath, as the line file has them.
pub fn checks(line: &Line, state: &State, tank: TankId, now: Time) -> Vec<Check> {
    let t = &line.tanks[tank];
    t.limits.iter().map(|limit| check(state, tank, *limit, Time::ZERO + t.ready_after, now)).collect()
}

/// Why no load is to go into a bath now; `None` if it is fit.
pub fn unfit(line: &Line, state: &State, tank: TankId, now: Time) -> Option<Unfit> {
    let stopping = |check: &Check| check.stops();
    checks(line, state, tank, now).into_iter().find(stopping).and_then(|c| c.unfit)
}

/// The next instant after `now` at which a bath shuts because nobody has measured it.
pub fn shuts_next(line: &Line, state: &State, now: Time) -> Option<Time> {
    let stops = |c: &Check| c.limit.overdue_stops;
    let dues = line.tanks.iter().filter(|(_, t)| !t.limits.is_empty()).flat_map(|(id, _)| {
        checks(line, state, id, now).into_iter().filter(stops).filter_map(|c| c.due).collect::<Vec<_>>()
    });
    dues.filter(|due| *due > now).min()
}

fn check(state: &State, tank: TankId, limit: Limit, ready: Time, now: Time) -> Check {
    let read: Vec<(Time, f64)> = (state.ledger.readings(tank).into_iter())
        .filter(|(_, reading)| reading.quantity == limit.quantity)
        .map(|(at, reading)| (at, reading.value))
        .collect();
    let last = read.last().copied();
    let unmeasured = state.ledger.changed(tank).filter(|_| last.is_none());
    let due = unmeasured.or(limit.every.map(|every| last.map_or(ready, |(at, _)| at.max(ready)) + every));
    let wrong = |value: f64| {
        let low = limit.least.is_some_and(|least| value < least);
        let high = limit.most.is_some_and(|most| value > most);
        if low { Some(Fault::Low(value)) } else { high.then_some(Fault::High(value)) }
    };
    let unfit = |fault, since| Unfit { quantity: limit.quantity, fault, since };
    let outside = last.and_then(|(_, value)| wrong(value)).map(|fault| {
        let run = read.iter().rev().take_while(|(_, v)| wrong(*v).is_some());
        unfit(fault, run.last().map_or(now, |(at, _)| *at))
    });
    let new = unmeasured.map(|changed| unfit(Fault::New, changed));
    let overdue = due.filter(|due| *due <= now).map(|due| unfit(Fault::Overdue, due));
    Check { limit, last, due, unfit: outside.or(new).or(overdue) }
}
