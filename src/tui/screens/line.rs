//! Every tank: what is in it and where that is in its window.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::Look;
use crate::tui::theme::Role;
use crate::tui::widgets::countdown;
use crate::tui::widgets::table::{self, Cell, Column, Kind};
use crate::tui::widgets::text;
use crate::view::{Board, Held, Readiness, Standing, TankRow};

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
    All,
    /// What holds a load or may not be used, and which tanks are free; all tanks once a row is chosen.
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
    if extent == Extent::All || chosen.is_some() {
        let rows: Vec<Vec<Cell>> = board.tanks.iter().map(row).collect();
        table::draw(buf, area, COLUMNS, &rows, chosen, true, look);
        return;
    }
    let room = usize::from(area.height);
    let mut busy: Vec<&TankRow> = board.tanks.iter().filter(|t| is_busy(t)).collect();
    if busy.len() > 2 * room {
        // Some are only counted: not those that press. The others stay as they stand along the rail.
        busy.sort_by_key(|t| std::cmp::Reverse(pressing(t)));
    }
    let rows: Vec<Vec<Cell>> = busy.into_iter().map(row).collect();
    let used = if rows.is_empty() {
        0
    } else if rows.len() < room {
        table::draw(buf, area, COLUMNS, &rows, None, true, look);
        rows.len() + 1
    } else {
        in_two(buf, area, &rows, look);
        room
    };
    let line = text::row(area, u16::try_from(used).unwrap_or(u16::MAX));
    let line = Rect { x: line.x + 2, width: line.width.saturating_sub(4), ..line };
    text::put(buf, line, &free_words(board, line.width), look.style(Role::Quiet), look.glyphs.ellipsis);
}

/// How many rows [`draw`] has for what is busy, its heading and the free tanks included.
pub(super) fn busy_height(board: &Board) -> u16 {
    let busy = board.tanks.iter().filter(|t| is_busy(t)).count();
    u16::try_from(if busy == 0 { 1 } else { busy + 2 }).unwrap_or(u16::MAX)
}

fn is_busy(tank: &TankRow) -> bool {
    !tank.held.is_empty() || tank.readiness != Readiness::Ready
}

/// What is over, or soon will be.
fn pressing(tank: &TankRow) -> Option<Standing> {
    tank.held.iter().map(|held| held.standing).max().filter(|standing| *standing >= Standing::AtRisk)
}

/// The free tanks by name, or how many there are.
fn free_words(board: &Board, width: u16) -> String {
    let is_free = |t: &&TankRow| !is_busy(t) && t.station.is_none();
    let free: Vec<&str> = board.tanks.iter().filter(is_free).map(|t| t.name.as_str()).collect();
    let named = format!("free  {}", free.join(" "));
    match free.len() {
        0 => String::new(),
        _ if text::width(&named) <= width => named,
        n => format!("free  {n} more tanks"),
    }
}

/// Two columns, down the left side first, so that a short list does not jump from side to side as it grows. Both sides
/// are laid out over all rows' widths, so that the eye finds the same thing in the same place.
fn in_two(buf: &mut Buffer, area: Rect, rows: &[Vec<Cell>], look: &Look) {
    let width = area.width / 2;
    let left = Rect { width: width.saturating_sub(1), ..area };
    let right = Rect { x: area.x + width, width: area.width - width, ..area };
    let room = usize::from(area.height);
    let half = rows.len().div_ceil(2).max(room.saturating_sub(1)).min(rows.len());
    let heading = room > half;
    table::draw_part(buf, left, COLUMNS, rows, 0..half, None, heading, look);
    table::draw_part(buf, right, COLUMNS, rows, half..rows.len(), None, heading && half < rows.len(), look);
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
    let harm = if held.bar.max.is_unlimited() { String::new() } else { held.harm.to_string() };
    let loud = if held.standing >= Standing::AtRisk { role } else { Role::Strong };
    vec![
        Cell::of(format!("{}{more}", held.name), Role::Strong),
        Cell::plain(format!("{k}/{n}")),
        Cell::of(tank.state_of(held), role),
        Cell::Bar(held.bar, held.standing),
        Cell::of(countdown::left(held.bar.left()), loud),
        Cell::of(harm, loud),
        Cell::plain(held.lift_at.clone().unwrap_or_default()),
    ]
}
