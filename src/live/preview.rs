//! Previews of changes by a thread, so that no key waits for them: first as the plan comes out at once, then better.

use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{Receiver, Sender, TryRecvError, channel};
use std::thread::Builder;

use super::{LiveShift, SEARCH_THREAD};
use crate::ids::Seq;
use crate::line::Line;
use crate::plan::Settings;
use crate::shift::{Command, History, Refusal};
use crate::units::Time;
use crate::whatif::{self, Prospect};

/// Trial insertions for each side, one preview after the other.
const ROUNDS: [u64; 3] = [0, 1_000, 40_000];

/// How the shift goes on without the commands and with them, or the first of them that is refused, by its place.
pub type WhatIf = Result<(Prospect, Prospect), (usize, Refusal)>;

/// A preview.
#[derive(Debug, Clone, PartialEq)]
pub struct Previewed {
    /// What it came to.
    pub what_if: WhatIf,
    /// The instant it starts from.
    pub at: Time,
    /// The last fact it knows of: see [`LiveShift::last_fact`].
    pub seen: Seq,
    /// No better one follows.
    pub last: bool,
}

/// The thread of the preview that is being made, if there is one.
#[derive(Default)]
pub(super) struct Previewer {
    running: Option<Running>,
}

struct Running {
    dropped: Arc<AtomicBool>,
    made: Receiver<Previewed>,
}

impl Drop for Running {
    fn drop(&mut self) {
        self.dropped.store(true, Ordering::SeqCst);
    }
}

struct Task {
    line: Arc<Line>,
    history: History,
    commands: Vec<Command>,
    settings: Settings,
    at: Time,
    seen: Seq,
}

impl LiveShift {
    /// Begins to work out what commands would do, in place of any preview that is being made. False if the machine has no
    /// thread left.
    pub fn begin_preview(&mut self, commands: Vec<Command>) -> bool {
        let task = Task {
            line: Arc::clone(&self.line),
            history: self.history.clone(),
            commands,
            settings: self.reckons_with(),
            at: self.now(),
            seen: self.last_fact(),
        };
        let dropped = Arc::new(AtomicBool::new(false));
        let (outbox, made) = channel();
        let stop = Arc::clone(&dropped);
        self.previewer.running = Some(Running { dropped, made });
        let work = move || {
            // A panic is told on its way; the one who asks finds the channel closed.
            let _ = catch_unwind(AssertUnwindSafe(|| work(&task, &stop, &outbox)));
        };
        let begun = Builder::new().name(SEARCH_THREAD.to_owned()).spawn(work).is_ok();
        if !begun {
            self.previewer.running = None;
        }
        begun
    }

    /// Forgets the preview that is being made.
    pub fn drop_preview(&mut self) {
        self.previewer.running = None;
    }

    /// True while a preview is being made.
    pub fn is_previewing(&self) -> bool {
        self.previewer.running.is_some()
    }

    /// The newest preview since this was last asked.
    pub fn take_preview(&mut self) -> Option<Previewed> {
        let running = self.previewer.running.as_ref()?;
        let mut newest = None;
        let over = loop {
            match running.made.try_recv() {
                Ok(previewed) => newest = Some(previewed),
                Err(TryRecvError::Empty) => break false,
                Err(TryRecvError::Disconnected) => break true,
            }
        };
        if over || newest.as_ref().is_some_and(|p: &Previewed| p.last) {
            self.previewer.running = None;
        }
        newest
    }
}

fn work(task: &Task, dropped: &AtomicBool, outbox: &Sender<Previewed>) {
    let Task { line, history, commands, settings, at, seen } = task;
    for (n, tries) in ROUNDS.into_iter().enumerate() {
        if dropped.load(Ordering::SeqCst) {
            return;
        }
        let what_if = whatif::with(line, history, commands, *at, settings, tries)
            .map(|after| (whatif::as_it_is(line, history, *at, settings, tries), after));
        let last = n + 1 == ROUNDS.len() || what_if.is_err();
        let sent = outbox.send(Previewed { what_if, at: *at, seen: *seen, last });
        if last || sent.is_err() {
            return;
        }
    }
}
