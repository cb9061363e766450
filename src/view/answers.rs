//! The possible answers to "what really happened?": only what can be true is offered.

use std::fmt::Write as _;

use super::words::{Spot, visit_words};
use super::{Board, CarrierFact};
use crate::ids::{HoistId, Id as _, TankId};
use crate::line::{Line, Visit};
use crate::shift::{Claim, Command, Place, visit_on_arrival};
use crate::units::Time;

/// Something a person says about a carrier and a hoist; only the time is still open.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Said {
    /// A carrier was picked.
    Lift {
        /// The carrier.
        carrier: crate::ids::CarrierId,
        /// The hoist.
        hoist: HoistId,
        /// Where from.
        from: TankId,
    },
    /// The hoist's carrier was put down.
    Lower {
        /// The hoist.
        hoist: HoistId,
        /// Where.
        to: TankId,
    },
}

impl Said {
    /// The command, once it is known when.
    pub fn command(self, at: Time) -> Command {
        match self {
            Self::Lift { carrier, hoist, from } => Command::Lift { carrier, hoist, from, at },
            Self::Lower { hoist, to } => Command::Lower { hoist, to, at },
        }
    }
}

/// One possible answer.
#[derive(Debug, Clone, PartialEq)]
pub struct Answer<T> {
    /// As a person reads it.
    pub text: String,
    /// What it means.
    pub means: T,
}

/// Every pick that can have happened: an empty hook, a carrier it reaches. The tightest window first.
pub fn lifts(line: &Line, board: &Board) -> Vec<Answer<Said>> {
    let mut found: Vec<(i64, Answer<Said>)> = Vec::new();
    for hook in &board.hooks {
        for fact in &board.carriers {
            if hook.carrier.as_ref().is_some_and(|(c, _)| *c != fact.id) {
                continue;
            }
            let by = by_hoist(board, &hook.name);
            match fact.place {
                Place::InTank { tank, since, visit, hooked }
                    if line.reaches(hook.hoist, tank) && hooked.is_none_or(|h| h == hook.hoist) =>
                {
                    let (_, max) = line.window(fact.recipe, visit);
                    let what = visit_words(line, fact.recipe, visit);
                    let text =
                        format!("picked {} from {}{by}   ({what})", fact.name, Spot::of(line, tank).words());
                    let means = Said::Lift { carrier: fact.id, hoist: hook.hoist, from: tank };
                    found.push(((since + max).0, Answer { text, means }));
                }
                Place::Queued if hook.carrier.is_none() => {
                    for from in line.load_stations().filter(|t| line.reaches(hook.hoist, *t)) {
                        let text = format!(
                            "picked {} from {}{by}   (new from the queue)",
                            fact.name,
                            Spot::of(line, from).words()
                        );
                        let means = Said::Lift { carrier: fact.id, hoist: hook.hoist, from };
                        found.push((i64::MAX, Answer { text, means }));
                    }
                }
                _ => {}
            }
        }
    }
    found.sort_by_key(|(rank, _)| *rank);
    found.into_iter().map(|(_, a)| a).collect()
}

/// Every place where a hanging carrier can have been put down: its next step first, then standby, back where it came
/// from, and last where it does not belong.
pub fn lowers(line: &Line, board: &Board) -> Vec<Answer<Said>> {
    let mut found: Vec<(u8, Answer<Said>)> = Vec::new();
    for hook in &board.hooks {
        let Some(fact) = hook.carrier.as_ref().and_then(|(c, _)| board.carrier(*c)) else { continue };
        let Place::OnHook { from, leaves, .. } = fact.place else { continue };
        let by = by_hoist(board, &hook.name);
        for row in board.tanks.iter().filter(|r| r.room && line.reaches(hook.hoist, r.tank)) {
            let visit = visit_on_arrival(line, fact.recipe, leaves, row.tank);
            let (rank, note) = match visit {
                v if Some(v) == line.next_visit(fact.recipe, leaves) => {
                    (0, visit_words(line, fact.recipe, v))
                }
                Visit::Hold(_) => (1, visit_words(line, fact.recipe, visit)),
                v if v == leaves && row.tank == from => (2, "put back".to_owned()),
                v if v == leaves => (2, format!("{} again", visit_words(line, fact.recipe, v))),
                _ => (3, visit_words(line, fact.recipe, visit)),
            };
            let spot = Spot::of(line, row.tank).words();
            let mut text = format!("placed {} in {spot}{by}", fact.name);
            // A tank that is called like its step needs no second word.
            if !spot.ends_with(&note) {
                let _ = write!(text, "   ({note})");
            }
            found.push((rank, Answer { text, means: Said::Lower { hoist: hook.hoist, to: row.tank } }));
        }
    }
    found.sort_by_key(|(rank, _)| *rank);
    found.into_iter().map(|(_, a)| a).collect()
}

/// Every place a carrier can be, as a claim with the instant `since` where one is needed. In a tank it may be for
/// several steps; each is one answer.
pub fn claims(line: &Line, board: &Board, fact: &CarrierFact, since: Time) -> Vec<Answer<Claim>> {
    let mut found = Vec::new();
    let (from, leaves) = left_last(line, fact);
    for hook in &board.hooks {
        if hook.carrier.as_ref().is_none_or(|(c, _)| *c == fact.id) {
            let means = Claim::OnHook { hoist: hook.hoist, from, leaves, lifted: since };
            found.push(Answer { text: format!("on hook {}", hook.name), means });
        }
    }
    for row in &board.tanks {
        let here = row.held.iter().any(|h| h.carrier == fact.id);
        if row.station.is_some() || !(row.room || here) {
            continue;
        }
        let spot = Spot::of(line, row.tank).words();
        for visit in visits_at(line, fact, row.tank) {
            let what = visit_words(line, fact.recipe, visit);
            let step = match visit {
                Visit::Step(n) => format!("step {}, ", n.ix() + 1),
                _ => String::new(),
            };
            let means = Claim::InTank { tank: row.tank, since, visit };
            found.push(Answer { text: format!("in {spot}   ({step}{what})"), means });
        }
    }
    found.push(Answer { text: "in the queue, not started".to_owned(), means: Claim::Queued });
    for tank in line.unload_stations() {
        let text = format!("finished at {}", Spot::of(line, tank).words());
        found.push(Answer { text, means: Claim::Finished { tank } });
    }
    found.push(Answer { text: "off the line, taken away by hand".to_owned(), means: Claim::OffLine });
    found
}

/// The visits a carrier can be in a tank for; a stray stop where its sheet knows no reason.
fn visits_at(line: &Line, fact: &CarrierFact, tank: TankId) -> Vec<Visit> {
    let steps = line.recipes[fact.recipe].steps.len();
    let visits: Vec<Visit> = (0..steps)
        .map(crate::ids::StepNo::at)
        .flat_map(|n| [Visit::Step(n), Visit::Hold(n)])
        .filter(|v| line.places_for(fact.recipe, *v).contains(&tank))
        .collect();
    if !visits.is_empty() {
        return visits;
    }
    let (_, leaves) = left_last(line, fact);
    vec![visit_on_arrival(line, fact.recipe, leaves, tank)]
}

/// Where a carrier was last known to be in a tank, and for what.
fn left_last(line: &Line, fact: &CarrierFact) -> (TankId, Visit) {
    let start = || line.load_stations().next().unwrap_or(TankId(0));
    match fact.place {
        Place::InTank { tank, visit, .. } => (tank, visit),
        Place::OnHook { from, leaves, .. } => (from, leaves),
        Place::Queued => (start(), Visit::Load),
        _ => fact.last_stay.unwrap_or((start(), Visit::Load)),
    }
}

/// The hoist's name, said only where there are several.
fn by_hoist(board: &Board, name: &str) -> String {
    if board.hooks.len() > 1 { format!(" by {name}") } else { String::new() }
}
