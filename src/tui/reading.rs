//! Pages that are read on the screen: the debrief and its like.

use std::sync::Arc;

use super::action::Action;
use super::app::Screen;
use super::pages::scrolled;
use crate::ids::Seq;
use crate::report::Page;

/// Pages, and where the reader is in them.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Reading {
    /// The pages with a title each.
    pub pages: Vec<(String, Arc<Page>)>,
    /// Something is still being worked out that will be on them.
    pub unfinished: bool,
    /// The last event that they tell of.
    pub made: Option<Seq>,
    /// There were more since.
    pub behind: bool,
    /// The page that is shown.
    pub page: usize,
    /// The first row of it that is seen.
    pub scroll: usize,
    /// The screen it was opened from.
    pub from: Option<Screen>,
}

impl Reading {
    /// What a key makes of it on a terminal so many cells across.
    pub fn act(&mut self, action: Action, cells: u16) {
        let count = self.pages.len().max(1);
        let turn = match action {
            Action::Next => 1,
            Action::Previous => count - 1,
            _ => {
                let page = self.pages.get(self.page).map(|(_, page)| page);
                self.scroll = page.map_or(0, |page| scrolled(self.scroll, action, page, cells));
                return;
            }
        };
        (self.page, self.scroll) = ((self.page + turn) % count, 0);
    }
}
