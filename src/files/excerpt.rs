//! A finding as compilers print theirs: the line of the file, carets under what is wrong, what was expected.

use annotate_snippets::{AnnotationKind, Level, Renderer, Snippet};

use crate::finding::{Finding, Severity};

/// The finding with the line of `text` it points at, without colours. `text` is the file's text; if the finding
/// points at no place in it, one line comes back.
pub fn excerpt(finding: &Finding, text: &str) -> String {
    let Some((line, span)) = place(finding, text) else { return finding.to_string() };
    let level = match finding.severity {
        Severity::Error => Level::ERROR,
        Severity::Warning => Level::WARNING,
    };
    let title = if finding.path.is_empty() {
        finding.found.clone()
    } else {
        format!("{}: {}", finding.path, finding.found)
    };
    let label = format!("expected {}", finding.expected);
    let snippet = Snippet::source(line)
        .line_start(finding.line)
        .path(finding.file.as_str())
        .annotation(AnnotationKind::Primary.span(span).label(label.as_str()));
    let report = [level.primary_title(title.as_str()).id(finding.code).element(snippet)];
    Renderer::plain().render(&report)
}

/// The line that holds the finding's origin, and the origin inside it, cut at the line's end.
fn place<'t>(finding: &Finding, text: &'t str) -> Option<(&'t str, std::ops::Range<usize>)> {
    let (start, end) = (finding.origin.start, finding.origin.end);
    if finding.line == 0 || start > end || end > text.len() || !text.is_char_boundary(start) {
        return None;
    }
    let from = text[..start].rfind('\n').map_or(0, |at| at + 1);
    let from = if text[from..].starts_with('\u{feff}') { from + '\u{feff}'.len_utf8() } else { from };
    let to = text[start..].find('\n').map_or(text.len(), |at| start + at);
    let line = text.get(from..to)?.trim_end_matches('\r');
    let start = start.checked_sub(from)?.min(line.len());
    let mut end = (end.min(to) - from).clamp(start, line.len());
    while !line.is_char_boundary(end) {
        end -= 1;
    }
    // A caret needs something to stand under.
    let end =
        if end > start { end } else { line[start..].chars().next().map_or(start, |c| start + c.len_utf8()) };
    Some((line, start..end))
}
