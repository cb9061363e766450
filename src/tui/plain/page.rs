//! A page read out: every row of a table is a sentence, each figure with the name of its column, so that nobody has to
//! remember what stood above it. Cells with nothing in them, and noughts, are left out.

use crate::report::{Body, Page};

/// The lines of a page.
pub fn spoken(page: &Page) -> Vec<String> {
    let mut lines = vec![page.title.clone()];
    lines.extend(page.lead.iter().cloned());
    for part in &page.parts {
        lines.push(format!("{}:", part.title));
        lines.extend(body(&part.body));
    }
    lines.push(page.foot.clone());
    lines.retain(|l| !l.is_empty());
    lines
}

fn body(body: &Body) -> Vec<String> {
    let lines: Vec<String> = match body {
        Body::Facts(facts) => facts.iter().map(|(what, value)| format!("{what}: {value}")).collect(),
        Body::Lines(lines) => lines.clone(),
        Body::Table { head, rows } => rows.iter().map(|row| sentence(head, row)).collect(),
    };
    if lines.is_empty() { vec!["none".to_owned()] } else { lines }
}

fn sentence(head: &[String], row: &[String]) -> String {
    let said = |(name, cell): (&String, &String)| match (name.as_str(), cell.as_str()) {
        (_, "" | "-" | "0") => None,
        ("", cell) => Some(cell.to_owned()),
        (name, cell) => Some(format!("{name} {cell}")),
    };
    let mut parts: Vec<String> = head.iter().zip(row).filter_map(said).collect();
    // What a row is about and no figure: all of them are nothing.
    if parts.len() == 1 && row.len() > 1 {
        parts.push("nothing".to_owned());
    }
    parts.join(", ")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::Part;

    #[test]
    fn a_row_is_a_sentence_without_what_is_empty() {
        let own = |cells: &[&str]| cells.iter().map(|&c| c.to_owned()).collect::<Vec<_>>();
        let table = Body::Table {
            head: own(&["load", "in", ""]),
            rows: vec![own(&["B07", "0", "LATE"]), own(&["B08", "0", "-"])],
        };
        let parts = vec![
            Part { title: "Loads".to_owned(), body: table },
            Part { title: "Notes".to_owned(), body: Body::Lines(Vec::new()) },
        ];
        let page = Page { title: "Handover".to_owned(), lead: Vec::new(), parts, foot: "the end".to_owned() };
        assert_eq!(
            spoken(&page),
            ["Handover", "Loads:", "load B07, LATE", "load B08, nothing", "Notes:", "none", "the end"]
        );
    }
}
