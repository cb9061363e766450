//! Every tank: what is in it and where that is in its window.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::Look;
use crate::tui::theme::Role;
use crate::tui::widgets::countdown;
use crate::tui::widgets::table::{self, Cell, Column, Kind};
use crate::view::{Board, Held, Readiness, Standing, TankRow, state_word};

const COLUMNS: &[Column] = &[
    Column { head: "tank", kind: Kind::Whole, keep: 9 },
    Column { head: "holds", kind: Kind::Words(18), keep: 5 },
    Column { head: "load", kind: Kind::Whole, keep: 9 },
    Column { head: "step", kind: Kind::Figures, keep: 2 },
    Column { head: "state", kind: Kind::Whole, keep: 8 },
    Column { head: "window", kind: Kind::Bar(12), keep: 7 },
    Column { head: "left", kind: Kind::Figures, keep: 8 },
    Column { head: "", kind: Kind::Whole, keep: 6 },
    Column { head: "lift", kind: Kind::Whole, keep: 3 },
];

/// How much of the line is shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Extent {
    /// All tanks in one column.
    One,
    /// All tanks in two columns.
    Two,
    /// Where room is short: in two columns what holds a load or may not be used; all tanks once a row is chosen.
    Busy,
}

/// Paints the rows. The state column says what colour says.
pub(super) fn draw(
    buf: &mut Buffer,
    area: Rect,
    board: &Board,
    extent: Extent,
    chosen: Option<usize>,
    look: &Look,
) {
    let busy = extent == Extent::Busy && chosen.is_none();
    let worth = |t: &&TankRow| !busy || !t.held.is_empty() || t.readiness != Readiness::Ready;
    let rows: Vec<Vec<Cell>> = board.tanks.iter().filter(worth).map(row).collect();
    if extent == Extent::One || (extent == Extent::Busy && !busy) {
        table::draw(buf, area, COLUMNS, &rows, chosen, true, look);
        return;
    }
    let width = area.width / 2;
    let left = Rect { width: width.saturating_sub(1), ..area };
    let right = Rect { x: area.x + width, width: area.width - width, ..area };
    let room = usize::from(area.height);
    let mut half = rows.len().div_ceil(2);
    if busy {
        // Down the left side first, so that a short list does not jump from side to side as it grows.
        half = half.max(room.saturating_sub(1)).min(rows.len());
    }
    let heading = room > half;
    // Both sides are laid out over all rows' widths, so that the eye finds the same thing in the same place.
    table::draw_part(buf, left, COLUMNS, &rows, 0..half, chosen, heading, look);
    table::draw_part(buf, right, COLUMNS, &rows, half..rows.len(), chosen, heading, look);
}

fn row(tank: &TankRow) -> Vec<Cell> {
    let mut cells = vec![Cell::plain(tank.name.as_str()), Cell::of(tank.label.as_str(), Role::Text)];
    if let Some(held) = tank.held.first() {
        cells.extend(held_cells(tank, held));
    } else {
        let word = tank.readiness.word().to_owned();
        // Heating up in the morning is in order; a tank taken out is not.
        let loud = if matches!(tank.readiness, Readiness::Heating(_)) { Role::Text } else { Role::Strong };
        let (state, role) = match &tank.station {
            _ if word != "free" => (word, loud),
            Some(s) if s.unload && s.finished > 0 => (format!("{} done", s.finished), Role::Quiet),
            Some(_) => (String::new(), Role::Quiet),
            None => (word, Role::Quiet),
        };
        let until = Cell::of(tank.readiness.until(), loud);
        let state = Cell::of(state, role);
        cells.extend([Cell::Empty, Cell::Empty, state, until, Cell::Empty, Cell::Empty, Cell::Empty]);
    }
    cells
}

fn held_cells(tank: &TankRow, held: &Held) -> Vec<Cell> {
    let (k, n) = held.step;
    let role = match held.standing {
        Standing::Over => Role::Over,
        Standing::AtRisk => Role::Soon,
        Standing::Early | Standing::Inside => Role::Text,
    };
    let more = if tank.held.len() > 1 { format!(" +{}", tank.held.len() - 1) } else { String::new() };
    let word = if held.hooked { "on hook".to_owned() } else { state_word(&held.marks, held.standing) };
    let harm = if held.bar.max.is_unlimited() { String::new() } else { held.harm.to_string() };
    let loud = if held.standing >= Standing::AtRisk { role } else { Role::Strong };
    vec![
        Cell::of(format!("{}{more}", held.name), Role::Strong),
        Cell::plain(format!("{k}/{n}")),
        Cell::of(word, role),
        Cell::Bar(held.bar, held.standing),
        Cell::of(countdown::left(held.bar.left()), loud),
        Cell::of(harm, loud),
        Cell::plain(held.lift_at.clone().unwrap_or_default()),
    ]
}
