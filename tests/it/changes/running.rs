//! A live shift with a punctual crew in which things are changed.

use std::sync::Arc;

use super::random::with_strip;
use crate::lines::Shape;
use dwellhand::civil::Opening;
use dwellhand::clock::ManualClock;
use dwellhand::files;
use dwellhand::ids::*;
use dwellhand::line::{Line, OrderBook, Role};
use dwellhand::live::LiveShift;
use dwellhand::plan::{Reason, Settings};
use dwellhand::shift::*;
use dwellhand::sim::{Crew, Pace};
use dwellhand::units::{Dur, Time};
use dwellhand::verify::{self, verify};

/// Lets the shift run until an instant; no call is ever due for a stopped hoist and every plan is possible.
fn run(shift: &mut LiveShift, clock: &ManualClock, until: Time) {
    while shift.now() < until {
        let next = shift.next_wake().min(until).max(shift.now() + Dur(1));
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
            let hangs = matches!(call.reason, Reason::UnderWay { .. } | Reason::PutBack { .. });
            let breaks = hangs || matches!(call.reason, Reason::Broken { .. } | Reason::Lost);
            assert!(breaks || call.slack.is_none_or(|s| s >= Dur::ZERO), "at {now}: {call:?}");
        }
    }
    let faults: Vec<_> = shift.take_notices();
    assert!(faults.is_empty(), "{faults:?}");
}

/// A shift under a punctual crew.
fn begun(line: Line, book: OrderBook) -> (LiveShift, ManualClock) {
    let clock = ManualClock::default();
    let opening = Opening::parse("2026-11-25T06:00:00+01:00").unwrap();
    let settings = Settings { effort: 3, ..Settings::default() };
    let mut shift = LiveShift::in_memory(Arc::new(line), opening, Box::new(clock.clone()), settings);
    shift.submit(&Command::Open { book }, Who::Supervisor).unwrap();
    shift.set_hands(Box::new(Crew::new(Pace::PUNCTUAL, 1)));
    (shift, clock)
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
    let (mut shift, clock) = begun(line, book);
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

/// The demo line under a punctual crew, and some of its tanks out from an instant to another one that nobody knows.
fn with_lost(tanks: &[&str], out: Time, back: Time) -> (LiveShift, ManualClock, Vec<TankId>) {
    let (line, recipes, orders) = files::demo();
    let line = files::read_line(line, recipes).unwrap().value;
    let book = files::read_orders(orders, &line, None).unwrap().value.book;
    let lost: Vec<TankId> = tanks.iter().map(|name| line.tanks.find(|t| t.name == *name).unwrap()).collect();
    let (mut shift, clock) = begun(line, book);
    run(&mut shift, &clock, out);
    for &tank in &lost {
        shift.submit(&Command::TankOut { tank, until: None, why: String::new() }, Who::Supervisor).unwrap();
    }
    run(&mut shift, &clock, back);
    (shift, clock, lost)
}

/// The anodise tanks are out for an hour and a half, and nobody knows for how long: what is on its way goes on to where it can
/// wait, nobody new starts, nothing goes in, and all come out once the tanks are back.
#[test]
fn a_tank_nobody_knows_the_return_of_keeps_the_queue_waiting_and_nobody_else() {
    let (out, back) = (Time::from_secs(70 * 60), Time::from_secs(160 * 60));
    let (mut shift, clock, tanks) = with_lost(&["T12", "T13", "T14", "T15"], out, back);
    let line = shift.line();
    let station = |t: &TankId| matches!(line.tanks[*t].role, Role::Station { .. });
    let meanwhile = |e: &&Stamped| e.at > out;
    let moved: Vec<&Event> = shift
        .history()
        .events()
        .iter()
        .filter(meanwhile)
        .map(|e| &e.event)
        .filter(|e| e.moved().is_some())
        .collect();
    assert!(!moved.is_empty());
    for event in moved {
        let starts = matches!(event, Event::Lifted { from, .. } if station(from));
        let enters = matches!(event, Event::Lowered { to, .. } if tanks.contains(to));
        assert!(!starts && !enters, "{event:?}");
    }
    let now = shift.now();
    assert_eq!(verify::happened_by(shift.line(), shift.state(), now), []);
    for &tank in &tanks {
        shift.submit(&Command::TankBack { tank }, Who::Supervisor).unwrap();
    }
    run(&mut shift, &clock, Time::from_secs(20 * 3600));
    let out = |c: &Carrier| matches!(c.place, Place::Finished { .. });
    assert!(shift.state().carriers.iter().all(|(_, c)| out(c)), "{:?}", shift.state().carriers);
}
