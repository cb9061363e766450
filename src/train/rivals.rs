//! What others would have made of the same shift: a plan without any trouble, a simulated crew that follows the calls, and
//! the simple rules, each through the same troubles. One seed each: what one shift shows, not what is so on average.

use super::Met;
use crate::line::{Harm, Line, Visit};
use crate::plan::{Budget, Settings, improve_in_rounds, plan};
use crate::schedule::Schedule;
use crate::shift::{Change, Command, History, Place, Refusal, State};
use crate::sim::{Crew, Outcome, Pace, Person, Rule, go_on};
use crate::units::{Dur, Time};
use crate::verify::{Tally, verify};

/// Who decides.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Who {
    /// Whoever really did.
    Really,
    /// A plan from the opening that knows every order to come and meets no trouble and no human pace: what could have been
    /// had.
    Plan,
    /// A simulated crew that follows the calls.
    Calls,
    /// A careful person with a simple rule and at most so many carriers on the line.
    Rule(Rule, usize),
}

/// What a shift came to under somebody.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Came {
    /// Carriers put down finished.
    pub finished: usize,
    /// Those of them that nothing was broken for.
    pub clean: usize,
    /// Windows broken, by harm.
    pub broken: Tally,
    /// In the air beyond what the sheets allow, summed.
    pub air: Dur,
    /// Carriers finished later than promised.
    pub late: usize,
}

impl Came {
    /// The figures of what happened.
    pub fn of(outcome: &Outcome) -> Self {
        Self {
            finished: outcome.finished,
            clean: outcome.clean,
            broken: outcome.tally(),
            air: outcome.air_excess,
            late: outcome.late.len(),
        }
    }

    /// How many windows do this harm.
    pub fn count(&self, harm: Harm) -> usize {
        self.broken.count(harm)
    }
}

/// Somebody and what it came to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Rival {
    /// Who decided.
    pub who: Who,
    /// What it came to.
    pub came: Came,
}

/// How hard it is tried. Counted, so that it is the same everywhere.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Effort {
    /// Trial insertions for the plan of the whole shift.
    pub whole: u64,
    /// Trial insertions after each thing that was said meanwhile.
    pub each: u64,
    /// Seed of plans and crew.
    pub seed: u64,
}

impl Default for Effort {
    fn default() -> Self {
        Self { whole: 80_000, each: 10_000, seed: 1 }
    }
}

/// How many carriers a simple rule may have on the line: each is tried, and the one that suits the rule best counts.
const LIMITS: std::ops::RangeInclusive<usize> = 3..=6;

/// What others would have made of what a shift met with, from its opening to `end`.
pub fn rivals(line: &Line, met: &Met, end: Time, effort: Effort) -> Result<Vec<Rival>, Refusal> {
    let mut found = vec![planned(line, met, end, effort)?, called(line, met, end, effort)?];
    for rule in [Rule::FirstDue, Rule::FirstCome, Rule::Nearest] {
        let tried: Result<Vec<Rival>, Refusal> =
            LIMITS.map(|most| by_rule(line, met, end, (rule, most), effort.seed)).collect();
        let best = tried?.into_iter().max_by_key(|r| (r.came.clean, r.came.finished));
        found.extend(best);
    }
    Ok(found)
}

/// The shift as it stood right after the opening.
fn opened(line: &Line, met: &Met) -> Result<History, Refusal> {
    told_at_once(line, met, &[])
}

/// The same with every order that came in later known from the start; none starts before it came.
fn foreseen(line: &Line, met: &Met) -> Result<History, Refusal> {
    let adds = |c: &Command| matches!(c, Command::Change { change: Change::AddOrder { .. }, .. });
    let orders: Vec<Command> = met.said.iter().map(|(_, c)| c).filter(|c| adds(c)).cloned().collect();
    told_at_once(line, met, &orders)
}

fn told_at_once(line: &Line, met: &Met, more: &[Command]) -> Result<History, Refusal> {
    let still = &mut |_: &Line, _: &State, _: Time| Schedule::default();
    let open = Command::Open { book: met.book.clone() };
    let told: Vec<_> =
        std::iter::once(&open).chain(more).map(|command| (Time::ZERO, command.clone())).collect();
    let nobody = Crew::new(Pace::PUNCTUAL, 0);
    Ok(go_on(line, History::new(line), still, nobody, &told, (Time::ZERO, Time::ZERO))?.history)
}

fn planned(line: &Line, met: &Met, end: Time, effort: Effort) -> Result<Rival, Refusal> {
    let foreseen = foreseen(line, met)?;
    let state = foreseen.state();
    let settings = Settings { seed: effort.seed, ..Settings::default() };
    let schedule = searched(line, state, Time::ZERO, &settings, effort.whole);
    let breaches = verify(line, state, &schedule);
    let downs = schedule.moves.iter().filter(|m| m.visit == Visit::Unload).filter_map(|m| {
        let down = m.start + m.phases(line, &state.book)?.to_down();
        (down <= end).then_some((m.carrier, down))
    });
    let downs: Vec<_> = downs.collect();
    let name = |carrier| &state.book.carriers[carrier].name;
    let clean = downs.iter().filter(|(c, _)| breaches.iter().all(|b| b.carrier != *name(*c))).count();
    let late = downs.iter().filter(|(c, at)| {
        let due = state.book.orders[state.book.carriers[*c].order].due;
        due.is_some_and(|due| *at > due)
    });
    let air = breaches.iter().filter(|b| b.rule == crate::verify::Rule::Air).map(|b| b.by).sum();
    let before_end: Vec<_> = breaches.iter().filter(|b| b.at <= end).cloned().collect();
    let came = Came { finished: downs.len(), clean, broken: Tally::of(&before_end), air, late: late.count() };
    Ok(Rival { who: Who::Plan, came })
}

fn searched(line: &Line, state: &State, now: Time, settings: &Settings, tries: u64) -> Schedule {
    let first = plan(line, state, now, settings);
    let mut budget = Budget { tries, stop: &mut || false };
    improve_in_rounds(line, state, &first, settings, 0, &mut budget, &mut |_| ()).unwrap_or(first)
}

fn by_rule(
    line: &Line,
    met: &Met,
    end: Time,
    (rule, most): (Rule, usize),
    seed: u64,
) -> Result<Rival, Refusal> {
    let mut person = Person::new(rule, most);
    let mut decides = |line: &Line, state: &State, now: Time| person.next(state.line(line), state, now);
    let came = ran(line, met, end, &mut decides, &met.seen(), seed)?;
    Ok(Rival { who: Who::Rule(rule, most), came })
}

fn called(line: &Line, met: &Met, end: Time, effort: Effort) -> Result<Rival, Refusal> {
    let mut caller = Caller { met, effort, made: None };
    let mut decides = |line: &Line, state: &State, now: Time| caller.next(line, state, now);
    let came = ran(line, met, end, &mut decides, &met.said, effort.seed)?;
    Ok(Rival { who: Who::Calls, came })
}

fn ran(
    line: &Line,
    met: &Met,
    end: Time,
    decides: &mut dyn FnMut(&Line, &State, Time) -> Schedule,
    said: &[(Time, Command)],
    seed: u64,
) -> Result<Came, Refusal> {
    let crew = Crew::new(Pace::HUMAN, seed).with_stops(&met.stops);
    let done = go_on(line, opened(line, met)?, decides, crew, said, (Time::ZERO, end))?;
    Ok(Came::of(&Outcome::of(line, &done.history, end)))
}

/// Plans as a running shift does: anew after each deed and each thing said, and when it has fallen behind.
struct Caller<'a> {
    met: &'a Met,
    effort: Effort,
    made: Option<Made>,
}

struct Made {
    /// The last deed and how much had been said.
    knows: (Option<crate::ids::Seq>, usize),
    at: Time,
    schedule: Schedule,
}

/// A plan has fallen behind once its first load should have been lifted for this long.
const BEHIND: Dur = Dur::from_secs(5);

impl Caller<'_> {
    fn next(&mut self, line: &Line, state: &State, now: Time) -> Schedule {
        let said = self.met.said.partition_point(|(at, _)| *at <= now);
        let knows = (state.last_physical, said);
        if let Some(made) = self.made.as_ref().filter(|m| m.knows == knows && !is_behind(line, state, m, now))
        {
            return made.schedule.clone();
        }
        let settings = Settings { seed: self.effort.seed, ..Settings::default() };
        let tries = match &self.made {
            None => self.effort.whole,
            Some(made) if made.knows.1 != said => self.effort.each,
            Some(_) => 0,
        };
        let schedule = if tries == 0 {
            plan(line, state, now, &settings)
        } else {
            searched(line, state, now, &settings, tries)
        };
        self.made = Some(Made { knows, at: now, schedule: schedule.clone() });
        schedule
    }
}

fn is_behind(line: &Line, state: &State, made: &Made, now: Time) -> bool {
    let Some(first) = made.schedule.moves.first() else { return false };
    let hangs = matches!(state.carriers[first.carrier].place, Place::OnHook { .. });
    let lift = first.phases(state.line(line), &state.book).map_or(Dur::ZERO, |p| p.to_lift());
    !hangs && now > first.start + lift + BEHIND && now >= made.at + BEHIND
}
