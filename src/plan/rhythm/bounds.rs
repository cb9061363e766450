//! Periods that no order of moves can beat.

use super::problem::Problem;

/// Bounds from one resource each, in ms.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Bounds {
    /// All loaded moves and the least empty travel between them.
    pub crane: i64,
    /// For treatments `1..=n`: shortest stay and swap, shared by the tanks taken in turn.
    pub tank: Vec<i64>,
}

impl Bounds {
    pub fn of(problem: &Problem) -> Self {
        let jobs: Vec<usize> = (1..problem.jobs.len()).collect();
        let crane = problem.least_length(0) + rest(problem, 0, &jobs, &mut Reduction::default());
        Self { crane, tank: (1..=problem.links.len()).map(|i| tank(problem, i)).collect() }
    }

    /// The best of them.
    pub fn best(&self) -> i64 {
        self.tank.iter().copied().fold(self.crane, i64::max)
    }
}

/// A tank is taken from the start of the move that brings until the hoist is back with the next: soak and swap.
fn tank(problem: &Problem, treatment: usize) -> i64 {
    let n = problem.jobs.len();
    let link = &problem.links[treatment - 1];
    let taken = |i: usize| {
        let job = problem.jobs.iter().position(|j| j.first == i);
        let (Some(out), Some(into)) = (job, problem.jobs.iter().position(|j| j.last + 1 == i)) else {
            // A dip on the hook: hoist and tank are taken together, and the crane bound holds it already.
            return 0;
        };
        let back = problem.apart[out * n + into] + problem.least_length(out);
        // A job's first moves come before the one that brings.
        problem.links[i - 1].lo + back + problem.least_length(into)
    };
    let own = taken(treatment);
    own.div_euclid(link.places) + i64::from(own.rem_euclid(link.places) != 0)
}

/// Scratch for the reduction of a travel matrix.
#[derive(Debug, Default)]
pub(super) struct Reduction {
    cells: Vec<i64>,
}

/// From the start of the last move of job `last` until the first job starts again, when the jobs in `open` are still to be
/// done: every job has one way in and one way out, so the least of each row and then of each column must be gone
/// (J. D. C. Little, K. G. Murty, D. W. Sweeney and C. Karel, Operations Research 11(6), 972-989, 1963).
pub(super) fn rest(problem: &Problem, last: usize, open: &[usize], scratch: &mut Reduction) -> i64 {
    let n = problem.jobs.len();
    let width = open.len() + 1;
    let cells = &mut scratch.cells;
    cells.clear();
    let mut total = 0;
    for row in 0..width {
        let from = if row == 0 { last } else { open[row - 1] };
        let start = cells.len();
        for column in 0..width {
            let to = if column == 0 { 0 } else { open[column - 1] };
            // Out of the last job straight to the first only if nothing is left; no job follows itself.
            let barred = if row == 0 { column == 0 && width > 1 } else { row == column };
            cells.push(if barred { super::problem::NEVER } else { problem.gap[from * n + to] });
        }
        let least = cells[start..].iter().copied().min().unwrap_or(0);
        total += least;
        cells[start..].iter_mut().for_each(|c| *c -= least);
        if row > 0 {
            total += problem.least_length(from);
        }
    }
    total + (0..width).map(|c| (0..width).map(|r| cells[r * width + c]).min().unwrap_or(0)).sum::<i64>()
}
