//! A plan told by another: most are the one before a little later, so a few runs of its moves say nearly all of it.

use super::Move;
use crate::units::Dur;

/// A piece of a plan.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Part {
    /// A move that the other plan does not have.
    Own(Move),
    /// Moves of the other plan, each as much later.
    Run {
        /// The first of them, counted from 0.
        first: u32,
        /// How many.
        count: u32,
        /// By how much they start later.
        shift: Dur,
    },
}

/// The parts that make `moves` of the moves of another plan. A run is looked for at most `reach` moves before and after the
/// end of the one before it: moves that went further are told in full.
pub fn told_by<'m>(
    before: &'m [Move],
    moves: &'m [Move],
    reach: usize,
) -> impl Iterator<Item = Part> + use<'m> {
    let (mut at, mut expected) = (0, 0_usize);
    std::iter::from_fn(move || {
        let new = moves.get(at)?;
        // Mostly the plan goes on where the last run ended.
        let near = expected.saturating_sub(reach)..before.len().min(expected.saturating_add(reach));
        let mut places = (expected..near.end).chain(near.start..expected);
        let Some((first, shift)) = places.find_map(|i| Some((i, shift_of(&before[i], new)?))) else {
            at += 1;
            return Some(Part::Own(*new));
        };
        let both = before[first..].iter().zip(&moves[at..]);
        let count = both.take_while(|(old, new)| shift_of(old, new) == Some(shift)).count();
        at += count;
        expected = first + count;
        let place = |n: usize| u32::try_from(n).expect("a journal holds no plan of so many moves");
        Some(Part::Run { first: place(first), count: place(count), shift })
    })
}

/// By how much a move is later than another one that is the same but for its start.
fn shift_of(old: &Move, new: &Move) -> Option<Dur> {
    (Move { start: new.start, ..*old } == *new).then_some(new.start - old.start)
}
