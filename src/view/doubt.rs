//! What can hardly be true, or does harm: asked about before it is said, whichever way it is said.

use super::words::{Spot, clean};
use super::{Board, Said};
use crate::ids::{HoistId, RecipeId, TankId};
use crate::line::{Line, Visit};
use crate::shift::Place;
use crate::units::{Dur, Time};

/// By how much a press may be off what it says.
const PRESSED_OFF: Dur = Dur::from_secs(15);

/// What limits how early something can have happened.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Doubt {
    /// A pick that ends a dwell.
    Dwell {
        /// The carrier's name.
        carrier: String,
        /// Where it is.
        tank: String,
        /// Since when, as its dwell counts.
        since: Time,
        /// The shortest dwell.
        min: Dur,
        /// What too short does.
        harm: &'static str,
    },
    /// A pick by a hoist that was somewhere else before.
    Way {
        /// The hoist's name.
        hoist: String,
        /// Where it put down last.
        from: String,
        /// When that was.
        left: Time,
        /// Where the load is.
        to: String,
        /// How long the way takes.
        takes: Dur,
    },
    /// Any of these.
    Any(Vec<Doubt>),
    /// A place that ends a move.
    Move {
        /// The carrier's name.
        carrier: String,
        /// When it was lifted.
        lifted: Time,
        /// How long the move takes from there.
        takes: Dur,
        /// The same without drip and settling, which people leave out.
        quickest: Dur,
    },
}

impl Doubt {
    /// The doubt there may be about a pick or a place, if anything limits it. `last`: where the hoist put down last, and
    /// when.
    pub(super) fn of(
        line: &Line,
        name: &str,
        recipe: RecipeId,
        place: Place,
        said: Said,
        last: Option<(TankId, Time)>,
    ) -> Option<Self> {
        match (said, place) {
            (Said::Lift { hoist, from, .. }, place) => {
                let way = last.and_then(|last| Self::way(line, hoist, last, from));
                let dwell = match place {
                    Place::InTank { tank, visit, since, .. } => {
                        Self::dwell(line, name, recipe, (tank, visit, since))
                    }
                    _ => None,
                };
                let all: Vec<Self> = dwell.into_iter().chain(way).collect();
                (!all.is_empty()).then_some(Self::Any(all))
            }
            (Said::Lower { to, .. }, Place::OnHook { hoist, from, leaves, lifted }) => {
                Self::of_move(line, name, hoist, (from, to, line.drip(recipe, leaves)), lifted)
            }
            _ => None,
        }
    }

    pub(super) fn dwell(
        line: &Line,
        name: &str,
        recipe: RecipeId,
        (tank, visit, since): (TankId, Visit, Time),
    ) -> Option<Self> {
        let Visit::Step(n) = visit else { return None };
        let step = line.recipes[recipe].steps.get(usize::from(n.0))?;
        Some(Self::Dwell {
            carrier: name.to_owned(),
            tank: Spot::of(line, tank).words(),
            since,
            min: step.min,
            harm: step.under.word(),
        })
    }

    pub(super) fn way(line: &Line, hoist: HoistId, (over, left): (TankId, Time), to: TankId) -> Option<Self> {
        let takes = line.empty_travel(hoist, over, to)?;
        let place = |tank| Spot::of(line, tank).words();
        let hoist = clean(&line.hoists[hoist].name);
        Some(Self::Way { hoist, from: place(over), left, to: place(to), takes })
    }

    pub(super) fn of_move(
        line: &Line,
        name: &str,
        hoist: HoistId,
        (from, to, drip): (TankId, TankId, Dur),
        lifted: Time,
    ) -> Option<Self> {
        let phases = line.phases(hoist, from, to, drip, false, true)?;
        let quickest = phases.raise + phases.travel + phases.lower;
        Some(Self::Move { carrier: name.to_owned(), lifted, takes: phases.to_down(), quickest })
    }

    /// True if it cannot have been at `at`, before the load was there or hung: that is refused, and nothing to ask about.
    pub fn rules_out(&self, at: Time) -> bool {
        match self {
            Self::Dwell { since, .. } => at < *since,
            Self::Move { lifted, .. } => at < *lifted,
            Self::Way { .. } => false,
            Self::Any(doubts) => doubts.iter().any(|d| d.rules_out(at)),
        }
    }

    /// How long after `at` the hoist put down somewhere else, if it did.
    fn elsewhere(&self, at: Time) -> Option<Dur> {
        match self {
            Self::Way { left, .. } if at < *left => Some(*left - at),
            _ => None,
        }
    }

    /// The question about it if it is said for `at`; `None` if nothing speaks against that.
    ///
    /// 1. A pick before the shortest dwell does harm.
    /// 2. A pick sooner than the hoist can be there can hardly be true.
    /// 3. A place before a third of the move's own time has passed, or sooner than a hoist can be there, can hardly be true.
    pub fn question(&self, at: Time) -> Option<String> {
        match self {
            Self::Dwell { carrier, tank, since, min, harm } => {
                let dwell = (at - *since).or_zero();
                (dwell < *min).then(|| {
                    format!(
                        "{carrier} has been in {tank} for {dwell}; the sheet asks for {min} at least. Risk: {harm}."
                    )
                })
            }
            Self::Way { hoist, from, left, to, takes } => {
                if let Some(after) = self.elsewhere(at) {
                    return Some(format!("{hoist} put down in {from} {after} after that."));
                }
                let since = (at - *left).or_zero();
                (since + PRESSED_OFF < *takes).then(|| {
                    format!("{hoist} put down in {from} {since} ago, and {to} is {takes} away. Is it there already?")
                })
            }
            Self::Any(doubts) => {
                // What cannot be comes before what does harm.
                let first = doubts.iter().find(|d| d.elsewhere(at).is_some());
                first.into_iter().chain(doubts).find_map(|d| d.question(at))
            }
            Self::Move { carrier, lifted, takes, quickest } => {
                let since = (at - *lifted).or_zero();
                (since * 3 < *takes || since + PRESSED_OFF < *quickest).then(|| {
                    format!(
                        "{carrier} was lifted {since} ago; the move takes about {takes}. Is it down already?"
                    )
                })
            }
        }
    }
}

impl Board {
    /// The doubt there may be about a pick or a place.
    pub fn doubt(&self, line: &Line, said: Said) -> Option<Doubt> {
        let hook = |hoist| self.hooks.iter().find(|h| h.hoist == hoist);
        let (carrier, last) = match said {
            Said::Lift { carrier, hoist, .. } => (carrier, hook(hoist).and_then(|h| h.put_down)),
            Said::Lower { hoist, .. } => (hook(hoist)?.carrier.as_ref()?.0, None),
        };
        let fact = self.carrier(carrier)?;
        Doubt::of(line, &fact.name, fact.recipe, fact.place, said, last)
    }
}
