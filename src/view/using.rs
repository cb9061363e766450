//! How much of the crane and of the power is used, and where the hoists go.

use super::At;
use super::runs::{Run, When};
use super::stays::{StayBar, draw};
use super::words::clean;
use crate::ids::{HoistId, TankId};
use crate::line::Visit;
use crate::units::{Dur, Time};

/// How far back and ahead crane use is counted.
pub const SPAN: Dur = Dur::from_mins(60);

/// What a hoist does on a stretch of its way.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Going {
    /// With a load, hook and unhook included; the run's place among all runs.
    Loaded(usize),
    /// On the way to the next load.
    Empty,
    /// Standing.
    Waits,
}

/// One straight stretch of a hoist's way. Where it stood and when it set out without a load is worked out, not recorded.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stretch {
    /// The hoist.
    pub hoist: HoistId,
    /// What it does.
    pub going: Going,
    /// When and over which tank it begins.
    pub from: (Time, TankId),
    /// When and over which tank it ends.
    pub to: (Time, TankId),
}

/// Shares of a stretch of time.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Share {
    /// With a load, hook and unhook included.
    pub loaded: f64,
    /// On the way without a load.
    pub empty: f64,
    /// How long the stretch is; zero if there is nothing to count.
    pub of: Dur,
}

/// How much a hoist works.
#[derive(Debug, Clone, PartialEq)]
pub struct HoistUse {
    /// Which hoist.
    pub hoist: HoistId,
    /// Its name.
    pub name: String,
    /// In the last hour, or since the opening.
    pub past: Share,
    /// In the next hour, or until the plan ends.
    pub planned: Share,
}

impl PowerUse {
    /// What of the power nobody knows, to be put behind the figure; nothing if all is known.
    pub fn doubt_words(&self) -> String {
        if self.in_doubt > 0.0 {
            let kw = self.in_doubt / 1000.0;
            format!(", {kw:.1} kW of it in a tank that is out, if current flows there")
        } else {
            String::new()
        }
    }
}

/// DC power of all baths that draw current.
#[derive(Debug, Clone, PartialEq)]
pub struct PowerUse {
    /// Watts now.
    pub now: f64,
    /// Of these, watts in tanks that are out of service: nobody said whether current flows there.
    pub in_doubt: f64,
    /// The most the plan draws from now on, in watts.
    pub peak: f64,
    /// When that is.
    pub peak_at: Time,
    /// The same as time of day.
    pub peak_clock: String,
    /// The most the line may draw, in watts, if it is limited.
    pub cap: Option<f64>,
}

/// The ways of all hoists.
pub(super) fn ways(at: At<'_>, runs: &[Run]) -> Vec<Stretch> {
    let mut ways = Vec::new();
    for hoist in at.line.hoists.ids() {
        let mut here: (Time, TankId) = (Time::ZERO, at.line.hoists[hoist].home);
        for (ix, run) in runs.iter().enumerate().filter(|(_, r)| r.hoist == hoist) {
            let travel = at.line.empty_travel(hoist, here.1, run.from).unwrap_or(Dur::ZERO);
            let sets_out = (run.start - travel).max(here.0);
            let mut stretch = |going, mut from: (Time, TankId), to: (Time, TankId)| {
                // What was only planned and is overdue has not happened.
                if run.when == When::Planned && going != Going::Waits {
                    from.0 = from.0.max(at.now);
                }
                if from.0 < to.0 {
                    ways.push(Stretch { hoist, going, from, to });
                }
            };
            stretch(Going::Waits, here, (sets_out, here.1));
            stretch(Going::Empty, (sets_out, here.1), (run.start, run.from));
            stretch(Going::Loaded(ix), (run.start, run.from), (run.leave, run.from));
            stretch(Going::Loaded(ix), (run.leave, run.from), (run.arrive, run.to));
            stretch(Going::Loaded(ix), (run.arrive, run.to), (run.end, run.to));
            here = (run.end, run.to);
        }
        let stands = at.state.hoists[hoist].at;
        if here.0 < at.now && runs.iter().all(|r| r.hoist != hoist || r.when == When::Past) {
            ways.push(Stretch { hoist, going: Going::Waits, from: (here.0, stands), to: (at.now, stands) });
        }
    }
    ways
}

pub(super) fn hoists(at: At<'_>, ways: &[Stretch]) -> Vec<HoistUse> {
    let plan_ends = ways.iter().map(|w| w.to.0).max().unwrap_or(at.now);
    let (before, after) = ((at.now - SPAN).max(Time::ZERO), (at.now + SPAN).min(plan_ends).max(at.now));
    at.line
        .hoists
        .iter()
        .map(|(hoist, h)| HoistUse {
            hoist,
            name: clean(&h.name),
            past: share(ways, hoist, before, at.now),
            planned: share(ways, hoist, at.now, after),
        })
        .collect()
}

fn share(ways: &[Stretch], hoist: HoistId, from: Time, to: Time) -> Share {
    let of = to - from;
    if of <= Dur::ZERO {
        return Share::default();
    }
    let sum = |counts: fn(Going) -> bool| {
        let own = ways.iter().filter(|w| w.hoist == hoist && counts(w.going));
        let time: Dur = own.map(|w| (w.to.0.min(to) - w.from.0.max(from)).or_zero()).sum();
        time.0 as f64 / of.0 as f64
    };
    // A plan that the line is behind may have moves on top of each other; no crane works more than all of the time.
    let loaded = sum(|g| matches!(g, Going::Loaded(_))).min(1.0);
    Share { loaded, empty: sum(|g| g == Going::Empty).min(1.0 - loaded), of }
}

/// `None` where no sheet asks for current.
pub(super) fn power(at: At<'_>, stays: &[StayBar]) -> Option<PowerUse> {
    let ramp = |s: &StayBar| match s.visit {
        Visit::Step(n) => at.line.step(s.recipe, n).current.map(|c| c.ramp),
        _ => None,
    };
    if !at.line.recipes.iter().any(|(_, r)| r.steps.iter().any(|s| s.current.is_some())) {
        return None;
    }
    let drawing: Vec<&StayBar> =
        stays.iter().filter(|s| s.to.is_none_or(|to| to >= at.now) && ramp(s).is_some()).collect();
    // The sum of nothing is -0.0.
    let sum = |t: Time| drawing.iter().map(|s| draw(at, s, t)).sum::<f64>() + 0.0;
    // Each load only ever draws more until it is lifted, so the most is where one has come to its full or is lifted.
    let corners = drawing.iter().flat_map(|s| [Some(s.from + ramp(s).unwrap_or(Dur::ZERO)), s.to]).flatten();
    let mut corners: Vec<Time> = corners.filter(|t| *t > at.now).collect();
    corners.sort_unstable();
    let is_out = |tank: TankId| at.state.tanks[tank].from > at.now;
    let (peak_at, peak) = std::iter::once(at.now)
        .chain(corners)
        .map(|t| (t, sum(t)))
        .fold((at.now, 0.0), |best, one| if one.1 > best.1 { one } else { best });
    Some(PowerUse {
        now: sum(at.now),
        in_doubt: drawing.iter().filter(|s| is_out(s.tank)).map(|s| draw(at, s, at.now)).sum::<f64>() + 0.0,
        peak,
        peak_at,
        peak_clock: at.clock(peak_at),
        cap: at.line.power_cap.map(|w| w.0 as f64),
    })
}
