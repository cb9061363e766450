//! A terminal that is too small: the call and the first alarm in a line each, and what size is needed.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::{Look, NEEDED};
use crate::tui::app::App;
use crate::tui::keymap::Context;
use crate::tui::theme::Role;
use crate::tui::widgets::{countdown, text};
use crate::view::{Board, Urgency};

pub(super) fn draw(buf: &mut Buffer, area: Rect, board: &Board, app: &App, look: &Look) {
    let e = look.glyphs.ellipsis;
    let mut lines: Vec<(String, Role)> = Vec::new();
    match &board.call {
        Some(call) => {
            let role = match call.urgency {
                Urgency::Calm => Role::Strong,
                _ => countdown::role(call.urgency),
            };
            let figures = countdown::big(call.count);
            lines.push((format!("{figures} {}", call.plain()), role));
        }
        None => lines.push((board.rest.clone(), Role::Strong)),
    }
    if let Some(alarm) = board.first_alarm().filter(|a| a.active) {
        let (level, letter) = (alarm.level_word, alarm.harm.letter());
        lines.push((format!("ALARM {level} {letter} {}", alarm.text), Role::Over));
    } else if board.gone_alarms() > 0 {
        lines.push((format!("No alarm now; {} past, not seen yet", board.gone_alarms()), Role::Strong));
    }
    let (w, h) = NEEDED;
    lines.push((
        format!("Too small: needs {w}x{h}, has {}x{}. q, then y, leaves.", area.width, area.height),
        Role::Text,
    ));
    if app.context() == Context::Caution {
        lines.insert(
            0,
            ("Make the window larger and read the cautions before you work.".to_owned(), Role::Soon),
        );
    }
    if app.dialog.is_some() {
        lines.insert(0, ("A question is open: make the window larger, or Esc.".to_owned(), Role::Answer));
    } else if let Some(message) = &app.message {
        lines.push((message.text.clone(), Role::Answer));
    }
    let mut y = 0;
    for (line, role) in lines {
        for part in text::wrap(&line, area.width).iter().take(3) {
            text::put(buf, text::row(area, y), part, look.style(role), e);
            y += 1;
        }
    }
}
