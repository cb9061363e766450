//! Racks, rework and benches: what owes a strip is not used before it has had it, metal is not eaten for ever, and a load
//! that was beside the line goes on where it should.

use chrono::DateTime;
use dwellhand::ids::{CarrierId, HoistId, Id as _, OrderId, RecipeId, Seq, StepNo, TankId};
use dwellhand::journal::{Digest, wire};
use dwellhand::line::{Line, NamedRack, OrderBook, Rack, Recipe, Visit};
use dwellhand::plan::{Settings, plan};
use dwellhand::schedule::Schedule;
use dwellhand::shift::ledger::{Count, Entry};
use dwellhand::shift::racks::{RackWait, racks, waits};
use dwellhand::shift::{
    AlarmAction, AlarmKey, AlarmKind, AlarmLevel, Bench, Change, Claim, Command, Ended, Event, History,
    Place, Stamped, Who, alarm, decide,
};
use dwellhand::units::{Dur, Mm, Time};
use dwellhand::verify::{Rule, happened, happened_by, verify};
use dwellhand::view::passed;

use crate::changes::with_strip;
use crate::lines::{Shape, does, opened};
use crate::report;
use crate::small::{self, ANODISE, CLEAN, LOAD, RINSE, UNLOAD};

const B1: CarrierId = CarrierId(0);
const B2: CarrierId = CarrierId(1);
const H1: HoistId = HoistId(0);

fn t(secs: i64) -> Time {
    Time::from_secs(secs)
}

fn change(change: Change) -> Command {
    Command::Change { change, why: String::new() }
}

/// B1 and B2 on one aluminium rack, and a recipe that strips it.
fn one_rack() -> (Line, OrderBook) {
    let mut line = (*small::line()).clone();
    let steps = line.recipes[RecipeId(0)].steps[..1].to_vec();
    let recipe =
        Recipe { name: "racks".to_owned(), label: String::new(), steps, rework: false, strips_racks: true };
    line.recipes.push(recipe);
    let mut book = small::book();
    book.racks = vec![NamedRack { name: "R1".to_owned(), metal: Rack::Aluminium, cycles: 41, spoiled: 3 }];
    for carrier in [B1, B2] {
        book.carriers[carrier].rack = Rack::Aluminium;
        book.carriers[carrier].rack_name = Some("R1".to_owned());
    }
    (line, book)
}

fn planned(line: &Line, history: &History, now: Time) -> Schedule {
    let schedule = plan(line, history.state(), now, &Settings::default());
    let broken = verify(line, history.state(), &schedule);
    assert!(broken.iter().all(|b| b.harm.is_some()), "{broken:#?}");
    schedule
}

fn finishes(line: &Line, history: &mut History, carrier: CarrierId, now: Time) {
    let claim = Claim::Finished { tank: UNLOAD };
    does(line, history, &Command::Correct { carrier, claim }, now);
}

#[test]
fn an_aluminium_rack_is_stripped_between_two_carriers_and_the_strip_is_planned_like_any_load() {
    let (line, book) = one_rack();
    let mut history = opened(&line, book);
    assert_eq!(waits(&line, history.state(), B2), Some(RackWait::TakenBy(B1)));
    let schedule = planned(&line, &history, t(0));
    assert!(schedule.of(B1).next().is_some() && schedule.of(B2).next().is_none());
    finishes(&line, &mut history, B1, t(1000));
    assert_eq!(waits(&line, history.state(), B2), Some(RackWait::TakenBy(B1)), "its parts are still on it");
    let count = Count { good: 18, rework: 1, scrap: 1 };
    does(
        &line,
        &mut history,
        &Command::Enter { entry: Entry::Unracked { carrier: B1, count }, at: t(1100) },
        t(1100),
    );
    let rack = &racks(&line, history.state())[0];
    assert_eq!((rack.cycles, rack.spoiled, rack.owes_strip), (42, 5, true));
    let strip = CarrierId::at(history.state().carriers.len() - 1);
    assert_eq!(history.state().book.carriers[strip].name, "strip R1.1");
    assert_eq!(waits(&line, history.state(), B2), Some(RackWait::TakenBy(strip)));
    let schedule = planned(&line, &history, t(1100));
    assert!(schedule.of(strip).next().is_some(), "the strip competes for hoist and tank");
    assert!(schedule.of(B2).next().is_none());
    // A plan that starts the next carrier all the same is not possible.
    finishes(&line, &mut history, strip, t(1500));
    assert_eq!(waits(&line, history.state(), B2), None);
    let free = planned(&line, &history, t(1500));
    assert!(free.of(B2).next().is_some());
    let (line2, book2) = one_rack();
    let early = opened(&line2, book2);
    let told = verify(&line2, early.state(), &Schedule { made_at: Time::ZERO, ..free });
    assert!(told.iter().any(|b| b.rule == Rule::Rack && b.harm.is_none()), "{told:#?}");
    // Counting once more does not strip it twice.
    let carriers = history.state().carriers.len();
    does(
        &line,
        &mut history,
        &Command::Enter { entry: Entry::Unracked { carrier: B1, count }, at: t(1600) },
        t(1600),
    );
    assert_eq!(history.state().carriers.len(), carriers);
}

#[test]
fn a_titanium_rack_owes_nothing() {
    let (line, mut book) = one_rack();
    book.racks[0].metal = Rack::Titanium;
    for carrier in [B1, B2] {
        book.carriers[carrier].rack = Rack::Titanium;
    }
    let mut history = opened(&line, book);
    finishes(&line, &mut history, B1, t(1000));
    let count = Count { good: 20, ..Count::default() };
    does(
        &line,
        &mut history,
        &Command::Enter { entry: Entry::Unracked { carrier: B1, count }, at: t(1100) },
        t(1100),
    );
    assert_eq!(waits(&line, history.state(), B2), None);
    assert!(!racks(&line, history.state())[0].owes_strip);
}

#[test]
fn a_load_is_stripped_as_often_as_the_shop_allows_and_no_more() {
    let (line, book) = with_strip(3, Shape { steps: 6, carriers: 2, rinse: 3, hoists: 1 });
    for most in [1, 2] {
        let mut line = line.clone();
        line.rework.most = most;
        let mut history = opened(&line, book.clone());
        let rework = change(Change::Rework { carrier: B1, recipe: RecipeId(1) });
        for n in 0..i64::from(most) {
            does(&line, &mut history, &rework, t(10 + n));
        }
        let refused = decide(&line, &history, &rework, t(100)).unwrap_err().to_string();
        assert!(refused.contains(&format!("{most} of {most} times")), "{refused}");
    }
}

/// What a load did before it was stripped is not forgotten: its baths have taken it, and its parts may lie there.
#[test]
fn a_load_that_is_run_again_went_through_its_first_baths_too() {
    let (line, book) = with_strip(3, Shape { steps: 6, carriers: 2, rinse: 3, hoists: 1 });
    let mut history = opened(&line, book);
    let first = line.tanks_of(line.recipes[RecipeId(0)].steps[0].stage).next().unwrap();
    let strip = line.tanks.find(|tank| tank.name == "STRIP").unwrap();
    let moved = |history: &mut History, from, to, at| {
        does(&line, history, &Command::Lift { carrier: B1, hoist: H1, from, at: t(at) }, t(at));
        does(&line, history, &Command::Lower { hoist: H1, to, at: t(at + 15) }, t(at + 15));
    };
    moved(&mut history, LOAD, first, 2);
    let rework = change(Change::Rework { carrier: B1, recipe: RecipeId(1) });
    does(&line, &mut history, &rework, t(60));
    let loads = |history: &History, tank| history.state().ledger.loads(history.state(), tank);
    assert_eq!(loads(&history, first), 1, "it stands there once, whatever for");
    moved(&mut history, first, strip, 100);
    assert_eq!((loads(&history, first), loads(&history, strip)), (1, 1));
    assert_eq!(passed(history.state(), B1), [first, strip]);
    let board = report::board(&line, &history, t(130));
    assert!(board.times.stays.iter().any(|s| s.tank == first && s.recipe == RecipeId(0)));
    assert!(board.times.stays.iter().any(|s| s.tank == strip && s.recipe != RecipeId(0)));
}

fn in_anodise(line: &Line, book: OrderBook) -> History {
    let mut history = opened(line, book);
    for (at, lift, place) in [(2, LOAD, CLEAN), (80, CLEAN, RINSE), (110, RINSE, ANODISE)] {
        does(line, &mut history, &Command::Lift { carrier: B1, hoist: H1, from: lift, at: t(at) }, t(at));
        does(line, &mut history, &Command::Lower { hoist: H1, to: place, at: t(at + 15) }, t(at + 15));
    }
    history
}

#[test]
fn a_load_lent_to_a_bench_comes_back_to_the_step_it_was_to_go_on_with() {
    let line = small::line();
    let bench =
        |resume| Bench { name: "K1".to_owned(), min: Dur::from_mins(5), max: Dur::from_mins(10), resume };
    let back = |tank: Option<TankId>| change(Change::Back { carrier: B1, tank });
    let last = StepNo::at(line.recipes[RecipeId(0)].steps.len() - 1);
    for (tank, visit) in [(Some(ANODISE), Visit::Step(last)), (None, Visit::Load)] {
        let mut history = in_anodise(&line, small::book());
        assert!(decide(&line, &history, &back(tank), t(190)).is_err(), "it is at no bench");
        does(&line, &mut history, &change(Change::Lend { carrier: B1, bench: bench(last) }), t(200));
        assert_eq!(history.state().carriers[B1].place, Place::OffLine);
        assert_eq!(planned(&line, &history, t(210)).of(B1).count(), 0, "nobody moves it there");
        let wrong = decide(&line, &history, &back(Some(CLEAN)), t(600)).unwrap_err().to_string();
        assert!(wrong.contains("no tank for the step"), "{wrong}");
        does(&line, &mut history, &back(tank), t(600));
        let schedule = planned(&line, &history, t(600));
        let first = schedule.of(B1).next().expect("it goes on");
        assert_eq!(first.leaves, visit);
        assert_eq!(schedule.of(B1).last().map(|m| m.visit), Some(Visit::Unload));
        let runs = &history.state().standing.runs[&B1];
        assert!(
            matches!(&runs[0].ended, Ended::Bench(b, from, to) if b.name == "K1" && (*from, *to) == (t(200), t(600)))
        );
        assert_eq!(history.state().standing.reworks(B1), 0, "work at the bench is no rework");
        let air =
            happened(&line, history.state()).into_iter().find(|b| b.rule == Rule::Air && b.at >= t(200));
        assert_eq!(air, None, "the time at the bench is no air time");
        let again = History::of(&line, history.events().to_vec());
        assert_eq!(again.state(), history.state());
    }
}

/// What is done by hand beside the line is told before its time is over, again when it is, and no more once it is back.
#[test]
fn a_bench_that_runs_over_its_time_raises_an_alarm_like_a_tank() {
    let line = small::line();
    let last = StepNo::at(line.recipes[RecipeId(0)].steps.len() - 1);
    let bench =
        Bench { name: "K1".to_owned(), min: Dur::from_mins(5), max: Dur::from_mins(10), resume: last };
    let mut history = in_anodise(&line, small::book());
    does(&line, &mut history, &change(Change::Lend { carrier: B1, bench }), t(200));
    let key = AlarmKey { carrier: B1, visit: Visit::Step(last), kind: AlarmKind::Bench };
    let level = |history: &History| history.state().alarms.get(&key).map(|a| (a.level, a.active));
    let ends = 200 + 600;
    for (at, expected) in [
        (ends - 61, None),
        (ends - 60, Some((AlarmLevel::Due, true))),
        (ends + 1, Some((AlarmLevel::Over, true))),
        (ends + 151, Some((AlarmLevel::Reached, true))),
    ] {
        does(&line, &mut history, &Command::Watch, t(at));
        assert_eq!(level(&history), expected, "at {at} s");
    }
    let seen = Command::Alarm { key, action: AlarmAction::Acknowledge };
    does(&line, &mut history, &seen, t(ends + 152));
    let told = alarm::deadline(&line, history.state(), key);
    assert_eq!(told, Some(t(ends)));
    does(&line, &mut history, &change(Change::Back { carrier: B1, tank: Some(ANODISE) }), t(ends + 160));
    assert_eq!(level(&history), None, "to bring it back answers it");
    let again = History::of(&line, history.events().to_vec());
    assert_eq!(again.state(), history.state());
}

/// What was too long or too short at a bench is a broken window like any other, told while it is still so and afterwards.
#[test]
fn a_bench_that_missed_its_window_is_among_what_was_broken() {
    let line = small::line();
    let last = StepNo::at(line.recipes[RecipeId(0)].steps.len() - 1);
    let bench =
        || Bench { name: "K1".to_owned(), min: Dur::from_mins(5), max: Dur::from_mins(10), resume: last };
    for (left, rule, by) in [(260, Rule::Under, 240), (930, Rule::Over, 130), (700, Rule::Over, 0)] {
        let mut history = in_anodise(&line, small::book());
        does(&line, &mut history, &change(Change::Lend { carrier: B1, bench: bench() }), t(200));
        // It left the anodise early.
        let before = happened(&line, history.state()).len();
        let there = |at| {
            let all = happened_by(&line, history.state(), t(at));
            all.into_iter().filter(|b| b.place == "bench K1").map(|b| (b.rule, b.by, b.text)).collect()
        };
        let still: Vec<(Rule, Dur, String)> = there(left);
        assert_eq!(still.len(), usize::from(rule == Rule::Over && by > 0), "{still:?}");
        assert!(still.iter().all(|(_, _, text)| text.ends_with("and it goes on")), "{still:?}");
        does(&line, &mut history, &change(Change::Back { carrier: B1, tank: Some(ANODISE) }), t(left));
        let broken = happened(&line, history.state());
        let own: Vec<_> = broken.iter().filter(|b| b.place == "bench K1").collect();
        assert_eq!(own.len(), usize::from(by > 0));
        assert_eq!(broken.len() - own.len(), before);
        assert!(own.iter().all(|b| b.rule == rule && b.by == Dur::from_secs(by)), "{own:?}");
        let told = report::shift_of(&line, &history, t(left + 10)).text();
        let row = told.lines().find(|l| l.starts_with("shade ")).expect("a row for each harm");
        let cells: Vec<&str> = row.split_whitespace().collect();
        let ones = (rule == Rule::Over && by > 0, rule == Rule::Under);
        assert_eq!((cells[1] == "1", cells[2] == "1"), ones, "{row}");
    }
}

/// Whoever says where a load really is has taken it from the bench: it is not in two places.
#[test]
fn a_load_at_a_bench_that_is_said_to_be_elsewhere_is_there_no_longer() {
    let line = small::line();
    let last = StepNo::at(line.recipes[RecipeId(0)].steps.len() - 1);
    let (min, max) = (Dur::from_mins(5), Dur::from_mins(10));
    let visit = Visit::Step(last);
    let claims = [
        Claim::InTank { tank: ANODISE, since: t(560), visit },
        Claim::Queued,
        Claim::OffLine,
        Claim::Finished { tank: UNLOAD },
    ];
    for claim in claims {
        let mut history = in_anodise(&line, small::book());
        let bench = Bench { name: "K1".to_owned(), min, max, resume: last };
        does(&line, &mut history, &change(Change::Lend { carrier: B1, bench }), t(200));
        does(&line, &mut history, &Command::Correct { carrier: B1, claim }, t(600));
        let state = history.state();
        assert!(state.standing.lent.is_empty(), "{claim:?}");
        let runs = &state.standing.runs[&B1];
        let until = if matches!(claim, Claim::InTank { .. }) { t(560) } else { t(600) };
        assert!(matches!(&runs[0].ended, Ended::Bench(_, from, to) if (*from, *to) == (t(200), until)));
        assert!(decide(&line, &history, &change(Change::Back { carrier: B1, tank: None }), t(610)).is_err());
        let seq = state.last_physical.expect("a correction can be undone");
        does(&line, &mut history, &Command::Undo { seq }, t(620));
        assert!(history.state().standing.lent.contains_key(&B1), "it was a slip: {claim:?}");
    }
}

#[test]
fn racks_heights_and_tolerances_are_kept_in_the_journal() {
    let (line, mut book) = one_rack();
    book.carriers[B1].height = Some(Mm(1800));
    book.orders[OrderId(0)].toleranced = true;
    let event = Event::Opened { book: book.clone() };
    let stamped = Stamped { seq: Seq(1), at: t(0), entered: t(0), by: Who::Supervisor, event };
    let wall = DateTime::parse_from_rfc3339("2026-11-25T06:00:00+01:00").unwrap();
    let prev = Digest::of(b"");
    let text = wire::write_event(&stamped, &wall.into(), &prev, &line, &book, None);
    assert!(text.contains("\"racks\":[{\"name\":\"R1\",\"metal\":\"aluminium\""), "{text}");
    let (read, _) = wire::read_event(text.as_bytes(), &line, &OrderBook::default(), None).unwrap();
    assert_eq!(read.stamped, stamped);
}
