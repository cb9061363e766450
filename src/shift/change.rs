//! What a supervisor may change about a running shift: one frame, so that whatever stores, shows, previews or takes back
//! changes need not know them one by one.
//!
//! A change stands until another one ends it or what happened outweighs it: a carrier that is lifted is no longer held, a
//! hoist that lifts runs again. What stands is in [`Standing`]; [`State::line`](super::State::line) is the line with it.

mod apply;
mod decide;
mod standing;
mod take_back;
mod variant;

pub(super) use apply::{apply, learn_from, leaves_bench};
pub(super) use decide::decide;
pub use decide::places_to_park;
pub use standing::{Bench, Ended, Lent, Park, Run, Said, Standing, Stop};
pub(super) use take_back::{take_back, when_undone};
pub(super) use variant::slowed;

use super::command::Refusal;
use crate::ids::{CarrierId, HoistId, OrderId, RecipeId, StepNo, TankId};
use crate::line::{CarrierSpec, EntrySide, Order, OrderBook, Priority};
use crate::units::{Dur, Time};

/// One thing a supervisor changes.
#[derive(Debug, Clone, PartialEq)]
pub enum Change {
    /// A carrier stays where it is: a queued one is not started, one in a tank is left there.
    Hold {
        /// The carrier.
        carrier: CarrierId,
    },
    /// A carrier that is held goes on.
    Release {
        /// The carrier.
        carrier: CarrierId,
    },
    /// At its next move a carrier goes into standby water and is kept there.
    Park {
        /// The carrier.
        carrier: CarrierId,
        /// The standby tank; any that its sheet allows where it is if `None`.
        tank: Option<TankId>,
    },
    /// A carrier that is parked, or was to be, goes on with its recipe.
    BringBack {
        /// The carrier.
        carrier: CarrierId,
    },
    /// A tank may be left but not entered.
    Quarantine {
        /// The tank.
        tank: TankId,
    },
    /// A tank in quarantine may be entered again.
    Free {
        /// The tank.
        tank: TankId,
    },
    /// A hoist does nothing for a while.
    StopHoist {
        /// The hoist.
        hoist: HoistId,
        /// Why it stops.
        cause: StopCause,
        /// When it runs again, if anybody knows.
        until: Option<Time>,
    },
    /// A hoist that was stopped runs again.
    RunHoist {
        /// The hoist.
        hoist: HoistId,
    },
    /// A hoist travels, raises and lowers more slowly than its file says.
    SlowHoist {
        /// The hoist.
        hoist: HoistId,
        /// Per cent of its speed, 1 to 100; 100 is full speed again.
        percent: u8,
    },
    /// An order matters more or less, or is promised for another time.
    Promise {
        /// The order.
        order: OrderId,
        /// How much it matters.
        priority: Priority,
        /// When it is promised.
        due: Option<Time>,
    },
    /// These queued carriers start in this order; none of them named means that the order is free again.
    Reorder {
        /// The carriers, the first to start first.
        carriers: Vec<CarrierId>,
    },
    /// One more order. Its carriers become the last of the book, in this order.
    AddOrder {
        /// The order. Boxed, because every event takes as much room as the largest.
        order: Box<Order>,
        /// Its carriers; which order they name does not matter, it is this one.
        carriers: Vec<CarrierSpec>,
    },
    /// The carriers of an order that have not started do not start.
    CancelOrder {
        /// The order.
        order: OrderId,
    },
    /// Some carriers of an order become an order of their own, otherwise like the one they come from.
    Split {
        /// The order.
        order: OrderId,
        /// The carriers that leave it.
        carriers: Vec<CarrierId>,
        /// The name of the new order.
        name: String,
    },
    /// A step gets another window inside the one its process sheet has.
    Dwell {
        /// For whom.
        whose: Whose,
        /// The step.
        step: StepNo,
        /// Its new window.
        window: Window,
    },
    /// Carriers that have not started enter the line somewhere else.
    Entry {
        /// The order; every order of the book if `None`.
        order: Option<OrderId>,
        /// Where they enter.
        side: EntrySide,
    },
    /// A carrier is stripped and starts again.
    Rework {
        /// The carrier.
        carrier: CarrierId,
        /// The recipe it runs from here: one for rework, as [`restarts`](crate::line::Line::restarts) its own.
        recipe: RecipeId,
    },
    /// A carrier is taken to a bench beside the line, by hand; its clock runs there.
    Lend {
        /// The carrier.
        carrier: CarrierId,
        /// Where, for how long, and what comes after.
        bench: Bench,
    },
    /// A carrier comes back from the bench, by hand.
    Back {
        /// The carrier.
        carrier: CarrierId,
        /// The tank of the step it goes on with, into which it is put; a load station, for the crane, if `None`.
        tank: Option<TankId>,
    },
}

/// Why a hoist stops.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum StopCause {
    /// The people have a break.
    Break,
    /// The hoist has a fault.
    Fault,
}

/// Whom a change concerns.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Whose {
    /// One carrier.
    Carrier(CarrierId),
    /// Every carrier of an order for which it is not too late.
    Order(OrderId),
}

/// The window of a step.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Window {
    /// Shortest dwell.
    pub min: Dur,
    /// Dwell to aim for.
    pub target: Dur,
    /// Longest dwell.
    pub max: Dur,
}

impl Change {
    /// Orders and carriers that the change brings: the book that names what comes later. Numbers once given stay, even if
    /// the change is taken back.
    pub fn learn(&self, book: &mut OrderBook) {
        learn_from(self, book);
    }

    /// True for what comes to a shift whoever decides: cranes that stop, tanks that are shut, orders that are added, promised
    /// otherwise or cancelled. False for what a supervisor decides by himself.
    pub fn comes_from_outside(&self) -> bool {
        match self {
            Self::StopHoist { .. }
            | Self::RunHoist { .. }
            | Self::SlowHoist { .. }
            | Self::Quarantine { .. }
            | Self::Free { .. }
            | Self::Promise { .. }
            | Self::AddOrder { .. }
            | Self::CancelOrder { .. } => true,
            Self::Hold { .. }
            | Self::Release { .. }
            | Self::Park { .. }
            | Self::BringBack { .. }
            | Self::Reorder { .. }
            | Self::Split { .. }
            | Self::Dwell { .. }
            | Self::Entry { .. }
            | Self::Rework { .. }
            | Self::Lend { .. }
            | Self::Back { .. } => false,
        }
    }
}

fn impossible(why: String) -> Refusal {
    Refusal::ImpossibleChange { why }
}
