//! Orders and the carriers they are racked on.

use crate::ids::{Arena, CarrierId, OrderId, RecipeId, TankId};
use crate::units::{Mm, Time};

/// The orders of a shift and all their carriers.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct OrderBook {
    /// Orders as the file gives them.
    pub orders: Arena<OrderId, Order>,
    /// Carriers of all orders, in order of their orders.
    pub carriers: Arena<CarrierId, CarrierSpec>,
    /// Racks that have a name, as the last shift left them.
    pub racks: Vec<NamedRack>,
}

/// A rack that is told apart from others.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NamedRack {
    /// Short unique name, such as `R07`.
    pub name: String,
    /// Its metal.
    pub metal: Rack,
    /// How often it went through the line before this shift.
    pub cycles: u32,
    /// Parts spoiled on it before this shift.
    pub spoiled: u32,
}

/// One customer order.
#[derive(Debug, Clone, PartialEq)]
pub struct Order {
    /// Short unique name.
    pub name: String,
    /// For people.
    pub label: String,
    /// Parts counted in.
    pub parts: u32,
    /// What is done to them.
    pub recipe: RecipeId,
    /// How much it matters.
    pub priority: Priority,
    /// When it is promised, on the shift's axis.
    pub due: Option<Time>,
    /// When its carriers are racked and may start.
    pub ready: Time,
    /// Its parts have dimensions that rework may take them out of.
    pub toleranced: bool,
    /// Where its carriers enter the line.
    pub entry: EntrySide,
}

/// One flight bar with its racks and parts.
#[derive(Debug, Clone, PartialEq)]
pub struct CarrierSpec {
    /// Short unique name, such as `B4`.
    pub name: String,
    /// The order it belongs to.
    pub order: OrderId,
    /// The recipe it runs.
    pub recipe: RecipeId,
    /// Parts racked on it.
    pub parts: u32,
    /// Surface in dm2, racks included; sets the current.
    pub area_dm2: f64,
    /// The racks' metal.
    pub rack: Rack,
    /// The name of its rack, if that is told apart from others.
    pub rack_name: Option<String>,
    /// From its lowest to its highest point, if that is known.
    pub height: Option<Mm>,
    /// When it is racked and may start.
    pub ready: Time,
}

/// Where a carrier enters the line.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum EntrySide {
    /// At whichever load station suits the plan.
    Any,
    /// At this station.
    At(TankId),
}

/// How much an order matters.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Priority {
    /// Before everything else.
    Rush,
    /// The ordinary case.
    Normal,
    /// When there is room.
    Low,
}

/// The metal of the racks.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Rack {
    /// Needs no stripping between runs.
    Titanium,
    /// Is coated every time and must be stripped before it is used again.
    Aluminium,
}
