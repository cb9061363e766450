//! Searches of one problem that go on together: each tries something with the order that any of them has got to.

use std::sync::{Mutex, MutexGuard, PoisonError};

use super::cost::Cost;
use super::draft::{Draft, Order};

/// What they share. All are given the same problem and the same moves, with seeds of their own.
#[derive(Default)]
pub struct Team(Mutex<Option<Common>>);

struct Common {
    current: Order,
    current_cost: Cost,
    /// Counts the orders there were.
    turn: u64,
    best: Order,
    best_cost: Cost,
    /// Tries in a row that led nowhere.
    stale: usize,
}

impl Common {
    fn new(draft: &Draft) -> Self {
        let cost = Cost::of(draft);
        let (current, best) = (draft.order(), draft.order());
        Self { current, current_cost: cost, turn: 0, best, best_cost: cost, stale: 0 }
    }
}

/// What one try begins with.
#[derive(Clone, Copy)]
pub(super) struct From {
    pub(super) cost: Cost,
    /// It may lead to something worse.
    pub(super) kick: bool,
    turn: u64,
}

impl From {
    /// The same, but what comes of it is no kick.
    pub(super) fn without_kick(self) -> Self {
        Self { kick: false, ..self }
    }
}

impl Team {
    fn common(&self) -> MutexGuard<'_, Option<Common>> {
        // What is inside is whole at any time: it is changed in one go.
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Begins with an order, unless somebody did. True for the first.
    pub(super) fn join(&self, draft: &Draft) -> bool {
        let mut common = self.common();
        let first = common.is_none();
        common.get_or_insert_with(|| Common::new(draft));
        first
    }

    /// Begins with an order, whatever there was.
    pub(super) fn begin_anew(&self, draft: &Draft) {
        *self.common() = Some(Common::new(draft));
    }

    /// Sets a draft to what is gone on from.
    pub(super) fn set(&self, draft: &mut Draft) {
        if let Some(c) = self.common().as_ref() {
            draft.set(&c.current);
        }
    }

    /// The same for one try. After so many tries that led nowhere it is a kick, and `again` says whether to
    /// go back to the best before.
    pub(super) fn begin(&self, draft: &mut Draft, patience: usize, again: impl FnOnce() -> bool) -> From {
        let mut common = self.common();
        let Some(c) = common.as_mut() else { return From { cost: Cost::of(draft), kick: false, turn: 0 } };
        let kick = c.stale > patience;
        if kick && c.current_cost.main() > c.best_cost.main() && again() {
            c.current.clone_from(&c.best);
            c.current_cost = c.best_cost;
            c.turn += 1;
        }
        draft.set(&c.current);
        From { cost: c.current_cost, kick, turn: c.turn }
    }

    /// Takes what a try came to, if it came to anything and nobody was quicker with something better.
    pub(super) fn end(&self, from: From, cost: Option<Cost>, draft: &Draft) {
        let mut common = self.common();
        let Some(c) = common.as_mut() else { return };
        c.stale += 1;
        let Some(cost) = cost.filter(|cost| from.turn == c.turn || *cost < c.current_cost) else { return };
        if from.kick || cost.main() < c.current_cost.main() {
            c.stale = 0;
        }
        if cost < c.best_cost {
            c.best_cost = cost;
            draft.keep(&mut c.best);
        }
        c.current_cost = cost;
        draft.keep(&mut c.current);
        c.turn += 1;
    }

    /// Takes an order that was made some other way, if it is the best.
    pub(super) fn offer(&self, draft: &Draft) {
        let mut common = self.common();
        let Some(c) = common.as_mut() else { return };
        let cost = Cost::of(draft);
        if cost < c.best_cost {
            (c.best_cost, c.current_cost) = (cost, cost);
            draft.keep(&mut c.best);
            draft.keep(&mut c.current);
            c.turn += 1;
        }
    }

    /// Sets a draft to the best, if that costs less.
    pub(super) fn best_below(&self, limit: Cost, draft: &mut Draft) -> bool {
        let common = self.common();
        let Some(c) = common.as_ref().filter(|c| c.best_cost < limit) else { return false };
        draft.set(&c.best);
        true
    }
}
