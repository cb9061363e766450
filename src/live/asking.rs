//! Works out by a thread why a call was what it was and what came of it, so that no key waits for it.

use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{Receiver, Sender, TryRecvError, channel};
use std::thread::Builder;

use super::SEARCH_THREAD;
use crate::plan::Settings;
use crate::replay::{Point, Recording, Why, why};

/// A question under way. Dropped, the thread stops by itself.
pub struct Asking {
    dropped: Arc<AtomicBool>,
    made: Receiver<Asked>,
}

/// What has come of it.
#[derive(Debug, Clone, PartialEq)]
pub enum Asked {
    /// An answer.
    Found {
        /// The answer.
        why: Box<Why>,
        /// No better one follows.
        last: bool,
    },
    /// The thread broke down.
    Failed,
}

impl Drop for Asking {
    fn drop(&mut self) {
        self.dropped.store(true, Ordering::SeqCst);
    }
}

impl Asking {
    /// Asks about a point: first as plans come out at once, then with so many tries for each side. `None` if the machine
    /// has no thread left.
    pub fn begin(recording: Arc<Recording>, point: Point, settings: Settings, tries: u64) -> Option<Self> {
        let (outbox, made) = channel();
        let dropped = Arc::new(AtomicBool::new(false));
        let flag = Arc::clone(&dropped);
        let work = move || {
            let done = catch_unwind(AssertUnwindSafe(|| {
                answer(&recording, point, &settings, tries, &flag, &outbox);
            }));
            if done.is_err() {
                // If nobody listens any more nobody has to be told.
                let _ = outbox.send(Asked::Failed);
            }
        };
        Builder::new().name(SEARCH_THREAD.to_owned()).spawn(work).ok()?;
        Some(Self { dropped, made })
    }

    /// The newest answer since this was last asked.
    pub fn take(&mut self) -> Option<Asked> {
        let mut newest = None;
        loop {
            match self.made.try_recv() {
                Ok(asked) => newest = Some(asked),
                Err(TryRecvError::Empty | TryRecvError::Disconnected) => return newest,
            }
        }
    }
}

fn answer(
    recording: &Recording,
    point: Point,
    settings: &Settings,
    tries: u64,
    dropped: &AtomicBool,
    outbox: &Sender<Asked>,
) {
    for (tries, last) in [(0, false), (tries, true)] {
        let mut stop = || dropped.load(Ordering::SeqCst);
        let found = why(recording, point, settings, tries, &mut stop);
        if stop() || outbox.send(Asked::Found { why: Box::new(found), last }).is_err() {
            return;
        }
    }
}
