//! What a shift teaches: which calls were followed and how soon, what it came to beside what others would have made of
//! it. Pure: a journal's events in, figures out.

mod debrief;
mod deeds;
mod met;
mod rivals;
mod spread;

pub use debrief::{Debrief, Followed, Score};
pub use deeds::{Deed, Does, deeds};
pub use met::Met;
pub use rivals::{Came, Effort, Rival, Who, rivals};
pub use spread::Spread;
