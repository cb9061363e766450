//! The ledger: what people count, inspect, read off a bath and sign. Nothing in it moves a carrier.
//!
//! What is missing is never entered: it is what does not come out of what went in, see [`Counts`] in `balance`.

use std::collections::BTreeSet;

pub use super::balance::{Counts, Round};
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
        /// How many; none takes back what was entered before of this order and tank.
        parts: u32,
    },
    /// Parts went back to the customer as they came.
    Returned {
        /// The order.
        order: OrderId,
        /// How many; none takes back what was entered before of this order.
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
    /// Carriers that were stripped and run again, each with how many entries there were before that.
    pub reruns: Vec<(CarrierId, usize)>,
}

impl Ledger {
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
            some_to_take_back(*parts, state.ledger.found_in(*order, Some(*tank)))?;
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
            some_to_take_back(*parts, state.ledger.counts(state, *order).returned)?;
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
            judge.racked(*carrier, i64::from(*parts))?;
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
        let place = self.state.carriers.get(carrier).map(|c| c.place);
        let place = place.ok_or_else(|| impossible("there is no such carrier"))?;
        if self.state.standing.cancelled.contains(&carrier) {
            let name = &self.state.book.carriers[carrier].name;
            return Err(impossible(&format!("{name} was cancelled; nothing hangs on it")));
        }
        Ok(place)
    }
    fn tank(&self, tank: TankId) -> Result<(), Refusal> {
        self.line.tanks.get(tank).map(|_| ()).ok_or_else(|| impossible("there is no such tank"))
    }
    /// No fewer were racked than came off; and once a load is run again, no more than came off it before.
    fn racked(&self, carrier: CarrierId, parts: i64) -> Result<(), Refusal> {
        let rounds = self.state.ledger.rounds(self.state, carrier);
        let name = &self.state.book.carriers[carrier].name;
        let [before @ .., now] = &rounds[..] else { return Ok(()) };
        let out = now.count.map_or(0, Count::all);
        if out > parts {
            return Err(impossible(&format!(
                "{out} parts of {name} are counted out already, so no fewer were racked"
            )));
        }
        if let Some(count) = now.count {
            self.no_fewer_than_found(carrier, parts - count.all())?;
        }
        match before.last().and_then(|round| round.count) {
            Some(Count { good, rework, .. }) if parts > i64::from(good) + i64::from(rework) => {
                Err(impossible(&format!(
                    "{} good and for rework came off {name} before it was run again, so no more can hang on it",
                    u64::from(good) + u64::from(rework)
                )))
            }
            _ => Ok(()),
        }
    }
    /// More cannot come off than was racked; whoever racked more than the order says enters that first.
    fn no_more_than_racked(&self, carrier: CarrierId, count: Count) -> Result<(), Refusal> {
        let racked = self.state.ledger.racked(self.state, carrier);
        if count.all() <= racked {
            return self.no_fewer_than_found(carrier, racked - count.all());
        }
        let name = &self.state.book.carriers[carrier].name;
        Err(impossible(&format!(
            "{} parts counted out of {name}, {racked} were racked; count again, or enter first how many were racked",
            count.all()
        )))
    }
    /// What was found was missing: a carrier that is `short` by so many cannot take that back.
    fn no_fewer_than_found(&self, carrier: CarrierId, short: i64) -> Result<(), Refusal> {
        let (ledger, order) = (&self.state.ledger, self.state.book.carriers[carrier].order);
        let counts = ledger.counts(self.state, order);
        let missing = counts.missing - ledger.short(self.state, carrier).unwrap_or(0) + short;
        if counts.found == 0 || missing >= 0 {
            return Ok(());
        }
        let name = &self.state.book.orders[order].name;
        Err(impossible(&format!(
            "{} parts of {name} were found in tanks: so many came out short; if that is not so, enter 0 found there first",
            counts.found
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

/// None takes back what was entered before.
fn some_to_take_back(parts: u32, before: i64) -> Result<(), Refusal> {
    if before > 0 { Ok(()) } else { some(parts) }
}

fn impossible(why: &str) -> Refusal {
    Refusal::ImpossibleEntry { why: why.to_owned() }
}
