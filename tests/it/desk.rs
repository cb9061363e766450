//! The supervisor's screens: what the rows and pictures say, and what keys do there.

use std::sync::Arc;

use dwellhand::civil::Opening;
use dwellhand::ids::{CarrierId, TankId};
use dwellhand::line::Harm;
use dwellhand::plan::calls;
use dwellhand::shift::{Command, History, Place};
use dwellhand::tui::app::{App, Effect, Screen, update};
use dwellhand::tui::dialog::Dialog;
use dwellhand::tui::keymap::{self, Key};
use dwellhand::tui::screens::help;
use dwellhand::tui::{Post, desk::Part};
use dwellhand::units::{Dur, Time};
use dwellhand::view::{Board, Going, Sort, Stage, When, sorted};

use crate::helpers::{
    A, ETCH, H1, LOAD, book, good_plan, good_second, lift, lower, opened, plan_at, plant, s, say, t, undo,
};
use crate::scene;

/// The board of a shift on [`plant`] whose plan is in force.
fn seen(history: &History, now: Time) -> Board {
    let line = plant();
    let plan = history.state().plan.clone().unwrap();
    let calls = calls(&line, history.state(), &plan, now, usize::MAX);
    let opening = Opening::parse("2026-11-25T06:00:00+01:00").unwrap();
    Board::build(&line, history.state(), history, &calls, &[], &opening, now)
}

/// A and B planned on [`plant`], nothing done yet.
fn both() -> History {
    let line = plant();
    let mut history = opened(&line, book(2));
    let schedule = plan_at(0, [good_plan(), good_second()].concat());
    say(&line, &mut history, t(0), &Command::AdoptPlan { schedule }).unwrap();
    history
}

fn done(history: &mut History, command: &Command, at: i64) {
    say(&plant(), history, t(at), command).unwrap();
}

/// A is picked at 2 and put into the etch at 18, three seconds later than the plan says.
fn a_in_the_etch() -> History {
    let mut history = both();
    done(&mut history, &lift(A, H1, LOAD, t(2)), 2);
    done(&mut history, &lower(H1, ETCH, t(18)), 18);
    history
}

#[test]
fn a_row_says_how_long_a_carrier_may_stay() {
    let board = seen(&a_in_the_etch(), t(60));
    let row = &board.loads[0];
    assert_eq!((row.at.as_str(), row.step, row.lot, row.stage), ("T1", (1, 3), (1, 2), Stage::OnLine));
    assert_eq!(row.harm, Some(Harm::Scrap));
    // The etch closes 90 s after 18; the plan would lift at 77.
    assert_eq!(row.out_by, Some(t(108)));
    assert_eq!(row.slack, Some(s(31)));
    assert_eq!(row.out_by_clock.as_deref(), Some("06:01:48"));
    // After the unload, 9 s of travel and what goes with it.
    assert_eq!(row.finish, Some(t(450) + s(2 + 5 + 6 + 1 + 5)));
    assert_eq!((board.loads[1].stage, board.loads[1].slack), (Stage::Waiting, None));
}

#[test]
fn a_plan_that_is_too_late_leaves_negative_slack() {
    let board = seen(&a_in_the_etch(), t(120));
    assert_eq!(board.loads[0].slack, Some(s(108 - 120)));
}

#[test]
fn made_moves_come_from_the_journal_and_taken_back_ones_do_not() {
    let mut history = a_in_the_etch();
    let board = seen(&history, t(60));
    let past: Vec<_> = board.times.runs.iter().filter(|r| r.when == When::Past).collect();
    assert_eq!(past.len(), 1);
    assert_eq!((past[0].carrier, past[0].from, past[0].to), (A, LOAD, ETCH));
    assert_eq!((past[0].start, past[0].lift, past[0].down, past[0].end), (t(0), t(2), t(18), t(20)));
    // 13 s by the model, 16 s as it was: the raise of 5 s becomes a little more than 6.
    assert_eq!(past[0].leave, t(2) + Dur(16_000 * 5 / 13));
    let back = undo(&history);
    done(&mut history, &back, 61);
    let board = seen(&history, t(61));
    assert!(board.times.runs.iter().all(|r| r.when != When::Past));
    let under_way = board.times.runs.iter().find(|r| r.when == When::UnderWay).unwrap();
    assert_eq!((under_way.carrier, under_way.lift), (A, t(2)));
    assert!(under_way.down >= t(61), "what hangs is not down yet");
}

#[test]
fn stays_go_from_in_to_out_and_know_when_their_window_ends() {
    let board = seen(&a_in_the_etch(), t(60));
    let of_a: Vec<_> = board.times.stays.iter().filter(|s| s.carrier == A).collect();
    let tanks: Vec<TankId> = of_a.iter().map(|s| s.tank).collect();
    assert_eq!(tanks, [TankId(1), TankId(2), TankId(3)], "stations hold no immersion");
    assert_eq!((of_a[0].from, of_a[0].to, of_a[0].closes), (t(18), Some(t(77)), Some(t(108))));
    assert_eq!((of_a[2].from, of_a[2].to, of_a[2].closes), (t(145), Some(t(452)), Some(t(545))));
    assert!(of_a.iter().all(|s| !s.is_over(t(60))));
    // Nobody lifted it: what runs now runs at least until now.
    let late = seen(&a_in_the_etch(), t(120));
    let etch = late.times.stays.iter().find(|s| s.tank == ETCH && s.carrier == A).unwrap();
    assert_eq!(etch.to, Some(t(120)));
    assert!(etch.is_over(t(120)));
}

#[test]
fn what_was_planned_and_not_done_does_not_lie_in_the_past() {
    // A should have left the etch at 77 and the rinse at 132; it is 200 and nobody has lifted it.
    let board = seen(&a_in_the_etch(), t(200));
    assert_eq!(board.times.behind, Some(s(200 - 77)));
    let rinse = board.times.stays.iter().filter(|s| s.tank == TankId(2) && s.carrier == A);
    assert_eq!(rinse.count(), 0, "the plan's stay in the rinse is over before it began");
    let anodise = board.times.stays.iter().find(|s| s.tank == TankId(3)).unwrap();
    assert_eq!((anodise.from, anodise.to), (t(200), Some(t(452))));
    for way in board.times.ways.iter().filter(|w| matches!(w.going, Going::Loaded(_))) {
        let made = way.to.0 <= t(20);
        assert!(made || way.from.0 >= t(200), "{way:?}");
    }
    assert!((board.uses[0].past.loaded - 20.0 / 200.0).abs() < 1e-9);
    // A person a few seconds slower than the plan is not behind it.
    assert_eq!(seen(&a_in_the_etch(), t(90)).times.behind, None);
}

#[test]
fn power_rises_with_the_ramp_and_peaks_where_loads_meet() {
    // 100 dm2 at 1.5 A/dm2 and 16 V: 2400 W after a ramp of 60 s.
    let board = seen(&a_in_the_etch(), t(60));
    let power = board.power.unwrap();
    assert_eq!((power.now, power.cap), (0.0, Some(5000.0)));
    // A draws in full from 205 until 452, B from 367 on.
    assert_eq!((power.peak, power.peak_at), (4800.0, t(367)));
    let mut history = a_in_the_etch();
    let moves = [(77, 2, 100), (132, 3, 146)];
    for (up, tank, down) in moves {
        let Place::InTank { tank: from, .. } = history.state().carriers[A].place else { panic!() };
        done(&mut history, &lift(A, H1, from, t(up)), up);
        done(&mut history, &lower(H1, TankId(tank), t(down)), down);
    }
    let power = seen(&history, t(176)).power.unwrap();
    assert!((power.now - 1200.0).abs() < 1e-9, "half of the ramp is half of the power: {}", power.now);
}

#[test]
fn a_hoist_works_with_a_load_and_on_the_way_to_the_next() {
    let board = seen(&a_in_the_etch(), t(60));
    let used = &board.uses[0];
    // Busy from 0 to 20 of 60 s; it has not gone anywhere else yet.
    assert_eq!(used.past.of, s(60));
    assert!((used.past.loaded - 20.0 / 60.0).abs() < 1e-9, "{:?}", used.past);
    assert!(used.past.empty.abs() < 1e-9);
    // The ways of a hoist have no gaps and no jumps.
    let ways: Vec<_> = board.times.ways.iter().filter(|w| w.hoist == H1).collect();
    for pair in ways.windows(2) {
        assert_eq!(pair[0].to, pair[1].from);
    }
    assert!(ways.iter().any(|w| w.going == Going::Empty && w.to == (t(160), LOAD)));
}

#[test]
fn rows_are_sorted_and_found() {
    let board = scene::trouble().board();
    let names = |sort, find: &str| {
        sorted(&board.loads, sort, find).iter().map(|r| r.carrier.clone()).collect::<Vec<_>>()
    };
    // B07 is over, B06 has eight seconds.
    assert_eq!(names(Sort::Slack, "")[..2], ["B07", "B06"]);
    assert_eq!(names(Sort::Tank, "")[..3], ["B09", "B07", "B08"]);
    assert_eq!(names(Sort::Order, "")[..4], ["B01", "B02", "B03", "B04"]);
    assert_eq!(names(Sort::Order, "knobs"), ["B05", "B06", "B07", "B08"]);
    assert_eq!(names(Sort::Tank, "KNOBS t1"), ["B08", "B06"]);
    assert_eq!(names(Sort::Finish, "over"), ["B07"]);
    assert!(names(Sort::Finish, "no such thing").is_empty());
}

#[test]
fn tanks_say_when_they_are_ready_and_who_comes() {
    let board = scene::calm().board();
    let row = |name: &str| board.tanks.iter().find(|t| t.name == name).unwrap();
    assert_eq!(row("T26").ready_in, Some(Dur::from_mins(95) - (scene::NOW - Time::ZERO)));
    assert_eq!(row("T14").ready_in, None, "nobody knows");
    assert_eq!(row("T09").next.as_ref().map(|(who, _)| who.as_str()), Some("B07"));
}

fn press(app: &mut App, board: &Board, keys: &str) -> Vec<Effect> {
    let mut effects = Vec::new();
    for key in keys.split_whitespace() {
        let key = match key {
            "Space" => Key::Char(' '),
            "Enter" => Key::Enter,
            "Esc" => Key::Esc,
            "Tab" => Key::Tab,
            "BackTab" => Key::BackTab,
            "Down" => Key::Down,
            "Left" => Key::Left,
            "Right" => Key::Right,
            other => Key::Char(other.chars().next().unwrap()),
        };
        if let Some(action) = keymap::action(app.context(), key) {
            effects.extend(update(app, action, board, board.now));
        }
    }
    effects
}

fn supervisor() -> (App, Board) {
    let scene = scene::calm();
    (App::new(Arc::new(scene.line.clone()), Post::Supervisor, false, false), scene.board())
}

#[test]
fn a_supervisor_begins_with_the_board_and_number_keys_go_everywhere() {
    let (mut app, board) = supervisor();
    assert_eq!(app.screen, Screen::Board);
    for (key, screen) in
        [("6", Screen::Chart), ("7", Screen::Tanks), ("5", Screen::Board), ("2", Screen::Live)]
    {
        press(&mut app, &board, key);
        assert_eq!(app.screen, screen, "{key}");
    }
}

#[test]
fn the_help_opens_at_the_keys_of_the_screen() {
    let (mut app, board) = supervisor();
    for (keys, title) in
        [("?", "On the board"), ("Esc 7 ?", "In the pictures over time"), ("Esc 1 ?", "On the live screen")]
    {
        press(&mut app, &board, keys);
        let Some(Dialog::Help(line)) = app.dialog else { panic!("{keys}") };
        assert_eq!(help::lines()[line].0, title);
    }
}

#[test]
fn nothing_is_confirmed_where_no_call_stands_large() {
    for keys in ["Space", "Enter", "6 Space", "7 Enter", "/ b Enter Space"] {
        let (mut app, board) = supervisor();
        app.see(&board);
        assert_eq!(press(&mut app, &board, keys), Vec::new(), "{keys}");
        assert!(app.message.as_ref().is_some_and(|m| m.tone.is_bad()), "{keys}");
    }
}

#[test]
fn typing_narrows_all_parts_and_escape_gives_them_back() {
    let (mut app, board) = supervisor();
    press(&mut app, &board, "/ e t c h");
    assert!(app.desk.typing);
    let tanks = |app: &App| app.desk.tanks(&board).iter().map(|t| t.name.clone()).collect::<Vec<_>>();
    assert_eq!(tanks(&app), ["T05", "T06", "T07", "T08"]);
    assert_eq!(app.desk.loads(&board).iter().map(|l| l.carrier.as_str()).collect::<Vec<_>>(), ["B07"]);
    // Letters are letters while typing: q leaves nothing, o sorts nothing.
    press(&mut app, &board, "q o");
    assert_eq!((app.desk.filter.as_str(), app.dialog.is_none()), ("etchqo", true));
    press(&mut app, &board, "Enter Tab Down t");
    assert!(app.dialog.is_none() && app.message.as_ref().is_some_and(|m| m.tone.is_bad()), "no tank passes");
    press(&mut app, &board, "Esc");
    assert_eq!((app.desk.filter.as_str(), tanks(&app).len(), app.desk.part), ("", 30, Part::Tanks));
}

#[test]
fn the_next_move_is_chosen_first_and_then_those_around_it() {
    let (mut app, board) = supervisor();
    press(&mut app, &board, "6 Tab");
    let chosen = |app: &App| app.desk.run(&board).map(|r| (r.carrier, r.when));
    assert_eq!(chosen(&app), Some((CarrierId(6), When::Planned)));
    press(&mut app, &board, "BackTab");
    assert_eq!(chosen(&app), Some((CarrierId(7), When::Past)), "the last that was made");
    press(&mut app, &board, "j j");
    assert_eq!(chosen(&app).map(|(c, _)| c), Some(CarrierId(5)));
    press(&mut app, &board, "Esc");
    assert_eq!(chosen(&app), None);
}

#[test]
fn pictures_go_back_and_on_and_come_back_to_now() {
    let (mut app, board) = supervisor();
    press(&mut app, &board, "6");
    let first = |app: &App| app.desk.first(board.now, 80);
    let (home, scale) = (first(&app), app.desk.scale());
    assert_eq!(board.now - home, scale * 20, "now stands at a quarter");
    press(&mut app, &board, "h h h");
    assert_eq!(first(&app) - home, scale * -30);
    press(&mut app, &board, "l");
    assert_eq!(first(&app) - home, scale * -20);
    press(&mut app, &board, "n");
    assert_eq!(first(&app), home);
    press(&mut app, &board, "+");
    assert!(app.desk.scale() < scale);
    // Far beyond the end of everything there is nothing to see.
    let ends = board.times.runs.iter().map(|r| r.end).max().unwrap();
    press(&mut app, &board, &"Right ".repeat(2000));
    assert!(first(&app) <= ends);
    // A chosen move far away is brought into sight.
    press(&mut app, &board, &"h ".repeat(20));
    press(&mut app, &board, "Tab");
    let (run, left) = (app.desk.run(&board).unwrap(), first(&app));
    assert!(left <= run.start && run.start < left + app.desk.scale() * 60);
}
