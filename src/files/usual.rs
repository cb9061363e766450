//! Figures that a plant can have but hardly has: slips of a unit or of a digit. All of them are warnings; what somebody
//! means goes on working.
//!
//! The usual ranges are common practice, no source, and wide on purpose.

use super::common::join;
use super::film_in::Window;
use super::shape::{CarrierShape, HoistShape, KindWord, LiftShape, LineFile, StepShape, TravelShape};
use super::text::{Doc, Seg, at};
use crate::process::unit::DM2_PER_FT2;
use crate::units::{Dur, many};

/// A dwell of the wrong unit, at most one finding a step.
pub fn dwell(doc: &mut Doc<'_>, path: &[Seg], step: &StepShape, kind: KindWord, window: &Window) {
    let found = doc.warnings();
    minutes_meant(doc, path, step, kind, window);
    minutes_meant_at_least(doc, path, step, window);
    seconds_meant(doc, path, step, kind, window);
    if doc.warnings() == found {
        too_narrow(doc, path, step, window);
    }
    seconds_meant_in_air(doc, path, step);
}

/// The shortest treatments of a kind that there are: below that minutes were meant.
fn shortest(kind: KindWord) -> Option<Dur> {
    match kind {
        KindWord::Anodise | KindWord::Seal | KindWord::Dry => Some(Dur::from_secs(60)),
        KindWord::Clean | KindWord::Dye => Some(Dur::from_secs(30)),
        KindWord::Etch | KindWord::Rinse | KindWord::Desmut | KindWord::Strip => Some(Dur::from_secs(10)),
        KindWord::Standby => None,
    }
}

/// The longest ones that anybody asks for at least: above that seconds were meant. A soak clean has a check of its own.
fn longest(kind: KindWord) -> Option<Dur> {
    match kind {
        KindWord::Rinse | KindWord::Etch => Some(Dur::from_mins(20)),
        KindWord::Desmut | KindWord::Strip | KindWord::Dye => Some(Dur::from_mins(60)),
        KindWord::Anodise | KindWord::Seal | KindWord::Dry => Some(Dur::from_mins(180)),
        KindWord::Clean | KindWord::Standby => None,
    }
}

fn bath(kind: KindWord) -> &'static str {
    match kind {
        KindWord::Clean => "a soak clean",
        KindWord::Rinse => "a rinse",
        KindWord::Etch => "an etch",
        KindWord::Desmut => "a desmut",
        KindWord::Anodise => "an anodise bath",
        KindWord::Dye => "a dye",
        KindWord::Seal => "a seal",
        KindWord::Dry => "a dryer",
        KindWord::Strip => "a strip",
        KindWord::Standby => "standby water",
    }
}

/// A plain number was typed where minutes were meant. Dips on the hook are of seconds, but no etch of less than ten.
fn minutes_meant(doc: &mut Doc<'_>, path: &[Seg], step: &StepShape, kind: KindWord, window: &Window) {
    let Some(least) = shortest(kind) else { return };
    let (longest, field) = if window.max.is_unlimited() {
        (window.target, if step.target.is_some() { "target" } else { "min" })
    } else {
        (window.max, window.max_field)
    };
    if (step.on_hook && !matches!(kind, KindWord::Etch)) || longest >= least {
        return;
    }
    let seconds = longest.as_secs_f64();
    let found = format!("at most {seconds:.0} s in {}", bath(kind));
    let asked = format!(
        "{} or more, as is usual; a plain number is seconds: was \"{seconds:.0}:00\" meant?",
        in_words(least)
    );
    doc.warn("seconds-for-minutes", &join(path, field), &found, &asked);
}

/// A shortest dwell that is a small part of what is aimed for: a plain number was typed and minutes were meant.
fn minutes_meant_at_least(doc: &mut Doc<'_>, path: &[Seg], step: &StepShape, window: &Window) {
    // As much less as a second is than a minute, with room for a wide window.
    const MUCH_LESS: i64 = 20;
    let Some(min) = step.min.filter(|min| min.0 > Dur::ZERO && min.0 < Dur::from_mins(1)) else { return };
    if step.on_hook || window.target < Dur::from_mins(1) || window.target < min.0 * MUCH_LESS {
        return;
    }
    let seconds = min.0.as_secs_f64();
    let found = format!("{seconds:.0} s at least where {} is aimed for", window.target);
    let asked =
        format!("a shortest dwell near that; a plain number is seconds: was \"{seconds:.0}:00\" meant?");
    doc.warn("seconds-for-minutes", &join(path, "min"), &found, &asked);
}

/// Minutes were typed where seconds were meant. Too long an etch takes metal, so its longest dwell is looked at as well.
fn seconds_meant(doc: &mut Doc<'_>, path: &[Seg], step: &StepShape, kind: KindWord, window: &Window) {
    let Some(most) = longest(kind) else { return };
    let etch_max = step.max.filter(|max| matches!(kind, KindWord::Etch) && max.0 > most);
    let (field, time, end) = match (step.min, etch_max) {
        (Some(_), _) if window.min > most => ("min", window.min, "at least"),
        (_, Some(max)) => ("max", max.0, "up to"),
        _ => return,
    };
    let found = format!("{end} {time} in {}", bath(kind));
    let asked = format!("{} or less, as is usual; {}", in_words(most), seconds(time));
    doc.warn("minutes-for-seconds", &join(path, field), &found, &asked);
}

/// Drip and time in air are of seconds whatever the bath.
fn seconds_meant_in_air(doc: &mut Doc<'_>, path: &[Seg], step: &StepShape) {
    let times = [
        ("drip", Some(step.drip), Dur::from_mins(3), "over the tank"),
        ("air_max", step.air_max, Dur::from_mins(10), "out of liquid"),
    ];
    for (field, time, most, place) in times {
        if let Some(time) = time.map(|t| t.0).filter(|t| *t > most) {
            let asked = format!("{} or less, as is usual; {}", in_words(most), seconds(time));
            doc.warn("minutes-for-seconds", &join(path, field), &format!("{time} {place}"), &asked);
        }
    }
}

/// `was 30 s meant? A plain number is seconds`
fn seconds(time: Dur) -> String {
    format!("was {:.0} s meant? A plain number is seconds", time.as_secs_f64() / 60.0)
}

/// Between two key presses of a person there is more than that.
const NARROWEST: Dur = Dur::from_secs(5);

/// A window that nobody can be sure to meet with a crane run by hand.
fn too_narrow(doc: &mut Doc<'_>, path: &[Seg], step: &StepShape, window: &Window) {
    // Worked out from a film, or backwards, which is an error of its own.
    let (Some(_), Some(max)) = (step.min, step.max) else { return };
    let wide = max.0 - window.min;
    if wide < Dur::ZERO || wide >= NARROWEST {
        return;
    }
    let found = format!("{:.0} s from min to max", wide.as_secs_f64());
    let asked = format!(
        "{:.0} s or more: a crane run by hand does not meet less; a plain number is seconds",
        NARROWEST.as_secs_f64()
    );
    doc.warn("window-narrow", &join(path, "max"), &found, &asked);
}

/// `10 s`, `20 min`
fn in_words(time: Dur) -> String {
    match time.whole_secs() {
        s if s % 60 == 0 => format!("{} min", s / 60),
        s => format!("{s} s"),
    }
}

/// Amperes a square foot in a field of amperes a square decimetre, and the other way round.
pub fn density(doc: &mut Doc<'_>, path: &[Seg], a_dm2: f64) {
    let expected = if a_dm2 > 5.0 {
        format!(
            "1 to 3 A/dm2, as is usual, hard coat to 5; was {a_dm2} A/ft2 meant? That is {:.2} A/dm2",
            a_dm2 / DM2_PER_FT2
        )
    } else if a_dm2 < 0.3 {
        let meant = a_dm2 * 100.0;
        let asked = format!("; was {a_dm2} A/cm2 meant? That is {meant:.2} A/dm2");
        let asked = if (0.3..=5.0).contains(&meant) { asked } else { String::new() };
        format!("1 to 3 A/dm2, as is usual{asked}")
    } else {
        return;
    };
    doc.warn("density-unusual", path, &format!("{a_dm2} A/dm2"), &expected);
}

/// The smallest flight bar in dm2 that is no slip, and the largest.
const BARS: std::ops::RangeInclusive<f64> = 5.0..=5000.0;

/// Square metres in a field of square decimetres, and square centimetres. Whoever takes the wrong unit takes it for all
/// bars, so the first one speaks for the others. `at` is where the area of each stands.
pub fn areas(doc: &mut Doc<'_>, all: &[(Vec<Seg>, &CarrierShape)]) {
    let usual = "10 to 1000 dm2 for a bar with its rack, as is usual";
    let small: Vec<_> = all.iter().filter(|(_, c)| c.area_dm2 > 0.0 && c.area_dm2 < *BARS.start()).collect();
    let large: Vec<_> = all.iter().filter(|(_, c)| c.area_dm2 > *BARS.end()).collect();
    let cases = [(small, "area-small", "m2", 100.0), (large, "area-large", "cm2", 0.01)];
    for (bars, code, unit, dm2) in cases {
        let Some((path, first)) = bars.first() else { continue };
        let area = first.area_dm2;
        let others = match bars.len() - 1 {
            0 => String::new(),
            n => format!(", and {} like it", many(n, "other carrier")),
        };
        let found = format!("{area} dm2{others}");
        let expected = format!("{usual}; was {area} {unit} meant? That is {} dm2", tidy(area * dm2));
        doc.warn(code, path, &found, &expected);
    }
}

/// A figure without the tail that binary fractions give it.
fn tidy(figure: f64) -> f64 {
    (figure * 100.0).round() / 100.0
}

/// Times, speeds and heights of a hoist that no hoist has.
pub fn hoist(doc: &mut Doc<'_>, i: usize, hoist: &HoistShape) {
    let most_s = |field: &str| if field == "settle" { 60.0 } else { 120.0 };
    for (field, time) in [("hook", hoist.hook), ("unhook", hoist.unhook), ("settle", hoist.settle)] {
        let usual = if field == "settle" { "1 to 10 s" } else { "2 to 20 s" };
        slow(doc, &at!["hoists", i, field], time.0, most_s(field), usual);
    }
    let lift = at!["hoists", i, "lift"];
    match &hoist.lift {
        LiftShape::Kinematic(k) => {
            let path = join(&lift, "kinematic");
            let height = k.height_m.0.0 as f64 / 1000.0;
            figure(doc, &join(&path, "height_m"), height, 0.2..=8.0, "m", "1 to 4 m");
            figure(doc, &join(&path, "speed_m_s"), k.speed_m_s, 0.01..=2.0, "m/s", "0.1 to 0.5 m/s");
            figure(doc, &join(&path, "accel_m_s2"), k.accel_m_s2, 0.01..=5.0, "m/s2", "0.1 to 1 m/s2");
        }
        LiftShape::Fixed(f) => {
            let path = join(&lift, "fixed");
            slow(doc, &join(&path, "raise"), f.raise.0, 180.0, "5 to 30 s");
            slow(doc, &join(&path, "lower"), f.lower.0, 180.0, "5 to 30 s");
        }
    }
    match &hoist.travel {
        TravelShape::Kinematic(k) => {
            let path = at!["hoists", i, "travel", "kinematic"];
            figure(doc, &join(&path, "speed_m_s"), k.speed_m_s, 0.03..=3.0, "m/s", "0.3 to 1.5 m/s");
            figure(doc, &join(&path, "accel_m_s2"), k.accel_m_s2, 0.01..=5.0, "m/s2", "0.1 to 1 m/s2");
            if let Some(decel) = k.decel_m_s2 {
                figure(doc, &join(&path, "decel_m_s2"), decel, 0.01..=5.0, "m/s2", "0.1 to 1 m/s2");
            }
        }
        TravelShape::Table(table) => {
            for (field, rows) in [("empty", &table.empty), ("loaded", &table.loaded)] {
                let path = at!["hoists", i, "travel", "table", field];
                slowest(doc, &path, rows);
            }
        }
    }
}

/// The slowest cell of a table speaks for it.
fn slowest(doc: &mut Doc<'_>, path: &[Seg], rows: &[Vec<Option<super::quantity::Seconds>>]) {
    let cells = rows.iter().enumerate().flat_map(|(r, row)| {
        row.iter().enumerate().filter_map(move |(c, cell)| cell.map(|time| (time.0, r, c)))
    });
    if let Some((time, r, c)) = cells.max_by_key(|(time, r, c)| (*time, std::cmp::Reverse((*r, *c)))) {
        slow(doc, &join(&join(path, r), c), time, 900.0, "10 s to a few minutes");
    }
}

fn slow(doc: &mut Doc<'_>, path: &[Seg], time: Dur, most_s: f64, usual: &str) {
    let seconds = time.as_secs_f64();
    if seconds > most_s {
        let asked = if (most_s..=60_000.0).contains(&seconds) && seconds >= 1000.0 {
            format!("; were milliseconds meant? That is {} s", tidy(seconds / 1000.0))
        } else {
            String::new()
        };
        let expected = format!("{usual}, as is usual; a plain number is seconds{asked}");
        doc.warn("hoist-unusual", path, &format!("{seconds} s"), &expected);
    }
}

fn figure(
    doc: &mut Doc<'_>,
    path: &[Seg],
    value: f64,
    possible: std::ops::RangeInclusive<f64>,
    unit: &str,
    usual: &str,
) {
    // Zero and less is an error, or a line on paper without a lift.
    if value <= 0.0 || possible.contains(&value) {
        return;
    }
    // The same figure a minute is the common slip with speeds.
    let a_minute = value / 60.0;
    let asked = match unit {
        "m/s" if value > *possible.end() && possible.contains(&a_minute) => {
            format!("; were {value} m/min meant? That is {a_minute:.2} m/s")
        }
        _ => String::new(),
    };
    doc.warn("hoist-unusual", path, &format!("{value} {unit}"), &format!("{usual}, as is usual{asked}"));
}

/// A rail whose hoists keep a gap no two hoists need.
pub fn gap(doc: &mut Doc<'_>, file: &LineFile) {
    let gap = file.rail.gap_m.0.0 as f64 / 1000.0;
    if gap > 10.0 {
        let expected = "1 to 5 m from middle to middle, as is usual";
        doc.warn("hoist-unusual", &at!["rail", "gap_m"], &format!("{gap} m"), expected);
    }
}
