//! How soon hauls can follow each other at the least, whenever they start: what the instants alone do not tell.
//!
//! Earliest and latest starts say when a haul can be made, not how far from another one. If one hoist has the rail to itself, the
//! hauls between two slots take at least so long, and a dwell that begins before them and ends after them has to last
//! that long. So a haul fits behind a slot only if the dwells that go on meanwhile have the time for it, and a job can come to
//! a tank behind one slot and leave it behind another only if its window has.
//!
//! Instants of the chain count from the start of the first haul. Where hoists share the rail nothing is cut away.

use super::core::NEVER;
use super::draft::{Draft, NONE};
use super::route::Figures;
use crate::ids::TankId;

/// The hauls of an order, one as soon behind the other as the hoist can.
pub struct Chain {
    /// When each position starts.
    starts: Vec<i64>,
    /// How much longer what lies around each slot may take, by the dwells that go on there.
    spare: Vec<i64>,
}

impl Chain {
    /// The chain of an order that begins with the head; `pos` says where in it a node is.
    pub fn new(draft: &Draft, order: &[usize], pos: &[usize]) -> Self {
        if !draft.core.alone {
            return Self { starts: Vec::new(), spare: Vec::new() };
        }
        let mut starts = vec![0; order.len()];
        for i in 2..order.len() {
            starts[i] = starts[i - 1] + draft.gap(&draft.nodes[order[i - 1]].f, &draft.nodes[order[i]].f);
        }
        let mut spare = vec![NEVER; order.len()];
        for (q, &id) in order.iter().enumerate().skip(1) {
            let node = &draft.nodes[id];
            if node.before == NONE || node.longest >= NEVER {
                continue;
            }
            let p = pos[node.before];
            let left = node.longest - (starts[q] - starts[p]);
            spare[p..q].iter_mut().for_each(|s| *s = left.min(*s));
        }
        Self { starts, spare }
    }

    /// True if the dwells that go on behind a slot leave the time for a haul there.
    pub fn has_time(&self, draft: &Draft, order: &[usize], slot: usize, f: &Figures) -> bool {
        let Some(&spare) = self.spare.get(slot).filter(|s| **s < NEVER) else { return true };
        let (a, b) = (&draft.nodes[order[slot]].f, &draft.nodes[order[slot + 1]].f);
        draft.gap(a, f) + draft.gap(f, b) - draft.gap(a, b) <= spare
    }

    /// When a haul right behind the one at `pos` starts at the soonest.
    pub fn reaches(&self, draft: &Draft, node: usize, pos: usize, f: &Figures) -> i64 {
        // Nothing bears on what comes first.
        let start = self.starts.get(pos).filter(|_| pos > 0);
        start.map_or(-NEVER, |start| start + draft.gap(&draft.nodes[node].f, f))
    }

    /// When something was down in a tank at the latest if the hoist, unhooked there so much later, still had the haul at
    /// `pos` before it.
    pub fn left(&self, draft: &Draft, node: usize, pos: usize, (tank, unhook): (TankId, i64)) -> i64 {
        let f = &draft.nodes[node].f;
        let change = unhook + draft.core.change(f.hoist, tank, f.from) + f.reserve;
        self.starts.get(pos).map_or(NEVER, |start| start - change)
    }
}
