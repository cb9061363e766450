//! Promises of `verify JOURNAL`: true shifts pass, what cannot have been is said with its line.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Output;

use assert_cmd::Command as Program;
use dwellhand::ids::{CarrierId, OrderId, Seq, TankId};
use dwellhand::journal::Digest;
use dwellhand::line::{CarrierSpec, Order, Visit};
use dwellhand::shift::ledger::{Count, Entry};
use dwellhand::shift::*;
use dwellhand::units::{Dur, Time};
use dwellhand::verify::history::{Law, possible};

use crate::helpers::{
    A, ANODISE, B, ETCH, H1, LOAD, RINSE, UNLOAD, book, lift, lower, opened, plant, say, step_no, t,
};

/// A goes through the plant as [`crate::helpers::good_plan`] says, by hand.
fn good() -> History {
    let line = plant();
    let mut history = opened(&line, book(2));
    for (command, at) in [
        (lift(A, H1, LOAD, t(2)), 2),
        (lower(H1, ETCH, t(15)), 15),
        (lift(A, H1, ETCH, t(77)), 77),
        (lower(H1, RINSE, t(100)), 100),
        (lift(A, H1, RINSE, t(132)), 132),
        (lower(H1, ANODISE, t(145)), 145),
        (lift(B, H1, LOAD, t(162)), 162),
        (lower(H1, ETCH, t(175)), 175),
        (lift(A, H1, ANODISE, t(452)), 452),
        (lower(H1, UNLOAD, t(471)), 471),
    ] {
        say(&line, &mut history, t(at), &command).unwrap();
    }
    history
}

/// The laws that the good story breaks once it is changed; each with the events it names.
fn broken(change: impl FnOnce(&mut Vec<Stamped>)) -> Vec<(Law, u64)> {
    let line = plant();
    let mut events = good().events().to_vec();
    change(&mut events);
    for (n, s) in (1..).zip(&mut events) {
        s.seq = Seq(n);
    }
    let history = History::of(&line, events);
    let mut laws: Vec<_> =
        possible(&line, history.events(), history.state()).iter().map(|f| (f.law, f.seq.0)).collect();
    laws.sort_unstable();
    laws.dedup();
    laws
}

/// An order that was added or split off by mistake and taken back is no contradiction, and what is said of the next one is
/// not laid at its door.
#[test]
fn orders_that_were_taken_back_leave_only_their_numbers() {
    let line = plant();
    let mut history = opened(&line, book(3));
    let state = history.state().clone();
    let order = Order { name: "O2".to_owned(), ..state.book.orders[OrderId(0)].clone() };
    let carrier = CarrierSpec { name: "N".to_owned(), ..state.book.carriers[A].clone() };
    let split = |name: &str| Change::Split { order: OrderId(0), carriers: vec![B], name: name.to_owned() };
    let slips = [Change::AddOrder { order: Box::new(order), carriers: vec![carrier] }, split("S1")];
    let mut at = 10;
    let mut says = |history: &mut History, command: &Command| {
        at += 1;
        say(&line, history, t(at), command).unwrap();
    };
    let change = |change| Command::Change { change, why: String::new() };
    for slip in slips {
        says(&mut history, &change(slip));
        let seq = history.state().seq;
        says(&mut history, &Command::TakeBack { seq });
    }
    says(&mut history, &change(split("S2")));
    says(&mut history, &change(Change::CancelOrder { order: OrderId(3) }));
    assert_eq!(history.state().carriers[B].place, Place::OffLine);
    assert_eq!(possible(&line, history.events(), history.state()), []);
}

fn event(at: i64, event: Event) -> Stamped {
    Stamped { seq: Seq(0), at: t(at), entered: t(at), by: Who::Operator, event }
}

#[test]
fn a_true_story_breaks_no_law() {
    assert_eq!(broken(|_| ()), []);
}

#[test]
fn a_carrier_cannot_be_in_two_places() {
    // It is lifted where it is not.
    assert_eq!(
        broken(|e| e[3].event = Event::Lifted { carrier: A, hoist: H1, from: RINSE }),
        [(Law::Place, 4)]
    );
    // It is lifted while it hangs.
    let again = event(80, Event::Lifted { carrier: A, hoist: H1, from: ETCH });
    assert_eq!(broken(|e| e.insert(4, again)), [(Law::Place, 5)]);
    // A lift that was never said.
    let gone = broken(|e| drop(e.remove(3)));
    assert!(gone.contains(&(Law::Hook, 4)), "{gone:?}");
}

#[test]
fn a_tank_has_room_for_one() {
    let into =
        |tank: TankId| Event::Lowered { carrier: B, hoist: H1, to: tank, visit: step_no(2), release: true };
    let found = broken(|e| e[8].event = into(ANODISE));
    assert_eq!(found, [(Law::Tank, 9)]);
    let claim = Claim::InTank { tank: ANODISE, since: t(150), visit: step_no(2) };
    let found = broken(|e| e.insert(7, event(150, Event::CarrierCorrected { carrier: B, claim })));
    assert!(found.contains(&(Law::Tank, 8)), "{found:?}");
}

#[test]
fn a_hook_carries_one_load() {
    let other = event(78, Event::Lifted { carrier: B, hoist: H1, from: LOAD });
    let found = broken(|e| e.insert(4, other));
    assert!(found.contains(&(Law::Hook, 5)), "{found:?}");
    let not_it = Event::Lowered { carrier: B, hoist: H1, to: RINSE, visit: step_no(1), release: true };
    let found = broken(|e| e[4].event = not_it);
    assert!(found.contains(&(Law::Hook, 5)), "{found:?}");
}

/// The plant is small: 12 m at 1 m/s. A tank far away shows it.
#[test]
fn a_crane_cannot_be_there_before_it_can() {
    let line = plant();
    let mut far = line.clone();
    far.tanks[ANODISE].position = dwellhand::units::Mm(38_000);
    far.rail.to = dwellhand::units::Mm(40_000);
    let history = good();
    let faults = possible(&far, history.events(), history.state());
    let seen: Vec<_> = faults.iter().map(|f| (f.law, f.seq.0)).collect();
    // Rinse to anodise in 13 s, back to load in 17 s, away from it in 19 s: 34, 38 and 26 m and two strokes.
    assert_eq!(seen, [(Law::Motion, 7), (Law::Motion, 8), (Law::Motion, 11)]);
    assert!(faults[0].text.contains("for what takes"), "{}", faults[0].text);
}

#[test]
fn nothing_is_said_before_it_happened() {
    assert_eq!(broken(|e| e[2].at = t(600)).first(), Some(&(Law::Time, 3)));
    let retimed = event(480, Event::Retimed { seq: Seq(11), at: t(900) });
    assert!(broken(|e| e.push(retimed)).contains(&(Law::Time, 12)));
}

#[test]
fn what_was_taken_back_does_not_count_and_is_taken_back_once() {
    let undo = |of: u64| event(480, Event::Undone { seq: Seq(of) });
    assert_eq!(broken(|e| e.push(undo(11))), []);
    assert_eq!(broken(|e| e.extend([undo(11), undo(11)])), [(Law::Undo, 12)]);
    // Taken back in the middle, what follows hangs in the air.
    assert!(broken(|e| e.push(undo(4))).iter().any(|(law, _)| *law == Law::Hook));
}

#[test]
fn parts_are_counted_once_they_are_off() {
    let count = Count { good: 10, rework: 0, scrap: 0 };
    let out = |carrier: CarrierId| event(480, Event::Entered { entry: Entry::Unracked { carrier, count } });
    assert_eq!(broken(|e| e.push(out(A))), []);
    assert_eq!(broken(|e| e.push(out(B))), [(Law::Counts, 12)]);
    let racked = |parts| event(490, Event::Entered { entry: Entry::Racked { carrier: A, parts } });
    assert_eq!(broken(|e| e.extend([out(A), racked(12)])), []);
    assert_eq!(broken(|e| e.extend([out(A), racked(4)])), [(Law::Counts, 13)]);
}

#[test]
fn a_state_that_is_not_what_the_events_come_to_is_said() {
    let line = plant();
    let history = good();
    let mut state = history.state().clone();
    state.carriers[A].place = Place::Queued;
    state.hoists[H1].carrier = Some(B);
    let faults = possible(&line, history.events(), &state);
    assert_eq!(faults.iter().map(|f| f.law).collect::<Vec<_>>(), [Law::Fold, Law::Fold]);
    assert!(faults[0].text.contains("A is waiting to start by the program's state, finished at U"));
}

fn program(args: &[&str]) -> Output {
    Program::new(env!("CARGO_BIN_EXE_dwellhand")).args(args).env("TZ", "UTC").output().unwrap()
}

fn said(out: &Output) -> String {
    String::from_utf8_lossy(&out.stdout).into_owned()
}

/// The journal of a simulated shift.
fn simulated(dir: &Path) -> PathBuf {
    let path = dir.join("shift.jsonl");
    let name = path.to_str().unwrap();
    let args =
        ["simulate", "--hours", "1.5", "--seed", "4", "--budget", "0", "--trouble", "rough", "--out", name];
    let done = program(&args);
    assert!(path.exists(), "{done:?}");
    path
}

/// Writes a journal with other lines, the chain mended as somebody would who knows how.
fn forged(path: &Path, change: impl Fn(usize, &mut serde_json::Value)) {
    let text = fs::read_to_string(path).unwrap();
    let mut lines = text.lines().map(str::to_owned);
    let mut all = vec![lines.next().unwrap()];
    for (n, line) in lines.enumerate() {
        let mut line: serde_json::Value = serde_json::from_str(&line).unwrap();
        change(n + 2, &mut line);
        line["prev"] = Digest::of(all[all.len() - 1].as_bytes()).to_string().into();
        all.push(line.to_string());
    }
    fs::write(path, all.join("\n") + "\n").unwrap();
}

#[test]
fn a_journal_is_verified_from_the_command_line() {
    let dir = tempfile::tempdir().unwrap();
    let path = simulated(dir.path());
    let name = path.to_str().unwrap();
    let good = program(&["verify", name]);
    assert_eq!(good.status.code(), Some(0), "{}", said(&good));
    assert!(said(&good).contains("the chain holds and all of it can have been"), "{}", said(&good));
    let hash = said(&good)
        .lines()
        .find_map(|l| Some(l.strip_prefix("hash of the last line: ")?.to_owned()))
        .unwrap();
    assert_eq!(program(&["verify", name, "--expect", &hash[..12]]).status.code(), Some(0));
    let json: serde_json::Value =
        serde_json::from_slice(&program(&["verify", name, "--json"]).stdout).unwrap();
    assert_eq!((json["hash"].as_str(), json["breaches"].as_array().unwrap().len()), (Some(hash.as_str()), 0));

    // A line changed by hand shows by the chain, at its own line and the next.
    let text = fs::read_to_string(&path).unwrap();
    let victim = text.lines().position(|l| l.contains("\"event\":\"lowered\"")).unwrap() + 1;
    let line = text.lines().nth(victim - 1).unwrap();
    fs::write(&path, text.replacen(line, &line.replace("\"release\":true", "\"release\":false"), 1)).unwrap();
    let bad = program(&["verify", name]);
    assert_eq!(bad.status.code(), Some(1));
    assert!(said(&bad).contains(&format!("{name}:{}: chain: the hash", victim + 1)), "{}", said(&bad));

    // Changed with all hashes after it, it shows by what cannot have been, and by the hash that was noted.
    fs::write(&path, &text).unwrap();
    forged(&path, |n, line| {
        if n == victim {
            line["at"] = (line["at"].as_i64().unwrap() + 3_600_000).into();
        }
    });
    let bad = program(&["verify", name, "--json"]);
    assert_eq!(bad.status.code(), Some(1));
    let json: serde_json::Value = serde_json::from_slice(&bad.stdout).unwrap();
    let laws: Vec<_> = json["breaches"]
        .as_array()
        .unwrap()
        .iter()
        .map(|b| (b["law"].as_str().unwrap(), b["line"].as_u64()))
        .collect();
    assert!(laws.contains(&("time", Some(victim as u64))), "{json}");
    forged(&path, |n, line| {
        if n == victim {
            line["at"] = (line["at"].as_i64().unwrap() - 3_600_000 + 400).into();
        }
    });
    assert_eq!(program(&["verify", name]).status.code(), Some(0), "a small lie cannot be seen from inside");
    assert_eq!(program(&["verify", name, "--expect", &hash]).status.code(), Some(1), "but by the hash");
}

#[test]
fn a_damaged_journal_is_mended_and_nothing_is_thrown_away() {
    let dir = tempfile::tempdir().unwrap();
    let path = simulated(dir.path());
    let name = path.to_str().unwrap();
    let fine = program(&["mend", name]);
    assert!(fine.status.success() && said(&fine).contains("nothing to mend"), "{fine:?}");

    let text = fs::read_to_string(&path).unwrap();
    let lines: Vec<&str> = text.lines().collect();
    let mut damaged: Vec<String> = lines.iter().map(|l| (*l).to_owned()).collect();
    damaged[40].truncate(30);
    let damaged = damaged.join("\n") + "\n";
    fs::write(&path, &damaged).unwrap();
    let refused = program(&["enter", name, "note", "hello"]);
    let complaint = String::from_utf8_lossy(&refused.stderr).into_owned();
    assert_eq!(refused.status.code(), Some(2));
    assert!(
        complaint.contains(&format!("{name}:41: EOF")) && complaint.contains("dwellhand mend"),
        "{complaint}"
    );
    assert_eq!(fs::read_to_string(&path).unwrap(), damaged, "nothing was changed");

    let mended = program(&["mend", name]);
    assert_eq!(mended.status.code(), Some(0), "{mended:?}");
    assert!(said(&mended).contains(&format!("{} after them", lines.len() - 40)), "{}", said(&mended));
    let kept = dir.path().join("shift.jsonl.damaged-1");
    assert_eq!(fs::read_to_string(&kept).unwrap(), damaged);
    let now = fs::read_to_string(&path).unwrap();
    assert!(now.starts_with(&(lines[..40].join("\n") + "\n")), "the good part stands as it was");
    assert!(now.contains("shift.jsonl.damaged-1"), "and says what is missing");
    assert_eq!(program(&["verify", name]).status.code(), Some(0));
    assert!(program(&["enter", name, "note", "hello"]).status.success());

    // Of a line and a hash that do not fit neither is believed.
    fs::write(&path, text.replacen(lines[20], &lines[20].replace("\"at\":", "\"at\":1"), 1)).unwrap();
    assert!(program(&["mend", name]).status.success());
    let now = fs::read_to_string(&path).unwrap();
    assert!(now.starts_with(&(lines[..20].join("\n") + "\n")) && !now.contains("\"at\":1\"at\""));
    assert!(dir.path().join("shift.jsonl.damaged-2").exists());
    // An opening that was changed cannot be mended; it stays as it is.
    let opening = text.replacen("demo-data/orders.json", "demo-data/others.json", 1);
    fs::write(&path, &opening).unwrap();
    assert_eq!(program(&["mend", name]).status.code(), Some(2));
    assert_eq!(fs::read_to_string(&path).unwrap(), opening);
}

#[test]
fn visits_of_this_test_are_those_of_the_plant() {
    let history = good();
    assert!(matches!(history.state().carriers[A].place, Place::Finished { .. }));
    let etched = history.state().carriers[A].stays[0];
    assert_eq!(
        (etched.visit, etched.to - etched.from),
        (Visit::Step(dwellhand::ids::StepNo(0)), Dur::from_secs(62))
    );
    assert!(Time::ZERO < etched.from);
}
