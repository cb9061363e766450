//! The times of a rhythm once its order is known, and what keeps it from being shorter.

use super::branch::{Answer, behind};
use super::network::{Arc, Lifter, Why};
use super::problem::{Job, NEVER};

/// Starts of the moves in ms, counted from the load of the same period.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Times {
    /// When each move starts: in the middle of its play.
    pub start: Vec<i64>,
    /// How far each could start earlier or later if all others give way.
    pub play: Vec<i64>,
}

/// Times in the middle of what play there is. The mean of the earliest and the latest times keeps every constraint because
/// both do; rounding both members of a difference down keeps it because all bounds are whole.
pub(super) fn middle(moves: usize, answer: &Answer) -> Times {
    let plain = |a: &Arc| (a.from(), a.to(), a.least(answer.period));
    let there: Vec<(usize, usize, i64)> = answer.arcs.iter().map(plain).collect();
    let again: Vec<(usize, usize, i64)> = there.iter().map(|a| (a.1, a.0, a.2)).collect();
    let earliest = longest(moves, &there);
    let back = longest(moves, &again);
    let latest: Vec<i64> = back.iter().map(|d| -d).collect();
    let start = earliest.iter().zip(&latest).map(|(e, l)| (e + l).div_euclid(2)).collect();
    let play = earliest.iter().zip(&latest).map(|(e, l)| l - e).collect();
    Times { start, play }
}

/// Longest paths from move 0. There is no positive cycle, so as many rounds as moves are enough.
fn longest(moves: usize, arcs: &[(usize, usize, i64)]) -> Vec<i64> {
    let mut y = vec![-NEVER; moves];
    y[0] = 0;
    for _ in 0..moves {
        for &(from, to, w) in arcs {
            if y[from] > -NEVER {
                y[to] = y[to].max(y[from] + w);
            }
        }
    }
    y
}

/// The constraints on the cycle that forces the period, one for each reason.
pub(super) fn critical(moves: usize, answer: &Answer) -> Vec<Why> {
    let arcs = &answer.arcs;
    let mut lifter = Lifter::default();
    let mut y = vec![0; moves];
    // From a period of nothing up: the last cycle met is one that asks for exactly this period.
    let lifted = lifter.least(arcs, &mut y, 0, NEVER);
    debug_assert_eq!(lifted, Some(answer.period), "an adopted order keeps its period");
    let mut why: Vec<Why> = lifter.critical.iter().map(|ix| arcs[*ix].why).collect();
    why.sort_unstable();
    why.dedup();
    why
}

/// Starts counted from the carrier's own load instead of the period's.
pub(super) fn of_carrier(jobs: &[Job], answer: &Answer, start: &[i64]) -> Vec<i64> {
    let behind = behind(&answer.crossed);
    let mut own = start.to_vec();
    for (job, behind) in jobs.iter().zip(behind) {
        own[job.first..=job.last].iter_mut().for_each(|t| *t += behind * answer.period);
    }
    own
}
