//! What a key asks the screens for. Domain commands are something else: see `shift::Command`.

use super::tape::Wish;

/// One wish of the person at the keys.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Action {
    /// Yes: the call was done as shown, or the dialog is answered.
    Confirm,
    /// No: close the dialog; does nothing where none is open.
    Back,
    /// Take back the last thing said.
    Undo,
    /// It happened earlier than now.
    Late,
    /// Something else was done than called.
    Otherwise,
    /// What the screen says about a carrier or a hoist is wrong.
    Wrong,
    /// An alarm was seen.
    Acknowledge,
    /// Set an alarm aside for a while.
    Shelve,
    /// Enter what was counted, inspected, measured or signed.
    Enter,
    /// Work something out.
    Reckon,
    /// Change something about the shift, or one thing more.
    Propose,
    /// Take back a change that stands.
    TakeBack,
    /// Sign for the shift.
    Sign,
    /// Look into one tank.
    Detail,
    /// Show the keys.
    Help,
    /// Leave; asks first.
    Quit,
    /// Leave a practice to a simulated crew.
    Crew,
    /// Show a pane, or one of the supervisor's screens.
    Pane(u8),
    /// Read about baths and words.
    Lessons,
    /// Read what the shift came to so far.
    Debrief,
    /// Sort by something else.
    Sort,
    /// Type what rows must hold.
    Filter,
    /// More of the time, less of the detail.
    Wider,
    /// Less of the time, more of the detail.
    Closer,
    /// Earlier.
    Earlier,
    /// Later.
    Later,
    /// Back to now.
    ToNow,
    /// Show the next pane, or the dialog's other subject.
    Next,
    /// Show the pane before.
    Previous,
    /// One row up, or more.
    Up,
    /// One row down, or less.
    Down,
    /// A page up.
    PageUp,
    /// A page down.
    PageDown,
    /// To the first row.
    First,
    /// To the last row.
    Last,
    /// A character for a field.
    Type(char),
    /// Take back a character of a field.
    Erase,
    /// Take back all of a field.
    EraseAll,
    /// Something about the recording that is played.
    Tape(Wish),
    /// A key that does something on the live screen, and nothing here.
    Elsewhere(char),
    /// Paint everything anew.
    Repaint,
    /// Stop the program for the shell's sake.
    Suspend,
}

impl Action {
    /// True for what says something about the line or its alarms; not for somebody who only watches.
    pub fn speaks(self) -> bool {
        matches!(
            self,
            Self::Confirm
                | Self::Undo
                | Self::Late
                | Self::Otherwise
                | Self::Wrong
                | Self::Acknowledge
                | Self::Shelve
                | Self::Propose
                | Self::Enter
                | Self::TakeBack
                | Self::Sign
        )
    }

    /// True for what says that a move was made.
    pub fn moves(self) -> bool {
        matches!(self, Self::Confirm | Self::Late | Self::Otherwise)
    }

    /// True for what a bouncing or held key must not do twice.
    pub fn is_confirming(self) -> bool {
        matches!(self, Self::Confirm | Self::Undo | Self::Acknowledge)
    }
}
