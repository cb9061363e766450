//! Periods that no order of moves can beat.

use super::problem::{NEVER, Problem};

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
        let crane = problem.least_length(0) + Prices::of(problem).rest(problem, 0, &jobs);
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

/// Prices of leaving and entering each job, such that no empty way is cheaper than the two together and their sum is the most
/// there is: the dual of the assignment of a next job to every job (H. W. Kuhn, Naval Research Logistics Quarterly 2, 83-97,
/// 1955). Whatever is left to do costs at least the prices of the jobs concerned.
#[derive(Debug)]
pub(super) struct Prices {
    /// Price of leaving a job, in ms.
    leave: Vec<i64>,
    /// Price of entering a job, in ms.
    enter: Vec<i64>,
    /// `from * jobs + to`: what a way costs more than its prices, in ms.
    over: Vec<i64>,
    cells: Vec<i64>,
}

impl Prices {
    pub fn of(problem: &Problem) -> Self {
        let n = problem.jobs.len();
        let cost = |i: usize, j: usize| if i == j && n > 1 { NEVER } else { problem.gap[i * n + j] };
        let (leave, enter) = assign(n, &cost);
        let over = (0..n * n).map(|c| cost(c / n, c % n) - leave[c / n] - enter[c % n]).collect();
        Self { leave, enter, over, cells: Vec::new() }
    }

    /// From the start of the last move of job `last` until the first job starts again, when the jobs in `open` are still to be
    /// done: the prices, and what the least way out of and into each of them is over them
    /// (J. D. C. Little, K. G. Murty, D. W. Sweeney and C. Karel, Operations Research 11(6), 972-989, 1963).
    pub fn rest(&mut self, problem: &Problem, last: usize, open: &[usize]) -> i64 {
        let n = problem.jobs.len();
        let width = open.len() + 1;
        let mut total = self.leave[last] + self.enter[0];
        self.cells.clear();
        for row in 0..width {
            let from = if row == 0 { last } else { open[row - 1] };
            if row > 0 {
                total += self.leave[from] + self.enter[from] + problem.least_length(from);
            }
            let start = self.cells.len();
            let over = &self.over[from * n..(from + 1) * n];
            // Out of the last job straight to the first only if nothing is left.
            self.cells.push(if row == 0 && width > 1 { NEVER } else { over[0] });
            self.cells.extend(open.iter().map(|to| over[*to]));
            let least = self.cells[start..].iter().copied().min().unwrap_or(0);
            total += least;
            self.cells[start..].iter_mut().for_each(|c| *c -= least);
        }
        let cells = &self.cells;
        total + (0..width).map(|c| (0..width).map(|r| cells[r * width + c]).min().unwrap_or(0)).sum::<i64>()
    }
}

/// No round through all of `n` jobs is shorter, `cost` being that from each job to the next.
pub(super) fn least_round(n: usize, cost: &dyn Fn(usize, usize) -> i64) -> i64 {
    let (rows, columns) = assign(n, &|i, j| if i == j && n > 1 { NEVER } else { cost(i, j) });
    rows.iter().chain(&columns).sum()
}

/// Prices of rows and columns of an assignment, row by row along shortest ways to a free column.
fn assign(n: usize, cost: &dyn Fn(usize, usize) -> i64) -> (Vec<i64>, Vec<i64>) {
    let (mut rows, mut columns) = (vec![0; n], vec![0; n]);
    let mut taken: Vec<Option<usize>> = vec![None; n];
    for new in 0..n {
        let mut least = vec![(i64::MAX, None); n];
        let mut done = vec![false; n];
        let mut reached: Vec<usize> = Vec::new();
        let mut row = new;
        let mut via = None;
        let end = loop {
            let mut next = (i64::MAX, 0);
            for column in (0..n).filter(|c| !done[*c]) {
                let over = cost(row, column) - rows[row] - columns[column];
                if over < least[column].0 {
                    least[column] = (over, via);
                }
                next = next.min((least[column].0, column));
            }
            let (step, column) = next;
            rows[new] += step;
            for c in &reached {
                if let Some(r) = taken[*c] {
                    rows[r] += step;
                }
                columns[*c] -= step;
            }
            least
                .iter_mut()
                .enumerate()
                .filter(|(c, _)| !done[*c])
                .for_each(|(_, l)| l.0 = l.0.saturating_sub(step));
            done[column] = true;
            reached.push(column);
            match taken[column] {
                None => break column,
                Some(r) => (row, via) = (r, Some(column)),
            }
        };
        // Along the way back every column passes to the row before it.
        let mut column = end;
        while let Some(before) = least[column].1 {
            taken[column] = taken[before];
            column = before;
        }
        taken[column] = Some(new);
    }
    (rows, columns)
}
