//! What an order is worth, first thing first: lateness, then the end of the work, then how early each carrier is out.

use super::core::Core;
use super::draft::Draft;

/// Smaller is better, from the first figure on. Also a lower bound while an order is not complete.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Cost {
    /// Lateness, weighted by priority, in milliseconds.
    pub late: i64,
    /// The end of the last haul.
    pub end: i64,
    /// The sum of all ends.
    pub sum: i64,
}

impl Cost {
    /// Worse than anything.
    pub const WORST: Self = Self { late: i64::MAX, end: i64::MAX, sum: i64::MAX };

    /// The cost of what is in; jobs of which nothing is in count with the least they can end.
    pub fn of(draft: &Draft) -> Self {
        Self::of_ends(draft.core, (0..draft.core.jobs.len()).map(|j| draft.end_at_least(j)))
    }

    /// The cost of jobs that end then, in their order.
    pub fn of_ends(core: &Core, ends: impl Iterator<Item = i64>) -> Self {
        let mut cost = Self { late: 0, end: 0, sum: 0 };
        for (job, end) in core.jobs.iter().zip(ends) {
            cost.end = cost.end.max(end);
            cost.sum += end;
            if let Some((due, weight)) = job.due {
                cost.late += (end - due).max(0) * weight;
            }
        }
        cost
    }

    /// What matters; the sum of all ends only leads there.
    pub fn main(self) -> (i64, i64) {
        (self.late, self.end)
    }

    /// The cost a little worse than this, by a share of the time that is left.
    pub fn loosened(self, now: i64, share: f64) -> Self {
        let slack = ((self.end - now) as f64 * share) as i64;
        Self { late: if self.late > 0 { self.late + slack } else { 0 }, end: self.end + slack, sum: i64::MAX }
    }
}
