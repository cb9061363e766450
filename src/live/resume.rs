//! At which instant a shift goes on that was closed for a while, and what is assumed to say so.

use chrono::{DateTime, FixedOffset};

use super::{CLOCKS_DIFFER, Notice};
use crate::clock::Uptime;
use crate::journal::{Header, Record};
use crate::units::{Dur, Time};

/// The instant now, never before the last event, and what people should know about it.
///
/// 1. A practice goes on where it was left.
/// 2. If the machine has been running since an event was written, what has passed since then is known, whatever was done
///    to the wall clock.
/// 3. Otherwise only the wall clock tells; it is believed unless it shows a time before the last event.
pub fn instant(
    header: &Header,
    records: &[Record],
    wall: DateTime<FixedOffset>,
    up: Option<Uptime>,
) -> (Time, Option<Notice>) {
    let last = records.iter().map(|r| r.stamped.entered.max(r.stamped.at)).max().unwrap_or(Time::ZERO);
    if header.practice {
        let last = last.max(header.forked_from.as_ref().map_or(Time::ZERO, |o| o.at));
        return (last, None);
    }
    let by_wall = header.opening.instant(wall);
    if let Some(by_uptime) = up.and_then(|up| since_written(records, up)) {
        let now = by_uptime.max(last);
        let ahead = by_wall - now;
        let set = Dur(ahead.0.abs()) > CLOCKS_DIFFER;
        return (now, set.then_some(Notice::ClockSet(ahead)));
    }
    if last - by_wall > CLOCKS_DIFFER {
        return (last, Some(Notice::ClockBehind(last - by_wall)));
    }
    let now = by_wall.max(last);
    // An older journal does not say on which start of the machine it was written.
    let restarted = up.is_some() && records.last().is_some_and(|r| r.written.up.is_some());
    (now, restarted.then(|| Notice::StartedAnew(now - last)))
}

/// The newest event that was written on this start of the machine, and what has passed since.
fn since_written(records: &[Record], up: Uptime) -> Option<Time> {
    records.iter().rev().find_map(|r| {
        let then = r.written.up.filter(|then| then.boot == up.boot && then.ms <= up.ms)?;
        Some(r.stamped.entered + Dur(up.ms - then.ms))
    })
}
