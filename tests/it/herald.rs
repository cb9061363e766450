//! Bell and note: for the onset of an alarm, once, and not often.

use std::time::{Duration, Instant};

use super::scene;
use dwellhand::tui::herald::{Calls, Herald};
use dwellhand::view::Board;

fn bells(bytes: &[u8]) -> usize {
    String::from_utf8_lossy(bytes).matches('\u{7}').count()
}

/// A board with only so many of its alarms.
fn with(board: &Board, count: usize) -> Board {
    let mut board = board.clone();
    for alarm in &mut board.alarms {
        alarm.unseen = true;
    }
    board.alarms.truncate(count);
    board
}

#[test]
fn an_alarm_calls_once_when_it_sets_in() {
    let all = scene::trouble().board();
    let start = Instant::now();
    let at = |s: u64| start + Duration::from_secs(s);
    let mut herald = Herald::new(Calls { bell: true, note: true });
    assert!(herald.hear(&with(&all, 0), at(0)).is_empty());
    let first = herald.hear(&with(&all, 1), at(1));
    assert_eq!(bells(&first), 1);
    let text = String::from_utf8(first).unwrap();
    assert!(
        text.contains("\u{1b}]9;dwellhand: OVER B07 in T05 etch") && text.ends_with("\u{1b}\\"),
        "{text:?}"
    );
    // It stands, it is seen, it stands on: nothing more is heard.
    for s in 2..60 {
        assert!(herald.hear(&with(&all, 1), at(s)).is_empty());
    }
    // Another one sets in; then the first comes back after it was gone.
    assert_eq!(bells(&herald.hear(&with(&all, 2), at(60))), 1);
    assert!(herald.hear(&with(&all, 0), at(80)).is_empty());
    assert_eq!(bells(&herald.hear(&with(&all, 1), at(90))), 1);
}

#[test]
fn what_stands_when_the_screens_open_is_no_onset() {
    let all = scene::trouble().board();
    assert!(Herald::new(Calls { bell: true, note: true }).hear(&with(&all, 2), Instant::now()).is_empty());
}

#[test]
fn a_storm_is_one_bell_in_ten_seconds() {
    let all = scene::trouble().board();
    let start = Instant::now();
    let mut herald = Herald::new(Calls { bell: true, note: false });
    let mut rung = 0;
    // Two minutes in which an alarm comes and goes four times a second.
    for quarter in 0..480_u32 {
        let heard = herald
            .hear(&with(&all, usize::from(quarter % 2 == 1)), start + Duration::from_millis(250) * quarter);
        assert!(!heard.contains(&0x1b), "no note was asked for");
        rung += bells(&heard);
    }
    assert!((1..=12).contains(&rung), "{rung} bells in two minutes");
}

#[test]
fn without_a_switch_nothing_is_sent() {
    let all = scene::trouble().board();
    let start = Instant::now();
    let mut herald = Herald::new(Calls { bell: false, note: false });
    herald.hear(&with(&all, 0), start);
    assert!(herald.hear(&with(&all, 2), start + Duration::from_secs(1)).is_empty());
}
