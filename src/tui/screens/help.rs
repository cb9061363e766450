//! All keys, printed from the table that makes them work; and how to read the marks.

use crate::tui::keymap::{Context, bindings};
use crate::tui::widgets::text;

/// The line at which the keys of a context begin.
pub fn line_of(context: Context) -> usize {
    lines().iter().position(|(line, heading)| *heading && line == context.title()).unwrap_or(0)
}

/// The lines of the help page, headings marked.
pub fn lines() -> Vec<(String, bool)> {
    let mut lines = Vec::new();
    for context in Context::ALL {
        if !lines.is_empty() {
            lines.push((String::new(), false));
        }
        lines.push((context.title().to_owned(), true));
        for b in bindings(context) {
            for (ix, part) in text::wrap(b.help, 56).into_iter().enumerate() {
                let keys = if ix == 0 { b.shown } else { "" };
                lines.push((format!("  {keys:<14} {part}"), false));
            }
        }
    }
    lines.push((String::new(), false));
    lines.push(("How to read the line".to_owned(), true));
    for text in [
        "  [ and ]        the shortest and the longest dwell; between them is the window",
        "  +              the dwell to aim for",
        "  arrow          when the plan lifts it",
        "  in             shorter than the window so far",
        "  ready          inside the window",
        "  RISK           no planned move lifts it in time",
        "  OVER           the window is broken",
        "  HELD           nobody is to move it; PARKED: in standby water, to stay there",
        "  QUAR.          quarantine: the tank may be left, not entered; OUT: not used at all",
        "  S R H N        what too long does: scrap, rework, shade, nuisance",
        "  NO STOP        the move has an air limit: do not stop on the way",
    ] {
        lines.push((text.to_owned(), false));
    }
    lines
}
