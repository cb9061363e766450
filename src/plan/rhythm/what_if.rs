//! What would change the period: a tank more, a faster crane, a slower hand.

use super::plant::Change;
use super::{Ask, NoRhythm, Proof, Rhythm, solve, stages_of, try_all};
use crate::ids::{HoistId, Id as _, StageId};
use crate::line::{Line, StageKind, Travel, Visit};
use crate::units::Dur;

/// What is different.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum What {
    /// One tank more in a stage, as if it stood where the stage's last one stands.
    Tank(StageId),
    /// One hoist more: all of the line where one was asked for, or one like the last beyond it.
    Hoist,
    /// Travel at a top speed higher by so many per cent. Not for a hoist with measured times.
    Faster(u32),
    /// Every loaded move takes so much longer, out of the liquid.
    Slower(Dur),
    /// So much is kept free after every loaded move.
    Reserve(Dur),
}

/// One answer: the period and how far it is proven, or why there is none.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Case {
    /// What is different.
    pub what: What,
    /// What it comes to.
    pub period: Result<(Dur, Proof), NoRhythm>,
}

/// The cases worth knowing: a tank more in every stage that has several, anodises, or binds; a hoist
/// more; cranes 20 % faster; every loaded
/// move 1 s and 5 s longer; and no reserve, where one was asked for.
pub fn what_if(line: &Line, rhythm: &Rhythm) -> Vec<Case> {
    let mut ask = rhythm.ask;
    if !rhythm.proof.optimal {
        // What could not be proven as it is will hardly be proven a little changed.
        ask.nodes /= 8;
    }
    let mut whats: Vec<What> = stages_of(line, ask.recipe)
        .into_iter()
        .filter(|s| is_worth_a_tank(line, rhythm, *s))
        .map(What::Tank)
        .collect();
    whats.push(What::Hoist);
    let mut travels = rhythm.cranes.iter().map(|c| &line.hoists[c.hoist].travel);
    if travels.all(|t| matches!(t, Travel::Kinematic { .. })) {
        whats.push(What::Faster(20));
    }
    whats.extend([1, 5].map(|s| What::Slower(Dur::from_secs(s))));
    if ask.reserve > Dur::ZERO {
        whats.push(What::Reserve(Dur::ZERO));
    }
    whats.into_iter().map(|what| Case { what, period: at_most(line, &ask, rhythm.period, what) }).collect()
}

/// The period if something were different, knowing that a tank more or less reserve cannot make it longer: tanks may be left
/// out of the turn, and the hoist may wait.
fn at_most(line: &Line, ask: &Ask, known: Dur, what: What) -> Result<(Dur, Proof), NoRhythm> {
    let (ask, change) = match what {
        What::Tank(stage) => (*ask, Change { twin: Some(stage), ..Change::default() }),
        What::Reserve(reserve) if reserve <= ask.reserve => (Ask { reserve, ..*ask }, Change::default()),
        _ => return period(line, ask, what),
    };
    let found = try_all(line, &ask, change, known.0)?;
    let period = found.best.as_ref().map_or(known.0, |(_, answer)| answer.period);
    Ok((Dur(period), found.proof(period)))
}

fn is_worth_a_tank(line: &Line, rhythm: &Rhythm, stage: StageId) -> bool {
    let steps = &line.recipes[rhythm.ask.recipe].steps;
    let uses = |v: Visit| matches!(v, Visit::Step(n) if line.step(rhythm.ask.recipe, n).stage == stage);
    if steps.iter().all(|s| s.stage != stage || s.on_hook) {
        return false;
    }
    line.tanks_of(stage).count() > 1
        || line.stages[stage].kind == StageKind::Anodise
        || rhythm.binding.iter().any(|b| match b {
            super::Binding::Soak(v) | super::Binding::Window(v) => uses(*v),
            super::Binding::Crane | super::Binding::Rail => false,
        })
}

/// The period if something were different.
pub fn period(line: &Line, ask: &Ask, what: What) -> Result<(Dur, Proof), NoRhythm> {
    let (mut ask, mut change) = (*ask, Change::default());
    let mut line = std::borrow::Cow::Borrowed(line);
    match what {
        What::Tank(stage) => change.twin = Some(stage),
        What::Slower(by) => change.slower = by,
        What::Reserve(reserve) => ask.reserve = reserve,
        What::Hoist => {
            if ask.hoist.take().is_none() || line.hoists.len() == 1 {
                let last = line.hoists[HoistId::at(line.hoists.len() - 1)].clone();
                line.to_mut().hoists.push(last);
            }
        }
        What::Faster(by) => {
            let line = line.to_mut();
            let hoists: Vec<HoistId> = ask.hoist.map_or_else(|| line.hoists.ids().collect(), |h| vec![h]);
            for hoist in hoists {
                if let Travel::Kinematic { speed, .. } = &mut line.hoists[hoist].travel {
                    *speed *= 1.0 + f64::from(by) / 100.0;
                }
            }
        }
    }
    let solved = solve(&line, &ask, change)?;
    Ok((Dur(solved.answer.period), solved.proof))
}
