//! Work at a bench beside the line, against the window it was given.

use crate::shift::Bench;
use crate::units::Dur;

/// By how much a time at a bench misses its window; `None` if it keeps it.
fn missed(bench: &Bench, spent: Dur) -> Option<String> {
    if spent > bench.max {
        Some(format!("{} over the longest {}", spent - bench.max, bench.max))
    } else if spent < bench.min {
        Some(format!("{} under the shortest {}", bench.min - spent, bench.min))
    } else {
        None
    }
}

/// How long it was there, its window, and whether that was kept.
pub(super) fn words(bench: &Bench, spent: Dur) -> String {
    let max = if bench.max.is_unlimited() { "no limit".to_owned() } else { bench.max.to_string() };
    let kept = missed(bench, spent).map_or_else(|| "kept".to_owned(), |by| format!("OUTSIDE, {by}"));
    format!("at bench {} for {spent}, window {} to {max}: {kept}", bench.name, bench.min)
}
