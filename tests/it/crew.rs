//! Whole shifts run by a simulated crew on generated lines: what the planner promises must survive people.

use super::lines::{Shape, does, opened, varied};
use dwellhand::line::{Line, OrderBook};
use dwellhand::plan::{Call, Settings, calls, plan};
use dwellhand::schedule::Schedule;
use dwellhand::shift::{Command, Place, State};
use dwellhand::sim::{Crew, Pace};
use dwellhand::units::{Dur, Time};
use dwellhand::verify::{Breach, happened, verify};

struct Run {
    state: State,
    breaches: Vec<(Time, Breach)>,
}

/// Who looks at a state, the plan from there, and its calls.
type Look<'a> = dyn FnMut(&State, &Schedule, &[Call], Time) + 'a;

/// Follows the calls until everything is out, planning anew after every confirmation, and while nothing is done every
/// `often`. `look` is told of every plan and its calls.
fn follow(
    line: &Line,
    book: OrderBook,
    mut crew: Crew,
    (effort, often): (u32, Dur),
    look: &mut Look<'_>,
) -> State {
    let mut history = opened(line, book);
    let mut now = Time::ZERO;
    let settings = Settings { effort, ..Settings::default() };
    loop {
        let schedule = plan(line, history.state(), now, &settings);
        let calls = calls(line, history.state(), &schedule, now, 4);
        look(history.state(), &schedule, &calls, now);
        does(line, &mut history, &Command::AdoptPlan { schedule }, now);
        let Some((press, command)) = crew.next(line, history.state(), &calls, now) else { break };
        if press > now + often {
            now += often;
        } else {
            now = now.max(press);
            does(line, &mut history, &command, now);
        }
        assert!(now < Time::from_secs(48 * 3600), "the shift does not end");
    }
    history.state().clone()
}

fn run(line: &Line, book: OrderBook, pace: Pace, seed: u64) -> Run {
    let mut breaches = Vec::new();
    let mut judge = |state: &State, schedule: &Schedule, _: &[Call], now: Time| {
        breaches.extend(verify(line, state, schedule).into_iter().map(|b| (now, b)));
    };
    let state = follow(line, book, Crew::new(pace, seed), (3, Dur::UNLIMITED), &mut judge);
    Run { state, breaches }
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
    for seed in 0..8 {
        let (line, book) = varied(seed, Shape { hoists: 1 + seed as usize % 2, ..shape(seed) });
        let mut last = (None, Time::ZERO);
        let mut moves = |state: &State, _: &Schedule, _: &[Call], now: Time| {
            if last.0 != state.last_physical {
                last = (state.last_physical, now);
            }
            let since = last.1;
            assert!(now < since + Dur::from_secs(3 * 3600), "seed {seed}: nothing moves after {since}");
        };
        let crew = Crew::new(Pace::PUNCTUAL, seed);
        let state = follow(&line, book, crew, (1, Dur::from_secs(4)), &mut moves);
        assert!(all_out(&state), "seed {seed}");
        assert_eq!(happened(&line, &state), [], "seed {seed}");
    }
}

/// A load that is lost does not give time to the move that comes before its lift.
#[test]
fn what_comes_before_a_lost_load_has_no_time_left() {
    let mut found = 0;
    for seed in 0..60 {
        let (line, book) = varied(seed, shape(seed));
        let crew = Crew::new(Pace { distracted: 0.2, ..Pace::HUMAN }, seed);
        let mut presses = |state: &State, _: &Schedule, next: &[Call], now: Time| {
            if let [first, second, ..] = next
                && matches!(state.carriers[first.mv.carrier].place, Place::InTank { .. })
                && first.mv.carrier != second.mv.carrier
                && second.slack.is_some_and(|s| s < Dur::ZERO)
                && let Some(phases) = first.mv.phases(&line, &state.book)
                && let Some(travel) = line.empty_travel(first.mv.hoist, first.mv.to, second.mv.from)
                && second.mv.start == first.mv.start + phases.total() + travel
            {
                found += 1;
                assert!(first.slack.is_some_and(|s| s <= Dur::ZERO), "seed {seed} at {now}: {first:?}");
            }
        };
        follow(&line, book, crew, (1, Dur::UNLIMITED), &mut presses);
    }
    assert!(found > 0, "no such moment");
}
