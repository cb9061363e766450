//! Loaded moves that were made, read off the journal.

use crate::ids::{Arena, CarrierId, HoistId, TankId};
use crate::line::{Line, Visit};
use crate::shift::{Claim, Event, Stamped, State, counting};
use crate::units::Time;

/// One loaded move that is over.
#[derive(Debug, Clone, Copy)]
pub(super) struct Leg {
    pub carrier: CarrierId,
    pub hoist: HoistId,
    pub from: TankId,
    pub to: TankId,
    /// Why it was at `from`, as far as the journal says.
    pub leaves: Visit,
    pub visit: Visit,
    pub lifted: Time,
    pub down: Time,
}

/// Every move whose lift and lower are both known, in order of the lift. What a person put right by hand was not a move.
pub(super) fn legs(line: &Line, state: &State, events: &[Stamped]) -> Vec<Leg> {
    let mut last: Arena<CarrierId, Visit> = state.carriers.iter().map(|_| Visit::Load).collect();
    let mut lifts: Arena<CarrierId, Option<(Time, TankId)>> = state.carriers.iter().map(|_| None).collect();
    let mut legs = Vec::new();
    for (stamped, at) in counting(events) {
        match stamped.event {
            Event::Lifted { carrier, from, .. } => lifts[carrier] = Some((at, from)),
            Event::Lowered { carrier, hoist, to, visit, .. } => {
                if let Some((lifted, from)) = lifts[carrier].take().filter(|(lifted, _)| *lifted <= at) {
                    let leaves = last[carrier];
                    legs.push(Leg { carrier, hoist, from, to, leaves, visit, lifted, down: at });
                }
                last[carrier] = visit;
            }
            Event::CarrierCorrected { carrier, claim } => {
                lifts[carrier] = None;
                match claim {
                    Claim::InTank { visit, .. } => last[carrier] = visit,
                    Claim::OnHook { from, leaves, lifted, .. } => {
                        last[carrier] = leaves;
                        lifts[carrier] = Some((lifted, from));
                    }
                    Claim::Queued | Claim::OffLine | Claim::Finished { .. } => last[carrier] = Visit::Load,
                }
            }
            _ => {}
        }
    }
    legs.retain(|l| line.tanks.get(l.from).is_some() && line.tanks.get(l.to).is_some());
    legs.sort_by_key(|l| l.lifted);
    legs
}
