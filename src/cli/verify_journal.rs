//! `verify JOURNAL`: the chain, what cannot have been, and a hash to compare.

use std::path::Path;

use serde_json::json;

use super::args::Verify;
use super::run::rebuild;
use super::{Bad, Outcome, say, say_json};
use crate::journal::{Error, Reader};
use crate::shift::{History, Stamped, unsound};
use crate::units::Time;
use crate::units::many;
use crate::verify::happened_by;
use crate::verify::history::possible;

/// One thing that is wrong, at a line of the journal.
struct Wrong {
    line: u64,
    law: &'static str,
    text: String,
}

pub fn verify(args: &Verify, path: &Path) -> Result<Outcome, Bad> {
    let mut reader = Reader::open(path)?;
    let header = reader.header().clone();
    let (line, _) = rebuild(&header).map_err(Bad)?;
    let mut wrong = Vec::new();
    let mut events: Vec<Stamped> = Vec::new();
    loop {
        match reader.next(&line) {
            Ok(Some(record)) => events.push(record.stamped),
            Ok(None) => break,
            Err(error) => {
                wrong.push(broken(&error).ok_or_else(|| Bad(error.to_string()))?);
                break;
            }
        }
    }
    if let Some(torn) = reader.torn() {
        wrong.push(Wrong { line: torn.line, law: "chain", text: torn.to_string() });
    }
    let history = History::of(&line, events);
    let faults = possible(&line, history.events(), history.state());
    if let Some(why) = unsound(&line, history.state()) {
        wrong.push(Wrong { line: history.events().len() as u64 + 1, law: "fold", text: why });
    }
    // The opening is line 1, event 1 is line 2.
    wrong.extend(faults.into_iter().map(|f| Wrong { line: f.seq.0 + 1, law: f.law.word(), text: f.text }));
    wrong.sort_by_key(|w| w.line);
    let hash = reader.hash().to_string();
    let expected = args.expect.as_deref().is_none_or(|expect| hash.starts_with(expect));
    if !expected {
        let text = format!("the last line's hash is not the one expected: {hash}");
        wrong.push(Wrong { line: history.events().len() as u64 + 1, law: "chain", text });
    }
    // What still goes on counts up to the last word, as it does on the pages.
    let end = history.events().last().map_or(Time::ZERO, |e| e.entered);
    let broken = happened_by(&line, history.state(), end).len();
    report(args.json, path, (history.events().len(), broken), &hash, &wrong)
}

fn broken(error: &Error) -> Option<Wrong> {
    Some(Wrong { line: error.line()?, law: "chain", text: error.what() })
}

/// What is wrong with the record; windows that the shift broke are no fault of it.
fn report(
    json: bool,
    path: &Path,
    (events, broken): (usize, usize),
    hash: &str,
    wrong: &[Wrong],
) -> Result<Outcome, Bad> {
    if json {
        let wrong: Vec<_> =
            wrong.iter().map(|w| json!({ "line": w.line, "law": w.law, "text": w.text })).collect();
        say_json(&json!({ "events": events, "hash": hash, "breaches": wrong, "windows_broken": broken }))?;
    } else {
        let name = path.display();
        let mut lines: Vec<String> =
            wrong.iter().map(|w| format!("{name}:{}: {}: {}", w.line, w.law, w.text)).collect();
        let n = wrong.len();
        lines.push(match n {
            0 => format!("{events} events: the chain holds and all of it can have been"),
            _ => format!("{events} events, {n} breach{}", if n == 1 { "" } else { "es" }),
        });
        if broken > 0 {
            let were = if broken == 1 { "was" } else { "were" };
            lines.push(format!("{} {were} broken in it: `report` says which", many(broken, "window")));
        }
        lines.push(format!("hash of the last line: {hash}\n"));
        say(&lines.join("\n"))?;
    }
    Ok(if wrong.is_empty() { Outcome::Fine } else { Outcome::No })
}
