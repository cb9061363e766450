//! Was the hoist there in time? Lower bounds only: what people do faster than the model is no fault.

use super::{Fault, Law};
use crate::ids::{HoistId, Id as _, Seq, TankId};
use crate::line::{Line, Travel};
use crate::shift::State;
use crate::units::{Dur, Time};
use crate::verify::figure;
use crate::verify::motion::{empty, stands_over, stroke};

/// By how much a press may be off what it says. From memory of how such keys are used; no source.
const PRESSED_OFF: Dur = Dur::from_secs(15);

/// A hoist that is surely over a tank at an instant.
#[derive(Clone, Copy)]
pub(super) struct Seen {
    pub seq: Seq,
    pub hoist: HoistId,
    pub tank: TankId,
    pub at: Time,
}

/// What a hoist does over a tank.
#[derive(Clone, Copy, PartialEq)]
pub(super) enum Deed {
    Lift,
    Lower,
}

/// The least time from one deed of a hoist to its next: strokes and travel, no drip, no settling, no taking hold.
fn least(line: &Line, hoist: HoistId, was: (TankId, Deed), now: (TankId, Deed)) -> Option<Dur> {
    let (raise, lower) = stroke(line, hoist);
    let travel = match (&line.hoists[hoist].travel, was.1, now.1) {
        // The surveyed figure is raise, travel, settling and lower together.
        (Travel::Table { loaded, .. }, Deed::Lift, Deed::Lower) if was.0 != now.0 => {
            let whole = loaded.get(was.0.ix())?.get(now.0.ix())?.as_ref()?;
            *whole - raise - lower
        }
        _ => empty(line, hoist, was.0, now.0)?,
    };
    Some(match (was.1, now.1) {
        (Deed::Lift, Deed::Lower) => raise + travel + lower,
        _ => travel,
    })
}

/// Judges a deed against the one before of the same hoist.
pub(super) fn judge(line: &Line, was: Option<(Seen, Deed)>, now: (Seen, Deed), found: &mut Vec<Fault>) {
    let (seen, deed) = now;
    let hoist = &line.hoists[seen.hoist].name;
    let tank = &line.tanks[seen.tank].name;
    let mut fault = |text: String| found.push(Fault { seq: seen.seq, law: Law::Motion, text });
    if !stands_over(line, seen.hoist, seen.tank) {
        fault(format!("{hoist} does not reach {tank}"));
        return;
    }
    let Some((before, did)) = was else { return };
    let Some(needs) = least(line, seen.hoist, (before.tank, did), (seen.tank, deed)) else { return };
    let had = seen.at - before.at;
    if had + PRESSED_OFF < needs {
        let from = &line.tanks[before.tank].name;
        fault(format!(
            "{hoist} was over {from} at {} and over {tank} at {}: {} for what takes {} at least",
            before.at,
            seen.at,
            figure(had),
            figure(needs)
        ));
    }
}

/// Hoists keep their order along the rail: where two were seen the wrong way round, there was time to change.
pub(super) fn rail(line: &Line, state: &State, seen: &[Seen], found: &mut Vec<Fault>) {
    if line.hoists.len() < 2 || state.hoists.len() < 2 {
        return;
    }
    for (k, now) in seen.iter().enumerate() {
        // The nearest sighting of each other hoist before this one says most.
        for other in line.hoists.ids().filter(|h| *h != now.hoist) {
            let Some(before) = seen[..k].iter().rev().find(|s| s.hoist == other) else { continue };
            let (low, high) = if other < now.hoist { (before, now) } else { (now, before) };
            let gap = line.rail.gap.0 * (high.hoist.ix() - low.hoist.ix()) as i64;
            let lack = line.tanks[low.tank].position.0 + gap - line.tanks[high.tank].position.0;
            let (Some(a), Some(b)) = (speed(line, low.hoist), speed(line, high.hoist)) else { continue };
            let needs = Dur::from_secs_f64(lack as f64 / 1000.0 / (a + b));
            let had = Dur((now.at - before.at).0.abs());
            if lack > 0 && had + PRESSED_OFF < needs {
                let name = |s: &Seen| (&line.hoists[s.hoist].name, &line.tanks[s.tank].name);
                let ((h1, t1), (h2, t2)) = (name(low), name(high));
                let text = format!(
                    "{h1} over {t1} and {h2} over {t2} within {}: they would have had to pass",
                    figure(had)
                );
                found.push(Fault { seq: now.seq, law: Law::Rail, text });
            }
        }
    }
}

/// Metres a second at most; a table tells none.
fn speed(line: &Line, hoist: HoistId) -> Option<f64> {
    match line.hoists[hoist].travel {
        Travel::Kinematic { speed, .. } => Some(speed),
        Travel::Table { .. } => None,
    }
}
