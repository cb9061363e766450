//! The only place that asks the machine for the time. Everything else is handed an instant.
//!
//! Three clocks of the machine are read: the wall's, which people and time services set; a steady one that goes on while
//! the machine sleeps; and one that stands still meanwhile. A shift goes by the steady one, so that nothing that happens
//! to the wall clock stretches or shrinks a dwell; the other two only tell what happened.

use std::fmt;
use std::sync::OnceLock;
use std::time::{Duration, Instant};

use chrono::{DateTime, FixedOffset, Local};

use crate::units::{Dur, Time};

/// Tells the instant on the shift's axis.
pub trait Clock: Send {
    /// The instant now.
    fn now(&mut self) -> Time;
    /// How long to wait, in real time, until `t`; `None` if this clock only moves when told to.
    fn wait_until(&mut self, t: Time) -> Option<Duration>;
    /// How many times faster than the wall it runs.
    fn speed(&self) -> f64 {
        1.0
    }
    /// What happened to the machine's clocks since this was last asked.
    fn news(&mut self) -> Vec<News> {
        Vec::new()
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

/// What the machine's clocks show at one moment.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Look {
    /// Since some fixed moment, times of sleep left out.
    pub awake: Duration,
    /// Since some fixed moment, times of sleep included.
    pub steady: Duration,
    /// By the wall clock.
    pub wall: DateTime<FixedOffset>,
}

/// A machine with clocks; a test has one of its own.
pub trait Machine: fmt::Debug + Send {
    /// Reads all clocks at once.
    fn look(&mut self) -> Look;
}

/// This machine.
#[derive(Debug)]
struct ThisMachine;

impl Machine for ThisMachine {
    fn look(&mut self) -> Look {
        Look { awake: awake(), steady: asleep_too(), wall: wall_now() }
    }
}

/// The two steady clocks of a system that tells them apart.
#[cfg(any(target_os = "linux", target_os = "android"))]
mod steady {
    use std::time::Duration;

    use rustix::time::{ClockId, clock_gettime};

    fn reading(id: ClockId) -> Duration {
        let t = clock_gettime(id);
        Duration::new(u64::try_from(t.tv_sec).unwrap_or(0), u32::try_from(t.tv_nsec).unwrap_or(0))
    }

    /// Time since the machine was started, sleep left out.
    pub fn awake() -> Duration {
        reading(ClockId::Monotonic)
    }

    /// Time since the machine was started, sleep included.
    pub fn asleep_too() -> Duration {
        reading(ClockId::Boottime)
    }
}

/// One steady clock, where the system has no more; whether it counts sleep is the system's matter.
#[cfg(not(any(target_os = "linux", target_os = "android")))]
mod steady {
    use std::sync::OnceLock;
    use std::time::{Duration, Instant};

    pub fn awake() -> Duration {
        static FIRST: OnceLock<Instant> = OnceLock::new();
        FIRST.get_or_init(Instant::now).elapsed()
    }

    pub fn asleep_too() -> Duration {
        awake()
    }
}
use steady::{asleep_too, awake};

/// How long the machine has been running, and which start of it that counts from. Two of the same start differ by what
/// has really passed between them, whatever became of the wall clock.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Uptime {
    /// Tells one start of one machine from all others.
    pub boot: u64,
    /// Milliseconds since then, sleep included.
    pub ms: i64,
}

/// How long this machine has been running; `None` if it does not say which start that counts from.
pub fn uptime() -> Option<Uptime> {
    static BOOT: OnceLock<Option<u64>> = OnceLock::new();
    let boot = *BOOT.get_or_init(|| {
        let id = std::fs::read_to_string("/proc/sys/kernel/random/boot_id").ok()?;
        let digits: String = id.chars().filter(char::is_ascii_hexdigit).take(16).collect();
        u64::from_str_radix(&digits, 16).ok()
    });
    Some(Uptime { boot: boot?, ms: i64::try_from(asleep_too().as_millis()).ok()? })
}

/// Something that happened to the machine's clocks.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum News {
    /// The machine slept so long.
    Slept {
        /// How long.
        lasting: Dur,
        /// The time counts: the line did not sleep. Not in a practice.
        counts: bool,
    },
    /// Somebody or something set the wall clock.
    WallSet {
        /// By how much it is ahead of where it would be, since this clock was made; negative if behind.
        ahead: Dur,
    },
    /// The wall clock shows another zone, or the other half of the year.
    ZoneChanged {
        /// Seconds east of Greenwich now.
        east: i32,
    },
}

/// Smaller differences between clocks are nobody's business.
const WORTH_SAYING: Dur = Dur::from_secs(2);

/// How often the other clocks are held against the steady one.
const LOOK_AGAIN: Duration = Duration::from_secs(1);

/// Real time, or real time made faster for practice and simulated crews.
#[derive(Debug)]
pub struct RunningClock {
    machine: Box<dyn Machine>,
    first: Look,
    looked: Duration,
    base: Time,
    speed: f64,
    /// A practice stands still while the machine sleeps.
    practice: bool,
    /// What was said last: sleep so far, the wall's lead, its zone.
    told: (Dur, Dur, i32),
    news: Vec<News>,
}

impl RunningClock {
    /// The clock of a real shift: shows `base` now and counts on whatever happens, sleep of the machine included.
    pub fn real(base: Time) -> Self {
        Self::on(Box::new(ThisMachine), base, 1.0, false)
    }

    /// The clock of a practice: shows `base` now, runs `speed` times as fast as the wall, sleeps with the machine.
    pub fn practice(base: Time, speed: f64) -> Self {
        Self::on(Box::new(ThisMachine), base, speed, true)
    }

    /// The same on some machine.
    pub fn on(mut machine: Box<dyn Machine>, base: Time, speed: f64, practice: bool) -> Self {
        let first = machine.look();
        let told = (Dur::ZERO, Dur::ZERO, first.wall.offset().local_minus_utc());
        Self { machine, first, looked: first.steady, base, speed, practice, told, news: Vec::new() }
    }

    fn compare(&mut self, look: &Look) {
        let since = |now: Duration, then: Duration| dur(now.saturating_sub(then));
        let steady = since(look.steady, self.first.steady);
        let asleep = steady - since(look.awake, self.first.awake);
        if asleep - self.told.0 > WORTH_SAYING {
            self.news.push(News::Slept { lasting: asleep - self.told.0, counts: !self.practice });
            self.told.0 = asleep;
        }
        let ahead = Dur((look.wall - self.first.wall).num_milliseconds()) - steady;
        if Dur((ahead - self.told.1).0.abs()) > WORTH_SAYING {
            self.news.push(News::WallSet { ahead });
            self.told.1 = ahead;
        }
        let east = look.wall.offset().local_minus_utc();
        if east != self.told.2 {
            self.news.push(News::ZoneChanged { east });
            self.told.2 = east;
        }
    }
}

fn dur(d: Duration) -> Dur {
    Dur(i64::try_from(d.as_millis()).unwrap_or(i64::MAX))
}

impl Clock for RunningClock {
    fn now(&mut self) -> Time {
        let look = self.machine.look();
        if look.steady.saturating_sub(self.looked) >= LOOK_AGAIN {
            self.looked = look.steady;
            self.compare(&look);
        }
        let passed = if self.practice {
            look.awake.saturating_sub(self.first.awake)
        } else {
            look.steady.saturating_sub(self.first.steady)
        };
        self.base + Dur::from_secs_f64(passed.as_secs_f64() * self.speed)
    }
    fn wait_until(&mut self, t: Time) -> Option<Duration> {
        let left = (t - self.now()).or_zero();
        Some(Duration::from_secs_f64(left.as_secs_f64() / self.speed))
    }
    fn speed(&self) -> f64 {
        self.speed
    }
    fn news(&mut self) -> Vec<News> {
        std::mem::take(&mut self.news)
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
    fn wait_until(&mut self, _t: Time) -> Option<Duration> {
        None
    }
}
