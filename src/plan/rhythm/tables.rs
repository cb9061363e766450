//! A published cyclic instance: one tank a treatment, travel from tables, load and unload at one place.

use super::branch::{self, Answer};
use super::problem::{Job, Link, NEVER, Problem};
use super::{Proof, times};
use crate::units::Dur;

/// A cyclic instance as the literature prints it. Treatment 0 is the load, treatment `n + 1` the unload at the same place.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Tables {
    /// Shortest soak of treatments `1..=n`.
    pub min: Vec<Dur>,
    /// Longest soak of treatments `1..=n`.
    pub max: Vec<Dur>,
    /// `loaded[i]`: carrying a part from treatment `i` to `i + 1`, for `0..=n`.
    pub loaded: Vec<Dur>,
    /// `empty[i][j]`: from where treatment `i + 1` is done to where `j` is done, for `0..=n` both.
    pub empty: Vec<Vec<Dur>>,
    /// Shortest and longest time at the load and unload station, where the instance holds a carrier to it.
    pub station: Option<(Dur, Dur)>,
}

/// The shortest 1-degree cycle of an instance.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TableRhythm {
    /// Length of the period.
    pub period: Dur,
    /// When move `i` begins in the period, for `0..=n`; the load begins at 0.
    pub removal: Vec<Dur>,
    /// How far the period is proven.
    pub proof: Proof,
}

/// Finds the shortest period with at most `nodes` nodes; `None` where the tables do not fit together or no cycle exists (which
/// only a station's window can cause).
pub fn rhythm_of_tables(tables: &Tables, nodes: u64) -> Option<TableRhythm> {
    let problem = tables.problem()?;
    let found = branch::search(&problem, NEVER, nodes);
    let answer: Answer = found.best?;
    let proof = Proof { optimal: found.bound >= answer.period, nodes: found.nodes, bound: Dur(found.bound) };
    let when = times::middle(problem.moves(), &answer);
    Some(TableRhythm {
        period: Dur(answer.period),
        removal: when.start.iter().map(|t| Dur(t.rem_euclid(answer.period))).collect(),
        proof,
    })
}

impl Tables {
    fn problem(&self) -> Option<Problem> {
        let moves = self.loaded.len();
        let fits = moves >= 2
            && self.min.len() + 1 == moves
            && self.max.len() + 1 == moves
            && self.empty.len() == moves
            && self.empty.iter().all(|row| row.len() == moves);
        if !fits {
            return None;
        }
        let limit = |base: Dur, max: Dur| if max.is_unlimited() { NEVER } else { (base + max).0 };
        let links = (1..moves)
            .map(|i| Link {
                lo: (self.loaded[i - 1] + self.min[i - 1]).0,
                hi: limit(self.loaded[i - 1], self.max[i - 1]),
                places: 1,
            })
            .collect();
        let jobs = (0..moves).map(|i| Job { first: i, last: i }).collect();
        let last = self.loaded[moves - 1];
        let station = self.station.map(|(min, max)| ((last + min).0, limit(last, max)));
        let gap = |a: usize, b: usize, _| (self.loaded[a] + self.empty[a][b]).0;
        Some(Problem::new(links, jobs, 1, station, Vec::new(), &gap))
    }
}
