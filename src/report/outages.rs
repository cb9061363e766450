//! When tanks could not be used: out of service, or in quarantine.

use super::Source;
use crate::ids::{CarrierId, TankId};
use crate::shift::{Change, Event, Place, Stay, counting};
use crate::units::Time;

/// Why a tank could not be used.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Kind {
    Service,
    Quarantine,
}

impl Kind {
    pub(super) fn words(self) -> &'static str {
        match self {
            Self::Service => "out of service",
            Self::Quarantine => "in quarantine",
        }
    }
}

/// From one instant until just before the other, [`Time::FAR`] while nobody knows; of a tank that is out it may be to come.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Outage {
    pub(super) tank: TankId,
    pub(super) kind: Kind,
    pub(super) from: Time,
    pub(super) to: Time,
}

impl Outage {
    pub(super) fn covers(&self, t: Time) -> bool {
        self.from <= t && t < self.to
    }

    /// The part of an immersion that lies in it, if any.
    pub(super) fn part_of(&self, stay: &Stay) -> Option<(Time, Time)> {
        let (from, to) = (self.from.max(stay.from), self.to.min(stay.to));
        (self.tank == stay.tank && from < to).then_some((from, to))
    }
}

/// Who was in the tank during an outage, by name.
pub(super) fn caught(source: &Source<'_>, outage: &Outage) -> Vec<String> {
    let state = source.state();
    let was_in = |id: &CarrierId| {
        let here = match state.carriers[*id].place {
            Place::InTank { tank, .. } => {
                (tank == outage.tank).then(|| state.carriers[*id].put_down()).flatten()
            }
            _ => None,
        };
        state.all_stays(*id).any(|(_, stay)| outage.part_of(stay).is_some())
            || here.is_some_and(|since| since < outage.to && outage.from < source.now)
    };
    let ids = state.carriers.ids().filter(was_in);
    ids.map(|id| state.book.carriers[id].name.clone()).collect()
}

/// When a tank could be used again, and who was in it.
pub(super) fn over(source: &Source<'_>, outage: &Outage) -> String {
    let loads = caught(source, outage);
    let with = if loads.is_empty() { String::new() } else { format!("; with {} in it", loads.join(", ")) };
    let ends = match outage.to {
        t if t <= source.now => format!("for {}, until {}", t - outage.from, source.clock(t)),
        t if t < Time::FAR => format!("until {}", source.clock(t)),
        _ => format!("still {}", outage.kind.words()),
    };
    ends + &with
}

/// All of a shift, as they began. While a tank is out, a word about it only says anew for how long.
pub(super) fn outages(source: &Source<'_>) -> Vec<Outage> {
    let mut all: Vec<Outage> = Vec::new();
    for (stamped, at) in counting(source.history.events()) {
        let (tank, kind, to) = match &stamped.event {
            Event::TankOut { tank, until, .. } => (*tank, Kind::Service, *until),
            Event::TankBack { tank } => (*tank, Kind::Service, at),
            Event::Changed { change: Change::Quarantine { tank }, .. } => {
                (*tank, Kind::Quarantine, Time::FAR)
            }
            Event::Changed { change: Change::Free { tank }, .. } => (*tank, Kind::Quarantine, at),
            _ => continue,
        };
        match all.iter_mut().find(|o| o.tank == tank && o.kind == kind && o.covers(at)) {
            Some(outage) => outage.to = to,
            None if to > at => all.push(Outage { tank, kind, from: at, to }),
            None => {}
        }
    }
    all
}
