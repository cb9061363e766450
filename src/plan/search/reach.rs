//! Which places in an order one job can use at all: a relaxation that looks at the job alone.
//!
//! Looked at once per dive, from where the job is to its unload.
//!
//! The others keep their order; each of their hauls may start anywhere between its earliest and its latest start. A haul
//! of the job fits between two neighbours if some start suits both, and two hauls of the job fit together if the dwell
//! between them suits the window and nobody else needs the tank meanwhile. Intervals of possible instants are pushed
//! through the places forwards, then what leads nowhere is cut away backwards. What is left may still clash, because
//! shifting one neighbour shifts another; what is cut away is certainly no use.
//!
//! A slot is a position in the order as it was without the job: slot `i` is right behind the `i`-th haul, slot 0 right
//! behind the head.

use std::rc::Rc;

use super::chain::Chain;
use super::core::NEVER;
use super::draft::{Draft, HEAD, NONE};
use super::route::{Figures, Stop, Trip};
use crate::ids::{Id as _, TankId};
use crate::line::Visit;

/// Far in the past; far from overflow.
const EVER: i64 = -NEVER;

/// Where the others are, slot by slot; the same for a whole dive.
pub struct Lanes {
    job: usize,
    /// Nodes by position, from the first that matters on.
    order: Vec<usize>,
    /// Positions by node; what comes before the first counts as there.
    pos: Vec<usize>,
    /// Hauls that come before it.
    left_out: usize,
    /// Tanks that are only dipped into, with the position of the haul.
    dips: Vec<(usize, TankId)>,
    /// Power drawn behind each slot; empty if there is no cap.
    power: Vec<i64>,
    /// How the hauls follow each other.
    chain: Chain,
    /// Known lanes by tank and power drawn.
    known: Vec<(TankId, i64, Rc<Lane>)>,
    /// Work done, in steps of a few nanoseconds.
    pub steps: u64,
}

/// One tank, for a stay that draws a certain power.
struct Lane {
    /// There is room behind a slot.
    free: Vec<bool>,
    /// The last slot behind which a stay can end that was there behind a slot.
    until: Vec<usize>,
}

impl Lanes {
    /// What everybody but `job` does from a node on: nothing goes behind what comes before it.
    pub fn new(draft: &Draft, job: usize, first: usize) -> Self {
        let mut pos = vec![0; draft.nodes.len()];
        let (mut order, mut dips) = (Vec::new(), Vec::new());
        let mut id = first;
        while id != NONE {
            pos[id] = order.len();
            if id != HEAD && draft.nodes[id].job != job {
                dips.extend(draft.trip(id).dips().map(|tank| (order.len(), tank)));
            }
            order.push(id);
            id = draft.nodes[id].next;
        }
        let slots = order.len();
        let mut power = Vec::new();
        if draft.core.cap < NEVER {
            // First by how much it changes at each slot.
            power.resize(slots, 0);
            draft.draws(job, |from, to, watts| {
                power[if from == NONE { 0 } else { pos[from] }] += watts;
                if to != NONE {
                    power[pos[to]] -= watts;
                }
            });
            let mut all = 0;
            for here in &mut power {
                all += *here;
                *here = all;
            }
        }
        let all = 1 + draft.placed.iter().sum::<usize>();
        // A try is worth as much wherever it is, so that budgets last as long.
        let steps = 2 * all as u64;
        let chain = Chain::new(draft, &order, &pos);
        Self { job, order, pos, left_out: all - slots, dips, power, chain, known: Vec::new(), steps }
    }

    /// When the job was down in a spot at the latest, as the chain counts, if the hoist had what comes behind that slot still
    /// before it.
    fn left(&self, draft: &Draft, spot: &Spot, slot: usize) -> i64 {
        match self.order.get(slot + 1) {
            Some(&next) if spot.unhook < NEVER => self.chain.left(
                draft,
                next,
                slot,
                (draft.core.jobs[self.job].stops[spot.stop].tank, spot.unhook),
            ),
            _ => NEVER,
        }
    }

    /// True if the hoist has too much to do before a haul behind a slot, for what has to have been `left` there by then.
    fn overstays(&self, draft: &Draft, left: i64, slot: usize, f: &Figures) -> bool {
        self.chain.behind(draft, self.order[slot], slot, f).soonest - (f.max - f.lift) > left
    }

    /// The slot that has a place in the whole order; one that is left out is the first.
    pub fn slot_at(&self, place: usize) -> usize {
        place.saturating_sub(self.left_out)
    }

    /// The slot behind a node that was in.
    pub fn slot(&self, node: usize) -> usize {
        self.pos[node]
    }

    /// The node a slot is behind.
    pub fn node(&self, slot: usize) -> usize {
        self.order[slot]
    }

    fn lane(&mut self, draft: &Draft, tank: TankId, own: i64) -> Rc<Lane> {
        if let Some((.., lane)) = self.known.iter().find(|(t, o, _)| *t == tank && *o == own) {
            return Rc::clone(lane);
        }
        let slots = self.order.len();
        self.steps += (self.left_out + slots) as u64 / 4;
        let mut free = vec![true; slots];
        let station = draft.core.station[tank.ix()];
        if !station {
            let mut inside = vec![0_u16; slots];
            draft.stays(tank, self.job, |from, to| {
                let from = if from == NONE { 0 } else { self.pos[from] };
                let to = if to == NONE { slots } else { self.pos[to] };
                inside[from..to].iter_mut().for_each(|n| *n += 1);
            });
            let capacity = draft.core.capacity[tank.ix()];
            free.iter_mut().zip(inside).for_each(|(free, n)| *free = usize::from(n) < capacity);
            if own > 0 {
                let within = self.power.iter().map(|power| power + own <= draft.core.cap);
                free.iter_mut().zip(within).for_each(|(free, within)| *free &= within);
            }
        }
        let mut until = vec![0; slots];
        let mut last = slots - 1;
        let mut dips = self.dips.iter().rev().filter(|(_, t)| !station && *t == tank).peekable();
        for slot in (0..slots).rev() {
            until[slot] = last;
            let mut dipped = false;
            while dips.next_if(|(at, _)| *at == slot).is_some() {
                dipped = true;
            }
            if !free[slot] || dipped {
                last = slot.max(1) - 1;
            }
        }
        let lane = Rc::new(Lane { free, until });
        self.known.push((tank, own, Rc::clone(&lane)));
        lane
    }
}

/// When a job can be down in a place, having gone there behind one slot. Empty if `lo > hi`.
#[derive(Debug, Clone, Copy)]
struct Cell {
    lo: i64,
    hi: i64,
    /// The job ends no earlier if it goes this way; [`NEVER`] if it cannot.
    end: i64,
}

impl Cell {
    const DEAD: Self = Self { lo: NEVER, hi: EVER, end: NEVER };

    fn alive(&self) -> bool {
        self.lo <= self.hi
    }
}

/// A stop the job may be at after so many hauls.
struct Spot {
    stop: usize,
    lane: Rc<Lane>,
    /// The slot of the first cell.
    first: usize,
    cells: Vec<Cell>,
    ways: Vec<Way>,
    /// From being down here to being unhooked at the least; [`NEVER`] if it was there before.
    unhook: i64,
}

/// A haul out of a spot.
struct Way {
    trip: usize,
    /// The spot it leads to, in the next level.
    to: usize,
    /// First and last start behind each slot from the spot's first on; the first is later where there is no room.
    starts: Vec<(i64, i64)>,
}

/// One way to go on.
#[derive(Debug, Clone, Copy)]
pub struct Onward {
    pub trip: usize,
    pub slot: usize,
    /// The job ends no earlier.
    pub end: i64,
    /// It starts no earlier.
    pub first: i64,
    /// The spot it leads to.
    pub to: usize,
}

/// Where a job is on its way.
#[derive(Debug, Clone, Copy)]
pub struct At {
    pub level: usize,
    pub spot: usize,
    /// The slot it came behind.
    pub slot: usize,
    /// When it is down, at the earliest and at the latest.
    pub down: (i64, i64),
}

/// From where a job goes on.
#[derive(Debug, Clone, Copy)]
pub struct From {
    pub stop: usize,
    /// The slot it came behind.
    pub slot: usize,
    /// When it is down, at the earliest and at the latest.
    pub down: (i64, i64),
    /// Standby tanks may be used.
    pub holds: bool,
    /// Slots the first haul may go behind.
    pub first: (usize, usize),
}

/// Where a job can be after so many hauls, and what leads on from there: the relaxation as a whole.
pub struct Ahead {
    levels: Vec<Vec<Spot>>,
}

impl Ahead {
    /// All ways of a job from where it is to its unload.
    pub fn new(draft: &Draft, lanes: &mut Lanes, from: From) -> Self {
        let stops = &draft.core.jobs[lanes.job].stops;
        let mut lane = lanes.lane(draft, stops[from.stop].tank, stops[from.stop].power);
        // With the hoist attached nothing can come between.
        let hooked = stops[from.stop].beginning && draft.core.jobs[lanes.job].hooked.is_some();
        let last = if hooked { from.slot } else { from.first.1 };
        if last < lane.until[from.slot] {
            let mut until = lane.until.clone();
            until[from.slot] = last;
            lane = Rc::new(Lane { free: Vec::new(), until });
        }
        let cell = Cell { lo: from.down.0, hi: from.down.1, end: NEVER };
        let mut levels = vec![vec![Spot {
            stop: from.stop,
            lane,
            first: from.slot,
            cells: vec![cell],
            ways: Vec::new(),
            unhook: draft.last(lanes.job).map_or(NEVER, |n| draft.nodes[n].f.total - draft.nodes[n].f.down),
        }]];
        loop {
            let level = levels.last_mut().expect("begins with one");
            let next = push(draft, lanes, stops, level, from);
            if next.is_empty() {
                break;
            }
            levels.push(next);
        }
        for k in (0..levels.len()).rev() {
            let (head, tail) = levels.split_at_mut(k + 1);
            let next = tail.first().map_or(&[][..], |next| next);
            for spot in &mut head[k] {
                lanes.steps += spot.cut(draft, lanes, stops, next);
            }
        }
        Self { levels }
    }

    /// The stop the job is at.
    pub fn stop(&self, at: At) -> usize {
        self.levels[at.level][at.spot].stop
    }

    /// The ways on from a spot where the job came behind `slot` and is down in this interval, in no order.
    pub fn ways(&self, draft: &Draft, lanes: &mut Lanes, at: At) -> Vec<Onward> {
        let stops = &draft.core.jobs[lanes.job].stops;
        let spot = &self.levels[at.level][at.spot];
        let mut found = Vec::new();
        let Some(next) = self.levels.get(at.level + 1) else { return found };
        let here = Cell { lo: at.down.0, hi: at.down.1, end: NEVER };
        let left = lanes.left(draft, spot, at.slot);
        for way in &spot.ways {
            let f = &stops[spot.stop].trips[way.trip].figures;
            let to = &next[way.to];
            for q in at.slot.max(to.first)..=spot.lane.until[at.slot] {
                lanes.steps += 1;
                let Some(cell) = to.cells.get(q - to.first) else { break };
                let Some(&(first, last)) = way.starts.get(q - spot.first) else { break };
                if first < NEVER && first > here.hi + f.max - f.lift {
                    break;
                }
                if q > at.slot && lanes.overstays(draft, left, q, f) {
                    break;
                }
                if cell.end < NEVER && first <= last && here.fits(f, (first, last), cell) {
                    found.push(Onward { trip: way.trip, slot: q, end: cell.end, first, to: way.to });
                }
            }
        }
        found
    }
}

/// The spots one haul further on.
fn push(draft: &Draft, lanes: &mut Lanes, stops: &[Stop], level: &mut [Spot], from: From) -> Vec<Spot> {
    let mut next: Vec<Spot> = Vec::new();
    for spot in level {
        let trips = &stops[spot.stop].trips;
        for (number, trip) in trips.iter().enumerate().filter(|(_, t)| from.holds || !t.hold) {
            let f = &trip.figures;
            let into = lanes.lane(draft, f.to, stops[trip.to].power);
            let dips: Vec<Rc<Lane>> = trip.dips().map(|tank| lanes.lane(draft, tank, 0)).collect();
            let end = lanes.order.len() - 1;
            // What ends in a bath has it for good.
            let for_good = |slot: usize| !trip.unloads || into.until[slot] == end;
            let room = |slot: usize| {
                slot >= from.first.0
                    && into.free[slot]
                    && for_good(slot)
                    && dips.iter().all(|lane| lane.free[slot])
            };
            let (starts, cells) = spot.push(draft, lanes, trip, room);
            let Some(begin) = cells.iter().position(Cell::alive) else { continue };
            let first = spot.first + begin;
            let to = next.iter().position(|s| s.stop == trip.to).unwrap_or_else(|| {
                let lane = Rc::clone(&into);
                next.push(Spot {
                    stop: trip.to,
                    lane,
                    first,
                    cells: Vec::new(),
                    ways: Vec::new(),
                    unhook: NEVER,
                });
                next.len() - 1
            });
            next[to].unhook = next[to].unhook.min(f.total - f.down);
            next[to].merge(first, &cells[begin..]);
            spot.ways.push(Way { trip: number, to, starts });
        }
    }
    next
}

impl Spot {
    /// Pushes all cells on by one haul: its starts and the cells it leads to, both from this spot's first slot on.
    fn push(
        &self,
        draft: &Draft,
        lanes: &mut Lanes,
        trip: &Trip,
        room: impl Fn(usize) -> bool,
    ) -> (Vec<(i64, i64)>, Vec<Cell>) {
        let f = &trip.figures;
        let latest = draft.latest_alone(lanes.job, f);
        let likely = self.cells.len() + 8;
        let (mut starts, mut cells) = (Vec::with_capacity(likely), Vec::with_capacity(likely));
        // Cells come in order of time: the first that still lasts gives the earliest start, the last the latest.
        let (mut oldest, mut hi) = (0, EVER);
        let end = self.cells.len();
        for slot in self.first..lanes.order.len() {
            lanes.steps += 1;
            let i = slot - self.first;
            if let Some(cell) = self.cells.get(i).filter(|c| c.alive()) {
                hi = hi.max(cell.hi);
            }
            let here = lanes.chain.behind(draft, lanes.order[slot], slot, f);
            let (first, soonest) = (f.lower.max(here.first), here.soonest - (f.max - f.lift));
            while oldest < end.min(i + 1)
                && (!self.cells[oldest].alive()
                    || self.lane.until[self.first + oldest] < slot
                    || self.cells[oldest].hi + f.max - f.lift < first
                    || (self.first + oldest < slot && soonest > lanes.left(draft, self, self.first + oldest)))
            {
                oldest += 1;
            }
            if oldest >= end {
                break;
            }
            starts.push((NEVER, EVER));
            cells.push(Cell::DEAD);
            if oldest > i || !room(slot) {
                continue;
            }
            let next = lanes.order.get(slot + 1);
            let before = next.map_or(Some(NEVER), |&next| lanes.chain.before(draft, next, slot, f, here));
            let Some(last) = before.map(|before| latest.min(before)) else { continue };
            starts[i] = (first, last);
            let lo = first.max(self.cells[oldest].lo + f.min - f.lift);
            let hi = last.min(hi + f.max - f.lift);
            if lo <= hi {
                cells[i] = Cell { lo: lo + f.down, hi: hi + f.down, end: NEVER };
            }
        }
        (starts, cells)
    }

    /// Takes in the cells another haul leads to.
    fn merge(&mut self, first: usize, cells: &[Cell]) {
        if first < self.first {
            let missing = std::iter::repeat_n(Cell::DEAD, self.first - first);
            self.cells.splice(0..0, missing);
            self.first = first;
        }
        let offset = first - self.first;
        if self.cells.len() < offset + cells.len() {
            self.cells.resize(offset + cells.len(), Cell::DEAD);
        }
        for (own, cell) in self.cells[offset..].iter_mut().zip(cells) {
            own.lo = own.lo.min(cell.lo);
            own.hi = own.hi.max(cell.hi);
        }
    }

    /// Finds the least end from each cell; returns the work it was.
    fn cut(&mut self, draft: &Draft, lanes: &Lanes, stops: &[Stop], next: &[Self]) -> u64 {
        let mut steps = 0;
        if next.is_empty() || stops[self.stop].visit == Visit::Unload {
            for cell in self.cells.iter_mut().filter(|c| c.alive()) {
                cell.end = cell.lo + stops[self.stop].tail;
            }
            return self.cells.len() as u64;
        }
        for i in 0..self.cells.len() {
            if !self.cells[i].alive() {
                continue;
            }
            let left = lanes.left(draft, self, self.first + i);
            for way in &self.ways {
                let trip = &stops[self.stop].trips[way.trip];
                let to = &next[way.to];
                let until = self.lane.until[self.first + i];
                let begin = (self.first + i).max(to.first);
                let unhook = if trip.unloads { trip.figures.total - trip.figures.down } else { 0 };
                for slot in begin..(until + 1).min(to.first + to.cells.len()) {
                    steps += 1;
                    let there = &to.cells[slot - to.first];
                    let Some(&(first, last)) = way.starts.get(slot - self.first) else { break };
                    if there.end >= NEVER || first > last {
                        continue;
                    }
                    if slot > self.first + i && lanes.overstays(draft, left, slot, &trip.figures) {
                        break;
                    }
                    if self.cells[i].fits(&trip.figures, (first, last), there) {
                        self.cells[i].end = self.cells[i].end.min(there.end + unhook);
                        // Later slots end later.
                        break;
                    }
                }
            }
        }
        steps
    }
}

impl Cell {
    /// True if a haul with these starts can lead from here to there.
    fn fits(&self, f: &Figures, (first, last): (i64, i64), there: &Self) -> bool {
        let first = first.max(there.lo - f.down).max(self.lo + f.min - f.lift);
        let last = last.min(there.hi - f.down).min(self.hi + f.max - f.lift);
        first <= last
    }
}
