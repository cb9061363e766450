//! What is said to a trainee at the end: what came out, what broke, which calls were followed and how soon.

use super::{Came, Deed, Met, Rival, Spread, Who, deeds};
use crate::line::{Harm, Line};
use crate::shift::History;
use crate::sim::Outcome;
use crate::units::{Dur, Time};
use crate::verify::{Breach, Rule};

/// A shift looked back upon.
#[derive(Debug, Clone, PartialEq)]
pub struct Debrief {
    /// What it came to.
    pub outcome: Outcome,
    /// Every pick and place with the call that stood then.
    pub deeds: Vec<Deed>,
    /// What came from outside.
    pub met: Met,
    /// What others would have made of it; empty until somebody works it out.
    pub rivals: Vec<Rival>,
}

/// How many calls there were and were followed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Followed {
    /// Picks and places that a call stood for.
    pub called: usize,
    /// Those that were done as called.
    pub followed: usize,
    /// Picks and places without any call.
    pub uncalled: usize,
}

impl Debrief {
    /// The debrief of a shift up to `now`, without others to compare with.
    pub fn of(line: &Line, history: &History, now: Time) -> Self {
        Self {
            outcome: Outcome::of(line, history, now),
            deeds: deeds(line, history),
            met: Met::of(history, now),
            rivals: Vec::new(),
        }
    }

    /// Calls and how they were answered.
    pub fn followed(&self) -> Followed {
        let called = self.deeds.iter().filter(|d| d.called.is_some()).count();
        let followed = self.deeds.iter().filter(|d| d.followed).count();
        Followed { called, followed, uncalled: self.deeds.len() - called }
    }

    /// From the instant a pick was due to the pick, over all picks that followed their call.
    pub fn reactions(&self) -> Option<Spread> {
        Spread::of(self.deeds.iter().filter(|d| d.is_pick()).filter_map(Deed::reaction).collect())
    }

    /// Loads that hung too long.
    pub fn in_air(&self) -> impl Iterator<Item = &Breach> {
        self.outcome.breaches.iter().filter(|b| b.rule == Rule::Air)
    }

    /// True if a window closed while a crane was said to stand: nobody could have kept it then.
    pub fn in_stop(&self, breach: &Breach) -> bool {
        let begins = if breach.rule == Rule::Air { breach.at - breach.by } else { breach.at };
        breach.rule != Rule::Under && self.met.stops.iter().any(|s| s.from <= begins && begins < s.until)
    }

    /// This shift among its rivals.
    pub fn beside(&self) -> impl Iterator<Item = Rival> + '_ {
        let really = Rival { who: Who::Really, came: Came::of(&self.outcome) };
        std::iter::once(really).chain(self.rivals.iter().copied())
    }

    /// What is kept of it.
    pub fn score(&self) -> Score {
        let came = Came::of(&self.outcome);
        let harms = Harm::ALL.map(|h| came.count(h));
        let Followed { called, followed, .. } = self.followed();
        Score {
            harms,
            finished: came.finished,
            clean: came.clean,
            called,
            followed,
            reaction: self.reactions().map(|r| r.mean),
        }
    }
}

/// What is kept of a shift that was practised.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Score {
    /// Windows broken: scrap, rework, shade, nuisance.
    pub harms: [usize; 4],
    /// Carriers finished.
    pub finished: usize,
    /// Those of them that nothing was broken for.
    pub clean: usize,
    /// Picks and places that a call stood for.
    pub called: usize,
    /// Those that were done as called.
    pub followed: usize,
    /// Mean time from due to pick.
    pub reaction: Option<Dur>,
}

impl Score {
    /// The smaller the better: worst harm first, then more that came out well.
    pub fn rank(&self) -> ([usize; 4], std::cmp::Reverse<(usize, usize)>) {
        (self.harms, std::cmp::Reverse((self.clean, self.finished)))
    }
}
