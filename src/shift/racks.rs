//! Racks that have a name: how often they went through the line, whether they owe a strip, who hangs on them.
//!
//! 1. An aluminium rack is coated with the parts and owes a strip after every run; titanium owes none (see
//!    [`Rack`]).
//! 2. A carrier on a rack that owes a strip, or that another carrier has, does not start.
//! 3. The strip is a carrier of its own that runs a recipe with `strips_racks`; it is asked for when the parts are off.

use super::change::Change;
use super::ledger::Count;
use super::state::{Place, State};
use crate::ids::{CarrierId, OrderId, RecipeId};
use crate::line::{CarrierSpec, EntrySide, Line, Order, Priority, Rack};
use crate::units::Time;

/// One rack as it is now.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RackNow {
    /// Its name.
    pub name: String,
    /// Its metal.
    pub metal: Rack,
    /// How often it went through the line, earlier shifts included.
    pub cycles: u32,
    /// Parts on it that were spoiled, earlier shifts included.
    pub spoiled: u32,
    /// It is to be stripped before it is used again.
    pub owes_strip: bool,
}

/// Why a carrier's rack is not free for it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum RackWait {
    /// It owes a strip.
    OwesStrip,
    /// This carrier has it.
    TakenBy(CarrierId),
}

/// All racks with a name, as they are.
pub fn racks(line: &Line, state: &State) -> Vec<RackNow> {
    let line = state.line(line);
    let row = |rack: &crate::line::NamedRack| {
        let own: Vec<CarrierId> = on(state, &rack.name).filter(|c| !strips(line, state, *c)).collect();
        let done = own.iter().filter(|c| finished(state, **c).is_some()).count();
        let again: usize = own.iter().map(|c| state.standing.reworks(*c)).sum();
        let spoiled: u32 = counts(state, &own).map(|n| n.rework + n.scrap).fold(0, u32::saturating_add);
        RackNow {
            name: rack.name.clone(),
            metal: rack.metal,
            cycles: rack.cycles + u32::try_from(done + again).unwrap_or(u32::MAX),
            spoiled: rack.spoiled + spoiled,
            owes_strip: owes(line, state, &rack.name),
        }
    };
    state.book.racks.iter().map(row).collect()
}

/// All counts of some carriers, also those from before they were run again.
fn counts<'a>(state: &'a State, carriers: &'a [CarrierId]) -> impl Iterator<Item = Count> + 'a {
    carriers.iter().flat_map(|c| state.ledger.rounds(state, *c)).filter_map(|round| round.count)
}

/// Why a carrier that has not started cannot: its rack owes a strip, or another carrier has it.
pub fn waits(line: &Line, state: &State, carrier: CarrierId) -> Option<RackWait> {
    let line = state.line(line);
    let name = state.book.carriers[carrier].rack_name.as_ref()?;
    if state.carriers[carrier].place != Place::Queued || strips(line, state, carrier) {
        return None;
    }
    let has = |other: &CarrierId| {
        *other != carrier
            && match state.carriers[*other].place {
                Place::InTank { .. } | Place::OnHook { .. } => true,
                Place::Finished { .. } => {
                    !strips(line, state, *other) && state.ledger.unracked(state, *other).is_none()
                }
                Place::Queued => strips(line, state, *other) || *other < carrier,
                Place::OffLine => false,
            }
    };
    if let Some(other) = on(state, name).find(has) {
        return Some(RackWait::TakenBy(other));
    }
    owes(line, state, name).then_some(RackWait::OwesStrip)
}

/// The order that strips the rack of a carrier whose parts are off; `None` if the rack owes none, is being stripped
/// already, or the shop has no recipe for it.
pub(super) fn strip_order(line: &Line, state: &State, carrier: CarrierId, now: Time) -> Option<Change> {
    let spec = &state.book.carriers[carrier];
    let rack = spec.rack_name.as_ref().filter(|_| spec.rack == Rack::Aluminium)?;
    let recipe = line.recipes.iter().find(|(_, r)| r.strips_racks).map(|(id, _)| id)?;
    if strips(line, state, carrier) || !owes(line, state, rack) {
        return None;
    }
    let open = |c: CarrierId| {
        strips(line, state, c) && !matches!(state.carriers[c].place, Place::Finished { .. } | Place::OffLine)
    };
    if on(state, rack).any(open) {
        return None;
    }
    let name = free_name(state, rack)?;
    Some(order(state, rack, name, recipe, now))
}

fn order(state: &State, rack: &str, name: String, recipe: RecipeId, now: Time) -> Change {
    let order = Order {
        name: name.clone(),
        label: format!("Strip rack {rack}"),
        parts: 0,
        recipe,
        priority: Priority::Low,
        due: None,
        ready: now,
        toleranced: false,
        entry: EntrySide::Any,
    };
    let carrier = CarrierSpec {
        name,
        order: OrderId(u16::try_from(state.book.orders.len()).unwrap_or(u16::MAX)),
        recipe,
        parts: 0,
        area_dm2: 0.0,
        rack: Rack::Aluminium,
        rack_name: Some(rack.to_owned()),
        height: None,
        ready: now,
    };
    Change::AddOrder { order: Box::new(order), carriers: vec![carrier] }
}

/// A name that no order and no carrier has.
fn free_name(state: &State, rack: &str) -> Option<String> {
    let book = &state.book;
    let free = |name: &String| {
        book.orders.find(|o| o.name == *name).is_none() && book.carriers.find(|c| c.name == *name).is_none()
    };
    (1..=book.orders.len() + 1).map(|n| format!("strip {rack}.{n}")).find(free)
}

/// True if a carrier is an empty rack on its way to be stripped.
pub fn strips(line: &Line, state: &State, carrier: CarrierId) -> bool {
    line.recipes[state.book.carriers[carrier].recipe].strips_racks
}

fn on<'a>(state: &'a State, rack: &'a str) -> impl Iterator<Item = CarrierId> + 'a {
    let named = |spec: &CarrierSpec| spec.rack_name.as_deref() == Some(rack);
    state.book.carriers.iter().filter(move |(_, spec)| named(spec)).map(|(id, _)| id)
}

fn finished(state: &State, carrier: CarrierId) -> Option<Time> {
    match state.carriers[carrier].place {
        Place::Finished { at, .. } => Some(at),
        _ => None,
    }
}

/// It went through with parts after it was last stripped.
fn owes(line: &Line, state: &State, rack: &str) -> bool {
    let last = |stripping: bool| {
        on(state, rack)
            .filter(|c| strips(line, state, *c) == stripping)
            .filter_map(|c| finished(state, c))
            .max()
    };
    let aluminium = state.book.racks.iter().any(|r| r.name == rack && r.metal == Rack::Aluminium);
    aluminium && last(false) > last(true)
}
