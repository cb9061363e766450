//! Several terminals on one practice. Its clock is not the wall's, so the first terminal says beside the journal what it
//! shows, and the others go by that.
//!
//! The first has the file to itself until it has told its time; from then on it shares the lock with all that join. So
//! what it said holds while any of them runs, also without the first: one that comes back then joins too.

use std::fs::{File, TryLockError};
use std::io::{Read as _, Seek as _, Write as _};
use std::ops::RangeInclusive;
use std::path::{Path, PathBuf};

use super::Bad;
use super::args::SPEEDS;
use crate::clock::{RunningClock, Uptime, uptime, wall_now};
use crate::journal::{owner_only, plainly};
use crate::units::{Dur, Time};

/// A terminal's place at a practice.
pub enum Seat {
    /// Whose clock the others go by. The lock lasts as long as this does.
    First(First),
    /// One that joins: goes by the clock it was told.
    Joins(Joined),
}

/// The file beside the journal, locked.
pub struct First {
    path: PathBuf,
    file: File,
}

/// What the first has told, and a share of the lock.
pub struct Joined {
    reading: Reading,
    _lock: File,
}

impl Joined {
    /// The clock of the practice, not before `base`.
    pub fn clock(&self, base: Time) -> RunningClock {
        self.reading.clock(base)
    }

    /// How many times faster than the wall it runs.
    pub fn speed(&self) -> f64 {
        self.reading.speed
    }
}

/// What the clock of a practice showed at a moment of the wall's.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct Reading {
    /// Milliseconds since 1970 by the wall.
    wall_ms: i64,
    /// Which start of the machine, and milliseconds since then: the wall clock may be set meanwhile.
    #[serde(default)]
    up: Option<(u64, i64)>,
    /// Milliseconds on the shift's axis.
    shift_ms: i64,
    speed: f64,
}

/// The file holds four numbers.
const LONGEST: u64 = 1000;

/// Milliseconds of all clocks: nothing runs for ten thousand years.
const LATEST: RangeInclusive<i64> = 0..=315_360_000_000_000;

impl Seat {
    /// Takes the first seat at a practice if it is free, or joins. An error if the first has not said its time yet.
    pub fn take(journal: &Path) -> Result<Self, Bad> {
        let mut path = journal.as_os_str().to_owned();
        path.push(".running");
        let path = PathBuf::from(path);
        let bad = |what: &str, e: &dyn std::fmt::Display| Bad(format!("{}: {what}: {e}", path.display()));
        let file = owner_only(File::options().create(true).truncate(false).read(true).write(true))
            .open(&path)
            .map_err(|e| {
                let why = format!(
                    "cannot open the file beside the journal that says who runs this practice: {}",
                    plainly(&e)
                );
                let hint = format!(
                    "--role watch only looks, and needs none: dwellhand run --shift {} --role watch",
                    journal.display()
                );
                Bad(format!("{}: {why}\n{hint}", path.display()))
            })?;
        let locked = |e| match e {
            TryLockError::WouldBlock => bad(
                "another terminal is only just opening this practice",
                &"read the cautions there, then try again",
            ),
            TryLockError::Error(e) => bad("cannot lock", &e),
        };
        match file.try_lock() {
            Ok(()) => {
                // What is said in it is of a time when it was run before.
                file.set_len(0).map_err(|e| bad("cannot write", &e))?;
                Ok(Self::First(First { path, file }))
            }
            Err(TryLockError::WouldBlock) => {
                file.try_lock_shared().map_err(locked)?;
                let mut text = String::new();
                (&file).take(LONGEST).read_to_string(&mut text).map_err(|e| bad("cannot read", &e))?;
                let reading =
                    Reading::of(&text).ok_or_else(|| bad("says no time", &"close all terminals"))?;
                Ok(Self::Joins(Joined { reading, _lock: file }))
            }
            Err(e) => Err(locked(e)),
        }
    }

    /// Tells whoever joins from now on what the clock shows and how fast it runs.
    pub fn tell(&mut self, now: Time, speed: f64) -> Result<(), Bad> {
        let Self::First(first) = self else { return Ok(()) };
        let up = uptime().map(|up| (up.boot, up.ms));
        let reading = Reading { wall_ms: wall_now().timestamp_millis(), up, shift_ms: now.0, speed };
        let text = serde_json::to_string(&reading).expect("three numbers");
        let written = first
            .file
            .set_len(0)
            .and_then(|()| first.file.rewind())
            .and_then(|()| first.file.write_all(text.as_bytes()))
            .and_then(|()| first.file.lock_shared());
        written.map_err(|e| Bad(format!("{}: cannot write: {e}", first.path.display())))
    }
}

impl Reading {
    /// What a text says; `None` if it says no time that a practice can have.
    pub fn of(text: &str) -> Option<Self> {
        let reading: Self = serde_json::from_str(text).ok()?;
        let up_ms = reading.up.map_or(0, |(_, ms)| ms);
        let fits = [reading.wall_ms, reading.shift_ms, up_ms].iter().all(|ms| LATEST.contains(ms));
        (fits && SPEEDS.contains(&reading.speed)).then_some(reading)
    }

    /// The clock, not before `base`: what the journal knows has happened.
    pub fn clock(self, base: Time) -> RunningClock {
        let by_uptime =
            |now: Uptime| self.up.filter(|(boot, _)| *boot == now.boot).map(|(_, ms)| now.ms - ms);
        let by_wall = || wall_now().timestamp_millis() - self.wall_ms;
        let since = uptime().and_then(by_uptime).unwrap_or_else(by_wall).max(0);
        let now = Time(self.shift_ms) + Dur::from_secs_f64(since as f64 / 1000.0 * self.speed);
        RunningClock::practice(now.max(base), self.speed)
    }
}
