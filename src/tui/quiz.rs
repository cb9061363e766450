//! "What next?": the line as it stood, the call hidden, a few moves to choose from; then what each would have cost.

use std::sync::Arc;
use std::time::Duration;

use super::action::Action;
use super::app::{App, Post};
use super::debounce::Debounce;
use super::dialog::{Ask, Consequence, Dialog, Item, List, Means};
use super::run::{Ears, Exit, Options, TuiError, Wake, actions, next};
use super::screens::{Look, paint};
use super::terminal::Screen;
use crate::civil::Opening;
use crate::line::Line;
use crate::shift::History;
use crate::train::Question;
use crate::verify::verify;
use crate::view::{Board, Said, choice_words, price_words};

/// What the trainee chose: a choice for each question, `None` where it was passed over.
pub type Answers = Vec<Option<usize>>;

/// Asks the questions one after the other, on the screen.
pub fn ask(
    Ears(wakes): &Ears,
    line: &Line,
    opening: &Opening,
    questions: &[Question],
    options: &Options,
) -> Result<(Exit, Answers), TuiError> {
    let look = Look::new(options.color, options.glyphs).on(options.ground);
    let mut screen = Screen::enter(options.synchronised).map_err(TuiError::Terminal)?;
    let mut debounce = Debounce::default();
    let mut answers = Answers::new();
    for (n, question) in questions.iter().enumerate() {
        let mut asked = Posed::new(line, opening, question, (n + 1, questions.len()));
        loop {
            if !screen.is_ours() {
                return Err(TuiError::Failed);
            }
            let Posed { app, board, .. } = &asked;
            screen.draw(|buf, area| paint(buf, area, board, app, &look)).map_err(TuiError::Lost)?;
            let Some(wake) = next(wakes, Duration::from_secs(60)) else { continue };
            let pressed = match wake {
                Wake::InputLost(error) => return Err(TuiError::Lost(error)),
                Wake::Signal(signal) => return Ok((Exit::Signal(signal), answers)),
                Wake::Line(_) => Vec::new(),
                Wake::Input(input) => actions(&input, &asked.app, &mut debounce),
            };
            let mut over = false;
            for action in pressed {
                match asked.act(action) {
                    Turn::Stays => {}
                    Turn::Leave => {
                        answers.extend(asked.answer.map(Some));
                        return Ok((Exit::Quit, answers));
                    }
                    Turn::Next => over = true,
                }
            }
            if over {
                answers.push(asked.answer);
                break;
            }
        }
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

/// A question on the screen.
pub struct Posed<'q> {
    line: &'q Line,
    question: &'q Question,
    /// The screens as they are.
    pub app: App,
    /// What is to be seen: without the call until it was answered.
    pub board: Board,
    told: Board,
    /// What was chosen.
    pub answer: Option<usize>,
}

impl<'q> Posed<'q> {
    /// The `n`-th of so many.
    pub fn new(line: &'q Line, opening: &Opening, question: &'q Question, (n, of): (usize, usize)) -> Self {
        let state = &question.state;
        let history = History::from_now_on(state.clone());
        let board = |calls: &[crate::plan::Call]| {
            let plan = state.plan.clone().unwrap_or_default();
            let breaches = verify(line, state, &crate::plan::remaining(state, &plan));
            Board::build(line, state, &history, calls, &breaches, opening, question.at)
        };
        let told = board(std::slice::from_ref(&question.call));
        let mut hidden = board(&[]);
        hidden.breaches.clear();
        "What next? The call is hidden; choose below.".clone_into(&mut hidden.rest);
        hidden.rest_head = ["WHAT".to_owned(), "NEXT?".to_owned()];
        let mut app = App::new(Arc::new(state.line(line).clone()), Post::Operator, true, false);
        app.learn(state.line(line), &state.book);
        let items = question.shown().into_iter().enumerate().map(|(row, k)| {
            let mv = &question.choices[k].first;
            let said = Said::Lift { carrier: mv.carrier, hoist: mv.hoist, from: mv.from };
            Item { text: format!("{}  {}", row + 1, choice_words(line, state, mv)), means: Means::Said(said) }
        });
        let title = format!("What next? {n} of {of}, {}. A digit or Enter; q ends", question.grade.word());
        app.dialog = Some(Dialog::List(List::of(title, items.collect())));
        Self { line, question, app, board: hidden, told, answer: None }
    }

    /// What a key makes of it.
    pub fn act(&mut self, action: Action) -> Turn {
        if action == Action::Quit {
            return Turn::Leave;
        }
        let Some(Dialog::List(list)) = &mut self.app.dialog else {
            return if matches!(action, Action::Confirm | Action::Back) { Turn::Next } else { Turn::Stays };
        };
        let shown = self.question.shown();
        let row = match action {
            Action::Confirm => Some(list.cursor),
            Action::Type('q') => return Turn::Leave,
            Action::Type(c) => c.to_digit(10).and_then(|d| (d as usize).checked_sub(1)),
            Action::Back => return Turn::Next,
            Action::Erase => None,
            action => {
                list.edit(action);
                None
            }
        };
        if let Some(choice) = row.and_then(|row| shown.get(row)) {
            self.answer = Some(*choice);
            self.app.dialog = Some(self.verdict(*choice));
            self.board = self.told.clone();
        }
        Turn::Stays
    }

    fn verdict(&self, choice: usize) -> Dialog {
        let Question { state, choices, .. } = self.question;
        let title = match (choice, self.question.is_right(choice)) {
            (0, _) => "Right: that is the call",
            (_, true) => "As good as the call",
            _ if self.question.is_harmful(choice) => "That would have broken a window",
            _ => "There is a better move",
        };
        let mut lines = Vec::new();
        if choice != 0 {
            lines.push(format!("You: {}.", choice_words(self.line, state, &choices[choice].first)));
            lines.push(format!("{}.", price_words(self.line, state, &choices[choice])));
        }
        lines.push(format!("The call: {}.", choice_words(self.line, state, &choices[0].first)));
        lines.extend(self.told.call.as_ref().map(|c| c.reason.clone()).filter(|r| !r.is_empty()));
        for other in (1..choices.len()).filter(|k| *k != choice) {
            lines.push(format!("{}.", price_words(self.line, state, &choices[other])));
        }
        Dialog::Ask(Ask { title: title.to_owned(), lines, yes: Consequence::Quit })
    }
}
