//! Events: what happened, in the past tense. They are all that is ever stored.

use super::change::Change;
use super::command::Claim;
use super::ledger::Entry;
use super::pace::Pace;
use super::state::{AlarmKey, AlarmLevel};
use crate::ids::{CarrierId, HoistId, Seq, TankId};
use crate::line::{OrderBook, Visit};
use crate::schedule::Kept;
use crate::units::Time;

/// One thing that happened.
#[derive(Debug, Clone, PartialEq)]
pub enum Event {
    /// The shift was opened with these orders.
    Opened {
        /// Orders and carriers of the shift.
        book: OrderBook,
    },
    /// A carrier was lifted: its immersion in `from` ended at the event's time.
    Lifted {
        /// The carrier.
        carrier: CarrierId,
        /// The hoist that lifted it.
        hoist: HoistId,
        /// The tank it left.
        from: TankId,
    },
    /// A carrier was lowered: its immersion in `to` began at the event's time.
    Lowered {
        /// The carrier.
        carrier: CarrierId,
        /// The hoist that lowered it.
        hoist: HoistId,
        /// The tank it is in now.
        to: TankId,
        /// What that makes of it.
        visit: Visit,
        /// False if the hoist stays attached for a dip on the hook.
        release: bool,
    },
    /// A person said where a carrier really is.
    CarrierCorrected {
        /// The carrier.
        carrier: CarrierId,
        /// Where it is.
        claim: Claim,
    },
    /// A person said where a hoist really stands.
    HoistCorrected {
        /// The hoist.
        hoist: HoistId,
        /// The tank it stands over.
        at: TankId,
    },
    /// A tank went out of service.
    TankOut {
        /// The tank.
        tank: TankId,
        /// When it is expected back; `Time::FAR` if nobody knows.
        until: Time,
        /// Why; empty if nobody said.
        why: String,
    },
    /// A tank came back into service.
    TankBack {
        /// The tank.
        tank: TankId,
    },
    /// A verified plan was put in force.
    PlanAdopted {
        /// The plan.
        plan: Kept,
    },
    /// An earlier event was taken back.
    Undone {
        /// The event that no longer counts.
        seq: Seq,
    },
    /// An earlier event happened at another time than first said.
    Retimed {
        /// The event.
        seq: Seq,
        /// When it really happened.
        at: Time,
    },
    /// An alarm condition became true.
    AlarmRaised {
        /// Which alarm.
        key: AlarmKey,
        /// How far it has gone.
        level: AlarmLevel,
    },
    /// A standing alarm got worse, in place.
    AlarmEscalated {
        /// Which alarm.
        key: AlarmKey,
        /// How far it has gone.
        level: AlarmLevel,
    },
    /// An alarm condition became false.
    AlarmCleared {
        /// Which alarm.
        key: AlarmKey,
    },
    /// A person has seen the alarm.
    AlarmAcknowledged {
        /// Which alarm.
        key: AlarmKey,
    },
    /// A person set the alarm aside for a while.
    AlarmShelved {
        /// Which alarm.
        key: AlarmKey,
        /// When it comes back by itself.
        until: Time,
        /// Why.
        reason: String,
    },
    /// A shelved alarm came back.
    AlarmUnshelved {
        /// Which alarm.
        key: AlarmKey,
    },
    /// An alarm waits under the one of a stopped hoist that causes it.
    AlarmSuppressed {
        /// Which alarm.
        key: AlarmKey,
        /// The hoist.
        hoist: HoistId,
    },
    /// An alarm no longer waits under another one.
    AlarmUnsuppressed {
        /// Which alarm.
        key: AlarmKey,
    },
    /// The alarm of a stopped hoist went a step on.
    StopAlarm {
        /// The hoist.
        hoist: HoistId,
        /// What became of it.
        step: StopStep,
    },
    /// A supervisor changed something about the shift.
    Changed {
        /// What.
        change: Change,
        /// Why, for whoever comes next; may be empty.
        why: String,
    },
    /// A person entered what was counted, inspected, measured or signed.
    Entered {
        /// What.
        entry: Entry,
    },
    /// How people really move was learned; plans reckon with it from here on.
    PaceLearned {
        /// The pace.
        pace: Pace,
    },
    /// Something worth keeping was written down.
    Noted {
        /// The words.
        text: String,
    },
}

/// What becomes of the alarm of a stopped hoist.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum StopStep {
    /// Loads are at risk; so far has the worst of them gone.
    Raised(AlarmLevel),
    /// The worst of them has gone further.
    Escalated(AlarmLevel),
    /// No load is at risk any more.
    Cleared,
    /// A person has seen it.
    Acknowledged,
}

impl Event {
    /// True for events that say what happened to carriers and hoists: the ones a person can undo or retime.
    pub fn is_physical(&self) -> bool {
        matches!(
            self,
            Self::Lifted { .. }
                | Self::Lowered { .. }
                | Self::CarrierCorrected { .. }
                | Self::HoistCorrected { .. }
        )
    }

    /// The carrier that was moved, or said to be somewhere.
    pub fn moved(&self) -> Option<CarrierId> {
        match *self {
            Self::Lifted { carrier, .. }
            | Self::Lowered { carrier, .. }
            | Self::CarrierCorrected { carrier, .. } => Some(carrier),
            _ => None,
        }
    }

    /// The alarm whose condition has come, grown or gone.
    pub fn condition(&self) -> Option<AlarmKey> {
        match *self {
            Self::AlarmRaised { key, .. } | Self::AlarmEscalated { key, .. } | Self::AlarmCleared { key } => {
                Some(key)
            }
            _ => None,
        }
    }

    /// True for events in the life of an alarm.
    pub fn is_of_alarm(&self) -> bool {
        matches!(
            self,
            Self::AlarmRaised { .. }
                | Self::AlarmEscalated { .. }
                | Self::AlarmCleared { .. }
                | Self::AlarmAcknowledged { .. }
                | Self::AlarmShelved { .. }
                | Self::AlarmUnshelved { .. }
                | Self::AlarmSuppressed { .. }
                | Self::AlarmUnsuppressed { .. }
                | Self::StopAlarm { .. }
        )
    }

    /// True for events after which a plan made before them no longer starts from what is so.
    pub fn calls_for_plan(&self) -> bool {
        self.is_physical()
            || matches!(
                self,
                Self::Opened { .. }
                    | Self::Undone { .. }
                    | Self::Retimed { .. }
                    | Self::TankOut { .. }
                    | Self::TankBack { .. }
                    | Self::Changed { .. }
                    // They may shut a bath, or open it.
                    | Self::Entered { entry: Entry::Bath { .. } }
                    | Self::PaceLearned { .. }
            )
    }

    /// True for events that say something about earlier ones: the history is folded again for them.
    pub fn rewrites(&self) -> bool {
        matches!(self, Self::Undone { .. } | Self::Retimed { .. })
    }
}

/// Who said so.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Who {
    /// The crane operator.
    Operator,
    /// The supervisor.
    Supervisor,
    /// The simulated crew.
    Crew,
    /// This program: plans and alarms.
    Program,
}

/// An event with its place in the journal.
#[derive(Debug, Clone, PartialEq)]
pub struct Stamped {
    /// Its number, counted from 1 without gaps.
    pub seq: Seq,
    /// When it happened.
    pub at: Time,
    /// When it was said; later than `at` for a late entry.
    pub entered: Time,
    /// Who said so.
    pub by: Who,
    /// What happened.
    pub event: Event,
}
