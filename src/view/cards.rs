//! A step explained to a trainee: its card with the windows of the sheet in force.

use crate::ids::RecipeId;
use crate::line::{Harm, Line, StageKind, Visit};
use crate::process::cards::{self, Card};
use crate::units::Dur;

use super::words::visit_words;

/// A visit explained.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StepCard {
    /// What the visit is, in the line's words.
    pub title: String,
    /// What the sheet in force says: window, drip, air limit.
    pub sheet: Vec<String>,
    /// What the sheet says a broken window does: too short, too long.
    pub harms: [Option<&'static str>; 2],
    /// The general card of that kind of bath.
    pub card: &'static Card,
}

/// The card of a kind of bath.
pub fn card(kind: StageKind) -> &'static Card {
    match kind {
        StageKind::Clean => &cards::CLEAN,
        StageKind::Rinse => &cards::RINSE,
        StageKind::Etch => &cards::ETCH,
        StageKind::Desmut => &cards::DESMUT,
        StageKind::Anodise => &cards::ANODISE,
        StageKind::Dye => &cards::DYE,
        StageKind::Seal => &cards::SEAL,
        StageKind::Dry => &cards::DRY,
        StageKind::Strip => &cards::STRIP,
        StageKind::Standby => &cards::STANDBY,
    }
}

/// A visit of a recipe explained; `None` where there is no bath.
pub fn step_card(line: &Line, recipe: RecipeId, visit: Visit) -> Option<StepCard> {
    let (stage, target) = match visit {
        Visit::Step(n) => (line.step(recipe, n).stage, Some(line.step(recipe, n).target)),
        Visit::Hold(n) => (line.step(recipe, n).hold.as_ref()?.stage, None),
        Visit::Load | Visit::Unload | Visit::Stray { .. } => return None,
    };
    let (min, max) = line.window(recipe, visit);
    let mut sheet = vec![match target {
        Some(target) => format!("{min} to {max}, aim for {target}"),
        None => format!("up to {max}"),
    }];
    if line.on_hook(recipe, visit) {
        sheet.push("the hoist stays attached".to_owned());
    }
    let drip = line.drip(recipe, visit);
    if drip > Dur::ZERO {
        sheet.push(format!("drip {drip}"));
    }
    let air = line.air_max(recipe, visit);
    if !air.is_unlimited() {
        sheet.push(format!("out of liquid for {air} at most"));
    }
    let under = match visit {
        Visit::Step(n) if min > Dur::ZERO => Some(line.step(recipe, n).under),
        _ => None,
    };
    let over = (!max.is_unlimited()).then(|| line.harm_over(recipe, visit));
    Some(StepCard {
        title: visit_words(line, recipe, visit),
        sheet,
        harms: [under, over].map(|harm| harm.map(Harm::word)),
        card: card(line.stages[stage].kind),
    })
}
