//! Promises of the command line, kept by a real process: exit codes, what goes to which stream, no surprises in a pipe.

use std::path::{Path, PathBuf};
use std::process::{Command as Process, Stdio};
use std::time::Duration;

use assert_cmd::Command;
use dwellhand::files;
use dwellhand::ids::CarrierId;
use dwellhand::schedule::{Move, Schedule};
use dwellhand::units::{Dur, Time};

const PROGRAM: &str = env!("CARGO_BIN_EXE_dwellhand");

/// What a command said and how it ended.
#[derive(Debug)]
pub(crate) struct Said {
    code: i32,
    pub(crate) out: String,
    err: String,
}

impl Said {
    pub(crate) fn is(self, code: i32) -> Self {
        assert_eq!(self.code, code, "stdout:\n{}\nstderr:\n{}", self.out, self.err);
        self
    }
    pub(crate) fn has_said(self, words: &[&str]) -> Self {
        for word in words {
            assert!(self.out.contains(word), "no {word:?} on stdout:\n{}", self.out);
        }
        self
    }
    pub(crate) fn has_complained(self, words: &[&str]) -> Self {
        for word in words {
            assert!(self.err.contains(word), "no {word:?} on stderr:\n{}", self.err);
        }
        self
    }
    pub(crate) fn quietly(self) -> Self {
        assert_eq!(self.err, "", "stdout:\n{}", self.out);
        self
    }
}

pub(crate) fn run(args: &[&str]) -> Said {
    run_with(args, "")
}

pub(crate) fn run_with(args: &[&str], stdin: &str) -> Said {
    let mut command = Command::new(PROGRAM);
    let done = command
        .args(args)
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .env_remove("CLICOLOR_FORCE")
        .env_remove("NO_COLOR")
        .timeout(Duration::from_secs(60))
        .write_stdin(stdin)
        .output()
        .unwrap();
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
    let said = Said {
        code: done.status.code().expect("no signal ended it"),
        out: text(done.stdout),
        err: text(done.stderr),
    };
    for stream in [&said.out, &said.err] {
        assert!(!stream.contains('\u{1b}'), "an escape in a pipe: {stream:?}");
    }
    let framed = said.err.starts_with('\n') || said.err.ends_with("\n\n");
    assert!(!framed, "blank lines around {:?}", said.err);
    said
}

fn bad(name: &str) -> String {
    format!("tests/data/bad/{name}")
}

const GOOD: [&str; 3] =
    ["tests/data/good/line.json", "tests/data/good/recipes.json", "tests/data/good/orders.json"];

fn folder() -> (tempfile::TempDir, PathBuf) {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().to_owned();
    (dir, path)
}

fn name(path: &Path) -> &str {
    path.to_str().unwrap()
}

/// The demo's plan and its last carrier's stay in the final rinse, lengthened so that the dwell is `over` past the
/// longest. The carrier's name comes along.
fn plan_that_overruns_a_rinse(over: Dur) -> (String, String) {
    let (line, recipes, orders) = files::demo();
    let line = files::read_line(line, recipes).unwrap().value;
    let book = files::read_orders(orders, &line, None).unwrap().value.book;
    let text = run(&["plan", "--json", "--budget", "0"]).is(0).quietly().out;
    let source = files::Source { name: "plan.json", text: &text };
    let plan = files::read_plan(source, &line, &book).unwrap();
    let rinse = line.tanks.find(|t| t.name == "T26").unwrap();
    let in_rinse = |m: &&Move| m.from == rinse;
    let out: Move = *plan.moves.iter().filter(in_rinse).max_by_key(|m| m.start).unwrap();
    let last: CarrierId = out.carrier;
    let into = plan.of(last).find(|m| m.to == rinse && m.visit == out.leaves).unwrap();
    let down = into.start + into.phases(&line, &book).unwrap().to_down();
    let up = out.start + out.phases(&line, &book).unwrap().to_lift();
    let (_, longest) = line.window(book.carriers[last].recipe, out.leaves);
    let more = longest + over - (up - down);
    let later = |m: &Move| Move { start: m.start + more, ..*m };
    let moves =
        plan.moves.iter().map(|m| if m.carrier == last && m.start >= out.start { later(m) } else { *m });
    let plan = Schedule::new(moves.collect(), Time::ZERO);
    (files::write_plan(&line, &book, &plan).to_string(), book.carriers[last].name.clone())
}

#[test]
fn a_plan_passes_the_verifier() {
    let plan = run(&["plan", "--json"]).is(0).quietly();
    let plain = run_with(&["verify"], &plan.out).is(0).quietly();
    assert!(plain.out.ends_with(" moves: every rule is kept\n"), "{}", plain.out);
    run_with(&["verify", "-"], &plan.out).is(0).quietly();
    let json = run_with(&["verify", "--json"], &plan.out).is(0).quietly();
    let json: serde_json::Value = serde_json::from_str(&json.out).unwrap();
    assert_eq!(json["breaches"], serde_json::json!([]));
    run(&["plan"]).is(0).quietly().has_said(&["start     carrier", "B01", "finished at"]);
}

#[test]
fn one_second_too_long_in_one_rinse_is_named() {
    let (edge, _) = plan_that_overruns_a_rinse(Dur::ZERO);
    run_with(&["verify"], &edge).is(0).quietly();
    let (plan, carrier) = plan_that_overruns_a_rinse(Dur::from_secs(1));
    let said = run_with(&["verify"], &plan).is(1).quietly();
    let breach = format!("{carrier} in T26 Final rinse: dwell 3:01 is 0:01 over the longest 3:00");
    said.has_said(&[&breach, "\n1 breach\n"]);
    let json = run_with(&["verify", "--json"], &plan).is(1).quietly();
    let json: serde_json::Value = serde_json::from_str(&json.out).unwrap();
    let breach = &json["breaches"][0];
    assert_eq!((breach["carrier"].as_str(), breach["place"].as_str()), (Some(carrier.as_str()), Some("T26")));
    assert_eq!(breach["by_s"].as_f64(), Some(1.0));
}

#[test]
fn a_plan_with_a_carrier_nobody_knows_is_bad_input() {
    let plan = run(&["plan", "--json"]).out.replace("\"B02\"", "\"B99\"");
    let said = run_with(&["verify", "-"], &plan).is(2);
    assert_eq!(said.out, "");
    said.has_complained(&["error[unknown-name]: moves[", "the carrier \"B99\"", " --> -:"]);
    let plan = "tests/data/bad/plan-other-line.json";
    run(&["verify", plan]).is(2).has_complained(&["plan-other-line.json:3:11", "error[other-line]"]);
    run_with(&["verify"], "").is(2).has_complained(&["error[syntax]"]);
}

#[test]
fn the_same_seed_gives_the_same_bytes() {
    let args = ["simulate", "--hours", "8", "--seed", "7", "--json"];
    // A human crew may break windows; then the exit code says so, the same both times.
    let first = run(&args).quietly();
    let second = run(&args);
    assert_eq!((first.code, &first.out), (second.code, &second.out));
    let json: serde_json::Value = serde_json::from_str(&first.out).unwrap();
    assert_eq!(json["format"], "dwellhand-simulation/1");
    assert_eq!(json["breaches_by_harm"]["scrap"], 0);
}

#[test]
fn a_punctual_crew_breaks_nothing_in_eight_hours() {
    run(&["simulate", "--hours", "8", "--crew", "punctual"]).is(0).quietly().has_said(&["\n0 breaches\n"]);
}

#[test]
fn upset_shifts_are_compared_answer_by_answer() {
    let args = ["simulate", "--upsets", "--seeds", "4..4", "--hours", "1", "--budget", "0"];
    run(&args).is(0).quietly().has_said(&["old plan", "first come", "planned anew", "way out", "taken back"]);
    let told = run(&[&args[..], &["--json"]].concat()).is(0);
    let json: serde_json::Value = serde_json::from_str(&told.out).unwrap();
    assert_eq!(json["shifts"][0]["upset"], "crane stop");
    assert_eq!(json["means"].as_array().unwrap().len(), 5);
    run(&["simulate", "--upsets", "--compare"]).is(2);
}

#[test]
fn a_kept_shift_is_shown_as_text_and_as_json() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("shift.jsonl");
    run(&["simulate", "--hours", "1", "--crew", "punctual", "--budget", "0", "--out", name(&out)]).is(0);
    run(&["board", name(&out)]).is(0).quietly().has_said(&[
        "on line",
        "crane H1",
        "power: now",
        "out by",
        "; done",
    ]);
    let json = |args: &[&str]| -> serde_json::Value {
        let said = run(&[&["board", name(&out), "--json"], args].concat()).is(0).quietly();
        serde_json::from_str(&said.out).unwrap()
    };
    let all = json(&[]);
    let moves = all["moves"].as_array().unwrap();
    let past = |m: &&serde_json::Value| m["when"] == "past";
    assert!(moves.iter().any(|m| past(&m)) && moves.iter().any(|m| m["when"] == "planned"));
    // At the opening nothing had been done, and nothing said later is known.
    let at_first = json(&["--at", "06:00"]);
    assert_eq!(at_first["now_s"], 0.0);
    assert_eq!(at_first["moves"].as_array().unwrap().iter().filter(past).count(), 0);
    assert_eq!(at_first["counts"]["on_line"], 0);
    let one = moves[0]["carrier"].as_str().unwrap();
    let found = json(&["--find", one, "--sort", "tank"]);
    assert_eq!(found["carriers"].as_array().unwrap().len(), 1);
    assert!(found["moves"].as_array().unwrap().iter().all(|m| m["carrier"] == one));
    run(&["board", name(&out), "--at", "25:00"]).is(2).has_complained(&["time of day"]);
    run(&["board", "no-such-file.jsonl"]).is(2).has_complained(&["no-such-file.jsonl"]);
}

#[test]
fn what_is_mistyped_is_told_in_plain_words_and_leaves_nothing_behind() {
    let folder = tempfile::tempdir().unwrap();
    let nowhere = folder.path().join("nowhere/x.jsonl");
    run(&["run", "--plain", "--shift", name(&nowhere)]).is(2).has_complained(&["there is no folder"]);
    assert!(!nowhere.parent().unwrap().exists(), "a folder of a mistyped name is not made");
    run(&["simulate", "--hours", "0"]).is(2).has_complained(&["more than 0"]);
    run(&["simulate", "--seed", "x"]).is(2).has_complained(&["a whole number from 0 up"]);
    run(&["rhythm", "--orders", "no-such-file.json"]).is(2).has_complained(&["no-such-file.json"]);
}

#[test]
fn a_simulated_shift_can_be_kept_but_not_over_another() {
    let (_dir, path) = folder();
    let out = path.join("shift.jsonl");
    run(&["simulate", "--hours", "1", "--crew", "punctual", "--out", name(&out)]).is(0);
    let kept = std::fs::read(&out).unwrap();
    run(&["simulate", "--hours", "1", "--out", name(&out)]).is(2).has_complained(&[name(&out)]);
    assert_eq!(std::fs::read(&out).unwrap(), kept);
}

#[test]
fn figures_come_with_what_they_rest_on() {
    run(&["calc"]).is(0).quietly().has_said(&["dwellhand calc anodise", "dwellhand calc convert"]);
    let load = ["--area", "210dm2", "--volts", "16", "--ramp", "60"];
    let step = ["calc", "anodise", "--thickness", "15um", "--density", "1.5A/dm2"];
    let said = run(&[&step[..], &load].concat()).is(0).quietly();
    // 3.051187 x 15 / 1.5 min and half a minute of ramp; 210 dm2 x 1.5 A/dm2.
    said.has_said(&["31:00.7", "315 A", "5.04 kW", "720 rule", "common practice, no source"]);
    let json = run(&[&step[..], &load, &["--json"]].concat()).is(0).quietly();
    let json: serde_json::Value = serde_json::from_str(&json.out).unwrap();
    assert_eq!(json["format"], "dwellhand-calc/1");
    for figure in json["figures"].as_array().unwrap() {
        for field in ["key", "what", "unit", "rule", "source", "standing"] {
            assert!(figure[field].as_str().is_some_and(|t| !t.is_empty()), "no {field} in {figure}");
        }
        assert!(figure["value"].is_number(), "{figure}");
    }
    let said = run(&["calc", "seal", "--thickness", "18um"]).is(0);
    said.has_said(&["54:00.0", "from memory, not checked against the source"]);
    run(&["calc", "rinse", "--stages", "2", "--dilution", "1000"]).is(0).has_said(&["31.111", "31.623"]);
    let bath = ["calc", "bath", "--amps", "600", "--volts", "18", "--time", "40min", "--volume", "3000l"];
    run(&bath).is(0).has_said(&["11.648 kW", "2.3771 K", "no flame"]);
    run(&["calc", "strip", "--thickness", "10um"]).is(0).has_said(&["6.32"]);
    run(&["calc", "etch", "--depth", "1um", "--area", "1m2"]).is(0).has_said(&["2.7 g"]);
    let drip = ["calc", "drip", "--start", "150ml", "--end", "50ml", "--rate", "0.1/s", "--time", "10"];
    run(&drip).is(0).has_said(&["105.18 ml"]);
    let wet = ["calc", "wet", "--height", "1.8m", "--lower", "0.1m/s", "--lift", "0.2m/s"];
    run(&wet).is(0).has_said(&["27 s"]);
    for words in [&["15", "um", "mil"][..], &["15um", "mil"], &["15 um to mil"], &["15um", "in", "mil"]] {
        run(&[&["calc", "convert"], words].concat()).is(0).quietly().has_said(&["0.59055 mil"]);
    }
    run(&["calc", "convert", "-40", "F", "C"]).is(0).has_said(&["-40 degC"]);
    run(&["calc", "convert", "1", "in", "mm"]).is(0).has_said(&["25.4 mm"]);
}

#[test]
fn a_calculation_can_say_no() {
    let thin = ["calc", "class", "--thickness", "12um", "--class", "AA 15"];
    run(&thin).is(1).quietly().has_said(&["No: AA 15 is missed"]);
    run(&["calc", "class", "--thickness", "15um", "--class", "aa15"]).is(0);
    let over = ["calc", "power", "--load", "600A x 18V", "--load", "750A x 16V", "--cap", "20kW"];
    run(&over).is(1).quietly().has_said(&["22.8 kW DC is over the limit of 20 kW", "one after the other"]);
    let short =
        ["calc", "anodise", "--thickness", "10um", "--density", "1.5A/dm2", "--time", "17min", "--json"];
    let said = run(&short).is(1).quietly();
    let json: serde_json::Value = serde_json::from_str(&said.out).unwrap();
    assert_eq!(json["no"][0], "The film comes to 8.3574 um, not 10 um.");
}

#[test]
fn a_calculation_refuses_what_cannot_be_with_the_range() {
    let step = |thickness, density| ["calc", "anodise", "--thickness", thickness, "--density", density];
    run(&step("150um", "1.5A/dm2")).is(2).has_complained(&["0.5 to 50 um", "hard coat"]);
    run(&step("15um", "150A/dm2")).is(2).has_complained(&["0.3 to 5 A/dm2"]);
    run(&step("15", "1.5A/dm2")).is(2).has_complained(&["a number with a unit out of um, mil"]);
    run(&["calc", "anodise", "--density", "12asf"]).is(2).has_complained(&["too little"]);
    let own = [&step("15um", "12asf")[..], &["--constant", "600", "--oxide", "3kg/l"]].concat();
    run(&own).is(2).has_complained(&["Faraday"]);
    run(&["calc", "convert", "15", "um", "dm2"]).is(2).has_complained(&["um is not measured in dm2"]);
    run(&["calc", "convert", "15", "parsec", "m"]).is(2).has_complained(&["no unit \"parsec\" known"]);
    run(&["calc", "convert", "--", "-300", "C", "K"]).is(2).has_complained(&["below absolute zero"]);
    run(&["calc", "bath", "--volts", "18"]).is(2);
    run(&["calc", "rinse", "--stages", "20", "--dilution", "10"]).is(2);
    run(&["calc", "class", "--thickness", "15um", "--class", "AA 30"]).is(2).has_complained(&["one of AA 5"]);
}

#[test]
fn every_kind_of_bath_and_every_word_is_explained() {
    let all = run(&["explain", "--json"]).is(0).quietly();
    let all: serde_json::Value = serde_json::from_str(&all.out).unwrap();
    let schema = include_str!("../../assets/line.schema.json");
    let schema: serde_json::Value = serde_json::from_str(schema).unwrap();
    let kinds = schema["$defs"]["KindWord"]["oneOf"].as_array().unwrap();
    assert_eq!(all["cards"].as_array().unwrap().len(), kinds.len());
    for kind in kinds {
        let word = kind["const"].as_str().unwrap();
        run(&["explain", word]).is(0).quietly().has_said(&["Too long", "Caution", "process sheet"]);
    }
    for term in all["glossary"].as_array().unwrap() {
        let word = term["word"].as_str().unwrap();
        run(&["explain", word]).is(0).quietly().has_said(&[word]);
    }
    run(&["explain", "strict", "swap"]).is(0).has_said(&["the hoist free"]);
    run(&["explain"]).is(0).quietly().has_said(&["clean, rinse, etch", "drag-out"]);
    run(&["explain", "parsec"]).is(2).has_complained(&["\"parsec\" is not explained here"]);
}

#[test]
fn a_recipe_by_thickness_is_planned_like_any_other() {
    let files = [
        "demo-data/line.json",
        "tests/data/good/recipes-thickness.json",
        "tests/data/good/orders-thickness.json",
    ];
    run(&["check", files[0], files[1], files[2]]).is(0).quietly();
    let named = ["--line", files[0], "--recipes", files[1], "--orders", files[2]];
    let plan = run(&[&["plan", "--json", "--budget", "0"], &named[..]].concat()).is(0).quietly().out;
    run_with(&[&["verify"], &named[..]].concat(), &plan).is(0).quietly();
}

#[test]
fn good_files_are_fine() {
    let demo = ["check", "demo-data/line.json", "demo-data/recipes.json", "demo-data/orders.json"];
    run(&demo).is(0).quietly().has_said(&["3 files checked: nothing wrong\n"]);
    let json = run(&["check", "--json", GOOD[1], GOOD[2], GOOD[0]]).is(0).quietly();
    assert_eq!(json.out, "[]\n");
    // A warning is worth saying and no reason to stop.
    let warned = run(&["check", &bad("line-dye-too-hot.json"), GOOD[1]]).is(0).quietly();
    warned.has_said(&["line-dye-too-hot.json:23:70", "0 errors, 1 warning\n"]);
}

#[test]
fn bad_files_are_named_with_every_place_at_once() {
    let expected = include_str!("../data/bad/expected.txt");
    let names = [
        "line-bad-name.json",
        "line-comment.json",
        "line-reach.json",
        "line-syntax-unclosed.json",
        "line-wrong-format.json",
        "line-zero-speed.json",
        "orders-times.json",
        "orders-too-large-an-area.json",
        "recipes-bad-duration.json",
        "recipes-window-too-short.json",
    ];
    for file in names {
        let mut files = GOOD.map(str::to_owned);
        let kind = ["line", "recipes", "orders"].iter().position(|k| file.starts_with(k)).unwrap();
        files[kind] = bad(file);
        let mut args = vec!["check"];
        args.extend(files.iter().map(String::as_str));
        let said = run(&args).is(2).quietly();
        let places: Vec<&str> =
            expected.lines().filter(|l| l.starts_with(file)).filter_map(|l| l.split(' ').next()).collect();
        assert!(!places.is_empty(), "{file}");
        for place in &places {
            assert!(said.out.contains(place), "no {place} in\n{}", said.out);
        }
        args.insert(1, "--json");
        let json = run(&args).is(2).quietly();
        let json: Vec<serde_json::Value> = serde_json::from_str(&json.out).unwrap();
        for place in &places {
            let there = |f: &serde_json::Value| {
                let at = format!("{}:{}:{}", f["file"].as_str().unwrap(), f["line"], f["column"]);
                at.ends_with(place)
            };
            assert!(json.iter().any(there), "no {place} in {json:#?}");
        }
    }
}

#[test]
fn orders_of_another_line_are_bad_input() {
    let said = run(&["check", "demo-data/line.json", "demo-data/recipes.json", GOOD[2]]).is(2).quietly();
    said.has_said(&["error[unknown-name]", "tests/data/good/orders.json:", "expected the name of a recipe"]);
    let said = run(&["plan", "--orders", &bad("orders-unknown-recipe.json")]).is(2);
    assert_eq!(said.out, "");
    said.has_complained(&["orders-unknown-recipe.json:6:44", "2 errors"]);
}

/// A comma that is missing in one file hides nothing that is wrong with another.
#[test]
fn a_syntax_error_in_one_file_leaves_the_others_checked() {
    let (_dir, path) = folder();
    let cut = |file: &str, from: &str, to: &str| {
        let text = std::fs::read_to_string(file).unwrap();
        assert!(text.contains(from), "{file}: {from}");
        let out = path.join(file.rsplit('/').next().unwrap());
        std::fs::write(&out, text.replacen(from, to, 1)).unwrap();
        name(&out).to_owned()
    };
    let line = cut(GOOD[0], "\"home\": \"L\"", "\"home\": \"X\"");
    let recipes = cut(GOOD[1], "\"plain\",", "\"plain\"");
    let orders = cut(GOOD[2], "\"parts\": 30", "\"parts\": 31");
    let said = run(&["check", &line, &recipes, &orders]).is(2).quietly();
    said.has_said(&[
        "error[unknown-name]",
        "line.json:28:28",
        "error[syntax]",
        "recipes.json:5:22",
        "error[parts-do-not-add-up]",
        "orders.json:6:",
        "3 errors, 1 warning",
    ]);
    // Of each file its own comma.
    let line = cut(GOOD[0], "\"Small line\",", "\"Small line\"");
    let orders = cut(GOOD[2], "\"parts\": 30,", "\"parts\": 30");
    let said = run(&["check", &line, &recipes, &orders]).is(2).quietly();
    assert_eq!(said.out.matches("error[syntax]").count(), 3, "{}", said.out);
    let planned = run(&["plan", "--line", &line, "--recipes", &recipes, "--orders", &orders]).is(2);
    assert_eq!(planned.err.matches("error[syntax]").count(), 3, "{}", planned.err);
    // One alone is judged alone.
    run(&["check", &orders]).is(2).quietly().has_said(&["error[syntax]"]);
}

#[test]
fn files_that_are_none_of_ours_are_all_named() {
    let (_dir, path) = folder();
    let (one, two) = (path.join("one.json"), path.join("two.json"));
    std::fs::write(&one, "{\"format\": 1").unwrap();
    std::fs::write(&two, "hello").unwrap();
    let said = run(&["check", name(&one), name(&two)]).is(2).quietly();
    said.has_said(&["one.json:1:", "two.json:1:1", "2 errors"]);
    let said = run(&["check", GOOD[0], GOOD[1], &bad("plan-bad-visit.json")]).is(2);
    said.has_complained(&["plan-bad-visit.json: a plan is judged by `dwellhand verify`"]);
    run(&["check", GOOD[1]]).is(2).has_complained(&["give one line file and one recipe file"]);
}

#[test]
fn what_cannot_be_read_is_said_by_name() {
    let said = run(&["check", "no-such-a.json", GOOD[0], "no-such-b.json"]).is(2);
    said.has_complained(&["no-such-a.json: cannot read", "no-such-b.json: cannot read"]);
    run(&["verify", "no-such-plan.json"]).is(2).has_complained(&["no-such-plan.json: cannot read"]);
    run(&["plan", "--orders", "no-such.json"]).is(2).has_complained(&["no-such.json: cannot read"]);
    run(&["check", "tests"]).is(2).has_complained(&["tests: cannot read: it is a folder"]);
    run(&["board", "tests"]).is(2).has_complained(&["tests: it is a folder"]);
    let (_dir, path) = folder();
    let file = path.join("x.json");
    std::fs::write(&file, b"{\"a\": \"\xff\"}").unwrap();
    run(&["check", name(&file)]).is(2).has_complained(&["byte 8 is not UTF-8"]);
}

#[test]
fn standard_input_is_a_file_named_dash() {
    let text = std::fs::read_to_string("demo-data/orders.json").unwrap();
    run_with(&["plan", "--orders", "-"], &text).is(0).quietly();
    let cut = &text[..text.len() / 2];
    run_with(&["plan", "--orders", "-"], cut).is(2).has_complained(&[" --> -:", "error[syntax]"]);
}

#[test]
fn usage_errors_are_bad_input() {
    run(&["plan", "--line", GOOD[0]]).is(2).has_complained(&["--recipes"]);
    run(&["plan", "--recipes", GOOD[1]]).is(2).has_complained(&["--line"]);
    let said = run(&["plan", "--line", GOOD[0], "--recipes", GOOD[1]]).is(2);
    said.has_complained(&["--line needs --orders"]);
    for budget in ["soon", "1m", "-1", "-1s", "nans", "9999s"] {
        run(&["plan", &format!("--budget={budget}")]).is(2);
    }
    for reserve in ["-1", "601", "critical", "critical=", "fast=3", "critical=5,other"] {
        run(&["plan", &format!("--reserve={reserve}")]).is(2);
    }
    run(&["simulate", "--hours", "900"]).is(2).has_complained(&["more than 0 and at most 72"]);
    run(&["fly"]).is(2).has_complained(&["fly"]);
    run(&["check"]).is(2);
}

#[test]
fn help_and_version_go_to_standard_output() {
    for flag in ["--help", "-h"] {
        run(&[flag]).is(0).quietly().has_said(&["run", "check", "plan", "verify", "simulate"]);
    }
    run(&["--help"]).has_said(&["dwellhand advises."]);
    for flag in ["--version", "-V"] {
        assert_eq!(run(&[flag]).is(0).quietly().out, concat!("dwellhand ", env!("CARGO_PKG_VERSION"), "\n"));
    }
    for task in [
        "run",
        "check",
        "plan",
        "verify",
        "simulate",
        "board",
        "report",
        "enter",
        "calc",
        "explain",
        "completions",
        "man",
    ] {
        run(&[task, "--help"]).is(0).quietly().has_said(&["Usage: dwellhand"]);
    }
}

#[test]
fn completions_and_the_manual_page_are_sound() {
    for shell in ["bash", "zsh", "fish", "powershell", "elvish"] {
        run(&["completions", shell]).is(0).quietly().has_said(&["dwellhand", "simulate"]);
    }
    let man = run(&["man"]).is(0).quietly();
    man.has_said(&[
        ".TH dwellhand 1",
        ".SH SYNOPSIS",
        "\\-\\-role",
        "\\-\\-hours",
        "DWELLHAND CALC RINSE",
        "interlock",
    ]);
}

#[cfg(unix)]
#[test]
fn bash_understands_its_completions() {
    let script = run(&["completions", "bash"]).out;
    if Process::new("bash").arg("--version").output().is_err() {
        return;
    }
    Command::new("bash").arg("-n").write_stdin(script).assert().success().stderr("");
}

#[test]
fn a_reader_that_goes_away_is_no_error() {
    for args in [&["plan"][..], &["plan", "--json"], &["man"], &["completions", "zsh"], &["--help"]] {
        let mut child =
            Process::new(PROGRAM).args(args).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
        drop(child.stdout.take());
        let done = child.wait_with_output().unwrap();
        assert_eq!(done.status.code(), Some(0), "{args:?}");
        assert_eq!(String::from_utf8_lossy(&done.stderr), "", "{args:?}");
    }
}

/// Without a terminal there are plain lines, and the end of the input is an end: nothing hangs in a pipe.
#[test]
fn without_a_terminal_there_are_plain_lines() {
    let (_dir, path) = folder();
    for args in [&[][..], &["run"], &["run", "--crew", "simulated"]] {
        let done = Command::new(PROGRAM)
            .args(args)
            .env("XDG_STATE_HOME", &path)
            .env("XDG_CONFIG_HOME", &path)
            .timeout(Duration::from_secs(30))
            .write_stdin("")
            .output()
            .unwrap();
        assert_eq!(done.status.code(), Some(0));
        let out = String::from_utf8(done.stdout).unwrap();
        assert!(out.contains("It advises.") && !out.contains('\u{1b}'), "{out}");
    }
}

/// A counted budget is the same everywhere; none gives the first answer; more is no worse.
#[test]
fn a_counted_budget_gives_the_same_bytes() {
    let planned = |budget: &str| run(&["plan", "--json", "--budget", budget]).is(0).quietly().out;
    let finish = |text: &str| {
        let file: serde_json::Value = serde_json::from_str(text).unwrap();
        assert!(file["instead"].as_str().unwrap().contains(" first: "));
        assert_eq!(file["worth"]["scrap_breaches"], 0);
        file["worth"]["finish_s"].as_f64().unwrap()
    };
    let (first, counted) = (planned("0"), planned("30000"));
    assert_eq!(counted, planned("30000"));
    assert!(finish(&counted) < finish(&first));
    run_with(&["verify"], &counted).is(0);
    run(&["plan", "--budget", "20ms"]).is(0).has_said(&["windows broken that mean scrap  0", "finish "]);
}

#[test]
fn what_reserve_costs_is_printed() {
    run(&["plan", "--reserve", "critical=5,short=15", "--budget", "0"]).is(0);
    let table = run(&["plan", "--reserve-cost", "--budget", "5000"]).is(0).quietly().out;
    assert_eq!(table.lines().count(), 6, "{table}");
    let json = run(&["plan", "--reserve-cost", "--budget", "5000", "--json"]).is(0).quietly().out;
    let json: serde_json::Value = serde_json::from_str(&json).unwrap();
    let rows = json["rows"].as_array().unwrap();
    let reserves: Vec<_> = rows.iter().map(|r| r["reserve_s"].as_i64().unwrap()).collect();
    assert_eq!(reserves, [0, 5, 10, 15, 20]);
    assert!(rows.iter().all(|r| r["left_behind"] == 0 && r["carriers_per_hour"].as_f64().unwrap() > 0.5));
}

/// Orders of a whole day, four carriers each, racked one after the other.
fn a_day(carriers: usize) -> String {
    let orders: Vec<serde_json::Value> = (0..carriers)
        .step_by(4)
        .map(|first| {
            let names = first..carriers.min(first + 4);
            let own: Vec<serde_json::Value> = names
                .clone()
                .map(|i| serde_json::json!({ "name": format!("C{i:03}"), "parts": 60, "area_dm2": 180 }))
                .collect();
            let minute = 24 * 60 * first / carriers;
            let recipe = ["clear", "black"][first / 4 % 2];
            serde_json::json!({
                "name": format!("D{first:03}"),
                "parts": 60 * names.len(),
                "recipe": recipe,
                "ready": format!("{:02}:{:02}", (6 + minute / 60) % 24, minute % 60),
                "carriers": own,
            })
        })
        .collect();
    let file = serde_json::json!({
        "format": "dwellhand-orders/1",
        "opens": "2026-11-25T06:00:00+01:00",
        "orders": orders,
    });
    file.to_string()
}

/// A day of forty carriers is planned whole, and what is printed passes the verifier.
#[test]
fn a_whole_day_is_planned() {
    let folder = tempfile::tempdir().unwrap();
    let (orders, plan) = (folder.path().join("orders.json"), folder.path().join("plan.json"));
    std::fs::write(&orders, a_day(40)).unwrap();
    let orders = orders.to_str().unwrap();
    let files = ["--line", "demo-data/line.json", "--recipes", "demo-data/recipes.json", "--orders", orders];
    let planned = run(&[["plan", "--budget", "0", "--json"].as_slice(), &files].concat()).is(0).quietly();
    std::fs::write(&plan, planned.out).unwrap();
    run(&[["verify", plan.to_str().unwrap()].as_slice(), &files].concat()).is(0);
}

/// The published cyclic instance, as the README shows it: period, proof and how long it took.
#[test]
fn the_published_rhythm_is_shown_with_its_proof_and_time() {
    let published = "tests/data/published/phillips-unger";
    let (line, recipes) = (format!("{published}-line.json"), format!("{published}-recipes.json"));
    let said = run(&["rhythm", "--json", "--line", &line, "--recipes", &recipes]).is(0);
    let found: serde_json::Value = serde_json::from_str(&said.out).unwrap();
    assert_eq!(found["period_ms"], 521_000);
    assert_eq!(found["proof"]["status"], "optimal");
    assert!(found["took_ms"].as_f64().is_some_and(|ms| ms > 0.0));
}

/// Parts short at unrack are told at once, found parts close it, and the pages say so; what cannot be is refused.
#[test]
fn what_is_entered_is_in_the_pages() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("shift.jsonl");
    let shift = path.to_str().unwrap();
    run(&["simulate", "--hours", "2", "--crew", "punctual", "--budget", "0", "--out", shift]).is(0);
    let record = |carrier: &str| run(&["report", shift, "--carrier", carrier, "--form", "json"]).is(0).out;
    let finished = (1..=15).map(|n| format!("B{n:02}")).find(|c| record(c).contains("finished at"));
    let carrier = finished.expect("somebody is out after two hours");
    run(&["enter", shift, "unracked", "B15", "--good", "1"])
        .is(2)
        .has_complained(&["B15 is not off the line yet"]);
    run(&["enter", shift, "unracked", "X99", "--good", "1"]).is(2).has_complained(&["X99 is no carrier"]);
    let racked: u32 = serde_json::from_str::<serde_json::Value>(&record(&carrier)).unwrap()["parts"][0]["facts"]
        ["parts racked"]
        .as_str()
        .unwrap()
        .parse()
        .unwrap();
    run(&["enter", shift, "unracked", &carrier, "--good", &(racked - 2).to_string()]).is(0);
    assert!(record(&carrier).contains("2 MISSING"));
    let handover = run(&["report", shift, "--page", "handover"]).is(0).out;
    assert!(handover.contains("2 MISSING") && handover.contains("taken over by: ____"), "{handover}");
    run(&["enter", shift, "sign", "takes-over", "KM"]).is(0);
    assert!(run(&["report", shift, "--page", "handover"]).is(0).out.contains("KM took over"));
    assert!(run(&["report", shift, "--form", "svg"]).is(0).out.starts_with("<svg"));
}

/// Every quantity of every calculation: a negative one is refused with its range, a forgotten one as forgotten.
#[test]
fn negatives_are_refused_for_what_they_are() {
    let all: [&[&str]; 9] = [
        &[
            "anodise",
            "--thickness=10um",
            "--density=1.5",
            "--area=4m2",
            "--volts=18",
            "--ramp=60",
            "--max-amps=9A",
            "--cap=9kW",
            "--efficiency=85%",
            "--oxide=2.8",
            "--constant=720",
            "--time=20:20",
            "--charge=9A.h",
        ],
        &["power", "--load=600A x 18V", "--cap=20kW", "--efficiency=0.85"],
        &[
            "bath",
            "--amps=600",
            "--volts=18",
            "--time=40min",
            "--volume=3000l",
            "--solution=1.12",
            "--heat-capacity=3.5kJ/kgK",
        ],
        &["seal", "--thickness=18um", "--rate=2.5min/um"],
        &["class", "--thickness=12um", "--local=10um", "--weight=1000mg/ft2", "--film-density=2.5"],
        &["rinse", "--flow=100l/h", "--dragout=1l/h", "--dilution=1000", "--bath=180g/l"],
        &["drip", "--start=150ml", "--end=50ml", "--rate=0.1/s", "--time=10"],
        &["etch", "--depth=1um", "--area=1m2"],
        &["wet", "--height=1.8m", "--lower=0.1m/s", "--lift=0.2m/s"],
    ];
    for question in all {
        for given in &question[1..] {
            let (option, value) = given.split_once('=').unwrap();
            let negative = format!("-{value}");
            let words = ["calc", question[0], option, &negative];
            run(&words).is(2).has_complained(&[&negative, "expected"]);
            run(&["calc", question[0], option]).is(2).has_complained(&["a value is required", option]);
            run(&["calc", question[0], option, "--json"])
                .is(2)
                .has_complained(&["a value is required", option]);
        }
    }
    run(&["calc", "anodise", "--area", "-4m2", "--density", "1.5A/dm2"])
        .is(2)
        .has_complained(&["less than nothing"]);
    run(&["calc", "rinse", "--stages", "-2", "--dilution", "10"]).is(2).has_complained(&["-2"]);
    run(&["calc", "convert", "-40F", "C"]).is(0).has_said(&["-40 degC"]);
    run(&["calc", "convert", "-12asf", "A/dm2"]).is(0).has_said(&["-1.2917 A/dm2"]);
}
