//! What comes to a shift whatever its people do: tanks that fail and come back, baths that are measured, cranes that stop,
//! orders that are added, promised otherwise or cancelled.

use std::collections::BTreeSet;

use super::recording::Recording;
use crate::ids::Seq;
use crate::shift::ledger::Entry;
use crate::shift::{Command, Event, Stamped, counting};

/// The places of the events after the first `ix` that came whatever was done. Whoever takes the shift over there meets them
/// too. What was taken back did not come.
pub fn came(recording: &Recording, ix: usize) -> Vec<usize> {
    let events = recording.events();
    let counts: BTreeSet<Seq> = counting(events).into_iter().map(|(s, _)| s.seq).collect();
    let fates = |n: &usize| counts.contains(&events[*n].seq) && fate(&events[*n]).is_some();
    (ix..events.len()).filter(fates).collect()
}

/// What is said when such an event comes to another shift; `None` for what people did or decided.
pub fn fate(stamped: &Stamped) -> Option<Command> {
    let until = |t: &crate::units::Time| Some(*t).filter(|t| *t < crate::units::Time::FAR);
    Some(match &stamped.event {
        Event::TankOut { tank, until: t, why } => {
            Command::TankOut { tank: *tank, until: until(t), why: why.clone() }
        }
        Event::TankBack { tank } => Command::TankBack { tank: *tank },
        Event::Changed { change, why } if change.comes_from_outside() => {
            Command::Change { change: change.clone(), why: why.clone() }
        }
        Event::Entered { entry: entry @ Entry::Bath { .. } } => {
            Command::Enter { entry: entry.clone(), at: stamped.at }
        }
        _ => return None,
    })
}
