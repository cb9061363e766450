//! "What next?": which moments are asked about, what choices cost, and what keys do.

use std::sync::OnceLock;

use dwellhand::civil::Opening;
use dwellhand::line::Line;
use dwellhand::plan::{Price, Settings};
use dwellhand::train::{Question, questions};
use dwellhand::tui::action::Action;
use dwellhand::tui::dialog::Dialog;
use dwellhand::tui::{Posed, Turn};

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

#[test]
fn the_call_is_hidden_until_a_digit_answers() {
    let (line, found) = asked();
    for q in found {
        for (row, choice) in q.shown().into_iter().enumerate() {
            let mut asked = Posed::new(line, &opening(), q, (1, 1));
            assert!(
                asked.board.call.is_none()
                    && asked.board.next.is_empty()
                    && asked.board.times.runs.iter().all(|r| r.when != dwellhand::view::When::Planned)
            );
            assert_eq!(asked.act(Action::Type('0')), Turn::Stays);
            assert_eq!(asked.act(Action::Type('9')), Turn::Stays);
            assert_eq!(asked.answer, None, "no such row");
            let digit = char::from_digit(row as u32 + 1, 10).unwrap();
            assert_eq!(asked.act(Action::Type(digit)), Turn::Stays);
            assert_eq!(asked.answer, Some(choice));
            assert!(asked.board.call.is_some(), "now it is shown");
            let Some(Dialog::Ask(ask)) = &asked.app.dialog else { panic!("no verdict") };
            assert_eq!(ask.title.starts_with("Right"), choice == 0);
            assert_eq!(ask.title == "That would have broken a window", q.is_harmful(choice));
            assert_eq!(asked.act(Action::Confirm), Turn::Next);
        }
    }
}

#[test]
fn a_question_is_passed_over_by_escape_and_the_quiz_left_by_q() {
    let (line, found) = asked();
    let mut passed = Posed::new(line, &opening(), &found[0], (1, 2));
    assert_eq!((passed.act(Action::Back), passed.answer), (Turn::Next, None));
    let mut left = Posed::new(line, &opening(), &found[0], (1, 2));
    assert_eq!(left.act(Action::Type('q')), Turn::Leave);
    let mut moved = Posed::new(line, &opening(), &found[0], (1, 2));
    assert_eq!(moved.act(Action::Down), Turn::Stays);
    moved.act(Action::Confirm);
    assert_eq!(moved.answer, Some(found[0].shown()[1]), "arrows and Enter choose as well");
}
