//! What can go wrong with a journal, said with the operation, the path and the line.

use std::io;
use std::path::{Path, PathBuf};

/// A journal cannot be read or written.
#[derive(Debug, thiserror::Error)]
pub enum Error {
    /// The operating system refused.
    #[error("cannot {operation} {}: {}", path.display(), plainly(source))]
    Io {
        /// What was tried, such as `append to the journal`.
        operation: &'static str,
        /// The file or folder.
        path: PathBuf,
        /// What the system said.
        source: io::Error,
    },
    /// A new journal would overwrite another.
    #[error("{} exists already; reopen it, or give the new shift another name", path.display())]
    Exists {
        /// The file.
        path: PathBuf,
    },
    /// Another program holds the lock for longer than an append takes.
    #[error("{} is locked by another program that does not let go; nothing was written", path.display())]
    Locked {
        /// The file.
        path: PathBuf,
    },
    /// Others append faster than this program can answer.
    #[error("{} keeps changing under this program; nothing was written", path.display())]
    Busy {
        /// The file.
        path: PathBuf,
    },
    /// The file does not begin with an opening.
    #[error("{} is not a journal: {why}", path.display())]
    NotAJournal {
        /// The file.
        path: PathBuf,
        /// What is there instead.
        why: String,
    },
    /// The file is a journal of a format this program does not know.
    #[error("{} is written as {found:?}; this program reads {:?}", path.display(), super::FORMAT)]
    Format {
        /// The file.
        path: PathBuf,
        /// The format it names.
        found: String,
    },
    /// A line is not what it must be.
    #[error("{}:{line}: {found}; expected {expected}", path.display())]
    Damaged {
        /// The file.
        path: PathBuf,
        /// The line, counted from 1.
        line: u64,
        /// What was found.
        found: String,
        /// What was expected.
        expected: String,
    },
    /// A line does not carry the hash of the line before it: one of the two was changed.
    #[error("{}:{line}: the hash {found:?} of the line before; expected {expected}; a line was changed or taken out", path.display())]
    Unchained {
        /// The file.
        path: PathBuf,
        /// The line, counted from 1.
        line: u64,
        /// The hash it carries.
        found: String,
        /// The hash of the line before it.
        expected: String,
    },
    /// Another file lies where the journal was.
    #[error("another file lies at {} now; nothing was written, put the journal back", path.display())]
    Replaced {
        /// Where it was.
        path: PathBuf,
    },
    /// The file was removed, and whoever only looks does not put it back.
    #[error("{} was removed; whoever keeps the shift puts it back", path.display())]
    Gone {
        /// Where it was.
        path: PathBuf,
    },
    /// The journal was opened to be looked at only.
    #[error("{} is only looked at here; nothing was written", path.display())]
    OnlyFollowed {
        /// The file.
        path: PathBuf,
    },
    /// The file became shorter than what was read from it.
    #[error(
        "{} was {had} bytes long and is {has} now; somebody cut it. Nothing more is stored in it: leave, and see what is \
         left of it with `dwellhand verify {}`",
        path.display(),
        path.display()
    )]
    Shrunk {
        /// The file.
        path: PathBuf,
        /// The length read so far.
        had: u64,
        /// The length now.
        has: u64,
    },
    /// An event is too long to be stored.
    #[error("an event of {bytes} bytes is too long for {}; at most {} are stored", path.display(), super::LONGEST_LINE)]
    TooLong {
        /// The file.
        path: PathBuf,
        /// Its length.
        bytes: usize,
    },
    /// Every line is as it should be, but all of it together cannot be.
    #[error("{} says what cannot be: {why}; `dwellhand verify` says where it begins", path.display())]
    Impossible {
        /// The file.
        path: PathBuf,
        /// What cannot be.
        why: String,
    },
    /// The texts kept in the journal cannot be used.
    #[error("the texts kept in {} cannot be used: {why}", path.display())]
    Texts {
        /// The file.
        path: PathBuf,
        /// Why not.
        why: String,
    },
}

impl Error {
    /// The line of the journal that is wrong, counted from 1, if it is a line.
    pub fn line(&self) -> Option<u64> {
        match self {
            Self::Damaged { line, .. } | Self::Unchained { line, .. } => Some(*line),
            _ => None,
        }
    }

    /// What is wrong with that line, without path and number.
    pub fn what(&self) -> String {
        match self {
            Self::Damaged { found, expected, .. } => format!("{found}; expected {expected}"),
            Self::Unchained { found, expected, .. } => format!(
                "the hash {found:?} of the line before; expected {expected}; this line or the one before was changed"
            ),
            other => other.to_string(),
        }
    }

    /// For `map_err`: names the operation and the path.
    pub(super) fn io(operation: &'static str, path: &Path) -> impl FnOnce(io::Error) -> Self {
        let path = path.to_owned();
        move |source| Self::Io { operation, path, source }
    }
}

/// What the system said, in plain words where its own are for programmers.
pub fn plainly(error: &io::Error) -> String {
    match error.kind() {
        io::ErrorKind::IsADirectory => "it is a folder; name a file in it".to_owned(),
        _ => error.to_string(),
    }
}
