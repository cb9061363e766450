//! What a shift teaches: calls and answers, what came from outside, others on the same shift; cards and words.

use std::sync::Arc;

use dwellhand::civil::Opening;
use dwellhand::ids::{Arena, RecipeId, Seq, StepNo};
use dwellhand::line::{Line, Role, Visit};
use dwellhand::plan::Settings;
use dwellhand::replay::{Recording, Why, compare, why};
use dwellhand::report::{self, Source};
use dwellhand::schedule::Move;
use dwellhand::shift::{Change, Claim, Command, History, Stamped, StopCause, Who as By, decide};
use dwellhand::sim::Outcome;
use dwellhand::train::{
    Debrief, Does, ENOUGH, Effort, Learned, Met, Stood, Who, deeds, ignored, made, rivals,
};
use dwellhand::tui::Post;
use dwellhand::tui::app::{App, Effect, Screen, update};
use dwellhand::tui::dialog::Dialog;
use dwellhand::tui::keymap::{self, Key};
use dwellhand::units::Dur;
use dwellhand::view::{Board, lesson_of, lessons};

use crate::helpers::{
    A, ANODISE, B, ETCH, H1, H2, LOAD, book, good_plan, good_second, lift, lower, opened, plain_hoist,
    plan_at, plant, retime, s, say, t, undo,
};
use crate::report::{board, ran};
use crate::scene;

/// A and B planned on [`plant`]: the plan lifts A at 2.
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

#[test]
fn a_pick_as_called_has_a_reaction_from_the_instant_the_plan_lifts() {
    let mut history = both();
    done(&mut history, &lift(A, H1, LOAD, t(7)), 7);
    done(&mut history, &lower(H1, ETCH, t(18)), 18);
    let all = deeds(&plant(), &history);
    assert_eq!(all.len(), 2);
    assert!(all.iter().all(|d| d.followed));
    assert_eq!((all[0].due, all[0].reaction()), (Some(t(2)), Some(s(5))));
    assert_eq!(all[1].reaction(), None, "a place has no instant at which it is due");
}

#[test]
fn an_early_pick_counts_as_none() {
    let mut history = both();
    done(&mut history, &lift(A, H1, LOAD, t(1)), 1);
    assert_eq!(deeds(&plant(), &history)[0].reaction(), Some(Dur::ZERO));
}

#[test]
fn another_carrier_is_a_call_not_followed_and_what_is_taken_back_does_not_count() {
    let mut history = both();
    done(&mut history, &lift(B, H1, LOAD, t(4)), 4);
    let all = deeds(&plant(), &history);
    assert_eq!((all[0].followed, all[0].reaction()), (false, None));
    assert_eq!(all[0].called.map(|m| m.carrier), Some(A));
    assert!(matches!(all[0].does, Does::Pick { from, .. } if from == LOAD));
    let back = undo(&history);
    done(&mut history, &back, 6);
    assert_eq!(deeds(&plant(), &history), []);
    done(&mut history, &lift(A, H1, LOAD, t(8)), 8);
    let earlier = retime(&history, t(5));
    done(&mut history, &earlier, 9);
    let all = deeds(&plant(), &history);
    assert_eq!((all.len(), all[0].reaction()), (1, Some(s(3))), "at the time it was done, not said");
}

#[test]
fn a_call_that_was_due_stays_due_and_one_that_was_not_may_be_put_off() {
    let later = |by: i64, now: i64| {
        let moved = [good_plan(), good_second()].concat().into_iter();
        plan_at(
            now,
            moved
                .map(|mut m| {
                    m.start += s(by);
                    m
                })
                .collect(),
        )
    };
    for (adopted, due) in [(1, 32), (20, 2)] {
        let mut history = both();
        done(&mut history, &Command::AdoptPlan { schedule: later(30, adopted) }, adopted);
        done(&mut history, &lift(A, H1, LOAD, t(40)), 40);
        assert_eq!(deeds(&plant(), &history)[0].due, Some(t(due)), "put in force at {adopted}");
    }
}

/// A is brought into the etch by one hoist and fetched by another, which the plan has do so at 22.
fn handed_over() -> (Line, History) {
    let line = Line { hoists: Arena::new(vec![plain_hoist("H1", 0), plain_hoist("H2", 6)]), ..plant() };
    let mut history = opened(&line, book(1));
    let mut moves = good_plan();
    (moves[1].hoist, moves[1].start) = (H2, t(20));
    say(&line, &mut history, t(0), &Command::AdoptPlan { schedule: plan_at(0, moves) }).unwrap();
    (line, history)
}

fn said_by(who: By, line: &Line, history: &mut History, at: i64, command: &Command) {
    for (at, event) in decide(line, history, command, t(at)).unwrap() {
        let seq = Seq(history.events().len() as u64 + 1);
        history.push(line, Stamped { seq, at, entered: at, by: who, event });
    }
}

#[test]
fn nobody_begins_a_pick_before_they_have_confirmed_what_they_did_last() {
    for (placed_by, due) in [(By::Operator, 30), (By::Supervisor, 22)] {
        let (line, mut history) = handed_over();
        say(&line, &mut history, t(4), &lift(A, H1, LOAD, t(4))).unwrap();
        said_by(placed_by, &line, &mut history, 30, &lower(H1, ETCH, t(30)));
        // Nobody has worked H2 yet: it is for whoever confirmed last.
        let open = |now| ignored(&line, &history, now).iter().find(|i| i.called.hoist == H2).map(|i| i.due);
        assert_eq!((open(t(85)), open(t(95))), (None, Some(t(30))));
        say(&line, &mut history, t(33), &lift(A, H2, ETCH, t(33))).unwrap();
        let pick = deeds(&line, &history).pop().unwrap();
        assert_eq!((pick.due, pick.reaction()), (Some(t(due)), Some(s(33 - due))), "placed by {placed_by:?}");
    }
}

/// Why, of the last thing that was done.
fn why_of_last(line: &Line, history: &History) -> Why {
    let opening = Opening::parse("2026-11-25T06:00:00+01:00").unwrap();
    let recording = Recording::new(Arc::new(line.clone()), opening, history.events().to_vec());
    let point = recording.before(history.last_physical().unwrap().seq).unwrap();
    why(&recording, point, &Settings::default(), 0, &mut || false)
}

/// A call that nobody answers is not forgotten because a later plan calls for something else; only its pick makes it good.
#[test]
fn a_call_that_lapses_was_not_answered_and_the_crane_stood_meanwhile() {
    let line = plant();
    let mut history = opened(&line, book(2));
    let adopt = |history: &mut History, at: i64, moves| {
        say(&line, history, t(at), &Command::AdoptPlan { schedule: plan_at(at, moves) }).unwrap();
    };
    adopt(&mut history, 0, good_plan());
    let put_off = |moves: Vec<_>, by: i64| {
        moves.into_iter().map(|m: Move| Move { start: m.start + s(by), ..m }).collect::<Vec<_>>()
    };
    // To be lifted at 2; at 200 a plan calls for B at 462 instead.
    adopt(&mut history, 200, put_off(good_second(), 300));
    let open = |history: &History, now: i64| -> Vec<_> {
        ignored(&line, history, t(now)).iter().map(|i| (i.called.carrier, i.due, i.until)).collect()
    };
    assert_eq!(open(&history, 300), [(A, t(2), t(200))]);
    let stood = |history: &History, now: i64| {
        let opening = Opening::parse("2026-11-25T06:00:00+01:00").unwrap();
        let mut history = history.clone();
        say(&line, &mut history, t(now), &Command::Note { text: "so far".to_owned() }).unwrap();
        let one = Recording::new(Arc::new(line.clone()), opening, history.events().to_vec());
        let figures = compare(&one, &one).figures;
        figures.iter().find(|f| f.key == "stood_ms").unwrap().one / 1000
    };
    assert_eq!(stood(&history, 300), 198);
    // B is due at 462 and still waits at 700.
    assert_eq!(stood(&history, 700), 198 + 238);
    assert_eq!(open(&history, 700), [(A, t(2), t(200)), (B, t(462), t(700))]);
    say(&line, &mut history, t(710), &lift(A, H1, LOAD, t(710))).unwrap();
    // Why tells of the call that was left, what became of it and of whoever it cost something.
    let told = why_of_last(&line, &history);
    let left: Vec<_> = told.unanswered.iter().map(|(i, words)| (i.due, i.until, words.as_str())).collect();
    assert_eq!(left, [(t(2), t(200), "pick A from L")]);
    assert!(!open(&history, 712).iter().any(|(carrier, ..)| *carrier == A));
    assert_eq!(stood(&history, 712), 198 + 248);
}

/// A load that a hoist holds on to in its dip is waited for as any other: its lift out is a pick.
#[test]
fn a_lift_out_of_a_dip_that_nobody_makes_is_a_call_left_standing() {
    let mut line = plant();
    let mut dips = line.recipes[RecipeId(0)].clone();
    dips.steps[0].on_hook = true;
    line.recipes = Arena::new(vec![dips]);
    let mut history = opened(&line, book(1));
    let mut moves = good_plan();
    (moves[0].release, moves[1].attach) = (false, false);
    let adopt = |history: &mut History, at: i64, moves: &[Move]| {
        let schedule = plan_at(at, moves.to_vec());
        say(&line, history, t(at), &Command::AdoptPlan { schedule }).unwrap();
    };
    adopt(&mut history, 0, &moves);
    say(&line, &mut history, t(2), &lift(A, H1, LOAD, t(2))).unwrap();
    say(&line, &mut history, t(15), &lower(H1, ETCH, t(15))).unwrap();
    adopt(&mut history, 15, &moves[1..]);
    assert!(history.state().hoists[H1].carrier.is_some(), "it is held on to");
    // Planned out at 75: at once, for the hook is on.
    let debrief = |now| Debrief::of(&line, &history, t(now));
    assert_eq!(debrief(120).stood_unsaid(), Dur::ZERO, "not two minutes");
    assert_eq!(debrief(400).stood_unsaid(), s(325));
    assert_eq!(debrief(400).ignored.len(), 1);
    let breach = debrief(400).outcome.breaches[0].clone();
    assert!(debrief(400).was_left(&breach), "{}", breach.text);
}

/// A load that hangs for long is put down late by the plan of its lift, however often it was planned anew meanwhile.
#[test]
fn a_place_is_as_late_as_the_plan_of_its_lift_has_it() {
    let line = plant();
    let mut history = opened(&line, book(1));
    let adopt = |history: &mut History, at: i64, by: i64| {
        let moved = |m: Move| Move { start: m.start + s(by), ..m };
        let schedule = plan_at(at, good_plan().into_iter().map(moved).collect());
        say(&line, history, t(at), &Command::AdoptPlan { schedule }).unwrap();
    };
    adopt(&mut history, 0, 0);
    say(&line, &mut history, t(2), &lift(A, H1, LOAD, t(2))).unwrap();
    // Down at 15 by the plan of then, and at 95 by the one that was made as it still hung.
    adopt(&mut history, 2, 0);
    adopt(&mut history, 80, 80);
    say(&line, &mut history, t(100), &lower(H1, ETCH, t(100))).unwrap();
    let told = why_of_last(&line, &history);
    assert_eq!(told.done.unwrap().after, Some(s(85)));
    assert!(told.cost.unwrap().finish > s(60), "all of it cost something");
}

/// Where a hoist put down last stays so, whatever is said of it afterwards; else a pick said late was held against a stop.
#[test]
fn a_stop_that_is_over_is_not_taken_for_a_put_down() {
    let line = plant();
    let mut history = both();
    done(&mut history, &lift(A, H1, LOAD, t(4)), 4);
    done(&mut history, &lower(H1, ETCH, t(18)), 18);
    let stop = Change::StopHoist { hoist: H1, cause: StopCause::Fault, until: None };
    done(&mut history, &Command::Change { change: stop, why: String::new() }, 40);
    done(&mut history, &Command::Change { change: Change::RunHoist { hoist: H1 }, why: String::new() }, 60);
    let board = board(&line, &history, t(70));
    assert_eq!(board.hooks[0].put_down, Some((ETCH, t(18))));
}

/// A hoist that was said to run again by now stands no longer, though nobody has lifted with it since.
#[test]
fn a_stop_that_is_over_excuses_nobody() {
    let (line, mut history) = handed_over();
    say(&line, &mut history, t(4), &lift(A, H1, LOAD, t(4))).unwrap();
    say(&line, &mut history, t(15), &lower(H1, ETCH, t(15))).unwrap();
    let stop = Change::StopHoist { hoist: H2, cause: StopCause::Fault, until: Some(t(100)) };
    say(&line, &mut history, t(16), &Command::Change { change: stop, why: String::new() }).unwrap();
    let of_h2 = |now| ignored(&line, &history, now).iter().any(|i| i.called.hoist == H2);
    assert!(!of_h2(t(95)) && of_h2(t(105)));
    let met = Met::of(&history, t(95));
    assert_eq!(met.stood, [Stood { hoist: H2, from: t(16), until: t(95), goes_on: true }]);
    let met = Met::of(&history, t(105));
    assert_eq!(met.stood, [Stood { hoist: H2, from: t(16), until: t(100), goes_on: false }]);
}

#[test]
fn a_stop_names_its_crane_and_says_that_it_goes_on() {
    let (line, mut history) = handed_over();
    let stop = |until| Change::StopHoist { hoist: H2, cause: StopCause::Fault, until };
    for (at, until) in [(16, Some(t(40))), (20, None)] {
        say(&line, &mut history, t(at), &Command::Change { change: stop(until), why: String::new() })
            .unwrap();
    }
    let now = t(80);
    let (board, opening) =
        (board(&line, &history, now), Opening::parse("2026-11-25T06:00:00+01:00").unwrap());
    let source = Source { line: &line, history: &history, board: &board, opening: &opening, now };
    let page = report::debrief(&source, &Debrief::of(&line, &history, now)).text();
    assert!(page.contains("crane H2 stops") && page.contains("still going on, for 1:04 so far"), "{page}");
}

/// Said to be where it was called to, and found somewhere else: the pick was as called, the place was not.
#[test]
fn a_load_that_is_found_in_another_tank_was_not_put_where_it_was_called() {
    let mut history = both();
    done(&mut history, &lift(A, H1, LOAD, t(4)), 4);
    done(&mut history, &lower(H1, ETCH, t(15)), 15);
    let followed =
        |history: &History| deeds(&plant(), history).iter().map(|d| d.followed).collect::<Vec<_>>();
    assert_eq!(followed(&history), [true, true]);
    let visit = Visit::Stray { resume: StepNo(0) };
    let claim = Claim::InTank { tank: ANODISE, since: t(15), visit };
    done(&mut history, &Command::Correct { carrier: A, claim }, 40);
    assert_eq!(followed(&history), [true, false]);
    assert_eq!(Debrief::of(&plant(), &history, t(41)).followed().followed, 1);
}

/// Every deed is either followed or not, broken windows are the verifier's, and the page says the same in every form.
#[test]
fn a_debrief_counts_what_happened() {
    let mut missed = 0;
    for seed in 0..6 {
        let (line, history, now) = ran(seed);
        let debrief = Debrief::of(&line, &history, now);
        let f = debrief.followed();
        assert_eq!(f.called + f.uncalled, debrief.deeds.len());
        missed += f.called - f.followed;
        assert_eq!(debrief.outcome, Outcome::of(&line, &history, now));
        let reaction = debrief.reactions().unwrap();
        assert!(reaction.median <= reaction.p90 && reaction.count <= f.followed);
        let (board, opening) =
            (board(&line, &history, now), Opening::parse("2026-11-25T06:00:00+01:00").unwrap());
        let source = Source { line: &line, history: &history, board: &board, opening: &opening, now };
        let page = report::debrief(&source, &debrief);
        for form in [page.text(), page.markdown(), page.csv(), page.json().to_string()] {
            assert!(form.contains("done as called") && form.contains("nine in ten below"), "{form}");
            assert!(form.contains(&format!("{} (", f.followed)), "{form}");
        }
    }
    assert!(missed > 0, "a crew that puts carriers into wrong tanks follows some calls not");
}

/// Others meet with the same: the best plan is at least as clean as any of them, and the same seed gives the same.
#[test]
fn others_are_reckoned_on_the_same_shift() {
    let (line, history, now) = ran(3);
    let met = Met::of(&history, now);
    let effort = Effort { whole: 500, each: 100, seed: 5 };
    let found = rivals(&line, &met, now, effort).unwrap();
    assert_eq!(found, rivals(&line, &met, now, effort).unwrap());
    assert_eq!(found.len(), 5);
    let of = |who: fn(Who) -> bool| found.iter().find(|r| who(r.who)).unwrap().came;
    let plan = of(|w| w == Who::Plan);
    assert!(plan.broken.is_clean(), "{plan:?}");
    let calls = of(|w| w == Who::Calls);
    assert!(calls.finished > 0 && plan.finished >= calls.finished, "{plan:?} {calls:?}");
}

#[test]
fn what_came_from_outside_is_told_from_what_was_decided() {
    let line = plant();
    let mut history = both();
    let change = |change| Command::Change { change, why: "word".to_owned() };
    let stop = change(Change::StopHoist { hoist: H1, cause: StopCause::Fault, until: None });
    done(&mut history, &change(Change::Hold { carrier: B }), 1);
    done(&mut history, &stop, 10);
    done(&mut history, &change(Change::RunHoist { hoist: H1 }), 70);
    done(&mut history, &stop, 200);
    let met = Met::of(&history, t(260));
    assert_eq!(met.book, history.state().book);
    let stops: Vec<_> = met.stops.iter().map(|s| (s.from, s.until)).collect();
    assert_eq!(stops, [(t(10), t(70)), (t(200), t(260))], "one that is not over ends with the shift");
    assert_eq!(met.said.len(), 3, "that B is held was somebody's own idea");
    assert!(met.seen().is_empty(), "people see that a crane stands");
    let others = rivals(&line, &met, t(260), Effort { whole: 10, each: 10, seed: 1 }).unwrap();
    assert_eq!(others.len(), 5);
}

fn press(app: &mut App, board: &Board, keys: &str) -> Vec<Effect> {
    let mut effects = Vec::new();
    for key in keys.chars() {
        let key = match key {
            '<' => Key::Esc,
            'v' => Key::Down,
            c => Key::Char(c),
        };
        if let Some(action) = keymap::action(app.context(), key) {
            effects.extend(update(app, action, board, board.now));
        }
    }
    effects
}

#[test]
fn cards_open_from_everywhere_and_a_tank_opens_its_own() {
    let scene = scene::calm();
    let board = scene.board();
    let mut app = App::new(Arc::new(scene.line.clone()), Post::Operator, false, false);
    for from in ["1", "5", "6", "7"] {
        press(&mut app, &board, from);
        let before = app.screen;
        press(&mut app, &board, "9");
        assert_eq!(app.screen, Screen::Lessons);
        press(&mut app, &board, "<");
        assert_eq!(app.screen, before, "back to where it was opened");
    }
    for row in board.tanks.iter().filter(|r| matches!(scene.line.tanks[r.tank].role, Role::Bath(_))) {
        let Role::Bath(stage) = scene.line.tanks[row.tank].role else { continue };
        press(&mut app, &board, "1");
        app.dialog = Some(Dialog::Tank(row.tank));
        press(&mut app, &board, "9");
        let kind = scene.line.stages[stage].kind;
        assert_eq!((app.screen, app.lessons.row), (Screen::Lessons, lesson_of(kind)), "{}", row.name);
    }
    assert_eq!(app.dialog, None);
}

#[test]
fn a_card_has_the_windows_of_every_sheet_that_uses_the_bath() {
    let scene = scene::calm();
    let all = lessons(&scene.line);
    for (_, recipe) in scene.line.recipes.iter() {
        for step in &recipe.steps {
            let card = &all[lesson_of(scene.line.stages[step.stage].kind)];
            let says = card.parts.iter().any(|(head, text)| {
                head == "Sheet" && text.contains(&recipe.name) && text.contains(&step.min.to_string())
            });
            assert!(says, "{} is not on the card of {}: {:#?}", recipe.name, card.title, card.parts);
        }
    }
    assert!(
        all.iter().filter(|l| l.bath).all(|l| l.parts.iter().any(|(h, t)| h == "Caution" && !t.is_empty()))
    );
}

fn long_page() -> dwellhand::report::Page {
    use dwellhand::report::{Body, Page, Part};
    let body = Body::Lines((0..40).map(|n| n.to_string()).collect());
    let parts = vec![Part { title: "Lines".to_owned(), body }];
    Page { title: "Debrief".to_owned(), lead: Vec::new(), parts, foot: "the end".to_owned() }
}

#[test]
fn the_debrief_is_asked_for_by_one_key_and_nothing_is_said_there() {
    let scene = scene::calm();
    let board = scene.board();
    let mut app = App::new(Arc::new(scene.line.clone()), Post::Operator, false, false);
    assert_eq!(press(&mut app, &board, "0"), [Effect::Debrief]);
    assert_eq!(app.screen, Screen::Reading);
    app.desk.cells = 80;
    app.reading.pages = vec![("Debrief".to_owned(), Arc::new(long_page()))];
    assert_eq!(press(&mut app, &board, " x "), [], "Space reads on");
    assert_eq!(app.reading.scroll, 16);
    press(&mut app, &board, "<");
    assert_eq!(app.screen, Screen::Live);
}

/// Moves of a crew that takes so much longer, on a small line.
fn moved(slower: f64) -> (dwellhand::line::Line, History) {
    use crate::lines::{Shape, does, varied};
    use dwellhand::plan::{Settings, calls, plan};
    use dwellhand::sim::{Crew, Pace};
    let (line, book) = varied(3, Shape { steps: 8, carriers: 6, rinse: 3, hoists: 1 });
    let mut history = crate::lines::opened(&line, book);
    let mut crew =
        Crew::new(Pace { slower, distracted: 0.0, wrong_tank: 0.0, wrong_carrier: 0.0, ..Pace::HUMAN }, 3);
    let mut now = dwellhand::units::Time::ZERO;
    let settings = Settings { effort: 2, ..Settings::default() };
    loop {
        let schedule = plan(&line, history.state(), now, &settings);
        let next = calls(&line, history.state(), &schedule, now, 4);
        does(&line, &mut history, &Command::AdoptPlan { schedule }, now);
        let Some((press, command)) = crew.next(&line, history.state(), &next, now) else { break };
        now = now.max(press);
        does(&line, &mut history, &command, now);
    }
    (line, history)
}

#[test]
fn a_crew_that_is_a_fifth_slower_is_measured_so() {
    for (slower, about) in [(1.0, 1000), (1.2, 1200)] {
        let (line, history) = moved(slower);
        let moves = made(&line, &history);
        let learned = Learned::of(&line, &history);
        assert!(moves.len() >= ENOUGH, "{}", moves.len());
        let stretch = i64::from(learned.pace.stretch[&H1]);
        // The crew stretches the drip as well, which is the sheet's: a little more than its factor is measured.
        assert!((stretch - about).abs() <= 40, "{slower}: {stretch}");
        let late = learned.kinds.iter().filter_map(|k| k.late).map(|s| s.p90).max().unwrap();
        assert!(late > Dur::ZERO && late < s(12), "{late}");
    }
}

#[test]
fn too_few_moves_are_no_pace_and_enough_are() {
    let (line, history) = moved(1.2);
    let moves = made(&line, &history);
    let few = Learned::from_moves(&moves[..ENOUGH - 1]);
    assert_eq!(few.pace, dwellhand::shift::Pace::default());
    assert!(few.hoists[0].1 == ENOUGH - 1 && few.hoists[0].2 > 1100, "shown, not used: {:?}", few.hoists);
    assert!(!Learned::from_moves(&moves[..ENOUGH]).pace.stretch.is_empty());
}

/// The pace is in the journal as an event: whoever folds it has the same line and plans the same.
#[test]
fn a_learned_pace_slows_the_line_for_plan_and_verifier_alike() {
    use dwellhand::plan::{Settings, plan};
    use dwellhand::units::Time;
    use dwellhand::verify::{is_possible, verify};
    let (line, history) = moved(1.2);
    let pace = Learned::of(&line, &history).pace;
    let mut shift = crate::lines::opened(&line, history.state().book.clone());
    let before = plan(&line, shift.state(), Time::ZERO, &Settings::default());
    crate::lines::does(&line, &mut shift, &Command::LearnPace { pace: pace.clone() }, Time::ZERO);
    assert_eq!(shift.state().pace, Some(pace));
    let after = plan(&line, shift.state(), Time::ZERO, &Settings::default());
    assert!(is_possible(&verify(&line, shift.state(), &after)));
    assert!(
        !is_possible(&verify(&line, shift.state(), &before)),
        "a plan for quicker hands is not true any more"
    );
    let again = History::of(&line, shift.events().to_vec());
    assert_eq!(again.state(), shift.state());
    assert_eq!(plan(&line, again.state(), Time::ZERO, &Settings::default()), after);
}

/// Counted, not timed: the same slow crew, ten seeds, with the pace of another shift of it and without.
#[test]
fn plans_with_the_pace_of_a_slow_crew_keep_more_windows() {
    use crate::lines::{Shape, varied};
    use dwellhand::clock::ManualClock;
    use dwellhand::live::LiveShift;
    use dwellhand::plan::{Reserve, Settings};
    use dwellhand::shift::Who as By;
    use dwellhand::sim::{Crew, Pace};
    use dwellhand::units::Time;
    let mut broken = [0, 0];
    for seed in 0..8 {
        let (line, book) = varied(seed, Shape { steps: 8, carriers: 7, rinse: 1, hoists: 1 });
        let mut learned = None;
        for (k, count) in broken.iter_mut().enumerate() {
            let clock = ManualClock::default();
            let opening = Opening::parse("2026-11-25T06:00:00+01:00").unwrap();
            // Nothing else is kept free, so that what is counted is the pace's doing.
            let settings = Settings { effort: 2, reserve: Reserve::NONE, ..Settings::default() };
            let mut shift =
                LiveShift::in_memory(Arc::new(line.clone()), opening, Box::new(clock.clone()), settings);
            shift.submit(&Command::Open { book: book.clone() }, By::Supervisor).unwrap();
            if k == 1 {
                let pace = learned.take().unwrap();
                shift.submit(&Command::LearnPace { pace }, By::Program).unwrap();
            }
            let slow =
                Pace { slower: 1.2, distracted: 0.0, wrong_tank: 0.0, wrong_carrier: 0.0, ..Pace::HUMAN };
            shift.set_hands(Box::new(Crew::new(slow, seed)));
            let end = Time::ZERO + Dur::from_secs(12 * 3600);
            while shift.now() < end
                && shift
                    .state()
                    .carriers
                    .iter()
                    .any(|(_, c)| !matches!(c.place, dwellhand::shift::Place::Finished { .. }))
            {
                let next = shift.next_wake().max(shift.now() + Dur(1)).min(end);
                clock.set(next);
                shift.tick().unwrap();
            }
            *count += dwellhand::verify::happened(&line, shift.state()).len();
            learned = Some(Learned::of(&line, shift.history()).pace);
        }
    }
    assert!(broken[1] < broken[0], "without and with: {broken:?}");
}
