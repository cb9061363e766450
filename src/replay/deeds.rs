//! Every pick and place of a shift with the call that stood then.
//!
//! 1. The call is the first move left of the plan in force when the deed was said; with several hoists, of the hoist that
//!    did it. What was taken back does not count; what was retimed counts at its new time.
//! 2. A pick is due when the plan lifts. A later plan may put a call off that was not due yet; one that was due stays due.
//!    But nobody begins a pick while busy with something else: it is due no sooner than the last pick or place that the
//!    same person confirmed, on whichever hoist.
//! 3. A pick follows the call if carrier, tank and hoist are the ones called, however late; a place, if the tank is. Where
//!    the load was found in another tank later, it was put there, whatever was said.

use std::collections::BTreeMap;

use crate::ids::{CarrierId, HoistId, Seq, TankId};
use crate::line::{Line, Visit};
use crate::plan::remaining;
use crate::schedule::Move;
use crate::shift::{Change, Claim, Event, History, Place, Stamped, State, Who, apply, effective};
use crate::units::{Dur, Time};

/// A pick or a place that was done.
#[derive(Debug, Clone, PartialEq)]
pub struct Deed {
    /// The event that says so.
    pub seq: Seq,
    /// When it was done.
    pub at: Time,
    /// Who said so.
    pub by: Who,
    /// With which carrier.
    pub carrier: CarrierId,
    /// By which hoist.
    pub hoist: HoistId,
    /// What.
    pub does: Does,
    /// The move that was called then, if any was.
    pub called: Option<Move>,
    /// When a pick was due by that call.
    pub due: Option<Time>,
    /// It was what the call said.
    pub followed: bool,
}

/// What was done.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Does {
    /// Lifted out of a tank.
    Pick {
        /// The tank.
        from: TankId,
        /// Why it was there.
        leaves: Visit,
    },
    /// Put into a tank.
    Place {
        /// The tank.
        to: TankId,
        /// What that makes of it.
        visit: Visit,
    },
}

impl Deed {
    /// From the instant a pick was due to the pick; a pick before that counts as none. `None` where no call was followed.
    pub fn reaction(&self) -> Option<Dur> {
        let due = self.due.filter(|_| self.followed)?;
        Some((self.at - due).or_zero())
    }

    /// True for a pick.
    pub fn is_pick(&self) -> bool {
        matches!(self.does, Does::Pick { .. })
    }
}

/// A pick that was called and that nobody made.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Ignored {
    /// The call.
    pub called: Move,
    /// When it was due.
    pub due: Time,
    /// Until when it stood: a plan that was made meanwhile may call for something else.
    pub until: Time,
}

/// Whoever takes longer than this for a pick is not on the way to it.
const ON_THE_WAY: Dur = Dur::from_mins(1);

/// All deeds of a shift, in the order in which they were said.
pub fn deeds(line: &Line, history: &History) -> Vec<Deed> {
    fold(line, history).deeds
}

impl Ignored {
    fn is_of(&self, carrier: CarrierId, leaves: Visit) -> bool {
        (self.called.carrier, self.called.leaves) == (carrier, leaves)
    }
}

/// The picks that were due for a while, while their hoist hung free and was not said to stand, and that nobody has made by
/// `now`.
pub fn ignored(line: &Line, history: &History, now: Time) -> Vec<Ignored> {
    let folded = fold(line, history);
    let standing =
        line.hoists.ids().filter_map(|h| folded.waits_for(h, now)).filter(|i| now - i.due > ON_THE_WAY);
    let mut all = folded.lapsed.clone();
    all.extend(standing);
    all
}

/// The calls for a hoist that nobody answered while they stood, since something was last done with it.
pub fn unanswered(line: &Line, history: &History, hoist: HoistId) -> Vec<Ignored> {
    let folded = fold(line, history);
    let last = folded.deeds.iter().rfind(|d| d.hoist == hoist).map_or(Time::ZERO, |d| d.at);
    let since = |i: &Ignored| i.called.hoist == hoist && i.due >= last;
    folded.lapsed.into_iter().filter(since).collect()
}

/// A pick that was due for longer was not only slow: the crane stood, or nobody was there.
const SLOW: Dur = Dur::from_mins(2);

/// From when to when cranes had something to pick for longer than two minutes each time, whether it was picked in the end or
/// not. A crane that stands without anybody saying so is seen by nothing else.
pub fn stood(line: &Line, history: &History, now: Time) -> Vec<(Time, Time)> {
    let mut waits = waits(line, history, now);
    waits.retain(|(since, until)| *until - *since >= SLOW);
    waits
}

/// How long spans are in all.
pub fn length(spans: &[(Time, Time)]) -> Dur {
    spans.iter().map(|(from, until)| *until - *from).sum()
}

/// From when to when each hoist that was free and not said to stand had a pick due, whichever, until somebody did something.
fn waits(line: &Line, history: &History, now: Time) -> Vec<(Time, Time)> {
    let folded = fold(line, history);
    let mut waits = folded.waits.clone();
    for hoist in line.hoists.ids() {
        let since = folded.waiting.get(&hoist).copied();
        let due = folded.waits_for(hoist, now).map(|i| i.due);
        waits.extend(since.into_iter().chain(due).min().map(|since| (since, now)));
    }
    waits
}

/// A shift gone through once.
struct Folded {
    deeds: Vec<Deed>,
    state: State,
    hands: Hands,
    /// Calls that nobody answered while they stood, and that were not made later.
    lapsed: Vec<Ignored>,
    /// Since when each hoist has had a pick due, if it has.
    waiting: BTreeMap<HoistId, Time>,
    /// From when to when that was each time it was over.
    waits: Vec<(Time, Time)>,
}

impl Folded {
    /// The pick that is due for a hoist.
    fn waits_for(&self, hoist: HoistId, now: Time) -> Option<Ignored> {
        let state = &self.state;
        // During a dip on the hook the lift out is a pick like any other.
        let hangs = |c: CarrierId| matches!(state.carriers[c].place, Place::OnHook { .. });
        if state.hoists[hoist].carrier.is_some_and(hangs) || state.standing.stop(hoist, now).is_some() {
            return None;
        }
        let called = first_left(state, hoist).filter(|m| m.hoist == hoist)?;
        let due = self.hands.not_before(self.hands.of(hoist), due_of(state, &called)?);
        (due <= now).then_some(Ignored { called, due, until: now })
    }

    /// Another plan is adopted: calls that stood may stand no longer.
    fn adopts(&mut self, line: &Line, stamped: &Stamped) {
        let at = stamped.at;
        let had: Vec<_> = line.hoists.ids().filter_map(|h| self.waits_for(h, at)).collect();
        apply(&mut self.state, line, stamped);
        for call in had {
            let hoist = call.called.hoist;
            self.waiting.entry(hoist).or_insert(call.due);
            let now = self.waits_for(hoist, at);
            if now.is_none() {
                self.rests(hoist, at);
            }
            let goes_on = now.is_some_and(|i| i.is_of(call.called.carrier, call.called.leaves));
            let known = self.lapsed.iter().any(|i| i.is_of(call.called.carrier, call.called.leaves));
            if !goes_on && !known && at - call.due > ON_THE_WAY {
                self.lapsed.push(call);
            }
        }
    }

    /// Nothing is due any more for a hoist.
    fn rests(&mut self, hoist: HoistId, at: Time) {
        let since = self.waiting.remove(&hoist);
        self.waits.extend(since.map(|since| (since, at.max(since))));
    }

    fn did(&mut self, deed: Deed) {
        if let Does::Pick { leaves, .. } = deed.does {
            self.lapsed.retain(|i| !i.is_of(deed.carrier, leaves));
        }
        let due = self.waits_for(deed.hoist, deed.at).map(|i| i.due);
        if let Some(due) = due {
            self.waiting.entry(deed.hoist).or_insert(due);
        }
        self.hands.did(&deed);
        let hands = self.hands.works.iter().filter(|(_, who)| **who == deed.by).map(|(h, _)| *h);
        for hoist in hands.collect::<Vec<_>>() {
            self.rests(hoist, deed.at);
        }
        self.deeds.push(deed);
    }
}

fn fold(line: &Line, history: &History) -> Folded {
    let mut folded = Folded {
        deeds: Vec::new(),
        state: State::before(line),
        hands: Hands::default(),
        lapsed: Vec::new(),
        waiting: BTreeMap::new(),
        waits: Vec::new(),
    };
    for stamped in effective(history.events()) {
        let (seq, at, by) = (stamped.seq, stamped.at, stamped.by);
        let (state, hands) = (&folded.state, &folded.hands);
        let deed = match stamped.event {
            Event::Lifted { carrier, hoist, from } => {
                let leaves = leaves(state, carrier);
                let called = first_left(state, hoist);
                let followed = called.is_some_and(|m| {
                    (m.carrier, m.from, m.hoist, m.leaves) == (carrier, from, hoist, leaves)
                });
                let due = called.and_then(|m| due_of(state, &m)).map(|due| hands.not_before(Some(by), due));
                let does = Does::Pick { from, leaves };
                Some(Deed { seq, at, by, carrier, hoist, does, called, due, followed })
            }
            Event::Lowered { carrier, hoist, to, visit, .. } => {
                let called = first_left(state, hoist).filter(|m| m.carrier == carrier);
                let followed = called.is_some_and(|m| (m.to, m.visit) == (to, visit));
                let does = Does::Place { to, visit };
                Some(Deed { seq, at, by, carrier, hoist, does, called, due: None, followed })
            }
            Event::CarrierCorrected { carrier, claim } => {
                found_elsewhere(&mut folded.deeds, carrier, claim);
                None
            }
            Event::PlanAdopted { .. } => {
                folded.adopts(line, &stamped);
                continue;
            }
            Event::Changed { change: Change::StopHoist { hoist, .. }, .. } => {
                folded.rests(hoist, at);
                None
            }
            _ => None,
        };
        if let Some(deed) = deed {
            folded.did(deed);
        }
        apply(&mut folded.state, line, &stamped);
    }
    folded
}

/// A load that is found in another tank than the one it was said to be put into, for as long as it was said to be there,
/// was put down wrong.
fn found_elsewhere(deeds: &mut [Deed], carrier: CarrierId, claim: Claim) {
    let Claim::InTank { tank, since, visit: found } = claim else { return };
    let Some(last) = deeds.iter_mut().rfind(|d| d.carrier == carrier) else { return };
    if let Does::Place { to, visit } = &mut last.does
        && *to != tank
        && since <= last.at
    {
        (*to, *visit) = (tank, found);
        last.followed = last.called.is_some_and(|m| (m.to, m.visit) == (tank, found));
    }
}

/// When people confirmed last, and who works which hoist.
#[derive(Default)]
struct Hands {
    last: BTreeMap<Who, Time>,
    works: BTreeMap<HoistId, Who>,
}

impl Hands {
    fn did(&mut self, deed: &Deed) {
        let last = self.last.entry(deed.by).or_insert(deed.at);
        *last = deed.at.max(*last);
        self.works.insert(deed.hoist, deed.by);
    }

    /// Who worked a hoist last; where nobody did yet, whoever confirmed last.
    fn of(&self, hoist: HoistId) -> Option<Who> {
        let latest = || self.last.iter().max_by_key(|(_, at)| **at).map(|(who, _)| *who);
        self.works.get(&hoist).copied().or_else(latest)
    }

    /// When something is due for somebody.
    fn not_before(&self, who: Option<Who>, due: Time) -> Time {
        who.and_then(|who| self.last.get(&who)).map_or(due, |last| due.max(*last))
    }
}

fn leaves(state: &State, carrier: CarrierId) -> Visit {
    match state.carriers[carrier].place {
        Place::InTank { visit, .. } => visit,
        _ => Visit::Load,
    }
}

/// When a pick that is called was due.
fn due_of(state: &State, called: &Move) -> Option<Time> {
    state.due.get(&called.hoist).filter(|due| due.is_of(called)).map(|due| due.at)
}

/// The first move left for a hoist; the first of all if there is none.
fn first_left(state: &State, hoist: HoistId) -> Option<Move> {
    let left = remaining(state, state.plan.as_ref()?);
    left.moves.iter().find(|m| m.hoist == hoist).or(left.moves.first()).copied()
}
