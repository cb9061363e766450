//! What the board says, without a terminal.

use dwellhand::files;
use dwellhand::ids::{HoistId, StepNo};
use dwellhand::line::{Limit, Quantity, Visit};
use dwellhand::plan::calls;
use dwellhand::schedule::{Move, Schedule};
use dwellhand::shift::alarm::{self, Priority};
use dwellhand::shift::ledger::{Entry, Reading};
use dwellhand::shift::{AlarmKey, AlarmKind, AlarmLevel, Event, Who};
use dwellhand::units::Dur;
use dwellhand::view::{AlarmOf, Count, Readiness, Standing, Urgency, Verb, lifts, lowers, step_card};

use crate::scene;

#[test]
fn the_call_counts_to_its_latest_safe_start() {
    let board = scene::calm().board();
    let call = board.call.unwrap();
    assert_eq!((call.verb, call.wait), (Verb::Pick, false));
    assert_eq!(call.count, Count::Left(Dur::from_secs(38)));
    assert_eq!(call.urgency, Urgency::Calm);
    assert_eq!(call.by.as_deref(), Some("03:12:53"));
    assert_eq!(call.plain(), "PICK B07 from T05 etch to T07 etch rinse");
    assert_eq!(call.step, "step 4 of 13, etch rinse");
    assert_eq!(board.next.len(), 4);
}

#[test]
fn a_call_past_its_latest_start_counts_up() {
    let board = scene::trouble().board();
    let call = board.call.unwrap();
    // The latest start was 38 s after the calm moment, the trouble comes 92 s after it.
    assert_eq!((call.count, call.urgency), (Count::Over(Dur::from_secs(54)), Urgency::Over));
}

#[test]
fn before_its_set_out_the_call_is_to_wait() {
    let board = scene::waiting().board();
    let call = board.call.unwrap();
    assert!(call.wait);
    assert_eq!(call.count, Count::In(Dur::from_secs(55)));
    assert!(call.early.is_some());
}

#[test]
fn a_hanging_load_counts_to_the_end_of_its_air_time() {
    let board = scene::hanging().board();
    let call = board.call.unwrap();
    assert_eq!(call.verb, Verb::Place);
    // Lifted 30 s ago, 14 s of it the raise: 16 s in the air of 30 s allowed.
    let air = call.air.unwrap();
    assert_eq!((air.so_far, air.max), (Dur::from_secs(16), Some(Dur::from_secs(30))));
    assert_eq!(call.count, Count::Left(Dur::from_secs(14)));
    assert_eq!(call.urgency, Urgency::Soon);
}

#[test]
fn tanks_say_how_their_loads_stand() {
    let board = scene::trouble().board();
    let row = |name: &str| board.tanks.iter().find(|t| t.name == name).unwrap();
    assert_eq!(row("T05").held[0].standing, Standing::Over);
    assert_eq!(row("T05").held[0].bar.left(), Some(Dur::from_secs(-17)));
    assert_eq!(row("T12").held[0].standing, Standing::AtRisk);
    assert_eq!(row("T24").held[0].standing, Standing::Early);
    assert_eq!(row("T14").readiness, Readiness::Out);
    assert_eq!(row("T26").readiness, Readiness::Heating("03:35".to_owned()));
    assert_eq!(row("T05").held[0].harm, 'S');
}

#[test]
fn a_bath_that_heats_up_is_not_called_out_of_service() {
    let mut scene = scene::calm();
    let tank = scene.line.tanks.find(|t| t.name == "T26").unwrap();
    let readiness = |scene: &scene::Scene| {
        let board = scene.board();
        board.tanks.iter().find(|t| t.tank == tank).unwrap().readiness.clone()
    };
    assert_eq!(readiness(&scene).word(), "heats");
    let until = scene.now + Dur::from_mins(10);
    scene::push_now(&mut scene, Who::Supervisor, Event::TankOut { tank, until, why: String::new() });
    assert_eq!(readiness(&scene), Readiness::From("03:22".to_owned()));
    assert_eq!(readiness(&scene).word(), "OUT");
}

/// What a tank was taken out for, or what a bath is off by, is nothing its load can be told apart from.
#[test]
fn a_load_in_a_tank_that_is_out_or_a_bath_that_is_off_is_named() {
    let mut scene = scene::calm();
    assert_eq!(scene.board().doubts, [] as [String; 0]);
    let tank = scene.line.tanks.find(|t| t.name == "T24").unwrap();
    let load = scene.board().tanks.iter().find(|t| t.tank == tank).unwrap().held[0].name.clone();
    let quantity = Quantity::Temperature;
    let limit = Limit { quantity, least: Some(96.0), most: None, every: None, overdue_stops: false };
    scene.line.tanks[tank].limits = vec![limit];
    let reading = Reading { quantity, value: 80.0 };
    let now = scene.now;
    let read = Event::Entered { entry: Entry::Bath { tank, reading } };
    scene::push_now(&mut scene, Who::Operator, read);
    let [doubt] = &scene.board().doubts[..] else { panic!("{:?}", scene.board().doubts) };
    assert!(doubt.starts_with("LOW 80.0 C T24") && doubt.contains(&format!("with {load} in it")), "{doubt}");
    let until = now + Dur::from_mins(10);
    scene::push_now(&mut scene, Who::Supervisor, Event::TankOut { tank, until, why: String::new() });
    let [doubt] = &scene.board().doubts[..] else { panic!("{:?}", scene.board().doubts) };
    assert!(doubt.starts_with("OUT T24") && doubt.contains(&format!("with {load} in it")), "{doubt}");
    // A rectifier's tanks go out together, and all loads in them are named at once.
    let other = scene.line.tanks.find(|t| t.name == "T12").unwrap();
    scene::push_now(&mut scene, Who::Supervisor, Event::TankOut { tank: other, until, why: String::new() });
    let doubts = scene.board().doubts;
    assert_eq!(doubts, [format!("OUT T12, T24: with B06, {load} in them; look whether those dwells count")]);
}

/// Who waits for a tank that is shut is not told only of the load that goes first.
#[test]
fn an_alarm_names_the_tanks_that_a_load_cannot_go_on_to() {
    let mut scene = scene::trouble();
    let text = |scene: &scene::Scene| scene.board().alarms[0].text.clone();
    assert!(!text(&scene).contains("shut"), "{}", text(&scene));
    let until = scene.now + Dur::from_mins(10);
    for (name, shut) in [("T07", false), ("T08", true)] {
        let tank = scene.line.tanks.find(|t| t.name == name).unwrap();
        scene::push_now(&mut scene, Who::Supervisor, Event::TankOut { tank, until, why: String::new() });
        assert_eq!(text(&scene).contains("T07, T08 are shut. "), shut, "{}", text(&scene));
    }
}

#[test]
fn alarms_say_what_where_and_what_to_do() {
    let board = scene::trouble().board();
    let first = &board.alarms[0];
    assert_eq!(first.text, "B07 in T05 etch, 0:17 past max. Lift to T07 now. Risk: scrap.");
    assert_eq!(first.priority, Some(Priority::High));
    assert!(first.unseen && !first.may_shelve);
    assert!(board.alarms[2].is_shelved());
    assert_eq!(board.breaches[0].letter, 'S');
}

#[test]
fn the_log_marks_what_was_late_and_what_was_taken_back() {
    let board = scene::calm().board();
    let taken_back: Vec<_> = board.log.iter().filter(|l| l.undone).collect();
    assert_eq!(taken_back.len(), 1);
    assert_eq!(taken_back[0].text, "placed B07 in T06 etch");
    assert_eq!(taken_back[0].late, Some(Dur::from_secs(38)));
    assert_eq!(board.last_said.unwrap().text, "placed B08 in T10 desmut rinse");
}

#[test]
fn the_queue_promises_and_says_who_is_late() {
    let board = scene::calm().board();
    assert_eq!(board.queue.len(), 5);
    let first = &board.queue[0];
    assert_eq!((first.carrier.as_str(), first.order.as_str()), ("B10", "4713"));
    assert_eq!(first.release.as_deref(), Some("03:19"));
    assert!(first.late.is_some() && board.queue[1].late.is_none());
}

#[test]
fn only_what_can_be_true_is_offered() {
    let scene = scene::calm();
    let board = scene.board();
    assert!(lowers(&scene.line, &board).is_empty(), "nothing hangs");
    let picks = lifts(&scene.line, &board);
    // Nine loads on the line and five in the queue; the tightest window comes first.
    assert_eq!(picks.len(), 14);
    assert!(picks[0].text.starts_with("picked B07 from T05 etch"), "{}", picks[0].text);

    let scene = scene::hanging();
    let board = scene.board();
    assert!(lifts(&scene.line, &board).is_empty(), "the hook is taken");
    let places = lowers(&scene.line, &board);
    assert!(places[0].text.starts_with("placed B07 in T07 etch rinse"), "{}", places[0].text);
    assert!(places.iter().all(|p| !p.text.contains(" T12 ")), "T12 is full");
}

#[test]
fn when_all_is_done_the_board_says_so() {
    let board = scene::finished().board();
    assert_eq!(board.call, None);
    assert_eq!(board.rest, "Every carrier is finished.");
}

#[test]
fn only_the_move_under_way_is_a_place() {
    let board = scene::hanging().board();
    assert_eq!(board.call.unwrap().verb, Verb::Place);
    // The next move of the same carrier is a pick again.
    let later = board.next.iter().find(|n| n.carrier == "B07").unwrap();
    assert_eq!(later.verb, Verb::Pick);
}

#[test]
fn a_card_says_what_the_sheet_in_force_says() {
    let (line, recipes, _) = files::demo();
    let line = files::read_line(line, recipes).unwrap().value;
    let recipe = line.recipes.find(|r| r.name == "clear").unwrap();
    let etch = step_card(&line, recipe, Visit::Step(StepNo(2))).unwrap();
    assert_eq!(etch.card.word, "etch");
    assert_eq!(etch.harms, [Some("rework"), Some("scrap")]);
    assert_eq!(
        etch.sheet,
        [
            "0:20 to 0:45, aim for 0:30",
            "the hoist stays attached",
            "drip 0:05",
            "out of liquid for 0:30 at most"
        ]
    );
    let hold = step_card(&line, recipe, Visit::Hold(StepNo(7))).unwrap();
    assert_eq!((hold.card.word, hold.harms), ("standby", [None, Some("rework")]));
    assert_eq!(hold.sheet[0], "up to 5:00");
    assert!(step_card(&line, recipe, Visit::Hold(StepNo(0))).is_none(), "no standby after the clean");
    assert!(step_card(&line, recipe, Visit::Unload).is_none());
}

/// Call, alarm and reason say the same: what the plan does with the load, and when.
#[test]
fn an_alarm_says_what_the_plan_does_with_the_load() {
    let mut scene = scene::trouble();
    let told = |scene: &scene::Scene| {
        let board = scene.board();
        let of = board.alarms.iter().find(|a| a.text.starts_with("B07")).unwrap().text.clone();
        (of, board.call.unwrap().reason)
    };
    let (alarm, reason) = told(&scene);
    assert!(alarm.contains("past max. Lift to T07 now."), "{alarm}");
    assert!(reason.ends_with("; lift it now"), "{reason}");
    scene.calls[0].set_out = scene.now + Dur::from_secs(37);
    scene.calls[0].mv.start = scene.now + Dur::from_secs(40);
    let (alarm, reason) = told(&scene);
    assert!(alarm.contains("past max. Lift to T07 planned at 03:14:27."), "{alarm}");
    assert!(reason.ends_with("; no sooner lift is planned"), "{reason}");
    scene.calls.swap(0, 1);
    let alarm = told(&scene).0;
    let first = scene.board().call.unwrap().carrier;
    assert!(alarm.contains(&format!("{first} comes first; lift to T07 planned at")), "{alarm}");
    assert!(!alarm.contains("now"), "{alarm}");
}

/// A load that was lifted too soon says so: among the alarms, and while it goes back where it was.
#[test]
fn a_load_lifted_too_soon_is_told_to_be_put_back() {
    let mut scene = scene::calm();
    let board = scene.board();
    let row = board.tanks.iter().find(|t| t.held.iter().any(|h| h.standing == Standing::Early)).unwrap();
    let (from, early) = (row.tank, &row.held[0]);
    let key = AlarmKey { carrier: early.carrier, visit: early.visit, kind: AlarmKind::Short };
    let lifted = Event::Lifted { carrier: early.carrier, hoist: HoistId(0), from };
    scene::push_now(&mut scene, Who::Operator, lifted);
    let raised = alarm::changes(&scene.line, scene.history.state(), scene.now);
    let of_it = Event::AlarmRaised { key, level: AlarmLevel::Over };
    assert!(raised.contains(&of_it), "{raised:?}");
    scene::push_now(&mut scene, Who::Program, of_it);
    let board = scene.board();
    let alarm = board.alarms.iter().find(|a| a.of == AlarmOf::Load(key)).unwrap();
    assert_eq!((alarm.level_word, alarm.active), ("SHORT", true));
    assert!(alarm.text.contains("too short. Put it back now. Risk: "), "{}", alarm.text);
    let back = Move {
        carrier: early.carrier,
        hoist: HoistId(0),
        from,
        to: from,
        leaves: early.visit,
        visit: early.visit,
        start: scene.now,
        attach: true,
        release: true,
    };
    let plan = Schedule::new(vec![back], scene.now);
    let call = &calls(&scene.line, scene.history.state(), &plan, scene.now, 1)[0];
    let reason = call.reason_at(&scene.line, &scene.history.state().book, scene.now);
    assert!(reason.contains("too short in") && reason.contains(": put it back"), "{reason}");
}
