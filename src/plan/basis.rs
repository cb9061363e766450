//! What the planner plans from: line and state as they are, with everything that a person has changed put in terms that
//! hauls, tanks and windows have. Nothing else in the planner knows of changes.
//!
//! 1. A carrier that nobody is to move is off the line; its tank has so much less room, the line so much less power.
//! 2. A carrier that is to be parked has a recipe that ends where it is, and its way out leads into standby water.
//! 3. One that cannot get to its end because a tank it needs is shut for good stays where it is, or is put down where it
//!    can be.
//! 4. A tank in quarantine, or with a bath outside its limits, is out of service until a person says otherwise. A hoist
//!    that is stopped is back at an instant, and so is a tank that nobody knows the return of, for those that have started.
//!    What has not started and needs such a tank waits.

use std::borrow::Cow;
use std::collections::BTreeMap;

use super::Settings;
use crate::ids::{CarrierId, Id as _, RecipeId, Seq, TankId};
use crate::line::{Line, Recipe, Role, StageKind, Visit};
use crate::schedule::{Move, Schedule};
use crate::shift::{Place, State, Stop, StopCause, bath, racks, visit_on_arrival};
use crate::units::{Time, Watts};

/// Line and state to plan from.
pub(super) struct Basis<'a> {
    /// The line as it is, changes put in.
    pub line: Cow<'a, Line>,
    /// The state, changes put in.
    pub state: Cow<'a, State>,
    now: &'a Line,
    /// The same without, for what a visit really is.
    real: &'a State,
    /// The recipes of carriers that are to be parked, and the tanks they may go to.
    parks: BTreeMap<RecipeId, Vec<TankId>>,
}

impl<'a> Basis<'a> {
    /// The basis of a plan that begins at `now`. How long hoists and tanks are away that nobody knows the return of is in
    /// the settings. Carriers that are to be parked go on by their recipe if there is no room for that (`park`).
    pub fn new(
        filed: &'a Line,
        state: &'a State,
        now: Time,
        settings: &Settings,
        park: impl Fn(CarrierId) -> bool,
    ) -> Self {
        let line = state.line(filed);
        let mut basis = Self {
            line: Cow::Borrowed(line),
            state: Cow::Borrowed(state),
            now: line,
            real: state,
            parks: BTreeMap::new(),
        };
        for (hoist, stop) in &state.standing.stopped {
            let back = stop.back(now, settings.stop);
            basis.state.to_mut().standing.stopped.entry(*hoist).and_modify(|s| s.until = Some(back));
        }
        for (tank, t) in state.tanks.iter().filter(|(_, t)| t.lost.is_some()) {
            basis.state.to_mut().tanks[tank].from = t.back(now, settings.out);
        }
        for tank in state.standing.quarantined.keys() {
            basis.state.to_mut().tanks[*tank].from = Time::FAR;
        }
        for tank in line.tanks.ids().filter(|t| bath::unfit(line, state, *t, now).is_some()) {
            basis.state.to_mut().tanks[tank].from = Time::FAR;
        }
        for (carrier, c) in state.carriers.iter() {
            if state.stays_put(line, carrier) || racks::waits(line, state, carrier).is_some() {
                basis.leave(carrier, c.place);
            } else if state.standing.parked.contains_key(&carrier) && park(carrier) {
                basis.park(carrier, c.place);
            }
        }
        // Mostly nothing is shut, and plans are made after every event.
        if line.tanks.ids().any(|t| basis.is_shut_to_the_queue(t)) {
            while let Some(carrier) = state.carriers.ids().find(|c| basis.is_shut_in(*c)) {
                basis.shut_in(carrier);
            }
        }
        basis.turn_plan();
        basis
    }

    /// The same for going on with a schedule: who is parked in it is to be.
    pub fn of(
        filed: &'a Line,
        state: &'a State,
        schedule: &Schedule,
        now: Time,
        settings: &Settings,
    ) -> Self {
        Self::new(filed, state, now, settings, |carrier| {
            let last = schedule.moves.iter().rev().find(|m| m.carrier == carrier);
            last.is_some_and(|m| matches!(m.visit, Visit::Hold(_) | Visit::Stray { .. }))
        })
    }

    /// True if any carrier is to be parked.
    pub fn parks(&self) -> bool {
        !self.parks.is_empty()
    }

    /// The tanks a carrier with this recipe is to be parked in.
    pub fn parking(&self) -> &BTreeMap<RecipeId, Vec<TankId>> {
        &self.parks
    }

    /// Nobody moves this carrier.
    fn leave(&mut self, carrier: CarrierId, place: Place) {
        if let Place::InTank { tank, visit, .. } = place {
            let t = &mut self.line.to_mut().tanks[tank];
            t.capacity = t.capacity.saturating_sub(1);
            if t.capacity == 0 {
                self.state.to_mut().tanks[tank].from = Time::FAR;
            }
            let draws = draw(self.now, self.real, carrier, visit);
            if let Some(cap) = &mut self.line.to_mut().power_cap {
                *cap = Watts(cap.0 - draws.0);
            }
        }
        self.state.to_mut().carriers[carrier].place = Place::OffLine;
    }

    fn park(&mut self, carrier: CarrierId, place: Place) {
        let Some(leaves) = left_for_parking(place) else { return };
        let tanks = self.tanks_for(carrier, leaves);
        if tanks.iter().all(|t| self.is_shut(*t)) {
            return;
        }
        self.end_at(carrier, leaves, tanks);
    }

    /// The carrier's recipe ends with what it leaves, and its way out leads into one of these tanks.
    fn end_at(&mut self, carrier: CarrierId, leaves: Visit, tanks: Vec<TankId>) {
        let before = self.real.book.carriers[carrier].recipe;
        let done = match leaves {
            Visit::Step(n) | Visit::Hold(n) => n.ix() + 1,
            Visit::Stray { resume } => resume.ix(),
            Visit::Load | Visit::Unload => 0,
        };
        let whole = &self.now.recipes[before];
        let mut steps = whole.steps[..done].to_vec();
        if let Some(last) = steps.last_mut() {
            last.hold = None;
        }
        let recipe = self.line.to_mut().recipes.push(Recipe { steps, ..whole.clone() });
        self.parks.insert(recipe, tanks);
        let state = self.state.to_mut();
        state.book.carriers[carrier].recipe = recipe;
        // The line of the changes does not know that recipe.
        state.standing.forget_line();
    }

    /// True if a carrier cannot get to its end: every tank of a step ahead of it is shut for good.
    fn is_shut_in(&self, carrier: CarrierId) -> bool {
        let recipe = self.state.book.carriers[carrier].recipe;
        let after = |visit: Visit, is_shut: &dyn Fn(TankId) -> bool| {
            let next = |v: &Visit| self.line.next_visit(recipe, *v);
            let mut ahead = std::iter::successors(next(&visit), next);
            ahead.any(|v| self.line.places_for(recipe, v).iter().all(|t| is_shut(*t)))
        };
        match self.state.carriers[carrier].place {
            Place::InTank { visit, .. } | Place::OnHook { leaves: visit, .. } => {
                !self.parks.contains_key(&recipe) && after(visit, &|t| self.is_shut(t))
            }
            Place::Queued => after(Visit::Load, &|t| self.is_shut_to_the_queue(t)),
            Place::Finished { .. } | Place::OffLine => false,
        }
    }

    fn is_shut(&self, tank: TankId) -> bool {
        let station = matches!(self.line.tanks[tank].role, Role::Station { .. });
        !station && self.state.tanks[tank].from >= Time::FAR
    }

    /// True if nobody can say when a tank may be used.
    fn is_shut_to_the_queue(&self, tank: TankId) -> bool {
        self.is_shut(tank) || self.state.tanks[tank].lost.is_some()
    }

    /// What hangs is put down where its next step, standby or the way back lets it be; the rest stays.
    fn shut_in(&mut self, carrier: CarrierId) {
        let place = self.real.carriers[carrier].place;
        let (from, leaves, hoist) = match place {
            Place::OnHook { from, leaves, hoist, .. } => (from, leaves, hoist),
            Place::InTank { tank, visit, hooked: Some(hoist), .. } => (tank, visit, hoist),
            _ => return self.leave(carrier, place),
        };
        let recipe = self.real.book.carriers[carrier].recipe;
        // A dip on the hook is no place to stay.
        let next = self.now.next_visit(recipe, leaves).filter(|v| !self.now.on_hook(recipe, *v));
        let mut tanks = next.map_or_else(Vec::new, |v| self.now.places_for(recipe, v));
        if let Visit::Step(n) = leaves {
            tanks.extend(self.now.places_for(recipe, Visit::Hold(n)));
        }
        tanks.retain(|t| !self.is_shut(*t));
        if matches!(place, Place::OnHook { .. }) && !self.now.on_hook(recipe, leaves) {
            tanks.push(from);
        }
        if tanks.is_empty() {
            // The hoist has it until somebody says otherwise.
            let stop =
                Stop { cause: StopCause::Fault, since: Time::ZERO, until: Some(Time::FAR), said: Seq(0) };
            self.state.to_mut().standing.stopped.insert(hoist, stop);
            return self.leave(carrier, place);
        }
        self.end_at(carrier, leaves, tanks);
    }

    /// Standby water that will do: the named tank, or what the sheet allows.
    fn tanks_for(&self, carrier: CarrierId, leaves: Visit) -> Vec<TankId> {
        let recipe = self.real.book.carriers[carrier].recipe;
        match (self.real.standing.parked[&carrier].tank, leaves) {
            (Some(tank), _) => vec![tank],
            (None, Visit::Step(n) | Visit::Hold(n)) => self.now.places_for(recipe, Visit::Hold(n)),
            (None, _) => self.now.tanks.ids().filter(|t| is_standby(self.now, *t)).collect(),
        }
    }

    fn is_turned(&self, carrier: CarrierId) -> bool {
        self.parks.contains_key(&self.state.book.carriers[carrier].recipe)
    }

    /// The plan in force in terms of the basis: who is to be parked and is not in it is put in anew.
    fn turn_plan(&mut self) {
        let Some(plan) = self.real.plan.as_ref() else { return };
        let ends = |m: &Move| matches!(m.visit, Visit::Unload | Visit::Load);
        // Mostly every carrier is brought out, and nothing is to be turned.
        let mut last: BTreeMap<CarrierId, &Move> = BTreeMap::new();
        last.extend(plan.moves.iter().map(|m| (m.carrier, m)));
        if !self.parks() && last.values().all(|m| ends(m)) {
            return;
        }
        let turned = self.inward(plan);
        self.state.to_mut().plan = Some(turned);
    }

    /// A schedule in terms of the basis.
    pub fn inward(&self, schedule: &Schedule) -> Schedule {
        let parked = |carrier: CarrierId| {
            let last = schedule.moves.iter().rev().find(|m| m.carrier == carrier);
            last.is_some_and(|m| self.parks[&self.state.book.carriers[carrier].recipe].contains(&m.to))
        };
        // Who was to be parked and no longer is has a plan that ends too early.
        let last: BTreeMap<CarrierId, Visit> = schedule.moves.iter().map(|m| (m.carrier, m.visit)).collect();
        let ends = |c: CarrierId| matches!(last[&c], Visit::Unload | Visit::Load);
        let moves = schedule.moves.iter().filter_map(|m| {
            if !self.is_turned(m.carrier) {
                return ends(m.carrier).then_some(*m);
            }
            let visit = if m.release && !m.is_put_back() { Visit::Unload } else { m.visit };
            parked(m.carrier).then_some(Move { visit, ..*m })
        });
        Schedule { moves: moves.collect(), made_at: schedule.made_at }
    }

    /// Moves in terms of line and state as they are.
    pub fn outward(&self, mut moves: Vec<Move>) -> Vec<Move> {
        for m in moves.iter_mut().filter(|m| m.visit == Visit::Unload && self.is_turned(m.carrier)) {
            let recipe = self.real.book.carriers[m.carrier].recipe;
            m.visit = visit_on_arrival(self.now, recipe, m.leaves, m.to);
        }
        moves
    }
}

/// What a carrier leaves if its next move is into standby water.
fn left_for_parking(place: Place) -> Option<Visit> {
    let leaves = match place {
        Place::InTank { visit, .. } => visit,
        Place::OnHook { leaves, .. } => leaves,
        Place::Queued | Place::Finished { .. } | Place::OffLine => return None,
    };
    matches!(leaves, Visit::Step(_) | Visit::Hold(_) | Visit::Stray { .. }).then_some(leaves)
}

fn is_standby(line: &Line, tank: TankId) -> bool {
    matches!(line.tanks[tank].role, Role::Bath(s) if line.stages[s].kind == StageKind::Standby)
}

fn draw(line: &Line, state: &State, carrier: CarrierId, visit: Visit) -> Watts {
    let spec = &state.book.carriers[carrier];
    let current = match visit {
        Visit::Step(n) => line.step(spec.recipe, n).current,
        _ => None,
    };
    Watts(current.map_or(0, |c| (spec.area_dm2 * c.density * c.volts).ceil() as i64))
}
