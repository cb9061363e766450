//! Ways out of trouble, ranked, as they are offered to a supervisor.

use crate::line::Harm;
use crate::shift::Command;

/// One way out.
#[derive(Debug, Clone, PartialEq)]
pub struct WayRow {
    /// What is done.
    pub words: String,
    /// The worst harm that is left; `None` if every window is kept.
    pub harm: Option<Harm>,
    /// What it costs, in words.
    pub price: String,
    /// What is said, in this order.
    pub commands: Vec<Command>,
}

impl WayRow {
    /// The whole row as one line.
    pub fn line(&self) -> String {
        let harm = self.harm.map_or_else(
            || "keeps every window".to_owned(),
            |h| format!("leaves {} {}", h.letter(), h.word()),
        );
        format!("{}: {harm}; {}", self.words, self.price)
    }
}
