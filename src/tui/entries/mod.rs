//! Entries: what was counted, inspected, measured or signed, picked in a few keys. Pure.
//!
//! What is chosen on the screen comes first: the carrier that can be counted out, the bath that is due. Each row of a list
//! leads to the next list, to a field, or is the entry.

mod fields;
mod lists;

pub use fields::Asked;
pub use lists::{begin, follow};

use super::changes::Selected;
use super::dialog::{Field, List};
use crate::ids::{CarrierId, OrderId, TankId};
use crate::line::Quantity;
use crate::shift::Command;
use crate::shift::ledger::{Entry, Shade, Sign};
use crate::units::Dur;

/// What is being entered.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Entries {
    /// What was chosen on the screen.
    pub selected: Selected,
    /// How long ago it was; nothing for now.
    pub ago: Dur,
}

/// What can be entered.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// A carrier was unracked and counted.
    Unracked,
    /// Missing parts were found in a tank.
    Found,
    /// A carrier was looked at.
    Inspected,
    /// A bath was measured.
    Bath,
    /// A bath was made up anew.
    BathChanged,
    /// Something was written down.
    Note,
    /// Parts of an order were counted in.
    Received,
    /// Parts were racked.
    Racked,
    /// Parts go back as they came.
    Returned,
    /// Somebody signs.
    Signed,
}

/// What was picked so far.
#[derive(Debug, Clone, PartialEq)]
pub enum Pick {
    /// What to enter.
    Kind(Kind),
    /// This carrier was unracked: the counts are typed.
    Unracked(CarrierId),
    /// So many parts on this carrier, typed.
    Racked(CarrierId),
    /// Missing parts of this order were found, where?
    Found(OrderId),
    /// There; how many is typed.
    FoundIn(OrderId, TankId),
    /// This carrier was looked at: its shade?
    Inspected(CarrierId),
    /// The rest is typed.
    Seen(CarrierId, Shade),
    /// This bath was measured, what?
    Bath(TankId),
    /// The figure is typed.
    Reading(TankId, Quantity),
    /// Parts of this order counted in, typed.
    Received(OrderId),
    /// Parts of this order given back, typed.
    Returned(OrderId),
    /// Initials are typed.
    Sign(Sign),
    /// It was a while ago: how long is asked, then what.
    Late,
    /// That is all.
    Do(Entry),
}

/// Where a pick leads.
#[derive(Debug, Clone, PartialEq)]
pub enum Step {
    /// Another list.
    List(List),
    /// Something is typed.
    Field(Field),
    /// How long ago is asked.
    Late,
    /// An entry, and what to tell the person.
    Enter(Entry, String),
    /// An inspection that asks for rework: the entry, what to tell the person, and the change that strips the load and
    /// starts it again, to be weighed.
    Rework(Entry, String, Command),
    /// A note.
    Note(String),
    /// There is nothing to pick.
    Nothing(String),
}
