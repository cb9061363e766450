//! `replay`: a shift again, without a screen as text or JSON.

use std::fmt::Write as _;
use std::path::Path;

use serde_json::{Value, json};

use super::args::{Board as BoardArgs, SortBy};
use super::board;
use super::plan::warn;
use super::played::Played;
use super::replay_args::{Listed, Place, Replay};
use super::replay_screens;
use super::run::{self, rebuild};
use super::simulate::run_until;
use super::{Bad, Outcome, say, say_json, verify};
use crate::clock::ManualClock;
use crate::ids::Seq;
use crate::live::{Fork, Improving, LiveShift};
use crate::replay::{Compared, Cost, Mark, Point, Why, compare, why};
use crate::shift::Who;
use crate::sim::{Crew, Pace, Troubles};
use crate::units::Time;

/// What the two sides of a comparison are called.
pub const NAMES: [&str; 2] = ["what happened", "the practice"];

pub fn replay(args: &Replay) -> Result<Outcome, Bad> {
    let played = Played::read(args.shift.as_deref())?;
    if let Some(damage) = played.damage() {
        warn(&damage);
    }
    match (args.at, args.list, args.why, args.from, &args.compare) {
        (Some(at), ..) => at_instant(args, &played, played.within(at)?),
        (_, Some(listed), ..) => list(args, &played, listed),
        (_, _, Some(place), ..) => tell_why(args, &played, played.point(place)?),
        (_, _, _, Some(place), _) => take_over(args, &played, place),
        (.., Some(other)) => held_against(args, &played, other),
        _ => replay_screens::show(args, &played),
    }
}

fn at_instant(args: &Replay, played: &Played, now: Time) -> Result<Outcome, Bad> {
    let recording = &played.recording;
    let board = recording.moment(recording.at(now)).board(recording, now);
    let all = BoardArgs {
        shift: args.shift.clone().unwrap_or_default(),
        at: args.at,
        sort: SortBy::default(),
        find: String::new(),
        json: args.json,
    };
    if args.json {
        return say_json(&board::as_json(&board, &all, recording.opening()));
    }
    say(&board::as_text(&board, &all))
}

fn secs(t: Time) -> f64 {
    (t - Time::ZERO).as_secs_f64()
}

fn list(args: &Replay, played: &Played, listed: Listed) -> Result<Outcome, Bad> {
    let recording = &played.recording;
    let clock = |t| recording.opening().clock(t);
    if args.json {
        let marks = || recording.marks().iter().map(mark_json).collect::<Vec<_>>();
        let events = || -> Vec<Value> {
            let all = recording.events().iter().enumerate();
            all.map(|(ix, s)| json!({ "event": s.seq.0, "at_s": secs(s.at), "entered_s": secs(s.entered), "text": recording.words(ix) }))
                .collect()
        };
        let (key, all) = match listed {
            Listed::Marks => ("marks", marks()),
            Listed::Events => ("events", events()),
        };
        return say_json(&json!({
            "format": "dwellhand-replay/1", "journal": played.name, "opening": recording.opening().rfc3339(Time::ZERO),
            "from_s": secs(recording.span().0), "to_s": secs(recording.span().1),
            "rest": played.good.rest, key: all,
        }));
    }
    let mut text = String::new();
    match listed {
        Listed::Marks => {
            for m in recording.marks() {
                let seq = m.seq.map_or_else(String::new, |s| s.0.to_string());
                let harm = m.harm.map_or(String::new(), |h| format!("{}: ", h.word()));
                let (at, kind) = (clock(m.point.at), m.kind.word());
                let _ = writeln!(text, "{at}  {seq:>5}  {kind:<13}  {harm}{}", m.text);
            }
        }
        Listed::Events => {
            for (ix, s) in recording.events().iter().enumerate() {
                let _ = writeln!(text, "{}  {:>5}  {}", clock(s.at), s.seq.0, recording.words(ix));
            }
        }
    }
    say(&text)
}

fn mark_json(m: &Mark) -> Value {
    json!({
        "kind": m.kind.word(), "at_s": secs(m.point.at), "event": m.seq.map(|s| s.0), "after_events": m.point.ix,
        "harm": m.harm.map(crate::line::Harm::word), "text": m.text,
    })
}

fn tell_why(args: &Replay, played: &Played, point: Point) -> Result<Outcome, Bad> {
    let recording = &played.recording;
    let told = why(recording, point, &args.planner.settings(), args.budget, &mut || false);
    if args.json {
        return say_json(&why_json(&told));
    }
    say(&page(&told.lines(recording.opening())))
}

/// Lines as text.
fn page(lines: &[(String, bool)]) -> String {
    lines.iter().fold(String::new(), |text, (line, _)| text + line + "\n")
}

fn why_json(told: &Why) -> Value {
    json!({
        "format": "dwellhand-why/1",
        "at_s": secs(told.at),
        "call": told.call.as_ref().map(|c| json!({
            "text": c.plain(), "reason": c.reason, "slack_s": c.slack.map(crate::units::Dur::as_secs_f64),
            "no_stop": c.critical,
        })),
        "done": told.done.as_ref().map(|d| json!({
            "event": d.seq.0, "at_s": secs(d.at), "text": d.text, "as_called": d.as_called,
            "after_planned_s": d.after.map(crate::units::Dur::as_secs_f64),
        })),
        "unanswered": told.unanswered.iter().map(|(call, words)| json!({
            "text": words, "due_s": secs(call.due), "until_s": secs(call.until),
        })).collect::<Vec<_>>(),
        "cost": told.cost.as_ref().map(cost_json),
        "afterwards": told.afterwards.iter().map(verify::json).collect::<Vec<_>>(),
    })
}

fn cost_json(cost: &Cost) -> Value {
    json!({
        "breaks": cost.breaks.iter().map(|e| verify::json(&e.breach)).collect::<Vec<_>>(),
        "keeps": cost.keeps.iter().map(|e| verify::json(&e.breach)).collect::<Vec<_>>(),
        "left": cost.left, "late_s": cost.late.as_secs_f64(), "finish_s": cost.finish.as_secs_f64(),
        "words": cost.words(),
    })
}

/// Makes a practice of the shift, and lets a crew go on with it if one is named.
fn take_over(args: &Replay, played: &Played, place: Place) -> Result<Outcome, Bad> {
    let recording = &played.recording;
    let point = match place {
        Place::Event(_) => recording.after(played.point(place)?.ix + 1),
        Place::Time(_) => played.point(place)?,
    };
    let out = args.out.as_deref().expect("--from requires --out");
    fork(played, point, out, args.speed)?;
    let Some(kind) = args.crew else {
        let path = out.display();
        return say(&format!("The practice is in {path}\nGo on with: dwellhand run --shift {path}\n"));
    };
    let end = args.until.map_or(Ok(recording.end().at), |t| played.instant(t))?;
    go_on(args, out, kind.pace(), end)?;
    held_against(args, played, out)
}

/// Makes the journal of a practice that goes on from a point.
pub fn fork(played: &Played, point: Point, out: &Path, speed: f64) -> Result<(), Bad> {
    let (records, origin) = played.up_to(point);
    let fork =
        Fork { header: &played.header, line: played.recording.line(), records, origin: &origin, speed };
    Ok(fork.create(out)?)
}

/// Lets a crew go on with a practice until an instant, as fast as the machine allows.
pub fn go_on(args: &Replay, out: &Path, pace: Pace, end: Time) -> Result<(), Bad> {
    let clock = ManualClock::default();
    let own = |_: &_, base| -> Box<dyn crate::clock::Clock> {
        clock.set(base);
        Box::new(clock.clone())
    };
    let (mut shift, notices) = LiveShift::reopen(out, args.planner.settings(), rebuild, own)?;
    for notice in notices {
        warn(&notice.to_string());
    }
    shift.go_on_improving(Improving::AtOnce { tries: args.budget });
    shift.set_hands(Box::new(Crew::new(pace, args.planner.seed)));
    run::meets(&mut shift)?;
    run_until(&mut shift, &clock, &Troubles::default(), end)?;
    // As far as was asked for, even if nothing happened at the end.
    shift.submit(&crate::shift::Command::Note { text: "the practice ends".to_owned() }, Who::Crew)?;
    for notice in shift.take_notices() {
        warn(&notice.to_string());
    }
    Ok(())
}

fn held_against(args: &Replay, played: &Played, other: &Path) -> Result<Outcome, Bad> {
    let fork = Played::read(Some(other))?;
    if let Some(damage) = fork.damage() {
        warn(&damage);
    }
    if fork.header.texts.fingerprint() != played.header.texts.fingerprint() {
        return Err(Bad(format!(
            "{} and {} run on different lines, recipes or orders",
            played.name, fork.name
        )));
    }
    let compared = compare(&played.recording, &fork.recording);
    if args.json {
        return say_json(&compared_json(played, &fork, &compared));
    }
    let mut text = String::new();
    if let Some(o) = &fork.header.forked_from {
        let known = played.good.hashes.get((o.event.0 as usize).wrapping_sub(1)).map(ToString::to_string);
        let same = o.event == Seq(0) || known.as_ref() == Some(&o.hash);
        let not = if same { "" } else { ", which is not this journal" };
        let at = played.recording.opening().clock(o.at);
        let _ = writeln!(text, "Taken over from {} at {at}, after event {}{not}\n", o.journal, o.event.0);
    }
    text += &page(&compared.lines(played.recording.opening(), NAMES));
    say(&text)
}

fn compared_json(played: &Played, fork: &Played, compared: &Compared) -> Value {
    let figures = |of: fn(&crate::replay::Figure) -> i64| -> Value {
        compared
            .figures
            .iter()
            .map(|f| (f.key.to_owned(), json!(of(f))))
            .collect::<serde_json::Map<_, _>>()
            .into()
    };
    json!({
        "format": "dwellhand-comparison/1",
        "one": played.name, "other": fork.name,
        "forked_from": fork.header.forked_from.as_ref().map(|o| json!({
            "journal": o.journal, "event": o.event.0, "at_s": secs(o.at), "hash": o.hash,
        })),
        "until_s": secs(compared.until),
        "same_events": compared.same_events,
        "part": compared.parting.as_ref().map(|p| json!({
            "at_s": secs(p.at), "after_events": p.same,
            "one": p.one.as_ref().map(|s| &s.text), "other": p.other.as_ref().map(|s| &s.text),
        })),
        "figures": { "one": figures(|f| f.one), "other": figures(|f| f.other) },
        "broken_only_in_one": compared.only_one.iter().map(verify::json).collect::<Vec<_>>(),
        "broken_only_in_other": compared.only_other.iter().map(verify::json).collect::<Vec<_>>(),
    })
}
