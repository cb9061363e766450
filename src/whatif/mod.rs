//! What a change would do: the shift with it beside the shift as it is, both planned on from now. Nothing of it is stored.

mod effect;
mod paper;
mod ways;
mod weigh;

pub use effect::{Effect, effects, finish, is_same_call};
pub use paper::on_paper;
pub use ways::{Trouble, WayOut, What, trouble, ways_out};
pub use weigh::{Weighed, is_better, weigh};

use weigh::{in_order, starts_alike};

use crate::ids::Seq;
use crate::line::Line;
use crate::plan::{self, Budget, Objective, Settings};
use crate::schedule::Schedule;
use crate::shift::{Command, History, Refusal, Stamped, State, Who, decide};
use crate::units::Time;
use crate::verify::{Breach, is_possible, verify};

/// How a shift would go on.
#[derive(Debug, Clone, PartialEq)]
pub struct Prospect {
    /// What would be so.
    pub state: State,
    /// The plan from there.
    pub schedule: Schedule,
    /// What it cannot keep, by the verifier's word.
    pub breaches: Vec<Breach>,
    /// What it is worth; parts compare first thing first.
    pub worth: Objective,
}

impl Prospect {
    /// A state with a plan from there, judged.
    fn of(line: &Line, state: State, schedule: Schedule) -> Self {
        let breaches = verify(line, &state, &schedule);
        let worth = Objective::of(line, &state, &schedule, &[]);
        Self { state, schedule, breaches, worth }
    }
}

/// What is left of the plan in force, and what it cannot keep. Nothing of one that cannot be done any more: what was said last
/// is not in it, and the plan that follows is being made.
pub fn in_force(line: &Line, state: &State) -> Option<(Schedule, Vec<Breach>)> {
    let left = plan::remaining(state, state.plan.as_ref()?);
    let breaches = verify(line, state, &left);
    if is_possible(&breaches) {
        Some((left, breaches))
    } else {
        Some((Schedule::new(Vec::new(), left.made_at), Vec::new()))
    }
}

/// The history with the commands said at `now`.
fn said(
    line: &Line,
    history: &History,
    commands: &[Command],
    now: Time,
) -> Result<History, (usize, Refusal)> {
    let mut then = history.clone();
    for (n, command) in commands.iter().enumerate() {
        says(line, &mut then, command, now).map_err(|refusal| (n, refusal))?;
    }
    Ok(then)
}

fn says(line: &Line, history: &mut History, command: &Command, now: Time) -> Result<(), Refusal> {
    for (at, event) in decide(line, history, command, now)? {
        let seq = Seq(history.state().seq.0 + 1);
        history.push(line, Stamped { seq, at, entered: now, by: Who::Supervisor, event });
    }
    Ok(())
}

fn prospect(line: &Line, state: State, now: Time, settings: &Settings, budget: &mut Budget) -> Prospect {
    let schedule = planned(line, &state, now, settings, budget);
    Prospect::of(line, state, schedule)
}

/// A plan from `now`, made better within the budget.
fn planned(line: &Line, state: &State, now: Time, settings: &Settings, budget: &mut Budget) -> Schedule {
    made_better(line, state, plan::plan(line, state, now, settings), settings, budget)
}

/// The same, begun from the order of moves of another prospect if that is worth more here. Who was left out of the plan in
/// force for a while, and is to be put in anew, has its place there.
fn planned_like(
    line: &Line,
    state: &State,
    now: Time,
    settings: &Settings,
    like: &Prospect,
    budget: &mut Budget,
) -> Schedule {
    let mut first = plan::plan(line, state, now, settings);
    if starts_alike(state, &like.state) {
        let other = in_order(line, state, &like.schedule, now, settings).schedule;
        if is_better(line, state, &other, &first) {
            first = other;
        }
    }
    made_better(line, state, first, settings, budget)
}

fn made_better(
    line: &Line,
    state: &State,
    first: Schedule,
    settings: &Settings,
    budget: &mut Budget,
) -> Schedule {
    let better = plan::improve_in_rounds(line, state, &first, settings, 0, budget, &mut |_| ());
    better.filter(|b| is_possible(&verify(line, state, b))).unwrap_or(first)
}
