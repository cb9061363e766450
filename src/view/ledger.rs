//! What people count and measure, as rows: the parts of every order, every bath with what is known about it.

use super::At;
use super::words::{Spot, clean};
use crate::ids::{CarrierId, OrderId, TankId};
use crate::line::{Limit, Quantity, Role};
use crate::shift::bath::{self, Check, Fault, Unfit};
use crate::shift::ledger::{Count, Counts};
use crate::shift::{Place, State};
use crate::units::Time;

/// The parts of one order.
#[derive(Debug, Clone, PartialEq)]
pub struct PartsRow {
    /// Which order.
    pub order: OrderId,
    /// Its name.
    pub name: String,
    /// For people.
    pub label: String,
    /// Where its parts are.
    pub counts: Counts,
    /// Its carriers.
    pub carriers: Vec<CarrierId>,
}

/// What was counted and seen of one carrier.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Counted {
    /// Parts racked on it.
    pub racked: i64,
    /// Parts counted out, once it was unracked.
    pub out: Option<Count>,
    /// Somebody has inspected it.
    pub inspected: bool,
    /// Tanks it went through or is in, in that order.
    pub passed: Vec<TankId>,
}

/// One bath.
#[derive(Debug, Clone, PartialEq)]
pub struct BathRow {
    /// Which tank.
    pub tank: TankId,
    /// Its names.
    pub name: String,
    /// Loads since the bath was last changed.
    pub loads: usize,
    /// When that was, time of day; `None` if not on this shift.
    pub changed: Option<String>,
    /// Its limits.
    pub checks: Vec<CheckRow>,
    /// Why no load is to go in: `LOW 57.0 C since 10:12`.
    pub shut: Option<String>,
}

/// One limit of a bath.
#[derive(Debug, Clone, PartialEq)]
pub struct CheckRow {
    /// What is measured.
    pub quantity: Quantity,
    /// Between which figures.
    pub limit: Limit,
    /// The same in words.
    pub limits: String,
    /// The last reading with its time of day.
    pub last: Option<String>,
    /// When the next one is due, time of day.
    pub due: Option<String>,
    /// What is wrong, as a short head: `LOW 57.0 C`, `OVERDUE ph`.
    pub fault: Option<String>,
}

impl CheckRow {
    /// In one line, what is wrong first: `LOW 51.0 C; temperature 53 to 57 C, last 51.0 C at 06:12, due 08:00`.
    pub fn words(&self) -> String {
        let fault = self.fault.as_ref().map_or_else(String::new, |f| format!("{f}; "));
        let mut words = format!("{fault}{} {}", self.quantity.word(), self.limits);
        for (what, said) in [(", last ", &self.last), (", due ", &self.due)] {
            if let Some(said) = said {
                words.push_str(what);
                words.push_str(said);
            }
        }
        words
    }
}

pub(super) fn parts(at: At<'_>) -> Vec<PartsRow> {
    let book = &at.state.book;
    let row = |order: OrderId| PartsRow {
        order,
        name: clean(&book.orders[order].name),
        label: clean(&book.orders[order].label),
        counts: at.state.ledger.counts(at.state, order),
        carriers: book.carriers.ids().filter(|c| book.carriers[*c].order == order).collect(),
    };
    book.orders.ids().map(row).collect()
}

pub(super) fn counted(at: At<'_>, carrier: CarrierId) -> Counted {
    let ledger = &at.state.ledger;
    Counted {
        racked: ledger.racked(at.state, carrier),
        out: ledger.unracked(at.state, carrier),
        inspected: ledger.inspected(carrier).is_some(),
        passed: passed(at.state, carrier),
    }
}

/// Tanks a carrier went through or is in, each once, in the order of its way.
pub fn passed(state: &State, carrier: CarrierId) -> Vec<TankId> {
    let c = &state.carriers[carrier];
    let here = match c.place {
        Place::InTank { tank, .. } => Some(tank),
        _ => None,
    };
    let mut tanks: Vec<TankId> = Vec::new();
    for tank in state.all_stays(carrier).map(|(_, s)| s.tank).chain(here) {
        if !tanks.contains(&tank) {
            tanks.push(tank);
        }
    }
    tanks
}

/// Who went through a tank since the first carrier of an order did, with when each went in; everybody if none of the
/// order ever did.
pub fn passed_since(state: &State, order: OrderId, tank: TankId) -> Vec<(CarrierId, Time)> {
    let mut visits: Vec<(Time, CarrierId)> = Vec::new();
    for (id, carrier) in state.carriers.iter() {
        let stays = state.all_stays(id).filter(|(_, s)| s.tank == tank).map(|(_, s)| s.from);
        let here = match carrier.place {
            Place::InTank { tank: t, since, .. } if t == tank => Some(since),
            _ => None,
        };
        visits.extend(stays.chain(here).map(|t| (t, id)));
    }
    visits.sort_unstable();
    let own = |(_, c): &(Time, CarrierId)| state.book.carriers[*c].order == order;
    let first = visits.iter().position(own).unwrap_or(0);
    visits.drain(..first);
    visits.into_iter().map(|(t, c)| (c, t)).collect()
}

pub(super) fn baths(at: At<'_>) -> Vec<BathRow> {
    let is_bath = |tank: &TankId| matches!(at.line.tanks[*tank].role, Role::Bath(_));
    at.line.tanks.ids().filter(is_bath).map(|tank| bath_row(at, tank)).collect()
}

fn bath_row(at: At<'_>, tank: TankId) -> BathRow {
    let ledger = &at.state.ledger;
    let checks = bath::checks(at.line, at.state, tank, at.now);
    BathRow {
        tank,
        name: Spot::of(at.line, tank).words(),
        loads: ledger.loads(at.state, tank),
        changed: ledger.changed(tank).map(|t| at.minutes(t)),
        shut: bath::unfit(at.line, at.state, tank, at.now)
            .map(|u| format!("{} since {}", fault_head(&u), at.minutes(u.since))),
        checks: checks.iter().map(|c| check_row(at, c)).collect(),
    }
}

fn check_row(at: At<'_>, check: &Check) -> CheckRow {
    let quantity = check.limit.quantity;
    CheckRow {
        quantity,
        limit: check.limit,
        limits: check.limit.words(),
        last: check.last.map(|(t, v)| format!("{} at {}", quantity.figure(v), at.minutes(t))),
        due: check.due.map(|t| at.minutes(t)),
        fault: check.unfit.as_ref().map(fault_head),
    }
}

/// What is wrong with a bath, as a short head: `LOW 57.0 C`, `NEW, no ph`, `OVERDUE ph`.
pub fn fault_head(unfit: &Unfit) -> String {
    match unfit.fault {
        Fault::Low(v) => format!("LOW {}", unfit.quantity.figure(v)),
        Fault::High(v) => format!("HIGH {}", unfit.quantity.figure(v)),
        Fault::New => format!("NEW, no {}", unfit.quantity.word()),
        Fault::Overdue => format!("OVERDUE {}", unfit.quantity.word()),
    }
}
