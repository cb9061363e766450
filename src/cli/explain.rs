//! `explain`: the step cards and the glossary.

use std::fmt::Write as _;

use super::calc_args::Explain;
use super::{Bad, Outcome, say, say_json};
use crate::process::cards::{CARDS, Card};
use crate::process::{GLOSSARY, Term};

/// Width that reads well in any terminal.
const WIDTH: usize = 96;

pub fn explain(args: &Explain) -> Result<Outcome, Bad> {
    let word = args.words.join(" ");
    if word.is_empty() {
        return all(args.json);
    }
    let same = |known: &str| fold(known) == fold(&word);
    if let Some(card) = CARDS.iter().find(|c| same(c.word) || same(c.title)) {
        return if args.json { say_json(&card_json(card)) } else { say(&card_text(card)) };
    }
    if let Some(term) = GLOSSARY.iter().find(|t| same(t.word)) {
        return if args.json {
            say_json(&term_json(term))
        } else {
            say(&paragraph(term.word, term.means, 0))
        };
    }
    let shown: String = word.chars().filter(|c| !c.is_control()).take(40).collect();
    Err(Bad(format!("\"{shown}\" is not explained here; `dwellhand explain` lists the words that are")))
}

/// A word without what people leave out: capitals, hyphens.
fn fold(word: &str) -> String {
    word.to_ascii_lowercase().replace('-', " ")
}

fn all(json: bool) -> Result<Outcome, Bad> {
    if json {
        return say_json(&serde_json::json!({
            "format": "dwellhand-explain/1",
            "cards": CARDS.iter().map(|c| card_json(c)).collect::<Vec<_>>(),
            "glossary": GLOSSARY.iter().map(term_json).collect::<Vec<_>>(),
        }));
    }
    let baths: Vec<&str> = CARDS.iter().map(|c| c.word).collect();
    let mut out = paragraph("Baths", &baths.join(", "), 9);
    out.push_str("         `dwellhand explain etch` says what a bath does and what goes wrong in it.\n\n");
    for term in &GLOSSARY {
        out.push_str(&paragraph(term.word, term.means, 17));
    }
    say(&out)
}

fn card_text(card: &Card) -> String {
    let mut out = format!("{}\n\n", card.title);
    for (head, body) in card.parts() {
        out.push_str(&paragraph(head, body, 9));
    }
    out.push_str("\nGeneral background. The shop's process sheet, safety data sheets and the site's safety officer win.\n");
    out
}

fn card_json(card: &Card) -> serde_json::Value {
    serde_json::json!({
        "word": card.word,
        "title": card.title,
        "does": card.does,
        "window": card.window,
        "under": card.under,
        "over": card.over,
        "caution": card.caution,
        "usual": card.usual,
    })
}

fn term_json(term: &Term) -> serde_json::Value {
    serde_json::json!({ "word": term.word, "means": term.means })
}

/// A head in a column of its own and a text wrapped beside it.
fn paragraph(head: &str, body: &str, column: usize) -> String {
    let indent = column.max(head.len()) + 2;
    let mut out = format!("{head:column$}  ");
    let mut at = indent;
    for (n, word) in body.split_whitespace().enumerate() {
        if n > 0 && at + 1 + word.len() > WIDTH {
            let _ = write!(out, "\n{:indent$}", "");
            at = indent;
        } else if n > 0 {
            out.push(' ');
            at += 1;
        }
        out.push_str(word);
        at += word.len();
    }
    out.push('\n');
    out
}
