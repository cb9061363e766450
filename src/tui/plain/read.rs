//! Pages that need the shift itself, read out.

use std::sync::Arc;

use super::heard::Reads;
use super::page::spoken;
use crate::line::Line;
use crate::report::{self, Page, Source};
use crate::shift::History;
use crate::train::Learned;
use crate::tui::app::{App, Effect, Screen};
use crate::tui::pages::Kind;
use crate::tui::player::Player;
use crate::tui::run::{self, Live};
use crate::view::Board;

/// What pages can be made of: a running shift, or a recording.
pub(super) trait Readable: run::Source {
    /// The line as it was filed, and what has happened.
    fn so_far(&self) -> (&Line, &History);
    /// What a page is made of.
    fn told<'a>(&'a self, board: &'a Board) -> Source<'a> {
        let (line, history) = self.so_far();
        Source { line, history, board, opening: board.opening(), now: board.now }
    }
}

impl Readable for Live<'_> {
    fn so_far(&self) -> (&Line, &History) {
        (self.shift.filed(), self.shift.history())
    }
}

impl Readable for Player {
    fn so_far(&self) -> (&Line, &History) {
        (self.line(), self.history())
    }
}

/// Said under a debrief that is not whole yet.
const UNFINISHED: &str =
    "What others would have made of this shift is being worked out; it is told when debrief has it.";

/// The lines of what is asked for. The pages are those of the screens.
pub(super) fn aloud(app: &mut App, shift: &mut dyn Readable, board: &Board, reads: Reads) -> Vec<String> {
    match reads {
        Reads::Page(kind) => page(app, shift, board, kind).map_or_else(Vec::new, |p| spoken(&p)),
        Reads::Debrief => {
            shift.perform(app, vec![Effect::Debrief]);
            let mut lines = app.reading.pages.first().map_or_else(Vec::new, |(_, p)| spoken(p));
            lines.extend(app.reading.unfinished.then(|| UNFINISHED.to_owned()));
            lines
        }
        Reads::Pace => {
            let source = shift.told(board);
            spoken(&report::pace(&source, &Learned::of(source.line, source.history)))
        }
        Reads::Record(carrier) => spoken(&report::record(&shift.told(board), carrier)),
    }
}

fn page(app: &mut App, shift: &mut dyn Readable, board: &Board, kind: Kind) -> Option<Arc<Page>> {
    app.pages.kind = kind;
    let before = std::mem::replace(&mut app.screen, Screen::Pages);
    shift.keep_page(app, board);
    app.screen = before;
    app.pages.page.clone()
}
