//! A schedule as a draft, and back.

use super::core::Core;
use super::draft::{Draft, HEAD, NONE};
use crate::schedule::Move;
use crate::units::Time;

/// The moves as an order of hauls with earliest starts. `None` if a haul is not one the sheet allows or the order does not
/// hold under the rules.
pub fn load<'c, 'p, 's>(core: &'c Core<'p, 's>, moves: &[Move]) -> Option<Draft<'c, 'p, 's>> {
    let mut draft = Draft::new(core);
    let moves: Vec<Move> = moves.iter().filter(|m| !core.under_way.contains(m)).copied().collect();
    let mut slot = HEAD;
    let mut done = vec![false; moves.len()];
    for i in 0..moves.len() {
        let first = &moves[i];
        let Some(job) = (0..core.jobs.len()).find(|&j| core.task(j).carrier == first.carrier) else {
            continue;
        };
        if done[i] {
            continue;
        }
        // Between dips on the hook there is nothing of the same hoist, but perhaps something of another.
        let mut legs: Vec<&Move> = Vec::new();
        for (k, m) in moves.iter().enumerate().skip(i).filter(|(_, m)| m.carrier == first.carrier) {
            legs.push(m);
            done[k] = true;
            if m.release {
                break;
            }
        }
        let stops = &core.jobs[job].stops;
        let from = match draft.stop(job) {
            Some(stop) => stop,
            None => stops.iter().position(|s| s.beginning && s.tank == first.from)?,
        };
        let trip = stops[from].trips.iter().position(|t| {
            let h = t.haul();
            h.hoist == first.hoist
                && h.legs.len() == legs.len()
                && h.legs.iter().zip(&legs).all(|(l, m)| (l.from, l.to, l.visit) == (m.from, m.to, m.visit))
        })?;
        if !draft.insert(job, from, trip, slot) {
            return None;
        }
        slot = draft.last(job)?;
    }
    draft.settle();
    (0..core.jobs.len()).all(|j| draft.placed[j] == 0 || draft.complete(j)).then_some(draft)
}

/// The moves of an order.
pub fn unload(draft: &Draft) -> Vec<Move> {
    let mut moves = draft.core.under_way.clone();
    let mut id = draft.nodes[HEAD].next;
    while id != NONE {
        let node = &draft.nodes[id];
        let carrier = draft.core.task(node.job).carrier;
        moves.extend(draft.trip(id).haul().moves(carrier, Time(node.start)));
        id = node.next;
    }
    moves
}
