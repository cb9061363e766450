//! How to go on from here: a schedule for everything that is so, and the calls it means.
//!
//! Knows no clock, no disk, no threads: the instant, the seed and the effort are arguments.

mod basis;
mod board;
mod construct;
mod exchange;
mod explain;
mod instead;
mod margin;
mod mend;
mod objective;
mod problem;
mod rail;
mod reserve;
pub mod rhythm;
mod rounds;
mod search;
mod shade;
mod shortcut;
mod timing;
mod way;

pub use explain::{Call, Reason, calls, remaining};
pub use instead::{Choice, Instead, Price, choices, instead, price_tries};
pub use objective::{Excess, Limit, Margin, Objective, excesses};
pub use reserve::{MoveKind, Reserve, kinds};
pub use rounds::improve_in_rounds;
pub use search::{Budget, Team};

use basis::Basis;
use problem::Problem;
use search::Begin;

use crate::line::Line;
use crate::schedule::{Move, Schedule};
use crate::shift::State;
use crate::units::{Dur, Time};

/// What a planner run is given besides the problem.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Settings {
    /// Kept free before every loaded move and before the end of every window, for human pace. With any at all, windows
    /// also keep a margin before their end by harm.
    pub reserve: Reserve,
    /// Seed of the search's own randomness.
    pub seed: u64,
    /// How many different orders of insertion may be tried. Counted, not timed, so that it is the same everywhere.
    pub effort: u32,
    /// How long a hoist is taken to be stopped if nobody knows, from the stop on and again whenever that has passed.
    pub stop: Dur,
    /// How long a tank is taken to be out of service if nobody knows, in the same way.
    pub out: Dur,
}

impl Default for Settings {
    fn default() -> Self {
        Self {
            reserve: Reserve::all(Dur::from_secs(10)),
            seed: 1,
            effort: 40,
            stop: Dur::from_mins(10),
            out: Dur::from_mins(30),
        }
    }
}

/// Plans everything on the line and in the queue from `now` on, at once: nothing is searched for. The schedule keeps
/// every window if one was found that does; otherwise it breaks least of what was tried, and the verifier says what.
pub fn plan(line: &Line, state: &State, now: Time, settings: &Settings) -> Schedule {
    let from = |park: bool| {
        let basis = Basis::new(line, state, now, settings, |_| park);
        let problem = Problem::new(&basis, now);
        let moves = construct::moves(&problem, settings);
        let whole = construct::all_out(&problem, &moves);
        (basis.parks() && !whole, Schedule::new(basis.outward(moves), now))
    };
    // Where somebody cannot be parked as asked all go on by their recipes rather than be left where they are.
    let (stuck, schedule) = from(true);
    if stuck { from(false).1 } else { schedule }
}

/// The same, but the order of moves it goes on from is that of `order`, queue and all, in place of the plan in force.
pub fn plan_in_order(
    line: &Line,
    state: &State,
    order: &Schedule,
    now: Time,
    settings: &Settings,
) -> Schedule {
    let mut state = state.clone();
    state.plan = Some(order.clone());
    state.standing.queue_changed = false;
    plan(line, &state, now, settings)
}

/// A better schedule of the same carriers from the same instant, if the budget allows one to be found. The first `frozen`
/// hauls stay. Windows, reserve and margins that the schedule keeps are kept. One that breaks windows is first made to do
/// less harm, with half of the budget, and never does more.
pub fn improve(
    line: &Line,
    state: &State,
    schedule: &Schedule,
    settings: &Settings,
    frozen: usize,
    budget: &mut Budget,
) -> Option<Schedule> {
    improve_from(Begin::Anew, line, state, schedule, settings, frozen, budget)
}

/// The same as one of a team that goes on together: all are given the same but for the seed.
pub fn improve_with(
    team: &Team,
    line: &Line,
    state: &State,
    schedule: &Schedule,
    settings: &Settings,
    budget: &mut Budget,
) -> Option<Schedule> {
    improve_from(Begin::With(team), line, state, schedule, settings, 0, budget)
}

/// The same, from what a search has found before or not.
fn improve_from(
    begin: Begin,
    line: &Line,
    state: &State,
    schedule: &Schedule,
    settings: &Settings,
    frozen: usize,
    budget: &mut Budget,
) -> Option<Schedule> {
    let now = schedule.made_at;
    let basis = Basis::of(line, state, schedule, now, settings);
    let problem = Problem::new(&basis, now);
    let moves = &basis.inward(schedule).moves;
    let held = margin::ladder(&problem, settings)
        .find(|(problem, rules)| timing::retime(problem, moves, rules).is_some());
    let Some((problem, rules)) = held else {
        let moves = less_harm(begin, &problem, moves, settings, frozen, budget)?;
        return Some(Schedule::new(basis.outward(moves), now));
    };
    let found = search::improve(&problem, moves, &rules, frozen, settings.seed, begin, budget);
    let base = found.as_deref().unwrap_or(moves);
    let moves = exchange::exchanged(&problem, base, &rules, frozen, construct::if_it_holds).or(found)?;
    let moves = shortcut::direct(&problem, moves, &rules, frozen);
    Some(Schedule::new(basis.outward(construct::evened(&problem, &rules, moves)), now))
}

/// The same for moves that break windows.
fn less_harm(
    begin: Begin,
    problem: &Problem,
    moves: &[Move],
    settings: &Settings,
    frozen: usize,
    budget: &mut Budget,
) -> Option<Vec<Move>> {
    let harm = |moves: &[Move]| construct::harm(problem, moves);
    // What one of a team has mended need not hold in the others' stretch.
    let begin = if let Begin::With(_) = begin { Begin::Anew } else { begin };
    let (_, _, held) = construct::stretched(problem, settings, moves)?;
    let half = budget.tries / 2;
    let mut part = Budget { tries: half, stop: &mut *budget.stop };
    let (mended, left) = mend::mend(problem, settings, &held, frozen, harm, &mut part);
    let least = harm(mended.as_ref().unwrap_or(&held));
    let (problem, rules, held) = construct::stretched(problem, settings, mended.as_ref().unwrap_or(&held))?;
    let mut rest = Budget { tries: budget.tries - half + left, stop: &mut *budget.stop };
    let sooner = search::improve(&problem, &held, &rules, frozen, settings.seed, begin, &mut rest);
    let better = sooner.filter(|moves| harm(moves) <= least).or(mended)?;
    let better = construct::evened(&problem, &rules, better);
    (harm(&better) <= harm(moves)).then_some(better)
}

/// The same moves in the same order, done ones left out, from `now` on. `None` if they no longer start from what is so or
/// no times keep every window.
pub fn follow(
    line: &Line,
    state: &State,
    schedule: &Schedule,
    now: Time,
    settings: &Settings,
) -> Option<Schedule> {
    let basis = Basis::of(line, state, schedule, now, settings);
    let problem = Problem::new(&basis, now);
    let moves = construct::follow(&problem, &basis.inward(schedule), settings)?;
    Some(Schedule::new(basis.outward(moves), now))
}

/// The same for one that breaks windows: they are stretched, least harm first. `None` if it no longer starts from what is
/// so.
pub fn follow_stretched(
    line: &Line,
    state: &State,
    schedule: &Schedule,
    now: Time,
    settings: &Settings,
) -> Option<Schedule> {
    let basis = Basis::of(line, state, schedule, now, settings);
    let problem = Problem::new(&basis, now);
    let moves = construct::follow_stretched(&problem, &basis.inward(schedule), settings)?;
    Some(Schedule::new(basis.outward(moves), now))
}
