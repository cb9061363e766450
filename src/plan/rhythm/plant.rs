//! From a line and a recipe to problems: which tanks are taken in turn, and how long the hoist needs between them.

use super::problem::{Job, Link, NEVER, Problem, Turn};
use super::{Ask, NoRhythm};
use crate::ids::{HoistId, Id as _, RecipeId, StageId, StepNo, TankId};
use crate::line::{Line, Phases, Visit};
use crate::units::Dur;

/// No more ways to choose tanks are tried; the proof says so if there are more.
const MOST_CHOICES: usize = 512;
/// Longest round of turns that is reckoned tank by tank.
const LONGEST_TURN: usize = 120;

/// Changes to a plant that a what-if asks for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(super) struct Change {
    /// One tank more in this stage, where its last one stands.
    pub twin: Option<StageId>,
    /// Every loaded move takes so much longer over the rail.
    pub slower: Dur,
}

/// The tanks of every treatment, load and unload included.
#[derive(Debug, Clone)]
pub(super) struct Choice {
    /// By treatment `0..=n + 1`.
    pub turns: Vec<Turn>,
}

/// A place for one carrier: its tank. A tank with room for several is several places.
pub(super) struct Plant<'a> {
    pub line: &'a Line,
    pub hoist: HoistId,
    pub recipe: RecipeId,
    pub reserve: Dur,
    pub change: Change,
    /// The tank of each place.
    pub places: Vec<TankId>,
    /// Empty travel from place to place, row by row; `NEVER` where there is no way.
    travel: Vec<i64>,
}

impl<'a> Plant<'a> {
    pub fn new(line: &'a Line, ask: &Ask, change: Change) -> Self {
        let mut places = Vec::new();
        for (id, tank) in line.tanks.iter() {
            let baths = matches!(tank.role, crate::line::Role::Bath(_));
            // More than a few carriers in one tank are as good as any number; stations have room for all.
            let room = if baths { tank.capacity.clamp(1, 8) } else { 1 };
            places.extend((0..room).map(|_| id));
        }
        if let Some(last) = change.twin.and_then(|stage| line.tanks_of(stage).last()) {
            places.push(last);
        }
        let pairs = places.iter().flat_map(|a| places.iter().map(|b| (*a, *b)));
        let travel = pairs.map(|(a, b)| line.empty_travel(ask.hoist, a, b).map_or(NEVER, |t| t.0)).collect();
        Self { line, hoist: ask.hoist, recipe: ask.recipe, reserve: ask.reserve, change, places, travel }
    }

    fn steps(&self) -> usize {
        self.line.recipes[self.recipe].steps.len()
    }

    pub fn visit(&self, treatment: usize) -> Visit {
        match treatment {
            0 => Visit::Load,
            i if i <= self.steps() => Visit::Step(StepNo::at(i - 1)),
            _ => Visit::Unload,
        }
    }

    /// Tanks to choose from for a treatment, nearest in the file first.
    fn offered(&self, treatment: usize) -> Vec<usize> {
        let fits = self.line.places_for(self.recipe, self.visit(treatment));
        let served =
            |p: &usize| fits.contains(&self.places[*p]) && self.line.reaches(self.hoist, self.places[*p]);
        (0..self.places.len()).filter(served).collect()
    }

    /// Every way to choose tanks: which station, how many tanks of a stage (the first ones of the file), and where two
    /// treatments share tanks, how far the second's turn is ahead. The flag is false if there are more ways than are tried.
    pub fn choices(&self) -> (Vec<Choice>, bool) {
        let mut choices = vec![Choice { turns: Vec::new() }];
        let mut all = true;
        for treatment in 0..self.steps() + 2 {
            let ways = self.ways(treatment);
            let mut longer = Vec::new();
            for choice in &choices {
                for turn in &ways {
                    let mut turns = choice.turns.clone();
                    turns.push(turn.clone());
                    longer.push(Choice { turns });
                }
            }
            all &= longer.len() <= MOST_CHOICES;
            // The ways with more tanks come first, so that they are the ones kept.
            longer.truncate(MOST_CHOICES);
            choices = longer;
        }
        (choices, all)
    }

    fn ways(&self, treatment: usize) -> Vec<Turn> {
        let offered = self.offered(treatment);
        let visit = self.visit(treatment);
        if matches!(visit, Visit::Load | Visit::Unload) || self.line.on_hook(self.recipe, visit) {
            return offered.iter().map(|p| Turn { slots: vec![*p], ahead: 0 }).collect();
        }
        let stage = |i: usize| match self.visit(i) {
            Visit::Step(n) => Some(self.line.step(self.recipe, n).stage),
            _ => None,
        };
        let again = (1..treatment).any(|i| stage(i) == stage(treatment));
        let shared = (1..=self.steps()).any(|i| i != treatment && stage(i) == stage(treatment));
        let mut ways = Vec::new();
        for many in (1..=offered.len()).rev() {
            // Tanks used by several treatments may also be dealt out between them.
            let starts = if shared { offered.len() - many } else { 0 };
            for start in 0..=starts {
                let slots = offered[start..start + many].to_vec();
                let turns = if again { many } else { 1 };
                ways.extend((0..turns).map(|ahead| Turn { slots: slots.clone(), ahead }));
            }
        }
        ways
    }

    pub fn attach(&self, i: usize) -> bool {
        !self.line.on_hook(self.recipe, self.visit(i))
    }

    pub fn release(&self, i: usize) -> bool {
        !self.line.on_hook(self.recipe, self.visit(i + 1))
    }

    /// The phases of move `i` between two places.
    pub fn phases(&self, i: usize, from: TankId, to: TankId) -> Result<Phases, NoRhythm> {
        let left = self.visit(i);
        let drip = self.line.drip(self.recipe, left);
        let (attach, release) = (self.attach(i), self.release(i));
        let phases = (from != to)
            .then(|| self.line.phases(self.hoist, from, to, drip, attach, release))
            .flatten()
            .ok_or(NoRhythm::NoWay { from, to })?;
        let phases = Phases { travel: phases.travel + self.change.slower, ..phases };
        let by = phases.air() - self.line.air_max(self.recipe, left);
        if by > Dur::ZERO {
            return Err(NoRhythm::Air { leaving: left, from, to, by });
        }
        Ok(phases)
    }

    /// The problem with these tanks.
    pub fn problem(&self, choice: &Choice) -> Result<Problem, NoRhythm> {
        let turn = round(choice);
        let moves = choice.turns.len() - 1;
        let tank = |i: usize, k: usize| self.places[choice.turns[i].slot(k)];
        let mut legs: Vec<Vec<Phases>> = Vec::with_capacity(moves);
        for i in 0..moves {
            let legs_of = (0..turn).map(|k| self.phases(i, tank(i, k), tank(i + 1, k)));
            legs.push(legs_of.collect::<Result<_, _>>()?);
        }
        let links = (1..moves).map(|i| self.link(i, &legs, choice)).collect::<Result<Vec<_>, _>>()?;
        let jobs = self.jobs(moves);
        let gap = |a: usize, b: usize, d: usize| {
            let (last, first) = (jobs[a].last, jobs[b].first);
            let kept = self.reserve * (jobs[a].last - jobs[a].first + 1) as i64;
            let place = |i: usize, k: usize| choice.turns[i].slot(k);
            let of = |k: usize| {
                let travel =
                    self.travel[place(last + 1, k) * self.places.len() + place(first, (k + d) % turn)];
                travel.saturating_add((legs[last][k].total() + kept).0)
            };
            (0..turn).map(of).max().unwrap_or(NEVER)
        };
        Ok(Problem::new(links, jobs.clone(), turn, None, shared(choice), &gap))
    }

    fn link(&self, i: usize, legs: &[Vec<Phases>], choice: &Choice) -> Result<Link, NoRhythm> {
        let (min, max) = self.line.window(self.recipe, self.visit(i));
        let down = legs[i - 1].iter().map(Phases::to_down);
        let lift = legs[i][0].to_lift();
        let (early, late) = (down.clone().min().unwrap_or_default(), down.max().unwrap_or_default());
        let lo = (late + min - lift).0;
        let hi = if max.is_unlimited() { NEVER } else { (early + max - lift).0 };
        let hands = legs[i - 1][0].unhook + lift;
        let by = (late - early + min.max(hands)) - max;
        if by > Dur::ZERO {
            return Err(NoRhythm::Window { treatment: self.visit(i), by });
        }
        Ok(Link { lo, hi, places: choice.turns[i].slots.len() as i64 })
    }

    fn jobs(&self, moves: usize) -> Vec<Job> {
        let mut jobs: Vec<Job> = Vec::with_capacity(moves);
        for i in 0..moves {
            match jobs.last_mut() {
                Some(job) if !self.attach(i) => job.last = i,
                _ => jobs.push(Job { first: i, last: i }),
            }
        }
        jobs
    }
}

/// After how many carriers all turns stand as they stood.
fn round(choice: &Choice) -> usize {
    choice.turns.iter().fold(1, |round, t| lcm(round, t.slots.len()))
}

fn lcm(a: usize, b: usize) -> usize {
    let (mut x, mut y) = (a, b);
    while y > 0 {
        (x, y) = (y, x % y);
    }
    a / x * b
}

/// True if the turns of a choice come round soon enough to be reckoned tank by tank.
pub(super) fn is_short(choice: &Choice) -> bool {
    round(choice) <= LONGEST_TURN
}

/// The treatments that may meet another one in the same place.
fn shared(choice: &Choice) -> Vec<(usize, Turn)> {
    let last = choice.turns.len() - 1;
    let meets = |i: usize, j: usize| {
        i != j && choice.turns[i].slots.iter().any(|s| choice.turns[j].slots.contains(s))
    };
    (1..last).filter(|i| (1..last).any(|j| meets(*i, j))).map(|i| (i, choice.turns[i].clone())).collect()
}
