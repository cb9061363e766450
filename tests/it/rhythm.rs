//! The shortest cycle: against published figures, dumb enumeration, and the verifier.

use dwellhand::plan::rhythm::{Tables, rhythm_of_tables};
use dwellhand::units::*;
use dwellhand::verify::cyclic::Cycle;
use serde_json::Value;

use crate::helpers::s;

const PHILLIPS_UNGER: &str = include_str!("../data/published/phillips-unger-1976.json");
const SMALL: &str = include_str!("../data/published/small-cases.json");

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
    println!("{found:?}");
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
