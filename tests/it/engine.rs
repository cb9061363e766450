//! Promises of planning that has an answer at any time: at once, then better; the same on every machine; adopted only when
//! it is worth it; its worth reckoned as the verifier would.

use std::sync::Arc;
use std::time::{Duration, Instant};

use super::lines::{Shape, book, does, opened, two_carriers, varied};
use dwellhand::civil::Opening;
use dwellhand::clock::ManualClock;
use dwellhand::ids::{HoistId, Id as _};
use dwellhand::line::{Line, OrderBook};
use dwellhand::live::{Improving, LiveShift};
use dwellhand::plan::*;
use dwellhand::schedule::{Move, Schedule};
use dwellhand::shift::{Change, Command, State, StopCause, Who};
use dwellhand::sim::{Crew, Pace};
use dwellhand::units::{Dur, Time};
use dwellhand::verify::{Rule, verify};

/// Dense enough that the first answer is far from the best.
fn crowded() -> (Line, OrderBook) {
    varied(5, Shape { steps: 12, carriers: 8, rinse: 4, hoists: 1 })
}

fn improved(line: &Line, state: &State, first: &Schedule, frozen: usize, tries: u64) -> Option<Schedule> {
    let mut budget = Budget { tries, stop: &mut || false };
    improve_in_rounds(line, state, first, &Settings::default(), frozen, &mut budget, &mut |_| ())
}

fn worth(line: &Line, state: &State, schedule: &Schedule) -> Objective {
    Objective::of(line, state, schedule, &[])
}

#[test]
fn rounds_end_better_keep_every_window_and_are_the_same_every_time() {
    let (line, book) = crowded();
    let history = opened(&line, book);
    let state = history.state();
    let first = plan(&line, state, Time::ZERO, &Settings::default());
    let better = improved(&line, state, &first, 0, 40_000).expect("a better plan");
    assert_eq!(verify(&line, state, &better), []);
    assert!(worth(&line, state, &better).finish < worth(&line, state, &first).finish);
    assert_eq!(improved(&line, state, &first, 0, 40_000), Some(better));
    assert_eq!(improved(&line, state, &first, 0, 0), None);
}

#[test]
fn frozen_hauls_stay_first() {
    let (line, book) = crowded();
    let history = opened(&line, book);
    let state = history.state();
    let first = plan(&line, state, Time::ZERO, &Settings::default());
    let better = improved(&line, state, &first, 3, 40_000).expect("a better plan");
    let same = |a: &Move, b: &Move| Move { start: b.start, ..*a } == *b;
    assert!(first.moves.iter().zip(&better.moves).take(3).all(|(a, b)| same(a, b)));
}

/// Two reckonings that share no code, over plans that break windows because people are slow: the same windows, harm and
/// figures.
#[test]
fn the_worth_of_a_plan_agrees_with_the_verifier() {
    let mut broken = 0;
    for seed in 0..30 {
        let shape = Shape { steps: 5 + seed as usize % 9, carriers: 5, rinse: 2, hoists: 1 };
        let (line, book) = varied(seed, shape);
        let mut history = opened(&line, book);
        let mut crew = Crew::new(Pace { distracted: 0.1, wrong_tank: 0.0, ..Pace::HUMAN }, seed);
        // Nothing is kept free, so that slow people break many windows.
        let settings = Settings { effort: 1, reserve: Reserve::NONE, ..Settings::default() };
        let mut now = Time::ZERO;
        for _ in 0..60 {
            let state = history.state();
            let schedule = plan(&line, state, now, &settings);
            let mut ours: Vec<_> = excesses(&line, state, &schedule)
                .into_iter()
                .map(|e| (state.book.carriers[e.carrier].name.clone(), e.harm, e.by))
                .collect();
            let judged = verify(&line, state, &schedule);
            let windows = judged.iter().filter(|b| matches!(b.rule, Rule::Under | Rule::Over | Rule::Air));
            let mut theirs: Vec<_> =
                windows.filter_map(|b| Some((b.carrier.clone(), b.harm?, b.by))).collect();
            ours.sort();
            theirs.sort();
            assert_eq!(ours, theirs, "seed {seed} at {now}: {judged:#?}");
            broken += ours.len();
            let calls = calls(&line, state, &schedule, now, 4);
            does(&line, &mut history, &Command::AdoptPlan { schedule }, now);
            let Some((press, command)) = crew.next(&line, history.state(), &calls, now) else { break };
            now = now.max(press);
            does(&line, &mut history, &command, now);
        }
    }
    assert!(broken > 20, "only {broken} broken windows: the comparison says little");
}

#[test]
fn an_earlier_part_decides_before_a_later_one() {
    let line = two_carriers();
    let history = opened(&line, book(&[("A", Time::ZERO), ("B", Time::ZERO)]));
    let base = worth(&line, history.state(), &plan(&line, history.state(), Time::ZERO, &Settings::default()));
    let margin = Margin { harm: Dur::from_secs(5), late: Dur::from_secs(60), finish: Dur::from_secs(30) };
    let sooner = |s: i64| Objective { finish: base.finish - Dur::from_secs(s), ..base };
    assert!(sooner(31).better_by(&base, &margin));
    assert!(!sooner(30).better_by(&base, &margin), "not more than the margin");
    let flips = Objective { changes: 1, ..sooner(600) };
    assert!(!flips.better_by(&base, &margin), "a sooner finish does not buy another next call");
    let spoils = Objective { scrap: 1, ..sooner(600) };
    assert!(!spoils.better_by(&base, &margin) && base.better_by(&spoils, &margin));
    let saved = Objective { scrap: 1, excess: [Dur::from_secs(9), Dur::ZERO, Dur::ZERO, Dur::ZERO], ..base };
    assert!(flips.better_by(&saved, &margin), "a saved load does");
}

/// `two_carriers`, by hand: A at 0, 25, 40 and B at 40, 65, 80 end at 85. B first: B as before, A at 72, 97, 112 ends at 117.
#[test]
fn the_other_first_move_is_planned_on_from() {
    let line = two_carriers();
    let exact = Settings { reserve: Reserve::NONE, ..Settings::default() };
    let asked = |ready: i64| {
        let history = opened(&line, book(&[("A", Time::ZERO), ("B", Time::from_secs(ready))]));
        let state = history.state();
        let schedule = plan(&line, state, Time::ZERO, &exact);
        let mut budget = Budget { tries: 1000, stop: &mut || false };
        let found = instead(&line, state, &schedule, Time::ZERO, &exact, &mut budget).unwrap();
        (found.price, found.words(&line, &state.book))
    };
    let later = (Price::Later(Dur::from_secs(32)), "B first: finished up to 0:32 later".to_owned());
    assert_eq!(asked(40), later);
    assert_eq!(asked(0).0, Price::Nothing, "the two are alike");
}

fn shift(improving: Improving) -> (LiveShift, ManualClock) {
    let (line, book) = crowded();
    let clock = ManualClock::default();
    let opening = Opening::parse("2026-11-25T06:00:00+01:00").unwrap();
    let mut shift =
        LiveShift::in_memory(Arc::new(line), opening, Box::new(clock.clone()), Settings::default());
    shift.submit(&Command::Open { book }, Who::Supervisor).unwrap();
    shift.set_improving(improving).unwrap();
    (shift, clock)
}

/// Runs a shift with a crew for a while, looking after each instant.
fn run(shift: &mut LiveShift, clock: &ManualClock, minutes: i64, mut look: impl FnMut(&mut LiveShift)) {
    shift.set_hands(Box::new(Crew::new(Pace::HUMAN, 3)));
    while shift.now() < Time::ZERO + Dur::from_mins(minutes) {
        let wake = shift.next_wake().max(shift.now() + Dur(1));
        clock.set(wake);
        shift.tick().unwrap();
        look(shift);
    }
}

#[test]
fn improving_at_once_is_the_same_every_time_and_worth_it() {
    let (plain, _) = shift(Improving::Off);
    let run_once = || {
        let (mut shift, clock) = shift(Improving::AtOnce { tries: 20_000 });
        let first: Vec<Call> = shift.calls().to_vec();
        assert!(first.iter().zip(plain.calls()).take(2).all(|(a, b)| a.mv.carrier == b.mv.carrier));
        assert!(
            worth(shift.line(), shift.state(), shift.schedule()).finish
                < worth(plain.line(), plain.state(), plain.schedule()).finish
        );
        run(&mut shift, &clock, 20, |shift| {
            let impossible = verify(shift.line(), shift.state(), shift.schedule());
            assert!(impossible.iter().all(|b| b.harm.is_some()), "{impossible:#?}");
        });
        shift.history().events().to_vec()
    };
    assert_eq!(run_once(), run_once());
}

/// Waits for the thread, in real time, with the shift's clock standing still.
fn until(shift: &mut LiveShift, what: &str, mut done: impl FnMut(&mut LiveShift) -> bool) {
    let began = Instant::now();
    while !done(shift) {
        assert!(began.elapsed() < Duration::from_secs(60), "no {what} within a minute");
        std::thread::sleep(Duration::from_millis(5));
        shift.tick().unwrap();
    }
}

#[test]
fn a_thread_makes_the_plan_better_prices_the_other_move_and_then_costs_nothing() {
    let (mut shift, _) = shift(Improving::Behind { lasting: Duration::from_secs(60), tries: 40_000 });
    let first = worth(shift.line(), shift.state(), shift.schedule()).finish;
    let call = shift.calls()[0].mv;
    until(&mut shift, "price of another move", |s| s.calls()[0].instead.is_some());
    until(&mut shift, "better plan", |s| worth(s.line(), s.state(), s.schedule()).finish < first);
    // While it searches the shift asks to be looked at soon; afterwards it does not.
    until(&mut shift, "end of the search", |s| s.next_wake() - s.now() >= Dur::from_secs(1));
    assert_eq!((shift.calls()[0].mv.carrier, shift.calls()[0].mv.to), (call.carrier, call.to));
    assert_eq!(verify(shift.line(), shift.state(), shift.schedule()), []);
    assert_eq!(shift.take_notices(), []);
}

#[test]
fn an_event_stops_the_search_and_so_does_the_end() {
    let endless = Improving::Behind { lasting: Duration::from_secs(3600), tries: u64::MAX };
    let (mut shift, clock) = shift(endless);
    run(&mut shift, &clock, 20, |shift| {
        let impossible = verify(shift.line(), shift.state(), shift.schedule());
        assert!(impossible.iter().all(|b| b.harm.is_some()), "{impossible:#?}");
    });
    assert_eq!(shift.take_notices(), []);
    let began = Instant::now();
    drop(shift);
    assert!(began.elapsed() < Duration::from_secs(10), "the thread was not stopped");
}

#[test]
fn where_there_is_trouble_the_thread_looks_for_ways_out_until_the_next_event() {
    let (mut shift, _) = shift(Improving::Behind { lasting: Duration::from_secs(60), tries: 2000 });
    assert!(shift.ways_out().is_empty());
    let stop = Change::StopHoist { hoist: HoistId::at(0), cause: StopCause::Fault, until: None };
    shift.submit(&Command::Change { change: stop, why: String::new() }, Who::Supervisor).unwrap();
    until(&mut shift, "ways out", |s| !s.ways_out().is_empty());
    assert!(shift.ways_out().iter().any(|w| w.commands.is_empty()));
    let run = Change::RunHoist { hoist: HoistId::at(0) };
    shift.submit(&Command::Change { change: run, why: String::new() }, Who::Supervisor).unwrap();
    assert_eq!(shift.trouble(), None);
    assert!(shift.ways_out().is_empty());
    assert_eq!(shift.take_notices(), []);
}
