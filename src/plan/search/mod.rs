//! Makes a plan better for as long as it is let: ruin and recreate on one order of hauls.
//!
//! A few carriers are taken out, whole or from some haul on, and put back one by one where it costs least, the others'
//! moves shifting inside their windows (Schrimpf et al. 2000; Christiaens and Vanden Berghe 2020 for the blinks, from
//! memory). What is a little worse is accepted now and then, less and less. Counted in trial insertions, so that the same
//! seed and budget give the same plan on every machine; a stop from outside ends it sooner.

mod core;
mod cost;
mod dive;
mod draft;
mod load;

use self::core::Core;
use super::problem::Problem;
use super::way::Rules;
use crate::rng::Rng;
use crate::schedule::Move;
use cost::Cost;
use dive::{Dive, Effort};
use draft::{Draft, HEAD, NONE};

/// How long a search may go on.
pub struct Budget<'a> {
    /// Trial insertions.
    pub tries: u64,
    /// Says true when it is time to stop.
    pub stop: &'a mut dyn FnMut() -> bool,
}

/// A better order of the same carriers, if one was found within the budget. The first `frozen` moves stay as they are.
pub(super) fn improve(
    problem: &Problem,
    moves: &[Move],
    rules: &Rules,
    frozen: usize,
    seed: u64,
    budget: &mut Budget,
) -> Option<Vec<Move>> {
    let core = Core::new(problem, *rules, moves)?;
    let draft = load::load(&core, moves)?;
    let mut search = Search::new(draft, frozen, Rng::stream(seed, "ruin and recreate"));
    let before = search.best_cost;
    search.run(budget);
    (search.best_cost < before).then(|| load::unload(&search.best))
}

/// The moves with more carriers put in, each where it costs least of what is tried, the others' moves shifting as they
/// must. `None` if the moves do not hold as they are; a carrier that finds no way is left out.
pub(super) fn extend(
    problem: &Problem,
    moves: &[Move],
    missing: &[usize],
    rules: &Rules,
) -> Option<Vec<Move>> {
    let core = Core::new(problem, *rules, moves)?;
    let mut draft = load::load(&core, moves)?;
    // Where a search would begin, chance has no say.
    let mut rng = Rng::stream(0, "extend");
    for &task in missing {
        let Some(job) = core.jobs.iter().position(|j| j.task == task) else { continue };
        let tries = 1500 * core.patience();
        let effort = Effort { tries, width: 3, releases: 12, blink: 0.0 };
        let floor = after_hooked(&draft);
        Dive::new(job, effort, &mut rng, floor, Cost::WORST).put_in(&mut draft);
        draft.settle();
    }
    Some(load::unload(&draft))
}

/// The last haul that must come first because a hoist holds on to its carrier.
fn after_hooked(draft: &Draft) -> usize {
    let hooked =
        (0..draft.core.jobs.len()).filter(|&j| draft.core.jobs[j].hooked.is_some() && draft.placed[j] > 0);
    hooked.map(|j| draft.node(j, 0)).max_by_key(|&n| draft.label(n)).unwrap_or(HEAD)
}

struct Search<'c, 'p, 's> {
    current: Draft<'c, 'p, 's>,
    current_cost: Cost,
    best: Draft<'c, 'p, 's>,
    best_cost: Cost,
    /// Hauls of each job that may not be touched, and the last node of them.
    kept: Vec<usize>,
    floor: usize,
    rng: Rng,
}

impl<'c, 'p, 's> Search<'c, 'p, 's> {
    fn new(draft: Draft<'c, 'p, 's>, frozen: usize, rng: Rng) -> Self {
        let mut kept = vec![0; draft.core.jobs.len()];
        let mut floor = HEAD;
        for _ in 0..frozen {
            let next = draft.nodes[floor].next;
            if next == NONE {
                break;
            }
            floor = next;
            kept[draft.nodes[floor].job] += 1;
        }
        // What a hoist holds on to is its next haul, whatever else is better.
        for (j, job) in draft.core.jobs.iter().enumerate() {
            if job.hooked.is_some() && kept[j] == 0 && draft.placed[j] > 0 {
                kept[j] = 1;
                floor = draft.node(j, 0);
            }
        }
        let cost = Cost::of(&draft);
        Self { current: draft.clone(), current_cost: cost, best: draft, best_cost: cost, kept, floor, rng }
    }

    fn run(&mut self, budget: &mut Budget) {
        let now = self.current.core.problem.now.0;
        let jobs = self.current.core.jobs.len();
        if jobs == 0 {
            return;
        }
        let mut spent = 0;
        while spent < budget.tries && !(budget.stop)() {
            let heat = 0.02 * (1.0 - spent as f64 / budget.tries as f64);
            let limit = self.current_cost.loosened(now, heat * self.rng.unit());
            let mut work = self.current.clone();
            let out = self.ruin(&mut work);
            let (tries, cost) = self.recreate(&mut work, out, limit);
            spent += tries.max(1);
            let Some(cost) = cost else { continue };
            if cost < self.best_cost {
                self.best_cost = cost;
                self.best = work.clone();
            }
            self.current_cost = cost;
            self.current = work;
        }
    }

    /// Takes some jobs out, whole or from some haul on; returns them.
    fn ruin(&mut self, work: &mut Draft) -> Vec<usize> {
        let n = work.core.jobs.len();
        let most = n.min(4);
        let count = 1 + self.rng.below(most);
        let mut out: Vec<usize> = if self.rng.chance(0.5) {
            let mut all: Vec<usize> = (0..n).collect();
            self.rng.shuffle(&mut all);
            all.truncate(count);
            all
        } else {
            // Neighbours in time: those released about when one of them is.
            let mut all: Vec<usize> = (0..n).collect();
            all.sort_by_key(|&j| work.last(j).map_or(0, |_| work.nodes[work.node(j, 0)].start));
            let first = self.rng.below(n - count + 1);
            all[first..first + count].to_vec()
        };
        let partly = self.rng.chance(0.3);
        out.retain(|&j| {
            let keep = if partly && work.placed[j] > 0 { self.rng.below(work.placed[j]) } else { 0 };
            let keep = keep.max(self.kept[j]);
            let taken = keep < work.placed[j];
            work.remove(j, keep);
            taken
        });
        let held = work.recompute();
        debug_assert!(held, "fewer hauls are never harder");
        out
    }

    /// Puts jobs back in; the cost if all are in and better than `limit`.
    fn recreate(&mut self, work: &mut Draft, mut out: Vec<usize>, limit: Cost) -> (u64, Option<Cost>) {
        match self.rng.below(3) {
            0 => self.rng.shuffle(&mut out),
            1 => out.sort_by_key(|&j| (!work.core.jobs[j].live, work.core.jobs[j].due, j)),
            _ => out.sort_by_key(|&j| std::cmp::Reverse(work.placed[j])),
        }
        work.bound = if limit.late == 0 { limit.end } else { core::NEVER };
        let tries = [60, 200, 600][self.rng.below(3)] * work.core.patience();
        let mut spent = 0;
        let mut cost = None;
        for job in out {
            let effort = Effort { tries, width: 3, releases: 6, blink: 0.02 };
            let mut dive = Dive::new(job, effort, &mut self.rng, self.floor, limit);
            cost = dive.put_in(work);
            spent += dive.tries;
            if cost.is_none() {
                return (spent, None);
            }
        }
        work.bound = core::NEVER;
        work.settle();
        (spent, cost)
    }
}
