//! What a typed line asks for. Words stand for the keys of the screens; an open question is answered first.

use crate::tui::action::Action;
use crate::tui::app::{App, Effect, Screen, update};
use crate::tui::dialog::{Amount, Dialog};
use crate::tui::widgets::countdown;
use crate::units::{Dur, Time};
use crate::view::{Board, state_word};

/// What comes back of a line.
#[derive(Debug, Default)]
pub struct Reply {
    /// What is to be done.
    pub effects: Vec<Effect>,
    /// What to say.
    pub lines: Vec<String>,
}

/// The words, what they do, and what they ask the screens for.
pub const WORDS: &[(&str, &str, Option<Action>)] = &[
    ("done", "the call was done just now; Enter alone says the same", Some(Action::Confirm)),
    ("late", "it was done a while ago: late 2m, late 1:30, late 45", Some(Action::Late)),
    ("other", "something else was done: choose what", Some(Action::Otherwise)),
    ("undo", "take back the last thing said; asks first", Some(Action::Undo)),
    ("state", "the state is wrong: say where a carrier really is", Some(Action::Wrong)),
    ("seen", "the alarm was seen", Some(Action::Acknowledge)),
    ("aside", "set the alarm aside for a while, with a reason", Some(Action::Shelve)),
    ("crew", "at the start of a practice: watch a simulated crew", Some(Action::Crew)),
    ("call", "say the call again", None),
    ("next", "the moves after it", None),
    ("line", "what is in the tanks", None),
    ("alarms", "what is wrong", None),
    ("queue", "what waits to start", None),
    ("help", "these words", None),
    ("quit", "leave; asks first", Some(Action::Quit)),
];

/// Takes a line. Pure, like a key.
pub fn hear(app: &mut App, line: &str, board: &Board, now: Time) -> Reply {
    let line = line.trim();
    let (word, rest) = line.split_once(char::is_whitespace).unwrap_or((line, ""));
    let mut reply = Reply::default();
    if app.dialog.is_some() {
        reply.effects = answer(app, line, board, now, &mut reply.lines);
    } else if let Some((_, _, Some(action))) = find(if word.is_empty() { "done" } else { word }) {
        reply.effects = ask(app, *action, rest, board, now, &mut reply.lines);
    } else {
        reply.lines = match find(word).map(|w| w.0) {
            Some("call") => vec![call(board)],
            Some("next") => next(board),
            Some("line") => tanks(board),
            Some("alarms") => alarms(board),
            Some("queue") => queue(board),
            Some(_) => help(),
            None => vec![format!("Not understood: {line}. help lists the words; nothing was said.")],
        };
    }
    reply.lines.extend(question(app, board));
    reply
}

/// A word, or so much of it that it can be no other.
fn find(word: &str) -> Option<&'static (&'static str, &'static str, Option<Action>)> {
    let word = word.to_lowercase();
    let word = if word == "?" { "help" } else { &word };
    let mut fits = WORDS.iter().filter(|w| w.0.starts_with(word) && !word.is_empty());
    match (fits.next(), fits.next()) {
        (Some(only), None) => Some(only),
        _ => WORDS.iter().find(|w| w.0 == word),
    }
}

fn ask(
    app: &mut App,
    action: Action,
    rest: &str,
    board: &Board,
    now: Time,
    lines: &mut Vec<String>,
) -> Vec<Effect> {
    if app.screen == Screen::Caution && !matches!(action, Action::Confirm | Action::Crew | Action::Quit) {
        lines.push("Enter first: I have read it.".to_owned());
        return Vec::new();
    }
    let ago = if action == Action::Late && !rest.is_empty() {
        let Some(ago) = duration(rest) else {
            lines.push(format!("How long ago? Not {rest}: 2m, 1:30 or 45 (seconds). Nothing was said."));
            return Vec::new();
        };
        Some(ago)
    } else {
        None
    };
    let mut effects = update(app, action, board, now);
    if let (Some(ago), Some(Dialog::Amount(amount))) = (ago, &mut app.dialog) {
        amount.say(ago);
        effects.extend(update(app, Action::Confirm, board, now));
    }
    effects
}

/// Answers what is open. `n` and `back` always close it.
fn answer(app: &mut App, line: &str, board: &Board, now: Time, lines: &mut Vec<String>) -> Vec<Effect> {
    if matches!(line, "n" | "no" | "back") {
        lines.push("Nothing was said.".to_owned());
        return update(app, Action::Back, board, now);
    }
    let action = match app.dialog.as_mut() {
        Some(Dialog::Ask(_)) if matches!(line, "y" | "yes") => Action::Confirm,
        Some(Dialog::Amount(amount)) => match duration(line) {
            _ if line.is_empty() => Action::Confirm,
            Some(ago) => {
                amount.say(ago);
                Action::Confirm
            }
            None => return Vec::new(),
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
fn question(app: &App, board: &Board) -> Vec<String> {
    match &app.dialog {
        Some(Dialog::Answer(lines, _)) => lines.clone(),
        None | Some(Dialog::Tank(_) | Dialog::Help(_) | Dialog::Page(_)) => Vec::new(),
        Some(Dialog::Ask(ask)) => vec![format!("{} {} Type y or n.", ask.title, ask.lines.join(" "))],
        Some(Dialog::Amount(amount)) => vec![ago_question(amount, board)],
        Some(Dialog::Field(field)) => {
            let wrong = field.wrong.as_ref().map_or_else(String::new, |w| format!("NO, {w}. "));
            vec![format!("{wrong}{}: {} Or n.", field.title, field.hint)]
        }
        Some(Dialog::List(list)) => {
            let mut lines = vec![format!("{} Type a number, words to narrow, or n.", list.title)];
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

fn call(board: &Board) -> String {
    board.call.as_ref().map_or_else(|| board.rest.clone(), |c| super::tell::whole(board, c))
}

fn next(board: &Board) -> Vec<String> {
    let moves = board.next.iter().map(|n| {
        let slack = n.slack.map_or_else(String::new, |s| format!(", may wait {s}"));
        format!("{} {} {} from {} to {}{slack}", n.at, n.verb.word(), n.carrier, n.from.words(), n.to.words())
    });
    or_nothing(moves.collect(), "No more moves are planned.")
}

fn tanks(board: &Board) -> Vec<String> {
    let rows = board.tanks.iter().flat_map(|t| {
        let held = t.held.iter().map(move |h| {
            let left = match h.bar.left() {
                Some(d) if d < Dur::ZERO => format!("over by {}", -d),
                Some(d) => format!("{d} left, then {}", h.harm_word),
                None => "no limit".to_owned(),
            };
            format!(
                "{} {}: {} {}, in {}, {left}",
                t.name,
                t.label,
                h.name,
                state_word(&h.marks, h.standing),
                h.bar.elapsed
            )
        });
        let word = t.readiness.word();
        let shut = (t.held.is_empty() && word != "free")
            .then(|| format!("{} {}: {word} {}", t.name, t.label, t.readiness.until()));
        held.chain(shut)
    });
    or_nothing(rows.collect(), "Nothing is on the line.")
}

fn alarms(board: &Board) -> Vec<String> {
    let mut lines: Vec<String> = board
        .alarms
        .iter()
        .map(|a| format!("{} {} {}: {}", a.state_word, a.level_word, a.harm.word(), a.text))
        .collect();
    lines.extend(board.breaches.iter().map(|b| format!("the plan cannot keep: {}", b.text)));
    or_nothing(lines, board.all_well())
}

fn queue(board: &Board) -> Vec<String> {
    let rows = board.queue.iter().map(|q| {
        let starts = q.release.as_deref().map_or_else(|| "not yet".to_owned(), |t| format!("starts {t}"));
        let due = q.due.as_ref().map_or_else(String::new, |d| format!(", due {d}"));
        let late = q.late.map_or_else(String::new, |d| format!(", LATE by {d}"));
        format!("{} {} {}: {starts}{due}{late}", q.carrier, q.order, q.label)
    });
    or_nothing(rows.collect(), "Nothing waits.")
}

fn help() -> Vec<String> {
    let mut lines = vec!["Type a word, or its first letters:".to_owned()];
    lines.extend(WORDS.iter().map(|(word, what, _)| format!("{word}: {what}")));
    lines
}

fn or_nothing(lines: Vec<String>, nothing: &str) -> Vec<String> {
    if lines.is_empty() { vec![nothing.to_owned()] } else { lines }
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
        assert!(find("s").is_none() && find("xyz").is_none() && find("").is_none());
    }
}
