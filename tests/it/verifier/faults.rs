//! One planted fault for each way a plan can be wrong: exactly that rule complains, and says so with names and figures.

use crate::helpers::*;
use dwellhand::ids::*;
use dwellhand::line::*;
use dwellhand::schedule::Schedule;
use dwellhand::shift::*;
use dwellhand::units::*;
use dwellhand::verify::{Breach, Rule, Tally, is_possible, verify};

/// Everything a verdict depends on.
struct Scene {
    line: Line,
    state: State,
    plan: Schedule,
}

impl Scene {
    fn verdict(&self) -> Vec<Breach> {
        verify(&self.line, &self.state, &self.plan)
    }

    /// The scene with one thing changed breaks this rule and no other.
    fn breaks(mut self, rule: Rule, fault: impl FnOnce(&mut Self)) -> Vec<Breach> {
        assert_eq!(self.verdict(), [], "the plan must be good before the fault");
        fault(&mut self);
        self.plan = Schedule::new(self.plan.moves, self.plan.made_at);
        let found = self.verdict();
        assert_eq!(rules(&found), [rule], "{found:#?}");
        found
    }
}

fn one() -> Scene {
    let line = plant();
    let state = opened(&line, book(1)).state().clone();
    Scene { line, state, plan: plan_at(0, good_plan()) }
}

fn two() -> Scene {
    let line = plant();
    let state = opened(&line, book(2)).state().clone();
    Scene { line, state, plan: plan_at(0, [good_plan(), good_second()].concat()) }
}

/// The rinse is a dip on the hook.
fn dip() -> Scene {
    let mut scene = one();
    scene.line.recipes[RecipeId(0)].steps[1].on_hook = true;
    scene.plan.moves[1].release = false;
    scene.plan.moves[2].attach = false;
    scene
}

fn in_tank(tank: TankId, visit: Visit, since: i64) -> Place {
    Place::InTank { tank, visit, since: t(since), hooked: None }
}

/// A in the rinse since 970, B in anodise tank T3 since 680, two hoists, now 1000: H2 takes B to the unload, H1 brings A to
/// T4 behind it, H2 fetches A in the end.
fn hoists() -> Scene {
    let mut line = plant();
    line.hoists.push(plain_hoist("H2", 3));
    let mut state = opened(&line, book(2)).state().clone();
    state.carriers[A].place = in_tank(RINSE, step_no(1), 970);
    state.carriers[B].place = in_tank(ANODISE, step_no(2), 680);
    state.hoists[H1].at = RINSE;
    let plan = plan_at(
        1000,
        vec![
            mv(B, H2, (3, 6), (step_no(2), Visit::Unload), 1000),
            mv(A, H1, (2, 4), (step_no(1), step_no(2)), 1002),
            mv(A, H2, (4, 6), (step_no(2), Visit::Unload), 1330),
        ],
    );
    Scene { line, state, plan }
}

/// A hangs on H1 over the etch since 77; now it is 80.
fn on_hook() -> Scene {
    let mut scene = one();
    let mut history = opened(&scene.line, book(1));
    for (now, command) in
        [(2, lift(A, H1, LOAD, t(2))), (15, lower(H1, ETCH, t(15))), (77, lift(A, H1, ETCH, t(77)))]
    {
        say(&scene.line, &mut history, t(now), &command).unwrap();
    }
    scene.state = history.state().clone();
    scene.plan = plan_at(80, good_plan()[1..].to_vec());
    scene
}

#[test]
fn good_plans_have_no_breach() {
    for scene in [one(), two(), dip(), hoists(), on_hook()] {
        assert_eq!(scene.verdict(), []);
    }
}

#[test]
fn dwell_too_short() {
    let found = one().breaks(Rule::Under, |x| x.plan.moves[2].start = t(117));
    assert_eq!(found[0].text, "A in T2 Rinse 1: dwell 0:19 is 0:01 under the shortest 0:20 (nuisance)");
    assert_eq!((found[0].harm, found[0].by), (Some(Harm::Nuisance), s(1)));
}

#[test]
fn dwell_too_long() {
    let found = one().breaks(Rule::Over, |x| {
        x.plan.moves[2].start = t(159);
        x.plan.moves[3].start = t(500);
    });
    assert_eq!(found[0].text, "A in T2 Rinse 1: dwell 1:01 is 0:01 over the longest 1:00 (nuisance)");
    assert_eq!((found[0].at, found[0].by), (t(160), s(1)));
}

#[test]
fn dwell_under_way_runs_from_its_own_start() {
    let found = hoists().breaks(Rule::Over, |x| x.state.carriers[A].place = in_tank(RINSE, step_no(1), 940));
    assert_eq!(found[0].by, s(4));
}

#[test]
fn a_standby_stop_has_a_window_too() {
    let mut scene = one();
    let hold = Visit::Hold(StepNo(1));
    scene.plan.moves[2] = mv(A, H1, (2, 5), (step_no(1), hold), 130);
    // Down in the standby water at 130 + 2 + 5 + 6 + 1 + 5 = 149.
    scene.plan.moves.insert(3, mv(A, H1, (5, 3), (hold, step_no(2)), 260));
    scene.plan.moves[4].start = t(600);
    let found = scene.breaks(Rule::Over, |x| x.plan.moves[3].start = t(268));
    assert_eq!((found[0].harm, found[0].by), (Some(Harm::Rework), s(1)));
}

#[test]
fn a_stray_carrier_should_leave_at_once() {
    let mut scene = one();
    scene.state.carriers[A].place = in_tank(STANDBY, Visit::Stray { resume: StepNo(2) }, 0);
    scene.state.hoists[H1].at = STANDBY;
    let way = (Visit::Stray { resume: StepNo(2) }, step_no(2));
    scene.plan =
        plan_at(0, vec![mv(A, H1, (5, 3), way, 0), mv(A, H1, (3, 6), (step_no(2), Visit::Unload), 330)]);
    let found = scene.verdict();
    // The hook alone takes 2 s.
    assert_eq!((rules(&found), found[0].by, found[0].harm), (vec![Rule::Over], s(2), Some(Harm::Rework)));
}

#[test]
fn air_too_long() {
    let found = one().breaks(Rule::Air, |x| x.line.recipes[RecipeId(0)].steps[0].air_max = s(12));
    assert_eq!(found[0].text, "A from T1 to T2 Rinse 1: air time 0:13 is 0:01 over the longest 0:12 (scrap)");
    assert_eq!(found[0].harm, Some(Harm::Scrap));
}

#[test]
fn air_of_a_carrier_on_the_hook_counts_from_its_real_lift() {
    // 13 s of air by the model; 20 s later than the model makes 33 of 30.
    let found = on_hook().breaks(Rule::Air, |x| {
        x.plan.moves[0].start = t(95);
        x.plan.moves[1].start = t(140);
        x.plan.moves[2].start = t(460);
    });
    assert_eq!(found[0].by, s(3));
}

#[test]
fn a_rest_move_starts_neither_before_the_lift_nor_ends_in_the_past() {
    on_hook().breaks(Rule::Start, |x| x.plan.moves[0].start = t(74));
    on_hook().breaks(Rule::Start, |x| {
        x.plan.made_at = t(101);
    });
}

#[test]
fn starting_in_the_past() {
    one().breaks(Rule::Start, |x| x.plan.made_at = t(1));
}

#[test]
fn starting_before_it_is_racked() {
    one().breaks(Rule::Start, |x| x.state.book.carriers[A].ready = t(1));
}

#[test]
fn a_dead_end_later() {
    let found = one().breaks(Rule::WayOut, |x| {
        x.plan.moves.pop();
    });
    assert_eq!(found[0].text, "A is left in T3 with no way out");
}

#[test]
fn a_carrier_on_the_line_that_nobody_moves() {
    hoists().breaks(Rule::WayOut, |x| x.plan.moves.retain(|m| m.carrier == A));
    on_hook().breaks(Rule::WayOut, |x| x.plan.moves.clear());
}

#[test]
fn chains_that_do_not_hold_together() {
    // Not where it is.
    hoists().breaks(Rule::Chain, |x| x.state.carriers[A].place = in_tank(ANODISE_2, step_no(1), 970));
    // Not why it is there.
    hoists().breaks(Rule::Chain, |x| x.plan.moves[1].leaves = Visit::Hold(StepNo(1)));
    // A step left out: from the etch straight to the anodise.
    one().breaks(Rule::Chain, |x| {
        x.plan.moves.remove(2);
        x.plan.moves[1].to = ANODISE;
        x.plan.moves[1].visit = step_no(2);
    });
    // The right step in the wrong tank.
    one().breaks(Rule::Chain, |x| {
        x.plan.moves[2].to = STANDBY;
        x.plan.moves[3].from = STANDBY;
    });
    // Finished in a tank that is no station.
    one().breaks(Rule::Chain, |x| x.plan.moves[3].to = STANDBY);
    // Started from a tank that is no station.
    one().breaks(Rule::Chain, |x| {
        x.state.hoists[H1].at = STANDBY;
        x.plan.moves[0].from = STANDBY;
        x.line.recipes[RecipeId(0)].steps[0].min = s(50);
    });
    // A standby stop the recipe does not allow.
    let mut scene = one();
    let hold = Visit::Hold(StepNo(1));
    scene.plan.moves[2] = mv(A, H1, (2, 5), (step_no(1), hold), 130);
    scene.plan.moves.insert(3, mv(A, H1, (5, 3), (hold, step_no(2)), 260));
    scene.plan.moves[4].start = t(600);
    scene.breaks(Rule::Chain, |x| x.line.recipes[RecipeId(0)].steps[1].hold = None);
}

#[test]
fn lifted_before_it_is_down() {
    let mut scene = hoists();
    scene.plan.moves[2].start = t(1016);
    let found = scene.verdict();
    // Whoever fetches it there has to be where the hoist that brings it still is.
    assert_eq!(rules(&found), [Rule::Chain, Rule::Hoist, Rule::Rail]);
    let chain = found.iter().find(|b| b.rule == Rule::Chain).unwrap();
    assert_eq!(chain.text, "A is to be lifted from T4 0:01 before it is down there");
}

#[test]
fn the_wrong_side_of_the_line() {
    let found = one().breaks(Rule::Chain, |x| x.state.book.orders[OrderId(0)].entry = EntrySide::At(UNLOAD));
    assert_eq!(found[0].text, "A is to start at L, its order enters at U");
}

#[test]
fn hooks_that_do_not_fit_the_dip() {
    one().breaks(Rule::Chain, |x| x.plan.moves[2].attach = false);
    one().breaks(Rule::Chain, |x| x.plan.moves[3].release = false);
    dip().breaks(Rule::Chain, |x| x.plan.moves[1].release = true);
    dip().breaks(Rule::Chain, |x| x.plan.moves[2].attach = true);
}

#[test]
fn moves_after_the_end() {
    let mut scene = one();
    scene.state.carriers[A].place = Place::Finished { tank: UNLOAD, at: t(0) };
    assert_eq!(rules(&scene.verdict()), [Rule::Chain]);
}

#[test]
fn names_of_nothing() {
    one().breaks(Rule::Chain, |x| {
        for mv in &mut x.plan.moves {
            mv.to = TankId(99);
        }
    });
    one().breaks(Rule::Chain, |x| {
        for mv in &mut x.plan.moves {
            mv.visit = step_no(40);
        }
    });
    one().breaks(Rule::Chain, |x| {
        for mv in &mut x.plan.moves {
            mv.carrier = CarrierId(7);
        }
    });
    one().breaks(Rule::Chain, |x| {
        for mv in &mut x.plan.moves {
            mv.hoist = HoistId(3);
        }
    });
}

#[test]
fn out_of_reach() {
    one().breaks(Rule::Reach, |x| x.line.hoists[H1].reach_to = Mm(11_999));
}

#[test]
fn no_time_in_the_table() {
    let line = row(&[(20, 25), (10, 60)], 1, &[5, 5, 5]);
    let state = opened(&line, book(1)).state().clone();
    let plan = plan_at(0, walk(A, &[0, 1, 2, 3], &[0, 25, 40]));
    Scene { line, state, plan }.breaks(Rule::Reach, |x| {
        let Travel::Table { loaded, .. } = &mut x.line.hoists[H1].travel else { panic!("a table") };
        loaded[2][3] = None;
    });
}

#[test]
fn no_time_for_the_empty_travel() {
    // H1 is free at T3 at 147 and six seconds from L.
    let found = two().breaks(Rule::Hoist, |x| x.plan.moves[3].start = t(152));
    assert_eq!((found[0].by, found[0].carrier.as_str(), found[0].place.as_str()), (s(1), "B", "H1"));
    assert!(
        found[0].text.contains("A at T3") && found[0].text.ends_with("0:01 too late"),
        "{}",
        found[0].text
    );
}

#[test]
fn no_time_to_the_first_move() {
    one().breaks(Rule::Hoist, |x| x.state.hoists[H1].at = ETCH);
    one().breaks(Rule::Hoist, |x| x.state.hoists[H1].free_from = t(1));
}

#[test]
fn a_hoist_with_another_carrier_on_it() {
    on_hook().breaks(Rule::Hoist, |x| {
        let (mut book, mut carriers) = (book(2), x.state.carriers.clone());
        carriers.push(Carrier { place: in_tank(ANODISE_2, step_no(2), -280), stays: Vec::new() });
        std::mem::swap(&mut x.state.book, &mut book);
        x.state.carriers = carriers;
        // B's move fits between, were A not on the hook.
        x.plan.moves[0].start = t(85);
        x.plan.moves.push(mv(B, H1, (4, 6), (step_no(2), Visit::Unload), 84));
    });
}

#[test]
fn hoist_busy_during_a_dip() {
    let mut scene = dip();
    scene.state.book = book(2);
    scene.state.carriers.push(Carrier { place: Place::Queued, stays: Vec::new() });
    scene.breaks(Rule::Hoist, |x| {
        // Between 100, when A is down in the rinse, and 130, when it is lifted, B is fetched with time to spare.
        x.plan.moves.extend(walk(B, &[0, 1, 2, 4, 6], &[106, 190, 250, 600]));
        x.plan.moves.retain(|m| m.carrier == A || m.start == t(106) || m.start > t(147));
        let second: Vec<usize> = (0..x.plan.moves.len()).filter(|k| x.plan.moves[*k].carrier == B).collect();
        x.plan.moves[second[1]].release = false;
        x.plan.moves[second[2]].attach = false;
    });
}

#[test]
fn strict_swap() {
    let found = two().breaks(Rule::Swap, |x| {
        for mv in x.plan.moves.iter_mut().filter(|m| m.carrier == B) {
            if mv.to == ANODISE_2 {
                mv.to = ANODISE;
            }
            if mv.from == ANODISE_2 {
                mv.from = ANODISE;
            }
        }
    });
    assert_eq!(found.len(), 1);
    assert_eq!(
        found[0].text,
        "B is lifted for T3 at 0:04:52, but A has it until 0:07:37: strict swap broken by 2:45"
    );
}

#[test]
fn swap_with_a_carrier_that_is_there_already() {
    hoists().breaks(Rule::Swap, |x| {
        x.plan.moves[1].to = ANODISE;
        x.plan.moves[2].from = ANODISE;
        // B still goes at 1000 and is clear at 1007; A is lifted for its tank at 1004.
    });
}

#[test]
fn tanks_that_are_not_ready_or_out() {
    let found = one().breaks(Rule::Availability, |x| x.state.tanks[ANODISE].from = t(146));
    assert_eq!(found[0].text, "A goes into T3 at 0:02:25, 0:01 before it is ready (0:02:26)");
    one().breaks(Rule::Availability, |x| x.state.tanks[ANODISE].until = t(451));
    one().breaks(Rule::Availability, |x| x.state.tanks[UNLOAD].until = t(468));
}

#[test]
fn more_current_than_the_rectifier_gives() {
    let found = one().breaks(Rule::Power, |x| x.line.rectifiers[RectifierId(0)].max_amps = 149.0);
    assert!(found[0].text.contains("150 A from R1 at T3"), "{}", found[0].text);
    one().breaks(Rule::Power, |x| x.line.rectifiers[RectifierId(0)].max_power = Some(Watts(2399)));
}

#[test]
fn more_power_than_the_line_has() {
    // Two loads of 2400 W overlap from 307, when B begins, to 452, when A is lifted. With a cap of 3600 the sum is over from
    // the middle of B's ramp on.
    let found = two().breaks(Rule::Power, |x| x.line.power_cap = Some(Watts(3600)));
    assert_eq!(found.len(), 1);
    assert_eq!((found[0].at, found[0].by, found[0].carrier.as_str()), (t(337), s(115), "B"));
}

#[test]
fn hoists_that_would_have_to_pass() {
    let found = hoists().breaks(Rule::Rail, |x| {
        x.plan.moves[0].start = t(1010);
        x.plan.moves[1].start = t(1000);
    });
    assert!(found[0].text.contains("H1 with A and H2 with B would have to pass"), "{}", found[0].text);
}

#[test]
fn no_room_beyond_for_the_idle_hoist() {
    // H1 alone carries A to the unload station at 12 m; the rail ends at 13 m and H2 needs 1.5.
    let found = hoists().breaks(Rule::Rail, |x| x.plan.moves[2].hoist = H1);
    assert!(found.iter().any(|b| b.text.contains("too little rail")), "{found:?}");
}

#[test]
fn an_idle_hoist_that_cannot_get_out_of_the_way_in_time() {
    // H1 stands 1.2 m from where H2 has to be at once, and has nothing to do before H2 is gone.
    let mut scene = hoists();
    scene.plan.moves[1].start = t(1012);
    let found = scene.breaks(Rule::Rail, |x| x.line.tanks[RINSE].position = Mm(4800));
    assert_eq!(
        found[0].text,
        "H1 cannot be clear of H2 with B at 0:16:40: it is at T2 Rinse 1 until 0:16:40"
    );
    // A little later it can be: 0.3 m at 1 m/s.
    let mut scene = hoists();
    scene.line.tanks[RINSE].position = Mm(4800);
    scene.plan.moves[0].start = Time(1_000_300);
    scene.plan.moves[1].start = t(1012);
    assert_eq!(scene.verdict(), []);
}

#[test]
fn hoists_nearest_in_the_middle_of_their_travel() {
    // H1 runs at 1 m/s from 4 m while H2 gathers speed from 6 m with 0.5 m/s2: 6 + t^2 / 4 - (4 + t) is least at 2 s, when both
    // run at 1 m/s, and there it is 1 m. At the corners of the paths (0, 3.46 and 4 s) it is more than 1.5 m.
    let mut scene = hoists();
    scene.line.hoists[H2].travel = Travel::Kinematic { speed: 10.0, accel: 0.5, decel: 0.5 };
    scene.plan.moves[1].start = t(1000);
    scene.line.rail.gap = Mm(999);
    let found = scene.breaks(Rule::Rail, |x| x.line.rail.gap = Mm(1300));
    assert_eq!((found.len(), found[0].at), (1, t(1009)));
    assert!(found[0].text.contains("come within 1.000 m"), "{}", found[0].text);
}

#[test]
fn all_breaches_are_listed_and_counted_by_harm() {
    let mut scene = two();
    scene.line.recipes[RecipeId(0)].steps[0].air_max = s(12);
    scene.plan.moves[2].start = t(117);
    scene.state.book.carriers[B].ready = t(1000);
    scene.state.tanks[UNLOAD].from = t(5000);
    let found = scene.verdict();
    assert_eq!(rules(&found), [Rule::Under, Rule::Air, Rule::Start, Rule::Availability]);
    let tally = Tally::of(&found);
    assert_eq!(
        (tally.impossible, tally.scrap, tally.rework, tally.shade, tally.nuisance),
        (3, 2, 0, 0, 1),
        "{found:#?}"
    );
    assert!(!is_possible(&found));
    let harmless: Vec<Breach> = found.into_iter().filter(|b| b.harm.is_some()).collect();
    assert!(is_possible(&harmless) && is_possible(&[]));
    assert!(Tally::of(&[]).is_clean() && Tally::of(&[]) < Tally::of(&harmless));
    assert!(Tally::of(&harmless) < tally, "worst first");
    assert_eq!(Harm::Scrap.letter(), 'S');
    assert_eq!(tally.count(Harm::Scrap), 2);
    assert_eq!(
        Rule::ALL.len(),
        Rule::ALL.iter().map(|r| r.word()).collect::<std::collections::BTreeSet<_>>().len()
    );
}

/// Plans from anywhere, such as a file, may hold any nonsense: it is judged, not tripped over.
#[test]
fn nonsense_is_judged_without_a_panic() {
    let mut rng = dwellhand::rng::Rng::stream(7, "nonsense");
    let scenes = [two(), hoists(), on_hook(), dip()];
    let mut judged = 0;
    for round in 0..4000 {
        let scene = &scenes[round % scenes.len()];
        let visits = [
            Visit::Load,
            Visit::Unload,
            step_no(rng.below(5) as u16),
            Visit::Hold(StepNo(rng.below(5) as u16)),
            Visit::Stray { resume: StepNo(rng.below(6) as u16) },
        ];
        let mut plan = scene.plan.clone();
        for _ in 0..rng.below(6) {
            let k = rng.below(plan.moves.len());
            let mv = &mut plan.moves[k];
            match rng.below(8) {
                0 => mv.carrier = CarrierId(rng.below(4) as u16),
                1 => mv.hoist = HoistId(rng.below(3) as u16),
                2 => mv.from = TankId(rng.below(9) as u16),
                3 => mv.to = TankId(rng.below(9) as u16),
                4 => mv.leaves = visits[rng.below(5)],
                5 => mv.visit = visits[rng.below(5)],
                6 => mv.start = [Time::FAR, Time::PAST, t(0), t(100), t(1005)][rng.below(5)],
                _ => (mv.attach, mv.release) = (rng.chance(0.5), rng.chance(0.5)),
            }
        }
        if rng.chance(0.2) {
            plan.moves.swap_remove(0);
        }
        judged += usize::from(!verify(&scene.line, &scene.state, &plan).is_empty());
    }
    assert!(judged > 2000, "most nonsense should be found out, {judged} were");
}
