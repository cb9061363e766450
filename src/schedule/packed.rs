//! Moves in a few bytes each: a history keeps a thousand plans, and a plan has a thousand moves.

use std::sync::Arc;

use super::{Move, Part};
use crate::ids::{CarrierId, HoistId, StepNo, TankId};
use crate::line::Visit;
use crate::units::{Dur, Time};

/// In the place of the length of a run: a move of its own follows.
const OWN: u64 = 0;

/// Parts of a plan as bytes.
pub(super) fn packed(parts: impl Iterator<Item = Part>) -> Arc<[u8]> {
    let (mut bytes, mut before) = (Vec::new(), Time::ZERO);
    for part in parts {
        match part {
            Part::Own(m) => {
                put(&mut bytes, OWN);
                put_move(&mut bytes, &m, before);
                before = m.start;
            }
            Part::Run { first, count, shift } => {
                put(&mut bytes, count.into());
                put(&mut bytes, first.into());
                put_signed(&mut bytes, shift.0);
            }
        }
    }
    bytes.into()
}

/// The `count` moves that [`packed`] parts make of the moves of another plan.
pub(super) fn unpacked(mut bytes: &[u8], whole: &[Move], count: usize) -> Vec<Move> {
    let (mut moves, mut before) = (Vec::with_capacity(count), Time::ZERO);
    while !bytes.is_empty() {
        match take(&mut bytes) {
            OWN => {
                let own = take_move(&mut bytes, before);
                before = own.start;
                moves.push(own);
            }
            length => {
                let (first, shift) = (take(&mut bytes) as usize, Dur(take_signed(&mut bytes)));
                let run = &whole[first..first + length as usize];
                moves.extend(run.iter().map(|m| Move { start: m.start + shift, ..*m }));
            }
        }
    }
    moves
}

/// The start counts from that of the move before.
fn put_move(bytes: &mut Vec<u8>, m: &Move, before: Time) {
    let ((leaves, last), (visit, next)) = (told(m.leaves), told(m.visit));
    bytes.push(u8::from(m.attach) | u8::from(m.release) << 1 | leaves << 2 | visit << 5);
    for number in [m.carrier.0, m.hoist.0, m.from.0, m.to.0, last.0, next.0] {
        put(bytes, number.into());
    }
    put_signed(bytes, m.start.0.wrapping_sub(before.0));
}

fn take_move(bytes: &mut &[u8], before: Time) -> Move {
    let head = byte(bytes);
    let mut number = || take(bytes) as u16;
    let (carrier, hoist) = (CarrierId(number()), HoistId(number()));
    let (from, to) = (TankId(number()), TankId(number()));
    let (last, next) = (StepNo(number()), StepNo(number()));
    Move {
        carrier,
        hoist,
        from,
        to,
        leaves: visit_of(head >> 2 & 7, last),
        visit: visit_of(head >> 5, next),
        start: Time(before.0.wrapping_add(take_signed(bytes))),
        attach: head & 1 != 0,
        release: head & 2 != 0,
    }
}

/// Which kind of visit, in three bits, and its step.
fn told(visit: Visit) -> (u8, StepNo) {
    match visit {
        Visit::Load => (0, StepNo(0)),
        Visit::Step(step) => (1, step),
        Visit::Hold(step) => (2, step),
        Visit::Stray { resume } => (3, resume),
        Visit::Unload => (4, StepNo(0)),
    }
}

fn visit_of(kind: u8, step: StepNo) -> Visit {
    match kind {
        0 => Visit::Load,
        1 => Visit::Step(step),
        2 => Visit::Hold(step),
        3 => Visit::Stray { resume: step },
        _ => Visit::Unload,
    }
}

/// Seven bits a byte, the lowest first; all bytes but the last have the eighth.
fn put(bytes: &mut Vec<u8>, mut number: u64) {
    while number > 0x7f {
        bytes.push(number as u8 | 0x80);
        number >>= 7;
    }
    bytes.push(number as u8);
}

fn take(bytes: &mut &[u8]) -> u64 {
    let (mut number, mut place) = (0, 0);
    loop {
        let next = byte(bytes);
        number |= u64::from(next & 0x7f) << place;
        if next <= 0x7f {
            return number;
        }
        place += 7;
    }
}

/// The sign last, so that small numbers are short on both sides of 0.
fn put_signed(bytes: &mut Vec<u8>, number: i64) {
    put(bytes, (number << 1 ^ number >> 63) as u64);
}

fn take_signed(bytes: &mut &[u8]) -> i64 {
    let number = take(bytes);
    (number >> 1) as i64 ^ -((number & 1) as i64)
}

fn byte(bytes: &mut &[u8]) -> u8 {
    let (first, rest) = bytes.split_first().expect("only whole parts are packed");
    *bytes = rest;
    *first
}
