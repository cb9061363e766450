//! How a shift would have gone on from some point, and what two ways of going on differ by.

use std::cmp::Ordering;

use crate::line::{Harm, Line};
use crate::plan::{Budget, Objective, Settings, follow, follow_stretched, improve_in_rounds, plan};
use crate::schedule::Schedule;
use crate::shift::{History, Place, State};
use crate::units::{Dur, Time};
use crate::verify::{Breach, Rule, happened, is_possible, verify};
use crate::view::over_words;
use crate::whatif::on_paper;

/// What is broken by less is a pace nobody keeps.
const SAME: Dur = Dur::from_secs(1);

/// Finishes and promises that differ by less are the same to people, and what is broken already may be broken by so much
/// more: nobody picks on the second, and a search finds no better than this.
const ALIKE: Dur = Dur::from_secs(5);

/// A shift planned on to its end.
#[derive(Debug, Clone, PartialEq)]
pub struct Onward {
    /// The plan.
    pub schedule: Schedule,
    /// What is broken by the end of the shift, before this point and after it: the verifier's word on what will have happened
    /// once the plan was followed to the letter.
    pub breaches: Vec<Breach>,
    /// What the plan is worth, part by part.
    pub worth: Objective,
}

/// Plans on from `now`. With `keeps` the plan goes on from that one, and its next haul stays the next; else it is made of
/// what is so, or of the plan in force if that is better. It is made better within the budget; the same input and budget
/// give the same plan on every machine.
pub fn onward(
    line: &Line,
    state: &State,
    keeps: Option<&Schedule>,
    now: Time,
    settings: &Settings,
    budget: &mut Budget,
) -> Onward {
    let followed = |p: &Schedule| {
        let held = follow(line, state, p, now, settings);
        held.or_else(|| follow_stretched(line, state, p, now, settings))
            .filter(|s| is_possible(&verify(line, state, s)))
    };
    let kept = keeps.and_then(followed);
    let frozen = kept.as_ref().map_or(0, |p| usize::from(!under_way(state, p)));
    let first = kept.unwrap_or_else(|| {
        let anew = plan(line, state, now, settings);
        let worth = |s: &Schedule| Objective::of(line, state, s, &[]).decides();
        let in_force = state.plan.as_ref().and_then(followed);
        in_force.filter(|p| worth(p) < worth(&anew)).unwrap_or(anew)
    });
    let better = improve_in_rounds(line, state, &first, settings, frozen, budget, &mut |_| ());
    let schedule = better.filter(|b| is_possible(&verify(line, state, b))).unwrap_or(first);
    Onward::along(line, state, schedule)
}

impl Onward {
    /// What comes of following a plan to the letter.
    pub fn along(line: &Line, state: &State, schedule: Schedule) -> Self {
        let worth = Objective::of(line, state, &schedule, &[]);
        Self { breaches: breaches(line, state, &schedule), schedule, worth }
    }
}

/// The first move is the rest of one that has begun.
fn under_way(state: &State, plan: &Schedule) -> bool {
    plan.moves.first().is_some_and(|m| matches!(state.carriers[m.carrier].place, Place::OnHook { .. }))
}

fn breaches(line: &Line, state: &State, schedule: &Schedule) -> Vec<Breach> {
    let then = History::from_now_on(state.clone());
    if let Some((then, ..)) = on_paper(line, then, schedule, schedule.made_at, Time::FAR) {
        return happened(line, then.state());
    }
    let mut all = happened(line, state);
    all.extend(verify(line, state, schedule));
    all
}

/// A window that one way of going on breaks and another does not, or not as far.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Excess {
    /// The breach; `by` is by how much more.
    pub breach: Breach,
    /// The other breaks it too.
    pub further: bool,
}

impl Excess {
    /// True if a breach is of the same window.
    pub fn is_of(&self, b: &Breach) -> bool {
        b.is_of_same(&self.breach)
    }
}

/// What one way of going on costs against another.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Cost {
    /// Windows it breaks that the other keeps, or breaks further.
    pub breaks: Vec<Excess>,
    /// Windows it keeps that the other breaks, or breaks further.
    pub keeps: Vec<Excess>,
    /// Carriers more that do not get through.
    pub left: i64,
    /// Lateness more, in all.
    pub late: Dur,
    /// How much later the last carrier is out.
    pub finish: Dur,
}

impl Cost {
    /// What `done` costs against `called`.
    pub fn of(called: &Onward, done: &Onward) -> Self {
        Self {
            breaks: more(&called.breaches, &done.breaches),
            keeps: more(&done.breaches, &called.breaches),
            left: done.worth.left as i64 - called.worth.left as i64,
            late: done.worth.late - called.worth.late,
            finish: done.worth.finish - called.worth.finish,
        }
    }

    /// True if nothing is worse, seconds of pace apart.
    pub fn is_nothing(&self) -> bool {
        self.breaks.is_empty() && self.left <= 0 && self.late < ALIKE && self.finish < ALIKE
    }

    /// Whether it is worse than the other ([`Ordering::Greater`]), better or neither: the worst harm decides, then carriers
    /// without a way, then promises, then the finish.
    pub fn weighs(&self) -> Ordering {
        let sum = |all: &[Excess], harm: Option<Harm>| -> Dur {
            all.iter().filter(|e| e.breach.harm == harm).map(|e| e.breach.by).sum()
        };
        let net = |harm| felt(sum(&self.breaks, harm) - sum(&self.keeps, harm), SAME);
        let harms = std::iter::once(None).chain(Harm::ALL.map(Some)).map(net);
        let rest = [self.left.cmp(&0), felt(self.late, ALIKE), felt(self.finish, ALIKE)];
        harms.chain(rest).find(|o| o.is_ne()).unwrap_or(Ordering::Equal)
    }

    /// Sentences: what it costs, the worst first, then what it gains; one if it does neither.
    pub fn words(&self) -> Vec<String> {
        let mut costs: Vec<String> = self.breaks.iter().map(|e| broken("breaks", e)).collect();
        let mut gains: Vec<String> = self.keeps.iter().map(|e| broken("spares", e)).collect();
        if self.left > 0 {
            costs.push(format!("leaves {} more without a way", self.left));
        } else if self.left < 0 {
            gains.push(format!("brings {} more through", -self.left));
        }
        for (by, later, sooner) in [
            (self.late, "orders are late by more in all", "orders are late by less in all"),
            (self.finish, "the last carrier is out later", "the last carrier is out earlier"),
        ] {
            match felt(by, ALIKE) {
                Ordering::Greater => costs.push(format!("{later}: {by}")),
                Ordering::Less => gains.push(format!("{sooner}: {}", -by)),
                Ordering::Equal => {}
            }
        }
        let both = !costs.is_empty() && !gains.is_empty();
        match (self.weighs(), both) {
            (Ordering::Less, true) => joined(gains, "at the price of this: ", costs),
            (_, true) => joined(costs, "but ", gains),
            (_, false) if costs.is_empty() && gains.is_empty() => vec!["nothing that was found".to_owned()],
            (_, false) => joined(costs, "", gains),
        }
    }
}

/// Two lists of sentences; the second is introduced.
fn joined(mut first: Vec<String>, lead: &str, second: Vec<String>) -> Vec<String> {
    first.extend(second.into_iter().map(|words| format!("{lead}{words}")));
    first
}

/// How a difference in time is to people: less than so much is none.
fn felt(by: Dur, least: Dur) -> Ordering {
    if by.0.abs() < least.0 { Ordering::Equal } else { by.cmp(&Dur::ZERO) }
}

fn broken(verb: &str, e: &Excess) -> String {
    let Breach { carrier, place, by, .. } = &e.breach;
    let harm = e.breach.harm.map_or("no way", Harm::word);
    let more = match (e.further, verb) {
        (false, _) => "",
        (true, "spares") => " of it",
        (true, _) => " more",
    };
    let by = if verb == "breaks" { format!("by {}", over_words(*by)) } else { over_words(*by) };
    format!("{verb} {carrier} in {place} {by}{more} ({harm}, {})", limit(e.breach.rule))
}

fn limit(rule: Rule) -> &'static str {
    match rule {
        Rule::Under => "too short",
        Rule::Over => "too long",
        Rule::Air => "in the air",
        other => other.word(),
    }
}

/// Breaches of the second that the first has not, or by less.
fn more(one: &[Breach], other: &[Breach]) -> Vec<Excess> {
    let mut had: Vec<&Breach> = one.iter().collect();
    let mut found = Vec::new();
    for b in other {
        let same = |a: &&Breach| a.is_of_same(b);
        // Each is held against one only: a carrier may come to the same tank twice.
        let before = had.iter().position(same).map_or(Dur::ZERO, |ix| had.remove(ix).by);
        // What is broken already is not broken anew by a person's pace.
        if b.by > before && (before == Dur::ZERO || b.by - before >= ALIKE) {
            let breach = Breach { by: b.by - before, ..b.clone() };
            found.push(Excess { breach, further: before > Dur::ZERO });
        }
    }
    found.sort_by_key(|e: &Excess| (e.breach.harm.map_or(0, |h| h as usize), -e.breach.by.0));
    found
}
