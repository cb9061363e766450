//! One carrier's record: what an auditor asks for. Each step with its window, when it went in and out, the air time after
//! it, and a verdict.

use super::outages::{Kind, Outage, outages};
use super::readings::{in_force, readings};
use super::{CAUTION, Page, Part, Source, bench};
use crate::ids::{CarrierId, Id as _, RecipeId, TankId};
use crate::line::{Lift, Line, Rack, Visit};
use crate::shift::ledger::Entry;
use crate::shift::{Change, Ended, Event, Place, Stay, Who, Whose, counting};
use crate::units::{Dur, Time};
use crate::verify::{Breach, happened_by};
use crate::view::{inspection, metal_of, step_um, to_the_second, visit_words};

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
    /// How long the lowest point of the load was wet; the highest was for the dwell. `None` if it is not known.
    pub low_wet: Option<Dur>,
    /// Who said that it went in, and by how much later than it did.
    pub said: Option<(Who, Dur)>,
    /// It goes on: it is told up to now.
    pub goes_on: bool,
}

/// The record of one carrier.
pub fn record(source: &Source<'_>, carrier: CarrierId) -> Page {
    let state = source.state();
    let spec = &state.book.carriers[carrier];
    let breaches: Vec<Breach> =
        happened_by(source.line, state, source.now).into_iter().filter(|b| b.carrier == spec.name).collect();
    let broken: Vec<String> = breaches.iter().map(|b| to_the_second(&b.text)).collect();
    let mut parts = vec![about(source, carrier)];
    let earlier = state.standing.runs.get(&carrier).map_or(&[][..], Vec::as_slice);
    for (k, run) in earlier.iter().enumerate() {
        let judged = judged_run(source, carrier, run.recipe, &run.stays, None);
        parts.push(steps(source, carrier, &format!("Run {}", k + 1), run.recipe, &judged, &breaches));
        let ended = match &run.ended {
            Ended::Rework => "stripped and run again from here".to_owned(),
            Ended::Bench(bench, from, to) => {
                let words = bench::words(bench, *to - *from);
                format!("{words}; from {} to {}", source.clock(*from), source.clock(*to))
            }
        };
        parts.push(Part::lines(&format!("After run {}", k + 1), vec![ended]));
    }
    parts.push(steps(source, carrier, "Steps", spec.recipe, &judged(source, carrier), &breaches));
    parts.push(Part::lines("Broken", broken));
    parts.push(Part::lines("Bath readings", readings(source, carrier)));
    parts.push(Part::lines("Said and entered about it", source.said(|e| concerns(e, carrier))));
    Page {
        title: format!("Record of carrier {}", spec.name),
        lead: vec![format!("{}, {}", source.board.line_name, source.as_of())],
        parts,
        foot: CAUTION.to_owned(),
    }
}

/// Whose it is, where it is, what was counted and seen.
fn about(source: &Source<'_>, carrier: CarrierId) -> Part {
    let state = source.state();
    let line = source.changed_line();
    let spec = &state.book.carriers[carrier];
    let order = &state.book.orders[spec.order];
    let place = match state.carriers[carrier].place {
        Place::Queued => "waits to start".to_owned(),
        Place::InTank { tank, since, .. } => {
            let down = state.carriers[carrier].put_down().unwrap_or(since);
            format!("in {} since {}", line.tanks[tank].name, source.clock(down))
        }
        Place::OnHook { hoist, lifted, .. } => {
            format!("on hook {} since {}", line.hoists[hoist].name, source.clock(lifted))
        }
        Place::Finished { tank, at } => format!("finished at {} {}", line.tanks[tank].name, source.clock(at)),
        Place::OffLine => match state.standing.lent.get(&carrier) {
            Some(lent) => format!("at bench {} since {}", lent.bench.name, source.clock(lent.since)),
            None => "taken off the line".to_owned(),
        },
    };
    let ledger = &state.ledger;
    let counted = ledger.unracked(state, carrier).map_or_else(
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
    let metal = match spec.rack {
        Rack::Titanium => "titanium",
        Rack::Aluminium => "aluminium",
    };
    let reworks = state.standing.reworks(carrier);
    let runs = state.standing.runs.get(&carrier).into_iter().flatten();
    let stripped = runs.filter(|run| run.ended == Ended::Rework);
    let gone: f64 = stripped.filter_map(|run| metal_of(line, run.recipe, &run.stays)).sum();
    let rework = match reworks {
        0 => "none".to_owned(),
        n => {
            let parts = if order.toleranced { ", TOLERANCED PARTS" } else { "" };
            format!("{n} of {} allowed, {gone:.1} um of metal gone a side{parts}", line.rework.most)
        }
    };
    Part::facts(
        "Carrier",
        vec![
            ("order", format!("{} {}", order.name, order.label)),
            ("recipe", line.recipes[spec.recipe].label.clone()),
            ("parts racked", ledger.racked(state, carrier).to_string()),
            ("area", format!("{} dm2", spec.area_dm2)),
            (
                "rack",
                format!("{}{metal}", spec.rack_name.as_ref().map_or(String::new(), |n| format!("{n}, "))),
            ),
            ("rework", rework),
            ("now", place),
            ("counted out", counted),
            ("inspection", ledger.inspected(carrier).map_or_else(|| "not inspected".to_owned(), inspection)),
        ],
    )
}

/// One run, step by step.
fn steps(
    source: &Source<'_>,
    carrier: CarrierId,
    title: &str,
    recipe: RecipeId,
    judged: &[Judged],
    breaches: &[Breach],
) -> Part {
    let line = source.changed_line();
    let or_dash = |text: Option<String>| text.unwrap_or_else(|| "-".to_owned());
    let outages = outages(source);
    let rows = judged.iter().enumerate().map(|(k, j)| {
        let tank = &line.tanks[j.stay.tank];
        let (min, max) = j.window;
        let window = match j.stay.visit {
            Visit::Stray { .. } => "no step of its sheet".to_owned(),
            _ if max.is_unlimited() => format!("{min} and more"),
            _ => format!("{min} to {max}"),
        };
        let own = breaches.iter().filter(|b| broke(judged, line, b) == Some(k));
        let mut verdict: Vec<&str> = own.map(|b| b.harm.map_or("impossible", |h| h.word())).collect();
        verdict.dedup();
        let kept = match judged.get(k + 1).filter(|_| has_rest(judged, k)) {
            Some(next) if next.stay.tank == j.stay.tank => "put back".to_owned(),
            Some(next) => format!("goes on in {}", line.tanks[next.stay.tank].name),
            None if j.goes_on => "goes on".to_owned(),
            None => "kept".to_owned(),
        };
        let dwell = j.stay.to - j.stay.from;
        let in_all = Some(dwelled(judged, k)).filter(|all| *all > dwell && !has_rest(judged, k));
        let in_all = in_all.map_or(String::new(), |all| format!(", {all} in all"));
        let shut: Vec<(Outage, (Time, Time))> =
            outages.iter().filter_map(|o| Some((*o, o.part_of(&j.stay)?))).collect();
        let meanwhile = shut.iter().map(|(outage, (from, to))| {
            format!(", tank {} for {} of it, from {}", outage.kind.words(), *to - *from, source.clock(*from))
        });
        let (bath, unfit) = in_force(source, &j.stay);
        let unfit = if unfit { ", bath out of limits" } else { "" };
        let current = current_words(source, carrier, recipe, &j.stay, &shut);
        vec![
            format!("{} {}", tank.name, tank.label),
            visit_words(line, recipe, j.stay.visit),
            source.clock(j.stay.from),
            if j.goes_on { "still in".to_owned() } else { source.clock(j.stay.to) },
            dwell.to_string(),
            window,
            or_dash(j.low_wet.map(|d| d.to_string())),
            or_dash(j.air.map(|a| a.to_string())),
            or_dash((!j.air_max.is_unlimited()).then(|| j.air_max.to_string())),
            or_dash(current),
            bath,
            j.said.map_or(String::new(), |(who, late)| said_by(who, late)),
            if verdict.is_empty() { kept } else { verdict.join(", ") }
                + &in_all
                + unfit
                + &meanwhile.collect::<String>(),
        ]
    });
    Part::table(
        title,
        &[
            "tank",
            "step",
            "in",
            "out",
            "dwell",
            "window",
            "low point wet",
            "air",
            "air at most",
            "A min (film)",
            "bath",
            "said by",
            "verdict",
        ],
        rows.collect(),
    )
}

/// True if the rest of the same dwell came after an immersion: the carrier was put back, or into another tank for it.
fn has_rest(judged: &[Judged], k: usize) -> bool {
    judged.get(k + 1).is_some_and(|next| is_rest(&judged[k].stay, &next.stay))
}

/// Dwell for a visit so far, what was before it was put back counted in.
fn dwelled(judged: &[Judged], k: usize) -> Dur {
    let first = (0..k).rev().take_while(|&before| has_rest(judged, before)).last().unwrap_or(k);
    judged[first..=k].iter().fold(Dur::ZERO, |sum, j| sum + (j.stay.to - j.stay.from))
}

fn said_by(who: Who, late: Dur) -> String {
    let who = match who {
        Who::Operator => "operator",
        Who::Supervisor => "supervisor",
        Who::Crew => "crew",
        Who::Program => "program",
    };
    if late > LATE { format!("{who}, {late} LATE") } else { who.to_owned() }
}

/// True for what people said about a carrier besides its moves.
fn concerns(event: &Event, carrier: CarrierId) -> bool {
    match event {
        Event::CarrierCorrected { carrier: c, .. }
        | Event::Entered {
            entry:
                Entry::Racked { carrier: c, .. }
                | Entry::Unracked { carrier: c, .. }
                | Entry::Inspected { carrier: c, .. },
        }
        | Event::Changed {
            change:
                Change::Hold { carrier: c }
                | Change::Release { carrier: c }
                | Change::Park { carrier: c, .. }
                | Change::BringBack { carrier: c }
                | Change::Rework { carrier: c, .. }
                | Change::Lend { carrier: c, .. }
                | Change::Back { carrier: c, .. }
                | Change::Dwell { whose: Whose::Carrier(c), .. },
            ..
        } => *c == carrier,
        _ => false,
    }
}

/// The immersion during which, or after which, a window broke: the last in that tank that had begun.
fn broke(judged: &[Judged], line: &Line, breach: &Breach) -> Option<usize> {
    judged.iter().rposition(|j| line.tanks[j.stay.tank].name == breach.place && j.stay.from <= breach.at)
}

/// A confirmation later than this is marked.
const LATE: Dur = Dur::from_secs(60);

/// The immersions of a carrier's present run, with what they are held against; the last may go on.
pub fn judged(source: &Source<'_>, carrier: CarrierId) -> Vec<Judged> {
    let state = source.state();
    let now = &state.carriers[carrier];
    let present = match now.place {
        Place::InTank { tank, visit, .. } => {
            now.put_down().map(|from| Stay { tank, visit, from, to: source.now })
        }
        _ => None,
    };
    let stays: Vec<Stay> = now.stays.iter().copied().chain(present).collect();
    let recipe = state.book.carriers[carrier].recipe;
    let mut judged = judged_run(source, carrier, recipe, &stays, now.put_down());
    if let Some(last) = judged.last_mut().filter(|_| present.is_some()) {
        (last.goes_on, last.air, last.low_wet) = (true, None, None);
    }
    judged
}

/// True if an immersion is the rest of the same dwell as the one before it.
pub(super) fn is_rest(before: &Stay, next: &Stay) -> bool {
    next.visit == before.visit && !matches!(next.visit, Visit::Stray { .. })
}

/// Dwells of one run, each with its tank and visit; what was put back for the rest of a dwell counts as one.
pub(super) fn dwells(stays: &[Stay]) -> impl Iterator<Item = (TankId, Visit, Dur)> {
    stays.chunk_by(is_rest).map(|all| {
        let sum = all.iter().fold(Dur::ZERO, |sum, s| sum + (s.to - s.from));
        (all[0].tank, all[0].visit, sum)
    })
}

/// `next` is when the carrier was down again after the last of the immersions.
fn judged_run(
    source: &Source<'_>,
    carrier: CarrierId,
    recipe: RecipeId,
    stays: &[Stay],
    next: Option<Time>,
) -> Vec<Judged> {
    let line = source.changed_line();
    let arrivals: Vec<(Time, Who, Dur)> = counting(source.history.events())
        .into_iter()
        .filter(|(s, _)| matches!(s.event, Event::Lowered { carrier: c, .. } if c == carrier))
        .map(|(s, at)| (at, s.by, s.entered - at))
        .collect();
    // As the verifier has it: the strokes of the quickest hoist there is.
    let strokes = line.hoists.iter().map(|(_, h)| h.raise_lower()).map(|(up, low)| up + low).min();
    let strokes = strokes.unwrap_or_default();
    stays
        .iter()
        .enumerate()
        .map(|(k, stay)| Judged {
            stay: *stay,
            window: line.window(recipe, stay.visit),
            air: stays.get(k + 1).map(|s| s.from).or(next).map(|down| (down - stay.to - strokes).or_zero()),
            air_max: line.air_max(recipe, stay.visit),
            low_wet: low_wet(source, carrier, stay),
            said: arrivals.iter().find(|(at, ..)| *at == stay.from).map(|(_, who, late)| (*who, *late)),
            goes_on: false,
        })
        .collect()
}

/// How long the lowest point of the load was in the liquid: longer than the highest by its height at the speed of lowering
/// and of lifting. `None` if height or speeds are not known, or if it was put in or taken out by hand.
fn low_wet(source: &Source<'_>, carrier: CarrierId, stay: &Stay) -> Option<Dur> {
    let height = source.state().book.carriers[carrier].height?;
    let line = source.changed_line();
    let runs = || source.board.times.runs.iter().filter(|r| r.carrier == carrier);
    let lowered = runs().find(|r| r.down == stay.from)?.hoist;
    let lifted = runs().find(|r| r.lift == stay.to)?.hoist;
    let speed = |hoist| match line.hoists[hoist].lift {
        Lift::Kinematic { speed, .. } => Some(speed),
        Lift::Fixed { .. } => None,
    };
    let metres = height.0 as f64 / 1000.0;
    let longer = metres * (1.0 / speed(lowered)? + 1.0 / speed(lifted)?);
    Some(stay.to - stay.from + Dur::from_secs_f64(longer))
}

/// What the current of an immersion comes to; `None` where none flows. Nobody said whether it went on while the tank was out of
/// service, so it is told from what came without that time, the ramp begun anew after it, to what came with it.
fn current_words(
    source: &Source<'_>,
    carrier: CarrierId,
    recipe: RecipeId,
    stay: &Stay,
    shut: &[(Outage, (Time, Time))],
) -> Option<String> {
    let whole = amp_minutes(source, carrier, recipe, stay)?;
    let mut left = vec![*stay];
    for (_, (from, to)) in shut.iter().filter(|(outage, _)| outage.kind == Kind::Service) {
        let rest = left.pop()?;
        left.push(Stay { to: *from, ..rest });
        left.push(Stay { from: *to, ..rest });
    }
    if left.len() == 1 {
        return Some(format!("{:.0} ({:.1} um)", whole.0, whole.1));
    }
    let pieces = left.iter().filter_map(|piece| amp_minutes(source, carrier, recipe, piece));
    let least = pieces.fold((0.0, 0.0), |sum, piece| (sum.0 + piece.0, sum.1 + piece.1));
    Some(format!("{:.0} to {:.0} ({:.1} to {:.1} um)", least.0, whole.0, least.1, whole.1))
}

/// Ampere-minutes of an immersion, with a linear ramp, and the film in micrometres they make by the 720 rule; `None` where
/// no current flows.
fn amp_minutes(source: &Source<'_>, carrier: CarrierId, recipe: RecipeId, stay: &Stay) -> Option<(f64, f64)> {
    let line = source.changed_line();
    let Visit::Step(n) = stay.visit else { return None };
    let step = line.recipes[recipe].steps.get(n.ix())?;
    let current = step.current.as_ref()?;
    let area = source.state().book.carriers[carrier].area_dm2;
    let (dwell, ramp) = ((stay.to - stay.from).as_secs_f64(), current.ramp.as_secs_f64());
    // Half of the ramp is lost; a dwell shorter than the ramp ends on the way up.
    let seconds = if dwell >= ramp { dwell - ramp / 2.0 } else { dwell * dwell / (2.0 * ramp) };
    let film = step_um(step, stay.to - stay.from).unwrap_or(0.0);
    Some((current.density * area * seconds / 60.0, film))
}
