//! A line without people: a crew that follows the calls with human pace and rare slips, simple rules to compare the calls
//! with, what goes wrong meanwhile, and what a shift came to. The seed comes in.

mod as_planned;
mod by_rule;
mod crew;
pub mod exposure;
mod outcome;
mod policies;
mod trouble;
mod upset;

pub use as_planned::AsPlanned;
pub use by_rule::{ByRule, by_rule, go_on};
pub use crew::{Crew, Pace};
pub use outcome::Outcome;
pub use policies::{Person, Rule};
pub use trouble::{Out, Stop, Trouble, Troubles};
pub use upset::{Upset, UpsetKind};
