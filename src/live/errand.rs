//! Work on a thread of its own, so that no key waits for it.

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{Receiver, Sender, TryRecvError, channel};

use super::search::begin_thread;

/// Work under way. Dropped, it is told to stop.
pub(super) struct Errand<T> {
    dropped: Arc<AtomicBool>,
    made: Receiver<T>,
}

/// What has come of an errand since it was last asked about.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Brought<T> {
    /// Nothing yet.
    Nothing,
    /// This; the newest, if there was more than one.
    Found(T),
    /// Nothing any more: it is done, or broke down.
    Over,
}

/// What the work is handed: where findings go, and whether it should stop.
pub(super) struct Outbox<T> {
    dropped: Arc<AtomicBool>,
    send: Sender<T>,
}

impl<T> Outbox<T> {
    /// True once nobody waits any more.
    pub fn is_dropped(&self) -> bool {
        self.dropped.load(Ordering::SeqCst)
    }

    /// Hands a finding over.
    pub fn bring(&self, found: T) {
        // If nobody listens any more, that is that.
        let _ = self.send.send(found);
    }
}

impl<T> Drop for Errand<T> {
    fn drop(&mut self) {
        self.dropped.store(true, Ordering::SeqCst);
    }
}

impl<T: Send + 'static> Errand<T> {
    /// Sets about it. `None` if the machine has no thread left.
    pub fn begin(work: impl FnOnce(&Outbox<T>) + Send + 'static) -> Option<Self> {
        let (send, made) = channel();
        let dropped = Arc::new(AtomicBool::new(false));
        let outbox = Outbox { dropped: Arc::clone(&dropped), send };
        begin_thread(move || work(&outbox))?;
        Some(Self { dropped, made })
    }

    /// The newest finding.
    pub fn take(&mut self) -> Brought<T> {
        let mut newest = Brought::Nothing;
        loop {
            match self.made.try_recv() {
                Ok(found) => newest = Brought::Found(found),
                Err(TryRecvError::Disconnected) if matches!(newest, Brought::Nothing) => {
                    return Brought::Over;
                }
                Err(_) => return newest,
            }
        }
    }
}
