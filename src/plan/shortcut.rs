//! Standby water that a plan no longer needs. A load was to wait there while others were in its way; once they are not, the
//! order still leads through it, and a search that counts ends sees nothing to gain.

use super::construct::{if_it_holds, worth};
use super::problem::{Problem, Start};
use super::way::{Rules, Way};
use crate::line::Visit;
use crate::schedule::Move;
use crate::units::Dur;

/// Who has set out to lift a load, or is about to, still lifts it then.
const SET_OUT: Dur = Dur::from_secs(30);

/// The moves without each wait in standby water that costs nothing to leave out. The first `frozen` hauls stay.
pub(super) fn direct(problem: &Problem, mut moves: Vec<Move>, rules: &Rules, frozen: usize) -> Vec<Move> {
    let mut hauls = 0;
    let mut at = 0;
    while at < moves.len() {
        hauls += usize::from(moves[at].attach);
        let shorter = (hauls > frozen).then(|| without(problem, &moves, at, rules)).flatten();
        match shorter {
            Some(shorter) => moves = shorter,
            None => at += 1,
        }
    }
    moves
}

/// The moves without the wait that the move at `at` begins: the load goes on at once, or stays where it is until it would
/// have gone on. `None` if it begins none, or something would be worse.
fn without(problem: &Problem, moves: &[Move], at: usize, rules: &Rules) -> Option<Vec<Move>> {
    let into = &moves[at];
    if !matches!(into.visit, Visit::Hold(_)) || !into.attach || into.is_put_back() {
        return None;
    }
    let behind = |m: &&Move| m.carrier == into.carrier;
    let mut onward: Vec<Move> = Vec::new();
    for m in moves[at + 1..].iter().filter(behind) {
        onward.push(*m);
        if m.release {
            break;
        }
    }
    let (first, last) = (onward.first()?, onward.last()?);
    let task = problem.task_of(into.carrier)?;
    if matches!(task.start, Start::Hook { leaves, .. } if leaves == into.leaves) {
        // It hangs: whatever else its hoist does comes after.
        return None;
    }
    let hauls = problem.hauls(task, into.leaves, into.from, None);
    let mut direct: Vec<_> =
        hauls.iter().filter(|h| (h.last().to, h.last().visit) == (last.to, last.visit)).collect();
    direct.sort_by_key(|h| h.hoist != into.hoist);
    let stays = |m: &&Move| *m != into && !onward.contains(m);
    let least = worth(problem, moves).decides();
    let soon = into.start <= problem.now + SET_OUT;
    let starts = [first.start, into.start];
    let ways =
        starts.iter().skip(usize::from(soon)).flat_map(|start| direct.iter().map(move |h| (*h, *start)));
    let tried = ways.filter_map(|(haul, start)| {
        let before = |m: &&Move| m.start < start || (m.start == start && moves[..at].contains(m));
        let (mut all, rest): (Vec<Move>, Vec<Move>) = moves.iter().filter(stays).partition(before);
        all.extend(Way { hauls: vec![(haul.clone(), start)] }.moves(task));
        all.extend(rest);
        if_it_holds(problem, &all, rules)
    });
    tried.into_iter().find(|shorter| worth(problem, shorter).decides() <= least)
}
