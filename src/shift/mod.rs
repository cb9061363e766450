//! What can happen on a shift and what is so: commands, events, the one reducer, alarms.
//!
//! Data goes one way: `decide` turns a command into events or a refusal, `apply` folds an event into the state. Live,
//! simulated and replayed shifts all use the same two functions. No clock, no disk, no planner in here.

pub mod alarm;
mod apply;
mod balance;
pub mod bath;
pub mod change;
mod command;
mod decide;
mod event;
mod guess;
mod history;
mod isa;
pub mod ledger;
mod pace;
pub mod racks;
mod sound;
mod state;
pub mod stop_alarm;

pub use apply::apply;
pub use change::{
    Bench, Change, Ended, Lent, Park, Run, Standing, Stop, StopCause, Whose, Window, places_to_park,
};
pub use command::{AlarmAction, Claim, Command, Refusal};
pub use decide::{decide, visit_on_arrival};
pub use event::{Event, Stamped, StopStep, Who};
pub(crate) use history::fold;
pub use history::{History, counting, effective};
pub use isa::{AlarmState, Transition};
pub use pace::Pace;
pub use sound::unsound;
pub use state::{
    Alarm, AlarmKey, AlarmKind, AlarmLevel, Carrier, Due, HoistState, Place, State, Stay, TankState,
};
