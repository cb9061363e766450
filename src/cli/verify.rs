//! `verify`: recomputes a plan, or a journal, and lists every breach.

use std::path::Path;

use super::args::Verify;
use super::plan::warn;
use super::{Bad, Outcome, inputs, say, say_json};
use crate::files;
use crate::journal;
use crate::shift::State;
use crate::units::many;
use crate::verify::Breach;

pub fn verify(args: &Verify) -> Result<Outcome, Bad> {
    if let Some(path) = args.plan.as_deref().filter(|path| journal::is_journal(path)) {
        return super::verify_journal::verify(args, path);
    }
    let texts = inputs::texts(&args.files)?;
    let (line, orders) = inputs::build(&texts, None, &mut |w| warn(w))?;
    let text = inputs::read(args.plan.as_deref().unwrap_or(Path::new("-")))?;
    let schedule = files::read_plan(text.source(), &line, &orders.book)
        .map_err(|found| Bad(inputs::listed(&found, &[&text])))?;
    let state = State::opened(&line, orders.book);
    let breaches = crate::verify::verify(&line, &state, &schedule);
    if args.json {
        say_json(&serde_json::json!({
            "moves": schedule.moves.len(),
            "breaches": breaches.iter().map(json).collect::<Vec<_>>(),
        }))?;
    } else if breaches.is_empty() {
        say(&format!("{}: every rule is kept\n", many(schedule.moves.len(), "move")))?;
    } else {
        let lines: Vec<String> = breaches.iter().map(ToString::to_string).collect();
        let n = breaches.len();
        say(&format!("{}\n{n} breach{}\n", lines.join("\n"), if n == 1 { "" } else { "es" }))?;
    }
    Ok(if breaches.is_empty() { Outcome::Fine } else { Outcome::No })
}

/// A breach as JSON.
pub fn json(b: &Breach) -> serde_json::Value {
    serde_json::json!({
        "rule": b.rule.word(),
        "harm": b.harm.map(crate::line::Harm::word),
        "carrier": b.carrier,
        "place": b.place,
        "at_s": b.at.0 as f64 / 1000.0,
        "by_s": b.by.as_secs_f64(),
        "text": b.text,
    })
}
