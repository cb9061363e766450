//! Carriers that are at a bench beside the line, with their own clocks.

use super::At;
use super::words::{clean, visit_words};
use crate::ids::{CarrierId, TankId};
use crate::line::Visit;
use crate::units::Dur;

/// A carrier at a bench.
#[derive(Debug, Clone, PartialEq)]
pub struct BenchRow {
    /// Which carrier.
    pub carrier: CarrierId,
    /// Its name.
    pub name: String,
    /// The bench.
    pub bench: String,
    /// Since when, time of day.
    pub since: String,
    /// How long by now.
    pub elapsed: Dur,
    /// Shortest and longest time there.
    pub window: (Dur, Dur),
    /// What it goes on with.
    pub next: String,
    /// Tanks of that step with room, in which it may be put by hand.
    pub tanks: Vec<TankId>,
}

impl BenchRow {
    /// How it stands: `too early`, `ready`, `OVER by 1:20`.
    pub fn state(&self) -> String {
        let (min, max) = self.window;
        if self.elapsed > max {
            format!("OVER by {}", self.elapsed - max)
        } else if self.elapsed < min {
            format!("ready in {}", min - self.elapsed)
        } else {
            "ready".to_owned()
        }
    }

    /// In one line.
    pub fn words(&self) -> String {
        let (min, max) = self.window;
        let window = if max.is_unlimited() { format!("{min} and more") } else { format!("{min} to {max}") };
        format!(
            "{} at bench {} since {}, {} of {window}: {}; then {}",
            self.name,
            self.bench,
            self.since,
            self.elapsed,
            self.state(),
            self.next
        )
    }
}

pub(super) fn rows(at: At<'_>) -> Vec<BenchRow> {
    let lent = at.state.standing.lent.iter();
    lent.map(|(id, lent)| {
        let visit = Visit::Step(lent.bench.resume);
        let recipe = at.recipe(*id);
        let room = |t: &TankId| at.state.carriers_in(*t).count() < usize::from(at.line.tanks[*t].capacity);
        BenchRow {
            carrier: *id,
            name: at.carrier_name(*id),
            bench: clean(&lent.bench.name),
            since: at.minutes(lent.since),
            elapsed: Dur::from_secs((at.now - lent.since).or_zero().whole_secs()),
            window: (lent.bench.min, lent.bench.max),
            next: visit_words(at.line, recipe, visit),
            tanks: at.line.places_for(recipe, visit).into_iter().filter(room).collect(),
        }
    })
    .collect()
}
