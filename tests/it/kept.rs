//! Promises of the plans a history keeps: each is what it was, in little room.

use dwellhand::ids::{CarrierId, HoistId, Id as _, Seq, StepNo, TankId};
use dwellhand::line::Visit;
use dwellhand::schedule::{Kept, Move, Schedule};
use dwellhand::shift::{Event, Stamped, Who};
use dwellhand::units::{Dur, Time};
use proptest::prelude::*;

use crate::helpers::{ANODISE, ETCH, H1, book, opened, plant, t};

/// A move like no other: by its carrier and step.
fn mv(n: usize, start: i64) -> Move {
    let step = |n| Visit::Step(StepNo::at(n));
    Move {
        carrier: CarrierId::at(n / 16),
        hoist: H1,
        from: ETCH,
        to: ANODISE,
        leaves: step(n % 16),
        visit: step(n % 16 + 1),
        start: t(start),
        attach: true,
        release: true,
    }
}

fn plan(moves: usize) -> Schedule {
    Schedule { moves: (0..moves).map(|n| mv(n, 60 * n as i64)).collect(), made_at: Time::ZERO }
}

/// What becomes of a plan as a shift goes on.
#[derive(Debug, Clone)]
enum Turn {
    Done(usize),
    Late(prop::sample::Index, i64),
    Elsewhere(prop::sample::Index, prop::sample::Index),
    New(usize),
}

fn any_turn() -> impl Strategy<Value = Turn> {
    let ix = any::<prop::sample::Index>;
    prop_oneof![
        (1..9_usize).prop_map(Turn::Done),
        (ix(), -90..900_i64).prop_map(|(from, by)| Turn::Late(from, by)),
        (ix(), ix()).prop_map(|(from, to)| Turn::Elsewhere(from, to)),
        (1..40_usize).prop_map(Turn::New),
    ]
}

fn turned(mut plan: Schedule, turn: &Turn, n: usize) -> Schedule {
    plan.made_at += Dur::from_secs(60);
    let len = plan.moves.len();
    match turn {
        Turn::Done(count) => drop(plan.moves.drain(..len.min(*count))),
        Turn::New(count) => plan.moves.extend((0..*count).map(|k| mv(1000 * (n + 1) + k, 7 * k as i64))),
        _ if len == 0 => {}
        Turn::Late(from, by) => {
            for m in &mut plan.moves[from.index(len)..] {
                m.start += Dur::from_secs(*by);
            }
        }
        Turn::Elsewhere(from, to) => {
            let m = plan.moves.remove(from.index(len));
            plan.moves.insert(to.index(len), m);
        }
    }
    plan
}

fn any_visit() -> impl Strategy<Value = Visit> {
    any::<(u8, u16)>().prop_map(|(kind, step)| match kind % 5 {
        0 => Visit::Load,
        1 => Visit::Step(StepNo(step)),
        2 => Visit::Hold(StepNo(step)),
        3 => Visit::Stray { resume: StepNo(step) },
        _ => Visit::Unload,
    })
}

/// Whatever fits into its fields, sense or not: a journal may hold it.
fn any_move() -> impl Strategy<Value = Move> {
    let ids = any::<(u16, u16, u16, u16)>();
    (ids, any_visit(), any_visit(), any::<i64>(), any::<(bool, bool)>()).prop_map(
        |((carrier, hoist, from, to), leaves, visit, start, (attach, release))| Move {
            carrier: CarrierId(carrier),
            hoist: HoistId(hoist),
            from: TankId(from),
            to: TankId(to),
            leaves,
            visit,
            start: Time(start),
            attach,
            release,
        },
    )
}

proptest! {
    #[test]
    fn any_move_is_kept_as_it_is(moves in prop::collection::vec(any_move(), 0..40), made_at in any::<i64>()) {
        let plan = Schedule { moves, made_at: Time(made_at) };
        prop_assert_eq!(Kept::from(&plan).schedule(), plan);
    }

    #[test]
    fn a_plan_told_by_another_is_what_it_was(
        moves in 0..400_usize,
        turns in prop::collection::vec(any_turn(), 0..30),
    ) {
        let mut now = plan(moves);
        let mut kept = Kept::from(now.clone());
        for (n, turn) in turns.iter().enumerate() {
            now = turned(now, turn, n);
            kept = kept.then(&now);
            prop_assert_eq!(kept.schedule(), now.clone());
            prop_assert_eq!((kept.len(), kept.made_at()), (now.moves.len(), now.made_at));
            prop_assert_eq!(&kept, &Kept::from(now.clone()));
        }
    }
}

#[test]
fn another_plan_is_not_equal_however_it_is_told() {
    let first = Kept::from(plan(100));
    let mut other = plan(100);
    other.moves[70].start += Dur::from_secs(1);
    assert_ne!(first.then(&other), first);
    other.moves.pop();
    assert_ne!(first.then(&other), first);
}

/// Three hundred plans, each the one before a little later: nearly all are told by one of a few.
#[test]
fn a_history_keeps_few_plans_whole() {
    let line = plant();
    let mut history = opened(&line, book(2));
    let mut now = plan(900);
    let mut adopted = Vec::new();
    for n in 0..300 {
        now = turned(now, &Turn::Done(2), 0);
        let len = now.moves.len();
        for m in &mut now.moves[len * (n % 7) / 8..] {
            m.start += Dur::from_secs(5);
        }
        let (seq, at) = (Seq(history.state().seq.0 + 1), now.made_at);
        let event = Event::PlanAdopted { plan: now.clone().into() };
        history.push(&line, Stamped { seq, at, entered: at, by: Who::Program, event });
        adopted.push(now.clone());
    }
    let kept: Vec<&Kept> = history
        .events()
        .iter()
        .filter_map(|s| match &s.event {
            Event::PlanAdopted { plan } => Some(plan),
            _ => None,
        })
        .collect();
    let are: Vec<Schedule> = kept.iter().map(|plan| plan.schedule()).collect();
    assert_eq!(are, adopted);
    let whole = kept.iter().filter(|plan| plan.is_whole()).count();
    assert!(whole <= 30, "{whole} of {} plans are whole", kept.len());
    // As moves they would take 4.3 MB.
    let bytes: usize = kept.iter().map(|plan| plan.bytes()).sum();
    assert!(bytes < 250_000, "{bytes} bytes");
}

/// A history has thousands of events, and each takes as much room as the largest may.
#[test]
fn an_event_is_small() {
    assert!(size_of::<Stamped>() <= 128, "{} bytes", size_of::<Stamped>());
}
