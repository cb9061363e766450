//! The moves of one hoist do not overlap and leave time for the empty travel between them.

use super::story::{Leg, Story};
use super::{Breach, Rule, change, figure, motion};
use crate::ids::{CarrierId, HoistId, TankId};
use crate::shift::Place;
use crate::units::{Dur, Time};

pub fn judge(story: &Story, found: &mut Vec<Breach>) {
    for hoist in story.line.hoists.ids() {
        let legs = story.legs_by(hoist);
        first(story, found, hoist, &legs);
        let bound: Vec<Time> = legs.iter().map(|leg| story.bound_until(leg)).collect();
        for (k, later) in legs.iter().enumerate() {
            for (j, (earlier, &free)) in legs[..k].iter().zip(&bound).enumerate() {
                if j + 1 == k {
                    in_time(story, found, later, earlier.mv.to, free, Some(earlier.mv.carrier));
                } else if free > later.mv.start {
                    let text = format!(
                        "{} is to move {} at {}, it has {} until {free}",
                        story.hoist(hoist),
                        story.carrier(later.mv.carrier),
                        later.mv.start,
                        story.carrier(earlier.mv.carrier),
                    );
                    let when = (later.mv.start, free - later.mv.start);
                    found.push(story.breach(
                        Rule::Hoist,
                        None,
                        later.mv.carrier,
                        story.hoist(hoist),
                        when,
                        text,
                    ));
                }
            }
        }
    }
}

/// The first move against where the hoist is now and what hangs on it.
fn first(story: &Story, found: &mut Vec<Breach>, hoist: HoistId, legs: &[&Leg]) {
    let Some(leg) = legs.first() else { return };
    let now = &story.state.hoists[hoist];
    if let Some(held) = now.carrier {
        if leg.mv.carrier != held {
            let text = format!(
                "{} is to move {} but has {} on it",
                story.hoist(hoist),
                story.carrier(leg.mv.carrier),
                story.carrier(held)
            );
            let when = (leg.mv.start, Dur::ZERO);
            found.push(story.breach(Rule::Hoist, None, leg.mv.carrier, story.hoist(hoist), when, text));
        }
        // What it holds it need not travel to.
        let attached =
            matches!(story.state.carriers[held].place, Place::InTank { .. } | Place::OnHook { .. });
        if attached && leg.mv.carrier == held {
            return;
        }
    }
    // A start before the plan was made is `start`'s business.
    let sets_out = now.free_from.max(story.made_at.min(leg.mv.start));
    let sets_out = change::runs_from(story, hoist).map_or(sets_out, |t| t.max(sets_out));
    in_time(story, found, leg, now.at, sets_out, None);
}

/// `after` is whom it has moved before; nobody in this plan.
fn in_time(
    story: &Story,
    found: &mut Vec<Breach>,
    leg: &Leg,
    at: TankId,
    free: Time,
    after: Option<CarrierId>,
) {
    let (mv, hoist) = (&leg.mv, leg.mv.hoist);
    let names = || (story.hoist(hoist), story.carrier(mv.carrier));
    let Some(travel) = motion::empty(story.line, hoist, at, mv.from) else {
        let names = names();
        let text = format!(
            "{} has no time for empty travel from {} to {} for {}",
            names.0,
            story.tank_in_words(at),
            story.tank_in_words(mv.from),
            names.1
        );
        let when = (mv.start, Dur::ZERO);
        found.push(story.breach(Rule::Reach, None, mv.carrier, names.0, when, text));
        return;
    };
    let earliest = free + travel;
    if mv.start < earliest {
        let by = earliest - mv.start;
        let names = names();
        let after = after.map_or_else(|| "its last move".to_owned(), |c| story.carrier(c));
        let text = format!(
            "{} is to move {} from {} at {}: after {after} at {} it is free at {free} and there at {earliest}, \
             {} too late",
            names.0,
            names.1,
            story.tank_in_words(mv.from),
            mv.start,
            story.tank_in_words(at),
            figure(by)
        );
        found.push(story.breach(Rule::Hoist, None, mv.carrier, names.0, (mv.start, by), text));
    }
}
