//! All events of a shift with the state they fold to.

use std::borrow::Cow;
use std::collections::BTreeMap;
use std::sync::Arc;

use super::apply::apply;
use super::change::{self, Change};
use super::event::{Event, Stamped};
use super::state::State;
use crate::ids::{CarrierId, Id as _, OrderId, Seq};
use crate::line::Line;
use crate::units::Time;

/// The events as they count: undone ones left out, retimed ones at their new time. An undo can itself be undone.
/// Numbers of orders and carriers stay what they were: what an undone change brought is there, and of no account. What
/// stands as it was said is not copied.
pub fn effective(events: &[Stamped]) -> Vec<Cow<'_, Stamped>> {
    let later = Later::of(events);
    let mut orders = 0;
    let mut effective = Vec::with_capacity(events.len());
    for stamped in events.iter().filter(|s| !later.is_hollow(s)) {
        let at = later.time(stamped);
        let before = orders;
        orders += brought(&stamped.event);
        if !later.undoes(stamped) && at == stamped.at {
            effective.push(Cow::Borrowed(stamped));
        } else if !later.undoes(stamped) {
            effective.push(Cow::Owned(Stamped { at, ..stamped.clone() }));
        } else if let Event::Changed { change, .. } = &stamped.event {
            let left = change::when_undone(change, OrderId::at(before));
            effective.extend(left.into_iter().map(|change| {
                let event = Event::Changed { change, why: String::new() };
                Cow::Owned(Stamped { at, event, ..*stamped })
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
    /// What was taken back, and what took it back.
    undone: BTreeMap<Seq, Seq>,
    retimed: BTreeMap<Seq, Time>,
    /// Where a carrier was said to be and was not, from one event to another: alarms of it in between were about nothing.
    hollow: Vec<(CarrierId, Seq, Seq)>,
}

impl Later {
    fn of(events: &[Stamped]) -> Self {
        let mut later = Self { undone: BTreeMap::new(), retimed: BTreeMap::new(), hollow: Vec::new() };
        // Later words win, so read backwards: an undone undo must not take anything back.
        for stamped in events.iter().rev() {
            if let Some(by) = later.undone.get(&stamped.seq) {
                let moved = stamped.event.moved();
                later.hollow.extend(moved.map(|carrier| (carrier, stamped.seq, *by)));
                continue;
            }
            match stamped.event {
                Event::Undone { seq } => {
                    later.undone.insert(seq, stamped.seq);
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
        self.undone.contains_key(&stamped.seq)
    }

    /// True for an alarm about where a carrier was not.
    fn is_hollow(&self, stamped: &Stamped) -> bool {
        let within = |(carrier, from, to): &(CarrierId, Seq, Seq)| {
            (*from..*to).contains(&stamped.seq)
                && stamped.event.condition().is_some_and(|k| k.carrier == *carrier)
        };
        self.hollow.iter().any(within)
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
///
/// A copy shares the events with the original until one of them goes on.
#[derive(Debug, Clone)]
pub struct History {
    events: Arc<Vec<Stamped>>,
    /// How many of them are this history's.
    count: usize,
    state: State,
}

impl History {
    /// A shift in which nothing has happened.
    pub fn new(line: &Line) -> Self {
        Self::from_now_on(State::before(line))
    }

    /// Folds a whole journal.
    pub fn of(line: &Line, events: Vec<Stamped>) -> Self {
        let state = fold(line, &events);
        Self { count: events.len(), events: Arc::new(events), state }
    }

    /// A history that begins with what is so, for looking ahead: nothing that led there can be taken back.
    pub fn from_now_on(state: State) -> Self {
        Self { events: Arc::default(), count: 0, state }
    }

    /// The history up to the first `count` events of a longer one, whose fold is known to be `state`.
    pub(crate) fn up_to(events: &Arc<Vec<Stamped>>, count: usize, state: State) -> Self {
        Self { events: Arc::clone(events), count: count.min(events.len()), state }
    }

    /// Takes one more event. An undo or a changed time folds the whole history again.
    pub fn push(&mut self, line: &Line, mut stamped: Stamped) {
        self.make_small(&mut stamped.event);
        let rewrites = stamped.event.rewrites();
        if !rewrites {
            apply(&mut self.state, line, &stamped);
        }
        self.own().push(stamped);
        self.count += 1;
        if rewrites {
            self.state = fold(line, self.events());
        }
    }

    /// Has a plan told by one before it: whole plans would take nearly all of the room of a history.
    fn make_small(&self, event: &mut Event) {
        let Event::PlanAdopted { plan } = event else { return };
        let mut earlier = self.events().iter().rev();
        let before = earlier.find_map(|s| match &s.event {
            Event::PlanAdopted { plan } => Some(plan),
            _ => None,
        });
        if let Some(before) = before
            && plan.is_whole()
        {
            *plan = before.then(&plan.schedule());
        }
    }

    /// The events, shared with nobody and with nothing after them.
    fn own(&mut self) -> &mut Vec<Stamped> {
        if Arc::get_mut(&mut self.events).is_none() {
            self.events = Arc::new(self.events().to_vec());
        }
        let events = Arc::get_mut(&mut self.events).expect("it was made just now if anybody else had it");
        events.truncate(self.count);
        events
    }

    /// What is so now.
    pub fn state(&self) -> &State {
        &self.state
    }

    /// All events in journal order, undone ones included.
    pub fn events(&self) -> &[Stamped] {
        &self.events[..self.count]
    }

    /// The event that [`super::Command::Undo`] would take back.
    pub fn last_physical(&self) -> Option<&Stamped> {
        let seq = self.state.last_physical?;
        self.events().iter().rev().find(|s| s.seq == seq)
    }
}

pub(crate) fn fold(line: &Line, events: &[Stamped]) -> State {
    let mut state = State::before(line);
    for stamped in effective(events) {
        apply(&mut state, line, &stamped);
    }
    // Undone events leave gaps in the fold, not in the journal.
    state.seq = events.last().map_or(state.seq, |s| s.seq);
    state
}
