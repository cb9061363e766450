//! The rules for cycles: those of a published instance, and those of a line with any number of hoists.
//!
//! A cycle of a line is run for so many carriers that the line is full in between, and judged like any other schedule:
//! collisions, soaks, tanks and all ([`Repeated`]). A published instance has one hoist, one part a period, travel from tables.
//! Conditions as numbered in the literature on the subject: V1 soak windows, V3 and V6 separation of loaded moves across
//! the period's end too, V7 strict swap (tank empty and hoist back before the next part for it is lifted).

use super::{Breach, figure, motion, verify};
use crate::ids::{CarrierId, Id as _};
use crate::line::Line;
use crate::schedule::{Move, Schedule};
use crate::shift::State;
use crate::units::{Dur, Time};

/// A cycle of a line: one carrier starts every period, and carriers take turns at being treated as the first ones are.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Repeated {
    /// Length of the period.
    pub period: Dur,
    /// After how many carriers everything is as it was.
    pub round: usize,
    /// The moves of the first `round` carriers.
    pub moves: Vec<Move>,
}

impl Repeated {
    /// So many carriers make the line as full as it gets, for more than a round, before it runs empty again: whatever meets in
    /// the cycle has met then. Includes those that a hoist may have to give way to over the whole rail.
    pub fn carriers(&self, line: &Line) -> usize {
        let span = |k: usize| {
            let own = self.moves.iter().filter(|m| m.carrier == CarrierId::at(k)).map(|m| m.start.0);
            own.clone().max().unwrap_or(0) - own.min().unwrap_or(0)
        };
        let whole = (line.rail.to - line.rail.from).0 as f64;
        let sweep = line.hoists.ids().map(|h| motion::flight(line, h, whole)).fold(0.0, f64::max) as i64;
        let longest = (0..self.round).map(span).max().unwrap_or(0) + sweep;
        2 * (longest.div_euclid(self.period.0.max(1)) as usize + 2) + 2 * self.round
    }

    /// The moves of the first `carriers` carriers, so much later.
    pub fn unrolled(&self, carriers: usize, later: Dur) -> Vec<Move> {
        let again = |k: usize| {
            let shift = later + self.period * (k - k % self.round) as i64;
            let own = self.moves.iter().filter(move |m| m.carrier == CarrierId::at(k % self.round));
            own.map(move |m| Move { carrier: CarrierId::at(k), start: m.start + shift, ..*m })
        };
        (0..carriers).flat_map(again).collect()
    }

    /// Every breach of the cycle when all carriers of an empty line run in it, from so much later on.
    pub fn judge(&self, line: &Line, state: &State, later: Dur) -> Vec<Breach> {
        let moves = self.unrolled(state.carriers.len(), later);
        verify(line, state, &Schedule::new(moves, Time::ZERO))
    }
}

/// A cyclic instance. Treatment 0 is the load, treatment `n + 1` the unload at the same place.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Cycle {
    /// Shortest soak of treatments `1..=n`.
    pub min: Vec<Dur>,
    /// Longest soak of treatments `1..=n`.
    pub max: Vec<Dur>,
    /// `loaded[i]`: carrying a part from treatment `i` to `i + 1`, for `0..=n`.
    pub loaded: Vec<Dur>,
    /// `empty[i][j]`: from where treatment `i + 1` is done to where `j` is done, for `0..=n` both.
    pub empty: Vec<Vec<Dur>>,
    /// Shortest and longest time at the load and unload station, where the instance holds a carrier to it.
    pub station: Option<(Dur, Dur)>,
}

/// Which condition is broken.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Condition {
    /// The tables or the removal times do not have the sizes they should have.
    Shape,
    /// V1: soak too short.
    Under,
    /// V1: soak too long.
    Over,
    /// V3, V6: no time for the empty travel between two loaded moves.
    Hoist,
    /// V7: the next part is lifted before the tank is empty and the hoist back.
    Swap,
}

/// One condition broken at one treatment.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CycleBreach {
    /// Which condition.
    pub condition: Condition,
    /// The treatment (V1, V7) or the earlier move (V3).
    pub treatment: usize,
    /// The later move (V3).
    pub then: Option<usize>,
    /// By how much.
    pub by: Dur,
    /// One sentence with figures.
    pub text: String,
}

impl Cycle {
    /// The soak in treatment `i`, counted from the part's arrival; treatment 0 is the station.
    ///
    /// Removal times within one period do not say how many periods a part stays. A stay that falls short of the shortest
    /// soak but fits the window with one period more is read as that longer stay: it keeps V1, and V7 is what it breaks.
    /// Reducing it modulo the period would hide that.
    pub fn soak(&self, i: usize, period: Dur, removal: &[Dur]) -> Dur {
        let before = if i == 0 { self.loaded.len() - 1 } else { i - 1 };
        let (min, max) = self.window(i);
        let mut soak = removal[i] - (removal[before] + self.loaded[before]);
        while soak < Dur::ZERO {
            soak += period;
        }
        if soak < min && soak + period <= max { soak + period } else { soak }
    }

    fn window(&self, i: usize) -> (Dur, Dur) {
        if i == 0 {
            self.station.unwrap_or((Dur::ZERO, Dur::UNLIMITED))
        } else {
            (self.min[i - 1], self.max[i - 1])
        }
    }

    fn has_shape(&self, removal: &[Dur]) -> bool {
        let moves = self.loaded.len();
        moves >= 2
            && removal.len() == moves
            && self.min.len() + 1 == moves
            && self.max.len() + 1 == moves
            && self.empty.len() == moves
            && self.empty.iter().all(|row| row.len() == moves)
    }

    /// Every breach of the removal times at the period; empty means: it can be run for ever.
    pub fn check(&self, period: Dur, removal: &[Dur]) -> Vec<CycleBreach> {
        if !self.has_shape(removal) || period <= Dur::ZERO {
            let text = "tables, removal times and period do not fit together".to_owned();
            return vec![CycleBreach {
                condition: Condition::Shape,
                treatment: 0,
                then: None,
                by: Dur::ZERO,
                text,
            }];
        }
        let mut found = Vec::new();
        let first = usize::from(self.station.is_none());
        for i in first..self.loaded.len() {
            self.judge_soak(&mut found, i, period, removal);
        }
        for i in 0..self.loaded.len() {
            for j in 0..self.loaded.len() {
                self.judge_pair(&mut found, i, j, period, removal);
            }
        }
        for i in first..self.loaded.len() {
            self.judge_swap(&mut found, i, period, removal);
        }
        found
    }

    fn judge_soak(&self, found: &mut Vec<CycleBreach>, i: usize, period: Dur, removal: &[Dur]) {
        let soak = self.soak(i, period, removal);
        let (min, max) = self.window(i);
        let (condition, by, word, limit) = if soak < min {
            (Condition::Under, min - soak, "under the shortest", min)
        } else if soak > max {
            (Condition::Over, soak - max, "over the longest", max)
        } else {
            return;
        };
        let text = format!("treatment {i}: soak {} is {} {word} {}", figure(soak), figure(by), figure(limit));
        found.push(CycleBreach { condition, treatment: i, then: None, by, text });
    }

    /// Move `i` and the first move `j` that starts at or after it.
    fn judge_pair(&self, found: &mut Vec<CycleBreach>, i: usize, j: usize, period: Dur, removal: &[Dur]) {
        let ri = Dur(removal[i].0.rem_euclid(period.0));
        let mut rj = Dur(removal[j].0.rem_euclid(period.0));
        // Equal starts of different moves cannot be put in an order: both ways are looked at and both are broken.
        if rj < ri || i == j {
            rj += period;
        }
        let back = ri + self.loaded[i] + self.empty[i][j];
        if back > rj {
            let by = back - rj;
            let text = format!(
                "moves {i} and {j}: after {i} the hoist is there at {}, {} after {j} has to start at {}",
                figure(back),
                figure(by),
                figure(rj)
            );
            found.push(CycleBreach { condition: Condition::Hoist, treatment: i, then: Some(j), by, text });
        }
    }

    fn judge_swap(&self, found: &mut Vec<CycleBreach>, i: usize, period: Dur, removal: &[Dur]) {
        let before = if i == 0 { self.loaded.len() - 1 } else { i - 1 };
        let next_part = removal[before] + period;
        let out = removal[before] + self.loaded[before] + self.soak(i, period, removal);
        let back = out + self.loaded[i] + self.empty[i][before];
        if back > next_part {
            let by = back - next_part;
            let text = format!(
                "treatment {i}: the next part is lifted at {}, but the tank is empty at {} and the hoist back at {}",
                figure(next_part),
                figure(out),
                figure(back)
            );
            found.push(CycleBreach { condition: Condition::Swap, treatment: i, then: None, by, text });
        }
    }
}
