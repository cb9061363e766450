//! What a journal is made of: one header, then records.

use chrono::{DateTime, FixedOffset};

use super::chain::Digest;
use crate::civil::Opening;
use crate::clock::{self, Uptime};
use crate::ids::Seq;
use crate::shift::Stamped;
use crate::units::Time;

/// A text a shift runs on, whole.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct StoredText {
    /// The name of the file it was read from.
    pub name: String,
    /// The text.
    pub text: String,
}

/// The texts a shift runs on.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct StoredTexts {
    /// The line file.
    pub line: StoredText,
    /// The recipes file.
    pub recipes: StoredText,
    /// The orders file.
    pub orders: StoredText,
}

impl StoredTexts {
    /// The fingerprint of the three texts, names left out: the same for the same plant, recipes and orders.
    pub fn fingerprint(&self) -> Digest {
        let mut all = Vec::new();
        for part in [&self.line, &self.recipes, &self.orders] {
            // The length keeps text from moving over the border between two files.
            all.extend_from_slice(format!("{}\n", part.text.len()).as_bytes());
            all.extend_from_slice(part.text.as_bytes());
        }
        Digest::of(&all)
    }
}

/// What a journal says about its shift before anything happens.
#[derive(Debug, Clone, PartialEq)]
pub struct Header {
    /// The texts the shift runs on.
    pub texts: StoredTexts,
    /// Where the shift's axis begins.
    pub opening: Opening,
    /// The plant's time zone, as a name or an offset, for people.
    pub zone: String,
    /// The program and its version.
    pub program: String,
    /// True if nothing real is moved.
    pub practice: bool,
    /// How many times faster than the wall the shift's clock runs; 1 unless it is practice.
    pub speed: f64,
    /// When the journal was made, by the wall clock.
    pub created: DateTime<FixedOffset>,
    /// The shift this practice goes on from; `None` for one of its own.
    pub forked_from: Option<Origin>,
}

/// Where a practice took over from another shift.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Origin {
    /// The name of that shift's journal.
    pub journal: String,
    /// The last event they have in common.
    pub event: Seq,
    /// The instant at which it goes on by itself.
    pub at: Time,
    /// The hash of that event's line there, in hexadecimal digits: says which event it was, whatever became of the file.
    pub hash: String,
    /// Lines of that journal which come to the practice as well, whatever is done in it.
    pub to_come: Vec<String>,
}

/// When something was written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Written {
    /// By the wall clock.
    pub wall: DateTime<FixedOffset>,
    /// By how long the machine had been running, if it says: tells what really passed until the next entry.
    pub up: Option<Uptime>,
}

impl Written {
    /// Now.
    pub fn now() -> Self {
        Self { wall: clock::wall_now(), up: clock::uptime() }
    }
}

/// Of a machine that does not say how long it has been running.
impl From<DateTime<FixedOffset>> for Written {
    fn from(wall: DateTime<FixedOffset>) -> Self {
        Self { wall, up: None }
    }
}

/// One event as it stands in the journal.
#[derive(Debug, Clone, PartialEq)]
pub struct Record {
    /// The event.
    pub stamped: Stamped,
    /// When it was written.
    pub written: Written,
}
