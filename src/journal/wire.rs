//! The stored form. The code may rename what it likes; what is named here stays as it is, because old files are read.
//!
//! Plant and carriers are stored by name, steps counted from 1, instants in milliseconds on the shift's axis. A visit is
//! one short text: `load`, `step 3`, `hold 3` (in standby after step 3), `stray 4` (to go on with step 4), `unload`.
//! A plan's move is an array: carrier, hoist, from, to, visit left, visit made, start, and the letters `a` (the hoist takes
//! hold first) and `r` (it lets go at the end). A plan that comes after another may name moves of that one instead: the
//! number of the first, how many, and by how many milliseconds their starts shift. Reading is strict: an unknown field, name or step is an error.

mod change;
mod entry;
mod pace;

use std::path::Path;

use chrono::{DateTime, FixedOffset, SecondsFormat};
use serde::{Deserialize, Serialize};

use super::FORMAT;
use super::chain::Digest;
use super::error::Error;
use super::record::{Header, Origin, Record, StoredText, StoredTexts, Written};
use crate::civil::Opening;
use crate::clock::Uptime;
use crate::ids::{Arena, CarrierId, HoistId, Id, OrderId, RecipeId, Seq, StepNo, TankId};
use crate::line::{CarrierSpec, EntrySide, Line, NamedRack, Order, OrderBook, Priority, Rack, Visit};
use crate::schedule::{Kept, Move, Part, Schedule, told_by};
use crate::shift::{AlarmKey, AlarmKind, AlarmLevel, Change, Claim, Event, Stamped, StopStep, Who};
use crate::units::{Mm, Time};

/// Runs of runs grow fast in a file somebody made up; no plan has so many moves.
const MOST_MOVES: usize = 500_000;

/// What is wrong with a line: what was found and what was expected.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{found}; expected {expected}")]
pub struct Bad {
    found: String,
    expected: String,
}

impl Bad {
    fn new(found: impl Into<String>, expected: impl Into<String>) -> Self {
        Self { found: found.into(), expected: expected.into() }
    }

    pub(super) fn at(self, path: &Path, line: u64) -> Error {
        Error::Damaged { path: path.to_owned(), line, found: self.found, expected: self.expected }
    }
}

#[derive(Deserialize)]
struct WireFormat {
    kind: String,
    format: String,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct WireHeader {
    kind: String,
    format: String,
    program: String,
    created: String,
    opening: String,
    zone: String,
    practice: bool,
    speed: f64,
    fingerprint: String,
    line: WireText,
    recipes: WireText,
    orders: WireText,
    /// Missing for a shift of its own.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    forked_from: Option<WireOrigin>,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct WireOrigin {
    journal: String,
    event: u64,
    at: i64,
    hash: String,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    to_come: Vec<String>,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct WireText {
    name: String,
    text: String,
}

#[derive(Serialize, Deserialize)]
struct WireRecord {
    seq: u64,
    at: i64,
    entered: i64,
    wall: String,
    /// Which start of the machine, in hexadecimal, and milliseconds since then.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    up: Option<(String, i64)>,
    by: WireWho,
    prev: String,
    // `deny_unknown_fields` does not go with `flatten` here; the enum has it and sees all fields that are left.
    #[serde(flatten)]
    event: WireEvent,
}

#[derive(Serialize, Deserialize, Clone, Copy)]
#[serde(rename_all = "kebab-case")]
enum WireWho {
    Operator,
    Supervisor,
    Crew,
    Program,
}

#[derive(Serialize, Deserialize)]
#[serde(tag = "event", rename_all = "kebab-case", deny_unknown_fields)]
enum WireEvent {
    Opened {
        orders: Vec<WireOrder>,
        carriers: Vec<WireCarrier>,
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        racks: Vec<WireRackSpec>,
    },
    Lifted {
        carrier: String,
        hoist: String,
        from: String,
    },
    Lowered {
        carrier: String,
        hoist: String,
        to: String,
        visit: String,
        release: bool,
    },
    CarrierCorrected {
        carrier: String,
        claim: WireClaim,
    },
    HoistCorrected {
        hoist: String,
        tank: String,
    },
    TankOut {
        tank: String,
        /// Nobody knows if it is missing.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        until: Option<i64>,
        /// Nobody said if it is missing.
        #[serde(default, skip_serializing_if = "String::is_empty")]
        why: String,
    },
    TankBack {
        tank: String,
    },
    PlanAdopted {
        made_at: i64,
        /// The event with the plan before; missing if no move of it is named.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        after: Option<u64>,
        moves: Vec<WirePart>,
    },
    Undone {
        of: u64,
    },
    Retimed {
        of: u64,
        to: i64,
    },
    AlarmRaised {
        carrier: String,
        visit: String,
        alarm: WireAlarmKind,
        level: WireAlarmLevel,
    },
    AlarmEscalated {
        carrier: String,
        visit: String,
        alarm: WireAlarmKind,
        level: WireAlarmLevel,
    },
    AlarmCleared {
        carrier: String,
        visit: String,
        alarm: WireAlarmKind,
    },
    AlarmAcknowledged {
        carrier: String,
        visit: String,
        alarm: WireAlarmKind,
    },
    AlarmShelved {
        carrier: String,
        visit: String,
        alarm: WireAlarmKind,
        until: i64,
        reason: String,
    },
    AlarmUnshelved {
        carrier: String,
        visit: String,
        alarm: WireAlarmKind,
    },
    AlarmSuppressed {
        carrier: String,
        visit: String,
        alarm: WireAlarmKind,
        hoist: String,
    },
    AlarmUnsuppressed {
        carrier: String,
        visit: String,
        alarm: WireAlarmKind,
    },
    StopAlarm {
        hoist: String,
        step: WireStopStep,
        /// With `raised` and `escalated`.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        level: Option<WireAlarmLevel>,
    },
    Changed {
        change: change::WireChange,
        why: String,
    },
    Entered {
        entry: entry::WireEntry,
    },
    PaceLearned {
        pace: pace::WirePace,
    },
    Noted {
        text: String,
    },
}

/// A move in full, or a run of moves of the plan before: first, count, shift of starts.
#[derive(Serialize, Deserialize)]
#[serde(untagged)]
enum WirePart {
    Kept(usize, usize, i64),
    Whole(WireMove),
}

type WireMove = (String, String, String, String, String, String, i64, String);

#[derive(Serialize, Deserialize)]
#[serde(tag = "place", rename_all = "kebab-case", deny_unknown_fields)]
enum WireClaim {
    Queued {},
    InTank { tank: String, since: i64, visit: String },
    OnHook { hoist: String, from: String, leaves: String, lifted: i64 },
    OffLine {},
    Finished { tank: String },
}

#[derive(Serialize, Deserialize, Clone, Copy)]
#[serde(rename_all = "kebab-case")]
enum WireAlarmKind {
    Dwell,
    Air,
    Bench,
    Short,
}

#[derive(Serialize, Deserialize, Clone, Copy)]
#[serde(rename_all = "kebab-case")]
enum WireAlarmLevel {
    Due,
    Over,
    Reached,
}

#[derive(Serialize, Deserialize, Clone, Copy)]
#[serde(rename_all = "kebab-case")]
enum WireStopStep {
    Raised,
    Escalated,
    Cleared,
    Acknowledged,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct WireOrder {
    name: String,
    label: String,
    parts: u32,
    recipe: String,
    priority: WirePriority,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    due: Option<i64>,
    ready: i64,
    /// The station; any load station if it is missing.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    entry: Option<String>,
    #[serde(default, skip_serializing_if = "is_false")]
    toleranced: bool,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct WireRackSpec {
    name: String,
    metal: WireRack,
    #[serde(default)]
    cycles: u32,
    #[serde(default)]
    spoiled: u32,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct WireCarrier {
    name: String,
    order: String,
    recipe: String,
    parts: u32,
    area_dm2: f64,
    rack: WireRack,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    rack_name: Option<String>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    height_mm: Option<i64>,
    ready: i64,
}

#[expect(clippy::trivially_copy_pass_by_ref, reason = "serde calls it with a reference")]
fn is_false(b: &bool) -> bool {
    !*b
}

#[derive(Serialize, Deserialize, Clone, Copy)]
#[serde(rename_all = "kebab-case")]
enum WirePriority {
    Rush,
    Normal,
    Low,
}

#[derive(Serialize, Deserialize, Clone, Copy)]
#[serde(rename_all = "kebab-case")]
enum WireRack {
    Titanium,
    Aluminium,
}

/// Both directions between a core enum and its stored twin.
macro_rules! twins {
    ($core:ident, $wire:ident: $($name:ident),+) => {
        impl From<$core> for $wire {
            fn from(core: $core) -> Self {
                match core { $($core::$name => Self::$name),+ }
            }
        }
        impl From<$wire> for $core {
            fn from(wire: $wire) -> Self {
                match wire { $($wire::$name => Self::$name),+ }
            }
        }
    };
}
twins!(Who, WireWho: Operator, Supervisor, Crew, Program);
twins!(AlarmKind, WireAlarmKind: Dwell, Air, Bench, Short);
twins!(AlarmLevel, WireAlarmLevel: Due, Over, Reached);
twins!(Priority, WirePriority: Rush, Normal, Low);
twins!(Rack, WireRack: Titanium, Aluminium);

/// The line of a header, without newline.
pub fn write_header(header: &Header) -> String {
    let text = |t: &StoredText| WireText { name: t.name.clone(), text: t.text.clone() };
    to_json(&WireHeader {
        kind: "opening".to_owned(),
        format: FORMAT.to_owned(),
        program: header.program.clone(),
        created: moment(&header.created),
        opening: header.opening.rfc3339(Time::ZERO),
        zone: header.zone.clone(),
        practice: header.practice,
        speed: header.speed,
        fingerprint: header.texts.fingerprint().to_string(),
        line: text(&header.texts.line),
        recipes: text(&header.texts.recipes),
        orders: text(&header.texts.orders),
        forked_from: header.forked_from.as_ref().map(|o| WireOrigin {
            journal: o.journal.clone(),
            event: o.event.0,
            at: o.at.0,
            hash: o.hash.clone(),
            to_come: o.to_come.clone(),
        }),
    })
}

/// The format an opening names, whatever else it holds; `None` if the line is no opening.
pub(super) fn format_of(bytes: &[u8]) -> Option<String> {
    let head: WireFormat = serde_json::from_slice(bytes).ok()?;
    (head.kind == "opening").then_some(head.format)
}

/// Reads the line of a header.
pub fn read_header(bytes: &[u8]) -> Result<Header, Bad> {
    let wire: WireHeader = from_json(bytes)?;
    let text = |t: WireText| StoredText { name: t.name, text: t.text };
    let texts = StoredTexts { line: text(wire.line), recipes: text(wire.recipes), orders: text(wire.orders) };
    let fingerprint = texts.fingerprint().to_string();
    if wire.fingerprint != fingerprint {
        return Err(Bad::new(format!("the fingerprint {:?}", wire.fingerprint), fingerprint));
    }
    if !(wire.speed.is_finite() && wire.speed > 0.0) {
        return Err(Bad::new(format!("the speed {}", wire.speed), "a number above 0"));
    }
    let opening = Opening::parse(&wire.opening).ok_or_else(|| {
        Bad::new(format!("the opening {:?}", wire.opening), "a date and time after RFC 3339")
    })?;
    let origin = |o: WireOrigin| -> Result<Origin, Bad> {
        Ok(Origin {
            journal: o.journal,
            event: Seq(o.event),
            at: time(o.at)?,
            hash: o.hash,
            to_come: o.to_come,
        })
    };
    Ok(Header {
        texts,
        opening,
        zone: wire.zone,
        program: wire.program,
        practice: wire.practice,
        speed: wire.speed,
        created: read_moment(&wire.created)?,
        forked_from: wire.forked_from.map(origin).transpose()?,
    })
}

/// A plan with the event that put it in force.
pub type Adopted = (Seq, Kept);

/// The line of an event, without newline. `prev` is the hash of the line before, `book` what carriers are called; for
/// an event that brings a book, that one. `before` is the last plan in the journal.
pub fn write_event(
    stamped: &Stamped,
    written: &Written,
    prev: &Digest,
    line: &Line,
    book: &OrderBook,
    before: Option<&Adopted>,
) -> String {
    to_json(&WireRecord {
        seq: stamped.seq.0,
        at: stamped.at.0,
        entered: stamped.entered.0,
        wall: moment(&written.wall),
        up: written.up.map(|up| (format!("{:016x}", up.boot), up.ms)),
        by: stamped.by.into(),
        prev: prev.to_string(),
        event: Names { line, book, before }.write(&stamped.event),
    })
}

/// Reads the line of an event, and the hash it carries of the line before. `before` is the last plan in the journal.
pub fn read_event(
    bytes: &[u8],
    line: &Line,
    book: &OrderBook,
    before: Option<&Adopted>,
) -> Result<(Record, String), Bad> {
    let wire: WireRecord = from_json(bytes)?;
    let event = Names { line, book, before }.read(wire.event)?;
    if let Event::Undone { seq } | Event::Retimed { seq, .. } = event
        && seq.0 >= wire.seq
    {
        return Err(Bad::new(format!("event {} about event {}", wire.seq, seq.0), "an earlier event"));
    }
    let stamped = Stamped {
        seq: Seq(wire.seq),
        at: time(wire.at)?,
        entered: time(wire.entered)?,
        by: wire.by.into(),
        event,
    };
    let written = Written { wall: read_moment(&wire.wall)?, up: wire.up.map(read_uptime).transpose()? };
    Ok((Record { stamped, written }, wire.prev))
}

/// What names mean after an event. A carrier that was ever sent to rework may have as many steps as the longest of its
/// recipes: who takes that back does not take back what was written meanwhile.
pub(super) fn learn(book: &mut OrderBook, line: &Line, event: &Event) {
    match event {
        Event::Opened { book: new } => book.clone_from(new),
        Event::Changed { change, .. } => {
            change.learn(book);
            if let Change::Rework { carrier, recipe } = change {
                let steps = |recipe: RecipeId| line.recipes[recipe].steps.len();
                let spec = &mut book.carriers[*carrier];
                if steps(*recipe) >= steps(spec.recipe) {
                    spec.recipe = *recipe;
                }
            }
        }
        _ => {}
    }
}

fn to_json(value: &impl Serialize) -> String {
    serde_json::to_string(value).expect("stored forms have text keys and write to memory")
}

fn from_json<'a, T: Deserialize<'a>>(bytes: &'a [u8]) -> Result<T, Bad> {
    let mut source = serde_json::Deserializer::from_slice(bytes);
    let value = serde_path_to_error::deserialize(&mut source).map_err(|e| {
        let place = e.path().to_string();
        let place = if place == "." { String::new() } else { format!(" at {place}") };
        Bad::new(format!("{}{place}", e.inner()), "a record as this program writes it")
    })?;
    source.end().map_err(|e| Bad::new(e.to_string(), "one record"))?;
    Ok(value)
}

fn moment(at: &DateTime<FixedOffset>) -> String {
    at.to_rfc3339_opts(SecondsFormat::Millis, false)
}

fn read_moment(text: &str) -> Result<DateTime<FixedOffset>, Bad> {
    DateTime::parse_from_rfc3339(text)
        .map_err(|_| Bad::new(format!("the moment {text:?}"), "a date and time after RFC 3339"))
}

fn read_uptime((boot, ms): (String, i64)) -> Result<Uptime, Bad> {
    match u64::from_str_radix(&boot, 16) {
        Ok(boot) if (0..=Time::FAR.0).contains(&ms) => Ok(Uptime { boot, ms }),
        _ => Err(Bad::new(format!("the start {boot:?} and {ms}"), "16 hexadecimal digits and milliseconds")),
    }
}

fn time(ms: i64) -> Result<Time, Bad> {
    if (Time::PAST.0..=Time::FAR.0).contains(&ms) {
        Ok(Time(ms))
    } else {
        Err(Bad::new(format!("the instant {ms}"), "milliseconds since the opening"))
    }
}

/// What names mean.
#[derive(Clone, Copy)]
struct Names<'a> {
    line: &'a Line,
    book: &'a OrderBook,
    before: Option<&'a Adopted>,
}

impl Names<'_> {
    fn carrier_name(self, id: CarrierId) -> String {
        self.book.carriers[id].name.clone()
    }
    fn tank_name(self, id: TankId) -> String {
        self.line.tanks[id].name.clone()
    }
    fn hoist_name(self, id: HoistId) -> String {
        self.line.hoists[id].name.clone()
    }

    fn carrier(self, name: &str) -> Result<CarrierId, Bad> {
        by_name(&self.book.carriers, |c| &c.name, "carrier", name)
    }
    fn tank(self, name: &str) -> Result<TankId, Bad> {
        by_name(&self.line.tanks, |t| &t.name, "tank", name)
    }
    fn hoist(self, name: &str) -> Result<HoistId, Bad> {
        by_name(&self.line.hoists, |h| &h.name, "hoist", name)
    }
    fn order_name(self, id: OrderId) -> String {
        self.book.orders[id].name.clone()
    }
    fn order(self, name: &str) -> Result<OrderId, Bad> {
        by_name(&self.book.orders, |o| &o.name, "order", name)
    }
    fn recipe(self, name: &str) -> Result<RecipeId, Bad> {
        by_name(&self.line.recipes, |r| &r.name, "recipe", name)
    }

    /// How many steps a carrier may have: one more than the recipe says if that is for rework, which begins where it is.
    fn steps(self, carrier: CarrierId) -> usize {
        let recipe = &self.line.recipes[self.book.carriers[carrier].recipe];
        recipe.steps.len() + usize::from(recipe.rework)
    }

    fn visit(self, text: &str, carrier: CarrierId) -> Result<Visit, Bad> {
        let steps = self.steps(carrier);
        let step = |number: &str, most: usize| {
            let n = number.parse::<usize>().ok().filter(|n| (1..=most).contains(n));
            n.map(|n| StepNo::at(n - 1))
                .ok_or_else(|| Bad::new(format!("the visit {text:?}"), format!("a step from 1 to {most}")))
        };
        match text.split_once(' ') {
            None if text == "load" => Ok(Visit::Load),
            None if text == "unload" => Ok(Visit::Unload),
            Some(("step", n)) => Ok(Visit::Step(step(n, steps)?)),
            Some(("hold", n)) => Ok(Visit::Hold(step(n, steps)?)),
            // After its last step a stray carrier goes on with the way out.
            Some(("stray", n)) => Ok(Visit::Stray { resume: step(n, steps + 1)? }),
            _ => Err(Bad::new(format!("the visit {text:?}"), "load, step N, hold N, stray N or unload")),
        }
    }

    fn key(self, carrier: &str, visit: &str, kind: WireAlarmKind) -> Result<AlarmKey, Bad> {
        let carrier = self.carrier(carrier)?;
        Ok(AlarmKey { carrier, visit: self.visit(visit, carrier)?, kind: kind.into() })
    }

    fn write(self, event: &Event) -> WireEvent {
        match event {
            Event::Opened { book } => self.write_book(book),
            Event::Lifted { carrier, hoist, from } => WireEvent::Lifted {
                carrier: self.carrier_name(*carrier),
                hoist: self.hoist_name(*hoist),
                from: self.tank_name(*from),
            },
            Event::Lowered { carrier, hoist, to, visit, release } => WireEvent::Lowered {
                carrier: self.carrier_name(*carrier),
                hoist: self.hoist_name(*hoist),
                to: self.tank_name(*to),
                visit: write_visit(*visit),
                release: *release,
            },
            Event::CarrierCorrected { carrier, claim } => WireEvent::CarrierCorrected {
                carrier: self.carrier_name(*carrier),
                claim: self.write_claim(*claim),
            },
            Event::HoistCorrected { hoist, at } => {
                WireEvent::HoistCorrected { hoist: self.hoist_name(*hoist), tank: self.tank_name(*at) }
            }
            Event::TankOut { tank, until, why } => WireEvent::TankOut {
                tank: self.tank_name(*tank),
                until: (*until != Time::FAR).then_some(until.0),
                why: why.clone(),
            },
            Event::TankBack { tank } => WireEvent::TankBack { tank: self.tank_name(*tank) },
            Event::PlanAdopted { plan } => {
                let moves = self.write_moves(&plan.schedule().moves);
                let names_any = moves.iter().any(|part| matches!(part, WirePart::Kept(..)));
                let after = self.before.filter(|_| names_any).map(|(seq, _)| seq.0);
                WireEvent::PlanAdopted { made_at: plan.made_at().0, after, moves }
            }
            Event::Undone { seq } => WireEvent::Undone { of: seq.0 },
            Event::Retimed { seq, at } => WireEvent::Retimed { of: seq.0, to: at.0 },
            Event::AlarmRaised { key, level } => WireEvent::AlarmRaised {
                carrier: self.carrier_name(key.carrier),
                visit: write_visit(key.visit),
                alarm: key.kind.into(),
                level: (*level).into(),
            },
            Event::AlarmEscalated { key, level } => WireEvent::AlarmEscalated {
                carrier: self.carrier_name(key.carrier),
                visit: write_visit(key.visit),
                alarm: key.kind.into(),
                level: (*level).into(),
            },
            Event::AlarmCleared { key } => WireEvent::AlarmCleared {
                carrier: self.carrier_name(key.carrier),
                visit: write_visit(key.visit),
                alarm: key.kind.into(),
            },
            Event::AlarmAcknowledged { key } => WireEvent::AlarmAcknowledged {
                carrier: self.carrier_name(key.carrier),
                visit: write_visit(key.visit),
                alarm: key.kind.into(),
            },
            Event::AlarmShelved { key, until, reason } => WireEvent::AlarmShelved {
                carrier: self.carrier_name(key.carrier),
                visit: write_visit(key.visit),
                alarm: key.kind.into(),
                until: until.0,
                reason: reason.clone(),
            },
            Event::AlarmUnshelved { key } => WireEvent::AlarmUnshelved {
                carrier: self.carrier_name(key.carrier),
                visit: write_visit(key.visit),
                alarm: key.kind.into(),
            },
            Event::AlarmSuppressed { key, hoist } => WireEvent::AlarmSuppressed {
                carrier: self.carrier_name(key.carrier),
                visit: write_visit(key.visit),
                alarm: key.kind.into(),
                hoist: self.hoist_name(*hoist),
            },
            Event::AlarmUnsuppressed { key } => WireEvent::AlarmUnsuppressed {
                carrier: self.carrier_name(key.carrier),
                visit: write_visit(key.visit),
                alarm: key.kind.into(),
            },
            Event::StopAlarm { hoist, step } => {
                let (step, level) = match *step {
                    StopStep::Raised(level) => (WireStopStep::Raised, Some(level.into())),
                    StopStep::Escalated(level) => (WireStopStep::Escalated, Some(level.into())),
                    StopStep::Cleared => (WireStopStep::Cleared, None),
                    StopStep::Acknowledged => (WireStopStep::Acknowledged, None),
                };
                WireEvent::StopAlarm { hoist: self.hoist_name(*hoist), step, level }
            }
            Event::Changed { change, why } => {
                WireEvent::Changed { change: self.write_change(change), why: why.clone() }
            }
            Event::Entered { entry } => WireEvent::Entered { entry: self.write_entry(entry) },
            Event::PaceLearned { pace } => WireEvent::PaceLearned { pace: self.write_pace(pace) },
            Event::Noted { text } => WireEvent::Noted { text: text.clone() },
        }
    }

    fn read(self, wire: WireEvent) -> Result<Event, Bad> {
        Ok(match wire {
            WireEvent::Opened { orders, carriers, racks } => {
                Event::Opened { book: self.read_book(orders, carriers, racks)? }
            }
            WireEvent::Lifted { carrier, hoist, from } => Event::Lifted {
                carrier: self.carrier(&carrier)?,
                hoist: self.hoist(&hoist)?,
                from: self.tank(&from)?,
            },
            WireEvent::Lowered { carrier, hoist, to, visit, release } => {
                let carrier = self.carrier(&carrier)?;
                Event::Lowered {
                    carrier,
                    hoist: self.hoist(&hoist)?,
                    to: self.tank(&to)?,
                    visit: self.visit(&visit, carrier)?,
                    release,
                }
            }
            WireEvent::CarrierCorrected { carrier, claim } => {
                let carrier = self.carrier(&carrier)?;
                Event::CarrierCorrected { carrier, claim: self.read_claim(&claim, carrier)? }
            }
            WireEvent::HoistCorrected { hoist, tank } => {
                Event::HoistCorrected { hoist: self.hoist(&hoist)?, at: self.tank(&tank)? }
            }
            WireEvent::TankOut { tank, until, why } => {
                let until = until.map_or(Ok(Time::FAR), time)?;
                Event::TankOut { tank: self.tank(&tank)?, until, why }
            }
            WireEvent::TankBack { tank } => Event::TankBack { tank: self.tank(&tank)? },
            WireEvent::PlanAdopted { made_at, after, moves } => {
                let moves = self.read_moves(after, &moves)?;
                let plan = Schedule { moves, made_at: time(made_at)? };
                let plan = self.before.map_or_else(|| Kept::from(&plan), |(_, before)| before.then(&plan));
                Event::PlanAdopted { plan }
            }
            WireEvent::Undone { of } => Event::Undone { seq: Seq(of) },
            WireEvent::Retimed { of, to } => Event::Retimed { seq: Seq(of), at: time(to)? },
            WireEvent::AlarmRaised { carrier, visit, alarm, level } => {
                Event::AlarmRaised { key: self.key(&carrier, &visit, alarm)?, level: level.into() }
            }
            WireEvent::AlarmEscalated { carrier, visit, alarm, level } => {
                Event::AlarmEscalated { key: self.key(&carrier, &visit, alarm)?, level: level.into() }
            }
            WireEvent::AlarmCleared { carrier, visit, alarm } => {
                Event::AlarmCleared { key: self.key(&carrier, &visit, alarm)? }
            }
            WireEvent::AlarmAcknowledged { carrier, visit, alarm } => {
                Event::AlarmAcknowledged { key: self.key(&carrier, &visit, alarm)? }
            }
            WireEvent::AlarmShelved { carrier, visit, alarm, until, reason } => {
                Event::AlarmShelved { key: self.key(&carrier, &visit, alarm)?, until: time(until)?, reason }
            }
            WireEvent::AlarmUnshelved { carrier, visit, alarm } => {
                Event::AlarmUnshelved { key: self.key(&carrier, &visit, alarm)? }
            }
            WireEvent::AlarmSuppressed { carrier, visit, alarm, hoist } => {
                Event::AlarmSuppressed { key: self.key(&carrier, &visit, alarm)?, hoist: self.hoist(&hoist)? }
            }
            WireEvent::AlarmUnsuppressed { carrier, visit, alarm } => {
                Event::AlarmUnsuppressed { key: self.key(&carrier, &visit, alarm)? }
            }
            WireEvent::StopAlarm { hoist, step, level } => {
                let step = match (step, level) {
                    (WireStopStep::Raised, Some(level)) => StopStep::Raised(level.into()),
                    (WireStopStep::Escalated, Some(level)) => StopStep::Escalated(level.into()),
                    (WireStopStep::Cleared, None) => StopStep::Cleared,
                    (WireStopStep::Acknowledged, None) => StopStep::Acknowledged,
                    _ => return Err(Bad::new("an alarm of a hoist", "a level where it got worse")),
                };
                Event::StopAlarm { hoist: self.hoist(&hoist)?, step }
            }
            WireEvent::Changed { change, why } => Event::Changed { change: self.read_change(change)?, why },
            WireEvent::Entered { entry } => Event::Entered { entry: self.read_entry(entry)? },
            WireEvent::PaceLearned { pace } => Event::PaceLearned { pace: self.read_pace(pace)? },
            WireEvent::Noted { text } => Event::Noted { text },
        })
    }

    fn write_claim(self, claim: Claim) -> WireClaim {
        match claim {
            Claim::Queued => WireClaim::Queued {},
            Claim::InTank { tank, since, visit } => {
                WireClaim::InTank { tank: self.tank_name(tank), since: since.0, visit: write_visit(visit) }
            }
            Claim::OnHook { hoist, from, leaves, lifted } => WireClaim::OnHook {
                hoist: self.hoist_name(hoist),
                from: self.tank_name(from),
                leaves: write_visit(leaves),
                lifted: lifted.0,
            },
            Claim::OffLine => WireClaim::OffLine {},
            Claim::Finished { tank } => WireClaim::Finished { tank: self.tank_name(tank) },
        }
    }

    fn read_claim(self, wire: &WireClaim, carrier: CarrierId) -> Result<Claim, Bad> {
        Ok(match wire {
            WireClaim::Queued {} => Claim::Queued,
            WireClaim::InTank { tank, since, visit } => Claim::InTank {
                tank: self.tank(tank)?,
                since: time(*since)?,
                visit: self.visit(visit, carrier)?,
            },
            WireClaim::OnHook { hoist, from, leaves, lifted } => Claim::OnHook {
                hoist: self.hoist(hoist)?,
                from: self.tank(from)?,
                leaves: self.visit(leaves, carrier)?,
                lifted: time(*lifted)?,
            },
            WireClaim::OffLine {} => Claim::OffLine,
            WireClaim::Finished { tank } => Claim::Finished { tank: self.tank(tank)? },
        })
    }

    /// Runs of moves of the plan before where there are any, the rest in full.
    fn write_moves(self, moves: &[Move]) -> Vec<WirePart> {
        let before = self.before.map(|(_, plan)| plan.schedule().moves).unwrap_or_default();
        let part = |part| match part {
            Part::Own(m) => WirePart::Whole(self.write_move(&m)),
            Part::Run { first, count, shift } => WirePart::Kept(first as usize, count as usize, shift.0),
        };
        told_by(&before, moves, usize::MAX).map(part).collect()
    }

    fn read_moves(self, after: Option<u64>, parts: &[WirePart]) -> Result<Vec<Move>, Bad> {
        let known = self.before.map(|(seq, _)| seq.0);
        if after.is_some() && after != known {
            let expected = known.map_or("a plan in full".to_owned(), |seq| format!("event {seq}"));
            return Err(Bad::new(format!("a plan after event {}", after.unwrap_or_default()), expected));
        }
        let before = self.before.filter(|_| after.is_some());
        let before = before.map(|(_, plan)| plan.schedule().moves).unwrap_or_default();
        let mut moves = Vec::new();
        for part in parts {
            match part {
                WirePart::Whole(m) => moves.push(self.read_move(m)?),
                &WirePart::Kept(first, count, shift) => {
                    let run = first.checked_add(count).and_then(|end| before.get(first..end));
                    let run = run.filter(|_| moves.len() + count <= MOST_MOVES).ok_or_else(|| {
                        Bad::new(format!("{count} moves from number {first} on"), "moves of the plan before")
                    })?;
                    for m in run {
                        let start = m.start.0.checked_add(shift).unwrap_or(i64::MAX);
                        moves.push(Move { start: time(start)?, ..*m });
                    }
                }
            }
        }
        Ok(moves)
    }

    fn write_move(self, m: &Move) -> WireMove {
        let flags = match (m.attach, m.release) {
            (true, true) => "ar",
            (true, false) => "a",
            (false, true) => "r",
            (false, false) => "",
        };
        (
            self.carrier_name(m.carrier),
            self.hoist_name(m.hoist),
            self.tank_name(m.from),
            self.tank_name(m.to),
            write_visit(m.leaves),
            write_visit(m.visit),
            m.start.0,
            flags.to_owned(),
        )
    }

    fn read_move(self, wire: &WireMove) -> Result<Move, Bad> {
        let (carrier, hoist, from, to, leaves, visit, start, flags) = wire;
        let carrier = self.carrier(carrier)?;
        let (attach, release) = match flags.as_str() {
            "ar" => (true, true),
            "a" => (true, false),
            "r" => (false, true),
            "" => (false, false),
            other => return Err(Bad::new(format!("the letters {other:?} of a move"), "ar, a, r or nothing")),
        };
        Ok(Move {
            carrier,
            hoist: self.hoist(hoist)?,
            from: self.tank(from)?,
            to: self.tank(to)?,
            leaves: self.visit(leaves, carrier)?,
            visit: self.visit(visit, carrier)?,
            start: time(*start)?,
            attach,
            release,
        })
    }

    fn write_book(self, book: &OrderBook) -> WireEvent {
        let orders = book.orders.iter().map(|(_, o)| self.write_order(o));
        let carriers = book.carriers.iter().map(|(_, c)| self.write_spec(c, &book.orders[c.order].name));
        let racks = book.racks.iter().map(|r| WireRackSpec {
            name: r.name.clone(),
            metal: r.metal.into(),
            cycles: r.cycles,
            spoiled: r.spoiled,
        });
        WireEvent::Opened { orders: orders.collect(), carriers: carriers.collect(), racks: racks.collect() }
    }

    fn write_order(self, o: &Order) -> WireOrder {
        WireOrder {
            name: o.name.clone(),
            label: o.label.clone(),
            parts: o.parts,
            recipe: self.line.recipes[o.recipe].name.clone(),
            priority: o.priority.into(),
            due: o.due.map(|t| t.0),
            ready: o.ready.0,
            entry: match o.entry {
                EntrySide::Any => None,
                EntrySide::At(tank) => Some(self.tank_name(tank)),
            },
            toleranced: o.toleranced,
        }
    }

    fn write_spec(self, c: &CarrierSpec, order: &str) -> WireCarrier {
        WireCarrier {
            name: c.name.clone(),
            order: order.to_owned(),
            recipe: self.line.recipes[c.recipe].name.clone(),
            parts: c.parts,
            area_dm2: c.area_dm2,
            rack: c.rack.into(),
            rack_name: c.rack_name.clone(),
            height_mm: c.height.map(|h| h.0),
            ready: c.ready.0,
        }
    }

    fn read_book(
        self,
        orders: Vec<WireOrder>,
        carriers: Vec<WireCarrier>,
        racks: Vec<WireRackSpec>,
    ) -> Result<OrderBook, Bad> {
        let most = usize::from(u16::MAX);
        if orders.len() > most || carriers.len() > most {
            return Err(Bad::new("too many orders or carriers", format!("at most {most} of each")));
        }
        let orders = orders.into_iter().map(|o| self.read_order(o));
        let orders: Arena<OrderId, Order> = Arena::new(orders.collect::<Result<_, Bad>>()?);
        let carriers = carriers.into_iter().map(|c| {
            let order = by_name(&orders, |o| &o.name, "order", &c.order)?;
            self.read_spec(c, order)
        });
        let carriers = Arena::new(carriers.collect::<Result<_, Bad>>()?);
        let racks = racks.into_iter().map(|r| NamedRack {
            name: r.name,
            metal: r.metal.into(),
            cycles: r.cycles,
            spoiled: r.spoiled,
        });
        Ok(OrderBook { orders, carriers, racks: racks.collect() })
    }

    fn read_order(self, o: WireOrder) -> Result<Order, Bad> {
        Ok(Order {
            recipe: self.recipe(&o.recipe)?,
            due: o.due.map(time).transpose()?,
            ready: time(o.ready)?,
            entry: o.entry.map_or(Ok(EntrySide::Any), |name| self.tank(&name).map(EntrySide::At))?,
            name: o.name,
            label: o.label,
            parts: o.parts,
            priority: o.priority.into(),
            toleranced: o.toleranced,
        })
    }

    fn read_spec(self, c: WireCarrier, order: OrderId) -> Result<CarrierSpec, Bad> {
        Ok(CarrierSpec {
            order,
            recipe: self.recipe(&c.recipe)?,
            ready: time(c.ready)?,
            name: c.name,
            parts: c.parts,
            area_dm2: c.area_dm2,
            rack: c.rack.into(),
            rack_name: c.rack_name,
            height: c.height_mm.map(Mm),
        })
    }
}

fn by_name<I: Id, T>(
    things: &Arena<I, T>,
    name_of: impl Fn(&T) -> &String,
    kind: &str,
    name: &str,
) -> Result<I, Bad> {
    let found = things.find(|t| name_of(t) == name);
    found.ok_or_else(|| Bad::new(format!("the {kind} {name:?}"), format!("a {kind} of this shift")))
}

fn write_visit(visit: Visit) -> String {
    match visit {
        Visit::Load => "load".to_owned(),
        Visit::Step(n) => format!("step {}", n.0 + 1),
        Visit::Hold(n) => format!("hold {}", n.0 + 1),
        Visit::Stray { resume } => format!("stray {}", resume.0 + 1),
        Visit::Unload => "unload".to_owned(),
    }
}
