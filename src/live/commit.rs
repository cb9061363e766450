//! Commits of what has been weighed, while the line goes on.
//!
//! 1. If nothing has happened since, it is done.
//! 2. If only the line went on (picks, places, corrections), the same commands are weighed again from now, beginning with
//!    the orders of moves that were shown. If they cost no more than was shown, it is done; else nothing is, and why is told.
//!    What is so whether anybody likes it or not, a lost tank or a fault of a hoist, is done at once, whatever it costs.
//! 3. If anything else was said, a change or its taking back, nothing is done: whoever asks has not seen what it means.
//! 4. What happens while that is worked out begins it again. The plan goes on from the one that was shown.

use super::{Known, LiveShift, Problem, TRIES, planning};
use crate::ids::Seq;
use crate::shift::{Change, Command, Event, StopCause, Who};
use crate::units::Dur;
use crate::whatif::weigh;

/// What was weighed longer ago than this is weighed again.
const OLD: Dur = Dur::from_secs(60);

/// Trial insertions for each side where the orders that were shown no longer do.
const AGAIN: u64 = 2_000;

/// True for what is no choice: it is so already.
pub fn is_fact(command: &Command) -> bool {
    match command {
        // A note says why.
        Command::TankOut { .. } | Command::TankBack { .. } | Command::Note { .. } => true,
        Command::Change { change, .. } => matches!(
            change,
            Change::StopHoist { cause: StopCause::Fault, .. }
                | Change::RunHoist { .. }
                | Change::SlowHoist { .. }
                | Change::Quarantine { .. }
        ),
        _ => false,
    }
}

impl LiveShift {
    /// Does several things at once for somebody who has weighed them: all of them, or none.
    pub fn submit_weighed(&mut self, commands: &[Command], by: Who, known: &Known) -> Result<(), Problem> {
        self.tail()?;
        for _ in 0..TRIES {
            let seen = self.last_fact();
            let order = self.weighed_again(commands, known, seen)?;
            match self.commit_all(commands, by, Some(seen)) {
                Err(Problem::MovedOn) => {}
                Err(problem) => return Err(problem),
                Ok(outdated) => {
                    if outdated {
                        self.plan.go_on_from(order);
                        let now = self.now();
                        self.plan_or_notice(now, planning::Adopt::Always);
                    }
                    return Ok(());
                }
            }
        }
        Err(Problem::MovedOn)
    }

    /// The plan to go on from if the commands still cost no more than is known.
    fn weighed_again(
        &mut self,
        commands: &[Command],
        known: &Known,
        seen: Seq,
    ) -> Result<crate::schedule::Schedule, Problem> {
        let now = self.now();
        if seen == known.seen && now - known.at <= OLD {
            return Ok(known.weighed.after.schedule.clone());
        }
        if !self.only_went_on_since(known.seen) {
            return Err(Problem::MovedOn);
        }
        if commands.iter().all(is_fact) {
            // Told at once: nothing that would be worked out first could hold it up.
            return Ok(known.weighed.after.schedule.clone());
        }
        let (line, settings) = (&*self.line, &self.reckons_with());
        let mut again = weigh(line, &self.history, commands, now, settings, Some(&known.weighed))
            .map_err(|(_, refusal)| refusal)?;
        let age = now - known.at;
        if again.worse_than(line, &known.weighed, age).is_some() {
            again.improve(line, settings, AGAIN, &mut || false);
        }
        match again.worse_than(line, &known.weighed, age) {
            Some(what) => Err(Problem::CostsMore(what)),
            None => Ok(again.after.schedule),
        }
    }

    /// True if nothing was said after a fact but where things are: the line went on, nobody has changed anything.
    pub fn only_went_on_since(&self, fact: Seq) -> bool {
        let newer = self.history.events().iter().rev().take_while(|s| s.seq > fact);
        let mut facts = newer.filter(|s| s.event.calls_for_plan());
        facts.all(|s| s.event.is_physical() || matches!(s.event, Event::Retimed { .. }))
    }
}
