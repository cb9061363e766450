//! Is it true? Recomputes a schedule from line, state and moves with its own arithmetic and lists every breach.
//!
//! Shares no code with `plan`, never calls `shift::apply` or `shift::decide` and asks the line for raw data only:
//! travel, phases, windows and successors are worked out again in `motion` and `sheet`. One rule a file, written the
//! plain quadratic way; [`cyclic`] does the same for published cyclic instances.
//!
//! Conventions:
//! 1. A carrier on the hook now: its first move is the rest of the move under way. Its raise may lie in the past but
//!    not before the carrier was lifted, and it must not be down before the plan was made.
//! 2. A hoist that is free now sets out when the plan is made, not earlier: nobody told it to.
//! 3. A tank is taken from the start of the incoming carrier's raise to the end of the outgoing carrier's raise
//!    (strict swap). For a carrier on the hook now the raise is past, so its tank is taken from the start of the lower.
//! 4. The line is the one that changes have made of its file: windows, speeds and recipes count as they are now.
//! 5. A hoist that is stopped stays where it is. What hangs on it is still over the tank it came out of.

pub mod cyclic;
mod happened;
pub mod history;
pub mod motion;

mod air;
mod availability;
mod bath;
mod chain;
mod change;
mod dwell;
mod hoist;
mod power;
mod rack;
mod rail;
mod reach;
mod sheet;
mod start;
mod story;
mod tank;
mod way_out;

use std::fmt;

use crate::line::{Harm, Line};
use crate::schedule::Schedule;
use crate::shift::State;
use crate::units::{Dur, Time};
pub use happened::{GOES_ON, happened, happened_by, still_open};
use story::Story;

/// One rule broken at one place.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Breach {
    /// Which rule.
    pub rule: Rule,
    /// What the breach does to the parts; `None` if the schedule is not possible at all.
    pub harm: Option<Harm>,
    /// The carrier concerned, by name.
    pub carrier: String,
    /// The tank, hoist or bench concerned, by name.
    pub place: String,
    /// When it happens.
    pub at: Time,
    /// By how much.
    pub by: Dur,
    /// One sentence with names and figures.
    pub text: String,
    /// The stay has no end in the plan: `at` is when its window closes, which the sentence leaves to be said.
    pub open_ended: bool,
}

impl Breach {
    /// True if it is the same window.
    pub fn is_of_same(&self, other: &Self) -> bool {
        (self.rule, &self.carrier, &self.place) == (other.rule, &other.carrier, &other.place)
    }

    /// True if the same window is broken by more than `same` more. One that is never closed is broken by more than any other.
    pub fn is_worse_than(&self, other: &Self, same: Dur) -> bool {
        match (self.open_ended, other.open_ended) {
            (true, false) => true,
            (false, true) => false,
            _ => self.by > other.by + same,
        }
    }
}

/// The rules of the timing model.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Rule {
    /// Dwell shorter than the window.
    Under,
    /// Dwell longer than the window.
    Over,
    /// Air time longer than allowed.
    Air,
    /// A carrier's moves do not follow from its place, from each other or from its recipe.
    Chain,
    /// A carrier that has started, or is to start, has no whole way out of the line in the plan.
    WayOut,
    /// A move starts before the plan was made, or before its carrier is racked.
    Start,
    /// A hoist is asked to stand or travel where it cannot.
    Reach,
    /// Moves of one hoist overlap or leave no time for the empty travel between them.
    Hoist,
    /// Strict swap: a carrier is lifted for a tank that has no room yet.
    Swap,
    /// A tank is used before it is ready or after it went out of service.
    Availability,
    /// More current or power than a rectifier or the line gives.
    Power,
    /// Hoists pass each other or come closer than the gap.
    Rail,
    /// A carrier that is held or parked is moved, or one that is to be parked is not.
    Held,
    /// A hoist that is stopped does something.
    Stopped,
    /// Carriers start in another order than a person has said.
    Queue,
    /// A load goes into a bath that is outside its limits, or not measured where that counts.
    Bath,
    /// A carrier starts on a rack that is not free for it.
    Rack,
}

impl Rule {
    /// All rules.
    pub const ALL: [Self; 17] = [
        Self::Under,
        Self::Over,
        Self::Air,
        Self::Chain,
        Self::WayOut,
        Self::Start,
        Self::Reach,
        Self::Hoist,
        Self::Swap,
        Self::Availability,
        Self::Power,
        Self::Rail,
        Self::Held,
        Self::Stopped,
        Self::Queue,
        Self::Bath,
        Self::Rack,
    ];

    /// A stable short name, for `--json` and for people.
    pub fn word(self) -> &'static str {
        match self {
            Self::Under => "under",
            Self::Over => "over",
            Self::Air => "air",
            Self::Chain => "chain",
            Self::WayOut => "way-out",
            Self::Start => "start",
            Self::Reach => "reach",
            Self::Hoist => "hoist",
            Self::Swap => "swap",
            Self::Availability => "availability",
            Self::Power => "power",
            Self::Rail => "rail",
            Self::Held => "held",
            Self::Stopped => "stopped",
            Self::Queue => "queue",
            Self::Bath => "bath",
            Self::Rack => "rack",
        }
    }
}

impl fmt::Display for Breach {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.text)
    }
}

/// Every breach of a schedule that starts from `state` at `schedule.made_at`, by time. Empty means: it is true.
///
/// A move that names a carrier, hoist, tank or step that does not exist is a [`Rule::Chain`] breach and is left out
/// of everything else.
pub fn verify(line: &Line, state: &State, schedule: &Schedule) -> Vec<Breach> {
    let mut found = Vec::new();
    let story = Story::tell(state.line(line), state, schedule, &mut found);
    for rule in [
        start::judge,
        chain::judge,
        way_out::judge,
        reach::judge,
        hoist::judge,
        tank::judge,
        availability::judge,
        dwell::judge,
        air::judge,
        power::judge,
        rail::judge,
        change::judge,
        bath::judge,
        rack::judge,
    ] {
        rule(&story, &mut found);
    }
    found.sort_by_key(|b| b.at);
    found
}

/// True if the schedule can be done at all, whatever it does to the parts.
pub fn is_possible(breaches: &[Breach]) -> bool {
    breaches.iter().all(|b| b.harm.is_some())
}

/// Breaches counted by what they do. The smaller the better: compares worst harm first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default)]
pub struct Tally {
    /// Breaches that make the schedule impossible.
    pub impossible: usize,
    /// Scrap-class breaches.
    pub scrap: usize,
    /// Rework-class breaches.
    pub rework: usize,
    /// Shade-class breaches.
    pub shade: usize,
    /// Nuisance-class breaches.
    pub nuisance: usize,
}

impl Tally {
    /// Counts the breaches.
    pub fn of(breaches: &[Breach]) -> Self {
        let mut tally = Self::default();
        for b in breaches {
            *match b.harm {
                None => &mut tally.impossible,
                Some(Harm::Scrap) => &mut tally.scrap,
                Some(Harm::Rework) => &mut tally.rework,
                Some(Harm::Shade) => &mut tally.shade,
                Some(Harm::Nuisance) => &mut tally.nuisance,
            } += 1;
        }
        tally
    }

    /// How many breaches do this harm.
    pub fn count(&self, harm: Harm) -> usize {
        match harm {
            Harm::Scrap => self.scrap,
            Harm::Rework => self.rework,
            Harm::Shade => self.shade,
            Harm::Nuisance => self.nuisance,
        }
    }

    /// True if nothing is broken.
    pub fn is_clean(&self) -> bool {
        *self == Self::default()
    }
}

/// A duration for a sentence: minutes and seconds, with milliseconds only where there are some.
fn figure(d: Dur) -> String {
    let ms = d.0.abs() % 1000;
    if d.is_unlimited() || ms == 0 {
        return d.to_string();
    }
    // Display drops the sign of what is shorter than a second.
    let sign = if d.0 < 0 && d.0 > -1000 { "-" } else { "" };
    format!("{sign}{d}.{ms:03}")
}
