//! The rhythm: the shortest 1-degree cycle of one recipe on one hoist, with the proof that none is shorter.
//!
//! Every period one carrier starts and one is finished, and every carrier makes its moves at the same times after its own
//! start. Carriers take the tanks of a stage in turn: the first so and so many of the file, as many as pay. That is the class
//! of cycles among which the period is the shortest; cycles in which two carriers in a row are treated differently, or which
//! use standby water, are not looked at. A carrier is always waiting at the load station, and a finished one is taken away at
//! once. Rectifier and line power are not looked at either: a recipe does not know the surface of what hangs on the bar.
//!
//! One hoist works; others must stand out of its way. Knows no clock: the effort is counted in nodes.

mod bounds;
mod branch;
mod network;
mod plant;
mod problem;
mod tables;
mod times;
mod unroll;
mod what_if;

pub use tables::{TableRhythm, Tables, rhythm_of_tables};
pub use unroll::unroll;
pub use what_if::{Case, What, period, what_if};

use branch::Answer;
use network::Why;
use plant::{Change, Choice, Plant};
use problem::{NEVER, Problem};

use crate::ids::{HoistId, RecipeId, StageId, TankId};
use crate::line::{Line, Phases, Visit};
use crate::units::Dur;

/// What is asked.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Ask {
    /// The recipe that every carrier runs.
    pub recipe: RecipeId,
    /// The hoist that does all moves.
    pub hoist: HoistId,
    /// Kept free after every loaded move, for human pace.
    pub reserve: Dur,
    /// The most nodes the search may look at.
    pub nodes: u64,
}

/// How far a period is proven.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Proof {
    /// True if every order of moves was looked at or shown to be no shorter.
    pub optimal: bool,
    /// Nodes of the search.
    pub nodes: u64,
    /// No period is shorter than this; the period itself if it is optimal.
    pub bound: Dur,
}

/// Why there is no rhythm at all.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NoRhythm {
    /// The hoist cannot make the move, or its table has no figure for it.
    NoWay {
        /// From here.
        from: TankId,
        /// To here.
        to: TankId,
    },
    /// The hoist reaches no tank for a visit.
    OutOfReach {
        /// The visit.
        visit: Visit,
    },
    /// A transfer is longer out of liquid than the recipe allows.
    Air {
        /// The visit that is left.
        leaving: Visit,
        /// From here.
        from: TankId,
        /// To here.
        to: TankId,
        /// Too long by this.
        by: Dur,
    },
    /// The window is too short for letting go and taking hold again, or for the different ways to the tanks taken in turn.
    Window {
        /// The visit.
        treatment: Visit,
        /// Too short by this.
        by: Dur,
    },
    /// The effort allowed ran out before a first answer.
    Effort,
}

/// One thing that keeps the period from being shorter.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Binding {
    /// The hoist has no time left between its moves.
    Crane,
    /// The shortest soak of a step.
    Soak(Visit),
    /// The longest soak of a step.
    Window(Visit),
}

/// One visit of the rhythm.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Stop {
    /// Why the carrier is there.
    pub visit: Visit,
    /// The tanks taken in turn.
    pub tanks: Vec<TankId>,
    /// Where the turn stands for the first carrier.
    pub ahead: usize,
    /// Shortest and longest dwell over the tanks taken in turn; zero at stations.
    pub dwell: (Dur, Dur),
    /// The move that takes the carrier out begins so long after the carrier's load begins; `None` at the unload.
    pub leaves: Option<Dur>,
    /// How far this move could begin earlier or later if all others gave way.
    pub play: Dur,
}

/// What the hoist does in one period, on average over the tanks taken in turn.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct CraneUse {
    /// With a load: hook to unhook, dips on the hook included.
    pub loaded: Dur,
    /// Travelling empty.
    pub empty: Dur,
    /// Waiting.
    pub idle: Dur,
}

/// The shortest 1-degree cycle.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Rhythm {
    /// What was asked.
    pub ask: Ask,
    /// One carrier starts and one is finished every so long.
    pub period: Dur,
    /// How far that is proven.
    pub proof: Proof,
    /// What keeps it from being shorter: what stands on the critical cycle of the best order.
    pub binding: Vec<Binding>,
    /// No period is shorter than the crane's work in it.
    pub crane_bound: Dur,
    /// For each step: no period is shorter than soak and swap shared by its tanks.
    pub tank_bounds: Vec<Dur>,
    /// Visits from load to unload.
    pub stops: Vec<Stop>,
    /// Moves in the order of the period, by the visit they leave; the load first.
    pub order: Vec<Visit>,
    /// What the hoist does.
    pub crane: CraneUse,
    /// From the load's raise to the unload's lower.
    pub on_line: Dur,
    /// After how many carriers all turns stand as they stood.
    pub round: usize,
    /// Visits during which the hoist stays attached.
    pub on_hook: Vec<Visit>,
}

impl Rhythm {
    /// Carriers per hour.
    pub fn per_hour(&self) -> f64 {
        3600.0 / self.period.as_secs_f64()
    }

    /// Carriers on the line on average, from the load's raise to the unload's lower.
    pub fn carriers(&self) -> f64 {
        self.on_line.as_secs_f64() / self.period.as_secs_f64()
    }
}

/// Finds the shortest rhythm, or says why there is none.
pub fn rhythm(line: &Line, ask: &Ask) -> Result<Rhythm, NoRhythm> {
    let plant = Plant::new(line, ask, Change::default());
    let solved = solve(&plant, ask.nodes)?;
    Ok(report(&plant, ask, &solved))
}

/// The best order over all choices of tanks.
struct Solved {
    choice: Choice,
    problem: Problem,
    answer: Answer,
    proof: Proof,
}

/// A choice of tanks on trial.
struct Trial {
    /// No period with it is shorter; `NEVER` once there is nothing more to be found.
    bound: i64,
    choice: Choice,
    problem: Problem,
}

/// What all choices together came to.
struct Trials {
    best: Option<(usize, Answer)>,
    open: Vec<Trial>,
    /// False if some choices were not tried.
    whole: bool,
    nodes: u64,
    bound: i64,
    /// Why some choices cannot be run.
    why: Option<NoRhythm>,
}

fn solve(plant: &Plant<'_>, nodes: u64) -> Result<Solved, NoRhythm> {
    let mut found = try_all(plant, NEVER, nodes)?;
    let Some((at, answer)) = found.best.take() else { return Err(found.why.unwrap_or(NoRhythm::Effort)) };
    let proof = found.proof(answer.period);
    let Trial { choice, problem, .. } = found.open.swap_remove(at);
    Ok(Solved { choice, problem, answer, proof })
}

impl Trials {
    fn proof(&self, period: i64) -> Proof {
        let bound = self.bound.min(period);
        Proof { optimal: self.whole && bound == period, nodes: self.nodes, bound: Dur(bound) }
    }
}

/// Searches all choices of tanks for a period below `cap`.
fn try_all(plant: &Plant<'_>, mut cap: i64, nodes: u64) -> Result<Trials, NoRhythm> {
    let mut found = trials(plant)?;
    let floor = found.open.first().map_or(NEVER, |t| t.bound);
    // A short look at each first: a good answer early saves most of the work on all the others.
    let short = nodes / (4 * found.open.len().max(1) as u64);
    for pass in 0..2 {
        for at in 0..found.open.len() {
            let trial = &mut found.open[at];
            if trial.bound >= cap {
                continue;
            }
            let left = nodes.saturating_sub(found.nodes);
            let looked = branch::search(&trial.problem, cap, if pass == 0 { short.min(left) } else { left });
            found.nodes += looked.nodes;
            trial.bound = trial.bound.max(looked.bound);
            if let Some(answer) = looked.best {
                cap = answer.period;
                found.best = Some((at, answer));
            }
        }
    }
    found.bound = found.open.iter().map(|t| t.bound).fold(cap, i64::min);
    if !found.whole {
        // A choice that was not tried could be as short as the least that any of those tried could be.
        found.bound = found.bound.min(floor);
    }
    Ok(found)
}

/// Every choice of tanks that can be run, the most promising first.
fn trials(plant: &Plant<'_>) -> Result<Trials, NoRhythm> {
    let (choices, all) = plant.choices();
    if choices.is_empty() {
        return Err(out_of_reach(plant));
    }
    let mut found = Trials { best: None, open: Vec::new(), whole: all, nodes: 0, bound: 0, why: None };
    for choice in choices {
        if !plant::is_short(&choice) {
            found.whole = false;
            continue;
        }
        match plant.problem(&choice) {
            Ok(problem) => {
                let bound = bounds::Bounds::of(&problem).best();
                found.open.push(Trial { bound, choice, problem });
            }
            Err(no) => {
                found.why.get_or_insert(no);
            }
        }
    }
    // A stable sort keeps the file's order among equals.
    found.open.sort_by_key(|t| t.bound);
    Ok(found)
}

fn out_of_reach(plant: &Plant<'_>) -> NoRhythm {
    let steps = plant.line.recipes[plant.recipe].steps.len();
    let served =
        |v: Visit| plant.line.places_for(plant.recipe, v).iter().any(|t| plant.line.reaches(plant.hoist, *t));
    let visit = (0..steps + 2).map(|i| plant.visit(i)).find(|v| !served(*v));
    NoRhythm::OutOfReach { visit: visit.unwrap_or(Visit::Load) }
}

fn report(plant: &Plant<'_>, ask: &Ask, solved: &Solved) -> Rhythm {
    let Solved { choice, problem, answer, proof } = solved;
    let times = times::middle(problem, answer);
    let own = times::of_carrier(problem, answer, &times.start);
    let bounds = bounds::Bounds::of(problem);
    let legs = legs(plant, choice, problem.turn);
    let order: Vec<usize> =
        answer.order.iter().flat_map(|j| problem.jobs[*j].first..=problem.jobs[*j].last).collect();
    let moves = problem.moves();
    let visits = (0..moves).map(|i| plant.visit(i));
    let arrives = own[moves - 1] + legs[moves - 1].iter().map(|p| p.to_down().0).max().unwrap_or(0);
    Rhythm {
        ask: *ask,
        period: Dur(answer.period),
        proof: *proof,
        binding: times::critical(problem, answer).into_iter().map(|w| binding(plant, w)).collect(),
        crane_bound: Dur(bounds.crane),
        tank_bounds: bounds.tank.iter().map(|t| Dur(*t)).collect(),
        stops: stops(plant, choice, &own, &times.play, &legs),
        order: order.iter().map(|i| plant.visit(*i)).collect(),
        crane: crane_use(plant, solved, &own, &legs),
        on_line: Dur(arrives - own[0]) - legs[0][0].to_lift(),
        round: problem.turn,
        on_hook: visits.filter(|v| plant.line.on_hook(plant.recipe, *v)).collect(),
    }
}

fn binding(plant: &Plant<'_>, why: Why) -> Binding {
    match why {
        Why::Hoist => Binding::Crane,
        Why::Soak(i) => Binding::Soak(plant.visit(usize::from(i))),
        Why::Window(i) => Binding::Window(plant.visit(usize::from(i))),
    }
}

/// The phases of every move for every carrier of a round.
fn legs(plant: &Plant<'_>, choice: &Choice, round: usize) -> Vec<Vec<Phases>> {
    let tank = |i: usize, k: usize| plant.places[choice.turns[i].slot(k)];
    (0..choice.turns.len() - 1)
        .map(|i| {
            (0..round)
                .map(|k| {
                    plant
                        .phases(i, tank(i, k), tank(i + 1, k))
                        .expect("the moves of a solved problem can be made")
                })
                .collect()
        })
        .collect()
}

fn stops(plant: &Plant<'_>, choice: &Choice, own: &[i64], play: &[i64], legs: &[Vec<Phases>]) -> Vec<Stop> {
    let stop = |(i, turn): (usize, &problem::Turn)| {
        let dwell = |p: (&Phases, &Phases)| Dur(own[i] - own[i - 1]) + p.1.to_lift() - p.0.to_down();
        let at_work = i > 0 && i < own.len();
        let dwells: Vec<Dur> =
            if at_work { legs[i - 1].iter().zip(&legs[i]).map(dwell).collect() } else { vec![Dur::ZERO] };
        let (least, most) = (dwells.iter().min().copied(), dwells.iter().max().copied());
        Stop {
            visit: plant.visit(i),
            tanks: turn.slots.iter().map(|s| plant.places[*s]).collect(),
            ahead: turn.ahead,
            dwell: (least.unwrap_or_default(), most.unwrap_or_default()),
            leaves: own.get(i).map(|t| Dur(*t)),
            play: play.get(i).map_or(Dur::ZERO, |p| Dur(*p)),
        }
    };
    choice.turns.iter().enumerate().map(stop).collect()
}

/// Averages over one round of turns.
fn crane_use(plant: &Plant<'_>, solved: &Solved, own: &[i64], legs: &[Vec<Phases>]) -> CraneUse {
    let Solved { choice, problem, answer, .. } = solved;
    let round = problem.turn;
    let behind = branch::behind(&answer.crossed);
    let (mut loaded, mut empty) = (0, 0);
    for (at, job) in answer.order.iter().enumerate() {
        let (j, next) = (problem.jobs[*job], answer.order.get(at + 1));
        let after = next.copied().unwrap_or(answer.order[0]);
        // The carrier of the job that follows: so many came after this one.
        let later = behind[*job] - behind[after] + i64::from(next.is_none());
        for (k, phases) in legs[j.last].iter().enumerate() {
            loaded += own[j.last] - own[j.first] + phases.total().0;
            let other = (k as i64 + later).rem_euclid(round as i64) as usize;
            let from = plant.places[choice.turns[j.last + 1].slot(k)];
            let to = plant.places[choice.turns[problem.jobs[after].first].slot(other)];
            empty += plant.line.empty_travel(plant.hoist, from, to).unwrap_or_default().0;
        }
    }
    let (loaded, empty) = (Dur(loaded / round as i64), Dur(empty / round as i64));
    CraneUse { loaded, empty, idle: Dur(answer.period) - loaded - empty }
}

/// The stages of a recipe, each once, in the order of its steps.
fn stages_of(line: &Line, recipe: RecipeId) -> Vec<StageId> {
    let mut stages: Vec<StageId> = Vec::new();
    for step in &line.recipes[recipe].steps {
        if !stages.contains(&step.stage) {
            stages.push(step.stage);
        }
    }
    stages
}
