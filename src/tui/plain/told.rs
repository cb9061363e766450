//! Everything a board shows, each thing in a sentence of its own.

use super::tell::whole;
use crate::tui::app::App;
use crate::tui::changes::Outlook;
use crate::tui::screens::brief::lines as brief_lines;
use crate::tui::widgets::countdown;
use crate::units::{Dur, many};
use crate::view::{Board, LoadRow, Preview, Share, Stage, Turn, When, Wrong, state_word};

/// Entries of the log if nobody says how many.
const LOG: usize = 10;

pub(super) fn call(board: &Board) -> String {
    board.call.as_ref().map_or_else(|| board.rest.clone(), |c| whole(board, c))
}

pub(super) fn next(board: &Board) -> Vec<String> {
    let moves = board.next.iter().map(|n| {
        let slack = n.slack.map_or_else(String::new, |s| format!(", {}", may_wait(s)));
        let hoist = n.hoist.as_ref().map_or_else(String::new, |h| format!("{h}: "));
        let (verb, from, to) = (n.verb.word(), n.from.words(), n.to.words());
        format!("{} {hoist}{verb} {} from {from} to {to}{slack}", n.at, n.carrier)
    });
    or_nothing(moves.collect(), "No more moves are planned.")
}

pub(super) fn tanks(board: &Board) -> Vec<String> {
    let rows = board.tanks.iter().flat_map(|t| {
        let held = t.held.iter().map(move |h| {
            let left = match h.bar.left() {
                Some(d) if d < Dur::ZERO => format!("over by {}", -d),
                Some(d) => format!("{d} left, then {}", h.harm_word),
                None => "no limit".to_owned(),
            };
            format!(
                "{} {}: {} {}, in {}, {left}",
                t.name,
                t.label,
                h.name,
                state_word(&h.marks, h.standing),
                h.bar.elapsed
            )
        });
        let word = t.readiness.word();
        let shut = (t.held.is_empty() && word != "free")
            .then(|| format!("{} {}: {word} {}", t.name, t.label, t.readiness.until()));
        held.chain(shut)
    });
    or_nothing(rows.collect(), "Nothing is on the line.")
}

pub(super) fn alarms(board: &Board) -> Vec<String> {
    let line = |wrong: Wrong<'_>| match wrong {
        Wrong::Alarm(a) => format!("{} {} {}: {}", a.state_word, a.level_word, a.harm.word(), a.text),
        Wrong::Breach(b) => format!("the plan cannot keep: {}", b.text),
    };
    let mut lines: Vec<String> = board.wrongs().map(line).collect();
    lines.extend(board.doubts.iter().cloned());
    or_nothing(lines, &board.all_well())
}

pub(super) fn queue(board: &Board) -> Vec<String> {
    let rows = board.queue.iter().map(|q| {
        let starts = q.release.as_deref().map_or_else(|| "not yet".to_owned(), |t| format!("starts {t}"));
        let due = q.due.as_ref().map_or_else(String::new, |d| format!(", due {d}"));
        let late = q.late.map_or_else(String::new, |d| format!(", {}", countdown::late(d)));
        let rush = if q.rush { "RUSH, " } else { "" };
        format!("{} {} {}: {rush}{starts}{due}{late}", q.carrier, q.order, q.label)
    });
    or_nothing(rows.collect(), "Nothing waits.")
}

/// What happened, the latest first.
pub(super) fn log(board: &Board, rest: &str) -> Vec<String> {
    let count = rest.parse().unwrap_or(LOG);
    let rows = board.log.iter().take(count).map(|row| format!("{} {} {}", row.at, row.who, row.words()));
    or_nothing(rows.collect(), "Nothing has happened yet.")
}

/// Every carrier but those that wait, and how much crane and power work.
pub(super) fn board(board: &Board, app: &App) -> Vec<String> {
    let mut lines: Vec<String> =
        app.desk.loads(board).into_iter().filter(|l| l.stage != Stage::Waiting).map(load).collect();
    lines.extend(board.benches.iter().map(|b| {
        format!("{} at bench {} since {}: {}, then {}", b.name, b.bench, b.since, b.state(), b.next)
    }));
    for u in &board.uses {
        let shares = [("used in the past", &u.past), ("planned", &u.planned)];
        let told: Vec<String> = shares.iter().filter_map(|(what, s)| share(what, s)).collect();
        if !told.is_empty() {
            lines.push(format!("crane {}: {}", u.name, told.join("; ")));
        }
    }
    if let Some(p) = &board.power {
        let cap = p.cap.map_or_else(String::new, |c| format!(" of {:.1}", c / 1000.0));
        let (now, peak) = (p.now / 1000.0, p.peak / 1000.0);
        lines.push(format!(
            "power: {now:.1}{cap} kW now{}, at most {peak:.1} kW planned, at {}",
            p.doubt_words(),
            p.peak_clock
        ));
    }
    or_nothing(lines, "Nothing is on the line.")
}

/// How much of a stretch of time a crane works; nothing where there is no such stretch.
fn share(what: &str, share: &Share) -> Option<String> {
    let of = share.of.whole_secs() / 60;
    let percent = |part: f64| (part * 100.0).round();
    let (loaded, empty) = (percent(share.loaded), percent(share.empty));
    (of > 0).then(|| format!("{what} {of} minutes: {loaded} % with a load, {empty} % without"))
}

fn load(l: &LoadRow) -> String {
    let mut words = vec![format!("{} of order {}{}", l.carrier, l.order, if l.rush { ", RUSH" } else { "" })];
    match l.stage {
        Stage::OnLine => {
            let state = l.standing.map_or_else(String::new, |s| format!(", {}", state_word(&l.marks, s)));
            words.push(format!("in {}, step {} of {}, {}{state}", l.at, l.step.0, l.step.1, l.what));
        }
        Stage::AtBench => words.push(format!("at {}", l.what)),
        stage => words.push(stage.word().to_owned()),
    }
    words.extend(l.out_by_clock.as_ref().map(|t| format!("out by {t}")));
    words.extend(l.slack.map(may_wait));
    words.extend(l.harm.map(|h| format!("too long means {}", h.word())));
    words.extend(l.finish_clock.as_ref().map(|t| format!("done {t}")));
    words.extend(l.due_clock.as_ref().map(|t| format!("due {t}")));
    words.extend(l.late.map(countdown::late));
    words.join(", ")
}

/// Slack in words; what the plan leaves out of a window is not over yet.
fn may_wait(slack: Dur) -> String {
    if slack < Dur::ZERO { format!("planned {} past it", -slack) } else { format!("may wait {slack}") }
}

/// Moves that were made and that are planned, by time: as many of both as are asked for.
pub(super) fn ways(board: &Board, rest: &str) -> Vec<String> {
    let count: usize = rest.parse().unwrap_or(LOG);
    let runs = &board.times.runs;
    let planned = runs.iter().position(|r| r.when == When::Planned).unwrap_or(runs.len());
    let seen = planned.saturating_sub(count)..planned.saturating_add(count).min(runs.len());
    let rows = runs[seen].iter().map(|r| {
        let planned = if r.when == When::Planned { "planned" } else { "done" };
        let tank = |id| board.tanks.iter().find(|t| t.tank == id).map_or("?", |t| t.name.as_str());
        let carrier = board.carrier(r.carrier).map_or("?", |c| c.name.as_str());
        format!("{} {planned}: {carrier} from {} to {}", board.clock_at(r.lift), tank(r.from), tank(r.to))
    });
    or_nothing(rows.collect(), "No moves were made and none are planned.")
}

/// The parts of every order.
pub(super) fn counts(board: &Board) -> Vec<String> {
    let rows = board.parts.iter().map(|row| {
        let c = &row.counts;
        let figures = [
            (c.missing, "MISSING"),
            (c.received, "received"),
            (c.waiting, "not racked"),
            (c.to_start, "to start"),
            (c.on_line, "on line"),
            (c.to_count, "to count"),
            (c.good, "good"),
            (c.rework, "rework"),
            (c.scrap, "scrap"),
            (c.returned, "returned"),
            (c.found, "found"),
        ];
        let said: Vec<String> =
            figures.iter().filter(|(n, _)| *n != 0).map(|(n, what)| format!("{n} {what}")).collect();
        format!("{} {}: {}", row.name, row.label, said.join(", "))
    });
    or_nothing(rows.collect(), "There are no orders.")
}

/// Every bath with its limits and readings.
pub(super) fn baths(board: &Board) -> Vec<String> {
    let rows = board.baths.iter().map(|bath| {
        let shut = bath.shut.as_ref().map_or_else(String::new, |s| format!(" NOT TO BE USED, {s};"));
        let changed = bath.changed.as_ref().map_or_else(String::new, |t| format!(" since the change at {t}"));
        let checks: Vec<String> = bath.checks.iter().map(|c| format!("; {}", c.words())).collect();
        format!("{}:{shut} {}{changed}{}", bath.name, many(bath.loads, "load"), checks.concat())
    });
    or_nothing(rows.collect(), "There are no baths.")
}

/// Changes that stand.
pub(super) fn changes(board: &Board) -> Vec<String> {
    let rows = board.changes.iter().map(|c| {
        let why = if c.why.is_empty() { String::new() } else { format!(", because: {}", c.why) };
        format!("{} {} {}{why}", c.at, c.who, c.what)
    });
    or_nothing(rows.collect(), "No change stands.")
}

/// How to go about a practice, in words where the screens name keys.
const PLAIN_HOW: &str = "Listen for the call: go there, do it, then say done. other says that something else was done, undo takes \
                         back, help lists all words. At the end comes the debrief; debrief has it at any time. quit leaves; it can be \
                         gone on with later.";

/// What practice is about to begin. The screens name keys there; here a word does what they do.
pub(super) fn brief(app: &App) -> Vec<String> {
    let Some(brief) = app.practising.brief.as_deref() else { return Vec::new() };
    let mut lines: Vec<String> =
        brief_lines(brief, app, PLAIN_HOW).into_iter().map(|(line, _)| line).collect();
    lines.push("Enter: begin. help lists the words that stand for keys.".to_owned());
    lines
}

/// What is proposed and what it would do.
pub(super) fn outlook(app: &App) -> Vec<String> {
    let mut lines: Vec<String> = app.changes.stack.iter().map(|p| format!("proposed: {}", p.words)).collect();
    match &app.changes.outlook {
        Outlook::Nothing => lines.push("Nothing is proposed. propose begins.".to_owned()),
        Outlook::Working => lines.push("Before and after are being worked out.".to_owned()),
        Outlook::Failed => lines.push("Before and after could not be worked out.".to_owned()),
        Outlook::Refused { why, .. } => lines.push(format!("It cannot be done: {why}")),
        Outlook::Ready { preview, .. } => lines.extend(before_and_after(preview)),
    }
    lines
}

fn before_and_after(p: &Preview) -> Vec<String> {
    let mut lines = vec![p.verdict.clone()];
    for (what, rows) in [("breaks", &p.breaks), ("breaks by more", &p.worse), ("keeps again", &p.keeps)] {
        lines.extend(rows.iter().map(|b| format!("{what}: {}", b.text)));
    }
    let then = p.call.1.as_ref().map_or_else(|| "stays the same".to_owned(), |t| format!("becomes {t}"));
    lines.push(format!("next call: {}; {then}", p.call.0));
    lines.extend((!p.pays.is_empty()).then(|| p.pays.clone()));
    lines.extend(p.guesses.iter().cloned());
    for row in &p.finishes {
        let late = row.late.map_or_else(String::new, |d| format!(", {}", countdown::late(d)));
        lines.push(format!("{} {}: done {}, then {}{late}", row.order, row.label, row.before, row.after));
    }
    let turned = p.parts.iter().filter(|part| part.turn != Turn::Same);
    lines.extend(turned.map(|t| format!("{} {}: {}, then {}", t.what, t.turn.word(), t.before, t.after)));
    lines.push("commit does it, drop forgets it.".to_owned());
    lines
}

fn or_nothing(lines: Vec<String>, nothing: &str) -> Vec<String> {
    if lines.is_empty() { vec![nothing.to_owned()] } else { lines }
}
