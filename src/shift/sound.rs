//! Can everything else be asked about a state? What `decide` allowed always can; a journal may have been made by anybody.

use super::state::{Place, State};
use crate::ids::{CarrierId, Id as _, RecipeId};
use crate::line::{Line, Visit};

/// What in a state speaks of steps that its recipe does not have; `None` if all is well.
pub fn unsound(line: &Line, state: &State) -> Option<String> {
    let line = state.line(line);
    let fits = |recipe: RecipeId, visit: Visit| {
        let Some(recipe) = line.recipes.get(recipe) else { return false };
        match visit {
            Visit::Load | Visit::Unload => true,
            Visit::Step(n) | Visit::Hold(n) => n.ix() < recipe.steps.len(),
            Visit::Stray { resume } => resume.ix() <= recipe.steps.len(),
        }
    };
    let wrong = |carrier: CarrierId, recipe: RecipeId, visit: Visit| {
        let name = state.book.carriers.get(carrier).map_or("a carrier", |c| c.name.as_str());
        (!fits(recipe, visit))
            .then(|| format!("{name} is said to be at {visit:?}, which its recipe does not have"))
    };
    if state.carriers.len() > state.book.carriers.len() {
        return Some("there are more carriers on the line than in the orders".to_owned());
    }
    let now = state.carriers.iter().find_map(|(id, carrier)| {
        let recipe = state.book.carriers[id].recipe;
        let visit = match carrier.place {
            Place::InTank { visit, .. } => visit,
            Place::OnHook { leaves, .. } => leaves,
            _ => Visit::Load,
        };
        let stays = carrier.stays.iter().map(|s| s.visit);
        std::iter::once(visit).chain(stays).find_map(|v| wrong(id, recipe, v))
    });
    let before = || {
        state.standing.runs.iter().find_map(|(id, runs)| {
            runs.iter().find_map(|run| run.stays.iter().find_map(|s| wrong(*id, run.recipe, s.visit)))
        })
    };
    let alarms = || {
        state.alarms.keys().find_map(|key| {
            let recipe = state.book.carriers.get(key.carrier)?.recipe;
            wrong(key.carrier, recipe, key.visit)
        })
    };
    let benches = || {
        state.standing.lent.iter().find_map(|(id, lent)| {
            let recipe = state.book.carriers.get(*id)?.recipe;
            wrong(*id, recipe, Visit::Step(lent.bench.resume))
        })
    };
    now.or_else(before).or_else(alarms).or_else(benches)
}
