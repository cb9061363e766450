//! How often alarms came, against the figures of the trade.
//!
//! EEMUA 191 for rates per operator position: on average less than one in ten minutes is acceptable, one in five
//! manageable, one in two too many; at most ten in the first ten minutes of an upset. ISA-18.2 for the day: about 150
//! acceptable, about 300 the most that can be managed. All from memory.

use crate::line::Line;
use crate::shift::{Event, Stamped, State, alarm, apply, counting, effective};
use crate::units::{Dur, Time};

/// Alarms of a stretch of time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AlarmRates {
    /// Alarms raised.
    pub raised: usize,
    /// Raised in the fullest ten minutes.
    pub peak: usize,
    /// On average in ten minutes.
    pub per_ten_minutes: f64,
    /// Alarms that were set aside.
    pub shelved: usize,
    /// Share of the time in a flood: from ten alarms in ten minutes until there are fewer than five.
    pub flooded: f64,
    /// Seen by a person, and how long after they were raised in the middle of all cases.
    pub median_seen: Option<Dur>,
}

const TEN: Dur = Dur::from_mins(10);

impl AlarmRates {
    /// What the average means, in the words of EEMUA 191.
    pub fn verdict(&self) -> &'static str {
        match self.per_ten_minutes {
            r if r < 1.0 => "acceptable",
            r if r <= 2.0 => "manageable",
            r if r <= 5.0 => "over-demanding",
            _ => "unacceptable",
        }
    }

    /// What the fullest ten minutes mean.
    pub fn peak_verdict(&self) -> &'static str {
        if self.peak <= 10 { "manageable" } else { "too many at once" }
    }
}

/// Share of the time in a flood, looked at every ten seconds.
fn flooded(raised: &[Time], now: Time) -> f64 {
    const LOOK: Dur = Dur::from_secs(10);
    const BEGINS: usize = 10;
    const ENDS: usize = 5;
    let (mut looks, mut wet, mut flood) = (0_u32, 0_u32, false);
    let mut t = Time::ZERO;
    while t <= now {
        let recent = raised.iter().filter(|r| **r <= t && **r + TEN > t).count();
        flood = if flood { recent >= ENDS } else { recent >= BEGINS };
        looks += 1;
        wet += u32::from(flood);
        t += LOOK;
    }
    f64::from(wet) / f64::from(looks.max(1))
}

/// Alarms by the priority they had when they were raised: high, medium, low.
pub fn spread(line: &Line, events: &[Stamped]) -> [usize; 3] {
    let mut state = State::before(line);
    let mut counts = [0; 3];
    for stamped in effective(events) {
        if let Event::AlarmRaised { key, .. } = &stamped.event {
            let left = alarm::deadline(line, &state, *key).map_or(Dur::ZERO, |end| end - stamped.at);
            if let Some(priority) = alarm::priority(alarm::harm(line, &state, *key), left) {
                counts[priority as usize] += 1;
            }
        }
        apply(&mut state, line, &stamped);
    }
    counts
}

/// The alarms among events from the opening to `now`.
pub fn rates(events: &[Stamped], now: Time) -> AlarmRates {
    let mut raised: Vec<Time> = Vec::new();
    let mut open = Vec::new();
    let mut seen: Vec<Dur> = Vec::new();
    let mut shelved = 0;
    for (stamped, at) in counting(events) {
        match &stamped.event {
            Event::AlarmRaised { key, .. } => {
                raised.push(at);
                open.push((*key, at));
            }
            Event::AlarmAcknowledged { key } => {
                if let Some(k) = open.iter().position(|(o, _)| o == key) {
                    seen.push(at - open.swap_remove(k).1);
                }
            }
            Event::AlarmShelved { .. } => shelved += 1,
            _ => {}
        }
    }
    raised.sort_unstable();
    let peak = (0..raised.len()).map(|i| raised[i..].iter().take_while(|t| **t < raised[i] + TEN).count());
    seen.sort_unstable();
    let tens = (now - Time::ZERO).as_secs_f64() / TEN.as_secs_f64();
    AlarmRates {
        raised: raised.len(),
        peak: peak.max().unwrap_or(0),
        per_ten_minutes: raised.len() as f64 / tens.max(1.0),
        shelved,
        flooded: flooded(&raised, now),
        median_seen: seen.get(seen.len() / 2).copied(),
    }
}
