//! A plan that is followed to the letter, on paper.

use super::says;
use crate::ids::HoistId;
use crate::line::Line;
use crate::schedule::{Move, Schedule};
use crate::shift::{Command, History, Place};
use crate::units::Time;

/// The history in which a plan was adopted at `now` and followed to the letter until an instant: with the moves that were
/// begun by then, and the instant the last of them is over. `None` if it cannot be done.
pub fn on_paper(
    line: &Line,
    mut then: History,
    schedule: &Schedule,
    now: Time,
    until: Time,
) -> Option<(History, Vec<Move>, Time)> {
    says(line, &mut then, &Command::AdoptPlan { schedule: schedule.clone() }, now).ok()?;
    let (mut steps, mut moves, mut end): (Vec<(Time, Command)>, Vec<Move>, Time) =
        (Vec::new(), Vec::new(), until);
    let mut held_on: Vec<HoistId> = Vec::new();
    for m in &schedule.moves {
        let phases = m.phases(then.state().line(line), &then.state().book)?;
        let (lift, down) = (m.start + phases.to_lift(), m.start + phases.to_down());
        // A dip on the hook is gone through with.
        if lift > until && !held_on.contains(&m.hoist) {
            continue;
        }
        held_on.retain(|h| *h != m.hoist);
        if !m.release {
            held_on.push(m.hoist);
        }
        let hangs = matches!(then.state().carriers[m.carrier].place, Place::OnHook { leaves, .. }
            if leaves == m.leaves);
        if !hangs {
            steps.push((lift, Command::Lift { carrier: m.carrier, hoist: m.hoist, from: m.from, at: lift }));
        }
        steps.push((down, Command::Lower { hoist: m.hoist, to: m.to, at: down }));
        moves.push(*m);
        end = end.max(m.start + phases.total());
    }
    steps.sort_by_key(|(at, _)| *at);
    for (at, command) in &steps {
        says(line, &mut then, command, *at).ok()?;
    }
    Some((then, moves, end))
}
