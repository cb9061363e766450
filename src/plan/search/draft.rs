//! The mutable twin of a schedule: one order of hauls with the earliest start of each, kept consistent move by move.
//!
//! The order is a linked list; every rule of the timing model is a difference constraint between neighbours in it or
//! between consecutive hauls of one job. With several hoists starts never fall along the order, and every two hauls of
//! different hoists keep the lag of the rail; what lies further back than the longest lag cannot matter. A haul is put in with its constraints to both neighbours and its effect is
//! pushed on; what was changed is written down so that it can be taken back. A push that comes back to the haul that
//! caused it has found a cycle that cannot hold (Cesta and Oddi 1996, from memory).

use std::collections::VecDeque;
use std::rc::Rc;

use super::super::problem::Haul;
use super::super::rail::PathId;
use super::core::{Core, NEVER, Place};
use crate::ids::{HoistId, Id as _, TankId};
use crate::line::Visit;

/// The head of the order; no haul.
pub const HEAD: usize = 0;
/// No node.
pub const NONE: usize = usize::MAX;

/// One haul in the order.
#[derive(Debug, Clone)]
pub struct Node {
    pub job: usize,
    pub hauls: Option<Rc<Vec<Haul>>>,
    pub choice: usize,
    pub hoist: HoistId,
    path: PathId,
    pub from: TankId,
    pub to: TankId,
    pub visit: Visit,
    /// Lengths from the start of the haul.
    total: i64,
    lift: i64,
    down: i64,
    /// Kept free before the haul.
    reserve: i64,
    /// Window of the stay before the haul.
    min: i64,
    max: i64,
    /// Bounds on the start.
    lower: i64,
    upper: i64,
    /// From the start to the end of the job at the least.
    tail: i64,
    pub start: i64,
    pub prev: usize,
    pub next: usize,
    /// Neighbours in the job.
    pub before: usize,
    pub after: usize,
    label: i64,
}

impl Node {
    fn empty() -> Self {
        Self {
            job: NONE,
            hauls: None,
            choice: 0,
            hoist: HoistId(0),
            path: PathId::default(),
            from: TankId(0),
            to: TankId(0),
            visit: Visit::Load,

            total: 0,
            lift: 0,
            down: 0,
            reserve: 0,
            min: 0,
            max: NEVER,
            lower: 0,
            upper: NEVER,
            tail: 0,
            start: 0,
            prev: NONE,
            next: NONE,
            before: NONE,
            after: NONE,
            label: 0,
        }
    }

    pub fn haul(&self) -> &Haul {
        &self.hauls.as_ref().expect("a node in the order has a haul")[self.choice]
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
    trail: Vec<(usize, i64)>,
    queue: VecDeque<usize>,
}

/// A point to come back to.
#[derive(Debug, Clone, Copy)]
pub struct Mark(usize);

impl<'c, 'p, 's> Draft<'c, 'p, 's> {
    pub fn new(core: &'c Core<'p, 's>) -> Self {
        let rooms: usize = core.jobs.iter().map(|j| j.room).sum();
        let mut nodes = vec![Node::empty(); rooms + 1];
        for (j, job) in core.jobs.iter().enumerate() {
            for node in &mut nodes[job.base..job.base + job.room] {
                node.job = j;
            }
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
            trail: Vec::new(),
            queue: VecDeque::new(),
        }
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
        self.last(job).is_some_and(|n| self.nodes[n].visit == Visit::Unload)
    }

    /// When a job ends at the least, by what is in of it.
    pub fn end_at_least(&self, job: usize) -> i64 {
        self.last(job).map_or(0, |n| self.nodes[n].start + self.nodes[n].tail)
    }

    pub fn mark(&self) -> Mark {
        Mark(self.trail.len())
    }

    /// The earliest start of `next` after `before` of the same hoist.
    fn behind_own(&self, before: usize, next: usize) -> i64 {
        let (a, b) = (&self.nodes[before], &self.nodes[next]);
        a.start + a.total + self.core.change(b.hoist, a.to, b.from) + b.reserve
    }

    /// The earliest start of `next` behind `before`, neighbour or not, by those two alone.
    fn behind_one(&self, before: usize, next: usize) -> i64 {
        let (a, b) = (&self.nodes[before], &self.nodes[next]);
        if a.hoist == b.hoist {
            return self.behind_own(before, next);
        }
        a.start + (self.core.problem.rail.lag(a.path, b.path) + b.reserve).max(0)
    }

    /// With several hoists: what starts so much earlier than a haul has no bearing on it.
    fn reach(&self) -> i64 {
        self.core.problem.rail.longest_lag() + self.core.rules.reserve.0
    }

    /// The earliest start of `next` right behind `slot`.
    fn behind(&self, slot: usize, next: usize) -> i64 {
        let b = &self.nodes[next];
        let first = self.core.first[b.hoist.ix()][b.from.ix()];
        if self.core.alone {
            return if slot == HEAD { first } else { self.behind_own(slot, next) };
        }
        let reach = self.reach();
        let (mut start, mut at) = (first, slot);
        while at != HEAD && self.nodes[at].start + reach > start {
            start = start.max(self.behind_one(at, next));
            at = self.nodes[at].prev;
        }
        start
    }

    /// The start of `id` bears on the next node, and on those behind it that start before this.
    fn bears_until(&self, id: usize) -> i64 {
        if self.core.alone { i64::MIN } else { self.nodes[id].start + self.reach() }
    }

    /// Puts the next haul of a job right behind `slot`. False, and nothing changed, if that cannot hold.
    pub fn insert(
        &mut self,
        job: usize,
        place: Place,
        hauls: &Rc<Vec<Haul>>,
        choice: usize,
        slot: usize,
    ) -> bool {
        let mark = self.mark();
        let id = self.prepare(job, place, hauls, choice);
        let next = self.nodes[slot].next;
        self.link(id, slot, next);
        let start = self.earliest(id, slot);
        self.nodes[id].start = start;
        self.placed[job] += 1;
        let node = &self.nodes[id];
        if start > node.upper || start + node.tail > self.bound || !self.push_from(id) {
            self.undo_insert(job, mark);
            return false;
        }
        self.enter(id);
        true
    }

    /// The earliest start behind `slot` alone, whatever it does to those behind: for scanning.
    pub fn earliest_behind(
        &mut self,
        job: usize,
        place: Place,
        hauls: &Rc<Vec<Haul>>,
        choice: usize,
        slot: usize,
    ) -> i64 {
        let id = self.prepare(job, place, hauls, choice);
        self.earliest(id, slot)
    }

    /// The earliest start of a node behind `slot` and after its job's haul before.
    fn earliest(&self, id: usize, slot: usize) -> i64 {
        let start = self.nodes[id].lower.max(self.behind(slot, id));
        let before = self.nodes[id].before;
        if before == NONE { start } else { start.max(self.after_dwell(before, id)) }
    }

    /// The start and tail a prepared node would have to keep within.
    pub fn limit(&self, job: usize) -> i64 {
        let id = self.node(job, self.placed[job]);
        self.nodes[id].upper.min(self.bound.saturating_sub(self.nodes[id].tail))
    }

    fn prepare(&mut self, job: usize, place: Place, hauls: &Rc<Vec<Haul>>, choice: usize) -> usize {
        let core = self.core;
        let n = self.placed[job];
        let id = self.node(job, n);
        let haul = &hauls[choice];
        let (first, last) = (haul.first(), haul.last());
        let lift = first.phases.to_lift().0;
        let (min, max) = core.window(job, place.visit);
        let (mut lower, mut upper) = (core.problem.now.0, NEVER);
        if n == 0 {
            // A queued carrier is not touched before it is racked; one in a tank is lifted inside its window.
            let (lo, hi) = place.lift;
            lower = if core.jobs[job].live { lower.max(lo - lift) } else { lower.max(lo) };
            upper = hi.saturating_sub(lift);
        }
        let mut offset_down = 0;
        for leg in &haul.legs {
            offset_down = (leg.offset + leg.phases.to_down()).0;
            if !core.station[leg.to.ix()] {
                let (from, until) = core.available[leg.to.ix()];
                lower = lower.max(from - offset_down);
                upper = upper.min(until.saturating_sub(offset_down));
            }
        }
        if !core.station[place.tank.ix()] {
            upper = upper.min(core.available[place.tank.ix()].1.saturating_sub(lift));
        }
        if !core.alone {
            lower = lower.max(core.others_gone(haul.hoist, haul.path));
        }
        let unload = if last.visit == Visit::Unload { haul.total.0 } else { offset_down };
        let tail = unload + core.tail(job, last.visit, last.to);
        let before = n.checked_sub(1).map_or(NONE, |n| self.node(job, n));
        let old = &self.nodes[id];
        let (start, label) = (old.start, old.label);
        self.nodes[id] = Node {
            job,
            hauls: Some(Rc::clone(hauls)),
            choice,
            hoist: haul.hoist,
            path: haul.path,
            from: first.from,
            to: last.to,
            visit: last.visit,

            total: haul.total.0,
            lift,
            down: offset_down,
            reserve: if first.attach { core.rules.reserve.0 } else { 0 },
            min,
            max,
            lower,
            upper,
            tail,
            start,
            prev: NONE,
            next: NONE,
            before,
            after: NONE,
            label,
        };
        id
    }

    fn after_dwell(&self, before: usize, id: usize) -> i64 {
        let (a, b) = (&self.nodes[before], &self.nodes[id]);
        a.start + a.down + b.min - b.lift
    }

    /// The place of a node in the order, as a number that only compares.
    pub fn label(&self, id: usize) -> i64 {
        self.nodes[id].label
    }

    /// The latest start of a prepared node by its longest dwell, as its predecessor in the job stands.
    pub fn dwell_end(&self, id: usize) -> Option<i64> {
        let node = &self.nodes[id];
        if node.before == NONE {
            return Some(node.upper);
        }
        let before = &self.nodes[node.before];
        (node.max < NEVER).then(|| before.start + before.down + node.max - node.lift)
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

    fn enter(&mut self, id: usize) {
        let (to, job, visit) = (self.nodes[id].to, self.nodes[id].job, self.nodes[id].visit);
        if !self.core.station[to.ix()] {
            self.into[to.ix()].push(id);
            if self.core.power(job, visit) > 0 {
                self.powered.push(id);
            }
        }
    }

    fn leave(&mut self, id: usize) {
        let to = self.nodes[id].to.ix();
        self.into[to].retain(|n| *n != id);
        self.powered.retain(|n| *n != id);
    }

    /// Pushes the start of `pivot` on to everything it bears on.
    fn push_from(&mut self, pivot: usize) -> bool {
        self.queue.clear();
        self.queue.push_back(pivot);
        while let Some(i) = self.queue.pop_front() {
            let (before, after) = (self.nodes[i].before, self.nodes[i].after);
            let (until, mut next) = (self.bears_until(i), self.nodes[i].next);
            while next != NONE {
                let t = self.behind_one(i, next);
                if !self.raise(next, t, pivot) {
                    return false;
                }
                next = if self.nodes[next].start < until { self.nodes[next].next } else { NONE };
            }
            if after != NONE {
                let t = self.after_dwell(i, after);
                if !self.raise(after, t, pivot) {
                    return false;
                }
            }
            if before != NONE && self.nodes[i].max < NEVER {
                let n = &self.nodes[i];
                let t = n.start + n.lift - n.max - self.nodes[before].down;
                if !self.raise(before, t, pivot) {
                    return false;
                }
            }
        }
        true
    }

    fn raise(&mut self, id: usize, t: i64, pivot: usize) -> bool {
        let node = &mut self.nodes[id];
        if t <= node.start {
            return true;
        }
        if id == pivot || t > node.upper || t + node.tail > self.bound {
            return false;
        }
        self.trail.push((id, node.start));
        node.start = t;
        self.queue.push_back(id);
        true
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
            if steps > count * (count + 2) || self.nodes[i].start > self.nodes[i].upper {
                return false;
            }
            let (before, after) = (self.nodes[i].before, self.nodes[i].after);
            let (until, mut next) = (self.bears_until(i), self.nodes[i].next);
            while next != NONE {
                let t = self.behind_one(i, next);
                self.want(next, t);
                next = if self.nodes[next].start < until { self.nodes[next].next } else { NONE };
            }
            if after != NONE {
                let t = self.after_dwell(i, after);
                self.want(after, t);
            }
            if before != NONE && self.nodes[i].max < NEVER {
                let n = &self.nodes[i];
                let t = n.start + n.lift - n.max - self.nodes[before].down;
                self.want(before, t);
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

    /// Where a job is after the hauls that are in.
    pub fn place(&self, job: usize) -> Option<Place> {
        let n = self.last(job)?;
        Some(Place { visit: self.nodes[n].visit, tank: self.nodes[n].to, lift: (0, NEVER) })
    }

    /// True if a tank has no room right behind `slot`, for a newcomer of another job.
    fn full_behind(&self, tank: TankId, slot: usize, job: usize) -> bool {
        let at = self.nodes[slot].label;
        let inside = self.into[tank.ix()].iter().filter(|&&n| {
            let node = &self.nodes[n];
            node.job != job && node.label <= at && (node.after == NONE || self.nodes[node.after].label > at)
        });
        let standing = self.standing[tank.ix()]
            .iter()
            .filter(|&&j| j != job && self.placed[j] > 0 && self.nodes[self.node(j, 0)].label > at);
        inside.count() + standing.count() >= self.core.capacity[tank.ix()]
    }

    /// True if everything a haul goes into has room right behind `slot`.
    pub fn room_behind(&self, haul: &Haul, slot: usize, job: usize) -> bool {
        haul.legs.iter().all(|leg| self.core.station[leg.to.ix()] || !self.full_behind(leg.to, slot, job))
            && self.power_behind(haul, slot, job)
    }

    fn power_behind(&self, haul: &Haul, slot: usize, job: usize) -> bool {
        let own = self.core.power(job, haul.last().visit);
        own == 0 || self.power_at(slot, job) + own <= self.core.cap
    }

    /// Power that others draw right behind `slot`.
    fn power_at(&self, slot: usize, job: usize) -> i64 {
        if self.core.cap >= NEVER {
            return 0;
        }
        let at = self.nodes[slot].label;
        let moved = self.powered.iter().filter(|&&n| {
            let node = &self.nodes[n];
            node.job != job && node.label <= at && (node.after == NONE || self.nodes[node.after].label > at)
        });
        let moved: i64 = moved.map(|&n| self.core.power(self.nodes[n].job, self.nodes[n].visit)).sum();
        let standing = (0..self.core.jobs.len()).filter(|&j| {
            self.core.jobs[j].live
                && j != job
                && (self.placed[j] == 0 || self.nodes[self.node(j, 0)].label > at)
        });
        moved + standing.map(|j| self.core.power(j, self.core.jobs[j].places[0].visit)).sum::<i64>()
    }

    /// True if a stay in `place` cannot last beyond the haul `id`: it fills the tank or takes the power the stay needs.
    pub fn ends_stay(&self, place: Place, id: usize, job: usize) -> bool {
        let node = &self.nodes[id];
        if self.core.station[place.tank.ix()] {
            return false;
        }
        let passes = node.hauls.is_some() && node.haul().legs.iter().any(|leg| leg.to == place.tank);
        if passes && self.core.capacity[place.tank.ix()] == 1 {
            return true;
        }
        if passes && self.full_behind(place.tank, node.prev, job) {
            return true;
        }
        let own = self.core.power(job, place.visit);
        own > 0 && self.core.power(node.job, node.visit) > 0 && self.power_at(id, job) + own > self.core.cap
    }
}
