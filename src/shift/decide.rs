//! All judgement about commands: what may happen now, and what it makes of a carrier.

use super::alarm;
use super::change;
use super::command::{AlarmAction, Claim, Command, Refusal};
use super::event::{Event, Stamped, StopStep};
use super::history::History;
use super::ledger::{self, Entry};
use super::racks;
use super::state::{AlarmKey, Place, State};
use crate::ids::{CarrierId, HoistId, RecipeId, Seq, TankId};
use crate::line::{Harm, Line, OrderBook, Role, Visit};
use crate::schedule::Schedule;
use crate::units::{Dur, Time};

/// A bath may have been read the evening before; what is said to be older is a slip.
const BEFORE_SHIFT: Dur = Dur::from_mins(24 * 60);

/// Turns a command into the events it means, or refuses it. `now` is when it is said.
pub fn decide(
    line: &Line,
    history: &History,
    command: &Command,
    now: Time,
) -> Result<Vec<(Time, Event)>, Refusal> {
    let state = history.state();
    let filed = line;
    let line = state.line(filed);
    if let Command::Open { book } = command {
        return open(state, book, now);
    }
    if !state.is_open() {
        return Err(Refusal::NotOpen);
    }
    match command {
        Command::Open { .. } => Err(Refusal::AlreadyOpen),
        Command::Lift { carrier, hoist, from, at } => lift(line, state, *carrier, *hoist, *from, *at, now),
        Command::Lower { hoist, to, at } => lower(line, state, *hoist, *to, *at, now),
        Command::Correct { carrier, claim } => correct(line, state, *carrier, *claim, now),
        Command::CorrectHoist { hoist, at } => correct_hoist(line, state, *hoist, *at, now),
        Command::TankOut { tank, until, why } => {
            let until = until.unwrap_or(Time::FAR);
            Ok(vec![(now, Event::TankOut { tank: *tank, until, why: why.clone() })])
        }
        Command::TankBack { tank } => Ok(vec![(now, Event::TankBack { tank: *tank })]),
        Command::Change { change, why } => {
            let change = change::decide(line, state, change, now)?;
            Ok(vec![(now, Event::Changed { change, why: why.clone() })])
        }
        Command::TakeBack { seq } => Ok(vec![(now, change::take_back(filed, history, *seq, now)?)]),
        Command::AdoptPlan { schedule } => adopt(line, state, schedule, now),
        Command::Undo { seq } => {
            let last = said_last(history, *seq)?;
            Ok(vec![(now, Event::Undone { seq: last.seq })])
        }
        Command::Retime { seq, at } => retime(filed, history, *seq, *at, now),
        Command::Alarm { key, action } => on_alarm(line, state, *key, action, now),
        Command::AcknowledgeStop { hoist } => {
            state.stop_alarms.get(hoist).ok_or(Refusal::NoSuchAlarm)?;
            Ok(vec![(now, Event::StopAlarm { hoist: *hoist, step: StopStep::Acknowledged })])
        }
        Command::Watch => Ok(alarm::changes(line, state, now).into_iter().map(|e| (now, e)).collect()),
        Command::Enter { entry, at } => {
            possible_time(*at, Time::ZERO - BEFORE_SHIFT, now, "that is more than a day before the shift")?;
            let not_before = ledger::not_before(state, entry);
            possible_time(*at, not_before, now, "it was still on the line then")?;
            entered(line, state, ledger::decide(line, state, entry)?, *at, now)
        }
        Command::LearnPace { pace } => {
            pace.checked(filed)?;
            Ok(vec![(now, Event::PaceLearned { pace: pace.clone() })])
        }
        Command::Note { text } => Ok(vec![(now, Event::Noted { text: text.clone() })]),
    }
}

/// What putting a carrier down in a tank makes of it, given the visit it left.
///
/// 1. A place for its next visit: that visit.
/// 2. Standby water its step allows: a hold.
/// 3. A tank of the stage it left (put back): the same visit again.
/// 4. Anything else: a stray, which goes on with the step that was next.
pub fn visit_on_arrival(line: &Line, recipe: RecipeId, leaves: Visit, to: TankId) -> Visit {
    let next = line.next_visit(recipe, leaves).unwrap_or(Visit::Unload);
    let hold = match leaves {
        Visit::Step(n) => Visit::Hold(n),
        other => other,
    };
    [next, hold, leaves].into_iter().find(|v| line.places_for(recipe, *v).contains(&to)).unwrap_or(match next
    {
        Visit::Step(resume) => Visit::Stray { resume },
        // After the last step only the way out is left; its number lies past the recipe's end.
        _ => Visit::Stray { resume: crate::ids::Id::at(line.recipes[recipe].steps.len()) },
    })
}

/// An entry and what follows from it: an aluminium rack whose parts are off is to be stripped.
fn entered(
    line: &Line,
    state: &State,
    entry: Entry,
    at: Time,
    now: Time,
) -> Result<Vec<(Time, Event)>, Refusal> {
    let strip = match entry {
        Entry::Unracked { carrier, .. } => racks::strip_order(line, state, carrier, now),
        _ => None,
    };
    let mut events = vec![(at, Event::Entered { entry })];
    if let Some(strip) = strip {
        let change = change::decide(line, state, &strip, now)?;
        events.push((now, Event::Changed { change, why: "an aluminium rack owes a strip".to_owned() }));
    }
    Ok(events)
}

fn open(state: &State, book: &OrderBook, now: Time) -> Result<Vec<(Time, Event)>, Refusal> {
    if state.is_open() {
        return Err(Refusal::AlreadyOpen);
    }
    Ok(vec![(now, Event::Opened { book: book.clone() })])
}

fn lift(
    line: &Line,
    state: &State,
    carrier: CarrierId,
    hoist: HoistId,
    from: TankId,
    at: Time,
    now: Time,
) -> Result<Vec<(Time, Event)>, Refusal> {
    if let Some(other) = state.hoists[hoist].carrier.filter(|c| *c != carrier) {
        return Err(Refusal::HoistLoaded {
            hoist: line.hoists[hoist].name.clone(),
            carrier: name(state, other),
        });
    }
    if !line.reaches(hoist, from) {
        return Err(out_of_reach(line, hoist, from));
    }
    let not_there =
        || Refusal::NotThere { carrier: name(state, carrier), really: whereabouts(line, state, carrier) };
    let not_before = match state.carriers[carrier].place {
        Place::Queued if matches!(line.tanks[from].role, Role::Station { load: true, .. }) => Time::PAST,
        Place::Queued => return Err(Refusal::NotALoadStation { tank: line.tanks[from].name.clone() }),
        Place::InTank { tank, visit, since, hooked } if tank == from && hooked.is_none_or(|h| h == hoist) => {
            since + state.carriers[carrier].dwelled(visit)
        }
        _ => return Err(not_there()),
    };
    possible_time(at, not_before, now, "it was put there later")?;
    Ok(vec![(at, Event::Lifted { carrier, hoist, from })])
}

fn lower(
    line: &Line,
    state: &State,
    hoist: HoistId,
    to: TankId,
    at: Time,
    now: Time,
) -> Result<Vec<(Time, Event)>, Refusal> {
    let empty = || Refusal::HoistEmpty { hoist: line.hoists[hoist].name.clone() };
    let carrier = state.hoists[hoist].carrier.ok_or_else(empty)?;
    let Place::OnHook { leaves, lifted, .. } = state.carriers[carrier].place else {
        return Err(empty());
    };
    if !line.reaches(hoist, to) {
        return Err(out_of_reach(line, hoist, to));
    }
    room_in(line, state, to, carrier)?;
    possible_time(at, lifted, now, "it was lifted later")?;
    let recipe = state.book.carriers[carrier].recipe;
    let visit = visit_on_arrival(line, recipe, leaves, to);
    let release = !line.on_hook(recipe, visit);
    Ok(vec![(at, Event::Lowered { carrier, hoist, to, visit, release })])
}

fn room_in(line: &Line, state: &State, tank: TankId, newcomer: CarrierId) -> Result<(), Refusal> {
    if matches!(line.tanks[tank].role, Role::Station { .. }) {
        return Ok(());
    }
    let others: Vec<CarrierId> = state.carriers_in(tank).filter(|c| *c != newcomer).collect();
    match others.first() {
        Some(first) if others.len() >= usize::from(line.tanks[tank].capacity) => {
            Err(Refusal::TankFull { tank: line.tanks[tank].name.clone(), carrier: name(state, *first) })
        }
        _ => Ok(()),
    }
}

fn correct(
    line: &Line,
    state: &State,
    carrier: CarrierId,
    claim: Claim,
    now: Time,
) -> Result<Vec<(Time, Event)>, Refusal> {
    match claim {
        Claim::InTank { tank, since, visit } => {
            room_in(line, state, tank, carrier)?;
            possible_time(since, Time::PAST, now, "it lies in the future")?;
            if matches!(visit, Visit::Load | Visit::Unload)
                || matches!(line.tanks[tank].role, Role::Station { .. })
            {
                let why = "a carrier at a station is waiting to start or finished; say which".to_owned();
                return Err(Refusal::ImpossibleClaim { why });
            }
            let recipe = state.book.carriers[carrier].recipe;
            let fits = matches!(visit, Visit::Stray { .. })
                || known(line, recipe, visit) && line.places_for(recipe, visit).contains(&tank);
            if !known(line, recipe, visit) || !fits {
                let tank = &line.tanks[tank].name;
                let why = format!("{} has no such step in {tank}", name(state, carrier));
                return Err(Refusal::ImpossibleClaim { why });
            }
        }
        Claim::OnHook { hoist, from, leaves, lifted } => {
            if !known(line, state.book.carriers[carrier].recipe, leaves) || leaves == Visit::Unload {
                let why = format!("{} cannot have left that step", name(state, carrier));
                return Err(Refusal::ImpossibleClaim { why });
            }
            if !line.reaches(hoist, from) {
                return Err(out_of_reach(line, hoist, from));
            }
            if let Some(other) = state.hoists[hoist].carrier.filter(|c| *c != carrier) {
                let hoist = line.hoists[hoist].name.clone();
                return Err(Refusal::HoistLoaded { hoist, carrier: name(state, other) });
            }
            possible_time(lifted, Time::PAST, now, "it lies in the future")?;
        }
        Claim::Finished { tank } => {
            if !line.unload_stations().any(|station| station == tank) {
                let why = format!("{} is not an unload station", line.tanks[tank].name);
                return Err(Refusal::ImpossibleClaim { why });
            }
        }
        Claim::Queued | Claim::OffLine => {}
    }
    Ok(vec![(now, Event::CarrierCorrected { carrier, claim })])
}

/// True if the visit names a step the recipe has.
fn known(line: &Line, recipe: RecipeId, visit: Visit) -> bool {
    let steps = line.recipes[recipe].steps.len();
    match visit {
        Visit::Load | Visit::Unload => true,
        Visit::Step(n) | Visit::Hold(n) => crate::ids::Id::ix(n) < steps,
        Visit::Stray { resume } => crate::ids::Id::ix(resume) <= steps,
    }
}

fn correct_hoist(
    line: &Line,
    state: &State,
    hoist: HoistId,
    at: TankId,
    now: Time,
) -> Result<Vec<(Time, Event)>, Refusal> {
    if let Some(carrier) = state.hoists[hoist].carrier {
        return Err(Refusal::HoistLoaded {
            hoist: line.hoists[hoist].name.clone(),
            carrier: name(state, carrier),
        });
    }
    if !line.reaches(hoist, at) {
        return Err(out_of_reach(line, hoist, at));
    }
    Ok(vec![(now, Event::HoistCorrected { hoist, at })])
}

/// A plan may be adopted if its first move of every carrier starts where the carrier is.
fn adopt(line: &Line, state: &State, schedule: &Schedule, now: Time) -> Result<Vec<(Time, Event)>, Refusal> {
    for (carrier, c) in state.carriers.iter() {
        let Some(first) = schedule.of(carrier).next() else { continue };
        let fits = match c.place {
            Place::Queued => first.leaves == Visit::Load,
            Place::InTank { tank, visit, hooked, .. } => {
                first.from == tank && first.leaves == visit && hooked.is_none_or(|h| h == first.hoist)
            }
            Place::OnHook { hoist, from, leaves, .. } => {
                first.from == from && first.leaves == leaves && first.hoist == hoist
            }
            Place::Finished { .. } | Place::OffLine => false,
        };
        if !fits {
            let why = format!("{} is {}", name(state, carrier), whereabouts(line, state, carrier));
            return Err(Refusal::StalePlan { why });
        }
    }
    Ok(vec![(now, Event::PlanAdopted { plan: schedule.clone().into() })])
}

/// The last thing said about carriers and hoists, if it is the one that is meant.
fn said_last(history: &History, seq: Seq) -> Result<&Stamped, Refusal> {
    let last = history.last_physical().ok_or(Refusal::NothingToUndo)?;
    if last.seq == seq { Ok(last) } else { Err(Refusal::NotTheLast) }
}

fn retime(
    filed: &Line,
    history: &History,
    seq: Seq,
    at: Time,
    now: Time,
) -> Result<Vec<(Time, Event)>, Refusal> {
    let last = said_last(history, seq)?;
    // The event must still be possible at its new time: judge it as if it had not been said yet.
    let mut events = history.events().to_vec();
    let undo = Event::Undone { seq: last.seq };
    events.push(Stamped { seq: Seq(u64::MAX), at: now, entered: now, by: last.by, event: undo });
    let before = History::of(filed, events);
    let line = before.state().line(filed);
    match last.event {
        Event::Lifted { carrier, hoist, from } => {
            lift(line, before.state(), carrier, hoist, from, at, now)?;
        }
        Event::Lowered { hoist, to, .. } => {
            lower(line, before.state(), hoist, to, at, now)?;
        }
        _ => possible_time(at, Time::PAST, now, "it lies in the future")?,
    }
    Ok(vec![(now, Event::Retimed { seq: last.seq, at })])
}

fn on_alarm(
    line: &Line,
    state: &State,
    key: AlarmKey,
    action: &AlarmAction,
    now: Time,
) -> Result<Vec<(Time, Event)>, Refusal> {
    let alarm = state.alarms.get(&key).ok_or(Refusal::NoSuchAlarm)?;
    let event = match action {
        AlarmAction::Acknowledge => Event::AlarmAcknowledged { key },
        AlarmAction::Shelve { lasting, reason } => {
            if alarm::harm(line, state, key) == Harm::Scrap {
                return Err(Refusal::ScrapIsNotShelved);
            }
            if reason.trim().is_empty() {
                return Err(Refusal::NoReason);
            }
            let lasting = (*lasting).clamp(Dur::from_mins(1), Dur::from_mins(30));
            Event::AlarmShelved { key, until: now + lasting, reason: reason.clone() }
        }
        AlarmAction::Unshelve if alarm.shelved.is_some() => Event::AlarmUnshelved { key },
        AlarmAction::Unshelve => return Err(Refusal::NoSuchAlarm),
    };
    Ok(vec![(now, event)])
}

fn possible_time(
    said: Time,
    not_before: Time,
    now: Time,
    why_not_before: &'static str,
) -> Result<(), Refusal> {
    if said > now {
        return Err(Refusal::time(said, None, "it lies in the future"));
    }
    if said < not_before {
        return Err(Refusal::time(said, Some(not_before), why_not_before));
    }
    Ok(())
}

fn out_of_reach(line: &Line, hoist: HoistId, tank: TankId) -> Refusal {
    Refusal::OutOfReach { hoist: line.hoists[hoist].name.clone(), tank: line.tanks[tank].name.clone() }
}

pub(super) fn name(state: &State, carrier: CarrierId) -> String {
    state.book.carriers[carrier].name.clone()
}

/// Where a carrier is, in words.
pub(super) fn whereabouts(line: &Line, state: &State, carrier: CarrierId) -> String {
    match state.carriers[carrier].place {
        Place::Queued => "waiting to start".to_owned(),
        Place::InTank { tank, .. } => format!("in {}", line.tanks[tank].name),
        Place::OnHook { hoist, .. } => format!("on {}", line.hoists[hoist].name),
        Place::Finished { tank, .. } => format!("finished at {}", line.tanks[tank].name),
        Place::OffLine => "off the line".to_owned(),
    }
}
