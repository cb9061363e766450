//! The next calls, then the carriers that wait to start.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::Look;
use crate::tui::theme::Role;
use crate::tui::widgets::table::{self, Cell, Column, Kind};
use crate::tui::widgets::text;
use crate::view::{Board, Mark};

const COLUMNS: &[Column] = &[
    Column { head: "at", kind: Kind::Whole, keep: 9 },
    Column { head: "", kind: Kind::Whole, keep: 6 },
    Column { head: "load", kind: Kind::Whole, keep: 9 },
    Column { head: "move / order", kind: Kind::Words(11), keep: 8 },
    Column { head: "why / recipe", kind: Kind::Words(6), keep: 2 },
    Column { head: "slack/due", kind: Kind::Figures, keep: 4 },
    Column { head: "ready", kind: Kind::Figures, keep: 5 },
    Column { head: "", kind: Kind::Whole, keep: 7 },
];

pub(super) fn draw(buf: &mut Buffer, area: Rect, board: &Board, chosen: Option<usize>, look: &Look) {
    let dot = look.glyphs.arrow;
    let mut rows: Vec<Vec<Cell>> = board
        .next
        .iter()
        .map(|n| {
            vec![
                Cell::plain(n.at.as_str()),
                Cell::plain(n.verb.short()),
                Cell::of(n.carrier.as_str(), Role::Strong),
                Cell::plain(format!("{} {dot} {}", n.from.name, n.to.name)),
                Cell::plain(n.reason.as_str()),
                Cell::plain(n.slack.map_or_else(String::new, |d| d.to_string())),
                Cell::Empty,
                Cell::plain(if n.critical { "NO STOP" } else { "" }),
            ]
        })
        .collect();
    rows.extend(board.queue.iter().map(|q| {
        let late = q.late.map_or_else(String::new, |d| format!("LATE {d}"));
        vec![
            Cell::plain(q.release.as_ref().map_or_else(|| "not yet".to_owned(), |t| format!("{t}:--"))),
            Cell::plain(match (q.marks.contains(&Mark::Held), q.rush) {
                (true, _) => Mark::Held.word(),
                (false, true) => "RUSH",
                (false, false) => "start",
            }),
            Cell::of(q.carrier.as_str(), Role::Strong),
            Cell::plain(format!("{} {}", q.order, q.label)),
            Cell::plain(q.recipe.as_str()),
            Cell::plain(q.due.clone().unwrap_or_default()),
            Cell::plain(q.finish.clone().unwrap_or_default()),
            Cell::of(late, Role::Soon),
        ]
    }));
    if rows.is_empty() {
        text::put(buf, text::row(area, 0), "  nothing waits", look.style(Role::Text), look.glyphs.ellipsis);
        return;
    }
    table::draw(buf, area, COLUMNS, &rows, chosen, area.height > 3, look);
}
