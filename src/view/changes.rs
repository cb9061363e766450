//! What a supervisor changed, in words.

use super::At;
use super::words::{Spot, clean, visit_words};
use crate::ids::{CarrierId, HoistId, OrderId, TankId};
use crate::line::{EntrySide, Priority, Visit};
use crate::shift::{Change, StopCause, Whose, Window};

/// One change with the reason given for it.
pub(super) fn words(at: At<'_>, change: &Change, why: &str) -> String {
    let what = what(at, change);
    if why.trim().is_empty() { what } else { format!("{what} ({})", clean(why)) }
}

fn what(at: At<'_>, change: &Change) -> String {
    let name = |c: CarrierId| at.carrier_name(c);
    let names = |c: &[CarrierId]| c.iter().map(|c| name(*c)).collect::<Vec<_>>().join(", ");
    let tank = |t: TankId| Spot::of(at.line, t).words();
    let hoist = |h: HoistId| clean(&at.line.hoists[h].name);
    let order = |o: OrderId| clean(&at.state.book.orders[o].name);
    match change {
        Change::Hold { carrier } => format!("{} held", name(*carrier)),
        Change::Release { carrier } => format!("{} released", name(*carrier)),
        Change::Park { carrier, tank: Some(t) } => format!("{} to be parked in {}", name(*carrier), tank(*t)),
        Change::Park { carrier, tank: None } => format!("{} to be parked", name(*carrier)),
        Change::BringBack { carrier } => format!("{} to go on", name(*carrier)),
        Change::Quarantine { tank: t } => format!("{} in quarantine", tank(*t)),
        Change::Free { tank: t } => format!("{} free again", tank(*t)),
        Change::StopHoist { hoist: h, cause, until } => {
            let cause = match cause {
                StopCause::Break => "break",
                StopCause::Fault => "fault",
            };
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
                Priority::Low => "when there is room",
            };
            let due = due.map_or(String::new(), |t| format!(", due {}", at.opening.clock_minutes(t)));
            format!("order {}: {priority}{due}", order(*o))
        }
        Change::Reorder { carriers } if carriers.is_empty() => "the queue in any order".to_owned(),
        Change::Reorder { carriers } => format!("to start in this order: {}", names(carriers)),
        Change::AddOrder { order, carriers } => {
            format!("order {} added, {} carriers", clean(&order.name), carriers.len())
        }
        Change::CancelOrder { order: o } => format!("order {} cancelled as far as not started", order(*o)),
        Change::Split { order: o, carriers, name } => {
            format!("{} split from order {} as {}", names(carriers), order(*o), clean(name))
        }
        Change::Dwell { whose, step, window: Window { min, target, max } } => {
            let (whose, recipe) = match whose {
                Whose::Carrier(carrier) => (name(*carrier), at.recipe(*carrier)),
                Whose::Order(o) => (format!("order {}", order(*o)), at.state.book.orders[*o].recipe),
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
            format!("{} to rework: {}", name(*carrier), clean(&at.line.recipes[*recipe].label))
        }
    }
}
