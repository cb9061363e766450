//! Drills: what happens on them, how they are read, and what is kept of them.

use std::sync::Arc;

use assert_cmd::Command as Program;
use dwellhand::civil::Opening;
use dwellhand::clock::ManualClock;
use dwellhand::files::{self, Source};
use dwellhand::line::{Line, Role, Visit};
use dwellhand::live::{Halted, LiveShift};
use dwellhand::plan::Settings;
use dwellhand::shift::{Command, Event, Place, Who};
use dwellhand::sim::{Crew, Pace};
use dwellhand::train::{Debrief, Director, Drill, Happens};
use dwellhand::units::{Dur, Time};
use dwellhand::verify::happened;

fn demo() -> Line {
    let (line, recipes, _) = files::demo();
    files::read_line(line, recipes).unwrap().value
}

fn read(name: &str) -> (Line, Drill, Opening) {
    let line = demo();
    let source = files::drills().into_iter().find(|s| s.name.ends_with(&format!("/{name}.json"))).unwrap();
    let (drill, opening) = files::read_drill(source, &line).unwrap().value;
    (line, drill, opening)
}

/// A drill run by a punctual crew, with the instants at which the crane was stopped looked at.
fn ran(name: &str) -> (LiveShift, Drill, Line) {
    let (line, drill, opening) = read(name);
    let clock = ManualClock::default();
    let mut shift =
        LiveShift::in_memory(Arc::new(line.clone()), opening, Box::new(clock.clone()), Settings::default());
    shift.submit(&Command::Open { book: drill.book.clone() }, Who::Supervisor).unwrap();
    shift.set_director(Director::new(drill.happens.clone()));
    shift.set_hands(Box::new(Halted(Crew::new(Pace::PUNCTUAL, 1))));
    let end = Time::ZERO + drill.lasting;
    while shift.now() < end && !shift.is_played_out() {
        let next = shift.next_wake().max(shift.now() + Dur(1)).min(end);
        clock.set(next);
        shift.tick().unwrap();
    }
    (shift, drill, line)
}

#[test]
fn every_drill_is_read_and_named_like_its_file() {
    let line = demo();
    for source in files::drills() {
        let read = files::read_drill(source, &line).unwrap();
        assert_eq!(read.warnings, [], "{}", source.name);
        let (drill, opening) = read.value;
        assert_eq!(source.name, format!("demo-data/drills/{}.json", drill.name));
        assert!((1..=3).contains(&drill.difficulty) && !drill.about.is_empty());
        let orders = files::orders_of_drill(source.text);
        let orders = files::read_orders(Source { name: "orders", text: &orders }, &line, None).unwrap().value;
        assert_eq!(orders.opening, opening);
        let late = drill.happens.iter().filter(|h| matches!(h.what, Happens::Order { .. })).count();
        assert_eq!(orders.book.orders.len(), drill.book.orders.len() + late);
    }
}

/// In each of them what is to happen does, and a crew that does as called brings bars out.
#[test]
fn every_drill_can_be_run_to_its_end() {
    for source in files::drills() {
        let name = source.name.rsplit('/').next().unwrap().trim_end_matches(".json");
        let (shift, drill, line) = ran(name);
        let debrief = Debrief::of(&line, shift.history(), Time::ZERO + drill.lasting);
        assert!(debrief.outcome.finished > 0, "{name}: {:?}", debrief.outcome);
        let events = shift.history().events();
        let count = |f: fn(&Event) -> bool| events.iter().filter(|s| f(&s.event)).count();
        let expected = |f: fn(&Happens) -> bool| drill.happens.iter().filter(|h| f(&h.what)).count();
        assert_eq!(
            count(|e| matches!(e, Event::TankOut { .. })),
            expected(|h| matches!(h, Happens::TankOut { .. }))
        );
        assert_eq!(
            count(|e| matches!(e, Event::CarrierCorrected { .. })),
            expected(|h| matches!(h, Happens::WrongTank)),
            "{name}"
        );
        assert_eq!(debrief.met.stops.len(), expected(|h| matches!(h, Happens::Stop { .. })), "{name}");
        assert_eq!(
            count(|e| matches!(e, Event::Entered { .. })),
            expected(|h| matches!(h, Happens::Short { .. })),
            "{name}"
        );
    }
}

#[test]
fn a_normal_morning_followed_to_the_second_breaks_nothing() {
    let (shift, _, line) = ran("normal-morning");
    assert_eq!(happened(&line, shift.state()), []);
    assert!(shift.state().carriers.iter().all(|(_, c)| matches!(c.place, Place::Finished { .. })));
}

#[test]
fn the_crane_stops_while_stripped_parts_are_where_it_hurts() {
    let (shift, drill, line) = ran("crane-stop-stripped");
    let within = drill.happens[0].within.unwrap();
    let stopped = shift.history().events().iter().find(|s| {
        matches!(&s.event, Event::Changed { change: dwellhand::shift::Change::StopHoist { .. }, .. })
    });
    let at = stopped.unwrap().at;
    let stays = shift.state().carriers.iter().flat_map(|(_, c)| &c.stays);
    let stays: Vec<(Time, Time)> =
        stays.filter(|s| line.tanks[s.tank].role == Role::Bath(within)).map(|s| (s.from, s.to)).collect();
    assert!(
        stays.iter().any(|(from, to)| *from <= at && at <= *to),
        "nobody was in the strip at {at}: {stays:?}"
    );
}

#[test]
fn a_load_put_down_wrong_is_a_stray_and_comes_out_all_the_same() {
    let (shift, _, _) = ran("wrong-tank");
    let strays = shift.state().carriers.iter().flat_map(|(_, c)| &c.stays);
    assert_eq!(strays.filter(|s| matches!(s.visit, Visit::Stray { .. })).count(), 2);
}

#[test]
fn a_count_short_by_two_stays_missing_until_it_is_found() {
    let (shift, drill, _) = ran("count-short");
    let state = shift.state();
    let order = drill.book.carriers.iter().next().unwrap().1.order;
    assert_eq!(state.ledger.counts(state, order).missing, 2);
}

#[test]
fn a_rush_order_is_not_known_before_it_comes_in() {
    let (shift, drill, _) = ran("rush-order");
    assert!(drill.book.orders.iter().all(|(_, o)| o.name != "D503"));
    let came = shift.state().book.orders.iter().find(|(_, o)| o.name == "D503").unwrap().1;
    assert_eq!(came.ready, Time::ZERO + Dur::from_mins(50));
}

fn wrong(change: impl Fn(&str) -> String) -> Vec<String> {
    let source = files::drills().into_iter().find(|s| s.name.ends_with("rectifier-lost.json")).unwrap();
    let text = change(source.text);
    assert_ne!(text, source.text);
    let found = files::read_drill(Source { name: "d.json", text: &text }, &demo()).unwrap_err();
    found.iter().map(|f| format!("{}:{} {} {}", f.line, f.column, f.code, f.path)).collect()
}

#[test]
fn what_is_wrong_with_a_drill_is_said_with_its_place() {
    for (from, to, code) in [
        ("\"tank\": \"T12\"", "\"tank\": \"T99\"", "unknown-name happens[0].tank"),
        ("\"minutes\": 60, ", "", "missing-field happens[0]"),
        ("\"minutes\": 60", "\"minutes\": -1", "out-of-range happens[0].minutes"),
        ("\"at\": \"06:45\"", "\"at\": \"late\"", "bad-time happens[0].at"),
        ("\"difficulty\": 3", "\"difficulty\": 9", "out-of-range difficulty"),
        ("\"what\": \"tank-out\"", "\"what\": \"flood\"", "happens[0].what"),
        ("\"name\": \"rectifier-lost\"", "\"name\": \"../x\"", "bad-name name"),
        ("\"recipe\": \"clear\"", "\"recipe\": \"pink\"", "orders[0].recipe"),
    ] {
        let found = wrong(|t| t.replacen(from, to, 1));
        assert!(found.iter().any(|f| f.ends_with(code)), "{to}: {found:?}");
    }
}

fn program(home: &std::path::Path, args: &str) -> String {
    let out = Program::cargo_bin("dwellhand")
        .unwrap()
        .args(args.split_whitespace())
        .env("XDG_STATE_HOME", home)
        .assert()
        .success();
    String::from_utf8(out.get_output().stdout.clone()).unwrap()
}

#[test]
fn progress_is_kept_a_line_each_and_the_best_is_listed() {
    let home = tempfile::tempdir().unwrap();
    assert!(program(home.path(), "drill").contains("not practised yet"));
    let once = "drill count-short --crew punctual --at-once --initials ab --form json";
    let page: serde_json::Value = serde_json::from_str(&program(home.path(), once)).unwrap();
    assert_eq!(page["format"], "dwellhand-page/1");
    let kept = home.path().join("dwellhand/progress.jsonl");
    let first = std::fs::read_to_string(&kept).unwrap();
    // Somebody's own hands, as the screens would have kept it; and a line that is none of ours.
    let own = first.replace("\"watched\":true,", "");
    assert_ne!(own, first);
    std::fs::write(&kept, format!("{first}{own}not ours\n")).unwrap();
    assert!(program(home.path(), "drill --initials AB").contains("best so far, AB: 2 out, nothing broken"));
    assert!(!program(home.path(), "drill --initials CD").contains("best so far"));
    let progress = program(home.path(), "drill --progress AB");
    assert_eq!(progress.lines().count(), 3, "{progress}");
    assert!(progress.contains("watched"));
}

#[test]
fn a_drill_file_of_ones_own_is_checked_and_run_and_one_that_is_not_there_is_an_error() {
    let home = tempfile::tempdir().unwrap();
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/demo-data/drills/normal-morning.json");
    assert!(program(home.path(), &format!("check {path}")).contains("nothing wrong"));
    let mut bad = Program::cargo_bin("dwellhand").unwrap();
    bad.args(["drill", "no-such", "--crew", "punctual", "--at-once"]).assert().code(2);
}
