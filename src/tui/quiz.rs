//! "What next?": the line as it stood, the call hidden, a few moves to choose from; then what the chosen one would have cost.

use std::cmp::Ordering;
use std::sync::Arc;
use std::time::Duration;

use super::action::Action;
use super::app::{App, Effect, Post, update};
use super::choosing::Choosing;
use super::debounce::Debounce;
use super::dialog::{Dialog, Page, PageOf};
use super::plain;
use super::run::{Ears, Exit, Options, TuiError, Wake, actions, next};
use super::screens::{Look, paint};
use super::tape::Wish;
use super::terminal::Screen;
use crate::civil::Opening;
use crate::line::Line;
use crate::plan::{calls, remaining};
use crate::shift::{History, State};
use crate::train::Question;
use crate::units::Time;
use crate::verify::verify;
use crate::view::{Board, ChoiceRow, choice_words, price_words};

/// What the trainee chose: a choice for each question, `None` where it was passed over.
pub type Answers = Vec<Option<usize>>;

/// Asks the questions one after the other.
pub fn ask(
    ears: &Ears,
    line: &Line,
    opening: &Opening,
    questions: &[Question],
    options: &Options,
) -> Result<(Exit, Answers), TuiError> {
    if ears.are_lines() {
        return plain::ask(ears, line, opening, questions);
    }
    let look = Look::new(options.color, options.glyphs).on(options.ground);
    let mut screen = Screen::enter(options.synchronised, options.mouse).map_err(TuiError::Terminal)?;
    let mut debounce = Debounce::default();
    let mut answers = Answers::new();
    for (n, question) in questions.iter().enumerate() {
        let mut asked = Asked::new(line, opening, question, (n + 1, questions.len()));
        while asked.turn == Turn::Stays {
            if !screen.is_ours() {
                return Err(TuiError::Failed);
            }
            let board = asked.board();
            screen.draw(|buf, area| paint(buf, area, board, &asked.app, &look)).map_err(TuiError::Lost)?;
            let Some(wake) = next(&ears.wakes, Duration::from_secs(60)) else { continue };
            let pressed = match wake {
                Wake::InputLost(error) => return Err(TuiError::Lost(error)),
                Wake::Signal(signal) => return Ok((Exit::Signal(signal), answers)),
                Wake::Line(_) => Vec::new(),
                Wake::Input(input) => actions(&input, &asked.app, &mut debounce),
            };
            for action in pressed {
                asked.act(action);
            }
        }
        if asked.turn == Turn::Leave {
            answers.extend(asked.answer.map(Some));
            return Ok((Exit::Quit, answers));
        }
        answers.push(asked.answer);
    }
    Ok((Exit::Quit, answers))
}

/// Where a question goes after a key.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Turn {
    /// It stays.
    Stays,
    /// The next one.
    Next,
    /// No more.
    Leave,
}

/// A question on a screen of its own.
pub struct Asked<'q> {
    line: &'q Line,
    question: &'q Question,
    hidden: Board,
    told: Board,
    /// The screens as they are.
    pub app: App,
    /// What was chosen.
    pub answer: Option<usize>,
    /// Where it goes.
    pub turn: Turn,
}

impl<'q> Asked<'q> {
    /// The `n`-th of so many.
    pub fn new(line: &'q Line, opening: &Opening, question: &'q Question, (n, of): (usize, usize)) -> Self {
        let state = &question.state;
        let history = History::from_now_on(state.clone());
        let mut app = App::new(Arc::new(state.line(line).clone()), Post::Operator, true, false);
        app.learn(state.line(line), &state.book);
        app.choosing =
            Some(choosing(line, question, format!("question {n} of {of}, {}", question.grade.about())));
        let (hidden, told) = boards(line, question, &history, opening);
        Self { line, question, hidden, told, app, answer: None, turn: Turn::Stays }
    }

    /// What is to be seen: without the call until it was answered.
    pub fn board(&self) -> &Board {
        if self.answer.is_none() { &self.hidden } else { &self.told }
    }

    /// When it is asked.
    pub(super) fn at(&self) -> Time {
        self.question.at
    }

    /// What a key makes of it.
    pub fn act(&mut self, action: Action) {
        let (board, now) = (self.board().clone(), self.question.at);
        for effect in update(&mut self.app, action, &board, now) {
            match effect {
                Effect::Tape(Wish::Answer(row)) => self.choose(row),
                Effect::Tape(Wish::Learn) => self.turn = Turn::Next,
                Effect::Tape(Wish::Unlearn) | Effect::Quit => self.turn = Turn::Leave,
                Effect::Repaint | Effect::Suspend => {}
                _ => self.app.refuse("These are only questions: nothing is said here.", now),
            }
        }
        // A verdict that was closed was read.
        if self.answer.is_some() && self.app.dialog.is_none() && self.turn == Turn::Stays {
            self.turn = Turn::Next;
        }
    }

    fn choose(&mut self, row: usize) {
        let Some(choice) = self.question.shown().get(row).copied() else { return };
        self.answer = Some(choice);
        self.app.choosing = None;
        let lines = verdict(self.line, self.question, choice, &self.told);
        self.app.dialog = Some(verdict_page(self.question, choice, lines));
    }
}

/// The moves of a question, for the place of the call.
pub(super) fn choosing(line: &Line, question: &Question, about: String) -> Choosing {
    let row = |k: usize| ChoiceRow::of(line, &question.state, &question.choices[k], question.at);
    Choosing { about, rows: question.shown().into_iter().map(row).collect(), cursor: 0 }
}

/// What is to be seen while it is asked, and afterwards.
pub(super) fn boards(
    line: &Line,
    question: &Question,
    history: &History,
    opening: &Opening,
) -> (Board, Board) {
    let state = &question.state;
    let plan = state.plan.as_ref().map(|p| remaining(state, p)).unwrap_or_default();
    let breaches = verify(line, state, &plan);
    let calls = calls(line, state, &question.choices[0].schedule, question.at, usize::MAX);
    let told = Board::build(line, state, history, &calls, &breaches, opening, question.at);
    // When the plan lifts and starts what would give the call away.
    let unplanned = State { plan: None, ..state.clone() };
    let mut hidden = Board::build(line, &unplanned, history, &[], &[], opening, question.at);
    "The call is hidden.".clone_into(&mut hidden.rest);
    hidden.rest_head = ["WHAT".to_owned(), "NEXT?".to_owned()];
    hidden.hide_advice();
    (hidden, told)
}

/// What another choice would have cost; nothing, where it weighs no more than the call.
fn other_words(line: &Line, question: &Question, k: usize) -> String {
    let choice = &question.choices[k];
    let name = &question.state.book.carriers[choice.first.carrier].name;
    match question.weighs(k) {
        Some(Ordering::Equal) => format!("{name} first would do as well"),
        Some(Ordering::Less) => format!("{name} first would do as well, or better"),
        _ => price_words(line, &question.state, choice),
    }
}

/// What is said to an answer: a heading, and lines.
pub(super) fn verdict_page(question: &Question, choice: usize, lines: Vec<(String, bool)>) -> Dialog {
    let title = match (choice, question.is_right(choice)) {
        (0, _) => "Right: that is the call",
        (_, true) => "As good as the call, or better",
        _ if question.is_harmful(choice) => "That would have broken a window",
        _ => "There is a better move",
    };
    Dialog::Page(Page::new(PageOf::Verdict, title, Arc::new(lines)))
}

/// The best move and its reason, what the chosen one would have cost, and what the others would have.
pub(super) fn verdict(line: &Line, question: &Question, choice: usize, told: &Board) -> Vec<(String, bool)> {
    let Question { state, choices, .. } = question;
    let plain = |text: String| (text, false);
    let mut lines = Vec::new();
    if choice != 0 {
        lines.push((format!("You: {}", choice_words(line, state, &choices[choice], question.at)), true));
        if question.weighs(choice) == Some(Ordering::Less) {
            lines.push(plain("  as good as the call found, or better:".to_owned()));
        }
        let cost = question.costs.get(choice);
        lines.extend(cost.iter().flat_map(|c| c.words()).map(|w| plain(format!("  {w}"))));
    }
    let beaten = (1..choices.len()).find(|k| question.weighs(*k) == Some(Ordering::Less));
    if let Some(better) = beaten.filter(|k| *k != choice) {
        let words = choice_words(line, state, &choices[better], question.at);
        lines.push((format!("As good as the call, or better: {words}"), true));
        let cost = question.costs.get(better);
        lines.extend(cost.iter().flat_map(|c| c.words()).map(|w| plain(format!("  {w}"))));
    }
    let as_good = choice != 0 && question.is_right(choice);
    let head = if beaten.is_some() || as_good { "The call" } else { "Best" };
    lines.push((format!("{head}: {}", choice_words(line, state, &choices[0], question.at)), true));
    let reason = told.call.as_ref().map(|c| c.reason.clone()).filter(|r| !r.is_empty());
    lines.extend(reason.map(|r| plain(format!("  {r}"))));
    let others: Vec<usize> = (1..choices.len()).filter(|k| *k != choice && Some(*k) != beaten).collect();
    if !others.is_empty() {
        lines.push(("The others".to_owned(), true));
    }
    lines.extend(others.into_iter().map(|k| plain(format!("  {}", other_words(line, question, k)))));
    lines
}
