//! Things worth saying that are no answer to a command.

use std::fmt;

use crate::clock::News;
use crate::journal::Torn;
use crate::units::Dur;

/// Something people should know about the running shift itself.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Notice {
    /// A journal that was named was not there: a new shift begins, and on which line.
    NewShift(String),
    /// A shift was begun again with the files it has begun with: it goes on.
    GoesOn(String),
    /// The journal ended in the middle of a record.
    Torn(Torn),
    /// The wall clock shows an earlier time than the journal's last event; the shift goes on from that event.
    ClockBehind(Dur),
    /// The machine was started anew since the last event; only its wall clock tells how long ago that was.
    StartedAnew(Dur),
    /// Between the last event and now the wall clock was set: by so much it is ahead of the shift's own time.
    ClockSet(Dur),
    /// Something happened to the machine's clocks while the shift was open.
    Clock(News),
    /// The journal was removed while it was open, and was put back.
    PutBack,
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

impl Notice {
    /// True if something that was wanted did not come about, or not yet.
    pub fn is_refusal(&self) -> bool {
        matches!(
            self,
            Self::PlanRejected(_) | Self::PlanNotStored(_) | Self::SearchFailed(_) | Self::CrewRefused(_)
        )
    }
}

impl fmt::Display for Notice {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Torn(torn) => write!(f, "the journal was damaged at its end: {torn}"),
            Self::ClockBehind(by) => {
                write!(
                    f,
                    "the clock is {by} behind the last event; was it set back? the shift goes on from there, so \
                     dwells count from then: check the loads"
                )
            }
            Self::StartedAnew(since) => write!(
                f,
                "this machine was started anew; by its clock {since} have passed since the last event. If that is not \
                 so, say since when the loads are where they are"
            ),
            Self::ClockSet(by) => write!(
                f,
                "the clock was set {} since the last event; dwells count what really passed, and times of day here are \
                 {} the clock",
                ahead(*by),
                behind(*by)
            ),
            Self::Clock(news) => clock_news(f, *news),
            Self::PutBack => write!(f, "the journal was removed; it was put back, whole"),
            Self::PlanRejected(why) => write!(f, "a new plan was not taken: {why}; the last good one stays"),
            Self::PlanNotStored(why) => write!(f, "a new plan is not in force yet: {why}"),
            Self::SearchFailed(why) => {
                write!(f, "the search for better plans failed: {why}; calls go on without it")
            }
            Self::NextCallChanged { carrier } => {
                write!(f, "{carrier} is called before what was shown next: fewer windows break that way")
            }
            Self::NewShift(words) | Self::GoesOn(words) | Self::Happened(words) => f.write_str(words),
            Self::CrewRefused(why) => write!(f, "the crew could not go on: {why}"),
        }
    }
}

fn clock_news(f: &mut fmt::Formatter<'_>, news: News) -> fmt::Result {
    match news {
        News::Slept { lasting, counts: true } => {
            write!(
                f,
                "this machine slept for {lasting}; the line went on and the time counts: check the loads"
            )
        }
        News::Slept { lasting, counts: false } => {
            write!(f, "this machine slept for {lasting}; the practice stood still")
        }
        News::WallSet { ahead: by } => write!(
            f,
            "the clock was set {}; no dwell is longer or shorter for that, and times of day here are {} it",
            ahead(by),
            behind(by)
        ),
        News::ZoneChanged { east } => {
            let (sign, minutes) = (if east < 0 { '-' } else { '+' }, east.abs() / 60);
            let (h, m) = (minutes / 60, minutes % 60);
            write!(
                f,
                "the clock's zone is {sign}{h:02}:{m:02} now; times of day here stay as the shift began"
            )
        }
    }
}

fn ahead(by: Dur) -> String {
    if by < Dur::ZERO { format!("{} back", Dur(-by.0)) } else { format!("{by} ahead") }
}

fn behind(by: Dur) -> String {
    if by < Dur::ZERO { format!("{} ahead of", Dur(-by.0)) } else { format!("{by} behind") }
}
