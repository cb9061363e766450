//! What a shift came to: counts and breaches, for people and for comparison.

use std::collections::BTreeMap;

use crate::line::{Harm, Line, Visit};
use crate::shift::{AlarmKey, Event, History, Place, counting};
use crate::units::{Dur, Time};
use crate::verify::{Breach, Rule, Tally, happened_by};

/// The figures of a shift so far.
#[derive(Debug, Clone, PartialEq)]
pub struct Outcome {
    /// Length of the shift.
    pub lasted: Dur,
    /// Carriers put down finished.
    pub finished: usize,
    /// Those of them that nothing was broken for.
    pub clean: usize,
    /// Carriers in a tank or on a hook.
    pub on_line: usize,
    /// Carriers still waiting to start.
    pub queued: usize,
    /// Loaded moves that were done.
    pub moves: usize,
    /// Share of the shift in which a load hung on a hoist, per hoist.
    pub hoist_use: f64,
    /// What was broken, also what is broken and still goes on.
    pub breaches: Vec<Breach>,
    /// Carriers that were put into a wrong tank; each is a breach whatever is done then.
    pub strays: usize,
    /// Air time beyond what the sheets allow, summed.
    pub air_excess: Dur,
    /// Alarms raised.
    pub alarms: usize,
    /// Finished later than promised, with the carrier's name and by how much.
    pub late: Vec<(String, Dur)>,
    /// Finished carriers with the time each was put down.
    pub finishes: Vec<(String, Time)>,
}

impl Outcome {
    /// The figures of a history up to `now`.
    pub fn of(line: &Line, history: &History, now: Time) -> Self {
        let state = history.state();
        let mut outcome = Self {
            lasted: now - Time::ZERO,
            finished: 0,
            clean: 0,
            on_line: 0,
            queued: 0,
            moves: 0,
            hoist_use: 0.0,
            breaches: happened_by(line, state, now),
            strays: 0,
            air_excess: Dur::ZERO,
            alarms: 0,
            late: Vec::new(),
            finishes: Vec::new(),
        };
        outcome.air_excess = outcome.breaches.iter().filter(|b| b.rule == Rule::Air).map(|b| b.by).sum();
        for (id, carrier) in state.carriers.iter() {
            // Out of the wrong tank into standby is the same slip.
            let stays = std::iter::once(None).chain(carrier.stays.iter().map(|s| Some(s.visit)));
            let slips =
                stays.zip(&carrier.stays).filter(|(before, s)| is_stray(s.visit) && *before != Some(s.visit));
            outcome.strays += slips.count();
            let spec = &state.book.carriers[id];
            match carrier.place {
                Place::Queued => outcome.queued += 1,
                Place::InTank { .. } | Place::OnHook { .. } => outcome.on_line += 1,
                Place::Finished { at, .. } => {
                    outcome.finished += 1;
                    outcome.clean += usize::from(outcome.breaches.iter().all(|b| b.carrier != spec.name));
                    outcome.finishes.push((spec.name.clone(), at));
                    let late = state.book.orders[spec.order].due.map(|due| at - due);
                    outcome.late.extend(late.filter(|l| *l > Dur::ZERO).map(|l| (spec.name.clone(), l)));
                }
                Place::OffLine => {}
            }
        }
        let mut hanging = BTreeMap::new();
        let mut busy = Dur::ZERO;
        let mut alarms: Vec<AlarmKey> = Vec::new();
        for (stamped, at) in counting(history.events()) {
            match stamped.event {
                Event::Lifted { hoist, .. } => {
                    hanging.insert(hoist, at);
                }
                Event::Lowered { hoist, .. } => {
                    outcome.moves += 1;
                    busy += hanging.remove(&hoist).map_or(Dur::ZERO, |since| at - since);
                }
                Event::AlarmRaised { key, .. } => alarms.push(key),
                _ => {}
            }
        }
        outcome.alarms = alarms.len();
        let hoists = line.hoists.len().max(1) as f64;
        outcome.hoist_use = busy.as_secs_f64() / (outcome.lasted.as_secs_f64() * hoists).max(1.0);
        outcome
    }

    /// Breaches by harm.
    pub fn tally(&self) -> Tally {
        Tally::of(&self.breaches)
    }

    /// True if something worse than a nuisance was broken.
    pub fn spoiled(&self) -> bool {
        self.breaches.iter().any(|b| b.harm != Some(Harm::Nuisance))
    }
}

fn is_stray(visit: Visit) -> bool {
    matches!(visit, Visit::Stray { .. })
}
