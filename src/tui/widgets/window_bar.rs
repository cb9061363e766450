//! A dwell in its window: `━━━[━━●╌+╌╌╌]` is 3 parts before the shortest dwell, now inside, target and end ahead.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use crate::tui::screens::Look;
use crate::tui::theme::Role;
use crate::units::Dur;
use crate::view::{Bar, Standing};

/// Paints the bar over the area's first row.
///
/// The scale runs from the beginning of the dwell to its end and a little past it; where the sheet sets no end, to twice
/// the target. On one cell the more important mark wins: now, end, start, lift, target.
pub fn draw(buf: &mut Buffer, area: Rect, bar: &Bar, standing: Standing, look: &Look) {
    let area = area.intersection(buf.area);
    if area.width < 4 || area.height == 0 {
        return;
    }
    let g = &look.glyphs;
    let cells = i64::from(area.width);
    let span = span(bar);
    let cell = |d: Dur| (d.0.saturating_mul(cells) / span.max(1)).clamp(0, cells - 1);
    let open = bar.max.is_unlimited();
    // One cell is kept free after the end, so that "past it" has a place of its own.
    let end = if open { cells } else { cell(bar.max).clamp(1, cells - 2) };
    let mut now = cell(bar.elapsed);
    if !open && bar.elapsed > bar.max {
        now = now.max(end + 1);
    } else {
        now = now.min(end - 1);
    }
    let start = cell(bar.min).min(end - 1);
    let over = standing == Standing::Over;
    let mark = match standing {
        Standing::Over => Role::Over,
        Standing::AtRisk => Role::Soon,
        Standing::Early | Standing::Inside => Role::Strong,
    };
    for x in 0..cells {
        let (c, role) = if x == now {
            (if over { g.now_over } else { g.now }, mark)
        } else if x == end {
            (g.max, Role::Strong)
        } else if x == start {
            (g.min, Role::Strong)
        } else if bar.lift.is_some_and(|l| cell(l) == x && l > bar.elapsed) {
            (g.lift, Role::Strong)
        } else if bar.target > bar.min && cell(bar.target) == x {
            (g.target, Role::Text)
        } else if x < now {
            (g.done, Role::Text)
        } else if x < end {
            (g.ahead, Role::Quiet)
        } else {
            (' ', Role::Quiet)
        };
        let target = &mut buf[(area.x + x as u16, area.y)];
        target.set_char(c).set_style(look.theme.style(role));
    }
}

/// What the whole bar stands for, in milliseconds.
fn span(bar: &Bar) -> i64 {
    if bar.max.is_unlimited() {
        (bar.target.0 * 2).max(bar.min.0 * 2).max(bar.elapsed.0 + 1).max(1000)
    } else {
        // A tenth past the end, more if it is over by more.
        (bar.max.0 + bar.max.0 / 10).max(bar.elapsed.0 + 1).max(1000)
    }
}
