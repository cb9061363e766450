//! Pages that are read on the screen: the debrief and its like.

use super::action::Action;
use super::app::Screen;

/// Pages, and where the reader is in them.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Reading {
    /// The pages: a title each, and lines; what is wider than the screen goes on below.
    pub pages: Vec<(String, Vec<String>)>,
    /// Something is still being worked out that will be on them.
    pub unfinished: bool,
    /// The page that is shown.
    pub page: usize,
    /// Lines above the top.
    pub scroll: usize,
    /// The screen it was opened from.
    pub from: Option<Screen>,
}

/// Lines that one key scrolls.
const SCROLL: usize = 10;

impl Reading {
    /// What a key makes of it.
    pub fn act(&mut self, action: Action) {
        let count = self.pages.len().max(1);
        let last = self.pages.get(self.page).map_or(0, |(_, lines)| lines.len().saturating_sub(1));
        match action {
            Action::Next => (self.page, self.scroll) = ((self.page + 1) % count, 0),
            Action::Previous => (self.page, self.scroll) = ((self.page + count - 1) % count, 0),
            Action::Up => self.scroll = self.scroll.saturating_sub(1),
            Action::Down => self.scroll += 1,
            Action::PageUp => self.scroll = self.scroll.saturating_sub(SCROLL),
            Action::PageDown => self.scroll += SCROLL,
            Action::First => self.scroll = 0,
            Action::Last => self.scroll = last,
            _ => {}
        }
        self.scroll = self.scroll.min(last);
    }
}
