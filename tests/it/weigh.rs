//! What a preview shows is the change's doing: both sides are searched alike, and a commit while the line goes on is held
//! against what was shown.

use std::fmt::Write as _;
use std::sync::Arc;

use dwellhand::civil::Opening;
use dwellhand::clock::ManualClock;
use dwellhand::files;
use dwellhand::ids::{CarrierId, HoistId, Id as _, OrderId};
use dwellhand::line::{CarrierSpec, Line, Order, OrderBook, Visit};
use dwellhand::live::{Hands, Known, LiveShift, Problem};
use dwellhand::plan::{Call, Settings};
use dwellhand::schedule::Move;
use dwellhand::shift::{Change, Command, History, Place, State, StopCause, Who};
use dwellhand::sim::{Crew, Pace};
use dwellhand::units::{Dur, Time};
use dwellhand::whatif::{Effect, Prospect, Weighed, effects, finish, weigh};

const H1: HoistId = HoistId(0);

fn settings() -> Settings {
    Settings { effort: 4, ..Settings::default() }
}

pub fn demo() -> (Line, OrderBook) {
    let (line, recipes, orders) = files::demo();
    let line = files::read_line(line, recipes).expect("the demo is right").value;
    let orders = files::read_orders(orders, &line, None).expect("the demo is right").value;
    (line, orders.book)
}

/// The demo line after a punctual crew has followed the calls for so long.
pub fn shift_after(minutes: i64) -> (LiveShift, ManualClock) {
    let (line, book) = demo();
    let clock = ManualClock::default();
    let opening = Opening::parse("2026-11-25T06:00:00+01:00").unwrap();
    let mut shift = LiveShift::in_memory(Arc::new(line), opening, Box::new(clock.clone()), settings());
    shift.submit(&Command::Open { book }, Who::Supervisor).unwrap();
    shift.set_hands(Box::new(Crew::new(Pace::PUNCTUAL, 1)));
    run_until(&mut shift, &clock, Time::ZERO + Dur::from_mins(minutes));
    (shift, clock)
}

pub fn run_until(shift: &mut LiveShift, clock: &ManualClock, until: Time) {
    while shift.now() < until {
        let next = shift.next_wake().min(until).max(shift.now() + Dur(1));
        clock.set(next);
        shift.tick().unwrap();
    }
}

fn change(change: Change) -> Command {
    Command::Change { change, why: "to see".to_owned() }
}

fn stop(now: Time, minutes: i64) -> Command {
    let until = Some(now + Dur::from_mins(minutes));
    change(Change::StopHoist { hoist: H1, cause: StopCause::Break, until })
}

fn weighed(line: &Line, history: &History, commands: &[Command], now: Time) -> Weighed {
    weigh(line, history, commands, now, &settings(), None).unwrap()
}

/// By how much the order that loses most is finished later.
fn latest(line: &Line, weighed: &Weighed) -> Dur {
    let by = |order: OrderId| {
        let of = |side: &Prospect| finish(line, side, order);
        Some(of(&weighed.after)? - of(&weighed.before)?)
    };
    weighed.before.state.book.orders.ids().filter_map(by).max().unwrap_or(Dur::ZERO)
}

#[test]
fn an_order_of_starts_is_kept_in_the_preview_although_another_would_be_sooner_done() {
    let (line, _) = demo();
    let (mut shift, _) = shift_after(30);
    let (now, state) = (shift.now(), shift.state());
    let queued = |c: &CarrierId| state.carriers[*c].place == Place::Queued;
    let mut queue: Vec<CarrierId> = state.book.carriers.ids().filter(queued).collect();
    queue.reverse();
    let command = change(Change::Reorder { carriers: queue.clone() });
    let mut weighed = weighed(&line, shift.history(), &[command], now);
    for tries in [0, 1000] {
        weighed.improve(&line, &settings(), tries, &mut || false);
        let starts = weighed.after.schedule.moves.iter().filter(|m| m.leaves == Visit::Load);
        assert_eq!(starts.map(|m| m.carrier).collect::<Vec<_>>(), queue, "after {tries} tries");
        assert_eq!(weighed.after.breaches, []);
    }
}

#[test]
fn an_order_that_is_added_is_finished_in_the_preview_and_unknown_before() {
    let (line, _) = demo();
    for minutes in [0, 50] {
        let (mut shift, _) = shift_after(minutes);
        let (now, book) = (shift.now(), shift.state().book.clone());
        let like = CarrierId::at(0);
        let order = Order { name: "new".to_owned(), ..book.orders[book.carriers[like].order].clone() };
        let name = "N1".to_owned();
        let spec = CarrierSpec { name, ready: now, rack_name: None, ..book.carriers[like].clone() };
        let add = change(Change::AddOrder { order: Box::new(order), carriers: vec![spec] });
        let mut weighed = weighed(&line, shift.history(), &[add], now);
        let new = OrderId::at(book.orders.len());
        for tries in [0, 1000] {
            weighed.improve(&line, &settings(), tries, &mut || false);
            assert!(finish(&line, &weighed.after, new).is_some_and(|end| end > now), "after {tries} tries");
            let carriers = &weighed.before.state.book.carriers;
            assert!(weighed.before.schedule.moves.iter().all(|m| carriers.get(m.carrier).is_some()));
            assert_eq!(weighed.before.breaches, []);
        }
    }
}

#[test]
fn a_change_of_nothing_costs_nothing_however_long_it_is_searched() {
    let (line, _) = demo();
    for minutes in [0, 50, 110] {
        let (mut shift, _) = shift_after(minutes);
        let now = shift.now();
        let carrier = CarrierId::at(14);
        let both = [change(Change::Hold { carrier }), change(Change::Release { carrier })];
        let mut weighed = weighed(&line, shift.history(), &both, now);
        for tries in [0, 500, 4_000] {
            weighed.improve(&line, &settings(), tries, &mut || false);
            assert_eq!(effects(&line, &weighed.before, &weighed.after), [], "after {minutes} min");
            // Orders whose ends are less than a minute apart count as the same.
            let (before, after) = (&weighed.before.worth, &weighed.after.worth);
            assert_eq!((before.excess, before.weighted_late), (after.excess, after.weighted_late));
            let apart = before.finish.max(after.finish) - before.finish.min(after.finish);
            assert!(apart <= Dur::from_secs(60), "{apart} after {minutes} min");
        }
    }
}

#[test]
fn a_short_stop_costs_about_its_length() {
    let (line, _) = demo();
    for minutes in [45, 80, 115, 150] {
        let (mut shift, _) = shift_after(minutes);
        let now = shift.now();
        let mut weighed = weighed(&line, shift.history(), &[stop(now, 5)], now);
        for tries in [0, 1_000, 8_000] {
            weighed.improve(&line, &settings(), tries, &mut || false);
            let by = latest(&line, &weighed);
            println!("after {minutes} min, {tries} tries: {by}");
            assert!(by <= Dur::from_mins(30), "after {minutes} min, {tries} tries: {by}");
            let (before, after) = (&weighed.before.worth, &weighed.after.worth);
            // A short search may be ahead on one side by that much.
            assert!(after.finish - before.finish <= Dur::from_mins(15), "{before:?} {after:?}");
            assert!(after.late - before.late <= Dur::from_mins(30), "{before:?} {after:?}");
        }
    }
}

/// What previews of short stops show, all over a shift: what more search than a preview has takes off again is not the stop's.
#[test]
#[ignore = "a table to be looked at"]
fn what_short_stops_show() {
    let (line, _) = demo();
    for minutes in (10..230).step_by(10) {
        let (mut shift, _) = shift_after(minutes);
        let now = shift.now();
        let mut weighed = weighed(&line, shift.history(), &[stop(now, 5)], now);
        let mut shown = String::new();
        for tries in [0, 1_000, 40_000, 80_000, 80_000] {
            weighed.improve(&line, &settings(), tries, &mut || false);
            let (before, after) = (&weighed.before.worth, &weighed.after.worth);
            let broken = effects(&line, &weighed.before, &weighed.after);
            let broken = broken.iter().filter(|e| matches!(e, Effect::Breaks(_))).count();
            let longer = after.finish - before.finish;
            write!(shown, "  {broken} {} {longer}", latest(&line, &weighed))
                .expect("a string takes everything");
        }
        println!("{minutes:4}{shown}");
    }
}

#[test]
fn more_harm_than_was_shown_is_told_and_no_more_than_that_is_not() {
    let (line, _) = demo();
    let (mut shift, _) = shift_after(80);
    let now = shift.now();
    let short = weighed(&line, shift.history(), &[stop(now, 2)], now);
    let long = weighed(&line, shift.history(), &[stop(now, 40)], now);
    assert_eq!(short.worse_than(&line, &short, Dur::ZERO), None);
    assert_eq!(short.worse_than(&line, &long, Dur::ZERO), None);
    assert!(long.worse_than(&line, &short, Dur::ZERO).is_some());
}

/// What a person at a desk knows of some commands now.
fn known(shift: &mut LiveShift, commands: &[Command]) -> Known {
    let (line, _) = demo();
    let at = shift.now();
    Known { weighed: weighed(&line, shift.history(), commands, at), at, seen: shift.last_fact() }
}

#[test]
fn while_the_line_goes_on_a_commit_is_weighed_again() {
    let (mut shift, clock) = shift_after(80);
    let hold = [change(Change::Hold { carrier: CarrierId::at(14) })];
    let seen = known(&mut shift, &hold);
    let until = shift.now() + Dur::from_mins(3);
    run_until(&mut shift, &clock, until);
    assert_ne!(shift.last_fact(), seen.seen, "the crew has worked on");
    shift.submit_weighed(&hold, Who::Supervisor, &seen).unwrap();
    assert!(shift.state().standing.held.contains_key(&CarrierId::at(14)));

    // What was shown is two minutes; what is asked for now is forty.
    let two = [stop(shift.now(), 2)];
    let seen = known(&mut shift, &two);
    let until = shift.now() + Dur::from_mins(3);
    run_until(&mut shift, &clock, until);
    let forty = [stop(shift.now(), 40)];
    let seq = shift.state().seq;
    let refused = shift.submit_weighed(&forty, Who::Supervisor, &seen).unwrap_err();
    assert!(matches!(refused, Problem::CostsMore(_)), "{refused}");
    assert_eq!(shift.state().seq, seq, "nothing was stored");
    assert!(shift.state().standing.stopped.is_empty());
}

#[test]
fn another_change_makes_a_commit_wait_for_a_new_look() {
    let (mut shift, _) = shift_after(60);
    let hold = [change(Change::Hold { carrier: CarrierId::at(14) })];
    let seen = known(&mut shift, &hold);
    shift.submit(&change(Change::SlowHoist { hoist: H1, percent: 90 }), Who::Supervisor).unwrap();
    let refused = shift.submit_weighed(&hold, Who::Supervisor, &seen).unwrap_err();
    assert!(matches!(refused, Problem::MovedOn), "{refused}");
    let seen = known(&mut shift, &hold);
    shift.submit_weighed(&hold, Who::Supervisor, &seen).unwrap();
}

#[test]
fn the_plan_that_was_shown_is_the_one_that_is_put_in_force() {
    let (line, _) = demo();
    let (mut shift, _) = shift_after(80);
    let commands = [stop(shift.now(), 5)];
    let mut seen = known(&mut shift, &commands);
    seen.weighed.improve(&line, &settings(), 4_000, &mut || false);
    shift.submit_weighed(&commands, Who::Supervisor, &seen).unwrap();
    let promised = &seen.weighed.after.worth;
    let state = shift.state();
    let got = dwellhand::plan::Objective::of(&line, state, shift.schedule(), &[]);
    assert!(got.scrap <= promised.scrap && got.harm() <= promised.harm());
    assert!(got.weighted_late <= promised.weighted_late, "{got:?} {promised:?}");
}

/// Nobody says that a load is down: the plan goes on with the time, and does not tell of moves that are long past.
#[test]
fn a_plan_does_not_grow_old_while_a_load_hangs() {
    let (mut shift, clock) = shift_after(60);
    let hangs = |shift: &LiveShift| shift.state().hoists[HoistId(0)].carrier.is_some();
    while !hangs(&shift) {
        let next = shift.next_wake().max(shift.now() + Dur(1));
        clock.set(next);
        shift.tick().unwrap();
    }
    shift.set_hands(Box::new(Idle));
    let until = shift.now() + Dur::from_mins(6);
    run_until(&mut shift, &clock, until);
    assert!(hangs(&shift));
    let now = shift.now();
    let late = Dur::from_secs(30);
    assert!(shift.schedule().made_at + late >= now);
    let down = |m: &Move| m.start + m.phases(shift.line(), &shift.state().book).unwrap().to_down();
    let old: Vec<_> = shift.schedule().moves.iter().filter(|m| down(m) + late < now).collect();
    assert_eq!(old, Vec::<&Move>::new(), "at {now}");
}

/// Does nothing.
struct Idle;

impl Hands for Idle {
    fn next(&mut self, _: &Line, _: &State, _: &[Call], _: Time) -> Option<(Time, Command)> {
        None
    }
}
