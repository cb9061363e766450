//! How long it takes to have any instant of a shift of twelve hours with a hundred carriers, and all of it once.
#![allow(
    clippy::unwrap_used,
    missing_docs,
    reason = "a bench that meets nothing where something should be has failed"
)]

use std::hint::black_box;
use std::sync::Arc;
use std::time::Duration;

use criterion::{Criterion, criterion_group, criterion_main};
use dwellhand::clock::ManualClock;
use dwellhand::files::{Source, demo, read_line, read_orders};
use dwellhand::live::LiveShift;
use dwellhand::plan::Settings;
use dwellhand::replay::{Point, Recording};
use dwellhand::rng::Rng;
use dwellhand::shift::{Command, Who};
use dwellhand::sim::{Crew, Pace};
use dwellhand::units::{Dur, Time};

const TWELVE_HOURS: Dur = Dur::from_secs(12 * 3600);

/// A day's orders on the demo line, run by a simulated crew.
fn twelve_hours() -> Recording {
    let (line, recipes, _) = demo();
    let line = Arc::new(read_line(line, recipes).unwrap().value);
    let orders = Source { name: "orders-day", text: include_str!("../../demo-data/orders-day.json") };
    let orders = read_orders(orders, &line, None).unwrap().value;
    let clock = ManualClock::default();
    let mut shift =
        LiveShift::in_memory(Arc::clone(&line), orders.opening, Box::new(clock.clone()), Settings::default());
    shift.submit(&Command::Open { book: orders.book }, Who::Supervisor).unwrap();
    shift.set_hands(Box::new(Crew::new(Pace::HUMAN, 1)));
    while shift.now() < Time::ZERO + TWELVE_HOURS {
        let wake = shift.next_wake().max(shift.now() + Dur(1));
        clock.set(wake);
        shift.tick().unwrap();
    }
    Recording::new(line, orders.opening, shift.history().events().to_vec())
}

/// Points in no order, so that none is near the one before.
fn points(recording: &Recording) -> Vec<Point> {
    let mut rng = Rng::stream(1, "points");
    let length = (TWELVE_HOURS.0 / 1000) as usize;
    (0..64).map(|_| recording.at(Time::from_secs(rng.below(length) as i64))).collect()
}

fn seek(c: &mut Criterion) {
    let recording = twelve_hours();
    let points = points(&recording);
    let mut group = c.benchmark_group("replay");
    group.sample_size(20).warm_up_time(Duration::from_millis(300)).measurement_time(Duration::from_secs(3));
    let mut turn = points.iter().cycle();
    let mut next = || *turn.next().unwrap();
    group.bench_function(format!("state-anywhere-in-{}-events", recording.events().len()), |b| {
        b.iter(|| black_box(recording.history(next().ix)));
    });
    group.bench_function("calls-and-breaches-anywhere", |b| b.iter(|| black_box(recording.moment(next()))));
    group.bench_function("board-anywhere", |b| {
        b.iter(|| {
            let point = next();
            black_box(recording.moment(point).board(&recording, point.at))
        });
    });
    group.bench_function("the-whole-recording", |b| {
        b.iter(|| {
            let events = recording.events().to_vec();
            black_box(Recording::new(Arc::clone(recording.line()), *recording.opening(), events))
        });
    });
    group.finish();
}

criterion_group!(benches, seek);
criterion_main!(benches);
