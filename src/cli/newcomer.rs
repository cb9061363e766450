//! `init`, `guide`, `keys`, `paths`: what a person needs on the first day.

use std::fmt::Write as _;
use std::io::Write as _;

use super::args::{Init, Keys};
use super::{Bad, Outcome, preferences, say, say_json};
use crate::journal;
use crate::tui::keymap::{Binding, Context, bindings};
use crate::tui::{plain, screens};

/// A small line of one's own to begin with.
const STARTER: [(&str, &str); 3] = [
    ("line.json", include_str!("../../assets/starter/line.json")),
    ("recipes.json", include_str!("../../assets/starter/recipes.json")),
    ("orders.json", include_str!("../../assets/starter/orders.json")),
];

/// Guides: name, what it is about, the page.
const GUIDES: [(&str, &str, &str); 5] = [
    ("tutorial", "first steps, in a quarter of an hour", include_str!("../../assets/guide/tutorial.md")),
    ("your-line", "describe your own line with a stopwatch", include_str!("../../assets/guide/your-line.md")),
    ("two-terminals", "crane and office on one shift", include_str!("../../assets/guide/two-terminals.md")),
    (
        "read-a-plan",
        "what a plan says and why to trust it",
        include_str!("../../assets/guide/read-a-plan.md"),
    ),
    (
        "data-out",
        "records, tables and JSON for other programs",
        include_str!("../../assets/guide/data-out.md"),
    ),
];

/// `init`: writes the starter files; what is there already is left alone and said.
pub fn init(args: &Init) -> Result<Outcome, Bad> {
    let folder = &args.folder;
    let bad = |e: std::io::Error, path: &std::path::Path| Bad(format!("{}: {e}", path.display()));
    std::fs::create_dir_all(folder).map_err(|e| bad(e, folder))?;
    if let Some((name, _)) = STARTER.iter().find(|(name, _)| folder.join(name).exists()) {
        let path = folder.join(name);
        return Err(Bad(format!("{} is there already; nothing was written", path.display())));
    }
    for (name, text) in STARTER {
        let path = folder.join(name);
        let file = std::fs::File::options().write(true).create_new(true).open(&path);
        file.and_then(|mut f| f.write_all(text.as_bytes())).map_err(|e| bad(e, &path))?;
    }
    let at = |name: &str| folder.join(name).display().to_string();
    let (line, recipes, orders) = (at("line.json"), at("recipes.json"), at("orders.json"));
    let mut out = format!("Written: {line}, {recipes}, {orders}\n\nNext:\n");
    let _ = writeln!(out, "  dwellhand check {line} {recipes} {orders}");
    let _ = writeln!(out, "  dwellhand run --line {line} --recipes {recipes} --orders {orders} --speed 10");
    let _ = writeln!(out, "  dwellhand guide your-line");
    say(&out)
}

/// `guide`: one page, or the list.
pub fn guide(name: Option<&str>) -> Result<Outcome, Bad> {
    let Some(name) = name else {
        let mut out = String::new();
        for (name, about, _) in GUIDES {
            let _ = writeln!(out, "dwellhand guide {name:<14} {about}");
        }
        return say(&out);
    };
    if let Some((_, _, page)) = GUIDES.iter().find(|(known, ..)| *known == name) {
        return say(page);
    }
    let shown: String = name.chars().filter(|c| !c.is_control()).take(40).collect();
    Err(Bad(format!("there is no guide \"{shown}\"; `dwellhand guide` lists them")))
}

/// `keys`: the help of the screens, and the words of `--plain`.
pub fn keys(args: &Keys) -> Result<Outcome, Bad> {
    if args.json {
        let row = |context: Context| {
            let words = move |b: &Binding| serde_json::json!({"where": context.title(), "keys": b.shown, "does": b.help});
            bindings(context).map(words)
        };
        let keys: Vec<_> = Context::ALL.into_iter().flat_map(row).collect();
        let words: Vec<_> = plain::WORDS
            .iter()
            .map(|(word, does, _)| serde_json::json!({"word": word, "does": does}))
            .collect();
        let of_replay: Vec<_> = plain::replay_words()
            .map(|(word, does)| serde_json::json!({"word": word, "does": does}))
            .collect();
        let keys = serde_json::json!({
            "format": "dwellhand-keys/1", "keys": keys, "plain": words, "plain_replay": of_replay,
        });
        return say_json(&keys);
    }
    let mut out = String::new();
    for (line, _) in screens::help::lines() {
        let _ = writeln!(out, "{line}");
    }
    let _ = writeln!(out, "\nWith --plain, typed on a line");
    for (word, does, _) in plain::WORDS {
        let _ = writeln!(out, "  {word:<14} {does}");
    }
    let _ = writeln!(out, "\nWith replay --plain");
    for (word, does) in plain::replay_words() {
        let _ = writeln!(out, "  {word:<14} {does}");
    }
    say(&out)
}

/// `paths`: where files are kept.
pub fn paths(json: bool) -> Result<Outcome, Bad> {
    let journals = journal::default_path("");
    let rows = [("preferences", preferences::default_path()), ("journals", journals)];
    if json {
        let all: serde_json::Map<String, serde_json::Value> =
            rows.iter().map(|(name, path)| ((*name).to_owned(), path.display().to_string().into())).collect();
        return say_json(&serde_json::json!({"format": "dwellhand-paths/1", "paths": all}));
    }
    let mut out = String::new();
    for (name, path) in rows {
        let there = if path.exists() { "" } else { "   (not there)" };
        let _ = writeln!(out, "{name:<12} {}{there}", path.display());
    }
    say(&out)
}
