//! The board: every carrier, every tank, the queue, use of crane and power.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;

use super::Look;
use super::live::{rule, split_across, split_down};
use crate::tui::app::App;
use crate::tui::desk::{Desk, Part};
use crate::tui::theme::Role;
use crate::tui::widgets::table::{self, Cell, Column, Kind};
use crate::tui::widgets::{countdown, text};
use crate::units::Dur;
use crate::view::{
    Board, LoadRow, Mark, QueueRow, Readiness, Share, Stage, Standing, TankRow, guess_mark, state_word,
};

/// From this size on all parts are seen together, and from the second on side by side.
const ALL: (u16, u16) = (118, 38);
const WIDE: (u16, u16) = (176, 50);

/// Cells of a gauge.
const GAUGE: u16 = 8;

const LOADS: &[Column] = &[
    Column { head: "load", kind: Kind::Whole, keep: 9 },
    Column { head: "at", kind: Kind::Whole, keep: 9 },
    Column { head: "step", kind: Kind::Figures, keep: 6 },
    Column { head: "doing", kind: Kind::Words(10), keep: 3 },
    Column { head: "state", kind: Kind::Whole, keep: 7 },
    Column { head: "window", kind: Kind::Bar(10), keep: 2 },
    Column { head: "out by", kind: Kind::Whole, keep: 8 },
    Column { head: "slack", kind: Kind::Figures, keep: 9 },
    Column { head: "", kind: Kind::Whole, keep: 8 },
    Column { head: "order", kind: Kind::Whole, keep: 6 },
    Column { head: "lot", kind: Kind::Figures, keep: 4 },
    Column { head: "due", kind: Kind::Whole, keep: 5 },
    Column { head: "done", kind: Kind::Whole, keep: 5 },
    Column { head: "", kind: Kind::Whole, keep: 7 },
];

const TANKS: &[Column] = &[
    Column { head: "tank", kind: Kind::Whole, keep: 9 },
    Column { head: "holds", kind: Kind::Words(7), keep: 4 },
    Column { head: "state", kind: Kind::Whole, keep: 9 },
    Column { head: "load", kind: Kind::Whole, keep: 8 },
    Column { head: "window", kind: Kind::Bar(12), keep: 1 },
    Column { head: "left", kind: Kind::Figures, keep: 7 },
    Column { head: "", kind: Kind::Whole, keep: 6 },
    Column { head: "next in", kind: Kind::Whole, keep: 2 },
];

const QUEUE: &[Column] = &[
    Column { head: "load", kind: Kind::Whole, keep: 9 },
    Column { head: "order", kind: Kind::Whole, keep: 6 },
    Column { head: "for", kind: Kind::Words(8), keep: 4 },
    Column { head: "recipe", kind: Kind::Words(6), keep: 2 },
    Column { head: "start", kind: Kind::Whole, keep: 7 },
    Column { head: "due", kind: Kind::Whole, keep: 8 },
    Column { head: "done", kind: Kind::Whole, keep: 8 },
    Column { head: "", kind: Kind::Whole, keep: 8 },
];

pub(super) fn draw(buf: &mut Buffer, area: Rect, board: &Board, app: &App, look: &Look) {
    let used = uses(buf, area, board, look);
    let (_, body) = split_down(area, used);
    let whole = buf.area;
    if whole.width >= WIDE.0 && whole.height >= WIDE.1 {
        let (left, right) = split_across(body, left_share(body.width, board, app));
        let (up, down) = split_down(left, want(board).clamp(8, (left.height / 2).max(8)));
        part(buf, up, Part::Loads, 1, board, app, look);
        part(buf, down, Part::Queue, 1, board, app, look);
        part(buf, right, Part::Tanks, 1, board, app, look);
    } else if whole.width >= ALL.0 && whole.height >= ALL.1 {
        let tanks = board.tanks.len().div_ceil(2) as u16 + 2;
        let (up, down) =
            split_down(body, want(board).max(body.height.saturating_sub(tanks)).clamp(6, body.height / 2));
        part(buf, up, Part::Loads, 1, board, app, look);
        let (left, right) = split_across(down, down.width * 13 / 20);
        part(buf, left, Part::Tanks, 2, board, app, look);
        part(buf, right, Part::Queue, 1, board, app, look);
    } else {
        let line = text::row(body, 0);
        rule(buf, line, look);
        let mut x = line.x + 1;
        for p in Part::ALL {
            x += heading(buf, Rect { x, width: line.right().saturating_sub(x), ..line }, p, board, app, look)
                + 1;
        }
        let (_, inner) = split_down(body, 1);
        let columns = if app.desk.part == Part::Tanks { 2 } else { 1 };
        rows(buf, inner, app.desk.part, columns, board, app, look);
    }
}

/// Cells of the left of two parts side by side: three fifths, less where the tanks need more and it keeps what it needs.
fn left_share(width: u16, board: &Board, app: &App) -> u16 {
    let whole = |part| {
        let (head, cells) = table_of(part, board, &app.desk);
        // A window bar is read from so many cells on.
        table::whole(head, &cells) + GAUGE
    };
    let share = width * 3 / 5;
    let needs = whole(Part::Loads).max(whole(Part::Queue)).min(share);
    share.min(width.saturating_sub(whole(Part::Tanks) + 1)).max(needs)
}

/// The columns and rows of a part.
fn table_of(part: Part, board: &Board, desk: &Desk) -> (&'static [Column<'static>], Vec<Vec<Cell>>) {
    match part {
        Part::Loads => (LOADS, desk.loads(board).into_iter().map(load).collect()),
        Part::Tanks => (TANKS, desk.tanks(board).into_iter().map(tank).collect()),
        Part::Queue => (QUEUE, desk.queue(board).into_iter().map(waiting).collect()),
    }
}

/// Rows the carriers on the line take, with heading and a count of the finished ones.
fn want(board: &Board) -> u16 {
    u16::try_from(board.counts.on_line).unwrap_or(u16::MAX).saturating_add(4)
}

/// A part with its heading.
fn part(buf: &mut Buffer, area: Rect, part: Part, columns: usize, board: &Board, app: &App, look: &Look) {
    let line = text::row(area, 0);
    rule(buf, line, look);
    heading(buf, Rect { x: line.x + 1, width: line.width.saturating_sub(1), ..line }, part, board, app, look);
    let (_, inner) = split_down(area, 1);
    rows(buf, inner, part, columns, board, app, look);
}

fn heading(buf: &mut Buffer, area: Rect, part: Part, board: &Board, app: &App, look: &Look) -> u16 {
    let desk = &app.desk;
    let role = if part == desk.part { Role::Chosen } else { Role::Strong };
    let (mut title, shown, all) = match part {
        Part::Loads => {
            let waiting = board.loads.iter().filter(|l| l.stage == Stage::Waiting).count();
            let title = format!("Carriers by {}", desk.sort.word());
            (title, desk.loads(board).len(), board.loads.len() - waiting)
        }
        Part::Tanks => ("Tanks".to_owned(), desk.tanks(board).len(), board.tanks.len()),
        Part::Queue => ("Queue".to_owned(), desk.queue(board).len(), board.queue.len()),
    };
    title = if shown == all { format!(" {title} {all} ") } else { format!(" {title} {shown} of {all} ") };
    let e = look.glyphs.ellipsis;
    let w = text::width(&title);
    text::blank(buf, Rect { width: w.min(area.width), ..area }, Style::new());
    let mut used = text::put(buf, area, &title, look.style(role), e);
    if part == desk.part && (desk.typing || !desk.filter.is_empty()) {
        let cursor = if desk.typing { "_" } else { "" };
        let typed = format!(" /{}{cursor} ", desk.filter);
        let at = Rect { x: area.x + used, width: area.width.saturating_sub(used), ..area };
        text::blank(buf, Rect { width: text::width(&typed).min(at.width), ..at }, Style::new());
        used += text::put(buf, at, &typed, look.style(Role::Answer), e);
    }
    used
}

fn rows(buf: &mut Buffer, area: Rect, part: Part, columns: usize, board: &Board, app: &App, look: &Look) {
    let desk: &Desk = &app.desk;
    let chosen = desk.rows[part as usize].filter(|_| part == desk.part);
    let (head, cells) = table_of(part, board, desk);
    if cells.is_empty() {
        let nothing = match (part, desk.filter.is_empty()) {
            (_, false) => "  nothing fits; Esc shows all",
            (Part::Loads, true) => "  nothing is on the line",
            _ => "  nothing waits",
        };
        text::put(buf, text::row(area, 0), nothing, look.style(Role::Text), look.glyphs.ellipsis);
    } else if columns == 1 {
        table::draw(buf, area, head, &cells, chosen, true, look);
    } else {
        let (left, right) = split_across(area, area.width / 2);
        let room = usize::from(area.height.saturating_sub(1));
        // With more rows than fit, the chosen one decides which are seen.
        let shown = chosen.map_or(0, |ix| (ix + 1).saturating_sub(2 * room)).min(cells.len());
        let half = shown + (cells.len() - shown).div_ceil(2).max(room.min(cells.len() - shown)).min(room);
        table::draw_part(buf, left, head, &cells, shown..half, chosen, true, look);
        table::draw_part(buf, right, head, &cells, half..cells.len(), chosen, true, look);
    }
}

fn load(row: &LoadRow) -> Vec<Cell> {
    let (k, n) = row.step;
    let role = match row.standing {
        Some(Standing::Over) => Role::Over,
        Some(Standing::AtRisk) => Role::Soon,
        _ => Role::Text,
    };
    let late = row.slack.is_some_and(|s| s < Dur::ZERO);
    let slack = if late && role == Role::Text { Role::Soon } else { role };
    let quiet = row.stage > Stage::Waiting;
    let plain = if quiet { Role::Quiet } else { Role::Text };
    let state = match (row.stage, row.standing) {
        (Stage::OnLine, Some(standing)) => state_word(&row.marks, standing),
        (Stage::OnLine, None) => "in air".to_owned(),
        (stage, _) => stage.word().to_owned(),
    };
    vec![
        Cell::of(row.carrier.as_str(), if quiet { Role::Quiet } else { Role::Strong }),
        Cell::of(row.at.as_str(), plain),
        if quiet { Cell::Empty } else { Cell::plain(format!("{k}/{n}")) },
        Cell::of(if quiet { "" } else { row.what.as_str() }, plain),
        Cell::of(state, if quiet { Role::Quiet } else { role }),
        row.bar.zip(row.standing).map_or(Cell::Empty, |(bar, standing)| Cell::Bar(bar, standing)),
        Cell::plain(row.out_by_clock.clone().unwrap_or_default()),
        Cell::of(
            match (row.slack, row.stage) {
                (None, Stage::OnLine) => "-".to_owned(),
                (slack, _) => slack.map_or_else(String::new, |d| countdown::left(Some(d))),
            },
            if late || role != Role::Text { slack } else { Role::Strong },
        ),
        Cell::of(
            row.harm.map_or_else(String::new, |h| h.letter().to_string()),
            if late { slack } else { role },
        ),
        Cell::of(format!("{}{}", row.order, if row.rush { " RUSH" } else { "" }), plain),
        Cell::of(format!("{}/{}", row.lot.0, row.lot.1), plain),
        Cell::of(row.due_clock.clone().unwrap_or_default(), plain),
        Cell::of(row.finish_clock.clone().unwrap_or_default(), plain),
        late_cell(row.late, quiet),
    ]
}

fn late_cell(late: Option<Dur>, quiet: bool) -> Cell {
    // A promise is no window: it is told, but it does not shout.
    let role = if quiet { Role::Text } else { Role::Strong };
    late.map_or(Cell::Empty, |d| Cell::of(countdown::late(d), role))
}

fn tank(row: &TankRow) -> Vec<Cell> {
    let mut cells = vec![Cell::plain(row.name.as_str()), Cell::plain(row.label.as_str())];
    if let Some(held) = row.held.first() {
        let role = match held.standing {
            Standing::Over => Role::Over,
            Standing::AtRisk => Role::Soon,
            Standing::Early | Standing::Inside => Role::Text,
        };
        let more = if row.held.len() > 1 { format!(" +{}", row.held.len() - 1) } else { String::new() };
        let harm = if held.bar.max.is_unlimited() { String::new() } else { held.harm.to_string() };
        cells.extend([
            Cell::of(row.state_of(held), role),
            Cell::of(format!("{}{more}", held.name), Role::Strong),
            Cell::Bar(held.bar, held.standing),
            Cell::of(countdown::left(held.bar.left()), role),
            Cell::of(harm, role),
        ]);
    } else {
        let loud = match row.readiness {
            Readiness::Ready => Role::Quiet,
            Readiness::Heating(_) | Readiness::Until(_) => Role::Text,
            Readiness::From(_) | Readiness::Out | Readiness::Quarantine | Readiness::Unfit(..) => {
                Role::Strong
            }
        };
        let state = match &row.station {
            Some(s) if s.finished > 0 => format!("{} done", s.finished),
            Some(_) => String::new(),
            None => row.readiness.word().to_owned(),
        };
        // With a time of day behind it a length of time is what is left till then.
        let until = row.readiness.until();
        let left = row
            .ready_in
            .map_or_else(String::new, |d| if until.is_empty() { format!("in {d}") } else { d.to_string() });
        cells.extend([
            Cell::of(state, loud),
            Cell::Empty,
            Cell::Empty,
            Cell::of(left, loud),
            Cell::of(until, loud),
        ]);
    }
    let next = row.next.as_ref().filter(|_| row.station.is_none());
    cells.push(next.map_or(Cell::Empty, |(who, when)| Cell::of(format!("{who} {when}"), Role::Quiet)));
    cells
}

fn waiting(row: &QueueRow) -> Vec<Cell> {
    vec![
        Cell::of(row.carrier.as_str(), Role::Strong),
        Cell::plain(format!("{}{}", row.order, if row.rush { " RUSH" } else { "" })),
        Cell::plain(row.label.as_str()),
        Cell::plain(row.recipe.as_str()),
        match (row.marks.contains(&Mark::Held), &row.release) {
            (true, _) => Cell::of(Mark::Held.word(), Role::Strong),
            (false, release) => Cell::plain(release.clone().unwrap_or_else(|| "no plan".to_owned())),
        },
        Cell::plain(row.due.clone().unwrap_or_default()),
        Cell::of(row.finish.clone().unwrap_or_default(), Role::Strong),
        late_cell(row.late, false),
    ]
}

/// Hoists and power, a line each; says how many rows that took.
fn uses(buf: &mut Buffer, area: Rect, board: &Board, look: &Look) -> u16 {
    let mut y = 0;
    for used in board.uses.iter().take(4) {
        let mut line = Line::begin(buf, text::row(area, y), look);
        line.put(&format!(" Crane {}  ", used.name), Role::Strong);
        line.put("loaded+empty: ", Role::Text);
        for (gap, span, share) in [("", "last", used.past), ("  ", "next", used.planned)] {
            line.put(&format!("{gap}{}", share_words(span, share)), Role::Text);
            line.gauge(share.loaded, share.empty);
        }
        y += 1;
    }
    if let Some(power) = &board.power {
        let mut line = Line::begin(buf, text::row(area, y), look);
        let kw = |w: f64| format!("{:.1}", w / 1000.0);
        line.put(" Power  ", Role::Strong);
        let mark = guess_mark(power.in_doubt > 0.0);
        match power.cap {
            Some(cap) => {
                line.put(&format!("now {}{mark} of {} kW ", kw(power.now), kw(cap)), Role::Text);
                line.gauge(power.now / cap.max(1.0), 0.0);
            }
            None => line.put(&format!("now {}{mark} kW", kw(power.now)), Role::Text),
        }
        let over = power.cap.is_some_and(|cap| power.peak > cap + 1.0);
        let words = format!("planned peak {} kW at {}", kw(power.peak), power.peak_clock);
        line.put("  ", Role::Text);
        if over {
            line.put(&format!(" OVER THE CAP: {words} "), Role::Over);
        } else {
            line.put(&words, Role::Text);
        }
        if power.in_doubt > 0.0 {
            line.put(&format!("  {mark} {} kW in a tank that is out", kw(power.in_doubt)), Role::Quiet);
        }
        y += 1;
    }
    y
}

fn share_words(span: &str, share: Share) -> String {
    if share.of <= Dur::ZERO {
        return format!("{span}: nothing ");
    }
    let percent = |x: f64| (x * 100.0).round();
    let (loaded, empty) = (percent(share.loaded), percent(share.empty));
    format!("{span} {} {loaded:.0}+{empty:.0}% ", minutes(share.of))
}

fn minutes(d: Dur) -> String {
    match d.whole_secs() / 60 {
        60 => "hour".to_owned(),
        m => format!("{m} min"),
    }
}

/// One line that is written from left to right.
struct Line<'a> {
    buf: &'a mut Buffer,
    rest: Rect,
    look: &'a Look,
}

impl<'a> Line<'a> {
    fn begin(buf: &'a mut Buffer, rest: Rect, look: &'a Look) -> Self {
        Self { buf, rest, look }
    }

    fn put(&mut self, words: &str, role: Role) {
        let used = text::put(self.buf, self.rest, words, self.look.style(role), self.look.glyphs.ellipsis);
        self.skip(used);
    }

    /// Two shares one after the other, in brackets; nothing where there is no room for it.
    fn gauge(&mut self, first: f64, second: f64) {
        if self.rest.width < GAUGE + 2 || self.rest.height == 0 {
            return;
        }
        let g = &self.look.glyphs;
        let cells = |share: f64| (share.clamp(0.0, 1.0) * f64::from(GAUGE)).round() as u16;
        let (a, b) = (cells(first), cells(first + second));
        for i in 0..GAUGE + 2 {
            let (c, role) = match i {
                0 => (g.min, Role::Quiet),
                i if i == GAUGE + 1 => (g.max, Role::Quiet),
                i if i <= a => (g.done, Role::Text),
                i if i <= b => (g.ahead, Role::Text),
                _ => (' ', Role::Quiet),
            };
            self.buf[(self.rest.x + i, self.rest.y)].set_char(c).set_style(self.look.style(role));
        }
        self.skip(GAUGE + 2);
    }

    fn skip(&mut self, cells: u16) {
        self.rest = Rect { x: self.rest.x + cells, width: self.rest.width - cells, ..self.rest };
    }
}
