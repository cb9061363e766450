//! Folds a change into the state. Like the rest of the reducer it refuses nothing.

use std::sync::Arc;

use super::standing::{Ended, Lent, Park, Run, Stop};
use super::{Change, Whose, variant};
use crate::ids::{CarrierId, Id as _, RecipeId, Seq, StageId, StepNo, TankId};
use crate::line::{CarrierSpec, Line, Order, OrderBook, Priority, Recipe, Role, Visit};
use crate::shift::state::{Carrier, Place, State, Stay};
use crate::units::{Dur, Time};

/// Folds the change that the event `said` made at `at`.
pub fn apply(state: &mut State, filed: &Line, change: &Change, said: Seq, at: Time) {
    learn_from(change, &mut state.book);
    let standing = &mut state.standing;
    match change {
        Change::Hold { carrier } => drop(standing.held.insert(*carrier, said)),
        Change::Release { carrier } => drop(standing.held.remove(carrier)),
        Change::Park { carrier, tank } => {
            standing.parked.insert(*carrier, Park { tank: *tank, said });
        }
        Change::BringBack { carrier } => drop(standing.parked.remove(carrier)),
        Change::Quarantine { tank } => drop(standing.quarantined.insert(*tank, said)),
        Change::Free { tank } => drop(standing.quarantined.remove(tank)),
        Change::StopHoist { hoist, cause, until } => {
            standing.stopped.insert(*hoist, Stop { cause: *cause, since: at, until: *until, said });
        }
        Change::RunHoist { hoist } => {
            standing.stopped.remove(hoist);
            let free = &mut state.hoists[*hoist].free_from;
            *free = at.max(*free);
        }
        Change::SlowHoist { hoist, percent } => {
            let now = state.line(filed).hoists[*hoist].clone();
            let full = state.standing.slow.remove(hoist).map_or(now, |(_, full)| full);
            let slow = variant::slowed(&full, *percent);
            changed_line(state, filed).hoists[*hoist] = slow;
            if *percent != 100 {
                state.standing.slow.insert(*hoist, (*percent, full));
            }
        }
        Change::Promise { order, priority, due } => {
            let order = &mut state.book.orders[*order];
            (order.priority, order.due) = (*priority, *due);
            standing.queue_changed = true;
        }
        Change::Reorder { carriers } => {
            standing.first.clone_from(carriers);
            standing.queue_changed = true;
        }
        Change::AddOrder { order, .. } => {
            while state.carriers.len() < state.book.carriers.len() {
                state.carriers.push(Carrier { place: Place::Queued, stays: Vec::new() });
            }
            standing.queue_changed |= order.priority == Priority::Rush;
        }
        Change::CancelOrder { order } => {
            for id in state.carriers.ids().filter(|id| state.book.carriers[*id].order == *order) {
                if state.carriers[id].place == Place::Queued {
                    state.carriers[id].place = Place::OffLine;
                    standing.cancelled.insert(id);
                }
            }
        }
        // The book has learned it.
        Change::Split { order, carriers, .. } => {
            let mut ledger = std::mem::take(&mut state.ledger);
            if let Some(split) = state.book.orders.ids().last() {
                ledger.split(state, *order, split, carriers, at);
            }
            state.ledger = ledger;
        }
        Change::Dwell { whose, step, window } => {
            let carriers = variant::still_before(state.line(filed), state, *whose, *step);
            let mut made: Vec<(RecipeId, RecipeId)> = Vec::new();
            for carrier in carriers {
                let before = state.book.carriers[carrier].recipe;
                let known = made.iter().find(|(b, _)| *b == before).map(|(_, after)| *after);
                let after = known.unwrap_or_else(|| {
                    let recipe = &state.line(filed).recipes[before];
                    let recipe = variant::with_window(recipe, *step, *window, &whom(state, *whose));
                    let limits = state.sheet(before);
                    let after = changed_line(state, filed).recipes.push(recipe);
                    state.standing.limits.insert(after, limits);
                    made.push((before, after));
                    after
                });
                state.book.carriers[carrier].recipe = after;
            }
        }
        Change::Entry { order, side } => {
            for id in state.book.orders.ids().filter(|id| order.is_none_or(|o| o == *id)) {
                state.book.orders[id].entry = *side;
            }
            standing.queue_changed = true;
        }
        Change::Rework { carrier, recipe } => rework(state, filed, *carrier, *recipe, at),
        Change::Lend { carrier, bench } => {
            let c = &mut state.carriers[*carrier];
            if let Place::InTank { tank, visit, since, .. } = c.place {
                let from = since + c.dwelled(visit);
                c.stays.push(Stay { tank, visit, from, to: at });
            }
            c.place = Place::OffLine;
            state.standing.held.remove(carrier);
            state.standing.parked.remove(carrier);
            state.standing.lent.insert(*carrier, Lent { bench: bench.clone(), since: at, said });
            forget(state, *carrier);
        }
        Change::Back { carrier, tank } => back(state, filed, *carrier, *tank, at),
    }
}

/// What a change adds to the book.
pub fn learn_from(change: &Change, book: &mut OrderBook) {
    match change {
        Change::AddOrder { order, carriers } => {
            let id = book.orders.push(Order::clone(order));
            for spec in carriers {
                book.carriers.push(CarrierSpec { order: id, ..spec.clone() });
            }
        }
        Change::Split { order, carriers, name } => {
            let parts = carriers.iter().map(|c| book.carriers[*c].parts).fold(0, u32::saturating_add);
            let from = &mut book.orders[*order];
            let split = Order { name: name.clone(), parts, ..from.clone() };
            from.parts = from.parts.saturating_sub(parts);
            let id = book.orders.push(split);
            for carrier in carriers {
                book.carriers[*carrier].order = id;
            }
        }
        _ => {}
    }
}

/// The line as it is now, to be changed.
fn changed_line<'a>(state: &'a mut State, filed: &Line) -> &'a mut Line {
    Arc::make_mut(state.standing.line.get_or_insert_with(|| Arc::new(filed.clone())))
}

fn whom(state: &State, whose: Whose) -> String {
    match whose {
        Whose::Carrier(carrier) => state.book.carriers[carrier].name.clone(),
        Whose::Order(order) => state.book.orders[order].name.clone(),
    }
}

/// The carrier runs the recipe for rework from where it is.
fn rework(state: &mut State, filed: &Line, carrier: CarrierId, recipe: RecipeId, at: Time) {
    let line = state.line(filed);
    let before = state.book.carriers[carrier].recipe;
    let stage_of = |tank| match line.tanks[tank].role {
        Role::Bath(stage) => Some(stage),
        Role::Station { .. } => None,
    };
    let here: Option<(StageId, Visit)> = match state.carriers[carrier].place {
        Place::InTank { tank, visit, .. } => stage_of(tank).map(|s| (s, visit)),
        Place::OnHook { from, leaves, .. } => stage_of(from).map(|s| (s, leaves)),
        Place::Queued | Place::Finished { .. } | Place::OffLine => None,
    };
    let runs: Option<Recipe> = here.map(|(stage, visit)| {
        let name = &state.book.carriers[carrier].name;
        variant::from_here(&line.recipes[recipe], stage, line.drip(before, visit), name)
    });
    let after = match runs {
        Some(recipe) => changed_line(state, filed).recipes.push(recipe),
        None => recipe,
    };
    state.book.carriers[carrier].recipe = after;
    let first = if here.is_some() { Visit::Step(StepNo(0)) } else { Visit::Load };
    let c = &mut state.carriers[carrier];
    let along = here.map_or(Dur::ZERO, |(_, visit)| c.dwelled(visit));
    match &mut c.place {
        Place::InTank { tank, visit, since, .. } => {
            let from = *since + along;
            c.stays.push(Stay { tank: *tank, visit: *visit, from, to: at });
            *visit = first;
        }
        Place::OnHook { leaves, .. } => *leaves = first,
        place => *place = Place::Queued,
    }
    let stays = std::mem::take(&mut c.stays);
    let run = Run { recipe: before, stays, ended: Ended::Rework };
    state.standing.runs.entry(carrier).or_default().push(run);
    state.standing.cancelled.remove(&carrier);
    state.standing.parked.remove(&carrier);
    state.ledger.run_again(carrier);
    forget(state, carrier);
}

/// The carrier comes back from a bench and goes on with the step that was said.
fn back(state: &mut State, filed: &Line, carrier: CarrierId, tank: Option<TankId>, at: Time) {
    let Some(resume) = leaves_bench(state, carrier, at) else { return };
    let before = state.book.carriers[carrier].recipe;
    state.carriers[carrier].place = match tank {
        Some(tank) => Place::InTank { tank, visit: Visit::Step(resume), since: at, hooked: None },
        None => Place::Queued,
    };
    if tank.is_none() && resume.ix() > 0 {
        let name = state.book.carriers[carrier].name.clone();
        let rest = variant::from_step(&state.line(filed).recipes[before], resume, &name);
        state.book.carriers[carrier].recipe = changed_line(state, filed).recipes.push(rest);
    }
    forget(state, carrier);
}

/// The time at a bench is over, if the carrier is at one; what it did before is a run of its own, so that the time at the
/// bench is no air time. The step it was to go on with.
pub(in crate::shift) fn leaves_bench(state: &mut State, carrier: CarrierId, at: Time) -> Option<StepNo> {
    let lent = state.standing.lent.remove(&carrier)?;
    let resume = lent.bench.resume;
    let recipe = state.book.carriers[carrier].recipe;
    let stays = std::mem::take(&mut state.carriers[carrier].stays);
    let ended = Ended::Bench(lent.bench, lent.since, at.max(lent.since));
    state.standing.runs.entry(carrier).or_default().push(Run { recipe, stays, ended });
    Some(resume)
}

/// Alarms and plan speak of what a carrier was to do before; this answers the ones and calls for another of the other.
fn forget(state: &mut State, carrier: CarrierId) {
    state.alarms.retain(|key, _| key.carrier != carrier);
    if let Some(plan) = &mut state.plan {
        plan.moves.retain(|m| m.carrier != carrier);
    }
}
