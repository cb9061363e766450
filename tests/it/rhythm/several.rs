//! Rhythms of several hoists on one rail: possible by the verifier, never worse than one, better where the crane binds.

use dwellhand::ids::*;
use dwellhand::line::*;
use dwellhand::plan::rhythm::{Binding, NoRhythm, Rhythm, What, rhythm, unroll, what_if};
use dwellhand::rng::Rng;
use dwellhand::units::*;
use dwellhand::verify::Breach;
use dwellhand::verify::cyclic::Repeated;

use super::dumb::pick;
use super::lines::{Kind, PLAIN, random_line};
use super::{Ask, ask};
use crate::helpers::*;

const TOGETHER: fn() -> Ask = || Ask { hoist: None, nodes: 60_000, ..ask() };

fn cycle(found: &Rhythm) -> Repeated {
    let moves = unroll(found, found.round, Time::ZERO);
    Repeated { period: found.period, round: found.round, moves }
}

/// What the verifier says of the cycle on an empty line, run for as many carriers as it asks for.
fn judged(line: &Line, cycle: &Repeated) -> Vec<Breach> {
    let mut orders = book(cycle.carriers(line));
    for c in orders.carriers.ids().collect::<Vec<_>>() {
        orders.carriers[c].name = format!("C{}", c.0);
        orders.carriers[c].area_dm2 = 0.0;
    }
    let state = opened(line, orders).state().clone();
    cycle.judge(line, &state, s(3600))
}

/// The line with so many hoists alike, and room for them beyond both ends.
fn with_hoists(line: &Line, many: usize, gap: i64) -> Line {
    let one = &line.hoists[H1];
    let last = line.tanks.iter().map(|(_, t)| t.position).max().unwrap();
    let room = Mm(gap * many as i64);
    let hoist = |k: usize| Hoist {
        name: format!("H{}", k + 1),
        reach_from: Mm(0) - room,
        reach_to: last + room,
        home: if k == 0 { TankId(0) } else { TankId::at(line.tanks.len() - 1) },
        ..one.clone()
    };
    Line {
        rail: Rail { from: Mm(0) - room, to: last + room, gap: Mm(gap) },
        hoists: (0..many).map(hoist).collect(),
        ..line.clone()
    }
}

fn families() -> [Kind; 4] {
    [
        Kind { steps: (3, 6), ..PLAIN },
        Kind { steps: (3, 5), tanks: 2, wide: 30, ..PLAIN },
        Kind { steps: (3, 5), on_hook: true, wide: 100, one_way: false, ..PLAIN },
        Kind { steps: (3, 5), again: true, tanks: 2, ..PLAIN },
    ]
}

#[test]
fn several_hoists_keep_every_rule_and_are_never_worse_than_one() {
    let mut rng = Rng::stream(21, "rhythm-several");
    let (mut better, mut proven, mut all) = (0, 0, 0);
    for kind in families() {
        for round in 0..10 {
            let line = random_line(&mut rng, kind);
            let gap = pick(&mut rng, 1, 5) * 500;
            let one = match rhythm(&with_hoists(&line, 1, gap), &TOGETHER()) {
                Ok(found) => found,
                Err(NoRhythm::Window { .. }) => continue,
                Err(no) => panic!("{no:?}"),
            };
            let line = with_hoists(&line, 2 + round % 2, gap);
            let found = rhythm(&line, &TOGETHER()).unwrap();
            assert_eq!(found.cranes.len(), line.hoists.len());
            assert!(found.period <= one.period, "{} after {}: {line:?}", found.period, one.period);
            assert!(found.proof.bound <= found.period);
            assert!(!found.binding.is_empty());
            for crane in &found.cranes {
                assert!(crane.bound <= found.period && crane.idle >= Dur::ZERO, "{crane:?}");
                assert_eq!(crane.loaded + crane.empty + crane.idle, found.period);
            }
            let breaches = judged(&line, &cycle(&found));
            assert!(breaches.is_empty(), "{} breaches: {}\n{found:?}\n{line:?}", breaches.len(), breaches[0]);
            better += usize::from(found.period < one.period);
            proven += usize::from(found.proof.optimal);
            all += 1;
        }
    }
    assert!(better * 3 > all, "better on {better} of {all}");
    assert!(proven * 2 > all, "proven for {proven} of {all}");
}

/// Short soaks far apart: the one crane is all there is to wait for.
fn crane_bound() -> Line {
    let mut tanks = vec![station("L", 0.0, true, false)];
    tanks.extend((0..4).map(|k| bath(&format!("T{k}"), 4.0 * f64::from(k + 1), k as u16)));
    tanks.push(station("U", 20.0, false, true));
    let line = random_line(&mut Rng::stream(1, "any"), PLAIN);
    let line = Line {
        tanks: Arena::new(tanks),
        stages: (0..4).map(|k| stage(&format!("s{k}"), StageKind::Rinse)).collect(),
        recipes: Arena::new(vec![recipe((0..4).map(|k| step(k, 20, 200)).collect())]),
        ..line
    };
    with_hoists(&line, 1, 1500)
}

#[test]
fn a_second_hoist_helps_where_the_crane_binds_and_what_if_says_so() {
    let line = crane_bound();
    let one = rhythm(&line, &TOGETHER()).unwrap();
    assert_eq!(one.binding, [Binding::Crane]);
    let roomy = with_hoists(&line, 2, 1500);
    let two = rhythm(&roomy, &TOGETHER()).unwrap();
    assert!(two.proof.optimal && two.period.0 * 10 < one.period.0 * 7, "{} after {}", two.period, one.period);
    assert!(two.cranes.iter().all(|c| c.loaded > Dur::ZERO));
    assert_eq!(judged(&roomy, &cycle(&two)), []);
    let more = |line: &Line, found: &Rhythm| {
        what_if(line, found).into_iter().find(|c| c.what == What::Hoist).unwrap().period.unwrap().0
    };
    // The rail as it is has room for a second one beyond the ends of both.
    assert_eq!(more(&with_room(&line), &one), two.period);
    let alone = rhythm(&roomy, &Ask { hoist: Some(H1), ..TOGETHER() }).unwrap();
    assert_eq!((alone.period, more(&roomy, &alone)), (one.period, two.period));
    assert!(more(&with_hoists(&line, 3, 1500), &two) <= two.period);
}

/// One hoist on a rail that would hold two.
fn with_room(line: &Line) -> Line {
    let two = with_hoists(line, 2, line.rail.gap.0);
    Line { hoists: two.hoists.iter().take(1).map(|(_, h)| h.clone()).collect(), ..two }
}

/// A cycle that is told wrong is not let pass: hoists that swap their moves, and a period a little too short.
#[test]
fn the_verifier_sees_hoists_that_meet_in_a_cycle() {
    let line = with_hoists(&crane_bound(), 2, 1500);
    let found = rhythm(&line, &TOGETHER()).unwrap();
    let good = cycle(&found);
    let mut crossed = good.clone();
    for m in &mut crossed.moves {
        m.hoist = HoistId(1 - m.hoist.0);
    }
    assert!(judged(&line, &crossed).iter().any(|b| b.rule == dwellhand::verify::Rule::Rail));
    let hasty = Repeated { period: good.period - s(5), ..good };
    assert!(!judged(&line, &hasty).is_empty());
}

/// A hoist that reaches but part of the line, and one with all of it.
#[test]
fn hoists_keep_to_their_reach() {
    let mut line = with_hoists(&crane_bound(), 2, 1500);
    line.hoists[H1].reach_to = Mm(8_000);
    let whole = rhythm(&line, &TOGETHER()).unwrap();
    for (m, _) in unroll(&whole, 2, Time::ZERO).iter().zip(0..) {
        assert!(line.reaches(m.hoist, m.from) && line.reaches(m.hoist, m.to), "{m:?}");
    }
    assert_eq!(judged(&line, &cycle(&whole)), []);
    line.hoists[HoistId(1)].reach_from = Mm(8_000);
    let parted = rhythm(&line, &TOGETHER()).unwrap();
    assert!(parted.period >= whole.period);
    assert_eq!(judged(&line, &cycle(&parted)), []);
}
