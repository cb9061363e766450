//! Text from files and people, made harmless: nothing in it moves a cursor, turns the direction of what follows or hides.

use std::borrow::Cow;
use std::fmt::Write as _;

use unicode_width::UnicodeWidthChar as _;

/// Marks over one letter; more is no writing.
const MOST_MARKS: usize = 2;

/// Stands where something was that is not shown.
pub const HIDDEN: char = '\u{fffd}';

/// True for a character that every terminal shows as itself, or as a mark over the one before: no control, nothing that
/// turns direction, joins, breaks lines or takes no room.
pub fn is_plain(c: char) -> bool {
    c.is_ascii_graphic() || c == ' ' || (!c.is_control() && !is_hidden(c))
}

/// Characters that are not seen but do something (Unicode `Cf`, line and paragraph separators, fillers, selectors, tags).
fn is_hidden(c: char) -> bool {
    matches!(c,
        '\u{ad}' | '\u{34f}' | '\u{600}'..='\u{605}' | '\u{61c}' | '\u{6dd}' | '\u{70f}' | '\u{115f}' | '\u{1160}'
        | '\u{17b4}' | '\u{17b5}' | '\u{180b}'..='\u{180f}' | '\u{200b}'..='\u{200f}' | '\u{2028}'..='\u{202e}'
        | '\u{2060}'..='\u{206f}' | '\u{3164}' | '\u{fe00}'..='\u{fe0f}' | '\u{feff}' | '\u{ffa0}'
        | '\u{fff0}'..='\u{fffb}' | '\u{fffe}' | '\u{ffff}' | '\u{110bd}' | '\u{1d173}'..='\u{1d17a}'
        | '\u{e0000}'..='\u{e0fff}')
}

/// One line: what is not plain is replaced, marks piled up over a letter are left out.
pub fn line(text: &str) -> Cow<'_, str> {
    cleaned(text, |_, _| false)
}

/// Several lines: the same, but ends of lines and tabs stay.
pub fn lines(text: &str) -> Cow<'_, str> {
    cleaned(text, |c, next| matches!(c, '\n' | '\t') || (c == '\r' && next == Some('\n')))
}

fn cleaned(text: &str, stays: impl Fn(char, Option<char>) -> bool) -> Cow<'_, str> {
    if text.bytes().all(|b| b.is_ascii_graphic() || b == b' ') {
        return Cow::Borrowed(text);
    }
    let mut out = String::with_capacity(text.len());
    let mut marks = 0;
    let mut chars = text.chars().peekable();
    while let Some(c) = chars.next() {
        if stays(c, chars.peek().copied()) {
            marks = 0;
            out.push(c);
        } else if !is_plain(c) {
            marks = 0;
            out.push(HIDDEN);
        } else if c.width() == Some(0) {
            marks += 1;
            if marks <= MOST_MARKS {
                out.push(c);
            }
        } else {
            marks = 0;
            out.push(c);
        }
    }
    Cow::Owned(out)
}

/// JSON in which everything that is not plain is escaped: the same value.
pub fn json(text: &str) -> Cow<'_, str> {
    if text.chars().all(|c| is_plain(c) || c == '\n') {
        return Cow::Borrowed(text);
    }
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        if is_plain(c) || c == '\n' {
            out.push(c);
        } else {
            let mut units = [0; 2];
            for unit in c.encode_utf16(&mut units) {
                let _ = write!(out, "\\u{unit:04x}");
            }
        }
    }
    Cow::Owned(out)
}

/// What fits one cell of a screen as it is: one letter with few marks, nothing hidden.
pub fn is_plain_cell(symbol: &str) -> bool {
    symbol.chars().all(is_plain) && symbol.chars().count() <= 1 + MOST_MARKS
}
