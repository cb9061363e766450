//! Several hoists at work at once on one rail.

use super::families::{Family, Rinse, instance};
use super::lines::opened;
use dwellhand::line::{Line, OrderBook};
use dwellhand::plan::{Budget, Settings, improve, plan};
use dwellhand::schedule::Schedule;
use dwellhand::units::{Dur, Time};
use dwellhand::verify::verify;

/// A family of a few carriers, so that many can be planned in a test.
fn small(seed: u64, hoists: usize) -> Family {
    let drawn = Family::drawn(seed, hoists);
    Family { carriers: 2 + drawn.carriers % 5, ..drawn }
}

/// Every plan and every improved plan of generated lines with two and three hoists passes the verifier.
#[test]
fn plans_and_improved_plans_of_several_hoists_are_true() {
    for seed in 0..40 {
        let family = small(seed, if seed % 4 == 3 { 3 } else { 2 });
        let (line, book) = instance(&family.to_string());
        let history = opened(&line, book);
        let reserve = if seed % 2 == 0 { Dur::ZERO } else { Dur::from_secs(10) };
        let settings = Settings { reserve, seed, effort: 2 };
        let first = plan(&line, history.state(), Time::ZERO, &settings);
        assert_eq!(verify(&line, history.state(), &first), [], "{family}");
        for carrier in history.state().carriers.ids() {
            assert!(first.of(carrier).next().is_some(), "{family}: {carrier:?} stays in the queue");
        }
        let mut budget = Budget { tries: 5_000, stop: &mut || false };
        if let Some(better) = improve(&line, history.state(), &first, &settings, 0, &mut budget) {
            assert_eq!(verify(&line, history.state(), &better), [], "{family} improved");
        }
    }
}
