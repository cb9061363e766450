//! The next calls, then the carriers that wait to start.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::Look;
use crate::tui::theme::Role;
use crate::tui::widgets::table::{self, Cell, Column, Kind};
use crate::tui::widgets::{countdown, text};
use crate::units::Dur;
use crate::view::{Board, Mark, NextCall, QueueRow};

const NEXT: &[Column] = &[
    Column { head: "at", kind: Kind::Whole, keep: 9 },
    Column { head: "", kind: Kind::Whole, keep: 6 },
    Column { head: "load", kind: Kind::Whole, keep: 9 },
    Column { head: "move", kind: Kind::Words(9), keep: 8 },
    Column { head: "why", kind: Kind::Words(12), keep: 2 },
    Column { head: "slack", kind: Kind::Figures, keep: 4 },
    Column { head: "", kind: Kind::Whole, keep: 7 },
];

const QUEUE: &[Column] = &[
    Column { head: "starts", kind: Kind::Whole, keep: 9 },
    Column { head: "", kind: Kind::Whole, keep: 6 },
    Column { head: "load", kind: Kind::Whole, keep: 9 },
    Column { head: "order", kind: Kind::Words(9), keep: 8 },
    Column { head: "recipe", kind: Kind::Words(6), keep: 2 },
    Column { head: "due", kind: Kind::Figures, keep: 4 },
    Column { head: "done", kind: Kind::Figures, keep: 5 },
    Column { head: "", kind: Kind::Whole, keep: 7 },
];

/// With fewer rows each of the two lists has no room for its heading.
const HEADED: u16 = 7;

pub(super) fn draw(buf: &mut Buffer, area: Rect, board: &Board, chosen: Option<usize>, look: &Look) {
    let next: Vec<Vec<Cell>> = board.next.iter().map(|n| next_row(n, look)).collect();
    let headed = area.height >= HEADED;
    let queue: Vec<Vec<Cell>> = board.queue.iter().map(|q| queue_row(q, headed)).collect();
    if next.is_empty() && queue.is_empty() {
        text::put(buf, text::row(area, 0), "  nothing waits", look.style(Role::Text), look.glyphs.ellipsis);
        return;
    }
    let count =
        |rows: &[Vec<Cell>]| u16::try_from(rows.len()).unwrap_or(u16::MAX).saturating_add(u16::from(headed));
    let (calls, of_queue) = (next.len(), count(&queue));
    // What is to be done comes first; the queue keeps a third, more if there is room, most while a row of it is chosen.
    let in_queue = chosen.is_some_and(|ix| ix >= calls);
    // A row and how many more there are is the least that can be read, below a heading if there is one.
    let least = if headed { 3 } else { 2 };
    let kept = if in_queue { area.height / 2 } else { (area.height / 3).max(least) };
    let most = if queue.is_empty() { area.height } else { area.height.saturating_sub(of_queue.min(kept)) };
    // A reason that has no room beside its move goes on below it, if all calls stay in sight.
    let (tall, begins) = table::unfolded(NEXT, &next, area.width);
    let (next, begins) =
        if count(&tall) <= most { (tall, begins) } else { (next, (0..calls).collect::<Vec<_>>()) };
    let up = match (next.is_empty(), queue.is_empty()) {
        (true, _) => 0,
        (_, true) => area.height,
        _ => count(&next).min(most),
    };
    let upper = Rect { height: up, ..area };
    let lower = Rect { y: area.y + up, height: area.height - up, ..area };
    let in_next = chosen.and_then(|ix| begins.get(ix).copied());
    table::draw(buf, upper, NEXT, &next, in_next, headed, look);
    table::draw(buf, lower, QUEUE, &queue, chosen.and_then(|ix| ix.checked_sub(calls)), headed, look);
}

/// Cells that hold both lists whole.
pub(super) fn cells(board: &Board, look: &Look) -> u16 {
    let next: Vec<Vec<Cell>> = board.next.iter().map(|n| next_row(n, look)).collect();
    let queue: Vec<Vec<Cell>> = board.queue.iter().map(|q| queue_row(q, true)).collect();
    table::whole(NEXT, &next).max(table::whole(QUEUE, &queue))
}

fn next_row(n: &NextCall, look: &Look) -> Vec<Cell> {
    vec![
        Cell::plain(n.at.as_str()),
        Cell::plain(n.who_does_what()),
        Cell::of(n.carrier.as_str(), Role::Strong),
        Cell::plain(format!("{} {} {}", n.from.name, look.glyphs.arrow, n.to.name)),
        Cell::plain(n.reason.as_str()),
        Cell::plain(n.slack.map_or_else(String::new, Dur::as_left)),
        Cell::plain(if n.critical { "NO STOP" } else { "" }),
    ]
}

/// Two times of day without a heading say themselves which they are.
fn queue_row(q: &QueueRow, headed: bool) -> Vec<Cell> {
    let time = |head: &str, at: &Option<String>| match at {
        Some(at) if headed => at.clone(),
        Some(at) => format!("{head} {at}"),
        None => String::new(),
    };
    let late = q.late.map_or_else(String::new, countdown::late);
    vec![
        Cell::plain(q.release.as_deref().unwrap_or("not yet")),
        Cell::plain(match (q.marks.contains(&Mark::Held), q.rush) {
            (true, _) => Mark::Held.word(),
            (false, true) => "RUSH",
            (false, false) => "",
        }),
        Cell::of(q.carrier.as_str(), Role::Strong),
        Cell::plain(format!("{} {}", q.order, q.label)),
        Cell::plain(q.recipe.as_str()),
        Cell::plain(time("due", &q.due)),
        Cell::plain(time("done", &q.finish)),
        Cell::of(late, Role::Soon),
    ]
}
