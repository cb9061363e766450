//! Lines with a power cap: plans keep it, and what it costs.

use super::families::{Family, instance};
use super::lines::opened;
use dwellhand::line::{Current, Line, OrderBook, StageKind};
use dwellhand::plan::{Budget, Objective, Settings, improve, plan};
use dwellhand::schedule::Schedule;
use dwellhand::units::{Dur, Time, Watts};
use dwellhand::verify::verify;

/// What one carrier draws in anodise, in watts: 100 dm2 at 1.5 A/dm2 and 16 V.
const ONE: i64 = 2400;

/// An instance with current in anodise that rises for a minute and a half.
fn powered(id: &str) -> (Line, OrderBook) {
    let (mut line, book) = instance(id);
    for r in line.recipes.ids().collect::<Vec<_>>() {
        for step in &mut line.recipes[r].steps {
            if line.stages[step.stage].kind == StageKind::Anodise {
                step.current = Some(Current { density: 1.5, volts: 16.0, ramp: Dur::from_secs(90) });
            }
        }
    }
    (line, book)
}

fn capped(line: &Line, watts: i64) -> Line {
    Line { power_cap: Some(Watts(watts)), ..line.clone() }
}

fn made(line: &Line, book: &OrderBook, tries: u64) -> (Schedule, Objective) {
    let history = opened(line, book.clone());
    let settings = Settings { effort: 2, ..Settings::default() };
    let first = plan(line, history.state(), Time::ZERO, &settings);
    assert_eq!(verify(line, history.state(), &first), [], "{}: the first answer", line.name);
    let mut budget = Budget { tries, stop: &mut || false };
    let found = improve(line, history.state(), &first, &settings, 0, &mut budget).unwrap_or(first);
    assert_eq!(verify(line, history.state(), &found), [], "{}: improved", line.name);
    let worth = Objective::of(line, history.state(), &found, &[]);
    assert_eq!(worth.left, 0, "{}", line.name);
    (found, worth)
}

/// First answers and improved ones on drawn families, of one hoist and of two, with room for one and a half, two and two
/// and a half loads: the verifier, which counts ramps, finds nothing, and everything comes out.
#[test]
fn plans_of_capped_lines_keep_the_cap() {
    for seed in 400..415 {
        let (line, book) = powered(&Family::drawn(seed, 1 + usize::from(seed % 5 == 4)).to_string());
        let watts = [ONE * 3 / 2, ONE * 2, ONE * 5 / 2][seed as usize % 3];
        made(&capped(&line, watts), &book, 4000);
    }
}

/// With power for one of three anodise tanks the line ends later; with power for all of them the plan is that of a line
/// without a cap.
#[test]
fn a_cap_costs_time_only_where_it_binds() {
    let (line, book) = powered("35t-medium-8c-1r-3a-o-1h-10");
    let finish = |line: &Line| made(line, &book, 120_000).1.finish;
    let [free, three, two, one] = [
        finish(&line),
        finish(&capped(&line, 3 * ONE)),
        finish(&capped(&line, 2 * ONE)),
        finish(&capped(&line, ONE)),
    ];
    println!("finish without a cap {free}, with power for three {three}, for two {two}, for one {one}");
    assert_eq!(free, three);
    assert!(three <= two && two < one);
}
