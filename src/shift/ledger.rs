//! The ledger: what people count, inspect, read off a bath and sign. Nothing in it moves a carrier.
//!
//! What is missing is never entered: it is what does not come out of what went in, see [`Counts`].

use std::collections::BTreeSet;

use super::command::Refusal;
use super::state::{Place, State};
use crate::ids::{CarrierId, OrderId, TankId};
pub use crate::line::Quantity;
use crate::line::{Line, Role};
use crate::units::Time;

/// One thing a person enters.
#[derive(Debug, Clone, PartialEq)]
pub enum Entry {
    /// Somebody answers for the shift from here on, or no longer does.
    Signed {
        /// Which.
        sign: Sign,
        /// Whose hand.
        initials: String,
    },
    /// Parts of an order were counted in; until then what the order says is taken.
    Received {
        /// The order.
        order: OrderId,
        /// All parts counted so far.
        parts: u32,
    },
    /// Parts were racked on a carrier; until then what the order says is taken.
    Racked {
        /// The carrier.
        carrier: CarrierId,
        /// All parts on it.
        parts: u32,
    },
    /// A carrier was unracked and counted out.
    Unracked {
        /// The carrier.
        carrier: CarrierId,
        /// What was counted.
        count: Count,
    },
    /// Parts were found at the bottom of a tank.
    Found {
        /// Whose they are.
        order: OrderId,
        /// Where.
        tank: TankId,
        /// How many.
        parts: u32,
    },
    /// Parts went back to the customer as they came.
    Returned {
        /// The order.
        order: OrderId,
        /// How many.
        parts: u32,
    },
    /// A finished carrier was looked at.
    Inspected {
        /// The carrier.
        carrier: CarrierId,
        /// What was seen.
        seen: Inspection,
    },
    /// A bath was measured.
    Bath {
        /// The tank.
        tank: TankId,
        /// What was measured.
        reading: Reading,
    },
    /// A bath was made up anew: loads and readings count from here.
    BathChanged {
        /// The tank.
        tank: TankId,
    },
}

/// What a signature means.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Sign {
    /// Works this shift.
    On,
    /// Hands the shift over.
    HandsOver,
    /// Takes the shift over.
    TakesOver,
}

/// Parts of one carrier as they were unracked.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Count {
    /// As they should be.
    pub good: u32,
    /// To be stripped and run again.
    pub rework: u32,
    /// Lost.
    pub scrap: u32,
}

impl Count {
    /// All of them.
    pub fn all(self) -> i64 {
        i64::from(self.good) + i64::from(self.rework) + i64::from(self.scrap)
    }
}

/// What was seen on a carrier.
#[derive(Debug, Clone, PartialEq)]
pub struct Inspection {
    /// Against the reference panel.
    pub shade: Shade,
    /// Film thickness in micrometres, if it was measured.
    pub thickness_um: Option<f64>,
    /// The seal holds, if it was tested.
    pub sealed: Option<bool>,
    /// Marks, scratches, burns; empty if there are none.
    pub marks: String,
}

/// Colour against the reference.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Shade {
    /// Like the reference.
    Like,
    /// Lighter.
    Lighter,
    /// Darker.
    Darker,
    /// Not even.
    Uneven,
}

/// What was measured in a bath.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reading {
    /// What.
    pub quantity: Quantity,
    /// How much, in the quantity's unit.
    pub value: f64,
}

/// An entry that counts, with when it was made.
#[derive(Debug, Clone, PartialEq)]
pub struct Entered {
    /// When.
    pub at: Time,
    /// What.
    pub entry: Entry,
}

/// Everything entered, oldest first.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Ledger {
    /// The entries.
    pub entries: Vec<Entered>,
}

/// Where the parts of an order are. What was received is all the rest together:
/// `received = waiting + to_start + on_line + to_count + good + rework + scrap + returned + found + missing`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Counts {
    /// Counted in.
    pub received: i64,
    /// Not racked on any carrier.
    pub waiting: i64,
    /// On carriers that wait to start.
    pub to_start: i64,
    /// On carriers in a tank or on a hook.
    pub on_line: i64,
    /// On carriers that are finished or off the line and not counted out yet.
    pub to_count: i64,
    /// Counted out as they should be.
    pub good: i64,
    /// Counted out to be run again.
    pub rework: i64,
    /// Counted out as lost.
    pub scrap: i64,
    /// Given back as they came.
    pub returned: i64,
    /// Found in a tank.
    pub found: i64,
    /// Racked, not counted out and not found; negative if more came out than went in, which is refused now.
    pub missing: i64,
}

impl Ledger {
    /// Where the parts of an order are.
    pub fn counts(&self, state: &State, order: OrderId) -> Counts {
        let mut counts = Counts { received: i64::from(state.book.orders[order].parts), ..Counts::default() };
        for e in &self.entries {
            match &e.entry {
                Entry::Received { order: o, parts } if *o == order => counts.received = i64::from(*parts),
                Entry::Found { order: o, parts, .. } if *o == order => counts.found += i64::from(*parts),
                Entry::Returned { order: o, parts } if *o == order => counts.returned += i64::from(*parts),
                _ => {}
            }
        }
        let mut racked = 0;
        let mut lost = 0;
        for (id, _) in state.book.carriers.iter().filter(|(_, c)| c.order == order) {
            if state.standing.cancelled.contains(&id) {
                continue;
            }
            let parts = self.racked(state, id);
            racked += parts;
            match self.unracked(id) {
                Some(count) => {
                    counts.good += i64::from(count.good);
                    counts.rework += i64::from(count.rework);
                    counts.scrap += i64::from(count.scrap);
                    lost += parts - count.all();
                }
                None => match state.carriers[id].place {
                    Place::Queued => counts.to_start += parts,
                    Place::InTank { .. } | Place::OnHook { .. } => counts.on_line += parts,
                    Place::Finished { .. } | Place::OffLine => counts.to_count += parts,
                },
            }
        }
        counts.waiting = counts.received - racked - counts.returned;
        counts.missing = lost - counts.found;
        counts
    }

    /// Parts on a carrier when it was racked.
    pub fn racked(&self, state: &State, carrier: CarrierId) -> i64 {
        let said = self.entries.iter().rev().find_map(|e| match e.entry {
            Entry::Racked { carrier: c, parts } if c == carrier => Some(parts),
            _ => None,
        });
        i64::from(said.unwrap_or(state.book.carriers[carrier].parts))
    }

    /// What was counted when a carrier was unracked; the last word counts.
    pub fn unracked(&self, carrier: CarrierId) -> Option<Count> {
        self.entries.iter().rev().find_map(|e| match e.entry {
            Entry::Unracked { carrier: c, count } if c == carrier => Some(count),
            _ => None,
        })
    }

    /// By how many parts a carrier came out short; negative if there were more. `None` before it is unracked.
    pub fn short(&self, state: &State, carrier: CarrierId) -> Option<i64> {
        Some(self.racked(state, carrier) - self.unracked(carrier)?.all())
    }

    /// What was seen on a carrier last.
    pub fn inspected(&self, carrier: CarrierId) -> Option<&Inspection> {
        self.entries.iter().rev().find_map(|e| match &e.entry {
            Entry::Inspected { carrier: c, seen } if *c == carrier => Some(seen),
            _ => None,
        })
    }

    /// Readings of a bath since it was last changed in the order in which they were taken, however late they were entered.
    pub fn readings(&self, tank: TankId) -> Vec<(Time, Reading)> {
        let since = self.last_change(tank);
        let reading = |(k, e): (usize, &Entered)| match e.entry {
            Entry::Bath { tank: t, reading } if t == tank && Some((e.at, k)) > since => Some((e.at, reading)),
            _ => None,
        };
        let mut read: Vec<(Time, Reading)> = self.entries.iter().enumerate().filter_map(reading).collect();
        read.sort_by_key(|(at, _)| *at);
        read
    }

    /// When a bath was last made up anew.
    pub fn changed(&self, tank: TankId) -> Option<Time> {
        self.last_change(tank).map(|(at, _)| at)
    }

    /// When a bath was last made up anew, and which entry says so; of two at the same instant the later entry counts.
    fn last_change(&self, tank: TankId) -> Option<(Time, usize)> {
        let changed = |(k, e): (usize, &Entered)| {
            matches!(e.entry, Entry::BathChanged { tank: t } if t == tank).then_some((e.at, k))
        };
        self.entries.iter().enumerate().filter_map(changed).max()
    }

    /// Loads a bath has taken since it was last changed, or since the shift began.
    pub fn loads(&self, state: &State, tank: TankId) -> usize {
        let since = self.changed(tank).unwrap_or(Time::PAST);
        let loads = |(id, c): (CarrierId, &super::Carrier)| {
            let here = match c.place {
                Place::InTank { tank: t, since, .. } if t == tank => Some(since),
                _ => None,
            };
            let past = state.all_stays(id).filter(|(_, s)| s.tank == tank).map(|(_, s)| s.from);
            // One that was sent to rework where it stood went in once.
            past.chain(here).filter(|from| *from >= since).collect::<BTreeSet<Time>>().len()
        };
        state.carriers.iter().map(loads).sum()
    }
}

/// The earliest instant an entry can be for: what came off the line is counted and looked at after that.
pub(super) fn not_before(state: &State, entry: &Entry) -> Time {
    let (Entry::Unracked { carrier, .. } | Entry::Inspected { carrier, .. }) = entry else {
        return Time::PAST;
    };
    match state.carriers.get(*carrier).map(|c| c.place) {
        Some(Place::Finished { at, .. }) => at,
        _ => Time::PAST,
    }
}

/// The entry as it is to be stored, or why it cannot be made.
pub(super) fn decide(line: &Line, state: &State, entry: &Entry) -> Result<Entry, Refusal> {
    let judge = Judge { line, state };
    match entry {
        Entry::Signed { sign, initials } => {
            let initials = initials.trim().to_owned();
            let fits =
                (1..=8).contains(&initials.chars().count()) && initials.chars().all(char::is_alphanumeric);
            if !fits {
                return Err(impossible("initials are one to eight letters or figures"));
            }
            return Ok(Entry::Signed { sign: *sign, initials });
        }
        Entry::Received { order, parts } => {
            judge.order(*order)?;
            some(*parts)?;
        }
        Entry::Found { order, tank, parts } => {
            judge.order(*order)?;
            judge.tank(*tank)?;
            some(*parts)?;
            let missing = state.ledger.counts(state, *order).missing.max(0);
            if i64::from(*parts) > missing {
                let name = &state.book.orders[*order].name;
                return Err(impossible(&format!(
                    "{missing} parts of {name} are missing, {parts} cannot be found"
                )));
            }
        }
        Entry::Returned { order, parts } => {
            judge.order(*order)?;
            some(*parts)?;
            let waiting = state.ledger.counts(state, *order).waiting.max(0);
            if i64::from(*parts) > waiting {
                let name = &state.book.orders[*order].name;
                return Err(impossible(&format!(
                    "{waiting} parts of {name} wait unracked, {parts} cannot go back"
                )));
            }
        }
        Entry::Racked { carrier, parts } => {
            judge.carrier(*carrier)?;
            let out = state.ledger.unracked(*carrier).map_or(0, Count::all);
            if out > i64::from(*parts) {
                let name = &state.book.carriers[*carrier].name;
                return Err(impossible(&format!(
                    "{out} parts of {name} are counted out already, so no fewer were racked"
                )));
            }
        }
        Entry::Unracked { carrier, .. } | Entry::Inspected { carrier, .. } => {
            let place = judge.carrier(*carrier)?;
            if !matches!(place, Place::Finished { .. } | Place::OffLine) {
                let name = &state.book.carriers[*carrier].name;
                return Err(impossible(&format!("{name} is not off the line yet")));
            }
            match entry {
                Entry::Unracked { count, .. } => judge.no_more_than_racked(*carrier, *count)?,
                Entry::Inspected { seen: Inspection { thickness_um: Some(t), .. }, .. }
                    if !(0.0..=250.0).contains(t) =>
                {
                    return Err(impossible("a film is 0 to 250 um thick"));
                }
                _ => {}
            }
        }
        Entry::Bath { tank, reading } => {
            judge.bath(*tank)?;
            let (least, most) = reading.quantity.bounds();
            if !(least..=most).contains(&reading.value) {
                let (word, unit) = (reading.quantity.word(), reading.quantity.unit());
                return Err(impossible(format!("{word} is {least} to {most} {unit}").trim_end()));
            }
        }
        Entry::BathChanged { tank } => judge.bath(*tank)?,
    }
    Ok(entry.clone())
}

struct Judge<'a> {
    line: &'a Line,
    state: &'a State,
}

impl Judge<'_> {
    fn order(&self, order: OrderId) -> Result<(), Refusal> {
        self.state.book.orders.get(order).map(|_| ()).ok_or_else(|| impossible("there is no such order"))
    }
    fn carrier(&self, carrier: CarrierId) -> Result<Place, Refusal> {
        self.state
            .carriers
            .get(carrier)
            .map(|c| c.place)
            .ok_or_else(|| impossible("there is no such carrier"))
    }
    fn tank(&self, tank: TankId) -> Result<(), Refusal> {
        self.line.tanks.get(tank).map(|_| ()).ok_or_else(|| impossible("there is no such tank"))
    }
    /// More cannot come off than was racked; whoever racked more than the order says enters that first.
    fn no_more_than_racked(&self, carrier: CarrierId, count: Count) -> Result<(), Refusal> {
        let racked = self.state.ledger.racked(self.state, carrier);
        if count.all() <= racked {
            return Ok(());
        }
        let name = &self.state.book.carriers[carrier].name;
        Err(impossible(&format!(
            "{} parts counted out of {name}, {racked} were racked; count again, or enter first how many were racked",
            count.all()
        )))
    }
    fn bath(&self, tank: TankId) -> Result<(), Refusal> {
        self.tank(tank)?;
        match self.line.tanks[tank].role {
            Role::Bath(_) => Ok(()),
            Role::Station { .. } => Err(impossible(&format!("{} holds no bath", self.line.tanks[tank].name))),
        }
    }
}

fn some(parts: u32) -> Result<(), Refusal> {
    if parts == 0 { Err(impossible("say how many parts: at least one")) } else { Ok(()) }
}

fn impossible(why: &str) -> Refusal {
    Refusal::ImpossibleEntry { why: why.to_owned() }
}
