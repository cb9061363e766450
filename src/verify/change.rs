//! What a person has changed is kept: who is held or parked stays, what is stopped does nothing, the queue has its order.

use super::story::{Leg, Story};
use super::{Breach, Rule, bath, figure};
use crate::ids::{CarrierId, HoistId, Id as _, StepNo, TankId};
use crate::line::{Harm, Role, StageKind, Visit};
use crate::shift::Place;
use crate::units::{Dur, Time};

pub fn judge(story: &Story, found: &mut Vec<Breach>) {
    let staying = stay_for_good(story);
    for carrier in story.state.carriers.ids() {
        let legs = story.legs_of(carrier);
        if staying.contains(&carrier) && !is_kept(story, carrier) {
            shut_in(story, found, carrier, legs);
        } else if is_kept(story, carrier) {
            kept(story, found, carrier, legs);
        } else if story.state.standing.parked.contains_key(&carrier) {
            parked(story, found, carrier, legs);
        }
    }
    for leg in &story.legs {
        stopped(story, found, leg);
        quarantined(story, found, leg);
    }
    queue(story, found);
}

/// True if nobody is to move a carrier: it is held, or it is in standby water to stay there.
pub fn is_kept(story: &Story, carrier: CarrierId) -> bool {
    let changed = &story.state.standing;
    let waits = match story.state.carriers[carrier].place {
        Place::InTank { tank, visit, .. } => is_wait(visit) && is_standby(story, tank),
        _ => false,
    };
    changed.held.contains_key(&carrier) || (waits && changed.parked.contains_key(&carrier))
}

/// True if a move puts a carrier where it is to be parked.
pub fn is_parking(story: &Story, leg: &Leg) -> bool {
    let park = story.state.standing.parked.get(&leg.mv.carrier);
    let named = |wanted: Option<TankId>| wanted.is_none_or(|t| t == leg.mv.to);
    park.is_some_and(|p| named(p.tank)) && is_wait(leg.mv.visit) && is_standby(story, leg.mv.to)
}

fn is_wait(visit: Visit) -> bool {
    matches!(visit, Visit::Hold(_) | Visit::Stray { .. })
}

fn is_standby(story: &Story, tank: TankId) -> bool {
    let stages = &story.line.stages;
    matches!(story.line.tanks[tank].role, Role::Bath(s) if stages[s].kind == StageKind::Standby)
}

/// Carriers that are where they are for good: nobody is to move them, or a tank they need is shut for good, perhaps by
/// another one of them. Only those that the schedule leaves there count.
pub fn stay_for_good(story: &Story) -> Vec<CarrierId> {
    let all: Vec<CarrierId> = story.state.carriers.ids().collect();
    let mut staying: Vec<CarrierId> = all.iter().copied().filter(|c| is_kept(story, *c)).collect();
    if !story.line.tanks.ids().any(|t| is_shut(story, t, &staying)) {
        return staying;
    }
    loop {
        let more = all.iter().copied().find(|c| {
            let stands =
                end_of(story, *c).is_some_and(|(_, visit)| !matches!(visit, Visit::Unload | Visit::Load));
            stands && !staying.contains(c) && is_shut_in(story, *c, &staying)
        });
        let Some(more) = more else { return staying };
        staying.push(more);
    }
}

/// Where the schedule leaves a carrier that has started, and for which visit.
fn end_of(story: &Story, carrier: CarrierId) -> Option<(Option<TankId>, Visit)> {
    let last = story.legs_of(carrier).last().map(|l| (Some(l.mv.to), l.mv.visit));
    last.or(match story.state.carriers[carrier].place {
        Place::InTank { tank, visit, .. } => Some((Some(tank), visit)),
        Place::OnHook { leaves, .. } => Some((None, leaves)),
        Place::Queued | Place::Finished { .. } | Place::OffLine => None,
    })
}

fn is_shut_in(story: &Story, carrier: CarrierId, staying: &[CarrierId]) -> bool {
    let Some((_, visit)) = end_of(story, carrier) else { return false };
    let Some(sheet) = story.sheet(carrier) else { return false };
    let next = match visit {
        Visit::Load => 0,
        Visit::Step(n) | Visit::Hold(n) => n.ix() + 1,
        Visit::Stray { resume } => resume.ix(),
        Visit::Unload => return false,
    };
    let mut ahead = (next..).map(StepNo::at).take_while(|n| sheet.step(*n).is_some());
    ahead.any(|n| {
        let mut tanks = story.line.tanks.ids().filter(|t| sheet.fits(Visit::Step(n), *t));
        tanks.all(|t| is_shut(story, t, staying))
    })
}

fn is_shut(story: &Story, tank: TankId, staying: &[CarrierId]) -> bool {
    let there = |c: &&CarrierId| end_of(story, **c).is_some_and(|(t, _)| t == Some(tank));
    let full = staying.iter().filter(there).count() >= usize::from(story.line.tanks[tank].capacity);
    full || story.state.standing.quarantined.contains_key(&tank) || bath::is_shut(story, tank)
}

/// When a stopped hoist runs again; the instant after the plan is made if nobody knows.
pub fn runs_from(story: &Story, hoist: HoistId) -> Option<Time> {
    let stop = story.state.standing.stopped.get(&hoist)?;
    Some(stop.until.unwrap_or(story.made_at + Dur(1)))
}

fn kept(story: &Story, found: &mut Vec<Breach>, carrier: CarrierId, legs: &[Leg]) {
    let name = story.carrier(carrier);
    for leg in legs {
        let text = format!("{name} is to be moved from {} but is to stay", story.tank_in_words(leg.mv.from));
        let place = story.tank(leg.mv.from);
        found.push(story.breach(Rule::Held, None, carrier, place, (leg.mv.start, Dur::ZERO), text));
    }
    if let Place::InTank { tank, visit, since, .. } = story.state.carriers[carrier].place {
        closes(story, found, carrier, (tank, visit), since);
    }
}

/// A carrier that cannot go on: it does what its window says of staying.
fn shut_in(story: &Story, found: &mut Vec<Breach>, carrier: CarrierId, legs: &[Leg]) {
    let text = format!(
        "{} cannot go on: a tank it needs is shut, or held by a load that stays",
        story.carrier(carrier)
    );
    let (place, since) = match (legs.last(), story.state.carriers[carrier].place) {
        (Some(last), _) => (Some((last.mv.to, last.mv.visit)), last.t.down),
        (None, Place::InTank { tank, visit, since, .. }) => (Some((tank, visit)), since),
        _ => (None, story.made_at),
    };
    let name = place.map_or_else(String::new, |(tank, _)| story.tank(tank));
    let when = (story.made_at, Dur::ZERO);
    found.push(story.breach(Rule::Held, Some(Harm::Nuisance), carrier, name, when, text));
    if let Some(stay) = place {
        closes(story, found, carrier, stay, since);
    }
}

/// The window of a stay that has no end.
fn closes(
    story: &Story,
    found: &mut Vec<Breach>,
    carrier: CarrierId,
    (tank, visit): (TankId, Visit),
    since: Time,
) {
    let Some(window) = story.sheet(carrier).and_then(|s| s.window(visit)) else { return };
    if window.max.is_unlimited() {
        return;
    }
    let at = since + window.max;
    let by = if at < story.made_at { story.made_at - at } else { Dur::ZERO };
    let text = format!(
        "{} is kept in {} and its window closes ({})",
        story.carrier(carrier),
        story.tank_in_words(tank),
        window.over.word()
    );
    let breach = story.breach(Rule::Over, Some(window.over), carrier, story.tank(tank), (at, by), text);
    found.push(Breach { open_ended: true, ..breach });
}

fn parked(story: &Story, found: &mut Vec<Breach>, carrier: CarrierId, legs: &[Leg]) {
    let Some(last) = legs.last() else { return };
    let (place, name) = (story.tank(last.mv.to), story.carrier(carrier));
    if !is_parking(story, last) {
        let text = format!("{name} is to be parked, but goes on");
        let when = (legs[0].mv.start, Dur::ZERO);
        found.push(story.breach(Rule::Held, Some(Harm::Nuisance), carrier, place, when, text));
        return;
    }
    // On the way there it makes no other stop but the one it was put back to.
    for leg in &legs[..legs.len() - 1] {
        if leg.mv.release && !(leg.under_way && leg.mv.from == leg.mv.to) && !is_parking(story, leg) {
            let text =
                format!("{name} is to be parked at its next move, not after {}", story.tank(leg.mv.to));
            let when = (leg.mv.start, Dur::ZERO);
            found.push(story.breach(Rule::Held, Some(Harm::Nuisance), carrier, place.clone(), when, text));
        }
    }
    closes(story, found, carrier, (last.mv.to, last.mv.visit), last.t.down);
}

fn stopped(story: &Story, found: &mut Vec<Breach>, leg: &Leg) {
    let Some(back) = runs_from(story, leg.mv.hoist) else { return };
    // What hangs on it is still where it was lifted.
    let begins = if leg.under_way { leg.t.clear } else { leg.mv.start };
    if begins < back {
        let (hoist, carrier) = (story.hoist(leg.mv.hoist), leg.mv.carrier);
        let by = back - begins;
        let text = format!(
            "{hoist} is to move {} at {begins}, {} before it runs again",
            story.carrier(carrier),
            figure(by)
        );
        found.push(story.breach(Rule::Stopped, None, carrier, hoist, (begins, by), text));
    }
}

fn quarantined(story: &Story, found: &mut Vec<Breach>, leg: &Leg) {
    if !story.state.standing.quarantined.contains_key(&leg.mv.to) {
        return;
    }
    let back = leg.under_way && leg.mv.from == leg.mv.to;
    if !back {
        let text = format!(
            "{} goes into {}, which is in quarantine",
            story.carrier(leg.mv.carrier),
            story.tank_in_words(leg.mv.to)
        );
        let (place, when) = (story.tank(leg.mv.to), (leg.t.down, Dur::ZERO));
        found.push(story.breach(Rule::Availability, None, leg.mv.carrier, place, when, text));
    }
}

/// Carriers start in the order that was said.
fn queue(story: &Story, found: &mut Vec<Breach>) {
    let starts: Vec<&Leg> = story
        .state
        .standing
        .first
        .iter()
        .filter(|c| story.state.carriers[**c].place == Place::Queued)
        .filter_map(|c| story.legs_of(*c).first())
        .collect();
    for pair in starts.windows(2) {
        let (first, then) = (pair[0], pair[1]);
        if then.mv.start < first.mv.start {
            let by = first.mv.start - then.mv.start;
            let text = format!(
                "{} starts {} before {}, which was to start first",
                story.carrier(then.mv.carrier),
                figure(by),
                story.carrier(first.mv.carrier)
            );
            let (place, when) = (story.tank(then.mv.from), (then.mv.start, by));
            found.push(story.breach(Rule::Queue, Some(Harm::Nuisance), then.mv.carrier, place, when, text));
        }
    }
}
