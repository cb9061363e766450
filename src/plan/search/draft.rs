//! The mutable twin of a schedule: one order of hauls with the earliest start of each, kept consistent move by move.
//!
//! The order is a linked list; every rule of the timing model is a difference constraint between neighbours in it or
//! between consecutive hauls of one job. With several hoists starts never fall along the order, and every two hauls of
//! different hoists keep the lag of the rail; what lies further back than the longest lag cannot matter. A haul is put in
//! with its constraints to both neighbours and its effect is pushed on; what was changed is written down so that it can be taken back. A push that comes back to the haul that
//! caused it has found a cycle that cannot hold (Cesta and Oddi 1996, from memory).

use std::collections::VecDeque;

use super::super::rail::PathId;
use super::core::{Core, NEVER};
use super::cost::Cost;
use super::route::{Figures, Trip};
use crate::ids::{HoistId, Id as _, TankId};
use crate::line::Visit;

/// The head of the order; no haul.
pub const HEAD: usize = 0;
/// No node.
pub const NONE: usize = usize::MAX;

/// How many hauls a latest start looks at where hoists share the rail. More would cut away more.
const SEEN: usize = 4;

/// One haul in the order. What a push reads lies together in front.
#[derive(Debug, Clone, Copy)]
#[repr(C)]
pub struct Node {
    pub start: i64,
    /// No start is later in an order that keeps the limits; see [`Draft::tighten`].
    pub latest: i64,
    /// From the start of the haul before in the order, where one hoist has the rail to itself.
    wait: i64,
    /// From the start of the job's haul before, at the least and at the most.
    soonest: i64,
    pub longest: i64,
    /// From the start to the end of the job at the least.
    tail: i64,
    pub prev: usize,
    pub next: usize,
    /// Neighbours in the job.
    pub before: usize,
    pub after: usize,
    pub job: usize,
    /// The stop it begins at and the trip from there.
    from: usize,
    trip: usize,
    /// The stop it leads to.
    pub stop: usize,
    pub f: Figures,
    /// Watts the stay behind it draws.
    power: i64,
    /// The start in the order that was there before something was taken out.
    was: i64,
    label: i64,
}

impl Node {
    fn empty(job: usize) -> Self {
        let f = Figures {
            hoist: HoistId(0),
            path: PathId::default(),
            from: TankId(0),
            to: TankId(0),
            total: 0,
            lift: 0,
            down: 0,
            reserve: 0,
            min: 0,
            max: NEVER,
            lower: 0,
            upper: NEVER,
            tail: 0,
        };
        Self {
            job,
            from: NONE,
            trip: NONE,
            stop: NONE,
            f,
            power: 0,
            start: 0,
            latest: NEVER,
            wait: 0,
            soonest: 0,
            longest: NEVER,
            tail: 0,
            was: 0,
            prev: NONE,
            next: NONE,
            before: NONE,
            after: NONE,
            label: 0,
        }
    }
}

/// An order of hauls under construction.
#[derive(Clone)]
pub struct Draft<'c, 'p, 's> {
    pub core: &'c Core<'p, 's>,
    pub nodes: Vec<Node>,
    /// How many hauls of each job are in.
    pub placed: Vec<usize>,
    /// Nodes that bring something into a tank, by tank; out of order.
    into: Vec<Vec<usize>>,
    /// Jobs that stand in a tank from the beginning, by tank.
    standing: Vec<Vec<usize>>,
    /// Nodes that begin a stay that draws power.
    powered: Vec<usize>,
    /// No job may end later.
    pub bound: i64,
    /// When each job must have ended, to keep the limits.
    ends: Vec<i64>,
    /// The order has to cost less.
    pub limit: Cost,
    /// While a push goes on: what it may still cost, what each job ends at the least as far as is known, and from when on
    /// how much later ends cost.
    spare: i64,
    known: Vec<i64>,
    prices: Vec<(i64, i64)>,
    trail: Vec<(usize, i64)>,
    queue: VecDeque<usize>,
}

/// What makes up an order; whoever has the same problem can go on from it.
#[derive(Clone, Default)]
pub struct Order {
    nodes: Vec<Node>,
    placed: Vec<usize>,
    into: Vec<Vec<usize>>,
    powered: Vec<usize>,
}

/// A point to come back to.
#[derive(Debug, Clone, Copy)]
pub struct Mark(usize);

impl<'c, 'p, 's> Draft<'c, 'p, 's> {
    pub fn new(core: &'c Core<'p, 's>) -> Self {
        let rooms: usize = core.jobs.iter().map(|j| j.room).sum();
        let mut nodes = vec![Node::empty(NONE); rooms + 1];
        for (j, job) in core.jobs.iter().enumerate() {
            nodes[job.base..job.base + job.room].fill(Node::empty(j));
        }
        nodes[HEAD].start = core.problem.now.0;
        let mut standing = vec![Vec::new(); core.station.len()];
        for (j, job) in core.jobs.iter().enumerate().filter(|(_, job)| job.live) {
            standing[job.places[0].tank.ix()].push(j);
        }
        Self {
            core,
            nodes,
            placed: vec![0; core.jobs.len()],
            into: vec![Vec::new(); core.station.len()],
            standing,
            powered: Vec::new(),
            bound: NEVER,
            ends: vec![NEVER; core.jobs.len()],
            limit: Cost::WORST,
            spare: NEVER,
            known: vec![NEVER; core.jobs.len()],
            prices: vec![(NEVER, 0); core.jobs.len()],
            trail: Vec::new(),
            queue: VecDeque::new(),
        }
    }

    /// The order as it stands.
    pub fn order(&self) -> Order {
        let mut order = Order::default();
        self.keep(&mut order);
        order
    }

    /// Takes the place of an order that was kept.
    pub fn keep(&self, order: &mut Order) {
        order.nodes.clone_from(&self.nodes);
        order.placed.clone_from(&self.placed);
        order.into.clone_from(&self.into);
        order.powered.clone_from(&self.powered);
    }

    /// Goes back to an order of the same problem, without limits.
    pub fn set(&mut self, order: &Order) {
        self.nodes.clone_from(&order.nodes);
        self.placed.clone_from(&order.placed);
        self.into.clone_from(&order.into);
        self.powered.clone_from(&order.powered);
        self.bound = NEVER;
        self.settle();
    }

    /// The node of the `n`-th haul of a job.
    pub fn node(&self, job: usize, n: usize) -> usize {
        self.core.jobs[job].base + n
    }

    /// The last haul of a job that is in, if any.
    pub fn last(&self, job: usize) -> Option<usize> {
        self.placed[job].checked_sub(1).map(|n| self.node(job, n))
    }

    /// True if a job is in from where it is to its unload.
    pub fn complete(&self, job: usize) -> bool {
        self.stop(job).is_some_and(|at| self.core.jobs[job].stops[at].visit == Visit::Unload)
    }

    /// When a job ends at the least, by what is in of it.
    pub fn end_at_least(&self, job: usize) -> i64 {
        self.last(job).map_or(self.core.jobs[job].least, |n| self.nodes[n].start + self.nodes[n].tail)
    }

    /// The node at a place in the order, or the last one; the head is at place 0.
    pub fn behind(&self, place: usize) -> usize {
        let mut id = HEAD;
        for _ in 0..place {
            match self.nodes[id].next {
                NONE => break,
                next => id = next,
            }
        }
        id
    }

    pub fn mark(&self) -> Mark {
        Mark(self.trail.len())
    }

    /// The earliest start of a trip after a haul, neighbour or not, by those two alone.
    fn after_one(&self, before: usize, f: &Figures) -> i64 {
        let a = &self.nodes[before];
        a.start + self.gap(&a.f, f)
    }

    /// From the start of one haul to the start of a later one at the least.
    pub fn gap(&self, a: &Figures, b: &Figures) -> i64 {
        if a.hoist == b.hoist {
            a.total + self.core.change(b.hoist, a.to, b.from) + b.reserve
        } else {
            self.core.lag(a, b)
        }
    }

    /// The start of `id` bears on the next node, and on those behind it that start before this.
    fn bears_until(&self, id: usize) -> i64 {
        if self.core.alone { i64::MIN } else { self.nodes[id].start + self.core.far }
    }

    /// The earliest start of a trip right behind a node, by the hoists' work.
    pub fn earliest_start(&self, f: &Figures, slot: usize) -> i64 {
        let first = self.core.first[f.hoist.ix()][f.from.ix()];
        if self.core.alone {
            return if slot == HEAD { first } else { self.after_one(slot, f) };
        }
        let (mut start, mut at) = (first, slot);
        while at != HEAD && self.nodes[at].start + self.core.far > start {
            start = start.max(self.after_one(at, f));
            at = self.nodes[at].prev;
        }
        start
    }

    /// The latest start of a trip right before a node, by the hoists' work; with several hoists by the first few there.
    pub fn latest_start(&self, f: &Figures, next: usize) -> i64 {
        let (mut latest, mut at) = (NEVER, next);
        for _ in 0..if self.core.alone { 1 } else { SEEN } {
            let b = &self.nodes[at];
            latest = latest.min(b.latest - self.gap(f, &b.f));
            if b.next == NONE {
                break;
            }
            at = b.next;
        }
        latest
    }

    /// The latest start of a trip of a job that keeps the limits, whatever the others do.
    pub fn latest_alone(&self, job: usize, f: &Figures) -> i64 {
        f.upper.min(self.ends[job].saturating_sub(f.tail))
    }

    /// From which stop a node goes, and the number of its trip there.
    pub fn way(&self, id: usize) -> (usize, usize) {
        (self.nodes[id].from, self.nodes[id].trip)
    }

    /// Takes everything out, and all limits off.
    pub fn clear(&mut self) {
        (0..self.placed.len()).for_each(|j| self.remove(j, 0));
        self.settle();
        self.bound = NEVER;
        self.ends.fill(NEVER);
        self.stay_below(Cost::WORST);
    }

    /// The trip of a node that is in.
    pub fn trip(&self, id: usize) -> &'c Trip {
        let node = &self.nodes[id];
        &self.core.jobs[node.job].stops[node.from].trips[node.trip]
    }

    /// Puts the next haul of a job, a trip from the stop it is at, right behind `slot`. False, and nothing changed, if
    /// that cannot hold.
    pub fn insert(&mut self, job: usize, from: usize, trip: usize, slot: usize) -> bool {
        if self.placed[job] == 0 && !self.keeps_queue(job, slot) {
            return false;
        }
        self.reckon();
        let mark = self.mark();
        let id = self.prepare(job, from, trip);
        let next = self.nodes[slot].next;
        self.link(id, slot, next);
        let start = self.earliest(id, slot);
        self.nodes[id].start = start;
        self.placed[job] += 1;
        let node = &self.nodes[id];
        let end = start + node.f.tail;
        if start > node.latest || end > self.bound || !self.affords(job, end) || !self.push_from(id) {
            self.undo_insert(job, mark);
            return false;
        }
        self.enter(id);
        true
    }

    /// True if a job that starts behind `slot` does so in the order a person has said.
    fn keeps_queue(&self, job: usize, slot: usize) -> bool {
        let Some(own) = self.core.task(job).rank else { return true };
        let at = if slot == HEAD { -1 } else { self.nodes[slot].label };
        (0..self.core.jobs.len()).filter(|&j| j != job && self.placed[j] > 0).all(|j| {
            let first = self.nodes[self.node(j, 0)].label;
            self.core.task(j).rank.is_none_or(|rank| if rank < own { first <= at } else { first > at })
        })
    }

    fn prepare(&mut self, job: usize, from: usize, trip: usize) -> usize {
        let core = self.core;
        let stops = &core.jobs[job].stops;
        let t = &stops[from].trips[trip];
        let n = self.placed[job];
        let id = self.node(job, n);
        let Node { start, label, .. } = self.nodes[id];
        let f = t.figures;
        let before = n.checked_sub(1).map_or(NONE, |n| self.node(job, n));
        let (soonest, longest) = if before == NONE {
            (0, NEVER)
        } else {
            let down = self.nodes[before].f.down - f.lift;
            (down + f.min, if f.max < NEVER { down + f.max } else { NEVER })
        };
        self.nodes[id] = Node {
            start,
            latest: self.latest_alone(job, &f),
            wait: 0,
            soonest,
            longest,
            tail: f.tail,
            prev: NONE,
            next: NONE,
            before,
            after: NONE,
            job,
            from,
            trip,
            stop: t.to,
            f,
            power: if core.station[f.to.ix()] { 0 } else { stops[t.to].power },
            was: NEVER,
            label,
        };
        id
    }

    /// The earliest start of a node behind `slot` and after its job's haul before.
    fn earliest(&self, id: usize, slot: usize) -> i64 {
        let Node { f, before, soonest, .. } = &self.nodes[id];
        let start = f.lower.max(self.earliest_start(f, slot));
        if *before == NONE { start } else { start.max(self.nodes[*before].start + soonest) }
    }

    /// The place of a node in the order, as a number that only compares.
    pub fn label(&self, id: usize) -> i64 {
        self.nodes[id].label
    }

    /// Who else is in a tank: from which node to which, [`NONE`] for the beginning and for good.
    pub fn stays(&self, tank: TankId, job: usize, mut stay: impl FnMut(usize, usize)) {
        for &n in self.into[tank.ix()].iter().filter(|&&n| self.nodes[n].job != job) {
            stay(n, self.nodes[n].after);
        }
        for &j in self.standing[tank.ix()].iter().filter(|&&j| j != job && self.placed[j] > 0) {
            stay(NONE, self.node(j, 0));
        }
    }

    /// From which node on dwells go on behind `slot`.
    pub fn dwells_from(&self, slot: usize) -> usize {
        let label = self.nodes[slot].label;
        let mut first = slot;
        let mut id = self.nodes[slot].next;
        while id != NONE {
            let Node { before, next, .. } = self.nodes[id];
            if before != NONE && self.nodes[before].label < label.min(self.nodes[first].label) {
                first = before;
            }
            id = next;
        }
        first
    }

    /// Sets the latest starts to what keeps the order as it stands better than `limit`, and no haul of another job
    /// than `job` later by more than `give`. False if nothing does.
    pub fn tighten(&mut self, limit: Cost, job: usize, give: i64) -> bool {
        let least = Cost::of(self);
        if least >= limit {
            return false;
        }
        self.stay_below(limit);
        // Where the last end can be no better, the sum of all ends has to be.
        let slack =
            if least.end < limit.end { NEVER } else { limit.sum.saturating_sub(least.sum).min(NEVER) };
        // What others are late by at the least is not there for any one.
        let spare = limit.late.saturating_sub(least.late).min(NEVER);
        for j in 0..self.ends.len() {
            let own = self.end_at_least(j);
            let end = if limit.late == 0 { limit.end.min(own.saturating_add(slack)) } else { NEVER };
            let kept = |(due, weight): (i64, i64)| due.max(own) + spare.div_euclid(weight);
            self.ends[j] = self.core.jobs[j].due.map_or(end, |due| end.min(kept(due)));
        }
        self.queue.clear();
        let mut count = 0;
        let mut id = self.nodes[HEAD].next;
        while id != NONE {
            let Node { job: own, f, next, start, was, .. } = self.nodes[id];
            let give = if own == job { NEVER } else { give };
            self.nodes[id].latest = self.latest_alone(own, &f).min(start.max(was).saturating_add(give));
            self.queue.push_front(id);
            count += 1;
            id = next;
        }
        let mut steps = 0;
        while let Some(i) = self.queue.pop_front() {
            steps += 1;
            let n = &self.nodes[i];
            if steps > count * (count + 2) || n.latest < n.start {
                return false;
            }
            let (start, latest) = (n.start, n.latest);
            let mut prev = n.prev;
            while prev != HEAD {
                let t = latest - self.gap(&self.nodes[prev].f, &self.nodes[i].f);
                if t < self.nodes[prev].latest {
                    self.nodes[prev].latest = t;
                    self.queue.push_back(prev);
                }
                let far = self.core.alone || self.nodes[prev].start + self.core.far <= start;
                prev = if far { HEAD } else { self.nodes[prev].prev };
            }
            let Node { before, after, soonest, .. } = self.nodes[i];
            let longest = if after == NONE { NEVER } else { self.nodes[after].longest };
            for (id, t) in [(before, latest - soonest), (after, latest + longest)] {
                if id != NONE && t < self.nodes[id].latest {
                    self.nodes[id].latest = t;
                    self.queue.push_back(id);
                }
            }
        }
        true
    }

    fn link(&mut self, id: usize, slot: usize, next: usize) {
        self.nodes[id].prev = slot;
        self.nodes[id].next = next;
        self.nodes[slot].next = id;
        let low = self.nodes[slot].label;
        if next == NONE {
            self.nodes[id].label = low + (1 << 20);
        } else {
            self.nodes[next].prev = id;
            let high = self.nodes[next].label;
            self.nodes[id].label = low + (high - low) / 2;
            if high - low < 2 {
                self.relabel();
            }
        }
        let before = self.nodes[id].before;
        if before != NONE {
            self.nodes[before].after = id;
        }
        self.waits(slot, id);
        self.waits(id, next);
    }

    /// Notes how long a haul waits for the one right before it.
    fn waits(&mut self, prev: usize, id: usize) {
        if id != NONE && prev != HEAD && self.core.alone {
            self.nodes[id].wait = self.gap(&self.nodes[prev].f, &self.nodes[id].f);
        }
    }

    fn relabel(&mut self) {
        let (mut id, mut label) = (HEAD, 0);
        while id != NONE {
            self.nodes[id].label = label;
            label += 1 << 20;
            id = self.nodes[id].next;
        }
    }

    fn unlink(&mut self, id: usize) {
        let (prev, next, before) = (self.nodes[id].prev, self.nodes[id].next, self.nodes[id].before);
        self.nodes[prev].next = next;
        if next != NONE {
            self.nodes[next].prev = prev;
        }
        if before != NONE {
            self.nodes[before].after = NONE;
        }
        self.waits(prev, next);
    }

    /// Takes the last haul of a job out again and restores all starts as they were at `mark`.
    fn undo_insert(&mut self, job: usize, mark: Mark) {
        self.placed[job] -= 1;
        let id = self.node(job, self.placed[job]);
        self.unlink(id);
        self.restore(mark);
    }

    fn restore(&mut self, mark: Mark) {
        while self.trail.len() > mark.0 {
            let (id, start) = self.trail.pop().expect("longer than the mark");
            self.nodes[id].start = start;
        }
    }

    /// Takes the last haul of a job out again; starts go back to `mark`, which was taken before it was put in.
    pub fn take_back(&mut self, job: usize, mark: Mark) {
        let id = self.node(job, self.placed[job] - 1);
        self.leave(id);
        self.undo_insert(job, mark);
    }

    /// Forgets how to go back before now.
    pub fn settle(&mut self) {
        self.trail.clear();
    }

    /// Remembers the starts as what others may only give way from so far.
    pub fn remember(&mut self) {
        let mut id = self.nodes[HEAD].next;
        while id != NONE {
            self.nodes[id].was = self.nodes[id].start;
            id = self.nodes[id].next;
        }
    }

    fn enter(&mut self, id: usize) {
        let Node { f, power, .. } = self.nodes[id];
        if !self.core.station[f.to.ix()] {
            self.into[f.to.ix()].push(id);
            if power > 0 {
                self.powered.push(id);
            }
        }
    }

    fn leave(&mut self, id: usize) {
        let to = self.nodes[id].f.to.ix();
        self.into[to].retain(|n| *n != id);
        self.powered.retain(|n| *n != id);
    }

    /// Pushes the start of `pivot` on to everything it bears on.
    fn push_from(&mut self, pivot: usize) -> bool {
        self.queue.clear();
        self.queue.push_back(pivot);
        while let Some(i) = self.queue.pop_front() {
            let held = if self.core.alone { self.push_along(i, pivot) } else { self.push_on(i, pivot) };
            if !held {
                return false;
            }
        }
        true
    }

    /// What a start bears on by the work of the only hoist, haul behind haul as far as that reaches, and by their dwells.
    fn push_along(&mut self, mut i: usize, pivot: usize) -> bool {
        loop {
            if !self.push_dwells(i, pivot) {
                return false;
            }
            let Node { start, next, .. } = self.nodes[i];
            if next == NONE {
                return true;
            }
            let t = start + self.nodes[next].wait;
            if t <= self.nodes[next].start {
                return true;
            }
            if !self.raise(next, t, pivot) {
                return false;
            }
            i = next;
        }
    }

    /// What a start bears on where hoists share the rail, and by the dwells at both ends of the haul.
    fn push_on(&mut self, i: usize, pivot: usize) -> bool {
        let (until, mut next) = (self.bears_until(i), self.nodes[i].next);
        while next != NONE {
            let t = self.after_one(i, &self.nodes[next].f);
            if !self.raise_and_go_on(next, t, pivot) {
                return false;
            }
            next = if self.nodes[next].start < until { self.nodes[next].next } else { NONE };
        }
        self.push_dwells(i, pivot)
    }

    fn push_dwells(&mut self, i: usize, pivot: usize) -> bool {
        let Node { start, longest, before, after, .. } = self.nodes[i];
        (after == NONE || self.raise_and_go_on(after, start + self.nodes[after].soonest, pivot))
            && (before == NONE || self.raise_and_go_on(before, start - longest, pivot))
    }

    fn raise_and_go_on(&mut self, id: usize, t: i64, pivot: usize) -> bool {
        if t <= self.nodes[id].start {
            return true;
        }
        self.queue.push_back(id);
        self.raise(id, t, pivot)
    }

    /// Raises a start. False if that cannot hold.
    fn raise(&mut self, id: usize, t: i64, pivot: usize) -> bool {
        let node = &mut self.nodes[id];
        let end = t + node.tail;
        if id == pivot || t > node.latest || end > self.bound {
            return false;
        }
        self.trail.push((id, node.start));
        node.start = t;
        let job = node.job;
        self.affords(job, end)
    }

    /// Sets what the order has to cost less than from now on.
    pub fn stay_below(&mut self, limit: Cost) {
        self.limit = limit;
        let priced = limit != Cost::WORST;
        for (price, job) in self.prices.iter_mut().zip(&self.core.jobs) {
            *price = match job.due {
                _ if !priced => (NEVER, 0),
                _ if limit.late == 0 => (-NEVER, 1),
                due => due.unwrap_or((NEVER, 0)),
            };
        }
    }

    /// Reckons what the next push may cost in all: many jobs a little later each are soon too much.
    fn reckon(&mut self) {
        // Without a limit nothing costs too much.
        if self.limit == Cost::WORST {
            self.spare = i64::MAX;
            return;
        }
        for j in 0..self.known.len() {
            self.known[j] = self.end_at_least(j);
        }
        let cost = Cost::of_ends(self.core, self.known.iter().copied());
        self.spare = if self.limit.late > 0 {
            self.limit.late.saturating_sub(cost.late)
        } else if cost.end >= self.limit.end {
            self.limit.sum.saturating_sub(cost.sum)
        } else {
            i64::MAX
        };
    }

    /// Takes note that a job ends no earlier. False if that costs too much.
    fn affords(&mut self, job: usize, end: i64) -> bool {
        let known = &mut self.known[job];
        if end <= *known {
            return true;
        }
        let (due, weight) = self.prices[job];
        self.spare -= weight * (end.max(due) - (*known).max(due));
        *known = end;
        self.spare >= 0
    }

    /// Raises a start while all are worked out anew.
    fn want(&mut self, id: usize, t: i64) {
        if t > self.nodes[id].start {
            self.nodes[id].start = t;
            self.queue.push_back(id);
        }
    }

    /// All earliest starts anew, for the order as it stands. False if it cannot hold.
    pub fn recompute(&mut self) -> bool {
        self.trail.clear();
        self.queue.clear();
        let mut id = self.nodes[HEAD].next;
        let mut count = 0;
        while id != NONE {
            self.nodes[id].start = self.earliest(id, self.nodes[id].prev);
            self.queue.push_back(id);
            count += 1;
            id = self.nodes[id].next;
        }
        // Only longest dwells can push backwards; each round settles at least one haul if the order can hold.
        let mut steps = 0;
        while let Some(i) = self.queue.pop_front() {
            steps += 1;
            if steps > count * (count + 2) || self.nodes[i].start > self.nodes[i].f.upper {
                return false;
            }
            let (until, mut next) = (self.bears_until(i), self.nodes[i].next);
            while next != NONE {
                let t = self.after_one(i, &self.nodes[next].f);
                self.want(next, t);
                next = if self.nodes[next].start < until { self.nodes[next].next } else { NONE };
            }
            let Node { start, longest, before, after, .. } = self.nodes[i];
            if after != NONE {
                self.want(after, start + self.nodes[after].soonest);
            }
            if before != NONE {
                self.want(before, start - longest);
            }
        }
        true
    }

    /// Takes out the hauls of a job from the `keep`-th on. Starts are stale until [`Draft::recompute`].
    pub fn remove(&mut self, job: usize, keep: usize) {
        while self.placed[job] > keep {
            self.placed[job] -= 1;
            let id = self.node(job, self.placed[job]);
            self.leave(id);
            self.unlink(id);
        }
    }

    /// The stop a job is at after the hauls that are in; `None` if none is.
    pub fn stop(&self, job: usize) -> Option<usize> {
        self.last(job).map(|n| self.nodes[n].stop)
    }

    /// What the others draw: from which node to which, [`NONE`] for the beginning and for good, and how many watts.
    pub fn draws(&self, job: usize, mut draw: impl FnMut(usize, usize, i64)) {
        for &n in self.powered.iter().filter(|&&n| self.nodes[n].job != job) {
            draw(n, self.nodes[n].after, self.nodes[n].power);
        }
        for (j, own) in self.core.jobs.iter().enumerate().filter(|(j, own)| own.live && *j != job) {
            let first = if self.placed[j] == 0 { NONE } else { self.node(j, 0) };
            draw(NONE, first, own.stops[0].power);
        }
    }
}
