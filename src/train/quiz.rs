//! "What next?": moments of a shift at which another move would have cost something.
//!
//! 1. A moment is just before a pick that a call stood for, when the crane is free. The choices are the call and the next
//!    moves of a few other carriers that could be lifted soon, each priced by planning on from it (`plan::choices`).
//! 2. It is worth asking about if one of them costs a window or a carrier. What is only late may be late because a search
//!    was short: no lesson.
//! 3. Upset if a crane is stopped, an alarm stands or a load is where it should not be; tight if the call can wait less than
//!    [`TIGHT`]; else plain. Questions go from plain to upset, inside that by what the worst choice costs.

use std::cmp::Ordering;

use crate::line::{Line, Visit};
use crate::plan::{Budget, Call, Choice, Price, Settings, calls, choices, follow, remaining};
use crate::replay::{Cost, Onward};
use crate::schedule::Schedule;
use crate::shift::{Event, History, Place, State, apply, effective};
use crate::units::{Dur, Time};

/// A call that can wait less is tight.
const TIGHT: Dur = Dur::from_secs(90);

/// How long before the call a question is asked: it can still be read then.
const BEFORE: Dur = Dur::from_secs(5);

/// A carrier that would have to be waited for longer than this is nothing to choose.
const SOON: Dur = Dur::from_mins(5);

/// Trial insertions for each choice, when moments are looked for and when one is asked about.
pub(super) const LOOKING: u64 = 200;
const ASKING: u64 = 5_000;

/// How hard a question is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub enum Grade {
    /// Nothing presses.
    #[default]
    Plain,
    /// A window closes soon.
    Tight,
    /// Something is wrong.
    Upset,
}

impl Grade {
    /// The word for it.
    pub fn word(self) -> &'static str {
        match self {
            Self::Plain => "plain",
            Self::Tight => "tight",
            Self::Upset => "upset",
        }
    }

    /// What such a moment is like.
    pub fn about(self) -> &'static str {
        match self {
            Self::Plain => "a plain line",
            Self::Tight => "a tight window",
            Self::Upset => "an upset",
        }
    }

    /// The harder one; the hardest stays.
    #[must_use]
    pub fn harder(self) -> Self {
        match self {
            Self::Plain => Self::Tight,
            Self::Tight | Self::Upset => Self::Upset,
        }
    }
}

/// A moment to ask about.
#[derive(Debug, Clone)]
pub struct Question {
    /// When.
    pub at: Time,
    /// What was so.
    pub state: State,
    /// How hard it is.
    pub grade: Grade,
    /// The call that stood, with its reason.
    pub call: Call,
    /// What could be done, the call first.
    pub choices: Vec<Choice>,
    /// All that each choice costs against the call, planned on from both; empty until it was looked at closely.
    pub costs: Vec<Cost>,
}

/// Up to `most` questions about a shift, from plain to upset.
pub fn questions(line: &Line, history: &History, settings: &Settings, most: usize) -> Vec<Question> {
    let mut found: Vec<(Question, (u8, i64))> = Vec::new();
    let mut state = State::before(line);
    let mut last = Time::ZERO;
    for stamped in effective(history.events()) {
        if matches!(stamped.event, Event::Lifted { .. }) {
            let asked = Pending::of(line, &state, (last, stamped.at), settings)
                .and_then(|p| p.priced(line, &state, settings, LOOKING));
            found.extend(asked.filter(Question::is_worth_asking).map(|q| (q.clone(), q.dearest())));
        }
        last = last.max(stamped.entered);
        apply(&mut state, line, &stamped);
    }
    let share = most.div_ceil(3);
    let mut chosen: Vec<(Question, (u8, i64))> = Vec::new();
    let mut rest = Vec::new();
    for grade in [Grade::Plain, Grade::Tight, Grade::Upset] {
        let mut own: Vec<_> = found.iter().filter(|(q, _)| q.grade == grade).cloned().collect();
        own.sort_by_key(|(q, cost)| (std::cmp::Reverse(*cost), q.at));
        rest.extend(own.split_off(share.min(own.len())));
        chosen.extend(own);
    }
    rest.sort_by_key(|(q, cost)| (std::cmp::Reverse(*cost), q.at));
    chosen.extend(rest.into_iter().take(most.saturating_sub(chosen.len())));
    chosen.truncate(most);
    chosen.sort_by_key(|(q, cost)| (q.grade, *cost, q.at));
    chosen.into_iter().map(|(q, _)| q.closer(line, settings)).collect()
}

/// A moment at which something is called, not yet priced.
pub(super) struct Pending {
    at: Time,
    /// How hard it is.
    pub grade: Grade,
    call: Call,
    planned: Schedule,
}

impl Pending {
    /// The moment before a pick: not before `from`, when the last thing was said, and not after `latest`, the pick itself.
    pub fn of(line: &Line, state: &State, (from, latest): (Time, Time), settings: &Settings) -> Option<Self> {
        let left = remaining(state, state.plan.as_ref()?);
        let first = left.moves.first()?;
        let hangs = |p: Place| matches!(p, Place::OnHook { .. } | Place::InTank { hooked: Some(_), .. });
        if state.carriers.iter().any(|(_, c)| hangs(c.place)) {
            return None;
        }
        let at = from.max((first.start - BEFORE).min(latest));
        let planned = follow(line, state, &left, at, settings)?;
        let call = calls(line, state, &planned, at, 1).into_iter().next()?;
        let grade = if is_upset(line, state, at) {
            Grade::Upset
        } else if call.slack.is_some_and(|s| s < TIGHT) {
            Grade::Tight
        } else {
            Grade::Plain
        };
        Some(Self { at, grade, call, planned })
    }

    /// The question it is; `None` if there is nothing to choose.
    pub fn priced(&self, line: &Line, state: &State, settings: &Settings, tries: u64) -> Option<Question> {
        let Self { at, grade, call, planned } = self;
        let mut budget = Budget { tries, stop: &mut || false };
        let mut choices = choices(line, state, planned, *at, settings, &mut budget)?;
        let mut n = 0;
        choices.retain(|c| {
            n += 1;
            n == 1 || c.first.start <= *at + SOON
        });
        let (call, state) = (call.clone(), state.clone());
        (choices.len() > 1).then_some(Question {
            at: *at,
            state,
            grade: *grade,
            call,
            choices,
            costs: Vec::new(),
        })
    }
}

fn is_upset(line: &Line, state: &State, at: Time) -> bool {
    let astray = |p: Place| matches!(p, Place::InTank { visit: Visit::Stray { .. }, .. });
    line.hoists.ids().any(|h| state.standing.stop(h, at).is_some())
        || state.alarms.values().any(|a| a.active)
        || state.carriers.iter().any(|(_, c)| astray(c.place))
}

/// The dearer the greater: what kind of cost, and how much of it.
fn cost(price: &Price) -> (u8, i64) {
    match *price {
        Price::Breaks { by, harm, .. } => (6 - harm as u8, by.0),
        Price::Leaves(carriers) => (2, carriers as i64),
        Price::Late(by) => (1, by.0),
        Price::Later(by) => (0, by.0),
        Price::Nothing => (0, 0),
    }
}

impl Question {
    /// What the worst choice costs.
    fn dearest(&self) -> (u8, i64) {
        self.choices.iter().map(|c| cost(&c.price)).max().unwrap_or_default()
    }

    /// True if a wrong choice costs a window or a carrier.
    pub fn is_worth_asking(&self) -> bool {
        let costs = |c: &Choice| matches!(c.price, Price::Breaks { .. } | Price::Leaves(_));
        self.choices.iter().enumerate().any(|(k, c)| costs(c) && !self.is_right(k))
    }

    /// The same moment with prices that were looked for longer.
    #[must_use]
    pub fn closer(self, line: &Line, settings: &Settings) -> Self {
        let again = Pending::of(line, &self.state, (self.at, self.at), settings);
        let mut closer = again.and_then(|p| p.priced(line, &self.state, settings, ASKING)).unwrap_or(self);
        let along = |c: &Choice| Onward::along(line, &closer.state, c.schedule.clone());
        let called = along(&closer.choices[0]);
        closer.costs = closer.choices.iter().map(|c| Cost::of(&called, &along(c))).collect();
        closer
    }

    /// How a choice weighs against the call, as far as it was looked at.
    pub fn weighs(&self, choice: usize) -> Option<Ordering> {
        self.costs.get(choice).map(Cost::weighs)
    }

    /// True if a choice costs as little as any: the call, or one that nothing was found against.
    pub fn is_right(&self, choice: usize) -> bool {
        choice == 0
            || self.weighs(choice).map_or_else(
                || self.choices.get(choice).is_some_and(|c| cost(&c.price) < (0, 1000)),
                Ordering::is_le,
            )
    }

    /// True if a choice would have broken a window.
    pub fn is_harmful(&self, choice: usize) -> bool {
        let breaks = self.choices.get(choice).is_some_and(|c| matches!(c.price, Price::Breaks { .. }));
        !self.is_right(choice) && self.costs.get(choice).map_or(breaks, |c| !c.breaks.is_empty())
    }

    /// The order in which the choices are shown: the call is not always the first.
    pub fn shown(&self) -> Vec<usize> {
        let count = self.choices.len();
        let turn = (self.at.0.unsigned_abs() / 1000) as usize % count.max(1);
        (0..count).map(|k| (k + turn) % count).collect()
    }
}
