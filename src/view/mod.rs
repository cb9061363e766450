//! What a person should see, decided but not painted: plain data from (line, state, history, plan, now).
//!
//! Words, order, marks and times of day are chosen here; colour, glyphs and places on the screen are not. Knows no
//! terminal. Screens, reports and tests read the same [`Board`], so they cannot disagree.

mod alarms;
mod answers;
mod bench;
mod call;
mod cards;
mod changes;
mod choices;
mod doubt;
mod entries;
mod film;
mod ledger;
mod lessons;
mod loads;
mod log;
mod marks;
mod past;
mod preview;
mod queue;
mod rows;
mod runs;
mod stays;
mod using;
mod ways;
mod words;

pub use alarms::{AlarmOf, AlarmRow, BreachRow, newly_broken};
pub use answers::{Answer, Said, claims, lifts, lowers};
pub use bench::BenchRow;
pub use call::{Air, Count, MainCall, NextCall, Urgency, Verb};
pub use cards::{StepCard, card, step_card};
pub use changes::{ChangeRow, cause_word, proposal_words};
pub use choices::{ChoiceRow, choice_words, price_words};
pub use doubt::Doubt;
pub use entries::inspection;
pub use film::{film_um, metal_of, metal_um, step_um};
pub use ledger::{BathRow, CheckRow, Counted, PartsRow, fault_head, passed, passed_since};
pub use lessons::{Lesson, lesson_of, lessons};
pub use loads::{LoadRow, Sort, Stage, passes, sorted};
pub use log::{LastSaid, LogRow};
pub use marks::{Mark, StopRow, guess_mark, state_word};
pub use preview::{FinishRow, PartRow, Preview, Turn};
pub use queue::QueueRow;
pub use rows::{Bar, Held, HookRow, Readiness, Standing, Station, TankRow};
pub use runs::{Run, When};
pub use stays::{Shut, ShutWhy, StayBar};
pub use using::{Going, HoistUse, PowerUse, Share, Stretch};
pub use ways::{WayRow, trouble_words, way_rows};
pub use words::{Spot, clean, over_words, to_the_second, visit_words};

use crate::civil::Opening;
use crate::ids::{CarrierId, RecipeId, Seq, TankId};
use crate::line::{Line, Visit};
use crate::plan::Call;
use crate::shift::{Event, History, Place, State, places_to_park};
use crate::units::{Dur, Time};
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
    /// The same in big letters, in two pieces.
    pub rest_head: [String; 2],
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
    /// Changes that stand, the latest first.
    pub changes: Vec<ChangeRow>,
    /// What undo would take back.
    pub last_said: Option<LastSaid>,
    /// Every carrier and where it is, for dialogs.
    pub carriers: Vec<CarrierFact>,
    /// One row per carrier, in the order of the orders; see [`sorted`].
    pub loads: Vec<LoadRow>,
    /// How much each hoist works.
    pub uses: Vec<HoistUse>,
    /// The parts of every order.
    pub parts: Vec<PartsRow>,
    /// Carriers at a bench beside the line.
    pub benches: Vec<BenchRow>,
    /// Every bath with what is known about it.
    pub baths: Vec<BathRow>,
    /// Loads whose dwell may be worth nothing, in words.
    pub doubts: Vec<String>,
    /// Power, where a sheet asks for current.
    pub power: Option<PowerUse>,
    /// What was and is planned, over time.
    pub times: Times,
    opening: Opening,
}

/// The shift over time: what was, and what the plan says.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Times {
    /// Loaded moves in order of their start.
    pub runs: Vec<Run>,
    /// The ways of the hoists.
    pub ways: Vec<Stretch>,
    /// Immersions in baths.
    pub stays: Vec<StayBar>,
    /// When tanks may not be used.
    pub shut: Vec<Shut>,
    /// By how much the line is behind the plan that is shown: times to come are too early by about that.
    pub behind: Option<Dur>,
}

/// Less than this behind the plan is a person's pace.
const PACE: Dur = Dur::from_secs(15);

impl Times {
    fn of(at: At<'_>, history: &History, calls: &[Call]) -> Self {
        let legs = past::legs(at.line, at.state, history.events());
        let runs = runs::runs(at, &legs, calls);
        let next = runs.iter().find(|r| r.when == When::Planned);
        let behind = next.map(|r| at.now - r.lift).filter(|d| *d > PACE);
        Self {
            behind,
            ways: using::ways(at, &runs),
            stays: stays::stays(at, &runs),
            shut: stays::shut(at),
            runs,
        }
    }
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
    /// Cancelled before they started.
    pub cancelled: usize,
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
    /// The recipe of its process sheet, whose windows limit those that it runs.
    pub sheet: RecipeId,
    /// Where it is.
    pub place: Place,
    /// Where it is, in words.
    pub whereabouts: String,
    /// What was changed about it.
    pub marks: Vec<Mark>,
    /// Where it may be told to be parked; `None`: in any standby its sheet allows.
    pub parks: Vec<Option<TankId>>,
    /// The last immersion that is over, for a claim that it hangs on a hook.
    pub last_stay: Option<(TankId, Visit)>,
    /// What was counted and seen of it.
    pub counted: Counted,
}

impl Board {
    /// Decides what is to be seen at `now`. `calls` are all moves of the plan that are not over: the pictures over time
    /// show what they are given.
    pub fn build(
        line: &Line,
        state: &State,
        history: &History,
        calls: &[Call],
        breaches: &[Breach],
        opening: &Opening,
        now: Time,
    ) -> Self {
        let line = state.line(line);
        let at = At { line, state, opening, now };
        let main = call::main_of(at, calls);
        let tanks = rows::tanks(at);
        let times = Times::of(at, history, calls);
        Self {
            line_name: clean(&line.name),
            now,
            seq: state.seq,
            clock: opening.clock(now),
            counts: counts(state),
            call: main.map(|ix| call::main_call(at, &calls[ix])),
            rest: call::rest_words(at, calls),
            rest_head: call::rest_head(at),
            next: call::next_calls(at, calls, main),
            hooks: rows::hooks(at, calls),
            alarms: alarms::rows(at, calls),
            queue: queue::rows(at),
            log: log::rows(at, history.events(), LOG_SHOWN),
            breaches: alarms::breaches(at, breaches),
            planned: state.plan.as_ref().is_some_and(|p| !p.moves.is_empty()),
            changes: changes::standing(at, history.events()),
            last_said: log::last_said(at, history),
            carriers: carriers(at),
            loads: loads::rows(at, &times.runs, &tanks),
            uses: using::hoists(at, &times.ways),
            parts: ledger::parts(at),
            benches: bench::rows(at),
            baths: ledger::baths(at),
            doubts: rows::doubts(at, &tanks),
            power: using::power(at, &times.stays),
            tanks,
            times,
            opening: *opening,
        }
    }

    /// Takes out of alarms and log what says which load is to be moved where.
    pub fn hide_advice(&mut self) {
        self.alarms.retain(|a| !a.only_advises());
        self.alarms.iter_mut().for_each(AlarmRow::without_advice);
        self.log.retain(|row| !row.of_alarm);
    }

    /// The same with something else in the place of the calls.
    #[must_use]
    pub fn without_call(self, rest_head: [String; 2], rest: String) -> Self {
        Self { call: None, next: Vec::new(), rest_head, rest, ..self }
    }

    /// The time of day at an instant, `hh:mm:ss`.
    pub fn clock_at(&self, t: Time) -> String {
        self.opening.clock(t)
    }

    /// The time of day at an instant, `hh:mm`.
    pub fn clock_minutes_at(&self, t: Time) -> String {
        self.opening.clock_minutes(t)
    }

    /// Where the axis lies on the wall clock.
    pub fn opening(&self) -> &Opening {
        &self.opening
    }

    /// What was changed about hoists, in words; empty if all run as their file says.
    pub fn changed_hoists(&self) -> Vec<String> {
        self.hooks.iter().filter_map(HookRow::changed).collect()
    }

    /// The first instant at or after the opening at which an hour of the day begins.
    pub fn first_hour(&self) -> Time {
        self.opening.next_hour()
    }

    /// How many alarms are so now and not set aside.
    pub fn standing_alarms(&self) -> usize {
        self.alarms.iter().filter(|a| a.is_alarm() && a.active && !a.is_shelved()).count()
    }

    /// What is wrong, row by row as it is shown: what is so, what the plan cannot keep, then what is past or set aside.
    pub fn wrongs(&self) -> impl Iterator<Item = Wrong<'_>> {
        let is_so = |a: &AlarmRow| a.active && !a.is_shelved();
        let so = self.alarms.iter().take_while(|a| is_so(a)).count();
        let (so, past) = self.alarms.split_at(so);
        let breaches = self.breaches.iter().map(Wrong::Breach);
        so.iter().map(Wrong::Alarm).chain(breaches).chain(past.iter().map(Wrong::Alarm))
    }

    /// The row of [`Self::wrongs`] that an alarm is on.
    pub fn row_of(&self, alarm: &AlarmRow) -> Option<usize> {
        self.wrongs().position(|w| matches!(w, Wrong::Alarm(a) if a.of == alarm.of))
    }

    /// Parts missing and not found, over all orders.
    pub fn missing(&self) -> i64 {
        self.parts.iter().map(|p| p.counts.missing.max(0)).sum()
    }

    /// How many alarms are over that nobody has seen.
    pub fn gone_alarms(&self) -> usize {
        self.alarms.iter().filter(|a| !a.active && a.unseen).count()
    }

    /// How many alarms are set aside.
    pub fn alarms_aside(&self) -> usize {
        self.alarms.iter().filter(|a| a.is_shelved()).count()
    }

    /// What to say when nothing is wrong.
    pub fn all_well(&self) -> String {
        match self.alarms_aside() {
            0 if self.planned => "no alarm, and the plan keeps every window".to_owned(),
            0 => "no alarm".to_owned(),
            n => format!("no other alarm; {n} set aside: 2 shows it"),
        }
    }

    /// The carrier's fact row.
    pub fn carrier(&self, id: CarrierId) -> Option<&CarrierFact> {
        self.carriers.iter().find(|c| c.id == id)
    }

    /// The alarm that asks for a person first: one that is so and that nobody has seen, then one that is so, then one
    /// that is over and unseen.
    pub fn first_alarm(&self) -> Option<&AlarmRow> {
        let standing = || self.alarms.iter().filter(|a| a.is_alarm() && !a.is_shelved());
        standing()
            .find(|a| a.active && a.unseen)
            .or_else(|| standing().find(|a| a.active))
            .or(standing().next())
    }
}

/// Something that is wrong or will be.
#[derive(Debug, Clone, Copy)]
pub enum Wrong<'b> {
    /// An alarm, or a load at risk under one.
    Alarm(&'b AlarmRow),
    /// Something the plan in force cannot keep.
    Breach(&'b BreachRow),
}

impl<'b> Wrong<'b> {
    /// Its sentence.
    pub fn text(self) -> &'b str {
        match self {
            Self::Alarm(alarm) => &alarm.text,
            Self::Breach(breach) => &breach.text,
        }
    }
}

/// All entries of the log about some events, oldest first.
pub fn log_of(
    line: &Line,
    history: &History,
    opening: &Opening,
    now: Time,
    wanted: impl Fn(&Event) -> bool,
) -> Vec<LogRow> {
    let state = history.state();
    let at = At { line: state.line(line), state, opening, now };
    let mut rows = log::rows(at, history.events(), usize::MAX);
    let is_wanted = |row: &LogRow| {
        let found = history.events().binary_search_by_key(&row.seq, |s| s.seq);
        found.is_ok_and(|i| wanted(&history.events()[i].event))
    };
    rows.retain(is_wanted);
    rows.reverse();
    rows
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
    /// `hh:mm`, with the day of the week where it is far away on another day.
    fn minutes(&self, t: Time) -> String {
        self.opening.clock_minutes_near(t, self.now)
    }
}

fn counts(state: &State) -> Counts {
    let mut counts = Counts::default();
    for (id, carrier) in state.carriers.iter() {
        match carrier.place {
            Place::Queued => counts.queued += 1,
            Place::InTank { .. } | Place::OnHook { .. } => counts.on_line += 1,
            Place::Finished { .. } => counts.finished += 1,
            Place::OffLine if state.standing.cancelled.contains(&id) => counts.cancelled += 1,
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
            // A long queue would be refused one by one for nothing.
            parks: if at.state.on_line(id) {
                places_to_park(at.line, at.state, id, at.now)
            } else {
                Vec::new()
            },
            id,
            name: at.carrier_name(id),
            recipe: at.recipe(id),
            sheet: at.state.sheet(at.recipe(id)),
            place: c.place,
            whereabouts: match at.state.standing.lent.get(&id) {
                Some(lent) => format!("at bench {}", clean(&lent.bench.name)),
                None => words::whereabouts(at.line, c.place),
            },
            marks: marks::of(at, id),
            last_stay: c.stays.last().map(|s| (s.tank, s.visit)),
            counted: ledger::counted(at, id),
        })
        .collect()
}
