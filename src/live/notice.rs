//! Things worth saying that are no answer to a command.

use std::fmt;

use crate::journal::Torn;
use crate::units::Dur;

/// Something people should know about the running shift itself.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Notice {
    /// The journal ended in the middle of a record.
    Torn(Torn),
    /// The wall clock shows an earlier time than the journal's last event; the shift goes on from that event.
    ClockBehind(Dur),
    /// The verifier would not have a new plan; the last good one stays.
    PlanRejected(String),
    /// A new plan could not be stored; it is tried again.
    PlanNotStored(String),
    /// The search for better plans failed and is not tried again; plans are made as before.
    SearchFailed(String),
    /// A better plan was put in force that calls another move next.
    NextCallChanged {
        /// What is called next now.
        carrier: String,
    },
    /// Something happened by itself on a drill.
    Happened(String),
    /// The crew wanted something that cannot be done.
    CrewRefused(String),
}

impl fmt::Display for Notice {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Torn(torn) => write!(f, "the journal was damaged at its end: {torn}"),
            Self::ClockBehind(by) => {
                write!(
                    f,
                    "the clock is {by} behind the last event; was it set back? the shift goes on from there"
                )
            }
            Self::PlanRejected(why) => write!(f, "a new plan was not taken: {why}; the last good one stays"),
            Self::PlanNotStored(why) => write!(f, "a new plan is not in force yet: {why}"),
            Self::SearchFailed(why) => {
                write!(f, "the search for better plans failed: {why}; calls go on without it")
            }
            Self::NextCallChanged { carrier } => {
                write!(f, "{carrier} is called before what was shown next: fewer windows break that way")
            }
            Self::Happened(words) => f.write_str(words),
            Self::CrewRefused(why) => write!(f, "the crew could not go on: {why}"),
        }
    }
}
