//! What happened, the latest first; late and taken-back entries say so. What is too long for a row goes on below it.

use std::ops::Range;

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::Look;
use super::live::split_down;
use crate::tui::theme::Role;
use crate::tui::widgets::table::{self, Cell, Column, Kind};
use crate::tui::widgets::text;
use crate::view::{Board, LogRow};

const COLUMNS: &[Column] = &[
    Column { head: "at", kind: Kind::Whole, keep: 9 },
    Column { head: "no", kind: Kind::Figures, keep: 3 },
    Column { head: "who", kind: Kind::Whole, keep: 2 },
    Column { head: "what", kind: Kind::Words(20), keep: 9 },
];

/// Columns where there are fewer cells than [`NARROW`].
const FEW: &[Column] = &[COLUMNS[0], COLUMNS[3]];

/// With fewer cells what happened has the room of number and hand.
const NARROW: u16 = 60;

/// With fewer rows there is no heading.
const HEADED: u16 = 5;

pub(super) fn draw(buf: &mut Buffer, area: Rect, board: &Board, chosen: Option<usize>, look: &Look) {
    let columns = if area.width < NARROW { FEW } else { COLUMNS };
    let firsts: Vec<Vec<Cell>> = board.log.iter().map(|row| cells(row, true, "", columns)).collect();
    let across = area.width.saturating_sub(table::whole(columns, &firsts)) + text::width("what");
    let lines = |n: usize| text::wrap(&board.log[n].words(), across);
    let headed = area.height >= HEADED;
    let count = board.log.len();
    let chosen = chosen.filter(|n| *n < count);
    let room = usize::from(area.height) - usize::from(headed);
    let seen = window(count, room, chosen, headed, |n| lines(n).len());
    let mut rows = Vec::new();
    let mut pointed = None;
    for n in seen.clone() {
        pointed = pointed.or((chosen == Some(n)).then_some(rows.len()));
        let entry = lines(n).into_iter().enumerate();
        rows.extend(entry.map(|(k, line)| cells(&board.log[n], k == 0, &line, columns)));
    }
    let (above, below) = (seen.start, count - seen.end);
    // The count of what is above has the place of the heading.
    let (up, body) = split_down(area, u16::from(above > 0));
    table::more(buf, up, above, look.glyphs.up, look);
    let (body, down) = split_down(body, body.height - u16::from(below > 0));
    table::more(buf, down, below, look.glyphs.down, look);
    table::draw(buf, body, columns, &rows, pointed, headed && above == 0, look);
}

/// A line of an entry; only the first has more than words.
fn cells(row: &LogRow, is_first: bool, line: &str, columns: &[Column<'_>]) -> Vec<Cell> {
    let role = if row.undone { Role::Quiet } else { Role::Text };
    let cell = |column: &Column<'_>| match column.head {
        "what" => Cell::of(line, role),
        _ if !is_first => Cell::Empty,
        "at" => Cell::of(row.at.as_str(), role),
        "no" => Cell::of(row.seq.0.to_string(), Role::Quiet),
        _ => Cell::of(row.who, Role::Quiet),
    };
    columns.iter().map(cell).collect()
}

/// The entries that are seen: from the latest on, or so that the chosen one is the last. What is out of sight is counted in a
/// line of its own below, and above unless a heading gives way.
fn window(
    count: usize,
    room: usize,
    chosen: Option<usize>,
    headed: bool,
    height: impl Fn(usize) -> usize,
) -> Range<usize> {
    let counts_above = |first: usize| usize::from(first > 0 && !headed);
    let last = chosen.unwrap_or(0);
    // Upwards from the chosen one as far as there is room for it and both counts.
    let mut first = last;
    let mut used = if count > 0 { height(last) } else { 0 };
    while first > 0
        && used + height(first - 1) + counts_above(first - 1) + usize::from(last + 1 < count) <= room
    {
        first -= 1;
        used += height(first);
    }
    let room = room.saturating_sub(counts_above(first));
    let (mut end, mut used) = (first, 0);
    while end < count && used + height(end) + usize::from(end + 1 < count) <= room {
        used += height(end);
        end += 1;
    }
    // An entry that is longer than the room is cut, not left out.
    first..if count > 0 { end.max((first + 1).min(count)) } else { end }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_chosen_entry_is_seen_and_nothing_is_cut_where_there_is_room() {
        for room in 4..12_usize {
            for chosen in [None, Some(0), Some(7), Some(19)] {
                let height = |n: usize| 1 + n % 2;
                let seen = window(20, room, chosen, false, height);
                let lines: usize = seen.clone().map(height).sum();
                let counts = usize::from(seen.start > 0) + usize::from(seen.end < 20);
                assert!(lines + counts <= room, "{room} {chosen:?} {seen:?}");
                assert!(chosen.is_none_or(|c| seen.contains(&c)), "{room} {chosen:?} {seen:?}");
            }
        }
        assert_eq!(window(0, 5, None, true, |_| 1), 0..0);
    }
}
