//! `simulate`: a shift without a screen, as fast as the machine allows.

use std::fmt::Write as _;
use std::path::Path;
use std::sync::Arc;

use super::args::{CrewKind, Simulate};
use super::{Bad, Outcome as Exit, inputs, plan::warn, say, say_json, verify};
use crate::civil::Opening;
use crate::clock::ManualClock;
use crate::line::{Harm, Line, OrderBook};
use crate::live::{LiveShift, NewShift, Problem};
use crate::plan::Settings;
use crate::shift::{Command, Who};
use crate::sim::{Crew, Outcome, Pace};
use crate::units::{Dur, Time};

impl CrewKind {
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
    let clock = ManualClock::default();
    let settings = args.planner.settings();
    let line = Arc::new(line);
    let mut shift = begin(args.out.as_deref(), &texts, &line, orders.book, orders.opening, &clock, settings)?;
    shift.set_hands(Box::new(Crew::new(args.crew.pace(), args.planner.seed)));
    let end = Time::ZERO + Dur::from_secs_f64(args.hours * 3600.0);
    run_until(&mut shift, &clock, end)?;
    for notice in shift.take_notices() {
        warn(&notice.to_string());
    }
    let outcome = Outcome::of(&line, shift.history(), end);
    if args.json {
        say_json(&json(args, &outcome, shift.history().events().len()))?;
    } else {
        say(&text(&outcome))?;
    }
    Ok(if outcome.breaches.is_empty() { Exit::Fine } else { Exit::No })
}

fn begin(
    out: Option<&Path>,
    texts: &inputs::Texts,
    line: &Arc<Line>,
    book: OrderBook,
    opening: Opening,
    clock: &ManualClock,
    settings: Settings,
) -> Result<LiveShift, Problem> {
    let Some(path) = out else {
        let mut shift = LiveShift::in_memory(Arc::clone(line), opening, Box::new(clock.clone()), settings);
        shift.submit(&Command::Open { book }, Who::Supervisor)?;
        return Ok(shift);
    };
    let new = NewShift {
        texts: texts.stored(),
        opening,
        zone: opening.zone(),
        book,
        settings,
        practice: true,
        speed: 1.0,
    };
    LiveShift::create(path, Arc::clone(line), new, Box::new(clock.clone()))
}

/// Lets the shift live until `end`, jumping from one thing that happens to the next.
fn run_until(shift: &mut LiveShift, clock: &ManualClock, end: Time) -> Result<(), Problem> {
    loop {
        let now = shift.now();
        // Time must go on even if the shift would like to be looked at again at once.
        let wake = shift.next_wake().max(now + Dur(1));
        if wake > end {
            clock.set(end);
            return shift.tick().map(|_| ());
        }
        clock.set(wake);
        shift.tick()?;
    }
}

fn json(args: &Simulate, o: &Outcome, events: usize) -> serde_json::Value {
    let tally = o.tally();
    serde_json::json!({
        "format": "dwellhand-simulation/1",
        "seed": args.planner.seed,
        "hours": args.hours,
        "crew": match args.crew { CrewKind::Simulated => "simulated", CrewKind::Punctual => "punctual" },
        "reserve_s": args.planner.reserve,
        "carriers": { "finished": o.finished, "on_line": o.on_line, "queued": o.queued },
        "moves": o.moves,
        "hoist_use": (o.hoist_use * 1e4).round() / 1e4,
        "alarms": o.alarms,
        "events": events,
        "breaches_by_harm": {
            "scrap": tally.count(Harm::Scrap),
            "rework": tally.count(Harm::Rework),
            "shade": tally.count(Harm::Shade),
            "nuisance": tally.count(Harm::Nuisance),
        },
        "breaches": o.breaches.iter().map(verify::json).collect::<Vec<_>>(),
        "finishes_s": o.finishes.iter()
            .map(|(name, at)| serde_json::json!({ "carrier": name, "at_s": at.0 as f64 / 1000.0 }))
            .collect::<Vec<_>>(),
        "late_s": o.late.iter()
            .map(|(name, by)| serde_json::json!({ "carrier": name, "by_s": by.as_secs_f64() }))
            .collect::<Vec<_>>(),
    })
}

fn text(o: &Outcome) -> String {
    let mut text = String::new();
    let _ = writeln!(
        text,
        "{} carriers finished, {} on the line, {} in the queue after {}",
        o.finished, o.on_line, o.queued, o.lasted
    );
    let _ = writeln!(
        text,
        "{} moves, hoist loaded {:.0} % of the time, {} alarms",
        o.moves,
        o.hoist_use * 100.0,
        o.alarms
    );
    for (name, by) in &o.late {
        let _ = writeln!(text, "{name} finished {by} after its promise");
    }
    for b in &o.breaches {
        let _ = writeln!(text, "{b}");
    }
    let n = o.breaches.len();
    let _ = writeln!(text, "{n} breach{}", if n == 1 { "" } else { "es" });
    text
}
