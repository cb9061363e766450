//! One carrier's record: what an auditor asks for. Each step with its window, when it went in and out, the air time after
//! it, and a verdict.

use super::{CAUTION, Page, Part, Source};
use crate::ids::{CarrierId, TankId};
use crate::line::{Line, Visit};
use crate::shift::{Event, Place, Stay, Who, counting};
use crate::units::{Dur, Time};
use crate::verify::{Breach, happened};
use crate::view::{inspection, visit_words};

/// One immersion as it is judged.
#[derive(Debug, Clone, PartialEq)]
pub struct Judged {
    /// The immersion.
    pub stay: Stay,
    /// Shortest and longest dwell of its window.
    pub window: (Dur, Dur),
    /// Out of liquid between this and the next immersion; `None` if it is not known.
    pub air: Option<Dur>,
    /// The longest that may be.
    pub air_max: Dur,
    /// Who said that it went in, and by how much later than it did.
    pub said: Option<(Who, Dur)>,
}

/// The record of one carrier.
pub fn record(source: &Source<'_>, carrier: CarrierId) -> Page {
    let state = source.state();
    let line = source.changed_line();
    let spec = &state.book.carriers[carrier];
    let order = &state.book.orders[spec.order];
    let now = &state.carriers[carrier];
    let breaches: Vec<Breach> =
        happened(source.line, state).into_iter().filter(|b| b.carrier == spec.name).collect();
    let judged = judged(source, carrier);
    let rows = judged.iter().enumerate().map(|(k, j)| {
        let tank = &line.tanks[j.stay.tank];
        let dwell = j.stay.to - j.stay.from;
        let (min, max) = j.window;
        let window = if max.is_unlimited() { format!("{min} and more") } else { format!("{min} to {max}") };
        let air = j.air.map_or_else(|| "-".to_owned(), |a| a.to_string());
        let air_max = if j.air_max.is_unlimited() { "-".to_owned() } else { j.air_max.to_string() };
        let own = breaches.iter().filter(|b| broke(&judged, line, b) == Some(k));
        let mut verdict: Vec<&str> = own.map(|b| b.harm.map_or("impossible", |h| h.word())).collect();
        verdict.dedup();
        let said = j.said.map_or(String::new(), |(who, late)| {
            let who = match who {
                Who::Operator => "operator",
                Who::Supervisor => "supervisor",
                Who::Crew => "crew",
                Who::Program => "program",
            };
            if late > LATE { format!("{who}, {late} late") } else { who.to_owned() }
        });
        vec![
            format!("{} {}", tank.name, tank.label),
            visit_words(line, spec.recipe, j.stay.visit),
            source.clock(j.stay.from),
            source.clock(j.stay.to),
            dwell.to_string(),
            window,
            air,
            air_max,
            amp_minutes(source, carrier, &j.stay).map_or_else(|| "-".to_owned(), |a| format!("{a:.0}")),
            said,
            if verdict.is_empty() { "kept".to_owned() } else { verdict.join(", ") },
        ]
    });
    let place = match now.place {
        Place::Queued => "waits to start".to_owned(),
        Place::InTank { tank, since, .. } => {
            format!("in {} since {}", line.tanks[tank].name, source.clock(since))
        }
        Place::OnHook { hoist, lifted, .. } => {
            format!("on hook {} since {}", line.hoists[hoist].name, source.clock(lifted))
        }
        Place::Finished { tank, at } => format!("finished at {} {}", line.tanks[tank].name, source.clock(at)),
        Place::OffLine => "taken off the line".to_owned(),
    };
    let ledger = &state.ledger;
    let counted = ledger.unracked(carrier).map_or_else(
        || "not counted yet".to_owned(),
        |c| {
            let short = match ledger.short(state, carrier).unwrap_or(0) {
                0 => String::new(),
                n if n > 0 => format!(", {n} MISSING"),
                n => format!(", {} too many", -n),
            };
            format!("{} good, {} rework, {} scrap{short}", c.good, c.rework, c.scrap)
        },
    );
    let seen = ledger.inspected(carrier).map_or_else(|| "not inspected".to_owned(), inspection);
    let passed: Vec<TankId> = now.stays.iter().map(|s| s.tank).collect();
    let baths = passed.iter().flat_map(|t| {
        ledger.readings(*t).into_iter().map(|(at, r)| {
            let (word, unit) = (r.quantity.word(), r.quantity.unit());
            format!("{} {}: {word} {} {unit}", source.clock(at), line.tanks[*t].name, r.value)
        })
    });
    Page {
        title: format!("Record of carrier {}", spec.name),
        lead: vec![format!("as of {}", source.clock(source.now))],
        parts: vec![
            Part::facts(
                "Carrier",
                vec![
                    ("order", format!("{} {}", order.name, order.label)),
                    ("recipe", line.recipes[spec.recipe].label.clone()),
                    ("parts racked", ledger.racked(state, carrier).to_string()),
                    ("area", format!("{} dm2", spec.area_dm2)),
                    ("now", place),
                    ("counted out", counted),
                    ("inspection", seen),
                ],
            ),
            Part::table(
                "Steps",
                &[
                    "tank",
                    "step",
                    "in",
                    "out",
                    "dwell",
                    "window",
                    "air",
                    "air at most",
                    "A min",
                    "said by",
                    "verdict",
                ],
                rows.collect(),
            ),
            Part::lines("Broken", breaches.iter().map(|b| b.text.clone()).collect()),
            Part::lines("Bath readings", baths.collect()),
        ],
        foot: CAUTION.to_owned(),
    }
}

/// The immersion during which, or after which, a window broke: the last in that tank that had begun.
fn broke(judged: &[Judged], line: &Line, breach: &Breach) -> Option<usize> {
    judged.iter().rposition(|j| line.tanks[j.stay.tank].name == breach.place && j.stay.from <= breach.at)
}

/// A confirmation later than this is marked.
const LATE: Dur = Dur::from_secs(60);

/// The immersions of a carrier that are over, with what they are held against.
pub fn judged(source: &Source<'_>, carrier: CarrierId) -> Vec<Judged> {
    let state = source.state();
    let line = source.changed_line();
    let recipe = state.book.carriers[carrier].recipe;
    let now = &state.carriers[carrier];
    let arrivals: Vec<(Time, Who, Dur)> = counting(source.history.events())
        .into_iter()
        .filter(|(s, _)| matches!(s.event, Event::Lowered { carrier: c, .. } if c == carrier))
        .map(|(s, at)| (at, s.by, s.entered - at))
        .collect();
    let next_in = |k: usize| match (now.stays.get(k + 1), now.place) {
        (Some(next), _) => Some(next.from),
        (None, Place::InTank { since, .. }) => Some(since),
        (None, Place::Finished { at, .. }) => Some(at),
        _ => None,
    };
    // As the verifier has it: the strokes of the quickest hoist there is.
    let strokes = line.hoists.iter().map(|(_, h)| h.raise_lower()).map(|(up, low)| up + low).min();
    let strokes = strokes.unwrap_or_default();
    now.stays
        .iter()
        .enumerate()
        .map(|(k, stay)| Judged {
            stay: *stay,
            window: line.window(recipe, stay.visit),
            air: next_in(k).map(|down| (down - stay.to - strokes).or_zero()),
            air_max: line.air_max(recipe, stay.visit),
            said: arrivals.iter().find(|(at, ..)| *at == stay.from).map(|(_, who, late)| (*who, *late)),
        })
        .collect()
}

/// Ampere-minutes of an immersion, with a linear ramp; `None` where no current flows.
fn amp_minutes(source: &Source<'_>, carrier: CarrierId, stay: &Stay) -> Option<f64> {
    let line = source.changed_line();
    let spec = &source.state().book.carriers[carrier];
    let Visit::Step(n) = stay.visit else { return None };
    let current = line.step(spec.recipe, n).current.as_ref()?;
    let amps = current.density * spec.area_dm2;
    let (dwell, ramp) = ((stay.to - stay.from).as_secs_f64(), current.ramp.as_secs_f64());
    // Half of the ramp is lost; a dwell shorter than the ramp ends on the way up.
    let seconds = if dwell >= ramp { dwell - ramp / 2.0 } else { dwell * dwell / (2.0 * ramp) };
    Some(amps * seconds / 60.0)
}
