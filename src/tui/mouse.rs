//! The mouse, where somebody wants it: the wheel goes as the arrows do, a click chooses a row or a tab. It says nothing
//! about the line: nobody confirms a move, a figure or a change by brushing against it. Pure.
//!
//! What stands under it is read off the screen as it is painted, and a row is reached by as many arrows as it takes, so no
//! screen has to know that there is a mouse.

use crossterm::event::{MouseButton, MouseEvent, MouseEventKind};
use ratatui::buffer::{Buffer, Cell};
use ratatui::layout::{Position, Rect};

use super::action::Action;
use super::app::{App, update};
use super::glyphs::GlyphSet;
use super::keymap::{Context, Key};
use super::screens::{Look, paint};
use super::theme::Depth;
use crate::view::Board;

/// Whose the mouse is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Mouse {
    /// The terminal's, to select and copy with.
    #[default]
    Terminals,
    /// This program's, to move about with.
    Ours,
}

/// Keys that an event of the mouse stands for, on a screen of this size.
pub fn actions(event: MouseEvent, app: &App, board: &Board, area: Rect) -> Vec<Action> {
    match event.kind {
        MouseEventKind::ScrollUp => arrow(app, Key::Up).into_iter().collect(),
        MouseEventKind::ScrollDown => arrow(app, Key::Down).into_iter().collect(),
        MouseEventKind::Down(MouseButton::Left) => {
            let at = Position::new(event.column, event.row);
            tab(app, board, area, at).map_or_else(|| to_row(app, board, area, at), |action| vec![action])
        }
        _ => Vec::new(),
    }
}

/// What an arrow does here, if it only moves about: in a question about a time it would change an answer.
fn arrow(app: &App, key: Key) -> Option<Action> {
    let moves = match app.context() {
        Context::Live
        | Context::Board
        | Context::Times
        | Context::Changes
        | Context::Replay
        | Context::Pages
        | Context::Lessons
        | Context::Reading
        | Context::List
        | Context::Page
        | Context::Worked => true,
        Context::Caution
        | Context::Typing
        | Context::Choose
        | Context::Verdict
        | Context::Ask
        | Context::Amount
        | Context::Field => false,
    };
    app.wants(key).filter(|action| moves && matches!(action, Action::Up | Action::Down))
}

/// The screen in marks that stand for nothing else, and the rule and the pointer among them.
fn painted(app: &App, board: &Board, area: Rect) -> (Buffer, String, String) {
    let look = Look::new(Depth::Mono, GlyphSet::Full);
    let mut buf = Buffer::empty(area);
    paint(&mut buf, area, board, app, &look);
    (buf, look.glyphs.rule.to_string(), look.glyphs.pointer.to_string())
}

/// The screen or pane whose number stands in the rule under the mouse: `─ 5 Board ─`.
fn tab(app: &App, board: &Board, area: Rect, at: Position) -> Option<Action> {
    if app.dialog.is_some() || !area.contains(at) {
        return None;
    }
    let (buf, rule, _) = painted(app, board, area);
    let is_rule = |x: u16| buf[(x, at.y)].symbol() == rule;
    let left = (area.left()..=at.x).rev().find(|x| is_rule(*x)).filter(|x| *x < at.x)?;
    let right = (at.x..area.right()).find(|x| is_rule(*x))?;
    let title: String = (left + 1..right).map(|x| buf[(x, at.y)].symbol()).collect();
    let mut title = title.chars();
    let number = (title.next() == Some(' ')).then(|| title.next())??;
    if !number.is_ascii_digit() || title.next() != Some(' ') {
        return None;
    }
    let goes = |action: &Action| matches!(action, Action::Pane(_) | Action::Lessons | Action::Debrief);
    app.wants(Key::Char(number)).filter(goes)
}

/// The arrows that bring the pointer to the row under the mouse; none if they cannot.
fn to_row(app: &App, board: &Board, area: Rect, at: Position) -> Vec<Action> {
    let (mut tried, mut actions) = (app.clone(), Vec::new());
    for _ in 0..2 * area.height {
        let row = pointed(&tried, board, area);
        let key = match row {
            Some(row) if row.contains(at) => return actions,
            Some(row) if (at.x < row.left() || at.y < row.y) && at.x < row.right() => Key::Up,
            // The first arrow shows where the pointer is.
            _ => Key::Down,
        };
        let Some(action) = arrow(&tried, key) else { break };
        let before = tried.clone();
        if !update(&mut tried, action, board, board.now).is_empty() || tried == before {
            break;
        }
        actions.push(action);
    }
    Vec::new()
}

/// Where the chosen row stands.
fn pointed(app: &App, board: &Board, area: Rect) -> Option<Rect> {
    let (buf, _, pointer) = painted(app, board, area);
    let looks = |cell: &Cell| (cell.fg, cell.bg, cell.modifier);
    let at = buf.content.iter().rposition(|cell| cell.symbol() == pointer)?;
    let (left, y) = buf.pos_of(at);
    let chosen = looks(&buf[(left, y)]);
    let right = (left..area.right()).rev().find(|x| looks(&buf[(*x, y)]) == chosen)?;
    Some(Rect { x: left, y, width: right + 1 - left, height: 1 })
}
