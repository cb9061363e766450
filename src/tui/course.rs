//! A practice with an end: time begins when the cautions have been read, and stands still with the debrief on the screen.

use super::app::{App, Screen};
use super::retold;
use crate::clock::ManualClock;
use crate::live::LiveShift;
use crate::units::Time;

/// When a practice is over.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Course {
    /// At this instant, or earlier when everybody is finished and nothing more is to happen.
    pub ends: Time,
}

/// How far a practice has come.
#[derive(Debug, Default)]
pub(super) struct Stage {
    begun: bool,
    over: bool,
}

impl Stage {
    /// Looks whether it begins or is over. True once, when it begins.
    pub fn keep(&mut self, course: Course, app: &mut App, shift: &mut LiveShift) -> bool {
        let now = shift.now();
        if !self.begun {
            self.begun = app.screen != Screen::Caution;
            return self.begun;
        }
        if !self.over && (now >= course.ends || shift.is_played_out()) {
            self.over = true;
            let still = ManualClock::default();
            still.set(now);
            shift.set_clock(Box::new(still));
            app.dialog = None;
            app.screen = Screen::Reading;
            retold::open(app, shift);
            app.note("It is over: this is what it came to. q leaves.", now);
        }
        false
    }
}
