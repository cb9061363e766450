//! The time line of a replay: where it is, and everything worth stopping at.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::Look;
use crate::replay::{Mark, MarkKind};
use crate::tui::app::App;
use crate::tui::tape::{SPEEDS, Tape};
use crate::tui::theme::Role;
use crate::tui::widgets::text;
use crate::units::Time;
use crate::view::Board;

/// Rows it takes.
const ROWS: u16 = 2;

/// Room for a time of day at each end.
const LABEL: u16 = 6;

/// How many rows the time line takes on a screen: none where nothing is replayed.
pub(super) fn rows(app: &App) -> u16 {
    if app.tape.is_some() { ROWS } else { 0 }
}

/// The letter of a kind, and its look.
fn letter(kind: MarkKind) -> (char, Role) {
    match kind {
        MarkKind::Breach => ('x', Role::Over),
        MarkKind::Alarm => ('!', Role::Soon),
        MarkKind::Deviation => ('?', Role::Strong),
        MarkKind::Change => ('+', Role::Strong),
        MarkKind::Note => ('n', Role::Text),
    }
}

/// Paints it.
pub(super) fn draw(buf: &mut Buffer, area: Rect, board: &Board, app: &App, look: &Look) {
    let Some(tape) = &app.tape else { return };
    words(buf, text::row(area, 0), board, tape, look);
    line(buf, text::row(area, 1), board, tape, look);
}

fn words(buf: &mut Buffer, area: Rect, board: &Board, tape: &Tape, look: &Look) {
    let e = look.glyphs.ellipsis;
    let state = if tape.playing { "PLAYS" } else { "STANDS" };
    let head = format!(" {state} {}x ", SPEEDS[tape.speed]);
    let role = if tape.playing { Role::Answer } else { Role::Chosen };
    let at = format!("  {}  event {} of {}", board.clock, tape.point.ix, tape.events);
    let used = text::put_all(buf, area, &[(&head, look.style(role)), (&at, look.style(Role::Strong))], e);
    if let Some(learning) = &tape.learning {
        let rest = Rect { x: area.x + used, width: area.width - used, ..area };
        text::put_right(buf, rest, &format!("{learning} "), look.style(Role::Strong), e);
        return;
    }
    let legend: Vec<String> = MarkKind::ALL.map(|k| format!("{} {}", letter(k).0, k.word())).to_vec();
    let legend = format!("{} ", legend.join("  "));
    let rest = Rect { x: area.x + used, width: area.width - used, ..area };
    if rest.width > text::width(&legend) + 2 {
        text::put_right(buf, rest, &legend, look.style(Role::Text), e);
    }
}

fn line(buf: &mut Buffer, area: Rect, board: &Board, tape: &Tape, look: &Look) {
    let e = look.glyphs.ellipsis;
    let (first, last) = tape.span;
    text::put(buf, area, &format!(" {}", board.clock_minutes_at(first)), look.style(Role::Text), e);
    text::put_right(buf, area, &format!("{} ", board.clock_minutes_at(last)), look.style(Role::Text), e);
    let bar = Rect { x: area.x + LABEL + 1, width: area.width.saturating_sub(2 * LABEL + 2), ..area };
    let bar = bar.intersection(buf.area);
    if bar.width == 0 || bar.height == 0 {
        return;
    }
    let here = cell(tape, tape.point.at, bar.width);
    for x in 0..bar.width {
        let glyph = if x <= here { look.glyphs.done } else { look.glyphs.ahead };
        buf[(bar.x + x, bar.y)].set_char(glyph).set_style(look.style(Role::Quiet));
    }
    // The worst of a cell is painted last.
    for kind in MarkKind::ALL.into_iter().rev() {
        let (c, role) = letter(kind);
        for Mark { point, .. } in tape.marks.iter().filter(|m| m.kind == kind) {
            let x = bar.x + cell(tape, point.at, bar.width);
            buf[(x, bar.y)].set_char(c).set_style(look.style(role));
        }
    }
    buf[(bar.x + here, bar.y)].reset();
    buf[(bar.x + here, bar.y)].set_char(look.glyphs.now).set_style(look.style(Role::Chosen));
}

/// The cell of an instant among so many for the whole recording.
fn cell(tape: &Tape, t: Time, cells: u16) -> u16 {
    let (first, last) = tape.span;
    let whole = (last - first).0.max(1);
    let x = (t - first).0.clamp(0, whole) * i64::from(cells - 1) / whole;
    u16::try_from(x).unwrap_or(0).min(cells - 1)
}
