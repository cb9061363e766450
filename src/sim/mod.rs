//! A line without people: a crew that follows the calls with human pace and rare slips. The seed comes in.

mod crew;

pub use crew::{Crew, Pace};
