//! Never a dead end later: every carrier that has started, or that the plan starts, has its whole way out of the line in the
//! plan, to an unload station or, if a person has said so, to where it is parked. That the moves in between follow from one
//! another and from the recipe is for `chain` to say.

use super::story::{Leg, Story};
use super::{Breach, Rule, change};
use crate::ids::CarrierId;
use crate::line::Visit;
use crate::shift::Place;
use crate::units::Dur;

pub fn judge(story: &Story, found: &mut Vec<Breach>) {
    let staying = change::stay_for_good(story);
    for (carrier, c) in story.state.carriers.iter().filter(|(c, _)| !staying.contains(c)) {
        match (story.legs_of(carrier).last(), &c.place) {
            (_, Place::Finished { .. } | Place::OffLine) | (None, Place::Queued) => {}
            (Some(last), _) => left_behind(story, found, carrier, last),
            (None, place) => not_moved(story, found, carrier, place),
        }
    }
}

fn left_behind(story: &Story, found: &mut Vec<Breach>, carrier: CarrierId, last: &Leg) {
    // A carrier put back where it was racked waits to start again.
    if matches!(last.mv.visit, Visit::Unload | Visit::Load) || change::is_parking(story, last) {
        return;
    }
    let tank = story.tank_in_words(last.mv.to);
    let text = format!("{} is left in {tank} with no way out", story.carrier(carrier));
    let when = (last.t.down, Dur::ZERO);
    found.push(story.breach(Rule::WayOut, None, carrier, story.tank(last.mv.to), when, text));
}

fn not_moved(story: &Story, found: &mut Vec<Breach>, carrier: CarrierId, place: &Place) {
    let (place, words) = match *place {
        Place::InTank { tank, .. } => (story.tank(tank), story.tank_in_words(tank)),
        Place::OnHook { hoist, .. } => (story.hoist(hoist), story.hoist(hoist)),
        _ => return,
    };
    let text = format!("{} is left at {words}: the plan does not move it", story.carrier(carrier));
    found.push(story.breach(Rule::WayOut, None, carrier, place, (story.made_at, Dur::ZERO), text));
}
