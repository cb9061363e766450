//! Rhythms of whole lines: tanks in turn, shared tanks, dips on the hook, against enumeration and the verifier.

use dwellhand::ids::*;
use dwellhand::line::*;
use dwellhand::plan::rhythm::{NoRhythm, Rhythm, What, period, rhythm, unroll, what_if};
use dwellhand::rng::Rng;
use dwellhand::schedule::Schedule;
use dwellhand::units::*;
use dwellhand::verify::motion::{self, Job};
use dwellhand::verify::verify;

use super::ask;
use super::dumb::{holds, orders, pick};
use crate::helpers::*;

/// Runs a rhythm on an empty line for three times as many carriers as there are on the line and in a round, and lets the
/// verifier judge them.
pub fn runs_for_ever(line: &Line, found: &Rhythm) {
    let carriers = 3 * (found.carriers().ceil() as usize + found.round);
    let mut orders = book(carriers);
    for c in orders.carriers.ids().collect::<Vec<_>>() {
        orders.carriers[c].name = format!("C{}", c.0);
        orders.carriers[c].area_dm2 = 0.0;
    }
    let state = opened(line, orders).state().clone();
    let schedule = Schedule::new(unroll(found, carriers, t(3600)), t(0));
    assert_eq!(schedule.moves.len(), carriers * (found.stops.len() - 1));
    let breaches = verify(line, &state, &schedule);
    assert!(breaches.is_empty(), "{} breaches: {}\n{found:?}", breaches.len(), breaches[0]);
}

/// What a random line is like.
#[derive(Clone, Copy)]
pub struct Kind {
    pub steps: (i64, i64),
    pub tanks: i64,
    /// Windows are up to so many seconds wide; negative: no longest soak.
    pub wide: i64,
    pub on_hook: bool,
    pub again: bool,
    pub one_way: bool,
}

/// A line with a plain hoist: a stage a step, or now and then the stage of an earlier step again.
pub fn random_line(rng: &mut Rng, kind: Kind) -> Line {
    let n = pick(rng, kind.steps.0, kind.steps.1) as u16;
    let mut steps: Vec<Step> = Vec::new();
    let mut stages = 0;
    for i in 0..n {
        let earlier = i >= 2 && kind.again && rng.chance(0.4);
        let stage = if earlier { pick(rng, 0, i64::from(stages) - 1) as u16 } else { stages };
        // The same tank twice in a row is no move.
        let stage = if steps.last().is_some_and(|s| s.stage.0 == stage) { stages } else { stage };
        stages = stages.max(stage + 1);
        let min = pick(rng, 5, 150);
        let max = if kind.wide < 0 { -1 } else { min + pick(rng, 0, kind.wide) };
        let on_hook = kind.on_hook && rng.chance(0.25);
        steps.push(Step {
            drip: s(pick(rng, 0, 8)),
            on_hook,
            ..step(
                stage,
                if on_hook { min / 5 } else { min.max(5) },
                if on_hook && max >= 0 { min / 5 + 10 } else { max },
            )
        });
    }
    let mut tanks = vec![station("L", 0.0, true, !kind.one_way)];
    let mut position = 0.0;
    for stage in 0..stages {
        for twin in 0..pick(rng, 1, kind.tanks) {
            position += 1.0 + 0.25 * pick(rng, 0, 4) as f64;
            tanks.push(bath(&format!("T{stage}{twin}"), position, stage));
        }
    }
    if kind.one_way {
        tanks.push(station("U", position + 1.5, false, true));
    }
    Line {
        rail: Rail { from: Mm(-1000), to: Mm(60_000), gap: Mm(1500) },
        tanks: Arena::new(tanks),
        stages: (0..stages).map(|k| stage(&format!("s{k}"), StageKind::Rinse)).collect(),
        hoists: Arena::new(vec![Hoist {
            reach_to: Mm(60_000),
            travel: Travel::Kinematic { speed: 0.7, accel: 0.3, decel: 0.4 },
            ..plain_hoist("H1", 0)
        }]),
        recipes: Arena::new(vec![recipe(steps)]),
        ..row(&[(1, 2)], 1, &[1, 1])
    }
}

pub const PLAIN: Kind =
    Kind { steps: (2, 6), tanks: 1, wide: 60, on_hook: false, again: false, one_way: true };

fn families() -> [Kind; 6] {
    [
        PLAIN,
        Kind { tanks: 3, wide: 30, steps: (2, 5), ..PLAIN },
        Kind { tanks: 2, wide: -1, on_hook: true, ..PLAIN },
        Kind { on_hook: true, wide: 100, one_way: false, ..PLAIN },
        Kind { again: true, tanks: 2, steps: (3, 5), ..PLAIN },
        Kind { again: true, on_hook: true, wide: -1, one_way: false, ..PLAIN },
    ]
}

#[test]
fn a_rhythm_runs_for_ever_by_the_verifiers_rules() {
    let mut rng = Rng::stream(5, "rhythm-lines");
    let mut with_turns = 0;
    for kind in families() {
        for _ in 0..25 {
            let line = random_line(&mut rng, kind);
            let found = match rhythm(&line, &ask()) {
                Ok(found) => found,
                // Two tanks in turn lie differently far away; a window of nothing cannot allow for that.
                Err(NoRhythm::Window { .. }) => continue,
                Err(no) => panic!("{no:?}"),
            };
            assert!(found.proof.optimal && found.proof.bound == found.period);
            assert!(
                found.cranes[0].bound <= found.period && found.tank_bounds.iter().all(|b| *b <= found.period)
            );
            assert!(!found.binding.is_empty());
            with_turns += usize::from(found.round > 1);
            runs_for_ever(&line, &found);
        }
    }
    assert!(with_turns > 5, "few rhythms with tanks in turn: {with_turns}");
}

fn proven(line: &Line) -> Option<Dur> {
    match rhythm(line, &ask()) {
        Ok(found) => {
            assert!(found.proof.optimal);
            Some(found.period)
        }
        Err(NoRhythm::Window { .. }) => None,
        Err(no) => panic!("{no:?}"),
    }
}

/// No period at all counts as an endless one.
fn not_longer(after: Option<Dur>, before: Option<Dur>) -> bool {
    after.unwrap_or(Dur::UNLIMITED) <= before.unwrap_or(Dur::UNLIMITED)
}

#[test]
fn a_tank_more_or_a_wider_window_never_makes_it_longer() {
    let mut rng = Rng::stream(6, "rhythm-more");
    for kind in families() {
        for _ in 0..12 {
            let line = random_line(&mut rng, kind);
            let before = proven(&line);
            let mut wider = line.clone();
            let n = wider.recipes[RecipeId(0)].steps.len();
            let step = &mut wider.recipes[RecipeId(0)].steps[pick(&mut rng, 0, n as i64 - 1) as usize];
            step.max += s(40);
            assert!(not_longer(proven(&wider), before), "wider: {line:?}");
            let stage = line.recipes[RecipeId(0)].steps[0].stage;
            let with = period(&line, &ask(), What::Tank(stage)).ok().map(|p| p.0);
            assert!(not_longer(with, before), "a twin: {line:?}");
            let mut more = line.clone();
            let at = more.tanks.iter().map(|(_, t)| t.position.0).max().unwrap() as f64 / 1000.0;
            more.tanks.push(bath("more", at + 2.0, stage.0));
            assert!(not_longer(proven(&more), before), "one at the end: {line:?}");
        }
    }
}

/// Holds where no soak has a longest: then a faster crane may wait and do what the slower one did. With tight windows it need
/// not hold, because a load may not be kept hanging until the slower one would have come.
#[test]
fn a_faster_crane_never_makes_it_longer_where_soaks_may_be_long() {
    let mut rng = Rng::stream(7, "rhythm-faster");
    for kind in families() {
        for _ in 0..12 {
            let line = random_line(&mut rng, Kind { wide: -1, ..kind });
            let before = proven(&line);
            let faster = period(&line, &ask(), What::Faster(20)).ok().map(|p| p.0);
            assert!(not_longer(faster, before), "{line:?}");
            let slower = period(&line, &ask(), What::Slower(s(1))).ok().map(|p| p.0);
            assert!(not_longer(before, slower), "{line:?}");
        }
    }
}

#[test]
fn a_mirrored_line_has_the_same_rhythm() {
    let mut rng = Rng::stream(8, "rhythm-mirror");
    for kind in families() {
        for _ in 0..12 {
            let line = random_line(&mut rng, kind);
            let mut mirrored = line.clone();
            mirrored.tanks = line
                .tanks
                .iter()
                .map(|(_, t)| Tank { position: Mm(50_000) - t.position, ..t.clone() })
                .collect();
            assert_eq!(proven(&mirrored), proven(&line));
        }
    }
}

/// A small line with measured times, in ticks of a millisecond so that every period can be tried.
fn tick_line(rng: &mut Rng, tanks: i64, again: bool) -> Line {
    let n = if again { pick(rng, 3, 4) } else { pick(rng, 2, 3) };
    let on_hook = rng.chance(0.3);
    let mut line = random_line(rng, Kind { steps: (n, n), tanks, wide: 60, on_hook, again, one_way: true });
    let places: Vec<i64> = line.tanks.iter().map(|(_, t)| t.position.0 / 500).collect();
    let empty = |a: &i64| places.iter().map(|b| Some(Dur((a - b).abs()))).collect::<Vec<_>>();
    let loaded = |a: &i64| places.iter().map(|b| Some(Dur(2 + (a - b).abs()))).collect::<Vec<_>>();
    let (empty, loaded) = (places.iter().map(empty).collect(), places.iter().map(loaded).collect());
    line.hoists = Arena::new(vec![Hoist { hook: Dur(1), unhook: Dur(1), ..table_hoist(empty, loaded) }]);
    for step in &mut line.recipes[RecipeId(0)].steps {
        step.min = Dur(pick(rng, 2, 40));
        step.max = step.min + Dur(pick(rng, 0, 40));
        step.drip = Dur(pick(rng, 0, 2));
    }
    line
}

/// The turns a step may take its tanks in: the first so and so many; any one for a dip on the hook; where steps share a stage,
/// any neighbours, begun with any of them.
fn turns(tanks: &[TankId], on_hook: bool, shared: bool) -> Vec<Vec<TankId>> {
    if on_hook {
        return tanks.iter().map(|t| vec![*t]).collect();
    }
    let runs = (1..=tanks.len()).flat_map(|many| tanks.windows(many));
    if !shared {
        return runs.filter(|run| run[0] == tanks[0]).map(<[TankId]>::to_vec).collect();
    }
    let begun = |run: &[TankId], with: usize| [&run[with..], &run[..with]].concat();
    runs.flat_map(|run| (0..run.len()).map(move |with| begun(run, with))).collect()
}

/// Every way to use the first so and so many tanks, every order of moves, every stay of up to as many periods as there are
/// tanks, every period: the constraints written out carrier by carrier from the verifier's arithmetic.
fn dumb_period(line: &Line) -> Option<i64> {
    let steps = &line.recipes[RecipeId(0)].steps;
    let mut ways: Vec<Vec<Vec<TankId>>> = vec![vec![]];
    for step in steps {
        let tanks: Vec<TankId> = line.tanks_of(step.stage).collect();
        let shared = steps.iter().filter(|other| other.stage == step.stage).count() > 1;
        let mut longer = Vec::new();
        for way in &ways {
            for turn in turns(&tanks, step.on_hook, shared) {
                longer.push([way.as_slice(), &[turn]].concat());
            }
        }
        ways = longer;
    }
    let lists = |way: &Vec<Vec<TankId>>| {
        let (load, unload) = (line.load_stations().next().unwrap(), line.unload_stations().next().unwrap());
        [&[vec![load]], way.as_slice(), &[vec![unload]]].concat()
    };
    let books: Vec<Vec<Rule>> = ways.iter().flat_map(|way| books(line, steps, &lists(way))).collect();
    (1..400).find(|period| {
        books.iter().any(|book| {
            let rules: Vec<(usize, usize, i64)> =
                book.iter().map(|(i, j, d, later)| (*i, *j, d - later * period)).collect();
            holds(steps.len() + 1, &rules)
        })
    })
}

/// Move `j` at least so much after move `i`, less so many periods.
type Rule = (usize, usize, i64, i64);

/// The rules of every order of moves and every stay that puts no two carriers into one tank.
fn books(line: &Line, steps: &[Step], tanks: &[Vec<TankId>]) -> Vec<Vec<Rule>> {
    let moves = steps.len() + 1;
    let mut books = Vec::new();
    for order in orders(moves) {
        // A dip on the hook: its moves are next to each other.
        let place = |i: usize| order.iter().position(|x| *x == i).unwrap();
        if (1..moves).any(|i| steps[i - 1].on_hook && place(i) != place(i - 1) + 1) {
            continue;
        }
        let mut stays = vec![vec![0_i64]];
        for i in 1..moves {
            let many = tanks[i].len() as i64;
            let range = if steps[i - 1].on_hook {
                0..=0
            } else if place(i - 1) < place(i) {
                0..=many - 1
            } else {
                1..=many
            };
            stays = stays
                .iter()
                .flat_map(|s| range.clone().map(|k| [s.as_slice(), &[s[i - 1] + k]].concat()))
                .collect();
        }
        books.extend(stays.iter().filter_map(|behind| keeps(line, steps, tanks, &order, behind)));
    }
    books
}

fn keeps(
    line: &Line,
    steps: &[Step],
    tanks: &[Vec<TankId>],
    order: &[usize],
    behind: &[i64],
) -> Option<Vec<Rule>> {
    let moves = steps.len() + 1;
    let round = 6;
    let tank = |i: usize, k: i64| tanks[i][k.rem_euclid(tanks[i].len() as i64) as usize];
    let hooked = |i: usize| i >= 1 && i <= steps.len() && steps[i - 1].on_hook;
    let times = |i: usize, k: i64| {
        let drip = if i == 0 { Dur::ZERO } else { steps[i - 1].drip };
        let job = Job {
            hoist: H1,
            from: tank(i, k),
            to: tank(i + 1, k),
            drip,
            attach: !hooked(i),
            release: !hooked(i + 1),
        };
        motion::loaded(line, &job, Time::ZERO).unwrap()
    };
    // When the hoist comes to move i of carrier k, counted in moves.
    let turn = |i: usize, k: i64| {
        (k + behind[i]) * moves as i64 + order.iter().position(|x| *x == i).unwrap() as i64
    };
    let mut rules = Vec::new();
    for k in 0..round {
        for i in 1..moves {
            let (before, after) = (times(i - 1, k), times(i, k));
            let dwell_less_starts = (after.lift.0) - (before.down.0);
            rules.push((i - 1, i, steps[i - 1].min.0 - dwell_less_starts, 0));
            rules.push((i, i - 1, dwell_less_starts - steps[i - 1].max.0, 0));
            // The tank is empty before the next carrier for it is lifted.
            for (j, other) in (1..moves).flat_map(|j| (-8..round + 8).map(move |o| (j, o))) {
                let same = (j, other) != (i, k) && tank(j, other) == tank(i, k);
                if same && turn(j - 1, other) < turn(i, k) && turn(i - 1, k) < turn(j, other) {
                    return None;
                }
            }
        }
        for (i, j) in (0..moves).flat_map(|i| (0..moves).map(move |j| (i, j))) {
            for other in -8..round + 8 {
                if turn(j, other) == turn(i, k) + 1 {
                    let end = times(i, k);
                    let way = motion::empty(line, H1, tank(i + 1, k), tank(j, other)).unwrap();
                    rules.push((i, j, end.end.0 + way.0, other - k));
                }
            }
        }
    }
    rules.sort_unstable();
    rules.dedup();
    Some(rules)
}

#[test]
fn small_lines_with_tanks_in_turn_agree_with_enumeration() {
    let mut rng = Rng::stream(9, "rhythm-turns");
    let mut turned = 0;
    for round in 0..300 {
        let line = tick_line(&mut rng, 3, false);
        let found = rhythm(&line, &ask());
        let expected = dumb_period(&line);
        assert_eq!(found.as_ref().ok().map(|f| f.period.0), expected, "round {round}: {line:?}");
        turned += usize::from(found.is_ok_and(|f| f.round > 1));
    }
    assert!(turned > 40, "{turned}");
}

#[test]
fn small_lines_with_a_stage_used_twice_agree_with_enumeration() {
    let mut rng = Rng::stream(10, "rhythm-again");
    let mut again = 0;
    for round in 0..300 {
        let line = tick_line(&mut rng, 1 + round % 2, true);
        let steps = &line.recipes[RecipeId(0)].steps;
        again += usize::from(steps.len() > line.stages.len());
        let found = rhythm(&line, &ask());
        assert_eq!(found.ok().map(|f| f.period.0), dumb_period(&line), "round {round}: {line:?}");
    }
    assert!(again > 80, "{again}");
}

/// A transfer that is too long out of liquid leaves no rhythm, and it is said which.
#[test]
fn a_broken_air_limit_leaves_no_rhythm() {
    let mut line = plant();
    assert!(rhythm(&line, &ask()).is_ok());
    line.recipes[RecipeId(0)].steps[0].air_max = s(12);
    // Drip 10, travel 2, settle 1.
    let Err(NoRhythm::Air { leaving, by, .. }) = rhythm(&line, &ask()) else { panic!("it has none") };
    assert_eq!((leaving, by), (step_no(0), s(1)));
}

/// Reserve is kept free after every loaded move and costs what it costs; what-ifs name what they change.
#[test]
fn reserve_costs_throughput_and_it_is_said_how_much() {
    let line = plant();
    let bare = rhythm(&line, &ask()).unwrap();
    let careful = rhythm(&line, &super::Ask { reserve: s(20), ..ask() }).unwrap();
    assert!(careful.period > bare.period);
    runs_for_ever(&line, &careful);
    let cases = what_if(&line, &careful);
    let without = cases.iter().find(|c| c.what == What::Reserve(Dur::ZERO)).unwrap();
    assert_eq!(without.period.as_ref().unwrap().0, bare.period);
    assert!(cases.iter().any(|c| c.what == What::Tank(StageId(2))));
    assert!(cases.iter().any(|c| c.what == What::Faster(20)));
    assert!(cases.iter().any(|c| c.what == What::Slower(s(5))));
}

/// The embedded demo: its rhythms run for ever, air limits and all.
#[test]
fn the_demo_line_has_rhythms() {
    let (line, recipes, _) = dwellhand::files::demo();
    let line = dwellhand::files::read_line(line, recipes).unwrap().value;
    for recipe in line.recipes.ids() {
        let asked = super::Ask { recipe, nodes: 20_000, ..ask() };
        let found = rhythm(&line, &asked).unwrap();
        assert!(found.proof.bound <= found.period);
        assert_eq!(found.proof.optimal, found.proof.bound == found.period);
    }
}
