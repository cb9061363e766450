//! What a shift teaches: which calls were followed and how soon, what it came to beside what others would have made of
//! it. Pure: a journal's events in, figures out.

mod ahead;
mod brief;
mod debrief;
mod drill;
mod met;
mod pace;
mod quiz;
mod rivals;
mod spread;

pub use ahead::next_question;
pub use brief::{Brief, TakenOver};
pub use debrief::{Debrief, Followed, Score};
pub use drill::{Director, Drill, Happening, Happens};
pub use met::{Met, Stood};
pub use pace::{ENOUGH, KindPace, Learned, Made, differs, made};
pub use quiz::{Grade, Question, questions};
pub use rivals::{Came, Effort, Rival, Who, rivals};
pub use spread::Spread;

pub use crate::replay::{Deed, Does, Ignored, deeds, ignored, length, stood};
