//! Where the reader is among the cards and words.

use super::action::Action;
use super::app::Screen;
use super::dialog::moved;

/// What is read.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Lessons {
    /// The chosen lesson.
    pub row: usize,
    /// Lines of its text that are above the top.
    pub scroll: usize,
    /// The screen it was opened from.
    pub from: Option<Screen>,
}

/// Lines that one key scrolls: less than any text has room for, so that nothing is skipped.
const SCROLL: usize = 8;

impl Lessons {
    /// What a key makes of it, with so many lessons.
    pub fn act(&mut self, action: Action, count: usize) {
        match action {
            Action::PageDown | Action::Next => self.scroll += SCROLL,
            Action::PageUp | Action::Previous => self.scroll = self.scroll.saturating_sub(SCROLL),
            Action::Up | Action::Down | Action::First | Action::Last => {
                self.show(moved(self.row, action, count));
            }
            _ => {}
        }
    }

    /// Turns to a lesson.
    pub fn show(&mut self, row: usize) {
        (self.row, self.scroll) = (row, 0);
    }
}
