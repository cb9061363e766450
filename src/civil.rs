//! The shift's axis against the wall clock: times of day for screens and files.

use chrono::{DateTime, Duration, FixedOffset, SecondsFormat, Timelike as _};

use crate::units::{Dur, Time};

/// The wall-clock moment at which the shift's axis begins, in the plant's own zone.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Opening(DateTime<FixedOffset>);

/// A time of day of the next morning or of the evening before is understood from this far.
const FAR_AWAY: Duration = Duration::hours(6);

impl Opening {
    /// The axis begins at this moment.
    pub fn at(moment: DateTime<FixedOffset>) -> Self {
        Self(moment)
    }

    /// Reads RFC 3339, such as `2026-11-25T06:00:00+01:00`.
    pub fn parse(text: &str) -> Option<Self> {
        DateTime::parse_from_rfc3339(text).ok().map(Self)
    }

    /// The time of day at an instant, `hh:mm:ss`.
    pub fn clock(&self, t: Time) -> String {
        self.moment(t).format("%H:%M:%S").to_string()
    }

    /// The time of day at an instant, `hh:mm`.
    pub fn clock_minutes(&self, t: Time) -> String {
        self.moment(t).format("%H:%M").to_string()
    }

    /// The same as somebody reads it at `now`: what is far away on another day has the day of the week before it.
    pub fn clock_minutes_near(&self, t: Time, now: Time) -> String {
        let (then, now) = (self.moment(t), self.moment(now));
        let far = (then - now).abs() > FAR_AWAY && then.date_naive() != now.date_naive();
        then.format(if far { "%a %H:%M" } else { "%H:%M" }).to_string()
    }

    /// The day at an instant, `yyyy-mm-dd`.
    pub fn date(&self, t: Time) -> String {
        self.moment(t).format("%Y-%m-%d").to_string()
    }

    /// The moment at an instant, RFC 3339 with milliseconds.
    pub fn rfc3339(&self, t: Time) -> String {
        self.moment(t).to_rfc3339_opts(SecondsFormat::Millis, false)
    }

    /// The instant of the first `hh:mm` at or after the opening.
    pub fn next_time_of_day(&self, hour: u32, minute: u32) -> Time {
        self.next_second_of_day(hour * 3600 + minute * 60)
    }

    /// The last instant at or before `latest` at which it is as late in the day as another shift opens.
    pub fn last_like(&self, other: &Self, latest: Time) -> Time {
        let first = self.next_second_of_day(other.0.num_seconds_from_midnight());
        latest - Dur((latest - first).0.rem_euclid(86_400_000))
    }

    fn next_second_of_day(&self, wanted: u32) -> Time {
        let opens = i64::from(self.0.num_seconds_from_midnight());
        Time::from_secs((i64::from(wanted) - opens).rem_euclid(86_400))
    }

    /// The first instant at or after the opening at which an hour of the day begins.
    pub fn next_hour(&self) -> Time {
        let opens =
            i64::from(self.0.num_seconds_from_midnight()) * 1000 + i64::from(self.0.nanosecond() / 1_000_000);
        Time((-opens).rem_euclid(3_600_000))
    }

    /// The first instant at or after `t` at which a minute of the day begins: what is told in minutes is so to the second.
    pub fn whole_minute(&self, t: Time) -> Time {
        t + Dur((self.next_hour() - t).0.rem_euclid(60_000))
    }

    /// The instant on the axis of a moment.
    pub fn instant(&self, moment: DateTime<FixedOffset>) -> Time {
        Time((moment - self.0).num_milliseconds())
    }

    /// The offset of the plant's zone, such as `+01:00`.
    pub fn zone(&self) -> String {
        self.0.offset().to_string()
    }

    fn moment(&self, t: Time) -> DateTime<FixedOffset> {
        self.0.checked_add_signed(Duration::milliseconds(t.0)).unwrap_or(self.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_time_far_away_on_another_day_says_which_day() {
        let opening = Opening::parse("2026-11-25T20:00:00+01:00").unwrap();
        let said = |hours: i64, now: i64| {
            opening.clock_minutes_near(Time::from_secs(hours * 3600), Time::from_secs(now * 3600))
        };
        assert_eq!(said(2, 0), "22:00");
        assert_eq!(said(5, 0), "01:00", "the same night");
        assert_eq!(said(11, 0), "Thu 07:00");
        assert_eq!(said(11, 6), "07:00", "the same day by then");
        assert_eq!(said(0, 11), "Wed 20:00");
        assert_eq!(said(-12, 0), "08:00", "the same day");
    }

    #[test]
    fn a_minute_that_is_told_is_whole() {
        let opening = Opening::parse("2026-11-25T06:00:17+01:00").unwrap();
        for (secs, told) in [(0, "06:01:00"), (43, "06:01:00"), (44, "06:02:00"), (3643, "07:01:00")] {
            assert_eq!(opening.clock(opening.whole_minute(Time::from_secs(secs))), told);
        }
    }
}
