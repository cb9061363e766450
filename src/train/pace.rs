//! The pace of real moves against the model, read off a journal.
//!
//! 1. A move counts if it was picked and placed, did not end where it began, and its hoist was neither slowed nor stopped
//!    meanwhile. Its time is from the confirmed pick to the confirmed place; the model's is raise to lower done, by the line
//!    file. The drip is the sheet's and is taken out of both.
//! 2. A hoist's stretch is the median of real over model. The median, because one interrupted move must not slow a plan.
//! 3. The reserve of a kind of move is the p90 of what people were late: from the instant the call was due to the pick, and
//!    what the move then took beyond the stretched model.
//! 4. A hoist or a kind needs [`ENOUGH`] moves, and what comes out must be people's pace.

use std::collections::BTreeMap;

use super::spread::ranked;
use super::{Deed, Does, Spread, deeds};
use crate::ids::HoistId;
use crate::line::{Line, Visit};
use crate::plan::{MoveKind, kinds};
use crate::shift::{Event, History, Pace, counting};
use crate::units::{Dur, Time};

/// So many moves make a pace. With 22 the slowest seen is beyond the true p90 in nine cases of ten (1 - 0.9^22 = 0.902),
/// and the p90 by rank is the 20th, not the slowest; with ten it would be the slowest but one, and 35 samples in a hundred
/// would hold no slow move at all.
pub const ENOUGH: usize = 22;

/// Thousandths of the model's time that can be people's pace. Outside of it something else went on: keys pressed long
/// after, a practice too fast to follow, a line file that is wrong. Then neither stretch nor reserve is learned.
const PEOPLE: std::ops::RangeInclusive<i64> = 700..=1500;

/// A plan keeps at least so much: nobody presses a key on the second.
const LEAST: Dur = Dur::from_secs(3);

/// A move that was really made.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Made {
    /// When it was picked.
    pub at: Time,
    /// By which hoist.
    pub hoist: HoistId,
    /// With an air limit.
    pub critical: bool,
    /// Into a short window.
    pub short: bool,
    /// From pick to place, without the drip.
    pub took: Dur,
    /// The same by the line file.
    pub model: Dur,
    /// From the instant the call was due to the pick; `None` if the call was not followed.
    pub reaction: Option<Dur>,
}

impl Made {
    /// True if it is of a kind; some moves are of two.
    pub fn is(&self, kind: MoveKind) -> bool {
        match kind {
            MoveKind::Critical => self.critical,
            MoveKind::Short => self.short,
            MoveKind::Other => !self.critical && !self.short,
        }
    }

    fn ratio(&self) -> i64 {
        self.took.0 * 1000 / self.model.0.max(1)
    }
}

/// The moves of a shift that say something about pace.
pub fn made(line: &Line, history: &History) -> Vec<Made> {
    let state = history.state();
    let disturbed = disturbed(history);
    let mut picks: BTreeMap<HoistId, Deed> = BTreeMap::new();
    let mut found = Vec::new();
    for deed in deeds(line, history) {
        let Does::Place { to, visit } = deed.does else {
            picks.insert(deed.hoist, deed);
            continue;
        };
        let Some(pick) = picks.remove(&deed.hoist).filter(|p| p.carrier == deed.carrier) else { continue };
        let Does::Pick { from, leaves } = pick.does else { continue };
        let meanwhile = |(hoist, a, b): &(HoistId, Time, Time)| {
            *hoist == deed.hoist && *a < deed.at && pick.due.unwrap_or(pick.at).min(pick.at) < *b
        };
        if from == to || matches!(visit, Visit::Stray { .. }) || disturbed.iter().any(meanwhile) {
            continue;
        }
        // Recipes are those of now; moves of a recipe that is no longer run have no model.
        let recipe = state.book.carriers[deed.carrier].recipe;
        let now = state.line(line);
        if !has(now, recipe, leaves) {
            continue;
        }
        let drip = now.drip(recipe, leaves);
        let Some(phases) = line.phases(deed.hoist, from, to, drip, true, true) else { continue };
        let (critical, short) = kinds(now, recipe, leaves);
        found.push(Made {
            at: pick.at,
            hoist: deed.hoist,
            critical,
            short,
            took: (deed.at - pick.at) - drip,
            model: (phases.to_down() - phases.to_lift()) - drip,
            reaction: pick.reaction(),
        });
    }
    found.retain(|m| m.took > Dur::ZERO);
    found
}

fn has(line: &Line, recipe: crate::ids::RecipeId, visit: Visit) -> bool {
    use crate::ids::Id as _;
    let steps = line.recipes[recipe].steps.len();
    match visit {
        Visit::Step(n) | Visit::Hold(n) => n.ix() < steps,
        Visit::Stray { resume } => resume.ix() <= steps,
        Visit::Load | Visit::Unload => true,
    }
}

/// While hoists were stopped or slowed. A stop is over when it was said to be, when the hoist is said to run or lifts.
fn disturbed(history: &History) -> Vec<(HoistId, Time, Time)> {
    use crate::shift::Change::{RunHoist, SlowHoist, StopHoist};
    let mut open: Vec<(HoistId, Time, bool, Time)> = Vec::new();
    let mut found = Vec::new();
    for (stamped, at) in counting(history.events()) {
        let (hoist, begins, slow) = match &stamped.event {
            Event::Lifted { hoist, .. } => (*hoist, None, false),
            Event::Changed { change, .. } => match change {
                StopHoist { hoist, until, .. } => (*hoist, Some(until.unwrap_or(Time::FAR)), false),
                RunHoist { hoist } => (*hoist, None, false),
                SlowHoist { hoist, percent } => (*hoist, (*percent < 100).then_some(Time::FAR), true),
                _ => continue,
            },
            _ => continue,
        };
        if let Some(k) = open.iter().position(|(h, _, s, _)| (*h, *s) == (hoist, slow)) {
            let (_, from, _, until) = open.remove(k);
            found.push((hoist, from, at.min(until)));
        }
        open.extend(begins.map(|until| (hoist, at, slow, until)));
    }
    found.extend(open.into_iter().map(|(hoist, at, _, until)| (hoist, at, until)));
    found
}

/// What a kind of move comes to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct KindPace {
    /// Which kind.
    pub kind: MoveKind,
    /// From pick to place, without the drip; `None` if none was made.
    pub took: Option<Spread>,
    /// The same by the line file.
    pub model: Option<Spread>,
    /// From due to pick.
    pub reaction: Option<Spread>,
    /// What people were late, over moves whose call was followed.
    pub late: Option<Spread>,
}

/// What was learned, and what the plan makes of it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Learned {
    /// For each kind of move.
    pub kinds: [KindPace; 3],
    /// For each hoist: how many moves, and median and p90 of real over model in thousandths.
    pub hoists: Vec<(HoistId, usize, i64, i64)>,
    /// For the plan; empty where there were too few.
    pub pace: Pace,
}

impl Learned {
    /// What the moves of a shift say.
    pub fn of(line: &Line, history: &History) -> Self {
        Self::from_moves(&made(line, history))
    }

    /// The same from moves.
    pub fn from_moves(made: &[Made]) -> Self {
        let mut hoists = Vec::new();
        let mut pace = Pace::default();
        for hoist in made.iter().map(|m| m.hoist).collect::<std::collections::BTreeSet<_>>() {
            let mut ratios: Vec<i64> = made.iter().filter(|m| m.hoist == hoist).map(Made::ratio).collect();
            ratios.sort_unstable();
            let (Some(median), Some(p90)) = (ranked(&ratios, 50), ranked(&ratios, 90)) else { continue };
            hoists.push((hoist, ratios.len(), median, p90));
            if ratios.len() >= ENOUGH && PEOPLE.contains(&median) {
                pace.stretch.insert(hoist, median as u16);
            }
        }
        let stretch = |hoist: HoistId| i64::from(pace.stretch.get(&hoist).copied().unwrap_or(1000));
        let late = |m: &Made| {
            let over = m.took - Dur(m.model.0 * stretch(m.hoist) / 1000);
            m.reaction.map(|r| (r + over).or_zero())
        };
        let kinds = MoveKind::ALL.map(|kind| {
            let own = || made.iter().filter(move |m| m.is(kind));
            KindPace {
                kind,
                took: Spread::of(own().map(|m| m.took).collect()),
                model: Spread::of(own().map(|m| m.model).collect()),
                reaction: Spread::of(own().filter_map(|m| m.reaction).collect()),
                late: Spread::of(own().filter_map(late).collect()),
            }
        });
        let reserve = |k: usize| {
            let late = kinds[k].late.filter(|s| s.count >= ENOUGH && !pace.stretch.is_empty())?;
            // Whole seconds, upwards: a finer figure would only change all the time.
            Some(Dur::from_secs((late.p90 + Dur(999)).whole_secs()).max(LEAST))
        };
        (pace.critical, pace.short, pace.other) = (reserve(0), reserve(1), reserve(2));
        Self { kinds, hoists, pace }
    }
}

/// True if a plan would be made differently by one pace than by the other: stretch by two in a hundred, a reserve by two
/// seconds.
pub fn differs(a: &Pace, b: &Pace) -> bool {
    let stretch = |p: &Pace, h: &HoistId| i64::from(p.stretch.get(h).copied().unwrap_or(1000));
    let hoists = a.stretch.keys().chain(b.stretch.keys());
    let reserves = [(a.critical, b.critical), (a.short, b.short), (a.other, b.other)];
    hoists.into_iter().any(|h| (stretch(a, h) - stretch(b, h)).abs() >= 20)
        || reserves.into_iter().any(|(a, b)| match (a, b) {
            (Some(a), Some(b)) => (a - b).0.abs() >= 2000,
            (a, b) => a != b,
        })
}
