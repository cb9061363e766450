//! `check`: everything that is wrong with line, recipe and order files, at once.

use std::path::PathBuf;

use super::args::Check;
use super::inputs::{self, Text};
use super::{Bad, Outcome, say, say_json};
use crate::files;
use crate::finding::{Finding, Origin, Severity};
use crate::line::Line;
use crate::units::many;

pub fn check(args: &Check) -> Result<Outcome, Bad> {
    let (texts, unreadable) = read_all(&args.files);
    if !unreadable.is_empty() {
        return Err(Bad(unreadable.join("\n")));
    }
    let mut findings: Vec<Finding> = Vec::new();
    let of = |kind: files::Kind| texts.iter().filter(move |t| files::kind(&t.text) == Some(kind));
    let lines: Vec<&Text> = of(files::Kind::Line).collect();
    let recipes: Vec<&Text> = of(files::Kind::Recipes).collect();
    let drills: Vec<&Text> = of(files::Kind::Drill).collect();
    if let Some(plan) = of(files::Kind::Plan).next() {
        return Err(Bad(format!("{}: a plan is judged by `dwellhand verify`", plan.name)));
    }
    for stranger in texts.iter().filter(|t| files::kind(&t.text).is_none()) {
        // Not recognisable as any of ours: read it as a line so that the error says where and what was expected.
        let none = files::Source { name: "", text: "" };
        match files::read_line(stranger.source(), none) {
            Err(found) => findings.extend(found.into_iter().filter(|f| !f.file.is_empty())),
            Ok(_) => return Err(Bad(format!("{}: not a line, recipe or orders file", stranger.name))),
        }
    }
    match (lines.as_slice(), recipes.as_slice()) {
        ([line], [recipe]) => match files::read_line(line.source(), recipe.source()) {
            Ok(read) => {
                findings.extend(read.warnings);
                findings.extend(drills.iter().flat_map(|d| of_drill(d, &read.value)));
                for orders in of(files::Kind::Orders) {
                    match files::read_orders(orders.source(), &read.value, None) {
                        Ok(orders) => findings.extend(orders.warnings),
                        Err(found) => findings.extend(found),
                    }
                }
            }
            Err(found) => {
                findings.extend(found);
                findings.extend(of(files::Kind::Orders).flat_map(|t| without_line(t, files::Kind::Orders)));
                findings.extend(drills.iter().flat_map(|t| without_line(t, files::Kind::Drill)));
            }
        },
        ([], []) if !drills.is_empty() && of(files::Kind::Orders).next().is_none() => {
            let (line, recipes, _) = files::demo();
            match files::read_line(line, recipes) {
                Ok(read) => findings.extend(drills.iter().flat_map(|d| of_drill(d, &read.value))),
                Err(found) => findings.extend(found),
            }
        }
        // Files are missing, or not recognisable: what can be said of the others all the same.
        _ => {
            for kind in [files::Kind::Line, files::Kind::Recipes] {
                findings.extend(of(kind).flat_map(|t| files::alone(t.source(), kind)));
            }
            for kind in [files::Kind::Orders, files::Kind::Drill] {
                findings.extend(of(kind).flat_map(|t| without_line(t, kind)));
            }
            if !findings.iter().any(|f| f.severity == Severity::Error) {
                let text =
                    "give one line file and one recipe file: recipes and orders are checked against the line";
                return Err(Bad(text.to_owned()));
            }
        }
    }
    let errors = findings.iter().any(|f| f.severity == Severity::Error);
    if args.json {
        say_json(&serde_json::Value::Array(findings.iter().map(json).collect()))?;
    } else if !findings.is_empty() {
        let all: Vec<&Text> = texts.iter().collect();
        say(&format!("{}\n", inputs::listed(&findings, &all)))?;
    } else {
        say(&format!("{} checked: nothing wrong\n", many(texts.len(), "file")))?;
    }
    Ok(if errors { Outcome::Bad } else { Outcome::Fine })
}

/// A drill alone is checked against the demo line.
fn of_drill(drill: &Text, line: &Line) -> Vec<Finding> {
    files::read_drill(drill.source(), line).map_or_else(|found| found, |read| read.warnings)
}

/// What could be read, and what is to be said of the rest.
fn read_all(paths: &[PathBuf]) -> (Vec<Text>, Vec<String>) {
    let (mut texts, mut unreadable) = (Vec::new(), Vec::new());
    for path in paths {
        match inputs::read(path) {
            Ok(text) => texts.push(text),
            Err(Bad(why)) => unreadable.push(why),
        }
    }
    (texts, unreadable)
}

fn json(f: &Finding) -> serde_json::Value {
    serde_json::json!({
        "severity": if f.severity == Severity::Error { "error" } else { "warning" },
        "code": f.code,
        "file": f.file,
        "line": f.line,
        "column": f.column,
        "path": f.path,
        "found": f.found,
        "expected": f.expected,
    })
}

/// What is wrong with orders by themselves, and that there is more to check.
fn without_line(text: &Text, kind: files::Kind) -> Vec<Finding> {
    let mut findings = files::alone(text.source(), kind);
    findings.push(not_checked(&text.name));
    findings
}

/// Orders name recipes and stations; what those are is not known while the line is wrong.
fn not_checked(file: &str) -> Finding {
    Finding {
        severity: Severity::Warning,
        code: "orders-not-checked",
        file: file.to_owned(),
        line: 0,
        column: 0,
        path: String::new(),
        found: "orders that were not checked against the line".to_owned(),
        expected: "a line and recipes without errors to check them against".to_owned(),
        origin: Origin::default(),
    }
}
