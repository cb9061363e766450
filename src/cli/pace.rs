//! Pace from the journal of another shift.

use std::path::Path;

use super::Bad;
use super::kept::Kept;
use super::plan::warn;
use crate::line::Line;
use crate::shift::Pace;
use crate::train::Learned;

/// What the moves of a journal say about the hoists of a line that have the same names; says so if it is nothing.
pub fn of(path: &Path, line: &Line) -> Result<Pace, Bad> {
    let kept = Kept::read(path, None)?;
    let learned = Learned::of(&kept.line, &kept.history).pace;
    let here = |name: &str| line.hoists.iter().find(|(_, h)| h.name == name).map(|(id, _)| id);
    let stretch = learned.stretch.iter();
    let stretch = stretch.filter_map(|(id, s)| Some((here(&kept.line.hoists[*id].name)?, *s))).collect();
    let pace = Pace { stretch, ..learned };
    if pace == Pace::default() {
        warn(&format!("{}: too few moves to learn a pace from; the line file's times count", path.display()));
    }
    Ok(pace)
}
