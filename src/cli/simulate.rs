//! `simulate`: a shift without a screen, as fast as the machine allows.

use std::fmt::Write as _;
use std::path::Path;
use std::sync::Arc;

use super::args::{CrewKind, Policy, Simulate, TroubleKind};
use super::{Bad, Outcome as Exit, compare, inputs, pace, plan::warn, say, say_json, upsets, verify, worth};
use crate::clock::ManualClock;
use crate::files::Orders;
use crate::line::{Harm, Line};
use crate::live::{Improving, LiveShift, NewShift, Problem};
use crate::plan::Settings;
use crate::shift::{Command, History, Place, Who};
use crate::sim::{Crew, Outcome, Pace, Person, Rule as PersonRule, Trouble, Troubles, by_rule, exposure};
use crate::units::{Dur, Time, many};
use crate::verify::{Breach, Rule};

impl Policy {
    /// The simple rule; `None` for the calls.
    pub fn rule(self) -> Option<PersonRule> {
        match self {
            Self::Calls => None,
            Self::FirstDue => Some(PersonRule::FirstDue),
            Self::FirstCome => Some(PersonRule::FirstCome),
            Self::Nearest => Some(PersonRule::Nearest),
        }
    }

    /// Its name, as it is typed.
    pub fn word(self) -> &'static str {
        match self {
            Self::Calls => "calls",
            Self::FirstDue => "first-due",
            Self::FirstCome => "first-come",
            Self::Nearest => "nearest",
        }
    }
}

impl TroubleKind {
    /// What goes wrong.
    pub fn trouble(self) -> Trouble {
        match self {
            Self::None => Trouble::None,
            Self::Ordinary => Trouble::Ordinary,
            Self::Rough => Trouble::Rough,
        }
    }

    /// Its name, as it is typed.
    pub fn word(self) -> &'static str {
        match self {
            Self::None => "none",
            Self::Ordinary => "ordinary",
            Self::Rough => "rough",
        }
    }
}

impl CrewKind {
    /// Its name, for `--json`.
    pub fn word(self) -> &'static str {
        match self {
            Self::Simulated => "simulated",
            Self::Punctual => "punctual",
        }
    }

    /// How this crew works.
    pub fn pace(self) -> Pace {
        match self {
            Self::Simulated => Pace::HUMAN,
            Self::Punctual => Pace::PUNCTUAL,
        }
    }
}

pub fn simulate(args: &Simulate) -> Result<Exit, Bad> {
    let texts = inputs::texts(&args.files)?;
    let (line, orders) = inputs::build(&texts, None, &mut |w| warn(w))?;
    let site = Site { line: Arc::new(line), orders, texts };
    if args.upsets {
        return upsets::upsets(args, &site);
    }
    if args.compare || args.seeds.is_some() || args.runs.is_some() {
        return compare::compare(args, &site);
    }
    let run = {
        let most = args.most.unwrap_or(MOST);
        run(args, &site, Under { policy: args.policy, most, seed: args.planner.seed })?
    };
    for said in &run.told.said {
        warn(said);
    }
    if args.json {
        say_json(&json(args, &site.line, &run))?;
    } else {
        say(&text(&run))?;
    }
    Ok(if run.outcome.breaches.is_empty() { Exit::Fine } else { Exit::No })
}

/// Carriers a simple rule allows on the line if nothing is said.
const MOST: u16 = 5;

/// Where shifts are run: everything that is the same for all of them.
pub struct Site {
    pub line: Arc<Line>,
    pub orders: Orders,
    pub texts: inputs::Texts,
}

/// One shift that was run.
pub struct Run {
    pub outcome: Outcome,
    /// Events in its history.
    pub events: usize,
    pub told: Told,
    pub troubles: Troubles,
    /// What crane stops break on average with so many carriers finished, whoever decides: see [`exposure`].
    pub least_in_stops: f64,
}

impl Run {
    fn of(site: &Site, history: &History, troubles: Troubles, told: Told, end: Time) -> Self {
        let outcome = Outcome::of(&site.line, history, end);
        let finished = history.state().carriers.iter().filter_map(|(carrier, c)| {
            let out = matches!(c.place, Place::Finished { .. });
            out.then(|| history.state().book.carriers[carrier].recipe)
        });
        let least_in_stops = exposure::least_broken(&site.line, &troubles, end - Time::ZERO, finished);
        Self { outcome, events: history.events().len(), told, troubles, least_in_stops }
    }

    /// True if a window closed while the crane stood still, or the crane stood still for as long as a load was too long
    /// in the air: nobody could help it then.
    pub fn in_stop(&self, breach: &Breach) -> bool {
        match breach.rule {
            Rule::Over => self.troubles.stopped_at(breach.at),
            Rule::Air => self.troubles.stopped_for(breach.at - AIR, breach.at + breach.by) >= breach.by,
            _ => false,
        }
    }
}

/// What people were told beside the calls.
pub struct Told {
    pub said: Vec<String>,
    /// How much of that was refused or went wrong in the program.
    pub refused: usize,
}

/// No air limit that a stop is asked about is longer.
const AIR: Dur = Dur::from_secs(60);

/// What one shift is run under.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Under {
    pub policy: Policy,
    /// Carriers a simple rule allows on the line at once.
    pub most: u16,
    pub seed: u64,
}

/// Runs one shift.
pub fn run(args: &Simulate, site: &Site, under: Under) -> Result<Run, Bad> {
    let Under { policy, most, seed } = under;
    let lasting = Dur::from_secs_f64(args.hours * 3600.0);
    let end = Time::ZERO + lasting;
    let troubles = Troubles::draw(&site.line, args.trouble.trouble(), seed, lasting);
    let pace = args.crew.pace();
    let pace = Pace { slower: pace.slower * (1.0 + args.slower / 100.0), ..pace };
    let crew = Crew::new(pace, seed).with_stops(&troubles.stops);
    let Some(rule) = policy.rule() else {
        let clock = ManualClock::default();
        let settings = Settings { seed, ..args.planner.settings() };
        let mut shift = begin(args.out.as_deref(), site, &clock, settings)?;
        if let Some(path) = &args.pace {
            let pace = pace::of(path, &site.line)?;
            shift.submit(&Command::LearnPace { pace }, Who::Program)?;
        }
        if args.learn {
            shift.set_learning();
        }
        shift.set_improving(Improving::AtOnce { tries: args.budget })?;
        shift.set_hands(Box::new(crew));
        run_until(&mut shift, &clock, &troubles, end)?;
        let notices = shift.take_notices();
        let refused = notices.iter().filter(|n| n.is_refusal()).count();
        let said = notices.iter().map(ToString::to_string).collect();
        return Ok(Run::of(site, shift.history(), troubles, Told { said, refused }, end));
    };
    if args.out.is_some() {
        return Err(Bad("--out goes with --policy calls: a rule's shift has no plans to keep".to_owned()));
    }
    let person = Person::new(rule, usize::from(most));
    let done = by_rule(&site.line, site.orders.book.clone(), person, crew, &troubles, end)
        .map_err(|refusal| Bad(refusal.to_string()))?;
    let said: Vec<String> =
        done.refused.iter().map(|(at, why)| format!("{at}: the crew could not go on: {why}")).collect();
    let refused = said.len();
    Ok(Run::of(site, &done.history, troubles, Told { said, refused }, end))
}

/// A shift that has just been opened.
pub fn begin(
    out: Option<&Path>,
    site: &Site,
    clock: &ManualClock,
    settings: Settings,
) -> Result<LiveShift, Problem> {
    let (line, opening, book) = (Arc::clone(&site.line), site.orders.opening, site.orders.book.clone());
    let Some(path) = out else {
        let mut shift = LiveShift::in_memory(line, opening, Box::new(clock.clone()), settings);
        shift.submit(&Command::Open { book }, Who::Supervisor)?;
        return Ok(shift);
    };
    let new = NewShift {
        texts: site.texts.stored(),
        opening,
        zone: opening.zone(),
        book,
        settings,
        practice: true,
        speed: 1.0,
    };
    LiveShift::create(path, line, new, Box::new(clock.clone()))
}

/// Lets the shift live until `end`, jumping from one thing that happens to the next.
pub fn run_until(
    shift: &mut LiveShift,
    clock: &ManualClock,
    troubles: &Troubles,
    end: Time,
) -> Result<(), Problem> {
    let mut outs = troubles.outs.iter().peekable();
    loop {
        let now = shift.now();
        while let Some(out) = outs.next_if(|o| o.from <= now) {
            let (until, why) = (Some(out.until), String::new());
            shift.submit(&Command::TankOut { tank: out.tank, until, why }, Who::Supervisor)?;
        }
        // Time must go on even if the shift would like to be looked at again at once.
        let mut wake = shift.next_wake().max(now + Dur(1));
        if let Some(out) = outs.peek() {
            wake = wake.min(out.from);
        }
        if wake > end {
            clock.set(end);
            return shift.tick().map(|_| ());
        }
        clock.set(wake);
        shift.tick()?;
    }
}

fn seconds(t: Time) -> f64 {
    t.0 as f64 / 1000.0
}

fn breach_json(run: &Run, breach: &Breach) -> serde_json::Value {
    let mut json = verify::json(breach);
    json["in_stop"] = run.in_stop(breach).into();
    json
}

fn json(args: &Simulate, line: &Line, run: &Run) -> serde_json::Value {
    let o = &run.outcome;
    let tally = o.tally();
    serde_json::json!({
        "format": "dwellhand-simulation/1",
        "seed": args.planner.seed,
        "hours": args.hours,
        "crew": args.crew.word(),
        "policy": args.policy.word(),
        "trouble": args.trouble.word(),
        "reserve_s": worth::reserve(&args.planner.settings().reserve),
        "carriers": { "finished": o.finished, "on_line": o.on_line, "queued": o.queued },
        "moves": o.moves,
        "hoist_use": (o.hoist_use * 1e4).round() / 1e4,
        "air_excess_s": o.air_excess.as_secs_f64(),
        "alarms": o.alarms,
        "events": run.events,
        "breaches_by_harm": {
            "scrap": tally.count(Harm::Scrap),
            "rework": tally.count(Harm::Rework),
            "shade": tally.count(Harm::Shade),
            "nuisance": tally.count(Harm::Nuisance),
        },
        "breaches": o.breaches.iter().map(|b| breach_json(run, b)).collect::<Vec<_>>(),
        "breaches_in_stops": o.breaches.iter().filter(|b| run.in_stop(b)).count(),
        "least_in_stops": (run.least_in_stops * 1e4).round() / 1e4,
        "crane_stops": run.troubles.stops.iter()
            .map(|s| serde_json::json!({ "from_s": seconds(s.from), "until_s": seconds(s.until) }))
            .collect::<Vec<_>>(),
        "tanks_out": run.troubles.outs.iter()
            .map(|o| serde_json::json!({
                "tank": line.tanks[o.tank].name,
                "from_s": seconds(o.from),
                "until_s": seconds(o.until),
            }))
            .collect::<Vec<_>>(),
        "finishes_s": o.finishes.iter()
            .map(|(name, at)| serde_json::json!({ "carrier": name, "at_s": at.0 as f64 / 1000.0 }))
            .collect::<Vec<_>>(),
        "late_s": o.late.iter()
            .map(|(name, by)| serde_json::json!({ "carrier": name, "by_s": by.as_secs_f64() }))
            .collect::<Vec<_>>(),
    })
}

fn text(run: &Run) -> String {
    let o = &run.outcome;
    let mut text = String::new();
    let _ = writeln!(
        text,
        "{} finished, {} on the line, {} in the queue after {}",
        many(o.finished, "carrier"),
        o.on_line,
        o.queued,
        o.lasted
    );
    let _ = writeln!(
        text,
        "{}, a load hung {:.0} % of the time, {}",
        many(o.moves, "move"),
        o.hoist_use * 100.0,
        many(o.alarms, "alarm")
    );
    for (name, by) in &o.late {
        let _ = writeln!(text, "{name} finished {by} after its promise");
    }
    for b in &o.breaches {
        let meanwhile = if run.in_stop(b) { ", while the crane stood still" } else { "" };
        let _ = writeln!(text, "{b}{meanwhile}");
    }
    let n = o.breaches.len();
    let _ = writeln!(text, "{n} breach{}", if n == 1 { "" } else { "es" });
    text
}
