//! The rhythm: the shortest 1-degree cycle of one recipe on one hoist or several, with the proof that none is shorter.
//!
//! Every period one carrier starts and one is finished, and every carrier makes its moves at the same times after its own
//! start. Carriers take the tanks of a stage in turn: the first so and so many of the file, as many as pay. That is the class
//! of cycles among which the period is the shortest; cycles in which two carriers in a row are treated differently, or which
//! use standby water, are not looked at. A carrier is always waiting at the load station, and a finished one is taken away at
//! once. Rectifier and line power are not looked at either: a recipe does not know the surface of what hangs on the bar.
//!
//! Several hoists on one rail keep the lags of `rail` between their moves, every move of the recipe is always made by the
//! same hoist, and where more than one works dips on the hook are as short as they may be. The proof is about such cycles.
//! Asked for one hoist, that one works and others must stand out of its way. Knows no clock: the effort is counted in nodes.

mod bounds;
mod branch;
mod crews;
mod network;
mod plant;
mod problem;
mod tables;
mod team;
mod times;
mod unroll;
mod what_if;

pub use tables::{TableRhythm, Tables, rhythm_of_tables};
pub use unroll::unroll;
pub use what_if::{Case, What, period, what_if};

use branch::Answer;
use network::Why;
use plant::{Change, Choice, Plant};
use problem::{Job, NEVER, Problem};
use team::Team;

use crate::ids::{HoistId, RecipeId, StageId, TankId};
use crate::line::{Line, Phases, Visit};
use crate::units::Dur;

/// What is asked.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Ask {
    /// The recipe that every carrier runs.
    pub recipe: RecipeId,
    /// The hoist that does all moves; `None` for all hoists of the line together.
    pub hoist: Option<HoistId>,
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
    /// A hoist has no time left between its moves.
    Crane,
    /// The hoists are in each other's way.
    Rail,
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
    /// The hoist that takes the carrier out; at the unload the one that brings it.
    pub by: HoistId,
    /// The move that takes the carrier out begins so long after the carrier's load begins; `None` at the unload.
    pub leaves: Option<Dur>,
    /// How far this move could begin earlier or later if all others gave way.
    pub play: Dur,
}

/// What a hoist does in one period, on average over the tanks taken in turn.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct CraneUse {
    /// Which hoist.
    pub hoist: HoistId,
    /// With a load: hook to unhook, dips on the hook included.
    pub loaded: Dur,
    /// Travelling empty, without giving way.
    pub empty: Dur,
    /// Waiting or giving way.
    pub idle: Dur,
    /// No period is shorter than the work this hoist has in it.
    pub bound: Dur,
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
    /// For each step: no period with these tanks and hoists is shorter than soak and swap shared by its tanks.
    pub tank_bounds: Vec<Dur>,
    /// Visits from load to unload.
    pub stops: Vec<Stop>,
    /// Moves in the order of the period, by the visit they leave; the load first.
    pub order: Vec<Visit>,
    /// What each hoist does, in the order of the rail; the asked one, or all of the line.
    pub cranes: Vec<CraneUse>,
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
    let solved = solve(line, ask, Change::default())?;
    Ok(report(ask, &solved))
}

/// The best order over all choices of tanks and hoists.
struct Solved<'a> {
    plant: Plant<'a>,
    choice: Choice,
    task: Task,
    answer: Answer,
    proof: Proof,
}

/// What is searched.
enum Task {
    One(Problem),
    Several(Team),
}

/// A choice of tanks and hoists on trial.
struct Trial {
    /// No period with it is shorter; `NEVER` once there is nothing more to be found.
    bound: i64,
    /// Which of the plants.
    plant: usize,
    choice: Choice,
    task: Task,
}

/// What all choices together came to.
struct Trials<'a> {
    plants: Vec<Plant<'a>>,
    best: Option<(usize, Answer)>,
    open: Vec<Trial>,
    /// False if some choices of tanks for one hoist were not tried.
    whole: bool,
    /// No choice of several hoists that was not tried is shorter.
    rest: i64,
    nodes: u64,
    bound: i64,
    /// Why some choices cannot be run.
    why: Option<NoRhythm>,
}

impl Task {
    fn search(&self, cap: i64, nodes: u64) -> branch::Found {
        match self {
            Self::One(problem) => branch::search(problem, cap, nodes),
            Self::Several(team) => team.search(cap, nodes),
        }
    }

    fn jobs(&self) -> &[Job] {
        match self {
            Self::One(problem) => &problem.jobs,
            Self::Several(team) => &team.jobs,
        }
    }

    fn moves(&self) -> usize {
        match self {
            Self::One(problem) => problem.moves(),
            Self::Several(team) => team.moves(),
        }
    }

    /// No period is shorter than the hoist's work.
    fn crane(&self, hoist: HoistId) -> i64 {
        match self {
            Self::One(problem) => bounds::Bounds::of(problem).crane,
            Self::Several(team) => team.crane(hoist),
        }
    }

    fn tanks(&self) -> Vec<i64> {
        match self {
            Self::One(problem) => bounds::Bounds::of(problem).tank,
            Self::Several(team) => (1..team.moves()).map(|i| team.tank(i)).collect(),
        }
    }
}

fn solve<'a>(line: &'a Line, ask: &Ask, change: Change) -> Result<Solved<'a>, NoRhythm> {
    let mut found = try_all(line, ask, change, NEVER)?;
    let Some((at, answer)) = found.best.take() else { return Err(found.why.unwrap_or(NoRhythm::Effort)) };
    let proof = found.proof(answer.period);
    let Trial { choice, task, plant, .. } = found.open.swap_remove(at);
    Ok(Solved { plant: found.plants.swap_remove(plant), choice, task, answer, proof })
}

impl Trials<'_> {
    fn proof(&self, period: i64) -> Proof {
        let bound = self.bound.min(period);
        Proof { optimal: self.whole && bound == period, nodes: self.nodes, bound: Dur(bound) }
    }

    /// Searches some of the choices, with at most `most` nodes each and `nodes` for everything.
    fn look(&mut self, which: std::ops::Range<usize>, cap: &mut i64, most: u64, nodes: u64) {
        for at in which {
            let trial = &mut self.open[at];
            if trial.bound >= *cap {
                continue;
            }
            let left = nodes.saturating_sub(self.nodes);
            let looked = trial.task.search(*cap, most.min(left));
            self.nodes += looked.nodes;
            trial.bound = trial.bound.max(looked.bound);
            if let Some(answer) = looked.best {
                *cap = answer.period;
                self.best = Some((at, answer));
            }
        }
    }
}

/// Searches all choices of tanks and hoists for a period below `cap`.
fn try_all<'a>(line: &'a Line, ask: &Ask, change: Change, mut cap: i64) -> Result<Trials<'a>, NoRhythm> {
    let all: Vec<HoistId> = ask.hoist.map_or_else(|| line.hoists.ids().collect(), |h| vec![h]);
    let mut plants: Vec<Plant<'a>> = all.iter().map(|h| Plant::new(line, ask, vec![*h], change)).collect();
    let together = (all.len() > 1).then(|| Plant::new(line, ask, all, change));
    if let Some(plant) = together.as_ref().or(plants.first())
        && plant.choices().0.is_empty()
    {
        return Err(out_of_reach(plant));
    }
    let mut found = trials(&plants);
    // A short look at each first: a good answer early saves most of the work on all the others.
    let short = ask.nodes / (4 * found.open.len().max(1) as u64);
    let alone = found.open.len();
    found.look(0..alone, &mut cap, short, ask.nodes);
    if let Some(plant) = together {
        let crews = crews::crews(&plant, cap);
        found.rest = found.rest.min(crews.rest);
        let at = plants.len();
        found.open.extend(crews.ways.into_iter().map(|(bound, choice, team)| Trial {
            bound,
            plant: at,
            choice,
            task: Task::Several(team),
        }));
        plants.push(plant);
        let short = ask.nodes / (4 * (found.open.len() - alone).max(1) as u64);
        found.look(alone..found.open.len(), &mut cap, short, ask.nodes);
        // Most likely to be cut off is what comes last: one hoist alone, whose bounds say most.
        found.look(alone..found.open.len(), &mut cap, u64::MAX, ask.nodes);
    }
    found.look(0..alone, &mut cap, u64::MAX, ask.nodes);
    found.bound = found.open.iter().map(|t| t.bound).fold(cap, i64::min).min(found.rest);
    found.plants = plants;
    Ok(found)
}

/// Every choice of tanks for one hoist that can be run, the most promising first.
fn trials<'a>(plants: &[Plant<'a>]) -> Trials<'a> {
    let mut found = Trials {
        plants: Vec::new(),
        best: None,
        open: Vec::new(),
        whole: true,
        rest: NEVER,
        nodes: 0,
        bound: 0,
        why: None,
    };
    for (at, plant) in plants.iter().enumerate() {
        let (choices, all) = plant.choices();
        found.whole &= all;
        for choice in choices {
            if !plant::is_short(&choice) {
                found.whole = false;
                continue;
            }
            match plant.problem(&choice) {
                Ok(problem) => {
                    let bound = bounds::Bounds::of(&problem).best();
                    found.open.push(Trial { bound, plant: at, choice, task: Task::One(problem) });
                }
                Err(no) => {
                    found.why.get_or_insert(no);
                }
            }
        }
    }
    // A stable sort keeps the file's order among equals.
    found.open.sort_by_key(|t| t.bound);
    if !found.whole {
        // A choice that was not tried could be as short as the least that any of those tried could be.
        found.rest = found.open.first().map_or(0, |t| t.bound);
    }
    found
}

fn out_of_reach(plant: &Plant<'_>) -> NoRhythm {
    let steps = plant.line.recipes[plant.recipe].steps.len();
    let served = |v: Visit| plant.line.places_for(plant.recipe, v).iter().any(|t| plant.is_served(*t));
    let visit = (0..steps + 2).map(|i| plant.visit(i)).find(|v| !served(*v));
    NoRhythm::OutOfReach { visit: visit.unwrap_or(Visit::Load) }
}

fn report(ask: &Ask, solved: &Solved<'_>) -> Rhythm {
    let Solved { plant, choice, task, answer, proof } = solved;
    let (jobs, moves) = (task.jobs(), task.moves());
    let times = times::middle(moves, answer);
    let own = times::of_carrier(jobs, answer, &times.start);
    let legs = plant.legs(choice).expect("the moves of a solved problem can be made");
    let (order, _) = team::in_period(jobs, &own, answer.period);
    let visits = (0..moves).map(|i| plant.visit(i));
    let arrives = own[moves - 1] + legs[moves - 1].iter().map(|p| p.to_down().0).max().unwrap_or(0);
    let hoists: Vec<HoistId> = ask.hoist.map_or_else(|| plant.line.hoists.ids().collect(), |h| vec![h]);
    Rhythm {
        ask: *ask,
        period: Dur(answer.period),
        proof: *proof,
        binding: times::critical(moves, answer).into_iter().map(|w| binding(plant, w)).collect(),
        tank_bounds: task.tanks().into_iter().map(Dur).collect(),
        stops: stops(plant, choice, &own, &times.play, &legs),
        order: order.iter().flat_map(|j| jobs[*j].first..=jobs[*j].last).map(|i| plant.visit(i)).collect(),
        cranes: hoists.iter().map(|h| crane_use(solved, *h, &own, &legs)).collect(),
        on_line: Dur(arrives - own[0]) - legs[0][0].to_lift(),
        round: plant::round(choice),
        on_hook: visits.filter(|v| plant.line.on_hook(plant.recipe, *v)).collect(),
    }
}

fn binding(plant: &Plant<'_>, why: Why) -> Binding {
    match why {
        Why::Hoist => Binding::Crane,
        Why::Rail => Binding::Rail,
        Why::Soak(i) => Binding::Soak(plant.visit(usize::from(i))),
        Why::Window(i) => Binding::Window(plant.visit(usize::from(i))),
    }
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
            by: choice.by[i.min(choice.by.len() - 1)],
            dwell: (least.unwrap_or_default(), most.unwrap_or_default()),
            leaves: own.get(i).map(|t| Dur(*t)),
            play: play.get(i).map_or(Dur::ZERO, |p| Dur(*p)),
        }
    };
    choice.turns.iter().enumerate().map(stop).collect()
}

/// Averages over one round of turns.
fn crane_use(solved: &Solved<'_>, hoist: HoistId, own: &[i64], legs: &[Vec<Phases>]) -> CraneUse {
    let Solved { plant, choice, task, answer, .. } = solved;
    let (jobs, round) = (task.jobs(), plant::round(choice));
    let (order, behind) = team::in_period(jobs, own, answer.period);
    let order: Vec<usize> = order.into_iter().filter(|j| choice.by[jobs[*j].first] == hoist).collect();
    let (mut loaded, mut empty) = (0, 0);
    for (at, job) in order.iter().enumerate() {
        let (j, next) = (jobs[*job], order.get(at + 1));
        let after = next.copied().unwrap_or(order[0]);
        // The carrier of the job that follows: so many came after this one.
        let later = behind[*job] - behind[after] + i64::from(next.is_none());
        for (k, phases) in legs[j.last].iter().enumerate() {
            loaded += own[j.last] - own[j.first] + phases.total().0;
            let other = (k as i64 + later).rem_euclid(round as i64) as usize;
            let from = plant.places[choice.turns[j.last + 1].slot(k)];
            let to = plant.places[choice.turns[jobs[after].first].slot(other)];
            empty += plant.line.empty_travel(hoist, from, to).unwrap_or_default().0;
        }
    }
    let (loaded, empty) = (Dur(loaded / round as i64), Dur(empty / round as i64));
    let bound = Dur(if order.is_empty() { 0 } else { task.crane(hoist) });
    CraneUse { hoist, loaded, empty, idle: Dur(answer.period) - loaded - empty, bound }
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
