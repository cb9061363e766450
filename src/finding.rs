//! What is wrong with an input, said so that a person can put it right.

use std::fmt;

/// Where in a source text a finding points: a byte range, or the whole text if empty.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Origin {
    /// First byte of the offending text.
    pub start: usize,
    /// One past its last byte.
    pub end: usize,
}

/// How bad it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Severity {
    /// Works, but a person should look at it.
    Warning,
    /// Nothing starts until this is put right.
    Error,
}

/// One thing that is wrong with a file. All of a file's findings are reported at once.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Finding {
    /// Error or warning.
    pub severity: Severity,
    /// A stable short name, such as `stage-without-tank`.
    pub code: &'static str,
    /// The file as the user named it.
    pub file: String,
    /// Line, counted from 1; 0 when the whole file is meant.
    pub line: usize,
    /// Column in characters, counted from 1; 0 when the whole file is meant.
    pub column: usize,
    /// Where in the structure, such as `tanks[3].stage`.
    pub path: String,
    /// What was found.
    pub found: String,
    /// What was expected, and what to do.
    pub expected: String,
    /// The byte range in the file, for the excerpt.
    pub origin: Origin,
}

impl fmt::Display for Finding {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let severity = match self.severity {
            Severity::Error => "error",
            Severity::Warning => "warning",
        };
        write!(f, "{}", self.file)?;
        if self.line > 0 {
            write!(f, ":{}:{}", self.line, self.column)?;
        }
        write!(f, ": {severity}[{}]", self.code)?;
        if !self.path.is_empty() {
            write!(f, " at {}", self.path)?;
        }
        write!(f, ": {}; expected {}", self.found, self.expected)
    }
}
