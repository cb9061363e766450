//! How to go on from here: a schedule for everything that is so, and the calls it means.
//!
//! Knows no clock, no disk, no threads: the instant, the seed and the effort are arguments.

mod board;
mod construct;
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
mod timing;
mod way;

pub use explain::{Call, Reason, calls, remaining};
pub use instead::{Instead, Price, instead, price_tries};
pub use objective::{Excess, Limit, Margin, Objective, excesses};
pub use reserve::Reserve;
pub use rounds::improve_in_rounds;
pub use search::Budget;

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
}

impl Default for Settings {
    fn default() -> Self {
        Self { reserve: Reserve::all(Dur::from_secs(10)), seed: 1, effort: 40 }
    }
}

/// Plans everything on the line and in the queue from `now` on, at once: nothing is searched for. The schedule keeps
/// every window if one was found that does; otherwise it breaks least of what was tried, and the verifier says what.
pub fn plan(line: &Line, state: &State, now: Time, settings: &Settings) -> Schedule {
    let problem = problem::Problem::new(line, state, now);
    Schedule::new(construct::moves(&problem, settings), now)
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
    let problem = problem::Problem::new(line, state, now);
    let moves = &schedule.moves;
    let held = margin::ladder(&problem, settings)
        .find(|(problem, rules)| timing::retime(problem, moves, rules).is_some());
    let Some((problem, rules)) = held else {
        return less_harm(begin, &problem, schedule, settings, frozen, budget);
    };
    let moves = search::improve(&problem, moves, &rules, frozen, settings.seed, begin, budget)?;
    Some(Schedule::new(construct::evened(&problem, &rules, moves), now))
}

/// The same for a schedule that breaks windows.
fn less_harm(
    begin: Begin,
    problem: &problem::Problem,
    schedule: &Schedule,
    settings: &Settings,
    frozen: usize,
    budget: &mut Budget,
) -> Option<Schedule> {
    let now = schedule.made_at;
    let harm = |moves: &[Move]| {
        let schedule = Schedule::new(moves.to_vec(), now);
        let worth = Objective::of(problem.line, problem.state, &schedule, &[]);
        (worth.scrap, worth.harm())
    };
    let (_, _, held) = construct::stretched(problem, settings, &schedule.moves)?;
    let half = budget.tries / 2;
    let mut part = Budget { tries: half, stop: &mut *budget.stop };
    let (mended, left) = mend::mend(problem, settings, &held, frozen, harm, &mut part);
    let least = harm(mended.as_ref().unwrap_or(&held));
    let (problem, rules, held) = construct::stretched(problem, settings, mended.as_ref().unwrap_or(&held))?;
    let mut rest = Budget { tries: budget.tries - half + left, stop: &mut *budget.stop };
    let sooner = search::improve(&problem, &held, &rules, frozen, settings.seed, begin, &mut rest);
    let moves = sooner.filter(|moves| harm(moves) <= least).or(mended)?;
    let moves = construct::evened(&problem, &rules, moves);
    (harm(&moves) <= harm(&schedule.moves)).then(|| Schedule::new(moves, now))
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
    let problem = problem::Problem::new(line, state, now);
    Some(Schedule::new(construct::follow(&problem, schedule, settings)?, now))
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
    let problem = problem::Problem::new(line, state, now);
    Some(Schedule::new(construct::follow_stretched(&problem, schedule, settings)?, now))
}
