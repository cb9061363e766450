//! The thread that looks for ways out where there is trouble, makes the plan in force better while nothing happens, and works
//! out what other moves would cost; then it looks for ways out once more, for longer.
//!
//! It is handed a snapshot and knows nothing of the shift; what it finds comes back through a channel and is believed
//! only after the shift has judged it against what is so by then. The next task, or the end of the shift, stops it.

use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::mpsc::{Receiver, Sender, channel};
use std::sync::{Arc, Mutex, PoisonError};
use std::thread::{Builder, JoinHandle};
use std::time::Duration;

use crate::clock::steady_now;
use crate::line::Line;
use crate::plan::{Budget, Instead, Settings, improve_in_rounds, instead, price_tries};
use crate::schedule::{Move, Schedule};
use crate::shift::{History, State};
use crate::units::Time;
use crate::whatif::{WayOut, What, is_better, ways_out};

/// The name of the thread, so that its end is nobody else's.
pub const SEARCH_THREAD: &str = "search";

/// How plans are made better after an event.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Improving {
    /// Not at all.
    #[default]
    Off,
    /// Before the event is answered, by so many trial insertions: the same on every machine.
    AtOnce {
        /// Trial insertions.
        tries: u64,
    },
    /// By a thread, until one of both is spent.
    Behind {
        /// Real time.
        lasting: Duration,
        /// Trial insertions.
        tries: u64,
    },
}

/// A snapshot to search from.
pub(super) struct Task {
    pub line: Arc<Line>,
    pub state: State,
    pub schedule: Schedule,
    pub settings: Settings,
    /// Hauls that stay first.
    pub frozen: usize,
    pub lasting: Duration,
    pub tries: u64,
    /// The instant at which there is trouble that ways out are wanted of.
    pub trouble_at: Option<Time>,
}

/// Trial insertions for all ways out of one trouble together: few at once, so that something is told soon, and many in the end.
const FEW_WAYS: u64 = 60_000;
const MANY_WAYS: u64 = 600_000;

/// What a search has found.
pub(super) enum Found {
    /// A better plan.
    Better(Schedule),
    /// What the best other move would cost in place of this one.
    Instead(Move, Option<Instead>),
    /// What could be done about the trouble there was at an instant, best first.
    Ways(Time, Vec<WayOut>),
    /// The task is done.
    Done,
    /// The search broke down; it will not take another task.
    Failed(String),
}

/// The thread and the way to it. Begun with the first task, joined when dropped.
#[derive(Default)]
pub(super) struct Searcher {
    running: Option<Running>,
    /// Counts tasks; whatever an earlier one finds is thrown away.
    task: Arc<AtomicU64>,
    busy: bool,
    failed: bool,
}

/// The newest task that was not taken up yet. On a busy machine many come while one is under way: they do not wait in a
/// row, each with a state and a plan of its own, only to be thrown away.
type Slot = Arc<Mutex<Option<(u64, Task)>>>;

struct Running {
    newest: Slot,
    wake: Sender<()>,
    found: Receiver<(u64, Found)>,
    thread: JoinHandle<()>,
}

impl Searcher {
    /// True while a task is under way.
    pub(super) fn is_busy(&self) -> bool {
        self.busy
    }

    /// Stops the task under way, if there is one.
    pub(super) fn cancel(&mut self) {
        self.task.fetch_add(1, Ordering::SeqCst);
        self.busy = false;
    }

    /// Takes up a task in place of the one under way.
    pub(super) fn start(&mut self, task: Task) {
        self.cancel();
        if self.failed {
            return;
        }
        let number = self.task.load(Ordering::SeqCst);
        if self.running.is_none() {
            self.running = Running::begin(&self.task);
        }
        self.busy = self.running.as_ref().is_some_and(|r| r.take_up(number, task));
    }

    /// What was found since this was last asked, oldest first.
    pub(super) fn take(&mut self) -> Vec<Found> {
        let current = self.task.load(Ordering::SeqCst);
        let Some(running) = &self.running else { return Vec::new() };
        let found: Vec<Found> =
            running.found.try_iter().filter(|(task, _)| *task == current).map(|(_, found)| found).collect();
        for found in &found {
            self.busy &= !matches!(found, Found::Done | Found::Failed(_));
            self.failed |= matches!(found, Found::Failed(_));
        }
        found
    }
}

impl Drop for Searcher {
    fn drop(&mut self) {
        self.cancel();
        if let Some(Running { wake, thread, .. }) = self.running.take() {
            drop(wake);
            // Its panics were caught and told.
            let _ = thread.join();
        }
    }
}

impl Running {
    /// `None` if the machine has no thread left: then plans stay as they are.
    fn begin(current: &Arc<AtomicU64>) -> Option<Self> {
        let (wake, woken) = channel();
        let (outbox, found) = channel();
        let (current, newest) = (Arc::clone(current), Slot::default());
        let inbox = Arc::clone(&newest);
        let work = move || work((&woken, &inbox), &outbox, &current);
        let thread = begin_thread(work)?;
        Some(Self { newest, wake, found, thread })
    }

    /// Leaves a task in the place of one that still waits. False if nobody takes it.
    fn take_up(&self, number: u64, task: Task) -> bool {
        *self.newest.lock().unwrap_or_else(PoisonError::into_inner) = Some((number, task));
        self.wake.send(()).is_ok()
    }
}

/// A thread that works beside the screens and steps back for them: keys and commits go first, also where another terminal
/// searches too. `None` if the machine has no thread left.
pub(super) fn begin_thread(work: impl FnOnce() + Send + 'static) -> Option<JoinHandle<()>> {
    let steps_back = || {
        // Elsewhere the whole process would step back. Where it is not allowed the search is only less polite.
        #[cfg(target_os = "linux")]
        let _ = rustix::process::setpriority_process(None, 10);
        work();
    };
    Builder::new().name(SEARCH_THREAD.to_owned()).spawn(steps_back).ok()
}

fn work((woken, inbox): (&Receiver<()>, &Slot), outbox: &Sender<(u64, Found)>, current: &AtomicU64) {
    while woken.recv().is_ok() {
        let waits = inbox.lock().unwrap_or_else(PoisonError::into_inner).take();
        let Some((number, task)) = waits else { continue };
        let stopped = || current.load(Ordering::SeqCst) != number;
        let done = catch_unwind(AssertUnwindSafe(|| {
            search(&task, &stopped, &mut |found| {
                // If nobody listens any more, the next wait for a task ends the thread.
                let _ = outbox.send((number, found));
            });
        }));
        let last = match done {
            Ok(()) => Found::Done,
            Err(cause) => {
                let text = cause.downcast_ref::<String>().map(String::as_str);
                let text = text.or_else(|| cause.downcast_ref::<&str>().copied());
                Found::Failed(text.unwrap_or("a fault without words").to_owned())
            }
        };
        if outbox.send((number, last)).is_err() {
            break;
        }
    }
}

fn search(task: &Task, stopped: &dyn Fn() -> bool, tell: &mut dyn FnMut(Found)) {
    let Task { line, state, schedule, settings, .. } = task;
    let began = steady_now();
    if stopped() {
        return;
    }
    // Where there is trouble somebody may be waiting for a way out, and the line goes on all the time.
    ways(task, FEW_WAYS, schedule, stopped, tell);
    let other = |schedule: &Schedule| {
        let first = *schedule.moves.first()?;
        let mut budget = Budget { tries: price_tries(state.carriers.len()), stop: &mut || stopped() };
        let found = instead(line, state, schedule, schedule.made_at, settings, &mut budget);
        // One that was stopped half way is not compared fairly; it is thrown away with its task.
        Some(Found::Instead(first, found))
    };
    if let Some(found) = other(schedule) {
        tell(found);
    }
    let mut stop = || stopped() || began.elapsed() >= task.lasting;
    let mut budget = Budget { tries: task.tries, stop: &mut stop };
    let best = improve_in_rounds(line, state, schedule, settings, task.frozen, &mut budget, &mut |better| {
        tell(Found::Better(better.clone()));
    });
    // The price of another move is held against the plan, and the plan has changed.
    if let Some(found) = best.as_ref().filter(|_| !stopped()).and_then(other) {
        tell(found);
    }
    let best = best.unwrap_or_else(|| schedule.clone());
    ways(task, MANY_WAYS, &best, stopped, tell);
}

/// Ways out, where there is trouble.
fn ways(task: &Task, tries: u64, best: &Schedule, stopped: &dyn Fn() -> bool, tell: &mut dyn FnMut(Found)) {
    let Some(now) = task.trouble_at.filter(|_| !stopped()) else { return };
    let history = History::from_now_on(task.state.clone());
    let ways = ways_out(&task.line, &history, now, &task.settings, tries, &mut || stopped());
    if stopped() {
        return;
    }
    // An order found on the way holds without a word too.
    let nothing = ways.iter().find(|w| w.what == What::Nothing).map(|w| &w.prospect.schedule);
    if let Some(nothing) = nothing.filter(|n| is_better(&task.line, &task.state, n, best)) {
        tell(Found::Better(nothing.clone()));
    }
    tell(Found::Ways(now, ways));
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::shift::{Command, Stamped, Who, decide};

    /// However fast tasks come, one is under way and one waits: each has a state and a plan of its own.
    #[test]
    fn tasks_do_not_pile_up() {
        let (line, recipes, orders) = crate::files::demo();
        let line = Arc::new(crate::files::read_line(line, recipes).expect("the demo is sound").value);
        let book = crate::files::read_orders(orders, &line, None).expect("the demo is sound").value.book;
        let mut history = History::new(&line);
        let opened = decide(&line, &history, &Command::Open { book }, Time::ZERO).expect("it can be opened");
        for (at, event) in opened {
            let seq = crate::ids::Seq(1);
            history.push(&line, Stamped { seq, at, entered: at, by: Who::Supervisor, event });
        }
        let settings = Settings::default();
        let schedule = crate::plan::plan(&line, history.state(), Time::ZERO, &settings);
        let mut searcher = Searcher::default();
        let mut most = 0;
        for _ in 0..2000 {
            searcher.start(Task {
                line: Arc::clone(&line),
                state: history.state().clone(),
                schedule: schedule.clone(),
                settings,
                frozen: 0,
                lasting: Duration::MAX,
                tries: 1_000_000,
                trouble_at: None,
            });
            // One here, one under way, one that waits.
            most = most.max(Arc::strong_count(&line));
        }
        assert!(most <= 3, "{most}");
    }
}
