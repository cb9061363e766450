//! How good plans are against proven best finishes of whole lines.

use super::best::BEST;
use super::families::{Family, instance, spread};
use super::lines::opened;
use dwellhand::line::{Line, OrderBook};
use dwellhand::plan::{Budget, Reserve, Settings, Team, improve, improve_with, plan};
use dwellhand::schedule::Schedule;
use dwellhand::units::Time;
use dwellhand::verify::verify;

/// Instances with two hoists and the shortest finish in milliseconds, proven as those of one hoist in `best.rs` are.
const TWO_HOISTS: [(&str, i64); 2] =
    [("14t-tight-3c-1r-1a-o-2h-0", 8_079_090), ("24t-loose-3c-3r-4a-d-2h-2", 6_016_587)];

/// How far above the optimum a search of [`TRIES`] may end, in tenths of a percent. A floor under what it does today; the
/// aim is none.
const ALLOWED: i64 = 1;

/// Trial insertions: about a second each.
const TRIES: u64 = 300_000;

fn searched(line: &Line, book: OrderBook) -> Schedule {
    let history = opened(line, book);
    let settings = Settings { reserve: Reserve::NONE, seed: 1, effort: 0, ..Settings::default() };
    let first = plan(line, history.state(), Time::ZERO, &settings);
    let mut budget = Budget { tries: TRIES, stop: &mut || false };
    let better = improve(line, history.state(), &first, &settings, 0, &mut budget).unwrap_or(first);
    assert_eq!(verify(line, history.state(), &better), []);
    better
}

fn finish(line: &Line, book: &OrderBook, schedule: &Schedule) -> i64 {
    let ends = schedule.moves.iter().map(|m| m.start + m.phases(line, book).unwrap().total());
    ends.max().unwrap().0
}

/// A short search keeps every window, never ends below a proven optimum and not far above it.
#[test]
fn a_short_search_ends_near_the_proven_finish() {
    let proven = BEST.into_iter().filter(|(.., proven)| *proven).map(|(id, best, _)| (id, best));
    for (id, best) in proven.chain(TWO_HOISTS) {
        let (line, book) = instance(id);
        let found = finish(&line, &book, &searched(&line, book.clone()));
        println!("{id}: {found} against {best}");
        assert!(found >= best, "{id}: {found} is below what was proven");
        assert!((found - best) * 1000 <= best * ALLOWED, "{id}: {found} against {best}");
    }
}

/// What is best known is known of exactly the spread.
#[test]
fn a_finish_is_known_for_every_spread_instance() {
    let mut ids: Vec<String> = spread().iter().map(Family::to_string).collect();
    ids.sort();
    assert!(ids.iter().eq(BEST.iter().map(|(id, ..)| id)));
}

/// Improved plans of drawn families, of one hoist and of two, are never worse than the first answer, never break a window
/// and bring out the same carriers.
#[test]
fn improved_plans_of_drawn_families_keep_every_window() {
    for seed in 200..240 {
        let family = Family::drawn(seed, 1 + usize::from(seed % 5 == 4));
        let (line, book) = instance(&family.to_string());
        let history = opened(&line, book.clone());
        let settings = Settings { reserve: Reserve::NONE, seed, effort: 0, ..Settings::default() };
        let first = plan(&line, history.state(), Time::ZERO, &settings);
        assert_eq!(verify(&line, history.state(), &first), [], "{family}: the first answer");
        let mut budget = Budget { tries: 10_000, stop: &mut || false };
        let Some(better) = improve(&line, history.state(), &first, &settings, 0, &mut budget) else {
            continue;
        };
        assert_eq!(verify(&line, history.state(), &better), [], "{family}: improved");
        assert!(finish(&line, &book, &better) <= finish(&line, &book, &first), "{family}");
        let all = book.carriers.ids().all(|c| better.of(c).next().is_some() == first.of(c).next().is_some());
        assert!(all, "{family}: a carrier came or went");
    }
}

/// Searches that go on together, whoever comes when, never break a window and never end later than the first answer or the
/// first of them to come.
#[test]
fn searches_that_go_on_together_keep_every_window() {
    for seed in 300..312 {
        let family = Family::drawn(seed, 1 + usize::from(seed % 3 == 2));
        let (line, book) = instance(&family.to_string());
        let history = opened(&line, book.clone());
        let settings = Settings { reserve: Reserve::NONE, seed, effort: 0, ..Settings::default() };
        let first = plan(&line, history.state(), Time::ZERO, &settings);
        let team = Team::default();
        let member = |seed: u64| {
            let mut budget = Budget { tries: 8_000, stop: &mut || false };
            let own = Settings { seed, ..settings };
            improve_with(&team, &line, history.state(), &first, &own, &mut budget)
        };
        let member = &member;
        let found: Vec<Schedule> = std::thread::scope(|threads| {
            let members: Vec<_> = (0..3).map(|n| threads.spawn(move || member(seed + n))).collect();
            members.into_iter().filter_map(|m| m.join().unwrap()).collect()
        });
        let last = member(seed + 3);
        let least = found.iter().map(|plan| finish(&line, &book, plan)).min();
        assert!(least.is_none_or(|least| last.as_ref().is_some_and(|l| finish(&line, &book, l) <= least)));
        for better in found.iter().chain(&last) {
            assert_eq!(verify(&line, history.state(), better), [], "{family}");
            assert!(finish(&line, &book, better) <= finish(&line, &book, &first), "{family}");
        }
    }
}

/// The budget is counted, so the same seed and budget give the same schedule.
#[test]
fn the_same_budget_gives_the_same_schedule() {
    let (line, book) = instance("14t-medium-4c-3r-2a-o-1h-4");
    assert_eq!(searched(&line, book.clone()), searched(&line, book));
}
