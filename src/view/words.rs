//! Names and phrases used by every part of the board.

use crate::ids::{Id as _, RecipeId, StepNo, TankId};
use crate::line::{Line, Visit};
use crate::shift::Place;

/// A tank as it is told to a person.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Spot {
    /// Which tank.
    pub tank: TankId,
    /// Its short name.
    pub name: String,
    /// What it holds.
    pub label: String,
}

impl Spot {
    /// The tank's names.
    pub fn of(line: &Line, tank: TankId) -> Self {
        let t = &line.tanks[tank];
        Self { tank, name: clean(&t.name), label: clean(&t.label) }
    }

    /// Name and label: `T06 etch`.
    pub fn words(&self) -> String {
        if self.label.is_empty() { self.name.clone() } else { format!("{} {}", self.name, self.label) }
    }
}

/// Text from a file without anything that could move the cursor: control characters become spaces, length is bounded.
pub fn clean(text: &str) -> String {
    text.chars().take(200).map(|c| if c.is_control() { ' ' } else { c }).collect::<String>().trim().to_owned()
}

/// What a visit is, in words.
pub fn visit_words(line: &Line, recipe: RecipeId, visit: Visit) -> String {
    match visit {
        Visit::Load => "load".to_owned(),
        Visit::Unload => "unload".to_owned(),
        Visit::Step(n) => step_label(line, recipe, n),
        Visit::Hold(n) => format!("standby after {}", step_label(line, recipe, n)),
        Visit::Stray { resume } if resume.ix() < line.recipes[recipe].steps.len() => {
            format!("not on its sheet; goes on with {}", step_label(line, recipe, resume))
        }
        Visit::Stray { .. } => "not on its sheet; goes on with unload".to_owned(),
    }
}

/// Where a visit was, for a sentence about the past; what comes after it no longer matters then.
pub(super) fn past_words(line: &Line, recipe: RecipeId, visit: Visit) -> String {
    match visit {
        Visit::Stray { .. } => "a tank that is not on its sheet".to_owned(),
        visit => visit_words(line, recipe, visit),
    }
}

/// Step and number of steps: the place in the recipe a visit stands for, counted from 1; 0 before the first.
pub(super) fn step_of(line: &Line, recipe: RecipeId, visit: Visit) -> (usize, usize) {
    let all = line.recipes[recipe].steps.len();
    let k = match visit {
        Visit::Load => 0,
        Visit::Step(n) | Visit::Hold(n) => n.ix() + 1,
        Visit::Stray { resume } => resume.ix(),
        Visit::Unload => all,
    };
    (k.min(all), all)
}

fn step_label(line: &Line, recipe: RecipeId, step: StepNo) -> String {
    let Some(step) = line.recipes[recipe].steps.get(step.ix()) else { return "unload".to_owned() };
    let stage = &line.stages[step.stage];
    clean(if stage.label.is_empty() { &stage.name } else { &stage.label })
}

/// Where a carrier is, in words.
pub(super) fn whereabouts(line: &Line, place: Place) -> String {
    match place {
        Place::Queued => "in the queue".to_owned(),
        Place::InTank { tank, .. } => format!("in {}", Spot::of(line, tank).words()),
        Place::OnHook { hoist, .. } => format!("on hook {}", clean(&line.hoists[hoist].name)),
        Place::Finished { tank, .. } => format!("finished at {}", Spot::of(line, tank).name),
        Place::OffLine => "off the line".to_owned(),
    }
}
