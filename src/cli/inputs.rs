//! Reads the files a command names; the only place that turns paths into text.

use std::io::Read as _;
use std::path::Path;

use super::Bad;
use super::args::Files;
use crate::civil::Opening;
use crate::files::{self, Orders, Source};
use crate::finding::{Finding, Severity};
use crate::journal::{StoredText, StoredTexts, plainly};
use crate::line::Line;
use crate::units::many;

/// No file we read is anywhere near this long.
pub const MOST_BYTES: u64 = 8 << 20;

/// A file's text with the name the user gave it.
#[derive(Debug, Clone)]
pub struct Text {
    pub name: String,
    pub text: String,
}

impl Text {
    pub fn source(&self) -> Source<'_> {
        Source { name: &self.name, text: &self.text }
    }
}

/// The texts behind a line and its orders.
#[derive(Debug, Clone)]
pub struct Texts {
    pub line: Text,
    pub recipes: Text,
    pub orders: Text,
    /// True if they are the embedded demo.
    pub demo: bool,
    /// True if the line is not that of the demo.
    pub own_line: bool,
}

impl Texts {
    /// The same, as a journal keeps them.
    pub fn stored(&self) -> StoredTexts {
        let stored = |t: &Text| StoredText { name: t.name.clone(), text: t.text.clone() };
        StoredTexts { line: stored(&self.line), recipes: stored(&self.recipes), orders: stored(&self.orders) }
    }

    /// Which line and orders they are.
    pub fn whose(&self) -> String {
        match (&self.line.name, &self.orders.name) {
            _ if self.demo => "on the embedded demo line".to_owned(),
            (_, orders) if !self.own_line => format!("on the embedded demo line, orders from {orders}"),
            (line, orders) => format!("on the line of {line}, orders from {orders}"),
        }
    }

    /// What a journal kept. That of a drill keeps the drill in place of its orders.
    pub fn of(stored: &StoredTexts) -> Self {
        let own = |t: &StoredText| Text { name: t.name.clone(), text: t.text.clone() };
        let mut orders = own(&stored.orders);
        if files::is_drill(&orders.text) {
            orders.text = files::orders_of_drill(&orders.text);
        }
        Self { line: own(&stored.line), recipes: own(&stored.recipes), orders, demo: false, own_line: true }
    }
}

/// Reads a file, or standard input for `-`.
pub fn read(path: &Path) -> Result<Text, Bad> {
    let name = path.display().to_string();
    let mut text = Vec::new();
    let done = if name == "-" {
        std::io::stdin().lock().take(MOST_BYTES + 1).read_to_end(&mut text)
    } else {
        std::fs::File::open(path).and_then(|f| f.take(MOST_BYTES + 1).read_to_end(&mut text))
    };
    done.map_err(|e| Bad(format!("{name}: cannot read: {}", plainly(&e))))?;
    if text.len() as u64 > MOST_BYTES {
        return Err(Bad(format!("{name}: longer than {} MiB", MOST_BYTES >> 20)));
    }
    let text = String::from_utf8(text)
        .map_err(|e| Bad(format!("{name}: byte {} is not UTF-8 text", e.utf8_error().valid_up_to() + 1)))?;
    Ok(Text { name, text })
}

/// The texts a command works on: the named files, the embedded demo for the rest.
pub fn texts(files: &Files) -> Result<Texts, Bad> {
    let own = |s: Source| Text { name: s.name.to_owned(), text: s.text.to_owned() };
    let (line, recipes, orders) = files::demo();
    let demo = files.line.is_none() && files.orders.is_none();
    if files.line.is_some() && files.orders.is_none() {
        return Err(Bad("--line needs --orders: the demo's orders name the demo's recipes".to_owned()));
    }
    let named =
        |path: &Option<std::path::PathBuf>, source: Source| path.as_deref().map_or(Ok(own(source)), read);
    Ok(Texts {
        line: named(&files.line, line)?,
        recipes: named(&files.recipes, recipes)?,
        orders: named(&files.orders, orders)?,
        demo,
        own_line: files.line.is_some(),
    })
}

/// Builds line and orders, or says everything that is wrong. Warnings go to `warn`.
pub fn build(
    texts: &Texts,
    opening: Option<Opening>,
    warn: &mut dyn FnMut(&str),
) -> Result<(Line, Orders), Bad> {
    let all = [&texts.line, &texts.recipes, &texts.orders];
    let line = files::read_line(texts.line.source(), texts.recipes.source()).map_err(|mut found| {
        // Without `opens` they may still be fine: the shift says when it opens.
        let alone = files::alone(texts.orders.source(), files::Kind::Orders);
        found.extend(alone.into_iter().filter(|f| f.code != "no-opening" || opening.is_none()));
        Bad(listed(&found, &all))
    })?;
    // What was doubted of the line may be why the orders do not fit it.
    let orders = files::read_orders(texts.orders.source(), &line.value, opening).map_err(|found| {
        Bad(listed(&line.warnings.iter().cloned().chain(found).collect::<Vec<_>>(), &all))
    })?;
    let warnings: Vec<Finding> = line.warnings.into_iter().chain(orders.warnings).collect();
    if !warnings.is_empty() {
        warn(&listed(&warnings, &all));
    }
    Ok((line.value, orders.value))
}

/// Findings with the excerpts they point at.
pub fn listed(findings: &[Finding], texts: &[&Text]) -> String {
    let excerpt = |f: &Finding| {
        texts.iter().find(|t| t.name == f.file).map_or_else(|| f.to_string(), |t| files::excerpt(f, &t.text))
    };
    let errors = findings.iter().filter(|f| f.severity == Severity::Error).count();
    let warnings = findings.len() - errors;
    let mut text: Vec<String> = findings.iter().map(excerpt).collect();
    text.push(format!("{}, {}", many(errors, "error"), many(warnings, "warning")));
    text.join("\n\n")
}
