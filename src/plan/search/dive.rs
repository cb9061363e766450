//! Puts one job into an order of others: depth first, best looking haul first, with a bound, the others' hauls shifting
//! inside their windows as they must.

use std::collections::BTreeMap;

use super::core::NEVER;
use super::cost::Cost;
use super::draft::Draft;
use super::reach::{Ahead, At, From, Lanes, Onward};
use crate::rng::Rng;

/// How much a dive may try.
#[derive(Debug, Clone, Copy)]
pub struct Effort {
    /// Trial insertions in all.
    pub tries: u64,
    /// Choices gone into at each haul.
    pub width: usize,
    /// Releases gone into.
    pub releases: usize,
    /// Chance to overlook a choice, so that no two dives are the same.
    pub blink: f64,
    /// Standby tanks may be used.
    pub holds: bool,
    /// How much later the hauls of others may become.
    pub give: i64,
    /// Slots a release may go behind.
    pub window: (usize, usize),
    /// A place that led to nothing is gone into again, if it is reached by another way: the others may have given way less.
    /// It leads to nothing again more often than not, so whoever comes back later leaves it.
    pub thorough: bool,
}

/// Hauls put in that count as one try.
const HAULS_PER_TRY: u64 = 2;

/// Hauls that a dive still puts in once it has found a way: what comes after is hardly more than a better sum of all ends.
const ONCE_FOUND: u64 = 300;

/// Steps of looking at what is possible that take as long as putting one haul in.
const STEPS_PER_HAUL: u64 = 100;

/// One haul put in: from which stop, which trip, and behind which node.
#[derive(Debug, Clone, Copy)]
struct Step {
    from: usize,
    trip: usize,
    behind: usize,
}

/// A dive of one job.
pub struct Dive<'r> {
    job: usize,
    effort: Effort,
    rng: &'r mut Rng,
    lanes: Lanes,
    path: Vec<Step>,
    best: Option<Found>,
    /// Places that led to nothing better, by level, spot and slot, and when the job was down there.
    dead: BTreeMap<(usize, usize, usize), (i64, i64)>,
    /// Hauls put in so far.
    hauls: u64,
    /// Where this part of the dive stops, and where all of it does.
    stop_at: u64,
    end_at: u64,
}

/// A way to put a job in, and what the order costs then.
pub struct Found {
    pub cost: Cost,
    steps: Vec<Step>,
}

impl Found {
    /// Puts the job in, into the order it was found for.
    pub fn put(&self, draft: &mut Draft, job: usize) {
        for s in &self.steps {
            let held = draft.insert(job, s.from, s.trip, s.behind);
            debug_assert!(held, "what held once holds again");
        }
    }
}

/// Puts a job in where it costs least of what was tried, nothing before the node `floor`. The cost, and the tries it took;
/// no cost, and nothing changed, if nothing beat the limit.
pub fn put_in(
    draft: &mut Draft,
    job: usize,
    effort: Effort,
    rng: &mut Rng,
    floor: usize,
    limit: Cost,
) -> (Option<Cost>, u64) {
    let (found, tries) = seek(draft, job, effort, rng, floor, limit);
    if let Some(found) = &found {
        found.put(draft, job);
    }
    (found.map(|f| f.cost), tries)
}

/// The same, but the order stays as it is.
pub fn seek(
    draft: &mut Draft,
    job: usize,
    mut effort: Effort,
    rng: &mut Rng,
    floor: usize,
    limit: Cost,
) -> (Option<Found>, u64) {
    let last = draft.last(job);
    let first = last.unwrap_or_else(|| draft.behind(effort.window.0));
    let first = if draft.label(floor) > draft.label(first) { floor } else { first };
    if !draft.tighten(limit, job, effort.give) {
        draft.stay_below(Cost::WORST);
        return (None, 1);
    }
    let bound = draft.bound;
    let lanes = Lanes::new(draft, job, draft.dwells_from(first));
    effort.window = (lanes.slot_at(effort.window.0), lanes.slot_at(effort.window.1));
    let path = Vec::new();
    let dead = BTreeMap::new();
    let mut dive =
        Dive { job, effort, rng, lanes, path, best: None, dead, hauls: 0, stop_at: 0, end_at: u64::MAX };
    let floor = dive.lanes.slot(floor);
    if let Some(last) = last {
        let slot = dive.lanes.slot(last).max(floor);
        let stop = draft.nodes[last].stop;
        dive.begin(draft, stop, slot);
    } else {
        let slot = floor.max(effort.window.0);
        for stop in 0..draft.core.jobs[job].places.len() {
            dive.begin(draft, stop, slot);
        }
    }
    draft.bound = bound;
    draft.stay_below(Cost::WORST);
    let tries = dive.spent().div_ceil(HAULS_PER_TRY);
    (dive.best.take(), tries)
}

impl Dive<'_> {
    /// Hauls put in, and what looking ahead is worth in them.
    fn spent(&self) -> u64 {
        self.hauls + self.lanes.steps / STEPS_PER_HAUL
    }

    /// When the job is down where it is, at the earliest and at the latest.
    fn down(&self, draft: &Draft) -> (i64, i64) {
        let own = draft.last(self.job).map(|n| &draft.nodes[n]);
        own.map_or((-NEVER, NEVER), |n| (n.start + n.f.down, (n.latest + n.f.down).min(NEVER)))
    }

    /// True while nothing of a job from the queue is in.
    fn releases(&self, draft: &Draft) -> bool {
        draft.placed[self.job] == 0 && !draft.core.jobs[self.job].live
    }

    /// Dives from a stop, having looked at all ways out from there once.
    fn begin(&mut self, draft: &mut Draft, stop: usize, slot: usize) {
        let down = self.down(draft);
        let first = if self.releases(draft) { self.effort.window } else { (0, usize::MAX) };
        let ahead =
            Ahead::new(draft, &mut self.lanes, From { stop, slot, down, holds: self.effort.holds, first });
        self.dead.clear();
        // Looking at everything there is does not count against going into it.
        self.stop_at = self.effort.tries * HAULS_PER_TRY + self.spent();
        self.go_on(draft, &ahead, At { level: 0, spot: 0, slot, down });
    }

    fn go_on(&mut self, draft: &mut Draft, ahead: &Ahead, at: At) {
        if draft.complete(self.job) {
            self.arrive(draft);
            return;
        }
        let place = (at.level, at.spot, at.slot);
        if self.dead.get(&place).is_some_and(|(lo, hi)| *lo <= at.down.0 && at.down.1 <= *hi) {
            return;
        }
        let limit = draft.limit;
        let all = self.try_ways(draft, ahead, at);
        if all && draft.limit == limit && !self.effort.thorough {
            self.dead.insert(place, at.down);
        }
    }

    /// Goes the ways on from a place. False if what may be spent was, before all ways had their turn.
    fn try_ways(&mut self, draft: &mut Draft, ahead: &Ahead, at: At) -> bool {
        let release = self.releases(draft);
        let width = if release { self.effort.releases } else { self.effort.width };
        let ways = self.ways(draft, ahead, at, width);
        let stop_at = self.stop_at;
        let mut gone = 0;
        for way in ways {
            let spent = self.spent();
            if gone == width || spent >= stop_at.min(self.end_at) {
                break;
            }
            if release {
                // A fair share for each release.
                self.stop_at = stop_at.min(spent + (stop_at - spent) / (width - gone) as u64 + 1);
            }
            gone += usize::from(self.go(draft, ahead, at, way));
        }
        self.stop_at = stop_at;
        self.spent() < stop_at.min(self.end_at)
    }

    /// The ways on, best looking first.
    fn ways(&mut self, draft: &Draft, ahead: &Ahead, at: At, width: usize) -> Vec<Onward> {
        let mut ways = ahead.ways(draft, &mut self.lanes, at);
        ways.retain(|_| !self.rng.chance(self.effort.blink));
        ways.sort_unstable_by_key(|way| (way.end, way.first, way.slot, way.trip));
        if self.releases(draft) && ways.len() > width {
            self.thin_out(&mut ways, width);
        }
        ways
    }

    /// Goes one way to its end, if it holds and may lead to something better.
    fn go(&mut self, draft: &mut Draft, ahead: &Ahead, at: At, way: Onward) -> bool {
        let behind = match draft.last(self.job) {
            Some(own) if way.slot == at.slot => own,
            _ => self.lanes.node(way.slot),
        };
        let from = ahead.stop(at);
        self.hauls += 1;
        let mark = draft.mark();
        if !draft.insert(self.job, from, way.trip, behind) {
            return false;
        }
        let better = self.bound(draft, way) < draft.limit;
        if better {
            self.path.push(Step { from, trip: way.trip, behind });
            let down = self.down(draft);
            self.go_on(draft, ahead, At { level: at.level + 1, spot: way.to, slot: way.slot, down });
            self.path.pop();
        }
        draft.take_back(self.job, mark);
        better
    }

    /// What the order costs at the least; what was seen ahead knows more than the shortest way does.
    fn bound(&self, draft: &Draft, way: Onward) -> Cost {
        let mut cost = Cost::of(draft);
        cost.end = cost.end.max(way.end);
        cost.sum = cost.sum.saturating_add((way.end - draft.end_at_least(self.job)).max(0));
        cost
    }

    /// Keeps the best few and some of the rest.
    fn thin_out(&mut self, ways: &mut Vec<Onward>, width: usize) {
        // Behind everything there is always a way, if there is one at all.
        let last = (0..ways.len()).max_by_key(|&i| ways[i].first).unwrap_or(0);
        let sure = width.div_ceil(2);
        if last >= sure {
            ways.swap(width - 1, last);
            ways[sure..width].sort_by_key(|way| way.first);
        }
        for i in sure..(width - 1).min(ways.len()) {
            let j = i + self.rng.below(ways.len() - i);
            ways.swap(i, j);
        }
        ways.truncate(width);
    }

    fn arrive(&mut self, draft: &mut Draft) {
        let cost = Cost::of(draft);
        if cost < draft.limit {
            draft.stay_below(cost);
            if cost.late == 0 {
                draft.bound = draft.bound.min(cost.end);
            }
            self.best = Some(Found { cost, steps: self.path.clone() });
            self.end_at = self.end_at.min(self.spent() + ONCE_FOUND);
        }
    }
}
