//! The problem in the search's own words: loaded moves, what binds them, how long the hoist needs between them.
//!
//! Words and conditions as in the literature (H. Manier and C. Bloch, Int. J. Flexible Manufacturing Systems 15(1),
//! 37-55, 2003): treatments `0..=n + 1`, load and unload included; move `i` carries from treatment `i` to `i + 1`.
//! A *job* is what the hoist does in one go: one loaded move, or several with dips on the hook between them.

use super::bounds::Bounds;

/// Stands for "no upper limit" and for "there is no way". Far from overflow on purpose, in ms.
pub(super) const NEVER: i64 = 1 << 40;

/// What ties move `i - 1` to move `i`: the stay in treatment `i`. All times in ms.
#[derive(Debug, Clone)]
pub(super) struct Link {
    /// Least time from the start of the move that brings to the start of the move that takes out.
    pub lo: i64,
    /// Most time between the two; `NEVER` if there is no limit.
    pub hi: i64,
    /// How many carriers may be in the treatment at once: the tanks taken in turn.
    pub places: i64,
}

/// A run of loaded moves without letting go.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Job {
    /// Its first move.
    pub first: usize,
    /// Its last move.
    pub last: usize,
}

/// Who is in which tank of a treatment: carrier `k` in `slots[(k + ahead) % slots.len()]`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Turn {
    /// Numbers of places on the line, one per carrier that fits.
    pub slots: Vec<usize>,
    /// Where the turn stands for carrier 0.
    pub ahead: usize,
}

impl Turn {
    pub fn slot(&self, carrier: usize) -> usize {
        self.slots[(carrier + self.ahead) % self.slots.len()]
    }
}

/// One recipe on one hoist with the tanks chosen.
#[derive(Debug, Clone)]
pub(super) struct Problem {
    /// `links[i - 1]` for treatment `i` in `1..=n`.
    pub links: Vec<Link>,
    /// Jobs in the order of the recipe.
    pub jobs: Vec<Job>,
    /// The turns of treatments `1..=n` that share a tank with another treatment, by treatment.
    pub shared: Vec<(usize, Turn)>,
    /// Shortest and longest time from the start of the last move to the next load at the same station, if it is held to one.
    pub station: Option<(i64, i64)>,
    /// After how many carriers all turns begin again.
    pub turn: usize,
    /// From the start of job `a`'s last move to the start of job `b`, next after it, `(a * jobs + b) * turn + d` for a
    /// carrier that came `d` after `a`'s: the loaded move, the reserve, and the empty travel.
    pub gaps: Vec<i64>,
    /// The least of them over `d`.
    pub gap: Vec<i64>,
    /// The same with any other jobs between.
    pub apart: Vec<i64>,
}

impl Problem {
    /// Puts the problem together. `gaps(a, b, d)` as in the field.
    pub fn new(
        links: Vec<Link>,
        jobs: Vec<Job>,
        turn: usize,
        station: Option<(i64, i64)>,
        shared: Vec<(usize, Turn)>,
        gap: &dyn Fn(usize, usize, usize) -> i64,
    ) -> Self {
        let n = jobs.len();
        let mut gaps = Vec::with_capacity(n * n * turn);
        for a in 0..n {
            for b in 0..n {
                gaps.extend((0..turn).map(|d| gap(a, b, d)));
            }
        }
        let least: Vec<i64> = gaps.chunks(turn).map(|c| c.iter().copied().min().unwrap_or(NEVER)).collect();
        let mut problem = Self { links, jobs, shared, station, turn, gaps, apart: least.clone(), gap: least };
        problem.shortcut();
        problem.wait_out(0);
        let floor = Bounds::of(&problem).best();
        problem.wait_out(floor);
        problem
    }

    /// A measured table need not obey the triangle rule: going by way of another job may be the shorter way.
    fn shortcut(&mut self) {
        let n = self.jobs.len();
        for via in 0..n {
            let stay = self.least_length(via);
            for a in (0..n).filter(|a| *a != via) {
                for b in (0..n).filter(|b| *b != via && *b != a) {
                    let by = self.apart[a * n + via] + stay + self.apart[via * n + b];
                    let direct = &mut self.apart[a * n + b];
                    *direct = by.min(*direct);
                }
            }
        }
    }

    /// When the hoist goes straight on with the carrier it has just put down, it waits out the shortest soak, unless the carrier
    /// has stayed a period or more: with one tank, or with a window shorter than any period, it has not.
    pub fn wait_out(&mut self, floor: i64) {
        let n = self.jobs.len();
        for a in 0..n.saturating_sub(1) {
            let link = &self.links[self.between(a) - 1];
            if link.places == 1 || link.hi < floor {
                let (lo, at) = (link.lo, a * n + a + 1);
                self.gap[at] = self.gap[at].max(lo);
                for gap in &mut self.gaps[at * self.turn..(at + 1) * self.turn] {
                    *gap = lo.max(*gap);
                }
            }
            // The other way about the tank is filled again straight after it was emptied: what it then holds stays for the rest
            // of the period, and if it may not, the hoist waits.
            let rest = floor - link.hi - self.most_length(a) - self.most_length(a + 1);
            let at = (a + 1) * n + a;
            self.gap[at] = self.gap[at].max(rest);
        }
    }

    /// From the start of a job to the start of its last move, at least.
    pub fn least_length(&self, job: usize) -> i64 {
        let Job { first, last } = self.jobs[job];
        (first + 1..=last).map(|i| self.links[i - 1].lo).sum()
    }

    /// From the start of a job to the start of its last move, at most.
    fn most_length(&self, job: usize) -> i64 {
        let Job { first, last } = self.jobs[job];
        (first + 1..=last).map(|i| self.links[i - 1].hi).sum()
    }

    /// How many loaded moves a carrier makes.
    pub fn moves(&self) -> usize {
        self.links.len() + 1
    }

    /// The treatment between a job and the next one.
    pub fn between(&self, job: usize) -> usize {
        self.jobs[job].last + 1
    }
}
