//! What a recipe's current makes: film, and the metal that is gone once it is stripped.

use crate::ids::RecipeId;
use crate::line::{Line, Step, Visit};
use crate::process::film::{Yield, charge_over};
use crate::process::quantity::{CurrentDensity, Minutes};
use crate::shift::Stay;
use crate::units::Dur;

/// Film in micrometres that the anodise steps of a recipe make at their target; `None` without current.
pub fn film_um(line: &Line, recipe: RecipeId) -> Option<f64> {
    let films: Vec<f64> = line.recipes[recipe].steps.iter().filter_map(|s| step_um(s, s.target)).collect();
    (!films.is_empty()).then(|| films.iter().sum())
}

/// Film in micrometres of one step after a dwell, half of the ramp lost; `None` without current.
pub fn step_um(step: &Step, dwell: Dur) -> Option<f64> {
    let current = step.current.as_ref()?;
    let minutes = |d: Dur| Minutes(d.as_secs_f64() / 60.0);
    let charge = charge_over(CurrentDensity(current.density), minutes(dwell), minutes(current.ramp));
    Some(Yield::default().thickness(charge).0)
}

/// Metal in micrometres a side that the film of a run has used up which stood in the tanks so long.
pub fn metal_of(line: &Line, recipe: RecipeId, stays: &[Stay]) -> Option<f64> {
    let steps = line.recipes[recipe].steps.iter().enumerate();
    let films: Vec<f64> = steps
        .filter_map(|(n, step)| {
            let here = stays.iter().filter(|s| matches!(s.visit, Visit::Step(k) if usize::from(k.0) == n));
            step_um(step, here.map(|s| s.to - s.from).sum())
        })
        .collect();
    (!films.is_empty()).then(|| films.iter().sum::<f64>() * line.rework.penetration)
}

/// Metal in micrometres a side that a film of this recipe has used up.
pub fn metal_um(line: &Line, recipe: RecipeId) -> Option<f64> {
    film_um(line, recipe).map(|um| um * line.rework.penetration)
}
