//! What was changed about a carrier or a hoist, as marks that stand beside it wherever it is shown.

use super::At;
use super::changes::cause_word;
use super::rows::Standing;
use super::words::clean;
use crate::ids::{CarrierId, HoistId};
use crate::plan::Call;
use crate::shift::{Place, racks};
use crate::units::Time;

/// What was changed about a carrier.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Mark {
    /// It stays where it is.
    Held,
    /// It goes into standby water at its next move.
    ToPark,
    /// It is in standby water and stays.
    Parked,
    /// It is stripped and starts again.
    Rework,
    /// It is not started.
    Cancelled,
    /// Its rack owes a strip, or another carrier has it.
    NoRack,
    /// It is at a bench beside the line.
    AtBench,
}

impl Mark {
    /// In a word.
    pub fn word(self) -> &'static str {
        match self {
            Self::Held => "HELD",
            Self::ToPark => "TO PARK",
            Self::Parked => "PARKED",
            Self::Rework => "rework",
            Self::Cancelled => "cancelled",
            Self::NoRack => "NO RACK",
            Self::AtBench => "AT BENCH",
        }
    }
}

/// How a carrier stands, with the mark that keeps it there: `ready`, `HELD`, `HELD RISK`.
pub fn state_word(marks: &[Mark], standing: Standing) -> String {
    let kept = marks.iter().find(|m| **m != Mark::Rework);
    match (kept, standing) {
        (None, standing) => standing.word().to_owned(),
        (Some(mark), Standing::Early | Standing::Inside) => mark.word().to_owned(),
        (Some(mark), standing) => format!("{} {}", mark.word(), standing.word()),
    }
}

pub(super) fn of(at: At<'_>, carrier: CarrierId) -> Vec<Mark> {
    let standing = &at.state.standing;
    let mut marks = Vec::new();
    if standing.held.contains_key(&carrier) {
        marks.push(Mark::Held);
    }
    if at.state.is_parked(at.line, carrier) {
        marks.push(Mark::Parked);
    } else if standing.parked.contains_key(&carrier) {
        marks.push(Mark::ToPark);
    }
    if standing.reworks(carrier) > 0 {
        marks.push(Mark::Rework);
    }
    if standing.cancelled.contains(&carrier) && at.state.carriers[carrier].place == Place::OffLine {
        marks.push(Mark::Cancelled);
    }
    if racks::waits(at.line, at.state, carrier).is_some() {
        marks.push(Mark::NoRack);
    }
    if standing.lent.contains_key(&carrier) {
        marks.push(Mark::AtBench);
    }
    marks
}

/// A hoist that does nothing.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StopRow {
    /// Until when, time of day; `None` if nobody knows.
    pub until: Option<String>,
    /// Why, in a word.
    pub cause: &'static str,
    /// When the plan goes on with it though nobody knows whether it will run by then.
    pub resumes: Option<String>,
}

impl StopRow {
    /// In words that follow the hoist's name.
    pub fn words(&self) -> String {
        match &self.until {
            Some(t) => format!("stopped until {t} ({})", self.cause),
            None => format!("stopped ({}), nobody knows until when", self.cause),
        }
    }

    /// The same, and what the plan makes of it.
    pub fn words_with_plan(&self) -> String {
        let plan = self.resumes.as_ref().map(|t| format!("; taken to run by {t}"));
        self.words() + &plan.unwrap_or_default()
    }
}

/// The stop of a hoist, if it is stopped now; `calls` are those of the plan that is shown.
pub(super) fn stop(at: At<'_>, hoist: HoistId, calls: &[Call]) -> Option<StopRow> {
    let stop = at.state.standing.stop(hoist, at.now)?;
    let starts = calls.iter().filter(|c| c.mv.hoist == hoist).map(|c| c.set_out);
    Some(StopRow {
        until: stop.until.map(|t| at.minutes(t)),
        cause: cause_word(stop.cause),
        resumes: goes_on(at, starts).filter(|_| stop.until.is_none()),
    })
}

/// The tanks that nobody knows the return of, by name, and the verb that goes with them; `None` if there are none.
pub(super) fn lost_tanks(at: At<'_>) -> Option<(String, &'static str)> {
    let lost = at.line.tanks.iter().filter(|(id, _)| at.state.tanks[*id].lost.is_some());
    let names: Vec<String> = lost.map(|(_, tank)| clean(&tank.name)).collect();
    let are = if names.len() == 1 { "is" } else { "are" };
    (!names.is_empty()).then(|| (names.join(", "), are))
}

/// What stands behind a time that rests on a guess.
pub fn guess_mark(is_one: bool) -> &'static str {
    if is_one { "?" } else { "" }
}

/// When a plan goes on with something that nobody knows the end of: its first use, unless that is over.
pub(super) fn goes_on(at: At<'_>, uses: impl Iterator<Item = Time>) -> Option<String> {
    uses.min().filter(|t| *t > at.now).map(|t| at.minutes(t))
}
