//! One row per carrier: where it is, how long it may stay, when it will be finished.

use super::marks::{self, Mark};
use super::queue;
use super::rows::{self, Bar, Standing, TankRow};
use super::runs::{Run, When, finish};
use super::words::{clean, step_of, visit_words};
use super::{At, call};
use crate::ids::CarrierId;
use crate::line::{Harm, Priority, Visit};
use crate::shift::alarm;
use crate::shift::{AlarmKey, AlarmKind, Place};
use crate::units::{Dur, Time};

/// One carrier.
#[derive(Debug, Clone, PartialEq)]
pub struct LoadRow {
    /// Which carrier.
    pub id: CarrierId,
    /// Its name.
    pub carrier: String,
    /// Its order.
    pub order: String,
    /// What the order is, for people.
    pub label: String,
    /// Which of the carriers of its order it is, counted from 1, and how many there are: they are to look alike.
    pub lot: (usize, usize),
    /// Before everything else.
    pub rush: bool,
    /// How far it has come.
    pub stage: Stage,
    /// The tank or the hoist, by its short name; empty if neither.
    pub at: String,
    /// Its tank's place along the rail, for sorting.
    pub rank: Option<usize>,
    /// Step, counted from 1, and number of steps.
    pub step: (usize, usize),
    /// What is done to it there.
    pub what: String,
    /// Where it is in its window, while in a tank.
    pub bar: Option<Bar>,
    /// How it stands in its window.
    pub standing: Option<Standing>,
    /// The last instant at which it may be lifted (on a hook: lowered) with every window kept.
    pub out_by: Option<Time>,
    /// The same as time of day.
    pub out_by_clock: Option<String>,
    /// How long that is after the planned lift, or after now if that is past; negative if it is too late.
    pub slack: Option<Dur>,
    /// What too long does; `None` where nothing can be too long.
    pub harm: Option<Harm>,
    /// When it is or was finished.
    pub finish: Option<Time>,
    /// The same as time of day.
    pub finish_clock: Option<String>,
    /// When it is promised, time of day.
    pub due_clock: Option<String>,
    /// By how much it is finished after it is due.
    pub late: Option<Dur>,
    /// What was changed about it.
    pub marks: Vec<Mark>,
}

/// How far a carrier has come.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Stage {
    /// In a tank or on a hook.
    OnLine,
    /// Lent to a bench.
    AtBench,
    /// Waiting to start.
    Waiting,
    /// Finished.
    Finished,
    /// Taken off by hand.
    OffLine,
    /// Cancelled before it started.
    Cancelled,
}

impl Stage {
    /// In a word.
    pub fn word(self) -> &'static str {
        match self {
            Self::OnLine => "on line",
            Self::AtBench => "at bench",
            Self::Waiting => "waiting",
            Self::Finished => "finished",
            Self::OffLine => "off line",
            Self::Cancelled => "cancelled",
        }
    }
}

/// What carriers are sorted by.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Sort {
    /// Least slack first.
    #[default]
    Slack,
    /// Along the rail.
    Tank,
    /// By order.
    Order,
    /// The first to be finished first.
    Finish,
}

impl Sort {
    /// All, in the order in which the key goes through them.
    pub const ALL: [Self; 4] = [Self::Slack, Self::Tank, Self::Order, Self::Finish];

    /// In a word.
    pub fn word(self) -> &'static str {
        match self {
            Self::Slack => "slack",
            Self::Tank => "tank",
            Self::Order => "order",
            Self::Finish => "finish",
        }
    }

    /// The one after, round and round.
    #[must_use]
    pub fn next(self) -> Self {
        Self::ALL[(self as usize + 1) % Self::ALL.len()]
    }
}

/// True if every typed word occurs somewhere in one of the texts.
pub fn passes(filter: &str, texts: &[&str]) -> bool {
    let texts: Vec<String> = texts.iter().map(|t| t.to_lowercase()).collect();
    filter.to_lowercase().split_whitespace().all(|w| texts.iter().any(|t| t.contains(w)))
}

impl LoadRow {
    /// True if the row is one of those looked for.
    pub fn passes(&self, filter: &str) -> bool {
        let standing = self.standing.map_or("", Standing::word);
        let harm = self.harm.map_or("", Harm::word);
        let late = if self.late.is_some() { "late" } else { "" };
        let rush = if self.rush { "rush" } else { "" };
        let stage = self.stage.word();
        let texts = [&self.carrier, &self.order, &self.label, &self.at, &self.what].map(String::as_str);
        let marks: Vec<&str> = self.marks.iter().map(|m| m.word()).collect();
        passes(filter, &[&texts[..], &[standing, harm, late, rush, stage], &marks[..]].concat())
    }
}

/// The rows that pass, sorted. Those that are off the line come last, whatever they are sorted by.
pub fn sorted<'r>(rows: &'r [LoadRow], sort: Sort, filter: &str) -> Vec<&'r LoadRow> {
    let mut chosen: Vec<&LoadRow> = rows.iter().filter(|r| r.passes(filter)).collect();
    let slack = |r: &LoadRow| r.slack.unwrap_or(Dur::UNLIMITED);
    let rank = |r: &LoadRow| r.rank.unwrap_or(usize::MAX);
    let end = |r: &LoadRow| r.finish.unwrap_or(Time::FAR);
    match sort {
        Sort::Slack => chosen.sort_by_key(|r| (r.stage, slack(r), end(r), r.id)),
        Sort::Tank => chosen.sort_by_key(|r| (r.stage, rank(r), end(r), r.id)),
        Sort::Order => {
            chosen.sort_by(|a, b| (a.stage, &a.order, a.lot).cmp(&(b.stage, &b.order, b.lot)));
        }
        Sort::Finish => chosen.sort_by_key(|r| (r.stage, end(r), r.id)),
    }
    chosen
}

pub(super) fn rows(at: At<'_>, runs: &[Run], tanks: &[TankRow]) -> Vec<LoadRow> {
    at.state.carriers.ids().map(|id| row(at, id, runs, tanks)).collect()
}

fn row(at: At<'_>, id: CarrierId, runs: &[Run], tanks: &[TankRow]) -> LoadRow {
    let spec = &at.state.book.carriers[id];
    let order = &at.state.book.orders[spec.order];
    let place = at.state.carriers[id].place;
    let lent = at.state.standing.lent.get(&id);
    let visit = match place {
        // What it is lent for is a step of no sheet: it has come as far as before what it resumes with.
        Place::OffLine if let Some(lent) = lent => Visit::Stray { resume: lent.bench.resume },
        Place::Queued | Place::OffLine => Visit::Load,
        Place::InTank { visit, .. } => visit,
        Place::OnHook { leaves, .. } => leaves,
        Place::Finished { .. } => Visit::Unload,
    };
    let tank = match place {
        Place::InTank { tank, .. } | Place::Finished { tank, .. } => Some(tank),
        _ => None,
    };
    let siblings =
        |upto: usize| at.state.book.carriers.iter().take(upto).filter(|(_, c)| c.order == spec.order);
    let held = tanks.iter().flat_map(|t| &t.held).find(|h| h.carrier == id);
    let bench = lent.map(|lent| lent.bench.name.as_str());
    let (out_by, slack, harm) = limit(at, id, runs);
    let end = finish(at, id);
    let in_air = match (place, out_by, slack) {
        (Place::OnHook { .. }, Some(by), _) if by < at.now => Some(Standing::Over),
        (Place::OnHook { .. }, _, Some(slack)) if slack < Dur::ZERO => Some(Standing::AtRisk),
        _ => None,
    };
    let marks = marks::of(at, id);
    let rework = if marks.contains(&Mark::Rework) { "rework: " } else { "" };
    LoadRow {
        id,
        carrier: at.carrier_name(id),
        order: clean(&order.name),
        label: clean(&order.label),
        lot: (siblings(crate::ids::Id::ix(id) + 1).count(), siblings(usize::MAX).count()),
        rush: order.priority == Priority::Rush,
        stage: match place {
            Place::Queued => Stage::Waiting,
            Place::InTank { .. } | Place::OnHook { .. } => Stage::OnLine,
            Place::Finished { .. } => Stage::Finished,
            Place::OffLine if marks.contains(&Mark::Cancelled) => Stage::Cancelled,
            Place::OffLine if bench.is_some() => Stage::AtBench,
            Place::OffLine => Stage::OffLine,
        },
        at: match place {
            Place::OnHook { hoist, .. } => clean(&at.line.hoists[hoist].name),
            Place::OffLine if bench.is_some() => "bench".to_owned(),
            _ => tank.map_or_else(String::new, |t| clean(&at.line.tanks[t].name)),
        },
        rank: tank.and_then(|t| tanks.iter().position(|r| r.tank == t)),
        step: step_of(at.line, spec.recipe, visit),
        what: match place {
            Place::OnHook { from, .. } => format!("in air from {}", clean(&at.line.tanks[from].name)),
            Place::Queued => String::new(),
            Place::OffLine => {
                bench.map_or_else(|| "off the line".to_owned(), |b| format!("bench {}", clean(b)))
            }
            _ => format!("{rework}{}", visit_words(at.line, spec.recipe, visit)),
        },
        bar: held.map(|h| h.bar),
        standing: held.map(|h| h.standing).or(in_air),
        out_by,
        out_by_clock: out_by.map(|t| at.clock(t)),
        slack,
        harm,
        finish: end,
        finish_clock: end.map(|t| {
            format!("{}{}", at.minutes(t), marks::guess_mark(super::runs::rests_on_a_guess(at, id, t)))
        }),
        due_clock: order.due.map(|t| at.minutes(t)),
        // Nothing is promised any more of what was taken off.
        late: queue::late(order.due.filter(|_| end.is_some() || place != Place::OffLine), end, at.now),
        marks,
    }
}

/// What is over is over by so much now, whenever the plan ends it.
fn so_far(at: At<'_>, limit: Time) -> Option<Dur> {
    (limit < at.now).then(|| limit - at.now)
}

/// The last safe lift, the slack and the harm. In a tank: as the whole plan allows, or to the end of the window where
/// the plan says nothing. On a hook: until the lower must begin.
fn limit(at: At<'_>, id: CarrierId, runs: &[Run]) -> (Option<Time>, Option<Dur>, Option<Harm>) {
    let recipe = at.recipe(id);
    match at.state.carriers[id].place {
        Place::InTank { visit, since, .. } => {
            let (_, max) = at.line.window(recipe, visit);
            let closes = (!max.is_unlimited()).then_some(since + max);
            let next = runs.iter().find(|r| r.carrier == id && r.when == When::Planned);
            let out_by = next.and_then(|r| r.lift_by).or(closes);
            let lift = next.map_or(at.now, |r| r.lift.max(at.now));
            let harm = rows::limited(at, id).then(|| at.line.harm_over(recipe, visit));
            (out_by, out_by.map(|t| so_far(at, t).unwrap_or(t - lift)), harm)
        }
        Place::OnHook { leaves, .. } => {
            let (by, slack) = call::limit_in_air(at, id);
            let harm = at.line.wet_step(recipe, leaves).map(|s| s.air).filter(|_| by.is_some());
            (by, by.and_then(|t| so_far(at, t)).or(slack), harm)
        }
        Place::OffLine if let Some(lent) = at.state.standing.lent.get(&id) => {
            let key = AlarmKey { carrier: id, visit: Visit::Step(lent.bench.resume), kind: AlarmKind::Bench };
            let by = alarm::deadline(at.line, at.state, key);
            (by, by.map(|t| t - at.now), by.map(|_| alarm::harm(at.line, at.state, key)))
        }
        _ => (None, None, None),
    }
}
