//! The keys of each screen, without those that mean the same on all of them.

use super::{Binding, Key as K, key};
use crate::replay::MarkKind;
use crate::tui::action::Action;
use crate::tui::tape::Wish;

/// What the key for changes does where a row or a move can be chosen.
const WHAT_IF: &str =
    "change something about the shift: the chosen carrier or tank is offered first (supervisor)";

/// What the key for entries does; the chosen carrier or tank comes first.
const ENTER: &str = "enter what was counted, inspected, measured or signed, or a note";

/// What the key for process arithmetic does.
const RECKON: &str = "work out film, current, time, seal, rinse and more; begins with the chosen carrier";

const DEVIATION_ON: Wish = Wish::Next(Some(MarkKind::Deviation));
const DEVIATION_BACK: Wish = Wish::Previous(Some(MarkKind::Deviation));

/// A key of a replay.
const fn tape(
    keys: &'static [K],
    shown: &'static str,
    wish: Wish,
    brief: &'static str,
    help: &'static str,
) -> Binding {
    key(keys, shown, Action::Tape(wish), brief, help)
}

/// The live screen.
pub(super) const LIVE: &[Binding] = &[
    key(
        &[K::Char(' '), K::Enter],
        "Space, Enter",
        Action::Confirm,
        "done",
        "I have just done what the call says",
    ),
    key(&[K::Char('l')], "l", Action::Late, "late", "I did it a while ago: say how long"),
    key(&[K::Char('x')], "x", Action::Otherwise, "other", "I did something else than the call says"),
    key(&[K::Char('u')], "u", Action::Undo, "undo", "take back the last thing said; asks first"),
    key(
        &[K::Char('s')],
        "s",
        Action::Wrong,
        "state",
        "the state is wrong: say where a carrier or hoist really is",
    ),
    key(
        &[K::Char('a')],
        "a",
        Action::Acknowledge,
        "seen",
        "I have seen the alarm (the chosen one, else the first unseen)",
    ),
    key(&[K::Char('h')], "h", Action::Shelve, "", "set an alarm aside for ten minutes, with a reason"),
    key(
        &[K::Char('w')],
        "w",
        Action::Propose,
        "",
        "change something about the shift, with before and after (supervisor)",
    ),
    key(&[K::Char('e')], "e", Action::Enter, "enter", ENTER),
    key(&[K::Char('=')], "=", Action::Reckon, "", RECKON),
    key(&[K::Char('t')], "t", Action::Detail, "", "look into one tank"),
    key(&[K::Char('1')], "1", Action::Pane(0), "", "the line"),
    key(&[K::Char('2')], "2", Action::Pane(1), "", "alarms, and what the plan cannot keep"),
    key(&[K::Char('3')], "3", Action::Pane(2), "", "next calls and the queue"),
    key(&[K::Char('4')], "4", Action::Pane(3), "", "what happened"),
    key(&[K::Tab, K::Right], "Tab", Action::Next, "", "the next pane"),
    key(&[K::BackTab, K::Left], "Shift-Tab", Action::Previous, "", "the pane before"),
    key(&[K::Esc], "Esc", Action::Back, "", "forget the chosen row"),
];

/// The board.
pub(super) const BOARD: &[Binding] = &[
    key(&[K::Tab, K::Right], "Tab", Action::Next, "part", "the next part: carriers, tanks, queue"),
    key(&[K::BackTab, K::Left], "Shift-Tab", Action::Previous, "", "the part before"),
    key(&[K::Char('o')], "o", Action::Sort, "sort", "sort by slack, tank, order or finish"),
    key(&[K::Char('/')], "/", Action::Filter, "find", "show only rows with the words typed"),
    key(&[K::Esc], "Esc", Action::Back, "", "forget the chosen row; again: the words typed"),
    key(&[K::Char('w')], "w", Action::Propose, "change", WHAT_IF),
    key(&[K::Char('e')], "e", Action::Enter, "enter", ENTER),
    key(&[K::Char('=')], "=", Action::Reckon, "", RECKON),
    key(&[K::Char('t')], "t", Action::Detail, "tank", "look into the tank of the chosen row"),
];

/// The pictures over time.
pub(super) const TIMES: &[Binding] = &[
    key(&[K::Char('+'), K::Char('=')], "+", Action::Closer, "closer", "less time, more detail"),
    key(&[K::Char('-')], "-", Action::Wider, "wider", "more time, less detail"),
    key(&[K::Left, K::Char('h')], "Left, h", Action::Earlier, "earlier", "go back in time"),
    key(&[K::Right, K::Char('l')], "Right, l", Action::Later, "later", "go on in time"),
    key(&[K::Home, K::Char('n')], "n, Home", Action::ToNow, "now", "back to now"),
    key(&[K::Tab], "Tab", Action::Next, "move", "the next move: who, when, how long it may wait, why"),
    key(&[K::BackTab], "Shift-Tab", Action::Previous, "", "the move before"),
    key(
        &[K::Up, K::Char('k')],
        "Up, k",
        Action::Up,
        "",
        "the tank above; in the picture of the ways, the move before",
    ),
    key(
        &[K::Down, K::Char('j')],
        "Down, j",
        Action::Down,
        "",
        "the tank below; in the picture of the ways, the next move",
    ),
    key(&[K::PageUp, K::Char('b')], "PgUp, b", Action::PageUp, "", "eight tanks up"),
    key(&[K::PageDown, K::Char('f')], "PgDn, f", Action::PageDown, "", "eight tanks down"),
    key(&[K::Esc], "Esc", Action::Back, "", "forget the chosen move and tank"),
    key(&[K::Char('w')], "w", Action::Propose, "change", WHAT_IF),
    key(&[K::Char('e')], "e", Action::Enter, "", ENTER),
    key(&[K::Char('t')], "t", Action::Detail, "", "look into the chosen tank"),
];

/// Changes to the shift.
pub(super) const CHANGES: &[Binding] = &[
    key(
        &[K::Char('w'), K::Char('n')],
        "w, n",
        Action::Propose,
        "propose",
        "propose a change: what, whom, how much",
    ),
    key(
        &[K::Enter],
        "Enter",
        Action::Confirm,
        "commit",
        "commit what is proposed: all of it or nothing; asks why",
    ),
    key(
        &[K::Backspace, K::Char('d')],
        "d, Backspace",
        Action::Erase,
        "remove",
        "take the chosen proposal off the list",
    ),
    key(
        &[K::Char('t')],
        "t",
        Action::TakeBack,
        "take back",
        "propose to take back the chosen change that stands",
    ),
    key(
        &[K::Tab, K::Right],
        "Tab",
        Action::Next,
        "part",
        "the next part: proposed, before and after, what stands",
    ),
    key(&[K::BackTab, K::Left], "Shift-Tab", Action::Previous, "", "the part before"),
    key(&[K::End, K::Char('e')], "End, e", Action::Last, "", "to the last row"),
    key(
        &[K::Esc],
        "Esc",
        Action::Back,
        "drop",
        "drop what is proposed; asks first. With nothing proposed: back",
    ),
    key(&[K::Char('a')], "a", Action::Acknowledge, "", "I have seen the alarm that comes first"),
    key(&[K::Char('1')], "1", Action::Pane(0), "", "to the live screen; what is proposed is kept"),
];

/// Pages to read and sign.
pub(super) const PAGES: &[Binding] = &[
    key(&[K::Tab, K::Right], "Tab", Action::Next, "page", "the next page: start, handover, shift so far"),
    key(&[K::BackTab, K::Left], "Shift-Tab", Action::Previous, "", "the page before"),
    key(&[K::Up, K::Char('k')], "Up, k", Action::Up, "", "one row up"),
    key(&[K::Down, K::Char('j')], "Down, j", Action::Down, "scroll", "one row down"),
    key(&[K::PageUp, K::Char('b')], "PgUp, b", Action::PageUp, "", "eight rows up"),
    key(&[K::PageDown, K::Char('f')], "PgDn, f", Action::PageDown, "", "eight rows down"),
    key(
        &[K::Char('s')],
        "s",
        Action::Sign,
        "sign",
        "sign with initials: work this shift, hand over, take over",
    ),
    key(&[K::Esc], "Esc", Action::Back, "back", "back to the first screen"),
    key(&[K::Char('w')], "w", Action::Propose, "", WHAT_IF),
    key(&[K::Char('e')], "e", Action::Enter, "", ENTER),
    key(&[K::Char('=')], "=", Action::Reckon, "", RECKON),
];

/// Cards and words.
pub(super) const LESSONS: &[Binding] = &[
    key(&[K::Up, K::Char('k')], "Up, k", Action::Up, "", "the card or word before"),
    key(&[K::Down, K::Char('j')], "Down, j", Action::Down, "choose", "the next card or word"),
    key(
        &[K::PageDown, K::Char('f'), K::Char(' ')],
        "PgDn, f",
        Action::PageDown,
        "read on",
        "the text further down",
    ),
    key(&[K::PageUp, K::Char('b')], "PgUp, b", Action::PageUp, "", "the text further up"),
    key(&[K::Home, K::Char('g')], "Home, g", Action::First, "", "the first card"),
    key(&[K::End, K::Char('e')], "End, e", Action::Last, "", "the last word"),
    key(&[K::Esc, K::Char('9')], "Esc, 9", Action::Back, "back", "back to the screen before"),
    key(&[K::Char('w')], "w", Action::Propose, "", WHAT_IF),
    key(&[K::Char('=')], "=", Action::Reckon, "", RECKON),
];

/// Pages about the shift.
pub(super) const READING: &[Binding] = &[
    key(&[K::Up, K::Char('k')], "Up, k", Action::Up, "", "a line up"),
    key(&[K::Down, K::Char('j')], "Down, j", Action::Down, "", "a line down"),
    key(&[K::PageDown, K::Char('f'), K::Char(' ')], "PgDn, f", Action::PageDown, "read on", "ten lines down"),
    key(&[K::PageUp, K::Char('b')], "PgUp, b", Action::PageUp, "", "ten lines up"),
    key(&[K::Home, K::Char('g')], "Home, g", Action::First, "", "to the top"),
    key(&[K::End, K::Char('e')], "End, e", Action::Last, "", "to the end"),
    key(&[K::Tab, K::Right], "Tab", Action::Next, "page", "the next page"),
    key(&[K::BackTab, K::Left], "Shift-Tab", Action::Previous, "", "the page before"),
    key(&[K::Esc, K::Char('0')], "Esc, 0", Action::Back, "back", "back to the screen before"),
    key(&[K::Char('w')], "w", Action::Propose, "", WHAT_IF),
];

/// A recording, on top of the screen it is shown on.
pub(super) const REPLAY: &[Binding] = &[
    tape(&[K::Char(' '), K::Enter], "Space", Wish::Toggle, "play", "play, stop"),
    tape(&[K::Char('.')], ".", Wish::On, "on", "one event on"),
    tape(&[K::Char(',')], ",", Wish::Back, "", "one event back"),
    tape(&[K::Char('>')], ">", Wish::Faster, "faster", "play faster, up to 600 times"),
    tape(&[K::Char('<')], "<", Wish::Slower, "", "play slower"),
    tape(&[K::Char('d')], "d", Wish::Ask, "time", "go to a time of day"),
    tape(&[K::Char('u')], "u", DEVIATION_ON, "unfollowed", "to the next call that was not followed"),
    tape(&[K::Char('U')], "U", DEVIATION_BACK, "", "to the call before that was not followed"),
    tape(&[K::Char('y')], "y", Wish::Why, "why", "why this call, what was done instead, and what it cost"),
    tape(
        &[K::Char('T')],
        "T",
        Wish::AskHow,
        "take over",
        "take the shift over here, as a practice in a journal of its own",
    ),
    key(&[K::Char('?'), K::F1], "?", Action::Help, "keys", "this page"),
    tape(&[K::Char('w')], "w", Wish::Next(Some(MarkKind::Alarm)), "warning", "to the next alarm"),
    tape(&[K::Char('W')], "W", Wish::Previous(Some(MarkKind::Alarm)), "", "to the alarm before"),
    tape(&[K::Char('x')], "x", Wish::Next(Some(MarkKind::Breach)), "broken", "to the next window that broke"),
    tape(&[K::Char('X')], "X", Wish::Previous(Some(MarkKind::Breach)), "", "to the window that broke before"),
    tape(&[K::Char('m')], "m", Wish::Next(None), "mark", "to the next mark of any kind"),
    tape(&[K::Char('M')], "M", Wish::Previous(None), "", "to the mark before, of any kind"),
    tape(
        &[K::Char('c')],
        "c",
        Wish::Compare,
        "",
        "what happened beside the practice that was taken over last",
    ),
    tape(
        &[K::Char('n')],
        "n",
        Wish::Learn,
        "what next?",
        "what next? On to a moment worth a question, the call hidden",
    ),
    tape(&[K::Char('N')], "N", Wish::Unlearn, "", "ask no more"),
];
