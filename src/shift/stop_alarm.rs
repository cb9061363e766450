//! The alarm of a stopped hoist: one parent with the loads it puts at risk; their own alarms wait under it.
//!
//! ISA-18.2 calls that suppressed by design (from memory): a flood of alarms with one cause is told once, and nothing of it
//! is lost. Every load is in the parent's list with its own harm and deadline, whether its own alarm has been raised or not.

use super::alarm::{self, Condition};
use super::event::{Event, StopStep};
use super::state::{AlarmKey, AlarmKind, AlarmLevel, Place, State};
use crate::ids::{CarrierId, HoistId};
use crate::line::{Harm, Line};
use crate::units::Time;

/// A load that a stopped hoist puts at risk.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Risk {
    /// The alarm it has or is going to have.
    pub key: AlarmKey,
    /// What is at risk.
    pub harm: Harm,
    /// When its window ends.
    pub deadline: Time,
    /// When the plan in force lifts it, if it does.
    pub lift: Option<Time>,
}

/// The loads a stopped hoist puts at risk, the first deadline first: those whose window ends before the plan in force lifts
/// them, if no other hoist could, and what hangs on it in air. None for a hoist that runs.
pub fn at_risk(line: &Line, state: &State, hoist: HoistId, now: Time) -> Vec<Risk> {
    let line = state.line(line);
    if state.standing.stop(hoist, now).is_none() {
        return Vec::new();
    }
    let mut found: Vec<Risk> =
        state.carriers.ids().filter_map(|c| risk(line, state, hoist, c, now)).collect();
    found.sort_by_key(|r| (r.deadline, r.key));
    found
}

fn risk(line: &Line, state: &State, hoist: HoistId, carrier: CarrierId, now: Time) -> Option<Risk> {
    let (key, lift) = match state.carriers[carrier].place {
        Place::InTank { tank, visit, hooked, .. } => {
            let next = state.plan.as_ref().and_then(|p| p.of(carrier).find(|m| m.leaves == visit));
            let others = line.hoists.ids().filter(|h| state.standing.stop(*h, now).is_none());
            let alone = others.filter(|h| line.reaches(*h, tank)).count() == 0;
            let caused = alone || hooked == Some(hoist) || next.is_some_and(|m| m.hoist == hoist);
            let lift = next.and_then(|m| Some(m.start + m.phases(line, &state.book)?.to_lift()));
            caused.then_some((AlarmKey { carrier, visit, kind: AlarmKind::Dwell }, lift))?
        }
        Place::OnHook { hoist: on, leaves, .. } if on == hoist => {
            (AlarmKey { carrier, visit: leaves, kind: AlarmKind::Air }, None)
        }
        _ => return None,
    };
    let deadline = alarm::deadline(line, state, key)?;
    let harm = alarm::harm(line, state, key);
    lift.is_none_or(|t| t > deadline).then_some(Risk { key, harm, deadline, lift })
}

/// The events that bring the alarms of stopped hoists, and what waits under them, in line with what is so. `conditions`
/// are true now; `raised` are alarms that are being raised.
pub(super) fn changes(
    line: &Line,
    state: &State,
    conditions: &[Condition],
    raised: &[AlarmKey],
    now: Time,
) -> Vec<Event> {
    let mut events = Vec::new();
    let mut under: Vec<(AlarmKey, HoistId)> = Vec::new();
    for hoist in line.hoists.ids() {
        let risks = at_risk(line, state, hoist, now);
        let level = risks
            .iter()
            .map(|r| conditions.iter().find(|c| c.key == r.key).map_or(AlarmLevel::Due, |c| c.level));
        let step = match (level.max(), state.stop_alarms.get(&hoist).filter(|a| a.active)) {
            (Some(level), None) => Some(StopStep::Raised(level)),
            (Some(level), Some(alarm)) if level > alarm.level => Some(StopStep::Escalated(level)),
            (None, Some(_)) => Some(StopStep::Cleared),
            _ => None,
        };
        events.extend(step.map(|step| Event::StopAlarm { hoist, step }));
        under.extend(risks.iter().map(|r| (r.key, hoist)));
    }
    for (key, hoist) in &under {
        let stands =
            state.alarms.get(key).is_some_and(|a| a.active && a.under.is_none() && a.shelved.is_none());
        if raised.contains(key) || stands {
            events.push(Event::AlarmSuppressed { key: *key, hoist: *hoist });
        }
    }
    for (key, alarm) in &state.alarms {
        let waits = under.iter().any(|(k, h)| k == key && alarm.under == Some(*h));
        if alarm.under.is_some() && !waits {
            events.push(Event::AlarmUnsuppressed { key: *key });
        }
    }
    events
}
