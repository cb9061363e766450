//! What a typed line asks for. Words stand for the keys of the screens; an open question is answered first.

use super::told;
use crate::ids::CarrierId;
use crate::tui::action::Action;
use crate::tui::app::{App, Effect, Screen, update};
use crate::tui::dialog::{Amount, Asks, Dialog};
use crate::tui::keymap;
use crate::tui::pages::Kind;
use crate::tui::screens::tank;
use crate::tui::widgets::countdown;
use crate::units::{Dur, Time};
use crate::view::{Board, TankRow, lessons};

/// What comes back of a line.
#[derive(Debug, Default)]
pub struct Reply {
    /// What is to be done.
    pub effects: Vec<Effect>,
    /// What to say.
    pub lines: Vec<String>,
    /// What to read out then, which needs more than the board.
    pub reads: Option<Reads>,
}

/// Pages that are read out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Reads {
    /// A page of the shift.
    Page(Kind),
    /// The debrief.
    Debrief,
    /// How long moves really took.
    Pace,
    /// A carrier's record.
    Record(CarrierId),
}

/// What a word is for.
#[derive(Debug, Clone, Copy)]
pub enum Means {
    /// The same as a key.
    Key(Action),
    /// Something about the board is told; what was typed behind the word comes last.
    Tells(fn(&Board, &App, &str) -> Vec<String>),
    /// A page is read out.
    Reads(Reads),
    /// The record of a carrier.
    Record,
    /// Process arithmetic.
    Reckons,
    /// What is proposed is done. No other word does that.
    Commits,
}

/// The words, what they do, and what they ask the screens for.
pub const WORDS: &[(&str, &str, Means)] = &[
    ("done", "the call was done just now; Enter alone says the same", Means::Key(Action::Confirm)),
    ("late", "it was done a while ago: late 2m, late 1:30, late 45", Means::Key(Action::Late)),
    ("other", "something else was done: choose what", Means::Key(Action::Otherwise)),
    ("undo", "take back the last thing said; asks first", Means::Key(Action::Undo)),
    ("state", "the state is wrong: say where a carrier really is", Means::Key(Action::Wrong)),
    ("seen", "the alarm was seen", Means::Key(Action::Acknowledge)),
    ("aside", "set the alarm aside for a while, with a reason", Means::Key(Action::Shelve)),
    ("crew", "at the start of a practice: watch a simulated crew", Means::Key(Action::Crew)),
    ("enter", "what was counted, inspected, measured or signed, or a note", Means::Key(Action::Enter)),
    ("sign", "work this shift, hand it over, take it over", Means::Key(Action::Sign)),
    ("call", "say the call again", Means::Tells(|board, _, _| vec![told::call(board)])),
    ("next", "the moves after it", Means::Tells(|board, _, _| told::next(board))),
    ("line", "what is in the tanks", Means::Tells(|board, _, _| told::tanks(board))),
    ("alarms", "what is wrong", Means::Tells(|board, _, _| told::alarms(board))),
    ("queue", "what waits to start", Means::Tells(|board, _, _| told::queue(board))),
    ("log", "what happened, the latest first: log, log 50", Means::Tells(|board, _, n| told::log(board, n))),
    (
        "board",
        "every carrier, and use of crane and power",
        Means::Tells(|board, app, _| told::board(board, app)),
    ),
    (
        "moves",
        "the last moves made and the next planned, by time: moves, moves 50",
        Means::Tells(|board, _, n| told::ways(board, n)),
    ),
    ("tank", "one tank, such as tank T05", Means::Tells(|board, _, name| one_tank(board, name))),
    ("baths", "every bath with its limits and readings", Means::Tells(|board, _, _| told::baths(board))),
    ("counts", "the parts of every order", Means::Tells(|board, _, _| told::counts(board))),
    ("propose", "propose a change (supervisor); what it would do is told", Means::Key(Action::Propose)),
    ("effects", "what the proposed changes would do", Means::Tells(|_, app, _| told::outlook(app))),
    ("commit", "do what is proposed, all of it or nothing; asks why", Means::Commits),
    ("drop", "forget what is proposed; asks first", Means::Key(Action::Back)),
    ("changes", "changes that stand, and why", Means::Tells(|board, _, _| told::changes(board))),
    ("record", "all that was done to one carrier, such as record B07", Means::Record),
    ("start", "the page to begin a shift with", Means::Reads(Reads::Page(Kind::Start))),
    ("handover", "the page a shift is handed over with", Means::Reads(Reads::Page(Kind::Handover))),
    ("shift", "the shift so far", Means::Reads(Reads::Page(Kind::Shift))),
    (
        "debrief",
        "calls followed, windows broken, what others would have made of it",
        Means::Reads(Reads::Debrief),
    ),
    ("pace", "how long moves really took", Means::Reads(Reads::Pace)),
    (
        "explain",
        "a bath or a word of the trade, such as explain etch",
        Means::Tells(|_, app, word| explained(app, word)),
    ),
    ("reckon", "process arithmetic, such as reckon rinse --stages 2 --dilution 1000", Means::Reckons),
    ("help", "these words", Means::Tells(|_, _, _| help())),
    ("quit", "leave; asks first", Means::Key(Action::Quit)),
];

/// Takes a line. Pure, like a key.
pub fn hear(app: &mut App, line: &str, board: &Board, now: Time) -> Reply {
    let line = line.trim();
    let (word, rest) = line.split_once(char::is_whitespace).unwrap_or((line, ""));
    let mut reply = Reply::default();
    if app.dialog.is_some() {
        let begun = !matches!(app.screen, Screen::Caution | Screen::Brief);
        reply.effects = answer(app, line, board, now, &mut reply.lines);
        if begun {
            app.screen = Screen::Live;
        }
    } else if app.screen == Screen::Brief || app.screen == Screen::Caution {
        begin(app, line, board, now, &mut reply);
    } else {
        match find(if word.is_empty() { "done" } else { word }).map(|w| w.2) {
            Some(Means::Key(action)) => {
                reply.effects = ask(app, action, rest.trim(), board, now, &mut reply.lines);
            }
            Some(Means::Tells(tell)) => reply.lines = tell(board, app, rest.trim()),
            Some(Means::Reads(reads)) => reply.reads = Some(reads),
            Some(Means::Record) => record(rest.trim(), board, &mut reply),
            Some(Means::Reckons) => reply.lines = reckon(app, rest),
            Some(Means::Commits) => reply.effects = on(app, Screen::Changes, Action::Confirm, board, now),
            None => {
                reply.lines =
                    vec![format!("Not understood: {line}. help lists the words; nothing was said.")];
            }
        }
    }
    reply.lines.extend(question(app, board));
    reply
}

/// Before the cautions are read, and what practice it is, there is nothing else to be said.
fn begin(app: &mut App, line: &str, board: &Board, now: Time, reply: &mut Reply) {
    let action = find(if line.is_empty() { "done" } else { line }).map(|w| w.2);
    match action {
        Some(Means::Key(action @ (Action::Confirm | Action::Crew | Action::Quit))) => {
            reply.effects = update(app, action, board, now);
            if !matches!(app.screen, Screen::Caution | Screen::Brief) {
                app.screen = Screen::Live;
            }
        }
        _ => reply.lines.push("Enter first: I have read it.".to_owned()),
    }
}

fn record(name: &str, board: &Board, reply: &mut Reply) {
    match board.carriers.iter().find(|c| c.name.eq_ignore_ascii_case(name)) {
        Some(carrier) => reply.reads = Some(Reads::Record(carrier.id)),
        None if name.is_empty() => reply.lines.push("Whose record? record B07 is that of B07.".to_owned()),
        None => reply.lines.push(format!("{name} is no carrier of this shift.")),
    }
}

fn reckon(app: &App, text: &str) -> Vec<String> {
    app.reckon.map_or_else(Vec::new, |r| (r.0)(text))
}

fn one_tank(board: &Board, name: &str) -> Vec<String> {
    let is_it = |t: &&TankRow| t.name.eq_ignore_ascii_case(name);
    let Some(row) = board.tanks.iter().find(is_it) else {
        let names: Vec<&str> = board.tanks.iter().map(|t| t.name.as_str()).collect();
        return vec![format!("Which tank? One of {}.", names.join(" "))];
    };
    tank::lines(board, row).into_iter().filter(|l| !l.is_empty()).collect()
}

/// A card or a word, as behind `9` on the screens.
fn explained(app: &App, word: &str) -> Vec<String> {
    let lessons = lessons(&app.line);
    let word = word.to_lowercase();
    let lesson = lessons.iter().find(|l| l.title.to_lowercase() == word);
    let has = || lessons.iter().find(|l| !word.is_empty() && l.title.to_lowercase().contains(&word));
    let Some(lesson) = lesson.or_else(has) else {
        let titles: Vec<&str> = lessons.iter().map(|l| l.title).collect();
        return vec![format!("What? One of: {}.", titles.join(", "))];
    };
    let parts = lesson.parts.iter().map(|(head, text)| match head.as_str() {
        "" => text.clone(),
        head => format!("{head}: {text}"),
    });
    std::iter::once(lesson.title.to_owned()).chain(parts).collect()
}

/// A word, or so much of it that it can be no other. A key of the live screen stands for its word: what is answered names
/// keys.
pub(super) fn find(word: &str) -> Option<&'static (&'static str, &'static str, Means)> {
    let word = word.to_lowercase();
    let word = if word == "?" { "help" } else { &word };
    if let Some(key) = one_key(word) {
        return Some(key);
    }
    let mut fits = WORDS.iter().filter(|w| w.0.starts_with(word) && !word.is_empty());
    match (fits.next(), fits.next()) {
        (Some(only), None) => Some(only),
        _ => WORDS.iter().find(|w| w.0 == word),
    }
}

fn one_key(word: &str) -> Option<&'static (&'static str, &'static str, Means)> {
    let mut letters = word.chars();
    let (letter, None) = (letters.next()?, letters.next()) else { return None };
    let wanted = keymap::live(letter)?.action;
    WORDS.iter().find(|w| matches!(w.2, Means::Key(action) if action == wanted))
}

fn ask(
    app: &mut App,
    action: Action,
    rest: &str,
    board: &Board,
    now: Time,
    lines: &mut Vec<String>,
) -> Vec<Effect> {
    let ago = if action == Action::Late && !rest.is_empty() {
        let Some(ago) = duration(rest) else {
            lines.push(format!("How long ago? Not {rest}: 2m, 1:30 or 45 (seconds). Nothing was said."));
            return Vec::new();
        };
        Some(ago)
    } else {
        None
    };
    let screen = match action {
        Action::Sign => Screen::Pages,
        Action::Propose | Action::Back => Screen::Changes,
        _ => Screen::Live,
    };
    let mut effects = on(app, screen, action, board, now);
    if let (Some(ago), Some(Dialog::Amount(amount))) = (ago, &mut app.dialog) {
        amount.say(ago);
        effects.extend(update(app, Action::Confirm, board, now));
    }
    effects
}

/// A key of a screen. Between two words the live screen is underneath, so that `done` can only mean the call.
fn on(app: &mut App, screen: Screen, action: Action, board: &Board, now: Time) -> Vec<Effect> {
    app.screen = screen;
    let effects = update(app, action, board, now);
    app.screen = Screen::Live;
    effects
}

/// Answers what is open. `n` and `back` always close it.
fn answer(app: &mut App, line: &str, board: &Board, now: Time, lines: &mut Vec<String>) -> Vec<Effect> {
    if matches!(line, "n" | "no" | "back") {
        lines.push("Nothing was said.".to_owned());
        return update(app, Action::Back, board, now);
    }
    // What is typed into a field may be that very word.
    if line == "quit" && !matches!(app.dialog, Some(Dialog::Field(_))) {
        let _ = update(app, Action::Back, board, now);
        return on(app, Screen::Live, Action::Quit, board, now);
    }
    let action = match app.dialog.as_mut() {
        Some(Dialog::Ask(_)) if matches!(line, "y" | "yes") => Action::Confirm,
        Some(Dialog::Amount(amount)) => match duration(line) {
            _ if line.is_empty() => Action::Confirm,
            Some(ago) => {
                amount.say(ago);
                Action::Confirm
            }
            None => {
                lines.push(format!("Not understood: {line}; a time is asked for, or n. Nothing was said."));
                return Vec::new();
            }
        },
        Some(Dialog::List(list)) => match line.parse::<usize>() {
            Ok(n) if (1..=list.passing().len()).contains(&n) => {
                list.cursor = n - 1;
                Action::Confirm
            }
            _ => {
                line.clone_into(&mut list.filter);
                list.cursor = 0;
                return Vec::new();
            }
        },
        Some(Dialog::Field(field)) => {
            line.clone_into(&mut field.text);
            Action::Confirm
        }
        Some(Dialog::Tank(_) | Dialog::Help(_) | Dialog::Page(_) | Dialog::Answer(..)) => Action::Back,
        _ => return Vec::new(),
    };
    update(app, action, board, now)
}

/// The open question, with how to answer it.
pub(super) fn question(app: &App, board: &Board) -> Vec<String> {
    match &app.dialog {
        Some(Dialog::Answer(lines, _)) => lines.clone(),
        None | Some(Dialog::Tank(_) | Dialog::Help(_) | Dialog::Page(_)) => Vec::new(),
        Some(Dialog::Ask(ask)) => vec![format!("{} {} Type y or n.", ask.title, ask.lines.join(" "))],
        Some(Dialog::Amount(amount)) => vec![ago_question(amount, board)],
        Some(Dialog::Field(field)) => {
            let wrong = field.wrong.as_ref().map_or_else(String::new, |w| format!("NO, {w}. "));
            let seen = if field.asks == Asks::Pin { " What you type is seen on this terminal." } else { "" };
            vec![format!("{wrong}{}: {}{seen} Or n.", field.title, field.hint)]
        }
        Some(Dialog::List(list)) => {
            let about = if list.about.is_empty() { String::new() } else { format!("{} ", list.about) };
            let end = if list.title.ends_with(['.', '?', ':']) { "" } else { "." };
            let mut lines = vec![format!("{about}{}{end} Type a number, words to narrow, or n.", list.title)];
            lines.extend(
                list.passing().iter().enumerate().map(|(ix, item)| format!("{} {}", ix + 1, item.text)),
            );
            if lines.len() == 1 {
                lines.push("nothing fits".to_owned());
            }
            lines
        }
    }
}

fn ago_question(amount: &Amount, board: &Board) -> String {
    let then = board.clock_at(board.now - amount.ago);
    let ago = countdown::figures(amount.ago);
    format!("{}. How long ago? Enter: {ago}, at {then}; or 2m, 1:30, 45; or n.", amount.subject.text)
}

/// `2m`, `2m30s`, `1:30`, `45`, `45s`; at most 99:59.
pub fn duration(text: &str) -> Option<Dur> {
    let text = text.trim();
    let whole = |t: &str| t.parse::<i64>().ok().filter(|n| (0..6000).contains(n));
    let seconds = if let Some((m, s)) = text.split_once(':') {
        whole(m)? * 60 + whole(s).filter(|s| *s < 60 && text.ends_with(|c: char| c.is_ascii_digit()))?
    } else if let Some((m, s)) = text.split_once('m') {
        let s = s.trim().trim_end_matches('s');
        whole(m.trim())? * 60 + if s.is_empty() { 0 } else { whole(s)? }
    } else {
        whole(text.trim_end_matches('s').trim())?
    };
    (seconds < 6000).then(|| Dur::from_secs(seconds))
}

fn help() -> Vec<String> {
    let mut lines = vec!["Type a word, or its first letters:".to_owned()];
    lines.extend(words_that(|_| true));
    lines
}

/// The words that mean something of a kind, each with what it does.
pub(super) fn words_that(wanted: fn(&Means) -> bool) -> impl Iterator<Item = String> {
    let words = WORDS.iter().filter(move |w| wanted(&w.2));
    words.map(|(word, what, _)| format!("{word}: {what}"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn how_long_ago_is_read_as_people_write_it() {
        for (text, seconds) in
            [("2m", 120), ("1:30", 90), ("45", 45), ("45s", 45), ("2m30s", 150), ("2 m", 120), ("0", 0)]
        {
            assert_eq!(duration(text), Some(Dur::from_secs(seconds)), "{text}");
        }
        for text in ["", "soon", "-5", "1:75", "1:", "100m", "6000", "2h"] {
            assert_eq!(duration(text), None, "{text}");
        }
    }

    #[test]
    fn a_word_may_be_cut_short_while_it_can_be_no_other() {
        assert_eq!(find("un").map(|w| w.0), Some("undo"));
        assert_eq!(find("LATE").map(|w| w.0), Some("late"));
        assert_eq!(find("?").map(|w| w.0), Some("help"));
        assert_eq!(find("s").map(|w| w.0), Some("state"));
        assert!(find("c").is_none() && find("xyz").is_none() && find("").is_none());
    }
}
