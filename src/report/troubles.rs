//! What a shift met with, and what became of it: tanks that went out, cranes that stood, orders that came in, loads that
//! were found in a wrong tank; and what came out late.

use super::outages::{outages, over};
use super::{Part, Source};
use crate::ids::{CarrierId, OrderId};
use crate::line::Visit;
use crate::shift::{Change, Claim, Event, Place, counting};
use crate::train::Debrief;
use crate::units::{Dur, Time};

/// What came from outside, with what became of it; nothing where nothing came.
pub(super) fn troubles(source: &Source<'_>, debrief: &Debrief) -> Option<Part> {
    let from = debrief.brief.as_ref().and_then(|b| b.taken_over).map_or(Time::ZERO, |t| t.at);
    let mut rows: Vec<(Time, String, String)> = Vec::new();
    let met = |at: Time, what: String, then: String| (at, what, then);
    rows.extend(outages(source).into_iter().map(|outage| {
        let t = &source.line.tanks[outage.tank];
        let what = format!("{} {} {}", t.name, t.label, outage.kind.words());
        met(outage.from, what, over(source, &outage))
    }));
    for (stamped, at) in counting(source.history.events()) {
        rows.extend(match &stamped.event {
            Event::Changed { change: Change::AddOrder { order, .. }, .. } => {
                let id = source.state().book.orders.iter().find(|(_, o)| o.name == order.name);
                id.map(|(id, _)| met(at, format!("order {} comes in", order.name), kept(source, id)))
            }
            Event::CarrierCorrected {
                carrier,
                claim: Claim::InTank { tank, since, visit: Visit::Stray { .. } },
            } => {
                let (name, t) = (&source.state().book.carriers[*carrier].name, &source.line.tanks[*tank]);
                let found = format!("{name} found in {} {}: put down wrong", t.name, t.label);
                let after =
                    format!("found after {}; {}", stamped.entered - *since, left(source, *carrier, *since));
                Some(met(stamped.entered, found, after))
            }
            _ => None,
        });
    }
    rows.extend(debrief.met.stood.iter().map(|s| {
        let lasted = s.until - s.from;
        let then = if s.goes_on {
            format!("still going on, for {lasted} so far")
        } else {
            format!("for {lasted}, until {}", source.clock(s.until))
        };
        met(s.from, format!("{} stops", source.crane(s.hoist)), then)
    }));
    rows.retain(|(at, ..)| *at >= from);
    rows.sort_by_key(|(at, ..)| *at);
    let rows: Vec<_> = rows.into_iter().map(|(at, what, then)| vec![source.clock(at), what, then]).collect();
    (!rows.is_empty()).then(|| Part::table("What it met with", &["at", "what", "what became of it"], rows))
}

/// What became of a promise.
fn kept(source: &Source<'_>, order: OrderId) -> String {
    let state = source.state();
    let own = || state.book.carriers.iter().filter(move |(_, c)| c.order == order);
    let ends = own().map(|(c, _)| finished(source, c)).collect::<Option<Vec<Time>>>();
    let last = ends.and_then(|ends| ends.into_iter().max());
    match (state.book.orders[order].due, last) {
        (Some(due), Some(last)) => {
            let clock = source.clock(last);
            format!("promised {}, out {clock}, {}", source.clock(due), against(last, due))
        }
        (Some(due), None) => format!("promised {}, not all out", source.clock(due)),
        (None, Some(last)) => format!("out {}", source.clock(last)),
        (None, None) => "not all out".to_owned(),
    }
}

fn against(end: Time, due: Time) -> String {
    if end > due { format!("{} late", (end - due).in_minutes()) } else { "in time".to_owned() }
}

fn finished(source: &Source<'_>, carrier: CarrierId) -> Option<Time> {
    match source.state().carriers[carrier].place {
        Place::Finished { at, .. } => Some(at),
        _ => None,
    }
}

/// How long a load stayed where it was put down wrong.
fn left(source: &Source<'_>, carrier: CarrierId, since: Time) -> String {
    let stays = &source.state().carriers[carrier].stays;
    match stays.iter().find(|s| s.from == since) {
        Some(stay) => format!("lifted out at {}, after {}", source.clock(stay.to), stay.to - stay.from),
        None => format!("still there, for {}", source.now - since),
    }
}

/// Bars that came out later than promised or are still not out, if there are any.
pub(super) fn late(source: &Source<'_>, debrief: &Debrief) -> Option<Part> {
    let state = source.state();
    let from = debrief.brief.as_ref().and_then(|b| b.taken_over).map_or(Time::ZERO, |t| t.at);
    let late = |(id, spec): (CarrierId, &crate::line::CarrierSpec)| {
        let order = &state.book.orders[spec.order];
        let due = order.due?;
        let out = match state.carriers[id].place {
            Place::Finished { at, .. } if at >= from => Some(at),
            Place::Finished { .. } | Place::OffLine => return None,
            _ => None,
        };
        let by = out.unwrap_or(debrief.now) - due;
        let out = out.map_or_else(|| "not out".to_owned(), |t| source.clock(t));
        (by > Dur::ZERO)
            .then(|| vec![spec.name.clone(), order.name.clone(), source.clock(due), out, by.in_minutes()])
    };
    let rows: Vec<_> = state.book.carriers.iter().filter_map(late).collect();
    (!rows.is_empty()).then(|| Part::table("Late", &["bar", "order", "promised", "out", "late by"], rows))
}
