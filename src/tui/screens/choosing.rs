//! Moves to choose from, where the call would stand.
//!
//! ```text
//! WHAT NEXT?  a tight window                            the call is hidden
//!   1  PICK B07  T06 Etch                    > T07 Etch rinse, first
//!   2  PICK B09  T15 Anodise D               > T16 Anodise rinse, first
//! ```

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::Look;
use crate::tui::choosing::Choosing;
use crate::tui::theme::Role;
use crate::tui::widgets::table::{self, Cell, Column, Kind};
use crate::tui::widgets::{big, text};

/// Areas lower than this have no rows to spare for big letters.
const ROOMY: u16 = 34;

/// Rows of the letters at the most.
const LETTERS: u16 = 8;

const HEAD: &str = "WHAT NEXT?";

/// Paints them at the top of the area and says how many rows they took.
pub(super) fn draw(buf: &mut Buffer, area: Rect, choosing: &Choosing, look: &Look) -> u16 {
    let e = look.glyphs.ellipsis;
    let inner = Rect { x: area.x + 1, width: area.width.saturating_sub(2), ..area };
    let mut y = 0;
    if area.height >= ROOMY {
        let space = Rect { y: inner.y + 1, height: LETTERS, ..inner };
        if let Some(plan) = big::plan(space, HEAD, "", "", look.glyphs.set) {
            big::draw(buf, space, HEAD, plan.words, look.style(Role::Strong), look);
            y = plan.words.height() + 2;
        }
    }
    let row = text::row(inner, y);
    let about = format!("  {}", choosing.about);
    let head = [(HEAD, look.style(Role::Chosen)), (about.as_str(), look.style(Role::Text))];
    let head = if y == 0 { &head[..] } else { &head[1..] };
    let used = text::put_all(buf, row, head, e);
    let rest = Rect { x: row.x + used, width: row.width.saturating_sub(used), ..row };
    text::put_right(buf, rest, "the call is hidden", look.style(Role::Quiet), e);
    let rows: Vec<Vec<Cell>> = (1..).zip(&choosing.rows).map(|(n, r)| cells(n, r)).collect();
    let waits = choosing.rows.iter().any(|r| r.waits.is_some());
    let columns = [("", 9), ("pick", 9), ("from", 7), ("to", 8), ("can begin", 9)];
    let columns = columns.into_iter().filter(|(head, _)| waits || *head != "can begin");
    let columns: Vec<Column> =
        columns.map(|(head, keep)| Column { head, kind: Kind::Words(8), keep }).collect();
    let height = u16::try_from(rows.len() + 1).unwrap_or(u16::MAX);
    let at = Rect { y: inner.y + y + 1, height, ..inner };
    table::draw(buf, at, &columns, &rows, Some(choosing.cursor), true, look);
    y + height + 2
}

fn cells(n: usize, row: &crate::view::ChoiceRow) -> Vec<Cell> {
    let n = n.to_string();
    let begins = row.waits.map_or_else(|| "now".to_owned(), |by| format!("in {}", by.up_to_second()));
    [&n, &row.carrier, &row.from, &row.to, &begins].map(|part| Cell::plain(part.as_str())).into()
}
