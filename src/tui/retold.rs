//! Fills the pages that are read on the screen.

use std::sync::Arc;

use super::app::App;
use super::run::board_of;
use crate::ids::Seq;
use crate::live::LiveShift;
use crate::report::{self, Source};
use crate::shift::Event;
use crate::train::{Debrief, Learned};
use crate::units::Time;

/// Shows the pages as they are now; others than this shift are reckoned meanwhile.
pub(super) fn open(app: &mut App, shift: &mut LiveShift) {
    let now = shift.now();
    let debrief = shift.debrief();
    app.reading.scroll = 0;
    of_shift(app, shift, &debrief, now);
    app.reading.unfinished = shift.is_reckoning();
    app.reading.made = last_told(shift);
}

/// Takes up what was reckoned.
pub(super) fn keep(app: &mut App, shift: &mut LiveShift) {
    if let Some((debrief, at)) = shift.reckoned() {
        of_shift(app, shift, &debrief, at);
    }
    app.reading.unfinished = shift.is_reckoning();
    app.reading.behind = app.reading.made != last_told(shift);
}

fn of_shift(app: &mut App, shift: &mut LiveShift, debrief: &Debrief, now: Time) {
    let board = board_of(shift);
    let opening = shift.opening();
    let source =
        Source { line: shift.filed(), history: shift.history(), board: &board, opening: &opening, now };
    fill(app, &source, debrief);
}

/// Makes the pages of a shift.
pub(super) fn fill(app: &mut App, source: &Source<'_>, debrief: &Debrief) {
    let page = Arc::new(report::debrief(source, debrief));
    let pace = Arc::new(report::pace(source, &Learned::of(source.line, source.history)));
    app.reading.pages = vec![("Debrief".to_owned(), page), ("Pace".to_owned(), pace)];
}

/// The last event that the pages tell of: all but plans.
fn last_told(shift: &LiveShift) -> Option<Seq> {
    let mut told = shift.history().events().iter().rev();
    told.find(|s| !matches!(s.event, Event::PlanAdopted { .. })).map(|s| s.seq)
}
