//! Published and hand-checked instances. The sources stand in the `source` fields of `tests/data/published`.

use crate::helpers::*;
use dwellhand::ids::*;
use dwellhand::line::*;
use dwellhand::schedule::{Move, Schedule};
use dwellhand::shift::State;
use dwellhand::units::*;
use dwellhand::verify::cyclic::{Condition, Cycle, CycleBreach};
use dwellhand::verify::{Rule, verify};
use serde_json::Value;

/// Phillips and Unger 1976; figures as in the data of Wallace and Yorke-Smith 2020.
const PHILLIPS_UNGER: &str = include_str!("../../data/published/phillips-unger-1976.json");
/// Four stations after Phillips and Unger 1976; the others worked by hand.
const SMALL: &str = include_str!("../../data/published/small-cases.json");

fn secs(v: &Value) -> Vec<Dur> {
    v.as_array().unwrap().iter().map(|x| x.as_i64().map_or(Dur::UNLIMITED, s)).collect()
}

fn phillips_unger() -> (Cycle, Vec<Vec<Dur>>) {
    let v: Value = serde_json::from_str(PHILLIPS_UNGER).unwrap();
    let cycle = Cycle {
        min: secs(&v["min"]),
        max: secs(&v["max"]),
        loaded: secs(&v["loaded"]),
        empty: v["empty"].as_array().unwrap().iter().map(secs).collect(),
        station: None,
    };
    let lists = v["expect"]["valid_removal_times"].as_array().unwrap();
    (cycle, lists.iter().map(|l| secs(&l["removal"])).collect())
}

/// The four stations, station 0 being load and unload, with its window enforced or not.
fn four_stations(enforced: bool) -> Cycle {
    let v: Value = serde_json::from_str(SMALL).unwrap();
    let v = &v["four_stations"];
    let (min, max) = (secs(&v["min"]), secs(&v["max"]));
    let step = v["empty_per_step"].as_i64().unwrap();
    let place = |treatment: usize| (treatment % 4) as i64;
    let empty = |i: usize, j: usize| s(step * (place(i + 1) - place(j)).abs());
    Cycle {
        station: enforced.then(|| (min[0], max[0])),
        min: min[1..].to_vec(),
        max: max[1..].to_vec(),
        loaded: secs(&v["loaded"]),
        empty: (0..4).map(|i| (0..4).map(|j| empty(i, j)).collect()).collect(),
    }
}

fn told(breaches: &[CycleBreach]) -> Vec<(Condition, usize, Option<usize>)> {
    breaches.iter().map(|b| (b.condition, b.treatment, b.then)).collect()
}

/// The cycle run several times from an empty line, as an ordinary schedule with table travel.
fn unrolled(cycle: &Cycle, period: i64, removal: &[Dur], carriers: u16) -> (Line, State, Schedule) {
    let n = cycle.min.len();
    let places = n + 1;
    let row_of = |from: usize| if from == 0 { n } else { from - 1 };
    let empty =
        (0..places).map(|from| (0..places).map(|to| Some(cycle.empty[row_of(from)][to])).collect()).collect();
    let loaded = (0..places)
        .map(|from| (0..places).map(|to| ((from + 1) % places == to).then(|| cycle.loaded[from])).collect())
        .collect();
    let mut tanks = vec![station("S", 0.0, true, true)];
    tanks.extend((1..=n).map(|k| bath(&format!("T{k}"), k as f64, k as u16 - 1)));
    let steps = (0..n).map(|k| Step { min: cycle.min[k], max: cycle.max[k], ..step(k as u16, 0, 0) });
    let line = Line {
        tanks: Arena::new(tanks),
        stages: (0..n).map(|k| stage(&format!("s{k}"), StageKind::Rinse)).collect(),
        hoists: Arena::new(vec![table_hoist(empty, loaded)]),
        recipes: Arena::new(vec![recipe(steps.collect())]),
        ..row(&[], 1, &[5])
    };
    let state = opened(&line, book(usize::from(carriers))).state().clone();
    let mut moves = Vec::new();
    for carrier in 0..carriers {
        let mut begin = t(i64::from(carrier) * period) + removal[0];
        for i in 0..=n {
            if i > 0 {
                begin += cycle.loaded[i - 1] + cycle.soak(i, s(period), removal);
            }
            moves.push(Move {
                start: begin,
                ..mv(
                    CarrierId(carrier),
                    H1,
                    (i as u16, ((i + 1) % places) as u16),
                    (
                        if i == 0 { Visit::Load } else { step_no(i as u16 - 1) },
                        if i == n { Visit::Unload } else { step_no(i as u16) },
                    ),
                    0,
                )
            });
        }
    }
    (line, state, Schedule::new(moves, t(0)))
}

fn unrolled_rules(cycle: &Cycle, period: i64, removal: &[Dur]) -> Vec<Rule> {
    let (line, state, schedule) = unrolled(cycle, period, removal, 8);
    broken(&line, &state, &schedule)
}

/// A1: both removal lists of the published instance hold at its published optimum, 521.
#[test]
fn phillips_unger_holds_at_521() {
    let (cycle, lists) = phillips_unger();
    assert_eq!(lists.len(), 2);
    for removal in &lists {
        assert_eq!(cycle.check(s(521), removal), []);
        assert_eq!(unrolled_rules(&cycle, 521, removal), []);
    }
    // Soaks as recomputed by a separately written model.
    let soaks: Vec<i64> = (1..=12).map(|i| cycle.soak(i, s(521), &lists[1]).whole_secs()).collect();
    assert_eq!(soaks, [158, 91, 159, 90, 30, 118, 60, 74, 427, 139, 98, 30]);
}

/// A1 with period 520: treatment 4 soaks 89 s, shorter than 90, and nothing else is wrong.
#[test]
fn phillips_unger_at_520_soaks_too_short_at_4_only() {
    let (cycle, lists) = phillips_unger();
    let found = cycle.check(s(520), &lists[1]);
    assert_eq!(told(&found), [(Condition::Under, 4, None)]);
    assert_eq!(found[0].by, s(1));
    let (line, state, schedule) = unrolled(&cycle, 520, &lists[1], 8);
    let found = verify(&line, &state, &schedule);
    assert_eq!(found.len(), 8, "once for each carrier: {found:?}");
    assert!(found.iter().all(|b| b.rule == Rule::Under && b.place == "T4" && b.by == s(1)));
}

/// A1 with removal 5 later by 11: treatment 5 soaks 41 s, longer than 40, and moves 5 and 11 collide.
#[test]
fn phillips_unger_with_removal_5_late() {
    let (cycle, mut lists) = phillips_unger();
    lists[1][5] += s(11);
    let found = cycle.check(s(521), &lists[1]);
    assert_eq!(told(&found), [(Condition::Over, 5, None), (Condition::Hoist, 5, Some(11))]);
    assert_eq!(found[0].by, s(1));
    assert_eq!(unrolled_rules(&cycle, 521, &lists[1]), [Rule::Over, Rule::Hoist]);
}

/// A1 with removal 9 later by 8: V7 at treatment 9 (back at 456, next part lifted at 448) and the same conflict again as V3
/// between moves 9 and 8.
#[test]
fn phillips_unger_with_removal_9_late() {
    let (cycle, mut lists) = phillips_unger();
    lists[1][9] += s(8);
    let found = cycle.check(s(521), &lists[1]);
    assert_eq!(told(&found), [(Condition::Hoist, 9, Some(8)), (Condition::Swap, 9, None)]);
    assert!(found.iter().all(|b| b.by == s(456 - 448)));
    // The tank itself is empty in time; it is the hoist that is not back.
    assert_eq!(unrolled_rules(&cycle, 521, &lists[1]), [Rule::Hoist]);
}

/// A2: 200 with the window of station 0 enforced, 170 without it.
#[test]
fn four_stations_hold_at_200_and_170() {
    let with = [0, 110, 150, 85].map(s);
    let without = [0, 115, 15, 150].map(s);
    assert_eq!(four_stations(true).check(s(200), &with), []);
    assert_eq!(four_stations(false).check(s(170), &without), []);
    assert_eq!(unrolled_rules(&four_stations(false), 200, &with), []);
    assert_eq!(unrolled_rules(&four_stations(false), 170, &without), []);
    // At 170 a carrier leaves the station the instant it comes, or a period later: held to the window it is still there when
    // the next one is lifted for the station.
    assert_eq!(told(&four_stations(true).check(s(170), &without)), [(Condition::Swap, 0, None)]);
}

/// A2: the wrong 130 lets the soak at station 3 be as long as the period (30 in, 160 out). It must fall to strict swap, and to
/// nothing else.
#[test]
fn four_stations_at_130_break_strict_swap() {
    let wrong = [0, 110, 20, 30].map(s);
    let cycle = four_stations(false);
    assert_eq!(cycle.soak(3, s(130), &wrong), s(130));
    assert_eq!(told(&cycle.check(s(130), &wrong)), [(Condition::Swap, 3, None)]);
    assert_eq!(told(&four_stations(true).check(s(130), &wrong)), [(Condition::Swap, 3, None)]);
    assert_eq!(unrolled_rules(&cycle, 130, &wrong), [Rule::Swap]);
}

/// A soak one second shorter than the period may be possible; one as long as it, or longer, never is.
#[test]
fn soak_and_period_at_the_boundary() {
    let free = |max: Dur| Cycle {
        min: vec![s(0)],
        max: vec![max],
        loaded: vec![s(0), s(0)],
        empty: vec![vec![s(0); 2]; 2],
        station: None,
    };
    let of = |soak: i64| free(Dur::UNLIMITED).check(s(100), &[s(0), s(soak)]);
    assert_eq!(of(99), []);
    assert!(told(&of(101)).contains(&(Condition::Swap, 1, None)));
    // Set down and lift at the same tank at the same instant: no time is needed, and still it is one part for another.
    let mut held = free(Dur::UNLIMITED);
    held.min = vec![s(100)];
    held.loaded = vec![s(1), s(1)];
    assert!(told(&held.check(s(100), &[s(0), s(1)])).contains(&(Condition::Swap, 1, None)));
}

/// Tables that do not fit together are said to be so, not read past their end.
#[test]
fn a_cycle_of_the_wrong_shape_is_refused() {
    let (mut cycle, lists) = phillips_unger();
    assert_eq!(told(&cycle.check(s(521), &lists[0][1..])), [(Condition::Shape, 0, None)]);
    cycle.empty[3].pop();
    assert_eq!(told(&cycle.check(s(521), &lists[0])), [(Condition::Shape, 0, None)]);
    assert_eq!(told(&phillips_unger().0.check(s(0), &lists[0])), [(Condition::Shape, 0, None)]);
}

/// A3: stations L, T1, T2, U a step apart.
fn two_carriers() -> Line {
    let v: Value = serde_json::from_str(SMALL).unwrap();
    let v = &v["two_carriers"];
    let window = |name: &str| {
        let w = &v["windows"][name];
        (w[0].as_i64().unwrap(), w[1].as_i64().unwrap())
    };
    let loaded = v["loaded_to_next"].as_i64().unwrap();
    row(&[window("T1"), window("T2")], v["empty_per_step"].as_i64().unwrap(), &[loaded; 3])
}

fn walks(starts: &[&[i64]]) -> Vec<Move> {
    let carriers = (0..).map(CarrierId);
    carriers.zip(starts).flat_map(|(c, starts)| walk(c, &[0, 1, 2, 3], starts)).collect()
}

fn makespan(line: &Line, state: &State, schedule: &Schedule) -> i64 {
    let ends = schedule.moves.iter().map(|m| m.start + m.phases(line, &state.book).unwrap().total());
    (ends.max().unwrap() - t(0)).whole_secs()
}

/// A3, derived by hand: 77 s for two carriers.
#[test]
fn two_carriers_hold_at_77() {
    let line = two_carriers();
    let state = opened(&line, book(2)).state().clone();
    let schedule = plan_at(0, walks(&[&[0, 25, 40], &[32, 57, 72]]));
    assert_eq!(verify(&line, &state, &schedule), []);
    assert_eq!(makespan(&line, &state, &schedule), 77);
}

/// A3: the 65 s of a model without strict swap. B arrives at T1 as A leaves it, and again at T2: every dwell is in its window
/// and the hoist is always there, but a carrier is lifted for a tank that is not empty.
#[test]
fn two_carriers_at_65_break_strict_swap_only() {
    let line = two_carriers();
    let state = opened(&line, book(2)).state().clone();
    let schedule = plan_at(0, walks(&[&[0, 25, 50], &[20, 45, 60]]));
    assert_eq!(makespan(&line, &state, &schedule), 65);
    let found = verify(&line, &state, &schedule);
    assert_eq!(rules(&found), [Rule::Swap]);
    let places: Vec<&str> = found.iter().map(|b| b.place.as_str()).collect();
    assert_eq!(places, ["T1", "T2"]);
    assert!(found.iter().all(|b| b.carrier == "B" && b.by == s(5)));
}

/// A4, derived by hand: a third carrier that arrives at 40 is done at 109 without touching what was promised.
#[test]
fn an_inserted_carrier_holds_at_109() {
    let line = two_carriers();
    let mut orders = book(3);
    orders.carriers[CarrierId(2)].ready = t(40);
    let state = opened(&line, orders).state().clone();
    let schedule = plan_at(0, walks(&[&[0, 25, 40], &[32, 57, 72], &[64, 89, 104]]));
    assert_eq!(verify(&line, &state, &schedule), []);
    assert_eq!(makespan(&line, &state, &schedule), 109);
}

/// A5, derived by hand: with the hoist down until 35, carrier A is 5 s over its longest time in T1, and that is all.
#[test]
fn a_breakdown_costs_exactly_five_seconds() {
    let line = two_carriers();
    let mut history = opened(&line, book(1));
    say(&line, &mut history, t(0), &lift(A, H1, TankId(0), t(0))).unwrap();
    say(&line, &mut history, t(5), &lower(H1, TankId(1), t(5))).unwrap();
    let schedule = plan_at(35, walks(&[&[0, 35, 50]])[1..].to_vec());
    let found = verify(&line, history.state(), &schedule);
    assert_eq!(rules(&found), [Rule::Over]);
    assert_eq!((found[0].by, found[0].at, found[0].place.as_str()), (s(5), t(30), "T1"));
}
