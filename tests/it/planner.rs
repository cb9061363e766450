//! The planner against cases worked by hand and against the verifier on generated lines.

use super::lines::{Shape, book, does, opened, two_carriers, varied};
use dwellhand::ids::{CarrierId, Id as _, TankId};
use dwellhand::line::{Line, Role, StageKind, Visit};
use dwellhand::plan::{Reason, Reserve, Settings, calls, follow, plan};
use dwellhand::schedule::{Move, Schedule};
use dwellhand::shift::{Command, Place, State};
use dwellhand::sim::{Crew, Pace};
use dwellhand::units::{Dur, Time};
use dwellhand::verify::verify;

const EXACT: Settings = Settings {
    reserve: Reserve::NONE,
    seed: 1,
    effort: 40,
    stop: Dur::from_mins(10),
    out: Dur::from_mins(30),
};

fn starts(schedule: &Schedule, carrier: usize) -> Vec<i64> {
    schedule.of(CarrierId::at(carrier)).map(|m| m.start.0 / 1000).collect()
}

fn finish(line: &Line, state: &State, schedule: &Schedule) -> Time {
    let ends =
        schedule.moves.iter().map(|m| m.start + m.phases(line, &state.book).expect("possible").total());
    ends.max().unwrap_or(Time::ZERO)
}

/// `two_carriers`, derived by hand: A at 0, 25, 40 and B at 32, 57, 72 end at 77; 65 would break the strict swap.
#[test]
fn two_carriers_finish_at_77_and_no_sooner() {
    let line = two_carriers();
    let history = opened(&line, book(&[("A", Time::ZERO), ("B", Time::ZERO)]));
    let schedule = plan(&line, history.state(), Time::ZERO, &EXACT);
    assert_eq!(verify(&line, history.state(), &schedule), []);
    assert_eq!(finish(&line, history.state(), &schedule), Time::from_secs(77));
}

/// `insertion`, derived by hand: C comes at 40, A and B keep what they were promised, the end is 109.
#[test]
fn a_late_carrier_is_inserted_without_moving_the_others() {
    let line = two_carriers();
    let carriers = [("A", Time::ZERO), ("B", Time::ZERO), ("C", Time::from_secs(40))];
    let history = opened(&line, book(&carriers));
    let schedule = plan(&line, history.state(), Time::ZERO, &EXACT);
    assert_eq!(verify(&line, history.state(), &schedule), []);
    assert_eq!(finish(&line, history.state(), &schedule), Time::from_secs(109));
    assert_eq!(starts(&schedule, 2), [64, 89, 104]);
}

/// `breakdown`, derived by hand: with the hoist back at 35 carrier A has soaked 30, over by 5; nothing else breaks.
#[test]
fn after_a_breakdown_only_the_window_that_cannot_be_kept_is_broken() {
    let line = two_carriers();
    let mut history = opened(&line, book(&[("A", Time::ZERO), ("B", Time::ZERO)]));
    let a = CarrierId::at(0);
    let (l, t1) = (dwellhand::ids::TankId::at(0), dwellhand::ids::TankId::at(1));
    let h = dwellhand::ids::HoistId::at(0);
    does(&line, &mut history, &Command::Lift { carrier: a, hoist: h, from: l, at: Time::ZERO }, Time::ZERO);
    let five = Time::from_secs(5);
    does(&line, &mut history, &Command::Lower { hoist: h, to: t1, at: five }, five);
    let schedule = plan(&line, history.state(), Time::from_secs(35), &EXACT);
    let breaches = verify(&line, history.state(), &schedule);
    assert_eq!(breaches.len(), 1, "{breaches:?}");
    assert_eq!(breaches[0].by, Dur::from_secs(5));
}

/// Every plan of every generated line passes the verifier, and every carrier comes out.
#[test]
fn plans_of_generated_lines_keep_every_window() {
    for seed in 0..60 {
        let shape = Shape {
            steps: 4 + seed as usize % 14,
            carriers: 1 + seed as usize % 9,
            rinse: 2 + seed as i64 % 4,
            hoists: 1 + usize::from(seed % 7 == 6),
        };
        let (line, book) = varied(seed, shape);
        let history = opened(&line, book);
        let settings = Settings { effort: 2, ..Settings::default() };
        let schedule = plan(&line, history.state(), Time::ZERO, &settings);
        assert_eq!(verify(&line, history.state(), &schedule), [], "seed {seed} {shape:?}");
        for carrier in history.state().carriers.ids() {
            assert!(schedule.of(carrier).next().is_some(), "seed {seed}: {carrier:?} stays in the queue");
        }
    }
}

/// Same problem, seed and effort: the same plan.
#[test]
fn the_same_seed_gives_the_same_plan() {
    let (line, book) = varied(3, Shape { steps: 12, carriers: 6, rinse: 3, hoists: 1 });
    let history = opened(&line, book);
    let once = plan(&line, history.state(), Time::ZERO, &Settings::default());
    let twice = plan(&line, history.state(), Time::ZERO, &Settings::default());
    assert_eq!(once, twice);
}

/// What a call gives as its reason is so in the plan, for all calls of it: the window it names is the one it says, the
/// plan keeps it, and the move does come before its end. One broken window leaves the other calls their own reasons.
#[test]
fn what_limits_a_call_lies_ahead_of_it() {
    let mut seen = [0; 4];
    // Slow people break windows where nothing is kept free.
    let slow = Pace { distracted: 0.3, wrong_tank: 0.0, ..Pace::HUMAN };
    let crews = [(Pace::PUNCTUAL, Settings::default()), (slow, EXACT)];
    for (seed, (pace, settings)) in (0..20).flat_map(|seed| crews.map(|crew| (seed, crew))) {
        let shape =
            Shape { steps: 5 + seed as usize % 9, carriers: 5, rinse: 2, hoists: 1 + seed as usize % 2 };
        let (line, book) = varied(seed, shape);
        let mut history = opened(&line, book);
        let mut crew = Crew::new(pace, seed);
        let mut now = Time::ZERO;
        for _ in 0..40 {
            let state = history.state();
            let schedule = plan(&line, state, now, &settings);
            let breaks = !verify(&line, state, &schedule).is_empty();
            let calls = calls(&line, state, &schedule, now, usize::MAX);
            for (i, call) in calls.iter().enumerate() {
                let leaves = |carrier, tank| {
                    calls.iter().rposition(|c| (c.mv.carrier, c.mv.from) == (carrier, tank)).unwrap()
                };
                let lift = |ix: usize| {
                    let mv = &calls[ix].mv;
                    mv.start + mv.phases(&line, &state.book).unwrap().to_lift()
                };
                let window = |carrier, visit| line.window(state.book.carriers[carrier].recipe, visit).1;
                let before = calls[..i].iter().rev().find(|c| c.mv.carrier == call.mv.carrier);
                if let Some(before) = before.filter(|b| !b.mv.is_put_back()) {
                    // If all goes as planned until then, it may wait no longer than its own window.
                    let down = before.mv.start + before.mv.phases(&line, &state.book).unwrap().to_down();
                    let left = down + window(call.mv.carrier, call.mv.leaves) - lift(i);
                    assert!(call.slack.is_none_or(|s| s <= left), "seed {seed}: {left} of {call:?}");
                    assert!(call.slack.is_some() || left > Dur::LONGEST, "seed {seed}: {left} of {call:?}");
                }
                assert!(call.slack.is_none_or(|s| s < Dur::LONGEST), "seed {seed}: {call:?}");
                match call.reason {
                    Reason::Before { carrier, tank, closes } => {
                        let Place::InTank { tank: at, visit, since, .. } = state.carriers[carrier].place
                        else {
                            panic!("seed {seed}: {call:?} names a window that nobody is in")
                        };
                        assert_eq!(
                            (tank, closes),
                            (at, since + window(carrier, visit)),
                            "seed {seed}: {call:?}"
                        );
                        let ends = leaves(carrier, tank);
                        assert!(i < ends, "seed {seed}: {call:?} comes after the lift it names");
                        assert!(lift(ends) <= closes, "seed {seed}: {call:?} names a window that breaks");
                        seen[if breaks { 2 } else { 0 }] += 1;
                    }
                    Reason::Ahead { carrier, tank, longest } => {
                        let ends = leaves(carrier, tank);
                        assert!(i <= ends, "seed {seed}: {call:?} comes after the lift it names");
                        assert_eq!(longest, window(carrier, calls[ends].mv.leaves), "seed {seed}: {call:?}");
                        seen[1] += 1;
                    }
                    Reason::Window { closes, .. } => {
                        assert!(lift(i) <= closes, "seed {seed}: {call:?} names a window that breaks");
                        seen[3] += usize::from(breaks);
                    }
                    _ => {}
                }
            }
            does(&line, &mut history, &Command::AdoptPlan { schedule }, now);
            let Some((press, command)) = crew.next(&line, history.state(), &calls, now) else { break };
            now = now.max(press);
            does(&line, &mut history, &command, now);
        }
    }
    assert!(seen[0] > 100 && seen[1] > 100, "{seen:?}: hardly asked");
    assert!(seen[2] > 50 && seen[3] > 50, "{seen:?}: hardly asked of plans that break something");
}

/// Standby water that is no longer needed goes out of the plan: each move of a plan in turn is led through it, and the next
/// plan leads no load there any more.
#[test]
fn a_wait_in_standby_water_that_costs_nothing_to_leave_out_is_left_out() {
    let mut detours = 0;
    for seed in 0..12 {
        let (line, book) = varied(seed, Shape { steps: 10, carriers: 2, rinse: 4, hoists: 1 });
        let history = opened(&line, book);
        let schedule = plan(&line, history.state(), Time::ZERO, &EXACT);
        let standby: Vec<TankId> = line.tanks.ids().filter(|t| is_standby(&line, *t)).collect();
        for (at, whole) in schedule.moves.iter().enumerate() {
            let (Visit::Step(n), true) = (whole.leaves, whole.attach && whole.release) else { continue };
            for &tank in &standby {
                let into = Move { to: tank, visit: Visit::Hold(n), ..*whole };
                let onward = Move { from: tank, leaves: Visit::Hold(n), ..*whole };
                let mut moves = schedule.moves.clone();
                moves.splice(at..=at, [into, onward]);
                let detour = Schedule::new(moves, Time::ZERO);
                let Some(detour) = follow(&line, history.state(), &detour, Time::ZERO, &EXACT) else {
                    continue;
                };
                detours += 1;
                let mut history = history.clone();
                does(&line, &mut history, &Command::AdoptPlan { schedule: detour }, Time::ZERO);
                let again = plan(&line, history.state(), Time::ZERO, &EXACT);
                let holds = again.moves.iter().filter(|m| matches!(m.visit, Visit::Hold(_))).count();
                assert_eq!(holds, 0, "seed {seed}: {whole:?} by {tank:?}");
                assert_eq!(verify(&line, history.state(), &again), [], "seed {seed}");
            }
        }
    }
    assert!(detours > 20, "only {detours} detours");
}

fn is_standby(line: &Line, tank: TankId) -> bool {
    matches!(line.tanks[tank].role, Role::Bath(s) if line.stages[s].kind == StageKind::Standby)
}
