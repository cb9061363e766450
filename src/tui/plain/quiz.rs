//! "What next?" in lines: the moves to choose from are told with their numbers, a number chooses, and any word that tells
//! looks around.

use std::time::Duration;

use super::heard::{Means, find, hear, words_that};
use super::write;
use crate::civil::Opening;
use crate::line::Line;
use crate::train::Question;
use crate::tui::action::Action;
use crate::tui::choosing::Choosing;
use crate::tui::dialog::Dialog;
use crate::tui::quiz::{Answers, Asked, Turn};
use crate::tui::run::{Ears, Exit, TuiError, Wake, next};
use crate::tui::tape::Wish;

/// What is asked, and how to answer it.
pub(super) fn question(choosing: &Choosing) -> Vec<String> {
    let mut lines = vec![format!("WHAT NEXT? {}.", choosing.about)];
    lines.extend(choosing.rows.iter().enumerate().map(|(n, row)| format!("{} {}", n + 1, row.words())));
    lines.push(
        "Type a number. pass passes over, enough ends the questions; line, alarms and the like tell."
            .to_owned(),
    );
    lines
}

/// What a typed line answers; `None` if it is something else.
pub(super) fn answer(choosing: &Choosing, line: &str) -> Option<Action> {
    match line.trim().to_lowercase().as_str() {
        "pass" | "n" => Some(Action::Tape(Wish::Learn)),
        "enough" => Some(Action::Back),
        number => {
            let number = number.parse().ok().filter(|n| (1..=choosing.rows.len()).contains(n))?;
            char::from_digit(number as u32, 10).map(Action::Type)
        }
    }
}

/// A page with its heading.
pub(super) fn page(title: &str, lines: &[(String, bool)]) -> Vec<String> {
    let text = lines.iter().map(|(line, _)| line.clone()).filter(|line| !line.is_empty());
    std::iter::once(title.to_owned()).chain(text).collect()
}

/// Asks the questions one after the other, until the person leaves or the input ends.
pub fn ask(
    ears: &Ears,
    line: &Line,
    opening: &Opening,
    questions: &[Question],
) -> Result<(Exit, Answers), TuiError> {
    let mut answers = Answers::new();
    for (n, posed) in questions.iter().enumerate() {
        let mut asked = Asked::new(line, opening, posed, (n + 1, questions.len()));
        let mut say = asked.app.choosing.as_ref().map(question).unwrap_or_default();
        while asked.turn == Turn::Stays {
            if !write(&say, &[]).map_err(TuiError::Lost)? {
                return Ok((Exit::Quit, answers));
            }
            say = match next(&ears.wakes, Duration::from_secs(60)) {
                Some(Wake::Line(typed)) => told(&mut asked, &typed),
                Some(Wake::Signal(signal)) => return Ok((Exit::Signal(signal), answers)),
                Some(Wake::InputLost(_)) => return Ok((Exit::Quit, answers)),
                None | Some(Wake::Input(_)) => Vec::new(),
            };
        }
        if !write(&say, &[]).map_err(TuiError::Lost)? {
            return Ok((Exit::Quit, answers));
        }
        if asked.turn == Turn::Leave {
            answers.extend(asked.answer.map(Some));
            break;
        }
        answers.push(asked.answer);
    }
    Ok((Exit::Quit, answers))
}

/// What comes back of a line.
fn told(asked: &mut Asked, typed: &str) -> Vec<String> {
    let Some(choosing) = &asked.app.choosing else { return Vec::new() };
    if let Some(action) = answer(choosing, typed) {
        asked.act(action);
        let Some(Dialog::Page(verdict)) = asked.app.dialog.take() else { return Vec::new() };
        // What is read out is read.
        asked.turn = Turn::Next;
        return page(verdict.title, &verdict.lines);
    }
    match find(typed.split_whitespace().next().unwrap_or("")).map(|w| (w.0, w.2)) {
        Some(("help", _)) => help(),
        Some((_, Means::Tells(_))) => {
            let (board, at) = (asked.board().clone(), asked.at());
            hear(&mut asked.app, typed, &board, at).lines
        }
        Some((_, Means::Key(Action::Quit))) => {
            asked.turn = Turn::Leave;
            Vec::new()
        }
        _ => question(choosing),
    }
}

/// The words that mean something while it is asked.
fn help() -> Vec<String> {
    let mut lines = vec![
        "Type the number of a move, or a word or its first letters:".to_owned(),
        "pass: the next question".to_owned(),
        "enough: no more questions; quit says the same".to_owned(),
    ];
    lines.extend(words_that(|means| matches!(means, Means::Tells(_))));
    lines
}
