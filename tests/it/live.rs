//! Promises of a running shift: what is answered is stored, what is stored is what is so, for everybody.

use std::fs;
use std::io::Write as _;
use std::ops::Range;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Barrier};

use dwellhand::civil::Opening;
use dwellhand::clock::{Clock as _, ManualClock, wall_now};
use dwellhand::ids::{CarrierId, HoistId, Seq};
use dwellhand::journal::{Digest, Header, Reader, StoredTexts, read};
use dwellhand::line::{Line, OrderBook};
use dwellhand::live::*;
use dwellhand::plan::{Call, Settings, remaining};
use dwellhand::rng::Rng;
use dwellhand::schedule::{Move, Schedule};
use dwellhand::shift::*;
use dwellhand::units::{Dur, Time};

use crate::helpers::{retime, undo};
use crate::small;

const B1: CarrierId = CarrierId(0);
const B2: CarrierId = CarrierId(1);
const H1: HoistId = HoistId(0);
const H2: HoistId = HoistId(1);

fn opening() -> Opening {
    Opening::parse("2026-11-25T06:00:00+01:00").unwrap()
}

fn new_shift(practice: bool) -> NewShift {
    NewShift {
        texts: StoredTexts::default(),
        opening: opening(),
        zone: "+01:00".to_owned(),
        book: small::book(),
        settings: Settings::default(),
        practice,
        speed: 1.0,
    }
}

pub fn created(path: &Path) -> (LiveShift, ManualClock) {
    let clock = ManualClock::default();
    let mut shift = LiveShift::create(path, small::line(), new_shift(true), Box::new(clock.clone())).unwrap();
    plan_one_by_one(&mut shift);
    (shift, clock)
}

fn plan_one_by_one(shift: &mut LiveShift) {
    shift.set_planner(Box::new(small::one_by_one));
    let now = shift.now();
    let schedule = small::one_by_one(shift.line(), shift.state(), now, &Settings::default());
    shift.submit(&Command::AdoptPlan { schedule }, Who::Program).unwrap();
}

fn in_memory() -> (LiveShift, ManualClock) {
    let clock = ManualClock::default();
    let mut shift =
        LiveShift::in_memory(small::line(), opening(), Box::new(clock.clone()), Settings::default());
    shift.submit(&Command::Open { book: small::book() }, Who::Supervisor).unwrap();
    plan_one_by_one(&mut shift);
    (shift, clock)
}

#[expect(clippy::unnecessary_wraps, reason = "the shape reopen asks for")]
fn texts_as_small(_: &Header) -> Result<(Line, OrderBook), String> {
    Ok(((*small::line()).clone(), small::book()))
}

fn reopened(path: &Path) -> (LiveShift, ManualClock, Vec<Notice>) {
    let clock = ManualClock::default();
    let hands_out = clock.clone();
    let make = move |_: &Header, base: Time| -> Box<dyn dwellhand::clock::Clock> {
        clock.set(base);
        Box::new(clock)
    };
    let (shift, notices) = LiveShift::reopen(path, Settings::default(), texts_as_small, make).unwrap();
    (shift, hands_out, notices)
}

pub fn folder() -> (tempfile::TempDir, PathBuf) {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("shift.jsonl");
    (dir, path)
}

fn stored(path: &Path) -> Vec<Stamped> {
    let mut reader = Reader::open(path).unwrap();
    let (records, torn) = read(&mut reader, &small::line()).unwrap();
    assert_eq!(torn, None);
    records.into_iter().map(|r| r.stamped).collect()
}

fn lift(carrier: CarrierId, hoist: HoistId, from: dwellhand::ids::TankId, at: i64) -> Command {
    Command::Lift { carrier, hoist, from, at: Time::from_secs(at) }
}

fn lower(hoist: HoistId, to: dwellhand::ids::TankId, at: i64) -> Command {
    Command::Lower { hoist, to, at: Time::from_secs(at) }
}

fn plans(shift: &LiveShift) -> usize {
    let adopted = |s: &&Stamped| matches!(s.event, Event::PlanAdopted { .. });
    shift.history().events().iter().filter(adopted).count()
}

/// A person who mostly follows the plan, and sometimes says and does other things.
pub fn disturb(shift: &mut LiveShift, rng: &mut Rng) {
    let now = shift.now();
    let said = now - Dur(rng.below(3000) as i64);
    let some_tank = |rng: &mut Rng| dwellhand::ids::TankId(rng.below(7) as u16);
    let command = match rng.below(20) {
        0 => undo(shift.history()),
        1 => retime(shift.history(), said),
        2 => Command::TankOut { tank: some_tank(rng), until: None, why: String::new() },
        3 => Command::TankBack { tank: some_tank(rng) },
        4 => Command::Note { text: format!("note {}", rng.below(1000)) },
        5 => {
            let claim = if rng.chance(0.5) { Claim::Queued } else { Claim::OffLine };
            Command::Correct { carrier: CarrierId(rng.below(3) as u16), claim }
        }
        6 => Command::CorrectHoist { hoist: H2, at: small::PARK },
        7 | 8 => {
            let Some(key) = shift.state().alarms.keys().next().copied() else { return };
            let action = match rng.below(3) {
                0 => AlarmAction::Acknowledge,
                1 => AlarmAction::Shelve { lasting: Dur::from_mins(2), reason: "busy".to_owned() },
                _ => AlarmAction::Unshelve,
            };
            Command::Alarm { key, action }
        }
        _ => {
            let Some(m) = shift.schedule().moves.first().copied() else { return };
            match shift.state().carriers[m.carrier].place {
                Place::OnHook { .. } => Command::Lower { hoist: m.hoist, to: m.to, at: said },
                _ => Command::Lift { carrier: m.carrier, hoist: m.hoist, from: m.from, at: said },
            }
        }
    };
    let who = if rng.chance(0.5) { Who::Operator } else { Who::Supervisor };
    match shift.submit(&command, who) {
        Ok(()) | Err(Problem::Refused(_)) => {}
        Err(fault) => panic!("{fault}"),
    }
}

#[test]
fn what_is_live_is_what_the_journal_folds_to() {
    for seed in 0..12 {
        let (_dir, path) = folder();
        let (mut shift, clock) = created(&path);
        let mut rng = Rng::stream(seed, "disturbances");
        let mut seen: Vec<State> = Vec::new();
        for _ in 0..120 {
            clock.set(shift.now() + Dur(rng.below(40_000) as i64));
            shift.tick().unwrap();
            seen.push(shift.state().clone());
            disturb(&mut shift, &mut rng);
            seen.push(shift.state().clone());
        }
        let events = stored(&path);
        assert_eq!(events, shift.history().events(), "seed {seed}");
        assert!(events.iter().any(|s| matches!(s.event, Event::AlarmRaised { .. })), "seed {seed}");
        let mut history = History::new(&small::line());
        let mut seen = seen.into_iter().peekable();
        for s in events {
            history.push(&small::line(), s);
            let upto = History::of(&small::line(), history.events().to_vec());
            assert_eq!(history.state(), upto.state(), "seed {seed}");
            while let Some(live) = seen.next_if(|live| live.seq == history.state().seq) {
                assert_eq!(&live, history.state(), "seed {seed}, event {:?}", live.seq);
            }
        }
        assert_eq!(seen.next(), None);
    }
}

#[test]
fn reopening_brings_everything_back() {
    let (_dir, path) = folder();
    let (mut shift, clock) = created(&path);
    clock.set(Time::from_secs(60));
    shift.submit(&lift(B1, H1, small::LOAD, 20), Who::Operator).unwrap();
    shift.submit(&lower(H1, small::CLEAN, 40), Who::Operator).unwrap();
    clock.set(Time::from_secs(400));
    shift.tick().unwrap();
    let key = *shift.state().alarms.keys().next().expect("an overrun in T1");
    shift.submit(&Command::Alarm { key, action: AlarmAction::Acknowledge }, Who::Operator).unwrap();
    shift
        .submit(&Command::TankOut { tank: small::WAIT, until: None, why: String::new() }, Who::Supervisor)
        .unwrap();
    let before = shift.state().clone();
    let events = shift.history().events().to_vec();
    drop(shift);

    let (again, _, notices) = reopened(&path);
    assert_eq!(notices, []);
    assert_eq!(again.history().events()[..events.len()], events);
    assert_eq!(History::of(&small::line(), events).state(), &before);
    assert_eq!(again.state().alarms, before.alarms);
    assert_eq!(again.state().carriers, before.carriers);
    assert_eq!(again.state().tanks, before.tanks);
    assert_eq!(again.header().unwrap().program, concat!("dwellhand ", env!("CARGO_PKG_VERSION")));
}

#[test]
fn practice_goes_on_where_it_stopped() {
    let (_dir, path) = folder();
    let (mut shift, clock) = created(&path);
    clock.set(Time::from_secs(500));
    shift.submit(&Command::Note { text: "pause".to_owned() }, Who::Operator).unwrap();
    let (mut again, _, _) = reopened(&path);
    assert_eq!(again.now(), Time::from_secs(500));
}

/// Writes a journal anew as a machine would that does not say how long it has been running.
fn forget_the_start(path: &Path) {
    let text = fs::read_to_string(path).unwrap();
    let mut lines = text.lines().map(str::to_owned);
    let mut all = vec![lines.next().unwrap()];
    for line in lines {
        let mut line: serde_json::Value = serde_json::from_str(&line).unwrap();
        line.as_object_mut().unwrap().remove("up");
        line["prev"] = Digest::of(all[all.len() - 1].as_bytes()).to_string().into();
        all.push(line.to_string());
    }
    fs::write(path, all.join("\n") + "\n").unwrap();
}

#[test]
fn a_real_shift_goes_on_at_the_walls_time() {
    let (_dir, path) = folder();
    let opened = wall_now() - chrono::Duration::seconds(1000);
    let new = NewShift { opening: Opening::at(opened), ..new_shift(false) };
    let shift = LiveShift::create(&path, small::line(), new, Box::new(ManualClock::default())).unwrap();
    // On the same start of the machine it is known what has really passed; after another one the wall tells.
    forget_the_start(&path);
    let (mut again, _, notices) = reopened(&path);
    let off = (again.now() - Time::from_secs(1000)).0;
    assert!((0..60_000).contains(&off), "{off}");
    assert_eq!(notices, []);
    drop((shift, again));

    // An event from the wall's future: the clock was put back meanwhile.
    let ahead = ManualClock::default();
    ahead.set(Time::from_secs(9000));
    let make = |_: &Header, _: Time| -> Box<dyn dwellhand::clock::Clock> { Box::new(ahead) };
    let (mut other, _) = LiveShift::reopen(&path, Settings::default(), texts_as_small, make).unwrap();
    other.submit(&Command::Note { text: "ahead".to_owned() }, Who::Operator).unwrap();
    drop(other);
    forget_the_start(&path);
    let (mut again, _, notices) = reopened(&path);
    assert_eq!(again.now(), Time::from_secs(9000));
    assert!(matches!(notices[..], [Notice::ClockBehind(_)]), "{notices:?}");
}

#[test]
fn a_torn_tail_is_told_and_the_shift_goes_on() {
    let (dir, path) = folder();
    let (mut shift, _clock) = created(&path);
    shift.submit(&Command::Note { text: "last".to_owned() }, Who::Operator).unwrap();
    let events = shift.history().events().to_vec();
    fs::OpenOptions::new().append(true).open(&path).unwrap().write_all(b"{\"seq\":9,\"at\"").unwrap();
    let (mut again, _, notices) = reopened(&path);
    assert!(notices[0].to_string().contains("is kept in"), "{}", notices[0]);
    assert!(dir.path().join("shift.jsonl.torn-1").exists());
    assert_eq!(again.history().events()[..events.len()], events);
    again.submit(&Command::Note { text: "next".to_owned() }, Who::Operator).unwrap();
    assert_eq!(stored(&path), again.history().events());
}

#[test]
fn an_opening_without_events_is_opened_on_reopening() {
    let (_dir, path) = folder();
    let (shift, _clock) = created(&path);
    drop(shift);
    let text = fs::read_to_string(&path).unwrap();
    fs::write(&path, text.lines().next().unwrap().to_owned() + "\n").unwrap();
    let (again, _, _) = reopened(&path);
    assert_eq!(again.state().book, small::book());
}

#[test]
fn undo_works_after_reopening() {
    let (_dir, path) = folder();
    let (mut shift, clock) = created(&path);
    clock.set(Time::from_secs(60));
    shift.submit(&lift(B1, H1, small::LOAD, 20), Who::Operator).unwrap();
    let (mut again, _, _) = reopened(&path);
    again.submit(&undo(again.history()), Who::Operator).unwrap();
    assert_eq!(again.state().carriers[B1].place, Place::Queued);
    assert!(shift.tail().unwrap());
    assert_eq!(shift.state(), again.state());
}

/// People go by the clock, and so does what they are told.
#[test]
fn a_time_that_cannot_be_is_told_as_a_time_of_day() {
    let (_dir, path) = folder();
    let (mut shift, clock) = created(&path);
    clock.set(Time::from_secs(60));
    shift.submit(&lift(B1, H1, small::LOAD, 20), Who::Operator).unwrap();
    let refused = shift.submit(&lower(H1, small::CLEAN, 10), Who::Operator).unwrap_err().to_string();
    let clock = |seconds| shift.opening().clock(Time::from_secs(seconds));
    assert_eq!(refused, format!("{} cannot be: it was lifted later ({})", clock(10), clock(20)));
}

#[test]
fn the_slower_of_two_terminals_decides_again() {
    let (_dir, path) = folder();
    let (mut a, clock_a) = created(&path);
    let (mut b, clock_b, _) = reopened(&path);
    clock_a.set(Time::from_secs(60));
    clock_b.set(Time::from_secs(60));
    a.submit(&lift(B1, H1, small::LOAD, 20), Who::Operator).unwrap();
    let late = b.submit(&lift(B1, H2, small::LOAD, 21), Who::Operator).unwrap_err();
    assert!(matches!(late, Problem::Refused(Refusal::NotThere { .. })), "{late}");
    assert_eq!(a.state(), b.state());
    b.submit(&lift(B2, H2, small::LOAD, 22), Who::Supervisor).unwrap();
    // a still believes B2 waits; what it says about B1 stands all the same.
    a.submit(&lower(H1, small::CLEAN, 40), Who::Operator).unwrap();
    assert!(b.tail().unwrap());
    assert!(!b.tail().unwrap());
    assert_eq!(a.state(), b.state());
    assert_eq!(stored(&path), a.history().events());
    assert!(matches!(a.state().carriers[B2].place, Place::OnHook { .. }));
}

/// Two threads with a terminal each press at the same moment, again and again: one of both is first, the other is told
/// where the carrier is, and what neither was in the other's way with is kept for both.
#[test]
fn two_who_press_at_once_lose_nothing_and_the_slower_is_told() {
    const ROUNDS: i64 = 30;
    let (_dir, path) = folder();
    drop(created(&path));
    let together = Arc::new(Barrier::new(2));
    let presses = |name: &'static str, hoist: HoistId| {
        let (path, together) = (path.clone(), Arc::clone(&together));
        std::thread::spawn(move || {
            let (mut shift, clock, _) = reopened(&path);
            let mut first = 0;
            for round in 0..ROUNDS {
                clock.set(Time::from_secs(100 + round));
                together.wait();
                shift.submit(&Command::Note { text: format!("{name} {round}") }, Who::Operator).unwrap();
                let lifted = shift.submit(&lift(B1, hoist, small::LOAD, 100 + round), Who::Operator);
                together.wait();
                match lifted {
                    Ok(()) => {
                        first += 1;
                        let back = Command::Correct { carrier: B1, claim: Claim::Queued };
                        shift.submit(&back, Who::Operator).unwrap();
                    }
                    Err(Problem::Refused(Refusal::NotThere { really, .. })) => assert_ne!(really, ""),
                    Err(other) => panic!("{name} {round}: {other}"),
                }
                together.wait();
            }
            shift.tail().unwrap();
            (first, shift.state().clone())
        })
    };
    let (a, b) = (presses("one", H1), presses("two", H2));
    let ((a, state_a), (b, state_b)) = (a.join().unwrap(), b.join().unwrap());
    assert_eq!(a + b, ROUNDS, "each round has one who was first");
    assert_eq!(state_a, state_b);
    let events = stored(&path);
    let count = |wanted: fn(&Event) -> bool| events.iter().filter(|s| wanted(&s.event)).count() as i64;
    assert_eq!(count(|e| matches!(e, Event::Lifted { .. })), ROUNDS);
    // A hoist that is too near another makes the program note that it has no plan; that is nobody's press.
    let said = |e: &Event| matches!(e, Event::Noted { text } if !text.starts_with("fault: "));
    assert_eq!(count(said), 2 * ROUNDS);
}

#[test]
fn two_terminals_raise_an_alarm_once() {
    let (_dir, path) = folder();
    let (mut a, clock_a) = created(&path);
    let (mut b, clock_b, _) = reopened(&path);
    clock_a.set(Time::from_secs(60));
    a.submit(&lift(B1, H1, small::LOAD, 20), Who::Operator).unwrap();
    a.submit(&lower(H1, small::CLEAN, 40), Who::Operator).unwrap();
    for at in (300..600).step_by(5) {
        clock_a.set(Time::from_secs(at));
        clock_b.set(Time::from_secs(at));
        a.tick().unwrap();
        b.tick().unwrap();
    }
    let raised = stored(&path).iter().filter(|s| matches!(s.event, Event::AlarmRaised { .. })).count();
    assert_eq!(raised, 1);
    a.tail().unwrap();
    assert_eq!(a.state(), b.state());
}

#[test]
fn a_fault_changes_nothing() {
    let (_dir, path) = folder();
    let (mut shift, _clock) = created(&path);
    let before = shift.state().clone();
    let bytes = fs::read(&path).unwrap();
    let other = fs::File::open(&path).unwrap();
    other.lock().unwrap();
    let e = shift.submit(&lift(B1, H1, small::LOAD, 0), Who::Operator).unwrap_err();
    assert!(matches!(e, Problem::Fault(_)) && e.to_string().contains(&path.display().to_string()), "{e}");
    assert_eq!(shift.state(), &before);
    assert_eq!(fs::read(&path).unwrap(), bytes);
    other.unlock().unwrap();
    shift.submit(&lift(B1, H1, small::LOAD, 0), Who::Operator).unwrap();
}

/// The child of the next test: writes until the system refuses, as on a full disk.
#[test]
#[ignore = "run by another test as a process of its own, with a limit on the size of files"]
fn child_that_writes_until_the_disk_is_full() {
    let path = PathBuf::from(std::env::var_os("DWELLHAND_TEST_JOURNAL").unwrap());
    let (mut shift, _clock) = created(&path);
    let text = "x".repeat(5000);
    let fault = loop {
        if let Err(e) = shift.submit(&Command::Note { text: text.clone() }, Who::Operator) {
            break e.to_string();
        }
        assert!(shift.state().seq < Seq(1000), "there is no limit");
    };
    assert!(fault.starts_with(&format!("cannot append to the journal {}: ", path.display())), "{fault}");
    assert_eq!(stored(&path), shift.history().events());
    assert_eq!(shift.state(), History::of(&small::line(), stored(&path)).state());
    shift.submit(&Command::Note { text: "short".to_owned() }, Who::Operator).unwrap();
    assert_eq!(stored(&path), shift.history().events());
}

#[cfg(unix)]
#[test]
fn a_full_disk_leaves_no_part_of_a_record() {
    let (_dir, path) = folder();
    // An ignored signal stays ignored in the child, so that the write fails instead of ending the process.
    let limited = "trap '' XFSZ; ulimit -f 100; exec \"$0\" \"$@\"";
    let child = std::process::Command::new("sh")
        .args(["-c", limited])
        .arg(crate::helpers::this_program())
        .args(["--exact", "live::child_that_writes_until_the_disk_is_full", "--ignored", "--nocapture"])
        .env("DWELLHAND_TEST_JOURNAL", &path)
        .output()
        .unwrap();
    let said = String::from_utf8_lossy(&child.stdout);
    assert!(child.status.success() && said.contains("1 passed"), "{said}");
}

#[test]
fn a_shift_that_cannot_be_stored_does_not_start() {
    let (dir, _) = folder();
    let nowhere = dir.path().join("no/shift.jsonl");
    let clock = Box::new(ManualClock::default());
    let Err(e) = LiveShift::create(&nowhere, small::line(), new_shift(true), clock) else {
        panic!("there is no such folder");
    };
    assert!(e.to_string().starts_with(&format!("cannot create the journal {}: ", nowhere.display())), "{e}");
    let (_dir, path) = folder();
    drop(created(&path));
    let bad = |_: &Header| Err("line.jsonc:3:1: no tanks".to_owned());
    let make = |_: &Header, _: Time| -> Box<dyn dwellhand::clock::Clock> { Box::new(ManualClock::default()) };
    let Err(e) = LiveShift::reopen(&path, Settings::default(), bad, make) else {
        panic!("the texts are bad");
    };
    assert!(e.to_string().ends_with("cannot be used: line.jsonc:3:1: no tanks"), "{e}");
}

#[test]
fn a_plan_is_made_after_each_event_that_moves_anything() {
    let (mut shift, clock) = in_memory();
    clock.set(Time::from_secs(60));
    let n = plans(&shift);
    shift.submit(&lift(B1, H1, small::LOAD, 20), Who::Operator).unwrap();
    shift.submit(&lower(H1, small::CLEAN, 40), Who::Operator).unwrap();
    shift.submit(&retime(shift.history(), Time::from_secs(41)), Who::Operator).unwrap();
    shift.submit(&undo(shift.history()), Who::Operator).unwrap();
    shift
        .submit(&Command::TankOut { tank: small::WAIT, until: None, why: String::new() }, Who::Supervisor)
        .unwrap();
    shift.submit(&Command::TankBack { tank: small::WAIT }, Who::Supervisor).unwrap();
    shift.submit(&Command::Note { text: "nothing moves".to_owned() }, Who::Operator).unwrap();
    assert_eq!(plans(&shift), n + 6);
    assert_eq!(shift.plan_age(), Some(Dur::ZERO));
    assert_eq!(shift.state().plan.as_ref(), Some(shift.schedule()));
}

#[test]
fn a_plan_that_has_fallen_behind_is_refreshed_and_stored_only_if_it_differs() {
    let (mut shift, clock) = in_memory();
    let n = plans(&shift);
    let mut ages = Vec::new();
    for second in 1..=60 {
        clock.set(Time::from_secs(second));
        shift.tick().unwrap();
        ages.push(shift.plan_age().unwrap());
    }
    // Nobody lifts B1, so every plan starts later than the one before; 20 s make it another plan.
    let more = plans(&shift) - n;
    assert!((1..=3).contains(&more), "{more} plans stored");
    assert!(ages.iter().all(|a| *a <= Dur::from_secs(8)), "{ages:?}");
    let kept = ages.windows(2).filter(|w| w[1] < w[0]).count();
    assert!(kept <= 12, "planned {kept} times in a minute");
}

/// A shift that was left alone does not plan all night as if somebody were late.
#[test]
fn where_nobody_says_anything_plans_get_farther_apart() {
    let (mut shift, clock) = in_memory();
    let oldest = |shift: &mut LiveShift, seconds: Range<i64>| {
        let ages = seconds.map(|second| {
            clock.set(Time::from_secs(second));
            shift.tick().unwrap();
            shift.plan_age().unwrap()
        });
        ages.max().unwrap()
    };
    // A stop may last so long, and what is planned meanwhile counts.
    let age = oldest(&mut shift, 1..1800);
    assert!(age <= Dur::from_secs(8), "{age} old");
    let age = oldest(&mut shift, 1800..3600);
    assert!(age <= Dur::from_secs(150), "{age} old");
    let n = plans(&shift);
    oldest(&mut shift, 3600..7201);
    let more = plans(&shift) - n;
    assert!((20..=40).contains(&more), "{more} plans stored in an hour");
    // Whoever comes back has a new plan with the first word.
    let call = shift.calls()[0].mv;
    let lifted = lift(call.carrier, call.hoist, call.from, 7200);
    shift.submit(&lifted, Who::Operator).unwrap();
    assert!(shift.plan_age().unwrap() <= Dur::from_secs(1));
}

#[test]
fn a_plan_that_cannot_be_is_not_taken_and_the_last_good_one_stays() {
    let (mut shift, clock) = in_memory();
    let good = shift.state().plan.clone();
    let nonsense = |_: &Line, _: &State, now: Time, _: &Settings| {
        let (leaves, visit) =
            (dwellhand::line::Visit::Step(dwellhand::ids::StepNo(2)), dwellhand::line::Visit::Unload);
        let (from, to) = (small::ANODISE, small::UNLOAD);
        let mv =
            Move { carrier: B1, hoist: H1, from, to, leaves, visit, start: now, attach: true, release: true };
        Schedule::new(vec![mv], now)
    };
    shift.set_planner(Box::new(nonsense));
    clock.set(Time::from_secs(60));
    shift.submit(&lift(B1, H1, small::LOAD, 20), Who::Operator).unwrap();
    shift.submit(&lower(H1, small::CLEAN, 40), Who::Operator).unwrap();
    assert_eq!(shift.state().plan, good);
    let left = remaining(shift.state(), &good.unwrap());
    assert_eq!(shift.schedule(), &left);
    assert_eq!(left.moves[0].from, small::CLEAN);
    assert!(matches!(shift.notices(), [Notice::PlanRejected(_)]), "{:?}", shift.notices());
    let faults = |s: &&Stamped| matches!(&s.event, Event::Noted { text } if text.starts_with("fault: "));
    assert_eq!(shift.history().events().iter().filter(faults).count(), 1);

    shift.set_planner(Box::new(small::one_by_one));
    clock.set(Time::from_secs(70));
    shift.tick().unwrap();
    assert_eq!(shift.plan_age(), Some(Dur::ZERO));
}

#[test]
fn done_moves_are_not_left_over() {
    let (mut shift, clock) = in_memory();
    let plan = shift.state().plan.clone().unwrap();
    assert_eq!(remaining(shift.state(), &plan), plan);
    clock.set(Time::from_secs(60));
    shift.submit(&lift(B1, H1, small::LOAD, 20), Who::Operator).unwrap();
    assert_eq!(remaining(shift.state(), &plan), plan, "the move under way is still to be ended");
    shift.submit(&lower(H1, small::CLEAN, 40), Who::Operator).unwrap();
    assert_eq!(remaining(shift.state(), &plan).moves.len(), plan.moves.len() - 1);
    let gone = Command::Correct { carrier: B1, claim: Claim::OffLine };
    shift.submit(&gone, Who::Operator).unwrap();
    assert_eq!(remaining(shift.state(), &plan).of(B1).count(), 0);
}

/// Hands that follow the plan to the second: the lift at the start of the raise, the place when the load is down.
struct OnTheDot(Arc<Line>);

impl Hands for OnTheDot {
    fn next(&mut self, line: &Line, state: &State, _: &[Call], now: Time) -> Option<(Time, Command)> {
        let m = small::one_by_one(&self.0, state, now, &Settings::default()).moves.first().copied()?;
        let phases = m.phases(line, &state.book)?;
        if let Place::OnHook { lifted, .. } = state.carriers[m.carrier].place {
            let at = lifted + phases.to_down() - phases.to_lift();
            return Some((at, Command::Lower { hoist: m.hoist, to: m.to, at }));
        }
        let at = m.start + phases.to_lift();
        Some((at, Command::Lift { carrier: m.carrier, hoist: m.hoist, from: m.from, at }))
    }
}

fn run(shift: &mut LiveShift, clock: &ManualClock, until: Time) -> usize {
    let mut ticks = 0;
    loop {
        let wake = shift.next_wake();
        if wake > until {
            return ticks;
        }
        clock.set(wake);
        shift.tick().unwrap();
        ticks += 1;
        assert!(ticks < 20_000, "no progress at {wake}");
    }
}

#[test]
fn a_crew_brings_the_shift_to_its_end() {
    let whole = || {
        let (mut shift, clock) = in_memory();
        shift.set_hands(Box::new(OnTheDot(small::line())));
        run(&mut shift, &clock, Time::from_secs(3600));
        shift
    };
    let shift = whole();
    for (_, c) in shift.state().carriers.iter() {
        assert!(matches!(c.place, Place::Finished { .. }), "{c:?}");
    }
    assert!(shift.history().events().iter().any(|s| s.by == Who::Crew));
    assert_eq!(shift.notices(), []);
    assert_eq!(shift.history().events(), whole().history().events(), "the same run twice");
}

/// Hands that want what nobody can do.
struct Stubborn;

impl Hands for Stubborn {
    fn next(&mut self, _: &Line, _: &State, _: &[Call], now: Time) -> Option<(Time, Command)> {
        Some((now, Command::Lower { hoist: H1, to: small::CLEAN, at: now }))
    }
}

#[test]
fn a_crew_that_wants_the_impossible_is_left_alone_for_a_while() {
    let (mut shift, clock) = in_memory();
    shift.set_hands(Box::new(Stubborn));
    let ticks = run(&mut shift, &clock, Time::from_secs(60));
    assert!((50..200).contains(&ticks), "{ticks}");
    assert!(matches!(shift.notices()[0], Notice::CrewRefused(_)));
}

#[test]
fn windows_that_end_soon_are_looked_at_every_second() {
    let (mut shift, clock) = in_memory();
    clock.set(Time::from_secs(60));
    shift.set_planner(Box::new(|_, _, now, _| Schedule::new(Vec::new(), now)));
    shift.submit(&lift(B1, H1, small::LOAD, 20), Who::Operator).unwrap();
    shift.submit(&lower(H1, small::CLEAN, 55), Who::Operator).unwrap();
    shift.tick().unwrap();
    assert_eq!(shift.next_wake(), Time::from_secs(65));
    // The window of T1 ends at 55 + 120.
    clock.set(Time::from_secs(120));
    shift.tick().unwrap();
    assert_eq!(shift.next_wake(), Time::from_secs(121));
}

/// Somebody who looks at the shift on this journal.
fn watching(path: &Path) -> (LiveShift, ManualClock) {
    let clock = ManualClock::default();
    let hands_out = clock.clone();
    let make = move |_: &Header, base: Time| -> Box<dyn dwellhand::clock::Clock> {
        clock.set(base);
        Box::new(clock)
    };
    let (shift, notices) = LiveShift::watch(path, texts_as_small, make).unwrap();
    assert_eq!(notices, []);
    (shift, hands_out)
}

#[test]
fn a_watcher_sees_everything_and_writes_nothing() {
    let (_dir, path) = folder();
    let (mut shift, clock) = created(&path);
    let (mut watcher, watch) = watching(&path);
    assert!(watcher.is_watched() && !shift.is_watched());
    assert_eq!(watcher.state(), shift.state());
    assert!(!watcher.calls().is_empty());
    let mut rng = Rng::stream(3, "disturbances");
    for _ in 0..100 {
        let now = shift.now() + Dur(rng.below(40_000) as i64);
        clock.set(now);
        shift.tick().unwrap();
        disturb(&mut shift, &mut rng);
        let bytes = fs::read(&path).unwrap();
        watch.set(now);
        watcher.tick().unwrap();
        assert_eq!(watcher.history().events(), shift.history().events());
        assert_eq!(watcher.state(), shift.state());
        assert!(watcher.next_wake() > watcher.now(), "it would never rest");
        assert_eq!(fs::read(&path).unwrap(), bytes);
    }
    assert!(!shift.state().alarms.is_empty());
}

#[test]
fn a_watcher_is_refused_whatever_it_asks() {
    let (_dir, path) = folder();
    let (shift, _clock) = created(&path);
    drop(shift);
    let bytes = fs::read(&path).unwrap();
    let (mut watcher, watch) = watching(&path);
    // Nobody else looks after the shift: a load should have been lifted long ago.
    watch.set(Time::from_secs(5000));
    watcher.set_hands(Box::new(OnTheDot(small::line())));
    watcher.tick().unwrap();
    let plan = watcher.schedule().clone();
    let asked = [
        lift(B1, H1, small::LOAD, 20),
        undo(watcher.history()),
        Command::Note { text: "hello".to_owned() },
        Command::AdoptPlan { schedule: plan },
        Command::Watch,
    ];
    for command in asked {
        let refused = watcher.submit(&command, Who::Supervisor).unwrap_err();
        assert!(matches!(refused, Problem::OnlyWatched | Problem::Refused(_)), "{command:?}: {refused}");
    }
    assert_eq!(fs::read(&path).unwrap(), bytes);
}

#[cfg(unix)]
#[test]
fn a_watcher_needs_no_leave_to_write_and_cuts_nothing_off() {
    use std::os::unix::fs::PermissionsExt as _;
    let (dir, path) = folder();
    let (mut shift, _clock) = created(&path);
    shift.submit(&Command::Note { text: "last".to_owned() }, Who::Operator).unwrap();
    let events = shift.history().events().to_vec();
    fs::OpenOptions::new().append(true).open(&path).unwrap().write_all(b"{\"seq\":9,\"at\"").unwrap();
    let bytes = fs::read(&path).unwrap();
    fs::set_permissions(&path, fs::Permissions::from_mode(0o400)).unwrap();
    let (mut watcher, _) = watching(&path);
    watcher.tick().unwrap();
    assert_eq!(watcher.history().events(), events);
    assert_eq!(fs::read(&path).unwrap(), bytes);
    assert_eq!(fs::read_dir(dir.path()).unwrap().count(), 1, "no piece is put aside");
    // The next one who writes cuts it off, and the watcher goes on.
    shift.submit(&Command::Note { text: "next".to_owned() }, Who::Operator).unwrap();
    watcher.tick().unwrap();
    assert_eq!(watcher.history().events(), shift.history().events());
}

#[test]
fn a_watcher_of_a_shift_that_is_not_open_yet_waits_for_it() {
    let (_dir, path) = folder();
    let (shift, _clock) = created(&path);
    drop(shift);
    let whole = fs::read_to_string(&path).unwrap();
    fs::write(&path, whole.lines().next().unwrap().to_owned() + "\n").unwrap();
    let (mut watcher, _) = watching(&path);
    watcher.tick().unwrap();
    assert!(!watcher.state().is_open());
    let (mut shift, _, _) = reopened(&path);
    shift.tick().unwrap();
    watcher.tick().unwrap();
    assert_eq!(watcher.state(), shift.state());
}

#[test]
fn a_watcher_of_a_practice_goes_by_its_clock() {
    let (_dir, path) = folder();
    let (mut shift, clock) = created(&path);
    let (mut watcher, watch) = watching(&path);
    let note = Command::Note { text: "now".to_owned() };
    // The practice runs faster than the watcher believes ...
    clock.set(Time::from_secs(600));
    shift.submit(&note, Who::Operator).unwrap();
    watch.set(Time::from_secs(30));
    watcher.tick().unwrap();
    assert_eq!(watcher.now(), Time::from_secs(600));
    // ... or has stood still for an hour.
    watch.set(Time::from_secs(3630));
    assert_eq!(watcher.now(), Time::from_secs(4200));
    clock.set(Time::from_secs(610));
    shift.submit(&note, Who::Operator).unwrap();
    watcher.tick().unwrap();
    assert_eq!(watcher.now(), Time::from_secs(610));
}

#[test]
fn times_of_day_are_read_with_the_journals_own_opening() {
    let (_dir, path) = folder();
    let (shift, _clock) = created(&path);
    drop(shift);
    let seen = std::cell::Cell::new(None);
    let read = |header: &Header| {
        seen.set(Some(header.opening));
        texts_as_small(header)
    };
    let make = |_: &Header, _: Time| -> Box<dyn dwellhand::clock::Clock> { Box::new(ManualClock::default()) };
    LiveShift::reopen(&path, Settings::default(), read, make).unwrap();
    assert_eq!(seen.get(), Some(opening()));
}

#[test]
fn the_seq_is_the_journals() {
    let (_dir, path) = folder();
    let (shift, mut clock) = created(&path);
    assert_eq!(shift.state().seq, Seq(stored(&path).len() as u64));
    assert_eq!(clock.now(), Time::ZERO);
}
