//! Promises about names and notes that are meant to disturb: no screen and no page sends a terminal anything but what it shows.

use std::fs;
use std::path::Path;
use std::process::Output;
use std::sync::Arc;

use assert_cmd::Command as Program;
use dwellhand::civil::Opening;
use dwellhand::clock::ManualClock;
use dwellhand::files::{self, Source};
use dwellhand::ids::{CarrierId, HoistId, OrderId};
use dwellhand::journal::Digest;
use dwellhand::live::LiveShift;
use dwellhand::plain;
use dwellhand::plan::Settings;
use dwellhand::shift::{Change, Command, Who};
use dwellhand::tui::app::{App, Screen};
use dwellhand::tui::screens::{Look, paint};
use dwellhand::tui::{Depth, GlyphSet, Post, board_of};
use dwellhand::units::Time;
use proptest::prelude::*;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use crate::small;

/// Things that move cursors, set titles, turn direction, hide or pile up.
const NASTY: [&str; 10] = [
    "\u{1b}[2J\u{1b}[H",
    "\u{1b}]0;title\u{7}",
    "\u{9b}31m",
    "a\r\nb\tc\u{8}",
    "\u{202e}drawkcab\u{2066}",
    "\u{200b}\u{200d}\u{feff}\u{ad}",
    "Z\u{301}\u{302}\u{303}\u{304}\u{305}\u{306}\u{307}\u{308}",
    "\u{2028}\u{2029}\u{e0041}\u{fe0f}",
    "\u{1f468}\u{200d}\u{1f469}\u{200d}\u{1f467}",
    "\u{7f}\u{0}\u{85}",
];

fn nasty() -> impl Strategy<Value = String> {
    let piece = prop_oneof![
        prop::sample::select(NASTY.to_vec()).prop_map(str::to_owned),
        any::<String>(),
        "[A-Z][0-9]{2}",
        Just("x".repeat(3000)),
    ];
    prop::collection::vec(piece, 1..4).prop_map(|pieces| pieces.concat())
}

/// A shift of the small line where everything that is called something is called that.
fn shift_named(name: &str) -> LiveShift {
    let mut line = (*small::line()).clone();
    let mut book = small::book();
    name.clone_into(&mut line.name);
    name.clone_into(&mut line.tanks[small::CLEAN].name);
    name.clone_into(&mut line.tanks[small::RINSE].label);
    name.clone_into(&mut line.hoists[HoistId(0)].name);
    name.clone_into(&mut book.carriers[CarrierId(0)].name);
    name.clone_into(&mut book.orders[OrderId(0)].name);
    name.clone_into(&mut book.orders[OrderId(1)].label);
    let opening = Opening::parse("2026-11-25T06:00:00+01:00").unwrap();
    let clock = ManualClock::default();
    clock.set(Time::from_secs(60));
    let mut shift =
        LiveShift::in_memory(Arc::new(line), opening, Box::new(clock.clone()), Settings::default());
    let mut say = |command: Command| drop(shift.submit(&command, Who::Supervisor));
    say(Command::Open { book });
    say(Command::Note { text: name.to_owned() });
    let (carrier, hoist) = (CarrierId(0), HoistId(0));
    say(Command::Lift { carrier, hoist, from: small::LOAD, at: Time::from_secs(20) });
    say(Command::Lower { hoist, to: small::CLEAN, at: Time::from_secs(50) });
    say(Command::Change { change: Change::Hold { carrier }, why: name.to_owned() });
    clock.set(Time::from_secs(900));
    shift.tick().unwrap();
    shift
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    #[test]
    fn no_name_disturbs_a_screen(name in nasty(), wide in any::<bool>()) {
        let mut shift = shift_named(&name);
        let board = board_of(&mut shift);
        let size = if wide { (200, 60) } else { (80, 24) };
        let screens =
            [Screen::Caution, Screen::Live, Screen::Board, Screen::Chart, Screen::Tanks, Screen::Changes];
        for screen in screens {
            let mut app = App::new(Arc::new(shift.line().clone()), Post::Supervisor, false, false);
            app.screen = screen;
            app.refuse(name.clone(), board.now);
            let area = Rect::new(0, 0, size.0, size.1);
            let mut buf = Buffer::empty(area);
            paint(&mut buf, area, &board, &app, &Look::new(Depth::Many, GlyphSet::Full));
            for cell in buf.content() {
                prop_assert!(plain::is_plain_cell(cell.symbol()), "{screen:?}: {:?}", cell.symbol());
            }
        }
    }

    #[test]
    fn what_is_made_plain_is_plain_and_stays(text in nasty()) {
        let line = plain::line(&text);
        prop_assert!(line.chars().all(plain::is_plain));
        prop_assert_eq!(plain::line(&line), line.clone());
        let lines = plain::lines(&text);
        prop_assert!(lines.chars().all(|c| plain::is_plain(c) || matches!(c, '\n' | '\r' | '\t')));
        prop_assert!(!lines.replace("\r\n", "").contains('\r'));
    }

    #[test]
    fn json_says_the_same_in_plain_characters(text in any::<String>(), more in nasty()) {
        let value = serde_json::json!({ "a": text, "b": [more] });
        let printed = format!("{value:#}");
        let plain = plain::json(&printed);
        prop_assert!(plain.chars().all(|c| plain::is_plain(c) || c == '\n'));
        prop_assert_eq!(serde_json::from_str::<serde_json::Value>(&plain).unwrap(), value);
    }
}

#[test]
fn ordinary_writing_stays_as_it_is() {
    for text in ["Spülung 2 (VE)", "Łódź – 3 µm²", "陽極酸化", "Ω ≥ 5 °C", "é", "e\u{301}", ""]
    {
        assert_eq!(plain::line(text), text);
    }
    assert_eq!(plain::lines("a\r\nb\tc\n"), "a\r\nb\tc\n");
    assert_eq!(plain::lines("a\rb"), "a\u{fffd}b");
}

#[test]
fn files_take_no_hidden_characters_in_names() {
    let (line, recipes, _) = files::demo();
    for hidden in ["\u{200b}", "\u{202e}", "\u{ad}", "\u{feff}", "\u{1b}[1m", "\u{e0041}"] {
        let name = serde_json::to_string(&format!("T01{hidden}x")).unwrap();
        let text = line.text.replacen("\"T01\"", &name, 1);
        let found = files::read_line(Source { name: "line.json", text: &text }, recipes).unwrap_err();
        assert!(found.iter().any(|f| f.code == "bad-name"), "{hidden:?}");
    }
}

fn program(args: &[&str]) -> Output {
    Program::new(env!("CARGO_BIN_EXE_dwellhand")).args(args).env("TZ", "UTC").output().unwrap()
}

/// A journal of a simulated shift in which a carrier, an order and a note are called that: no file would be taken, but a
/// journal may have been made by anybody.
fn forged(path: &Path, name: &str) {
    let args =
        ["simulate", "--hours", "1", "--crew", "punctual", "--budget", "0", "--out", path.to_str().unwrap()];
    assert!(program(&args).status.success());
    let note = ["enter", path.to_str().unwrap(), "--by", "operator", "note", "hello"];
    assert!(program(&note).status.success());
    let text = fs::read_to_string(path).unwrap();
    let name = serde_json::to_string(name).unwrap();
    let mut all: Vec<String> = Vec::new();
    for line in text.lines() {
        let Some(before) = all.last() else {
            all.push(line.to_owned());
            continue;
        };
        let line = ["\"B01\"", "\"hello\"", "\"A-101\"", "\"A101\""]
            .iter()
            .fold(line.to_owned(), |line, old| line.replace(old, &name));
        let mut value: serde_json::Value = serde_json::from_str(&line).unwrap();
        value["prev"] = Digest::of(before.as_bytes()).to_string().into();
        all.push(value.to_string());
    }
    fs::write(path, all.join("\n") + "\n").unwrap();
}

#[test]
fn no_name_disturbs_a_page() {
    let dir = tempfile::tempdir().unwrap();
    for (n, name) in [NASTY.concat(), "=cmd()|'x'!A1".to_owned(), "x".repeat(5000)].iter().enumerate() {
        let path = dir.path().join(format!("{n}.jsonl"));
        forged(&path, name);
        let file = path.to_str().unwrap();
        let mut calls: Vec<Vec<&str>> = vec![
            vec!["board", file],
            vec!["board", file, "--json"],
            vec!["verify", file],
            vec!["verify", file, "--json"],
        ];
        for form in ["text", "markdown", "csv", "json", "svg"] {
            calls.push(vec!["report", file, "--form", form]);
            calls.push(vec!["report", file, "--page", "handover", "--form", form]);
            calls.push(vec!["report", file, "--page", "start", "--form", form]);
        }
        for call in calls {
            let done = program(&call);
            assert_ne!(done.status.code(), Some(101), "{call:?}: {done:?}");
            for said in [&done.stdout, &done.stderr] {
                let said = String::from_utf8(said.clone()).unwrap();
                let bad = said.chars().find(|c| !plain::is_plain(*c) && !matches!(c, '\n' | '\r' | '\t'));
                assert_eq!(bad, None, "{call:?}");
            }
            if call.contains(&"csv") {
                let said = String::from_utf8(done.stdout).unwrap();
                let cells = said.split("\r\n").flat_map(|row| row.split(','));
                for cell in cells.map(|c| c.trim_start_matches('"')) {
                    assert!(!cell.starts_with(['=', '@', '\t']), "{call:?}: {cell}");
                }
            }
        }
    }
}
