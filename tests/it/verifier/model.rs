//! One test for each sentence of the timing model (design, section 3).

use crate::helpers::*;
use dwellhand::ids::*;
use dwellhand::line::*;
use dwellhand::schedule::{Move, Schedule};
use dwellhand::shift::*;
use dwellhand::units::*;
use dwellhand::verify::{Rule, motion, verify};

fn line_and_state(carriers: usize) -> (Line, State) {
    let line = plant();
    let state = opened(&line, book(carriers)).state().clone();
    (line, state)
}

fn etch_to_rinse() -> motion::Job {
    motion::Job { hoist: H1, from: ETCH, to: RINSE, drip: s(10), attach: true, release: true }
}

/// "Loaded move: hook, raise, drip over a, travel a to b, settle, lower, unhook."
#[test]
fn a_loaded_move_has_seven_phases_in_order() {
    let own = motion::loaded(&plant(), &etch_to_rinse(), t(100)).unwrap();
    let instants = [own.start, own.lift, own.clear, own.leave, own.arrive, own.lower, own.down, own.end];
    assert_eq!(instants, [100, 102, 107, 117, 119, 120, 125, 127].map(t));
    let p = plant().phases(H1, ETCH, RINSE, s(10), true, true).unwrap();
    let phases = [p.hook, p.raise, p.drip, p.travel, p.settle, p.lower, p.unhook];
    assert_eq!(phases, [2, 5, 10, 2, 1, 5, 2].map(s));
}

/// "It is not interrupted."
#[test]
fn a_loaded_move_is_not_interrupted() {
    let (line, state) = line_and_state(2);
    // B's load begins in the middle of A's move from etch to rinse, over the very tank the hoist stands at.
    let mut moves = [good_plan(), good_second()].concat();
    moves[4].start = t(85);
    moves[5].start = t(160);
    moves[6].start = t(215);
    assert!(broken(&line, &state, &plan_at(0, moves)).contains(&Rule::Hoist));
}

/// "Immersion in a ends when the raise begins; immersion in b begins when the lower is done"; "dwell = end of lower to start
/// of raise". Windows are closed: the very second of either end is inside.
#[test]
fn dwell_runs_from_lower_done_to_raise_begun() {
    let (line, state) = line_and_state(1);
    // Down in the rinse at 100, window 20 to 60, hook 2 before the raise.
    for (start, rule) in [(117, Some(Rule::Under)), (118, None), (158, None), (159, Some(Rule::Over))] {
        let mut moves = good_plan();
        moves[2].start = t(start);
        moves[3].start = t(500);
        let expected: Vec<Rule> = rule.into_iter().collect();
        assert_eq!(broken(&line, &state, &plan_at(0, moves)), expected, "start {start}");
    }
}

/// "Air time = drip + travel + settle (from raise done to lower begun)."
#[test]
fn air_time_is_drip_travel_and_settle() {
    let (mut line, state) = line_and_state(1);
    let plan = plan_at(0, good_plan());
    line.recipes[RecipeId(0)].steps[0].air_max = s(10 + 2 + 1);
    assert_eq!(broken(&line, &state, &plan), []);
    line.recipes[RecipeId(0)].steps[0].air_max = s(10 + 2 + 1) - Dur(1);
    assert_eq!(broken(&line, &state, &plan), [Rule::Air]);
}

/// "The hoist is busy from hook to unhook."
#[test]
fn the_hoist_is_busy_from_hook_to_unhook() {
    let (line, state) = line_and_state(2);
    // A's move to T3 ends at 147 with the unhook; L is 6 s away.
    for (start, expected) in [(153, vec![]), (152, vec![Rule::Hoist])] {
        let mut moves = [good_plan(), good_second()].concat();
        moves[4].start = t(start);
        assert_eq!(broken(&line, &state, &plan_at(0, moves)), expected, "start {start}");
    }
}

/// "Empty move: travel between the end of one loaded move and the start of the next; 0 when at the same tank."
#[test]
fn empty_travel_at_the_same_tank_takes_no_time() {
    let (line, state) = line_and_state(1);
    assert_eq!(motion::empty(&line, H1, RINSE, RINSE), Some(Dur::ZERO));
    assert_eq!(motion::empty(&line, H1, RINSE, LOAD), Some(s(4)));
    // With no shortest rinse the next move begins the instant the last has ended: 102.
    let mut line = line;
    line.recipes[RecipeId(0)].steps[1].min = Dur::ZERO;
    let mut moves = good_plan();
    moves[2].start = t(102);
    moves[3].start = t(430);
    assert_eq!(broken(&line, &state, &plan_at(0, moves)), []);
}

/// "Travel is either kinematic or a table, so that published instances and a stopwatch survey load as they are."
#[test]
fn travel_from_a_table_is_taken_as_it_is() {
    let line = row(&[(20, 25), (10, 60)], 7, &[31, 22, 47]);
    assert_eq!(motion::empty(&line, H1, TankId(3), TankId(1)), Some(s(14)));
    let job = motion::Job { from: TankId(0), to: TankId(1), drip: Dur::ZERO, ..etch_to_rinse() };
    let own = motion::loaded(&line, &job, t(0)).unwrap();
    assert_eq!((own.start, own.lift, own.down, own.end), (t(0), t(0), t(31), t(31)));
    let back = motion::Job { from: TankId(2), to: TankId(1), ..job };
    assert_eq!(motion::loaded(&line, &back, t(0)), None);
}

/// "Dip on the hook: the hoist stays; the dwell is inside one longer occupation of the hoist."
#[test]
fn a_dip_on_the_hook_is_one_long_occupation() {
    let (mut line, state) = line_and_state(2);
    line.recipes[RecipeId(0)].steps[1].on_hook = true;
    let dipped = |mut moves: Vec<Move>| {
        moves[1].release = false;
        moves[2].attach = false;
        moves
    };
    // A is in the rinse from 100 to 130; B could be loaded between 104 and 121, were the hoist not attached.
    let first = dipped(good_plan());
    assert_eq!(broken(&line, &state, &plan_at(0, first.clone())), []);
    let mut second = dipped(good_second());
    assert_eq!(broken(&line, &state, &plan_at(0, [first.clone(), second.clone()].concat())), []);
    second[0].start = t(106);
    second[1].start = t(175);
    second[2].start = t(230);
    second[3].start = t(560);
    let found = verify(&line, &state, &plan_at(0, [first, second].concat()));
    assert!(found.iter().any(|b| b.rule == Rule::Hoist && b.carrier == "B" && b.at == t(106)), "{found:#?}");
}

/// "Strict swap: a tank is empty and the hoist free before the next carrier for it is lifted. With several hoists this needs
/// its own check."
#[test]
fn strict_swap_needs_its_own_check_with_several_hoists() {
    let mut line = plant();
    line.hoists.push(plain_hoist("H2", 3));
    line.rail = Rail { from: Mm(-50_000), to: Mm(50_000), gap: Mm(100) };
    let mut state = opened(&line, book(2)).state().clone();
    let place =
        |tank, step, since| Place::InTank { tank, visit: step_no(step), since: t(since), hooked: None };
    state.carriers[A].place = place(RINSE, 1, 970);
    state.carriers[B].place = place(ANODISE, 2, 680);
    state.hoists[H1].at = RINSE;
    // H2 has B clear of T3 at 1007. A, hooked by H1, begins to rise 2 s after its move starts.
    let plan = |start| {
        plan_at(
            1000,
            vec![
                mv(B, H2, (3, 6), (step_no(2), Visit::Unload), 1000),
                mv(A, H1, (2, 3), (step_no(1), step_no(2)), start),
                mv(A, H2, (3, 6), (step_no(2), Visit::Unload), 1330),
            ],
        )
    };
    assert_eq!(broken(&line, &state, &plan(1004)), [Rule::Swap], "lifted a second before the tank is clear");
    assert_eq!(
        broken(&line, &state, &plan(1005)),
        [Rule::Swap],
        "on the stroke, but H2 is not out of the way"
    );
    let later = Schedule { moves: plan(1005).moves, made_at: t(1000) };
    let mut later = later;
    later.moves[1].start = Time(1_005_001);
    assert_eq!(broken(&line, &state, &later), []);
}

/// "One carrier a tank unless the tank says otherwise."
#[test]
fn a_tank_holds_as_many_as_it_says() {
    let (mut line, state) = line_and_state(2);
    let mut moves = [good_plan(), good_second()].concat();
    moves[6].to = ANODISE;
    moves[7].from = ANODISE;
    let plan = plan_at(0, moves);
    assert_eq!(broken(&line, &state, &plan), [Rule::Swap]);
    line.tanks[ANODISE].capacity = 2;
    assert_eq!(broken(&line, &state, &plan), []);
}

/// "Tanks have available from/until." Carriers that are in there already do not need it to be ready.
#[test]
fn tanks_are_used_while_they_are_available() {
    let (line, mut state) = line_and_state(1);
    let plan = plan_at(0, good_plan());
    // Anodise from 145 to 452: on the stroke is inside.
    state.tanks[ANODISE] = TankState { from: t(145), until: t(452), lost: None };
    assert_eq!(broken(&line, &state, &plan), []);
    state.tanks[ANODISE] = TankState { from: t(145) + Dur(1), until: Time::FAR, lost: None };
    assert_eq!(broken(&line, &state, &plan), [Rule::Availability]);
    state.tanks[ANODISE] = TankState { from: t(0), until: t(452) - Dur(1), lost: None };
    assert_eq!(broken(&line, &state, &plan), [Rule::Availability]);
    let mut state = opened(&line, book(1)).state().clone();
    state.carriers[A].place = Place::InTank { tank: ANODISE, visit: step_no(2), since: t(145), hooked: None };
    state.hoists[H1].at = ANODISE;
    state.tanks[ANODISE].from = Time::FAR;
    assert_eq!(broken(&line, &state, &plan_at(400, good_plan()[3..].to_vec())), []);
}

/// "Several hoists share the rail: they never pass, keep a minimum gap, and each has a reach." H1 brings a carrier to 8 m while
/// H2 stands at 10 m: 2 m apart, no less.
#[test]
fn hoists_keep_the_gap_and_not_a_millimetre_more() {
    let mut line = plant();
    line.hoists.push(plain_hoist("H2", 5));
    line.recipes[RecipeId(0)].steps[1].hold = None;
    // B stands in the standby water as a dip of H2 would have it: on the hook, its own move only at 1100.
    let mut state = opened(&line, book(2)).state().clone();
    state.carriers[A].place = Place::InTank { tank: RINSE, visit: step_no(1), since: t(970), hooked: None };
    let stray = Visit::Stray { resume: StepNo(3) };
    state.carriers[B].place = Place::InTank { tank: STANDBY, visit: stray, since: t(990), hooked: Some(H2) };
    state.hoists[H2].carrier = Some(B);
    state.hoists[H1].at = RINSE;
    let mut out = mv(B, H2, (5, 6), (stray, Visit::Unload), 1100);
    out.attach = false;
    let plan = plan_at(
        1000,
        vec![
            mv(A, H1, (2, 4), (step_no(1), step_no(2)), 1000),
            out,
            mv(A, H2, (4, 6), (step_no(2), Visit::Unload), 1330),
        ],
    );
    let judge = |line: &Line| -> Vec<Rule> {
        broken(line, &state, &plan).into_iter().filter(|r| *r != Rule::Over).collect()
    };
    line.rail = Rail { from: Mm(-50_000), to: Mm(50_000), gap: Mm(2000) };
    assert_eq!(judge(&line), []);
    line.rail.gap = Mm(2002);
    assert_eq!(judge(&line), [Rule::Rail]);
    line.rail.gap = Mm(2000);
    line.hoists[H2].reach_from = Mm(8001);
    assert_eq!(judge(&line), [Rule::Reach]);
}

/// "A stage may carry current and volts; the line has a power cap; current ramps up": 600 A at 18 V and 750 A at 16 V are 22.8 kW
/// together (worked example E12, Ohm and Joule); a cap of 20 kW refuses them, either one alone passes.
#[test]
fn two_loads_over_the_cap_are_refused_and_one_alone_is_not() {
    let (mut line, mut state) = line_and_state(2);
    line.rectifiers[RectifierId(0)] = Rectifier { name: "R1".to_owned(), max_amps: 800.0, max_power: None };
    line.power_cap = Some(Watts(20_000));
    let mut second = line.recipes[RecipeId(0)].clone();
    line.recipes[RecipeId(0)].steps[2].current = Some(Current { density: 1.5, volts: 18.0, ramp: s(60) });
    second.steps[2].current = Some(Current { density: 1.5, volts: 16.0, ramp: s(60) });
    let other = line.recipes.push(second);
    state.book.carriers[A].area_dm2 = 400.0;
    state.book.carriers[B].area_dm2 = 500.0;
    state.book.carriers[B].recipe = other;
    let both = plan_at(0, [good_plan(), good_second()].concat());
    let found = verify(&line, &state, &both);
    assert_eq!(found.iter().map(|b| b.rule).collect::<Vec<_>>(), [Rule::Power]);
    assert!(found[0].text.contains("22800 W") && found[0].text.contains("2800 W over"), "{}", found[0].text);
    assert_eq!(broken(&line, &state, &plan_at(0, good_plan())), []);
    assert_eq!(broken(&line, &state, &plan_at(0, good_second())), []);
    line.power_cap = Some(Watts(22_800));
    assert_eq!(broken(&line, &state, &both), [], "as much as the cap is allowed");
}

/// "Current is off before the lift": one load begins its ramp as the other is lifted.
#[test]
fn current_is_off_at_the_lift() {
    let (mut line, state) = line_and_state(2);
    line.power_cap = Some(Watts(2400));
    let mut second = good_second();
    for mv in &mut second {
        // B is down in T4 at 452, when A is lifted from T3: impossible for one hoist, but no matter of power.
        mv.start += s(145);
    }
    let plan = plan_at(0, [good_plan(), second].concat());
    assert!(!broken(&line, &state, &plan).contains(&Rule::Power));
    line.power_cap = Some(Watts(2399));
    assert!(broken(&line, &state, &plan).contains(&Rule::Power));
}

/// "Confirmed times, not planned ones, drive dwell."
#[test]
fn confirmed_times_drive_dwell() {
    let line = plant();
    let mut history = opened(&line, book(1));
    say(&line, &mut history, t(2), &lift(A, H1, LOAD, t(2))).unwrap();
    // The model has it down at 15; the person says 30.
    say(&line, &mut history, t(30), &lower(H1, ETCH, t(30))).unwrap();
    let rest = plan_at(40, good_plan()[1..].to_vec());
    let found = verify(&line, history.state(), &rest);
    assert_eq!(rules(&found), [Rule::Under]);
    assert_eq!(found[0].by, s(60 - (77 - 30)));
}

/// "A plan never starts in the past", and an empty hoist does not set out in the past either.
#[test]
fn a_plan_never_starts_in_the_past() {
    let (line, mut state) = line_and_state(1);
    assert_eq!(broken(&line, &state, &plan_at(0, good_plan())), []);
    let late = Schedule { made_at: Time(1), ..plan_at(0, good_plan()) };
    assert_eq!(broken(&line, &state, &late), [Rule::Start]);
    state.hoists[H1].at = ETCH;
    let moves = walk(A, &[0, 1, 2, 3, 6], &[2, 77, 132, 452]);
    assert_eq!(broken(&line, &state, &plan_at(0, moves.clone())), []);
    assert_eq!(broken(&line, &state, &plan_at(1, moves)), [Rule::Hoist]);
}
