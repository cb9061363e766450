//! A page as text no wider than a terminal: words go on below, and a table that is too wide first leaves out columns with
//! nothing in them, then breaks its cells, and at last says each row in words.

use std::fmt::Write as _;

use super::page::{Body, Page, columns, has_figures};

/// Cells between two columns.
const BETWEEN: usize = 2;
/// Where a line goes on.
const HANGING: usize = 4;

/// The whole page.
pub fn text(page: &Page, wide: usize) -> String {
    let mut text = hung(&page.title, wide, 0);
    text.extend(page.lead.iter().map(|line| hung(line, wide, HANGING)));
    for part in &page.parts {
        let _ = write!(text, "\n{}", hung(&part.title, wide, 0));
        let _ = writeln!(text, "{}", "-".repeat(length(&part.title).min(wide)));
        text.push_str(&body(&part.body, wide));
    }
    let _ = write!(text, "\n{}", hung(&page.foot, wide, 0));
    text
}

fn body(body: &Body, wide: usize) -> String {
    match body {
        Body::Lines(lines) if !lines.is_empty() => lines.iter().map(|l| hung(l, wide, HANGING)).collect(),
        Body::Facts(facts) => {
            let what = facts.iter().map(|(what, _)| length(what)).max().unwrap_or(0);
            let line =
                |(name, value): &(String, String)| hung(&format!("{name:<what$}  {value}"), wide, what + 2);
            facts.iter().map(line).collect()
        }
        Body::Table { head, rows } if !rows.is_empty() => table(head, rows, wide),
        _ => "none\n".to_owned(),
    }
}

fn table(head: &[String], rows: &[Vec<String>], wide: usize) -> String {
    if span(&widths(head, rows)) <= wide {
        return columns(head, rows, &[]);
    }
    let kept: Vec<usize> = (0..head.len()).filter(|n| *n == 0 || !is_empty(rows, *n)).collect();
    let empty: Vec<&str> = (0..head.len()).filter(|n| !kept.contains(n)).map(|n| head[n].as_str()).collect();
    let pick = |row: &[String]| kept.iter().map(|n| row[*n].clone()).collect::<Vec<_>>();
    let (head, rows) = (pick(head), rows.iter().map(|r| pick(r)).collect::<Vec<_>>());
    let mut text = match narrowed(&head, &rows, wide) {
        Some(widths) => broken(&head, &rows, &widths),
        None => rows.iter().map(|row| hung(&in_words(&head, row), wide, HANGING)).collect(),
    };
    if !empty.is_empty() {
        text.push_str(&hung(&format!("(nothing under {})", empty.join(", ")), wide, HANGING));
    }
    text
}

/// True for a column that says nothing.
fn is_empty(rows: &[Vec<String>], column: usize) -> bool {
    rows.iter().all(|r| matches!(r[column].as_str(), "" | "-" | "0"))
}

fn widths(head: &[String], rows: &[Vec<String>]) -> Vec<usize> {
    let widest = |n: usize| rows.iter().map(|r| length(&r[n])).chain([length(&head[n])]).max().unwrap_or(0);
    (0..head.len()).map(widest).collect()
}

fn span(widths: &[usize]) -> usize {
    widths.iter().sum::<usize>() + BETWEEN * widths.len().saturating_sub(1)
}

/// Widths that fit, no word broken; the widest columns give way first. `None` if there are none.
fn narrowed(head: &[String], rows: &[Vec<String>], wide: usize) -> Option<Vec<usize>> {
    let word = |text: &String| text.split(' ').map(length).max().unwrap_or(0);
    let least = |n: usize| rows.iter().map(|r| word(&r[n])).chain([word(&head[n])]).max().unwrap_or(0);
    let least: Vec<usize> = (0..head.len()).map(least).collect();
    let mut widths = widths(head, rows);
    while span(&widths) > wide {
        let gives = (0..widths.len()).filter(|n| widths[*n] > least[*n]).max_by_key(|n| widths[*n])?;
        widths[gives] -= 1;
    }
    Some(widths)
}

/// A table whose cells go on below.
fn broken(head: &[String], rows: &[Vec<String>], widths: &[usize]) -> String {
    let figures: Vec<bool> = (0..head.len()).map(|n| has_figures(rows, n)).collect();
    let row = |cells: &[String], down: bool| -> String {
        let parts: Vec<Vec<String>> =
            cells.iter().zip(widths).map(|(cell, wide)| wrap(cell, *wide)).collect();
        let high = parts.iter().map(Vec::len).max().unwrap_or(0);
        let line = |y: usize| {
            let cell = |n: usize| {
                // Names of columns stand right above what is below them.
                let above = if down { high - parts[n].len() } else { 0 };
                let part = y.checked_sub(above).and_then(|y| parts[n].get(y)).map_or("", String::as_str);
                let wide = widths[n];
                if figures[n] { format!("{part:>wide$}") } else { format!("{part:<wide$}") }
            };
            let cells: Vec<String> = (0..parts.len()).map(cell).collect();
            format!("{}\n", cells.join(&" ".repeat(BETWEEN)).trim_end())
        };
        (0..high).map(line).collect()
    };
    std::iter::once(row(head, true)).chain(rows.iter().map(|r| row(r, false))).collect()
}

/// `A101 Brackets: received 60, on line 20`
fn in_words(head: &[String], row: &[String]) -> String {
    let said = |(name, cell): (&String, &String)| match (name.as_str(), cell.as_str()) {
        (_, "" | "-") => None,
        ("", cell) => Some(cell.to_owned()),
        (name, cell) => Some(format!("{name} {cell}")),
    };
    let rest: Vec<String> = head.iter().zip(row).skip(1).filter_map(said).collect();
    format!("{}: {}", row[0], rest.join(", "))
}

/// A text in lines; those after the first begin so far to the right.
fn hung(text: &str, wide: usize, indent: usize) -> String {
    // However far to the right, some words have to stand there.
    let indent = if indent + 20 > wide { HANGING } else { indent };
    if length(text) <= wide {
        return format!("{}\n", text.trim_end());
    }
    let head: String = text.chars().take(indent).collect();
    let rest: String = text.chars().skip(indent).collect();
    let mut lines = wrap(&rest, wide - indent).into_iter();
    let mut out = format!("{head}{}\n", lines.next().unwrap_or_default());
    out.extend(lines.map(|line| format!("{}{line}\n", " ".repeat(indent))));
    out
}

/// A text in lines of so many characters, broken between words; a word that is longer has a line of its own.
fn wrap(text: &str, wide: usize) -> Vec<String> {
    let mut lines = vec![String::new()];
    for word in text.split(' ') {
        let last = lines.last_mut().expect("never empty");
        if last.is_empty() {
            last.push_str(word);
        } else if length(last) + 1 + length(word) <= wide {
            last.push(' ');
            last.push_str(word);
        } else {
            lines.push(word.to_owned());
        }
    }
    lines
}

fn length(text: &str) -> usize {
    text.chars().count()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn own(cells: &[&str]) -> Vec<String> {
        cells.iter().map(|&c| c.to_owned()).collect()
    }

    fn within(text: &str, wide: usize) -> bool {
        text.lines().all(|l| length(l) <= wide)
    }

    #[test]
    fn a_table_that_is_too_wide_loses_empty_columns_then_breaks_then_is_said() {
        let head = own(&["order", "what", "on line", "scrap"]);
        let rows = vec![own(&["A101", "Brackets of the long kind", "20", "0"])];
        assert!(table(&head, &rows, 80).contains("scrap"));
        let narrow = table(&head, &rows, 41);
        assert!(within(&narrow, 41) && narrow.contains("(nothing under scrap)"), "{narrow}");
        let broken = table(&head, &rows, 30);
        assert_eq!(
            broken,
            "order  what            on line\nA101   Brackets of          20\n       the long kind\n(nothing under scrap)\n"
        );
        let said = table(&head, &rows, 20);
        assert_eq!(
            said,
            "A101: what Brackets\n    of the long\n    kind, on line 20\n(nothing under\n    scrap)\n"
        );
    }

    #[test]
    fn words_go_on_below_what_they_are_about() {
        let facts = vec![("median".to_owned(), "one two three four five six".to_owned())];
        assert_eq!(body(&Body::Facts(facts), 30), "median  one two three four\n        five six\n");
    }
}
