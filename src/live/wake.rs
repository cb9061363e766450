//! What happens because time goes by: others' events, the crew, alarms, a plan that has fallen behind.

use super::{Hands, LiveShift, Notice, Problem, planning};
use crate::ids::{CarrierId, Seq};
use crate::line::Visit;
use crate::shift::{AlarmKey, AlarmKind, AlarmLevel, Command, Place, State, Who, alarm};
use crate::units::{Dur, Time};

/// The axis counts in milliseconds.
pub(super) const TICK: Dur = Dur(1);

/// How often alarms are looked at: near the end of a window, and otherwise.
const NEAR: Dur = Dur::from_secs(1);
const FAR: Dur = Dur::from_secs(5);

/// How often a search under way is asked what it has found, in real time.
const SEARCH_LOOK: f64 = 0.1;

/// What counts as near the end of a window.
const NEAR_WINDOW: Dur = Dur::from_secs(60);

/// The most a crew does in one tick: a lift and a lower for each of many hoists. More is a crew gone wrong.
const CREW_MOST: usize = 64;

/// How long a crew that wanted the impossible is left alone.
const CREW_PAUSE: Dur = Dur::from_secs(1);

/// The hands, and what they said they would do next.
#[derive(Default)]
pub(super) struct Crew {
    hands: Option<Box<dyn Hands + Send>>,
    next: Option<(Time, Command)>,
    /// The event and the plan the hands knew when they were asked.
    asked: Option<(Seq, Option<Time>)>,
    not_before: Option<Time>,
}

impl Crew {
    /// How they work, if there are any.
    pub fn kind(&self) -> Option<&'static str> {
        self.hands.as_ref().map(|hands| hands.kind())
    }
}

impl LiveShift {
    /// Lets hands confirm moves by themselves.
    pub fn set_hands(&mut self, hands: Box<dyn Hands + Send>) {
        self.crew = Crew { hands: Some(hands), ..Crew::default() };
    }

    fn let_come(&mut self) -> Result<(), Problem> {
        let now = self.now();
        while self.to_come.front().is_some_and(|(at, _)| *at <= now) {
            let Some((_, command)) = self.to_come.pop_front() else { break };
            match self.submit(&command, Who::Supervisor) {
                // What no longer makes sense on this shift does not happen to it.
                Ok(()) | Err(Problem::Refused(_)) => {}
                Err(fault) => return Err(fault),
            }
        }
        Ok(())
    }

    /// Looks at the clock: folds what others stored, lets the crew act, raises and clears alarms, plans anew if the plan
    /// has fallen behind, takes what the search has found. True if anything that is shown changed, the passing of time apart. A shift that is only watched
    /// folds what others stored and does no more.
    pub fn tick(&mut self) -> Result<bool, Problem> {
        let seq = self.state().seq;
        let made_at = self.plan.made_at();
        // Before anything can fail, so that a full disk is met once a tick and not all the time.
        let now = self.now();
        self.last_watch = Some(now);
        for news in self.clock.news() {
            self.notice(Notice::Clock(news));
        }
        self.tail()?;
        if self.is_watched() {
            self.look_again(now);
            return Ok(self.state().seq != seq);
        }
        if !self.state().is_open() {
            return Ok(self.state().seq != seq);
        }
        self.let_come()?;
        self.let_happen()?;
        self.let_crew_act()?;
        self.learn()?;
        self.commit(&Command::Watch, Who::Program)?;
        if self.plan_due().is_some_and(|due| due <= now) {
            self.plan_anew(now, planning::Adopt::IfDifferent)?;
        }
        if (self.ways_due || self.ways_are_old(now)) && !self.searcher.is_busy() {
            self.ways_due = false;
            self.price_again(false, now);
        }
        let found = self.take_better(now)?;
        Ok(found || self.state().seq != seq || self.plan.made_at() != made_at)
    }

    /// The next instant at which [`LiveShift::tick`] has something to do.
    pub fn next_wake(&mut self) -> Time {
        let now = self.now();
        if self.is_watched() {
            return self.last_watch.unwrap_or(now).max(now) + NEAR;
        }
        let step = if self.near_a_window(now) { NEAR } else { FAR };
        let mut wake = self.last_watch.unwrap_or(now) + step;
        if let Some(due) = self.plan_due() {
            wake = wake.min(due);
        }
        if self.searcher.is_busy() {
            wake = wake.min(now + Dur::from_secs_f64(SEARCH_LOOK * self.speed()));
        }
        if let Some((at, _)) = self.to_come.front() {
            wake = wake.min(*at);
        }
        if let Some(happens) = self.happens_at(now) {
            wake = wake.min(happens);
        }
        if let Some(act) = self.crew_acts(now) {
            wake = wake.min(act);
        }
        wake.max(now)
    }

    fn near_a_window(&self, now: Time) -> bool {
        let state = self.state();
        state.carriers.ids().flat_map(|carrier| watched(state, carrier)).any(|key| {
            // After "reached" an alarm gets no worse.
            let settled = state.alarms.get(&key).is_some_and(|a| a.active && a.level == AlarmLevel::Reached);
            !settled && alarm::deadline(&self.line, state, key).is_some_and(|end| end <= now + NEAR_WINDOW)
        })
    }

    fn let_crew_act(&mut self) -> Result<(), Problem> {
        for _ in 0..CREW_MOST {
            let now = self.now();
            if self.crew_acts(now).is_none_or(|at| at > now) {
                break;
            }
            let Some((_, command)) = self.crew.next.take() else { break };
            self.crew.asked = None;
            let Err(problem) = self.submit(&command, Who::Crew) else { continue };
            self.crew.not_before = Some(now + CREW_PAUSE);
            match problem {
                Problem::Refused(refusal) => self.notice(Notice::CrewRefused(refusal.to_string())),
                fault => return Err(fault),
            }
        }
        Ok(())
    }

    /// When the crew acts next. Asks it, if what it said was about another state or plan.
    fn crew_acts(&mut self, now: Time) -> Option<Time> {
        let known = (self.history.state().seq, self.plan.made_at());
        let hands = self.crew.hands.as_mut()?;
        if self.crew.next.is_none() || self.crew.asked != Some(known) {
            self.crew.next =
                hands.next(self.history.state().line(&self.line), self.history.state(), &self.calls, now);
            self.crew.asked = Some(known);
        }
        let (at, _) = self.crew.next.as_ref()?;
        Some(self.crew.not_before.map_or(*at, |t| t.max(*at)))
    }
}

/// The alarms a carrier would raise where it is.
fn watched(state: &State, carrier: CarrierId) -> Vec<AlarmKey> {
    let key = |visit, kind| AlarmKey { carrier, visit, kind };
    match state.carriers[carrier].place {
        Place::InTank { visit, .. } => vec![key(visit, AlarmKind::Dwell)],
        Place::OnHook { leaves, .. } => vec![key(leaves, AlarmKind::Short), key(leaves, AlarmKind::Air)],
        Place::OffLine => {
            let lent = state.standing.lent.get(&carrier);
            lent.map(|lent| key(Visit::Step(lent.bench.resume), AlarmKind::Bench)).into_iter().collect()
        }
        _ => Vec::new(),
    }
}
