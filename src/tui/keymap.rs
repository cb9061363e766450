//! Which key does what, as data. The help and the key line are printed from the same table.
//!
//! Letters and digits always work. Esc, `[`, `O` and capital A to D confirm nothing anywhere: a split escape sequence
//! arrives as exactly those.

use crossterm::event::{KeyCode, KeyEvent, KeyModifiers};

use super::action::Action;
use super::tape::Wish;
use crate::replay::MarkKind;

/// A key, as far as this program cares.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Key {
    /// A character.
    Char(char),
    /// Ctrl and a letter.
    Ctrl(char),
    /// Enter, also from the number pad and as a bare line feed.
    Enter,
    /// Escape.
    Esc,
    /// Tab.
    Tab,
    /// Shift-Tab.
    BackTab,
    /// Backspace, in both its forms.
    Backspace,
    /// Arrow up.
    Up,
    /// Arrow down.
    Down,
    /// Arrow left.
    Left,
    /// Arrow right.
    Right,
    /// Page up.
    PageUp,
    /// Page down.
    PageDown,
    /// Home.
    Home,
    /// End.
    End,
    /// F1.
    F1,
}

/// Where keys mean what.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Context {
    /// The cautions at the start.
    Caution,
    /// The live screen.
    Live,
    /// The board.
    Board,
    /// Typing what rows must hold.
    Typing,
    /// A picture over time.
    Times,
    /// Changes to the shift.
    Changes,
    /// A recording, on top of the screen it is shown on.
    Replay,
    /// Moves to choose from.
    Choose,
    /// What the chosen move would have cost.
    Verdict,
    /// Pages to read and sign.
    Pages,
    /// Cards and words.
    Lessons,
    /// A page about the shift.
    Reading,
    /// A question.
    Ask,
    /// How long ago.
    Amount,
    /// A list with a filter.
    List,
    /// A line that is typed.
    Field,
    /// Something to read.
    Page,
}

impl Context {
    /// All of them, for the help and for tests.
    pub const ALL: [Self; 17] = [
        Self::Live,
        Self::Board,
        Self::Typing,
        Self::Times,
        Self::Changes,
        Self::Replay,
        Self::Choose,
        Self::Verdict,
        Self::Pages,
        Self::Lessons,
        Self::Reading,
        Self::Ask,
        Self::Amount,
        Self::List,
        Self::Field,
        Self::Page,
        Self::Caution,
    ];

    /// The heading in the help.
    pub fn title(self) -> &'static str {
        match self {
            Self::Caution => "At the start",
            Self::Live => "On the live screen",
            Self::Board => "On the board",
            Self::Typing => "While typing on the board",
            Self::Times => "In the pictures over time",
            Self::Changes => "Among the changes",
            Self::Replay => "In a replay, on any screen",
            Self::Choose => "When asked what comes next",
            Self::Verdict => "After an answer",
            Self::Pages => "On the pages",
            Self::Lessons => "Among cards and words",
            Self::Reading => "Reading about the shift",
            Self::Ask => "In a question",
            Self::Amount => "When asked how long ago",
            Self::List => "In a list",
            Self::Field => "In a line to be typed",
            Self::Page => "In a page",
        }
    }
}

/// One line of the table.
#[derive(Debug, Clone, Copy)]
pub struct Binding {
    /// Where it holds.
    pub context: Context,
    /// The keys.
    pub keys: &'static [Key],
    /// The keys as printed.
    pub shown: &'static str,
    /// What they do.
    pub action: Action,
    /// One or two words for the key line; empty if it is not listed there.
    pub brief: &'static str,
    /// A sentence for the help.
    pub help: &'static str,
}

const fn on(
    context: Context,
    keys: &'static [Key],
    shown: &'static str,
    action: Action,
    brief: &'static str,
    help: &'static str,
) -> Binding {
    Binding { context, keys, shown, action, brief, help }
}

const DEVIATION_ON: Wish = Wish::Next(Some(MarkKind::Deviation));
const DEVIATION_BACK: Wish = Wish::Previous(Some(MarkKind::Deviation));

/// A key of a replay.
const fn tape(
    keys: &'static [Key],
    shown: &'static str,
    wish: Wish,
    brief: &'static str,
    help: &'static str,
) -> Binding {
    on(Context::Replay, keys, shown, Action::Tape(wish), brief, help)
}

use Context as C;
use Key as K;

/// What the key for changes does where a row or a move can be chosen.
const WHAT_IF: &str =
    "change something about the shift: the chosen carrier or tank is offered first (supervisor)";

/// What the key for entries does; the chosen carrier or tank comes first.
const ENTER: &str = "enter what was counted, inspected, measured or signed, or a note";

/// What the key for process arithmetic does.
const RECKON: &str = "work out film, current, time, seal, rinse and more; begins with the chosen carrier";

/// All bindings.
pub const BINDINGS: &[Binding] = &[
    on(
        C::Live,
        &[K::Char(' '), K::Enter],
        "Space, Enter",
        Action::Confirm,
        "done",
        "I have just done what the call says",
    ),
    on(C::Live, &[K::Char('l')], "l", Action::Late, "late", "I did it a while ago: say how long"),
    on(C::Live, &[K::Char('x')], "x", Action::Otherwise, "other", "I did something else than the call says"),
    on(C::Live, &[K::Char('u')], "u", Action::Undo, "undo", "take back the last thing said; asks first"),
    on(
        C::Live,
        &[K::Char('s')],
        "s",
        Action::Wrong,
        "state",
        "the state is wrong: say where a carrier or hoist really is",
    ),
    on(
        C::Live,
        &[K::Char('a')],
        "a",
        Action::Acknowledge,
        "seen",
        "I have seen the alarm (the chosen one, else the first unseen)",
    ),
    on(
        C::Live,
        &[K::Char('h')],
        "h",
        Action::Shelve,
        "",
        "set an alarm aside for ten minutes, with a reason",
    ),
    on(
        C::Live,
        &[K::Char('w')],
        "w",
        Action::Propose,
        "",
        "change something about the shift, with before and after (supervisor)",
    ),
    on(C::Live, &[K::Char('e')], "e", Action::Enter, "enter", ENTER),
    on(C::Live, &[K::Char('=')], "=", Action::Reckon, "", RECKON),
    on(C::Live, &[K::Char('t')], "t", Action::Detail, "", "look into one tank"),
    on(C::Live, &[K::Char('1')], "1", Action::Pane(0), "", "the line"),
    on(C::Live, &[K::Char('2')], "2", Action::Pane(1), "", "alarms, and what the plan cannot keep"),
    on(C::Live, &[K::Char('3')], "3", Action::Pane(2), "", "next calls and the queue"),
    on(C::Live, &[K::Char('4')], "4", Action::Pane(3), "", "what happened"),
    on(
        C::Live,
        &[K::Char('5')],
        "5",
        Action::Pane(4),
        "",
        "the board: every carrier, tank, order, crane and power",
    ),
    on(C::Live, &[K::Char('6')], "6", Action::Pane(5), "", "the ways of hoists and carriers over time"),
    on(C::Live, &[K::Char('7')], "7", Action::Pane(6), "", "what is in each tank over time"),
    on(C::Live, &[K::Char('8')], "8", Action::Pane(7), "", "pages: start, handover, the shift so far"),
    on(
        C::Live,
        &[K::Char('9')],
        "9",
        Action::Lessons,
        "",
        "baths and words: what each does, why its window is there",
    ),
    on(
        C::Live,
        &[K::Char('0')],
        "0",
        Action::Debrief,
        "",
        "the debrief so far: calls followed, windows broken",
    ),
    on(C::Live, &[K::Tab, K::Right], "Tab", Action::Next, "", "the next pane"),
    on(C::Live, &[K::BackTab, K::Left], "Shift-Tab", Action::Previous, "", "the pane before"),
    on(C::Live, &[K::Up, K::Char('k')], "Up, k", Action::Up, "", "one row up in the pane"),
    on(C::Live, &[K::Down, K::Char('j')], "Down, j", Action::Down, "", "one row down in the pane"),
    on(C::Live, &[K::PageUp, K::Char('b')], "PgUp, b", Action::PageUp, "", "a page up"),
    on(C::Live, &[K::PageDown, K::Char('f')], "PgDn, f", Action::PageDown, "", "a page down"),
    on(C::Live, &[K::Home, K::Char('g')], "Home, g", Action::First, "", "to the first row"),
    on(C::Live, &[K::End], "End", Action::Last, "", "to the last row"),
    on(C::Live, &[K::Esc], "Esc", Action::Back, "", "forget the chosen row"),
    on(C::Live, &[K::Ctrl('l'), K::Char('r')], "r, Ctrl-L", Action::Repaint, "", "paint the screen anew"),
    on(C::Live, &[K::Char('?'), K::F1], "?", Action::Help, "keys", "this page"),
    on(C::Live, &[K::Char('q'), K::Ctrl('c')], "q, Ctrl-C", Action::Quit, "quit", "leave; asks first"),
    on(C::Board, &[K::Tab, K::Right], "Tab", Action::Next, "part", "the next part: carriers, tanks, queue"),
    on(C::Board, &[K::BackTab, K::Left], "Shift-Tab", Action::Previous, "", "the part before"),
    on(C::Board, &[K::Char('o')], "o", Action::Sort, "sort", "sort by slack, tank, order or finish"),
    on(C::Board, &[K::Char('/')], "/", Action::Filter, "find", "show only rows with the words typed"),
    on(C::Board, &[K::Up, K::Char('k')], "Up, k", Action::Up, "", "one row up"),
    on(C::Board, &[K::Down, K::Char('j')], "Down, j", Action::Down, "", "one row down"),
    on(C::Board, &[K::PageUp, K::Char('b')], "PgUp, b", Action::PageUp, "", "a page up"),
    on(C::Board, &[K::PageDown, K::Char('f')], "PgDn, f", Action::PageDown, "", "a page down"),
    on(C::Board, &[K::Home, K::Char('g')], "Home, g", Action::First, "", "to the first row"),
    on(C::Board, &[K::End], "End", Action::Last, "", "to the last row"),
    on(C::Board, &[K::Esc], "Esc", Action::Back, "", "forget the chosen row; again: the words typed"),
    on(C::Board, &[K::Char('w')], "w", Action::Propose, "change", WHAT_IF),
    on(C::Board, &[K::Char('e')], "e", Action::Enter, "enter", ENTER),
    on(C::Board, &[K::Char('=')], "=", Action::Reckon, "", RECKON),
    on(C::Board, &[K::Char('t')], "t", Action::Detail, "tank", "look into the tank of the chosen row"),
    on(C::Typing, &[K::Backspace], "Backspace", Action::Erase, "", "take back a letter"),
    on(C::Typing, &[K::Enter], "Enter", Action::Confirm, "keep these rows", "keep these rows"),
    on(C::Typing, &[K::Esc, K::Ctrl('c')], "Esc", Action::Back, "all rows", "all rows again"),
    on(C::Times, &[K::Char('+'), K::Char('=')], "+", Action::Closer, "closer", "less time, more detail"),
    on(C::Times, &[K::Char('-')], "-", Action::Wider, "wider", "more time, less detail"),
    on(C::Times, &[K::Left, K::Char('h')], "Left, h", Action::Earlier, "earlier", "go back in time"),
    on(C::Times, &[K::Right, K::Char('l')], "Right, l", Action::Later, "later", "go on in time"),
    on(C::Times, &[K::Home, K::Char('n')], "n, Home", Action::ToNow, "now", "back to now"),
    on(
        C::Times,
        &[K::Tab],
        "Tab",
        Action::Next,
        "move",
        "the next move: who, when, how long it may wait, why",
    ),
    on(C::Times, &[K::BackTab], "Shift-Tab", Action::Previous, "", "the move before"),
    on(
        C::Times,
        &[K::Up, K::Char('k')],
        "Up, k",
        Action::Up,
        "",
        "the tank above; in the picture of the ways, the move before",
    ),
    on(
        C::Times,
        &[K::Down, K::Char('j')],
        "Down, j",
        Action::Down,
        "",
        "the tank below; in the picture of the ways, the next move",
    ),
    on(C::Times, &[K::PageUp, K::Char('b')], "PgUp, b", Action::PageUp, "", "eight tanks up"),
    on(C::Times, &[K::PageDown, K::Char('f')], "PgDn, f", Action::PageDown, "", "eight tanks down"),
    on(C::Times, &[K::Esc], "Esc", Action::Back, "", "forget the chosen move and tank"),
    on(C::Times, &[K::Char('w')], "w", Action::Propose, "change", WHAT_IF),
    on(C::Times, &[K::Char('e')], "e", Action::Enter, "", ENTER),
    on(C::Times, &[K::Char('t')], "t", Action::Detail, "", "look into the chosen tank"),
    on(
        C::Board,
        &[K::Char(' '), K::Enter],
        "Space, Enter",
        Action::Confirm,
        "",
        "nothing; what was done is said on the live screen",
    ),
    on(C::Board, &[K::Char('a')], "a", Action::Acknowledge, "seen", "I have seen the alarm that comes first"),
    on(C::Board, &[K::Char('1')], "1", Action::Pane(0), "call", "to the live screen"),
    on(C::Board, &[K::Char('2')], "2", Action::Pane(1), "", "to the alarms"),
    on(C::Board, &[K::Char('3')], "3", Action::Pane(2), "", "to the next calls"),
    on(C::Board, &[K::Char('4')], "4", Action::Pane(3), "", "to what happened"),
    on(C::Board, &[K::Char('5')], "5", Action::Pane(4), "", "the board"),
    on(C::Board, &[K::Char('6')], "6", Action::Pane(5), "", "the ways of hoists and carriers over time"),
    on(C::Board, &[K::Char('7')], "7", Action::Pane(6), "", "what is in each tank over time"),
    on(C::Board, &[K::Char('8')], "8", Action::Pane(7), "", "pages: start, handover, the shift so far"),
    on(
        C::Board,
        &[K::Char('9')],
        "9",
        Action::Lessons,
        "",
        "baths and words: what each does, why its window is there",
    ),
    on(
        C::Board,
        &[K::Char('0')],
        "0",
        Action::Debrief,
        "",
        "the debrief so far: calls followed, windows broken",
    ),
    on(C::Board, &[K::Ctrl('l'), K::Char('r')], "r, Ctrl-L", Action::Repaint, "", "paint the screen anew"),
    on(C::Board, &[K::Char('?'), K::F1], "?", Action::Help, "keys", "this page"),
    on(C::Board, &[K::Char('q'), K::Ctrl('c')], "q, Ctrl-C", Action::Quit, "quit", "leave; asks first"),
    on(
        C::Times,
        &[K::Char(' '), K::Enter],
        "Space, Enter",
        Action::Confirm,
        "",
        "nothing; what was done is said on the live screen",
    ),
    on(C::Times, &[K::Char('a')], "a", Action::Acknowledge, "seen", "I have seen the alarm that comes first"),
    on(C::Times, &[K::Char('1')], "1", Action::Pane(0), "call", "to the live screen"),
    on(C::Times, &[K::Char('2')], "2", Action::Pane(1), "", "to the alarms"),
    on(C::Times, &[K::Char('3')], "3", Action::Pane(2), "", "to the next calls"),
    on(C::Times, &[K::Char('4')], "4", Action::Pane(3), "", "to what happened"),
    on(C::Times, &[K::Char('5')], "5", Action::Pane(4), "", "the board"),
    on(C::Times, &[K::Char('6')], "6", Action::Pane(5), "", "the ways of hoists and carriers over time"),
    on(C::Times, &[K::Char('7')], "7", Action::Pane(6), "", "what is in each tank over time"),
    on(C::Times, &[K::Char('8')], "8", Action::Pane(7), "", "pages: start, handover, the shift so far"),
    on(
        C::Times,
        &[K::Char('9')],
        "9",
        Action::Lessons,
        "",
        "baths and words: what each does, why its window is there",
    ),
    on(
        C::Times,
        &[K::Char('0')],
        "0",
        Action::Debrief,
        "",
        "the debrief so far: calls followed, windows broken",
    ),
    on(C::Times, &[K::Ctrl('l'), K::Char('r')], "r, Ctrl-L", Action::Repaint, "", "paint the screen anew"),
    on(C::Times, &[K::Char('?'), K::F1], "?", Action::Help, "keys", "this page"),
    on(C::Times, &[K::Char('q'), K::Ctrl('c')], "q, Ctrl-C", Action::Quit, "quit", "leave; asks first"),
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
    on(C::Replay, &[K::Char('?'), K::F1], "?", Action::Help, "keys", "this page"),
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
    on(C::Choose, &[K::Char('1')], "1 to 4", Action::Type('1'), "choose", "this is the move I would make"),
    on(C::Choose, &[K::Up, K::Char('k')], "Up, k", Action::Up, "", "the move above"),
    on(C::Choose, &[K::Down, K::Char('j')], "Down, j", Action::Down, "", "the move below"),
    on(C::Choose, &[K::Enter], "Enter", Action::Confirm, "", "the marked move"),
    on(C::Choose, &[K::Tab, K::Right], "Tab", Action::Next, "look around", "the next pane"),
    on(C::Choose, &[K::BackTab, K::Left], "Shift-Tab", Action::Previous, "", "the pane before"),
    on(C::Choose, &[K::PageUp, K::Char('b')], "PgUp, b", Action::PageUp, "", "further up in the pane"),
    on(C::Choose, &[K::PageDown, K::Char('f')], "PgDn, f", Action::PageDown, "", "further down in the pane"),
    on(C::Choose, &[K::Char('t')], "t", Action::Detail, "tank", "look into one tank"),
    on(C::Choose, &[K::Char('n')], "n", Action::Tape(Wish::Learn), "pass over", "pass this one over"),
    on(C::Choose, &[K::Esc, K::Char('N')], "Esc, N", Action::Back, "no more", "ask no more"),
    on(C::Choose, &[K::Char('?'), K::F1], "?", Action::Help, "keys", "this page"),
    on(C::Choose, &[K::Char('q'), K::Ctrl('c')], "q, Ctrl-C", Action::Quit, "quit", "leave; asks first"),
    on(
        C::Verdict,
        &[K::Enter, K::Char('n'), K::Char(' ')],
        "Enter, n",
        Action::Confirm,
        "the next one",
        "on to the next moment",
    ),
    on(C::Verdict, &[K::Up, K::Char('k')], "Up, k", Action::Up, "", "one line up"),
    on(C::Verdict, &[K::Down, K::Char('j')], "Down, j", Action::Down, "scroll", "one line down"),
    on(C::Verdict, &[K::PageUp, K::Char('b')], "PgUp, b", Action::PageUp, "", "a page up"),
    on(C::Verdict, &[K::PageDown, K::Char('f')], "PgDn, f", Action::PageDown, "", "a page down"),
    on(
        C::Verdict,
        &[K::Esc, K::Char('q'), K::Ctrl('c')],
        "Esc, q",
        Action::Back,
        "stay here",
        "close this; the recording stays here (a quiz goes on)",
    ),
    on(
        C::Pages,
        &[K::Tab, K::Right],
        "Tab",
        Action::Next,
        "page",
        "the next page: start, handover, shift so far",
    ),
    on(C::Pages, &[K::BackTab, K::Left], "Shift-Tab", Action::Previous, "", "the page before"),
    on(C::Pages, &[K::Up, K::Char('k')], "Up, k", Action::Up, "", "one row up"),
    on(C::Pages, &[K::Down, K::Char('j')], "Down, j", Action::Down, "scroll", "one row down"),
    on(C::Pages, &[K::PageUp, K::Char('b')], "PgUp, b", Action::PageUp, "", "eight rows up"),
    on(C::Pages, &[K::PageDown, K::Char('f')], "PgDn, f", Action::PageDown, "", "eight rows down"),
    on(C::Pages, &[K::Home, K::Char('g')], "Home, g", Action::First, "", "to the first row"),
    on(C::Pages, &[K::End], "End", Action::Last, "", "to the last row"),
    on(
        C::Pages,
        &[K::Char('s')],
        "s",
        Action::Sign,
        "sign",
        "sign with initials: work this shift, hand over, take over",
    ),
    on(C::Pages, &[K::Esc], "Esc", Action::Back, "back", "back to the first screen"),
    on(C::Pages, &[K::Char('w')], "w", Action::Propose, "", WHAT_IF),
    on(
        C::Pages,
        &[K::Char(' '), K::Enter],
        "Space, Enter",
        Action::Confirm,
        "",
        "nothing; what was done is said on the live screen",
    ),
    on(C::Pages, &[K::Char('a')], "a", Action::Acknowledge, "seen", "I have seen the alarm that comes first"),
    on(C::Pages, &[K::Char('1')], "1", Action::Pane(0), "call", "to the live screen"),
    on(C::Pages, &[K::Char('2')], "2", Action::Pane(1), "", "to the alarms"),
    on(C::Pages, &[K::Char('3')], "3", Action::Pane(2), "", "to the next calls"),
    on(C::Pages, &[K::Char('4')], "4", Action::Pane(3), "", "to what happened"),
    on(C::Pages, &[K::Char('5')], "5", Action::Pane(4), "", "the board"),
    on(C::Pages, &[K::Char('6')], "6", Action::Pane(5), "", "the ways of hoists and carriers over time"),
    on(C::Pages, &[K::Char('7')], "7", Action::Pane(6), "", "what is in each tank over time"),
    on(C::Pages, &[K::Char('8')], "8", Action::Pane(7), "", "pages: start, handover, the shift so far"),
    on(C::Pages, &[K::Ctrl('l'), K::Char('r')], "r, Ctrl-L", Action::Repaint, "", "paint the screen anew"),
    on(C::Pages, &[K::Char('?'), K::F1], "?", Action::Help, "keys", "this page"),
    on(C::Pages, &[K::Char('q'), K::Ctrl('c')], "q, Ctrl-C", Action::Quit, "quit", "leave; asks first"),
    on(C::Ask, &[K::Char('y'), K::Enter], "y, Enter", Action::Confirm, "yes", "yes"),
    on(C::Ask, &[K::Char('n'), K::Esc, K::Char('q')], "n, Esc", Action::Back, "no", "no, back"),
    on(
        C::Amount,
        &[K::Up, K::Char('+'), K::Char('k')],
        "Up, +",
        Action::Up,
        "longer ago",
        "ten seconds longer ago",
    ),
    on(
        C::Amount,
        &[K::Down, K::Char('-'), K::Char('j')],
        "Down, -",
        Action::Down,
        "shorter",
        "ten seconds less",
    ),
    on(C::Amount, &[K::Backspace], "Backspace", Action::Erase, "", "take back a digit"),
    on(
        C::Amount,
        &[K::Tab, K::Char('t')],
        "Tab, t",
        Action::Next,
        "other subject",
        "mean the last thing said instead",
    ),
    on(C::Amount, &[K::Enter, K::Char('y')], "Enter, y", Action::Confirm, "say it", "say it"),
    on(C::Amount, &[K::Esc, K::Char('n'), K::Char('q')], "n, Esc", Action::Back, "back", "say nothing, back"),
    on(
        C::Changes,
        &[K::Char('w'), K::Char('n')],
        "w, n",
        Action::Propose,
        "propose",
        "propose a change: what, whom, how much",
    ),
    on(
        C::Changes,
        &[K::Enter],
        "Enter",
        Action::Confirm,
        "commit",
        "commit what is proposed: all of it or nothing; asks why",
    ),
    on(
        C::Changes,
        &[K::Backspace, K::Char('d')],
        "d, Backspace",
        Action::Erase,
        "remove",
        "take the chosen proposal off the list",
    ),
    on(
        C::Changes,
        &[K::Char('t')],
        "t",
        Action::TakeBack,
        "take back",
        "propose to take back the chosen change that stands",
    ),
    on(
        C::Changes,
        &[K::Tab, K::Right],
        "Tab",
        Action::Next,
        "part",
        "the next part: proposed, before and after, what stands",
    ),
    on(C::Changes, &[K::BackTab, K::Left], "Shift-Tab", Action::Previous, "", "the part before"),
    on(C::Changes, &[K::Up, K::Char('k')], "Up, k", Action::Up, "", "one row up"),
    on(C::Changes, &[K::Down, K::Char('j')], "Down, j", Action::Down, "", "one row down"),
    on(C::Changes, &[K::PageUp, K::Char('b')], "PgUp, b", Action::PageUp, "", "a page up"),
    on(C::Changes, &[K::PageDown, K::Char('f')], "PgDn, f", Action::PageDown, "", "a page down"),
    on(C::Changes, &[K::Home, K::Char('g')], "Home, g", Action::First, "", "to the first row"),
    on(C::Changes, &[K::End, K::Char('e')], "End, e", Action::Last, "", "to the last row"),
    on(
        C::Changes,
        &[K::Esc],
        "Esc",
        Action::Back,
        "drop",
        "drop what is proposed; asks first. With nothing proposed: back",
    ),
    on(C::Changes, &[K::Char('a')], "a", Action::Acknowledge, "", "I have seen the alarm that comes first"),
    on(C::Changes, &[K::Char('1')], "1", Action::Pane(0), "", "to the live screen; what is proposed is kept"),
    on(C::Changes, &[K::Char('2')], "2", Action::Pane(1), "", "to the alarms"),
    on(C::Changes, &[K::Char('3')], "3", Action::Pane(2), "", "to the next calls"),
    on(C::Changes, &[K::Char('4')], "4", Action::Pane(3), "", "to what happened"),
    on(C::Changes, &[K::Char('5')], "5", Action::Pane(4), "", "the board"),
    on(C::Changes, &[K::Char('6')], "6", Action::Pane(5), "", "the ways of hoists and carriers over time"),
    on(C::Changes, &[K::Char('7')], "7", Action::Pane(6), "", "what is in each tank over time"),
    on(C::Changes, &[K::Char('8')], "8", Action::Pane(7), "", "pages: start, handover, the shift so far"),
    on(
        C::Changes,
        &[K::Char('9')],
        "9",
        Action::Lessons,
        "",
        "baths and words: what each does, why its window is there",
    ),
    on(
        C::Changes,
        &[K::Char('0')],
        "0",
        Action::Debrief,
        "",
        "the debrief so far: calls followed, windows broken",
    ),
    on(C::Changes, &[K::Ctrl('l'), K::Char('r')], "r, Ctrl-L", Action::Repaint, "", "paint the screen anew"),
    on(C::Changes, &[K::Char('?'), K::F1], "?", Action::Help, "keys", "this page"),
    on(C::Changes, &[K::Char('q'), K::Ctrl('c')], "q, Ctrl-C", Action::Quit, "quit", "leave; asks first"),
    on(C::Lessons, &[K::Up, K::Char('k')], "Up, k", Action::Up, "", "the card or word before"),
    on(C::Lessons, &[K::Down, K::Char('j')], "Down, j", Action::Down, "choose", "the next card or word"),
    on(
        C::Lessons,
        &[K::PageDown, K::Char('f'), K::Char(' ')],
        "PgDn, f",
        Action::PageDown,
        "read on",
        "the text further down",
    ),
    on(C::Lessons, &[K::PageUp, K::Char('b')], "PgUp, b", Action::PageUp, "", "the text further up"),
    on(C::Lessons, &[K::Home, K::Char('g')], "Home, g", Action::First, "", "the first card"),
    on(C::Lessons, &[K::End, K::Char('e')], "End, e", Action::Last, "", "the last word"),
    on(C::Lessons, &[K::Esc, K::Char('9')], "Esc, 9", Action::Back, "back", "back to the screen before"),
    on(C::Reading, &[K::Up, K::Char('k')], "Up, k", Action::Up, "", "a line up"),
    on(C::Reading, &[K::Down, K::Char('j')], "Down, j", Action::Down, "", "a line down"),
    on(
        C::Reading,
        &[K::PageDown, K::Char('f'), K::Char(' ')],
        "PgDn, f",
        Action::PageDown,
        "read on",
        "ten lines down",
    ),
    on(C::Reading, &[K::PageUp, K::Char('b')], "PgUp, b", Action::PageUp, "", "ten lines up"),
    on(C::Reading, &[K::Home, K::Char('g')], "Home, g", Action::First, "", "to the top"),
    on(C::Reading, &[K::End, K::Char('e')], "End, e", Action::Last, "", "to the end"),
    on(C::Reading, &[K::Tab, K::Right], "Tab", Action::Next, "page", "the next page"),
    on(C::Reading, &[K::BackTab, K::Left], "Shift-Tab", Action::Previous, "", "the page before"),
    on(C::Reading, &[K::Esc, K::Char('0')], "Esc, 0", Action::Back, "back", "back to the screen before"),
    on(C::Lessons, &[K::Char('1')], "1", Action::Pane(0), "call", "to the live screen"),
    on(C::Lessons, &[K::Char('2')], "2", Action::Pane(1), "", "to the alarms"),
    on(C::Lessons, &[K::Char('3')], "3", Action::Pane(2), "", "to the next calls"),
    on(C::Lessons, &[K::Char('4')], "4", Action::Pane(3), "", "to what happened"),
    on(C::Lessons, &[K::Char('5')], "5", Action::Pane(4), "", "the board"),
    on(C::Lessons, &[K::Char('6')], "6", Action::Pane(5), "", "the ways of hoists and carriers over time"),
    on(C::Lessons, &[K::Char('7')], "7", Action::Pane(6), "", "what is in each tank over time"),
    on(C::Lessons, &[K::Char('a')], "a", Action::Acknowledge, "", "I have seen the alarm that comes first"),
    on(C::Lessons, &[K::Ctrl('l'), K::Char('r')], "r, Ctrl-L", Action::Repaint, "", "paint the screen anew"),
    on(C::Lessons, &[K::Char('?'), K::F1], "?", Action::Help, "keys", "this page"),
    on(C::Lessons, &[K::Char('q'), K::Ctrl('c')], "q, Ctrl-C", Action::Quit, "quit", "leave; asks first"),
    on(C::Reading, &[K::Char('1')], "1", Action::Pane(0), "call", "to the live screen"),
    on(C::Reading, &[K::Char('2')], "2", Action::Pane(1), "", "to the alarms"),
    on(C::Reading, &[K::Char('3')], "3", Action::Pane(2), "", "to the next calls"),
    on(C::Reading, &[K::Char('4')], "4", Action::Pane(3), "", "to what happened"),
    on(C::Reading, &[K::Char('5')], "5", Action::Pane(4), "", "the board"),
    on(C::Reading, &[K::Char('6')], "6", Action::Pane(5), "", "the ways of hoists and carriers over time"),
    on(C::Reading, &[K::Char('7')], "7", Action::Pane(6), "", "what is in each tank over time"),
    on(C::Reading, &[K::Char('a')], "a", Action::Acknowledge, "", "I have seen the alarm that comes first"),
    on(C::Reading, &[K::Ctrl('l'), K::Char('r')], "r, Ctrl-L", Action::Repaint, "", "paint the screen anew"),
    on(C::Reading, &[K::Char('?'), K::F1], "?", Action::Help, "keys", "this page"),
    on(C::Reading, &[K::Char('q'), K::Ctrl('c')], "q, Ctrl-C", Action::Quit, "quit", "leave; asks first"),
    on(C::Lessons, &[K::Char('0')], "0", Action::Debrief, "", "the debrief so far"),
    on(C::Reading, &[K::Char('9')], "9", Action::Lessons, "", "baths and words"),
    on(C::Page, &[K::Char('9')], "9", Action::Lessons, "", "on a tank: what its bath does and why"),
    on(C::Field, &[K::Backspace], "Backspace", Action::Erase, "erase", "take back a letter"),
    on(C::Field, &[K::Enter], "Enter", Action::Confirm, "go on", "go on with what was typed"),
    on(C::Field, &[K::Esc, K::Ctrl('c')], "Esc", Action::Back, "back", "back without it"),
    on(C::List, &[K::Up, K::BackTab], "Up", Action::Up, "", "one row up"),
    on(C::List, &[K::Down, K::Tab], "Down, Tab", Action::Down, "choose", "one row down"),
    on(C::List, &[K::PageUp], "PgUp", Action::PageUp, "", "a page up"),
    on(C::List, &[K::PageDown], "PgDn", Action::PageDown, "", "a page down"),
    on(C::List, &[K::Home], "Home", Action::First, "", "to the first row"),
    on(C::List, &[K::End], "End", Action::Last, "", "to the last row"),
    on(C::List, &[K::Backspace], "Backspace", Action::Erase, "", "take back a letter of the filter"),
    on(C::List, &[K::Enter], "Enter", Action::Confirm, "take it", "take the chosen row"),
    on(C::List, &[K::Esc, K::Ctrl('c')], "Esc", Action::Back, "back", "take nothing, back"),
    on(C::Page, &[K::Up, K::Char('k')], "Up, k", Action::Up, "", "one line up"),
    on(C::Page, &[K::Down, K::Char('j')], "Down, j", Action::Down, "scroll", "one line down"),
    on(C::Page, &[K::PageUp, K::Char('b')], "PgUp, b", Action::PageUp, "", "a page up"),
    on(C::Page, &[K::PageDown, K::Char('f'), K::Char(' ')], "PgDn, f", Action::PageDown, "", "a page down"),
    on(
        C::Page,
        &[K::Esc, K::Char('q'), K::Char('?'), K::Enter, K::Ctrl('c')],
        "Esc, q",
        Action::Back,
        "back",
        "back",
    ),
    on(C::Caution, &[K::Enter], "Enter", Action::Confirm, "go on", "on to the line"),
    on(
        C::Caution,
        &[K::Char('w')],
        "w",
        Action::Crew,
        "watch a simulated crew",
        "watch a simulated crew (practice only)",
    ),
    on(C::Caution, &[K::Char('?'), K::F1], "?", Action::Help, "keys", "all keys"),
    on(C::Caution, &[K::Char('q'), K::Ctrl('c')], "q, Ctrl-C", Action::Quit, "quit", "leave; asks first"),
];

/// What a key asks for where it is pressed.
pub fn action(context: Context, key: Key) -> Option<Action> {
    let bound = BINDINGS.iter().find(|b| b.context == context && b.keys.contains(&key)).map(|b| b.action);
    bound.or(match (context, key) {
        // In a question Ctrl-C twice leaves, as it does everywhere else.
        (Context::Ask, Key::Ctrl('c')) => Some(Action::Quit),
        (Context::Amount, Key::Ctrl('c')) => Some(Action::Back),
        (_, Key::Ctrl('z')) => Some(Action::Suspend),
        (_, Key::Ctrl('l')) => Some(Action::Repaint),
        (Context::Amount | Context::Choose, Key::Char(c)) if c.is_ascii_digit() => Some(Action::Type(c)),
        // A split escape sequence begins with this one; no name does.
        (Context::List | Context::Typing | Context::Field, Key::Char('[')) => None,
        (Context::List | Context::Typing | Context::Field, Key::Char(c)) => Some(Action::Type(c)),
        _ => None,
    })
}

/// The key of a terminal event, if it is one this program knows.
pub fn key(event: &KeyEvent) -> Option<Key> {
    if event.modifiers.contains(KeyModifiers::ALT) {
        return None;
    }
    let ctrl = event.modifiers.contains(KeyModifiers::CONTROL);
    Some(match event.code {
        // Old terminals send these for Backspace and Enter.
        KeyCode::Char('h') if ctrl => Key::Backspace,
        KeyCode::Char('j' | 'm') if ctrl => Key::Enter,
        KeyCode::Char(c) if ctrl => Key::Ctrl(c.to_ascii_lowercase()),
        KeyCode::Char(c) => Key::Char(c),
        KeyCode::Enter => Key::Enter,
        KeyCode::Esc => Key::Esc,
        KeyCode::Tab => Key::Tab,
        KeyCode::BackTab => Key::BackTab,
        KeyCode::Backspace | KeyCode::Delete => Key::Backspace,
        KeyCode::Up => Key::Up,
        KeyCode::Down => Key::Down,
        KeyCode::Left => Key::Left,
        KeyCode::Right => Key::Right,
        KeyCode::PageUp => Key::PageUp,
        KeyCode::PageDown => Key::PageDown,
        KeyCode::Home => Key::Home,
        KeyCode::End => Key::End,
        KeyCode::F(1) => Key::F1,
        _ => return None,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_key_is_bound_twice_in_a_context() {
        for context in Context::ALL {
            let mut seen = Vec::new();
            for key in BINDINGS.iter().filter(|b| b.context == context).flat_map(|b| b.keys) {
                assert!(!seen.contains(key), "{key:?} twice in {context:?}");
                seen.push(*key);
            }
        }
    }

    #[test]
    fn pieces_of_a_split_escape_sequence_do_nothing_that_matters() {
        let pieces = [
            Key::Esc,
            Key::Char('['),
            Key::Char('O'),
            Key::Char('A'),
            Key::Char('B'),
            Key::Char('C'),
            Key::Char('D'),
        ];
        for context in Context::ALL {
            for key in pieces {
                let harmless = matches!(action(context, key), None | Some(Action::Back | Action::Type(_)));
                assert!(harmless, "{key:?} in {context:?}");
            }
        }
    }
}
