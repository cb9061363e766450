//! A page of text, scrolled; long lines are wrapped under themselves.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::Look;
use crate::tui::app::App;
use crate::tui::theme::Role;
use crate::tui::widgets::text;

pub(super) fn draw(buf: &mut Buffer, area: Rect, app: &App, look: &Look) {
    let e = look.glyphs.ellipsis;
    let reading = &app.reading;
    let area = Rect { x: area.x + 1, width: area.width.saturating_sub(2), ..area };
    let mut x = area.x;
    for (n, (title, _)) in reading.pages.iter().enumerate() {
        let role = if n == reading.page { Role::Chosen } else { Role::Text };
        let at = Rect { x, width: area.right().saturating_sub(x), ..text::row(area, 0) };
        x += text::put(buf, at, &format!(" {title} "), look.style(role), e) + 1;
    }
    if reading.unfinished {
        text::put_right(
            buf,
            text::row(area, 0),
            "the others are still being reckoned",
            look.style(Role::Quiet),
            e,
        );
    }
    let below = Rect { y: area.y + 2, height: area.height.saturating_sub(2), ..area };
    let Some((_, lines)) = reading.pages.get(reading.page) else { return };
    let room = usize::from(below.height.saturating_sub(1));
    // Scrolled by lines of the page, so that a wrapped line is never lost.
    let first = reading.scroll.min(lines.len().saturating_sub(1));
    let mut shown = 0;
    let mut y = 0;
    for line in &lines[first..] {
        let parts = wrapped(line, area.width);
        if y + parts.len() > room && y > 0 {
            break;
        }
        shown += 1;
        for part in parts {
            let role = if heading(lines, first + shown) { Role::Heading } else { Role::Text };
            text::put(
                buf,
                text::row(below, u16::try_from(y).unwrap_or(u16::MAX)),
                &part,
                look.style(role),
                e,
            );
            y += 1;
        }
    }
    let left = lines.len() - first - shown;
    let foot = text::row(below, below.height.saturating_sub(1));
    if left > 0 {
        text::put(buf, foot, &format!("{left} more {}", look.glyphs.down), look.style(Role::Strong), e);
    } else if first > 0 {
        text::put(
            buf,
            foot,
            &format!("the end; {first} more {}", look.glyphs.up),
            look.style(Role::Strong),
            e,
        );
    }
}

/// True if the line before `next` is underlined.
fn heading(lines: &[String], next: usize) -> bool {
    lines.get(next).is_some_and(|l| !l.is_empty() && l.chars().all(|c| c == '-'))
}

/// The line in pieces that fit: words, or the columns of a table as they stand.
fn wrapped(line: &str, width: u16) -> Vec<String> {
    if text::width(line) <= width {
        return vec![line.to_owned()];
    }
    if !line.trim_end().contains("  ") {
        let mut parts = text::wrap(line, width.saturating_sub(4));
        parts.iter_mut().skip(1).for_each(|part| part.insert_str(0, "    "));
        return parts;
    }
    let mut parts = Vec::new();
    let mut rest: Vec<char> = line.chars().collect();
    let room = usize::from(width).max(8);
    while rest.len() > room {
        let at = (1..=room).rev().find(|&k| rest[k] == ' ').unwrap_or(room);
        let after = rest.split_off(at);
        parts.push(rest.iter().collect());
        rest = "    ".chars().chain(after.into_iter().skip_while(|c| *c == ' ')).collect();
    }
    parts.push(rest.iter().collect());
    parts
}

#[cfg(test)]
mod tests {
    use super::wrapped;

    #[test]
    fn columns_stay_columns_and_words_are_wrapped() {
        assert_eq!(wrapped("H1    24    412.3 %", 20), ["H1    24    412.3 %"]);
        assert_eq!(wrapped("H1    24    412.3 %", 14), ["H1    24   ", "    412.3 %"]);
        assert_eq!(wrapped("one two three four", 12), ["one two", "    three", "    four"]);
    }
}
