//! No load goes into a bath that is not fit for it: its last reading is outside the limits, or overdue where that counts.

use super::story::Story;
use super::{Breach, Rule};
use crate::ids::TankId;
use crate::line::Limit;
use crate::shift::ledger::Entry;
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

fn is_outside(story: &Story, tank: TankId, limit: &Limit) -> bool {
    let mut last: Option<(Time, f64)> = None;
    let mut counted_from = Time::ZERO + story.line.tanks[tank].ready_after;
    for e in &story.state.ledger.entries {
        match e.entry {
            Entry::Bath { tank: t, reading }
                if t == tank
                    && reading.quantity == limit.quantity
                    && last.is_none_or(|(at, _)| e.at >= at) =>
            {
                last = Some((e.at, reading.value));
            }
            Entry::BathChanged { tank: t } if t == tank => counted_from = counted_from.max(e.at),
            _ => {}
        }
    }
    let outside = last.is_some_and(|(_, v)| {
        limit.least.is_some_and(|least| v < least) || limit.most.is_some_and(|most| v > most)
    });
    let counted_from = last.map_or(counted_from, |(at, _)| at.max(counted_from));
    let overdue = limit.every.is_some_and(|every| counted_from + every <= story.made_at);
    outside || (limit.overdue_stops && overdue)
}
