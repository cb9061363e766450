//! Why: the call at some point, what was done instead, and what that cost, planned on from both.

use super::answer::{called, follows};
use super::deeds::{Ignored, deeds, unanswered};
use super::onward::{Cost, onward};
use super::recording::{Point, Recording};
use crate::ids::{CarrierId, HoistId, Seq};
use crate::line::Harm;
use crate::plan::{Budget, Settings, remaining};
use crate::schedule::{Move, Schedule};
use crate::shift::alarm::{self, Short};
use crate::shift::{AlarmKey, AlarmKind, Event, History, Place, State, counting};
use crate::units::{Dur, Time};
use crate::verify::{Breach, happened_by};
use crate::view::{Board, MainCall};

/// What was called at some point, and what came of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Why {
    /// The instant the call is told for: right before what was done next.
    pub at: Time,
    /// The call that was on the screen then; `None` if there was none.
    pub call: Option<MainCall>,
    /// The crane was said to stand then, and there was no call for it.
    pub stood: bool,
    /// What was done next; `None` if nothing was any more.
    pub done: Option<Done>,
    /// Calls that stood before it and that nobody answered, with what they asked for in words.
    pub unanswered: Vec<(Ignored, String)>,
    /// What it cost against doing as called; `None` if there was no call or nothing was done.
    pub cost: Option<Cost>,
    /// What really broke later for the carriers concerned.
    pub afterwards: Vec<Breach>,
}

/// What was done.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Done {
    /// The event.
    pub seq: Seq,
    /// When.
    pub at: Time,
    /// In words.
    pub text: String,
    /// It was what the call said.
    pub as_called: bool,
    /// How long after the planned instant; negative if before it. `None` if it was not what the call said.
    pub after: Option<Dur>,
    /// The dwell it cut short, if that was too short; with its harm.
    pub too_soon: Option<(Short, Harm)>,
}

/// Tells of the first lift or lower at or after a point that was not taken back, and of the call it answered.
///
/// A call that was followed is held against itself at the instant at which it became due: the same plan, later. Against
/// anything else that was done stands doing as called at the planned instant; both are planned on with `tries` trial insertions.
pub fn why(
    recording: &Recording,
    point: Point,
    settings: &Settings,
    tries: u64,
    stop: &mut dyn FnMut() -> bool,
) -> Why {
    let Some((ix, at)) = next_act(recording, point) else {
        let moment = recording.moment(point);
        let call = moment.board(recording, point.at).call;
        let at = point.at;
        let (unanswered, afterwards) = (Vec::new(), Vec::new());
        return Why { at, call, stood: false, done: None, unanswered, cost: None, afterwards };
    };
    let event = &recording.events()[ix].event;
    let moment = recording.moment(Point { ix, ..point });
    let call = called(moment.state(), event).flatten();
    let due = call.and_then(|m| match event {
        Event::Lowered { .. } => first_down(recording, ix, &m),
        _ => due_of(recording, ix).and_then(|due| first_due(recording, ix, &m, due)),
    });
    let unanswered: Vec<(Ignored, String)> = hoist_of(event)
        .map(|hoist| unanswered(recording.line(), &moment.history, hoist))
        .into_iter()
        .flatten()
        .map(|i| (i, pick_words(recording, moment.state(), &i.called)))
        .collect();
    let planned = match &due {
        Some((_, due)) => Some(*due),
        None => call.and_then(|m| instant(recording, &moment.history, &m, event)),
    };
    let as_called = call.is_some_and(|m| follows(&m, event));
    let done = Done {
        seq: recording.events()[ix].seq,
        at,
        text: recording.words(ix).to_owned(),
        as_called,
        after: planned.filter(|_| as_called).map(|p| at - p),
        too_soon: too_soon(recording, ix),
    };
    // What is said late was done before an earlier screen than the one it was said at.
    let said_late = recording.events()[ix].entered > at;
    let then = said_late.then(|| recording.moment(recording.at(at)));
    let shown = shown_call(recording, then.as_ref().unwrap_or(&moment), event, at);
    let mut plan_on = |history: &History, keeps: Option<&Schedule>, now: Time, tries: u64| {
        let mut budget = Budget { tries, stop: &mut *stop };
        onward(recording.line(), history.state(), keeps, now, settings, &mut budget)
    };
    let cost = call.zip(moment.state().plan.as_ref()).map(|(m, plan)| {
        let plan = remaining(moment.state(), plan);
        let after = recording.history(if as_called { ix + 1 } else { plan_after(recording, ix) });
        let then = at.max(recording.after(ix + 1).at);
        if as_called {
            // Only the time differs: a search on either side would tell more of the search. What was left before counts.
            let left = unanswered.first().and_then(|(i, _)| first_due(recording, ix, &i.called, i.due));
            let first = left.as_ref().or(due.as_ref()).map_or(&moment.history, |(history, _)| history);
            let plan = first.state().plan.as_ref().map_or(plan, |plan| remaining(first.state(), plan));
            let as_said = plan_on(first, Some(&plan), plan.made_at, 0);
            return Cost::of(&as_said, &plan_on(&after, Some(&plan), then, 0));
        }
        let now = plan.made_at.max(begin(recording, &moment.history, &m, event, at));
        let as_said = plan_on(&moment.history, Some(&plan), now, tries);
        Cost::of(&as_said, &plan_on(&after, None, then, tries))
    });
    // What a load that was put down had overrun while it hung is of that placing, too.
    let since = match event {
        Event::Lowered { carrier, .. }
            if let Place::OnHook { lifted, .. } = moment.state().carriers[*carrier].place =>
        {
            lifted
        }
        _ => at,
    };
    let since = unanswered.iter().map(|(i, _)| i.due).fold(since, Time::min);
    let mut concerned: Vec<&str> =
        cost.iter().flat_map(|c| &c.breaks).map(|e| e.breach.carrier.as_str()).collect();
    let name = |c: CarrierId| moment.state().book.carriers.get(c).map(|s| s.name.as_str());
    concerned.extend(carrier_of(event).into_iter().chain(call.map(|m| m.carrier)).filter_map(name));
    let afterwards = afterwards(recording, &concerned, since);
    let stood = hoist_of(event).is_some_and(|h| moment.state().standing.stop(h, at).is_some());
    Why { at, call: shown, stood, done: Some(done), unanswered, cost, afterwards }
}

fn hoist_of(event: &Event) -> Option<HoistId> {
    match event {
        Event::Lifted { hoist, .. } | Event::Lowered { hoist, .. } => Some(*hoist),
        _ => None,
    }
}

fn carrier_of(event: &Event) -> Option<CarrierId> {
    match event {
        Event::Lifted { carrier, .. } | Event::Lowered { carrier, .. } => Some(*carrier),
        _ => None,
    }
}

fn pick_words(recording: &Recording, state: &State, called: &Move) -> String {
    let carrier = state.book.carriers.get(called.carrier).map_or("?", |s| s.name.as_str());
    format!("pick {carrier} from {}", recording.line().tanks[called.from].name)
}

/// The dwell that a lift cut short.
fn too_soon(recording: &Recording, ix: usize) -> Option<(Short, Harm)> {
    let Event::Lifted { carrier, .. } = recording.events()[ix].event else { return None };
    let (line, after) = (recording.line(), recording.history(ix + 1));
    let short = alarm::left_too_soon(line, after.state(), carrier)?;
    let key = AlarmKey { carrier, visit: short.visit, kind: AlarmKind::Short };
    Some((short, alarm::harm(line, after.state(), key)))
}

/// The first lift or lower at or after a point that counts, by its place, and when it was done.
fn next_act(recording: &Recording, point: Point) -> Option<(usize, Time)> {
    let counts = counting(recording.events());
    let acts = |e: &Event| matches!(e, Event::Lifted { .. } | Event::Lowered { .. });
    let first = recording.events().get(point.ix)?.seq;
    let (stamped, at) = counts.into_iter().find(|(s, _)| s.seq >= first && acts(&s.event))?;
    let ix = recording.events().binary_search_by_key(&stamped.seq, |s| s.seq).ok()?;
    Some((ix, at))
}

/// The events up to the plan that was made for what was done, if one was before anything else was.
fn plan_after(recording: &Recording, ix: usize) -> usize {
    let rest = recording.events().iter().enumerate().skip(ix + 1);
    let mut last = ix + 1;
    for (n, s) in rest {
        match s.event {
            Event::PlanAdopted { .. } if s.entered <= recording.after(ix + 1).at => last = n + 1,
            _ if s.event.calls_for_plan() => break,
            _ => {}
        }
    }
    last
}

/// When the plan has a lift or lower of the event's kind.
fn instant(recording: &Recording, history: &History, m: &Move, event: &Event) -> Option<Time> {
    let state = history.state();
    let phases = m.phases(state.line(recording.line()), &state.book)?;
    Some(m.start + if matches!(event, Event::Lifted { .. }) { phases.to_lift() } else { phases.to_down() })
}

/// So many plans back the one is looked for by which a call became due.
const PLANS_BACK: usize = 100;

/// When the pick that was done as called was due.
fn due_of(recording: &Recording, ix: usize) -> Option<Time> {
    let seq = recording.events()[ix].seq;
    let deed = deeds(recording.line(), &recording.history(ix + 1)).into_iter().find(|d| d.seq == seq)?;
    deed.due.filter(|_| deed.followed)
}

/// When a pick that was called became due, and the shift as it was when the plan was made that said so. Plans that were
/// made since, while nobody picked it, put it off; measured by them nothing is ever late.
fn first_due(recording: &Recording, ix: usize, called: &Move, due: Time) -> Option<(History, Time)> {
    let lifts = |history: &History| {
        let state = history.state();
        let left = remaining(state, state.plan.as_ref()?);
        let same = |m: &&Move| {
            (m.carrier, m.hoist, m.from, m.leaves)
                == (called.carrier, called.hoist, called.from, called.leaves)
        };
        let mv = left.moves.iter().find(same)?;
        Some(mv.start + mv.phases(state.line(recording.line()), &state.book)?.to_lift())
    };
    let plans = (0..ix).rev().filter(|i| matches!(recording.events()[*i].event, Event::PlanAdopted { .. }));
    // Whoever was busy elsewhere when it became due is held against the first plan that was made once that was done.
    let mut free = None;
    for ix in plans.take(PLANS_BACK) {
        let history = recording.history(ix + 1);
        if lifts(&history) == Some(due) {
            return Some((history, due));
        }
        if recording.events()[ix].entered >= due {
            free = Some(history);
        }
    }
    free.map(|history| (history, due))
}

/// When a load that was put down as called was to be down by the first plan after its lift, and the shift as it was then. Plans
/// that were made while it hung put that off.
fn first_down(recording: &Recording, ix: usize, called: &Move) -> Option<(History, Time)> {
    let before = recording.events().get(..ix)?;
    let lift = before
        .iter()
        .rposition(|s| matches!(s.event, Event::Lifted { carrier, .. } if carrier == called.carrier))?;
    let plans = before.iter().enumerate().skip(lift + 1);
    let (plan, _) = plans.into_iter().find(|(_, s)| matches!(s.event, Event::PlanAdopted { .. }))?;
    let history = recording.history(plan + 1);
    let left = remaining(history.state(), history.state().plan.as_ref()?);
    let same = |m: &&Move| (m.carrier, m.to, m.visit) == (called.carrier, called.to, called.visit);
    let down = instant(recording, &history, left.moves.iter().find(same)?, &recording.events()[ix].event)?;
    Some((history, down))
}

/// When somebody set about what was done: with the hand on the hook, where it was a lift.
fn begin(recording: &Recording, history: &History, m: &Move, event: &Event, at: Time) -> Time {
    let phases = m.phases(history.state().line(recording.line()), &history.state().book);
    match (event, phases) {
        (Event::Lifted { .. }, Some(phases)) => at - phases.to_lift(),
        _ => at,
    }
}

/// The call of the hoist that did something, as it read then.
fn shown_call(recording: &Recording, moment: &super::Moment, event: &Event, at: Time) -> Option<MainCall> {
    let hoist = hoist_of(event)?;
    let own: Vec<_> = moment.calls.iter().filter(|c| c.mv.hoist == hoist).cloned().collect();
    let (line, state) = (recording.line(), moment.state());
    let opening = recording.opening();
    Board::build(line, state, &moment.history, &own, &moment.breaches, opening, at).call
}

fn afterwards(recording: &Recording, concerned: &[&str], at: Time) -> Vec<Breach> {
    let last = recording.history(recording.events().len());
    let mut broken = happened_by(recording.line(), last.state(), recording.end().at);
    broken.retain(|b| b.at >= at && concerned.contains(&b.carrier.as_str()));
    broken
}
