//! Plays a recording: moves along it and answers what is asked about it. Never writes.

use std::sync::Arc;
use std::time::Duration;

use super::app::{App, Effect, Screen};
use super::dialog::{Dialog, Page, PageOf};
use super::learning::{Learning, Tally};
use super::pages::keep_page;
use super::retold;
use super::run::{self, Outcome};
use super::tape::{How, SPEEDS, Tape, Wish};
use crate::clock::{Clock as _, RunningClock};
use crate::ids::Seq;
use crate::line::Line;
use crate::live::{Asked, Asking, Brought, Reckoner};
use crate::plan::Settings;
use crate::replay::{MarkKind, Moment, Point, Recording};
use crate::report::Source;
use crate::shift::History;
use crate::train::{Brief, Debrief};
use crate::units::Time;
use crate::view::Board;

/// Between two pictures of a recording that is played.
const FRAME: Duration = Duration::from_millis(100);

/// How often the thread that works out why is asked.
const LOOK: Duration = Duration::from_millis(50);

/// A page about what a practice made of it.
type Lines = Arc<Vec<(String, bool)>>;

/// A recording that is played.
pub struct Player {
    recording: Arc<Recording>,
    settings: Settings,
    tries: u64,
    moment: Moment,
    now: Time,
    clock: Option<RunningClock>,
    speed: usize,
    asking: Option<Asking>,
    learning: Learning,
    reckoner: Reckoner,
    wanted: Option<How>,
    compared: Option<Lines>,
    brief: Option<Brief>,
    say: Option<String>,
}

impl Player {
    /// At the beginning of a recording. `settings` and `tries` are for working out why.
    pub fn new(recording: Arc<Recording>, settings: Settings, tries: u64) -> Self {
        let point = recording.at(recording.span().0);
        Self {
            moment: recording.moment(point),
            now: point.at,
            recording,
            settings,
            tries,
            clock: None,
            speed: super::tape::FIRST_SPEED,
            asking: None,
            learning: Learning::default(),
            reckoner: Reckoner::default(),
            wanted: None,
            compared: None,
            brief: None,
            say: None,
        }
    }

    /// The line as its file says.
    pub fn line(&self) -> &Arc<Line> {
        self.recording.line()
    }

    /// Where it is.
    pub fn point(&self) -> Point {
        Point { at: self.now, ix: self.moment.point.ix }
    }

    /// What has happened up to there.
    pub(super) fn history(&self) -> &History {
        &self.moment.history
    }

    /// True while it is worked out why.
    pub(super) fn is_asking(&self) -> bool {
        self.asking.is_some()
    }

    /// True while the next question is looked for.
    pub(super) fn is_seeking(&self) -> bool {
        self.learning.goes && self.learning.is_seeking()
    }

    /// How the person wants to take the shift over here, once.
    pub fn take_wanted(&mut self) -> Option<How> {
        self.wanted.take()
    }

    /// Shows a comparison with a practice, now and whenever it is asked for; and says something.
    pub fn show(&mut self, lines: Vec<(String, bool)>, say: String) {
        self.compared = Some(Arc::new(lines));
        self.say = Some(say);
    }

    /// Says what practice the recording is of.
    pub fn set_brief(&mut self, brief: Option<Brief>) {
        self.brief = brief;
    }

    /// Says something at the next look.
    pub fn say(&mut self, text: String) {
        self.say = Some(text);
    }

    /// How the questions were answered.
    pub fn tally(&self) -> Tally {
        self.learning.tally()
    }

    fn go(&mut self, point: Point) {
        if point.ix != self.moment.point.ix {
            self.moment = self.recording.moment(point);
        }
        self.now = point.at;
        if self.clock.is_some() {
            self.play();
        }
    }

    fn play(&mut self) {
        self.clock = Some(RunningClock::practice(self.now, f64::from(SPEEDS[self.speed])));
    }

    fn goes_on(&mut self) {
        let Some(clock) = &mut self.clock else { return };
        let (now, end) = (clock.now(), self.recording.span().1);
        if self.learning.is_seeking() {
            // It stops before the next question, wherever that is.
            self.play();
            return;
        }
        let asks = self.learning.next();
        let point = self.recording.at(now.min(end).max(self.now));
        let point = asks.map_or(point, |asks| point.min(asks));
        if point.ix != self.moment.point.ix {
            self.moment = self.recording.moment(point);
        }
        self.now = point.at;
        if now >= end {
            self.clock = None;
        }
    }

    fn tape(&self, before: Option<&Tape>) -> Tape {
        let marks = match before {
            Some(tape) => Arc::clone(&tape.marks),
            None => Arc::new(self.recording.marks().to_vec()),
        };
        Tape {
            span: self.recording.span(),
            marks,
            point: self.point(),
            events: self.recording.events().len(),
            playing: self.clock.is_some(),
            speed: self.speed,
            learning: self.learning.words(),
        }
    }

    /// Goes to the next question, asking for them from now on; passes one over that is open.
    fn learn(&mut self, app: &mut App) {
        app.choosing = None;
        self.learning.on = true;
        self.learning.goes = true;
        self.learning.pass_over();
        self.learning.look_ahead(&self.recording, self.point(), self.settings);
        self.clock = None;
    }

    fn unlearn(&mut self, app: &mut App) {
        app.choosing = None;
        self.learning.pass_over();
        self.learning.on = false;
        let Tally { asked, right, harmful } = self.tally();
        let text = match asked {
            0 => "No more questions.".to_owned(),
            _ => {
                format!("No more questions: {right} of {asked} right, {harmful} would have broken a window.")
            }
        };
        app.note(text, self.now);
    }

    fn take_answer(&mut self, app: &mut App, row: usize) {
        let Some(verdict) = self.learning.answer(&self.recording, row) else { return };
        app.choosing = None;
        app.dialog = Some(verdict);
        // The next one is looked for while this is read.
        self.learning.goes = false;
        self.learning.look_ahead(&self.recording, self.point(), self.settings);
    }

    /// Asks where the recording has come to a moment worth a question.
    fn keep_learning(&mut self, app: &mut App) {
        if !self.learning.on || self.learning.is_asking() {
            return;
        }
        self.learning.keep();
        let Some(next) = self.learning.next() else {
            if self.learning.goes {
                let seeks = self.learning.is_seeking();
                let text = if seeks {
                    "Looking for the next moment worth a question ..."
                } else {
                    "No moment ahead is worth a question. M or d goes back; N asks no more."
                };
                self.learning.goes = seeks;
                app.note(text, self.now);
            }
            return;
        };
        if self.learning.goes || (self.clock.is_some() && self.point() >= next) {
            self.clock = None;
            self.go(next);
            app.message = None;
            app.dialog = None;
            app.screen = Screen::Live;
            app.choosing = self.learning.pose(&self.recording);
        }
    }

    fn grant(&mut self, app: &mut App, wish: Wish) -> Outcome {
        let outcome = self.grant_here(app, wish);
        let looks = self.learning.on && !self.learning.is_asking();
        if looks && !matches!(wish, Wish::Answer(_) | Wish::Learn) {
            self.learning.look_ahead(&self.recording, self.point(), self.settings);
        }
        outcome
    }

    fn grant_here(&mut self, app: &mut App, wish: Wish) -> Outcome {
        let here = self.point();
        match wish {
            Wish::Toggle if self.clock.is_some() => self.clock = None,
            Wish::Toggle if here.at >= self.recording.span().1 => {
                app.note("This is the end. , goes back; d goes to a time.", self.now);
            }
            Wish::Toggle => self.play(),
            Wish::On | Wish::Back => {
                self.clock = None;
                let ix = if wish == Wish::On { here.ix + 1 } else { here.ix.saturating_sub(1).max(1) };
                self.go(self.recording.after(ix));
            }
            Wish::Faster | Wish::Slower => {
                let to = if wish == Wish::Faster { self.speed + 1 } else { self.speed.saturating_sub(1) };
                self.speed = to.min(SPEEDS.len() - 1);
                if self.clock.is_some() {
                    self.play();
                }
            }
            Wish::To(t) => {
                let (first, last) = self.recording.span();
                if t < first || last < t {
                    app.refuse(self.recording.outside(t), self.now);
                } else {
                    self.go(self.recording.at(t));
                }
            }
            Wish::Next(kind) => self.stop_at(app, kind, true),
            Wish::Previous(kind) => self.stop_at(app, kind, false),
            Wish::Why => self.ask_why(app),
            Wish::TakeOver(how) => {
                self.clock = None;
                self.wanted = Some(how);
                return Outcome::Quit;
            }
            Wish::Compare => match &self.compared {
                Some(lines) => {
                    let title = "What happened beside the practice";
                    app.dialog = Some(Dialog::Page(Page::new(PageOf::Compared, title, Arc::clone(lines))));
                }
                None => app.refuse("No practice was taken over yet: T does.", self.now),
            },
            Wish::Learn => self.learn(app),
            Wish::Unlearn => self.unlearn(app),
            Wish::Answer(row) => self.take_answer(app, row),
            Wish::Say | Wish::Ask | Wish::AskHow => {}
        }
        Outcome::Go
    }

    /// Stops at the next mark of a kind, or at the one before.
    fn stop_at(&mut self, app: &mut App, kind: Option<MarkKind>, ahead: bool) {
        let (recording, here) = (Arc::clone(&self.recording), self.point());
        let found = if ahead { recording.next_mark(kind, here) } else { recording.previous_mark(kind, here) };
        let Some(mark) = found else {
            let what = kind.map_or("mark", super::tape::name);
            let way = if ahead { "after" } else { "before" };
            app.note(format!("There is no {what} {way} this."), self.now);
            return;
        };
        self.clock = None;
        self.go(mark.point);
        let word = mark.kind.word();
        let text =
            if mark.text.starts_with(word) { mark.text.clone() } else { format!("{word}: {}", mark.text) };
        app.note(text, self.now);
    }

    /// Shows what the shift came to up to here.
    fn look_back(&mut self, app: &mut App) {
        self.clock = None;
        let line = Arc::clone(self.recording.line());
        let debrief = self.reckoner.begin(&line, &self.moment.history, self.brief.as_ref(), self.now);
        app.reading.scroll = 0;
        self.fill(app, &debrief);
        app.reading.unfinished = self.reckoner.is_at_work();
    }

    fn fill(&mut self, app: &mut App, debrief: &Debrief) {
        let board = self.moment.board(&self.recording, self.now);
        let (line, opening) = (self.recording.line(), self.recording.opening());
        let source = Source { line, history: &self.moment.history, board: &board, opening, now: self.now };
        retold::fill(app, &source, debrief);
    }

    /// Takes up what was reckoned, if it is still about this moment.
    fn keep_debrief(&mut self, app: &mut App) {
        if let Some((debrief, at)) = self.reckoner.take()
            && at == self.now
        {
            self.fill(app, &debrief);
        }
        app.reading.unfinished = self.reckoner.is_at_work();
    }

    fn ask_why(&mut self, app: &mut App) {
        self.clock = None;
        let recording = Arc::clone(&self.recording);
        self.asking = Asking::begin(recording, self.point(), self.settings, self.tries);
        let words =
            if self.asking.is_some() { "It is being worked out." } else { "It could not be worked out." };
        let lines = Arc::new(vec![(words.to_owned(), false)]);
        app.dialog = Some(Dialog::Page(Page::new(PageOf::Why, "Why", lines)));
    }

    /// Puts what the thread has found into the page that waits for it.
    fn answer(&mut self, app: &mut App) {
        let Some(asking) = &mut self.asking else { return };
        let waits = matches!(&app.dialog, Some(Dialog::Page(page)) if page.of == PageOf::Why);
        if !waits {
            self.asking = None;
            return;
        }
        let (lines, last) = match asking.take() {
            Brought::Nothing => return,
            Brought::Found(Asked { why, last }) => {
                let mut lines = why.lines(self.recording.opening());
                if !last {
                    lines.push(("A closer look is being taken.".to_owned(), false));
                }
                (lines, last)
            }
            Brought::Over => (vec![("It could not be worked out.".to_owned(), false)], true),
        };
        if last {
            self.asking = None;
        }
        if let Some(Dialog::Page(page)) = &mut app.dialog {
            page.lines = Arc::new(lines);
        }
    }
}

impl run::Source for Player {
    fn tick(&mut self, app: &mut App) {
        self.goes_on();
        self.keep_learning(app);
        self.answer(app);
        self.keep_debrief(app);
        app.speed = f64::from(SPEEDS[self.speed]);
        if let Some(text) = self.say.take() {
            app.note(text, self.now);
            if let Some(lines) = &self.compared {
                let title = "What happened beside the practice";
                app.dialog = Some(Dialog::Page(Page::new(PageOf::Compared, title, Arc::clone(lines))));
            }
        }
        let state = self.moment.state();
        app.learn(state.line(self.recording.line()), &state.book);
        app.tape = Some(self.tape(app.tape.as_ref()));
    }

    fn now(&mut self) -> Time {
        self.now
    }

    fn seq(&self) -> Seq {
        self.moment.state().seq
    }

    fn hides(&self) -> bool {
        self.learning.is_asking()
    }

    fn board(&mut self) -> Board {
        if let Some(hidden) = self.learning.board() {
            return hidden.clone();
        }
        self.moment.board(&self.recording, self.now)
    }

    fn keep_page(&mut self, app: &mut App, board: &Board) {
        let told = (&**self.recording.line(), &self.moment.history);
        keep_page(app, told, self.recording.opening(), board);
    }

    fn perform(&mut self, app: &mut App, effects: Vec<Effect>) -> Outcome {
        let mut outcome = Outcome::Go;
        for effect in effects {
            match effect {
                Effect::Tape(wish) => outcome = self.grant(app, wish),
                Effect::Debrief => self.look_back(app),
                Effect::Quit => outcome = Outcome::Quit,
                Effect::Repaint => outcome = Outcome::Repaint,
                Effect::Suspend => outcome = Outcome::Suspend,
                // What happened stays as it is.
                Effect::Submit { .. } | Effect::Commit { .. } | Effect::StartCrew | Effect::Unlock(_) => {
                    app.refuse("This is a replay: nothing is said here. T takes it over.", self.now);
                }
            }
        }
        outcome
    }

    fn wait(&mut self, _board: &Board, refresh: Duration) -> Duration {
        match (&self.clock, &self.asking) {
            (Some(_), _) => FRAME,
            (None, Some(_)) => LOOK,
            (None, None) if self.learning.is_seeking() || self.reckoner.is_at_work() => LOOK,
            (None, None) => refresh,
        }
    }
}
