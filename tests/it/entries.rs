//! Entries by keys: what is pressed is in the ledger, and what is missing is said at once.

use std::sync::Arc;

use dwellhand::civil::Opening;
use dwellhand::clock::ManualClock;
use dwellhand::ids::{CarrierId, HoistId, Id as _, OrderId};
use dwellhand::line::{Limit, Quantity};
use dwellhand::live::LiveShift;
use dwellhand::plan::Settings;
use dwellhand::shift::ledger::{Count, Entry, Shade, Sign};
use dwellhand::shift::{Claim, Command, Event, Who};
use dwellhand::tui::app::{App, Pane, Reckon, update};
use dwellhand::tui::dialog::Dialog;
use dwellhand::tui::keymap::{self, Key};
use dwellhand::tui::{Post, board_of, perform};
use dwellhand::units::{Dur, Time};
use dwellhand::view::{Board, Readiness};

use crate::small::{self, ANODISE, CLEAN, LOAD};

const B1: CarrierId = CarrierId(0);

struct Post1 {
    shift: LiveShift,
    clock: ManualClock,
    app: App,
}

impl Post1 {
    /// B1 went into the first bath and was taken off by hand; its order was racked as the file says.
    fn new() -> Self {
        let mut line = (*small::line()).clone();
        line.tanks[ANODISE].limits.push(Limit {
            quantity: Quantity::Temperature,
            least: Some(18.0),
            most: Some(22.0),
            every: Some(Dur::from_mins(120)),
            overdue_stops: false,
        });
        let clock = ManualClock::default();
        let opening = Opening::parse("2026-11-25T06:00:00+01:00").unwrap();
        let line = Arc::new(line);
        let settings = Settings::default();
        let mut shift = LiveShift::in_memory(Arc::clone(&line), opening, Box::new(clock.clone()), settings);
        let mut book = small::book();
        book.carriers[B1].parts = 60;
        shift.submit(&Command::Open { book }, Who::Supervisor).unwrap();
        let lift = Command::Lift { carrier: B1, hoist: HoistId(0), from: LOAD, at: Time::ZERO };
        shift.submit(&lift, Who::Operator).unwrap();
        clock.set(Time::from_secs(20));
        let lower = Command::Lower { hoist: HoistId(0), to: CLEAN, at: Time::from_secs(20) };
        shift.submit(&lower, Who::Operator).unwrap();
        clock.set(Time::from_secs(500));
        let lift = Command::Lift { carrier: B1, hoist: HoistId(0), from: CLEAN, at: Time::from_secs(500) };
        shift.submit(&lift, Who::Operator).unwrap();
        clock.set(Time::from_secs(600));
        shift.submit(&Command::Correct { carrier: B1, claim: Claim::OffLine }, Who::Operator).unwrap();
        let app = App::new(line, Post::Operator, false, false);
        Self { shift, clock, app }
    }

    fn board(&mut self) -> Board {
        self.app.learn(self.shift.line(), &self.shift.state().book);
        let board = board_of(&mut self.shift);
        self.app.see(&board);
        board
    }

    /// Words are typed letter by letter; `Enter`, `Esc` and `Clear` are keys.
    fn press(&mut self, keys: &[&str]) {
        for word in keys {
            let typed: Vec<Key> = match *word {
                "Enter" => vec![Key::Enter],
                "Esc" => vec![Key::Esc],
                "Clear" => vec![Key::Ctrl('u')],
                word => word.chars().map(Key::Char).collect(),
            };
            for key in typed {
                let board = self.board();
                if let Some(action) = keymap::action(self.app.context(), key) {
                    let now = self.shift.now();
                    let effects = update(&mut self.app, action, &board, now);
                    perform(&mut self.app, &mut self.shift, effects);
                }
            }
        }
    }

    fn message(&self) -> &str {
        self.app.message.as_ref().map_or("", |m| m.text.as_str())
    }

    fn last(&self) -> &Entry {
        &self.shift.state().ledger.entries.last().expect("something was entered").entry
    }
}

#[test]
fn a_carrier_is_counted_out_and_what_is_missing_is_said_at_once_and_found() {
    let mut post = Post1::new();
    post.press(&["e", "count", "Enter", "B1", "Enter", "Clear", "57 0 1", "Enter"]);
    let count = Count { good: 57, rework: 0, scrap: 1 };
    assert_eq!(*post.last(), Entry::Unracked { carrier: B1, count });
    assert!(post.message().contains("2 of 60 MISSING"), "{}", post.message());
    let board = post.board();
    assert_eq!(board.missing(), 2);
    // The tank it went through is offered first, and that is where they are found.
    post.press(&["e", "found in", "Enter"]);
    let Some(Dialog::List(list)) = &post.app.dialog else { panic!("{:?}", post.app.dialog) };
    assert!(list.items[0].text.contains("B1"), "{:?}", list.items[0].text);
    post.press(&["Enter", "Enter"]);
    assert_eq!(*post.last(), Entry::Found { order: OrderId::at(0), tank: CLEAN, parts: 2 });
    assert!(post.message().contains("through it went B1"), "{}", post.message());
    assert_eq!(post.board().missing(), 0);
}

/// A count that is refused is put right where it was typed; the next Enter is no answer to the call.
#[test]
fn a_refused_count_stays_open_to_be_put_right() {
    let mut post = Post1::new();
    let before = post.shift.history().events().len();
    post.press(&["e", "count", "Enter", "B1", "Enter", "Clear", "600 0 1", "Enter"]);
    let Some(Dialog::Field(field)) = &post.app.dialog else { panic!("{:?}", post.app.dialog) };
    assert!(field.wrong.as_ref().is_some_and(|w| w.contains("60 were racked")), "{field:?}");
    assert_eq!(field.text, "600 0 1");
    assert_eq!(post.shift.history().events().len(), before);
    post.press(&["Clear", "59 0 1", "Enter"]);
    let count = Count { good: 59, rework: 0, scrap: 1 };
    assert_eq!(*post.last(), Entry::Unracked { carrier: B1, count });
    assert!(post.app.dialog.is_none() && post.app.typed.is_none());
    // What is asked to be taken back is not what was entered, and that is said.
    post.press(&["u"]);
    let Some(Dialog::Ask(ask)) = &post.app.dialog else { panic!("{:?}", post.app.dialog) };
    assert!(ask.lines.iter().any(|l| l.contains("an entry is put right by a new one")), "{ask:?}");
}

/// What the page of figures promises: Enter leads back to what was typed, to be changed or typed anew.
#[test]
fn figures_are_worked_out_one_after_the_other() {
    let mut post = Post1::new();
    post.app.reckon = Some(Reckon(|line| vec![format!("so much for {line}")]));
    let answer = |post: &Post1| match &post.app.dialog {
        Some(Dialog::Answer(lines, _)) => lines.concat(),
        other => panic!("{other:?}"),
    };
    post.press(&["=", "Clear", "seal 1", "Enter"]);
    assert_eq!(answer(&post), "so much for seal 1");
    post.press(&["Enter", "0", "Enter"]);
    assert_eq!(answer(&post), "so much for seal 10");
    post.press(&["Enter", "Clear", "drip", "Enter"]);
    assert_eq!(answer(&post), "so much for drip");
    post.press(&["q"]);
    assert_eq!(post.app.dialog, None);
}

#[test]
fn a_cold_bath_is_read_off_in_three_keys_and_shown_beside_its_tank() {
    let mut post = Post1::new();
    let tanks: Vec<_> = post.board().tanks.iter().map(|t| t.tank).collect();
    post.app.pane = Pane::Line;
    post.app.chosen[Pane::Line as usize] = tanks.iter().position(|t| *t == ANODISE);
    post.press(&["e", "Enter", "17.0", "Enter"]);
    assert!(post.message().ends_with("temperature 17.0 C; OUT OF LIMITS, 18 to 22 C"), "{}", post.message());
    assert!(matches!(post.last(), Entry::Bath { tank: ANODISE, .. }), "{:?}", post.last());
    let board = post.board();
    let row = board.tanks.iter().find(|t| t.tank == ANODISE).unwrap();
    assert_eq!(row.readiness, Readiness::Unfit("LOW 17.0 C".to_owned(), "06:10".to_owned()));
    let bath = board.baths.iter().find(|b| b.tank == ANODISE).unwrap();
    assert_eq!(bath.shut.as_deref(), Some("LOW 17.0 C since 06:10"));
}

#[test]
fn what_was_a_while_ago_is_entered_for_then_and_marked_late() {
    let mut post = Post1::new();
    post.press(&[
        "e",
        "a while ago",
        "Enter",
        "500",
        "Enter",
        "bath reading",
        "Enter",
        "Enter",
        "20",
        "Enter",
    ]);
    let stamped =
        post.shift.history().events().iter().rev().find(|s| matches!(s.event, Event::Entered { .. }));
    let stamped = stamped.unwrap();
    assert_eq!((stamped.at, stamped.entered), (Time::from_secs(300), Time::from_secs(600)));
    post.clock.set(Time::from_secs(700));
}

#[test]
fn an_inspection_a_signature_and_a_note_are_entered() {
    let mut post = Post1::new();
    post.press(&["e", "inspection", "Enter", "B1", "Enter", "Enter", "15.2 holds burn", "Enter"]);
    let Entry::Inspected { carrier: B1, seen } = post.last() else { panic!("{:?}", post.last()) };
    assert_eq!((seen.shade, seen.thickness_um, seen.sealed), (Shade::Like, Some(15.2), Some(true)));
    assert_eq!(seen.marks, "burn");
    post.press(&["e", "initials", "Enter", "hands", "Enter", "KM", "Enter"]);
    assert_eq!(*post.last(), Entry::Signed { sign: Sign::HandsOver, initials: "KM".to_owned() });
    post.press(&["e", "note", "Enter", "acid topped up", "Enter"]);
    let noted = |e: &Event| matches!(e, Event::Noted { text } if text == "acid topped up");
    assert!(post.shift.history().events().iter().any(|s| noted(&s.event)));
}

#[test]
fn a_screen_that_watches_enters_nothing() {
    let mut post = Post1::new();
    post.app.post = Post::Watch;
    post.press(&["e"]);
    assert!(post.app.dialog.is_none());
    assert_eq!(post.message(), "This screen only watches.");
}
