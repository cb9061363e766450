//! A recording without a screen: what happens is told as it is played, and words move about in it, ask what comes next and
//! take it over.

use std::collections::VecDeque;
use std::sync::Arc;
use std::time::Duration;

use super::heard::{Means, Reply, WORDS, hear, question};
use super::{Teller, quiz, read, write};
use crate::replay::MarkKind;
use crate::tui::action::Action;
use crate::tui::app::{App, Effect, Post, Screen, update};
use crate::tui::choosing::Choosing;
use crate::tui::dialog::{Dialog, Page};
use crate::tui::keymap::{self, Context, Key};
use crate::tui::player::Player;
use crate::tui::run::{Ears, Exit, Options, Outcome, Source as _, TuiError, Wake, next};
use crate::tui::tape::{Wish, instant};
use crate::units::Time;
use crate::view::Board;

/// What is said in place of what a recording does not take.
const NOTHING_SAID: &str = "Nothing is said in a recording. take takes it over as a practice.";

/// How often an answer that is worked out is looked for.
const LOOK: Duration = Duration::from_millis(50);

/// The words that move about, and what they do.
const MOVES: &[(&str, &str, Wish)] = &[
    ("on", "to the next event; Enter alone does the same", Wish::On),
    ("back", "to the event before", Wish::Back),
    ("play", "goes on by itself; again: stops", Wish::Toggle),
    ("faster", "plays faster", Wish::Faster),
    ("slower", "plays slower", Wish::Slower),
    ("alarm", "to the next alarm", Wish::Next(Some(MarkKind::Alarm))),
    ("broken", "to the next broken window", Wish::Next(Some(MarkKind::Breach))),
    ("unfollowed", "to the next call that was not followed", Wish::Next(Some(MarkKind::Deviation))),
    ("mark", "to the next mark of any kind", Wish::Next(None)),
    ("why", "why this call, what was done, and what it cost", Wish::Why),
    ("what", "what next? On to a moment worth a question, the call hidden", Wish::Learn),
    ("enough", "no more questions", Wish::Unlearn),
    ("take", "take the shift over here, as a practice in a journal of its own", Wish::AskHow),
    ("beside", "what happened beside the practice that was taken over last", Wish::Compare),
];

/// The words that only a recording has, and what they do.
pub fn words() -> impl Iterator<Item = (&'static str, &'static str)> {
    let others = [
        ("to", "to a time of day, such as to 10:40"),
        ("before", "back to the alarm, broken, unfollowed or mark before this"),
    ];
    MOVES.iter().map(|(word, what, _)| (*word, *what)).chain(others)
}

/// Plays a recording until the person leaves or takes it over, the input ends, or nobody reads any more.
pub fn replay(ears: &Ears, player: &mut Player, options: &Options) -> Result<Exit, TuiError> {
    let mut app = App::new(Arc::clone(player.line()), Post::Watch, false, false);
    app.reckon = options.reckon;
    app.note("REPLAY. play goes on; to 10:40 goes to a time; help lists the words.", player.point().at);
    let mut told = Told::default();
    // Typed while the next question was looked for.
    let mut held: VecDeque<String> = VecDeque::new();
    let mut over = false;
    loop {
        player.tick(&mut app);
        let board = player.board();
        app.see(&board);
        if !write(&told.anew(player, &mut app, &board), &[]).map_err(TuiError::Lost)? {
            return Ok(Exit::Quit);
        }
        let seeks = player.is_seeking();
        if over && held.is_empty() && !seeks {
            return ended(player, &mut app);
        }
        let line = if seeks { None } else { held.pop_front() };
        let wake = line.map(Wake::Line).or_else(|| next(&ears.wakes, player.wait(&board, options.refresh)));
        let line = match wake {
            None | Some(Wake::Input(_)) => continue,
            Some(Wake::Signal(signal)) => return Ok(Exit::Signal(signal)),
            Some(Wake::InputLost(_)) => {
                over = true;
                continue;
            }
            Some(Wake::Line(line)) if seeks && (!held.is_empty() || !stops(&line)) => {
                held.push_back(line);
                continue;
            }
            Some(Wake::Line(line)) => line,
        };
        let now = player.now();
        let Reply { effects, lines, reads } = obey(&mut app, &line, &board, now);
        // What lies between is not told one by one.
        let jumps = effects.iter().any(|e| matches!(e, Effect::Tape(wish) if jumps(*wish)));
        let outcome = player.perform(&mut app, effects);
        if jumps {
            told.teller.knows(player.seq());
        }
        let mut replies = lines;
        replies.extend(reads.map(|reads| read::aloud(&mut app, player, &board, reads)).unwrap_or_default());
        if !write(&replies, &[]).map_err(TuiError::Lost)? || outcome == Outcome::Quit {
            return Ok(Exit::Quit);
        }
    }
}

/// True for what is not put off while the next question is looked for.
fn stops(line: &str) -> bool {
    let word = meant(line.trim());
    matches!(word, Some("quit" | "enough"))
}

/// What was told already.
#[derive(Default)]
struct Told {
    teller: Teller,
    note: Option<String>,
    question: Option<Choosing>,
}

impl Told {
    /// What is new since.
    fn anew(&mut self, player: &Player, app: &mut App, board: &Board) -> Vec<String> {
        let asked = app.choosing.is_some() && app.choosing != self.question;
        self.question.clone_from(&app.choosing);
        if asked {
            // What lies between is not told one by one.
            self.teller.knows(player.seq());
        }
        let mut said = self.teller.tell(board, app);
        let note = app.message.take().map(|m| m.text);
        // That it is being looked for is said once.
        if !(player.is_seeking() && note == self.note) {
            said.extend(note.clone());
        }
        self.note = note;
        said.extend(Self::page(player, app));
        if let Some(choosing) = app.choosing.as_ref().filter(|_| asked) {
            said.extend(quiz::question(choosing));
        }
        said
    }

    /// The page that has come up, read once all of it is there.
    fn page(player: &Player, app: &mut App) -> Vec<String> {
        let Some(Dialog::Page(Page { lines, title, .. })) = &app.dialog else { return Vec::new() };
        if player.is_asking() {
            return Vec::new();
        }
        let text = quiz::page(title, lines);
        app.dialog = None;
        text
    }
}

/// What was asked for last is still answered when the input is a file that has ended.
fn ended(player: &mut Player, app: &mut App) -> Result<Exit, TuiError> {
    while player.is_asking() {
        std::thread::sleep(LOOK);
        player.tick(app);
    }
    write(&Told::page(player, app), &[]).map_err(TuiError::Lost)?;
    Ok(Exit::Quit)
}

/// Takes a line: an open question is answered first, then words that move about, then those that tell.
fn obey(app: &mut App, line: &str, board: &Board, now: Time) -> Reply {
    let line = line.trim();
    if matches!(app.dialog, Some(Dialog::Ask(_) | Dialog::List(_) | Dialog::Field(_))) {
        return hear(app, line, board, now);
    }
    app.dialog = None;
    if let Some(action) = app.choosing.as_ref().and_then(|choosing| quiz::answer(choosing, line)) {
        return Reply { effects: update(app, action, board, now), ..Reply::default() };
    }
    app.screen = Screen::Live;
    if let Some(wish) = one_key(line).filter(|_| app.choosing.is_none()) {
        return asked(app, wish, board, now);
    }
    let (word, rest) = line.split_once(char::is_whitespace).unwrap_or((line, ""));
    let word = word.to_lowercase();
    match (word.as_str(), rest.trim()) {
        (_, "") if app.choosing.is_some() && !looks_around(&word) => {
            Reply { lines: app.choosing.as_ref().map(quiz::question).unwrap_or_default(), ..Reply::default() }
        }
        ("", _) => wished(Wish::On),
        ("to", time) => match instant(time, board) {
            Ok(at) => wished(Wish::To(at)),
            Err(why) => said(format!("To which time? {why}")),
        },
        ("help" | "?", _) => Reply { lines: help(), ..Reply::default() },
        ("before", what) => match moving(what) {
            Some(Wish::Next(kind)) => wished(Wish::Previous(kind)),
            _ => said("Before what? before alarm, before broken, before unfollowed, before mark."),
        },
        (word, _) => match (moving(word), telling(word)) {
            (Some(wish), None) => asked(app, wish, board, now),
            (None, Some((name, Means::Tells(_) | Means::Reads(_) | Means::Record | Means::Reckons))) => {
                hear(app, &format!("{name} {rest}"), board, now)
            }
            (None, Some((name, Means::Key(Action::Quit)))) => hear(app, name, board, now),
            (None, Some(_)) => said(NOTHING_SAID),
            _ => said(format!("Not understood: {line}. help lists the words.")),
        },
    }
}

/// True for what is heard while a question is open, besides answers.
fn looks_around(word: &str) -> bool {
    word.parse::<u32>().is_err() && !word.is_empty() && moving(word).is_none()
}

fn jumps(wish: Wish) -> bool {
    matches!(wish, Wish::To(_) | Wish::Next(_) | Wish::Previous(_))
}

/// What a word that is no time or mark wishes; some ask first.
fn asked(app: &mut App, wish: Wish, board: &Board, now: Time) -> Reply {
    let effects = update(app, Action::Tape(wish), board, now);
    Reply { effects, lines: question(app, board), ..Reply::default() }
}

fn wished(wish: Wish) -> Reply {
    Reply { effects: vec![Effect::Tape(wish)], ..Reply::default() }
}

fn said(text: impl Into<String>) -> Reply {
    Reply { lines: vec![text.into()], ..Reply::default() }
}

/// A key of a replay stands for its word: what is answered names keys.
fn one_key(line: &str) -> Option<Wish> {
    let mut letters = line.chars();
    let (letter, None) = (letters.next()?, letters.next()) else { return None };
    match keymap::action(Context::Replay, Key::Char(letter))? {
        Action::Tape(wish) => Some(wish),
        _ => None,
    }
}

/// The names that a word may stand for, of both kinds: one that it is, or the only one that it begins.
fn meant(word: &str) -> Option<&'static str> {
    // The key of every screen; as the beginning of a word it could be two.
    if word == "q" {
        return Some("quit");
    }
    let names = || MOVES.iter().map(|w| w.0).chain(WORDS.iter().map(|w| w.0));
    if let Some(name) = names().find(|name| *name == word) {
        return Some(name);
    }
    let mut fits = names().filter(|name| !word.is_empty() && name.starts_with(word));
    fits.next().filter(|_| fits.next().is_none())
}

fn moving(word: &str) -> Option<Wish> {
    let name = meant(word)?;
    MOVES.iter().find(|w| w.0 == name).map(|w| w.2)
}

fn telling(word: &str) -> Option<(&'static str, Means)> {
    let name = meant(word)?;
    WORDS.iter().find(|w| w.0 == name).map(|w| (w.0, w.2))
}

fn help() -> Vec<String> {
    let tells = |means: &Means| !matches!(means, Means::Key(_) | Means::Commits);
    let mut lines = vec!["Type a word, or its first letters:".to_owned()];
    lines.extend(words().map(|(word, what)| format!("{word}: {what}")));
    lines.extend(WORDS.iter().filter(|w| tells(&w.2)).map(|(word, what, _)| format!("{word}: {what}")));
    lines.push("quit, or q: leave; asks first".to_owned());
    lines
}
