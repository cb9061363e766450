//! How much a plan keeps free before the end of windows, so that people and machines may be late.
//!
//! The worse the harm, the more; never more than half of the window. A carrier that has waited past its margin is held
//! to what is left of its own window, and everybody else keeps theirs.

use super::problem::{Problem, Start, Task, rank};
use super::way::{Leeway, Rules};
use crate::ids::TankId;
use crate::units::{Dur, Time};

/// Kept free before the end of a window, by harm, worst first.
const MARGIN: [Dur; 4] = [Dur::from_secs(120), Dur::from_secs(90), Dur::from_secs(60), Dur::from_secs(45)];

/// What is kept for people to react when there is no more.
const REACTION: Dur = Dur::from_secs(5);

/// How soon a carrier that is late can be lifted for, beyond what the crane needs to get there.
const TURN: Dur = Dur::from_secs(20);

/// How much of the margin the carriers on the line keep. Those that have not started keep all of it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Care {
    Full,
    Some,
    None,
}

impl Care {
    fn margin(self) -> [Dur; 4] {
        match self {
            Self::Full => MARGIN,
            Self::Some => [REACTION; 4],
            Self::None => [Dur::ZERO; 4],
        }
    }

    /// The rules that go with it.
    pub fn rules(self, reserve: Dur) -> Rules {
        let reserve = match self {
            Self::Full => reserve,
            Self::Some => reserve.min(REACTION),
            Self::None => Dur::ZERO,
        };
        Rules { aim: false, reserve }
    }
}

/// The problem with margins, and with windows stretched for carriers on the line.
pub(super) fn careful<'a>(problem: &Problem<'a>, care: Care, stretch: [Dur; 4]) -> Problem<'a> {
    problem.with(|task| {
        task.leeway = match task.start {
            Start::Queued { .. } => Leeway { margin: MARGIN, ..Leeway::default() },
            _ => Leeway { margin: care.margin(), stretch, late: Dur::ZERO },
        };
        task.leeway.late = late(problem, task, care);
    })
}

/// By how much a carrier cannot be lifted before the margin of the window it is in begins.
fn late(problem: &Problem, task: &Task, care: Care) -> Dur {
    let Start::Tank { tank, visit, since, hooked: None } = task.start else { return Dur::ZERO };
    let (_, max) = problem.line.window(task.recipe, visit);
    if max.is_unlimited() {
        return Dur::ZERO;
    }
    let Some(there) = soonest(problem, task, tank) else { return Dur::ZERO };
    let rules = Rules { reserve: Dur::ZERO, ..care.rules(Dur::ZERO) };
    let (_, upper) = rules.window(problem.line, task, visit);
    let stretch = task.leeway.stretch[rank(problem.line.harm_over(task.recipe, visit))];
    let ends = since + max + stretch;
    let by = (there + TURN).min(ends.max(there));
    (by - (since + upper)).or_zero()
}

/// When a hoist could lift a carrier if it did nothing else first but put down what it carries.
fn soonest(problem: &Problem, task: &Task, tank: TankId) -> Option<Time> {
    let line = problem.line;
    let lifts = problem.state.hoists.iter().filter_map(|(hoist, h)| {
        let (at, free) = match h.carrier.filter(|c| *c != task.carrier).and_then(|c| problem.task_of(c)) {
            None => (h.at, h.free_from),
            Some(other) => put_down(problem, other)?,
        };
        let travel = line.empty_travel(hoist, at, tank)?;
        Some(free.max(problem.now) + travel + line.hoists[hoist].hook)
    });
    lifts.min()
}

/// Where and when what hangs is down, by the quickest way.
fn put_down(problem: &Problem, task: &Task) -> Option<(TankId, Time)> {
    match task.start {
        Start::Hook { hoist, from, leaves, lifted } => {
            let hauls = problem.hauls_under_way(task.carrier, leaves, from, hoist);
            let haul = hauls.first()?;
            let start =
                (lifted - haul.first().phases.to_lift()).max(problem.now - haul.first().phases.to_down());
            Some((haul.last().to, start + haul.total))
        }
        Start::Tank { tank, visit, since, hooked } => {
            let hauls = problem.hauls(task.recipe, visit, tank, hooked);
            let haul = hauls.first()?;
            let (min, _) = problem.line.window(task.recipe, visit);
            Some((haul.last().to, (since + min).max(problem.now) + haul.total))
        }
        _ => None,
    }
}
