//! Baths: what is measured outside the limits keeps loads out until it is inside again; planner and verifier agree.

use std::sync::Arc;

use dwellhand::civil::Opening;
use dwellhand::clock::ManualClock;
use dwellhand::ids::{CarrierId, HoistId, TankId};
use dwellhand::line::{Limit, Line, OrderBook, Quantity, Role};
use dwellhand::live::LiveShift;
use dwellhand::plan::{Settings, calls, plan};
use dwellhand::rng::Rng;
use dwellhand::schedule::Move;
use dwellhand::shift::bath::{self, Fault};
use dwellhand::shift::ledger::{Entry, Reading};
use dwellhand::shift::{Command, History, Place, Who, decide};
use dwellhand::sim::{Crew, Pace};
use dwellhand::units::{Dur, Time};
use dwellhand::verify::{Rule, verify};

use crate::lines::{Shape, does, opened, varied};
use crate::small::{self, ANODISE, CLEAN, LOAD, RINSE};

const B1: CarrierId = CarrierId(0);
const B2: CarrierId = CarrierId(1);

fn t(secs: i64) -> Time {
    Time::from_secs(secs)
}

/// 18 to 22 C, every hour.
fn acid(overdue_stops: bool) -> Limit {
    let (least, most) = (Some(18.0), Some(22.0));
    let every = Some(Dur::from_mins(60));
    Limit { quantity: Quantity::Temperature, least, most, every, overdue_stops }
}

fn limited(line: &Line, tank: TankId, limit: Limit) -> Line {
    let mut line = line.clone();
    line.tanks[tank].limits.push(limit);
    line
}

fn reads(tank: TankId, value: f64, at: Time) -> Command {
    let reading = Reading { quantity: Quantity::Temperature, value };
    Command::Enter { entry: Entry::Bath { tank, reading }, at }
}

#[test]
fn a_cold_bath_gets_no_load_until_it_is_measured_warm() {
    let line = limited(&small::line(), ANODISE, acid(false));
    let mut history = opened(&line, small::book());
    let free = plan(&line, history.state(), t(0), &Settings::default());
    assert!(free.of(B1).next().is_some());
    does(&line, &mut history, &reads(ANODISE, 17.4, t(5)), t(5));
    does(&line, &mut history, &reads(ANODISE, 17.0, t(60)), t(60));
    let unfit = bath::unfit(&line, history.state(), ANODISE, t(60)).unwrap();
    assert_eq!((unfit.fault, unfit.since), (Fault::Low(17.0), t(5)), "since the first reading outside");
    let shut = plan(&line, history.state(), t(60), &Settings::default());
    assert!(shut.moves.iter().all(|m| m.to != ANODISE), "{:#?}", shut.moves);
    assert_eq!(shut.of(B1).count(), 0, "it is not started towards a bath that is shut");
    let told = verify(&line, history.state(), &free);
    let breach = told.iter().find(|b| b.rule == Rule::Bath).unwrap();
    assert_eq!((breach.harm, breach.place.as_str()), (None, line.tanks[ANODISE].name.as_str()));
    does(&line, &mut history, &reads(ANODISE, 19.0, t(90)), t(90));
    assert_eq!(bath::unfit(&line, history.state(), ANODISE, t(90)), None);
    let again = plan(&line, history.state(), t(90), &Settings::default());
    assert!(again.of(B1).any(|m| m.to == ANODISE));
}

/// The evening before is a time to measure; four days before is a slip of the fingers.
#[test]
fn a_reading_from_days_before_the_shift_is_refused() {
    let line = limited(&small::line(), ANODISE, acid(false));
    let history = opened(&line, small::book());
    let said = |hours: i64| decide(&line, &history, &reads(ANODISE, 20.0, t(-3600 * hours)), t(60));
    assert!(said(12).is_ok());
    let refused = said(99).unwrap_err().to_string();
    assert!(refused.contains("more than a day before the shift"), "{refused}");
}

#[test]
fn a_bath_made_up_anew_is_shut_until_somebody_measures_it() {
    let line = limited(&small::line(), ANODISE, acid(false));
    let mut history = opened(&line, small::book());
    does(&line, &mut history, &reads(ANODISE, 25.0, t(5)), t(5));
    let changed = Command::Enter { entry: Entry::BathChanged { tank: ANODISE }, at: t(20) };
    does(&line, &mut history, &changed, t(20));
    let unfit = bath::unfit(&line, history.state(), ANODISE, t(30)).unwrap();
    assert_eq!((unfit.fault, unfit.since), (Fault::New, t(20)), "what was measured before is gone");
    // A late entry does not outweigh what was measured after it.
    does(&line, &mut history, &reads(ANODISE, 20.0, t(40)), t(40));
    does(&line, &mut history, &reads(ANODISE, 30.0, t(35)), t(50));
    assert_eq!(bath::unfit(&line, history.state(), ANODISE, t(50)), None);
}

/// Also one that nobody has measured yet, or that was good until then; each quantity with limits is to be measured, and at
/// the same instant what is said last counts.
#[test]
fn a_good_bath_made_up_anew_is_shut_too_until_all_its_limits_are_read() {
    let ph =
        Limit { quantity: Quantity::Ph, least: None, most: Some(7.0), every: None, overdue_stops: false };
    let line = limited(&limited(&small::line(), ANODISE, acid(false)), ANODISE, ph);
    let entered = |history: &mut History, entry: Entry, at: i64| {
        does(&line, history, &Command::Enter { entry, at: t(at) }, t(at));
    };
    let read = |quantity, value| Entry::Bath { tank: ANODISE, reading: Reading { quantity, value } };
    for before in [None, Some(20.0)] {
        let mut history = opened(&line, small::book());
        let free = plan(&line, history.state(), t(0), &Settings::default());
        if let Some(value) = before {
            entered(&mut history, read(Quantity::Temperature, value), 20);
        }
        entered(&mut history, Entry::BathChanged { tank: ANODISE }, 20);
        let shut = plan(&line, history.state(), t(30), &Settings::default());
        assert!(shut.moves.iter().all(|m| m.to != ANODISE), "{:#?}", shut.moves);
        assert!(verify(&line, history.state(), &free).iter().any(|b| b.rule == Rule::Bath));
        let due = bath::checks(&line, history.state(), ANODISE, t(30))[1].due;
        assert_eq!(due, Some(t(20)), "what has no interval is due now, too");
        entered(&mut history, read(Quantity::Temperature, 20.0), 40);
        let unfit = bath::unfit(&line, history.state(), ANODISE, t(40)).unwrap();
        assert_eq!((unfit.quantity, unfit.fault), (Quantity::Ph, Fault::New));
        entered(&mut history, read(Quantity::Ph, 6.0), 50);
        assert_eq!(bath::unfit(&line, history.state(), ANODISE, t(50)), None);
        assert!(!verify(&line, history.state(), &free).iter().any(|b| b.rule == Rule::Bath));
    }
}

#[test]
fn an_overdue_reading_stops_loads_only_where_the_file_says_so() {
    let hour = Time::ZERO + Dur::from_mins(60);
    for stops in [false, true] {
        let line = limited(&small::line(), ANODISE, acid(stops));
        let history = opened(&line, small::book());
        let check = bath::checks(&line, history.state(), ANODISE, hour)[0];
        assert_eq!(check.unfit.map(|u| (u.fault, u.since)), Some((Fault::Overdue, hour)));
        assert_eq!(bath::unfit(&line, history.state(), ANODISE, hour).is_some(), stops);
        assert_eq!(bath::shuts_next(&line, history.state(), Time::ZERO), stops.then_some(hour));
        let schedule = plan(&line, history.state(), hour, &Settings::default());
        assert_eq!(schedule.moves.iter().all(|m| m.to != ANODISE), stops);
    }
}

/// A load in a shut bath is brought out; one on its way there stays where it is, and its window is told.
#[test]
fn what_is_in_a_shut_bath_goes_on() {
    let line = limited(&small::line(), ANODISE, acid(false));
    let mut history = opened(&line, small::book());
    for (at, lift, place) in [(2, LOAD, CLEAN), (80, CLEAN, RINSE), (110, RINSE, ANODISE)] {
        let hoist = HoistId(0);
        does(&line, &mut history, &Command::Lift { carrier: B1, hoist, from: lift, at: t(at) }, t(at));
        does(&line, &mut history, &Command::Lower { hoist, to: place, at: t(at + 15) }, t(at + 15));
    }
    does(&line, &mut history, &reads(ANODISE, 30.0, t(130)), t(130));
    let schedule = plan(&line, history.state(), t(131), &Settings::default());
    assert!(schedule.of(B1).any(|m| m.from == ANODISE));
    assert_eq!(schedule.of(B2).count(), 0);
    let broken = verify(&line, history.state(), &schedule);
    assert!(broken.iter().all(|b| b.harm.is_some()), "{broken:#?}");
}

/// Whatever is measured whenever, what the planner makes of it the verifier finds possible, and once all is well again
/// every load comes out.
#[test]
fn planner_and_verifier_agree_on_what_is_shut() {
    let mut shut = 0;
    for seed in 0..200 {
        let (line, book) = varied(seed, Shape { steps: 6, carriers: 4, rinse: 3, hoists: 1 });
        let mut rng = Rng::stream(seed, "baths");
        let baths: Vec<TankId> =
            line.tanks.ids().filter(|t| matches!(line.tanks[*t].role, Role::Bath(_))).collect();
        let line = baths.iter().fold(line, |line, tank| {
            if rng.below(3) == 0 { limited(&line, *tank, acid(false)) } else { line }
        });
        shut += shift_with_readings(&line, book, &baths, seed, &mut rng);
    }
    assert!(shut > 500, "{shut}");
}

/// A shift with a punctual crew and a reading now and then, to its end; how often a bath was shut when a plan was made.
fn shift_with_readings(line: &Line, book: OrderBook, baths: &[TankId], seed: u64, rng: &mut Rng) -> usize {
    const CALM: Time = Time::from_secs(2 * 3600);
    let mut history = opened(line, book);
    let mut crew = Crew::new(Pace::PUNCTUAL, seed);
    let mut now = Time::ZERO;
    let mut shut = 0;
    loop {
        let calm = now >= CALM;
        let due: Vec<TankId> = if calm {
            baths.iter().copied().filter(|t| bath::unfit(line, history.state(), *t, now).is_some()).collect()
        } else if rng.chance(0.15) {
            vec![baths[rng.below(baths.len())]]
        } else {
            Vec::new()
        };
        for tank in due {
            let value = if calm || rng.chance(0.5) { 20.0 } else { 16.0 + rng.below(9) as f64 };
            does(line, &mut history, &reads(tank, value, now), now);
            if !calm && rng.below(4) == 0 {
                let entry = Entry::BathChanged { tank };
                does(line, &mut history, &Command::Enter { entry, at: now }, now);
            }
        }
        let schedule = plan(line, history.state(), now, &Settings { effort: 2, ..Settings::default() });
        let broken = verify(line, history.state(), &schedule);
        let impossible: Vec<_> = broken.iter().filter(|b| b.harm.is_none()).collect();
        assert!(impossible.is_empty(), "seed {seed} at {now}: {impossible:#?}");
        let is_shut = |t: TankId| bath::unfit(line, history.state(), t, now).is_some();
        let into = |m: &&Move| is_shut(m.to) && m.from != m.to;
        assert_eq!(schedule.moves.iter().find(into), None, "seed {seed} at {now}");
        shut += usize::from(baths.iter().any(|t| is_shut(*t)));
        let shown = calls(line, history.state(), &schedule, now, 4);
        does(line, &mut history, &Command::AdoptPlan { schedule }, now);
        match crew.next(line, history.state(), &shown, now) {
            None if calm => break,
            Some((press, command)) if press <= now + Dur::from_secs(60) => {
                now = now.max(press);
                does(line, &mut history, &command, now);
            }
            _ => now += Dur::from_secs(60),
        }
        assert!(now < Time::from_secs(48 * 3600), "seed {seed}: the shift does not end");
    }
    let left = |c: &dwellhand::shift::Carrier| !matches!(c.place, Place::Finished { .. });
    assert!(!history.state().carriers.iter().any(|(_, c)| left(c)), "seed {seed}");
    shut
}

/// In a running shift a bath that falls overdue is out of the plan without anybody saying anything, and a reading brings
/// it back.
#[test]
fn a_running_shift_plans_around_a_bath_that_falls_overdue() {
    let line = Arc::new(limited(&small::line(), ANODISE, acid(true)));
    let clock = ManualClock::default();
    let opening = Opening::parse("2026-11-25T06:00:00+01:00").unwrap();
    let mut shift = LiveShift::in_memory(line, opening, Box::new(clock.clone()), Settings::default());
    shift.submit(&Command::Open { book: small::book() }, Who::Supervisor).unwrap();
    assert!(shift.schedule().moves.iter().any(|m| m.to == ANODISE));
    clock.set(Time::ZERO + Dur::from_mins(59));
    shift.tick().unwrap();
    assert!(shift.schedule().moves.iter().any(|m| m.to == ANODISE));
    let hour = Time::ZERO + Dur::from_mins(60);
    assert!(shift.next_wake() <= hour);
    clock.set(hour);
    shift.tick().unwrap();
    assert!(shift.schedule().moves.iter().all(|m| m.to != ANODISE), "{:#?}", shift.schedule());
    shift.submit(&reads(ANODISE, 20.0, hour), Who::Operator).unwrap();
    assert!(shift.schedule().moves.iter().any(|m| m.to == ANODISE));
}
