//! All events of a shift with the state they fold to.

use std::collections::{BTreeMap, BTreeSet};

use super::apply::apply;
use super::change::{self, Change};
use super::event::{Event, Stamped};
use super::state::State;
use crate::ids::{Id as _, OrderId, Seq};
use crate::line::Line;
use crate::units::Time;

/// The events as they count: undone ones left out, retimed ones at their new time. An undo can itself be undone.
/// Numbers of orders and carriers stay what they were: what an undone change brought is there, and of no account.
pub fn effective(events: &[Stamped]) -> Vec<Stamped> {
    let later = Later::of(events);
    let mut orders = 0;
    let mut effective = Vec::with_capacity(events.len());
    for stamped in events {
        let at = later.time(stamped);
        let before = orders;
        orders += brought(&stamped.event);
        if !later.undoes(stamped) {
            effective.push(Stamped { at, ..stamped.clone() });
        } else if let Event::Changed { change, .. } = &stamped.event {
            let left = change::when_undone(change, OrderId::at(before));
            effective.extend(left.into_iter().map(|change| {
                let event = Event::Changed { change, why: String::new() };
                Stamped { at, event, ..stamped.clone() }
            }));
        }
    }
    effective
}

/// Each event that was not undone, without a copy, with the time it counts for. Numbers that undone changes brought are not
/// in it: for reading what happened, not for folding.
pub fn counting(events: &[Stamped]) -> Vec<(&Stamped, Time)> {
    let later = Later::of(events);
    events.iter().filter(|s| !later.undoes(s)).map(|s| (s, later.time(s))).collect()
}

/// What later events say about earlier ones.
struct Later {
    undone: BTreeSet<Seq>,
    retimed: BTreeMap<Seq, Time>,
}

impl Later {
    fn of(events: &[Stamped]) -> Self {
        let mut later = Self { undone: BTreeSet::new(), retimed: BTreeMap::new() };
        // Later words win, so read backwards: an undone undo must not take anything back.
        for stamped in events.iter().rev() {
            if later.undoes(stamped) {
                continue;
            }
            match stamped.event {
                Event::Undone { seq } => {
                    later.undone.insert(seq);
                }
                Event::Retimed { seq, at } => {
                    later.retimed.entry(seq).or_insert(at);
                }
                _ => {}
            }
        }
        later
    }

    fn undoes(&self, stamped: &Stamped) -> bool {
        self.undone.contains(&stamped.seq)
    }

    fn time(&self, stamped: &Stamped) -> Time {
        self.retimed.get(&stamped.seq).copied().unwrap_or(stamped.at)
    }
}

/// How many orders an event adds to the book.
fn brought(event: &Event) -> usize {
    match event {
        Event::Opened { book } => book.orders.len(),
        Event::Changed { change: Change::AddOrder { .. } | Change::Split { .. }, .. } => 1,
        _ => 0,
    }
}

/// Events and their fold. The only way to change a [`State`] outside a what-if.
#[derive(Debug, Clone)]
pub struct History {
    events: Vec<Stamped>,
    state: State,
}

impl History {
    /// A shift in which nothing has happened.
    pub fn new(line: &Line) -> Self {
        Self { events: Vec::new(), state: State::before(line) }
    }

    /// Folds a whole journal.
    pub fn of(line: &Line, events: Vec<Stamped>) -> Self {
        let state = fold(line, &events);
        Self { events, state }
    }

    /// A history that begins with what is so, for looking ahead: nothing that led there can be taken back.
    pub fn from_now_on(state: State) -> Self {
        Self { events: Vec::new(), state }
    }

    /// Takes one more event. An undo or a changed time folds the whole history again.
    pub fn push(&mut self, line: &Line, stamped: Stamped) {
        let rewrites = matches!(stamped.event, Event::Undone { .. } | Event::Retimed { .. });
        if rewrites {
            self.events.push(stamped);
            self.state = fold(line, &self.events);
        } else {
            apply(&mut self.state, line, &stamped);
            self.events.push(stamped);
        }
    }

    /// What is so now.
    pub fn state(&self) -> &State {
        &self.state
    }

    /// All events in journal order, undone ones included.
    pub fn events(&self) -> &[Stamped] {
        &self.events
    }

    /// The event that [`super::Command::Undo`] would take back.
    pub fn last_physical(&self) -> Option<&Stamped> {
        let seq = self.state.last_physical?;
        self.events.iter().rev().find(|s| s.seq == seq)
    }
}

fn fold(line: &Line, events: &[Stamped]) -> State {
    let mut state = State::before(line);
    for stamped in effective(events) {
        apply(&mut state, line, &stamped);
    }
    // Undone events leave gaps in the fold, not in the journal.
    state.seq = events.last().map_or(state.seq, |s| s.seq);
    state
}
