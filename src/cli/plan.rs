//! `plan`: the whole morning from an empty line.

use std::fmt::Write as _;
use std::num::NonZero;
use std::thread;

use super::args::{Budget, Plan, Planner};
use super::{Bad, Outcome, inputs, say, say_json, worth};
use crate::civil::Opening;
use crate::clock::steady_now;
use crate::files;
use crate::line::Line;
use crate::plan::{self, Objective, Reserve, Settings};
use crate::schedule::Schedule;
use crate::shift::State;
use crate::units::{Dur, Time, many};
use crate::whatif;

/// Takes up a pace.
fn learned(line: &Line, state: &mut State, pace: crate::shift::Pace) {
    use crate::ids::Seq;
    use crate::shift::{Event, Stamped, Who, apply};
    let event = Event::PaceLearned { pace };
    let (seq, at, by) = (Seq(2), Time::ZERO, Who::Program);
    apply(state, line, &Stamped { seq, at, entered: at, by, event });
}

impl Planner {
    /// The planner's settings.
    pub fn settings(self) -> Settings {
        Settings { reserve: self.reserve, seed: self.seed, ..Settings::default() }
    }
}

pub fn plan(args: &Plan) -> Result<Outcome, Bad> {
    let texts = inputs::texts(&args.files)?;
    let (line, orders) = inputs::build(&texts, None, &mut |w| warn(w))?;
    let mut state = State::opened(&line, orders.book);
    let mut settings = args.planner.settings();
    if let Some(path) = &args.pace {
        let pace = super::pace::of(path, &line)?;
        settings.reserve = settings.reserve.learned(Some(&pace));
        learned(&line, &mut state, pace);
    }
    if args.reserve_cost {
        return reserve_cost(args, &line, &state, &orders.opening);
    }
    let schedule = made(&line, &state, &settings, args.budget);
    let breaches = crate::verify::verify(&line, &state, &schedule);
    let left = state.carriers.ids().filter(|c| schedule.of(*c).next().is_none()).count();
    let worth = Objective::of(&line, &state, &schedule, &[]);
    let tries = plan::price_tries(state.carriers.len());
    let mut tries = plan::Budget { tries, stop: &mut || false };
    let instead = plan::instead(&line, &state, &schedule, Time::ZERO, &settings, &mut tries);
    let instead = instead.map(|i| i.words(&line, &state.book));
    if args.json {
        let mut file = files::write_plan(&line, &state.book, &schedule);
        file["worth"] = worth::json(&worth);
        if let Some(instead) = instead {
            file["instead"] = instead.into();
        }
        say_json(&file)?;
    } else {
        let mut text = format!("plan {}\n", texts.whose());
        text.push_str(&table(&line, &state, &schedule, &orders.opening));
        text.push_str(&worth::text(&worth, &orders.opening));
        if let Some(instead) = instead {
            let _ = writeln!(text, "instead of the first move: {instead}");
        }
        say(&text)?;
    }
    for breach in &breaches {
        warn(&breach.to_string());
    }
    if left > 0 {
        let stay = if left == 1 { "stays" } else { "stay" };
        warn(&format!("{} {stay} in the queue", many(left, "carrier")));
    }
    Ok(if breaches.is_empty() && left == 0 { Outcome::Fine } else { Outcome::No })
}

/// Reserves that are compared, in seconds, longest first.
const RESERVES: [i64; 5] = [20, 15, 10, 5, 0];

/// What reserves cost: the whole plan with each.
fn reserve_cost(args: &Plan, line: &Line, state: &State, opening: &Opening) -> Result<Outcome, Bad> {
    let carriers = state.carriers.len();
    let mut before: Option<Schedule> = None;
    let mut rows = RESERVES.map(|seconds| {
        let reserve = Reserve::all(Dur::from_secs(seconds));
        let settings = Settings { reserve, ..args.planner.settings() };
        let worth = |schedule: &Schedule| Objective::of(line, state, schedule, &[]);
        // An order that holds with a longer reserve holds with this one.
        let eased = before.take().and_then(|b| plan::follow(line, state, &b, Time::ZERO, &settings));
        let own = made(line, state, &settings, args.budget);
        let both = std::iter::once(own).chain(eased);
        let best = both.min_by_key(|s| (worth(s).left, worth(s).finish)).unwrap_or_default();
        let worth = worth(&best);
        before = Some(best);
        let hours = (worth.finish - Time::ZERO).as_secs_f64() / 3600.0;
        (seconds, worth, (carriers - worth.left) as f64 / hours.max(1e-3))
    });
    rows.reverse();
    if args.json {
        let row = |(seconds, worth, rate): &(i64, Objective, f64)| {
            let (finish, rate) = ((worth.finish - Time::ZERO).as_secs_f64(), (rate * 1e3).round() / 1e3);
            let left = worth.left;
            serde_json::json!({ "reserve_s": seconds, "finish_s": finish, "carriers_per_hour": rate, "left_behind": left })
        };
        let rows: Vec<_> = rows.iter().map(row).collect();
        return say_json(&serde_json::json!({ "format": "dwellhand-reserve-cost/1", "rows": rows }));
    }
    let mut text = String::from("reserve  last carrier out  carriers an hour  left behind\n");
    for (seconds, worth, rate) in rows {
        let finish = opening.clock(worth.finish);
        let _ = writeln!(text, "{seconds:>5} s  {finish:>16}  {rate:>16.2}  {:>11}", worth.left);
    }
    say(&text)
}

/// The first answer, made better for as long as the budget goes: counted tries by one search, so that they give the same
/// plan everywhere; a time by as many as the machine has cores.
fn made(line: &Line, state: &State, settings: &Settings, budget: Budget) -> Schedule {
    let began = steady_now();
    let first = plan::plan(line, state, Time::ZERO, settings);
    match budget {
        Budget::Tries(tries) => {
            let mut budget = plan::Budget { tries, stop: &mut || false };
            plan::improve(line, state, &first, settings, 0, &mut budget).unwrap_or(first)
        }
        Budget::Time(lasting) => {
            let over = || began.elapsed() >= lasting;
            together(line, state, first, settings, &over)
        }
    }
}

/// The best of as many searches as there are cores, each with a seed of its own, that go on together.
fn together(
    line: &Line,
    state: &State,
    first: Schedule,
    settings: &Settings,
    over: &(dyn Fn() -> bool + Sync),
) -> Schedule {
    let cores = thread::available_parallelism().map_or(1, NonZero::get);
    let team = plan::Team::default();
    let search = |n: usize| {
        let seed = settings.seed.wrapping_add(n as u64);
        let mut budget = plan::Budget { tries: u64::MAX, stop: &mut || over() };
        plan::improve_with(&team, line, state, &first, &Settings { seed, ..*settings }, &mut budget)
    };
    let search = &search;
    let found: Vec<Schedule> = thread::scope(|scope| {
        let running: Vec<_> = (0..cores).map(|n| scope.spawn(move || search(n))).collect();
        // One that broke down has said so, and the others have a plan.
        running.into_iter().filter_map(|search| search.join().ok().flatten()).collect()
    });
    found.into_iter().fold(
        first,
        |best, found| {
            if whatif::is_better(line, state, &found, &best) { found } else { best }
        },
    )
}

/// Says something beside the answer.
pub fn warn(text: &str) {
    use std::io::Write as _;
    let _ = writeln!(std::io::stderr(), "{}", crate::plain::lines(text));
}

fn table(line: &Line, state: &State, schedule: &Schedule, opening: &Opening) -> String {
    let book = &state.book;
    let several = line.hoists.len() > 1;
    let mut text = String::from("start     carrier  ");
    text.push_str(if several { "crane     " } else { "" });
    text.push_str("from   to     for\n");
    for m in &schedule.moves {
        let crane = if several { format!("{:<8}  ", line.hoists[m.hoist].name) } else { String::new() };
        let spec = &book.carriers[m.carrier];
        let purpose = purpose(line, spec.recipe, m.visit);
        let (from, to) = (&line.tanks[m.from].name, &line.tanks[m.to].name);
        let _ = writeln!(
            text,
            "{}  {:<7}  {crane}{from:<5}  {to:<5}  {purpose}",
            opening.clock(m.start),
            spec.name
        );
    }
    let end = schedule
        .moves
        .iter()
        .filter_map(|m| Some(m.start + m.phases(line, book)?.total()))
        .max()
        .unwrap_or(Time::ZERO);
    let _ = writeln!(text, "{}, finished at {}", many(schedule.moves.len(), "move"), opening.clock(end));
    text
}

fn purpose(line: &Line, recipe: crate::ids::RecipeId, visit: crate::line::Visit) -> String {
    use crate::line::Visit;
    match visit {
        Visit::Step(n) => line.stages[line.step(recipe, n).stage].label.clone(),
        Visit::Hold(n) => line
            .step(recipe, n)
            .hold
            .as_ref()
            .map_or_else(String::new, |h| line.stages[h.stage].label.clone()),
        Visit::Load => "put back".to_owned(),
        Visit::Unload => "unload".to_owned(),
        Visit::Stray { .. } => "stray".to_owned(),
    }
}
