//! The loop: wait for a key, a signal or the next second; update; perform; paint if anything changed.

use std::io;
use std::sync::Arc;
use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender, channel};
use std::time::Duration;

use crossterm::event::{Event as Input, KeyEventKind};
use signal_hook::consts::{SIGCONT, SIGHUP, SIGINT, SIGTERM, SIGTSTP};
use signal_hook::iterator::Signals;
use signal_hook::low_level::emulate_default_handler;

use super::action::Action;
use super::app::{self, App, Effect, Post, Reckon, Tone, update};
use super::changes::{Grounds, keep_preview};
use super::course::{Course, Stage};
use super::debounce::Debounce;
use super::fading::Fading;
use super::glyphs::GlyphSet;
use super::herald::{Calls, Herald};
use super::keymap::{self, Context};
use super::mouse::{self, Mouse};
use super::pages::keep_page;
use super::plain;
use super::player::Player;
use super::retold;
use super::screens::{Look, paint};
use super::terminal::{Screen, ring};
use super::theme::{Depth, Ground};
use crate::clock::steady_now;
use crate::ids::Seq;
use crate::live::{LiveShift, Notice, Problem};
use crate::shift::{Command, Who};
use crate::units::Time;
use crate::verify::{Breach, happened};
use crate::view::{Board, WayRow, newly_broken, trouble_words, way_rows};
use crate::whatif::trouble;

/// Takes up the ways out of trouble; the supervisor is told once that there are some, but not where nothing helps.
fn offer_ways(app: &mut App, shift: &mut LiveShift, post: Post) {
    let rows = way_rows(shift.line(), shift.state(), shift.ways_out());
    let helps = |rows: &[WayRow]| rows.first().is_some_and(|best| !best.commands.is_empty());
    if helps(&rows) && !helps(&app.changes.ways) && post == Post::Supervisor {
        let now = shift.now();
        let trouble = trouble(shift.line(), shift.history(), now);
        let words =
            trouble.map(|t| trouble_words(shift.line(), shift.state(), &t, now) + ": ").unwrap_or_default();
        app.warn(format!("{words}w shows ways out, the best first"), now);
    }
    app.changes.ways = rows;
    app.changes.ways_at = shift.ways_at();
}

/// How the screens look and what they allow.
#[derive(Debug, Clone, Copy)]
pub struct Options {
    /// What answers a line of process arithmetic.
    pub reckon: Option<Reckon>,
    /// How many colours.
    pub color: Depth,
    /// What they are painted on.
    pub ground: Ground,
    /// Which drawing characters.
    pub glyphs: GlyphSet,
    /// The longest time between two looks at the clock.
    pub refresh: Duration,
    /// Whose screen it is.
    pub post: Post,
    /// A practice: a simulated crew may be watched.
    pub practice: bool,
    /// Whether the cautions come first.
    pub cautions: Cautions,
    /// Bracket frames so that the terminal shows them whole.
    pub synchronised: bool,
    /// What calls when an alarm sets in.
    pub calls: Calls,
    /// Whose the mouse is.
    pub mouse: Mouse,
    /// A practice with an end; whoever begins it is told when the cautions have been read.
    pub course: Option<Course>,
}

/// Whether the cautions come first.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Cautions {
    /// They were read before.
    Read,
    /// They are shown while time runs.
    First,
    /// They are shown and time stands still until they have been read; whoever begins it is told then.
    BeforeTime,
}

/// What whoever opened a shift is asked to begin.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Begin {
    /// Time: the cautions have been read.
    Time,
    /// A simulated crew that somebody wants to watch.
    Crew,
}

impl Default for Options {
    fn default() -> Self {
        Self {
            reckon: None,
            color: Depth::Many,
            ground: Ground::Own,
            glyphs: GlyphSet::Full,
            refresh: Duration::from_secs(1),
            post: Post::Operator,
            practice: false,
            cautions: Cautions::First,
            synchronised: true,
            calls: Calls::default(),
            mouse: Mouse::default(),
            course: None,
        }
    }
}

/// Why the screens ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Exit {
    /// The person left.
    Quit,
    /// A signal of this number asked for it; the exit code is 128 more.
    Signal(i32),
}

impl Exit {
    /// The process's exit code.
    pub fn code(self) -> i32 {
        match self {
            Self::Quit => 0,
            Self::Signal(n) => 128 + n,
        }
    }
}

/// What broke.
#[derive(Debug, thiserror::Error)]
pub enum TuiError {
    /// The terminal could not be taken over.
    #[error("the terminal cannot be used: {0}")]
    Terminal(#[source] io::Error),
    /// The terminal went away.
    #[error("the terminal is gone: {0}")]
    Lost(#[source] io::Error),
    /// Another part of the program panicked, and said so on the terminal it gave back.
    #[error("a part of the program failed; what was said before is kept")]
    Failed,
}

impl TuiError {
    /// The process's exit code: a lost terminal counts as a hang-up.
    pub fn code(&self) -> i32 {
        match self {
            Self::Terminal(_) => 1,
            Self::Lost(_) => 128 + SIGHUP,
            Self::Failed => 101,
        }
    }
}

/// What the loop shows and what keys act on: a running shift, or a recording.
pub(super) trait Source {
    /// Lets time go by; what is worth saying goes to the app.
    fn tick(&mut self, app: &mut App);
    /// The instant that is shown.
    fn now(&mut self) -> Time;
    /// The last event that is shown.
    fn seq(&self) -> Seq;
    /// A question hides part of what there is to be seen.
    fn hides(&self) -> bool {
        false
    }
    /// What is to be seen now.
    fn board(&mut self) -> Board;
    /// Makes the page that is read anew, if that is due.
    fn keep_page(&mut self, app: &mut App, board: &Board);
    /// Performs effects; answers go to the app.
    fn perform(&mut self, app: &mut App, effects: Vec<Effect>) -> Outcome;
    /// Somebody pressed a key.
    fn touched(&mut self) {}
    /// How long, in real time, nothing has to be looked at; not longer than `refresh`.
    fn wait(&mut self, board: &Board, refresh: Duration) -> Duration;
}

/// Everything that can wake the loop.
pub(super) enum Wake {
    Input(Input),
    /// A typed line, where there are no keys.
    Line(String),
    Signal(i32),
    InputLost(io::Error),
}

/// What performing effects comes to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Outcome {
    /// Go on.
    Go,
    /// Leave.
    Quit,
    /// Start the simulated crew.
    StartCrew,
    /// Paint everything anew.
    Repaint,
    /// Stop for the shell.
    Suspend,
}

/// Said when somebody else was faster than a commit.
const MOVED_ON: &str = "Somebody was faster: nothing was changed. See the new before and after, then Enter.";

/// Said when the line went on and a change would do more harm than was shown.
const COSTS_MORE: &str = "The line went on; nothing was changed. See what it costs now, then Enter:";

/// What is to be seen of a shift now.
pub fn board_of(shift: &mut LiveShift) -> Board {
    let now = shift.now();
    let calls = shift.outlook();
    Board::build(
        shift.line(),
        shift.state(),
        shift.history(),
        &calls,
        shift.breaches(),
        &shift.opening(),
        now,
    )
}

/// Performs effects on the shift; answers go to the app.
pub fn perform(app: &mut App, shift: &mut LiveShift, effects: Vec<Effect>) -> Outcome {
    let mut outcome = Outcome::Go;
    for effect in effects {
        match effect {
            Effect::Submit { command, done } => {
                let supervises = app.post == Post::Supervisor && !app.locked;
                let by = if supervises { Who::Supervisor } else { Who::Operator };
                // What is put right may show that a window was not kept; other requests are judged as they are made.
                let puts_right = matches!(command, Command::Correct { .. } | Command::Retime { .. });
                let before = puts_right.then(|| happened(shift.line(), shift.state()));
                let result = shift.submit(&command, by);
                let now = shift.now();
                match result {
                    Ok(()) => {
                        app.typed = None;
                        let after = |before: Vec<Breach>| {
                            newly_broken(&before, &happened(shift.line(), shift.state()))
                        };
                        match before.and_then(after) {
                            Some(broken) => app.warn(format!("{done}  {broken}"), now),
                            None => app.done(done, now),
                        }
                    }
                    Err(problem @ (Problem::Refused(_) | Problem::OnlyWatched | Problem::Locked)) => {
                        app.refuse_said(problem.to_string(), now);
                    }
                    Err(problem) => app.warn(format!("FAULT: {problem}"), now),
                }
            }
            Effect::Unlock(pin) => {
                let opened = shift.unlock(&pin);
                let now = shift.now();
                app.locked = shift.is_locked();
                match opened {
                    Ok(()) => app.done("Unlocked. w: propose a change.", now),
                    Err(error) => app.ask_pin(Some(error.to_string())),
                }
            }
            Effect::Commit { commands, grounds, done } => {
                let result = match grounds {
                    Grounds::Seen(known) => shift.submit_weighed(&commands, Who::Supervisor, &known),
                    Grounds::Fact => shift.submit_all(&commands, Who::Supervisor),
                };
                let now = shift.now();
                match result {
                    Ok(()) => {
                        app.changes.clear();
                        app.done(done, now);
                    }
                    Err(Problem::MovedOn) => app.refuse(MOVED_ON, now),
                    Err(Problem::CostsMore(what)) => app.refuse(format!("{COSTS_MORE} {what}"), now),
                    Err(problem @ (Problem::Refused(_) | Problem::OnlyWatched | Problem::Locked)) => {
                        app.refuse(problem.to_string(), now);
                    }
                    Err(problem) => app.warn(format!("FAULT: {problem}"), now),
                }
            }
            Effect::Debrief => retold::open(app, shift),
            Effect::Quit => outcome = Outcome::Quit,
            Effect::StartCrew => outcome = Outcome::StartCrew,
            Effect::Repaint => outcome = Outcome::Repaint,
            Effect::Suspend => outcome = Outcome::Suspend,
            Effect::Tape(_) => {}
        }
    }
    outcome
}

/// A running shift on the screens.
pub(super) struct Live<'a> {
    /// The shift.
    pub shift: &'a mut LiveShift,
    post: Post,
    course: Option<Course>,
    stage: Stage,
    /// Time has not begun.
    waits: bool,
    begin: &'a mut dyn FnMut(&mut LiveShift, Begin),
    /// The last event whose line and orders the app knows.
    learned: Option<Seq>,
    /// A word for the practice.
    kind: &'static str,
}

impl<'a> Live<'a> {
    /// A shift as the options want it; `begin` as in [`run`].
    pub fn of(
        shift: &'a mut LiveShift,
        options: &Options,
        begin: &'a mut dyn FnMut(&mut LiveShift, Begin),
    ) -> Self {
        let (post, course, stage) = (options.post, options.course, Stage::default());
        let waits = options.cautions == Cautions::BeforeTime;
        Self { shift, post, course, stage, waits, begin, learned: None, kind: "practice" }
    }

    /// Lets time go by; what is worth saying goes to `say`.
    pub fn go_on(&mut self, app: &mut App, say: &mut dyn FnMut(&mut App, Tone, String, Time)) {
        let shift = &mut *self.shift;
        // A disk that fails must be seen, but it must not take the call off the screen.
        let ticked = if self.stage.goes_on() { shift.tick().map(|_| ()) } else { Ok(()) };
        look_at_practice(app, shift);
        if app.practising.brief.as_deref() != shift.brief() {
            app.practising.brief = shift.brief().cloned().map(Arc::new);
        }
        self.kind = app.practising.kind();
        let now = shift.now();
        look_at_lock(app, shift, now);
        for notice in shift.take_notices() {
            let tone = match notice {
                Notice::NextCallChanged { .. } => Tone::Note,
                _ => Tone::Warning,
            };
            say(app, tone, notice.to_string(), now);
        }
        if let Err(Problem::Fault(fault)) = ticked {
            say(app, Tone::Warning, format!("FAULT: {fault}"), now);
        }
        let seq = shift.state().seq;
        if self.learned.replace(seq) != Some(seq) {
            app.learn(shift.line(), &shift.state().book);
        }
        keep_preview(app, shift);
        offer_ways(app, shift, self.post);
        retold::keep(app, shift);
        let mut begins = self.course.is_some_and(|course| self.stage.keep(course, app, shift));
        if self.waits && !matches!(app.screen, app::Screen::Caution | app::Screen::Brief) {
            self.waits = false;
            begins = true;
        }
        if begins {
            (self.begin)(shift, Begin::Time);
        }
    }
}

impl Source for Live<'_> {
    fn tick(&mut self, app: &mut App) {
        self.go_on(app, &mut |app, tone, text, now| app.tell(tone, text, now));
    }

    fn now(&mut self) -> Time {
        self.shift.now()
    }

    fn seq(&self) -> Seq {
        self.shift.state().seq
    }

    fn hides(&self) -> bool {
        self.stage == Stage::Over
    }

    fn board(&mut self) -> Board {
        self.stage.shows(board_of(self.shift), self.kind)
    }

    fn perform(&mut self, app: &mut App, effects: Vec<Effect>) -> Outcome {
        let outcome = perform(app, self.shift, effects);
        if outcome == Outcome::StartCrew {
            // It brings its own time.
            self.waits = false;
            (self.begin)(self.shift, Begin::Crew);
        }
        outcome
    }

    fn keep_page(&mut self, app: &mut App, board: &Board) {
        let told = (self.shift.line(), self.shift.history());
        keep_page(app, told, &self.shift.opening(), board);
    }

    fn touched(&mut self) {
        self.shift.touch();
    }

    fn wait(&mut self, board: &Board, refresh: Duration) -> Duration {
        wait(self.shift, board, refresh)
    }
}

/// Runs the screens until the person leaves or the terminal goes away. `begin` is called when the person wants to watch a
/// simulated crew, and when time begins in a practice whose clock waits for that.
pub fn run(
    ears: &Ears,
    shift: &mut LiveShift,
    options: &Options,
    begin: &mut dyn FnMut(&mut LiveShift, Begin),
) -> Result<Exit, TuiError> {
    if ears.are_lines() {
        return plain::run(ears, shift, options, begin);
    }
    let mut app = App::new(
        Arc::new(shift.line().clone()),
        options.post,
        options.practice,
        options.cautions != Cautions::Read,
    );
    app.reckon = options.reckon;
    app.practising.speed = options.course.map_or(1.0, |course| course.speed);
    show(ears, &mut Live::of(shift, options, begin), app, options)
}

/// Plays a recording until the person leaves it or wants to take it over: see [`Player::take_wanted`].
pub fn replay(ears: &Ears, player: &mut Player, options: &Options) -> Result<Exit, TuiError> {
    if ears.are_lines() {
        return plain::replay(ears, player, options);
    }
    let mut app = App::new(Arc::clone(player.line()), Post::Watch, false, false);
    app.note("Space plays and stops; ? lists the keys.", player.point().at);
    show(ears, player, app, options)
}

fn show(ears: &Ears, source: &mut dyn Source, mut app: App, options: &Options) -> Result<Exit, TuiError> {
    let look = Look::new(options.color, options.glyphs).on(options.ground);
    let wakes = &ears.wakes;
    let mut screen = Screen::enter(options.synchronised, options.mouse).map_err(TuiError::Terminal)?;
    let mut debounce = Debounce::default();
    let mut herald = Herald::new(options.calls);
    let mut kept: Option<Board> = None;
    let mut hid = false;
    // What was painted with that board; `None` if all has to be painted anew.
    let mut drawn: Option<App> = None;
    let mut resumed = false;
    let mut fading = Fading::default();
    loop {
        source.tick(&mut app);
        fading.fade(&mut app, steady_now());
        let (now, seq) = (source.now(), source.seq());
        let turned = std::mem::replace(&mut hid, source.hides()) != hid;
        let before = kept.take().filter(|board| !turned && still_shows(board, now, seq));
        let is_new = before.is_none();
        let board = &*kept.insert(before.unwrap_or_else(|| source.board()));
        source.keep_page(&mut app, board);
        app.see(board);
        if !screen.is_ours() {
            return Err(TuiError::Failed);
        }
        if is_new || drawn.as_ref() != Some(&app) {
            app.desk.cells = screen.fit().map_err(TuiError::Lost)?;
            screen.draw(|buf, area| paint(buf, area, board, &app, &look)).map_err(TuiError::Lost)?;
            if drawn.as_ref() != Some(&app) {
                drawn = Some(app.clone());
            }
            ring(&herald.hear(board, steady_now())).map_err(TuiError::Lost)?;
        }
        let Some(wake) = next(wakes, source.wait(board, options.refresh)) else { continue };
        let actions = match wake {
            Wake::InputLost(error) => return Err(TuiError::Lost(error)),
            Wake::Signal(SIGTSTP) => vec![Action::Suspend],
            // The screen is back already: taking it anew would swallow a key that is pressed meanwhile.
            Wake::Signal(SIGCONT) if std::mem::take(&mut resumed) => Vec::new(),
            Wake::Signal(SIGCONT) => {
                // Whoever stopped us may have used the terminal meanwhile.
                screen.leave().map_err(TuiError::Lost)?;
                screen.enter_again().map_err(TuiError::Lost)?;
                drawn = None;
                Vec::new()
            }
            Wake::Signal(signal) => return Ok(Exit::Signal(signal)),
            Wake::Input(Input::Resize(..)) => {
                drawn = None;
                Vec::new()
            }
            Wake::Line(_) => Vec::new(),
            Wake::Input(Input::Mouse(event)) => mouse::actions(event, &app, board, screen.area()),
            Wake::Input(input) => actions(&input, &app, &mut debounce),
        };
        if !actions.is_empty() {
            source.touched();
        }
        for action in actions {
            let now = source.now();
            let effects = update(&mut app, action, board, now);
            match source.perform(&mut app, effects) {
                Outcome::Go | Outcome::StartCrew => {}
                Outcome::Quit => return Ok(Exit::Quit),
                Outcome::Repaint => {
                    screen.repaint().map_err(TuiError::Lost)?;
                    drawn = None;
                }
                Outcome::Suspend => {
                    screen.leave().map_err(TuiError::Lost)?;
                    emulate_default_handler(SIGTSTP).map_err(TuiError::Terminal)?;
                    screen.enter_again().map_err(TuiError::Lost)?;
                    resumed = true;
                    drawn = None;
                }
            }
        }
    }
}

/// Whether it is practice, how fast it runs and who confirms the moves.
pub(super) fn look_at_practice(app: &mut App, shift: &LiveShift) {
    app.speed = shift.speed();
    app.practice |= shift.is_practice();
    app.practising.crewed = shift.hands().is_some();
    app.practising.crew = shift.hands().unwrap_or(app.practising.crew);
}

/// A supervisor's terminal that nobody touched for a while says that it is locked now.
fn look_at_lock(app: &mut App, shift: &LiveShift, now: Time) {
    let locked = shift.is_locked();
    if locked && !app.locked && app.post == Post::Supervisor {
        app.warn("Locked: nobody was here for a while. w asks for the PIN.", now);
    }
    app.locked = locked;
}

/// True if a board made now would change no cell: times are shown in whole seconds.
fn still_shows(board: &Board, now: Time, seq: Seq) -> bool {
    board.now.0.div_euclid(1000) == now.0.div_euclid(1000) && board.seq == seq
}

/// Painting more often than this tells nobody more, however fast a practice runs.
const LEAST_WAIT: Duration = Duration::from_millis(100);

/// How often a preview under way is asked for.
const PREVIEW_LOOK: Duration = Duration::from_millis(50);

/// Until the next whole second of the shift, or until the shift itself has something to do, but not longer than asked for.
pub(super) fn wait(shift: &mut LiveShift, board: &Board, refresh: Duration) -> Duration {
    let second = Time((board.now.0.div_euclid(1000) + 1) * 1000);
    let wake = shift.next_wake();
    let real = |t: Option<Duration>| t.unwrap_or(refresh);
    let until_second = real(shift.wait_until(second)).max(LEAST_WAIT);
    let until_wake = real(shift.wait_until(wake)).max(Duration::from_millis(5));
    let preview = if shift.is_previewing() || shift.is_reckoning() { PREVIEW_LOOK } else { refresh };
    until_second.min(until_wake).min(preview).min(refresh)
}

pub(super) fn next(wakes: &Receiver<Wake>, wait: Duration) -> Option<Wake> {
    match wakes.recv_timeout(wait) {
        Ok(wake) => Some(wake),
        Err(RecvTimeoutError::Timeout) => None,
        Err(RecvTimeoutError::Disconnected) => {
            Some(Wake::InputLost(io::Error::new(io::ErrorKind::UnexpectedEof, "nobody listens to the keys")))
        }
    }
}

/// What an input event asks for. Pasted text is only ever letters for a field.
pub(super) fn actions(input: &Input, app: &App, debounce: &mut Debounce) -> Vec<Action> {
    match input {
        Input::Key(event) if event.kind != KeyEventKind::Release => keymap::pressed(event)
            .and_then(|key| app.wants(key))
            .filter(|action| debounce.passes(*action, steady_now()))
            .into_iter()
            .collect(),
        Input::Paste(text) if matches!(app.context(), Context::List | Context::Typing | Context::Field) => {
            text.chars().filter(|c| !c.is_control()).take(40).map(Action::Type).collect()
        }
        _ => Vec::new(),
    }
}

/// Who listens to signals and to keys or typed lines: one for a process, whatever is shown one after the other.
pub struct Ears {
    pub(super) wakes: Receiver<Wake>,
    lines: bool,
}

impl Ears {
    /// Begins to listen to keys, for screens, or to lines: then everything is told in lines.
    pub fn listen(lines: bool) -> Result<Self, TuiError> {
        let wakes = if lines { plain::listen() } else { listen() };
        Ok(Self { wakes: wakes.map_err(TuiError::Terminal)?, lines })
    }

    /// True if there are no screens.
    pub fn are_lines(&self) -> bool {
        self.lines
    }
}

/// Signals and keys, each on its own thread: the key thread may hang on a dead terminal without stopping the loop, and
/// the loop notices by itself when it draws.
fn listen() -> io::Result<Receiver<Wake>> {
    let (send, receive) = channel();
    signals(&[SIGTERM, SIGHUP, SIGINT, SIGTSTP, SIGCONT], send.clone())?;
    std::thread::Builder::new().name("keys".to_owned()).spawn(move || keys(&send))?;
    Ok(receive)
}

/// Signals, on a thread of their own.
pub(super) fn signals(wanted: &[i32], to_loop: Sender<Wake>) -> io::Result<()> {
    let mut signals = Signals::new(wanted)?;
    std::thread::Builder::new().name("signals".to_owned()).spawn(move || {
        for signal in &mut signals {
            if to_loop.send(Wake::Signal(signal)).is_err() {
                break;
            }
        }
    })?;
    Ok(())
}

fn keys(to_loop: &Sender<Wake>) {
    loop {
        let wake = match crossterm::event::read() {
            Ok(input) => Wake::Input(input),
            Err(error) => Wake::InputLost(error),
        };
        let over = matches!(wake, Wake::InputLost(_));
        if to_loop.send(wake).is_err() || over {
            break;
        }
    }
}
