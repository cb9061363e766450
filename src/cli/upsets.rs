//! Shifts that are upset in the middle, and what may be done about it, side by side: the same crew and the same upset under
//! one seed. Whatever the figures, the answer is a table, so the exit code is 0.

use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write as _;
use std::sync::{Arc, Mutex, PoisonError};

use super::args::{Seeds, Simulate};
use super::compare::on_all_cores;
use super::simulate::{Site, begin};
use super::{Bad, Outcome as Exit, plan::warn, say, say_json, worth};
use crate::clock::ManualClock;
use crate::line::{Harm, Line};
use crate::live::{Hands, Improving, LiveShift, Problem};
use crate::plan::{Call, Settings};
use crate::shift::{Command, Event, History, Place, State, Who};
use crate::sim::{AsPlanned, Crew, Outcome, Pace, Person, Rule as PersonRule, Upset, go_on};
use crate::units::{Dur, Time};
use crate::verify::Rule;
use crate::whatif::{What, trouble, ways_out};

/// Seeds if nothing is said.
const DEFAULT_RUNS: u64 = 50;

/// Trial insertions for all ways out of one trouble.
const TRIES: u64 = 60_000;

/// How long somebody looks out for a way out after the upset, and how often.
const LOOKS_FOR: Dur = Dur::from_mins(30);
const LOOKS_EVERY: Dur = Dur::from_mins(5);

/// When a way out is taken back, where it is.
const TAKEN_BACK: Dur = Dur::from_mins(10);

/// Carriers on the line at once under the simple rule, if nothing is said: what suits it best on the demo line.
const MOST: u16 = 4;

/// Of a column in the table.
const WIDTH: usize = 9;

/// What is done about an upset.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Answer {
    /// The calls go on as they were planned before.
    OldPlan,
    /// A careful person decides by a simple rule.
    FirstCome,
    /// The program plans anew, as it always does, and nothing else is changed.
    Anew,
    /// The same, and the best way out is chosen as soon as there is one.
    WayOut,
    /// The same, and it is taken back ten minutes later.
    TakenBack,
}

const ANSWERS: [Answer; 5] =
    [Answer::OldPlan, Answer::FirstCome, Answer::Anew, Answer::WayOut, Answer::TakenBack];

impl Answer {
    fn word(self) -> &'static str {
        match self {
            Self::OldPlan => "old plan",
            Self::FirstCome => "first come",
            Self::Anew => "planned anew",
            Self::WayOut => "way out",
            Self::TakenBack => "taken back",
        }
    }
}

/// The crew, so that whoever decides next has it as it is.
struct Shared(Arc<Mutex<Crew>>);

impl Hands for Shared {
    fn next(&mut self, line: &Line, state: &State, calls: &[Call], now: Time) -> Option<(Time, Command)> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner).next(line, state, calls, now)
    }
}

/// What was chosen.
#[derive(Debug, Clone, Default)]
struct Chosen {
    what: Option<What>,
    words: String,
    /// Its changes, as they were stored.
    changes: Vec<crate::ids::Seq>,
    /// Changes that could be taken back, and such that could not any more.
    taken_back: usize,
    kept: usize,
}

/// What a shift came to from the upset on.
#[derive(Debug, Clone)]
struct Figures {
    /// Loads by the worst that was done to them: scrap, rework, shade, nuisance. Those that were taken off count as
    /// scrap, those sent back to start again as rework.
    loads: [usize; 4],
    given_up: usize,
    breaches: usize,
    air: Dur,
    late: Dur,
    finished: usize,
    /// Those of them that need not be done again, since the upset.
    good: usize,
    chosen: Chosen,
}

impl Figures {
    fn of(line: &Line, history: &History, upset: &Upset, chosen: Chosen, end: Time) -> Self {
        let outcome = Outcome::of(line, history, end);
        let since: Vec<_> = outcome.breaches.iter().filter(|b| b.at >= upset.from).collect();
        let mut worst: BTreeMap<&str, usize> = BTreeMap::new();
        for b in &since {
            if let Some(harm) = b.harm {
                let w = worst.entry(b.carrier.as_str()).or_insert(harm as usize);
                *w = (harm as usize).min(*w);
            }
        }
        let state = history.state();
        // What was stripped and started again is as good as new.
        let spoiled = |name: &str| worst.get(name).is_some_and(|w| *w <= Harm::Rework as usize);
        let good = state.carriers.iter().filter(|(id, c)| {
            let again = state.standing.runs.contains_key(id);
            matches!(c.place, Place::Finished { .. }) && (again || !spoiled(&state.book.carriers[*id].name))
        });
        let good = good.count();
        let mut given_up = BTreeSet::new();
        for (id, c) in state.carriers.iter() {
            let name = state.book.carriers[id].name.as_str();
            let off = c.place == Place::OffLine && !state.standing.cancelled.contains(&id);
            if off || state.standing.runs.contains_key(&id) {
                let harm = if off { Harm::Scrap } else { Harm::Rework } as usize;
                let w = worst.entry(name).or_insert(harm);
                *w = harm.min(*w);
                given_up.insert(id);
            }
        }
        let mut loads = [0; 4];
        for harm in worst.values() {
            loads[*harm] += 1;
        }
        // What has not come out by the end is late up to then.
        let open = state.carriers.iter().filter(|(_, c)| !matches!(c.place, Place::Finished { .. }));
        let due = |id| state.book.orders[state.book.carriers[id].order].due;
        let waiting: Dur = open.filter_map(|(id, _)| Some((end - due(id)?).or_zero())).sum();
        Self {
            loads,
            given_up: given_up.len(),
            breaches: since.len(),
            air: since.iter().filter(|b| b.rule == Rule::Air).map(|b| b.by).sum(),
            late: outcome.late.iter().map(|(_, by)| *by).sum::<Dur>() + waiting,
            finished: outcome.finished,
            good,
            chosen,
        }
    }

    /// The smaller the better: loads lost, then to be done again, then off shade, then those that are not finished and
    /// good. What has to be wiped off and minutes late decide nothing.
    fn rank(&self) -> (usize, usize, usize, std::cmp::Reverse<usize>) {
        (self.loads[0], self.loads[1], self.loads[2], std::cmp::Reverse(self.good))
    }

    fn json(&self, answer: Answer) -> serde_json::Value {
        serde_json::json!({
            "answer": answer.word(),
            "loads_by_harm": {
                "scrap": self.loads[0], "rework": self.loads[1], "shade": self.loads[2],
                "nuisance": self.loads[3],
            },
            "given_up": self.given_up,
            "breaches": self.breaches,
            "air_excess_s": self.air.as_secs_f64(),
            "late_s": self.late.as_secs_f64(),
            "finished": self.finished,
            "good": self.good,
            "chosen": self.chosen.what.as_ref().map(|_| self.chosen.words.as_str()),
            "taken_back": self.chosen.taken_back,
            "could_not_be_taken_back": self.chosen.kept,
        })
    }
}

/// One seed under every answer.
struct Case {
    seed: u64,
    upset: Upset,
    figures: Vec<Figures>,
}

/// What is the same for all answers under one seed.
struct Scene<'a> {
    args: &'a Simulate,
    site: &'a Site,
    settings: Settings,
    upset: Upset,
    crew: Crew,
    end: Time,
}

pub fn upsets(args: &Simulate, site: &Site) -> Result<Exit, Bad> {
    let first = if args.runs.is_some() { 1 } else { args.planner.seed };
    let last = first + (args.runs.unwrap_or(DEFAULT_RUNS) - 1);
    let seeds = args.seeds.unwrap_or(Seeds { first, last });
    let all: Vec<u64> = (seeds.first..=seeds.last).collect();
    let cases: Result<Vec<Case>, Bad> =
        on_all_cores(&all, |&seed| case(args, site, seed)).into_iter().collect();
    let cases = cases?;
    if args.json { say_json(&json(args, seeds, &cases)) } else { say(&text(args, seeds, &cases)) }
}

fn case(args: &Simulate, site: &Site, seed: u64) -> Result<Case, Bad> {
    let lasting = Dur::from_secs_f64(args.hours * 3600.0);
    let upset = Upset::draw(&site.line, &site.orders.book, seed, lasting);
    // Whoever goes on by an old plan could not go on after a wrong tank; so nobody makes that slip.
    let pace = Pace { wrong_tank: 0.0, wrong_carrier: 0.0, ..args.crew.pace() };
    let scene = Scene {
        args,
        site,
        settings: Settings { seed, ..args.planner.settings() },
        crew: Crew::new(pace, seed).with_stops(&upset.stops()),
        upset,
        end: Time::ZERO + lasting,
    };
    let way_out = scene.run(Answer::WayOut, seed)?;
    // Where nothing was changed the three are one and the same shift.
    let same = |a: Answer| a != Answer::OldPlan && a != Answer::FirstCome && way_out.chosen.what.is_none();
    let figures = ANSWERS.into_iter().map(|a| match a {
        _ if a == Answer::WayOut || same(a) => Ok(way_out.clone()),
        _ => scene.run(a, seed),
    });
    let figures: Result<Vec<Figures>, Bad> = figures.collect();
    Ok(Case { seed, figures: figures?, upset: scene.upset })
}

impl Scene<'_> {
    fn run(&self, answer: Answer, seed: u64) -> Result<Figures, Bad> {
        let clock = ManualClock::default();
        let mut shift = begin(None, self.site, &clock, self.settings)?;
        shift.set_improving(Improving::AtOnce { tries: self.args.budget })?;
        let crew = Arc::new(Mutex::new(self.crew.clone()));
        shift.set_hands(Box::new(Shared(Arc::clone(&crew))));
        until(&mut shift, &clock, self.upset.from)?;
        let mut chosen = Chosen::default();
        let history = match answer {
            Answer::Anew | Answer::WayOut | Answer::TakenBack => {
                self.by_calls(&mut shift, &clock, answer, &mut chosen)?;
                for notice in shift.take_notices() {
                    warn(&format!("seed {seed}, {}: {notice}", answer.word()));
                }
                shift.history().clone()
            }
            Answer::OldPlan | Answer::FirstCome => {
                let crew = crew.lock().unwrap_or_else(PoisonError::into_inner).clone();
                let mut person =
                    Person::new(PersonRule::FirstCome, usize::from(self.args.most.unwrap_or(MOST)));
                let mut old = AsPlanned::new(shift.schedule().clone());
                let mut decides = |line: &Line, state: &State, now: Time| match answer {
                    Answer::FirstCome => person.next(line, state, now),
                    _ => old.next(line, state, now),
                };
                let span = (self.upset.from, self.end);
                let history = shift.history().clone();
                let done = go_on(&self.site.line, history, &mut decides, crew, &self.upset.told(), span)
                    .map_err(|refusal| Bad(format!("seed {seed}: {refusal}")))?;
                for (at, why) in done.refused {
                    warn(&format!("seed {seed}, {} at {at}: {why}", answer.word()));
                }
                done.history
            }
        };
        Ok(Figures::of(&self.site.line, &history, &self.upset, chosen, self.end))
    }

    /// The shift goes on by the calls; what is said about the upset, about a way out and at its end is said in time.
    fn by_calls(
        &self,
        shift: &mut LiveShift,
        clock: &ManualClock,
        answer: Answer,
        chosen: &mut Chosen,
    ) -> Result<(), Bad> {
        let mut said = self.upset.said(&self.site.line);
        let looks_until = self.upset.until + LOOKS_FOR;
        let mut looks = (answer != Answer::Anew).then_some(self.upset.from);
        let mut back: Option<Time> = None;
        loop {
            let now = shift.now();
            said.sort_by_key(|(at, _)| *at);
            while said.first().is_some_and(|(at, _)| *at <= now) {
                let (_, command) = said.remove(0);
                tell(shift, &command)?;
            }
            if looks.is_some_and(|at| at <= now) {
                looks = Some(now + LOOKS_EVERY).filter(|t| *t <= looks_until);
                if self.choose(shift, chosen)? {
                    looks = None;
                    back = (answer == Answer::TakenBack).then_some(now + TAKEN_BACK);
                    said.extend(chosen.what.iter().flat_map(What::ends));
                }
            }
            if back.is_some_and(|at| at <= now) {
                back = None;
                take_back(shift, chosen)?;
            }
            let wakes = [said.first().map(|(at, _)| *at), looks, back, Some(self.end)];
            let next = wakes.into_iter().flatten().min().unwrap_or(self.end);
            if now >= self.end {
                return Ok(());
            }
            until(shift, clock, next.max(now + Dur(1)))?;
        }
    }

    /// Commits the best way out, if it is another one than changing nothing.
    fn choose(&self, shift: &mut LiveShift, chosen: &mut Chosen) -> Result<bool, Bad> {
        let now = shift.now();
        let line = &self.site.line;
        if trouble(line, shift.history(), now).is_none() {
            return Ok(false);
        }
        let ways = ways_out(line, shift.history(), now, &self.settings, TRIES, &mut || false);
        let Some(best) = ways.into_iter().next().filter(|w| w.what != What::Nothing) else {
            return Ok(false);
        };
        let known = shift.history().events().len();
        shift.submit_all(&best.commands, Who::Supervisor)?;
        let changes = shift.history().events()[known..].iter();
        chosen.changes =
            changes.filter(|s| matches!(s.event, Event::Changed { .. })).map(|s| s.seq).collect();
        chosen.words = best.what.words(shift.line(), &shift.state().book);
        chosen.what = Some(best.what);
        Ok(true)
    }
}

/// Says something; what can no longer be done needs no doing.
fn tell(shift: &mut LiveShift, command: &Command) -> Result<(), Problem> {
    match shift.submit(command, Who::Supervisor) {
        Err(Problem::Refused(_)) | Ok(()) => Ok(()),
        Err(fault) => Err(fault),
    }
}

fn take_back(shift: &mut LiveShift, chosen: &mut Chosen) -> Result<(), Problem> {
    chosen.kept = chosen.what.as_ref().map_or(0, What::taken_off);
    for seq in chosen.changes.clone().into_iter().rev() {
        match shift.submit(&Command::TakeBack { seq }, Who::Supervisor) {
            Ok(()) => chosen.taken_back += 1,
            Err(Problem::Refused(_)) => chosen.kept += 1,
            Err(fault) => return Err(fault),
        }
    }
    Ok(())
}

/// Lets the shift live until an instant, jumping from one thing that happens to the next.
fn until(shift: &mut LiveShift, clock: &ManualClock, end: Time) -> Result<(), Problem> {
    while shift.now() < end {
        let next = shift.next_wake().max(shift.now() + Dur(1)).min(end);
        clock.set(next);
        shift.tick()?;
    }
    Ok(())
}

fn mean(cases: &[Case], answer: usize, figure: impl Fn(&Figures) -> f64) -> f64 {
    cases.iter().map(|c| figure(&c.figures[answer])).sum::<f64>() / cases.len().max(1) as f64
}

/// A column: its head and its figure.
type Column = (&'static str, fn(&Figures) -> f64);

/// The figures of a row.
const FIGURES: [Column; 11] = [
    ("scrap", |f| f.loads[0] as f64),
    ("rework", |f| f.loads[1] as f64),
    ("shade", |f| f.loads[2] as f64),
    ("nuisance", |f| f.loads[3] as f64),
    ("given up", |f| f.given_up as f64),
    ("breaches", |f| f.breaches as f64),
    ("air s", |f| f.air.as_secs_f64()),
    ("late min", |f| f.late.as_secs_f64() / 60.0),
    ("finished", |f| f.finished as f64),
    ("good", |f| f.good as f64),
    ("changed", |f| f64::from(u8::from(f.chosen.what.is_some()))),
];

/// In how many cases one answer is better than, as good as and worse than another.
fn against(cases: &[&Case], one: Answer, other: Answer) -> [usize; 3] {
    let at = |a: Answer| ANSWERS.iter().position(|b| *b == a).unwrap_or(0);
    let mut counts = [0; 3];
    for case in cases {
        let order = case.figures[at(one)].rank().cmp(&case.figures[at(other)].rank());
        counts[(order as i8 + 1) as usize] += 1;
    }
    counts
}

fn rivals(cases: &[&Case]) -> Vec<(Answer, [usize; 3])> {
    let others = ANSWERS.into_iter().filter(|a| *a != Answer::WayOut);
    others.map(|other| (other, against(cases, Answer::WayOut, other))).collect()
}

fn kinds(cases: &[Case]) -> BTreeMap<&'static str, Vec<&Case>> {
    let mut kinds: BTreeMap<&'static str, Vec<&Case>> = BTreeMap::new();
    for case in cases {
        kinds.entry(case.upset.word()).or_default().push(case);
    }
    kinds
}

fn json(args: &Simulate, seeds: Seeds, cases: &[Case]) -> serde_json::Value {
    let rounded = |x: f64| (x * 1e4).round() / 1e4;
    let counts = |cases: &[&Case]| {
        let rivals = rivals(cases).into_iter();
        let counts = rivals.map(|(other, [better, equal, worse])| {
            serde_json::json!({ "against": other.word(), "better": better, "equal": equal, "worse": worse })
        });
        serde_json::Value::Array(counts.collect())
    };
    let rows = ANSWERS.iter().enumerate().map(|(k, answer)| {
        let mut row = serde_json::json!({ "answer": answer.word() });
        for (head, figure) in FIGURES {
            row[head.replace(' ', "_")] = rounded(mean(cases, k, figure)).into();
        }
        row
    });
    let by_kind = kinds(cases).into_iter().map(|(word, cases)| {
        serde_json::json!({ "upset": word, "shifts": cases.len(), "way_out": counts(&cases) })
    });
    let shifts = cases.iter().map(|c| {
        let figures = c.figures.iter().zip(ANSWERS).map(|(f, a)| f.json(a));
        serde_json::json!({
            "seed": c.seed,
            "upset": c.upset.word(),
            "from_s": (c.upset.from - Time::ZERO).as_secs_f64(),
            "lasts_s": (c.upset.until - c.upset.from).as_secs_f64(),
            "answers": figures.collect::<Vec<_>>(),
        })
    });
    serde_json::json!({
        "format": "dwellhand-upsets/1",
        "hours": args.hours,
        "crew": args.crew.word(),
        "reserve_s": worth::reserve(&args.planner.settings().reserve),
        "seeds": [seeds.first, seeds.last],
        "means": rows.collect::<Vec<_>>(),
        "way_out": counts(&cases.iter().collect::<Vec<_>>()),
        "by_upset": by_kind.collect::<Vec<_>>(),
        "shifts": shifts.collect::<Vec<_>>(),
    })
}

fn text(args: &Simulate, seeds: Seeds, cases: &[Case]) -> String {
    let mut text = String::new();
    let _ = writeln!(
        text,
        "Means of {} shifts of {} h, each upset once, seeds {}..{}, crew {}; counted from the upset on, finished from the opening",
        cases.len(),
        args.hours,
        seeds.first,
        seeds.last,
        args.crew.word(),
    );
    let _ = write!(text, "{:<12}", "answer");
    for (head, _) in FIGURES {
        let _ = write!(text, " {head:>WIDTH$}");
    }
    text.push('\n');
    for (k, answer) in ANSWERS.iter().enumerate() {
        let _ = write!(text, "{:<12}", answer.word());
        for (_, figure) in FIGURES {
            let _ = write!(text, " {:>WIDTH$.2}", mean(cases, k, figure));
        }
        text.push('\n');
    }
    text.push_str(
        "loads by the worst done to them; taken off counts as scrap, started again as rework; good: finished and not to be\n\
         done again; changed: in so many of the shifts a change was best; better means fewer lost, then fewer to be done\n\
         again, then fewer off shade, then more good\n",
    );
    for (word, cases) in kinds(cases).into_iter().chain([("all", cases.iter().collect())]) {
        let rivals = rivals(&cases)
            .into_iter()
            .map(|(other, [better, equal, worse])| format!("{} {better}/{equal}/{worse}", other.word()));
        let rivals: Vec<String> = rivals.collect();
        let _ =
            writeln!(text, "{word} ({}): way out better/equal/worse than {}", cases.len(), rivals.join(", "));
    }
    let back = cases.iter().filter_map(|c| c.figures.last());
    let (back, kept) = back.fold((0, 0), |(b, k), f| (b + f.chosen.taken_back, k + f.chosen.kept));
    let _ = writeln!(text, "taken back after ten minutes: {back} changes; {kept} could not be any more");
    text
}
