//! What a person should see, decided but not painted: plain data from (line, state, history, plan, now).
//!
//! Words, order, marks and times of day are chosen here; colour, glyphs and places on the screen are not. Knows no
//! terminal. Screens, reports and tests read the same [`Board`], so they cannot disagree.

mod alarms;
mod answers;
mod call;
mod cards;
mod log;
mod queue;
mod rows;
mod words;

pub use alarms::{AlarmRow, BreachRow};
pub use answers::{Answer, Said, claims, lifts, lowers};
pub use call::{Air, Count, MainCall, NextCall, Urgency, Verb};
pub use cards::{StepCard, card, step_card};
pub use log::{LastSaid, LogRow};
pub use queue::QueueRow;
pub use rows::{Bar, Held, HookRow, Readiness, Standing, Station, TankRow};
pub use words::{Spot, clean, visit_words};

use crate::civil::Opening;
use crate::ids::{CarrierId, RecipeId, Seq};
use crate::line::{Line, Visit};
use crate::plan::Call;
use crate::shift::{History, Place, State};
use crate::units::Time;
use crate::verify::Breach;

/// How many past events are kept for the screens.
const LOG_SHOWN: usize = 60;

/// Everything a screen may show at one instant.
#[derive(Debug, Clone, PartialEq)]
pub struct Board {
    /// The line's name.
    pub line_name: String,
    /// The instant it was made for.
    pub now: Time,
    /// The last event it knows of.
    pub seq: Seq,
    /// The time of day at that instant, `hh:mm:ss`.
    pub clock: String,
    /// How many carriers are where.
    pub counts: Counts,
    /// The call, if there is one.
    pub call: Option<MainCall>,
    /// What to say when there is no call.
    pub rest: String,
    /// The calls after the first.
    pub next: Vec<NextCall>,
    /// One row per tank and station, in rail order.
    pub tanks: Vec<TankRow>,
    /// One row per hoist.
    pub hooks: Vec<HookRow>,
    /// Alarms that are not normal, the most pressing first.
    pub alarms: Vec<AlarmRow>,
    /// Carriers that wait to start, the next first.
    pub queue: Vec<QueueRow>,
    /// What happened, the latest first.
    pub log: Vec<LogRow>,
    /// What the plan in force cannot keep, the worst harm first.
    pub breaches: Vec<BreachRow>,
    /// A plan is in force and has moves.
    pub planned: bool,
    /// What undo would take back.
    pub last_said: Option<LastSaid>,
    /// Every carrier and where it is, for dialogs.
    pub carriers: Vec<CarrierFact>,
    opening: Opening,
}

/// How many carriers are where.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Counts {
    /// In a tank or on a hook.
    pub on_line: usize,
    /// Waiting to start.
    pub queued: usize,
    /// Finished.
    pub finished: usize,
    /// Taken off by hand.
    pub off_line: usize,
}

/// A carrier and where it is.
#[derive(Debug, Clone, PartialEq)]
pub struct CarrierFact {
    /// Which carrier.
    pub id: CarrierId,
    /// Its name.
    pub name: String,
    /// What it runs.
    pub recipe: RecipeId,
    /// Where it is.
    pub place: Place,
    /// Where it is, in words.
    pub whereabouts: String,
    /// The last immersion that is over, for a claim that it hangs on a hook.
    pub last_stay: Option<(crate::ids::TankId, Visit)>,
}

impl Board {
    /// Decides what is to be seen at `now`.
    pub fn build(
        line: &Line,
        state: &State,
        history: &History,
        calls: &[Call],
        breaches: &[Breach],
        opening: &Opening,
        now: Time,
    ) -> Self {
        let at = At { line, state, opening, now };
        let main = call::main_of(state, calls);
        Self {
            line_name: clean(&line.name),
            now,
            seq: state.seq,
            clock: opening.clock(now),
            counts: counts(state),
            call: main.map(|ix| call::main_call(at, &calls[ix])),
            rest: call::rest_words(at),
            next: call::next_calls(at, calls, main),
            tanks: rows::tanks(at),
            hooks: rows::hooks(at),
            alarms: alarms::rows(at),
            queue: queue::rows(at),
            log: log::rows(at, history.events(), LOG_SHOWN),
            breaches: alarms::breaches(at, breaches),
            planned: state.plan.as_ref().is_some_and(|p| !p.moves.is_empty()),
            last_said: log::last_said(at, history),
            carriers: carriers(at),
            opening: *opening,
        }
    }

    /// The time of day at an instant, `hh:mm:ss`.
    pub fn clock_at(&self, t: Time) -> String {
        self.opening.clock(t)
    }

    /// How many alarms are so now and not set aside.
    pub fn standing_alarms(&self) -> usize {
        self.alarms.iter().filter(|a| a.active && !a.is_shelved()).count()
    }

    /// How many alarms are over that nobody has seen.
    pub fn gone_alarms(&self) -> usize {
        self.alarms.iter().filter(|a| !a.active && a.unseen).count()
    }

    /// What to say when nothing is wrong.
    pub fn all_well(&self) -> &'static str {
        if self.planned { "no alarm, and the plan keeps every window" } else { "no alarm" }
    }

    /// The carrier's fact row.
    pub fn carrier(&self, id: CarrierId) -> Option<&CarrierFact> {
        self.carriers.iter().find(|c| c.id == id)
    }

    /// The alarm that asks for a person first: one that is so and that nobody has seen, then one that is so, then one
    /// that is over and unseen.
    pub fn first_alarm(&self) -> Option<&AlarmRow> {
        let standing = || self.alarms.iter().filter(|a| !a.is_shelved());
        standing()
            .find(|a| a.active && a.unseen)
            .or_else(|| standing().find(|a| a.active))
            .or(standing().next())
    }
}

/// What every part of the board is built from.
#[derive(Clone, Copy)]
struct At<'a> {
    line: &'a Line,
    state: &'a State,
    opening: &'a Opening,
    now: Time,
}

impl At<'_> {
    fn recipe(&self, carrier: CarrierId) -> RecipeId {
        self.state.book.carriers[carrier].recipe
    }
    fn carrier_name(&self, carrier: CarrierId) -> String {
        clean(&self.state.book.carriers[carrier].name)
    }
    fn clock(&self, t: Time) -> String {
        self.opening.clock(t)
    }
}

fn counts(state: &State) -> Counts {
    let mut counts = Counts::default();
    for (_, carrier) in state.carriers.iter() {
        match carrier.place {
            Place::Queued => counts.queued += 1,
            Place::InTank { .. } | Place::OnHook { .. } => counts.on_line += 1,
            Place::Finished { .. } => counts.finished += 1,
            Place::OffLine => counts.off_line += 1,
        }
    }
    counts
}

fn carriers(at: At<'_>) -> Vec<CarrierFact> {
    at.state
        .carriers
        .iter()
        .map(|(id, c)| CarrierFact {
            id,
            name: at.carrier_name(id),
            recipe: at.recipe(id),
            place: c.place,
            whereabouts: words::whereabouts(at.line, c.place),
            last_stay: c.stays.last().map(|s| (s.tank, s.visit)),
        })
        .collect()
}
