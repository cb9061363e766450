//! What the program says where somebody who knew only the README was told too little, or the wrong thing.

use std::path::Path;

use dwellhand::files::{self, Source};
use dwellhand::ids::TankId;
use dwellhand::line::Line;
use dwellhand::shift::{Change, Command, History};
use dwellhand::verify::{Rule, verify};
use dwellhand::view::Board;

use crate::cli::run;
use crate::helpers::*;

#[test]
fn a_reading_out_of_its_limits_is_said_at_once_and_entered_all_the_same() {
    let folder = tempfile::tempdir().unwrap();
    let shift = left(folder.path());
    let said = run(&["enter", &shift, "bath", "T12", "Temperature", "35"]).is(0).quietly();
    said.has_said(&["T12 Anodise A: temperature 35 degC; OUT OF LIMITS, 18 to 22 C"]);
    run(&["board", &shift]).is(0).has_said(&["HIGH 35.0 C"]);
    // As it is written on paper.
    let said = run(&["enter", &shift, "bath", "T19", "pH", "5.5"]).is(0).quietly();
    assert!(said.out.contains("ph 5.5") && !said.out.contains("LIMITS"), "{}", said.out);
}

#[test]
fn the_same_orders_begun_again_go_on_with_the_shift_and_others_are_refused() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("monday.jsonl").display().to_string();
    let begin = |orders: &str| run(&["run", "--plain", "--orders", orders, "--shift", &path]);
    begin("demo-data/orders-day.json").is(0).has_said(&["a new shift on "]);
    run(&["enter", &path, "note", "a remark"]).is(0);
    let kept = |path: &str| std::fs::read_to_string(path).unwrap();
    let before = kept(&path);
    begin("demo-data/orders-day.json")
        .is(0)
        .has_said(&["monday.jsonl has begun with these files: the shift goes on"]);
    assert!(kept(&path).starts_with(&before), "what was entered is there");
    let before = kept(&path);
    let refused = begin("demo-data/orders.json").is(2);
    refused.has_complained(&[
        "monday.jsonl has begun with other orders than these files hold",
        "monday-2.jsonl",
    ]);
    assert_eq!(kept(&path), before);
}

/// A new practice on the demo line that somebody opened and left.
fn left(folder: &Path) -> String {
    let path = folder.join("new.jsonl").display().to_string();
    let said = run(&["run", "--plain", "--shift", &path]).is(0);
    said.has_said(&[&format!("a new shift on the embedded demo line, in {path}")]);
    path
}

#[test]
fn what_was_entered_is_said_and_when() {
    let folder = tempfile::tempdir().unwrap();
    let shift = left(folder.path());
    for (entry, answer) in [
        (vec!["sign", "on", "KM"], "KM works this shift"),
        (vec!["bath", "T12", "temperature", "20.5"], "T12 Anodise A: temperature 20.5 degC"),
        (vec!["bath-changed", "T13"], "T13 Anodise B: bath changed"),
        (vec!["note", "filter is new"], "note: filter is new"),
    ] {
        let said = run(&[&["enter", shift.as_str()][..], &entry].concat()).is(0).quietly();
        assert!(said.out.starts_with("entered: 06:00:"), "{}", said.out);
        assert_eq!(said.out.trim_end().split_once(' ').unwrap().1.split_once(' ').unwrap().1, answer);
    }
    run(&["board", &shift]).is(0).has_said(&["NEW, no temperature since 06:00"]);
    run(&["enter", &shift, "bath", "T12", "concentration", "180"]).is(0);
    run(&["report", &shift]).is(0).has_said(&["20.5 C at 06:00:", "; 180 g/l at 06:00:"]);
    let files = ["line", "recipes", "orders"].map(|f| format!("tests/data/good/{f}.json"));
    let other =
        ["run", "--shift", &shift, "--line", &files[0], "--recipes", &files[1], "--orders", &files[2]];
    run(&other).is(2).has_complained(&[
        "has begun with other line and recipes and orders than these files hold",
        "for a new shift with these files",
        "new-2.jsonl",
    ]);
    run(&["board", &shift, "--at", "05:00"])
        .is(2)
        .has_complained(&["05:00:00 is before the shift was opened, at 06:00:00"]);
    // However far after the last entry, it is no earlier day.
    for command in ["board", "report"] {
        run(&[command, &shift, "--at", "23:00"])
            .is(2)
            .has_complained(&["23:00:00 is after the end of what is kept"]);
    }
    run(&["replay", &shift, "--at", "23:00"])
        .is(2)
        .has_complained(&["23:00:00 is after the end of what is kept"]);
    let report = run(&["report", &shift]).is(0).out;
    assert!(!report.contains("-0 %"), "{report}");
    for form in [vec!["--carrier", "B01"], vec!["--page", "handover"]] {
        let args = [&["report", shift.as_str(), "--form", "svg"][..], &form].concat();
        run(&args).is(2).has_complained(&["only the whole shift and the trend are drawn"]);
    }
    let trend = run(&["report", &shift, "--page", "trend"]).is(0).out;
    assert!(trend.contains("1 shift, the oldest first") && !trend.contains("-0 %"), "{trend}");
    // Two shifts may open at the same minute: a row says which journal it is of.
    let stem = std::path::Path::new(&shift).file_stem().unwrap().to_string_lossy().into_owned();
    assert!(trend.contains(&stem), "{trend}");
    let csv = run(&["report", &shift, "--form", "csv"]).is(0).out;
    assert!(csv.contains(",-,") && !csv.contains("'-,"), "{csv}");
}

#[test]
fn a_plan_says_whose_line_it_is_on() {
    let orders = "demo-data/orders.json";
    let said = run(&["plan", "--budget", "0", "--orders", orders]).is(0);
    assert_eq!(
        said.out.lines().next(),
        Some("plan on the embedded demo line, orders from demo-data/orders.json")
    );
}

/// The board's columns hold, however long a name is.
#[test]
fn columns_stay_below_each_other() {
    let folder = tempfile::tempdir().unwrap();
    let orders =
        std::fs::read_to_string("demo-data/orders.json").unwrap().replace("\"B01\"", "\"strip R01.1\"");
    let file = folder.path().join("orders.json");
    std::fs::write(&file, orders).unwrap();
    let shift = folder.path().join("s.jsonl");
    run(&[
        "run",
        "--plain",
        "--orders",
        file.to_str().unwrap(),
        "--speed",
        "1",
        "--shift",
        shift.to_str().unwrap(),
    ])
    .is(0);
    let board = run(&["board", shift.to_str().unwrap()]).is(0).out;
    let head = board.lines().find(|l| l.starts_with("carrier ")).unwrap();
    let at = head.find("step").unwrap();
    for name in ["strip R01.1 ", "B02 "] {
        let row = board.lines().find(|l| l.starts_with(name)).unwrap();
        assert!(row[at..].starts_with("0/14"), "{head}\n{row}");
    }
}

/// A quote of an office program is named as what it is, whether a text begins or ends with it.
#[test]
fn a_typographic_quote_is_named() {
    let (line, recipes, _) = files::demo();
    for (plain, slip, column) in [
        ("\"West\"", "\u{201c}West\u{201d}", 14),
        ("\"West\"", "\"West\u{201d}", 19),
        ("{\"name\": \"West\"", "{\u{201e}name\": \"West\"", 6),
    ] {
        let text = line.text.replacen(plain, slip, 1);
        let found = files::read_line(Source { name: "line.json", text: &text }, recipes).unwrap_err();
        let row = 1 + text[..text.find(slip).unwrap()].matches('\n').count();
        assert_eq!((found[0].line, found[0].column), (row, column), "{}", found[0]);
        assert!(found[0].found.starts_with("the typographic quote "), "{}", found[0]);
        assert_eq!(found[0].expected, "the plain one, \"");
    }
}

#[test]
fn what_can_be_worked_out_is_listed_by_its_words() {
    let listed = dwellhand::cli::own_files::typed("");
    assert!(listed[0].starts_with("anodise   Time, film"), "{listed:?}");
}

/// A shift on which A was moved, each time lifted then and down 15 s later.
fn went(ways: [(i64, TankId, TankId); 2]) -> (Line, History) {
    let line = plant();
    let mut history = opened(&line, book(1));
    for (at, from, to) in ways {
        say(&line, &mut history, t(at), &lift(A, H1, from, t(at))).unwrap();
        say(&line, &mut history, t(at + 15), &lower(H1, to, t(at + 15))).unwrap();
    }
    (line, history)
}

/// The verifier knows no time of day; who reads the board does not know the shift's axis.
#[test]
fn a_window_that_closes_on_a_held_load_is_told_by_the_clock() {
    let (line, mut history) = went([(2, LOAD, ETCH), (70, ETCH, RINSE)]);
    let hold = Command::Change { change: Change::Hold { carrier: A }, why: String::new() };
    say(&line, &mut history, t(90), &hold).unwrap();
    let breaches = verify(&line, history.state(), &plan_at(90, Vec::new()));
    let opening = journal_header(true).opening;
    let board = Board::build(&line, history.state(), &history, &[], &breaches, &opening, t(90));
    let closes = board.breaches.iter().find(|b| b.text.contains("its window closes")).unwrap();
    // Down at 85 s, 60 s at the longest.
    assert_eq!(closes.text, "A is kept in T2 Rinse 1 and its window closes (nuisance) at 06:02:25");
}

/// A load in a tank where it has no business has no window there that could be too long.
#[test]
fn a_load_in_a_wrong_tank_is_told_as_such() {
    let (line, history) = went([(2, LOAD, ANODISE), (63, ANODISE, ETCH)]);
    let broken = dwellhand::verify::happened(&line, history.state());
    let over = broken.iter().find(|b| b.rule == Rule::Over).unwrap();
    assert!(over.text.contains("0:46 in a tank where its sheet has no step"), "{}", over.text);
}

/// A pick or a place that was said late was in time all the same: nobody is sent to look at parts that are well.
#[test]
fn an_alarm_about_what_was_only_said_late_says_so() {
    let (line, opening) = (plant(), journal_header(true).opening);
    // In the etch from 17 s on, 60 s at the least; on the hook after it 30 s at the longest, in the rinse 60.
    let told = |down: i64, lifted: i64| -> Vec<String> {
        let mut history = opened(&line, book(1));
        let does = |history: &mut History, said: i64, command: Command| {
            say(&line, history, t(said), &command).unwrap();
            crate::alarms::watch(&line, history, said + 1);
        };
        does(&mut history, 2, lift(A, H1, LOAD, t(2)));
        does(&mut history, 17, lower(H1, ETCH, t(17)));
        does(&mut history, 80, lift(A, H1, ETCH, t(80)));
        crate::alarms::watch(&line, &mut history, 180);
        does(&mut history, 181, lower(H1, RINSE, t(down)));
        crate::alarms::watch(&line, &mut history, 260);
        does(&mut history, 261, lift(A, H1, RINSE, t(lifted)));
        let board = Board::build(&line, history.state(), &history, &[], &[], &opening, t(263));
        board.alarms.iter().filter(|alarm| !alarm.active).map(|alarm| alarm.text.clone()).collect()
    };
    let kept = |told: &[String]| told.iter().all(|text| text.contains("was in time after all"));
    let late = |told: &[String]| told.iter().all(|text| text.contains("was too long. Check the parts"));
    let (in_time, too_late) = (told(95, 140), told(181, 261));
    assert!(in_time.len() == 2 && kept(&in_time), "{in_time:?}");
    assert!(too_late.len() == 2 && late(&too_late), "{too_late:?}");
}
