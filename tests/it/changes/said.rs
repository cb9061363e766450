//! Each change: what follows from it, what is refused, and that it can be taken back.

use super::random::with_strip;
use crate::lines::{Shape, does, opened};
use crate::small::{self, ANODISE, CLEAN, LOAD, RINSE, UNLOAD, WAIT};
use dwellhand::ids::*;
use dwellhand::line::*;
use dwellhand::plan::{Settings, plan};
use dwellhand::schedule::{Move, Schedule};
use dwellhand::shift::*;
use dwellhand::units::{Dur, Time};
use dwellhand::verify::{Breach, Rule, happened, verify};

const B1: CarrierId = CarrierId(0);
const B2: CarrierId = CarrierId(1);
const B3: CarrierId = CarrierId(2);
const H1: HoistId = HoistId(0);
const A1: OrderId = OrderId(0);
const A2: OrderId = OrderId(1);

fn t(secs: i64) -> Time {
    Time::from_secs(secs)
}

/// Says a change; the refusal as words.
fn change(line: &Line, history: &mut History, now: Time, change: Change) -> Result<Seq, String> {
    let command = Command::Change { change, why: "because".to_owned() };
    decide(line, history, &command, now).map_err(|r| r.to_string())?;
    does(line, history, &command, now);
    Ok(history.state().seq)
}

fn take_back(line: &Line, history: &mut History, now: Time, seq: Seq) -> Result<(), String> {
    let command = Command::TakeBack { seq };
    decide(line, history, &command, now).map_err(|r| r.to_string())?;
    does(line, history, &command, now);
    Ok(())
}

/// B1 in the anodise since 200, for 300 to 400.
fn in_anodise() -> (std::sync::Arc<Line>, History) {
    let line = small::line();
    let mut history = opened(&line, small::book());
    for (at, lift, place) in [(2, LOAD, CLEAN), (80, CLEAN, RINSE), (110, RINSE, ANODISE)] {
        does(&line, &mut history, &Command::Lift { carrier: B1, hoist: H1, from: lift, at: t(at) }, t(at));
        does(&line, &mut history, &Command::Lower { hoist: H1, to: place, at: t(at + 15) }, t(at + 15));
    }
    (line, history)
}

fn planned(line: &Line, history: &History, now: Time) -> Schedule {
    let schedule = plan(line, history.state(), now, &Settings::default());
    let broken = verify(line, history.state(), &schedule);
    assert!(broken.iter().all(|b| b.harm.is_some()), "{broken:#?}");
    schedule
}

fn of(schedule: &Schedule, carrier: CarrierId) -> Vec<Move> {
    schedule.of(carrier).copied().collect()
}

fn breaks(line: &Line, history: &History, schedule: &Schedule, rule: Rule) -> Option<Breach> {
    verify(line, history.state(), schedule).into_iter().find(|b| b.rule == rule)
}

#[test]
fn what_is_held_is_not_started_until_it_is_released() {
    let (line, mut history) = in_anodise();
    let free = planned(&line, &history, t(126));
    let seq = change(&line, &mut history, t(126), Change::Hold { carrier: B2 }).unwrap();
    assert_eq!(of(&planned(&line, &history, t(126)), B2), []);
    let held = breaks(&line, &history, &free, Rule::Held).unwrap();
    assert_eq!((held.carrier.as_str(), held.harm), ("B2", None));
    let twice = change(&line, &mut history, t(127), Change::Hold { carrier: B2 });
    assert_eq!(twice.unwrap_err(), "B2 is held already");
    take_back(&line, &mut history, t(128), seq).unwrap();
    assert!(history.state().standing.held.is_empty());
    change(&line, &mut history, t(129), Change::Hold { carrier: B2 }).unwrap();
    // Somebody starts it all the same: what happened outweighs what was said.
    does(&line, &mut history, &Command::Lift { carrier: B2, hoist: H1, from: LOAD, at: t(140) }, t(140));
    assert!(history.state().standing.held.is_empty());
    let hangs = change(&line, &mut history, t(141), Change::Hold { carrier: B2 });
    assert_eq!(hangs.unwrap_err(), "B2 is on H1; hold it once it is down and let go");
}

#[test]
fn what_is_held_in_a_tank_stays_and_its_window_is_told() {
    let (line, mut history) = in_anodise();
    change(&line, &mut history, t(126), Change::Hold { carrier: B1 }).unwrap();
    let schedule = planned(&line, &history, t(126));
    assert_eq!(of(&schedule, B1), []);
    let over = breaks(&line, &history, &schedule, Rule::Over).unwrap();
    assert_eq!((over.harm, over.at), (Some(Harm::Scrap), t(125 + 400)));
    // B2 needs the same tank.
    assert_eq!(of(&schedule, B2), []);
    change(&line, &mut history, t(200), Change::Release { carrier: B1 }).unwrap();
    let schedule = planned(&line, &history, t(200));
    assert!(!of(&schedule, B1).is_empty() && !of(&schedule, B2).is_empty());
    assert_eq!(
        change(&line, &mut history, t(201), Change::Release { carrier: B1 }).unwrap_err(),
        "B1 is not held"
    );
}

#[test]
fn a_parked_carrier_goes_into_standby_and_is_kept_there() {
    let (line, mut history) = in_anodise();
    let park = |tank| Change::Park { carrier: B1, tank };
    let on = planned(&line, &history, t(126));
    assert_eq!(
        change(&line, &mut history, t(126), park(Some(RINSE))).unwrap_err(),
        "T2 is not standby water"
    );
    let seq = change(&line, &mut history, t(126), park(None)).unwrap();
    let late = breaks(&line, &history, &on, Rule::Held).unwrap();
    assert_eq!(late.harm, Some(Harm::Nuisance), "going on by the sheet is possible, but not what was asked");
    let moves = of(&planned(&line, &history, t(126)), B1);
    assert_eq!((moves.len(), moves[0].to, moves[0].visit), (1, WAIT, Visit::Hold(StepNo(2))));
    take_back(&line, &mut history, t(127), seq).unwrap();
    change(&line, &mut history, t(128), park(Some(WAIT))).unwrap();
    does(&line, &mut history, &Command::Lift { carrier: B1, hoist: H1, from: ANODISE, at: t(430) }, t(430));
    does(&line, &mut history, &Command::Lower { hoist: H1, to: WAIT, at: t(445) }, t(445));
    assert!(history.state().is_parked(&line, B1));
    assert_eq!(of(&planned(&line, &history, t(446)), B1), []);
    change(&line, &mut history, t(500), Change::BringBack { carrier: B1 }).unwrap();
    assert_eq!(of(&planned(&line, &history, t(500)), B1)[0].visit, Visit::Unload);
    let queued = change(&line, &mut history, t(501), Change::Park { carrier: B2, tank: None });
    assert_eq!(queued.unwrap_err(), "B2 is waiting to start; hold it instead");
}

#[test]
fn a_tank_in_quarantine_is_left_but_not_entered() {
    let (line, mut history) = in_anodise();
    let free = planned(&line, &history, t(126));
    change(&line, &mut history, t(126), Change::Quarantine { tank: ANODISE }).unwrap();
    let schedule = planned(&line, &history, t(126));
    assert!(!of(&schedule, B1).is_empty(), "what is in it may leave");
    assert_eq!(of(&schedule, B2), [], "what needs it does not start");
    assert_eq!(breaks(&line, &history, &free, Rule::Availability).unwrap().harm, None);
    let station = change(&line, &mut history, t(127), Change::Quarantine { tank: UNLOAD });
    assert_eq!(station.unwrap_err(), "U is a station");
    change(&line, &mut history, t(130), Change::Free { tank: ANODISE }).unwrap();
    assert!(!of(&planned(&line, &history, t(130)), B2).is_empty());
}

#[test]
fn a_stopped_hoist_does_nothing_until_it_is_back() {
    let (line, mut history) = in_anodise();
    for hoist in line.hoists.ids() {
        let until = Some(t(700));
        let stop = Change::StopHoist { hoist, cause: StopCause::Break, until };
        change(&line, &mut history, t(130), stop).unwrap();
    }
    let schedule = planned(&line, &history, t(130));
    assert!(!schedule.moves.is_empty() && schedule.moves.iter().all(|m| m.start >= t(700)));
    let early = Move { start: t(600), ..schedule.moves[0] };
    let early = Schedule::new(vec![early], t(130));
    assert_eq!(breaks(&line, &history, &early, Rule::Stopped).unwrap().by, Dur::from_secs(100));
    let stop = Change::StopHoist { hoist: H1, cause: StopCause::Fault, until: Some(t(100)) };
    assert!(change(&line, &mut history, t(131), stop).unwrap_err().contains("a stop ends later than now"));
    for hoist in line.hoists.ids() {
        change(&line, &mut history, t(140), Change::RunHoist { hoist }).unwrap();
    }
    assert!(planned(&line, &history, t(140)).moves[0].start < t(700));
}

#[test]
fn a_stop_with_no_known_end_is_taken_to_last_so_long_and_so_long_again() {
    let (line, mut history) = in_anodise();
    for hoist in line.hoists.ids() {
        let stop = Change::StopHoist { hoist, cause: StopCause::Fault, until: None };
        change(&line, &mut history, t(200), stop).unwrap();
    }
    for (now, back) in [(200, 800), (700, 800), (800, 1400)] {
        let first = planned(&line, &history, t(now)).moves[0].start;
        assert!((t(back)..t(back + 60)).contains(&first), "at {now}: {first}");
    }
}

#[test]
fn a_slow_hoist_takes_longer_and_is_what_its_file_says_again() {
    let (line, mut history) = in_anodise();
    let slow = |percent| Change::SlowHoist { hoist: H1, percent };
    let travel = |history: &History| history.state().line(&line).empty_travel(H1, LOAD, UNLOAD).unwrap();
    let full = travel(&history);
    let seq = change(&line, &mut history, t(130), slow(50)).unwrap();
    assert!(travel(&history) > full);
    assert_eq!(history.state().line(&line).hoists[H1].raise_lower(), (Dur(10_000), Dur(10_000)));
    planned(&line, &history, t(130));
    change(&line, &mut history, t(131), slow(80)).unwrap();
    change(&line, &mut history, t(132), slow(100)).unwrap();
    assert_eq!(history.state().line(&line).hoists[H1], line.hoists[H1]);
    assert_eq!(
        take_back(&line, &mut history, t(133), seq).unwrap_err(),
        format!("nothing is left of entry {}: it has ended since", seq.0)
    );
    assert!(change(&line, &mut history, t(134), slow(5)).unwrap_err().contains("10 to 100 %"));
}

fn starts(line: &Line, history: &History, now: Time) -> Vec<CarrierId> {
    let schedule = planned(line, history, now);
    schedule.moves.iter().filter(|m| m.leaves == Visit::Load).map(|m| m.carrier).collect()
}

#[test]
fn the_queue_starts_in_the_order_that_was_said() {
    let line = small::line();
    let mut history = opened(&line, small::book());
    for order in [vec![B2, B3, B1], vec![B3, B1, B2], vec![B1, B2, B3]] {
        let schedule = planned(&line, &history, t(0));
        does(&line, &mut history, &Command::AdoptPlan { schedule }, t(0));
        change(&line, &mut history, t(0), Change::Reorder { carriers: order.clone() }).unwrap();
        assert_eq!(starts(&line, &history, t(0)), order);
    }
    let schedule = planned(&line, &history, t(0));
    change(&line, &mut history, t(1), Change::Reorder { carriers: vec![B3, B1] }).unwrap();
    assert!(breaks(&line, &history, &schedule, Rule::Queue).is_some());
    let twice = change(&line, &mut history, t(1), Change::Reorder { carriers: vec![B3, B3] });
    assert_eq!(twice.unwrap_err(), "B3 is named twice");
}

#[test]
fn orders_come_go_and_split() {
    let line = small::line();
    let mut history = opened(&line, small::book());
    let book = history.state().book.clone();
    let order = Order { name: "A-3".to_owned(), ..book.orders[A1].clone() };
    let spec = CarrierSpec { name: "B4".to_owned(), ..book.carriers[B1].clone() };
    let add = Change::AddOrder { order: Box::new(order.clone()), carriers: vec![spec.clone()] };
    let added = change(&line, &mut history, t(5), add.clone()).unwrap();
    let b4 = CarrierId(3);
    assert_eq!(history.state().book.carriers[b4].order, OrderId(2));
    assert!(!of(&planned(&line, &history, t(5)), b4).is_empty());
    assert_eq!(change(&line, &mut history, t(6), add).unwrap_err(), "\"A-3\" is no new name for an order");
    let split = |name: &str| Change::Split { order: A1, carriers: vec![B2], name: name.to_owned() };
    let parted = change(&line, &mut history, t(7), split("A-1b")).unwrap();
    let orders = |h: &History| h.state().book.carriers.iter().map(|(_, c)| c.order.0).collect::<Vec<_>>();
    assert_eq!(orders(&history), [0, 3, 1, 2]);
    // Numbers once given stay: what was added later keeps its own.
    take_back(&line, &mut history, t(8), parted).unwrap();
    take_back(&line, &mut history, t(8), added).unwrap();
    assert_eq!(orders(&history), [0, 0, 1, 2]);
    assert_eq!(history.state().carriers[b4].place, Place::OffLine);
    assert!(
        take_back(&line, &mut history, t(8), added).unwrap_err().contains("no change or entry that stands")
    );
    let cancelled = change(&line, &mut history, t(9), Change::CancelOrder { order: A2 }).unwrap();
    assert_eq!(of(&planned(&line, &history, t(9)), B3), []);
    take_back(&line, &mut history, t(10), cancelled).unwrap();
    assert!(!of(&planned(&line, &history, t(10)), B3).is_empty());
    let promise = Change::Promise { order: A2, priority: Priority::Low, due: Some(t(9000)) };
    change(&line, &mut history, t(11), promise).unwrap();
    assert_eq!(history.state().book.orders[A2].due, Some(t(9000)));
    let entry = |side| Change::Entry { order: Some(A1), side };
    change(&line, &mut history, t(12), entry(EntrySide::At(LOAD))).unwrap();
    assert_eq!(
        change(&line, &mut history, t(13), entry(EntrySide::At(UNLOAD))).unwrap_err(),
        "U is not a load station"
    );
}

#[test]
fn a_dwell_changes_inside_the_sheet_and_not_behind_the_carrier() {
    let (line, mut history) = in_anodise();
    let window =
        |min, max| Window { min: Dur::from_secs(min), target: Dur::from_secs(min), max: Dur::from_secs(max) };
    let dwell = |whose, step, window| Change::Dwell { whose, step: StepNo(step), window };
    let own = Whose::Carrier(B1);
    let seq = change(&line, &mut history, t(130), dwell(own, 2, window(350, 360))).unwrap();
    let lift = |history: &History| {
        let schedule = planned(&line, history, t(130));
        let m = of(&schedule, B1)[0];
        m.start + line.hoists[m.hoist].hook - t(125)
    };
    assert!((Dur::from_secs(350)..=Dur::from_secs(360)).contains(&lift(&history)));
    let out = change(&line, &mut history, t(131), dwell(own, 2, window(200, 300)));
    assert_eq!(out.unwrap_err(), "the process sheet of B1 allows 5:00 to 6:40");
    let out = change(&line, &mut history, t(131), dwell(own, 2, window(604_801, 604_801)));
    assert_eq!(out.unwrap_err(), "no dwell is aimed at for longer than a week");
    // Limits are the sheet's, not those of the change before.
    change(&line, &mut history, t(131), dwell(own, 2, window(310, 400))).unwrap();
    let behind = change(&line, &mut history, t(131), dwell(own, 0, window(60, 100)));
    assert_eq!(behind.unwrap_err(), "that step is not ahead of any of them");
    change(&line, &mut history, t(132), dwell(Whose::Order(A1), 0, window(70, 100))).unwrap();
    let recipes = |c: CarrierId| {
        history.state().line(&line).step(history.state().book.carriers[c].recipe, StepNo(0)).min
    };
    assert_eq!((recipes(B1), recipes(B2)), (Dur::from_secs(60), Dur::from_secs(70)));
    does(&line, &mut history, &Command::Lift { carrier: B1, hoist: H1, from: ANODISE, at: t(490) }, t(490));
    assert_eq!(take_back(&line, &mut history, t(491), seq).unwrap_err(), "B1 has had that step");
}

#[test]
fn rework_strips_and_starts_again_from_where_the_carrier_is() {
    let shape = Shape { steps: 6, carriers: 2, rinse: 4, hoists: 1 };
    let (line, book) = with_strip(3, shape);
    let mut history = opened(&line, book);
    let first = line.tanks_of(line.recipes[RecipeId(0)].steps[0].stage).next().unwrap();
    does(&line, &mut history, &Command::Lift { carrier: B1, hoist: H1, from: LOAD, at: t(2) }, t(2));
    does(&line, &mut history, &Command::Lower { hoist: H1, to: first, at: t(20) }, t(20));
    let rework = |recipe| Change::Rework { carrier: B1, recipe };
    assert!(change(&line, &mut history, t(30), rework(RecipeId(0))).unwrap_err().contains("does not strip"));
    let seq = change(&line, &mut history, t(30), rework(RecipeId(1))).unwrap();
    let moves = of(&planned(&line, &history, t(30)), B1);
    let strip = line.tanks.find(|tank| tank.name == "STRIP").unwrap();
    assert_eq!((moves[0].from, moves[0].to), (first, strip));
    assert_eq!(moves.last().unwrap().visit, Visit::Unload);
    let (before, after) = (history.state().carriers[B1].place, history.state().standing.runs[&B1].clone());
    assert!(matches!(before, Place::InTank { visit: Visit::Step(StepNo(0)), .. }));
    assert_eq!(after[0].recipe, RecipeId(0));
    take_back(&line, &mut history, t(31), seq).unwrap();
    assert!(history.state().standing.runs.is_empty());
    let seq = change(&line, &mut history, t(32), rework(RecipeId(1))).unwrap();
    does(&line, &mut history, &Command::Lift { carrier: B1, hoist: H1, from: first, at: t(60) }, t(60));
    assert_eq!(take_back(&line, &mut history, t(61), seq).unwrap_err(), "B1 was moved since");
    // What was cut short by that is stripped off again, and no window broken.
    assert_eq!(happened(&line, history.state()), []);
}

#[test]
fn a_tank_that_went_out_is_taken_back_like_a_change() {
    let (line, mut history) = in_anodise();
    does(&line, &mut history, &Command::TankOut { tank: WAIT, until: None, why: String::new() }, t(130));
    let seq = history.state().seq;
    does(&line, &mut history, &Command::Note { text: "so".to_owned() }, t(131));
    take_back(&line, &mut history, t(132), seq).unwrap();
    assert_eq!(history.state().tanks[WAIT].from, Time::ZERO);
    assert!(
        take_back(&line, &mut history, t(133), Seq(2))
            .unwrap_err()
            .contains("no change or entry that stands")
    );
}

/// One alarm for the hoist; what it puts at risk waits under it and comes back on its own.
#[test]
fn alarms_wait_under_the_one_of_a_stopped_hoist() {
    let (line, mut history) = in_anodise();
    let key = AlarmKey { carrier: B1, visit: Visit::Step(StepNo(2)), kind: AlarmKind::Dwell };
    for hoist in line.hoists.ids() {
        let stop = Change::StopHoist { hoist, cause: StopCause::Fault, until: Some(t(2000)) };
        change(&line, &mut history, t(200), stop).unwrap();
    }
    let schedule = planned(&line, &history, t(200));
    does(&line, &mut history, &Command::AdoptPlan { schedule }, t(200));
    does(&line, &mut history, &Command::Watch, t(201));
    let risks = stop_alarm::at_risk(&line, history.state(), H1, t(201));
    assert_eq!(
        risks.iter().map(|r| (r.key, r.harm, r.deadline)).collect::<Vec<_>>(),
        [(key, Harm::Scrap, t(525))]
    );
    let parent = |h: &History| h.state().stop_alarms.get(&H1).map(|a| (a.state, a.level));
    assert_eq!(parent(&history), Some((AlarmState::Unacknowledged, AlarmLevel::Due)));
    does(&line, &mut history, &Command::AcknowledgeStop { hoist: H1 }, t(202));
    does(&line, &mut history, &Command::Watch, t(526));
    let child = &history.state().alarms[&key];
    assert_eq!((child.state, child.level, child.active), (AlarmState::Suppressed, AlarmLevel::Over, true));
    assert_eq!(
        parent(&history),
        Some((AlarmState::Unacknowledged, AlarmLevel::Over)),
        "it asks for attention again"
    );
    let at_risk = |now| stop_alarm::at_risk(&line, history.state(), H1, now).len();
    assert_eq!(at_risk(t(526)), 1, "scrap stays in the list");
    assert_eq!(
        at_risk(t(2000)),
        0,
        "a hoist whose stop has ended puts nothing at risk, also before its first lift"
    );
    for hoist in line.hoists.ids() {
        change(&line, &mut history, t(600), Change::RunHoist { hoist }).unwrap();
    }
    does(&line, &mut history, &Command::Watch, t(601));
    assert_eq!(history.state().alarms[&key].state, AlarmState::Unacknowledged);
    assert_eq!(parent(&history), Some((AlarmState::ReturnedUnacknowledged, AlarmLevel::Over)));
}
