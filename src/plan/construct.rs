//! From nothing, or from the plan in force, to moves for every carrier: first those on the line, then the queue.
//!
//! 1. The plan in force is kept if its order still holds; only times shift. A carrier that is not where the plan had it,
//!    or whose tank has gone out of service, is put in anew.
//! 2. If not, the order is kept for the carriers on the line and for as much of the queue as goes with it: those to be
//!    released first are left out, one, two, four, until what remains holds. They are inserted anew.
//! 3. If that fails, the carriers on the line are inserted one by one, the one that found no way moving to the front.
//! 4. If no order keeps all windows, windows are stretched, least harm first, until a way exists; those that did not need
//!    it are held to their windows again.
//!
//! Each step is tried with all the margin there should be before the end of windows, then with less. A queued carrier is
//! only ever inserted whole, windows and margins kept: that is gate release.

use std::cmp::Reverse;

use super::Settings;
use super::board::{Board, Span};
use super::margin::{Care, careful, ladder};
use super::objective::Objective;
use super::problem::{Haul, Problem, PutBack, Start, Task, rank};
use super::rail;
use super::search;
use super::shade;
use super::shortcut;
use super::timing::retime;
use super::way::{Rules, Way, order_of, take_until_earliest, way_out};
use crate::ids::{CarrierId, TankId};
use crate::line::{Harm, Role, Visit};
use crate::rng::Rng;
use crate::schedule::{Move, Schedule};
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

/// So much less time out of windows that rework is worth putting a load back: less than that a search may still find.
const WORTH_GOING_BACK: Dur = Dur::from_secs(60);

/// A tank that is out of service for no longer than this is waited for.
const WAITED_FOR: Dur = Dur::from_secs(60);

/// Moves for every carrier that a way was found for.
pub(super) fn moves(problem: &Problem, settings: &Settings) -> Vec<Move> {
    let (mut kept, lost) = match &problem.state.plan {
        Some(plan) => remaining(problem, plan),
        None => (Vec::new(), live_by_deadline(problem, &problem.tasks)),
    };
    // The queue is not the one that plan was made for.
    if problem.state.standing.queue_changed {
        kept.retain(|m| problem.task_of(m.carrier).is_some_and(is_live));
    }
    let (problem, rules, moves) = hold(problem, settings, &kept, &lost);
    let moves = with_queue(&problem, moves, &queue(&problem), &rules);
    let moves = shortcut::direct(&problem, moves, &rules, 0);
    evened(&problem, &rules, moves)
}

/// What is left of a plan at its earliest times, if it starts from what is so and every window can be kept.
pub(super) fn follow(problem: &Problem, plan: &Schedule, settings: &Settings) -> Option<Vec<Move>> {
    let kept = whole(problem, plan)?;
    ladder(problem, settings).find_map(|(problem, rules)| {
        let moves = if_it_holds(&problem, &kept, &rules)?;
        Some(evened(&problem, &rules, moves))
    })
}

/// The same where windows cannot be kept: they are stretched, least harm first.
pub(super) fn follow_stretched(problem: &Problem, plan: &Schedule, settings: &Settings) -> Option<Vec<Move>> {
    let kept = whole(problem, plan)?;
    let (problem, rules, moves) = stretched(problem, settings, &kept)?;
    Some(evened(&problem, &rules, moves))
}

/// What is left of a plan; `None` if it is not the whole of it or leaves a carrier on the line.
fn whole(problem: &Problem, plan: &Schedule) -> Option<Vec<Move>> {
    let (kept, _) = remaining(problem, plan);
    // One that left a carrier out would be another plan.
    let all = super::explain::remaining(problem.state, plan).moves.len();
    let covers = |t: &Task| !is_live(t) || kept.iter().any(|m| m.carrier == t.carrier);
    (kept.len() == all && problem.tasks.iter().all(covers)).then_some(kept)
}

/// A problem as it was taken, its rules, and moves that hold by them.
type Held<'a> = (Problem<'a>, Rules, Vec<Move>);

/// The order with windows of carriers on the line stretched until it holds, least harm first, and then no further than it
/// needs: the problem, its rules and the moves. `None` if no stretch is enough.
pub(super) fn stretched<'a>(problem: &Problem<'a>, settings: &Settings, moves: &[Move]) -> Option<Held<'a>> {
    let holds = |p: &Problem, rules: &Rules| if_it_holds(p, moves, rules);
    let least = |worst| least_stretch(problem, settings, worst, STRETCHES.len(), holds);
    WORST_LAST.into_iter().find_map(least).map(least_of)
}

/// What holds with no more allowance for each carrier than it needs: where it waits too long is a matter of its own, and one
/// that may do so where that harms less does, though another one has no choice.
fn least_of(held: Stretched) -> Held {
    let Stretched { problem, rules, moves, .. } = held;
    let mut best = (as_little(&problem, &moves), rules, moves);
    for class in 0..WORST_LAST[0] {
        for i in 0..best.0.tasks.len() {
            let (carrier, need) = (best.0.tasks[i].carrier, best.0.tasks[i].leeway.stretch[class]);
            let less = std::iter::once(Dur::ZERO).chain(STRETCHES).take_while(|by| *by < need);
            let mut elsewhere = less.map(|by| {
                best.0.with(|t| {
                    if t.carrier == carrier {
                        t.leeway.stretch[class] = by;
                        t.leeway.stretch[class + 1..].fill(STRETCHES[STRETCHES.len() - 1]);
                    }
                })
            });
            let found = elsewhere.find_map(|p| Some((if_it_holds(&p, &best.2, &rules)?, p)));
            if let Some((found, p)) = found.filter(|(found, p)| harm(p, found) < harm(p, &best.2)) {
                best = (as_little(&p, &found), rules, found);
            }
        }
    }
    best
}

/// Harm by its rank, the least first.
const WORST_LAST: [usize; 4] = [3, 2, 1, 0];

/// What holds with windows stretched, and which of the stretches that took.
struct Stretched<'a> {
    stretch: usize,
    problem: Problem<'a>,
    rules: Rules,
    moves: Vec<Move>,
}

/// What holds with the least of the first `most` stretches of windows up to a harm. What does not go with the longest of
/// them goes with none.
fn least_stretch<'a>(
    problem: &Problem<'a>,
    settings: &Settings,
    worst: usize,
    most: usize,
    holds: impl Fn(&Problem<'a>, &Rules) -> Option<Vec<Move>>,
) -> Option<Stretched<'a>> {
    let rules = Care::None.rules(settings.reserve);
    let with = |stretch: usize| {
        let mut by = [Dur::ZERO; 4];
        by[worst..].fill(STRETCHES[stretch]);
        let problem = careful(problem, settings, Care::None, by);
        let moves = holds(&problem, &rules)?;
        Some(Stretched { stretch, problem, rules, moves })
    };
    let mut held = with(most.checked_sub(1)?)?;
    let mut short = 0;
    while short < held.stretch {
        let between = usize::midpoint(short, held.stretch);
        match with(between) {
            Some(less) => held = less,
            None => short = between + 1,
        }
    }
    Some(held)
}

/// The moves with like dwells where colour is made; see [`shade`].
pub(super) fn evened(problem: &Problem, rules: &Rules, moves: Vec<Move>) -> Vec<Move> {
    let evened = shade::even(problem, rules, moves.clone());
    // The network knows who comes after whom, not how many there are at once.
    if tanks_hold(problem, &evened) && power_holds(problem, &evened) { evened } else { moves }
}

/// The moves of a plan that are still to come, and the carriers on the line that it does not bring out from where they
/// are.
fn remaining(problem: &Problem, plan: &Schedule) -> (Vec<Move>, Vec<usize>) {
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
    (kept, lost)
}

/// True if the tank a move was planned into will not be there in time.
fn is_shut_out(problem: &Problem, m: &Move) -> bool {
    let down = m.phases(problem.line, &problem.state.book).map_or(Dur::ZERO, |p| p.to_down());
    let station = matches!(problem.line.tanks[m.to].role, Role::Station { .. });
    let tank = problem.state.tanks[m.to];
    let away = tank.from > (m.start + down).max(problem.now) + WAITED_FOR;
    let spared = || !problem.places_for(problem.spec(m.carrier).recipe, m.visit).contains(&m.to);
    !station && (away || (tank.lost.is_some() && !m.is_put_back() && spared()))
}

/// The moves at their earliest times, if they hold in time, power and space.
pub(super) fn if_it_holds(problem: &Problem, moves: &[Move], rules: &Rules) -> Option<Vec<Move>> {
    in_time(problem, moves, rules).filter(|timed| tanks_hold(problem, timed))
}

/// The moves at their earliest times, if they hold in time and power.
fn in_time(problem: &Problem, moves: &[Move], rules: &Rules) -> Option<Vec<Move>> {
    retime(problem, moves, rules).filter(|timed| power_holds(problem, timed))
}

/// What can be kept of a plan, with as much care as possible. A load that hangs and was due goes on: it is put back only
/// where going on would scrap or rework more. One that was lifted too soon goes on only where putting it back would.
fn hold<'a>(problem: &Problem<'a>, settings: &Settings, kept: &[Move], lost: &[usize]) -> Held<'a> {
    let mut found = hold_all(problem, settings, kept, lost);
    let hangs = |task: &Task| match task.start {
        Start::Hook { leaves, .. } => Some(problem.is_done(task.carrier, leaves)),
        _ => None,
    };
    let hanging: Vec<bool> = problem.tasks.iter().filter_map(hangs).collect();
    for (was_due, back) in [(true, PutBack::Anyway), (false, PutBack::NoOtherIfEarly)] {
        if !hanging.contains(&was_due) {
            continue;
        }
        let least = found.as_ref().map(|(.., moves)| spoils(problem, moves));
        if least.is_some_and(|(scrap, over)| scrap == 0 && over <= WORTH_GOING_BACK) {
            continue;
        }
        let goes_back = hold_all(&problem.with(|task| task.back = back), settings, kept, lost);
        let saves = |back: &Held| {
            let (scrap, over) = spoils(problem, &back.2);
            least.is_none_or(|(most, longest)| {
                scrap < most || (scrap == most && over + WORTH_GOING_BACK < longest)
            })
        };
        found = goes_back.filter(saves).or(found);
    }
    found.unwrap_or_else(|| {
        let rules = Care::None.rules(settings.reserve);
        // Nothing brings them all out: bring out those that can be.
        let p = careful(problem, settings, Care::None, [STRETCHES[STRETCHES.len() - 1]; 4]);
        let (moves, _) = insert_each(&p, &p.tasks, &live_by_deadline(&p, &p.tasks), &rules, &[], Dur::ZERO);
        (p, rules, moves)
    })
}

/// Windows that scrap, and time out of those that scrap or mean rework. A load that was lifted too soon and goes on is out
/// of the one it left for good, which the worth of moves to come does not know.
fn spoils(problem: &Problem, moves: &[Move]) -> (usize, Dur) {
    let worth = worth(problem, moves);
    let (mut scrap, [scrapped, reworked, ..]) = (worth.scrap, worth.counts());
    let mut over = scrapped + reworked;
    for task in &problem.tasks {
        let Start::Hook { leaves: visit @ Visit::Step(step), .. } = task.start else { continue };
        let first = moves.iter().find(|m| m.carrier == task.carrier);
        if first.is_some_and(Move::is_put_back) {
            continue;
        }
        let (min, _) = problem.line.window(task.recipe, visit);
        let short = (min - problem.state.carriers[task.carrier].dwelled(visit)).or_zero();
        let harm = problem.line.step(task.recipe, step).under;
        if short > Dur::ZERO && harm <= Harm::Rework {
            over += short;
            scrap += usize::from(harm == Harm::Scrap);
        }
    }
    (scrap, over)
}

/// The same for what hangs as it may be put down; `None` if no way brings them all out.
fn hold_all<'a>(
    problem: &Problem<'a>,
    settings: &Settings,
    kept: &[Move],
    lost: &[usize],
) -> Option<Held<'a>> {
    let shares = shares_of_queue(problem, kept);
    // What does not go without any of the queue does not go with some of it.
    let in_order = |p: &Problem, rules: &Rules| {
        let with = |kept: &Vec<Move>| in_order(p, kept, lost, rules);
        let (whole, shorter) = shares.split_first()?;
        with(whole).or_else(|| {
            let (none, some) = shorter.split_last()?;
            let alone = with(none)?;
            some.iter().find_map(with).or(Some(alone))
        })
    };
    for (care, (p, rules)) in Care::ALL.into_iter().zip(ladder(problem, settings)) {
        if let Some(moves) = in_order(&p, &rules) {
            return Some((p, rules, moves));
        }
        if care != Care::Full
            && let Some(moves) = insert_live(&p, &rules, settings.effort)
        {
            return Some((p, rules, moves));
        }
    }
    let anew = |worst, most| {
        least_stretch(problem, settings, worst, most, |p, r| insert_live(p, r, settings.effort.min(6)))
    };
    let mut best: Option<Held> = None;
    for worst in WORST_LAST {
        let as_it_stands = least_stretch(problem, settings, worst, STRETCHES.len(), in_order);
        // What goes no further out of one window than the order as it stands may go out of more of them.
        let less = as_it_stands.as_ref().map_or(STRETCHES.len(), |held| held.stretch);
        if best.is_none() {
            best = anew(worst, less).map(least_of);
        }
        if let Some(held) = as_it_stands.map(least_of) {
            return [Some(held), best].into_iter().flatten().min_by_key(|(.., moves)| harm(problem, moves));
        }
    }
    best
}

/// What moves break: windows that scrap, then time out of windows.
pub(super) fn harm(problem: &Problem, moves: &[Move]) -> (usize, Dur) {
    let worth = worth(problem, moves);
    (worth.scrap, worth.harm())
}

pub(super) fn worth(problem: &Problem, moves: &[Move]) -> Objective {
    let schedule = Schedule::new(moves.to_vec(), problem.now);
    Objective::of(problem.line, problem.state, &schedule, &[])
}

/// The moves with all of the queue, then without those to be released first, more and more of them, at last without any.
fn shares_of_queue(problem: &Problem, kept: &[Move]) -> Vec<Vec<Move>> {
    let mut queued: Vec<CarrierId> = Vec::new();
    for m in kept {
        if !problem.task_of(m.carrier).is_some_and(is_live) && !queued.contains(&m.carrier) {
            queued.push(m.carrier);
        }
    }
    let mut shares = vec![kept.to_vec()];
    let mut out = 1;
    while !queued.is_empty() {
        let left_out = &queued[..out.min(queued.len())];
        shares.push(kept.iter().filter(|m| !left_out.contains(&m.carrier)).copied().collect());
        if out >= queued.len() {
            break;
        }
        out *= 2;
    }
    shares
}

/// The order of the carriers that are where the plan has them, those that are not put in between.
fn in_order(problem: &Problem, kept: &[Move], lost: &[usize], rules: &Rules) -> Option<Vec<Move>> {
    if lost.is_empty() {
        return if_it_holds(problem, kept, rules);
    }
    let hangs = |i: &usize| matches!(problem.tasks[*i].start, Start::Hook { .. });
    let hanging: Vec<usize> = lost.iter().copied().filter(hangs).collect();
    put_all_down(problem, &hanging).iter().find_map(|forced| {
        let mut moves: Vec<Move> =
            forced.iter().flat_map(|f| f.way().moves(&problem.tasks[f.task])).collect();
        moves.extend(kept);
        // Those that are missing stand where others may have to go: space counts once they are in.
        let timed = in_time(problem, &moves, rules)?;
        let all = search::extend(problem, &timed, lost, rules)?;
        (all_out(problem, &all) && power_holds(problem, &all) && tanks_hold(problem, &all)).then_some(all)
    })
}

/// True if the moves bring out every carrier on the line.
pub(super) fn all_out(problem: &Problem, moves: &[Move]) -> bool {
    let last = |carrier: CarrierId| moves.iter().rev().find(|m| m.carrier == carrier);
    problem
        .tasks
        .iter()
        .filter(|t| is_live(t))
        .all(|t| last(t.carrier).is_some_and(|m| m.visit == Visit::Unload))
}

/// The same stretched problem with no more allowance for each carrier than the moves need.
pub(super) fn as_little<'a>(problem: &Problem<'a>, moves: &[Move]) -> Problem<'a> {
    let line = problem.line;
    problem.with(|task| {
        let mut needed = [Dur::ZERO; 4];
        // What it is late already is allowed for apart.
        let mut stay = match task.start {
            Start::Tank { visit, since, .. } => Some((visit, since + task.leeway.late)),
            _ => None,
        };
        for m in moves.iter().filter(|m| m.carrier == task.carrier) {
            let Some(phases) = m.phases(line, &problem.state.book) else { continue };
            if let Some((visit, since)) = stay {
                let (_, max) = line.window(task.recipe, visit);
                let over = m.start + phases.to_lift() - since - max;
                let harm = rank(line.harm_over(task.recipe, visit));
                needed[harm] = needed[harm].max(over);
            }
            let down = m.start + phases.to_down();
            stay = Some((m.visit, problem.counts_from(m.carrier, m.leaves, m.visit, down)));
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
#[derive(Clone)]
struct Forced {
    haul: Haul,
    start: Time,
    task: usize,
    carrier: CarrierId,
}

impl Forced {
    /// Takes the hoist, and the tank until the carrier is down.
    fn take(&self, problem: &Problem, board: &mut Board) {
        let from = self.haul.first().from;
        let waits = (self.start - problem.now).or_zero();
        let place = problem.line.tanks[from].position;
        let stands = problem.rail.standing(self.haul.hoist, from, place, waits);
        board.hang(self.haul.hoist, from, Span { lo: problem.now, hi: self.start }, (self.carrier, stands));
        board.take_hoist(&self.haul, self.start, self.carrier);
        let last = self.haul.last();
        let lift = self.start + last.offset + last.phases.to_lift();
        let stays = last.visit == Visit::Unload;
        let hi = if stays { Time::FAR } else { self.start + self.haul.to_down() };
        board.take_tank(last.to, Span { lo: lift, hi }, self.carrier);
    }

    fn way(&self) -> Way {
        Way { hauls: vec![(self.haul.clone(), self.start)] }
    }

    /// Where the carrier is when it is down.
    fn leads_to(&self, problem: &Problem) -> Start {
        let last = self.haul.last();
        match last.visit {
            Visit::Unload | Visit::Load => Start::Done,
            visit => {
                let hooked = (!last.release).then_some(self.haul.hoist);
                let down = self.start + self.haul.to_down();
                let since = problem.counts_from(self.carrier, last.leaves, visit, down);
                Start::Tank { tank: last.to, visit, since, hooked }
            }
        }
    }

    /// True if both can be done as they are, for all the rail says.
    fn goes_with(&self, problem: &Problem, other: &Self) -> bool {
        let (one, two) = if self.start <= other.start { (self, other) } else { (other, self) };
        two.start - one.start >= Dur(problem.rail.lag(one.haul.path, two.haul.path))
    }
}

/// The places a carrier that hangs may be put down at.
fn put_down(problem: &Problem, task: usize) -> Vec<Forced> {
    let own = &problem.tasks[task];
    let Task { carrier, ref start, .. } = *own;
    let &Start::Hook { hoist, from, leaves, lifted } = start else { return Vec::new() };
    let hauls = problem.hauls_under_way(own, leaves, from, hoist);
    let forced = hauls.iter().map(|haul| {
        let start = problem.under_way_from(hoist, lifted, haul);
        Forced { haul: haul.clone(), start, task, carrier }
    });
    let fits = |f: &Forced| {
        let to = f.haul.last().to;
        is_empty(problem, to, carrier) && f.start + f.haul.to_down() >= problem.state.tanks[to].from
    };
    forced.filter(fits).collect()
}

/// Every way to put down all that hangs, those that surely go together first.
fn put_all_down(problem: &Problem, hanging: &[usize]) -> Vec<Vec<Forced>> {
    let mut ways = vec![Vec::new()];
    for &task in hanging {
        let next = put_down(problem, task);
        let with = |way: &Vec<Forced>, f: &Forced| [way.as_slice(), std::slice::from_ref(f)].concat();
        let taken = |way: &Vec<Forced>, f: &Forced| {
            let to = f.haul.last().to;
            let bath = !matches!(problem.line.tanks[to].role, Role::Station { .. });
            bath && way.iter().any(|w| w.haul.last().to == to)
        };
        ways = ways
            .iter()
            .flat_map(|way| next.iter().filter(|f| !taken(way, f)).map(|f| with(way, f)).collect::<Vec<_>>())
            .collect();
    }
    let meet = |way: &[Forced]| {
        let mut pairs = way.iter().enumerate().flat_map(|(k, a)| way[k + 1..].iter().map(move |b| (a, b)));
        pairs.any(|(a, b)| !a.goes_with(problem, b))
    };
    if problem.is_blocked() {
        for way in &mut ways {
            one_after_the_other(problem, way);
        }
    }
    ways.sort_by_key(|way| meet(way));
    ways
}

/// What hangs waits for what goes down before it where both would meet.
fn one_after_the_other(problem: &Problem, way: &mut [Forced]) {
    way.sort_by_key(|f| f.start);
    for k in 1..way.len() {
        let (before, after) = way.split_at_mut(k);
        for f in before.iter() {
            let lag = problem.rail.lag(f.haul.path, after[0].haul.path);
            if lag < rail::NEVER {
                after[0].start = after[0].start.max(f.start + Dur(lag));
            }
        }
    }
}

/// Inserts all carriers on the line. A carrier that hangs is put down first, in each place it may go to in turn, and
/// then is a carrier in a tank like any other.
fn insert_live(problem: &Problem, rules: &Rules, effort: u32) -> Option<Vec<Move>> {
    let hangs = |t: &Task| matches!(t.start, Start::Hook { .. });
    let hanging: Vec<usize> = (0..problem.tasks.len()).filter(|&i| hangs(&problem.tasks[i])).collect();
    for forced in put_all_down(problem, &hanging) {
        let mut tasks = problem.tasks.clone();
        for f in &forced {
            tasks[f.task].start = f.leads_to(problem);
        }
        let under_way: Vec<Move> =
            forced.iter().flat_map(|f| f.way().moves(&problem.tasks[f.task])).collect();
        if let Some(mut moves) = insert_in_some_order(problem, &tasks, rules, effort, &forced) {
            moves.extend(under_way);
            moves.sort_by_key(|m| m.start);
            return Some(moves);
        }
        if let Some(moves) = dive_in(problem, &tasks, rules, &under_way, 8) {
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
        // What a hoist has hold of comes before all else that hoist does.
        order.sort_by_key(|&i| !matches!(tasks[i].start, Start::Tank { hooked: Some(_), .. }));
        let moves = search::extend(problem, under_way, &order, rules)?;
        let last = |i: usize| moves.iter().rev().find(|m| m.carrier == tasks[i].carrier);
        let stuck = order.iter().position(|&i| last(i).is_none_or(|m| m.visit != Visit::Unload));
        // Who is not in yet stands in nobody's way there.
        if stuck.is_none() && tanks_hold(problem, &moves) {
            return Some(moves);
        }
        match stuck {
            _ if round == 0 => order.clone_from(&tightest),
            Some(stuck) if stuck > 0 => order[..=stuck].rotate_right(1),
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
    forced: &[Forced],
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
    forced: &[Forced],
    margin: Dur,
) -> (Vec<Move>, Vec<usize>) {
    let mut board = Board::new(problem);
    for f in forced {
        f.take(problem, &mut board);
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
            for f in forced.iter().filter(|f| f.carrier == task.carrier) {
                f.take(problem, &mut board);
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

/// Queued carriers in the order they should be released: as somebody said, then rush first, then by promise, then as they came.
fn queue(problem: &Problem) -> Vec<usize> {
    let key = |task: &Task| match task.start {
        Start::Queued { ready, .. } => {
            (task.rank.unwrap_or(usize::MAX), task.priority, task.due.unwrap_or(Time::FAR), ready)
        }
        _ => (usize::MAX, task.priority, Time::FAR, Time::FAR),
    };
    let mut queue: Vec<usize> = (0..problem.tasks.len())
        .filter(|&i| matches!(problem.tasks[i].start, Start::Queued { .. }))
        .collect();
    queue.sort_by_key(|&i| (key(&problem.tasks[i]), i));
    queue
}

/// Adds the queued carriers that have no moves yet behind what is planned.
fn with_queue(problem: &Problem, mut moves: Vec<Move>, queue: &[usize], rules: &Rules) -> Vec<Move> {
    let waits = |i: &usize| moves.iter().all(|m| m.carrier != problem.tasks[*i].carrier);
    // Put back where it was to start from, a carrier is to start anew.
    let back = (0..problem.tasks.len()).filter(|&i| {
        let last = moves.iter().rev().find(|m| m.carrier == problem.tasks[i].carrier);
        last.is_some_and(|m| m.visit == Visit::Load)
    });
    let missing: Vec<usize> = back.chain(queue.iter().copied().filter(waits)).collect();
    if missing.is_empty() {
        return moves;
    }
    if let Some(extended) = search::extend(problem, &moves, &missing, rules) {
        moves = extended;
    }
    let mut board = board_of(problem, &moves);
    // Where the others could not be moved, or no place was found that way: between them as they stand.
    for i in missing {
        if moves.iter().any(|m| m.carrier == problem.tasks[i].carrier) {
            continue;
        }
        if let Some(way) = release(problem, &board, &problem.tasks[i], &moves, rules) {
            way.take(problem, &mut board, &problem.tasks[i]);
            moves.extend(way.moves(&problem.tasks[i]));
        }
    }
    moves.sort_by_key(|m| m.start);
    moves
}

/// The earliest release found for a queued carrier.
fn release(problem: &Problem, board: &Board, task: &Task, planned: &[Move], rules: &Rules) -> Option<Way> {
    let Start::Queued { ready, .. } = task.start else { return None };
    let (after, before) = between(problem, task, planned);
    let (mut lo, mut width) = (problem.now.max(ready).max(after), Dur::from_mins(10));
    let end = (lo + HORIZON).min(before);
    while lo < end {
        let span = Span { lo, hi: (lo + width).min(before) };
        let found = way_out(problem, board, task, rules, span);
        if found.is_some() {
            return found;
        }
        lo = span.hi;
        width = (width * 2).min(Dur::from_mins(120));
    }
    None
}

/// Where a person's order lets a carrier start: after the last that comes before it and before the first after it.
fn between(problem: &Problem, task: &Task, planned: &[Move]) -> (Time, Time) {
    let (mut after, mut before) = (Time::PAST, Time::FAR);
    let Some(own) = task.rank else { return (after, before) };
    for m in planned.iter().filter(|m| m.leaves == Visit::Load) {
        match problem.task_of(m.carrier).and_then(|t| t.rank) {
            Some(rank) if rank < own => after = after.max(m.start),
            Some(rank) if rank > own => before = before.min(m.start),
            _ => {}
        }
    }
    (after, before)
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
    let own: Vec<Move> = moves.iter().filter(|m| m.carrier == carrier).copied().collect();
    let hauls: Option<Vec<(Haul, Time)>> = own
        .chunk_by(|before, next| !before.release && !next.attach)
        .map(|legs| Some((problem.haul_of(legs)?, legs[0].start)))
        .collect();
    hauls.filter(|h| !h.is_empty()).map(|hauls| Way { hauls })
}

/// True if no tank is asked to hold more than it can. An order from before somebody put a carrier where another is to go
/// may hold in time and not in space.
fn tanks_hold(problem: &Problem, moves: &[Move]) -> bool {
    let line = problem.line;
    let mut edges: Vec<(TankId, Time, i64)> = Vec::new();
    for task in &problem.tasks {
        let mut since = match task.start {
            Start::Tank { tank, .. } => Some((tank, Time::PAST)),
            _ => None,
        };
        for m in moves.iter().filter(|m| m.carrier == task.carrier) {
            let Some(phases) = m.phases(line, &problem.state.book) else { return false };
            if let Some((tank, from)) = since.filter(|(tank, _)| *tank == m.from) {
                edges.extend([(tank, from, 1), (tank, m.start + phases.to_clear(), -1)]);
            }
            // A carrier that hangs now takes its tank when it is lowered, not from a lift long past.
            since = Some((m.to, (m.start + phases.to_lift()).max(problem.now)));
        }
        edges.extend(since.map(|(tank, from)| (tank, from, 1)));
    }
    edges.retain(|(tank, _, _)| !matches!(line.tanks[*tank].role, Role::Station { .. }));
    edges.sort_unstable();
    edges.chunk_by(|a, b| a.0 == b.0).all(|tank| {
        let most = i64::from(line.tanks[tank[0].0].capacity);
        tank.iter()
            .scan(0, |level, (_, _, change)| {
                *level += change;
                Some(*level)
            })
            .all(|level| level <= most)
    })
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
