//! What is said to a trainee at the end: what came out, what broke, which calls were followed and how soon.

use super::{Brief, Came, Deed, Ignored, Met, Rival, Spread, Who, deeds, ignored, length, stood};
use crate::ids::HoistId;
use crate::line::{Harm, Line};
use crate::shift::{History, Who as By};
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
    /// Calls that nobody answers.
    pub ignored: Vec<Ignored>,
    /// From when to when a crane had something to pick for longer than two minutes, and nobody said that it stands.
    pub unsaid: Vec<(Time, Time)>,
    /// What practice it was; `None` for a shift that was none.
    pub brief: Option<Brief>,
    /// What was broken before it was taken over, by others.
    pub before: Vec<Breach>,
    /// The instant it looks back from.
    pub now: Time,
    /// Up to when others are counted: the same, or the end of the drill where everybody came out before it.
    pub until: Time,
    /// What came from outside.
    pub met: Met,
    /// What others would have made of it; empty until somebody works it out.
    pub rivals: Vec<Rival>,
}

/// How many calls there were and were followed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Followed {
    /// Picks and places that a call stood for, and calls that nobody answers.
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
            ignored: ignored(line, history, now),
            unsaid: stood(line, history, now),
            brief: None,
            before: Vec::new(),
            now,
            until: now,
            met: Met::of(history, now),
            rivals: Vec::new(),
        }
    }

    /// Says what practice it was. What was done and broken before somebody took it over is not theirs.
    #[must_use]
    pub fn of_practice(mut self, brief: Option<&Brief>) -> Self {
        if let Some(taken_over) = brief.and_then(|b| b.taken_over) {
            self.deeds.retain(|d| d.seq > taken_over.after);
            self.ignored.retain(|i| i.until > taken_over.at);
            self.unsaid.retain(|(_, until)| *until > taken_over.at);
            self.unsaid.iter_mut().for_each(|(from, _)| *from = taken_over.at.max(*from));
            let broken = std::mem::take(&mut self.outcome.breaches);
            (self.before, self.outcome.breaches) = broken.into_iter().partition(|b| b.at < taken_over.at);
            self.outcome.air_excess = self.in_air().map(|b| b.by).sum();
        }
        // Whoever does as a simulated crew had begun is not judged by what the crew did.
        if self.is_mixed() {
            self.deeds.retain(|d| d.by != By::Crew);
        }
        let all_out = self.outcome.on_line == 0 && self.outcome.queued == 0;
        let ends = brief.and_then(|b| b.lasting).filter(|_| all_out).map(|lasting| Time::ZERO + lasting);
        self.until = ends.map_or(self.now, |ends| ends.max(self.now));
        self.brief = brief.cloned();
        self
    }

    /// True if a simulated crew made some of the moves and somebody else others.
    fn is_mixed(&self) -> bool {
        let by_crew = |d: &Deed| d.by == By::Crew;
        self.deeds.iter().any(by_crew) && !self.deeds.iter().all(by_crew)
    }

    /// Calls and how they were answered.
    pub fn followed(&self) -> Followed {
        let answered = self.deeds.iter().filter(|d| d.called.is_some()).count();
        let followed = self.deeds.iter().filter(|d| d.followed).count();
        Followed { called: answered + self.ignored.len(), followed, uncalled: self.deeds.len() - answered }
    }

    /// From the instant a pick was due to the pick, over all picks that followed their call; to the end for those that nobody
    /// makes.
    pub fn reactions(&self) -> Option<Spread> {
        let made = self.deeds.iter().filter(|d| d.is_pick()).filter_map(Deed::reaction);
        Spread::of(made.chain(self.ignored.iter().map(|i| i.until - i.due)).collect())
    }

    /// Loads that hung too long.
    pub fn in_air(&self) -> impl Iterator<Item = &Breach> {
        self.outcome.breaches.iter().filter(|b| b.rule == Rule::Air)
    }

    /// How long cranes had something to pick for longer than two minutes each time, without anybody saying that they stand.
    pub fn stood_unsaid(&self) -> Dur {
        length(&self.unsaid)
    }

    /// True if a window was overrun while a crane had something to pick that long.
    pub fn was_left(&self, breach: &Breach) -> bool {
        self.unsaid.iter().any(|(from, until)| overran_in(breach, *from, *until))
    }

    /// Cranes that were said to stand while a window was overrun.
    pub fn stood(&self, breach: &Breach) -> impl Iterator<Item = HoistId> + use<'_> {
        let breach = breach.clone();
        let stood = self.met.stood.iter();
        stood.filter(move |s| overran_in(&breach, s.from, s.until)).map(|s| s.hoist)
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

/// True if some of an overrun lies in a span of time; a dwell that was too short is none.
fn overran_in(breach: &Breach, from: Time, until: Time) -> bool {
    breach.rule != Rule::Under && from < breach.at + breach.by && breach.at < until
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
    /// The smaller the better. First what came out less what was spoiled, so that nobody is good by doing nothing; then the
    /// worst harm first; then more that came out well.
    pub fn rank(&self) -> impl Ord + use<> {
        use std::cmp::Reverse;
        let [scrap, rework, ..] = self.harms;
        let gained = self.finished as i64 - (scrap + rework) as i64;
        (Reverse(gained), self.harms, Reverse(self.clean))
    }
}
