//! What the process sheet asks of a visit, read from the recipe's raw steps. Steps that do not exist ask nothing.

use super::{Rule, figure};
use crate::ids::{Id, RecipeId, StepNo, TankId};
use crate::line::{Harm, Line, Recipe, Role, StageKind, Step, Visit};
use crate::units::Dur;

/// One recipe of a line.
#[derive(Clone, Copy)]
pub struct Sheet<'a> {
    line: &'a Line,
    recipe: &'a Recipe,
}

/// The window of a visit and what leaving it does.
pub struct Window {
    /// Shortest dwell.
    pub min: Dur,
    /// Longest dwell.
    pub max: Dur,
    /// Harm of too short.
    pub under: Harm,
    /// Harm of too long.
    pub over: Harm,
    /// It is a tank that is not on the sheet there: any dwell is too long.
    pub stray: bool,
}

impl Window {
    /// How a dwell breaks the window: the rule, the harm, by how much, and the figures in words.
    pub fn broken_by(&self, dwell: Dur) -> Option<(Rule, Harm, Dur, String)> {
        let (rule, harm, by, words, limit) = if dwell < self.min {
            (Rule::Under, self.under, self.min - dwell, "under the shortest", self.min)
        } else if dwell > self.max {
            (Rule::Over, self.over, dwell - self.max, "over the longest", self.max)
        } else {
            return None;
        };
        let text = if self.stray {
            format!("{} in a tank where its sheet has no step ({})", figure(dwell), harm.word())
        } else {
            format!("dwell {} is {} {words} {} ({})", figure(dwell), figure(by), figure(limit), harm.word())
        };
        Some((rule, harm, by, text))
    }
}

impl<'a> Sheet<'a> {
    pub fn of(line: &'a Line, recipe: RecipeId) -> Option<Self> {
        Some(Self { line, recipe: line.recipes.get(recipe)? })
    }

    pub fn step(&self, n: StepNo) -> Option<&'a Step> {
        self.recipe.steps.get(n.ix())
    }

    /// False if the visit names a step that does not exist.
    pub fn knows(&self, visit: Visit) -> bool {
        match visit {
            Visit::Load | Visit::Unload => true,
            Visit::Step(n) | Visit::Hold(n) => self.step(n).is_some(),
            Visit::Stray { resume } => resume.ix() <= self.recipe.steps.len(),
        }
    }

    /// The visits that may follow.
    pub fn followers(&self, visit: Visit) -> Vec<Visit> {
        let step_or_out = |ix: usize| {
            if ix < self.recipe.steps.len() { Visit::Step(StepNo::at(ix)) } else { Visit::Unload }
        };
        match visit {
            Visit::Load => vec![step_or_out(0)],
            Visit::Step(n) => {
                let mut next = vec![step_or_out(n.ix() + 1)];
                if self.step(n).is_some_and(|s| s.hold.is_some()) {
                    next.push(Visit::Hold(n));
                }
                next
            }
            Visit::Hold(n) => vec![step_or_out(n.ix() + 1)],
            // It may be put aside in standby water when where it should be is full.
            Visit::Stray { resume } => vec![step_or_out(resume.ix()), visit],
            Visit::Unload => Vec::new(),
        }
    }

    /// True if the tank is of the kind the visit asks for.
    pub fn fits(&self, visit: Visit, tank: TankId) -> bool {
        match (visit, self.line.tanks[tank].role) {
            (Visit::Load, Role::Station { load, .. }) => load,
            (Visit::Unload, Role::Station { unload, .. }) => unload,
            (Visit::Step(n), Role::Bath(stage)) => self.step(n).is_some_and(|s| s.stage == stage),
            (Visit::Hold(n), Role::Bath(stage)) => {
                self.step(n).and_then(|s| s.hold.as_ref()).is_some_and(|h| h.stage == stage)
            }
            (Visit::Stray { .. }, Role::Bath(stage)) => {
                self.line.stages.get(stage).is_some_and(|s| s.kind == StageKind::Standby)
            }
            _ => false,
        }
    }

    pub fn on_hook(&self, visit: Visit) -> bool {
        matches!(visit, Visit::Step(n) if self.step(n).is_some_and(|s| s.on_hook))
    }

    /// The step whose bath clings to the carrier.
    pub fn wet(&self, visit: Visit) -> Option<&'a Step> {
        match visit {
            Visit::Step(n) | Visit::Hold(n) => self.step(n),
            Visit::Stray { resume } => self.step(StepNo::at(resume.ix().checked_sub(1)?)),
            Visit::Load | Visit::Unload => None,
        }
    }

    pub fn drip(&self, visit: Visit) -> Dur {
        self.wet(visit).map_or(Dur::ZERO, |s| s.drip)
    }

    /// `None` where dwell is nobody's business: at stations.
    pub fn window(&self, visit: Visit) -> Option<Window> {
        match visit {
            Visit::Step(n) => {
                let s = self.step(n)?;
                Some(Window { min: s.min, max: s.max, under: s.under, over: s.over, stray: false })
            }
            Visit::Hold(n) => {
                let h = self.step(n)?.hold.as_ref()?;
                Some(Window { min: Dur::ZERO, max: h.max, under: h.over, over: h.over, stray: false })
            }
            // A stray carrier should leave at once; a wrong bath is never a matter of wiping off.
            Visit::Stray { .. } => {
                let harm = self.wet(visit).map_or(Harm::Rework, |s| s.over.min(Harm::Rework));
                Some(Window { min: Dur::ZERO, max: Dur::ZERO, under: harm, over: harm, stray: true })
            }
            Visit::Load | Visit::Unload => None,
        }
    }
}
