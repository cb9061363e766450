//! The shift as it is and with a change, planned on so that what differs is the change's doing and not the search's luck:
//!
//! 1. Both sides are made better by as many tries with the same seeds.
//! 2. Whatever order of moves one side finds, the other tries too, and takes it if it is worth more there.
//! 3. Of orders that are worth about the same, both sides take the same one: who is finished when differs then by what the
//!    change does, not by which of many like plans was found.
//!
//! A change of nothing costs nothing, and a short stop no more than its length where the same order still holds.

use std::cmp::Ordering;

use super::{Prospect, finish, said};
use crate::ids::Id as _;
use crate::line::{Harm, Line};
use crate::plan::{self, Budget, Margin, Settings};
use crate::schedule::{Move, Schedule};
use crate::shift::{Command, History, Refusal, State, alarm};
use crate::units::{Dur, Time};
use crate::verify::{Breach, Rule, is_possible};

/// Plans that differ by less are worth about the same.
const ABOUT: Margin =
    Margin { harm: Dur::from_secs(5), late: Dur::from_secs(60), finish: Dur::from_secs(60) };

/// What nobody minds when a change is weighed again: people are less even than this.
const SAME_EXCESS: Dur = Dur::from_secs(5);
const SAME_FINISH: Dur = Dur::from_mins(2);

/// Both sides, planned on from one instant.
#[derive(Debug, Clone, PartialEq)]
pub struct Weighed {
    /// How the shift goes on as it is.
    pub before: Prospect,
    /// How it would go on with the commands.
    pub after: Prospect,
    /// Rounds of tries spent on it.
    rounds: u64,
}

/// The shift from `now` on as it is and with the commands said one after the other; nothing is searched for. `earlier` is
/// what was known of the same commands a while ago: its orders of moves are tried first.
///
/// Errors: the first command that is refused, by its place among them.
pub fn weigh(
    line: &Line,
    history: &History,
    commands: &[Command],
    now: Time,
    settings: &Settings,
    earlier: Option<&Weighed>,
) -> Result<Weighed, (usize, Refusal)> {
    let then = said(line, history, commands, now)?;
    let scales = Scales { line, now, settings };
    let (before, after) = (scales.planned(history.state()), scales.planned(then.state()));
    let mut weighed = Weighed { before, after, rounds: 0 };
    if let Some(earlier) = earlier {
        scales.offer(&mut weighed.before, &earlier.before.schedule);
        scales.offer(&mut weighed.after, &earlier.after.schedule);
    }
    scales.exchange(&mut weighed);
    Ok(weighed)
}

impl Weighed {
    /// Makes both plans better within `tries` trial insertions each.
    pub fn improve(&mut self, line: &Line, settings: &Settings, tries: u64, stop: &mut dyn FnMut() -> bool) {
        let seed = settings.seed.wrapping_add(self.rounds << 8);
        let settings = Settings { seed, ..*settings };
        let scales = Scales { line, now: self.before.schedule.made_at, settings: &settings };
        for side in [&mut self.before, &mut self.after] {
            let mut budget = Budget { tries, stop: &mut *stop };
            let (state, from) = (&side.state, &side.schedule);
            let better = plan::improve_in_rounds(line, state, from, &settings, 0, &mut budget, &mut |_| ());
            let better = better.map(|better| Prospect::of(line, side.state.clone(), better));
            if let Some(better) = better.filter(|better| gains(better, side)) {
                *side = better;
            }
        }
        self.rounds += 1;
        scales.exchange(self);
    }

    /// What is worse now than when the same commands were weighed `earlier`, in words: windows they break or break by more,
    /// carriers they leave, orders they make later still. `None` if they cost no more than was known `age` ago: an order may be
    /// later by as much, because a stop that begins later ends no later, and a plan begun later may.
    pub fn worse_than(&self, line: &Line, earlier: &Self, age: Dur) -> Option<String> {
        let known = earlier.broken();
        let new = self
            .broken()
            .into_iter()
            .find(|b| !known.iter().any(|k| k.is_of_same(b) && !b.is_worse_than(k, SAME_EXCESS)));
        if let Some(breach) = new {
            return Some(breach.text.clone());
        }
        if self.after.worth.left > earlier.after.worth.left {
            return Some("a carrier is left that was to be finished".to_owned());
        }
        let orders = &self.after.state.book.orders;
        let later = orders.iter().find(|(order, _)| {
            let delay = |w: &Self| {
                w.before.state.book.orders.get(*order)?;
                Some(finish(line, &w.after, *order)? - finish(line, &w.before, *order)?)
            };
            delay(self)
                .zip(delay(earlier))
                .is_some_and(|(now, then)| now.or_zero() > then.or_zero() + SAME_FINISH.max(age))
        });
        later.map(|(_, order)| format!("order {} is made later than was shown", order.name))
    }

    /// What breaks by the commands' doing: not at all without them, or by less.
    fn broken(&self) -> Vec<&Breach> {
        let was = &self.before.breaches;
        let now = self.after.schedule.made_at;
        // What is lost is not lost any more by waiting.
        let is_lost = |b: &Breach| b.rule == Rule::Over && b.at + alarm::LONGEST_GRACE < now;
        let own = |b: &&Breach| {
            !was.iter().any(|a| a.is_of_same(b) && (!b.is_worse_than(a, SAME_EXCESS) || is_lost(b)))
        };
        self.after.breaches.iter().filter(own).collect()
    }
}

/// What both sides have in common.
struct Scales<'a> {
    line: &'a Line,
    now: Time,
    settings: &'a Settings,
}

impl Scales<'_> {
    fn planned(&self, state: &State) -> Prospect {
        let Scales { line, now, settings } = *self;
        let anew = Prospect::of(line, state.clone(), plan::plan(line, state, now, settings));
        let kept = state.plan.as_ref().and_then(|order| kept(line, state, order, now, settings));
        better_of(line, kept, anew, settings)
    }

    /// Each side tries the order of the other, unless people have said another order of starts.
    fn exchange(&self, weighed: &mut Weighed) {
        let Weighed { before, after, .. } = weighed;
        if !starts_alike(&before.state, &after.state) {
            return;
        }
        self.offer(after, &before.schedule);
        self.offer(before, &after.schedule);
        let same = self.in_order(after, &before.schedule);
        if is_as_good(&same, after) {
            *after = same;
            return;
        }
        let same = self.in_order(before, &after.schedule);
        if is_as_good(&same, before) {
            *before = same;
        }
    }

    /// The side with the order of moves of another plan.
    fn in_order(&self, side: &Prospect, order: &Schedule) -> Prospect {
        in_order(self.line, &side.state, order, self.now, self.settings)
    }

    /// Takes the order of another plan if it is worth more than the plan there is.
    fn offer(&self, side: &mut Prospect, order: &Schedule) {
        let other = self.in_order(side, order);
        if gains(&other, side) {
            *side = other;
        }
    }
}

/// A state with the order of moves of another plan: as the planner goes on from it, or kept whole if that is worth more.
///
/// The planner would rather put a part of the queue in anew than keep less margin. What comes in anew may come much later, and
/// that is no doing of a change.
pub(super) fn in_order(
    line: &Line,
    state: &State,
    order: &Schedule,
    now: Time,
    settings: &Settings,
) -> Prospect {
    // An order that is added brings carriers that the other side has never heard of.
    let known = |m: &&Move| state.book.carriers.get(m.carrier).is_some();
    let order = Schedule::new(order.moves.iter().filter(known).copied().collect(), order.made_at);
    let schedule = plan::plan_in_order(line, state, &order, now, settings);
    let anew = Prospect::of(line, state.clone(), schedule);
    better_of(line, kept(line, state, &order, now, settings), anew, settings)
}

/// The order kept whole if that is worth more than what was planned anew.
fn better_of(line: &Line, kept: Option<Prospect>, anew: Prospect, settings: &Settings) -> Prospect {
    exchanged(line, kept.filter(|kept| gains(kept, &anew)).unwrap_or(anew), settings)
}

/// With like carriers of the queue exchanged where that keeps promises better: what was put in anew comes last of all.
fn exchanged(line: &Line, plan: Prospect, settings: &Settings) -> Prospect {
    let mut budget = Budget { tries: 0, stop: &mut || false };
    let other = plan::improve(line, &plan.state, &plan.schedule, settings, 0, &mut budget);
    let other = other.map(|other| Prospect::of(line, plan.state.clone(), other));
    other.filter(|other| gains(other, &plan)).unwrap_or(plan)
}

/// The order kept whole, with as much margin as can be; with windows stretched if there is no other way.
fn kept(line: &Line, state: &State, order: &Schedule, now: Time, settings: &Settings) -> Option<Prospect> {
    let kept = plan::follow(line, state, order, now, settings)
        .or_else(|| plan::follow_stretched(line, state, order, now, settings))?;
    Some(Prospect::of(line, state.clone(), kept))
}

/// True if one plan of a state is possible and worth more than another.
pub fn is_better(line: &Line, state: &State, plan: &Schedule, than: &Schedule) -> bool {
    let prospect = |schedule: &Schedule| Prospect::of(line, state.clone(), schedule.clone());
    gains(&prospect(plan), &prospect(than))
}

/// True if a plan is possible and another of the same state is hardly better.
fn is_as_good(plan: &Prospect, as_that: &Prospect) -> bool {
    let no_more = plan.breaches.len() <= as_that.breaches.len()
        && scrap(plan) <= scrap(as_that)
        && unheeded(plan) <= unheeded(as_that);
    is_possible(&plan.breaches) && no_more && !as_that.worth.better_by(&plan.worth, &ABOUT)
}

fn scrap(prospect: &Prospect) -> usize {
    prospect.breaches.iter().filter(|b| b.harm == Some(Harm::Scrap)).count()
}

/// How often a plan does otherwise than people have said. The objective does not know that.
fn unheeded(prospect: &Prospect) -> usize {
    prospect.breaches.iter().filter(|b| matches!(b.rule, Rule::Queue | Rule::Held)).count()
}

fn gains(plan: &Prospect, than: &Prospect) -> bool {
    match (is_possible(&plan.breaches), is_possible(&than.breaches)) {
        (true, true) => match unheeded(plan).cmp(&unheeded(than)) {
            Ordering::Equal => scrap(plan) <= scrap(than) && plan.worth.better_by(&than.worth, &Margin::NONE),
            less_or_more => less_or_more == Ordering::Less,
        },
        (possible, was) => possible && !was,
    }
}

/// True if nobody has said another order of starts, or another side to start from, in one of both.
pub(super) fn starts_alike(a: &State, b: &State) -> bool {
    let sides = a.book.orders.ids().filter(|o| o.ix() < b.book.orders.len());
    let mut sides = sides.map(|o| (a.book.orders[o].entry, b.book.orders[o].entry));
    let mut carriers = a.book.carriers.ids().filter(|c| c.ix() < b.book.carriers.len());
    a.standing.first == b.standing.first
        && sides.all(|(a, b)| a == b)
        // Who goes by another recipe has other steps.
        && carriers.all(|c| a.book.carriers[c].recipe == b.book.carriers[c].recipe)
}
