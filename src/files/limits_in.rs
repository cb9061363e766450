//! Limits of baths, of rework, and how rinses are run: checks of their meaning.

use super::common::{join, number};
use super::shape::{LimitShape, LineFile, QuantityWord, TankShape};
use super::text::{Doc, at};
use crate::line::{Limit, Quantity, Rework, Rinsing};
use crate::units::Dur;

/// Checks the limits of one tank.
pub fn check(doc: &mut Doc<'_>, tank_ix: usize, tank: &TankShape) {
    for (i, limit) in tank.limits.iter().enumerate() {
        let path = at!["tanks", tank_ix, "limits", i];
        let quantity = quantity(limit.quantity);
        let (least, most) = quantity.bounds();
        for (field, value) in [("least", limit.least), ("most", limit.most)] {
            if let Some(value) = value {
                number(doc, &join(&path, field), value, least..=most, quantity.unit());
            }
        }
        if let (Some(least), Some(most)) = (limit.least, limit.most)
            && least > most
        {
            let expected = format!("at least `least`, {least}");
            doc.error("limit-backwards", &join(&path, "most"), &most.to_string(), &expected);
        }
        if limit.least.is_none() && limit.most.is_none() && limit.every.is_none() {
            let expected = "`least`, `most` or `every`";
            doc.error("empty-limit", &path, "a limit that asks for nothing", expected);
        }
        if limit.every.is_some_and(|e| e.0 < Dur::from_mins(1)) {
            doc.error("out-of-range", &join(&path, "every"), "less than a minute", "a minute or more");
        }
        if limit.overdue_stops && limit.every.is_none() {
            let path = join(&path, "overdue_stops");
            doc.error("never-overdue", &path, "a reading that is never due", "`every` beside it");
        }
        if tank.limits[..i].iter().any(|l| self::quantity(l.quantity) == quantity) {
            let found = format!("{} again", quantity.word());
            doc.error("same-quantity", &join(&path, "quantity"), &found, "each quantity once a tank");
        }
        if tank.station.is_some() {
            doc.error("limit-of-station", &path, "a limit of a station", "limits of baths only");
        }
    }
}

/// Checks what the shop says of rinses and rework.
pub fn shop(doc: &mut Doc<'_>, file: &LineFile) {
    if let Some(r) = file.rinsing {
        number(doc, &at!["rinsing", "dilution"], r.dilution, 2.0..=1_000_000.0, "parts to one");
        number(doc, &at!["rinsing", "drag_out_ml_m2"], r.drag_out_ml_m2, 1.0..=2000.0, "ml/m2");
    }
    if let Some(r) = file.rework {
        number(doc, &at!["rework", "most"], f64::from(r.most), 0.0..=2.0, "times");
        if let Some(share) = r.penetration {
            number(doc, &at!["rework", "penetration"], share, 0.3..=0.8, "of the film");
        }
    }
}

/// One limit as it is used.
pub fn limit(shape: &LimitShape) -> Limit {
    Limit {
        quantity: quantity(shape.quantity),
        least: shape.least,
        most: shape.most,
        every: shape.every.map(|s| s.0),
        overdue_stops: shape.overdue_stops,
    }
}

/// How rinses are run.
pub fn rinsing(file: &LineFile) -> Rinsing {
    file.rinsing
        .map_or_else(Rinsing::default, |r| Rinsing { dilution: r.dilution, drag_out_ml_m2: r.drag_out_ml_m2 })
}

/// What is allowed of rework.
pub fn rework(file: &LineFile) -> Rework {
    let usual = Rework::default();
    file.rework
        .map_or(usual, |r| Rework { most: r.most, penetration: r.penetration.unwrap_or(usual.penetration) })
}

fn quantity(word: QuantityWord) -> Quantity {
    match word {
        QuantityWord::Temperature => Quantity::Temperature,
        QuantityWord::Concentration => Quantity::Concentration,
        QuantityWord::Conductivity => Quantity::Conductivity,
        QuantityWord::Ph => Quantity::Ph,
    }
}
