//! The ways of hoists and carriers: time across, the rail down.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;

use super::occupation::first_row;
use super::{Look, moves};
use crate::ids::TankId;
use crate::tui::app::App;
use crate::tui::glyphs::GlyphSet;
use crate::tui::theme::Role;
use crate::tui::widgets::raster::{Pen, Raster};
use crate::tui::widgets::text;
use crate::tui::widgets::time_axis::TimeAxis;
use crate::units::Time;
use crate::view::{Board, Going, StayBar};

/// From so many rows left over on, the moves are listed below the picture.
const LIST: u16 = 6;

/// A row and the cells on it that are taken by a name.
type Cells = (u16, std::ops::Range<u16>);

/// Rows of the rail. Every tank that is shown has its own; two under one name would be read for one another.
struct Rail {
    /// The tanks that are shown, by their place along the rail.
    shown: Vec<usize>,
    /// Rows a tank.
    pitch: u16,
}

impl Rail {
    /// All tanks where there is room. Else those with something to see, and of them as many as fit around what is looked at.
    fn of(board: &Board, app: &App, axis: TimeAxis, plot: Rect) -> Self {
        let room = usize::from(plot.height);
        let all = board.tanks.len();
        if all <= room {
            return Self { shown: (0..all).collect(), pitch: plot.height / (all.max(1) as u16) };
        }
        let rank = |tank: TankId| board.tanks.iter().position(|t| t.tank == tank);
        let looked_at =
            app.desk.tank.or_else(|| app.desk.run(board).and_then(|r| rank(r.from))).or_else(|| {
                let hook = board.hooks.first()?;
                board.tanks.iter().position(|t| t.name == hook.at)
            });
        let mut shown: Vec<usize> = if app.desk.tank.is_some() {
            (0..all).collect()
        } else {
            let seen = tanks_seen(board, axis, plot.width);
            (0..all).filter(|ix| seen.contains(&board.tanks[*ix].tank) || looked_at == Some(*ix)).collect()
        };
        let wanted = looked_at.and_then(|rank| shown.binary_search(&rank).ok());
        shown.drain(..first_row(wanted, shown.len(), room));
        shown.truncate(room);
        Self { shown, pitch: 1 }
    }

    /// The middle of a tank's row, in rows from the top; outside for one above or below those that are shown.
    fn y(&self, rank: usize) -> f64 {
        let row = match self.shown.binary_search(&rank) {
            Ok(ix) => ix as f64 + 0.5,
            Err(0) => self.shown.first().map_or(-1.0, |first| rank as f64 - *first as f64),
            Err(ix) if ix == self.shown.len() => {
                ix as f64 + self.shown.last().map_or(1.0, |last| (rank - last) as f64)
            }
            Err(ix) => ix as f64,
        };
        row * f64::from(self.pitch)
    }

    fn row(&self, rank: usize) -> Option<u16> {
        self.shown.binary_search(&rank).ok().map(|_| self.y(rank) as u16)
    }
}

/// The tanks where something is to be seen in the time that is shown.
fn tanks_seen(board: &Board, axis: TimeAxis, cells: u16) -> Vec<TankId> {
    let (first, last) = axis.ends(cells);
    let seen = |from: Time, to: Time| from < last && to > first;
    let stays = board.times.stays.iter().filter(|s| seen(s.from, end_of(s, board))).map(|s| s.tank);
    let ways = board.times.ways.iter().filter(|w| seen(w.from.0, w.to.0)).flat_map(|w| [w.from.1, w.to.1]);
    stays.chain(ways).collect()
}

pub(super) fn draw(buf: &mut Buffer, area: Rect, board: &Board, app: &App, look: &Look) {
    let tanks = board.tanks.len();
    let want = u16::try_from(tanks).unwrap_or(u16::MAX).saturating_add(1);
    let room = area.height.saturating_sub(moves::CHOSEN);
    let height = if room >= want.saturating_add(LIST) { want } else { room };
    let picture = Rect { height, ..area };
    let chosen = Rect { y: area.y + height, height: moves::CHOSEN.min(area.height - height), ..area };
    let list = Rect { y: chosen.bottom(), height: area.bottom() - chosen.bottom(), ..area };

    let names = board.tanks.iter().map(|t| text::width(&t.name)).max().unwrap_or(0).min(8) + 2;
    let plot = Rect {
        x: area.x + names,
        y: area.y + 1,
        width: area.width.saturating_sub(names + 1),
        height: picture.height.saturating_sub(1),
    };
    let axis = TimeAxis::of(&app.desk, board.now, plot.width);
    axis.draw(buf, Rect { y: area.y, height: 1, ..plot }, board, look);
    let rail = Rail::of(board, app, axis, plot);
    draw_names(buf, Rect { x: area.x, width: names, ..plot }, board, app, &rail, look);
    draw_ways(buf, plot, board, app, axis, &rail, look);
    moves::chosen(buf, chosen, board, app, legend(look), look);
    let hidden = tanks - rail.shown.len();
    if hidden > 0 && app.desk.run(board).is_none() {
        moves::not_shown(buf, chosen, (hidden, tanks), "PgUp, PgDn", look);
    }
    if list.height >= LIST {
        moves::table(buf, list, board, app, look);
    }
}

fn legend(look: &Look) -> &'static str {
    match look.glyphs.set {
        GlyphSet::Full => "level: in a tank (dotted: planned)  steep: a load on its way  grey: hoist empty",
        _ => "= in a tank  - planned  + | / \\ a load on its way  . hoist empty",
    }
}

fn draw_names(buf: &mut Buffer, area: Rect, board: &Board, app: &App, rail: &Rail, look: &Look) {
    let marked = app.desk.run(board).map(|r| (r.from, r.to));
    for (rank, tank) in board.tanks.iter().enumerate() {
        let Some(y) = rail.row(rank) else { continue };
        let ends = marked.is_some_and(|(from, to)| tank.tank == from || tank.tank == to);
        let role = match (ends, tank.held.is_empty()) {
            _ if app.desk.tank == Some(rank) => Role::Chosen,
            (true, _) => Role::Answer,
            (false, true) => Role::Quiet,
            (false, false) => Role::Text,
        };
        let place = Rect { x: area.x + 1, width: area.width.saturating_sub(2), ..text::row(area, y) };
        text::blank(buf, place, ratatui::style::Style::new());
        text::put(buf, place, &tank.name, look.style(role), look.glyphs.ellipsis);
    }
}

fn draw_ways(
    buf: &mut Buffer,
    area: Rect,
    board: &Board,
    app: &App,
    axis: TimeAxis,
    rail: &Rail,
    look: &Look,
) {
    let rank = |tank: TankId| board.tanks.iter().position(|t| t.tank == tank).unwrap_or(0);
    let chosen = app.desk.run(board);
    let mut raster = Raster::new(area, look.glyphs.set);
    let pen = |role: Role, importance: u8, every: usize, level: char| Pen {
        style: look.style(role),
        rank: importance,
        every,
        level,
        slope: Some(level).filter(|c| *c == '.'),
    };
    let mut level = |from: Time, to: Time, tank: TankId, pen: &Pen| {
        if from < to {
            let y = rail.y(rank(tank));
            raster.line((axis.x(from), y), (axis.x(to), y), pen);
        }
    };
    for stay in &board.times.stays {
        let ends = end_of(stay, board);
        let own = chosen.is_some_and(|r| r.carrier == stay.carrier);
        let (role, importance) = if own { (Role::Strong, 5) } else { (Role::Text, 2) };
        level(stay.from, ends.min(board.now), stay.tank, &pen(role, importance, 1, '='));
        level(stay.from.max(board.now), ends, stay.tank, &pen(role, importance, 3, '-'));
    }
    for way in &board.times.ways {
        let (from, to) = (rank(way.from.1), rank(way.to.1));
        let pen = match way.going {
            Going::Loaded(ix) if chosen.is_some_and(|r| board.times.runs.get(ix) == Some(r)) => {
                pen(Role::Answer, 7, 1, '+')
            }
            Going::Loaded(_) => pen(Role::Strong, 4, 1, '+'),
            Going::Empty => pen(Role::Quiet, 1, 3, '.'),
            Going::Waits => pen(Role::Quiet, 1, 6, '.'),
        };
        raster.line((axis.x(way.from.0), rail.y(from)), (axis.x(way.to.0), rail.y(to)), &pen);
    }
    raster.paint(buf);
    if let Some(x) = axis.shown(board.now) {
        for y in 0..area.height {
            if raster.is_blank(x, y) {
                buf[(area.x + x, area.y + y)].set_char(look.glyphs.wall).set_style(look.style(Role::Quiet));
            }
        }
    }
    let hoists = draw_hoists(buf, area, board, axis, rail, look);
    draw_labels(buf, area, hoists, board, app, axis, rail, look);
}

/// Until when a stay is drawn: one that nothing ends goes on to the end of its window, or past now.
fn end_of(stay: &StayBar, board: &Board) -> Time {
    stay.to.or(stay.closes).unwrap_or(board.now).max(stay.to.unwrap_or(board.now))
}

/// Names of carriers on their stays, where they hide nothing: the running ones first.
#[expect(clippy::too_many_arguments, reason = "a painter: where, what and how")]
fn draw_labels(
    buf: &mut Buffer,
    area: Rect,
    mut taken: Vec<Cells>,
    board: &Board,
    app: &App,
    axis: TimeAxis,
    rail: &Rail,
    look: &Look,
) {
    let chosen = app.desk.run(board).map(|r| r.carrier);
    let runs_now = |s: &&StayBar| s.from <= board.now && end_of(s, board) >= board.now;
    let stays = &board.times.stays;
    let order = stays.iter().filter(runs_now).chain(stays.iter().filter(|s| !runs_now(s)));
    for stay in order {
        let now = runs_now(&stay);
        let span = axis.span(stay.from, end_of(stay, board));
        let name = board.carrier(stay.carrier).map_or("", |c| c.name.as_str());
        let w = text::width(name);
        let Some(rank) = board.tanks.iter().position(|t| t.tank == stay.tank) else { continue };
        let Some(y) = rail.row(rank) else { continue };
        // What is in a tank now is always named.
        let room = if now { 0 } else { w + 2 };
        if span.is_empty() || span.end - span.start < room || y >= area.height {
            continue;
        }
        // Beside now, so that all that is in a tank is read down one line.
        let x = match axis.shown(board.now) {
            Some(at) if now && at > span.start + w => at - w - 1,
            _ => span.start + 1,
        };
        let place = x..x + w;
        let hidden =
            taken.iter().any(|(row, t)| *row == y && t.start < place.end + 1 && place.start < t.end + 1);
        if hidden || place.end >= area.width {
            continue;
        }
        let role = if chosen == Some(stay.carrier) {
            Role::Answer
        } else if now {
            Role::Strong
        } else {
            Role::Text
        };
        let at = Rect { x: area.x + place.start, y: area.y + y, width: w, height: 1 };
        text::blank(buf, at, ratatui::style::Style::new());
        text::put(buf, at, name, look.style(role), look.glyphs.ellipsis);
        taken.push((y, place));
    }
}

/// Each hoist by name where it is now; gives back the cells that took.
fn draw_hoists(
    buf: &mut Buffer,
    area: Rect,
    board: &Board,
    axis: TimeAxis,
    rail: &Rail,
    look: &Look,
) -> Vec<Cells> {
    let mut taken = Vec::new();
    let Some(x) = axis.shown(board.now) else { return taken };
    for hook in &board.hooks {
        // Where it was seen last: where the plan would have it by now nobody has said.
        let hangs = hook.carrier.is_some();
        let now = board.now;
        let mut ways = board.times.ways.iter().filter(|_| hangs);
        let way = ways.find(|w| w.hoist == hook.hoist && w.from.0 <= now && now <= w.to.0);
        let rank = |tank: TankId| board.tanks.iter().position(|t| t.tank == tank);
        let y = match way {
            Some(w) => {
                let (Some(a), Some(b)) = (rank(w.from.1), rank(w.to.1)) else { continue };
                let share = (board.now - w.from.0).0 as f64 / (w.to.0 - w.from.0).0.max(1) as f64;
                rail.y(a) + (rail.y(b) - rail.y(a)) * share
            }
            None => match board.tanks.iter().position(|t| t.name == hook.at) {
                Some(rank) => rail.y(rank),
                None => continue,
            },
        };
        if y < 0.0 || y >= f64::from(area.height) {
            continue;
        }
        let label = match (&hook.stop, hook.slow) {
            (Some(_), _) => format!("<{} STOPPED", hook.name),
            (None, Some(percent)) => format!("<{} {percent}%", hook.name),
            (None, None) => format!("<{}", hook.name),
        };
        let width = text::width(&label).min(area.width.saturating_sub(x));
        let row = y as u16;
        let at = Rect { x: area.x + x, y: area.y + row, width, height: 1 };
        text::blank(buf, at.intersection(buf.area), Style::new());
        text::put(buf, at, &label, look.style(Role::Chosen), look.glyphs.ellipsis);
        taken.push((row, x..x + width));
    }
    taken
}
