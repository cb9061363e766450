//! Quantities as types: an instant is not a duration, a millimetre is not a millisecond.
//!
//! Instants and durations are whole milliseconds. Files carry seconds or `mm:ss`, screens show `mm:ss`;
//! the conversion lives here and nowhere else. Keeps out: wall clocks and calendars (see `civil`).

use std::fmt;
use std::iter::Sum;
use std::ops::{Add, AddAssign, Mul, Neg, Sub, SubAssign};

/// An instant on the shift's own axis: milliseconds since the shift was opened.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Time(pub i64);

/// A length of time in milliseconds. May be negative where a difference is meant.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Dur(pub i64);

/// A position along the rail, or a height, in millimetres.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Mm(pub i64);

/// Electrical power in watts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Watts(pub i64);

impl Time {
    /// The opening of the shift.
    pub const ZERO: Self = Self(0);
    /// Later than anything that can be planned; stands for "no limit". Far from overflow on purpose.
    pub const FAR: Self = Self(i64::MAX / 4);
    /// Earlier than anything that can have happened.
    pub const PAST: Self = Self(i64::MIN / 4);

    /// An instant a whole number of seconds after the opening.
    pub const fn from_secs(s: i64) -> Self {
        Self(s * 1000)
    }
}

impl Dur {
    /// No time at all.
    pub const ZERO: Self = Self(0);
    /// Stands for "no upper limit". Far from overflow on purpose.
    pub const UNLIMITED: Self = Self(i64::MAX / 4);
    /// A week: the longest time that anybody may give.
    pub const LONGEST: Self = Self(7 * 86_400_000);

    /// A whole number of seconds.
    pub const fn from_secs(s: i64) -> Self {
        Self(s * 1000)
    }

    /// A whole number of minutes.
    pub const fn from_mins(m: i64) -> Self {
        Self(m * 60_000)
    }

    /// Seconds given with decimals, rounded to the nearest millisecond.
    pub fn from_secs_f64(s: f64) -> Self {
        Self((s * 1000.0).round() as i64)
    }

    /// Seconds with decimals, for files and figures.
    pub fn as_secs_f64(self) -> f64 {
        self.0 as f64 / 1000.0
    }

    /// Whole seconds, rounded towards minus infinity.
    pub const fn whole_secs(self) -> i64 {
        self.0.div_euclid(1000)
    }

    /// The next whole second: of what is lacking, no second may be lost.
    #[must_use]
    pub const fn up_to_second(self) -> Self {
        Self(-(-self.0).div_euclid(1000) * 1000)
    }

    /// True if this stands for "no upper limit".
    pub const fn is_unlimited(self) -> bool {
        self.0 >= Self::UNLIMITED.0
    }

    /// The duration, or zero if it is negative.
    #[must_use]
    pub fn or_zero(self) -> Self {
        Self(self.0.max(0))
    }

    /// As time left: `4:10`, or `+0:25` past the end.
    pub fn as_left(self) -> String {
        if self < Self::ZERO { format!("+{}", -self) } else { self.to_string() }
    }

    /// `27 min`, `2h05`: what is late by so much, in whole minutes as clocks show them, one at least.
    pub fn in_minutes(self) -> String {
        match (self.whole_secs() / 60).max(1) {
            m if m < 60 => format!("{m} min"),
            m => format!("{}h{:02}", m / 60, m % 60),
        }
    }

    /// Reads `90`, `90.5`, `1:30` or `1:02:30`. Returns `None` for anything else, and for negative or absurd values.
    pub fn parse(text: &str) -> Option<Self> {
        let mut total = 0.0_f64;
        let parts: Vec<&str> = text.trim().split(':').collect();
        if parts.len() > 3 {
            return None;
        }
        let last = parts.len() - 1;
        for (i, part) in parts.iter().enumerate() {
            let plain = part.bytes().all(|b| b.is_ascii_digit() || (i == last && b == b'.'));
            if part.is_empty() || !plain {
                return None;
            }
            let value: f64 = part.parse().ok()?;
            if i > 0 && value >= 60.0 {
                return None;
            }
            total = total * 60.0 + value;
        }
        (total <= 1e7).then(|| Self::from_secs_f64(total))
    }
}

/// `mm:ss`, or `h:mm:ss` from one hour up; a leading minus if negative. Part seconds are cut towards zero.
impl fmt::Display for Dur {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.is_unlimited() {
            return f.pad("no limit");
        }
        let sign = if self.0 < 0 { "-" } else { "" };
        let s = self.0.abs() / 1000;
        let text = if s >= 3600 {
            format!("{sign}{}:{:02}:{:02}", s / 3600, s / 60 % 60, s % 60)
        } else {
            format!("{sign}{}:{:02}", s / 60, s % 60)
        };
        f.pad(&text)
    }
}

/// Time since the opening as `h:mm:ss`.
impl fmt::Display for Time {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let sign = if self.0 < 0 { "-" } else { "" };
        let s = self.0.abs() / 1000;
        f.pad(&format!("{sign}{}:{:02}:{:02}", s / 3600, s / 60 % 60, s % 60))
    }
}

impl fmt::Display for Mm {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&format!("{:.3} m", self.0 as f64 / 1000.0))
    }
}

impl Add<Dur> for Time {
    type Output = Self;
    fn add(self, d: Dur) -> Self {
        Self(self.0.saturating_add(d.0))
    }
}
impl AddAssign<Dur> for Time {
    fn add_assign(&mut self, d: Dur) {
        *self = *self + d;
    }
}
impl Sub<Dur> for Time {
    type Output = Self;
    fn sub(self, d: Dur) -> Self {
        Self(self.0.saturating_sub(d.0))
    }
}
impl Sub for Time {
    type Output = Dur;
    fn sub(self, other: Self) -> Dur {
        Dur(self.0.saturating_sub(other.0))
    }
}
impl Add for Dur {
    type Output = Self;
    fn add(self, d: Self) -> Self {
        Self(self.0.saturating_add(d.0))
    }
}
impl AddAssign for Dur {
    fn add_assign(&mut self, d: Self) {
        *self = *self + d;
    }
}
impl Sub for Dur {
    type Output = Self;
    fn sub(self, d: Self) -> Self {
        Self(self.0.saturating_sub(d.0))
    }
}
impl SubAssign for Dur {
    fn sub_assign(&mut self, d: Self) {
        *self = *self - d;
    }
}
impl Neg for Dur {
    type Output = Self;
    fn neg(self) -> Self {
        Self(-self.0)
    }
}
impl Mul<i64> for Dur {
    type Output = Self;
    fn mul(self, n: i64) -> Self {
        Self(self.0.saturating_mul(n))
    }
}
impl Sum for Dur {
    fn sum<I: Iterator<Item = Self>>(iter: I) -> Self {
        iter.fold(Self::ZERO, Add::add)
    }
}
impl Sub for Mm {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self(self.0 - other.0)
    }
}
impl Add for Mm {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self(self.0 + other.0)
    }
}
impl Mm {
    /// The distance without its direction.
    #[must_use]
    pub fn abs(self) -> Self {
        Self(self.0.abs())
    }
}

/// How many there are of something whose plural ends with an s: `1 load`, `2 loads`.
pub fn many<N: Copy + fmt::Display + PartialEq + From<u8>>(n: N, one: &str) -> String {
    let s = if n == N::from(1) { "" } else { "s" };
    format!("{n} {one}{s}")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn durations_read_seconds_and_clock_forms() {
        assert_eq!(Dur::parse("90"), Some(Dur::from_secs(90)));
        assert_eq!(Dur::parse("0.5"), Some(Dur(500)));
        assert_eq!(Dur::parse("1:30"), Some(Dur::from_secs(90)));
        assert_eq!(Dur::parse("20:20.5"), Some(Dur(1_220_500)));
        assert_eq!(Dur::parse("1:02:30"), Some(Dur::from_secs(3750)));
        for bad in ["", ":", "1:", "1:75", "-3", "1e3", "1:2:3:4", "a", "nan", "1.5:30"] {
            assert_eq!(Dur::parse(bad), None, "{bad:?}");
        }
    }

    #[test]
    fn durations_show_as_minutes_and_seconds() {
        assert_eq!(Dur::from_secs(85).to_string(), "1:25");
        assert_eq!(Dur::from_secs(-5).to_string(), "-0:05");
        assert_eq!(Dur::from_secs(3750).to_string(), "1:02:30");
        assert_eq!(Dur::UNLIMITED.to_string(), "no limit");
    }
}
