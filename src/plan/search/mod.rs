//! Makes a plan better for as long as it is let: ruin and recreate on one order of hauls.
//!
//! A few carriers are taken out, whole or from some haul on, and put back one by one where it costs least, the others'
//! moves shifting inside their windows (Schrimpf et al. 2000; Christiaens and Vanden Berghe 2020 for the blinks, from
//! memory). Only what is better is kept, but for a kick when that leads no further. Counted in trial insertions, so that the
//! same seed and budget give the same plan on every machine; a stop from outside ends it sooner.

mod backwards;
mod chain;
mod core;
mod cost;
mod dive;
mod draft;
mod load;
mod reach;
mod route;
mod team;

pub use team::Team;

use self::backwards::{Mirror, Towards};
use self::core::Core;
use super::problem::{Problem, Start, Task};
use super::way::Rules;
use crate::rng::Rng;
use crate::schedule::Move;
use cost::Cost;
use dive::{Effort, Found, put_in, seek};
use draft::{Draft, HEAD, NONE};
use team::From;

/// How long a search may go on.
pub struct Budget<'a> {
    /// Trial insertions.
    pub tries: u64,
    /// Says true when it is time to stop.
    pub stop: &'a mut dyn FnMut() -> bool,
}

/// What a search begins with.
#[derive(Clone, Copy)]
pub enum Begin<'t> {
    /// Everything put in anew, if the budget is worth it and that is better.
    Anew,
    /// What it is given.
    AsIs,
    /// Where the team has got to, which goes on from what this one finds too; the first of a team puts everything in anew.
    With(&'t Team),
}

/// A better order of the same carriers, if one was found within the budget. The first `frozen` hauls stay as they are.
pub(super) fn improve(
    problem: &Problem,
    moves: &[Move],
    rules: &Rules,
    frozen: usize,
    seed: u64,
    begin: Begin,
    budget: &mut Budget,
) -> Option<Vec<Move>> {
    let core = Core::new(problem, *rules, moves)?;
    let draft = load::load(&core, moves)?;
    let before = Cost::of(&draft);
    let alone = Team::default();
    let team = if let Begin::With(team) = begin { team } else { &alone };
    let first = team.join(&draft);
    let mut search = Search::new(team, draft, frozen, Rng::stream(seed, "ruin and recreate"));
    search.run(first && !matches!(begin, Begin::AsIs), budget);
    team.best_below(before, &mut search.work).then(|| load::unload(&search.work))
}

/// The moves with more carriers put in, each where it costs least of what is tried, the others' moves shifting no more than
/// they must: a first answer, at once. `None` if the moves do not hold as they are; a carrier that finds no way is left out.
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
    let mut released: Vec<usize> = Vec::new();
    for &task in missing {
        let Some(job) = core.jobs.iter().position(|j| j.task == task) else { continue };
        let floor = after_hooked(&draft);
        // The first way there is will do for a first answer, unless there are so few that all can be looked at.
        let enough = match &problem.state.plan {
            _ if core.jobs.len() <= FEW => GIVES.len(),
            Some(_) => 3,
            None => 1,
        };
        // What is free only fills up: where the last like carrier found no way, this one will hardly find one.
        let many = core.jobs.len() > FEW;
        let like = |other: &&usize| many && comes_before(core.task(**other), core.task(job));
        let like = released.iter().rev().find(like);
        let from = like.map_or(0, |&other| hauls_before(&draft, draft.nodes[draft.node(other, 0)].start));
        let (found, _) = put_in_best(&mut draft, job, &mut rng, floor, enough, (from, usize::MAX));
        if found || from > 0 && put_in_best(&mut draft, job, &mut rng, floor, enough, ANYWHERE).0 {
            released.push(job);
        }
        draft.settle();
    }
    Some(load::unload(&draft))
}

/// True if a carrier of the queue could start whenever another one that is treated alike can.
fn comes_before(one: &Task, other: &Task) -> bool {
    let ready = |task: &Task| match task.start {
        Start::Queued { ready, .. } => Some(ready),
        _ => None,
    };
    one.recipe == other.recipe && ready(one).is_some_and(|one| ready(other).is_some_and(|other| one <= other))
}

/// Hauls that start before an instant.
fn hauls_before(draft: &Draft, instant: i64) -> usize {
    let mut count = 0;
    let mut id = draft.nodes[HEAD].next;
    while id != NONE && draft.nodes[id].start < instant {
        count += 1;
        id = draft.nodes[id].next;
    }
    count
}

/// The moves with more carriers put in, all of them or none, as chance has it; and the tries it took. Nothing comes before
/// the first `frozen` hauls.
pub(super) fn put_back(
    problem: &Problem,
    moves: &[Move],
    missing: &[usize],
    rules: &Rules,
    frozen: usize,
    rng: &mut Rng,
    tries: u64,
) -> (Option<Vec<Move>>, u64) {
    // To read the moves is to put each of them in once.
    let mut spent = 1 + moves.len() as u64;
    let Some(core) = Core::new(problem, *rules, moves) else { return (None, spent) };
    let Some(mut draft) = load::load(&core, moves) else { return (None, spent) };
    let mut floor = after_hooked(&draft);
    let mut id = HEAD;
    for _ in 0..frozen {
        id = draft.nodes[id].next;
        if id == NONE {
            break;
        }
        if draft.label(id) > draft.label(floor) {
            floor = id;
        }
    }
    draft.remember();
    let level = [60, 200, 600][rng.below(3)];
    for &task in missing {
        let Some(job) = core.jobs.iter().position(|j| j.task == task) else { continue };
        let holds = core.jobs[job].live;
        let most = (level * core.jobs[job].room as u64 / 2).min(tries.saturating_sub(spent));
        let give = GIVES[rng.below(GIVES.len())];
        let effort = Effort {
            tries: most,
            width: 3,
            releases: 6,
            blink: 0.02,
            holds,
            give,
            window: ANYWHERE,
            thorough: true,
        };
        let (found, tries) = put_in(&mut draft, job, effort, rng, floor, Cost::WORST);
        spent += tries;
        if found.is_none() {
            return (None, spent);
        }
        draft.settle();
    }
    (Some(load::unload(&draft)), spent)
}

/// Puts a job in by the best of what the others may give way, of which `enough` are tried, and more until one leads
/// anywhere; a release goes behind a slot of the window. Whether it is in, and the tries it took.
fn put_in_best(
    draft: &mut Draft,
    job: usize,
    rng: &mut Rng,
    floor: usize,
    enough: usize,
    window: (usize, usize),
) -> (bool, u64) {
    draft.remember();
    let holds = draft.core.jobs[job].live;
    let tries = (ALL_ANEW / draft.core.jobs.len() as u64).clamp(300, 3000);
    let mut best: Option<Found> = None;
    let mut spent = 0;
    for (tried, give) in GIVES.into_iter().enumerate() {
        if tried >= enough && best.is_some() {
            break;
        }
        let effort = Effort { tries, width: 3, releases: 6, blink: 0.0, holds, give, window, thorough: true };
        let limit = best.as_ref().map_or(Cost::WORST, |found| found.cost);
        let (found, tries) = seek(draft, job, effort, rng, floor, limit);
        spent += tries;
        best = found.or(best);
    }
    if let Some(found) = &best {
        // What was tried since was held to more.
        draft.tighten(Cost::WORST, job, core::NEVER);
        found.put(draft, job);
    }
    (best.is_some(), spent)
}

/// Tries at each of what others may give way that putting in all jobs may take.
const ALL_ANEW: u64 = 30_000;

/// So few jobs are put in by the best of all ways at once.
const FEW: usize = 4;

/// How much the others may give way to a job that is put in: the less, the better it is known beforehand what fits.
const GIVES: [i64; 5] = [0, 15_000, 60_000, 240_000, core::NEVER];

/// Any slot.
const ANYWHERE: (usize, usize) = (0, usize::MAX);

/// Slots before and behind where a release was that are looked at first.
const WIDE: usize = 20;

/// Rounds without an earlier end after which the search takes something worse, to get away from where it is: so many for
/// each job, and at the most.
const PATIENCE: usize = 2;
const MOST_PATIENCE: usize = 60;

/// How often only one job is taken out; two otherwise. A kick may take them all.
const ALONE: f64 = 0.8;

/// How often, while nothing is late, jobs are put back only if the order without them is better in what matters; else just
/// the sum of all ends could become so.
const WORTH_IT: f64 = 0.9;

/// Hauls in an order whose times can be worked out anew in the time of one try.
const HAULS_ANEW: usize = 32;

/// How often jobs are taken out from some haul on only.
const PARTLY: f64 = 0.15;

/// How often neighbours in time are taken out from among the jobs that are out first, and how many those are.
const NEXT: f64 = 0.5;
const SOON: usize = 12;

/// How much worse that may be, as shares of the time that is left.
const KICKS: [f64; 2] = [0.03, 0.25];

/// How often the search then goes back to the best order there was before.
const BACK: f64 = 0.2;

/// A search with fewer tries than this begins with what it is given.
const WORTH_REBUILDING: u64 = 20_000;

/// The last haul that must come first because a hoist holds on to its carrier.
fn after_hooked(draft: &Draft) -> usize {
    let hooked =
        (0..draft.core.jobs.len()).filter(|&j| draft.core.jobs[j].hooked.is_some() && draft.placed[j] > 0);
    hooked.map(|j| draft.node(j, 0)).max_by_key(|&n| draft.label(n)).unwrap_or(HEAD)
}

struct Search<'t, 'c, 'p, 's> {
    /// Who goes on from the same order.
    team: &'t Team,
    work: Draft<'c, 'p, 's>,
    /// Hauls of each job that may not be touched, and the last node of them.
    kept: Vec<usize>,
    floor: usize,
    rng: Rng,
}

impl<'t, 'c, 'p, 's> Search<'t, 'c, 'p, 's> {
    fn new(team: &'t Team, draft: Draft<'c, 'p, 's>, frozen: usize, rng: Rng) -> Self {
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
        Self { team, work: draft, kept, floor, rng }
    }

    fn run(&mut self, anew: bool, budget: &mut Budget) {
        let jobs = self.work.core.jobs.len();
        if jobs == 0 {
            return;
        }
        let anew = anew && budget.tries >= WORTH_REBUILDING;
        let mut spent = if anew { self.rebuild(budget) } else { 0 };
        let patience = (PATIENCE * jobs).min(MOST_PATIENCE);
        let mirror = self.is_free().then(|| Mirror::of(self.work.core)).flatten();
        let itself = Team::default();
        let mut back = mirror.as_ref().map(|m| {
            let seed = self.rng.below(usize::MAX) as u64;
            Search::new(&itself, Draft::new(&m.core), 0, Rng::stream(seed, "backwards"))
        });
        let mut turned = mirror.is_none();
        while spent < budget.tries && !(budget.stop)() {
            let from = self.team.begin(&mut self.work, patience, || turned && self.rng.chance(BACK));
            match (&mirror, &mut back) {
                // Before it is kicked it may get on the other way round.
                (Some(mirror), Some(back)) if from.kick && !turned && from.cost.late == 0 => {
                    turned = true;
                    let mut rest = Budget { tries: budget.tries - spent, stop: &mut *budget.stop };
                    spent += self.turn(mirror, back, from, patience, &mut rest);
                }
                _ => {
                    // What is late is not turned.
                    turned = mirror.is_none() || from.cost.late > 0 || turned && from.kick;
                    spent += self.round(from, budget.tries - spent);
                }
            }
        }
    }

    /// True if nothing has to stay as it is.
    fn is_free(&self) -> bool {
        self.floor == HEAD && self.kept.iter().all(|kept| *kept == 0)
    }

    /// One round of ruin and recreate; returns the tries.
    fn round(&mut self, from: From, left: u64) -> u64 {
        let (now, jobs) = (self.work.core.problem.now.0, self.work.core.jobs.len());
        let limit =
            if from.kick { from.cost.loosened(now, KICKS[self.rng.below(KICKS.len())]) } else { from.cost };
        let count = if from.kick {
            1 + self.rng.below(jobs)
        } else if self.rng.chance(ALONE) {
            1
        } else {
            jobs.min(2)
        };
        let out = self.ruin(count);
        let hopeful = from.kick || from.cost.late > 0 || Cost::of(&self.work).main() < from.cost.main();
        if !hopeful && self.rng.chance(WORTH_IT) {
            return 1 + (self.work.placed.iter().sum::<usize>() / HAULS_ANEW) as u64;
        }
        let (tries, cost) = self.recreate(out, limit, left);
        self.team.end(from, cost, &self.work);
        tries.max(1)
    }

    /// Goes on from the order the other way round, until that leads no further; what ends no later forwards is gone on from.
    /// Returns the tries.
    fn turn(
        &mut self,
        mirror: &Mirror,
        back: &mut Search,
        from: From,
        patience: usize,
        budget: &mut Budget,
    ) -> u64 {
        // Each haul is put in twice, once either way.
        let mut spent = self.work.placed.iter().sum::<usize>() as u64;
        if !mirror.turn(&self.work, &mut back.work, Towards::Backwards) {
            return spent;
        }
        back.team.begin_anew(&back.work);
        loop {
            let from = back.team.begin(&mut back.work, patience, || false);
            if from.kick || spent >= budget.tries || (budget.stop)() {
                break;
            }
            spent += back.round(from, budget.tries - spent);
        }
        if mirror.turn(&back.work, &mut self.work, Towards::Forwards) {
            let cost = Cost::of(&self.work);
            let no_later = cost.main() <= from.cost.main();
            self.team.end(from.without_kick(), Some(cost).filter(|_| no_later), &self.work);
        }
        spent
    }

    /// Puts everything in anew, in the order it begins, each job by the best of what others may give way; kept if it is
    /// better. Where what is on the line finds no way so, it stays as it is and only the queue is put in anew. A first
    /// answer takes the first way it finds. Returns the tries.
    fn rebuild(&mut self, budget: &mut Budget) -> u64 {
        let core = self.work.core;
        let mut jobs: Vec<usize> = (0..core.jobs.len()).filter(|&j| self.work.placed[j] > 0).collect();
        let first = |j: usize| self.work.nodes[self.work.node(j, 0)].start;
        jobs.sort_by_key(|&j| (!core.jobs[j].live, first(j)));
        let (whole, spent) = self.put_in_anew(&jobs, budget);
        if whole || (budget.stop)() {
            return spent;
        }
        jobs.retain(|&j| !core.jobs[j].live);
        self.team.set(&mut self.work);
        spent + self.put_in_anew(&jobs, budget).1
    }

    /// Takes jobs out and puts them in again one by one. Whether all are in, and the tries.
    fn put_in_anew(&mut self, jobs: &[usize], budget: &mut Budget) -> (bool, u64) {
        for &j in jobs {
            self.work.remove(j, self.kept[j]);
        }
        let held = self.work.recompute();
        debug_assert!(held, "fewer hauls are never harder");
        let mut spent = 0;
        for &job in jobs {
            if self.work.complete(job) {
                continue;
            }
            let (found, tries) =
                put_in_best(&mut self.work, job, &mut self.rng, self.floor, GIVES.len(), ANYWHERE);
            spent += tries;
            if !found || (budget.stop)() {
                return (false, spent);
            }
            self.work.settle();
        }
        self.team.offer(&self.work);
        (true, spent)
    }

    /// Takes so many jobs out, whole or from some haul on; returns them.
    fn ruin(&mut self, count: usize) -> Vec<usize> {
        let work = &mut self.work;
        work.remember();
        let n = work.core.jobs.len();
        let mut out: Vec<usize> = if self.rng.chance(0.5) {
            let mut all: Vec<usize> = (0..n).collect();
            self.rng.shuffle(&mut all);
            all.truncate(count);
            all
        } else {
            // Neighbours in time: those released about when one of them is.
            let mut all: Vec<usize> = (0..n).collect();
            all.sort_by_key(|&j| work.last(j).map_or(0, |_| work.nodes[work.node(j, 0)].start));
            // Often what comes next: it is what will be done, and what comes later moves up with it.
            let among = if n > SOON && self.rng.chance(NEXT) { SOON.max(count) } else { n };
            let first = self.rng.below(among - count + 1);
            all[first..first + count].to_vec()
        };
        let partly = self.rng.chance(PARTLY);
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

    /// Where a release is looked for: about where it was, or anywhere.
    fn window(&mut self, job: usize) -> (usize, usize) {
        if self.rng.chance(0.3) {
            return ANYWHERE;
        }
        let work = &self.work;
        let was = work.nodes[work.node(job, 0)].start;
        let slot = hauls_before(work, was);
        (slot.saturating_sub(WIDE), slot + WIDE)
    }

    /// Puts jobs back in; the cost if all are in and better than `limit`.
    fn recreate(&mut self, mut out: Vec<usize>, limit: Cost, left: u64) -> (u64, Option<Cost>) {
        match self.rng.below(3) {
            0 => self.rng.shuffle(&mut out),
            1 => out.sort_by_key(|&j| (!self.work.core.jobs[j].live, self.work.core.jobs[j].due, j)),
            _ => out.sort_by_key(|&j| std::cmp::Reverse(self.work.placed[j])),
        }
        self.work.bound = if limit.late == 0 { limit.end } else { core::NEVER };
        let level = [30, 100, 300][self.rng.below(3)];
        let mut spent = 0;
        let mut cost = None;
        for job in out {
            let holds = self.work.core.jobs[job].live;
            let tries = (level * self.work.core.jobs[job].room as u64 / 2).min(left.saturating_sub(spent));
            let give = GIVES[self.rng.below(GIVES.len())];
            let window = self.window(job);
            let effort =
                Effort { tries, width: 6, releases: 15, blink: 0.02, holds, give, window, thorough: false };
            let (found, tries) = put_in(&mut self.work, job, effort, &mut self.rng, self.floor, limit);
            spent += tries;
            cost = found;
            if cost.is_none() {
                return (spent, None);
            }
        }
        self.work.bound = core::NEVER;
        self.work.settle();
        (spent, cost)
    }
}
