//! The planner's picture of what is so: carriers to bring out, the hauls each may make next, and window figures.
//! The only file of the planner that reads the shift's state.

use std::cell::RefCell;
use std::collections::BTreeMap;
use std::rc::Rc;

use super::basis::Basis;
use super::rail::{self, PathId, Rail};
use super::way::Leeway;
use crate::ids::{CarrierId, HoistId, Id as _, RecipeId, TankId};
use crate::line::{CarrierSpec, EntrySide, Harm, Line, Phases, Priority, Role, StageKind, Visit};
use crate::schedule::Move;
use crate::shift::{Place, State};
use crate::units::{Dur, Time, Watts};

/// A carrier that still has to come out, and where it starts from.
#[derive(Debug, Clone)]
pub(super) struct Task {
    pub carrier: CarrierId,
    pub recipe: RecipeId,
    pub start: Start,
    pub priority: Priority,
    pub due: Option<Time>,
    /// Its place in the order in which a person wants carriers to start, if it has one.
    pub rank: Option<usize>,
    pub leeway: Leeway,
    pub back: PutBack,
}

/// Whether a load that hangs may be put back where it came from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum PutBack {
    /// If it should not have been lifted yet.
    IfEarly,
    /// Though it has been there long enough, too.
    Anyway,
    /// If it should not have been lifted yet it goes nowhere else.
    NoOtherIfEarly,
}

/// Where a task starts from.
#[derive(Debug, Clone)]
pub(super) enum Start {
    /// Waiting at these load stations, not before `ready`.
    Queued { ready: Time, stations: Vec<TankId> },
    /// In a tank; the hoist is attached during a dip on the hook.
    Tank { tank: TankId, visit: Visit, since: Time, hooked: Option<HoistId> },
    /// Hanging on a hoist.
    Hook { hoist: HoistId, from: TankId, leaves: Visit, lifted: Time },
    /// Nowhere: what hangs is put down for good.
    Done,
}

/// One leg of a haul: a loaded move at a fixed offset from the haul's start.
#[derive(Debug, Clone)]
pub(super) struct Leg {
    pub from: TankId,
    pub to: TankId,
    pub leaves: Visit,
    pub visit: Visit,
    pub offset: Dur,
    pub phases: Phases,
    pub attach: bool,
    pub release: bool,
}

/// What a hoist does without letting go: one loaded move, or several with dips on the hook in between.
#[derive(Debug, Clone)]
pub(super) struct Haul {
    pub hoist: HoistId,
    pub legs: Vec<Leg>,
    pub total: Dur,
    /// The same haul as the rail knows it.
    pub path: PathId,
}

impl Haul {
    pub fn first(&self) -> &Leg {
        &self.legs[0]
    }
    pub fn last(&self) -> &Leg {
        self.legs.last().expect("a haul has at least one leg")
    }
    /// From the start of the haul to the beginning of its last immersion.
    pub fn to_down(&self) -> Dur {
        self.last().offset + self.last().phases.to_down()
    }
    /// The moves of a carrier that is hauled so from `start` on.
    pub fn moves(&self, carrier: CarrierId, start: Time) -> impl Iterator<Item = Move> {
        self.legs.iter().map(move |leg| Move {
            carrier,
            hoist: self.hoist,
            from: leg.from,
            to: leg.to,
            leaves: leg.leaves,
            visit: leg.visit,
            start: start + leg.offset,
            attach: leg.attach,
            release: leg.release,
        })
    }
    pub fn is_hold(&self) -> bool {
        matches!(self.last().visit, Visit::Hold(_) | Visit::Stray { .. })
    }
}

type HaulKey = (RecipeId, Visit, TankId, Option<HoistId>, bool);

/// Line, carriers and instant of one planner run.
pub(super) struct Problem<'a> {
    pub line: &'a Line,
    pub state: &'a State,
    pub now: Time,
    pub tasks: Vec<Task>,
    pub rail: Rc<Rail<'a>>,
    parking: &'a BTreeMap<RecipeId, Vec<TankId>>,
    hauls: Rc<RefCell<BTreeMap<HaulKey, Rc<Vec<Haul>>>>>,
}

impl<'a> Problem<'a> {
    pub fn new(basis: &'a Basis, now: Time) -> Self {
        let (line, state) = (&*basis.line, &*basis.state);
        let tasks = state.carriers.ids().filter_map(|c| task(line, state, c)).collect();
        let rail = Rc::new(Rail::new(line));
        Self { line, state, now, tasks, rail, parking: basis.parking(), hauls: Rc::default() }
    }

    /// When a hoist is back that is stopped.
    fn back(&self, hoist: HoistId) -> Option<Time> {
        self.state.standing.stopped.get(&hoist).and_then(|s| s.until)
    }

    /// From when on a hoist can be somewhere else.
    pub fn free_from(&self, hoist: HoistId) -> Time {
        let free = self.state.hoists[hoist].free_from;
        self.back(hoist).map_or(free, |back| back.max(free))
    }

    /// The start of the haul that is under way: as it was, or later if the person is slower than the model. A hoist that
    /// is stopped is still where it lifted, and one that another hoist stands in the way of waits there until that runs.
    pub fn under_way_from(&self, hoist: HoistId, lifted: Time, haul: &Haul) -> Time {
        let phases = &haul.first().phases;
        let start = (lifted - phases.to_lift()).max(self.now - phases.to_down());
        let start = self.back(hoist).map_or(start, |back| start.max(back - phases.to_clear()));
        let in_the_way = self.state.standing.stopped.keys().filter(|h| **h != hoist && !self.rail.is_alone());
        in_the_way.fold(start, |start, other| {
            let (stand, from) = self.stand(*other);
            match self.rail.lag(stand, haul.path) {
                rail::NEVER => start,
                lag => start.max(from + Dur(lag)),
            }
        })
    }

    /// True if a hoist that is stopped may make what hangs on another one wait.
    pub fn is_blocked(&self) -> bool {
        !self.rail.is_alone() && !self.state.standing.stopped.is_empty()
    }

    /// The haul that legs of one carrier make.
    pub fn haul(&self, recipe: RecipeId, hoist: HoistId, legs: Vec<Leg>) -> Haul {
        let (first, last) = (&legs[0], &legs[legs.len() - 1]);
        let capped = self.line.power_cap.is_some();
        let draws = |visit: Visit| {
            capped && matches!(visit, Visit::Step(n) if self.line.step(recipe, n).current.is_some())
        };
        let path = self.rail.path(hoist, &legs, (draws(first.leaves), draws(last.visit)));
        let total = last.offset + last.phases.total();
        Haul { hoist, legs, total, path }
    }

    /// The haul that consecutive moves of one carrier make; `None` if one of them cannot be made.
    pub fn haul_of(&self, moves: &[Move]) -> Option<Haul> {
        let first = moves.first()?;
        let legs: Option<Vec<Leg>> = moves
            .iter()
            .map(|m| {
                Some(Leg {
                    from: m.from,
                    to: m.to,
                    leaves: m.leaves,
                    visit: m.visit,
                    offset: m.start - first.start,
                    phases: m.phases(self.line, &self.state.book)?,
                    attach: m.attach,
                    release: m.release,
                })
            })
            .collect();
        Some(self.haul(self.spec(first.carrier).recipe, first.hoist, legs?))
    }

    /// What a hoist that carries nothing does at first, and from when on: it stays where it is until it is free.
    pub fn stand(&self, hoist: HoistId) -> (PathId, Time) {
        let h = &self.state.hoists[hoist];
        let place = self.rail.whereabouts(&self.state.hoists)[hoist.ix()];
        (self.rail.standing(hoist, h.at, place, (self.free_from(hoist) - self.now).or_zero()), self.now)
    }

    /// The same with tasks changed.
    pub fn with(&self, change: impl FnMut(&mut Task)) -> Self {
        let mut tasks = self.tasks.clone();
        tasks.iter_mut().for_each(change);
        let (rail, hauls) = (Rc::clone(&self.rail), Rc::clone(&self.hauls));
        Self { line: self.line, state: self.state, now: self.now, tasks, rail, parking: self.parking, hauls }
    }

    /// The task of a carrier that still has to come out.
    pub fn task_of(&self, carrier: CarrierId) -> Option<&Task> {
        self.tasks.binary_search_by_key(&carrier, |t| t.carrier).ok().map(|i| &self.tasks[i])
    }

    /// When the dwell of a visit begins to count for a carrier that is put down for it; one that is put back brings along
    /// what it had.
    pub fn counts_from(&self, carrier: CarrierId, leaves: Visit, visit: Visit, down: Time) -> Time {
        if leaves == visit { down - self.state.carriers[carrier].dwelled(visit) } else { down }
    }

    pub fn spec(&self, carrier: CarrierId) -> &CarrierSpec {
        &self.state.book.carriers[carrier]
    }

    /// Full power of a visit, if it draws any. Planned as if there were no ramp, which errs on the safe side.
    pub fn power(&self, carrier: CarrierId, visit: Visit) -> Option<Watts> {
        let Visit::Step(n) = visit else { return None };
        let spec = self.spec(carrier);
        let current = self.line.step(spec.recipe, n).current?;
        Some(Watts((spec.area_dm2 * current.density * current.volts).ceil() as i64))
    }

    /// What a carrier may do next from a tank, holds last. `attached` is the hoist of a dip on the hook. One that has
    /// started has to go on: where no hoist is quick enough for its air limit, as little over it as can be.
    pub fn hauls(&self, task: &Task, visit: Visit, tank: TankId, attached: Option<HoistId>) -> Rc<Vec<Haul>> {
        let started = !matches!(task.start, Start::Queued { .. });
        let key = (task.recipe, visit, tank, attached, started);
        if let Some(found) = self.hauls.borrow().get(&key) {
            return Rc::clone(found);
        }
        let hoists: Vec<HoistId> =
            self.line.hoists.ids().filter(|h| attached.is_none_or(|a| a == *h)).collect();
        let found = Rc::new(self.hauls_by(&hoists, task, visit, tank, attached.is_none()));
        self.hauls.borrow_mut().insert(key, Rc::clone(&found));
        found
    }

    fn hauls_by(
        &self,
        hoists: &[HoistId],
        task: &Task,
        visit: Visit,
        tank: TankId,
        attach: bool,
    ) -> Vec<Haul> {
        let within = |over: Dur| {
            let mut found = Vec::new();
            for &hoist in hoists.iter().filter(|h| self.rail.leaves_room(**h, tank)) {
                let on = (visit, tank);
                self.extend((task.recipe, over), hoist, on, attach, (&[], Dur::ZERO), &mut found);
            }
            found
        };
        let mut found = within(Dur::ZERO);
        if found.is_empty() && !matches!(task.start, Start::Queued { .. }) {
            found = within(Dur::UNLIMITED);
            let over = |h: &Haul| {
                h.legs.iter().map(|l| l.phases.air() - self.line.air_max(task.recipe, l.leaves)).max()
            };
            let least = found.iter().map(over).min();
            found.retain(|h| Some(over(h)) == least);
        }
        found.sort_by_key(|h| (h.is_hold(), h.total));
        found
    }

    fn is_standby(&self, tank: TankId) -> bool {
        let line = self.line;
        matches!(line.tanks[tank].role, Role::Bath(s) if line.stages[s].kind == StageKind::Standby)
    }

    /// The tanks a visit may be in. One that nobody knows the return of is among them only where there is no other.
    pub fn places_for(&self, recipe: RecipeId, visit: Visit) -> Vec<TankId> {
        let mut places = match visit {
            Visit::Stray { .. } => self.line.tanks.ids().filter(|t| self.is_standby(*t)).collect(),
            Visit::Unload if self.parking.contains_key(&recipe) => self.parking[&recipe].clone(),
            _ => self.line.places_for(recipe, visit),
        };
        let tanks = &self.state.tanks;
        if places.iter().any(|t| tanks[*t].lost.is_none() && tanks[*t].from < Time::FAR) {
            places.retain(|t| tanks[*t].lost.is_none());
        }
        places
    }

    /// True if a carrier has had the shortest dwell of the visit it was lifted out of.
    pub fn is_done(&self, carrier: CarrierId, leaves: Visit) -> bool {
        let (min, _) = self.line.window(self.spec(carrier).recipe, leaves);
        leaves == Visit::Load || self.state.carriers[carrier].dwelled(leaves) >= min
    }

    /// What may be done with a carrier that hangs on a hoist: go on, or put it back where it came from: first of all if it
    /// should not have been lifted yet, else last of all; as its task says.
    pub fn hauls_under_way(&self, task: &Task, leaves: Visit, from: TankId, hoist: HoistId) -> Rc<Vec<Haul>> {
        let (recipe, carrier) = (task.recipe, task.carrier);
        let mut all = self.hauls_by(&[hoist], task, leaves, from, true);
        let drip = self.line.drip(recipe, leaves);
        let is_done = self.is_done(carrier, leaves);
        match task.back {
            PutBack::Anyway => {}
            _ if is_done => return Rc::new(all),
            PutBack::IfEarly => {}
            PutBack::NoOtherIfEarly => all.clear(),
        }
        if let Some(phases) = self.line.phases(hoist, from, from, drip, true, true) {
            let leg = Leg {
                from,
                to: from,
                leaves,
                visit: leaves,
                offset: Dur::ZERO,
                phases,
                attach: true,
                release: !self.line.on_hook(recipe, leaves),
            };
            let back = self.haul(recipe, hoist, vec![leg]);
            let at = if is_done { all.len() } else { 0 };
            all.insert(at, back);
        }
        Rc::new(all)
    }

    fn extend(
        &self,
        (recipe, over): (RecipeId, Dur),
        hoist: HoistId,
        (visit, tank): (Visit, TankId),
        attach: bool,
        (legs, offset): (&[Leg], Dur),
        found: &mut Vec<Haul>,
    ) {
        let mut nexts: Vec<Visit> = self.line.next_visit(recipe, visit).into_iter().collect();
        if let Visit::Step(n) = visit {
            nexts.push(Visit::Hold(n));
        }
        if matches!(visit, Visit::Stray { .. }) && !self.is_standby(tank) {
            // Where it should be may be full until it is out of the way: standby water of any kind will do.
            nexts.push(visit);
        }
        for next in nexts {
            let dip = self.line.on_hook(recipe, next);
            for to in self.places_for(recipe, next) {
                let drip = self.line.drip(recipe, visit);
                let Some(phases) = self.line.phases(hoist, tank, to, drip, attach, !dip) else {
                    continue;
                };
                if phases.air() > self.line.air_max(recipe, visit) + over || !self.rail.leaves_room(hoist, to)
                {
                    continue;
                }
                let mut legs = legs.to_vec();
                legs.push(Leg {
                    from: tank,
                    to,
                    leaves: visit,
                    visit: next,
                    offset,
                    phases,
                    attach,
                    release: !dip,
                });
                if dip {
                    // The dip is short and its dwell is the point of it: aim for the target, always.
                    let end = offset + phases.total() + target(self.line, recipe, next);
                    self.extend((recipe, over), hoist, (next, to), false, (&legs, end), found);
                } else {
                    found.push(self.haul(recipe, hoist, legs));
                }
            }
        }
    }
}

/// The dwell to aim for.
pub(super) fn target(line: &Line, recipe: RecipeId, visit: Visit) -> Dur {
    match visit {
        Visit::Step(n) => line.step(recipe, n).target,
        _ => Dur::ZERO,
    }
}

/// The worst harm first: index into per-harm figures.
pub(super) fn rank(harm: Harm) -> usize {
    match harm {
        Harm::Scrap => 0,
        Harm::Rework => 1,
        Harm::Shade => 2,
        Harm::Nuisance => 3,
    }
}

fn task(line: &Line, state: &State, carrier: CarrierId) -> Option<Task> {
    let spec = &state.book.carriers[carrier];
    let order = &state.book.orders[spec.order];
    let queued = state.carriers[carrier].place == Place::Queued;
    let start = match state.carriers[carrier].place {
        Place::Queued => {
            let stations = match order.entry {
                EntrySide::At(station) => vec![station],
                EntrySide::Any => line.load_stations().collect(),
            };
            Start::Queued { ready: spec.ready, stations }
        }
        Place::InTank { tank, visit, since, hooked } => Start::Tank { tank, visit, since, hooked },
        Place::OnHook { hoist, from, leaves, lifted } => Start::Hook { hoist, from, leaves, lifted },
        Place::Finished { .. } | Place::OffLine => return None,
    };
    Some(Task {
        carrier,
        recipe: spec.recipe,
        start,
        priority: order.priority,
        due: order.due,
        rank: state.standing.first.iter().position(|c| *c == carrier).filter(|_| queued),
        leeway: Leeway::default(),
        back: PutBack::IfEarly,
    })
}

/// What a second of lateness weighs.
pub(super) fn weight(priority: Priority) -> i64 {
    match priority {
        Priority::Rush => 10,
        Priority::Normal => 3,
        Priority::Low => 1,
    }
}
