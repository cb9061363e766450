//! Text in, line and orders out, and plans both ways. Everything that is wrong comes back as findings with file,
//! line and column.
//!
//! Pure: it takes text, never a path. The shape of each file is in [`shape`]. Keeps out: what a plan is worth
//! (see `verify`), and the disk.

mod common;
mod drill_in;
mod excerpt;
mod film_in;
mod limits_in;
mod line_in;
mod orders_in;
mod plan_io;
pub mod quantity;
mod recipes_in;
mod runs;
pub mod shape;
mod text;
mod usual;

#[cfg(test)]
mod schemas;

pub use excerpt::excerpt;
pub use plan_io::fingerprint;

use crate::civil::Opening;
use crate::finding::Finding;
use crate::line::{Line, OrderBook};
use crate::schedule::Schedule;
use crate::train::Drill;
use shape::{DrillFile, LineFile, OrdersFile, PlanFile, RecipesFile};
use text::Doc;

/// A text and the name the user knows it by.
#[derive(Debug, Clone, Copy)]
pub struct Source<'a> {
    /// The file as the user typed it, for messages.
    pub name: &'a str,
    /// What is in it.
    pub text: &'a str,
}

/// Something read, and what a person should look at all the same.
#[derive(Debug, Clone, PartialEq)]
pub struct Read<T> {
    /// What was read.
    pub value: T,
    /// Findings that do not stand in its way.
    pub warnings: Vec<Finding>,
}

/// The orders of a shift and when it opens.
#[derive(Debug, Clone, PartialEq)]
pub struct Orders {
    /// Orders and carriers, times on the shift's axis.
    pub book: OrderBook,
    /// The moment at which the axis begins.
    pub opening: Opening,
}

/// Reads a line and the recipes it runs. On failure: every finding of both files, the line file's first, each
/// file's in the order of its text.
pub fn read_line(line: Source<'_>, recipes: Source<'_>) -> Result<Read<Line>, Vec<Finding>> {
    let (mut line_doc, mut recipes_doc) = (Doc::open(line), Doc::open(recipes));
    let line_file = line_doc.decode::<LineFile>();
    let recipes_file = recipes_doc.decode::<RecipesFile>();
    let mut built = line_file.as_ref().and_then(|file| line_in::read(&mut line_doc, file));
    let mut recipes = None;
    if let (Some(line_file), Some(recipes_file)) = (&line_file, &recipes_file) {
        recipes = recipes_in::read(&mut recipes_doc, recipes_file, line_file, built.as_ref());
    }
    let value = built.take().zip(recipes).map(|(line, recipes)| Line { recipes, ..line });
    if let Some(line) = &value {
        runs::check(&mut recipes_doc, line);
    }
    let failed = line_doc.has_errors() || recipes_doc.has_errors();
    let mut findings = line_doc.into_findings();
    findings.extend(recipes_doc.into_findings());
    outcome(value.filter(|_| !failed), findings)
}

/// Reads the orders of a shift. Times of day are resolved with `opening` if it is given, else with the file's own.
pub fn read_orders(
    orders: Source<'_>,
    line: &Line,
    opening: Option<Opening>,
) -> Result<Read<Orders>, Vec<Finding>> {
    let mut doc = Doc::open(orders);
    let file = doc.decode::<OrdersFile>();
    let value = file.and_then(|file| orders_in::read(&mut doc, &file, Some(line), opening));
    outcome(value, doc.into_findings())
}

/// What is wrong with one file by itself, without the others it belongs to.
pub fn alone(source: Source<'_>, kind: Kind) -> Vec<Finding> {
    let mut doc = Doc::open(source);
    match kind {
        Kind::Line => {
            if let Some(file) = doc.decode::<LineFile>() {
                line_in::read(&mut doc, &file);
            }
        }
        Kind::Orders => {
            if let Some(file) = doc.decode::<OrdersFile>() {
                orders_in::read(&mut doc, &file, None, None);
            }
        }
        Kind::Recipes => drop(doc.decode::<RecipesFile>()),
        Kind::Drill => drop(doc.decode::<DrillFile>()),
        Kind::Plan => drop(doc.decode::<PlanFile>()),
    }
    doc.into_findings()
}

/// Reads a drill on a line, and the moment at which it begins.
pub fn read_drill(drill: Source<'_>, line: &Line) -> Result<Read<(Drill, Opening)>, Vec<Finding>> {
    let mut doc = Doc::open(drill);
    let file = doc.decode::<DrillFile>();
    let value = file.and_then(|file| drill_in::read(&mut doc, &file, line));
    outcome(value, doc.into_findings())
}

/// True if a text is a drill file, by the format it names.
pub fn is_drill(text: &str) -> bool {
    let whole: serde_json::Value = serde_json::from_str(text).unwrap_or_default();
    whole["format"].as_str().is_some_and(|f| f.starts_with("dwellhand-drill/"))
}

/// The orders file that a drill file holds, those that come in later among them; empty if it holds none.
pub fn orders_of_drill(drill: &str) -> String {
    let whole: serde_json::Value = serde_json::from_str(drill).unwrap_or_default();
    let orders = serde_json::json!({
        "format": "dwellhand-orders/1", "opens": whole["opens"], "orders": whole["orders"],
    });
    format!("{orders:#}\n")
}

/// A schedule as a plan file, ready to be printed.
pub fn write_plan(line: &Line, book: &OrderBook, schedule: &Schedule) -> serde_json::Value {
    serde_json::to_value(plan_io::write(line, book, schedule))
        .expect("plain structs of text and finite numbers")
}

/// Reads a plan file. Names and words are checked; whether the plan is any good is not.
pub fn read_plan(plan: Source<'_>, line: &Line, book: &OrderBook) -> Result<Schedule, Vec<Finding>> {
    let mut doc = Doc::open(plan);
    let file = doc.decode::<PlanFile>();
    let value = file.and_then(|file| plan_io::read(&mut doc, &file, line, book));
    outcome(value, doc.into_findings()).map(|read| read.value)
}

/// Reads a small file of a caller's own shape; only what the shape says is checked.
pub fn read_shape<T: serde::de::DeserializeOwned>(source: Source<'_>) -> Result<T, Vec<Finding>> {
    let mut doc = Doc::open(source);
    let value = doc.decode::<T>();
    outcome(value, doc.into_findings()).map(|read| read.value)
}

/// The kinds of input file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// A line.
    Line,
    /// Recipes.
    Recipes,
    /// Orders.
    Orders,
    /// A plan.
    Plan,
    /// A drill.
    Drill,
}

/// Which kind of file a text is by the word in its `format`; `None` if it does not say.
pub fn kind(text: &str) -> Option<Kind> {
    #[derive(serde::Deserialize)]
    struct Tag {
        format: String,
    }
    let tag: Result<Tag, _> = serde_json::from_str(text);
    match tag.as_ref().map_or_else(|_| tag_in(text), |tag| Some(tag.format.as_str()))?.split_once('/')?.0 {
        "dwellhand-line" => Some(Kind::Line),
        "dwellhand-recipes" => Some(Kind::Recipes),
        "dwellhand-orders" => Some(Kind::Orders),
        "dwellhand-plan" => Some(Kind::Plan),
        "dwellhand-drill" => Some(Kind::Drill),
        _ => None,
    }
}

/// The word in the `format` of a text that is no JSON for now: a comma is missing somewhere.
fn tag_in(text: &str) -> Option<&str> {
    let (_, rest) = text.split_once("\"format\"")?;
    let rest = rest.trim_start().strip_prefix(':')?.trim_start().strip_prefix('"')?;
    rest.split('"').next()
}

/// The demo line, its recipes and a morning's orders. Invented; no real plant.
pub fn demo() -> (Source<'static>, Source<'static>, Source<'static>) {
    (
        Source { name: "demo-data/line.json", text: include_str!("../../demo-data/line.json") },
        Source { name: "demo-data/recipes.json", text: include_str!("../../demo-data/recipes.json") },
        Source { name: "demo-data/orders.json", text: include_str!("../../demo-data/orders.json") },
    )
}

/// A shift on the demo line with several upsets, as its journal. Made by a simulated crew; `README.md` has the command.
pub fn demo_shift() -> Source<'static> {
    Source { name: "demo-data/shift-upset.jsonl", text: include_str!("../../demo-data/shift-upset.jsonl") }
}

/// The drills that come with the program. Invented, like the demo.
pub fn drills() -> [Source<'static>; 7] {
    macro_rules! drill {
        ($name:literal) => {
            Source {
                name: concat!("demo-data/drills/", $name, ".json"),
                text: include_str!(concat!("../../demo-data/drills/", $name, ".json")),
            }
        };
    }
    [
        drill!("normal-morning"),
        drill!("count-short"),
        drill!("black-heavy"),
        drill!("rush-order"),
        drill!("rectifier-lost"),
        drill!("crane-stop-stripped"),
        drill!("wrong-tank"),
    ]
}

/// Findings are never empty on failure, and hold only warnings on success.
fn outcome<T>(value: Option<T>, findings: Vec<Finding>) -> Result<Read<T>, Vec<Finding>> {
    if let Some(value) = value {
        return Ok(Read { value, warnings: findings });
    }
    debug_assert!(!findings.is_empty(), "a refusal without a reason");
    Err(findings)
}
