//! The state of a shift at an instant: one fold over its events.

use std::collections::BTreeMap;

use super::change::Standing;
use super::guess::Guess;
use super::isa::AlarmState;
use super::ledger::Ledger;
use super::pace::Pace;
use crate::ids::{Arena, CarrierId, HoistId, RecipeId, Seq, TankId};
use crate::line::{Line, OrderBook, Visit};
use crate::schedule::{Move, Schedule};
use crate::units::{Dur, Time};

/// Everything that is so.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct State {
    /// Orders and carriers known to the shift.
    pub book: OrderBook,
    /// Where each carrier is and where it has been.
    pub carriers: Arena<CarrierId, Carrier>,
    /// Where each hoist is.
    pub hoists: Arena<HoistId, HoistState>,
    /// Which tanks may be used when.
    pub tanks: Arena<TankId, TankState>,
    /// What people entered.
    pub ledger: Ledger,
    /// The plan in force.
    pub plan: Option<Schedule>,
    /// The pick each hoist is called for next, and when it was due first: a plan that is made later puts off no pick that
    /// was due already.
    pub due: BTreeMap<HoistId, Due>,
    /// Alarms that are not normal, by carrier and step.
    pub alarms: BTreeMap<AlarmKey, Alarm>,
    /// Alarms of stopped hoists that are not normal.
    pub stop_alarms: BTreeMap<HoistId, Alarm>,
    /// How people really move, if it was learned.
    pub pace: Option<Pace>,
    /// Changes that stand.
    pub standing: Standing,
    /// Number of the last event folded in.
    pub seq: Seq,
    /// The last physical event that still counts: what undo takes back.
    pub last_physical: Option<Seq>,
}

/// A pick that is called.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Due {
    /// The pick.
    pub pick: Move,
    /// When it was due.
    pub at: Time,
}

impl Due {
    /// True if a move is the same pick, whenever it starts and wherever it goes.
    pub fn is_of(&self, mv: &Move) -> bool {
        let key = |m: &Move| (m.carrier, m.hoist, m.from, m.leaves);
        key(&self.pick) == key(mv)
    }
}

/// One carrier's present and past.
#[derive(Debug, Clone, PartialEq)]
pub struct Carrier {
    /// Where it is.
    pub place: Place,
    /// Immersions that are over.
    pub stays: Vec<Stay>,
}

impl Carrier {
    /// When it was really put down where it is: what it had before it was put back counts into `since`, not into this.
    pub fn put_down(&self) -> Option<Time> {
        match self.place {
            Place::InTank { visit, since, .. } => Some(since + self.dwelled(visit)),
            Place::Finished { at, .. } => Some(at),
            _ => None,
        }
    }

    /// Immersion that counts for a visit already, from before the carrier was lifted and put back: dwells of one visit add
    /// up. A wrong bath is another matter each time.
    pub fn dwelled(&self, visit: Visit) -> Dur {
        if matches!(visit, Visit::Stray { .. }) {
            return Dur::ZERO;
        }
        self.stays.len().checked_sub(1).map_or(Dur::ZERO, |last| self.dwell_up_to(last, visit))
    }

    /// The dwell that the immersions up to one come to, if it and those before it were for a visit.
    fn dwell_up_to(&self, last: usize, visit: Visit) -> Dur {
        let for_it = self.stays[..=last].iter().rev().take_while(|s| s.visit == visit);
        for_it.map(|s| (s.to - s.from).or_zero()).sum()
    }

    /// The dwell that came to an end with an immersion, what was before the carrier was put back counted in.
    pub fn dwell_ended(&self, last: usize) -> Dur {
        self.dwell_up_to(last, self.stays[last].visit)
    }
}

/// Where a carrier is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Place {
    /// Racked or yet to be racked, waiting to start.
    Queued,
    /// In a tank.
    InTank {
        /// The tank.
        tank: TankId,
        /// Why.
        visit: Visit,
        /// Since when, as its dwell counts: a carrier that was put back takes along what it had, see
        /// [`Carrier::dwelled`].
        since: Time,
        /// The hoist that is still attached, during a dip on the hook.
        hooked: Option<HoistId>,
    },
    /// Hanging on a hoist.
    OnHook {
        /// The hoist.
        hoist: HoistId,
        /// The tank it left.
        from: TankId,
        /// The visit it left.
        leaves: Visit,
        /// When it began to rise.
        lifted: Time,
    },
    /// Finished at an unload station.
    Finished {
        /// The station.
        tank: TankId,
        /// When it was put down.
        at: Time,
    },
    /// Taken off the line by hand.
    OffLine,
}

/// One immersion that is over.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Stay {
    /// The tank.
    pub tank: TankId,
    /// Why it was there.
    pub visit: Visit,
    /// When the immersion began.
    pub from: Time,
    /// When it ended.
    pub to: Time,
}

/// One hoist's present.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct HoistState {
    /// The tank it stands over, or last left with a load.
    pub at: TankId,
    /// What hangs on it or is attached to it.
    pub carrier: Option<CarrierId>,
    /// From when on it can be somewhere else: the end of its last loaded move.
    pub free_from: Time,
    /// Where it put down last, and when, whatever was said of it since.
    pub put_down: Option<(TankId, Time)>,
}

/// When a tank may be used.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct TankState {
    /// Not before this instant: heating up, or out of service until then.
    pub from: Time,
    /// Not after this instant.
    pub until: Time,
    /// Since when it has been out with nobody knowing for how long; `from` is [`Time::FAR`] then.
    pub lost: Option<Time>,
}

/// So long before the assumed return of a tank another one is assumed: a load on its way there may need so long from the
/// last tank that it can wait in.
const LOST_LEAD: Dur = Dur::from_mins(10);

impl TankState {
    /// When it may be used again as far as can be said at `now`. Where nobody knows, it is taken to be out for `assumed`
    /// from when it went, and the same once more whenever that has all but passed.
    pub fn back(&self, now: Time, assumed: Dur) -> Time {
        self.lost.map_or(self.from, |since| Guess::of(assumed, LOST_LEAD).end(since, now))
    }

    /// When what was assumed at `now` has all but passed; `None` if its return is known.
    pub fn assumed_until(&self, now: Time, assumed: Dur) -> Option<Time> {
        self.lost.map(|since| Guess::of(assumed, LOST_LEAD).holds_until(since, now))
    }
}

/// What an alarm is about: one per carrier and visit, so that it escalates in place.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct AlarmKey {
    /// The carrier.
    pub carrier: CarrierId,
    /// The visit that is running over, or that was left.
    pub visit: Visit,
    /// What is wrong with it.
    pub kind: AlarmKind,
}

/// What is wrong.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum AlarmKind {
    /// The dwell in a tank is running over.
    Dwell,
    /// The air time on the hook is running over.
    Air,
    /// The time at a bench beside the line is running over; the visit is the step that comes after it.
    Bench,
    /// The dwell that was left was shorter than the shortest.
    Short,
}

/// How far an alarm has gone; it only gets worse until it clears.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum AlarmLevel {
    /// The latest safe start is near or past and no planned move covers it.
    Due,
    /// The window is broken.
    Over,
    /// Over for so long that the consequence must be assumed.
    Reached,
}

/// One alarm that is not normal.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Alarm {
    /// Its ISA-18.2 state.
    pub state: AlarmState,
    /// How far it has gone.
    pub level: AlarmLevel,
    /// When it was raised.
    pub raised: Time,
    /// When its condition cleared, if it has.
    pub cleared: Option<Time>,
    /// When it was acknowledged, if it was.
    pub acknowledged: Option<Time>,
    /// If shelved: until when, and why.
    pub shelved: Option<(Time, String)>,
    /// The stopped hoist under whose alarm it waits.
    pub under: Option<HoistId>,
    /// Whether the condition is true now.
    pub active: bool,
}

impl State {
    /// The runs of a carrier, the present one last: recipe and immersions that are over.
    pub fn runs(&self, carrier: CarrierId) -> impl Iterator<Item = (RecipeId, &[Stay])> {
        let earlier = self.standing.runs.get(&carrier).into_iter().flatten();
        let now = (self.book.carriers[carrier].recipe, self.carriers[carrier].stays.as_slice());
        earlier.map(|run| (run.recipe, run.stays.as_slice())).chain(std::iter::once(now))
    }

    /// Immersions of a carrier that are over, those of its earlier runs first, each with the recipe it was for.
    pub fn all_stays(&self, carrier: CarrierId) -> impl Iterator<Item = (RecipeId, &Stay)> {
        self.runs(carrier).flat_map(|(recipe, stays)| stays.iter().map(move |stay| (recipe, stay)))
    }

    /// The state before any event, with hoists at home and tanks as the line file says.
    pub fn before(line: &Line) -> Self {
        Self {
            hoists: line
                .hoists
                .iter()
                .map(|(_, h)| HoistState { at: h.home, carrier: None, free_from: Time::ZERO, put_down: None })
                .collect(),
            tanks: line
                .tanks
                .iter()
                .map(|(_, t)| TankState {
                    from: Time::ZERO + t.ready_after,
                    until: Time::ZERO + t.out_after,
                    lost: None,
                })
                .collect(),
            ..Self::default()
        }
    }

    /// True once the shift was opened.
    pub fn is_open(&self) -> bool {
        self.seq.0 > 0
    }

    /// The carriers in a tank now, in id order.
    pub fn carriers_in(&self, tank: TankId) -> impl Iterator<Item = CarrierId> + '_ {
        self.carriers
            .iter()
            .filter(move |(_, c)| matches!(c.place, Place::InTank { tank: t, .. } if t == tank))
            .map(|(id, _)| id)
    }

    /// True if the carrier is on the line: in a tank or on a hook.
    pub fn on_line(&self, carrier: CarrierId) -> bool {
        matches!(self.carriers[carrier].place, Place::InTank { .. } | Place::OnHook { .. })
    }
}
