//! From nothing, or from the plan in force, to moves for every carrier: first those on the line, then the queue.
//!
//! 1. The plan in force is kept if its order still holds; only times shift. A carrier that is not where the plan had it,
//!    or whose tank has gone out of service, is put in anew.
//! 2. If not, the order is kept for the carriers on the line and the queue is inserted anew behind them.
//! 3. If that fails, the carriers on the line are inserted one by one, the one that found no way moving to the front.
//! 4. If no order keeps all windows, windows are stretched, least harm first, until a way exists; those that did not need
//!    it are held to their windows again.
//!
//! What holds is then improved for a counted while. Each step is tried with all the margin there should be before the end
//! of windows, then with less. A queued carrier is only ever inserted whole, windows and margins kept: that is gate release.

use std::cmp::Reverse;

use super::Settings;
use super::board::{Board, Span};
use super::margin::{Care, careful};
use super::problem::{Haul, Leg, Problem, Start, Task};
use super::search::{self, Budget};
use super::timing::retime;
use super::way::{Rules, Way, order_of, take_until_earliest, way_out};
use crate::ids::{CarrierId, TankId};
use crate::line::{Role, Visit};
use crate::rng::Rng;
use crate::schedule::Move;
use crate::units::{Dur, Time};

/// How far ahead a release is looked for before the carrier is left in the queue.
const HORIZON: Dur = Dur::from_secs(72 * 3600);

/// Steps by which windows are stretched when they cannot all be kept.
const STRETCHES: [Dur; 8] = [
    Dur::from_secs(10),
    Dur::from_secs(30),
    Dur::from_mins(1),
    Dur::from_mins(3),
    Dur::from_mins(10),
    Dur::from_mins(30),
    Dur::from_mins(120),
    Dur::from_mins(1440),
];

/// Trial insertions a first plan may take for each unit of effort, and those a plan that goes on from another one may
/// take, when nothing has changed and when something has.
const TRIES_PER_EFFORT: u64 = 500;
const TRIES_TO_POLISH: u64 = 10;
const TRIES_TO_REPAIR: u64 = 60;

/// So many queued carriers are planned again whenever anything happens; those behind them keep their place or wait.
const NEAR: usize = 8;

/// A plan that is better by less than this is no reason to call something else.
const WORTH_A_CHANGE: Dur = Dur::from_secs(60);

/// A call whose hoist should set out within this time stays.
const SET_OUT: Dur = Dur::from_secs(45);

/// Moves for every carrier that a way was found for.
pub(super) fn moves(problem: &Problem, settings: &Settings) -> Vec<Move> {
    let Some((kept, lost)) = remaining(problem) else { return first(problem, settings) };
    let (problem, rules, held) = hold(problem, settings, &kept, &lost);
    let queue = queue(&problem);
    let near = |carrier: CarrierId| {
        let task = problem.tasks.iter().position(|t| t.carrier == carrier);
        task.is_some_and(|i| is_live(&problem.tasks[i]) || queue.iter().take(NEAR).any(|q| *q == i))
    };
    let repaired = !matches!(held, Held::All(_));
    let (now, far): (Vec<Move>, Vec<Move>) = match held {
        Held::All(moves) => moves.into_iter().partition(|m| near(m.carrier)),
        Held::Live(moves) => (moves, Vec::new()),
    };
    let count = queue.len().min(NEAR);
    let moves = with_queue(&problem, now, &queue[..count], &rules);
    let tries = if repaired { TRIES_TO_REPAIR } else { TRIES_TO_POLISH };
    let moves = better(&problem, moves, &rules, settings, tries);
    with_far(&problem, moves, far, &rules)
}

/// A plan when nobody has been promised anything yet.
fn first(problem: &Problem, settings: &Settings) -> Vec<Move> {
    let (problem, rules, held) = hold(problem, settings, &[], &live_by_deadline(problem, &problem.tasks));
    let (Held::All(live) | Held::Live(live)) = held;
    let moves = with_queue(&problem, live, &queue(&problem), &rules);
    let mut budget = Budget { tries: u64::from(settings.effort) * TRIES_PER_EFFORT, stop: &mut || false };
    search::improve(&problem, &moves, &rules, 0, settings.seed, &mut budget).unwrap_or(moves)
}

/// The moves of a plan that still hold.
enum Held {
    /// Of every carrier in it.
    All(Vec<Move>),
    /// Of the carriers on the line.
    Live(Vec<Move>),
}

/// The moves after a counted search, if it found something that is worth a change.
fn better(
    problem: &Problem,
    moves: Vec<Move>,
    rules: &Rules,
    settings: &Settings,
    tries_per_effort: u64,
) -> Vec<Move> {
    let tries = u64::from(settings.effort) * tries_per_effort;
    let frozen = usize::from(moves.first().is_some_and(|m| m.start - problem.now < SET_OUT));
    // Another order of tries at every event.
    let seed = settings.seed.wrapping_add(problem.state.seq.0);
    let mut budget = Budget { tries, stop: &mut || false };
    let Some(found) = search::improve(problem, &moves, rules, frozen, seed, &mut budget) else {
        return moves;
    };
    let gain = worth(problem, &moves) - worth(problem, &found);
    if gain >= WORTH_A_CHANGE.0 && power_holds(problem, &found) { found } else { moves }
}

/// Lateness by weight and the ends of all carriers, summed: less is better.
fn worth(problem: &Problem, moves: &[Move]) -> i64 {
    let ends = moves.iter().filter(|m| m.visit == Visit::Unload);
    ends.map(|m| {
        let late = problem.task_of(m.carrier).and_then(|t| t.due).map_or(Dur::ZERO, |due| m.start - due);
        late.or_zero().0 + (m.start - problem.now).0
    })
    .sum()
}

/// The moves with those of carriers further back in the queue, if they are in nobody's way.
fn with_far(problem: &Problem, moves: Vec<Move>, far: Vec<Move>, rules: &Rules) -> Vec<Move> {
    if far.is_empty() {
        return moves;
    }
    let mut all = moves.clone();
    all.extend(far);
    all.sort_by_key(|m| m.start);
    let Some(timed) = first_that_holds(problem, &all, rules) else { return moves };
    let end = |of: &[Move], carrier| of.iter().rev().find(|m| m.carrier == carrier).map(|m| m.start);
    let kept = moves.iter().filter(|m| m.visit == Visit::Unload);
    let undelayed =
        kept.clone().all(|m| end(&timed, m.carrier).is_some_and(|t| t - m.start < Dur::from_secs(1)));
    if undelayed && stays_apart(problem, &timed) { timed } else { moves }
}

/// True if no tank is promised to two carriers at a time.
fn stays_apart(problem: &Problem, moves: &[Move]) -> bool {
    let mut inside: Vec<(TankId, CarrierId)> = Vec::new();
    for task in &problem.tasks {
        if let Start::Tank { tank, .. } = task.start {
            inside.push((tank, task.carrier));
        }
    }
    moves.iter().all(|m| {
        inside.retain(|(_, c)| *c != m.carrier);
        let t = &problem.line.tanks[m.to];
        let free = matches!(t.role, Role::Station { .. })
            || inside.iter().filter(|(tank, _)| *tank == m.to).count() < usize::from(t.capacity);
        inside.push((m.to, m.carrier));
        free
    })
}

/// The moves of the plan in force that are still to come, and the carriers on the line that it does not bring out from
/// where they are. `None` without a plan.
fn remaining(problem: &Problem) -> Option<(Vec<Move>, Vec<usize>)> {
    let plan = problem.state.plan.as_ref()?;
    let mut kept = super::explain::remaining(problem.state, plan).moves;
    let mut lost = Vec::new();
    for (i, task) in problem.tasks.iter().enumerate() {
        let first = kept.iter().find(|m| m.carrier == task.carrier);
        let fits = match (&task.start, first) {
            (Start::Queued { .. } | Start::Done, _) => true,
            (_, None) => false,
            (Start::Tank { hooked, .. }, Some(first)) => first.attach == hooked.is_none(),
            (Start::Hook { hoist, leaves, .. }, Some(first)) => {
                first.hoist == *hoist && (first.is_put_back() || problem.is_done(task.carrier, *leaves))
            }
        };
        if !fits || kept.iter().any(|m| m.carrier == task.carrier && is_shut_out(problem, m)) {
            kept.retain(|m| m.carrier != task.carrier);
            if is_live(task) {
                lost.push(i);
            }
        }
    }
    kept.sort_by_key(|m| m.start);
    // What a hoist holds on to comes first, whatever was planned.
    let held = |m: &Move| {
        problem.tasks.iter().any(|t| {
            t.carrier == m.carrier
                && match t.start {
                    Start::Hook { leaves, .. } => m.leaves == leaves,
                    Start::Tank { visit, hooked, .. } => hooked.is_some() && m.leaves == visit,
                    Start::Queued { .. } | Start::Done => false,
                }
        })
    };
    kept.sort_by_key(|m| !held(m));
    Some((kept, lost))
}

/// True if the tank a move was planned into will not be there in time.
fn is_shut_out(problem: &Problem, m: &Move) -> bool {
    let down = m.phases(problem.line, &problem.state.book).map_or(Dur::ZERO, |p| p.to_down());
    let station = matches!(problem.line.tanks[m.to].role, Role::Station { .. });
    !station && problem.state.tanks[m.to].from > (m.start + down).max(problem.now) + Dur::from_secs(60)
}

fn first_that_holds(problem: &Problem, moves: &[Move], rules: &Rules) -> Option<Vec<Move>> {
    retime(problem, moves, rules).filter(|timed| power_holds(problem, timed))
}

/// What can be kept of a plan, with as much care as possible: the problem as it was taken, its rules, and the moves.
fn hold<'a>(
    problem: &Problem<'a>,
    settings: &Settings,
    kept: &[Move],
    lost: &[usize],
) -> (Problem<'a>, Rules, Held) {
    let kept_live: Vec<Move> =
        kept.iter().filter(|m| problem.task_of(m.carrier).is_some_and(is_live)).copied().collect();
    // The order of those that are where the plan has them, the others put in between.
    let in_order = |problem: &Problem, rules: &Rules| {
        let timed = first_that_holds(problem, &kept_live, rules)?;
        if lost.is_empty() {
            return Some(timed);
        }
        let all = search::extend(problem, &timed, lost, rules)?;
        all_out(problem, &all).then_some(all)
    };
    for care in [Care::Full, Care::Some, Care::None] {
        let p = careful(problem, care, [Dur::ZERO; 4]);
        let rules = care.rules(settings.reserve);
        if lost.is_empty()
            && let Some(all) = first_that_holds(&p, kept, &rules)
        {
            return (p, rules, Held::All(all));
        }
        if let Some(moves) = in_order(&p, &rules) {
            return (p, rules, Held::Live(moves));
        }
        if care != Care::Full
            && let Some(moves) = insert_live(&p, &rules, settings.effort)
        {
            return (p, rules, Held::Live(moves));
        }
    }
    let rules = Care::None.rules(settings.reserve);
    for worst in (0..4).rev() {
        for by in STRETCHES {
            let mut stretch = [Dur::ZERO; 4];
            stretch[worst..].fill(by);
            let p = careful(problem, Care::None, stretch);
            let moves = in_order(&p, &rules).or_else(|| insert_live(&p, &rules, settings.effort.min(6)));
            if let Some(moves) = moves {
                let p = as_little(&p, &moves);
                return (p, rules, Held::Live(moves));
            }
        }
    }
    // Nothing brings them all out: bring out those that can be.
    let p = careful(problem, Care::None, [STRETCHES[STRETCHES.len() - 1]; 4]);
    let order = live_by_deadline(&p, &p.tasks);
    let (moves, _) = insert_each(&p, &p.tasks, &order, &rules, None, Dur::ZERO);
    (p, rules, Held::Live(moves))
}

/// True if the moves bring out every carrier on the line.
fn all_out(problem: &Problem, moves: &[Move]) -> bool {
    let last = |carrier: CarrierId| moves.iter().rev().find(|m| m.carrier == carrier);
    problem
        .tasks
        .iter()
        .filter(|t| is_live(t))
        .all(|t| last(t.carrier).is_some_and(|m| m.visit == Visit::Unload))
}

/// The same stretched problem with no more allowance for each carrier than the moves need.
fn as_little<'a>(problem: &Problem<'a>, moves: &[Move]) -> Problem<'a> {
    let line = problem.line;
    problem.with(|task| {
        let mut needed = [Dur::ZERO; 4];
        let mut stay = match task.start {
            Start::Tank { visit, since, .. } => Some((visit, since)),
            _ => None,
        };
        for m in moves.iter().filter(|m| m.carrier == task.carrier) {
            let Some(phases) = m.phases(line, &problem.state.book) else { continue };
            if let Some((visit, since)) = stay {
                let (_, max) = line.window(task.recipe, visit);
                let over = m.start + phases.to_lift() - since - max;
                let harm = super::problem::rank(line.harm_over(task.recipe, visit));
                needed[harm] = needed[harm].max(over);
            }
            stay = Some((m.visit, m.start + phases.to_down()));
        }
        for (stretch, needed) in task.leeway.stretch.iter_mut().zip(needed) {
            *stretch = (*stretch).min(needed.or_zero());
        }
    })
}

fn is_live(task: &Task) -> bool {
    !matches!(task.start, Start::Queued { .. } | Start::Done)
}

/// Carriers on the line, those a hoist holds first, then by the end of their window.
fn live_by_deadline(problem: &Problem, tasks: &[Task]) -> Vec<usize> {
    let deadline = |task: &Task| match task.start {
        Start::Hook { .. } | Start::Tank { hooked: Some(_), .. } => Time::PAST,
        Start::Tank { visit, since, .. } => since + problem.line.window(task.recipe, visit).1,
        Start::Queued { .. } | Start::Done => Time::FAR,
    };
    let mut live: Vec<usize> = (0..tasks.len()).filter(|&i| is_live(&tasks[i])).collect();
    live.sort_by_key(|&i| (deadline(&tasks[i]), i));
    live
}

/// What must happen next with a carrier that hangs: one of the few things that can be done with it.
struct Forced {
    haul: Haul,
    start: Time,
    carrier: CarrierId,
}

impl Forced {
    /// Takes the hoist, and the tank until the carrier is down.
    fn take(&self, board: &mut Board) {
        board.take_hoist(&self.haul, self.start, self.carrier);
        let last = self.haul.last();
        let lift = self.start + last.offset + last.phases.to_lift();
        board.take_tank(last.to, Span { lo: lift, hi: self.start + self.haul.to_down() }, self.carrier);
    }

    fn way(self) -> Way {
        Way { hauls: vec![(self.haul, self.start)] }
    }
}

/// Inserts all carriers on the line. A carrier that hangs is put down first, in each place it may go to in turn, and
/// then is a carrier in a tank like any other.
fn insert_live(problem: &Problem, rules: &Rules, effort: u32) -> Option<Vec<Move>> {
    let hanging = problem.tasks.iter().position(|t| matches!(t.start, Start::Hook { .. }));
    let Some(i) = hanging else {
        let inserted = insert_in_some_order(problem, &problem.tasks, rules, effort, None);
        return inserted.or_else(|| dive_in(problem, &problem.tasks, rules, &[], 8));
    };
    let task = &problem.tasks[i];
    let &Start::Hook { hoist, from, leaves, lifted } = &task.start else { return None };
    for haul in problem.hauls_under_way(task.carrier, leaves, from, hoist).iter() {
        let first = haul.first().phases;
        let start = (lifted - first.to_lift()).max(problem.now - first.to_down());
        let down = start + haul.to_down();
        let last = haul.last();
        if !is_empty(problem, last.to, task.carrier) || down < problem.state.tanks[last.to].from {
            continue;
        }
        let since = problem.counts_from(task.carrier, last.leaves, last.visit, down);
        let mut tasks = problem.tasks.clone();
        tasks[i].start = match last.visit {
            Visit::Unload | Visit::Load => Start::Done,
            visit => Start::Tank { tank: last.to, visit, since, hooked: (!last.release).then_some(hoist) },
        };
        let forced = Forced { haul: haul.clone(), start, carrier: task.carrier };
        if let Some(mut moves) = insert_in_some_order(problem, &tasks, rules, effort, Some(&forced)) {
            moves.extend(forced.way().moves(task));
            moves.sort_by_key(|m| m.start);
            return Some(moves);
        }
        if let Some(moves) = dive_in(problem, &tasks, rules, &forced.way().moves(task), 8) {
            return Some(moves);
        }
    }
    None
}

/// All carriers on the line put in one after the other, those that are in shifting as they must: the one furthest along
/// first, because it is in nobody's way then, or the tightest first.
fn dive_in(
    problem: &Problem,
    tasks: &[Task],
    rules: &Rules,
    under_way: &[Move],
    tries: u32,
) -> Option<Vec<Move>> {
    let tightest = live_by_deadline(problem, tasks);
    let mut furthest = tightest.clone();
    furthest.sort_by_key(|&i| match tasks[i].start {
        Start::Tank { visit, .. } => Reverse(order_of(problem.line, tasks[i].recipe, visit)),
        _ => Reverse(usize::MAX),
    });
    let mut rng = Rng::stream(u64::from(tries), "orders of diving in");
    let mut order = furthest;
    for round in 0..tries {
        let moves = search::extend(problem, under_way, &order, rules)?;
        let last = |i: usize| moves.iter().rev().find(|m| m.carrier == tasks[i].carrier);
        let stuck = order.iter().position(|&i| last(i).is_none_or(|m| m.visit != Visit::Unload));
        let Some(stuck) = stuck else { return Some(moves) };
        match round {
            0 => order.clone_from(&tightest),
            _ if stuck > 0 => order[..=stuck].rotate_right(1),
            _ => rng.shuffle(&mut order),
        }
    }
    None
}

/// True if nobody else stands in a tank now, or it is a station.
fn is_empty(problem: &Problem, tank: TankId, carrier: CarrierId) -> bool {
    let t = &problem.line.tanks[tank];
    matches!(t.role, Role::Station { .. })
        || problem.state.carriers_in(tank).filter(|c| *c != carrier).count() < usize::from(t.capacity)
}

/// Inserts the carriers that stand in tanks, trying other orders when one finds no way.
fn insert_in_some_order(
    problem: &Problem,
    tasks: &[Task],
    rules: &Rules,
    effort: u32,
    forced: Option<&Forced>,
) -> Option<Vec<Move>> {
    let mut order = live_by_deadline(problem, tasks);
    let held = order
        .iter()
        .take_while(|&&i| matches!(tasks[i].start, Start::Hook { .. } | Start::Tank { hooked: Some(_), .. }));
    let held = held.count();
    for round in 0..=effort {
        // Every other try leaves more time for those not planned yet to get out of the way.
        let margin = Dur::from_secs(20) * i64::from(round / 2);
        let (moves, failed) = insert_each(problem, tasks, &order, rules, forced, margin);
        let Some(&failed) = failed.first() else { return Some(moves) };
        // The one that found no way is the tightest: it goes before all that nothing holds.
        let at = order.iter().position(|&i| i == failed).expect("failed tasks are from the order");
        if at < held {
            return None;
        }
        let task = order.remove(at);
        order.insert(held, task);
    }
    None
}

/// Inserts tasks one by one; returns the moves and the tasks that found no way.
fn insert_each(
    problem: &Problem,
    tasks: &[Task],
    order: &[usize],
    rules: &Rules,
    forced: Option<&Forced>,
    margin: Dur,
) -> (Vec<Move>, Vec<usize>) {
    let mut board = Board::new(problem);
    if let Some(forced) = forced {
        forced.take(&mut board);
    }
    for &i in order {
        take_until_earliest(problem, &mut board, &tasks[i], margin);
    }
    let (mut moves, mut failed) = (Vec::new(), Vec::new());
    for &i in order {
        let task = &tasks[i];
        let now = Span { lo: problem.now, hi: problem.now };
        if let Some(way) = way_out(problem, &board, task, rules, now) {
            board.release(task.carrier);
            if let Some(forced) = forced.filter(|f| f.carrier == task.carrier) {
                forced.take(&mut board);
            }
            way.take(problem, &mut board, task);
            moves.extend(way.moves(task));
        } else {
            failed.push(i);
        }
    }
    moves.sort_by_key(|m| m.start);
    (moves, failed)
}

/// Queued carriers in the order they should be released: rush first, then by promise, then as they came.
fn queue(problem: &Problem) -> Vec<usize> {
    let key = |task: &Task| match task.start {
        Start::Queued { ready, .. } => (task.priority, task.due.unwrap_or(Time::FAR), ready),
        _ => (task.priority, Time::FAR, Time::FAR),
    };
    let mut queue: Vec<usize> = (0..problem.tasks.len())
        .filter(|&i| matches!(problem.tasks[i].start, Start::Queued { .. }))
        .collect();
    queue.sort_by_key(|&i| (key(&problem.tasks[i]), i));
    queue
}

/// Adds the queued carriers that have no moves yet behind what is planned.
fn with_queue(problem: &Problem, mut moves: Vec<Move>, queue: &[usize], rules: &Rules) -> Vec<Move> {
    let missing: Vec<usize> = queue
        .iter()
        .copied()
        .filter(|&i| moves.iter().all(|m| m.carrier != problem.tasks[i].carrier))
        .collect();
    if missing.is_empty() {
        return moves;
    }
    if let Some(extended) = search::extend(problem, &moves, &missing, rules)
        && power_holds(problem, &extended)
    {
        moves = extended;
    }
    let mut board = board_of(problem, &moves);
    // Where the others could not be moved, or no place was found that way: between them as they stand.
    for i in missing {
        if moves.iter().any(|m| m.carrier == problem.tasks[i].carrier) {
            continue;
        }
        if let Some(way) = release(problem, &board, &problem.tasks[i], rules) {
            way.take(problem, &mut board, &problem.tasks[i]);
            moves.extend(way.moves(&problem.tasks[i]));
        }
    }
    moves.sort_by_key(|m| m.start);
    moves
}

/// The earliest release found for a queued carrier; windows first with target dwell, then as short as allowed.
fn release(problem: &Problem, board: &Board, task: &Task, rules: &Rules) -> Option<Way> {
    let Start::Queued { ready, .. } = task.start else { return None };
    let (mut lo, mut width) = (problem.now.max(ready), Dur::from_mins(10));
    let end = lo + HORIZON;
    while lo < end {
        let span = Span { lo, hi: lo + width };
        let found = way_out(problem, board, task, rules, span)
            .or_else(|| way_out(problem, board, task, &Rules { aim: false, ..*rules }, span));
        if found.is_some() {
            return found;
        }
        lo = span.hi;
        width = (width * 2).min(Dur::from_mins(120));
    }
    None
}

/// The board with everything the moves take.
fn board_of(problem: &Problem, moves: &[Move]) -> Board {
    let mut board = Board::new(problem);
    for task in &problem.tasks {
        match way_of(problem, moves, task.carrier) {
            Some(way) => way.take(problem, &mut board, task),
            None if is_live(task) => {
                // Nothing brings it out: its tank stays taken.
                if let Start::Tank { tank, since, .. } = task.start {
                    board.take_tank(tank, Span { lo: since, hi: Time::FAR }, task.carrier);
                }
            }
            None => {}
        }
    }
    board
}

/// The way a carrier's moves make, put together again from its legs.
fn way_of(problem: &Problem, moves: &[Move], carrier: CarrierId) -> Option<Way> {
    let mut hauls: Vec<(Haul, Time)> = Vec::new();
    for m in moves.iter().filter(|m| m.carrier == carrier) {
        let phases = m.phases(problem.line, &problem.state.book)?;
        let joins = !m.attach && hauls.last().is_some_and(|(h, _)| !h.last().release);
        if !joins {
            hauls.push((Haul { hoist: m.hoist, legs: Vec::new(), total: Dur::ZERO }, m.start));
        }
        let (haul, start) = hauls.last_mut().expect("one was pushed");
        let offset = m.start - *start;
        haul.legs.push(Leg {
            from: m.from,
            to: m.to,
            leaves: m.leaves,
            visit: m.visit,
            offset,
            phases,
            attach: m.attach,
            release: m.release,
        });
        haul.total = offset + phases.total();
    }
    (!hauls.is_empty()).then_some(Way { hauls })
}

/// True if the planned stays keep the power cap, counted without ramps.
fn power_holds(problem: &Problem, moves: &[Move]) -> bool {
    let Some(cap) = problem.line.power_cap else { return true };
    let mut edges: Vec<(Time, i64)> = Vec::new();
    for task in &problem.tasks {
        let mut since = match task.start {
            Start::Tank { visit, since, .. } => problem.power(task.carrier, visit).map(|w| (since, w.0)),
            _ => None,
        };
        for m in moves.iter().filter(|m| m.carrier == task.carrier) {
            let Some(phases) = m.phases(problem.line, &problem.state.book) else { return false };
            if let Some((from, watts)) = since.take() {
                edges.push((from, watts));
                edges.push((m.start + phases.to_lift(), -watts));
            }
            since = problem.power(task.carrier, m.visit).map(|w| (m.start + phases.to_down(), w.0));
        }
    }
    edges.sort_unstable();
    let mut level = 0;
    edges.iter().all(|(_, change)| {
        level += change;
        level <= cap.0 || *change < 0
    })
}
