//! How good a plan is against the best known finish, by search time and by counted tries, on the 24 spread instances.
//!
//! Prints both, and writes the plot to the file that `DWELLHAND_PLOT` names, if it names one. Takes about four minutes on two
//! threads.
#![allow(
    clippy::unwrap_used,
    missing_docs,
    reason = "a bench that meets nothing where something should be has failed"
)]

use std::fmt::Write as _;
use std::time::{Duration, Instant};

use best::BEST;
use dwellhand::line::{Line, OrderBook};
use dwellhand::plan::{Budget, Reserve, Settings, Team, improve_in_rounds, improve_with, plan};
use dwellhand::schedule::Schedule;
use dwellhand::units::Time;
use shared::families::instance;
use shared::lines::opened;

#[path = "../it/best.rs"]
mod best;
mod shared;

/// Seconds of search shown.
const FROM: f64 = 0.01;
const TO: f64 = 10.0;

/// Budgets in trial insertions, each a whole number of rounds: about 0.1 s and 1 s.
const TRIES: [u64; 2] = [35_000, 315_000];

/// Percent above the best known from some second on.
type Gaps = Vec<(f64, f64)>;

/// How many percent later than the best known a plan ends.
fn gap(line: &Line, book: &OrderBook, schedule: &Schedule, best: i64) -> f64 {
    let ends = schedule.moves.iter().map(|m| m.start + m.phases(line, book).unwrap().total());
    100.0 * (ends.max().unwrap().0 - best) as f64 / best as f64
}

/// What a search of [`TO`] seconds had at what time, and what counted budgets end at.
fn run(id: &str, best: i64) -> (Gaps, Vec<f64>) {
    let (line, book) = instance(id);
    let history = opened(&line, book.clone());
    let settings = Settings { reserve: Reserve::NONE, seed: 1, effort: 0, ..Settings::default() };
    let gap = |schedule: &Schedule| gap(&line, &book, schedule, best);
    let began = Instant::now();
    let first = plan(&line, history.state(), Time::ZERO, &settings);
    let mut gaps = vec![(began.elapsed().as_secs_f64(), gap(&first))];
    let mut over = || began.elapsed() >= Duration::from_secs_f64(TO);
    let mut budget = Budget { tries: u64::MAX, stop: &mut over };
    improve_in_rounds(&line, history.state(), &first, &settings, 0, &mut budget, &mut |better| {
        gaps.push((began.elapsed().as_secs_f64(), gap(better)));
    });
    let counted = TRIES.map(|tries| {
        let mut budget = Budget { tries, stop: &mut || false };
        let better =
            improve_in_rounds(&line, history.state(), &first, &settings, 0, &mut budget, &mut |_| ());
        gap(&better.unwrap_or_else(|| first.clone()))
    });
    (gaps, counted.to_vec())
}

/// What two searches that go on together have after a second, as `plan --budget 1s` has on two cores.
fn together(id: &str, best: i64) -> f64 {
    let (line, book) = instance(id);
    let history = opened(&line, book.clone());
    let began = Instant::now();
    let settings = Settings { reserve: Reserve::NONE, seed: 1, effort: 0, ..Settings::default() };
    let first = plan(&line, history.state(), Time::ZERO, &settings);
    let team = Team::default();
    let search = |seed: u64| {
        let mut over = || began.elapsed() >= Duration::from_secs(1);
        let mut budget = Budget { tries: u64::MAX, stop: &mut over };
        let own = Settings { seed, ..settings };
        improve_with(&team, &line, history.state(), &first, &own, &mut budget)
    };
    let search = &search;
    let found: Vec<Schedule> = std::thread::scope(|threads| {
        let both: Vec<_> = [1, 2].map(|seed| threads.spawn(move || search(seed))).into_iter().collect();
        both.into_iter().filter_map(|search| search.join().unwrap()).collect()
    });
    let gaps = found.iter().chain([&first]).map(|schedule| gap(&line, &book, schedule, best));
    gaps.fold(f64::INFINITY, f64::min)
}

/// The gap in force at a time; the first answer's before there is one.
fn at(gaps: &Gaps, seconds: f64) -> f64 {
    gaps.iter().rev().find(|(t, _)| *t <= seconds).unwrap_or(&gaps[0]).1
}

fn median(mut all: Vec<f64>) -> f64 {
    all.sort_by(f64::total_cmp);
    f64::midpoint(all[(all.len() - 1) / 2], all[all.len() / 2])
}

fn worst(all: &[f64]) -> f64 {
    all.iter().copied().fold(f64::MIN, f64::max)
}

/// Plot size in pixels, and where its axes end: left, right, top, bottom.
const SIZE: (f64, f64) = (720.0, 400.0);
const AXES: (f64, f64, f64, f64) = (56.0, 600.0, 24.0, 340.0);

/// Where a point lies.
fn point(seconds: f64, percent: f64, top: f64) -> (f64, f64) {
    let across = (seconds / FROM).ln() / (TO / FROM).ln();
    let (left, right, high, low) = AXES;
    (left + across * (right - left), low - percent / top * (low - high))
}

/// Steps of a gap over time, as the points of a line.
fn steps(top: f64, gap: impl Fn(f64) -> f64) -> String {
    let mut text = String::new();
    for i in 0..=240 {
        let seconds = FROM * (TO / FROM).powf(f64::from(i) / 240.0);
        let (x, y) = point(seconds, gap(seconds), top);
        let _ = write!(text, "{x:.1},{y:.1} ");
    }
    text.trim_end().to_owned()
}

/// Middling colours on no ground, so that it reads on light and dark alike.
const STYLE: &str = "text{font:13px sans-serif;fill:#57606a}.grid{stroke:#8c959f;stroke-opacity:.35}\
.one{fill:none;stroke:#8c959f;stroke-opacity:.45}.median{fill:none;stroke:#1f78d1;stroke-width:3}\
.worst{fill:none;stroke:#d1571f;stroke-width:3}.m{fill:#1f78d1}.w{fill:#d1571f}\
@media(prefers-color-scheme:dark){text{fill:#9da7b1}.m{fill:#4c9bea}.w{fill:#ea7a4c}}";

fn svg(runs: &[Gaps]) -> String {
    let all = |t: f64| runs.iter().map(|gaps| at(gaps, t)).collect::<Vec<f64>>();
    let most = worst(&all(FROM));
    let tick = [1.0, 2.0, 5.0, 10.0, 20.0, 50.0].into_iter().find(|t| most / t <= 7.0).unwrap_or(100.0);
    let top = (most / tick).ceil() * tick;
    let (left, right, high, low) = AXES;
    let mut text = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {} {}\" role=\"img\">\n\
         <title>Percent above the best known finish against search time</title>\n<style>{STYLE}</style>\n",
        SIZE.0, SIZE.1
    );
    let mut percent = 0.0;
    while percent <= top {
        let (_, y) = point(FROM, percent, top);
        let _ = writeln!(text, "<path class=\"grid\" d=\"M{left} {y:.1}H{right}\"/>");
        let _ = writeln!(
            text,
            "<text x=\"{}\" y=\"{:.1}\" text-anchor=\"end\">{percent} %</text>",
            left - 8.0,
            y + 4.0
        );
        percent += tick;
    }
    for seconds in [0.01, 0.1, 1.0, 10.0] {
        let (x, _) = point(seconds, 0.0, top);
        let _ = writeln!(text, "<path class=\"grid\" d=\"M{x:.1} {high}V{low}\"/>");
        let y = low + 20.0;
        let _ = writeln!(text, "<text x=\"{x:.1}\" y=\"{y}\" text-anchor=\"middle\">{seconds} s</text>");
    }
    for gaps in runs {
        let _ = writeln!(text, "<polyline class=\"one\" points=\"{}\"/>", steps(top, |t| at(gaps, t)));
    }
    let lines = [
        ("worst", "w", steps(top, |t| worst(&all(t))), worst(&all(TO))),
        ("median", "m", steps(top, |t| median(all(t))), median(all(TO))),
    ];
    let apart = (point(TO, lines[1].3, top).1 - point(TO, lines[0].3, top).1).max(16.0);
    let base = point(TO, lines[1].3, top).1 + 4.0;
    for ((class, ink, points, end), y) in lines.iter().zip([base - apart, base]) {
        let _ = writeln!(text, "<polyline class=\"{class}\" points=\"{points}\"/>");
        let x = right + 8.0;
        let _ = writeln!(text, "<text class=\"{ink}\" x=\"{x}\" y=\"{y:.1}\">{class} {end:.1} %</text>");
    }
    let (middle, y) = (f64::midpoint(left, right), low + 44.0);
    let _ = writeln!(
        text,
        "<text x=\"{middle}\" y=\"{y}\" text-anchor=\"middle\">search time; percent above the best known finish, {} \
         generated lines</text>\n</svg>",
        runs.len()
    );
    text
}

#[expect(clippy::print_stdout, reason = "the figures are what one runs this for")]
fn main() {
    let mut runs = Vec::new();
    let mut counted = Vec::new();
    let half =
        |odd: usize| BEST.iter().skip(odd).step_by(2).map(|(id, best, _)| run(id, *best)).collect::<Vec<_>>();
    let (even, odd) = std::thread::scope(|threads| {
        let other = threads.spawn(|| half(1));
        (half(0), other.join().unwrap())
    });
    let found = even.into_iter().zip(odd).flat_map(|(a, b)| [a, b]);
    for ((id, best, proven), (gaps, ends)) in BEST.iter().zip(found) {
        let timed = [0.1, 1.0, 10.0].map(|t| at(&gaps, t));
        let known = if *proven { "proven" } else { "best known" };
        println!(
            "{id:<28} {known:<10} first {:>5.1}  0.1/1/10 s {timed:>5.1?}  counted {ends:>5.1?}",
            gaps[0].1
        );
        let least = gaps.iter().map(|(_, gap)| *gap).fold(0.0, f64::min);
        if least < 0.0 {
            let end = (*best as f64 * (1.0 + least / 100.0)).round();
            println!(
                "  ends at {end} ms, {:.3} % sooner than was known; from here on that is the best known",
                -least
            );
        }
        let over = |gap: f64| 100.0 * ((100.0 + gap) / (100.0 + least) - 1.0);
        runs.push(gaps.into_iter().map(|(t, gap)| (t, over(gap))).collect::<Gaps>());
        counted.push(ends.into_iter().map(over).collect::<Vec<f64>>());
    }
    for (i, tries) in TRIES.into_iter().enumerate() {
        let all: Vec<f64> = counted.iter().map(|c| c[i]).collect();
        println!("{tries} tries: median {:.2} %, worst {:.2} %", median(all.clone()), worst(&all));
    }
    for t in [0.01, 0.1, 1.0, 10.0] {
        let all: Vec<f64> = runs.iter().map(|r| at(r, t)).collect();
        println!("{t} s: median {:.2} %, worst {:.2} %", median(all.clone()), worst(&all));
    }
    let both: Vec<f64> = BEST.iter().map(|(id, best, _)| together(id, *best)).collect();
    println!(
        "1 s, two that go on together: median {:.2} %, worst {:.2} %",
        median(both.clone()),
        worst(&both)
    );
    if let Some(path) = std::env::var_os("DWELLHAND_PLOT") {
        std::fs::write(path, svg(&runs)).unwrap();
    }
}
