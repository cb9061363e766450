//! What a supervisor changes, in words; and what of it stands.

use std::collections::BTreeSet;

use super::At;
use super::film;
use super::words::{Spot, clean, visit_words};
use crate::civil::Opening;
use crate::ids::{CarrierId, HoistId, OrderId, Seq, TankId};
use crate::line::{EntrySide, Line, OrderBook, Priority, Visit};
use crate::shift::{Change, Claim, Command, Event, Stamped, StopCause, Whose, Window};
use crate::units::{Time, many};

/// A change that stands and could be taken back.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ChangeRow {
    /// Its number in the journal.
    pub seq: Seq,
    /// When it was said, time of day.
    pub at: String,
    /// Who said so.
    pub who: &'static str,
    /// What was changed.
    pub what: String,
    /// Why; empty if nobody said.
    pub why: String,
}

/// What names are looked up in.
#[derive(Clone, Copy)]
pub(super) struct Names<'a> {
    pub line: &'a Line,
    pub book: &'a OrderBook,
    pub opening: &'a Opening,
}

/// Changes that stand, the latest first. One that another change or what happened has ended is not among them.
pub(super) fn standing(at: At<'_>, events: &[Stamped]) -> Vec<ChangeRow> {
    let names = Names { line: at.line, book: &at.state.book, opening: at.opening };
    let mut undone: BTreeSet<Seq> = BTreeSet::new();
    let mut newer: Vec<&Event> = Vec::new();
    let mut rows = Vec::new();
    for stamped in events.iter().rev() {
        if undone.contains(&stamped.seq) {
            continue;
        }
        let (what, why) = match &stamped.event {
            Event::Undone { seq } => {
                undone.insert(*seq);
                continue;
            }
            Event::Changed { change, why } => (what(names, change), clean(why)),
            Event::TankOut { tank, until, why } => (out_words(names, *tank, Some(*until)), clean(why)),
            Event::TankBack { .. } => {
                newer.push(&stamped.event);
                continue;
            }
            _ => continue,
        };
        if stands(at, stamped.seq, &stamped.event, &newer) {
            let (at, who) = (at.opening.clock_minutes(stamped.at), super::log::who(stamped.by));
            rows.push(ChangeRow { seq: stamped.seq, at, who, what, why });
        }
        newer.push(&stamped.event);
    }
    rows
}

/// True if nothing has ended the change of an event; `newer` are the changes after it.
fn stands(at: At<'_>, seq: Seq, event: &Event, newer: &[&Event]) -> bool {
    let standing = &at.state.standing;
    let outdone = |same: &dyn Fn(&Change) -> bool| {
        newer.iter().any(|e| matches!(e, Event::Changed { change, .. } if same(change)))
    };
    let change = match event {
        Event::TankOut { tank, .. } => {
            let other = |e: &&Event| match e {
                Event::TankOut { tank: t, .. } | Event::TankBack { tank: t } => t == tank,
                _ => false,
            };
            return at.state.tanks[*tank].from > at.now && !newer.iter().any(other);
        }
        Event::Changed { change, .. } => change,
        _ => return false,
    };
    match change {
        Change::Hold { carrier } => standing.held.get(carrier) == Some(&seq),
        Change::Park { carrier, .. } => standing.parked.get(carrier).is_some_and(|p| p.said == seq),
        Change::Quarantine { tank } => standing.quarantined.get(tank) == Some(&seq),
        Change::StopHoist { hoist, .. } => standing.stopped.get(hoist).is_some_and(|s| s.said == seq),
        Change::Lend { carrier, .. } => standing.lent.get(carrier).is_some_and(|l| l.said == seq),
        Change::Release { .. }
        | Change::BringBack { .. }
        | Change::Free { .. }
        | Change::RunHoist { .. }
        | Change::Back { .. } => false,
        Change::SlowHoist { hoist, percent } => {
            *percent != 100 && !outdone(&|c| matches!(c, Change::SlowHoist { hoist: h, .. } if h == hoist))
        }
        Change::Promise { order, .. } => {
            !outdone(&|c| matches!(c, Change::Promise { order: o, .. } if o == order))
        }
        Change::Reorder { carriers } => {
            !carriers.is_empty() && !outdone(&|c| matches!(c, Change::Reorder { .. }))
        }
        Change::AddOrder { .. }
        | Change::CancelOrder { .. }
        | Change::Split { .. }
        | Change::Dwell { .. }
        | Change::Entry { .. }
        | Change::Rework { .. } => true,
    }
}

fn out_words(names: Names<'_>, tank: TankId, until: Option<Time>) -> String {
    let tank = Spot::of(names.line, tank).words();
    match until.filter(|t| *t < Time::FAR) {
        Some(t) => format!("{tank} out of service until {}", names.opening.clock_minutes(t)),
        None => format!("{tank} out of service"),
    }
}

/// What a command of a supervisor would change, in words; empty for a command that is none of theirs. `standing` are the
/// changes that one could be taken back of.
pub fn proposal_words(
    line: &Line,
    book: &OrderBook,
    opening: &Opening,
    standing: &[ChangeRow],
    command: &Command,
) -> String {
    let names = Names { line, book, opening };
    match command {
        Command::Change { change, .. } => what(names, change),
        Command::TankOut { tank, until, .. } => out_words(names, *tank, *until),
        Command::TankBack { tank } => format!("{} back in service", Spot::of(line, *tank).words()),
        Command::TakeBack { seq } => {
            let row = standing.iter().find(|r| r.seq == *seq);
            row.map_or_else(|| format!("take back entry {}", seq.0), |r| format!("take back: {}", r.what))
        }
        Command::Correct { carrier, claim: Claim::OffLine } => {
            format!("{} taken off by hand", clean(&book.carriers[*carrier].name))
        }
        _ => String::new(),
    }
}

/// One change with the reason given for it.
pub(super) fn words(at: At<'_>, change: &Change, why: &str) -> String {
    with_reason(what(Names { line: at.line, book: &at.state.book, opening: at.opening }, change), why)
}

/// A tank that went out, with the reason given for it.
pub(super) fn tank_out(at: At<'_>, tank: TankId, until: Time, why: &str) -> String {
    let names = Names { line: at.line, book: &at.state.book, opening: at.opening };
    with_reason(out_words(names, tank, Some(until)), why)
}

fn with_reason(what: String, why: &str) -> String {
    if why.trim().is_empty() { what } else { format!("{what} ({})", clean(why)) }
}

fn what(at: Names<'_>, change: &Change) -> String {
    let name = |c: CarrierId| clean(&at.book.carriers[c].name);
    let names = |c: &[CarrierId]| c.iter().map(|c| name(*c)).collect::<Vec<_>>().join(", ");
    let tank = |t: TankId| Spot::of(at.line, t).words();
    let hoist = |h: HoistId| clean(&at.line.hoists[h].name);
    let order = |o: OrderId| clean(&at.book.orders[o].name);
    match change {
        Change::Hold { carrier } => format!("{} held", name(*carrier)),
        Change::Release { carrier } => format!("{} released", name(*carrier)),
        Change::Park { carrier, tank: Some(t) } => format!("{} to be parked in {}", name(*carrier), tank(*t)),
        Change::Park { carrier, tank: None } => format!("{} to be parked", name(*carrier)),
        Change::BringBack { carrier } => format!("{} to go on", name(*carrier)),
        Change::Quarantine { tank: t } => format!("{} in quarantine", tank(*t)),
        Change::Free { tank: t } => format!("{} free again", tank(*t)),
        Change::StopHoist { hoist: h, cause, until } => {
            let cause = cause_word(*cause);
            let until = until.map_or(String::new(), |t| format!(" until {}", at.opening.clock_minutes(t)));
            format!("{} stopped{until}: {cause}", hoist(*h))
        }
        Change::RunHoist { hoist: h } => format!("{} runs again", hoist(*h)),
        Change::SlowHoist { hoist: h, percent: 100 } => format!("{} at full speed", hoist(*h)),
        Change::SlowHoist { hoist: h, percent } => format!("{} at {percent} % of its speed", hoist(*h)),
        Change::Promise { order: o, priority, due } => {
            let priority = match priority {
                Priority::Rush => "rush",
                Priority::Normal => "normal",
                Priority::Low => "low",
            };
            let due = due.map_or(String::new(), |t| format!(", due {}", at.opening.clock_minutes(t)));
            format!("order {}: {priority}{due}", order(*o))
        }
        Change::Reorder { carriers } if carriers.is_empty() => "the queue in any order".to_owned(),
        Change::Reorder { carriers } => format!("to start in this order: {}", names(carriers)),
        Change::AddOrder { order, carriers } => {
            format!("order {} added, {}", clean(&order.name), many(carriers.len(), "carrier"))
        }
        Change::CancelOrder { order: o } => format!("order {} cancelled as far as not started", order(*o)),
        Change::Split { order: o, carriers, name } => {
            format!("{} split from order {} as {}", names(carriers), order(*o), clean(name))
        }
        Change::Dwell { whose, step, window: Window { min, target, max } } => {
            let (whose, recipe) = match whose {
                Whose::Carrier(carrier) => (name(*carrier), at.book.carriers[*carrier].recipe),
                Whose::Order(o) => (format!("order {}", order(*o)), at.book.orders[*o].recipe),
            };
            let step = visit_words(at.line, recipe, Visit::Step(*step));
            format!("{whose} in {step}: {min} to {max}, aim for {target}")
        }
        Change::Entry { order: o, side } => {
            let who = o.map_or("all orders".to_owned(), |o| format!("order {}", order(o)));
            match side {
                EntrySide::Any => format!("{who} may enter at any station"),
                EntrySide::At(t) => format!("{who} to enter at {}", tank(*t)),
            }
        }
        Change::Rework { carrier, recipe } => {
            let toleranced = at.book.orders[at.book.carriers[*carrier].order].toleranced;
            let metal = match film::metal_um(at.line, at.book.carriers[*carrier].recipe) {
                Some(um) if toleranced => {
                    format!("; TOLERANCED PARTS lose about {um:.1} um a side, and what the strip takes")
                }
                Some(um) => format!("; about {um:.1} um of metal gone a side"),
                None => String::new(),
            };
            format!("{} to rework: {}{metal}", name(*carrier), clean(&at.line.recipes[*recipe].label))
        }
        Change::Lend { carrier, bench } => {
            let recipe = at.book.carriers[*carrier].recipe;
            let next = visit_words(at.line, recipe, Visit::Step(bench.resume));
            let (min, max) = (bench.min, bench.max);
            let window =
                if max.is_unlimited() { format!("{min} and more") } else { format!("{min} to {max}") };
            format!("{} to {} for {window}, then {next}", name(*carrier), clean(&bench.name))
        }
        Change::Back { carrier, tank: Some(t) } => {
            format!("{} back from the bench into {}", name(*carrier), tank(*t))
        }
        Change::Back { carrier, tank: None } => {
            format!("{} back from the bench, to be picked up", name(*carrier))
        }
    }
}

/// Why a hoist stops, in a word.
pub fn cause_word(cause: StopCause) -> &'static str {
    match cause {
        StopCause::Break => "break",
        StopCause::Fault => "fault",
    }
}
