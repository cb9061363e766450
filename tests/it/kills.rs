//! Promises about a program or a disk that stops anywhere: nothing confirmed is lost, nothing is there twice.

use std::fs;
use std::fs::TryLockError;
use std::io::{self, Read};
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex};

use dwellhand::civil::Opening;
use dwellhand::clock::{Clock, ManualClock};
use dwellhand::ids::{CarrierId, HoistId, Seq, TankId};
use dwellhand::journal::*;
use dwellhand::line::OrderBook;
use dwellhand::live::{LiveShift, NewShift, Notice, Problem};
use dwellhand::plan::Settings;
use dwellhand::rng::Rng;
use dwellhand::shift::{Command, Event, Place, Refusal, Stamped, Who};
use dwellhand::sim::{Crew, Pace};
use dwellhand::units::Time;

use crate::helpers::{journal_header, this_program, tries};
use crate::small;

/// A disk in memory that loses its power after so many steps: a byte written, a sync, a cut.
#[derive(Debug, Default)]
struct Platter {
    bytes: Vec<u8>,
    synced: usize,
    /// Steps until the power goes.
    power: Option<u64>,
    /// Bytes it has room for.
    room: Option<usize>,
    cut_fails: bool,
    sync_fails: bool,
    aside_fails: bool,
    aside: Vec<Vec<u8>>,
}

#[derive(Debug, Clone, Default)]
struct Sim(Arc<Mutex<Platter>>);

fn dead() -> io::Error {
    io::Error::other("the power is gone")
}

impl Platter {
    fn step(&mut self) -> io::Result<()> {
        match &mut self.power {
            Some(0) => Err(dead()),
            Some(left) => {
                *left -= 1;
                Ok(())
            }
            None => Ok(()),
        }
    }

    fn write(&mut self, bytes: &[u8]) -> io::Result<()> {
        for byte in bytes {
            self.step()?;
            if self.room.is_some_and(|room| self.bytes.len() >= room) {
                return Err(io::Error::from(io::ErrorKind::StorageFull));
            }
            self.bytes.push(*byte);
        }
        Ok(())
    }
}

impl Disk for Sim {
    fn length(&self) -> io::Result<u64> {
        Ok(self.0.lock().unwrap().bytes.len() as u64)
    }
    fn read_from(&mut self, offset: u64) -> io::Result<Box<dyn Read + '_>> {
        let rest = self.0.lock().unwrap().bytes[offset as usize..].to_vec();
        Ok(Box::new(io::Cursor::new(rest)))
    }
    fn append(&mut self, bytes: &[u8]) -> io::Result<()> {
        self.0.lock().unwrap().write(bytes)
    }
    fn sync(&mut self) -> io::Result<()> {
        let mut disk = self.0.lock().unwrap();
        disk.step()?;
        if disk.sync_fails {
            return Err(io::Error::other("input/output error"));
        }
        disk.synced = disk.bytes.len();
        Ok(())
    }
    fn cut(&mut self, length: u64) -> io::Result<()> {
        let mut disk = self.0.lock().unwrap();
        disk.step()?;
        if disk.cut_fails {
            return Err(io::Error::other("input/output error"));
        }
        disk.bytes.truncate(length as usize);
        disk.synced = disk.bytes.len();
        Ok(())
    }
    fn keep_aside(&mut self, _: &str, from: u64) -> io::Result<PathBuf> {
        let mut disk = self.0.lock().unwrap();
        disk.step()?;
        if disk.aside_fails {
            return Err(io::Error::from(io::ErrorKind::PermissionDenied));
        }
        let kept = disk.bytes[from as usize..].to_vec();
        disk.aside.push(kept);
        Ok(PathBuf::from("aside"))
    }
    fn try_lock(&mut self, _: bool) -> Result<(), TryLockError> {
        Ok(())
    }
    fn unlock(&mut self) {}
}

fn stamped(seq: u64, event: Event) -> Stamped {
    Stamped { seq: Seq(seq), at: Time(0), entered: Time(0), by: Who::Operator, event }
}

fn noted(seq: u64, text: &str) -> Stamped {
    stamped(seq, Event::Noted { text: text.to_owned() })
}

/// A disk with a journal that is open and holds one event.
fn formatted() -> Sim {
    let sim = Sim::default();
    let first = opening(Path::new("sim"), &journal_header(true)).unwrap();
    sim.0.lock().unwrap().bytes = first.into_bytes();
    let (mut journal, _) = reopened(&sim).unwrap();
    let opened = stamped(1, Event::Opened { book: small::book() });
    journal.append(&small::line(), &OrderBook::default(), &[opened], Synced::Now).unwrap();
    sim
}

fn reopened(sim: &Sim) -> Result<(Journal, Vec<Stamped>), Error> {
    let (mut journal, _) = Journal::on(Box::new(sim.clone()), Path::new("sim"), false)?;
    let records = journal.catch_up(&small::line(), &OrderBook::default())?;
    Ok((journal, records.into_iter().map(|r| r.stamped).collect()))
}

/// What the disk holds once the power is back: what was synced, and any part of what was not.
fn power_back(sim: &Sim, rng: &mut Rng, cut_power: bool) {
    let mut disk = sim.0.lock().unwrap();
    disk.power = None;
    if !cut_power {
        return;
    }
    let kept = disk.synced + rng.below(disk.bytes.len() - disk.synced + 1);
    disk.bytes.truncate(kept);
    // Some file systems give a file its new length before its bytes.
    if rng.chance(0.2) {
        let zeros = rng.below(40);
        disk.bytes.extend(std::iter::repeat_n(0, zeros));
    }
}

/// Appends until the power goes, and again, so many times. Says how many records were torn.
fn killed(times: u64, seed: u64) -> usize {
    let mut rng = Rng::stream(seed, "kills");
    let mut sim = formatted();
    let mut confirmed = reopened(&sim).unwrap().1;
    let mut torn = 0;
    for kill in 0..times {
        if confirmed.len() > 60 {
            sim = formatted();
            confirmed = reopened(&sim).unwrap().1;
        }
        let (mut journal, _) = reopened(&sim).unwrap();
        // What is only asked for: it may be there afterwards or not, but not in part and not twice.
        let mut asked: Vec<Stamped> = Vec::new();
        sim.0.lock().unwrap().power = Some(rng.below(1500) as u64);
        loop {
            let next = journal.seen().0 + 1;
            let batch: Vec<Stamped> = (0..=rng.below(3) as u64)
                .map(|k| noted(next + k, &format!("{kill} {}", "x".repeat(rng.below(120)))))
                .collect();
            let synced = if rng.chance(0.3) { Synced::Later } else { Synced::Now };
            let done = journal.append(&small::line(), &small::book(), &batch, synced);
            asked.extend(batch);
            match done {
                Ok(Appended::Stored) if synced == Synced::Now => confirmed.append(&mut asked),
                Ok(Appended::Stored) => {}
                Ok(Appended::Behind(_)) => panic!("nobody else writes"),
                Err(_) => break,
            }
        }
        drop(journal);
        power_back(&sim, &mut rng, kill % 2 == 0);
        let (mut journal, there) = reopened(&sim).unwrap_or_else(|e| panic!("kill {kill}: {e}"));
        torn += journal.take_torn().len();
        assert_eq!(there[..confirmed.len()], confirmed[..], "kill {kill}: a confirmed event is lost");
        let more = &there[confirmed.len()..];
        assert_eq!(more, &asked[..more.len()], "kill {kill}: something that was never asked for");
        let numbers: Vec<u64> = there.iter().map(|s| s.seq.0).collect();
        assert_eq!(numbers, (1..=there.len() as u64).collect::<Vec<_>>(), "kill {kill}");
        confirmed = there;
    }
    torn
}

#[test]
fn nothing_confirmed_is_lost_to_a_kill_anywhere() {
    let torn = killed(tries("DWELLHAND_KILLS", 2000), 1);
    assert!(torn > 0, "no kill fell inside a write");
}

/// `DWELLHAND_KILLS=10000 cargo test --test it kills::many -- --ignored --nocapture`
#[test]
#[ignore = "takes a while; the normal suite does fewer"]
fn many_kills_lose_nothing() {
    let times = tries("DWELLHAND_KILLS", 10_000);
    let torn = killed(times, 2);
    println!("{times} kills, {torn} of them inside a write: no confirmed event lost, none twice");
}

/// Everything that stands between two records is tried once.
#[test]
fn a_power_cut_at_every_byte_of_an_append_leaves_all_or_a_beginning() {
    let batch = || [noted(2, "one"), noted(3, "two"), noted(4, "three")];
    let whole = {
        let sim = formatted();
        let before = sim.length().unwrap();
        let (mut journal, _) = reopened(&sim).unwrap();
        journal.append(&small::line(), &small::book(), &batch(), Synced::Now).unwrap();
        sim.length().unwrap() - before
    };
    for step in 0..=whole + 1 {
        let sim = formatted();
        let (mut journal, _) = reopened(&sim).unwrap();
        sim.0.lock().unwrap().power = Some(step);
        let done = journal.append(&small::line(), &small::book(), &batch(), Synced::Now);
        assert_eq!(done.is_ok(), step > whole, "step {step}");
        sim.0.lock().unwrap().power = None;
        let (mut journal, there) = reopened(&sim).unwrap();
        let left = there.len() as u64;
        assert_eq!(there[1..], batch()[..there.len() - 1], "step {step}");
        assert!(done.is_err() || left == 4, "step {step}: confirmed and gone");
        journal.append(&small::line(), &small::book(), &[noted(left + 1, "on")], Synced::Now).unwrap();
        assert_eq!(reopened(&sim).unwrap().1.len() as u64, left + 1);
    }
}

#[test]
fn a_disk_that_is_full_anywhere_in_an_append_leaves_nothing_of_it() {
    for more in 0..400 {
        let sim = formatted();
        let (mut journal, before) = reopened(&sim).unwrap();
        let was = sim.0.lock().unwrap().bytes.clone();
        sim.0.lock().unwrap().room = Some(was.len() + more);
        let batch = [noted(2, "one"), noted(3, &"two".repeat(50))];
        let e = journal.append(&small::line(), &small::book(), &batch, Synced::Now).unwrap_err();
        assert!(e.to_string().starts_with("cannot append to the journal sim: "), "{e}");
        assert_eq!(sim.0.lock().unwrap().bytes, was, "{more}");
        assert_eq!(reopened(&sim).unwrap().1, before);
        sim.0.lock().unwrap().room = None;
        assert_eq!(
            journal.append(&small::line(), &small::book(), &batch, Synced::Now).unwrap(),
            Appended::Stored
        );
        assert_eq!(reopened(&sim).unwrap().1.len(), 3);
    }
}

/// The author was told that it failed, and then it is there after all: whoever asks next is told first.
#[test]
fn a_disk_that_neither_stores_nor_forgets_doubles_nothing() {
    let sim = formatted();
    let (mut journal, _) = reopened(&sim).unwrap();
    (sim.0.lock().unwrap().sync_fails, sim.0.lock().unwrap().cut_fails) = (true, true);
    journal.append(&small::line(), &small::book(), &[noted(2, "one")], Synced::Now).unwrap_err();
    (sim.0.lock().unwrap().sync_fails, sim.0.lock().unwrap().cut_fails) = (false, false);
    let again = journal.append(&small::line(), &small::book(), &[noted(2, "one")], Synced::Now).unwrap();
    let Appended::Behind(there) = again else { panic!("it would be there twice") };
    assert_eq!(there.len(), 1);
    assert_eq!(reopened(&sim).unwrap().1.len(), 2);
}

#[test]
fn a_torn_record_stays_where_nothing_can_be_put_beside_it() {
    let sim = formatted();
    sim.0.lock().unwrap().bytes.extend_from_slice(b"{\"seq\":2,");
    sim.0.lock().unwrap().aside_fails = true;
    let was = sim.0.lock().unwrap().bytes.clone();
    let e = reopened(&sim).unwrap_err();
    assert!(e.to_string().starts_with("cannot keep the torn record beside sim: permission denied"), "{e}");
    assert_eq!(sim.0.lock().unwrap().bytes, was);
    sim.0.lock().unwrap().aside_fails = false;
    assert_eq!(reopened(&sim).unwrap().1.len(), 1);
    assert_eq!(sim.0.lock().unwrap().aside, [b"{\"seq\":2,".to_vec()]);
}

const B1: CarrierId = CarrierId(0);
const H1: HoistId = HoistId(0);

fn new_shift() -> NewShift {
    NewShift {
        texts: StoredTexts::default(),
        opening: Opening::parse("2026-11-25T06:00:00+01:00").unwrap(),
        zone: "+01:00".to_owned(),
        book: small::book(),
        settings: Settings::default(),
        practice: true,
        speed: 1.0,
    }
}

fn folder() -> (tempfile::TempDir, PathBuf) {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("shift.jsonl");
    (dir, path)
}

fn live(path: &Path) -> (LiveShift, ManualClock) {
    let clock = ManualClock::default();
    let shift = LiveShift::create(path, small::line(), new_shift(), Box::new(clock.clone())).unwrap();
    (shift, clock)
}

fn live_again(path: &Path) -> Result<(LiveShift, ManualClock, Vec<Notice>), Problem> {
    let clock = ManualClock::default();
    let hands_out = clock.clone();
    let make = move |_: &Header, base: Time| -> Box<dyn Clock> {
        clock.set(base);
        Box::new(clock)
    };
    let read = |_: &Header| Ok(((*small::line()).clone(), small::book()));
    let (shift, notices) = LiveShift::reopen(path, Settings::default(), read, make)?;
    Ok((shift, hands_out, notices))
}

fn stored(path: &Path) -> Vec<Stamped> {
    let mut reader = Reader::open(path).unwrap();
    read(&mut reader, &small::line()).unwrap().0.into_iter().map(|r| r.stamped).collect()
}

/// What is called next: carrier, from, to.
type Called = Option<(CarrierId, TankId, TankId)>;

fn called(shift: &LiveShift) -> Called {
    shift.schedule().moves.first().map(|m| (m.carrier, m.from, m.to))
}

/// A whole practice of the small line by a crew, and what was called once each event had been answered.
fn practised(path: &Path) -> Vec<(Seq, Called)> {
    let (mut shift, clock) = live(path);
    shift.set_hands(Box::new(Crew::new(Pace::PUNCTUAL, 3)));
    let mut calls = vec![(shift.state().seq, called(&shift))];
    let end = Time::from_secs(3600);
    loop {
        let wake = shift.next_wake().max(shift.now() + dwellhand::units::Dur(1));
        if wake > end {
            return calls;
        }
        clock.set(wake);
        shift.tick().unwrap();
        calls.push((shift.state().seq, called(&shift)));
    }
}

fn cut_shifts_come_back(times: u64) {
    let (_dir, path) = folder();
    let calls = practised(&path);
    let whole = fs::read(&path).unwrap();
    let first = whole.iter().position(|b| *b == b'\n').unwrap() + 1;
    let second = first + whole[first..].iter().position(|b| *b == b'\n').unwrap() + 1;
    let all = stored(&path);
    let mut rng = Rng::stream(5, "cuts");
    for _ in 0..times {
        let at = second + rng.below(whole.len() - second + 1);
        let (_dir, cut) = folder();
        fs::write(&cut, &whole[..at]).unwrap();
        let (shift, _, _) = live_again(&cut).unwrap();
        let there = String::from_utf8_lossy(&whole[..at]).matches('\n').count() - 1;
        assert_eq!(shift.history().events()[..there], all[..there], "cut at {at}");
        // Between an event and the plan after it nothing was called; the same plan is made again.
        let then = calls.iter().find(|(seq, _)| seq.0 >= there as u64).unwrap();
        let same = called(&shift) == then.1
            || calls.iter().any(|(s, c)| s.0 == there as u64 && *c == called(&shift));
        assert!(same, "cut at {at}, event {there}: {:?} instead of {:?}", called(&shift), then.1);
    }
}

#[test]
fn a_shift_cut_anywhere_comes_back_to_its_call() {
    cut_shifts_come_back(60);
}

/// `DWELLHAND_KILLS=10000 cargo test --test it kills::every_call -- --ignored`
#[test]
#[ignore = "takes a while; the normal suite does fewer"]
fn every_call_comes_back_after_many_cuts() {
    cut_shifts_come_back(tries("DWELLHAND_KILLS", 10_000));
}

#[test]
fn what_is_said_again_after_a_kill_is_there_once() {
    let (_dir, path) = folder();
    let (mut shift, clock) = live(&path);
    clock.set(Time::from_secs(60));
    let lift = Command::Lift { carrier: B1, hoist: H1, from: small::LOAD, at: Time::from_secs(20) };
    let before = fs::metadata(&path).unwrap().len() as usize;
    shift.submit(&lift, Who::Operator).unwrap();
    let whole = fs::read(&path).unwrap();
    let end = before + whole[before..].iter().position(|b| *b == b'\n').unwrap() + 1;
    for at in before..=end {
        let (_dir, cut) = folder();
        fs::write(&cut, &whole[..at]).unwrap();
        let (mut again, clock, _) = live_again(&cut).unwrap();
        clock.set(Time::from_secs(70));
        let done = again.submit(&lift, Who::Operator);
        let lifts = |s: &&Stamped| matches!(s.event, Event::Lifted { .. });
        assert_eq!(stored(&cut).iter().filter(lifts).count(), 1, "cut at {at}");
        assert_eq!(matches!(done, Err(Problem::Refused(Refusal::NotThere { .. }))), at == end, "{done:?}");
        assert!(matches!(again.state().carriers[B1].place, Place::OnHook { .. }));
    }
}

#[cfg(unix)]
#[test]
fn a_journal_that_is_removed_under_a_shift_is_put_back_whole() {
    use std::os::unix::fs::PermissionsExt as _;
    let (_dir, path) = folder();
    let (mut shift, clock) = live(&path);
    let (mut other, _, _) = live_again(&path).unwrap();
    for round in 0..4 {
        fs::remove_file(&path).unwrap();
        clock.set(Time::from_secs(60 + round));
        if round % 2 == 0 {
            // The look once a second is enough.
            shift.tick().unwrap();
            assert!(path.exists());
        }
        shift.submit(&Command::Note { text: format!("a {round}") }, Who::Operator).unwrap();
        assert_eq!(shift.take_notices(), [Notice::PutBack]);
        other.submit(&Command::Note { text: format!("b {round}") }, Who::Operator).unwrap();
        shift.tail().unwrap();
        assert_eq!(stored(&path), shift.history().events());
        assert_eq!(stored(&path), other.history().events());
    }
    let notes = stored(&path).iter().filter(|s| matches!(s.event, Event::Noted { .. })).count();
    assert_eq!(notes, 8);
    assert_eq!(fs::read_dir(path.parent().unwrap()).unwrap().count(), 1, "nothing is left beside it");
    assert_eq!(fs::metadata(&path).unwrap().permissions().mode() & 0o777, 0o600);
}

#[cfg(unix)]
#[test]
fn another_file_in_the_journals_place_is_not_written_to() {
    let (_dir, path) = folder();
    let (mut shift, _clock) = live(&path);
    let mine = fs::read(&path).unwrap();
    fs::remove_file(&path).unwrap();
    fs::write(&path, "groceries\n").unwrap();
    let before = shift.history().events().to_vec();
    let e = shift.submit(&Command::Note { text: "hello".to_owned() }, Who::Operator).unwrap_err();
    assert!(e.to_string().starts_with("another file lies at"), "{e}");
    assert_eq!(fs::read_to_string(&path).unwrap(), "groceries\n");
    assert_eq!(shift.history().events(), before);
    // Put back by hand, also as a copy, it goes on.
    fs::write(&path, &mine).unwrap();
    shift.submit(&Command::Note { text: "hello".to_owned() }, Who::Operator).unwrap();
    assert_eq!(stored(&path), shift.history().events());
}

#[test]
fn a_slow_disk_is_waited_for() {
    let (_dir, path) = folder();
    let (mut shift, _clock) = live(&path);
    let slow = fs::File::open(&path).unwrap();
    slow.lock().unwrap();
    let let_go = std::thread::spawn(move || {
        std::thread::sleep(std::time::Duration::from_millis(400));
        slow.unlock().unwrap();
    });
    shift.submit(&Command::Note { text: "late".to_owned() }, Who::Operator).unwrap();
    let_go.join().unwrap();
    assert_eq!(stored(&path), shift.history().events());
}

/// The child of the next tests: confirms notes of all lengths until it is killed.
#[test]
#[ignore = "run by another test as a process of its own"]
fn child_that_confirms_until_it_is_killed() {
    use std::io::Write as _;
    let path = PathBuf::from(std::env::var_os("DWELLHAND_TEST_JOURNAL").unwrap());
    let (mut shift, _, _) = live_again(&path).unwrap();
    let mut out = std::io::stdout();
    loop {
        let length = shift.state().seq.0 as usize * 37 % 4000;
        shift.submit(&Command::Note { text: "x".repeat(length) }, Who::Operator).unwrap();
        let said = format!("stored {}\n", shift.state().seq.0);
        out.write_all(said.as_bytes()).and_then(|()| out.flush()).unwrap();
    }
}

/// Kills so many processes at any moment of their work; says how many events all of them confirmed.
fn kill_processes(times: u64) -> u64 {
    use std::io::{BufRead as _, BufReader};
    use std::process::{Command, Stdio};
    let mut rng = Rng::stream(8, "processes");
    let (_dir, mut path) = folder();
    drop(live(&path));
    let mut before = stored(&path);
    let mut confirmed = 0;
    for round in 0..times {
        if round % 20 == 19 {
            path.set_extension(format!("{round}.jsonl"));
            drop(live(&path));
            before = stored(&path);
        }
        let mut child = Command::new(this_program())
            .args(["--exact", "kills::child_that_confirms_until_it_is_killed", "--ignored", "--nocapture"])
            .env("DWELLHAND_TEST_JOURNAL", &path)
            .stdout(Stdio::piped())
            .spawn()
            .unwrap();
        // After so many confirmations, and then at any moment of the next.
        let mut said = BufReader::new(child.stdout.take().unwrap());
        let mut last = 0;
        let mut heard = |last: &mut u64| {
            let mut text = String::new();
            let some = said.read_line(&mut text).unwrap() > 0;
            if let Some(n) = text.rsplit_once("stored ").and_then(|(_, n)| n.trim().parse().ok()) {
                *last = n;
            }
            some
        };
        while last == 0 && heard(&mut last) {}
        for _ in 0..rng.below(6) {
            heard(&mut last);
        }
        for _ in 0..rng.below(20_000) {
            std::hint::spin_loop();
        }
        child.kill().unwrap();
        while heard(&mut last) {}
        child.wait().unwrap();
        assert!(last > 0, "round {round}: it confirmed nothing");
        let (shift, _, _) = live_again(&path).unwrap();
        let there = shift.history().events().to_vec();
        assert!(
            there.len() as u64 >= last,
            "round {round}: {last} were confirmed, {} are there",
            there.len()
        );
        assert_eq!(there[..before.len()], before[..], "round {round}");
        confirmed += last - before.len() as u64;
        before = there;
    }
    confirmed
}

#[test]
fn processes_killed_at_any_moment_lose_nothing() {
    assert!(kill_processes(5) >= 5);
}

/// `DWELLHAND_KILLS=300 cargo test --test it kills::many_processes -- --ignored --nocapture`
#[test]
#[ignore = "takes a while; the normal suite does fewer"]
fn many_processes_killed_lose_nothing() {
    let times = tries("DWELLHAND_KILLS", 300);
    println!("{times} processes killed, {} events confirmed, none lost", kill_processes(times));
}

/// The child of the next test: takes the lock and never lets go.
#[test]
#[ignore = "run by another test as a process of its own"]
fn child_that_holds_the_lock() {
    use std::io::Write as _;
    let path = PathBuf::from(std::env::var_os("DWELLHAND_TEST_JOURNAL").unwrap());
    let file = fs::File::open(&path).unwrap();
    file.lock().unwrap();
    let mut out = std::io::stdout();
    out.write_all(b"\nlocked\n").and_then(|()| out.flush()).unwrap();
    loop {
        std::thread::park();
    }
}

#[test]
fn the_lock_of_a_dead_terminal_blocks_nobody() {
    use std::io::{BufRead as _, BufReader};
    use std::process::{Command, Stdio};
    let (_dir, path) = folder();
    let (mut shift, _clock) = live(&path);
    let mut child = Command::new(this_program())
        .args(["--exact", "kills::child_that_holds_the_lock", "--ignored", "--nocapture"])
        .env("DWELLHAND_TEST_JOURNAL", &path)
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    let said =
        BufReader::new(child.stdout.take().unwrap()).lines().map_while(Result::ok).any(|l| l == "locked");
    assert!(said);
    let note = self::Command::Note { text: "on".to_owned() };
    let e = shift.submit(&note, Who::Operator).unwrap_err();
    assert!(e.to_string().contains("is locked by another program"), "{e}");
    child.kill().unwrap();
    child.wait().unwrap();
    shift.submit(&note, Who::Operator).unwrap();
    assert_eq!(stored(&path), shift.history().events());
}
