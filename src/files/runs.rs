//! Can one carrier alone on the empty line run a recipe at all? What fails here fails in every shift.

use super::common::join;
use super::text::{Doc, at};
use crate::ids::{HoistId, Id as _, RecipeId, StepNo, TankId};
use crate::line::{Line, Visit, ramp_time};
use crate::units::Dur;

/// Where the carrier can be, and which hoists (a bit each) can have put it there.
type Spots = Vec<(TankId, u8)>;

/// Where the carrier came from, where it can be then, and which hoists may take it on.
struct Leaving {
    drip: Dur,
    air_max: Dur,
    max: Dur,
    on_hook: bool,
}

/// Adds a finding for every recipe that no sequence of tanks and hoists can run.
pub fn check(doc: &mut Doc<'_>, line: &Line) {
    let trial = Trial::new(line);
    for recipe in line.recipes.ids() {
        trial.recipe(doc, recipe);
    }
}

struct Trial<'l> {
    line: &'l Line,
    /// Travel and settle of a loaded move, `[hoist][from][to]`; `None` where the hoist cannot make it.
    air: Vec<Vec<Vec<Option<Dur>>>>,
}

impl<'l> Trial<'l> {
    fn new(line: &'l Line) -> Self {
        let times = |h: HoistId, a: TankId| {
            let time = |b| line.phases(h, a, b, Dur::ZERO, true, true).map(|p| p.air()).filter(|_| a != b);
            line.tanks.ids().map(time).collect()
        };
        let air = line.hoists.ids().map(|h| line.tanks.ids().map(|a| times(h, a)).collect()).collect();
        Self { line, air }
    }

    fn recipe(&self, doc: &mut Doc<'_>, recipe: RecipeId) {
        let steps = &self.line.recipes[recipe].steps;
        let mut here: Spots = self.line.load_stations().map(|t| (t, u8::MAX)).collect();
        let mut visit = Visit::Load;
        while let Some(next) = self.line.next_visit(recipe, visit) {
            let to = self.line.places_for(recipe, next);
            let leaving = self.leaving(recipe, visit);
            let mut there = self.reach(&here, &leaving, &to);
            if let Visit::Step(n) = visit
                && steps[n.ix()].hold.is_some()
            {
                let hold = Visit::Hold(n);
                let waiting = self.reach(&here, &leaving, &self.line.places_for(recipe, hold));
                let after = self.reach(&waiting, &self.leaving(recipe, hold), &to);
                there = union(there, after);
            }
            if there.is_empty() {
                self.explain(doc, recipe, visit, next, &here, &leaving, &to);
                return;
            }
            here = there;
            visit = next;
        }
    }

    fn leaving(&self, recipe: RecipeId, visit: Visit) -> Leaving {
        Leaving {
            drip: self.line.drip(recipe, visit),
            air_max: self.line.air_max(recipe, visit),
            max: self.line.window(recipe, visit).1,
            on_hook: self.line.on_hook(recipe, visit),
        }
    }

    /// The hoists that can have put a carrier down if this one takes it up inside the window.
    fn may_follow(&self, hoist: HoistId, leaving: &Leaving) -> u8 {
        let mut mask = 0;
        for before in self.line.hoists.ids() {
            let fits =
                if leaving.on_hook { before == hoist } else { self.change(before, hoist) <= leaving.max };
            if fits {
                mask |= 1 << before.ix();
            }
        }
        mask
    }

    /// The least dwell between putting down and taking up. Another hoist can wait no nearer than the gap.
    fn change(&self, before: HoistId, after: HoistId) -> Dur {
        let (before_h, after_h) = (&self.line.hoists[before], &self.line.hoists[after]);
        let travel = match &after_h.travel {
            crate::line::Travel::Kinematic { speed, accel, decel } if before != after => {
                ramp_time(self.line.rail.gap, *speed, *accel, *decel)
            }
            _ => Dur::ZERO,
        };
        before_h.unhook + travel + after_h.hook
    }

    fn reach(&self, here: &Spots, leaving: &Leaving, to: &[TankId]) -> Spots {
        let room = leaving.air_max - leaving.drip;
        let follow: Vec<(HoistId, u8)> =
            self.line.hoists.ids().map(|h| (h, self.may_follow(h, leaving))).collect();
        (to.iter())
            .filter_map(|b| {
                let mut mask = 0;
                for (h, before) in &follow {
                    let air = &self.air[h.ix()];
                    let can = |(a, by): &(TankId, u8)| {
                        by & before != 0 && air[a.ix()][b.ix()].is_some_and(|time| time <= room)
                    };
                    if here.iter().any(can) {
                        mask |= 1 << h.ix();
                    }
                }
                (mask != 0).then_some((*b, mask))
            })
            .collect()
    }

    #[expect(clippy::too_many_arguments, reason = "the whole story of one blocked transfer")]
    fn explain(
        &self,
        doc: &mut Doc<'_>,
        recipe: RecipeId,
        visit: Visit,
        next: Visit,
        here: &Spots,
        leaving: &Leaving,
        to: &[TankId],
    ) {
        let steps = &self.line.recipes[recipe].steps;
        let word = |visit: Visit| match visit {
            Visit::Step(n) => format!("step {} ({})", n.0 + 1, self.line.stages[steps[n.ix()].stage].name),
            Visit::Load => "the load station".to_owned(),
            _ => "the unload station".to_owned(),
        };
        let (from_word, to_word) = (word(visit), word(next));
        let name = &self.line.recipes[recipe].name;
        let step_left = match visit {
            Visit::Step(n) => n,
            _ => StepNo(0),
        };
        let path = at!["recipes", recipe.ix(), "steps", step_left.ix()];
        let ways = || {
            let pairs = here.iter().flat_map(|(a, by)| to.iter().map(move |b| (*a, *by, *b)));
            pairs.flat_map(|(a, by, b)| {
                let time = move |h: HoistId| Some((self.air[h.ix()][a.ix()][b.ix()]?, a, by, b, h));
                self.line.hoists.ids().filter_map(time)
            })
        };
        let Some((air, a, _, b, h)) = ways().min_by_key(|w| w.0) else {
            let found = format!("{name} blocked between {from_word} and {to_word}: no hoist makes the move");
            doc.error(
                "recipe-cannot-run",
                &join(&path, "stage"),
                &found,
                "two different tanks that one hoist reaches",
            );
            return;
        };
        let air = air + leaving.drip;
        if air > leaving.air_max {
            let found = format!(
                "{name} blocked after {from_word}: {:.1} s out of liquid to {to_word} at best ({} to {} by {}, drip included), {:.1} s longer than air_max",
                up(air),
                self.line.tanks[a].name,
                self.line.tanks[b].name,
                self.line.hoists[h].name,
                up(air - leaving.air_max),
            );
            let expected = format!("an air_max of at least {:.1} s, or a shorter way", up(air));
            doc.error("recipe-cannot-run", &join(&path, "air_max"), &found, &expected);
        } else if leaving.on_hook {
            let found = format!(
                "{name} blocked after {from_word}: the hoist that stays attached does not reach {to_word}"
            );
            doc.error(
                "recipe-cannot-run",
                &join(&path, "on_hook"),
                &found,
                "one hoist for both moves of a dip on the hook",
            );
        } else {
            let least = ways()
                .filter(|w| w.0 + leaving.drip <= leaving.air_max)
                .flat_map(|(_, _, by, _, h)| {
                    self.line
                        .hoists
                        .ids()
                        .filter(move |g| by & (1 << g.ix()) != 0)
                        .map(move |g| self.change(g, h))
                })
                .min()
                .unwrap_or(leaving.max);
            let found = format!(
                "{name} blocked at {from_word}: another hoist must take over, {:.1} s at least, {:.1} s more than max",
                least.as_secs_f64(),
                (least - leaving.max).as_secs_f64(),
            );
            let expected = "a longer max, or one hoist that reaches the tanks before and after";
            doc.error("recipe-cannot-run", &join(&path, "max"), &found, expected);
        }
    }
}

/// Seconds, rounded up to the tenth that is shown: what is named as enough has to be.
fn up(d: Dur) -> f64 {
    (d.as_secs_f64() * 10.0).ceil() / 10.0
}

fn union(mut a: Spots, b: Spots) -> Spots {
    for (tank, mask) in b {
        match a.iter_mut().find(|(t, _)| *t == tank) {
            Some((_, known)) => *known |= mask,
            None => a.push((tank, mask)),
        }
    }
    a
}
