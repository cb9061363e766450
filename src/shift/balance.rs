//! Where the parts are. What went in is all the rest together, carrier by carrier and summed up by order; what is missing
//! is what does not come out of it.

use std::collections::BTreeMap;

use super::ledger::{Count, Entry, Inspection, Ledger};
use super::state::{Place, State};
use crate::ids::{CarrierId, OrderId, TankId};
use crate::units::Time;

/// What hung on a carrier for one way through the line, and what was counted when it came off.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Round {
    /// Parts on it.
    pub racked: i64,
    /// What came off; `None` before it is unracked.
    pub count: Option<Count>,
}

/// Where the parts of an order are. What was received is all the rest together:
/// `received = waiting + to_start + on_line + to_count + good + rework + scrap + returned + found + missing`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Counts {
    /// Counted in.
    pub received: i64,
    /// Not racked on any carrier.
    pub waiting: i64,
    /// On carriers that wait to start.
    pub to_start: i64,
    /// On carriers in a tank or on a hook.
    pub on_line: i64,
    /// On carriers that are finished or off the line and not counted out yet.
    pub to_count: i64,
    /// Counted out as they should be.
    pub good: i64,
    /// Counted out to be run again, and not racked again yet.
    pub rework: i64,
    /// Counted out as lost.
    pub scrap: i64,
    /// Given back as they came.
    pub returned: i64,
    /// Found in a tank.
    pub found: i64,
    /// Racked, not counted out and not found; negative if more came out than went in, which is refused now.
    pub missing: i64,
}

impl Count {
    /// Parts that hang on the carrier once it is stripped and run again: those counted for rework, or all good ones where
    /// the load as a whole was turned down.
    pub fn again(self) -> u32 {
        if self.rework > 0 { self.rework } else { self.good }
    }
}

impl Ledger {
    /// The rounds of a carrier, the present one last.
    pub fn rounds(&self, state: &State, carrier: CarrierId) -> Vec<Round> {
        let mut rounds = vec![Round { racked: i64::from(state.book.carriers[carrier].parts), count: None }];
        let mut again = self.reruns.iter().filter(|(c, _)| *c == carrier).map(|(_, n)| *n).peekable();
        for (n, entry) in self.entries.iter().map(|e| Some(&e.entry)).chain([None]).enumerate() {
            let mut now = rounds[rounds.len() - 1];
            while again.next_if(|before| *before <= n).is_some() {
                if let Some(count) = now.count {
                    now = Round { racked: i64::from(count.again()), count: None };
                    rounds.push(now);
                }
            }
            match entry {
                Some(Entry::Racked { carrier: c, parts }) if *c == carrier => now.racked = i64::from(*parts),
                Some(Entry::Unracked { carrier: c, count }) if *c == carrier => now.count = Some(*count),
                _ => continue,
            }
            if let Some(last) = rounds.last_mut() {
                *last = now;
            }
        }
        rounds
    }

    /// Where the parts of an order are.
    pub fn counts(&self, state: &State, order: OrderId) -> Counts {
        let mut counts = Counts { received: self.received(state, order), ..Counts::default() };
        counts.found = self.found_in(order, None);
        counts.returned = since_none(self.entries.iter().filter_map(|e| match &e.entry {
            Entry::Returned { order: o, parts } if *o == order => Some(*parts),
            _ => None,
        }));
        counts.waiting = counts.received - counts.returned;
        for (id, _) in state.book.carriers.iter().filter(|(_, c)| c.order == order) {
            self.add(state, id, &mut counts);
        }
        counts.missing -= counts.found;
        counts
    }

    /// Parts of an order that were found, in one tank or in all.
    pub fn found_in(&self, order: OrderId, tank: Option<TankId>) -> i64 {
        let mut by_tank: BTreeMap<TankId, Vec<u32>> = BTreeMap::new();
        for e in &self.entries {
            match &e.entry {
                Entry::Found { order: o, tank: t, parts }
                    if *o == order && tank.is_none_or(|only| only == *t) =>
                {
                    by_tank.entry(*t).or_default().push(*parts);
                }
                _ => {}
            }
        }
        by_tank.into_values().map(|parts| since_none(parts.into_iter())).sum()
    }

    /// Adds the parts of one carrier.
    fn add(&self, state: &State, carrier: CarrierId, counts: &mut Counts) {
        let mut rounds = self.rounds(state, carrier);
        // What is cancelled before it starts goes back to where it came from.
        if state.standing.cancelled.contains(&carrier) && rounds.last().is_some_and(|r| r.count.is_none()) {
            rounds.pop();
        }
        counts.waiting -= rounds.first().map_or(0, |round| round.racked);
        for (k, round) in rounds.iter().enumerate() {
            let Some(count) = round.count else {
                *match state.carriers[carrier].place {
                    Place::Queued => &mut counts.to_start,
                    Place::InTank { .. } | Place::OnHook { .. } => &mut counts.on_line,
                    Place::Finished { .. } | Place::OffLine => &mut counts.to_count,
                } += round.racked;
                continue;
            };
            let again = rounds.get(k + 1).map_or(0, |next| next.racked);
            let of_rework = again.min(i64::from(count.rework));
            counts.good += i64::from(count.good) - (again - of_rework);
            counts.rework += i64::from(count.rework) - of_rework;
            counts.scrap += i64::from(count.scrap);
            counts.missing += round.racked - count.all();
        }
    }

    /// Parts of an order that came in: as they were counted, or as the order says.
    pub fn received(&self, state: &State, order: OrderId) -> i64 {
        let said = self.entries.iter().rev().find_map(|e| match e.entry {
            Entry::Received { order: o, parts } if o == order => Some(parts),
            _ => None,
        });
        i64::from(said.unwrap_or(state.book.orders[order].parts))
    }

    /// The present round of a carrier.
    fn round(&self, state: &State, carrier: CarrierId) -> Round {
        let rounds = self.rounds(state, carrier);
        rounds[rounds.len() - 1]
    }

    /// Parts on a carrier when it was racked, the last time.
    pub fn racked(&self, state: &State, carrier: CarrierId) -> i64 {
        self.round(state, carrier).racked
    }

    /// What was counted when a carrier was unracked; the last word counts. `None` again while it is run once more.
    pub fn unracked(&self, state: &State, carrier: CarrierId) -> Option<Count> {
        self.round(state, carrier).count
    }

    /// By how many parts a carrier came out short; negative if there were more. `None` before it is unracked.
    pub fn short(&self, state: &State, carrier: CarrierId) -> Option<i64> {
        let round = self.round(state, carrier);
        Some(round.racked - round.count?.all())
    }

    /// What was seen on a carrier last, since it was run again if it was.
    pub fn inspected(&self, carrier: CarrierId) -> Option<&Inspection> {
        let since = self.reruns.iter().rev().find(|(c, _)| *c == carrier).map_or(0, |(_, n)| *n);
        self.entries[since..].iter().rev().find_map(|e| match &e.entry {
            Entry::Inspected { carrier: c, seen } if *c == carrier => Some(seen),
            _ => None,
        })
    }

    /// The carrier is stripped and run again from here on.
    pub(super) fn run_again(&mut self, carrier: CarrierId) {
        self.reruns.push((carrier, self.entries.len()));
    }

    /// Some carriers of an order are an order of their own now, with what hangs on them; the book knows it already.
    pub(super) fn split(
        &mut self,
        state: &State,
        from: OrderId,
        to: OrderId,
        carriers: &[CarrierId],
        at: Time,
    ) {
        let hangs: i64 = carriers.iter().map(|c| self.rounds(state, *c)[0].racked).sum();
        let by_book = i64::from(state.book.orders[to].parts);
        let counted =
            self.entries.iter().any(|e| matches!(e.entry, Entry::Received { order, .. } if order == from));
        let before = self.received(state, from) + if counted { 0 } else { by_book };
        for (order, parts, known) in [(from, before - hangs, !counted), (to, hangs, true)] {
            if known && hangs == by_book {
                continue;
            }
            let parts = u32::try_from(parts.max(0)).unwrap_or(u32::MAX);
            self.entries.push(super::ledger::Entered { at, entry: Entry::Received { order, parts } });
        }
    }
}

/// The sum of what was entered one after the other; none takes back what was entered before it.
fn since_none(parts: impl Iterator<Item = u32>) -> i64 {
    parts.fold(0, |sum, parts| if parts == 0 { 0 } else { sum + i64::from(parts) })
}
