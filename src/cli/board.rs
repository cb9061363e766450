//! `board`: how a shift stands, read off its journal.

use std::fmt::Write as _;

use serde_json::{Value, json};

use super::args::{Board as Args, SortBy};
use super::kept::Kept;
use super::{Bad, Outcome, say, say_json};
use crate::civil::Opening;
use crate::report::columns;
use crate::units::{Dur, Time};
use crate::view::{Board, LoadRow, Run, Share, Sort, Standing, TankRow, When, passes, sorted};

impl SortBy {
    fn sort(self) -> Sort {
        match self {
            Self::Slack => Sort::Slack,
            Self::Tank => Sort::Tank,
            Self::Order => Sort::Order,
            Self::Finish => Sort::Finish,
        }
    }
}

pub fn board(args: &Args) -> Result<Outcome, Bad> {
    let Kept { board, opening, .. } = Kept::read(&args.shift, args.at)?;
    if args.json { say_json(&as_json(&board, args, &opening)) } else { say(&as_text(&board, args)) }
}

fn fits_tank(row: &TankRow, find: &str) -> bool {
    let who: Vec<&str> = row.held.iter().map(|h| h.name.as_str()).collect();
    passes(find, &[&[row.name.as_str(), &row.label, row.readiness.word()], &who[..]].concat())
}

/// A move in the words that are looked for and printed.
struct Words<'b> {
    carrier: &'b str,
    hoist: &'b str,
    from: String,
    to: String,
}

fn words<'b>(board: &'b Board, run: &Run) -> Words<'b> {
    let tank = |id| {
        let row = board.tanks.iter().find(|t| t.tank == id);
        row.map_or_else(String::new, |t| format!("{} {}", t.name, t.label))
    };
    Words {
        carrier: board.carrier(run.carrier).map_or("?", |c| c.name.as_str()),
        hoist: board.hooks.iter().find(|h| h.hoist == run.hoist).map_or("?", |h| h.name.as_str()),
        from: tank(run.from),
        to: tank(run.to),
    }
}

fn moves<'b>(board: &'b Board, find: &str) -> Vec<(&'b Run, Words<'b>)> {
    let all = board.times.runs.iter().map(|r| (r, words(board, r)));
    all.filter(|(_, w)| passes(find, &[w.carrier, w.hoist, &w.from, &w.to])).collect()
}

pub fn as_text(board: &Board, args: &Args) -> String {
    let mut text = String::new();
    let c = board.counts;
    let _ = writeln!(
        text,
        "{} at {}: {} on line, {} waiting, {} finished, {} off",
        board.line_name, board.clock, c.on_line, c.queued, c.finished, c.off_line
    );
    if board.missing() > 0 {
        let _ = writeln!(text, "{} MISSING", crate::units::many(board.missing() as usize, "part"));
    }
    let call = board.call.as_ref().map_or_else(|| board.rest.clone(), crate::view::MainCall::plain);
    let _ = writeln!(text, "{call}");
    for alarm in &board.alarms {
        let _ = writeln!(
            text,
            "{} {} {}  {}",
            alarm.level_word,
            alarm.harm.letter(),
            alarm.state_word,
            alarm.text
        );
    }
    for breach in &board.breaches {
        let _ = writeln!(text, "PLAN CANNOT KEEP  {} {}", breach.letter, breach.text);
    }
    for hoist in &board.uses {
        let (past, next) = (share_words(hoist.past), share_words(hoist.planned));
        let _ = writeln!(text, "crane {}: last {past}; next {next}", hoist.name);
    }
    for doubt in &board.doubts {
        let _ = writeln!(text, "{doubt}");
    }
    if let Some(p) = &board.power {
        let cap = p.cap.map_or_else(String::new, |cap| format!(" of {:.1}", cap / 1000.0));
        let (now, peak, at) = (p.now / 1000.0, p.peak / 1000.0, &p.peak_clock);
        let _ = writeln!(
            text,
            "power: now {now:.1}{cap} kW{}, planned peak {peak:.1} kW at {at}",
            p.doubt_words()
        );
    }
    if let Some(behind) = board.times.behind {
        let _ = writeln!(text, "the line is {behind} behind the plan shown");
    }
    let loads = sorted(&board.loads, args.sort.sort(), &args.find);
    let loads: Vec<_> = loads.into_iter().map(|l| load_row(l, starts(board, l))).collect();
    text.push_str(&table(&LOADS, &loads));
    let tanks: Vec<_> = board.tanks.iter().filter(|t| fits_tank(t, &args.find)).map(tank_row).collect();
    text.push_str(&table(&TANKS, &tanks));
    let moves: Vec<_> =
        moves(board, &args.find).into_iter().map(|(run, w)| move_row(board, run, &w)).collect();
    text.push_str(&table(&MOVES, &moves));
    text
}

fn share_words(share: Share) -> String {
    let (loaded, empty) = (share.loaded * 100.0, share.empty * 100.0);
    format!("{} {loaded:.0} % loaded, {empty:.0} % on the way without a load", share.of)
}

/// When the plan starts a carrier that waits.
fn starts<'b>(board: &'b Board, l: &LoadRow) -> &'b str {
    board.queue.iter().find(|q| q.id == l.id).and_then(|q| q.release.as_deref()).unwrap_or("")
}

/// Columns with the least width of each.
const LOADS: [(&str, usize); 13] = [
    ("carrier", 7),
    ("at", 4),
    ("step", 5),
    ("state", 8),
    ("out by", 8),
    ("slack", 7),
    ("harm", 8),
    ("order", 7),
    ("lot", 3),
    ("start", 5),
    ("done", 5),
    ("due", 5),
    ("late", 6),
];
const TANKS: [(&str, usize); 7] =
    [("tank", 5), ("state", 8), ("load", 6), ("since", 8), ("left", 7), ("until", 11), ("holds", 5)];
const MOVES: [(&str, usize); 7] =
    [("lift", 8), ("down", 8), ("carrier", 7), ("crane", 5), ("by", 8), ("slack", 7), ("from > to; why", 14)];

fn table(heads: &[(&str, usize)], rows: &[Vec<String>]) -> String {
    let (head, least): (Vec<String>, Vec<usize>) = heads.iter().map(|(h, w)| ((*h).to_owned(), *w)).unzip();
    format!("\n{}", columns(&head, rows, &least))
}

fn load_row(l: &LoadRow, starts: &str) -> Vec<String> {
    let rush = if l.rush { "!" } else { "" };
    let or_blank = |t: &Option<String>| t.clone().unwrap_or_default();
    vec![
        l.carrier.clone(),
        l.at.clone(),
        format!("{}/{}", l.step.0, l.step.1),
        state_words(l),
        or_blank(&l.out_by_clock),
        l.slack.map_or_else(String::new, Dur::as_left),
        l.harm.map_or("", crate::line::Harm::word).to_owned(),
        format!("{}{rush}", l.order),
        format!("{}/{}", l.lot.0, l.lot.1),
        starts.to_owned(),
        or_blank(&l.finish_clock),
        or_blank(&l.due_clock),
        l.late.map_or_else(String::new, Dur::in_minutes),
    ]
}

/// How it stands, and what was said about it.
fn state_words(l: &LoadRow) -> String {
    let standing = l.standing.map_or(l.stage.word(), Standing::word);
    let marks = l.marks.iter().map(|m| m.word()).filter(|mark| !mark.eq_ignore_ascii_case(standing));
    std::iter::once(standing).chain(marks).collect::<Vec<_>>().join(" ")
}

fn tank_row(t: &TankRow) -> Vec<String> {
    let held = t.held.first();
    let left = held.and_then(|h| h.bar.left()).or(t.ready_in);
    vec![
        t.name.clone(),
        held.map_or_else(|| t.readiness.word().to_owned(), |h| t.state_of(h)),
        t.held.iter().map(|h| h.name.as_str()).collect::<Vec<_>>().join(" "),
        held.map_or_else(String::new, |h| h.since.clone()),
        left.map_or_else(String::new, Dur::as_left),
        t.readiness.until(),
        t.label.clone(),
    ]
}

fn move_row(board: &Board, run: &Run, w: &Words) -> Vec<String> {
    let why = match run.when {
        When::Past => "done",
        When::UnderWay | When::Planned => run.reason.as_str(),
    };
    vec![
        board.clock_at(run.lift),
        board.clock_at(run.down),
        w.carrier.to_owned(),
        w.hoist.to_owned(),
        run.lift_by.map_or_else(String::new, |t| board.clock_at(t)),
        run.slack.map_or_else(String::new, Dur::as_left),
        format!("{} > {}; {why}", w.from, w.to),
    ]
}

pub fn as_json(board: &Board, args: &Args, opening: &Opening) -> Value {
    let find = args.find.as_str();
    let share = |s: Share| json!({ "loaded": s.loaded, "empty": s.empty, "of_s": s.of.as_secs_f64() });
    let name = |id| board.carrier(id).map(|c| c.name.as_str());
    let tank = |id| board.tanks.iter().find(|t| t.tank == id).map(|t| t.name.as_str());
    json!({
        "format": "dwellhand-board/1",
        "line": board.line_name,
        "opening": opening.rfc3339(Time::ZERO),
        "now_s": secs(board.now),
        "counts": {
            "on_line": board.counts.on_line, "waiting": board.counts.queued,
            "finished": board.counts.finished, "off_line": board.counts.off_line,
            "parts_missing": board.missing(),
        },
        "in_doubt": board.doubts,
        "call": board.call.as_ref().map(crate::view::MainCall::plain),
        "alarms": board.alarms.iter().map(|a| json!({
            "level": a.level_word, "harm": a.harm.word(), "state": a.state_word, "text": a.text,
        })).collect::<Vec<_>>(),
        "plan_cannot_keep": board.breaches.iter().map(|b| json!({
            "harm": b.harm.map(crate::line::Harm::word), "by_s": b.by.as_secs_f64(), "text": b.text,
        })).collect::<Vec<_>>(),
        "carriers": sorted(&board.loads, args.sort.sort(), find).into_iter().map(|l| load_json(l, starts(board, l))).collect::<Vec<_>>(),
        "tanks": board.tanks.iter().filter(|t| fits_tank(t, find)).map(tank_json).collect::<Vec<_>>(),
        "cranes": board.uses.iter().map(|u| json!({
            "name": u.name, "last": share(u.past), "next": share(u.planned),
        })).collect::<Vec<_>>(),
        "power": board.power.as_ref().map(|p| json!({
            "now_w": p.now, "peak_w": p.peak, "peak_at_s": secs(p.peak_at), "cap_w": p.cap,
        })),
        "moves": moves(board, find).into_iter().map(|(r, w)| json!({
            "carrier": w.carrier, "crane": w.hoist, "from": tank(r.from), "to": tank(r.to),
            "when": match r.when { When::Past => "past", When::UnderWay => "under way", When::Planned => "planned" },
            "start_s": secs(r.start), "lift_s": secs(r.lift), "down_s": secs(r.down), "end_s": secs(r.end),
            "lift_by_s": r.lift_by.map(secs), "slack_s": r.slack.map(Dur::as_secs_f64),
            "no_stop": r.critical, "reason": r.reason,
        })).collect::<Vec<_>>(),
        "stays": board.times.stays.iter().filter(|s| {
            passes(find, &[name(s.carrier).unwrap_or(""), tank(s.tank).unwrap_or("")])
        }).map(|s| json!({
            "carrier": name(s.carrier), "tank": tank(s.tank),
            "from_s": secs(s.from), "to_s": s.to.map(secs), "closes_s": s.closes.map(secs),
        })).collect::<Vec<_>>(),
    })
}

fn secs(t: Time) -> f64 {
    (t - Time::ZERO).as_secs_f64()
}

fn load_json(l: &LoadRow, starts: &str) -> Value {
    json!({
        "carrier": l.carrier, "order": l.order, "label": l.label, "lot": [l.lot.0, l.lot.1], "rush": l.rush,
        "stage": l.stage.word(), "at": l.at, "step": [l.step.0, l.step.1], "doing": l.what,
        "standing": l.standing.map(Standing::word),
        "marks": l.marks.iter().map(|m| m.word()).collect::<Vec<_>>(),
        "out_by_s": l.out_by.map(secs), "slack_s": l.slack.map(Dur::as_secs_f64),
        "harm": l.harm.map(crate::line::Harm::word),
        "starts": starts, "finish_s": l.finish.map(secs), "due": l.due_clock, "late_s": l.late.map(Dur::as_secs_f64),
    })
}

fn tank_json(t: &TankRow) -> Value {
    json!({
        "tank": t.name, "holds": t.label, "state": t.readiness.words(),
        "ready_in_s": t.ready_in.map(Dur::as_secs_f64),
        "next": t.next.as_ref().map(|(who, when)| json!({ "carrier": who, "at": when })),
        "carriers": t.held.iter().map(|h| json!({
            "carrier": h.name, "since": h.since, "standing": h.standing.word(), "harm": h.harm_word,
            "elapsed_s": h.bar.elapsed.as_secs_f64(), "min_s": h.bar.min.as_secs_f64(),
            "target_s": h.bar.target.as_secs_f64(),
            "max_s": (!h.bar.max.is_unlimited()).then(|| h.bar.max.as_secs_f64()),
            "lift_at": h.lift_at,
        })).collect::<Vec<_>>(),
    })
}
