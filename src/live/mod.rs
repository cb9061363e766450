//! The shell: one running shift with its clock, journal, planner and crew. Screens and commands talk to this only.

use std::sync::Arc;

use crate::civil::Opening;
use crate::clock::Clock;
use crate::ids::Seq;
use crate::line::Line;
use crate::plan::{self, Call, Settings};
use crate::shift::{Command, Event, History, Refusal, Stamped, State, Who, decide};
use crate::units::Time;
use crate::verify::{Breach, verify};

/// How many calls are worked out ahead for the screens.
const CALLS_SHOWN: usize = 8;

/// Why a command did not go through.
#[derive(Debug, thiserror::Error)]
pub enum Problem {
    /// It cannot be done now; ordinary.
    #[error("{0}")]
    Refused(#[from] Refusal),
    /// Something broke: disk, lock, terminal.
    #[error("{0}")]
    Fault(String),
}

/// A running shift.
pub struct LiveShift {
    line: Arc<Line>,
    opening: Opening,
    history: History,
    clock: Box<dyn Clock>,
    settings: Settings,
    calls: Vec<Call>,
    breaches: Vec<Breach>,
}

impl LiveShift {
    /// A shift that is kept in memory only.
    pub fn in_memory(line: Arc<Line>, opening: Opening, clock: Box<dyn Clock>, settings: Settings) -> Self {
        let history = History::new(&line);
        Self { line, opening, history, clock, settings, calls: Vec::new(), breaches: Vec::new() }
    }

    /// The line.
    pub fn line(&self) -> &Line {
        &self.line
    }
    /// Where the axis lies on the wall clock.
    pub fn opening(&self) -> Opening {
        self.opening
    }
    /// All events so far.
    pub fn history(&self) -> &History {
        &self.history
    }
    /// What is so.
    pub fn state(&self) -> &State {
        self.history.state()
    }
    /// The instant now.
    pub fn now(&mut self) -> Time {
        self.clock.now()
    }
    /// The next calls of the plan in force.
    pub fn calls(&self) -> &[Call] {
        &self.calls
    }
    /// What the plan in force cannot keep, by the verifier's word.
    pub fn breaches(&self) -> &[Breach] {
        &self.breaches
    }

    /// Does what a person or the crew asks: decides, stores, folds, plans anew.
    pub fn submit(&mut self, command: &Command, by: Who) -> Result<(), Problem> {
        let now = self.clock.now();
        let events = decide(&self.line, &self.history, command, now)?;
        let replan = events.iter().any(|(_, e)| e.is_physical() || matches!(e, Event::Opened { .. }));
        self.record(events, by, now);
        if replan || matches!(command, Command::Undo | Command::Retime { .. }) {
            self.replan(now)?;
        }
        Ok(())
    }

    /// Looks at the clock: alarms, and a plan that has fallen behind. True if anything changed.
    pub fn tick(&mut self) -> Result<bool, Problem> {
        let before = self.history.state().seq;
        self.submit(&Command::Watch, Who::Program)?;
        Ok(self.history.state().seq != before)
    }

    fn record(&mut self, events: Vec<(Time, Event)>, by: Who, now: Time) {
        for (at, event) in events {
            let seq = Seq(self.history.events().len() as u64 + 1);
            self.history.push(&self.line, Stamped { seq, at, entered: now, by, event });
        }
    }

    fn replan(&mut self, now: Time) -> Result<(), Problem> {
        let schedule = plan::plan(&self.line, self.state(), now, &self.settings);
        self.breaches = verify(&self.line, self.state(), &schedule);
        self.calls = plan::calls(&self.line, self.state(), &schedule, now, CALLS_SHOWN);
        let events = decide(&self.line, &self.history, &Command::AdoptPlan { schedule }, now)?;
        self.record(events, Who::Program, now);
        Ok(())
    }
}
