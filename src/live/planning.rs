//! The plan in force: made anew after each event that moves anything, and when it has fallen behind.
//!
//! 1. A new plan is verified. One that is not possible is never shown: the last good one stays and a note says why.
//! 2. After an event the new plan is put in force. A plan made only because time went by is put in force if it differs
//!    materially; else just the calls are brought up to date, so that the journal does not fill with the same plan.
//! 3. Whoever only watches shows the plan in force and makes none.
//! 4. Then the plan is made better, at once or by a thread. A better one is put in force if it still starts from what is
//!    so, the verifier has judged it, and it gains more than [`MARGIN`]. The call and the next one stay unless fewer windows
//!    break without.
//! 5. If two programs share the journal, the one that said something plans; the other waits a moment for that plan.

use std::sync::Arc;

use super::search::{Found, Task};
use super::{Improving, LiveShift, Notice, Problem, wake};
use crate::line::{Harm, Line};
use crate::plan::{self, Budget, Call, Instead, Margin, Objective, Settings, remaining};
use crate::schedule::{Move, Schedule};
use crate::shift::{Command, Event, Place, Refusal, State, Who, alarm, bath};
use crate::units::{Dur, Time};
use crate::verify::{Breach, verify};
use crate::whatif::{in_force, is_better, trouble};

/// Makes a plan of what is so: see [`plan::plan`].
pub type Planner = Box<dyn Fn(&Line, &State, Time, &Settings) -> Schedule + Send>;

/// How many calls are worked out ahead for the screens.
const CALLS_SHOWN: usize = 8;

/// A plan has fallen behind once the first load should have been off the tank's floor for this long. Nobody presses the
/// key on the second.
const BEHIND: Dur = Dur::from_secs(5);

/// The same for a load that should have been down: until it is said to be, nothing else can be called anyway.
const HANGS_BEHIND: Dur = Dur::from_secs(20);

/// Plans made because time went by are at least this far apart.
pub(super) const PAUSE: Dur = Dur::from_secs(5);

/// Where nobody has moved anything for this long, which is more than a stop lasts as a rule, they get farther apart: by this
/// share of the time since, up to so much. What is said is planned for at once all the same.
const LEFT_ALONE: Dur = Dur::from_mins(30);
const QUIET: i64 = 8;
const MOST_PAUSE: Dur = Dur::from_secs(120);

/// A start that moves by more than this makes a plan another plan.
const SHIFTED: Dur = Dur::from_secs(20);

/// So many times the tries are spent while nothing is on the line yet: the whole shift hangs on that plan.
const AT_FIRST: u64 = 4;

/// One in so many events that the plan had foreseen is searched after, with this share of the tries. Told by the number of
/// the event, so that a practice that is taken over searches where the shift did.
const KEPT: u64 = 10;

/// How long the program that stored an event may take to store its plan.
const PATIENCE: Dur = Dur::from_secs(2);

/// What a better plan must gain to be worth another look at the screen.
const MARGIN: Margin =
    Margin { harm: Dur::from_secs(5), late: Dur::from_secs(60), finish: Dur::from_secs(30) };

/// How long the price of another move is left as it is while nothing but time goes by.
const PRICE_HOLDS: Dur = Dur::from_mins(2);

/// How long ways out stand before they are looked for again: harm grows while a load waits.
const WAYS_HOLD: Dur = Dur::from_mins(1);

/// Calls people have seen and may have set out for: the current one and the next.
const PROMISED: usize = 2;

/// When a new plan is put in force.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Adopt {
    /// If it is possible.
    Always,
    /// If it is possible and differs materially from the one in force.
    IfDifferent,
}

/// What a new plan made of the order of moves.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Order {
    /// Only times have changed.
    Kept,
    /// Moves had to be put in anew: there is much to find.
    New,
}

/// What is known about the plan besides the plan itself.
#[derive(Debug, Default)]
pub(super) struct InForce {
    shown: Schedule,
    made_at: Option<Time>,
    /// Since when an event has no plan that knows it.
    missing: Option<Time>,
    /// When a plan was last tried.
    tried: Option<Time>,
    /// A rejection has been noted and no plan has been accepted since.
    rejected: bool,
    /// What the best other move would cost in place of this one.
    instead: Option<(Move, Instead)>,
    /// The last thing the search found was not worth it.
    declined: bool,
    /// When another move was last priced.
    priced: Option<Time>,
    /// All calls of the plan that is shown; made when somebody asks.
    outlook: Option<Arc<Vec<Call>>>,
    /// The plan of a change that was weighed and has just been committed.
    weighed: Option<Schedule>,
}

impl InForce {
    pub(super) fn shown(&self) -> &Schedule {
        &self.shown
    }
    /// All calls; the first ones are `calls`.
    pub(super) fn outlook(&mut self, line: &Line, state: &State, calls: &[Call]) -> Arc<Vec<Call>> {
        let (shown, made_at) = (&self.shown, self.made_at.unwrap_or(Time::ZERO));
        let make = || Arc::new(plan::calls(line, state, shown, made_at, usize::MAX));
        let all = self.outlook.get_or_insert_with(make);
        // Prices come later than calls.
        let priced = |(mine, newest): &(&Call, &Call)| mine.mv == newest.mv && mine != newest;
        if all.iter().zip(calls).any(|pair| priced(&pair)) {
            let all = Arc::make_mut(all).iter_mut();
            for (mine, newest) in all.zip(calls).filter(|(mine, newest)| mine.mv == newest.mv) {
                mine.clone_from(newest);
            }
        }
        Arc::clone(all)
    }
    pub(super) fn made_at(&self) -> Option<Time> {
        self.made_at
    }
    pub(super) fn miss(&mut self, now: Time) {
        self.missing.get_or_insert(now);
    }
    pub(super) fn found(&mut self) {
        self.missing = None;
    }
    /// The next plan may be this one, brought up to date: people have seen it.
    pub(super) fn go_on_from(&mut self, weighed: Schedule) {
        self.weighed = Some(weighed);
    }
}

/// True for events after which a plan made before them must not be adopted.
pub(super) fn bears_on_plan(event: &Event) -> bool {
    event.calls_for_plan() || matches!(event, Event::PlanAdopted { .. })
}

/// The same move, whenever it starts.
fn same(a: &Move, b: &Move) -> bool {
    Move { start: b.start, ..*a } == *b
}

/// True if people would notice: another order or assignment of moves, or a start shifted by more than [`SHIFTED`].
fn differs(old: &Schedule, new: &Schedule) -> bool {
    let shifted = |(a, b): (&Move, &Move)| (b.start - a.start).0.abs() > SHIFTED.0;
    !same_order(old, new) || old.moves.iter().zip(&new.moves).any(shifted)
}

fn same_order(old: &Schedule, new: &Schedule) -> bool {
    old.moves.len() == new.moves.len() && old.moves.iter().zip(&new.moves).all(|(a, b)| same(a, b))
}

impl LiveShift {
    /// Calls and breaches from the plan in force in the journal. One that cannot be done any more, because of what another
    /// terminal has just said, calls nothing until the plan that follows is there.
    pub(super) fn take_up_plan(&mut self) {
        if let Some((left, breaches)) = in_force(&self.line, self.history.state()) {
            let now = self.now();
            self.show(left, breaches, now);
        }
    }

    /// True if the plan in force was made at this very instant and knows all that has happened: another would be the same.
    pub(super) fn is_planned_for(&mut self, now: Time) -> bool {
        let mut events = self.history.events().iter().rev();
        let last = events.find(|s| bears_on_plan(&s.event)).map(|s| &s.event);
        let planned = matches!(last, Some(Event::PlanAdopted { plan }) if plan.made_at() == now);
        if planned {
            self.plan.tried = Some(now);
        }
        planned
    }

    fn show(&mut self, schedule: Schedule, breaches: Vec<Breach>, now: Time) {
        self.breaches = breaches;
        self.plan.made_at = Some(schedule.made_at);
        self.plan.shown = schedule;
        self.plan.outlook = None;
        self.calls = plan::calls(&self.line, self.history.state(), &self.plan.shown, now, CALLS_SHOWN);
        self.say_instead();
        // Trouble may end by itself.
        if !self.ways.is_empty() && !self.is_in_trouble(now) {
            self.ways.clear();
        }
    }

    pub(super) fn is_in_trouble(&self, now: Time) -> bool {
        trouble(&self.line, &self.history, now).is_some()
    }

    fn say_instead(&mut self) {
        if let (Some(call), Some((mv, instead))) = (self.calls.first_mut(), self.plan.instead)
            && same(&call.mv, &mv)
        {
            call.instead = Some(instead);
        }
    }

    /// Brings the calls of a watched shift up to date, as often as the others plan because time went by.
    pub(super) fn look_again(&mut self, now: Time) {
        if self.plan.tried.is_none_or(|tried| tried + PAUSE <= now || now < tried) {
            self.plan.tried = Some(now);
            self.take_up_plan();
        }
    }

    /// What a plan breaks; refuses one the verifier calls impossible.
    pub(super) fn judged(&self, schedule: &Schedule) -> Result<Vec<Breach>, Refusal> {
        let breaches = verify(&self.line, self.history.state(), schedule);
        match breaches.iter().find(|b| b.harm.is_none()) {
            Some(breach) => Err(Refusal::StalePlan { why: breach.text.clone() }),
            None => Ok(breaches),
        }
    }

    /// Plans; what goes wrong is kept for the next tick and told as a notice, because what called for the plan is stored.
    pub(super) fn plan_or_notice(&mut self, now: Time, adopt: Adopt) {
        if let Err(problem) = self.plan_anew(now, adopt) {
            self.take_up_plan();
            self.notice(Notice::PlanNotStored(problem.to_string()));
        }
    }

    /// Makes, verifies and puts in force a plan of what is so now.
    pub(super) fn plan_anew(&mut self, now: Time, adopt: Adopt) -> Result<(), Problem> {
        self.plan.tried = Some(now);
        self.plan.miss(now);
        let schedule = self.planned(now);
        let breaches = match self.judged(&schedule) {
            Ok(breaches) => breaches,
            Err(refusal) => return self.reject(&refusal),
        };
        let in_force = self.state().plan.as_ref().map(|p| remaining(self.state(), p));
        let material = in_force.as_ref().is_none_or(|old| differs(old, &schedule));
        let other_order = in_force.is_none_or(|old| !same_order(&old, &schedule));
        let adopted = adopt == Adopt::Always || material;
        if adopted {
            let seen = self.state().seq;
            match self.commit(&Command::AdoptPlan { schedule: schedule.clone() }, Who::Program) {
                Ok(_) => {}
                // Somebody was faster; their events have been folded and their plan will come or ours is made again.
                Err(Problem::Refused(_)) if self.state().seq != seen => return Ok(()),
                Err(Problem::Refused(refusal)) => return self.reject(&refusal),
                Err(fault) => return Err(fault),
            }
        }
        self.plan.found();
        self.plan.rejected = false;
        self.show(schedule, breaches, now);
        if adopt == Adopt::Always || (adopted && other_order) {
            self.improve(now, if other_order { Order::New } else { Order::Kept })
        } else {
            self.price_again(adopted, now);
            Ok(())
        }
    }

    fn planned(&mut self, now: Time) -> Schedule {
        let (weighed, settings) = (self.plan.weighed.take(), self.reckons_with());
        let (line, state) = (&*self.line, self.history.state());
        let schedule = (self.planner)(line, state, now, &settings);
        let Some(weighed) = weighed else { return schedule };
        let other = plan::plan_in_order(line, state, &weighed, now, &settings);
        if is_better(line, state, &other, &schedule) { other } else { schedule }
    }

    /// Forgets what the search is at: it no longer starts from what is so.
    pub(super) fn stop_improving(&mut self) {
        self.searcher.cancel();
        self.ways.clear();
        self.plan.instead = None;
        self.plan.declined = false;
    }

    /// Makes the plan that is shown better, or has it made better.
    pub(super) fn improve(&mut self, now: Time, order: Order) -> Result<(), Problem> {
        if self.plan.shown.moves.is_empty() {
            return Ok(());
        }
        match self.improving {
            Improving::Off => Ok(()),
            Improving::AtOnce { tries } => {
                let frozen = self.frozen(now);
                let untouched = self.state().carriers.iter().all(|(_, c)| matches!(c.place, Place::Queued));
                let tries = match order {
                    _ if untouched => tries.saturating_mul(AT_FIRST),
                    Order::New => tries,
                    Order::Kept if !self.state().seq.0.is_multiple_of(KEPT) => return Ok(()),
                    Order::Kept => tries / KEPT,
                };
                let mut budget = Budget { tries, stop: &mut || false };
                let (state, shown) = (self.history.state(), &self.plan.shown);
                let settings = &self.search_settings();
                let better = plan::improve_in_rounds(
                    &self.line,
                    state,
                    shown,
                    settings,
                    frozen,
                    &mut budget,
                    &mut |_| (),
                );
                better.map_or(Ok(()), |better| self.adopt_better(&better, now).map(|_| ()))
            }
            Improving::Behind { lasting, tries } => {
                self.search(lasting, tries, now);
                Ok(())
            }
        }
    }

    /// The plan only moved in time, or another terminal made it: there is nothing new to search, but what another move would cost has changed, and
    /// there may be trouble that there was not before.
    pub(super) fn price_again(&mut self, adopted: bool, now: Time) {
        let Improving::Behind { lasting, .. } = self.improving else { return };
        let price = adopted && self.plan.priced.is_none_or(|priced| priced + PRICE_HOLDS <= now);
        let wanted = self.ways.is_empty() || self.ways_are_old(now);
        if !self.searcher.is_busy() && (price || wanted && self.is_in_trouble(now)) {
            self.search(lasting, 0, now);
        }
    }

    /// The ways out that are told were worked out a while ago.
    pub(super) fn ways_are_old(&self, now: Time) -> bool {
        !self.ways.is_empty() && self.ways_at + WAYS_HOLD <= now
    }

    fn search(&mut self, lasting: std::time::Duration, tries: u64, now: Time) {
        self.plan.declined = false;
        let task = Task {
            line: Arc::clone(&self.line),
            state: self.history.state().clone(),
            schedule: self.plan.shown.clone(),
            settings: self.search_settings(),
            frozen: self.frozen(now),
            lasting,
            tries,
            trouble_at: self.is_in_trouble(now).then_some(now),
        };
        self.searcher.start(task);
    }

    /// Settings with a random stream for each event: where the last search found nothing, the same tries find nothing.
    fn search_settings(&self) -> Settings {
        Settings { seed: self.settings.seed.wrapping_add(self.state().seq.0 << 16), ..self.reckons_with() }
    }

    /// Takes what the search has found since the last look. True if anything that is shown changed.
    pub(super) fn take_better(&mut self, now: Time) -> Result<bool, Problem> {
        let mut changed = false;
        let mut waiting = None;
        for found in self.searcher.take() {
            match found {
                Found::Better(schedule) => waiting = Some(schedule),
                Found::Instead(mv, instead) => {
                    changed |= self.weigh(waiting.take(), now)?;
                    // A price against a plan that was not worth it is no price.
                    if !self.plan.declined {
                        self.plan.priced = Some(now);
                        self.plan.instead = instead.map(|i| (mv, i));
                        self.say_instead();
                        changed = true;
                    }
                }
                Found::Ways(at, ways) => {
                    (self.ways, self.ways_at) = (ways, at);
                    changed = true;
                }
                Found::Done => {}
                Found::Failed(why) => self.notice(Notice::SearchFailed(why)),
            }
        }
        Ok(changed | self.weigh(waiting, now)?)
    }

    fn weigh(&mut self, better: Option<Schedule>, now: Time) -> Result<bool, Problem> {
        let Some(better) = better else { return Ok(false) };
        let adopted = self.adopt_better(&better, now)?;
        self.plan.declined = !adopted;
        Ok(adopted)
    }

    /// Hauls that a search must leave first: none that is under way, that one is not the search's to move.
    fn frozen(&self, now: Time) -> usize {
        // Where windows break already, the next call may go if that saves some; the current one only if its load has
        // nothing to lose any more.
        let (line, state) = (self.line(), self.state());
        let current = self.promised(1).next().map(|m| m.carrier);
        let promised = match current {
            _ if self.breaches.is_empty() => PROMISED,
            Some(carrier) if alarm::is_lost(line, state, carrier, now) => 0,
            _ => 1,
        };
        self.promised(promised).filter(|m| m.attach).count()
    }

    /// The first moves of the plan that is shown that are not under way.
    fn promised(&self, count: usize) -> impl Iterator<Item = &Move> {
        let state = self.state();
        let under_way = |m: &&Move| matches!(state.carriers[m.carrier].place, Place::OnHook { .. });
        let skip = self.plan.shown.moves.first().filter(under_way).map_or(0, |_| 1);
        self.plan.shown.moves.iter().take(count).skip(skip)
    }

    /// Puts a plan that a search has found in force, if it is worth it now. True if it was.
    fn adopt_better(&mut self, found: &Schedule, now: Time) -> Result<bool, Problem> {
        let (line, state) = (&*self.line, self.history.state());
        let settings = self.reckons_with();
        let follow = |plan: &Schedule| {
            plan::follow(line, state, plan, now, &settings)
                .or_else(|| plan::follow_stretched(line, state, plan, now, &settings))
        };
        // Time has gone by since both were made.
        let (Some(better), Some(current)) = (follow(found), follow(&self.plan.shown)) else {
            return Ok(false);
        };
        let Ok(breaches) = self.judged(&better) else { return Ok(false) };
        let scrap = |breaches: &[Breach]| breaches.iter().filter(|b| b.harm == Some(Harm::Scrap)).count();
        let harmless = breaches.len() <= self.breaches.len() && scrap(&breaches) <= scrap(&self.breaches);
        let worth = |schedule: &Schedule| {
            let shown = &current.moves[..current.moves.len().min(PROMISED)];
            Objective::of(line, state, schedule, shown)
        };
        let (gain, had) = (worth(&better), worth(&current));
        if !harmless || !gain.better_by(&had, &MARGIN) {
            return Ok(false);
        }
        let first = better.moves.first();
        let same = first.map(|m| m.carrier) == self.plan.shown.moves.first().map(|m| m.carrier);
        let next = if same { better.moves.get(1) } else { first };
        let changed = next
            .filter(|_| gain.changes > 0)
            .map(|m| Notice::NextCallChanged { carrier: state.book.carriers[m.carrier].name.clone() });
        match self.commit(&Command::AdoptPlan { schedule: better.clone() }, Who::Program) {
            Ok(_) => {}
            Err(Problem::Refused(_)) => return Ok(false),
            Err(fault) => return Err(fault),
        }
        self.plan.instead = None;
        self.show(better, breaches, now);
        if let Some(changed) = changed {
            self.notice(changed);
        }
        Ok(true)
    }

    /// The last good plan stays; one note for a row of rejections.
    fn reject(&mut self, refusal: &Refusal) -> Result<(), Problem> {
        self.take_up_plan();
        if !self.plan.rejected {
            self.plan.rejected = true;
            self.notice(Notice::PlanRejected(refusal.to_string()));
            let text = format!("fault: a new plan was not taken: {refusal}");
            self.commit(&Command::Note { text }, Who::Program)?;
        }
        Ok(())
    }

    /// When time alone calls for a plan; it may have passed. `None` if nothing does.
    pub(super) fn plan_due(&self) -> Option<Time> {
        let after_pause = |t: Time| self.plan.tried.map_or(t, |tried| t.max(tried + self.pause(tried)));
        let missing = self.plan.missing.map(|since| after_pause(since + PATIENCE));
        let behind = self.behind_from().map(|t| after_pause(t + wake::TICK));
        // What nobody knows the end of has lasted longer than the plan assumes.
        let planned = self.plan.tried.or(self.plan.made_at);
        let stops = self.state().standing.stopped.values();
        let longer = stops.filter_map(|s| s.assumed_until(planned?, self.settings.stop)).min();
        let tanks = self.state().tanks.iter();
        let lost = tanks.filter_map(|(_, t)| t.assumed_until(planned?, self.settings.out)).min();
        let shuts = planned.and_then(|t| bath::shuts_next(self.line(), self.state(), t));
        [missing, behind, longer, lost, shuts].into_iter().flatten().min()
    }

    /// How long after a plan the next one is made because time went by.
    fn pause(&self, tried: Time) -> Dur {
        let moved = self.history.last_physical().or(self.history.events().first());
        let quiet = moved.map_or(Dur::ZERO, |moved| tried - moved.at - LEFT_ALONE);
        Dur(quiet.0 / QUIET).clamp(PAUSE, MOST_PAUSE)
    }

    /// From when on the plan is behind: the next load should have been said to be lifted or, if it hangs, down.
    fn behind_from(&self) -> Option<Time> {
        let (line, state) = (self.line(), self.state());
        let moves = &self.plan.shown.moves;
        let firsts = line.hoists.ids().filter_map(|hoist| moves.iter().find(|m| m.hoist == hoist));
        let done = firsts.map(|m| {
            let on_hook = matches!(state.carriers[m.carrier].place, Place::OnHook { .. });
            let phases = m.phases(line, &state.book);
            let (done, late) = if on_hook {
                (phases.map(|p| p.to_down()), HANGS_BEHIND)
            } else {
                (phases.map(|p| p.to_lift()), BEHIND)
            };
            m.start + done.unwrap_or(Dur::ZERO) + late
        });
        done.min()
    }
}
