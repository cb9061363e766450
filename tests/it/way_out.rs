//! Never a dead end later: after every event of a disturbed shift every carrier that has started has its whole way out of the
//! line in the plan.

use super::lines::{Shape, does, opened, varied};
use dwellhand::ids::{HoistId, TankId};
use dwellhand::line::{Harm, Line, Role, Visit};
use dwellhand::plan::{Objective, Settings, calls, follow_stretched, plan};
use dwellhand::rng::Rng;
use dwellhand::schedule::Schedule;
use dwellhand::shift::{Carrier, Command, History, Place, State, Who};
use dwellhand::sim::{Crew, Pace};
use dwellhand::units::{Dur, Time};
use dwellhand::verify::{Rule, verify};

/// People who are late, put loads into wrong tanks and take wrong ones.
const CARELESS: Pace = Pace { distracted: 0.05, wrong_tank: 0.02, wrong_carrier: 0.02, ..Pace::HUMAN };

fn stranded(line: &Line, state: &State, schedule: &Schedule) -> Vec<String> {
    let breaches = verify(line, state, schedule);
    breaches.into_iter().filter(|b| b.rule == Rule::WayOut).map(|b| b.text).collect()
}

/// Now and then a bath that nobody is in goes out of service for a while.
fn disturb(line: &Line, history: &mut History, rng: &mut Rng, now: Time) {
    let state = history.state();
    let baths = line.tanks.iter().filter(|(_, t)| matches!(t.role, Role::Bath(_))).map(|(id, _)| id);
    let empty: Vec<TankId> = baths.filter(|t| state.carriers_in(*t).next().is_none()).collect();
    if rng.chance(0.03) && !empty.is_empty() {
        let tank = empty[rng.below(empty.len())];
        let until = Some(now + Dur::from_mins(2 + rng.below(8) as i64));
        does(line, history, &Command::TankOut { tank, until, why: String::new() }, now);
    }
}

/// Runs a shift; calls `judge` with every plan and what it was made for.
fn shift(seed: u64, mut judge: impl FnMut(&Line, &State, &Schedule)) {
    let shape = Shape { steps: 6 + seed as usize % 8, carriers: 4, rinse: 3, hoists: 1 };
    let (line, book) = varied(seed, shape);
    let mut history = opened(&line, book);
    let (mut crew, mut rng) = (Crew::new(CARELESS, seed), Rng::stream(seed, "way out"));
    let settings = Settings { effort: 3, ..Settings::default() };
    let mut now = Time::ZERO;
    while now < Time::from_secs(48 * 3600) {
        let schedule = plan(&line, history.state(), now, &settings);
        judge(&line, history.state(), &schedule);
        let calls = calls(&line, history.state(), &schedule, now, 4);
        does(&line, &mut history, &Command::AdoptPlan { schedule }, now);
        let Some((press, command)) = crew.next(&line, history.state(), &calls, now) else { return };
        now = now.max(press);
        does(&line, &mut history, &command, now);
        disturb(&line, &mut history, &mut rng, now);
    }
    panic!("seed {seed}: the shift does not end");
}

#[test]
fn every_started_carrier_has_a_whole_way_out_after_every_event() {
    for seed in 0..20 {
        shift(seed, |line, state, schedule| {
            assert_eq!(stranded(line, state, schedule), [] as [String; 0], "seed {seed}");
        });
    }
}

/// The same shift with the last move of a started carrier taken out of every plan: each time that one carrier is named.
#[test]
fn a_way_that_ends_too_soon_is_found() {
    let mut faults = 0;
    shift(1, |line, state, schedule| {
        let started = |place: &Place| matches!(place, Place::InTank { .. } | Place::OnHook { .. });
        let Some((carrier, _)) = state.carriers.iter().find(|(_, c)| started(&c.place)) else { return };
        let mut moves = schedule.moves.clone();
        let last = moves.iter().rposition(|m| m.carrier == carrier).expect("it has a way out");
        moves.remove(last);
        let found = stranded(line, state, &Schedule::new(moves, schedule.made_at));
        let name = &state.book.carriers[carrier].name;
        assert!(found.len() == 1 && found[0].starts_with(name.as_str()), "{found:?}");
        faults += 1;
    });
    assert!(faults > 20, "{faults} faults are too few to say anything");
}

/// A plan that comes by itself breaks no more than the one on the screen would.
#[test]
fn a_plan_made_anew_does_no_more_harm_than_the_order_in_force() {
    let harm = |line: &Line, state: &State, schedule: &Schedule| {
        let worth = Objective::of(line, state, schedule, &[]);
        (worth.scrap, worth.harm())
    };
    let settings = Settings { effort: 3, ..Settings::default() };
    let mut broken = 0;
    for seed in 0..20 {
        shift(seed, |line, state, schedule| {
            let Some(in_force) = &state.plan else { return };
            let Some(kept) = follow_stretched(line, state, in_force, schedule.made_at, &settings) else {
                return;
            };
            let (new, old) = (harm(line, state, schedule), harm(line, state, &kept));
            assert!(new <= old, "seed {seed} at {}: {new:?} after {old:?}", schedule.made_at);
            broken += usize::from(new.1 > Dur::ZERO);
        });
    }
    assert!(broken > 20, "{broken} plans that break something are too few to say anything");
}

/// Somebody who says each pick as soon as it is called, which is sooner than the hoist is there by the line file, and is late
/// with some places. Returns how often a load hung that was due, and how often it was called back.
fn hasty(seed: u64, rng: &mut Rng) -> (usize, usize) {
    let shape = Shape { steps: 9, carriers: 10, rinse: 1, hoists: 1 };
    let (mut line, book) = varied(seed, shape);
    // Nothing spoils anything.
    let recipes: Vec<_> = line.recipes.ids().collect();
    for recipe in recipes {
        for step in &mut line.recipes[recipe].steps {
            (step.under, step.over, step.air) = (Harm::Nuisance, Harm::Nuisance, Harm::Nuisance);
            if let Some(hold) = &mut step.hold {
                hold.over = Harm::Nuisance;
            }
        }
    }
    let mut history = opened(&line, book);
    let settings = Settings { effort: 3, ..Settings::default() };
    let (mut now, mut hung, mut back) = (Time::ZERO, 0, 0);
    for _ in 0..200 {
        let schedule = plan(&line, history.state(), now, &settings);
        let calls = calls(&line, history.state(), &schedule, now, 4);
        does(&line, &mut history, &Command::AdoptPlan { schedule }, now);
        let Some(call) = calls.first() else { break };
        let (mv, book) = (call.mv, &history.state().book);
        let phases = mv.phases(&line, book).unwrap();
        let Carrier { place, .. } = &history.state().carriers[mv.carrier];
        let command = match place {
            Place::OnHook { leaves, .. } => {
                let step = matches!(leaves, Visit::Step(_));
                let min = line.window(book.carriers[mv.carrier].recipe, *leaves).0;
                if step && history.state().carriers[mv.carrier].dwelled(*leaves) >= min {
                    hung += 1;
                    back += usize::from(mv.is_put_back());
                }
                let late = if rng.chance(0.4) { Dur::from_secs(rng.below(60) as i64) } else { Dur::ZERO };
                now = now.max(mv.start + phases.to_down()) + late;
                Command::Lower { hoist: mv.hoist, to: mv.to, at: now }
            }
            place => {
                let due = match place {
                    Place::InTank { visit, since, .. } => {
                        *since + line.window(book.carriers[mv.carrier].recipe, *visit).0
                    }
                    _ => now,
                };
                now = now.max(call.set_out).max(due) + Dur::from_secs(1);
                Command::Lift { carrier: mv.carrier, hoist: mv.hoist, from: mv.from, at: now }
            }
        };
        does(&line, &mut history, &command, now);
    }
    (hung, back)
}

/// What was picked as it was called goes on, whatever that is short of a little later: nobody hangs a load back into the bath
/// that it was just told to take it out of, unless that saves the load.
#[test]
fn what_was_due_is_not_put_back() {
    let mut rng = Rng::stream(1, "hasty");
    let counts: Vec<(usize, usize)> = (0..30).map(|seed| hasty(seed, &mut rng)).collect();
    let (hung, back) = counts.iter().fold((0, 0), |(h, b), (hung, back)| (h + hung, b + back));
    assert!(hung > 500, "{hung} are too few to say anything");
    assert_eq!(back, 0, "of {hung} that hung");
}

/// A load that was lifted minutes too soon is called back where that spoils nothing, with less margin if need be.
#[test]
fn what_was_lifted_too_soon_goes_back_where_that_saves_it() {
    let (line, _) = crate::weigh::demo();
    let (settings, hoist) = (Settings::default(), HoistId(0));
    let (mut shift, clock) = crate::weigh::shift_after(20);
    let mut saved = 0;
    for minutes in (24..240).step_by(4) {
        crate::weigh::run_until(&mut shift, &clock, Time::ZERO + Dur::from_mins(minutes));
        let (now, state) = (shift.now(), shift.state());
        if state.hoists[hoist].carrier.is_some() {
            continue;
        }
        for (carrier, c) in state.carriers.iter() {
            let Place::InTank { tank, visit: visit @ Visit::Step(step), since, .. } = c.place else {
                continue;
            };
            let recipe = state.book.carriers[carrier].recipe;
            let spoilt = line.step(recipe, step).under <= Harm::Rework;
            if !spoilt || now + Dur::from_mins(2) > since + line.window(recipe, visit).0 {
                continue;
            }
            let mut history = shift.history().clone();
            does(&line, &mut history, &Command::Lift { carrier, hoist, from: tank, at: now }, now);
            let schedule = plan(&line, history.state(), now, &settings);
            let down = now + Dur::from_secs(20);
            does(&line, &mut history, &Command::Lower { hoist, to: tank, at: down }, down);
            let back = plan(&line, history.state(), down, &settings);
            if verify(&line, history.state(), &back).iter().any(|b| b.harm <= Some(Harm::Rework)) {
                continue;
            }
            saved += 1;
            let first = schedule.of(carrier).next().unwrap();
            assert!(first.is_put_back(), "at {now}: {first:?}");
        }
    }
    assert!(saved > 20, "{saved} are too few to say anything");
}

#[test]
fn a_carrier_that_has_to_be_put_back_where_it_started_has_a_way_from_there() {
    let (line, _) = crate::weigh::demo();
    let (mut shift, clock) = crate::weigh::shift_after(0);
    let first = *shift.schedule().moves.first().unwrap();
    clock.set(first.start.max(Time::from_secs(60)));
    let command =
        Command::Lift { carrier: first.carrier, hoist: first.hoist, from: first.from, at: shift.now() };
    shift.submit(&command, Who::Operator).unwrap();
    // The only tank it can go to goes out while it hangs.
    let until = Some(shift.now() + Dur::from_mins(15));
    shift.submit(&Command::TankOut { tank: first.to, until, why: String::new() }, Who::Supervisor).unwrap();
    let own: Vec<_> = shift.schedule().of(first.carrier).collect();
    assert!(own[0].is_put_back(), "{own:?}");
    assert_eq!((own[1].leaves, own.last().unwrap().visit), (Visit::Load, Visit::Unload));
    assert_eq!(verify(&line, shift.state(), shift.schedule()), []);
}
