//! What the plant is: rail, tanks, stages, hoists, rectifiers, recipes and orders.
//!
//! Everything here is immutable once built. It knows no text format (see `files`), no shift and no plan.

mod bath;
mod hoist;
mod order;
mod plant;
mod recipe;
mod travel;

pub use bath::{Limit, Quantity, Rinsing};
pub use hoist::{Hoist, Lift, Travel};
pub use order::{CarrierSpec, EntrySide, NamedRack, Order, OrderBook, Priority, Rack};
pub use plant::{Rail, Rectifier, Role, Stage, StageKind, Tank};
pub use recipe::{Current, Harm, Hold, Recipe, Rework, Step, Visit};
pub use travel::{Phases, ramp_time};

use crate::ids::{Arena, HoistId, Id, RecipeId, RectifierId, StageId, StepNo, TankId};
use crate::units::{Dur, Watts};

/// A line and the recipes it runs.
#[derive(Debug, Clone, PartialEq)]
pub struct Line {
    /// The line's name, for titles.
    pub name: String,
    /// The rail all hoists share.
    pub rail: Rail,
    /// Tanks and stations in rail order as the file gives them.
    pub tanks: Arena<TankId, Tank>,
    /// Stages, standby kinds included.
    pub stages: Arena<StageId, Stage>,
    /// Hoists from the rail's low end to its high end; they never pass.
    pub hoists: Arena<HoistId, Hoist>,
    /// Rectifiers.
    pub rectifiers: Arena<RectifierId, Rectifier>,
    /// The most DC power all anodise tanks together may draw.
    pub power_cap: Option<Watts>,
    /// How rinses are run.
    pub rinsing: Rinsing,
    /// What is allowed of rework.
    pub rework: Rework,
    /// Recipes.
    pub recipes: Arena<RecipeId, Recipe>,
}

impl Line {
    /// The tanks of a stage, in file order.
    pub fn tanks_of(&self, stage: StageId) -> impl Iterator<Item = TankId> + '_ {
        self.tanks.iter().filter(move |(_, t)| t.role == Role::Bath(stage)).map(|(id, _)| id)
    }

    /// Stations where a carrier may be taken onto the line.
    pub fn load_stations(&self) -> impl Iterator<Item = TankId> + '_ {
        self.tanks
            .iter()
            .filter(|(_, t)| matches!(t.role, Role::Station { load: true, .. }))
            .map(|(id, _)| id)
    }

    /// Stations where a finished carrier may be put down.
    pub fn unload_stations(&self) -> impl Iterator<Item = TankId> + '_ {
        self.tanks
            .iter()
            .filter(|(_, t)| matches!(t.role, Role::Station { unload: true, .. }))
            .map(|(id, _)| id)
    }

    /// The step of a recipe. Panics if the recipe has no such step.
    pub fn step(&self, recipe: RecipeId, step: StepNo) -> &Step {
        &self.recipes[recipe].steps[step.ix()]
    }

    /// The places a carrier may be put down for a visit.
    pub fn places_for(&self, recipe: RecipeId, visit: Visit) -> Vec<TankId> {
        match visit {
            Visit::Step(n) => self.tanks_of(self.step(recipe, n).stage).collect(),
            Visit::Hold(n) => {
                self.step(recipe, n).hold.as_ref().map_or_else(Vec::new, |h| self.tanks_of(h.stage).collect())
            }
            Visit::Load => self.load_stations().collect(),
            Visit::Unload => self.unload_stations().collect(),
            Visit::Stray { .. } => Vec::new(),
        }
    }

    /// The visit a carrier must make after this one if it makes no standby detour.
    pub fn next_visit(&self, recipe: RecipeId, visit: Visit) -> Option<Visit> {
        let step = match visit {
            Visit::Load => StepNo(0),
            Visit::Step(n) | Visit::Hold(n) => n.next(),
            Visit::Stray { resume } => resume,
            Visit::Unload => return None,
        };
        Some(if step.ix() < self.recipes[recipe].steps.len() { Visit::Step(step) } else { Visit::Unload })
    }

    /// True if a recipe is for rework of another one: it strips, and after that does the last part of what the other one
    /// does, the same windows kept.
    pub fn restarts(&self, rework: RecipeId, recipe: RecipeId) -> bool {
        let steps = &self.recipes[rework].steps;
        let strips = |s: &Step| self.stages[s.stage].kind == StageKind::Strip;
        let Some(last) = steps.iter().rposition(strips) else { return false };
        let again = &steps[last + 1..];
        let figures = |s: &Step| (s.stage, s.min, s.max);
        let whole = &self.recipes[recipe].steps;
        let skipped = whole.len().checked_sub(again.len());
        let same = |from: usize| whole[from..].iter().map(figures).eq(again.iter().map(figures));
        self.recipes[rework].rework && !again.is_empty() && skipped.is_some_and(same)
    }

    /// Shortest and longest dwell that keep the window of a visit. A stray carrier should leave at once.
    pub fn window(&self, recipe: RecipeId, visit: Visit) -> (Dur, Dur) {
        match visit {
            Visit::Step(n) => {
                let s = self.step(recipe, n);
                (s.min, s.max)
            }
            Visit::Hold(n) => (Dur::ZERO, self.step(recipe, n).hold.as_ref().map_or(Dur::ZERO, |h| h.max)),
            Visit::Stray { .. } => (Dur::ZERO, Dur::ZERO),
            Visit::Load | Visit::Unload => (Dur::ZERO, Dur::UNLIMITED),
        }
    }

    /// The step whose bath still clings to the carrier during a visit: it sets drip and the air limit on leaving. None for a
    /// visit that the recipe does not have: a journal may say anything.
    pub fn wet_step(&self, recipe: RecipeId, visit: Visit) -> Option<&Step> {
        let steps = &self.recipes[recipe].steps;
        match visit {
            Visit::Step(n) | Visit::Hold(n) => steps.get(n.ix()),
            Visit::Stray { resume } if resume.0 > 0 => steps.get(usize::from(resume.0) - 1),
            Visit::Stray { .. } | Visit::Load | Visit::Unload => None,
        }
    }

    /// How long a carrier drips over the tank it leaves.
    pub fn drip(&self, recipe: RecipeId, visit: Visit) -> Dur {
        self.wet_step(recipe, visit).map_or(Dur::ZERO, |s| s.drip)
    }

    /// The longest air time allowed when leaving a visit; unlimited where the recipe sets none.
    pub fn air_max(&self, recipe: RecipeId, visit: Visit) -> Dur {
        self.wet_step(recipe, visit).map_or(Dur::UNLIMITED, |s| s.air_max)
    }

    /// True if the hoist stays attached during this visit.
    pub fn on_hook(&self, recipe: RecipeId, visit: Visit) -> bool {
        matches!(visit, Visit::Step(n) if self.step(recipe, n).on_hook)
    }

    /// The harm of staying too long in a visit.
    pub fn harm_over(&self, recipe: RecipeId, visit: Visit) -> Harm {
        match visit {
            Visit::Hold(n) => self.step(recipe, n).hold.as_ref().map_or(Harm::Rework, |h| h.over),
            // A wrong bath is never a matter of wiping off.
            Visit::Stray { .. } => {
                self.wet_step(recipe, visit).map_or(Harm::Rework, |s| s.over.min(Harm::Rework))
            }
            _ => self.wet_step(recipe, visit).map_or(Harm::Nuisance, |s| s.over),
        }
    }
}
