//! Many simulated shifts: one table row a policy, the same seeds for each. Whatever the figures, the answer is a table, so
//! the exit code is 0.

use std::fmt::Write as _;
use std::num::NonZero;
use std::ops::RangeInclusive;
use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::thread;

use super::args::{Policy, Seeds, Simulate};
use super::simulate::{Run, Site, Under, run};
use super::{Bad, Outcome as Exit, plan::warn, say, say_json, worth};
use crate::line::Harm;
use crate::units::Dur;

/// Seeds if only `--compare` is said.
const DEFAULT_RUNS: u64 = 20;

/// How many carriers a simple rule may have on the line, if nothing is said: all are tried.
const LIMITS: RangeInclusive<u16> = 3..=8;

/// Of a column in the table.
const WIDTH: usize = 8;

const HARMS: [Harm; 4] = [Harm::Scrap, Harm::Rework, Harm::Shade, Harm::Nuisance];
const ALL: [Policy; 4] = [Policy::Calls, Policy::FirstDue, Policy::FirstCome, Policy::Nearest];

/// The figures of one shift that go into a row.
#[derive(Debug, Clone, Copy)]
struct Figures {
    seed: u64,
    finished: usize,
    clean: usize,
    by_harm: [usize; 4],
    /// Those of the worst harm that did not fall into a crane stop.
    own_scrap: usize,
    /// Carriers put into a wrong tank.
    strays: usize,
    /// Windows that closed, or air limits that ran out, while the crane stood still: nobody could help it then.
    in_stops: usize,
    /// What stops would have broken on average whoever decides.
    least_in_stops: f64,
    air_excess: Dur,
    alarms: usize,
    hoist_use: f64,
    late: usize,
    refused: usize,
}

impl Figures {
    fn of(seed: u64, run: &Run) -> Self {
        let o = &run.outcome;
        let tally = o.tally();
        Self {
            seed,
            finished: o.finished,
            clean: o.clean,
            own_scrap: o.breaches.iter().filter(|b| b.harm == Some(Harm::Scrap) && !run.in_stop(b)).count(),
            by_harm: HARMS.map(|h| tally.count(h)),
            strays: o.strays,
            in_stops: o.breaches.iter().filter(|b| run.in_stop(b)).count(),
            least_in_stops: run.least_in_stops,
            air_excess: o.air_excess,
            alarms: o.alarms,
            hoist_use: o.hoist_use,
            late: o.late.len(),
            refused: run.told.refused,
        }
    }

    fn breaches(&self) -> usize {
        self.by_harm.iter().sum()
    }
    /// Breaches left to whoever decides: not while the crane stood still, not by putting a carrier into a wrong tank.
    fn own(&self) -> usize {
        self.breaches().saturating_sub(self.in_stops + self.strays)
    }

    fn json(&self) -> serde_json::Value {
        serde_json::json!({
            "seed": self.seed,
            "finished": self.finished,
            "finished_clean": self.clean,
            "breaches_by_harm": by_harm(|h| self.by_harm[h] as f64),
            "breaches": self.breaches(),
            "breaches_in_stops": self.in_stops,
            "least_in_stops": rounded(self.least_in_stops),
            "wrong_tanks": self.strays,
            "breaches_own": self.own(),
            "air_excess_s": self.air_excess.as_secs_f64(),
            "alarms": self.alarms,
            "hoist_use": rounded(self.hoist_use),
            "late": self.late,
            "refused": self.refused,
        })
    }
}

/// All shifts under one policy.
struct Row {
    policy: Policy,
    /// Carriers a simple rule allowed on the line at once.
    most: u16,
    runs: Vec<Figures>,
}

impl Row {
    fn mean(&self, figure: impl Fn(&Figures) -> f64) -> f64 {
        self.runs.iter().map(figure).sum::<f64>() / self.runs.len().max(1) as f64
    }
    fn finished(&self) -> f64 {
        self.mean(|f| f.finished as f64)
    }
    fn breaches(&self) -> f64 {
        self.mean(|f| f.breaches() as f64)
    }
    fn clean(&self) -> f64 {
        self.mean(|f| f.clean as f64)
    }
    fn own(&self) -> f64 {
        self.mean(|f| f.own() as f64)
    }
    fn least_in_stops(&self) -> f64 {
        self.mean(|f| f.least_in_stops)
    }
    fn limit(&self) -> String {
        if self.policy == Policy::Calls { "-".to_owned() } else { self.most.to_string() }
    }
    fn harm(&self, h: usize) -> f64 {
        self.mean(|f| f.by_harm[h] as f64)
    }

    fn json(&self) -> serde_json::Value {
        serde_json::json!({
            "policy": self.policy.word(),
            "runs": self.runs.len(),
            "most_on_line": (self.policy != Policy::Calls).then_some(self.most),
            "finished": rounded(self.finished()),
            "finished_clean": rounded(self.clean()),
            "breaches_by_harm": by_harm(|h| rounded(self.harm(h))),
            "breaches": rounded(self.breaches()),
            "breaches_in_stops": rounded(self.mean(|f| f.in_stops as f64)),
            "least_in_stops": rounded(self.least_in_stops()),
            "wrong_tanks": rounded(self.mean(|f| f.strays as f64)),
            "breaches_own": rounded(self.own()),
            "scrap_own": self.runs.iter().map(|f| f.own_scrap).sum::<usize>(),
            "runs_with_scrap": self.runs.iter().filter(|f| f.by_harm[0] > 0).count(),
            "air_excess_s": rounded(self.mean(|f| f.air_excess.as_secs_f64())),
            "alarms": rounded(self.mean(|f| f.alarms as f64)),
            "hoist_use": rounded(self.mean(|f| f.hoist_use)),
            "late": rounded(self.mean(|f| f.late as f64)),
            "refused": self.runs.iter().map(|f| f.refused).sum::<usize>(),
            "shifts": self.runs.iter().map(Figures::json).collect::<Vec<_>>(),
        })
    }
}

fn by_harm(figure: impl Fn(usize) -> f64) -> serde_json::Value {
    let pairs = HARMS.iter().enumerate().map(|(h, harm)| (harm.word().to_owned(), figure(h).into()));
    serde_json::Value::Object(pairs.collect())
}

fn rounded(x: f64) -> f64 {
    (x * 1e4).round() / 1e4
}

pub fn compare(args: &Simulate, site: &Site) -> Result<Exit, Bad> {
    let first = if args.runs.is_some() { 1 } else { args.planner.seed };
    let runs = args.runs.unwrap_or(DEFAULT_RUNS);
    let seeds = args.seeds.unwrap_or(Seeds { first, last: first + (runs - 1) });
    let policies = if args.compare { ALL.to_vec() } else { vec![args.policy] };
    let rows = best_limits(rows(args, site, &policies, seeds)?);
    let refused: usize = rows.iter().flat_map(|r| &r.runs).map(|f| f.refused).sum();
    if refused > 0 {
        warn(&format!("{refused} times something was refused; run the seed by itself to see what"));
    }
    if args.json { say_json(&json(args, seeds, &rows)) } else { say(&text(args, seeds, &rows)) }
}

/// Runs every shift. Which core runs which changes nothing.
fn rows(args: &Simulate, site: &Site, policies: &[Policy], seeds: Seeds) -> Result<Vec<Row>, Bad> {
    let limits = |policy: Policy| match args.most {
        _ if policy == Policy::Calls => 0..=0,
        Some(most) => most..=most,
        None => LIMITS,
    };
    let kinds: Vec<(Policy, u16)> = policies.iter().flat_map(|p| limits(*p).map(|most| (*p, most))).collect();
    let jobs: Vec<(usize, Under)> = kinds
        .iter()
        .enumerate()
        .flat_map(|(row, &(policy, most))| {
            (seeds.first..=seeds.last).map(move |seed| (row, Under { policy, most, seed }))
        })
        .collect();
    let done = on_all_cores(&jobs, |&(row, under)| {
        (row, run(args, site, under).map(|r| Figures::of(under.seed, &r)))
    });
    let row = |&(policy, most): &(Policy, u16)| Row { policy, most, runs: Vec::new() };
    let mut rows: Vec<Row> = kinds.iter().map(row).collect();
    for (row, figures) in done {
        rows[row].runs.push(figures?);
    }
    Ok(rows)
}

/// Does every job, as many at a time as there are cores; the answers in the order of the jobs.
pub fn on_all_cores<J: Sync, A: Send>(jobs: &[J], does: impl Fn(&J) -> A + Sync) -> Vec<A> {
    let next = AtomicUsize::new(0);
    let done: Mutex<Vec<(usize, A)>> = Mutex::new(Vec::new());
    let work = || loop {
        let at = next.fetch_add(1, Ordering::Relaxed);
        let Some(job) = jobs.get(at) else { break };
        let answer = does(job);
        done.lock().unwrap_or_else(std::sync::PoisonError::into_inner).push((at, answer));
    };
    let cores = thread::available_parallelism().map_or(1, NonZero::get);
    thread::scope(|scope| {
        for _ in 0..cores.min(jobs.len()) {
            scope.spawn(work);
        }
    });
    let mut done = done.into_inner().unwrap_or_else(std::sync::PoisonError::into_inner);
    done.sort_by_key(|(at, _)| *at);
    done.into_iter().map(|(_, answer)| answer).collect()
}

/// For each policy the row that brought out most carriers with nothing broken.
fn best_limits(rows: Vec<Row>) -> Vec<Row> {
    let mut best: Vec<Row> = Vec::new();
    for row in rows {
        match best.last_mut().filter(|b| b.policy == row.policy) {
            Some(b) if row.clean() > b.clean() => *b = row,
            Some(_) => {}
            None => best.push(row),
        }
    }
    best
}

/// By how many per cent `a` is more than `b`; `None` if `b` is nothing.
fn more(a: f64, b: f64) -> Option<f64> {
    (b > 0.0).then(|| (a / b - 1.0) * 100.0)
}

/// The calls against one rule, in per cent.
struct Against {
    fewer_breaches: Option<f64>,
    /// Of those that are left to whoever decides.
    fewer_own: Option<f64>,
    more_finished: Option<f64>,
}

impl Against {
    fn of(calls: &Row, rule: &Row) -> Self {
        Self {
            fewer_breaches: more(calls.breaches(), rule.breaches()).map(|x| 0.0 - x),
            fewer_own: more(calls.own(), rule.own()).map(|x| 0.0 - x),
            more_finished: more(calls.finished(), rule.finished()),
        }
    }
}

/// The calls and the rules, if both were run.
fn sides(rows: &[Row]) -> Option<(&Row, &[Row])> {
    rows.split_first().filter(|(calls, rules)| calls.policy == Policy::Calls && !rules.is_empty())
}

fn json(args: &Simulate, seeds: Seeds, rows: &[Row]) -> serde_json::Value {
    let ratios = sides(rows).map(|(calls, rules)| {
        let ratio = |rule: &Row| {
            let against = Against::of(calls, rule);
            serde_json::json!({
                "against": rule.policy.word(),
                "fewer_breaches_percent": against.fewer_breaches.map(rounded),
                "fewer_own_breaches_percent": against.fewer_own.map(rounded),
                "more_finished_percent": against.more_finished.map(rounded),
            })
        };
        rules.iter().map(ratio).collect::<Vec<_>>()
    });
    serde_json::json!({
        "format": "dwellhand-comparison/1",
        "hours": args.hours,
        "crew": args.crew.word(),
        "trouble": args.trouble.word(),
        "reserve_s": worth::reserve(&args.planner.settings().reserve),
        "seeds": [seeds.first, seeds.last],
        "policies": rows.iter().map(Row::json).collect::<Vec<_>>(),
        "calls": ratios,
    })
}

fn text(args: &Simulate, seeds: Seeds, rows: &[Row]) -> String {
    let mut text = String::new();
    let _ = writeln!(
        text,
        "Means of {} shifts of {} h, seeds {}..{}, crew {}, trouble {}",
        seeds.last - seeds.first + 1,
        args.hours,
        seeds.first,
        seeds.last,
        args.crew.word(),
        args.trouble.word()
    );
    let heads = [
        "on line", "finished", "clean", "scrap", "rework", "shade", "nuisance", "breaches", "in stops",
        "least", "strays",
    ];
    let _ = write!(text, "{:<10}", "policy");
    for head in heads.iter().chain(&["own", "air over s", "alarms", "late"]) {
        let _ = write!(text, " {head:>WIDTH$}");
    }
    text.push('\n');
    for row in rows {
        let _ = write!(text, "{:<10} {:>WIDTH$}", row.policy.word(), row.limit());
        let figures = [
            row.finished(),
            row.clean(),
            row.harm(0),
            row.harm(1),
            row.harm(2),
            row.harm(3),
            row.breaches(),
            row.mean(|f| f.in_stops as f64),
            row.least_in_stops(),
            row.mean(|f| f.strays as f64),
            row.own(),
            row.mean(|f| f.air_excess.as_secs_f64()),
            row.mean(|f| f.alarms as f64),
            row.mean(|f| f.late as f64),
        ];
        for figure in figures {
            // A sum of nothing is -0.0.
            let _ = write!(text, " {:>WIDTH$.2}", figure + 0.0);
        }
        text.push('\n');
    }
    text.push_str(
        "least: what crane stops break on average with as many carriers finished, if nobody foresees them, whoever decides\n\
         own: breaches that neither fell into a crane stop nor came from putting a carrier into a wrong tank\n",
    );
    if let Some((calls, rules)) = sides(rows) {
        for rule in rules {
            let against = Against::of(calls, rule);
            let figure = |x: Option<f64>, plus: &str, minus: &str| match x {
                Some(x) if x < 0.0 => format!("{:.1} % {minus}", -x),
                Some(x) => format!("{x:.1} % {plus}"),
                None => format!("- {plus}"),
            };
            let _ = writeln!(
                text,
                "calls against {}: {} breaches ({} own), {} carriers finished",
                rule.policy.word(),
                figure(against.fewer_breaches, "fewer", "more"),
                figure(against.fewer_own, "fewer", "more"),
                figure(against.more_finished, "more", "fewer")
            );
        }
    }
    text
}
