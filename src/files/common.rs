//! Checks that every file needs: names, ranges, look-ups.

use std::collections::BTreeMap;
use std::ops::RangeInclusive;

use super::text::{Doc, Seg, nearest, quote};
use crate::plain;

/// Names of one kind with their index.
pub type Names<'f> = BTreeMap<&'f str, usize>;

/// Longest name that still fits a screen's column.
const MAX_NAME: usize = 24;
const MAX_LABEL: usize = 80;

/// A path and one more step.
pub fn join(path: &[Seg], last: impl Into<Seg>) -> Vec<Seg> {
    let mut path = path.to_vec();
    path.push(last.into());
    path
}

/// Checks all names of one kind and tells where each is.
pub fn names<'f>(doc: &mut Doc<'_>, list: &str, items: impl Iterator<Item = &'f str>) -> Names<'f> {
    let mut known = Names::new();
    for (ix, name) in items.enumerate() {
        let path = [Seg::from(list), Seg::from(ix), Seg::from("name")];
        name_is_new(doc, &path, name, ix, &mut known);
    }
    known
}

/// Checks one name and adds it to those known; a name given twice is reported.
pub fn name_is_new<'f>(doc: &mut Doc<'_>, path: &[Seg], name: &'f str, ix: usize, known: &mut Names<'f>) {
    if !fit_for_screen(name, MAX_NAME) || name.is_empty() {
        doc.error(
            "bad-name",
            path,
            &quote(name),
            "a name of 1 to 24 visible characters, no space at its ends",
        );
    }
    if known.contains_key(name) {
        doc.error(
            "duplicate-name",
            path,
            &format!("the name {} again", quote(name)),
            "a name not used before",
        );
        return;
    }
    let same = |other: &&&str| other.to_lowercase() == name.to_lowercase();
    if let Some(other) = known.keys().find(same) {
        let found = format!("{} beside {}", quote(name), quote(other));
        doc.warn("alike-names", path, &found, "names that differ by more than capitals");
    }
    known.insert(name, ix);
}

/// Checks a text for people.
pub fn label(doc: &mut Doc<'_>, path: &[Seg], text: &str) {
    if !fit_for_screen(text, MAX_LABEL) {
        doc.error("bad-label", path, &quote(text), "up to 80 visible characters, no space at the ends");
    }
}

fn fit_for_screen(text: &str, longest: usize) -> bool {
    text.trim() == text && text.chars().count() <= longest && plain::line(text) == text
}

/// Checks that a number is one a plant can have.
pub fn number(doc: &mut Doc<'_>, path: &[Seg], value: f64, range: RangeInclusive<f64>, unit: &str) {
    if !range.contains(&value) {
        let expected = format!("{} to {} {unit}", range.start(), range.end());
        let found = if value.abs() < 1e9 { format!("{value} {unit}") } else { format!("{value:e} {unit}") };
        doc.error("out-of-range", path, &found, &expected);
    }
}

/// Checks that a list is not longer than the program can index.
pub fn at_most(doc: &mut Doc<'_>, path: &[Seg], count: usize, most: usize, what: &str) {
    if count > most {
        doc.error("too-many", path, &format!("{count} {what}"), &format!("at most {most}"));
    }
}

/// The index of a name; an unknown one is reported with the nearest known.
pub fn look_up(doc: &mut Doc<'_>, path: &[Seg], name: &str, known: &Names<'_>, what: &str) -> Option<usize> {
    let found = known.get(name).copied();
    if found.is_none() {
        let expected = match nearest(name, known.keys().copied()) {
            Some(guess) => format!("the name of a {what}; did you mean {}?", quote(guess)),
            None if known.len() <= 12 && !known.is_empty() => {
                let all: Vec<String> = known.keys().map(|k| quote(k)).collect();
                format!("the name of a {what}: {}", all.join(", "))
            }
            None => format!("the name of a {what}"),
        };
        doc.error("unknown-name", path, &format!("the {what} {}", quote(name)), &expected);
    }
    found
}
