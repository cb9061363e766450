//! The shortest cycle: against published figures, dumb enumeration, and the verifier.

mod dumb;
mod lines;
mod several;

use dwellhand::files;
use dwellhand::ids::*;
use dwellhand::line::*;
use dwellhand::plan::rhythm::{Ask, Tables, rhythm, rhythm_of_tables};
use dwellhand::rng::Rng;
use dwellhand::units::*;
use dwellhand::verify::cyclic::Cycle;
use serde_json::Value;

use crate::helpers::{H1, s};

const PHILLIPS_UNGER: &str = include_str!("../../data/published/phillips-unger-1976.json");
const SMALL: &str = include_str!("../../data/published/small-cases.json");

fn secs(v: &Value) -> Vec<Dur> {
    v.as_array().unwrap().iter().map(|x| x.as_i64().map_or(Dur::UNLIMITED, s)).collect()
}

fn phillips_unger() -> Tables {
    let v: Value = serde_json::from_str(PHILLIPS_UNGER).unwrap();
    Tables {
        min: secs(&v["min"]),
        max: secs(&v["max"]),
        loaded: secs(&v["loaded"]),
        empty: v["empty"].as_array().unwrap().iter().map(secs).collect(),
        station: None,
    }
}

fn four_stations(enforced: bool) -> Tables {
    let v: Value = serde_json::from_str(SMALL).unwrap();
    let v = &v["four_stations"];
    let (min, max) = (secs(&v["min"]), secs(&v["max"]));
    let step = v["empty_per_step"].as_i64().unwrap();
    let place = |treatment: usize| (treatment % 4) as i64;
    let empty = |i: usize, j: usize| s(step * (place(i + 1) - place(j)).abs());
    Tables {
        station: enforced.then(|| (min[0], max[0])),
        min: min[1..].to_vec(),
        max: max[1..].to_vec(),
        loaded: secs(&v["loaded"]),
        empty: (0..4).map(|i| (0..4).map(|j| empty(i, j)).collect()).collect(),
    }
}

/// The verifier's own form of the same figures.
fn judged(t: &Tables) -> Cycle {
    let Tables { min, max, loaded, empty, station } = t.clone();
    Cycle { min, max, loaded, empty, station }
}

/// L. W. Phillips and P. S. Unger, AIIE Transactions 8(2), 219-225, 1976; the optimum, 521 s, as published by M. Wallace and
/// N. Yorke-Smith, Constraints 25, 319-337, 2020.
#[test]
fn phillips_unger_is_521_and_proven() {
    let tables = phillips_unger();
    let found = rhythm_of_tables(&tables, 1_000_000).unwrap();
    assert_eq!(found.period, s(521));
    assert!(found.proof.optimal);
    assert_eq!(found.proof.bound, s(521));
    assert_eq!(judged(&tables).check(found.period, &found.removal), []);
}

/// 200 with the station's window, 170 without; never the 130 of a model without strict swap.
#[test]
fn four_stations_are_200_and_170() {
    for (enforced, period) in [(true, 200), (false, 170)] {
        let tables = four_stations(enforced);
        let found = rhythm_of_tables(&tables, 1_000_000).unwrap();
        assert_eq!((found.period, found.proof.optimal), (s(period), true));
        assert_eq!(judged(&tables).check(found.period, &found.removal), []);
    }
}

/// The same instance as ordinary line and recipe files, generated from the published figures.
fn as_files() -> Line {
    let source = |name, text| files::Source { name, text };
    let line = source("line", include_str!("../../data/published/phillips-unger-line.json"));
    let recipes = source("recipes", include_str!("../../data/published/phillips-unger-recipes.json"));
    let read = files::read_line(line, recipes).unwrap();
    assert_eq!(read.warnings, []);
    read.value
}

fn ask() -> Ask {
    Ask { recipe: RecipeId(0), hoist: Some(H1), reserve: Dur::ZERO, nodes: 2_000_000 }
}

#[test]
fn the_files_hold_the_published_figures() {
    let (line, tables) = (as_files(), phillips_unger());
    let steps = &line.recipes[RecipeId(0)].steps;
    assert_eq!(steps.iter().map(|s| s.min).collect::<Vec<_>>(), tables.min);
    assert_eq!(steps.iter().map(|s| s.max).collect::<Vec<_>>(), tables.max);
    let Travel::Table { empty, loaded } = &line.hoists[H1].travel else { panic!("tables") };
    for (i, row) in loaded.iter().enumerate() {
        let next = (i + 1) % 13;
        for (j, cell) in row.iter().enumerate() {
            assert_eq!(*cell, (j == next).then_some(tables.loaded[i]), "loaded {i} {j}");
            assert_eq!(empty[next][j], Some(tables.empty[i][j]), "empty {i} {j}");
        }
    }
}

/// What binds must hold: the removal times found are judged by the verifier's own form of the published figures.
#[test]
fn phillips_unger_from_files_is_521_and_proven() {
    let line = as_files();
    let found = rhythm(&line, &ask()).unwrap();
    assert_eq!((found.period, found.proof.optimal, found.proof.bound), (s(521), true, s(521)));
    let removal: Vec<Dur> =
        found.stops.iter().filter_map(|s| s.leaves).map(|d| Dur(d.0.rem_euclid(521_000))).collect();
    assert_eq!(judged(&phillips_unger()).check(found.period, &removal), []);
    // 337 s with a load in each period, as summed by hand; 3.48 carriers on the line on average in the certificate.
    assert_eq!(found.cranes[0].loaded, s(337));
    assert_eq!(found.cranes[0].loaded + found.cranes[0].empty + found.cranes[0].idle, s(521));
    assert!((found.carriers() - 3.48).abs() < 0.02, "{}", found.carriers());
    lines::runs_for_ever(&line, &found);
}

#[test]
fn the_command_prints_the_period_and_its_proof() {
    let data = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/data/published");
    let files = ["line", "recipes"].map(|kind| format!("{data}/phillips-unger-{kind}.json"));
    let mut command = assert_cmd::Command::new(env!("CARGO_BIN_EXE_dwellhand"));
    let done =
        command.args(["rhythm", "--json", "--line", &files[0], "--recipes", &files[1]]).assert().success();
    let told: Value = serde_json::from_slice(&done.get_output().stdout).unwrap();
    assert_eq!(told["period_ms"], 521_000);
    assert_eq!(told["proof"]["status"], "optimal");
    assert_eq!(told["proof"]["bound_ms"], 521_000);
}

/// Small published-form instances against every order and every whole period, up to what one carrier at a time takes.
#[test]
fn small_instances_agree_with_enumeration() {
    let mut rng = Rng::stream(11, "rhythm-tables");
    for round in 0..400 {
        let tables = dumb::random_tables(&mut rng, round);
        let found = rhythm_of_tables(&tables, 1_000_000);
        let expected = dumb::least_period(&tables);
        assert_eq!(found.as_ref().map(|f| f.period.0), expected, "round {round}: {tables:?}");
        if let Some(found) = found {
            assert!(found.proof.optimal);
            assert_eq!(judged(&tables).check(found.period, &found.removal), [], "round {round}: {tables:?}");
        }
    }
}

/// With too little effort the answer is a possible one and says how far it may be from the shortest; the same every time.
#[test]
fn little_effort_gives_a_possible_answer_and_an_honest_bound() {
    let tables = phillips_unger();
    for nodes in [0, 1, 40, 300, 1500] {
        let found = rhythm_of_tables(&tables, nodes).unwrap();
        assert!(!found.proof.optimal, "{nodes}");
        assert!(found.proof.bound <= s(521) && s(521) <= found.period, "{nodes}: {found:?}");
        assert_eq!(judged(&tables).check(found.period, &found.removal), []);
        assert_eq!(rhythm_of_tables(&tables, nodes), Some(found));
    }
}
