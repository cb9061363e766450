//! A page as HTML 5, to be read on any screen and to be printed and filed: no script, nothing from elsewhere.

use std::fmt::Write as _;

use super::chart::escaped;
use super::page::{Body, Page, Part, has_figures};

/// Parts with no more rows than this are not cut by the end of a sheet.
const SHORT: usize = 14;

/// The whole page: black on white, figures below each other, tables that keep their heads over the ends of sheets.
pub(super) fn html(page: &Page) -> String {
    let mut text = format!(
        "<!doctype html>\n<html lang=\"en\">\n<meta charset=\"utf-8\">\n\
         <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n<title>{0}</title>\n\
         <style>{STYLE}@page{{@bottom-left{{font:8pt sans-serif;content:\"{1}\"}}}}</style>\n<h1>{0}</h1>\n",
        escaped(&page.title),
        css_string(&page.title)
    );
    for line in &page.lead {
        let _ = writeln!(text, "<p class=\"lead\">{}</p>", escaped(line));
    }
    for part in &page.parts {
        part_of(&mut text, part);
    }
    let _ = writeln!(text, "<footer>{}</footer>\n</html>", escaped(&page.foot));
    text
}

/// Small and plain. A table that is wider than the window is moved under it; paper is always wide enough.
const STYLE: &str = "body{font:10pt/1.35 sans-serif;color:#000;background:#fff;margin:1.2cm}\
    h1{font-size:15pt;margin:0 0 .2em}h2{font-size:11pt;margin:1em 0 .3em;border-bottom:1px solid #000;\
    break-after:avoid}p{margin:.2em 0}p.lead{margin:.1em 0;overflow-wrap:anywhere}.wide{overflow-x:auto}\
    table{border-collapse:collapse;font-size:8.5pt}\
    th,td{border:1px solid #777;padding:1px 5px;text-align:left;vertical-align:top}\
    .n{text-align:right;font-variant-numeric:tabular-nums}th{background:#eee}\
    thead{display:table-header-group}tr{break-inside:avoid}section.short{break-inside:avoid}\
    ul{margin:.2em 0;padding-left:1.2em}footer{margin-top:1.2em;font-size:8pt;color:#333;break-inside:avoid;break-before:avoid}\
    @media (max-width:40em){body{margin:.5cm}.wide th,.wide td{white-space:nowrap}}\
    @media print{body{margin:0}.wide{overflow:visible}}\
    @page{size:A4 landscape;margin:1.2cm 1.2cm 1.4cm;\
    @bottom-right{font:8pt sans-serif;content:\"page \" counter(page) \" of \" counter(pages)}}";

fn part_of(text: &mut String, part: &Part) {
    let rows = match &part.body {
        Body::Facts(facts) => facts.len(),
        Body::Lines(lines) => lines.len(),
        Body::Table { rows, .. } => rows.len(),
    };
    let class = if rows <= SHORT { " class=\"short\"" } else { "" };
    let _ = writeln!(text, "<section{class}>\n<h2>{}</h2>", escaped(&part.title));
    match &part.body {
        _ if rows == 0 => text.push_str("<p>none</p>\n"),
        Body::Facts(facts) => {
            text.push_str("<table>\n");
            for (what, value) in facts {
                let _ = writeln!(text, "<tr><th>{}</th><td>{}</td></tr>", escaped(what), escaped(value));
            }
            text.push_str("</table>\n");
        }
        Body::Lines(lines) => {
            text.push_str("<ul>\n");
            for line in lines {
                let _ = writeln!(text, "<li>{}</li>", escaped(line));
            }
            text.push_str("</ul>\n");
        }
        Body::Table { head, rows } => table(text, head, rows),
    }
    text.push_str("</section>\n");
}

fn table(text: &mut String, head: &[String], rows: &[Vec<String>]) {
    let figures: Vec<bool> = (0..head.len()).map(|n| has_figures(rows, n)).collect();
    text.push_str("<div class=\"wide\"><table>\n<thead>");
    row(text, head, "th", &figures);
    text.push_str("</thead>\n<tbody>\n");
    for cells in rows {
        row(text, cells, "td", &figures);
    }
    text.push_str("</tbody>\n</table></div>\n");
}

fn row(text: &mut String, cells: &[String], tag: &str, figures: &[bool]) {
    text.push_str("<tr>");
    for (cell, figures) in cells.iter().zip(figures) {
        let class = if *figures { " class=\"n\"" } else { "" };
        let _ = write!(text, "<{tag}{class}>{}</{tag}>", escaped(cell));
    }
    text.push_str("</tr>\n");
}

/// Text as the inside of a CSS string: whatever is no letter, figure or space is escaped.
fn css_string(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            c if c.is_alphanumeric() || c == ' ' => out.push(c),
            c => {
                let _ = write!(out, "\\{:x} ", u32::from(c));
            }
        }
    }
    out
}
