//! A line without people: a crew that follows the calls with human pace and rare slips, and what a shift came to.
//! The seed comes in.

mod crew;
mod outcome;

pub use crew::{Crew, Pace};
pub use outcome::Outcome;
