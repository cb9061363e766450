//! What a way out costs: planned on, verified, and reckoned so that giving loads up does not look like saving them.

use super::{WayOut, What};
use crate::line::{Harm, Line};
use crate::plan::{Budget, Objective, Settings, excesses};
use crate::schedule::Schedule;
use crate::shift::{History, State, alarm};
use crate::units::{Dur, Time};
use crate::verify::{Breach, is_possible, verify};
use crate::whatif::weigh::{in_order, starts_alike};
use crate::whatif::{Prospect, is_better, on_paper, planned, planned_like, prospect, said, says};

/// What differs by less in one part is worth the same there: nobody changes anything for that, and people are less even.
const SAME_HARM: Dur = Dur::from_secs(5);
const SAME_LATE: Dur = Dur::from_mins(5);
const SAME_FINISH: Dur = Dur::from_mins(2);

/// The order of ways out: the objective part by part, then the fewer words the better.
pub fn rank(way: &WayOut) -> (usize, i64, usize, i64, i64, usize) {
    let worth = &way.prospect.worth;
    let about = |d: Dur, same: Dur| d.0.div_euclid(same.0);
    (
        worth.scrap,
        about(worth.harm(), SAME_HARM),
        worth.left,
        about(worth.weighted_late, SAME_LATE),
        about(worth.finish - Time::ZERO, SAME_FINISH),
        way.commands.len(),
    )
}

/// How the shift goes on if nothing is changed.
pub fn nothing(
    line: &Line,
    history: &History,
    now: Time,
    settings: &Settings,
    budget: &mut Budget,
) -> Prospect {
    let nothing = prospect(line, history.state().clone(), now, settings, budget);
    let until = nothing.worth.finish;
    judged(line, nothing.state, nothing.schedule, until)
}

fn judged(line: &Line, state: State, schedule: Schedule, until: Time) -> Prospect {
    let mut prospect = Prospect::of(line, state, schedule);
    judge(&mut prospect.worth, &prospect.breaches, until);
    prospect
}

/// What only the breaches tell: that parts are scrap, and windows of loads that nobody lifts. Without an end they would count
/// for nothing, and to leave a load would look like saving it; here each counts to `until`, the same for all ways.
fn judge(worth: &mut Objective, breaches: &[Breach], until: Time) {
    worth.scrap = worth.scrap.max(scrapped(breaches));
    count_open(worth, breaches.iter(), until);
}

fn count_open<'b>(worth: &mut Objective, breaches: impl Iterator<Item = &'b Breach>, until: Time) {
    for breach in breaches.filter(|b| b.open_ended) {
        if let Some(harm) = breach.harm {
            worth.excess[harm as usize] += (until - breach.at).max(alarm::LONGEST_GRACE);
        }
    }
}

fn scrapped(breaches: &[Breach]) -> usize {
    breaches.iter().filter(|b| b.harm == Some(Harm::Scrap)).count()
}

/// The order of moves of a way out in place of `nothing`, if it is worth more there too: then the order is what gains, and
/// not what would be said for it.
pub fn without_it(
    line: &Line,
    nothing: &Prospect,
    way: &WayOut,
    now: Time,
    settings: &Settings,
) -> Option<Prospect> {
    if !starts_alike(&nothing.state, &way.prospect.state) {
        return None;
    }
    let other = in_order(line, &nothing.state, &way.prospect.schedule, now, settings).schedule;
    is_better(line, &nothing.state, &other, &nothing.schedule)
        .then(|| judged(line, nothing.state.clone(), other, nothing.worth.finish))
}

/// What all ways out of one trouble are priced against.
pub struct Pricing<'a> {
    pub line: &'a Line,
    pub history: &'a History,
    pub now: Time,
    pub settings: &'a Settings,
    pub nothing: &'a Prospect,
}

impl Pricing<'_> {
    /// The way out with its price; `None` if it may not be gone, or no possible plan was found for it.
    pub fn way(&self, what: What, budget: &mut Budget) -> Option<WayOut> {
        let commands = what.commands();
        let then = said(self.line, self.history, &commands, self.now).ok()?;
        let mut prospect = if what.ends().is_empty() {
            let state = then.state().clone();
            let schedule = planned_like(self.line, &state, self.now, self.settings, self.nothing, budget);
            Prospect::of(self.line, state, schedule)
        } else {
            self.for_a_while(&what, then, budget)?
        };
        if !is_possible(&prospect.breaches) {
            return None;
        }
        prospect.worth = self.worth(&what, &prospect);
        Some(WayOut { what, commands, prospect })
    }

    /// Planned until what lasts for a while ends, and from there on without it.
    fn for_a_while(&self, what: &What, then: History, budget: &mut Budget) -> Option<Prospect> {
        let half = |budget: &mut Budget| budget.tries / 2;
        let mut part = Budget { tries: half(budget), stop: &mut *budget.stop };
        let at_first = planned(self.line, then.state(), self.now, self.settings, &mut part);
        if !is_possible(&verify(self.line, then.state(), &at_first)) {
            return None;
        }
        let ends = what.ends();
        let until = ends.iter().map(|(t, _)| *t).max()?;
        let (mut then, done, until) = on_paper(self.line, then, &at_first, self.now, until)?;
        for (_, command) in &ends {
            // Whoever has been moved meanwhile is no longer held.
            let _ = says(self.line, &mut then, command, until);
        }
        let mut part = Budget { tries: half(budget), stop: &mut *budget.stop };
        let after = planned_like(self.line, then.state(), until, self.settings, self.nothing, &mut part);
        let mut moves = done;
        moves.extend(after.moves);
        let schedule = Schedule::new(moves, self.now);
        let state = said(self.line, self.history, &what.for_good(), self.now).ok()?.state().clone();
        Some(Prospect::of(self.line, state, schedule))
    }

    /// The worth, with orders as urgent as they were before and the harm of what is given up.
    fn worth(&self, what: &What, prospect: &Prospect) -> Objective {
        let was: &State = self.history.state();
        let mut state = prospect.state.clone();
        for (order, before) in was.book.orders.iter() {
            let o = &mut state.book.orders[order];
            (o.priority, o.due) = (before.priority, before.due);
        }
        let mut worth = Objective::of(self.line, &state, &prospect.schedule, &[]);
        judge(&mut worth, &prospect.breaches, self.nothing.worth.finish);
        let given_up = what.given_up();
        for e in excesses(self.line, was, &self.nothing.schedule) {
            if given_up.contains(&e.carrier) {
                worth.excess[e.harm as usize] += e.by;
                worth.lost[e.harm as usize] += e.by - e.counts;
            }
        }
        let gives_up = |b: &&Breach| given_up.iter().any(|c| was.book.carriers[*c].name == b.carrier);
        let open = self.nothing.breaches.iter().filter(gives_up);
        count_open(&mut worth, open, self.nothing.worth.finish);
        // Spoiled by a little is not given up for nothing.
        worth.excess[Harm::Rework as usize] += SAME_HARM * given_up.len() as i64;
        worth.left += what.taken_off();
        worth
    }
}
