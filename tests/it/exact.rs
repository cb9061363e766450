//! Proven best finishes of small instances, from a model of its own in a general-purpose constraint solver.
//!
//! The model takes the numbers of `dense` and nothing of the planner's: starts of hauls, a choice of tanks for each, and
//! an order for every two hauls of different carriers.
//! 1. Dwell between two hauls of a carrier in its window.
//! 2. One hoist: of two hauls one ends, and the hoist travels, before the other starts.
//! 3. Strict swap: of two carriers in one tank the first is taken out by an earlier haul than the second is brought by.
//! 4. Alike carriers start in the order of their numbers, which costs nothing.
//!
//! Times are divided by what divides them all, so nothing is rounded.

use std::ops::ControlFlow;

use pumpkin_conflict_resolvers::resolvers::ResolutionResolver;
use pumpkin_constraints::less_than_or_equals;
use pumpkin_core::optimisation::OptimisationDirection;
use pumpkin_core::optimisation::linear_sat_unsat::LinearSatUnsat;
use pumpkin_core::results::{OptimisationResult, ProblemSolution as _, SolutionReference};
use pumpkin_core::termination::Indefinite;
use pumpkin_core::variables::{AffineView, DomainId, Literal, TransformableVariable as _};
use pumpkin_core::{DefaultBrancher, Solver};

use super::dense::{Dense, Way};
use super::families::limit_air;
use super::lines::{book, opened, stage, step, tank, two_carriers};
use dwellhand::ids::{Arena, Id as _, OrderId, RecipeId, StageId, TankId};
use dwellhand::line::{Hoist, Lift, Line, OrderBook, Rail, Recipe, Role, StageKind, Step, Travel};
use dwellhand::plan::{Reserve, Settings, plan};
use dwellhand::rng::Rng;
use dwellhand::schedule::Schedule;
use dwellhand::units::{Dur, Mm, Time};
use dwellhand::verify::verify;

/// A finish that no other comes before.
struct Best {
    finish: i64,
    /// Way and start of every haul of every carrier.
    chosen: Vec<Vec<(usize, i64)>>,
}

/// Instances the planner is held against.
const SEEDS: u64 = 300;
/// Instances whose relations are looked at; each is solved five times.
const RELATIONS: u64 = 30;

struct Model<'a> {
    dense: &'a Dense,
    solver: Solver,
    /// Milliseconds a unit.
    unit: i64,
    /// Start of haul `k` of carrier `c`.
    starts: Vec<Vec<DomainId>>,
    /// Whether a way is taken.
    ways: Vec<Vec<Vec<Literal>>>,
    /// Whether haul `k` of a carrier leaves a place; one more for where it ends.
    places: Vec<Vec<Vec<(usize, Literal)>>>,
    /// `before[c][k][d][l]` for `c != d`.
    before: Vec<Vec<Vec<Vec<Option<Literal>>>>>,
}

/// The earliest finish, `None` if there is none at or before `latest`.
fn solve(dense: &Dense, latest: Option<i64>) -> Option<Best> {
    let unit = unit(dense);
    let serial = serial(dense);
    let latest = latest.map_or(serial, |l| l.min(serial));
    let mut model = Model {
        dense,
        solver: Solver::default(),
        unit,
        starts: Vec::new(),
        ways: Vec::new(),
        places: Vec::new(),
        before: Vec::new(),
    };
    let horizon = latest.div_euclid(unit);
    model.choose(horizon);
    model.order();
    model.keep_windows();
    model.keep_hoist();
    model.keep_swaps();
    model.order_alike();
    let finish = model.finish(horizon);
    model.answer(finish)
}

/// What divides every figure.
fn unit(dense: &Dense) -> i64 {
    fn gcd(a: i64, b: i64) -> i64 {
        if b == 0 { a.abs() } else { gcd(b, a % b) }
    }
    let travel = dense.empty.iter().flatten().copied().filter(|t| *t >= 0);
    let carriers = dense.carriers.iter().flat_map(|c| {
        let windows = c.windows.iter().flat_map(|&(min, max)| [min, if max < 0 { 0 } else { max }]);
        let hauls =
            c.hauls.iter().flat_map(|h| h.ways.iter().flat_map(|w| [w.down, w.total]).chain([h.lift]));
        windows.chain(hauls).chain([c.ready])
    });
    travel.chain(carriers).fold(0, gcd).max(1)
}

/// A finish that one carrier after the other never exceeds.
fn serial(dense: &Dense) -> i64 {
    let travel = dense.empty.iter().flatten().max().copied().unwrap_or(0);
    let ready = dense.carriers.iter().map(|c| c.ready).max().unwrap_or(0);
    let alone = |c: &super::dense::Carrier| -> i64 {
        let hauls: i64 = c.hauls.iter().filter_map(|h| h.ways.iter().map(|w| w.total).max()).sum();
        hauls + c.windows.iter().map(|w| w.0).sum::<i64>() + travel
    };
    ready + dense.carriers.iter().map(alone).sum::<i64>()
}

impl Model<'_> {
    fn clause(&mut self, literals: &[Literal]) {
        let tag = self.solver.new_constraint_tag();
        self.solver.add_clause(literals.iter().map(Literal::get_true_predicate), tag);
    }

    /// Exactly one of the literals.
    fn one_of(&mut self, literals: &[Literal]) {
        self.clause(literals);
        for (i, a) in literals.iter().enumerate() {
            for b in &literals[..i] {
                self.clause(&[!*a, !*b]);
            }
        }
    }

    /// `later >= earlier + gap` milliseconds if all of `given` hold.
    fn after(&mut self, earlier: DomainId, later: DomainId, gap: i64, given: &[Literal]) {
        let terms: [AffineView<DomainId>; 2] = [earlier.scaled(1), later.scaled(-1)];
        let rhs = -i32::try_from(gap / self.unit).expect("a horizon of hours fits");
        let tag = self.solver.new_constraint_tag();
        let known = self.solver.get_true_literal();
        let given: Vec<Literal> = given.iter().copied().filter(|l| *l != known).collect();
        let literal = match given[..] {
            [] => {
                self.solver.add_constraint(less_than_or_equals(terms, rhs, tag)).post();
                return;
            }
            [one] => one,
            _ => {
                let all = self.solver.new_literal();
                let mut clause: Vec<Literal> = given.iter().map(|l| !*l).collect();
                clause.push(all);
                self.clause(&clause);
                all
            }
        };
        self.solver.add_constraint(less_than_or_equals(terms, rhs, tag)).implied_by(literal);
    }

    /// A literal for each of several choices; no choice is certain.
    fn choice(&mut self, of: usize) -> Vec<Literal> {
        if of == 1 {
            return vec![self.solver.get_true_literal()];
        }
        let literals: Vec<Literal> = (0..of).map(|_| self.solver.new_literal()).collect();
        self.one_of(&literals);
        literals
    }

    fn choose(&mut self, horizon: i64) {
        let horizon = i32::try_from(horizon).expect("a horizon of hours fits");
        for carrier in &self.dense.carriers {
            let ready = i32::try_from(carrier.ready / self.unit).expect("a horizon of hours fits");
            let starts: Vec<DomainId> = carrier
                .hauls
                .iter()
                .map(|_| self.solver.new_bounded_integer(ready, horizon.max(ready)))
                .collect();
            let ways: Vec<Vec<Literal>> = carrier.hauls.iter().map(|h| self.choice(h.ways.len())).collect();
            let mut places: Vec<Vec<(usize, Literal)>> = Vec::new();
            for k in 0..=carrier.hauls.len() {
                let from = carrier.hauls.get(k).into_iter().flat_map(|h| h.ways.iter().map(|w| w.from));
                let to = k.checked_sub(1).map(|b| &carrier.hauls[b]);
                let to = to.into_iter().flat_map(|h| h.ways.iter().map(|w| w.to));
                let mut all: Vec<usize> = from.chain(to).collect();
                all.sort_unstable();
                all.dedup();
                let literals = self.choice(all.len());
                places.push(all.into_iter().zip(literals).collect());
            }
            for (k, haul) in carrier.hauls.iter().enumerate() {
                for (way, literal) in haul.ways.iter().zip(&ways[k]) {
                    let at = |stay: &[(usize, Literal)], place: usize| {
                        stay.iter().find(|(p, _)| *p == place).expect("every end of a way is a place").1
                    };
                    let (from, to) = (at(&places[k], way.from), at(&places[k + 1], way.to));
                    self.clause(&[!*literal, from]);
                    self.clause(&[!*literal, to]);
                }
            }
            self.starts.push(starts);
            self.ways.push(ways);
            self.places.push(places);
        }
    }

    /// A literal for the order of every two hauls of different carriers. What comes before a haul comes before the later
    /// hauls of its carrier too.
    fn order(&mut self) {
        let hauls: Vec<usize> = self.dense.carriers.iter().map(|c| c.hauls.len()).collect();
        let n = hauls.len();
        self.before = hauls
            .iter()
            .map(|&h| vec![hauls.iter().map(|&l| vec![None; l]).collect::<Vec<_>>(); h])
            .collect();
        for c in 0..n {
            for d in c + 1..n {
                for k in 0..hauls[c] {
                    for l in 0..hauls[d] {
                        let literal = self.solver.new_literal();
                        self.before[c][k][d][l] = Some(literal);
                        self.before[d][l][c][k] = Some(!literal);
                        if l > 0 {
                            let nearer = self.is_before((c, k), (d, l - 1));
                            self.clause(&[!nearer, literal]);
                        }
                        if k > 0 {
                            let sooner = self.is_before((c, k - 1), (d, l));
                            self.clause(&[!literal, sooner]);
                        }
                    }
                }
            }
        }
    }

    fn is_before(&self, a: (usize, usize), b: (usize, usize)) -> Literal {
        self.before[a.0][a.1][b.0][b.1].expect("only hauls of different carriers are compared")
    }

    fn keep_windows(&mut self) {
        for c in 0..self.starts.len() {
            let carrier = &self.dense.carriers[c];
            for k in 0..carrier.hauls.len() {
                for (place, literal) in self.places[c][k].clone() {
                    let first = i32::try_from(self.dense.empty[self.dense.home][place] / self.unit);
                    let first = first.expect("a horizon of hours fits");
                    let tag = self.solver.new_constraint_tag();
                    let there = less_than_or_equals([self.starts[c][k].scaled(-1)], -first, tag);
                    self.solver.add_constraint(there).implied_by(literal);
                }
                let Some(&(min, max)) = carrier.windows.get(k) else { continue };
                let (this, next) = (self.starts[c][k], self.starts[c][k + 1]);
                for (way, taken) in carrier.hauls[k].ways.iter().zip(self.ways[c][k].clone()) {
                    let gap = way.down - carrier.hauls[k + 1].lift;
                    self.after(this, next, (gap + min).max(way.total), &[taken]);
                    if max >= 0 {
                        self.after(next, this, -(gap + max), &[taken]);
                    }
                }
            }
        }
    }

    fn keep_hoist(&mut self) {
        let n = self.starts.len();
        for c in 0..n {
            for d in (0..n).filter(|d| *d != c) {
                for k in 0..self.starts[c].len() {
                    for l in 0..self.starts[d].len() {
                        self.keep_apart((c, k), (d, l));
                    }
                }
            }
        }
    }

    /// If the one haul is before the other, the hoist has time for both.
    fn keep_apart(&mut self, one: (usize, usize), other: (usize, usize)) {
        let literal = self.is_before(one, other);
        let (earlier, later) = (self.starts[one.0][one.1], self.starts[other.0][other.1]);
        let dense = self.dense;
        let gap = |way: &Way, place: usize| way.total + dense.empty[way.to][place];
        let ways = &dense.carriers[one.0].hauls[one.1].ways;
        let places = self.places[other.0][other.1].clone();
        let least = ways.iter().flat_map(|w| places.iter().map(move |(p, _)| gap(w, *p))).min();
        let least = least.expect("every haul has a way");
        self.after(earlier, later, least, &[literal]);
        for (way, taken) in ways.iter().zip(self.ways[one.0][one.1].clone()) {
            for (place, there) in &places {
                if gap(way, *place) > least {
                    self.after(earlier, later, gap(way, *place), &[literal, taken, *there]);
                }
            }
        }
    }

    fn keep_swaps(&mut self) {
        // Who is where between which hauls; a dip on the hook begins and ends within one.
        let mut stays: Vec<(usize, usize, usize, usize, Literal)> = Vec::new();
        for (c, carrier) in self.dense.carriers.iter().enumerate() {
            for k in 1..carrier.hauls.len() {
                stays.extend(self.places[c][k].iter().map(|(place, there)| (*place, c, k - 1, k, *there)));
            }
            for (k, haul) in carrier.hauls.iter().enumerate() {
                for (way, taken) in haul.ways.iter().zip(&self.ways[c][k]) {
                    stays.extend(way.dips.iter().map(|place| (*place, c, k, k, *taken)));
                }
            }
        }
        for (i, &(place, c, into, out, there)) in stays.iter().enumerate() {
            for &(other, d, other_into, other_out, other_there) in &stays[..i] {
                if place == other && c != d {
                    let first = self.is_before((c, out), (d, other_into));
                    let second = self.is_before((d, other_out), (c, into));
                    self.clause(&[!there, !other_there, first, second]);
                }
            }
        }
    }

    fn order_alike(&mut self) {
        for d in 0..self.starts.len() {
            let kind = self.dense.carriers[d].kind;
            if let Some(c) = (0..d).rfind(|c| self.dense.carriers[*c].kind == kind) {
                let literal = self.is_before((c, 0), (d, 0));
                self.clause(&[literal]);
            }
        }
    }

    /// The end of the last unload.
    fn finish(&mut self, horizon: i64) -> DomainId {
        let horizon = i32::try_from(horizon).expect("a horizon of hours fits");
        let finish = self.solver.new_bounded_integer(0, horizon);
        for c in 0..self.starts.len() {
            let last = self.starts[c].len() - 1;
            let start = self.starts[c][last];
            for (way, taken) in self.dense.carriers[c].hauls[last].ways.iter().zip(self.ways[c][last].clone())
            {
                self.after(start, finish, way.total, &[taken]);
            }
        }
        finish
    }

    fn answer(mut self, finish: DomainId) -> Option<Best> {
        let mut brancher = self.solver.default_brancher();
        // No time limit: the same answer on a slow machine.
        let mut patience = Indefinite;
        let mut resolver = ResolutionResolver::default();
        let on_solution = |_: &Solver,
                           _: SolutionReference,
                           _: &DefaultBrancher,
                           _: &ResolutionResolver|
         -> ControlFlow<()> { ControlFlow::Continue(()) };
        let search = LinearSatUnsat::new(OptimisationDirection::Minimise, finish, on_solution);
        let result = self.solver.optimise(&mut brancher, &mut patience, &mut resolver, search);
        let found = match result {
            OptimisationResult::Optimal(found) => found,
            OptimisationResult::Unsatisfiable => return None,
            _ => unreachable!("nothing stops the search"),
        };
        let chosen = self
            .starts
            .iter()
            .zip(&self.ways)
            .map(|(starts, ways)| {
                let way = |literals: &[Literal]| {
                    literals.iter().position(|l| found.get_literal_value(*l)).expect("one way is taken")
                };
                let start = |s: &DomainId| i64::from(found.get_integer_value(*s)) * self.unit;
                starts.iter().zip(ways).map(|(s, w)| (way(w), start(s))).collect()
            })
            .collect();
        Some(Best { finish: i64::from(found.get_integer_value(finish)) * self.unit, chosen })
    }
}

/// A small line with everything in whole units that the model knows: one hoist, perhaps parallel tanks, dips on the
/// hook, two recipes, air limits, stations at one end.
#[derive(Debug, Clone)]
struct Small {
    /// Copies of each stage's tank, by stage.
    copies: Vec<usize>,
    recipes: Vec<Vec<Step>>,
    carriers: usize,
    same_end: bool,
    /// The rail read from the other end.
    mirrored: bool,
    /// Seconds of empty travel and its start, or a kinematic crane.
    pace: Option<(i64, i64)>,
    /// A tank more of this stage, beyond all others.
    spare: Option<usize>,
}

impl Small {
    fn drawn(seed: u64) -> Self {
        let mut rng = Rng::stream(seed, "small exact");
        let n = 4 + rng.below(7);
        let long = n / 2;
        let rinse = [15, 30, 80][rng.below(3)];
        let dip = (n > 5 && rng.chance(0.4)).then_some(2);
        let mut first: Vec<Step> = Vec::new();
        for stage in 0..n {
            let mut s = if stage == long {
                let min = 300 + 60 * rng.below(10) as i64;
                step(stage, min, min + 30 + 30 * rng.below(4) as i64)
            } else {
                let min = 20 + 10 * rng.below(10) as i64;
                step(stage, min, min * rinse / 10)
            };
            s.drip = Dur::from_secs(rng.below(3) as i64 * 2);
            if dip == Some(stage) {
                s = Step { on_hook: true, drip: Dur::ZERO, ..step(stage, 10, 30) };
            }
            first.push(s);
        }
        let mut recipes = vec![first];
        if rng.chance(0.4) {
            let mut second = recipes[0].clone();
            let more = Dur::from_secs(60 * (1 + rng.below(5) as i64));
            let s = &mut second[long];
            (s.min, s.target, s.max) = (s.min + more, s.target + more, s.max + more);
            if rng.chance(0.5) {
                second.remove(n - 1);
            }
            recipes.push(second);
        }
        let mut copies = vec![1; n];
        copies[long] = 1 + rng.below(3);
        if rng.chance(0.2) {
            copies[0] = 2;
        }
        // The longer the recipe, the fewer carriers: every case is to be proven in a moment.
        let most = if n > 8 {
            2
        } else if n > 6 {
            3
        } else {
            4
        };
        let mut small = Self {
            copies,
            recipes,
            carriers: 2 + rng.below(most - 1),
            same_end: rng.chance(0.3),
            mirrored: false,
            pace: rng.chance(0.8).then(|| (1 + rng.below(3) as i64, rng.below(4) as i64)),
            spare: None,
        };
        if rng.chance(0.5) {
            // Set once, for the line as drawn: a tank more must not move them.
            let mut line = small.line();
            limit_air(&mut line, |_| true);
            small.recipes = line.recipes.iter().map(|(_, r)| r.steps.clone()).collect();
        }
        small
    }

    fn line(&self) -> Line {
        let station = |load, unload| Role::Station { load, unload };
        let mut roles = vec![station(true, false)];
        if self.same_end {
            roles.push(station(false, true));
        }
        for (stage, copies) in self.copies.iter().enumerate() {
            roles.extend((0..*copies).map(|_| Role::Bath(StageId::at(stage))));
        }
        if !self.same_end {
            roles.push(station(false, true));
        }
        roles.extend(self.spare.map(|stage| Role::Bath(StageId::at(stage))));
        let end = 1200 * (roles.len() as i64 - 1);
        let at = |i: usize| if self.mirrored { end - 1200 * i as i64 } else { 1200 * i as i64 };
        let mut tanks: Vec<_> =
            roles.iter().enumerate().map(|(i, r)| tank(&format!("P{i:02}"), at(i), *r)).collect();
        if self.mirrored {
            tanks.reverse();
        }
        let home = tanks.iter().position(|t| t.name == "P00").map(TankId::at).unwrap();
        let n = tanks.len();
        let table = |f: &dyn Fn(i64) -> i64| -> Vec<Vec<Option<Dur>>> {
            let far = |a: usize, b: usize| (tanks[a].position.0 - tanks[b].position.0).abs() / 1200;
            (0..n).map(|a| (0..n).map(|b| Some(Dur::from_secs(f(far(a, b))))).collect()).collect()
        };
        let (lift, travel) = match self.pace {
            Some((each, start)) => (
                Lift::Fixed { raise: Dur::from_secs(4), lower: Dur::from_secs(4) },
                Travel::Table {
                    empty: table(&|far| if far == 0 { 0 } else { start + each * far }),
                    loaded: table(&|far| 10 + start + each * far),
                },
            ),
            None => (
                Lift::Kinematic { height: Mm(1800), speed: 0.25, accel: 0.25 },
                Travel::Kinematic { speed: 0.6, accel: 0.3, decel: 0.3 },
            ),
        };
        let recipe = |steps: &Vec<Step>| Recipe {
            strips_racks: false,
            name: "r".to_owned(),
            label: String::new(),
            steps: steps.clone(),
            rework: false,
        };
        Line {
            rework: dwellhand::line::Rework::default(),
            rinsing: dwellhand::line::Rinsing::default(),
            name: "small".to_owned(),
            rail: Rail { from: Mm(0), to: Mm(end), gap: Mm(0) },
            tanks: Arena::new(tanks),
            stages: (0..self.copies.len()).map(|i| stage(&format!("s{i}"), StageKind::Rinse)).collect(),
            hoists: Arena::new(vec![Hoist {
                name: "H1".to_owned(),
                reach_from: Mm(0),
                reach_to: Mm(end),
                home,
                hook: Dur::from_secs(2),
                unhook: Dur::from_secs(1),
                settle: Dur::from_secs(1),
                lift,
                travel,
            }]),
            rectifiers: Arena::default(),
            power_cap: None,
            recipes: self.recipes.iter().map(recipe).collect(),
        }
    }

    fn book(&self) -> OrderBook {
        let names: Vec<String> = (1..=self.carriers).map(|i| format!("B{i}")).collect();
        let carriers: Vec<(&str, Time)> = names.iter().map(|n| (n.as_str(), Time::ZERO)).collect();
        let mut book = book(&carriers);
        if self.recipes.len() > 1 {
            let mut order = book.orders[OrderId::at(0)].clone();
            order.recipe = RecipeId::at(1);
            let second = book.orders.push(order);
            for id in book.carriers.ids().skip(self.carriers.div_ceil(2)) {
                (book.carriers[id].order, book.carriers[id].recipe) = (second, RecipeId::at(1));
            }
        }
        book
    }

    /// The proven best finish, if there is one not after `latest`.
    fn best(&self, latest: Option<i64>) -> Option<i64> {
        solve(&Dense::new(&self.line(), &self.book()), latest).map(|b| b.finish)
    }
}

fn end(line: &Line, book: &OrderBook, schedule: &Schedule) -> i64 {
    let ends = schedule.moves.iter().map(|m| (m.start + m.phases(line, book).unwrap().total()).0);
    ends.max().unwrap_or(0)
}

/// What the planner does on instances whose best finish is proven.
#[derive(Debug, Default)]
struct Figures {
    proven: usize,
    reached: usize,
    /// Sum and largest of how much later the plan ends, as a share of the best.
    gaps: f64,
    worst: (f64, u64),
}

/// The share of proven instances on which the planner must reach the best finish. To be raised as it gets better.
const SHARE_AT_OPTIMUM: f64 = 0.85;

impl Figures {
    fn add(&mut self, seed: u64, best: i64, planned: i64) {
        let gap = (planned - best) as f64 / best as f64;
        self.proven += 1;
        self.reached += usize::from(planned == best);
        self.gaps += gap;
        if gap > self.worst.0 {
            self.worst = (gap, seed);
        }
    }

    fn join(&self, other: &Self) -> Self {
        Self {
            proven: self.proven + other.proven,
            reached: self.reached + other.reached,
            gaps: self.gaps + other.gaps,
            worst: if other.worst.0 > self.worst.0 { other.worst } else { self.worst },
        }
    }

    fn share(&self) -> f64 {
        self.reached as f64 / self.proven as f64
    }

    #[expect(clippy::print_stdout, reason = "the figures are what one runs this for")]
    fn holds(&self) {
        println!(
            "{} of {} at the proven best finish ({:.0} %); {:.2} % later on average, {:.1} % at worst (seed {})",
            self.reached,
            self.proven,
            100.0 * self.share(),
            100.0 * self.gaps / self.proven as f64,
            100.0 * self.worst.0,
            self.worst.1
        );
        assert!(self.share() >= SHARE_AT_OPTIMUM, "the planner reaches fewer than it did: {self:?}");
    }
}

/// Plans and proves one instance after the other. A plan better than the proven best, or a proven best that the verifier
/// rejects, means that one of the three is wrong.
fn measure(seeds: impl Iterator<Item = u64>) -> Figures {
    let mut figures = Figures::default();
    for seed in seeds {
        let small = Small::drawn(seed);
        let (line, book) = (small.line(), small.book());
        let history = opened(&line, book.clone());
        let settings = Settings { reserve: Reserve::NONE, ..Settings::default() };
        let schedule = plan(&line, history.state(), Time::ZERO, &settings);
        assert_eq!(verify(&line, history.state(), &schedule), [], "seed {seed}: the plan");
        assert!(book.carriers.ids().all(|c| schedule.of(c).next().is_some()), "seed {seed}: not all planned");
        let planned = end(&line, &book, &schedule);

        let dense = Dense::new(&line, &book);
        // The plan's own end as the bound makes the proof quicker and says at once if the plan is too good.
        let best = solve(&dense, Some(planned)).unwrap_or_else(|| {
            panic!("seed {seed}: no finish at or before the plan's {planned} exists: {small:?}")
        });
        let exact = dense.schedule(&line, &best.chosen);
        assert_eq!(verify(&line, history.state(), &exact), [], "seed {seed}: the proven best");
        assert_eq!(end(&line, &book, &exact), best.finish, "seed {seed}");
        figures.add(seed, best.finish, planned);
    }
    figures
}

/// `two_carriers` and `insertion`, derived by hand: 77 s for two, 109 s for three whether or not the third comes late.
#[test]
fn the_model_finds_what_was_derived_by_hand() {
    let line = two_carriers();
    let finish = |ready: &[i64]| {
        let names = ["A", "B", "C"];
        let carriers: Vec<_> = names.into_iter().zip(ready).map(|(n, r)| (n, Time::from_secs(*r))).collect();
        solve(&Dense::new(&line, &book(&carriers)), None).map(|b| b.finish)
    };
    assert_eq!(finish(&[0, 0]), Some(77_000));
    assert_eq!(finish(&[0, 0, 40]), Some(109_000));
    assert_eq!(finish(&[0, 0, 0]), Some(109_000));
    let dense = Dense::new(&line, &book(&[("A", Time::ZERO), ("B", Time::ZERO)]));
    assert!(solve(&dense, Some(76_000)).is_none());
}

/// On small instances the planner is held against proven best finishes.
#[test]
fn plans_are_never_better_than_proven_and_often_as_good() {
    let figures = std::thread::scope(|threads| {
        let other = threads.spawn(|| measure((0..SEEDS).filter(|s| s % 2 == 1)));
        measure((0..SEEDS).filter(|s| s % 2 == 0)).join(&other.join().unwrap())
    });
    figures.holds();
}

/// More room or a wider window never makes the best finish later, and reading the rail from the other end changes
/// nothing.
#[test]
fn the_proven_best_knows_its_relations() {
    for seed in 1000..1000 + RELATIONS {
        let small = Small::drawn(seed);
        let mut rng = Rng::stream(seed, "relations");
        let best = small.best(None).expect("one after the other is always possible");
        let mirrored = Small { mirrored: true, ..small.clone() };
        assert_eq!(mirrored.best(Some(best)), Some(best), "mirrored: seed {seed} {small:?}");

        let long = small.copies.iter().rposition(|c| *c > 1).unwrap_or(small.copies.len() / 2);
        let roomier = Small { spare: Some(long), ..small.clone() };
        assert!(roomier.best(Some(best)).is_some(), "a tank more: seed {seed} {small:?}");

        let mut wider = small.clone();
        let steps = &mut wider.recipes[0];
        let n = rng.below(steps.len());
        steps[n].max += Dur::from_secs(10 + rng.below(100) as i64);
        assert!(wider.best(Some(best)).is_some(), "a wider window: seed {seed} {small:?}");
        let mut tighter = small.clone();
        let s = &mut tighter.recipes[0][n];
        s.max = s.min.max(s.max - Dur::from_secs(10));
        let tight = tighter.best(None).expect("one after the other is always possible");
        assert!(tight >= best, "a tighter window: seed {seed} {small:?}");
    }
}
