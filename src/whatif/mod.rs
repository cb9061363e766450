//! What a change would do: the shift with it beside the shift as it is, both planned on from now. Nothing of it is stored.

mod effect;

pub use effect::{Effect, effects, finish};

use crate::ids::Seq;
use crate::line::Line;
use crate::plan::{self, Budget, Objective, Settings};
use crate::schedule::Schedule;
use crate::shift::{Command, History, Refusal, Stamped, State, Who, decide};
use crate::units::Time;
use crate::verify::{Breach, verify};

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
    prospect(line, history.state().clone(), now, settings, tries)
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
    let mut then = history.clone();
    for (n, command) in commands.iter().enumerate() {
        says(line, &mut then, command, now).map_err(|refusal| (n, refusal))?;
    }
    Ok(prospect(line, then.state().clone(), now, settings, tries))
}

fn says(line: &Line, history: &mut History, command: &Command, now: Time) -> Result<(), Refusal> {
    for (at, event) in decide(line, history, command, now)? {
        let seq = Seq(history.state().seq.0 + 1);
        history.push(line, Stamped { seq, at, entered: now, by: Who::Supervisor, event });
    }
    Ok(())
}

fn prospect(line: &Line, state: State, now: Time, settings: &Settings, tries: u64) -> Prospect {
    let first = plan::plan(line, &state, now, settings);
    let mut budget = Budget { tries, stop: &mut || false };
    let better = plan::improve_in_rounds(line, &state, &first, settings, 0, &mut budget, &mut |_| ());
    let schedule =
        better.filter(|b| verify(line, &state, b).iter().all(|b| b.harm.is_some())).unwrap_or(first);
    let breaches = verify(line, &state, &schedule);
    let worth = Objective::of(line, &state, &schedule, &[]);
    Prospect { state, schedule, breaches, worth }
}
