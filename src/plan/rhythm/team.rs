//! Several hoists: branch and bound over which of two jobs comes first.
//!
//! 1. Tanks are chosen and every job has its hoist. Soaks, windows and strict swap are difference constraints of every
//!    cycle; the least period they allow is the first bound.
//! 2. Times that keep them may still put two jobs too near to each other: on one hoist, on the rail, or in a tank that two
//!    treatments share. Then the one has to come first or the other: two children, each with one more constraint.
//! 3. Times without such a pair are a cycle, and none below that node is shorter.
//!
//! What two hoists need between them are the lags of `rail`, start to start; a cycle is the shortest of those that keep them.

use std::cmp::Reverse;

use super::bounds::least_round;
use super::branch::{Answer, Found};
use super::network::{Arc, Lifter, Why};
use super::problem::{Job, Link, NEVER, Turn};
use crate::ids::HoistId;

/// So many pairs are tried before one is branched on.
const LOOKED_AT: usize = 6;

/// One recipe on several hoists with the tanks chosen and a hoist for every job.
#[derive(Debug, Clone)]
pub(super) struct Team {
    /// `links[i - 1]` for treatment `i`; dips on the hook have one length only.
    links: Vec<Link>,
    /// Jobs in the order of the recipe.
    pub jobs: Vec<Job>,
    /// The hoist of each job.
    hoists: Vec<HoistId>,
    turn: usize,
    /// Least time from the start of job `a` to the start of job `b`, `(a * jobs + b) * turn + d` for a carrier that came `d`
    /// after `a`'s. Below zero between two hoists where `b` may even start earlier.
    apart: Vec<i64>,
    /// The longest of them over `d`.
    longest: Vec<i64>,
    /// Stays in tanks that another treatment uses: the job that brings, the job that takes out, the tanks.
    stays: Vec<(usize, usize, Turn)>,
}

/// Two jobs, the first before the second.
type Pair = (usize, usize);

/// Whether two jobs matter to each other, by how many carriers the second one's came after the first one's.
type Counts<'a> = &'a dyn Fn(i64) -> bool;

/// One of two constraints has to hold.
#[derive(Debug, Clone, Copy)]
struct Clash {
    either: [Arc; 2],
    /// By how much the nearer one is missed, in ms.
    by: i64,
}

impl Team {
    /// Puts the problem together. `apart(a, b, d)` as in the field.
    pub fn new(
        links: Vec<Link>,
        jobs: Vec<Job>,
        hoists: Vec<HoistId>,
        turn: usize,
        shared: &[(usize, Turn)],
        apart: &dyn Fn(usize, usize, usize) -> i64,
    ) -> Self {
        let n = jobs.len();
        let pairs = (0..n).flat_map(|a| (0..n).map(move |b| (a, b)));
        let apart: Vec<i64> = pairs.flat_map(|(a, b)| (0..turn).map(move |d| apart(a, b, d))).collect();
        let longest = apart.chunks(turn).map(|c| c.iter().copied().max().unwrap_or(NEVER)).collect();
        let of = |i: usize| jobs.iter().position(|j| (j.first..=j.last).contains(&i)).unwrap_or(0);
        let stays = shared.iter().map(|(i, turn)| (of(i - 1), of(*i), turn.clone())).collect();
        Self { links, jobs, hoists, turn, apart, longest, stays }
    }

    /// How many loaded moves a carrier makes.
    pub fn moves(&self) -> usize {
        self.links.len() + 1
    }

    fn apart(&self, a: usize, b: usize, later: i64) -> i64 {
        let d = later.rem_euclid(self.turn as i64) as usize;
        self.apart[(a * self.jobs.len() + b) * self.turn + d]
    }

    /// Job `b` of the carrier that came `later` after job `a`'s carrier waits for that job.
    fn after(&self, a: usize, b: usize, later: i64) -> Arc {
        let why = if self.hoists[a] == self.hoists[b] { Why::Hoist } else { Why::Rail };
        Arc::new(self.jobs[a].first, self.jobs[b].first, self.apart(a, b, later), later, why)
    }

    /// For each hoist no period is shorter than its loaded moves and the least empty travel between them.
    pub fn crane(&self, hoist: HoistId) -> i64 {
        let own: Vec<usize> = (0..self.jobs.len()).filter(|j| self.hoists[*j] == hoist).collect();
        let least = |a: usize, b: usize| (0..self.turn).map(|d| self.apart(a, b, d as i64)).min();
        least_round(own.len(), &|i, j| least(own[i], own[j]).unwrap_or(NEVER))
    }

    /// No period is shorter than soak and swap in treatment `i` shared by its tanks; zero for a dip on the hook.
    pub fn tank(&self, i: usize) -> i64 {
        let Some(into) = self.jobs.iter().position(|j| j.last + 1 == i) else { return 0 };
        let Link { lo, places, .. } = self.links[i - 1];
        let length: i64 = self.links[self.jobs[into].first..i - 1].iter().map(|l| l.lo).sum();
        ceil(length + lo + self.apart(into + 1, into, places), places)
    }

    /// The best bound that needs no search.
    pub fn floor(&self) -> i64 {
        let cranes = self.hoists.iter().map(|h| self.crane(*h));
        cranes.chain((1..=self.links.len()).map(|i| self.tank(i))).max().unwrap_or(0).max(1)
    }

    /// True if going by way of another job is never the shorter way, so that every two jobs of a hoist are as far apart as
    /// they would be one straight after the other. Only measured tables can be otherwise.
    fn is_straight(&self) -> bool {
        let n = self.jobs.len();
        let least =
            |a: usize, b: usize| (0..self.turn).map(|d| self.apart(a, b, d as i64)).min().unwrap_or(0);
        let same = |a: usize, b: usize| self.hoists[a] == self.hoists[b];
        let pairs = (0..n).flat_map(|a| (0..n).map(move |b| (a, b))).filter(|(a, b)| same(*a, *b));
        pairs.into_iter().all(|(a, b)| {
            let via = (0..n).filter(|v| *v != a && *v != b && same(a, *v));
            via.into_iter().all(|v| least(a, v) + least(v, b) >= self.longest[a * n + b])
        })
    }

    /// Constraints of every cycle.
    fn standing(&self) -> Vec<Arc> {
        let mut arcs = Vec::new();
        for (i, link) in (1..).zip(&self.links) {
            arcs.push(Arc::new(i - 1, i, link.lo, 0, Why::Soak(i as u16)));
            if link.hi < NEVER {
                arcs.push(Arc::new(i, i - 1, -link.hi, 0, Why::Window(i as u16)));
            }
        }
        for a in 0..self.jobs.len() {
            // Each tank is left before it is gone into again.
            if a + 1 < self.jobs.len() {
                arcs.push(self.after(a + 1, a, self.links[self.jobs[a].last].places));
            }
            arcs.extend((1..=self.turn as i64).map(|later| self.after(a, a, later)));
        }
        arcs
    }

    /// Every two jobs that must not meet: `each(one, other, counts)`, where carrier by carrier either the second job of `one`
    /// waits for the first, or that of `other`; `counts` says for which carriers.
    fn pairs(&self, each: &mut dyn FnMut(Pair, Pair, Counts<'_>)) {
        let n = self.jobs.len();
        for a in 0..n {
            for b in a + 1..n {
                each((a, b), (b, a), &|_| true);
            }
        }
        for (k, (into, out, turn)) in self.stays.iter().enumerate() {
            for (other_into, other_out, other) in &self.stays[k + 1..] {
                let meet = |later: i64| {
                    let carrier = |k: i64| k.rem_euclid(self.turn as i64) as usize;
                    (0..self.turn as i64).any(|k| turn.slot(carrier(k)) == other.slot(carrier(k + later)))
                };
                each((*out, *other_into), (*other_out, *into), &meet);
            }
        }
    }

    /// Every pair of jobs that `y` puts too near to each other.
    fn clashes(&self, y: &[i64], period: i64) -> Vec<Clash> {
        let mut found = Vec::new();
        self.pairs(&mut |one, other, counts| {
            let (first, last) = self.near(one, other, y, period);
            for later in (first..=last).filter(|later| counts(*later)) {
                let (either, missed) = self.either(one, other, y, period, later);
                if missed.iter().all(|m| *m > 0) {
                    found.push(Clash { either, by: missed[0].min(missed[1]) });
                }
            }
        });
        found
    }

    /// The side on which `y` keeps every pair of jobs apart, so that times between such times keep them apart too.
    fn decided(&self, y: &[i64], period: i64) -> Vec<Arc> {
        let (n, turn) = (self.jobs.len(), self.turn as i64);
        let free = |(a, b): Pair| self.longest[a * n + b] <= -NEVER / 2;
        let mut arcs = Vec::new();
        self.pairs(&mut |one, other, counts| {
            if free(one) || free(other) {
                return;
            }
            let (first, last) = self.near(one, other, y, period);
            let range = first.min(last + 1) - turn..=last.max(first - 1) + turn;
            for later in range.filter(|later| counts(*later)) {
                let (either, missed) = self.either(one, other, y, period, later);
                arcs.push(either[usize::from(missed[1] < missed[0])]);
            }
        });
        arcs
    }

    /// The carriers with which the jobs could be too near, counted from the one of the first job of `one`: with all before the
    /// first of them `other` is kept, with all after the last one `one` is.
    fn near(&self, one: Pair, other: Pair, y: &[i64], period: i64) -> (i64, i64) {
        let most = |(a, b): Pair| self.longest[a * self.jobs.len() + b];
        let first = (self.between(other, y) - most(other)).div_euclid(period) + 1;
        (first, ceil(most(one) - self.between(one, y), period) - 1)
    }

    fn between(&self, (a, b): Pair, y: &[i64]) -> i64 {
        y[self.jobs[b].first] - y[self.jobs[a].first]
    }

    /// The two constraints of a pair for one carrier, and by how much `y` misses each.
    fn either(&self, one: Pair, other: Pair, y: &[i64], period: i64, later: i64) -> ([Arc; 2], [i64; 2]) {
        let (there, again) = (self.after(one.0, one.1, later), self.after(other.0, other.1, -later));
        let missed =
            [there.least(period) - self.between(one, y), again.least(period) - self.between(other, y)];
        ([there, again], missed)
    }

    /// The shortest period below `cap`, with at most `budget` nodes.
    pub fn search(&self, cap: i64, budget: u64) -> Found {
        let floor = self.floor();
        let arcs = self.standing();
        let lifter = Lifter::default();
        let mut search = Search { team: self, cap, budget, nodes: 0, bound: NEVER, best: None, arcs, lifter };
        let mut y = vec![0; self.moves()];
        if let Some(period) = search.lifter.least(&search.arcs, &mut y, floor, cap) {
            search.go_on(&y, period);
        }
        let mut bound = search.bound.min(search.cap);
        if !self.is_straight() {
            bound = bound.min(floor);
        }
        Found { best: search.best, bound, nodes: search.nodes }
    }

    /// Times as an order in the period, and the constraints that make it.
    fn answer(&self, y: &[i64], period: i64, arcs: &[Arc]) -> Answer {
        let own: Vec<i64> = y.iter().map(|t| t - y[0]).collect();
        let (order, behind) = in_period(&self.jobs, &own, period);
        let crossed = behind.windows(2).map(|b| b[1] - b[0]).collect();
        let mut of = vec![0; self.moves()];
        for (job, behind) in self.jobs.iter().zip(&behind) {
            of[job.first..=job.last].fill(*behind);
        }
        let arcs = arcs.iter().copied().chain(self.decided(y, period));
        let arcs = arcs.map(|a| a.later(of[a.to()] - of[a.from()])).collect();
        Answer { period, order, crossed, arcs }
    }
}

/// The jobs in the order of one period and how many carriers behind the newest each is at work, from times counted from the
/// carrier's own load.
pub(super) fn in_period(jobs: &[Job], own: &[i64], period: i64) -> (Vec<usize>, Vec<i64>) {
    let mut order: Vec<usize> = (0..jobs.len()).collect();
    order.sort_by_key(|j| own[jobs[*j].first].rem_euclid(period));
    (order, jobs.iter().map(|j| own[j.first].div_euclid(period)).collect())
}

fn ceil(a: i64, k: i64) -> i64 {
    a.div_euclid(k) + i64::from(a.rem_euclid(k) != 0)
}

/// A constraint more, and what comes of it.
struct Child {
    period: i64,
    arc: Arc,
    y: Vec<i64>,
}

struct Search<'a> {
    team: &'a Team,
    /// Only shorter periods are of interest.
    cap: i64,
    budget: u64,
    nodes: u64,
    /// Least bound of the nodes that the budget left open.
    bound: i64,
    best: Option<Answer>,
    arcs: Vec<Arc>,
    lifter: Lifter,
}

impl Search<'_> {
    fn go_on(&mut self, y: &[i64], period: i64) {
        let mut clashes = self.team.clashes(y, period);
        if clashes.is_empty() {
            self.cap = period;
            self.best = Some(self.team.answer(y, period, &self.arcs));
            return;
        }
        if self.nodes >= self.budget {
            self.bound = self.bound.min(period);
            return;
        }
        clashes.sort_by_key(|c| Reverse(c.by));
        clashes.truncate(LOOKED_AT);
        for child in self.children(&clashes, y, period) {
            if child.period < self.cap {
                self.arcs.push(child.arc);
                self.go_on(&child.y, child.period);
                self.arcs.pop();
            }
        }
    }

    /// The two ways of the pair that says most, the better one first.
    fn children(&mut self, clashes: &[Clash], y: &[i64], period: i64) -> Vec<Child> {
        let mut best: Option<((i64, i64), Vec<Child>)> = None;
        for clash in clashes {
            let mut children: Vec<Child> =
                clash.either.iter().filter_map(|arc| self.child(*arc, y, period)).collect();
            children.sort_by_key(|c| c.period);
            let at = |k: usize| children.get(k).map_or(self.cap, |c| c.period);
            let says = (at(0), at(1));
            if best.as_ref().is_none_or(|(before, _)| says > *before) {
                best = Some((says, children));
            }
            if says == (self.cap, self.cap) {
                break;
            }
        }
        best.map_or_else(Vec::new, |(_, children)| children)
    }

    fn child(&mut self, arc: Arc, y: &[i64], period: i64) -> Option<Child> {
        self.nodes += 1;
        let mut y = y.to_vec();
        self.arcs.push(arc);
        let lifted = self.lifter.least(&self.arcs, &mut y, period, self.cap);
        self.arcs.pop();
        Some(Child { period: lifted?, arc, y })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ids::Id as _;
    use crate::rng::Rng;

    fn pick(rng: &mut Rng, lo: i64, hi: i64) -> i64 {
        lo + rng.below((hi - lo + 1) as usize) as i64
    }

    /// Tanks strewn over a rail, hoists strewn over the jobs, lags of all kinds between them.
    fn random(rng: &mut Rng) -> Team {
        let n = pick(rng, 3, 5) as usize;
        let turn = pick(rng, 1, 2);
        let place: Vec<i64> = (0..=n).map(|_| pick(rng, 0, 4)).collect();
        let hoists: Vec<HoistId> = (0..n).map(|_| HoistId::at(pick(rng, 0, 1) as usize)).collect();
        let loaded: Vec<i64> = (0..n).map(|i| 2 + (place[i] - place[i + 1]).abs()).collect();
        let links = (1..n)
            .map(|i| {
                let lo = loaded[i - 1] + pick(rng, 0, 5);
                let hi = if rng.chance(0.2) { NEVER } else { lo + pick(rng, 0, 5) };
                Link { lo, hi, places: pick(rng, 1, turn) }
            })
            .collect();
        let lags: Vec<i64> = (0..n * n * turn as usize)
            .map(|_| if rng.chance(0.3) { -NEVER } else { pick(rng, -3, 9) })
            .collect();
        let jobs = (0..n).map(|i| Job { first: i, last: i }).collect();
        let shared = if n > 3 && rng.chance(0.4) {
            let turn = |ahead| Turn { slots: vec![7], ahead };
            vec![(1, turn(0)), (3, turn(0))]
        } else {
            Vec::new()
        };
        let apart = |a: usize, b: usize, d: usize| {
            let swap = a == b + 1;
            match hoists[a] == hoists[b] {
                true => loaded[a] + (place[a + 1] - place[b]).abs(),
                false if swap => lags[(a * n + b) * turn as usize + d].max(1),
                false => lags[(a * n + b) * turn as usize + d],
            }
        };
        Team::new(links, jobs, hoists.clone(), turn as usize, &shared, &apart)
    }

    /// True if all carriers of the cycle keep apart, carrier by carrier, as far as the times are known.
    fn keeps(team: &Team, own: &[i64], period: i64) -> bool {
        let n = own.len();
        let after =
            |a: usize, b: usize, later: i64| own[b] - own[a] + later * period >= team.apart(a, b, later);
        let apart = |(a, b): Pair, (c, d): (usize, usize), later| after(a, b, later) || after(c, d, -later);
        let pairs = (0..n)
            .all(|b| (0..=b).all(|a| (-30..=30).all(|k| (a == b && k == 0) || apart((a, b), (b, a), k))));
        let swaps = (1..n).all(|i| after(i, i - 1, team.links[i - 1].places));
        let stays = team.stays.iter().enumerate().all(|(k, (into, out, _))| {
            team.stays[k + 1..].iter().all(|(other_into, other_out, _)| {
                *out.max(other_out) >= n
                    || (-30..=30).all(|k| apart((*out, *other_into), (*other_out, *into), k))
            })
        });
        pairs && swaps && stays
    }

    /// Every start of every job.
    fn possible(team: &Team, own: &mut Vec<i64>, period: i64) -> bool {
        let i = own.len();
        if !keeps(team, own, period) {
            return false;
        }
        let Some(link) = team.links.get(i - 1) else { return true };
        let before = own[i - 1];
        (before + link.lo..=before + link.hi.min(link.places * period + 3)).any(|t| {
            own.push(t);
            let possible = possible(team, own, period);
            own.pop();
            possible
        })
    }

    #[test]
    fn small_teams_agree_with_trying_every_start() {
        let mut rng = Rng::stream(31, "rhythm-teams");
        let mut none = 0;
        for round in 0..300 {
            let team = random(&mut rng);
            let expected = (1..60).find(|period| possible(&team, &mut vec![0], *period));
            let found = team.search(60, 1_000_000);
            let period = found.best.as_ref().map(|a| a.period);
            assert_eq!(period, expected, "round {round}: {team:?}");
            assert_eq!(found.bound, expected.unwrap_or(60), "round {round}");
            assert!(team.floor() <= found.bound, "round {round}: {team:?}");
            let little = team.search(60, 3);
            assert!(little.bound <= found.bound, "round {round}");
            none += usize::from(period.is_none());
        }
        assert!(none < 100, "{none} without a cycle");
    }
}
