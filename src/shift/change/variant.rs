//! Recipes and hoists that a change makes of others.

use super::{Whose, Window};
use crate::ids::{CarrierId, Id as _, StageId, StepNo};
use crate::line::{Harm, Hoist, Lift, Line, Recipe, Step, Travel, Visit};
use crate::shift::state::{Place, State};
use crate::units::{Dur, Time};

/// The hoist at a share of its speed. A measured time gets longer as if all of it were motion.
pub fn slowed(hoist: &Hoist, percent: u8) -> Hoist {
    let share = f64::from(percent) / 100.0;
    let longer = |d: Dur| Dur((d.0 * 100 + i64::from(percent) - 1).div_euclid(i64::from(percent)));
    let table =
        |rows: &[Vec<Option<Dur>>]| rows.iter().map(|r| r.iter().map(|d| d.map(longer)).collect()).collect();
    Hoist {
        lift: match hoist.lift {
            Lift::Kinematic { height, speed, accel } => {
                Lift::Kinematic { height, speed: speed * share, accel }
            }
            Lift::Fixed { raise, lower } => Lift::Fixed { raise: longer(raise), lower: longer(lower) },
        },
        travel: match &hoist.travel {
            &Travel::Kinematic { speed, accel, decel } => {
                Travel::Kinematic { speed: speed * share, accel, decel }
            }
            Travel::Table { empty, loaded } => Travel::Table { empty: table(empty), loaded: table(loaded) },
        },
        ..hoist.clone()
    }
}

/// The recipe with another window for one step.
pub fn with_window(recipe: &Recipe, step: StepNo, window: Window, whose: &str) -> Recipe {
    let mut changed = Recipe { name: named(recipe, whose), ..recipe.clone() };
    let s = &mut changed.steps[step.ix()];
    (s.min, s.target, s.max) = (window.min, window.target, window.max);
    changed
}

/// The recipe for rework of a carrier that is on the line: first of all it is where it is, and may stay there without
/// harm, because it is spoiled already.
pub fn from_here(recipe: &Recipe, here: StageId, drip: Dur, whose: &str) -> Recipe {
    let wait = Step {
        stage: here,
        min: Dur::ZERO,
        target: Dur::ZERO,
        max: Dur::UNLIMITED,
        drip,
        air_max: Dur::UNLIMITED,
        on_hook: false,
        over: Harm::Nuisance,
        under: Harm::Nuisance,
        air: Harm::Nuisance,
        hold: None,
        current: None,
    };
    let mut changed = Recipe { name: named(recipe, whose), ..recipe.clone() };
    changed.steps.insert(0, wait);
    changed
}

/// The recipe from a step on, for a carrier that has had the steps before.
pub fn from_step(recipe: &Recipe, step: StepNo, whose: &str) -> Recipe {
    let mut rest = Recipe { name: named(recipe, whose), ..recipe.clone() };
    rest.steps.drain(..step.ix().min(recipe.steps.len()));
    rest
}

fn named(recipe: &Recipe, whose: &str) -> String {
    let filed = recipe.name.split(" for ").next().unwrap_or_default();
    format!("{filed} for {whose}")
}

/// The carriers whose dwell in a step may still be changed.
pub fn still_before(line: &Line, state: &State, whose: Whose, step: StepNo) -> Vec<CarrierId> {
    let concerned = |id: CarrierId| match whose {
        Whose::Carrier(carrier) => id == carrier,
        // One that was sent to rework no longer runs what its order says.
        Whose::Order(order) => {
            state.book.carriers[id].order == order && !state.standing.runs.contains_key(&id)
        }
    };
    let has = |id: CarrierId| step.ix() < line.recipes[state.book.carriers[id].recipe].steps.len();
    let before = |id: CarrierId| match state.carriers[id].place {
        Place::Queued => true,
        Place::InTank { visit, .. } => match visit {
            Visit::Load => true,
            Visit::Step(n) => n <= step,
            Visit::Hold(n) => n < step,
            Visit::Stray { resume } => resume <= step,
            Visit::Unload => false,
        },
        Place::OnHook { leaves, .. } => match leaves {
            Visit::Load => true,
            Visit::Step(n) | Visit::Hold(n) => n < step,
            Visit::Stray { resume } => resume <= step,
            Visit::Unload => false,
        },
        Place::Finished { .. } | Place::OffLine => false,
    };
    state.carriers.ids().filter(|&id| concerned(id) && has(id) && before(id)).collect()
}

/// True if the dwell of a carrier that is in a step is longer already than a window lets it be.
pub fn is_past(state: &State, carrier: CarrierId, step: StepNo, window: Window, now: Time) -> bool {
    matches!(state.carriers[carrier].place, Place::InTank { visit: Visit::Step(n), since, .. }
        if n == step && !window.max.is_unlimited() && since + window.max < now)
}
