//! Where a job can go: the places it may be in between hauls, and the hauls between them. Built once per job.

use std::rc::Rc;

use super::super::problem::{Haul, Problem, Task};
use super::super::rail::{self, PathId};
use super::super::way::Rules;
use super::core::{Job, NEVER};
use crate::ids::{HoistId, Id as _, TankId};
use crate::line::{Role, Visit};

/// A place a job may be in between two hauls.
#[derive(Debug)]
pub struct Stop {
    pub visit: Visit,
    pub tank: TankId,
    /// Shortest and longest stay from being down to the lift.
    pub min: i64,
    pub max: i64,
    /// Watts a stay here draws.
    pub power: i64,
    /// The job is here when the plan is made; `min` and `max` do not count, the bounds of each trip do.
    pub beginning: bool,
    pub trips: Vec<Trip>,
    /// The least time from being down here to the end of the unload, without standby.
    pub tail: i64,
}

impl Stop {
    /// The same where time runs backwards, without its trips: what is unloaded begins there.
    pub fn backwards(&self) -> Self {
        let beginning = self.visit == Visit::Unload;
        let visit = match self.visit {
            _ if self.beginning => Visit::Unload,
            Visit::Unload => Visit::Load,
            visit => visit,
        };
        let (min, max) = if beginning { (0, NEVER) } else { (self.min, self.max) };
        let (tank, power) = (self.tank, self.power);
        Self { visit, tank, min, max, power, beginning, trips: Vec::new(), tail: UNKNOWN }
    }
}

/// One haul from a stop to the next.
#[derive(Debug)]
pub struct Trip {
    /// The haul, among those that lead from the same place.
    hauls: Rc<Vec<Haul>>,
    choice: usize,
    pub figures: Figures,
    /// The stop it leads to.
    pub to: usize,
    /// Standby, not a step of the recipe.
    pub hold: bool,
    /// It unloads the job.
    pub unloads: bool,
}

impl Trip {
    pub fn haul(&self) -> &Haul {
        &self.hauls[self.choice]
    }

    /// The same where time runs backwards, from the stop it leads to otherwise to the one it comes from, which unloads the job
    /// if it begins there. The reserve before it comes behind it then, so it is part of it.
    pub fn backwards(&self, from: &Stop, to: usize, unloads: bool, now: i64) -> Self {
        let f = &self.figures;
        let figures = Figures {
            from: f.to,
            to: f.from,
            total: f.total + f.reserve,
            lift: f.total - f.down,
            down: f.total - f.lift,
            reserve: 0,
            min: from.min,
            max: from.max,
            lower: now,
            upper: NEVER,
            tail: 0,
            ..*f
        };
        let hauls = Rc::clone(&self.hauls);
        Self { hauls, choice: self.choice, figures, to, hold: self.hold, unloads }
    }

    /// Tanks it dips into on the way.
    pub fn dips(&self) -> impl Iterator<Item = TankId> {
        let legs = &self.haul().legs;
        legs[..legs.len() - 1].iter().map(|leg| leg.to)
    }
}

/// What a trip comes to, wherever it is put. Milliseconds; lengths count from the start of the haul.
#[derive(Debug, Clone, Copy)]
pub struct Figures {
    pub hoist: HoistId,
    /// How the rail sees it.
    pub path: PathId,
    pub from: TankId,
    pub to: TankId,
    pub total: i64,
    pub lift: i64,
    pub down: i64,
    /// Kept free before the haul.
    pub reserve: i64,
    /// Window of the stay before the haul.
    pub min: i64,
    pub max: i64,
    /// Bounds on the start.
    pub lower: i64,
    pub upper: i64,
    /// From the start to the end of the job at the least.
    pub tail: i64,
}

/// The stops of a job; the first ones are where it may begin. `stands` is what each hoist does before its first haul, and
/// from when on.
pub fn stops(
    problem: &Problem,
    rules: &Rules,
    stands: &[(PathId, i64)],
    task: &Task,
    job: &Job,
) -> Vec<Stop> {
    let mut router = Router { problem, rules, stands, task, job, stops: Vec::new() };
    for place in &job.places {
        router.stops.push(router.stop(place.visit, place.tank, true));
    }
    let mut at = 0;
    while at < router.stops.len() {
        let trips = router.trips(at);
        router.stops[at].trips = trips;
        at += 1;
    }
    set_tails(&mut router.stops);
    router.stops
}

/// Works out how long it takes from each stop, and along each trip, to the end of the unload.
pub fn set_tails(stops: &mut [Stop]) {
    for at in 0..stops.len() {
        tail(stops, at);
    }
}

/// The tail of a stop, having set those of its trips.
fn tail(stops: &mut [Stop], at: usize) -> i64 {
    if stops[at].visit == Visit::Unload {
        stops[at].tail = 0;
    }
    if stops[at].tail != UNKNOWN {
        return stops[at].tail;
    }
    let mut least = NEVER;
    for i in 0..stops[at].trips.len() {
        let after = tail(stops, stops[at].trips[i].to);
        let stop = &mut stops[at];
        let trip = &mut stop.trips[i];
        let f = &mut trip.figures;
        f.tail = (if trip.unloads { f.total } else { f.down } + after).min(NEVER);
        if !trip.hold {
            least = least.min(stop.min - f.lift + f.tail);
        }
    }
    stops[at].tail = least;
    least
}

struct Router<'a, 'p> {
    problem: &'a Problem<'p>,
    rules: &'a Rules,
    stands: &'a [(PathId, i64)],
    task: &'a Task,
    job: &'a Job,
    stops: Vec<Stop>,
}

/// A tail nobody has looked at yet.
const UNKNOWN: i64 = -1;

impl Router<'_, '_> {
    fn stop(&self, visit: Visit, tank: TankId, beginning: bool) -> Stop {
        let (min, max) = if beginning {
            (0, NEVER)
        } else {
            let (min, max) = self.rules.window(self.problem.line, self.task, visit);
            (min.0, max.0.min(NEVER))
        };
        let carrier = self.task.carrier;
        let power = self.problem.power(carrier, visit).map_or(0, |w| w.0);
        Stop { visit, tank, min, max, power, beginning, trips: Vec::new(), tail: UNKNOWN }
    }

    fn station(&self, tank: TankId) -> bool {
        matches!(self.problem.line.tanks[tank].role, Role::Station { .. })
    }

    fn trips(&mut self, at: usize) -> Vec<Trip> {
        let (visit, tank, beginning) = (self.stops[at].visit, self.stops[at].tank, self.stops[at].beginning);
        if visit == Visit::Unload {
            return Vec::new();
        }
        let hooked = if beginning { self.job.hooked } else { None };
        let hauls = self.problem.hauls(self.task, visit, tank, hooked);
        let mut trips = Vec::new();
        for (choice, haul) in hauls.iter().enumerate() {
            let last = haul.last();
            let known =
                self.stops.iter().position(|s| !s.beginning && s.visit == last.visit && s.tank == last.to);
            let to = known.unwrap_or_else(|| {
                self.stops.push(self.stop(last.visit, last.to, false));
                self.stops.len() - 1
            });
            let figures = self.figures(at, haul);
            trips.push(Trip {
                hauls: Rc::clone(&hauls),
                choice,
                figures,
                to,
                hold: haul.is_hold(),
                unloads: last.visit == Visit::Unload,
            });
        }
        trips
    }

    fn figures(&self, at: usize, haul: &Haul) -> Figures {
        let stop = &self.stops[at];
        let first = haul.first();
        let lift = first.phases.to_lift().0;
        let (mut lower, mut upper) = (self.problem.now.0, NEVER);
        if stop.beginning {
            // A queued carrier is not touched before it is racked; one in a tank is lifted inside its window.
            let (lo, hi) = self.job.places[at].lift;
            lower = if self.job.live { lower.max(lo - lift) } else { lower.max(lo) };
            upper = hi.saturating_sub(lift);
        }
        let mut down = 0;
        for leg in &haul.legs {
            down = (leg.offset + leg.phases.to_down()).0;
            if !self.station(leg.to) {
                let tank = self.problem.state.tanks[leg.to];
                lower = lower.max(tank.from.0 - down);
                upper = upper.min(tank.until.0.min(NEVER).saturating_sub(down));
            }
        }
        if !self.station(stop.tank) {
            upper = upper.min(self.problem.state.tanks[stop.tank].until.0.min(NEVER).saturating_sub(lift));
        }
        if !self.problem.rail.is_alone() {
            lower = lower.max(self.others_gone(haul));
        }
        Figures {
            hoist: haul.hoist,
            path: haul.path,
            from: first.from,
            to: haul.last().to,
            total: haul.total.0,
            lift,
            down,
            reserve: if first.attach {
                self.rules.reserve.of(self.problem.line, self.task.recipe, stop.visit).0
            } else {
                0
            },
            min: stop.min,
            max: stop.max,
            lower,
            upper,
            tail: 0,
        }
    }

    /// The earliest start of a haul by what the other hoists do at first.
    fn others_gone(&self, haul: &Haul) -> i64 {
        let others = self.stands.iter().enumerate().filter(|(h, _)| *h != haul.hoist.ix());
        let gone = others.map(|(_, (stand, from))| from + self.problem.rail.lag(*stand, haul.path));
        gone.max().unwrap_or(rail::FREE)
    }
}
