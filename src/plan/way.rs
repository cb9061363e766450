//! One carrier's way out, exact for that carrier: everything already on the board stays where it is.
//!
//! Reachable arrival times are kept as intervals per tank and free gap and pushed forward step by step: the lift lies
//! in the window after the arrival, the haul in a gap of the hoist, the next stay in a gap of the tank. The earliest
//! arrival at an unload station is then traced back. Polynomial, and it finds a way if there is one.

use std::collections::BTreeMap;
use std::rc::Rc;

use super::board::{Board, Span};
use super::problem::{Haul, Leg, Problem, Start, Task, rank, target};
use super::reserve::Reserve;
use crate::ids::{HoistId, Id as _, RecipeId, TankId};
use crate::line::{Line, Visit};
use crate::schedule::Move;
use crate::units::{Dur, Time};

/// How far one carrier keeps away from the ends of its windows, by harm, worst first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(super) struct Leeway {
    /// Kept free before the end of a window, if that is more than the reserve of the rules.
    pub margin: [Dur; 4],
    /// Allowance past the end of a window.
    pub stretch: [Dur; 4],
    /// Allowance for the visit it is in now.
    pub late: Dur,
}

/// How strictly windows are taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Rules {
    /// Kept free after each haul and before the end of each window.
    pub reserve: Reserve,
}

impl Rules {
    /// The shortest and longest dwell of a task's visit under these rules.
    pub fn window(&self, line: &Line, task: &Task, visit: Visit) -> (Dur, Dur) {
        let recipe = task.recipe;
        let (min, max) = line.window(recipe, visit);
        if max.is_unlimited() {
            return (min, max);
        }
        let harm = rank(line.harm_over(recipe, visit));
        let stretch = task.leeway.stretch[harm];
        // A window too narrow for the reserve keeps what it has: half of it.
        let reserve = self.reserve.of(line, recipe, visit).max(task.leeway.margin[harm]);
        let reserve = reserve.min(Dur((max - min).0 / 2)).or_zero();
        let now_in = matches!(task.start, Start::Tank { visit: v, .. } if v == visit);
        let upper = max - reserve + stretch + if now_in { task.leeway.late } else { Dur::ZERO };
        (min.min(upper), upper)
    }
}

/// Arrival times that can be reached in one tank within one free gap.
#[derive(Debug, Clone, Copy)]
struct Seg {
    visit: Visit,
    tank: TankId,
    /// Arrivals.
    lo: Time,
    hi: Time,
    /// The tank must be clear by then.
    clear_by: Time,
    /// The segment it was reached from, and by which of that one's hauls.
    from: Option<(usize, usize)>,
}

/// More segments than this are never worth it; the search then goes on with what it has.
const MOST_SEGMENTS: usize = 4000;

/// A way out for one carrier: its hauls with their starts.
#[derive(Debug, Clone)]
pub(super) struct Way {
    pub hauls: Vec<(Haul, Time)>,
}

/// The earliest way out for `task` on `board`, if there is one. Queued tasks start within `release`.
pub(super) fn way_out(
    problem: &Problem,
    board: &Board,
    task: &Task,
    rules: &Rules,
    release: Span,
) -> Option<Way> {
    let mut search = Search {
        problem,
        board,
        task,
        rules,
        segs: Vec::new(),
        nodes: BTreeMap::new(),
        free: BTreeMap::new(),
    };
    search.begin(release);
    search.run();
    search.trace()
}

struct Search<'a, 'p> {
    problem: &'a Problem<'p>,
    board: &'a Board,
    task: &'a Task,
    rules: &'a Rules,
    segs: Vec<Seg>,
    /// Open segments by how far along the recipe they are.
    nodes: BTreeMap<(usize, TankId), Vec<usize>>,
    free: BTreeMap<(TankId, Visit), Vec<Span>>,
}

impl Search<'_, '_> {
    fn begin(&mut self, release: Span) {
        match &self.task.start {
            Start::Queued { ready, stations } => {
                for &tank in stations {
                    let lo = release.lo.max(*ready);
                    if lo <= release.hi {
                        self.open(Seg {
                            visit: Visit::Load,
                            tank,
                            lo,
                            hi: release.hi,
                            clear_by: Time::FAR,
                            from: None,
                        });
                    }
                }
            }
            &Start::Tank { tank, visit, since, .. } => {
                // It is there already: the tank is its own until it leaves.
                let clear_by = self
                    .free_spans(tank, visit)
                    .iter()
                    .find(|s| s.hi > self.problem.now.max(since))
                    .map_or(Time::FAR, |s| s.hi);
                self.open(Seg { visit, tank, lo: since, hi: since, clear_by, from: None });
            }
            &Start::Hook { from, leaves, lifted, .. } => {
                self.open(Seg {
                    visit: leaves,
                    tank: from,
                    lo: lifted,
                    hi: lifted,
                    clear_by: Time::FAR,
                    from: None,
                });
            }
            Start::Done => {}
        }
    }

    fn open(&mut self, seg: Seg) {
        if self.segs.len() >= MOST_SEGMENTS {
            return;
        }
        let node = self
            .nodes
            .entry((order_of(self.problem.line, self.task.recipe, seg.visit), seg.tank))
            .or_default();
        let covered = node.iter().any(|&i| {
            let s = &self.segs[i];
            s.visit == seg.visit && s.clear_by == seg.clear_by && s.lo <= seg.lo && seg.hi <= s.hi
        });
        if !covered {
            node.push(self.segs.len());
            self.segs.push(seg);
        }
    }

    fn run(&mut self) {
        while let Some((_, ids)) = self.nodes.pop_first() {
            for id in ids {
                self.push_on(id);
            }
        }
    }

    /// Every haul out of a segment, into every gap of the hoist and of the next tank.
    fn push_on(&mut self, id: usize) {
        let seg = self.segs[id];
        if seg.visit == Visit::Unload {
            return;
        }
        let hauls = self.hauls(id);
        for (h, haul) in hauls.iter().enumerate() {
            if haul.is_hold() && matches!(self.task.start, Start::Queued { .. }) {
                // A carrier that has not started is not started into a wait.
                continue;
            }
            for span in self.haul_starts(id, haul) {
                self.arrive(id, h, haul, span);
            }
        }
    }

    /// What the carrier may do next from a segment.
    fn hauls(&self, id: usize) -> Rc<Vec<Haul>> {
        let seg = self.segs[id];
        match self.task.start {
            Start::Hook { hoist, .. } if seg.from.is_none() => {
                self.problem.hauls_under_way(self.task, seg.visit, seg.tank, hoist)
            }
            _ => self.problem.hauls(self.task, seg.visit, seg.tank, self.attached(id)),
        }
    }

    /// The hoist that holds on to the carrier at a segment, if any.
    fn attached(&self, id: usize) -> Option<HoistId> {
        match self.task.start {
            Start::Tank { hooked, .. } if self.segs[id].from.is_none() => hooked,
            _ => None,
        }
    }

    /// The shortest and longest dwell at a segment that a haul may end. Where the sheet asks for none, the hoist still has to
    /// let go and take hold again, or make room for another one.
    fn dwells(&self, id: usize, haul: &Haul) -> (Dur, Dur) {
        let seg = self.segs[id];
        let (min, max) = self.rules.window(self.problem.line, self.task, seg.visit);
        let Some((from, h)) = seg.from else { return (min, max) };
        let before = &self.hauls(from)[h];
        let lag = if before.hoist == haul.hoist {
            before.total
        } else {
            Dur(self.problem.rail.lag(before.path, haul.path))
        };
        let turn = lag - before.to_down() + haul.first().phases.to_lift();
        let with_reserve = turn + self.rules.reserve.longest();
        (min.max(if with_reserve <= max { with_reserve } else { turn }), max)
    }

    fn haul_starts(&self, id: usize, haul: &Haul) -> Vec<Span> {
        let seg = self.segs[id];
        if let (Start::Hook { hoist, lifted, .. }, None) = (&self.task.start, seg.from) {
            // Under way already: it goes on, and a late one ends no earlier than now.
            let start = self.problem.under_way_from(*hoist, *lifted, haul);
            return if *hoist == haul.hoist { vec![Span { lo: start, hi: start }] } else { Vec::new() };
        }
        let (min, max) = self.dwells(id, haul);
        let first = haul.first();
        let out = self.problem.state.tanks[seg.tank]
            .until
            .min(seg.clear_by - (first.phases.to_clear() - first.phases.to_lift()));
        let lift = Span { lo: seg.lo + min, hi: (seg.hi + max).min(out) };
        // A carrier is not touched before it is racked.
        let racked = match &self.task.start {
            Start::Queued { ready, .. } if seg.from.is_none() => *ready,
            _ => Time::PAST,
        };
        let within = Span {
            lo: (lift.lo - first.phases.to_lift()).max(self.problem.now).max(racked),
            hi: lift.hi - first.phases.to_lift(),
        };
        if within.lo > within.hi {
            return Vec::new();
        }
        let hooked = self.attached(id).is_some();
        let reserve = if hooked { Dur::ZERO } else { self.rules.reserve.longest() };
        let gaps = self.board.starts(self.problem, haul, reserve, within);
        // While the hoist is attached nothing else can come first.
        if hooked { gaps.into_iter().take(1).collect() } else { gaps }
    }

    /// Narrows the starts of a haul to those whose dips and last stay find their tanks free, and opens what is left.
    fn arrive(&mut self, id: usize, h: usize, haul: &Haul, starts: Span) {
        let mut spans = vec![starts];
        for pair in haul.legs.windows(2) {
            let (into, out) = (&pair[0], &pair[1]);
            let free = self.free_spans(into.to, into.visit);
            let lift_in = into.offset + into.phases.to_lift();
            let clear_out = out.offset + out.phases.to_clear();
            let from = self.problem.state.tanks[into.to].from;
            spans = spans
                .iter()
                .flat_map(|s| free.iter().map(move |f| (s, f)))
                .map(|(s, f)| Span {
                    lo: s.lo.max(f.lo - lift_in).max(from - (into.offset + into.phases.to_down())),
                    hi: s.hi.min(f.hi - clear_out),
                })
                .filter(|s| s.lo <= s.hi)
                .collect();
        }
        let last = haul.last();
        let lift = last.offset + last.phases.to_lift();
        let down = haul.to_down();
        let from = self.problem.state.tanks[last.to].from;
        let (min, _) = self.rules.window(self.problem.line, self.task, last.visit);
        let stays = last.visit == Visit::Unload;
        for gap in self.free_spans(last.to, last.visit) {
            // What ends in a bath has it for good.
            if stays && gap.hi < Time::FAR {
                continue;
            }
            for s in &spans {
                let lo = s.lo.max(gap.lo - lift).max(from - down);
                let hi = s.hi.min(gap.hi - down - min);
                if lo <= hi {
                    let seg = Seg {
                        visit: last.visit,
                        tank: last.to,
                        lo: lo + down,
                        hi: hi + down,
                        clear_by: gap.hi,
                        from: Some((id, h)),
                    };
                    self.open(seg);
                }
            }
        }
    }

    fn free_spans(&mut self, tank: TankId, visit: Visit) -> Vec<Span> {
        let (problem, board, carrier) = (self.problem, self.board, self.task.carrier);
        self.free
            .entry((tank, visit))
            .or_insert_with(|| board.free(problem, tank, carrier, problem.power(carrier, visit)))
            .clone()
    }

    /// The earliest arrival at an unload station, traced back to where the carrier is.
    fn trace(&self) -> Option<Way> {
        let (mut id, end) = self
            .segs
            .iter()
            .enumerate()
            .filter(|(_, s)| s.visit == Visit::Unload)
            .min_by_key(|(i, s)| (s.lo, *i))?;
        let mut at = end.lo;
        let mut hauls = Vec::new();
        while let Some((from, h)) = self.segs[id].from {
            let before = self.segs[from];
            let haul = self.hauls(from)[h].clone();
            let start = at - haul.to_down();
            let lift = start + haul.first().phases.to_lift();
            let (min, max) = self.dwells(from, &haul);
            hauls.push((haul, start));
            let aim = lift - target(self.problem.line, self.task.recipe, before.visit);
            let (lo, hi) = (before.lo.max(lift - max), before.hi.min(lift - min));
            at = aim.max(lo).min(hi);
            id = from;
        }
        hauls.reverse();
        Some(Way { hauls })
    }
}

/// How far along its recipe a visit is: later visits have larger numbers.
pub(super) fn order_of(line: &Line, recipe: RecipeId, visit: Visit) -> usize {
    match visit {
        Visit::Load => 0,
        Visit::Stray { resume } => 2 * resume.ix(),
        Visit::Step(n) => 2 * n.ix() + 1,
        Visit::Hold(n) => 2 * n.ix() + 2,
        Visit::Unload => 2 * line.recipes[recipe].steps.len() + 3,
    }
}

impl Way {
    /// The moves of this way.
    pub fn moves(&self, task: &Task) -> Vec<Move> {
        self.hauls.iter().flat_map(|(haul, start)| haul.moves(task.carrier, *start)).collect()
    }

    /// Takes everything this way needs from the board.
    pub fn take(&self, problem: &Problem, board: &mut Board, task: &Task) {
        let carrier = task.carrier;
        for (haul, start) in &self.hauls {
            board.take_hoist(haul, *start, carrier);
        }
        let legs: Vec<(&Leg, Time)> = self
            .hauls
            .iter()
            .flat_map(|(haul, start)| haul.legs.iter().map(move |leg| (leg, *start + leg.offset)))
            .collect();
        let lift = |(leg, start): &(&Leg, Time)| *start + leg.phases.to_lift();
        let clear = |(leg, start): &(&Leg, Time)| *start + leg.phases.to_clear();
        if let (Start::Tank { tank, visit, since, .. }, Some(first)) = (&task.start, legs.first()) {
            board.take_tank(*tank, Span { lo: *since, hi: clear(first) }, carrier);
            if let Some(watts) = problem.power(carrier, *visit) {
                board.take_power(Span { lo: *since, hi: lift(first) }, carrier, watts);
            }
        }
        if let Some(last) = legs.last() {
            // A station has room for all; a bath that somebody is parked in has not.
            board.take_tank(last.0.to, Span { lo: lift(last), hi: Time::FAR }, carrier);
        }
        for pair in legs.windows(2) {
            let (into, out) = (&pair[0], &pair[1]);
            board.take_tank(into.0.to, Span { lo: lift(into), hi: clear(out) }, carrier);
            if let Some(watts) = problem.power(carrier, into.0.visit) {
                board.take_power(
                    Span { lo: into.1 + into.0.phases.to_down(), hi: lift(out) },
                    carrier,
                    watts,
                );
            }
        }
    }
}

/// What a carrier on the line takes while nobody has planned its way yet: its tank, until it can be somewhere else at the
/// earliest, and `margin` longer. Nobody is lifted for that tank before, because the hoist is at work.
pub(super) fn take_until_earliest(problem: &Problem, board: &mut Board, task: &Task, margin: Dur) {
    let &Start::Tank { tank, visit, since, hooked } = &task.start else { return };
    let (min, _) = problem.line.window(task.recipe, visit);
    let ready = (since + min).max(problem.now);
    let away = |haul: &Haul| {
        let h = &problem.state.hoists[haul.hoist];
        let travel = problem.line.empty_travel(haul.hoist, h.at, tank)?;
        let there = problem.free_from(haul.hoist).max(problem.now) + travel;
        Some(there.max(ready - haul.first().phases.to_lift()) + haul.total)
    };
    let hauls = problem.hauls(task, visit, tank, hooked);
    let hi = hauls.iter().filter_map(away).min().unwrap_or(ready) + margin;
    board.take_tank(tank, Span { lo: since, hi }, task.carrier);
    if let Some(watts) = problem.power(task.carrier, visit) {
        board.take_power(Span { lo: since, hi: ready }, task.carrier, watts);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ids::CarrierId;
    use crate::plan::basis::Basis;
    use crate::shift::{Place, State};

    /// Both seal tanks of the demo are taken until a second after the window of the rinse before them closes, so that the
    /// load has to wait in standby, where the sheet asks for no dwell.
    #[test]
    fn a_hoist_lets_go_before_it_takes_hold_again() {
        let (line, recipes, orders) = crate::files::demo();
        let line = crate::files::read_line(line, recipes).unwrap().value;
        let book = crate::files::read_orders(orders, &line, None).unwrap().value.book;
        let mut state = State::opened(&line, book);
        let tank = |name: &str| line.tanks.iter().find(|(_, t)| t.name == name).unwrap().0;
        let visit = Visit::Step(crate::ids::StepNo::at(10));
        let (carrier, other) = (CarrierId::at(0), CarrierId::at(1));
        let (_, max) = line.window(state.book.carriers[carrier].recipe, visit);
        // Past the heating of the seals.
        let now = Time::from_secs(3 * 3600);
        let closes = now + Dur::from_mins(5);
        state.carriers[carrier].place =
            Place::InTank { tank: tank("T17"), visit, since: closes - max, hooked: None };
        let basis = Basis::new(&line, &state, now, &crate::plan::Settings::default(), |_| false);
        let problem = Problem::new(&basis, now);
        let mut board = Board::new(&problem);
        for seal in ["T24", "T25"] {
            board.take_tank(tank(seal), Span { lo: now, hi: closes + Dur::from_secs(1) }, other);
        }
        let rules = Rules { reserve: Reserve::NONE };
        let task = problem.task_of(carrier).unwrap();
        let way = way_out(&problem, &board, task, &rules, Span { lo: now, hi: now }).unwrap();
        assert!(way.hauls[0].0.is_hold(), "it was to wait");
        for pair in way.hauls.windows(2) {
            let ((before, start), (_, next)) = (&pair[0], &pair[1]);
            assert!(
                *next >= *start + before.total,
                "at {next} the hoist is busy until {}",
                *start + before.total
            );
        }
    }
}
