//! Commands: what a person, the crew model or the planner asks for; and refusals.

use super::change::Change;
use super::ledger::Entry;
use super::pace::Pace;
use super::state::AlarmKey;
use crate::ids::{CarrierId, HoistId, Seq, TankId};
use crate::line::{OrderBook, Visit};
use crate::schedule::Schedule;
use crate::units::{Dur, Time};

/// A request. `decide` turns it into events or refuses it.
#[derive(Debug, Clone, PartialEq)]
pub enum Command {
    /// Open the shift with these orders.
    Open {
        /// Orders and carriers.
        book: OrderBook,
    },
    /// Confirm a pick: the carrier began to rise at `at`.
    Lift {
        /// The carrier.
        carrier: CarrierId,
        /// The hoist.
        hoist: HoistId,
        /// Where it was picked up; a queued carrier is picked up at a load station.
        from: TankId,
        /// When it began to rise.
        at: Time,
    },
    /// Confirm a place: the carrier was down at `at`.
    Lower {
        /// The hoist that carries it.
        hoist: HoistId,
        /// Where it was put down.
        to: TankId,
        /// When it was down.
        at: Time,
    },
    /// Say where a carrier really is.
    Correct {
        /// The carrier.
        carrier: CarrierId,
        /// Where it is.
        claim: Claim,
    },
    /// Say where a hoist really stands.
    CorrectHoist {
        /// The hoist.
        hoist: HoistId,
        /// The tank it stands over.
        at: TankId,
    },
    /// Take a tank out of service.
    TankOut {
        /// The tank.
        tank: TankId,
        /// When it is expected back, if anybody knows.
        until: Option<Time>,
        /// Why, for whoever comes next; may be empty.
        why: String,
    },
    /// Put a tank back into service.
    TankBack {
        /// The tank.
        tank: TankId,
    },
    /// Change something about the running shift.
    Change {
        /// What.
        change: Change,
        /// Why, for whoever comes next; may be empty.
        why: String,
    },
    /// Take back one change, or a tank that went out or came back, whatever was said since.
    TakeBack {
        /// The event that made it.
        seq: Seq,
    },
    /// Put a verified plan in force.
    AdoptPlan {
        /// The plan.
        schedule: Schedule,
    },
    /// Take back the last thing said about carriers and hoists.
    Undo {
        /// The event it is meant to be: somebody else may have said something since it was looked at.
        seq: Seq,
    },
    /// The last thing said about carriers and hoists happened at another time.
    Retime {
        /// The event it is meant to be.
        seq: Seq,
        /// When it really happened.
        at: Time,
    },
    /// Deal with an alarm.
    Alarm {
        /// Which alarm.
        key: AlarmKey,
        /// What to do with it.
        action: AlarmAction,
    },
    /// Say that the alarm of a stopped hoist, with all that waits under it, was seen.
    AcknowledgeStop {
        /// The hoist.
        hoist: HoistId,
    },
    /// Look at the clock: raise, escalate and clear alarms.
    Watch,
    /// Enter what was counted, inspected, measured or signed.
    Enter {
        /// What.
        entry: Entry,
        /// When it was so; earlier than now for a late entry.
        at: Time,
    },
    /// Reckon with a pace that was learned from confirmed moves.
    LearnPace {
        /// The pace.
        pace: Pace,
    },
    /// Write something down.
    Note {
        /// The words.
        text: String,
    },
}

/// What a person does with an alarm.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum AlarmAction {
    /// "I have seen it."
    Acknowledge,
    /// "Not now": comes back by itself.
    Shelve {
        /// For how long.
        lasting: Dur,
        /// Why.
        reason: String,
    },
    /// Bring it back at once.
    Unshelve,
}

/// Where a person says a carrier is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Claim {
    /// Still waiting to start.
    Queued,
    /// In a tank since an instant, for a visit.
    InTank {
        /// The tank.
        tank: TankId,
        /// Since when.
        since: Time,
        /// For which step, hold or stray stop.
        visit: Visit,
    },
    /// Hanging on a hoist since an instant.
    OnHook {
        /// The hoist.
        hoist: HoistId,
        /// The tank it was lifted from.
        from: TankId,
        /// The visit it left.
        leaves: Visit,
        /// When it began to rise.
        lifted: Time,
    },
    /// Taken off the line by hand.
    OffLine,
    /// Finished and put down at an unload station.
    Finished {
        /// The station.
        tank: TankId,
    },
}

/// Why a command cannot be done now. Ordinary; shown to whoever asked.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum Refusal {
    /// A shift is opened once.
    #[error("this shift is open already")]
    AlreadyOpen,
    /// Nothing happens before the shift is opened.
    #[error("this shift is not open")]
    NotOpen,
    /// The carrier is not where the command says.
    #[error("{carrier} is {really}; if that is wrong, say where it is")]
    NotThere {
        /// The carrier's name.
        carrier: String,
        /// Where it is, in words.
        really: String,
    },
    /// The hoist has a carrier already.
    #[error("{hoist} carries {carrier}; put that down first")]
    HoistLoaded {
        /// The hoist's name.
        hoist: String,
        /// The carrier on it.
        carrier: String,
    },
    /// The hoist has nothing to put down.
    #[error("{hoist} carries nothing")]
    HoistEmpty {
        /// The hoist's name.
        hoist: String,
    },
    /// The tank has no room.
    #[error("{tank} holds {carrier}; if it does not, say where {carrier} is")]
    TankFull {
        /// The tank's name.
        tank: String,
        /// The carrier in it.
        carrier: String,
    },
    /// The hoist cannot stand there.
    #[error("{hoist} does not reach {tank}")]
    OutOfReach {
        /// The hoist's name.
        hoist: String,
        /// The tank's name.
        tank: String,
    },
    /// Carriers start at a load station.
    #[error("{tank} is not a load station")]
    NotALoadStation {
        /// The tank's name.
        tank: String,
    },
    /// The time said cannot be.
    #[error("{words}")]
    ImpossibleTime {
        /// The time that was said.
        said: Time,
        /// What it would have to be later than, if that is why.
        after: Option<Time>,
        /// Why not.
        why: &'static str,
        /// All of it in a sentence.
        words: String,
    },
    /// There is nothing to take back.
    #[error("nothing to undo")]
    NothingToUndo,
    /// What was to be taken back or changed is not what was said last.
    #[error("something else was said meanwhile; nothing was taken back or changed")]
    NotTheLast,
    /// The plan does not start from what is so.
    #[error("the plan is out of date: {why}")]
    StalePlan {
        /// What differs.
        why: String,
    },
    /// There is no such alarm now.
    #[error("that alarm is not standing")]
    NoSuchAlarm,
    /// An alarm whose harm is scrap cannot be shelved.
    #[error("an alarm that means scrap cannot be shelved")]
    ScrapIsNotShelved,
    /// A shelved alarm must say why, so that whoever comes next knows.
    #[error("say why this alarm is set aside")]
    NoReason,
    /// A change that cannot be made, or can no longer be taken back.
    #[error("{why}")]
    ImpossibleChange {
        /// What stands in its way.
        why: String,
    },
    /// What is entered cannot be.
    #[error("{why}")]
    ImpossibleEntry {
        /// Why not.
        why: String,
    },
    /// A claim contradicts itself or another carrier.
    #[error("{why}")]
    ImpossibleClaim {
        /// What contradicts what.
        why: String,
    },
}

impl Refusal {
    /// A time that cannot be, told on the shift's own axis.
    pub(super) fn time(said: Time, after: Option<Time>, why: &'static str) -> Self {
        Self::ImpossibleTime { said, after, why, words: String::new() }.told(|t| t.to_string())
    }

    /// The same with times as a clock shows them.
    #[must_use]
    pub fn told(self, clock: impl Fn(Time) -> String) -> Self {
        let Self::ImpossibleTime { said, after, why, .. } = self else { return self };
        let after_words = after.map_or_else(String::new, |t| format!(" ({})", clock(t)));
        let words = format!("{} cannot be: {why}{after_words}", clock(said));
        Self::ImpossibleTime { said, after, why, words }
    }
}
