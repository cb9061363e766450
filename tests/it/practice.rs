//! What a practice is held to: a load that nobody moves breaks its window, what was another's is not one's own, nobody is
//! good by doing nothing; what is a gain is not told as a cost.

use std::sync::Arc;

use assert_cmd::Command as Program;
use dwellhand::civil::Opening;
use dwellhand::ids::{RecipeId, Seq, StepNo};
use dwellhand::line::{Harm, Visit};
use dwellhand::replay::{Cost, Excess};
use dwellhand::report::{self, Source};
use dwellhand::shift::{AlarmLevel, Command, History, Who};
use dwellhand::sim::{Crew, Pace};
use dwellhand::train::{Brief, Debrief, Score, TakenOver};
use dwellhand::tui::Post;
use dwellhand::tui::action::Action;
use dwellhand::tui::app::{App, Effect, update};
use dwellhand::tui::dialog::{Ask, Consequence, Dialog};
use dwellhand::units::{Dur, Time};
use dwellhand::verify::{Breach, Rule, happened, happened_by};
use dwellhand::view::Board;

use crate::helpers::{
    A, ETCH, H1, LOAD, book, good_plan, good_second, lift, lower, opened, plan_at, plant, s, say, t,
};
use crate::report::board;
use crate::scene;

/// A is put into etch and left there; the plan goes on with it at once.
fn left_alone() -> History {
    let line = plant();
    let mut history = opened(&line, book(2));
    let schedule = plan_at(0, [good_plan(), good_second()].concat());
    say(&line, &mut history, t(0), &Command::AdoptPlan { schedule }).unwrap();
    say(&line, &mut history, t(2), &lift(A, H1, LOAD, t(2))).unwrap();
    say(&line, &mut history, t(18), &lower(H1, ETCH, t(18))).unwrap();
    let schedule = plan_at(18, good_plan().into_iter().skip(1).collect());
    say(&line, &mut history, t(18), &Command::AdoptPlan { schedule }).unwrap();
    history
}

#[test]
fn a_load_that_nobody_moves_breaks_its_window_all_the_same() {
    let (line, history) = (plant(), left_alone());
    assert_eq!(happened(&line, history.state()), [], "what is over has kept its windows");
    let found = happened_by(&line, history.state(), t(7200));
    assert_eq!(found.len(), 1, "{found:?}");
    assert!(found[0].rule == Rule::Over && found[0].text.ends_with("and it goes on"), "{found:?}");
    assert!(happened_by(&line, history.state(), t(20)).is_empty(), "not yet");
    let debrief = Debrief::of(&line, &history, t(7200));
    assert_eq!(debrief.outcome.breaches.len(), 1);
    assert_eq!(debrief.score().harms.iter().sum::<usize>(), 1);
    let board = board(&line, &history, t(7200));
    let opening = Opening::parse("2026-11-25T06:00:00+01:00").unwrap();
    let source = Source { line: &line, history: &history, board: &board, opening: &opening, now: t(7200) };
    assert!(report::shift(&source).text().contains("and it goes on"));
}

#[test]
fn what_was_put_back_counts_the_dwell_it_had_once() {
    let (line, mut history) = (plant(), left_alone());
    say(&line, &mut history, t(30), &lift(A, H1, ETCH, t(30))).unwrap();
    say(&line, &mut history, t(50), &lower(H1, ETCH, t(50))).unwrap();
    let (_, max) = line.window(RecipeId(0), Visit::Step(StepNo(0)));
    let ends = t(50) + max - s(30 - 18);
    let over = |now| happened_by(&line, history.state(), now).iter().filter(|b| b.rule == Rule::Over).count();
    assert_eq!((over(ends - s(1)), over(ends + s(1))), (0, 1));
}

#[test]
fn a_load_that_is_left_on_the_hook_is_too_long_in_the_air() {
    let mut line = plant();
    line.recipes[RecipeId(0)].steps[0].air_max = s(60);
    let mut history = opened(&line, book(1));
    say(&line, &mut history, t(2), &lift(A, H1, LOAD, t(2))).unwrap();
    say(&line, &mut history, t(18), &lower(H1, ETCH, t(18))).unwrap();
    say(&line, &mut history, t(60), &lift(A, H1, ETCH, t(60))).unwrap();
    let found = happened_by(&line, history.state(), t(7200));
    assert!(found.iter().any(|b| b.rule == Rule::Air && b.text.contains("on the hook")), "{found:?}");
}

#[test]
fn a_call_that_nobody_answers_counts_with_the_time_it_has_been_due() {
    let (line, history) = (plant(), left_alone());
    let soon = Debrief::of(&line, &history, t(90));
    assert_eq!((soon.ignored.len(), soon.followed().called), (0, 2), "somebody may be on the way to it");
    let late = Debrief::of(&line, &history, t(7200));
    assert_eq!((late.ignored.len(), late.followed().called, late.followed().followed), (1, 3, 2));
    assert!(late.reactions().unwrap().mean > Dur::from_mins(30), "{:?}", late.reactions());
}

#[test]
fn nobody_is_good_by_doing_nothing() {
    let score =
        |finished, clean, harms| Score { harms, finished, clean, called: 10, followed: 10, reaction: None };
    let idle = score(0, 0, [0; 4]);
    let honest = score(4, 2, [0, 1, 3, 0]);
    let better = score(4, 4, [0; 4]);
    let spoiled = score(4, 3, [1, 0, 0, 0]);
    assert!(honest.rank() < idle.rank() && better.rank() < honest.rank() && honest.rank() < spoiled.rank());
}

#[test]
fn what_was_done_before_it_was_taken_over_is_not_ones_own() {
    let (line, history) = (plant(), left_alone());
    let brief = Brief::of_take_over("other.jsonl", TakenOver { after: Seq(4), at: t(7000) });
    let whole = Debrief::of(&line, &history, t(7200));
    let own = whole.clone().of_practice(Some(&brief));
    assert_eq!((whole.before.len(), own.before.len(), own.outcome.breaches.len()), (0, 1, 0));
    assert!(own.deeds.iter().all(|d| d.seq > Seq(4)) && own.deeds.len() < whole.deeds.len());
    let board = board(&line, &history, t(7200));
    let opening = Opening::parse("2026-11-25T06:00:00+01:00").unwrap();
    let source = Source { line: &line, history: &history, board: &board, opening: &opening, now: t(7200) };
    let text = report::debrief(&source, &own).text();
    assert!(text.starts_with("Debrief: taken over from other.jsonl"), "{text}");
    assert!(text.contains("Broken before it was taken over"), "{text}");
}

#[test]
fn what_a_crew_did_is_not_counted_for_whoever_goes_on() {
    let line = plant();
    let mut events = left_alone().events().to_vec();
    let lifted =
        events.iter_mut().find(|e| matches!(e.event, dwellhand::shift::Event::Lifted { .. })).unwrap();
    lifted.by = Who::Crew;
    let history = History::of(&line, events);
    let debrief = Debrief::of(&line, &history, t(30)).of_practice(None);
    assert_eq!(debrief.followed().followed, 1, "the place was somebody's own");
}

/// Where everybody is out before the drill ends, others have until its end too.
#[test]
fn others_are_counted_up_to_the_end_of_the_drill() {
    let line = plant();
    let brief = Brief {
        name: "d".to_owned(),
        title: "D".to_owned(),
        about: String::new(),
        lasting: Some(Dur::from_mins(60)),
        taken_over: None,
    };
    let nobody = opened(&line, book(0));
    assert_eq!(Debrief::of(&line, &nobody, t(600)).of_practice(Some(&brief)).until, t(3600));
    let busy = left_alone();
    assert_eq!(Debrief::of(&line, &busy, t(600)).of_practice(Some(&brief)).until, t(600));
}

fn excess(harm: Harm, seconds: i64, further: bool) -> Excess {
    let breach = Breach {
        rule: Rule::Over,
        harm: Some(harm),
        carrier: "B09".to_owned(),
        place: "T05".to_owned(),
        at: Time::ZERO,
        by: s(seconds),
        text: String::new(),
        open_ended: false,
    };
    Excess { breach, further }
}

#[test]
fn a_gain_is_never_told_as_a_cost() {
    let only_gains = Cost { finish: -s(843), ..Cost::default() };
    assert_eq!(only_gains.words(), ["the last carrier is out earlier: 14:03"]);
    assert!(only_gains.weighs().is_lt());
    let mixed = Cost { breaks: vec![excess(Harm::Rework, 18, false)], late: -s(3600), ..Cost::default() };
    assert_eq!(
        mixed.words(),
        ["breaks B09 in T05 by 0:18 (rework, too long)", "but orders are late by less in all: 1:00:00"]
    );
    assert!(mixed.weighs().is_gt(), "harm comes first");
    let worth_it = Cost {
        breaks: vec![excess(Harm::Shade, 18, true)],
        keeps: vec![excess(Harm::Scrap, 60, false)],
        ..Cost::default()
    };
    assert_eq!(
        worth_it.words(),
        [
            "spares B09 in T05 1:00 (scrap, too long)",
            "at the price of this: breaks B09 in T05 by 0:18 more (shade, too long)"
        ]
    );
    assert!(worth_it.weighs().is_lt());
    assert_eq!(Cost::default().words(), ["nothing that was found"]);
    assert!(Cost { finish: Dur(400), ..Cost::default() }.weighs().is_eq());
}

#[test]
fn what_says_where_to_go_is_left_out_of_the_alarms_of_a_hidden_call() {
    for scene in [scene::trouble(), scene::calm()] {
        let mut board = scene.board();
        let due = board.alarms.iter().filter(|a| a.active && a.level == AlarmLevel::Due).count();
        let all = board.alarms.len();
        board.hide_advice();
        assert!(board.alarms.len() + due >= all);
        assert!(!board.alarms.iter().any(|a| a.text.contains("Lift to") || a.text.contains("Lower into")));
        assert!(!board.alarms.iter().any(|a| a.active && a.level == AlarmLevel::Due && a.is_alarm()));
    }
}

fn app(board: &Board) -> App {
    let mut app = App::new(Arc::new(scene::line()), Post::Operator, true, false);
    app.see(board);
    app
}

#[test]
fn an_open_question_about_the_call_goes_with_the_clock_and_with_the_call() {
    let scene = scene::calm();
    let mut board = scene.board();
    let mut app = app(&board);
    let said = board.call.as_ref().unwrap().said;
    let ask = |line: &str| {
        let lines = vec![line.to_owned(), "Was it really done just now?".to_owned()];
        Some(Dialog::Ask(Ask { title: "Done already?".to_owned(), lines, yes: Consequence::Say(said) }))
    };
    app.dialog = ask("in 2:56");
    board.call.as_mut().unwrap().early = Some("in 1:10".to_owned());
    app.see(&board);
    let Some(Dialog::Ask(open)) = &app.dialog else { panic!("closed") };
    assert_eq!(open.lines[0], "in 1:10");
    board.call.as_mut().unwrap().early = None;
    app.see(&board);
    assert!(app.dialog.is_none() && app.message.is_some(), "it need not be asked any more");
    app.dialog = ask("in 0:20");
    board.call = None;
    app.see(&board);
    assert!(app.dialog.is_none());
}

#[test]
fn nothing_is_said_where_a_crew_works_or_the_practice_is_over() {
    let scene = scene::calm();
    let board = scene.board();
    let now = board.now + s(60);
    let mut app = app(&board);
    assert!(matches!(update(&mut app, Action::Confirm, &board, now)[..], [Effect::Submit { .. }]));
    app.practising.crewed = true;
    for action in [Action::Confirm, Action::Late, Action::Otherwise] {
        assert_eq!(update(&mut app, action, &board, now), [], "{action:?}");
        assert!(app.dialog.is_none() && app.message.as_ref().unwrap().text.contains("crew"));
    }
    (app.practising.crewed, app.practising.over) = (false, true);
    for action in
        [Action::Confirm, Action::Late, Action::Undo, Action::Wrong, Action::Enter, Action::Acknowledge]
    {
        assert_eq!(update(&mut app, action, &board, now), [], "{action:?}");
        assert!(app.dialog.is_none() && app.message.as_ref().unwrap().text.contains("is over"));
    }
}

fn run(home: &std::path::Path, args: &[&str], code: i32) -> (String, String) {
    let done =
        Program::cargo_bin("dwellhand").unwrap().args(args).env("XDG_STATE_HOME", home).assert().code(code);
    let text = |bytes: &[u8]| String::from_utf8(bytes.to_vec()).unwrap();
    (text(&done.get_output().stdout), text(&done.get_output().stderr))
}

#[test]
fn a_time_outside_the_shift_is_refused() {
    let home = tempfile::tempdir().unwrap();
    for args in [["--at", "05:00"], ["--why", "05:00"], ["--from", "05:00"]] {
        let mut all = [&["replay"][..], &args[..]].concat();
        let out = home.path().join("fork.jsonl");
        if args[0] == "--from" {
            all.extend(["--out", out.to_str().unwrap()]);
        }
        let (_, complaint) = run(home.path(), &all, 2);
        assert!(complaint.contains("05:00:00 is before the shift was opened, at 06:00:00"), "{complaint}");
        assert!(!out.exists());
    }
    let (_, complaint) = run(home.path(), &["replay", "--at", "20:00"], 2);
    assert!(complaint.contains("is after the end of what is kept (12:21"), "{complaint}");
}

/// One journal is one practice, whatever is added about it later.
#[test]
fn a_drill_that_was_left_and_gone_on_with_is_one_practice() {
    let home = tempfile::tempdir().unwrap();
    std::fs::create_dir_all(home.path().join("dwellhand")).unwrap();
    let line = |journal: &str, ended: bool, finished: usize| {
        format!(
            "{{\"at\":\"2026-11-25T06:00:00+01:00\",\"initials\":\"AB\",\"name\":\"count-short\",\"journal\":\"{journal}\",\
             \"ended\":{ended},\"drill\":{{\"scrap\":0,\"rework\":0,\"shade\":0,\"nuisance\":0,\"finished\":{finished},\
             \"clean\":{finished},\"called\":9,\"followed\":9}}}}\n"
        )
    };
    let path = home.path().join("dwellhand/progress.jsonl");
    std::fs::write(&path, line("a.jsonl", false, 1) + &line("a.jsonl", false, 1)).unwrap();
    let of_ab = || run(home.path(), &["drill", "--progress", "AB"], 0).0;
    assert!(of_ab().starts_with("AB: 1 practised\n"), "{}", of_ab());
    let list = run(home.path(), &["drill"], 0).0;
    assert!(list.contains("left early, never to its end"), "{list}");
    assert!(list.lines().all(|l| l.chars().count() <= 80), "{list}");
    std::fs::write(&path, line("a.jsonl", false, 1) + &line("a.jsonl", true, 2) + &line("b.jsonl", false, 0))
        .unwrap();
    assert!(
        of_ab().starts_with("AB: 2 practised\n") && of_ab().contains("2 out, nothing broken"),
        "{}",
        of_ab()
    );
    assert!(run(home.path(), &["drill"], 0).0.contains("best so far, AB: 2 out"));
}

#[test]
fn the_screens_say_which_crew_works() {
    let scene = scene::calm();
    let mut app = app(&scene.board());
    assert_eq!(app.practising.crew_words(), "");
    let opening = Opening::parse("2026-11-25T06:00:00+01:00").unwrap();
    let clock = Box::new(dwellhand::clock::ManualClock::default());
    let settings = dwellhand::plan::Settings::default();
    let mut shift = dwellhand::live::LiveShift::in_memory(crate::small::line(), opening, clock, settings);
    for (pace, kind) in [(Pace::HUMAN, "simulated"), (Pace::PUNCTUAL, "punctual")] {
        shift.set_hands(Box::new(Crew::new(pace, 1)));
        assert_eq!(shift.hands(), Some(kind));
        (app.practising.crewed, app.practising.crew) = (true, kind);
        assert_eq!(app.practising.crew_words(), format!("  crew {kind}"));
    }
}
