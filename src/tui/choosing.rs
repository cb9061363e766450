//! A few moves to choose from, in the place of the call. Pure.

use super::action::Action;
use super::app::{App, Effect, update_below};
use super::tape::Wish;
use crate::units::Time;
use crate::view::{Board, ChoiceRow};

/// What is asked, and the moves.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Choosing {
    /// What kind of moment it is, and how far the trainee has come.
    pub about: String,
    /// The moves, as they are numbered from 1.
    pub rows: Vec<ChoiceRow>,
    /// The row that Enter takes.
    pub cursor: usize,
}

/// What a key makes of it: a digit or Enter chooses, looking around is free.
pub fn act(app: &mut App, action: Action, board: &Board, now: Time) -> Vec<Effect> {
    let Some(choosing) = &mut app.choosing else { return Vec::new() };
    let last = choosing.rows.len().saturating_sub(1);
    let row = match action {
        Action::Up => {
            choosing.cursor = choosing.cursor.saturating_sub(1);
            return Vec::new();
        }
        Action::Down => {
            choosing.cursor = (choosing.cursor + 1).min(last);
            return Vec::new();
        }
        Action::Back => return vec![Effect::Tape(Wish::Unlearn)],
        Action::Confirm => choosing.cursor,
        Action::Type(c) => match c.to_digit(10).and_then(|d| (d as usize).checked_sub(1)) {
            Some(row) if row <= last => row,
            _ => {
                let text =
                    format!("Choose a move: 1 to {}. n passes over, Esc ends the questions.", last + 1);
                app.refuse(text, now);
                return Vec::new();
            }
        },
        action => return update_below(app, action, board, now),
    };
    app.message = None;
    vec![Effect::Tape(Wish::Answer(row))]
}
