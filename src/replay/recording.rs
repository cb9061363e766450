//! All events of a shift, with what they come to at any of them.

use std::sync::Arc;

use super::answer::{called, follows};
use super::marks::{self, Deviation, Mark};
use super::moment::Moment;
use crate::civil::Opening;
use crate::ids::Seq;
use crate::line::Line;
use crate::shift::{Event, History, Stamped, State, apply, fold};
use crate::units::{Dur, Time, many};
use crate::view::log_of;

/// So long before the opening a time of day is taken for one of the same morning.
const SAME_MORNING: Dur = Dur::from_mins(6 * 60);

/// So many events lie between two states that are kept.
const BETWEEN: usize = 64;

/// A place in a recording: after the first `ix` events, at an instant.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default)]
pub struct Point {
    /// The instant.
    pub at: Time,
    /// How many events there are by then.
    pub ix: usize,
}

/// A shift as its journal keeps it.
#[derive(Debug, Clone)]
pub struct Recording {
    line: Arc<Line>,
    opening: Opening,
    events: Arc<Vec<Stamped>>,
    shown: Vec<Shown>,
    frames: Vec<Frame>,
    words: Vec<String>,
    marks: Vec<Mark>,
}

/// When something came on the screens.
#[derive(Debug, Clone, Copy)]
struct Shown {
    /// The event; never before the one ahead of it.
    at: Time,
    /// The last event up to it that made the calls new.
    calls: Time,
}

/// What was so after the first `ix` events.
#[derive(Debug, Clone)]
struct Frame {
    ix: usize,
    state: State,
}

impl Recording {
    /// Takes the events of a journal, in its order; `line` is the one its texts describe. Folds them once.
    pub fn new(line: Arc<Line>, opening: Opening, events: Vec<Stamped>) -> Self {
        let shown = shown(&events);
        let mut state = State::before(&line);
        let mut frames = vec![Frame { ix: 0, state: state.clone() }];
        let mut deviations = Vec::new();
        for (ix, stamped) in events.iter().enumerate() {
            if let Some(call) = called(&state, &stamped.event)
                && !call.is_some_and(|m| follows(&m, &stamped.event))
            {
                deviations.push(Deviation { ix, call });
            }
            // After an event that says something about earlier ones nothing can be applied to what was so before it.
            let rewrites = stamped.event.rewrites();
            if rewrites {
                state = fold(&line, &events[..=ix]);
            } else {
                apply(&mut state, &line, stamped);
            }
            let last = frames.last().map_or(0, |f| f.ix);
            if rewrites || ix + 1 >= last + BETWEEN {
                frames.push(Frame { ix: ix + 1, state: state.clone() });
            }
        }
        let events = Arc::new(events);
        let whole = History::up_to(&events, events.len(), state);
        let mut recording =
            Self { line, opening, events, shown, frames, words: Vec::new(), marks: Vec::new() };
        recording.words = recording.worded(&whole);
        recording.marks = marks::of(&recording, whole.state(), &deviations);
        recording
    }

    /// The line as its file says; what was changed about it is in the states.
    pub fn line(&self) -> &Arc<Line> {
        &self.line
    }

    /// Where the axis lies on the wall clock.
    pub fn opening(&self) -> &Opening {
        &self.opening
    }

    /// All events in journal order, undone ones included.
    pub fn events(&self) -> &[Stamped] {
        &self.events
    }

    /// The first and the last instant there is anything of.
    pub fn span(&self) -> (Time, Time) {
        let first = self.shown.first().map_or(Time::ZERO, |s| s.at);
        (first, self.end().at)
    }

    /// True for an instant before the opening, as a time of day is meant: it lands on the next day, but the next morning was
    /// hardly meant.
    pub fn is_before(&self, t: Time) -> bool {
        let (first, last) = self.span();
        let day_before = t - Dur::from_mins(24 * 60);
        t < first || t > last && first - day_before <= SAME_MORNING
    }

    /// Says that an instant is not on it.
    pub fn outside(&self, t: Time) -> String {
        let ((first, last), clock) = (self.span(), |t| self.opening.clock(t));
        let (said, began, ended) = (clock(t), clock(first), clock(last));
        if self.is_before(t) {
            format!("{said} is before the shift was opened, at {began}; its last entry is of {ended}")
        } else {
            format!("{said} is after the end of what is kept ({ended}); the shift was opened at {began}")
        }
    }

    /// Before the first event.
    pub fn start(&self) -> Point {
        Point { at: self.span().0, ix: 0 }
    }

    /// After the last event.
    pub fn end(&self) -> Point {
        Point { at: self.shown.last().map_or(Time::ZERO, |s| s.at), ix: self.events.len() }
    }

    /// An instant, with all events that were said by then.
    pub fn at(&self, t: Time) -> Point {
        Point { at: t, ix: self.shown.partition_point(|s| s.at <= t) }
    }

    /// Right after the first `ix` events.
    pub fn after(&self, ix: usize) -> Point {
        let ix = ix.min(self.events.len());
        match ix.checked_sub(1) {
            Some(last) => Point { at: self.shown[last].at, ix },
            None => self.start(),
        }
    }

    /// Right before an event; `None` if there is no such event.
    pub fn before(&self, seq: Seq) -> Option<Point> {
        let ix = self.events.binary_search_by_key(&seq, |s| s.seq).ok()?;
        Some(Point { at: self.shown[ix].at, ix })
    }

    /// What was so, and how it came to that, after the first `ix` events.
    pub fn history(&self, ix: usize) -> History {
        let ix = ix.min(self.events.len());
        let frame = &self.frames[self.frames.partition_point(|f| f.ix <= ix) - 1];
        let mut state = frame.state.clone();
        for stamped in &self.events[frame.ix..ix] {
            apply(&mut state, &self.line, stamped);
        }
        History::up_to(&self.events, ix, state)
    }

    /// What was to be seen at a point: see [`Moment`].
    pub fn moment(&self, point: Point) -> Moment {
        let calls =
            point.ix.checked_sub(1).and_then(|last| self.shown.get(last)).map_or(point.at, |s| s.calls);
        Moment::new(self, point, calls)
    }

    /// What an event was, in words.
    pub fn words(&self, ix: usize) -> &str {
        self.words.get(ix).map_or("", String::as_str)
    }

    /// Everything worth stopping at, by time.
    pub fn marks(&self) -> &[Mark] {
        &self.marks
    }

    fn worded(&self, whole: &History) -> Vec<String> {
        let plan = |s: &Stamped| match &s.event {
            Event::PlanAdopted { plan } => format!("plan of {}", many(plan.len(), "move")),
            _ => String::new(),
        };
        let mut words: Vec<String> = self.events.iter().map(plan).collect();
        for row in log_of(&self.line, whole, &self.opening, self.end().at, |_| true) {
            if let Ok(ix) = self.events.binary_search_by_key(&row.seq, |s| s.seq) {
                words[ix] = row.text;
            }
        }
        words
    }
}

fn shown(events: &[Stamped]) -> Vec<Shown> {
    let mut last = Shown { at: Time::PAST, calls: Time::PAST };
    let mut shown = Vec::with_capacity(events.len());
    for stamped in events {
        last.at = last.at.max(stamped.entered);
        if stamped.event.calls_for_plan() || matches!(stamped.event, Event::PlanAdopted { .. }) {
            last.calls = last.at;
        }
        shown.push(last);
    }
    shown
}
