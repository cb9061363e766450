//! Rinse water, estimated: what loads carried out of each bath, and the water that thins it in the rinses after it.

use std::collections::BTreeMap;

use super::{Part, Source};
use crate::ids::{Id as _, RecipeId, StageId};
use crate::line::{Line, Rinsing, StageKind, Visit};
use crate::process::rinse::ratio_for;

/// What one bath made the rinses after it use.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
struct Used {
    loads: usize,
    m2: f64,
    litres: f64,
}

/// Counterflow, `1 + r + ... + r^n` parts for the dilution the line file asks for; drag-out from the loads' surface.
pub(super) fn water(source: &Source<'_>) -> Part {
    let line = source.changed_line();
    let state = source.state();
    let Rinsing { dilution, drag_out_ml_m2 } = line.rinsing;
    let mut by_bath: BTreeMap<(StageId, u32), Used> = BTreeMap::new();
    for (id, _) in state.carriers.iter() {
        let m2 = state.book.carriers[id].area_dm2 / 100.0;
        for (recipe, stays) in source.history.state().runs(id) {
            for stay in stays {
                let Visit::Step(n) = stay.visit else { continue };
                let Some((stage, rinses)) = rinsed_after(line, recipe, n.ix()) else { continue };
                let used = by_bath.entry((stage, rinses)).or_default();
                used.loads += 1;
                used.m2 += m2;
                used.litres += m2 * drag_out_ml_m2 / 1000.0 * ratio_for(rinses, dilution);
            }
        }
    }
    let all: f64 = by_bath.values().map(|u| u.litres).sum();
    let mut rows: Vec<Vec<String>> = by_bath
        .into_iter()
        .map(|((stage, rinses), used)| {
            vec![
                line.stages[stage].label.clone(),
                used.loads.to_string(),
                format!("{:.1}", used.m2),
                rinses.to_string(),
                format!("{:.1}", ratio_for(rinses, dilution)),
                format!("{:.0}", used.litres),
            ]
        })
        .collect();
    if !rows.is_empty() {
        let blank = String::new;
        rows.push(vec!["all".to_owned(), blank(), blank(), blank(), blank(), format!("{all:.0}")]);
    }
    let title = format!("Rinse water, estimated: {dilution:.0} to 1, {drag_out_ml_m2:.1} ml/m2 carried over");
    Part::table(&title, &["after", "loads", "m2", "rinses", "water to drag-out", "litres"], rows)
}

/// The bath of a step and the number of rinses that follow it; `None` if it is a rinse or none follows.
fn rinsed_after(line: &Line, recipe: RecipeId, step: usize) -> Option<(StageId, u32)> {
    let steps = &line.recipes[recipe].steps;
    let is_rinse = |k: usize| steps.get(k).is_some_and(|s| line.stages[s.stage].kind == StageKind::Rinse);
    let stage = steps.get(step)?.stage;
    if is_rinse(step) || line.stages[stage].kind == StageKind::Dry {
        return None;
    }
    let rinses = (step + 1..steps.len()).take_while(|k| is_rinse(*k)).count();
    (rinses > 0).then_some((stage, u32::try_from(rinses).ok()?.min(9)))
}
