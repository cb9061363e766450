//! What the best other move would have cost in place of the current call: planned on from there, not guessed.

use super::objective::{Excess, Limit, Objective, excesses};
use super::problem::rank;
use super::{Budget, Settings, follow, improve, plan, remaining};
use crate::ids::{CarrierId, TankId};
use crate::line::{Harm, Line, OrderBook, Role, Visit};
use crate::schedule::{Move, Schedule};
use crate::shift::{Place, State};
use crate::units::{Dur, Time};

/// How many other moves are looked into.
const OTHERS: usize = 3;

/// Orders of insertion tried after each; a rough figure is enough.
const EFFORT: u32 = 2;

/// Times that differ by less are the same to people: nobody picks on the second, and a search finds no better than this.
const SAME: Dur = Dur::from_secs(5);

/// The best other move, and its price against the plan.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Instead {
    /// The carrier that would be taken first.
    pub carrier: CarrierId,
    /// What that would cost.
    pub price: Price,
}

/// What another move costs, the first thing that differs.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Price {
    /// A window would be broken that the plan keeps, or broken further.
    Breaks {
        /// Whose.
        carrier: CarrierId,
        /// Where.
        tank: TankId,
        /// Which limit.
        limit: Limit,
        /// By how much more.
        by: Dur,
        /// The plan does not keep it either.
        further: bool,
        /// What it does to the parts.
        harm: Harm,
    },
    /// Carriers would not get through.
    Leaves(usize),
    /// Promises would be kept later, in all.
    Late(Dur),
    /// The last carrier would be out later.
    Later(Dur),
    /// Nothing that was found.
    Nothing,
}

impl Instead {
    /// As the end of a sentence. Times are "up to": a longer search might find a way that costs less.
    pub fn words(&self, line: &Line, book: &OrderBook) -> String {
        let name = |carrier: CarrierId| book.carriers[carrier].name.as_str();
        let first = name(self.carrier);
        match self.price {
            Price::Breaks { carrier, tank, limit, by, further, harm } => {
                let more = if further { "more " } else { "" };
                // What is broken by less than a second does not read as 0:00.
                let (place, harm, by) = (&line.tanks[tank].name, harm.word(), by.up_to_second());
                let whose =
                    if carrier == self.carrier { String::new() } else { format!("{} in ", name(carrier)) };
                match limit {
                    Limit::Longest => format!("{first} first: {whose}{place} {by} {more}over ({harm})"),
                    Limit::Shortest => {
                        format!("{first} first: {whose}{place} {by} {more}short ({harm})")
                    }
                    Limit::Air => {
                        format!("{first} first: {} {by} {more}too long in air ({harm})", name(carrier))
                    }
                }
            }
            Price::Leaves(1) => format!("{first} first: one carrier without a way"),
            Price::Leaves(n) => format!("{first} first: {n} carriers without a way"),
            Price::Late(by) => format!("{first} first: promises up to {by} later in all"),
            Price::Later(by) => format!("{first} first: finished up to {by} later"),
            Price::Nothing => format!("{first} first: as good"),
        }
    }
}

/// Trial insertions that price each other move among so many carriers: the more there are, the longer one trial takes.
pub fn price_tries(carriers: usize) -> u64 {
    const AMONG_FEW: u64 = 20_000;
    const FEW: u64 = 15;
    AMONG_FEW * FEW / FEW.max(carriers as u64)
}

/// A move that could be done now, and what it costs against the schedule's first.
#[derive(Debug, Clone, PartialEq)]
pub struct Choice {
    /// The move.
    pub first: Move,
    /// When it can begin, if the hoist would be there before that.
    pub waits: Option<Time>,
    /// Its price; nothing for the schedule's own.
    pub price: Price,
    /// How the shift would go on from it.
    pub schedule: Schedule,
}

/// The least costly of a few other moves that could be done now in place of the schedule's first. `None` if there is
/// none, or if the first is under way. Each is made better within the budget before it is compared.
pub fn instead(
    line: &Line,
    state: &State,
    schedule: &Schedule,
    now: Time,
    settings: &Settings,
    budget: &mut Budget,
) -> Option<Instead> {
    let weighed = weigh(line, state, schedule, now, settings, budget)?;
    let other = weighed.others.iter().min_by_key(|other| other.worth.decides())?;
    Some(Instead { carrier: other.first.carrier, price: weighed.price(line, state, other) })
}

/// What could be done now: the schedule's first move, and a few others with their prices. `None` if the first is under way.
/// Each is planned on from with the same settings and as many tries, the schedule's own too: a plan that was made long ago
/// or in a hurry would make every other move look better than it is.
pub fn choices(
    line: &Line,
    state: &State,
    schedule: &Schedule,
    now: Time,
    settings: &Settings,
    budget: &mut Budget,
) -> Option<Vec<Choice>> {
    let mut weighed = weigh(line, state, schedule, now, settings, budget)?;
    weighed.search_as_planned(state.line(line), state, settings, budget);
    let price = |o: &Other| weighed.price(line, state, o);
    let prices: Vec<Price> = weighed.others.iter().map(price).collect();
    let Weighed { planned, others, .. } = weighed;
    let line = state.line(line);
    let choice = |first: Move, price, schedule| {
        let waits = waits(line, state, &first, now);
        Choice { first, waits, price, schedule }
    };
    let own = choice(*planned.moves.first()?, Price::Nothing, planned);
    let others = others.into_iter().zip(prices).map(|(o, price)| choice(o.first, price, o.schedule));
    Some(std::iter::once(own).chain(others).collect())
}

/// The schedule from now on, and what would come of other first moves.
struct Weighed {
    planned: Schedule,
    worth: Objective,
    others: Vec<Other>,
}

struct Other {
    first: Move,
    schedule: Schedule,
    worth: Objective,
}

impl Weighed {
    /// Plans on from the schedule's own first haul as from the others': anew, and with as many tries. Kept if that is better.
    fn search_as_planned(&mut self, line: &Line, state: &State, settings: &Settings, budget: &mut Budget) {
        let settings = Settings { effort: EFFORT, ..*settings };
        let Some(first) = self.planned.moves.first().copied() else { return };
        let Some(schedule) = taken_first(line, state, &self.planned, &first, &settings, budget) else {
            return;
        };
        let worth = Objective::of(line, state, &schedule, &[]);
        if worth.decides() < self.worth.decides() {
            (self.planned, self.worth) = (schedule, worth);
        }
    }

    fn price(&self, line: &Line, state: &State, other: &Other) -> Price {
        let (worth, base) = (&other.worth, &self.worth);
        if worth.harm() > base.harm() {
            broken(state.line(line), state, &self.planned, &other.schedule)
        } else if worth.left > base.left {
            Price::Leaves(worth.left - base.left)
        } else if worth.late >= base.late + SAME {
            Price::Late(worth.late - base.late)
        } else if worth.finish >= base.finish + SAME {
            Price::Later(worth.finish - base.finish)
        } else {
            Price::Nothing
        }
    }
}

fn weigh(
    line: &Line,
    state: &State,
    schedule: &Schedule,
    now: Time,
    settings: &Settings,
    budget: &mut Budget,
) -> Option<Weighed> {
    let hangs = |place: Place| matches!(place, Place::OnHook { .. } | Place::InTank { hooked: Some(_), .. });
    if state.carriers.iter().any(|(_, c)| hangs(c.place)) {
        return None;
    }
    let as_planned = follow(line, state, schedule, now, settings)
        .unwrap_or_else(|| Schedule { made_at: now, ..remaining(state, schedule) });
    let line = state.line(line);
    let first = as_planned.moves.first()?;
    let mut others: Vec<&Move> = Vec::new();
    for m in &as_planned.moves {
        let stopped = state.standing.stop(m.hoist, now).is_some();
        if !stopped && m.carrier != first.carrier && others.iter().all(|o| o.carrier != m.carrier) {
            others.push(m);
        }
    }
    let settings = Settings { effort: EFFORT, ..*settings };
    let taken = others.into_iter().filter_map(|other| {
        let schedule = taken_first(line, state, &as_planned, other, &settings, budget)?;
        let worth = Objective::of(line, state, &schedule, &[]);
        Some(Other { first: *schedule.moves.first()?, schedule, worth })
    });
    let others = taken.take(OTHERS).collect();
    let worth = Objective::of(line, state, &as_planned, &[]);
    Some(Weighed { planned: as_planned, worth, others })
}

/// The worst window that one schedule breaks more than another.
fn broken(line: &Line, state: &State, planned: &Schedule, other: &Schedule) -> Price {
    let kept = excesses(line, state, planned);
    let before = |e: &Excess| {
        let same = kept.iter().find(|k| (k.carrier, k.visit, k.limit) == (e.carrier, e.visit, e.limit));
        same.map_or(Dur::ZERO, |k| k.counts)
    };
    let more = excesses(line, state, other).into_iter().map(|e| {
        let had = before(&e);
        (Excess { by: e.counts - had, ..e }, had > Dur::ZERO)
    });
    let worst = more.filter(|(e, _)| e.by > Dur::ZERO).min_by_key(|(e, _)| (rank(e.harm), -e.by.0));
    worst.map_or(Price::Nothing, |(e, further)| Price::Breaks {
        carrier: e.carrier,
        tank: e.tank,
        limit: e.limit,
        by: e.by,
        further,
        harm: e.harm,
    })
}

/// The schedule that begins with another carrier's next haul, planned on from its end; `None` if that haul cannot be done
/// now.
fn taken_first(
    line: &Line,
    state: &State,
    planned: &Schedule,
    other: &Move,
    settings: &Settings,
    budget: &mut Budget,
) -> Option<Schedule> {
    let now = planned.made_at;
    let mut legs: Vec<Move> = Vec::new();
    for m in planned.of(other.carrier) {
        legs.push(*m);
        if m.release {
            break;
        }
    }
    let begins = earliest(line, state, other, now)?;
    let shift = begins - other.start;
    for leg in &mut legs {
        leg.start += shift;
    }
    let last = *legs.last()?;
    if !has_room(line, state, &last) {
        return None;
    }
    let phases = last.phases(line, &state.book)?;
    let (down, end) = (last.start + phases.to_down(), last.start + phases.total());
    if down < state.tanks[last.to].from || down > state.tanks[last.to].until {
        return None;
    }
    let mut then = state.clone();
    then.carriers[last.carrier].place = match last.visit {
        Visit::Unload => Place::Finished { tank: last.to, at: down },
        visit => Place::InTank { tank: last.to, visit, since: down, hooked: None },
    };
    then.hoists[last.hoist].at = last.to;
    then.hoists[last.hoist].free_from = end;
    then.plan = Some(planned.clone());
    let mut moves = legs;
    let quick = plan(line, &then, end, settings);
    // The plan it is held against has been searched for: be fair.
    let searched = improve(line, &then, &quick, settings, 0, budget);
    moves.extend(searched.unwrap_or(quick).moves);
    Some(Schedule::new(moves, now))
}

fn has_room(line: &Line, state: &State, m: &Move) -> bool {
    let tank = &line.tanks[m.to];
    matches!(tank.role, Role::Station { .. }) || state.carriers_in(m.to).count() < usize::from(tank.capacity)
}

/// When a move can begin, if its hoist would be there before that: the shortest dwell is not over, or nothing is ready.
fn waits(line: &Line, state: &State, m: &Move, now: Time) -> Option<Time> {
    let hoist = &state.hoists[m.hoist];
    let there = hoist.free_from.max(now) + line.empty_travel(m.hoist, hoist.at, m.from)?;
    earliest(line, state, m, now).filter(|begins| *begins >= there + SAME)
}

/// The first instant at which a haul may begin if nothing is done before it. A carrier that would have to be waited for
/// may wait: what it costs is what is asked.
fn earliest(line: &Line, state: &State, m: &Move, now: Time) -> Option<Time> {
    let hoist = &state.hoists[m.hoist];
    let there = hoist.free_from.max(now) + line.empty_travel(m.hoist, hoist.at, m.from)?;
    let spec = &state.book.carriers[m.carrier];
    Some(match state.carriers[m.carrier].place {
        Place::InTank { visit, since, .. } => {
            let (min, _) = line.window(spec.recipe, visit);
            there.max(since + min - m.phases(line, &state.book)?.to_lift())
        }
        _ => there.max(spec.ready),
    })
}
