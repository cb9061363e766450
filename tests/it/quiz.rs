//! "What next?": which moments are asked about, what choices cost, and what keys do.

use std::sync::{Arc, OnceLock};

use dwellhand::civil::Opening;
use dwellhand::line::Line;
use dwellhand::plan::{Budget, Price, Settings, choices};
use dwellhand::replay::Recording;
use dwellhand::schedule::Schedule;
use dwellhand::train::{Grade, Question, next_question, questions};
use dwellhand::tui::action::Action;
use dwellhand::tui::dialog::Dialog;
use dwellhand::tui::keymap::{self, Key};
use dwellhand::tui::screens::{Look, paint};
use dwellhand::tui::tape::Wish;
use dwellhand::tui::{AskedQuestion, Depth, GlyphSet, Turn};
use dwellhand::units::Dur;
use dwellhand::view::choice_words;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use crate::helpers::{
    A, B, ETCH, H1, LOAD, book, good_plan, good_second, lift, lower, opened, plan_at, plant, s, say, t,
};
use crate::report::ran;

fn opening() -> Opening {
    Opening::parse("2026-11-25T06:00:00+01:00").unwrap()
}

fn asked() -> &'static (Line, Vec<Question>) {
    static ASKED: OnceLock<(Line, Vec<Question>)> = OnceLock::new();
    ASKED.get_or_init(|| {
        let (line, history, _) = ran(4);
        let settings = Settings { effort: 2, ..Settings::default() };
        let found = questions(&line, &history, &settings, 6);
        let again = questions(&line, &history, &settings, 6);
        let times = |qs: &[Question]| qs.iter().map(|q| (q.at, q.choices.clone())).collect::<Vec<_>>();
        assert_eq!(times(&found), times(&again), "nothing is drawn");
        (line, found)
    })
}

#[test]
fn questions_go_from_plain_to_upset_and_each_has_a_move_that_costs_something() {
    let (_, found) = asked();
    assert!((1..=6).contains(&found.len()), "{}", found.len());
    assert!(found.is_sorted_by_key(|q| q.grade));
    for q in found {
        assert!(q.choices.len() > 1 && q.choices[0].price == Price::Nothing && q.is_right(0));
        let carriers: Vec<_> = q.choices.iter().map(|c| c.first.carrier).collect();
        assert!(carriers[1..].iter().all(|c| *c != carriers[0]), "another carrier first is another move");
        let mut shown = q.shown();
        shown.sort_unstable();
        assert_eq!(shown, (0..q.choices.len()).collect::<Vec<_>>(), "every choice is shown once");
    }
    assert!(found.iter().any(|q| (1..q.choices.len()).any(|k| !q.is_right(k))));
}

/// A plan that was made badly is no measure of another move: the call is planned on from as well as the others are.
#[test]
fn the_call_is_searched_for_as_the_others_are() {
    let line = plant();
    let history = opened(&line, book(2));
    // One after the other, although there is room for both.
    let mut second = good_second();
    for m in &mut second {
        m.start += s(600);
    }
    let slow = plan_at(0, [good_plan(), second].concat());
    let mut budget = Budget { tries: 500, stop: &mut || false };
    let found = choices(&line, history.state(), &slow, t(0), &Settings::default(), &mut budget).unwrap();
    let ends = |schedule: &Schedule| schedule.moves.iter().map(|m| m.start).max().unwrap();
    assert_eq!(found[0].first.carrier, A, "it is still the call");
    assert!(ends(&found[0].schedule) < t(700), "{}", ends(&found[0].schedule));
    assert!(found.len() > 1);
    for other in &found[1..] {
        assert!(ends(&other.schedule) + s(100) > ends(&found[0].schedule), "nothing was gained by {other:?}");
    }
}

/// What is in its shortest dwell still is offered, and marked with when it can begin.
#[test]
fn a_move_that_cannot_begin_yet_says_when_it_can() {
    let line = plant();
    let mut history = opened(&line, book(2));
    say(&line, &mut history, t(0), &lift(A, H1, LOAD, t(0))).unwrap();
    say(&line, &mut history, t(13), &lower(H1, ETCH, t(13))).unwrap();
    let mut moves = good_second();
    for m in &mut moves {
        m.start = m.start - s(140);
    }
    moves.extend(&good_plan()[1..]);
    let planned = plan_at(15, moves);
    let mut budget = Budget { tries: 500, stop: &mut || false };
    let state = history.state();
    let found = choices(&line, state, &planned, t(16), &Settings::default(), &mut budget).unwrap();
    let [call, other] = &found[..] else { panic!("{found:?}") };
    assert_eq!((call.first.carrier, call.waits), (B, None));
    // Down at 13, at least 60 s, less the hook's 2.
    assert_eq!((other.first.carrier, other.waits), (A, Some(t(71))));
    let words = choice_words(&line, state, other, t(16));
    assert!(words.ends_with("(cannot begin yet: in 0:55)"), "{words}");
    assert!(!choice_words(&line, state, call, t(16)).contains("yet"));
}

#[test]
fn the_call_is_hidden_until_a_digit_answers() {
    let (line, found) = asked();
    for q in found {
        for (row, choice) in q.shown().into_iter().enumerate() {
            let mut asked = AskedQuestion::new(line, &opening(), q, (1, 1));
            assert!(
                asked.board().call.is_none()
                    && asked.board().next.is_empty()
                    && asked.board().times.runs.iter().all(|r| r.when != dwellhand::view::When::Planned)
            );
            asked.act(Action::Type('0'));
            asked.act(Action::Type('9'));
            assert_eq!((asked.answer, asked.turn), (None, Turn::Stays), "no such row");
            let digit = char::from_digit(row as u32 + 1, 10).unwrap();
            asked.act(Action::Type(digit));
            assert_eq!((asked.answer, asked.turn), (Some(choice), Turn::Stays));
            assert!(asked.board().call.is_some(), "now it is shown");
            let Some(Dialog::Page(page)) = &asked.app.dialog else { panic!("no verdict") };
            assert_eq!(page.title.starts_with("Right"), choice == 0);
            assert_eq!(page.title == "That would have broken a window", q.is_harmful(choice));
            let said = |word: &str| page.lines.iter().any(|(l, _)| l.contains(word));
            let better = (1..q.choices.len()).any(|k| q.weighs(k) == Some(std::cmp::Ordering::Less));
            let no_best = better || choice != 0 && q.is_right(choice);
            let names_call = said(if no_best { "The call: " } else { "Best: " });
            assert!(
                names_call && said("or better") == better && said("You: ") == (choice != 0),
                "{:?}",
                page.lines
            );
            asked.act(Action::Confirm);
            assert_eq!(asked.turn, Turn::Next);
        }
    }
}

/// The key line offers the digits there are moves for, no more.
#[test]
fn the_key_line_counts_the_moves() {
    let (line, found) = asked();
    for q in found {
        let asked = AskedQuestion::new(line, &opening(), q, (1, 1));
        let area = Rect::new(0, 0, 80, 24);
        let mut buf = Buffer::empty(area);
        let board = asked.board();
        paint(&mut buf, area, board, &asked.app, &Look::new(Depth::Mono, GlyphSet::Ascii));
        let keys: String = (0..80).map(|x| buf[(x, 23)].symbol()).collect();
        let count = asked.app.choosing.as_ref().unwrap().rows.len();
        let digits = if count == 2 { "1 or 2 choose".to_owned() } else { format!("1 to {count} choose") };
        assert!(keys.trim_start().starts_with(&digits), "{count}: {keys}");
    }
}

/// What a choice costs is worked out by planning on from both, so what breaks more there is what it is priced at.
#[test]
fn a_harmful_choice_names_the_window_it_breaks_with_seconds_and_harm() {
    let (_, found) = asked();
    let all = || found.iter().flat_map(|q| (1..q.choices.len()).map(move |k| (q, k)));
    for (q, k) in all().filter(|(q, k)| q.is_harmful(*k)) {
        let cost = &q.costs[k];
        assert!(
            cost.breaks.iter().any(|e| e.breach.by > Dur::ZERO && e.breach.harm.is_some()),
            "{:?}",
            cost.words()
        );
        assert!(cost.weighs().is_gt(), "{:?}", cost.words());
        assert!(!cost.is_nothing());
    }
    assert!(found.iter().all(|q| q.costs[0].is_nothing() && q.costs.len() == q.choices.len()));
}

#[test]
fn a_question_is_passed_over_by_n_and_the_quiz_left_by_escape() {
    let (line, found) = asked();
    let mut passed = AskedQuestion::new(line, &opening(), &found[0], (1, 2));
    passed.act(Action::Tape(Wish::Learn));
    assert_eq!((passed.turn, passed.answer), (Turn::Next, None));
    let mut left = AskedQuestion::new(line, &opening(), &found[0], (1, 2));
    left.act(Action::Tape(Wish::Unlearn));
    assert_eq!(left.turn, Turn::Leave);
    let mut moved = AskedQuestion::new(line, &opening(), &found[0], (1, 2));
    moved.act(Action::Down);
    moved.act(Action::Confirm);
    assert_eq!(moved.answer, Some(found[0].shown()[1]), "arrows and Enter choose as well");
    // Under the answer N ends it, and in the question no key does nothing without saying so.
    let key = |context, c| keymap::action(context, Key::Char(c)).unwrap();
    moved.turn = Turn::Stays;
    moved.act(key(keymap::Context::Verdict, 'N'));
    assert_eq!(moved.turn, Turn::Leave);
    let mut told = AskedQuestion::new(line, &opening(), &found[0], (1, 2));
    told.act(key(keymap::Context::Choose, 'T'));
    assert!(told.app.message.as_ref().is_some_and(|m| m.text.contains("Choose a move")));
}

#[test]
fn the_line_can_be_looked_at_before_an_answer_and_nothing_is_said() {
    let (line, found) = asked();
    let mut asked = AskedQuestion::new(line, &opening(), &found[0], (1, 1));
    for action in [Action::Next, Action::PageDown, Action::Detail, Action::Back, Action::Help, Action::Back] {
        asked.act(action);
        assert_eq!((asked.turn, asked.answer), (Turn::Stays, None), "{action:?}");
    }
    assert!(asked.app.choosing.is_some() && asked.app.dialog.is_none());
}

/// A recording is looked at from where it stands, and the same moment is found again.
#[test]
fn the_next_moment_ahead_is_of_the_grade_asked_for_if_there_is_one() {
    let (line, history, _) = ran(4);
    let recording = Recording::new(Arc::new(line), opening(), history.events().to_vec());
    let settings = Settings { effort: 2, ..Settings::default() };
    let next = |from, grade| next_question(&recording, from, grade, &settings, &mut || false);
    let (first, question) = next(recording.start(), Grade::Plain).unwrap();
    assert!(question.is_worth_asking() && first.at == question.at);
    let (again, _) = next(recording.start(), Grade::Plain).unwrap();
    assert_eq!(first, again);
    let (second, _) = next(recording.after(first.ix + 1), Grade::Plain).unwrap();
    assert!(second > first, "{second:?}");
    assert!(next_question(&recording, recording.start(), Grade::Plain, &settings, &mut || true).is_none());
    assert!(next(recording.end(), Grade::Plain).is_none(), "nothing is left at the end");
}

/// In lines: what tells may be asked first, a number answers and is told what it comes to, `pass` passes over, and the input
/// may end.
#[test]
fn a_quiz_goes_in_lines_too() {
    let mut program = assert_cmd::Command::new(env!("CARGO_BIN_EXE_dwellhand"));
    program.args(["drill", "--quiz", "rush-order", "--questions", "3", "--plain"]);
    let out = program.write_stdin("alarms\n9\n1\npass\n").output().unwrap();
    let told = String::from_utf8(out.stdout).unwrap();
    let asked: Vec<&str> = told.lines().filter(|l| l.starts_with("WHAT NEXT? question ")).collect();
    let number = |l: &&str| {
        l["WHAT NEXT? question ".len()..]
            .starts_with(['1', '2', '3'])
            .then(|| l.as_bytes()["WHAT NEXT? question ".len()])
    };
    assert_eq!(asked.iter().filter_map(number).collect::<Vec<_>>(), *b"1123", "{told}");
    assert!(
        told.contains("no alarm") && told.contains("\nBest: pick ") || told.contains("\nThe call: pick "),
        "{told}"
    );
    assert!(told.contains(": passed over\n") && told.contains(" of 1 right, "), "{told}");
}
