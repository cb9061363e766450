//! What the practice is that is about to begin: read before its time runs.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::{Look, live};
use crate::train::Brief;
use crate::tui::app::{App, Post};
use crate::tui::theme::Role;
use crate::tui::widgets::text;
use crate::view::Board;

pub(super) fn draw(buf: &mut Buffer, area: Rect, board: &Board, app: &App, look: &Look) {
    let Some(brief) = app.practising.brief.as_deref() else { return };
    let e = look.glyphs.ellipsis;
    let width = area.width.min(96);
    let inner = Rect { x: area.x + (area.width - width) / 2 + 2, width: width - 4, ..area };
    let mut y = (area.height.saturating_sub(24)) / 3 + 1;
    let head = app.practising.kind().to_uppercase();
    text::put(buf, text::row(inner, y), &head, look.style(Role::Strong), e);
    text::put_right(buf, text::row(inner, y), &board.line_name, look.style(Role::Text), e);
    for line in lines(brief, app, BY_KEYS) {
        y += 1;
        for part in text::wrap(&line.0, inner.width) {
            y += 1;
            text::put(buf, text::row(inner, y), &part, look.style(line.1), e);
        }
    }
    let go = match app.post {
        _ if app.practising.crewed => format!("begin: a {} crew runs the line, I watch", app.practising.crew),
        Post::Watch => "look at the line".to_owned(),
        _ => "begin: I run the line by my own keys".to_owned(),
    };
    let pieces = [
        (" Enter ", look.style(Role::Answer)),
        ("  ", look.style(Role::Text)),
        (go.as_str(), look.style(Role::Text)),
    ];
    text::put_all(buf, text::row(inner, y + 2), &pieces, e);
    live::key_line(buf, text::row(area, area.height - 1), app, look);
}

/// How to go about it by one's own keys.
const BY_KEYS: &str = "Watch the call at the top: go there, do it, then Space. x says that something else was done, u takes back, ? \
                       lists all keys. At the end comes the debrief; 0 has it at any time. q leaves; it can be gone on with later.";

/// Its name, what there is to learn, how long it lasts, and how to go about it.
pub fn lines(brief: &Brief, app: &App, by_hand: &str) -> Vec<(String, Role)> {
    let mut lines = vec![(brief.title.clone(), Role::Strong)];
    lines.extend((!brief.about.is_empty()).then(|| (brief.about.clone(), Role::Text)));
    let speed = if app.practising.crewed || app.post != Post::Watch {
        faster(app.practising.speed)
    } else {
        String::new()
    };
    lines.push((
        match brief.lasting {
            Some(lasting) => format!(
                "It lasts {lasting} by the clock on the screen{speed}, or until every bar is out and nothing more is to \
                 happen. Its time begins with Enter."
            ),
            None => format!("It goes on where the shift was taken over{speed}. Its time begins with Enter."),
        },
        Role::Text,
    ));
    let how = if app.practising.crewed {
        "The crew does what is called; watch the call, the tanks and the alarms. At the end comes the debrief; 0 has it at any \
         time. q leaves."
    } else {
        by_hand
    };
    lines.push((how.to_owned(), Role::Text));
    lines
}

/// How much faster than the wall.
fn faster(speed: f64) -> String {
    if (speed - 1.0).abs() < 1e-9 {
        ", in real time".to_owned()
    } else {
        format!(", {speed} times faster than real time")
    }
}
