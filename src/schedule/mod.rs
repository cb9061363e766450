//! A schedule: timed loaded moves as plain data. How it was found is the planner's business, whether it is true
//! the verifier's.

mod kept;
mod packed;
mod parts;

pub use kept::Kept;
pub use parts::{Part, told_by};

use crate::ids::{CarrierId, HoistId, TankId};
use crate::line::{Line, OrderBook, Phases, Visit};
use crate::units::Time;

/// One loaded move: pick up a carrier here, put it down there.
///
/// A dip on the hook is a pair: a move that does not `release`, then a move of the same carrier and hoist that does
/// not `attach`; in between the hoist does nothing else.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Move {
    /// The carrier that is moved.
    pub carrier: CarrierId,
    /// The hoist that moves it.
    pub hoist: HoistId,
    /// Where it is picked up.
    pub from: TankId,
    /// Where it is put down.
    pub to: TankId,
    /// Why it was at `from`.
    pub leaves: Visit,
    /// Why it goes to `to`.
    pub visit: Visit,
    /// When the move begins: the hook, or the raise if the hoist is attached already.
    pub start: Time,
    /// The hoist takes hold first.
    pub attach: bool,
    /// The hoist lets go at the end.
    pub release: bool,
}

/// Timed moves in order of their start.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Schedule {
    /// The moves, sorted by start.
    pub moves: Vec<Move>,
    /// The instant it was made for: nothing in it starts earlier.
    pub made_at: Time,
}

impl Move {
    /// True if the carrier is put down where it was picked up: the end of a pick that should not have been.
    pub fn is_put_back(&self) -> bool {
        self.from == self.to && self.leaves == self.visit
    }

    /// The phases of the move, `None` if the hoist cannot make it.
    pub fn phases(&self, line: &Line, book: &OrderBook) -> Option<Phases> {
        let recipe = book.carriers[self.carrier].recipe;
        line.phases(self.hoist, self.from, self.to, line.drip(recipe, self.leaves), self.attach, self.release)
    }
}

impl Schedule {
    /// Sorts the moves by start; equal starts keep the order given.
    pub fn new(mut moves: Vec<Move>, made_at: Time) -> Self {
        moves.sort_by_key(|m| m.start);
        Self { moves, made_at }
    }

    /// The moves of one carrier, in order.
    pub fn of(&self, carrier: CarrierId) -> impl Iterator<Item = &Move> {
        self.moves.iter().filter(move |m| m.carrier == carrier)
    }
}
