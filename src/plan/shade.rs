//! Like dwell for the carriers of one order in anodise and dye: colour is the product.
//!
//! The order of a plan stays, and nothing that counts for more gets worse: no window is used further than it is or than
//! its whole margin allows, promises and the finish are kept, and no move gives up the last [`PACE`] of what it could wait.
//! Within that, the stays of one lot (the carriers of one order, one step) are held to one interval of dwells in the timing
//! network, as narrow as can be found, then as near to the target. What is over or under way counts as it is. The interval
//! of the plan in force is kept unless another gains more than [`WORTH`], so that the calls do not wander.

use std::collections::BTreeMap;

use super::explain::remaining;
use super::margin::longest_with_all;
use super::problem::{Problem, Start, target};
use super::timing::Network;
use super::way::Rules;
use crate::ids::{CarrierId, OrderId, StepNo};
use crate::line::{Line, Phases, StageKind, Visit};
use crate::schedule::Move;
use crate::shift::{Place, State};
use crate::units::{Dur, Time};

/// Kept of every move's float, for people.
const PACE: Dur = Dur::from_secs(30);

/// Dwells are looked for to this fineness.
const GRAIN: Dur = Dur::from_secs(5);

/// What another interval than that of the plan in force must gain.
const WORTH: Dur = Dur::from_secs(20);

/// Longer than any dwell: no limit, and far from overflow.
const ANY: Dur = Dur::from_mins(60 * 24 * 365);

/// The carriers of one order in one step.
pub(super) type Lot = (OrderId, StepNo);

/// The lot a stay belongs to, if its step makes colour.
pub(super) fn lot_of(line: &Line, state: &State, carrier: CarrierId, visit: Visit) -> Option<Lot> {
    let Visit::Step(n) = visit else { return None };
    let spec = &state.book.carriers[carrier];
    let kind = line.stages[line.step(spec.recipe, n).stage].kind;
    matches!(kind, StageKind::Anodise | StageKind::Dye).then_some((spec.order, n))
}

/// The dwells of a carrier that are over: a carrier that was put back stayed once, not twice. `goes_on` if what hangs will
/// be put back.
pub(super) fn over(state: &State, carrier: CarrierId, goes_on: bool) -> impl Iterator<Item = (Visit, Dur)> {
    let c = &state.carriers[carrier];
    let open = match c.place {
        Place::InTank { visit, .. } => Some(visit),
        Place::OnHook { leaves, .. } => Some(leaves).filter(|_| goes_on),
        _ => None,
    };
    let last = c.stays.len();
    let mut seen = 0;
    c.stays.chunk_by(|a, b| a.visit == b.visit).filter_map(move |stays| {
        seen += stays.len();
        let visit = stays[0].visit;
        let dwell = stays.iter().map(|s| (s.to - s.from).or_zero()).sum();
        (seen < last || open != Some(visit)).then_some((visit, dwell))
    })
}

/// The moves, in their order, later where that makes the dwells of a lot more alike. `moves` hold under the rules; they
/// come back as they are if they do not, or if nothing is gained.
pub(super) fn even(problem: &Problem, rules: &Rules, moves: Vec<Move>) -> Vec<Move> {
    let colours = |m: &Move| lot_of(problem.line, problem.state, m.carrier, m.leaves).is_some();
    if !moves.iter().any(colours) {
        return moves;
    }
    let stands = is_in_force(problem, &moves);
    let Some(mut evening) = Evening::new(problem, rules, &moves) else { return moves };
    let starts = evening.run(stands);
    // The network starts each move as soon as it may; the moves may have been more alike.
    if evening.spread(&starts) > evening.spread(&evening.given) {
        return moves;
    }
    moves.into_iter().zip(starts).map(|(m, start)| Move { start, ..m }).collect()
}

/// True if the moves are what is left of the plan in force, in its order.
fn is_in_force(problem: &Problem, moves: &[Move]) -> bool {
    let Some(plan) = &problem.state.plan else { return false };
    let left = remaining(problem.state, plan);
    let same = |(a, b): (&Move, &Move)| Move { start: b.start, ..*a } == *b;
    left.moves.len() == moves.len() && left.moves.iter().zip(moves).all(same)
}

/// A stay that is not over, between two moves of the network, or from an instant on.
struct Stay {
    carrier: CarrierId,
    visit: Visit,
    /// Where it begins and ends, with the offsets from the start of the move.
    from: (usize, Dur),
    to: (usize, Dur),
    /// Longest dwell that costs nothing.
    most: Dur,
}

impl Stay {
    fn dwell(&self, at: &[Time]) -> Dur {
        at[self.to.0] + self.to.1 - (at[self.from.0] + self.from.1)
    }
    /// The ties from its beginning to its end and back, for dwells of this interval.
    fn gaps(&self, (least, most): (Dur, Dur)) -> [Dur; 2] {
        let shift = self.from.1 - self.to.1;
        [shift + least, -(shift + most.min(self.most))]
    }
}

/// The stays of a lot.
struct Group {
    /// Shortest and longest dwell of those that are over.
    over: Option<(Dur, Dur)>,
    target: Dur,
    stays: Vec<Stay>,
    /// The ties of each stay.
    ties: Vec<[usize; 2]>,
    /// What they are held to.
    held: (Dur, Dur),
}

impl Group {
    const FREE: (Dur, Dur) = (Dur::ZERO, ANY);

    fn hull(&self, at: &[Time]) -> (Dur, Dur) {
        hull(self.stays.iter().map(|s| s.dwell(at)))
    }

    fn spread(&self, at: &[Time]) -> Dur {
        let (least, most) = self.with_over(self.hull(at));
        most - least
    }

    fn with_over(&self, (least, most): (Dur, Dur)) -> (Dur, Dur) {
        self.over.map_or((least, most), |over| (least.min(over.0), most.max(over.1)))
    }
}

fn hull(dwells: impl Iterator<Item = Dur>) -> (Dur, Dur) {
    dwells.fold((ANY, Dur::ZERO), |(least, most), d| (least.min(d), most.max(d)))
}

struct Evening<'p, 's> {
    problem: &'p Problem<'s>,
    net: Network,
    /// Starts as the moves have them.
    given: Vec<Time>,
    /// Earliest starts with no lot held to anything.
    earliest: Vec<Time>,
    groups: Vec<Group>,
    /// Starts with all lots held to what they are held to.
    at: Vec<Time>,
}

impl<'p, 's> Evening<'p, 's> {
    fn new(problem: &'p Problem<'s>, rules: &Rules, moves: &[Move]) -> Option<Self> {
        let (line, state) = (problem.line, problem.state);
        let phases: Vec<Phases> = moves.iter().map(|m| m.phases(line, &state.book)).collect::<Option<_>>()?;
        let mut net = Network::new(problem, moves, rules)?;
        let opening = net.opening();
        let mut given: Vec<Time> = moves.iter().map(|m| m.start).collect();
        given.push(Time::ZERO);
        let mut lots: BTreeMap<Lot, Group> = BTreeMap::new();
        let mut order: Vec<Lot> = Vec::new();
        for stay in stays(problem, moves, &phases, opening) {
            let most = stay.most.max(stay.dwell(&given));
            let stay = Stay { most, ..stay };
            let [least, most] = stay.gaps(Group::FREE);
            let lot = lot_of(line, state, stay.carrier, stay.visit);
            let most = net.tie(stay.to.0, stay.from.0, most);
            let Some(lot) = lot else { continue };
            let least = net.tie(stay.from.0, stay.to.0, least);
            let group = lots.entry(lot).or_insert_with(|| {
                order.push(lot);
                let aim = target(line, state.book.carriers[stay.carrier].recipe, stay.visit);
                Group { over: None, target: aim, stays: Vec::new(), ties: Vec::new(), held: Group::FREE }
            });
            group.stays.push(stay);
            group.ties.push([least, most]);
        }
        for carrier in state.carriers.ids() {
            let goes_on = moves.iter().find(|m| m.carrier == carrier).is_some_and(Move::is_put_back);
            for (visit, dwell) in over(state, carrier, goes_on) {
                let lot = lot_of(line, state, carrier, visit);
                if let Some(group) = lot.and_then(|lot| lots.get_mut(&lot)) {
                    group.over = Some(group.with_over((dwell, dwell)));
                }
            }
        }
        keep_ends(problem, &mut net, moves, &phases);
        if !problem.rail.is_alone() {
            // People were told one order of all moves, not one for each hoist.
            for next in 1..moves.len() {
                net.tie(next - 1, next, Dur::ZERO);
            }
        }
        let earliest = net.earliest()?;
        let (latest, _) = net.latest();
        for (i, (first, last)) in earliest.iter().zip(latest).enumerate() {
            net.not_after(i, (last - PACE).max(*first));
        }
        let groups = order.iter().filter_map(|lot| lots.remove(lot)).collect();
        Some(Self { problem, net, given, at: earliest.clone(), earliest, groups })
    }

    fn run(&mut self, stands: bool) -> Vec<Time> {
        // Mostly the order stands and everything can be as it was: it was looked for when that plan was made.
        if stands && self.stay_as_shown() {
            return self.at.clone();
        }
        self.stay();
        for g in 0..self.groups.len() {
            self.narrow(g);
        }
        for g in 0..self.groups.len() {
            self.aim(g);
        }
        self.at.clone()
    }

    /// Holds all lots to what the plan in force gives them at once. False, and nothing held, if that does not go.
    fn stay_as_shown(&mut self) -> bool {
        let shown: Option<Vec<(Dur, Dur)>> = (0..self.groups.len()).map(|g| self.shown(g)).collect();
        let Some(shown) = shown else { return false };
        for (g, held) in shown.into_iter().enumerate() {
            self.hold(g, held);
        }
        if let Some(at) = self.starts()
            && self.spread(&at) <= self.spread(&self.earliest)
        {
            self.at = at;
            return true;
        }
        for g in 0..self.groups.len() {
            self.hold(g, Group::FREE);
        }
        false
    }

    /// Holds the lots to what the plan in force gives them, as far as that goes.
    fn stay(&mut self) {
        for g in 0..self.groups.len() {
            if let Some(shown) = self.shown(g) {
                self.take(g, shown, |_, _| true);
            }
        }
        if self.spread(&self.at) > self.spread(&self.earliest) {
            for g in 0..self.groups.len() {
                self.take(g, Group::FREE, |_, _| true);
            }
        }
    }

    /// What a change to a lot must gain for each of its stays.
    fn worth(&self, g: usize) -> Dur {
        if self.groups[g].held == Group::FREE { Dur(1) } else { WORTH }
    }

    fn spread(&self, at: &[Time]) -> Dur {
        self.groups.iter().map(|g| g.spread(at)).sum()
    }

    fn off_target(&self, at: &[Time]) -> Dur {
        let off = |g: &Group| g.stays.iter().map(|s| Dur((s.dwell(at) - g.target).0.abs())).sum::<Dur>();
        self.groups.iter().map(off).sum()
    }

    /// Holds a lot to an interval in the network.
    fn hold(&mut self, g: usize, held: (Dur, Dur)) {
        let group = &mut self.groups[g];
        group.held = held;
        for (stay, ties) in group.stays.iter().zip(&group.ties) {
            for (tie, gap) in ties.iter().zip(stay.gaps(held)) {
                self.net.set(*tie, gap);
            }
        }
    }

    /// Earliest starts with every lot held to what it is held to.
    fn starts(&self) -> Option<Vec<Time>> {
        let mut at = self.earliest.clone();
        let ends = self.groups.iter().filter(|g| g.held != Group::FREE).flat_map(|g| &g.stays);
        let holds = self.net.push_from(&mut at, ends.flat_map(|s| [s.from.0, s.to.0]));
        holds.then_some(at)
    }

    /// Holds a lot to an interval for good if that is possible and worth it.
    fn take(&mut self, g: usize, held: (Dur, Dur), worth: impl Fn(&Self, &[Time]) -> bool) -> bool {
        let before = self.groups[g].held;
        self.hold(g, held);
        if let Some(at) = self.starts()
            && worth(self, &at)
        {
            self.at = at;
            return true;
        }
        self.hold(g, before);
        false
    }

    /// Makes the interval of a lot as narrow as is found, if that is worth it.
    fn narrow(&mut self, g: usize) {
        // What lies between dwells that are over makes nothing worse.
        let least = self.groups[g].over.map_or(Dur::ZERO, |(least, most)| most - least);
        let worth = self.worth(g);
        if self.groups[g].spread(&self.at) < least + worth {
            return;
        }
        let (held, at) = (self.groups[g].held, self.at.clone());
        self.narrowest(g, least);
        if self.spread(&self.at) + worth > self.spread(&at) {
            self.hold(g, held);
            self.at = at;
        }
    }

    /// Holds a lot to the narrowest interval that is found; no more is looked for than the least spread there can be.
    fn narrowest(&mut self, g: usize, least_spread: Dur) {
        let better = |e: &Self, at: &[Time]| e.spread(at) <= e.spread(&e.at);
        let (low, high) = self.groups[g].with_over(self.groups[g].hull(&self.at));
        let aim = self.groups[g].target;
        // All alike is best; near the target, or where the longest is.
        let ones = match self.groups[g].over {
            Some((least, most)) => [aim.max(least).min(most), most],
            None => [aim, high],
        };
        for one in ones {
            if self.take(g, (one, one), better) && self.groups[g].spread(&self.at) <= least_spread {
                return;
            }
        }
        // Up from below.
        let mut fails = high;
        let mut holds = low;
        while fails - holds > GRAIN {
            let middle = Dur(i64::midpoint(holds.0, fails.0));
            if self.take(g, (middle, high), better) {
                holds = middle;
            } else {
                fails = middle;
            }
        }
        // Down from above.
        let (low, mut fails, mut holds) = (holds, holds, high);
        while holds - fails > GRAIN {
            let middle = Dur(i64::midpoint(holds.0, fails.0));
            if self.take(g, (low, middle), better) {
                holds = middle;
            } else {
                fails = middle;
            }
        }
    }

    /// Brings a lot nearer to its target as a whole, where no lot spreads for it.
    fn aim(&mut self, g: usize) {
        let (least, most) = self.groups[g].hull(&self.at);
        let middle = Dur(i64::midpoint(least.0, most.0));
        let whole = self.groups[g].target - middle;
        let gain = self.worth(g) * self.groups[g].stays.len() as i64;
        let nearer = |e: &Self, at: &[Time]| {
            e.spread(at) <= e.spread(&e.at) && e.off_target(at) + gain <= e.off_target(&e.at)
        };
        let sign = whole.0.signum();
        let (mut holds, mut fails) = (0, whole.0.abs() + GRAIN.0);
        let mut step = whole.0.abs();
        while fails - holds > GRAIN.0 && step >= WORTH.0 {
            let by = Dur(sign * step);
            if self.take(g, (least + by, most + by), nearer) {
                holds = step;
            } else {
                fails = step;
            }
            step = i64::midpoint(holds, fails);
        }
    }

    /// The interval the plan in force gives the stays of a lot; `None` if it does not know them all.
    fn shown(&self, g: usize) -> Option<(Dur, Dur)> {
        let (line, state) = (self.problem.line, self.problem.state);
        let plan = state.plan.as_ref()?;
        let find = |carrier, is: &dyn Fn(&Move) -> bool| {
            let m = plan.of(carrier).find(|m| is(m))?;
            Some((m.start, m.phases(line, &state.book)?))
        };
        let dwells: Option<Vec<Dur>> = self.groups[g]
            .stays
            .iter()
            .map(|s| {
                let (lift, out) = find(s.carrier, &|m| m.leaves == s.visit && !m.is_put_back())?;
                let since = match state.carriers[s.carrier].place {
                    Place::InTank { visit, since, .. } if visit == s.visit => since,
                    _ => {
                        let (start, into) = find(s.carrier, &|m| m.visit == s.visit)?;
                        start + into.to_down()
                    }
                };
                Some(lift + out.to_lift() - since)
            })
            .collect();
        Some(hull(dwells?.into_iter()))
    }
}

/// The stays that the moves end, with what their windows allow.
fn stays(problem: &Problem, moves: &[Move], phases: &[Phases], opening: usize) -> Vec<Stay> {
    let mut found = Vec::new();
    for task in &problem.tasks {
        let mut begins = match task.start {
            Start::Tank { since, .. } => Some((opening, since - Time::ZERO)),
            _ => None,
        };
        for (i, m) in moves.iter().enumerate().filter(|(_, m)| m.carrier == task.carrier) {
            if let Some(from) = begins {
                let most = longest_with_all(problem.line, task.recipe, m.leaves).min(ANY);
                let to = (i, phases[i].to_lift());
                found.push(Stay { carrier: m.carrier, visit: m.leaves, from, to, most });
            }
            let down = Time::ZERO + phases[i].to_down();
            begins = Some((i, problem.counts_from(m.carrier, m.leaves, m.visit, down) - Time::ZERO));
        }
    }
    found.sort_by_key(|s| s.to.0);
    found
}

/// No carrier ends later than it does, unless that is before the end of all and before it is due.
fn keep_ends(problem: &Problem, net: &mut Network, moves: &[Move], phases: &[Phases]) {
    let ends: Vec<Time> = moves.iter().zip(phases).map(|(m, p)| m.start + p.total()).collect();
    let Some(finish) = ends.iter().max() else { return };
    for task in &problem.tasks {
        if let Some(last) = moves.iter().rposition(|m| m.carrier == task.carrier) {
            let free = if moves[last].visit == Visit::Unload { *finish } else { Time::PAST };
            let end = ends[last].max(free.min(task.due.unwrap_or(Time::FAR)));
            net.not_after(last, end - phases[last].total());
        }
    }
}
