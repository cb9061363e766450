//! The small files the program keeps for itself and what is typed at it, from text to what is made of it: for whoever
//! wants to know what a hostile one does.

use super::progress::Progress;
use super::seat::Reading;
use super::{calc, preferences};
use crate::clock::RunningClock;
use crate::files::Source;
use crate::finding::Finding;
use crate::units::Time;

/// What is wrong with a preferences file.
pub fn preferences(source: Source<'_>) -> Result<(), Vec<Finding>> {
    preferences::judge(source)
}

/// What a progress file says of everybody in it, and which of its lines are left out.
pub fn progress(text: &str) -> (Vec<String>, Vec<String>) {
    let (progress, left_out) = Progress::of(text);
    (progress.initials().map(|initials| progress.words(initials)).collect(), left_out)
}

/// The clock that a terminal goes by which joins a practice; `None` if the text says no time.
pub fn clock_of_practice(text: &str) -> Option<RunningClock> {
    Reading::of(text).map(|reading| reading.clock(Time::ZERO))
}

/// What process arithmetic answers to a typed line.
pub fn typed(line: &str) -> Vec<String> {
    calc::typed(line)
}
