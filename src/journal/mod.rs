//! The journal: what was said on a shift, as lines of JSON in one file that only grows.
//!
//! The first line is the opening: the texts the shift runs on, so that the file replays where nothing else is at hand.
//! Every further line is one event, numbered without gaps and carrying the SHA-256 of the line before it. Several
//! programs may keep one journal: the file is locked for one append at a time, and an append that has not seen the newest
//! event is turned away with what it missed. Knows no planner and no screen, and judges no event: see `shift::decide`.

mod chain;
mod disk;
mod error;
mod mend;
mod place;
mod quote;
mod reader;
mod record;
pub mod wire;
mod writer;

pub use chain::{Digest, Torn};
pub use disk::{Disk, Found, owner_only};
pub use error::{Error, plainly};
pub use mend::Mended;
pub use place::{config_path, default_path, ensure_folder};
pub use quote::{quote, unquote};
pub use reader::{Good, Reader, is_journal, read, read_good};
pub use record::{Header, Origin, Record, StoredText, StoredTexts, Written};
pub use writer::{Appended, Journal, Synced, opening};

/// The name of the format this program writes.
pub const FORMAT: &str = "dwellhand-journal/1";

/// The longest line that is read or written, in bytes. A plan of 300 moves takes about 20 kB, the texts of a line of
/// 35 tanks about 50 kB.
pub const LONGEST_LINE: usize = 4 << 20;
