//! Improvement that has an answer at any time: rounds of ruin and recreate, each twice as long as the one before.

use super::search::Begin;
use super::{Budget, Settings, improve_from};
use crate::line::Line;
use crate::schedule::Schedule;
use crate::shift::State;

/// Trial insertions of the first round: enough to put everything in anew once.
const FIRST: u64 = 20_000;

/// Improves in rounds until the budget is spent. Each round begins from the best so far with a random stream of its own;
/// `better` is told of each round that found something. `None` if none did.
pub fn improve_in_rounds(
    line: &Line,
    state: &State,
    schedule: &Schedule,
    settings: &Settings,
    frozen: usize,
    budget: &mut Budget,
    better: &mut dyn FnMut(&Schedule),
) -> Option<Schedule> {
    let mut best: Option<Schedule> = None;
    let (mut left, mut round) = (budget.tries, FIRST);
    let mut own = *settings;
    while left > 0 && !(budget.stop)() {
        let mut part = Budget { tries: round.min(left), stop: &mut *budget.stop };
        let from = best.as_ref().unwrap_or(schedule);
        let begin = if round == FIRST { Begin::Anew } else { Begin::AsIs };
        if let Some(found) = improve_from(begin, line, state, from, &own, frozen, &mut part) {
            better(&found);
            best = Some(found);
        }
        left -= round.min(left);
        round = round.saturating_mul(2);
        own.seed = own.seed.wrapping_add(1);
    }
    best
}
