//! Rectifiers and the line's power cap. Current rises evenly over the ramp from the start of the immersion and is off
//! at the lift, so the sum is made of straight pieces: looking at both sides of every corner is looking everywhere.

use super::story::Story;
use super::{Breach, Rule};
use crate::ids::{CarrierId, TankId};
use crate::line::Role;
use crate::units::{Dur, Time};

/// Below this, watts or amperes are rounding.
const HAIR: f64 = 1e-6;

/// One carrier's draw.
struct Draw {
    carrier: CarrierId,
    tank: TankId,
    on: Time,
    full: Time,
    off: Time,
    amps: f64,
    watts: f64,
}

impl Draw {
    /// The share of the full draw just before (`left`) or just after an instant.
    fn share(&self, t: Time, left: bool) -> f64 {
        let outside = if left { t <= self.on || t > self.off } else { t < self.on || t >= self.off };
        if outside {
            0.0
        } else if t >= self.full {
            1.0
        } else {
            (t - self.on).0 as f64 / (self.full - self.on).0 as f64
        }
    }
}

pub fn judge(story: &Story, found: &mut Vec<Breach>) {
    let draws = draws(story);
    if let Some(cap) = story.line.power_cap {
        let all: Vec<&Draw> = draws.iter().collect();
        sweep(story, found, &all, &|d| d.watts, cap.0 as f64, "the line", "W");
    }
    for (tank, t) in story.line.tanks.iter() {
        let Role::Bath(stage) = t.role else { continue };
        let Some(rectifier) = story.line.stages.get(stage).and_then(|s| s.rectifier) else { continue };
        let Some(rectifier) = story.line.rectifiers.get(rectifier) else { continue };
        let here: Vec<&Draw> = draws.iter().filter(|d| d.tank == tank).collect();
        let place = format!("{} at {}", rectifier.name, t.name);
        sweep(story, found, &here, &|d| d.amps, rectifier.max_amps, &place, "A");
        if let Some(power) = rectifier.max_power {
            sweep(story, found, &here, &|d| d.watts, power.0 as f64, &place, "W");
        }
    }
}

fn draws(story: &Story) -> Vec<Draw> {
    let horizon = story.legs.iter().map(|l| l.t.end).max().unwrap_or(story.made_at);
    let mut draws = Vec::new();
    for soak in &story.soaks {
        let crate::line::Visit::Step(n) = soak.visit else { continue };
        let Some(current) = story.sheet(soak.carrier).and_then(|s| s.step(n)).and_then(|s| s.current) else {
            continue;
        };
        let amps = story.state.book.carriers[soak.carrier].area_dm2 * current.density;
        let off = soak.out.map_or(horizon.max(soak.down), |out| out.lift);
        draws.push(Draw {
            carrier: soak.carrier,
            tank: soak.tank,
            on: soak.down,
            full: soak.down + current.ramp,
            off,
            amps,
            watts: amps * current.volts,
        });
    }
    draws
}

/// Reports every stretch of time in which the sum is over the limit.
fn sweep(
    story: &Story,
    found: &mut Vec<Breach>,
    draws: &[&Draw],
    size: &dyn Fn(&Draw) -> f64,
    limit: f64,
    place: &str,
    unit: &str,
) {
    let sum = |t: Time, left: bool| draws.iter().map(|d| size(d) * d.share(t, left)).sum::<f64>();
    let mut corners: Vec<Time> = draws.iter().flat_map(|d| [d.on, d.full.min(d.off), d.off]).collect();
    corners.push(story.made_at);
    corners.retain(|t| *t >= story.made_at);
    corners.sort();
    corners.dedup();
    let mut stretch: Option<(Time, Time, f64)> = None;
    for pair in corners.windows(2) {
        let (a, b) = (pair[0], pair[1]);
        let (low, high) = (sum(a, false), sum(b, true));
        let peak = low.max(high);
        if peak > limit + HAIR {
            // Draws only rise between corners.
            let begins = if low > limit || high <= low {
                a
            } else {
                a + Dur(((b - a).0 as f64 * (limit - low) / (high - low)).floor() as i64)
            };
            stretch = match stretch {
                Some((from, to, most)) if to == begins => Some((from, b, most.max(peak))),
                other => {
                    report(story, found, draws, other, limit, place, unit);
                    Some((begins, b, peak))
                }
            };
        }
    }
    report(story, found, draws, stretch, limit, place, unit);
}

fn report(
    story: &Story,
    found: &mut Vec<Breach>,
    draws: &[&Draw],
    stretch: Option<(Time, Time, f64)>,
    limit: f64,
    place: &str,
    unit: &str,
) {
    let Some((from, to, peak)) = stretch else { return };
    // The newest load is the one that should have waited.
    let mut on: Vec<&&Draw> = draws.iter().filter(|d| d.on < to && d.off > from).collect();
    on.sort_by_key(|d| d.on);
    let Some(newest) = on.last() else { return };
    let names: Vec<String> = on.iter().map(|d| story.carrier(d.carrier)).collect();
    let text = format!(
        "{} draw {peak:.0} {unit} from {place} between {from} and {to}, {:.0} {unit} over the most it gives ({limit:.0} {unit})",
        names.join(", "),
        peak - limit
    );
    let when = (from, to - from);
    found.push(story.breach(Rule::Power, None, newest.carrier, place.to_owned(), when, text));
}
