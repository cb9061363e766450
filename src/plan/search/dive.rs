//! Puts one job into an order of others: depth first, best looking haul first, with a bound, the others' hauls shifting
//! inside their windows as they must.

use std::rc::Rc;

use super::super::problem::Haul;
use super::core::{NEVER, Place};
use super::cost::Cost;
use super::draft::{Draft, HEAD, NONE};
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
}

/// One haul that could be put in next.
struct Candidate {
    cost: Cost,
    start: i64,
    place: Place,
    hauls: Rc<Vec<Haul>>,
    choice: usize,
    slot: usize,
}

struct Step {
    place: Place,
    hauls: Rc<Vec<Haul>>,
    choice: usize,
    slot: usize,
}

/// A dive of one job.
pub struct Dive<'r> {
    job: usize,
    effort: Effort,
    rng: &'r mut Rng,
    /// Nothing before this node may be touched.
    floor: usize,
    path: Vec<Step>,
    best: Option<(Cost, Vec<Step>)>,
    limit: Cost,
    /// Trial insertions so far.
    pub tries: u64,
    stop_at: u64,
}

impl<'r> Dive<'r> {
    /// A dive that looks for something better than `limit`.
    pub fn new(job: usize, effort: Effort, rng: &'r mut Rng, floor: usize, limit: Cost) -> Self {
        Self { job, effort, rng, floor, path: Vec::new(), best: None, limit, tries: 0, stop_at: effort.tries }
    }

    /// Puts the job in where it costs least of what was tried. `None`, and nothing changed, if nothing beat the limit.
    pub fn put_in(&mut self, draft: &mut Draft) -> Option<Cost> {
        let bound = draft.bound;
        self.go_on(draft);
        draft.bound = bound;
        let (cost, steps) = self.best.take()?;
        for s in steps {
            let held = draft.insert(self.job, s.place, &s.hauls, s.choice, s.slot);
            debug_assert!(held, "what held once holds again");
        }
        Some(cost)
    }

    fn go_on(&mut self, draft: &mut Draft) {
        if draft.complete(self.job) {
            self.arrive(draft);
            return;
        }
        let beginning = draft.last(self.job).is_none();
        let mut choices = self.choices(draft);
        choices.sort_by_key(|c| (c.cost, c.start));
        let many = choices.len();
        let width = if beginning && !draft.core.jobs[self.job].live {
            self.effort.releases
        } else {
            self.effort.width
        };
        if beginning && many > width {
            self.thin_out(&mut choices, width);
        }
        let stop_at = self.stop_at;
        for (i, c) in choices.into_iter().take(width).enumerate() {
            if self.tries >= stop_at || c.cost >= self.limit {
                break;
            }
            if beginning {
                // A fair share for each release.
                self.stop_at =
                    stop_at.min(self.tries + (stop_at - self.tries) / (width - i).max(1) as u64 + 1);
            }
            let mark = draft.mark();
            if !draft.insert(self.job, c.place, &c.hauls, c.choice, c.slot) {
                continue;
            }
            self.path.push(Step { place: c.place, hauls: c.hauls, choice: c.choice, slot: c.slot });
            self.go_on(draft);
            self.path.pop();
            draft.take_back(self.job, mark);
        }
        self.stop_at = stop_at;
    }

    /// Keeps the best few and some of the rest.
    fn thin_out(&mut self, choices: &mut [Candidate], width: usize) {
        // Behind everything there is always a way, if there is one at all.
        let last = (0..choices.len()).max_by_key(|&i| choices[i].start).unwrap_or(0);
        let sure = width.div_ceil(2);
        if last >= sure {
            choices.swap(width - 1, last);
            choices[sure..width].sort_by_key(|c| c.start);
        }
        let width = width - 1;
        for i in sure..width.min(choices.len()) {
            let j = i + self.rng.below(choices.len() - i);
            choices.swap(i, j);
        }
    }

    fn arrive(&mut self, draft: &mut Draft) {
        let cost = Cost::of(draft);
        if cost < self.limit {
            self.limit = cost;
            if cost.late == 0 {
                draft.bound = draft.bound.min(cost.end);
            }
            let steps = self.path.iter().map(|s| Step { hauls: Rc::clone(&s.hauls), ..*s }).collect();
            self.best = Some((cost, steps));
        }
    }

    fn choices(&mut self, draft: &mut Draft) -> Vec<Candidate> {
        let mut found = Vec::new();
        let job = &draft.core.jobs[self.job];
        if let Some(place) = draft.place(self.job) {
            let slot = draft.last(self.job).expect("a job with a place has a haul in");
            self.scan(draft, place, slot, &mut found);
        } else {
            for place in job.places.clone() {
                self.scan(draft, place, self.floor, &mut found);
            }
        }
        found
    }

    /// Tries every haul from `place` behind every slot from `first` on.
    fn scan(&mut self, draft: &mut Draft, place: Place, first: usize, found: &mut Vec<Candidate>) {
        let beginning = draft.last(self.job).is_none();
        let hauls = draft.core.hauls(self.job, place.visit, place.tank, beginning);
        let first = if draft.nodes_before(first, self.floor) { self.floor } else { first };
        let queued = !draft.core.jobs[self.job].live;
        for choice in 0..hauls.len() {
            if hauls[choice].is_hold() && queued {
                continue;
            }
            let mut slot = first;
            loop {
                let start = draft.earliest_behind(self.job, place, &hauls, choice, slot);
                if start > draft.limit(self.job) {
                    break;
                }
                if draft.room_behind(&hauls[choice], slot, self.job) && !self.rng.chance(self.effort.blink) {
                    self.tries += 1;
                    let mark = draft.mark();
                    if draft.insert(self.job, place, &hauls, choice, slot) {
                        let cost = Cost::of(draft);
                        let start = draft.nodes[draft.last(self.job).expect("just put in")].start;
                        draft.take_back(self.job, mark);
                        if cost < self.limit {
                            found.push(Candidate {
                                cost,
                                start,
                                place,
                                hauls: Rc::clone(&hauls),
                                choice,
                                slot,
                            });
                        }
                    } else if draft.too_late(self.job, start) {
                        break;
                    }
                }
                // With the hoist attached nothing can come between.
                let next = draft.nodes[slot].next;
                if next == NONE || (beginning && draft.core.jobs[self.job].hooked.is_some()) {
                    break;
                }
                let leaves_a_tank = !beginning || !queued;
                if leaves_a_tank && draft.ends_stay(place, next, self.job) {
                    break;
                }
                slot = next;
            }
        }
    }
}

impl Draft<'_, '_, '_> {
    /// True if `a` comes before `b` in the order.
    fn nodes_before(&self, a: usize, b: usize) -> bool {
        a == HEAD || (b != HEAD && self.label(a) < self.label(b))
    }

    /// True if a haul that starts then would need the one before it in its job to move.
    fn too_late(&self, job: usize, start: i64) -> bool {
        let id = self.node(job, self.placed[job]);
        self.dwell_end(id).is_some_and(|end| start > end && end < NEVER)
    }
}
