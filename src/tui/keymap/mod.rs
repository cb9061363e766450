//! Which key does what, as data: a table for each screen, and one for what means the same on all. The help and the key
//! line are printed from them.
//!
//! Letters and digits always work. Esc, `[`, `O` and capital A to D confirm nothing anywhere: a split escape sequence
//! arrives as exactly those.

mod dialogs;
mod screens;
mod shared;

use crossterm::event::{KeyCode, KeyEvent, KeyModifiers};

use super::action::Action;
use shared::{EVERYWHERE, NOTHING, ROWS};

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
    /// Figures that were worked out.
    Worked,
    /// Something to read.
    Page,
}

impl Context {
    /// All of them, for the help and for tests.
    pub const ALL: [Self; 18] = [
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
        Self::Worked,
        Self::Page,
        Self::Caution,
    ];

    /// True for a whole screen of the shift that is not the live one.
    pub fn is_screen(self) -> bool {
        matches!(
            self,
            Self::Board | Self::Times | Self::Changes | Self::Pages | Self::Lessons | Self::Reading
        )
    }

    /// The heading in the help.
    pub fn title(self) -> &'static str {
        match self {
            Self::Caution => "At the start",
            Self::Live => "On the live screen",
            Self::Board => "On the board",
            Self::Typing => "While typing on the board",
            Self::Times => "In the pictures over time",
            Self::Changes => "Among the changes",
            Self::Replay => "In a replay, on screens 1 and 5 to 7",
            Self::Choose => "When asked what comes next",
            Self::Verdict => "After an answer",
            Self::Pages => "On the pages",
            Self::Lessons => "Among cards and words",
            Self::Reading => "Reading about the shift",
            Self::Ask => "In a question",
            Self::Amount => "When asked how long ago",
            Self::List => "In a list",
            Self::Field => "In a line to be typed",
            Self::Worked => "When figures are worked out",
            Self::Page => "In a page",
        }
    }
}

/// One line of the tables.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Binding {
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

const fn key(
    keys: &'static [Key],
    shown: &'static str,
    action: Action,
    brief: &'static str,
    help: &'static str,
) -> Binding {
    Binding { keys, shown, action, brief, help }
}

/// The tables that hold somewhere; of two that bind a key the first one counts.
fn tables(context: Context) -> &'static [&'static [Binding]] {
    match context {
        Context::Live => &[screens::LIVE, ROWS, EVERYWHERE],
        Context::Board => &[screens::BOARD, ROWS, NOTHING, EVERYWHERE],
        Context::Times => &[screens::TIMES, NOTHING, EVERYWHERE],
        Context::Changes => &[screens::CHANGES, ROWS, EVERYWHERE],
        Context::Pages => &[screens::PAGES, ROWS, NOTHING, EVERYWHERE],
        Context::Lessons => &[screens::LESSONS, EVERYWHERE],
        Context::Reading => &[screens::READING, EVERYWHERE],
        Context::Replay => &[screens::REPLAY],
        Context::Choose => &[dialogs::CHOOSE],
        Context::Verdict => &[dialogs::VERDICT],
        Context::Typing => &[dialogs::TYPING],
        Context::Ask => &[dialogs::ASK],
        Context::Amount => &[dialogs::AMOUNT],
        Context::List => &[dialogs::LIST],
        Context::Field => &[dialogs::FIELD],
        Context::Worked => &[dialogs::WORKED, dialogs::PAGE],
        Context::Page => &[dialogs::PAGE],
        Context::Caution => &[dialogs::CAUTION],
    }
}

/// What holds somewhere, in the order of the help.
pub fn bindings(context: Context) -> impl Iterator<Item = &'static Binding> {
    let tables = tables(context);
    tables.iter().enumerate().flat_map(move |(n, table)| {
        let before = &tables[..n];
        let is_free = move |key: &Key| !before.iter().flat_map(|t| t.iter()).any(|b| b.keys.contains(key));
        table.iter().filter(move |b| b.keys.iter().all(is_free))
    })
}

/// What a key asks for where it is pressed.
pub fn action(context: Context, key: Key) -> Option<Action> {
    let bound = bindings(context).find(|b| b.keys.contains(&key)).map(|b| b.action);
    bound.or(match (context, key) {
        // In a question Ctrl-C twice leaves, as it does everywhere else.
        (Context::Ask, Key::Ctrl('c')) => Some(Action::Quit),
        (Context::Amount, Key::Ctrl('c')) => Some(Action::Back),
        (_, Key::Ctrl('z')) => Some(Action::Suspend),
        (_, Key::Ctrl('l')) => Some(Action::Repaint),
        (Context::Amount, Key::Char(c)) if c.is_ascii_digit() => Some(Action::Type(c)),
        // A split escape sequence begins with this one; no name does.
        (Context::List | Context::Typing | Context::Field, Key::Char('[')) => None,
        // In a question a digit chooses, and anything else is told what could be said.
        (Context::List | Context::Typing | Context::Field | Context::Choose, Key::Char(c)) => {
            Some(Action::Type(c))
        }
        (context, Key::Char(c)) if context.is_screen() && live(c).is_some() => Some(Action::Elsewhere(c)),
        _ => None,
    })
}

/// What a character does on the live screen.
pub fn live(c: char) -> Option<&'static Binding> {
    bindings(Context::Live).find(|b| b.keys.contains(&Key::Char(c)))
}

/// The key of a terminal event, if it is one this program knows.
pub fn pressed(event: &KeyEvent) -> Option<Key> {
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
    fn no_key_is_bound_twice_in_a_table_and_no_binding_is_hidden_in_part() {
        for context in Context::ALL {
            for (n, table) in tables(context).iter().enumerate() {
                let mut seen = Vec::new();
                for key in table.iter().flat_map(|b| b.keys) {
                    assert!(!seen.contains(key), "{key:?} twice in {context:?}");
                    seen.push(*key);
                }
                let before: Vec<Key> = tables(context)[..n]
                    .iter()
                    .flat_map(|t| t.iter())
                    .flat_map(|b| b.keys)
                    .copied()
                    .collect();
                for b in *table {
                    let hidden = b.keys.iter().filter(|key| before.contains(key)).count();
                    assert!(hidden == 0 || hidden == b.keys.len(), "{} in {context:?}", b.shown);
                }
            }
        }
    }

    #[test]
    fn a_key_of_the_live_screen_is_not_dead_on_another() {
        for context in Context::ALL.into_iter().filter(|c| c.is_screen()) {
            for b in bindings(Context::Live) {
                let chars = b.keys.iter().filter(|key| matches!(key, Key::Char(_)));
                for key in chars {
                    assert!(action(context, *key).is_some(), "{key:?} in {context:?}");
                }
            }
        }
        assert_eq!(action(Context::Times, Key::Char('x')), Some(Action::Elsewhere('x')));
        assert_eq!(action(Context::Times, Key::Char('A')), None);
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
