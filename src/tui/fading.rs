//! Takes an answer out of the key line after a while of real time: that of the shift may stand still.

use std::time::{Duration, Instant};

use super::app::App;

/// How long an answer stays.
const STAYS: Duration = Duration::from_secs(8);

/// The answer in the key line, and since when it is there.
#[derive(Debug, Default)]
pub(super) struct Fading {
    told: Option<(String, Instant)>,
}

impl Fading {
    /// Takes away what has been there for long enough at `now`.
    pub fn fade(&mut self, app: &mut App, now: Instant) {
        let text = app.message.as_ref().map(|m| m.text.clone());
        match (&self.told, text) {
            (Some((before, since)), Some(text)) if *before == text => {
                if now - *since > STAYS {
                    (app.message, self.told) = (None, None);
                }
            }
            (_, text) => self.told = text.map(|text| (text, now)),
        }
    }
}
