//! Moves to choose from, in words.

use super::words::visit_words;
use crate::line::Line;
use crate::plan::{Choice, Instead};
use crate::shift::State;
use crate::units::{Dur, Time};

/// A move that can be chosen, in parts that stand in columns.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ChoiceRow {
    /// Which carrier.
    pub carrier: String,
    /// Where it is lifted: short name and label.
    pub from: String,
    /// Where it goes and what for.
    pub to: String,
    /// How long it is until it can begin, if the crane would have to wait for it.
    pub waits: Option<Dur>,
}

impl ChoiceRow {
    /// The parts of a choice that is offered at an instant.
    pub fn of(line: &Line, state: &State, choice: &Choice, now: Time) -> Self {
        let (line, mv) = (state.line(line), &choice.first);
        let spec = &state.book.carriers[mv.carrier];
        let (from, to) = (&line.tanks[mv.from], &line.tanks[mv.to]);
        let purpose = visit_words(line, spec.recipe, mv.visit);
        Self {
            carrier: spec.name.clone(),
            from: format!("{} {}", from.name, from.label),
            to: format!("{} {purpose}", to.name),
            waits: choice.waits.map(|t| t - now),
        }
    }

    /// The move in words.
    pub fn words(&self) -> String {
        let Self { carrier, from, to, .. } = self;
        let waits = self.waits_words().map_or(String::new(), |words| format!(" ({words})"));
        format!("pick {carrier} from {from} to {to}{waits}")
    }

    /// That it cannot begin yet, with when it can.
    pub fn waits_words(&self) -> Option<String> {
        self.waits.map(|by| format!("cannot begin yet: in {}", by.up_to_second()))
    }
}

/// A choice that is offered at an instant, in words.
pub fn choice_words(line: &Line, state: &State, choice: &Choice, now: Time) -> String {
    ChoiceRow::of(line, state, choice, now).words()
}

/// What it would cost, planned on from there.
pub fn price_words(line: &Line, state: &State, choice: &Choice) -> String {
    let instead = Instead { carrier: choice.first.carrier, price: choice.price };
    instead.words(state.line(line), &state.book)
}
