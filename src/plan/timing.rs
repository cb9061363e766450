//! Times for a fixed order of moves: a simple temporal network.
//!
//! Every rule of the timing model is a difference constraint `start(to) >= start(from) + gap` between two moves, or a
//! bound on one move. Longest paths give the earliest starts, the same network read backwards the latest ones
//! (Dechter, Meiri and Pearl 1991, from memory). An order that cannot hold shows as a cycle or a crossed bound.

use std::collections::{BTreeMap, BTreeSet, VecDeque};

use super::problem::{Haul, Problem, Start};
use super::rail::{self, PathId};
use super::way::Rules;
use crate::ids::{Arena, CarrierId, HoistId, Id as _, TankId};
use crate::line::{Phases, Role, Visit};
use crate::schedule::Move;
use crate::units::{Dur, Time};

/// No edge.
const NONE: usize = usize::MAX;

/// `to` starts no sooner than `gap` after `from`.
#[derive(Debug, Clone, Copy)]
struct Edge {
    from: usize,
    to: usize,
    gap: Dur,
    /// The next edge out of `from`, and into `to`.
    next: Ends,
}

/// What concerns an edge or a move at both ends: out of where it begins, into where it ends.
#[derive(Debug, Clone, Copy)]
struct Ends {
    out: usize,
    into: usize,
}

impl Ends {
    const NONE: Self = Self { out: NONE, into: NONE };
}

/// The network of an order of moves.
pub(super) struct Network {
    edges: Vec<Edge>,
    /// The first and the last edge at each move; lists in one piece, because networks are built after every event.
    first: Vec<Ends>,
    last: Vec<Ends>,
    lower: Vec<Time>,
    upper: Vec<Time>,
}

impl Network {
    /// Builds the network of `moves` in their order. The order of the hoists' work and of the stays in each tank is
    /// kept; times may shift. `None` if a move cannot be made at all.
    pub fn new(problem: &Problem, moves: &[Move], rules: &Rules) -> Option<Self> {
        let phases: Vec<Phases> =
            moves.iter().map(|m| m.phases(problem.line, &problem.state.book)).collect::<Option<_>>()?;
        let n = moves.len();
        let mut net = Self {
            edges: Vec::with_capacity(4 * n),
            first: vec![Ends::NONE; n],
            last: vec![Ends::NONE; n],
            lower: vec![problem.now; n],
            upper: vec![Time::FAR; n],
        };
        let next = next_of_same(problem, moves);
        net.bound_first_moves(problem, moves, &phases, rules, &next);
        net.order_hoists(problem, moves, &phases, rules)?;
        net.keep_windows(problem, moves, &phases, rules, &next);
        net.keep_swaps(problem, moves, &phases);
        net.keep_power(problem, moves, &phases);
        Some(net)
    }

    fn add(&mut self, from: usize, to: usize, gap: Dur) {
        let id = self.edges.len();
        self.edges.push(Edge { from, to, gap, next: Ends::NONE });
        match std::mem::replace(&mut self.last[from].out, id) {
            NONE => self.first[from].out = id,
            before => self.edges[before].next.out = id,
        }
        match std::mem::replace(&mut self.last[to].into, id) {
            NONE => self.first[to].into = id,
            before => self.edges[before].next.into = id,
        }
    }

    /// The constraints that the start of a move puts on others.
    fn out_of(&self, i: usize) -> impl Iterator<Item = &Edge> {
        let edge = |id: usize| self.edges.get(id);
        std::iter::successors(edge(self.first[i].out), move |e| edge(e.next.out))
    }

    /// The constraints that others put on the start of a move.
    fn into(&self, i: usize) -> impl Iterator<Item = &Edge> {
        let edge = |id: usize| self.edges.get(id);
        std::iter::successors(edge(self.first[i].into), move |e| edge(e.next.into))
    }

    /// Where each carrier is now bounds its first move.
    fn bound_first_moves(
        &mut self,
        problem: &Problem,
        moves: &[Move],
        phases: &[Phases],
        rules: &Rules,
        next: &[Option<usize>],
    ) {
        let mut first: Arena<CarrierId, Option<usize>> =
            problem.state.carriers.iter().map(|_| None).collect();
        for (i, m) in moves.iter().enumerate() {
            first[m.carrier].get_or_insert(i);
        }
        for task in &problem.tasks {
            let Some(i) = first[task.carrier] else { continue };
            match task.start {
                Start::Queued { ready, .. } => self.lower[i] = self.lower[i].max(ready),
                Start::Tank { visit, since, tank, .. } => {
                    let (min, max) = rules.window(problem.line, task, visit);
                    self.lower[i] = self.lower[i].max(since + min - phases[i].to_lift());
                    let out = problem.state.tanks[tank].until;
                    self.upper[i] = (since + max).min(out) - phases[i].to_lift();
                }
                Start::Hook { hoist, lifted, .. } => {
                    let Some(haul) = haul_from(problem, &moves[i..]) else { continue };
                    let start = problem.under_way_from(hoist, lifted, &haul);
                    self.lower[i] = start;
                    // What another hoist stands in the way of hangs for as long as that takes.
                    self.upper[i] = if problem.is_blocked() { Time::FAR } else { start };
                }
                Start::Done => {}
            }
        }
        for (i, m) in moves.iter().enumerate() {
            let tank = problem.state.tanks[m.to];
            if !matches!(problem.line.tanks[m.to].role, Role::Station { .. }) {
                self.lower[i] = self.lower[i].max(tank.from - phases[i].to_down());
                if tank.until < Time::FAR && next[i].is_none() {
                    self.upper[i] = self.upper[i].min(tank.until - phases[i].to_down());
                }
            }
            let left = problem.state.tanks[m.from];
            if left.until < Time::FAR && !matches!(problem.line.tanks[m.from].role, Role::Station { .. }) {
                self.upper[i] = self.upper[i].min(left.until - phases[i].to_lift());
            }
        }
    }

    fn order_hoists(
        &mut self,
        problem: &Problem,
        moves: &[Move],
        phases: &[Phases],
        rules: &Rules,
    ) -> Option<()> {
        let line = problem.line;
        for (hoist, h) in problem.state.hoists.iter() {
            if let Some(i) = moves.iter().position(|m| m.hoist == hoist) {
                let holds = |start: &Start| matches!(start, Start::Hook { hoist: h, .. } if *h == hoist);
                let under_way =
                    problem.tasks.iter().any(|t| t.carrier == moves[i].carrier && holds(&t.start));
                if !under_way {
                    let travel = line.empty_travel(hoist, h.at, moves[i].from)?;
                    self.lower[i] = self.lower[i].max(problem.free_from(hoist).max(problem.now) + travel);
                }
            }
        }
        let reserve = |m: &Move| {
            let kept = rules.reserve.of(line, problem.spec(m.carrier).recipe, m.leaves);
            if m.attach { kept } else { Dur::ZERO }
        };
        let mut last = vec![None; line.hoists.len()];
        for (i, m) in moves.iter().enumerate() {
            if let Some(before) = last[m.hoist.ix()].replace(i) {
                let travel = line.empty_travel(m.hoist, moves[before].to, m.from)?;
                self.add(before, i, phases[before].total() + travel + reserve(m));
            }
        }
        if problem.rail.is_alone() { Some(()) } else { self.share_rail(problem, moves, rules) }
    }

    /// Hauls of different hoists keep the lags of the rail, in the order they have.
    fn share_rail(&mut self, problem: &Problem, moves: &[Move], rules: &Rules) -> Option<()> {
        let rail = &problem.rail;
        let hauls = hauls_of(problem, moves)?;
        let hanging = |haul: &OnRail| {
            let task = problem.tasks.iter().find(|t| t.carrier == moves[haul.first].carrier);
            task.is_some_and(|t| matches!(t.start, Start::Hook { .. })) && haul.opens
        };
        let stands = problem.state.hoists.ids().filter(|h| {
            // What hangs on a hoist now is a move of its own.
            hauls.iter().all(|haul| haul.hoist != *h || !hanging(haul))
        });
        let stands: Vec<(HoistId, (PathId, Time))> = stands.map(|h| (h, problem.stand(h))).collect();
        for (n, haul) in hauls.iter().enumerate() {
            let under_way = hanging(haul);
            for (_, (stand, from)) in stands.iter().filter(|(h, _)| *h != haul.hoist && !under_way) {
                let gone = *from + Dur(rail.lag(*stand, haul.path));
                self.lower[haul.first] = self.lower[haul.first].max(gone);
            }
            let m = &moves[haul.first];
            let kept = rules.reserve.of(problem.line, problem.spec(m.carrier).recipe, m.leaves);
            let reserve = if m.attach { kept } else { Dur::ZERO };
            // Time that lies between a haul of each hoist and the nearest one that this haul is tied to.
            let mut between: Vec<Option<Dur>> = vec![None; problem.line.hoists.len()];
            for before in hauls[..n].iter().rev().filter(|b| b.hoist != haul.hoist) {
                let between = &mut between[before.hoist.ix()];
                *between = between.map(|b| b + before.total);
                if between.is_some_and(|b| b >= Dur(rail.longest_lag()) + reserve) {
                    // Its own hoist's work in between keeps it away, and all before it.
                    continue;
                }
                let lag = rail.lag(before.path, haul.path);
                if lag == rail::FREE || (under_way && hanging(before) && !problem.is_blocked()) {
                    continue;
                }
                if lag == rail::NEVER {
                    return None;
                }
                between.get_or_insert(Dur::ZERO);
                self.add(before.first, haul.first, (Dur(lag) + reserve).or_zero());
            }
        }
        Some(())
    }

    fn keep_windows(
        &mut self,
        problem: &Problem,
        moves: &[Move],
        phases: &[Phases],
        rules: &Rules,
        next: &[Option<usize>],
    ) {
        for (i, m) in moves.iter().enumerate() {
            let Some(j) = next[i] else { continue };
            let Some(task) = problem.task_of(m.carrier) else { continue };
            let recipe = task.recipe;
            let (mut min, mut max) = rules.window(problem.line, task, m.visit);
            if m.leaves == m.visit {
                // Put back: what it has had already counts.
                let had = Time::ZERO - problem.counts_from(m.carrier, m.leaves, m.visit, Time::ZERO);
                min -= had;
                max = if max.is_unlimited() { max } else { max - had };
            }
            if !m.release {
                // A dip on the hook keeps its target.
                let t = super::problem::target(problem.line, recipe, m.visit);
                min = min.max(t).min(max);
                max = max.min(t).max(min);
            }
            let down_to_lift = phases[i].to_down() - phases[j].to_lift();
            self.add(i, j, down_to_lift + min);
            if !max.is_unlimited() {
                self.add(j, i, -(down_to_lift + max));
            }
        }
    }

    /// The next carrier for a tank is lifted when the one before has cleared it.
    fn keep_swaps(&mut self, problem: &Problem, moves: &[Move], phases: &[Phases]) {
        let mut into: Arena<TankId, Vec<usize>> = problem.line.tanks.ids().map(|_| Vec::new()).collect();
        for (i, m) in moves.iter().enumerate() {
            into[m.to].push(i);
        }
        for (out, m) in moves.iter().enumerate() {
            if matches!(problem.line.tanks[m.from].role, Role::Station { .. }) {
                continue;
            }
            let cleared = m.start + phases[out].to_clear();
            let next = into[m.from]
                .iter()
                .find(|&&i| moves[i].carrier != m.carrier && moves[i].start + phases[i].to_lift() >= cleared);
            if let Some(&next) = next {
                // On the stroke the other hoist is still in the way.
                let apart = Dur(i64::from(moves[next].hoist != m.hoist));
                self.add(out, next, phases[out].to_clear() - phases[next].to_lift() + apart);
            }
        }
    }

    /// Stays that draw power one after the other stay one after the other, if a cap makes that matter.
    fn keep_power(&mut self, problem: &Problem, moves: &[Move], phases: &[Phases]) {
        if problem.line.power_cap.is_none() {
            return;
        }
        let draws = |m: &Move, visit: Visit| problem.power(m.carrier, visit).is_some();
        let into: Vec<(usize, &Move)> = moves.iter().enumerate().filter(|(_, n)| draws(n, n.visit)).collect();
        for (out, m) in moves.iter().enumerate().filter(|(_, m)| draws(m, m.leaves)) {
            let ends = m.start + phases[out].to_lift();
            // A hoist brings what comes later still after the first.
            for hoist in problem.line.hoists.ids() {
                let next = into.iter().find(|(next, n)| {
                    n.hoist == hoist && n.carrier != m.carrier && n.start + phases[*next].to_down() >= ends
                });
                if let Some(&(next, _)) = next {
                    self.add(out, next, phases[out].to_lift() - phases[next].to_down());
                }
            }
        }
    }

    /// Another constraint between two moves; what it is called to be set again.
    pub fn tie(&mut self, from: usize, to: usize, gap: Dur) -> usize {
        self.add(from, to, gap);
        self.edges.len() - 1
    }

    /// Sets a constraint anew.
    pub fn set(&mut self, tie: usize, gap: Dur) {
        self.edges[tie].gap = gap;
    }

    /// A move that stands for the opening of the shift, to tie what is bound to an instant.
    pub fn opening(&mut self) -> usize {
        self.lower.push(Time::ZERO);
        self.upper.push(Time::ZERO);
        self.first.push(Ends::NONE);
        self.last.push(Ends::NONE);
        self.lower.len() - 1
    }

    /// A move that may not be put off, which starts no sooner than this all the same.
    pub fn not_before(&mut self, i: usize, earliest: Time) {
        self.upper[i] = self.upper[i].max(earliest);
    }

    /// No later start than this.
    pub fn not_after(&mut self, i: usize, latest: Time) {
        self.upper[i] = self.upper[i].min(latest);
    }

    /// The earliest start of every move, or `None` if the order cannot hold.
    pub fn earliest(&self) -> Option<Vec<Time>> {
        let mut at = self.lower.clone();
        self.push_from(&mut at, 0..self.lower.len()).then_some(at)
    }

    /// True if starts are not too late for any window.
    pub fn lets(&self, starts: &[Time]) -> bool {
        let in_time = self.upper.iter().zip(starts).all(|(upper, start)| start <= upper);
        let mut longest = self.edges.iter().filter(|edge| edge.gap < Dur::ZERO);
        in_time && longest.all(|edge| starts[edge.to] >= starts[edge.from] + edge.gap)
    }

    /// Gives way to starts that do not keep every window: what they break may be as late as they have it, and no later.
    pub fn give_way_to(&mut self, starts: &[Time]) {
        for (upper, start) in self.upper.iter_mut().zip(starts) {
            *upper = (*upper).max(*start);
        }
        for edge in &mut self.edges {
            edge.gap = edge.gap.min(starts[edge.to] - starts[edge.from]);
        }
    }

    /// Moves starts no further back than the constraints say, beginning with those of the given moves: all others are
    /// taken to hold. False if they cannot hold.
    pub fn push_from(&self, at: &mut [Time], changed: impl IntoIterator<Item = usize>) -> bool {
        let n = self.lower.len();
        let mut queued = vec![false; n];
        let mut queue: VecDeque<usize> =
            changed.into_iter().filter(|i| !std::mem::replace(&mut queued[*i], true)).collect();
        let mut visits = vec![0_usize; n];
        while let Some(i) = queue.pop_front() {
            queued[i] = false;
            if at[i] > self.upper[i] {
                return false;
            }
            for edge in self.out_of(i) {
                let t = at[i] + edge.gap;
                if t > at[edge.to] {
                    at[edge.to] = t;
                    if !queued[edge.to] {
                        visits[edge.to] += 1;
                        // More rounds than moves: the constraints chase each other round a cycle.
                        if visits[edge.to] > n {
                            return false;
                        }
                        queued[edge.to] = true;
                        queue.push_back(edge.to);
                    }
                }
            }
        }
        true
    }

    /// The latest start of every move with which all windows still hold, and for each the move that limits it.
    pub fn latest(&self) -> (Vec<Time>, Vec<Option<usize>>) {
        let n = self.upper.len();
        let mut at = self.upper.clone();
        let mut limited_by = vec![None; n];
        let mut queue: VecDeque<usize> = (0..n).rev().collect();
        let mut queued = vec![true; n];
        let mut visits = vec![0_usize; n];
        while let Some(i) = queue.pop_front() {
            queued[i] = false;
            if at[i] >= Time::FAR || visits[i] > n {
                continue;
            }
            for edge in self.into(i) {
                let t = at[i] - edge.gap;
                if t < at[edge.from] {
                    at[edge.from] = t;
                    limited_by[edge.from] = Some(i);
                    if !queued[edge.from] {
                        visits[edge.from] += 1;
                        queued[edge.from] = true;
                        queue.push_back(edge.from);
                    }
                }
            }
        }
        (at, limited_by)
    }
}

/// For each move the next one of the same carrier.
fn next_of_same(problem: &Problem, moves: &[Move]) -> Vec<Option<usize>> {
    let mut later: Arena<CarrierId, Option<usize>> = problem.state.carriers.iter().map(|_| None).collect();
    let mut next = vec![None; moves.len()];
    for (i, m) in moves.iter().enumerate().rev() {
        next[i] = later[m.carrier].replace(i);
    }
    next
}

/// A haul among the moves.
struct OnRail {
    /// Its first move.
    first: usize,
    /// It is the first of its carrier.
    opens: bool,
    hoist: HoistId,
    path: PathId,
    total: Dur,
}

/// The haul that legs of one carrier make. A dip lasts its target, whatever it lasted when the moves were timed.
fn haul_of(problem: &Problem, mut legs: Vec<Move>) -> Option<Haul> {
    let mut at = legs.first()?.start;
    for m in &mut legs {
        m.start = at;
        let dip = super::problem::target(problem.line, problem.spec(m.carrier).recipe, m.visit);
        at += m.phases(problem.line, &problem.state.book)?.total() + dip;
    }
    problem.haul_of(&legs)
}

/// The haul of the carrier of the first move, from there until the hoist lets go.
fn haul_from(problem: &Problem, moves: &[Move]) -> Option<Haul> {
    let own = moves.iter().filter(|m| m.carrier == moves[0].carrier);
    let mut legs: Vec<Move> = Vec::new();
    for m in own {
        legs.push(*m);
        if m.release {
            break;
        }
    }
    haul_of(problem, legs)
}

/// The hauls that the moves make, by their first move; `None` if a move cannot be made.
fn hauls_of(problem: &Problem, moves: &[Move]) -> Option<Vec<OnRail>> {
    let mut open: BTreeMap<CarrierId, Vec<(usize, Move)>> = BTreeMap::new();
    let mut seen = BTreeSet::new();
    let mut hauls = Vec::new();
    for (i, m) in moves.iter().enumerate() {
        let legs = open.entry(m.carrier).or_default();
        legs.push((i, *m));
        if m.release {
            let legs = std::mem::take(legs);
            let first = legs[0].0;
            let haul = haul_of(problem, legs.into_iter().map(|(_, m)| m).collect())?;
            let opens = seen.insert(m.carrier);
            hauls.push(OnRail { first, opens, hoist: haul.hoist, path: haul.path, total: haul.total });
        }
    }
    hauls.sort_by_key(|h| h.first);
    Some(hauls)
}

/// The moves at their earliest starts, in the same order; `None` if the order cannot hold under these rules.
pub(super) fn retime(problem: &Problem, moves: &[Move], rules: &Rules) -> Option<Vec<Move>> {
    let starts = Network::new(problem, moves, rules)?.earliest()?;
    let mut timed: Vec<Move> = moves.iter().zip(starts).map(|(m, start)| Move { start, ..*m }).collect();
    timed.sort_by_key(|m| m.start);
    Some(timed)
}
