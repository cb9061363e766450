//! The debrief with what others would have made of the shift, worked out by a thread: it takes seconds, and no key waits.

use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::Arc;
use std::sync::mpsc::{Receiver, TryRecvError, channel};
use std::thread::Builder;

use super::{LiveShift, SEARCH_THREAD};
use crate::train::{Debrief, Effort, rivals};
use crate::units::Time;

/// The thread, if it is at work.
#[derive(Default)]
pub(super) struct Reckoner {
    made: Option<Receiver<Debrief>>,
    at: Option<Time>,
}

impl LiveShift {
    /// The shift looked back upon, without others to compare with; and has those reckoned beside, see
    /// [`LiveShift::reckoned`].
    pub fn debrief(&mut self) -> Debrief {
        let now = self.now();
        let debrief = Debrief::of(&self.line, &self.history, now);
        let (line, mut whole) = (Arc::clone(&self.line), debrief.clone());
        let (send, made) = channel();
        let work = move || {
            let others = catch_unwind(AssertUnwindSafe(|| rivals(&line, &whole.met, now, Effort::default())));
            // Without others the debrief is still one.
            whole.rivals = others.ok().and_then(Result::ok).unwrap_or_default();
            // If nobody waits any more, that is that.
            let _ = send.send(whole);
        };
        let begun = Builder::new().name(SEARCH_THREAD.to_owned()).spawn(work).is_ok();
        self.reckoner = Reckoner { made: begun.then_some(made), at: Some(now) };
        debrief
    }

    /// The debrief that was asked for with everybody in it, once, when it is done; and the instant it is for.
    pub fn reckoned(&mut self) -> Option<(Debrief, Time)> {
        let made = self.reckoner.made.as_ref()?.try_recv();
        if made.is_ok() || made == Err(TryRecvError::Disconnected) {
            self.reckoner.made = None;
        }
        made.ok().zip(self.reckoner.at)
    }

    /// True while others are reckoned.
    pub fn is_reckoning(&self) -> bool {
        self.reckoner.made.is_some()
    }
}
