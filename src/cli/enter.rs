//! `enter`: what people count, inspect, measure and sign, put into a shift's journal.

use std::time::Duration;

use super::args::{Enter, EntryKind, Hand, SealArg};
use super::plan::warn;
use super::run::{damaged, rebuild};
use super::seat::Seat;
use super::{Bad, Outcome, say};
use crate::clock::{Clock, ManualClock, RunningClock};
use crate::ids::{Arena, CarrierId, Id, OrderId};
use crate::journal::{Header, Journal};
use crate::live::LiveShift;
use crate::plan::Settings;
use crate::shift::ledger::{Count, Entry, Inspection, Reading};
use crate::shift::{Command, Event, State, Who};
use crate::units::{Dur, Time};
use crate::view::{log_of, passed, passed_since};

pub fn enter(args: &Enter) -> Result<Outcome, Bad> {
    let (_, header) = Journal::follow(&args.shift)?;
    let seat = if header.practice { Some(Seat::take(&args.shift)?) } else { None };
    let clock = |_: &Header, base: Time| -> Box<dyn Clock> {
        match &seat {
            None => Box::new(RunningClock::real(base)),
            Some(Seat::Joins(joined)) => Box::new(joined.clock(base)),
            // Nobody runs the practice: its time stands where it was left.
            Some(Seat::First(_)) => {
                let clock = ManualClock::default();
                clock.set(base);
                Box::new(clock)
            }
        }
    };
    let (mut shift, notices) = LiveShift::reopen(&args.shift, Settings::default(), rebuild, clock)
        .map_err(|e| damaged(&args.shift, &e))?;
    for notice in notices {
        warn(&notice.to_string());
    }
    if args.by == Hand::Supervisor {
        let without = "without it: --by operator";
        shift.set_lock(super::pin::opened(Duration::MAX, "the supervisor's PIN: ", without)?);
    }
    let now = shift.now();
    let command = command(&shift, &args.kind, now, args.ago)?;
    let by = match args.by {
        Hand::Operator => Who::Operator,
        Hand::Supervisor => Who::Supervisor,
    };
    shift.submit(&command, by)?;
    // What is to be known of it comes behind it: alone it would read as a refusal.
    let told = [entered(&mut shift), answer(&shift, &command)];
    told.into_iter().flatten().try_fold(Outcome::Fine, |_, words| say(&format!("{words}\n")))
}

/// What was entered, as the log has it.
fn entered(shift: &mut LiveShift) -> Option<String> {
    let (now, opening) = (shift.now(), shift.opening());
    let newest = |e: &Event| matches!(e, Event::Entered { .. } | Event::Noted { .. });
    let rows = log_of(shift.line(), shift.history(), &opening, now, newest);
    rows.last().map(|row| format!("entered: {} {}", row.at, row.text))
}

/// What whoever entered it wants to know at once: parts that are missing, who went through a tank where some were found.
fn answer(shift: &LiveShift, command: &Command) -> Option<String> {
    let Command::Enter { entry, .. } = command else { return None };
    let state = shift.state();
    match entry {
        Entry::Unracked { carrier, .. } => {
            let short = state.ledger.short(state, *carrier).filter(|n| *n > 0)?;
            let (name, racked) = (&state.book.carriers[*carrier].name, state.ledger.racked(state, *carrier));
            let went = passed(state, *carrier);
            let went: Vec<&str> = went.iter().map(|t| shift.line().tanks[*t].name.as_str()).collect();
            let where_to = if went.is_empty() { "" } else { "\nlook in the tanks it went through: " };
            Some(format!("{name}: {short} of {racked} MISSING{where_to}{}", went.join(" ")))
        }
        Entry::Found { order, tank, .. } => {
            let went = passed_since(state, *order, *tank);
            let (name, tank) = (&state.book.orders[*order].name, &shift.line().tanks[*tank].name);
            let none = !went.iter().any(|(c, _)| state.book.carriers[*c].order == *order);
            let words = |(c, t): &(CarrierId, Time)| {
                let of = &state.book.orders[state.book.carriers[*c].order].name;
                format!("{} {} ({of})", state.book.carriers[*c].name, shift.opening().clock_minutes(*t))
            };
            let went: Vec<String> = went.iter().map(words).collect();
            let doubt = if none { format!("; none of {name}: count again") } else { String::new() };
            Some(format!("through {tank} went {}{doubt}", went.join(", ")))
        }
        Entry::Received { order, .. } => too_many(state, *order),
        Entry::Racked { carrier, .. } => too_many(state, state.book.carriers[*carrier].order),
        _ => None,
    }
}

/// That more of an order was racked than came in.
fn too_many(state: &State, order: OrderId) -> Option<String> {
    let counts = state.ledger.counts(state, order);
    let (name, received, by) = (&state.book.orders[order].name, counts.received, -counts.waiting);
    (by > 0).then(|| {
        format!("{name}: {by} more racked or given back than the {received} that came in; count again")
    })
}

fn command(shift: &LiveShift, kind: &EntryKind, now: Time, ago: Option<Dur>) -> Result<Command, Bad> {
    let state = shift.state();
    let carrier = |name: &str| named(&state.book.carriers, |c| &c.name, "carrier", name);
    let order = |name: &str| named(&state.book.orders, |o| &o.name, "order", name);
    let tank = |name: &str| named(&shift.line().tanks, |t| &t.name, "tank", name);
    let entry = match kind {
        EntryKind::Sign { sign, initials } => {
            Entry::Signed { sign: (*sign).into(), initials: initials.clone() }
        }
        EntryKind::Received { order: o, parts } => Entry::Received { order: order(o)?, parts: *parts },
        EntryKind::Racked { carrier: c, parts } => Entry::Racked { carrier: carrier(c)?, parts: *parts },
        EntryKind::Unracked { carrier: c, good, rework, scrap } => Entry::Unracked {
            carrier: carrier(c)?,
            count: Count { good: *good, rework: *rework, scrap: *scrap },
        },
        EntryKind::Found { order: o, tank: t, parts } => {
            Entry::Found { order: order(o)?, tank: tank(t)?, parts: *parts }
        }
        EntryKind::Returned { order: o, parts } => Entry::Returned { order: order(o)?, parts: *parts },
        EntryKind::Inspected { carrier: c, shade, um, seal, marks } => Entry::Inspected {
            carrier: carrier(c)?,
            seen: Inspection {
                shade: (*shade).into(),
                thickness_um: *um,
                sealed: seal.map(SealArg::holds),
                marks: marks.clone(),
            },
        },
        EntryKind::Bath { tank: t, quantity, value } => {
            Entry::Bath { tank: tank(t)?, reading: Reading { quantity: (*quantity).into(), value: *value } }
        }
        EntryKind::BathChanged { tank: t } => Entry::BathChanged { tank: tank(t)? },
        EntryKind::Note { .. } if ago.is_some() => {
            let why = "a note is of now, --ago is not for it: say in the note when it was";
            return Err(Bad(why.to_owned()));
        }
        EntryKind::Note { text } if text.trim().is_empty() => {
            return Err(Bad("an empty note says nothing".to_owned()));
        }
        EntryKind::Note { text } => return Ok(Command::Note { text: text.clone() }),
    };
    Ok(Command::Enter { entry, at: now - ago.unwrap_or_default() })
}

fn named<I: Id, T>(things: &Arena<I, T>, name: fn(&T) -> &String, kind: &str, want: &str) -> Result<I, Bad> {
    let found = things.iter().find(|(_, t)| name(t) == want).map(|(id, _)| id);
    found.ok_or_else(|| {
        let known: Vec<&str> = things.iter().map(|(_, t)| name(t).as_str()).collect();
        Bad(format!("{want} is no {kind} of this shift; there are {}", known.join(", ")))
    })
}
