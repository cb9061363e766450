//! What a plan is worth, part by part, for people and as JSON.

use std::fmt::Write as _;

use crate::civil::Opening;
use crate::plan::{Objective, Reserve};
use crate::units::Dur;

const HARMS: [&str; 4] = ["scrap", "rework", "shade", "nuisance"];

/// One line a part; an earlier one decides before any later one.
pub fn text(worth: &Objective, opening: &Opening) -> String {
    let out: Vec<String> = HARMS
        .iter()
        .zip(worth.excess)
        .filter(|(_, by)| *by > Dur::ZERO)
        .map(|(harm, by)| format!("{harm} {by}"))
        .collect();
    let out = if out.is_empty() { "none".to_owned() } else { out.join(", ") };
    let late = if worth.weighted_late == worth.late {
        worth.late.to_string()
    } else {
        format!("{} ({} by weight of rush)", worth.late, worth.weighted_late)
    };
    let parts = [
        ("windows broken that mean scrap", worth.scrap.to_string()),
        ("time out of windows", out),
        ("carriers left behind", worth.left.to_string()),
        ("lateness in all", late),
        ("finish", opening.clock(worth.finish)),
        ("crane idle", worth.idle.to_string()),
        ("spread inside shade lots", worth.spread.to_string()),
        ("off target dwell in all", worth.off_target.to_string()),
    ];
    let mut text = String::new();
    for (what, figure) in parts {
        let _ = writeln!(text, "{what:<30}  {figure}");
    }
    text
}

/// The same, times in seconds; `finish_s` since the opening.
pub fn json(worth: &Objective) -> serde_json::Value {
    let excess: serde_json::Map<String, serde_json::Value> = HARMS
        .iter()
        .zip(worth.excess)
        .map(|(harm, by)| ((*harm).to_owned(), by.as_secs_f64().into()))
        .collect();
    serde_json::json!({
        "scrap_breaches": worth.scrap,
        "out_of_windows_s": excess,
        "left_behind": worth.left,
        "late_s": worth.late.as_secs_f64(),
        "weighted_late_s": worth.weighted_late.as_secs_f64(),
        "finish_s": Dur(worth.finish.0).as_secs_f64(),
        "hoist_idle_s": worth.idle.as_secs_f64(),
        "off_target_s": worth.off_target.as_secs_f64(),
        "shade_spread_s": worth.spread.as_secs_f64(),
    })
}

/// The reserve in seconds: one figure, or one for each kind of move if they differ.
pub fn reserve(reserve: &Reserve) -> serde_json::Value {
    if *reserve == Reserve::all(reserve.other) {
        return reserve.other.as_secs_f64().into();
    }
    serde_json::json!({
        "critical": reserve.critical.as_secs_f64(),
        "short": reserve.short.as_secs_f64(),
        "other": reserve.other.as_secs_f64(),
    })
}
