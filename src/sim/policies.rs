//! Simple rules to compare the calls with: what a careful person does who looks at the line now and decides the next
//! loaded move, without a plan. They are meant to be hard to beat.
//!
//! Whatever the rule, the person never lifts before the shortest dwell and aims at the target; lifts only for a tank that
//! is empty, in service and has power left; does a dip on the hook in one go; takes a carrier out of a place where it may
//! wait only when the next such place is free or soon free; starts a carrier only when nothing else is to do, an anodise
//! tank will be free for it and not too many carriers are on the line; goes first to whatever would overrun its window
//! otherwise, empties the tank it needs, and parks in standby water when that is not possible.
//! The rule decides between the carriers that are ready.

use crate::ids::{CarrierId, HoistId, Id as _, Seq, StageId, StepNo, TankId};
use crate::line::{EntrySide, Line, Role, StageKind, Visit};
use crate::schedule::{Move, Schedule};
use crate::shift::{Place, State};
use crate::units::{Dur, Time};

/// Which carrier goes first among those that are ready.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Rule {
    /// The one whose window ends first.
    FirstDue,
    /// The one that has been ready longest.
    FirstCome,
    /// The one nearest to the crane.
    Nearest,
}

/// What a person keeps free before the end of a window.
const GUARD: Dur = Dur::from_secs(30);

/// What a person reckons for one loaded move with the way to it.
const A_MOVE: Dur = Dur::from_secs(60);

/// A place where a load may stay this long is a place to wait in.
const MAY_WAIT: Dur = Dur::from_mins(9);

/// A person who has set out for a carrier and cannot have it for this long looks around again.
const GIVES_UP: Dur = Dur::from_secs(20);

/// How many tanks in a row a person empties to make way.
const IN_A_ROW: usize = 4;

/// A person who decides by a rule.
#[derive(Debug, Clone)]
pub struct Person {
    rule: Rule,
    most: usize,
    chosen: Option<Trip>,
}

/// One loaded move, or several with dips on the hook in between.
#[derive(Debug, Clone)]
struct Trip {
    moves: Vec<Move>,
    /// When the hoist has to set out.
    sets_out: Time,
    lift: Time,
    end: Time,
    /// The last move before it was decided.
    after: Option<Seq>,
}

impl Trip {
    fn first(&self) -> &Move {
        &self.moves[0]
    }
    fn last(&self) -> &Move {
        &self.moves[self.moves.len() - 1]
    }
    /// Empty travel to its start.
    fn way_there(&self) -> Dur {
        self.first().start - self.sets_out
    }
}

impl Person {
    /// A person who goes by `rule` and has at most `most` carriers on the line.
    pub fn new(rule: Rule, most: usize) -> Self {
        Self { rule, most, chosen: None }
    }

    /// The next loaded move from what is so now; none if there is nothing to do yet.
    pub fn next(&mut self, line: &Line, state: &State, now: Time) -> Schedule {
        let look = Look { line, state, now };
        if !self.chosen.as_ref().is_some_and(|t| look.stands(t)) {
            self.chosen = look.choose(self.rule, self.most);
        }
        Schedule::new(self.chosen.as_ref().map_or_else(Vec::new, |t| t.moves.clone()), now)
    }
}

/// A carrier in a tank.
#[derive(Debug, Clone, Copy)]
struct Standing {
    carrier: CarrierId,
    tank: TankId,
    visit: Visit,
    /// Shortest dwell, dwell to aim for and longest dwell, as instants.
    least: Time,
    ready: Time,
    deadline: Time,
}

struct Look<'a> {
    line: &'a Line,
    state: &'a State,
    now: Time,
}

impl Look<'_> {
    /// True if the person is on the way already and nothing has come between.
    fn stands(&self, trip: &Trip) -> bool {
        trip.after == self.state.last_physical
            && trip.sets_out <= self.now
            && self.now <= trip.first().start + GIVES_UP
            && trip.moves.iter().all(|m| self.state.tanks[m.to].from <= trip.end)
    }

    fn choose(&self, rule: Rule, most: usize) -> Option<Trip> {
        if let Some(carrier) = self.held() {
            return self.go_on(carrier);
        }
        let standing: Vec<Standing> = self.state.carriers.ids().filter_map(|c| self.standing(c)).collect();
        let trips: Vec<(Standing, Trip)> = standing
            .iter()
            .filter(|s| self.way_is_clear(s.carrier, s.visit))
            .filter_map(|s| Some((*s, self.onward(s, s.ready)?)))
            .collect();
        // Nothing to wait for but the crane itself.
        let at_once = |t: &Trip| t.sets_out <= self.now.max(self.state.hoists[t.first().hoist].free_from);
        let ready = trips.iter().filter(|(_, t)| at_once(t));
        let by_rule = |(s, t): &&(Standing, Trip)| match rule {
            Rule::FirstDue => (s.deadline.0, s.carrier),
            Rule::FirstCome => (s.ready.0, s.carrier),
            Rule::Nearest => (t.way_there().0, s.carrier),
        };
        if let Some((_, trip)) = ready.min_by_key(by_rule) {
            return Some(self.unless_threatened(trip, &standing));
        }
        let soonest = trips.iter().min_by_key(|(s, t)| (t.sets_out, s.carrier)).map(|(_, t)| t);
        if let Some(start) = self.new_start(most)
            && at_once(&start)
            && self.threatened(&start, &standing, GUARD + A_MOVE).is_empty()
        {
            return Some(start);
        }
        match soonest {
            Some(trip) => Some(self.unless_threatened(trip, &standing)),
            None => self.rescue(&standing, self.now + A_MOVE + GUARD),
        }
    }

    /// The carrier a hoist holds.
    fn held(&self) -> Option<CarrierId> {
        self.state.hoists.iter().find_map(|(_, h)| h.carrier)
    }

    fn standing(&self, carrier: CarrierId) -> Option<Standing> {
        let Place::InTank { tank, visit, since, .. } = self.state.carriers[carrier].place else {
            return None;
        };
        let recipe = self.state.book.carriers[carrier].recipe;
        let (min, max) = self.line.window(recipe, visit);
        let target = match visit {
            Visit::Step(n) => self.line.step(recipe, n).target,
            _ => min,
        };
        let deadline = if max.is_unlimited() { Time::FAR } else { since + max };
        Some(Standing { carrier, tank, visit, least: since + min, ready: since + target, deadline })
    }

    fn next_visit(&self, carrier: CarrierId, visit: Visit) -> Option<Visit> {
        self.line.next_visit(self.state.book.carriers[carrier].recipe, visit)
    }

    /// The trip to the next step, if there is room; lifted not before `lift`.
    fn onward(&self, s: &Standing, lift: Time) -> Option<Trip> {
        let next = self.next_visit(s.carrier, s.visit)?;
        self.trip(s.carrier, s.visit, s.tank, next, lift)
    }

    /// The trip to standby water, if it is allowed and free.
    fn park(&self, s: &Standing) -> Option<Trip> {
        let Visit::Step(n) = s.visit else { return None };
        self.trip(s.carrier, s.visit, s.tank, Visit::Hold(n), s.least)
    }

    /// The quickest trip with a hoist that is free.
    fn trip(
        &self,
        carrier: CarrierId,
        leaves: Visit,
        from: TankId,
        visit: Visit,
        lift: Time,
    ) -> Option<Trip> {
        let hoists = self.state.hoists.iter();
        let trips = hoists.filter_map(|(hoist, h)| {
            let there = h.free_from.max(self.now) + self.line.empty_travel(hoist, h.at, from)?;
            let start = there.max(lift - self.line.hoists[hoist].hook);
            let so_far = Legs { hoist, attach: true, at: start, moves: Vec::new() };
            let mut trip = self.legs(carrier, leaves, from, visit, &so_far)?;
            trip.sets_out = trip.first().start - (there - h.free_from.max(self.now));
            Some(trip)
        });
        trips.min_by_key(|t| t.end)
    }

    /// The rest of a trip from a tank on, dips on the hook included.
    fn legs(
        &self,
        carrier: CarrierId,
        leaves: Visit,
        from: TankId,
        visit: Visit,
        so_far: &Legs,
    ) -> Option<Trip> {
        let recipe = self.state.book.carriers[carrier].recipe;
        let dip = self.line.on_hook(recipe, visit);
        let drip = self.line.drip(recipe, leaves);
        let places = self.line.places_for(recipe, visit);
        let trips = places.into_iter().filter(|to| self.has_room(*to, carrier)).filter_map(|to| {
            let hoist = so_far.hoist;
            let phases = self.line.phases(hoist, from, to, drip, so_far.attach, !dip)?;
            let down = so_far.at + phases.to_down();
            let waits = (self.state.tanks[to].from - down).or_zero();
            // Only what has not begun can wait for a tank.
            if waits > Dur::ZERO && !so_far.moves.is_empty() {
                return None;
            }
            let start = so_far.at + waits;
            let stays = match visit {
                Visit::Step(n) => self.line.step(recipe, n).target,
                _ => Dur::ZERO,
            };
            if start + phases.to_down() + stays > self.state.tanks[to].until
                || !self.has_power(carrier, visit, start + phases.to_down())
            {
                return None;
            }
            let mut moves = so_far.moves.clone();
            moves.push(Move {
                carrier,
                hoist,
                from,
                to,
                leaves,
                visit,
                start,
                attach: so_far.attach,
                release: !dip,
            });
            if dip {
                let next = self.next_visit(carrier, visit)?;
                let at = start + phases.total() + stays;
                return self.legs(carrier, visit, to, next, &Legs { hoist, attach: false, at, moves });
            }
            let first = moves[0];
            let lift = first.start + if first.attach { self.line.hoists[hoist].hook } else { Dur::ZERO };
            let after = self.state.last_physical;
            Some(Trip { moves, sets_out: first.start, lift, end: start + phases.total(), after })
        });
        trips.min_by_key(|t| t.end)
    }

    fn has_room(&self, tank: TankId, carrier: CarrierId) -> bool {
        let t = &self.line.tanks[tank];
        let others = self.state.carriers_in(tank).filter(|c| *c != carrier).count();
        matches!(t.role, Role::Station { .. }) || others < usize::from(t.capacity)
    }

    /// Power a visit draws, as the person reckons it: the full figure.
    fn power(&self, carrier: CarrierId, visit: Visit) -> i64 {
        let Visit::Step(n) = visit else { return 0 };
        let spec = &self.state.book.carriers[carrier];
        let current = self.line.step(spec.recipe, n).current;
        current.map_or(0, |c| (spec.area_dm2 * c.density * c.volts).ceil() as i64)
    }

    /// True if the cap leaves room for the visit beside what is under current now and will still be at `at`.
    fn has_power(&self, carrier: CarrierId, visit: Visit, at: Time) -> bool {
        let own = self.power(carrier, visit);
        let Some(cap) = self.line.power_cap.filter(|_| own > 0) else { return true };
        own + self.power_in_use(carrier, at) <= cap.0
    }

    /// What others draw now, those left out that will be done by `at` if that is some time ahead.
    fn power_in_use(&self, carrier: CarrierId, at: Time) -> i64 {
        let others = self.state.carriers.ids().filter(|c| *c != carrier).filter_map(|c| self.standing(c));
        let soon = at - self.now < A_MOVE * 3;
        others.filter(|s| soon || s.ready + A_MOVE > at).map(|s| self.power(s.carrier, s.visit)).sum()
    }

    /// What to do with a carrier that hangs or is dipped: go on; else park; else put it back.
    fn go_on(&self, carrier: CarrierId) -> Option<Trip> {
        let recipe = self.state.book.carriers[carrier].recipe;
        match self.state.carriers[carrier].place {
            Place::InTank { tank, visit, since, hooked: Some(hoist) } => {
                let s = self.standing(carrier)?;
                let at = s.ready.max(self.now);
                let next = self.next_visit(carrier, visit)?;
                let so_far = Legs { hoist, attach: false, at, moves: Vec::new() };
                let trip = self.legs(carrier, visit, tank, next, &so_far);
                // Nowhere to go: it has to wait in the dip, and somebody else's tank is not the way out.
                trip.filter(|_| since <= self.now)
            }
            Place::OnHook { hoist, from, leaves, lifted } => {
                let at = lifted - self.line.hoists[hoist].hook;
                let to = |visit: Visit| {
                    let so_far = Legs { hoist, attach: true, at, moves: Vec::new() };
                    self.legs(carrier, leaves, from, visit, &so_far)
                };
                let (min, _) = self.line.window(recipe, leaves);
                let done = leaves == Visit::Load || self.state.carriers[carrier].dwelled(leaves) >= min;
                let onward = self.next_visit(carrier, leaves).filter(|_| done).and_then(to);
                let park = || match leaves {
                    Visit::Step(n) if done => to(Visit::Hold(n)),
                    _ => None,
                };
                onward.or_else(park).or_else(|| self.back(carrier, hoist, from, leaves, at))
            }
            _ => None,
        }
    }

    /// Back where it came from: that place is empty, whatever else is not.
    fn back(
        &self,
        carrier: CarrierId,
        hoist: HoistId,
        from: TankId,
        leaves: Visit,
        start: Time,
    ) -> Option<Trip> {
        let recipe = self.state.book.carriers[carrier].recipe;
        let release = !self.line.on_hook(recipe, leaves);
        let mv = Move { carrier, hoist, from, to: from, leaves, visit: leaves, start, attach: true, release };
        let end = start + mv.phases(self.line, &self.state.book)?.total();
        Some(Trip { moves: vec![mv], sets_out: start, lift: start, end, after: self.state.last_physical })
    }

    /// Those that would overrun their window, or come within `guard` of it, if this trip were made first; by deadline.
    fn threatened<'s>(&self, trip: &Trip, standing: &'s [Standing], guard: Dur) -> Vec<&'s Standing> {
        let last = trip.last();
        let mut found: Vec<&Standing> = standing
            .iter()
            .filter(|s| s.carrier != last.carrier && s.deadline < Time::FAR)
            .filter(|s| {
                let way = self.line.empty_travel(last.hoist, last.to, s.tank).unwrap_or(Dur::ZERO);
                trip.end + way + self.line.hoists[last.hoist].hook + guard > s.deadline
            })
            .collect();
        found.sort_by_key(|s| (s.deadline, s.carrier));
        found
    }

    /// The trip, or what saves another carrier that would overrun meanwhile.
    fn unless_threatened(&self, trip: &Trip, standing: &[Standing]) -> Trip {
        for s in self.threatened(trip, standing, GUARD) {
            let own = standing.iter().find(|o| o.carrier == trip.first().carrier);
            if own.is_some_and(|o| o.deadline <= s.deadline) {
                break;
            }
            let Some(first) = self.save(s, standing) else { continue };
            let there = trip.end
                + self
                    .line
                    .empty_travel(first.first().hoist, trip.last().to, first.first().from)
                    .unwrap_or(Dur::ZERO);
            if there > first.first().start {
                return first;
            }
        }
        trip.clone()
    }

    /// With nothing else to do: whatever is near the end of its window.
    fn rescue(&self, standing: &[Standing], until: Time) -> Option<Trip> {
        let mut near: Vec<&Standing> = standing.iter().filter(|s| s.deadline < until).collect();
        near.sort_by_key(|s| (s.deadline, s.carrier));
        near.into_iter().find_map(|s| self.save(s, standing))
    }

    /// What gets a carrier out of a window that closes: its own trip, emptying the tank it needs, or standby water.
    fn save(&self, s: &Standing, standing: &[Standing]) -> Option<Trip> {
        let in_time = |t: &Trip| t.lift + Dur(GUARD.0 / 2) <= s.deadline;
        if let Some(trip) = self.onward(s, s.ready).filter(in_time).or_else(|| self.onward(s, s.least)) {
            return Some(trip);
        }
        let way = self.make_way(s, standing, IN_A_ROW);
        // After it the way to this carrier is one more empty travel.
        let quick = way.as_ref().is_some_and(|t| t.end + GUARD <= s.deadline);
        if quick { way } else { self.park(s).or(way) }
    }

    /// Takes somebody out of the tank a carrier needs next.
    fn make_way(&self, s: &Standing, standing: &[Standing], depth: usize) -> Option<Trip> {
        if depth == 0 {
            return None;
        }
        let recipe = self.state.book.carriers[s.carrier].recipe;
        let mut visit = self.next_visit(s.carrier, s.visit)?;
        let mut wanted = self.line.places_for(recipe, visit);
        // After a dip the load must go on at once, so that tank is in the way too.
        while self.line.on_hook(recipe, visit) {
            visit = self.next_visit(s.carrier, visit)?;
            wanted.extend(self.line.places_for(recipe, visit));
        }
        let occupants = standing.iter().filter(|o| o.carrier != s.carrier && wanted.contains(&o.tank));
        let ways = occupants.filter_map(|o| {
            let own = self.onward(o, o.ready).filter(|t| t.end <= s.deadline);
            own.or_else(|| self.onward(o, o.least)).or_else(|| self.make_way(o, standing, depth - 1))
        });
        ways.min_by_key(|t| t.end)
    }

    /// True if a carrier that leaves this visit will find a place to wait in: the next one on its way, if it is one;
    /// otherwise one that is free, or will be when the carrier gets there, for it and for those under way to it already.
    fn way_is_clear(&self, carrier: CarrierId, leaves: Visit) -> bool {
        let Some((harbour, arrives)) = self.harbour(carrier, leaves) else { return true };
        self.place_in(carrier, harbour, arrives)
    }

    /// The next place to wait in after a stretch of short windows, and when the carrier would be there; `None` if it is
    /// the very next one or the way out.
    fn harbour(&self, carrier: CarrierId, leaves: Visit) -> Option<(Visit, Time)> {
        let recipe = self.state.book.carriers[carrier].recipe;
        let first = self.line.next_visit(recipe, leaves)?;
        let (mut visit, mut at) = (first, self.now + A_MOVE);
        loop {
            let Visit::Step(n) = visit else { return None };
            let step = self.line.step(recipe, n);
            if step.max >= MAY_WAIT {
                return (visit != first).then_some((visit, at));
            }
            at = at + step.target + A_MOVE;
            visit = self.line.next_visit(recipe, visit)?;
        }
    }

    /// True if a tank for `visit` is there for the carrier at `at`, those that come before it served, and power too.
    fn place_in(&self, carrier: CarrierId, visit: Visit, at: Time) -> bool {
        let Visit::Step(n) = visit else { return true };
        let recipe = self.state.book.carriers[carrier].recipe;
        let stage = self.line.step(recipe, n).stage;
        let tanks = self
            .line
            .tanks_of(stage)
            .filter(|t| self.state.tanks[*t].from <= at && at < self.state.tanks[*t].until);
        let free: usize = tanks
            .map(|t| {
                let stay = self
                    .state
                    .carriers_in(t)
                    .filter_map(|c| self.standing(c))
                    .filter(|s| s.ready + A_MOVE > at);
                usize::from(self.line.tanks[t].capacity).saturating_sub(stay.count())
            })
            .sum();
        let coming: Vec<(CarrierId, Visit)> = self
            .state
            .carriers
            .ids()
            .filter(|c| *c != carrier)
            .filter_map(|c| Some((c, self.heads_for(c, stage)?)))
            .collect();
        let Some(cap) = self.line.power_cap.filter(|_| self.power(carrier, visit) > 0) else {
            return coming.len() < free;
        };
        let power: i64 = coming.iter().map(|(c, v)| self.power(*c, *v)).sum();
        coming.len() < free && power + self.power(carrier, visit) + self.power_in_use(carrier, at) <= cap.0
    }

    /// The visit to a stage that a carrier is under way to through short windows, or hangs for.
    fn heads_for(&self, carrier: CarrierId, stage: StageId) -> Option<Visit> {
        let recipe = self.state.book.carriers[carrier].recipe;
        let (mut visit, hangs) = match self.state.carriers[carrier].place {
            Place::InTank { visit, .. } => (visit, false),
            Place::OnHook { leaves, .. } => (leaves, true),
            _ => return None,
        };
        let waits = |v: Visit| match v {
            Visit::Step(n) => self.line.step(recipe, n).max >= MAY_WAIT,
            _ => false,
        };
        if !hangs && waits(visit) {
            return None;
        }
        loop {
            visit = self.line.next_visit(recipe, visit)?;
            let Visit::Step(n) = visit else { return None };
            if self.line.step(recipe, n).stage == stage {
                return Some(visit);
            }
            if waits(visit) {
                return None;
            }
        }
    }

    /// The next carrier from the queue, if it may start: rush first, then by promise, then as they came.
    fn new_start(&self, most: usize) -> Option<Trip> {
        let state = self.state;
        if state.carriers.ids().filter(|c| state.on_line(*c)).count() >= most {
            return None;
        }
        let mut queue: Vec<CarrierId> = state
            .carriers
            .ids()
            .filter(|c| {
                state.carriers[*c].place == Place::Queued && state.book.carriers[*c].ready <= self.now
            })
            .collect();
        let key = |c: CarrierId| {
            let spec = &state.book.carriers[c];
            let order = &state.book.orders[spec.order];
            (order.priority, order.due.unwrap_or(Time::FAR), spec.ready, c)
        };
        queue.sort_by_key(|c| key(*c));
        queue.into_iter().find_map(|c| self.start(c))
    }

    fn start(&self, carrier: CarrierId) -> Option<Trip> {
        let spec = &self.state.book.carriers[carrier];
        if !self.anodise_will_be_free(carrier) || !self.way_is_clear(carrier, Visit::Load) {
            return None;
        }
        let stations: Vec<TankId> = match self.state.book.orders[spec.order].entry {
            EntrySide::At(station) => vec![station],
            EntrySide::Any => self.line.load_stations().collect(),
        };
        let first = self.next_visit(carrier, Visit::Load)?;
        let trips =
            stations.into_iter().filter_map(|at| self.trip(carrier, Visit::Load, at, first, self.now));
        trips.min_by_key(|t| t.end)
    }

    /// True if an anodise tank and its power will be there when a carrier that starts now comes to it, for it and for all
    /// that are on the way already.
    fn anodise_will_be_free(&self, carrier: CarrierId) -> bool {
        let recipe = self.state.book.carriers[carrier].recipe;
        let steps = &self.line.recipes[recipe].steps;
        let Some(k) = steps.iter().position(|s| self.line.stages[s.stage].kind == StageKind::Anodise) else {
            return true;
        };
        let way: Dur = steps[..k].iter().map(|s| s.target + A_MOVE).sum();
        let at = self.now + A_MOVE + way;
        let stage = steps[k].stage;
        let tanks = self
            .line
            .tanks_of(stage)
            .filter(|t| self.state.tanks[*t].from <= at && at < self.state.tanks[*t].until);
        let busy = |t: &TankId| {
            self.state.carriers_in(*t).filter_map(|c| self.standing(c)).any(|s| s.ready + A_MOVE > at)
        };
        let free = tanks.filter(|t| !busy(t)).count();
        let before: Vec<(CarrierId, Visit)> =
            self.state.carriers.ids().filter_map(|c| Some((c, self.is_before(c, stage)?))).collect();
        let own = self.power(carrier, Visit::Step(StepNo::at(k)));
        let power: i64 = before.iter().map(|(c, v)| self.power(*c, *v)).sum();
        let cap = self.line.power_cap.map_or(i64::MAX, |w| w.0);
        before.len() < free && own + power + self.power_in_use(carrier, at) <= cap
    }

    /// The visit to a stage that a carrier on the line still has before it.
    fn is_before(&self, carrier: CarrierId, stage: StageId) -> Option<Visit> {
        let recipe = self.state.book.carriers[carrier].recipe;
        let mut visit = match self.state.carriers[carrier].place {
            Place::InTank { visit, .. } => visit,
            Place::OnHook { leaves, .. } => leaves,
            _ => return None,
        };
        loop {
            visit = self.line.next_visit(recipe, visit)?;
            let Visit::Step(n) = visit else { return None };
            if self.line.step(recipe, n).stage == stage {
                return Some(visit);
            }
        }
    }
}

/// The legs of a trip so far.
struct Legs {
    hoist: HoistId,
    attach: bool,
    at: Time,
    moves: Vec<Move>,
}
