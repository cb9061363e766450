//! Whole shifts run by a simulated crew on generated lines: what the planner promises must survive people.

use super::lines::{Shape, does, opened, varied};
use dwellhand::line::{Line, OrderBook};
use dwellhand::plan::{Settings, calls, plan};
use dwellhand::shift::{Command, Place, State};
use dwellhand::sim::{Crew, Pace};
use dwellhand::units::{Dur, Time};
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

/// Plans made anew every few seconds, for whatever reason, do not hold up a hoist that has set out: it knows where it is,
/// the plans only where it was last.
#[test]
fn a_hoist_on_its_way_arrives_however_often_plans_are_made() {
    let often = Dur::from_secs(4);
    for seed in 0..8 {
        let (line, book) = varied(seed, Shape { hoists: 1 + seed as usize % 2, ..shape(seed) });
        let mut history = opened(&line, book);
        let mut crew = Crew::new(Pace::PUNCTUAL, seed);
        let (mut now, settings) = (Time::ZERO, Settings { effort: 1, ..Settings::default() });
        let mut last = now;
        while !all_out(history.state()) {
            let schedule = plan(&line, history.state(), now, &settings);
            let calls = calls(&line, history.state(), &schedule, now, 4);
            does(&line, &mut history, &Command::AdoptPlan { schedule }, now);
            let Some((press, command)) = crew.next(&line, history.state(), &calls, now) else { break };
            if press > now + often {
                now += often;
                assert!(now < last + Dur::from_secs(3 * 3600), "seed {seed}: nothing moves after {last}");
            } else {
                now = now.max(press);
                does(&line, &mut history, &command, now);
                last = now;
            }
        }
        assert!(all_out(history.state()), "seed {seed}");
        assert_eq!(happened(&line, history.state()), [], "seed {seed}");
    }
}

/// A load that is lost does not give time to the move that comes before its lift.
#[test]
fn what_comes_before_a_lost_load_has_no_time_left() {
    let mut found = 0;
    for seed in 0..60 {
        let (line, book) = varied(seed, shape(seed));
        let mut history = opened(&line, book);
        let mut crew = Crew::new(Pace { distracted: 0.2, ..Pace::HUMAN }, seed);
        let (mut now, settings) = (Time::ZERO, Settings { effort: 1, ..Settings::default() });
        loop {
            let schedule = plan(&line, history.state(), now, &settings);
            let next = calls(&line, history.state(), &schedule, now, 4);
            if let [first, second, ..] = &next[..]
                && matches!(history.state().carriers[first.mv.carrier].place, Place::InTank { .. })
                && first.mv.carrier != second.mv.carrier
                && second.slack.is_some_and(|s| s < Dur::ZERO)
                && let Some(phases) = first.mv.phases(&line, &history.state().book)
                && let Some(travel) = line.empty_travel(first.mv.hoist, first.mv.to, second.mv.from)
                && second.mv.start == first.mv.start + phases.total() + travel
            {
                found += 1;
                assert!(first.slack.is_some_and(|s| s <= Dur::ZERO), "seed {seed} at {now}: {first:?}");
            }
            does(&line, &mut history, &Command::AdoptPlan { schedule }, now);
            let Some((press, command)) = crew.next(&line, history.state(), &next, now) else { break };
            now = now.max(press);
            does(&line, &mut history, &command, now);
        }
    }
    assert!(found > 0, "no such moment");
}
