//! What differs between two prospects, for people: who pays.

use super::Prospect;
use crate::ids::{CarrierId, OrderId};
use crate::line::Line;
use crate::schedule::{Move, Schedule};
use crate::shift::{Place, State};
use crate::units::{Dur, Time};
use crate::verify::Breach;

/// A shift of a finish that nobody minds.
const SAME: Dur = Dur::from_secs(30);

/// One difference that a change makes.
#[derive(Debug, Clone, PartialEq)]
pub enum Effect {
    /// A window breaks that did not, or breaks by more.
    Breaks(Breach),
    /// A window that was to break is kept.
    Keeps(Breach),
    /// The last carrier of an order is finished at another time; `None` if the plan does not finish it.
    Finish {
        /// The order.
        order: OrderId,
        /// As it is.
        before: Option<Time>,
        /// With the change.
        after: Option<Time>,
    },
    /// The next call is another one.
    Call {
        /// As it is.
        before: Option<Move>,
        /// With the change.
        after: Option<Move>,
    },
}

/// All differences: broken windows first, then the next call, then finishes, those that lose most first.
pub fn effects(line: &Line, before: &Prospect, after: &Prospect) -> Vec<Effect> {
    let new = |b: &&Breach| before.breaches.iter().all(|a| !a.is_of_same(b) || b.is_worse_than(a, Dur::ZERO));
    let gone = |a: &&Breach| after.breaches.iter().all(|b| !a.is_of_same(b));
    let mut effects: Vec<Effect> = after.breaches.iter().filter(new).cloned().map(Effect::Breaks).collect();
    effects.extend(before.breaches.iter().filter(gone).cloned().map(Effect::Keeps));
    let (was, is) = (before.schedule.moves.first().copied(), after.schedule.moves.first().copied());
    if was.map(unhurried) != is.map(unhurried) {
        effects.push(Effect::Call { before: was, after: is });
    }
    let mut finishes: Vec<(Dur, Effect)> = after
        .state
        .book
        .orders
        .ids()
        .map(|order| (order, finish(line, before, order), finish(line, after, order)))
        .filter(|(_, b, a)| match (b, a) {
            (Some(b), Some(a)) => (*a - *b).0.abs() > SAME.0,
            (b, a) => b.is_some() != a.is_some(),
        })
        .map(|(order, before, after)| {
            let loses = after.unwrap_or(Time::FAR) - before.unwrap_or(Time::FAR);
            (loses, Effect::Finish { order, before, after })
        })
        .collect();
    finishes.sort_by_key(|(loses, _)| -loses.0);
    effects.extend(finishes.into_iter().map(|(_, e)| e));
    effects
}

/// The move, whenever it starts.
/// True if two moves are the same call, whenever they start.
pub fn is_same_call(one: &Move, other: &Move) -> bool {
    unhurried(*one) == unhurried(*other)
}

fn unhurried(m: Move) -> Move {
    Move { start: Time::ZERO, ..m }
}

/// When the last carrier of an order is down at an unload station; `None` if the order is not known or one of its carriers
/// is not brought there.
pub fn finish(line: &Line, prospect: &Prospect, order: OrderId) -> Option<Time> {
    let carriers = prospect.state.book.carriers.iter().filter(|(_, c)| c.order == order);
    let ends: Option<Vec<Time>> = carriers
        .filter(|(id, _)| !matches!(prospect.state.carriers[*id].place, Place::OffLine))
        .map(|(id, _)| end(line, prospect, id))
        .collect();
    ends?.into_iter().max()
}

fn end(line: &Line, prospect: &Prospect, carrier: CarrierId) -> Option<Time> {
    end_in(prospect.state.line(line), &prospect.state, &prospect.schedule, carrier)
}

/// When a carrier is, or by the schedule will be, down at an unload station; `line` is the one that changes have made.
pub(super) fn end_in(line: &Line, state: &State, schedule: &Schedule, carrier: CarrierId) -> Option<Time> {
    if let Place::Finished { at, .. } = state.carriers[carrier].place {
        return Some(at);
    }
    let last = schedule.of(carrier).last()?;
    if last.visit != crate::line::Visit::Unload {
        return None;
    }
    Some(last.start + last.phases(line, &state.book)?.to_down())
}
