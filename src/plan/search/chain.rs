//! How soon hauls can follow each other at the least, whenever they start: what the instants alone do not tell.
//!
//! Earliest and latest starts say when a haul can be made, not how far from another one. If one hoist has the rail to itself, the
//! hauls between two slots take at least so long, and a dwell that begins before them and ends after them has to last
//! that long. So a haul fits behind a slot only if the dwells that go on meanwhile have the time for it, and a job can come to
//! a tank behind one slot and leave it behind another only if its window has.
//!
//! Instants of the chain count from the start of the first haul. Where hoists share the rail nothing is cut away.

use super::core::NEVER;
use super::draft::{Draft, HEAD, NONE};
use super::route::Figures;
use crate::ids::TankId;

/// The hauls of an order, one as soon behind the other as the hoist can, with what a haul between two of them is asked.
pub struct Chain {
    links: Vec<Link>,
}

/// One haul and the one behind it, laid out for looking at one after the other.
struct Link {
    start: i64,
    total: i64,
    to: TankId,
    /// When it starts in the chain.
    chain: i64,
    /// How much longer what lies right behind it may take, by the dwells that go on there.
    spare: i64,
    /// Of the haul behind it: from where, its reserve, its latest start and how long it waits for this one.
    from: TankId,
    reserve: i64,
    latest: i64,
    wait: i64,
}

/// A haul right behind another.
#[derive(Debug, Clone, Copy)]
pub struct Behind {
    /// When it starts at the earliest, and at the soonest in the chain.
    pub first: i64,
    pub soonest: i64,
    /// From the start of the haul before it.
    gap: i64,
}

impl Chain {
    /// The chain of an order, or of a tail of it; `pos` says where in it a node is.
    pub fn new(draft: &Draft, order: &[usize], pos: &[usize]) -> Self {
        if !draft.core.alone {
            return Self { links: Vec::new() };
        }
        let mut links: Vec<Link> = Vec::with_capacity(order.len());
        let mut chain = 0;
        for (i, &id) in order.iter().enumerate() {
            let node = &draft.nodes[id];
            let (next, wait) = match order.get(i + 1) {
                Some(&next) if id != HEAD => (next, draft.gap(&node.f, &draft.nodes[next].f)),
                Some(&next) => (next, 0),
                None => (id, 0),
            };
            let next = &draft.nodes[next];
            links.push(Link {
                start: node.start,
                total: node.f.total,
                to: node.f.to,
                chain,
                spare: NEVER,
                from: next.f.from,
                reserve: next.f.reserve,
                latest: next.latest,
                wait,
            });
            chain += wait;
        }
        for (q, &id) in order.iter().enumerate().skip(1) {
            let node = &draft.nodes[id];
            if node.before == NONE || node.longest >= NEVER {
                continue;
            }
            let p = pos[node.before];
            let left = node.longest - (links[q].chain - links[p].chain);
            links[p..q].iter_mut().for_each(|link| link.spare = left.min(link.spare));
        }
        Self { links }
    }

    /// A haul right behind the node at a slot.
    pub fn behind(&self, draft: &Draft, node: usize, slot: usize, f: &Figures) -> Behind {
        match self.links.get(slot) {
            // Nothing bears on what comes first.
            Some(link) if node != HEAD => {
                let gap = link.total + draft.core.change(f.hoist, link.to, f.from) + f.reserve;
                Behind { first: link.start + gap, soonest: link.chain + gap, gap }
            }
            _ => Behind { first: draft.earliest_start(f, node), soonest: -NEVER, gap: 0 },
        }
    }

    /// The latest start of such a haul before the `next` node; `None` if the dwells that go on there do not leave the time for it.
    pub fn before(&self, draft: &Draft, next: usize, slot: usize, f: &Figures, here: Behind) -> Option<i64> {
        let Some(link) = self.links.get(slot) else { return Some(draft.latest_start(f, next)) };
        let gap = f.total + draft.core.change(f.hoist, f.to, link.from) + link.reserve;
        (link.spare >= NEVER || here.gap + gap - link.wait <= link.spare).then(|| link.latest - gap)
    }

    /// When something was down in a tank at the latest if the hoist, unhooked there so much later, still had the haul behind a
    /// slot before it.
    pub fn left(&self, draft: &Draft, node: usize, slot: usize, (tank, unhook): (TankId, i64)) -> i64 {
        let f = &draft.nodes[node].f;
        let change = unhook + draft.core.change(f.hoist, tank, f.from) + f.reserve;
        self.links.get(slot + 1).map_or(NEVER, |next| next.chain - change)
    }
}
