//! What the next calls are, how long each may wait, and why. Everything said here is read off the plan's own timing
//! network; nothing is guessed.

use super::insert::Rules;
use super::problem::Problem;
use super::timing::Network;
use crate::ids::{HoistId, Id as _, TankId};
use crate::line::{Line, Visit};
use crate::schedule::{Move, Schedule};
use crate::shift::{Place, State};
use crate::units::{Dur, Time};

/// One call: a loaded move as the operator is told of it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Call {
    /// The move.
    pub mv: Move,
    /// When the hoist should set out for it (empty travel included).
    pub set_out: Time,
    /// The last start of the move with which the rest of the plan still keeps every window; `None` if nothing limits it.
    pub latest_start: Option<Time>,
    /// `latest_start` less the planned start: how long the move may still wait. Negative if it is too late.
    pub slack: Option<Dur>,
    /// The move has an air limit: it must not stop on the way.
    pub critical: bool,
    /// The longest air time allowed, if the move is critical.
    pub air_max: Option<Dur>,
    /// The air time the model expects.
    pub air: Dur,
    /// One line: what limits the move, computed from the plan's own timing.
    pub reason: String,
}

const LOOSE: Rules = Rules { aim: false, reserve: Dur::ZERO, stretch: [Dur::ZERO; 4] };

/// The next `count` calls of a schedule. For a carrier that hangs on a hook already the first call is its place.
pub fn calls(line: &Line, state: &State, schedule: &Schedule, now: Time, count: usize) -> Vec<Call> {
    let problem = Problem::new(line, state, now);
    let to_come = still_to_come(state, schedule);
    let network = Network::new(&problem, &to_come, &LOOSE);
    let holds = network.as_ref().is_some_and(|n| n.earliest().is_some());
    let latest = network.as_ref().filter(|_| holds).map(Network::latest);
    let mut calls: Vec<Call> = Vec::new();
    for (i, mv) in to_come.iter().take(count).enumerate() {
        let Some(phases) = mv.phases(line, &state.book) else { continue };
        let recipe = state.book.carriers[mv.carrier].recipe;
        let air_max = Some(line.air_max(recipe, mv.leaves)).filter(|a| !a.is_unlimited());
        let latest_start = match &latest {
            Some((at, _)) => Some(at[i]).filter(|t| *t < Time::FAR),
            None => own_deadline(line, state, mv).map(|d| d - phases.to_lift()),
        };
        let limit = latest.as_ref().map(|(_, by)| chain_end(by, i)).map(|k| &to_come[k]);
        let at = to_come[..i]
            .iter()
            .rev()
            .find(|m| m.hoist == mv.hoist)
            .map_or(state.hoists[mv.hoist].at, |m| m.to);
        let travel = line.empty_travel(mv.hoist, at, mv.from).unwrap_or(Dur::ZERO);
        let reason = if on_hook(state, mv) {
            under_way(air_max)
        } else if holds {
            reason(line, state, &to_come, mv, latest_start, limit, now)
        } else {
            cannot_hold(line, state, mv, now)
        };
        calls.push(Call {
            mv: *mv,
            set_out: mv.start - travel,
            latest_start,
            slack: latest_start.map(|t| t - mv.start.max(now)),
            critical: air_max.is_some(),
            air_max,
            air: phases.air(),
            reason,
        });
    }
    calls
}

/// The moves of a schedule that the state has not seen happen yet.
fn still_to_come(state: &State, schedule: &Schedule) -> Vec<Move> {
    let mut started: Vec<bool> = vec![false; state.carriers.len()];
    schedule
        .moves
        .iter()
        .filter(|m| {
            let c = m.carrier.ix();
            started[c] |= match state.carriers[m.carrier].place {
                Place::Queued => true,
                Place::InTank { tank, visit, .. } => m.from == tank && m.leaves == visit,
                Place::OnHook { from, leaves, .. } => m.from == from && m.leaves == leaves,
                Place::Finished { .. } | Place::OffLine => false,
            };
            started[c]
        })
        .copied()
        .collect()
}

fn on_hook(state: &State, mv: &Move) -> bool {
    matches!(state.carriers[mv.carrier].place, Place::OnHook { leaves, .. } if leaves == mv.leaves)
}

/// The move whose own bound limits move `i`.
fn chain_end(limited_by: &[Option<usize>], mut i: usize) -> usize {
    for _ in 0..limited_by.len() {
        match limited_by[i] {
            Some(next) => i = next,
            None => break,
        }
    }
    i
}

/// The end of the window a carrier is in now, if the move takes it out of it.
fn own_deadline(line: &Line, state: &State, mv: &Move) -> Option<Time> {
    match state.carriers[mv.carrier].place {
        Place::InTank { tank, visit, since, .. } if tank == mv.from && visit == mv.leaves => {
            let (_, max) = line.window(state.book.carriers[mv.carrier].recipe, visit);
            (!max.is_unlimited()).then_some(since + max)
        }
        _ => None,
    }
}

fn name<'a>(state: &'a State, mv: &Move) -> &'a str {
    &state.book.carriers[mv.carrier].name
}

fn place(line: &Line, tank: TankId) -> String {
    let t = &line.tanks[tank];
    format!("{} {}", t.name, t.label)
}

fn under_way(air_max: Option<Dur>) -> String {
    air_max.map_or_else(
        || "under way: put it down".to_owned(),
        |max| format!("under way: air limit {max}, do not stop"),
    )
}

fn cannot_hold(line: &Line, state: &State, mv: &Move, now: Time) -> String {
    match own_deadline(line, state, mv) {
        Some(deadline) if deadline < now => {
            format!("{} is {} over in {}; lift it now", name(state, mv), now - deadline, place(line, mv.from))
        }
        Some(deadline) => {
            format!("{} closes in {}; not every window can be kept", place(line, mv.from), deadline - now)
        }
        None => "not every window can be kept; this order breaks least".to_owned(),
    }
}

fn reason(
    line: &Line,
    state: &State,
    to_come: &[Move],
    mv: &Move,
    latest_start: Option<Time>,
    limit: Option<&Move>,
    now: Time,
) -> String {
    if let Some(deadline) = own_deadline(line, state, mv) {
        let closes = format!("{} closes in {}", place(line, mv.from), deadline - now);
        return match other_first(line, state, to_come, mv, deadline, now) {
            Some((other, over)) => format!("{closes}; {other} first would overrun it by {over}"),
            None => closes,
        };
    }
    match (latest_start, limit) {
        (Some(_), Some(l)) if l.carrier != mv.carrier => match own_deadline(line, state, l) {
            Some(deadline) => {
                format!(
                    "must be done before {} leaves {}, which closes in {}",
                    name(state, l),
                    place(line, l.from),
                    deadline - now
                )
            }
            None => format!("{} goes after it", name(state, l)),
        },
        _ if mv.leaves == Visit::Load => {
            format!("{} may start: its whole way to the end is free", name(state, mv))
        }
        _ => "nothing limits this move yet".to_owned(),
    }
}

/// By how much the window of `mv` would be overrun if the next other call of the same hoist were done first.
fn other_first(
    line: &Line,
    state: &State,
    to_come: &[Move],
    mv: &Move,
    deadline: Time,
    now: Time,
) -> Option<(String, Dur)> {
    let other = to_come.iter().find(|m| m.hoist == mv.hoist && m.carrier != mv.carrier)?;
    let begins = earliest_start(line, state, other, now)?;
    let ends = begins + other.phases(line, &state.book)?.total();
    let lift =
        ends + line.empty_travel(mv.hoist, other.to, mv.from)? + mv.phases(line, &state.book)?.to_lift();
    (lift > deadline).then(|| (name(state, other).to_owned(), lift - deadline))
}

fn earliest_start(line: &Line, state: &State, mv: &Move, now: Time) -> Option<Time> {
    let hoist: HoistId = mv.hoist;
    let h = &state.hoists[hoist];
    let there = h.free_from.max(now) + line.empty_travel(hoist, h.at, mv.from)?;
    Some(match state.carriers[mv.carrier].place {
        Place::InTank { visit, since, .. } => {
            let (min, _) = line.window(state.book.carriers[mv.carrier].recipe, visit);
            there.max(since + min - mv.phases(line, &state.book)?.to_lift())
        }
        _ => there,
    })
}
