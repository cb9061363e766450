//! What was measured in the baths a carrier went through, and what held when it was in them.

use std::collections::BTreeMap;

use super::Source;
use crate::ids::{CarrierId, TankId};
use crate::line::Quantity;
use crate::shift::ledger::{Entry, Reading};
use crate::shift::{Place, Stay};
use crate::units::Time;
use crate::view::passed;

/// A bath was measured, or made up anew.
enum Bath {
    Read(Reading),
    Renewed,
}

/// Everything about a bath in the order of its time, however late it was entered.
fn told(source: &Source<'_>, tank: TankId) -> Vec<(Time, Bath)> {
    let about = |e: &crate::shift::ledger::Entered| match &e.entry {
        Entry::Bath { tank: t, reading } if *t == tank => Some((e.at, Bath::Read(*reading))),
        Entry::BathChanged { tank: t } if *t == tank => Some((e.at, Bath::Renewed)),
        _ => None,
    };
    let mut told: Vec<_> = source.state().ledger.entries.iter().filter_map(about).collect();
    told.sort_by_key(|(at, _)| *at);
    told
}

/// What is to be said of a reading beyond the limits of its bath.
fn outside(source: &Source<'_>, tank: TankId, quantity: Quantity, value: f64) -> Option<String> {
    let limits = &source.line.tanks[tank].limits;
    limits.iter().filter(|limit| limit.quantity == quantity).find_map(|limit| limit.outside(value))
}

/// The last reading of each quantity before an immersion ended, of the bath that was in the tank then, and whether one of
/// them was beyond its limits.
pub(super) fn in_force(source: &Source<'_>, stay: &Stay) -> (String, bool) {
    let mut last: BTreeMap<Quantity, (Time, f64)> = BTreeMap::new();
    for (at, bath) in told(source, stay.tank).into_iter().filter(|(at, _)| *at <= stay.to) {
        match bath {
            Bath::Read(reading) => {
                last.insert(reading.quantity, (at, reading.value));
            }
            Bath::Renewed => last.clear(),
        }
    }
    let mut unfit = false;
    let words: Vec<String> = last
        .into_iter()
        .map(|(q, (at, v))| {
            let outside = outside(source, stay.tank, q, v);
            unfit |= outside.is_some();
            let outside = outside.map_or(String::new(), |words| format!(" {words}"));
            format!("{} {}{outside}", q.figure(v), source.opening.clock_minutes(at))
        })
        .collect();
    (if words.is_empty() { "-".to_owned() } else { words.join(", ") }, unfit)
}

/// All readings of the baths a carrier went through, in the order of the baths; those after it had left say so.
pub(super) fn readings(source: &Source<'_>, carrier: CarrierId) -> Vec<String> {
    let state = source.state();
    let mut words = Vec::new();
    for tank in passed(state, carrier) {
        let name = &source.changed_line().tanks[tank].name;
        let is_here = matches!(state.carriers[carrier].place, Place::InTank { tank: t, .. } if t == tank);
        let left = state.all_stays(carrier).filter(|(_, s)| s.tank == tank).map(|(_, s)| s.to).max();
        for (at, bath) in told(source, tank) {
            let what = match bath {
                Bath::Read(r) => {
                    let outside = outside(source, tank, r.quantity, r.value);
                    r.quantity.with_figure(r.value)
                        + &outside.map_or(String::new(), |words| format!(", {words}"))
                }
                Bath::Renewed => "made up anew".to_owned(),
            };
            let after =
                if !is_here && left.is_some_and(|left| at > left) { ", after it had left" } else { "" };
            words.push(format!("{} {name}: {what}{after}", source.clock(at)));
        }
    }
    words
}
