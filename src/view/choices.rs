//! Moves to choose from, in words.

use super::words::visit_words;
use crate::line::Line;
use crate::plan::{Choice, Instead};
use crate::schedule::Move;
use crate::shift::State;

/// A move in words.
pub fn choice_words(line: &Line, state: &State, mv: &Move) -> String {
    let line = state.line(line);
    let spec = &state.book.carriers[mv.carrier];
    let (from, to) = (&line.tanks[mv.from], &line.tanks[mv.to]);
    let purpose = visit_words(line, spec.recipe, mv.visit);
    format!("pick {} from {} {} to {}, {purpose}", spec.name, from.name, from.label, to.name)
}

/// What it would cost, planned on from there.
pub fn price_words(line: &Line, state: &State, choice: &Choice) -> String {
    let instead = Instead { carrier: choice.first.carrier, price: choice.price };
    instead.words(state.line(line), &state.book)
}
