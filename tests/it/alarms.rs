//! Alarms: the standard's state table, one row a carrier and step, raised when no planned move answers them.

use crate::helpers::*;
use dwellhand::ids::*;
use dwellhand::line::*;
use dwellhand::schedule::Schedule;
use dwellhand::shift::alarm::{CLEAR_MARGIN, Priority, REACTION, changes, priority};
use dwellhand::shift::*;
use dwellhand::units::*;
use dwellhand::verify::{happened, happened_by};

/// ANSI/ISA-18.2-2016 (IEC 62682), alarm state transitions; state names as in a public documentation page that implements the
/// standard, letters from memory. The rows for states this program has; every pair that is not listed changes nothing.
#[test]
fn states_follow_the_standards_table() {
    use AlarmState::{Acknowledged, Normal, ReturnedUnacknowledged, Shelved, Suppressed, Unacknowledged};
    use Transition::{Acknowledge, Clear, Raise, Realarm, Shelve, Suppress, Unshelve, Unsuppress};
    let table = [
        (Normal, Raise, Unacknowledged),
        (Unacknowledged, Acknowledge, Acknowledged),
        (Unacknowledged, Clear, ReturnedUnacknowledged),
        (Acknowledged, Clear, Normal),
        (Acknowledged, Realarm, Unacknowledged),
        (ReturnedUnacknowledged, Acknowledge, Normal),
        (ReturnedUnacknowledged, Raise, Unacknowledged),
        (Normal, Shelve, Shelved),
        (Unacknowledged, Shelve, Shelved),
        (Acknowledged, Shelve, Shelved),
        (ReturnedUnacknowledged, Shelve, Shelved),
        (Shelved, Unshelve(true), Unacknowledged),
        (Shelved, Unshelve(false), Normal),
        (Normal, Suppress, Suppressed),
        (Unacknowledged, Suppress, Suppressed),
        (Acknowledged, Suppress, Suppressed),
        (ReturnedUnacknowledged, Suppress, Suppressed),
        (Suppressed, Unsuppress(true), Unacknowledged),
        (Suppressed, Unsuppress(false), Normal),
    ];
    let states = [Normal, Unacknowledged, Acknowledged, ReturnedUnacknowledged, Shelved, Suppressed];
    let transitions = [
        Raise,
        Clear,
        Acknowledge,
        Realarm,
        Shelve,
        Unshelve(true),
        Unshelve(false),
        Suppress,
        Unsuppress(true),
        Unsuppress(false),
    ];
    for state in states {
        for transition in transitions {
            let listed = table.iter().find(|(from, by, _)| *from == state && *by == transition);
            let expected = listed.map_or(state, |(_, _, to)| *to);
            assert_eq!(state.after(transition), expected, "{state:?} and {transition:?}");
        }
    }
    assert_eq!(states.map(AlarmState::letter), ['A', 'B', 'C', 'D', 'G', 'H']);
}

/// Priority is consequence by time to respond: common practice after ISA-18.2 rationalisation, from memory.
#[test]
fn priority_is_consequence_by_time_left() {
    use Priority::{High, Low, Medium};
    let grid = [
        (Harm::Scrap, [Some(High), Some(High), Some(Medium)]),
        (Harm::Rework, [Some(High), Some(Medium), Some(Low)]),
        (Harm::Shade, [Some(Medium), Some(Low), Some(Low)]),
        (Harm::Nuisance, [Some(Low), None, None]),
    ];
    for (harm, row) in grid {
        // Below 30 s; 30 s to 3 min, both ends; above 3 min.
        for (left, column) in [(-60, 0), (0, 0), (29, 0), (30, 1), (180, 1), (181, 2), (3600, 2)] {
            assert_eq!(priority(harm, s(left)), row[column], "{harm:?} with {left} s left");
        }
    }
}

const KEY: AlarmKey = AlarmKey { carrier: A, visit: Visit::Step(StepNo(1)), kind: AlarmKind::Dwell };

/// A in the rinse since 100, longest 60, so until 160; over means rework. H1 stands there, hook 2.
fn in_rinse() -> (Line, History) {
    let mut line = plant();
    line.recipes[RecipeId(0)].steps[1].over = Harm::Rework;
    let mut history = opened(&line, book(2));
    for (at, command) in [
        (2, lift(A, H1, LOAD, t(2))),
        (15, lower(H1, ETCH, t(15))),
        (77, lift(A, H1, ETCH, t(77))),
        (100, lower(H1, RINSE, t(100))),
    ] {
        say(&line, &mut history, t(at), &command).unwrap();
    }
    (line, history)
}

pub(crate) fn watch(line: &Line, history: &mut History, now: i64) -> Vec<Event> {
    say(line, history, t(now), &Command::Watch).unwrap()
}

fn standing(history: &History) -> Option<(AlarmState, AlarmLevel)> {
    history.state().alarms.get(&KEY).map(|a| (a.state, a.level))
}

fn act(line: &Line, history: &mut History, now: i64, action: AlarmAction) -> Result<Vec<Event>, Refusal> {
    say(line, history, t(now), &Command::Alarm { key: KEY, action })
}

/// One row a carrier and step, which escalates in place: due, over, reached.
#[test]
fn one_alarm_escalates_in_place() {
    let (line, mut history) = in_rinse();
    // Latest safe start is 160 - 2 = 158; a person is told REACTION before that, at 143.
    assert_eq!(REACTION, s(15));
    assert_eq!(watch(&line, &mut history, 142), []);
    assert_eq!(watch(&line, &mut history, 143), [Event::AlarmRaised { key: KEY, level: AlarmLevel::Due }]);
    assert_eq!(watch(&line, &mut history, 160), [], "the last second of the window is inside");
    assert_eq!(
        watch(&line, &mut history, 161),
        [Event::AlarmEscalated { key: KEY, level: AlarmLevel::Over }]
    );
    assert_eq!(watch(&line, &mut history, 190), []);
    // Grace is a quarter of 60 s, but at least 30.
    assert_eq!(
        watch(&line, &mut history, 191),
        [Event::AlarmEscalated { key: KEY, level: AlarmLevel::Reached }]
    );
    assert_eq!(watch(&line, &mut history, 5000), []);
    assert_eq!(history.state().alarms.len(), 1);
    assert_eq!(standing(&history), Some((AlarmState::Unacknowledged, AlarmLevel::Reached)));
    assert_eq!(history.state().alarms[&KEY].raised, t(143));
}

/// Empty travel counts: the farther the hoist, the earlier the alarm.
#[test]
fn the_alarm_comes_earlier_when_the_hoist_is_far() {
    let (line, mut history) = in_rinse();
    say(&line, &mut history, t(110), &Command::CorrectHoist { hoist: H1, at: UNLOAD }).unwrap();
    assert_eq!(watch(&line, &mut history, 134), []);
    assert_eq!(watch(&line, &mut history, 135), [Event::AlarmRaised { key: KEY, level: AlarmLevel::Due }]);
}

fn lifts_at(history: &mut History, line: &Line, start: i64) {
    planned_anew(history, line, 100, start);
}

fn planned_anew(history: &mut History, line: &Line, now: i64, start: i64) {
    let mut moves = good_plan()[2..].to_vec();
    moves[0].start = t(start);
    moves[1].start = t(start + 330);
    let schedule = Schedule::new(moves, t(now));
    say(line, history, t(now), &Command::AdoptPlan { schedule }).unwrap();
}

/// If the plan lifts it in time, it is status, not an alarm.
#[test]
fn a_planned_move_that_is_in_time_covers_it() {
    let (line, mut history) = in_rinse();
    lifts_at(&mut history, &line, 158);
    assert_eq!(watch(&line, &mut history, 150), []);
    assert_eq!(watch(&line, &mut history, 160), []);
    assert_eq!(watch(&line, &mut history, 161), [Event::AlarmRaised { key: KEY, level: AlarmLevel::Over }]);
}

#[test]
fn a_planned_move_that_is_late_or_missed_does_not_cover_it() {
    let (line, mut history) = in_rinse();
    lifts_at(&mut history, &line, 159);
    assert_eq!(watch(&line, &mut history, 143).len(), 1, "planned one second too late");
    let (line, mut history) = in_rinse();
    lifts_at(&mut history, &line, 140);
    assert_eq!(watch(&line, &mut history, 142), []);
    assert_eq!(watch(&line, &mut history, 143).len(), 1, "should have been lifted at 142");
}

/// A plan that is made anew while nobody answers calls the same pick a little later, again and again. Due at 127 it is no
/// cover any more from 142 on, when people need to be told at 143.
#[test]
fn a_call_that_nobody_answers_covers_nothing_however_often_it_is_planned_anew() {
    let (line, mut history) = in_rinse();
    planned_anew(&mut history, &line, 110, 125);
    planned_anew(&mut history, &line, 130, 130);
    planned_anew(&mut history, &line, 142, 142);
    assert_eq!(watch(&line, &mut history, 142), []);
    assert_eq!(watch(&line, &mut history, 143), [Event::AlarmRaised { key: KEY, level: AlarmLevel::Due }]);
    let (line, mut history) = in_rinse();
    planned_anew(&mut history, &line, 142, 142);
    assert_eq!(watch(&line, &mut history, 143), [], "called for 144 and no sooner");
}

/// A plan keeps the moves that are made already; the next one is what counts.
#[test]
fn moves_made_already_do_not_answer_for_the_next() {
    let line = plant();
    let mut history = opened(&line, book(1));
    let mut moves = good_plan();
    moves[2].start = t(140);
    moves[3].start = t(470);
    say(&line, &mut history, t(0), &Command::AdoptPlan { schedule: plan_at(0, moves) }).unwrap();
    for (at, command) in [
        (2, lift(A, H1, LOAD, t(2))),
        (15, lower(H1, ETCH, t(15))),
        (77, lift(A, H1, ETCH, t(77))),
        (90, lower(H1, ANODISE, t(90))),
    ] {
        say(&line, &mut history, t(at), &command).unwrap();
    }
    // Put right at once; in the rinse until 150, and the plan lifts it at 142.
    let claim = Claim::InTank { tank: RINSE, since: t(90), visit: step_no(1) };
    say(&line, &mut history, t(91), &Command::Correct { carrier: A, claim }).unwrap();
    let mut line = line;
    line.recipes[RecipeId(0)].steps[1].over = Harm::Rework;
    assert_eq!(watch(&line, &mut history, 138), []);
    assert_eq!(watch(&line, &mut history, 143).len(), 1, "142 has passed and nobody lifted it");
}

/// A due alarm clears only when there is a margin again, so that it does not chatter.
#[test]
fn due_clears_with_a_margin() {
    let (line, mut history) = in_rinse();
    assert_eq!(watch(&line, &mut history, 143).len(), 1);
    lifts_at(&mut history, &line, 144);
    assert_eq!(CLEAR_MARGIN, s(15));
    assert_eq!(watch(&line, &mut history, 143), [], "lift at 146 leaves 14 s");
    lifts_at(&mut history, &line, 143);
    assert_eq!(
        watch(&line, &mut history, 143),
        [Event::AlarmCleared { key: KEY }],
        "lift at 145 leaves 15 s"
    );
    assert_eq!(standing(&history), Some((AlarmState::ReturnedUnacknowledged, AlarmLevel::Due)));
}

/// B to D when the carrier leaves before anybody has said "seen"; the acknowledgement then ends it.
#[test]
fn leaving_clears_and_what_nobody_saw_stays_listed() {
    let (line, mut history) = in_rinse();
    watch(&line, &mut history, 165);
    say(&line, &mut history, t(170), &lift(A, H1, RINSE, t(170))).unwrap();
    assert_eq!(watch(&line, &mut history, 171), [Event::AlarmCleared { key: KEY }]);
    assert_eq!(standing(&history), Some((AlarmState::ReturnedUnacknowledged, AlarmLevel::Over)));
    assert_eq!(watch(&line, &mut history, 172), []);
    act(&line, &mut history, 173, AlarmAction::Acknowledge).unwrap();
    assert_eq!(standing(&history), None);
    assert_eq!(act(&line, &mut history, 174, AlarmAction::Acknowledge), Err(Refusal::NoSuchAlarm));
}

/// C to A when what was seen clears; C to B when it gets worse.
#[test]
fn seen_alarms_go_quietly_but_come_back_when_worse() {
    let (line, mut history) = in_rinse();
    watch(&line, &mut history, 145);
    act(&line, &mut history, 146, AlarmAction::Acknowledge).unwrap();
    assert_eq!(standing(&history), Some((AlarmState::Acknowledged, AlarmLevel::Due)));
    watch(&line, &mut history, 161);
    assert_eq!(standing(&history), Some((AlarmState::Unacknowledged, AlarmLevel::Over)));
    act(&line, &mut history, 162, AlarmAction::Acknowledge).unwrap();
    say(&line, &mut history, t(165), &lift(A, H1, RINSE, t(165))).unwrap();
    watch(&line, &mut history, 166);
    assert_eq!(standing(&history), None);
}

/// D to B: the condition comes back before anybody has looked.
#[test]
fn a_condition_that_returns_is_the_same_row() {
    let (line, mut history) = in_rinse();
    watch(&line, &mut history, 143);
    lifts_at(&mut history, &line, 143);
    watch(&line, &mut history, 143);
    assert_eq!(watch(&line, &mut history, 161), [Event::AlarmRaised { key: KEY, level: AlarmLevel::Over }]);
    assert_eq!(standing(&history), Some((AlarmState::Unacknowledged, AlarmLevel::Over)));
    assert_eq!(history.state().alarms.len(), 1);
}

fn shelve(minutes: i64, reason: &str) -> AlarmAction {
    AlarmAction::Shelve { lasting: Dur::from_mins(minutes), reason: reason.to_owned() }
}

#[test]
fn a_shelf_has_an_end_and_a_reason() {
    let (line, mut history) = in_rinse();
    watch(&line, &mut history, 165);
    assert_eq!(act(&line, &mut history, 166, shelve(5, " ")), Err(Refusal::NoReason));
    act(&line, &mut history, 166, shelve(5, "hoist key missing")).unwrap();
    assert_eq!(standing(&history).unwrap().0, AlarmState::Shelved);
    assert_eq!(history.state().alarms[&KEY].shelved, Some((t(466), "hoist key missing".to_owned())));
    // It gets worse on the shelf without asking for attention.
    watch(&line, &mut history, 300);
    assert_eq!(standing(&history), Some((AlarmState::Shelved, AlarmLevel::Reached)));
    assert_eq!(watch(&line, &mut history, 465), []);
    assert_eq!(watch(&line, &mut history, 466), [Event::AlarmUnshelved { key: KEY }]);
    assert_eq!(standing(&history), Some((AlarmState::Unacknowledged, AlarmLevel::Reached)));
}

#[test]
fn a_shelf_lasts_between_one_minute_and_thirty() {
    for (asked, given) in [(0, 60), (5, 300), (90, 1800)] {
        let (line, mut history) = in_rinse();
        watch(&line, &mut history, 165);
        act(&line, &mut history, 166, shelve(asked, "known")).unwrap();
        assert_eq!(history.state().alarms[&KEY].shelved.as_ref().unwrap().0, t(166 + given));
    }
}

#[test]
fn a_shelf_ends_with_its_step() {
    let (line, mut history) = in_rinse();
    watch(&line, &mut history, 165);
    act(&line, &mut history, 166, shelve(5, "known")).unwrap();
    say(&line, &mut history, t(170), &lift(A, H1, RINSE, t(170))).unwrap();
    watch(&line, &mut history, 171);
    assert_eq!(standing(&history), None);
}

#[test]
fn a_shelved_alarm_can_be_fetched_back() {
    let (line, mut history) = in_rinse();
    watch(&line, &mut history, 165);
    assert_eq!(act(&line, &mut history, 166, AlarmAction::Unshelve), Err(Refusal::NoSuchAlarm));
    act(&line, &mut history, 166, shelve(5, "known")).unwrap();
    act(&line, &mut history, 167, AlarmAction::Unshelve).unwrap();
    assert_eq!(standing(&history).unwrap().0, AlarmState::Unacknowledged);
}

#[test]
fn what_means_scrap_is_never_shelved() {
    let (mut line, _) = in_rinse();
    line.recipes[RecipeId(0)].steps[1].over = Harm::Scrap;
    let (_, mut history) = in_rinse();
    watch(&line, &mut history, 165);
    assert_eq!(act(&line, &mut history, 166, shelve(5, "known")), Err(Refusal::ScrapIsNotShelved));
}

/// A window whose breaking is a nuisance has no alarm before it breaks.
#[test]
fn a_nuisance_is_status_until_it_is_over() {
    let (mut line, mut history) = in_rinse();
    line.recipes[RecipeId(0)].steps[1].over = Harm::Nuisance;
    assert_eq!(watch(&line, &mut history, 159), []);
    assert_eq!(watch(&line, &mut history, 161).len(), 1);
}

/// Alarm, call, debrief and `why` tell one figure of what is over, the verifier's: also where the hoist that has the load is not
/// the quickest, and the load still hangs.
#[test]
fn an_alarm_says_by_how_much_as_the_verifier_does() {
    let mut line = plant();
    let slow = Lift::Fixed { raise: s(9), lower: s(8) };
    line.hoists.push(Hoist { lift: slow, ..plain_hoist("H2", 6) });
    let mut history = opened(&line, book(1));
    say(&line, &mut history, t(2), &lift(A, H1, LOAD, t(2))).unwrap();
    say(&line, &mut history, t(15), &lower(H1, ETCH, t(15))).unwrap();
    say(&line, &mut history, t(80), &lift(A, H2, ETCH, t(80))).unwrap();
    let now = t(150);
    say(&line, &mut history, now, &Command::Watch).unwrap();
    let over = happened_by(&line, history.state(), now);
    let [over] = &over[..] else { panic!("{over:?}") };
    assert_eq!((over.at, over.by), (t(80 + 9 + 30), s(150 - 80 - 9 - 30)));
    let board = crate::report::board(&line, &history, now);
    let told = &board.alarms[0].text;
    assert!(told.contains(&format!("{} too long in air", over.by)), "{told}");
}

/// On the hook the air time runs: after the etch 30 s, from raise done to lower begun, confirmed 5 s later when it is down.
#[test]
fn air_time_has_its_own_alarm() {
    let line = plant();
    let mut history = opened(&line, book(1));
    for (at, command) in
        [(2, lift(A, H1, LOAD, t(2))), (15, lower(H1, ETCH, t(15))), (77, lift(A, H1, ETCH, t(77)))]
    {
        say(&line, &mut history, t(at), &command).unwrap();
    }
    let key = AlarmKey { carrier: A, visit: step_no(0), kind: AlarmKind::Air };
    let ends = 77 + 5 + 30 + 5;
    assert_eq!(changes(&line, history.state(), t(ends)), []);
    assert_eq!(watch(&line, &mut history, ends + 1), [Event::AlarmRaised { key, level: AlarmLevel::Over }]);
    assert_eq!(
        watch(&line, &mut history, ends + 30),
        [Event::AlarmEscalated { key, level: AlarmLevel::Reached }]
    );
    say(&line, &mut history, t(ends + 31), &lower(H1, RINSE, t(ends + 31))).unwrap();
    assert_eq!(watch(&line, &mut history, ends + 32), [Event::AlarmCleared { key }]);
}

/// Lifted before the shortest dwell: told at once, over when it is put back, and assumed once it is down elsewhere.
#[test]
fn a_dwell_that_was_too_short_is_an_alarm_until_the_load_is_back_or_has_gone_on() {
    let line = plant();
    let key = AlarmKey { carrier: A, visit: step_no(0), kind: AlarmKind::Short };
    let mut history = opened(&line, book(1));
    let mut at = |now: i64, command: Command| {
        say(&line, &mut history, t(now), &command).unwrap();
        watch(&line, &mut history, now)
    };
    at(2, lift(A, H1, LOAD, t(2)));
    at(15, lower(H1, ETCH, t(15)));
    // The etch asks for 60 s. Put back, what it had counts.
    let raised = |level| vec![Event::AlarmRaised { key, level }];
    assert_eq!(at(40, lift(A, H1, ETCH, t(40))), raised(AlarmLevel::Over));
    assert_eq!(at(52, lower(H1, ETCH, t(52))), [Event::AlarmCleared { key }]);
    assert_eq!(at(70, lift(A, H1, ETCH, t(70))), raised(AlarmLevel::Over));
    let worse = [Event::AlarmEscalated { key, level: AlarmLevel::Reached }];
    assert_eq!(at(93, lower(H1, RINSE, t(93))), worse);
    assert_eq!(at(120, lift(A, H1, RINSE, t(120))), [Event::AlarmCleared { key }]);
}

/// Nobody looked between pick and place: it is told all the same. What was long enough is not, with what it had before.
#[test]
fn a_dwell_that_was_too_short_is_told_after_the_place_too() {
    let line = plant();
    let key = AlarmKey { carrier: A, visit: step_no(0), kind: AlarmKind::Short };
    for (lifted, told) in [(74, true), (75, false)] {
        let mut history = opened(&line, book(1));
        for (at, command) in [
            (2, lift(A, H1, LOAD, t(2))),
            (15, lower(H1, ETCH, t(15))),
            (lifted, lift(A, H1, ETCH, t(lifted))),
            (lifted + 23, lower(H1, RINSE, t(lifted + 23))),
        ] {
            say(&line, &mut history, t(at), &command).unwrap();
        }
        let raised = Event::AlarmRaised { key, level: AlarmLevel::Reached };
        assert_eq!(changes(&line, history.state(), t(lifted + 24)).contains(&raised), told, "{lifted}");
    }
}

/// A load that was said to be where it was not has not been too long there: what was taken back takes its alarm along, those
/// from before it stay, and it rings again if it is so.
#[test]
fn what_was_taken_back_has_no_alarm() {
    let line = plant();
    let mut history = opened(&line, book(2));
    let raised = |history: &History, key: &AlarmKey| history.state().alarms.contains_key(key);
    say(&line, &mut history, t(2), &lift(A, H1, LOAD, t(2))).unwrap();
    say(&line, &mut history, t(18), &lower(H1, ETCH, t(18))).unwrap();
    let etch = AlarmKey { carrier: A, visit: Visit::Step(StepNo(0)), kind: AlarmKind::Dwell };
    push(&line, &mut history, t(120), Event::AlarmRaised { key: etch, level: AlarmLevel::Over });
    say(&line, &mut history, t(130), &lift(A, H1, ETCH, t(130))).unwrap();
    push(&line, &mut history, t(130), Event::AlarmCleared { key: etch });
    say(&line, &mut history, t(150), &lower(H1, RINSE, t(150))).unwrap();
    let rinse = AlarmKey { carrier: A, visit: Visit::Step(StepNo(1)), kind: AlarmKind::Dwell };
    push(&line, &mut history, t(260), Event::AlarmRaised { key: rinse, level: AlarmLevel::Over });
    assert!(raised(&history, &rinse));
    let back = undo(&history);
    say(&line, &mut history, t(270), &back).unwrap();
    assert!(!raised(&history, &rinse), "it never was in the rinse");
    let found = changes(&line, history.state(), t(270));
    assert!(!found.iter().any(|e| matches!(e, Event::AlarmRaised { key, .. } if *key == rinse)), "{found:?}");
    // Neither was it lifted, which had ended the first one.
    let back = undo(&history);
    say(&line, &mut history, t(280), &back).unwrap();
    assert!(history.state().alarms[&etch].active);
    assert_eq!(History::of(&line, history.events().to_vec()).state().alarms, history.state().alarms);
}

fn push(line: &Line, history: &mut History, at: Time, event: Event) {
    let seq = Seq(history.events().len() as u64 + 1);
    history.push(line, Stamped { seq, at, entered: at, by: Who::Program, event });
}

/// A dwell that was too long is told of from the lift on, once, and not only when the load is down again; one that was too
/// short may still be put right.
#[test]
fn what_was_too_long_is_told_while_the_load_hangs() {
    let line = row(&[(10, 100), (10, 1000)], 5, &[20; 3]);
    let left_at = |lifted: i64| {
        let mut history = opened(&line, book(1));
        for (at, command) in [
            (0, lift(A, H1, LOAD, t(0))),
            (20, lower(H1, ETCH, t(20))),
            (lifted, lift(A, H1, ETCH, t(lifted))),
        ] {
            say(&line, &mut history, t(at), &command).unwrap();
        }
        history
    };
    let told = |history: &History| happened(&line, history.state()).iter().map(|b| b.by).collect::<Vec<_>>();
    let mut late = left_at(150);
    assert_eq!(told(&late), [s(30)]);
    say(&line, &mut late, t(170), &lower(H1, TankId(2), t(170))).unwrap();
    assert_eq!(told(&late), [s(30)]);
    assert_eq!(told(&left_at(25)), []);
}
