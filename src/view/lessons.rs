//! What there is to read: a card for each kind of bath with the windows of the sheets in force, and the words of the trade.

use super::cards::{card, step_card};
use crate::ids::{Id as _, StepNo};
use crate::line::{Line, StageKind, Visit};
use crate::process::cards::{CARDS, Card};
use crate::process::{GLOSSARY, Term};

/// One thing to read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Lesson {
    /// What it is about.
    pub title: &'static str,
    /// Paragraphs, each with a word in front of it; empty if there is nothing to say in front.
    pub parts: Vec<(String, String)>,
    /// A bath, not a word.
    pub bath: bool,
}

/// All baths in the order of the line, then all words in the order of the alphabet.
pub fn lessons(line: &Line) -> Vec<Lesson> {
    let baths = CARDS.iter().map(|card| bath(line, card));
    baths.chain(GLOSSARY.iter().map(word)).collect()
}

/// Where the card of a kind of bath stands among the lessons.
pub fn lesson_of(kind: StageKind) -> usize {
    CARDS.iter().position(|c| *c == card(kind)).unwrap_or(0)
}

fn word(term: &Term) -> Lesson {
    Lesson { title: term.word, parts: vec![(String::new(), term.means.to_owned())], bath: false }
}

fn bath(line: &Line, about: &'static Card) -> Lesson {
    let own = about.parts().map(|(head, text)| (head.to_owned(), text.to_owned()));
    // What holds here stands beside the reason for it.
    let mut parts = own[..2].to_vec();
    parts.extend(sheets(line, about));
    parts.extend_from_slice(&own[2..]);
    parts.push((
        String::new(),
        "General background. The shop's process sheet, the suppliers' sheets and the site's safety \
                                officer win."
            .to_owned(),
    ));
    Lesson { title: about.title, parts, bath: true }
}

/// What the sheets in force say about a kind of bath: a paragraph for each step; recipes that say the same share one.
fn sheets(line: &Line, about: &Card) -> Vec<(String, String)> {
    let mut found: Vec<(Vec<String>, String)> = Vec::new();
    for (recipe, sheet) in line.recipes.iter() {
        let steps = (0..sheet.steps.len()).map(StepNo::at);
        for visit in steps.flat_map(|n| [Visit::Step(n), Visit::Hold(n)]) {
            let Some(step) = step_card(line, recipe, visit).filter(|s| s.card == about) else { continue };
            let mut text = format!("{}: {}", step.title, step.sheet.join(", "));
            for (word, harm) in ["too short", "too long"].iter().zip(step.harms) {
                text.extend(harm.map(|h| format!("; {word}: {h}")));
            }
            match found.iter_mut().find(|(_, known)| *known == text) {
                Some((recipes, _)) if recipes.contains(&sheet.name) => {}
                Some((recipes, _)) => recipes.push(sheet.name.clone()),
                None => found.push((vec![sheet.name.clone()], text)),
            }
        }
    }
    let part = |(recipes, text): (Vec<String>, String)| {
        ("Sheet".to_owned(), format!("{}: {text}", recipes.join(", ")))
    };
    found.into_iter().map(part).collect()
}
