//! Puts one job into an order of others: depth first, best looking haul first, with a bound, the others' hauls shifting
//! inside their windows as they must.

use super::core::NEVER;
use super::cost::Cost;
use super::draft::Draft;
use super::reach::{From, Lanes, Onward, onward};
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
}

/// Hauls looked ahead. A release is looked at to the end; after that what is near decides.
const DEPTH: usize = 3;

/// Steps of looking at what is possible that take as long as one trial insertion.
const STEPS_PER_TRY: u64 = 100;

/// One haul that could be put in next.
struct Candidate {
    cost: Cost,
    start: i64,
    slot: usize,
    step: Step,
}

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
    best: Option<(Cost, Vec<Step>)>,
    limit: Cost,
    /// Trial insertions so far.
    tries: u64,
    stop_at: u64,
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
    if !draft.tighten(limit, job, effort.give) {
        return (None, 1);
    }
    let lanes = Lanes::new(draft, job);
    let stop_at = effort.tries;
    let mut dive = Dive { job, effort, rng, lanes, path: Vec::new(), best: None, limit, tries: 0, stop_at };
    let bound = draft.bound;
    let floor = dive.lanes.slot(floor);
    if let Some(last) = draft.last(job) {
        let slot = dive.lanes.slot(last).max(floor);
        let stop = draft.nodes[last].stop;
        dive.go_on(draft, stop, slot);
    } else {
        for stop in 0..draft.core.jobs[job].places.len() {
            dive.go_on(draft, stop, floor);
        }
    }
    draft.bound = bound;
    let tries = dive.spent();
    let Some((cost, steps)) = dive.best.take() else { return (None, tries) };
    for s in steps {
        let held = draft.insert(job, s.from, s.trip, s.behind);
        debug_assert!(held, "what held once holds again");
    }
    (Some(cost), tries)
}

impl Dive<'_> {
    /// Trial insertions, and what looking ahead is worth in them.
    fn spent(&self) -> u64 {
        self.tries + self.lanes.steps / STEPS_PER_TRY
    }

    fn go_on(&mut self, draft: &mut Draft, stop: usize, slot: usize) {
        if draft.complete(self.job) {
            self.arrive(draft);
            return;
        }
        let own = draft.last(self.job).map(|n| &draft.nodes[n]);
        let down = own.map_or((-NEVER, NEVER), |n| (n.start + n.f.down, (n.latest + n.f.down).min(NEVER)));
        let release = draft.placed[self.job] == 0 && !draft.core.jobs[self.job].live;
        let ways = onward(
            draft,
            &mut self.lanes,
            From {
                stop,
                slot,
                down,
                holds: self.effort.holds,
                first: if release { self.effort.window } else { (0, usize::MAX) },
                depth: if release { usize::MAX } else { DEPTH },
            },
        );
        let width = if release { self.effort.releases } else { self.effort.width };
        let mut choices = self.choices(draft, stop, slot, &ways);
        if release {
            // Looking at everything there is does not count against going into it.
            self.stop_at = self.effort.tries + self.spent();
        }
        choices.sort_by_key(|c| (c.cost, c.start));
        if release && choices.len() > width {
            self.thin_out(&mut choices, width);
        }
        let stop_at = self.stop_at;
        for (i, c) in choices.into_iter().take(width).enumerate() {
            if self.spent() >= stop_at || c.cost >= self.limit {
                break;
            }
            if release {
                // A fair share for each release.
                let spent = self.spent();
                self.stop_at = stop_at.min(spent + (stop_at - spent) / (width - i).max(1) as u64 + 1);
            }
            let mark = draft.mark();
            let Step { from, trip, behind } = c.step;
            if !draft.insert(self.job, from, trip, behind) {
                continue;
            }
            self.path.push(c.step);
            let stop = draft.stop(self.job).expect("just put in");
            self.go_on(draft, stop, c.slot);
            self.path.pop();
            draft.take_back(self.job, mark);
        }
        self.stop_at = stop_at;
    }

    /// Keeps the best few and some of the rest.
    fn thin_out(&mut self, choices: &mut Vec<Candidate>, width: usize) {
        // Behind everything there is always a way, if there is one at all.
        let last = (0..choices.len()).max_by_key(|&i| choices[i].start).unwrap_or(0);
        let sure = width.div_ceil(2);
        if last >= sure {
            choices.swap(width - 1, last);
            choices[sure..width].sort_by_key(|c| c.start);
        }
        for i in sure..(width - 1).min(choices.len()) {
            let j = i + self.rng.below(choices.len() - i);
            choices.swap(i, j);
        }
        choices.truncate(width);
    }

    fn arrive(&mut self, draft: &mut Draft) {
        let cost = Cost::of(draft);
        if cost < self.limit {
            self.limit = cost;
            if cost.late == 0 {
                draft.bound = draft.bound.min(cost.end);
            }
            self.best = Some((cost, self.path.clone()));
        }
    }

    /// Tries each way on.
    fn choices(&mut self, draft: &mut Draft, from: usize, slot: usize, ways: &[Onward]) -> Vec<Candidate> {
        let mut found = Vec::new();
        for way in ways {
            if self.rng.chance(self.effort.blink) {
                continue;
            }
            let behind = match draft.last(self.job) {
                Some(own) if way.slot == slot => own,
                _ => self.lanes.node(way.slot),
            };
            self.tries += 1;
            let mark = draft.mark();
            if !draft.insert(self.job, from, way.trip, behind) {
                continue;
            }
            let mut cost = Cost::of(draft);
            let start = draft.nodes[draft.last(self.job).expect("just put in")].start;
            // What is possible knows more than the shortest way does.
            let more = (way.end - draft.end_at_least(self.job)).max(0);
            cost.end = cost.end.max(way.end);
            cost.sum = cost.sum.saturating_add(more);
            draft.take_back(self.job, mark);
            if cost < self.limit {
                let step = Step { from, trip: way.trip, behind };
                found.push(Candidate { cost, start, slot: way.slot, step });
            }
        }
        found
    }
}
