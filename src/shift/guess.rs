//! When something is over that nobody knows the end of.

use crate::units::{Dur, Time};

/// What lasts is taken to need so long from its beginning on, and the same once more whenever no more than `lead` is left of
/// it: nobody is led towards what may not be there.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Guess {
    lasting: Dur,
    lead: Dur,
}

impl Guess {
    pub fn of(lasting: Dur, lead: Dur) -> Self {
        let lasting = Dur(lasting.0.max(1));
        Self { lasting, lead: lead.min(Dur(lasting.0 / 2)) }
    }

    /// When it is over, as far as can be said at `now`.
    pub fn end(self, since: Time, now: Time) -> Time {
        let passed = (now + self.lead - since).0.div_euclid(self.lasting.0).max(0);
        since + self.lasting * (passed + 1)
    }

    /// Until when that is guessed; another end is from then on.
    pub fn holds_until(self, since: Time, now: Time) -> Time {
        self.end(since, now) - self.lead
    }
}
