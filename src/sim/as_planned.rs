//! People who go on by the plan they have, whatever happens: the moves in its order, later where they must be. What any
//! crew would do by itself is done: nobody is put where somebody is, nobody is lifted before the shortest dwell, and where
//! a tank is out another one of its kind will do.

use crate::ids::{Seq, TankId};
use crate::line::{Line, Role, Visit};
use crate::schedule::{Move, Schedule};
use crate::shift::{Place, State};
use crate::units::Time;

/// People with a plan.
#[derive(Debug, Clone)]
pub struct AsPlanned {
    plan: Schedule,
    /// What they have set out for, and the last confirmation before that.
    chosen: Option<(Option<Seq>, Move)>,
}

impl AsPlanned {
    /// People who go on by this plan.
    pub fn new(plan: Schedule) -> Self {
        Self { plan, chosen: None }
    }

    /// The next loaded move from what is so now; none if they have to wait or know nothing more.
    pub fn next(&mut self, line: &Line, state: &State, now: Time) -> Schedule {
        let stands = |(after, m): &(Option<Seq>, Move)| {
            *after == state.last_physical && has_room(line, state, m) && state.tanks[m.to].from <= now
        };
        if !self.chosen.as_ref().is_some_and(stands) {
            self.chosen = self.choose(line, state, now).map(|m| (state.last_physical, m));
        }
        Schedule::new(self.chosen.iter().map(|(_, m)| *m).collect(), now)
    }

    fn choose(&self, line: &Line, state: &State, now: Time) -> Option<Move> {
        let is_next = |m: &&Move| match state.carriers[m.carrier].place {
            Place::Queued => m.leaves == Visit::Load,
            Place::InTank { visit, .. } | Place::OnHook { leaves: visit, .. } => m.leaves == visit,
            Place::Finished { .. } | Place::OffLine => false,
        };
        let held = |m: &&Move| state.hoists.iter().any(|(_, h)| h.carrier == Some(m.carrier));
        let moves = || self.plan.moves.iter().filter(is_next);
        let planned = moves().find(held).or_else(|| moves().next())?;
        let from = match state.carriers[planned.carrier].place {
            Place::InTank { tank: from, .. } | Place::OnHook { from, .. } => from,
            _ => planned.from,
        };
        let to = place(line, state, planned, now)?;
        let m = Move { from, to, ..*planned };
        let phases = m.phases(line, &state.book)?;
        let spec = &state.book.carriers[m.carrier];
        let start = match state.carriers[m.carrier].place {
            Place::OnHook { lifted, .. } => lifted - phases.to_lift(),
            Place::InTank { hooked: Some(_), since, visit, .. } => {
                now.max(since + line.window(spec.recipe, visit).0)
            }
            place => {
                let hoist = &state.hoists[m.hoist];
                let there = hoist.free_from.max(now) + line.empty_travel(m.hoist, hoist.at, from)?;
                let dwelt = match place {
                    Place::InTank { since, visit, .. } => since + line.window(spec.recipe, visit).0,
                    _ => spec.ready,
                };
                there.max(m.start).max(dwelt - phases.to_lift())
            }
        };
        Some(Move { start, ..m })
    }
}

/// Where the move leads: as planned, or into another tank of the same kind; `None` if all are out or taken.
fn place(line: &Line, state: &State, m: &Move, now: Time) -> Option<TankId> {
    let fits = |to: &TankId| state.tanks[*to].from <= now && has_room(line, state, &Move { to: *to, ..*m });
    let others = line.places_for(state.book.carriers[m.carrier].recipe, m.visit);
    let reached = |to: &TankId| line.reaches(m.hoist, *to);
    std::iter::once(m.to).chain(others).filter(reached).find(fits).or_else(|| {
        // What hangs has to go somewhere; the crew waits over the tank.
        let hangs = matches!(state.carriers[m.carrier].place, Place::OnHook { .. });
        (hangs && has_room(line, state, m)).then_some(m.to)
    })
}

fn has_room(line: &Line, state: &State, m: &Move) -> bool {
    let tank = &line.tanks[m.to];
    let others = state.carriers_in(m.to).filter(|c| *c != m.carrier).count();
    matches!(tank.role, Role::Station { .. }) || others < usize::from(tank.capacity)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::{Settings, plan};
    use crate::shift::{Command, History, Stamped, Who, decide};
    use crate::units::Dur;

    /// On the demo line with nothing in the way it is the plan itself that is done.
    #[test]
    fn the_first_move_is_the_first_of_the_plan() {
        let (line, recipes, orders) = crate::files::demo();
        let line = crate::files::read_line(line, recipes).unwrap().value;
        let book = crate::files::read_orders(orders, &line, None).unwrap().value.book;
        let mut history = History::new(&line);
        for (at, event) in decide(&line, &history, &Command::Open { book }, Time::ZERO).unwrap() {
            history.push(&line, Stamped { seq: Seq(1), at, entered: at, by: Who::Supervisor, event });
        }
        let schedule = plan(&line, history.state(), Time::ZERO, &Settings::default());
        let next = AsPlanned::new(schedule.clone()).next(&line, history.state(), Time::ZERO);
        assert_eq!(next.moves, schedule.moves[..1]);
        let later = Time::ZERO + Dur::from_mins(90);
        let late = AsPlanned::new(schedule.clone()).next(&line, history.state(), later);
        assert!(late.moves[0].start >= later && late.moves[0].carrier == schedule.moves[0].carrier);
    }
}
