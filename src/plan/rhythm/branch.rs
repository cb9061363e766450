//! Branch and bound over the order of the hoist's jobs in one period.
//!
//! 1. The period begins with the load. A node appends one job; where it takes a carrier out of or brings one into a stage
//!    of several tanks, the node also says how many periods the carrier stays (the tanks are taken in turn, so a stay of up
//!    to as many periods as there are tanks, less the swap, is possible).
//! 2. Once it is known which of two neighbouring jobs of the recipe comes first in the period, the window between them is a
//!    difference constraint. The least period of all constraints so far (see `network`) bounds the node from below; so does
//!    the crane's work still to be done, which enters as one more constraint.
//! 3. A node whose bound reaches the best period found is dropped: a leaf below it could not be shorter.
//! 4. Strict swap needs no constraint of its own: the job that empties a tank stands before the job that fills it in the
//!    order, and one hoist ends the one before it begins the other.
//!
//! The first answer is one carrier at a time, which always works; so a rhythm exists whenever the recipe can be run at all.

use super::bounds::{Bounds, Prices};
use super::network::{Arc, Lifter, Why};
use super::problem::{Job, NEVER, Problem, Turn};

/// An order of jobs and the times it gives.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Answer {
    /// Length of the period in ms.
    pub period: i64,
    /// Jobs in the order of the period, the load first.
    pub order: Vec<usize>,
    /// For each link between a job and the next of the recipe: periods that begin between the two.
    pub crossed: Vec<i64>,
    /// All constraints of this order.
    pub arcs: Vec<Arc>,
}

/// What a search came to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Found {
    /// The best order, if one is shorter than the cap given.
    pub best: Option<Answer>,
    /// No order has a shorter period; equal to the best one's if the tree was exhausted.
    pub bound: i64,
    /// Nodes looked at.
    pub nodes: u64,
}

/// The shortest period below `cap`, with at most `budget` nodes.
pub(super) fn search(problem: &Problem, cap: i64, budget: u64) -> Found {
    let floor = Bounds::of(problem).best();
    if floor >= cap {
        return Found { best: None, bound: cap, nodes: 0 };
    }
    let mut search = Search::new(problem, cap, budget, floor);
    search.alone();
    let first = if problem.jobs.len() > 1 { problem.links[problem.between(0) - 1].places } else { 1 };
    for crossed in 0..first {
        let decided = [(0, crossed)];
        let decided = if problem.jobs.len() > 1 { &decided[..] } else { &[] };
        search.place(0, decided, &vec![0; problem.moves()], floor);
    }
    Found { bound: search.bound.min(search.cap), best: search.best, nodes: search.nodes }
}

/// A link and the periods that begin between its two jobs.
type Crossed = (usize, i64);

/// One way to go on.
#[derive(Debug, Clone)]
struct Child {
    job: usize,
    /// Links that it decides, with the periods crossed.
    crossed: Vec<Crossed>,
    bound: i64,
    /// Start of the job, for ties.
    start: i64,
    y: Vec<i64>,
}

struct Search<'a> {
    problem: &'a Problem,
    /// Only shorter periods are of interest.
    cap: i64,
    budget: u64,
    nodes: u64,
    floor: i64,
    /// Least bound of the nodes that the budget left open.
    bound: i64,
    best: Option<Answer>,
    order: Vec<usize>,
    placed: Vec<bool>,
    /// Place of each move in the period, or `usize::MAX`.
    pos: Vec<usize>,
    crossed: Vec<Option<i64>>,
    arcs: Vec<Arc>,
    open: Vec<usize>,
    lifter: Lifter,
    prices: Prices,
    trial: Vec<i64>,
}

impl<'a> Search<'a> {
    fn new(problem: &'a Problem, cap: i64, budget: u64, floor: i64) -> Self {
        let jobs = problem.jobs.len();
        Self {
            problem,
            cap,
            budget,
            nodes: 0,
            floor,
            bound: NEVER,
            best: None,
            order: Vec::with_capacity(jobs),
            placed: vec![false; jobs],
            pos: vec![usize::MAX; problem.moves()],
            crossed: vec![None; jobs - 1],
            arcs: standing(problem),
            open: Vec::new(),
            lifter: Lifter::default(),
            prices: Prices::of(problem),
            trial: Vec::new(),
        }
    }

    /// One carrier at a time: the first answer.
    fn alone(&mut self) {
        let jobs = self.problem.jobs.len();
        let answer = Answer {
            period: self.floor,
            order: (0..jobs).collect(),
            crossed: vec![0; jobs - 1],
            arcs: Vec::new(),
        };
        self.adopt(answer);
    }

    fn adopt(&mut self, mut answer: Answer) {
        if clashes(self.problem, &answer) {
            return;
        }
        answer.arcs = exact(self.problem, &answer);
        let mut y = vec![0; self.problem.moves()];
        if let Some(period) = self.lifter.least(&answer.arcs, &mut y, self.floor, self.cap) {
            answer.period = period;
            self.cap = period;
            self.best = Some(answer);
        }
    }

    /// Puts a job next, with the links it decides, and goes on from there.
    fn place(&mut self, job: usize, crossed: &[Crossed], y: &[i64], bound: i64) {
        let before = self.arcs.len();
        self.enter(job, crossed);
        if self.order.len() == self.problem.jobs.len() {
            self.leaf();
        } else {
            let mut children = self.children(y, bound);
            children.sort_by_key(|c| (c.bound, c.start, c.job));
            for child in children {
                if child.bound >= self.cap {
                    continue;
                }
                if self.nodes >= self.budget {
                    self.bound = self.bound.min(child.bound);
                    continue;
                }
                self.place(child.job, &child.crossed, &child.y, child.bound);
            }
        }
        self.leave(job, crossed);
        self.arcs.truncate(before);
    }

    fn leaf(&mut self) {
        let crossed = self.crossed.iter().map(|c| c.unwrap_or(0)).collect();
        self.adopt(Answer { period: self.floor, order: self.order.clone(), crossed, arcs: Vec::new() });
    }

    fn enter(&mut self, job: usize, crossed: &[Crossed]) {
        if let Some(last) = self.order.last() {
            let gap = self.problem.gap[last * self.problem.jobs.len() + job];
            self.arcs.push(chain(self.problem, *last, job, gap));
        }
        for (link, k) in crossed {
            self.crossed[*link] = Some(*k);
            window(self.problem, *link, *k, &mut self.arcs);
        }
        let Job { first, last } = self.problem.jobs[job];
        let at = self.order.last().map_or(0, |j| self.pos[self.problem.jobs[*j].last] + 1);
        for (step, i) in (first..=last).enumerate() {
            self.pos[i] = at + step;
        }
        self.placed[job] = true;
        self.order.push(job);
    }

    fn leave(&mut self, job: usize, crossed: &[Crossed]) {
        self.order.pop();
        self.placed[job] = false;
        let Job { first, last } = self.problem.jobs[job];
        self.pos[first..=last].fill(usize::MAX);
        for (link, _) in crossed {
            self.crossed[*link] = None;
        }
    }

    fn children(&mut self, y: &[i64], bound: i64) -> Vec<Child> {
        let mut children = Vec::new();
        for job in 1..self.problem.jobs.len() {
            if !self.placed[job] {
                self.ways(job, &mut |search, crossed| {
                    children.extend(search.judge(job, crossed, y, bound));
                });
            }
        }
        children
    }

    /// Every way to decide the links that putting `job` next decides.
    fn ways(&mut self, job: usize, each: &mut dyn FnMut(&mut Self, &[Crossed])) {
        let mut ranges: Vec<(usize, i64, i64)> = Vec::with_capacity(3);
        let places = |link: usize| self.problem.links[self.problem.between(link) - 1].places;
        if job > 0 && !self.placed[job - 1] {
            ranges.push((job - 1, 1, places(job - 1)));
        }
        if job + 1 < self.problem.jobs.len() && !self.placed[job + 1] {
            ranges.push((job, 0, places(job) - 1));
        }
        let mut crossed: Vec<Crossed> = ranges.iter().map(|r| (r.0, r.1)).collect();
        loop {
            each(self, &crossed);
            let Some(at) = (0..ranges.len()).find(|at| crossed[*at].1 < ranges[*at].2) else { return };
            crossed[at].1 += 1;
            for before in 0..at {
                crossed[before].1 = ranges[before].1;
            }
        }
    }

    /// The bound of a child, if it is worth going on with.
    fn judge(&mut self, job: usize, crossed: &[Crossed], y: &[i64], bound: i64) -> Option<Child> {
        self.nodes += 1;
        let before = self.arcs.len();
        self.enter(job, crossed);
        let child = self.bound_here(job, y, bound).map(|bound| Child {
            job,
            crossed: crossed.to_vec(),
            bound,
            start: self.trial[self.problem.jobs[job].first] - self.trial[0],
            y: self.trial.clone(),
        });
        self.leave(job, crossed);
        self.arcs.truncate(before);
        child
    }

    fn bound_here(&mut self, job: usize, y: &[i64], bound: i64) -> Option<i64> {
        if self.meets() {
            return None;
        }
        let n = self.problem.jobs.len();
        let last = self.problem.jobs[job].last;
        self.open.clear();
        self.open.extend((1..n).filter(|j| !self.placed[*j]));
        for next in &self.open {
            self.arcs.push(chain(self.problem, job, *next, self.problem.apart[job * n + next]));
        }
        let work = self.prices.rest(self.problem, job, &self.open);
        self.arcs.push(Arc::new(last, 0, work, 1, Why::Hoist));
        self.trial.clear();
        self.trial.extend_from_slice(y);
        self.lifter.least(&self.arcs, &mut self.trial, bound, self.cap)
    }

    /// True if two treatments that share one tank would be in it at once, as far as the order is known.
    fn meets(&self) -> bool {
        let shared = &self.problem.shared;
        shared.iter().enumerate().any(|(k, (i, a))| {
            shared[k + 1..].iter().any(|(j, b)| {
                a.slots.len() == 1 && a.slots == b.slots && (self.inside(*i, *j) || self.inside(*j, *i))
            })
        })
    }

    /// True if treatment `j` begins or ends while `i` goes on.
    fn inside(&self, i: usize, j: usize) -> bool {
        let (from, to) = (self.pos[i - 1], self.pos[i]);
        let within = |p: usize| if from < to { from < p && p < to } else { p > from || p < to };
        let known = |p: usize| p != usize::MAX;
        known(from)
            && known(to)
            && [self.pos[j - 1], self.pos[j]]
                .iter()
                .any(|p| known(*p) && *p != from && *p != to && within(*p))
    }
}

/// Job `next` some time after job `before` in the same period.
fn chain(problem: &Problem, before: usize, next: usize, gap: i64) -> Arc {
    Arc::new(problem.jobs[before].last, problem.jobs[next].first, gap, 0, Why::Hoist)
}

/// The window between a job and the next of the recipe once the periods crossed are known.
fn window(problem: &Problem, link: usize, crossed: i64, arcs: &mut Vec<Arc>) {
    let i = problem.between(link);
    let l = &problem.links[i - 1];
    arcs.push(Arc::new(i - 1, i, l.lo, crossed, Why::Soak(i as u16)));
    if l.hi < NEVER {
        arcs.push(Arc::new(i, i - 1, -l.hi, -crossed, Why::Window(i as u16)));
    }
}

/// Dips on the hook and the station: constraints of every order.
fn always(problem: &Problem) -> Vec<Arc> {
    let mut arcs = Vec::new();
    for job in &problem.jobs {
        for i in job.first + 1..=job.last {
            let l = &problem.links[i - 1];
            arcs.push(Arc::new(i - 1, i, l.lo, 0, Why::Soak(i as u16)));
            if l.hi < NEVER {
                arcs.push(Arc::new(i, i - 1, -l.hi, 0, Why::Window(i as u16)));
            }
        }
    }
    if let Some((lo, hi)) = problem.station {
        let last = problem.moves() - 1;
        arcs.push(Arc::new(last, 0, lo, 1, Why::Soak(0)));
        if hi < NEVER {
            arcs.push(Arc::new(0, last, -hi, -1, Why::Window(0)));
        }
    }
    arcs
}

/// Constraints that hold whatever the order: every job begins and ends inside the period, and a link crosses between no
/// period and as many as there are tanks.
fn standing(problem: &Problem) -> Vec<Arc> {
    let n = problem.jobs.len();
    let mut arcs = always(problem);
    for job in 1..n {
        arcs.push(chain(problem, 0, job, problem.apart[job]));
        let Job { last, .. } = problem.jobs[job];
        arcs.push(Arc::new(last, 0, problem.apart[job * n], 1, Why::Hoist));
        let i = problem.between(job - 1);
        let l = &problem.links[i - 1];
        arcs.push(Arc::new(i - 1, i, l.lo, l.places, Why::Soak(i as u16)));
        if l.hi < NEVER {
            arcs.push(Arc::new(i, i - 1, -l.hi, 0, Why::Window(i as u16)));
        }
    }
    arcs
}

/// All constraints of a complete order, with the travel between the very tanks the turns give.
fn exact(problem: &Problem, answer: &Answer) -> Vec<Arc> {
    let n = problem.jobs.len();
    let mut arcs = always(problem);
    for (link, crossed) in answer.crossed.iter().enumerate() {
        window(problem, link, *crossed, &mut arcs);
    }
    let behind = behind(&answer.crossed);
    let gap = |a: usize, b: usize, later: i64| {
        let d = (behind[a] - behind[b] + later).rem_euclid(problem.turn as i64);
        problem.gaps[(a * n + b) * problem.turn + d as usize]
    };
    for pair in answer.order.windows(2) {
        arcs.push(chain(problem, pair[0], pair[1], gap(pair[0], pair[1], 0)));
    }
    let last = answer.order[n - 1];
    let (from, to) = (problem.jobs[last].last, problem.jobs[answer.order[0]].first);
    arcs.push(Arc::new(from, to, gap(last, answer.order[0], 1), 1, Why::Hoist));
    arcs
}

/// How many carriers behind the newest one each job is at work: the periods crossed since the load.
pub(super) fn behind(crossed: &[i64]) -> Vec<i64> {
    let mut behind = vec![0];
    let mut sum = 0;
    for k in crossed {
        sum += k;
        behind.push(sum);
    }
    behind
}

/// True if two carriers would be in one tank at once: every stay counted in moves of the hoist, carrier by carrier.
fn clashes(problem: &Problem, answer: &Answer) -> bool {
    if problem.shared.is_empty() {
        return false;
    }
    let moves = problem.moves() as i64;
    let behind = behind(&answer.crossed);
    let mut at = vec![0_i64; problem.moves()];
    let mut next = 0;
    for job in &answer.order {
        let Job { first, last } = problem.jobs[*job];
        for slot in &mut at[first..=last] {
            *slot = behind[*job] * moves + next;
            next += 1;
        }
    }
    let round = problem.turn as i64;
    let reach = behind[behind.len() - 1] + 1;
    problem.shared.iter().any(|(i, a)| {
        problem.shared.iter().any(|(j, b)| {
            (0..round).any(|k| {
                (k - reach..=k + reach).filter(|other| *i != *j || *other != k).any(|other| {
                    let slot = |t: &Turn, carrier: i64| t.slot(carrier.rem_euclid(round) as usize);
                    let (in_i, out_i) = (at[i - 1] + k * moves, at[*i] + k * moves);
                    let (in_j, out_j) = (at[j - 1] + other * moves, at[*j] + other * moves);
                    slot(a, k) == slot(b, other) && in_i < out_j && in_j < out_i
                })
            })
        })
    })
}
