//! The dense picture the search works on: jobs, their hauls, empty travel, windows. Built once per run.

use std::rc::Rc;

use super::super::problem::{Problem, Start, Task, weight};
use super::super::rail::{self, PathId};
use super::super::way::Rules;
use super::route::{self, Figures, Stop};
use crate::ids::{CarrierId, HoistId, Id as _, TankId};
use crate::line::{Role, Visit};
use crate::schedule::Move;
use crate::units::{Dur, Time};

/// No time is later; far from overflow.
pub const NEVER: i64 = rail::NEVER;

/// One carrier to bring out.
#[derive(Clone)]
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
    /// Where it can be between hauls; first, one by one, its places.
    pub stops: Rc<[Stop]>,
    /// The first of its nodes in a draft, and how many it may have.
    pub base: usize,
    pub room: usize,
    /// It ends no earlier, whatever the others do.
    pub least: i64,
}

impl Job {
    /// The same, knowing when it ends at the least.
    pub fn with_least(self) -> Self {
        let first = self.stops[..self.places.len()].iter().flat_map(|s| &s.trips);
        let least = first.map(|t| t.figures.lower + t.figures.tail).min().unwrap_or(0);
        Self { least, ..self }
    }
}

/// Where a job can be between two hauls, with the earliest and latest lift allowed by where it is now.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Place {
    pub visit: Visit,
    pub tank: TankId,
    /// Bounds on the lift of the first haul; unused later.
    pub lift: (i64, i64),
}

/// The dense problem.
pub struct Core<'p, 's> {
    pub problem: &'p Problem<'s>,
    /// The problem's tasks, with those that hang now standing where they are put down next.
    tasks: Vec<Task>,
    /// The moves that are under way and lead there.
    pub under_way: Vec<Move>,
    pub jobs: Vec<Job>,
    /// Tanks that never fill up.
    pub station: Vec<bool>,
    pub capacity: Vec<usize>,
    pub cap: i64,
    /// Empty travel by hoist, from and to.
    empty: Vec<i64>,
    tanks: usize,
    /// One hoist has the rail to itself.
    pub alone: bool,
    /// A haul that starts so much earlier than another, in milliseconds, has no bearing on it but by its own hoist.
    pub far: i64,
    /// Where hoists stand and from when.
    pub first: Vec<Vec<i64>>,
    /// Time runs backwards.
    backwards: bool,
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
                    Visit::Unload => Start::Done,
                    // Put back where it was to start from it is one of the queue again.
                    Visit::Load => {
                        task.leeway.stretch = Default::default();
                        Start::Queued { ready: down, stations: vec![last.to] }
                    }
                    visit => {
                        Start::Tank { tank: last.to, visit, since, hooked: (!last.release).then_some(hoist) }
                    }
                };
                under_way.extend(haul);
            }
        }
        let tanks: Vec<TankId> = line.tanks.ids().collect();
        let hoists: Vec<HoistId> = line.hoists.ids().collect();
        let mut empty = Vec::with_capacity(hoists.len() * tanks.len().pow(2));
        for &h in &hoists {
            for &a in &tanks {
                let travel = |&b: &TankId| line.empty_travel(h, a, b).map_or(NEVER, |d| d.0);
                empty.extend(tanks.iter().map(travel));
            }
        }
        let stand = |h: HoistId| {
            let carries: Vec<Move> = under_way.iter().filter(|m| m.hoist == h).copied().collect();
            let haul = problem.haul_of(&carries).map(|haul| (haul.path, carries[0].start));
            haul.unwrap_or_else(|| problem.stand(h))
        };
        let stands: Vec<(PathId, i64)> =
            hoists.iter().map(|h| stand(*h)).map(|(path, at)| (path, at.0)).collect();
        let first = problem
            .state
            .hoists
            .iter()
            .map(|(h, s)| {
                // A hoist that carries something is free where and when that is down.
                let carries = under_way.iter().rev().find(|m| m.hoist == h);
                let (at, from) = carries.map_or((s.at, problem.free_from(h)), |m| {
                    let total = m.phases(line, &problem.state.book).map_or(Dur::ZERO, |p| p.total());
                    (m.to, m.start + total)
                });
                tanks
                    .iter()
                    .map(|&b| from.max(problem.now).0 + line.empty_travel(h, at, b).map_or(NEVER, |d| d.0))
                    .collect()
            })
            .collect();
        // What is put down now and ends there has that room for good.
        let kept = |tank| under_way.iter().filter(|m| m.to == tank && m.visit == Visit::Unload).count();
        let capacity =
            line.tanks.iter().map(|(id, t)| usize::from(t.capacity).saturating_sub(kept(id))).collect();
        let mut base = 1;
        let mut jobs: Vec<Job> = Vec::with_capacity(tasks.len());
        for (i, task) in tasks.iter().enumerate() {
            let Some(mut job) = job(problem, task, &rules, i) else { continue };
            let like = jobs.iter().rev().find(|j| go_alike(problem, (&tasks[j.task], j), (task, &job)));
            job.stops = match like {
                Some(like) => Rc::clone(&like.stops),
                None => route::stops(problem, &rules, &stands, task, &job).into(),
            };
            job.base = base;
            job.room = 2 * line.recipes[task.recipe].steps.len() + 3;
            base += job.room;
            jobs.push(job.with_least());
        }
        Some(Self {
            problem,
            tasks,
            under_way,
            jobs,
            station: line.tanks.iter().map(|(_, t)| matches!(t.role, Role::Station { .. })).collect(),
            capacity,
            cap: line.power_cap.map_or(NEVER, |w| w.0),
            empty,
            tanks: tanks.len(),
            alone: problem.rail.is_alone(),
            far: problem.rail.longest_lag() + rules.reserve.longest().0,
            first,
            backwards: false,
        })
    }

    /// The same with time running backwards, for the jobs as they are then.
    pub fn backwards(&self, jobs: Vec<Job>) -> Self {
        let n = self.tanks;
        let turned = |i: usize| self.empty[(i / (n * n) * n + i % n) * n + i / n % n];
        let trips = jobs.iter().flat_map(|j| j.stops.iter()).flat_map(|s| &s.trips);
        let longest = trips.map(|t| t.figures.total).max().unwrap_or(0);
        Self {
            problem: self.problem,
            tasks: self.tasks.clone(),
            under_way: Vec::new(),
            jobs,
            station: self.station.clone(),
            capacity: self.capacity.clone(),
            cap: self.cap,
            empty: (0..self.empty.len()).map(turned).collect(),
            tanks: n,
            alone: self.alone,
            far: self.far + longest,
            // Wherever a hoist ends is as good.
            first: vec![vec![self.problem.now.0; n]; self.first.len()],
            backwards: !self.backwards,
        }
    }

    pub fn task(&self, job: usize) -> &Task {
        &self.tasks[self.jobs[job].task]
    }

    /// Empty travel of a hoist.
    pub fn change(&self, hoist: HoistId, at: TankId, to: TankId) -> i64 {
        self.empty[(hoist.ix() * self.tanks + at.ix()) * self.tanks + to.ix()]
    }

    /// From the start of one haul to the start of another hoist's at the least, if that comes behind it.
    pub fn lag(&self, before: &Figures, next: &Figures) -> i64 {
        let rail = &self.problem.rail;
        if !self.backwards {
            return (rail.lag(before.path, next.path) + next.reserve).max(0);
        }
        // Backwards the reserve is part of the haul, and the other one comes first.
        let lag = rail.lag(next.path, before.path);
        if lag <= rail::FREE {
            return 0;
        }
        let total = rail.total(before.path);
        ((lag + before.total - total).max(0) + total - rail.total(next.path)).max(0)
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
    let due = task.due.map(|Time(due)| (due, weight(task.priority)));
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
    Some(Job { task: index, places, due, live, hooked, stops: Rc::default(), base: 0, room: 0, least: 0 })
}

/// True if two carriers of the queue can go the same ways at the same times: most of a queue are of a few kinds.
fn go_alike(problem: &Problem, (one, a): (&Task, &Job), (other, b): (&Task, &Job)) -> bool {
    let area = |task: &Task| problem.spec(task.carrier).area_dm2.to_bits();
    !a.live
        && !b.live
        && one.recipe == other.recipe
        && one.leeway == other.leeway
        && area(one) == area(other)
        && a.places == b.places
}
