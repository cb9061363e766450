//! Racks: how often each was used, what was spoiled on it, and which owe a strip. The worst first.

use std::cmp::Reverse;

use super::{Part, Source};
use crate::line::Rack;
use crate::shift::racks::racks as now;

/// One row a rack that has a name; cycles and spoiled parts go into the next shift's orders file.
pub(super) fn racks(source: &Source<'_>) -> Part {
    let mut racks = now(source.line, source.state());
    racks.sort_by_key(|r| (Reverse(r.spoiled), r.name.clone()));
    let rows = racks.into_iter().map(|r| {
        let per_cycle = if r.cycles == 0 { 0.0 } else { f64::from(r.spoiled) / f64::from(r.cycles) };
        vec![
            r.name,
            match r.metal {
                Rack::Titanium => "titanium".to_owned(),
                Rack::Aluminium => "aluminium".to_owned(),
            },
            r.cycles.to_string(),
            r.spoiled.to_string(),
            format!("{per_cycle:.1}"),
            if r.owes_strip { "OWES A STRIP".to_owned() } else { String::new() },
        ]
    });
    Part::table(
        "Racks, the most spoiled parts first",
        &["rack", "metal", "cycles", "spoiled", "a cycle", "strip"],
        rows.collect(),
    )
}
