//! Where the person is on the screens, and what a key makes of it. Pure: effects go out as data, `run` performs them.

use std::sync::Arc;

use super::action::Action;
use super::changes::{self, Changes, Grounds, Outlook, Selected, Step};
use super::choosing::{self, Choosing};
use super::desk::Desk;
use super::dialog::{
    Amount, Ask, Asks, Consequence, Dialog, Field, Item, List, Means, Page, PageOf, Subject, Timed, is_timed,
    moved, since,
};
use super::entries::{self, Entries};
use super::keymap::{self, Context, Key};
use super::lessons::Lessons;
use super::pages::{self, Pages};
use super::practising::Practising;
use super::reading::Reading;
use super::tape::{self, Tape, Wish};
use super::widgets::text;
use crate::ids::{CarrierId, Seq, TankId};
use crate::line::{Line, OrderBook, Role};
use crate::shift::ledger::Entry;
use crate::shift::{AlarmAction, AlarmLevel, Claim, Command, Place};
use crate::units::{Dur, Time};
use crate::view::{AlarmOf, AlarmRow, Board, Said, claims, lesson_of, lessons, lifts, lowers, step_um};

/// Nobody can read a call and answer it faster than this; a press that comes sooner was meant for the call before.
const JUST_CHANGED: Dur = Dur(700);

/// After a refusal the person reads first: an Enter meant for a dialog that did not open must not confirm a move.
const READ_FIRST: Dur = Dur(2000);

/// How long an answer stays in the key line, in seconds; one that is too long for it, each of its parts.
pub(super) const ANSWER_STAYS: u32 = 8;

/// Cells of the key line that an answer does not have: its mark, and which part of how many it is.
const ANSWER_LEAVES: (u16, u16) = (6, 9);

/// How long an alarm is set aside.
const SET_ASIDE: Dur = Dur::from_mins(10);

/// The reasons offered for setting an alarm aside.
const REASONS: [&str; 5] = [
    "known, being dealt with",
    "parts checked, still good",
    "waiting for a tank",
    "crane is stopped",
    "the entry is wrong, to be corrected",
];

/// What the shell must do.
#[derive(Debug, Clone, PartialEq)]
pub enum Effect {
    /// Something about the recording that is played.
    Tape(Wish),
    /// Ask the shift for this; the words are for the answer if it goes through.
    Submit {
        /// The request.
        command: Command,
        /// What to tell the person then.
        done: String,
    },
    /// Ask the shift for all of these at once, if they are facts or cost no more than the person has seen.
    Commit {
        /// The requests.
        commands: Vec<Command>,
        /// What the person goes by.
        grounds: Grounds,
        /// What to tell the person then.
        done: String,
    },
    /// Open the lock on supervisor's actions with what was typed.
    Unlock(String),
    /// Show the pages about the shift so far.
    Debrief,
    /// Leave.
    Quit,
    /// Let a simulated crew work.
    StartCrew,
    /// Paint everything anew.
    Repaint,
    /// Stop for the shell's sake.
    Suspend,
}

/// Which screen is underneath.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Screen {
    /// What this program is not, and what is dangerous.
    Caution,
    /// What the practice is that is about to begin.
    Brief,
    /// The running line.
    Live,
    /// Carriers, tanks, queue, use of crane and power.
    Board,
    /// The ways of hoists and carriers over time.
    Chart,
    /// What is in each tank over time.
    Tanks,
    /// Changes: what is proposed, what it would do, what stands.
    Changes,
    /// Pages to read and sign.
    Pages,
    /// Cards of baths, and words.
    Lessons,
    /// Pages about the shift.
    Reading,
}

impl Screen {
    /// The screens after the panes of the live screen, in the order of their numbers.
    pub const DESK: [Self; 4] = [Self::Board, Self::Chart, Self::Tanks, Self::Pages];
}

/// The parts of the live screen that scroll.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Pane {
    /// Tanks and what is in them.
    Line,
    /// Alarms and broken promises.
    Alarms,
    /// Next calls and the queue.
    Queue,
    /// What happened.
    Log,
}

impl Pane {
    /// All panes in the order of their numbers.
    pub const ALL: [Self; 4] = [Self::Line, Self::Alarms, Self::Queue, Self::Log];

    /// Its heading.
    pub fn title(self) -> &'static str {
        match self {
            Self::Line => "Line",
            Self::Alarms => "Alarms",
            Self::Queue => "Next and queue",
            Self::Log => "What happened",
        }
    }

    /// How many rows it has.
    pub fn rows(self, board: &Board) -> usize {
        match self {
            Self::Line => board.tanks.len(),
            Self::Alarms => board.alarms.len() + board.breaches.len(),
            Self::Queue => board.next.len() + board.queue.len(),
            Self::Log => board.log.len(),
        }
    }
}

/// Who sits at this terminal.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Post {
    /// The crane operator.
    #[default]
    Operator,
    /// The supervisor.
    Supervisor,
    /// Somebody who only looks.
    Watch,
}

/// What a sentence is to whoever reads it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Tone {
    /// What was asked for is done.
    Done,
    /// It is not.
    Refused,
    /// Nobody asked, but it is worth knowing.
    Note,
    /// Nobody asked, and something is wrong.
    Warning,
}

impl Tone {
    /// In front of the sentence.
    pub fn mark(self) -> &'static str {
        match self {
            Self::Done => "OK",
            Self::Refused => "NO",
            Self::Note => "--",
            Self::Warning => "!!",
        }
    }

    /// It has to be read before anything else is said.
    pub fn is_bad(self) -> bool {
        matches!(self, Self::Refused | Self::Warning)
    }
}

/// A sentence from the program in the key line.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Message {
    /// The sentence.
    pub text: String,
    /// What kind of sentence.
    pub tone: Tone,
    /// When it goes away.
    pub until: Time,
    /// Which of its parts is shown, where the key line is too short for all of it.
    pub part: usize,
}

impl Message {
    /// What the key line shows of it one after the other, on a terminal so many cells across: nothing is cut off.
    pub fn parts(&self, cells: u16) -> Vec<String> {
        let (mark, counts) = ANSWER_LEAVES;
        let room = cells.saturating_sub(mark);
        if text::width(&self.text) <= room {
            return vec![self.text.clone()];
        }
        let parts = text::wrap(&self.text, room.saturating_sub(counts));
        let of = parts.len();
        parts.into_iter().enumerate().map(|(ix, part)| format!("{part} ({} of {of})", ix + 1)).collect()
    }
}

/// Answers a line of process arithmetic in lines of text.
#[derive(Debug, Clone, Copy)]
pub struct Reckon(pub fn(&str) -> Vec<String>);

impl PartialEq for Reckon {
    /// There is one in a program.
    fn eq(&self, _: &Self) -> bool {
        true
    }
}

/// Where the person is.
#[derive(Debug, Clone, PartialEq)]
pub struct App {
    /// The line as it is now, for the possible answers.
    pub line: Arc<Line>,
    /// Orders and carriers as they are now.
    pub book: Arc<OrderBook>,
    /// The screen underneath.
    pub screen: Screen,
    /// The dialog on top.
    pub dialog: Option<Dialog>,
    /// The pane that has the keys.
    pub pane: Pane,
    /// The chosen row of each pane.
    pub chosen: [Option<usize>; 4],
    /// A sentence from the program.
    pub message: Option<Message>,
    /// Whose screen it is.
    pub post: Post,
    /// Supervisor's actions ask for the PIN first.
    pub locked: bool,
    /// A practice: nothing real is moved.
    pub practice: bool,
    /// What more is known of a practice.
    pub practising: Practising,
    /// How many times faster than the wall the shift runs: a person reads no faster for that.
    pub speed: f64,
    /// What the supervisor's screens show.
    pub desk: Desk,
    /// What is proposed.
    pub changes: Changes,
    /// The recording that is played; `None` where a shift runs.
    pub tape: Option<Tape>,
    /// Moves to choose from, in the place of the call.
    pub choosing: Option<Choosing>,
    /// The page that is read.
    pub pages: Pages,
    /// What is being entered.
    pub entries: Entries,
    /// What answers process arithmetic.
    pub reckon: Option<Reckon>,
    /// The last line of it that was typed.
    pub reckoned: String,
    /// Where the reader is among cards and words.
    pub lessons: Lessons,
    /// Pages about the shift.
    pub reading: Reading,
    /// There is a call to confirm.
    pub calls: bool,
    shown: Option<(Said, Time)>,
    settled: Time,
}

impl App {
    /// Begins with the cautions, or at once on the live screen.
    pub fn new(line: Arc<Line>, post: Post, practice: bool, caution: bool) -> Self {
        Self {
            line,
            book: Arc::default(),
            screen: if caution { Screen::Caution } else { home(post) },
            dialog: None,
            pane: Pane::Line,
            chosen: [None; 4],
            message: None,
            post,
            locked: false,
            practice,
            practising: Practising::new(practice),
            speed: 1.0,
            desk: Desk::default(),
            changes: Changes::default(),
            tape: None,
            choosing: None,
            pages: Pages::default(),
            entries: Entries::default(),
            reckon: None,
            reckoned: String::new(),
            lessons: Lessons::default(),
            reading: Reading::default(),
            calls: false,
            shown: None,
            settled: Time::PAST,
        }
    }

    /// Takes up line and orders as events have made them.
    pub fn learn(&mut self, line: &Line, book: &OrderBook) {
        if *self.line != *line {
            self.line = Arc::new(line.clone());
        }
        if *self.book != *book {
            self.book = Arc::new(book.clone());
        }
    }

    /// Asks for the PIN; `wrong`: why the last one did not do.
    pub fn ask_pin(&mut self, wrong: Option<String>) {
        const HINT: &str = "This terminal is locked: no key was pressed here for a while. Changes need the PIN; \
                            looking does not.";
        self.dialog = Some(Dialog::Field(Field {
            title: "The supervisor's PIN".to_owned(),
            hint: HINT.to_owned(),
            text: String::new(),
            wrong,
            asks: Asks::Pin,
        }));
    }

    /// What keys mean now.
    pub fn context(&self) -> Context {
        match (&self.dialog, self.screen) {
            (Some(Dialog::Ask(_)), _) => Context::Ask,
            (Some(Dialog::Amount(_)), _) => Context::Amount,
            (Some(Dialog::List(_)), _) => Context::List,
            (Some(Dialog::Field(_)), _) => Context::Field,
            (Some(Dialog::Page(Page { of: PageOf::Verdict, .. })), _) => Context::Verdict,
            (Some(Dialog::Answer(..)), _) => Context::Worked,
            (Some(Dialog::Tank(_) | Dialog::Help(_) | Dialog::Page(_)), _) => Context::Page,
            (None, Screen::Live) if self.choosing.is_some() => Context::Choose,
            (None, Screen::Caution | Screen::Brief) => Context::Caution,
            (None, Screen::Live) => Context::Live,
            (None, Screen::Board) if self.desk.typing => Context::Typing,
            (None, Screen::Board) => Context::Board,
            (None, Screen::Chart | Screen::Tanks) => Context::Times,
            (None, Screen::Changes) => Context::Changes,
            (None, Screen::Pages) => Context::Pages,
            (None, Screen::Lessons) => Context::Lessons,
            (None, Screen::Reading) => Context::Reading,
        }
    }

    /// What a key asks for here. Over a recording its own keys come first, and nothing is said.
    pub fn wants(&self, key: Key) -> Option<Action> {
        let context = self.context();
        let over_it = matches!(context, Context::Live | Context::Board | Context::Times);
        if self.tape.is_none() {
            return keymap::action(context, key);
        }
        // Nothing can be said of a recording, on no screen.
        let here = keymap::action(context, key).filter(|a| !matches!(a, Action::Elsewhere(_)));
        if !over_it {
            return here;
        }
        keymap::action(Context::Replay, key)
            .or(here)
            .map(|action| if action.speaks() { Action::Tape(Wish::Say) } else { action })
    }

    /// Tells the app what the person is about to see: a call that has just changed is not confirmed by an old press.
    pub fn see(&mut self, board: &Board) {
        let said = board.call.as_ref().map(|c| c.said);
        self.calls = said.is_some();
        self.shown = match (self.shown, said) {
            (Some((before, t)), Some(now)) if before == now => Some((now, t)),
            (None, Some(now)) => Some((now, Time::PAST)),
            (Some(_), Some(now)) => Some((now, board.now)),
            (before, None) => before,
        };
        self.keep_question(board);
        if self.message.as_ref().is_some_and(|m| m.until <= board.now) {
            self.message = None;
        }
    }

    /// A question about the call goes with the clock, and with the call.
    fn keep_question(&mut self, board: &Board) {
        let Some(Dialog::Ask(Ask { lines, yes: Consequence::Say(said), .. })) = &mut self.dialog else {
            return;
        };
        let call = board.call.as_ref().filter(|c| c.said == *said);
        match call.map(|c| &c.early) {
            Some(Some(question)) => {
                if let Some(line) = lines.first_mut() {
                    line.clone_from(question);
                }
            }
            Some(None) => {
                self.dialog = None;
                self.note("That can be said without asking by now: Space, if the call is done.", board.now);
            }
            None => {
                self.dialog = None;
                self.note("The call has changed; nothing was said.", board.now);
            }
        }
    }

    /// Says that what was asked for is done.
    pub fn done(&mut self, text: impl Into<String>, now: Time) {
        self.tell(Tone::Done, text.into(), now);
    }

    /// Says why what was asked for is not done.
    pub fn refuse(&mut self, text: impl Into<String>, now: Time) {
        self.tell(Tone::Refused, text.into(), now);
    }

    /// Says something that is no answer.
    pub fn note(&mut self, text: impl Into<String>, now: Time) {
        self.tell(Tone::Note, text.into(), now);
    }

    /// Says that something is wrong.
    pub fn warn(&mut self, text: impl Into<String>, now: Time) {
        self.tell(Tone::Warning, text.into(), now);
    }

    /// Shows a sentence for a while.
    pub(super) fn tell(&mut self, tone: Tone, text: String, now: Time) {
        let mut message = Message { text, tone, until: now, part: 0 };
        let seconds = i64::from(ANSWER_STAYS) * message.parts(self.desk.cells).len() as i64;
        message.until += self.really(Dur::from_secs(seconds));
        self.message = Some(message);
    }

    /// How long a stretch of real time is on the shift's axis.
    fn really(&self, real: Dur) -> Dur {
        Dur::from_secs_f64(real.as_secs_f64() * self.speed)
    }

    /// The chosen row of a pane.
    pub fn row(&self, pane: Pane) -> Option<usize> {
        self.chosen[pane as usize]
    }

    fn alarm<'b>(&self, board: &'b Board) -> Option<&'b AlarmRow> {
        let chosen = self.row(Pane::Alarms).filter(|_| self.pane == Pane::Alarms);
        chosen.and_then(|ix| board.alarms.get(ix)).or_else(|| board.first_alarm())
    }
}

/// The screen a person begins with.
fn home(post: Post) -> Screen {
    if post == Post::Supervisor { Screen::Board } else { Screen::Live }
}

/// What an action makes of the app, given what was on the screen when the key was pressed, and the instant of the press.
pub fn update(app: &mut App, action: Action, board: &Board, now: Time) -> Vec<Effect> {
    match action {
        Action::Repaint => return vec![Effect::Repaint],
        Action::Suspend => return vec![Effect::Suspend],
        Action::Tape(wish) => return tape::update(app, wish, board),
        Action::Elsewhere(c) => {
            if let Some(there) = keymap::live(c) {
                app.note(format!("{c} does nothing here. On the live screen (1): {}.", there.help), now);
            }
            return Vec::new();
        }
        _ => {}
    }
    if app.context() == Context::Choose {
        return choosing::act(app, action, board, now);
    }
    update_below(app, action, board, now)
}

/// The same where no move is to be chosen.
pub(super) fn update_below(app: &mut App, action: Action, board: &Board, now: Time) -> Vec<Effect> {
    let Some(dialog) = app.dialog.take() else {
        if matches!(app.screen, Screen::Caution | Screen::Brief) {
            let effects = on_caution(app, action, now);
            app.settled = now + app.really(JUST_CHANGED);
            return effects;
        }
        if app.practising.over && action.speaks() && !app.desk.typing {
            let words = format!(
                "The {} is over; nothing is said any more. 0: the debrief, q: leave.",
                app.practising.kind()
            );
            app.refuse(words, now);
            return Vec::new();
        }
        return match app.screen {
            Screen::Live => on_live(app, action, board, now),
            Screen::Changes => on_changes(app, action, board, now),
            Screen::Pages => on_pages(app, action, board, now),
            Screen::Lessons | Screen::Reading => on_reading(app, action, board, now),
            _ => on_desk(app, action, board, now),
        };
    };
    let effects = in_dialog(app, dialog, action, board, now);
    if app.dialog.is_none() {
        app.settled = now + app.really(JUST_CHANGED);
    }
    effects
}

fn on_caution(app: &mut App, action: Action, now: Time) -> Vec<Effect> {
    match action {
        Action::Confirm if app.screen == Screen::Caution && app.practising.brief.is_some() => {
            app.screen = Screen::Brief;
        }
        Action::Confirm => app.screen = home(app.post),
        Action::Crew if app.practising.offers_crew() => {
            app.screen = home(app.post);
            return vec![Effect::StartCrew];
        }
        Action::Crew if app.practising.brief.is_some() => {
            app.refuse("A crew is asked for before: --crew simulated.", now);
        }
        Action::Crew => app.refuse("A simulated crew works in practice only.", now),
        Action::Help => app.dialog = Some(Dialog::Help(0)),
        Action::Quit => app.dialog = Some(quit_question(app)),
        _ => {}
    }
    Vec::new()
}

fn on_live(app: &mut App, action: Action, board: &Board, now: Time) -> Vec<Effect> {
    if app.practising.crewed && action.moves() {
        let text = format!("A {} crew works here and confirms its moves itself.", app.practising.crew);
        app.refuse(text, now);
        return Vec::new();
    }
    if action == Action::Confirm && app.post != Post::Watch {
        return confirm(app, board, now);
    }
    let before = app.message.take();
    let effects = speak(app, action, board, now);
    match &app.message {
        Some(message) if message.tone.is_bad() => app.settled = now + app.really(READ_FIRST),
        Some(_) => {}
        None => app.message = before,
    }
    effects
}

/// The supervisor's screens: keys for looking, and those that hold everywhere.
fn on_desk(app: &mut App, action: Action, board: &Board, now: Time) -> Vec<Effect> {
    match action {
        Action::Confirm if app.screen == Screen::Board && app.desk.typing => app.desk.typing = false,
        Action::Confirm => {
            app.refuse("Nothing was said. 1 shows the call; what was done is said there.", now);
        }
        Action::Detail => match app.desk.tank(app.screen, board) {
            Some(tank) => app.dialog = Some(Dialog::Tank(tank)),
            None => app.refuse("Choose a row with a tank first.", now),
        },
        Action::Help => app.dialog = Some(help(app)),
        Action::Acknowledge
        | Action::Quit
        | Action::Pane(_)
        | Action::Propose
        | Action::Enter
        | Action::Reckon
        | Action::Lessons
        | Action::Debrief => {
            return on_live(app, action, board, now);
        }
        action => app.desk.act(app.screen, action, board),
    }
    Vec::new()
}

/// What does on every screen what it does on the live one.
fn leads_away(action: Action) -> bool {
    matches!(
        action,
        Action::Acknowledge
            | Action::Quit
            | Action::Pane(_)
            | Action::Propose
            | Action::Enter
            | Action::Reckon
            | Action::Lessons
            | Action::Debrief
    )
}

/// Cards and words, and pages about the shift.
fn on_reading(app: &mut App, action: Action, board: &Board, now: Time) -> Vec<Effect> {
    match action {
        Action::Back if app.screen == Screen::Lessons => {
            app.screen = app.lessons.from.take().unwrap_or(home(app.post));
        }
        Action::Back => app.screen = app.reading.from.take().unwrap_or(home(app.post)),
        Action::Help => app.dialog = Some(Dialog::Help(super::screens::help::line_of(app.context()))),
        action if leads_away(action) => return on_live(app, action, board, now),
        action if app.screen == Screen::Lessons => app.lessons.act(action, lessons(&app.line).len()),
        action => app.reading.act(action, app.desk.cells),
    }
    Vec::new()
}

/// Opens the cards and words, at what a tank holds if one is named.
fn read_lessons(app: &mut App, tank: Option<TankId>) {
    let role = tank.map(|t| app.line.tanks[t].role);
    if let Some(Role::Bath(stage)) = role {
        app.lessons.show(lesson_of(app.line.stages[stage].kind));
    }
    if app.screen != Screen::Lessons {
        app.lessons.from = Some(app.screen);
        app.screen = Screen::Lessons;
    }
}

/// Changes: what is proposed is weighed, committed or dropped.
fn on_changes(app: &mut App, action: Action, board: &Board, now: Time) -> Vec<Effect> {
    match action {
        Action::Confirm => commit(app, now),
        Action::Erase => match app.changes.remove() {
            Some(gone) => app.done(format!("No longer proposed: {}", gone.words), now),
            None => app.refuse("Nothing is proposed.", now),
        },
        Action::TakeBack => take_back(app, board, now),
        Action::Back if app.changes.stack.is_empty() => {
            app.screen = app.changes.from.take().unwrap_or(home(app.post));
        }
        Action::Back => {
            app.dialog = Some(Dialog::Ask(Ask {
                title: "Drop what is proposed?".to_owned(),
                lines: app.changes.stack.iter().map(|p| p.words.clone()).collect(),
                yes: Consequence::Drop,
            }));
        }
        Action::Help => app.dialog = Some(help(app)),
        action if leads_away(action) => return on_live(app, action, board, now),
        action => app.changes.act(action, board),
    }
    Vec::new()
}

/// Pages: read, turned, signed.
fn on_pages(app: &mut App, action: Action, board: &Board, now: Time) -> Vec<Effect> {
    match action {
        Action::Confirm => {
            app.refuse("Nothing was said. 1 shows the call; what was done is said there.", now);
        }
        Action::Sign if app.post == Post::Watch => app.refuse("This screen only watches.", now),
        Action::Sign => app.dialog = Some(Dialog::List(pages::signs())),
        Action::Back => app.screen = home(app.post),
        Action::Help => app.dialog = Some(Dialog::Help(super::screens::help::line_of(app.context()))),
        action if leads_away(action) => return on_live(app, action, board, now),
        action => app.pages.act(action, app.desk.cells),
    }
    Vec::new()
}

/// Opens the changes; with nothing proposed yet, the first list at once.
fn propose(app: &mut App, board: &Board, now: Time) {
    if app.post != Post::Supervisor {
        let words = "Changes need --role supervisor. s: say where things really are.";
        app.refuse(words, now);
        return;
    }
    if app.locked {
        app.ask_pin(None);
        return;
    }
    let here = app.screen == Screen::Changes;
    if !here {
        app.changes.selected = selected(app, board);
        app.changes.from = Some(app.screen);
        app.screen = Screen::Changes;
    }
    if here || app.changes.stack.is_empty() {
        let step = changes::begin(app, board);
        go(app, step, board, now);
    }
}

/// What is chosen on the screen that is shown.
fn selected(app: &App, board: &Board) -> Selected {
    if app.screen != Screen::Live {
        return app.desk.selected(app.screen, board);
    }
    let chosen = app.row(app.pane);
    match app.pane {
        Pane::Line => {
            let row = chosen.and_then(|ix| board.tanks.get(ix));
            let carrier = row.and_then(|t| t.held.first()).map(|h| h.carrier);
            Selected { carrier, tank: row.map(|t| t.tank) }
        }
        Pane::Queue => {
            let queued = chosen.and_then(|ix| board.queue.get(ix.checked_sub(board.next.len())?));
            Selected { carrier: queued.map(|q| q.id), tank: None }
        }
        Pane::Alarms => {
            let of = chosen.and_then(|ix| board.alarms.get(ix)).map(|a| a.of);
            let carrier = match of {
                Some(AlarmOf::Load(key) | AlarmOf::Risk(_, key)) => Some(key.carrier),
                _ => None,
            };
            Selected { carrier, tank: None }
        }
        Pane::Log => Selected::default(),
    }
}

/// Goes on picking a change.
fn go(app: &mut App, step: Step, board: &Board, now: Time) {
    let (line, book) = (Arc::clone(&app.line), Arc::clone(&app.book));
    match step {
        Step::List(list) => app.dialog = Some(Dialog::List(list)),
        Step::Field(field) => app.dialog = Some(Dialog::Field(field)),
        Step::Propose(commands) => {
            for command in commands {
                app.changes.propose(command, &line, &book, board);
            }
        }
        Step::Fill(commands) => {
            app.changes.clear();
            for command in commands {
                app.changes.propose(command, &line, &book, board);
            }
        }
        Step::Nothing(words) => app.refuse(words, now),
    }
}

fn take_back(app: &mut App, board: &Board, now: Time) {
    app.changes.part = changes::Part::Standing;
    let row = app.changes.rows[changes::Part::Standing as usize];
    match board.changes.get(row) {
        Some(change) => {
            let command = Command::TakeBack { seq: change.seq };
            go(app, Step::Propose(vec![command]), board, now);
        }
        None => app.refuse("No change stands.", now),
    }
}

/// Asks why, if before and after have been seen, or what is so does not wait for them.
fn commit(app: &mut App, now: Time) {
    match &app.changes.outlook {
        Outlook::Working | Outlook::Failed if app.changes.tells_facts() => ask_why(app, Grounds::Fact),
        Outlook::Nothing => app.refuse("Nothing is proposed. w: propose a change.", now),
        Outlook::Working => app.refuse("Before and after are not there yet; a moment.", now),
        Outlook::Failed => app.refuse("Before and after could not be worked out.", now),
        Outlook::Refused { why, .. } => {
            let words = format!("It cannot be done: {why}");
            app.refuse(words, now);
        }
        Outlook::Ready { known, .. } => {
            let grounds = Grounds::Seen(Arc::clone(known));
            ask_why(app, grounds);
        }
    }
}

fn ask_why(app: &mut App, grounds: Grounds) {
    app.changes.committing = Some(grounds);
    app.dialog = Some(Dialog::Field(Field {
        title: "Why? Whoever comes next reads it".to_owned(),
        hint: app.changes.stack.iter().map(|p| p.words.as_str()).collect::<Vec<_>>().join("; "),
        text: app.changes.reason.clone(),
        wrong: None,
        asks: Asks::Reason,
    }));
}

fn speak(app: &mut App, action: Action, board: &Board, now: Time) -> Vec<Effect> {
    if action.speaks() && app.post == Post::Watch {
        app.refuse("This screen only watches.", now);
        return Vec::new();
    }
    match action {
        Action::Undo => match &board.last_said {
            Some(last) => {
                app.dialog = Some(Dialog::Ask(Ask {
                    title: "Take back the last thing said?".to_owned(),
                    lines: vec![format!("{}  {}", last.clock, last.text), last.then.clone()],
                    yes: Consequence::Undo(last.seq),
                }));
            }
            None => app.refuse("There is nothing to take back.", now),
        },
        Action::Late => late(app, board, now),
        Action::Otherwise => {
            // A load on a hook can only have been put down; the picks of other hoists come after.
            let mut answers = lowers(&app.line, board);
            answers.extend(lifts(&app.line, board));
            let items = answers
                .into_iter()
                .map(|a| Item { text: a.text, means: Means::Said(a.means) })
                .collect::<Vec<_>>();
            if items.is_empty() {
                app.refuse("Nothing else can have been done. s: say where things are.", now);
            } else {
                app.dialog = Some(Dialog::List(List::of("What did you do?", items)));
            }
        }
        Action::Wrong => app.dialog = Some(wrong(board)),
        Action::Lessons => read_lessons(app, None),
        Action::Debrief => {
            if app.screen != Screen::Reading {
                app.reading.from = Some(app.screen);
                app.screen = Screen::Reading;
            }
            return vec![Effect::Debrief];
        }
        Action::Propose => propose(app, board, now),
        Action::Reckon => {
            let text = reckon_text(app, board);
            app.dialog = Some(Dialog::Field(reckon_field(text)));
        }
        Action::Enter => {
            app.entries = Entries { selected: selected(app, board), ago: Dur::ZERO };
            let step = entries::begin(app, board);
            return enter(app, step, board, now);
        }
        Action::Acknowledge => return acknowledge(app, board, now),
        Action::Shelve => return shelve(app, board, now),
        Action::Detail => {
            let chosen = app.row(Pane::Line).filter(|_| app.pane == Pane::Line);
            app.dialog = Some(match chosen.and_then(|ix| board.tanks.get(ix)) {
                Some(row) => Dialog::Tank(row.tank),
                None => tank_list(board),
            });
        }
        Action::Help => app.dialog = Some(help(app)),
        Action::Quit => app.dialog = Some(quit_question(app)),
        Action::Pane(n) => match Pane::ALL.get(usize::from(n)) {
            Some(pane) => (app.screen, app.pane) = (Screen::Live, *pane),
            None => app.screen = Screen::DESK[(usize::from(n) - Pane::ALL.len()) % Screen::DESK.len()],
        },
        Action::Next => app.pane = Pane::ALL[(app.pane as usize + 1) % Pane::ALL.len()],
        Action::Previous => app.pane = Pane::ALL[(app.pane as usize + 3) % Pane::ALL.len()],
        Action::Back => app.chosen[app.pane as usize] = None,
        Action::Up | Action::Down | Action::PageUp | Action::PageDown | Action::First | Action::Last => {
            let count = app.pane.rows(board);
            let slot = &mut app.chosen[app.pane as usize];
            // The first press shows where the cursor is.
            *slot = match *slot {
                _ if count == 0 => None,
                Some(ix) => Some(moved(ix, action, count)),
                None if action == Action::Last => Some(count - 1),
                None => Some(0),
            };
        }
        _ => {}
    }
    Vec::new()
}

/// Takes the call as done now.
///
/// 1. There must be a call.
/// 2. It must have stood long enough to be the one that was read.
/// 3. The press must not be the tail of an answer to a dialog, or meant for one that did not open.
/// 4. What can hardly be true, or does harm, is asked about.
fn confirm(app: &mut App, board: &Board, now: Time) -> Vec<Effect> {
    let Some(call) = &board.call else {
        app.refuse("There is no call. x: say what you did.", now);
        return Vec::new();
    };
    if app.shown.is_some_and(|(said, since)| said == call.said && now - since < app.really(JUST_CHANGED)) {
        app.refuse("The call has just changed. Read it, then say it again.", now);
        return Vec::new();
    }
    if now < app.settled {
        app.refuse("Nothing was said: too soon. Say it again if the call is done.", now);
        return Vec::new();
    }
    if let Some(question) = &call.early {
        app.dialog = Some(Dialog::Ask(Ask {
            title: format!("Done already: {} {}?", call.verb.word(), call.carrier),
            lines: vec![question.clone(), "Was it really done just now?".to_owned()],
            yes: Consequence::Say(call.said),
        }));
        return Vec::new();
    }
    vec![say(board, call.said, now)]
}

fn say(board: &Board, said: Said, at: Time) -> Effect {
    Effect::Submit {
        command: said.command(at),
        done: format!("{}.   u takes it back", said_words(board, said, at)),
    }
}

fn said_words(board: &Board, said: Said, at: Time) -> String {
    let clock = board.clock_at(at);
    let tank = |id| board.tanks.iter().find(|t| t.tank == id).map_or("?", |t| t.name.as_str());
    match said {
        Said::Lift { carrier, from, .. } => {
            let name = board.carrier(carrier).map_or("?", |c| c.name.as_str());
            format!("Said: picked {name} from {} at {clock}", tank(from))
        }
        Said::Lower { hoist, to } => {
            let hook = board.hooks.iter().find(|h| h.hoist == hoist);
            let name = hook.and_then(|h| h.carrier.as_ref()).map_or("?", |(_, n)| n.as_str());
            format!("Said: placed {name} in {} at {clock}", tank(to))
        }
    }
}

fn late(app: &mut App, board: &Board, now: Time) {
    let call = board.call.as_ref().map(|c| {
        let text = match c.said {
            Said::Lift { .. } => format!("picked {} from {}", c.carrier, c.from.words()),
            Said::Lower { .. } => format!("placed {} in {}", c.carrier, c.to.words()),
        };
        Subject { text, means: Timed::Say(c.said), ago: Dur::ZERO }
    });
    let last = board.last_said.as_ref().map(|l| Subject {
        text: format!("the last thing said: {} (said for {})", l.text, l.clock),
        means: Timed::Retime(l.seq),
        ago: Dur::from_secs((now - l.at).or_zero().whole_secs()),
    });
    match (call, last) {
        (Some(call), last) => app.dialog = Some(Dialog::Amount(Amount::of(call, last))),
        (None, Some(last)) => app.dialog = Some(Dialog::Amount(Amount::of(last, None))),
        (None, None) => app.refuse("There is nothing that could have been late.", now),
    }
}

fn wrong(board: &Board) -> Dialog {
    let rank = |p: &Place| match p {
        Place::OnHook { .. } => 0,
        Place::InTank { .. } => 1,
        Place::Queued => 2,
        _ => 3,
    };
    let mut facts: Vec<_> = board.carriers.iter().collect();
    facts.sort_by_key(|f| (rank(&f.place), f.id));
    let mut items: Vec<Item> = facts
        .into_iter()
        .map(|f| Item { text: format!("{} is not {}", f.name, f.whereabouts), means: Means::Carrier(f.id) })
        .collect();
    items.extend(board.hooks.iter().filter(|h| h.carrier.is_none()).map(|h| Item {
        text: format!("crane {} does not stand over {}", h.name, h.at),
        means: Means::Hoist(h.hoist),
    }));
    Dialog::List(List::of("What is wrong?", items))
}

fn tank_list(board: &Board) -> Dialog {
    let items = board
        .tanks
        .iter()
        .map(|t| {
            let who: Vec<&str> = t.held.iter().map(|h| h.name.as_str()).collect();
            Item { text: format!("{} {}   {}", t.name, t.label, who.join(" ")), means: Means::Tank(t.tank) }
        })
        .collect();
    Dialog::List(List::of("Which tank?", items))
}

/// The keys, from where they hold.
fn help(app: &App) -> Dialog {
    let context = match app.context() {
        _ if app.tape.is_some() => Context::Replay,
        Context::Live => return Dialog::Help(0),
        context => context,
    };
    Dialog::Help(super::screens::help::line_of(context))
}

fn quit_question(app: &App) -> Dialog {
    if app.tape.is_some() {
        let lines = vec!["The recording stays as it is.".to_owned()];
        return Dialog::Ask(Ask { title: "Leave the replay?".to_owned(), lines, yes: Consequence::Quit });
    }
    // Questions without a recording behind them: nothing runs.
    if app.choosing.is_some() {
        let lines = vec!["The answers given so far count.".to_owned()];
        return Dialog::Ask(Ask { title: "Leave the questions?".to_owned(), lines, yes: Consequence::Quit });
    }
    let then = match (app.practice, app.practising.over) {
        (_, true) => format!("The {} is over.", app.practising.kind()),
        (true, _) => format!("The {} stands still; run --shift goes on with it.", app.practising.kind()),
        _ => "The line goes on, the calls stop.".to_owned(),
    };
    Dialog::Ask(Ask {
        title: "Leave dwellhand?".to_owned(),
        lines: vec![then, "What was said stays said.".to_owned()],
        yes: Consequence::Quit,
    })
}

fn acknowledge(app: &mut App, board: &Board, now: Time) -> Vec<Effect> {
    let seen = |alarm: &AlarmRow| Effect::Submit {
        command: match alarm.of {
            AlarmOf::Load(key) => Command::Alarm { key, action: AlarmAction::Acknowledge },
            AlarmOf::Stop(hoist) | AlarmOf::Risk(hoist, _) => Command::AcknowledgeStop { hoist },
        },
        done: format!("Seen: {}", alarm.text),
    };
    // What was only due and came to nothing is seen in one go.
    let harmless = |alarm: &AlarmRow| !alarm.active && alarm.unseen && alarm.level == AlarmLevel::Due;
    match app.alarm(board).map(|alarm| parent(alarm, board)) {
        Some(alarm) if harmless(alarm) => board.alarms.iter().filter(|a| harmless(a)).map(seen).collect(),
        Some(alarm) if alarm.unseen => vec![seen(alarm)],
        Some(_) => {
            app.note("That alarm was seen already.", now);
            Vec::new()
        }
        None => {
            app.note("There is no alarm.", now);
            Vec::new()
        }
    }
}

/// The alarm that a row stands for: a load at risk stands under that of its hoist.
fn parent<'b>(row: &'b AlarmRow, board: &'b Board) -> &'b AlarmRow {
    let AlarmOf::Risk(hoist, _) = row.of else { return row };
    board.alarms.iter().find(|a| a.of == AlarmOf::Stop(hoist)).unwrap_or(row)
}

fn shelve(app: &mut App, board: &Board, now: Time) -> Vec<Effect> {
    let Some(alarm) = app.alarm(board).or(board.alarms.first()) else {
        app.note("There is no alarm.", now);
        return Vec::new();
    };
    let AlarmOf::Load(key) = alarm.of else {
        app.refuse("The alarm of a stopped crane is not set aside.", now);
        return Vec::new();
    };
    if alarm.is_shelved() {
        let command = Command::Alarm { key, action: AlarmAction::Unshelve };
        return vec![Effect::Submit { command, done: "The alarm is back.".to_owned() }];
    }
    if !alarm.active {
        app.refuse("What is over is not set aside; a says that it was seen.", now);
        return Vec::new();
    }
    if !alarm.may_shelve {
        app.refuse("An alarm that means scrap is not set aside.", now);
        return Vec::new();
    }
    let items = REASONS
        .iter()
        .map(|reason| Item { text: (*reason).to_owned(), means: Means::Shelve(key, reason) })
        .collect();
    let title = format!("Set aside for {} minutes, because ...", SET_ASIDE.whole_secs() / 60);
    app.dialog = Some(Dialog::List(List::of(title, items).about(alarm.text.clone())));
    Vec::new()
}

fn in_dialog(app: &mut App, dialog: Dialog, action: Action, board: &Board, now: Time) -> Vec<Effect> {
    if action == Action::Back {
        return Vec::new();
    }
    match dialog {
        Dialog::Ask(ask) => match action {
            Action::Confirm => return consequence(app, ask.yes, board, now),
            // Ctrl-C twice leaves from anywhere.
            Action::Quit if ask.yes == Consequence::Quit => return vec![Effect::Quit],
            Action::Quit => app.dialog = Some(quit_question(app)),
            _ => app.dialog = Some(Dialog::Ask(ask)),
        },
        Dialog::Amount(mut amount) => {
            if action == Action::Confirm {
                return timed(app, &amount.subject, now - amount.ago, board, now);
            }
            amount.edit(action);
            app.dialog = Some(Dialog::Amount(amount));
        }
        Dialog::List(mut list) => {
            if action == Action::Confirm {
                let taken = list.passing().get(list.cursor).map(|i| (i.text.clone(), i.means.clone()));
                if let Some((text, means)) = taken {
                    return take(app, &text, means, board, now);
                }
            }
            list.edit(action);
            app.dialog = Some(Dialog::List(list));
        }
        Dialog::Field(mut field) => {
            if action == Action::Confirm {
                return typed(app, field, board, now);
            }
            field.edit(action);
            if field.asks == Asks::Reason {
                app.changes.reason.clone_from(&field.text);
            }
            app.dialog = Some(Dialog::Field(field));
        }
        Dialog::Help(scroll) => {
            app.dialog = Some(Dialog::Help(moved(scroll, action, super::screens::help::lines().len())));
        }
        Dialog::Tank(tank) if action == Action::Lessons => read_lessons(app, Some(tank)),
        Dialog::Page(page) if page.of == PageOf::Verdict && action == Action::Confirm => {
            return vec![Effect::Tape(Wish::Learn)];
        }
        Dialog::Page(mut page) => {
            page.scroll = moved(page.scroll, action, page.lines.len());
            app.dialog = Some(Dialog::Page(page));
        }
        Dialog::Answer(_, _) if action == Action::Confirm => {
            app.dialog = Some(Dialog::Field(reckon_field(app.reckoned.clone())));
        }
        Dialog::Answer(lines, scroll) => {
            let scroll = moved(scroll, action, lines.len());
            app.dialog = Some(Dialog::Answer(lines, scroll));
        }
        Dialog::Tank(tank) => {
            let ix = board.tanks.iter().position(|t| t.tank == tank).unwrap_or(0);
            let next = board.tanks.get(moved(ix, action, board.tanks.len())).map_or(tank, |t| t.tank);
            app.dialog = Some(Dialog::Tank(next));
        }
    }
    Vec::new()
}

fn consequence(app: &mut App, yes: Consequence, board: &Board, now: Time) -> Vec<Effect> {
    match yes {
        Consequence::Quit => vec![Effect::Quit],
        Consequence::Say(said) => vec![say(board, said, now)],
        Consequence::SayAt(said, at) => vec![say(board, said, at)],
        Consequence::Retime(seq, at) => retime(app, seq, at, board, now),
        Consequence::Drop => {
            app.changes.clear();
            app.done("Dropped; nothing was changed.", now);
            Vec::new()
        }
        Consequence::Undo(seq) => match &board.last_said {
            Some(last) if last.seq == seq => {
                let done = format!("Taken back: {}", last.text);
                vec![Effect::Submit { command: Command::Undo { seq }, done }]
            }
            _ => {
                app.refuse("Something else was said meanwhile; nothing was taken back.", now);
                Vec::new()
            }
        },
    }
}

fn timed(app: &mut App, subject: &Subject, at: Time, board: &Board, now: Time) -> Vec<Effect> {
    match subject.means {
        Timed::Say(said) => {
            let doubt = board.doubt(&app.line, said).and_then(|d| d.question(at));
            or_ask(app, doubt, &subject.text, Consequence::SayAt(said, at), board, now)
        }
        Timed::Retime(seq) => {
            let last = board.last_said.as_ref().filter(|l| l.seq == seq);
            let doubt = last.and_then(|l| l.doubt.as_ref()?.question(at));
            or_ask(app, doubt, &subject.text, Consequence::Retime(seq, at), board, now)
        }
        Timed::Claim(carrier, claim) => {
            let text = format!("{} since {}", subject.text, board.clock_at(at));
            vec![correct(&text, carrier, since(claim, at))]
        }
        Timed::Entry => {
            app.entries.ago = now - at;
            let step = entries::begin(app, board);
            enter(app, step, board, now)
        }
    }
}

/// Asks first what is in doubt; else does it.
fn or_ask(
    app: &mut App,
    doubt: Option<String>,
    what: &str,
    yes: Consequence,
    board: &Board,
    now: Time,
) -> Vec<Effect> {
    let Some(question) = doubt else { return consequence(app, yes, board, now) };
    app.dialog = Some(Dialog::Ask(Ask {
        // A row of a list has its columns apart.
        title: format!("Done already: {}?", what.split_whitespace().collect::<Vec<_>>().join(" ")),
        lines: vec![question, "Was it really done then?".to_owned()],
        yes,
    }));
    Vec::new()
}

fn retime(app: &mut App, seq: Seq, at: Time, board: &Board, now: Time) -> Vec<Effect> {
    if board.last_said.as_ref().is_some_and(|l| l.seq == seq) {
        let done = format!("Changed to {}", board.clock_at(at));
        return vec![Effect::Submit { command: Command::Retime { seq, at }, done }];
    }
    app.refuse("Something else was said meanwhile; nothing was changed.", now);
    Vec::new()
}

fn reckon_field(text: String) -> Field {
    Field {
        title: "Work out".to_owned(),
        hint: "as behind `dwellhand calc`: anodise, power, bath, seal, class, rinse, drip, etch, strip, wet, convert; \
               nothing typed: the list; --help behind a word: what it takes"
            .to_owned(),
        text,
        wrong: None,
        asks: Asks::Reckon,
    }
}

/// What was typed last, or the film of the chosen carrier with its surface and current.
fn reckon_text(app: &App, board: &Board) -> String {
    let chosen = selected(app, board).carrier.and_then(|c| app.book.carriers.get(c));
    let Some(spec) = chosen else { return app.reckoned.clone() };
    let recipe = &app.line.recipes[spec.recipe];
    let current = recipe.steps.iter().find_map(|s| s.current.zip(step_um(s, s.target)));
    let Some((current, um)) = current else { return app.reckoned.clone() };
    format!(
        "anodise --thickness {um:.1}um --density {}A/dm2 --area {}dm2 --volts {} --ramp {}",
        current.density,
        spec.area_dm2,
        current.volts,
        current.ramp.whole_secs()
    )
}

/// Goes on entering.
fn enter(app: &mut App, step: entries::Step, board: &Board, now: Time) -> Vec<Effect> {
    match step {
        entries::Step::List(list) => app.dialog = Some(Dialog::List(list)),
        entries::Step::Field(field) => app.dialog = Some(Dialog::Field(field)),
        entries::Step::Late => {
            let text = "what is entered next".to_owned();
            let subject = Subject { text, means: Timed::Entry, ago: Dur::ZERO };
            app.dialog = Some(Dialog::Amount(Amount::of(subject, None)));
        }
        entries::Step::Enter(entry, done) => {
            let at = now - app.entries.ago;
            let late = if app.entries.ago > Dur::ZERO {
                format!(", for {}", board.clock_at(at))
            } else {
                String::new()
            };
            return vec![Effect::Submit {
                command: Command::Enter { entry, at },
                done: format!("{done}{late}"),
            }];
        }
        entries::Step::Rework(entry, done, change) => {
            let at = now - app.entries.ago;
            let operator = app.post != Post::Supervisor;
            let done =
                if operator { format!("{done}. Rework is for the supervisor to decide") } else { done };
            if !operator {
                app.changes.from = Some(app.screen);
                app.screen = Screen::Changes;
                go(app, Step::Propose(vec![change]), board, now);
            }
            return vec![Effect::Submit { command: Command::Enter { entry, at }, done }];
        }
        entries::Step::Note(text) => {
            let done = "Noted.".to_owned();
            return vec![Effect::Submit { command: Command::Note { text }, done }];
        }
        entries::Step::Nothing(words) => app.refuse(words, now),
    }
    Vec::new()
}

/// Takes what was typed, or says what is wrong with it.
fn typed(app: &mut App, mut field: Field, board: &Board, now: Time) -> Vec<Effect> {
    if let Some(wrong) = field.is_too_long() {
        field.wrong = Some(wrong);
        app.dialog = Some(Dialog::Field(field));
        return Vec::new();
    }
    let wrong = match &field.asks {
        Asks::Figure(figure) => match figure.read(&field.text, app, board, now) {
            Ok(step) => {
                go(app, step, board, now);
                return Vec::new();
            }
            Err(wrong) => wrong,
        },
        Asks::Pin => return vec![Effect::Unlock(std::mem::take(&mut field.text))],
        Asks::Instant => match tape::instant(&field.text, board) {
            Ok(t) => return vec![Effect::Tape(Wish::To(t))],
            Err(wrong) => wrong,
        },
        Asks::Initials(sign) => {
            let initials = field.text.trim().to_owned();
            if (1..=8).contains(&initials.chars().count()) && initials.chars().all(char::is_alphanumeric) {
                let done = format!("Signed by {initials}: {}", pages::words(*sign));
                let command =
                    Command::Enter { entry: Entry::Signed { sign: *sign, initials }, at: board.now };
                return vec![Effect::Submit { command, done }];
            }
            "one to eight letters or figures".to_owned()
        }
        Asks::Reckon => match app.reckon {
            Some(Reckon(answer)) => {
                app.reckoned.clone_from(&field.text);
                app.dialog = Some(Dialog::Answer(answer(&field.text), 0));
                return Vec::new();
            }
            None => "no process arithmetic in this program".to_owned(),
        },
        Asks::Entry(asked) => match asked.read(&field.text, app, board) {
            Ok(step) => return enter(app, step, board, now),
            Err(wrong) => wrong,
        },
        Asks::Reason if field.text.trim().is_empty() => "say why; a word will do".to_owned(),
        Asks::Reason => match app.changes.committing.take() {
            Some(grounds) => {
                let commands = app.changes.commands(field.text.trim());
                let done = match &app.changes.stack[..] {
                    [one] => format!("Committed: {}", one.words),
                    all => format!("Committed: {} changes", all.len()),
                };
                return vec![Effect::Commit { commands, grounds, done }];
            }
            None => "nothing is shown to commit; Esc, see before and after, then Enter".to_owned(),
        },
    };
    field.wrong = Some(wrong);
    app.dialog = Some(Dialog::Field(field));
    Vec::new()
}

fn correct(text: &str, carrier: CarrierId, claim: crate::shift::Claim) -> Effect {
    Effect::Submit {
        command: Command::Correct { carrier, claim },
        done: format!("Said: {text}.   u takes it back"),
    }
}

fn take(app: &mut App, text: &str, means: Means, board: &Board, now: Time) -> Vec<Effect> {
    match means {
        Means::Said(said) => {
            let subject = Subject { text: text.to_owned(), means: Timed::Say(said), ago: Dur::ZERO };
            app.dialog = Some(Dialog::Amount(Amount::of(subject, None)));
        }
        Means::Carrier(carrier) => {
            let Some(fact) = board.carrier(carrier) else { return Vec::new() };
            let items = claims(&app.line, board, fact, now)
                .into_iter()
                .map(|a| Item { text: a.text, means: Means::Claim(carrier, a.means) })
                .collect();
            app.dialog = Some(Dialog::List(List::of(format!("Where is {} now?", fact.name), items)));
        }
        Means::Claim(carrier, claim) => {
            let name = board.carrier(carrier).map_or("?", |c| c.name.as_str());
            let text = format!("{name} is {text}");
            if !is_timed(claim) {
                return vec![correct(&text, carrier, claim)];
            }
            // Saying that it is where it is must not start its clock anew.
            let ago = board.carrier(carrier).map_or(Dur::ZERO, |c| stood_for(c.place, claim, now));
            let subject = Subject { text, means: Timed::Claim(carrier, claim), ago };
            app.dialog = Some(Dialog::Amount(Amount::of(subject, None)));
        }
        Means::Hoist(hoist) => {
            let items = board
                .tanks
                .iter()
                .filter(|t| app.line.reaches(hoist, t.tank))
                .map(|t| Item {
                    text: format!("{} {}", t.name, t.label),
                    means: Means::HoistAt(hoist, t.tank),
                })
                .collect();
            app.dialog = Some(Dialog::List(List::of("Where does it stand?", items)));
        }
        Means::HoistAt(hoist, at) => {
            let done = format!("Said: the crane stands over {text}.   u takes it back");
            return vec![Effect::Submit { command: Command::CorrectHoist { hoist, at }, done }];
        }
        Means::Shelve(key, reason) => {
            let action = AlarmAction::Shelve { lasting: SET_ASIDE, reason: reason.to_owned() };
            let done = format!("Set aside for {SET_ASIDE}.");
            return vec![Effect::Submit { command: Command::Alarm { key, action }, done }];
        }
        Means::Tank(tank) => app.dialog = Some(Dialog::Tank(tank)),
        Means::TakeOver(how) => return vec![Effect::Tape(Wish::TakeOver(how))],
        Means::Sign(sign) => app.dialog = Some(Dialog::Field(pages::initials(sign))),
        Means::Enter(pick) => {
            let step = entries::follow(app, board, pick);
            return enter(app, step, board, now);
        }
        Means::Pick(pick) => {
            let step = changes::follow(app, board, pick, now);
            go(app, step, board, now);
        }
    }
    Vec::new()
}

/// How long a carrier has been where a claim says it is, if the program thinks so too, or thinks it in another tank for the
/// same: then the wrong tank was said when it was put down.
fn stood_for(place: Place, claim: Claim, now: Time) -> Dur {
    match (place, claim) {
        (Place::InTank { tank, since, visit, .. }, Claim::InTank { tank: said, visit: claimed, .. })
            if tank == said || visit == claimed =>
        {
            Dur::from_secs((now - since).or_zero().whole_secs())
        }
        _ => Dur::ZERO,
    }
}
