//! What a change would do: the shift with it beside the shift as it is, both planned on from now. Nothing of it is stored.

mod effect;
mod paper;
mod ways;

pub use effect::{Effect, effects, finish};
pub use paper::on_paper;
pub use ways::{Trouble, WayOut, What, trouble, ways_out};

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

/// How the shift goes on from `now` if nothing is changed, the plan made better within `tries` trial insertions.
pub fn as_it_is(line: &Line, history: &History, now: Time, settings: &Settings, tries: u64) -> Prospect {
    prospect(line, history.state().clone(), now, settings, &mut Budget { tries, stop: &mut || false })
}

/// How it would go on with the commands said at `now`, one after the other.
///
/// Errors: the first command that is refused, by its place among them.
pub fn with(
    line: &Line,
    history: &History,
    commands: &[Command],
    now: Time,
    settings: &Settings,
    tries: u64,
) -> Result<Prospect, (usize, Refusal)> {
    let then = said(line, history, commands, now)?;
    Ok(prospect(line, then.state().clone(), now, settings, &mut Budget { tries, stop: &mut || false }))
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
    let breaches = verify(line, &state, &schedule);
    let worth = Objective::of(line, &state, &schedule, &[]);
    Prospect { state, schedule, breaches, worth }
}

/// A plan from `now`, made better within the budget.
fn planned(line: &Line, state: &State, now: Time, settings: &Settings, budget: &mut Budget) -> Schedule {
    let first = plan::plan(line, state, now, settings);
    let better = plan::improve_in_rounds(line, state, &first, settings, 0, budget, &mut |_| ());
    better.filter(|b| is_possible(&verify(line, state, b))).unwrap_or(first)
}
