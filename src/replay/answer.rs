//! What an event answers: the call of its hoist.

use crate::plan::remaining;
use crate::schedule::Move;
use crate::shift::{Event, State};

/// For a lift or a lower: the move its hoist was called to make next, by the plan in force before it. The outer `None` is
/// for other events, and where there was no plan; the inner one where nothing was called.
pub fn called(before: &State, event: &Event) -> Option<Option<Move>> {
    let hoist = match event {
        Event::Lifted { hoist, .. } | Event::Lowered { hoist, .. } => *hoist,
        _ => return None,
    };
    let plan = remaining(before, before.plan.as_ref()?);
    Some(plan.moves.iter().find(|m| m.hoist == hoist).copied())
}

/// True if a lift or a lower was what the move asked for, whenever it was done.
pub fn follows(call: &Move, event: &Event) -> bool {
    match *event {
        Event::Lifted { carrier, hoist, from } => {
            (call.carrier, call.hoist, call.from) == (carrier, hoist, from)
        }
        Event::Lowered { carrier, hoist, to, .. } => {
            (call.carrier, call.hoist, call.to) == (carrier, hoist, to)
        }
        _ => false,
    }
}
