//! What happened, the latest first; late and taken-back entries say so.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::Look;
use crate::tui::theme::Role;
use crate::tui::widgets::table::{self, Cell, Column, Kind};
use crate::view::Board;

const COLUMNS: &[Column] = &[
    Column { head: "at", kind: Kind::Whole, keep: 9 },
    Column { head: "no", kind: Kind::Figures, keep: 3 },
    Column { head: "who", kind: Kind::Whole, keep: 2 },
    Column { head: "what", kind: Kind::Words(20), keep: 9 },
    Column { head: "", kind: Kind::Whole, keep: 8 },
];

pub(super) fn draw(buf: &mut Buffer, area: Rect, board: &Board, chosen: Option<usize>, look: &Look) {
    let rows: Vec<Vec<Cell>> = board
        .log
        .iter()
        .map(|l| {
            let note = match (l.undone, l.retimed, l.late) {
                (true, _, _) => "TAKEN BACK".to_owned(),
                (false, true, _) => "time changed".to_owned(),
                (false, false, Some(late)) => format!("said {late} late"),
                (false, false, None) => String::new(),
            };
            let role = if l.undone { Role::Quiet } else { Role::Text };
            vec![
                Cell::of(l.at.as_str(), role),
                Cell::of(l.seq.0.to_string(), Role::Quiet),
                Cell::of(l.who, Role::Quiet),
                Cell::of(l.text.as_str(), role),
                Cell::of(note, Role::Strong),
            ]
        })
        .collect();
    table::draw(buf, area, COLUMNS, &rows, chosen, area.height > 4, look);
}
