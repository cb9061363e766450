//! What a supervisor proposes: a stack of changes, what they would do, and what stands already. Pure.

mod figures;
mod pick;
mod trial;

pub use figures::Figure;
pub(super) use pick::rework_recipes;
pub use pick::{Kind, Pick, Step, Wait, begin, follow};
pub use trial::keep_preview;

use std::sync::Arc;

use super::action::Action;
use super::app::Screen;
use super::dialog::moved;
use crate::ids::{CarrierId, Seq, TankId};
use crate::line::{Line, OrderBook};
use crate::live::{Known, is_fact};
use crate::shift::Command;
use crate::units::Time;
use crate::view::{Board, Preview, WayRow, proposal_words};

/// The parts of the screen that have keys.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Part {
    /// What is proposed.
    #[default]
    Proposed,
    /// What it would do.
    Effects,
    /// Changes that stand.
    Standing,
}

impl Part {
    /// All, in the order of the Tab key.
    pub const ALL: [Self; 3] = [Self::Proposed, Self::Effects, Self::Standing];
}

/// One proposed change.
#[derive(Debug, Clone, PartialEq)]
pub struct Proposal {
    /// What would be said.
    pub command: Command,
    /// The same in words.
    pub words: String,
}

/// What is known of what the proposed changes would do.
#[derive(Debug, Clone, PartialEq, Default)]
pub enum Outlook {
    /// Nothing is proposed.
    #[default]
    Nothing,
    /// It is being worked out for the first time.
    Working,
    /// One of them is refused.
    Refused {
        /// Which, by its place.
        which: usize,
        /// Why.
        why: String,
    },
    /// Before and after.
    Ready {
        /// What differs.
        preview: Arc<Preview>,
        /// The plans it was read off, and the instant they start from.
        known: Arc<Known>,
        /// No better one follows.
        last: bool,
    },
    /// It could not be worked out.
    Failed,
}

/// What a commit goes by.
#[derive(Debug, Clone, PartialEq)]
pub enum Grounds {
    /// What was on the screen when it was asked for: nothing that costs more is committed.
    Seen(Arc<Known>),
    /// It is so already, whatever it costs.
    Fact,
}

/// What a preview was asked for.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Asked {
    /// The state of the stack.
    version: u64,
    /// The last fact then.
    seen: Seq,
    /// When.
    at: Time,
}

/// What is proposed and what is known of it.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Changes {
    /// Proposed changes in the order in which they would be said.
    pub stack: Vec<Proposal>,
    /// What they would do.
    pub outlook: Outlook,
    /// The part that has the keys.
    pub part: Part,
    /// The chosen row of each part; the first that is shown of the effects.
    pub rows: [usize; 3],
    /// Ways out of the trouble there is, the best first; empty without trouble.
    pub ways: Vec<WayRow>,
    /// The instant they were worked out for.
    pub ways_at: Time,
    /// The reason as typed so far.
    pub reason: String,
    /// What was chosen on the screen before.
    pub selected: Selected,
    /// That screen.
    pub from: Option<Screen>,
    /// What a commit that has been asked for goes by.
    pub committing: Option<Grounds>,
    /// Counts changes of the stack.
    version: u64,
    asked: Option<Asked>,
}

/// What was chosen on a screen: it is offered first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Selected {
    /// A carrier.
    pub carrier: Option<CarrierId>,
    /// A tank.
    pub tank: Option<TankId>,
}

impl Changes {
    /// True if all that is proposed is so already, whether anybody likes it or not.
    pub fn tells_facts(&self) -> bool {
        !self.stack.is_empty() && self.stack.iter().all(|p| is_fact(&p.command))
    }

    /// Adds a change to the stack.
    pub fn propose(&mut self, command: Command, line: &Line, book: &OrderBook, board: &Board) {
        if self.stack.iter().any(|p| p.command == command) {
            return;
        }
        let words = proposal_words(line, book, board.opening(), &board.changes, &command);
        self.stack.push(Proposal { command, words });
        self.part = Part::Proposed;
        self.rows[Part::Proposed as usize] = self.stack.len() - 1;
        self.touch();
    }

    /// Takes the chosen change off the stack; `None` if none is there.
    pub fn remove(&mut self) -> Option<Proposal> {
        let ix = self.rows[Part::Proposed as usize];
        let gone = (ix < self.stack.len()).then(|| self.stack.remove(ix));
        self.rows[Part::Proposed as usize] = ix.min(self.stack.len().saturating_sub(1));
        self.touch();
        gone
    }

    /// Forgets all proposed changes.
    pub fn clear(&mut self) {
        self.stack.clear();
        self.reason.clear();
        self.rows = [0; 3];
        self.part = Part::Proposed;
        self.touch();
    }

    fn touch(&mut self) {
        self.version += 1;
        self.rows[Part::Effects as usize] = 0;
        self.outlook = if self.stack.is_empty() { Outlook::Nothing } else { Outlook::Working };
    }

    /// The commands with their reason. Those that keep none of their own have it in a note.
    pub fn commands(&self, why: &str) -> Vec<Command> {
        let mut commands: Vec<Command> = self.stack.iter().map(|p| p.command.clone()).collect();
        let mut silent = Vec::new();
        for (command, proposal) in commands.iter_mut().zip(&self.stack) {
            match command {
                Command::Change { why: its, .. } | Command::TankOut { why: its, .. } => {
                    let both = [its.as_str(), why].into_iter().filter(|words| !words.is_empty());
                    *its = both.collect::<Vec<_>>().join(": ");
                }
                _ => silent.push(proposal.words.as_str()),
            }
        }
        if !silent.is_empty() {
            commands.push(Command::Note { text: format!("{}: {why}", silent.join("; ")) });
        }
        commands
    }

    /// The plans of what is shown, if before and after are.
    pub fn known(&self) -> Option<&Arc<Known>> {
        match &self.outlook {
            Outlook::Ready { known, .. } => Some(known),
            _ => None,
        }
    }

    /// Moves in the part that has the keys.
    pub fn act(&mut self, action: Action, board: &Board) {
        let parts = Part::ALL.len();
        match action {
            Action::Next => self.part = Part::ALL[(self.part as usize + 1) % parts],
            Action::Previous => self.part = Part::ALL[(self.part as usize + parts - 1) % parts],
            _ => {
                let count = match self.part {
                    Part::Proposed => self.stack.len(),
                    Part::Effects => super::screens::changes::effect_lines(self).len(),
                    Part::Standing => board.changes.len(),
                };
                let row = &mut self.rows[self.part as usize];
                *row = moved(*row, action, count);
            }
        }
    }
}
