//! Questions about a recording that a thread works out: why a call was what it was, and which moment is worth a question.

use std::sync::Arc;

use super::errand::{Brought, Errand};
use crate::plan::Settings;
use crate::replay::{Point, Recording, Why, why};
use crate::train::{Grade, Question, next_question};

/// Why: under way.
pub struct Asking(Errand<Asked>);

/// An answer.
#[derive(Debug, Clone, PartialEq)]
pub struct Asked {
    /// The answer.
    pub why: Box<Why>,
    /// No better one follows.
    pub last: bool,
}

impl Asking {
    /// Asks about a point: first as plans come out at once, then with so many tries for each side. `None` if the machine
    /// has no thread left.
    pub fn begin(recording: Arc<Recording>, point: Point, settings: Settings, tries: u64) -> Option<Self> {
        let errand = Errand::begin(move |outbox| {
            for (tries, last) in [(0, false), (tries, true)] {
                let why = why(&recording, point, &settings, tries, &mut || outbox.is_dropped());
                if outbox.is_dropped() {
                    return;
                }
                outbox.bring(Asked { why: Box::new(why), last });
            }
        });
        errand.map(Self)
    }

    /// The newest answer since this was last asked.
    pub fn take(&mut self) -> Brought<Asked> {
        self.0.take()
    }
}

/// A moment worth a question, and where it is.
pub type Moment = (Point, Box<Question>);

/// The next moment worth a question: under way.
pub struct Seeking(Errand<Option<Moment>>);

impl Seeking {
    /// Looks ahead from a point: see [`next_question`]. `None` if the machine has no thread left.
    pub fn begin(recording: Arc<Recording>, from: Point, grade: Grade, settings: Settings) -> Option<Self> {
        let errand = Errand::begin(move |outbox| {
            let found = next_question(&recording, from, grade, &settings, &mut || outbox.is_dropped());
            outbox.bring(found.map(|(point, question)| (point, Box::new(question))));
        });
        errand.map(Self)
    }

    /// What was found; `None` inside it if there is no such moment ahead.
    pub fn take(&mut self) -> Brought<Option<Moment>> {
        self.0.take()
    }
}
