//! Promises of a replay: it shows what was shown, tells what was so, and a practice that is taken over does what was done.

use std::fs;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use assert_cmd::Command as Program;
use dwellhand::civil::Opening;
use dwellhand::clock::{Clock, ManualClock};
use dwellhand::files;
use dwellhand::ids::{Id as _, Seq, TankId};
use dwellhand::journal::{Good, Header, Origin, Reader, StoredText, StoredTexts, read_good};
use dwellhand::line::{Line, OrderBook};
use dwellhand::live::*;
use dwellhand::plan::{Call, Settings, remaining};
use dwellhand::replay::*;
use dwellhand::rng::Rng;
use dwellhand::shift::*;
use dwellhand::sim::{Crew, Pace};
use dwellhand::tui::board_of;
use dwellhand::units::{Dur, Time};
use dwellhand::view::Board;
use serde_json::Value;

use crate::live::{created, disturb, folder};

fn opening() -> Opening {
    Opening::parse("2026-11-25T06:00:00+01:00").unwrap()
}

fn line() -> Line {
    let (line, recipes, _) = files::demo();
    files::read_line(line, recipes).unwrap().value
}

fn book(line: &Line) -> OrderBook {
    files::read_orders(files::demo().2, line, None).unwrap().value.book
}

#[expect(clippy::unnecessary_wraps, reason = "the shape reopen asks for")]
fn demo(_: &Header) -> Result<(Line, OrderBook), String> {
    let line = line();
    let book = book(&line);
    Ok((line, book))
}

fn texts() -> StoredTexts {
    let stored = |s: files::Source<'_>| StoredText { name: s.name.to_owned(), text: s.text.to_owned() };
    let (line, recipes, orders) = files::demo();
    StoredTexts { line: stored(line), recipes: stored(recipes), orders: stored(orders) }
}

/// The shipped shift.
fn shipped() -> (Header, Good) {
    let source = files::demo_shift();
    let mut reader = Reader::over(Box::new(source.text.as_bytes()), Path::new(source.name)).unwrap();
    let good = read_good(&mut reader, &line());
    (reader.header().clone(), good)
}

fn recording(good: &Good) -> Recording {
    let events = good.records.iter().map(|r| r.stamped.clone()).collect();
    Recording::new(Arc::new(line()), opening(), events)
}

/// What was so and what was to be seen at one instant of a running shift.
struct Looked {
    now: Time,
    state: State,
    board: Board,
    /// The plan that is shown is the one the journal has.
    in_force: bool,
    calls: Vec<Call>,
    breaches: Vec<dwellhand::verify::Breach>,
}

fn look(shift: &mut LiveShift) -> Looked {
    let plan = shift.state().plan.as_ref().map(|p| remaining(shift.state(), p));
    // A fact that no plan knows yet is looked at anew now and then.
    let mut bears = shift.history().events().iter().rev();
    let last = bears.find(|s| s.event.calls_for_plan() || matches!(s.event, Event::PlanAdopted { .. }));
    let known = last.is_some_and(|s| matches!(s.event, Event::PlanAdopted { .. }));
    Looked {
        now: shift.now(),
        state: shift.state().clone(),
        board: board_of(shift),
        in_force: known && plan.as_ref() == Some(shift.schedule()),
        calls: shift.outlook().to_vec(),
        breaches: shift.breaches().to_vec(),
    }
}

#[test]
fn a_recording_shows_what_was_shown_live() {
    let (mut strict, mut all) = (0, 0);
    for seed in 0..8 {
        let (_dir, path) = folder();
        let (mut shift, clock) = created(&path);
        let mut rng = Rng::stream(seed, "disturbances");
        let mut looked = Vec::new();
        for _ in 0..100 {
            clock.set(shift.now() + Dur(rng.below(40_000) as i64));
            shift.tick().unwrap();
            looked.push(look(&mut shift));
            disturb(&mut shift, &mut rng);
            looked.push(look(&mut shift));
        }
        let events = shift.history().events().to_vec();
        let line = crate::small::line();
        let recording = Recording::new(Arc::clone(&line), opening(), events.clone());
        // Backwards, so that nothing can rest on what came before.
        for live in looked.iter().rev() {
            let seen = format!("seed {seed}, event {}", live.state.seq.0);
            let moment = recording.moment(Point { at: live.now, ix: live.state.seq.0 as usize });
            assert_eq!(moment.state(), &live.state, "{seen}");
            let history = &moment.history;
            let (calls, breaches) = (&live.calls, &live.breaches);
            let of_live =
                Board::build(&line, history.state(), history, calls, breaches, &opening(), live.now);
            assert_eq!(of_live, live.board, "{seen}");
            all += 1;
            if live.in_force {
                strict += 1;
                assert_eq!(moment.board(&recording, live.now), live.board, "{seen}");
            }
        }
        for ix in (0..=events.len()).rev().step_by(7) {
            let folded = History::of(&line, events[..ix].to_vec());
            assert_eq!(recording.history(ix).state(), folded.state(), "seed {seed}, {ix} events");
            assert_eq!(recording.history(ix).events(), folded.events());
        }
    }
    // Between two plans that are stored the running shift may show the times of the first a few seconds fresher.
    assert!(strict * 2 > all, "{strict} of {all}");
}

#[test]
fn any_instant_is_found_from_both_sides() {
    let (_, good) = shipped();
    let recording = recording(&good);
    let (first, last) = recording.span();
    assert_eq!(recording.after(0), recording.start());
    let mut t = first;
    while t <= last {
        let point = recording.at(t);
        assert!(recording.events()[..point.ix].iter().all(|s| s.entered <= t));
        assert!(recording.events()[point.ix..].iter().all(|s| s.entered > t));
        t += Dur::from_mins(7);
    }
    let mut here = recording.start();
    let mut seen = Vec::new();
    while let Some(mark) = recording.next_mark(None, here) {
        here = mark.point;
        seen.push(here);
    }
    let mut back = Vec::new();
    let mut here = recording.end();
    while let Some(mark) = recording.previous_mark(None, here) {
        here = mark.point;
        back.push(here);
    }
    back.reverse();
    back.retain(|p| *p > recording.start());
    seen.retain(|p| *p < recording.end());
    assert_eq!(seen, back);
}

#[test]
fn the_shipped_shift_is_sound_and_has_something_of_everything() {
    let (header, good) = shipped();
    assert_eq!(good.rest, None);
    assert!(header.practice);
    let recording = recording(&good);
    let (first, last) = recording.span();
    assert!(last - first >= Dur::from_secs(6 * 3600));
    let count = |kind| recording.marks().iter().filter(|m| m.kind == kind).count();
    for (kind, least) in
        [(MarkKind::Alarm, 3), (MarkKind::Breach, 2), (MarkKind::Deviation, 1), (MarkKind::Change, 1)]
    {
        assert!(count(kind) >= least, "{} of {}", count(kind), kind.word());
    }
    assert!(recording.marks().is_sorted_by_key(|m| m.point));
}

#[test]
fn a_call_that_was_not_followed_is_priced_from_both_sides() {
    let (_, good) = shipped();
    let recording = recording(&good);
    let slip = recording.next_mark(Some(MarkKind::Deviation), recording.start()).unwrap();
    let tell = || why(&recording, slip.point, &Settings::default(), 500, &mut || false);
    let told = tell();
    assert_eq!(told, tell());
    let said = told.lines(&opening());
    assert!(
        said.iter().any(|(l, _)| l.starts_with("LIFTED TOO SOON, after 25:08 of at least 38:00 (rework)")),
        "{said:?}"
    );
    let done = told.done.unwrap();
    assert_eq!((Some(done.seq), done.as_called, done.after), (slip.seq, false, None));
    assert!(told.call.is_some() && told.cost.is_some());

    // What was done as called at the planned instant costs nothing.
    let followed = (0..recording.events().len()).find_map(|ix| {
        let told = why(&recording, recording.after(ix), &Settings::default(), 0, &mut || false);
        told.done.as_ref().is_some_and(|d| d.after.is_some_and(|a| a.0.abs() < 1000)).then_some(told)
    });
    let followed = followed.unwrap();
    assert!(followed.cost.unwrap().is_nothing());

    // After the last move there is nothing to tell.
    let over = why(&recording, recording.end(), &Settings::default(), 0, &mut || false);
    assert_eq!((over.done, over.cost), (None, None));
}

/// A pick that is said late was made before the screen of then, on which it was due; by the plan that came last before the word
/// it was still to come.
#[test]
fn why_tells_a_pick_that_is_said_late_by_the_screen_it_was_made_at() {
    let (line, clock) = (Arc::new(line()), ManualClock::default());
    let mut shift =
        LiveShift::in_memory(Arc::clone(&line), opening(), Box::new(clock.clone()), Settings::default());
    shift.submit(&Command::Open { book: book(&line) }, Who::Supervisor).unwrap();
    until(&mut shift, &clock, &[], Time::from_secs(200));
    let call = shift.calls()[0].mv;
    let at = shift.now() - Dur::from_secs(60);
    let lift = Command::Lift { carrier: call.carrier, hoist: call.hoist, from: call.from, at };
    shift.submit(&lift, Who::Operator).unwrap();
    let recording = Recording::new(line, opening(), shift.history().events().to_vec());
    let seq = shift.history().last_physical().unwrap().seq;
    let point = recording.before(seq).unwrap();
    let told = why(&recording, point, &Settings::default(), 0, &mut || false);
    let then = recording.at(at - Dur(1));
    let shown = recording.moment(then).board(&recording, then.at).call.unwrap();
    let told_call = told.call.unwrap();
    assert_eq!((told.at, told_call.wait), (at, shown.wait));
    assert_eq!((told_call.carrier, told_call.by), (shown.carrier, shown.by));
}

/// Hands that do what was done.
struct Same {
    acts: Vec<(Time, Command)>,
    next: usize,
    before: Option<Seq>,
}

impl Hands for Same {
    fn next(&mut self, _: &Line, state: &State, _: &[Call], _: Time) -> Option<(Time, Command)> {
        if self.before.is_some() && self.before != state.last_physical {
            self.next += 1;
        }
        self.before = state.last_physical;
        self.acts.get(self.next).cloned()
    }
}

const TRIES: u64 = 300;

fn until(shift: &mut LiveShift, clock: &ManualClock, told: &[(Time, Command)], end: Time) {
    let mut told = told.iter().peekable();
    loop {
        let now = shift.now();
        while let Some((_, command)) = told.next_if(|(at, _)| *at <= now) {
            shift.submit(command, Who::Supervisor).unwrap();
        }
        let mut wake = shift.next_wake().max(now + Dur(1));
        if let Some((at, _)) = told.peek() {
            wake = wake.min(*at);
        }
        clock.set(wake.min(end));
        shift.tick().unwrap();
        if wake > end {
            return;
        }
    }
}

fn told() -> Vec<(Time, Command)> {
    let t = |m| Time::ZERO + Dur::from_mins(m);
    let tank = TankId::at(11);
    vec![
        (t(50), Command::TankOut { tank, until: Some(t(100)), why: String::new() }),
        (t(75), Command::Note { text: "hoist squeaks".to_owned() }),
    ]
}

fn original(path: &Path, end: Time) -> LiveShift {
    let line = Arc::new(line());
    let book = book(&line);
    let clock = ManualClock::default();
    let new = NewShift {
        texts: texts(),
        opening: opening(),
        zone: "+01:00".to_owned(),
        book,
        settings: Settings::default(),
        practice: true,
        speed: 1.0,
    };
    let mut shift = LiveShift::create(path, line, new, Box::new(clock.clone())).unwrap();
    shift.set_improving(Improving::AtOnce { tries: TRIES }).unwrap();
    let pace = Pace { wrong_carrier: 0.05, distracted: 0.1, ..Pace::HUMAN };
    shift.set_hands(Box::new(Crew::new(pace, 3)));
    until(&mut shift, &clock, &told(), end);
    shift
}

fn good(path: &Path) -> (Header, Good) {
    let mut reader = Reader::open(path).unwrap();
    let good = read_good(&mut reader, &line());
    (reader.header().clone(), good)
}

/// A practice that goes on after an event.
fn forked(header: &Header, good: &Good, ix: usize, path: &Path) -> (LiveShift, ManualClock) {
    let last = &good.records[ix - 1].stamped;
    let origin = Origin {
        journal: "shift.jsonl".to_owned(),
        event: last.seq,
        at: last.entered,
        hash: good.hashes[ix - 1].to_string(),
        to_come: Vec::new(),
    };
    let line = line();
    let fork = Fork { header, line: &line, records: &good.records[..ix], origin: &origin, speed: 1.0 };
    fork.create(path).unwrap();
    let clock = ManualClock::default();
    let hands_out = clock.clone();
    let make = move |_: &Header, base: Time| -> Box<dyn Clock> {
        clock.set(base);
        Box::new(clock)
    };
    let (mut shift, notices) = LiveShift::reopen(path, Settings::default(), demo, make).unwrap();
    assert_eq!(notices, Vec::new());
    assert_eq!(shift.header().unwrap().forked_from, Some(origin));
    shift.go_on_improving(Improving::AtOnce { tries: TRIES });
    (shift, hands_out)
}

#[test]
fn the_same_decisions_make_the_same_events() {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("shift.jsonl");
    let end = Time::ZERO + Dur::from_mins(130);
    let events = original(&path, end).history().events().to_vec();
    let bytes = fs::read(&path).unwrap();
    let (header, good) = good(&path);
    // Right after a move and the plan that was made for it, here and there.
    let acts: Vec<usize> =
        (0..events.len()).filter(|ix| events[*ix].by == Who::Crew && events[*ix].at < end).collect();
    assert!(acts.len() > 30, "{}", acts.len());
    for act in acts.iter().skip(5).step_by(acts.len() / 5) {
        let at = events[*act].entered;
        let ix = events.iter().position(|s| s.entered > at).unwrap();
        let out = dir.path().join(format!("fork-{ix}.jsonl"));
        let (mut shift, clock) = forked(&header, &good, ix, &out);
        assert_eq!(shift.now(), at);
        let same = events[ix..].iter().filter(|s| s.by == Who::Crew).map(|s| match s.event {
            Event::Lifted { carrier, hoist, from } => {
                (s.entered, Command::Lift { carrier, hoist, from, at: s.at })
            }
            Event::Lowered { hoist, to, .. } => (s.entered, Command::Lower { hoist, to, at: s.at }),
            _ => panic!("{s:?}"),
        });
        shift.set_hands(Box::new(Same { acts: same.collect(), next: 0, before: None }));
        let told: Vec<_> = told().into_iter().filter(|(t, _)| *t > at).collect();
        until(&mut shift, &clock, &told, end);
        for (mine, theirs) in shift.history().events().iter().zip(&events) {
            assert_eq!(mine, theirs, "forked after {ix}");
        }
        assert_eq!(shift.history().events().len(), events.len(), "forked after {ix}");
    }
    assert_eq!(fs::read(&path).unwrap(), bytes);
}

#[test]
fn another_decision_parts_the_two() {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("shift.jsonl");
    let end = Time::ZERO + Dur::from_mins(60);
    let events = original(&path, end).history().events().to_vec();
    let (header, good) = good(&path);
    let ix = events.iter().position(|s| s.entered > Time::from_secs(1500)).unwrap();
    let out = dir.path().join("fork.jsonl");
    let (mut shift, clock) = forked(&header, &good, ix, &out);
    shift.set_hands(Box::new(Crew::new(Pace::PUNCTUAL, 1)));
    until(&mut shift, &clock, &[], end);
    let of = |events: &[Stamped]| Recording::new(Arc::new(line()), opening(), events.to_vec());
    let (one, other) = (of(&events), of(shift.history().events()));
    let compared = compare(&one, &other);
    let parting = compared.parting.unwrap();
    assert!(parting.same >= ix && compared.same_events >= ix);
    assert!(parting.at > Time::from_secs(1400));
    let alike = compare(&one, &one);
    assert_eq!((alike.parting, alike.same_events), (None, events.len()));
    assert!(alike.figures.iter().all(|f| f.one == f.other));
    // The same thing done later is not told twice in the same words.
    let ix = events.iter().rposition(|s| matches!(s.event, Event::Lowered { .. })).unwrap();
    let mut later = events[..=ix].to_vec();
    let mut put_off = |by: Dur| {
        (later[ix].at, later[ix].entered) = (events[ix].at + by, events[ix].entered + by);
        later.clone()
    };
    let slower = compare(&of(&events[..=ix]), &of(&put_off(Dur(600))));
    assert_eq!(slower.parting, None, "nobody would call that something else");
    assert!(slower.lines(&opening(), ["a", "b"]).iter().any(|(l, _)| l.starts_with("nowhere by 0:15")));
    let later = put_off(Dur::from_secs(17));
    let parting = compare(&of(&events[..=ix]), &of(&later)).parting.unwrap();
    let (before, after) = (parting.one.unwrap(), parting.other.unwrap());
    assert!(before.text.starts_with("placed ") && before.text == after.text);
    assert_eq!(after.at - before.at, Dur::from_secs(17), "the page says both times");
}

fn run(args: &[&str]) -> (i32, String, String) {
    let done = Program::new(env!("CARGO_BIN_EXE_dwellhand"))
        .args(args)
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .output()
        .unwrap();
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
    (done.status.code().unwrap(), text(done.stdout), text(done.stderr))
}

fn json(args: &[&str]) -> Value {
    let (code, out, err) = run(args);
    assert_eq!((code, err.as_str()), (0, ""));
    serde_json::from_str(&out).unwrap()
}

fn copied(dir: &Path, lines: usize, more: &str) -> PathBuf {
    let path = dir.join(format!("{lines}.jsonl"));
    let text = files::demo_shift().text;
    let kept: String = text.split_inclusive('\n').take(lines).collect();
    fs::write(&path, kept + more).unwrap();
    path
}

#[test]
fn a_damaged_journal_is_shown_as_far_as_it_is_sound() {
    let dir = tempfile::tempdir().unwrap();
    let listed = |path: &Path| run(&["replay", path.to_str().unwrap(), "--list", "events"]);
    // The opening alone, one event, and two ways to be damaged after a hundred.
    let (code, out, err) = listed(&copied(dir.path(), 1, ""));
    assert_eq!((code, out.as_str(), err.as_str()), (0, "", ""));
    let (code, out, err) = listed(&copied(dir.path(), 2, ""));
    assert_eq!((code, out.lines().count(), err.as_str()), (0, 1, ""));
    for more in ["{\"seq\":", "{\"seq\":101}\n{}\n"] {
        let (code, out, err) = listed(&copied(dir.path(), 101, more));
        assert_eq!((code, out.lines().count()), (0, 100), "{err}");
        assert!(err.contains("is shown up to event 100: "), "{err}");
    }
    for lines in [1, 2] {
        let path = copied(dir.path(), lines, "");
        for what in [["--at", "06:00"], ["--why", "06:00"], ["--list", "marks"]] {
            let args = [&["replay", path.to_str().unwrap()][..], &what].concat();
            assert_eq!(run(&args).0, 0, "{what:?} of {lines} lines");
        }
    }
    let empty = dir.path().join("empty.jsonl");
    fs::write(&empty, "").unwrap();
    let (code, _, err) = listed(&empty);
    assert_eq!(code, 2);
    assert!(err.contains("it is empty"), "{err}");
}

/// What was typed and what came back.
fn in_lines(file: &str, words: &str) -> String {
    plainly(&["replay", file, "--plain", "--budget", "200"], Path::new("."), words)
}

/// The same of any command, with a folder of its own for journals.
fn plainly(args: &[&str], home: &Path, words: &str) -> String {
    let mut program = Program::new(env!("CARGO_BIN_EXE_dwellhand"));
    program.args(args).env("TZ", "UTC").env("XDG_STATE_HOME", home).write_stdin(words);
    let out = program.output().unwrap();
    assert!(out.status.success(), "{}", String::from_utf8_lossy(&out.stderr));
    String::from_utf8(out.stdout).unwrap()
}

/// The recording in lines: words go to a time, an event, a mark, tell what is there, and ask why. Nothing is ever written.
#[test]
fn a_replay_goes_in_lines_too() {
    let dir = tempfile::tempdir().unwrap();
    let path = copied(dir.path(), usize::MAX, "");
    let (file, bytes) = (path.to_str().unwrap(), fs::read(&path).unwrap());
    let told = in_lines(file, "to 08:00\nboard\nqueue\nhandover\nhelp\nquit\ny\n");
    assert!(told.contains("REPLAY.") && told.contains("08:00:00 "), "{told}");
    let between = |l: &str| l.starts_with("07:") && l.contains(" crew ");
    assert!(!told.lines().any(between), "what is passed over is not told: {told}");
    for word in ["unfollowed: ", "to: ", "before: ", "handover: ", "record: "] {
        assert!(told.lines().any(|l| l.starts_with(word)), "{word}: {told}");
    }
    assert!(!told.lines().any(|l| l.starts_with("done: ") || l.starts_with("propose: ")), "{told}");
    let marks = json(&["replay", file, "--list", "marks", "--json"]);
    let text = |kind: &str| {
        let mark = marks["marks"].as_array().unwrap().iter().find(|m| m["kind"] == kind).unwrap();
        mark["text"].as_str().unwrap().to_owned()
    };
    // To the first of a kind, past it and back to it.
    for (word, kind) in [("broken", "broken"), ("unfollowed", "not as called")] {
        let told = in_lines(file, &format!("{word}\n{word}\nbefore {word}\n"));
        assert!(told.matches(&text(kind)).count() >= 2, "{}: {told}", text(kind));
    }
    let why = in_lines(file, "unfollowed\nwhy\n");
    assert!(why.contains("What was done") && why.contains("NOT what the call said"), "{why}");
    for word in ["done", "seen", "propose", "commit", "undo"] {
        assert!(in_lines(file, &format!("{word}\n")).contains("Nothing is said in a recording."), "{word}");
    }
    for (words, answer) in
        [("to soon", "To which time?"), ("before", "Before what?"), ("xyz", "Not understood: xyz")]
    {
        assert!(in_lines(file, &format!("{words}\n")).contains(answer), "{words}");
    }
    assert_eq!(fs::read(&path).unwrap(), bytes);
}

/// The words after a line that begins so, up to the next that begins otherwise.
fn after<'t>(told: &'t str, head: &str) -> Vec<&'t str> {
    told.lines().skip_while(|l| !l.starts_with(head)).skip(1).collect()
}

#[test]
fn what_next_is_asked_in_lines_and_says_what_was_done_then() {
    let dir = tempfile::tempdir().unwrap();
    let path = copied(dir.path(), usize::MAX, "");
    let (file, bytes) = (path.to_str().unwrap(), fs::read(&path).unwrap());
    // Typed before the question is found: it waits for it. Enter and what moves about say the question again.
    let told = in_lines(file, "to 08:00\nwhat\n\nplay\ncall\n7\n1\nenough\n");
    assert_eq!(told.matches("WHAT NEXT? a plain line.").count(), 4, "{told}");
    let asked = after(&told, "WHAT NEXT?");
    assert!(asked[0].starts_with("1 pick ") && asked[1].starts_with("2 pick "), "{told}");
    assert!(asked.iter().any(|l| l.contains("The call is hidden.")), "{told}");
    let verdicts = ["Right: that is the call", "As good as the call, or better", "There is a better move"];
    let given = told.lines().find(|l| verdicts.contains(l) || *l == "That would have broken a window");
    let verdict = after(&told, given.unwrap_or_else(|| panic!("no verdict: {told}")));
    assert!(verdict.contains(&"What was done then"), "{told}");
    let score = usize::from(given.is_some_and(|g| verdicts[..2].contains(&g)));
    assert!(told.contains(&format!("No more questions: {score} of 1 right, ")), "{told}");
    // Passed over, the next is another one.
    let two = in_lines(file, "to 08:00\nwhat\npass\nline\n");
    assert_eq!(two.matches("WHAT NEXT? ").count(), 2, "{two}");
    assert_eq!(fs::read(&path).unwrap(), bytes);
}

#[test]
fn a_recording_is_taken_over_in_lines() {
    let dir = tempfile::tempdir().unwrap();
    let path = copied(dir.path(), usize::MAX, "");
    let (file, bytes) = (path.to_str().unwrap(), fs::read(&path).unwrap());
    let args = ["replay", file, "--plain", "--budget", "200"];
    // A simulated crew goes on at once; then it is held against what happened, and the recording is where it was.
    let told = plainly(&args, dir.path(), "to 08:00\ntake\nas far as\n1\nbeside\nboard\nquit\ny\n");
    assert!(told.contains("1 I go on, in real time"), "{told}");
    assert_eq!(told.matches("What happened beside the practice\n").count(), 2, "{told}");
    let kept = fs::read_dir(dir.path().join("dwellhand")).unwrap().map(|e| e.unwrap().file_name());
    let practices = kept.filter(|n| n.to_string_lossy().starts_with("practice-"));
    assert_eq!(practices.filter(|n| n.to_string_lossy().ends_with(".jsonl")).count(), 1);
    // By the person: the words of the live shift are heard, and what is typed after it is heard by the recording again.
    let told = plainly(&args, dir.path(), "to 08:00\nT\n1\ncall\nnote\nquit\ny\nbeside\nq\ny\nhelp\n");
    assert!(!told.contains("Not understood: q") && !told.contains("Type a word"), "q ends it:\n{told}");
    assert_eq!(told.matches("What happened beside the practice\n").count(), 2, "{told}");
    assert_eq!(fs::read(&path).unwrap(), bytes);
}

#[test]
fn a_replay_can_be_had_without_a_screen() {
    let dir = tempfile::tempdir().unwrap();
    let path = copied(dir.path(), usize::MAX, "");
    let file = path.to_str().unwrap();
    let bytes = fs::read(&path).unwrap();
    let board = json(&["replay", file, "--at", "08:00", "--json"]);
    assert_eq!(board, json(&["board", file, "--at", "08:00", "--json"]));
    let marks = json(&["replay", "--list", "marks", "--json"]);
    let first = marks["marks"].as_array().unwrap().iter().find(|m| m["kind"] == "not as called").unwrap();
    let event = first["event"].to_string();
    let told = json(&["replay", file, "--why", &event, "--budget", "100", "--json"]);
    assert_eq!((&told["done"]["event"], &told["done"]["as_called"]), (&first["event"], &Value::Bool(false)));
    assert!(!told["cost"]["words"].as_array().unwrap().is_empty());

    let fork = dir.path().join("fork.jsonl");
    let out = fork.to_str().unwrap();
    let over = ["replay", file, "--from", "08:00", "--out", out, "--crew", "punctual"];
    let (code, text, err) = run(&[&over[..], &["--until", "08:20", "--budget", "0"]].concat());
    assert_eq!((code, err.as_str()), (0, ""), "{text}");
    assert!(text.starts_with("Taken over from "), "{text}");
    let compared = json(&["replay", file, "--compare", out, "--json"]);
    let event = compared["forked_from"]["event"].as_u64().unwrap();
    let (_, good) = shipped();
    assert_eq!(compared["forked_from"]["hash"], good.hashes[event as usize - 1].to_string());
    assert!(compared["same_events"].as_u64().unwrap() >= event);
    assert_eq!(fs::read(&path).unwrap(), bytes);

    let (code, _, err) = run(&over);
    assert_eq!(code, 2);
    assert!(err.contains("exists already"), "{err}");
    let (code, _, err) = run(&["replay", file, "--why", "999999"]);
    assert_eq!(code, 2);
    assert!(err.contains("has no event 999999"), "{err}");
    let (code, _, err) = run(&["replay", file]);
    assert_eq!(code, 2);
    assert!(err.contains("needs a terminal"), "{err}");
}
