//! Text into cells: cut honestly, padded, wrapped.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;
use unicode_width::{UnicodeWidthChar, UnicodeWidthStr};

/// The text in at most `width` cells, with the ellipsis where something is missing. A figure is never cut: half a time is
/// a wrong time.
pub fn cut(text: &str, width: u16, ellipsis: char) -> String {
    let width = usize::from(width);
    if text.width() <= width {
        return text.to_owned();
    }
    let mut out = String::new();
    let mut used = 0;
    for c in text.chars() {
        let w = c.width().unwrap_or(0);
        if used + w + 1 > width {
            break;
        }
        used += w;
        out.push(c);
    }
    let inside_a_word = text[out.len()..].chars().next().is_some_and(|c| !c.is_whitespace());
    let word = out.char_indices().rfind(|(_, c)| c.is_whitespace()).map_or(0, |(ix, c)| ix + c.len_utf8());
    if inside_a_word
        && text[word..].split_whitespace().next().is_some_and(|w| w.contains(|c: char| c.is_ascii_digit()))
    {
        out.truncate(word);
    }
    if width > 0 {
        out.push(ellipsis);
    }
    out
}

/// Cells the text takes.
pub fn width(text: &str) -> u16 {
    u16::try_from(text.width()).unwrap_or(u16::MAX)
}

/// Paints one line, cut to the area's first row. Gives back the cells used.
pub fn put(buf: &mut Buffer, area: Rect, text: &str, style: Style, ellipsis: char) -> u16 {
    let area = area.intersection(buf.area);
    if area.is_empty() {
        return 0;
    }
    let text = cut(text, area.width, ellipsis);
    buf.set_stringn(area.x, area.y, &text, usize::from(area.width), style);
    width(&text)
}

/// Paints pieces one after the other on the area's first row.
pub fn put_all(buf: &mut Buffer, area: Rect, pieces: &[(&str, Style)], ellipsis: char) -> u16 {
    let mut used = 0;
    for (text, style) in pieces {
        let rest = Rect { x: area.x + used, width: area.width - used, ..area };
        used += put(buf, rest, text, *style, ellipsis);
        if used >= area.width {
            break;
        }
    }
    used
}

/// Paints one line so that it ends at the area's right edge.
pub fn put_right(buf: &mut Buffer, area: Rect, text: &str, style: Style, ellipsis: char) -> u16 {
    let w = width(text).min(area.width);
    let rest = Rect { x: area.x + area.width - w, width: w, ..area };
    put(buf, rest, text, style, ellipsis)
}

/// Breaks text at spaces into lines of at most `width` cells.
pub fn wrap(text: &str, width: u16) -> Vec<String> {
    let width = usize::from(width.max(1));
    let mut lines = Vec::new();
    let mut line = String::new();
    for word in text.split_whitespace() {
        if !line.is_empty() && line.width() + 1 + word.width() > width {
            lines.push(std::mem::take(&mut line));
        }
        if !line.is_empty() {
            line.push(' ');
        }
        line.push_str(word);
    }
    if !line.is_empty() {
        lines.push(line);
    }
    lines
}

/// The row `n` of an area, empty if it has fewer.
pub fn row(area: Rect, n: u16) -> Rect {
    if n < area.height { Rect { y: area.y + n, height: 1, ..area } } else { Rect { height: 0, ..area } }
}

/// Makes an area blank, for something on top of others.
pub fn blank(buf: &mut Buffer, area: Rect, style: Style) {
    let area = area.intersection(buf.area);
    for y in area.top()..area.bottom() {
        for x in area.left()..area.right() {
            buf[(x, y)].reset();
            buf[(x, y)].set_style(style);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn figures_are_left_out_rather_than_cut() {
        assert_eq!(cut("closes in 0:48. Lift", 30, '~'), "closes in 0:48. Lift");
        assert_eq!(cut("closes in 0:48. Lift", 13, '~'), "closes in ~");
        assert_eq!(cut("closes in 0:48. Lift", 5, '~'), "clos~");
        assert_eq!(cut("12:34:56", 5, '~'), "~");
    }
}
