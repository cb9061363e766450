//! The JSON Schemas under `assets/` say what the structs say.

use std::path::Path;

use schemars::generate::SchemaSettings;
use schemars::{JsonSchema, SchemaGenerator};

use super::shape::{DrillFile, LineFile, OrdersFile, PlanFile, RecipesFile};

fn check<T: JsonSchema>(name: &str) {
    let generator = SchemaGenerator::new(SchemaSettings::draft2020_12());
    let schema = generator.into_root_schema_for::<T>();
    let text = serde_json::to_string_pretty(&schema).unwrap() + "\n";
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("assets").join(name);
    if std::env::var_os("UPDATE_SCHEMAS").is_some() {
        std::fs::create_dir_all(path.parent().unwrap()).unwrap();
        std::fs::write(&path, &text).unwrap();
    }
    let stored = std::fs::read_to_string(&path).unwrap_or_default();
    assert!(stored == text, "assets/{name} is stale: run UPDATE_SCHEMAS=1 cargo test files::schemas");
}

#[test]
fn the_line_schema_is_current() {
    check::<LineFile>("line.schema.json");
}

#[test]
fn the_recipes_schema_is_current() {
    check::<RecipesFile>("recipes.schema.json");
}

#[test]
fn the_orders_schema_is_current() {
    check::<OrdersFile>("orders.schema.json");
}

#[test]
fn the_plan_schema_is_current() {
    check::<PlanFile>("plan.schema.json");
}

#[test]
fn the_drill_schema_is_current() {
    check::<DrillFile>("drill.schema.json");
}
