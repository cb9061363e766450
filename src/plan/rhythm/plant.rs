//! From a line and a recipe to problems: which tanks are taken in turn, which hoist does what, and how long is needed between.

use super::problem::{Job, Link, NEVER, Problem, Turn};
use super::team::Team;
use super::{Ask, NoRhythm};
use crate::ids::{HoistId, Id as _, RecipeId, StageId, StepNo, TankId};
use crate::line::{Line, Phases, Visit};
use crate::plan::problem::Leg;
use crate::plan::rail::{PathId, Rail};
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
    /// The hoist of each move.
    pub by: Vec<HoistId>,
}

/// A place for one carrier: its tank. A tank with room for several is several places.
pub(super) struct Plant<'a> {
    pub line: &'a Line,
    /// The hoists that may work.
    pub hoists: Vec<HoistId>,
    /// The others give way, and so need room on the rail.
    shares: bool,
    pub recipe: RecipeId,
    pub reserve: Dur,
    pub change: Change,
    /// The tank of each place.
    pub places: Vec<TankId>,
    /// For each hoist empty travel from place to place, row by row; `NEVER` where there is no way.
    travel: Vec<Vec<i64>>,
    rail: Rail<'a>,
}

impl<'a> Plant<'a> {
    pub fn new(line: &'a Line, ask: &Ask, hoists: Vec<HoistId>, change: Change) -> Self {
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
        let pairs = || places.iter().flat_map(|a| places.iter().map(|b| (*a, *b)));
        let travel = |h| pairs().map(|(a, b)| line.empty_travel(h, a, b).map_or(NEVER, |t| t.0)).collect();
        let travel = hoists.iter().map(|h| travel(*h)).collect();
        let (recipe, reserve, rail) = (ask.recipe, ask.reserve, Rail::new(line));
        Self { line, hoists, shares: ask.hoist.is_none(), recipe, reserve, change, places, travel, rail }
    }

    /// True if the hoist can work there and the others have room beyond it.
    fn serves(&self, hoist: HoistId, tank: TankId) -> bool {
        self.line.reaches(hoist, tank) && (!self.shares || self.rail.leaves_room(hoist, tank))
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

    /// True if any of the hoists can work there.
    pub fn is_served(&self, tank: TankId) -> bool {
        self.hoists.iter().any(|h| self.serves(*h, tank))
    }

    /// Tanks to choose from for a treatment, nearest in the file first.
    fn offered(&self, treatment: usize) -> Vec<usize> {
        let fits = self.line.places_for(self.recipe, self.visit(treatment));
        let served = |p: &usize| fits.contains(&self.places[*p]) && self.is_served(self.places[*p]);
        (0..self.places.len()).filter(served).collect()
    }

    /// Every way to choose tanks: which station, how many tanks of a stage (the first ones of the file), and where two
    /// treatments share tanks, how far the second's turn is ahead. The flag is false if there are more ways than are tried.
    pub fn choices(&self) -> (Vec<Choice>, bool) {
        let mut choices = vec![Choice { turns: Vec::new(), by: vec![self.hoists[0]; self.steps() + 1] }];
        let mut all = true;
        for treatment in 0..self.steps() + 2 {
            let ways = self.ways(treatment);
            let mut longer = Vec::new();
            for choice in &choices {
                for turn in &ways {
                    let mut turns = choice.turns.clone();
                    turns.push(turn.clone());
                    longer.push(Choice { turns, by: choice.by.clone() });
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

    /// The phases of move `i` between two places by a hoist.
    pub fn phases(&self, i: usize, hoist: HoistId, from: TankId, to: TankId) -> Result<Phases, NoRhythm> {
        let left = self.visit(i);
        let drip = self.line.drip(self.recipe, left);
        let (attach, release) = (self.attach(i), self.release(i));
        let phases = (from != to && self.serves(hoist, from) && self.serves(hoist, to))
            .then(|| self.line.phases(hoist, from, to, drip, attach, release))
            .flatten()
            .ok_or(NoRhythm::NoWay { from, to })?;
        let phases = Phases { travel: phases.travel + self.change.slower, ..phases };
        let by = phases.air() - self.line.air_max(self.recipe, left);
        if by > Dur::ZERO {
            return Err(NoRhythm::Air { leaving: left, from, to, by });
        }
        Ok(phases)
    }

    /// The phases of every move for every carrier of a round.
    pub fn legs(&self, choice: &Choice) -> Result<Vec<Vec<Phases>>, NoRhythm> {
        let tank = |i: usize, k: usize| self.places[choice.turns[i].slot(k)];
        let leg = |i: usize, k: usize| self.phases(i, choice.by[i], tank(i, k), tank(i + 1, k));
        (0..choice.by.len()).map(|i| (0..round(choice)).map(|k| leg(i, k)).collect()).collect()
    }

    /// No period is shorter than the longest of the shortest soaks, shared by the tanks.
    pub fn least_stay(&self, choice: &Choice) -> i64 {
        let soak = |i: usize| self.line.window(self.recipe, self.visit(i)).0.0;
        let each = |i: usize| soak(i).div_euclid(choice.turns[i].slots.len() as i64);
        (1..choice.by.len()).map(each).max().unwrap_or(0)
    }

    fn links(&self, choice: &Choice, legs: &[Vec<Phases>]) -> Result<Vec<Link>, NoRhythm> {
        (1..legs.len()).map(|i| self.link(i, legs, choice)).collect()
    }

    /// From the start of job `a`'s last move until its hoist can start job `b` of the carrier that came `d` later.
    fn gap(&self, choice: &Choice, legs: &[Vec<Phases>], (a, b): (Job, Job), d: usize) -> i64 {
        let turn = round(choice);
        let place = |i: usize, k: usize| choice.turns[i].slot(k % turn);
        let kept = self.reserve * (a.last - a.first + 1) as i64;
        let hoist = self.hoists.iter().position(|h| *h == choice.by[a.last]).unwrap_or(0);
        let of = |k: usize| {
            let travel = self.travel[hoist][place(a.last + 1, k) * self.places.len() + place(b.first, k + d)];
            travel.saturating_add((legs[a.last][k].total() + kept).0)
        };
        (0..turn).map(of).max().unwrap_or(NEVER)
    }

    /// The problem with these tanks and one hoist.
    pub fn problem(&self, choice: &Choice) -> Result<Problem, NoRhythm> {
        let legs = self.legs(choice)?;
        let links = self.links(choice, &legs)?;
        let jobs = self.jobs();
        let gap = |a: usize, b: usize, d: usize| self.gap(choice, &legs, (jobs[a], jobs[b]), d);
        Ok(Problem::new(links, jobs.clone(), round(choice), None, shared(choice), &gap))
    }

    /// The problem with these tanks and hoists; a job is done by one hoist.
    pub fn team(&self, choice: &Choice) -> Result<Team, NoRhythm> {
        let legs = self.legs(choice)?;
        let mut links = self.links(choice, &legs)?;
        let (jobs, turn) = (self.jobs(), round(choice));
        for i in jobs.iter().flat_map(|j| j.first + 1..=j.last) {
            // The rail knows hauls by their course, so dips on the hook are as long as they must be and no longer.
            links[i - 1].hi = links[i - 1].lo;
        }
        let paths: Vec<Vec<PathId>> = jobs
            .iter()
            .map(|j| (0..turn).map(|k| self.path(choice, &legs, &links, *j, k)).collect())
            .collect();
        let apart = |a: usize, b: usize, d: usize| {
            let (one, other) = (jobs[a], jobs[b]);
            if choice.by[one.first] == choice.by[other.first] {
                let length: i64 = links[one.first..one.last].iter().map(|l| l.lo).sum();
                return self.gap(choice, &legs, (one, other), d).saturating_add(length);
            }
            let kept = self.reserve.0 * (one.last - one.first + 1) as i64;
            let lag = |k: usize| self.rail.lag(paths[a][k], paths[b][(k + d) % turn]);
            (0..turn).map(lag).max().unwrap_or(NEVER).clamp(-NEVER, NEVER) + kept
        };
        let n = jobs.len();
        if let Some((a, b)) = (0..n * n).map(|c| (c / n, c % n)).find(|(a, b)| apart(*a, *b, 0) >= NEVER) {
            let tank = |i: usize| self.places[choice.turns[i].slot(0)];
            return Err(NoRhythm::NoWay { from: tank(jobs[a].last + 1), to: tank(jobs[b].first) });
        }
        let hoists = jobs.iter().map(|j| choice.by[j.first]).collect();
        Ok(Team::new(links.clone(), jobs.clone(), hoists, turn, &shared(choice), &apart))
    }

    /// A job of carrier `k` as the rail knows it.
    fn path(&self, choice: &Choice, legs: &[Vec<Phases>], links: &[Link], job: Job, k: usize) -> PathId {
        let mut offset = Dur::ZERO;
        let mut hauls = Vec::with_capacity(job.last - job.first + 1);
        for i in job.first..=job.last {
            if i > job.first {
                offset += Dur(links[i - 1].lo);
            }
            hauls.push(Leg {
                from: self.places[choice.turns[i].slot(k)],
                to: self.places[choice.turns[i + 1].slot(k)],
                leaves: self.visit(i),
                visit: self.visit(i + 1),
                offset,
                phases: legs[i][k],
                attach: self.attach(i),
                release: self.release(i),
            });
        }
        self.rail.path(choice.by[job.first], &hauls, (false, false))
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

    /// What a hoist does in one go, in the order of the recipe.
    pub fn jobs(&self) -> Vec<Job> {
        let mut jobs: Vec<Job> = Vec::with_capacity(self.steps() + 1);
        for i in 0..=self.steps() {
            match jobs.last_mut() {
                Some(job) if !self.attach(i) => job.last = i,
                _ => jobs.push(Job { first: i, last: i }),
            }
        }
        jobs
    }
}

/// After how many carriers all turns stand as they stood.
pub(super) fn round(choice: &Choice) -> usize {
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
