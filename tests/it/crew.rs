//! Whole shifts run by a simulated crew on generated lines: what the planner promises must survive people.

use super::lines::{Shape, does, opened, varied};
use dwellhand::line::{Line, OrderBook};
use dwellhand::plan::{Settings, calls, plan};
use dwellhand::shift::{Command, Place, State};
use dwellhand::sim::{Crew, Pace};
use dwellhand::units::Time;
use dwellhand::verify::{Breach, happened, verify};

struct Run {
    state: State,
    breaches: Vec<(Time, Breach)>,
}

/// Follows the calls until everything is out, planning anew after every confirmation.
fn run(line: &Line, book: OrderBook, pace: Pace, seed: u64) -> Run {
    let mut history = opened(line, book);
    let mut crew = Crew::new(pace, seed);
    let mut now = Time::ZERO;
    let mut run = Run { state: State::before(line), breaches: Vec::new() };
    let settings = Settings { effort: 3, ..Settings::default() };
    loop {
        let schedule = plan(line, history.state(), now, &settings);
        run.breaches.extend(verify(line, history.state(), &schedule).into_iter().map(|b| (now, b)));
        let calls = calls(line, history.state(), &schedule, now, 4);
        does(line, &mut history, &Command::AdoptPlan { schedule }, now);
        let Some((press, command)) = crew.next(line, history.state(), &calls, now) else { break };
        now = now.max(press);
        assert!(now < Time::from_secs(48 * 3600), "seed {seed}: the shift does not end");
        does(line, &mut history, &command, now);
    }
    run.state = history.state().clone();
    run
}

fn shape(seed: u64) -> Shape {
    Shape {
        steps: 4 + seed as usize % 14,
        carriers: 2 + seed as usize % 9,
        rinse: 2 + seed as i64 % 4,
        hoists: 1,
    }
}

fn all_out(state: &State) -> bool {
    state.carriers.iter().all(|(_, c)| matches!(c.place, Place::Finished { .. }))
}

/// A punctual crew never meets a broken window, and everything comes out.
#[test]
fn a_punctual_crew_breaks_nothing() {
    for seed in 0..40 {
        let (line, book) = varied(seed, shape(seed));
        let run = run(&line, book, Pace::PUNCTUAL, seed);
        assert!(run.breaches.is_empty(), "seed {seed}: {:#?}", run.breaches.first());
        assert_eq!(happened(&line, &run.state), [], "seed {seed}");
        assert!(all_out(&run.state), "seed {seed}");
    }
}

/// A human crew may break windows, but no plan is ever impossible and everything comes out.
#[test]
fn a_human_crew_is_always_given_a_possible_plan() {
    for seed in 0..120 {
        let (line, book) = varied(seed, shape(seed));
        let run = run(
            &line,
            book,
            Pace { distracted: 0.03, wrong_tank: 0.01, wrong_carrier: 0.02, ..Pace::HUMAN },
            seed,
        );
        let impossible: Vec<_> = run.breaches.iter().filter(|(_, b)| b.harm.is_none()).collect();
        assert!(impossible.is_empty(), "seed {seed}: {:#?}", impossible.first());
        assert!(all_out(&run.state), "seed {seed}");
    }
}
