//! The next moment of a recording that is worth a question.

use std::collections::BTreeSet;

use super::quiz::{Grade, LOOKING, Pending, Question};
use crate::ids::Seq;
use crate::plan::Settings;
use crate::replay::{Point, Recording};
use crate::shift::{Event, counting};

/// The first moment from a point on that is worth a question of a grade; if there is none ahead, of any grade. Nothing is
/// drawn. `None` as well if it is told to stop.
pub fn next_question(
    recording: &Recording,
    from: Point,
    grade: Grade,
    settings: &Settings,
    stop: &mut dyn FnMut() -> bool,
) -> Option<(Point, Question)> {
    let events = recording.events();
    let counts: BTreeSet<Seq> = counting(events).into_iter().map(|(s, _)| s.seq).collect();
    let picks: Vec<usize> = (from.ix..events.len())
        .filter(|ix| matches!(events[*ix].event, Event::Lifted { .. }) && counts.contains(&events[*ix].seq))
        .collect();
    for of_grade in [true, false] {
        for ix in &picks {
            if stop() {
                return None;
            }
            let found = before(recording, *ix, from, settings, |p| (p.grade == grade) == of_grade);
            if found.is_some() {
                return found;
            }
        }
    }
    None
}

fn before(
    recording: &Recording,
    ix: usize,
    here: Point,
    settings: &Settings,
    wanted: impl Fn(&Pending) -> bool,
) -> Option<(Point, Question)> {
    let (line, history) = (recording.line(), recording.history(ix));
    let state = history.state();
    let last = recording.after(ix).at;
    let from = if ix == here.ix { last.max(here.at) } else { last };
    let span = (from, recording.after(ix + 1).at);
    let pending = Pending::of(line, state, span, settings).filter(wanted)?;
    let question = pending.priced(line, state, settings, LOOKING).filter(Question::is_worth_asking)?;
    let question = question.closer(line, settings);
    // A longer look may find that nothing is lost.
    question.is_worth_asking().then_some((Point { at: question.at, ix }, question))
}
