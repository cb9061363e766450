//! Moves to choose from, in words.

use super::words::visit_words;
use crate::line::Line;
use crate::plan::{Choice, Instead};
use crate::schedule::Move;
use crate::shift::State;

/// A move that can be chosen, in parts that stand in columns.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ChoiceRow {
    /// Which carrier.
    pub carrier: String,
    /// Where it is lifted: short name and label.
    pub from: String,
    /// Where it goes and what for.
    pub to: String,
}

impl ChoiceRow {
    /// The parts of a move.
    pub fn of(line: &Line, state: &State, mv: &Move) -> Self {
        let line = state.line(line);
        let spec = &state.book.carriers[mv.carrier];
        let (from, to) = (&line.tanks[mv.from], &line.tanks[mv.to]);
        let purpose = visit_words(line, spec.recipe, mv.visit);
        Self {
            carrier: spec.name.clone(),
            from: format!("{} {}", from.name, from.label),
            to: format!("{} {purpose}", to.name),
        }
    }

    /// The move in words.
    pub fn words(&self) -> String {
        let Self { carrier, from, to } = self;
        format!("pick {carrier} from {from} to {to}")
    }
}

/// A move in words.
pub fn choice_words(line: &Line, state: &State, mv: &Move) -> String {
    ChoiceRow::of(line, state, mv).words()
}

/// What it would cost, planned on from there.
pub fn price_words(line: &Line, state: &State, choice: &Choice) -> String {
    let instead = Instead { carrier: choice.first.carrier, price: choice.price };
    instead.words(state.line(line), &state.book)
}
