//! What is worth stopping at: alarms, broken windows, calls that were not followed, changes, notes.

use std::collections::BTreeSet;

use super::recording::{Point, Recording};
use crate::ids::{Id as _, Seq};
use crate::line::Harm;
use crate::schedule::Move;
use crate::shift::{Event, State, StopStep, counting};
use crate::verify::happened_by;
use crate::view::{Spot, to_the_second};

/// What a mark is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum MarkKind {
    /// A window was broken, by the verifier's word on what happened.
    Breach,
    /// An alarm was raised.
    Alarm,
    /// A lift or a lower was not what the call said.
    Deviation,
    /// Somebody changed something about the shift, or a tank.
    Change,
    /// Something was written down, entered, corrected or taken back.
    Note,
}

impl MarkKind {
    /// All, those that matter most first.
    pub const ALL: [Self; 5] = [Self::Breach, Self::Alarm, Self::Deviation, Self::Change, Self::Note];

    /// Its word, for people and for `--json`.
    pub fn word(self) -> &'static str {
        match self {
            Self::Breach => "broken",
            Self::Alarm => "alarm",
            Self::Deviation => "not as called",
            Self::Change => "change",
            Self::Note => "note",
        }
    }
}

/// One thing worth stopping at.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Mark {
    /// What for.
    pub kind: MarkKind,
    /// Where to stop: after what it is about; before a lift or lower that was not the call, so that the call is seen.
    pub point: Point,
    /// The event; `None` for a window that broke while nothing happened.
    pub seq: Option<Seq>,
    /// What it did to the parts, if it is a broken window.
    pub harm: Option<Harm>,
    /// In words.
    pub text: String,
}

/// A lift or lower that was not the call.
pub(super) struct Deviation {
    /// Events before it.
    pub ix: usize,
    /// What was called.
    pub call: Option<Move>,
}

pub(super) fn of(recording: &Recording, last: &State, deviations: &[Deviation]) -> Vec<Mark> {
    let events = recording.events();
    let mut marks: Vec<Mark> = (events.iter().enumerate())
        .filter_map(|(ix, s)| {
            let (kind, point) = (kind_of(&s.event)?, recording.after(ix + 1));
            Some(Mark { kind, point, seq: Some(s.seq), harm: None, text: recording.words(ix).to_owned() })
        })
        .collect();
    let end = recording.end().at;
    marks.extend(happened_by(recording.line(), last, end).into_iter().map(|b| Mark {
        kind: MarkKind::Breach,
        point: recording.at(b.at),
        seq: None,
        harm: b.harm,
        text: to_the_second(&b.text),
    }));
    // A key that was taken back was no move.
    let counts: BTreeSet<Seq> = counting(events).into_iter().map(|(s, _)| s.seq).collect();
    let stands = |d: &&Deviation| counts.contains(&events[d.ix].seq);
    marks.extend(deviations.iter().filter(stands).map(|d| Mark {
        kind: MarkKind::Deviation,
        point: Point { at: recording.after(d.ix + 1).at, ix: d.ix },
        seq: Some(events[d.ix].seq),
        harm: None,
        text: format!("{}; {}", recording.words(d.ix), called_words(recording, last, d.call.as_ref())),
    }));
    marks.sort_by_key(|m| (m.point, m.kind));
    marks
}

fn kind_of(event: &Event) -> Option<MarkKind> {
    Some(match event {
        Event::AlarmRaised { .. } | Event::StopAlarm { step: StopStep::Raised(_), .. } => MarkKind::Alarm,
        Event::Changed { .. } | Event::TankOut { .. } | Event::TankBack { .. } => MarkKind::Change,
        Event::Noted { .. }
        | Event::Entered { .. }
        | Event::CarrierCorrected { .. }
        | Event::HoistCorrected { .. }
        | Event::Undone { .. }
        | Event::Retimed { .. } => MarkKind::Note,
        _ => return None,
    })
}

fn called_words(recording: &Recording, last: &State, call: Option<&Move>) -> String {
    let Some(m) = call else { return "nothing was called".to_owned() };
    let spot = |tank| Spot::of(recording.line(), tank).words();
    let name =
        last.book.carriers.get(m.carrier).map_or_else(|| m.carrier.ix().to_string(), |c| c.name.clone());
    format!("called was {name} from {} to {}", spot(m.from), spot(m.to))
}

impl Recording {
    /// The next mark of a kind, or of any, after a point.
    pub fn next_mark(&self, kind: Option<MarkKind>, from: Point) -> Option<&Mark> {
        let wanted = |m: &&Mark| kind.is_none_or(|k| m.kind == k) && m.point > from;
        self.marks().iter().find(wanted)
    }

    /// The last mark of a kind, or of any, before a point.
    pub fn previous_mark(&self, kind: Option<MarkKind>, from: Point) -> Option<&Mark> {
        let wanted = |m: &&Mark| kind.is_none_or(|k| m.kind == k) && m.point < from;
        self.marks().iter().rev().find(wanted)
    }
}
