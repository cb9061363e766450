//! Promises about time: nothing done to the wall clock, and no sleep of the machine, makes a dwell longer or shorter.

use std::sync::{Arc, Mutex};
use std::time::Duration;

use chrono::{DateTime, FixedOffset};
use dwellhand::civil::Opening;
use dwellhand::clock::*;
use dwellhand::ids::{CarrierId, HoistId, Seq};
use dwellhand::journal::{Record, Written};
use dwellhand::live::{LiveShift, Notice, instant};
use dwellhand::plan::Settings;
use dwellhand::shift::{Command, Event, Place, Stamped, Who};
use dwellhand::units::{Dur, Time};

use crate::helpers::journal_header;
use crate::small;

fn wall(text: &str) -> DateTime<FixedOffset> {
    DateTime::parse_from_rfc3339(text).unwrap()
}

/// A machine whose clocks are set by hand.
#[derive(Debug, Clone)]
struct Desk(Arc<Mutex<Look>>);

impl Desk {
    fn new() -> Self {
        let (awake, steady) = (Duration::from_secs(500), Duration::from_secs(900));
        Self(Arc::new(Mutex::new(Look { awake, steady, wall: wall("2026-10-25T02:30:00+02:00") })))
    }
    /// Time passes, on all clocks.
    fn pass(&self, seconds: i64) {
        let mut look = self.0.lock().unwrap();
        look.awake += Duration::from_secs(seconds as u64);
        look.steady += Duration::from_secs(seconds as u64);
        look.wall += chrono::Duration::seconds(seconds);
    }
    fn sleep(&self, seconds: i64) {
        let mut look = self.0.lock().unwrap();
        look.steady += Duration::from_secs(seconds as u64);
        look.wall += chrono::Duration::seconds(seconds);
    }
    fn set_wall(&self, ahead: i64) {
        self.0.lock().unwrap().wall += chrono::Duration::seconds(ahead);
    }
    fn zone(&self, east: i32) {
        let mut look = self.0.lock().unwrap();
        look.wall = look.wall.with_timezone(&FixedOffset::east_opt(east).unwrap());
    }
}

impl Machine for Desk {
    fn look(&mut self) -> Look {
        *self.0.lock().unwrap()
    }
}

fn shift_on(desk: &Desk, practice: bool) -> LiveShift {
    let clock = RunningClock::on(Box::new(desk.clone()), Time::ZERO, 1.0, practice);
    let opening = Opening::at(wall("2026-10-25T02:30:00+02:00"));
    let mut shift = LiveShift::in_memory(small::line(), opening, Box::new(clock), Settings::default());
    shift.submit(&Command::Open { book: small::book() }, Who::Supervisor).unwrap();
    shift
}

const B1: CarrierId = CarrierId(0);
const H1: HoistId = HoistId(0);

/// How long B1 has been in the first tank, by the shift.
fn dwell(shift: &mut LiveShift) -> Dur {
    let now = shift.now();
    match shift.state().carriers[B1].place {
        Place::InTank { since, .. } => now - since,
        ref other => panic!("{other:?}"),
    }
}

/// B1 has just gone into the first tank.
fn immersed(desk: &Desk, practice: bool) -> LiveShift {
    let mut shift = shift_on(desk, practice);
    desk.pass(60);
    let (lift, lower) = (Time::from_secs(30), Time::from_secs(60));
    shift
        .submit(&Command::Lift { carrier: B1, hoist: H1, from: small::LOAD, at: lift }, Who::Operator)
        .unwrap();
    shift.submit(&Command::Lower { hoist: H1, to: small::CLEAN, at: lower }, Who::Operator).unwrap();
    shift.tick().unwrap();
    shift
}

fn said(shift: &mut LiveShift) -> Vec<String> {
    shift.tick().unwrap();
    let clock = |n: &Notice| matches!(n, Notice::Clock(_));
    shift.take_notices().iter().filter(|n| clock(n)).map(ToString::to_string).collect()
}

#[test]
fn a_clock_that_is_set_changes_no_dwell_and_is_said() {
    for (step, words) in [(180, "set 3:00 ahead"), (-180, "set 3:00 back"), (-1_800_000_000, "back")] {
        let desk = Desk::new();
        let mut shift = immersed(&desk, false);
        desk.pass(10);
        desk.set_wall(step);
        assert_eq!(dwell(&mut shift), Dur::from_secs(10), "{step}");
        desk.pass(10);
        assert_eq!(dwell(&mut shift), Dur::from_secs(20), "{step}");
        let said = said(&mut shift);
        assert!(said.len() == 1 && said[0].contains(words), "{said:?}");
    }
}

#[test]
fn a_clock_that_is_trimmed_a_little_is_nobodys_business_until_it_adds_up() {
    let desk = Desk::new();
    let mut shift = immersed(&desk, false);
    for n in 1..=10 {
        desk.pass(60);
        desk.0.lock().unwrap().wall += chrono::Duration::milliseconds(300);
        assert_eq!(said(&mut shift).len(), usize::from(n == 7), "minute {n}");
    }
    assert_eq!(dwell(&mut shift), Dur::from_secs(600));
}

#[test]
fn the_end_of_summer_time_changes_nothing_but_is_said() {
    let desk = Desk::new();
    let mut shift = immersed(&desk, false);
    desk.pass(1800);
    desk.zone(3600);
    desk.pass(10);
    assert_eq!(dwell(&mut shift), Dur::from_secs(1810));
    let said = said(&mut shift);
    assert!(said.len() == 1 && said[0].contains("zone is +01:00"), "{said:?}");
}

#[test]
fn sleep_counts_in_a_real_shift() {
    let desk = Desk::new();
    let mut shift = immersed(&desk, false);
    desk.sleep(1872);
    desk.pass(2);
    assert_eq!(dwell(&mut shift), Dur::from_secs(1874));
    let words = said(&mut shift);
    assert!(words.len() == 1 && words[0].contains("slept for 31:12; the line went on"), "{words:?}");
    // What ran over meanwhile is an alarm at once.
    assert!(!shift.state().alarms.is_empty());
    desk.sleep(30);
    desk.pass(2);
    assert!(said(&mut shift)[0].contains("slept for 0:30"), "each sleep for itself");
}

#[test]
fn a_practice_stands_still_while_the_machine_sleeps() {
    let desk = Desk::new();
    let mut shift = immersed(&desk, true);
    desk.sleep(1872);
    desk.pass(2);
    assert_eq!(dwell(&mut shift), Dur::from_secs(2));
    assert!(said(&mut shift)[0].contains("the practice stood still"));
}

fn at(seconds: i64) -> DateTime<FixedOffset> {
    wall("2026-11-25T06:00:00+01:00") + chrono::Duration::seconds(seconds)
}

/// An event of one instant, written on a start of the machine.
fn record(seconds: i64, boot: u64, up: i64) -> Record {
    let at_t = Time::from_secs(seconds);
    let event = Event::Noted { text: String::new() };
    Record {
        stamped: Stamped { seq: Seq(1), at: at_t, entered: at_t, by: Who::Operator, event },
        written: Written { wall: at(seconds), up: Some(Uptime { boot, ms: up * 1000 }) },
    }
}

fn resumed(records: &[Record], wall_s: i64, boot: u64, up_s: i64) -> (Time, Option<Notice>) {
    instant(&journal_header(false), records, at(wall_s), Some(Uptime { boot, ms: up_s * 1000 }))
}

#[test]
fn a_shift_reopened_on_the_same_start_goes_by_what_really_passed() {
    let records = [record(1000, 7, 5000), record(2000, 7, 6000)];
    // Twenty minutes later, the wall clock as it should be, set ahead, set back, set to 1970.
    assert_eq!(resumed(&records, 3200, 7, 7200), (Time::from_secs(3200), None));
    assert_eq!(
        resumed(&records, 6800, 7, 7200),
        (Time::from_secs(3200), Some(Notice::ClockSet(Dur::from_secs(3600))))
    );
    assert_eq!(
        resumed(&records, -400, 7, 7200),
        (Time::from_secs(3200), Some(Notice::ClockSet(Dur::from_secs(-3600))))
    );
    let (now, notice) = resumed(&records, -1_700_000_000, 7, 7200);
    assert_eq!(now, Time::from_secs(3200));
    assert!(notice.unwrap().to_string().contains("was set"));
}

#[test]
fn after_a_new_start_only_the_wall_clock_tells_and_that_is_said() {
    let records = [record(1000, 7, 5000), record(2000, 7, 6000)];
    let (now, notice) = resumed(&records, 3200, 8, 40);
    assert_eq!((now, &notice), (Time::from_secs(3200), &Some(Notice::StartedAnew(Dur::from_secs(1200)))));
    assert!(notice.unwrap().to_string().contains("by its clock 20:00 have passed"));
    // The battery of its clock is empty: it shows a time before the last event.
    let (now, notice) = resumed(&records, -1_700_000_000, 8, 40);
    assert_eq!(now, Time::from_secs(2000));
    assert!(matches!(notice, Some(Notice::ClockBehind(_))), "{notice:?}");
}

#[test]
fn an_event_of_another_machine_does_not_hide_one_of_this() {
    let records = [record(1000, 7, 5000), record(1500, 9, 77)];
    assert_eq!(resumed(&records, 9000, 7, 6000).0, Time::from_secs(2000));
}

#[test]
fn a_practice_goes_on_where_it_was_left_whatever_the_clocks_say() {
    let records = [record(1000, 7, 5000)];
    let up = Some(Uptime { boot: 7, ms: 99_999_000 });
    assert_eq!(instant(&journal_header(true), &records, at(70_000), up), (Time::from_secs(1000), None));
}

#[test]
fn this_machine_tells_its_uptime() {
    if cfg!(target_os = "linux") {
        let (a, b) = (uptime().unwrap(), uptime().unwrap());
        assert_eq!(a.boot, b.boot);
        assert!(a.ms > 0 && b.ms >= a.ms);
    }
    let mut clock = RunningClock::real(Time::from_secs(5));
    assert!(clock.now() >= Time::from_secs(5));
    assert_eq!(clock.news(), []);
}
