//! All judgement about changes: what may be changed now.

use super::standing::is_standby;
use super::{Bench, Change, Whose, Window, impossible, variant};
use crate::ids::{Arena, CarrierId, HoistId, Id, OrderId, RecipeId, StepNo, TankId};
use crate::line::{CarrierSpec, EntrySide, Line, Order, Role, Visit};
use crate::shift::command::Refusal;
use crate::shift::decide::{name, visit_on_arrival, whereabouts};
use crate::shift::ledger::Round;
use crate::shift::state::{Place, State};
use crate::units::{Dur, Time};

/// The change as it is to be stored, or why it cannot be made at `now`.
pub fn decide(line: &Line, state: &State, change: &Change, now: Time) -> Result<Change, Refusal> {
    let judge = Judge { line, state, now };
    match change {
        Change::Hold { carrier } => judge.hold(*carrier),
        Change::Release { carrier } => judge.release(*carrier),
        Change::Park { carrier, tank } => judge.park(*carrier, *tank),
        Change::BringBack { carrier } => judge.bring_back(*carrier),
        Change::Quarantine { tank } => judge.quarantine(*tank),
        Change::Free { tank } => judge.free(*tank),
        Change::StopHoist { hoist, until, .. } => judge.stop(*hoist, *until),
        Change::RunHoist { hoist } => judge.run(*hoist),
        Change::SlowHoist { hoist, percent } => judge.slow(*hoist, *percent),
        Change::Promise { order, .. } => judge.promise(*order, change),
        Change::Reorder { carriers } => judge.reorder(carriers),
        Change::AddOrder { order, carriers } => return judge.add(order, carriers),
        Change::CancelOrder { order } => judge.cancel(*order),
        Change::Split { order, carriers, name } => judge.split(*order, carriers, name),
        Change::Dwell { whose, step, window } => judge.dwell(*whose, *step, *window),
        Change::Entry { order, side } => judge.entry(*order, *side),
        Change::Rework { carrier, recipe } => judge.rework(*carrier, *recipe),
        Change::Lend { carrier, bench } => judge.lend(*carrier, bench),
        Change::Back { carrier, tank } => judge.back(*carrier, *tank),
    }?;
    Ok(change.clone())
}

/// Where a carrier may be told to be parked at `now`: any standby its sheet allows (`None`), or in a tank that is named. `line`
/// is the one that changes have made.
pub fn places_to_park(line: &Line, state: &State, carrier: CarrierId, now: Time) -> Vec<Option<TankId>> {
    let judge = Judge { line, state, now };
    let named = line.tanks.ids().filter(|t| is_standby(line, *t)).map(Some);
    std::iter::once(None).chain(named).filter(|tank| judge.park(carrier, *tank).is_ok()).collect()
}

struct Judge<'a> {
    line: &'a Line,
    state: &'a State,
    now: Time,
}

/// The thing with this number, if there is one.
fn known<I: Id, T>(things: &Arena<I, T>, id: I, kind: &str) -> Result<(), Refusal> {
    things.get(id).map(|_| ()).ok_or_else(|| impossible(format!("there is no such {kind}")))
}

impl Judge<'_> {
    fn name(&self, carrier: CarrierId) -> String {
        name(self.state, carrier)
    }

    fn tank(&self, tank: TankId) -> &str {
        &self.line.tanks[tank].name
    }

    fn carrier(&self, carrier: CarrierId) -> Result<Place, Refusal> {
        known(&self.state.carriers, carrier, "carrier")?;
        Ok(self.state.carriers[carrier].place)
    }

    /// Where a carrier is and why that is in the way.
    fn is(&self, carrier: CarrierId, why: &str) -> Refusal {
        let really = whereabouts(self.line, self.state, carrier);
        impossible(format!("{} is {really}; {why}", self.name(carrier)))
    }

    fn hold(&self, carrier: CarrierId) -> Result<(), Refusal> {
        let place = self.carrier(carrier)?;
        if self.state.standing.held.contains_key(&carrier) {
            return Err(impossible(format!("{} is held already", self.name(carrier))));
        }
        match place {
            Place::Queued | Place::InTank { hooked: None, .. } => Ok(()),
            Place::InTank { .. } | Place::OnHook { .. } => {
                Err(self.is(carrier, "hold it once it is down and let go"))
            }
            Place::Finished { .. } | Place::OffLine => Err(self.is(carrier, "there is nothing to hold")),
        }
    }

    fn release(&self, carrier: CarrierId) -> Result<(), Refusal> {
        self.carrier(carrier)?;
        let held = self.state.standing.held.contains_key(&carrier);
        if held { Ok(()) } else { Err(impossible(format!("{} is not held", self.name(carrier)))) }
    }

    fn park(&self, carrier: CarrierId, tank: Option<TankId>) -> Result<(), Refusal> {
        let (from, leaves) = match self.carrier(carrier)? {
            Place::InTank { tank, visit, .. } => (tank, visit),
            Place::OnHook { from, leaves, .. } => (from, leaves),
            Place::Queued => return Err(self.is(carrier, "hold it instead")),
            Place::Finished { .. } | Place::OffLine => {
                return Err(self.is(carrier, "there is nothing to park"));
            }
        };
        if let Some(tank) = tank {
            known(&self.line.tanks, tank, "tank")?;
            if !is_standby(self.line, tank) {
                return Err(impossible(format!("{} is not standby water", self.tank(tank))));
            }
        }
        let there = matches!(self.state.carriers[carrier].place, Place::InTank { .. })
            && matches!(leaves, Visit::Hold(_) | Visit::Stray { .. })
            && is_standby(self.line, from);
        if there {
            let stays = tank.is_none_or(|t| t == from);
            return if stays {
                Ok(())
            } else {
                Err(self.is(carrier, "that is standby water; bring it back first"))
            };
        }
        let allowed = tank.map_or_else(|| self.standby_allowed(carrier, leaves), |t| vec![t]);
        if allowed.is_empty() {
            let why = "its sheet allows no standby after this step; name a tank to park it all the same";
            return Err(impossible(format!("{}: {why}", self.name(carrier))));
        }
        let ways: Vec<Result<(), Refusal>> =
            allowed.into_iter().map(|t| self.can_park(carrier, from, leaves, t)).collect();
        // One way is enough; if there is none, the first reason is as good as any.
        if ways.iter().any(Result::is_ok) { Ok(()) } else { ways.into_iter().next().unwrap_or(Ok(())) }
    }

    /// Standby tanks that the sheet allows after a visit.
    fn standby_allowed(&self, carrier: CarrierId, leaves: Visit) -> Vec<TankId> {
        let recipe = self.state.book.carriers[carrier].recipe;
        match leaves {
            Visit::Step(n) | Visit::Hold(n) => self.line.places_for(recipe, Visit::Hold(n)),
            // It strayed: any water is better than where it is.
            Visit::Stray { .. } => self.line.tanks.ids().filter(|t| is_standby(self.line, *t)).collect(),
            Visit::Load | Visit::Unload => Vec::new(),
        }
    }

    fn can_park(&self, carrier: CarrierId, from: TankId, leaves: Visit, tank: TankId) -> Result<(), Refusal> {
        let (line, state) = (self.line, self.state);
        let recipe = state.book.carriers[carrier].recipe;
        let name = self.name(carrier);
        if matches!(visit_on_arrival(line, recipe, leaves, tank), Visit::Step(_)) {
            return Err(impossible(format!("{} is a step of {name}'s recipe, not standby", self.tank(tank))));
        }
        if state.standing.quarantined.contains_key(&tank) || state.tanks[tank].from > self.now {
            return Err(impossible(format!("{} is not to be entered now", self.tank(tank))));
        }
        let stays = |c: &CarrierId| *c != carrier && state.stays_put(line, *c);
        let taken: Vec<CarrierId> = state.carriers_in(tank).filter(stays).collect();
        if taken.len() >= usize::from(line.tanks[tank].capacity) {
            let other = self.name(taken[0]);
            return Err(impossible(format!("{other} is kept in {}", self.tank(tank))));
        }
        let drip = line.drip(recipe, leaves);
        let air = line.hoists.ids().filter_map(|h| line.phases(h, from, tank, drip, true, true));
        let air = air.map(|p| p.air()).min();
        let most = line.air_max(recipe, leaves);
        match air {
            None => Err(impossible(format!("no hoist brings {name} to {}", self.tank(tank)))),
            Some(air) if air > most => Err(impossible(format!(
                "{} is too far for {name}: {air} in air, {most} allowed",
                self.tank(tank)
            ))),
            Some(_) => Ok(()),
        }
    }

    fn bring_back(&self, carrier: CarrierId) -> Result<(), Refusal> {
        self.carrier(carrier)?;
        let parked = self.state.standing.parked.contains_key(&carrier);
        if parked { Ok(()) } else { Err(impossible(format!("{} is not parked", self.name(carrier)))) }
    }

    fn quarantine(&self, tank: TankId) -> Result<(), Refusal> {
        known(&self.line.tanks, tank, "tank")?;
        if matches!(self.line.tanks[tank].role, Role::Station { .. }) {
            return Err(impossible(format!("{} is a station", self.tank(tank))));
        }
        if self.state.standing.quarantined.contains_key(&tank) {
            return Err(impossible(format!("{} is in quarantine already", self.tank(tank))));
        }
        Ok(())
    }

    fn free(&self, tank: TankId) -> Result<(), Refusal> {
        known(&self.line.tanks, tank, "tank")?;
        let closed = self.state.standing.quarantined.contains_key(&tank);
        if closed { Ok(()) } else { Err(impossible(format!("{} is not in quarantine", self.tank(tank)))) }
    }

    fn stop(&self, hoist: HoistId, until: Option<Time>) -> Result<(), Refusal> {
        known(&self.line.hoists, hoist, "hoist")?;
        match until {
            Some(said) if said <= self.now => Err(Refusal::time(said, None, "a stop ends later than now")),
            _ => Ok(()),
        }
    }

    fn run(&self, hoist: HoistId) -> Result<(), Refusal> {
        known(&self.line.hoists, hoist, "hoist")?;
        let stopped = self.state.standing.stopped.contains_key(&hoist);
        let name = &self.line.hoists[hoist].name;
        if stopped { Ok(()) } else { Err(impossible(format!("{name} is not stopped"))) }
    }

    fn slow(&self, hoist: HoistId, percent: u8) -> Result<(), Refusal> {
        known(&self.line.hoists, hoist, "hoist")?;
        let name = &self.line.hoists[hoist].name;
        let now = self.state.standing.slow.get(&hoist).map_or(100, |(percent, _)| *percent);
        // Below a tenth a hoist is better said to be stopped.
        if !(10..=100).contains(&percent) {
            return Err(impossible(format!("{percent} % is no speed to work at; say 10 to 100 %")));
        }
        if percent == now {
            return Err(impossible(format!("{name} runs at {now} % already")));
        }
        Ok(())
    }

    fn promise(&self, order: OrderId, change: &Change) -> Result<(), Refusal> {
        known(&self.state.book.orders, order, "order")?;
        let has = &self.state.book.orders[order];
        let same = *change == Change::Promise { order, priority: has.priority, due: has.due };
        if same { Err(impossible(format!("{} is promised so already", has.name))) } else { Ok(()) }
    }

    fn reorder(&self, carriers: &[CarrierId]) -> Result<(), Refusal> {
        for (k, &carrier) in carriers.iter().enumerate() {
            if self.carrier(carrier)? != Place::Queued {
                return Err(self.is(carrier, "only what waits to start can be put in order"));
            }
            if carriers[..k].contains(&carrier) {
                return Err(impossible(format!("{} is named twice", self.name(carrier))));
            }
        }
        if carriers == self.state.standing.first {
            return Err(impossible("the queue is in that order already".to_owned()));
        }
        Ok(())
    }

    fn add(&self, order: &Order, carriers: &[CarrierSpec]) -> Result<Change, Refusal> {
        let (line, book) = (self.line, &self.state.book);
        self.order_name(&order.name)?;
        known(&line.recipes, order.recipe, "recipe")?;
        self.station(order.entry)?;
        if carriers.is_empty() {
            return Err(impossible(format!("{} has no carriers", order.name)));
        }
        let most = usize::from(u16::MAX);
        if book.carriers.len() + carriers.len() > most || book.orders.len() >= most {
            return Err(impossible(format!("a shift has at most {most} orders and as many carriers")));
        }
        for (k, spec) in carriers.iter().enumerate() {
            known(&line.recipes, spec.recipe, "recipe")?;
            let taken = book.carriers.find(|c| c.name == spec.name).is_some()
                || carriers[..k].iter().any(|c| c.name == spec.name);
            if spec.name.trim().is_empty() || taken {
                return Err(impossible(format!("{:?} is no new name for a carrier", spec.name)));
            }
            if !(spec.area_dm2.is_finite() && spec.area_dm2 >= 0.0) {
                return Err(impossible(format!("{} has no such area", spec.name)));
            }
        }
        let id = OrderId::at(book.orders.len());
        let carriers = carriers.iter().map(|c| CarrierSpec { order: id, ..c.clone() }).collect();
        Ok(Change::AddOrder { order: Box::new(order.clone()), carriers })
    }

    fn order_name(&self, name: &str) -> Result<(), Refusal> {
        if name.trim().is_empty() || self.state.book.orders.find(|o| o.name == name).is_some() {
            return Err(impossible(format!("{name:?} is no new name for an order")));
        }
        Ok(())
    }

    /// The carriers of an order.
    fn of(&self, order: OrderId) -> impl Iterator<Item = CarrierId> {
        let carriers = &self.state.book.carriers;
        carriers.ids().filter(move |c| carriers[*c].order == order)
    }

    fn cancel(&self, order: OrderId) -> Result<(), Refusal> {
        known(&self.state.book.orders, order, "order")?;
        if self.of(order).all(|c| self.state.carriers[c].place != Place::Queued) {
            let name = &self.state.book.orders[order].name;
            return Err(impossible(format!(
                "every carrier of {name} has started; there is nothing to cancel"
            )));
        }
        Ok(())
    }

    fn split(&self, order: OrderId, carriers: &[CarrierId], name: &str) -> Result<(), Refusal> {
        known(&self.state.book.orders, order, "order")?;
        self.order_name(name)?;
        let from = &self.state.book.orders[order].name;
        if carriers.is_empty() {
            return Err(impossible(format!("say which carriers leave {from}")));
        }
        let ledger = &self.state.ledger;
        let found = ledger.counts(self.state, order).found;
        for (k, &carrier) in carriers.iter().enumerate() {
            self.carrier(carrier)?;
            if self.state.book.carriers[carrier].order != order || carriers[..k].contains(&carrier) {
                return Err(impossible(format!("{} is not there to leave {from}", self.name(carrier))));
            }
            if self.state.standing.cancelled.contains(&carrier) {
                return Err(impossible(format!(
                    "{} was cancelled; nothing hangs on it that could leave {from}",
                    self.name(carrier)
                )));
            }
            let lost = |round: Round| round.count.is_some_and(|count| round.racked > count.all());
            if found > 0 && ledger.rounds(self.state, carrier).into_iter().any(lost) {
                return Err(impossible(format!(
                    "{} came out short, and parts of {from} were found: nobody knows of which carrier",
                    self.name(carrier)
                )));
            }
        }
        if carriers.len() == self.of(order).count() {
            return Err(impossible(format!("nothing would be left of {from}")));
        }
        Ok(())
    }

    fn dwell(&self, whose: Whose, step: StepNo, window: Window) -> Result<(), Refusal> {
        let (line, state) = (self.line, self.state);
        match whose {
            Whose::Carrier(carrier) => known(&state.carriers, carrier, "carrier")?,
            Whose::Order(order) => known(&state.book.orders, order, "order")?,
        }
        let carriers = variant::still_before(line, state, whose, step);
        if carriers.is_empty() {
            return Err(impossible("that step is not ahead of any of them".to_owned()));
        }
        if !(window.min <= window.target && window.target <= window.max) || window.min.0 < 0 {
            return Err(impossible(
                "a window has its shortest, its target and its longest in order".to_owned(),
            ));
        }
        if window.target > Dur::LONGEST {
            return Err(impossible("no dwell is aimed at for longer than a week".to_owned()));
        }
        for carrier in carriers {
            let recipe = state.book.carriers[carrier].recipe;
            let sheet = line.step(state.sheet(recipe), step);
            if window.min < sheet.min || window.max > sheet.max {
                return Err(impossible(format!(
                    "the process sheet of {} allows {} to {}",
                    self.name(carrier),
                    sheet.min,
                    sheet.max
                )));
            }
            if variant::is_past(state, carrier, step, window, self.now) {
                return Err(self.is(carrier, "for longer than that already"));
            }
        }
        Ok(())
    }

    fn entry(&self, order: Option<OrderId>, side: EntrySide) -> Result<(), Refusal> {
        let orders = &self.state.book.orders;
        if let Some(order) = order {
            known(orders, order, "order")?;
        }
        self.station(side)?;
        let mut concerned = orders.iter().filter(|(id, _)| order.is_none_or(|o| o == *id));
        if concerned.all(|(_, o)| o.entry == side) {
            return Err(impossible("they enter there already".to_owned()));
        }
        Ok(())
    }

    fn station(&self, side: EntrySide) -> Result<(), Refusal> {
        let EntrySide::At(tank) = side else { return Ok(()) };
        known(&self.line.tanks, tank, "station")?;
        match self.line.tanks[tank].role {
            Role::Station { load: true, .. } => Ok(()),
            _ => Err(Refusal::NotALoadStation { tank: self.tank(tank).to_owned() }),
        }
    }

    fn rework(&self, carrier: CarrierId, recipe: RecipeId) -> Result<(), Refusal> {
        let place = self.carrier(carrier)?;
        known(&self.line.recipes, recipe, "recipe")?;
        if place == Place::OffLine && self.state.standing.cancelled.contains(&carrier) {
            return Err(impossible(format!("{} was cancelled before it started", self.name(carrier))));
        }
        let own = self.state.sheet(self.state.book.carriers[carrier].recipe);
        if !self.line.restarts(recipe, own) {
            let (wanted, own) = (&self.line.recipes[recipe].name, &self.line.recipes[own].name);
            return Err(impossible(format!("{wanted} does not strip and start {own} again")));
        }
        if self.state.is_parked(self.line, carrier) {
            return Err(self.is(carrier, "parked; bring it back first"));
        }
        self.lent(carrier)?;
        if self.state.ledger.unracked(self.state, carrier).is_some_and(|count| count.again() == 0) {
            return Err(impossible(format!("nothing that came off {} can be run again", self.name(carrier))));
        }
        let (done, most) = (self.state.standing.reworks(carrier), usize::from(self.line.rework.most));
        if done >= most {
            let name = self.name(carrier);
            return Err(impossible(format!(
                "{name} was stripped and run again {done} of {most} times: each time takes metal; count it as scrap"
            )));
        }
        Ok(())
    }

    /// Refuses what is at a bench.
    fn lent(&self, carrier: CarrierId) -> Result<(), Refusal> {
        match self.state.standing.lent.get(&carrier) {
            Some(lent) => {
                let (name, bench) = (self.name(carrier), &lent.bench.name);
                Err(impossible(format!("{name} is at {bench}; bring it back first")))
            }
            None => Ok(()),
        }
    }

    fn lend(&self, carrier: CarrierId, bench: &Bench) -> Result<(), Refusal> {
        let place = self.carrier(carrier)?;
        self.lent(carrier)?;
        match place {
            Place::Queued | Place::InTank { hooked: None, .. } => {}
            Place::InTank { .. } | Place::OnHook { .. } => {
                return Err(self.is(carrier, "take it to the bench once it is down and let go"));
            }
            Place::Finished { .. } | Place::OffLine => {
                return Err(self.is(carrier, "it is not on the line"));
            }
        }
        if bench.name.trim().is_empty() || bench.name.chars().count() > 24 {
            return Err(impossible("say which bench, in up to 24 letters".to_owned()));
        }
        if bench.min.0 < 0 || bench.min > bench.max {
            return Err(impossible("a window has its shortest and its longest in order".to_owned()));
        }
        let recipe = &self.line.recipes[self.state.book.carriers[carrier].recipe];
        if bench.resume.ix() >= recipe.steps.len() {
            return Err(impossible(format!("{} has {} steps", recipe.label, recipe.steps.len())));
        }
        Ok(())
    }

    fn back(&self, carrier: CarrierId, tank: Option<TankId>) -> Result<(), Refusal> {
        self.carrier(carrier)?;
        let Some(lent) = self.state.standing.lent.get(&carrier) else {
            return Err(impossible(format!("{} is at no bench", self.name(carrier))));
        };
        let Some(tank) = tank else { return Ok(()) };
        known(&self.line.tanks, tank, "tank")?;
        let recipe = self.state.book.carriers[carrier].recipe;
        if !self.line.places_for(recipe, Visit::Step(lent.bench.resume)).contains(&tank) {
            let why = format!("{} is no tank for the step it goes on with", self.tank(tank));
            return Err(impossible(why));
        }
        let there: Vec<CarrierId> = self.state.carriers_in(tank).collect();
        if there.len() >= usize::from(self.line.tanks[tank].capacity) {
            return Err(impossible(format!("{} holds {}", self.tank(tank), self.name(there[0]))));
        }
        Ok(())
    }
}
