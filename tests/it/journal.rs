//! Promises of the journal: what is written is read, what is torn is cut, what is damaged is said.

use std::fs;
use std::io::Write as _;
use std::path::{Path, PathBuf};

use chrono::DateTime;
use dwellhand::civil::Opening;
use dwellhand::ids::{CarrierId, HoistId, OrderId, RecipeId, Seq, StepNo, TankId};
use dwellhand::journal::*;
use dwellhand::line::{CarrierSpec, EntrySide, Order, OrderBook, Priority, Visit};
use dwellhand::schedule::{Move, Schedule};
use dwellhand::shift::Pace;
use dwellhand::shift::ledger::{Count, Entry, Inspection, Quantity, Reading, Shade, Sign};
use dwellhand::shift::{
    AlarmKey, AlarmKind, AlarmLevel, Bench, Change, Claim, Event, Stamped, StopCause, StopStep, Who, Whose,
    Window,
};
use dwellhand::units::{Dur, Time};
use proptest::prelude::*;

use crate::small;

const B1: CarrierId = CarrierId(0);
const B3: CarrierId = CarrierId(2);
const H1: HoistId = HoistId(0);
const STEP_1: Visit = Visit::Step(StepNo(0));

fn header() -> Header {
    let text = |name: &str, text: &str| StoredText { name: name.to_owned(), text: text.to_owned() };
    Header {
        texts: StoredTexts {
            line: text("small-line.jsonc", "{ \"name\": \"small\" }\n"),
            recipes: text("recipes.jsonc", "// clear, wash\n"),
            orders: text("orders.jsonc", "[]\n"),
        },
        opening: Opening::parse("2026-11-25T06:00:00+01:00").unwrap(),
        zone: "Europe/Berlin".to_owned(),
        program: "dwellhand 0.1.0".to_owned(),
        practice: true,
        speed: 10.0,
        created: DateTime::parse_from_rfc3339("2026-11-25T05:58:11.250+01:00").unwrap(),
        forked_from: None,
    }
}

/// One event of every kind, and more than one where a field has several forms.
fn every_entry() -> Vec<Entry> {
    let order = OrderId(0);
    let seen = Inspection {
        shade: Shade::Darker,
        thickness_um: Some(15.5),
        sealed: Some(true),
        marks: "burn at the contact".to_owned(),
    };
    let reading = Reading { quantity: Quantity::Ph, value: 6.1 };
    vec![
        Entry::Signed { sign: Sign::TakesOver, initials: "KM".to_owned() },
        Entry::Received { order, parts: 120 },
        Entry::Racked { carrier: B1, parts: 60 },
        Entry::Unracked { carrier: B1, count: Count { good: 55, rework: 2, scrap: 1 } },
        Entry::Found { order, tank: small::RINSE, parts: 2 },
        Entry::Returned { order, parts: 3 },
        Entry::Inspected { carrier: B1, seen },
        Entry::Bath { tank: small::CLEAN, reading },
        Entry::BathChanged { tank: small::CLEAN },
    ]
}

fn every_kind() -> Vec<Event> {
    let key = AlarmKey { carrier: B1, visit: STEP_1, kind: AlarmKind::Dwell };
    let air = AlarmKey { carrier: B1, visit: Visit::Hold(StepNo(2)), kind: AlarmKind::Air };
    let mv = |to, leaves, visit, start, attach, release| Move {
        carrier: B1,
        hoist: H1,
        from: small::CLEAN,
        to,
        leaves,
        visit,
        start: Time(start),
        attach,
        release,
    };
    let moves = vec![
        mv(small::RINSE, STEP_1, Visit::Step(StepNo(1)), 90_000, true, false),
        mv(small::ANODISE, Visit::Step(StepNo(1)), Visit::Step(StepNo(2)), 120_500, false, true),
    ];
    let corrected = |claim| Event::CarrierCorrected { carrier: B1, claim };
    vec![
        Event::Opened { book: small::book() },
        Event::PlanAdopted { plan: Schedule { moves: moves.clone(), made_at: Time(1000) }.into() },
        Event::Lifted { carrier: B1, hoist: H1, from: small::LOAD },
        Event::Lowered { carrier: B1, hoist: H1, to: small::CLEAN, visit: STEP_1, release: true },
        corrected(Claim::Queued),
        corrected(Claim::InTank {
            tank: small::WAIT,
            since: Time(-5),
            visit: Visit::Stray { resume: StepNo(3) },
        }),
        corrected(Claim::OnHook { hoist: H1, from: small::CLEAN, leaves: STEP_1, lifted: Time(77) }),
        corrected(Claim::OffLine),
        Event::CarrierCorrected { carrier: B3, claim: Claim::Finished { tank: small::UNLOAD } },
        Event::HoistCorrected { hoist: HoistId(1), at: small::ANODISE },
        Event::TankOut { tank: small::CLEAN, until: Time(900_000), why: String::new() },
        Event::TankOut { tank: small::RINSE, until: Time::FAR, why: String::new() },
        Event::TankBack { tank: small::RINSE },
        Event::Undone { seq: Seq(10) },
        Event::Retimed { seq: Seq(4), at: Time(61_000) },
        Event::AlarmRaised { key, level: AlarmLevel::Due },
        Event::AlarmEscalated { key, level: AlarmLevel::Over },
        Event::AlarmShelved { key, until: Time(700_000), reason: "crane stuck\nsaid B.".to_owned() },
        Event::AlarmUnshelved { key },
        Event::AlarmRaised { key: air, level: AlarmLevel::Reached },
        Event::AlarmAcknowledged { key: air },
        Event::AlarmCleared { key: air },
        Event::Noted { text: "Öl in der Spülung".to_owned() },
        Event::PlanAdopted { plan: later_plan(&moves).into() },
    ]
    .into_iter()
    .chain(every_change().into_iter().map(|change| Event::Changed { change, why: "said so".to_owned() }))
    .chain([
        Event::AlarmSuppressed { key, hoist: H1 },
        Event::AlarmUnsuppressed { key },
        Event::StopAlarm { hoist: H1, step: StopStep::Raised(AlarmLevel::Due) },
        Event::StopAlarm { hoist: H1, step: StopStep::Escalated(AlarmLevel::Over) },
        Event::StopAlarm { hoist: H1, step: StopStep::Acknowledged },
        Event::StopAlarm { hoist: H1, step: StopStep::Cleared },
    ])
    .chain(every_entry().into_iter().map(|entry| Event::Entered { entry }))
    .chain(every_bench().into_iter().map(|change| Event::Changed { change, why: String::new() }))
    .chain([
        Event::PaceLearned {
            pace: Pace {
                stretch: [(H1, 1187)].into(),
                critical: Some(Dur(7000)),
                short: None,
                other: Some(Dur(4000)),
            },
        },
        Event::PaceLearned { pace: Pace::default() },
        Event::TankOut { tank: small::CLEAN, until: Time(900_000), why: "bag filter".to_owned() },
        Event::AlarmRaised {
            key: AlarmKey { carrier: B1, visit: STEP_1, kind: AlarmKind::Short },
            level: AlarmLevel::Reached,
        },
    ])
    .collect()
}

/// Work beside the line.
fn every_bench() -> Vec<Change> {
    vec![
        Change::Lend { carrier: B1, bench: bench(Dur(1_200_000)) },
        Change::Lend { carrier: B1, bench: bench(Dur::UNLIMITED) },
        Change::Back { carrier: B1, tank: Some(small::RINSE) },
        Change::Back { carrier: B1, tank: None },
    ]
}

/// Ten minutes or more at a bench, then on with the second step.
fn bench(max: Dur) -> Bench {
    Bench { name: "K1".to_owned(), min: Dur(600_000), max, resume: StepNo(1) }
}

/// One change of every kind, and more than one where a field has several forms.
fn every_change() -> Vec<Change> {
    let window = |max| Window { min: Dur(60_000), target: Dur(90_000), max };
    let (a1, a2) = (OrderId(0), OrderId(1));
    let book = small::book();
    let order = Order { name: "A-3".to_owned(), ..book.orders[a2].clone() };
    let spec = CarrierSpec { name: "B4".to_owned(), order: OrderId(2), ..book.carriers[B3].clone() };
    let dwell = |whose, max| Change::Dwell { whose, step: StepNo(0), window: window(max) };
    vec![
        Change::Hold { carrier: B1 },
        Change::Release { carrier: B1 },
        Change::Park { carrier: B1, tank: None },
        Change::Park { carrier: B1, tank: Some(small::WAIT) },
        Change::BringBack { carrier: B1 },
        Change::Quarantine { tank: small::RINSE },
        Change::Free { tank: small::RINSE },
        Change::StopHoist { hoist: H1, cause: StopCause::Break, until: Some(Time(900_000)) },
        Change::StopHoist { hoist: H1, cause: StopCause::Fault, until: None },
        Change::RunHoist { hoist: H1 },
        Change::SlowHoist { hoist: H1, percent: 60 },
        Change::Promise { order: a1, priority: Priority::Rush, due: Some(Time(3_600_000)) },
        Change::Promise { order: a1, priority: Priority::Low, due: None },
        Change::Reorder { carriers: vec![B3, B1] },
        Change::AddOrder { order: Box::new(order), carriers: vec![spec] },
        Change::CancelOrder { order: a2 },
        Change::Split { order: a1, carriers: vec![B1], name: "A-1 b".to_owned() },
        dwell(Whose::Carrier(B3), Dur(100_000)),
        dwell(Whose::Order(a1), Dur::UNLIMITED),
        Change::Entry { order: Some(a1), side: EntrySide::At(small::LOAD) },
        Change::Entry { order: None, side: EntrySide::Any },
        Change::Rework { carrier: B1, recipe: RecipeId(1) },
    ]
}

/// A plan that has moves of another: two in full runs of their own shift, and one that is new.
fn later_plan(before: &[Move]) -> Schedule {
    let shifted = |m: Move, by: i64| Move { start: Time(m.start.0 + by), ..m };
    let new = Move { carrier: B3, leaves: Visit::Load, visit: STEP_1, ..before[0] };
    let moves = vec![shifted(before[0], 2500), new, shifted(before[1], -500)];
    Schedule { moves, made_at: Time(23_000) }
}

/// The last plan among the first so many events.
fn plan_before(events: &[Stamped]) -> Option<wire::Adopted> {
    events.iter().rev().find_map(|s| match &s.event {
        Event::PlanAdopted { plan } => Some((s.seq, plan.clone())),
        _ => None,
    })
}

/// The stored name of a kind. A new kind does not compile here until it has one, and then needs a golden line.
fn kind(event: &Event) -> &'static str {
    match event {
        Event::Opened { .. } => "opened",
        Event::Entered { .. } => "entered",
        Event::Lifted { .. } => "lifted",
        Event::Lowered { .. } => "lowered",
        Event::CarrierCorrected { .. } => "carrier-corrected",
        Event::HoistCorrected { .. } => "hoist-corrected",
        Event::TankOut { .. } => "tank-out",
        Event::TankBack { .. } => "tank-back",
        Event::PlanAdopted { .. } => "plan-adopted",
        Event::Undone { .. } => "undone",
        Event::Retimed { .. } => "retimed",
        Event::AlarmRaised { .. } => "alarm-raised",
        Event::AlarmEscalated { .. } => "alarm-escalated",
        Event::AlarmCleared { .. } => "alarm-cleared",
        Event::AlarmAcknowledged { .. } => "alarm-acknowledged",
        Event::AlarmShelved { .. } => "alarm-shelved",
        Event::AlarmUnshelved { .. } => "alarm-unshelved",
        Event::AlarmSuppressed { .. } => "alarm-suppressed",
        Event::AlarmUnsuppressed { .. } => "alarm-unsuppressed",
        Event::StopAlarm { .. } => "stop-alarm",
        Event::Changed { .. } => "changed",
        Event::PaceLearned { .. } => "pace-learned",
        Event::Noted { .. } => "noted",
    }
}

fn stamped(events: Vec<Event>) -> Vec<Stamped> {
    let who = [Who::Operator, Who::Supervisor, Who::Crew, Who::Program];
    (1..)
        .zip(events)
        .map(|(n, event)| Stamped {
            seq: Seq(n),
            at: Time(n as i64 * 1000),
            entered: Time(n as i64 * 1000 + 40),
            by: who[n as usize % 4],
            event,
        })
        .collect()
}

/// The golden journal as this program would write it.
fn golden_now() -> String {
    let line = small::line();
    let book = small::book();
    let mut text = wire::write_header(&header());
    let mut prev = Digest::of(text.as_bytes());
    let events = stamped(every_kind());
    for (n, s) in events.iter().enumerate() {
        let wall = DateTime::parse_from_rfc3339("2026-11-25T06:10:00.5+01:00").unwrap();
        let next =
            wire::write_event(s, &wall.into(), &prev, &line, &book, plan_before(&events[..n]).as_ref());
        prev = Digest::of(next.as_bytes());
        text.push('\n');
        text.push_str(&next);
    }
    text.push('\n');
    text
}

fn golden_path() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/journal/golden.jsonl")
}

fn read_all(path: &Path) -> Result<(Vec<Stamped>, Option<Torn>), Error> {
    let mut reader = Reader::open(path)?;
    let (records, torn) = read(&mut reader, &small::line())?;
    Ok((records.into_iter().map(|r| r.stamped).collect(), torn))
}

/// A journal with one event of every kind in a folder of its own.
fn written() -> (tempfile::TempDir, PathBuf) {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("shift.jsonl");
    let mut journal = Journal::create(&path, &header()).unwrap();
    let done = journal.append(&small::line(), &OrderBook::default(), &stamped(every_kind()), Synced::Now);
    assert_eq!(done.unwrap(), Appended::Stored);
    (dir, path)
}

/// Opens for appending and reads everything.
fn reopened(path: &Path) -> Result<(Journal, Vec<Stamped>), Error> {
    let (mut journal, _) = Journal::open(path)?;
    let records = journal.catch_up(&small::line(), &OrderBook::default())?;
    Ok((journal, records.into_iter().map(|r| r.stamped).collect()))
}

#[test]
fn golden_lines_are_read_and_written_as_they_stand() {
    let golden = fs::read_to_string(golden_path()).unwrap();
    assert_eq!(golden_now(), golden, "the stored form changed; old journals must still be read");
    let (events, torn) = read_all(&golden_path()).unwrap();
    assert_eq!(torn, None);
    assert_eq!(events, stamped(every_kind()));
    assert_eq!(Reader::open(&golden_path()).unwrap().header(), &header());
}

/// Run by hand when a kind is added; lines that stand must not change.
#[test]
#[ignore = "writes the golden file"]
fn renew_golden_lines() {
    fs::write(golden_path(), golden_now()).unwrap();
}

#[test]
fn every_kind_has_a_golden_line_under_its_name() {
    let golden = fs::read_to_string(golden_path()).unwrap();
    for (event, line) in every_kind().iter().zip(golden.lines().skip(1)) {
        assert!(line.contains(&format!("\"event\":\"{}\"", kind(event))), "{line}");
    }
    let mut kinds: Vec<_> = every_kind().iter().map(kind).collect();
    kinds.sort_unstable();
    kinds.dedup();
    assert_eq!(kinds.len(), 23);
}

#[test]
fn what_is_appended_is_read_again() {
    let (_dir, path) = written();
    let (events, torn) = read_all(&path).unwrap();
    assert_eq!((events, torn), (stamped(every_kind()), None));
    assert_eq!(Reader::open(&path).unwrap().header(), &header());
}

#[cfg(unix)]
#[test]
fn a_journal_belongs_to_its_owner() {
    use std::os::unix::fs::PermissionsExt as _;
    let (_dir, path) = written();
    assert_eq!(fs::metadata(path).unwrap().permissions().mode() & 0o777, 0o600);
}

#[test]
fn a_journal_is_not_overwritten() {
    let (_dir, path) = written();
    let e = Journal::create(&path, &header()).unwrap_err();
    assert!(e.to_string().contains("exists already"), "{e}");
}

#[test]
fn faults_name_operation_and_path() {
    let dir = tempfile::tempdir().unwrap();
    let nowhere = dir.path().join("no/such/folder/shift.jsonl");
    let e = Journal::create(&nowhere, &header()).unwrap_err().to_string();
    assert!(e.starts_with(&format!("cannot create the journal {}", nowhere.display())), "{e}");
    let file = dir.path().join("file");
    fs::write(&file, "x").unwrap();
    let below = file.join("shift.jsonl");
    let e = Journal::create(&below, &header()).unwrap_err().to_string();
    assert!(e.contains(&below.display().to_string()), "{e}");
    let e = ensure_folder(&below.join("x")).unwrap_err().to_string();
    assert!(e.starts_with("cannot make the folder"), "{e}");
    let e = Journal::open(&nowhere).unwrap_err().to_string();
    assert!(e.starts_with("cannot open the journal"), "{e}");
}

#[test]
fn a_full_disk_is_said_in_words() {
    let full = Path::new("/dev/full");
    if !full.exists() {
        return;
    }
    let e = fs::OpenOptions::new().append(true).open(full).and_then(|mut f| f.write_all(b"x")).unwrap_err();
    let e = Error::Io { operation: "append to the journal", path: full.to_owned(), source: e };
    assert!(e.to_string().starts_with("cannot append to the journal /dev/full: No space left"), "{e}");
}

#[test]
fn the_last_record_cut_anywhere_leaves_all_before_it() {
    let (_dir, path) = written();
    let whole = fs::read(&path).unwrap();
    let start = whole[..whole.len() - 1].iter().rposition(|b| *b == b'\n').unwrap() + 1;
    let all = stamped(every_kind());
    for cut in start + 1..whole.len() {
        fs::write(&path, &whole[..cut]).unwrap();
        let (mut journal, events) = reopened(&path).unwrap();
        assert_eq!(events, all[..all.len() - 1], "cut at {cut}");
        let torn = journal.take_torn().pop().expect("a torn record");
        assert_eq!(fs::read(torn.kept.as_ref().unwrap()).unwrap(), &whole[start..cut]);
        assert_eq!(fs::read(&path).unwrap(), &whole[..start]);
        assert!(torn.to_string().contains("torn-"), "{torn}");

        let again = journal.append(&small::line(), &small::book(), &all[all.len() - 1..], Synced::Now);
        assert_eq!(again.unwrap(), Appended::Stored);
        assert_eq!(read_all(&path).unwrap().0, all);
        fs::remove_file(torn.kept.unwrap()).unwrap();
    }
}

#[test]
fn torn_records_are_all_kept() {
    let (dir, path) = written();
    for n in 1..=3 {
        fs::OpenOptions::new().append(true).open(&path).unwrap().write_all(b"{\"seq\":").unwrap();
        reopened(&path).unwrap();
        assert!(dir.path().join(format!("shift.jsonl.torn-{n}")).exists());
    }
}

#[test]
fn a_torn_record_that_cannot_be_kept_is_not_cut() {
    let (dir, path) = written();
    // As long as a name may be: there is no room for what is put after it.
    let long = dir.path().join("j".repeat(255));
    fs::rename(path, &long).unwrap();
    fs::OpenOptions::new().append(true).open(&long).unwrap().write_all(b"{\"seq\":").unwrap();
    let whole = fs::read(&long).unwrap();
    let (mut journal, _) = Journal::open(&long).unwrap();
    for _ in 0..2 {
        let e = journal.catch_up(&small::line(), &OrderBook::default()).unwrap_err();
        assert!(e.to_string().starts_with("cannot keep the torn record beside"), "{e}");
        assert_eq!((journal.seen(), fs::read(&long).unwrap()), (Seq(0), whole.clone()));
    }
}

#[test]
fn rubbish_as_a_whole_last_line_is_torn_too() {
    let (_dir, path) = written();
    fs::OpenOptions::new().append(true).open(&path).unwrap().write_all(b"\0\0\0\0\n").unwrap();
    let (events, torn) = read_all(&path).unwrap();
    assert_eq!(events, stamped(every_kind()));
    assert_eq!(torn.unwrap().bytes, b"\0\0\0\0\n");
    let (mut journal, events) = reopened(&path).unwrap();
    assert_eq!((events.len(), journal.take_torn().len()), (every_kind().len(), 1));
}

#[test]
fn a_file_cut_anywhere_gives_a_prefix_or_an_error() {
    let (_dir, path) = written();
    let whole = fs::read(&path).unwrap();
    let all = stamped(every_kind());
    let first = whole.iter().position(|b| *b == b'\n').unwrap() + 1;
    for cut in 0..whole.len() {
        fs::write(&path, &whole[..cut]).unwrap();
        match read_all(&path) {
            Ok((events, torn)) => {
                assert!(cut >= first);
                assert_eq!(events, all[..events.len()]);
                assert_eq!(torn.is_some(), whole[cut - 1] != b'\n');
            }
            Err(e) => assert!(cut < first && matches!(e, Error::NotAJournal { .. }), "{cut}: {e}"),
        }
    }
}

/// Changes the golden journal's lines and says what reading it gives.
fn told(change: impl FnOnce(&mut Vec<String>)) -> String {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("j");
    let mut lines: Vec<String> = golden_now().lines().map(str::to_owned).collect();
    change(&mut lines);
    fs::write(&path, lines.join("\n") + "\n").unwrap();
    let by_reader = read_all(&path).unwrap_err().to_string();
    let by_writer = reopened(&path).unwrap_err().to_string();
    assert_eq!(by_reader, by_writer);
    assert_eq!(fs::read_to_string(&path).unwrap(), lines.join("\n") + "\n", "damage is left as it is");
    by_reader.strip_prefix(&format!("{}", path.display())).unwrap_or(&by_reader).to_owned()
}

#[test]
fn damage_in_the_middle_is_said_with_its_line() {
    let broken = told(|l| l[4].truncate(20));
    assert!(broken.starts_with(":5: EOF while parsing") && broken.contains("expected one event"), "{broken}");
    let missing = told(|l| drop(l.remove(4)));
    assert!(missing.starts_with(":5: event 5; expected event 4"), "{missing}");
    let twice = told(|l| l.insert(4, l[3].clone()));
    assert!(twice.starts_with(":5: event 3; expected event 4"), "{twice}");
    let changed = told(|l| l[4] = l[4].replace("\"T1\"", "\"T3\""));
    assert!(changed.starts_with(":6: the hash") && changed.contains("a line was changed"), "{changed}");
    let swapped = told(|l| l.swap(4, 5));
    assert!(swapped.starts_with(":5: event 5; expected event 4"), "{swapped}");
    let empty = told(|l| l.insert(3, String::new()));
    assert!(empty.starts_with(":4: EOF"), "{empty}");
}

#[test]
fn strange_words_are_said_with_their_line() {
    for (from, to, said) in [
        ("\"hoist\":\"H1\"", "\"hoist\":\"H9\"", ":4: the hoist \"H9\"; expected a hoist of this shift"),
        ("\"lifted\"", "\"launched\"", ":4: unknown variant `launched`"),
        ("\"from\":\"L\"", "\"from\":\"L\",\"mood\":\"good\"", ":4: unknown field `mood`"),
        ("\"by\":\"program\"", "\"by\":\"nobody\"", ":4: unknown variant `nobody`"),
        ("\"at\":3000", "\"at\":9223372036854775807", ":4: the instant 9223372036854775807"),
        ("\"at\":3000", "\"at\":\"3000\"", ":4: invalid type: string \"3000\""),
    ] {
        let e = told(|l| {
            assert!(l[3].contains(from), "{}", l[3]);
            l[3] = l[3].replace(from, to);
        });
        assert!(e.starts_with(said), "{e}");
    }
    let e = told(|l| l[4] = l[4].replace("step 1", "step 4"));
    assert!(e.starts_with(":5: the visit \"step 4\"; expected a step from 1 to 3"), "{e}");
    let e = told(|l| l[14] = l[14].replace("\"of\":10", "\"of\":14"));
    assert!(e.starts_with(":15: event 14 about event 14"), "{e}");
}

#[test]
fn a_plan_that_names_moves_that_are_not_there_is_said() {
    let last = 1 + every_kind().iter().rposition(|e| matches!(e, Event::PlanAdopted { .. })).unwrap();
    for (from, to, said) in [
        ("\"after\":2", "\"after\":3", "a plan after event 3; expected event 2"),
        ("[0,1,2500]", "[1,2,2500]", "2 moves from number 1 on; expected moves of the plan before"),
        ("[0,1,2500]", "[0,1,9223372036854775807]", "the instant 9223372036854775807"),
        ("\"after\":2,", "", "1 moves from number 0 on"),
        ("[0,1,2500]", "[0,1]", "data did not match"),
    ] {
        let e = told(|l| {
            assert!(l[last].contains(from), "{}", l[last]);
            l[last] = l[last].replace(from, to);
        });
        assert!(e.starts_with(&format!(":{}: {said}", last + 1)), "{e}");
    }
}

#[test]
fn an_opening_that_does_not_fit_is_refused() {
    let e = told(|l| l[0] = l[0].replace("journal/1", "journal/2"));
    assert!(e.contains("is written as \"dwellhand-journal/2\"; this program reads"), "{e}");
    let e = told(|l| l[0] = l[0].replace("// clear", "// Clear"));
    assert!(e.starts_with(":1: the fingerprint"), "{e}");
    let e = told(|l| drop(l.remove(0)));
    assert!(e.contains("is not a journal: its first line is no opening"), "{e}");
    let e = told(|l| l[0] = "# notes".to_owned());
    assert!(e.contains("is not a journal: its first line is not JSON"), "{e}");
    let e = told(|l| l[0] = "x".repeat(LONGEST_LINE + 10));
    assert!(e.contains("a line that does not end"), "{e}");
}

#[test]
fn the_slower_of_two_writers_is_given_what_it_missed() {
    let (_dir, path) = written();
    let line = small::line();
    let (mut a, events) = reopened(&path).unwrap();
    let (mut b, _) = reopened(&path).unwrap();
    let note = |n: usize, text: &str| Stamped {
        seq: Seq(n as u64),
        at: Time(0),
        entered: Time(0),
        by: Who::Operator,
        event: Event::Noted { text: text.to_owned() },
    };
    let next = events.len() + 1;
    let book = small::book();
    assert_eq!(a.append(&line, &book, &[note(next, "a")], Synced::Now).unwrap(), Appended::Stored);
    let Appended::Behind(missed) = b.append(&line, &book, &[note(next, "b")], Synced::Now).unwrap() else {
        panic!("b has not seen a's note");
    };
    assert_eq!(missed.into_iter().map(|r| r.stamped).collect::<Vec<_>>(), [note(next, "a")]);
    assert_eq!(b.append(&line, &book, &[note(next + 1, "b")], Synced::Now).unwrap(), Appended::Stored);
    assert_eq!(a.tail(&line, &book).unwrap().len(), 1);
    assert_eq!((a.seen(), b.seen()), (Seq(next as u64 + 1), Seq(next as u64 + 1)));
    assert_eq!(read_all(&path).unwrap().0.len(), next + 1);
}

#[test]
fn a_held_lock_is_waited_for_and_then_said() {
    let (_dir, path) = written();
    let (mut journal, _) = reopened(&path).unwrap();
    let other = fs::File::open(&path).unwrap();
    other.lock().unwrap();
    assert_eq!(journal.tail(&small::line(), &small::book()).unwrap(), []);
    let e = journal.catch_up(&small::line(), &small::book()).unwrap_err();
    assert!(e.to_string().contains("is locked by another program"), "{e}");
    other.unlock().unwrap();
    journal.catch_up(&small::line(), &small::book()).unwrap();
}

#[test]
fn a_journal_that_was_cut_under_us_is_said() {
    let (_dir, path) = written();
    let (mut journal, _) = reopened(&path).unwrap();
    fs::OpenOptions::new().write(true).open(&path).unwrap().set_len(100).unwrap();
    let e = journal.tail(&small::line(), &small::book()).unwrap_err();
    assert!(e.to_string().contains("somebody cut it"), "{e}");
}

/// The child of the next test: appends notes and says the number of each once it is confirmed.
#[test]
#[ignore = "run by another test as a process of its own"]
fn child_that_writes_until_it_is_killed() {
    let path = PathBuf::from(std::env::var_os("DWELLHAND_TEST_JOURNAL").unwrap());
    let (mut journal, _) = reopened(&path).unwrap();
    loop {
        let seq = Seq(journal.seen().0 + 1);
        let event = Event::Noted { text: "x".repeat(5000) };
        let s = Stamped { seq, at: Time(0), entered: Time(0), by: Who::Operator, event };
        journal.append(&small::line(), &small::book(), &[s], Synced::Now).unwrap();
        let mut out = std::io::stdout();
        out.write_all(format!("stored {}\n", seq.0).as_bytes()).and_then(|()| out.flush()).unwrap();
    }
}

#[test]
fn nothing_confirmed_is_lost_to_a_kill() {
    use std::process::{Command, Stdio};
    let (_dir, path) = written();
    for round in 0..6 {
        let mut child = Command::new(crate::helpers::this_program())
            .args(["--exact", "journal::child_that_writes_until_it_is_killed", "--ignored", "--nocapture"])
            .env("DWELLHAND_TEST_JOURNAL", &path)
            .stdout(Stdio::piped())
            .spawn()
            .unwrap();
        std::thread::sleep(std::time::Duration::from_millis(60 + 17 * round));
        child.kill().unwrap();
        let said = String::from_utf8(child.wait_with_output().unwrap().stdout).unwrap();
        let stored = said.lines().rev().find_map(|l| l.rsplit_once("stored ")?.1.parse::<u64>().ok());
        let (journal, events) = reopened(&path).unwrap();
        assert!(journal.seen().0 >= stored.unwrap_or(0), "event {stored:?} was confirmed");
        assert_eq!(events.len() as u64, journal.seen().0);
    }
}

#[test]
fn journals_lie_in_the_state_folder() {
    let path = default_path("today.jsonl");
    assert!(path.ends_with("dwellhand/today.jsonl"), "{}", path.display());
}

fn any_time() -> impl Strategy<Value = Time> {
    (-1_000_000_i64..200_000_000).prop_map(Time)
}

fn any_tank() -> impl Strategy<Value = TankId> {
    (0..6_u16).prop_map(TankId)
}

fn any_hoist() -> impl Strategy<Value = HoistId> {
    (0..2_u16).prop_map(HoistId)
}

/// A carrier with a visit its recipe has.
fn any_visit() -> impl Strategy<Value = (CarrierId, Visit)> {
    (0..3_u16).prop_flat_map(|carrier| {
        let steps: u16 = if carrier == 2 { 1 } else { 3 };
        let visit = prop_oneof![
            Just(Visit::Load),
            Just(Visit::Unload),
            (0..steps).prop_map(|n| Visit::Step(StepNo(n))),
            (0..steps).prop_map(|n| Visit::Hold(StepNo(n))),
            (0..=steps).prop_map(|n| Visit::Stray { resume: StepNo(n) }),
        ];
        (Just(CarrierId(carrier)), visit)
    })
}

fn any_key() -> impl Strategy<Value = AlarmKey> {
    (any_visit(), prop_oneof![Just(AlarmKind::Dwell), Just(AlarmKind::Air)])
        .prop_map(|((carrier, visit), kind)| AlarmKey { carrier, visit, kind })
}

fn any_level() -> impl Strategy<Value = AlarmLevel> {
    prop_oneof![Just(AlarmLevel::Due), Just(AlarmLevel::Over), Just(AlarmLevel::Reached)]
}

fn any_book() -> impl Strategy<Value = OrderBook> {
    let area = prop::num::f64::NORMAL | prop::num::f64::ZERO;
    (area, any::<String>(), prop::option::of(any_time()), any::<u32>()).prop_map(
        |(area, label, due, parts)| {
            let mut book = small::book();
            book.carriers[B1].area_dm2 = area;
            book.carriers[B1].name = format!("1{label}");
            let order = dwellhand::ids::OrderId(0);
            book.orders[order].label = label;
            book.orders[order].due = due;
            book.orders[order].parts = parts;
            book
        },
    )
}

fn any_schedule() -> impl Strategy<Value = Schedule> {
    let mv =
        (any_visit(), any_visit(), any_hoist(), any_tank(), any_tank(), any_time(), any::<(bool, bool)>());
    let mv = mv.prop_map(|((carrier, leaves), (_, visit), hoist, from, to, start, (attach, release))| {
        // The second visit is some carrier's; step 1 is everybody's.
        let visit = if carrier == B3 { STEP_1 } else { visit };
        Move { carrier, hoist, from, to, leaves, visit, start, attach, release }
    });
    (prop::collection::vec(mv, 0..20), any_time()).prop_map(|(moves, made_at)| Schedule { moves, made_at })
}

fn any_claim() -> impl Strategy<Value = (CarrierId, Claim)> {
    (any_visit(), any_tank(), any_hoist(), any_time(), 0..5_u8).prop_map(
        |((carrier, visit), tank, hoist, t, n)| {
            let claim = match n {
                0 => Claim::Queued,
                1 => Claim::InTank { tank, since: t, visit },
                2 => Claim::OnHook { hoist, from: tank, leaves: visit, lifted: t },
                3 => Claim::OffLine,
                _ => Claim::Finished { tank },
            };
            (carrier, claim)
        },
    )
}

fn any_event() -> impl Strategy<Value = Event> {
    prop_oneof![
        any_book().prop_map(|book| Event::Opened { book }),
        (any_visit(), any_hoist(), any_tank()).prop_map(|((carrier, _), hoist, from)| Event::Lifted {
            carrier,
            hoist,
            from
        }),
        (any_visit(), any_hoist(), any_tank(), any::<bool>()).prop_map(
            |((carrier, visit), hoist, to, release)| Event::Lowered { carrier, hoist, to, visit, release }
        ),
        any_claim().prop_map(|(carrier, claim)| Event::CarrierCorrected { carrier, claim }),
        (any_hoist(), any_tank()).prop_map(|(hoist, at)| Event::HoistCorrected { hoist, at }),
        (any_tank(), prop_oneof![any_time(), Just(Time::FAR)]).prop_map(|(tank, until)| Event::TankOut {
            tank,
            until,
            why: String::new()
        }),
        any_tank().prop_map(|tank| Event::TankBack { tank }),
        any_schedule().prop_map(|schedule| Event::PlanAdopted { plan: schedule.into() }),
        (1..99_u64).prop_map(|n| Event::Undone { seq: Seq(n) }),
        ((1..99_u64), any_time()).prop_map(|(n, at)| Event::Retimed { seq: Seq(n), at }),
        (any_key(), any_level()).prop_map(|(key, level)| Event::AlarmRaised { key, level }),
        (any_key(), any_level()).prop_map(|(key, level)| Event::AlarmEscalated { key, level }),
        any_key().prop_map(|key| Event::AlarmCleared { key }),
        any_key().prop_map(|key| Event::AlarmAcknowledged { key }),
        (any_key(), any_time(), any::<String>()).prop_map(|(key, until, reason)| Event::AlarmShelved {
            key,
            until,
            reason
        }),
        any_key().prop_map(|key| Event::AlarmUnshelved { key }),
        (any_key(), any_hoist()).prop_map(|(key, hoist)| Event::AlarmSuppressed { key, hoist }),
        any_key().prop_map(|key| Event::AlarmUnsuppressed { key }),
        (any_hoist(), any_level())
            .prop_map(|(hoist, level)| Event::StopAlarm { hoist, step: StopStep::Escalated(level) }),
        (any::<prop::sample::Index>(), any::<String>())
            .prop_map(|(n, why)| Event::Changed { change: n.get(&every_change()).clone(), why }),
        any::<String>().prop_map(|text| Event::Noted { text }),
    ]
}

proptest! {
    #[test]
    fn any_event_survives_the_way_to_disk_and_back(
        event in any_event(),
        before in prop::option::of(any_schedule()),
        at in any_time(),
        seq in 100..u64::MAX,
    ) {
        let line = small::line();
        let book = small::book();
        let s = Stamped { seq: Seq(seq), at, entered: at, by: Who::Crew, event };
        let wall = DateTime::parse_from_rfc3339("2026-11-25T06:10:00.5+01:00").unwrap();
        let prev = Digest::of(b"before");
        let before = before.map(|plan| (Seq(7), plan.into()));
        let text = wire::write_event(&s, &wall.into(), &prev, &line, &book, before.as_ref());
        prop_assert!(!text.contains('\n'));
        let (record, hash) = wire::read_event(text.as_bytes(), &line, &book, before.as_ref()).unwrap();
        prop_assert_eq!(record.stamped, s);
        prop_assert_eq!(record.written, wall.into());
        prop_assert_eq!(hash, prev.to_string());
    }

    #[test]
    fn a_plan_made_of_another_is_what_it_was(
        before in any_schedule(),
        picks in prop::collection::vec((any::<prop::sample::Index>(), 0..4_usize, -3..3_i64), 0..8),
        new in any_schedule(),
    ) {
        let mut moves = new.moves;
        for (at, count, by) in picks.into_iter().filter(|_| !before.moves.is_empty()) {
            let run = &before.moves[at.index(before.moves.len())..];
            moves.extend(run.iter().take(count).map(|m| Move { start: Time(m.start.0 + by), ..*m }));
        }
        let schedule = Schedule { moves, made_at: Time(0) };
        let event = Event::PlanAdopted { plan: schedule.into() };
        let s = Stamped { seq: Seq(9), at: Time(0), entered: Time(0), by: Who::Program, event };
        let (line, book, prev) = (small::line(), small::book(), Digest::of(b"before"));
        let before = (Seq(7), before.into());
        let text = wire::write_event(&s, &header().created.into(), &prev, &line, &book, Some(&before));
        let (record, _) = wire::read_event(text.as_bytes(), &line, &book, Some(&before)).unwrap();
        prop_assert_eq!(record.stamped, s);
    }

    #[test]
    fn a_changed_byte_never_goes_unnoticed_nor_panics(at in 0.0..1.0_f64, with in any::<u8>()) {
        let (_dir, path) = written();
        let mut bytes = fs::read(&path).unwrap();
        let ix = (at * bytes.len() as f64) as usize;
        let last = bytes[..bytes.len() - 1].iter().rposition(|b| *b == b'\n').unwrap();
        // The last line has no successor whose hash would tell, and with it anything may be torn.
        prop_assume!(bytes[ix] != with && ix < last);
        bytes[ix] = with;
        fs::write(&path, bytes).unwrap();
        prop_assert!(read_all(&path).is_err());
    }
}
