//! What comes to a shift whatever its people do: tanks that fail and come back, cranes that stop, orders that are added.

use super::recording::Recording;
use crate::shift::{Change, Command, Event};
use crate::units::Time;

/// What came after the first `ix` events, with the instant it was said. Whoever takes the shift over there meets it too.
pub fn to_come(recording: &Recording, ix: usize) -> Vec<(Time, Command)> {
    let rest = recording.events().iter().enumerate().skip(ix);
    rest.filter_map(|(n, s)| Some((recording.after(n + 1).at, command(&s.event)?))).collect()
}

fn command(event: &Event) -> Option<Command> {
    Some(match event {
        Event::TankOut { tank, until } => {
            Command::TankOut { tank: *tank, until: (*until < Time::FAR).then_some(*until) }
        }
        Event::TankBack { tank } => Command::TankBack { tank: *tank },
        Event::Changed { change, why } if is_fate(change) => {
            Command::Change { change: change.clone(), why: why.clone() }
        }
        _ => return None,
    })
}

fn is_fate(change: &Change) -> bool {
    matches!(
        change,
        Change::AddOrder { .. }
            | Change::StopHoist { .. }
            | Change::RunHoist { .. }
            | Change::SlowHoist { .. }
    )
}
