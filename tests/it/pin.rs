//! Promises of the PIN: who does not know it changes nothing, below the screen too; it is never stored as it is.

use std::fs;
use std::path::Path;
use std::process::Output;
use std::sync::Arc;
use std::time::{Duration, Instant};

use assert_cmd::Command as Program;
use dwellhand::civil::Opening;
use dwellhand::clock::ManualClock;
use dwellhand::ids::CarrierId;
use dwellhand::live::{LiveShift, Lock, PinError, Problem, hash_pin};
use dwellhand::plan::Settings;
use dwellhand::shift::{Change, Command, Who};
use dwellhand::tui::action::Action;
use dwellhand::tui::app::{App, Effect, Screen, update};
use dwellhand::tui::dialog::Dialog;
use dwellhand::tui::screens::{Look, paint};
use dwellhand::tui::{Depth, GlyphSet, Post, board_of, perform};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use crate::small;

const MINUTE: Duration = Duration::from_secs(60);

#[test]
fn a_lock_opens_with_its_pin_and_shuts_when_nobody_is_there() {
    let hash = hash_pin("2580").unwrap();
    assert!(hash.starts_with("$argon2id$v=19$m=19456,t=2,p=1$") && !hash.contains("2580"), "{hash}");
    assert_ne!(hash, hash_pin("2580").unwrap(), "each has salt of its own");
    let start = Instant::now();
    let mut lock = Lock::new(&hash, 10 * MINUTE).unwrap();
    assert!(!lock.is_open(start));
    assert_eq!(lock.open("2581", start), Err(PinError::Wrong));
    lock.open("2580", start).unwrap();
    assert!(lock.is_open(start + 9 * MINUTE) && !lock.is_open(start + 10 * MINUTE));
    lock.touch(start + 9 * MINUTE);
    assert!(lock.is_open(start + 18 * MINUTE) && !lock.is_open(start + 19 * MINUTE));
    lock.touch(start + 19 * MINUTE);
    assert!(!lock.is_open(start + 19 * MINUTE), "a key opens nothing");
}

#[test]
fn who_guesses_has_to_wait() {
    let start = Instant::now();
    let mut lock = Lock::new(&hash_pin("2580").unwrap(), MINUTE).unwrap();
    for _ in 0..5 {
        assert_eq!(lock.open("0000", start), Err(PinError::Wrong));
    }
    assert!(matches!(lock.open("2580", start + Duration::from_secs(1)), Err(PinError::Wait(_))));
    lock.open("2580", start + Duration::from_secs(31)).unwrap();
}

#[test]
fn what_is_no_pin_and_what_is_no_hash_is_said() {
    for pin in ["", "123", "12\n34", &"1".repeat(65)] {
        assert_eq!(hash_pin(pin), Err(PinError::Unfit), "{pin:?}");
    }
    for hash in ["", "2580", "$argon2id$v=19$m=999999999,t=2,p=1$c2FsdHNhbHQ$aGFzaGhhc2g"] {
        assert!(matches!(Lock::new(hash, MINUTE), Err(PinError::NoHash(_))), "{hash}");
    }
}

fn locked_shift() -> LiveShift {
    let opening = Opening::parse("2026-11-25T06:00:00+01:00").unwrap();
    let clock = Box::new(ManualClock::default());
    let mut shift = LiveShift::in_memory(small::line(), opening, clock, Settings::default());
    shift.submit(&Command::Open { book: small::book() }, Who::Supervisor).unwrap();
    shift.set_lock(Some(Lock::new(&hash_pin("2580").unwrap(), MINUTE).unwrap()));
    shift
}

fn hold() -> Command {
    Command::Change { change: Change::Hold { carrier: CarrierId(0) }, why: "first article".to_owned() }
}

#[test]
fn a_locked_shift_takes_no_change_from_anybody() {
    let mut shift = locked_shift();
    let before = shift.history().events().len();
    let tank = small::CLEAN;
    let commands = [
        hold(),
        Command::TankOut { tank, until: None, why: String::new() },
        Command::TankBack { tank },
        Command::TakeBack { seq: shift.state().seq },
    ];
    for command in commands {
        for by in [Who::Supervisor, Who::Operator] {
            let refused = shift.submit(&command, by);
            assert!(matches!(refused, Err(Problem::Locked)), "{command:?} by {by:?}: {refused:?}");
        }
        assert!(matches!(
            shift.submit_all(std::slice::from_ref(&command), Who::Supervisor),
            Err(Problem::Locked)
        ));
    }
    assert_eq!(shift.history().events().len(), before);
    // What the operator does goes on.
    shift.submit(&Command::Note { text: "on".to_owned() }, Who::Operator).unwrap();
    shift.unlock("0000").unwrap_err();
    assert!(shift.is_locked());
    shift.unlock("2580").unwrap();
    shift.submit(&hold(), Who::Supervisor).unwrap();
}

#[test]
fn the_screen_asks_for_the_pin_and_does_not_show_it() {
    let mut shift = locked_shift();
    let mut app = App::new(Arc::new(shift.line().clone()), Post::Supervisor, false, false);
    app.learn(shift.line(), &shift.state().book);
    app.locked = true;
    let board = board_of(&mut shift);
    assert_eq!(update(&mut app, Action::Propose, &board, board.now), []);
    assert!(matches!(app.dialog, Some(Dialog::Field(_))) && app.screen != Screen::Changes);
    for c in "2580".chars() {
        update(&mut app, Action::Type(c), &board, board.now);
    }
    let area = Rect::new(0, 0, 80, 24);
    let mut buf = Buffer::empty(area);
    paint(&mut buf, area, &board, &app, &Look::new(Depth::Many, GlyphSet::Full));
    let text: String = buf.content().iter().map(ratatui::buffer::Cell::symbol).collect();
    assert!(text.contains("****_") && !text.contains("2580"), "{text}");
    let effects = update(&mut app, Action::Confirm, &board, board.now);
    assert_eq!(effects, [Effect::Unlock("2580".to_owned())]);
    perform(&mut app, &mut shift, effects);
    assert!(!app.locked && !shift.is_locked());
    update(&mut app, Action::Propose, &board, board.now);
    assert_eq!(app.screen, Screen::Changes);
}

fn program(home: &Path, args: &[&str], typed: &str) -> Output {
    let mut program = Program::new(env!("CARGO_BIN_EXE_dwellhand"));
    program.args(args).env("HOME", home).env("XDG_CONFIG_HOME", home.join("config")).env("TZ", "UTC");
    program.write_stdin(typed).output().unwrap()
}

#[test]
fn the_pin_is_kept_as_a_hash_for_its_owner() {
    let dir = tempfile::tempdir().unwrap();
    let is = |args: &[&str], typed: &str, code: i32| {
        let done = program(dir.path(), args, typed);
        assert_eq!(done.status.code(), Some(code), "{args:?}: {done:?}");
        String::from_utf8_lossy(&done.stdout).into_owned()
    };
    assert!(is(&["pin", "status"], "", 0).contains("no PIN"));
    is(&["pin", "set"], "12\n", 2);
    is(&["pin", "set"], "2580\n", 0);
    let file = dir.path().join("config/dwellhand/pin");
    let text = fs::read_to_string(&file).unwrap();
    assert!(text.starts_with("$argon2id$") && !text.contains("2580"));
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt as _;
        let mode = |path: &Path| fs::metadata(path).unwrap().permissions().mode() & 0o777;
        assert_eq!((mode(&file), mode(file.parent().unwrap())), (0o600, 0o700));
    }
    is(&["pin", "check"], "2580\n", 0);
    is(&["pin", "check"], "2581\n", 2);
    // Setting another and clearing ask for the one there is.
    is(&["pin", "set"], "0000\n1111\n", 2);
    is(&["pin", "set"], "2580\n1111\n", 0);
    is(&["pin", "clear"], "2580\n", 2);
    // A supervisor's entry asks as well, an operator's does not.
    let journal = dir.path().join("shift.jsonl");
    let name = journal.to_str().unwrap();
    is(&["simulate", "--hours", "0.5", "--crew", "punctual", "--budget", "0", "--out", name], "", 0);
    is(&["enter", name, "note", "hello"], "2580\n", 2);
    let done = program(dir.path(), &["enter", name, "note", "hello"], "2580\n");
    let said = String::from_utf8_lossy(&done.stderr);
    assert!(said.contains("without it: --by operator") && !said.contains("--role"), "{said}");
    is(&["enter", name, "note", "hello"], "1111\n", 0);
    is(&["enter", name, "--by", "operator", "note", "hello"], "", 0);
    is(&["pin", "clear"], "1111\n", 0);
    assert!(!file.exists());
    // Something else in its place is no open door.
    fs::write(&file, "rubbish\n").unwrap();
    is(&["enter", name, "note", "hello"], "1111\n", 2);
}
