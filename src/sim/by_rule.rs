//! A shift in which a person decides by a simple rule: the same decisions of what is possible, the same crew and the same
//! alarms as in a shift that follows the calls, but no planner and no verifier.

use super::policies::Person;
use super::{Crew, Troubles};
use crate::ids::Seq;
use crate::line::{Line, OrderBook};
use crate::plan::{Call, Reason};
use crate::schedule::{Move, Schedule};
use crate::shift::{AlarmKey, AlarmKind};
use crate::shift::{Command, History, Place, Refusal, Stamped, State, Who, alarm, decide};
use crate::units::{Dur, Time};

/// How often the person looks around and alarms are looked at: near the end of a window, and otherwise. As live.
const NEAR: Dur = Dur::from_secs(1);
const FAR: Dur = Dur::from_secs(5);

/// What counts as near the end of a window.
const NEAR_WINDOW: Dur = Dur::from_secs(60);

/// A start that moves by more than this is another intention.
const SHIFTED: Dur = Dur::from_secs(5);

/// A shift that was run by a rule.
#[derive(Debug, Clone)]
pub struct ByRule {
    /// Everything that happened.
    pub history: History,
    /// What the crew wanted and was not possible; nothing, if the rule is sound.
    pub refused: Vec<(Time, Refusal)>,
}

/// Runs a shift from its opening until `end`. What the person intends is kept as the plan in force, so that alarms know
/// that somebody is on the way.
pub fn by_rule(
    line: &Line,
    book: OrderBook,
    mut person: Person,
    crew: Crew,
    troubles: &Troubles,
    end: Time,
) -> Result<ByRule, Refusal> {
    let outs = troubles.outs.iter();
    let outs =
        outs.map(|o| (o.from, Command::TankOut { tank: o.tank, until: Some(o.until), why: String::new() }));
    let told: Vec<(Time, Command)> =
        std::iter::once((Time::ZERO, Command::Open { book })).chain(outs).collect();
    let mut decides = |line: &Line, state: &State, now: Time| person.next(line, state, now);
    go_on(line, History::new(line), &mut decides, crew, &told, (Time::ZERO, end))
}

/// Runs a shift on from what has happened, between two instants: `decides` says the next moves, `told` is what the
/// supervisor says meanwhile, by time.
pub fn go_on(
    line: &Line,
    history: History,
    decides: &mut dyn FnMut(&Line, &State, Time) -> Schedule,
    mut crew: Crew,
    told: &[(Time, Command)],
    (from, end): (Time, Time),
) -> Result<ByRule, Refusal> {
    let mut shift = Running { line, history, refused: Vec::new() };
    let mut now = from;
    let mut told = told.iter().peekable();
    loop {
        while let Some((_, command)) = told.next_if(|(at, _)| *at <= now) {
            shift.does(command, Who::Supervisor, now)?;
        }
        let schedule = decides(line, shift.history.state(), now);
        let calls = calls(line, shift.history.state(), &schedule);
        shift.intends(schedule, now)?;
        let next = crew.next(line, shift.history.state(), &calls, now);
        let acts = match next {
            Some((at, command)) if at <= now => {
                if let Err(refusal) = shift.does(&command, Who::Crew, now) {
                    shift.refused.push((now, refusal));
                    // As live: leave a crew that wants the impossible alone for a moment.
                    Some(now + NEAR)
                } else {
                    Some(now + Dur(1))
                }
            }
            Some((at, _)) => Some(at),
            None => None,
        };
        shift.does(&Command::Watch, Who::Program, now)?;
        if now >= end {
            return Ok(ByRule { history: shift.history, refused: shift.refused });
        }
        let step = if near_a_window(line, shift.history.state(), now) { NEAR } else { FAR };
        let wakes = [acts, told.peek().map(|(at, _)| *at), Some(now + step), Some(end)];
        now = wakes.into_iter().flatten().min().unwrap_or(end).max(now + Dur(1)).min(end);
    }
}

struct Running<'a> {
    line: &'a Line,
    history: History,
    refused: Vec<(Time, Refusal)>,
}

impl Running<'_> {
    fn does(&mut self, command: &Command, by: Who, now: Time) -> Result<(), Refusal> {
        for (at, event) in decide(self.line, &self.history, command, now)? {
            let seq = Seq(self.history.events().len() as u64 + 1);
            self.history.push(self.line, Stamped { seq, at, entered: now, by, event });
        }
        Ok(())
    }

    /// Keeps what the person intends, if it is something else than before.
    fn intends(&mut self, schedule: Schedule, now: Time) -> Result<(), Refusal> {
        let before = self.history.state().plan.as_ref().map_or(&[][..], |p| &p.moves);
        let same = |a: &Move, b: &Move| {
            Move { start: b.start, ..*a } == *b && (a.start - b.start).0.abs() <= SHIFTED.0
        };
        let unchanged = before.len() == schedule.moves.len()
            && before.iter().zip(&schedule.moves).all(|(a, b)| same(a, b));
        if unchanged { Ok(()) } else { self.does(&Command::AdoptPlan { schedule }, Who::Program, now) }
    }
}

/// The moves as calls a crew can read.
fn calls(line: &Line, state: &State, schedule: &Schedule) -> Vec<Call> {
    let call = |mv: &Move| {
        let air_max = line.air_max(state.book.carriers[mv.carrier].recipe, mv.leaves);
        let air_max = Some(air_max).filter(|a| !a.is_unlimited());
        Some(Call {
            mv: *mv,
            set_out: mv.start,
            latest_start: None,
            slack: None,
            critical: air_max.is_some(),
            air_max,
            air: mv.phases(line, &state.book)?.air(),
            reason: Reason::Unlimited,
            guess: false,
            instead: None,
        })
    };
    schedule.moves.iter().filter_map(call).collect()
}

fn near_a_window(line: &Line, state: &State, now: Time) -> bool {
    state.carriers.iter().any(|(carrier, c)| {
        let key = match c.place {
            Place::InTank { visit, .. } => AlarmKey { carrier, visit, kind: AlarmKind::Dwell },
            Place::OnHook { leaves, .. } => AlarmKey { carrier, visit: leaves, kind: AlarmKind::Air },
            _ => return false,
        };
        alarm::deadline(line, state, key).is_some_and(|end| end <= now + NEAR_WINDOW)
    })
}
