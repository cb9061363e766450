//! Pages to read and to sign: the start of a shift, its handover, the shift so far. Pure but for [`keep_page`].

use std::sync::Arc;

use super::action::Action;
use super::app::{App, Screen};
use super::dialog::{Asks, Field, Item, List, Means, moved};
use crate::civil::Opening;
use crate::ids::Seq;
use crate::line::Line;

use crate::report::{self, Page, Source};
use crate::shift::History;
use crate::shift::ledger::Sign;
use crate::view::Board;

/// Which page.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Kind {
    /// What there is to know before the first move.
    Start,
    /// What whoever comes next must know.
    #[default]
    Handover,
    /// The shift so far.
    Shift,
}

impl Kind {
    /// All, in the order of the Tab key.
    pub const ALL: [Self; 3] = [Self::Start, Self::Handover, Self::Shift];

    /// Its name among the others.
    pub fn title(self) -> &'static str {
        match self {
            Self::Start => "Start",
            Self::Handover => "Handover",
            Self::Shift => "Shift so far",
        }
    }
}

/// The page that is read.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Pages {
    /// Which.
    pub kind: Kind,
    /// The first row of it that is seen.
    pub scroll: usize,
    /// The page as it was last made.
    pub page: Option<Arc<Page>>,
    /// What it was made of: which, the last event, the minute.
    made: Option<(Kind, Seq, i64)>,
}

/// Rows that are always seen: what a page is scrolled to ends no higher than this.
const SEEN: usize = 14;

impl Pages {
    /// What a key makes of it on a terminal so many cells across.
    pub fn act(&mut self, action: Action, cells: u16) {
        let at = Kind::ALL.iter().position(|k| *k == self.kind).unwrap_or(0);
        let turn = match action {
            Action::Next => 1,
            Action::Previous => Kind::ALL.len() - 1,
            _ => {
                self.scroll = self.page.as_ref().map_or(0, |p| scrolled(self.scroll, action, p, cells));
                return;
            }
        };
        self.kind = Kind::ALL[(at + turn) % Kind::ALL.len()];
        self.scroll = 0;
    }
}

/// The first row of a page that is seen after a key, on a terminal so many cells across.
pub(super) fn scrolled(scroll: usize, action: Action, page: &Page, cells: u16) -> usize {
    let rows = super::screens::pages::height(page, cells);
    moved(scroll, action, (rows + 1).saturating_sub(SEEN))
}

/// Makes the page that is to be seen anew where something has happened or a minute has gone by.
pub fn keep_page(app: &mut App, (line, history): (&Line, &History), opening: &Opening, board: &Board) {
    if app.screen != Screen::Pages {
        return;
    }
    let now = board.now;
    let made = (app.pages.kind, board.seq, now.0.div_euclid(60_000));
    if app.pages.made == Some(made) {
        return;
    }
    let source = Source { line, history, board, opening, now };
    let page = match app.pages.kind {
        Kind::Start => report::start(&source),
        Kind::Handover => report::handover(&source),
        Kind::Shift => report::shift(&source),
    };
    app.pages.page = Some(Arc::new(page));
    app.pages.made = Some(made);
}

/// What can be signed.
pub fn signs() -> List {
    let item = |sign: Sign| Item { text: words(sign).to_owned(), means: Means::Sign(sign) };
    List::of("What do you sign?", [Sign::On, Sign::HandsOver, Sign::TakesOver].map(item).to_vec())
}

/// Asks for the hand of a signature.
pub fn initials(sign: Sign) -> Field {
    Field {
        title: format!("{}: your initials", words(sign)),
        hint: "one to eight letters or figures".to_owned(),
        text: String::new(),
        wrong: None,
        asks: Asks::Initials(sign),
    }
}

/// What a signature says.
pub fn words(sign: Sign) -> &'static str {
    match sign {
        Sign::On => "I work this shift",
        Sign::HandsOver => "I hand the shift over",
        Sign::TakesOver => "I take the shift over",
    }
}
