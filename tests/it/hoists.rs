//! Several hoists at work at once on one rail.

use super::families::{Family, instance};
use super::lines::{does, opened};
use dwellhand::ids::{CarrierId, HoistId, Id as _, StepNo, TankId};
use dwellhand::line::{Current, Line, OrderBook, Role, StageKind, Step, Travel, Visit};
use dwellhand::plan::{Budget, Call, Reserve, Settings, calls, improve, plan};
use dwellhand::schedule::{Move, Schedule};
use dwellhand::shift::{Claim, Command, State};
use dwellhand::units::{Dur, Time, Watts};
use dwellhand::verify::{is_possible, verify};

/// A family of a few carriers, so that many can be planned in a test.
fn small(seed: u64, hoists: usize) -> Family {
    let drawn = Family::drawn(seed, hoists);
    Family { carriers: 2 + drawn.carriers % 5, ..drawn }
}

/// A line of several hoists with its orders: some with hoists of unlike speed, some with a hoist that reaches but part of
/// the line, some with power for two anodise loads only.
fn uneven(seed: u64, hoists: usize) -> (Line, OrderBook) {
    let (mut line, book) = instance(&small(seed, hoists).to_string());
    let last = HoistId::at(hoists - 1);
    if seed % 3 == 1 {
        line.hoists[last].travel = Travel::Kinematic { speed: 0.45, accel: 0.15, decel: 0.4 };
        line.hoists[last].hook = Dur::from_secs(9);
    }
    if seed % 5 == 2 {
        line.hoists[last].reach_from = line.tanks[TankId::at(line.tanks.len() / 3)].position;
    }
    if seed % 4 == 1 {
        line.power_cap = Some(Watts(2 * 2400));
        let anodise = |s: &Step| line.stages[s.stage].kind == StageKind::Anodise;
        let current = Current { density: 1.5, volts: 16.0, ramp: Dur::from_secs(30) };
        for recipe in line.recipes.ids() {
            let at = line.recipes[recipe].steps.iter().position(anodise).expect("every line anodises");
            line.recipes[recipe].steps[at].current = Some(current);
        }
    }
    (line, book)
}

/// Every plan and every improved plan of generated lines with two and three hoists passes the verifier.
#[test]
fn plans_and_improved_plans_of_several_hoists_are_true() {
    for seed in 0..40 {
        let hoists = if seed % 4 == 3 { 3 } else { 2 };
        let (line, book) = uneven(seed, hoists);
        let family = &line.name;
        let history = opened(&line, book);
        let reserve = if seed % 2 == 0 { Dur::ZERO } else { Dur::from_secs(10) };
        let settings = Settings { reserve: Reserve::all(reserve), seed, effort: 2, ..Settings::default() };
        let first = plan(&line, history.state(), Time::ZERO, &settings);
        assert_eq!(verify(&line, history.state(), &first), [], "{family}");
        for carrier in history.state().carriers.ids() {
            assert!(first.of(carrier).next().is_some(), "{family}: {carrier:?} stays in the queue");
        }
        let mut budget = Budget { tries: 5_000, stop: &mut || false };
        if let Some(better) = improve(&line, history.state(), &first, &settings, 0, &mut budget) {
            assert_eq!(verify(&line, history.state(), &better), [], "{family} improved");
        }
    }
}

fn end(line: &Line, state: &State, m: &Move) -> Time {
    m.start + m.phases(line, &state.book).expect("possible").total()
}

/// How many pairs of loaded moves overlap in time.
fn at_once(line: &Line, state: &State, schedule: &Schedule) -> usize {
    let moves = &schedule.moves;
    let later =
        |(i, a): (usize, &Move)| moves[i + 1..].iter().filter(|b| b.start < end(line, state, a)).count();
    moves.iter().enumerate().map(later).sum()
}

/// Two loads move at once where that pays: the finish lies below what is proven to be the best for one hoist.
#[test]
fn two_hoists_finish_before_the_best_that_one_can_do() {
    for (id, one_hoist) in
        [("24t-loose-3c-3r-4a-d-2h-2", 6_056_283), ("14t-tight-3c-1r-1a-o-2h-0", 8_577_500)]
    {
        let (line, book) = instance(id);
        let history = opened(&line, book);
        let settings = Settings { reserve: Reserve::NONE, seed: 1, effort: 0, ..Settings::default() };
        let first = plan(&line, history.state(), Time::ZERO, &settings);
        let mut budget = Budget { tries: 60_000, stop: &mut || false };
        let better = improve(&line, history.state(), &first, &settings, 0, &mut budget).unwrap();
        assert_eq!(verify(&line, history.state(), &better), [], "{id}");
        let finish = better.moves.iter().map(|m| end(&line, history.state(), m)).max().unwrap();
        assert!(finish.0 < one_hoist, "{id}: {finish:?}");
        assert!(at_once(&line, history.state(), &better) > 0, "{id}: one load at a time");
    }
}

/// Planning anew after every lift and lower, with one load or two in the air, is always possible, and hardly ever breaks a
/// window: nobody records when an empty hoist sets out, so one that is on its way counts as still where it was, and what
/// that costs can be more than a tight window has. Without a plan in force it is possible as well.
#[test]
fn what_hangs_on_two_hoists_is_planned_on() {
    let (mut both, mut plans, mut broken) = (0, 0, 0);
    for seed in (0..12).chain([31, 60]) {
        let (line, book) = uneven(seed, 2);
        let family = &line.name;
        let mut history = opened(&line, book);
        let settings = Settings { reserve: Reserve::NONE, seed, effort: 2, ..Settings::default() };
        let first = plan(&line, history.state(), Time::ZERO, &settings);
        let mut budget = Budget { tries: 5_000, stop: &mut || false };
        let first = improve(&line, history.state(), &first, &settings, 0, &mut budget).unwrap_or(first);
        let mut keys: Vec<(Time, Command)> = Vec::new();
        for m in &first.moves {
            let phases = m.phases(&line, &history.state().book).unwrap();
            let (lift, down) = (m.start + phases.to_lift(), m.start + phases.to_down());
            keys.push((lift, Command::Lift { carrier: m.carrier, hoist: m.hoist, from: m.from, at: lift }));
            keys.push((down, Command::Lower { hoist: m.hoist, to: m.to, at: down }));
        }
        keys.sort_by_key(|(at, _)| *at);
        does(&line, &mut history, &Command::AdoptPlan { schedule: first }, Time::ZERO);
        for (now, key) in keys.into_iter().take(60) {
            does(&line, &mut history, &key, now);
            let on = plan(&line, history.state(), now, &settings);
            let breaches = verify(&line, history.state(), &on);
            assert!(is_possible(&breaches), "{family} at {now}: {breaches:?}");
            plans += 1;
            broken += usize::from(!breaches.is_empty());
            let hanging = history.state().hoists.iter().filter(|(_, h)| h.carrier.is_some()).count();
            if hanging > 1 && both < 40 {
                both += 1;
                let bare = State { plan: None, ..history.state().clone() };
                let anew = plan(&line, &bare, now, &Settings { effort: 0, ..settings });
                let breaches = verify(&line, &bare, &anew);
                assert!(is_possible(&breaches), "{family} at {now}: {breaches:?}");
            }
        }
    }
    println!("{broken} of {plans} plans break a window");
    assert!(broken * 80 <= plans, "{broken} of {plans} plans break a window");
    assert!(both > 10, "two loads hung at once only {both} times");
}

/// Two loads are due, each for a hoist of its own and out of the other's way: the one that presses is called first, whichever
/// the plan starts first. A load that goes where the other one is stays behind it.
#[test]
fn the_load_that_presses_is_called_first() {
    let (line, book) = instance("24t-loose-3c-1r-2a-o-2h-7");
    let mut called = 0;
    for seed in 0..60 {
        let mut history = opened(&line, book.clone());
        let (one, two) = (CarrierId(0), CarrierId(1));
        let at = |step: usize| {
            let stage = line.recipes[book.carriers[one].recipe].steps[step].stage;
            line.tanks.iter().find(|(_, t)| t.role == Role::Bath(stage)).unwrap().0
        };
        let steps = line.recipes[book.carriers[one].recipe].steps.len();
        let (near, far) = (1 + seed % 3, steps - 2 - seed % 2);
        let now = Time::from_secs(3600);
        for (carrier, step, ago) in [(one, near, 20 + 10 * seed as i64), (two, far, 30)] {
            let claim = Claim::InTank {
                tank: at(step),
                visit: Visit::Step(StepNo::at(step)),
                since: now - Dur::from_secs(ago),
            };
            does(&line, &mut history, &Command::Correct { carrier, claim }, now);
        }
        let settings = Settings { reserve: Reserve::NONE, effort: 2, ..Settings::default() };
        let schedule = plan(&line, history.state(), now, &settings);
        let told = calls(&line, history.state(), &schedule, now, 8);
        let limit = |call: &Call| call.latest_start.unwrap_or(Time::FAR);
        let first_of = |hoist: HoistId| told.iter().find(|c| c.mv.hoist == hoist);
        let (Some(low), Some(high)) = (first_of(HoistId(0)), first_of(HoistId(1))) else { continue };
        let apart = low.mv.to < high.mv.from && low.mv.from < high.mv.from.min(high.mv.to);
        if apart && schedule.moves[0] != told[0].mv {
            assert!(limit(&told[0]) <= limit(low).min(limit(high)), "seed {seed}");
            called += 1;
        }
    }
    assert!(called > 0, "no plan starts the load first that has time");
}
