//! What the events come to is what the program's own state says: two tellings of one story.

use super::world::{At, World};
use super::{Fault, Law};
use crate::ids::Seq;
use crate::line::Line;
use crate::shift::{Place, Stamped, State};

pub(super) fn judge(line: &Line, state: &State, world: &World, events: &[Stamped], found: &mut Vec<Fault>) {
    let seq = events.last().map_or(Seq(0), |s| s.seq);
    let mut fault = |law: Law, text: String| found.push(Fault { seq, law, text });
    for (id, carrier) in state.carriers.iter() {
        let theirs = match carrier.place {
            Place::Queued => At::Queue,
            Place::InTank { tank, .. } => At::Tank(tank),
            Place::OnHook { hoist, .. } => At::Hook(hoist),
            Place::Finished { tank, .. } => At::Finished(tank),
            Place::OffLine => At::Away,
        };
        let ours = world.place(id);
        if ours != theirs {
            fault(
                Law::Fold,
                format!(
                    "{} is {} by the program's state, {} by the events",
                    world.name(id),
                    world.words(theirs),
                    world.words(ours)
                ),
            );
        }
    }
    for (id, hoist) in state.hoists.iter() {
        if hoist.carrier != world.hook(id) {
            let say = |c: Option<_>| c.map_or_else(|| "nothing".to_owned(), |c| world.name(c));
            fault(
                Law::Fold,
                format!(
                    "{} has {} on it by the program's state, {} by the events",
                    line.hoists[id].name,
                    say(hoist.carrier),
                    say(world.hook(id))
                ),
            );
        }
    }
    counts(state, world, &mut fault);
}

/// Of every order as many parts are accounted for as came in, summed up in the order of the balance.
fn counts(state: &State, world: &World, fault: &mut impl FnMut(Law, String)) {
    for (id, order) in state.book.orders.iter() {
        let c = state.ledger.counts(state, id);
        let out = c.good + c.rework + c.scrap;
        let racked = c.to_start + c.on_line + c.to_count;
        let sum = c.waiting + racked + out + c.returned + c.found + c.missing;
        if sum != c.received {
            fault(
                Law::Counts,
                format!("{}: {} parts came in, {sum} are accounted for", order.name, c.received),
            );
        }
        let counted: u64 = state
            .book
            .carriers
            .iter()
            .filter(|(_, spec)| spec.order == id)
            .map(|(k, _)| world.counted_out(k))
            .sum();
        if i64::try_from(counted) != Ok(out) {
            let text = format!(
                "{}: {out} parts came out by the program's state, {counted} by the events",
                order.name
            );
            fault(Law::Counts, text);
        }
    }
}
