//! The debrief with what others would have made of the shift, worked out by a thread: it takes seconds.

use std::sync::Arc;

use super::LiveShift;
use super::errand::{Brought, Errand};
use crate::line::Line;
use crate::shift::History;
use crate::train::{Brief, Debrief, Effort, rivals};
use crate::units::Time;

/// A debrief, and the thread that reckons the others, if it is at work.
#[derive(Default)]
pub struct Reckoner {
    errand: Option<Errand<Debrief>>,
    at: Option<Time>,
}

impl Reckoner {
    /// A shift looked back upon at some instant, without others to compare with; and has those reckoned beside.
    pub fn begin(
        &mut self,
        line: &Arc<Line>,
        history: &History,
        brief: Option<&Brief>,
        now: Time,
    ) -> Debrief {
        let debrief = Debrief::of(line, history, now).of_practice(brief);
        let (line, mut whole) = (Arc::clone(line), debrief.clone());
        self.errand = Errand::begin(move |outbox| {
            // Without others the debrief is still one.
            whole.rivals = rivals(&line, &whole.met, whole.until, Effort::default()).unwrap_or_default();
            outbox.bring(whole);
        });
        self.at = Some(now);
        debrief
    }

    /// The debrief that was asked for with everybody in it, once, when it is done; and the instant it is for.
    pub fn take(&mut self) -> Option<(Debrief, Time)> {
        match self.errand.as_mut()?.take() {
            Brought::Nothing => None,
            Brought::Over => {
                self.errand = None;
                None
            }
            Brought::Found(debrief) => {
                self.errand = None;
                Some(debrief).zip(self.at)
            }
        }
    }

    /// True while others are reckoned.
    pub fn is_at_work(&self) -> bool {
        self.errand.is_some()
    }
}

impl LiveShift {
    /// See [`Reckoner::begin`].
    pub fn debrief(&mut self) -> Debrief {
        let now = self.now();
        self.reckoner.begin(&self.line, &self.history, self.brief.as_ref(), now)
    }

    /// See [`Reckoner::take`].
    pub fn reckoned(&mut self) -> Option<(Debrief, Time)> {
        self.reckoner.take()
    }

    /// True while others are reckoned.
    pub fn is_reckoning(&self) -> bool {
        self.reckoner.is_at_work()
    }
}
