//! Keys that mean the same on every screen that does not want them for itself.

use super::{Binding, Key as K, key};
use crate::tui::action::Action;

/// Rows, where there are some.
pub(super) const ROWS: &[Binding] = &[
    key(&[K::Up, K::Char('k')], "Up, k", Action::Up, "", "one row up"),
    key(&[K::Down, K::Char('j')], "Down, j", Action::Down, "", "one row down"),
    key(&[K::PageUp, K::Char('b')], "PgUp, b", Action::PageUp, "", "a page up"),
    key(&[K::PageDown, K::Char('f')], "PgDn, f", Action::PageDown, "", "a page down"),
    key(&[K::Home, K::Char('g')], "Home, g", Action::First, "", "to the first row"),
    key(&[K::End], "End", Action::Last, "", "to the last row"),
];

/// Where somebody might believe that a move can be confirmed.
pub(super) const NOTHING: &[Binding] = &[key(
    &[K::Char(' '), K::Enter],
    "Space, Enter",
    Action::Confirm,
    "",
    "nothing; what was done is said on the live screen",
)];

/// The way to every screen, and what is always there. What tells of all other keys comes first, so that a narrow key line
/// has room for it.
pub(super) const EVERYWHERE: &[Binding] = &[
    key(&[K::Char('?'), K::F1], "?", Action::Help, "keys", "this page"),
    key(&[K::Char('a')], "a", Action::Acknowledge, "seen", "I have seen the alarm that comes first"),
    key(&[K::Char('1')], "1", Action::Pane(0), "call", "to the live screen"),
    key(&[K::Char('2')], "2", Action::Pane(1), "", "to the alarms"),
    key(&[K::Char('3')], "3", Action::Pane(2), "", "to the next calls"),
    key(&[K::Char('4')], "4", Action::Pane(3), "", "to what happened"),
    key(&[K::Char('5')], "5", Action::Pane(4), "", "the board: every carrier, tank, order, crane and power"),
    key(&[K::Char('6')], "6", Action::Pane(5), "", "the ways of hoists and carriers over time"),
    key(&[K::Char('7')], "7", Action::Pane(6), "", "what is in each tank over time"),
    key(&[K::Char('8')], "8", Action::Pane(7), "", "pages: start, handover, the shift so far"),
    key(
        &[K::Char('9')],
        "9",
        Action::Lessons,
        "",
        "baths and words: what each does, why its window is there",
    ),
    key(&[K::Char('0')], "0", Action::Debrief, "", "the debrief so far: calls followed, windows broken"),
    key(&[K::Ctrl('l'), K::Char('r')], "r, Ctrl-L", Action::Repaint, "", "paint the screen anew"),
    key(&[K::Char('q'), K::Ctrl('c')], "q, Ctrl-C", Action::Quit, "quit", "leave; asks first"),
];
