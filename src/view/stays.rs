//! Immersions over time, and spans in which a tank may not be used.

use super::At;
use super::runs::{Run, When};
use crate::ids::{Arena, CarrierId, RecipeId, TankId};
use crate::line::{Role, Visit};
use crate::shift::{Place, bath};
use crate::units::{Dur, Time};

/// One immersion.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StayBar {
    /// The tank.
    pub tank: TankId,
    /// The carrier.
    pub carrier: CarrierId,
    /// The recipe it is there for: another one before it was sent to rework.
    pub recipe: RecipeId,
    /// Why it is there.
    pub visit: Visit,
    /// When it begins.
    pub from: Time,
    /// When it ends; `None` if it is not over and the plan does not end it.
    pub to: Option<Time>,
    /// When its window ends; `None` if the sheet sets no end.
    pub closes: Option<Time>,
}

impl StayBar {
    /// True if it is, or would be, longer than its window, seen from `now`.
    pub fn is_over(&self, now: Time) -> bool {
        self.closes.is_some_and(|closes| self.to.unwrap_or(now) > closes)
    }
}

/// A span in which a tank may not be used.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Shut {
    /// The tank.
    pub tank: TankId,
    /// From then.
    pub from: Time,
    /// Until then; [`Time::FAR`] if nobody knows.
    pub to: Time,
    /// Why.
    pub why: ShutWhy,
}

/// Why a tank may not be used.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ShutWhy {
    /// It heats up in the morning, as the line file says.
    Heats,
    /// It is out of service.
    Out,
    /// It is in quarantine: it may be left.
    Quarantine,
    /// Its bath is outside its limits, or not measured in time.
    Unfit,
}

impl ShutWhy {
    /// In a word.
    pub fn word(self) -> &'static str {
        match self {
            Self::Heats => "heats",
            Self::Out => "OUT",
            Self::Quarantine => "QUARANTINE",
            Self::Unfit => "BATH",
        }
    }
}

/// All immersions in baths, past, running and planned, by carrier and time.
pub(super) fn stays(at: At<'_>, runs: &[Run]) -> Vec<StayBar> {
    let mut ahead: Arena<CarrierId, Vec<&Run>> = at.state.carriers.iter().map(|_| Vec::new()).collect();
    for run in runs.iter().filter(|r| r.when != When::Past) {
        ahead[run.carrier].push(run);
    }
    let mut bars = Vec::new();
    for (id, carrier) in at.state.carriers.iter() {
        let mut bar_of = |recipe, tank, visit, (from, counts): (Time, Time), to: Option<Time>| {
            if matches!(at.line.tanks[tank].role, Role::Bath(_)) {
                let (_, max) = at.line.window(recipe, visit);
                let closes = (!max.is_unlimited()).then(|| counts + max);
                bars.push(StayBar { tank, carrier: id, recipe, visit, from, to, closes });
            }
        };
        for (recipe, stay) in at.state.all_stays(id) {
            bar_of(recipe, stay.tank, stay.visit, (stay.from, stay.from), Some(stay.to));
        }
        let mut bar = |tank, visit, from, to| bar_of(at.recipe(id), tank, visit, from, to);
        let ahead = &ahead[id];
        if let Place::InTank { tank, visit, since, .. } = carrier.place {
            // What was put back has a part of its window behind it.
            let down = carrier.put_down().unwrap_or(since);
            bar(tank, visit, (down, since), ahead.first().map(|r| r.lift.max(at.now)));
        }
        for (ix, run) in ahead.iter().enumerate() {
            let to = ahead.get(ix + 1).map(|r| r.lift);
            // Nothing that has not happened lies in the past, however far behind its plan the line is.
            if to.is_none_or(|to| to > at.now) {
                let down = run.down.max(at.now);
                bar(run.to, run.visit, (down, down), to);
            }
        }
    }
    bars
}

/// Spans to come in which tanks may not be used.
pub(super) fn shut(at: At<'_>) -> Vec<Shut> {
    let mut spans = Vec::new();
    for (tank, t) in at.state.tanks.iter() {
        if t.from > at.now {
            let heats = t.from == Time::ZERO + at.line.tanks[tank].ready_after;
            let (from, why) = if heats { (Time::ZERO, ShutWhy::Heats) } else { (at.now, ShutWhy::Out) };
            spans.push(Shut { tank, from, to: t.from, why });
        }
        if t.until < Time::FAR {
            spans.push(Shut { tank, from: t.until, to: Time::FAR, why: ShutWhy::Out });
        }
    }
    for tank in at.state.standing.quarantined.keys() {
        spans.push(Shut { tank: *tank, from: at.now, to: Time::FAR, why: ShutWhy::Quarantine });
    }
    for tank in at.line.tanks.ids().filter(|t| bath::unfit(at.line, at.state, *t, at.now).is_some()) {
        spans.push(Shut { tank, from: at.now, to: Time::FAR, why: ShutWhy::Unfit });
    }
    spans
}

/// The power a stay draws at an instant, in watts: nothing outside it, rising evenly over the ramp at its beginning.
pub(super) fn draw(at: At<'_>, stay: &StayBar, t: Time) -> f64 {
    let Visit::Step(n) = stay.visit else { return 0.0 };
    let Some(current) = at.line.step(stay.recipe, n).current else { return 0.0 };
    if t < stay.from || stay.to.is_some_and(|to| t > to) {
        return 0.0;
    }
    let share = if current.ramp > Dur::ZERO { (t - stay.from).0 as f64 / current.ramp.0 as f64 } else { 1.0 };
    at.state.book.carriers[stay.carrier].area_dm2 * current.density * current.volts * share.min(1.0)
}
