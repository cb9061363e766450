//! Ways out of trouble: what could be done, planned on and priced before anybody asks.
//!
//! 1. `trouble` says what is wrong.
//! 2. `candidates` makes options of what is so: few, each for a reason.
//! 3. `price` plans each of them on, has the plan verified and works out what it is worth.
//! 4. The best two are tried together, and all are ranked by the objective, part by part. Changing nothing is always one of
//!    them.

mod candidates;
mod price;
mod trouble;
mod what;

pub use trouble::{Trouble, trouble};
pub use what::What;

use super::Prospect;
use crate::line::Line;
use crate::plan::{Budget, Settings};
use crate::shift::{Command, History};
use crate::units::Time;
use price::Pricing;

/// The most options that are told, changing nothing among them.
const TOLD: usize = 6;

/// One way out.
#[derive(Debug, Clone, PartialEq)]
pub struct WayOut {
    /// What would be done.
    pub what: What,
    /// The commands that do it, to be said at once; none for changing nothing.
    pub commands: Vec<Command>,
    /// How the shift goes on then. What lasts only for a while has ended in it: see [`What::ends`]. Its worth carries the
    /// price of loads that are given up: what they would have broken if nothing were changed.
    pub prospect: Prospect,
}

/// The ways out of the trouble there is at `now`, the best first; empty if there is none. Of ways that are worth the same
/// the simpler one comes first, and no way with a scrap-class breach comes before one without.
///
/// Plans are made better by at most `tries` trial insertions in all. `stop` is asked again and again; once it says true,
/// only what has been priced by then is told.
pub fn ways_out(
    line: &Line,
    history: &History,
    now: Time,
    settings: &Settings,
    tries: u64,
    stop: &mut dyn FnMut() -> bool,
) -> Vec<WayOut> {
    let Some(trouble) = trouble(line, history, now) else { return Vec::new() };
    let (line, filed) = (history.state().line(line), line);
    // Every option is said to a copy of it.
    let history = &History::from_now_on(history.state().clone());
    // The base first: everything else is found in what it cannot keep.
    let share = tries / (candidates::MOST as u64 + 2);
    let nothing =
        price::nothing(filed, history, now, settings, &mut Budget { tries: share, stop: &mut *stop });
    // Every way begins from the order of moves that is best without it, so that what differs is its own doing.
    let mut planned_on = history.state().clone();
    planned_on.plan = Some(nothing.schedule.clone());
    let history = &History::from_now_on(planned_on);
    let jam = candidates::Jam::of(line, history.state(), &trouble, &nothing, now, settings);
    let pricing = Pricing { line: filed, history, now, settings, nothing: &nothing };
    let mut ways: Vec<WayOut> = Vec::new();
    for what in jam.candidates() {
        if stop() {
            break;
        }
        ways.extend(pricing.way(what, &mut Budget { tries: share, stop: &mut *stop }));
    }
    ways.sort_by_key(price::rank);
    if let [first, second, ..] = &ways[..]
        && first.what.goes_with(&second.what)
        && !stop()
    {
        let both = What::Both(Box::new(first.what.clone()), Box::new(second.what.clone()));
        ways.extend(pricing.way(both, &mut Budget { tries: share, stop: &mut *stop }));
    }
    let mut best = nothing.clone();
    for way in &ways {
        best = price::without_it(filed, &best, way, now, settings).unwrap_or(best);
    }
    ways.push(WayOut { what: What::Nothing, commands: Vec::new(), prospect: best });
    ways.sort_by_key(price::rank);
    told(ways)
}

/// The best of them, and changing nothing.
fn told(mut ways: Vec<WayOut>) -> Vec<WayOut> {
    let nothing = ways.iter().position(|w| w.what == What::Nothing);
    if let Some(at) = nothing.filter(|at| *at >= TOLD) {
        ways.swap(at, TOLD - 1);
    }
    ways.truncate(TOLD);
    ways
}
