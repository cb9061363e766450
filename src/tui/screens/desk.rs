//! The frame of the supervisor's screens: header, the call in one line, alarm strip, tabs, body, key line.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;

use super::{Look, alarms, board, changes, chart, lessons, live, occupation, pages, reading, timeline};
use crate::tui::app::{App, Post, Screen};
use crate::tui::theme::Role;
use crate::tui::widgets::{countdown, text};
use crate::view::{Board, Urgency};

/// Paints the screen and says how many rows at the top a dialog must leave in sight.
pub(super) fn draw(buf: &mut Buffer, area: Rect, board: &Board, app: &App, look: &Look) -> u16 {
    live::header(buf, text::row(area, 0), board, app, look);
    call_line(buf, text::row(area, 1), board, look);
    let (_, below) = live::split_down(area, 2);
    let (below, keys) = live::split_down(below, below.height - 1);
    live::key_line(buf, keys, app, look);
    let (below, time) = live::split_down(below, below.height - timeline::rows(app));
    timeline::draw(buf, time, board, app, look);
    let strip = alarms::strip(buf, below, board, app, look);
    let (_, below) = live::split_down(below, strip);
    let (head, body) = live::split_down(below, 1);
    tabs(buf, head, app, look);
    match app.screen {
        Screen::Chart => chart::draw(buf, body, board, app, look),
        Screen::Tanks => occupation::draw(buf, body, board, app, look),
        Screen::Changes => changes::draw(buf, body, board, app, look),
        Screen::Pages => pages::draw(buf, body, app, look),
        Screen::Lessons => lessons::draw(buf, body, app, look),
        Screen::Reading => reading::draw(buf, body, app, look),
        _ => board::draw(buf, body, board, app, look),
    }
    2 + strip
}

/// The call as a sentence, with the figures it counts.
fn call_line(buf: &mut Buffer, area: Rect, board: &Board, look: &Look) {
    let e = look.glyphs.ellipsis;
    let Some(call) = &board.call else {
        text::put(buf, area, &format!(" {}", board.rest), look.style(Role::Strong), e);
        return;
    };
    let role = match call.urgency {
        Urgency::Calm => Role::Text,
        urgency => countdown::role(urgency),
    };
    let figures = format!(" {} {} ", call.caption(), countdown::big(call.count));
    let w = text::put_right(buf, area, &figures, look.style(role), e);
    let room = Rect { width: area.width.saturating_sub(w + 1), ..area };
    text::put(buf, room, &format!(" {}", call.plain()), look.style(Role::Strong), e);
}

/// From this width on the tabs are written out.
const WIDE: u16 = 100;

fn tabs(buf: &mut Buffer, area: Rect, app: &App, look: &Look) {
    let e = look.glyphs.ellipsis;
    live::rule(buf, area, look);
    let mut x = area.x + 1;
    let proposed = match app.changes.stack.len() {
        0 => " w Changes ".to_owned(),
        n => format!(" w Changes {n} "),
    };
    let (ways, tanks) = if area.width < WIDE {
        (" 6 Ways ", " 7 Tanks ")
    } else {
        (" 6 Ways over time ", " 7 Tanks over time ")
    };
    let mut titles = vec![
        (" 1 Call ", Screen::Live),
        (" 5 Board ", Screen::Board),
        (ways, Screen::Chart),
        (tanks, Screen::Tanks),
        (" 8 Pages ", Screen::Pages),
    ];
    if app.post == Post::Supervisor {
        titles.push((&proposed, Screen::Changes));
    }
    // Read rather than watched: named only while they are open, so that the others keep their room.
    titles.extend(match app.screen {
        Screen::Lessons => Some((" 9 Baths and words ", Screen::Lessons)),
        Screen::Reading => Some((" 0 Debrief ", Screen::Reading)),
        _ => None,
    });
    for (title, screen) in titles {
        let role = if screen == app.screen { Role::Chosen } else { Role::Text };
        let at = Rect { x, width: area.right().saturating_sub(x), ..area };
        text::blank(buf, Rect { width: text::width(title).min(at.width), ..at }, Style::new());
        x += text::put(buf, at, title, look.style(role), e) + 1;
    }
}
