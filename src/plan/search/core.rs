//! The dense picture the search works on: jobs, their hauls, empty travel, windows. Built once per run.

use std::cell::RefCell;
use std::collections::BTreeMap;
use std::rc::Rc;

use super::super::problem::{Haul, Problem, Start, Task};
use super::super::way::Rules;
use crate::ids::{CarrierId, HoistId, Id as _, TankId};
use crate::line::{Priority, Role, Visit};
use crate::schedule::Move;
use crate::units::{Dur, Time};

/// No time is later; far from overflow.
pub const NEVER: i64 = i64::MAX / 8;

/// One carrier to bring out.
pub struct Job {
    /// Its place in the problem's list of tasks.
    pub task: usize,
    /// Where its first haul begins, one entry for each load station of a queued carrier.
    pub places: Vec<Place>,
    /// Due and how much a second of lateness weighs.
    pub due: Option<(i64, i64)>,
    /// On the line already: it must come out.
    pub live: bool,
    /// A hoist holds on to it during a dip.
    pub hooked: Option<HoistId>,
    /// The first of its nodes in a draft, and how many it may have.
    pub base: usize,
    pub room: usize,
}

/// Where a job can be between two hauls, with the earliest and latest lift allowed by where it is now.
#[derive(Debug, Clone, Copy)]
pub struct Place {
    pub visit: Visit,
    pub tank: TankId,
    /// Bounds on the lift of the first haul; unused later.
    pub lift: (i64, i64),
}

/// The dense problem.
pub struct Core<'p, 's> {
    pub problem: &'p Problem<'s>,
    pub rules: Rules,
    /// The problem's tasks, with those that hang now standing where they are put down next.
    tasks: Vec<Task>,
    /// The moves that are under way and lead there.
    pub under_way: Vec<Move>,
    pub jobs: Vec<Job>,
    /// Tanks that never fill up.
    pub station: Vec<bool>,
    pub capacity: Vec<usize>,
    /// Immersion allowed from and until.
    pub available: Vec<(i64, i64)>,
    pub cap: i64,
    /// `change[before hoist][its last tank][next hoist][next tank]`
    change: Vec<Vec<Vec<Vec<i64>>>>,
    /// Where hoists stand and from when.
    pub first: Vec<Vec<i64>>,
    tails: RefCell<BTreeMap<(usize, Visit, TankId), i64>>,
}

impl<'p, 's> Core<'p, 's> {
    /// `None` if `moves` do not say where what hangs is put down.
    pub fn new(problem: &'p Problem<'s>, rules: Rules, moves: &[Move]) -> Option<Self> {
        let line = problem.line;
        let mut tasks = problem.tasks.clone();
        let mut under_way = Vec::new();
        for task in &mut tasks {
            if let Start::Hook { hoist, .. } = task.start {
                let haul = put_down(moves, task.carrier)?;
                let last = haul.last()?;
                let down = last.start + last.phases(line, &problem.state.book)?.to_down();
                let since = problem.counts_from(task.carrier, last.leaves, last.visit, down);
                task.start = match last.visit {
                    Visit::Unload | Visit::Load => Start::Done,
                    visit => {
                        Start::Tank { tank: last.to, visit, since, hooked: (!last.release).then_some(hoist) }
                    }
                };
                under_way.extend(haul);
            }
        }
        let tanks: Vec<TankId> = line.tanks.ids().collect();
        let hoists: Vec<HoistId> = line.hoists.ids().collect();
        let empty = |h: HoistId, a: TankId, b: TankId| line.empty_travel(h, a, b).map_or(NEVER, |d| d.0);
        // The other hoist must first get out of the way: allow for the whole rail.
        let sweep =
            |h: HoistId, to: TankId| tanks.iter().map(|t| empty(h, *t, to)).filter(|t| *t < NEVER).max();
        let away =
            |h: HoistId, at: TankId| tanks.iter().map(|t| empty(h, at, *t)).filter(|t| *t < NEVER).max();
        let change = hoists
            .iter()
            .map(|&h| {
                let to_next = |a: TankId, g: HoistId, b: TankId| {
                    if g == h {
                        empty(h, a, b)
                    } else {
                        sweep(g, b).unwrap_or(NEVER).max(away(h, a).unwrap_or(NEVER))
                    }
                };
                tanks
                    .iter()
                    .map(|&a| {
                        hoists.iter().map(|&g| tanks.iter().map(|&b| to_next(a, g, b)).collect()).collect()
                    })
                    .collect()
            })
            .collect();
        let first = problem
            .state
            .hoists
            .iter()
            .map(|(h, s)| {
                // A hoist that carries something is free where and when that is down.
                let carries = under_way.iter().rev().find(|m| m.hoist == h);
                let (at, from) = carries.map_or((s.at, s.free_from), |m| {
                    let total = m.phases(line, &problem.state.book).map_or(Dur::ZERO, |p| p.total());
                    (m.to, m.start + total)
                });
                tanks.iter().map(|&b| from.max(problem.now).0 + empty(h, at, b)).collect()
            })
            .collect();
        let mut base = 1;
        let jobs = (0..tasks.len())
            .filter_map(|task| {
                let mut job = job(problem, &tasks[task], &rules, task)?;
                job.base = base;
                job.room = 2 * line.recipes[tasks[task].recipe].steps.len() + 3;
                base += job.room;
                Some(job)
            })
            .collect();
        Some(Self {
            problem,
            rules,
            tasks,
            under_way,
            jobs,
            station: line.tanks.iter().map(|(_, t)| matches!(t.role, Role::Station { .. })).collect(),
            capacity: line.tanks.iter().map(|(_, t)| usize::from(t.capacity)).collect(),
            available: problem.state.tanks.iter().map(|(_, t)| (t.from.0, t.until.0.min(NEVER))).collect(),
            cap: line.power_cap.map_or(NEVER, |w| w.0),
            change,
            first,
            tails: RefCell::default(),
        })
    }

    pub fn task(&self, job: usize) -> &Task {
        &self.tasks[self.jobs[job].task]
    }

    /// Empty travel from the end of one haul to the start of another.
    pub fn change(&self, before: HoistId, at: TankId, next: HoistId, to: TankId) -> i64 {
        self.change[before.ix()][at.ix()][next.ix()][to.ix()]
    }

    /// The hauls of a job from a place; before its first haul a hoist may be attached.
    pub fn hauls(&self, job: usize, visit: Visit, tank: TankId, first: bool) -> Rc<Vec<Haul>> {
        let hooked = if first { self.jobs[job].hooked } else { None };
        self.problem.hauls(self.task(job).recipe, visit, tank, hooked)
    }

    /// Shortest and longest dwell in milliseconds.
    pub fn window(&self, job: usize, visit: Visit) -> (i64, i64) {
        let (min, max) = self.rules.window(self.problem.line, self.task(job), visit);
        (min.0, max.0.min(NEVER))
    }

    /// The least time from being down for a visit to the end of the unload, without standby.
    pub fn tail(&self, job: usize, visit: Visit, tank: TankId) -> i64 {
        if visit == Visit::Unload {
            return 0;
        }
        let recipe = self.task(job).recipe.ix();
        if let Some(known) = self.tails.borrow().get(&(recipe, visit, tank)) {
            return *known;
        }
        let (min, _) = self.window(job, visit);
        let hauls = self.hauls(job, visit, tank, false);
        let after = |haul: &Haul| {
            let last = haul.last();
            let unload = if last.visit == Visit::Unload { haul.total.0 - haul.to_down().0 } else { 0 };
            min - haul.first().phases.to_lift().0
                + haul.to_down().0
                + unload
                + self.tail(job, last.visit, last.to)
        };
        let least = hauls.iter().filter(|h| !h.is_hold()).map(after).min().unwrap_or(NEVER).min(NEVER);
        self.tails.borrow_mut().insert((recipe, visit, tank), least);
        least
    }

    /// Power a job draws during a visit, in watts.
    pub fn power(&self, job: usize, visit: Visit) -> i64 {
        self.problem.power(self.task(job).carrier, visit).map_or(0, |w| w.0)
    }
}

/// The moves that are under way with a carrier that hangs.
fn put_down(moves: &[Move], carrier: CarrierId) -> Option<Vec<Move>> {
    let mut haul = Vec::new();
    for m in moves.iter().filter(|m| m.carrier == carrier) {
        haul.push(*m);
        if m.release {
            break;
        }
    }
    (!haul.is_empty()).then_some(haul)
}

fn job(problem: &Problem, task: &Task, rules: &Rules, index: usize) -> Option<Job> {
    let weight = match task.priority {
        Priority::Rush => 10,
        Priority::Normal => 3,
        Priority::Low => 1,
    };
    let due = task.due.map(|Time(due)| (due, weight));
    let (places, live, hooked) = match &task.start {
        Start::Queued { ready, stations } => {
            // The hook may not come before the carrier is racked; hauls that begin with a hook add their own.
            let place = |&tank| Place { visit: Visit::Load, tank, lift: (ready.max(&problem.now).0, NEVER) };
            (stations.iter().map(place).collect(), false, None)
        }
        &Start::Tank { tank, visit, since, hooked } => {
            let (min, max) = rules.window(problem.line, task, visit);
            let lift = ((since + min).0, (since + max).0.min(NEVER));
            (vec![Place { visit, tank, lift }], true, hooked)
        }
        Start::Hook { .. } | Start::Done => return None,
    };
    Some(Job { task: index, places, due, live, hooked, base: 0, room: 0 })
}
