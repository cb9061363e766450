//! Moves under a picture over time: the chosen one in two lines, and where there is room those around it.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::Look;
use crate::tui::app::App;
use crate::tui::theme::Role;
use crate::tui::widgets::table::{self, Cell, Column, Kind};
use crate::tui::widgets::text;
use crate::units::{Dur, Time};
use crate::view::{Board, Run, When, guess_mark};

const COLUMNS: &[Column] = &[
    Column { head: "lift", kind: Kind::Whole, keep: 9 },
    Column { head: "down", kind: Kind::Whole, keep: 5 },
    Column { head: "load", kind: Kind::Whole, keep: 9 },
    Column { head: "crane", kind: Kind::Whole, keep: 2 },
    Column { head: "from", kind: Kind::Words(8), keep: 8 },
    Column { head: "to", kind: Kind::Words(8), keep: 8 },
    Column { head: "lift by", kind: Kind::Whole, keep: 4 },
    Column { head: "slack", kind: Kind::Figures, keep: 7 },
    Column { head: "", kind: Kind::Whole, keep: 6 },
    Column { head: "why", kind: Kind::Words(12), keep: 3 },
];

/// From so many cells on, tanks are named by what they hold too.
const LABELS: u16 = 100;

/// Rows the chosen move takes.
pub(super) const CHOSEN: u16 = 2;

/// That some of so many tanks have no row, and what brings them.
pub(super) fn not_shown(
    buf: &mut Buffer,
    area: Rect,
    (hidden, all): (usize, usize),
    keys: &str,
    look: &Look,
) {
    let more = format!("{hidden} of {all} tanks not shown: {keys} ");
    text::put_right(buf, text::row(area, 0), &more, look.style(Role::Strong), look.glyphs.ellipsis);
}

/// Paints the chosen move, or how to choose one and what the marks mean.
pub(super) fn chosen(buf: &mut Buffer, area: Rect, board: &Board, app: &App, legend: &str, look: &Look) {
    let e = look.glyphs.ellipsis;
    let Some(run) = app.desk.run(board) else {
        let hint = if app.desk.is_at_now() { "Tab: the next move" } else { "n: back to now" };
        let behind = board.times.behind.map_or_else(String::new, |d| format!("   {d} BEHIND the plan shown"));
        let pieces =
            [(&*format!(" {hint}"), look.style(Role::Text)), (behind.as_str(), look.style(Role::Strong))];
        text::put_all(buf, text::row(area, 0), &pieces, e);
        text::put(buf, text::row(area, 1), &format!(" {legend}"), look.style(Role::Quiet), e);
        return;
    };
    let narrow = area.width < LABELS;
    let place = |id| if narrow { short(board, id) } else { tank(board, id) };
    let (from, to) = (place(run.from), place(run.to));
    let name = name(board, run);
    let route = format!(" {name}  {from} {} {to} ", look.glyphs.arrow);
    let times = format!("  lift {} down {}", clock(board, run, run.lift), clock(board, run, run.down));
    let limit = match (run.when, run.lift_by, run.slack) {
        (When::Past, ..) => "  done".to_owned(),
        (When::UnderWay, ..) => "  under way".to_owned(),
        (_, Some(by), Some(slack)) => {
            let by = board.clock_at(by);
            if slack < Dur::ZERO {
                format!("  by {by}, {} over", -slack)
            } else {
                format!("  by {by} slack {slack}")
            }
        }
        _ => "  no limit".to_owned(),
    };
    let stop = if run.critical { "  NO STOP" } else { "" };
    let strong = look.style(Role::Strong);
    let pieces = [
        (route.as_str(), look.style(Role::Answer)),
        (&times, look.style(Role::Text)),
        (&limit, strong),
        (stop, strong),
    ];
    text::put_all(buf, text::row(area, 0), &pieces, e);
    let why = if run.when == When::Past { past_words(board, run) } else { run.reason.clone() };
    text::put(buf, text::row(area, 1), &format!(" {why}"), look.style(Role::Text), e);
}

fn past_words(board: &Board, run: &Run) -> String {
    let took = run.down - run.lift;
    let stay = board.times.stays.iter().find(|s| s.carrier == run.carrier && s.to == Some(run.lift));
    let before = stay.map_or_else(String::new, |s| {
        let over = s.closes.map(|c| run.lift - c).filter(|d| *d > crate::units::Dur::ZERO);
        let over = over.map_or_else(String::new, |d| format!(", {d} TOO LONG"));
        format!("after {} in the tank{over}; ", run.lift - s.from)
    });
    format!("Lifted {before}{took} from lift to down, by {}.", hoist(board, run))
}

/// Paints the moves around the chosen one, or around now.
pub(super) fn table(buf: &mut Buffer, area: Rect, board: &Board, app: &App, look: &Look) {
    let runs = &board.times.runs;
    let chosen = app.desk.run(board).and_then(|run| runs.iter().position(|r| r.key() == run.key()));
    let to_come = runs.iter().position(|r| r.when != When::Past).unwrap_or(runs.len());
    let room = usize::from(area.height.saturating_sub(1));
    let lead = 3.min(room / 3);
    let first = chosen.unwrap_or(to_come).saturating_sub(lead).min(runs.len().saturating_sub(room));
    let shown = &runs[first..runs.len().min(first + room)];
    let rows: Vec<Vec<Cell>> = shown.iter().map(|r| row(board, r)).collect();
    table::draw(buf, area, COLUMNS, &rows, chosen.map(|ix| ix - first), true, look);
}

fn row(board: &Board, run: &Run) -> Vec<Cell> {
    let role = if run.when == When::Past { Role::Quiet } else { Role::Text };
    let mark = match run.when {
        When::Past => "done",
        When::UnderWay => "NOW",
        When::Planned if run.critical => "NO STOP",
        When::Planned if run.lift < board.now => "behind plan",
        When::Planned => "",
    };
    let late = run.slack.is_some_and(|s| s < Dur::ZERO);
    vec![
        Cell::of(clock(board, run, run.lift), role),
        Cell::of(clock(board, run, run.down), role),
        Cell::of(name(board, run), if run.when == When::Past { role } else { Role::Strong }),
        Cell::of(hoist(board, run), role),
        Cell::of(tank(board, run.from), role),
        Cell::of(tank(board, run.to), role),
        Cell::of(run.lift_by.map_or_else(String::new, |t| board.clock_at(t)), role),
        Cell::of(run.slack.map_or_else(String::new, Dur::as_left), if late { Role::Over } else { role }),
        Cell::of(mark, role),
        Cell::of(run.reason.as_str(), role),
    ]
}

/// A time of a move, marked if it is a guess.
fn clock(board: &Board, run: &Run, t: Time) -> String {
    board.clock_at(t) + guess_mark(run.guess)
}

pub(super) fn name<'b>(board: &'b Board, run: &Run) -> &'b str {
    board.carrier(run.carrier).map_or("?", |c| c.name.as_str())
}

fn hoist<'b>(board: &'b Board, run: &Run) -> &'b str {
    board.hooks.iter().find(|h| h.hoist == run.hoist).map_or("?", |h| h.name.as_str())
}

fn short(board: &Board, id: crate::ids::TankId) -> String {
    board.tanks.iter().find(|t| t.tank == id).map_or_else(String::new, |t| t.name.clone())
}

fn tank(board: &Board, id: crate::ids::TankId) -> String {
    board.tanks.iter().find(|t| t.tank == id).map_or_else(String::new, |t| format!("{} {}", t.name, t.label))
}
