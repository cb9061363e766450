//! Gloves bounce and fingers rest on keys: the same confirming key counts once.

use std::time::{Duration, Instant};

use super::action::Action;

/// Presses closer together than this are one press.
const BOUNCE: Duration = Duration::from_millis(150);

/// Remembers the last confirming press.
#[derive(Debug, Default)]
pub struct Debounce {
    last: Option<(Action, Instant)>,
}

impl Debounce {
    /// True if the action counts. A held key repeats faster than the limit and so counts once, however long it is held.
    pub fn passes(&mut self, action: Action, at: Instant) -> bool {
        if !action.is_confirming() {
            return true;
        }
        let bounced = self.last.is_some_and(|(a, t)| a == action && at.duration_since(t) < BOUNCE);
        self.last = Some((action, at));
        !bounced
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_held_key_counts_once() {
        let start = Instant::now();
        let mut debounce = Debounce::default();
        let passed = (0..20)
            .filter(|i| debounce.passes(Action::Confirm, start + Duration::from_millis(30 * i)))
            .count();
        assert_eq!(passed, 1);
        assert!(debounce.passes(Action::Down, start));
        assert!(debounce.passes(Action::Confirm, start + Duration::from_secs(2)));
    }
}
