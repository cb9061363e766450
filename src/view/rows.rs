//! One row per tank: is it usable, what is in it, where in its window is that.

use super::ledger::fault_head;
use super::marks::{self, Mark, StopRow};
use super::words::{clean, step_of, visit_words};
use super::{At, call};
use crate::ids::{CarrierId, HoistId, TankId};
use crate::line::{Role, Visit};
use crate::plan::Call;
use crate::schedule::Move;
use crate::shift::bath::{self, Fault};
use crate::shift::{AlarmKey, AlarmKind, Place};
use crate::units::{Dur, Time};

/// One tank or station.
#[derive(Debug, Clone, PartialEq)]
pub struct TankRow {
    /// Which tank.
    pub tank: TankId,
    /// Its short name.
    pub name: String,
    /// What it holds.
    pub label: String,
    /// Whether it may be used.
    pub readiness: Readiness,
    /// If it is a station: who waits there.
    pub station: Option<Station>,
    /// The carriers in it.
    pub held: Vec<Held>,
    /// One more carrier fits.
    pub room: bool,
    /// Bath temperature set point in degrees Celsius.
    pub temperature_c: Option<f64>,
    /// How long until it may be used again; `None` if it may be, or if nobody knows.
    pub ready_in: Option<Dur>,
    /// The next carrier the plan puts into it, and when, time of day.
    pub next: Option<(String, String)>,
}

impl TankRow {
    /// How a load in it stands, and whether anything may follow it: `ready`, `HELD`, `in OUT`.
    pub fn state_of(&self, held: &Held) -> String {
        let mut words =
            if held.hooked { "on hook".to_owned() } else { marks::state_word(&held.marks, held.standing) };
        let tank = self.readiness.beside_load();
        if !tank.is_empty() {
            words.extend([" ", tank]);
        }
        words
    }
}

/// Whether a tank may be used.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Readiness {
    /// Now.
    Ready,
    /// Not before this time of day, as the line file says: it heats up in the morning.
    Heating(String),
    /// Not before this time of day: somebody took it out of service until then.
    From(String),
    /// Now, but not after this time of day.
    Until(String),
    /// Out of service, and nobody knows until when.
    Out,
    /// It may be left, not entered.
    Quarantine,
    /// No load goes in: its bath is outside its limits, or not measured in time. What is wrong, and since when, time of day.
    Unfit(String, String),
}

impl Readiness {
    /// Whether an empty tank may be used, in a word.
    pub fn word(&self) -> &'static str {
        match self {
            Self::Ready | Self::Until(_) => "free",
            Self::Heating(_) => "heats",
            Self::From(_) | Self::Out => "OUT",
            Self::Quarantine => "QUAR.",
            Self::Unfit(..) => "BATH",
        }
    }

    /// What to say beside a load that is in: it may stay and be lifted, and nothing goes in after it. Empty if all is in order.
    pub fn beside_load(&self) -> &'static str {
        match self {
            Self::Ready | Self::Until(_) | Self::Heating(_) => "",
            Self::From(_) | Self::Out | Self::Quarantine | Self::Unfit(..) => self.word(),
        }
    }

    /// Until when that holds; empty if nobody knows or nothing will change.
    pub fn until(&self) -> String {
        match self {
            Self::Ready | Self::Out | Self::Quarantine => String::new(),
            Self::Heating(t) | Self::From(t) => format!("till {t}"),
            Self::Until(t) => format!("out at {t}"),
            Self::Unfit(what, since) => format!("{what} since {since}"),
        }
    }

    /// In a sentence.
    pub fn words(&self) -> String {
        match self {
            Self::Ready => "in service".to_owned(),
            Self::Heating(t) => format!("heating up, ready at {t}"),
            Self::From(t) => format!("out of service until {t}"),
            Self::Until(t) => format!("in service until {t}"),
            Self::Out => "out of service".to_owned(),
            Self::Quarantine => "in quarantine: it may be left, not entered".to_owned(),
            Self::Unfit(what, since) => {
                format!("BATH {what} since {since}: no load goes in; a good reading frees it")
            }
        }
    }
}

/// What a station is for and who is there.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Station {
    /// Carriers start here.
    pub load: bool,
    /// Finished carriers are put down here.
    pub unload: bool,
    /// How many carriers are finished here.
    pub finished: usize,
}

/// Loads whose dwell may be worth nothing: they stand in a tank that is out of service or in a bath out of its limits. What is
/// wrong with several tanks, a rectifier's for one, is one sentence.
pub(super) fn doubts(at: At<'_>, tanks: &[TankRow]) -> Vec<String> {
    let what = |row: &TankRow| match bath::unfit(at.line, at.state, row.tank, at.now) {
        _ if matches!(row.readiness, Readiness::Out | Readiness::From(_)) => Some("OUT".to_owned()),
        Some(unfit) if matches!(unfit.fault, Fault::Low(_) | Fault::High(_)) => Some(fault_head(&unfit)),
        _ => None,
    };
    let mut wrong: Vec<(String, Vec<&TankRow>)> = Vec::new();
    for row in tanks.iter().filter(|row| !row.held.is_empty()) {
        let Some(what) = what(row) else { continue };
        match wrong.iter_mut().find(|(known, _)| *known == what) {
            Some((_, rows)) => rows.push(row),
            None => wrong.push((what, vec![row])),
        }
    }
    let sentence = |(what, rows): (String, Vec<&TankRow>)| {
        let name = |row: &&TankRow| match rows.len() {
            1 => format!("{} {}", row.name, row.label),
            _ => row.name.clone(),
        };
        let places: Vec<String> = rows.iter().map(name).collect();
        let loads: Vec<&str> = rows.iter().flat_map(|row| &row.held).map(|held| held.name.as_str()).collect();
        let (places, with) = (places.join(", "), loads.join(", "));
        match rows.len() {
            1 => format!("{what} {places}: with {with} in it; look whether that dwell counts"),
            _ => format!("{what} {places}: with {with} in them; look whether those dwells count"),
        }
    };
    wrong.into_iter().map(sentence).collect()
}

/// A carrier in a tank.
#[derive(Debug, Clone, PartialEq)]
pub struct Held {
    /// Which carrier.
    pub carrier: CarrierId,
    /// Its name.
    pub name: String,
    /// Why it is here.
    pub visit: Visit,
    /// Why it is here, in words.
    pub what: String,
    /// Step, counted from 1, and number of steps.
    pub step: (usize, usize),
    /// Since when, time of day.
    pub since: String,
    /// As much of its dwell as it had before it was put back.
    pub had: Dur,
    /// Where it is in its window.
    pub bar: Bar,
    /// How it stands.
    pub standing: Standing,
    /// What was changed about it.
    pub marks: Vec<Mark>,
    /// The letter of the harm of staying too long.
    pub harm: char,
    /// The word of that harm.
    pub harm_word: &'static str,
    /// When the plan lifts it, time of day.
    pub lift_at: Option<String>,
    /// The hoist is still attached.
    pub hooked: bool,
}

/// A window and where now is in it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Bar {
    /// In the tank so far.
    pub elapsed: Dur,
    /// Shortest dwell.
    pub min: Dur,
    /// Dwell to aim for.
    pub target: Dur,
    /// Longest dwell; unlimited if the sheet sets none.
    pub max: Dur,
    /// Dwell at which the plan lifts it.
    pub lift: Option<Dur>,
}

impl Bar {
    /// Time left until the window ends; negative when it is over; `None` if it never ends.
    pub fn left(&self) -> Option<Dur> {
        (!self.max.is_unlimited()).then(|| self.max - self.elapsed)
    }
}

/// How a carrier stands in its window.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Standing {
    /// Shorter than the window so far.
    Early,
    /// Inside the window.
    Inside,
    /// Inside, but no planned move lifts it before the window ends, or an alarm stands.
    AtRisk,
    /// The window is broken.
    Over,
}

impl Standing {
    /// The word for it.
    pub fn word(self) -> &'static str {
        match self {
            Self::Early => "in",
            Self::Inside => "ready",
            Self::AtRisk => "RISK",
            Self::Over => "OVER",
        }
    }
}

/// One hoist.
#[derive(Debug, Clone, PartialEq)]
pub struct HookRow {
    /// Which hoist.
    pub hoist: HoistId,
    /// Its name.
    pub name: String,
    /// The tank it stands over or last left.
    pub at: String,
    /// What hangs on it.
    pub carrier: Option<(CarrierId, String)>,
    /// Where it put down last, and when.
    pub put_down: Option<(TankId, Time)>,
    /// It is stopped now.
    pub stop: Option<StopRow>,
    /// Per cent of its speed, if it is slowed.
    pub slow: Option<u8>,
}

impl HookRow {
    /// What was changed about it, in words; `None` if it runs as its file says.
    pub fn changed(&self) -> Option<String> {
        match (&self.stop, self.slow) {
            (Some(stop), _) => Some(format!("{} {}", self.name, stop.words_with_plan())),
            (None, Some(percent)) => Some(format!("{} at {percent} % of its speed", self.name)),
            (None, None) => None,
        }
    }
}

pub(super) fn tanks(at: At<'_>) -> Vec<TankRow> {
    let mut rows: Vec<TankRow> = at
        .line
        .tanks
        .iter()
        .map(|(id, tank)| {
            let held: Vec<Held> = at.state.carriers_in(id).filter_map(|c| held(at, c)).collect();
            TankRow {
                tank: id,
                name: clean(&tank.name),
                label: clean(&tank.label),
                readiness: readiness(at, id),
                station: match tank.role {
                    Role::Station { load, unload } => {
                        Some(Station { load, unload, finished: finished_at(at, id) })
                    }
                    Role::Bath(_) => None,
                },
                room: matches!(tank.role, Role::Station { .. }) || held.len() < usize::from(tank.capacity),
                held,
                temperature_c: tank.temperature_c,
                ready_in: Some(at.state.tanks[id].from)
                    .filter(|t| *t < Time::FAR && *t > at.now)
                    .map(|t| t - at.now),
                next: next_in(at, id),
            }
        })
        .collect();
    rows.sort_by_key(|r| at.line.tanks[r.tank].position);
    rows
}

pub(super) fn hooks(at: At<'_>, calls: &[Call]) -> Vec<HookRow> {
    at.line
        .hoists
        .iter()
        .map(|(id, h)| HookRow {
            hoist: id,
            name: clean(&h.name),
            at: clean(&at.line.tanks[at.state.hoists[id].at].name),
            carrier: at.state.hoists[id].carrier.map(|c| (c, at.carrier_name(c))),
            put_down: call::put_down(at, id),
            stop: marks::stop(at, id, calls),
            slow: at.state.standing.slow.get(&id).map(|(percent, _)| *percent),
        })
        .collect()
}

/// True if the carrier is in a tank that it must leave some time.
pub(super) fn limited(at: At<'_>, carrier: CarrierId) -> bool {
    matches!(at.state.carriers[carrier].place, Place::InTank { visit, .. }
        if !at.line.window(at.recipe(carrier), visit).1.is_unlimited())
}

fn next_in(at: At<'_>, tank: TankId) -> Option<(String, String)> {
    let plan = at.state.plan.as_ref()?;
    let down = |m: &Move| Some(m.start + m.phases(at.line, &at.state.book)?.to_down());
    plan.moves.iter().filter(|m| m.to == tank).find_map(|m| {
        let down = down(m).filter(|t| *t > at.now)?;
        let mark = marks::guess_mark(super::runs::rests_on_a_guess(at, m.carrier, m.start));
        Some((at.carrier_name(m.carrier), format!("{}{mark}", at.clock(down))))
    })
}

fn finished_at(at: At<'_>, station: TankId) -> usize {
    let here = |p: &Place| matches!(p, Place::Finished { tank, .. } if *tank == station);
    at.state.carriers.iter().filter(|(_, c)| here(&c.place)).count()
}

fn readiness(at: At<'_>, tank: TankId) -> Readiness {
    let t = at.state.tanks[tank];
    // An event that takes a tank out sets another instant.
    let since_the_morning = t.from == Time::ZERO + at.line.tanks[tank].ready_after;
    if t.from >= Time::FAR {
        Readiness::Out
    } else if at.state.standing.quarantined.contains_key(&tank) && t.from <= at.now {
        Readiness::Quarantine
    } else if t.from > at.now && since_the_morning {
        Readiness::Heating(at.minutes(t.from))
    } else if t.from > at.now {
        Readiness::From(at.minutes(t.from))
    } else if t.until <= at.now {
        Readiness::Out
    } else if let Some(unfit) = bath::unfit(at.line, at.state, tank, at.now) {
        Readiness::Unfit(fault_head(&unfit), at.minutes(unfit.since))
    } else if t.until < Time::FAR {
        Readiness::Until(at.minutes(t.until))
    } else {
        Readiness::Ready
    }
}

/// The tanks of the step that comes next for a carrier, if none of them may be entered now.
pub(super) fn all_shut(at: At<'_>, carrier: CarrierId, visit: Visit) -> Option<Vec<TankId>> {
    let recipe = at.recipe(carrier);
    let next = at.line.next_visit(recipe, visit).filter(|v| matches!(v, Visit::Step(_)))?;
    let tanks = at.line.places_for(recipe, next);
    let is_shut = |t: &TankId| !matches!(readiness(at, *t), Readiness::Ready | Readiness::Until(_));
    (!tanks.is_empty() && tanks.iter().all(is_shut)).then_some(tanks)
}

fn held(at: At<'_>, carrier: CarrierId) -> Option<Held> {
    let Place::InTank { visit, since, hooked, .. } = at.state.carriers[carrier].place else { return None };
    let recipe = at.recipe(carrier);
    let (min, max) = at.line.window(recipe, visit);
    let lift = at.state.plan.as_ref().and_then(|plan| {
        let mv = plan.of(carrier).find(|m| m.leaves == visit)?;
        Some(mv.start + mv.phases(at.line, &at.state.book)?.to_lift())
    });
    let target = match visit {
        Visit::Step(n) => at.line.step(recipe, n).target,
        _ => min,
    };
    let bar = Bar { elapsed: at.now - since, min, target, max, lift: lift.map(|t| t - since) };
    let harm = at.line.harm_over(recipe, visit);
    Some(Held {
        carrier,
        name: at.carrier_name(carrier),
        visit,
        what: visit_words(at.line, recipe, visit),
        step: step_of(at.line, recipe, visit),
        since: at.clock(at.state.carriers[carrier].put_down().unwrap_or(since)),
        had: at.state.carriers[carrier].dwelled(visit),
        bar,
        standing: standing(at, carrier, visit, bar),
        marks: marks::of(at, carrier),
        harm: harm.letter(),
        harm_word: harm.word(),
        lift_at: lift.map(|t| at.clock(t)),
        hooked: hooked.is_some(),
    })
}

fn standing(at: At<'_>, carrier: CarrierId, visit: Visit, bar: Bar) -> Standing {
    let key = AlarmKey { carrier, visit, kind: AlarmKind::Dwell };
    let alarm = at.state.alarms.get(&key).is_some_and(|a| a.active);
    let too_late = !bar.max.is_unlimited() && bar.lift.is_some_and(|l| l > bar.max);
    if bar.elapsed > bar.max {
        Standing::Over
    } else if alarm || too_late {
        Standing::AtRisk
    } else if bar.elapsed < bar.min {
        Standing::Early
    } else {
        Standing::Inside
    }
}
