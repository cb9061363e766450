//! The first screen: what this program is not, and what is dangerous on the line.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::{Look, live};
use crate::tui::app::{App, Post};
use crate::tui::theme::Role;
use crate::tui::widgets::text;
use crate::view::Board;

/// What has to be read first. `say` is how the true state is told: a key on a screen, a word in plain lines.
pub fn cautions(say: &str) -> [(&'static str, String); 7] {
    let told = format!(
        "It knows only what it is told. If the screen and the line differ, believe the line and {say}."
    );
    [
        ("It advises.", "It never drives the crane and is no interlock, guard or safety system."),
        ("People first.", "An emergency stop, a spill or an injury outranks every dwell: let the parts go."),
        (
            "The line burns.",
            "Hot caustic, nitric and sulphuric acid, their mist and fumes; hydrogen over etch and anodise: \
             no flame, ventilation on.",
        ),
        ("It carries current.", "Rectifier current is off before a lift. Work on it is for licensed trades."),
        ("Loads hang.", "Clear the line before every move; nothing is carried over people."),
        ("It can be wrong.", told.as_str()),
        (
            "Others decide.",
            "Local code, the safety data sheets, licensed trades and your site safety officer govern, not this screen.",
        ),
    ]
    .map(|(head, body)| (head, body.to_owned()))
}

pub(super) fn draw(buf: &mut Buffer, area: Rect, board: &Board, app: &App, look: &Look) {
    let e = look.glyphs.ellipsis;
    let width = area.width.min(96);
    let inner = Rect { x: area.x + (area.width - width) / 2 + 2, width: width - 4, ..area };
    let mut y = (area.height.saturating_sub(24)) / 3 + 1;
    text::put(buf, text::row(inner, y), "DWELLHAND", look.style(Role::Strong), e);
    text::put_right(buf, text::row(inner, y), &board.line_name, look.style(Role::Text), e);
    y += 1;
    text::put(buf, text::row(inner, y), "Before the first move, read this.", look.style(Role::Text), e);
    y += 2;
    let lead = 21;
    for (head, body) in cautions("press s") {
        text::put(buf, text::row(inner, y), head, look.style(Role::Strong), e);
        for part in text::wrap(&body, inner.width - lead) {
            let line = text::row(inner, y);
            let at = Rect { x: line.x + lead, width: line.width - lead, ..line };
            text::put(buf, at, &part, look.style(Role::Text), e);
            y += 1;
        }
    }
    y += 1;
    let mut key = |key: &str, what: &str, y: u16| {
        let pieces =
            [(format!(" {key} "), look.style(Role::Answer)), (format!("  {what}"), look.style(Role::Text))];
        let pieces: Vec<_> = pieces.iter().map(|(t, s)| (t.as_str(), *s)).collect();
        text::put_all(buf, text::row(inner, y), &pieces, e);
    };
    let go = match app.post {
        _ if app.practising.brief.is_some() => "on to what this practice is about".to_owned(),
        Post::Watch => "look at the line".to_owned(),
        _ if app.practising.crewed => format!("watch the {} crew run the line", app.practising.crew),
        _ => "run the line by my own keys".to_owned(),
    };
    key("Enter", &format!("I have read it; {go}"), y);
    if app.practising.offers_crew() {
        key("  w  ", "watch a simulated crew run it (practice)", y + 1);
    }
    live::key_line(buf, text::row(area, area.height - 1), app, look);
}
