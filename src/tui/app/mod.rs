//! Where the person is on the screens, and what a key makes of it. Pure: effects go out as data, `run` performs them.

mod answers;
mod keys;

use std::sync::Arc;

use crate::line::{Line, OrderBook};
use crate::shift::Command;
use crate::tui::action::Action;
use crate::tui::changes::{Changes, Grounds};
use crate::tui::choosing::Choosing;
use crate::tui::desk::Desk;
use crate::tui::dialog::{Ask, Asks, Consequence, Dialog, Field, List, Page, PageOf};
use crate::tui::entries::Entries;
use crate::tui::keymap::{self, Context, Key};
use crate::tui::lessons::Lessons;
use crate::tui::pages::Pages;
use crate::tui::practising::Practising;
use crate::tui::reading::Reading;
use crate::tui::tape::{Tape, Wish};
use crate::tui::widgets::text;
use crate::units::{Dur, Time};
use keys::READ_FIRST;
pub use keys::update;
pub(super) use keys::update_below;

use crate::view::{AlarmRow, Board, Said, Wrong};

/// How long an answer stays in the key line, in seconds; one that is too long for it, each of its parts.
pub(super) const ANSWER_STAYS: u32 = 8;

/// Cells of the key line that an answer does not have: its mark, and which part of how many it is.
const ANSWER_LEAVES: (u16, u16) = (6, 9);

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
    /// The lists that led to it, which one goes back through.
    pub lists: Vec<List>,
    /// The line that was typed for what is being said, which comes back if that is refused.
    pub typed: Option<Field>,
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
            lists: Vec::new(),
            typed: None,
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

    /// Says that the shift did not take what was said, and why: over the line that was typed for it, to be put right there. The
    /// next key is no answer to the call.
    pub fn refuse_said(&mut self, why: String, now: Time) {
        self.settled = now + self.really(READ_FIRST);
        match self.typed.take() {
            Some(field) => self.dialog = Some(Dialog::Field(Field { wrong: Some(why), ..field })),
            None => self.refuse(why, now),
        }
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
        // A note does not push out the answer to what was just done: both are shown.
        let answer =
            self.message.take().filter(|m| m.tone == Tone::Done && tone == Tone::Note && now < m.until);
        let (text, tone) = match answer {
            Some(m) => (format!("{}.  {text}", m.text.trim_end_matches('.')), Tone::Done),
            None => (text, tone),
        };
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

    /// The chosen row of what is wrong, while that is what is gone through.
    fn wrong<'b>(&self, board: &'b Board) -> Option<Wrong<'b>> {
        let chosen = self.row(Pane::Alarms).filter(|_| self.pane == Pane::Alarms);
        chosen.and_then(|ix| board.wrongs().nth(ix))
    }

    fn alarm<'b>(&self, board: &'b Board) -> Option<&'b AlarmRow> {
        match self.wrong(board) {
            Some(Wrong::Alarm(alarm)) => Some(alarm),
            // What the plan cannot keep is no alarm.
            Some(Wrong::Breach(_)) => None,
            None => board.first_alarm(),
        }
    }
}

/// The screen a person begins with.
fn home(post: Post) -> Screen {
    if post == Post::Supervisor { Screen::Board } else { Screen::Live }
}
