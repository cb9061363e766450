//! Fills the pages that are read on the screen.

use super::app::App;
use super::run::board_of;
use crate::live::LiveShift;
use crate::report::{self, Source};
use crate::train::{Debrief, Learned};
use crate::units::Time;

/// Shows the pages as they are now; others than this shift are reckoned meanwhile.
pub(super) fn open(app: &mut App, shift: &mut LiveShift) {
    let now = shift.now();
    let debrief = shift.debrief();
    app.reading.scroll = 0;
    fill(app, shift, &debrief, now);
}

/// Takes up what was reckoned.
pub(super) fn keep(app: &mut App, shift: &mut LiveShift) {
    if let Some((debrief, at)) = shift.reckoned() {
        fill(app, shift, &debrief, at);
    }
    app.reading.unfinished = shift.is_reckoning();
}

fn fill(app: &mut App, shift: &mut LiveShift, debrief: &Debrief, now: Time) {
    let board = board_of(shift);
    let opening = shift.opening();
    let source =
        Source { line: shift.filed(), history: shift.history(), board: &board, opening: &opening, now };
    let page = report::debrief(&source, debrief);
    let lines = page.text().lines().map(str::to_owned).collect();
    let pace = report::pace(&source, &Learned::of(shift.filed(), shift.history()));
    let pace = pace.text().lines().map(str::to_owned).collect();
    app.reading.pages = vec![("Debrief".to_owned(), lines), ("Pace".to_owned(), pace)];
    app.reading.unfinished = shift.is_reckoning();
}
