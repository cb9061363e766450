//! The line as it is seen from the walkway: tanks in rail order, what is in them, the crane above, and where the call
//! picks and places. Only where it fits whole.
//!
//! ```text
//!                        H1
//!   West T01 T02 T03 T04 T05 T06 T07 T08
//!        B09             B07↑    ↓
//! ```

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::{Modifier, Style};

use super::Look;
use crate::tui::theme::Role;
use crate::tui::widgets::text;
use crate::view::{Board, Readiness, Standing, TankRow, Verb};

/// Rows it takes.
pub(super) const HEIGHT: u16 = 3;

/// Cells between one tank and the next that are left free at most.
const WIDEST_GAP: u16 = 3;

/// Cells of each tank, the gap included; `None` if they do not fit side by side.
fn columns(board: &Board, width: u16) -> Option<Vec<u16>> {
    let mut widths: Vec<u16> =
        board.tanks.iter().map(|t| text::width(&t.name).max(text::width(&held(t))).max(3)).collect();
    let needed: u16 = widths.iter().sum();
    let count = u16::try_from(widths.len()).ok().filter(|n| *n > 0)?;
    // A mark may stand behind a load, so each has a free cell.
    let gap = width.checked_sub(needed)? / count;
    if gap == 0 {
        return None;
    }
    for w in &mut widths {
        *w += gap.min(WIDEST_GAP);
    }
    Some(widths)
}

/// True if the strip fits so many cells.
pub(super) fn fits(board: &Board, width: u16) -> bool {
    columns(board, width.saturating_sub(3)).is_some()
}

fn held(tank: &TankRow) -> String {
    match &tank.held[..] {
        [] if tank.readiness.word() == "free" || tank.station.is_some() => String::new(),
        [] => tank.readiness.word().to_owned(),
        [one] => one.name.clone(),
        [first, ..] => format!("{}+", first.name),
    }
}

/// Paints the strip over the area's first three rows.
pub(super) fn draw(buf: &mut Buffer, area: Rect, board: &Board, look: &Look) {
    let Some(widths) = columns(board, area.width.saturating_sub(3)) else { return };
    let e = look.glyphs.ellipsis;
    let mut x = area.x + 2;
    for (tank, w) in board.tanks.iter().zip(widths) {
        let at = |row| Rect { x, width: w, ..text::row(area, row) };
        let above: Vec<&str> =
            board.hooks.iter().filter(|h| h.at == tank.name).map(|h| h.name.as_str()).collect();
        text::put(buf, at(0), &above.join(" "), look.style(Role::Strong), e);
        let (mark, called) = mark(board, tank, look);
        let name = if called {
            look.style(Role::Strong).add_modifier(Modifier::UNDERLINED)
        } else {
            name_style(tank, look)
        };
        text::put(buf, at(1), &tank.name, name, e);
        let load = format!("{}{mark}", held(tank));
        text::put(buf, at(2), &load, load_style(tank, look), e);
        x += w;
    }
}

/// What the call does with a tank, and whether it does anything.
fn mark(board: &Board, tank: &TankRow, look: &Look) -> (String, bool) {
    let Some(call) = &board.call else { return (String::new(), false) };
    if call.to.tank == tank.tank && call.from.tank != tank.tank {
        (look.glyphs.down.to_string(), true)
    } else if call.from.tank == tank.tank && call.verb != Verb::Place {
        (look.glyphs.up.to_string(), true)
    } else {
        (String::new(), call.to.tank == tank.tank)
    }
}

fn name_style(tank: &TankRow, look: &Look) -> Style {
    let busy = !tank.held.is_empty() || tank.readiness != Readiness::Ready;
    look.style(if busy { Role::Text } else { Role::Quiet })
}

fn load_style(tank: &TankRow, look: &Look) -> Style {
    look.style(match tank.held.iter().map(|h| h.standing).max() {
        Some(Standing::Over) => Role::Over,
        Some(Standing::AtRisk) => Role::Soon,
        Some(Standing::Early | Standing::Inside) => Role::Strong,
        None if tank.readiness == Readiness::Ready => Role::Strong,
        None => Role::Text,
    })
}
