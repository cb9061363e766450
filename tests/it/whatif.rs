//! What a change would do: nothing is stored, both sides are verified plans, and the differences name who pays.

use super::lines::{Shape, does, opened, varied};
use dwellhand::civil::Opening;
use dwellhand::ids::{CarrierId, HoistId, Id as _};
use dwellhand::line::Harm;
use dwellhand::plan::{Settings, plan};
use dwellhand::schedule::Schedule;
use dwellhand::shift::{Change, Command, StopCause};
use dwellhand::units::{Dur, Time};
use dwellhand::verify::{Breach, Rule, verify};
use dwellhand::view::{Preview, Turn};
use dwellhand::whatif::{Effect, Prospect, Weighed, effects, weigh};

fn change(change: Change) -> Command {
    Command::Change { change, why: "to see".to_owned() }
}

#[test]
fn a_stopped_hoist_makes_orders_later_and_says_whose() {
    let (line, book) = varied(5, Shape { steps: 8, carriers: 5, rinse: 4, hoists: 1 });
    let history = opened(&line, book);
    let settings = Settings::default();
    let now = Time::from_secs(60);
    let stop = Change::StopHoist {
        hoist: HoistId::at(0),
        cause: StopCause::Break,
        until: Some(now + Dur::from_mins(30)),
    };
    let seq = history.state().seq;
    let mut weighed = weigh(&line, &history, &[change(stop)], now, &settings, None).unwrap();
    weighed.improve(&line, &settings, 2000, &mut || false);
    let Weighed { before, after, .. } = weighed;
    assert_eq!(history.state().seq, seq);
    assert_eq!(verify(&line, &after.state, &after.schedule), after.breaches);
    assert!(after.schedule.moves.iter().all(|m| m.start >= now + Dur::from_mins(30)));
    let effects = effects(&line, &before, &after);
    let late = effects.iter().filter_map(|e| match e {
        Effect::Finish { before: Some(b), after: Some(a), .. } => Some(*a - *b),
        _ => None,
    });
    assert!(late.max().is_some_and(|by| by >= Dur::from_mins(25)), "{effects:#?}");
}

#[test]
fn commands_are_said_one_after_the_other_and_the_refused_one_is_named() {
    let (line, book) = varied(5, Shape { steps: 8, carriers: 5, rinse: 4, hoists: 1 });
    let history = opened(&line, book);
    let (settings, now) = (Settings::default(), Time::from_secs(60));
    let carrier = CarrierId::at(0);
    let both = [change(Change::Hold { carrier }), change(Change::Release { carrier })];
    let weighed = weigh(&line, &history, &both, now, &settings, None).unwrap();
    assert_eq!(effects(&line, &weighed.before, &weighed.after), []);
    let twice = [both[0].clone(), both[0].clone()];
    let (n, _) = weigh(&line, &history, &twice, now, &settings, None).unwrap_err();
    assert_eq!(n, 1);
}

/// A load that is kept for ever does not do better than one that is lifted late, however little of it is over by now.
#[test]
fn a_window_without_an_end_is_worse_than_any_with_one() {
    let breach = |by: i64, open_ended: bool| Breach {
        rule: Rule::Over,
        harm: Some(Harm::Rework),
        carrier: "B03".to_owned(),
        place: "T12".to_owned(),
        at: Time::ZERO,
        by: Dur::from_secs(by),
        text: String::new(),
        open_ended,
    };
    let (late, kept) = (breach(300, false), breach(0, true));
    assert!(kept.is_worse_than(&late, Dur::from_mins(60)) && !late.is_worse_than(&kept, Dur::ZERO));
    assert!(breach(301, false).is_worse_than(&late, Dur::ZERO));
    assert!(!breach(301, false).is_worse_than(&late, Dur::from_secs(5)));
    let prospect = |breaches: Vec<Breach>| {
        let (line, book) = varied(1, Shape { steps: 6, carriers: 1, rinse: 4, hoists: 1 });
        let history = opened(&line, book);
        let weighed = weigh(&line, &history, &[], Time::ZERO, &Settings::default(), None).unwrap();
        (line, Prospect { breaches, ..weighed.before })
    };
    let ((line, before), (_, after)) = (prospect(vec![late]), prospect(vec![kept.clone()]));
    assert_eq!(effects(&line, &before, &after), [Effect::Breaks(kept.clone())]);
    let opening = Opening::parse("2026-11-25T06:00:00+01:00").unwrap();
    let preview = Preview::of(&line, &opening, &before, &after, Time::ZERO);
    let rework = preview.parts.iter().find(|p| p.what == "out of windows, rework").unwrap();
    assert_eq!((rework.after.as_str(), rework.turn), ("0:00+", Turn::Worse));
}

/// The next call that stays or changes is the one on the screens, whatever a search without the change would begin with.
#[test]
fn the_call_that_stays_is_the_one_that_stands() {
    let (line, book) = varied(5, Shape { steps: 8, carriers: 5, rinse: 4, hoists: 1 });
    let mut history = opened(&line, book);
    let settings = Settings::default();
    let planned = plan(&line, history.state(), Time::ZERO, &settings);
    does(&line, &mut history, &Command::AdoptPlan { schedule: planned.clone() }, Time::ZERO);
    let opening = Opening::parse("2026-11-25T06:00:00+01:00").unwrap();
    let mut weighed = weigh(&line, &history, &[], Time::ZERO, &settings, None).unwrap();
    let call =
        |weighed: &Weighed| Preview::of(&line, &opening, &weighed.before, &weighed.after, Time::ZERO).call;
    let (stands, None) = call(&weighed) else { panic!("nothing was changed") };
    // Both sides come to begin with another carrier than the one that is called.
    let other = planned.moves.iter().position(|m| m.carrier != planned.moves[0].carrier).unwrap();
    for side in [&mut weighed.before, &mut weighed.after] {
        side.schedule = Schedule::new(vec![planned.moves[other]], Time::ZERO);
    }
    let (before, after) = call(&weighed);
    assert_eq!(before, stands);
    assert!(after.is_some_and(|after| after != stands));
}
