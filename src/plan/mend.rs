//! Less harm where not every window can be kept: the same carriers in another order that breaks less.
//!
//! Worst harm first, windows are stretched less than the schedule needs: not at all, by half, by three quarters; and not at all
//! for one carrier alone, as another one may need it whatever is done. Those that then overrun, and a few others by chance, are
//! taken out and put back, the others giving way, until all are in within the smaller stretch. Lesser harms may then grow as far
//! as the harm that is looked at; what is kept is less harm in all.

use super::Settings;
use super::construct::{all_out, as_little, if_it_holds};
use super::margin::{Care, careful};
use super::problem::{Problem, Start, Task};
use super::search::{self, Budget};
use super::way::Rules;
use crate::ids::CarrierId;
use crate::rng::Rng;
use crate::schedule::Move;
use crate::units::Dur;

/// Shares of the present stretch that are tried, in quarters.
const QUARTERS: [i64; 3] = [0, 2, 3];

/// Longer than any overrun that is planned with.
const ANY: Dur = Dur::from_mins(60 * 24 * 30);

/// At most so many carriers that overrun nothing are taken out with those that do.
const OTHERS: usize = 4;

/// Moves that do less harm by `harm` than `moves`, which hold in some stretch, if the budget allows them to be found. The
/// first `frozen` hauls stay. Also the tries that were left.
pub(super) fn mend<H: Ord>(
    problem: &Problem,
    settings: &Settings,
    moves: &[Move],
    frozen: usize,
    harm: impl Fn(&[Move]) -> H,
    budget: &mut Budget,
) -> (Option<Vec<Move>>, u64) {
    let mut best = moves.to_vec();
    let mut least = harm(&best);
    let mut rng = Rng::stream(settings.seed, "less harm");
    let (mut left, mut found_any) = (budget.tries, false);
    for class in 0..4 {
        let mut needs = needs(problem, settings, &best);
        let mut todo = attempts(&needs, class);
        while let Some(less) = todo.pop() {
            let need = most(&needs);
            let p = careful(problem, settings, Care::None, less.of_all(need, class));
            let p = p.with(|task| less.of_one(task, need, class));
            let rules = Care::None.rules(settings.reserve);
            // Each attempt may spend a share of what is left, so that none starves the rest.
            let share = left / 4;
            let mut part = Budget { tries: share, stop: &mut *budget.stop };
            let (found, spent) = another_order(&p, &rules, &best, frozen, &mut rng, &mut part);
            left -= spent.min(left);
            if let Some(found) = found {
                let now = harm(&found);
                if now < least {
                    (best, least, found_any) = (found, now, true);
                    needs = self::needs(problem, settings, &best);
                    todo = attempts(&needs, class);
                }
            }
        }
    }
    (found_any.then_some(best), left)
}

/// What is stretched less than is needed.
#[derive(Clone, Copy)]
enum Less {
    /// All windows: so many quarters are left.
    All(i64),
    /// Those of one carrier, not at all.
    One(CarrierId),
}

impl Less {
    /// The stretch of all carriers in place of what they need at the most.
    fn of_all(self, need: [Dur; 4], class: usize) -> [Dur; 4] {
        match self {
            Self::All(quarters) => no_more(need, class, Dur(need[class].0 * quarters / 4)),
            Self::One(_) => need,
        }
    }

    fn of_one(self, task: &mut Task, need: [Dur; 4], class: usize) {
        if matches!(self, Self::One(carrier) if carrier == task.carrier) {
            task.leeway.stretch = no_more(need, class, Dur::ZERO);
        }
    }
}

/// A stretch with no more of one harm, and lesser ones as far as that was.
fn no_more(need: [Dur; 4], class: usize, by: Dur) -> [Dur; 4] {
    let mut stretch = need;
    stretch[class] = by;
    for lesser in &mut stretch[class + 1..] {
        *lesser = (*lesser).max(need[class]);
    }
    stretch
}

/// What may lead to less of a harm, the last first.
fn attempts(needs: &[(CarrierId, [Dur; 4])], class: usize) -> Vec<Less> {
    let own: Vec<CarrierId> =
        needs.iter().filter(|(_, by)| by[class] > Dur::ZERO).map(|(carrier, _)| *carrier).collect();
    if own.is_empty() {
        return Vec::new();
    }
    let alone = own.iter().filter(|_| own.len() > 1).map(|carrier| Less::One(*carrier));
    alone.chain(QUARTERS.into_iter().rev().map(Less::All)).collect()
}

/// The stretch by harm that each carrier needs.
fn needs(problem: &Problem, settings: &Settings, moves: &[Move]) -> Vec<(CarrierId, [Dur; 4])> {
    let p = as_little(&wide(&careful(problem, settings, Care::None, [Dur::ZERO; 4])), moves);
    p.tasks.iter().map(|task| (task.carrier, task.leeway.stretch)).collect()
}

fn most(needs: &[(CarrierId, [Dur; 4])]) -> [Dur; 4] {
    std::array::from_fn(|class| needs.iter().map(|(_, by)| by[class]).max().unwrap_or(Dur::ZERO))
}

/// The problem with windows of carriers on the line open at the end.
fn wide<'a>(p: &Problem<'a>) -> Problem<'a> {
    p.with(|task| {
        if !matches!(task.start, Start::Queued { .. }) {
            task.leeway.stretch = [ANY; 4];
        }
    })
}

/// The carriers that overrun more than a problem allows.
fn overrunning(p: &Problem, moves: &[Move]) -> Vec<CarrierId> {
    let needs = as_little(&wide(p), moves);
    let over = p.tasks.iter().zip(&needs.tasks).filter(|(allowed, needs)| {
        allowed.leeway.stretch.iter().zip(needs.leeway.stretch).any(|(allowed, needs)| needs > *allowed)
    });
    over.map(|(task, _)| task.carrier).collect()
}

/// The carriers of the moves in an order that holds in a problem, and the tries it took.
fn another_order(
    p: &Problem,
    rules: &Rules,
    moves: &[Move],
    frozen: usize,
    rng: &mut Rng,
    budget: &mut Budget,
) -> (Option<Vec<Move>>, u64) {
    let over = overrunning(p, moves);
    let fixed = fixed(p, moves, frozen);
    let may_go =
        |task: &Task| !fixed.contains(&task.carrier) && moves.iter().any(|m| m.carrier == task.carrier);
    let mut free: Vec<usize> = (0..p.tasks.len()).filter(|&i| may_go(&p.tasks[i])).collect();
    let mut spent = 0;
    let mut round = 0;
    while spent < budget.tries && !free.is_empty() && !(budget.stop)() {
        rng.shuffle(&mut free);
        let (mut out, rest): (Vec<usize>, Vec<usize>) =
            free.iter().partition(|&&i| over.contains(&p.tasks[i].carrier));
        let others = if round == 0 { 0 } else { 1 + rng.below(OTHERS) };
        out.extend(rest.into_iter().take(others));
        round += 1;
        let kept = without(p, moves, &out);
        let (found, tries) = search::put_back(p, &kept, &out, rules, frozen, rng, budget.tries - spent);
        spent += tries;
        let found = found.and_then(|found| if_it_holds(p, &found, rules)).filter(|found| all_out(p, found));
        if found.is_some() {
            return (found, spent);
        }
    }
    (None, spent)
}

/// The carriers of the first hauls that are not under way, and those a hoist holds on to during a dip.
fn fixed(p: &Problem, moves: &[Move], frozen: usize) -> Vec<CarrierId> {
    let hooked = |t: &&Task| matches!(t.start, Start::Tank { hooked: Some(_), .. });
    let begins = moves.iter().filter(|m| m.attach && !puts_down(p, moves, m)).take(frozen);
    p.tasks.iter().filter(hooked).map(|t| t.carrier).chain(begins.map(|m| m.carrier)).collect()
}

/// The moves without some carriers; what hangs is still put down.
fn without(p: &Problem, moves: &[Move], out: &[usize]) -> Vec<Move> {
    let stays = |m: &&Move| out.iter().all(|&i| p.tasks[i].carrier != m.carrier) || puts_down(p, moves, m);
    moves.iter().filter(stays).copied().collect()
}

/// True if a move is part of what is under way with a carrier that hangs.
fn puts_down(p: &Problem, moves: &[Move], m: &Move) -> bool {
    let hangs = p.task_of(m.carrier).is_some_and(|t| matches!(t.start, Start::Hook { .. }));
    hangs && moves.iter().filter(|o| o.carrier == m.carrier).take_while(|o| *o != m).all(|o| !o.release)
}
