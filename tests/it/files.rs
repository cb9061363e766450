//! What a file may hold, what is said when it holds something else, and that nothing makes the reader fall over.
#![expect(clippy::unwrap_used, reason = "what fails here fails a test")]

use std::fmt::Write as _;
use std::path::{Path, PathBuf};

use dwellhand::civil::Opening;
use dwellhand::files::{self, Orders, Read, Source};
use dwellhand::finding::{Finding, Severity};
use dwellhand::ids::{CarrierId, HoistId, Id as _, StepNo, TankId};
use dwellhand::line::{Line, StageKind, Travel, Visit};
use dwellhand::schedule::{Move, Schedule};
use dwellhand::units::{Dur, Mm, Time};
use proptest::prelude::*;

fn data(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data").join(name)
}

fn text(name: &str) -> String {
    std::fs::read_to_string(data(name)).unwrap_or_else(|e| panic!("{name}: {e}"))
}

fn demo_line() -> Read<Line> {
    let (line, recipes, _) = files::demo();
    files::read_line(line, recipes).unwrap_or_else(|f| panic!("{}", list(&f)))
}

fn demo_orders(line: &Line) -> Read<Orders> {
    let (_, _, orders) = files::demo();
    files::read_orders(orders, line, None).unwrap_or_else(|f| panic!("{}", list(&f)))
}

fn list(findings: &[Finding]) -> String {
    findings.iter().fold(String::new(), |mut out, f| {
        writeln!(out, "{f}").unwrap();
        out
    })
}

#[test]
fn the_demo_reads_without_a_finding() {
    let line = demo_line();
    assert_eq!(line.warnings, [], "line");
    let orders = demo_orders(&line.value);
    assert_eq!(orders.warnings, [], "orders");
    let line = line.value;
    assert_eq!(line.tanks.len(), 30);
    assert_eq!(line.load_stations().count(), 2);
    assert_eq!(line.unload_stations().count(), 2);
    assert_eq!(line.recipes.len(), 5);
    let anodise = line.stages.find(|s| s.kind == StageKind::Anodise).unwrap();
    assert_eq!(line.tanks_of(anodise).count(), 4);
    let book = orders.value.book;
    assert_eq!((book.orders.len(), book.carriers.len()), (7, 15));
    assert_eq!(book.carriers.find(|c| c.name == "B15").map(|c| c.0), Some(14));
}

#[test]
fn quantities_keep_their_units() {
    let line = demo_line().value;
    let hoist = &line.hoists[HoistId(0)];
    assert_eq!(
        (hoist.hook, hoist.unhook, hoist.settle),
        (Dur::from_secs(4), Dur::from_secs(3), Dur::from_secs(2))
    );
    // 1.8 m at 0.25 m/s and 0.25 m/s2: 1.8 / 0.25 + 0.25 / 0.25 = 8.2 s.
    assert_eq!(hoist.raise_lower(), (Dur(8_200), Dur(8_200)));
    assert_eq!(hoist.travel, Travel::Kinematic { speed: 0.75, accel: 0.3, decel: 0.3 });
    assert_eq!(line.rail.to, Mm(36_300));
    let seal = line.tanks.find(|t| t.name == "T24").unwrap();
    assert_eq!(line.tanks[seal].ready_after, Dur::from_mins(40));
    assert!(line.tanks[seal].out_after.is_unlimited());
    let etch = line.step(line.recipes.find(|r| r.name == "clear").unwrap(), StepNo(2));
    assert!(etch.on_hook);
    assert_eq!(
        (etch.min, etch.target, etch.max),
        (Dur::from_secs(20), Dur::from_secs(30), Dur::from_secs(45))
    );
}

/// Limits on the time out of liquid are kept by the demo's crane with room for a slow hand.
#[test]
fn the_demo_line_keeps_its_air_limits_with_room() {
    let line = demo_line().value;
    for (id, recipe) in line.recipes.iter() {
        for n in 0..recipe.steps.len() {
            let visit = Visit::Step(StepNo(n as u16));
            let next = line.next_visit(id, visit).unwrap();
            for a in line.places_for(id, visit) {
                for b in line.places_for(id, next) {
                    let p = line.phases(HoistId(0), a, b, line.drip(id, visit), true, true).unwrap();
                    let room = line.air_max(id, visit) - p.air();
                    assert!(room >= Dur::from_secs(5), "{} step {}: {room} left", recipe.name, n + 1);
                }
            }
        }
    }
}

#[test]
fn times_of_day_land_on_the_axis() {
    let line = demo_line().value;
    let (_, _, orders) = files::demo();
    let own = demo_orders(&line).value;
    let rush = own.book.orders.find(|o| o.name == "A103").unwrap();
    assert_eq!(own.book.orders[rush].ready, Time::from_secs(75 * 60));
    assert_eq!(own.book.orders[rush].due, Some(Time::from_secs(4 * 3600)));
    let later = Opening::parse("2026-11-25T07:00:00+01:00").unwrap();
    let given = files::read_orders(orders, &line, Some(later)).unwrap().value;
    assert_eq!(given.opening, later);
    assert_eq!(given.book.orders[rush].ready, Time::from_secs(15 * 60));
    let first_ready = given.book.orders.find(|o| o.name == "A104").unwrap();
    assert_eq!(given.book.orders[first_ready].ready, Time::ZERO, "racked before the opening");
}

/// The demo's orders, which open at six, in a shift that is begun at another time of day; when A103, promised for ten, is due.
fn due_of_a103(opens: &str) -> (Option<Time>, Vec<&'static str>) {
    let line = demo_line().value;
    let (_, _, orders) = files::demo();
    let read = files::read_orders(orders, &line, Opening::parse(opens)).unwrap();
    let rush = read.value.book.orders.find(|o| o.name == "A103").unwrap();
    (read.value.book.orders[rush].due, read.warnings.iter().map(|w| w.code).collect())
}

#[test]
fn a_promise_that_has_passed_when_the_shift_begins_is_late_and_said() {
    let (due, warnings) = due_of_a103("2026-11-25T16:25:00+01:00");
    assert_eq!(due, Some(Time::ZERO - Dur::from_mins(6 * 60 + 25)));
    assert!(!warnings.is_empty() && warnings.iter().all(|code| *code == "due-passed"), "{warnings:?}");
    // Begun a little before the file says, all is still to come; and in the small hours it is the next day's work.
    assert_eq!(due_of_a103("2026-11-25T05:40:00+01:00"), (Some(Time::from_secs(4 * 3600 + 20 * 60)), vec![]));
    assert_eq!(due_of_a103("2026-11-26T01:00:00+01:00"), (Some(Time::from_secs(9 * 3600)), vec![]));
}

#[test]
fn without_an_opening_in_the_file_the_nearer_time_of_day_is_meant() {
    let line = demo_line().value;
    let (_, _, orders) = files::demo();
    let text = orders.text.replace("\"opens\": \"2026-11-25T06:00:00+01:00\",", "");
    let due = |opens: &str| {
        let source = Source { name: "orders.json", text: &text };
        let book = files::read_orders(source, &line, Opening::parse(opens)).unwrap().value.book;
        let rush = book.orders.find(|o| o.name == "A103").unwrap();
        book.orders[rush].due.unwrap() - Time::ZERO
    };
    assert_eq!(due("2026-11-25T16:25:00+01:00"), -Dur::from_mins(6 * 60 + 25));
    assert_eq!(due("2026-11-25T23:00:00+01:00"), Dur::from_mins(11 * 60));
}

fn plan_of_one(line: &Line) -> Schedule {
    let tank = |name: &str| line.tanks.find(|t| t.name == name).unwrap();
    let first = Move {
        carrier: CarrierId(0),
        hoist: HoistId(0),
        from: tank("West"),
        to: tank("T01"),
        leaves: Visit::Load,
        visit: Visit::Step(StepNo(0)),
        start: Time(1_234_567),
        attach: true,
        release: true,
    };
    let (etch, rinse) = (Visit::Step(StepNo(2)), Visit::Step(StepNo(3)));
    let dip = Move {
        from: tank("T04"),
        to: tank("T05"),
        leaves: etch,
        visit: rinse,
        start: Time(2_000_000),
        ..first
    };
    let dip = Move { attach: false, release: false, ..dip };
    let hold = Move {
        visit: Visit::Hold(StepNo(8)),
        leaves: Visit::Stray { resume: StepNo(8) },
        start: Time(3_000_001),
        ..first
    };
    let last =
        Move { visit: Visit::Unload, leaves: Visit::Step(StepNo(13)), start: Time(4_000_000), ..first };
    Schedule::new(vec![first, dip, hold, last], Time(500))
}

#[test]
fn a_plan_comes_back_as_it_was_written() {
    let line = demo_line().value;
    let book = demo_orders(&line).value.book;
    let plan = plan_of_one(&line);
    let written = serde_json::to_string_pretty(&files::write_plan(&line, &book, &plan)).unwrap();
    let read = files::read_plan(Source { name: "plan.json", text: &written }, &line, &book);
    assert_eq!(read.unwrap_or_else(|f| panic!("{}", list(&f))), plan);
    assert!(written.contains("\"start\": 1234.567"), "{written}");
    assert!(written.contains("\"leaves\": \"stray 9\""), "{written}");
}

#[test]
fn a_plan_for_other_orders_is_refused() {
    let line = demo_line().value;
    let book = demo_orders(&line).value.book;
    let written = files::write_plan(&line, &book, &plan_of_one(&line)).to_string();
    let mut other = book.clone();
    other.carriers[CarrierId(0)].area_dm2 += 1.0;
    let findings = files::read_plan(Source { name: "plan.json", text: &written }, &line, &other).unwrap_err();
    assert_eq!(findings[0].code, "other-line");
}

/// The mark is written into plan files, so it must not change from build to build.
#[test]
fn the_fingerprint_of_the_demo_is_stable() {
    let line = demo_line().value;
    let book = demo_orders(&line).value.book;
    let mark = files::fingerprint(&line, &book);
    assert_eq!(mark, files::fingerprint(&line, &book));
    assert_eq!(mark.len(), 16);
    let mut other = line.clone();
    let tank = TankId::at(3);
    other.tanks[tank].position = Mm(other.tanks[tank].position.0 + 1);
    assert_ne!(mark, files::fingerprint(&other, &book));
}

/// The demo line with recipes of the good folder, changed where `edit` says.
fn with_thickness(edit: &[(&str, &str)]) -> Result<Read<Line>, Vec<Finding>> {
    let mut recipes = text("good/recipes-thickness.json");
    for (from, to) in edit {
        assert!(recipes.contains(from), "{from}");
        recipes = recipes.replacen(from, to, 1);
    }
    files::read_line(files::demo().0, Source { name: "recipes", text: &recipes })
}

/// 12 um at 1.5 A/dm2 is 24:24.6 by the 720 rule (3.051187 x um / density), and half of a ramp of 60 s on top. 95 % and 110 %
/// of the charge are 23:41.3 and 27:21.0; AA 10 asks for less than that.
#[test]
fn a_thickness_becomes_a_window() {
    let windows = |read: Result<Read<Line>, Vec<Finding>>| {
        let line = read.unwrap_or_else(|f| panic!("{}", list(&f))).value;
        let recipe = line.recipes.find(|r| r.name == "aa10").unwrap();
        let window = |n| {
            let step = line.step(recipe, StepNo(n));
            [step.min, step.target, step.max].map(|d| d.to_string())
        };
        (window(2), window(4))
    };
    let (anodise, seal) = windows(with_thickness(&[]));
    assert_eq!(anodise, ["23:42", "24:55", "27:21"]);
    // 3 min/um for 12 um, and half as long again.
    assert_eq!(seal, ["36:00", "36:00", "54:00"]);
    // 12 um for AA 10 allow 11.4 um; 10.2 um do not allow 9.7: the class decides.
    let (thin, _) = windows(with_thickness(&[("12 um", "10.2 um")]));
    assert_eq!(thin[0], "20:51");
    let wide = ("\"class\": \"AA 10\"", "\"tolerance\": {\"under_pct\": 0, \"over_pct\": 50}");
    let (own, _) = windows(with_thickness(&[wide]));
    assert_eq!(own, ["24:55", "24:55", "37:06"]);
    let (_, fast) = windows(with_thickness(&[("3 min/um", "90 s/um")]));
    assert_eq!(fast, ["18:00", "18:00", "27:00"]);
}

#[test]
fn a_seal_needs_a_film_that_is_known() {
    let by_minutes = ("\"thickness\": \"12 um\", \"class\": \"AA 10\"", "\"min\": \"20:00\"");
    let findings = with_thickness(&[by_minutes]).unwrap_err();
    assert_eq!(findings.len(), 1, "{}", list(&findings));
    assert_eq!(
        (findings[0].code, findings[0].line, findings[0].path.as_str()),
        ("film-not-known", 13, "recipes[0].steps[4].from_thickness")
    );
}

/// Reads one file of `tests/data/bad`, the others being good ones. The first part of its name says which it replaces.
fn findings_of(name: &str) -> Vec<Finding> {
    let bad = text(&format!("bad/{name}"));
    let (line, recipes, orders) =
        (text("good/line.json"), text("good/recipes.json"), text("good/orders.json"));
    let line = Source { name: "line.json", text: &line };
    let recipes = Source { name: "recipes.json", text: &recipes };
    let orders = Source { name: "orders.json", text: &orders };
    let bad = Source { name, text: &bad };
    let all = |read: Result<Read<Line>, Vec<Finding>>| read.map_or_else(|f| f, |r| r.warnings);
    let good = || files::read_line(line, recipes).unwrap_or_else(|f| panic!("{}", list(&f))).value;
    match name.split('-').next() {
        Some("line") => all(files::read_line(bad, recipes)),
        Some("recipes") => all(files::read_line(line, bad)),
        Some("orders") => files::read_orders(bad, &good(), None).map_or_else(|f| f, |r| r.warnings),
        Some("plan") => {
            let line = good();
            let book = files::read_orders(orders, &line, None).unwrap().value.book;
            files::read_plan(bad, &line, &book).err().unwrap_or_default()
        }
        _ => panic!("{name}: begins with line, recipes, orders or plan"),
    }
}

/// Every bad file says exactly what `expected.txt` lists for it: severity, line, column, code.
#[test]
fn every_bad_file_gets_its_findings_at_their_places() {
    let mut names: Vec<String> = std::fs::read_dir(data("bad"))
        .unwrap()
        .map(|e| e.unwrap().file_name().into_string().unwrap())
        .filter(|n| n != "expected.txt")
        .collect();
    names.sort();
    let mut got = String::new();
    for name in &names {
        let findings = findings_of(name);
        assert!(!findings.is_empty(), "{name} reads without a finding");
        for f in findings {
            assert!(!f.found.is_empty() && !f.expected.is_empty(), "{f}");
            let severity = if f.severity == Severity::Error { "error" } else { "warning" };
            writeln!(got, "{}:{}:{} {severity} {} {}", f.file, f.line, f.column, f.code, f.path).unwrap();
        }
    }
    let wanted = text("bad/expected.txt");
    for (g, w) in got.lines().zip(wanted.lines()) {
        assert_eq!(g, w);
    }
    assert_eq!(got.lines().count(), wanted.lines().count(), "{got}");
}

#[test]
fn too_short_an_air_limit_is_told_what_would_do() {
    let found = findings_of("recipes-air-too-short.json");
    let air = found.iter().find(|f| f.path.ends_with("air_max")).unwrap();
    assert!(air.expected.starts_with("an air_max of at least "), "{air}");
}

#[test]
fn a_shortest_dwell_of_seconds_where_minutes_are_aimed_for_is_doubted() {
    let found = findings_of("recipes-min-in-seconds.json");
    assert!(found[0].expected.contains("was \"4:00\" meant?"), "{}", list(&found));
}

#[test]
fn an_excerpt_points_at_the_place() {
    let name = "line-unknown-stage.json";
    let findings = findings_of(name);
    insta::assert_snapshot!(files::excerpt(&findings[0], &text(&format!("bad/{name}"))));
}

#[test]
fn a_whole_file_finding_has_an_excerpt_too() {
    let (_, recipes, _) = files::demo();
    let findings = files::read_line(Source { name: "empty.json", text: "" }, recipes).unwrap_err();
    assert_eq!(findings.len(), 1, "{}", list(&findings));
    assert!(files::excerpt(&findings[0], "").starts_with("empty.json: error[syntax]"));
}

#[test]
fn several_broken_elements_are_all_reported() {
    let (_, recipes, _) = files::demo();
    let text = "{\"format\": \"dwellhand-line/1\", \"name\": \"x\", \"colour\": 1, \"rail\": {\"from_m\": 0, \"to_m\": 9},\n\
        \"stages\": [{\"name\": \"a\", \"kind\": \"rinze\"}, {\"name\": \"b\", \"kind\": \"rinse\"}, {\"kind\": \"dry\"}],\n\
        \"tanks\": [{\"name\": 7, \"position_m\": 1}, {\"name\": \"T\", \"position_m\": \"x\"}],\n\
        \"hoists\": []}";
    let findings = files::read_line(Source { name: "x.json", text }, recipes).unwrap_err();
    let places: Vec<_> = findings.iter().map(|f| (f.line, f.code, f.path.as_str())).collect();
    assert_eq!(
        places,
        [
            (1, "unknown-field", "colour"),
            (2, "unknown-word", "stages[0].kind"),
            (2, "missing-field", "stages[2]"),
            (3, "wrong-type", "tanks[0].name"),
            (3, "wrong-type", "tanks[1].position_m"),
        ]
    );
    assert!(findings[1].expected.contains("did you mean `rinse`?"), "{}", findings[1]);
}

#[test]
fn columns_count_characters_and_a_byte_order_mark_is_no_column() {
    let (_, recipes, _) = files::demo();
    let text = "\u{feff}{\"name\": \"ääää\", \"tänks\": 1, \"format\": \"dwellhand-line/1\"}";
    let findings = files::read_line(Source { name: "x.json", text }, recipes).unwrap_err();
    let finding = findings.iter().find(|f| f.code == "unknown-field").unwrap();
    assert_eq!((finding.line, finding.column), (1, 18));
    let shown = files::excerpt(finding, text);
    assert!(shown.contains("x.json:1:18"), "{shown}");
}

#[test]
fn sizes_and_depths_are_limited() {
    let (_, recipes, _) = files::demo();
    let code = |text: &str| files::read_line(Source { name: "x", text }, recipes).unwrap_err()[0].code;
    assert_eq!(code(&"[".repeat(1_000_000)), "nested-too-deep");
    assert_eq!(code(&" ".repeat((8 << 20) + 1)), "file-too-large");
    assert_eq!(code("{\"name\": 1e999}"), "bad-number");
    assert_eq!(code("{\"name\": \"a\", \"name\": \"b\"}"), "duplicate-field");
    assert_eq!(code("// hello\n{}"), "syntax");
}

/// Names that differ by capitals only are one name to whoever reads them aloud.
#[test]
fn names_alike_but_for_capitals_are_doubted() {
    let (line, recipes, _) = files::demo();
    let text = line.text.replacen("\"name\": \"T08\"", "\"name\": \"t07\"", 1);
    let read = files::read_line(Source { name: "x", text: &text }, recipes);
    let codes: Vec<&str> = read.map_or_else(|f| f, |r| r.warnings).iter().map(|f| f.code).collect();
    assert!(codes.contains(&"alike-names"), "{codes:?}");
}

#[test]
fn a_carrier_without_parts_is_refused() {
    let (line, recipes, orders) = files::demo();
    let line = files::read_line(line, recipes).unwrap().value;
    let at = orders.text.find("\"carriers\"").unwrap();
    let parts = at + orders.text[at..].find("\"parts\": ").unwrap() + "\"parts\": ".len();
    let end = parts + orders.text[parts..].find(|c: char| !c.is_ascii_digit()).unwrap();
    let text = format!("{}0{}", &orders.text[..parts], &orders.text[end..]);
    let findings = files::read_orders(Source { name: "x", text: &text }, &line, None).unwrap_err();
    let finding = findings.iter().find(|f| f.code == "no-parts").unwrap();
    assert_eq!(finding.column, text[..parts].len() - text[..parts].rfind('\n').unwrap());
}

#[test]
fn control_characters_never_reach_a_message() {
    let (_, recipes, _) = files::demo();
    let text = "{\"format\": \"\\u001b[2J\", \"\\u001b]0;x\": 1}";
    let findings = files::read_line(Source { name: "x", text }, recipes).unwrap_err();
    for f in findings {
        let all = f.to_string() + &files::excerpt(&f, text);
        assert!(!all.chars().any(|c| c.is_control() && c != '\n'), "{all:?}");
    }
}

/// Two hoists that both reach only the hand-over tank T3; T3's window must hold the change of hoists.
fn with_two_hoists(max: &str) -> Result<Read<Line>, Vec<Finding>> {
    let one = text("good/line.json");
    let at = one.find("    {\"name\": \"H1\"").unwrap();
    let end = one.rfind("\n  ]").unwrap();
    let hoist = &one[at..end];
    let low = hoist.replace("\"home\": \"L\"", "\"home\": \"L\", \"reach_to_m\": 4.5");
    let high = hoist.replace("H1", "H2").replace("\"home\": \"L\"", "\"home\": \"U\", \"reach_from_m\": 4.5");
    let line = format!("{}{low},\n{high}{}", &one[..at], &one[end..]);
    let recipes = text("good/recipes.json").replace("\"max\": \"3:00\"", &format!("\"max\": {max}"));
    let recipes = recipes.replace("\"min\": 30,", "\"min\": 5,");
    files::read_line(Source { name: "line", text: &line }, Source { name: "recipes", text: &recipes })
}

#[test]
fn a_hand_over_between_hoists_needs_its_time() {
    assert!(with_two_hoists("13").is_ok());
    let findings = with_two_hoists("12").unwrap_err();
    assert_eq!(findings.len(), 1, "{}", list(&findings));
    assert_eq!(
        (findings[0].code, findings[0].path.as_str()),
        ("recipe-cannot-run", "recipes[0].steps[2].max")
    );
    // Let go 3 s; 2 m of gap at 0.75 m/s and 0.3 m/s2: 2 / 0.75 + 2.5 = 5.167 s; take hold 4 s.
    assert!(findings[0].found.contains("12.2 s at least, 0.2 s more than max"), "{}", findings[0]);
}

/// A text with bytes changed, put in, taken out or cut off.
fn mutated(text: &'static str) -> impl Strategy<Value = String> {
    let tokens = [
        "\"", "{", "}", "[", "]", ",", ":", "null", "-1", "1e300", "0", "true", "\u{1b}", "ä", "99999", "\\",
    ];
    let one = (0..text.len(), 0..4_u8, any::<u8>(), 0..tokens.len());
    prop::collection::vec(one, 1..4).prop_map(move |changes| {
        let mut bytes = text.as_bytes().to_vec();
        for (at, what, byte, token) in changes {
            let at = at.min(bytes.len().saturating_sub(1));
            match what {
                0 if at < bytes.len() => bytes[at] = byte,
                1 => bytes.truncate(at),
                2 => {
                    bytes.splice(at..at, tokens[token].bytes());
                }
                _ => {
                    // A whole value: from here to the next comma.
                    let end = bytes[at..].iter().position(|b| *b == b',').map_or(bytes.len(), |n| at + n);
                    let start = bytes[..at].iter().rposition(|b| *b == b':').map_or(at, |n| n + 1);
                    bytes.splice(start..end, tokens[token].bytes());
                }
            }
        }
        String::from_utf8_lossy(&bytes).into_owned()
    })
}

fn has_reason(findings: &[Finding], text: &str) -> Result<(), TestCaseError> {
    prop_assert!(findings.iter().any(|f| f.severity == Severity::Error));
    for f in findings {
        prop_assert!(!files::excerpt(f, text).is_empty());
    }
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 300, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn no_line_file_makes_the_reader_fall_over(text in mutated(files::demo().0.text)) {
        if let Err(f) = files::read_line(Source { name: "x", text: &text }, files::demo().1) {
            has_reason(&f, &text)?;
        }
    }

    #[test]
    fn no_recipe_file_makes_the_reader_fall_over(text in mutated(files::demo().1.text)) {
        if let Err(f) = files::read_line(files::demo().0, Source { name: "x", text: &text }) {
            has_reason(&f, &text)?;
        }
    }

    #[test]
    fn no_order_file_makes_the_reader_fall_over(text in mutated(files::demo().2.text)) {
        let line = demo_line().value;
        if let Err(f) = files::read_orders(Source { name: "x", text: &text }, &line, None) {
            has_reason(&f, &text)?;
        }
    }

    #[test]
    fn no_text_makes_the_plan_reader_fall_over(text in ".{0,200}") {
        let line = demo_line().value;
        let book = demo_orders(&line).value.book;
        if let Err(f) = files::read_plan(Source { name: "x", text: &text }, &line, &book) {
            has_reason(&f, &text)?;
        }
    }
}
