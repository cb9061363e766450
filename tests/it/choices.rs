//! What the planner chooses by itself, each shown by two plans of one small line that differ in that one thing only: power,
//! tanks that are not ready or go out, the side a carrier enters from, dips on the hook. Live ones too, from the middle of
//! a shift.

use super::helpers::*;
use dwellhand::ids::{OrderId, StepNo, TankId};
use dwellhand::line::{EntrySide, Line, OrderBook, Tank, Visit};
use dwellhand::plan::{Budget, Settings, improve, plan};
use dwellhand::schedule::{Move, Schedule};
use dwellhand::shift::{Command, History};
use dwellhand::units::{Time, Watts};
use dwellhand::verify::verify;

const ETCHED: Visit = Visit::Step(StepNo(0));
const RINSED: Visit = Visit::Step(StepNo(1));
const ANODISED: Visit = Visit::Step(StepNo(2));

/// The plan from what is so, searched for a while; the verifier finds nothing in it.
fn planned(line: &Line, history: &History, now: Time) -> Schedule {
    let settings = Settings::default();
    let first = plan(line, history.state(), now, &settings);
    let mut budget = Budget { tries: 4000, stop: &mut || false };
    let found = improve(line, history.state(), &first, &settings, 0, &mut budget).unwrap_or(first);
    assert_eq!(verify(line, history.state(), &found), []);
    found
}

fn from_empty(line: &Line, book: OrderBook) -> Schedule {
    planned(line, &opened(line, book), t(0))
}

fn into(schedule: &Schedule, carrier: dwellhand::ids::CarrierId, visit: Visit) -> Move {
    *schedule.of(carrier).find(|m| m.visit == visit).expect("the plan brings it there")
}

fn out_of(schedule: &Schedule, carrier: dwellhand::ids::CarrierId, visit: Visit) -> Move {
    *schedule.of(carrier).find(|m| m.leaves == visit).expect("the plan takes it on")
}

/// When a carrier is down for a visit.
fn down(line: &Line, book: &OrderBook, m: &Move) -> Time {
    m.start + m.phases(line, book).expect("the hoist can").to_down()
}

/// When both are under current: the second is down before the first is lifted.
fn overlap(line: &Line, book: &OrderBook, schedule: &Schedule) -> bool {
    let span = |c| (down(line, book, &into(schedule, c, ANODISED)), out_of(schedule, c, ANODISED).start);
    let (a, b) = (span(A), span(B));
    a.0 < b.1 && b.0 < a.1
}

/// A load draws 2400 W. Where the line gives 4800 both anodise at once, in two tanks; where it gives 4700 one waits for the
/// other, and not in a rinse: it starts later.
#[test]
fn power_decides_who_waits() {
    let with = |watts| Line { power_cap: Some(Watts(watts)), ..plant() };
    let (plenty, short) = (with(4800), with(4700));
    let free = from_empty(&plenty, book(2));
    assert!(overlap(&plenty, &book(2), &free));
    let tight = from_empty(&short, book(2));
    assert!(!overlap(&short, &book(2), &tight));
    let start = |s: &Schedule| s.of(A).next().unwrap().start.max(s.of(B).next().unwrap().start);
    assert!(start(&tight) > start(&free) + s(200), "{} {}", start(&tight), start(&free));
}

/// Current that rises slowly draws less meanwhile. The planner reckons with all of it from the beginning: the plan is the
/// same, and true under both.
#[test]
fn a_ramp_is_reckoned_as_full_power() {
    let mut steep = Line { power_cap: Some(Watts(4700)), ..plant() };
    let ramped = from_empty(&steep, book(2));
    for recipe in steep.recipes.ids().collect::<Vec<_>>() {
        for current in steep.recipes[recipe].steps.iter_mut().filter_map(|s| s.current.as_mut()) {
            current.ramp = s(0);
        }
    }
    assert_eq!(from_empty(&steep, book(2)).moves, ramped.moves);
}

/// With the nearer anodise tank not ready before 30:00 the carrier goes into the other one; with none ready it does not
/// start until it will be let in, rather than wait in a window.
#[test]
fn tanks_that_are_not_ready_are_gone_round_or_waited_for_outside() {
    let with = |late: &[TankId]| {
        let mut line = plant();
        for tank in late {
            line.tanks[*tank] = Tank { ready_after: s(1800), ..line.tanks[*tank].clone() };
        }
        line
    };
    let to = |line: &Line| into(&from_empty(line, book(1)), A, ANODISED).to;
    assert_eq!(to(&with(&[ANODISE])), ANODISE_2);
    assert_eq!(to(&with(&[ANODISE_2])), ANODISE);
    let none = with(&[ANODISE, ANODISE_2]);
    let late = from_empty(&none, book(1));
    assert!(down(&none, &book(1), &into(&late, A, ANODISED)) >= t(1800));
    // Load to anodise takes at most the windows of etch, rinse and standby, and the moves.
    assert!(late.moves[0].start >= t(1800 - 90 - 60 - 120 - 150), "{}", late.moves[0].start);
}

/// A tank that goes out of service in the middle of what would be a dwell is not used, by a plan from the start and by one
/// from the middle of the shift.
#[test]
fn a_tank_that_goes_out_is_left_alone() {
    let line = plant();
    let mut history = opened(&line, book(1));
    let tank = into(&planned(&line, &history, t(0)), A, ANODISED).to;
    let other = if tank == ANODISE { ANODISE_2 } else { ANODISE };
    say(&line, &mut history, t(1), &lift(A, H1, LOAD, t(1))).unwrap();
    say(&line, &mut history, t(15), &lower(H1, ETCH, t(15))).unwrap();
    say(&line, &mut history, t(20), &Command::TankOut { tank, until: Some(t(3600)), why: String::new() })
        .unwrap();
    assert_eq!(into(&planned(&line, &history, t(20)), A, ANODISED).to, other);
}

/// A second load station at the far end: whoever may start anywhere starts beside the first bath, whoever is racked at the
/// far end is fetched from there.
#[test]
fn the_entry_side_is_chosen_where_it_is_open() {
    let mut line = plant();
    let far = line.tanks.push(station("F", 12.5, true, false));
    let start = |entry: EntrySide| {
        let mut book = book(1);
        book.orders[OrderId(0)].entry = entry;
        from_empty(&line, book).moves[0].from
    };
    assert_eq!(start(EntrySide::Any), LOAD);
    assert_eq!(start(EntrySide::At(far)), far);
    assert_eq!(start(EntrySide::At(LOAD)), LOAD);
}

/// The rinse as a dip: the hoist stays, so nothing is moved between the two halves; let go, the other carrier is moved
/// meanwhile or at least could be.
#[test]
fn a_dip_on_the_hook_holds_the_hoist() {
    let with = |on_hook: bool| {
        let mut line = plant();
        let recipe = line.recipes.ids().next().unwrap();
        let rinse = &mut line.recipes[recipe].steps[1];
        // Long enough for another move in between.
        (rinse.on_hook, rinse.min, rinse.target, rinse.max) = (on_hook, s(55), s(55), s(80));
        rinse.hold = None;
        line
    };
    let hooked = from_empty(&with(true), book(2));
    for carrier in [A, B] {
        let (first, second) = (into(&hooked, carrier, RINSED), out_of(&hooked, carrier, RINSED));
        assert!(!first.release && !second.attach);
        let between = hooked.moves.iter().filter(|m| first.start < m.start && m.start < second.start);
        assert_eq!(between.count(), 0);
    }
    let free = from_empty(&with(false), book(2));
    assert!(free.moves.iter().all(|m| m.attach && m.release));
}

/// In the middle of a dip, with another carrier's window closing: what the hoist holds on to comes first, the other one is
/// next, and the plan goes on from there.
#[test]
fn a_live_plan_ends_the_dip_first() {
    let mut line = plant();
    let recipe = line.recipes.ids().next().unwrap();
    line.recipes[recipe].steps[1].on_hook = true;
    line.recipes[recipe].steps[1].hold = None;
    // Two etches beside one another, so that both carriers are on their way.
    let second = line.tanks.push(bath("T1b", 3.0, 0));
    let mut history = opened(&line, book(2));
    for (at, command) in [
        (2, lift(A, H1, LOAD, t(2))),
        (15, lower(H1, ETCH, t(15))),
        (40, lift(B, H1, LOAD, t(40))),
        (54, lower(H1, second, t(54))),
        (77, lift(A, H1, ETCH, t(77))),
        (100, lower(H1, RINSE, t(100))),
    ] {
        say(&line, &mut history, t(at), &command).unwrap();
    }
    let found = planned(&line, &history, t(101));
    let first = found.moves[0];
    assert_eq!((first.carrier, first.leaves, first.attach), (A, RINSED, false));
    assert_eq!((found.moves[1].carrier, found.moves[1].leaves), (B, ETCHED));
}
