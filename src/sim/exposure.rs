//! What crane stops break whoever decides: a floor to hold a policy against.
//!
//! A load that hangs when the crane stops is out of liquid for as long as it stands still, and a load in a short window is
//! not lifted in time. Nobody who does not foresee stops can do better than to be exposed for as short a time as the sheet
//! allows: every dwell at its shortest, the crane above at that moment, every move the quickest there is. Stops begin at any
//! instant with equal chance, so the share of the shift in which that much is exposed is what each stop breaks on average.

use super::Troubles;
use crate::ids::RecipeId;
use crate::line::{Line, Phases, Visit};
use crate::units::Dur;

/// The windows and air limits that the stops of a shift of this length break on average, at the least, if carriers of these
/// recipes are brought through and nobody foresees anything. Those still on the line come on top.
pub fn least_broken(
    line: &Line,
    troubles: &Troubles,
    lasting: Dur,
    finished: impl IntoIterator<Item = RecipeId>,
) -> f64 {
    let recipes: Vec<RecipeId> = finished.into_iter().collect();
    let exposed = |stop: Dur| recipes.iter().map(|r| exposed(line, *r, stop)).sum::<Dur>().as_secs_f64();
    let stops = troubles.stops.iter().map(|s| exposed(s.until - s.from));
    stops.sum::<f64>() / lasting.as_secs_f64().max(1.0)
}

/// For how long, in all, a carrier on its way through the line is where a stop of this length breaks something.
pub fn exposed(line: &Line, recipe: RecipeId, stop: Dur) -> Dur {
    let visits = std::iter::successors(Some(Visit::Load), |v| line.next_visit(recipe, *v));
    visits.map(|visit| in_tank(line, recipe, visit, stop) + on_the_way(line, recipe, visit, stop)).sum()
}

/// In a window: the last moments of the shortest dwell, from which on the stop lasts past the longest.
fn in_tank(line: &Line, recipe: RecipeId, visit: Visit, stop: Dur) -> Dur {
    let (min, max) = line.window(recipe, visit);
    if max.is_unlimited() { Dur::ZERO } else { (min - (max - stop).or_zero()).or_zero() }
}

/// Hanging, from lift to lowered, if the stop is longer than what the air limit leaves.
fn on_the_way(line: &Line, recipe: RecipeId, leaves: Visit, stop: Dur) -> Dur {
    let air_max = line.air_max(recipe, leaves);
    let Some(next) = line.next_visit(recipe, leaves).filter(|_| !air_max.is_unlimited()) else {
        return Dur::ZERO;
    };
    let drip = line.drip(recipe, leaves);
    let (from, to) = (line.places_for(recipe, leaves), line.places_for(recipe, next));
    let moves = line.hoists.ids().flat_map(|hoist| {
        let to = &to;
        from.iter()
            .flat_map(move |a| to.iter().filter_map(move |b| line.phases(hoist, *a, *b, drip, true, true)))
    });
    let quickest = moves.min_by_key(Phases::to_down);
    let hangs = quickest.filter(|p| p.air() + stop > air_max).map(|p| p.to_down() - p.to_lift());
    hangs.unwrap_or(Dur::ZERO)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ids::Id as _;
    use crate::sim::Stop;
    use crate::units::Time;

    fn demo() -> Line {
        let (line, recipes, _) = crate::files::demo();
        crate::files::read_line(line, recipes).unwrap().value
    }

    /// The demo's clear sheet. A stop of a second finds no window too short for it, one of a minute finds what hangs and
    /// the etch (20 to 45 s), one of ten minutes the rinses as well.
    #[test]
    fn a_longer_stop_finds_more() {
        let line = demo();
        let clear = RecipeId::at(0);
        let secs = Dur::from_secs;
        assert_eq!(exposed(&line, clear, secs(1)), Dur::ZERO);
        // Of each rinse of 30 s at the least and 3 min at the most all 30 s, as soon as a stop is longer than that.
        let rinse = Visit::Step(crate::ids::StepNo::at(3));
        assert_eq!(in_tank(&line, clear, rinse, secs(150)), Dur::ZERO);
        assert_eq!(in_tank(&line, clear, rinse, secs(160)), secs(10));
        assert_eq!(in_tank(&line, clear, rinse, secs(600)), secs(30));
        let etch = Visit::Step(crate::ids::StepNo::at(2));
        assert_eq!(in_tank(&line, clear, etch, secs(60)), secs(20));
        // Nothing that may hang for as long as it likes counts.
        let dry = Visit::Step(crate::ids::StepNo::at(13));
        assert_eq!(on_the_way(&line, clear, dry, secs(600)), Dur::ZERO);
        assert!(exposed(&line, clear, secs(600)) > exposed(&line, clear, secs(120)));
    }

    /// Two stops of ten minutes in an hour: each finds the share of the hour in which one carrier is exposed.
    #[test]
    fn the_floor_is_the_share_of_the_shift_that_is_exposed() {
        let line = demo();
        let clear = RecipeId::at(0);
        let stop = |at| Stop { from: Time::from_secs(at), until: Time::from_secs(at + 600) };
        let troubles = Troubles { stops: vec![stop(600), stop(2400)], outs: Vec::new() };
        let share = exposed(&line, clear, Dur::from_mins(10)).as_secs_f64() / 3600.0;
        let least = least_broken(&line, &troubles, Dur::from_mins(60), [clear]);
        assert!((least - 2.0 * share).abs() < 1e-9, "{least} {share}");
        let none = least_broken(&line, &Troubles::default(), Dur::from_mins(60), [clear]);
        assert!(none.abs() < 1e-9);
    }
}
