//! How long a plan takes: the first answer, how it grows with carriers and tanks, and the plan after each event of a shift.
#![allow(
    clippy::unwrap_used,
    missing_docs,
    reason = "a bench that meets nothing where something should be has failed"
)]

use std::hint::black_box;
use std::time::{Duration, Instant};

use criterion::{BenchmarkId, Criterion, criterion_group, criterion_main};
use dwellhand::line::{Line, OrderBook};
use dwellhand::plan::{Settings, calls, plan};
use dwellhand::shift::{Command, State};
use dwellhand::sim::{Crew, Pace};
use dwellhand::units::Time;
use shared::families::{Family, Rinse, instance};
use shared::lines::{does, opened};

mod shared;

/// What most benches look at, varied in one figure at a time.
const USUAL: Family = Family {
    tanks: 35,
    rinse: Rinse::Medium,
    carriers: 12,
    recipes: 2,
    anodise: 3,
    dip: false,
    standby: false,
    air: true,
    same_end: false,
    hoists: 1,
    seed: 1,
};

fn made(family: &Family) -> (Line, OrderBook) {
    instance(&family.to_string())
}

fn first(c: &mut Criterion, id: BenchmarkId, family: &Family) {
    let (line, book) = made(family);
    let history = opened(&line, book);
    let settings = Settings::default();
    let mut group = c.benchmark_group("first");
    group.sample_size(10).warm_up_time(Duration::from_millis(200)).measurement_time(Duration::from_secs(2));
    group.bench_function(id, |b| {
        b.iter(|| plan(black_box(&line), history.state(), Time::ZERO, &settings));
    });
    group.finish();
}

fn first_answers(c: &mut Criterion) {
    for carriers in [5, 12, 25, 50, 100] {
        first(c, BenchmarkId::new("carriers-on-35-tanks", carriers), &Family { carriers, ..USUAL });
    }
    for (tanks, anodise) in [(14, 1), (24, 2), (35, 3), (50, 3), (100, 3)] {
        first(c, BenchmarkId::new("12-carriers-by-tanks", tanks), &Family { tanks, anodise, ..USUAL });
    }
}

/// Every state after which a shift with a human crew was planned anew.
fn events(line: &Line, book: OrderBook) -> Vec<(State, Time)> {
    let mut history = opened(line, book);
    let mut crew = Crew::new(Pace::HUMAN, 1);
    let (mut now, mut found) = (Time::ZERO, Vec::new());
    loop {
        found.push((history.state().clone(), now));
        let schedule = plan(line, history.state(), now, &Settings::default());
        let calls = calls(line, history.state(), &schedule, now, 4);
        does(line, &mut history, &Command::AdoptPlan { schedule }, now);
        let Some((press, command)) = crew.next(line, history.state(), &calls, now) else { break };
        now = now.max(press);
        does(line, &mut history, &command, now);
    }
    // The first has no plan to go on from; that is the first answer.
    found.remove(0);
    found
}

#[expect(clippy::print_stdout, reason = "the figures are what one runs this for")]
fn after_events(c: &mut Criterion) {
    let (line, book) = made(&USUAL);
    let events = events(&line, book);
    let settings = Settings::default();
    let mut each: Vec<Duration> = Vec::new();
    for (state, now) in &events {
        let began = Instant::now();
        black_box(plan(black_box(&line), state, *now, &settings));
        each.push(began.elapsed());
    }
    each.sort_unstable();
    let at = |share: usize| each[(each.len() - 1) * share / 100];
    println!(
        "after an event, {} events: p50 {:?}, p99 {:?}, longest {:?}",
        each.len(),
        at(50),
        at(99),
        at(100)
    );
    let mut group = c.benchmark_group("after-an-event");
    group.sample_size(10).warm_up_time(Duration::from_millis(200)).measurement_time(Duration::from_secs(3));
    group.bench_function("12-carriers-on-35-tanks", |b| {
        let mut turns = events.iter().cycle();
        b.iter(|| {
            let (state, now) = turns.next().unwrap();
            plan(black_box(&line), state, *now, &settings)
        });
    });
    group.finish();
}

criterion_group!(benches, first_answers, after_events);
criterion_main!(benches);
