//! What is wrong, worst first.

use crate::ids::{CarrierId, HoistId, OrderId, TankId};
use crate::line::{Harm, Line, Priority, Role, Visit};
use crate::plan::remaining;
use crate::schedule::Schedule;
use crate::shift::{History, Place, State, bath};
use crate::units::{Dur, Time};
use crate::verify::{Breach, Rule, verify};
use crate::whatif::effect::end_in;

/// Something that calls for a decision.
#[derive(Debug, Clone, PartialEq)]
pub enum Trouble {
    /// A hoist is stopped.
    StoppedHoist {
        /// The hoist.
        hoist: HoistId,
        /// When it runs again, if anybody knows.
        until: Option<Time>,
    },
    /// A tank that somebody still needs is out of service or in quarantine.
    TankLost {
        /// The tank.
        tank: TankId,
        /// When it is back, if anybody knows.
        until: Option<Time>,
    },
    /// The plan in force cannot keep a window.
    Window {
        /// Whose.
        carrier: CarrierId,
        /// What breaks; the worst there is.
        breach: Breach,
    },
    /// The plan in force is late for a rush order.
    Promise {
        /// The order.
        order: OrderId,
        /// By how much.
        by: Dur,
    },
}

/// The worst trouble of the shift at `now`; `None` if all is well. The plan in force says what will break, so the answer is
/// as fresh as that plan.
pub fn trouble(line: &Line, history: &History, now: Time) -> Option<Trouble> {
    let state = history.state();
    let line = state.line(line);
    let stands = |hoist| state.standing.stop(hoist, now).map(|stop| (hoist, stop.until));
    if let Some((hoist, until)) = line.hoists.ids().find_map(stands) {
        return Some(Trouble::StoppedHoist { hoist, until });
    }
    if let Some(tank) = line.tanks.ids().find(|t| is_lost(line, state, *t, now)) {
        let from = state.tanks[tank].from;
        let known = from < Time::FAR && from > now && !state.standing.quarantined.contains_key(&tank);
        return Some(Trouble::TankLost { tank, until: known.then_some(from) });
    }
    let plan = remaining(state, state.plan.as_ref()?);
    let breaches = verify(line, state, &plan);
    let worst = risks(state, &breaches).into_iter().next();
    worst
        .map(|(carrier, breach)| Trouble::Window { carrier, breach: breach.clone() })
        .or_else(|| late_rush(line, state, &plan))
}

/// Windows that break and matter, one a carrier: worst harm first, then the first to break.
pub(super) fn risks<'b>(state: &State, breaches: &'b [Breach]) -> Vec<(CarrierId, &'b Breach)> {
    let matters = |b: &&Breach| {
        matches!(b.rule, Rule::Over | Rule::Under | Rule::Air) && b.harm.is_some_and(|h| h < Harm::Nuisance)
    };
    let mut sorted: Vec<&Breach> = breaches.iter().filter(matters).collect();
    sorted.sort_by_key(|b| (b.harm, b.at));
    let mut found: Vec<(CarrierId, &Breach)> = Vec::new();
    for breach in sorted {
        let Some(carrier) = state.book.carriers.find(|c| c.name == breach.carrier) else { continue };
        if found.iter().all(|(c, _)| *c != carrier) {
            found.push((carrier, breach));
        }
    }
    found
}

/// True if a tank that was in service, or would be by now, is not to be entered, and somebody has a step ahead there. A tank
/// that heats up at the beginning of a shift is no loss.
fn is_lost(line: &Line, state: &State, tank: TankId, now: Time) -> bool {
    let Role::Bath(stage) = line.tanks[tank].role else { return false };
    let from = state.tanks[tank].from;
    let out = from > now && from != Time::ZERO + line.tanks[tank].ready_after;
    let needed = |carrier: CarrierId| {
        let ahead = match state.carriers[carrier].place {
            Place::Queued => 0,
            Place::InTank { visit, .. } | Place::OnHook { leaves: visit, .. } => match visit {
                Visit::Step(n) | Visit::Hold(n) => usize::from(n.0) + 1,
                Visit::Stray { resume } => usize::from(resume.0),
                Visit::Load => 0,
                Visit::Unload => return false,
            },
            Place::Finished { .. } | Place::OffLine => return false,
        };
        let steps = &line.recipes[state.book.carriers[carrier].recipe].steps;
        steps.iter().skip(ahead).any(|s| s.stage == stage)
    };
    let unfit = bath::unfit(line, state, tank, now).is_some();
    (out || unfit || state.standing.quarantined.contains_key(&tank)) && state.carriers.ids().any(needed)
}

/// The rush order that the plan is latest for.
fn late_rush(line: &Line, state: &State, plan: &Schedule) -> Option<Trouble> {
    let late = lateness(line, state, plan);
    let rush = late.into_iter().find(|(order, _)| state.book.orders[*order].priority == Priority::Rush)?;
    Some(Trouble::Promise { order: rush.0, by: rush.1 })
}

/// Orders with a load still to finish that the plan is late for, the latest first.
pub(super) fn lateness(line: &Line, state: &State, plan: &Schedule) -> Vec<(OrderId, Dur)> {
    let late = |order: OrderId| {
        let due = state.book.orders[order].due?;
        let own = state.carriers.ids().filter(|c| state.book.carriers[*c].order == order);
        let open =
            own.filter(|c| !matches!(state.carriers[*c].place, Place::Finished { .. } | Place::OffLine));
        let ends = open.map(|c| end_in(line, state, plan, c).unwrap_or(Time::FAR));
        let by = ends.max()? - due;
        (by > Dur::ZERO).then_some((order, by))
    };
    let mut found: Vec<(OrderId, Dur)> = state.book.orders.ids().filter_map(late).collect();
    found.sort_by_key(|(order, by)| (-by.0, *order));
    found
}
