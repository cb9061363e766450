//! What happened, the latest first, with late entries and taken-back ones marked.

use std::collections::{BTreeMap, BTreeSet};

use super::doubt::Doubt;
use super::entries;
use super::words::{Spot, clean, past_words};
use super::{At, changes};
use crate::ids::{Seq, TankId};
use crate::line::Visit;
use crate::shift::{AlarmKey, AlarmKind, Claim, Event, History, Pace, Stamped, StopStep, Who};
use crate::units::{Dur, Time, many};

/// Entries said at least this long after they happened are marked as late.
const LATE: Dur = Dur::from_secs(5);

/// One thing that happened.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LogRow {
    /// Its number in the journal.
    pub seq: Seq,
    /// When it happened, time of day.
    pub at: String,
    /// Who said so.
    pub who: &'static str,
    /// What happened.
    pub text: String,
    /// How late it was said.
    pub late: Option<Dur>,
    /// It was taken back.
    pub undone: bool,
    /// Its time was changed afterwards.
    pub retimed: bool,
    /// It is about an alarm.
    pub of_alarm: bool,
}

impl LogRow {
    /// What happened, what has become of it in front.
    pub fn words(&self) -> String {
        match (self.undone, self.retimed, self.late) {
            (true, _, _) => format!("TAKEN BACK: {}", self.text),
            (false, true, _) => format!("time changed: {}", self.text),
            (false, false, Some(late)) => format!("said {late} late: {}", self.text),
            (false, false, None) => self.text.clone(),
        }
    }
}

/// What undo would take back.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LastSaid {
    /// Its number in the journal.
    pub seq: Seq,
    /// What was said.
    pub text: String,
    /// When it happened.
    pub at: Time,
    /// When it happened, time of day.
    pub clock: String,
    /// What counts again once it is taken back.
    pub then: String,
    /// Something was entered or noted since, which is not what is taken back.
    pub entered_since: bool,
    /// What speaks against an earlier time.
    pub doubt: Option<Doubt>,
}

pub(super) fn rows(at: At<'_>, events: &[Stamped], count: usize) -> Vec<LogRow> {
    let mut undone: BTreeSet<Seq> = BTreeSet::new();
    let mut retimed: BTreeMap<Seq, Time> = BTreeMap::new();
    let mut rows = Vec::new();
    // Whatever changes an event stands after it, so one walk from the end sees it first.
    for stamped in events.iter().rev() {
        let taken_back = undone.contains(&stamped.seq);
        match stamped.event {
            Event::Undone { seq } if !taken_back => {
                undone.insert(seq);
            }
            Event::Retimed { seq, at } if !taken_back => {
                retimed.entry(seq).or_insert(at);
            }
            _ => {}
        }
        let Some(text) = words(at, &stamped.event) else { continue };
        let when = retimed.get(&stamped.seq).copied().unwrap_or(stamped.at);
        let late = stamped.entered - when;
        rows.push(LogRow {
            seq: stamped.seq,
            at: at.clock(when),
            who: who(stamped.by),
            text,
            late: (late >= LATE && is_told(&stamped.event)).then_some(late),
            undone: taken_back,
            retimed: retimed.contains_key(&stamped.seq),
            of_alarm: stamped.event.is_of_alarm(),
        });
        if rows.len() == count {
            break;
        }
    }
    rows
}

/// Who said something, in a short word.
pub(super) fn who(by: Who) -> &'static str {
    match by {
        Who::Operator => "op",
        Who::Supervisor => "sup",
        Who::Crew => "crew",
        Who::Program => "-",
    }
}

pub(super) fn last_said(at: At<'_>, history: &History) -> Option<LastSaid> {
    let stamped = history.last_physical()?;
    let when = time_of(history, stamped);
    let then = match stamped.event {
        Event::Lifted { carrier, from, .. } => {
            format!("{} counts as in {} again.", at.carrier_name(carrier), tank(at, from))
        }
        Event::Lowered { carrier, hoist, .. } => {
            format!(
                "{} counts as on hook {} again.",
                at.carrier_name(carrier),
                clean(&at.line.hoists[hoist].name)
            )
        }
        _ => "What was so before it counts again.".to_owned(),
    };
    Some(LastSaid {
        seq: stamped.seq,
        text: words(at, &stamped.event)?,
        at: when,
        clock: at.clock(when),
        then,
        entered_since: events_after(history, stamped.seq)
            .any(|s| matches!(s.event, Event::Entered { .. } | Event::Noted { .. })),
        doubt: doubt(at, history, stamped),
    })
}

/// True if a person tells when it was: what is told later is marked.
fn is_told(event: &Event) -> bool {
    event.is_physical() || matches!(event, Event::Entered { .. })
}

fn events_after(history: &History, seq: Seq) -> impl Iterator<Item = &Stamped> {
    history.events().iter().rev().take_while(move |s| s.seq > seq)
}

/// When an event happened, as was said last.
fn time_of(history: &History, stamped: &Stamped) -> Time {
    let retimed = history.events().iter().rev().find_map(|s| match s.event {
        Event::Retimed { seq, at } if seq == stamped.seq => Some(at),
        _ => None,
    });
    retimed.unwrap_or(stamped.at)
}

/// What limits how early the last thing said can have happened.
fn doubt(at: At<'_>, history: &History, last: &Stamped) -> Option<Doubt> {
    match last.event {
        Event::Lifted { carrier, hoist, from, .. } => {
            let before = history.events().iter().rev().filter(|s| s.seq < last.seq);
            let down = before.clone().find_map(|s| match s.event {
                Event::Lowered { hoist: h, to, .. } if h == hoist => Some((to, time_of(history, s))),
                _ => None,
            });
            let way = down.and_then(|down| Doubt::way(at.line, hoist, down, from));
            let c = &at.state.carriers[carrier];
            let dwell = c.stays.last().and_then(|stay| {
                let since = stay.to - c.dwelled(stay.visit);
                let stay = (stay.tank, stay.visit, since);
                Doubt::dwell(at.line, &at.carrier_name(carrier), at.recipe(carrier), stay)
            });
            Some(Doubt::Any(dwell.into_iter().chain(way).collect()))
        }
        Event::Lowered { carrier, hoist, to, .. } => {
            let (lift, from) = history.events().iter().rev().find_map(|s| match s.event {
                Event::Lifted { carrier: c, from, .. } if c == carrier && s.seq < last.seq => Some((s, from)),
                _ => None,
            })?;
            let leaves = at.state.carriers[carrier].stays.last().map_or(Visit::Load, |s| s.visit);
            let drip = at.line.drip(at.recipe(carrier), leaves);
            let lifted = time_of(history, lift);
            Doubt::of_move(at.line, &at.carrier_name(carrier), hoist, (from, to, drip), lifted)
        }
        _ => None,
    }
}

fn tank(at: At<'_>, tank: TankId) -> String {
    Spot::of(at.line, tank).words()
}

fn words(at: At<'_>, event: &Event) -> Option<String> {
    Some(match event {
        Event::Opened { book } => format!("shift opened, {}", many(book.carriers.len(), "carrier")),
        Event::Lifted { carrier, from, .. } => {
            format!("picked {} from {}", at.carrier_name(*carrier), tank(at, *from))
        }
        Event::Lowered { carrier, to, release, .. } => {
            let dip = if *release { "" } else { " (dip on the hook)" };
            format!("placed {} in {}{dip}", at.carrier_name(*carrier), tank(at, *to))
        }
        Event::CarrierCorrected { carrier, claim } => {
            format!("{} said to be {}", at.carrier_name(*carrier), claim_words(at, *claim))
        }
        Event::HoistCorrected { hoist, at: t } => {
            format!("{} said to stand over {}", clean(&at.line.hoists[*hoist].name), tank(at, *t))
        }
        Event::TankOut { tank: t, until, why } => changes::tank_out(at, *t, *until, why),
        Event::TankBack { tank: t } => format!("{} back in service", tank(at, *t)),
        Event::PlanAdopted { .. } => return None,
        Event::Undone { seq } => format!("took back entry {}", seq.0),
        Event::Retimed { seq, at: t } => format!("entry {} was at {}", seq.0, at.clock(*t)),
        Event::AlarmRaised { key, .. } => format!("alarm: {}", alarm(at, *key)),
        Event::AlarmEscalated { key, .. } => format!("alarm worse: {}", alarm(at, *key)),
        Event::AlarmCleared { key } => format!("alarm ended: {}", alarm(at, *key)),
        Event::AlarmAcknowledged { key } => format!("alarm seen: {}", alarm(at, *key)),
        Event::AlarmShelved { key, reason, .. } => {
            format!("alarm set aside: {} ({})", alarm(at, *key), clean(reason))
        }
        Event::AlarmUnshelved { key } => format!("alarm back: {}", alarm(at, *key)),
        Event::AlarmSuppressed { key, hoist } => {
            format!("alarm waits under {}: {}", clean(&at.line.hoists[*hoist].name), alarm(at, *key))
        }
        Event::AlarmUnsuppressed { key } => format!("alarm on its own again: {}", alarm(at, *key)),
        Event::StopAlarm { hoist, step } => {
            let hoist = clean(&at.line.hoists[*hoist].name);
            match step {
                StopStep::Raised(_) => format!("alarm: {hoist} is stopped, loads are at risk"),
                StopStep::Escalated(_) => format!("alarm worse: {hoist} is stopped"),
                StopStep::Cleared => format!("alarm ended: {hoist} puts no load at risk"),
                StopStep::Acknowledged => format!("alarm seen: {hoist} is stopped"),
            }
        }
        Event::Changed { change, why } => changes::words(at, change, why),
        Event::Entered { entry } => entries::words(at, entry),
        Event::PaceLearned { pace } => pace_words(at, pace),
        Event::Noted { text } => format!("note: {}", clean(text)),
    })
}

fn pace_words(at: At<'_>, pace: &Pace) -> String {
    let hoists = pace.stretch.iter();
    let mut parts: Vec<String> = hoists
        .map(|(h, s)| {
            format!(
                "{} takes {:.0} % of the times in the line file",
                clean(&at.line.hoists[*h].name),
                f64::from(*s) / 10.0
            )
        })
        .collect();
    for (word, reserve) in [("critical", pace.critical), ("short", pace.short), ("other", pace.other)] {
        parts.extend(reserve.map(|r| format!("reserve {word} {} s", r.whole_secs())));
    }
    format!("pace learned: {}", parts.join(", "))
}

fn alarm(at: At<'_>, key: AlarmKey) -> String {
    let what = past_words(at.line, at.recipe(key.carrier), key.visit);
    match key.kind {
        AlarmKind::Dwell => format!("{} in {what}", at.carrier_name(key.carrier)),
        AlarmKind::Air => format!("{} in air after {what}", at.carrier_name(key.carrier)),
        AlarmKind::Bench => format!("{} at a bench before {what}", at.carrier_name(key.carrier)),
        AlarmKind::Short => format!("{} lifted too soon from {what}", at.carrier_name(key.carrier)),
    }
}

fn claim_words(at: At<'_>, claim: Claim) -> String {
    match claim {
        Claim::Queued => "in the queue".to_owned(),
        Claim::InTank { tank: t, since, .. } => format!("in {} since {}", tank(at, t), at.clock(since)),
        Claim::OnHook { hoist, .. } => format!("on hook {}", clean(&at.line.hoists[hoist].name)),
        Claim::OffLine => "off the line".to_owned(),
        Claim::Finished { tank: t } => format!("finished at {}", tank(at, t)),
    }
}
