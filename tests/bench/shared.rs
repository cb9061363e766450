//! The generated lines of the tests, for benches.
#![allow(dead_code, unused_imports, reason = "shared with the tests")]

#[path = "../it/dense.rs"]
pub mod dense;
#[path = "../it/families.rs"]
pub mod families;
#[path = "../it/lines.rs"]
pub mod lines;
