//! How good plans are, over the spread of families.

use std::time::Instant;

use super::families::{instance, spread};
use super::lines::opened;
use dwellhand::plan::{Budget, Settings, improve, plan};
use dwellhand::units::{Dur, Time};
use dwellhand::verify::verify;

#[test]
#[ignore = "prints figures"]
fn spread_figures() {
    let seconds: f64 = std::env::var("SECONDS_EACH").ok().and_then(|s| s.parse().ok()).unwrap_or(1.0);
    let only = std::env::var("ONLY").unwrap_or_default();
    for family in spread() {
        let id = family.to_string();
        if !id.contains(&only) {
            continue;
        }
        let (line, book) = instance(&id);
        let history = opened(&line, book);
        let settings = Settings {
            reserve: Dur::ZERO,
            seed: std::env::var("SEED").ok().and_then(|s| s.parse().ok()).unwrap_or(1),
            effort: 0,
        };
        let t0 = Instant::now();
        let first = plan(&line, history.state(), Time::ZERO, &settings);
        let t_first = t0.elapsed();
        let end = |s: &dwellhand::schedule::Schedule| {
            s.moves
                .iter()
                .map(|m| (m.start + m.phases(&line, &history.state().book).unwrap().total()).0)
                .max()
                .unwrap_or(0)
        };
        let mut asked = 0_u64;
        let begun = Instant::now();
        let mut stop = || {
            asked += 1;
            begun.elapsed().as_secs_f64() > seconds
        };
        let mut budget = Budget {
            tries: std::env::var("TRIES_EACH").ok().and_then(|s| s.parse().ok()).unwrap_or(3_000_000),
            stop: &mut stop,
        };
        let better = improve(&line, history.state(), &first, &settings, 0, &mut budget);
        let last = better.as_ref().unwrap_or(&first);
        let breaches = verify(&line, history.state(), last);
        println!(
            "{id}\t{}\t{}\tfirst {:.1} ms\trounds {asked}\t{:.2} s\tbreaches {}{}",
            end(&first),
            end(last),
            t_first.as_secs_f64() * 1e3,
            begun.elapsed().as_secs_f64(),
            breaches.len(),
            breaches.first().map_or(String::new(), |b| format!(" {b}")),
        );
    }
}
