//! Where everything is, told event by event with rules of its own.

use std::collections::BTreeMap;

use super::counting::Told;
use super::motion::{self, Deed, Seen};
use super::{Fault, Law};
use crate::ids::{CarrierId, HoistId, TankId};
use crate::line::{Line, OrderBook, Role, Visit};
use crate::shift::ledger::Entry;
use crate::shift::{Claim, Event, State};

/// Where a carrier is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum At {
    Queue,
    Tank(TankId),
    Hook(HoistId),
    Finished(TankId),
    Away,
}

pub(super) struct World<'a> {
    line: &'a Line,
    /// Names only: what carriers are called in the end.
    book: &'a OrderBook,
    places: BTreeMap<CarrierId, At>,
    hooks: BTreeMap<HoistId, CarrierId>,
    last: BTreeMap<HoistId, (Seen, Deed)>,
    seen: Vec<Seen>,
    counted_out: BTreeMap<CarrierId, u64>,
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
            counted_out: BTreeMap::new(),
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
                let all = u64::from(count.good) + u64::from(count.rework) + u64::from(count.scrap);
                self.counted_out.insert(*carrier, all);
            }
            Entry::Racked { carrier, parts } if u64::from(*parts) < self.counted_out(*carrier) => {
                let out = self.counted_out(*carrier);
                fault(format!("{parts} parts were racked on {}, {out} came off", self.name(*carrier)));
            }
            _ => {}
        }
    }

    /// Parts counted out of a carrier, by its last count.
    pub fn counted_out(&self, carrier: CarrierId) -> u64 {
        self.counted_out.get(&carrier).copied().unwrap_or(0)
    }
}
