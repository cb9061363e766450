//! `--plain`: everything a screen shows is said in words, and words do what keys do.

use std::sync::Arc;

use dwellhand::ids::HoistId;
use dwellhand::shift::{Command, Place};
use dwellhand::tui::Post;
use dwellhand::tui::app::{App, Effect, Screen};
use dwellhand::tui::plain::{Means, Reads, Teller, WORDS, hear};
use dwellhand::units::Dur;
use dwellhand::view::{Board, Said, Standing};

use crate::cli::run_with;
use crate::scene::{self, Scene};

fn app(scene: &Scene, post: Post) -> App {
    let mut app = App::new(Arc::new(scene.line.clone()), post, false, true);
    app.learn(&scene.line, &scene.history.state().book);
    app
}

/// Begins, and says a word.
fn said(app: &mut App, board: &Board, word: &str) -> (Vec<Effect>, Vec<String>) {
    let reply = hear(app, word, board, board.now + Dur::from_secs(5));
    (reply.effects, reply.lines)
}

#[test]
fn every_word_that_tells_says_what_is_on_the_board() {
    let scene = scene::trouble();
    let board = scene.board();
    let mut app = app(&scene, Post::Operator);
    said(&mut app, &board, "");
    for (word, ..) in WORDS.iter().filter(|w| matches!(w.2, Means::Tells(_))) {
        let (effects, lines) = said(&mut app, &board, word);
        assert!(effects.is_empty() && !lines.is_empty() && app.screen == Screen::Live, "{word}");
        assert!(lines.iter().all(|l| !l.is_empty() && !l.contains('\n')), "{word}: {lines:?}");
    }
    let all = |app: &mut App, word: &str| said(app, &board, word).1.join("\n");
    let told = all(&mut app, "board");
    for fact in board.carriers.iter().filter(|c| matches!(c.place, Place::InTank { .. })) {
        assert!(told.contains(&format!("{} of order", fact.name)), "{} is not in:\n{told}", fact.name);
    }
    let log = all(&mut app, "log 100");
    assert!(board.log.iter().all(|row| log.contains(&row.text)), "{log}");
    assert!(log.contains("TAKEN BACK: placed B07 in T06 etch"), "{log}");
    assert_eq!(said(&mut app, &board, "log 3").1.len(), 3);
    let counts = all(&mut app, "counts");
    assert!(board.parts.iter().all(|p| counts.contains(&p.name)), "{counts}");
    let baths = all(&mut app, "baths");
    assert!(board.baths.iter().all(|b| baths.contains(&format!("{}:", b.name))), "{baths}");
    let tank = all(&mut app, "tank t05");
    assert!(tank.contains("B07: step 3 of 13") && tank.contains("OVER by"), "{tank}");
    assert!(all(&mut app, "tank").contains("Which tank? One of "));
    assert!(all(&mut app, "explain etch").contains("Too long"));
}

#[test]
fn pages_are_asked_for_by_name() {
    let scene = scene::trouble();
    let board = scene.board();
    let mut app = app(&scene, Post::Operator);
    said(&mut app, &board, "");
    let reads = |app: &mut App, word: &str| hear(app, word, &board, board.now).reads;
    for word in ["start", "handover", "shift", "debrief", "pace"] {
        assert!(reads(&mut app, word).is_some(), "{word}");
    }
    assert_eq!(reads(&mut app, "record b07"), Some(Reads::Record(dwellhand::ids::CarrierId(6))));
    assert_eq!(reads(&mut app, "record"), None);
    assert_eq!(said(&mut app, &board, "record B99").1, ["B99 is no carrier of this shift."]);
}

/// Answers name keys (`u takes it back`): they are understood where there are none.
#[test]
fn a_key_stands_for_its_word_and_only_the_call_is_done_by_enter() {
    let scene = scene::calm();
    let board = scene.board();
    let mut app = app(&scene, Post::Supervisor);
    // Before the cautions are read nothing else is heard.
    assert_eq!(said(&mut app, &board, "undo"), (vec![], vec!["Enter first: I have read it.".to_owned()]));
    said(&mut app, &board, "");
    for (key, question) in
        [("u", "Take back the last thing said?"), ("x", "What did you do?"), ("s", "What is wrong")]
    {
        let (_, lines) = said(&mut app, &board, key);
        assert!(lines[0].starts_with(question), "{key}: {lines:?}");
        said(&mut app, &board, "n");
    }
    // A change is begun and left; Enter still means the call, and never a commit.
    let (_, lines) = said(&mut app, &board, "propose");
    assert!(lines.len() > 3, "{lines:?}");
    said(&mut app, &board, "n");
    // Not so soon after an answer that it could be the tail of it.
    let effects = hear(&mut app, "", &board, board.now + Dur::from_secs(10)).effects;
    assert!(matches!(&effects[..], [Effect::Submit { command: Command::Lift { .. }, .. }]), "{effects:?}");
}

/// `quit` leaves, also where a question stands open; it is no word to look for.
#[test]
fn quit_in_a_list_leaves() {
    let scene = scene::calm();
    let board = scene.board();
    let mut app = app(&scene, Post::Operator);
    said(&mut app, &board, "");
    said(&mut app, &board, "other");
    let (_, lines) = said(&mut app, &board, "quit");
    assert!(lines.iter().any(|l| l.starts_with("Leave dwellhand?")), "{lines:?}");
}

/// What the screens mark as rush is said to be.
#[test]
fn rush_is_said_in_words() {
    let scene = scene::calm();
    let board = scene.board();
    let mut app = app(&scene, Post::Operator);
    said(&mut app, &board, "");
    for word in ["board", "queue"] {
        let (_, lines) = said(&mut app, &board, word);
        let rush = |name: &str, is: bool| {
            let line = lines.iter().find(|l| l.starts_with(&format!("{name} ")));
            assert!(line.is_none_or(|l| l.contains("RUSH") == is), "{line:?}");
        };
        board.queue.iter().for_each(|q| rush(&q.carrier, q.rush));
        board.loads.iter().for_each(|l| rush(&l.carrier, l.rush));
    }
}

#[test]
fn a_change_is_proposed_seen_and_dropped_in_words() {
    let scene = scene::calm();
    let board = scene.board();
    let mut app = app(&scene, Post::Supervisor);
    said(&mut app, &board, "");
    said(&mut app, &board, "w");
    // Takes whatever comes first until something is proposed.
    for _ in 0..5 {
        if app.dialog.is_some() {
            said(&mut app, &board, "1");
        }
    }
    assert_eq!(app.changes.stack.len(), 1, "{:?}", app.dialog);
    let words = app.changes.stack[0].words.clone();
    let (_, lines) = said(&mut app, &board, "effects");
    assert!(lines[0].contains(&words), "{lines:?}");
    let (effects, _) = said(&mut app, &board, "commit");
    assert!(effects.is_empty(), "nothing is committed before it was seen: {effects:?}");
    let (_, lines) = said(&mut app, &board, "drop");
    assert!(lines[0].starts_with("Drop what is proposed?"), "{lines:?}");
    said(&mut app, &board, "y");
    assert!(app.changes.stack.is_empty());
}

#[test]
fn a_shift_is_read_out_from_a_pipe() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("s.jsonl");
    let path = path.to_str().unwrap();
    let typed = "\ncounts\nhandover\nshift\nrecord B01\ndebrief\nenter\nn\nreckon rinse --stages 2 --dilution 1000\n\
                 board\nlog\nquit\ny\n";
    let said = run_with(&["run", "--plain", "--shift", path], typed).is(0);
    said.has_said(&[
        "dwellhand: ",
        "received",
        "Record of carrier B01",
        "This page advises",
        "31.1",
        "shift opened, 15 carriers",
        "Leave dwellhand?",
    ]);
}

#[test]
fn a_drill_is_told_without_a_screen_and_ends_with_its_debrief() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("d.jsonl");
    let path = path.to_str().unwrap();
    let drill = ["drill", "rush-order", "--plain", "--shift", path];
    let said = run_with(&drill, "\n\nlog\nquit\ny\n").is(0);
    said.has_said(&["It lasts ", "Enter: begin.", "shift opened", "Debrief"]);
    // And it can be gone on with.
    run_with(&["run", "--plain", "--shift", path], "\n\nlog\nquit\ny\n")
        .is(0)
        .has_said(&["left the screens"]);
}

/// A screen reader reads every line: what goes on is told when it sets in, not whenever its figure grows.
#[test]
fn what_the_plan_cannot_keep_is_told_once() {
    let scene = scene::trouble();
    let mut app = app(&scene, Post::Watch);
    app.screen = Screen::Live;
    let mut teller = Teller::default();
    let told = teller.tell(&scene.board(), &app).join("\n");
    assert!(told.contains("THIS PLAN CANNOT KEEP"), "{told}");
    for seconds in [5, 20, 60] {
        let mut board = scene.board();
        for breach in &mut board.breaches {
            breach.by += Dur::from_secs(seconds);
            breach.text = format!("{} {}", breach.text, breach.by);
        }
        let told = teller.tell(&board, &app).join("\n");
        assert!(!told.contains("CANNOT KEEP"), "{told}");
    }
}

#[test]
fn a_page_has_no_line_without_words() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("s.jsonl");
    let path = path.to_str().unwrap();
    let said = run_with(&["run", "--plain", "--shift", path], "\nmoves 3\nlog 1\nquit\ny\n").is(0);
    let planned = said.out.lines().filter(|l| l.contains(" planned: ")).count();
    assert_eq!(planned, 3, "{}", said.out);
    assert!(said.out.lines().all(|l| !l.trim().is_empty()), "{}", said.out);
}

/// What was done instead of the call is asked about as the call is: a dwell that is too short, a place that is too soon.
#[test]
fn what_can_hardly_be_true_is_asked_about_whichever_way_it_is_said() {
    let scene = scene::calm();
    let board = scene.board();
    let mut app = app(&scene, Post::Operator);
    said(&mut app, &board, "");
    let early =
        board.tanks.iter().find_map(|t| t.held.iter().find(|h| h.standing == Standing::Early)).unwrap();
    let (_, lines) = said(&mut app, &board, "x");
    let pick = lines.iter().position(|l| l.contains(&format!("picked {} from", early.name))).unwrap();
    said(&mut app, &board, &pick.to_string());
    let (effects, lines) = said(&mut app, &board, "");
    assert!(effects.is_empty() && lines.concat().contains("the sheet asks for"), "{lines:?}");
    assert!(said(&mut app, &board, "n").0.is_empty());
    for word in ["x", &pick.to_string(), ""] {
        said(&mut app, &board, word);
    }
    let (effects, _) = said(&mut app, &board, "y");
    assert!(matches!(&effects[..], [Effect::Submit { command: Command::Lift { .. }, .. }]), "{effects:?}");
}

#[test]
fn a_place_sooner_than_the_move_takes_is_asked_about_also_when_it_is_said_late_or_its_time_is_changed() {
    let scene = scene::hanging();
    let board = scene.board();
    let mut app = app(&scene, Post::Operator);
    said(&mut app, &board, "");
    let (effects, lines) = said(&mut app, &board, "late 28");
    assert!(effects.is_empty() && lines.concat().contains("Is it down already?"), "{lines:?}");
    said(&mut app, &board, "n");
    let (effects, _) = said(&mut app, &board, "late 2");
    assert!(matches!(&effects[..], [Effect::Submit { command: Command::Lower { .. }, .. }]), "{effects:?}");
    // It was not lifted then: that is refused, and nothing is asked first.
    let (effects, _) = said(&mut app, &board, "late 60m");
    assert!(matches!(&effects[..], [Effect::Submit { command: Command::Lower { .. }, .. }]), "{effects:?}");
    // The pick before it was after the shortest dwell; two hours earlier it would not have been.
    let doubt = board.last_said.as_ref().unwrap().doubt.as_ref().unwrap();
    assert!(doubt.question(board.last_said.as_ref().unwrap().at).is_none());
    assert!(doubt.question(board.now - Dur::from_mins(120)).is_some());
}

/// A hoist that put down at the other end a moment ago is not over the load yet; what `verify` would reject is asked about.
#[test]
fn a_pick_sooner_than_the_hoist_can_be_there_is_asked_about() {
    let scene = scene::calm();
    let mut board = scene.board();
    let call = board.call.clone().unwrap();
    let Said::Lift { from, .. } = call.said else { panic!("{:?}", call.said) };
    let tanks = scene.line.tanks.iter();
    let far = tanks.max_by_key(|(id, _)| scene.line.empty_travel(HoistId(0), *id, from)).unwrap().0;
    let takes = scene.line.empty_travel(HoistId(0), far, from).unwrap();
    assert!(takes > Dur::from_secs(16), "{takes}");
    for (ago, asks) in [(Dur::from_secs(1), true), (takes, false)] {
        board.hooks[0].put_down = Some((far, board.now - ago));
        let question = board.doubt(&scene.line, call.said).and_then(|d| d.question(board.now));
        assert_eq!(question.is_some_and(|q| q.contains("Is it there already?")), asks, "{ago}");
    }
}
