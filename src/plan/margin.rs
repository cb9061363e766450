//! How much a plan keeps free before the end of windows, so that people and machines may be late.
//!
//! The worse the harm, the more; never more than half of the window. A carrier that has waited past its margin is held
//! to what is left of its own window, and everybody else keeps theirs.

use super::problem::{Problem, Start, Task, rank};
use super::way::{Leeway, Rules};
use super::{Reserve, Settings};
use crate::ids::{RecipeId, TankId};
use crate::line::{Line, Visit};
use crate::shift::alarm;
use crate::units::{Dur, Time};

/// Kept free before the end of a window, by harm, worst first.
const MARGIN: [Dur; 4] = [Dur::from_secs(120), Dur::from_secs(90), Dur::from_secs(60), Dur::from_secs(45)];

/// What is kept for people to react when there is no more.
const REACTION: Dur = Dur::from_secs(5);

/// How soon a carrier that is late can be lifted for, beyond what the crane needs to get there.
const TURN: Dur = Dur::from_secs(20);

/// How long a carrier whose window is lost may wait for those whose window can be kept.
const YIELDS: Dur = Dur::from_mins(5);

/// Longer than any plan.
const FOR_GOOD: Dur = Dur::from_mins(60 * 24 * 30);

/// How much of the margin the carriers on the line keep. Those that have not started keep all of it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Care {
    Full,
    Some,
    None,
}

impl Care {
    /// The most first.
    pub const ALL: [Self; 3] = [Self::Full, Self::Some, Self::None];

    fn margin(self) -> [Dur; 4] {
        match self {
            Self::Full => MARGIN,
            Self::Some => [REACTION; 4],
            Self::None => [Dur::ZERO; 4],
        }
    }

    /// The rules that go with it.
    pub fn rules(self, reserve: Reserve) -> Rules {
        let reserve = match self {
            Self::Full => reserve,
            Self::Some => reserve.at_most(REACTION),
            Self::None => Reserve::NONE,
        };
        Rules { reserve }
    }
}

/// The longest dwell with all the margin there should be, whatever a plan is held to; unlimited if the window is.
pub(super) fn longest_with_all(line: &Line, recipe: RecipeId, visit: Visit) -> Dur {
    let (min, max) = line.window(recipe, visit);
    if max.is_unlimited() {
        return max;
    }
    max - MARGIN[rank(line.harm_over(recipe, visit))].min(Dur((max - min).0 / 2)).or_zero()
}

/// The problem and the rules a plan may be held to, the most careful first.
pub(super) fn ladder<'a>(
    problem: &Problem<'a>,
    settings: &Settings,
) -> impl Iterator<Item = (Problem<'a>, Rules)> {
    let held = |care: Care| (careful(problem, settings, care, [Dur::ZERO; 4]), care.rules(settings.reserve));
    Care::ALL.into_iter().map(held)
}

/// The problem with margins, and with windows stretched for carriers on the line. Without any reserve there is no margin
/// either.
pub(super) fn careful<'a>(
    problem: &Problem<'a>,
    settings: &Settings,
    care: Care,
    stretch: [Dur; 4],
) -> Problem<'a> {
    let wanted = |care: Care| if settings.reserve == Reserve::NONE { [Dur::ZERO; 4] } else { care.margin() };
    problem.with(|task| {
        task.leeway = match task.start {
            Start::Queued { .. } => Leeway { margin: wanted(Care::Full), ..Leeway::default() },
            _ => Leeway { margin: wanted(care), stretch, late: Dur::ZERO },
        };
        task.leeway.late = late(problem, task);
    })
}

/// By how much a carrier cannot be lifted before the margin of the window it is in begins. One that has nothing left to
/// lose comes after those that have.
fn late(problem: &Problem, task: &Task) -> Dur {
    let Start::Tank { tank, visit, since, hooked: None } = task.start else { return Dur::ZERO };
    let (_, max) = problem.line.window(task.recipe, visit);
    if max.is_unlimited() {
        return Dur::ZERO;
    }
    let Some(there) = soonest(problem, task, tank) else { return Dur::ZERO };
    let rules = Rules { reserve: Reserve::NONE };
    let (_, upper) = rules.window(problem.line, task, visit);
    let stretch = task.leeway.stretch[rank(problem.line.harm_over(task.recipe, visit))];
    let ends = since + max + stretch;
    let by = if alarm::is_past_grace(max, problem.now - since) {
        there.max(problem.now + YIELDS)
    } else {
        (there + TURN).min(ends.max(there))
    };
    (by - (since + upper)).or_zero()
}

/// The problem in which a carrier whose window is lost limits nothing: it may stay where it is for as long as it takes.
pub(super) fn lost_may_wait<'a>(problem: &Problem<'a>) -> Problem<'a> {
    problem.with(|task| {
        if let Start::Tank { visit, since, .. } = task.start
            && alarm::is_past_grace(problem.line.window(task.recipe, visit).1, problem.now - since)
        {
            task.leeway.late = FOR_GOOD;
        }
    })
}

/// When a hoist could lift a carrier if it did nothing else first but put down what it carries.
fn soonest(problem: &Problem, task: &Task, tank: TankId) -> Option<Time> {
    let line = problem.line;
    let lifts = problem.state.hoists.iter().filter_map(|(hoist, h)| {
        let (at, free) = match h.carrier.filter(|c| *c != task.carrier).and_then(|c| problem.task_of(c)) {
            None => (h.at, problem.free_from(hoist)),
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
            let hauls = problem.hauls_under_way(task, leaves, from, hoist);
            let haul = hauls.first()?;
            let start = problem.under_way_from(hoist, lifted, haul);
            Some((haul.last().to, start + haul.total))
        }
        Start::Tank { tank, visit, since, hooked } => {
            let hauls = problem.hauls(task, visit, tank, hooked);
            let haul = hauls.first()?;
            let (min, _) = problem.line.window(task.recipe, visit);
            Some((haul.last().to, (since + min).max(problem.now) + haul.total))
        }
        _ => None,
    }
}
