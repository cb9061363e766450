//! Time across a picture: where an instant is, ticks with times of day, and now.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::text;
use crate::tui::desk::Desk;
use crate::tui::screens::Look;
use crate::tui::theme::Role;
use crate::units::{Dur, Time};
use crate::view::Board;

/// Steps between ticks, in minutes.
const STEPS: [i64; 9] = [1, 2, 5, 10, 15, 30, 60, 120, 240];

/// The mark of now, and its cells.
const NOW: &str = "now";
const NOW_WIDE: u16 = 3;

/// Cells a label needs, with room to the next one.
const LABEL: i64 = 9;

/// Which instant is where, over so many cells.
#[derive(Debug, Clone, Copy)]
pub struct TimeAxis {
    first: Time,
    scale: Dur,
    cells: u16,
}

impl TimeAxis {
    /// The stretch of time that is shown over so many cells.
    pub fn of(desk: &Desk, now: Time, cells: u16) -> Self {
        Self { first: desk.first(now, cells), scale: desk.scale(), cells }
    }

    /// Where an instant is, in cells from the left edge; it may lie outside.
    pub fn x(&self, t: Time) -> f64 {
        (t - self.first).0 as f64 / self.scale.0 as f64
    }

    /// The first and the last instant of so many cells.
    pub fn ends(&self, cells: u16) -> (Time, Time) {
        (self.first, self.first + self.scale * i64::from(cells))
    }

    /// The cell of an instant; it may lie outside.
    pub fn cell(&self, t: Time) -> i64 {
        (t - self.first).0.div_euclid(self.scale.0)
    }

    /// The cell of an instant, if it is shown.
    pub fn shown(&self, t: Time) -> Option<u16> {
        u16::try_from(self.cell(t)).ok().filter(|x| *x < self.cells)
    }

    /// The cells of a span, cut to what is shown; empty if nothing of it is.
    pub fn span(&self, from: Time, to: Time) -> std::ops::Range<u16> {
        let cut = |x: i64| x.clamp(0, i64::from(self.cells)) as u16;
        cut(self.cell(from))..cut(self.cell(to).max(self.cell(from) + 1))
    }

    /// Paints ticks with times of day over the area's first row, and now.
    pub fn draw(&self, buf: &mut Buffer, area: Rect, board: &Board, look: &Look) {
        let e = look.glyphs.ellipsis;
        let minutes = STEPS.into_iter().find(|m| m * 60_000 / self.scale.0 >= LABEL).unwrap_or(480);
        let step = Dur::from_mins(minutes).0;
        // Ticks stand at round times of day, which are round on the axis too unless the shift opened at an odd second.
        let odd = board.first_hour().0;
        let now = self.shown(board.now).map(|x| x.min(area.width.saturating_sub(NOW_WIDE)));
        let mut t = (self.first.0 - odd).div_euclid(step) * step + odd;
        while t <= self.first.0 + self.scale.0 * i64::from(self.cells) {
            let at = Time(t);
            if let Some(x) = self.shown(at) {
                let label = format!("{}{}", look.glyphs.tick, board.clock_minutes_at(at));
                let under_now =
                    now.is_some_and(|now| x < now + NOW_WIDE + 1 && now < x + text::width(&label) + 1);
                if !under_now && x + text::width(&label) <= area.width {
                    let place = Rect { x: area.x + x, width: text::width(&label), ..area };
                    text::put(buf, place, &label, look.style(Role::Quiet), e);
                }
            }
            t += step;
        }
        if let Some(x) = now {
            let at = Rect { x: area.x + x, width: NOW_WIDE, ..area };
            text::put(buf, at, NOW, look.style(Role::Chosen), e);
        }
    }
}
