//! Tables that never cut a figure: a column that does not fit is left out whole, text is cut with an ellipsis, rows that
//! do not fit are counted.

use std::ops::Range;

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::{Color, Style};

use super::text;
use super::window_bar;
use crate::tui::screens::Look;
use crate::tui::theme::Role;
use crate::view::{Bar, Standing};

/// Cells at the left, for the mark of the chosen row.
const GUTTER: u16 = 2;

/// One column.
#[derive(Debug, Clone, Copy)]
pub struct Column<'h> {
    /// Its heading.
    pub head: &'h str,
    /// How it gives way.
    pub kind: Kind,
    /// Columns with the lowest number go first when there is no room.
    pub keep: u8,
}

/// How a column gives way.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// Figures and names: whole or not at all, to the left.
    Whole,
    /// Figures: whole or not at all, to the right.
    Figures,
    /// Words: may be cut down to this many cells.
    Words(u16),
    /// A window bar of at least this many cells.
    Bar(u16),
}

/// One cell.
#[derive(Debug, Clone)]
pub enum Cell {
    /// Text in a role.
    Text(String, Role),
    /// A window bar.
    Bar(Bar, Standing),
    /// Nothing.
    Empty,
}

impl Cell {
    /// Ordinary text.
    pub fn plain(text: impl Into<String>) -> Self {
        Self::Text(text.into(), Role::Text)
    }
    /// Text in a role.
    pub fn of(text: impl Into<String>, role: Role) -> Self {
        Self::Text(text.into(), role)
    }
    /// The cell in pieces that fit, if it is of words; the others are whole or left out.
    fn broken(&self, kind: Kind, width: Option<u16>) -> Vec<Self> {
        match (self, kind, width) {
            (Self::Text(t, role), Kind::Words(_), Some(w)) if text::width(t) > w => {
                text::wrap(t, w).into_iter().map(|part| Self::Text(part, *role)).collect()
            }
            _ => vec![self.clone()],
        }
    }
    fn width(&self) -> u16 {
        match self {
            Self::Text(t, _) => text::width(t),
            Self::Bar(..) | Self::Empty => 0,
        }
    }
}

/// Paints heading and rows; `chosen` is kept in sight. Rows that do not fit are counted in the last row.
pub fn draw(
    buf: &mut Buffer,
    area: Rect,
    columns: &[Column<'_>],
    rows: &[Vec<Cell>],
    chosen: Option<usize>,
    heading: bool,
    look: &Look,
) {
    draw_part(buf, area, columns, rows, 0..rows.len(), chosen, heading, look);
}

/// Like [`draw`] for some of the rows only; the columns are as wide as all rows need.
#[expect(clippy::too_many_arguments, reason = "a painter: where, what and how")]
pub fn draw_part(
    buf: &mut Buffer,
    area: Rect,
    columns: &[Column<'_>],
    rows: &[Vec<Cell>],
    part: Range<usize>,
    chosen: Option<usize>,
    heading: bool,
    look: &Look,
) {
    let area = area.intersection(buf.area);
    if area.is_empty() {
        return;
    }
    let widths = widths(columns, rows, area.width.saturating_sub(GUTTER));
    let mut y = 0;
    if heading && (area.height > 2 || usize::from(area.height) > part.len()) {
        let mut x = area.x + GUTTER;
        for (column, w) in columns.iter().zip(&widths) {
            let Some(w) = *w else { continue };
            let cell = Rect { x, y: area.y, width: w, height: 1 };
            let style = look.style(Role::Quiet);
            if column.kind == Kind::Figures {
                text::put_right(buf, cell, column.head, style, look.glyphs.ellipsis);
            } else {
                text::put(buf, cell, column.head, style, look.glyphs.ellipsis);
            }
            x += w + 1;
        }
        y = 1;
    }
    let room = usize::from(area.height - y);
    let chosen = chosen.filter(|ix| part.contains(ix)).map(|ix| ix - part.start);
    let rows = &rows[part];
    let (first, shown, above, below) = window(rows.len(), room, chosen);
    if above > 0 {
        more(buf, text::row(area, y), above, look.glyphs.up, look);
        y += 1;
    }
    for (ix, row) in rows.iter().enumerate().skip(first).take(shown) {
        let line = text::row(area, y);
        let is_chosen = chosen == Some(ix);
        draw_row(buf, line, columns, &widths, row, look);
        if is_chosen {
            for x in line.left()..line.right() {
                let cell = &mut buf[(x, line.y)];
                // A coloured field stays as it is; grey on the reversed one could not be read.
                if cell.bg == Color::Reset {
                    cell.fg = Color::Reset;
                    cell.set_style(look.style(Role::Chosen));
                }
            }
            buf[(line.x, line.y)].set_char(look.glyphs.pointer);
        }
        y += 1;
    }
    if below > 0 {
        more(buf, text::row(area, y), below, look.glyphs.down, look);
    }
}

fn draw_row(
    buf: &mut Buffer,
    line: Rect,
    columns: &[Column<'_>],
    widths: &[Option<u16>],
    row: &[Cell],
    look: &Look,
) {
    let mut x = line.x + GUTTER;
    for ((column, w), cell) in columns.iter().zip(widths).zip(row) {
        let Some(w) = *w else { continue };
        let area = Rect { x, y: line.y, width: w, height: 1 };
        match cell {
            Cell::Text(t, role) => {
                let style: Style = look.style(*role);
                if column.kind == Kind::Figures {
                    text::put_right(buf, area, t, style, look.glyphs.ellipsis);
                } else {
                    text::put(buf, area, t, style, look.glyphs.ellipsis);
                }
            }
            Cell::Bar(bar, standing) => window_bar::draw(buf, area, bar, *standing, look),
            Cell::Empty => {}
        }
        x += w + 1;
    }
}

/// Counts rows that are out of sight; nothing if none are.
pub fn more(buf: &mut Buffer, line: Rect, count: usize, mark: char, look: &Look) {
    if count == 0 {
        return;
    }
    let text = format!("  {count} more {mark}");
    text::put(buf, line, &text, look.style(Role::Strong), look.glyphs.ellipsis);
}

/// First row, rows shown, rows above, rows below, so that the chosen row is in sight and the counts have a line each.
fn window(count: usize, room: usize, chosen: Option<usize>) -> (usize, usize, usize, usize) {
    if count <= room {
        return (0, count, 0, 0);
    }
    if room == 0 {
        return (0, 0, 0, 0);
    }
    let chosen = chosen.unwrap_or(0).min(count - 1);
    // With one line below only, then with one above as well.
    let from_top = room - 1;
    if chosen < from_top || room < 3 {
        return (0, from_top, 0, count - from_top);
    }
    if chosen >= count - (room - 1).min(count) {
        let shown = room - 1;
        return (count - shown, shown, count - shown, 0);
    }
    let shown = room.saturating_sub(2);
    let first = (chosen + 1).saturating_sub(shown);
    (first, shown, first, count - first - shown)
}

/// True if so many cells hold every column whole, words too.
pub fn fits(columns: &[Column<'_>], rows: &[Vec<Cell>], cells: u16) -> bool {
    whole(columns, rows) <= cells
}

/// How many cells hold every column whole.
pub fn whole(columns: &[Column<'_>], rows: &[Vec<Cell>]) -> u16 {
    let widest = |i: usize| rows.iter().filter_map(|r| r.get(i)).map(Cell::width).max().unwrap_or(0);
    let columns = columns.iter().enumerate().map(|(i, c)| widest(i).max(text::width(c.head)));
    let cells = columns.fold(0, |all: u16, w| all.saturating_add(w).saturating_add(1));
    cells.saturating_sub(1).saturating_add(GUTTER)
}

/// The headings of columns that are left out where there are so many cells.
pub fn left_out<'h>(columns: &[Column<'h>], rows: &[Vec<Cell>], cells: u16) -> Vec<&'h str> {
    let widths = widths(columns, rows, cells.saturating_sub(GUTTER));
    columns.iter().zip(widths).filter(|(_, w)| w.is_none()).map(|(c, _)| c.head).collect()
}

/// True if a cell of words is cut where there are so many cells.
pub fn cuts(columns: &[Column<'_>], rows: &[Vec<Cell>], row: usize, cells: u16) -> bool {
    let widths = widths(columns, rows, cells.saturating_sub(GUTTER));
    let cut = |(w, cell): (Option<u16>, &Cell)| w.is_some_and(|w| cell.width() > w);
    rows.get(row).is_some_and(|row| widths.into_iter().zip(row).any(cut))
}

/// The rows with words that would be cut told on as many rows as they need, and where each of them begins.
pub fn unfolded(columns: &[Column<'_>], rows: &[Vec<Cell>], cells: u16) -> (Vec<Vec<Cell>>, Vec<usize>) {
    unfolded_within(columns, rows, cells, usize::MAX, 0..rows.len())
}

/// The same for as many of the rows as have room in so many lines, in the order in which they matter; the others are on one
/// line each.
pub fn unfolded_within(
    columns: &[Column<'_>],
    rows: &[Vec<Cell>],
    cells: u16,
    room: usize,
    order: impl Iterator<Item = usize>,
) -> (Vec<Vec<Cell>>, Vec<usize>) {
    let widths = widths(columns, rows, cells.saturating_sub(GUTTER));
    let broken = |row: &Vec<Cell>| -> Vec<Vec<Cell>> {
        let cells = row.iter().zip(columns).zip(&widths);
        let parts: Vec<Vec<Cell>> = cells.map(|((cell, column), w)| cell.broken(column.kind, *w)).collect();
        let height = parts.iter().map(Vec::len).max().unwrap_or(1);
        let nth = |n: usize| parts.iter().map(|p| p.get(n).cloned().unwrap_or(Cell::Empty)).collect();
        (0..height).map(nth).collect()
    };
    let mut lines: Vec<Vec<Vec<Cell>>> = rows.iter().map(|row| vec![row.clone()]).collect();
    let mut spare = room.saturating_sub(rows.len());
    for ix in order {
        // A chosen row may be gone by now.
        let Some(parts) = rows.get(ix).map(broken) else { continue };
        if lines[ix].len() == 1 && parts.len() - 1 <= spare {
            spare -= parts.len() - 1;
            lines[ix] = parts;
        }
    }
    let begins = lines.iter().scan(0, |at, l| Some(std::mem::replace(at, *at + l.len()))).collect();
    (lines.concat(), begins)
}

/// The width of each column, `None` for those that are left out.
fn widths(columns: &[Column<'_>], rows: &[Vec<Cell>], total: u16) -> Vec<Option<u16>> {
    let content: Vec<u16> = (0..columns.len())
        .map(|i| rows.iter().map(|r| r.get(i).map_or(0, Cell::width)).max().unwrap_or(0))
        .collect();
    let least = |i: usize| match columns[i].kind {
        Kind::Whole | Kind::Figures => content[i].max(text::width(columns[i].head)),
        Kind::Words(min) => min.min(content[i].max(text::width(columns[i].head))),
        Kind::Bar(min) => min,
    };
    let mut used: Vec<bool> = vec![true; columns.len()];
    loop {
        let count = used.iter().filter(|u| **u).count();
        let need: u16 = (0..columns.len()).filter(|i| used[*i]).map(least).sum::<u16>()
            + u16::try_from(count.saturating_sub(1)).unwrap_or(0);
        if need <= total || count <= 1 {
            break;
        }
        let Some(drop) = (0..columns.len()).filter(|i| used[*i]).min_by_key(|i| columns[*i].keep) else {
            break;
        };
        used[drop] = false;
    }
    let mut widths: Vec<Option<u16>> = (0..columns.len()).map(|i| used[i].then(|| least(i))).collect();
    let count = u16::try_from(used.iter().filter(|u| **u).count()).unwrap_or(1);
    let mut spare = total.saturating_sub(widths.iter().flatten().sum::<u16>() + count.saturating_sub(1));
    // Words first, up to what they need, then bars.
    for (i, column) in columns.iter().enumerate() {
        if let (Kind::Words(_), Some(w)) = (column.kind, &mut widths[i]) {
            let more = content[i].saturating_sub(*w).min(spare);
            *w += more;
            spare -= more;
        }
    }
    for (i, column) in columns.iter().enumerate() {
        if let (Kind::Bar(min), Some(w)) = (column.kind, &mut widths[i]) {
            let more = spare.min(min * 2);
            *w += more;
            spare -= more;
        }
    }
    widths
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rows_out_of_sight_are_counted_and_the_chosen_one_is_in_sight() {
        for count in 0..40_usize {
            for room in 1..12 {
                for chosen in [None, Some(0), Some(count / 2), Some(count.saturating_sub(1))] {
                    let (first, shown, above, below) = window(count, room, chosen);
                    let lines = shown + usize::from(above > 0) + usize::from(below > 0);
                    assert!(lines <= room, "{count} {room} {chosen:?}");
                    assert_eq!(above + shown + below, count, "{count} {room} {chosen:?}");
                    if let Some(c) = chosen.filter(|c| *c < count && room > 2) {
                        assert!((first..first + shown).contains(&c), "{count} {room} {c}");
                    }
                }
            }
        }
    }
}
