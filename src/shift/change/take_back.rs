//! Taking back one change later: the history is folded again without it, if nothing has come to rest on it since.

use std::borrow::Cow;

use super::{Change, Whose, impossible};
use crate::ids::{CarrierId, Id as _, OrderId, Seq};
use crate::line::Line;
use crate::shift::command::{Claim, Refusal};
use crate::shift::event::{Event, Stamped};
use crate::shift::history::{History, effective};
use crate::shift::state::{Place, State};
use crate::units::Time;

/// The event that takes back the change of event `seq`, or why that is too late.
pub fn take_back(line: &Line, history: &History, seq: Seq, now: Time) -> Result<Event, Refusal> {
    let counts: Vec<Stamped> = effective(history.events()).into_iter().map(Cow::into_owned).collect();
    let is_change = |e: &Event| {
        let tank = matches!(e, Event::TankOut { .. } | Event::TankBack { .. });
        tank || matches!(e, Event::Changed { .. } | Event::Entered { .. })
    };
    let gone = counts.iter().any(|s| s.event == Event::Undone { seq });
    let Some(at) = counts.iter().position(|s| s.seq == seq && !gone && is_change(&s.event)) else {
        return Err(impossible(format!("entry {} is no change or entry that stands", seq.0)));
    };
    if let Event::Changed { change, .. } = &counts[at].event {
        rests_on_it(history.state(), change, &counts[..at], &counts[at + 1..])?;
    }
    let undone = Event::Undone { seq };
    let mut events = history.events().to_vec();
    let last = Seq(history.state().seq.0 + 1);
    events.push(Stamped { seq: last, at: now, entered: now, by: counts[at].by, event: undone.clone() });
    if same(History::of(line, events).state(), history.state()) {
        return Err(impossible(format!("nothing is left of entry {}: it has ended since", seq.0)));
    }
    Ok(undone)
}

/// What is left of a change that was taken back: the numbers it gave. `order` is the next one at that time.
pub fn when_undone(change: &Change, order: OrderId) -> Vec<Change> {
    match change {
        Change::AddOrder { .. } => vec![change.clone(), Change::CancelOrder { order }],
        Change::Split { order, name, .. } => {
            vec![Change::Split { order: *order, carriers: Vec::new(), name: name.clone() }]
        }
        _ => Vec::new(),
    }
}

/// Refuses if something that came later would mean something else without the change.
fn rests_on_it(state: &State, change: &Change, before: &[Stamped], after: &[Stamped]) -> Result<(), Refusal> {
    let name = |c: CarrierId| &state.book.carriers[c].name;
    let moved = |c: CarrierId| after.iter().any(|s| moves(&s.event) == Some(c));
    match change {
        Change::AddOrder { carriers, .. } => {
            let first = sizes(before).1;
            let mut ids = (first..first + carriers.len()).map(CarrierId::at);
            match ids.find(|c| state.carriers[*c].place != Place::Queued || moved(*c)) {
                Some(c) => Err(impossible(format!(
                    "{} has started or was taken off; cancel the rest instead",
                    name(c)
                ))),
                None => Ok(()),
            }
        }
        Change::Split { .. } => {
            let order = OrderId::at(sizes(before).0);
            let speaks =
                |s: &Stamped| matches!(&s.event, Event::Changed { change, .. } if of(change) == Some(order));
            if after.iter().any(speaks) {
                let order = &state.book.orders[order].name;
                return Err(impossible(format!("{order} was changed since; take that back first")));
            }
            Ok(())
        }
        Change::Rework { carrier, .. } if moved(*carrier) => {
            Err(impossible(format!("{} was moved since", name(*carrier))))
        }
        Change::Rework { carrier, .. } => {
            let speaks =
                |s: &Stamped| matches!(&s.event, Event::Changed { change, .. } if runs(change, *carrier));
            if after.iter().any(speaks) {
                return Err(impossible(format!(
                    "{} was changed since; take that back first",
                    name(*carrier)
                )));
            }
            Ok(())
        }
        Change::Dwell { whose, step, .. } => {
            let concerned = |c: &CarrierId| match whose {
                Whose::Carrier(carrier) => c == carrier,
                Whose::Order(order) => state.book.carriers[*c].order == *order,
            };
            let over = |c: &CarrierId| {
                let is_it = |v| matches!(v, crate::line::Visit::Step(n) if n == *step);
                state.carriers[*c].stays.iter().any(|s| is_it(s.visit)) && concerned(c)
            };
            match state.carriers.ids().find(over) {
                Some(c) => Err(impossible(format!("{} has had that step", name(c)))),
                None => Ok(()),
            }
        }
        _ => Ok(()),
    }
}

/// How many orders and carriers the book has after some events.
fn sizes(events: &[Stamped]) -> (usize, usize) {
    events.iter().fold((0, 0), |(orders, carriers), s| match &s.event {
        Event::Opened { book } => (book.orders.len(), book.carriers.len()),
        Event::Changed { change: Change::AddOrder { carriers: new, .. }, .. } => {
            (orders + 1, carriers + new.len())
        }
        Event::Changed { change: Change::Split { .. }, .. } => (orders + 1, carriers),
        _ => (orders, carriers),
    })
}

/// The carrier that an event moves or says to be somewhere on the line.
fn moves(event: &Event) -> Option<CarrierId> {
    match event {
        Event::CarrierCorrected { claim: Claim::Queued, .. } => None,
        _ => event.moved(),
    }
}

/// The order a change is about.
fn of(change: &Change) -> Option<OrderId> {
    match change {
        Change::Promise { order, .. } | Change::CancelOrder { order } | Change::Split { order, .. } => {
            Some(*order)
        }
        Change::Entry { order, .. } => *order,
        Change::Dwell { whose: Whose::Order(order), .. } => Some(*order),
        _ => None,
    }
}

/// True if a change is about what recipe a carrier runs.
fn runs(change: &Change, of: CarrierId) -> bool {
    match change {
        Change::Rework { carrier, .. } | Change::Dwell { whose: Whose::Carrier(carrier), .. } => {
            *carrier == of
        }
        _ => false,
    }
}

/// True if everything is as it was, numbers of events and the plan apart.
fn same(one: &State, other: &State) -> bool {
    one.book == other.book
        && one.carriers == other.carriers
        && one.hoists == other.hoists
        && one.tanks == other.tanks
        && one.standing == other.standing
}
