//! `rhythm`: the shortest 1-degree cycle of one recipe, with its proof and what would change it.

use std::fmt::Write as _;

use serde_json::{Value, json};

use super::args::{Files, Rhythm as Args};
use super::plan::warn;
use super::{Bad, Outcome, inputs, say, say_json};
use crate::clock::steady_now;
use crate::files;
use crate::ids::{Arena, CarrierId, HoistId, Id as _, OrderId, RecipeId};
use crate::line::{CarrierSpec, EntrySide, Line, Order, OrderBook, Priority, Rack, Visit};
use crate::plan::rhythm::{self, Ask, Binding, Case, NoRhythm, Proof, Rhythm, What};
use crate::shift::State;
use crate::units::{Dur, Time, many};
use crate::verify::cyclic::Repeated;

pub fn rhythm(args: &Args) -> Result<Outcome, Bad> {
    let line = line(args)?;
    let ask = Ask {
        recipe: recipe(&line, args.recipe.as_deref())?,
        hoist: hoist(&line, args.hoist.as_deref())?,
        reserve: Dur::from_secs_f64(args.reserve),
        nodes: args.nodes,
    };
    let began = steady_now();
    let answer = rhythm::rhythm(&line, &ask);
    let took = began.elapsed();
    match answer {
        Ok(found) => {
            let judged = judge(&line, &found)?;
            let cases = rhythm::what_if(&line, &found);
            if args.json {
                let mut file = as_json(&line, &found, &cases, judged);
                file["took_ms"] = (took.as_secs_f64() * 1e3).into();
                say_json(&file)
            } else {
                let mut text = as_text(&line, &found, &cases, judged);
                let _ = writeln!(text, "\nfound in {:.1} ms", took.as_secs_f64() * 1e3);
                say(&text)
            }
        }
        Err(no) => {
            let why = words_for(&line, ask.recipe, &no);
            if args.json {
                say_json(&json!({ "recipe": line.recipes[ask.recipe].name, "period_ms": null, "why": why }))?;
            } else {
                warn(&format!("{} has no rhythm: {why}", line.recipes[ask.recipe].name));
            }
            Ok(Outcome::No)
        }
    }
}

fn line(args: &Args) -> Result<Line, Bad> {
    let mut texts = inputs::texts(&Files::default())?;
    if let (Some(line), Some(recipes)) = (&args.line, &args.recipes) {
        texts.line = inputs::read(line)?;
        texts.recipes = inputs::read(recipes)?;
    }
    let all = [&texts.line, &texts.recipes];
    let read = files::read_line(texts.line.source(), texts.recipes.source())
        .map_err(|found| Bad(inputs::listed(&found, &all)))?;
    if let Some(path) = &args.orders {
        let orders = inputs::read(path)?;
        files::read_orders(orders.source(), &read.value, None)
            .map_err(|found| Bad(inputs::listed(&found, &[&orders])))?;
    }
    if !read.warnings.is_empty() {
        warn(&inputs::listed(&read.warnings, &all));
    }
    Ok(read.value)
}

fn recipe(line: &Line, name: Option<&str>) -> Result<RecipeId, Bad> {
    let Some(name) = name else { return Ok(RecipeId::at(0)) };
    line.recipes.find(|r| r.name == name).ok_or_else(|| {
        let names: Vec<&str> = line.recipes.iter().map(|(_, r)| r.name.as_str()).collect();
        Bad(format!("no recipe {name}; there are {}", names.join(", ")))
    })
}

fn hoist(line: &Line, name: Option<&str>) -> Result<Option<HoistId>, Bad> {
    let Some(name) = name else { return Ok(None) };
    line.hoists.find(|h| h.name == name).map(Some).ok_or_else(|| {
        let names: Vec<&str> = line.hoists.iter().map(|(_, h)| h.name.as_str()).collect();
        Bad(format!("no hoist {name}; there are {}", names.join(", ")))
    })
}

/// Runs the rhythm for enough carriers to fill the line twice, and lets the verifier judge it: what it rejects is never shown.
/// Gives the number of carriers.
fn judge(line: &Line, found: &Rhythm) -> Result<usize, Bad> {
    let moves = rhythm::unroll(found, found.round, Time::ZERO);
    let cycle = Repeated { period: found.period, round: found.round, moves };
    let carriers = cycle.carriers(line).max(4);
    let state = State::opened(line, bare_book(found.ask.recipe, carriers));
    // All tanks warm, and every hoist come from where it stands at the opening.
    let warm = line.tanks.iter().map(|(_, t)| t.ready_after).max().unwrap_or_default();
    let ways = line
        .hoists
        .iter()
        .flat_map(|(id, h)| line.tanks.ids().filter_map(move |t| line.empty_travel(id, h.home, t)));
    let begin = warm + ways.max().unwrap_or_default() * 2 + Dur::from_mins(10);
    let mut line = line.clone();
    line.tanks = line
        .tanks
        .iter()
        .map(|(_, t)| crate::line::Tank { out_after: Dur::UNLIMITED, ..t.clone() })
        .collect();
    let breaches = cycle.judge(&line, &state, begin);
    match breaches.first() {
        None => Ok(carriers),
        Some(first) => Err(Bad(format!(
            "the rhythm found fails the verifier ({} breaches; the first: {first}). This is an error in the program",
            breaches.len()
        ))),
    }
}

/// Carriers of one order that are ready at once and draw no current.
fn bare_book(recipe: RecipeId, carriers: usize) -> OrderBook {
    let order = Order {
        name: "rhythm".to_owned(),
        label: String::new(),
        parts: 0,
        recipe,
        priority: Priority::Normal,
        due: None,
        ready: Time::ZERO,
        toleranced: false,
        entry: EntrySide::Any,
    };
    let spec = |k: usize| CarrierSpec {
        name: format!("C{}", k + 1),
        order: OrderId::at(0),
        recipe,
        parts: 0,
        area_dm2: 0.0,
        rack: Rack::Titanium,
        rack_name: None,
        height: None,
        ready: Time::ZERO,
    };
    let carriers: Arena<CarrierId, CarrierSpec> = (0..carriers).map(spec).collect();
    OrderBook { orders: Arena::new(vec![order]), carriers, racks: Vec::new() }
}

/// A visit in words.
fn place(line: &Line, recipe: RecipeId, visit: Visit) -> String {
    match visit {
        Visit::Load => "Load".to_owned(),
        Visit::Unload => "Unload".to_owned(),
        Visit::Step(n) | Visit::Hold(n) => line.stages[line.step(recipe, n).stage].label.clone(),
        Visit::Stray { .. } => "stray".to_owned(),
    }
}

fn names(line: &Line, found: &Rhythm, visit: Visit) -> String {
    let stop = found.stops.iter().find(|s| s.visit == visit);
    let names =
        stop.map_or_else(Vec::new, |s| s.tanks.iter().map(|t| line.tanks[*t].name.as_str()).collect());
    names.join(" ")
}

fn binding_words(line: &Line, found: &Rhythm, binding: Binding) -> String {
    let named = |v| format!("{} ({})", place(line, found.ask.recipe, v), names(line, found, v));
    match binding {
        Binding::Crane => "the crane's moves".to_owned(),
        Binding::Rail => "the hoists being in each other's way".to_owned(),
        Binding::Soak(v) => format!("the shortest soak in {}", named(v)),
        Binding::Window(v) => format!("the longest soak in {}", named(v)),
    }
}

/// Seconds with as many decimals as there are, and minutes where that reads better.
fn figure(d: Dur) -> String {
    let s = d.as_secs_f64();
    if d.0.abs() < 60_000 { format!("{s} s") } else { format!("{s} s ({d})") }
}

fn words_for(line: &Line, recipe: RecipeId, no: &NoRhythm) -> String {
    let name = |t| &line.tanks[t].name;
    match no {
        NoRhythm::NoWay { from, to } => {
            format!(
                "the hoist cannot move from {} to {}, or its table does not say how long it takes",
                name(*from),
                name(*to)
            )
        }
        NoRhythm::OutOfReach { visit } => {
            format!("the hoist reaches no tank for {}", place(line, recipe, *visit))
        }
        NoRhythm::Air { leaving, from, to, by } => format!(
            "leaving {} is out of liquid {} too long from {} to {}",
            place(line, recipe, *leaving),
            figure(*by),
            name(*from),
            name(*to)
        ),
        NoRhythm::Window { treatment, by } => {
            format!(
                "the window of {} is {} too short for the hoist",
                place(line, recipe, *treatment),
                figure(*by)
            )
        }
        NoRhythm::Effort => "not found with the effort allowed".to_owned(),
    }
}

fn what_words(line: &Line, found: &Rhythm, what: What) -> String {
    match what {
        What::Tank(stage) => format!("one tank more: {}", line.stages[stage].label),
        What::Hoist if found.ask.hoist.is_some() && line.hoists.len() > 1 => "all hoists together".to_owned(),
        What::Hoist => "one hoist more, like the last".to_owned(),
        What::Faster(by) => format!("crane travel {by} % faster"),
        What::Slower(by) => format!("every loaded move {} longer", figure(by)),
        What::Reserve(d) if d == Dur::ZERO => "no reserve".to_owned(),
        What::Reserve(by) => format!("{} reserve", figure(by)),
    }
}

fn proven(proof: &Proof) -> String {
    if proof.optimal {
        format!("proven shortest ({} nodes)", proof.nodes)
    } else {
        format!("best found in {} nodes; none is shorter than {}", proof.nodes, figure(proof.bound))
    }
}

fn per_hour(period: Dur) -> f64 {
    3600.0 / period.as_secs_f64()
}

fn as_text(line: &Line, found: &Rhythm, cases: &[Case], judged: usize) -> String {
    let recipe = found.ask.recipe;
    let mut text = String::new();
    let share = |d: Dur| 100.0 * d.as_secs_f64() / found.period.as_secs_f64();
    let _ = writeln!(text, "{}: one carrier every {}", line.recipes[recipe].name, figure(found.period));
    let _ = writeln!(
        text,
        "  {}; {} in it judged: every rule is kept",
        proven(&found.proof),
        many(judged, "carrier")
    );
    let _ = writeln!(
        text,
        "  {:.2} carriers an hour, {:.2} on the line on average",
        found.per_hour(),
        found.carriers()
    );
    let binds: Vec<String> = found.binding.iter().map(|b| binding_words(line, found, *b)).collect();
    let _ = writeln!(text, "  binds: {}", binds.join(", "));
    for crane in &found.cranes {
        let _ = writeln!(
            text,
            "  {}: {:.1} % loaded, {:.1} % empty, {:.1} % idle; no period below {} with its work",
            line.hoists[crane.hoist].name,
            share(crane.loaded),
            share(crane.empty),
            share(crane.idle),
            figure(crane.bound)
        );
    }
    let _ = writeln!(text, "  reserve {} a loaded move", figure(found.ask.reserve));
    steps_text(line, found, &mut text);
    text.push_str("what if\n");
    for case in cases {
        let what = what_words(line, found, case.what);
        let _ = match &case.period {
            Ok((period, proof)) => {
                let mark = if proof.optimal { "" } else { " (not proven)" };
                let (a, b) = (figure(*period), per_hour(*period));
                writeln!(text, "  {what:<44} {a}, {b:.2} an hour ({:+.2}){mark}", b - found.per_hour())
            }
            Err(no) => writeln!(text, "  {what:<44} no rhythm: {}", words_for(line, recipe, no)),
        };
    }
    text
}

fn steps_text(line: &Line, found: &Rhythm, text: &mut String) {
    text.push_str("\n  leaves    in period   dwell        play  hoist  tanks           for\n");
    for stop in &found.stops {
        let leaves = stop.leaves.map_or_else(String::new, |d| d.to_string());
        let at = stop.leaves.map_or_else(String::new, |d| Dur(d.0.rem_euclid(found.period.0)).to_string());
        let dwell = match stop.visit {
            Visit::Step(_) if stop.dwell.0 == stop.dwell.1 => stop.dwell.0.to_string(),
            Visit::Step(_) => format!("{}-{}", stop.dwell.0, stop.dwell.1),
            _ => String::new(),
        };
        let play =
            if stop.leaves.is_some() { format!("{:.0} s", stop.play.as_secs_f64()) } else { String::new() };
        let tanks: Vec<&str> = stop.tanks.iter().map(|t| line.tanks[*t].name.as_str()).collect();
        let label = place(line, found.ask.recipe, stop.visit);
        let by = stop.leaves.map_or("", |_| line.hoists[stop.by].name.as_str());
        let tanks = tanks.join(" ");
        let _ = writeln!(text, "  {leaves:<9} {at:<11} {dwell:<11} {play:>5}  {by:<5}  {tanks:<15} {label}");
    }
    text.push('\n');
}

fn visit_json(line: &Line, found: &Rhythm, visit: Visit) -> Value {
    match visit {
        Visit::Step(n) => json!({
            "step": n.0 + 1,
            "stage": line.stages[line.step(found.ask.recipe, n).stage].name,
        }),
        _ => json!(place(line, found.ask.recipe, visit).to_lowercase()),
    }
}

fn proof_json(proof: &Proof) -> Value {
    json!({
        "status": if proof.optimal { "optimal" } else { "best-so-far" },
        "nodes": proof.nodes,
        "bound_ms": proof.bound.0,
    })
}

fn as_json(line: &Line, found: &Rhythm, cases: &[Case], judged: usize) -> Value {
    let binding = |b: &Binding| match *b {
        Binding::Crane => json!({ "kind": "crane" }),
        Binding::Rail => json!({ "kind": "rail" }),
        Binding::Soak(v) => {
            json!({ "kind": "tank", "at": visit_json(line, found, v), "tanks": names(line, found, v) })
        }
        Binding::Window(v) => {
            json!({ "kind": "window", "at": visit_json(line, found, v), "tanks": names(line, found, v) })
        }
    };
    let crane = |c: &rhythm::CraneUse| {
        json!({
            "name": line.hoists[c.hoist].name,
            "loaded_ms": c.loaded.0,
            "empty_ms": c.empty.0,
            "idle_ms": c.idle.0,
            "bound_ms": c.bound.0,
        })
    };
    let stop = |s: &rhythm::Stop| {
        json!({
            "at": visit_json(line, found, s.visit),
            "tanks": s.tanks.iter().map(|t| line.tanks[*t].name.as_str()).collect::<Vec<_>>(),
            "leaves_ms": s.leaves.map(|d| d.0),
            "leaves_in_period_ms": s.leaves.map(|d| d.0.rem_euclid(found.period.0)),
            "dwell_ms": [s.dwell.0.0, s.dwell.1.0],
            "play_ms": s.play.0,
            "hoist": s.leaves.map(|_| line.hoists[s.by].name.as_str()),
        })
    };
    let case = |c: &Case| {
        let (period, proof) = match &c.period {
            Ok((period, proof)) => (Some(period.0), Some(proof_json(proof))),
            Err(_) => (None, None),
        };
        let why = c.period.as_ref().err().map(|no| words_for(line, found.ask.recipe, no));
        json!({ "what": what_words(line, found, c.what), "period_ms": period, "proof": proof, "why": why })
    };
    json!({
        "line": line.name,
        "recipe": line.recipes[found.ask.recipe].name,
        "hoists": found.cranes.iter().map(crane).collect::<Vec<_>>(),
        "period_ms": found.period.0,
        "proof": proof_json(&found.proof),
        "binds": found.binding.iter().map(binding).collect::<Vec<_>>(),
        "tank_bounds_ms": found.tank_bounds.iter().map(|d| d.0).collect::<Vec<_>>(),
        "carriers_per_hour": found.per_hour(),
        "carriers_on_line": found.carriers(),
        "reserve_ms": found.ask.reserve.0,
        "order": found.order.iter().map(|v| visit_json(line, found, *v)).collect::<Vec<_>>(),
        "visits": found.stops.iter().map(stop).collect::<Vec<_>>(),
        "carriers_judged": judged,
        "what_if": cases.iter().map(case).collect::<Vec<_>>(),
    })
}
