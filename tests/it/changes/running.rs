//! A live shift with a punctual crew in which things are changed.

use std::sync::Arc;

use super::random::with_strip;
use crate::lines::Shape;
use dwellhand::civil::Opening;
use dwellhand::clock::ManualClock;
use dwellhand::ids::*;
use dwellhand::live::LiveShift;
use dwellhand::plan::Settings;
use dwellhand::shift::*;
use dwellhand::sim::{Crew, Pace};
use dwellhand::units::Time;
use dwellhand::verify::verify;

/// Lets the shift run until an instant; no call is ever due for a stopped hoist and every plan is possible.
fn run(shift: &mut LiveShift, clock: &ManualClock, until: Time) {
    while shift.now() < until {
        let next = shift.next_wake().min(until).max(shift.now() + dwellhand::units::Dur(1));
        clock.set(next);
        shift.tick().unwrap();
        let now = shift.now();
        let (state, schedule) = (shift.state(), shift.schedule());
        let mut left = schedule.clone();
        left.made_at = schedule.made_at;
        let broken = verify(shift.line(), state, &left);
        assert!(broken.iter().all(|b| b.harm.is_some()), "at {now}: {broken:#?}");
        for call in shift.calls() {
            let stopped = state.standing.stopped.contains_key(&call.mv.hoist);
            assert!(!stopped || call.set_out > now, "at {now}: {call:?}");
        }
    }
    let faults: Vec<_> = shift.take_notices();
    assert!(faults.is_empty(), "{faults:?}");
}

fn says(shift: &mut LiveShift, change: Change) {
    shift.submit(&Command::Change { change, why: "test".to_owned() }, Who::Supervisor).unwrap();
}

/// A carrier in a tank after whose step standby is allowed.
fn before_standby(shift: &LiveShift) -> Option<CarrierId> {
    let state = shift.state();
    state.carriers.ids().find(|c| {
        let command = Change::Park { carrier: *c, tank: None };
        let parks = Command::Change { change: command, why: String::new() };
        !state.standing.parked.contains_key(c)
            && decide(shift.line(), shift.history(), &parks, Time::ZERO).is_ok()
    })
}

#[test]
fn a_shift_with_a_stop_a_hold_a_park_and_rework_comes_to_its_end() {
    let (line, book) = with_strip(5, Shape { steps: 8, carriers: 5, rinse: 5, hoists: 1 });
    let clock = ManualClock::default();
    let opening = Opening::parse("2026-11-25T06:00:00+01:00").unwrap();
    let settings = Settings { effort: 3, ..Settings::default() };
    let mut shift = LiveShift::in_memory(Arc::new(line), opening, Box::new(clock.clone()), settings);
    shift.submit(&Command::Open { book }, Who::Supervisor).unwrap();
    shift.set_hands(Box::new(Crew::new(Pace::PUNCTUAL, 1)));
    let queued = CarrierId(4);
    says(&mut shift, Change::Hold { carrier: queued });
    run(&mut shift, &clock, Time::from_secs(600));
    says(&mut shift, Change::StopHoist { hoist: HoistId(0), cause: StopCause::Fault, until: None });
    run(&mut shift, &clock, Time::from_secs(600 + 1500));
    says(&mut shift, Change::RunHoist { hoist: HoistId(0) });
    let (mut parked, mut reworked) = (None, None);
    let mut now = 2100;
    while parked.is_none() && now < 20_000 {
        now += 20;
        run(&mut shift, &clock, Time::from_secs(now));
        parked = before_standby(&shift);
    }
    let carrier = parked.expect("somebody comes by the standby water");
    says(&mut shift, Change::Park { carrier, tank: None });
    run(&mut shift, &clock, Time::from_secs(now + 3600));
    let waits = shift.state().is_parked(shift.line(), carrier);
    assert!(waits, "{:?}", shift.state().carriers[carrier].place);
    says(&mut shift, Change::BringBack { carrier });
    says(&mut shift, Change::Release { carrier: queued });
    for _ in 0..200 {
        now += 60;
        run(&mut shift, &clock, Time::from_secs(now + 3600));
        let live =
            |c: &CarrierId| matches!(shift.state().carriers[*c].place, Place::InTank { hooked: None, .. });
        reworked = shift.state().carriers.ids().find(live);
        if reworked.is_some() {
            break;
        }
    }
    says(&mut shift, Change::Rework { carrier: reworked.unwrap(), recipe: RecipeId(1) });
    run(&mut shift, &clock, Time::from_secs(now + 20 * 3600));
    let out = |c: &Carrier| matches!(c.place, Place::Finished { .. });
    assert!(shift.state().carriers.iter().all(|(_, c)| out(c)), "{:?}", shift.state().carriers);
    assert!(shift.state().standing.runs.contains_key(&reworked.unwrap()));
}
