//! Alarm states and transitions after ANSI/ISA-18.2-2016 and IEC 62682, section "alarm state transition diagram".
//!
//! State names as confirmed in a public documentation page that implements the standard; letters from memory.
//! The alarms of this program do not latch and have no maintenance mode, so the latched and out-of-service states have no
//! member here.

/// The state of one alarm. `Normal` alarms are not kept.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum AlarmState {
    /// A: nothing to tell.
    Normal,
    /// B: condition true, nobody has said "seen".
    Unacknowledged,
    /// C: condition true, somebody has seen it.
    Acknowledged,
    /// D: condition cleared before anybody said "seen".
    ReturnedUnacknowledged,
    /// G: set aside by a person for a while.
    Shelved,
    /// H: suppressed by design; waits under the alarm of its cause.
    Suppressed,
}

/// What moves an alarm from state to state.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Transition {
    /// The condition became true.
    Raise,
    /// The condition became false.
    Clear,
    /// A person acknowledged.
    Acknowledge,
    /// The condition got worse: the alarm asks for attention again.
    Realarm,
    /// A person shelved it.
    Shelve,
    /// It left the shelf, by hand or by time, while the condition is true (`true`) or false.
    Unshelve(bool),
    /// The alarm of its cause stands.
    Suppress,
    /// That alarm is gone, or is no longer the cause, while the condition is true (`true`) or false.
    Unsuppress(bool),
}

impl AlarmState {
    /// The next state; a transition that means nothing here leaves the state as it is.
    #[must_use]
    pub fn after(self, transition: Transition) -> Self {
        use AlarmState::{Acknowledged, Normal, ReturnedUnacknowledged, Shelved, Suppressed, Unacknowledged};
        match (self, transition) {
            (Normal | ReturnedUnacknowledged, Transition::Raise)
            | (Acknowledged, Transition::Realarm)
            | (Shelved, Transition::Unshelve(true))
            | (Suppressed, Transition::Unsuppress(true)) => Unacknowledged,
            (Unacknowledged, Transition::Acknowledge) => Acknowledged,
            (Unacknowledged, Transition::Clear) => ReturnedUnacknowledged,
            (Acknowledged, Transition::Clear)
            | (ReturnedUnacknowledged, Transition::Acknowledge)
            | (Shelved, Transition::Unshelve(false))
            | (Suppressed, Transition::Unsuppress(false)) => Normal,
            (Normal | Unacknowledged | Acknowledged | ReturnedUnacknowledged, Transition::Suppress) => {
                Suppressed
            }
            (Normal | Unacknowledged | Acknowledged | ReturnedUnacknowledged, Transition::Shelve) => Shelved,
            (state, _) => state,
        }
    }

    /// The standard's letter.
    pub fn letter(self) -> char {
        match self {
            Self::Normal => 'A',
            Self::Unacknowledged => 'B',
            Self::Acknowledged => 'C',
            Self::ReturnedUnacknowledged => 'D',
            Self::Shelved => 'G',
            Self::Suppressed => 'H',
        }
    }
}
