//! Simple rules: whole shifts on generated lines, decided by a person who goes by a rule.

use std::collections::BTreeSet;

use super::lines::{Shape, opened, varied};
use dwellhand::ids::TankId;
use dwellhand::plan::{Settings, calls, plan};
use dwellhand::shift::{Event, Place};
use dwellhand::sim::{ByRule, Crew, Outcome, Pace, Person, Rule, Trouble, Troubles, by_rule};
use dwellhand::units::{Dur, Time};
use dwellhand::verify::{self, happened};

const RULES: [Rule; 3] = [Rule::FirstDue, Rule::FirstCome, Rule::Nearest];

fn shape(seed: u64) -> Shape {
    Shape {
        steps: 4 + seed as usize % 12,
        carriers: 2 + seed as usize % 7,
        rinse: 2 + seed as i64 % 4,
        hoists: 1,
    }
}

fn shift(seed: u64, rule: Rule, pace: Pace, trouble: Trouble) -> ByRule {
    let (line, book) = varied(seed, shape(seed));
    let lasting = Dur::from_mins(24 * 60);
    let troubles = Troubles::draw(&line, trouble, seed, lasting);
    let crew = Crew::new(pace, seed).with_stops(&troubles.stops);
    by_rule(&line, book, Person::new(rule, 4), crew, &troubles, Time::ZERO + lasting).unwrap()
}

fn all_out(run: &ByRule) -> bool {
    run.history.state().carriers.iter().all(|(_, c)| matches!(c.place, Place::Finished { .. }))
}

/// A rule never asks for what cannot be done, and the work comes to an end.
#[test]
fn a_rule_makes_only_possible_moves_and_finishes() {
    for seed in 0..60 {
        for rule in RULES {
            let run = shift(seed, rule, Pace::PUNCTUAL, Trouble::None);
            assert!(run.refused.is_empty(), "seed {seed} {rule:?}: {:?}", run.refused.first());
            assert!(all_out(&run), "seed {seed} {rule:?}");
        }
    }
}

/// People and troubles do not make a rule ask for the impossible, nor stop the work for good.
#[test]
fn a_rule_copes_with_people_and_troubles() {
    let pace = Pace { distracted: 0.03, wrong_tank: 0.01, wrong_carrier: 0.02, ..Pace::HUMAN };
    for seed in 0..60 {
        for rule in RULES {
            let run = shift(seed, rule, pace, Trouble::Rough);
            assert!(run.refused.is_empty(), "seed {seed} {rule:?}: {:?}", run.refused.first());
            assert!(all_out(&run), "seed {seed} {rule:?}");
        }
    }
}

/// With a punctual crew no load leaves before its shortest dwell: the rules are careful.
#[test]
fn a_rule_lifts_nothing_too_early() {
    for seed in 0..60 {
        let (line, _) = varied(seed, shape(seed));
        for rule in RULES {
            let run = shift(seed, rule, Pace::PUNCTUAL, Trouble::None);
            let under: Vec<_> = happened(&line, run.history.state())
                .into_iter()
                .filter(|b| b.rule == verify::Rule::Under)
                .collect();
            assert!(under.is_empty(), "seed {seed} {rule:?}: {:?}", under.first());
        }
    }
}

#[test]
fn the_same_seed_gives_the_same_shift() {
    for rule in RULES {
        let once = shift(7, rule, Pace::HUMAN, Trouble::Rough);
        let again = shift(7, rule, Pace::HUMAN, Trouble::Rough);
        assert_eq!(once.history.events(), again.history.events(), "{rule:?}");
        let other = shift(7, rule, Pace::HUMAN, Trouble::None);
        assert_ne!(once.history.events(), other.history.events(), "{rule:?}: troubles change something");
    }
}

/// What goes wrong does not depend on who decides: the same tanks go out at the same time, and no load is picked or put
/// down while the crane stands still.
#[test]
fn the_same_troubles_hit_every_policy() {
    for seed in 0..20 {
        let (line, book) = varied(seed, shape(seed));
        let lasting = Dur::from_mins(24 * 60);
        let troubles = Troubles::draw(&line, Trouble::Rough, seed, lasting);
        let known: Vec<(TankId, Time, Time)> =
            troubles.outs.iter().map(|o| (o.tank, o.from, o.until)).collect();
        for rule in RULES {
            let run = shift(seed, rule, Pace::HUMAN, Trouble::Rough);
            let outs: Vec<(TankId, Time, Time)> = run
                .history
                .events()
                .iter()
                .filter_map(|s| match s.event {
                    Event::TankOut { tank, until, .. } => Some((tank, s.at, until)),
                    _ => None,
                })
                .collect();
            assert_eq!(outs, known, "seed {seed} {rule:?}");
            for s in run.history.events().iter().filter(|s| s.event.is_physical()) {
                let stopped = troubles.stops.iter().find(|stop| stop.from < s.at && s.at < stop.until);
                assert_eq!(stopped, None, "seed {seed} {rule:?}: {s:?}");
            }
        }
        // The crew that follows the calls stands still at the same times.
        let history = opened(&line, book);
        for stop in &troubles.stops {
            let mut crew = Crew::new(Pace::HUMAN, seed).with_stops(&troubles.stops);
            let now = stop.from + Dur::from_secs(1);
            let schedule = plan(&line, history.state(), now, &Settings { effort: 1, ..Settings::default() });
            let next = calls(&line, history.state(), &schedule, now, 1);
            if let Some((press, _)) = crew.next(&line, history.state(), &next, now) {
                assert!(press >= stop.until, "seed {seed}: a pick at {press} while the crane stands");
            }
        }
    }
}

/// Slips are drawn for the first, second, third pick and place of a shift, whichever carrier is moved.
#[test]
fn slips_do_not_depend_on_what_is_called() {
    let (line, book) = varied(3, shape(3));
    let history = opened(&line, book);
    let settings = Settings { effort: 1, ..Settings::default() };
    let schedule = plan(&line, history.state(), Time::ZERO, &settings);
    let all = calls(&line, history.state(), &schedule, Time::ZERO, schedule.moves.len());
    let starts: Vec<_> = all.iter().filter(|c| c.mv.leaves == dwellhand::line::Visit::Load).collect();
    let lateness: BTreeSet<Dur> = starts
        .iter()
        .map(|call| {
            let mut crew = Crew::new(Pace::HUMAN, 5);
            let (press, _) = crew.next(&line, history.state(), &[(**call).clone()], Time::ZERO).unwrap();
            press - call.mv.start
        })
        .collect();
    assert!(starts.len() > 1);
    assert_eq!(lateness.len(), 1, "{lateness:?}");
}

#[test]
fn the_outcome_of_a_rule_is_told_like_any_other() {
    let (line, _) = varied(1, shape(1));
    let run = shift(1, Rule::FirstDue, Pace::PUNCTUAL, Trouble::None);
    let outcome = Outcome::of(&line, &run.history, Time::ZERO + Dur::from_mins(24 * 60));
    assert_eq!(outcome.finished, run.history.state().carriers.len());
    assert!(outcome.moves > 0 && outcome.hoist_use > 0.0);
}
