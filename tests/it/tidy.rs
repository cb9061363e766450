//! House rules, read off the source: which level may know which, and where the clock is asked.

use std::fs;
use std::path::{Path, PathBuf};

fn sources() -> Vec<(String, String)> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut found = Vec::new();
    let mut folders: Vec<PathBuf> = vec![root.clone()];
    while let Some(folder) = folders.pop() {
        for entry in fs::read_dir(&folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                folders.push(path);
            } else if path.extension().is_some_and(|e| e == "rs") {
                let name = path.strip_prefix(&root).unwrap().to_str().unwrap().replace('\\', "/");
                found.push((name, fs::read_to_string(&path).unwrap()));
            }
        }
    }
    found.sort();
    assert!(found.len() > 20, "the source folder should hold the program");
    found
}

/// The part of a module's name that says its level: `shift` for `shift/decide.rs`.
fn module(file: &str) -> &str {
    file.split('/').next().unwrap_or(file).trim_end_matches(".rs")
}

/// Lines of code, without comments and without a file's own unit tests.
fn code(text: &str) -> impl Iterator<Item = (usize, &str)> {
    let end = text.find("#[cfg(test)]").unwrap_or(text.len());
    text[..end]
        .lines()
        .enumerate()
        .map(|(n, line)| (n + 1, line.trim()))
        .filter(|(_, line)| !line.starts_with("//"))
}

/// Every line of `modules` that holds one of the words, with the reason why it should not.
fn offences(modules: &[&str], words: &[&str], why: &str) -> Vec<String> {
    let mut found = Vec::new();
    for (file, text) in sources().iter().filter(|(f, _)| modules.contains(&module(f))) {
        for (n, line) in code(text) {
            for word in words.iter().filter(|w| line.contains(**w)) {
                found.push(format!("src/{file}:{n}: `{word}`: {why}"));
            }
        }
    }
    found
}

fn none(offences: &[String]) {
    assert!(offences.is_empty(), "\n{}\n", offences.join("\n"));
}

#[test]
fn only_the_clock_asks_for_the_time() {
    let files = sources();
    let all: Vec<&str> =
        files.iter().map(|(f, _)| module(f)).filter(|m| *m != "clock" && *m != "civil").collect();
    let words = ["Instant::now", "SystemTime::now", "Utc::now", "Local::now"];
    none(&offences(&all, &words, "ask src/clock.rs, so that a test or a replay can say what time it is"));
}

#[test]
fn nothing_depends_on_the_order_of_a_hash() {
    let words = ["HashMap", "HashSet"];
    let why = "its order differs from run to run; take a BTreeMap or an Arena";
    none(&offences(&["line", "shift", "plan", "verify", "sim", "schedule"], &words, why));
}

#[test]
fn the_verifier_borrows_nothing_from_what_it_checks() {
    let words = [
        "crate::plan",
        "shift::apply",
        "shift::decide",
        "decide(",
        "apply(",
        ".phases(",
        "empty_travel",
        "ramp_time",
        "raise_lower",
        ".window(recipe",
        "next_visit",
        "places_for",
        "latest_safe_start",
    ];
    none(&offences(&["verify"], &words, "a checker that shares code with the checked shares its mistakes"));
}

#[test]
fn the_core_knows_no_machine() {
    let words = [
        "std::fs",
        "std::net",
        "std::thread",
        "std::process",
        "std::env",
        "ratatui",
        "crossterm",
        "crate::journal",
        "crate::tui",
        "crate::files",
        "crate::live",
        "crate::cli",
        "crate::clock",
    ];
    let why = "the core is handed what it needs; disk, screen and clock live above it";
    none(&offences(
        &[
            "line", "process", "schedule", "shift", "plan", "verify", "whatif", "report", "replay", "sim",
            "train", "units", "ids", "rng",
        ],
        &words,
        why,
    ));
}

/// Levels from the ground up; a module may use its own level's lower neighbours only as listed.
const MAY_USE: [(&str, &[&str]); 23] = [
    ("plain", &[]),
    ("units", &[]),
    ("ids", &[]),
    ("rng", &[]),
    ("finding", &[]),
    ("civil", &["units"]),
    ("process", &["units"]),
    ("line", &["units", "ids", "finding"]),
    ("schedule", &["line", "units", "ids"]),
    ("shift", &["line", "schedule", "units", "ids"]),
    ("plan", &["line", "schedule", "shift", "units", "ids", "rng"]),
    ("verify", &["line", "schedule", "shift", "units", "ids"]),
    ("sim", &["line", "schedule", "shift", "plan", "verify", "units", "ids", "rng"]),
    ("whatif", &["line", "schedule", "shift", "plan", "verify", "units", "ids"]),
    ("view", &["whatif", "line", "process", "schedule", "shift", "plan", "verify", "civil", "units", "ids"]),
    (
        "replay",
        &["whatif", "line", "schedule", "shift", "plan", "verify", "sim", "view", "civil", "units", "ids"],
    ),
    (
        "train",
        &["line", "schedule", "shift", "plan", "verify", "whatif", "replay", "sim", "units", "ids", "rng"],
    ),
    (
        "report",
        &[
            "line", "process", "schedule", "shift", "plan", "verify", "sim", "train", "view", "civil",
            "units", "ids",
        ],
    ),
    ("files", &["line", "plain", "process", "schedule", "train", "civil", "units", "ids", "finding"]),
    ("clock", &["units", "civil"]),
    ("journal", &["shift", "schedule", "line", "clock", "civil", "units", "ids", "finding"]),
    (
        "live",
        &[
            "line", "schedule", "shift", "plan", "verify", "whatif", "sim", "train", "view", "report",
            "replay", "files", "clock", "journal", "civil", "units", "ids", "rng", "finding",
        ],
    ),
    (
        "tui",
        &[
            "line", "schedule", "shift", "plan", "plain", "verify", "whatif", "train", "view", "report",
            "replay", "live", "clock", "civil", "units", "ids", "finding",
        ],
    ),
];

#[test]
fn levels_look_down_only() {
    let mut offences = Vec::new();
    for (file, text) in sources() {
        let Some((name, allowed)) = MAY_USE.iter().find(|(m, _)| *m == module(&file)) else { continue };
        for (n, line) in code(&text) {
            for (at, _) in line.match_indices("crate::") {
                let used: String = line[at + "crate::".len()..]
                    .chars()
                    .take_while(|c| c.is_ascii_alphanumeric() || *c == '_')
                    .collect();
                if !used.is_empty() && used != *name && !allowed.contains(&used.as_str()) {
                    offences.push(format!(
                        "src/{file}:{n}: {name} may not know {used}; see the map in DEVELOPERS.md"
                    ));
                }
            }
        }
    }
    none(&offences);
}
