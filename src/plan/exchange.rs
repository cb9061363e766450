//! Queued carriers that run the same recipe from the same stations may change places in a plan: the moves stay, only whose
//! they are changes. A search would have to take both out and find the same two ways again.

use std::collections::BTreeMap;

use super::problem::{Problem, Start, weight};
use super::way::Rules;
use crate::ids::{CarrierId, RecipeId, TankId};
use crate::schedule::Move;
use crate::units::{Dur, Time};

/// The moves with carriers exchanged so that promises are kept better; `None` if no exchange helps. Carriers of the first
/// `frozen` hauls, and those a person has put in an order, stay where they are.
pub(super) fn exchanged(
    problem: &Problem,
    moves: &[Move],
    rules: &Rules,
    frozen: usize,
    retimed: impl Fn(&Problem, &[Move], &Rules) -> Option<Vec<Move>>,
) -> Option<Vec<Move>> {
    let fixed: Vec<CarrierId> = moves.iter().filter(|m| m.attach).take(frozen).map(|m| m.carrier).collect();
    let mut alike: BTreeMap<(RecipeId, &[TankId]), Vec<CarrierId>> = BTreeMap::new();
    for task in &problem.tasks {
        if let Start::Queued { stations, .. } = &task.start
            && task.rank.is_none()
            && !fixed.contains(&task.carrier)
            && moves.iter().any(|m| m.carrier == task.carrier)
        {
            alike.entry((task.recipe, stations)).or_default().push(task.carrier);
        }
    }
    let mut best: Option<(Dur, Vec<Move>)> = None;
    for carriers in alike.into_values().filter(|c| c.len() > 1) {
        let current = best.as_ref().map_or(moves, |(_, m)| m);
        let had = late(problem, current);
        // The ways by their ends, and the carriers by what is promised: rush first, then the soonest.
        let mut ways = carriers.clone();
        ways.sort_by_key(|c| end(current, *c));
        let mut wanted = carriers;
        wanted.sort_by_key(|c| {
            let task = problem.task_of(*c);
            let due = task.and_then(|t| t.due).unwrap_or(Time::FAR);
            (task.map(|t| t.priority), due, end(current, *c))
        });
        if ways == wanted {
            continue;
        }
        let whose: BTreeMap<CarrierId, CarrierId> = ways.into_iter().zip(wanted).collect();
        let moved: Vec<Move> = current
            .iter()
            .map(|m| Move { carrier: whose.get(&m.carrier).copied().unwrap_or(m.carrier), ..*m })
            .collect();
        if let Some(timed) = retimed(problem, &moved, rules) {
            let has = late(problem, &timed);
            if has < had {
                best = Some((has, timed));
            }
        }
    }
    best.map(|(_, moves)| moves)
}

fn end(moves: &[Move], carrier: CarrierId) -> Time {
    moves.iter().rev().find(|m| m.carrier == carrier).map_or(Time::FAR, |m| m.start)
}

/// Lateness in all, weighted by priority.
fn late(problem: &Problem, moves: &[Move]) -> Dur {
    let mut last: BTreeMap<CarrierId, &Move> = BTreeMap::new();
    for m in moves {
        last.insert(m.carrier, m);
    }
    let by = |m: &Move| {
        let task = problem.task_of(m.carrier)?;
        let down = m.start + m.phases(problem.line, &problem.state.book)?.to_down();
        Some((down - task.due?).or_zero() * weight(task.priority))
    };
    last.values().filter_map(|m| by(m)).sum()
}
