//! Alarms and broken promises as sentences: what, where, do what, by when, what is at risk.

use super::words::{Spot, clean, over_words, past_words, to_the_second, visit_words};
use super::{At, marks, rows};
use crate::ids::{CarrierId, HoistId};
use crate::line::{Harm, Visit};
use crate::plan::Call;
use crate::shift::alarm::{self, Priority};
use crate::shift::stop_alarm::{Risk, at_risk};
use crate::shift::{Alarm, AlarmKey, AlarmKind, AlarmLevel, AlarmState, Place};
use crate::units::{Dur, Time, many};
use crate::verify::{Breach, GOES_ON, Rule, happened_by, still_open};

/// What a row among the alarms is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum AlarmOf {
    /// The alarm of a carrier and a step.
    Load(AlarmKey),
    /// The alarm of a stopped hoist.
    Stop(HoistId),
    /// A load that a stopped hoist puts at risk, below the alarm of that hoist.
    Risk(HoistId, AlarmKey),
}

/// One alarm that is not normal, or a load at risk under one.
#[derive(Debug, Clone, PartialEq)]
pub struct AlarmRow {
    /// Which alarm.
    pub of: AlarmOf,
    /// The standard's state.
    pub state: AlarmState,
    /// Nobody has said "seen".
    pub unseen: bool,
    /// The state as a word.
    pub state_word: String,
    /// How far it has gone.
    pub level: AlarmLevel,
    /// How far, as a word.
    pub level_word: &'static str,
    /// The condition is true now.
    pub active: bool,
    /// What is at risk.
    pub harm: Harm,
    /// `None` where the grid makes it a status only.
    pub priority: Option<Priority>,
    /// What, where, do what, by when. Risk.
    pub text: String,
    /// What and where alone.
    pub what: String,
    /// When the window ends, time of day.
    pub by: Option<String>,
    /// When it was raised, time of day.
    pub raised: String,
    /// It may be set aside.
    pub may_shelve: bool,
    deadline: Time,
}

impl AlarmRow {
    /// True while it is set aside.
    pub fn is_shelved(&self) -> bool {
        self.state == AlarmState::Shelved
    }

    /// The text without what is at risk, which [`Self::harm`] says too.
    pub fn text_without_risk(&self) -> &str {
        self.text.strip_suffix(&risk_words(self.harm)).map_or(&*self.text, str::trim_end)
    }

    /// True for an alarm of its own: loads at risk under a stopped hoist have none.
    pub fn is_alarm(&self) -> bool {
        !matches!(self.of, AlarmOf::Risk(..))
    }
}

impl AlarmRow {
    /// True if nothing is wrong with its load but that it is due to be moved.
    pub(super) fn only_advises(&self) -> bool {
        matches!(self.of, AlarmOf::Load(_)) && self.active && self.level == AlarmLevel::Due
    }

    /// Leaves what is wrong; what is to be done about it is left out.
    pub(super) fn without_advice(&mut self) {
        self.text.clone_from(&self.what);
    }
}

/// One thing the plan in force cannot keep.
#[derive(Debug, Clone, PartialEq)]
pub struct BreachRow {
    /// What it does to the parts; `None` if it cannot be done at all.
    pub harm: Option<Harm>,
    /// The harm's letter, `!` where it cannot be done at all.
    pub letter: char,
    /// When, time of day.
    pub at: String,
    /// By how much.
    pub by: Dur,
    /// Which rule, of which carrier, where: the sentence goes with the clock.
    pub of: (Rule, String, String),
    /// The sentence.
    pub text: String,
}

pub(super) fn rows(at: At<'_>, calls: &[Call]) -> Vec<AlarmRow> {
    let risks: Vec<(HoistId, Vec<Risk>)> =
        at.state.stop_alarms.keys().map(|h| (*h, at_risk(at.line, at.state, *h, at.now))).collect();
    let told = |key: &AlarmKey| risks.iter().any(|(_, risks)| risks.iter().any(|r| r.key == *key));
    let own = at.state.alarms.iter().filter(|(key, alarm)| alarm.under.is_none() || !told(key));
    let mut rows: Vec<AlarmRow> = own.map(|(key, alarm)| row(at, calls, *key, alarm)).collect();
    rows.extend(risks.iter().map(|(hoist, risks)| stop_row(at, *hoist, risks)));
    rows.sort_by_key(|r| {
        let rank = r.priority.map_or(3, |p| p as u8);
        // First what can still be done something about.
        let is_over = matches!(r.of, AlarmOf::Load(key) if key.kind == AlarmKind::Short && !hangs(at, key));
        (r.is_shelved(), !r.active, is_over, rank, !r.unseen, r.deadline, r.of)
    });
    let mut all = Vec::new();
    for row in rows {
        let under = risks.iter().find(|(hoist, _)| row.of == AlarmOf::Stop(*hoist));
        let loads = under.map(|(hoist, risks)| risks.iter().map(|r| risk_row(at, *hoist, &row, r)).collect());
        let loads: Vec<AlarmRow> = loads.unwrap_or_default();
        all.push(row);
        all.extend(loads);
    }
    all
}

/// How many loads are past their window and how many still will be.
fn risk_count(at: At<'_>, risks: &[Risk]) -> String {
    let past = risks.iter().filter(|r| r.deadline < at.now).count();
    let to_come = risks.iter().filter(|r| r.deadline >= at.now);
    let next = to_come.filter_map(|r| ends(at, r.key, Some(r.deadline))).min();
    let loads = many(risks.len() - past, "load");
    match (past, next) {
        (0, Some(next)) => format!("{loads} at risk, the first by {}", at.clock(next)),
        (_, Some(next)) => format!("{past} past max, {loads} at risk, the next by {}", at.clock(next)),
        (_, None) => format!("{} past max", many(past, "load")),
    }
}

/// What broke while an alarm that is over stood.
fn broken_during(at: At<'_>, alarm: &Alarm) -> Vec<Harm> {
    let Some(cleared) = alarm.cleared.filter(|_| !alarm.active) else { return Vec::new() };
    let broken = happened_by(at.line, at.state, at.now);
    let then = broken.iter().filter(|b| b.at <= cleared && alarm.raised <= b.at + b.by);
    then.filter_map(|b| b.harm).collect()
}

/// The alarm of a stopped hoist.
fn stop_row(at: At<'_>, hoist: HoistId, risks: &[Risk]) -> AlarmRow {
    let alarm = &at.state.stop_alarms[&hoist];
    let name = clean(&at.line.hoists[hoist].name);
    let stop = marks::stop(at, hoist, &[]).map_or_else(|| "stopped".to_owned(), |s| s.words());
    let first = risks.first().map(|r| r.deadline);
    let text = match (alarm.active, first) {
        (true, Some(_)) => {
            let loads = risk_count(at, risks);
            format!("{name} {stop}: {loads}. Get it to run, or bring them out by hand.")
        }
        _ => format!(
            "{name} was stopped and put loads at risk; it stands in nobody's way now. Check the parts, then say seen."
        ),
    };
    let harm = risks.iter().map(|r| r.harm).chain(broken_during(at, alarm)).min().unwrap_or(Harm::Nuisance);
    AlarmRow {
        of: AlarmOf::Stop(hoist),
        state: alarm.state,
        unseen: is_unseen(alarm),
        state_word: state_word(at, alarm),
        level: alarm.level,
        level_word: if alarm.active { "STOPPED" } else { "past" },
        active: alarm.active,
        harm,
        priority: risks.iter().filter_map(|r| alarm::priority(r.harm, r.deadline - at.now)).min(),
        what: text.clone(),
        text,
        by: first.map(|t| at.clock(t)),
        raised: at.clock(alarm.raised),
        may_shelve: false,
        deadline: first.unwrap_or(Time::FAR),
    }
}

/// When what an alarm is about must be done: a load that hangs begins to go down, as its call has it. A dwell that was too short
/// has no end to come.
fn ends(at: At<'_>, key: AlarmKey, deadline: Option<Time>) -> Option<Time> {
    match key.kind {
        AlarmKind::Short => None,
        AlarmKind::Air => alarm::lower_by(at.line, at.state, key.carrier).or(deadline),
        AlarmKind::Dwell | AlarmKind::Bench => deadline,
    }
}

/// A load at risk, under the alarm of its hoist.
fn risk_row(at: At<'_>, hoist: HoistId, parent: &AlarmRow, risk: &Risk) -> AlarmRow {
    let name = at.carrier_name(risk.key.carrier);
    let place = match at.state.carriers[risk.key.carrier].place {
        Place::InTank { tank, .. } => format!("in {}", clean(&at.line.tanks[tank].name)),
        _ => "in air".to_owned(),
    };
    let by = ends(at, risk.key, Some(risk.deadline)).unwrap_or(risk.deadline);
    let over = over_by(at, risk.key).unwrap_or(at.now - by);
    let when = if over > Dur::ZERO {
        format!("{} past max", over_words(over))
    } else {
        format!("closes in {}", -over)
    };
    let lift = match risk.lift {
        Some(t) => format!("lift {}", at.clock(t)),
        None if risk.key.kind == AlarmKind::Air => "lower it as soon as it runs".to_owned(),
        None => "no lift planned".to_owned(),
    };
    let what = format!("  {name} {place}, {when}");
    AlarmRow {
        of: AlarmOf::Risk(hoist, risk.key),
        state: AlarmState::Suppressed,
        unseen: false,
        state_word: format!("by {}", clean(&at.line.hoists[hoist].name)),
        level: parent.level,
        level_word: match at.state.alarms.get(&risk.key).map(|a| a.level) {
            Some(AlarmLevel::Reached) => "TOO LATE",
            _ if over > Dur::ZERO => "OVER",
            _ => "at risk",
        },
        active: true,
        harm: risk.harm,
        priority: alarm::priority(risk.harm, risk.deadline - at.now),
        text: format!("{what}; {lift}"),
        what,
        by: Some(at.clock(by)),
        raised: parent.raised.clone(),
        may_shelve: false,
        deadline: risk.deadline,
    }
}

fn is_unseen(alarm: &Alarm) -> bool {
    matches!(alarm.state, AlarmState::Unacknowledged | AlarmState::ReturnedUnacknowledged)
}

fn row(at: At<'_>, calls: &[Call], key: AlarmKey, alarm: &Alarm) -> AlarmRow {
    let harm = alarm::harm(at.line, at.state, key);
    let deadline = alarm::deadline(at.line, at.state, key);
    let [what, advice] = told(at, calls, key, alarm, harm, deadline);
    AlarmRow {
        of: AlarmOf::Load(key),
        state: alarm.state,
        unseen: is_unseen(alarm),
        state_word: state_word(at, alarm),
        level: alarm.level,
        level_word: match (alarm.level, key.kind) {
            (_, AlarmKind::Short) => "SHORT",
            (AlarmLevel::Due, _) => "RISK",
            (AlarmLevel::Over, _) => "OVER",
            (AlarmLevel::Reached, _) => "TOO LATE",
        },
        active: alarm.active,
        harm,
        priority: deadline.and_then(|d| alarm::priority(harm, d - at.now)),
        text: format!("{what}{advice}"),
        what,
        // The end of what is over is no limit any more, and by now there may be another one.
        by: ends(at, key, deadline).filter(|_| alarm.active).map(|t| at.clock(t)),
        raised: at.clock(alarm.raised),
        may_shelve: harm != Harm::Scrap,
        deadline: deadline.unwrap_or(Time::FAR),
    }
}

fn state_word(at: At<'_>, alarm: &Alarm) -> String {
    match alarm.state {
        AlarmState::Unacknowledged => "UNSEEN".to_owned(),
        AlarmState::Acknowledged => "seen".to_owned(),
        AlarmState::ReturnedUnacknowledged => "gone, unseen".to_owned(),
        AlarmState::Shelved => match &alarm.shelved {
            Some((until, reason)) => {
                format!("set aside until {} ({})", at.minutes(*until), clean(reason))
            }
            None => "set aside".to_owned(),
        },
        AlarmState::Suppressed => match alarm.under {
            Some(hoist) => format!("waits for {}", clean(&at.line.hoists[hoist].name)),
            None => "waits".to_owned(),
        },
        AlarmState::Normal => "normal".to_owned(),
    }
}

/// By how much a window is broken and still open, as the verifier has it: the debrief and `why` tell the same.
fn over_by(at: At<'_>, key: AlarmKey) -> Option<Dur> {
    let rule = match key.kind {
        AlarmKind::Dwell | AlarmKind::Bench => Rule::Over,
        AlarmKind::Air => Rule::Air,
        AlarmKind::Short => return None,
    };
    let name = &at.state.book.carriers[key.carrier].name;
    let open = still_open(at.line, at.state, at.now);
    open.into_iter().find(|b| b.rule == rule && b.carrier == *name).map(|b| b.by)
}

fn risk_words(harm: Harm) -> String {
    format!("Risk: {}.", harm.word())
}

/// What is wrong and where; then what is to be done about it, and what is at risk.
fn told(
    at: At<'_>,
    calls: &[Call],
    key: AlarmKey,
    alarm: &Alarm,
    harm: Harm,
    deadline: Option<Time>,
) -> [String; 2] {
    let name = at.carrier_name(key.carrier);
    let risk = match (alarm.active, alarm.level) {
        (true, AlarmLevel::Reached) => format!("Assume {}: check the parts.", harm.word()),
        _ => risk_words(harm),
    };
    let over = |deadline: Time| over_by(at, key).unwrap_or(at.now - deadline);
    let past = |over: Dur| {
        if over > Dur::ZERO {
            format!("{} past max", over_words(over))
        } else {
            format!("closes in {}", -over)
        }
    };
    let (what, advice) =
        match (deadline.filter(|_| alarm.active), key.kind, at.state.carriers[key.carrier].place) {
            (Some(deadline), AlarmKind::Dwell, Place::InTank { tank, .. }) => {
                let place = Spot::of(at.line, tank).words();
                let stray = matches!(key.visit, Visit::Stray { .. });
                let over = over(deadline);
                let when =
                    if stray { format!("not as its sheet says, for {}", over.or_zero()) } else { past(over) };
                (format!("{name} in {place}, {when}"), wait_words(at, calls, key, deadline))
            }
            (Some(deadline), AlarmKind::Air, Place::OnHook { hoist, from, .. }) => {
                let from = Spot::of(at.line, from).words();
                let to = destination(at, calls, key.carrier);
                let over = over_words(over(deadline).or_zero());
                let hoist = clean(&at.line.hoists[hoist].name);
                (
                    format!("{name} on {hoist} from {from}, {over} too long in air"),
                    format!("Lower into {to} now."),
                )
            }
            (Some(deadline), AlarmKind::Bench, Place::OffLine) => {
                let lent = at.state.standing.lent.get(&key.carrier);
                let bench = lent.map_or_else(String::new, |l| clean(&l.bench.name));
                let next = visit_words(at.line, at.recipe(key.carrier), key.visit);
                let over = over(deadline);
                let by =
                    if over > Dur::ZERO { "now".to_owned() } else { format!("by {}", at.clock(deadline)) };
                (
                    format!("{name} at bench {bench}, {}", past(over)),
                    format!("Take it out {by}, then {next}."),
                )
            }
            (Some(_), AlarmKind::Short, _)
                if let Some(short) = alarm::left_too_soon(at.line, at.state, key.carrier) =>
            {
                let tank = Spot::of(at.line, short.tank).words();
                let lacks = (short.min - short.dwell).up_to_second();
                let what = format!(
                    "{name} left {tank} after {} of at least {}, {lacks} too short",
                    short.dwell, short.min
                );
                (what, short_words(at, calls, key.carrier, &short))
            }
            _ => return [gone(at, key, alarm, harm), String::new()],
        };
    let advice = if advice.is_empty() { format!(". {risk}") } else { format!(". {advice} {risk}") };
    [what, advice]
}

/// What a load whose window ends or ended at `deadline` waits for: tanks that are shut, and its lift.
fn wait_words(at: At<'_>, calls: &[Call], key: AlarmKey, deadline: Time) -> String {
    let lift = lift_words(at, calls, key, deadline);
    let Some(shut) = rows::all_shut(at, key.carrier, key.visit) else {
        return lift;
    };
    let names: Vec<String> = shut.iter().map(|t| clean(&at.line.tanks[*t].name)).collect();
    let is = if names.len() == 1 { "is" } else { "are" };
    format!("{} {is} shut. {lift}", names.join(", "))
}

/// Its lift, as the plan in force has it.
fn lift_words(at: At<'_>, calls: &[Call], key: AlarmKey, deadline: Time) -> String {
    let call = calls.iter().find(|c| c.mv.carrier == key.carrier);
    let kept = || at.state.plan.as_ref()?.of(key.carrier).find(|m| m.leaves == key.visit);
    let Some(mv) = call.map(|c| &c.mv).or_else(kept) else {
        let held = at.state.standing.held.contains_key(&key.carrier);
        return if held {
            "It is HELD: no lift is planned until it is released."
        } else {
            "No lift is planned."
        }
        .to_owned();
    };
    let to = clean(&at.line.tanks[mv.to].name);
    if at.state.standing.stop(mv.hoist, at.now).is_some() {
        let hoist = clean(&at.line.hoists[mv.hoist].name);
        return format!("{hoist} stands still; lift to {to} when it runs.");
    }
    let guess = super::marks::guess_mark(super::runs::rests_on_a_guess(at, key.carrier, mv.start));
    let start = format!("{}{guess}", at.clock(mv.start));
    let first = calls.iter().find(|c| c.mv.hoist == mv.hoist).filter(|c| c.mv.carrier != key.carrier);
    match first.map(|c| at.carrier_name(c.mv.carrier)) {
        Some(first) if mv.start > at.now => format!("{first} comes first; lift to {to} planned at {start}."),
        Some(first) => format!("{first} comes first, then lift to {to}."),
        None if call.map_or(mv.start, |c| c.set_out) > at.now => format!("Lift to {to} planned at {start}."),
        None if deadline < at.now => format!("Lift to {to} now."),
        None => format!("Lift to {to} by {}.", at.clock(deadline)),
    }
}

/// What is to be done with a load that was lifted too soon: nothing more once it is down somewhere else.
fn short_words(at: At<'_>, calls: &[Call], carrier: CarrierId, short: &alarm::Short) -> String {
    let to = calls.iter().find(|c| c.mv.carrier == carrier).map(|c| c.mv.to);
    match to {
        _ if !short.hangs => String::new(),
        Some(to) if to != short.tank => format!("Lower into {} as called.", clean(&at.line.tanks[to].name)),
        _ => "Put it back now.".to_owned(),
    }
}

/// An alarm whose condition has cleared before anybody said "seen".
fn gone(at: At<'_>, key: AlarmKey, alarm: &Alarm, harm: Harm) -> String {
    let name = at.carrier_name(key.carrier);
    let what = past_words(at.line, at.recipe(key.carrier), key.visit);
    let place = match key.kind {
        // Any time is too long there, and its own steps are told of by alarms of their own.
        AlarmKind::Dwell if matches!(key.visit, Visit::Stray { .. }) => {
            return format!("{name} was in {what}. Check the parts: {}.", harm.word());
        }
        AlarmKind::Dwell => format!("in {what}"),
        AlarmKind::Air => format!("in air after {what}"),
        AlarmKind::Bench => format!("at the bench before {what}"),
        AlarmKind::Short if is_back(at, key) => {
            return format!("{name} left {what} too soon and is back there. Nothing to do but say seen.");
        }
        AlarmKind::Short => {
            return format!("{name} in {what} was too short. Check the parts: {}.", harm.word());
        }
    };
    match alarm.level {
        _ if was_kept(at, key) => {
            format!(
                "{name} {place} was in time after all: it was only said late. Nothing to do but say seen."
            )
        }
        AlarmLevel::Due => format!("{name} {place} was due and is no longer. Nothing to do but say seen."),
        _ => format!("{name} {place} was too long. Check the parts: {}.", harm.word()),
    }
}

/// By what was said since, the window that an alarm was about was kept. Strokes are the quickest hoist's, as the verifier has
/// them.
fn was_kept(at: At<'_>, key: AlarmKey) -> bool {
    let carrier = &at.state.carriers[key.carrier];
    let Some(last) = carrier.stays.iter().rposition(|stay| stay.visit == key.visit) else { return false };
    let recipe = at.recipe(key.carrier);
    match key.kind {
        AlarmKind::Dwell => carrier.dwell_ended(last) <= at.line.window(recipe, key.visit).1,
        AlarmKind::Air => {
            let down = carrier.stays.get(last + 1).map(|stay| stay.from).or(carrier.put_down());
            let strokes = at.line.hoists.iter().map(|(_, h)| h.raise_lower()).map(|(up, low)| up + low).min();
            let air = down.map(|down| down - carrier.stays[last].to - strokes.unwrap_or_default());
            air.is_some_and(|air| air <= at.line.air_max(recipe, key.visit))
        }
        AlarmKind::Bench | AlarmKind::Short => false,
    }
}

/// What was lifted too soon hangs still.
fn hangs(at: At<'_>, key: AlarmKey) -> bool {
    alarm::left_too_soon(at.line, at.state, key.carrier).is_some_and(|s| s.visit == key.visit && s.hangs)
}

/// The load is where the alarm says it has left: it was put back, or was never lifted.
fn is_back(at: At<'_>, key: AlarmKey) -> bool {
    matches!(at.state.carriers[key.carrier].place, Place::InTank { visit, .. } if visit == key.visit)
}

/// Where the carrier goes: by plan, else the first place with room for its next visit.
fn destination(at: At<'_>, calls: &[Call], carrier: CarrierId) -> String {
    let planned = calls.iter().find(|c| c.mv.carrier == carrier).map(|c| c.mv.to);
    let visit = match at.state.carriers[carrier].place {
        Place::InTank { visit, .. } => visit,
        Place::OnHook { leaves, .. } => leaves,
        _ => Visit::Load,
    };
    let recipe = at.recipe(carrier);
    let tank = planned.or_else(|| {
        let next = at.line.next_visit(recipe, visit)?;
        let places = at.line.places_for(recipe, next);
        places.iter().copied().find(|t| at.state.carriers_in(*t).next().is_none()).or(places.first().copied())
    });
    tank.map_or_else(|| "a free tank".to_owned(), |t| clean(&at.line.tanks[t].name))
}

/// The sentence of a breach; the verifier knows no time of day.
fn sentence(at: At<'_>, b: &Breach) -> String {
    let text = to_the_second(&clean(&b.text));
    if b.open_ended { format!("{text} at {}", at.clock(b.at)) } else { text }
}

/// What is broken now and was not `before`: putting something right may show that a window was not kept.
pub fn newly_broken(before: &[Breach], after: &[Breach]) -> Option<String> {
    let known = |b: &Breach| before.iter().any(|k| k.is_of_same(b));
    let worst = after.iter().filter(|b| !known(b)).min_by_key(|b| (b.harm, b.at))?;
    Some(format!("By that a window was broken: {}", to_the_second(&clean(&worst.text))))
}

/// By so much more a window may be broken already than its plan says; a second is in the rounding.
const STALE: Dur = Dur::from_secs(1);

pub(super) fn breaches(at: At<'_>, breaches: &[Breach]) -> Vec<BreachRow> {
    if breaches.is_empty() {
        return Vec::new();
    }
    // A plan is some seconds old: what is broken by more already is told as it is.
    let open = still_open(at.line, at.state, at.now);
    let as_it_is = |b| open.iter().find(|o| o.is_of_same(b) && o.by > b.by + STALE).unwrap_or(b);
    let mut sorted: Vec<&Breach> = breaches.iter().map(as_it_is).collect();
    sorted.sort_by_key(|b| (b.harm, b.at));
    sorted
        .into_iter()
        .map(|b| BreachRow {
            harm: b.harm,
            letter: b.harm.map_or('!', Harm::letter),
            at: at.clock(b.at),
            by: b.by,
            of: (b.rule, clean(&b.carrier), clean(&b.place)),
            // Told as long as it is by plan, so that rows do not come and go.
            text: sentence(at, b).trim_end_matches(GOES_ON).to_owned(),
        })
        .collect()
}
