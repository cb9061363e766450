//! What a plan is worth, part by part, first thing first. The planner's own reckoning; what is broken is for the verifier
//! to say.

use std::collections::BTreeMap;

use super::problem::{rank, target, weight};
use super::shade::{Lot, lot_of, over};
use crate::ids::{Arena, CarrierId, TankId};
use crate::line::{Harm, Line, Role, Visit};
use crate::schedule::{Move, Schedule};
use crate::shift::{Place, State, alarm};
use crate::units::{Dur, Time};

/// What a second out of a window weighs, worst harm first. Set so that no ordinary sum of one class reaches the next.
const WEIGHTS: [i64; 4] = [1000, 100, 10, 1];

/// Which limit is broken.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Limit {
    /// Dwell too short.
    Shortest,
    /// Dwell too long.
    Longest,
    /// Too long out of liquid after the visit.
    Air,
}

/// One window a plan does not keep.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Excess {
    /// The carrier.
    pub carrier: CarrierId,
    /// Where it stays too long or short, or what it leaves.
    pub tank: TankId,
    /// The visit.
    pub visit: Visit,
    /// Which limit.
    pub limit: Limit,
    /// What it does to the parts.
    pub harm: Harm,
    /// By how much.
    pub by: Dur,
    /// As much of it as another plan could do something about: once the consequence must be assumed, more makes it no worse.
    pub counts: Dur,
}

/// The objective, in the order of its fields: an earlier part decides before any later one.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Objective {
    /// Windows broken with harm class scrap.
    pub scrap: usize,
    /// Time out of windows by harm class, worst first.
    pub excess: [Dur; 4],
    /// As much of it as decides nothing: what was lost already is not lost any more by waiting.
    pub lost: [Dur; 4],
    /// Calls already shown that would be others.
    pub changes: usize,
    /// Carriers not brought to the end of their recipe.
    pub left: usize,
    /// Lateness in all.
    pub late: Dur,
    /// Lateness in all, times 10 for rush orders, 3 for normal and 1 for low ones.
    pub weighted_late: Dur,
    /// When the last hoist is done.
    pub finish: Time,
    /// Time in which hoists neither carry nor travel, until then.
    pub idle: Dur,
    /// Longest less shortest dwell in anodise and dye within each order, in all.
    pub spread: Dur,
    /// Distance of dwells from their targets in all.
    pub off_target: Dur,
}

/// How much better a plan must be to take the place of one that is shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Margin {
    /// Weighted time out of windows.
    pub harm: Dur,
    /// Weighted lateness.
    pub late: Dur,
    /// Finish.
    pub finish: Dur,
}

impl Margin {
    /// Any gain counts.
    pub const NONE: Self = Self { harm: Dur::ZERO, late: Dur::ZERO, finish: Dur::ZERO };
}

impl Objective {
    /// The worth of a schedule that starts from `state`. `shown` are the calls people know already, next first.
    pub fn of(line: &Line, state: &State, schedule: &Schedule, shown: &[Move]) -> Self {
        let line = state.line(line);
        let excesses = excesses(line, state, schedule);
        let (mut excess, mut lost) = ([Dur::ZERO; 4], [Dur::ZERO; 4]);
        for e in &excesses {
            excess[rank(e.harm)] += e.by;
            lost[rank(e.harm)] += e.by - e.counts;
        }
        let same = |a: &Move, b: &Move| Move { start: b.start, ..*a } == *b;
        let kept = shown.iter().zip(&schedule.moves).filter(|(a, b)| same(a, b)).count();
        let mut objective = Self {
            scrap: excesses.iter().filter(|e| e.harm == Harm::Scrap).count(),
            excess,
            lost,
            changes: shown.len() - kept,
            left: 0,
            late: Dur::ZERO,
            weighted_late: Dur::ZERO,
            finish: schedule.made_at,
            idle: Dur::ZERO,
            spread: Dur::ZERO,
            off_target: Dur::ZERO,
        };
        objective.count_ends(line, state, schedule);
        objective.count_hoists(line, state, schedule);
        objective.count_dwells(line, state, schedule);
        objective
    }

    /// Time out of windows that decides, by harm class, worst first.
    pub fn counts(&self) -> [Dur; 4] {
        std::array::from_fn(|harm| self.excess[harm] - self.lost[harm])
    }

    /// The same, weighted by harm.
    pub fn harm(&self) -> Dur {
        self.counts().into_iter().zip(WEIGHTS).map(|(by, weight)| by * weight).sum()
    }

    /// What decides between plans of which nothing is shown yet, first thing first; the less the better.
    pub fn decides(&self) -> (usize, Dur, usize, Dur, Time) {
        (self.scrap, self.harm(), self.left, self.weighted_late, self.finish)
    }

    /// True if this is better than another by more than the margin in the first part that decides. Anything worse in a
    /// part before that one is no bargain.
    pub fn better_by(&self, other: &Self, margin: &Margin) -> bool {
        let parts = [
            (other.scrap as i64 - self.scrap as i64, 0),
            ((other.harm() - self.harm()).0, margin.harm.0),
            (other.changes as i64 - self.changes as i64, 0),
            (other.left as i64 - self.left as i64, 0),
            ((other.weighted_late - self.weighted_late).0, margin.late.0),
            ((other.finish - self.finish).0, margin.finish.0),
        ];
        for (gain, least) in parts {
            if gain > least {
                return true;
            }
            if gain < 0 {
                return false;
            }
        }
        false
    }

    fn count_ends(&mut self, line: &Line, state: &State, schedule: &Schedule) {
        for (carrier, c) in state.carriers.iter() {
            if matches!(c.place, Place::Finished { .. } | Place::OffLine) {
                continue;
            }
            let last = schedule.moves.iter().rev().find(|m| m.carrier == carrier);
            let end = last.filter(|m| m.visit == Visit::Unload).and_then(|m| end_of(line, state, m));
            let Some(end) = end else {
                self.left += 1;
                continue;
            };
            let order = &state.book.orders[state.book.carriers[carrier].order];
            let late = order.due.map_or(Dur::ZERO, |due| (end - due).or_zero());
            self.late += late;
            self.weighted_late += late * weight(order.priority);
        }
        let ends = schedule.moves.iter().filter_map(|m| end_of(line, state, m));
        self.finish = ends.max().unwrap_or(self.finish);
    }

    fn count_hoists(&mut self, line: &Line, state: &State, schedule: &Schedule) {
        for (hoist, h) in state.hoists.iter() {
            let (mut at, mut busy) = (h.at, Dur::ZERO);
            for m in schedule.moves.iter().filter(|m| m.hoist == hoist) {
                let loaded = m.phases(line, &state.book).map_or(Dur::ZERO, |p| p.total());
                busy += loaded + line.empty_travel(hoist, at, m.from).unwrap_or(Dur::ZERO);
                at = m.to;
            }
            self.idle += (self.finish - schedule.made_at - busy).or_zero();
        }
    }

    fn count_dwells(&mut self, line: &Line, state: &State, schedule: &Schedule) {
        let mut lots: BTreeMap<Lot, (Dur, Dur)> = BTreeMap::new();
        let mut take = |carrier: CarrierId, visit: Visit, dwell: Dur| {
            if let Some(lot) = lot_of(line, state, carrier, visit) {
                let lot = lots.entry(lot).or_insert((dwell, dwell));
                *lot = (lot.0.min(dwell), lot.1.max(dwell));
            }
        };
        // Carriers of one order that are done already set the shade for the rest.
        for carrier in state.carriers.ids() {
            let goes_on = schedule.of(carrier).next().is_some_and(Move::is_put_back);
            over(state, carrier, goes_on).for_each(|(visit, dwell)| take(carrier, visit, dwell));
        }
        let mut off_target = Dur::ZERO;
        for stay in stays(line, state, schedule).iter().filter(|s| !s.over) {
            take(stay.carrier, stay.visit, stay.dwell);
            if matches!(stay.visit, Visit::Step(_)) {
                let aim = target(line, state.book.carriers[stay.carrier].recipe, stay.visit);
                off_target += Dur((stay.dwell - aim).0.abs());
            }
        }
        self.off_target = off_target;
        self.spread = lots.values().map(|(least, most)| *most - *least).sum();
    }
}

/// Every window a schedule does not keep, by time of the move that ends the stay.
pub fn excesses(line: &Line, state: &State, schedule: &Schedule) -> Vec<Excess> {
    let line = state.line(line);
    let mut found = Vec::new();
    for stay in stays(line, state, schedule) {
        let Stay { carrier, tank, visit, dwell, .. } = stay;
        let recipe = state.book.carriers[carrier].recipe;
        let mut add = |limit, harm, by: Dur, most: Dur| {
            if by > Dur::ZERO {
                found.push(Excess { carrier, tank, visit, limit, harm, by, counts: by.min(most) });
            }
        };
        let (min, max) = line.window(recipe, visit);
        // At a station nobody counts.
        if !matches!(line.tanks[tank].role, Role::Station { .. }) && !stay.over {
            let under = match visit {
                Visit::Step(n) => line.step(recipe, n).under,
                _ => Harm::Nuisance,
            };
            add(Limit::Shortest, under, min - dwell, Dur::UNLIMITED);
            let most =
                if alarm::is_past_grace(max, stay.so_far) { alarm::grace(max) } else { Dur::UNLIMITED };
            add(Limit::Longest, line.harm_over(recipe, visit), dwell - max, most);
        }
        let harm = line.wet_step(recipe, visit).map_or(Harm::Nuisance, |s| s.air);
        add(Limit::Air, harm, stay.air - line.air_max(recipe, visit), Dur::UNLIMITED);
    }
    found
}

struct Stay {
    carrier: CarrierId,
    tank: TankId,
    visit: Visit,
    dwell: Dur,
    /// As much of it as was over when the schedule was made; less than nothing if it had not begun.
    so_far: Dur,
    /// Out of liquid after it.
    air: Dur,
    /// It was over before the schedule begins.
    over: bool,
}

/// The stays a schedule ends, each with the way out of it.
fn stays(line: &Line, state: &State, schedule: &Schedule) -> Vec<Stay> {
    let mut since: Arena<CarrierId, Option<Time>> = state
        .carriers
        .iter()
        .map(|(_, c)| match c.place {
            Place::InTank { since, .. } => Some(since),
            _ => None,
        })
        .collect();
    let mut found = Vec::new();
    for m in &schedule.moves {
        let Some(phases) = m.phases(line, &state.book) else { continue };
        let down = m.start + phases.to_down();
        let stay = Stay {
            carrier: m.carrier,
            tank: m.from,
            visit: m.leaves,
            dwell: Dur::ZERO,
            so_far: Dur::ZERO,
            air: phases.air(),
            over: false,
        };
        match (since[m.carrier], state.carriers[m.carrier].place) {
            (Some(since), _) => {
                let dwell = m.start + phases.to_lift() - since;
                found.push(Stay { dwell, so_far: schedule.made_at - since, ..stay });
            }
            (None, Place::OnHook { lifted, .. }) => {
                let air = down - lifted - phases.raise - phases.lower;
                found.push(Stay { air, over: true, ..stay });
            }
            (None, _) => {}
        }
        // Put back, it goes on from the dwell it had.
        let had = if m.leaves == m.visit { state.carriers[m.carrier].dwelled(m.visit) } else { Dur::ZERO };
        since[m.carrier] = Some(down - had);
    }
    found
}

fn end_of(line: &Line, state: &State, m: &Move) -> Option<Time> {
    Some(m.start + m.phases(line, &state.book)?.total())
}
