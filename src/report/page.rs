//! A page of figures and the forms it can be had in.

use std::fmt::Write as _;

/// A page.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Page {
    /// What it is.
    pub title: String,
    /// Under the title.
    pub lead: Vec<String>,
    /// What is on it.
    pub parts: Vec<Part>,
    /// At the foot.
    pub foot: String,
}

/// One part of a page.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Part {
    /// Its heading.
    pub title: String,
    /// Under the heading.
    pub body: Body,
}

/// What stands under a heading.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Body {
    /// One fact a line: what, and what about it.
    Facts(Vec<(String, String)>),
    /// Lines of words; none says so.
    Lines(Vec<String>),
    /// A table; every row is as long as its head.
    Table {
        /// Names of the columns.
        head: Vec<String>,
        /// The rows; none says so.
        rows: Vec<Vec<String>>,
    },
}

impl Part {
    pub(super) fn table(title: &str, head: &[&str], rows: Vec<Vec<String>>) -> Self {
        debug_assert!(rows.iter().all(|r| r.len() == head.len()), "{title}: a row and its head differ");
        let head = head.iter().map(|&h| h.to_owned()).collect();
        Self { title: title.to_owned(), body: Body::Table { head, rows } }
    }

    pub(super) fn lines(title: &str, lines: Vec<String>) -> Self {
        Self { title: title.to_owned(), body: Body::Lines(lines) }
    }

    pub(super) fn facts(title: &str, facts: Vec<(&str, String)>) -> Self {
        let facts = facts.into_iter().map(|(what, value)| (what.to_owned(), value)).collect();
        Self { title: title.to_owned(), body: Body::Facts(facts) }
    }
}

const NONE: &str = "none";

impl Page {
    /// As text with columns lined up.
    pub fn text(&self) -> String {
        let mut text = format!("{}\n", self.title);
        for line in &self.lead {
            let _ = writeln!(text, "{line}");
        }
        for part in &self.parts {
            let _ = writeln!(text, "\n{}", part.title);
            let _ = writeln!(text, "{}", "-".repeat(part.title.chars().count()));
            text.push_str(&part.body.text());
        }
        let _ = writeln!(text, "\n{}", self.foot);
        text
    }

    /// The same, no line wider than so many cells: nothing is cut.
    pub fn text_within(&self, wide: usize) -> String {
        super::fitted::text(self, wide)
    }

    /// As Markdown.
    pub fn markdown(&self) -> String {
        let mut text = format!("# {}\n\n", marked(&self.title));
        for line in &self.lead {
            let _ = writeln!(text, "{}  ", marked(line));
        }
        for part in &self.parts {
            let _ = writeln!(text, "\n## {}\n", marked(&part.title));
            match &part.body {
                Body::Facts(facts) => {
                    for (what, value) in facts {
                        let _ = writeln!(text, "- {}: {}", marked(what), marked(value));
                    }
                }
                Body::Lines(lines) if lines.is_empty() => text.push_str("none\n"),
                Body::Lines(lines) => {
                    for line in lines {
                        let _ = writeln!(text, "- {}", marked(line));
                    }
                }
                Body::Table { rows, .. } if rows.is_empty() => text.push_str("none\n"),
                Body::Table { head, rows } => {
                    let row = |cells: &[String]| {
                        let cells: Vec<String> = cells.iter().map(|c| marked(c)).collect();
                        format!("| {} |\n", cells.join(" | "))
                    };
                    text.push_str(&row(head));
                    let _ = writeln!(text, "|{}", "---|".repeat(head.len()));
                    text.extend(rows.iter().map(|r| row(r)));
                }
            }
        }
        let _ = writeln!(text, "\n{}", marked(&self.foot));
        text
    }

    /// As CSV (RFC 4180): a heading alone on its line before each part, parts apart by an empty line.
    pub fn csv(&self) -> String {
        let mut text = csv_row(std::slice::from_ref(&self.title));
        text.extend(self.lead.iter().map(|l| csv_row(std::slice::from_ref(l))));
        for part in &self.parts {
            text.push_str("\r\n");
            text.push_str(&csv_row(std::slice::from_ref(&part.title)));
            match &part.body {
                Body::Facts(facts) => {
                    text.extend(facts.iter().map(|(w, v)| csv_row(&[w.clone(), v.clone()])));
                }
                Body::Lines(lines) => {
                    text.extend(lines.iter().map(|l| csv_row(std::slice::from_ref(l))));
                }
                Body::Table { head, rows } => {
                    text.push_str(&csv_row(head));
                    text.extend(rows.iter().map(|r| csv_row(r)));
                }
            }
        }
        text
    }

    /// As HTML 5 to be printed: black on white, tables that keep their heads over page breaks, no script.
    pub fn html(&self) -> String {
        super::html::html(self)
    }

    /// As JSON: `format`, `title`, `lead`, `parts` with `title` and `facts`, `lines` or `rows` (objects by column).
    pub fn json(&self) -> serde_json::Value {
        let part = |part: &Part| {
            let mut value = serde_json::json!({ "title": part.title });
            match &part.body {
                Body::Facts(facts) => {
                    let facts = facts.iter().map(|(w, v)| (w.clone(), v.clone().into())).collect();
                    value["facts"] = serde_json::Value::Object(facts);
                }
                Body::Lines(lines) => value["lines"] = lines.clone().into(),
                Body::Table { head, rows } => {
                    let row = |row: &Vec<String>| {
                        let cells = head.iter().cloned().zip(row.iter().cloned().map(Into::into));
                        serde_json::Value::Object(cells.collect())
                    };
                    value["rows"] = rows.iter().map(row).collect();
                }
            }
            value
        };
        serde_json::json!({
            "format": "dwellhand-page/1",
            "title": self.title,
            "lead": self.lead,
            "parts": self.parts.iter().map(part).collect::<Vec<_>>(),
            "foot": self.foot,
        })
    }
}

impl Body {
    fn text(&self) -> String {
        let mut text = String::new();
        match self {
            Self::Facts(facts) => {
                let wide = facts.iter().map(|(w, _)| w.chars().count()).max().unwrap_or(0);
                for (what, value) in facts {
                    let _ = writeln!(text, "{what:<wide$}  {value}");
                }
            }
            Self::Lines(lines) if lines.is_empty() => text.push_str("none\n"),
            Self::Lines(lines) => text.extend(lines.iter().map(|l| format!("{l}\n"))),
            Self::Table { rows, .. } if rows.is_empty() => {
                let _ = writeln!(text, "{NONE}");
            }
            Self::Table { head, rows } => {
                text.push_str(&columns(head, rows, &[]));
            }
        }
        text
    }
}

/// A table as lines of text, each column as wide as its widest cell or as `least` says; figures end below each other.
pub fn columns(head: &[String], rows: &[Vec<String>], least: &[usize]) -> String {
    let wide = |n: usize| {
        let cells = rows.iter().map(|r| &r[n]).chain([&head[n]]);
        cells.map(|c| c.chars().count()).chain(least.get(n).copied()).max().unwrap_or(0)
    };
    let shape: Vec<(usize, bool)> = (0..head.len()).map(|n| (wide(n), has_figures(rows, n))).collect();
    let line = |row: &[String]| {
        let cell = |(c, (wide, figures)): (&String, &(usize, bool))| {
            if *figures { format!("{c:>wide$}") } else { format!("{c:<wide$}") }
        };
        let cells: Vec<String> = row.iter().zip(&shape).map(cell).collect();
        format!("{}\n", cells.join("  ").trim_end())
    };
    std::iter::once(head).chain(rows.iter().map(Vec::as_slice)).map(line).collect()
}

/// True if a column holds nothing but figures and durations, and at least one.
pub fn has_figures(rows: &[Vec<String>], column: usize) -> bool {
    let is_empty = |c: &str| matches!(c, "" | "-");
    let is_figure = |c: &str| c.chars().all(|c| c.is_ascii_digit() || matches!(c, ':' | '.' | '-' | '+'));
    let mut cells = rows.iter().map(|r| r[column].as_str());
    cells.clone().all(is_figure) && cells.any(|c| !is_empty(c))
}

/// Text in which nothing is taken for Markdown.
fn marked(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        if matches!(c, '|' | '*' | '_' | '`' | '<' | '>' | '#' | '[' | ']' | '\\') {
            out.push('\\');
        }
        out.push(c);
    }
    out
}

/// A row of CSV. What a spreadsheet would take for a formula is kept as text by an apostrophe.
fn csv_row(cells: &[String]) -> String {
    let cell = |c: &String| {
        let dash = *c == "-";
        let formula = c.starts_with(['=', '@', '\t'])
            || (c.starts_with(['+', '-']) && !dash && c.parse::<f64>().is_err());
        let c = if formula { format!("'{c}") } else { c.clone() };
        if c.contains([',', '"', '\n', '\r']) { format!("\"{}\"", c.replace('"', "\"\"")) } else { c }
    };
    let cells: Vec<String> = cells.iter().map(cell).collect();
    format!("{}\r\n", cells.join(","))
}
