//! How to go on from here: a schedule for everything that is so, and the calls it means.
//!
//! Knows no clock, no disk, no threads: the instant, the seed and the effort are arguments.

mod board;
mod construct;
mod explain;
mod margin;
mod problem;
pub mod rhythm;
mod search;
mod timing;
mod way;

pub use explain::{Call, Reason, calls, remaining};
pub use search::Budget;

use crate::line::Line;
use crate::schedule::Schedule;
use crate::shift::State;
use crate::units::{Dur, Time};

/// What a planner run is given besides the problem.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Settings {
    /// Kept free after every loaded move and before the end of every window, for human pace.
    pub reserve: Dur,
    /// Seed of the search's own randomness.
    pub seed: u64,
    /// How many different orders of insertion may be tried. Counted, not timed, so that it is the same everywhere.
    pub effort: u32,
}

impl Default for Settings {
    fn default() -> Self {
        Self { reserve: Dur::from_secs(10), seed: 1, effort: 40 }
    }
}

/// Plans everything on the line and in the queue from `now` on. The schedule keeps every window if one was found that
/// does; otherwise it breaks least of what was tried, and the verifier says what.
pub fn plan(line: &Line, state: &State, now: Time, settings: &Settings) -> Schedule {
    let problem = problem::Problem::new(line, state, now);
    Schedule::new(construct::moves(&problem, settings), now)
}

/// A better schedule of the same carriers from the same instant, if the budget allows one to be found. The first `frozen`
/// moves stay.
pub fn improve(
    line: &Line,
    state: &State,
    schedule: &Schedule,
    settings: &Settings,
    frozen: usize,
    budget: &mut Budget,
) -> Option<Schedule> {
    let now = schedule.made_at;
    let problem = problem::Problem::new(line, state, now);
    let rules = way::Rules { aim: false, reserve: settings.reserve };
    let moves = search::improve(&problem, &schedule.moves, &rules, frozen, settings.seed, budget)?;
    Some(Schedule::new(moves, now))
}
