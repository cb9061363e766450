//! A carrier does not start on a rack that owes a strip or that another carrier has.

use super::story::Story;
use super::{Breach, Rule};
use crate::ids::CarrierId;
use crate::line::{Rack, Visit};
use crate::shift::Place;
use crate::units::{Dur, Time};

pub fn judge(story: &Story, found: &mut Vec<Breach>) {
    for leg in story.legs.iter().filter(|l| l.mv.leaves == Visit::Load && !l.under_way) {
        let carrier = leg.mv.carrier;
        let Some(why) = not_free(story, carrier) else { continue };
        let text = format!("{} is to start, but its rack {why}", story.carrier(carrier));
        let (place, when) = (story.tank(leg.mv.from), (leg.mv.start, Dur::ZERO));
        found.push(story.breach(Rule::Rack, None, carrier, place, when, text));
    }
}

fn not_free(story: &Story, carrier: CarrierId) -> Option<String> {
    let book = &story.state.book;
    let rack = book.carriers[carrier].rack_name.as_ref()?;
    let strips = |c: CarrierId| story.line.recipes[book.carriers[c].recipe].strips_racks;
    if story.state.carriers[carrier].place != Place::Queued || strips(carrier) {
        return None;
    }
    let mut work: Option<Time> = None;
    let mut strip: Option<Time> = None;
    for (other, spec) in book.carriers.iter().filter(|(_, s)| s.rack_name.as_ref() == Some(rack)) {
        let taken = match story.state.carriers[other].place {
            Place::InTank { .. } | Place::OnHook { .. } => true,
            Place::Queued => other < carrier || (strips(other) && other != carrier),
            Place::OffLine => false,
            Place::Finished { at, .. } if strips(other) => {
                strip = strip.max(Some(at));
                false
            }
            Place::Finished { at, .. } => {
                work = work.max(Some(at));
                story.state.ledger.unracked(story.state, other).is_none()
            }
        };
        if taken {
            return Some(format!("{rack} is with {}", spec.name));
        }
    }
    let aluminium = book.racks.iter().any(|r| r.name == *rack && r.metal == Rack::Aluminium);
    (aluminium && work > strip).then(|| format!("{rack} owes a strip"))
}
