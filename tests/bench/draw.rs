//! How long it takes to work out and to paint a full screen of 200 by 60 cells in the middle of a busy shift.
#![allow(
    clippy::unwrap_used,
    missing_docs,
    reason = "a bench that meets nothing where something should be has failed"
)]

use std::hint::black_box;
use std::sync::Arc;
use std::time::Duration;

use criterion::{BenchmarkId, Criterion, criterion_group, criterion_main};
use dwellhand::civil::Opening;
use dwellhand::line::Line;
use dwellhand::plan::{Call, Settings, calls, plan};
use dwellhand::shift::{Command, History};
use dwellhand::sim::{Crew, Pace};
use dwellhand::tui::action::Action;
use dwellhand::tui::app::{App, Screen, update};
use dwellhand::tui::screens::{Look, paint};
use dwellhand::tui::{Depth, GlyphSet, Post};
use dwellhand::units::Time;
use dwellhand::view::Board;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use shared::families::{Family, Rinse, instance};
use shared::lines::{does, opened};

mod shared;

/// Moves made before the pictures are taken: about half of the shift.
const DONE: usize = 260;

/// A shift of 40 carriers on 35 tanks in its middle.
struct Middle {
    line: Line,
    history: History,
    calls: Vec<Call>,
    now: Time,
}

fn middle() -> Middle {
    let family = Family {
        tanks: 35,
        rinse: Rinse::Medium,
        carriers: 40,
        recipes: 2,
        anodise: 3,
        dip: false,
        standby: false,
        air: true,
        same_end: false,
        hoists: 1,
        seed: 1,
    };
    let (line, book) = instance(&family.to_string());
    let mut history = opened(&line, book);
    let mut crew = Crew::new(Pace::HUMAN, 1);
    let (mut now, mut done) = (Time::ZERO, 0);
    loop {
        let schedule = plan(&line, history.state(), now, &Settings::default());
        let all = calls(&line, history.state(), &schedule, now, usize::MAX);
        does(&line, &mut history, &Command::AdoptPlan { schedule }, now);
        if done == 2 * DONE {
            return Middle { line, history, calls: all, now };
        }
        let (press, command) = crew.next(&line, history.state(), &all, now).unwrap();
        now = now.max(press);
        does(&line, &mut history, &command, now);
        done += 1;
    }
}

fn draw(c: &mut Criterion) {
    let m = middle();
    let opening = Opening::parse("2026-11-25T06:00:00+01:00").unwrap();
    let build = || Board::build(&m.line, m.history.state(), &m.history, &m.calls, &[], &opening, m.now);
    let board = build();
    let mut group = c.benchmark_group("draw");
    group.sample_size(30).warm_up_time(Duration::from_millis(300)).measurement_time(Duration::from_secs(2));
    let plan = m.history.state().plan.as_ref().unwrap();
    group.bench_function("all-calls", |b| {
        b.iter(|| calls(&m.line, m.history.state(), black_box(plan), m.now, usize::MAX));
    });
    group.bench_function("view", |b| b.iter(|| black_box(build())));
    let area = Rect::new(0, 0, 200, 60);
    for (name, screen) in
        [("live", Screen::Live), ("board", Screen::Board), ("ways", Screen::Chart), ("tanks", Screen::Tanks)]
    {
        for (set, glyphs) in [("full", GlyphSet::Full), ("ascii", GlyphSet::Ascii)] {
            let mut app = App::new(Arc::new(m.line.clone()), Post::Supervisor, false, false);
            app.screen = screen;
            app.desk.cells = area.width;
            update(&mut app, Action::Next, &board, board.now);
            // The widest view shows most.
            for _ in 0..2 {
                update(&mut app, Action::Wider, &board, board.now);
            }
            let look = Look::new(Depth::Many, glyphs);
            let mut buf = Buffer::empty(area);
            group.bench_function(BenchmarkId::new(name, set), |b| {
                b.iter(|| {
                    buf.reset();
                    paint(&mut buf, area, black_box(&board), &app, &look);
                });
            });
        }
    }
    group.finish();
}

criterion_group!(benches, draw);
criterion_main!(benches);
