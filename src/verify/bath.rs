//! No load goes into a bath that is not fit for it: its last reading is outside the limits, it was made up anew and not
//! measured since, or a reading is overdue where that counts.

use super::story::Story;
use super::{Breach, Rule};
use crate::ids::TankId;
use crate::line::Limit;
use crate::shift::ledger::{Entered, Entry};
use crate::units::{Dur, Time};

pub fn judge(story: &Story, found: &mut Vec<Breach>) {
    for leg in &story.legs {
        let back = leg.under_way && leg.mv.from == leg.mv.to;
        if back || !is_shut(story, leg.mv.to) {
            continue;
        }
        let (carrier, tank) = (story.carrier(leg.mv.carrier), story.tank_in_words(leg.mv.to));
        let text = format!("{carrier} goes into {tank}, whose bath is outside its limits or not measured");
        let (place, when) = (story.tank(leg.mv.to), (leg.t.down, Dur::ZERO));
        found.push(story.breach(Rule::Bath, None, leg.mv.carrier, place, when, text));
    }
}

/// True if a bath is not fit for a load when the plan is made.
pub fn is_shut(story: &Story, tank: TankId) -> bool {
    story.line.tanks[tank].limits.iter().any(|limit| is_outside(story, tank, limit))
}

/// True if the last reading is outside, if there is none since the bath was made up anew, or if one that counts is overdue.
fn is_outside(story: &Story, tank: TankId, limit: &Limit) -> bool {
    let mut last: Option<(Time, f64)> = None;
    let mut changed: Option<Time> = None;
    let mut told: Vec<&Entered> = story.state.ledger.entries.iter().collect();
    told.sort_by_key(|e| e.at);
    for e in told {
        match e.entry {
            Entry::Bath { tank: t, reading } if t == tank && reading.quantity == limit.quantity => {
                last = Some((e.at, reading.value));
            }
            Entry::BathChanged { tank: t } if t == tank => (last, changed) = (None, Some(e.at)),
            _ => {}
        }
    }
    let outside = last.is_some_and(|(_, v)| {
        limit.least.is_some_and(|least| v < least) || limit.most.is_some_and(|most| v > most)
    });
    let ready = Time::ZERO + story.line.tanks[tank].ready_after;
    let counted_from = last.map_or(ready, |(at, _)| at.max(ready));
    let overdue = limit.every.is_some_and(|every| counted_from + every <= story.made_at);
    outside || (changed.is_some() && last.is_none()) || (limit.overdue_stops && overdue)
}
