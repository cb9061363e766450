//! What is in each tank over time: a row a tank, a bar from in to out, and where its window ends.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::{Look, moves};
use crate::tui::app::App;
use crate::tui::theme::Role;
use crate::tui::widgets::text;
use crate::tui::widgets::time_axis::TimeAxis;
use crate::units::{Dur, Time};
use crate::view::{Board, ShutWhy, Standing, StayBar, TankRow};

/// From so many rows left over on, the moves are listed below the picture.
const LIST: u16 = 6;

/// From so many cells on, tanks are named by what they hold too.
const LABELS: u16 = 100;

/// Rows that are kept in sight above and below the chosen tank.
const AROUND: usize = 2;

pub(super) fn draw(buf: &mut Buffer, area: Rect, board: &Board, app: &App, look: &Look) {
    let rows = board.tanks.len();
    let want = u16::try_from(rows).unwrap_or(u16::MAX).saturating_add(1);
    let height = want.min(area.height.saturating_sub(moves::CHOSEN));
    let chosen = Rect { y: area.y + height, height: moves::CHOSEN.min(area.height - height), ..area };
    let list = Rect { y: chosen.bottom(), height: area.bottom() - chosen.bottom(), ..area };

    let names = board.tanks.iter().map(|t| text::width(&t.name)).max().unwrap_or(0).min(8) + 2;
    let labels = board.tanks.iter().map(|t| text::width(&t.label)).max().unwrap_or(0);
    let wide = area.width >= LABELS;
    let names = names + if wide { labels.min(area.width / 8) + 1 } else { 0 };
    let plot = Rect {
        x: area.x + names,
        y: area.y + 1,
        width: area.width.saturating_sub(names + 1),
        height: height.saturating_sub(1),
    };
    let axis = TimeAxis::of(&app.desk, board.now, plot.width);
    axis.draw(buf, Rect { y: area.y, height: 1, ..plot }, board, look);
    let room = usize::from(plot.height);
    let tanks = seen(board, app, axis, plot.width, room);
    let run = app.desk.run(board);
    let first = {
        let wanted = tanks.iter().position(|(rank, tank)| match app.desk.tank {
            Some(chosen) => *rank == chosen,
            None => run.is_some_and(|r| r.from == tank.tank),
        });
        first_row(wanted, tanks.len(), room)
    };
    for (y, (rank, tank)) in tanks.iter().skip(first).take(room).enumerate() {
        let line = text::row(plot, y as u16);
        let is_chosen = app.desk.tank == Some(*rank);
        name(buf, Rect { x: area.x, width: names, ..line }, tank, wide, is_chosen, look);
        Lane { area: line, axis, board, app, look }.draw(buf, tank);
    }
    let legend = legend(look);
    moves::chosen(buf, chosen, board, app, &legend, look);
    let hidden = rows - tanks.len().min(room);
    if hidden > 0 && run.is_none() {
        moves::not_shown(buf, chosen, (hidden, rows), "Up, Down", look);
    }
    if list.height >= LIST {
        moves::table(buf, list, board, app, look);
    }
}

/// The tanks that get a row. Where not all fit, those with something to see; all again once one is chosen.
fn seen<'b>(
    board: &'b Board,
    app: &App,
    axis: TimeAxis,
    cells: u16,
    room: usize,
) -> Vec<(usize, &'b TankRow)> {
    let all = board.tanks.iter().enumerate();
    if board.tanks.len() <= room || app.desk.tank.is_some() {
        return all.collect();
    }
    let (first, last) = axis.ends(cells);
    let times = &board.times;
    let busy = |tank| {
        let stays = times.stays.iter().filter(|s| s.tank == tank);
        let mut stays = stays.filter(|s| s.from < last && s.to.unwrap_or(board.now) > first);
        stays.next().is_some() || times.shut.iter().any(|s| s.tank == tank && s.from < last && s.to > first)
    };
    all.filter(|(_, t)| busy(t.tank)).collect()
}

fn legend(look: &Look) -> String {
    let g = &look.glyphs;
    format!(
        "{}{} in  {} planned  {} planned lift  {}{} may wait, window ends  {} past it  {} out",
        g.into, g.done, g.ahead, g.lift, g.may, g.max, g.now_over, g.shut
    )
}

/// The first row shown, so that the chosen tank and its neighbours are in sight.
pub(super) fn first_row(chosen: Option<usize>, count: usize, room: usize) -> usize {
    let last = chosen.map_or(0, |ix| (ix + AROUND + 1).saturating_sub(room));
    last.min(count.saturating_sub(room))
}

fn name(buf: &mut Buffer, area: Rect, tank: &TankRow, wide: bool, chosen: bool, look: &Look) {
    let role = if tank.held.is_empty() { Role::Quiet } else { Role::Text };
    let role = if chosen { Role::Chosen } else { role };
    let mark = if chosen { look.glyphs.pointer } else { ' ' };
    let room = Rect { width: area.width.saturating_sub(1), ..area };
    let label = if wide { tank.label.as_str() } else { "" };
    text::put(
        buf,
        room,
        format!("{mark}{} {label}", tank.name).trim_end(),
        look.style(role),
        look.glyphs.ellipsis,
    );
}

/// One tank's row.
struct Lane<'a> {
    area: Rect,
    axis: TimeAxis,
    board: &'a Board,
    app: &'a App,
    look: &'a Look,
}

impl Lane<'_> {
    fn set(&self, buf: &mut Buffer, x: u16, c: char, role: Role) {
        if x < self.area.width && self.area.height > 0 {
            let cell = &mut buf[(self.area.x + x, self.area.y)];
            cell.reset();
            cell.set_char(c).set_style(self.look.style(role));
        }
    }

    fn words(&self, buf: &mut Buffer, x: u16, words: &str, role: Role) {
        let width = text::width(words).min(self.area.width.saturating_sub(x));
        let at = Rect { x: self.area.x + x, width, ..self.area };
        text::blank(buf, at, ratatui::style::Style::new());
        text::put(buf, at, words, self.look.style(role), self.look.glyphs.ellipsis);
    }

    fn draw(&self, buf: &mut Buffer, tank: &TankRow) {
        let (g, now) = (&self.look.glyphs, self.board.now);
        if let Some(x) = self.axis.shown(now) {
            self.set(buf, x, g.wall, Role::Quiet);
        }
        for shut in self.board.times.shut.iter().filter(|s| s.tank == tank.tank) {
            let span = self.axis.span(shut.from, shut.to);
            for x in span.clone() {
                self.set(buf, x, g.shut, Role::Quiet);
            }
            let heats = shut.why == ShutWhy::Heats;
            let word = format!(" {} ", shut.why.word());
            if span.len() > word.len() + 1 {
                self.words(buf, span.start + 1, &word, if heats { Role::Text } else { Role::Strong });
            }
        }
        let mut stays: Vec<&StayBar> =
            self.board.times.stays.iter().filter(|s| s.tank == tank.tank).collect();
        stays.sort_by_key(|s| s.from);
        // What comes later lies on top of what is only allowed.
        let runs = |stay: &StayBar| {
            stay.from <= now && tank.held.iter().any(|h| (h.carrier, h.visit) == (stay.carrier, stay.visit))
        };
        for stay in &stays {
            self.window(buf, stay, runs(stay));
        }
        let mut unnamed = Vec::new();
        for stay in &stays {
            let runs = runs(stay) && stay.to.is_none_or(|to| to >= now);
            if !self.bar(buf, stay, runs, tank) {
                unnamed.push(stay);
            }
        }
        for stay in unnamed {
            self.name_beside(buf, stay);
        }
        if tank.station.is_some() {
            self.calls_at_station(buf, tank);
        }
    }

    /// The slack after the planned lift and the end of the window; only for what is not over.
    fn window(&self, buf: &mut Buffer, stay: &StayBar, running: bool) {
        let g = &self.look.glyphs;
        let ends = stay.to.unwrap_or(self.board.now.max(stay.from));
        let Some(closes) = stay.closes.filter(|c| ends >= self.board.now && *c >= ends) else { return };
        for x in self.axis.span(ends, closes) {
            self.set(buf, x, g.may, Role::Quiet);
        }
        if let Some(x) = self.axis.shown(closes) {
            self.set(buf, x, g.max, if running { Role::Strong } else { Role::Quiet });
        }
    }

    /// Says who a stay is that is too short to say so itself: behind it, where nothing else is drawn.
    fn name_beside(&self, buf: &mut Buffer, stay: &StayBar) {
        let ends = stay.to.unwrap_or(self.board.now.max(stay.from));
        if ends < self.board.now {
            return;
        }
        let name = self.board.carrier(stay.carrier).map_or("", |c| c.name.as_str());
        let width = i64::from(text::width(name));
        let is_free = |x: i64| {
            let inside = (0..i64::from(self.area.width)).contains(&x);
            inside && {
                let cell = buf[(self.area.x + x as u16, self.area.y)].symbol();
                cell == " " || cell.chars().eq([self.look.glyphs.may])
            }
        };
        let behind = [Some(ends), stay.closes].into_iter().flatten().map(|t| self.axis.cell(t) + 1);
        let room = behind.into_iter().find(|x| (*x..x + width).all(is_free));
        if let Some(x) = room.and_then(|x| u16::try_from(x).ok()) {
            self.words(buf, x, name, Role::Text);
        }
    }

    /// Draws a stay. False if there was no room to say whose it is.
    fn bar(&self, buf: &mut Buffer, stay: &StayBar, running: bool, tank: &TankRow) -> bool {
        let (g, now) = (&self.look.glyphs, self.board.now);
        // A stay that nothing ends is shown up to now only.
        let ends = stay.to.unwrap_or(now.max(stay.from + Dur(1)));
        let span = self.axis.span(stay.from, ends);
        if span.is_empty() {
            return true;
        }
        let chosen = self.app.desk.run(self.board).filter(|r| r.carrier == stay.carrier);
        let text_role = if chosen.is_some() { Role::Strong } else { Role::Text };
        let now_cell = self.axis.cell(now);
        let closed = stay.closes.map_or(i64::MAX, |c| self.axis.cell(c));
        for x in span.clone() {
            let at = i64::from(x);
            let (c, role) = if at > closed && stay.is_over(now) {
                (g.now_over, Role::Over)
            } else if at < now_cell || ends <= now {
                (g.done, text_role)
            } else {
                (g.ahead, text_role)
            };
            self.set(buf, x, c, role);
        }
        let starts = self.axis.shown(stay.from);
        if let Some(x) = starts {
            self.set(buf, x, g.into, Role::Strong);
        }
        if let Some(x) = stay.to.filter(|to| *to > now).and_then(|to| self.axis.shown(to)) {
            self.set(buf, x, g.lift, Role::Strong);
        }
        let fact = self.board.carrier(stay.carrier);
        let name = fact.map_or("", |c| c.name.as_str());
        let mut begin = span.start + u16::from(starts.is_some());
        if let Some(at) =
            self.axis.shown(now).filter(|at| running && (begin..begin + text::width(name)).contains(at))
        {
            begin = at + 1;
        }
        let named = span.end.saturating_sub(begin) >= text::width(name);
        if named {
            self.words(buf, begin, name, if running || chosen.is_some() { Role::Strong } else { Role::Text });
        }
        if let Some(x) = self.axis.shown(now).filter(|_| running) {
            let standing = tank.held.iter().find(|h| h.carrier == stay.carrier).map(|h| h.standing);
            let (c, role) = match standing {
                Some(Standing::Over) => (g.now_over, Role::Over),
                Some(Standing::AtRisk) => (g.now, Role::Soon),
                _ => (g.now, Role::Strong),
            };
            self.set(buf, x, c, role);
        }
        // What nobody is to lift has no planned end: its mark stands where the plan would.
        let kept = fact.filter(|_| running && stay.to.is_none()).and_then(|c| c.marks.first());
        if let (Some(mark), Some(x)) = (kept, self.axis.shown(now)) {
            self.words(buf, x + 2, &format!("{name} {} ", mark.word()), Role::Strong);
        }
        if let Some(run) = chosen {
            let mut mark = |t: Time, c: char| {
                if let Some(x) = self.axis.shown(t) {
                    self.set(buf, x, c, Role::Answer);
                }
            };
            if run.from == stay.tank && stay.to == Some(run.lift) {
                mark(run.lift, g.lift);
            }
            if run.to == stay.tank && stay.from == run.down {
                mark(run.down, g.into);
            }
        }
        named || kept.is_some()
    }

    /// Who is taken from a station and who is put down there, at the time.
    fn calls_at_station(&self, buf: &mut Buffer, tank: &TankRow) {
        let g = &self.look.glyphs;
        let mut free = 0;
        let chosen = self.app.desk.run(self.board).map(crate::view::Run::key);
        for run in self.board.times.runs.iter().filter(|r| r.from == tank.tank || r.to == tank.tank) {
            let (mark, t) = if run.from == tank.tank { (g.lift, run.lift) } else { (g.down, run.down) };
            let Some(x) = self.axis.shown(t).filter(|x| *x >= free) else { continue };
            let role = if chosen == Some(run.key()) { Role::Answer } else { Role::Text };
            let words = format!("{mark}{}", moves::name(self.board, run));
            if x + text::width(&words) <= self.area.width {
                self.words(buf, x, &words, role);
                free = x + text::width(&words) + 1;
            }
        }
    }
}
