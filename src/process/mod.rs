//! Process arithmetic: what a film, a bath, a rinse and a seal come to, each figure with the rule it rests on.
//!
//! Quantities are read from text with their unit and refused outside the range a rule holds for. Every answer is
//! plain data ([`Answer`]); what is common practice or from memory says so. The shop's own process sheet wins over
//! everything here. Knows no line, no shift and no text format.

mod anodise;
mod answer;
pub mod basis;
pub mod bath;
pub mod cards;
pub mod class;
pub mod film;
mod glossary;
pub mod power;
pub mod quantity;
pub mod rack;
pub mod rinse;
pub mod seal;
pub mod unit;

pub use anodise::{Given, anodise};
pub use answer::{Answer, Figure};
pub use glossary::{GLOSSARY, Term};
