//! A practice with an end: time begins when the cautions have been read, and stands still when it is over. What somebody has
//! begun to say then may be finished; the debrief comes after it.

use super::app::{App, Screen};
use super::retold;
use crate::clock::ManualClock;
use crate::live::LiveShift;
use crate::units::Time;
use crate::view::Board;

/// When a practice is over.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Course {
    /// How many times faster than the wall it runs.
    pub speed: f64,
    /// At this instant, or earlier when everybody is finished and nothing more is to happen.
    pub ends: Time,
}

/// How far a practice has come.
#[derive(Debug, Default, Clone, Copy, PartialEq, Eq)]
pub(super) enum Stage {
    /// The cautions are read.
    #[default]
    Before,
    /// It runs.
    Runs,
    /// Time stands still, but somebody is saying something.
    TimeUp,
    /// Nothing is said any more.
    Over,
}

impl Stage {
    /// Looks whether it begins or is over. True once, when it begins.
    pub fn keep(&mut self, course: Course, app: &mut App, shift: &mut LiveShift) -> bool {
        let now = shift.now();
        match self {
            Self::Before if matches!(app.screen, Screen::Caution | Screen::Brief) => return false,
            Self::Before => {
                *self = Self::Runs;
                return true;
            }
            Self::Runs if now >= course.ends || shift.is_played_out() => {
                let still = ManualClock::default();
                still.set(now);
                shift.set_clock(Box::new(still));
                if app.dialog.is_some() {
                    app.note("Time is up. Say this, or leave it (Esc); the debrief comes then.", now);
                }
                *self = Self::TimeUp;
            }
            _ => {}
        }
        if *self == Self::TimeUp && app.dialog.is_none() {
            *self = Self::Over;
            app.practising.over = true;
            app.reading.from = Some(Screen::Live);
            app.screen = Screen::Reading;
            retold::open(app, shift);
            let words = format!("The {} is over: this is what it came to. q leaves.", app.practising.kind());
            app.note(words, now);
        }
        false
    }

    /// True while the shift goes on by itself.
    pub fn goes_on(self) -> bool {
        matches!(self, Self::Before | Self::Runs)
    }

    /// What is to be seen when it is over: no call.
    pub fn shows(self, board: Board, app_kind: &str) -> Board {
        if self != Self::Over {
            return board;
        }
        let head = [app_kind.to_uppercase(), "OVER".to_owned()];
        let rest = format!("The {app_kind} is over; nothing is called any more. 0: the debrief, q: leave.");
        board.without_call(head, rest)
    }
}
