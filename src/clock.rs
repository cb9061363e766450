//! The only place that asks the machine for the time. Everything else is handed an instant.

use std::time::Instant;

use chrono::{DateTime, FixedOffset, Local};

use crate::units::{Dur, Time};

/// Tells the instant on the shift's axis.
pub trait Clock: Send {
    /// The instant now.
    fn now(&mut self) -> Time;
    /// How long to wait, in real time, until `t`; `None` if this clock only moves when told to.
    fn wait_until(&mut self, t: Time) -> Option<std::time::Duration>;
    /// How many times faster than the wall it runs.
    fn speed(&self) -> f64 {
        1.0
    }
}

/// The moment by the wall clock, in the machine's own zone.
pub fn wall_now() -> DateTime<FixedOffset> {
    Local::now().fixed_offset()
}

/// A reading of the machine's steady clock, for what has nothing to do with the shift, such as bouncing keys.
pub fn steady_now() -> Instant {
    Instant::now()
}

/// Real time, or real time made faster for practice and simulated crews.
#[derive(Debug)]
pub struct RunningClock {
    started: Instant,
    base: Time,
    speed: f64,
}

impl RunningClock {
    /// A clock that shows `base` now and runs `speed` times as fast as the wall.
    pub fn new(base: Time, speed: f64) -> Self {
        Self { started: Instant::now(), base, speed }
    }
}

impl Clock for RunningClock {
    fn now(&mut self) -> Time {
        self.base + Dur::from_secs_f64(self.started.elapsed().as_secs_f64() * self.speed)
    }
    fn wait_until(&mut self, t: Time) -> Option<std::time::Duration> {
        let left = (t - self.now()).or_zero();
        Some(std::time::Duration::from_secs_f64(left.as_secs_f64() / self.speed))
    }
    fn speed(&self) -> f64 {
        self.speed
    }
}

/// A clock that stands still until it is set: for tests and for simulation without a screen.
#[derive(Debug, Clone, Default)]
pub struct ManualClock {
    now: std::sync::Arc<std::sync::atomic::AtomicI64>,
}

impl ManualClock {
    /// Sets the instant; all clones show it.
    pub fn set(&self, t: Time) {
        self.now.store(t.0, std::sync::atomic::Ordering::SeqCst);
    }
}

impl Clock for ManualClock {
    fn now(&mut self) -> Time {
        Time(self.now.load(std::sync::atomic::Ordering::SeqCst))
    }
    fn wait_until(&mut self, _t: Time) -> Option<std::time::Duration> {
        None
    }
}
