//! Pages: start, handover, the shift so far. A page is laid out whole and seen through a window; columns without anything
//! in them give way first, and what was left out is said.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;

use super::Look;
use super::live::{rule, split_down};
use crate::report::{Body, Page, Part, has_figures};
use crate::tui::app::{App, Post};
use crate::tui::pages::Kind;
use crate::tui::theme::Role;
use crate::tui::widgets::table::{self, Cell, Column};
use crate::tui::widgets::text;

/// Cells at the left of everything under a heading.
const INDENT: u16 = 2;

pub(super) fn draw(buf: &mut Buffer, area: Rect, app: &App, look: &Look) {
    let (head, body) = split_down(area, 1);
    let tail = if app.post == Post::Watch { "" } else { " s sign " };
    let titles: Vec<&str> = Kind::ALL.iter().map(|kind| kind.title()).collect();
    let chosen = Kind::ALL.iter().position(|kind| *kind == app.pages.kind);
    tabs(buf, head, &titles, chosen, tail, look);
    if let Some(page) = &app.pages.page {
        show(buf, body, page, app.pages.scroll, look);
    }
}

/// Paints the part of a page that is scrolled to.
pub(super) fn show(buf: &mut Buffer, body: Rect, page: &Page, scroll: usize, look: &Look) {
    let whole = laid_out(page, body.width, look);
    let rows = whole.area.height;
    let room = body.height;
    let most = if rows > room { rows - (room - 1) } else { 0 };
    let first = u16::try_from(scroll).unwrap_or(u16::MAX).min(most);
    let below = rows.saturating_sub(first + room);
    let shown = if below > 0 { room - 1 } else { room.min(rows - first) };
    for y in 0..shown {
        for x in 0..body.width {
            buf[(body.x + x, body.y + y)] = whole[(x, first + y)].clone();
        }
    }
    if below > 0 {
        let more = format!("  {} more {}", rows - first - shown, look.glyphs.down);
        text::put(buf, text::row(body, room - 1), &more, look.style(Role::Strong), look.glyphs.ellipsis);
    }
}

/// The rows of a page on a terminal so many cells across.
pub fn height(page: &Page, cells: u16) -> usize {
    usize::from(places(page, cells).1) + foot(page, cells).len()
}

/// From so many cells on, parts stand in two columns.
const TWO_COLUMNS: u16 = 160;

/// Cells between two columns.
const BETWEEN: u16 = 2;

/// Where each part of a page goes, and the row below them all. In two columns a part goes where there is more room, so that
/// both are read on together; what is wider than one has the whole width.
fn places(page: &Page, cells: u16) -> (Vec<Rect>, u16) {
    let top = u16::try_from(lead(page, cells).len()).unwrap_or(u16::MAX);
    let half = if cells >= TWO_COLUMNS { (cells - BETWEEN) / 2 } else { 0 };
    let mut ends = [top; 2];
    let place = |part: &Part| {
        let narrow = is_narrow(part, half);
        let width = if narrow { half } else { cells };
        let column = usize::from(narrow && ends[1] < ends[0]);
        let y = if narrow { ends[column] } else { ends[0].max(ends[1]) };
        let at = Rect { x: (half + BETWEEN) * column as u16, y, width, height: part_height(part, width) };
        let end = y.saturating_add(at.height);
        if narrow {
            ends[column] = end;
        } else {
            ends = [end; 2];
        }
        at
    };
    let rects = page.parts.iter().map(place).collect();
    (rects, ends[0].max(ends[1]))
}

/// True if a part may stand in a column so many cells across without anything cut or left out.
fn is_narrow(part: &Part, cells: u16) -> bool {
    match &part.body {
        _ if cells == 0 => false,
        Body::Table { head, rows } if !rows.is_empty() => {
            let (columns, cells_of) = table(head, rows);
            table::fits(&columns, &cells_of, cells)
        }
        _ => true,
    }
}

/// Titles of pages, one of them chosen, on a rule.
pub(super) fn tabs(
    buf: &mut Buffer,
    area: Rect,
    titles: &[&str],
    chosen: Option<usize>,
    tail: &str,
    look: &Look,
) {
    let e = look.glyphs.ellipsis;
    rule(buf, area, look);
    let mut x = area.x + 1;
    let role = |n| if Some(n) == chosen { Role::Chosen } else { Role::Text };
    let titles = titles.iter().enumerate().map(|(n, title)| (format!(" {title} "), role(n)));
    for (title, role) in titles.chain([(tail.to_owned(), Role::Text)]) {
        let at = Rect { x, width: area.right().saturating_sub(x), ..area };
        text::blank(buf, Rect { width: text::width(&title).min(at.width), ..at }, Style::new());
        x += text::put(buf, at, &title, look.style(role), e) + 1;
    }
}

/// The whole page on a buffer of its own.
fn laid_out(page: &Page, cells: u16, look: &Look) -> Buffer {
    let rows = u16::try_from(height(page, cells)).unwrap_or(u16::MAX);
    let mut buf = Buffer::empty(Rect { x: 0, y: 0, width: cells, height: rows.max(1) });
    let whole = Rect { height: 1, ..buf.area };
    for (y, words) in (0..).zip(lead(page, cells)) {
        let role = if y == 0 { Role::Strong } else { Role::Text };
        text::put(&mut buf, Rect { y, ..whole }, &words, look.style(role), look.glyphs.ellipsis);
    }
    let (places, below) = places(page, cells);
    for (part, at) in page.parts.iter().zip(places) {
        part_into(&mut buf, at, part, look);
    }
    for (y, words) in (below..).zip(foot(page, cells)) {
        text::put(&mut buf, Rect { y, ..whole }, &words, look.style(Role::Quiet), look.glyphs.ellipsis);
    }
    buf
}

/// One part, an empty row above it.
fn part_into(buf: &mut Buffer, at: Rect, part: &Part, look: &Look) {
    let line = |buf: &mut Buffer, y: u16, words: &str, role: Role| {
        let row = Rect { y: at.y + y, height: 1, ..at };
        text::put(buf, row, words, look.style(role), look.glyphs.ellipsis);
    };
    line(buf, 1, &format!(" {}", part.title), Role::Strong);
    match &part.body {
        Body::Table { head, rows } if !rows.is_empty() => {
            let (columns, cells_of) = table(head, rows);
            let body = Rect { y: at.y + 2, height: rows.len() as u16 + 1, ..at };
            table::draw(buf, body, &columns, &cells_of, None, true, look);
            if let Some(words) = left_out(head, rows, at.width) {
                line(buf, 2 + body.height, &words, Role::Quiet);
            }
        }
        body => {
            for (y, words) in (2..).zip(body_lines(body, at.width)) {
                line(buf, y, &words, Role::Text);
            }
        }
    }
}

fn part_height(part: &Part, cells: u16) -> u16 {
    let body = match &part.body {
        Body::Table { head, rows } if !rows.is_empty() => {
            rows.len() + 1 + usize::from(left_out(head, rows, cells).is_some())
        }
        body => body_lines(body, cells).len(),
    };
    u16::try_from(body + 2).unwrap_or(u16::MAX)
}

/// Title and lead, indented by one cell as the board is.
fn lead(page: &Page, cells: u16) -> Vec<String> {
    let lines = std::iter::once(&page.title).chain(&page.lead);
    lines.flat_map(|l| text::wrap(l, cells - 1)).map(|l| format!(" {l}")).collect()
}

fn foot(page: &Page, cells: u16) -> Vec<String> {
    let mut lines = vec![String::new()];
    lines.extend(text::wrap(&page.foot, cells - INDENT).into_iter().map(|l| format!(" {l}")));
    lines
}

/// Facts and lines, wrapped.
fn body_lines(body: &Body, cells: u16) -> Vec<String> {
    let indent = " ".repeat(usize::from(INDENT));
    let wrapped = |first: String, hang: usize, words: &str| -> Vec<String> {
        let room = cells.saturating_sub(INDENT + u16::try_from(hang).unwrap_or(0)).max(20);
        let mut parts = text::wrap(words, room).into_iter();
        let mut lines = vec![format!("{indent}{first}{}", parts.next().unwrap_or_default())];
        lines.extend(parts.map(|p| format!("{indent}{}{p}", " ".repeat(hang))));
        lines
    };
    match body {
        Body::Facts(facts) => {
            let wide = facts.iter().map(|(what, _)| what.chars().count()).max().unwrap_or(0);
            let line =
                |(what, value): &(String, String)| wrapped(format!("{what:<wide$}  "), wide + 2, value);
            facts.iter().flat_map(line).collect()
        }
        Body::Lines(lines) if !lines.is_empty() => {
            lines.iter().flat_map(|l| wrapped(String::new(), 2, l)).collect()
        }
        _ => vec![format!("{indent}none")],
    }
}

/// The columns of a table on a page. The first one and those at the end stay longest: they say what it is about and what
/// comes of it.
fn table<'p>(head: &'p [String], rows: &[Vec<String>]) -> (Vec<Column<'p>>, Vec<Vec<Cell>>) {
    let column = |(n, name): (usize, &'p String)| {
        let longest = rows.iter().map(|r| text::width(&r[n])).max().unwrap_or(0);
        let kind = match longest {
            _ if has_figures(rows, n) => table::Kind::Figures,
            0..=9 => table::Kind::Whole,
            _ => table::Kind::Words(9),
        };
        let nothing = rows.iter().all(|r| matches!(r[n].as_str(), "" | "-" | "0"));
        let keep = match n {
            0 => 9,
            _ if nothing && n + 1 < head.len() => 0,
            n if n + 1 == head.len() => 8,
            1 => 2,
            n => 7 - (n as u8).min(4),
        };
        Column { head: name, kind, keep }
    };
    let cells = rows.iter().map(|row| row.iter().map(|c| Cell::plain(c.as_str())).collect()).collect();
    (head.iter().enumerate().map(column).collect(), cells)
}

/// Which columns there was no room for.
fn left_out(head: &[String], rows: &[Vec<String>], cells: u16) -> Option<String> {
    let (columns, cells_of) = table(head, rows);
    let out = table::left_out(&columns, &cells_of, cells);
    (!out.is_empty()).then(|| format!("  no room for: {}", out.join(", ")))
}
