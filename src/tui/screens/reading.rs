//! Pages that are read: the debrief and its like, laid out as all pages are.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::live::split_down;
use super::{Look, pages};
use crate::tui::app::App;

pub(super) fn draw(buf: &mut Buffer, area: Rect, app: &App, look: &Look) {
    let reading = &app.reading;
    let (head, body) = split_down(area, 1);
    let titles: Vec<&str> = reading.pages.iter().map(|(title, _)| title.as_str()).collect();
    let tail = match (reading.behind, reading.unfinished) {
        (true, _) => " more has happened since: 0 twice makes it anew ",
        (false, true) => " the others are still being reckoned ",
        (false, false) => "",
    };
    pages::tabs(buf, head, &titles, Some(reading.page), tail, look);
    if let Some((_, page)) = reading.pages.get(reading.page) {
        pages::show(buf, body, page, reading.scroll, look);
    }
}
