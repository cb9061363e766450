//! The keys of whatever lies on top of a screen, and of the cautions.

use super::{Binding, Key as K, key};
use crate::tui::action::Action;
use crate::tui::tape::Wish;

/// Typing what rows must hold.
pub(super) const TYPING: &[Binding] = &[
    key(&[K::Backspace], "Backspace", Action::Erase, "", "take back a letter"),
    key(&[K::Enter], "Enter", Action::Confirm, "keep these rows", "keep these rows"),
    key(&[K::Esc, K::Ctrl('c')], "Esc", Action::Back, "all rows", "all rows again"),
];

/// A question.
pub(super) const ASK: &[Binding] = &[
    key(&[K::Char('y')], "y", Action::Confirm, "yes", "yes"),
    key(
        &[K::Enter],
        "Enter",
        Action::Next,
        "",
        "yes, but to nothing that asks about a move: there it is the key that led to the question",
    ),
    key(&[K::Char('n'), K::Esc, K::Char('q')], "n, Esc", Action::Back, "no", "no, back"),
];

/// How long ago.
pub(super) const AMOUNT: &[Binding] = &[
    key(&[K::Up, K::Char('+'), K::Char('k')], "Up, +", Action::Up, "longer ago", "ten seconds longer ago"),
    key(&[K::Down, K::Char('-'), K::Char('j')], "Down, -", Action::Down, "shorter", "ten seconds less"),
    key(&[K::Backspace], "Backspace", Action::Erase, "", "take back a digit"),
    key(&[K::Tab, K::Char('t')], "Tab, t", Action::Next, "other subject", "mean the last thing said instead"),
    key(&[K::Enter], "Enter", Action::Confirm, "say it", "say it"),
    key(&[K::Esc, K::Char('n'), K::Char('q')], "n, Esc", Action::Back, "back", "say nothing, back"),
];

/// A list with a filter.
pub(super) const LIST: &[Binding] = &[
    key(&[K::Up, K::BackTab], "Up", Action::Up, "", "one row up"),
    key(&[K::Down, K::Tab], "Down, Tab", Action::Down, "choose", "one row down"),
    key(&[K::PageUp], "PgUp", Action::PageUp, "", "a page up"),
    key(&[K::PageDown], "PgDn", Action::PageDown, "", "a page down"),
    key(&[K::Home], "Home", Action::First, "", "to the first row"),
    key(&[K::End], "End", Action::Last, "", "to the last row"),
    key(&[K::Backspace], "Backspace", Action::Erase, "", "take back a letter of the filter"),
    key(&[K::Ctrl('u')], "Ctrl-U", Action::EraseAll, "", "take back all of it"),
    key(&[K::Enter], "Enter", Action::Confirm, "take it", "take the chosen row"),
    key(
        &[K::Esc, K::Ctrl('c')],
        "Esc",
        Action::Back,
        "back",
        "take nothing; back to the list before, if there was one",
    ),
];

/// Moves to choose from.
pub(super) const CHOOSE: &[Binding] = &[
    key(&[K::Char('1')], "1, 2, ...", Action::Type('1'), "choose", "this is the move I would make"),
    key(&[K::Up, K::Char('k')], "Up, k", Action::Up, "", "the move above"),
    key(&[K::Down, K::Char('j')], "Down, j", Action::Down, "", "the move below"),
    key(&[K::Enter], "Enter", Action::Confirm, "", "the marked move"),
    key(&[K::Tab, K::Right], "Tab", Action::Next, "look around", "the next pane"),
    key(&[K::BackTab, K::Left], "Shift-Tab", Action::Previous, "", "the pane before"),
    key(&[K::PageUp, K::Char('b')], "PgUp, b", Action::PageUp, "", "further up in the pane"),
    key(&[K::PageDown, K::Char('f')], "PgDn, f", Action::PageDown, "", "further down in the pane"),
    key(&[K::Char('t')], "t", Action::Detail, "tank", "look into one tank"),
    key(&[K::Char('n')], "n", Action::Tape(Wish::Learn), "pass over", "pass this one over"),
    key(&[K::Esc, K::Char('N')], "Esc, N", Action::Back, "no more", "ask no more"),
    key(&[K::Char('?'), K::F1], "?", Action::Help, "keys", "this page"),
    key(&[K::Char('q'), K::Ctrl('c')], "q, Ctrl-C", Action::Quit, "quit", "leave; asks first"),
];

/// What the chosen move would have cost.
pub(super) const VERDICT: &[Binding] = &[
    key(
        &[K::Enter, K::Char('n'), K::Char(' ')],
        "Enter, n",
        Action::Confirm,
        "the next one",
        "on to the next moment",
    ),
    key(&[K::Char('N')], "N", Action::Tape(Wish::Unlearn), "no more", "ask no more"),
    key(&[K::Up, K::Char('k')], "Up, k", Action::Up, "", "one line up"),
    key(&[K::Down, K::Char('j')], "Down, j", Action::Down, "scroll", "one line down"),
    key(&[K::PageUp, K::Char('b')], "PgUp, b", Action::PageUp, "", "a page up"),
    key(&[K::PageDown, K::Char('f')], "PgDn, f", Action::PageDown, "", "a page down"),
    key(
        &[K::Esc, K::Char('q'), K::Ctrl('c')],
        "Esc, q",
        Action::Back,
        "stay here",
        "close this; the recording stays here (a quiz goes on)",
    ),
];

/// A line that is typed.
pub(super) const FIELD: &[Binding] = &[
    key(&[K::Backspace], "Backspace", Action::Erase, "erase", "take back a letter"),
    key(&[K::Ctrl('u')], "Ctrl-U", Action::EraseAll, "all", "take back all of it"),
    key(&[K::Enter], "Enter", Action::Confirm, "go on", "go on with what was typed"),
    key(&[K::Esc, K::Ctrl('c')], "Esc", Action::Back, "back", "back without it"),
];

/// Figures that were worked out, before what holds for all there is to read.
pub(super) const WORKED: &[Binding] = &[
    key(&[K::Enter], "Enter", Action::Confirm, "another", "change what was typed and work it out again"),
    key(&[K::Esc, K::Char('q'), K::Char('?'), K::Ctrl('c')], "Esc, q", Action::Back, "back", "back"),
];

/// Something to read.
pub(super) const PAGE: &[Binding] = &[
    key(&[K::Char('9')], "9", Action::Lessons, "", "on a tank: what its bath does and why"),
    key(&[K::Up, K::Char('k')], "Up, k", Action::Up, "", "one line up"),
    key(&[K::Down, K::Char('j')], "Down, j", Action::Down, "scroll", "one line down"),
    key(&[K::PageUp, K::Char('b')], "PgUp, b", Action::PageUp, "", "a page up"),
    key(&[K::PageDown, K::Char('f'), K::Char(' ')], "PgDn, f", Action::PageDown, "", "a page down"),
    key(
        &[K::Esc, K::Char('q'), K::Char('?'), K::Enter, K::Ctrl('c')],
        "Esc, q",
        Action::Back,
        "back",
        "back",
    ),
];

/// The cautions at the start.
pub(super) const CAUTION: &[Binding] = &[
    key(&[K::Enter], "Enter", Action::Confirm, "go on", "on to the line"),
    key(
        &[K::Char('w')],
        "w",
        Action::Crew,
        "watch a simulated crew",
        "watch a simulated crew (practice only)",
    ),
    key(&[K::Char('?'), K::F1], "?", Action::Help, "keys", "all keys"),
    key(&[K::Char('q'), K::Ctrl('c')], "q, Ctrl-C", Action::Quit, "quit", "leave; asks first"),
];
