//! Calls a person who looks elsewhere: a bell, a note on the desktop. Each has its switch; both are for the onset of an
//! alarm only, and never often.

use std::collections::BTreeSet;
use std::time::{Duration, Instant};

use crate::shift::AlarmLevel;
use crate::view::{AlarmOf, AlarmRow, Board};

/// Whatever sets in after a call waits this long; then one call stands for all of it.
const QUIET: Duration = Duration::from_secs(10);

/// The longest note.
const LONGEST: usize = 120;

/// What may call.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Calls {
    /// Ring the terminal's bell.
    pub bell: bool,
    /// Ask the terminal for a note on the desktop.
    pub note: bool,
}

/// Remembers which alarms were heard.
#[derive(Debug, Default)]
pub struct Herald {
    calls: Calls,
    heard: Option<BTreeSet<(AlarmOf, AlarmLevel)>>,
    waiting: Option<String>,
    last: Option<Instant>,
}

impl Herald {
    /// Nothing heard yet.
    pub fn new(calls: Calls) -> Self {
        Self { calls, ..Self::default() }
    }

    /// What to send to the terminal now; empty most of the time. What stands when the screens open is no onset.
    pub fn hear(&mut self, board: &Board, at: Instant) -> Vec<u8> {
        let standing: BTreeSet<_> =
            board.alarms.iter().filter(|a| calls(a)).map(|a| (a.of, a.level)).collect();
        let known = self.heard.replace(standing.clone());
        let is_new =
            |a: &&AlarmRow| calls(a) && known.as_ref().is_some_and(|k| !k.contains(&(a.of, a.level)));
        if let Some(alarm) = board.alarms.iter().find(is_new) {
            self.waiting.get_or_insert_with(|| format!("{} {}", alarm.level_word, alarm.text));
        }
        if standing.is_empty() {
            // It came and went: nobody needs to run.
            self.waiting = None;
        }
        if self.last.is_some_and(|t| at.duration_since(t) < QUIET) {
            return Vec::new();
        }
        let Some(words) = self.waiting.take() else { return Vec::new() };
        self.last = Some(at);
        let mut bytes = Vec::new();
        if self.calls.bell {
            bytes.push(0x07);
        }
        if self.calls.note {
            let plain: String = words.chars().filter(|c| !c.is_control()).take(LONGEST).collect();
            bytes.extend(format!("\u{1b}]9;dwellhand: {plain}\u{1b}\\").into_bytes());
        }
        bytes
    }
}

/// Only an alarm that is so and that nobody has seen calls.
fn calls(alarm: &AlarmRow) -> bool {
    alarm.is_alarm() && alarm.active && alarm.unseen && !alarm.is_shelved()
}
