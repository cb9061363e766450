//! What a shift takes and what it refuses: given what is so, when somebody says something, then this follows.

use crate::helpers::*;
use dwellhand::ids::*;
use dwellhand::line::*;
use dwellhand::schedule::Schedule;
use dwellhand::shift::*;
use dwellhand::units::*;
use dwellhand::verify::{Rule, happened};

/// A is in the etch since 15.
fn in_etch() -> (Line, History) {
    let line = plant();
    let mut history = opened(&line, book(3));
    say(&line, &mut history, t(2), &lift(A, H1, LOAD, t(2))).unwrap();
    say(&line, &mut history, t(15), &lower(H1, ETCH, t(15))).unwrap();
    (line, history)
}

/// A hangs on H1 over the etch since 77.
fn lifted() -> (Line, History) {
    let (line, mut history) = in_etch();
    say(&line, &mut history, t(77), &lift(A, H1, ETCH, t(77))).unwrap();
    (line, history)
}

fn place(history: &History, carrier: CarrierId) -> Place {
    history.state().carriers[carrier].place
}

fn in_tank(tank: TankId, visit: Visit, since: i64) -> Place {
    Place::InTank { tank, visit, since: t(since), hooked: None }
}

#[test]
fn a_pick_at_the_load_station_starts_a_carrier() {
    let line = plant();
    let mut history = opened(&line, book(1));
    let events = say(&line, &mut history, t(2), &lift(A, H1, LOAD, t(2))).unwrap();
    assert_eq!(events, [Event::Lifted { carrier: A, hoist: H1, from: LOAD }]);
    assert_eq!(
        place(&history, A),
        Place::OnHook { hoist: H1, from: LOAD, leaves: Visit::Load, lifted: t(2) }
    );
    assert_eq!(history.state().hoists[H1].carrier, Some(A));
}

#[test]
fn a_place_begins_the_next_step() {
    let (line, history) = in_etch();
    assert_eq!(place(&history, A), in_tank(ETCH, step_no(0), 15));
    let hoist = history.state().hoists[H1];
    assert_eq!((hoist.at, hoist.carrier, hoist.free_from), (ETCH, None, t(15) + line.hoists[H1].unhook));
}

#[test]
fn a_pick_ends_the_dwell_at_its_own_time() {
    let (_, history) = lifted();
    let stay = Stay { tank: ETCH, visit: step_no(0), from: t(15), to: t(77) };
    assert_eq!(history.state().carriers[A].stays, [stay]);
}

#[test]
fn the_last_place_finishes_the_carrier() {
    let (line, mut history) = lifted();
    for (at, command) in [
        (100, lower(H1, RINSE, t(100))),
        (132, lift(A, H1, RINSE, t(132))),
        (145, lower(H1, ANODISE, t(145))),
        (452, lift(A, H1, ANODISE, t(452))),
        (469, lower(H1, UNLOAD, t(469))),
    ] {
        say(&line, &mut history, t(at), &command).unwrap();
    }
    assert_eq!(place(&history, A), Place::Finished { tank: UNLOAD, at: t(469) });
    assert_eq!(history.state().carriers[A].stays.len(), 3);
    assert!(!history.state().on_line(A));
}

#[test]
fn a_dip_on_the_hook_keeps_the_hoist() {
    let (mut line, _) = in_etch();
    line.recipes[RecipeId(0)].steps[1].on_hook = true;
    let mut history = opened(&line, book(2));
    say(&line, &mut history, t(2), &lift(A, H1, LOAD, t(2))).unwrap();
    say(&line, &mut history, t(15), &lower(H1, ETCH, t(15))).unwrap();
    say(&line, &mut history, t(77), &lift(A, H1, ETCH, t(77))).unwrap();
    say(&line, &mut history, t(100), &lower(H1, RINSE, t(100))).unwrap();
    let expected = Place::InTank { tank: RINSE, visit: step_no(1), since: t(100), hooked: Some(H1) };
    assert_eq!(place(&history, A), expected);
    let hoist = history.state().hoists[H1];
    assert_eq!((hoist.carrier, hoist.free_from), (Some(A), t(100)), "attached: no unhook");
    let refused = say(&line, &mut history, t(110), &lift(B, H1, LOAD, t(110)));
    assert!(matches!(refused, Err(Refusal::HoistLoaded { .. })), "{refused:?}");
    say(&line, &mut history, t(130), &lift(A, H1, RINSE, t(130))).unwrap();
    say(&line, &mut history, t(145), &lower(H1, ANODISE, t(145))).unwrap();
    assert_eq!(history.state().hoists[H1].carrier, None);
}

#[test]
fn a_wrong_tank_makes_a_stray_that_goes_on_where_it_was() {
    let (line, mut history) = lifted();
    say(&line, &mut history, t(110), &lower(H1, ANODISE, t(110))).unwrap();
    let stray = Visit::Stray { resume: StepNo(1) };
    assert_eq!(place(&history, A), in_tank(ANODISE, stray, 110));
    say(&line, &mut history, t(120), &lift(A, H1, ANODISE, t(120))).unwrap();
    say(&line, &mut history, t(130), &lower(H1, RINSE, t(130))).unwrap();
    assert_eq!(place(&history, A), in_tank(RINSE, step_no(1), 130));
}

#[test]
fn a_stray_after_the_last_step_only_wants_out() {
    let line = plant();
    let after_last = visit_on_arrival(&line, RecipeId(0), step_no(2), RINSE);
    assert_eq!(after_last, Visit::Stray { resume: StepNo(3) });
    assert_eq!(line.next_visit(RecipeId(0), after_last), Some(Visit::Unload));
    assert_eq!(visit_on_arrival(&line, RecipeId(0), after_last, UNLOAD), Visit::Unload);
}

#[test]
fn put_back_is_the_same_step_again() {
    let (line, mut history) = lifted();
    say(&line, &mut history, t(90), &lower(H1, ETCH, t(90))).unwrap();
    // It was in the bath for 62 s, then hung for 13 s: the dwells add up.
    let had = history.state().carriers[A].dwelled(step_no(0));
    assert_eq!(
        place(&history, A),
        Place::InTank { tank: ETCH, visit: step_no(0), since: t(90) - had, hooked: None }
    );
    let first = history.state().carriers[A].stays[0];
    assert_eq!(had, first.to - first.from);
    // Lifted again, both stays are kept as they were.
    say(&line, &mut history, t(100), &lift(A, H1, ETCH, t(100))).unwrap();
    let stays = &history.state().carriers[A].stays;
    assert_eq!((stays[0], stays[1].from, stays[1].to), (first, t(90), t(100)));
    assert_eq!(history.state().carriers[A].dwelled(step_no(0)), had + (t(100) - t(90)));
}

#[test]
fn a_lift_before_it_was_put_back_is_refused() {
    let (line, mut history) = lifted();
    say(&line, &mut history, t(90), &lower(H1, ETCH, t(90))).unwrap();
    assert!(say(&line, &mut history, t(95), &lift(A, H1, ETCH, t(80))).is_err());
}

#[test]
fn put_back_at_the_load_station_waits_again() {
    let line = plant();
    let mut history = opened(&line, book(1));
    say(&line, &mut history, t(2), &lift(A, H1, LOAD, t(2))).unwrap();
    say(&line, &mut history, t(12), &lower(H1, LOAD, t(12))).unwrap();
    assert_eq!(place(&history, A), Place::Queued);
}

#[test]
fn standby_water_is_a_hold_where_the_sheet_allows_it() {
    let line = plant();
    assert_eq!(visit_on_arrival(&line, RecipeId(0), step_no(1), STANDBY), Visit::Hold(StepNo(1)));
    // After the etch it is just a wrong tank.
    let resume = StepNo(1);
    assert_eq!(visit_on_arrival(&line, RecipeId(0), step_no(0), STANDBY), Visit::Stray { resume });
    // From the hold the way goes on, and another standby stop stays the same hold.
    assert_eq!(visit_on_arrival(&line, RecipeId(0), Visit::Hold(StepNo(1)), ANODISE), step_no(2));
    assert_eq!(visit_on_arrival(&line, RecipeId(0), Visit::Hold(StepNo(1)), STANDBY), Visit::Hold(StepNo(1)));
}

/// The refusal a command meets; the state must not have changed.
fn refused(line: &Line, history: &mut History, now: i64, command: &Command) -> Refusal {
    let before = history.state().clone();
    let refusal = say(line, history, t(now), command).expect_err("should be refused");
    assert_eq!(history.state(), &before);
    refusal
}

#[test]
fn a_full_tank_takes_nothing_more() {
    let (line, mut history) = in_etch();
    say(&line, &mut history, t(30), &lift(B, H1, LOAD, t(30))).unwrap();
    let refusal = refused(&line, &mut history, 45, &lower(H1, ETCH, t(45)));
    assert_eq!(refusal, Refusal::TankFull { tank: "T1".into(), carrier: "A".into() });
    assert_eq!(refusal.to_string(), "T1 holds A; if it does not, say where A is");
}

#[test]
fn a_loaded_hoist_picks_nothing_and_an_empty_one_places_nothing() {
    let (line, mut history) = lifted();
    let refusal = refused(&line, &mut history, 80, &lift(B, H1, LOAD, t(80)));
    assert_eq!(refusal, Refusal::HoistLoaded { hoist: "H1".into(), carrier: "A".into() });
    let (line, mut history) = in_etch();
    let refusal = refused(&line, &mut history, 80, &lower(H1, RINSE, t(80)));
    assert_eq!(refusal, Refusal::HoistEmpty { hoist: "H1".into() });
}

#[test]
fn nothing_happens_in_the_future_or_before_it_can() {
    let (line, mut history) = in_etch();
    for (now, at) in [(70, 71), (70, 14)] {
        let refusal = refused(&line, &mut history, now, &lift(A, H1, ETCH, t(at)));
        assert!(matches!(refusal, Refusal::ImpossibleTime { said, .. } if said == t(at)), "{refusal}");
    }
    // On the stroke is possible.
    assert!(decide(&line, &history, &lift(A, H1, ETCH, t(15)), t(15)).is_ok());
    let (line, mut history) = lifted();
    for at in [101, 76] {
        let refusal = refused(&line, &mut history, 100, &lower(H1, RINSE, t(at)));
        assert!(matches!(refusal, Refusal::ImpossibleTime { .. }), "{refusal}");
    }
}

#[test]
fn picks_from_where_the_carrier_is_not() {
    let (line, mut history) = in_etch();
    let refusal = refused(&line, &mut history, 80, &lift(A, H1, RINSE, t(80)));
    assert_eq!(refusal.to_string(), "A is in T1; if that is wrong, say where it is");
    let refusal = refused(&line, &mut history, 80, &lift(B, H1, RINSE, t(80)));
    assert_eq!(refusal, Refusal::NotALoadStation { tank: "T2".into() });
}

#[test]
fn a_hoist_does_not_go_beyond_its_reach() {
    let (mut line, _) = in_etch();
    line.hoists[H1].reach_to = Mm(1000);
    let mut history = opened(&line, book(1));
    say(&line, &mut history, t(2), &lift(A, H1, LOAD, t(2))).unwrap();
    let refusal = refused(&line, &mut history, 15, &lower(H1, ETCH, t(15)));
    assert_eq!(refusal, Refusal::OutOfReach { hoist: "H1".into(), tank: "T1".into() });
    let refusal = refused(&line, &mut history, 15, &Command::CorrectHoist { hoist: H1, at: ETCH });
    assert!(matches!(refusal, Refusal::HoistLoaded { .. }));
}

#[test]
fn a_shift_opens_once_and_first() {
    let (line, mut history) = in_etch();
    assert_eq!(refused(&line, &mut history, 20, &Command::Open { book: book(1) }), Refusal::AlreadyOpen);
    let mut fresh = History::new(&line);
    assert_eq!(refused(&line, &mut fresh, 20, &Command::Watch), Refusal::NotOpen);
}

#[test]
fn undo_takes_back_the_last_thing_said() {
    let (line, mut history) = lifted();
    let command = undo(&history);
    say(&line, &mut history, t(80), &command).unwrap();
    let (_, before) = in_etch();
    assert_eq!(history.state().carriers, before.state().carriers);
    assert_eq!(history.state().hoists, before.state().hoists);
    // And again, down to nothing.
    let command = undo(&history);
    say(&line, &mut history, t(81), &command).unwrap();
    let command = undo(&history);
    say(&line, &mut history, t(82), &command).unwrap();
    assert_eq!(place(&history, A), Place::Queued);
    assert_eq!(refused(&line, &mut history, 83, &Command::Undo { seq: Seq(2) }), Refusal::NothingToUndo);
}

#[test]
fn only_what_is_meant_is_taken_back() {
    // Two terminals ask about the pick; the second to answer does not mean what was said before it.
    let (line, mut history) = lifted();
    let (command, late) = (undo(&history), retime(&history, t(76)));
    say(&line, &mut history, t(80), &command).unwrap();
    let before = history.state().clone();
    assert_eq!(refused(&line, &mut history, 81, &command), Refusal::NotTheLast);
    assert_eq!(refused(&line, &mut history, 81, &late), Refusal::NotTheLast);
    assert_eq!(*history.state(), before);
}

#[test]
fn an_undo_can_be_undone() {
    let (line, mut history) = lifted();
    let before = history.state().clone();
    let command = undo(&history);
    say(&line, &mut history, t(80), &command).unwrap();
    let undo = history.events().last().unwrap().seq;
    let seq = Seq(undo.0 + 1);
    let event = Event::Undone { seq: undo };
    history.push(&line, Stamped { seq, at: t(81), entered: t(81), by: Who::Operator, event });
    assert_eq!(history.state().carriers, before.carriers);
    assert_eq!(history.state().last_physical, before.last_physical);
}

#[test]
fn notes_and_plans_are_not_undone() {
    let (line, mut history) = lifted();
    say(&line, &mut history, t(78), &Command::Note { text: "rack loose".into() }).unwrap();
    let command = undo(&history);
    say(&line, &mut history, t(80), &command).unwrap();
    assert_eq!(place(&history, A), in_tank(ETCH, step_no(0), 15));
}

#[test]
fn a_late_entry_gets_its_real_time() {
    let (line, mut history) = lifted();
    let command = retime(&history, t(85));
    say(&line, &mut history, t(95), &command).unwrap();
    assert_eq!(history.state().carriers[A].stays[0].to, t(85));
    // The last word counts.
    let command = retime(&history, t(70));
    say(&line, &mut history, t(96), &command).unwrap();
    assert_eq!(history.state().carriers[A].stays[0].to, t(70));
    for at in [14, 98] {
        let command = retime(&history, t(at));
        let refusal = refused(&line, &mut history, 97, &command);
        assert!(matches!(refusal, Refusal::ImpossibleTime { .. }), "{refusal}");
    }
}

#[test]
fn a_place_can_be_retimed_but_not_before_its_pick() {
    let (line, mut history) = in_etch();
    let command = retime(&history, t(20));
    say(&line, &mut history, t(40), &command).unwrap();
    assert_eq!(place(&history, A), in_tank(ETCH, step_no(0), 20));
    let command = retime(&history, t(1));
    let refusal = refused(&line, &mut history, 40, &command);
    assert!(matches!(refusal, Refusal::ImpossibleTime { .. }), "{refusal}");
}

#[test]
fn a_person_can_say_where_a_carrier_really_is() {
    let (line, mut history) = lifted();
    let claim = Claim::InTank { tank: RINSE, since: t(70), visit: step_no(1) };
    say(&line, &mut history, t(80), &Command::Correct { carrier: A, claim }).unwrap();
    assert_eq!(place(&history, A), in_tank(RINSE, step_no(1), 70));
    assert_eq!(history.state().hoists[H1].carrier, None, "it does not hang there any more");
    let claim = Claim::OnHook { hoist: H1, from: RINSE, leaves: step_no(1), lifted: t(79) };
    say(&line, &mut history, t(81), &Command::Correct { carrier: A, claim }).unwrap();
    assert_eq!(history.state().hoists[H1].carrier, Some(A));
    say(&line, &mut history, t(82), &Command::Correct { carrier: A, claim: Claim::OffLine }).unwrap();
    assert_eq!((place(&history, A), history.state().hoists[H1].carrier), (Place::OffLine, None));
    let command = undo(&history);
    say(&line, &mut history, t(83), &command).unwrap();
    assert_eq!(history.state().hoists[H1].carrier, Some(A));
}

/// Etch from 15 on; in the rinse since 60, and the way there takes 5 raise, 10 drip, 2 travel, 1 settle and 5 lower: it left
/// the etch at 37 at the latest, 38 s short of its 60.
#[test]
fn what_a_claim_says_a_load_has_left_is_an_immersion_that_counts() {
    let (line, mut history) = in_etch();
    let claim = Claim::InTank { tank: RINSE, since: t(60), visit: step_no(1) };
    say(&line, &mut history, t(80), &Command::Correct { carrier: A, claim }).unwrap();
    let etched = Stay { tank: ETCH, visit: step_no(0), from: t(15), to: t(37) };
    assert_eq!(history.state().carriers[A].stays, [etched]);
    let broken = happened(&line, history.state());
    assert_eq!(broken.iter().map(|b| (b.rule, b.by)).collect::<Vec<_>>(), [(Rule::Under, s(38))]);
    // It was never there: nothing is made up.
    let (line, mut history) = in_etch();
    let claim = Claim::InTank { tank: RINSE, since: t(30), visit: step_no(1) };
    say(&line, &mut history, t(80), &Command::Correct { carrier: A, claim }).unwrap();
    assert_eq!(history.state().carriers[A].stays, []);
    // On the hook it left when it is said to have been lifted.
    let (line, mut history) = in_etch();
    let claim = Claim::OnHook { hoist: H1, from: ETCH, leaves: step_no(0), lifted: t(76) };
    say(&line, &mut history, t(80), &Command::Correct { carrier: A, claim }).unwrap();
    assert_eq!(history.state().carriers[A].stays, [Stay { to: t(76), ..etched }]);
}

#[test]
fn claims_that_contradict_something() {
    let (line, mut history) = in_etch();
    let claims = [
        Claim::InTank { tank: ETCH, since: t(10), visit: step_no(0) },
        Claim::InTank { tank: RINSE, since: t(200), visit: step_no(1) },
        Claim::InTank { tank: LOAD, since: t(10), visit: Visit::Load },
        Claim::InTank { tank: RINSE, since: t(10), visit: step_no(0) },
        Claim::InTank { tank: RINSE, since: t(10), visit: step_no(40) },
        Claim::InTank { tank: RINSE, since: t(10), visit: Visit::Stray { resume: StepNo(4) } },
        Claim::InTank { tank: STANDBY, since: t(10), visit: Visit::Hold(StepNo(0)) },
        Claim::OnHook { hoist: H1, from: ETCH, leaves: step_no(0), lifted: t(200) },
        Claim::OnHook { hoist: H1, from: ETCH, leaves: step_no(40), lifted: t(10) },
        Claim::Finished { tank: RINSE },
    ];
    for claim in claims {
        refused(&line, &mut history, 100, &Command::Correct { carrier: B, claim });
    }
    for claim in [
        Claim::InTank { tank: STANDBY, since: t(10), visit: Visit::Hold(StepNo(1)) },
        Claim::InTank { tank: RINSE, since: t(10), visit: Visit::Stray { resume: StepNo(3) } },
        Claim::Finished { tank: UNLOAD },
    ] {
        assert!(
            decide(&line, &history, &Command::Correct { carrier: B, claim }, t(100)).is_ok(),
            "{claim:?}"
        );
    }
}

#[test]
fn a_person_can_say_where_a_hoist_really_stands() {
    let (line, mut history) = in_etch();
    say(&line, &mut history, t(40), &Command::CorrectHoist { hoist: H1, at: UNLOAD }).unwrap();
    let hoist = history.state().hoists[H1];
    assert_eq!((hoist.at, hoist.free_from), (UNLOAD, t(40)));
}

#[test]
fn tanks_go_out_and_come_back() {
    let (line, mut history) = in_etch();
    say(&line, &mut history, t(20), &Command::TankOut { tank: ANODISE, until: None, why: String::new() })
        .unwrap();
    assert_eq!(history.state().tanks[ANODISE].from, Time::FAR);
    say(&line, &mut history, t(30), &Command::TankBack { tank: ANODISE }).unwrap();
    assert_eq!(history.state().tanks[ANODISE], TankState { from: t(30), until: Time::FAR, lost: None });
}

#[test]
fn a_plan_that_starts_from_something_else_is_stale() {
    let (line, mut history) = in_etch();
    let good = plan_at(20, good_plan()[1..].to_vec());
    say(&line, &mut history, t(20), &Command::AdoptPlan { schedule: good.clone() }).unwrap();
    assert_eq!(history.state().plan, Some(good));
    let mut elsewhere = good_plan()[1..].to_vec();
    elsewhere[0].from = ANODISE;
    for moves in [good_plan(), good_plan()[2..].to_vec(), elsewhere] {
        let refusal = refused(&line, &mut history, 20, &Command::AdoptPlan { schedule: plan_at(20, moves) });
        assert!(matches!(refusal, Refusal::StalePlan { .. }), "{refusal}");
    }
}

#[test]
fn a_plan_for_another_hoist_than_the_one_that_holds_the_carrier_is_stale() {
    let mut line = plant();
    line.hoists.push(plain_hoist("H2", 6));
    let mut history = opened(&line, book(1));
    say(&line, &mut history, t(2), &lift(A, H1, LOAD, t(2))).unwrap();
    let mut moves = good_plan();
    assert!(decide(&line, &history, &adopt(moves.clone()), t(3)).is_ok());
    moves[0].hoist = H2;
    assert!(matches!(refused(&line, &mut history, 3, &adopt(moves)), Refusal::StalePlan { .. }));
}

fn adopt(moves: Vec<dwellhand::schedule::Move>) -> Command {
    Command::AdoptPlan { schedule: Schedule::new(moves, t(3)) }
}

/// Pushing events one by one and folding the journal from the start must give the same state after every event.
#[test]
fn live_equals_replay() {
    let (line, mut history) = in_etch();
    let key = AlarmKey { carrier: A, visit: step_no(0), kind: AlarmKind::Dwell };
    let shelve = AlarmAction::Shelve { lasting: s(300), reason: "known".into() };
    let script: Vec<(i64, Command)> = vec![
        (30, Command::AdoptPlan { schedule: plan_at(30, good_plan()[1..].to_vec()) }),
        (40, lift(B, H1, LOAD, t(40))),
        (55, lower(H1, RINSE, t(55))),
        (60, Command::Undo { seq: Seq(0) }),
        (60, lower(H1, ANODISE, t(59))),
        (61, Command::Retime { seq: Seq(0), at: t(57) }),
        (100, Command::Watch),
        (110, Command::Watch),
        (111, Command::Alarm { key, action: AlarmAction::Acknowledge }),
        (112, Command::Alarm { key, action: shelve }),
        (200, Command::Watch),
        (201, lift(A, H1, ETCH, t(200))),
        (202, Command::Watch),
        (203, Command::Undo { seq: Seq(0) }),
        (204, Command::Retime { seq: Seq(0), at: t(58) }),
        (205, Command::TankOut { tank: ETCH, until: Some(t(500)), why: String::new() }),
        (206, Command::Watch),
        (207, Command::Note { text: "tea".into() }),
    ];
    let mut taken = 0;
    for (now, command) in script {
        let from = history.events().len();
        let command = match command {
            Command::Undo { .. } => undo(&history),
            Command::Retime { at, .. } => retime(&history, at),
            other => other,
        };
        taken += usize::from(say(&line, &mut history, t(now), &command).is_ok());
        assert!(history.events().len() >= from);
        let replayed = History::of(&line, history.events().to_vec());
        assert_eq!(replayed.state(), history.state(), "after {command:?}");
    }
    assert!(taken >= 16, "the script should mostly be possible, {taken} were");
    // Every prefix, too, as if the journal ended there.
    let events = history.events().to_vec();
    let mut live = History::new(&line);
    for (k, stamped) in events.iter().enumerate() {
        live.push(&line, stamped.clone());
        assert_eq!(History::of(&line, events[..=k].to_vec()).state(), live.state(), "after {stamped:?}");
    }
}
