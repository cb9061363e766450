//! What goes wrong on a shift whoever decides the moves: the crane stops, a tank is out of service. Drawn from the seed
//! alone, so that every policy meets the same. How often and how long is invented for practice, not measured.

use crate::ids::{StageId, TankId};
use crate::line::{Line, StageKind};
use crate::rng::Rng;
use crate::units::{Dur, Time};

/// How much goes wrong.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Trouble {
    /// Nothing.
    #[default]
    None,
    /// In eight hours two to four crane stops of 2 to 10 minutes, and one anodise tank out for an hour.
    Ordinary,
    /// Twice as much.
    Rough,
}

/// The crane stands still.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Stop {
    /// Since when.
    pub from: Time,
    /// From when on it works again.
    pub until: Time,
}

/// A tank is out of service. A load that is in it may stay and leave.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Out {
    /// The tank.
    pub tank: TankId,
    /// Since when; nobody knew before.
    pub from: Time,
    /// Until when, as everybody knows from then on.
    pub until: Time,
}

/// Everything that goes wrong on one shift.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Troubles {
    /// Crane stops, by time, apart from each other.
    pub stops: Vec<Stop>,
    /// Tanks out of service, by time.
    pub outs: Vec<Out>,
}

/// The shift that the figures are for.
const SHIFT: Dur = Dur::from_secs(8 * 3600);

/// How long a tank is out.
const OUT: Dur = Dur::from_mins(60);

/// Between two stops the crane works at least this long.
const BETWEEN: Dur = Dur::from_mins(5);

impl Troubles {
    /// What goes wrong in a shift of this length under a seed.
    pub fn draw(line: &Line, trouble: Trouble, seed: u64, lasting: Dur) -> Self {
        let times = match trouble {
            Trouble::None => return Self::default(),
            Trouble::Ordinary => 1,
            Trouble::Rough => 2,
        };
        let mut rng = Rng::stream(seed, "trouble");
        let share = lasting.as_secs_f64() / SHIFT.as_secs_f64();
        let scaled = |n: usize| (n as f64 * share).round() as usize;
        let at = |rng: &mut Rng| Time::ZERO + Dur::from_secs_f64(lasting.as_secs_f64() * rng.unit());
        let mut stops: Vec<Stop> = (0..scaled(times * (2 + rng.below(3))))
            .map(|_| {
                let from = at(&mut rng);
                Stop { from, until: from + Dur::from_secs(120 + rng.below(481) as i64) }
            })
            .collect();
        stops.sort_by_key(|s| s.from);
        let mut free = Time::ZERO;
        stops.retain(|s| {
            let apart = s.from >= free;
            if apart {
                free = s.until + BETWEEN;
            }
            apart
        });
        let mut tanks = candidates(line);
        rng.shuffle(&mut tanks);
        // The last tank of a stage stays: without it nothing could be done at all.
        tanks.truncate(scaled(times).min(tanks.len().saturating_sub(1)));
        let mut outs: Vec<Out> = tanks
            .into_iter()
            .map(|tank| {
                let from = at(&mut rng);
                Out { tank, from, until: from + OUT }
            })
            .collect();
        outs.sort_by_key(|o| o.from);
        Self { stops, outs }
    }

    /// True if the crane stands still at an instant.
    pub fn stopped_at(&self, at: Time) -> bool {
        self.stops.iter().any(|s| s.from <= at && at < s.until)
    }

    /// How long the crane stands still between two instants.
    pub fn stopped_for(&self, from: Time, until: Time) -> Dur {
        self.stops.iter().map(|s| (s.until.min(until) - s.from.max(from)).or_zero()).sum()
    }
}

/// The tanks of the first anodise stage with several, or else of the first stage with several.
fn candidates(line: &Line) -> Vec<TankId> {
    let tanks = |stage: StageId| line.tanks_of(stage).collect::<Vec<_>>();
    let several: Vec<StageId> = line.stages.ids().filter(|s| tanks(*s).len() > 1).collect();
    let anodise = several.iter().find(|s| line.stages[**s].kind == StageKind::Anodise);
    anodise.or(several.first()).map_or_else(Vec::new, |s| tanks(*s))
}
