//! Which events count, and with which time: later words about earlier ones, worked out the plain way.

use super::{Fault, Law};
use crate::ids::Seq;
use crate::shift::{Change, Event, Stamped};
use crate::units::Time;

/// An event that counts.
pub(super) struct Told<'a> {
    pub seq: Seq,
    pub at: Time,
    pub event: &'a Event,
    /// It was taken back, and only the numbers it gave are left of it.
    pub undone: bool,
}

/// The events that count, in the order of the journal. Orders that were added or split off and taken back keep their
/// numbers, so that later events mean the same ones.
pub(super) fn events<'a>(all: &'a [Stamped], found: &mut Vec<Fault>) -> Vec<Told<'a>> {
    let gone = undone(all, found);
    let counts = |k: usize| !gone[k];
    let mut told = Vec::new();
    for (k, stamped) in all.iter().enumerate() {
        if !counts(k) {
            if numbers(&stamped.event) {
                told.push(Told { seq: stamped.seq, at: stamped.at, event: &stamped.event, undone: true });
            }
            continue;
        }
        let later = all.iter().enumerate().skip(k + 1).filter(|(j, _)| counts(*j)).rev();
        let said = later.filter_map(|(_, s)| match s.event {
            Event::Retimed { seq, at } if seq == stamped.seq => Some(at),
            _ => None,
        });
        let at = if stamped.event.is_physical() { said.take(1).next() } else { None };
        told.push(Told {
            seq: stamped.seq,
            at: at.unwrap_or(stamped.at),
            event: &stamped.event,
            undone: false,
        });
    }
    told
}

/// True if an event gives an order a number.
fn numbers(event: &Event) -> bool {
    matches!(event, Event::Changed { change: Change::AddOrder { .. } | Change::Split { .. }, .. })
}

/// Which events are taken back, by place. An undo that is itself taken back takes nothing back.
fn undone(all: &[Stamped], found: &mut Vec<Fault>) -> Vec<bool> {
    let mut gone = vec![false; all.len()];
    for k in (0..all.len()).rev() {
        let Event::Undone { seq } = all[k].event else { continue };
        if gone[k] {
            continue;
        }
        let mut fault = |text: String| found.push(Fault { seq: all[k].seq, law: Law::Undo, text });
        match all[..k].iter().position(|s| s.seq == seq) {
            None => fault(format!("it takes back event {}, which is not there", seq.0)),
            Some(j) if gone[j] => fault(format!("it takes back event {}, as a later one does", seq.0)),
            Some(j) => gone[j] = true,
        }
    }
    gone
}
