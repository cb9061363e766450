//! The ledger: what is missing is never entered, it follows from what is; every part is somewhere.

use super::lines::{Shape, does, opened, varied};
use super::{report, small};
use dwellhand::civil::Opening;
use dwellhand::ids::{CarrierId, HoistId, Id as _, OrderId, TankId};
use dwellhand::report::Source;
use dwellhand::rng::Rng;
use dwellhand::shift::ledger::{Count, Counts, Entry, Quantity, Reading, Sign};
use dwellhand::shift::{Claim, Command, History, Refusal, decide};
use dwellhand::units::Time;

fn sum(c: &Counts) -> i64 {
    let racked = c.to_start + c.on_line + c.to_count;
    c.waiting + racked + c.good + c.rework + c.scrap + c.returned + c.found + c.missing
}

const B1: CarrierId = CarrierId(0);

fn enter(entry: Entry) -> Command {
    Command::Enter { entry, at: Time::ZERO }
}

fn off_line(carrier: CarrierId) -> Command {
    Command::Correct { carrier, claim: Claim::OffLine }
}

/// Two parts short at unrack are missing until they are found, and then they are not.
#[test]
fn two_parts_short_are_missing_until_they_are_found() {
    let (line, mut book) = varied(3, Shape { steps: 6, carriers: 2, rinse: 3, hoists: 1 });
    let (order, carrier) = (OrderId::at(0), CarrierId::at(0));
    let carriers: Vec<CarrierId> =
        book.carriers.iter().filter(|(_, c)| c.order == order).map(|(id, _)| id).collect();
    for c in &carriers {
        book.carriers[*c].parts = 30;
    }
    book.orders[order].parts = 30 * carriers.len() as u32;
    let mut history = opened(&line, book);
    let now = Time::from_secs(10);
    let counted = enter(Entry::Unracked { carrier, count: Count { good: 26, rework: 1, scrap: 1 } });
    let early = decide(&line, &history, &counted, now);
    assert!(matches!(early, Err(Refusal::ImpossibleEntry { .. })), "{early:?}");
    does(&line, &mut history, &off_line(carrier), now);
    does(&line, &mut history, &counted, now);
    let state = history.state();
    assert_eq!(state.ledger.short(state, carrier), Some(2));
    assert_eq!(state.ledger.counts(state, order).missing, 2);
    let found = |parts| enter(Entry::Found { order, tank: TankId::at(1), parts });
    let refused = decide(&line, &history, &found(3), now).unwrap_err();
    assert!(refused.to_string().contains("2 parts"), "{refused}");
    does(&line, &mut history, &found(2), now);
    let counts = history.state().ledger.counts(history.state(), order);
    assert_eq!((counts.missing, counts.found), (0, 2));
    assert_eq!(sum(&counts), counts.received);
    // Found by mistake: none takes it back, of that tank only, and then the carrier may be counted anew.
    let again = enter(Entry::Unracked { carrier, count: Count { good: 28, rework: 1, scrap: 1 } });
    let refused = decide(&line, &history, &again, now).unwrap_err();
    assert!(refused.to_string().contains("enter 0 found there first"), "{refused}");
    let elsewhere = enter(Entry::Found { order, tank: TankId::at(2), parts: 0 });
    assert!(decide(&line, &history, &elsewhere, now).is_err());
    does(&line, &mut history, &found(0), now);
    let counts = history.state().ledger.counts(history.state(), order);
    assert_eq!((counts.missing, counts.found), (2, 0));
    does(&line, &mut history, &again, now);
    let counts = history.state().ledger.counts(history.state(), order);
    assert_eq!((counts.missing, counts.found), (0, 0));
    assert_eq!(sum(&counts), counts.received);
    assert!(decide(&line, &history, &found(0), now).is_err(), "there is nothing to take back any more");
}

/// E32: 240 received, 30 not racked, 84 on a carrier, 110 good, 9 for rework, 5 scrap: 2 missing (the identity of the counts).
#[test]
fn e32_what_is_missing_follows_from_the_rest() {
    let (line, mut book) = varied(3, Shape { steps: 6, carriers: 2, rinse: 3, hoists: 1 });
    let (order, on_line, out) = (OrderId::at(0), CarrierId::at(0), CarrierId::at(1));
    for (carrier, parts) in [(on_line, 84), (out, 126)] {
        book.carriers[carrier].order = order;
        book.carriers[carrier].parts = parts;
    }
    let mut history = opened(&line, book);
    let now = Time::from_secs(10);
    does(&line, &mut history, &enter(Entry::Received { order, parts: 240 }), now);
    does(&line, &mut history, &off_line(out), now);
    let count = Count { good: 110, rework: 9, scrap: 5 };
    does(&line, &mut history, &enter(Entry::Unracked { carrier: out, count }), now);
    let counts = history.state().ledger.counts(history.state(), order);
    let expected = Counts {
        received: 240,
        waiting: 30,
        to_start: 84,
        good: 110,
        rework: 9,
        scrap: 5,
        missing: 2,
        ..Counts::default()
    };
    assert_eq!(counts, expected);
}

/// What waits racked is not on the line, and what is out is not on it any more.
#[test]
fn parts_are_where_their_carrier_is() {
    let line = small::line();
    let mut history = opened(&line, small::book());
    let (order, carrier, hoist) = (history.state().book.carriers[B1].order, B1, HoistId(0));
    let at = |history: &History| {
        let c = history.state().ledger.counts(history.state(), order);
        [c.to_start, c.on_line, c.to_count, c.good]
    };
    let others = at(&history)[0] - history.state().ledger.racked(history.state(), B1);
    let own = at(&history)[0] - others;
    assert!(own > 0 && at(&history) == [own + others, 0, 0, 0]);
    let now = Time::from_secs(10);
    does(&line, &mut history, &Command::Lift { carrier, hoist, from: small::LOAD, at: now }, now);
    assert_eq!(at(&history), [others, own, 0, 0]);
    does(&line, &mut history, &off_line(B1), now);
    assert_eq!(at(&history), [others, 0, own, 0]);
    let count = Count { good: own as u32, ..Count::default() };
    does(&line, &mut history, &enter(Entry::Unracked { carrier, count }), now);
    assert_eq!(at(&history), [others, 0, 0, own]);
}

/// More than was racked cannot come off; if more was racked, that is said first.
#[test]
fn more_than_was_racked_is_refused_with_the_figures() {
    let line = small::line();
    let mut history = opened(&line, small::book());
    let now = Time::from_secs(10);
    does(&line, &mut history, &off_line(B1), now);
    let racked = history.state().ledger.racked(history.state(), B1) as u32;
    let count = Count { good: racked, rework: 1, scrap: 0 };
    let counted = enter(Entry::Unracked { carrier: B1, count });
    let refused = decide(&line, &history, &counted, now).unwrap_err().to_string();
    assert!(refused.starts_with(&format!("{} parts counted out", racked + 1)), "{refused}");
    assert!(refused.contains(&format!("{racked} were racked")), "{refused}");
    does(&line, &mut history, &enter(Entry::Racked { carrier: B1, parts: racked + 1 }), now);
    does(&line, &mut history, &counted, now);
    assert_eq!(history.state().ledger.short(history.state(), B1), Some(0));
    // Also after the count, but never fewer than came off.
    does(&line, &mut history, &enter(Entry::Racked { carrier: B1, parts: racked + 2 }), now);
    assert_eq!(history.state().ledger.short(history.state(), B1), Some(1));
    let fewer = decide(&line, &history, &enter(Entry::Racked { carrier: B1, parts: racked }), now);
    assert!(fewer.unwrap_err().to_string().contains("no fewer were racked"));
}

/// Fewer came in than are racked: whoever counts says so, and the page says what does not fit.
#[test]
fn fewer_that_came_in_than_are_racked_are_told() {
    let line = small::line();
    let mut history = opened(&line, small::book());
    let (order, now) = (history.state().book.carriers[B1].order, Time::from_secs(10));
    let racked = history.state().ledger.counts(history.state(), order).to_start;
    does(&line, &mut history, &enter(Entry::Received { order, parts: racked as u32 - 2 }), now);
    let back = decide(&line, &history, &enter(Entry::Returned { order, parts: 1 }), now).unwrap_err();
    assert!(back.to_string().contains("0 parts of"), "{back}");
    let board = report::board(&line, &history, now);
    let opening = Opening::parse("2026-11-25T06:00:00+01:00").unwrap();
    let source = Source { line: &line, history: &history, board: &board, opening: &opening, now };
    let page = dwellhand::report::handover(&source).text();
    assert!(page.contains("2 too many"), "{page}");
}

/// The last reading is the latest by its time, however late an older one is entered.
#[test]
fn an_older_reading_that_is_entered_late_is_not_the_last() {
    let line = small::line();
    let mut history = opened(&line, small::book());
    let reads = |value, at| {
        let reading = Reading { quantity: Quantity::Temperature, value };
        Command::Enter { entry: Entry::Bath { tank: small::CLEAN, reading }, at: Time::from_secs(at) }
    };
    let now = Time::from_secs(400);
    for (value, at) in [(97.0, 400), (90.0, 100), (95.0, 300)] {
        does(&line, &mut history, &reads(value, at), now);
    }
    let read = history.state().ledger.readings(small::CLEAN);
    assert_eq!(read.iter().map(|(_, r)| r.value).collect::<Vec<_>>(), [90.0, 95.0, 97.0]);
}

/// Whatever people enter in whatever order, all parts of an order are somewhere.
#[test]
fn every_part_is_somewhere() {
    for seed in 0..200 {
        let (line, book) = varied(seed, Shape { steps: 5, carriers: 6, rinse: 3, hoists: 1 });
        let mut history = opened(&line, book);
        let mut rng = Rng::stream(seed, "entries");
        let (orders, carriers) = (history.state().book.orders.len(), history.state().carriers.len());
        let mut taken = 0;
        for n in 0..60 {
            let order = OrderId::at(rng.below(orders));
            let carrier = CarrierId::at(rng.below(carriers));
            let parts = rng.below(80) as u32;
            let command = match rng.below(6) {
                0 => enter(Entry::Received { order, parts }),
                1 => enter(Entry::Racked { carrier, parts }),
                2 => enter(Entry::Unracked {
                    carrier,
                    count: Count { good: parts, rework: rng.below(3) as u32, scrap: rng.below(3) as u32 },
                }),
                3 => enter(Entry::Found { order, tank: TankId::at(1), parts: 1 + parts % 4 }),
                4 => enter(Entry::Returned { order, parts: 1 + parts % 10 }),
                _ => off_line(carrier),
            };
            let now = Time::from_secs(n);
            taken += usize::from(says(&line, &mut history, &command, now));
            let state = history.state();
            for order in state.book.orders.ids() {
                let counts = state.ledger.counts(state, order);
                assert_eq!(sum(&counts), counts.received, "seed {seed}, entry {n}: {counts:?}");
            }
        }
        assert!(taken > 20, "seed {seed}: {taken}");
    }
}

fn says(line: &dwellhand::line::Line, history: &mut History, command: &Command, now: Time) -> bool {
    let fits = decide(line, history, command, now).is_ok();
    if fits {
        does(line, history, command, now);
    }
    fits
}

/// Slips of the pen are refused with the reason.
#[test]
fn what_cannot_be_is_refused() {
    let (line, book) = varied(3, Shape { steps: 6, carriers: 2, rinse: 3, hoists: 1 });
    let history = opened(&line, book);
    let station = TankId::at(0);
    let reading = |value| Reading { quantity: Quantity::Ph, value };
    for (entry, word) in [
        (Entry::Signed { sign: Sign::On, initials: " ".to_owned() }, "initials"),
        (Entry::Bath { tank: TankId::at(1), reading: reading(15.0) }, "0 to 14"),
        (Entry::Bath { tank: TankId::at(1), reading: reading(f64::NAN) }, "0 to 14"),
        (Entry::Bath { tank: station, reading: reading(7.0) }, "no bath"),
        (Entry::Received { order: OrderId::at(99), parts: 1 }, "no such order"),
        (Entry::Returned { order: OrderId::at(0), parts: 1_000_000 }, "cannot go back"),
    ] {
        let refused = decide(&line, &history, &enter(entry), Time::from_secs(1)).unwrap_err();
        assert!(refused.to_string().contains(word), "{refused}");
    }
}
