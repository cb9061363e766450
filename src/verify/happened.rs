//! The same judgement for what really happened: did the confirmed immersions and air times keep their windows?

use super::motion::stroke;
use super::sheet::{Sheet, Window};
use super::{Breach, Rule, figure};
use crate::ids::{CarrierId, HoistId, RecipeId, TankId};
use crate::line::{Harm, Line, Visit};
use crate::shift::{Bench, Ended, Place, State, Stay};
use crate::units::{Dur, Time};

/// What the shift has broken by `now`, by time: [`happened`], and the windows that are broken and still open. A load that
/// nobody moves breaks its window all the same.
pub fn happened_by(line: &Line, state: &State, now: Time) -> Vec<Breach> {
    let mut found = happened(line, state);
    found.extend(still_open(line, state, now));
    found.sort_by_key(|b| b.at);
    found
}

/// The windows that are broken at `now` and still open, as if they ended then.
pub fn still_open(line: &Line, state: &State, now: Time) -> Vec<Breach> {
    let mut found = Vec::new();
    for (id, carrier) in state.carriers.iter() {
        let judge = Judge { filed: line, state, carrier: id, recipe: state.book.carriers[id].recipe };
        match carrier.place {
            // The dwell it brought along, if it was put back, is in `since` already.
            Place::InTank { tank, visit, since, .. } => {
                judge.still_in(tank, visit, (now - since, now), &mut found);
            }
            Place::OnHook { hoist, .. } => {
                if let Some(left) = carrier.stays.last() {
                    judge.still_hangs(left, hoist, now, &mut found);
                }
            }
            Place::OffLine => {
                if let Some(lent) = state.standing.lent.get(&id) {
                    judge.still_at(&lent.bench, (lent.since, now), &mut found);
                }
            }
            _ => {}
        }
    }
    found
}

/// Every window that the shift has broken so far, by time. An immersion that is not over yet is not judged.
pub fn happened(line: &Line, state: &State) -> Vec<Breach> {
    let mut found = Vec::new();
    for (id, carrier) in state.carriers.iter() {
        let now = Judge { filed: line, state, carrier: id, recipe: state.book.carriers[id].recipe };
        // What came before rework was done by another recipe, and was not to go on.
        for run in state.standing.runs.get(&id).into_iter().flatten() {
            let judge = Judge { recipe: run.recipe, ..now };
            for (k, stay) in run.stays.iter().enumerate() {
                if run.stays.get(k + 1).is_some_and(|next| continues(stay.visit, next.visit)) {
                    continue;
                }
                let mut own = Vec::new();
                judge.dwell(stay, counted(&run.stays, k), &mut own);
                // Cut short by a word: what was begun there is stripped off again.
                let cut_short = run.ended == Ended::Rework && k + 1 == run.stays.len();
                found.extend(own.into_iter().filter(|b| !cut_short || b.rule != Rule::Under));
            }
            for pair in run.stays.windows(2) {
                judge.air(&pair[0], pair[1].tank, pair[1].from, &mut found);
            }
            if let Ended::Bench(bench, from, to) = &run.ended {
                judge.bench(bench, (*from, *to), &mut found);
            }
        }
        let judge = now;
        let stays = &carrier.stays;
        for (k, stay) in stays.iter().enumerate() {
            // Judged once it has left for good: put back, its dwells add up.
            let goes_on = match (stays.get(k + 1), carrier.place) {
                (Some(next), _) => continues(stay.visit, next.visit),
                (None, Place::InTank { visit, .. }) => continues(stay.visit, visit),
                (None, _) => false,
            };
            let mut own = Vec::new();
            if !goes_on {
                judge.dwell(stay, counted(stays, k), &mut own);
            }
            // Put back it may still get what it lacks.
            let hangs = k + 1 == stays.len() && matches!(carrier.place, Place::OnHook { .. });
            found.extend(own.into_iter().filter(|b| !hangs || b.rule != Rule::Under));
        }
        let arrivals = stays.iter().skip(1).map(|s| (s.tank, s.from));
        let last = match carrier.place {
            Place::InTank { tank, visit, since, .. } => {
                // The dwell it brought along was before it was put down.
                let along = stays.len().checked_sub(1).filter(|&k| continues(stays[k].visit, visit));
                Some((tank, since + along.map_or(Dur::ZERO, |k| counted(stays, k))))
            }
            Place::Finished { tank, at } => Some((tank, at)),
            _ => None,
        };
        for (stay, (tank, down)) in stays.iter().zip(arrivals.chain(last)) {
            judge.air(stay, tank, down, &mut found);
        }
    }
    found.sort_by_key(|b| b.at);
    found
}

/// True if a dwell for `next` is a dwell for `before` that goes on: the carrier was put back.
fn continues(before: Visit, next: Visit) -> bool {
    before == next && !matches!(next, Visit::Stray { .. })
}

/// The dwell for a visit up to the end of the `k`-th stay.
fn counted(stays: &[Stay], k: usize) -> Dur {
    let mut dwell = stays[k].to - stays[k].from;
    for pair in stays[..=k].windows(2).rev() {
        if !continues(pair[0].visit, pair[1].visit) {
            break;
        }
        dwell += pair[0].to - pair[0].from;
    }
    dwell
}

/// Said of a window that is broken and still open.
pub const GOES_ON: &str = ", and it goes on";

#[derive(Clone, Copy)]
struct Judge<'a> {
    filed: &'a Line,
    state: &'a State,
    carrier: CarrierId,
    recipe: RecipeId,
}

impl Judge<'_> {
    fn sheet(&self) -> Option<Sheet<'_>> {
        Sheet::of(self.state.line(self.filed), self.recipe)
    }

    fn dwell(&self, stay: &Stay, dwell: Dur, found: &mut Vec<Breach>) {
        let Some(window) = self.sheet().and_then(|s| s.window(stay.visit)) else { return };
        if let Some((rule, harm, by, text)) = window.broken_by(dwell) {
            let at = if rule == Rule::Under { stay.to } else { stay.to - by };
            found.push(self.breach(rule, harm, stay.tank, (at, by), &text));
        }
    }

    /// The same for a stay that is not over: only too long can be said of it.
    fn still_in(&self, tank: TankId, visit: Visit, (dwell, now): (Dur, Time), found: &mut Vec<Breach>) {
        let Some(window) = self.sheet().and_then(|s| s.window(visit)) else { return };
        if let Some((Rule::Over, harm, by, text)) = window.broken_by(dwell) {
            let text = format!("{text}{GOES_ON}");
            found.push(self.breach(Rule::Over, harm, tank, (now - by, by), &text));
        }
    }

    /// The time at a bench beside the line. No sheet says the harm; colour is what benches are mostly for.
    fn bench(&self, bench: &Bench, (from, to): (Time, Time), found: &mut Vec<Breach>) {
        let harm = Harm::Shade;
        let window = Window { min: bench.min, max: bench.max, under: harm, over: harm, stray: false };
        let Some((rule, harm, by, text)) = window.broken_by(to - from) else { return };
        let at = if rule == Rule::Under { to } else { to - by };
        let carrier = self.state.book.carriers[self.carrier].name.clone();
        let place = format!("bench {}", bench.name);
        let text = format!("{carrier} at {place}: {text}");
        found.push(Breach { rule, harm: Some(harm), carrier, place, at, by, text, open_ended: false });
    }

    /// The same while it is still there: only too long can be said of it.
    fn still_at(&self, bench: &Bench, (from, now): (Time, Time), found: &mut Vec<Breach>) {
        let mut own = Vec::new();
        self.bench(bench, (from, now), &mut own);
        own.retain(|b| b.rule == Rule::Over);
        for breach in &mut own {
            breach.text.push_str(GOES_ON);
        }
        found.append(&mut own);
    }

    /// Air from raise done to lower begun: the confirmed times less the strokes of the quickest hoist there is.
    fn air(&self, left: &Stay, tank: TankId, down: Time, found: &mut Vec<Breach>) {
        let strokes = self.filed.hoists.ids().map(|h: HoistId| stroke(self.filed, h));
        let (raise, lower) = strokes.min_by_key(|(raise, lower)| *raise + *lower).unwrap_or_default();
        let text = format!("on the way to {}: ", self.filed.tanks[tank].name);
        found.extend(self.too_long_in_air(left, raise, down - lower, &text, ""));
    }

    /// The same for a load that still hangs on a hoist. It is told as soon as the limit would be broken if it were down now; from
    /// then on what counts is that it is not being lowered.
    fn still_hangs(&self, left: &Stay, hoist: HoistId, now: Time, found: &mut Vec<Breach>) {
        let (raise, lower) = stroke(self.state.line(self.filed), hoist);
        if self.too_long_in_air(left, raise, now - lower, "", "").is_some() {
            found.extend(self.too_long_in_air(left, raise, now, "on the hook: ", GOES_ON));
        }
    }

    fn too_long_in_air(
        &self,
        left: &Stay,
        raise: Dur,
        lowered: Time,
        before: &str,
        behind: &str,
    ) -> Option<Breach> {
        let step = self.sheet()?.wet(left.visit)?;
        let air = (lowered - left.to) - raise;
        if step.air_max.is_unlimited() || air <= step.air_max {
            return None;
        }
        let by = air - step.air_max;
        let text = format!(
            "{before}air time {} is {} over the longest {} ({}){behind}",
            figure(air),
            figure(by),
            figure(step.air_max),
            step.air.word()
        );
        Some(self.breach(Rule::Air, step.air, left.tank, (lowered - by, by), &text))
    }

    fn breach(&self, rule: Rule, harm: Harm, tank: TankId, (at, by): (Time, Dur), what: &str) -> Breach {
        let carrier = self.state.book.carriers[self.carrier].name.clone();
        let t = &self.filed.tanks[tank];
        // In the air it is in no tank any more.
        let left = if rule == Rule::Air { "from" } else { "in" };
        let text = format!("{carrier} {left} {} {}: {what}", t.name, t.label);
        Breach { rule, harm: Some(harm), carrier, place: t.name.clone(), at, by, text, open_ended: false }
    }
}
