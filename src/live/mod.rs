//! The shell: one running shift with its clock, journal, planner and crew. Screens and commands talk to this only.
//!
//! A command is decided, stored, folded, and only then answered. Two shells may run on one journal, in one process or
//! two: whoever was slower folds what the other stored and decides again. Keeps out: text formats, paint, judgement.

mod asking;
mod commit;
mod errand;
mod fork;
mod happening;
mod learning;
mod lock;
mod notice;
mod planning;
mod preview;
mod reckon;
mod resume;
mod search;
mod source;
mod wake;

use std::collections::VecDeque;
use std::path::Path;
use std::sync::Arc;

pub use asking::{Asked, Asking, Moment, Seeking};
pub use commit::is_fact;
pub use errand::Brought;
pub use fork::Fork;
pub use lock::{Lock, PinError, hash_pin};
pub use notice::Notice;
pub use planning::Planner;
pub use preview::{Known, Previewed};
pub use reckon::Reckoner;
pub use resume::instant;
pub use search::{Improving, SEARCH_THREAD};
pub use source::{Halted, Hands};

use crate::civil::Opening;
use crate::clock::{self, Clock};
use crate::ids::Seq;
use crate::journal::{self, Appended, Header, Journal, Record, StoredTexts, Synced};
use crate::line::{Line, OrderBook};
use crate::plan::{Call, Settings};
use crate::schedule::Schedule;
use crate::shift::{Command, Event, History, Refusal, Stamped, State, Who, decide, unsound};
use crate::train::{Brief, Director};
use crate::units::{Dur, Time};
use crate::verify::Breach;
use crate::whatif::{self, Trouble, WayOut};

/// What journals are written by.
const PROGRAM: &str = concat!("dwellhand ", env!("CARGO_PKG_VERSION"));

/// How often a command is decided again because another program was faster. Each time that program has made progress.
const TRIES: usize = 16;

/// Two programs on one journal round the wall clock differently, and clocks are set by small steps; no more than this.
const CLOCKS_DIFFER: Dur = Dur::from_secs(2);

/// The most notices that are kept; the oldest give way.
const NOTICES_KEPT: usize = 50;

/// Why a command did not go through.
#[derive(Debug, thiserror::Error)]
pub enum Problem {
    /// It cannot be done now; ordinary.
    #[error("{0}")]
    Refused(#[from] Refusal),
    /// Something broke: disk, lock, a damaged journal. The state is what it was.
    #[error(transparent)]
    Fault(#[from] journal::Error),
    /// This shift is only watched here.
    #[error("this program only watches the shift")]
    OnlyWatched,
    /// It is a supervisor's, and the PIN was not given here, or too long ago.
    #[error("that is the supervisor's, and locked: w asks for the PIN")]
    Locked,
    /// Something was said meanwhile that whoever asks has not seen.
    #[error("the shift has moved on meanwhile")]
    MovedOn,
    /// The line went on while somebody weighed a change, and it would do more harm now than they have seen.
    #[error("it costs more by now: {0}")]
    CostsMore(String),
}

/// What a new shift is made of, apart from its line and clock.
#[derive(Debug, Clone)]
pub struct NewShift {
    /// The texts it runs on, kept in the journal.
    pub texts: StoredTexts,
    /// Where its axis begins.
    pub opening: Opening,
    /// The plant's time zone, as a name or an offset, for people.
    pub zone: String,
    /// Its orders.
    pub book: OrderBook,
    /// How the planner works.
    pub settings: Settings,
    /// True if nothing real is moved.
    pub practice: bool,
    /// How many times faster than the wall its clock runs; 1 unless it is practice.
    pub speed: f64,
}

/// A running shift.
pub struct LiveShift {
    line: Arc<Line>,
    opening: Opening,
    history: History,
    clock: Box<dyn Clock>,
    /// By how much the instant is ahead of the clock: a shift that is only watched goes by the events of the others.
    ahead: Dur,
    settings: Settings,
    journal: Option<Journal>,
    header: Option<Header>,
    planner: Planner,
    improving: Improving,
    searcher: search::Searcher,
    previewer: preview::Previewer,
    reckoner: reckon::Reckoner,
    director: Option<Director>,
    brief: Option<Brief>,
    learning: learning::Learning,
    plan: planning::InForce,
    calls: Vec<Call>,
    breaches: Vec<Breach>,
    ways: Vec<WayOut>,
    /// The instant they were worked out for.
    ways_at: Time,
    crew: wake::Crew,
    to_come: VecDeque<(Time, Command)>,
    last_watch: Option<Time>,
    /// Another terminal has planned, and keeps the ways out it finds to itself.
    ways_due: bool,
    notices: Vec<Notice>,
    lock: Option<Lock>,
}

impl LiveShift {
    /// A shift that is kept in memory only.
    pub fn in_memory(line: Arc<Line>, opening: Opening, clock: Box<dyn Clock>, settings: Settings) -> Self {
        let history = History::new(&line);
        Self {
            line,
            opening,
            history,
            clock,
            ahead: Dur::ZERO,
            settings,
            journal: None,
            header: None,
            planner: Box::new(crate::plan::plan),
            improving: Improving::Off,
            searcher: search::Searcher::default(),
            previewer: preview::Previewer::default(),
            reckoner: reckon::Reckoner::default(),
            director: None,
            brief: None,
            learning: learning::Learning::default(),
            plan: planning::InForce::default(),
            calls: Vec::new(),
            breaches: Vec::new(),
            ways: Vec::new(),
            ways_at: Time::PAST,
            crew: wake::Crew::default(),
            to_come: VecDeque::new(),
            last_watch: None,
            ways_due: false,
            notices: Vec::new(),
            lock: None,
        }
    }

    /// A new shift with a new journal: stores what it runs on, opens it with its orders and plans.
    pub fn create(
        path: &Path,
        line: Arc<Line>,
        new: NewShift,
        clock: Box<dyn Clock>,
    ) -> Result<Self, Problem> {
        let header = Header {
            texts: new.texts,
            opening: new.opening,
            zone: new.zone,
            program: PROGRAM.to_owned(),
            practice: new.practice,
            speed: new.speed,
            created: clock::wall_now(),
            forked_from: None,
        };
        let journal = Journal::create(path, &header)?;
        let mut shift = Self::in_memory(line, new.opening, clock, new.settings);
        shift.journal = Some(journal);
        shift.header = Some(header);
        shift.submit(&Command::Open { book: new.book }, Who::Supervisor)?;
        Ok(shift)
    }

    /// A shift from its journal, as it was, planned anew from now.
    ///
    /// `read` makes line and orders of what the header keeps: the stored texts and the opening their times of day count
    /// from. `clock` makes the clock from the instant it should show: the
    /// wall's for a real shift, that of the last event for practice, and never one before the last event.
    pub fn reopen(
        path: &Path,
        settings: Settings,
        read: impl FnOnce(&Header) -> Result<(Line, OrderBook), String>,
        clock: impl FnOnce(&Header, Time) -> Box<dyn Clock>,
    ) -> Result<(Self, Vec<Notice>), Problem> {
        let (mut shift, book) = Self::taken_up(Journal::open(path)?, settings, read, clock)?;
        if shift.state().is_open() {
            shift.take_up_plan();
            let now = shift.now();
            if !shift.is_planned_for(now) {
                shift.plan_or_notice(now, planning::Adopt::IfDifferent);
            }
        } else {
            shift.submit(&Command::Open { book }, Who::Supervisor)?;
        }
        let notices = shift.take_notices();
        Ok((shift, notices))
    }

    /// A shift that other programs run, only to look at: shows what their journal says, plans and alarms too, and never
    /// writes to it. The file need not be writable. `read` and `clock` as for [`LiveShift::reopen`].
    pub fn watch(
        path: &Path,
        read: impl FnOnce(&Header) -> Result<(Line, OrderBook), String>,
        clock: impl FnOnce(&Header, Time) -> Box<dyn Clock>,
    ) -> Result<(Self, Vec<Notice>), Problem> {
        let (mut shift, _) = Self::taken_up(Journal::follow(path)?, Settings::default(), read, clock)?;
        shift.take_up_plan();
        let notices = shift.take_notices();
        Ok((shift, notices))
    }

    /// A shift as its journal says it is, and the orders of the texts it runs on.
    fn taken_up(
        (mut journal, header): (Journal, Header),
        settings: Settings,
        read: impl FnOnce(&Header) -> Result<(Line, OrderBook), String>,
        clock: impl FnOnce(&Header, Time) -> Box<dyn Clock>,
    ) -> Result<(Self, OrderBook), Problem> {
        let path = journal.path().to_owned();
        let (line, book) = read(&header).map_err(|why| journal::Error::Texts { path, why })?;
        let records = journal.catch_up(&line, &OrderBook::default())?;
        let mut notices: Vec<Notice> = journal.take_torn().into_iter().map(Notice::Torn).collect();

        let (base, said) = resume::instant(&header, &records, clock::wall_now(), clock::uptime());
        notices.extend(said);
        let clock = clock(&header, base);
        let mut shift = Self::in_memory(Arc::new(line), header.opening, clock, settings);
        let events = records.into_iter().map(|r| r.stamped).collect();
        shift.history = History::of(&shift.line, events);
        if let Some(why) = unsound(&shift.line, shift.history.state()) {
            return Err(journal::Error::Impossible { path: journal.path().to_owned(), why }.into());
        }
        shift.journal = Some(journal);
        shift.header = Some(header);
        shift.notices = notices;
        Ok((shift, book))
    }

    /// The line as it is now: what its file says and what was changed since.
    pub fn line(&self) -> &Line {
        self.history.state().line(&self.line)
    }
    /// The line as its file says.
    pub fn filed(&self) -> &Line {
        &self.line
    }
    /// Where the axis lies on the wall clock.
    pub fn opening(&self) -> Opening {
        self.opening
    }
    /// All events so far.
    pub fn history(&self) -> &History {
        &self.history
    }
    /// What is so.
    pub fn state(&self) -> &State {
        self.history.state()
    }
    /// The instant now.
    pub fn now(&mut self) -> Time {
        self.clock.now() + self.ahead
    }
    /// How long to wait, in real time, until an instant; `None` if the clock only moves when told to.
    pub fn wait_until(&mut self, t: Time) -> Option<std::time::Duration> {
        self.clock.wait_until(t - self.ahead)
    }
    /// How many times faster than the wall the shift runs.
    pub fn speed(&self) -> f64 {
        self.clock.speed()
    }
    /// What the journal says about the shift; `None` for a shift in memory.
    pub fn header(&self) -> Option<&Header> {
        self.header.as_ref()
    }
    /// Where the journal lies; `None` for a shift in memory.
    pub fn path(&self) -> Option<&Path> {
        self.journal.as_ref().map(Journal::path)
    }
    /// The next calls, from the newest verified plan.
    pub fn calls(&self) -> &[Call] {
        &self.calls
    }
    /// All calls of that plan, for those who look further ahead than the next few moves.
    pub fn outlook(&mut self) -> Arc<Vec<Call>> {
        self.plan.outlook(&self.line, self.history.state(), &self.calls)
    }
    /// What the newest verified plan cannot keep, by the verifier's word.
    pub fn breaches(&self) -> &[Breach] {
        &self.breaches
    }
    /// What is wrong now, worst first; `None` if all is well. See [`whatif::trouble`].
    pub fn trouble(&mut self) -> Option<Trouble> {
        let now = self.now();
        whatif::trouble(&self.line, &self.history, now)
    }
    /// What could be done about the trouble there is, the best first: see [`whatif::ways_out`]. Empty if there is none, and
    /// until the thread that makes plans better has worked them out; what happens next makes them stale.
    pub fn ways_out(&self) -> &[WayOut] {
        &self.ways
    }
    /// The instant they were worked out for: they are looked for again while the trouble lasts, but not all the time.
    pub fn ways_at(&self) -> Time {
        self.ways_at
    }
    /// The newest verified plan, done moves left out: what calls and breaches speak of. It may be a few seconds fresher
    /// than the plan in force in the journal, never different in order.
    pub fn schedule(&self) -> &Schedule {
        self.plan.shown()
    }
    /// How old the newest verified plan is; `None` before the first.
    pub fn plan_age(&mut self) -> Option<Dur> {
        let now = self.now();
        self.plan.made_at().map(|t| now - t)
    }
    /// Things worth saying, oldest first.
    pub fn notices(&self) -> &[Notice] {
        &self.notices
    }
    /// The same, taken away.
    pub fn take_notices(&mut self) -> Vec<Notice> {
        std::mem::take(&mut self.notices)
    }
    /// True if the shift is only looked at here: see [`LiveShift::watch`].
    pub fn is_watched(&self) -> bool {
        self.journal.as_ref().is_some_and(Journal::follows)
    }
    /// True if nothing real is moved.
    pub fn is_practice(&self) -> bool {
        self.header.as_ref().is_some_and(|h| h.practice)
    }
    /// How somebody simulated who confirms the moves here works: `simulated`, `punctual`; `None` if nobody does.
    pub fn hands(&self) -> Option<&'static str> {
        self.crew.kind()
    }
    /// What practice it is, if somebody has said.
    pub fn brief(&self) -> Option<&Brief> {
        self.brief.as_ref()
    }
    /// Says what practice it is.
    pub fn set_brief(&mut self, brief: Option<Brief>) {
        self.brief = brief;
    }
    /// Goes on by another clock. It must not show an earlier instant.
    pub fn set_clock(&mut self, clock: Box<dyn Clock>) {
        self.clock = clock;
        self.ahead = Dur::ZERO;
    }
    /// Puts another rule in the planner's place, for comparisons. What it says is verified like any other plan.
    pub fn set_planner(&mut self, planner: Planner) {
        self.planner = planner;
    }

    /// Puts supervisor's actions under a lock, for whoever asks from now on.
    pub fn set_lock(&mut self, lock: Option<Lock>) {
        self.lock = lock;
    }
    /// True if supervisor's actions are refused: see [`Problem::Locked`].
    pub fn is_locked(&self) -> bool {
        self.lock.as_ref().is_some_and(|lock| !lock.is_open(clock::steady_now()))
    }
    /// Opens the lock, if the PIN is right.
    pub fn unlock(&mut self, pin: &str) -> Result<(), PinError> {
        self.lock.as_mut().map_or(Ok(()), |lock| lock.open(pin, clock::steady_now()))
    }
    /// Somebody is there: an open lock stays open.
    pub fn touch(&mut self) {
        if let Some(lock) = &mut self.lock {
            lock.touch(clock::steady_now());
        }
    }

    /// Makes plans better after each event, from the plan in force on.
    pub fn set_improving(&mut self, improving: Improving) -> Result<(), Problem> {
        self.improving = improving;
        let now = self.now();
        if self.is_watched() { Ok(()) } else { self.improve(now, planning::Order::New) }
    }

    /// The same from the next event on, for a shift whose plan in force has been made better already when it was made.
    pub fn go_on_improving(&mut self, improving: Improving) {
        self.improving = improving;
    }

    /// Does what a person or the crew asks: decides, stores, folds, plans anew. Once this returns `Ok` the events are on
    /// the disk; a plan that could not be made or stored after that is a notice, not an error.
    pub fn submit(&mut self, command: &Command, by: Who) -> Result<(), Problem> {
        if let Command::AdoptPlan { schedule } = command {
            self.judged(schedule)?;
        }
        let outdated = self.commit(command, by)?;
        let now = self.now();
        if outdated {
            self.plan_or_notice(now, planning::Adopt::Always);
        } else if matches!(command, Command::AdoptPlan { .. }) {
            self.plan.found();
            self.take_up_plan();
        }
        Ok(())
    }

    /// Does several things that a person asks for at once: all of them, or none if one is refused.
    pub fn submit_all(&mut self, commands: &[Command], by: Who) -> Result<(), Problem> {
        if self.commit_all(commands, by, None)? {
            let now = self.now();
            self.plan_or_notice(now, planning::Adopt::Always);
        }
        Ok(())
    }

    /// The last event that changed where things are or what is wanted; plans and alarms are none.
    pub fn last_fact(&self) -> Seq {
        let mut events = self.history.events().iter().rev();
        events.find(|s| s.event.calls_for_plan()).map_or(Seq(0), |s| s.seq)
    }

    /// Reads and folds what another program has appended. True if there was anything.
    pub fn tail(&mut self) -> Result<bool, Problem> {
        let Some(journal) = &mut self.journal else { return Ok(false) };
        let state = self.history.state();
        let newer = journal.tail(state.line(&self.line), &state.book)?;
        if journal.take_put_back() {
            self.notice(Notice::PutBack);
        }
        let any = !newer.is_empty();
        self.fold_others(newer);
        Ok(any)
    }

    /// Decides, stores and folds a command. On a conflict folds what others stored and decides again. True if the plan
    /// in force no longer starts from what is so.
    fn commit(&mut self, command: &Command, by: Who) -> Result<bool, Problem> {
        self.commit_all(std::slice::from_ref(command), by, None)
    }

    /// The same for several commands, each decided after the ones before it; all are stored together or none. With
    /// `seen`, only as long as that is the last fact.
    fn commit_all(&mut self, commands: &[Command], by: Who, seen: Option<Seq>) -> Result<bool, Problem> {
        if self.is_watched() {
            return Err(Problem::OnlyWatched);
        }
        let reserved = by == Who::Supervisor || (by == Who::Operator && commands.iter().any(is_supervisors));
        if reserved && self.is_locked() {
            return Err(Problem::Locked);
        }
        for _ in 0..TRIES {
            if seen.is_some_and(|seen| self.last_fact() != seen) {
                return Err(Problem::MovedOn);
            }
            let now = self.now();
            let stamped = self.decided(commands, by, now)?;
            match self.store(&stamped)? {
                Appended::Stored => {
                    let outdated = stamped.iter().any(|s| s.event.calls_for_plan());
                    if outdated {
                        self.stop_improving();
                    }
                    for s in stamped {
                        self.history.push(&self.line, s);
                    }
                    return Ok(outdated);
                }
                Appended::Behind(newer) => {
                    let moved = newer.iter().any(|r| planning::bears_on_plan(&r.stamped.event));
                    self.fold_others(newer);
                    if moved && commands.iter().any(|c| matches!(c, Command::AdoptPlan { .. })) {
                        let why = "something else was stored while it was made".to_owned();
                        return Err(Refusal::StalePlan { why }.into());
                    }
                }
            }
        }
        let path = self.path().map(Path::to_owned).unwrap_or_default();
        Err(journal::Error::Busy { path }.into())
    }

    fn decided(&self, commands: &[Command], by: Who, now: Time) -> Result<Vec<Stamped>, Refusal> {
        let mut all: Vec<Stamped> = Vec::new();
        let mut then: Option<History> = None;
        for (n, command) in commands.iter().enumerate() {
            let decided = decide(&self.line, then.as_ref().unwrap_or(&self.history), command, now)
                .map_err(|refusal| refusal.told(|t| self.opening.clock(t)))?;
            let first = self.state().seq.0 + 1 + all.len() as u64;
            let stamped = (first..).zip(decided).map(|(seq, (at, event))| Stamped {
                seq: Seq(seq),
                at,
                entered: now,
                by,
                event,
            });
            all.extend(stamped);
            if n + 1 < commands.len() {
                let then = then.get_or_insert_with(|| self.history.clone());
                for s in &all[(first - self.state().seq.0 - 1) as usize..] {
                    then.push(&self.line, s.clone());
                }
            }
        }
        Ok(all)
    }

    fn store(&mut self, stamped: &[Stamped]) -> Result<Appended, journal::Error> {
        let (Some(journal), Some(first)) = (&mut self.journal, stamped.first()) else {
            return Ok(Appended::Stored);
        };
        // What the program says by itself can be worked out again; what people say cannot.
        let synced = if first.by == Who::Program { Synced::Later } else { Synced::Now };
        let state = self.history.state();
        let done = journal.append(state.line(&self.line), &state.book, stamped, synced);
        let torn = journal.take_torn();
        let put_back = journal.take_put_back();
        for t in torn {
            self.notice(Notice::Torn(t));
        }
        if put_back {
            self.notice(Notice::PutBack);
        }
        done
    }

    fn fold_others(&mut self, newer: Vec<Record>) {
        if newer.is_empty() {
            return;
        }
        if self.is_watched() {
            self.follow_clock(newer.iter().map(|r| r.stamped.entered).max());
        }
        let now = self.now();
        // Whoever stored that plans, and searches. Ways out of trouble outlast a plan that only goes on: while somebody is late,
        // one follows the other.
        let fact = newer.iter().any(|r| r.stamped.event.calls_for_plan());
        let plan = newer.iter().any(|r| planning::bears_on_plan(&r.stamped.event));
        if fact || plan && !self.is_in_trouble(now) {
            self.stop_improving();
        }
        for record in newer {
            if record.stamped.event.calls_for_plan() {
                self.plan.miss(now);
            } else if matches!(record.stamped.event, Event::PlanAdopted { .. }) {
                self.plan.found();
            }
            self.history.push(&self.line, record.stamped);
        }
        self.take_up_plan();
        self.ways_due = true;
    }

    /// Sets the clock of a watched shift by the newest event. The clock of a practice lives in the program that runs it:
    /// it may run faster than the header says, and it stands still while that program is closed.
    fn follow_clock(&mut self, newest: Option<Time>) {
        let (Some(newest), Some(header)) = (newest, &self.header) else { return };
        let early = Dur::from_secs_f64(CLOCKS_DIFFER.as_secs_f64() * header.speed.max(1.0));
        let may_go_back = header.practice;
        let behind = newest - self.now();
        if behind > Dur::ZERO || (may_go_back && behind < -early) {
            self.ahead += behind;
        }
    }

    /// Says something beside the answers.
    pub fn notice(&mut self, notice: Notice) {
        if self.notices.last() == Some(&notice) {
            return;
        }
        if self.notices.len() == NOTICES_KEPT {
            self.notices.remove(0);
        }
        self.notices.push(notice);
    }
}

/// True for what only a supervisor does where there is a PIN: everything that changes what is wanted or allowed.
fn is_supervisors(command: &Command) -> bool {
    matches!(
        command,
        Command::Change { .. }
            | Command::TakeBack { .. }
            | Command::TankOut { .. }
            | Command::TankBack { .. }
    )
}
