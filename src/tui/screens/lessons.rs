//! Cards and words: the list on the left, what is chosen on the right.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::Look;
use super::live::split_across;
use crate::tui::app::App;
use crate::tui::theme::Role;
use crate::tui::widgets::table::{self, Cell, Column, Kind};
use crate::tui::widgets::text;
use crate::view::{Lesson, lessons};

/// Of the list, and the widest that a text is easy to read.
const LIST: u16 = 22;
const TEXT: u16 = 90;

/// Of the words in front of paragraphs.
const HEAD: u16 = 10;

pub(super) fn draw(buf: &mut Buffer, area: Rect, app: &App, look: &Look) {
    let all = lessons(&app.line);
    let row = app.lessons.row.min(all.len().saturating_sub(1));
    let (list, right) = split_across(area, LIST);
    let rows: Vec<Vec<Cell>> = all.iter().map(|l| vec![Cell::plain(l.title)]).collect();
    let columns = [Column { head: "", kind: Kind::Words(10), keep: 9 }];
    table::draw(buf, list, &columns, &rows, Some(row), false, look);
    if let Some(lesson) = all.get(row) {
        let x = right.x + 1;
        let inner = Rect { x, width: right.right().saturating_sub(x).min(TEXT), ..right };
        body(buf, inner, lesson, app.lessons.scroll, look);
    }
}

fn body(buf: &mut Buffer, area: Rect, lesson: &Lesson, scroll: usize, look: &Look) {
    let e = look.glyphs.ellipsis;
    text::put(buf, text::row(area, 0), lesson.title, look.style(Role::Heading), e);
    let below = Rect { y: area.y + 2, height: area.height.saturating_sub(2), ..area };
    let lines = lines(lesson, below.width);
    let room = usize::from(below.height);
    let room = if lines.len() > room { room.saturating_sub(1) } else { room };
    let first = scroll.min(lines.len().saturating_sub(room));
    for (y, (head, line)) in (0..).zip(lines.iter().skip(first).take(room)) {
        let at = text::row(below, y);
        text::put(buf, Rect { width: HEAD.min(at.width), ..at }, head, look.style(Role::Strong), e);
        let indent = indent(lesson);
        let at = Rect { x: at.x + indent, width: at.width.saturating_sub(indent), ..at };
        text::put(buf, at, line, look.style(Role::Text), e);
    }
    let left = lines.len() - first - room.min(lines.len() - first);
    let foot = text::row(below, below.height.saturating_sub(1));
    if left > 0 {
        text::put(buf, foot, &format!("{left} more {}  PgDn", look.glyphs.down), look.style(Role::Strong), e);
    } else if first > 0 {
        text::put(buf, foot, &format!("{first} more {}  PgUp", look.glyphs.up), look.style(Role::Strong), e);
    }
}

fn indent(lesson: &Lesson) -> u16 {
    if lesson.bath { HEAD + 1 } else { 0 }
}

/// Heads and wrapped texts, line by line.
fn lines(lesson: &Lesson, width: u16) -> Vec<(String, String)> {
    let width = width.saturating_sub(indent(lesson));
    let mut lines = Vec::new();
    for (head, body) in &lesson.parts {
        for (n, part) in text::wrap(body, width).into_iter().enumerate() {
            lines.push((if n == 0 { head.clone() } else { String::new() }, part));
        }
    }
    lines
}
