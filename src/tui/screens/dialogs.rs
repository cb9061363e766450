//! The dialog on top of a screen: a box below the call, so that call and figures stay in sight.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;

use super::{Look, help, live, tank, timeline};
use crate::tui::app::App;
use crate::tui::dialog::{Amount, Asks, Dialog, Field, List};
use crate::tui::theme::Role;
use crate::tui::widgets::{countdown, table, text};
use crate::view::Board;

/// Cells of a line on a page.
const PAGE: u16 = 72;

/// Cells of a line of figures at most.
const FIGURES: u16 = 110;

/// Cells of a row of what is typed.
const TYPED: usize = 67;

/// Fewer cells beside a dialog than this show nothing of what is below it.
const BESIDE: u16 = 24;

/// Rows a dialog needs at least; with fewer below the call it covers some of the alarm strip.
pub(super) const LEAST: u16 = 9;

/// Paints the open dialog into the lower part of the area, from row `top` on.
pub(super) fn draw(buf: &mut Buffer, area: Rect, top: u16, board: &Board, app: &App, look: &Look) {
    let Some(dialog) = &app.dialog else { return };
    let area = Rect { height: area.height.saturating_sub(timeline::rows(app)), ..area };
    // A page says itself what it is about; the call gives way.
    let top = if matches!(dialog, Dialog::Page(_)) { top.min(1) } else { top };
    let height = area.height.saturating_sub(top + 1).max(LEAST).min(area.height);
    let y = area.y + area.height.saturating_sub(height + 1);
    let area = Rect { y, height, ..area };
    match dialog {
        Dialog::Ask(ask) => {
            let mut lines = Vec::new();
            for line in &ask.lines {
                lines.extend(text::wrap(line, 70).into_iter().map(|l| (l, Role::Text)));
            }
            page(buf, area, &ask.title, &lines, app, look);
        }
        Dialog::Amount(amount) => page(buf, area, "How long ago?", &amount_lines(board, amount), app, look),
        Dialog::List(list) => list_box(buf, area, list, app, look),
        Dialog::Field(field) => page(buf, area, &field.title, &field_lines(field), app, look),
        Dialog::Tank(id) => {
            let lines = board.tanks.iter().find(|t| t.tank == *id).map(|t| tank::lines(board, t));
            let lines: Vec<_> = lines.unwrap_or_default().into_iter().map(|l| (l, Role::Text)).collect();
            page(buf, area, "Tank (up and down: the others)", &lines, app, look);
        }
        Dialog::Help(scroll) => scrolled(buf, area, "Keys", (&help::lines(), PAGE), *scroll, app, look),
        Dialog::Page(page) => {
            scrolled(buf, area, page.title, (&wrapped(&page.lines), PAGE), page.scroll, app, look);
        }
        Dialog::Answer(lines, scroll) => {
            let longest = lines.iter().map(|l| text::width(l)).max().unwrap_or(0);
            let wide = longest.clamp(PAGE + 2, FIGURES).min(area.width.saturating_sub(6));
            let plain = |l: &String| columns_kept(l, wide).into_iter().map(|l| (l, false));
            let lines: Vec<(String, bool)> = lines.iter().flat_map(plain).collect();
            scrolled(buf, area, "Worked out", (&lines, wide), *scroll, app, look);
        }
    }
}

fn amount_lines(board: &Board, amount: &Amount) -> Vec<(String, Role)> {
    let mut lines: Vec<(String, Role)> =
        text::wrap(&amount.subject.text, 70).into_iter().map(|l| (l, Role::Strong)).collect();
    let then = board.clock_at(board.now - amount.ago);
    let ago = countdown::figures(amount.ago);
    lines.push((String::new(), Role::Text));
    lines.push((format!(" {ago} ago, at {then} "), Role::Answer));
    lines.push((String::new(), Role::Text));
    lines.push(("Digits fill from the right: 130 is 1:30. Up and down: ten seconds.".to_owned(), Role::Text));
    if let Some(other) = &amount.other {
        for line in text::wrap(&format!("Tab: rather {}", other.text), 70) {
            lines.push((line, Role::Text));
        }
    }
    lines
}

fn field_lines(field: &Field) -> Vec<(String, Role)> {
    let plain =
        |text: &str, role| text::wrap(text, 70).into_iter().map(move |l| (l, role)).collect::<Vec<_>>();
    let mut lines = plain(&field.hint, Role::Text);
    lines.push((String::new(), Role::Text));
    let seen = |c| if field.asks == Asks::Pin { '*' } else { c };
    let typed: Vec<char> = field.text.chars().map(seen).chain(['_']).collect();
    // The end of what is typed is what is looked at; two rows hold a whole sum.
    let rows: Vec<String> = typed.chunks(TYPED).map(|row| row.iter().collect()).collect();
    let last = &rows[rows.len().saturating_sub(2)..];
    lines.extend(last.iter().map(|row| (format!(" {row:<68}"), Role::Answer)));
    lines.push((String::new(), Role::Text));
    if let Some(wrong) = &field.wrong {
        lines.extend(plain(&format!(" NO  {wrong} "), Role::Strong));
    }
    lines
}

fn page(buf: &mut Buffer, area: Rect, title: &str, lines: &[(String, Role)], app: &App, look: &Look) {
    let widest = lines.iter().map(|(l, _)| text::width(l)).max().unwrap_or(0);
    let keys = keys(app);
    // Title and keys stand in the frame with a space on either side.
    let width = (widest.max(text::width(title) + 2).max(text::width(&keys) + 2) + 6).min(area.width);
    let height = u16::try_from(lines.len()).unwrap_or(u16::MAX).saturating_add(2).min(area.height);
    let inner = frame(buf, area, width, height, title, &keys, look);
    for (y, (line, role)) in lines.iter().enumerate() {
        let row = text::row(inner, u16::try_from(y).unwrap_or(u16::MAX));
        text::put(buf, row, line, look.style(*role), look.glyphs.ellipsis);
    }
}

fn list_box(buf: &mut Buffer, area: Rect, list: &List, app: &App, look: &Look) {
    let e = look.glyphs.ellipsis;
    let keys = keys(app);
    let longest = list.items.iter().map(|i| text::width(&i.text)).max().unwrap_or(0);
    let width = (longest + 8).max(78).min(area.width);
    let columns = [table::Column { head: "", kind: table::Kind::Words(10), keep: 9 }];
    let cells = |text: &str| vec![table::Cell::plain(text)];
    let about = if list.about.is_empty() { Vec::new() } else { text::wrap(&list.about, width - 6) };
    let above = u16::try_from(about.len()).unwrap_or(0);
    let all: Vec<_> = list.items.iter().map(|i| cells(&i.text)).collect();
    let tall =
        u16::try_from(table::unfolded(&columns, &all, width.saturating_sub(6)).0.len()).unwrap_or(u16::MAX);
    // Rows too long for the box are broken; with no room for that they are cut, and read whole below, the chosen one at a
    // time.
    let broken = tall.saturating_add(3 + above) <= area.height;
    let whole =
        if broken || longest + 8 <= width { 0 } else { longest.div_ceil(width.saturating_sub(6).max(1)) };
    let rows = if broken { tall } else { u16::try_from(list.items.len()).unwrap_or(u16::MAX) };
    let height = rows.saturating_add(3 + whole + above);
    let height = height.min(area.height).max(5);
    let inner = frame(buf, area, width, height, &list.title, &keys, look);
    for (y, line) in (0..).zip(&about) {
        text::put(buf, text::row(inner, y), line, look.style(Role::Strong), e);
    }
    let inner = live::split_down(inner, above).1;
    let typed = format!("type to narrow: {}_", list.filter);
    text::put(buf, text::row(inner, 0), &typed, look.style(Role::Text), e);
    let passing = list.passing();
    if passing.is_empty() {
        text::put(buf, text::row(inner, 2), "nothing fits; Backspace", look.style(Role::Strong), e);
        return;
    }
    let rows: Vec<Vec<table::Cell>> = passing.iter().map(|i| cells(&i.text)).collect();
    let (rows, begins) = if broken {
        table::unfolded(&columns, &rows, inner.width)
    } else {
        let all = (0..rows.len()).collect();
        (rows, all)
    };
    let chosen = begins.get(list.cursor).copied();
    let whole = whole.min(inner.height.saturating_sub(3));
    let body = Rect { y: inner.y + 1, height: inner.height.saturating_sub(1 + whole), ..inner };
    table::draw(buf, body, &columns, &rows, chosen, false, look);
    let parts = passing.get(list.cursor).filter(|_| whole > 0);
    let parts = parts.map_or(Vec::new(), |i| text::wrap(&i.text, inner.width));
    for (part, y) in parts.iter().zip(inner.height - whole..inner.height) {
        text::put(buf, text::row(inner, y), part, look.style(Role::Strong), e);
    }
}

/// A line as it is if it fits, its columns with it; else broken, the rest of it further in.
fn columns_kept(line: &str, wide: u16) -> Vec<String> {
    if text::width(line) <= wide {
        return vec![line.to_owned()];
    }
    let first = line.len() - line.trim_start().len();
    let (first, rest) = (" ".repeat(first), " ".repeat(first + 2));
    let parts = text::wrap(line, wide.saturating_sub(text::width(&rest)));
    parts
        .iter()
        .enumerate()
        .map(|(n, part)| format!("{}{part}", if n == 0 { &first } else { &rest }))
        .collect()
}

/// Lines broken to what a page holds; what belongs to a line stands under it.
fn wrapped(lines: &[(String, bool)]) -> Vec<(String, bool)> {
    let mut all = Vec::new();
    for (line, heading) in lines {
        if text::width(line) <= PAGE {
            all.push((line.clone(), *heading));
            continue;
        }
        let parts = text::wrap(line, PAGE - 2).into_iter().enumerate();
        all.extend(parts.map(|(ix, part)| (if ix == 0 { part } else { format!("  {part}") }, *heading)));
    }
    all
}

fn scrolled(
    buf: &mut Buffer,
    area: Rect,
    title: &str,
    (lines, wide): (&[(String, bool)], u16),
    scroll: usize,
    app: &App,
    look: &Look,
) {
    let width = area.width.min((wide + 6).max(80));
    let height = area.height.min(u16::try_from(lines.len()).unwrap_or(u16::MAX).saturating_add(2));
    let inner = frame(buf, area, width, height, title, &keys(app), look);
    let room = usize::from(inner.height);
    let room = if lines.len() > room { room.saturating_sub(1) } else { room };
    let first = scroll.min(lines.len().saturating_sub(room));
    let below = lines.len().saturating_sub(first + room);
    for (y, (line, heading)) in lines.iter().skip(first).take(room).enumerate() {
        let role = if *heading { Role::Heading } else { Role::Text };
        let row = text::row(inner, u16::try_from(y).unwrap_or(u16::MAX));
        text::put(buf, row, line, look.style(role), look.glyphs.ellipsis);
    }
    let row = text::row(inner, inner.height.saturating_sub(1));
    if below > 0 {
        let more = format!("{below} more {}", look.glyphs.down);
        text::put(buf, row, &more, look.style(Role::Strong), look.glyphs.ellipsis);
    } else if first > 0 {
        let more = format!("{first} more {}", look.glyphs.up);
        text::put(buf, row, &more, look.style(Role::Strong), look.glyphs.ellipsis);
    }
}

/// The keys of the open dialog, from the table.
fn keys(app: &App) -> String {
    let keys: Vec<String> = live::keys(app).map(|(key, brief)| format!("{key} {brief}")).collect();
    keys.join("   ")
}

/// Paints an empty box with a title and the keys at the foot of the area, and gives back its inside.
fn frame(
    buf: &mut Buffer,
    area: Rect,
    width: u16,
    height: u16,
    title: &str,
    keys: &str,
    look: &Look,
) -> Rect {
    let g = &look.glyphs;
    let width = width.clamp(1, area.width);
    let height = height.clamp(1, area.height);
    let x = area.x + (area.width - width) / 2;
    let y = area.bottom() - height;
    let outer = Rect { x, y, width, height };
    // Letters and figures that look out at the sides by a few cells would seem to belong to what is asked.
    let covered =
        if area.width - width < BESIDE { Rect { x: area.x, width: area.width, ..outer } } else { outer };
    text::blank(buf, covered, Style::new());
    blank_what_is_cut(buf, covered, area, look);
    let style = look.style(Role::Strong);
    let (right, bottom) = (outer.right() - 1, outer.bottom() - 1);
    for x in outer.left()..outer.right() {
        buf[(x, outer.y)].set_char(g.rule).set_style(style);
        buf[(x, bottom)].set_char(g.rule).set_style(style);
    }
    for y in outer.top()..outer.bottom() {
        buf[(outer.x, y)].set_char(g.wall).set_style(style);
        buf[(right, y)].set_char(g.wall).set_style(style);
    }
    for (at, c) in
        [(outer.x, outer.y), (right, outer.y), (outer.x, bottom), (right, bottom)].iter().zip(g.corners)
    {
        buf[*at].set_char(c);
    }
    let pad = 3.min(outer.width / 2);
    let line = Rect { x: outer.x + pad, y: outer.y, width: outer.width.saturating_sub(2 * pad), height: 1 };
    text::put(buf, line, &format!(" {title} "), look.style(Role::Chosen), g.ellipsis);
    if outer.height > 1 {
        let below = Rect { y: bottom, ..line };
        text::put(buf, below, &format!(" {keys} "), look.style(Role::Strong), g.ellipsis);
    }
    Rect { y: outer.y + 1, height: outer.height.saturating_sub(2), ..line }
}

/// Makes blank what a box has cut beside it: on its left half a word, which seems to be a whole one; on its right what is
/// left of a sentence whose beginning nobody sees.
fn blank_what_is_cut(buf: &mut Buffer, covered: Rect, area: Rect, look: &Look) {
    for y in covered.top()..covered.bottom() {
        let is_rule = |x: u16| buf[(x, y)].symbol().starts_with(look.glyphs.rule);
        let is_gap = |x: u16| !area.contains((x, y).into()) || buf[(x, y)].symbol() == " " || is_rule(x);
        let word = (area.left()..covered.left()).rev().take_while(|x| !is_gap(*x)).count() as u16;
        let ends = |x: &u16| is_rule(*x) || (is_gap(*x) && is_gap(*x + 1));
        let rest = (covered.right()..area.right()).take_while(|x| !ends(x)).count() as u16;
        for (x, width) in [(covered.left() - word, word), (covered.right(), rest)] {
            text::blank(buf, Rect { x, y, width, height: 1 }, Style::new());
        }
    }
}
