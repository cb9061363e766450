//! Pages that need the shift itself, read out.

use std::sync::Arc;

use super::heard::Reads;
use super::page::spoken;
use crate::live::LiveShift;
use crate::report::{self, Page, Source};
use crate::train::Learned;
use crate::tui::app::{App, Screen};
use crate::tui::pages::{Kind, keep_page};
use crate::tui::retold;
use crate::view::Board;

/// Said under a debrief that is not whole yet.
const UNFINISHED: &str =
    "What others would have made of this shift is being worked out; it is told when debrief has it.";

/// The lines of what is asked for. The pages are those of the screens.
pub(super) fn aloud(app: &mut App, shift: &mut LiveShift, board: &Board, reads: Reads) -> Vec<String> {
    match reads {
        Reads::Page(kind) => page(app, shift, board, kind).map_or_else(Vec::new, |p| spoken(&p)),
        Reads::Debrief => {
            retold::open(app, shift);
            let mut lines = app.reading.pages.first().map_or_else(Vec::new, |(_, p)| spoken(p));
            lines.extend(app.reading.unfinished.then(|| UNFINISHED.to_owned()));
            lines
        }
        Reads::Pace => {
            let source = source(shift, board);
            spoken(&report::pace(&source, &Learned::of(source.line, source.history)))
        }
        Reads::Record(carrier) => spoken(&report::record(&source(shift, board), carrier)),
    }
}

fn page(app: &mut App, shift: &LiveShift, board: &Board, kind: Kind) -> Option<Arc<Page>> {
    app.pages.kind = kind;
    let before = std::mem::replace(&mut app.screen, Screen::Pages);
    keep_page(app, (shift.line(), shift.history()), &shift.opening(), board);
    app.screen = before;
    app.pages.page.clone()
}

fn source<'a>(shift: &'a LiveShift, board: &'a Board) -> Source<'a> {
    Source { line: shift.filed(), history: shift.history(), board, opening: board.opening(), now: board.now }
}
