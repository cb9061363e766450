//! A shift that is over, or up to now: what was so, shown and said at any instant of it, and why.
//!
//! A [`Recording`] is made of a journal and never plans: the plan in force at any time is one of its events. State and board
//! come from the same reducer and the same view as live. Knows no disk, no clock and no terminal.

mod answer;
mod compare;
mod deeds;
mod marks;
mod moment;
mod onward;
mod recording;
mod to_come;
mod why;
mod words;

pub use answer::{called, follows};
pub use compare::{Better, Compared, Figure, Parting, Side, compare};
pub use deeds::{Deed, Does, Ignored, deeds, ignored, length, stood};
pub use marks::{Mark, MarkKind};
pub use moment::Moment;
pub use onward::{Cost, Excess, Onward, onward};
pub use recording::{Point, Recording};
pub use to_come::{came, fate};
pub use why::{Done, Why, why};
