//! The rhythm: the shortest 1-degree cycle of one recipe on one hoist, with the proof that none is shorter.

mod bounds;
mod branch;
mod network;
mod problem;
mod tables;
mod times;

pub use tables::{TableRhythm, Tables, rhythm_of_tables};

use crate::units::Dur;

/// How far a period is proven.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Proof {
    /// True if every order of moves was looked at or shown to be no shorter.
    pub optimal: bool,
    /// Nodes of the search.
    pub nodes: u64,
    /// No period is shorter than this; the period itself if it is optimal.
    pub bound: Dur,
}
