//! The screens. Each paints one part from the board and the app and changes neither.
//!
//! ```text
//! header        line, clock, counts
//! call          big letters, figures, the plain sentence, the reason
//! alarm strip   the alarm that comes first; what the plan cannot keep
//! panes         line, alarms, next and queue, what happened: one at a time, or all where there is room
//! key line      keys, or an answer of the program
//! ```
//!
//! The supervisor's screens have the call in one line instead, and under the alarm strip the board or a picture over time.

mod alarms;
mod board;
pub mod brief;
mod call;
pub mod caution;
pub mod changes;
mod chart;
mod choosing;
mod desk;
mod dialogs;
pub mod help;
mod lessons;
mod line;
mod live;
mod log;
mod moves;
mod occupation;
pub(crate) mod pages;
mod queue;
mod rail;
mod reading;
mod small;
pub(super) mod tank;
mod timeline;

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;

use super::app::{App, Screen};
use super::glyphs::{GlyphSet, Glyphs};
use super::theme::{Depth, Ground, Role, Theme};
use crate::plain::is_plain_cell;
use crate::view::Board;

/// The least size at which everything that matters is on the screen.
pub const NEEDED: (u16, u16) = (80, 24);

/// Colours and characters.
#[derive(Debug, Clone, Copy)]
pub struct Look {
    /// Looks of roles.
    pub theme: Theme,
    /// Drawing characters.
    pub glyphs: Glyphs,
}

impl Look {
    /// The look for a colour depth and a glyph set, on the terminal's own colours.
    pub fn new(depth: Depth, glyphs: GlyphSet) -> Self {
        Self { theme: Theme { depth, ground: Ground::Own }, glyphs: Glyphs::of(glyphs) }
    }

    /// The same on a ground of its own.
    #[must_use]
    pub fn on(self, ground: Ground) -> Self {
        Self { theme: Theme { ground, ..self.theme }, ..self }
    }

    /// The style of a role.
    pub fn style(&self, role: Role) -> Style {
        self.theme.style(role)
    }
}

/// Paints the whole screen.
pub fn paint(buf: &mut Buffer, area: Rect, board: &Board, app: &App, look: &Look) {
    let area = area.intersection(buf.area);
    if !area.is_empty() {
        if area.width < NEEDED.0 || area.height < NEEDED.1 {
            small::draw(buf, area, board, app, look);
        } else {
            let top = match app.screen {
                Screen::Caution => {
                    caution::draw(buf, area, board, app, look);
                    0
                }
                Screen::Brief => {
                    brief::draw(buf, area, board, app, look);
                    0
                }
                Screen::Live => live::draw(buf, area, board, app, look),
                Screen::Board
                | Screen::Chart
                | Screen::Tanks
                | Screen::Changes
                | Screen::Pages
                | Screen::Lessons
                | Screen::Reading => desk::draw(buf, area, board, app, look),
            };
            dialogs::draw(buf, area, top, board, app, look);
        }
    }
    only_plain(buf);
    look.glyphs.finish(buf);
    look.theme.finish(buf);
}

/// Whatever a name or a note holds, no cell sends a terminal anything but what it shows.
fn only_plain(buf: &mut Buffer) {
    for cell in &mut buf.content {
        if !is_plain_cell(cell.symbol()) {
            cell.set_symbol("?");
        }
    }
}
