//! Previews of changes by a thread, so that no key waits for them: first as the plans come out at once, then better.

use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{Receiver, Sender, TryRecvError, channel};

use super::LiveShift;
use super::search::begin_thread;
use crate::ids::Seq;
use crate::line::Line;
use crate::plan::Settings;
use crate::shift::{Command, History, Refusal};
use crate::units::Time;
use crate::whatif::{Weighed, weigh};

/// Trial insertions for each side after the first look, round by round.
const ROUNDS: [u64; 4] = [1_000, 40_000, 120_000, 360_000];

/// How the shift goes on without some commands and with them, as somebody has seen it.
#[derive(Debug, Clone, PartialEq)]
pub struct Known {
    /// Both sides.
    pub weighed: Weighed,
    /// The instant they start from.
    pub at: Time,
    /// The last fact they know of: see [`LiveShift::last_fact`].
    pub seen: Seq,
}

/// A preview.
#[derive(Debug, Clone, PartialEq)]
pub struct Previewed {
    /// What it came to, or the first of the commands that is refused, by its place.
    pub what_if: Result<Arc<Known>, (usize, Refusal)>,
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
    earlier: Option<Arc<Known>>,
}

impl LiveShift {
    /// Begins to work out what commands would do, in place of any preview that is being made. `earlier` is what was known
    /// of the same commands before the line went on. False if the machine has no thread left.
    pub fn begin_preview(&mut self, commands: Vec<Command>, earlier: Option<Arc<Known>>) -> bool {
        let task = Task {
            line: Arc::clone(&self.line),
            history: self.history.clone(),
            commands,
            settings: self.reckons_with(),
            at: self.now(),
            seen: self.last_fact(),
            earlier,
        };
        let dropped = Arc::new(AtomicBool::new(false));
        let (outbox, made) = channel();
        let stop = Arc::clone(&dropped);
        self.previewer.running = Some(Running { dropped, made });
        let work = move || {
            // A panic is told on its way; the one who asks finds the channel closed.
            let _ = catch_unwind(AssertUnwindSafe(|| work(&task, &stop, &outbox)));
        };
        let begun = begin_thread(work).is_some();
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
    let Task { line, history, commands, settings, at, seen, earlier } = task;
    let earlier = earlier.as_ref().map(|known| &known.weighed);
    let tell = |weighed: &Weighed, last| {
        let known = Known { weighed: weighed.clone(), at: *at, seen: *seen };
        outbox.send(Previewed { what_if: Ok(Arc::new(known)), last }).is_ok()
    };
    let mut weighed = match weigh(line, history, commands, *at, settings, earlier) {
        Ok(weighed) => weighed,
        Err(refused) => {
            // If nobody listens any more there is nothing else to do.
            let _ = outbox.send(Previewed { what_if: Err(refused), last: true });
            return;
        }
    };
    let mut listens = tell(&weighed, false);
    for (n, tries) in ROUNDS.into_iter().enumerate() {
        if !listens || dropped.load(Ordering::SeqCst) {
            return;
        }
        weighed.improve(line, settings, tries, &mut || dropped.load(Ordering::SeqCst));
        listens = tell(&weighed, n + 1 == ROUNDS.len());
    }
}
