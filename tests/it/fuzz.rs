//! Promises to files that somebody made up to hurt: whatever stands in them, they are read or refused, with no panic, no
//! hang, and no memory but what their size is worth.
//!
//! Two kinds of change are made to files that are good: pieces of text cut, doubled and mixed, and values of the JSON
//! replaced by what is likely to hurt. Journals get their chain mended, so that the change reaches the reducer and the
//! views behind it. `DWELLHAND_FUZZ=1000000 cargo test --release --test it fuzz::many -- --ignored --nocapture`

use std::io::Cursor;
use std::path::Path;
use std::time::{Duration, Instant};

use dwellhand::civil::Opening;
use dwellhand::cli::own_files;
use dwellhand::clock::Clock as _;
use dwellhand::files::{self, Source};
use dwellhand::finding::Finding;
use dwellhand::ids::{CarrierId, RecipeId, Seq, StepNo};
use dwellhand::journal::{self, Digest, Reader};
use dwellhand::line::{Line, OrderBook, Role, Tank, Visit};
use dwellhand::live::Lock;
use dwellhand::plain;
use dwellhand::plan::{Settings, plan};
use dwellhand::rng::Rng;
use dwellhand::shift::{Bench, Change, Claim, Event, History, Stamped, State, Who, unsound};
use dwellhand::units::{Dur, Time};
use dwellhand::verify::{happened, history::possible, verify};
use dwellhand::view::Board;
use serde_json::Value;

use crate::helpers::tries;
use crate::small;

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Kind {
    Line,
    Recipes,
    Orders,
    Plan,
    Journal,
    Drill,
    Preferences,
    Progress,
    PracticeClock,
    PinHash,
    Typed,
}

const KINDS: [Kind; 11] = [
    Kind::Line,
    Kind::Recipes,
    Kind::Orders,
    Kind::Plan,
    Kind::Journal,
    Kind::Drill,
    Kind::Preferences,
    Kind::Progress,
    Kind::PracticeClock,
    Kind::PinHash,
    Kind::Typed,
];

/// Good ones of what the program keeps for itself.
const PREFERENCES: &str = r#"{"format": "dwellhand-preferences/1", "note": "n", "theme": "light", "color": "16",
    "glyphs": "ascii", "bell": true, "notify": false, "mouse": true, "plain": false}"#;
const PRACTISED: [&str; 2] = [
    r#"{"at":"2026-11-25T06:00:00+01:00","initials":"AB","name":"rush-order","ended":true,"drill":{"scrap":0,
    "rework":1,"shade":2,"nuisance":0,"finished":9,"clean":7,"called":80,"followed":78,"reaction_s":6.5}}"#,
    r#"{"at":"2026-11-25T07:00:00+01:00","initials":"CD","name":"black-heavy","ended":false,"watched":true,
    "quiz":{"asked":8,"right":6,"harmful":1}}"#,
];
const PRACTICE_CLOCK: &str =
    r#"{"wall_ms":1795600000000,"up":[81985529216486895,90000],"shift_ms":3600000,"speed":20.0}"#;
const PIN_HASH: &str =
    "$argon2id$v=19$m=19456,t=2,p=1$c2FsdHNhbHRzYWx0$AAECAwQFBgcICQoLDA0ODxAREhMUFRYXGBkaGxwdHh8";
const TYPED: [&str; 5] = [
    "anodise --thickness 15um --density 1.5A/dm2 --area 210dm2 --volts 16 --ramp 60",
    "class --thickness 12um --class AA15",
    "rinse --stages 2 --dilution 1000",
    "convert 12 asf A/dm2",
    "seal --thickness 20um --kind hot",
];

fn read(name: &str) -> String {
    std::fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join(name))
        .unwrap_or_else(|e| panic!("{name}: {e}"))
}

/// Good files that go together.
struct Good {
    line_text: String,
    recipes_text: String,
    orders_text: String,
    plan_text: String,
    line: Line,
    book: OrderBook,
}

impl Good {
    fn of(line_text: String, recipes_text: String, orders_text: String) -> Self {
        let line = files::read_line(source(&line_text), source(&recipes_text)).unwrap().value;
        let book = files::read_orders(source(&orders_text), &line, None).unwrap().value.book;
        let schedule = plan(&line, &opened(&line, &book), Time::ZERO, &Settings::default());
        let plan_text = files::write_plan(&line, &book, &schedule).to_string();
        Self { line_text, recipes_text, orders_text, plan_text, line, book }
    }

    fn text(&self, kind: Kind) -> &str {
        match kind {
            Kind::Line => &self.line_text,
            Kind::Recipes => &self.recipes_text,
            Kind::Orders => &self.orders_text,
            _ => &self.plan_text,
        }
    }
}

fn source(text: &str) -> Source<'_> {
    Source { name: "hostile.json", text }
}

fn opened(line: &Line, book: &OrderBook) -> State {
    let mut history = History::new(line);
    let event = Event::Opened { book: book.clone() };
    let (at, by) = (Time::ZERO, Who::Supervisor);
    history.push(line, Stamped { seq: Seq(1), at, entered: at, by, event });
    history.state().clone()
}

struct Corpus {
    goods: Vec<Good>,
    journal: Vec<String>,
    drills: Vec<String>,
}

impl Corpus {
    fn new() -> Self {
        let (line, recipes, orders) = files::demo();
        let demo = [line, recipes, orders].map(|s| s.text.to_owned());
        let [line, recipes, orders] = demo;
        let small = ["line", "recipes", "orders"].map(|n| read(&format!("tests/data/good/{n}.json")));
        let [small_line, small_recipes, small_orders] = small;
        let goods = vec![Good::of(small_line, small_recipes, small_orders), Good::of(line, recipes, orders)];
        let journal = read("tests/data/journal/golden.jsonl").lines().map(str::to_owned).collect();
        let drills = files::drills().map(|d| d.text.to_owned()).to_vec();
        Self { goods, journal, drills }
    }
}

/// What is likely to hurt.
fn nasty(rng: &mut Rng) -> Value {
    let texts = [
        "",
        " ",
        "\u{1b}[2J\u{1b}]0;x\u{7}",
        "\u{202e}T01",
        "=1+1",
        "a\u{301}\u{301}\u{301}\u{301}\u{301}",
        "\u{0}",
        "\u{200b}",
        "9e999",
        "-0",
        "99:99",
        "24:00",
        "00:00:00.0000000000001",
        "2026-02-30T25:61:00Z",
        "T01",
        "B01",
        "step 65536",
        "stray 4",
        "1e308 um",
        "NaN",
        "\u{1f468}\u{200d}\u{1f469}",
        "null",
        "99999999999999999999",
    ];
    let numbers = [
        0.0,
        -0.0,
        -1.0,
        1.0,
        0.1,
        1e-320,
        1e308,
        -1e308,
        65535.0,
        65536.0,
        4_294_967_296.0,
        9.3e18,
        1.5,
        1e12,
        3.6e6,
    ];
    match rng.below(9) {
        0 => Value::Null,
        1 => rng.chance(0.5).into(),
        2 => Value::Array(Vec::new()),
        3 => Value::Object(serde_json::Map::new()),
        4 => [i64::MIN, i64::MAX, -1, 0, 1, 65_536, 31_536_000_000][rng.below(7)].into(),
        5 => u64::MAX.into(),
        6 => "x".repeat(1 << rng.below(14)).into(),
        7 => numbers[rng.below(numbers.len())].into(),
        _ => texts[rng.below(texts.len())].into(),
    }
}

/// A place somewhere in a value.
fn somewhere<'v>(value: &'v mut Value, rng: &mut Rng) -> &'v mut Value {
    let deeper = match value {
        Value::Array(list) => !list.is_empty(),
        Value::Object(map) => !map.is_empty(),
        _ => false,
    };
    if !deeper || rng.chance(0.15) {
        return value;
    }
    match value {
        Value::Array(list) => {
            let ix = rng.below(list.len());
            somewhere(&mut list[ix], rng)
        }
        Value::Object(map) => {
            let ix = rng.below(map.len());
            let inner = map.values_mut().nth(ix).expect("an index below the length");
            somewhere(inner, rng)
        }
        other => other,
    }
}

fn change_value(whole: &mut Value, rng: &mut Rng) {
    let other = {
        let mut copy = whole.clone();
        somewhere(&mut copy, rng).clone()
    };
    let place = somewhere(whole, rng);
    match (rng.below(7), place) {
        (0 | 1, place) => *place = nasty(rng),
        (2, place) => *place = other,
        (3, Value::Number(n)) => {
            let factor = [-1.0, 0.0, 0.001, 0.5, 1.01, 2.0, 1000.0][rng.below(7)];
            let new = n.as_f64().unwrap_or(0.0) * factor;
            // A whole number stays one, so that it is read.
            let whole = new.fract() == 0.0 && new.abs() < 9e15;
            let new = if whole { Value::from(new as i64) } else { Value::from(new) };
            *n = new.as_number().cloned().unwrap_or_else(|| 0.into());
        }
        (_, Value::Array(list)) if !list.is_empty() => {
            let (a, b) = (rng.below(list.len()), rng.below(list.len()));
            match rng.below(4) {
                0 => drop(list.remove(a)),
                1 => list.swap(a, b),
                2 => list.truncate(a),
                _ => {
                    let copies = vec![list[a].clone(); 1 << rng.below(7)];
                    list.splice(b..b, copies);
                }
            }
        }
        (_, Value::Object(map)) if !map.is_empty() => {
            let key = map.keys().nth(rng.below(map.len())).cloned().unwrap_or_default();
            match rng.below(3) {
                0 => drop(map.remove(&key)),
                1 => drop(map.insert(key, nasty(rng))),
                _ => drop(map.insert(format!("{key}\u{202e}"), other)),
            }
        }
        (_, place) => *place = other,
    }
}

/// Pieces of text cut, doubled, mixed and replaced.
fn change_text(text: &str, rng: &mut Rng) -> String {
    let chars: Vec<char> = text.chars().collect();
    let at = |rng: &mut Rng| rng.below(chars.len() + 1);
    let (a, b) = (at(rng), at(rng));
    let (a, b) = (a.min(b), a.max(b).min(a.min(b) + 200));
    let mut out: Vec<char> = chars[..a].to_vec();
    match rng.below(6) {
        0 => {}
        1 => out.extend(chars[a..b].repeat(2 + rng.below(6))),
        2 => out.extend(
            ["[", "{\"a\":", "\"", "\\u0000", "\\ud800", "1e9999", "//", "\u{feff}", "-", "null"]
                [rng.below(10)]
            .chars()
            .collect::<Vec<_>>()
            .repeat(1 + rng.below(60)),
        ),
        3 => out.extend(chars[a..b].iter().rev()),
        4 => out.extend((a..b).map(|_| char::from_u32(rng.below(0x300) as u32).unwrap_or('?'))),
        _ => return out.into_iter().collect(),
    }
    out.extend(&chars[b..]);
    out.into_iter().collect()
}

fn hostile(good: &str, rng: &mut Rng) -> String {
    let mut text = good.to_owned();
    if rng.chance(0.75) {
        let Ok(mut value) = serde_json::from_str::<Value>(&text) else { return change_text(&text, rng) };
        for _ in 0..=rng.below(3) {
            change_value(&mut value, rng);
        }
        text = value.to_string();
    }
    if rng.chance(0.3) {
        text = change_text(&text, rng);
    }
    text
}

/// What was tried and what came of it.
#[derive(Default)]
struct Tally {
    read: [u64; KINDS.len()],
    refused: [u64; KINDS.len()],
    slowest: (Duration, u64),
}

/// Says which case it was if it panics.
struct Case(u64, Kind);

impl Drop for Case {
    #[expect(clippy::print_stdout, reason = "a test that fails says which case it was")]
    fn drop(&mut self) {
        if std::thread::panicking() {
            println!("case {} of seed {}, a {:?} file", self.0, SEED, self.1);
        }
    }
}

const SEED: u64 = 20_261_128;

fn case(corpus: &Corpus, n: u64) -> (Kind, bool) {
    let mut rng = Rng::stream(SEED ^ n.wrapping_mul(0x9e37_79b9_7f4a_7c15), "fuzz");
    let kind = KINDS[rng.below(KINDS.len())];
    let _say = Case(n, kind);
    let read = match kind {
        Kind::Line | Kind::Recipes | Kind::Orders | Kind::Plan => a_file(corpus, kind, &mut rng),
        Kind::Journal => a_journal(corpus, &mut rng),
        Kind::Drill => a_drill(corpus, &mut rng),
        Kind::Preferences => {
            let text = hostile(PREFERENCES, &mut rng);
            own_files::preferences(source(&text)).map_err(|found| readable(&found)).is_ok()
        }
        Kind::Progress => practised(&mut rng),
        Kind::PracticeClock => {
            let clock = own_files::clock_of_practice(&hostile(PRACTICE_CLOCK, &mut rng));
            clock.map(|mut clock| (clock.now(), clock.wait_until(Time::FAR))).is_some()
        }
        Kind::PinHash => Lock::new(&change_text(PIN_HASH, &mut rng), Duration::MAX).is_ok(),
        Kind::Typed => typed(&mut rng),
    };
    (kind, read)
}

fn a_file(corpus: &Corpus, kind: Kind, rng: &mut Rng) -> bool {
    // The small files mostly: what hurts hurts there as well.
    let good = &corpus.goods[usize::from(rng.chance(0.1))];
    let text = hostile(good.text(kind), rng);
    let refused = match kind {
        Kind::Line => {
            files::read_line(source(&text), source(&good.recipes_text)).map(|r| follow(&r.value, good, rng))
        }
        Kind::Recipes => {
            files::read_line(source(&good.line_text), source(&text)).map(|r| follow(&r.value, good, rng))
        }
        Kind::Orders => files::read_orders(source(&text), &good.line, None).map(|r| {
            if r.value.book.carriers.len() < 20 && rng.chance(0.1) {
                planned(&good.line, &r.value.book);
            }
        }),
        _ => files::read_plan(source(&text), &good.line, &good.book).map(|schedule| {
            verify(&good.line, &opened(&good.line, &good.book), &schedule);
        }),
    };
    refused.map_err(|found| readable(&found)).is_ok()
}

/// A drill on the demo line; some that are read are begun.
fn a_drill(corpus: &Corpus, rng: &mut Rng) -> bool {
    let line = &corpus.goods[1].line;
    let text = hostile(&corpus.drills[rng.below(corpus.drills.len())], rng);
    let read = files::read_drill(source(&text), line);
    if let Ok(read) = &read
        && rng.chance(0.02)
    {
        planned(line, &read.value.0.book);
    }
    // What it would begin a journal with.
    files::orders_of_drill(&text);
    read.map_err(|found| readable(&found)).is_ok()
}

/// What trainees have practised, some lines of it changed. Read, if anything of it was.
fn practised(rng: &mut Rng) -> bool {
    let lines: Vec<String> = (0..=rng.below(4))
        .map(|_| {
            let line = PRACTISED[rng.below(PRACTISED.len())].replace('\n', " ");
            if rng.chance(0.7) { hostile(&line, rng) } else { line }
        })
        .collect();
    let (said, left_out) = own_files::progress(&lines.join("\n"));
    for text in said.iter().chain(&left_out) {
        assert!(plain::lines(text).len() <= text.len() * 3);
    }
    !said.is_empty()
}

/// A line of process arithmetic as somebody's cat would type it.
fn typed(rng: &mut Rng) -> bool {
    let mut line = TYPED[rng.below(TYPED.len())].to_owned();
    for _ in 0..rng.below(3) {
        line = change_text(&line, rng);
    }
    if rng.chance(0.5) {
        let words: Vec<&str> = line.split(' ').collect();
        let at = rng.below(words.len());
        let other = nasty(rng);
        let other = other.as_str().map_or_else(|| other.to_string(), str::to_owned);
        line = [&words[..at], &[other.as_str()], &words[at + 1..]].concat().join(" ");
    }
    let answer = own_files::typed(&line);
    assert!(!answer.is_empty(), "no word to {line:?}");
    !answer[0].starts_with("error")
}

/// A line that was read can be planned for.
fn follow(line: &Line, good: &Good, rng: &mut Rng) {
    if !rng.chance(0.05) {
        return;
    }
    if let Ok(orders) = files::read_orders(source(&good.orders_text), line, None) {
        planned(line, &orders.value.book);
    }
}

fn planned(line: &Line, book: &OrderBook) {
    let settings = Settings { effort: 2, ..Settings::default() };
    let state = opened(line, book);
    let schedule = plan(line, &state, Time::ZERO, &settings);
    verify(line, &state, &schedule);
}

/// What is said about a bad file disturbs no terminal either.
fn readable(found: &[Finding]) {
    assert!(!found.is_empty(), "refused without a word");
    assert!(found.len() <= 400, "{} findings", found.len());
    for finding in found {
        let text = finding.to_string();
        assert!(text.len() < 8000, "{} bytes", text.len());
        assert!(text.chars().all(plain::is_plain), "{text:?}");
    }
}

/// A journal with a few lines changed; mostly with its chain mended.
fn a_journal(corpus: &Corpus, rng: &mut Rng) -> bool {
    let mut lines = corpus.journal.clone();
    for _ in 0..=rng.below(3) {
        let at = rng.below(lines.len());
        match rng.below(8) {
            0 if at > 0 => drop(lines.remove(at)),
            1 => lines.insert(at, lines[rng.below(lines.len())].clone()),
            2 if at > 1 => lines.swap(at, at - 1),
            3 => lines[at] = change_text(&lines[at], rng),
            _ => lines[at] = hostile(&lines[at], rng),
        }
    }
    if rng.chance(0.9) {
        chained(&mut lines);
    }
    let mut text = lines.join("\n");
    if rng.chance(0.9) {
        text.push('\n');
    }
    let line = small::line();
    let name = Path::new("hostile.jsonl");
    let Ok(mut reader) = Reader::over(Box::new(Cursor::new(text)), name) else { return false };
    match journal::read(&mut reader, &line) {
        Ok((records, _)) => {
            told(&line, records.into_iter().map(|r| r.stamped).collect());
            true
        }
        Err(e) => {
            let text = e.to_string();
            assert!(plain::line(&text).len() <= text.len() * 3);
            false
        }
    }
}

/// Numbers and hashes as they should be.
fn chained(lines: &mut [String]) {
    for n in 1..lines.len() {
        let prev = Digest::of(lines[n - 1].as_bytes()).to_string();
        if let Ok(Value::Object(mut line)) = serde_json::from_str::<Value>(&lines[n]) {
            line.insert("prev".to_owned(), prev.into());
            line.insert("seq".to_owned(), n.into());
            lines[n] = Value::Object(line).to_string();
        }
    }
}

/// Everything that is made of a journal.
fn told(line: &Line, events: Vec<Stamped>) {
    let now = events.iter().map(|e| e.entered).max().unwrap_or(Time::ZERO);
    let history = History::of(line, events);
    let state = history.state();
    if unsound(line, state).is_some() {
        return;
    }
    possible(line, history.events(), state);
    happened(line, state);
    let opening = Opening::parse("2026-11-25T06:00:00+01:00").expect("a date");
    let now = now.max(Time::ZERO).min(Time::from_secs(1_000_000));
    Board::build(state.line(line), state, &history, &[], &[], &opening, now);
}

fn run(times: u64) -> Tally {
    let corpus = Corpus::new();
    let mut tally = Tally::default();
    let first = tries("DWELLHAND_FUZZ_FROM", 0);
    for n in first..first + times {
        let began = Instant::now();
        let (kind, good) = case(&corpus, n);
        let took = began.elapsed();
        let of = if good { &mut tally.read } else { &mut tally.refused };
        of[kind as usize] += 1;
        if took > tally.slowest.0 {
            tally.slowest = (took, n);
        }
    }
    tally
}

/// The most memory this process has had, in kB; 0 where the system does not say.
fn most_memory() -> u64 {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line = status.lines().find_map(|l| l.strip_prefix("VmHWM:"));
    line.and_then(|l| l.trim().split(' ').next()?.parse().ok()).unwrap_or(0)
}

#[test]
fn hostile_files_are_read_or_refused() {
    let tally = run(3000);
    for kind in KINDS {
        let (read, refused) = (tally.read[kind as usize], tally.refused[kind as usize]);
        assert!(
            read > 0 && refused > 0,
            "{kind:?}: {read} read, {refused} refused: the changes miss their aim"
        );
    }
}

#[test]
#[ignore = "takes a while; the normal suite does fewer"]
fn many_hostile_files_are_read_or_refused() {
    let times = tries("DWELLHAND_FUZZ", 1_000_000);
    let before = most_memory();
    let tally = run(times);
    let grown = most_memory() - before;
    for kind in KINDS {
        println!("{kind:?}: {} read, {} refused", tally.read[kind as usize], tally.refused[kind as usize]);
    }
    let (slowest, n) = tally.slowest;
    println!(
        "{times} cases, no panic; the slowest took {slowest:?} (case {n}); memory grew by {grown} kB at most"
    );
    assert!(grown < 512 << 10, "memory grew by {grown} kB");
}

fn stamped<const N: usize>(said: [Event; N]) -> Vec<Stamped> {
    let (at, by) = (Time::ZERO, Who::Supervisor);
    (1..).zip(said).map(|(n, event)| Stamped { seq: Seq(n), at, entered: at, by, event }).collect()
}

/// A journal may say that a load stands in a bath for a step that its sheet does not have, and goes to rework from there.
#[test]
fn a_rework_from_a_step_that_no_sheet_has_is_told() {
    let line = small::line();
    let is_bath = |tank: &Tank| matches!(tank.role, Role::Bath(_));
    let (tank, _) = line.tanks.iter().find(|(_, tank)| is_bath(tank)).unwrap();
    let (carrier, recipe) = (CarrierId(0), RecipeId(0));
    let claim = Claim::InTank { tank, since: Time::ZERO, visit: Visit::Step(StepNo(99)) };
    let said = [
        Event::Opened { book: small::book() },
        Event::CarrierCorrected { carrier, claim },
        Event::Changed { change: Change::Rework { carrier, recipe }, why: String::new() },
    ];
    let events = stamped(said);
    let visits: Vec<Visit> = History::of(&line, events.clone()).state().standing.runs[&carrier][0]
        .stays
        .iter()
        .map(|s| s.visit)
        .collect();
    assert_eq!(visits, [Visit::Step(StepNo(99))]);
    told(&line, events);
}

/// A load that is to come back from a bench to a step that its sheet does not have: the journal cannot be true.
#[test]
fn a_bench_from_which_nothing_goes_on_is_refused() {
    let line = small::line();
    let carrier = CarrierId(0);
    let bench =
        |resume| Bench { name: "buff".to_owned(), min: Dur::ZERO, max: Dur::ZERO, resume: StepNo(resume) };
    let wrong = |resume| {
        let lend = Change::Lend { carrier, bench: bench(resume) };
        let said =
            [Event::Opened { book: small::book() }, Event::Changed { change: lend, why: String::new() }];
        unsound(&line, History::of(&line, stamped(said)).state())
    };
    assert_eq!(wrong(0), None);
    assert!(wrong(99).is_some_and(|why| why.contains("which its recipe does not have")));
}

#[test]
fn sizes_have_limits_and_errors_name_them() {
    let (line, recipes, _) = files::demo();
    let huge = format!("{}{}", line.text, " ".repeat(8 << 20));
    let found = files::read_line(source(&huge), recipes).unwrap_err();
    assert!(found[0].to_string().contains("at most 8 MiB"), "{}", found[0]);
    let deep = "[".repeat(100_000);
    let found = files::read_line(source(&deep), recipes).unwrap_err();
    assert!(found[0].to_string().contains("more than 32 deep"), "{}", found[0]);
    let name = Path::new("hostile.jsonl");
    let long = vec![b'x'; journal::LONGEST_LINE + 2];
    let e = Reader::over(Box::new(Cursor::new(long)), name).unwrap_err();
    assert!(e.to_string().contains(&format!("at most {} bytes", journal::LONGEST_LINE)), "{e}");
}
