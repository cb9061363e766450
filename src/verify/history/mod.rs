//! Can a journal be true? Tells what it says happened once more, by other means than the reducer, and lists what cannot be.
//!
//! Undone events are left out and retimed ones taken at their later time, worked out here again. Then every carrier is in
//! one place, a tank holds no more than it has room for, a hoist carries one load, is where it says in time, and passes no
//! other; and what all of it comes to is what the program's own state says. Whether windows were kept is another matter:
//! see [`happened`](super::happened()).

mod counting;
mod fold;
mod motion;
mod world;

use std::fmt;

use crate::ids::Seq;
use crate::line::Line;
use crate::shift::{Event, Stamped, State};
use crate::units::{Dur, Time};

/// What cannot be at one event.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fault {
    /// The event.
    pub seq: Seq,
    /// Which law it breaks.
    pub law: Law,
    /// One sentence with names and figures.
    pub text: String,
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.text)
    }
}

/// What a history has to keep to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Law {
    /// Nothing is said before it happened, and what is said later is said of what came before.
    Time,
    /// A carrier is in one place, and is lifted from there.
    Place,
    /// A hoist carries one load, and puts down what hangs on it.
    Hook,
    /// A tank holds no more carriers than it has room for.
    Tank,
    /// A hoist was where it lifts or lowers, and had the time to get there.
    Motion,
    /// Hoists on one rail do not pass.
    Rail,
    /// What is taken back is there and was not taken back already.
    Undo,
    /// Parts are counted when they can be, and no more come out than went in.
    Counts,
    /// The program's state is what the events come to.
    Fold,
}

impl Law {
    /// All laws.
    pub const ALL: [Self; 9] = [
        Self::Time,
        Self::Place,
        Self::Hook,
        Self::Tank,
        Self::Motion,
        Self::Rail,
        Self::Undo,
        Self::Counts,
        Self::Fold,
    ];

    /// A stable short name, for `--json` and for people.
    pub fn word(self) -> &'static str {
        match self {
            Self::Time => "time",
            Self::Place => "place",
            Self::Hook => "hook",
            Self::Tank => "tank",
            Self::Motion => "motion",
            Self::Rail => "rail",
            Self::Undo => "undo",
            Self::Counts => "counts",
            Self::Fold => "fold",
        }
    }
}

/// Two terminals round their clocks differently.
const CLOCKS_DIFFER: Dur = Dur::from_secs(2);

/// Everything in a history that cannot be, by event. `state` is what the program makes of it.
pub fn possible(line: &Line, events: &[Stamped], state: &State) -> Vec<Fault> {
    let mut found = Vec::new();
    let counting = counting::events(events, &mut found);
    for stamped in events {
        times(stamped, &mut found);
    }
    let mut world = world::World::new(line, state);
    for told in &counting {
        world.tell(told, &mut found);
    }
    motion::rail(line, state, world.seen(), &mut found);
    fold::judge(line, state, &world, events, &mut found);
    found.sort_by_key(|f| f.seq);
    found
}

fn times(stamped: &Stamped, found: &mut Vec<Fault>) {
    let Stamped { seq, at, entered, ref event, .. } = *stamped;
    let mut fault = |text: String| found.push(Fault { seq, law: Law::Time, text });
    if at > entered + CLOCKS_DIFFER {
        fault(format!("it is said at {entered} of {at}, which was still to come"));
    }
    if let Event::Retimed { at: to, .. } = event
        && *to > entered + CLOCKS_DIFFER
    {
        fault(format!("it is said at {entered} that something happened at {to}, which was still to come"));
    }
    if at < Time::ZERO - Dur::from_mins(24 * 60) {
        fault(format!("it happened at {at}, more than a day before the shift began"));
    }
}
