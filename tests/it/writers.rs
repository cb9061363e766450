//! Promises to several writers of one shift: none is lost, all are in order, who is late is told what happened.

use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use dwellhand::ids::Seq;
use dwellhand::journal::*;
use dwellhand::line::OrderBook;
use dwellhand::shift::{Event, Stamped, Who};
use dwellhand::units::Time;

use crate::helpers::{journal_header, this_program, tries};
use crate::small;

fn stamped(seq: u64, by: Who, event: Event) -> Stamped {
    Stamped { seq: Seq(seq), at: Time(0), entered: Time(0), by, event }
}

fn begun(path: &Path) {
    let mut journal = Journal::create(path, &journal_header(true)).unwrap();
    let opened = stamped(1, Who::Supervisor, Event::Opened { book: small::book() });
    journal.append(&small::line(), &OrderBook::default(), &[opened], Synced::Now).unwrap();
}

/// The child of the next tests: appends so many notes of its own, each after having seen all others.
#[test]
#[ignore = "run by another test as a process of its own"]
fn child_that_appends() {
    let var = |name: &str| std::env::var(name).unwrap();
    let (path, me, count) = (PathBuf::from(var("DWELLHAND_TEST_JOURNAL")), var("WRITER"), var("COUNT"));
    let (mut journal, _) = Journal::open(&path).unwrap();
    journal.catch_up(&small::line(), &OrderBook::default()).unwrap();
    let (mut late, mut missed) = (0, 0);
    for n in 0..count.parse::<u32>().unwrap() {
        loop {
            let text = format!("writer {me} note {n}");
            let next = stamped(journal.seen().0 + 1, Who::Operator, Event::Noted { text });
            match journal.append(&small::line(), &small::book(), &[next], Synced::Now).unwrap() {
                Appended::Stored => break,
                Appended::Behind(others) => {
                    late += 1;
                    missed += others.len();
                }
            }
        }
    }
    println!("\nlate {late} missed {missed}");
}

/// Runs so many processes that append so many notes each; says how often one was told that it was late.
fn race(processes: u32, each: u32) -> u64 {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("shift.jsonl");
    begun(&path);
    let children: Vec<_> = (0..processes)
        .map(|me| {
            Command::new(this_program())
                .args(["--exact", "writers::child_that_appends", "--ignored", "--nocapture"])
                .env("DWELLHAND_TEST_JOURNAL", &path)
                .env("WRITER", me.to_string())
                .env("COUNT", each.to_string())
                .stdout(Stdio::piped())
                .spawn()
                .unwrap()
        })
        .collect();
    let mut late = 0;
    for child in children {
        let done = child.wait_with_output().unwrap();
        let said = String::from_utf8_lossy(&done.stdout).into_owned();
        assert!(done.status.success(), "{said}");
        let words =
            said.lines().find_map(|l| l.strip_prefix("late ")).expect("it says how often it was late");
        late += words.split(' ').next().unwrap().parse::<u64>().unwrap();
    }
    let mut reader = Reader::open(&path).unwrap();
    let (records, torn) = read(&mut reader, &small::line()).unwrap();
    assert_eq!(torn, None);
    let mut next = vec![0; processes as usize];
    for (n, record) in records.iter().enumerate() {
        assert_eq!(record.stamped.seq, Seq(n as u64 + 1), "numbers without gaps");
        let Event::Noted { text } = &record.stamped.event else { continue };
        let words: Vec<&str> = text.split(' ').collect();
        let (writer, note): (usize, u32) = (words[1].parse().unwrap(), words[3].parse().unwrap());
        assert_eq!(note, next[writer], "the notes of writer {writer} in their order");
        next[writer] += 1;
    }
    assert_eq!(next, vec![each; processes as usize], "every note is there once");
    late
}

#[test]
fn racing_appends_are_all_there_in_order() {
    race(4, 25);
}

/// `cargo test --test it writers::ten_thousand -- --ignored --nocapture`
#[test]
#[ignore = "takes a while; the normal suite does fewer"]
fn ten_thousand_racing_appends_are_all_there_in_order() {
    let all = tries("DWELLHAND_APPENDS", 10_000) as u32;
    let late = race(8, all / 8);
    println!("{} appends by 8 processes, {late} of them late at first: none lost, all in order", all / 8 * 8);
}
