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
use crate::shift::{Claim, Event, History, State, Who, apply, effective};
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

/// A pick that is called and that nobody makes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Ignored {
    /// The call.
    pub called: Move,
    /// When it was due.
    pub due: Time,
}

/// Whoever takes longer than this for a pick is not on the way to it.
const ON_THE_WAY: Dur = Dur::from_mins(1);

/// All deeds of a shift, in the order in which they were said.
pub fn deeds(line: &Line, history: &History) -> Vec<Deed> {
    fold(line, history).deeds
}

/// The picks that have been due for a while at `now`, while their hoist hangs free and was not said to stand.
pub fn ignored(line: &Line, history: &History, now: Time) -> Vec<Ignored> {
    let Folded { state, hands, .. } = fold(line, history);
    let free = |h: &HoistId| state.hoists[*h].carrier.is_none() && state.standing.stop(*h, now).is_none();
    let due = |h: HoistId| {
        let called = first_left(&state, h).filter(|m| m.hoist == h)?;
        Some(Ignored { called, due: hands.not_before(hands.of(h), due_of(&state, &called)?) })
    };
    line.hoists.ids().filter(free).filter_map(due).filter(|i| now - i.due > ON_THE_WAY).collect()
}

/// A shift gone through once.
struct Folded {
    deeds: Vec<Deed>,
    state: State,
    hands: Hands,
}

fn fold(line: &Line, history: &History) -> Folded {
    let mut state = State::before(line);
    let mut hands = Hands::default();
    let mut deeds: Vec<Deed> = Vec::new();
    for stamped in effective(history.events()) {
        let (seq, at, by) = (stamped.seq, stamped.at, stamped.by);
        let deed = match stamped.event {
            Event::Lifted { carrier, hoist, from } => {
                let leaves = leaves(&state, carrier);
                let called = first_left(&state, hoist);
                let followed = called.is_some_and(|m| {
                    (m.carrier, m.from, m.hoist, m.leaves) == (carrier, from, hoist, leaves)
                });
                let due = called.and_then(|m| due_of(&state, &m)).map(|due| hands.not_before(Some(by), due));
                let does = Does::Pick { from, leaves };
                Some(Deed { seq, at, by, carrier, hoist, does, called, due, followed })
            }
            Event::Lowered { carrier, hoist, to, visit, .. } => {
                let called = first_left(&state, hoist).filter(|m| m.carrier == carrier);
                let followed = called.is_some_and(|m| (m.to, m.visit) == (to, visit));
                let does = Does::Place { to, visit };
                Some(Deed { seq, at, by, carrier, hoist, does, called, due: None, followed })
            }
            Event::CarrierCorrected { carrier, claim } => {
                found_elsewhere(&mut deeds, carrier, claim);
                None
            }
            _ => None,
        };
        if let Some(deed) = deed {
            hands.did(&deed);
            deeds.push(deed);
        }
        apply(&mut state, line, &stamped);
    }
    Folded { deeds, state, hands }
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
        crate::shift::Place::InTank { visit, .. } => visit,
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
