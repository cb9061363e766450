//! Where everything is, told event by event with rules of its own.

use std::collections::{BTreeMap, BTreeSet};

use super::counting::Told;
use super::motion::{self, Deed, Seen};
use super::{Fault, Law};
use crate::ids::{CarrierId, HoistId, Id as _, OrderId, TankId};
use crate::line::{Line, OrderBook, Role, Visit};
use crate::shift::ledger::Entry;
use crate::shift::{Change, Claim, Event, State};

/// Where a carrier is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum At {
    Queue,
    Tank(TankId),
    Hook(HoistId),
    Finished(TankId),
    Away,
}

/// What came off a carrier.
#[derive(Debug, Clone, Copy, Default)]
struct Off {
    /// Good, rework and scrap of the last count, unless it was run again since.
    last: Option<[u32; 3]>,
    /// Counted before it was run again.
    before: u64,
    /// Of those, what went on it again: earlier times, and the last time.
    again: (u64, Option<u64>),
}

impl Off {
    fn present(self) -> u64 {
        self.last.map_or(0, |count| count.iter().copied().map(u64::from).sum())
    }

    /// Whatever was for rework goes on again, or all that was good if nothing was.
    fn run_again(&mut self) {
        let Some([good, rework, _]) = self.last else { return };
        self.before += self.present();
        self.again.0 += self.again.1.unwrap_or(0);
        self.again.1 = Some(u64::from(if rework > 0 { rework } else { good }));
        self.last = None;
    }

    /// Somebody says how many hang on it: of those that went on again, if any did.
    fn racked_again(&mut self, parts: u64) {
        self.again.1 = self.again.1.map(|_| parts);
    }
}

pub(super) struct World<'a> {
    line: &'a Line,
    /// Names only: what carriers are called in the end.
    book: &'a OrderBook,
    places: BTreeMap<CarrierId, At>,
    hooks: BTreeMap<HoistId, CarrierId>,
    last: BTreeMap<HoistId, (Seen, Deed)>,
    seen: Vec<Seen>,
    off: BTreeMap<CarrierId, Off>,
    /// Carriers that were cancelled while they waited to start.
    cancelled: BTreeSet<CarrierId>,
    /// Whose each carrier is, and how many orders there are so far.
    orders: (BTreeMap<CarrierId, OrderId>, usize),
}

impl<'a> World<'a> {
    pub fn new(line: &'a Line, state: &'a State) -> Self {
        Self {
            line,
            book: &state.book,
            places: BTreeMap::new(),
            hooks: BTreeMap::new(),
            last: BTreeMap::new(),
            seen: Vec::new(),
            off: BTreeMap::new(),
            cancelled: BTreeSet::new(),
            orders: (BTreeMap::new(), 0),
        }
    }

    pub fn place(&self, carrier: CarrierId) -> At {
        self.places.get(&carrier).copied().unwrap_or(At::Queue)
    }

    pub fn hook(&self, hoist: HoistId) -> Option<CarrierId> {
        self.hooks.get(&hoist).copied()
    }

    /// Hoists that were surely somewhere, in the order of the journal.
    pub fn seen(&self) -> &[Seen] {
        &self.seen
    }

    pub fn words(&self, at: At) -> String {
        match at {
            At::Queue => "waiting to start".to_owned(),
            At::Tank(tank) => format!("in {}", self.line.tanks[tank].name),
            At::Hook(hoist) => format!("on {}", self.line.hoists[hoist].name),
            At::Finished(tank) => format!("finished at {}", self.line.tanks[tank].name),
            At::Away => "off the line".to_owned(),
        }
    }

    pub fn name(&self, carrier: CarrierId) -> String {
        self.book.carriers.get(carrier).map_or_else(|| format!("carrier {}", carrier.0), |c| c.name.clone())
    }

    pub fn tell(&mut self, told: &Told, found: &mut Vec<Fault>) {
        if told.undone {
            return self.taken_back(told.event);
        }
        match told.event {
            Event::Lifted { carrier, hoist, from } => self.lifted(told, *carrier, *hoist, *from, found),
            Event::Lowered { carrier, hoist, to, visit, release } => {
                self.lowered(told, (*carrier, *hoist, *to), *visit, *release, found);
            }
            Event::CarrierCorrected { carrier, claim } => self.corrected(told, *carrier, *claim, found),
            Event::HoistCorrected { hoist, .. } => {
                self.last.remove(hoist);
            }
            Event::Entered { entry } => self.counted(told, entry, found),
            Event::Opened { book } => {
                let whose = book.carriers.iter().map(|(c, spec)| (c, spec.order));
                self.orders = (whose.collect(), book.orders.len());
            }
            Event::Changed { change, .. } => self.changed(told, change, found),
            _ => {}
        }
    }

    /// What is left of an order that was added or split off and taken back: its number, and carriers that never start.
    fn taken_back(&mut self, event: &Event) {
        if let Event::Changed { change: Change::AddOrder { carriers, .. }, .. } = event {
            let first = self.orders.0.len();
            let ids = (first..first + carriers.len()).map(CarrierId::at);
            let order = OrderId::at(self.orders.1);
            self.places.extend(ids.clone().map(|c| (c, At::Away)));
            self.cancelled.extend(ids.clone());
            self.orders.0.extend(ids.map(|c| (c, order)));
        }
        self.orders.1 += 1;
    }

    /// Changes that put a carrier somewhere else without a crane.
    fn changed(&mut self, told: &Told, change: &Change, found: &mut Vec<Fault>) {
        match change {
            Change::Rework { carrier, .. } => {
                self.off.entry(*carrier).or_default().run_again();
                if matches!(self.place(*carrier), At::Finished(_) | At::Away) {
                    self.places.insert(*carrier, At::Queue);
                }
            }
            Change::Lend { carrier, .. } => {
                self.places.insert(*carrier, At::Away);
            }
            Change::Back { carrier, tank } => {
                self.places.insert(*carrier, tank.map_or(At::Queue, At::Tank));
                if let Some(tank) = *tank {
                    self.room(told, tank, found);
                }
            }
            Change::AddOrder { carriers, .. } => {
                let (first, order) = (self.orders.0.len(), OrderId::at(self.orders.1));
                self.orders.0.extend((first..first + carriers.len()).map(|n| (CarrierId::at(n), order)));
                self.orders.1 += 1;
            }
            Change::Split { carriers, .. } => {
                let order = OrderId::at(self.orders.1);
                self.orders.0.extend(carriers.iter().map(|c| (*c, order)));
                self.orders.1 += 1;
            }
            Change::CancelOrder { order } => {
                let own = self.orders.0.iter().filter(|(_, o)| *o == order).map(|(c, _)| *c);
                let queued: Vec<CarrierId> = own.filter(|c| self.place(*c) == At::Queue).collect();
                self.cancelled.extend(queued.iter().copied());
                self.places.extend(queued.into_iter().map(|c| (c, At::Away)));
            }
            _ => {}
        }
    }

    fn lifted(
        &mut self,
        told: &Told,
        carrier: CarrierId,
        hoist: HoistId,
        from: TankId,
        found: &mut Vec<Fault>,
    ) {
        let mut fault = |law: Law, text: String| found.push(Fault { seq: told.seq, law, text });
        let name = self.name(carrier);
        let hoist_name = &self.line.hoists[hoist].name;
        if let Some(other) = self.hook(hoist).filter(|c| *c != carrier) {
            fault(Law::Hook, format!("{hoist_name} lifts {name} with {} on it", self.name(other)));
        }
        let is_there = match self.place(carrier) {
            At::Queue => matches!(self.line.tanks[from].role, Role::Station { load: true, .. }),
            At::Tank(tank) => tank == from,
            _ => false,
        };
        if !is_there {
            let (tank, really) = (&self.line.tanks[from].name, self.words(self.place(carrier)));
            fault(Law::Place, format!("{name} is lifted from {tank} but is {really}"));
        }
        self.moved(told, hoist, from, Deed::Lift, found);
        self.let_go(carrier);
        self.hooks.insert(hoist, carrier);
        self.places.insert(carrier, At::Hook(hoist));
    }

    fn lowered(
        &mut self,
        told: &Told,
        (carrier, hoist, to): (CarrierId, HoistId, TankId),
        visit: Visit,
        release: bool,
        found: &mut Vec<Fault>,
    ) {
        let name = self.name(carrier);
        if self.hook(hoist) != Some(carrier) || self.place(carrier) != At::Hook(hoist) {
            let really = self.words(self.place(carrier));
            let text = format!("{} puts {name} down, which is {really}", self.line.hoists[hoist].name);
            found.push(Fault { seq: told.seq, law: Law::Hook, text });
        }
        let at = match visit {
            Visit::Load => At::Queue,
            Visit::Unload => At::Finished(to),
            _ => At::Tank(to),
        };
        self.let_go(carrier);
        self.places.insert(carrier, at);
        if !release {
            self.hooks.insert(hoist, carrier);
        }
        self.moved(told, hoist, to, Deed::Lower, found);
        self.room(told, to, found);
    }

    fn corrected(&mut self, told: &Told, carrier: CarrierId, claim: Claim, found: &mut Vec<Fault>) {
        self.let_go(carrier);
        let at = match claim {
            Claim::Queued => At::Queue,
            Claim::InTank { tank, .. } => At::Tank(tank),
            Claim::OnHook { hoist, .. } => At::Hook(hoist),
            Claim::OffLine => At::Away,
            Claim::Finished { tank } => At::Finished(tank),
        };
        if let At::Hook(hoist) = at {
            if let Some(other) = self.hook(hoist) {
                let text = format!(
                    "{} is said to hang on {}, which has {} on it",
                    self.name(carrier),
                    self.line.hoists[hoist].name,
                    self.name(other)
                );
                found.push(Fault { seq: told.seq, law: Law::Hook, text });
            }
            self.hooks.insert(hoist, carrier);
            // Nobody saw how it got there.
            self.last.remove(&hoist);
        }
        self.places.insert(carrier, at);
        if at != At::Away {
            self.cancelled.remove(&carrier);
        }
        if let At::Tank(tank) = at {
            self.room(told, tank, found);
        }
    }

    /// Whatever hoist held the carrier holds it no more.
    fn let_go(&mut self, carrier: CarrierId) {
        self.hooks.retain(|_, held| *held != carrier);
    }

    fn room(&self, told: &Told, tank: TankId, found: &mut Vec<Fault>) {
        if matches!(self.line.tanks[tank].role, Role::Station { .. }) {
            return;
        }
        let there: Vec<String> =
            self.places.iter().filter(|(_, at)| **at == At::Tank(tank)).map(|(c, _)| self.name(*c)).collect();
        let room = usize::from(self.line.tanks[tank].capacity);
        if there.len() > room {
            let text = format!(
                "{} are in {}, which has room for {room}",
                there.join(" and "),
                self.line.tanks[tank].name
            );
            found.push(Fault { seq: told.seq, law: Law::Tank, text });
        }
    }

    fn moved(&mut self, told: &Told, hoist: HoistId, tank: TankId, deed: Deed, found: &mut Vec<Fault>) {
        let now = (Seen { seq: told.seq, hoist, tank, at: told.at }, deed);
        motion::judge(self.line, self.last.get(&hoist).copied(), now, found);
        self.last.insert(hoist, now);
        self.seen.push(now.0);
    }

    fn counted(&mut self, told: &Told, entry: &Entry, found: &mut Vec<Fault>) {
        let mut fault = |text: String| found.push(Fault { seq: told.seq, law: Law::Counts, text });
        match entry {
            Entry::Unracked { carrier, count } => {
                if !matches!(self.place(*carrier), At::Finished(_) | At::Away) {
                    let really = self.words(self.place(*carrier));
                    fault(format!("{} is counted out but is {really}", self.name(*carrier)));
                }
                self.off.entry(*carrier).or_default().last = Some([count.good, count.rework, count.scrap]);
            }
            Entry::Racked { carrier, parts } => {
                let off = self.off.entry(*carrier).or_default();
                let out = off.present();
                off.racked_again(u64::from(*parts));
                if u64::from(*parts) < out {
                    fault(format!("{parts} parts were racked on {}, {out} came off", self.name(*carrier)));
                }
            }
            _ => {}
        }
    }

    /// Parts counted out of a carrier, by its last count each time; without what went on again, unless that was cancelled.
    pub fn counted_out(&self, carrier: CarrierId) -> u64 {
        let Some(off) = self.off.get(&carrier) else { return 0 };
        let stays_off = self.cancelled.contains(&carrier) && off.last.is_none();
        let again = if stays_off { 0 } else { off.again.1.unwrap_or(0) };
        (off.before + off.present()).saturating_sub(off.again.0 + again)
    }
}
