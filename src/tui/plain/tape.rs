//! A recording without a screen: what happens is told as it is played, and words move about in it.

use std::sync::Arc;
use std::sync::mpsc::Receiver;
use std::time::Duration;

use super::heard::{Means, Reply, WORDS, hear};
use super::{Teller, read, wakes, write};
use crate::replay::MarkKind;
use crate::tui::action::Action;
use crate::tui::app::{App, Effect, Post, Screen};
use crate::tui::dialog::{Dialog, Page};
use crate::tui::player::Player;
use crate::tui::run::{Exit, Options, Outcome, Source as _, TuiError, Wake, next};
use crate::tui::tape::{Wish, instant};
use crate::units::Time;
use crate::view::Board;

/// What is said in place of what a recording does not take.
const NOTHING_SAID: &str =
    "Nothing is said in a recording. dwellhand replay --from TIME --out FILE takes it over as a practice.";

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
];

/// Plays a recording until the person leaves, the input ends, or nobody reads any more.
pub fn replay(player: &mut Player, options: &Options) -> Result<Exit, TuiError> {
    let mut app = App::new(Arc::clone(player.line()), Post::Watch, false, false);
    app.reckon = options.reckon;
    app.note("REPLAY. play goes on; to 10:40 goes to a time; help lists the words.", player.point().at);
    play(player, &mut app, &wakes()?, options)
}

fn play(
    player: &mut Player,
    app: &mut App,
    wakes: &Receiver<Wake>,
    options: &Options,
) -> Result<Exit, TuiError> {
    let mut teller = Teller::default();
    let mut page = Arc::default();
    loop {
        player.tick(app);
        let board = player.board();
        app.see(&board);
        let mut said = teller.tell(&board, app);
        said.extend(app.message.take().map(|m| m.text));
        said.extend(page_read(player, app, &mut page));
        if !write(&said, &[]).map_err(TuiError::Lost)? {
            return Ok(Exit::Quit);
        }
        let line = match next(wakes, player.wait(&board, options.refresh)) {
            None | Some(Wake::Input(_)) => continue,
            Some(Wake::Signal(signal)) => return Ok(Exit::Signal(signal)),
            Some(Wake::Line(line)) => line,
            Some(Wake::InputLost(_)) => return ended(player, app, &mut page),
        };
        let now = player.now();
        let Reply { effects, lines, reads } = obey(app, &line, &board, now);
        // What lies between is not told one by one.
        let jumps = effects.iter().any(|e| matches!(e, Effect::Tape(wish) if jumps(*wish)));
        let outcome = player.perform(app, effects);
        if jumps {
            teller.knows(player.seq());
        }
        let mut replies = lines;
        replies.extend(reads.map(|reads| read::aloud(app, player, &board, reads)).unwrap_or_default());
        if !write(&replies, &[]).map_err(TuiError::Lost)? || outcome == Outcome::Quit {
            return Ok(Exit::Quit);
        }
    }
}

/// What was asked for last is still answered when the input is a file that has ended.
fn ended(player: &mut Player, app: &mut App, page: &mut Lines) -> Result<Exit, TuiError> {
    while player.is_asking() {
        std::thread::sleep(LOOK);
        player.tick(app);
    }
    write(&page_read(player, app, page), &[]).map_err(TuiError::Lost)?;
    Ok(Exit::Quit)
}

type Lines = Arc<Vec<(String, bool)>>;

/// The page that has come up, read once all of it is there.
fn page_read(player: &Player, app: &mut App, read: &mut Lines) -> Vec<String> {
    let Some(Dialog::Page(Page { lines, .. })) = &app.dialog else { return Vec::new() };
    if player.is_asking() || Arc::ptr_eq(lines, read) {
        return Vec::new();
    }
    *read = Arc::clone(lines);
    let text = lines.iter().map(|(line, _)| line.clone()).filter(|line| !line.is_empty()).collect();
    app.dialog = None;
    text
}

/// Takes a line: an open question is answered first, then words that move about, then those that tell.
fn obey(app: &mut App, line: &str, board: &Board, now: Time) -> Reply {
    let line = line.trim();
    if matches!(app.dialog, Some(Dialog::Ask(_))) {
        return hear(app, line, board, now);
    }
    app.dialog = None;
    app.screen = Screen::Live;
    let (word, rest) = line.split_once(char::is_whitespace).unwrap_or((line, ""));
    let word = word.to_lowercase();
    match (word.as_str(), rest.trim()) {
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
            (Some(wish), None) => wished(wish),
            (None, Some((name, Means::Tells(_) | Means::Reads(_) | Means::Record | Means::Reckons))) => {
                hear(app, &format!("{name} {rest}"), board, now)
            }
            (None, Some((name, Means::Key(Action::Quit)))) => hear(app, name, board, now),
            (None, Some(_)) => said(NOTHING_SAID),
            _ => said(format!("Not understood: {line}. help lists the words.")),
        },
    }
}

fn jumps(wish: Wish) -> bool {
    matches!(wish, Wish::To(_) | Wish::Next(_) | Wish::Previous(_))
}

fn wished(wish: Wish) -> Reply {
    Reply { effects: vec![Effect::Tape(wish)], ..Reply::default() }
}

fn said(text: impl Into<String>) -> Reply {
    Reply { lines: vec![text.into()], ..Reply::default() }
}

/// The names that a word may stand for, of both kinds: one that it is, or the only one that it begins.
fn meant(word: &str) -> Option<&'static str> {
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
    lines.extend(MOVES.iter().map(|(word, what, _)| format!("{word}: {what}")));
    lines.push("to: to a time of day, such as to 10:40".to_owned());
    lines.push("before: back to the alarm, broken, unfollowed or mark before this".to_owned());
    lines.extend(WORDS.iter().filter(|w| tells(&w.2)).map(|(word, what, _)| format!("{word}: {what}")));
    lines.push("quit: leave; asks first".to_owned());
    lines
}
