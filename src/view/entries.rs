//! Ledger entries in words.

use super::At;
use super::words::{Spot, clean};
use crate::ids::{CarrierId, OrderId, TankId};
use crate::shift::ledger::{Count, Entry, Inspection, Reading, Shade, Sign};
use crate::units::many;

/// One entry.
pub(super) fn words(at: At<'_>, entry: &Entry) -> String {
    let carrier = |c: CarrierId| at.carrier_name(c);
    let order = |o: OrderId| clean(&at.state.book.orders[o].name);
    let tank = |t: TankId| Spot::of(at.line, t).words();
    match entry {
        Entry::Signed { sign, initials } => {
            let initials = clean(initials);
            match sign {
                Sign::On => format!("{initials} works this shift"),
                Sign::HandsOver => format!("{initials} hands the shift over"),
                Sign::TakesOver => format!("{initials} takes the shift over"),
            }
        }
        Entry::Received { order: o, parts } => {
            format!("order {}: {} counted in", order(*o), many(*parts, "part"))
        }
        Entry::Racked { carrier: c, parts } => format!("{}: {} racked", carrier(*c), many(*parts, "part")),
        Entry::Unracked { carrier: c, count: Count { good, rework, scrap } } => {
            let short = at.state.ledger.racked(at.state, *c)
                - i64::from(*good)
                - i64::from(*rework)
                - i64::from(*scrap);
            let short = match short {
                0 => String::new(),
                n if n > 0 => format!(", {n} SHORT"),
                n => format!(", {} too many", -n),
            };
            format!("{} unracked: {good} good, {rework} rework, {scrap} scrap{short}", carrier(*c))
        }
        Entry::Found { order: o, tank: t, parts: 0 } => {
            format!("nothing of order {} was found in {} after all", order(*o), tank(*t))
        }
        Entry::Returned { order: o, parts: 0 } => {
            format!("nothing of order {} goes back after all", order(*o))
        }
        Entry::Found { order: o, tank: t, parts } => {
            format!("{} of order {} found in {}", many(*parts, "part"), order(*o), tank(*t))
        }
        Entry::Returned { order: o, parts } => {
            format!("{} of order {} to go back as they came", many(*parts, "part"), order(*o))
        }
        Entry::Inspected { carrier: c, seen } => format!("{} inspected: {}", carrier(*c), inspection(seen)),
        Entry::Bath { tank: t, reading: Reading { quantity, value } } => {
            let figure = format!("{}: {} {value} {}", tank(*t), quantity.word(), quantity.unit());
            let limit = at.line.tanks[*t].limits.iter().find(|limit| limit.quantity == *quantity);
            let outside = limit.and_then(|limit| limit.outside(*value));
            let outside = outside.map_or_else(String::new, |words| format!("; {words}"));
            format!("{}{outside}", figure.trim_end())
        }
        Entry::BathChanged { tank: t } => format!("{}: bath changed", tank(*t)),
    }
}

/// What was seen on a carrier.
pub fn inspection(seen: &Inspection) -> String {
    let shade = match seen.shade {
        Shade::Like => "shade as the reference",
        Shade::Lighter => "lighter than the reference",
        Shade::Darker => "darker than the reference",
        Shade::Uneven => "uneven shade",
    };
    let thickness = seen.thickness_um.map_or(String::new(), |um| format!(", {um} um"));
    let seal = match seen.sealed {
        Some(true) => ", seal holds",
        Some(false) => ", SEAL FAILS",
        None => "",
    };
    let marks =
        if seen.marks.is_empty() { String::new() } else { format!(", marks: {}", clean(&seen.marks)) };
    format!("{shade}{thickness}{seal}{marks}")
}
